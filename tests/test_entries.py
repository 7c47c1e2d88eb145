"""Entries: what one says for good, its id, and what is current of a thing."""

import datetime as dt
import json
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_said import NOON, body_of, entry

from routeprep.entries import BODIES, checked, entry_json, heads, in_time, parse_entry
from routeprep.errors import EntryError


@pytest.mark.parametrize("kind", BODIES)
def test_each_kind_comes_back_as_it_was_written(kind):
    """As one line of JSON, its id made anew of what it says."""
    made = entry(kind=kind, thing="one", body=body_of(kind))

    assert parse_entry(entry_json(made)) == made
    assert "\n" not in entry_json(made)


def test_an_entry_without_a_time_comes_back_without_one():
    """A file does not say when."""
    made = entry(time_utc=None)

    assert parse_entry(entry_json(made)) == made


def test_the_same_is_the_same_entry_and_anything_else_is_another():
    """Whatever differs gives another id; the zone and the order of parents do not."""
    one = entry(parents=("b", "a", "b"))
    west = NOON.astimezone(dt.timezone(dt.timedelta(hours=-5)))
    others = [
        {"job": "other"}, {"kind": "issue", "body": body_of("issue")}, {"thing": "drives/b.gpx"},
        {"body": {"sha256": "1" * 64}}, {"author": "Ben (invented)"}, {"device": "desk 2"},
        {"counter": 2}, {"time_utc": NOON + dt.timedelta(milliseconds=1)}, {"parents": ("a",)},
        {"time_utc": None}, {"body": None},
    ]  # fmt: skip

    assert entry(parents=("a", "b"), time_utc=west) == one
    assert len({entry(**other).entry_id for other in others} | {one.entry_id}) == len(others) + 1


def test_a_time_is_cut_to_the_millisecond_that_is_kept():
    """So that an entry read back is the same one."""
    made = entry(time_utc=NOON.replace(microsecond=123_999))

    assert made.time_utc == NOON.replace(microsecond=123_000)
    assert parse_entry(entry_json(made)) == made


def test_what_is_taken_back_has_an_entry_of_its_own():
    """Removal is an entry, whatever the kind."""
    before = entry()
    after = entry(body=None, counter=2, parents=[before.entry_id])

    assert (before.removed, after.removed) == (False, True)
    assert heads([before, after]) == {("file", "drives/a.gpx"): (after,)}


@pytest.mark.parametrize("kind", ["number", "issue"])
def test_what_was_issued_is_never_taken_back(kind):
    """The paper is out."""
    with pytest.raises(EntryError, match=f"a {kind} stands for good"):
        entry(kind=kind, thing="A", body=None)


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"kind": "rumour"}, "kind 'rumour' is not one of settings, file"),
        ({"job": ""}, "job, thing and device must be named"),
        ({"device": ""}, "job, thing and device must be named"),
        ({"counter": -1}, "counter is -1, expected 0 to"),
        ({"counter": 2**63}, "expected 0 to 9223372036854775807"),
        ({"job": "x" * 201}, "job and device may have 200 characters at most"),
        ({"author": "An\0a"}, "holds what is no character"),
        ({"author": "An\ud83da"}, "holds what is no character"),
        ({"parents": ["\ud83d"]}, "holds what is no character"),
        ({"thing": "../a.gpx"}, "is no plain file name; write it relative to the job"),
        ({"thing": "/etc/a.gpx"}, "is no plain file name"),
        ({"thing": "C:a.gpx"}, "is no plain file name"),
        ({"thing": "a\\b.gpx"}, "is no plain file name"),
        ({"thing": "a\nb.gpx"}, "is no plain file name"),
        ({"body": {}}, r"body has \[\], expected \['sha256'\]"),
        ({"body": {"sha256": 5}}, "sha256 is '5', expected str"),
        ({"kind": "settings", "body": {"name": "../j.toml", "sha256": "0"}}, "no plain file name"),
        ({"kind": "decision", "body": body_of("decision") | {"why": "cut \ud83d"}},
         "body holds half a character"),
        ({"kind": "decision", "body": body_of("decision") | {"why": "x" * 1_000_001}},
         "characters, 1,000,000 at most; send it in parts"),
    ],
)  # fmt: skip
def test_what_cannot_be_kept_is_refused(changes, sentence):
    """With what was found and what was expected."""
    with pytest.raises(EntryError, match=sentence):
        entry(**changes)


