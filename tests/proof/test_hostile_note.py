"""Words that are code somewhere go through every page and every file, and stay words.

As a mark's words, a note, a review, a check, a reason, and as the names of job, street and person.
"""

import csv
import io
import json
import os
import re

import gpxpy
import pyogrio
import pypdf
import pytest
import tomlkit
from builders import lonlat
from made_entries import EVERY_KIND
from office_server import CHROMIUM, LAPTOP, PHONE, named, office_server, seen, turned
from playwright.sync_api import expect
from stored_job import NOON, job_files_small

from routeprep.access import SUPERINTENDENT, TRAFFIC_LEAD, Person
from routeprep.desk import Act, Desk
from routeprep.errors import EntryError
from routeprep.jobs import entries_of_files
from routeprep.packing import FILES, pack_files
from routeprep.remarks import WHOLE
from routeprep.saving import save_job
from routeprep.store import named_blobs, open_store, read_job_file

pytestmark = pytest.mark.proof

if CHROMIUM is None and not os.environ.get("CI"):
    pytest.skip("no chromium on this machine", allow_module_level=True)

LINE = (
    '<script>window.pwned = 1; alert(1)</script><img src=x onerror="window.pwned = 1"> '
    '{{ 7 * 7 }} {% raw %} #eval("1") #import "x" @ref $x$ *b* _i_ `c` '
    "[link](javascript:alert(2)) ![picture](https://outside.example/i.png) "
    "\N{RIGHT-TO-LEFT OVERRIDE}txt.exe\N{POP DIRECTIONAL FORMATTING} \N{PILE OF POO}"
)  # fmt: skip
LONG = (LINE + " word" * 2_000)[:10_000]
# Controls, ends of lines, marks of direction, no characters, and the first and last that there are.
UNPRINTED = (
    "a\x00b\x01\x07\x0b\x1b[2J\x1f\x7f\x85\u2028\u2029\u200b\u2066\ufffe\uffff\U0010ffff\n\t=1+1 z"
)
NAME = "<b onclick=alert(1)>Elm</b> {{ 7 * 7 }} #x *y* @z (invented)"
ANA, LEE = Person(name=NAME, role=SUPERINTENDENT), Person(name=f"Lee {NAME}", role=TRAFFIC_LEAD)
TAG = "<script>window.pwned = 1; alert(1)</script>"
# Every page, and which of the words stand on it; on the first page of a job they are in boxes.
PAGES = {
    "The job": "", "Files": "To be sorted before issue", "In the road": TAG, "Review": TAG,
    "On the day": TAG, "Issue": NAME, "History": TAG, "Phones": NAME,
}  # fmt: skip


def files():
    """The small job, with all that a person can name named so, and a mark by such a person."""
    made = job_files_small()
    document = tomlkit.parse(made["job.toml"].decode())
    document["job"]["name"] = NAME
    document["leg"][0]["name"] = NAME
    document["machine"] = [{"name": NAME, "drum_ft": 7.25, "overlap_ft": 0.25}]
    document["briefing"] = {
        "where": NAME,
        "worst": [LINE],
        "phones": [{"who": NAME, "number": "308-555-0117", "why": LINE}],
    }
    made["job.toml"] = tomlkit.dumps(document).encode()
    rows = list(csv.reader(io.StringIO(made["marks.csv"].decode())))
    for row in rows[1:]:
        row[rows[0].index("by")] = NAME
    out = io.StringIO()
    csv.writer(out).writerows(rows)
    return made | {"marks.csv": out.getvalue().encode()}


