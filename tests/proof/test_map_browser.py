"""The map in a browser: offline, from a file, on a phone and on a desk, by day and by night."""

import dataclasses
import functools
import itertools
import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from bench import mapping
from bench.mapping import DESK, PHONE
from maps.example_pack import (
    HOSTILE,
    example_legs,
    example_pack,
    example_settings,
    example_things,
    pack_of,
)
from playwright.sync_api import (
    Browser,
    BrowserContext,
    Locator,
    Page,
    Route,
    expect,
)
from sheets.pdf_text import pages_of

from routeprep import tables
from routeprep.briefing import Tiles
from routeprep.listing import rows
from routeprep.maps.page import render
from routeprep.shapes import Pack
from routeprep.stationing import along_of
from routeprep.streets import Landmark

CHROMIUM = shutil.which("chromium")
SMALLEST_TARGET_PX = 44
LOWEST_CONTRAST = 4.5
NETWORK = re.compile("^https?:")
# A picture of one pixel.
PIXEL = b'<svg xmlns="http://www.w3.org/2000/svg" width="1" height="1"/>'
TILES = Tiles(address="https://tiles.example/{z}/{x}/{y}.png", credit="Example <b>maps</b>")
pytestmark = [
    pytest.mark.proof,
    pytest.mark.skipif(CHROMIUM is None, reason="no program named chromium on the PATH"),
]


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

    def numbers(self) -> list[str]:
        """Their numbers."""
        return self.rows().locator(".no").all_text_contents()

    def popup(self) -> Locator:
        """What the map says about a thing."""
        return self.page.locator(".leaflet-popup")

    def find(self, text: str) -> Locator:
        """Type into the search."""
        box = self.page.get_by_role("searchbox", name="Find a number, a station or a word")
        box.fill(text)
        return box

    def counted(self) -> int:
        """How many things the signs and plates on the map stand for."""
        plates = self.page.locator(".plate .many").all_text_contents()
        more = self.page.locator(".sign .more").all_text_contents()
        return sum(map(int, plates + more)) + self.page.locator(".sign").count()


def crossed(pack: Pack) -> Pack:
    """The pack with a street that crosses its first leg, named as hostile as can be."""
    marks = tuple(
        Landmark(name=name, along_m=along_m, side="R", source="streets.osm", credit=HOSTILE)
        for name, along_m in (("Elm St", 300.0), (HOSTILE, 2200.0))
    )
    first, *others = pack.legs
    search = tables.table(
        tables.SEARCH,
        [{"leg": "A", "from_m": 700.0, "to_m": 760.0, "along_m": 730.0, "what": HOSTILE,
          "why": "looked at once", "lon_deg": -96.0915, "lat_deg": 41.2057}],
    )  # fmt: skip
    return dataclasses.replace(
        pack, legs=(dataclasses.replace(first, landmarks=marks), *others), search=search
    )


@functools.cache
def example_page() -> str:
    """The example's map, made once."""
    return render(crossed(example_pack()))


def opened(browser: Browser, size: tuple[int, int], scheme: str = "light") -> BrowserContext:
    """A browser with the network cut."""
    return browser.new_context(
        viewport={"width": size[0], "height": size[1]},
        offline=True,
        has_touch=size == PHONE,
        color_scheme=scheme,
        reduced_motion="reduce",
    )