@pytest.mark.parametrize(
    ("name", "value", "sentence"),
    [
        ("time_ms", True, "time_ms is 'True', expected int or float or NoneType"),
        ("lon_deg", "west", "lon_deg is 'west', expected int or float or NoneType"),
        ("words", None, "words is 'None', expected str"),
    ],
)
def test_a_value_of_another_type_is_refused(name, value, sentence):
    """A yes is no number, a text no place, and nothing no text."""
    with pytest.raises(EntryError, match=sentence):
        entry(kind="mark", thing="m1", body=body_of("mark") | {name: value})


def test_a_whole_emoji_is_kept():
    """Only half of one is not."""
    made = entry(kind="decision", thing="x", body=body_of("decision") | {"why": "\U0001f6a7 ud8"})

    assert parse_entry(entry_json(made)) == made


@pytest.mark.parametrize("value", [float("nan"), {1, 2}, b"x"])
def test_a_body_that_is_no_json_is_refused(value):
    """Neither made nor taken from elsewhere."""
    body = body_of("fixes") | {"fixes": [value]}
    with pytest.raises(EntryError, match="fixes 'one': body is no JSON"):
        entry(kind="fixes", thing="one", body=body)

    changed = replace(entry(kind="fixes", thing="one", body=body_of("fixes")), body=body)
    with pytest.raises(EntryError, match="body is no JSON"):
        checked(changed)


def test_a_time_of_no_zone_is_refused():
    """Nobody knows when that was."""
    with pytest.raises(EntryError, match="time 2026-06-01 12:00:00 names no zone"):
        checked(replace(entry(), time_utc=NOON.replace(tzinfo=None)))


def test_an_entry_that_was_changed_is_refused():
    """Its id is made of what it says."""
    with pytest.raises(EntryError, match="its id is not made of what it says: it was changed"):
        checked(replace(entry(), author="Ben (invented)"))


@pytest.mark.parametrize(
    "text", ["", "[]", "{}", '{"time": 5}', '{"time": null, "x": 1}', "[" * 5000]
)
def test_a_text_that_is_no_entry_is_refused(text):
    """Whatever is wrong with it."""
    with pytest.raises(EntryError, match="is no entry"):
        parse_entry(text)


def test_a_text_whose_entry_cannot_be_is_refused():
    """As one that is made."""
    text = json.dumps(json.loads(entry_json(entry())) | {"counter": -1})
    with pytest.raises(EntryError, match="counter is -1"):
        parse_entry(text)


def test_two_who_did_not_see_each_other_leave_two_heads():
    """Until one has seen both; an entry on another thing is no child."""
    first = entry()
    ana, ben = (
        entry(author=name, device=name, counter=2, parents=[first.entry_id],
              body={"sha256": name})
        for name in ("Ana", "Ben")
    )  # fmt: skip
    tick = entry(kind="tick", thing="x", body=body_of("tick"), parents=[ana.entry_id])
    both = entry(counter=3, parents=[ana.entry_id, ben.entry_id])
    key = ("file", "drives/a.gpx")

    assert heads([first, ben, ana, tick])[key] == tuple(sorted([ana, ben], key=in_time))
    assert heads([first, ben, ana, tick, both])[key] == (both,)


def test_what_one_device_writes_at_once_stays_in_its_order():
    """Within a millisecond as it counted; what has no time comes first."""
    said = [entry(thing=f"{k}.gpx", counter=k) for k in range(1, 12)]
    timeless = entry(time_utc=None, counter=99)
    earlier = entry(time_utc=NOON - dt.timedelta(milliseconds=1), counter=50)

    assert sorted([*said[::-1], earlier, timeless], key=in_time) == [timeless, earlier, *said]


@st.composite
def stories(draw):
    """Entries on two things, each naming some of those before it on any thing."""
    made = []
    for count in range(draw(st.integers(1, 8))):
        seen = draw(st.sets(st.sampled_from(range(count)))) if count else set()
        made.append(entry(
            thing=draw(st.sampled_from(["a", "b"])), counter=count,
            time_utc=draw(st.sampled_from([None, NOON])), device=draw(st.sampled_from(["d", "e"])),
            parents=[made[one].entry_id for one in seen],
        ))  # fmt: skip
    return made


@given(stories(), st.randoms(use_true_random=False))
def test_the_order_in_which_entries_come_does_not_matter(made, chance):
    """Nor does a second copy; every thing has a head, and no head has a child on its thing."""
    shuffled = [*made, *made[:2]]
    chance.shuffle(shuffled)
    found = heads(shuffled)

    assert list(found.items()) == list(heads(made).items())
    assert set(found) == {("file", one.thing) for one in made}
    for several in found.values():
        parents = {
            one for other in made for one in other.parents if other.thing == several[0].thing
        }
        assert not parents & {one.entry_id for one in several}
