"""Review: what the traffic lead says of the list and of each thing."""

import pytest
from stored_job import ANA, JOB, stored

from routeprep.access import CREW, TRAFFIC_LEAD
from routeprep.desk import Desk
from routeprep.listing import rows_by_leg
from routeprep.remarks import WHOLE

HOSTILE = "<script>alert(1)</script> {{ 7*7 }} #eval(1) **b** \u202eright to left 🛣️ " + "x" * 9_000


@pytest.fixture
def page(office):
    """The page of the small job, decided, as the traffic lead has it."""
    stored(office.store(), decided=True)
    jobs = office.signed_in("Lee", TRAFFIC_LEAD)
    return office.turned(jobs.button(key=f"open {JOB}").click().run(), "review")


def desk(office):
    """The job as the store has it."""
    return Desk(office.store(), JOB)


def reviews(office):
    """What was said, as the store has it."""
    return desk(office).look().current.remarks.reviews


def first_thing(office):
    """The anchor of the first thing of the list."""
    at = desk(office)
    return str(at.pack(at.look()).obstructions["anchor_id"].iloc[0])


def texts(page):
    """All that stands on the page as plain text."""
    return [one.value for one in page.text]


def told(page):
    """What the last act came to."""
    return [one.value for one in (*page.success, *page.error)]


def said(page, subject, says, text=""):
    """The page after somebody said something."""
    page.text_area(key=f"text {subject}").set_value(text)
    return page.button(key=f"{says} {subject}").click().run()


def test_the_lead_accepts_the_whole_list_in_one_tap(office, page):
    """Without a word; it is said of this very list."""
    shown = said(page, WHOLE, "accept")
    (one,) = reviews(office)

    assert (one.subject, one.says, one.by, len(one.seal)) == (WHOLE, "accept", "Lee", 64)
    assert told(shown) == ["Accepted\\, with your name\\."]
    assert any("accepted by Lee" in one and "this very list" in one for one in texts(shown))


def test_a_change_that_is_asked_for_is_open_until_it_is_accepted(office, page):
    """It makes the list a draft."""
    anchor = first_thing(office)
    shown = said(page, anchor, "ask for change", "room for trucks")
    at = desk(office)

    assert "Lee asks for 1 change" in at.pack(at.look()).draft
    assert any(one.startswith("OPEN: ask for change: room for trucks") for one in texts(shown))
    assert any("CHANGE ASKED FOR" in one.label for one in shown.expander)

    after = said(shown, anchor, "accept")
    assert desk(office).pack(desk(office).look()).draft == ()
    assert not any(one.startswith("OPEN") for one in texts(after))


@pytest.mark.parametrize("says", ["comment", "ask for change"])
def test_a_comment_or_an_ask_without_words_is_refused(office, page, says):
    """A reader would not know what is meant."""
    shown = said(page, WHOLE, says, "  ")

    assert reviews(office) == ()
    assert "nothing stands in the box" in told(shown)[0]


def test_a_hostile_comment_is_kept_and_shown_as_it_was_typed(office, page):
    """As plain text, never as anything else."""
    shown = said(page, WHOLE, "comment", HOSTILE)

    assert reviews(office)[0].text == HOSTILE.strip()
    assert any(HOSTILE.strip() in one for one in texts(shown))
    assert page.text_area(key=f"text {WHOLE}").value == ""


def test_what_was_said_of_an_earlier_list_says_so(office, page):
    """Here a thing was decided otherwise since."""
    said(page, WHOLE, "accept")
    at, anchor = desk(office), first_thing(office)
    at.decide(at.look(), ANA, [(anchor, "action", "STOP")])

    assert any(one.startswith("NOT THIS LIST: accept") for one in texts(page.run()))


def test_limits_streets_and_doubts_are_shown(page):
    """In station order, with what this survey does not know."""
    met = list(page.dataframe[0].value["What traffic meets"])

    assert (met[0], met[-1]) == ("the cut begins", "the cut ends")
    assert any("ROOM FOR TRUCKS" in one for one in texts(page))


def test_filters_leave_what_is_asked_for(office, page):
    """By street, by state and by words or number."""
    at = desk(office)
    (rows,) = rows_by_leg(at.pack(at.look())).values()
    assert f"{len(rows)} things, by street and station" in texts(page)

    page.text_input(key="review words").set_value(str(rows[0]["no"])).run()
    assert "1 things, by street and station" in texts(page)
    page.text_input(key="review words").set_value("")
    page.selectbox(key="review which").set_value("not decided").run()
    assert "0 things, by street and station" in texts(page)


def test_the_crew_reads_and_is_offered_no_button(office, page):
    """The sentence says who may."""
    said(page, WHOLE, "comment", "seen")
    jobs = office.signed_in("Cy", CREW)
    shown = office.turned(jobs.button(key=f"open {JOB}").click().run(), "review")

    assert "The traffic lead and the superintendent review." in [
        one.value for one in shown.markdown
    ]
    assert len(shown.button) == len(shown.text_area) == 0
    assert any("comment: seen" in one for one in texts(shown))
