"""The drive page in a browser: nothing is lost and nothing comes twice, whatever is killed."""

import csv
import datetime as dt
import json
import os
import signal
import subprocess
import sys
import threading
import time
from collections import Counter
from contextlib import contextmanager
from pathlib import Path

import pytest
import stored_job
import uvicorn
from builders import KINDS, lonlat
from office_server import CHROMIUM, free_port, wait_for
from playwright.sync_api import expect
from starlette.applications import Starlette

from routeprep.access import CREW
from routeprep.current import current_of
from routeprep.entries import make_entry
from routeprep.field import new_token
from routeprep.field.pairing import Offers
from routeprep.field.routes import routes
from routeprep.jobs import entries_of_files
from routeprep.readers.gpx import read_gpx
from routeprep.store import open_store

PHONE = {"width": 390, "height": 844}
TARGET_PX = 60
FIXES, MARKS, PHOTOS, RUNS = 600, 20, 3, 5
HOUR_MS = 3_600_000
# A photo of one pixel, invented.
PIXEL = bytes.fromhex(
    "89504e470d0a1a0a0000000d4948445200000001000000010806000000"
    "1f15c4890000000d49444154789c6360606060000000050001a5f645400000000049454e44ae426082"
)
pytestmark = [
    pytest.mark.proof,
    pytest.mark.skipif(CHROMIUM is None, reason="no program named chromium on the PATH"),
]


class Office:
    """A folder with a store that holds a phone's token, and a server that can be killed."""

    def __init__(self, place):
        self.place, self.port = place, free_port()
        self.url = f"sqlite:///{place / 'jobs.db'}"
        self.origin = f"http://127.0.0.1:{self.port}"
        self.server = None
        now = dt.datetime.now(dt.UTC)
        made = new_token(name="R. Sample", role=CREW, by=stored_job.ANA.name, now=now)
        self.token = made.token
        device = make_entry(
            job=stored_job.JOB, kind="device", thing=made.thing, body=made.body,
            author=stored_job.ANA.name, device="desk", counter=1, time_utc=now,
        )  # fmt: skip
        entries, blobs = entries_of_files("job.toml", files())
        store = open_store(self.url)
        store.append([*entries, device], blobs, by=stored_job.ANA)
        store.close()

    def start(self):
        """Answer, as the user's own server does."""
        code = "from routeprep.cli import main; main()"
        given = ["--server.port", str(self.port), "--server.headless", "true"]
        own = {"ROUTEPREP_STORE": self.url, "ROUTEPREP_OFFICE": str(self.place / "office.toml")}
        log = self.place / "log"
        with log.open("ab") as out:
            self.server = subprocess.Popen(
                [sys.executable, "-c", code, "app", *given],
                cwd=self.place, env=os.environ | own, stdout=out, stderr=out,
                start_new_session=True,
            )  # fmt: skip
        wait_for(self.origin, self.server, log)

    def kill(self):
        """Be gone at once, in the middle of whatever it does."""
        if self.server is not None:
            os.killpg(self.server.pid, signal.SIGKILL)
            self.server.wait(timeout=20)
        self.server = None

    def entries(self):
        """All that phones have sent."""
        store = open_store(self.url)
        kinds = {"drive", "fixes", "mark", "file"}
        found = [one for one in store.entries(stored_job.JOB) if one.kind in kinds]
        store.close()
        return [one for one in found if one.kind != "file" or one.thing.startswith("phone/")]


def files(**more):
    """The small street's job with its walked marks, and what else is given."""
    return stored_job.job_files_small() | more


@pytest.fixture
def office(tmp_path):
    """An office whose server is not started yet."""
    one = Office(tmp_path)
    yield one
    one.kill()


@pytest.fixture(scope="module")
def standing(tmp_path_factory):
    """An office whose server stands; each test there has a phone of its own."""
    one = Office(tmp_path_factory.mktemp("office"))
    one.start()
    yield one
    one.kill()


