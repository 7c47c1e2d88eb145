"""What a stored job's entries say now: in any order, and nothing chosen in silence."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_said import NOON, body_of, entry

from routeprep.current import current_of, decision_thing
from routeprep.remarks import DayCheck, Review
from routeprep.shapes import IssuedNumber

LATER = NOON + dt.timedelta(minutes=5)


def decided(value, *, by="Ana", parents=(), counter=1, anchor_id="m1", field="action"):
    """A decision on one thing, written on its author's own desk."""
    body = {"anchor_id": anchor_id, "field": field, "value": value, "by": by,
            "when": "2026-06-01 12:00", "why": ""}  # fmt: skip
    return entry(
        kind="decision", thing=decision_thing(anchor_id, field, value), body=body, author=by,
        device=by, counter=counter, parents=[one.entry_id for one in parents],
    )  # fmt: skip


def put(sha256, *, by="Ana", parents=(), counter=1, body=True, thing="a.gpx"):
    """A file with this content."""
    return entry(
        thing=thing, body={"sha256": sha256} if body else None, author=by, device=by,
        counter=counter, parents=[one.entry_id for one in parents],
    )  # fmt: skip


def numbered(no, anchor_id, *, by="Ana", parents=(), time_utc=NOON, first="A"):
    """A number given to a thing."""
    return entry(
        kind="number", thing=no, author=by, device=by, counter=int(no.partition("-")[2]),
        body={"no": no, "anchor_id": anchor_id, "first_revision": first}, time_utc=time_utc,
        parents=[one.entry_id for one in parents],
    )  # fmt: skip


def told(*entries):
    """What was edited twice, as kind, subject and values."""
    said = current_of(entries).remarks.edited_twice
    return [(one.kind, one.subject, one.values) for one in said]


def test_a_job_of_no_entries_holds_nothing():
    """Not even settings."""
    got = current_of(())

    assert (got.toml_name, got.toml_sha256, got.files) == ("", "", {})
    assert (got.decisions, got.numbers, got.heads) == ((), (), {})


def test_each_kind_comes_to_its_place():
    """Texts as they were said."""
    review = {"subject": "m1", "says": "accept", "text": "", "by": "Lee", "when": "w", "seal": "s"}
    check = {"subject": "leg A", "says": "same", "text": "", "by": "Cal", "when": "w"}
    made = {
        kind: entry(kind=kind, thing=thing, body=body)
        for kind, thing, body in (
            ("settings", "settings", {"name": "job.toml", "sha256": "5"}),
            ("file", "a.gpx", {"sha256": "6"}),
            ("review", "r", review),
            ("check", "c", check),
            ("issue", "A", body_of("issue")),
            ("copy", "A 1", body_of("copy")),
            ("drive", "d1", body_of("drive")),
            ("fixes", "d1 5", body_of("fixes")),
            ("mark", "m1", body_of("mark")),
            ("tick", "m1", body_of("tick", done=True)),
            ("found", "f1", body_of("found")),
            ("device", "hash", body_of("device")),
        )
    }
    got = current_of(made.values())

    assert (got.toml_name, got.toml_sha256, got.files) == ("job.toml", "5", {"a.gpx": "6"})
    assert got.remarks.reviews == (Review(**review),)
    assert got.remarks.checks == (DayCheck(**check),)
    assert (got.issues, got.copies) == ((made["issue"],), (made["copy"],))
    assert sorted(one.kind for one in got.recorded) == ["drive", "fixes", "mark"]
    assert (got.found, got.done, got.devices) == (
        (made["found"],), frozenset({"m1"}), {"hash": made["device"]},
    )  # fmt: skip


def test_a_decision_stays_until_one_that_had_seen_it():
    """Its follower counts, and what was taken back does not."""
    first = decided("LIFT")
    second = decided("SLOW", counter=2, parents=[first])
    back = entry(kind="decision", thing=first.thing, body=None, counter=3,
                 parents=[second.entry_id])  # fmt: skip

    assert [one.value for one in current_of([first]).decisions] == ["LIFT"]
    assert [one.value for one in current_of([second, first]).decisions] == ["SLOW"]
    assert current_of([second, back, first]).decisions == ()
    assert told(first, second, back) == []


def test_two_decisions_apart_are_both_told_and_neither_is_taken():
    """With who and when; a third that has seen both settles it."""
    ana, ben = decided("LIFT"), decided("SLOW", by="Ben")
    third = decided("STOP", counter=2, parents=[ana, ben])

    assert current_of([ana, ben]).decisions == ()
    assert told(ana, ben) == [
        ("decision", "m1", ("LIFT (Ana, 2026-06-01 12:00)", "SLOW (Ben, 2026-06-01 12:00)")),
    ]  # fmt: skip
    assert current_of([ana, ben]).remarks.edited_twice[0].field == "action"
    assert [one.value for one in current_of([ana, ben, third]).decisions] == ["STOP"]
    assert told(ana, ben, third) == []


