"""Horizontal curves: designed, drawn and driven."""

import math
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from builders import PLANE, drive
from hypothesis import given, settings
from hypothesis import strategies as st
from invented.roads import curve, ground_plane, lay_road, tangent
from strategies import reversed_line

from routeprep import tables
from routeprep.centerline import measured
from routeprep.curves import curves_of, curves_said
from routeprep.lines import Alignment, Centerline
from routeprep.shapes import Defaults
from routeprep.units import to_m

FT_M = to_m(1.0, "ft")
NO_FIXES = tables.table(tables.FIXES, [])
GROUND = ground_plane(-100.87, 41.43, elevation_m=0.0)


def road(*bends):
    """A true road from the tests' origin."""
    return lay_road(
        bends, code="A", name="Elm St", start_xy_m=(0.0, 0.0), heading_deg=20.0, plane=GROUND
    )


def drawn(xy_m, *, elevation_m=0.0, made_from="file"):
    """A line through places of the tests' plane."""
    lon, lat = PLANE.to_lonlat(np.asarray(xy_m, dtype=np.float64))
    return measured(lon, lat, sd_m=np.zeros(len(lon)), elevation_m=elevation_m, made_from=made_from)


def sampled(one, along_m, *, jitter_m=0.0, seed=0):
    """A line through places of a road, each off by a normal error on both axes."""
    along_m = np.asarray(along_m, dtype=np.float64)
    xy_m = np.column_stack(one.xy(along_m, np.zeros(len(along_m))))
    return drawn(xy_m + np.random.default_rng(seed).normal(0.0, jitter_m, xy_m.shape))


def curves(line, fixes=NO_FIXES):
    """The line's curves."""
    return curves_of(line, fixes, defaults=Defaults())


def designed(*elements, line=None):
    """A designed line in feet from (kind, curvature at begin and end [1/ft], length [ft])."""
    what, begin, end, size = zip(*elements, strict=True)
    count = len(elements)
    alignment = Alignment(
        name="M", what=what, x_m=np.zeros(count), y_m=np.zeros(count), heading_deg=np.zeros(count),
        curvature_start_per_m=np.array(begin) / FT_M, curvature_end_per_m=np.array(end) / FT_M,
        length_m=np.array(size) * FT_M, unit="ft", crs="", start_value=0.0, equations=(),
        profile=(),
    )  # fmt: skip
    whole = line or drawn([[0, 0], [0, 1000]])
    return Centerline(
        lon_deg=whole.lon_deg, lat_deg=whole.lat_deg, along_m=whole.along_m, sd_m=whole.sd_m,
        elevation_m=0.0, made_from="designed alignment", alignment=alignment,
    )  # fmt: skip


# Worked curves (published problem data, answers by the formulas of any surveying text): tangent
# before, radius, deflection, length, PC and PT [ft].  A: D = 4 degrees, 40 degrees, PI 23+25.
# B: T = 436.18, 116-36-48, PI 26+31.25.  C: R = 1000, 24 degrees from 15+00.
WORKED = {
    "A": (1803.651, 5729.578 / 4, 40.0, 1000.0, 1803.651, 2803.651),
    "B": (2195.07, 269.320, 116 + 36 / 60 + 48 / 3600, 548.144, 2195.07, 2743.214),
    "C": (500.0, 1000.0, 24.0, 418.879, 500.0, 918.879),
}


@pytest.mark.parametrize("name", WORKED)
@pytest.mark.parametrize("way", [1.0, -1.0])
def test_worked_curves_are_read_off_their_elements(name, way):
    """Radius, deflection, PC and PT to 0.001 ft, right and left, with nothing to doubt."""
    before, radius, turn, size, pc, pt = WORKED[name]
    bend = way / radius
    (one,) = curves(designed(("line", 0, 0, before), ("curve", bend, bend, size)))

    assert one.radius_m / FT_M == pytest.approx(radius, abs=1e-6)
    assert one.deflection_deg == pytest.approx(turn, abs=2e-4)
    assert (one.from_m / FT_M, one.to_m / FT_M) == pytest.approx((pc, pt), abs=1e-3)
    assert one.direction == ("right" if way > 0 else "left")
    assert (one.radius_sd_m, one.from_sd_m, one.to_sd_m, one.deflection_sd_deg) == (0, 0, 0, 0)


