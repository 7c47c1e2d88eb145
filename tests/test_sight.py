"""Where a driver may not see far enough to stop."""

import math
from dataclasses import replace

import numpy as np
import pytest
from builders import PLANE, leg_settings
from hypothesis import given
from hypothesis import settings as examples
from hypothesis import strategies as st
from invented.roads import curve, ground_plane, lay_road, tangent

from routeprep.centerline import measured
from routeprep.lines import Alignment, Centerline
from routeprep.roadform import Curve, Grade
from routeprep.sight import sight_spots
from routeprep.stopping import needed_m
from routeprep.units import MPH_MPS, STATION_UNITS

MPH = float(MPH_MPS)
LANE_M = 3.6576
GROUND = ground_plane(-100.87, 41.43, elevation_m=0.0)


def road(*bends):
    """A true road from the tests' origin."""
    return lay_road(
        bends, code="A", name="Elm St", start_xy_m=(0.0, 0.0), heading_deg=20.0, plane=GROUND
    )


def drawn(one, *, step_m=4.0, made_from="file"):
    """A line with vertices every so far along a road."""
    along_m = np.append(np.arange(0.0, one.length_m - 0.1, step_m), one.length_m)
    lon, lat = PLANE.to_lonlat(np.column_stack(one.xy(along_m, np.zeros(len(along_m)))))
    return measured(lon, lat, sd_m=np.zeros(len(lon)), elevation_m=0.0, made_from=made_from)


def bend(one, **changes):
    """The road's first curve as it would be found."""
    turn = float(one.turn_per_m[1])
    size_m = float(one.from_m[2] - one.from_m[1])
    usual = Curve(
        from_m=float(one.from_m[1]), to_m=float(one.from_m[2]), radius_m=1 / abs(turn),
        direction="right" if turn > 0 else "left", deflection_deg=math.degrees(abs(turn) * size_m),
    )  # fmt: skip
    return replace(usual, **changes)


def leg(mph, clear_m, **changes):
    """A two-lane leg with a posted speed and a clearance."""
    return leg_settings(posted_mps=mph * MPH, sight_clearance_m=clear_m, **changes)


def spots(line, settings_, curves=(), grades=()):
    """The places alone."""
    return sight_spots(line, settings_, curves=curves, grades=grades)[0]


LONG = (tangent(400.0), curve(150.0, 120.0), tangent(400.0))


@pytest.mark.parametrize("clear_m", [3.0, 5.0, 8.0])
@pytest.mark.parametrize("way", [1.0, -1.0])
def test_what_is_seen_in_a_curve_is_what_the_formula_says(clear_m, way):
    """M = R (1 - cos(28.65 S / R)), R of the inside lane (AASHTO 2018, equation 3-36)."""
    one = road(LONG[0], curve(150.0, 120.0 * way), LONG[2])
    up, down = spots(drawn(one), leg(45, clear_m), [bend(one)])
    radius_m = 150.0 - LANE_M / 2
    seen_m = math.degrees(math.acos(1 - clear_m / radius_m)) * radius_m / 28.65

    assert up.available_m == pytest.approx(seen_m, abs=0.15)
    assert down.available_m == pytest.approx(seen_m, abs=0.15)
    assert (up.travel, down.travel) == (1, -1)
    assert {up.side, down.side} == {"right" if way > 0 else "left"}
    assert (up.curve, down.curve) == (0, 0)
    assert up.needed_m == pytest.approx(360 * 0.3048)


def test_places_begin_before_the_curve_and_end_in_it():
    """The driver looks ahead: from before PC to before PT, mirrored for the other direction."""
    one = road(*LONG)
    up, down = spots(drawn(one), leg(45, 5.0), [bend(one)])
    pc, pt = one.from_m[1:3]

    assert pc - 110.0 < up.from_m < pc
    assert pc < up.to_m < pt
    assert up.from_m - pc == pytest.approx(pt - down.to_m, abs=3.0)
    assert up.to_m - pc == pytest.approx(pt - down.from_m, abs=3.0)


