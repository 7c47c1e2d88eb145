"""Real files of many programs, each with the outcome that it must have.

None of them is in the project; see ``outside.open_data``.
"""

import datetime as dt
from pathlib import Path

import gpxpy
import pynmea2
import pytest
from builders import KINDS
from outside import open_data

from routeprep.errors import ReadError
from routeprep.readers.gpx import read_gpx
from routeprep.readers.markstable import read_marks_points
from routeprep.readers.nmea import read_nmea
from routeprep.readers.records import read_records
from routeprep.readers.vector import read_lines, read_points

GPXPY = "test files of tkrajina/gpxpy"
GEORUST = "test files of georust/gpx"
HOPPER = "test files of graphhopper/graphhopper"
TOGEO = "test files of togeojson"
BOMBS = "test files of defusedxml"
GDAL = "test files of OSGeo/gdal"
JSON = "nst/JSONTestSuite"
CITY = "cambridgegis/cambridgegis_data"

NOTHING = "neither a fix nor a waypoint"
KML = "is a KML file, not GPX"
DOCTYPE = "declares the document type"

# File, source, then drives, fixes and marks; or the sentence.
GPX = [
    ("drives/leipzig-car.gpx", HOPPER, (1, 264, 0)),
    ("drives/visnjan-car.gpx", GPXPY, (1, 104, 0)),
    ("drives/messy/georust_empty_name_tag.gpx", GEORUST, NOTHING),
    ("drives/messy/georust_with_accuracy.gpx", GEORUST, (1, 3, 0)),
    ("drives/messy/gpxpy_cerknicko-without-times.gpx", GPXPY, (7, 296, 7)),
    ("drives/messy/gpxpy_gpx-with-node-with-comments.gpx", GPXPY, (1, 1, 0)),
    ("drives/messy/gpxpy_gpx1.0_with_all_fields.gpx", GPXPY, (1, 1, 2)),
    ("drives/messy/gpxpy_gpx1.1_with_all_fields.gpx", GPXPY, (1, 1, 2)),
    ("drives/messy/gpxpy_gpx1.1_with_extensions_without_namespaces.gpx", GPXPY, (0, 0, 1)),
    ("drives/messy/gpxpy_korita-zbevnica.gpx", GPXPY, (3, 871, 2)),
    ("drives/messy/gpxpy_track-with-empty-segment.gpx", GPXPY, (1, 9, 0)),
    ("drives/messy/gpxpy_track-with-extremes.gpx", GPXPY, (1, 25, 0)),
    ("drives/messy/gpxpy_track-with-less-sec-time.gpx", GPXPY, (1, 2, 0)),
    ("drives/messy/gpxpy_track_with_dilution_errors.gpx", GPXPY, (1, 1, 1)),
    ("drives/messy/gpxpy_track_with_speed.gpx", GPXPY, (1, 3, 0)),
    ("drives/messy/gpxpy_unicode_with_bom_noencoding.gpx", GPXPY, (0, 0, 1)),
    ("drives/messy/graphhopper_tour-with-loop.gpx", HOPPER, (1, 11, 0)),
    ("drives/messy/graphhopper_tour4-with-uturn.gpx", HOPPER, (1, 5, 0)),
    ("drives/messy/togeojson_blue_hills.gpx", TOGEO, (3, 1243, 46)),
    ("hostile/gpx/georust_badcharacter.gpx", GEORUST, r"line 1: not well-formed"),
    ("hostile/gpx/gpxpy__track-with-extremes.gpx", GPXPY, (1, 25, 0)),
    ("hostile/gpx/graphhopper_no_trk.gpx", HOPPER, NOTHING),
    ("hostile/gpx/graphhopper_no_trkpt.gpx", HOPPER, NOTHING),
    ("hostile/gpx/graphhopper_test-only-wpt.gpx", HOPPER, (1, 5, 8)),
    ("hostile/gpx/togeojson__bad.gpx", TOGEO, "2 fixes without coordinates"),
    ("hostile/gpx/togeojson__empty_trk.gpx", TOGEO, NOTHING),
    ("hostile/kml/gdal_truncated.kml", GDAL, KML),
    ("hostile/kml/togeojson_nogeomplacemark.kml", TOGEO, KML),
    ("hostile/kml/togeojson_null_geometry.kml", TOGEO, KML),
    ("hostile/kml/togeojson_point_extra_coordinates.kml", TOGEO, KML),
    ("hostile/xml/dtd.xml", BOMBS, DOCTYPE),
    ("hostile/xml/external.xml", BOMBS, DOCTYPE),
    ("hostile/xml/quadratic.xml", BOMBS, DOCTYPE),
    ("hostile/xml/xmlbomb.xml", BOMBS, DOCTYPE),
]
HOSTILE_JSON = [
    ("hostile/json/i_number_huge_exp.json", "cannot be read as a GIS file"),
    ("hostile/json/i_string_UTF-16LE_with_BOM.json", "is not text in UTF-8"),
    ("hostile/json/n_number_NaN.json", "cannot be read as a GIS file"),
    ("hostile/json/n_object_trailing_comma.json", "cannot be read as a GIS file"),
    ("hostile/json/n_structure_100000_opening_arrays.json", "cannot be read as a GIS file"),
    ("hostile/json/n_structure_no_data.json", "is empty"),
]
READERS = {
    "lines": read_lines,
    "points": read_points,
    "records": lambda data, name: read_records(data, name=name, kinds=KINDS),
    "marks": lambda data, name: read_marks_points(data, name=name, kinds=KINDS, zone=dt.UTC),
}