def test_two_who_decide_the_same_apart_agree():
    """Who said it, when and why does not make it another decision."""
    ana, ben = decided("LIFT"), decided("LIFT", by="Ben")

    assert [one.value for one in current_of([ben, ana]).decisions] == ["LIFT"]
    assert told(ana, ben) == []


def test_what_one_takes_back_while_another_changes_it_is_told():
    """Taking back is said as such; the subject is known from the one that still says it."""
    first = decided("LIFT")
    changed = decided("SLOW", counter=2, parents=[first])
    back = entry(kind="decision", thing=first.thing, body=None, author="Ben", device="Ben",
                 time_utc=LATER, parents=[first.entry_id])  # fmt: skip

    assert current_of([first, changed, back]).decisions == ()
    assert told(first, changed, back) == [
        ("decision", "m1", ("SLOW (Ana, 2026-06-01 12:00)",
                            "taken back (Ben, 2026-06-01 12:05 UTC)")),
    ]  # fmt: skip


def test_of_two_contents_apart_the_one_that_both_had_seen_stands():
    """And both are told; removal apart is no exception."""
    first = put("one")
    ana, ben = put("two", counter=2, parents=[first]), put("three", by="Ben", parents=[first])
    back = put("", by="Cal", parents=[first], body=False)

    for apart in ([ana, ben], [ana, back], [ana, ben, back]):
        assert current_of([first, *apart]).files == {"a.gpx": "one"}
        assert len(told(first, *apart)) == 1


def test_the_last_that_both_had_seen_counts():
    """Of what all had seen the newest: not the first."""
    first = put("one")
    second = put("two", counter=2, parents=[first])
    # One that names all it had seen, and one that names the last alone.
    ana = put("three", counter=3, parents=[first, second])
    ben = put("four", by="Ben", parents=[second])

    assert current_of([ana, first, ben, second]).files == {"a.gpx": "two"}


def test_of_two_that_had_seen_nothing_in_common_the_earliest_stands():
    """An input is never without a content; and where one took it back, the other's."""
    ana, ben = put("one"), put("two", by="Ben")
    other = put("three", thing="b.gpx")
    odd = put("", by="Cal", parents=[other], body=False)

    assert current_of([ben, ana]).files == {"a.gpx": "one"}
    assert current_of([ben, odd]).files == {"a.gpx": "two"}
    assert len(told(ana, ben)) == 1


def test_two_that_both_took_it_back_agree():
    """It is gone, and there is nothing to settle."""
    first = put("one")
    backs = [put("", by=by, parents=[first], body=False) for by in ("Ben", "Cal")]

    assert current_of([first, *backs]).files == {}
    assert told(first, *backs) == []


def test_an_ancestor_that_is_not_here_or_of_another_thing_is_none():
    """A copy may lack what its author had seen."""
    other, lost = put("x", thing="b.gpx"), put("lost")
    ana = put("one", parents=[lost, other])
    ben = put("two", by="Ben", parents=[lost, other])

    assert current_of([ana, ben, other]).files == {"a.gpx": "one", "b.gpx": "x"}
    assert current_of([ana, ben, other, lost]).files == {"a.gpx": "lost", "b.gpx": "x"}


def test_a_number_stays_with_the_thing_that_had_it_first():
    """Who gave it again says so, with both things; nobody's number changes."""
    ana, ben = numbered("A-1", "m1"), numbered("A-1", "m2", by="Ben", time_utc=LATER)
    got = current_of([ben, ana])

    assert got.numbers == (IssuedNumber(no="A-1", anchor_id="m1", first_revision="A"),)
    assert told(ben, ana) == [("number", "A-1", ("for m1", "for m2"))]


def test_a_number_is_not_moved_by_who_had_seen_it():
    """Neither a later entry on it, nor an earlier clock."""
    ana = numbered("A-1", "m1")
    moved = numbered("A-1", "m2", by="Ben", time_utc=NOON - dt.timedelta(1), parents=[ana])

    assert [one.anchor_id for one in current_of([moved, ana]).numbers] == ["m1"]


def test_a_second_number_of_one_thing_is_never_used_again():
    """It stands under an anchor that is nobody's."""
    ana, ben = numbered("A-1", "m1"), numbered("A-2", "m1", by="Ben", time_utc=LATER)
    got = current_of([ben, ana])

    assert [(one.no, one.anchor_id) for one in got.numbers] == [
        ("A-1", "m1"), ("A-2", "issued twice: A-2"),
    ]  # fmt: skip
    assert told(ana, ben) == [("number", "m1", ("A-1", "A-2"))]


