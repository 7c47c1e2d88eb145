"""One job from the demo to its second issue, by the pages in a real browser.

Sorting and deciding, the walk, the new mark and the lowered cover are written by ``Desk`` into the
store that the pages stand on, and so is the traffic lead's own sign-in: the review is pressed on
the page by the superintendent who sits at this machine.  The demo brings an issued revision A with
it, so that what is issued here are B and C.
"""

import io
import itertools
import os
import shutil
import subprocess
import zipfile

import pytest
from office_server import CHROMIUM, LAPTOP, PHONE, demo, named, office_server, seen, turned
from playwright.sync_api import expect, sync_playwright

from routeprep.access import SUPERINTENDENT, Person
from routeprep.desk import Act, Desk
from routeprep.listing import rows_by_leg
from routeprep.store import open_store

pytestmark = pytest.mark.proof

JOB = "Bluestem Road and Alder Street (invented)"
ANN = Person(name="Ann", role=SUPERINTENDENT)
SLOW_MS = 90_000
PDFTOTEXT = shutil.which("pdftotext")

if None in (CHROMIUM, PDFTOTEXT) and not os.environ.get("CI"):
    pytest.skip("no chromium or no pdftotext on this machine", allow_module_level=True)


@pytest.fixture(scope="module")
def browser():
    """One chromium for all tests."""
    with sync_playwright() as play:
        opened = play.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield opened
        opened.close()


def sorted_and_decided(desk):
    """Set the junk aside and decide all, as proposed."""
    pack = desk.pack(desk.look())
    junk = [(str(one), "kind", "nothing") for one in pack.unsorted["mark_id"]]
    desk.decide(desk.look(), ANN, junk, why="not a thing")
    decided_all(desk)


def decided_all(desk):
    """Decide what nobody has decided yet, as proposed."""
    things = desk.pack(desk.look()).obstructions
    left = things["anchor_id"][things["decided_by"] == ""]
    desk.decide(desk.look(), ANN, [(str(one), "action", "as proposed") for one in left])


def status_of(desk, no, status):
    """Say what was done at a thing."""
    rows = {str(one["no"]): one for every in listed(desk).values() for one in every}
    desk.decide(desk.look(), ANN, [(str(rows[no]["anchor_id"]), "status", status)])


def listed(desk):
    """The list as it stands."""
    return rows_by_leg(desk.pack(desk.look()))


def numbers(desk):
    """Each thing's number by its anchor."""
    return {
        str(one["anchor_id"]): str(one["no"]) for every in listed(desk).values() for one in every
    }


def valves(desk):
    """Numbers of water valves that nobody has done anything at."""
    return [
        str(one["no"])
        for every in listed(desk).values()
        for one in every
        if one["kind"] == "WV" and str(one["status"]).startswith("seen") and not one["struck"]
    ]


def new_mark(desk, *, lon_deg, lat_deg, time_ms):
    """A cover that somebody walked to since."""
    unsaid = (
        "across", "across_frame", "said_leg", "said_station", "said_offset", "size", "height_by",
        "note", "photo", "clip",
    )  # fmt: skip
    body = dict.fromkeys(unsaid, "") | {
        "mark_id": "new-1", "drive_id": "", "words": "sewer manhole", "method": "walked",
        "by": "Ann", "time_ms": time_ms, "lon_deg": lon_deg, "lat_deg": lat_deg,
        "accuracy_m": 3.0, "height_m": None,
    }  # fmt: skip
    desk.write(desk.look(), ANN, [Act("mark", "new-1", body)])


def issued(page, revision):
    """Issue the list on its page, once it is read."""
    # From elsewhere, so that the page is made anew with what came meanwhile.
    turned(page, "History")
    turned(page, "Issue")
    page.get_by_text("I have read the list and what changed").click()
    button = page.get_by_role("button", name=f"Issue revision {revision}")
    expect(button).to_be_enabled(timeout=SLOW_MS)
    button.click()
    expect(page.get_by_text(f"Revision {revision} is issued and kept.")).to_be_visible(
        timeout=SLOW_MS
    )
    with page.expect_download(timeout=SLOW_MS) as taken:
        page.get_by_role("button", name=f"Take revision {revision} along").click()
    return zipfile.ZipFile(io.BytesIO(taken.value.path().read_bytes()))


