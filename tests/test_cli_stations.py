"""``routeprep stations``: stations of a line with coordinates; of a job the wheel sheet too."""

import csv
import json

import gpxpy
import pytest
from click.testing import CliRunner
from outside import open_data
from pyproj import Geod

from routeprep.cli import main
from routeprep.home import home

JOB = home() / "data" / "demo" / "job" / "job.toml"
INDOT = "alignments/INDOT_PR_Twin_Branch.xml"
SOURCE = "bSI-InfraRoom/IFC-infra-unit-test (CC BY 4.0)"


def stations(*arguments):
    """The command run in this process."""
    return CliRunner().invoke(main, ["stations", *map(str, arguments)])


def rows_of(path):
    """A CSV's rows by the names of its columns."""
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture
def line(tmp_path):
    """A straight line of some 836 m along a parallel."""
    geometry = {"type": "LineString", "coordinates": [[-96.1, 41.2], [-96.09, 41.2]]}
    path = tmp_path / "line.geojson"
    feature = {"type": "Feature", "properties": {}, "geometry": geometry}
    path.write_text(json.dumps({"type": "FeatureCollection", "features": [feature]}))
    return path


def test_round_stations_and_both_ends_have_coordinates(line, tmp_path):
    """From 10+25 every 500 ft: the distances between them are geodesic (pyproj's Geod)."""
    done = stations(line, "-o", tmp_path / "out", "--every", 500, "--start", "10+25")
    rows = rows_of(tmp_path / "out" / "stations.csv")
    lon, lat = ([float(row[name]) for row in rows] for name in ("lon_deg", "lat_deg"))
    _, _, apart_m = Geod(ellps="WGS84").inv(lon[:-1], lat[:-1], lon[1:], lat[1:])

    assert (done.exit_code, done.stderr) == (0, "")
    assert [row["station"] for row in rows][:3] == ["10+25.00", "15+00.00", "20+00.00"]
    assert [rows[0]["what"], rows[-1]["what"]] == ["line begins", "line ends"]
    assert apart_m[1:-1] == pytest.approx([500 * 0.3048] * (len(rows) - 3), abs=1e-3)
    assert {row["easting"] for row in rows} == {""}


def test_the_points_for_a_receiver_are_the_table_s(line, tmp_path):
    """The GPX has a waypoint a row, named with the station."""
    stations(line, "-o", tmp_path / "out")
    rows = rows_of(tmp_path / "out" / "stations.csv")
    points = gpxpy.parse((tmp_path / "out" / "stations.gpx").read_text("utf-8")).waypoints

    assert [(f"A {row['station']}", float(row["lon_deg"])) for row in rows] == [
        (point.name, pytest.approx(point.longitude)) for point in points
    ]


def test_metric_stations_are_written_in_metres(line, tmp_path):
    """With the 1000 m unit a station every 50 m."""
    stations(line, "-o", tmp_path / "out", "--unit", "1000 m")
    rows = rows_of(tmp_path / "out" / "stations.csv")

    assert [row["station"] for row in rows][:3] == ["0+000.000", "0+050.000", "0+100.000"]


def test_an_alignment_without_a_coordinate_system_keeps_its_own_coordinates(tmp_path):
    """Every 50 ft to 0.001 ft against the published table, and no GPX, and that is said."""
    path = open_data(INDOT, source=SOURCE)
    expected = rows_of(path.with_name("INDOT_PR_Twin_Branch.expected.csv"))
    done = stations(path, "-o", tmp_path / "out", "--every", 50)
    rows = {float(row["station_value"]): row for row in rows_of(tmp_path / "out" / "stations.csv")}
    asked = [row for row in expected if float(row["station_ft"]) in rows]

    assert done.exit_code == 0
    assert "no coordinate system is named" in done.output
    assert not (tmp_path / "out" / "stations.gpx").exists()
    assert len(asked) > 50
    for row in asked:
        mine = rows[float(row["station_ft"])]
        assert float(mine["easting"]) == pytest.approx(float(row["E_ftUS"]), abs=1e-3)
        assert float(mine["northing"]) == pytest.approx(float(row["N_ftUS"]), abs=1e-3)


def test_a_named_coordinate_system_gives_longitudes(tmp_path):
    """With --crs (UTM 30 north, not named in the file) the alignment lies in southern Spain."""
    path = open_data("alignments/Aplitop-1.xml", source=SOURCE)
    done = stations(path, "-o", tmp_path / "out", "--crs", "EPSG:25830")
    rows = rows_of(tmp_path / "out" / "stations.csv")
    points = gpxpy.parse((tmp_path / "out" / "stations.gpx").read_text("utf-8")).waypoints

    assert done.exit_code == 0
    assert {row["what"] for row in rows} >= {"line begins", "station", "line ends"}
    assert all(-4.9 < float(row["lon_deg"]) < -4.8 for row in rows)
    assert all(36.8 < float(row["lat_deg"]) < 37.0 for row in rows)
    assert len(points) == len(rows)


def test_a_job_gives_all_its_legs_and_the_wheel_sheet(tmp_path):
    """Of the demo: both legs, and a PDF."""
    done = stations(JOB, "-o", tmp_path / "out")
    rows = rows_of(tmp_path / "out" / "stations.csv")

    assert done.exit_code == 0
    assert sorted({row["leg"] for row in rows}) == ["A", "B"]
    assert (tmp_path / "out" / "wheel-sheet.pdf").read_bytes().startswith(b"%PDF")


def test_one_leg_of_a_job_can_be_asked_for(tmp_path):
    """--leg leaves the others out of the table."""
    stations(JOB, "-o", tmp_path / "out", "--leg", "B")

    assert {row["leg"] for row in rows_of(tmp_path / "out" / "stations.csv")} == {"B"}


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((JOB, "--leg", "Q"), "'Q' is no leg of this job"),
        ((JOB, "--start", "10+00"), "a job says that itself"),
    ],
)
def test_an_option_that_does_not_fit_a_job_is_a_usage_error(tmp_path, arguments, words):
    """What was not understood ends with status 2 and writes nothing."""
    done = stations(*arguments, "-o", tmp_path / "out")

    assert done.exit_code == 2
    assert words in done.output
    assert not (tmp_path / "out").exists()


def test_a_start_that_is_no_station_is_a_usage_error(line, tmp_path):
    """The label and how it is written are named."""
    done = stations(line, "-o", tmp_path / "out", "--start", "ten")

    assert done.exit_code == 2
    assert "'ten' is not a station" in done.output


def test_the_line_itself_is_never_replaced(line, tmp_path):
    """A folder that would put stations.csv over the input is refused."""
    own = tmp_path / "stations.csv"
    line.rename(own)
    done = stations(own, "-o", tmp_path)

    assert done.exit_code == 1
    assert "is an input" in done.stderr