def test_elements_of_one_radius_that_meet_are_one_curve():
    """Two halves of an arc; the next of another radius, and the reverse one, stand alone."""
    found = curves(
        designed(
            ("curve", 1e-3, 1e-3, 100), ("curve", 1e-3, 1e-3, 150), ("curve", 2e-3, 2e-3, 100),
            ("curve", -2e-3, -2e-3, 100), ("line", 0, 0, 50), ("curve", -2e-3, -2e-3, 80),
        )
    )  # fmt: skip

    assert [(round(one.from_m / FT_M), round(one.to_m / FT_M)) for one in found] == [
        (0, 250), (250, 350), (350, 450), (500, 580),
    ]  # fmt: skip
    assert [one.direction for one in found] == ["right", "right", "left", "left"]
    assert found[0].deflection_deg == pytest.approx(math.degrees(0.25))


def test_spirals_stand_with_the_arc_between_them():
    """From SC to CS, the arc's own deflection, and the spirals' lengths; also after a joint."""
    found = curves(
        designed(
            ("line", 0, 0, 100), ("spiral", 0, 1e-3, 200), ("curve", 1e-3, 1e-3, 100),
            ("curve", 1e-3, 1e-3, 200), ("spiral", 1e-3, 0, 250), ("line", 0, 0, 100),
        )
    )  # fmt: skip
    (one,) = found

    assert (one.from_m / FT_M, one.to_m / FT_M) == pytest.approx((300.0, 600.0))
    assert one.deflection_deg == pytest.approx(math.degrees(0.3))
    assert one.spiral_in_m / FT_M == pytest.approx(200.0)
    assert one.spiral_out_m / FT_M == pytest.approx(250.0)


def chords(kind, one):
    """Where a drawn line's vertices lie along a road with one curve."""
    pc, pt = one.from_m[1:3]
    rng = np.random.default_rng(4)
    along_m = {
        "even from PC to PT": [0, *np.linspace(pc, pt, 9), one.length_m],
        "uneven from PC to PT": [0, pc, *np.sort(rng.uniform(pc, pt, 9)), pt, one.length_m],
        "four in the curve": [0, *np.linspace(pc, pt, 4), one.length_m],
        "every 10 m": [*np.arange(0, one.length_m, 10.0), one.length_m],
        "every 25 m": [*np.arange(0, one.length_m, 25.0), one.length_m],
        "anywhere": [0, *np.sort(rng.uniform(0, one.length_m, 60)), one.length_m],
    }
    return along_m[kind]


@pytest.mark.parametrize(
    "kind",
    [
        "even from PC to PT", "uneven from PC to PT", "four in the curve", "every 10 m",
        "every 25 m", "anywhere",
    ],
)  # fmt: skip
@pytest.mark.parametrize("way", [1.0, -1.0])
def test_a_drawn_curve_is_found_exactly_however_it_is_chorded(kind, way):
    """R = 300 through 30 degrees; PC to the millimetre, PT as far along as the chords are long."""
    one = road(tangent(400.0), curve(300.0, 30.0 * way), tangent(500.0))
    line = sampled(one, chords(kind, one))
    (found,) = curves(line)
    lon, lat = one.lonlat(one.from_m[1:3], np.zeros(2))
    ends_m = np.interp(lat, line.lat_deg, line.along_m)  # northing increases along this road

    assert found.direction == ("right" if way > 0 else "left")
    assert found.radius_m == pytest.approx(300.0, abs=1e-3)
    assert found.deflection_deg == pytest.approx(30.0, abs=1e-4)
    assert (found.from_m, found.to_m) == pytest.approx(tuple(ends_m), abs=0.3)
    assert lon[0] != lon[1]
    assert found.radius_sd_m < 1e-3
    assert found.from_sd_m < 1e-3