@contextmanager
def phone(browser, *, scheme="light", denied=False):
    """A phone's page that may know where it is, and what it can be told."""
    context = browser.new_context(
        viewport=PHONE, has_touch=True, color_scheme=scheme, accept_downloads=True,
        permissions=[] if denied else ["geolocation"],
    )  # fmt: skip
    page = context.new_page()
    page.faults = []
    page.on("pageerror", lambda one: page.faults.append(str(one)))
    page.devtools = context.new_cdp_session(page)
    yield page
    assert page.faults == []
    context.close()


def until(page, condition, *, wait_s=30):
    """Return once a condition holds on the page, whose policy forbids what a waiter would need."""
    page.evaluate(f"""new Promise((resolve, reject) => {{
      const late = performance.now() + {wait_s} * 1000;
      const look = async () => {{
        if ({condition}) {{ resolve(); return; }}
        if (performance.now() > late) {{ reject(new Error({condition!r})); return; }}
        setTimeout(look, 2);
      }};
      look().catch(reject);
    }})""")


def opened(page, office, *, paired=True):
    """The page, paired as its owner would have it."""
    page.goto(f"{office.origin}/field/drive/")
    until(page, "navigator.serviceWorker.controller !== null")
    if paired:
        page.evaluate("token => OUTBOX.put('token', token).then(LINK.status)", office.token)


def fixes_kept(page):
    """How many fixes the phone has written."""
    return page.evaluate(
        "OUTBOX.within(['fixes'], 'readonly', (fixes) => OUTBOX.answer(fixes.count()))"
    )


def told(page, number):
    """Tell the phone where it is: along the small street, northward."""
    lon, lat = lonlat(2.0, 10.0 + number * 370.0 / FIXES)
    page.devtools.send(
        "Emulation.setGeolocationOverride",
        {"longitude": lon, "latitude": lat, "accuracy": 5, "speed": 11.0, "heading": 0.0},
    )


def driven(page, numbers, *, before=0):
    """Each position, once the one before is written; how many the phone has afterwards."""
    for number in numbers:
        told(page, number)
        before += 1
        until(page, f"RECORD.counts.fixes >= {before} && !RECORD.now.unwritten.length")
    return before


def began(page):
    """A drive that goes on, with its first fix."""
    told(page, 0)
    page.get_by_role("button", name="Start a drive").click()
    until(page, "RECORD.counts.fixes >= 1")


def marked(page, words, across):
    """A mark by one tap, and where across by another."""
    before = page.evaluate("RECORD.counts.marks")
    page.locator("#kinds").get_by_role("button", name=words, exact=True).click()
    until(page, f"RECORD.counts.marks === {before + 1}")
    page.locator("#across").get_by_role("button", name=across, exact=True).click()
    expect(page.locator("#last")).to_contain_text(across)


def photographed(page):
    """A photo of the last mark."""
    page.locator("#photo").set_input_files(
        {"name": "a.png", "mimeType": "image/png", "buffer": PIXEL}
    )
    expect(page.locator("#last")).to_contain_text("photo")


def all_sent(page):
    """Wait until the office has said that it has everything."""
    page.evaluate("RECORD.bundle().then(LINK.push)")
    until(page, "await OUTBOX.waiting() === 0", wait_s=60)


def reopened(page, number):
    """The page loaded again while nobody answers: the drive goes on by itself."""
    kept = fixes_kept(page)
    page.reload()
    until(page, "RECORD.now.drive !== null")
    expect(page.locator("#road")).to_be_visible()
    told(page, number)
    until(page, f"RECORD.counts.fixes > {kept}")


# What happens at which of the positions of a drive.
KILL, RELOAD, START, KILL_AGAIN, CUT, JOIN = 100, 200, 250, 330, 400, 480
PHOTOS_AT = (135, 285, 435)
AN_HOUR_ON = f"(() => {{ const now = Date.now; Date.now = () => now() + {HOUR_MS}; }})()"
SEND = "RECORD.bundle().then(() => { LINK.push(); })"
ROWS = (
    "OUTBOX.within(['fixes'], 'readonly', (fixes) => OUTBOX.answer(fixes.getAll()))"
    ".then((all) => all.map((one) => one.row))"
)


