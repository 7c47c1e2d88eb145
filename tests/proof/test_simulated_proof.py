"""Curves and paths driven in simulation, many of each: what make test tries on a few."""

import make_demo
import numpy as np
import pytest
from test_curves_simulated import covered, excess, made_up, simulate, width
from test_demo import path_driven_of

pytestmark = pytest.mark.proof

ROADS = 100


@pytest.fixture(scope="module")
def outcomes():
    """A hundred roads with one curve each, driven and looked at."""
    return [simulate(number) for number in range(ROADS)]


@pytest.fixture(scope="module")
def paths():
    """The paths driven of the demo and of twenty other jobs, against the truth."""
    made = [make_demo.demo(), *map(make_demo.simulate, range(100, 120))]
    return [path_driven_of(one) for one in made]


def test_each_road_has_its_one_curve_and_its_direction(outcomes):
    """None is missed, none is made up beside it."""
    assert [one.count for one in outcomes] == [1] * ROADS
    assert all(one.direction_right for one in outcomes)


def test_the_plus_minus_of_curves_covers_the_truth(outcomes):
    """The printed 95 % interval holds radius, PC, PT and deflection in 90 % or more."""
    assert covered(outcomes).min() >= 0.9


def test_curves_are_near_the_best_that_can_be_had(outcomes):
    """Errors at most 1.3 times the Cramer-Rao bound, what is stated within a quarter of it."""
    assert excess(outcomes).max() <= 1.3
    assert width(outcomes) == pytest.approx(np.ones(4), abs=0.25)


def test_no_curve_is_found_on_a_tangent():
    """Two miles, a hundred times."""
    assert made_up(ROADS) == []


def test_the_interval_of_the_path_driven_holds_the_truth_about_as_often(paths):
    """93 % to 98 % of the length."""
    held = [share[np.abs(off) <= half].sum() / share.sum() for off, half, share, _ in paths]

    assert 0.93 <= np.mean(held) <= 0.98


def test_the_path_driven_lies_within_2_5_m_of_the_road(paths):
    """For 90 % of the length and more: four drives with 2.5 m noise leave 1.25 m."""
    within = [share[np.abs(off) <= 2.5].sum() for off, _, share, _ in paths]

    assert np.mean(within) >= 0.9


def test_the_path_driven_is_as_long_as_the_road(paths):
    """Half of them within 0.05 %, all within 0.2 %."""
    errors = np.abs([error for *_, error in paths])

    assert np.median(errors) < 0.0005
    assert errors.max() < 0.002
