"""Planes of coordinate systems against PROJ itself, published factors, and their laws."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pyproj import CRS, Geod, Proj, Transformer

from routeprep.errors import LineError
from routeprep.grids import combined_factor, elevation_factor, grid_of, lonlat_of

# A place in each plane; three kinds of feet and metres, three projections, axes either way round.
PLACES = {
    "EPSG:2965": (-86.1, 39.8),
    "EPSG:2927": (-122.3, 47.2),
    "EPSG:2222": (-110.2, 34.5),
    "EPSG:2263": (-74.0, 40.7),
    "EPSG:26931": (-134.0, 56.3),
    "EPSG:26915": (-91.0, 45.0),
    "EPSG:3878": (24.1, 61.2),
    "EPSG:28356": (151.2, -33.9),
}
crss = st.sampled_from(sorted(PLACES))


def near(crs, east_deg, north_deg):
    """Arrays of one place near that of a plane."""
    lon, lat = PLACES[crs]
    return np.array([lon + east_deg]), np.array([lat + north_deg])


@given(crss, st.floats(-0.5, 0.5), st.floats(-0.5, 0.5))
def test_to_a_plane_and_back(crs, east_deg, north_deg):
    """Within 1e-10 degree, 0.01 mm."""
    lon, lat = near(crs, east_deg, north_deg)
    grid = grid_of(crs)

    np.testing.assert_allclose(grid.to_lonlat(grid.to_xy(lon, lat)), (lon, lat), atol=1e-10)


@given(crss, st.floats(-0.5, 0.5), st.floats(-0.5, 0.5))
def test_coordinates_are_those_of_proj_in_metres(crs, east_deg, north_deg):
    """PROJ's own unit times the exact factor of the feet, east first, within 1e-9 m a million."""
    lon, lat = near(crs, east_deg, north_deg)
    there = CRS.from_user_input(crs)
    own = Transformer.from_crs(there.geodetic_crs, there, always_xy=True).transform(lon, lat)
    metres = {"foot": 0.3048, "US survey foot": 1200 / 3937, "metre": 1.0}
    grid = grid_of(crs)
    expected = np.ravel(own) * metres[there.axis_info[0].unit_name]

    assert grid.unit_m == pytest.approx(metres[grid.unit], rel=1e-15)
    np.testing.assert_allclose(grid.to_xy(lon, lat)[0], expected, rtol=1e-15, atol=0)


@given(crss, st.floats(-0.5, 0.5), st.floats(-0.5, 0.5))
def test_scale_is_the_point_scale_of_proj(crs, east_deg, north_deg):
    """Proj.get_factors, within 2 parts in a thousand million."""
    lon, lat = near(crs, east_deg, north_deg)
    expected = Proj(CRS.from_user_input(crs)).get_factors(lon, lat)

    assert grid_of(crs).scale_at(lon, lat) == pytest.approx(expected.meridional_scale, abs=2e-9)
    assert grid_of(crs).scale_at(lon, lat) == pytest.approx(expected.parallel_scale, abs=2e-9)


@pytest.mark.parametrize(
    ("crs", "lon", "lat", "scale"),
    [
        ("EPSG:26915", -91.0, 45.0, 0.99990554),
        ("EPSG:26915", -90.0, 45.0, 1.00028750),
        ("EPSG:26915", -93.0, 45.0, 0.9996),
        ("EPSG:3435", -88.0 - 20.0 / 60.0, 41.0, 0.999975),
        ("EPSG:3424", -74.5, 40.0, 0.9999),
    ],
)
def test_known_point_scales(crs, lon, lat, scale):
    """UTM by PROJ 9.5; at a central meridian what the zone's law says (1/40,000 and 1/10,000)."""
    assert grid_of(crs).scale_at(np.array([lon]), np.array([lat])) == pytest.approx(scale, abs=1e-8)


def test_a_known_place_in_utm():
    """EPSG:26915 at 45 N, 91 W by PROJ 9.5: 657630.641 E, 4984896.171 N."""
    xy = grid_of("EPSG:26915").to_xy(np.array([-91.0]), np.array([45.0]))

    np.testing.assert_allclose(xy, [[657630.641, 4984896.171]], rtol=0, atol=0.0005)


@given(crss, st.floats(0.0, 360.0))
def test_a_length_over_its_scale_is_the_geodesic(crs, azimuth_deg):
    """100 m in any direction, by pyproj.Geod, within 0.001 mm."""
    lon, lat = near(crs, 0.1, 0.1)
    there = Geod(ellps="WGS84").fwd(lon, lat, np.array([azimuth_deg]), np.array([100.0]))[:2]
    half = Geod(ellps="WGS84").fwd(lon, lat, np.array([azimuth_deg]), np.array([50.0]))[:2]
    grid = grid_of(crs)
    step = grid.to_xy(*there) - grid.to_xy(lon, lat)

    assert np.hypot(*step.T) / grid.scale_at(*half) == pytest.approx(100.0, abs=1e-6)