@pytest.mark.parametrize(("name", "source", "outcome"), GPX, ids=lambda value: str(value)[-50:])
def test_each_gpx_file_has_its_outcome(
    name: str, source: str, outcome: tuple[int, int, int] | str
) -> None:
    """Counts of drives, fixes and marks, or one sentence."""
    data = open_data(name, source=source).read_bytes()
    if isinstance(outcome, str):
        with pytest.raises(ReadError, match=outcome) as caught:
            read_gpx(data, name=Path(name).name, kinds=KINDS)

        assert "\n" not in str(caught.value)
        return
    part = read_gpx(data, name=Path(name).name, kinds=KINDS)

    assert outcome == (len(part.drive_names), len(part.fixes), len(part.marks))


# Refused by gpxpy whole, for a <fix> that the schema does not know.
ONLY_OURS = "drives/messy/georust_with_accuracy.gpx"


@pytest.mark.parametrize(
    ("name", "source"),
    [
        (name, source)
        for name, source, outcome in GPX
        if not isinstance(outcome, str) and name != ONLY_OURS
    ],
)
def test_another_reader_sees_the_same_points(name: str, source: str) -> None:
    """Places and elevations of all track points, and places of all waypoints, agree with gpxpy."""
    data = open_data(name, source=source).read_bytes()
    part = read_gpx(data, name=name, kinds=KINDS)
    other = gpxpy.parse(data)
    lines = [segment.points for track in other.tracks for segment in track.segments]
    points = [point for line in lines or [route.points for route in other.routes] for point in line]
    marks = part.marks[["lon_deg", "lat_deg"]].to_numpy().tolist()

    assert part.fixes["lon_deg"].tolist() == [point.longitude for point in points]
    assert part.fixes["lat_deg"].tolist() == [point.latitude for point in points]
    assert part.fixes["ele_m"].dropna().tolist() == [
        point.elevation for point in points if point.elevation is not None
    ]
    assert marks == [[point.longitude, point.latitude] for point in other.waypoints]


@pytest.mark.parametrize(
    "name", ["drives/visnjan-car.gpx", "drives/messy/togeojson_blue_hills.gpx"]
)
def test_another_reader_sees_the_same_times(name: str) -> None:
    """Times of real logs agree with gpxpy to the microsecond."""
    data = open_data(name, source=f"{GPXPY}; {TOGEO}").read_bytes()
    part = read_gpx(data, name=name, kinds=KINDS)
    other = [point.point.time for point in gpxpy.parse(data).get_points_data()]

    assert part.fixes["time_utc"].tolist() == other


