"""Lengths, bearings and planes against geodesics computed elsewhere."""

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given
from hypothesis import strategies as st
from outside import open_data
from pyproj import Geod

from routeprep import geodesy
from routeprep.errors import LineError

lons = st.floats(-179.0, 179.0)
lats = st.floats(-75.0, 75.0)


def karney():
    """Rows of Karney's test set: lat1 lon1 azi1 lat2 lon2 azi2 s12 and more."""
    return np.loadtxt(open_data("geodesy/GeodTest-100.dat", source="GeodTest, Karney 2010"))


def test_lengths_agree_with_karneys_test_set():
    """GeodTest (C. F. F. Karney, doi:10.5281/zenodo.32156): inverse within 1 micrometre."""
    rows = karney()
    got = [geodesy.segment_lengths_m(row[[1, 4]], row[[0, 3]], elevation_m=0.0)[0] for row in rows]

    np.testing.assert_allclose(got, rows[:, 6], rtol=0, atol=1e-6)


def test_destinations_agree_with_karneys_test_set():
    """GeodTest: direct within 1e-9 degree of the published end."""
    rows = karney()
    _, lat, _ = geodesy.destinations(
        rows[:, 1], rows[:, 0], azimuth_deg=rows[:, 2], length_m=rows[:, 6]
    )

    np.testing.assert_allclose(lat, rows[:, 3], rtol=0, atol=1e-9)


def test_flinders_peak_to_buninyong_on_grs80():
    """Geoscience Australia's worked example: 54,972.271 m (GRS80; WGS 84 differs by < 0.1 mm)."""
    lon = np.array([144 + 25 / 60 + 29.5244 / 3600, 143 + 55 / 60 + 35.3839 / 3600])
    lat = -np.array([37 + 57 / 60 + 3.7203 / 3600, 37 + 39 / 60 + 10.1561 / 3600])
    got = geodesy.segment_lengths_m(lon, lat, elevation_m=0.0)[0]

    assert got == pytest.approx(54_972.271, abs=0.001)


def test_ground_is_235_mm_a_km_longer_at_1500_m():
    """EF = R / (R + h), the elevation factor of state plane practice: its inverse at 1,500 m."""
    assert geodesy.ground_factor(1500.0) == pytest.approx(1 + 1500 / 6_371_008.8, rel=1e-12)
    assert (geodesy.ground_factor(1500.0) - 1) * 1e6 == pytest.approx(235, abs=0.5)


@given(lons, lats, st.floats(0.0, 360.0), st.floats(1.0, 5000.0), st.floats(0.0, 3000.0))
def test_lengths_are_geodesics_raised_to_the_ground(lon, lat, azimuth, length_m, elevation_m):
    """A geodesic computed by geographiclib, times 1 + h/R, within 0.1 micrometre a metre."""
    end = Geodesic.WGS84.Direct(lat, lon, azimuth, length_m)
    got = geodesy.segment_lengths_m(
        np.array([lon, end["lon2"]]), np.array([lat, end["lat2"]]), elevation_m=elevation_m
    )[0]

    assert got == pytest.approx(length_m * (1 + elevation_m / 6_371_008.8), abs=1e-6, rel=1e-9)


@given(lons, lats, st.floats(-9000.0, 9000.0), st.floats(-9000.0, 9000.0))
def test_plane_is_true_to_its_promise_within_10_km(lon, lat, x, y):
    """Lengths in the plane within 1.4 mm a km of the geodesic (pyproj.Geod) near its centre."""
    plane = geodesy.plane_at(lon, lat)
    xy = np.array([[x, y], [x + 30.0, y + 40.0]])
    there_lon, there_lat = plane.to_lonlat(xy)
    _, _, got = Geod(ellps="WGS84").inv(there_lon[0], there_lat[0], there_lon[1], there_lat[1])

    assert got == pytest.approx(50.0, rel=1.4e-6, abs=1e-6)
    np.testing.assert_allclose(plane.to_xy(there_lon, there_lat), xy, rtol=0, atol=1e-6)


def test_bearing_of_a_line_running_north_is_zero():
    """Clockwise from north."""
    lon, lat = np.array([-100.0, -100.0, -99.9]), np.array([41.0, 41.1, 41.1])

    assert geodesy.bearings_deg(lon, lat) == pytest.approx([0.0, 90.0], abs=0.05)


def test_arrival_azimuth_goes_on_not_back():
    """Along a meridian the azimuth stays."""
    _, lat, onward = geodesy.destinations(
        np.array([5.0]), np.array([50.0]), azimuth_deg=np.array([0.0]), length_m=np.array([1000.0])
    )

    assert lat[0] > 50.0
    assert onward[0] == pytest.approx(0.0, abs=1e-9)


def test_nan_stays_nan_in_a_plane():
    """A point without coordinates has none in the plane."""
    xy = geodesy.plane_at(0.0, 0.0).to_xy(np.array([0.0, np.nan]), np.array([0.0, 1.0]))

    assert np.isfinite(xy).all(axis=1).tolist() == [True, False]


@pytest.mark.parametrize(("lon", "lat"), [(float("nan"), 0.0), (0.0, 91.0), (1e9, 0.0)])
def test_a_plane_needs_a_point_on_the_earth(lon, lat):
    """The message names the coordinates."""
    with pytest.raises(LineError, match=r"no plane at longitude .* expected degrees"):
        geodesy.plane_at(lon, lat)


def test_a_plane_at_numbers_of_numpy_has_its_origin_there():
    """Their text names their type, which PROJ would read as latitude 0."""
    lon, lat = np.array([-96.1]), np.array([41.2])
    xy = geodesy.plane_at(lon[0], lat[0]).to_xy(lon, lat)

    assert np.abs(xy).max() < 1e-6
