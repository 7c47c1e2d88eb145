"""The data of the map: lines, ticks, limits and what a sign shows."""

import dataclasses
import json
from importlib import resources

import numpy as np
import pytest
from maps.example_pack import (
    KINDS,
    example_legs,
    example_pack,
    example_settings,
    leg,
    pack_of,
    thing,
)

from routeprep import tables
from routeprep.geodesy import segment_lengths_m
from routeprep.kinds import GROUPS
from routeprep.lines import StationEquation
from routeprep.maps.payload import payload
from routeprep.stationing import along_at
from routeprep.units import parse_station


def unpacked(steps: list[int]) -> np.ndarray:
    """Latitude and longitude of a packed line [deg], as the script unpacks it."""
    return np.cumsum(np.array(steps).reshape(-1, 2), axis=0) / 1e6


def straight(**more: object) -> object:
    """A leg due east, about 1.68 km."""
    return leg("A", "Example Road", [-96.1, -96.09, -96.08], [41.2, 41.2, 41.2], **more)


def test_payload_is_json() -> None:
    """No value is a number that JSON cannot hold."""
    assert json.loads(json.dumps(payload(example_pack()), allow_nan=False))


def test_centerline_is_drawn_where_it_is() -> None:
    """The packed line ends where the centerline ends, within a micro-degree."""
    road, side = example_legs()
    first = payload(example_pack())["legs"][0]
    line = unpacked(first["line"])

    assert line[0] == pytest.approx([road.line.lat_deg[0], road.line.lon_deg[0]], abs=1e-6)
    assert line[-1] == pytest.approx([road.line.lat_deg[-1], road.line.lon_deg[-1]], abs=1e-6)
    assert not first["path_driven"]
    assert payload(example_pack())["legs"][1]["path_driven"] == (side.line.made_from != "file")


def test_cut_is_as_long_as_its_limits_say() -> None:
    """The drawn cut's length on the ground is to - from, within 1 m."""
    road = straight()
    cut = unpacked(payload(pack_of((road,), []))["legs"][0]["cut"])
    length_m = segment_lengths_m(cut[:, 1], cut[:, 0], elevation_m=360.0).sum()

    assert length_m == pytest.approx(road.to_m - road.from_m, abs=1.0)


def test_ticks_stand_each_500_ft_at_their_station() -> None:
    """Labels are whole 500 ft, and each stands where its station is."""
    road = straight()
    ticks = payload(pack_of((road,), []))["legs"][0]["ticks"]

    assert [tick["text"] for tick in ticks][:3] == ["10+00", "15+00", "20+00"]
    assert [tick["bearing"] for tick in ticks] == pytest.approx([90.0] * len(ticks), abs=0.1)
    for tick in ticks:
        along_m = along_at(road.stationing, parse_station(tick["text"], road.stationing.unit))
        start = np.array([road.line.lon_deg[0], tick["at"][1]])
        walked_m = segment_lengths_m(start, np.full(2, 41.2), elevation_m=360.0)[0]
        assert walked_m == pytest.approx(along_m, abs=0.2)


def test_ticks_of_a_metric_leg_stand_each_100_m() -> None:
    """A leg in units of 1000 m has a tick each 100 m."""
    ticks = payload(pack_of((straight(unit="1000 m"),), []))["legs"][0]["ticks"]

    assert [tick["text"] for tick in ticks][:3] == ["1+000", "1+100", "1+200"]


@pytest.mark.parametrize(
    ("ahead", "texts"),
    [
        (3000.0, ["10+00", "15+00", "20+00", "30+00", "35+00"]),
        (1500.0, ["10+00", "15+00 BK", "20+00 BK", "15+00 AH", "20+00 AH", "25+00 AH", "30+00"]),
    ],
)
def test_ticks_stand_only_at_stations_that_exist(ahead: float, texts: list[str]) -> None:
    """25+00 BK = 30+00 AH has no tick in its gap; in an overlap each says its region."""
    road = straight()
    equations = (StationEquation(back_value=2500.0, ahead_value=ahead),)
    stationing = dataclasses.replace(
        road.stationing, equations=equations, length_m=road.line.length_m
    )
    ticks = payload(pack_of((dataclasses.replace(road, stationing=stationing),), []))["legs"][0][
        "ticks"
    ]

    assert [tick["text"] for tick in ticks][: len(texts)] == texts
    assert {tick["count"] * 5 for tick in ticks} == {
        int(tick["text"].partition("+")[0]) for tick in ticks
    }