def test_times_of_1970_are_no_times() -> None:
    """A log that counts from 1970 keeps its places and says why it has no times."""
    data = open_data("drives/leipzig-car.gpx", source=HOPPER).read_bytes()
    part = read_gpx(data, name="leipzig-car.gpx", kinds=KINDS)

    assert part.source.skipped["times outside 1980-2100"] == 264
    assert part.fixes["time_utc"].isna().all()


def test_a_real_nmea_log_agrees_with_another_reader() -> None:
    """Every valid RMC position of 9931 sentences, as pynmea2 reads it."""
    path = open_data("drives/regensburg-car.nmea", source="GENIVI/positioning log replayer")
    part = read_nmea(path.read_bytes(), name="regensburg-car.nmea")
    lines = path.read_text(encoding="ascii").splitlines()
    other = [pynmea2.parse(line, check=True) for line in lines if line.startswith("$GPRMC")]
    valid = [one for one in other if one.status == "A"]

    assert part.source.taken == {"fixes": 774, "sentences": 9931}
    assert part.source.skipped["void positions"] == 16
    assert part.fixes["time_utc"].tolist() == [one.datetime for one in valid]
    assert part.fixes["lon_deg"].tolist() == pytest.approx(
        [one.longitude for one in valid], abs=1e-12
    )
    assert part.fixes["lat_deg"].tolist() == pytest.approx(
        [one.latitude for one in valid], abs=1e-12
    )
    assert part.fixes["ele_m"].notna().all()


@pytest.mark.parametrize("reader", sorted(READERS))
@pytest.mark.parametrize(("name", "sentence"), HOSTILE_JSON)
def test_hostile_json_is_one_sentence(name: str, sentence: str, reader: str) -> None:
    """No reader of GIS files breaks on what is no GeoJSON."""
    data = open_data(name, source=JSON).read_bytes()
    with pytest.raises(ReadError, match=sentence) as caught:
        READERS[reader](data, name="hostile.geojson")

    assert "vsimem" not in str(caught.value)


def test_a_city_centerline_has_its_twelve_pieces() -> None:
    """All pieces of a street are read with its name, vertices in the file's order."""
    path = open_data("city/prospect-st-centerline.geojson", source=CITY)
    pieces = read_lines(path.read_bytes(), name="centerline.geojson", where="MajorRoad = 2")

    assert len(pieces) == 12
    assert {piece.name for piece in pieces} == {"Prospect St"}
    assert pieces[0].lon_deg[0] == -71.10399114768414


@pytest.mark.parametrize(
    ("name", "count", "kind"),
    [
        ("prospect-st-hydrants.geojson", 48, "hydrant"),
        ("prospect-st-signals.geojson", 36, "signal"),
        ("prospect-st-intersections.geojson", 49, "intersection"),
    ],
)
def test_city_files_say_their_kind_by_name(name: str, count: int, kind: str) -> None:
    """Files without a column of kinds are what their name says, and that is a finding."""
    data = open_data(f"city/{name}", source=CITY).read_bytes()
    part = read_records(data, name=name, kinds=KINDS)
    found = KINDS.find(kind)

    assert found is not None
    assert part.records["kind"].tolist() == [found.code] * count
    assert f"kind {found.code} from the file's name" in part.findings[0].text


def test_points_of_a_measured_route_keep_their_columns() -> None:
    """A CSV with lon_deg and lat_deg is points with all their columns, in order."""
    path = open_data("measured-routes/route-10023601.csv", source="WSDOT-GIS/arcgis-rest-lrs")
    frame, lon_deg, lat_deg, *_ = read_points(path.read_bytes(), name="route.csv")

    assert list(frame.columns)[:3] == ["vertex", "lon_deg", "lat_deg"]
    assert frame["vertex"].tolist() == [str(i) for i in range(182)]
    assert (lon_deg[0], lat_deg[0]) == (-74.19700147175952, 40.6356672646217)