def hostile(store):
    """A desk at the job, once issued, and since with all that can be said in such words."""
    entries, blobs = entries_of_files("job.toml", files(), author=NAME)
    store.append(entries, blobs, by=ANA)
    desk = Desk(store, NAME, now=lambda: NOON)
    pack = desk.pack(desk.look())
    things = [str(one) for one in pack.obstructions["anchor_id"]]
    junk = [(str(one), "kind", "nothing") for one in pack.unsorted["mark_id"]]
    desk.decide(desk.look(), ANA, [*junk, *((one, "action", "as proposed") for one in things)])
    desk.issue(desk.look(), ANA, paper="letter")
    desk.hand_over(desk.look(), ANA, revision="A", to=NAME, how=LINE)
    lon, lat = lonlat(2.0, 330.0)
    said = {"words": LINE, "note": LINE, "by": NAME, "lon_deg": lon, "lat_deg": lat}
    said |= {"time_ms": None, "method": "walked"}
    acts = [
        Act("mark", "p1", EVERY_KIND["mark"][1] | said),
        Act("device", "h1", EVERY_KIND["device"][1] | {"name": NAME, "by": NAME}),
        Act("drive", "d1", EVERY_KIND["drive"][1] | {"name": LINE, "by": NAME}),
        Act("found", "f1", EVERY_KIND["found"][1] | {"words": LINE, "note": LONG, "by": NAME}),
    ]
    desk.write(desk.look(), ANA, acts)
    first, second = things[:2]
    desk.decide(desk.look(), ANA, [(first, "note", LONG), (first, "size", LINE)], why=LINE)
    desk.decide(desk.look(), ANA, [(first, "action", f"LIFT {LINE}")], why=LINE)
    desk.review(desk.look(), LEE, subject=WHOLE, says="ask for change", text=LONG)
    desk.review(desk.look(), LEE, subject=first, says="comment", text=LINE)
    desk.check(desk.look(), ANA, subject=first, says="changed", text=LINE)
    # What prints nothing, on a thing of its own.
    desk.decide(desk.look(), ANA, [(second, "note", UNPRINTED)])
    desk.check(desk.look(), ANA, subject=second, says="changed", text=UNPRINTED)
    return desk


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    """The folder of an office that holds the job."""
    folder = tmp_path_factory.mktemp("office")
    with open_store(f"sqlite:///{folder / 'jobs.db'}") as store:
        hostile(store)
    return folder


@pytest.fixture(scope="module")
def pack(place, tmp_path_factory):
    """Every file of the pack, by name."""
    folder = tmp_path_factory.mktemp("pack")
    with open_store(f"sqlite:///{place / 'jobs.db'}") as store:
        desk = Desk(store, NAME, now=lambda: NOON)
        pack_files(desk.pack(desk.look()), folder, paper="letter")
    return {name: folder / name for name in FILES}


def squeezed(text):
    """Text without what breaks its lines."""
    return re.sub(r"\s+", "", text)


def ran(page):
    """Whether any of the words was run as a script, in the page or in a frame."""
    return [one.url for one in page.frames if one.evaluate("window.pwned !== undefined")]


@pytest.mark.parametrize("name", [one for one in FILES if one.endswith(".pdf")])
def test_a_sheet_prints_the_words_and_runs_nothing(pack, name):
    """The job's name is on every sheet; there is no link and no script in any."""
    reader = pypdf.PdfReader(pack[name])
    text = squeezed("".join(page.extract_text() for page in reader.pages))
    links = [note.get_object() for page in reader.pages for note in page.get("/Annots", ())]

    assert squeezed("<b onclick=alert(1)>Elm</b> {{ 7 * 7 }} #x *y* @z") in text
    assert not any("/URI" in str(one) or "/JavaScript" in str(one) for one in links)
    assert "/OpenAction" not in reader.root_object
    assert "/AA" not in reader.root_object


def test_the_main_sheet_prints_the_note_and_the_review(pack):
    """As far as there is room; what code would have made of them is nowhere."""
    reader = pypdf.PdfReader(pack["obstruction-sheet.pdf"])
    text = squeezed("".join(page.extract_text() for page in reader.pages))

    assert text.count(squeezed(TAG)) >= 3
    assert squeezed("{{ 7 * 7 }} {% raw %} #eval") in text
    assert squeezed("[link](javascript:alert(2))") in text


def test_the_slip_and_the_check_of_the_day_print_the_words(pack):
    """What has changed since the issue, and what was found on the day."""
    for name in ("change-slip.pdf", "day-check.pdf"):
        reader = pypdf.PdfReader(pack[name])
        text = squeezed("".join(page.extract_text() for page in reader.pages))
        assert squeezed(TAG) in text, name


def test_half_a_character_is_refused_in_a_sentence(place):
    """A browser sends none; a file or a phone could."""
    with open_store(f"sqlite:///{place / 'jobs.db'}") as store:
        desk = Desk(store, NAME, now=lambda: NOON)
        before = desk.look()
        with pytest.raises(EntryError, match="half a character; leave that out"):
            desk.review(before, LEE, subject=WHOLE, says="comment", text="\ud800")

        assert desk.look() is before


