"""Ties and stations against routes that two agencies measured and published.

The files are open data of WSDOT-GIS (arcgis-rest-lrs and arcgis-lrs-gp-client, Unlicense), found
through ROUTEPREP_OPEN_DATA.  The worked equations are in ``test_stationing.py``.
"""

import csv
import math
from collections.abc import Iterator

import numpy as np
import pytest
from builders import leg_settings
from outside import open_data

from routeprep.centerline import measured
from routeprep.designed import designed_line
from routeprep.grids import lonlat_of
from routeprep.lines import Alignment
from routeprep.locating import locate
from routeprep.shapes import Defaults, TieSettings
from routeprep.stationing import along_of, label, value_at
from routeprep.ties import tied
from routeprep.units import FACTORS_M, STATION_UNITS, format_station

FEET = STATION_UNITS["100 ft"]
SURVEY = STATION_UNITS["100 ftUS"]
# A mile is 5,280 ft of either kind.
MILE_FT = 5280
CRS = "EPSG:2927"


def rows(name: str, source: str) -> list[dict[str, str]]:
    """The rows of one file of measured routes."""
    path = open_data(f"measured-routes/{name}", source=source)
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def end_ties(lon_deg, lat_deg, miles, unit) -> tuple[TieSettings, TieSettings]:
    """Both ends of a route, tied by their published measures."""
    first, last = (
        TieSettings(
            station=format_station(miles[end] * MILE_FT, unit, decimals=6),
            lon_deg=float(lon_deg[end]),
            lat_deg=float(lat_deg[end]),
            kind="plan",
            by="published measure",
        )
        for end in (0, -1)
    )
    return first, last


def straight_pieces(east_m, north_m, crs=CRS) -> Alignment:
    """An alignment of straight lines through points of a plane."""
    step_x, step_y = np.diff(east_m), np.diff(north_m)
    count = len(step_x)
    return Alignment(
        name="published", what=("line",) * count, x_m=east_m[:-1], y_m=north_m[:-1],
        heading_deg=np.degrees(np.arctan2(step_x, step_y)), length_m=np.hypot(step_x, step_y),
        curvature_start_per_m=np.zeros(count), curvature_end_per_m=np.zeros(count),
        unit="ftUS", crs=crs, start_value=0.0, equations=(), profile=(),
    )  # fmt: skip


def in_plane(read, east: str, north: str):
    """Coordinates in metres of two columns in US survey feet."""
    foot_m = float(FACTORS_M["ftUS"])
    return (np.array([float(row[name]) for row in read]) * foot_m for name in (east, north))


def test_a_state_s_route_tied_at_both_ends_agrees_in_between() -> None:
    """route-10023601: 180 inner measures within 0.018 m, scale 1.004883 (the data's README)."""
    read = rows("route-10023601.csv", "WSDOT-GIS/arcgis-rest-lrs, Unlicense")
    lon_deg, lat_deg, miles = (
        np.array([float(row[name]) for row in read])
        for name in ("lon_deg", "lat_deg", "published_measure_mi")
    )
    line = measured(lon_deg, lat_deg, sd_m=np.zeros(len(read)), elevation_m=0.0, made_from="file")
    leg = leg_settings(start_value=math.nan, ties=end_ties(lon_deg, lat_deg, miles, FEET))
    result = tied(leg, line, (), Defaults())
    along_m = np.array(
        [along_of(result.stationing, format_station(mile * MILE_FT, FEET, decimals=6))
         for mile in miles[1:-1]]
    )  # fmt: skip

    assert len(along_m) == 180
    assert np.abs(along_m - line.along_m[1:-1]).max() < 0.018
    assert result.ties[1].stretch_share == pytest.approx(0.004883, abs=5e-7)
    assert [one.text.rpartition(", ")[2] for one in result.findings if one.level == "note"] == [
        "scale 1.004883"
    ]
    uncalibrated_m = miles[1:-1] * MILE_FT * FEET.length_m - line.along_m[1:-1]
    assert np.abs(uncalibrated_m).max() > 46.0


def test_a_county_road_in_its_plane_agrees_to_a_millionth_of_a_mile() -> None:
    """county-road-5303151600i: EPSG:2927, published measures 0 to 1 mi to 1e-6 mi."""
    read = rows("county-road-5303151600i.csv", "WSDOT-GIS/arcgis-rest-lrs, Unlicense")
    east_m, north_m = in_plane(read, "easting_ftUS_epsg2927", "northing_ftUS_epsg2927")
    miles = [float(row["published_measure_mi"]) for row in read]
    lon_deg, lat_deg, _ = lonlat_of(np.column_stack([east_m, north_m]) / SURVEY.length_m, CRS)
    leg = leg_settings(
        start_value=math.nan, unit=SURVEY, crs=CRS, ties=end_ties(lon_deg, lat_deg, miles, SURVEY)
    )
    line, _ = designed_line(
        straight_pieces(east_m, north_m), leg=leg, elevation_m=0.0, datum_operation=""
    )
    stationing = tied(leg, line, (), Defaults()).stationing
    along_m = locate(line, lon_deg, lat_deg).along_m.tolist()

    assert line.length_m / SURVEY.length_m == pytest.approx(5284.80632, abs=0.00001)
    assert [value_at(stationing, one_m) / MILE_FT for one_m in along_m] == pytest.approx(
        miles, abs=1e-6
    )


def pieces() -> Iterator[tuple[float, list[dict[str, str]]]]:
    """Published length and rows of each piece."""
    read = rows("route-pieces-epsg2927.csv", "WSDOT-GIS/arcgis-lrs-gp-client, Unlicense")
    for number in sorted({row["piece"] for row in read}):
        piece = [row for row in read if row["piece"] == number]
        yield float(piece[0]["published_length_ftUS"]), piece


def test_pieces_of_a_route_are_as_long_as_published() -> None:
    """route-pieces-epsg2927: six lengths in US survey feet to 0.0001."""
    lengths_ft, stations = [], []
    for length_ft, piece in pieces():
        east_m, north_m = in_plane(piece, "easting_ftUS", "northing_ftUS")
        leg = leg_settings(start_value=0.0, unit=SURVEY)
        line, _ = designed_line(
            straight_pieces(east_m, north_m), leg=leg, elevation_m=0.0, datum_operation=""
        )
        stationing = tied(leg, line, (), Defaults()).stationing
        lengths_ft.append(length_ft)
        stations.append((value_at(stationing, line.length_m), label(stationing, line.length_m)))

    assert len(lengths_ft) == 6
    assert [value for value, _ in stations] == pytest.approx(lengths_ft, abs=0.0001)
    assert stations[0][1] == "6+20.7"