@pytest.fixture(params=[PHONE, DESK], ids=["phone", "desk"])
def shown(browser: Browser, tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[Shown]:
    """The example's map, offline, at two sizes; at the end it has asked nobody and said nothing."""
    file = tmp_path / "map.html"
    file.write_text(example_page(), encoding="utf-8")
    context = opened(browser, request.param)
    one = Shown(context.new_page(), file)
    yield one
    assert one.asked == [file.as_uri()]
    assert one.said == []
    context.close()


@pytest.fixture(scope="module")
def busy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The map of 2,000 things."""
    file = tmp_path_factory.mktemp("busy") / "map.html"
    file.write_text(render(mapping.busy_pack()), encoding="utf-8")
    return file


def looked_at(one: Shown, place: str, zoom: int) -> None:
    """Move the map; ``place`` is a script's expression."""
    one.page.evaluate(f"() => {{ map_job.setView({place}, {zoom}, {{ animate: false }}); }}")


# --- list and popups ---------------------------------------------------------------------------


def test_list_is_the_sheet_in_its_order(shown: Shown) -> None:
    """A row an obstruction, by leg, with its number."""
    assert shown.numbers() == list(rows(example_pack())["no"])
    assert shown.page.locator("#list h2").all_inner_texts() == [
        "A  Example Road",
        "B  Sample Street",
    ]


def test_cross_streets_and_withdrawn_numbers_stand_in_the_list(shown: Shown) -> None:
    """The number is struck through and says what became of it."""
    gone = shown.page.locator("#list li.withdrawn")
    line = gone.locator("s").evaluate("one => getComputedStyle(one).textDecorationLine")

    assert gone.all_inner_texts() == ["A-7\njoined with A-1"]
    assert line == "line-through"
    assert shown.page.locator("#list li.landmark .name").all_text_contents() == ["Elm St", HOSTILE]


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


def test_hostile_words_are_words_wherever_they_stand(shown: Shown) -> None:
    """Names of streets, places to look, who made the map, what is left off the list."""
    shown.page.locator("#legend summary").click()
    shown.page.get_by_label("look here again, for who goes out").check()
    shown.page.locator("#lookend button").click()

    assert shown.popup().locator("p").nth(1).text_content() == HOSTILE
    assert shown.page.locator("#credits").text_content() == f"Street names: {HOSTILE}"
    assert any(HOSTILE in text for text in shown.page.locator("#rest p").all_text_contents())
    assert shown.page.locator("main script, main img, main iframe").count() == 0


def test_sign_on_the_map_chooses_its_row(shown: Shown) -> None:
    """What is tapped on the map is marked in the list and in view there."""
    looked_at(shown, "JOB.things[3].at", 16)
    shown.page.locator(".sign", has_text="A-4").click()
    row = shown.page.locator("#list button[aria-current]")

    assert row.locator(".no").text_content() == "A-4"
    assert shown.popup().locator("h3").text_content() == "A-4 speed hump"
    frame, place = shown.page.locator("#side").bounding_box(), row.bounding_box()
    assert frame["y"] <= place["y"] < frame["y"] + frame["height"]


def test_things_under_one_sign_are_offered_by_name(shown: Shown) -> None:
    """A-2 stands 4 m past A-1: one sign, and both can be reached."""
    shown.find("A-1").press("Enter")
    shown.page.locator(".sign", has_text="A-1").first.click()
    shown.popup().get_by_role("button", name="A-2 WATER valve").click()

    expect(shown.popup().locator("h3")).to_have_text("A-2 WATER valve")


def test_every_thing_is_counted_on_the_map_once(shown: Shown) -> None:
    """At the first view, which is the whole job."""
    assert shown.counted() == len(rows(example_pack()))


def test_signs_tell_source_lane_stop_and_gone_by_shape(shown: Shown) -> None:
    """Hollow body, broken edge, ring, stroke: none of it by colour alone."""
    signs = shown.page.evaluate("""() => JOB.things.map((thing) => {
        const svg = SIGNS.sign({ ...thing, ringed: thing.stop || thing.undecided });
        const shapes = [...svg.querySelectorAll("circle, polygon")];
        return [
            thing.no,
            shapes.at(-1).getAttribute("fill") === "var(--paper)",
            shapes.some((one) => one.hasAttribute("stroke-dasharray")),
            shapes.some((one) => one.getAttribute("r") === "24"),
            svg.querySelectorAll("line").length > 0,
            svg.textContent === thing.code,
        ];
    })""")

    assert signs == [
        ["A-1", False, False, True, False, True],
        ["A-2", False, True, True, False, True],
        ["A-3", True, False, True, False, True],
        ["A-4", False, False, False, False, True],
        ["A-5", False, False, False, False, True],
        ["A-6", False, False, False, True, True],
        ["B-1", False, False, True, False, True],
    ]


# --- search and filters ------------------------------------------------------------------------


@pytest.mark.parametrize("text", ["A-5", "a5", "a-5", " A 5 "])
def test_a_number_is_found_however_it_is_typed(shown: Shown, text: str) -> None:
    """Enter shows it on the map, with all that stands beside it."""
    box = shown.find(text)
    listed = shown.numbers()
    box.press("Enter")

    assert listed == ["A-5"]
    assert shown.popup().locator("h3").text_content() == "A-5 wire"
    assert shown.page.locator("#partly").is_hidden()


@pytest.mark.parametrize("text", ["29+00", "A 29+00", "a29+00", "A-29+00", "29+00.0"])
def test_a_station_is_a_place_on_the_line_and_the_nearest_thing(shown: Shown, text: str) -> None:
    """A-3 stands at 600 m, 68.5 ft past 29+00 (579.12 m from 10+00); the list goes to it."""
    road, _ = example_legs()
    along_m = along_of(road.stationing, "29+00")
    wanted = [np.interp(along_m, road.line.along_m, at)
              for at in (road.line.lat_deg, road.line.lon_deg)]  # fmt: skip
    box = shown.find(text)
    offer = shown.page.locator("#places button").first.inner_text()
    box.press("Enter")
    found = shown.page.evaluate("""async () => {
        const at = () => {
            const box = document.querySelector(".place").getBoundingClientRect();
            const frame = map_job.getContainer().getBoundingClientRect();
            const { lat, lng } = map_job.containerPointToLatLng(
                [box.x + box.width / 2 - frame.x, box.y + box.height / 2 - frame.y]);
            return [lat, lng];
        };
        // The map may still be moving there.
        let place = at();
        for (let still = 0; still < 20; ) {
            await new Promise(requestAnimationFrame);
            const now = at();
            still = now.every((one, i) => Math.abs(one - place[i]) < 1e-9) ? still + 1 : 0;
            place = now;
        }
        return place;
    }""")

    assert re.fullmatch(r"A 29\+00(\.0)? \N{EN DASH} nearest: A-3, 70 ft past it", offer)
    assert found == pytest.approx(wanted, abs=1e-5)  # a pixel at this zoom is 0.4 m
    assert "a place on the line" in shown.popup().inner_text()
    assert shown.page.locator("#list button[tabindex='0'] .no").text_content() == "A-3"
    shown.popup().get_by_role("button", name="nearest: A-3").click()
    assert shown.popup().locator("h3").text_content() == "A-3 GAS valve"


def test_a_station_that_two_legs_have_is_offered_on_both(shown: Shown) -> None:
    """16+00 stands on A, and on B from its zero."""
    shown.find("16+00")
    offers = shown.page.locator("#places button").all_inner_texts()

    assert [offer.partition(" \N{EN DASH}")[0] for offer in offers] == [
        "A 16+00",
        "B 16+00 from ELM N CURB",
    ]
    shown.find("B 16+00")
    assert shown.page.locator("#places button").count() == 1


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("999+00", "no leg has the station 999+00"),
        ("12+4000", "no leg has the station 12+4000"),
        ("unicorn", "nothing is called unicorn"),
    ],
)
def test_what_is_nowhere_is_said(shown: Shown, text: str, message: str) -> None:
    """Nothing near it is shown in its stead."""
    shown.find(text)

    assert shown.page.locator("#found").inner_text() == message
    assert shown.rows().count() == 0
    shown.page.get_by_role("button", name="Show all").click()
    assert shown.rows().count() == len(rows(example_pack()))


