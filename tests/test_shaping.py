"""Smoothing a path octave by octave."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routeprep.shaping import GRID_M, even, low_pass, shaped


def wave(wavelength_m, length_m=2000.0):
    """A sine on the grid, one column."""
    at_m = np.arange(0.0, length_m, GRID_M)
    return np.sin(2 * np.pi * at_m / wavelength_m)[:, None]


def middle(values):
    """The middle half, where the ends do not reach."""
    return values[len(values) // 4 : -len(values) // 4]


@pytest.mark.parametrize("wavelength_m", [20.0, 60.0, 160.0])
def test_half_the_amplitude_passes_at_the_wavelength(wavelength_m):
    """As the penalty is set: half of it, and next to nothing at half the wavelength."""
    half = low_pass(wave(wavelength_m), wavelength_m=wavelength_m)
    little = low_pass(wave(wavelength_m / 2), wavelength_m=wavelength_m)

    assert np.abs(middle(half)).max() == pytest.approx(0.5, abs=0.01)
    assert np.abs(middle(little)).max() < 0.03


@given(st.lists(st.floats(-5, 5), min_size=3, max_size=3))
def test_a_parabola_passes_unchanged(factors):
    """Its third differences are nothing, at the ends too."""
    at = np.linspace(-1.0, 1.0, 200)
    values = np.polyval(factors, at)[:, None]

    assert low_pass(values, wavelength_m=160.0) == pytest.approx(values, abs=1e-6)


def test_a_path_is_resampled_to_even_steps_from_end_to_end():
    """Ends stay; a path shorter than the grid still gets enough vertices to be smoothed."""
    bent = even(np.array([[0.0, 0.0], [0.0, 101.0], [50.0, 101.0]]))
    short = even(np.array([[0.0, 0.0], [0.0, 1.0]]))
    steps_m = np.hypot(*np.diff(bent, axis=0).T)

    assert bent[[0, -1]].tolist() == [[0.0, 0.0], [50.0, 101.0]]
    assert np.median(steps_m) == pytest.approx(GRID_M, abs=0.05)
    assert len(short) == 5


def bump(height_m, wide_m=30.0, length_m=2000.0):
    """A straight path with one bump in its middle, on the grid."""
    at_m = np.arange(0.0, length_m, GRID_M)
    return np.column_stack([height_m * np.exp(-(((at_m - length_m / 2) / wide_m) ** 2)), at_m])


def drawn(path, *, seed, sd_m, drives=4, device_m=0.5):
    """The path, shaped from the mean of drives with white noise."""
    noise_m = np.random.default_rng(seed).normal(0.0, sd_m, (len(path), drives))
    mean_m = noise_m.mean(axis=1)
    return shaped(
        path + np.column_stack([mean_m, np.zeros(len(path))]),
        apart_m=noise_m - mean_m[:, None],
        share=np.full((len(path), drives), 1.0 / drives),
        sd_m=np.full((len(path), drives), device_m),
        widest_m=160.0,
    )


@pytest.mark.parametrize("seed", range(5))
def test_noise_is_smoothed_away_and_what_the_drives_agree_on_stays(seed):
    """Straight lines are smoothed as at the widest; a bump of 6 m keeps 90 % of its height."""
    straight = drawn(bump(0.0), seed=seed, sd_m=0.5)
    bumped = drawn(bump(6.0), seed=seed, sd_m=0.5)

    assert np.sqrt(np.mean(straight[:, 0] ** 2)) < 0.1
    assert bumped[:, 0].max() > 5.4


@pytest.mark.parametrize("seed", range(5))
def test_a_single_drive_tells_its_scatter_by_its_narrowest_octave(seed):
    """Its device says 0.5 m, it scatters by 2 m from vertex to vertex: smoothed all the same."""
    straight = drawn(bump(0.0), seed=seed, sd_m=2.0, drives=1)

    assert np.sqrt(np.mean(np.gradient(straight[:, 0], GRID_M) ** 2)) < 0.02


def test_where_no_drive_was_the_path_given_stands():
    """Shares of nothing have no noise, and nothing is divided by it."""
    path = bump(6.0)
    empty = np.zeros((len(path), 1))
    smooth = shaped(path, apart_m=empty, share=empty, sd_m=empty + 3.0, widest_m=160.0)

    assert np.abs(smooth - path).max() < 0.2


def test_a_narrow_widest_wavelength_leaves_no_octave():
    """It is the plain smoother then."""
    path = bump(2.0)
    empty = np.zeros((len(path), 1))
    smooth = shaped(path, apart_m=empty, share=empty, sd_m=empty, widest_m=20.0)

    assert smooth == pytest.approx(low_pass(path, wavelength_m=20.0), abs=1e-6)
