"""One job from its files to its second issue, pressed by the pages in a real browser.

The superintendent and the traffic lead each sign in.  The job is the demo before its first issue.
"""

import io
import os
import re
import shutil
import subprocess
import zipfile

import pytest
from office_server import (
    CHROMIUM,
    LAPTOP,
    PHONE,
    WORDS,
    demo,
    made,
    named,
    office_server,
    press,
    seen,
    signed_in,
    turned,
)
from playwright.sync_api import expect

from routeprep.access import SUPERINTENDENT, TRAFFIC_LEAD
from routeprep.admission import hashed
from routeprep.desk import Desk
from routeprep.home import home
from routeprep.listing import rows_by_leg
from routeprep.officefile import Member, put_member
from routeprep.store import open_store

pytestmark = pytest.mark.proof

JOB = "Bluestem Road and Alder Street (invented)"
DEMO = home() / "data" / "demo" / "job"
SAM, LEE = "Sam", "Lee"
SLOW_MS = 90_000
PDFTOTEXT = shutil.which("pdftotext")

if None in (CHROMIUM, PDFTOTEXT) and not os.environ.get("CI"):
    pytest.skip("no chromium or no pdftotext on this machine", allow_module_level=True)


@pytest.fixture
def place(tmp_path, monkeypatch):
    """The folder of an office where two sign in."""
    monkeypatch.setenv("ROUTEPREP_OFFICE", str(tmp_path / "office.toml"))
    for name, role in ((SAM, SUPERINTENDENT), (LEE, TRAFFIC_LEAD)):
        put_member(Member(name=name, role=role, argon2=hashed(WORDS)))
    return tmp_path


def files():
    """The demo before anything was issued of it, as somebody chooses its files."""
    paths = [one for one in sorted(DEMO.rglob("*.*")) if "issued" not in one.parts]
    made = {one.name: one.read_bytes() for one in paths if one.name != "numbers.csv"}
    toml = made["job.toml"].decode().replace('issued = "issued/A"\n', "")
    made["job.toml"] = toml.replace('revision = "B"', 'revision = "A"').encode()
    kind = "application/octet-stream"
    return [{"name": name, "mimeType": kind, "buffer": data} for name, data in made.items()]


def told(page, text):
    """Wait until the page says what an act came to."""
    expect(page.get_by_text(text).first).to_be_visible(timeout=SLOW_MS)


def brought(page):
    """The job's files chosen and brought in, all at once."""
    page.locator("input[type=file]").first.set_input_files(files())
    bring = page.get_by_role("button", name="Bring these in")
    expect(bring).to_be_enabled(timeout=SLOW_MS)
    bring.click()
    told(page, "Brought in and opened.")


def picked(page, label, value):
    """One of a box's choices, once the page has it."""
    box = page.get_by_role("combobox", name=label)
    # An open list of choices closes when the page moves: it is at rest, in sight, before.
    made(page)
    page.wait_for_function("document.getAnimations().every(one => one.playState !== 'running')")
    press(box)
    page.get_by_role("option", name=value, exact=True).click()
    expect(box).to_have_value(value)
    made(page)


def typed(page, label, text):
    """Words in a box, once the page has them."""
    box = page.get_by_role("textbox", name=label)
    box.fill(text)
    box.press("Enter")
    expect(box).to_have_value(text)
    made(page)


def sorted_out(page):
    """Every mark that was not understood, by a press each."""
    heading = page.get_by_role("heading", name=re.compile("Sort before issue"))
    expect(heading).to_be_visible(timeout=SLOW_MS)
    for left in range(int(re.search(r"\((\d+)\)", heading.inner_text())[1]), 0, -1):
        expect(heading).to_contain_text(f"({left})", timeout=SLOW_MS)
        picked(page, "It is", "no thing at all")
        press(page.get_by_role("button", name="Sort it"))
    expect(heading).to_have_count(0, timeout=SLOW_MS)


def undecided(page):
    """How many things nobody has decided, as the page says it."""
    found = re.search(r"(\d+) not decided", page.get_by_test_id("stMain").inner_text())
    return int(found[1]) if found else 0


def settled(page, before):
    """Wait until fewer are undecided, and the page is made."""
    page.wait_for_function(
        """before => {
          const said = document.querySelector("[data-testid=stMain]").innerText;
          const found = /(\\d+) not decided/.exec(said);
          return (found ? Number(found[1]) : 0) < before;
        }""",
        arg=before,
        timeout=SLOW_MS,
    )
    made(page)