def test_a_drawn_curve_with_rough_vertices_has_a_plus_minus():
    """0.5 m of error each 15 m: in 40 lines the 95 % intervals cover radius and deflection."""
    one = road(tangent(400.0), curve(300.0, 30.0), tangent(500.0))
    found = [
        curves(sampled(one, np.arange(0.0, one.length_m, 15.0), jitter_m=0.5, seed=seed))
        for seed in range(40)
    ]
    covered = [
        abs(each[0].radius_m - 300.0) < 1.96 * each[0].radius_sd_m
        and abs(each[0].deflection_deg - 30.0) < 1.96 * each[0].deflection_sd_deg
        for each in found
    ]

    assert [len(each) for each in found] == [1] * 40
    assert sum(covered) >= 34


@pytest.mark.parametrize(
    "xy_m",
    [
        [[0, 0], [0, 1000]],
        [[0, 0], [0, 300], [100, 600]],
        [*([0, y] for y in range(0, 300, 20)), *([7 * k, 300 + 18 * k] for k in range(16))],
        [[0, 0], [0, 300], [40, 400], [160, 500]],
        [[0, 0], [0, 300], [40, 400], [40, 500], [80, 600], [80, 700]],
        [[0, 0], [0, 300], [300, 300]],
        [[0, 0], [0, 300], [90, 600], [260, 860], [500, 1060]],
    ],
    ids=["straight", "kink", "kink in short chords", "two", "zigzag", "corner", "coarse"],
)
def test_angle_points_are_no_curves(xy_m):
    """A kink, a corner, chords that would leave the curve by metres."""
    assert curves(drawn(xy_m)) == ()


@pytest.mark.parametrize("seed", range(5))
def test_rough_vertices_make_no_curve_of_a_straight_road(seed):
    """3 km with 0.5 m of error each 15 m."""
    one = road(tangent(3000.0))

    assert curves(sampled(one, np.arange(0.0, 3000.0, 15.0), jitter_m=0.5, seed=seed)) == ()


WINDING = (
    tangent(400.0), curve(200.0, 40.0), curve(200.0, -40.0), tangent(100.0), curve(60.0, 90.0),
    tangent(300.0), curve(800.0, 10.0), curve(300.0, 20.0), tangent(300.0),
)  # fmt: skip


def test_reverse_compound_and_sharp_curves_are_told_apart():
    """Five curves, two pairs of which meet."""
    one = road(*WINDING)
    found = curves(sampled(one, [*np.arange(0.0, one.length_m, 10.0), one.length_m]))

    assert [each.radius_m for each in found] == pytest.approx([200, 200, 60, 800, 300], abs=0.01)
    assert [each.deflection_deg for each in found] == pytest.approx([40, 40, 90, 10, 20], abs=0.01)
    assert [each.direction for each in found] == ["right", "left", "right", "right", "right"]
    assert found[0].to_m == pytest.approx(found[1].from_m, abs=1e-6)


@settings(max_examples=25)
@given(st.floats(80.0, 600.0), st.floats(15.0, 80.0), st.sampled_from([-1, 1]), st.integers(5, 20))
def test_a_line_from_its_other_end_has_the_same_curves_the_other_way(radius_m, turn, way, chords):
    """Right is left, PC is PT."""
    one = road(tangent(200.0), curve(radius_m, turn * way), tangent(250.0))
    step_m = (one.from_m[2] - one.from_m[1]) / chords
    line = sampled(one, [*np.arange(0.0, one.length_m - 1.0, step_m), one.length_m])
    (there,), (back,) = curves(line), curves(reversed_line(line))

    assert {there.direction, back.direction} == {"right", "left"}
    assert back.radius_m == pytest.approx(there.radius_m, rel=1e-4)
    assert back.from_m == pytest.approx(line.length_m - there.to_m, abs=0.01)
    assert back.to_m == pytest.approx(line.length_m - there.from_m, abs=0.01)


def test_a_curve_that_the_line_begins_in_has_no_pc():
    """It is given from the line's beginning, and how sure that is nobody knows."""
    one = road(*WINDING)
    found = curves(sampled(one, np.arange(450.0, 1000.0, 10.0)))

    assert found[0].from_m == pytest.approx(0.0, abs=1e-6)
    assert math.isnan(found[0].from_sd_m)
    assert found[0].radius_m == pytest.approx(200.0, abs=0.01)


def test_a_curve_that_the_line_ends_in_has_no_pt():
    """The same at the other end."""
    one = road(*WINDING)
    found = curves(sampled(one, np.arange(0.0, 480.0, 10.0)))

    assert math.isnan(found[0].to_sd_m)
    assert not math.isnan(found[0].from_sd_m)


