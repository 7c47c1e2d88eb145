"""The ground under a pass: where it lies, how large it is, and which way round it is drawn."""

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from maps.example_pack import curve
from maps.example_pack import leg as bent_leg
from sheets.made_packs import leg
from sheets.made_plans import FT, run

from routeprep.geodesy import plane_at
from routeprep.outlines import outline_deg


def ground(one, road):
    """The outline as a polygon in a plane near it [m]."""
    lon_deg, lat_deg = outline_deg(one, road)
    plane = plane_at(float(lon_deg.mean()), float(lat_deg.mean()))
    return shapely.Polygon(plane.to_xy(lon_deg, lat_deg))


def test_a_straight_pass_is_as_large_as_it_is_long_and_wide():
    """A straight road as long as its stations: length times 7.25 ft, and the ring is closed."""
    road = bent_leg("A", "Straight Road", [-96.1, -96.09], [41.2, 41.2])
    length_m = road.line.length_m
    one = run(along_m=np.array([0.0, length_m]))
    lon_deg, lat_deg = outline_deg(one, road)

    # Stations are on the ground, 360 m up: 1 + 360 / 6371008.8 of the ellipsoid's length.
    expected_m2 = length_m / (1 + 360 / 6_371_008.8) * 7.25 * FT
    assert ground(one, road).area == pytest.approx(expected_m2, rel=1e-4)
    assert (lon_deg[0], lat_deg[0]) == (lon_deg[-1], lat_deg[-1])


@given(st.floats(-12.0, 8.0), st.floats(0.5, 4.0))
def test_the_ring_runs_counter_clockwise(left_m, wide_m):
    """As RFC 7946, 3.1.6, has it, on either side of the line."""
    one = run(left_m=np.full(2, left_m), right_m=np.full(2, left_m + wide_m))

    assert ground(one, leg("A")).exterior.is_ccw


def test_on_a_bending_road_it_keeps_its_width():
    """A band beside the line, against shapely's own offset of the line in the plane."""
    road = bent_leg("A", "Bent Road", *curve())
    first_m, last_m = 200.0, 1500.0
    one = run(
        along_m=np.array([first_m, last_m]), left_m=np.full(2, 1.0), right_m=np.full(2, 3.0)
    )  # fmt: skip
    made = ground(one, road)

    assert made.is_valid
    # A band off a bending line is longer or shorter by the turn it makes: 2 m x 1 rad at most.
    assert made.area == pytest.approx(2.0 * (last_m - first_m), rel=0.005)


def test_right_of_the_line_is_south_of_a_road_to_the_east():
    """All of the ring lies on the right."""
    _, lat_deg = outline_deg(run(left_m=np.full(2, 1.0)), leg("A"))

    assert (lat_deg < 41.2).all()
