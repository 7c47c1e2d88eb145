"""Each role tries what it may not: by call at the desk, by the pages, by a page that is stale.

Who may do what stands here once more, told apart from the table in the code; both are compared.
"""

import os
import re
from typing import NamedTuple

import pytest
from made_entries import EVERY_KIND
from office_server import (
    CHROMIUM,
    LAPTOP,
    WORDS,
    made,
    office_server,
    press,
    seen,
    signed_in,
    turned,
)
from playwright.sync_api import expect
from stored_job import ANA, BEN, CREW_HAND, JOB, LEAD, job_files_small, stored

from routeprep.access import CREW, ROLES, SUPERINTENDENT, TRAFFIC_LEAD, Person, may
from routeprep.admission import hashed
from routeprep.desk import Act
from routeprep.errors import AccessError
from routeprep.jobs import entries_of_files
from routeprep.officefile import Member, put_member
from routeprep.remarks import WHOLE
from routeprep.store import open_store

pytestmark = pytest.mark.proof

if CHROMIUM is None and not os.environ.get("CI"):
    pytest.skip("no chromium on this machine", allow_module_level=True)

SLOW_MS = 60_000
# Beside the small job, which is issued, one of which nothing is decided.
OPEN = "Oak Lane (invented)"
NOBODY = Person(name="Nan (invented)", role="")
PEOPLE = (ANA, LEAD, CREW_HAND, NOBODY)
MAY_ALL, MAY_SAY, MAY_SEE = {SUPERINTENDENT}, {SUPERINTENDENT, TRAFFIC_LEAD}, set(ROLES)
FROM_PHONES = {SUPERINTENDENT, CREW}


def first(desk):
    """The first thing on the list."""
    return str(desk.pack(desk.look()).obstructions["anchor_id"].iloc[0])


def writes(kind, *, gone=False):
    """Writes an entry of a kind in one's own name, or takes it back."""
    thing, body = EVERY_KIND[kind]

    def act(desk, who):
        said = None if gone else body | ({"by": who.name} if "by" in body else {})
        desk.write(desk.look(), who, [Act(kind, thing, said)])

    return act


def puts(name):
    """Puts a file into the job."""
    return lambda desk, who: desk.put_files(desk.look(), who, {name: b"not read"})


def photographs(desk, who):
    """Puts a photo into the job, as a phone does."""
    puts(f"phone/{who.role}.jpg")(desk, who)


# What is done at a desk, and who may.
CALLS = {
    "settings": (
        MAY_ALL,
        lambda desk, who: desk.put_files(desk.look(), who, {}, toml=("job.toml", b"format = 1")),
    ),
    "a file of the office": (MAY_ALL, puts("marks.csv")),
    "a file taken out": (
        MAY_ALL,
        lambda desk, who: desk.write(desk.look(), who, [Act("file", "marks.csv", None)]),
    ),
    "a photo from a phone": (FROM_PHONES, photographs),
    "a decision": (
        MAY_ALL,
        lambda desk, who: desk.decide(desk.look(), who, [(first(desk), "note", "deep frame")]),
    ),
    "a decision taken back": (MAY_ALL, writes("decision", gone=True)),
    "a number": (MAY_ALL, writes("number")),
    "an issue": (MAY_ALL, lambda desk, who: desk.issue(desk.look(), who, paper="letter")),
    "a copy": (
        MAY_ALL,
        lambda desk, who: desk.hand_over(desk.look(), who, revision="A", to="pavers", how="mail"),
    ),
    "a phone paired": (MAY_ALL, writes("device")),
    "a phone taken back": (MAY_ALL, writes("device", gone=True)),
    "a review": (
        MAY_SAY,
        lambda desk, who: desk.review(desk.look(), who, subject=WHOLE, says="accept", text=""),
    ),
    "a check on the day": (
        MAY_SEE,
        lambda desk, who: desk.check(desk.look(), who, subject=first(desk), says="same", text=""),
    ),
    "a mark": (FROM_PHONES, writes("mark")),
    "a drive": (FROM_PHONES, writes("drive")),
    "positions of a drive": (FROM_PHONES, writes("fixes")),
    "a tick": (FROM_PHONES, writes("tick")),
    "found tonight": (FROM_PHONES, writes("found")),
}


