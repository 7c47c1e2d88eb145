"""Designed alignments by their elements: laws, hard places, and answers from elsewhere."""

import itertools
import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import fresnel

from routeprep.elements import locate_near_on, locate_on, place_on, vertices_on
from routeprep.errors import LineError
from routeprep.lines import Alignment

# A state plane's size of coordinates [m].
FAR = (400_000.0, 190_000.0)


def clothoid(s_m, k_per_m, rate):
    """East and north of a clothoid that starts northward, right positive, by Fresnel integrals.

    Completing the square of k s + rate s^2 / 2 (Abramowitz and Stegun 1964, 7.3.1 and 7.3.2);
    scipy's integrals are not those of the package.
    """
    size = math.sqrt(math.pi / abs(rate))
    sine, cosine = fresnel((np.array([s_m, 0.0]) + k_per_m / rate) / size)
    whole = size * (cosine[0] - cosine[1] + 1j * math.copysign(1.0, rate) * (sine[0] - sine[1]))
    turned = whole * np.exp(-0.5j * k_per_m**2 / rate)
    return turned.imag, turned.real


def ahead_right(s_m, k0, k1, length_m):
    """Forward and right of an element's start, by textbook formulas."""
    if k0 != k1:
        right, forward = clothoid(s_m, k0, (k1 - k0) / length_m)
    elif k0:
        forward, right = math.sin(k0 * s_m) / k0, (1.0 - math.cos(k0 * s_m)) / k0
    else:
        forward, right = s_m, 0.0
    return forward, right


def alignment(*elements, start=FAR, heading_deg=30.0, name="example"):
    """An alignment from (curvature at start, at end, length), end to end and smooth."""
    x, y = start
    rows = []
    for k0, k1, length_m in elements:
        rows.append((x, y, heading_deg, k0, k1, length_m))
        forward, right = ahead_right(length_m, k0, k1, length_m)
        h = math.radians(heading_deg)
        x += forward * math.sin(h) + right * math.cos(h)
        y += forward * math.cos(h) - right * math.sin(h)
        heading_deg += math.degrees(0.5 * (k0 + k1) * length_m)
    return from_rows(rows, name=name)


def from_rows(rows, name="example"):
    """An alignment from x, y, heading, curvatures and length of each element."""
    x, y, heading, k0, k1, length = np.array(rows, dtype=np.float64).T
    kinds = ["spiral" if a != b else "curve" if a else "line" for a, b in zip(k0, k1, strict=True)]
    return Alignment(
        name=name,
        what=tuple(kinds),
        x_m=x,
        y_m=y,
        heading_deg=heading,
        curvature_start_per_m=k0,
        curvature_end_per_m=k1,
        length_m=length,
        unit="m",
        crs="",
        start_value=0.0,
        equations=(),
        profile=(),
    )


def turned_round(one):
    """The same line from its other end."""
    end_m = np.cumsum(one.length_m)
    rows = []
    for i in range(len(one.what) - 1, -1, -1):
        single = from_rows(
            [
                (one.x_m[i], one.y_m[i], one.heading_deg[i], one.curvature_start_per_m[i],
                 one.curvature_end_per_m[i], one.length_m[i])
            ]
        )  # fmt: skip
        ((x, y),), (heading,) = place_on(single, one.length_m[i : i + 1], np.zeros(1))
        rows.append(
            (x, y, heading + 180.0, -one.curvature_end_per_m[i], -one.curvature_start_per_m[i],
             one.length_m[i])
        )  # fmt: skip
    return from_rows(rows), float(end_m[-1])


@st.composite
def alignments(draw):
    """Lines, arcs and clothoids that stay within 77 degrees of one direction."""
    elements, heading = [], 0.0
    for _ in range(draw(st.integers(1, 6))):
        kind = draw(st.sampled_from(["line", "arc", "spiral"]))
        length_m = draw(st.floats(10.0, 400.0))
        if kind == "line":
            elements.append((0.0, 0.0, length_m))
            continue
        turn = draw(st.floats(0.02, 1.2))
        share = 0.5 if kind == "arc" else draw(st.sampled_from([0.0, 1.0, 0.2, 0.9]))
        sign = -1.0 if heading + turn > 1.35 else draw(st.sampled_from([-1.0, 1.0]))
        sign = 1.0 if heading - turn < -1.35 else sign
        first, last = (2.0 * sign * turn * one / length_m for one in (share, 1.0 - share))
        heading += sign * turn
        elements.append((first, last, length_m))
    return alignment(
        *elements,
        start=(draw(st.floats(-1e6, 1e6)), draw(st.floats(-1e6, 1e6))),
        heading_deg=draw(st.floats(0.0, 360.0)),
    )