def test_a_radius_is_measured_on_the_ground():
    """At 1500 m the ground is 1.000235 times as long (1 + h/R)."""
    one = road(tangent(400.0), curve(300.0, 30.0), tangent(500.0))
    xy_m = np.column_stack(one.xy(np.arange(0.0, one.length_m, 10.0), np.zeros(106)))
    (low,), (high,) = curves(drawn(xy_m)), curves(drawn(xy_m, elevation_m=1500.0))

    assert high.radius_m / low.radius_m == pytest.approx(1.000235, abs=1e-6)


def test_a_path_driven_without_fixes_has_no_curves():
    """What was driven is what they are fitted to."""
    assert curves(drawn([[0, 0], [0, 500], [300, 900]], made_from="path driven")) == ()


@pytest.mark.parametrize("drives", [1, 30])
def test_a_path_driven_has_the_curves_of_its_fixes(drives):
    """Without noise, lanes of 1.8 m either side: the middle's radius within 1 m; many or few."""
    one = road(tangent(400.0), curve(150.0, 60.0), tangent(400.0))
    along_m = np.arange(0.0, one.length_m, 2.0)
    lanes = [np.column_stack(one.xy(along_m, np.full(len(along_m), x))) for x in (1.8, -1.8)]
    ways = [lanes[0], lanes[1][::-1]]
    each = [drive(ways[k % 2][k // 2 :], name=f"drive {k}") for k in range(2 * drives)]
    fixes = pd.concat(each, ignore_index=True)
    middle = np.column_stack(one.xy(np.arange(0.0, one.length_m, 5.0), np.zeros(192)))
    line = drawn(middle, made_from="path driven")
    (found,) = curves(line, fixes.assign(accuracy_m=4.0))

    assert found.radius_m == pytest.approx(150.0, abs=1.0)
    assert found.deflection_deg == pytest.approx(60.0, abs=0.1)
    assert found.from_m == pytest.approx(400.0, abs=0.5)
    assert 0.1 < found.from_sd_m < 4.0


def test_where_fixes_scatter_far_more_than_usual_nothing_is_said():
    """One drive with 8 m of fresh error along a road with a curve: its ± would be made up."""
    one = road(tangent(400.0), curve(150.0, 60.0), tangent(400.0))
    xy_m = np.column_stack(one.xy(np.arange(0.0, one.length_m, 5.0), np.zeros(192)))
    fixes = drive(xy_m)
    rough = np.random.default_rng(1).normal(0.0, 8.0, (len(fixes), 2))
    lon, lat = PLANE.to_lonlat(PLANE.to_xy(fixes["lon_deg"], fixes["lat_deg"]) + rough)

    line = drawn(xy_m, made_from="path driven")
    assert curves(line, fixes.assign(lon_deg=lon, lat_deg=lat)) == ()


def test_what_was_fitted_is_said():
    """Spirals are not modelled; of a designed line, or of no curve, nothing is said."""
    one = road(tangent(400.0), curve(300.0, 30.0), tangent(500.0))
    line = sampled(one, np.arange(0.0, one.length_m, 10.0))
    (said,) = curves_said(line, curves(line), leg="A")
    plan = designed(("curve", 1e-3, 1e-3, 100))

    assert said.where == "leg A"
    assert "1 curves fitted to the file's vertices as tangents and arcs; spirals" in said.text
    assert "radius is not told" not in said.text
    assert curves_said(line, (), leg="A") == ()
    assert curves_said(plan, curves(plan), leg="A") == ()


def test_a_bend_too_sharp_for_its_fixes_is_said():
    """Its radius is less than its ±."""
    line = drawn([[0, 0], [0, 500], [300, 900]], made_from="path driven")
    one = curves(sampled(road(*WINDING), np.arange(0.0, 800.0, 10.0)))[0]
    sharp = replace(one, radius_m=10.0, radius_sd_m=8.0)
    (said,) = curves_said(line, [one, sharp], leg="A")

    assert one.radius_told
    assert not sharp.radius_told
    assert "1 of them turn so sharply that their radius is not told" in said.text