def test_with_enough_clear_there_is_no_place():
    """More than the middle ordinate, or no bend at all; and it says what it looked at."""
    one = road(*LONG)
    radius_m = 150.0 - LANE_M / 2
    middle_m = radius_m * (1 - math.cos(math.radians(28.65 * 360 * 0.3048 / radius_m)))
    found, said = sight_spots(drawn(one), leg(45, middle_m + 0.2), curves=(), grades=())

    assert found == ()
    assert "0 places to look at; a hint, no design check, and sight over crests" in said[0].text
    assert len(spots(drawn(one), leg(45, middle_m - 0.2))) == 2
    assert spots(drawn(road(tangent(900.0)), step_m=900.0), leg(70, 1.0)) == ()


@examples(max_examples=20)
@given(st.floats(40.0, 300.0), st.floats(20.0, 120.0), st.floats(2.0, 12.0))
def test_a_mirrored_road_has_the_mirrored_places(radius_m, turn, clear_m):
    """Right for left, all else alike."""
    right = road(tangent(200.0), curve(radius_m, turn), tangent(200.0))
    left = road(tangent(200.0), curve(radius_m, -turn), tangent(200.0))
    one = spots(drawn(right), leg(40, clear_m), [bend(right)])
    two = spots(drawn(left), leg(40, clear_m), [bend(left)])

    assert [spot.side for spot in one] == ["right"] * len(one)
    assert [spot.side for spot in two] == ["left"] * len(two)
    assert [spot.available_m for spot in one] == pytest.approx([s.available_m for s in two], abs=1)


def test_a_grade_counts_in_the_direction_of_travel():
    """6 % down up-station: 400 ft one way; up the other way it takes less than on the level."""
    one = road(*LONG)
    slope = Grade(from_m=0.0, to_m=1200.0, grade_share=-0.06)
    up, down = spots(drawn(one), leg(45, 5.0), grades=[slope])

    assert up.needed_m == pytest.approx(400 * 0.3048)
    assert up.grade_share == -0.06
    assert down.needed_m == pytest.approx(needed_m(45 * MPH, grade_share=0.06))
    assert down.grade_share == 0.06


def test_the_inside_lane_is_the_outermost_one_on_that_side():
    """Three lanes right: 9.144 m inside the line; none right: half a lane left of it."""
    one = road(*LONG)
    line = drawn(one)

    def seen_m(**lanes):
        return spots(line, leg(45, 4.0, **lanes))[0].available_m

    def formula_m(radius_m):
        return math.degrees(math.acos(1 - 4.0 / radius_m)) * radius_m / 28.65

    assert seen_m(lanes_right=3) == pytest.approx(formula_m(150.0 - 2.5 * LANE_M), abs=0.15)
    assert seen_m(lanes_right=0) == pytest.approx(formula_m(150.0 + LANE_M / 2), abs=0.15)


def test_a_path_driven_is_looked_at_by_its_curves_not_by_its_wobble():
    """A line that wobbles by 3 m is straight when no curve stands out."""
    along_m = np.arange(0.0, 1200.0, 5.0)
    wobble_m = 3.0 * np.sin(along_m / 15.0)
    lon, lat = PLANE.to_lonlat(np.column_stack([wobble_m, along_m]))
    line = measured(lon, lat, sd_m=np.full(len(lon), 2.0), elevation_m=0.0, made_from="path driven")

    assert spots(line, leg(45, 3.0)) == ()
    assert spots(replace(line, made_from="file"), leg(45, 3.0)) != ()


def test_a_curve_that_was_driven_is_as_sharp_as_its_plus_minus_allows():
    """R = 250 ± 49 m is looked at as R = 201 m."""
    one = road(tangent(400.0), curve(250.0, 60.0), tangent(400.0))
    line = drawn(one, made_from="path driven")
    found = spots(line, leg(45, 4.0), [bend(one, radius_sd_m=25.0)])
    radius_m = 250.0 - 1.96 * 25.0 - LANE_M / 2
    seen_m = math.degrees(math.acos(1 - 4.0 / radius_m)) * radius_m / 28.65

    assert found[0].available_m == pytest.approx(seen_m, abs=0.3)