def test_a_number_issued_twice_is_told_until_somebody_has_seen_it():
    """An entry after both settles it, and the first stays."""
    ana, ben = numbered("A-1", "m1"), numbered("A-1", "m2", by="Ben", time_utc=LATER)
    seen = numbered("A-1", "m1", by="Sam", parents=[ana, ben])
    got = current_of([seen, ben, ana])

    assert [one.anchor_id for one in got.numbers] == ["m1"]
    assert told(ana, ben, seen) == []


def test_the_same_number_given_twice_to_one_thing_is_one():
    """Two copies of one table."""
    ana, ben = numbered("A-1", "m1"), numbered("A-1", "m1", by="Ben")

    assert len(current_of([ana, ben]).numbers) == 1
    assert told(ana, ben) == []


def test_two_issues_of_one_letter_are_both_kept_and_told():
    """The paper of both is out."""
    one, other = (
        entry(kind="issue", thing="A", device=by, body=body_of("issue", seal=by))
        for by in ("Ana", "Ben")
    )

    assert current_of([other, one]).issues == (one, other)
    assert [kind for kind, *_ in told(one, other)] == ["issue"]


@pytest.mark.parametrize(("done", "is_done"), [((True, True), True), ((True, False), False)])
def test_a_tick_counts_when_nobody_says_otherwise(done, is_done):
    """Two phones apart: what one has not done is not done, and nobody need settle it."""
    ticks = [
        entry(kind="tick", thing="m1", device=f"phone {k}", body=body_of("tick", done=one))
        for k, one in enumerate(done)
    ]

    assert ("m1" in current_of(ticks).done) is is_done
    assert told(*ticks) == []


def test_a_phone_that_anybody_took_back_may_not_send():
    """Whoever else changed it meanwhile."""
    first = entry(kind="device", thing="hash", body=body_of("device"))
    longer = entry(kind="device", thing="hash", device="desk 2", parents=[first.entry_id],
                   body=body_of("device", until="2026-07-01"))  # fmt: skip
    back = entry(kind="device", thing="hash", body=None, device="desk 3",
                 parents=[first.entry_id])  # fmt: skip

    assert current_of([first, longer]).devices == {"hash": longer}
    assert current_of([first, longer, back]).devices == {}


def test_of_joins_each_pair_is_a_thing_of_its_own():
    """Two joins of one mark add up."""
    made = [decided(other, field="join", counter=k) for k, other in enumerate(("m2", "m3"))]

    assert [one.value for one in current_of(made).decisions] == ["m2", "m3"]
    assert decision_thing("m1", "action", "LIFT") == "m1 action"


@st.composite
def stories(draw):
    """What up to three persons did, each having seen some of what was there."""
    made = []
    for count in range(draw(st.integers(1, 9))):
        places = draw(st.sets(st.sampled_from(range(count)))) if made else ()
        seen = [made[at] for at in places]
        by = draw(st.sampled_from(["Ana", "Ben", "Cal"]))
        value = draw(st.sampled_from(["LIFT", "SLOW"]))
        made.append(draw(st.sampled_from([
            decided(value, by=by, counter=count, parents=seen),
            put(value, by=by, counter=count, parents=seen),
            put(value, by=by, counter=count, parents=seen, body=False),
            numbered(f"A-{count % 3}", value, by=by, parents=seen,
                     time_utc=NOON + dt.timedelta(seconds=count)),
        ])))  # fmt: skip
    return made


def said_by(current):
    """All that is current, comparable."""
    names = ("files", "decisions", "numbers", "remarks", "issues", "recorded", "done", "heads")
    return {name: getattr(current, name) for name in names}


@given(stories(), st.randoms(use_true_random=False))
def test_the_order_of_entries_does_not_matter(made, chance):
    """Nor a second copy of some."""
    shuffled = [*made, *made[:3]]
    chance.shuffle(shuffled)

    assert said_by(current_of(shuffled)) == said_by(current_of(made))


@given(stories())
def test_nothing_is_chosen_in_silence(made):
    """Where the heads of a thing differ it is told with all of them, and no decision is taken."""
    got = current_of(made)
    ids = {one.entry_ids for one in got.remarks.edited_twice}
    for (kind, _), several in got.heads.items():
        apart = len({str(sorted(one.body.items())) for one in several if kind == "file"}) > 1
        values = {one.body.get("value") for one in several if kind == "decision"}
        if apart or len(values) > 1:
            assert tuple(one.entry_id for one in several) in ids
        if len(values) > 1:
            assert got.decisions == ()


@given(stories())
def test_every_number_stays_and_is_one_things(made):
    """Whatever persons did apart, no number is lost, moved or given to two."""
    got = current_of(made)
    for upto in range(len(made)):
        earlier = {one.no: one for one in current_of(made[:upto]).numbers}
        here = {one.no: one for one in got.numbers}
        assert earlier.keys() <= here.keys()

    assert {one.no for one in got.numbers} == {
        one.thing for one in made if one.kind == "number"
    }  # fmt: skip
    assert len({one.anchor_id for one in got.numbers}) == len(got.numbers)
