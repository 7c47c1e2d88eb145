"""Lines and points of files of every sort."""

import io
import json
import math
import tempfile
import warnings
import zipfile
from pathlib import Path

import geopandas
import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from routeprep.errors import ReadError
from routeprep.readers.vector import read_lines, read_points

KML_LINE = (
    b"<kml><Placemark><name>Elm</name><LineString><coordinates>-100.87,41.43 -100.87,41.44"
    b"</coordinates></LineString></Placemark></kml>"
)
LINE = shapely.LineString([(-100.87, 41.43), (-100.86, 41.44), (-100.85, 41.44)])
OTHER = shapely.LineString([(-100.85, 41.44), (-100.84, 41.45)])
DRIVERS = {"geojson": "GeoJSON", "gpkg": "GPKG", "fgb": "FlatGeobuf", "zip": "ESRI Shapefile"}


def written(geometry, ending, *, epsg=4326, **columns):
    """The bytes of a file of these features."""
    rows = dict(columns) or {"name": ["x"] * len(geometry)}
    frame = geopandas.GeoDataFrame(rows, geometry=list(geometry), crs=4326)
    if epsg is None:
        frame = frame.set_crs(None, allow_override=True)
    elif epsg != 4326:
        frame = frame.to_crs(epsg)
    with tempfile.TemporaryDirectory() as folder, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        path = Path(folder) / f"layer.{'shp' if ending == 'zip' else ending}"
        frame.to_file(path, driver=DRIVERS[ending])
        if ending != "zip":
            return path.read_bytes()
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w") as archive:
            for one in sorted(Path(folder).iterdir()):
                archive.write(one, one.name)
        return out.getvalue()


def feature(geometry, **properties):
    """A GeoJSON collection of one feature."""
    one = {"type": "Feature", "properties": properties, "geometry": geometry}
    return json.dumps({"type": "FeatureCollection", "features": [one]}).encode()


@pytest.mark.parametrize(
    ("ending", "epsg"),
    [
        ("geojson", 4326),
        *((ending, epsg) for ending in ("gpkg", "fgb", "zip") for epsg in (4326, 26914)),
    ],
)
def test_lines_come_in_degrees_from_any_format_and_system(ending: str, epsg: int) -> None:
    """Vertices agree to 1e-9 degree (0.1 mm) after a way through UTM."""
    (piece,) = read_lines(written([LINE], ending, epsg=epsg), name="line")

    assert piece.lon_deg.tolist() == pytest.approx([-100.87, -100.86, -100.85], abs=1e-9)
    assert piece.lat_deg.tolist() == pytest.approx([41.43, 41.44, 41.44], abs=1e-9)
    assert (piece.name, piece.source) == ("x", "line")


def test_parts_of_a_line_are_pieces() -> None:
    """Also those inside a collection; points beside them are no line."""
    many = shapely.GeometryCollection([shapely.MultiLineString([LINE, OTHER]), shapely.Point(0, 0)])
    pieces = read_lines(written([many], "geojson"), name="line")

    assert [len(piece.lon_deg) for piece in pieces] == [3, 2]


