"""What the crew page reckons by itself: places on the kept line, stations, what is ahead."""

import shutil
from collections.abc import Iterator
from dataclasses import replace
from importlib import resources

import numpy as np
import pytest
from maps.example_pack import example_pack
from playwright.sync_api import Browser, Page, sync_playwright
from sheets.made_packs import leg, pack, thing
from strategies import line_from_xy

from routeprep.field.crewlist import crew_list
from routeprep.lines import Centerline, StationEquation
from routeprep.locating import locate, place
from routeprep.shapes import Leg
from routeprep.stationing import along_of

CHROMIUM = shutil.which("chromium")
WEB = resources.files("routeprep.field").joinpath("web")
# A phone on the kept line is placed as the office would place it within this [m a km].
WITHIN_M = 0.5
pytestmark = [
    pytest.mark.proof,
    pytest.mark.skipif(CHROMIUM is None, reason="no program named chromium on the PATH"),
]


@pytest.fixture(scope="module")
def page() -> Iterator[Page]:
    """A page with the two scripts that reckon."""
    with sync_playwright() as playwright:
        browser: Browser = playwright.chromium.launch(
            executable_path=CHROMIUM, args=["--no-sandbox"]
        )
        one = browser.new_page()
        for name in ("crewroad.js", "crewahead.js"):
            one.add_script_tag(content=WEB.joinpath(name).read_text("utf-8"))
        yield one
        browser.close()


def kept(one: Leg) -> dict[str, object]:
    """The leg as the phone keeps it, and what it needs to know of GPS."""
    made = crew_list(pack([thing("A-1", 20.0)], legs=(one,), withdrawn=()))
    return {"leg": made["legs"][0], "list": {**made, "legs": []}}  # type: ignore[index]


def on(line: Centerline) -> Leg:
    """A leg along a line."""
    return replace(leg("A", length_m=line.length_m), line=line)


def bending(length_m: float, *, heading_deg: float) -> Centerline:
    """A bending line of some length."""
    at_m = np.arange(0.0, length_m + 25.0, 25.0)
    heading = np.radians(heading_deg) + 0.6 * np.sin(at_m / 700.0)
    steps = np.column_stack([np.sin(heading), np.cos(heading)])[:-1] * 25.0
    return line_from_xy(np.vstack([[0.0, 0.0], np.cumsum(steps, axis=0)]).tolist())


LINES = {
    "the example's curve": example_pack().legs[0].line,
    "bending north": bending(4000.0, heading_deg=10.0),
    "bending east": bending(4000.0, heading_deg=95.0),
    "one segment of 1 km": line_from_xy([[0.0, 0.0], [700.0, 714.0]]),
    "one segment of 4 km": line_from_xy([[0.0, 0.0], [2800.0, 2856.0]]),
}


@pytest.mark.parametrize("name", LINES)
def test_a_phone_is_placed_where_the_office_would_place_it(page: Page, name: str) -> None:
    """Up to 25 m beside the line and past its ends: within half a metre along and across."""
    line = LINES[name]
    chance = np.random.default_rng(11)
    along_m = chance.uniform(-80.0, line.length_m + 80.0, 200)
    lon_deg, lat_deg = place(line, along_m, chance.uniform(-25.0, 25.0, 200))
    wanted = locate(line, lon_deg, lat_deg)
    points = np.column_stack([lon_deg, lat_deg]).tolist()
    found = page.evaluate(
        "([kept, points]) => points.map(([x, y]) => ROAD.located(kept.leg, x, y, kept.list.gps))",
        [kept(on(line)), points],
    )
    apart_m = np.abs([one["along"] for one in found] - wanted.along_m)
    beside_m = np.abs([one["distance"] for one in found] - wanted.distance_m)
    past_m = np.abs([one["past"] for one in found] - wanted.past_end_m)
    print(f"{name}: along {apart_m.max():.3f} m, beside {beside_m.max():.3f} m at most")  # noqa: T201

    assert apart_m.max() < WITHIN_M
    assert beside_m.max() < WITHIN_M
    assert past_m.max() < WITHIN_M


