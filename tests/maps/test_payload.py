"""The data of the map: what a sign shows, the list from top to bottom, what is left over."""

import dataclasses
import json
from importlib import resources

import numpy as np
import pandas as pd
import pytest
from maps.example_pack import (
    KINDS,
    example_legs,
    example_pack,
    example_settings,
    leg,
    pack_of,
    thing,
    things_of,
)
from sheets.made_plans import plan, planned, run

from routeprep import tables
from routeprep.briefing import Briefing, Tiles
from routeprep.geodesy import segment_lengths_m
from routeprep.kinds import GROUPS
from routeprep.maps.payload import payload
from routeprep.streets import Landmark


def unpacked(steps: list[int]) -> np.ndarray:
    """Latitude and longitude of a packed line [deg], as the script unpacks it."""
    return np.cumsum(np.array(steps).reshape(-1, 2), axis=0) / 1e6


def straight(**more: object) -> object:
    """A leg due east, about 1.68 km."""
    return leg("A", "Example Road", [-96.1, -96.09, -96.08], [41.2, 41.2, 41.2], **more)


def only(road: object, one: dict[str, object], **more: object) -> dict[str, object]:
    """What the map has of the one thing of a job."""
    (shown,) = things_of(payload(pack_of((road,), [one], **more)))
    return shown


def crossed(*names_m: tuple[str, float], **more: object) -> object:
    """The straight leg with streets that cross it."""
    marks = tuple(
        Landmark(name=name, along_m=along_m, side="", source="streets.osm", credit="Mapper")
        for name, along_m in names_m
    )
    return dataclasses.replace(straight(), landmarks=marks, **more)


def test_payload_is_json() -> None:
    """No value is a number that JSON cannot hold."""
    assert json.loads(json.dumps(payload(example_pack()), allow_nan=False))


def test_a_job_without_things_is_one_too() -> None:
    """Nothing is listed, nothing breaks."""
    assert payload(pack_of((straight(),), []))["things"] == {"names": [], "rows": []}


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


def search(*rows: dict[str, object]) -> pd.DataFrame:
    """A list of places to look again."""
    base = {"leg": "A", "what": "water valve", "why": "in a file, not seen", "lon_deg": -96.09}
    return tables.table(tables.SEARCH, [base | {"lat_deg": 41.2} | row for row in rows])


def test_a_place_to_look_again_says_where_and_why() -> None:
    """A point with its station to 5 ft; a stretch with both its ends and its line."""
    point = {"from_m": 120.0, "to_m": 120.0, "along_m": 120.0, "side": "R", "owner": "the city"}
    long = {"from_m": 200.0, "to_m": 400.0, "along_m": 300.0, "no": "A-3"}
    first, second = payload(pack_of((straight(),), [], search=search(point, long)))["look"]

    assert (first["station"], first["side"], first["owner"]) == ("13+95", "right side", "the city")
    assert first["span"] == []
    assert (second["station"], second["no"]) == ("16+55 to 23+10", "A-3")
    assert unpacked(second["span"])[0][1] < unpacked(second["span"])[-1][1]


def test_a_place_to_look_again_names_its_zero() -> None:
    """As every station of a leg without plan stations."""
    point = {"from_m": 120.0, "to_m": 120.0, "along_m": 120.0}
    pack = pack_of((straight(zero="ELM N CURB"),), [], search=search(point))

    assert payload(pack)["look"][0]["station"] == "3+95 from ELM N CURB"


def test_a_thing_reads_from_the_mile_marker_before_it() -> None:
    """For who calls for help; nothing where no marker is known."""
    road = straight()
    marked = dataclasses.replace(road, markers=((20.0, 14.0),))
    shown = [only(one, thing(road, "A-1", "SMH", 117.5))["reference"] for one in (marked, road)]

    assert shown == ["MM 14 + 320 ft", ""]


def test_a_thing_reads_from_the_last_cross_street() -> None:
    """As on the sheet; 304.8 m to 335.28 m is 100 ft."""
    road = crossed(("Elm St", 304.8))

    assert only(road, thing(road, "A-1", "SMH", 335.28))["landmark"] == "100 ft past Elm St"


def test_the_list_has_cross_streets_and_withdrawn_numbers_in_their_order() -> None:
    """A street where it is met, a number before the first thing with a higher one."""
    road = crossed(("Elm St", 50.0), ("Oak St", 150.0))
    things = [thing(road, "A-1", "SMH", 40.0), thing(road, "A-10", "WV", 90.0)]
    gone = pd.DataFrame(
        {
            "no": ["A-11", "A-9", "A-2"],
            "leg": "A",
            "why": ["removed", "joined with A-10", "removed"],
        },
        dtype="str",
    )
    (shown,) = payload(pack_of((road,), things, withdrawn=gone))["legs"]

    assert shown["entries"] == [
        ["thing", 0],
        ["landmark", 0],
        ["withdrawn", "A-2", "removed"],
        ["withdrawn", "A-9", "joined with A-10"],
        ["thing", 1],
        ["landmark", 1],
        ["withdrawn", "A-11", "removed"],
    ]


def test_a_withdrawn_number_of_a_leg_that_is_gone_is_not_lost() -> None:
    """It stands after the list."""
    gone = pd.DataFrame({"no": ["Z-1"], "leg": ["Z"], "why": ["removed"]}, dtype="str")

    assert payload(pack_of((straight(),), [], withdrawn=gone))["withdrawn"] == [
        {"no": "Z-1", "why": "removed"}
    ]


