"""A line's pieces at first sight."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routeprep.bends import Pieces, pieces_of


def pieces(*ends_and_curvatures, length_m=1000.0):
    """Pieces from (begin, curvature) pairs, the first beginning at 0."""
    begins, curvatures = zip(*ends_and_curvatures, strict=True)
    return Pieces(
        break_m=np.array(begins[1:], dtype=np.float64),
        curvature_per_m=np.array(curvatures, dtype=np.float64),
        length_m=length_m,
    )


ROAD = pieces((0.0, 0.0), (300.0, 0.004), (450.0, 0.0), (700.0, -0.002))


def look(sd_rad, *, noise=None):
    """Pieces of directions along ``ROAD``, every 5 m."""
    along_m = np.arange(2.5, 1000.0, 5.0)
    knots = np.r_[0.0, ROAD.break_m, 1000.0]
    turned = np.r_[0.0, np.cumsum(ROAD.curvature_per_m * np.diff(knots))]
    heading = np.interp(along_m, knots, turned) + (0.0 if noise is None else noise)
    return pieces_of(
        along_m, heading, sd_rad=np.full(len(along_m), sd_rad), knot_m=along_m[::5], length_m=1000.0
    )


def test_tangents_and_curves_are_told_from_directions():
    """Breaks within a knot or so, curvatures within a tenth."""
    found = look(0.01)

    assert found.break_m == pytest.approx(ROAD.break_m, abs=30.0)
    assert found.curvature_per_m == pytest.approx(ROAD.curvature_per_m, rel=0.12, abs=1e-12)


def test_what_is_no_more_than_noise_is_a_tangent():
    """With a standard deviation of 1 rad a turn of 0.6 rad is nothing."""
    found = look(5.0)

    assert found.curvature_per_m.tolist() == [0.0]
    assert found.bound_m.tolist() == [0.0, 1000.0]


def test_a_line_that_bends_all_along_is_one_curve():
    """No tangent is made up."""
    along_m = np.arange(2.5, 500.0, 5.0)
    found = pieces_of(
        along_m, along_m / 200.0, sd_rad=np.full(100, 0.01), knot_m=along_m[[0, 50, -1]],
        length_m=500.0,
    )  # fmt: skip

    assert found.curvature_per_m == pytest.approx([0.005])


def test_within_takes_the_beginning_off():
    """A piece that ends where the stretch begins is not in it."""
    part = ROAD.within(450.0, 800.0)

    assert part.break_m.tolist() == [250.0]
    assert part.curvature_per_m.tolist() == [0.0, -0.002]
    assert part.length_m == 350.0


def test_a_straightened_curve_is_part_of_the_tangents_beside_it():
    """Three pieces are one."""
    found = ROAD.straightened(1)

    assert found.break_m.tolist() == [700.0]
    assert found.curvature_per_m.tolist() == [0.0, -0.002]


@pytest.mark.parametrize(
    ("piece", "breaks", "curvatures"),
    [
        (0, [450.0, 700.0], [0.004, 0.0, -0.002]),
        (2, [300.0, 575.0], [0.0, 0.004, -0.002]),
        (3, [300.0, 450.0], [0.0, 0.004, 0.0]),
    ],
)
def test_a_piece_left_out_leaves_its_room_to_its_neighbours(piece, breaks, curvatures):
    """Half each, or all to the one there is."""
    found = ROAD.without(piece)

    assert found.break_m.tolist() == breaks
    assert found.curvature_per_m.tolist() == curvatures


@given(st.lists(st.floats(-0.01, 0.01), min_size=2, max_size=8), st.data())
def test_merging_keeps_what_a_line_turns_by(curvatures, data):
    """Whichever two are made one."""
    begins = np.linspace(0.0, 900.0, len(curvatures))
    line = pieces(*zip(begins.tolist(), curvatures, strict=True))
    merged = line.merged(data.draw(st.integers(0, len(curvatures) - 2)))

    assert len(merged.curvature_per_m) == len(curvatures) - 1
    assert merged.curvature_per_m @ np.diff(merged.bound_m) == pytest.approx(
        line.curvature_per_m @ np.diff(line.bound_m), abs=1e-9
    )


def test_a_short_curve_is_gathered_into_a_like_one_beside_it():
    """40 m of the same bend; not 40 m of a bend the other way, and no tangent."""
    like = pieces((0.0, 0.0), (300.0, 0.002), (340.0, 0.004), (450.0, -0.003), (470.0, 0.0))
    found = like.gathered(60.0)

    assert found.break_m.tolist() == [300.0, 450.0, 470.0]
    assert found.curvature_per_m == pytest.approx(
        [0.0, (40 * 0.002 + 110 * 0.004) / 150, -0.003, 0]
    )