def least_radius_m(one):
    """The least radius of an alignment, 200 m for straight ones."""
    ends = [one.curvature_start_per_m, one.curvature_end_per_m]
    return 1.0 / max(0.005, float(np.abs(ends).max()))


def array(*values):
    """Numbers as an array."""
    return np.array(values, dtype=np.float64)


def located(one, *points):
    """Along, offset, past an end and distance of points, a row each."""
    got = locate_on(one, np.array(points, dtype=np.float64))
    return np.column_stack([got.along_m, got.offset_m, got.past_end_m, got.distance_m])


@given(
    st.floats(20.0, 3000.0), st.floats(5.0, 900.0), st.floats(0.0, 1.0), st.sampled_from([-1, 1])
)
def test_a_clothoid_from_a_tangent_is_that_of_fresnel(radius_m, length_m, fraction, side):
    """Within 1e-9 m of Fresnel integrals, up to two turns."""
    length_m = min(length_m, 8.0 * math.pi * radius_m)
    one = alignment((0.0, side / radius_m, length_m), start=(0.0, 0.0), heading_deg=0.0)
    s_m = fraction * length_m
    ((east, north),), _ = place_on(one, array(s_m), array(0.0))

    assert (east, north) == pytest.approx(
        clothoid(s_m, 0.0, side / radius_m / length_m), abs=1e-9, rel=0
    )


@given(st.floats(30.0, 900.0), st.floats(1.3, 5.0), st.floats(20.0, 400.0), st.floats(0.0, 1.0))
def test_a_clothoid_between_two_curves_is_that_of_fresnel(radius_m, ratio, length_m, fraction):
    """Within 1e-9 m, also when it begins with a curvature."""
    k0, k1 = 1.0 / radius_m, 1.0 / (radius_m * ratio)
    one = alignment((k0, k1, length_m), start=(0.0, 0.0), heading_deg=0.0)
    s_m = fraction * length_m
    ((east, north),), (heading_deg,) = place_on(one, array(s_m), array(0.0))
    rate = (k1 - k0) / length_m

    assert (east, north) == pytest.approx(clothoid(s_m, k0, rate), abs=1e-9, rel=0)
    turned = math.degrees(k0 * s_m + 0.5 * rate * s_m**2) % 360.0
    assert math.cos(math.radians(heading_deg - turned)) == pytest.approx(1.0, abs=1e-12)


def test_a_whole_circle_comes_back() -> None:
    """An arc of one turn ends where it starts, and half of it lies a diameter away, right."""
    one = alignment((0.01, 0.01, 200.0 * math.pi), start=(0.0, 0.0), heading_deg=0.0)
    xy_m, heading_deg = place_on(one, array(0.0, 100.0 * math.pi, 200.0 * math.pi), np.zeros(3))

    assert xy_m == pytest.approx(np.array([[0.0, 0.0], [200.0, 0.0], [0.0, 0.0]]), abs=1e-9)
    assert heading_deg == pytest.approx(array(0.0, 180.0, 0.0), abs=1e-9)


@given(alignments(), st.floats(0.0, 1.0), st.floats(-0.5, 0.5))
def test_a_point_placed_is_located_where_it_was_placed(one, fraction, share):
    """Round trip within 1e-6 m out to half the least radius, wherever the elements meet."""
    along_m, offset_m = fraction * one.length_m.sum(), share * least_radius_m(one)
    xy_m, _ = place_on(one, array(along_m), array(offset_m))
    ((along, offset, past, distance),) = located(one, *xy_m)

    assert (along, offset, past) == pytest.approx((along_m, offset_m, 0.0), abs=1e-6)
    assert distance == pytest.approx(abs(offset_m), abs=1e-6)