def test_every_entry_of_every_leg_is_one_thing() -> None:
    """Each thing stands once in its own leg's list, in the order of the sheet."""
    shown = payload(example_pack())
    counts = [
        [which for what, which, *_ in one["entries"] if what == "thing"] for one in shown["legs"]
    ]

    assert counts == [list(range(6)), [0]]
    assert [one["leg"] for one in things_of(shown)] == ["A"] * 6 + ["B"]


@pytest.mark.parametrize(
    ("more", "state"),
    [
        ({}, {"undecided"}),
        ({"decided_by": "A. Sample"}, set()),
        ({"decided_by": "A. Sample", "action": "STOP"}, {"stop"}),
        ({"decided_by": "x", "status": "in a file, not seen"}, {"hollow"}),
        ({"decided_by": "x", "doubt": "near tie; lane not sure"}, {"broken"}),
        ({"decided_by": "x", "status": "lowered 4 in (x, 2026-05-30)"}, {"lowered"}),
        ({"status": "gone (A. Sample, 2026-05-30)"}, {"struck"}),
        ({"status": "gone (x)", "decided_by": "x", "action": "STOP"}, {"struck"}),
    ],
)
def test_a_sign_shows_stop_source_lane_lowered_and_gone(
    more: dict[str, object], state: set[str]
) -> None:
    """What is gone stops nobody and needs no decision."""
    road = straight()
    shown = only(road, thing(road, "A-1", "SMH", 50.0, **more))
    states = ("stop", "undecided", "hollow", "broken", "lowered", "struck")

    assert state == {name for name in states if shown[name]}


def test_each_group_has_its_own_shape_number() -> None:
    """The number of the shape is the group's place in the list of groups."""
    road = straight()
    things = [thing(road, f"A-{i}", code, 10.0 * i) for i, code in enumerate(KINDS.kinds)]
    shown = payload(pack_of((road,), things))
    groups = [shown["groups"][item["group"]] for item in things_of(shown)]

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

    assert expected == only(road, wire, settings=example_settings((road,), units=units))["height"]


def test_stretch_is_drawn_along_the_line() -> None:
    """A thing with a from and a to has both, rounded away from it, and the line between them."""
    road = straight()
    shown = only(road, thing(road, "A-1", "HUMP", 50.0, from_m=40.0, to_m=60.0))
    span = unpacked(shown["span"])
    length_m = segment_lengths_m(span[:, 1], span[:, 0], elevation_m=360.0).sum()

    assert shown["stretch"] == "11+30 to 12+00"
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


def test_what_is_left_off_is_counted_by_file_and_reason() -> None:
    """A city's file may hold thousands that are on no leg: all are counted, the first named."""
    far = pd.DataFrame(
        {"id": [f"r-{i}" for i in range(5000)], "name": [f"WV-{i}" for i in range(5000)],
         "source": "covers.geojson", "why": ["on no leg"] * 4999 + ["kind not understood"]},
        dtype="str",
    )  # fmt: skip
    second, first = payload(pack_of((straight(),), [], elsewhere=far))["elsewhere"]

    assert (first["why"], first["count"], len(first["names"])) == ("on no leg", 4999, 100)
    assert (second["why"], second["names"]) == ("kind not understood", ["WV-4999"])


def test_whoever_made_the_street_map_is_named_once() -> None:
    """However many of its streets are landmarks; nobody where there is none."""
    road = crossed(("Elm St", 50.0), ("Oak St", 150.0))

    assert payload(pack_of((road,), []))["credits"] == ["Mapper"]
    assert payload(pack_of((straight(),), []))["credits"] == []


def test_the_shift_is_dated_as_on_the_sheet() -> None:
    """A night has two dates."""
    road = straight()
    night = example_settings((road,), briefing=Briefing(night=True))

    assert payload(pack_of((road,), [], settings=night))["job"]["shift"] == (
        "NIGHT OF MON 1 → TUE 2 JUN 2026"
    )


def test_tiles_are_those_of_the_job_or_none() -> None:
    """No address at all where the job names none."""
    road = straight()
    tiles = Tiles(address="https://tiles.example/{z}/{x}/{y}.png", credit="Example")
    named = example_settings((road,), tiles=tiles)

    assert payload(pack_of((road,), []))["tiles"] is None
    assert payload(pack_of((road,), [], settings=named))["tiles"] == {
        "address": "https://tiles.example/{z}/{x}/{y}.png", "credit": "Example",
    }  # fmt: skip


def test_passes_are_outlines_with_their_words() -> None:
    """Three passes: an outline that is closed, what each is called and which way it is run."""
    first, second, third = payload(planned())["passes"]
    ring = unpacked(first["ring"])

    assert (first["words"], first["way"]) == ("INSIDE HALF, pass A R1", "stations count up")
    assert (second["against"], second["way"]) == (1, "stations count down")
    assert (third["leg"], first["against"]) == ("B", 0)
    assert ring[0].tolist() == ring[-1].tolist()


def test_names_of_passes_may_stand_all_along_their_middle() -> None:
    """Each 25 m of 1000 m, south of a line to the east; one for what is shorter."""
    first, *_ = payload(planned())["passes"]
    short = run(along_m=np.array([0.0, 10.0]))
    (only_one,) = payload(planned(plan(passes=(short,), meetings=())))["passes"]

    assert len(first["names"]) == 40
    assert all(lat < 41.2 for lat, _ in first["names"])
    assert len(only_one["names"]) == 1


def test_a_job_without_a_machine_draws_no_passes() -> None:
    """An empty list."""
    assert payload(example_pack())["passes"] == []
