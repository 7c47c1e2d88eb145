"""One leg of the job file."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routeprep.lines import StationEquation
from routeprep.readers.jobleg import LineFile, read_leg
from routeprep.readers.tomltable import TomlTable
from routeprep.shapes import TieSettings
from routeprep.units import to_m

TIE = {
    "station": "12+00", "lon_deg": -96.1, "lat_deg": 41.2, "by": "culvert", "kind": "plan",
}  # fmt: skip
GOOD = {"code": "A", "name": "Elm St", "start": "10+00", "start_near": [-96.1, 41.2]}


def read(units="us", **values):
    """A leg, the file of its line, and what is wrong."""
    faults = []
    leg, line = read_leg(
        TomlTable(values=GOOD | values, where="[[leg]] 1", faults=faults), units=units
    )
    return leg, line, faults


def test_a_plain_name_is_a_file_without_condition() -> None:
    """The short way to name a centerline."""
    assert read(centerline="elm.geojson")[1] == LineFile("elm.geojson", "", "")
    assert read(centerline="")[1] is None


def test_a_named_zero_has_no_plan_station() -> None:
    """From and to count from it."""
    leg, _, faults = read(start="", zero="curb", **{"from": "0+30"})

    assert faults == []
    assert leg is not None
    assert math.isnan(leg.start_value)
    assert leg.from_station == "0+30"


def test_faults_keep_the_leg_out() -> None:
    """A leg with a fault is no leg, and the fault names it."""
    leg, _, faults = read(lanes_left="two")

    assert leg is None
    assert faults == ["[[leg]] A: lanes_left is 'two'; expected a whole number, 0 or more"]


@given(st.floats(-400, 20_000), st.floats(1, 30))
def test_metric_lengths_are_taken_as_they_are(elevation_m: float, width_m: float) -> None:
    """No factor touches a metre; below sea level is a height too."""
    leg, _, faults = read("metric", start="1+000", elevation_m=elevation_m, lane_width_m=width_m)

    assert faults == []
    assert leg is not None
    assert (leg.elevation_m, leg.lane_width_m) == (elevation_m, width_m)


def test_an_alignment_is_named_with_its_coordinate_system() -> None:
    """The name picks it from its file, the system goes to the leg."""
    given = {"file": "plans.xml", "name": "MAIN ST", "crs": "EPSG:2927"}
    leg, line, faults = read(centerline=given)

    assert faults == []
    assert leg is not None
    assert (line, leg.crs) == (LineFile("plans.xml", "", "MAIN ST"), "EPSG:2927")


@pytest.mark.parametrize(("given", "said"), [({}, False), ({"unit": "100 ftUS"}, True)])
def test_a_leg_knows_whether_its_unit_was_given(given: dict[str, str], *, said: bool) -> None:
    """An alignment's own unit goes before one that nobody named."""
    leg, _, _ = read(**given)

    assert leg is not None
    assert leg.unit_said == said


@pytest.mark.parametrize("more", [{"centerline": "plans.xml"}, {"ties": [TIE]}])
def test_a_file_or_ties_may_bring_the_stations(more: dict[str, object]) -> None:
    """Then start and zero may both be left out."""
    leg, _, faults = read(start="", **more)

    assert faults == []
    assert leg is not None
    assert math.isnan(leg.start_value)


def test_limits_may_say_their_region() -> None:
    """As the sheet prints it."""
    leg, _, faults = read(**{"from": "13+00 BK", "to": "13+00 region 2"})

    assert faults == []
    assert leg is not None
    assert (leg.from_station, leg.to_station) == ("13+00 BK", "13+00 region 2")


def test_equations_and_ties_are_read() -> None:
    """Station values for equations, labels for ties."""
    forced = TIE | {"station": "13+00 AH", "kind": "wheel", "forced_by": "J. Doe"}
    marker = TIE | {"station": "MM 14", "kind": "mile marker"}
    leg, _, faults = read(
        equations=[{"back": "25+43.20", "ahead": "30+67.43"}], ties=[TIE, forced, marker]
    )

    assert faults == []
    assert leg is not None
    assert leg.equations == (StationEquation(back_value=2543.2, ahead_value=3067.43),)
    assert leg.ties[0] == TieSettings(
        station="12+00", lon_deg=-96.1, lat_deg=41.2, kind="plan", by="culvert", forced_by=""
    )
    assert [(one.station, one.kind, one.forced_by) for one in leg.ties[1:]] == [
        ("13+00 AH", "wheel", "J. Doe"), ("MM 14", "mile marker", ""),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("units", "values", "speed_mps", "clear_m", "elevations"),
    [
        (
            "us",
            {"posted_mph": 45, "sight_clearance_ft": 20,
             "elevations": [{"station": "12+00", "elevation_ft": 1000}]},
            45 * 0.44704, 20 * 0.3048, (("12+00", 304.8),),
        ),
        (
            "metric",
            {"posted_kmh": 72, "sight_clearance_m": 6, "start": "1+000",
             "elevations": [{"station": "1+200", "elevation_m": -2.5}]},
            20.0, 6.0, (("1+200", -2.5),),
        ),
    ],
)  # fmt: skip
def test_speed_sight_and_elevations(units, values, speed_mps, clear_m, elevations) -> None:
    """In the units of the job; 1 mph is 0.44704 m/s exactly."""
    leg, _, faults = read(units, lane_driven=2, **values)

    assert faults == []
    assert leg is not None
    assert (leg.posted_mps, leg.sight_clearance_m) == pytest.approx((speed_mps, clear_m))
    assert (leg.elevations, leg.lane_driven) == (elevations, 2)