def test_words_find_what_a_row_says(shown: Shown) -> None:
    """All of them, in any order; the beginning of a station finds its rows too."""
    shown.find("valve gas")
    assert shown.numbers() == ["A-3"]
    shown.find("mill over")
    assert shown.numbers() == ["A-4"]
    shown.find("59+")
    assert shown.numbers() == ["A-5"]


@pytest.mark.parametrize(
    ("choice", "numbers"),
    [
        ("every STOP (4)", ["A-1", "A-2", "A-3", "B-1"]),
        ("not decided (3)", ["A-1", "A-2", "B-1"]),
        ("in doubt (1)", ["A-2"]),
        ("in a file, not seen (1)", ["A-3"]),
        ("gone (1)", ["A-6"]),
    ],
)
def test_a_sort_narrows_list_and_map_and_says_so(
    shown: Shown, choice: str, numbers: list[str]
) -> None:
    """The map says how many of how many are drawn."""
    shown.page.get_by_label("Which things").select_option(choice)

    assert shown.numbers() == numbers
    assert shown.counted() == len(numbers)
    assert shown.page.locator("#partly").inner_text() == f"Only {len(numbers)} of 7 drawn"


def test_one_leg_can_be_shown_alone(shown: Shown) -> None:
    """And all again."""
    shown.page.get_by_label("Which leg").select_option("B Sample Street")
    assert shown.numbers() == ["B-1"]
    assert shown.page.locator("#list h2:visible").all_inner_texts() == ["B  Sample Street"]
    shown.page.get_by_role("button", name="Show all").click()

    assert shown.rows().count() == 7
    assert shown.page.locator("#list h2:visible").count() == 2


