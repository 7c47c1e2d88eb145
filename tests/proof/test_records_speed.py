"""What is promised of big files of records: time of its own processor, and memory."""

import pytest
from bench.records import POINTS, measured

pytestmark = pytest.mark.proof


@pytest.fixture(scope="module")
def found():
    """Records near the job, and what was measured for each sort of file."""
    return measured()


@pytest.mark.parametrize(("suffix", "most_s"), [("geojson", 10.0), ("gpkg", 1.0), ("fgb", 1.0)])
def test_a_million_points_are_read_fast_and_in_bounded_memory(found, suffix, most_s) -> None:
    """GeoJSON under 10 s and 1 GB, the file included; formats with an index under 1 s."""
    near, by_suffix = found
    one = by_suffix[suffix]

    assert one["records"] == near
    assert one["records"] + one["left_out"] == POINTS
    assert one["seconds"] < most_s
    assert one["most_mb"] < 1000.0