def test_a_bend_whose_radius_is_not_told_is_a_corner():
    """No sharper than 5 m, so that it is still looked at."""
    one = road(tangent(300.0), curve(20.0, 80.0), tangent(300.0))
    found = spots(drawn(one, made_from="path driven"), leg(30, 4.0), [bend(one, radius_sd_m=60.0)])

    assert [spot.travel for spot in found] == [1, -1]


def test_within_a_bend_sharper_than_the_clearance_nothing_folds():
    """R = 8 m with 12 m clear: the wall ends where it would come nearer than that."""
    one = road(tangent(300.0), curve(8.0, 90.0), tangent(300.0))
    line = drawn(one, step_m=1.0)

    assert spots(line, leg(15, 12.0)) == ()
    assert len(spots(line, leg(45, 12.0))) == 2


def test_a_designed_alignment_is_looked_at_on_its_elements():
    """The curve of the formula once more, exact."""
    turn = math.radians(120.0)
    alignment = Alignment(
        name="M", what=("line", "curve", "line"),
        x_m=np.array([0.0, 0.0, 150.0 * (1 - math.cos(turn))]),
        y_m=np.array([0.0, 400.0, 400.0 + 150.0 * math.sin(turn)]),
        heading_deg=np.array([0.0, 0.0, 120.0]),
        curvature_start_per_m=np.array([0.0, 1 / 150, 0.0]),
        curvature_end_per_m=np.array([0.0, 1 / 150, 0.0]),
        length_m=np.array([400.0, 150.0 * turn, 400.0]), unit="m", crs="", start_value=0.0,
        equations=(), profile=(),
    )  # fmt: skip
    whole = drawn(road(*LONG))
    line = Centerline(
        lon_deg=whole.lon_deg, lat_deg=whole.lat_deg, along_m=whole.along_m, sd_m=whole.sd_m,
        elevation_m=0.0, made_from="designed alignment", alignment=alignment,
    )  # fmt: skip
    radius_m = 150.0 - LANE_M / 2
    seen_m = math.degrees(math.acos(1 - 5.0 / radius_m)) * radius_m / 28.65

    assert spots(line, leg(45, 5.0))[0].available_m == pytest.approx(seen_m, abs=0.15)
    assert spots(line, leg(45, 5.0))[0].curve == -1


def test_places_far_apart_are_two():
    """Two right curves, 600 m between."""
    one = road(
        tangent(300.0), curve(120.0, 60.0), tangent(600.0), curve(120.0, 60.0), tangent(300.0)
    )
    second = Curve(
        from_m=float(one.from_m[3]), to_m=float(one.from_m[4]), radius_m=120.0, direction="right",
        deflection_deg=60.0,
    )  # fmt: skip
    found = spots(drawn(one), leg(45, 4.0), [bend(one), second])

    assert [(spot.travel, spot.curve) for spot in found] == [(1, 0), (1, 1), (-1, 0), (-1, 1)]


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"posted_mps": 20.0}, "no clearance given"),
        ({"sight_clearance_m": 5.0}, "no posted speed given"),
        ({}, "no posted speed and no clearance given"),
    ],
)
def test_without_speed_or_clearance_it_says_so(changes, words):
    """And lists nothing."""
    found, said = sight_spots(drawn(road(*LONG)), leg_settings(**changes), curves=(), grades=())

    assert found == ()
    assert said[0].text == f"sight distance was not looked at: {words}"


def test_a_metric_leg_needs_the_metric_distance():
    """70 km/h: 105 m, not 345 ft."""
    one = road(*LONG)
    metric = leg_settings(
        posted_mps=70 / 3.6, sight_clearance_m=3.0, unit=STATION_UNITS["1000 m"], start_value=0.0
    )

    assert spots(drawn(one), metric)[0].needed_m == pytest.approx(105.0)