def test_a_number_from_outside_what_is_shown_shows_all_again(shown: Shown) -> None:
    """A place's nearest thing may be of another sort."""
    shown.page.get_by_label("Which things").select_option("gone (1)")
    shown.find("A 29+00").press("Enter")
    shown.popup().get_by_role("button", name="nearest: A-3").click()

    assert shown.rows().count() == 7
    assert shown.popup().locator("h3").text_content() == "A-3 GAS valve"


# --- keyboard, touch, sizes ----------------------------------------------------------------------


def test_all_is_reached_from_the_keyboard(shown: Shown) -> None:
    """Arrows move, Enter opens, Home and End jump, Escape closes; the focus is outlined."""
    keys = shown.page.keyboard
    focused = shown.page.locator("#list button.row:focus")
    shown.page.get_by_role("searchbox").focus()

    keys.press("ArrowDown")
    keys.press("ArrowDown")
    assert focused.locator(".no").text_content() == "A-2"
    assert focused.evaluate("row => getComputedStyle(row).outlineStyle") == "solid"
    keys.press("Enter")
    assert shown.popup().locator("h3").text_content() == "A-2 WATER valve"
    keys.press("Escape")
    assert shown.popup().count() == 0
    keys.press("End")
    assert focused.locator(".no").text_content() == "B-1"
    keys.press("Home")
    keys.press("ArrowUp")
    assert focused.locator(".no").text_content() == "A-1"


def test_tab_goes_through_the_controls_and_one_row(shown: Shown) -> None:
    """Not through every row: from the search to the list is a few steps."""
    names = []
    shown.page.get_by_role("searchbox").focus()
    for _ in range(5):
        shown.page.keyboard.press("Tab")
        names.append(shown.page.evaluate(
            "() => document.activeElement.id || document.activeElement.className"
            " || document.activeElement.localName"
        ))  # fmt: skip

    assert names[:4] == ["leg", "only", "summary", "row"]
    assert names[4] != "row" or shown.page.locator("#rest button.row:focus").count() == 1


def test_whole_job_is_in_view_and_can_be_had_again(shown: Shown) -> None:
    """At the start and after "Whole job", every thing is inside the map."""
    inside = "() => JOB.things.every((thing) => map_job.getBounds().contains(thing.at))"
    assert shown.page.evaluate(inside)
    shown.rows().first.click()
    assert not shown.page.evaluate(inside)
    shown.page.get_by_role("button", name="Whole job").click()

    assert shown.page.evaluate(inside)


def test_touch_targets_are_large_enough(shown: Shown) -> None:
    """Everything that is tapped measures 44 px or more both ways."""
    shown.page.locator("#legend summary").click()
    shown.page.get_by_label("look here again, for who goes out").check()
    shown.find("A 29+00").press("Enter")
    names = "button:visible, select:visible, #find, summary, #layers label, .leaflet-bar a"
    targets = [
        (one.text_content(), one.bounding_box())
        for one in shown.page.locator(f"{names}, .leaflet-popup-close-button").all()
    ]
    shown.page.get_by_role("button", name="Whole job").click()
    signs = [
        (one.text_content(), one.bounding_box())
        for one in shown.page.locator("#map_job .leaflet-interactive.leaflet-marker-icon").all()
    ]
    small = [
        (text, box)
        for text, box in targets + signs
        # Where a box begins at a part of a pixel, its size is off by the floating point's 1e-5.
        if box is not None and round(min(box["width"], box["height"]), 3) < SMALLEST_TARGET_PX
    ]

    assert len(targets) > 20
    assert len(signs) >= 3
    assert small == []


def test_page_is_no_wider_than_the_screen(shown: Shown) -> None:
    """Long notes wrap; nothing scrolls sideways, in the list or in a popup."""
    shown.rows().first.click()
    wide = """() => [document.documentElement, document.getElementById("side"),
        document.querySelector(".leaflet-popup-content")]
        .map((box) => box.scrollWidth - box.clientWidth)"""

    assert shown.page.evaluate(wide) == [0, 0, 0]


def test_a_popup_lies_clear_of_the_controls(shown: Shown) -> None:
    """What the sheet says can be read, and the buttons can be pressed."""
    shown.rows().first.click()
    said = shown.popup().bounding_box()
    boxes = [
        shown.page.locator(name).bounding_box()
        for name in (".leaflet-control-zoom", "#views", "#north")
    ]
    overlaps = [
        box["x"] < said["x"] + said["width"] and said["x"] < box["x"] + box["width"]
        and box["y"] < said["y"] + said["height"] and said["y"] < box["y"] + box["height"]
        for box in boxes
    ]  # fmt: skip

    assert overlaps == [False] * 3