def test_the_tables_hold_the_note_as_it_was_typed(pack):
    """CSV, GeoJSON, GPX and GeoPackage, each read by another program."""
    rows = csv.DictReader(io.StringIO(pack["obstructions.csv"].read_bytes().decode()))
    features = json.loads(pack["obstructions.geojson"].read_text("utf-8"))["features"]
    layer = pyogrio.read_dataframe(pack["obstructions.gpkg"], layer="obstructions")
    waypoints = gpxpy.parse(pack["obstructions.gpx"].read_text("utf-8")).waypoints

    assert next(one["note"] for one in rows if one["note"]) == LONG
    notes = [one["properties"].get("note") for one in features]
    assert [one for one in notes if one] == [LONG, UNPRINTED]
    # At NUL a text of this format would end: a sign stands in its place.
    assert {LONG, UNPRINTED.replace("\0", "\ufffd")} <= set(layer["note"])
    assert any(LINE in f"{one.comment} {one.description}" for one in waypoints)


def test_the_reports_are_whole(pack):
    """JSON with the job's name; what is to be sorted and what nobody owns as CSV."""
    report = json.loads(pack["report.json"].read_text("utf-8"))
    plan = json.loads(pack["plan.json"].read_text("utf-8"))
    unsorted = list(csv.DictReader(io.StringIO(pack["sort-before-issue.csv"].read_text("utf-8"))))

    assert NAME in json.dumps(report, ensure_ascii=False)
    assert plan
    assert [one["words"] for one in unsorted] == [LINE]


def test_the_map_lists_the_words_and_runs_nothing(browser, pack):
    """From a file, with the network cut."""
    context = browser.new_context(offline=True)
    page, said = context.new_page(), []
    page.on("dialog", lambda one: (said.append(one.message), one.dismiss()))
    page.on("request", lambda one: one.url.startswith("http") and said.append(one.url))
    page.goto(pack["map.html"].as_uri())
    rows = page.locator("#list button.row")
    expect(rows.first).to_be_visible()
    rows.first.click()
    listed, popup = page.locator("#list").inner_text(), page.locator(".leaflet-popup")
    expect(popup).to_contain_text(TAG)
    found = ran(page)
    context.close()

    assert TAG in listed
    assert (found, said) == ([], [])


def test_a_job_file_brings_all_of_it_back(place, tmp_path):
    """Saved, read again: the same entries, word by word, and the same layers of a map."""
    with open_store(f"sqlite:///{place / 'jobs.db'}") as store:
        entries = store.entries(NAME)
        blobs = store.blobs(named_blobs(entries))
    path = tmp_path / "job.gpkg"
    saved = save_job(entries, blobs, path)
    again, content = read_job_file(path)
    layer = pyogrio.read_dataframe(path, layer="obstructions")

    assert saved.no_layers == ""
    assert sorted(again, key=lambda one: one.entry_id) == sorted(
        entries, key=lambda one: one.entry_id
    )
    assert dict(content) == blobs
    assert LONG in list(layer["note"])


@pytest.mark.parametrize("size", [LAPTOP, PHONE], ids=["laptop", "phone"])
def test_every_page_shows_the_words_and_runs_nothing(browser, place, size):
    """No dialog, no script, no call to elsewhere, nothing wider than the screen."""
    with office_server(place) as at, seen(browser, at, size) as page:
        named(page, NAME)
        page.get_by_role("button", name="Elm").first.click()
        expect(page.get_by_text("Open:")).to_be_visible(timeout=60_000)
        for title, words in PAGES.items():
            turned(page, title)
            if title == "In the road":
                road = page.frame_locator("iframe[title='Map and list of the job']")
                road.locator("#list button.row").first.click(timeout=60_000)
                expect(page.get_by_role("heading", level=3).first).to_contain_text("A-1")
            expect(page.get_by_test_id("stMain")).to_contain_text(words, timeout=60_000)
            expect(page.get_by_test_id("stException")).to_have_count(0)
            assert ran(page) == [], title
            overflow = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
            assert overflow <= 0, title

        assert (page.said, page.outside) == ([], [])