@pytest.mark.parametrize("what", CALLS)
def test_by_call_a_role_does_what_it_may_and_nothing_else(tmp_path, what):
    """What is refused is refused in a sentence that says who may, and nothing is written."""
    allowed, act = CALLS[what]
    with open_store(f"sqlite:///{tmp_path / 'jobs.db'}") as store:
        desk = stored(store, decided=True)
        done = set()
        for person in reversed(PEOPLE):
            before = store.entries(JOB)
            if person.role in allowed:
                act(desk, person)
                done.add(person.role)
                made = store.entries(JOB)[len(before) :]
                assert made
                # The one table of rights says so too.
                assert {role for role in ROLES if all(may(role, one) for one in made)} == allowed
                continue
            with pytest.raises(AccessError, match=r"may not write an? .*superintendent"):
                act(desk, person)

            assert store.entries(JOB) == before

        assert done == allowed


class Offer(NamedTuple):
    """What a page offers to press or fill in, and to whom."""

    what: str
    job: str
    title: str
    roles: set[str]
    find: str


# Found by what the page shows of it: what is pressed at once, and what something is said for first.
PRESSED = (
    Offer("settings", JOB, "The job", MAY_ALL, 'role=button[name="Keep this"][disabled=false]'),
    Offer("a file taken out", JOB, "Files", MAY_ALL, 'role=button[name="Take it out"]'),
    Offer("all of a kind", OPEN, "In the road", MAY_ALL, "[class*='st-key-kind-'] button"),
    Offer("sorting", OPEN, "In the road", MAY_ALL, 'role=button[name="Sort it"]'),
    Offer("a review", JOB, "Review", MAY_SAY, 'role=button[name="Accept"]'),
    Offer("a check", JOB, "On the day", MAY_SEE, 'role=button[name="Same"]'),
    Offer("a copy", JOB, "Issue", MAY_ALL, 'role=button[name="Note it down"]'),
    Offer("a phone taken back", JOB, "Phones", MAY_ALL, 'role=button[name="Take it back"]'),
    Offer("a job", "", "Jobs", MAY_ALL, "role=button[name=/^Bring in the demo/]"),
)
ASKED = (
    Offer("another TOML", JOB, "The job", MAY_ALL, "role=region[name=/^Another .toml/]"),
    Offer("a file", JOB, "Files", MAY_ALL, "role=region[name=/^Drives/]"),
    Offer("a mark", OPEN, "In the road", MAY_ALL, 'role=radio[name="add a new mark"]'),
    Offer("a place", OPEN, "In the road", MAY_ALL, 'role=radio[name="move the chosen thing"]'),
    Offer("an issue", OPEN, "Issue", set(), "role=button[name=/^Issue revision/]"),
    Offer("an issue", JOB, "Issue", MAY_ALL, "role=button[name=/^Issue revision/]"),
    Offer("pairing", JOB, "Phones", MAY_ALL, 'role=button[name="Make a code"]'),
    Offer("files of a job", "", "Jobs", MAY_ALL, 'role=button[name="Bring these in"]'),
    Offer("a new job", "", "Jobs", MAY_ALL, 'role=button[name="Start it"]'),
)
OFFERS = sorted((*PRESSED, *ASKED), key=lambda one: (one.job, one.title))


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    """The folder of an office that holds both jobs, where one of each role signs in."""
    folder = tmp_path_factory.mktemp("office")
    files = job_files_small()
    files["job.toml"] = files["job.toml"].replace(JOB.encode(), OPEN.encode())
    with pytest.MonkeyPatch.context() as patch, opened_store(folder) as store:
        patch.setenv("ROUTEPREP_OFFICE", str(folder / "office.toml"))
        for person in (ANA, BEN, LEAD, CREW_HAND):
            put_member(Member(name=person.name, role=person.role, argon2=hashed(WORDS)))
        desk = stored(store, decided=True)
        desk.issue(desk.look(), ANA, paper="letter")
        writes("device")(desk, ANA)
        entries, blobs = entries_of_files("job.toml", files)
        store.append(entries, blobs, by=ANA)
        yield folder


def opened_store(folder):
    """The store of the office."""
    return open_store(f"sqlite:///{folder / 'jobs.db'}")


def written(folder):
    """All that is in the store."""
    with opened_store(folder) as store:
        return [store.entries(job) for job in store.jobs()]


@pytest.fixture(scope="module")
def address(place):
    """The address of its pages."""
    with office_server(place) as at:
        yield at


def at_page(page, job, title):
    """One of the pages of a job, made; without a job the first page."""
    first_page = page.get_by_role("link", name="Jobs", exact=True)
    if first_page.count():
        first_page.first.click()
    expect(page.get_by_text("You are")).to_be_visible(timeout=SLOW_MS)
    if job:
        page.get_by_role("button", name=job).click()
        expect(page.get_by_text("Open:")).to_contain_text(job, timeout=SLOW_MS)
        turned(page, title)
    made(page)
    return page