def test_the_scale_bar_is_as_long_as_it_says(shown: Shown) -> None:
    """Against a great circle over the bar's width on the screen, within 1 %."""
    shown.rows().nth(2).click()
    words, metres = shown.page.evaluate("""() => {
        const bar = document.getElementById("scale");
        const y = map_job.getSize().y / 2;
        const [a, b] = [0, bar.getBoundingClientRect().width]
            .map((x) => map_job.containerPointToLatLng([x, y]));
        return [bar.textContent, map_job.distance(a, b)];
    }""")
    feet = float(words.removesuffix(" ft").replace(",", ""))

    assert metres / 0.3048 == pytest.approx(feet, rel=0.01)


def test_a_phone_can_have_more_list(browser: Browser, tmp_path: Path) -> None:
    """And gets its map back when something is chosen."""
    file = tmp_path / "map.html"
    file.write_text(render(example_pack()), encoding="utf-8")
    context = opened(browser, PHONE)
    one = Shown(context.new_page(), file)
    heights = [one.page.locator("#side").bounding_box()["height"]]
    one.page.get_by_role("button", name="More list").click()
    heights.append(one.page.locator("#side").bounding_box()["height"])
    one.rows().first.click()
    heights.append(one.page.locator("#side").bounding_box()["height"])
    context.close()

    assert heights[1] > heights[0] + 150
    assert heights[2] == heights[0]


# --- day and night --------------------------------------------------------------------------------

# Contrast by WCAG 2.2, success criterion 1.4.3: of each element that holds text of its own,
# against what is painted under it; of the letters of a sign against its body.
CONTRASTS = """() => {
    const rgb = (text) => {
        const [r, g, b, a = 1] = text.match(/[\\d.]+/g).map(Number);
        return { r, g, b, a };
    };
    const over = (top, under) => Object.fromEntries(["r", "g", "b"].map(
        (key) => [key, top[key] * top.a + under[key] * (1 - top.a)]).concat([["a", 1]]));
    const shine = ({ r, g, b }) => [r, g, b].map((v) => v / 255)
        .map((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4))
        .reduce((sum, v, i) => sum + v * [0.2126, 0.7152, 0.0722][i], 0);
    const contrast = (a, b) => {
        const [low, high] = [shine(a), shine(b)].sort((one, other) => one - other);
        return (high + 0.05) / (low + 0.05);
    };
    const painted = (element) => {
        const layers = [];
        for (let one = element; one; one = one.parentElement) {
            layers.push(rgb(getComputedStyle(one).backgroundColor));
        }
        return layers.reverse().reduce((under, top) => over(top, under));
    };
    const texts = [...document.querySelectorAll("body *")].filter((one) => (
        one.checkVisibility() && !one.closest("svg, script, option")
        && [...one.childNodes].some((node) => node.nodeType === 3 && node.data.trim())
    ));
    const found = texts.map((one) => (
        [one.textContent.slice(0, 40), contrast(rgb(getComputedStyle(one).color), painted(one))]
    ));
    const find = document.getElementById("find");
    found.push(["placeholder", contrast(
        rgb(getComputedStyle(find, "::placeholder").color), painted(find))]);
    for (const one of document.querySelectorAll("svg text")) {
        const style = getComputedStyle(one);
        found.push([one.textContent, contrast(rgb(style.fill), rgb(style.stroke))]);
    }
    return found;
}"""


@pytest.fixture(params=itertools.product((PHONE, DESK), ("light", "dark")),
                ids=lambda one: f"{one[0][0]}-{one[1]}")  # fmt: skip