def decided(page):
    """Kind by kind in a tap each, then what stays open, thing by thing."""
    kinds = page.locator("[class*='st-key-kind-'] [data-testid=stBaseButton-secondary]")
    expect(kinds.first).to_be_visible(timeout=SLOW_MS)
    for label in kinds.all_inner_texts():
        press(page.get_by_role("button", name=label, exact=True))
        told(page, f"Decided for every {label.partition(':')[0]}")
        made(page)
    while (left := undecided(page)) > 0:
        following = page.get_by_role("button", name="Next that needs you")
        no = following.inner_text().rpartition(" ")[2]
        press(following)
        expect(page.get_by_role("heading", level=3, name=no).first).to_be_visible(timeout=SLOW_MS)
        press(page.get_by_role("button", name="As proposed"))
        settled(page, left)


def chosen(page, no):
    """Tap a thing in the list; the page beside it shows it."""
    road = page.frame_locator("iframe[title='Map and list of the job']")
    road.locator(f'#list button.row:has(.no:text-is("{no}"))').click(timeout=SLOW_MS)
    expect(page.get_by_role("heading", level=3, name=no).first).to_be_visible(timeout=SLOW_MS)


def status_of(page, no, status, *, deep=""):
    """Say what was found or done at a thing."""
    chosen(page, no)
    press(page.get_by_text("Walked, lowered, gone"))
    picked(page, "It was", status)
    if deep:
        typed(page, "Lowered by, below the surface", deep)
    press(page.get_by_role("button", name="Keep it"))
    told(page, "Kept, by your name.")


def added(page, beside):
    """A mark where the map is tapped, a little past a thing; its number."""
    chosen(page, beside)
    press(page.get_by_text("add a new mark"))
    typed(page, "What is there, in the words of the trade", "sewer manhole")
    road = page.frame_locator("iframe[title='Map and list of the job']")
    expect(road.locator("body.placing")).to_be_attached(timeout=SLOW_MS)
    # Past the thing that is chosen; on it, its words lie over the map.
    words = road.locator(".leaflet-popup").bounding_box()
    page.mouse.click(words["x"] + words["width"] / 2 + 50, words["y"] + words["height"] + 42)
    told(page, "Added; its place is the one that you tapped.")
    # It is the chosen one now; what was decided of its kind holds for it too.
    heading = page.get_by_role("heading", level=3, name="SEWER MANHOLE").first
    expect(heading).to_be_visible(timeout=SLOW_MS)
    expect(page.get_by_text("decided by Sam").first).to_be_visible()
    return heading.inner_text().split()[0]


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
    made(page)
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


def reviewed(page):
    """The lead asks for a change, and accepts the list after."""
    page.get_by_role("button", name="Bluestem").first.click()
    expect(page.get_by_text("Open:")).to_be_visible(timeout=SLOW_MS)
    turned(page, "Review")
    page.get_by_label("What you say of the whole list").fill("room for trucks at Cedar Street")
    page.get_by_role("button", name="Ask for change").first.click()
    told(page, "Your ask is kept")
    turned(page, "Issue")
    told(page, "Lee asks for 1 change")
    assert page.get_by_role("button", name="Issue revision").count() == 0
    turned(page, "Review")
    page.get_by_role("button", name="Accept").first.click()
    told(page, "Accepted, with your name.")


def test_a_job_from_its_files_to_its_second_issue(browser, place):
    """Numbers are kept, and the change slip names what changed and nothing else."""
    # Read from here alone: all that is written is pressed.
    desk = Desk(open_store(f"sqlite:///{place / 'jobs.db'}"), JOB)
    with (
        office_server(place) as at,
        seen(browser, at, LAPTOP) as page,
        seen(browser, at, LAPTOP) as leads,
    ):
        brought(signed_in(page, SAM))
        turned(page, "Issue")
        told(page, "marks wait under sort before issue")
        assert page.get_by_role("button", name="Issue revision").count() == 0
        turned(page, "In the road")
        sorted_out(page)
        decided(page)
        walked, lowered, beside = valves(desk)[:3]
        status_of(page, walked, "walked")
        reviewed(signed_in(leads, LEE))

        first = issued(page, "A")
        before = numbers(desk)
        sheet = text_of(first, "obstruction-sheet.pdf", place)
        assert "room for trucks at Cedar Street" in " ".join(sheet.split())
        assert "DRAFT" not in sheet

        turned(page, "In the road")
        new = added(page, beside)
        status_of(page, lowered, "lowered", deep="4 in")
        second = issued(page, "B")

        after = numbers(desk)
        assert {anchor: after.get(anchor) for anchor in before} == before
        assert set(after.values()) - set(before.values()) == {new}
        slip = text_of(second, "change-slip.pdf", place)
        assert "2 things have changed: 1 new, 1 " in slip
        assert re.search(rf"{new} .* new: ", slip)
        assert lowered in slip.split()
        assert "lowered 4 in" in slip
        assert walked not in slip.split()
        assert [one.body["revision"] for one in desk.look().current.issues] == ["A", "B"]
        assert page.outside == leads.outside == []
        assert page.said == leads.said == []


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
