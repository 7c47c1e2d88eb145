"""Issue: a draft says why, what is ready is issued once it is meant, and copies are known."""

import hashlib

import pytest
from stored_job import ANA, JOB, stored

from routeprep.access import CREW
from routeprep.desk import Desk


@pytest.fixture
def ready(office):
    """A desk at the small job, sorted and decided."""
    return stored(office.store(), decided=True)


def opened(office, person=None):
    """The page, as the superintendent has it, or somebody who signs in."""
    jobs = office.signed_in(*person) if person else office.named()
    return office.turned(jobs.button(key=f"open {JOB}").click().run(), "issue")


def texts(page):
    """All that stands on the page as plain text."""
    return [one.value for one in page.text]


def keys(page):
    """The buttons there are."""
    return {one.key for one in page.button}


def issued(page):
    """The page after the list was read and issued."""
    page.checkbox[0].check().run()
    return page.button(key="issue").click().run()


def current(office):
    """What the store's entries say."""
    return Desk(office.store(), JOB).look().current


def noted(page, to, revision):
    """The page after a copy was noted down."""
    page.text_input(key="copy to").set_value(to)
    next(one for one in page.selectbox if one.label == "Of revision").set_value(revision).run()
    return page.button(key="hand over").click().run()


def test_a_draft_names_each_reason_and_where_to_mend_it(office):
    """And cannot be issued."""
    stored(office.store())
    page = opened(office)

    assert page.warning[0].value.startswith("**DRAFT**")
    assert any("not decided: decide them on the page In the road" in one for one in texts(page))
    assert any("sort before issue: sort them" in one for one in texts(page))
    assert "issue" not in keys(page)


def test_issuing_takes_a_tick_and_a_press(office, ready):
    """Numbers stand for good, and the pack is kept byte for byte."""
    page = opened(office)
    assert page.button(key="issue").disabled
    after = issued(page)
    (one,) = current(office).issues
    kept = office.store().blob(one.body["pack"])

    assert (one.body["revision"], one.body["by"]) == ("A", "Ann")
    assert hashlib.sha256(kept).hexdigest() == one.body["pack"]
    assert len(current(office).numbers) == len(ready.pack(ready.look()).obstructions)
    assert after.success[0].value == "Revision A is issued and kept\\."
    assert "Nothing on the list reads otherwise than on A." in texts(after)


def test_what_somebody_changed_meanwhile_is_not_issued_unseen(office, ready):
    """The page is looked at again first."""
    page = opened(office)
    page.checkbox[0].check().run()
    anchor = str(ready.pack(ready.look()).obstructions["anchor_id"].iloc[0])
    ready.decide(ready.look(), ANA, [(anchor, "action", "STOP")])
    after = page.button(key="issue").click().run()

    assert current(office).issues == ()
    assert "somebody changed the job since you looked" in after.error[0].value


def test_the_change_slip_is_read_before_the_next_issue(office, ready):
    """One line a thing."""
    page = issued(opened(office))
    anchor = str(ready.pack(ready.look()).obstructions["anchor_id"].iloc[0])
    ready.decide(ready.look(), ANA, [(anchor, "action", "STOP")])
    slip = page.run().dataframe[0].value

    assert list(slip["No."]) == ["A-1"]
    assert "decided otherwise: STOP" in slip["What changed"].iloc[0]


def test_who_holds_an_older_copy_is_named(office, ready):
    """Until they are noted with the newest."""
    page = noted(noted(issued(opened(office)), "Bob *x*", "A"), "Cy", "A")
    anchor = str(ready.pack(ready.look()).obstructions["anchor_id"].iloc[0])
    ready.decide(ready.look(), ANA, [(anchor, "action", "STOP")])
    page = issued(page.run())
    (warning,) = (one.value for one in page.warning)
    assert "Bob \\*x\\* has A" in warning
    assert "Cy has A" in warning

    page = noted(page, "bob  *X*", "B")
    (warning,) = (one.value for one in page.warning)
    assert warning.count(" has A") == 1
    assert "Cy has A" in warning
    assert not noted(page, "Cy", "B").warning


@pytest.mark.usefixtures("ready")
def test_a_copy_goes_to_somebody(office):
    """A nameless one is refused."""
    page = noted(issued(opened(office)), "  ", "A")

    assert current(office).copies == ()
    assert "write who" in page.error[0].value


@pytest.mark.usefixtures("ready")
def test_the_crew_reads_and_issues_nothing(office):
    """The sentence says who does."""
    issued(opened(office))
    page = opened(office, ("Cy", CREW))

    assert keys(page) & {"issue", "hand over"} == set()
    assert "The superintendent issues and notes who got a copy." in texts(page)
    assert any(one.startswith("Revision A, ") for one in texts(page))


def test_earlier_packs_stay_when_the_job_cannot_be_prepared(office, ready):
    """Here its settings were spoiled since."""
    page = issued(opened(office))
    ready.put_files(ready.look(), ANA, {}, toml=("job.toml", b"format = 1\n"))
    after = page.run()

    assert after.error
    assert any(one.startswith("Revision A, ") for one in texts(after))
