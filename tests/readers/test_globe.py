"""Longitudes and latitudes that can be a place."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routeprep.readers.globe import look_swapped, off_globe, on_globe, swapped

NAN, INFINITY = float("nan"), float("inf")


@pytest.mark.parametrize(
    ("lon_deg", "lat_deg", "there", "other_way"),
    [
        (0.0, 0.0, True, False), (180.0, -90.0, True, False), (-96.1, 41.2, True, False),
        (41.2, -96.1, False, True), (90.0, 180.0, False, True), (91.0, 91.0, False, False),
        (10.0, 181.0, False, False), (180.1, 0.0, False, False), (NAN, 1.0, False, False),
        (1.0, INFINITY, False, False),
    ],
)  # fmt: skip
def test_the_globe_ends_at_180_and_90_degrees(lon_deg, lat_deg, there, other_way):
    """Both bounds are on it; swapped ones would be a place the other way round."""
    assert on_globe(lon_deg, lat_deg) == there
    assert look_swapped(lon_deg, lat_deg) == other_way


@given(st.lists(st.tuples(st.floats(), st.floats()), max_size=9))
def test_many_are_judged_as_one_by_one(places):
    """Arrays give what single ones give."""
    lon_deg, lat_deg = (np.array([one[k] for one in places], np.float64) for k in (0, 1))

    assert off_globe(lon_deg, lat_deg).tolist() == [not on_globe(*one) for one in places]


@given(st.floats(-180.0, 180.0), st.floats(-90.0, 90.0))
def test_a_place_does_not_look_swapped(lon_deg, lat_deg):
    """Where both ways round are places, nothing tells."""
    assert not look_swapped(lon_deg, lat_deg)


@pytest.mark.parametrize(
    ("lon", "lat", "answer"),
    [
        ([41.0, 42.0], [-100.0, -101.0], True),
        ([41.0, math.nan], [-100.0, 41.0], True),
        ([41.0, -100.0], [-100.0, 41.0], False),
        ([11.0], [49.0], False),
        ([41.0], [200.0], False),
        ([], [], False),
    ],
)
def test_swapped_columns_are_found_where_they_can_only_be_that(lon, lat, answer) -> None:
    """All points that are known lie beyond the poles, and would not the other way round."""
    assert swapped(lon, lat) is answer
