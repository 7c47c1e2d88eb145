"""Several persons at one desk: acts, what each had seen, what is issued."""

import pytest
from stored_job import ANA, BEN, CREW_HAND, JOB, LEAD, NOON, job_files_small, stored

from routeprep import desk as desks
from routeprep.desk import Act, Desk
from routeprep.errors import AccessError, JobError
from routeprep.store import open_store


@pytest.fixture
def store(tmp_path):
    """An empty store."""
    with open_store(f"sqlite:///{tmp_path / 'jobs.db'}") as opened:
        yield opened


def first(desk):
    """The id of the first thing on the list."""
    return str(desk.pack(desk.look()).obstructions["anchor_id"].iloc[0])


def action(desk):
    """What the first thing on the list reads."""
    return str(desk.pack(desk.look()).obstructions["action"].iloc[0])


def test_a_look_stays_the_same_while_nothing_changes(store):
    """Nothing is read or made again."""
    desk = stored(store)
    look = desk.look()

    assert desk.look() is look
    assert desk.pack(look) is desk.pack(desk.look())


def test_a_decision_shows_in_the_next_look_and_not_in_the_last(store):
    """A look is of one moment."""
    desk = stored(store)
    before = desk.look()
    desk.decide(before, ANA, [(first(desk), "action", "LIFT")], why="seen on foot")

    assert before.current.decisions == ()
    (made,) = desk.look().current.decisions
    assert (made.by, made.when, made.why) == (ANA.name, "2026-06-01 12:00", "seen on foot")
    assert action(desk) == "LIFT"


def test_an_edit_does_not_group_the_looks_again(store, monkeypatch):
    """Only the short half of the work is done for a decision; a split asks for both."""
    calls = []
    made = desks.group
    monkeypatch.setattr(desks, "group", lambda *given: calls.append(1) or made(*given))
    desk = stored(store)
    one = first(desk)
    desk.decide(desk.look(), ANA, [(one, "action", "LIFT")])
    desk.pack(desk.look())
    assert len(calls) == 1

    desk.decide(desk.look(), ANA, [(one, "kind", "water valve")])
    assert "WV" in set(desk.pack(desk.look()).obstructions["kind"])
    assert len(calls) == 1

    desk.decide(desk.look(), ANA, [(one, "split", "")])
    desk.pack(desk.look())

    assert len(calls) == 2


def test_two_who_had_the_same_look_are_told_apart(store):
    """Neither's decision is chosen, and a third that has seen both settles it."""
    desk = stored(store)
    one, look = first(desk), desk.look()
    desk.decide(look, ANA, [(one, "action", "LIFT")])
    desk.decide(look, BEN, [(one, "action", "SLOW")])
    (twice,) = desk.look().current.remarks.edited_twice

    assert (twice.subject, twice.field) == (one, "action")
    assert action(desk) == "NOT DECIDED: STOP"

    desk.decide(desk.look(), ANA, [(one, "action", "SLOW")])

    assert desk.look().current.remarks.edited_twice == ()
    assert action(desk) == "SLOW"


def test_two_who_decide_the_same_have_nothing_to_settle(store):
    """The same value twice is one decision."""
    desk = stored(store)
    one, look = first(desk), desk.look()
    for person in (ANA, BEN):
        desk.decide(look, person, [(one, "action", "LIFT")])

    assert action(desk) == "LIFT"


def test_what_is_taken_back_is_gone_and_stays_in_the_history(store):
    """Nothing is lost: the decision and its end are both told."""
    desk = stored(store)
    one = first(desk)
    desk.decide(desk.look(), ANA, [(one, "action", "LIFT")])
    desk.write(desk.look(), ANA, [Act("decision", f"{one} action", None)])

    assert desk.look().current.decisions == ()
    assert [entry.removed for entry in desk.history(desk.look(), {one})] == [False, True]


@pytest.mark.parametrize("person", [LEAD, CREW_HAND])
def test_only_the_superintendent_decides(store, person):
    """The store refuses whatever a page would let through, and nothing is written."""
    desk = stored(store)
    before = desk.look()

    with pytest.raises(AccessError, match="may not write a decision; superintendent may"):
        desk.decide(before, person, [(first(desk), "action", "LIFT")])

    assert desk.look() is before


def test_a_value_that_cannot_be_carried_out_is_refused_before_it_is_kept(store):
    """The store never holds a decision that the job would stumble over."""
    desk = stored(store)

    with pytest.raises(JobError, match="does not start with one of"):
        desk.decide(desk.look(), ANA, [(first(desk), "action", "DANCE")])

    assert desk.look().current.decisions == ()


def test_reviews_and_checks_add_up(store):
    """What is said of a thing twice is said twice."""
    desk = stored(store)
    one = first(desk)
    desk.review(desk.look(), LEAD, subject="whole", says="comment", text="where do trucks turn?")
    desk.review(desk.look(), LEAD, subject="whole", says="accept", text="")
    desk.check(desk.look(), CREW_HAND, subject=one, says="changed", text="paint gone")
    remarks = desk.pack(desk.look()).remarks

    assert [said.says for said in remarks.reviews] == ["comment", "accept"]
    assert [(said.subject, said.text) for said in remarks.checks] == [(one, "paint gone")]
    assert remarks.edited_twice == ()


def test_a_draft_is_not_issued(store):
    """What is neither sorted nor decided stays here."""
    desk = stored(store)

    with pytest.raises(JobError, match=r"a draft is not issued: 4 of 4 things are not decided"):
        desk.issue(desk.look(), ANA, paper="letter")


def test_a_list_that_somebody_changed_is_not_issued_unseen(store):
    """Who issues has seen what is issued."""
    desk = stored(store, decided=True)
    look = desk.look()
    desk.decide(look, BEN, [(first(desk), "note", "deep frame")])

    with pytest.raises(JobError, match="somebody changed the job since you looked"):
        desk.issue(look, ANA, paper="letter")


def test_numbers_are_kept_from_the_first_issue_on(store):
    """Issue A, lower a cover, issue B: the same numbers, the slip against A."""
    desk = stored(store, decided=True)
    desk.issue(desk.look(), ANA, paper="letter")
    nos = list(desk.pack(desk.look()).obstructions["no"])
    desk.decide(desk.look(), ANA, [(first(desk), "status", "lowered 4 in")])
    desk.issue(desk.look(), ANA, paper="letter")
    desk.hand_over(desk.look(), ANA, revision="B", to="paving crew", how="on paper")
    current = desk.look().current

    assert list(desk.pack(desk.look()).obstructions["no"]) == nos
    assert [one.body["revision"] for one in current.issues] == ["A", "B"]
    assert [one.body["to"] for one in current.copies] == ["paving crew"]
    assert len(current.numbers) == 4


def test_a_job_is_made_of_nothing(store):
    """A TOML and files that are put in one after the other make a job."""
    desk = Desk(store, JOB, now=lambda: NOON)
    files = job_files_small()
    toml = files.pop("job.toml")
    with pytest.raises(JobError, match="no settings yet"):
        desk.pack(desk.look())

    desk.put_files(desk.look(), ANA, files, toml=("job.toml", toml))

    assert len(desk.pack(desk.look()).obstructions) == 4


def test_a_second_desk_sees_what_the_first_wrote(store, tmp_path):
    """Two trucks, one store."""
    here = stored(store)
    with open_store(f"sqlite:///{tmp_path / 'jobs.db'}") as other:
        there = Desk(other, JOB, now=lambda: NOON)
        there.look()
        here.decide(here.look(), ANA, [(first(here), "action", "LIFT")])

        assert action(there) == "LIFT"
