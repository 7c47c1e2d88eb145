"""Tangents and arcs laid through points."""

import math

import numpy as np
import pytest

from routeprep.arcfit import Beside, laid
from routeprep.arcs import ArcPath
from routeprep.bends import Pieces

ROAD = ArcPath(
    start_xy_m=(10.0, -20.0),
    heading_rad=0.6,
    break_m=np.array([300.0, 450.0, 500.0, 620.0]),
    curvature_per_m=np.array([0.0, 1 / 200, 0.0, -1 / 150, 0.0]),
)
GUESS = Pieces(
    break_m=np.array([285.0, 470.0, 515.0, 610.0]),
    curvature_per_m=np.array([0.0, 1 / 260, 0.0, -1 / 120, 0.0]),
    length_m=900.0,
)


def points(offset_m, *, covariance_m2, side=0, step_m=10.0):
    """Points beside the road every so far."""
    along_m = np.arange(0.0, 900.0, step_m)
    place, heading = ROAD.at(along_m)
    right = np.column_stack([np.cos(heading), -np.sin(heading)])
    beside_m = np.broadcast_to(offset_m, along_m.shape)[:, None]
    return Beside(
        xy_m=place + beside_m * right, near_m=along_m, side=side, covariance_m2=covariance_m2
    )


def fit(*sets):
    """The best path, from a guess some way off."""
    return laid(GUESS, sets, start_xy_m=np.array([12.0, -19.0]), heading_rad=0.58)


def test_exact_points_give_the_path_itself():
    """To a micrometre, and no scatter."""
    found = fit(points(0.0, covariance_m2=0.01 * np.eye(90)))

    assert found.path.at(found.path.break_m)[0] == pytest.approx(ROAD.at(ROAD.break_m)[0], abs=1e-6)
    assert found.path.curvature_per_m == pytest.approx(ROAD.curvature_per_m, abs=1e-9)
    assert found.scatter_share == pytest.approx(0.0, abs=1e-9)


def test_lanes_of_two_directions_are_either_side_of_the_path():
    """Points 1.8 m right one way and 1.8 m left the other: the path lies between."""
    unit = 0.01 * np.eye(90)
    found = fit(points(1.8, covariance_m2=unit, side=1), points(-1.8, covariance_m2=unit, side=-1))

    assert found.path.at(found.path.break_m)[0] == pytest.approx(ROAD.at(ROAD.break_m)[0], abs=1e-4)
    assert found.path.curvature_per_m == pytest.approx(ROAD.curvature_per_m, abs=1e-8)


def test_standard_deviations_are_those_of_many_draws():
    """Correlated noise, 300 times: the spread of each number within 15 % of what is said."""
    rng = np.random.default_rng(5)
    along_m = np.arange(0.0, 900.0, 10.0)
    covariance_m2 = 0.25 * np.eye(90) + np.exp(-np.abs(along_m[:, None] - along_m) / 300.0)
    root = np.linalg.cholesky(covariance_m2)
    found = [
        fit(points(root @ rng.standard_normal(90), covariance_m2=covariance_m2)) for _ in range(300)
    ]
    one = fit(points(0.0, covariance_m2=covariance_m2))
    turns = [each.turn(1, to_m=900.0)[0] for each in found]
    curvatures = [each.path.curvature_per_m[1] for each in found]
    breaks_m = [_shift_m(each, 2) for each in found]

    assert np.std(turns) == pytest.approx(one.turn(1, to_m=900.0)[1], rel=0.15)
    assert np.std(curvatures) == pytest.approx(one.curvature_sd_per_m(1), rel=0.15)
    assert np.std(breaks_m) == pytest.approx(one.break_sd_m(2), rel=0.15)
    assert np.mean([each.scatter_share for each in found]) == pytest.approx(1.0, abs=0.05)


def _shift_m(found, at):
    """How far a break lies ahead of the true one, along the road [m]."""
    place, _ = found.path.at(found.path.break_m[at : at + 1])
    true, heading = ROAD.at(ROAD.break_m[at : at + 1])
    return float((place - true)[0] @ [math.sin(heading[0]), math.cos(heading[0])])


def test_points_that_scatter_more_than_stated_make_the_numbers_less_sure():
    """Ten times the standard deviation: a hundredfold scatter, ten times the ±."""
    rng = np.random.default_rng(6)
    noise_m = rng.standard_normal(90)
    calm = fit(points(0.1 * noise_m, covariance_m2=0.01 * np.eye(90)))
    wild = fit(points(1.0 * noise_m, covariance_m2=0.01 * np.eye(90)))

    assert wild.scatter_share == pytest.approx(100.0 * calm.scatter_share, rel=0.1)
    assert wild.curvature_sd_per_m(1) == pytest.approx(
        10 * calm.curvature_sd_per_m(1) * math.sqrt(calm.scatter_share), rel=0.25
    )


def test_neighbouring_curves_of_one_curvature_do_not_differ():
    """A break put into the middle of an arc: its place is not known, the step is nothing."""
    parted = Pieces(
        break_m=np.array([300.0, 380.0, 450.0, 500.0, 620.0]),
        curvature_per_m=np.array([0.0, 1 / 220, 1 / 180, 0.0, -1 / 150, 0.0]),
        length_m=900.0,
    )
    rng = np.random.default_rng(7)
    beside = points(0.1 * rng.standard_normal(90), covariance_m2=0.01 * np.eye(90))
    found = laid(parted, [beside], start_xy_m=np.array([10.0, -20.0]), heading_rad=0.6)

    assert found.step_sds(1) < 4.0


def test_a_curve_at_either_end_turns_up_to_the_end():
    """Of a path that is one arc, all of it."""
    arc = ArcPath(
        start_xy_m=(0.0, 0.0), heading_rad=0.0, break_m=np.array([]),
        curvature_per_m=np.array([0.002]),
    )  # fmt: skip
    along_m = np.arange(0.0, 501.0, 10.0)
    beside = Beside(
        xy_m=arc.at(along_m)[0], near_m=along_m, side=0, covariance_m2=0.01 * np.eye(51)
    )
    guess = Pieces(break_m=np.array([]), curvature_per_m=np.array([0.003]), length_m=500.0)
    turn_rad, sd_rad = laid(guess, [beside], start_xy_m=np.zeros(2), heading_rad=0.1).turn(
        0, to_m=500.0
    )

    assert turn_rad == pytest.approx(1.0, abs=1e-6)
    assert 0 < sd_rad < 0.01