def befalls(page, office, number, *, run):
    """What happens before a position: killed while it is being sent to, started, cut off, wrong."""
    if number in {KILL + run, KILL_AGAIN}:
        page.evaluate(SEND)
        office.kill()
    elif number == RELOAD:
        reopened(page, number)
    elif number == START:
        office.start()
        page.evaluate(SEND)
    elif number == CUT:
        office.start()
        page.context.set_offline(True)
    elif number == JOIN:
        page.context.set_offline(False)
        page.evaluate(AN_HOUR_ON)


def driven_through(page, office, run):
    """A drive of 600 fixes, 20 marks and 3 photos; what the phone has kept of its fixes."""
    began(page)
    for number in range(1, FIXES):
        befalls(page, office, number, run=run)
        driven(page, [number], before=page.evaluate("RECORD.counts.fixes"))
        if number % 30 == 15:
            marked(page, "WATER VALVE", "right wheel path")
        if number in PHOTOS_AT:
            photographed(page)
    rows = [tuple(row) for row in page.evaluate(ROWS)]
    all_sent(page)
    return rows


@pytest.mark.parametrize("run", range(RUNS))
def test_every_item_is_in_the_store_exactly_once_whatever_is_killed(office, browser, run, capsys):
    """Killed in mid-drive, reloaded while down, started, killed again, cut off, an hour wrong."""
    office.start()
    with phone(browser) as page:
        opened(page, office)
        rows = driven_through(page, office, run)
        work = json.loads(page.evaluate("document.documentElement.dataset.work"))
    found = office.entries()
    counts = Counter(one.kind for one in found)
    fixes = [tuple(row) for one in found if one.kind == "fixes" for row in one.body["fixes"]]
    marks = {one.thing for one in current_of(found).recorded if one.kind == "mark"}
    keys = [(one.device, one.counter) for one in found]
    with capsys.disabled():
        sys.stdout.write(
            f"\nrun {run + 1}: on the phone {len(rows)} fixes, in the store {len(fixes)}; "
            f"marks {len(marks)}, photos {counts['file']}, items {len(found)}; work a fix since "
            f"the reload {work['ms'] / work['fixes']:.1f} ms, most {work['most']:.0f} ms\n"
        )

    assert len(rows) >= FIXES
    assert sorted(fixes) == sorted(rows)
    assert len(set(fixes)) == len(fixes)
    assert (len(marks), counts["file"], counts["drive"]) == (MARKS, PHOTOS, 1)
    assert counts["mark"] == 2 * MARKS + PHOTOS
    # Numbered by one phone without a gap and without a number twice: none is missing.
    assert sorted(number for _, number in keys) == list(range(1, len(keys) + 1))
    assert len({device for device, _ in keys}) == 1


# What differs since ids are made of other things: from a file of its content, else of the phone's.
OWN_NAMES = ("anchor_id", "sources")
# One fix each second, as a phone gives them: the page's positions get such times.
SECONDS = """(() => {
  const begun = Date.now();
  let count = 0;
  const watch = navigator.geolocation.watchPosition.bind(navigator.geolocation);
  navigator.geolocation.watchPosition = (found, ...more) => watch((position) => found({
    coords: position.coords, timestamp: begun + 2400 * count++,
  }), ...more);
})()"""


# --- the same drive without any server ------------------------------------------------------------