@pytest.mark.parametrize("person", [ANA, LEAD, CREW_HAND], ids=lambda one: one.role)
def test_a_role_is_offered_what_it_may_and_nothing_else(browser, address, person):
    """On every page, of a job that is open and of one that is issued."""
    shown = ""
    with seen(browser, address, LAPTOP) as page:
        signed_in(page, person.name)
        for offer in OFFERS:
            if (offer.job, offer.title) != shown:
                at_page(page, offer.job, offer.title)
                shown = (offer.job, offer.title)
            found = page.get_by_test_id("stMain").locator(offer.find)
            if person.role in offer.roles:
                expect(found.first).to_be_visible(timeout=SLOW_MS)
            else:
                assert found.count() == 0, offer


@pytest.mark.parametrize(
    "path", ["", "job", "files", "road", "review", "day", "issue", "history", "phones"]
)
def test_who_has_not_signed_in_sees_nothing_of_a_job(browser, address, path):
    """Whatever address they open."""
    with seen(browser, f"{address}/{path}?job={JOB}", LAPTOP) as page:
        expect(page.get_by_role("button", name="Sign in")).to_be_visible(timeout=SLOW_MS)
        made(page)
        text = page.locator("body").inner_text()

        assert page.get_by_test_id("stButton").count() == 0
        assert page.get_by_role("navigation").count() == 0
        assert not any(word in text for word in (JOB, OPEN, ANA.name, "Elm"))


def pressed_too_late(page, place, offer):
    """Somebody loses the role while the page stands before them, and presses."""
    lower = CREW if TRAFFIC_LEAD in offer.roles else TRAFFIC_LEAD
    button = page.get_by_test_id("stMain").locator(offer.find).first
    expect(button).to_be_enabled(timeout=SLOW_MS)
    before = written(place)
    put_member(Member(name=BEN.name, role=lower, argon2=hashed(WORDS)))
    try:
        press(button)
        told = page.get_by_text("nothing was done: since this page was shown")
        expect(told).to_contain_text(f"has become {BEN.name} ({lower})", timeout=SLOW_MS)
        made(page)
        assert page.get_by_test_id("stMain").locator(offer.find).count() == 0
    finally:
        put_member(Member(name=BEN.name, role=SUPERINTENDENT, argon2=hashed(WORDS)))

    assert written(place) == before


STALE = [one for one in PRESSED if one.roles != MAY_SEE]


@pytest.mark.parametrize("offer", STALE, ids=lambda one: one.what)
def test_what_a_role_had_before_it_that_lost_it_is_refused_in_a_sentence(
    browser, address, place, offer
):
    """The page is stale: the button stands there still, and nothing is written."""
    with seen(browser, address, LAPTOP) as page:
        at_page(signed_in(page, BEN.name), offer.job, offer.title)
        pressed_too_late(page, place, offer)


def test_a_list_is_not_issued_from_a_stale_page(browser, address, place):
    """Though it was read, and ticked as read."""
    (offer,) = (one for one in ASKED if (one.job, one.title) == (JOB, "Issue"))
    with seen(browser, address, LAPTOP) as page:
        at_page(signed_in(page, BEN.name), offer.job, offer.title)
        press(page.get_by_text("I have read the list and what changed"))
        pressed_too_late(page, place, offer)


def test_a_phone_is_not_paired_from_a_stale_page(browser, address, place):
    """Though its holder was named."""
    (offer,) = (one for one in ASKED if one.title == "Phones")
    with seen(browser, address, LAPTOP) as page:
        at_page(signed_in(page, BEN.name), offer.job, offer.title)
        box = page.get_by_role("textbox", name="Who holds it")
        box.fill("Cal")
        box.press("Enter")
        pressed_too_late(page, place, offer)


@pytest.mark.parametrize("person", [LEAD, CREW_HAND], ids=lambda one: one.role)
def test_a_map_that_is_made_to_say_what_nobody_tapped_moves_nothing(
    browser, address, place, person
):
    """The message that a tap would send, sent without one."""
    with seen(browser, address, LAPTOP) as page:
        at_page(signed_in(page, person.name), OPEN, "In the road")
        frame = page.locator("iframe[title='Map and list of the job']")
        expect(frame).to_have_attribute("data-drawn", re.compile(".+"), timeout=SLOW_MS)
        before = written(place)
        inside = frame.element_handle().content_frame()
        inside.evaluate(
            "parent.postMessage({ placed: { what: 'move', id: JOB.things[0].id, lat: 41.2, "
            "lon: -96.1 } }, '*')"
        )
        told = page.get_by_text("may not write a decision; superintendent may")
        expect(told).to_be_visible(timeout=SLOW_MS)

        assert written(place) == before
