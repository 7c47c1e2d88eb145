"""History: who said what and when, in plain words."""

import pytest
from stored_job import ANA, BEN, JOB, stored

from routeprep.desk import Act
from routeprep.remarks import WHOLE

TOKEN_HASH = "f" * 64


@pytest.fixture
def small(office):
    """A desk at the small job, sorted and decided."""
    return stored(office.store(), decided=True)


def opened(office):
    """The page, as the superintendent has it."""
    jobs = office.named()
    return office.turned(jobs.button(key=f"open {JOB}").click().run(), "history")


def texts(page):
    """All that stands on the page as plain text."""
    return [one.value for one in page.text]


def first_thing(desk):
    """The anchor of the first thing of the list."""
    return str(desk.pack(desk.look()).obstructions["anchor_id"].iloc[0])


def test_an_entry_says_who_when_of_what_and_what_it_replaced(office, small):
    """When by the job's own clock."""
    small.decide(small.look(), BEN, [(first_thing(small), "action", "STOP")], why="no *cover*")
    shown = texts(opened(office))

    assert "2026-06-01 12:00 · Ben (invented) · decision · A-1" in shown
    assert "action is STOP; why: no *cover*" in shown
    assert "Before: action is as proposed (Ana (invented), 2026-06-01 12:00)" in shown


def test_what_was_taken_back_says_so(office, small):
    """With what it was."""
    anchor = first_thing(small)
    small.write(small.look(), BEN, [Act("decision", f"{anchor} action", None)])
    shown = texts(opened(office))
    at = shown.index("2026-06-01 12:00 · Ben (invented) · decision · A-1")

    assert shown[at + 1] == "taken back"
    assert shown[at + 2].startswith("Before: action is as proposed")


@pytest.mark.usefixtures("small")
def test_a_thing_is_picked_by_its_number(office):
    """Its own entries alone."""
    page = opened(office)
    page.selectbox(key="history of").set_value("A-2").run()
    heads = [one for one in texts(page) if " · decision" in one]

    assert heads
    assert all(one.endswith("A-2") for one in heads)


def test_kind_and_person_are_filtered(office, small):
    """Both at once."""
    small.review(small.look(), BEN, subject=WHOLE, says="accept", text="")
    page = opened(office)
    page.selectbox(key="history kind").set_value("review")
    page.selectbox(key="history who").set_value(BEN.name).run()

    assert "1 entries, newest first" in texts(page)
    assert "2026-06-01 12:00 · Ben (invented) · review · the whole list" in texts(page)


def test_nothing_of_a_token_is_shown(office, small):
    """Of a phone its name alone, also once it was taken back."""
    body = {"name": "Cal's", "role": "crew", "until": "2026-07-01", "by": ANA.name}
    small.write(small.look(), ANA, [Act("device", TOKEN_HASH, body)])
    small.write(small.look(), ANA, [Act("device", TOKEN_HASH, None)])
    shown = texts(opened(office))

    assert "Cal's may send as crew until 2026-07-01" in shown
    assert not any(TOKEN_HASH in one for one in shown)


def test_a_long_text_is_cut_and_says_so(office, small):
    """The pack has it in full."""
    small.review(small.look(), BEN, subject=WHOLE, says="comment", text="<b>" + "x" * 9_997)

    assert any(one.endswith("(8,009 characters more)") for one in texts(opened(office)))


def test_many_entries_are_paged(office, small):
    """The newest are first."""
    for _ in range(50):
        small.review(small.look(), BEN, subject=WHOLE, says="comment", text="again")
    page = opened(office)
    first = len([one for one in texts(page) if one == "comment: again"])
    page.selectbox(key="history page").set_value(2).run()
    second = len([one for one in texts(page) if one == "comment: again"])

    assert (first, second) == (40, 10)


def test_a_job_that_cannot_be_prepared_still_has_its_history(office, small):
    """Times are UTC then."""
    small.put_files(small.look(), ANA, {}, toml=("job.toml", b"format = 1\n"))
    shown = texts(opened(office))

    assert any(one.startswith("The job cannot be prepared just now") for one in shown)
    assert "2026-06-01 17:00 · Ana (invented) · settings of the job" in shown