def test_a_designed_alignment_is_no_path_driven() -> None:
    """Only what drives made is drawn as such."""
    road = straight(made_from="designed alignment")

    assert not payload(pack_of((road,), []))["legs"][0]["path_driven"]


def test_a_designed_alignment_is_called_so() -> None:
    """Its stations are the plan's; no other line's are."""
    made = [straight(made_from=how) for how in ("designed alignment", "file", "path driven")]
    shown = [payload(pack_of((road,), []))["legs"][0] for road in made]

    assert [leg["designed"] for leg in shown] == [True, False, False]


def test_what_was_poorly_looked_at_is_drawn_and_said() -> None:
    """Its stretch of the line, a place in its middle, and why; only within the cut."""
    road, side = example_legs()
    first, second = payload(example_pack())["poor"]
    span = unpacked(first["span"])
    length_m = segment_lengths_m(span[:, 1], span[:, 0], elevation_m=360.0).sum()

    assert length_m == pytest.approx(400.0, abs=1.0)
    assert first["at"] == pytest.approx(
        [np.interp(1200.0, road.line.along_m, at) for at in (road.line.lat_deg, road.line.lon_deg)],
        abs=1e-6,
    )
    assert (first["leg"], first["why"]) == ("A", "not driven")
    assert first["stretch"] == "42+80 to 55+95"
    assert second["stretch"] == "0+98.4 to 16+40 from ELM N CURB"
    assert unpacked(second["span"])[0][0] > side.line.lat_deg[0]


def test_a_job_looked_at_well_draws_no_band() -> None:
    """Nothing poor, nothing drawn."""
    assert payload(pack_of((straight(),), []))["poor"] == []


def test_a_thing_reads_from_the_mile_marker_before_it() -> None:
    """For who calls for help; nothing where no marker is known."""
    road = straight()
    marked = dataclasses.replace(road, markers=((20.0, 14.0),))
    shown = [
        payload(pack_of((one,), [thing(road, "A-1", "SMH", 117.5)]))["things"][0]["reference"]
        for one in (marked, road)
    ]

    assert shown == ["MM 14 + 320 ft", ""]


def test_leg_with_a_zero_names_it_at_each_tick() -> None:
    """Its labels never look like plan stations."""
    ticks = payload(pack_of((straight(zero="ELM N CURB"),), []))["legs"][0]["ticks"]

    assert {tick["zero"] for tick in ticks} == {"from ELM N CURB"}


def test_limit_beyond_the_line_is_said_but_not_drawn() -> None:
    """Nothing is moved to the line's end in silence."""
    road = straight()
    beyond = type(road)(
        settings=road.settings,
        line=road.line,
        stationing=road.stationing,
        from_m=-10.0,
        to_m=500.0,
    )
    shown = payload(pack_of((beyond,), []))["legs"][0]

    assert [limit["text"] for limit in shown["limits"]] == ["CUT TO 26+40.4"]
    assert shown["cut_from"] == "9+67.2"


@pytest.mark.parametrize(
    ("more", "ringed", "hollow", "broken", "struck"),
    [
        ({}, True, False, False, False),
        ({"decided_by": "A. Sample"}, False, False, False, False),
        ({"decided_by": "A. Sample", "action": "STOP"}, True, False, False, False),
        ({"decided_by": "x", "status": "in a file, not seen"}, False, True, False, False),
        ({"decided_by": "x", "doubt": "near tie; lane not sure"}, False, False, True, False),
        ({"status": "gone (A. Sample, 2026-05-30)"}, False, False, False, True),
    ],
)
def test_sign_shows_stop_source_lane_and_gone(
    more: dict[str, object], *, ringed: bool, hollow: bool, broken: bool, struck: bool
) -> None:
    """Ring: stop or not decided; hollow: in a file; broken: lane not sure; struck: gone."""
    road = straight()
    shown = payload(pack_of((road,), [thing(road, "A-1", "SMH", 50.0, **more)]))["things"][0]

    assert (ringed, hollow, broken, struck) == (
        shown["ringed"],
        shown["hollow"],
        shown["broken"],
        shown["struck"],
    )