@pytest.mark.parametrize(
    ("values", "fault"),
    [
        ({"start": "", "zero": ""}, "neither is given: give start"),
        ({"zero": "curb"}, "both are given: give start"),
        ({"from": "13+00 XX"}, "from: '13+00 XX' is not a station of the 100 ft kind"),
        (
            {"from": "-0+020"},
            "after the plus); if stations are written so, give the leg unit = '1000 m'",
        ),
        (
            {"centerline": {"file": "a.xml", "where": "b = 1", "name": "c"}},
            "centerline: where is 'b = 1' and name is 'c'; give where for features",
        ),
        ({"equations": 5}, 'equations is 5; expected a list such as [{ back = "25+43.20"'),
        ({"equations": [5]}, "equations is [5]; expected a list such as"),
        ({"equations": [{"back": "1+00"}]}, "equations 1: ahead is missing; give it a text"),
        (
            {"equations": [{"back": "1+0", "ahead": "2+00"}]},
            "equations 1: back: '1+0' is not a station of the 100 ft kind",
        ),
        (
            {"equations": [{"back": "1+00", "ahead": "1+00"}]},
            "equations 1: back and ahead are both 1+00; expected two stations",
        ),
        (
            {"equations": [{"back": "5+00", "ahead": "9+00"}, {"back": "9+00", "ahead": "1+00"}]},
            "equations 2: back is 9+00, not beyond the ahead station of the equation before",
        ),
        (
            {"equations": [{"back": "5+00", "ahead": "9+00", "at": 1}]},
            "equations 1: key 'at' is not known",
        ),
        ({"ties": "x"}, "ties is 'x'; expected a list such as [{ station ="),
        ({"ties": [TIE | {"kind": "stake"}]}, "ties 1: kind is 'stake'; expected one of 'plan'"),
        ({"ties": [TIE | {"kind": ""}]}, "ties 1: kind is missing; give it a text"),
        ({"ties": [TIE | {"by": ""}]}, "ties 1: by is missing; give it a text"),
        ({"ties": [TIE | {"station": ""}]}, "ties 1: station is missing; give it a text"),
        ({"ties": [TIE | {"station": "12"}]}, "ties 1: station: '12' is not a station"),
        (
            {"ties": [TIE | {"kind": "mile marker", "station": "12+00"}]},
            "ties 1: station is '12+00'; expected the number on the mile marker, such as '14'",
        ),
        ({"ties": [TIE, TIE | {"lat_deg": 91}]}, "ties 2: lat_deg is 91; expected degrees from"),
        ({"ties": [TIE | {"lon_deg": "x"}]}, "ties 1: lon_deg is 'x'; expected a number"),
        ({"ties": [{**TIE, "where": 1}]}, "ties 1: key 'where' is not known"),
        (
            {"ties": [{key: TIE[key] for key in TIE if key != "lon_deg"}]},
            "ties 1: lon_deg is missing; give it in degrees",
        ),
        ({"elevations": [{"elevation_ft": 5}]}, "elevations 1: station is missing"),
        (
            {"elevations": [{"station": "12+00"}]},
            "elevations 1: elevation_ft is missing; give the height of the road there",
        ),
        (
            {"elevations": [{"station": "12+00", "elevation_m": 5, "elevation_ft": 1}]},
            "elevations 1: elevation_m is not for a job with units 'us'; give elevation_ft",
        ),
        ({"posted_kmh": 50}, "posted_kmh is not for a job with units 'us'; give posted_mph"),
        ({"posted_mph": 0}, "posted_mph is 0; expected more than 0"),
        ({"sight_clearance_ft": -1}, "sight_clearance_ft is -1; expected more than 0"),
        ({"lane_driven": -1}, "lane_driven is -1; expected a whole number, 0 or more"),
    ],
)
def test_each_fault_names_its_key_and_value(values: dict[str, object], fault: str) -> None:
    """One sentence, with what is expected."""
    leg, _, faults = read(**values)

    assert leg is None
    assert [one for one in faults if fault in one] == faults
    assert len(faults) == 1


def test_equations_from_a_named_zero_are_a_fault() -> None:
    """They are of plan stations."""
    leg, _, faults = read(start="", zero="curb", equations=[{"back": "5+00", "ahead": "9+00"}])

    assert leg is None
    assert "1 station equations stand with the zero 'curb'" in faults[0]


@given(st.floats(0.1, 500.0))
def test_a_sight_clearance_is_exact(clear_ft: float) -> None:
    """International feet."""
    leg, _, _ = read(sight_clearance_ft=clear_ft)

    assert leg is not None
    assert leg.sight_clearance_m == to_m(clear_ft, "ft")