@given(alignments(), st.floats(0.001, 500.0), st.floats(-5.0, 5.0), st.booleans())
def test_past_an_end_the_tangent_is_drawn_on(one, past_m, offset_m, at_start):
    """A point past an end is placed and located on the end's tangent, and said by how much."""
    along_m = -past_m if at_start else one.length_m.sum() + past_m
    xy_m, _ = place_on(one, array(along_m), array(offset_m))
    ((along, offset, past, distance),) = located(one, *xy_m)

    if distance == pytest.approx(math.hypot(past_m, offset_m), abs=1e-6):
        assert (along, offset, past) == pytest.approx((along_m, offset_m, past_m), abs=1e-6)
    else:  # it lies beside another part of the line, nearer
        assert distance < math.hypot(past_m, offset_m)


@given(alignments(), st.floats(-0.2, 1.2), st.floats(-0.5, 0.5))
def test_turning_the_line_round_mirrors_along_and_flips_sides(one, fraction, share):
    """Along becomes length minus along, right becomes left, distances stay."""
    along_m, offset_m = fraction * one.length_m.sum(), share * least_radius_m(one)
    xy_m, _ = place_on(one, array(along_m), array(offset_m))
    other, length_m = turned_round(one)
    ((up, right, past, distance),) = located(one, *xy_m)
    ((down, left, past_too, as_far),) = located(other, *xy_m)

    assert (length_m - down, -left) == pytest.approx((up, right), abs=1e-6)
    assert (past_too, as_far) == pytest.approx((past, distance), abs=1e-6)


@given(alignments(), st.floats(-300.0, 300.0), st.floats(-300.0, 300.0))
def test_no_other_place_is_nearer(one, dx_m, dy_m):
    """The distance is that of a line of half-metre chords, which leave the elements by 1e-5 m."""
    v_m = vertices_on(one, chord_error_m=1e-5, step_m=0.5)
    chords, _ = place_on(one, v_m, np.zeros(len(v_m)))
    point = chords.mean(axis=0) + array(dx_m, dy_m)
    ((along, _, past, distance),) = located(one, point)
    foot, _ = place_on(one, array(min(max(along, 0.0), one.length_m.sum())), array(0.0))

    chord_m = shapely.LineString(chords).distance(shapely.Point(point))
    assert distance == pytest.approx(chord_m, abs=1.1e-5)
    assert math.hypot(*(foot[0] - point)) == pytest.approx(distance, abs=1e-6)
    assert past >= 0.0


def test_points_that_are_not_finite_get_nothing() -> None:
    """NaN and infinity give NaN, in their rows, and the others are located."""
    one = alignment((0.0, 0.0, 100.0), start=(0.0, 0.0), heading_deg=90.0)
    points = [[math.nan, 0.0], [50.0, -2.0], [0.0, math.inf]]
    got = located(one, *points)
    near = locate_near_on(
        one, np.array([*points, [50.0, -2.0]]), near_m=array(50, 50, 50, math.nan), window_m=10.0
    )

    assert got[1] == pytest.approx([50.0, 2.0, 0.0, 2.0])
    assert np.isnan(got[[0, 2]]).all()
    assert np.isnan(near.along_m).tolist() == [True, False, True, True]


def test_no_points_give_no_rows() -> None:
    """Empty arrays come back empty."""
    one = alignment((0.0, 0.01, 100.0))

    assert len(locate_on(one, np.zeros((0, 2))).along_m) == 0
    assert len(place_on(one, array(), array())[0]) == 0


def test_places_that_are_not_finite_get_nothing() -> None:
    """A distance along that is NaN or infinite has no coordinates; the others have."""
    one = alignment((0.0, 0.01, 100.0), start=(0.0, 0.0))
    xy_m, heading_deg = place_on(one, array(math.nan, 0.0, math.inf), np.zeros(3))

    assert np.isnan(xy_m).all(axis=1).tolist() == [True, False, True]
    assert np.isnan(heading_deg).tolist() == [True, False, True]


def corner(turn_deg):
    """Two lines of 100 m, east and then turned, that meet in (100, 0)."""
    return from_rows([(0.0, 0.0, 90.0, 0, 0, 100.0), (100.0, 0.0, 90.0 + turn_deg, 0, 0, 100.0)])


