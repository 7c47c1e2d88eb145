"""The road across, the machines and the haul of a job file."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routeprep.readers.jobwork import read_haul, read_machines, read_sections
from routeprep.readers.tomltable import TomlTable
from routeprep.roadway import PARTS, Haul, RoadPart, Section
from routeprep.units import to_m

BIG = {"name": "one", "drum_ft": 7.25}


def table(values, where="[[leg]] A"):
    """A table and the faults that it gathers."""
    return TomlTable(values=values, where=where, faults=[])


def sections(*rows, units="us"):
    """Sections, and what is wrong with them."""
    leg = table({"section": list(rows)})
    return read_sections(leg, units=units), leg.faults


def machines(*rows, units="us"):
    """Machines, and what is wrong with them."""
    top = table({"machine": list(rows)}, where="")
    return read_machines(top, units=units), top.faults


def haul(units="us", **values):
    """The haul, and what is wrong with it."""
    one = table(values, where="[haul]")
    return read_haul(one, units=units), one.faults


def test_a_section_is_read_in_feet_and_inches() -> None:
    """From the line outward; what is left out is as usual."""
    parking = {
        "what": "parking", "width_ft": 0, "width_end_ft": 8, "cut": False, "depth_in_in": 2,
        "depth_out_in": 0,
    }  # fmt: skip
    (got,), faults = sections(
        {
            "from": "12+00", "to": "20+00", "edge_right": "curb", "traffic": "up",
            "run_right": "down", "right": [{"what": "lane", "width_ft": 12}, parking],
            "left": [{"what": "turn lane", "width_ft": 6, "over_line": True}],
        }
    )  # fmt: skip

    assert faults == []
    assert (got.from_station, got.to_station) == ("12+00", "20+00")
    assert (got.edge_left, got.edge_right, got.traffic) == ("", "curb", "up")
    assert (got.run_left, got.run_right) == ("", "down")
    assert got.right[1] == RoadPart(
        what="parking", width_m=0.0, width_end_m=to_m(8, "ft"), cut=False,
        depth_in_m=to_m(2, "in"), depth_out_m=0.0,
    )  # fmt: skip
    assert got.right[0].width_end_m == got.right[0].width_m == to_m(12, "ft")
    assert got.right[0].cut
    assert math.isnan(got.right[0].depth_in_m)
    assert (got.left[0].over_line, got.right[0].over_line) == (True, False)


@given(st.sampled_from(PARTS), st.floats(0, 30), st.floats(0, 400))
def test_metres_and_millimetres_are_taken_as_they_are(what: str, wide: float, deep: float) -> None:
    """A thousandth of the millimetres, and no factor for metres."""
    row = {"left": [{"what": what, "width_m": wide, "depth_in_mm": deep}]}
    (got,), faults = sections(row, units="metric")

    assert faults == []
    assert got.left[0].width_m == wide
    assert got.left[0].depth_in_m == pytest.approx(deep / 1000)


def test_no_section_is_no_fault() -> None:
    """The lanes are all there is."""
    assert read_sections(table({}), units="us") == ()


@pytest.mark.parametrize(
    ("row", "fault"),
    [
        ({}, "left and right are both missing; give what lies there from the line outward"),
        ({"edge": "curb"}, "key 'edge' is not known; the nearest one is 'edge_left'"),
        ({"right": 3}, "right is 3; expected a list such as [{ what"),
        ({"right": [1]}, "right is [1]; expected a list such as"),
        ({"edge_left": "grass"}, "edge_left is 'grass'; expected one of 'curb', 'shoulder'"),
        ({"traffic": "north"}, "traffic is 'north'; expected one of 'up', 'down'"),
        ({"run_left": 1}, "run_left is 1; expected a text in quotes"),
        ({"right": [{"what": "path"}]}, "right 1: what is 'path'; expected one of 'lane', 'turn"),
        ({"right": [{"width_ft": 9}]}, "right 1: what is missing; give it a text"),
        ({"right": [{"what": "lane"}]}, "width_ft is missing; give it, 0 for a part that begins"),
        ({"right": [{"what": "lane", "width_ft": -1}]}, "width_ft is -1; expected 0 or more"),
        ({"right": [{"what": "lane", "width_m": 3}]}, "key 'width_m' is not known"),
        (
            {"right": [{"what": "lane", "width_ft": 9, "cut": 1}]},
            "cut is 1; expected true or false",
        ),
        (
            {"right": [{"what": "lane", "width_ft": 9, "over_line": "yes"}]},
            "over_line is 'yes'; expected true or false",
        ),
        (
            {"right": [{"what": "lane", "width_ft": 9, "depth_in_in": -2}]},
            "depth_in_in is -2; expected 0 or more",
        ),
    ],
)
def test_faults_of_a_section_say_where_and_what(row, fault: str) -> None:
    """Reading goes on, so that all are said at once."""
    got, faults = sections(row)

    assert isinstance(got[0], Section)
    assert any(one.startswith("[[leg]] A, section 1") and fault in one for one in faults)


def test_the_sections_must_be_a_list() -> None:
    """Not one table."""
    leg = table({"section": {"from": "1+00"}})

    assert read_sections(leg, units="us") == ()
    assert "section is" in leg.faults[0]


def test_a_machine_is_read_with_what_is_known_of_it() -> None:
    """The rest is not known, and the overlap then none."""
    whole = BIG | {
        "overlap_ft": 0.25, "drum_diameter_in": 40, "flush_side": "right", "ahead_ft": 60,
        "behind_ft": 25, "moldboard_ft": 5,
    }  # fmt: skip
    (one, two), faults = machines(whole, {"name": "two", "drum_ft": 4})

    assert faults == []
    assert (one.name, one.flush_side) == ("one", "right")
    assert (one.drum_m, one.overlap_m, one.drum_diameter_m) == pytest.approx(
        (to_m(7.25, "ft"), to_m(0.25, "ft"), to_m(40, "in"))
    )
    assert (one.ahead_m, one.behind_m, one.moldboard_m) == pytest.approx(
        (to_m(60, "ft"), to_m(25, "ft"), to_m(5, "ft"))
    )
    assert (two.overlap_m, two.flush_side) == (0.0, "")
    assert all(map(math.isnan, (two.drum_diameter_m, two.ahead_m, two.behind_m, two.moldboard_m)))


def test_a_metric_machine_is_in_metres_and_its_diameter_in_millimetres() -> None:
    """As the job is."""
    ((one,), faults) = machines(
        {"name": "one", "drum_m": 2.0, "overlap_m": 0.1, "drum_diameter_mm": 980}, units="metric"
    )

    assert faults == []
    assert (one.drum_m, one.overlap_m, one.drum_diameter_m) == (2.0, 0.1, pytest.approx(0.98))


@pytest.mark.parametrize(
    ("row", "fault"),
    [
        ({"drum_ft": 7}, "[[machine]] 1: name is missing; give it a text"),
        ({"name": "one"}, "[[machine]] 1: drum_ft is missing; give it"),
        (BIG | {"drum_ft": 0}, "[[machine]] 1: drum_ft is 0; expected more than 0"),
        (BIG | {"drum_ft": -7}, "[[machine]] 1: drum_ft is -7; expected 0 or more"),
        (BIG | {"drum_ft": "7"}, "[[machine]] 1: drum_ft is '7'; expected a number"),
        (
            BIG | {"overlap_ft": 8},
            "[[machine]] 1: overlap_ft is 8 and drum_ft 7.25; expected a part",
        ),
        (BIG | {"overlap_ft": 7.25}, "[[machine]] 1: overlap_ft is 7.25 and drum_ft 7.25"),
        (BIG | {"flush_side": "both"}, "flush_side is 'both'; expected one of 'left', 'right'"),
        (BIG | {"speed": 3}, "[[machine]] 1: key 'speed' is not known"),
    ],
)
def test_faults_of_a_machine_say_what(row, fault: str) -> None:
    """With the key and the value as they stand in the file."""
    assert any(fault in one for one in machines(row)[1])


def test_two_machines_of_one_name_are_a_fault() -> None:
    """Their sheets could not be told apart."""
    assert machines(BIG, BIG)[1] == [
        "[[machine]] 'one' stands twice; give each machine a name of its own"
    ]


def test_no_machine_is_no_fault() -> None:
    """No plan of work then."""
    assert machines() == ((), [])


def test_a_haul_left_out_is_as_usual() -> None:
    """Density of the road and of the millings; the truck and the ramp are not known."""
    got, faults = haul()

    assert faults == []
    assert (got.density_kgpm3, got.loose_kgpm3) == (Haul().density_kgpm3, Haul().loose_kgpm3)
    assert all(map(math.isnan, (got.payload_kg, got.body_m3, got.ramp_slope)))


def test_a_haul_is_read_in_pounds_tons_and_yards() -> None:
    """1 lb/ft3 is 16.018463 kg/m3, a short ton 907.18474 kg, a cubic yard 0.764554858 m3.

    NIST Special Publication 811, appendix B.8, from memory.
    """
    got, faults = haul(
        density_lb_ft3=145, loose_lb_ft3=90, payload_tons=22, body_yd3=18, ramp_slope=48
    )

    assert faults == []
    assert (got.density_kgpm3, got.loose_kgpm3) == pytest.approx((145 * 16.018463, 90 * 16.018463))
    assert (got.payload_kg, got.body_m3) == pytest.approx((22 * 907.18474, 18 * 0.764554858))
    assert got.ramp_slope == 48


def test_a_metric_haul_is_in_tonnes_and_cubic_metres() -> None:
    """A tonne is 1000 kg."""
    got, faults = haul("metric", density_kg_m3=2400, loose_kg_m3=1500, payload_t=20, body_m3=14)

    assert faults == []
    assert got == Haul(
        density_kgpm3=2400,
        loose_kgpm3=1500,
        payload_kg=20_000,
        body_m3=14,
        ramp_slope=got.ramp_slope,
    )


@pytest.mark.parametrize(
    ("values", "fault"),
    [
        ({"ramp_slope": 0}, "[haul]: ramp_slope is 0; expected more than 0"),
        ({"payload_tons": -1}, "[haul]: payload_tons is -1; expected more than 0"),
        ({"payload_t": 20}, "[haul]: key 'payload_t' is not known"),
        ({"body_yd3": "big"}, "[haul]: body_yd3 is 'big'; expected a number"),
    ],
)
def test_faults_of_a_haul_say_what(values, fault: str) -> None:
    """With the key and the value."""
    assert any(one.startswith(fault) for one in haul(**values)[1])
