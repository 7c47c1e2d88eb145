"""Strips in pieces: each bit of ground once, areas exact on curves, volumes exact between edges."""

import itertools
import math

import numpy as np
import pytest
import shapely
from builders import PLANE
from hypothesis import given
from hypothesis import strategies as st
from made_meetings import run, runs
from made_work import curved, fleets, leg, strip, strips
from strategies import alignment_of, line_from_xy, winding_xy

from routeprep.ground import ground_of
from routeprep.lines import Centerline
from routeprep.locating import place
from routeprep.passes import passes_of

STRAIGHT = line_from_xy([[0.0, 0.0], [0.0, 1000.0]])
LANE = strip([0.0, 100.0], [0.0, 0.0], [3.6, 3.6])
INNER, OUTER = run(0.0, 2.0, along_m=(0.0, 100.0)), run(
    1.6, 3.6, along_m=(0.0, 100.0), code="A R2", order=2
)  # fmt: skip


def ground(one=LANE, passes=(INNER, OUTER), line=STRAIGHT, *, out=None, skips=None):
    """A strip in pieces."""
    return ground_of(one, passes, line, out=out or {}, skips=skips or {})


def sums(got, **stretch):
    """Area by the pass that cuts it, -1 for none."""
    area_m2, _ = got.amounts(**stretch)
    return {one: float(area_m2[got.first == one].sum()) for one in sorted(set(got.first.tolist()))}


def test_what_two_passes_run_over_is_the_first_ones() -> None:
    """By hand: 2 m by 100 m, then 1.6 m by 100 m."""
    assert sums(ground()) == pytest.approx({0: 200.0, 1: 160.0})
    assert sums(ground(passes=(OUTER, INNER))) == pytest.approx({0: 200.0, 1: 160.0})


def test_where_a_drum_is_out_the_next_one_cuts_the_overlap_first() -> None:
    """By hand: 10 m long, 1.6 m of the first drum's 2 m are left."""
    got = ground(out={"A R1": [(40.0, 50.0)]})

    assert sums(got) == pytest.approx({-1: 16.0, 0: 180.0, 1: 164.0})
    assert set(got.left_by[got.first == -1].tolist()) == {0}


def test_where_both_drums_are_out_the_overlap_is_left_once() -> None:
    """By hand: 3.6 m by 10 m and, where only the second is out, 1.6 m by 20 m."""
    got = ground(out={"A R1": [(40.0, 50.0)], "A R2": [(30.0, 60.0)]})
    area_m2, _ = got.amounts()

    assert sums(got)[-1] == pytest.approx(3.6 * 10.0 + 1.6 * 20.0)
    assert float(area_m2[got.left_by == 0].sum()) == pytest.approx(20.0)


def test_what_is_skipped_is_a_part_of_what_is_left() -> None:
    """The rest of the stretch is not."""
    got = ground(passes=(INNER,), out={"A R1": [(40.0, 50.0)]}, skips={"A R1": [(42.0, 46.0)]})
    area_m2, _ = got.amounts()

    assert float(area_m2[got.skipped].sum()) == pytest.approx(4.0 * 2.0)
    assert float(area_m2[got.left_by == 0].sum()) == pytest.approx(10.0 * 2.0)


def test_a_stretch_of_it_is_a_part() -> None:
    """And none outside it, even where no depth is known."""
    got = ground(passes=(INNER,))
    unknown = ground(passes=(run(0.0, 2.0, along_m=(0.0, 50.0), depth_m=math.nan),))

    assert sums(got, from_m=10.0, to_m=35.0)[0] == pytest.approx(50.0)
    assert sums(got, from_m=200.0, to_m=300.0)[0] == 0.0
    _, volume_m3 = unknown.amounts(from_m=60.0)
    assert np.isfinite(volume_m3[unknown.first == 0]).all()


def test_a_bend_to_the_right_is_less_on_the_right() -> None:
    """A ring sector: (r1^2 - r2^2) / 2 times the angle, radius 100 m and a right angle."""
    angle = np.linspace(0.0, math.pi / 2, 1001)
    line = line_from_xy(100.0 * np.column_stack([1.0 - np.cos(angle), np.sin(angle)]))
    lane = strip([0.0, line.length_m], [0.0, 0.0], [3.6, 3.6])
    area_m2, _ = ground(lane, (), line).amounts()

    exact_m2 = (100.0**2 - 96.4**2) / 2 * math.pi / 2
    assert float(area_m2.sum()) == pytest.approx(exact_m2, abs=0.02)


def test_on_a_designed_alignment_the_elements_tell_the_bend() -> None:
    """Line, spiral and arc: the line's turn is 60 m / 2R and 40 m / R, R = 200 m, by hand."""
    made = alignment_of((50.0, 0.0, 0.0), (60.0, 0.0, 0.005), (40.0, 0.005, 0.005))
    ends = np.array([0.0, 150.0])
    line = Centerline(
        lon_deg=np.array([-99.0, -98.999]), lat_deg=np.array([41.4, 41.401]), along_m=ends,
        sd_m=np.zeros(2), elevation_m=0.0, made_from="designed alignment", alignment=made,
        crs="EPSG:26914",
    )  # fmt: skip
    lane = strip(ends, [0.0, 0.0], [3.6, 3.6])
    area_m2, _ = ground(lane, (), line).amounts()

    turn_rad = 60.0 * 0.005 / 2 + 40.0 * 0.005
    assert float(area_m2.sum()) == pytest.approx(150.0 * 3.6 - turn_rad * 3.6**2 / 2, rel=1e-12)


