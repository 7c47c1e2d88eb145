"""KML and KMZ: drives, marks, lines and records, and files that break off or mislead."""

import datetime as dt
import io
import math
import zipfile

import numpy as np
import pyogrio
import pytest
import shapely
from builders import KINDS
from hypothesis import given
from hypothesis import strategies as st
from outside import open_data

from routeprep.errors import ReadError
from routeprep.readers.kml import kml_features, read_kml, read_kml_lines

HEAD = (
    '<?xml version="1.0" encoding="UTF-8"?><kml xmlns="http://www.opengis.net/kml/2.2" '
    'xmlns:gx="http://www.google.com/kml/ext/2.2"><Document>'
)
TAIL = "</Document></kml>"
TRACK = (
    "<gx:Track><when>2026-06-01T12:00:00Z</when><when>2026-06-01T12:00:01Z</when>"
    "<gx:coord>-100.87 41.43 300</gx:coord><gx:coord>-100.87 41.44</gx:coord></gx:Track>"
)
LINE = "<LineString><coordinates>-100.87,41.43 -100.87,41.44</coordinates></LineString>"
OWN = '<ExtendedData><Data name="x"><value>manhole</value></Data></ExtendedData>'
AREA = (
    "<Polygon><outerBoundaryIs><LinearRing><coordinates>0,0 4,0 4,4 0,4 0,0</coordinates>"
    "</LinearRing></outerBoundaryIs><innerBoundaryIs><LinearRing><coordinates>1,1 2,1 2,2 1,1"
    "</coordinates></LinearRing></innerBoundaryIs></Polygon>"
)


def point(place="-100.87,41.43,0"):
    """A point."""
    return f"<Point><coordinates>{place}</coordinates></Point>"


def kml(*placemarks, head=HEAD, tail=TAIL):
    """A KML file of placemarks."""
    return (head + "".join(f"<Placemark>{one}</Placemark>" for one in placemarks) + tail).encode()


def read(*placemarks):
    """The part of a file of placemarks."""
    return read_kml(kml(*placemarks), name="x.kml", kinds=KINDS)