@pytest.mark.parametrize(("turn_deg", "side"), [(90.0, -1.0), (-90.0, 1.0), (40.0, -1.0)])
def test_round_a_corner_the_offset_is_the_distance(turn_deg, side):
    """Outside of a corner the place is the corner, on the side that both lines agree on."""
    away = math.radians(90.0 + 0.5 * turn_deg + 90.0 * side)
    got = located(corner(turn_deg), [100.0 + 5.0 * math.sin(away), 5.0 * math.cos(away)])

    assert got[0] == pytest.approx([100.0, 5.0 * side, 0.0, 5.0])


def test_of_two_places_as_near_the_first_one_counts() -> None:
    """Inside a square corner both legs are 10 m away: along the first leg it is."""
    assert located(corner(90.0), [90.0, -10.0])[0] == pytest.approx([90.0, 10.0, 0.0, 10.0])


def test_at_the_centre_of_an_arc_the_start_counts() -> None:
    """All of an arc is as near to its centre; the first of it is taken."""
    one = alignment((0.01, 0.01, 300.0), start=(0.0, 0.0), heading_deg=0.0)

    assert located(one, [100.0, 0.0])[0] == pytest.approx([0.0, 100.0, 0.0, 100.0], abs=1e-6)


@pytest.mark.parametrize("k", [0.01, -0.01])
def test_more_than_half_a_circle_is_located_all_round(k):
    """Each quarter of 1.9 turns of a half circle comes back, inside and outside."""
    one = alignment((k, k, 0.95 * 200.0 * math.pi), start=(0.0, 0.0), heading_deg=0.0)
    along_m = np.linspace(0.0, 0.95 * 200.0 * math.pi, 41)[1:-1].repeat(2)
    offset_m = np.tile([30.0, -30.0], 39)
    got = locate_on(one, place_on(one, along_m, offset_m)[0])

    assert got.along_m == pytest.approx(along_m, abs=1e-6)
    assert got.offset_m == pytest.approx(offset_m, abs=1e-6)


def test_beyond_the_centres_of_a_clothoid_the_nearest_of_all_counts() -> None:
    """Points on and past the evolute have several feet; no place of 2 mm steps is nearer."""
    one = alignment((0.0, 0.04, 120.0), start=(0.0, 0.0), heading_deg=0.0)
    v_m = np.linspace(0.0, 120.0, 60_001)
    line, _ = place_on(one, v_m, np.zeros(len(v_m)))
    grid = np.stack(np.meshgrid(np.linspace(-20, 80, 26), np.linspace(20, 140, 31)), axis=-1)
    points = grid.reshape(-1, 2)
    got = locate_on(one, points)
    least = np.array([np.hypot(*(line - point).T).min() for point in points])

    assert got.distance_m == pytest.approx(least, abs=1e-5)


def test_a_gap_between_elements_is_not_bridged() -> None:
    """Where the file leaves a gap, a point in it belongs to the nearer end."""
    one = from_rows([(0.0, 0.0, 90.0, 0, 0, 100.0), (102.0, 0.0, 90.0, 0, 0, 100.0)])
    got = located(one, [100.5, 0.0], [101.6, -1.0])

    assert got[0] == pytest.approx([100.0, 0.5, 0.0, 0.5])
    assert got[1] == pytest.approx([100.0, math.hypot(0.4, 1.0), 0.0, math.hypot(0.4, 1.0)])


HAIRPIN = [(0.0, 0.0, 200.0), (0.1, 0.1, 10.0 * math.pi), (0.0, 0.0, 200.0)]


def test_a_known_distance_along_keeps_to_its_leg() -> None:
    """On a hairpin 20 m wide a point nearer to the other leg stays on the one it is known on."""
    one = alignment(*HAIRPIN, start=(0.0, 0.0), heading_deg=0.0)
    point = [11.0, 150.0]
    everywhere = located(one, point)[0]
    near = locate_near_on(one, np.array([point]), near_m=array(140.0), window_m=30.0)

    assert everywhere[:2] == pytest.approx([250.0 + 10.0 * math.pi, 9.0])
    assert (near.along_m[0], near.offset_m[0]) == pytest.approx((150.0, 11.0))