def test_another_place_that_is_nearly_as_near_is_told(page: Page) -> None:
    """Two arms of a hairpin, 20 m apart; in the middle of a straight there is none."""
    hairpin = line_from_xy([[0.0, 0.0], [0.0, 400.0], [20.0, 400.0], [20.0, 0.0]])
    lon_deg, lat_deg = place(hairpin, np.array([100.0]), np.array([8.0]))
    asked = "([kept, x, y]) => ROAD.located(kept.leg, x, y, kept.list.gps)"
    between = page.evaluate(asked, [kept(on(hairpin)), float(lon_deg[0]), float(lat_deg[0])])
    straight = line_from_xy([[0.0, 0.0], [0.0, 400.0]])
    alone = page.evaluate(asked, [kept(on(straight)), float(lon_deg[0]), float(lat_deg[0])])

    assert between["along"] == pytest.approx(100.0, abs=0.1)
    assert between["other"] == pytest.approx(720.0, abs=0.1)
    assert alone["other"] is None


def typed(page: Page, one: Leg, text: str) -> dict[str, object]:
    """What the page makes of a typed station."""
    found: dict[str, object] = page.evaluate(
        "([kept, text]) => ROAD.typed(kept.leg, text)", [kept(one), text]
    )
    return found


@pytest.mark.parametrize("text", ["12+35", "12+35.5", "1235", " 12 35 ", "10+00", "42+80"])
def test_a_typed_station_is_where_the_office_has_it(page: Page, text: str) -> None:
    """With a plus, with a blank, or the digits alone."""
    written = {"1235": "12+35", " 12 35 ": "12+35"}.get(text, text)
    one = leg("A")
    (found,) = typed(page, one, text)["places"]  # type: ignore[misc]

    assert found["along"] == pytest.approx(along_of(one.stationing, written), abs=0.002)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("9+00", "has no station 9+00"),
        ("99+00", "has no station 99+00"),
        ("12+3", "After the plus come 2 digits, as in 12+35"),
        ("elm", "is no station"),
        ("", "is no station"),
    ],
)
def test_a_station_that_does_not_exist_is_refused_with_the_reason(
    page: Page, text: str, said: str
) -> None:
    """Nothing clamps."""
    found = typed(page, leg("A"), text)

    assert found["places"] == []
    assert said in str(found["why"])


@pytest.mark.parametrize("ahead_value", [1500.0, 2500.0])
def test_a_station_at_an_equation_is_one_two_or_none(page: Page, ahead_value: float) -> None:
    """An overlap has it twice, told apart by BK and AH; a gap has none."""
    plain = leg("A")
    jump = StationEquation(back_value=2000.0, ahead_value=ahead_value)
    one = replace(plain, stationing=replace(plain.stationing, equations=(jump,)))
    asked = "18+00" if ahead_value < 2000.0 else "22+00"
    labels = [place["label"] for place in typed(page, one, asked)["places"]]  # type: ignore[attr-defined]

    if ahead_value < 2000.0:
        (found,) = typed(page, one, "18+00 AH")["places"]  # type: ignore[misc]
        assert labels == ["18+00 BK", "18+00 AH"]
        assert found["along"] == pytest.approx(along_of(one.stationing, "18+00 AH"), abs=0.002)
    else:
        assert labels == []


def test_a_place_is_given_the_station_that_leads_back_to_it(page: Page) -> None:
    """To 5 ft, also near an equation and with a named zero."""
    plain = leg("A")
    jump = StationEquation(back_value=2000.0, ahead_value=1500.0)
    overlap = replace(plain, stationing=replace(plain.stationing, equations=(jump,)))
    for one in (plain, overlap, leg("B", zero="Elm St north curb")):
        along_m = np.linspace(0.0, 1000.0, 101).tolist()
        labels = page.evaluate(
            "([kept, alongs]) => alongs.map((along) => ROAD.station(kept.leg, along))",
            [kept(replace(one, settings=replace(one.settings, code="A"))), along_m],
        )
        back_m = [along_of(one.stationing, label) for label in labels]

        assert np.abs(np.subtract(back_m, along_m)).max() <= 2.5 * 0.3048 + 0.005


# --- what is ahead -------------------------------------------------------------------------------


def ahead(
    page: Page,
    things: list[dict[str, object]],
    along_m: float,
    *,
    travel: int = 1,
    half_m: float = 0.0,
    **more: object,
) -> dict[str, object]:
    """What the page says is ahead of a place."""
    units, done = str(more.get("units", "us")), more.get("done", ())
    made = crew_list(pack(things, legs=(leg("A"),), withdrawn=(), units=units))
    found: dict[str, object] = page.evaluate(
        """([list, travel, along, half, done]) => {
            const leg = list.legs[0];
            const way = leg.ways.find((one) => one.travel === travel);
            const found = AHEAD.ahead({
                list, leg, way, place: { along, half }, done: new Set(done),
            });
            const told = (things) => things.map((one) => [one.no, AHEAD.farTo(list, one)]);
            return {
                cards: told(found.cards), inside: told(found.inside), behind: told(found.behind),
                struck: told(found.struck), more: found.more,
                open: found.open && told([found.open])[0],
                band: found.band && [found.band.text, AHEAD.farTo(list, found.band)],
            };
        }""",
        [made, travel, along_m, half_m, done],
    )
    return found