def test_published_combined_factor():
    """A state agency's worked example: k 0.999981 at 500 ft is 0.999957; 10,000 ft is 9,999.571."""
    combined = combined_factor(0.999981, 500 * 0.3048)

    assert round(combined, 6) == 0.999957
    assert 10_000 * combined == pytest.approx(9_999.571, abs=0.001)


@pytest.mark.parametrize(
    ("elevation_m", "factor"),
    [(0.0, 1.0), (200.0, 0.999969), (500.0, 0.999922), (1000.0, 0.999843), (2000.0, 0.999686)],
)
def test_published_table_of_elevation_factors(elevation_m, factor):
    """R = 6,371 km; a page that prints 0.999921 at 500 m cuts off instead of rounding."""
    assert round(elevation_factor(elevation_m), 6) == factor


def test_a_mile_up_a_mile_is_133_hundredths_of_a_foot_longer():
    """h = 5,280 ft: EF 0.999747505 with R = 20,906,000 ft, 1.33 ft a mile."""
    assert elevation_factor(1609.344) == pytest.approx(0.999747505, abs=5e-8)
    assert 5280 / elevation_factor(1609.344) - 5280 == pytest.approx(1.33, abs=0.005)


@pytest.mark.parametrize(
    ("crs", "sentence"),
    [
        ("", "coordinate system '' is not known"),
        ("EPSG:4326", r"is 'WGS 84' \(Geographic 2D CRS, axes north and east\); expected a plane"),
        ("EPSG:2048", r"\(Projected CRS, axes west and south\); expected a plane whose axes run"),
        ("EPSG:26786", "lies more than a metre or two"),
    ],
)
def test_what_is_no_plane_east_and_north_is_refused(crs, sentence):
    """The message names it and what to give."""
    with pytest.raises(LineError, match=sentence):
        grid_of(crs)


def test_points_without_a_place_have_none_in_the_plane_nor_back():
    """NaN, and what a projection cannot show, are NaN; their neighbours stay."""
    grid = grid_of("EPSG:2927")
    xy = grid.to_xy(np.array([-122.3, np.nan, -122.3]), np.array([47.2, 47.2, -90.0]))
    lon, lat = grid.to_lonlat(np.array([[1e6, np.inf], [3e5, 2e5]]))

    assert np.isnan(xy).all(axis=1).tolist() == [False, True, True]
    assert np.isnan(lon).tolist() == np.isnan(lat).tolist() == [True, False]
    assert len(grid.to_xy(np.zeros(0), np.zeros(0))) == 0


def test_a_named_operation_moves_places_by_about_a_metre_both_ways():
    """EPSG:1515 against taking NAD83 as WGS 84, and back."""
    lon, lat = near("EPSG:2965", 0.0, 0.0)
    plain, moved = grid_of("EPSG:2965"), grid_of("EPSG:2965", datum_operation="EPSG:1515")
    apart_m = np.hypot(*(plain.to_xy(lon, lat) - moved.to_xy(lon, lat)).T)

    assert apart_m == pytest.approx(1.0, abs=0.5)
    np.testing.assert_allclose(moved.to_lonlat(moved.to_xy(lon, lat)), (lon, lat), atol=1e-10)


def test_degrees_in_wgs84_are_left_as_they_are():
    """To the last bit."""
    xy = np.array([[-100.87000000000001, 41.43], [179.99999999999997, -89.0]])
    lon, lat, datum = lonlat_of(xy, "EPSG:4326")

    assert (lon.tolist(), lat.tolist()) == (xy[:, 0].tolist(), xy[:, 1].tolist())
    assert (datum.sd_m, datum.said) == (0.0, "")


def test_coordinates_of_a_file_are_in_its_own_unit():
    """US survey feet of EPSG:2249 by PROJ, within 1e-11 degree."""
    feet = np.array([[775_000.25, 2_956_000.5]])
    back = Transformer.from_crs("EPSG:2249", "EPSG:4269", always_xy=True).transform(*feet[0])
    lon, lat, datum = lonlat_of(feet, "EPSG:2249")

    np.testing.assert_allclose((lon[0], lat[0]), back, rtol=0, atol=1e-11)
    assert datum.sd_m == pytest.approx(1 / 1.959964)


def test_degrees_of_another_datum_are_moved_by_the_operation_alone():
    """NAD27 degrees by EPSG:1173: its 8 m and more, and no plane."""
    lon, lat, datum = lonlat_of(
        np.array([[-71.1, 42.37]]), "EPSG:4267", datum_operation="EPSG:1173"
    )

    assert 1e-5 < max(abs(lon[0] + 71.1), abs(lat[0] - 42.37)) < 1e-3
    assert (datum.name, datum.sd_m) == ("NAD27", 10.0)
