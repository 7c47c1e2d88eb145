"""Arcs that stand out from noise."""

import math

import numpy as np
import pytest

from routeprep.arcfit import Beside
from routeprep.arcs import ArcPath
from routeprep.bends import Pieces
from routeprep.turns import arcs_of

ROAD = ArcPath(
    start_xy_m=(0.0, 0.0),
    heading_rad=0.3,
    break_m=np.array([400.0, 550.0]),
    curvature_per_m=np.array([0.0, 1 / 250, 0.0]),
)


def found(break_m, curvature_per_m, *, sd_m=0.2, seed=1, step_m=10.0, road=ROAD):
    """Arcs along a road of 1 km from first pieces, by points with a white error."""
    along_m = np.arange(0.0, 1000.0, step_m)
    place, heading = road.at(along_m)
    off_m = np.random.default_rng(seed).normal(0.0, sd_m, len(along_m))[:, None]
    xy_m = place + off_m * np.column_stack([np.cos(heading), -np.sin(heading)])

    def points(from_m, to_m):
        rows = np.flatnonzero((along_m >= from_m) & (along_m <= to_m))
        return [
            Beside(
                xy_m=xy_m[rows], near_m=along_m[rows] - from_m, side=0,
                covariance_m2=sd_m**2 * np.eye(len(rows)),
            )
        ]  # fmt: skip

    first = Pieces(
        break_m=np.array(break_m), curvature_per_m=np.array(curvature_per_m), length_m=1000.0
    )
    return arcs_of(first, points, lambda along: road.at(np.array([along]))[0][0])


def is_the_curve(arcs):
    """Whether they are the road's one curve within its ±."""
    (arc,) = arcs
    return (
        abs(arc.from_m - 400.0) < 3 * arc.from_sd_m
        and abs(arc.to_m - 550.0) < 3 * arc.to_sd_m
        and abs(arc.curvature_per_m - 1 / 250) < 3 * arc.curvature_sd_per_m
        and abs(arc.turn_rad - 0.6) < 3 * arc.turn_sd_rad
    )


@pytest.mark.parametrize(
    ("break_m", "curvature_per_m"),
    [
        ([380.0, 570.0], [0.0, 0.003, 0.0]),
        ([380.0, 480.0, 570.0], [0.0, 0.003, 0.004, 0.0]),
        ([150.0, 250.0, 380.0, 570.0], [0.0, 0.001, 0.0, 0.003, 0.0]),
        ([380.0, 470.0, 475.0, 570.0], [0.0, 0.004, 0.0, 0.004, 0.0]),
        ([380.0, 570.0, 700.0, 780.0], [0.0, 0.003, 0.0, -0.001, 0.0]),
    ],
    ids=["about right", "in two", "and one before", "parted", "and one after"],
)
@pytest.mark.parametrize("seed", range(3))
def test_a_curve_is_found_from_whatever_first_pieces(break_m, curvature_per_m, seed):
    """Those that noise made are straightened, those that are one are joined."""
    assert is_the_curve(found(break_m, curvature_per_m, seed=seed))


@pytest.mark.parametrize("seed", range(5))
def test_first_pieces_of_a_tangent_come_to_nothing(seed):
    """No curve is left of three that noise made."""
    tangent = ArcPath(
        start_xy_m=(0.0, 0.0), heading_rad=0.3, break_m=np.array([]),
        curvature_per_m=np.array([0.0]),
    )  # fmt: skip
    pieces = [100.0, 200.0, 400.0, 500.0, 800.0], [0.0, 0.001, 0.0, -0.001, 0.0, 0.002]

    assert found(*pieces, seed=seed, road=tangent) == []


def test_with_too_few_points_nothing_is_found():
    """Five for five numbers."""
    assert found([380.0, 570.0], [0.0, 0.003, 0.0], step_m=200.0) == []


def test_a_turn_of_less_than_two_degrees_is_no_curve():
    """However sure it is."""
    gentle = ArcPath(
        start_xy_m=(0.0, 0.0), heading_rad=0.3, break_m=np.array([400.0, 550.0]),
        curvature_per_m=np.array([0.0, math.radians(1.5) / 150.0, 0.0]),
    )  # fmt: skip

    assert found([380.0, 570.0], [0.0, 0.0003, 0.0], sd_m=0.001, road=gentle) == []
