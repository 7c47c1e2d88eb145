"""The sun's height, against published examples and other programs' sunsets."""

import datetime as dt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routeprep.sun import DUSK_DEG, elevation_deg

# The sun rises and sets at this height of its centre: 34' of refraction and 16' of half its width
# (United States Naval Observatory's definitions).
SUNSET_DEG = -0.833


def height_deg(when, lon_deg, lat_deg):
    """The sun's height at one time and place."""
    one = np.array([dt.datetime.fromisoformat(when).timestamp()])
    return float(elevation_deg(one, np.array([lon_deg]), np.array([lat_deg]))[0])


def test_at_the_pole_it_stands_as_high_as_its_declination():
    """Meeus, Astronomical Algorithms, example 25.a: 1992 October 13, 0h, his time taken as UTC."""
    assert height_deg("1992-10-13T00:00:00+00:00", 0.0, 90.0) == pytest.approx(-7.78507, abs=1e-5)


def test_the_published_example_of_an_exact_program():
    """Reda and Andreas, Solar Position Algorithm, NREL/TP-560-34302: 39.872046 degrees."""
    height = height_deg("2003-10-17T12:30:30-07:00", -105.1786, 39.742476)

    assert height == pytest.approx(39.872046, abs=0.01)


@pytest.mark.parametrize(
    ("when", "lon_deg", "lat_deg", "expected_deg"),
    [
        ("2024-06-20T05:42:57-04:00", -77.0364, 38.8951, SUNSET_DEG),
        ("2024-06-20T20:36:52-04:00", -77.0364, 38.8951, SUNSET_DEG),
        ("2024-06-20T21:08:57-04:00", -77.0364, 38.8951, DUSK_DEG),
        ("2024-12-21T07:23:24-05:00", -77.0364, 38.8951, SUNSET_DEG),
        ("2024-12-21T16:49:45-05:00", -77.0364, 38.8951, SUNSET_DEG),
        ("2025-06-20T20:29:07-05:00", -87.6298, 41.8781, SUNSET_DEG),
        ("2025-06-20T21:03:30-05:00", -87.6298, 41.8781, DUSK_DEG),
        ("2003-10-17T06:12:43-07:00", -105.1786, 39.742476, SUNSET_DEG),
    ],
)
def test_sunsets_of_the_published_calculator(when, lon_deg, lat_deg, expected_deg):
    """Its times are whole seconds, in which the sun moves less than 0.005 degree."""
    assert height_deg(when, lon_deg, lat_deg) == pytest.approx(expected_deg, abs=0.01)


def test_in_the_far_north_no_night_falls_at_midsummer():
    """At 64.8 degrees north the sun stays above civil dusk all night of 21 June."""
    start = dt.datetime(2025, 6, 21, tzinfo=dt.UTC).timestamp()
    seconds = start + np.arange(0.0, 86_400.0, 60.0)
    place = np.ones(len(seconds))

    assert elevation_deg(seconds, -147.72 * place, 64.84 * place).min() > DUSK_DEG


@given(st.floats(0, 4e9), st.floats(-180, 180), st.floats(-90, 90))
def test_a_turn_of_the_earth_is_a_turn_of_longitude(seconds, lon_deg, lat_deg):
    """An hour later the sun stands as high 15 degrees farther west, but for the year's course."""
    now, lon, lat = np.array([seconds]), np.array([lon_deg]), np.array([lat_deg])
    later = elevation_deg(now + 3600.0, lon - 15.0, lat)

    assert elevation_deg(now, lon, lat) == pytest.approx(later, abs=0.03)


def test_without_a_time_there_is_no_height():
    """NaN in, NaN out."""
    assert np.isnan(elevation_deg(np.array([np.nan]), np.zeros(1), np.zeros(1))).all()