def test_the_old_crs_member_of_geojson_is_honoured() -> None:
    """GeoJSON of 2008 could name its system; a file that does is turned to degrees."""
    plane = geopandas.GeoSeries([LINE], crs=4326).to_crs(26914)
    data = json.loads(feature(shapely.geometry.mapping(plane[0])))
    data["crs"] = {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::26914"}}
    (piece,) = read_lines(json.dumps(data).encode(), name="line")

    assert piece.lon_deg[0] == pytest.approx(-100.87, abs=1e-9)


def test_a_file_without_a_system_is_refused() -> None:
    """It is not guessed."""
    with pytest.raises(ReadError, match="no coordinate reference system"):
        read_lines(written([LINE], "zip", epsg=None), name="line.zip")


def test_a_condition_picks_features() -> None:
    """One street of a city's file."""
    data = written([LINE, OTHER], "gpkg", street=["Elm St", "Oak St"])
    (piece,) = read_lines(data, name="city.gpkg", where="street = 'Oak St'")

    assert (piece.name, len(piece.lon_deg)) == ("Oak St", 2)


@pytest.mark.parametrize(
    ("where", "sentence"),
    [
        ("steet = 'Oak St'", "is no condition on its columns street"),
        ("street = ", "is no condition on its columns street"),
        ("street = 'Ash St'", "picks none of its 2 features; its columns are street"),
    ],
)
def test_a_condition_that_cannot_be_names_the_columns(where: str, sentence: str) -> None:
    """The columns are what the person needs to mend it."""
    data = written([LINE, OTHER], "geojson", street=["Elm St", "Oak St"])
    with pytest.raises(ReadError, match=sentence):
        read_lines(data, name="city.geojson", where=where)


def test_a_condition_is_for_gis_files() -> None:
    """A CSV has no columns of features."""
    with pytest.raises(ReadError, match=r"where = 'a = 1' is for GIS files and this is a table"):
        read_lines(b"lat,lon\n1,2\n3,4\n", name="line.csv", where="a = 1")


def test_vertices_of_a_csv_are_a_line() -> None:
    """In the order of the rows."""
    (piece,) = read_lines(b"n,lat,lon\n1,41.43,-100.87\n2,41.44,-100.86\n", name="line.csv")

    assert piece.lon_deg.tolist() == [-100.87, -100.86]


def test_a_vertex_without_a_place_is_refused() -> None:
    """A line with a hole in it would be another line."""
    with pytest.raises(ReadError, match="vertex 2 of it"):
        read_lines(b"lat,lon,n\n41.43,-100.87,1\n,,2\n41.44,-100.86,3\n", name="line.csv")


def test_tracks_of_gpx_are_lines_by_segment() -> None:
    """A break in reception parts the pieces; routes count where there is no track."""
    points = '<{0} lat="41.43" lon="-100.87"/><{0} lat="41.44" lon="-100.86"/>'
    head = '<gpx xmlns="http://www.topografix.com/GPX/1/1">'
    track = points.format("trkpt")
    two = f"{head}<trk><name>Elm</name><trkseg>{track}</trkseg><trkseg>{track}</trkseg></trk></gpx>"
    route = f"{head}<rte>{points.format('rtept')}</rte></gpx>"

    assert [piece.name for piece in read_lines(two.encode(), name="a.gpx")] == ["Elm", "Elm"]
    assert len(read_lines(route.encode(), name="a.gpx")) == 1


def test_a_broken_gpx_is_no_line() -> None:
    """A line that lacks its end would be wrong in silence."""
    text = '<gpx><trk><trkseg><trkpt lat="1" lon="1"/><trkpt lat="1" lon="2"/>'
    with pytest.raises(ReadError, match="breaks off or is damaged at line 1"):
        read_lines(text.encode(), name="a.gpx")


@pytest.mark.parametrize(
    "data", [written([shapely.Point(1, 1)], "geojson"), b"lat,lon\n1,2\n", b"lat,lon\n"],
    ids=["points", "one vertex", "no vertex"],
)  # fmt: skip
def test_a_file_without_a_line_is_refused(data: bytes) -> None:
    """Points are no line."""
    with pytest.raises(ReadError, match="no line of two or more vertices"):
        read_lines(data, name="line")


@pytest.mark.parametrize("ending", ["geojson", "gpkg", "zip"])
def test_points_keep_columns_and_order(ending: str) -> None:
    """One row each, also where there is no geometry."""
    places = [shapely.Point(-100.87, 41.43), None, shapely.MultiPoint([(-100.85, 41.45)])]
    if ending != "geojson":
        places[2] = shapely.Point(-100.85, 41.45)
    frame, lon_deg, lat_deg, *_ = read_points(written(places, ending, no=[3, 1, 2]), name="points")

    assert frame.columns.tolist() == ["no"]
    assert frame["no"].tolist() == [3, 1, 2]
    assert np.isnan(lon_deg).tolist() == [False, True, False]
    assert lat_deg[[0, 2]].tolist() == pytest.approx([41.43, 41.45])


def test_points_of_a_csv_are_text_as_written() -> None:
    """Nothing is rounded or turned; a cell without a number is no place."""
    frame, lon_deg, lat_deg, *_ = read_points(
        b"no;lat;lon\n007;41,43;-100.87\n8;x;1\n9;95;1\n", name="p"
    )

    assert frame["no"].tolist() == ["007", "8", "9"]
    assert (lon_deg[0], lat_deg[0]) == (-100.87, 41.43)
    assert np.isnan(lon_deg).tolist() == [False, True, True]


def test_waypoints_of_gpx_are_points() -> None:
    """With their texts and their time."""
    text = '<gpx><wpt lat="1" lon="2"><time>2026-06-01T12:00:00Z</time><name>a</name></wpt></gpx>'
    frame, lon_deg, lat_deg, *_ = read_points(text.encode(), name="p.gpx")

    assert frame.to_dict("records") == [
        {"name": "a", "desc": "", "cmt": "", "time": "2026-06-01T12:00:00+00:00"}
    ]
    assert (lon_deg.tolist(), lat_deg.tolist()) == ([2.0], [1.0])


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (written([shapely.Point(0, 0), LINE], "geojson"), "feature 2 is a LineString, not a point"),
        (b"a,b\n1,2\n", "no columns of longitude and latitude among 'a', 'b'"),
        (b"lat,lon\n1,2,3\n", "row 2 has more cells"),
        (b"<gpx></gpx>", "has no waypoints"),
        (b"$GPRMC,120000,V*00", "is an NMEA log by its content, without points of its own"),
        (KML_LINE, "has no points among its 1 placemarks"),
    ],
    ids=["line", "no columns", "wide", "no waypoints", "nmea", "kml"],
)
def test_what_has_no_points_is_refused(data: bytes, sentence: str) -> None:
    """One sentence each."""
    with pytest.raises(ReadError, match=sentence):
        read_points(data, name="points")


