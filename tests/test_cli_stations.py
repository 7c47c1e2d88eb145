"""``routeprep stations``: stations of a line with coordinates; of a job the wheel sheet too."""

import cmath
import csv
import json
import math

import gpxpy
import pytest
from click.testing import CliRunner
from landxmls import alignment, curve, landxml, spiral, worked_c
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


def curve_with_spirals(begin, radius, spiral_length, arc_length):
    """Spiral, arc and spiral to the right from a place, northward; each way to it and its end.

    By the midpoint rule in steps of 0.01 ft, independent of the package.
    """
    step, ends, place, heading = 0.01, [begin], begin, 0.0
    for length, bend in (
        (spiral_length, lambda share: share / radius),
        (arc_length, lambda _share: 1.0 / radius),
        (spiral_length, lambda share: (1.0 - share) / radius),
    ):
        for k in range(round(length / step)):
            turn = bend((k + 0.5) * step / length) * step
            place += step * complex(math.sin(heading + turn / 2), math.cos(heading + turn / 2))
            heading += turn
        ends.append(place)
    return ends, heading


def test_ends_of_curves_and_equations_at_one_place_keep_all_their_names(tmp_path):
    """TS, SC, CS and ST with spirals, PC and PT without; an equation at the PT is not lost."""
    arc = worked_c(turn=lambda place: place + 2e6 + 1.2e6j).replace(
        "</Alignment>", '<StaEquation staInternal="1918.879" staBack="1918.879" staAhead="3000"/>'
        "</Alignment>",
    )  # fmt: skip
    (ts, sc, cs, st), turned = curve_with_spirals(2e6 + 1.3e6j, 800.0, 200.0, 300.0)
    center = sc + 800.0 * cmath.exp(-1j * 200.0 / 1600.0)
    corner = ts + 1j * ((sc - ts).imag - (sc - ts).real / math.tan(200.0 / 1600.0))
    out = 1j * cmath.exp(-1j * turned)
    away = (st - cs) / out
    other = st - out * (away.real - abs(away.imag) / math.tan(200.0 / 1600.0))
    length, radius = 200.0, 800.0
    spirals = alignment(
        spiral(ts, corner, sc, length=length, radiusStart="INF", radiusEnd=radius),
        curve(sc, center, cs),
        spiral(cs, other, st, length=length, radiusStart=radius, radiusEnd="INF"),
        name="spirals", sta_start="1000",
    )  # fmt: skip
    path = tmp_path / "plan.xml"
    path.write_bytes(landxml(arc, spirals))
    what = {}
    for name in ("worked C", "spirals"):
        done = stations(path, "-o", tmp_path, "--crs", "EPSG:3435", "--alignment", name)
        rows = rows_of(tmp_path / "stations.csv")
        what[name] = [(row["what"], row["station"]) for row in rows if row["what"] != "station"]

        assert done.exit_code == 0

    assert what["worked C"] == [
        ("line begins", "10+00.00"), ("PC", "15+00.00"),
        ("PT; equation 19+18.87 BK = 30+00.00 AH", "30+00.00"), ("line ends", "33+00.00"),
    ]  # fmt: skip
    assert what["spirals"] == [
        ("TS; line begins", "10+00.00"), ("SC", "12+00.00"), ("CS", "15+00.00"),
        ("ST; line ends", "17+00.00"),
    ]  # fmt: skip


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