def lit(browser: Browser, tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[Shown]:
    """The example by day and by night."""
    size, scheme = request.param
    file = tmp_path / "map.html"
    file.write_text(example_page(), encoding="utf-8")
    context = opened(browser, size, scheme)
    one = Shown(context.new_page(), file)
    one.page.locator("#legend summary").click()
    one.page.locator(".licence summary").click()
    yield one
    context.close()


def test_everything_has_contrast(lit: Shown) -> None:
    """List, popup, signs, legend, buttons, what is narrowed: 4.5 to 1 or more."""
    found = lit.page.evaluate(CONTRASTS)
    lit.page.get_by_label("Which things").select_option("not decided (3)")
    lit.rows().first.click()
    found += lit.page.evaluate(CONTRASTS)
    lit.find("A 29+00").press("Enter")
    found += lit.page.evaluate(CONTRASTS)

    assert len(found) > 200
    assert [one for one in found if one[1] < LOWEST_CONTRAST] == []


PAPER = "() => getComputedStyle(document.body).backgroundColor"
LINES = """() => {
    const colours = new Set();
    map_job.eachLayer((one) => one instanceof L.Polyline && colours.add(one.options.color));
    return [...colours].includes(
        getComputedStyle(document.documentElement).getPropertyValue("--ink").trim());
}"""


def test_it_is_dark_where_the_device_is_and_by_its_button(lit: Shown) -> None:
    """The lines on the canvas are drawn anew in the other ink."""
    dark = lit.page.evaluate("() => matchMedia('(prefers-color-scheme: dark)').matches")
    papers = [lit.page.evaluate(PAPER)]
    lines = [lit.page.evaluate(LINES)]
    lit.page.get_by_role("button", name="Day" if dark else "Night", exact=True).click()
    papers.append(lit.page.evaluate(PAPER))
    lines.append(lit.page.evaluate(LINES))

    assert papers == sorted(["rgb(255, 255, 255)", "rgb(12, 12, 12)"], reverse=not dark)
    assert lines == [True, True]


# --- layers ---------------------------------------------------------------------------------------


def test_places_to_look_again_are_shown_when_asked_for(shown: Shown) -> None:
    """On the map and after the list; off at first."""
    before = shown.page.locator(".look, #lookend:visible").count()
    shown.page.locator("#legend summary").click()
    shown.page.get_by_label("look here again, for who goes out").check()

    assert before == 0
    assert shown.page.locator(".look").count() == 1
    assert shown.page.locator("#lookend h2").inner_text() == "Look here again (1)"


def test_layers_can_be_left_out(shown: Shown) -> None:
    """Cross streets, marks to sort, stretches poorly looked at, drives."""
    count = """() => {
        const lines = [];
        map_job.eachLayer((one) => one instanceof L.Polyline && lines.push(one));
        return [lines.length, ...[".landmark.leaflet-marker-icon", ".unsorted"]
            .map((name) => document.querySelectorAll(name).length)];
    }"""
    before = shown.page.evaluate(count)
    shown.page.locator("#legend summary").click()
    for words in ("drives, thin grey lines", "cross streets", "poorly looked at",
                  "sort before issue"):  # fmt: skip
        shown.page.get_by_label(words, exact=True).uncheck()
    after = shown.page.evaluate(count)

    assert before[0] - after[0] == 1 + 2 * 2  # the drives are one, each stretch is drawn twice
    assert before[2] == 1
    assert after[1:] == [0, 0]


def test_what_is_left_over_is_listed_at_the_end(shown: Shown) -> None:
    """Poorly looked at, sort before issue, not on the list, remarks, reasons of the draft."""
    titles = shown.page.locator("#rest h2:visible").all_inner_texts()

    assert titles == [
        "Poorly looked at (2)",
        "Sort before issue (2)",
        "Not on the list (1)",
        "Review",
        "Check on the day",
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
        const frame = document.getElementById("map_job").getBoundingClientRect();
        const { x, y } = map_job.latLngToContainerPoint(JOB.poor[1].at);
        return [frame.x + x + 11, frame.y + y];
    }""")
    shown.page.mouse.click(*place)

    assert "0+98.4 to 16+40 from ELM N CURB" in shown.popup().inner_text()


LANES = """() => {
    const drawn = [];
    map_job.eachLayer((one) => {
        if (one instanceof L.Polyline && one.options.weight === 1 && !one.options.opacity0
            && one.getLatLngs().length && !Array.isArray(one.getLatLngs()[0])) {
            drawn.push(one.getLatLngs());
        }
    });
    const at = map_job.getCenter();
    const near = (points) => Math.min(...points.slice(1).map((b, i) => {
        const [p, q, c] = [points[i], b, at].map((one) => map_job.project(one));
        return L.LineUtil.pointToSegmentDistance(c, p, q);
    }));
    const { x, y } = map_job.project(at);
    const scale = map_job.distance(at, map_job.unproject([x + 100, y])) / 100;
    return drawn.map((points) => near(points) * scale).sort((a, b) => a - b);
}"""


def test_lanes_are_as_wide_as_the_job_gives_them(shown: Shown) -> None:
    """Each leg has one lane a side of 3.66 m: two edges, that far from the line, when near."""
    shown.page.get_by_role("button", name="Whole job").click()
    far = shown.page.evaluate(LANES)
    shown.find("A 40+00").press("Enter")
    looked_at(shown, "JOB.placesOf(JOB.legs[0], 4000)[0].at", 19)
    near = shown.page.evaluate(LANES)[:2]

    assert far == []
    assert near == pytest.approx([3.66, 3.66], abs=0.1)


# --- issue, tiles, print --------------------------------------------------------------------------


def test_draft_banner_shows_on_a_draft_only(browser: Browser, tmp_path: Path) -> None:
    """An issued pack has no banner and no class of a draft."""
    legs = example_legs()
    file = tmp_path / "map.html"
    file.write_text(render(pack_of(legs, example_things(*legs))), encoding="utf-8")
    page = browser.new_page()
    page.goto(file.as_uri())
    issued = page.locator("#banner:visible").count(), page.locator("body.draft").count()
    file.write_text(render(example_pack()), encoding="utf-8")
    page.goto(file.as_uri())

    assert issued == (0, 0)
    assert page.locator("#banner").inner_text() == "DRAFT, NOT FOR CUTTING"
    page.close()


@pytest.fixture
def tiled(tmp_path: Path) -> Path:
    """The map of a job that names a source of tiles."""
    legs = example_legs()
    settings = example_settings(legs, tiles=TILES)
    file = tmp_path / "map.html"
    text = render(pack_of(legs, example_things(*legs), settings=settings))
    file.write_text(text, encoding="utf-8")
    return file


def served(context: BrowserContext) -> list[str]:
    """Answer every request over the network with a picture; which ones were answered."""
    answered: list[str] = []

    def answer(route: Route) -> None:
        answered.append(route.request.url)
        route.fulfill(body=PIXEL, content_type="image/svg+xml")

    context.route(NETWORK, answer)
    return answered


def test_tiles_are_asked_of_the_one_source_that_is_named(browser: Browser, tiled: Path) -> None:
    """They show, and so does whom to name for them, as text."""
    context = browser.new_context(viewport={"width": 1366, "height": 768})
    served(context)
    one = Shown(context.new_page(), tiled)
    one.page.wait_for_selector(".leaflet-tile-loaded", state="attached")
    tiles = one.asked[1:]

    assert one.asked[0] == tiled.as_uri()
    assert len(tiles) > 0
    assert all(re.fullmatch(r"https://tiles\.example/\d+/\d+/\d+\.png", url) for url in tiles)
    assert one.page.locator("#credit").text_content() == TILES.credit
    assert one.said == []
    context.close()


def test_no_other_host_may_send_a_picture(browser: Browser, tiled: Path) -> None:
    """The page's policy stops it before anything is sent, whatever put it there."""
    context = browser.new_context()
    answered = served(context)
    one = Shown(context.new_page(), tiled)
    one.page.evaluate("() => { new Image().src = 'https://elsewhere.example/a.png'; }")
    one.page.wait_for_selector(".leaflet-tile-loaded", state="attached")

    assert any("Content Security Policy" in text for text in one.said)
    assert {url.split("/")[2] for url in answered} == {"tiles.example"}
    context.close()


def test_without_a_network_no_tile_is_asked_for(browser: Browser, tiled: Path) -> None:
    """Map and list are all there, and nobody is named for tiles that are not shown."""
    context = opened(browser, DESK)
    one = Shown(context.new_page(), tiled)

    assert one.asked == [tiled.as_uri()]
    assert one.said == []
    assert one.counted() == one.rows().count() == 7
    assert one.page.locator("#credit").text_content() == ""
    context.close()


def test_tiles_that_fail_take_nothing_with_them(browser: Browser, tiled: Path) -> None:
    """No script fails, and everything of the job is drawn and listed."""

    def fail(route: Route) -> None:
        route.abort()

    context = browser.new_context(viewport={"width": 1366, "height": 768})
    context.route(NETWORK, fail)
    one = Shown(context.new_page(), tiled)
    one.page.wait_for_timeout(300)
    one.rows().first.click()

    assert [text for text in one.said if not text.startswith("Failed to load resource")] == []
    assert one.popup().locator("h3").text_content() == "A-1 sewer manhole 24 in"
    assert one.page.locator(".leaflet-tile-loaded").count() == 0
    context.close()


CONTROLS = ("Whole job", "More list", "Night", "Show all", "Find", "all legs", "not decided (")


def test_it_prints_the_map_and_the_whole_list(shown: Shown) -> None:
    """Whatever was searched, narrowed or chosen; controls are left out, and all is put back."""
    shown.page.get_by_label("Which things").select_option("in doubt (1)")
    shown.rows().first.click()
    before = shown.page.evaluate("[map_job.getZoom(), document.getElementById('legend').open]")
    pages = pages_of(shown.page.pdf(prefer_css_page_size=True))
    after = shown.page.evaluate("[map_job.getZoom(), document.getElementById('legend').open]")
    text = " ".join(pages)
    found = re.findall(r"(?<!\S)([AB]-\d+)(?= \d+\+\d\d)", " ".join(pages[1:]))

    assert found == list(rows(example_pack())["no"])
    assert "A-7 joined with A-1" in text
    assert " ".join(HOSTILE.split()) in text
    assert all("DRAFT, NOT FOR CUTTING" in page for page in pages)
    assert "CUT TO 113+64.1" in pages[0]
    assert "Look here again" not in text
    assert [words for words in CONTROLS if words in text] == []
    assert after == before
    assert shown.page.locator("body.printing").count() == 0
    assert shown.numbers() == ["A-2"]


def test_it_prints_what_was_asked_for_to_look_again(shown: Shown) -> None:
    """On the superintendent's own print."""
    shown.page.locator("#legend summary").click()
    shown.page.get_by_label("look here again, for who goes out").check()

    assert "Look here again (1)" in " ".join(pages_of(shown.page.pdf()))


def test_it_prints_black_on_white_at_night_too(lit: Shown) -> None:
    """The lines as well, which then stay sharp: no picture of a canvas is printed."""
    lit.page.evaluate(f"""() => window.addEventListener("beforeprint", () => {{
        window.printed = [({PAPER})(), ({LINES})(), document.querySelectorAll("svg path").length];
    }})""")
    night = lit.page.evaluate("() => document.documentElement.dataset.light")
    lit.page.pdf()
    paper, lines, paths = lit.page.evaluate("() => window.printed")

    assert (paper, lines) == ("rgb(255, 255, 255)", True)
    assert paths > 5
    assert lit.page.evaluate("() => document.documentElement.dataset.light") == night


# --- many things ----------------------------------------------------------------------------------


def test_two_thousand_things_stay_small_and_quick(browser: Browser) -> None:
    """Under 1.5 MB; first paint, and map and list drawn, in under a second."""
    found = mapping.measured(browser)

    assert found["bytes"] < 1_500_000
    assert max(ms for pair in found["painted_ms"].values() for ms in pair) < 1000


def test_two_thousand_things_are_all_counted_on_the_map(browser: Browser, busy: Path) -> None:
    """However few signs and plates there is room for; so at another scale, for those in view."""
    context = opened(browser, DESK)
    one = Shown(context.new_page(), busy)
    first, signs = one.counted(), one.page.locator(".sign, .plate").count()
    looked_at(one, "map_job.getCenter()", 17)
    seen = one.page.evaluate("""() => JOB.things.filter(
        (thing) => map_job.getBounds().pad(0.1).contains(thing.at)).length""")
    second = one.counted()
    context.close()

    assert first == mapping.THINGS
    assert signs < 150
    assert one.said == []
    assert 0 < seen == second < mapping.THINGS


def test_no_stop_is_hidden_under_something_milder(browser: Browser, busy: Path) -> None:
    """Wherever a STOP stands among others, its sign is ringed or its plate counts it."""
    context = opened(browser, PHONE)
    one = Shown(context.new_page(), busy)
    stops = one.page.locator(".plate .stops").all_text_contents()
    wanted = one.page.evaluate(
        "() => JOB.things.filter((thing) => thing.stop || thing.undecided).length"
    )
    plain = one.page.locator(".sign").count()
    context.close()

    assert plain == 0
    assert sum(int(text.removesuffix(" STOP")) for text in stops) == wanted


def test_words_on_the_map_do_not_cover_each_other(browser: Browser, busy: Path) -> None:
    """Stations, limits, streets and names, at a few scales."""
    context = opened(browser, DESK)
    one = Shown(context.new_page(), busy)
    overlaps, words = [], 0
    for zoom in (14, 16, 18):
        looked_at(one, "JOB.things[200].at", zoom)
        boxes = one.page.evaluate("""() => [...document.querySelectorAll(".across .words")]
            .map((one) => one.getBoundingClientRect()).map((b) => [b.x, b.y, b.right, b.bottom])""")
        overlaps += [
            (zoom, a, b)
            for a, b in itertools.combinations(boxes, 2)
            if a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
        ]
        words += len(boxes)
    context.close()

    assert words > 10
    assert overlaps == []
