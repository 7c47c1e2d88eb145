"""The map in a browser: offline, from a file, on a phone and on a desk."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from maps.example_pack import HOSTILE, example_legs, example_pack, example_things, pack_of
from playwright.sync_api import Browser, Locator, Page, sync_playwright

from routeprep.listing import rows
from routeprep.maps.page import render

CHROMIUM = shutil.which("chromium")
PHONE, DESK = (390, 844), (1366, 768)
SMALLEST_TARGET_PX = 44

pytestmark = [
    pytest.mark.proof,
    pytest.mark.skipif(CHROMIUM is None, reason="no program named chromium on the PATH"),
]


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """The system's browser, for all tests of this file."""
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield started
        started.close()


class Shown:
    """A page of a pack as a person has it, with all that it said and asked for."""

    def __init__(self, page: Page, file: Path) -> None:
        self.page = page
        self.asked: list[str] = []
        self.said: list[str] = []
        page.on("request", lambda request: self.asked.append(request.url))
        page.on("console", lambda message: self.said.append(message.text))
        page.on("pageerror", lambda error: self.said.append(str(error)))
        page.on("dialog", lambda dialog: self.said.append(dialog.message))
        page.goto(file.as_uri())

    def rows(self) -> Locator:
        """The rows of the list that are not filtered away."""
        return self.page.locator("#list li:not([hidden]) button.row")

    def popup(self) -> Locator:
        """What the map says about a thing."""
        return self.page.locator(".leaflet-popup")