def brief(job, place, pack, **more):
    """What ``brief`` makes of a job: each row's code, street, station, side and action."""
    code = "from routeprep.cli import main; main()"
    done = subprocess.run(
        [sys.executable, "-c", code, "brief", job, "-o", str(place / pack)],
        cwd=place, env=os.environ | more, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    with (place / pack / "obstructions.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return [{name: one[name] for name in one if name not in OWN_NAMES} for one in rows]


def street_driven(page):
    """A drive along the small street past four things on the right."""
    began(page)
    places = {92: "WATER VALVE", 200: "Manhole", 320: "GAS VALVE", 432: "Catch basin"}
    for number in range(4, FIXES, 4):
        driven(page, [number], before=page.evaluate("RECORD.counts.fixes"))
        if number in places:
            marked(page, places[number], "right wheel path")


def test_the_drive_saved_by_the_page_gives_the_obstructions_that_the_sent_one_gives(
    office, browser, tmp_path
):
    """The server dies before the drive; the file is made on the phone, then all is sent after."""
    office.start()
    with phone(browser) as page:
        opened(page, office)
        page.evaluate(SECONDS)
        office.kill()
        street_driven(page)
        with page.expect_download() as saving:
            page.get_by_role("button", name="Save as GPX").click()
        data = Path(saving.value.path()).read_bytes()
        assert page.evaluate("OUTBOX.waiting()") > 0
        office.start()
        all_sent(page)
    toml = stored_job.TOML.replace("[inputs]", '[inputs]\ndrives = ["drive.gpx"]')
    for name, content in (files() | {"job.toml": toml.encode(), "drive.gpx": data}).items():
        (tmp_path / name).write_bytes(content)
    by_file = brief("job.toml", tmp_path, "by file")
    sent = brief(f"store:{stored_job.JOB}", tmp_path, "sent", ROUTEPREP_STORE=office.url)

    assert {"GAS VALVE"} < {one["name"] for one in by_file}
    assert by_file == sent


# --- what is seen ---------------------------------------------------------------------------------

TOO_SMALL = f"""[...document.querySelectorAll('button, .button, select, input')]
  .filter((one) => one.offsetParent && !['file', 'checkbox'].includes(one.type))
  .map((one) => [one.textContent || one.id, one.getBoundingClientRect()])
  .filter(([, box]) => box.width < {TARGET_PX} || box.height < {TARGET_PX})
  .map(([text]) => text)"""


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", ["100%", "150%"])
@pytest.mark.parametrize("way", ["drive", "walk"])
def test_every_target_is_large_and_nothing_is_wider_than_the_phone(  # noqa: PLR0917
    standing, browser, scheme, size, way, tmp_path
):
    """By day and by night, and with text enlarged by half; the pictures are kept for a look."""
    with phone(browser, scheme=scheme) as page:
        opened(page, standing)
        told(page, 0)
        page.evaluate(f"document.documentElement.style.fontSize = '{size}'")
        page.get_by_role("button", name=f"Start a {way}").click()
        until(page, "RECORD.counts.fixes >= 1")
        marked(page, "WATER VALVE", "right wheel path")
        page.locator("#mark").click()
        expect(page.locator("#unsaidlist button")).to_have_count(1)
        page.evaluate("scrollTo(0, 0)")
        page.screenshot(path=str(tmp_path / f"{way}-{scheme}-{size[:-1]}-top.png"))
        page.locator("#more").click()
        page.screenshot(path=str(tmp_path / f"{way}-{scheme}-{size[:-1]}.png"))
        small = page.evaluate(TOO_SMALL)
        width = page.evaluate("document.documentElement.scrollWidth")
        page.evaluate("scrollTo(0, 0)")
        box = page.locator("#mark").bounding_box()
        shown = page.locator("header").inner_text()

    assert small == []
    assert width == PHONE["width"]
    assert box["height"] >= 2 * TARGET_PX
    assert box["y"] + box["height"] < PHONE["height"]
    assert ("A passenger marks, or park." in shown) == (way == "drive")


def test_a_refused_location_is_said_and_marks_are_kept_all_the_same(office, browser):
    """With their time alone."""
    office.start()
    with phone(browser, denied=True) as page:
        opened(page, office)
        page.get_by_role("button", name="Start a drive").click()
        expect(page.locator("#trouble")).to_contain_text("LOCATION IS REFUSED")
        page.locator("#mark").click()
        until(page, "RECORD.counts.marks === 1")
        all_sent(page)
    (mark,) = [one for one in office.entries() if one.kind == "mark"]

    assert mark.body["lon_deg"] is None
    assert mark.body["time_ms"] > 0


def test_undo_takes_the_last_mark_back_and_a_later_word_names_an_earlier_one(office, browser):
    """Three marks: one undone, one named later, one with a note on foot of markup as text."""
    office.start()
    with phone(browser) as page:
        opened(page, office)
        began(page)
        page.locator("#mark").click()
        until(page, "RECORD.counts.marks === 1")
        marked(page, "Manhole", "left side")
        page.locator("#undo").click()
        until(page, "RECORD.counts.marks === 1")
        page.locator("#unsaidlist button").click()
        page.locator("#kinds").get_by_role("button", name="GAS VALVE").click()
        expect(page.locator("#last")).to_contain_text("GAS VALVE")
        page.locator("#note").click()
        page.locator("#notetext").fill("<b>near</b> {{7*7}}")
        page.get_by_role("button", name="Keep the note").click()
        expect(page.locator("#last")).to_contain_text("<b>near</b> {{7*7}}")
        page.locator("#parkedbegin").click()
        until(page, "RECORD.counts.marks === 2")
        all_sent(page)
    standing = [one for one in current_of(office.entries()).recorded if one.kind == "mark"]
    said = {(one.body["words"], one.body["across"], one.body["note"]) for one in standing}

    assert said == {
        ("GAS VALVE", "", "<b>near</b> {{7*7}}"),
        ("parked cars begin", "right side", ""),
    }


def one_walk(office, page):
    """The marks of the last drive or walk of an office, as they stand, by their words."""
    drive = page.evaluate("RECORD.now.drive.drive_id")
    standing = [one.body for one in current_of(office.entries()).recorded if one.kind == "mark"]
    return {one["words"]: one for one in standing if one["drive_id"] == drive}


def assert_read_alike(saved, sent):
    """A mark in a saved GPX is read as it was sent, but for its place in the file."""
    marks = read_gpx(saved.encode(), name="walk.gpx", kinds=KINDS).marks
    (by_file,) = marks[marks["size"] == sent["size"]].to_dict("records")
    kept = ("size", "method", "note", "said_leg", "said_station", "said_offset")

    assert {name: by_file[name] for name in kept} == {name: sent[name] for name in kept}


def test_a_walk_says_size_height_paint_ties_and_a_wheels_station(standing, browser):
    """And whether what the office asks to look for was found."""
    look = {
        "leg": "A", "street": "Elm St (invented)", "station": "12+00", "side": "right",
        "what": "catch basin", "why": "in files, not seen", "no": "7", "units": "us",
    }  # fmt: skip
    handed = {"kinds": [], "legs": [{"code": "A", "name": "Elm St"}], "search": [look, look]}
    with phone(browser) as page:
        opened(page, standing)
        page.evaluate("handed => OUTBOX.put('handed', handed)", handed)
        page.route("**/field/list", lambda route: route.abort())
        page.reload()
        told(page, 0)
        page.get_by_role("button", name="Start a walk").click()
        until(page, "RECORD.counts.fixes >= 1")
        marked(page, "Manhole", "right wheel path")
        page.get_by_label("Size, as").fill("24 in")
        page.get_by_label("Against the road").select_option("proud")
        page.get_by_label("by so many inches").fill("0.5")
        page.get_by_label("Painted").check()
        page.get_by_label("First tie").fill("12.4 ft to pole 31")
        page.get_by_label("Second tie").fill("30 ft to hydrant")
        page.get_by_label("Leg").select_option("A")
        page.get_by_label("Station, from").fill("11+52")
        page.get_by_label("Offset").fill("6 ft RT")
        page.get_by_role("button", name="Keep it with").click()
        expect(page.locator("#last")).to_contain_text("24 in")
        page.get_by_role("button", name="Found", exact=True).first.click()
        until(page, "RECORD.counts.marks === 2")
        page.get_by_role("button", name="Not found").last.click()
        until(page, "RECORD.counts.marks === 3")
        drive = page.evaluate("RECORD.now.drive.drive_id")
        saved = page.evaluate("id => RECORD.whole(id).then(GPXFILE.text)", drive)
        all_sent(page)
        made = one_walk(standing, page)
    manhole = made["manhole"]

    assert_read_alike(saved, manhole)
    assert manhole["note"] == (
        "proud 0.5 in, painted; tie: 12.4 ft to pole 31; tie: 30 ft to hydrant"
    )
    assert (manhole["size"], manhole["method"]) == ("24 in", "wheeled")
    assert (manhole["said_leg"], manhole["said_station"]) == ("A", "11+52")
    assert manhole["said_offset"] == "6 ft RT"
    assert made["catch basin"]["note"] == "search list: found, no. 7"
    assert made["not found: catch basin"]["said_station"] == "12+00"


def test_an_item_that_the_office_cannot_take_keeps_back_no_other(standing, browser):
    """It stays on the phone, is told, and goes once it can."""
    with phone(browser) as page:
        opened(page, standing)
        before = len(standing.entries())
        bad = {"kind": "mark", "thing": "bad", "body": {}}
        page.evaluate("item => OUTBOX.add(item).then(() => undefined)", bad)

        def wrong(route):
            items = route.request.post_data_json["items"]
            if any(one["thing"] == "bad" for one in items):
                route.fulfill(status=400, json={"why": "not understood"})
            else:
                route.continue_()

        page.route("**/field/items", wrong)
        began(page)
        marked(page, "Manhole", "left side")
        page.get_by_role("button", name="Stop recording").click()
        page.evaluate("RECORD.bundle().then(LINK.push)")
        until(page, "await OUTBOX.waiting() === 1")
        expect(page.locator("#held")).to_contain_text("did not take 1: not understood")

    assert len(standing.entries()) > before


def test_a_large_photo_that_the_browser_cannot_open_is_kept_as_it_is(standing, browser):
    """Some phones hand over what their own browser does not know."""
    data = b"not a picture" * 300_000
    with phone(browser) as page:
        opened(page, standing)
        page.route("**/field/items", lambda route: route.abort())
        began(page)
        marked(page, "Manhole", "left side")
        page.locator("#photo").set_input_files(
            {"name": "a.heic", "mimeType": "image/heic", "buffer": data}
        )
        expect(page.locator("#last")).to_contain_text("photo")
        kept = page.evaluate("""OUTBOX.within(["items"], "readonly", async (items) => (
          await OUTBOX.answer(items.getAll())).filter((one) => one.bytes)
            .map((one) => [one.thing.split(".").pop(), one.bytes.byteLength]))""")

    assert kept == [["heic", len(data)]]


WAKE = """
  window.asked = 0;
  Object.defineProperty(navigator, "wakeLock", { value: { request: async () => {
    window.asked += 1;
    window.lock = { released: false, release: async () => { window.lock.released = true; } };
    return window.lock;
  } } });
"""


def test_the_screen_stays_on_while_a_drive_goes_on(standing, browser):
    """It is asked for at the start, and again when the page comes back from behind another."""
    with phone(browser) as page:
        page.add_init_script(WAKE)
        opened(page, standing)
        assert page.evaluate("asked") == 0
        began(page)
        until(page, "asked === 1")
        page.evaluate("lock.released = true")
        page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
        until(page, "asked === 2")
        page.get_by_role("button", name="Stop recording").click()
        until(page, "lock.released")


def test_a_voice_clip_goes_with_its_mark(standing, browser):
    """From a made-up microphone; the clip is a file of the job."""
    with phone(browser) as page:
        opened(page, standing)
        began(page)
        marked(page, "Manhole", "left side")
        page.get_by_role("button", name="Say it").click()
        expect(page.locator("#clip")).to_contain_text("Listening")
        page.wait_for_timeout(1500)
        page.locator("#clip").click()
        expect(page.locator("#last")).to_contain_text("voice")
        all_sent(page)
        made = one_walk(standing, page)
    clip = made["manhole"]["clip"]
    (file,) = [one for one in standing.entries() if one.thing == clip]

    assert clip.startswith("phone/")
    assert clip.endswith(("webm", "m4a"))
    assert file.kind == "file"


def test_no_fix_and_a_nearly_full_phone_are_said(standing, browser):
    """Nothing is lost meanwhile."""
    with phone(browser) as page:
        page.add_init_script(
            "navigator.storage.estimate = async () => ({ quota: 1e9, usage: 0.95e9 });"
        )
        opened(page, standing)
        began(page)
        expect(page.locator("#trouble")).to_contain_text("nearly full: 50 MB left")
        page.evaluate("RECORD.now.at -= 11000")
        expect(page.locator("#trouble")).to_contain_text("NO FIX FOR 10 SECONDS")
        driven(page, [1], before=page.evaluate("RECORD.counts.fixes"))
        expect(page.locator("#trouble")).not_to_contain_text("NO FIX")


def test_fixes_that_the_phone_could_not_write_are_written_once_it_can(standing, browser):
    """Its storage is full for three positions."""
    full = """IDBObjectStore.prototype.own = IDBObjectStore.prototype.add;
      IDBObjectStore.prototype.add = () => {
        throw new DOMException('full', 'QuotaExceededError');
      };
      undefined"""
    with phone(browser) as page:
        opened(page, standing)
        began(page)
        before = fixes_kept(page)
        page.evaluate(full)
        for number in range(1, 4):
            told(page, number)
            until(page, f"RECORD.now.unwritten.length === {number}")
        expect(page.locator("#trouble")).to_contain_text("CANNOT WRITE")
        page.locator("#mark").click()
        expect(page.locator("#trouble")).to_contain_text("NOT KEPT")
        page.evaluate("IDBObjectStore.prototype.add = IDBObjectStore.prototype.own; undefined")
        told(page, 4)
        until(page, f"RECORD.counts.fixes === {before + 4}")

        assert fixes_kept(page) == before + 4


def test_a_clock_set_back_by_an_hour_keeps_the_drive_in_its_order(standing, browser):
    """The positions' own times jump; the drive's go on."""
    back = f"""(() => {{
      const watch = navigator.geolocation.watchPosition.bind(navigator.geolocation);
      let count = 0;
      navigator.geolocation.watchPosition = (found, ...more) => watch((one) => found({{
        coords: one.coords, timestamp: one.timestamp - (count++ < 3 ? 0 : {HOUR_MS}),
      }}), ...more);
    }})()"""
    with phone(browser) as page:
        opened(page, standing)
        page.evaluate(back)
        began(page)
        for number in range(1, 8):
            driven(page, [number], before=page.evaluate("RECORD.counts.fixes"))
        times = [row[0] for row in page.evaluate(ROWS)]

    assert times == sorted(times)
    assert times[-1] - times[0] < HOUR_MS / 60


class Paired:
    """The same routes in this process, so that its short codes are at hand."""

    def __init__(self, office):
        self.offers, self.port = Offers(), free_port()
        self.origin = f"http://127.0.0.1:{self.port}"
        app = Starlette(routes=routes(lambda: open_store(office.url), offers=self.offers))
        config = uvicorn.Config(app, host="127.0.0.1", port=self.port, log_level="critical")
        self.server = uvicorn.Server(config)
        self.thread = threading.Thread(target=self.server.run, daemon=True)
        self.thread.start()
        while not self.server.started:
            time.sleep(0.02)

    def stop(self):
        """Be gone."""
        self.server.should_exit = self.server.force_exit = True
        self.thread.join(timeout=20)


def test_a_phone_is_paired_by_its_address_and_an_ended_token_loses_nothing(office, browser):
    """The code leaves the address; with an unknown token all stays, with a new code all goes."""
    paired = Paired(office)
    with phone(browser) as page:
        page.goto(f"{paired.origin}/field/drive/#pair={paired.offers.offer(office.token)}")
        expect(page.locator("#paired")).to_contain_text(f"Paired with {stored_job.JOB}")
        assert page.url == f"{paired.origin}/field/drive/"
        page.evaluate("OUTBOX.put('token', 'ended')")
        began(page)
        marked(page, "Manhole", "left side")
        page.get_by_role("button", name="Stop recording").click()
        expect(page.locator("#paired")).to_contain_text("pairing has ended")
        left = page.evaluate("OUTBOX.waiting()")
        page.locator("#code").fill("wrong")
        page.get_by_role("button", name="Pair", exact=True).click()
        expect(page.locator("#trouble")).to_contain_text("make a new one")
        assert page.evaluate("OUTBOX.waiting()") == left
        page.locator("#code").fill(paired.offers.offer(office.token))
        page.get_by_role("button", name="Pair", exact=True).click()
        until(page, "await OUTBOX.waiting() === 0")
    paired.stop()

    assert len(office.entries()) == left == 4