def test_a_window_ends_where_it_says() -> None:
    """The nearest place of a window is its edge, when the nearest of all lies outside."""
    one = alignment((0.0, 0.0, 100.0), (0.0, 0.01, 100.0), start=(0.0, 0.0), heading_deg=0.0)
    near = locate_near_on(
        one, np.array([[3.0, 64.0], [3.0, 64.0]]), near_m=array(40.0, 80.0), window_m=20.0
    )

    assert near.along_m == pytest.approx(array(60.0, 64.0))
    assert near.offset_m == pytest.approx(array(5.0, 3.0))
    assert near.past_end_m.tolist() == [0.0, 0.0]


def test_a_window_past_an_end_leaves_the_end() -> None:
    """Known to be before the start: the start's tangent is drawn on; and so past the end."""
    one = alignment((0.0, 0.0, 100.0), start=(0.0, 0.0), heading_deg=0.0)
    near = locate_near_on(
        one, np.array([[2.0, -45.0], [2.0, 130.0]]), near_m=array(-50.0, 150.0), window_m=20.0
    )

    assert near.along_m == pytest.approx(array(-45.0, 130.0))
    assert near.past_end_m == pytest.approx(array(45.0, 30.0))


@given(alignments(), st.floats(0.0, 1.0), st.floats(-0.5, 0.5), st.floats(-20.0, 20.0))
def test_near_the_right_place_the_window_changes_nothing(one, fraction, share, off_m):
    """A window that holds the nearest place gives what the whole line gives."""
    along_m, offset_m = fraction * one.length_m.sum(), share * least_radius_m(one)
    xy_m, _ = place_on(one, array(along_m), array(offset_m))
    got = locate_near_on(one, xy_m, near_m=array(along_m + off_m), window_m=25.0)

    assert (got.along_m[0], got.offset_m[0]) == pytest.approx((along_m, offset_m), abs=1e-6)


def test_many_points_are_located_like_few() -> None:
    """More points than are looked at together come back in their rows."""
    one = alignment((0.0, 0.0, 50.0), (0.0, 0.002, 80.0), (0.002, 0.002, 100.0))
    along_m = np.linspace(0.0, 230.0, 12_001)
    got = locate_on(one, place_on(one, along_m, np.full(len(along_m), -7.0))[0])

    assert np.abs(got.along_m - along_m).max() < 1e-6
    assert np.abs(got.offset_m + 7.0).max() < 1e-6


@given(alignments(), st.floats(0.001, 1.0), st.floats(1.0, 200.0))
def test_vertices_keep_to_error_and_step(one, chord_error_m, step_m):
    """From 0 to the length, through each end of an element, and no chord leaves by more."""
    v_m = vertices_on(one, chord_error_m=chord_error_m, step_m=step_m)
    xy_m, _ = place_on(one, v_m, np.zeros(len(v_m)))
    between_m = np.linspace(v_m[:-1], v_m[1:], 9).T
    lines = [shapely.LineString(pair) for pair in itertools.pairwise(xy_m)]
    off_m = [
        shapely.distance(line, shapely.points(place_on(one, row, np.zeros(9))[0])).max()
        for line, row in zip(lines, between_m, strict=True)
    ]

    assert (v_m[0], v_m[-1]) == (0.0, pytest.approx(one.length_m.sum()))
    assert set(np.cumsum(one.length_m)[:-1]) <= set(v_m)
    assert np.diff(v_m).max() <= step_m + 1e-9
    assert np.diff(v_m).min() > 0.0
    assert max(off_m) <= chord_error_m + 1e-6


@pytest.mark.parametrize(("error_m", "step_m"), [(0.0, 1.0), (0.1, -1.0), (math.nan, 1.0)])
def test_vertices_need_an_error_and_a_step_above_nothing(error_m, step_m):
    """Anything else is refused with the values."""
    with pytest.raises(LineError, match=r"'example': a chord error of .* and a step of"):
        vertices_on(alignment((0.0, 0.0, 1.0)), chord_error_m=error_m, step_m=step_m)


def test_where_elements_meet_the_later_one_counts() -> None:
    """At a joint the coordinates are the file's own start of the next element."""
    one = from_rows([(0.0, 0.0, 90.0, 0, 0, 100.0), (100.0, 0.004, 90.0, 0, 0, 100.0)])

    assert place_on(one, array(100.0), array(0.0))[0][0].tolist() == [100.0, 0.004]