def kmz(**files):
    """A KMZ of files, named with _ for a dot."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, data in files.items():
            archive.writestr(name.replace("_", "."), data)
    return out.getvalue()


def test_points_are_marks_with_all_that_they_say() -> None:
    """Name, description without HTML, own fields and time."""
    text = (
        "<name>note 12</name><description><![CDATA[<p>water&nbsp;valve</p><br>8 in<script>1<2"
        "</script> depth < 3]]></description><TimeStamp><when>2026-06-01T12:00:00Z</when>"
        '</TimeStamp><ExtendedData><Data name="by"><value>Pat (invented)</value></Data>'
        '<SchemaData><SimpleData name="n"> </SimpleData></SchemaData></ExtendedData>'
    )
    (mark,) = read(text + point()).marks.to_dict("records")

    assert mark["words"] == "note 12; water valve 8 in depth < 3; Pat (invented)"
    assert mark["time_utc"] == dt.datetime(2026, 6, 1, 12, tzinfo=dt.UTC)
    assert (mark["lon_deg"], mark["lat_deg"]) == (-100.87, 41.43)


@pytest.mark.parametrize(
    ("fields", "kind"),
    [
        ("<name>manhole</name>", "MH"),
        ("<name>12</name><description>water valve</description>", "WV"),
        (f"<name>12</name>{OWN}", "MH"),
        ("<name>strange</name>", ""),
        ("<name>12</name><description><b>water</b> <i>valve</i></description>", "WV"),
        ("<description>manhole</description><name/>", "MH"),
    ],
)
def test_the_first_text_that_is_understood_says_the_kind(fields: str, kind: str) -> None:
    """Name before description before own fields, HTML quoted or not."""
    assert read(fields + point()).marks["kind"].tolist() == [kind]


def test_every_point_of_many_is_a_mark_and_a_time_alone_is_one() -> None:
    """What is in several places is marked in each; a time finds its place on a drive."""
    many = f"<name>manhole</name><MultiGeometry>{point('1,2')}{point('3,4')}</MultiGeometry>"
    timed = "<name>valve</name><TimeSpan><begin>2026-06-01T12:00:00Z</begin></TimeSpan>"
    marks = read(many, timed).marks

    assert marks["lon_deg"].tolist()[:2] == [1.0, 3.0]
    assert math.isnan(marks["lon_deg"].iloc[2])
    assert marks["time_utc"].notna().tolist() == [False, False, True]


def test_a_track_is_a_drive_with_times() -> None:
    """Places, elevations and times, first to first; the mark in its time is of that drive."""
    mark = "<name>MH</name><TimeStamp><when>2026-06-01T12:00:01Z</when></TimeStamp>" + point()
    part = read(f"<name>Elm</name>{TRACK}", mark)
    (drive_id,) = part.drive_names

    assert part.drive_names[drive_id] == "x.kml: Elm"
    assert part.fixes["lat_deg"].tolist() == [41.43, 41.44]
    assert part.fixes["ele_m"].tolist()[0] == 300.0
    assert part.fixes["time_utc"].dt.second.tolist() == [0, 1]
    assert part.marks["drive_id"].tolist() == [drive_id]
    assert part.source.taken == {"fixes": 2, "placemarks": 1, "tracks": 1}


def test_the_tracks_of_one_multitrack_are_pieces_of_one_drive() -> None:
    """A break in reception is never driven across."""
    later = TRACK.replace("12:00", "12:10")
    part = read(f"<gx:MultiTrack>{TRACK}{later}</gx:MultiTrack>")

    assert part.fixes["piece"].tolist() == [0, 0, 1, 1]
    assert len(part.drive_names) == 1


def test_several_tracks_are_several_drives() -> None:
    """Each is called by its number and its name."""
    part = read(f"<name>up</name>{TRACK}", TRACK.replace("12:00", "13:00"))

    assert sorted(part.drive_names.values()) == ["x.kml: track 1 up", "x.kml: track 2"]


def test_lines_are_drives_only_where_nothing_was_recorded() -> None:
    """Without times, and said; beside a track they are counted and not used."""
    alone, beside = read(LINE), read(LINE, TRACK)

    assert alone.fixes["time_utc"].isna().all()
    assert "no recorded track, only drawn lines" in alone.findings[0].text
    assert len(beside.fixes) == 2
    assert beside.source.skipped == {"drawn lines": 1}
    assert "1 drawn lines are not used" in beside.findings[0].text


def test_areas_under_drives_are_counted() -> None:
    """Alone they are refused with where to list them."""
    assert read(TRACK, AREA).source.skipped == {"areas": 1}
    with pytest.raises(ReadError, match="has 1 areas and neither a track, a line nor a point"):
        read(AREA)


@pytest.mark.parametrize(
    ("place", "reason"),
    [
        ("-100.87,95", "coordinates off the globe"),
        ("191,41", "coordinates off the globe"),
        ("nan,41", "coordinates off the globe"),
        ("inf,41", "coordinates off the globe"),
        ("x,y", "coordinates that are no numbers"),
        ("5", "coordinates that are no numbers"),
        (",,", "coordinates that are no numbers"),
    ],
)
def test_a_place_that_cannot_be_is_named(place: str, reason: str) -> None:
    """With its line and what stands there; the rest is kept."""
    part = read("<name>good</name>" + point(), "<name>MH</name>\n" + point(place))
    told = [finding.text for finding in part.findings]

    assert len(part.marks) == 1
    assert part.source.skipped[reason] == 1
    assert [f"1 {reason}, the first at line 2: {place!r}; left out" in one for one in told] == [
        True, False,
    ]  # fmt: skip
    assert part.source.skipped["placemarks without place or time"] == 1


def test_swapped_coordinates_are_said_to_look_so() -> None:
    """Nobody swaps them back unasked."""
    part = read(TRACK, point("41.43,-100.87"))

    assert "'41.43,-100.87' (longitude and latitude look swapped)" in part.findings[0].text
    assert len(part.marks) == 0


@pytest.mark.parametrize(
    "text",
    ["-100.1,41.4,0 -100.2,41.5,0", "\n -100.1, 41.4 , 0\n\t-100.2, 41.5 ,0 \n",
     "-100.1,41.4 -100.2,41.5", "-100.1,41.4,nan\n-100.2,41.5,inf"],
)  # fmt: skip
def test_coordinates_are_read_with_spaces_after_commas(text: str) -> None:
    """Tuples are parted by white space; some programs write it after commas too."""
    (piece,) = read_kml_lines(kml(f"<LineString><coordinates>{text}</coordinates></LineString>"),
                              name="x")  # fmt: skip

    assert piece.lon_deg.tolist() == [-100.1, -100.2]
    assert piece.lat_deg.tolist() == [41.4, 41.5]


def test_a_tuple_of_four_numbers_is_no_place_of_a_line() -> None:
    """It may be two places without a space between them."""
    text = "<LineString><coordinates>1,2,3,4 5,6 7,8</coordinates></LineString>"
    part = read(text)

    assert part.fixes["lon_deg"].tolist() == [5.0, 7.0]
    assert part.source.skipped == {"coordinates of more than three numbers": 1}


@pytest.mark.parametrize(
    ("when", "reason", "level"),
    [
        ("1234-01-01T00:00:00Z", "times outside 1980-2100", "doubt"),
        ("4096-01-01T00:00:00Z", "times outside 1980-2100", "doubt"),
        ("2026-06", "times unreadable", "doubt"),
        ("2026-06-01T12:00:00", "taken as UTC (1 of them)", "note"),
    ],
)
def test_odd_times_are_named(when: str, reason: str, level: str) -> None:
    """The place is kept."""
    part = read(f"<TimeStamp><when>{when}</when></TimeStamp>{point()}")
    (finding,) = part.findings

    assert len(part.marks) == 1
    assert reason in finding.text
    assert finding.level == level


def test_times_and_places_of_a_track_that_do_not_match_are_named() -> None:
    """What has no partner is left out."""
    part = read(TRACK.replace("<when>2026-06-01T12:00:01Z</when>", ""))

    assert len(part.fixes) == 1
    assert "1 times, 2 places; what has no partner is left out" in part.findings[0].text


def test_a_track_without_times_and_one_with_empty_places_is_read() -> None:
    """An empty place is reception lost."""
    bare = "<Track><coord>1 2 3</coord><coord>1.5 2.5 3</coord></Track>"
    holed = TRACK.replace("-100.87 41.44", "")

    assert read(bare).fixes["time_utc"].isna().all()
    assert len(read(holed).fixes) == 1


@pytest.mark.parametrize(
    "root",
    ['<kml xmlns="http://earth.google.com/kml/2.0">', '<kml xmlns="http://earth.google.com/kml/2.1">',
     '<kml xmlns="http://www.opengis.net/kml/2.3">', "<kml>", '<k:kml xmlns:k="x">'],
)  # fmt: skip
def test_every_version_and_none_is_read(root: str) -> None:
    """Elements count by their names, whatever their prefix."""
    prefix = "k:" if ":kml" in root else ""
    text = (
        f"{root}<{prefix}Placemark><{prefix}Point><{prefix}coordinates>1,2</{prefix}coordinates>"
        f"</{prefix}Point></{prefix}Placemark></{prefix}kml>"
    )

    assert len(read_kml(text.encode(), name="x", kinds=KINDS).marks) == 1


def test_links_overlays_and_models_are_counted_and_never_followed() -> None:
    """What a file names beside itself is not opened."""
    links = (
        "<NetworkLink><Link><href>http://localhost:9/x.kml</href></Link></NetworkLink>"
        "<GroundOverlay><name>o</name><Icon><href>file:///etc/passwd</href></Icon></GroundOverlay>"
        "<PhotoOverlay><Point><coordinates>1,2</coordinates></Point></PhotoOverlay>"
    )
    data = kml(point(), "<Model/>", head=HEAD + links)
    part = read_kml(data, name="x.kml", kinds=KINDS)

    assert part.source.skipped == {
        "links to other files, never followed": 1,
        "models": 1,
        "overlays": 2,
        "placemarks without place or time": 1,
    }
    assert len(part.marks) == 1


def test_who_made_it_is_who_drove() -> None:
    """The author of the document."""
    head = HEAD + '<a:author xmlns:a="x"><a:name>Pat (invented)</a:name></a:author>'
    part = read_kml(kml(TRACK, point(), head=head), name="x.kml", kinds=KINDS)

    assert list(part.drive_by.values()) == ["Pat (invented)"]
    assert part.marks["by"].tolist() == ["Pat (invented)"]


@pytest.mark.parametrize(
    ("cut", "fixes", "marks"),
    [
        ("<gx:coord>-100.87 41.44", 1, 1),
        (" -100.88,41.4", 2, 1),
        ("</Placemark><Placemark><name>half", 3, 1),
        ("</LineString></Pla", 3, 1),
    ],
)
def test_a_file_that_breaks_off_keeps_what_came_before(cut: str, fixes: int, marks: int) -> None:
    """Whole places of an open track or line; a place or a name that is cut is left out."""
    text = TRACK if "gx" in cut else LINE.replace(" -100.87,41.44", " -100.87,41.44 -100.88,41.45")
    whole = kml("<name>MH</name>" + point(), text + "</Placemark><Placemark><name>half").decode()
    part = read_kml(whole[: whole.index(cut) + len(cut)].encode(), name="x.kml", kinds=KINDS)

    assert (len(part.fixes), len(part.marks)) == (fixes, marks)
    assert part.findings[0].level == "doubt"
    assert "breaks off or is damaged at line 1" in part.findings[0].text


def test_a_broken_off_area_or_text_keeps_nothing_of_itself() -> None:
    """An area without its end is none, nor is a placemark whose place has not come."""
    whole = kml(point(), AREA).decode()
    part = read_kml(whole[: whole.index("2,2 1,1")].encode(), name="x.kml", kinds=KINDS)

    assert part.source.taken == {"placemarks": 1}
    assert part.source.skipped == {}


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"<gpx/>", "is XML that begins with <gpx>, not KML"),
        (b"", "no placemark .* it breaks off or is damaged at line 1: no element found"),
        (b"<kml/>", "has no placemark with a place or a time that can be used; export it again"),
        (kml("<name>x</name>"), r"\(1 placemarks without place or time\)"),
        (b"<!DOCTYPE kml [<!ENTITY a 'b'>]><kml/>", "line 1: declares the document type 'kml'"),
        (b"<?xml version='1.0' encoding='klingon'?><kml/>", "unknown encoding"),
    ],
)
def test_what_is_no_kml_is_one_sentence(data: bytes, sentence: str) -> None:
    """What it is, where, and what to do."""
    with pytest.raises(ReadError, match=sentence) as caught:
        read_kml(data, name="x.kml", kinds=KINDS)

    assert "\n" not in str(caught.value)


def test_a_kmz_is_read_from_its_first_map() -> None:
    """doc.kml before others by name; others are said."""
    both = kmz(a_kml=kml(point("1,2")), doc_kml=kml(point("3,4")), icon_png=b"x")
    part = read_kml(both, name="x.kmz", kinds=KINDS)
    named = read_kml(kmz(walk_kml=kml(point("5,6"))), name="x.kmz", kinds=KINDS)

    assert part.marks["lon_deg"].tolist() == [3.0]
    assert "1 more KML files in it are not read" in part.findings[0].text
    assert named.marks["lon_deg"].tolist() == [5.0]
    assert part.source.name == "x.kmz"


def test_lines_and_tracks_are_pieces_of_a_centerline() -> None:
    """With their names; points and areas are none."""
    pieces = read_kml_lines(kml(f"<name>Elm</name>{LINE}", TRACK, point(), AREA), name="x.kml")

    assert [(piece.name, len(piece.lon_deg)) for piece in pieces] == [("Elm", 2), ("", 2)]
    assert pieces[0].lat_deg.tolist() == [41.43, 41.44]


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (kml(point()), "has no line of two or more vertices"),
        (kml(LINE)[:-9], "breaks off or is damaged at line 1"),
    ],
)
def test_what_is_no_whole_line_is_refused(data: bytes, sentence: str) -> None:
    """A line that lacks its end would be wrong."""
    with pytest.raises(ReadError, match=sentence) as caught:
        read_kml_lines(data, name="x.kml")

    assert caught.value.facts["file"] == "x.kml"


def test_features_have_their_texts_as_columns() -> None:
    """Points, lines, tracks and areas with their holes."""
    data = '<ExtendedData><Data name="owner"><value>City</value></Data></ExtendedData>'
    frame, geometry = kml_features(
        kml(f"<name>a</name>{point('1,2')}", data + AREA, LINE, TRACK,
            f"<gx:MultiTrack>{TRACK}{TRACK}</gx:MultiTrack>",
            "<LineString><coordinates>1,2</coordinates></LineString>"),
        name="x.kml",
    )  # fmt: skip

    assert frame["name"].tolist() == ["a", "", "", "", "", ""]
    assert frame["owner"].tolist() == ["", "City", "", "", "", ""]
    assert [None if one is None else one.geom_type for one in geometry] == [
        "Point", "Polygon", "LineString", "LineString", "MultiLineString", None,
    ]  # fmt: skip
    assert geometry[1].area == 16.0 - 0.5


def test_another_reader_sees_the_same_features() -> None:
    """Points, lines and an area of one file agree with GDAL's own KML reader."""
    data = kml(f"<name>a</name>{point('1,2')}", f"<name>b</name>{LINE}", f"<name>c</name>{AREA}")
    other = pyogrio.read_dataframe(data)
    frame, geometry = kml_features(data, name="x.kml")

    assert frame["name"].tolist() == other["Name"].tolist()
    assert shapely.equals_exact(
        geometry, shapely.force_2d(other.geometry.to_numpy()), tolerance=0.0
    ).all()


