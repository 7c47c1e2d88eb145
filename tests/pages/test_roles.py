"""Each role before every page: what it is offered to press, and what pressing it writes."""

import pytest
from stored_job import JOB, stored

from routeprep.access import CREW, SUPERINTENDENT, TRAFFIC_LEAD

PAGES = ("job", "files", "road", "review", "day", "issue", "history", "phones")
# The kinds of entry that a role's presses may write; told here once more, so that the pages are
# held to it beside the store.
WRITES = {TRAFFIC_LEAD: {"review", "check"}, CREW: {"check"}}
# What only shows something else of the page, or more of it.
LOOKING = ("Next that needs you",)
# Where each role has something to press at once; a draft is issued by nobody, and a file or a
# phone's code asks for its name first.
ACTING = {
    TRAFFIC_LEAD: {"review", "day"},
    CREW: {"day"},
    SUPERINTENDENT: {"job", "files", "road", "review", "day"},
}


def shown(office, role, path):
    """A page of the small job, as a person of a role has it."""
    jobs = office.signed_in("Lee", role)
    return office.turned(jobs.button(key=f"open {JOB}").click().run(), path)


def offered(page):
    """The buttons that can be pressed, by label, one of each."""
    found = [one for one in page.button if not one.disabled and not one.label.startswith(LOOKING)]
    return {one.label: one for one in found}


def written(office):
    """The kinds of what Lee has written."""
    return {one.kind for one in office.store().entries(JOB) if one.author == "Lee"}


@pytest.mark.parametrize("role", ACTING)
def test_a_role_is_offered_something_to_press_where_it_has_something_to_do(office, role):
    """And nowhere else."""
    stored(office.store())
    pages = {path: shown(office, role, path) for path in PAGES}

    assert not any(page.exception for page in pages.values())
    assert {path for path, page in pages.items() if offered(page)} == ACTING[role]


@pytest.mark.parametrize(("role", "path"), [(r, p) for r in WRITES for p in sorted(ACTING[r])])
def test_whatever_is_offered_writes_what_the_role_may_and_nothing_else(office, role, path):
    """Every button is pressed, one after the other, with words in every box."""
    stored(office.store(), decided=True)
    for label in offered(shown(office, role, path)):
        page = shown(office, role, path)
        for box in (*page.text_area, *page.text_input):
            box.set_value("room for trucks")
        offered(page)[label].click().run()

    assert written(office) == WRITES[role] & {"review": {"review"}, "day": {"check"}}[path]
    assert not any("may not" in one.value for one in page.error)