def test_each_group_has_its_own_shape_number() -> None:
    """The number of the shape is the group's place in the list of groups."""
    road = straight()
    things = [thing(road, f"A-{i}", code, 10.0 * i) for i, code in enumerate(KINDS.kinds)]
    shown = payload(pack_of((road,), things))
    groups = [shown["groups"][item["group"]] for item in shown["things"]]

    assert groups == [k.group for k in KINDS.kinds.values()]


def test_each_group_that_is_drawn_has_a_shape() -> None:
    """The script has a shape for every group but those whose marks are no things."""
    script = resources.files("routeprep.maps").joinpath("symbols.js").read_text("utf-8")
    groups = payload(pack_of((straight(),), []))["groups"]

    assert script.count("drop: ") == len(groups)
    assert set(GROUPS) - set(groups) == {"stations", "what hid the road"}


@pytest.mark.parametrize(
    ("height_m", "height_by", "units", "expected"),
    [
        (4.4196, "posted", "us", "14 ft 6 in, posted"),
        (4.4449, "measured", "us", "14 ft 6 in, measured"),
        (4.4196, "measured", "metric", "4.41 m, measured"),
        (4.4196, "guess", "us", "only guessed: have it measured"),
        (float("nan"), "", "us", ""),
    ],
)
def test_height_is_never_rounded_up_and_a_guess_is_no_number(
    height_m: float, height_by: str, units: str, expected: str
) -> None:
    """A height shows with how it is known, cut down to the inch or the centimetre."""
    road = straight()
    wire = thing(road, "A-1", "WIRE", 50.0, height_m=height_m, height_by=height_by)
    pack = pack_of((road,), [wire], settings=example_settings((road,), units=units))

    assert expected == payload(pack)["things"][0]["height"]


def test_stretch_is_drawn_along_the_line() -> None:
    """A thing with a from and a to has both, and the piece of line between them."""
    road = straight()
    hump = thing(road, "A-1", "HUMP", 50.0, from_m=40.0, to_m=60.0)
    shown = payload(pack_of((road,), [hump]))["things"][0]
    span = unpacked(shown["span"])
    length_m = segment_lengths_m(span[:, 1], span[:, 0], elevation_m=360.0).sum()

    assert shown["stretch"] == "11+31.2 to 11+96.9"
    assert length_m == pytest.approx(20.0, abs=0.3)


def test_long_drives_are_thinned() -> None:
    """However many fixes there are, drives are drawn with 20,000 vertices at most."""
    road = straight()
    wild = np.random.default_rng(7).uniform(-0.01, 0.01, (60_000, 2))
    fixes = tables.table(
        tables.FIXES,
        [
            {"drive_id": "d", "piece": 0, "lon_deg": -96.09 + x, "lat_deg": 41.2 + y}
            for x, y in wild.tolist()
        ],
    )
    drives = payload(pack_of((road,), [], fixes=fixes))["drives"]

    assert 0 < sum(map(len, drives)) <= 2 * 20_000


def test_drives_break_where_reception_broke() -> None:
    """Pieces of a drive are not joined."""
    assert len(payload(example_pack())["drives"]) == 2


def test_whole_job_holds_every_leg_and_thing() -> None:
    """A thing far from the line widens the first view."""
    road = straight()
    far = thing(road, "A-1", "SMH", 50.0, lon_deg=-96.2, lat_deg=41.3)

    assert payload(pack_of((road,), []))["bounds"] == [[41.2, -96.1], [41.2, -96.08]]
    assert payload(pack_of((road,), [far]))["bounds"] == [[41.2, -96.2], [41.3, -96.08]]


def test_unsorted_mark_without_a_place_is_listed() -> None:
    """Nothing is dropped for want of a position."""
    unsorted = payload(example_pack())["unsorted"]

    assert [item["at"] for item in unsorted] == [[41.206, -96.09], []]
