"""On the day: same, changed or not looked at, in one tap each."""

import pytest
from stored_job import JOB, stored

from routeprep.access import CREW
from routeprep.daychecks import day_checks
from routeprep.desk import Desk

STREET, BEGIN = "leg A", "limit A begin"


@pytest.fixture
def page(office):
    """The page of the small job, as one of the crew has it."""
    stored(office.store(), decided=True)
    jobs = office.signed_in("Cy", CREW)
    return office.turned(jobs.button(key=f"open {JOB}").click().run(), "day")


def checks(office):
    """What was found, as the store has it."""
    return Desk(office.store(), JOB).look().current.remarks.checks


def texts(page):
    """All that stands on the page as plain text."""
    return [one.value for one in page.text]


def tapped(page, says, subject):
    """The page after one tap."""
    return page.button(key=f"{says} {subject}").click().run()


def test_every_thing_limit_and_street_has_three_buttons(office, page):
    """One tap each."""
    at = Desk(office.store(), JOB)
    day = day_checks(at.pack(at.look()))
    every = (*day.things, *day.limits, *day.streets)

    assert {one.key for one in page.button} >= {
        f"{says} {one.subject}" for one in every for says in ("same", "changed", "not looked at")
    }
    assert "NOT RE-CHECKED." in texts(page)


def test_one_tap_keeps_what_was_found_with_name_and_time(office, page):
    """The count at the top follows."""
    shown = tapped(page, "same", BEGIN)
    (one,) = checks(office)

    assert (one.subject, one.says, one.text, one.by) == (BEGIN, "same", "", "Cy")
    assert len(one.when) == len("2026-06-01 12:00")
    assert any("LIMITS 1 OF 2" in text for text in texts(shown))
    assert any(text.startswith("same (Cy, ") for text in texts(shown))


def test_a_change_is_kept_at_the_tap_and_its_words_after(office, page):
    """Who is called away before typing has still said that something changed."""
    shown = tapped(page, "changed", STREET)
    assert [(one.says, one.text) for one in checks(office)] == [("changed", "")]

    shown.text_input(key=f"words {STREET}").set_value("by the school *gate*")
    shown.button(key=f"usual new patch {STREET}").click().run()
    shown.button(key=f"usual parked cars {STREET}").click().run()
    after = shown.button(key=f"tell {STREET}").click().run()

    assert checks(office)[-1].text == "by the school *gate*; new patch; parked cars"
    assert any("CHANGED: street A" in text for text in texts(after))
    assert f"tell {STREET}" not in {one.key for one in after.button}


def test_a_change_without_words_is_asked_again(office, page):
    """What was tapped stands."""
    shown = tapped(page, "changed", STREET)
    after = shown.button(key=f"tell {STREET}").click().run()

    assert "no word of what has changed" in after.error[0].value
    assert len(checks(office)) == 1


def test_what_nobody_looked_at_stands_in_plain_sight(page):
    """By name, until somebody did."""
    assert "NOT LOOKED AT, 1 of 1 streets: street A" in texts(page)
    after = tapped(page, "same", STREET)
    assert not any("of 1 streets" in text for text in texts(after))


def test_only_what_is_left_can_be_shown(page):
    """What somebody looked at is out of the way."""
    tapped(page, "same", STREET)
    page.toggle(key="day left").set_value(True).run()
    assert f"same {STREET}" not in {one.key for one in page.button}
    assert f"same {BEGIN}" in {one.key for one in page.button}
