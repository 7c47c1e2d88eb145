"""Measured roads of a state in its plane's feet, against the lengths and measures it publishes."""

import csv

import numpy as np
import pytest
from outside import open_data

from routeprep.geodesy import segment_lengths_m
from routeprep.grids import grid_of

GRID = "EPSG:2927"
MILE_M = 1609.344


def rows_of(name, source):
    """The rows of one of the measured routes."""
    path = open_data(f"measured-routes/{name}", source=f"{source}, Unlicense")
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def vertices_of(rows, east, north):
    """Coordinates of the rows, to degrees and back, in the plane's own feet, and the degrees."""
    grid = grid_of(GRID)
    feet = np.array([[float(row[east]), float(row[north])] for row in rows])
    lon, lat = grid.to_lonlat(feet * grid.unit_m)
    return grid.to_xy(lon, lat) / grid.unit_m, lon, lat


def county_road():
    """The county road's vertices [ftUS, deg] and published measures [mi]."""
    rows = rows_of("county-road-5303151600i.csv", "WSDOT-GIS/arcgis-rest-lrs")
    measures = np.array([float(row["published_measure_mi"]) for row in rows])
    return *vertices_of(rows, "easting_ftUS_epsg2927", "northing_ftUS_epsg2927"), measures


def test_six_pieces_are_as_long_as_published():
    """Plane lengths in US survey feet within 0.0001 ft."""
    rows = rows_of("route-pieces-epsg2927.csv", "WSDOT-GIS/arcgis-lrs-gp-client")
    pieces = {row["piece"]: float(row["published_length_ftUS"]) for row in rows}
    got = {}
    for piece in pieces:
        feet, _, _ = vertices_of(
            [row for row in rows if row["piece"] == piece], "easting_ftUS", "northing_ftUS"
        )
        got[piece] = float(np.hypot(*np.diff(feet, axis=0).T).sum())

    assert len(got) == 6
    assert got == pytest.approx(pieces, abs=0.0001)


def test_a_county_road_is_5284_806_feet_in_its_plane():
    """Grid length in US survey feet as the data's README has it, within 0.00001 ft."""
    feet, *_ = county_road()

    assert np.hypot(*np.diff(feet, axis=0).T).sum() == pytest.approx(5284.80632, abs=0.00001)


def test_a_county_roads_published_measures_are_its_plane_lengths_calibrated():
    """0 at the first vertex to 1 at the last, within 1e-6 mile."""
    feet, _, _, measures = county_road()
    so_far = np.r_[0.0, np.cumsum(np.hypot(*np.diff(feet, axis=0).T))]

    np.testing.assert_allclose(so_far / so_far[-1], measures, rtol=0, atol=1e-6)


def test_a_county_road_on_the_ground_is_its_plane_length_over_the_scale():
    """1.00071012 mi at sea level by the README, by geodesics and by k, within 1e-6 mile."""
    feet, lon, lat, _ = county_road()
    grid = grid_of(GRID)
    plane_m = float(np.hypot(*np.diff(feet, axis=0).T).sum()) * grid.unit_m
    geodesic_m = float(segment_lengths_m(lon, lat, elevation_m=0.0).sum())
    scale = float(grid.scale_at(lon, lat).mean())

    assert geodesic_m / MILE_M == pytest.approx(1.00071012, abs=1e-6)
    assert plane_m / scale / MILE_M == pytest.approx(1.00071012, abs=1e-6)
