"""``routeprep locate``: points against a line, one row a point."""

import csv
import json
import re

import pytest
from click.testing import CliRunner
from geographiclib.geodesic import Geodesic
from landxmls import landxml, worked_c
from pyproj import Transformer

from routeprep.cli import main
from routeprep.home import home

JOB = home() / "data" / "demo" / "job" / "job.toml"
ADDED = ["leg", "along_m", "offset_m", "station", "past_end_m", "runner_up_m", "doubt"]
# A line along a parallel and back beside itself: a hairpin 22 m wide (2e-4 degrees of latitude).
HAIRPIN = [[-96.1, 41.2], [-96.09, 41.2], [-96.09, 41.2002], [-96.1, 41.2002]]


def locate(*arguments):
    """The command run in this process."""
    return CliRunner().invoke(main, ["locate", *map(str, arguments)])


def table(path):
    """A CSV's header and rows."""
    with path.open(encoding="utf-8", newline="") as file:
        header, *rows = csv.reader(file)
    return header, [dict(zip(header, row, strict=True)) for row in rows]


@pytest.fixture
def files(tmp_path):
    """A line and four points: on it, past its start, between its arms, and without a place."""
    line = {"type": "LineString", "coordinates": HAIRPIN}
    feature = {"type": "Feature", "properties": {}, "geometry": line}
    (tmp_path / "line.geojson").write_text(
        json.dumps({"type": "FeatureCollection", "features": [feature]})
    )
    (tmp_path / "points.csv").write_text(
        "id,lon_deg,lat_deg,note\n"
        "1,-96.095,41.19991,=1+1\n"
        "2,-96.1005,41.2000,before\n"
        "3,-96.097,41.20009,between\n"
    )
    return tmp_path


def test_one_row_a_point_with_its_own_columns_first(files):
    """The input's columns stand first, in its order; a text that starts a formula is guarded."""
    done = locate(files / "points.csv", "--line", files / "line.geojson", "-o", files / "out.csv")
    header, rows = table(files / "out.csv")

    assert (done.exit_code, done.stderr) == (0, "")
    assert header == ["id", "lon_deg", "lat_deg", "note", *ADDED]
    assert [row["id"] for row in rows] == ["1", "2", "3"]
    assert [row["note"] for row in rows] == ["'=1+1", "before", "between"]


def test_numbers_of_the_input_stay_numbers(files):
    """A western longitude has a sign and is no formula; the result can be located again."""
    locate(files / "points.csv", "--line", files / "line.geojson", "-o", files / "out.csv")
    _, rows = table(files / "out.csv")

    assert [row["lon_deg"] for row in rows] == ["-96.095", "-96.1005", "-96.097"]


def test_along_is_the_geodesic_length_without_a_job(files):
    """The first point's along is geographiclib's length to its foot; no leg and no station."""
    locate(files / "points.csv", "--line", files / "line.geojson", "-o", files / "out.csv")
    row = table(files / "out.csv")[1][0]
    known = Geodesic.WGS84.Inverse(41.2, -96.1, 41.2, -96.095)["s12"]

    assert float(row["along_m"]) == pytest.approx(known, abs=0.01)
    assert float(row["offset_m"]) == pytest.approx(0.00009 * 111_070, abs=0.1)
    assert (row["leg"], row["station"]) == ("", "")


def test_nothing_clamps_and_every_doubt_is_told(files):
    """Before the start it says by how much; between two arms it names the other one."""
    done = locate(files / "points.csv", "--line", files / "line.geojson", "-o", files / "out.csv")
    _, before, between = table(files / "out.csv")[1]
    known = Geodesic.WGS84.Inverse(41.2, -96.1005, 41.2, -96.1)["s12"]

    assert float(before["past_end_m"]) == pytest.approx(known, abs=0.01)
    assert float(before["along_m"]) == pytest.approx(-known, abs=0.01)
    assert "past an end" in before["doubt"]
    assert float(between["runner_up_m"]) > float(between["along_m"]) + 1000
    assert between["doubt"] == "near tie"
    assert "3 points on a line of" in done.stdout
    assert "1 near tie" in done.stdout


def test_a_job_gives_elevation_and_stations(files):
    """With a leg at 2900 ft the line is longer by 1 + h/R; stations count from 10+00.

    The demo's two ties stretch them by less than a foot.
    """
    arguments = [files / "points.csv", "--line", files / "line.geojson"]
    flat = locate(*arguments, "-o", files / "flat.csv")
    ground = locate(*arguments, "--job", JOB, "--leg", "A", "-o", files / "out.csv")
    row = table(files / "out.csv")[1][0]
    lengths_m = [
        float(re.search(r"line of ([\d,.]+) m", one.stdout)[1].replace(",", ""))
        for one in (flat, ground)
    ]
    station_ft = 1000 + float(row["along_m"]) / 0.3048

    assert (ground.exit_code, ground.stderr, row["leg"]) == (0, "", "A")
    assert lengths_m[1] / lengths_m[0] == pytest.approx(1 + 2900 * 0.3048 / 6_371_008.8, abs=6e-5)
    assert float(row["station"].replace("+", "")) == pytest.approx(station_ft, abs=1.0)