SIX = [thing(f"A-{k}", 100.0 * k, along_sd_m=0.0) for k in range(1, 7)]


def test_the_next_three_are_told_with_feet_to_25(page: Page) -> None:
    """From 250 m: 50, 150 and 250 m are 164, 492 and 820 ft; down-station the same way."""
    up, down = ahead(page, SIX, 250.0), ahead(page, SIX, 450.0, travel=-1)

    assert up["cards"] == [["A-3", "175 ft"], ["A-4", "500 ft"], ["A-5", "825 ft"]]
    assert down["cards"] == [["A-4", "175 ft"], ["A-3", "500 ft"], ["A-2", "825 ft"]]
    assert (up["more"], down["more"]) == (1, 1)


def test_a_metric_job_says_metres_to_ten(page: Page) -> None:
    """From 246 m: 54, 154 and 254 m."""
    found = ahead(page, SIX, 246.0, units="metric")

    assert [far for _, far in found["cards"]] == ["50 m", "150 m", "250 m"]  # type: ignore[attr-defined]


def test_what_is_at_the_place_is_here(page: Page) -> None:
    """Within 12.5 ft ahead or just passed."""
    assert ahead(page, SIX, 301.0)["cards"][0] == ["A-3", "HERE"]  # type: ignore[index]
    assert ahead(page, SIX, 304.0)["cards"][0] == ["A-4", "325 ft"]  # type: ignore[index]


def test_what_was_passed_within_the_plus_minus_may_still_be_ahead(page: Page) -> None:
    """12 m of GPS and 16 m of the thing are 20 m together."""
    unsure = [thing("A-1", 100.0, along_sd_m=16.0 / 1.96), *SIX[1:]]

    assert ahead(page, unsure, 119.0, half_m=12.0)["behind"] == [["A-1", "HERE"]]
    assert ahead(page, unsure, 121.0, half_m=12.0)["behind"] == []


def test_a_long_thing_is_told_to_where_it_begins_and_while_one_is_in_it(page: Page) -> None:
    """A patch from 150 to 350 m; it never takes the place of one of the three."""
    patch = thing("A-9", 250.0, from_m=150.0, to_m=350.0)
    things = [*SIX, patch]
    before, inside = ahead(page, things, 100.0), ahead(page, things, 210.0)

    assert before["cards"][1] == ["A-9", "175 ft"]  # type: ignore[index]
    assert inside["inside"] == [["A-9", "HERE"]]
    assert [no for no, _ in inside["cards"]] == ["A-3", "A-4", "A-5"]  # type: ignore[attr-defined]
    assert ahead(page, things, 400.5, travel=-1)["cards"][1] == ["A-9", "175 ft"]  # type: ignore[index]


def test_what_is_ticked_stays_and_the_next_that_is_not_is_told(page: Page) -> None:
    """Nothing is hidden because it is ticked."""
    done = tuple(f"anchor A-{k}" for k in range(3, 6))
    found = ahead(page, SIX, 250.0, done=done)

    assert [no for no, _ in found["cards"]] == ["A-3", "A-4", "A-5"]  # type: ignore[attr-defined]
    assert found["open"] == ["A-6", "1,150 ft"]
    assert ahead(page, SIX, 250.0)["open"] is None


def test_what_is_gone_takes_no_card_and_is_still_told(page: Page) -> None:
    """Struck through, between those that stand."""
    gone = thing("A-9", 350.0, status="gone (J. Doe, 2026-05-30)")
    found = ahead(page, [*SIX, gone], 250.0)

    assert [no for no, _ in found["cards"]] == ["A-3", "A-4", "A-5"]  # type: ignore[attr-defined]
    assert [no for no, _ in found["struck"]] == ["A-9"]  # type: ignore[attr-defined]


def test_the_end_of_the_cut_is_told_and_after_it_nothing(page: Page) -> None:
    """1000 m are 42+81; from 900 m it is 328 ft."""
    found = ahead(page, SIX, 900.0)

    assert found["cards"] == []
    assert found["band"] == ["CUT ENDS 42+80.8", "325 ft"]
    assert ahead(page, SIX, 1010.0)["band"] is None
