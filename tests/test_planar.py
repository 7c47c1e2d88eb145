"""Points against a polyline in a plane."""

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from strategies import winding_xy

from routeprep.planar import Polyline, thin

L_SHAPE = np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 50.0]])


def feet(points, xy=L_SHAPE):
    """Feet of points on a polyline."""
    return Polyline(np.asarray(xy, dtype=np.float64)).feet(np.asarray(points, dtype=np.float64))


@pytest.mark.parametrize(
    ("point", "segment", "fraction", "offset_m", "distance_m"),
    [
        # GEOS 3.14 answers for LINESTRING (0 0, 100 0, 100 50): along 30 and 120; its offset
        # sign is left positive, ours right.
        ((30, 4), 0, 0.3, -4.0, 4.0),
        ((120, 20), 1, 0.4, 20.0, 20.0),
        ((50, 50), 0, 0.5, -50.0, 50.0),
        # Past an end GEOS clamps to 0 and 150; here the end segment goes on.
        ((-10, 5), 0, -0.1, -5.0, 125.0**0.5),
        ((100, 60), 1, 1.2, 0.0, 10.0),
    ],
)
def test_known_feet(point, segment, fraction, offset_m, distance_m):
    """Answers computed with another library, the offset turned to right positive."""
    got = feet([point])

    assert got.segment[0] == segment
    assert got.fraction[0] == pytest.approx(fraction)
    assert got.offset_m[0] == pytest.approx(offset_m)
    assert got.distance_m[0] == pytest.approx(distance_m)


def test_round_a_corner_the_offset_is_the_distance_to_it():
    """A point outside the corner of the L lies right of both its legs."""
    got = feet([(103.0, -4.0)])

    assert got.offset_m[0] == pytest.approx(5.0)


def test_a_point_without_coordinates_keeps_its_row():
    """The rows after it do not move up."""
    got = feet([(np.nan, 1.0), (30.0, 4.0)])

    assert got.segment.tolist() == [-1, 0]
    assert np.isnan(got.distance_m[0])
    assert got.fraction[1] == pytest.approx(0.3)


@given(winding_xy(), st.integers(0, 2**32 - 1))
def test_distance_is_what_shapely_says(xy, seed):
    """shapely (GEOS) is the independent locator: same distance within a micrometre."""
    rng = np.random.default_rng(seed)
    points = xy[rng.integers(0, len(xy), 20)] + rng.normal(0.0, 40.0, (20, 2))
    expected = shapely.distance(shapely.LineString(xy), shapely.points(points))

    np.testing.assert_allclose(Polyline(xy).feet(points).distance_m, expected, atol=1e-6)


@given(winding_xy(), st.integers(0, 2**32 - 1))
def test_offset_is_never_longer_than_the_distance(xy, seed):
    """They are equal but past an end, where the offset is square to the drawn-on segment."""
    rng = np.random.default_rng(seed)
    points = xy[rng.integers(0, len(xy), 20)] + rng.normal(0.0, 40.0, (20, 2))
    got = Polyline(xy).feet(points)
    inside = (got.fraction >= 0) & (got.fraction <= 1)

    np.testing.assert_allclose(np.abs(got.offset_m[inside]), got.distance_m[inside], atol=1e-6)
    assert (np.abs(got.offset_m[~inside]) <= got.distance_m[~inside] + 1e-9).all()


def test_thinning_takes_standstill_scatter_out():
    """Ten fixes within a metre of each other leave one."""
    xy = np.vstack([np.zeros((10, 2)), [[0.5, 0.5]], [[20.0, 0.0]]])

    assert thin(xy, step_m=8.0).tolist() == [0, 11]


def test_thinning_nothing_gives_nothing():
    """An empty drive stays empty."""
    assert thin(np.zeros((0, 2)), step_m=8.0).tolist() == []