@pytest.fixture
def planned(tmp_path):
    """A job of one leg: worked problem C, somewhere in a state plane, from 10+00."""
    moved = worked_c(turn=lambda place: place + 2e6 + 1.2e6j)
    (tmp_path / "plan.xml").write_bytes(landxml(moved))
    (tmp_path / "job.toml").write_text(
        'format = 1\n[job]\nname = "Invented"\nrevision = "A"\ndate = 2026-06-01\n'
        'timezone = "America/Chicago"\nunits = "us"\n'
        '[[leg]]\ncode = "A"\nname = "Invented Road"\nelevation_ft = 800\n'
        'centerline = { file = "plan.xml", crs = "EPSG:3435" }\n'
    )
    return tmp_path


def test_a_designed_leg_is_located_on_its_own_elements(planned):
    """Published: 17+00 with 10.50 ft right and left, 20+00 with 4.25 ft right; to 0.05 ft."""
    to_lonlat = Transformer.from_crs("EPSG:3435", "EPSG:4326", always_xy=True)
    published = ((1513.9305, 1471.1871), (1502.3273, 1488.6904), (1779.5482, 1605.1305))
    foot = 0.3048 * 3937 / 1200
    rows = [to_lonlat.transform((e + 2e6) * foot, (n + 1.2e6) * foot) for e, n in published]
    lines = [f"{lon_deg!r},{lat_deg!r}" for lon_deg, lat_deg in rows]
    (planned / "points.csv").write_text("\n".join(["lon_deg,lat_deg", *lines]) + "\n")
    done = locate(planned / "points.csv", "--job", planned / "job.toml", "-o", planned / "out.csv")
    got = [(one["station"], float(one["offset_m"])) for one in table(planned / "out.csv")[1]]

    assert (done.exit_code, done.stderr) == (0, "")
    assert [station for station, _ in got] == ["17+00.0", "17+00.0", "20+00.0"]
    assert [offset_m for _, offset_m in got] == pytest.approx([3.20, -3.20, 1.30], abs=0.011)


def test_a_designed_alignment_as_the_line_is_sent_to_a_job(planned):
    """Its plane and its stations are a leg's to say."""
    (planned / "points.csv").write_text("lon_deg,lat_deg\n-88,41\n")
    done = locate(planned / "points.csv", "--line", planned / "plan.xml", "-o", planned / "out.csv")

    assert done.exit_code == 1
    assert "plan.xml: is LandXML; make a designed alignment the centerline of a leg" in done.stderr


def test_neither_line_nor_job_is_a_usage_error(files):
    """Points need something to stand on."""
    done = locate(files / "points.csv", "-o", files / "o.csv")

    assert done.exit_code == 2
    assert "no line: give a file with --line" in done.stderr


def test_a_job_with_several_legs_asks_which(files):
    """Two legs and none named is a usage error that lists them."""
    done = locate(
        files / "points.csv", "--line", files / "line.geojson", "--job", JOB, "-o", files / "o.csv"
    )

    assert done.exit_code == 2
    assert "has the legs A, B; say which one with --leg" in " ".join(done.stderr.split())


def test_a_leg_without_a_job_is_a_usage_error(files):
    """A leg belongs to a job."""
    done = locate(
        files / "points.csv", "--line", files / "line.geojson", "--leg", "A", "-o", files / "o.csv"
    )

    assert done.exit_code == 2
    assert "--leg A names a leg of a job" in done.stderr


@pytest.mark.parametrize("name", ["points.csv", "line.geojson"])
def test_an_input_is_never_written_over(files, name):
    """The result has to go elsewhere."""
    before = (files / name).read_bytes()
    done = locate(files / "points.csv", "--line", files / "line.geojson", "-o", files / name)

    assert done.exit_code == 1
    assert f"{name} is an input" in done.stderr
    assert (files / name).read_bytes() == before


def test_a_place_that_cannot_be_written_is_named(files):
    """A folder that is not there takes no file."""
    out = files / "nowhere" / "out.csv"
    done = locate(files / "points.csv", "--line", files / "line.geojson", "-o", out)

    assert done.exit_code == 1
    assert "cannot be written" in done.stderr


def test_a_line_that_is_none_ends_with_1(files):
    """Points are no line; one sentence says so."""
    (files / "line.geojson").write_text('{"type": "FeatureCollection", "features": []}')
    done = locate(files / "points.csv", "--line", files / "line.geojson", "-o", files / "o.csv")

    assert done.exit_code == 1
    assert len(done.stderr.splitlines()) == 1


def test_datums_taken_as_one_are_said(files):
    """Of the line and of the points, each with its file."""
    crs = {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::4269"}}
    line = json.loads((files / "line.geojson").read_text(encoding="utf-8"))
    (files / "line.geojson").write_text(json.dumps(line | {"crs": crs}))
    point = {"type": "Point", "coordinates": HAIRPIN[0]}
    feature = {"type": "Feature", "properties": {}, "geometry": point}
    (files / "points.geojson").write_text(
        json.dumps({"type": "FeatureCollection", "crs": crs, "features": [feature]})
    )
    done = locate(
        files / "points.geojson", "--line", files / "line.geojson", "-o", files / "out.csv"
    )

    said = "EPSG:4269 is taken as WGS 84"
    assert [one for one in done.output.split("\n") if said in one] == [
        f"{name}.geojson: {said}: ± grows by 1 m; name a datum_operation to do better"
        for name in ("line", "points")
    ]