@given(
    st.lists(
        st.tuples(st.floats(-180, 180), st.floats(-90, 90)), min_size=2, max_size=9, unique=True
    )
)
def test_a_line_written_as_csv_is_read_back(vertices: list[tuple[float, float]]) -> None:
    """Every vertex to the last bit."""
    text = "lon,lat\n" + "".join(f"{lon!r},{lat!r}\n" for lon, lat in vertices)
    (piece,) = read_lines(text.encode(), name="line.csv")

    assert list(zip(piece.lon_deg.tolist(), piece.lat_deg.tolist(), strict=True)) == vertices
    assert not any(math.isnan(lon) for lon in piece.lon_deg)


def test_lines_and_points_say_what_their_datum_adds() -> None:
    """EPSG:26914 is NAD83, unlike degrees; an operation that is named brings it over."""
    data = written([LINE], "gpkg", epsg=26914)
    (near,), (same,) = (read_lines(one, name="a") for one in (data, written([LINE], "gpkg")))
    (moved,) = read_lines(data, name="a", datum_operation="EPSG:1515")
    points = written([shapely.Point(-100.87, 41.43)], "gpkg", epsg=26914)
    found = read_points(points, name="p")

    assert (near.datum_sd_m, same.datum_sd_m, moved.datum_sd_m) == (
        pytest.approx(1 / 1.959964),
        0.0,
        0.0,
    )
    assert near.datum_said == found.datum_said
    assert near.datum_said.startswith("EPSG:26914 (NAD83) is taken as WGS 84")
    assert (same.datum_said, found.datum_sd_m) == ("", pytest.approx(1 / 1.959964))
    assert 1e-6 < np.abs(moved.lon_deg - near.lon_deg).max() < 3e-5
    assert read_points(points, name="p", datum_operation="EPSG:1515").datum_sd_m == 0.0


def test_lines_and_points_of_kml_are_read() -> None:
    """A line with its name, a point with its texts."""
    (piece,) = read_lines(KML_LINE, name="x.kml")
    point = b"<name>MH</name><Point><coordinates>-100.87,41.43</coordinates></Point>"
    whole = KML_LINE.replace(b"</Placemark>", b"</Placemark><Placemark>" + point + b"</Placemark>")
    frame, lon_deg, lat_deg, *_ = read_points(whole, name="x.kml")

    assert (piece.name, piece.lat_deg.tolist()) == ("Elm", [41.43, 41.44])
    assert (frame["name"].tolist(), lon_deg.tolist(), lat_deg.tolist()) == (
        ["MH"],
        [-100.87],
        [41.43],
    )


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"12+40 MH\n", "is a list of stations by its content, no line"),
        (b"\xff\xd8\xff", "is a photo by its content, no line"),
        (b"<LandXML/>", "is LandXML by its content, no line"),
        (b"$GPRMC,120000,V*00", "is an NMEA log by its content, no line"),
    ],
)
def test_what_has_no_line_is_refused_by_its_sort(data: bytes, sentence: str) -> None:
    """Rather than taken for a table."""
    with pytest.raises(ReadError, match=sentence) as caught:
        read_lines(data, name="x")

    assert caught.value.facts["file"] == "x"
