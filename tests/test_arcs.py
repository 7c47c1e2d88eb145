"""Paths of tangents and arcs."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routeprep.arcs import ArcPath


def path(*, heading_deg=45.0, break_m=(500.0, 918.879), curvature_per_m=(0.0, 0.001, 0.0)):
    """Worked curve C: a tangent of 500, R = 1000 to the right through 24 degrees, a tangent."""
    return ArcPath(
        start_xy_m=(1000.0, 1000.0),
        heading_rad=math.radians(heading_deg),
        break_m=np.array(break_m),
        curvature_per_m=np.array(curvature_per_m),
    )


def test_places_on_a_published_curve():
    """Worked curve C (coordinates by any surveying text's formulas): PC, PT and the end."""
    places, headings = path().at(np.array([500.0, 418.8790205 + 500.0, 1218.8790205]))

    assert places == pytest.approx(
        np.array([[1353.5534, 1353.5534], [1702.2922, 1580.0270], [1982.3664, 1687.5374]]),
        abs=1e-3,
    )
    assert np.degrees(headings) == pytest.approx([45.0, 69.0, 69.0], abs=1e-4)


def test_a_path_without_breaks_is_a_straight_line():
    """And goes on beyond both ends."""
    straight = path(heading_deg=0.0, break_m=(), curvature_per_m=(0.0,))
    places, _ = straight.at(np.array([-5.0, 10.0]))

    assert places == pytest.approx(np.array([[1000.0, 995.0], [1000.0, 1010.0]]))


@given(
    st.lists(st.tuples(st.floats(5.0, 1400.0), st.floats(-6.0, 6.0)), min_size=1, max_size=20),
    st.floats(60.0, 2000.0),
    st.sampled_from([-1.0, 1.0]),
    st.floats(-4.0, 4.0),
)
def test_a_point_put_beside_the_path_is_found_there(points, radius_m, way, off_by_m):
    """There and back, from a guess that is some metres off."""
    curvature = (0.0, way / radius_m, 0.0, -way / radius_m)
    one = path(break_m=(300.0, 400.0, 900.0), curvature_per_m=curvature)
    along_m, offset_m = np.array(points).T
    place, heading = one.at(along_m)
    right = np.column_stack([np.cos(heading), -np.sin(heading)])
    found_m, beside_m = one.feet(place + offset_m[:, None] * right, along_m + off_by_m)

    assert found_m == pytest.approx(along_m, abs=0.05)
    assert beside_m == pytest.approx(offset_m, abs=1e-4)
