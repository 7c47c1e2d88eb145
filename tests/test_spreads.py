"""Figures of known spreads, against the distributions themselves."""

import math

import pytest
from scipy import stats

from routeprep.spreads import HALF_95, RADIUS_68_IN_SDS, UNIFORM_IN_SDS


def test_half_of_a_95_percent_interval():
    """Of the normal distribution."""
    assert pytest.approx(stats.norm.ppf(0.975), abs=5e-7) == HALF_95


def test_the_radius_that_holds_68_percent():
    """Of the Rayleigh distribution."""
    assert pytest.approx(stats.rayleigh.ppf(0.68), abs=5e-5) == RADIUS_68_IN_SDS


def test_an_even_spread():
    """Of the uniform distribution."""
    assert pytest.approx(1.0 / stats.uniform.std(), abs=1e-12) == UNIFORM_IN_SDS
    assert math.sqrt(12.0) == UNIFORM_IN_SDS