@pytest.fixture(params=[PHONE, DESK], ids=["phone", "desk"])
def shown(browser: Browser, tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[Shown]:
    """The example's map, offline, at two sizes; at the end it has asked nobody and said nothing."""
    width, height = request.param
    file = tmp_path / "map.html"
    file.write_text(render(example_pack()), encoding="utf-8")
    context = browser.new_context(
        viewport={"width": width, "height": height},
        offline=True,
        has_touch=request.param == PHONE,
        reduced_motion="reduce",
    )
    one = Shown(context.new_page(), file)
    yield one
    assert one.asked == [file.as_uri()]
    assert one.said == []
    context.close()


def test_list_is_the_sheet_in_its_order(shown: Shown) -> None:
    """A row an obstruction, by leg, with its number."""
    listed = rows(example_pack())
    numbers = shown.page.locator("#list .row .no").all_text_contents()

    assert shown.rows().count() == len(listed)
    assert numbers == list(listed["no"])
    assert shown.page.locator("#list h2").all_inner_texts() == [
        "A  Example Road",
        "B  Sample Street",
    ]


def test_row_opens_what_the_sheet_says_with_the_note_as_typed(shown: Shown) -> None:
    """The hostile note shows in list and popup letter by letter, and runs nothing."""
    shown.rows().first.click()
    said = shown.popup()

    assert said.locator("h3").text_content() == "A-1 sewer manhole 24 in"
    assert said.locator(".station").text_content() == "13+95 ±20 ft"
    assert said.locator(".do").text_content() == "NOT DECIDED: STOP"
    assert HOSTILE in said.locator("dd").all_text_contents()
    assert shown.page.locator("#list .note").first.text_content() == HOSTILE
    assert shown.rows().first.get_attribute("aria-current") == "true"


def test_sign_on_the_map_chooses_its_row(shown: Shown) -> None:
    """What is tapped on the map is marked in the list and in view there."""
    shown.page.locator(".sign", has_text="A-4").click()
    row = shown.page.locator("#list button[aria-current]")

    assert row.locator(".no").text_content() == "A-4"
    assert shown.popup().locator("h3").text_content() == "A-4 speed hump"
    frame, place = shown.page.locator("#side").bounding_box(), row.bounding_box()
    assert frame["y"] <= place["y"] < frame["y"] + frame["height"]


def test_two_things_under_one_sign_are_offered_by_name(shown: Shown) -> None:
    """A-2 stands 4 m past A-1: one sign, and both can be reached."""
    shown.page.locator(".sign", has_text="A-1").first.click()
    shown.page.get_by_role("button", name="A-2 WATER valve").last.click()

    assert shown.popup().locator("h3").text_content() == "A-2 WATER valve"


def test_search_by_number_and_by_station(shown: Shown) -> None:
    """A start of a number or a station keeps its rows; a station between things, the nearest."""
    find = shown.page.get_by_role("searchbox", name="Find a number or station")

    find.fill("b1")
    assert shown.rows().locator(".no").all_text_contents() == ["B-1"]
    find.fill("59+")
    assert shown.rows().locator(".no").all_text_contents() == ["A-5"]
    find.fill("29+00")
    assert shown.rows().locator(".no").all_text_contents() == ["A-3", "B-1"]
    assert shown.page.locator("#found").inner_text() == (
        "nothing listed at 29+00; the nearest of each leg is shown"
    )
    find.press("Enter")
    assert shown.popup().locator("h3").text_content() == "A-3 GAS valve"
    find.fill("")
    assert shown.rows().count() == len(rows(example_pack()))


def test_list_works_from_the_keyboard(shown: Shown) -> None:
    """Arrows move, Enter opens, Home and End jump; the row with the focus is outlined."""
    keys = shown.page.keyboard
    focused = shown.page.locator("#list button.row:focus")
    shown.page.get_by_role("searchbox").focus()

    keys.press("ArrowDown")
    keys.press("ArrowDown")
    assert focused.locator(".no").text_content() == "A-2"
    assert focused.evaluate("row => getComputedStyle(row).outlineStyle") == "solid"
    keys.press("Enter")
    assert shown.popup().locator("h3").text_content() == "A-2 WATER valve"
    keys.press("End")
    assert focused.locator(".no").text_content() == "B-1"
    keys.press("Home")
    keys.press("ArrowUp")
    assert focused.locator(".no").text_content() == "A-1"


def test_whole_job_is_in_view_and_can_be_had_again(shown: Shown) -> None:
    """At the start and after "Whole job", every thing is inside the map."""
    inside = """() => JSON.parse(document.getElementById("data").textContent).things
        .every((thing) => map_job.getBounds().contains(thing.at))"""
    assert shown.page.evaluate(inside)
    shown.rows().first.click()
    assert not shown.page.evaluate(inside)
    shown.page.get_by_role("button", name="Whole job").click()

    assert shown.page.evaluate(inside)


def test_touch_targets_are_large_enough(shown: Shown) -> None:
    """Everything that is tapped measures 44 px or more both ways."""
    shown.rows().first.click()
    targets = shown.page.locator("button:visible, #find, summary, .sign, .leaflet-bar a").all()
    targets.append(shown.page.locator(".leaflet-popup-close-button"))
    small = [
        (target.text_content(), box["width"], box["height"])
        for target in targets
        if (box := target.bounding_box()) is not None
        and min(box["width"], box["height"]) < SMALLEST_TARGET_PX
    ]

    assert len(targets) > 10
    assert small == []


def test_page_is_no_wider_than_the_screen(shown: Shown) -> None:
    """Long notes wrap; nothing scrolls sideways."""
    wide = """() => [document.documentElement, document.getElementById("side")]
        .map((box) => box.scrollWidth - box.clientWidth)"""

    assert shown.page.evaluate(wide) == [0, 0]


def test_draft_banner_shows_on_a_draft_only(browser: Browser, tmp_path: Path) -> None:
    """An issued pack has no banner and no class of a draft."""
    legs = example_legs()
    file = tmp_path / "map.html"
    file.write_text(render(pack_of(legs, example_things(*legs))), encoding="utf-8")
    page = browser.new_page()
    page.goto(file.as_uri())
    issued = page.locator("#banner").count(), page.locator("body.draft").count()
    file.write_text(render(example_pack()), encoding="utf-8")
    page.goto(file.as_uri())

    assert issued == (0, 0)
    assert page.locator("#banner").inner_text() == "DRAFT, NOT FOR CUTTING"
    page.close()


def test_what_is_left_over_is_listed_at_the_end(shown: Shown) -> None:
    """Sort before issue, not on the list, numbers no longer alone, reasons of the draft."""
    titles = shown.page.locator("#rest h2").all_inner_texts()

    assert titles == [
        "Poorly looked at (2)",
        "Sort before issue (2)",
        "Not on the list (1)",
        "Numbers no longer alone (1)",
        "Why this is a draft (1)",
    ]
    assert shown.page.locator("#list .strong").all_text_contents() == [
        "Poorly looked at: 1 stretch, after the list.",
        "Path driven, not plan centerline.",
        "Poorly looked at: 1 stretch, after the list.",
    ]
    assert shown.page.locator(".unsorted").count() == 1


def test_what_was_poorly_looked_at_says_why(shown: Shown) -> None:
    """From its row, and from a tap on the striped band beside the line."""
    shown.page.locator("#rest button", has_text="only at night").click()
    assert "only at night" in shown.popup().inner_text()
    shown.page.locator(".leaflet-popup-close-button").click()
    place = shown.page.evaluate("""() => {
        const { at } = JSON.parse(document.getElementById("data").textContent).poor[1];
        const frame = document.getElementById("map_job").getBoundingClientRect();
        const { x, y } = map_job.latLngToContainerPoint(at);
        return [frame.x + x + 11, frame.y + y];
    }""")
    shown.page.mouse.click(*place)

    assert "0+98.4 to 16+40 from ELM N CURB" in shown.popup().inner_text()


def test_it_prints_a_page_of_map_and_the_list(shown: Shown) -> None:
    """Printing shows the whole job whatever was searched or chosen, and is undone after."""
    shown.rows().nth(2).click()
    before = shown.page.evaluate("[map_job.getZoom(), document.getElementById('legend').open]")
    pdf = shown.page.pdf(prefer_css_page_size=True)
    after = shown.page.evaluate("[map_job.getZoom(), document.getElementById('legend').open]")

    assert pdf.count(b"/Type /Page\n") >= 2
    assert after == before
    assert shown.page.locator("body.printing").count() == 0
