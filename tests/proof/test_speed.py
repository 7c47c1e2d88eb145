"""Speed and memory that are promised, against a public alternative in the same run."""

import pytest
from bench.reading import POINTS, measured

pytestmark = pytest.mark.proof


def test_a_gpx_of_a_million_points_is_read_fast_and_in_bounded_memory():
    """At least five times as fast as gpxpy, and in 350 MB beside the file."""
    found = measured()

    assert found["fixes"] == POINTS
    assert found["gpxpy_s"] / found["seconds"] >= 5.0
    assert found["grown_mb"] <= 350.0