def test_a_depth_that_varies_along_and_across_is_integrated() -> None:
    """By hand: a width of 2 m, depth (1 + n/2)(s/100) x 0.1 m: 100/2 x 0.1 x (2 + 1)."""
    one = run(0.0, 2.0, along_m=(0.0, 100.0), depth_left_m=np.array([0.0, 0.1]),
              depth_right_m=np.array([0.0, 0.2]))  # fmt: skip
    got = ground(passes=(one,))
    _, volume_m3 = got.amounts()

    assert float(volume_m3[got.first == 0].sum()) == pytest.approx(15.0)


def outline(line, one, from_m, to_m):
    """A strip as a polygon of the plane, its edges followed every half metre."""
    at_m = np.unique(np.r_[np.linspace(from_m, to_m, int((to_m - from_m) * 2) + 2), one.along_m])
    at_m = at_m[(at_m >= from_m) & (at_m <= to_m)]
    edges = [np.interp(at_m, one.along_m, edge_m) for edge_m in (one.left_m, one.right_m)]
    sides = [PLANE.to_xy(*place(line, at_m, edge_m)) for edge_m in edges]
    return shapely.Polygon(np.vstack([sides[0], sides[1][::-1]]))


@given(st.floats(-0.02, 0.02), strips(least_m=0.1, most_m=8.0, long_m=300.0), fleets())
def test_pieces_are_the_ground_as_polygons_have_it(bend_per_m, one, fleet) -> None:
    """On curves down to 50 m, against polygons: chords of a metre leave the arc by 2.5 mm."""
    line = curved(400.0, bend_per_m=bend_per_m)
    got = ground(one, passes_of([one], leg(line=line), fleet), line)
    area_m2, _ = got.amounts()
    begin_m, end_m = float(one.along_m[0]), float(one.along_m[-1])
    expected_m2 = outline(line, one, begin_m, end_m).area

    # Half a segment at the line's begin is taken as straight.
    allowed_m2 = 0.002 * expected_m2 + abs(bend_per_m) * 64.0 + 1e-6
    assert float(area_m2.sum()) == pytest.approx(expected_m2, abs=allowed_m2)


@given(st.lists(runs(), min_size=0, max_size=3), st.lists(st.floats(0.0, 300.0), max_size=4))
def test_pieces_are_the_strip_whatever_runs_over_it(many, ends) -> None:
    """They add up to it, and those that are cut to the union of the drums (shapely)."""
    many = [run(one.left_m, one.right_m, along_m=one.along_m, code=f"A R{k}", order=k)
            for k, one in enumerate(many)]  # fmt: skip
    ends = sorted(ends[: len(ends) // 2 * 2])
    out = {"A R0": list(zip(ends[::2], ends[1::2], strict=True))}
    lane = strip([0.0, 120.0, 250.0], [-1.0, -2.0, 0.0], [3.0, 3.0, 5.0])
    got = ground(lane, many, out=out)
    area_m2, _ = got.amounts()

    assert float(area_m2.sum()) == pytest.approx(np.trapezoid([4.0, 5.0, 5.0], [0, 120, 250]))
    whole = band(lane)
    down = [
        band(one) if one.code != "A R0" else band(one).difference(shapely.union_all(
            [shapely.box(low, -99.0, high, 99.0) for low, high in out["A R0"]]))
        for one in many
    ]  # fmt: skip
    cut_m2 = shapely.union_all(down).intersection(whole).area if down else 0.0
    assert float(area_m2[got.first >= 0].sum()) == pytest.approx(cut_m2, abs=1e-6)


def band(one):
    """A strip or a pass as a polygon of along and offset."""
    edges = [np.column_stack([one.along_m, edge_m]) for edge_m in (one.left_m, one.right_m)]
    return shapely.Polygon(np.vstack([edges[0], edges[1][::-1]]))


@given(winding_xy(most=12), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_amounts_add_up_over_any_split(xy_m, one_share, two_share) -> None:
    """From end to end, with depths that vary."""
    line = line_from_xy(xy_m)
    ends = np.array([0.0, line.length_m])
    lane = strip(ends, [-3.0, -1.0], [4.0, 2.0], depth_left_m=np.array([0.02, 0.1]),
                 depth_right_m=np.array([0.05, 0.03]))  # fmt: skip
    got = ground(lane, (), line)
    splits = sorted([0.0, one_share * line.length_m, two_share * line.length_m, line.length_m])
    parts = [np.sum(got.amounts(low, high), axis=1) for low, high in itertools.pairwise(splits)]
    assert np.sum(parts, axis=0) == pytest.approx(np.sum(got.amounts(), axis=1), rel=1e-9)