@pytest.mark.parametrize(
    ("name", "outcome"),
    [
        ("gdal_truncated.kml", "damaged at line 35: no element found"),
        ("togeojson_nogeomplacemark.kml", r"\(1 placemarks without place or time\)"),
        ("togeojson_null_geometry.kml", r"\(1 placemarks without place or time\)"),
        ("togeojson_point_extra_coordinates.kml", (-122.0822035425683, 37.42228990140251)),
    ],
)
def test_each_hostile_file_has_its_outcome(name: str, outcome: str | tuple[float, float]) -> None:
    """Files that broke the readers of others."""
    source = "test files of OSGeo/gdal and of togeojson"
    data = open_data(f"hostile/kml/{name}", source=source).read_bytes()
    if isinstance(outcome, str):
        with pytest.raises(ReadError, match=outcome):
            read_kml(data, name=name, kinds=KINDS)

        return
    (mark,) = read_kml(data, name=name, kinds=KINDS).marks.to_dict("records")

    assert (mark["lon_deg"], mark["lat_deg"]) == outcome


@given(
    st.lists(st.tuples(st.floats(-180, 180), st.floats(-90, 90)), min_size=1, max_size=9),
    st.integers(0, 400),
)
def test_a_track_is_read_back_however_it_breaks_off(
    places: list[tuple[float, float]], cut: int
) -> None:
    """The places are those that were written, or the first of them."""
    whens = "".join(f"<when>2026-06-01T12:00:{i:02}Z</when>" for i in range(len(places)))
    coords = "".join(f"<gx:coord>{lon!r} {lat!r} 0</gx:coord>" for lon, lat in places)
    whole = kml(f"<gx:Track>{whens}{coords}</gx:Track>")
    try:
        fixes = read_kml(whole[: len(whole) - cut], name="x", kinds=KINDS).fixes
    except ReadError:
        fixes = None
    count = 0 if fixes is None else len(fixes)
    found = np.empty((0, 2)) if fixes is None else fixes[["lon_deg", "lat_deg"]].to_numpy()

    assert found.tolist() == [list(one) for one in places[:count]]
    assert count == len(places) or cut > 0