def text_of(pack, name, folder):
    """The text of a PDF of a pack, as another program reads it."""
    path = folder / name
    path.write_bytes(pack.read(f"pack/{name}"))
    made = subprocess.run(
        [PDFTOTEXT, "-layout", str(path), "-"], check=True, capture_output=True, text=True
    )
    return made.stdout


def test_a_job_from_the_demo_to_its_second_issue(browser, tmp_path):
    """Numbers are kept, and the change slip names what changed and nothing else."""
    desk = Desk(open_store(f"sqlite:///{tmp_path / 'jobs.db'}"), JOB)
    with office_server(tmp_path) as at, seen(browser, at, LAPTOP) as page:
        demo(named(page))
        turned(page, "Issue")
        expect(page.get_by_text("marks wait under sort before issue")).to_be_visible()
        assert page.get_by_role("button", name="Issue revision").count() == 0
        sorted_and_decided(desk)
        walked, lowered = valves(desk)[:2]
        status_of(desk, walked, "walked")

        turned(page, "Review")
        page.get_by_label("What you say of the whole list").fill("room for trucks at Cedar Street")
        page.get_by_role("button", name="Ask for change").first.click()
        expect(page.get_by_text("Your ask is kept")).to_be_visible(timeout=SLOW_MS)
        turned(page, "Issue")
        expect(page.get_by_text("Ann asks for 1 change")).to_be_visible(timeout=SLOW_MS)
        turned(page, "Review")
        page.get_by_role("button", name="Accept").first.click()
        expect(page.get_by_text("Accepted, with your name.")).to_be_visible(timeout=SLOW_MS)

        first = issued(page, "B")
        before = numbers(desk)
        sheet = text_of(first, "obstruction-sheet.pdf", tmp_path)
        assert "room for trucks at Cedar Street" in " ".join(sheet.split())
        assert "DRAFT" not in sheet

        place = listed(desk)["A"]
        gap = max(itertools.pairwise(place),
                  key=lambda two: two[1]["along_m"] - two[0]["along_m"])  # fmt: skip
        new_mark(
            desk,
            lon_deg=(gap[0]["lon_deg"] + gap[1]["lon_deg"]) / 2,
            lat_deg=(gap[0]["lat_deg"] + gap[1]["lat_deg"]) / 2,
            time_ms=1_780_000_000_000,
        )
        status_of(desk, lowered, "lowered 4 in")
        decided_all(desk)
        second = issued(page, "C")

        after = numbers(desk)
        assert {anchor: after.get(anchor) for anchor in before} == before
        (new,) = set(after.values()) - set(before.values())
        slip = text_of(second, "change-slip.pdf", tmp_path)
        assert new in slip
        assert lowered in slip
        assert "lowered" in slip
        assert walked not in slip.split()
        assert len(desk.look().current.issues) == len(("B", "C"))
        assert page.outside == []


def test_the_day_is_checked_on_a_phone(browser, tmp_path):
    """One tap each; the count at the top follows."""
    with office_server(tmp_path) as at, seen(browser, at, PHONE) as page:
        demo(named(page))
        turned(page, "On the day")
        page.get_by_role("button", name="Changed").first.click()
        expect(page.get_by_text("What has changed?")).to_be_visible(timeout=SLOW_MS)
        # While a page is made anew, what it showed before stands beside what it shows now.
        box = page.get_by_label("In your words").first
        page.get_by_role("button", name="new patch").click()
        expect(box).to_have_value("new patch", timeout=SLOW_MS)
        page.get_by_role("button", name="Keep what changed").click()
        expect(page.get_by_text("STREETS 1 OF 2")).to_be_visible(timeout=SLOW_MS)
        expect(page.get_by_text("changed: new patch")).to_be_visible(timeout=SLOW_MS)
        page.get_by_role("button", name="Same").nth(1).click()
        expect(page.get_by_text("LIMITS 1 OF 4")).to_be_visible(timeout=SLOW_MS)

        buttons = page.get_by_role("button", name="Not looked at").all()
        assert buttons
        assert min(one.bounding_box()["height"] for one in buttons) >= 44
