"""A whole job from its files."""

import io
import json
import zipfile
from pathlib import Path

import pytest
from maps.example_pack import example_pack
from outside import open_data
from readers.made_osm import Way, xml
from readers.made_photos import BASE, PLACE, camera, jpeg

from routeprep.errors import JobError, ReadError
from routeprep.exports import csv_text, report_text
from routeprep.readers.jobfile import read_job

DATA = Path(__file__).parent.parent / "data"
JOB = """
format = 1
[job]
name = "Elm St (invented)"
date = 2026-06-01
timezone = "America/Chicago"
[inputs]
drives = ["drives/*"]
{inputs}
[[leg]]
code = "A"
name = "Elm St"
start = "10+00"
start_near = [-100.87, 41.43]
{leg}
"""
WAY = (
    b'<gpx><wpt lat="41.431" lon="-100.87"><time>2026-06-01T12:00:01Z</time><name>manhole</name>'
    b'</wpt><trk><trkseg><trkpt lat="41.43" lon="-100.87"><time>2026-06-01T12:00:00Z</time></trkpt>'
    b'<trkpt lat="41.44" lon="-100.87"><time>2026-06-01T12:00:09Z</time></trkpt>'
    b"</trkseg></trk></gpx>"
)
LINES = json.dumps(
    {
        "type": "FeatureCollection",
        "features": [
            {"type": "Feature", "properties": {"street": street},
             "geometry": {"type": "LineString", "coordinates": [[x, 41.43], [x, 41.44]]}}
            for street, x in (("Elm", -100.87), ("Oak", -100.88))
        ],
    }
).encode()  # fmt: skip
MARKS = b"lat,lon,what,time_utc\n41.432,-100.87,water valve,2026-06-01T12:00:02Z\n"
RECORDS = b"lat,lon,type\n41.431,-100.87,manhole\n"


LANDXML = (
    b'<LandXML xmlns="http://www.landxml.org/schema/LandXML-1.2" version="1.2"><Units><Imperial '
    b'linearUnit="USSurveyFoot"/></Units><CoordinateSystem epsgCode="26852"/><Alignments>'
    b'<Alignment name="CL" staStart="1000"><CoordGeom><Line><Start>100000 500000</Start><End>'
    b'101000 500000</End></Line></CoordGeom></Alignment><Alignment name="other" staStart="0">'
    b"<CoordGeom><Line><Start>0 0</Start><End>0 100</End></Line></CoordGeom></Alignment>"
    b"</Alignments></LandXML>"
)


# In NAD27, which lies tens of metres from WGS 84.
CRS = json.dumps(
    {
        "type": "FeatureCollection",
        "crs": {"type": "name", "properties": {"name": "EPSG:4267"}},
        "features": [
            {"type": "Feature", "properties": {"kind": "manhole"},
             "geometry": {"type": "Point", "coordinates": [-100.87, 41.43]}}
        ],
    }
).encode()  # fmt: skip


def zipped(**files):
    """A zip of files, named with __ for a slash and _ for a dot."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, data in files.items():
            archive.writestr(name.replace("__", "/").replace("_", "."), data)
    return out.getvalue()


def read(inputs="", leg="", **more):
    """A job of one drive and more files, named with __ for a slash and _ for a dot."""
    files = {"job.toml": JOB.format(inputs=inputs, leg=leg).encode(), "drives/a.gpx": WAY}
    files |= {name.replace("__", "/").replace("_", "."): data for name, data in more.items()}
    return read_job("job.toml", files)


def test_a_job_is_put_together_from_all_its_files() -> None:
    """Drive, marks, records, line, decisions and numbers, each with its source."""
    made = read(
        'marks = ["m.csv"]\nrecords = ["city/*.csv"]',
        "centerline = {file = 'l.geojson', where = \"street = 'Elm'\"}",
        m_csv=MARKS, city__r_csv=RECORDS, l_geojson=LINES,
        decisions_csv=b"anchor_id,field,value,by,when,why\nkind:MH,action,LIFT,x,2026-05-01,\n",
        numbers_csv=b"no,anchor_id,first_revision\nA-1,abc,A\n",
    )  # fmt: skip
    survey = made.survey

    assert survey.marks["kind"].tolist() == ["MH", "WV"]
    assert survey.records["kind"].tolist() == ["MH"]
    assert [piece.name for piece in survey.lines["A"]] == ["Elm"]
    assert (len(made.decisions), len(made.numbers)) == (1, 1)
    assert [(one.name, one.what, dict(one.taken)) for one in survey.sources] == [
        ("city/r.csv", "records", {"records": 1}),
        ("decisions.csv", "decisions", {"rows": 1}),
        ("drives/a.gpx", "drive", {"fixes": 2, "tracks": 1, "waypoints": 1}),
        ("job.toml", "job", {"legs": 1}),
        ("l.geojson", "centerline", {"pieces": 1}),
        ("m.csv", "marks", {"marks": 1}),
        ("numbers.csv", "numbers", {"rows": 1}),
    ]


def test_without_decisions_and_numbers_there_are_none() -> None:
    """Both tables may be missing."""
    made = read()

    assert (made.decisions, made.numbers, made.survey.lines) == ((), (), {})


def test_drives_are_read_by_content_whatever_they_are_called() -> None:
    """A log of NMEA and a GPX file under other endings."""
    nmea = (DATA / "void_noise_and_bad_checksums.nmea").read_bytes()
    survey = read(drives__b_txt=nmea, drives__c_xml=WAY.replace(b"12:00:09", b"12:00:08")).survey

    assert sorted(survey.drive_names.values()) == ["drives/a.gpx", "drives/b.txt", "drives/c.xml"]


def test_the_job_may_stand_in_a_folder_of_the_files() -> None:
    """Names are relative to the job file."""
    files = {
        "x/job.toml": JOB.format(inputs="", leg="").encode(),
        "x/drives/a.gpx": WAY,
        "y.gpx": b"",
    }

    assert len(read_job("x/job.toml", files).survey.fixes) == 2


def test_a_gpx_listed_under_marks_gives_its_waypoints_only() -> None:
    """Its track is not used, and that is a doubt."""
    part = WAY.replace(b"12:00:01", b"12:00:03").replace(b"12:00:00", b"11:59:59")
    survey = read('marks = ["w.gpx"]', w_gpx=part).survey

    assert len(survey.fixes) == 2
    assert len(survey.marks) == 2
    assert survey.marks["drive_id"].tolist() == [*survey.drive_names, ""]
    assert [one.level for one in survey.findings if "under marks" in one.text] == ["doubt"]


def test_points_with_properties_are_marks() -> None:
    """GeoJSON under marks."""
    point = {"type": "Feature", "properties": {"what": "manhole"},
             "geometry": {"type": "Point", "coordinates": [-100.87, 41.43]}}  # fmt: skip
    survey = read('marks = ["p.json"]', p_json=json.dumps(point).encode()).survey

    assert survey.marks["kind"].tolist() == ["MH", "MH"]


@pytest.mark.parametrize(
    ("inputs", "leg", "more", "sentence"),
    [
        ('marks = ["m*.csv"]', "", {}, r"\[inputs\] marks: 'm\*.csv' fits none of the job's files"),
        ("", "centerline = 'l.gpkg'", {}, "leg A: centerline 'l.gpkg' is not among"),
        ("", "centerline = 'l.csv'", {"l_csv": b"a,b\n"}, "l.csv: has no columns of longitude"),
        (
            "",
            "spine = 'b.gpx'",
            {},
            "spine 'b.gpx' is no drive of this job; the drives are drives/a.gpx",
        ),
        ("", "", {"drives__b_csv": b"a,b\n1,2\n"}, "drives/b.csv: "),
        (
            'marks = ["m.txt"]',
            "",
            {"m_txt": b"$GPRMC,1*00\n"},
            "is an NMEA log by its content, which is not read under marks; list it under drives",
        ),
        ("", "", {"drives__b_txt": b"12+40 MH\n"}, "is a list of stations .* it under marks"),
        ("", "", {"drives__b_jpg": jpeg()}, "is a photo by its content.*; list it under photos"),
        (
            'photos = ["p"]',
            "",
            {"p": MARKS},
            "is a table .* under drives or walks or marks or records",
        ),
        ("", "", {"drives__b_xml": b"<LandXML/>"}, "is LandXML .*; name it as the centerline of"),
        (
            "",
            "",
            {"drives__b_zip": zipped(a_zip=zipped(a_gpx=WAY))},
            "drives/b.zip/a.zip: is a zip of files .* a zip within a zip is not opened",
        ),
        ("", "", {"drives__b_zip": zipped(a_txt=b"")}, "drives/b.zip/a.txt: is empty"),
        ("", "", {"drives__b_zip": b"PK\x03\x04"}, "drives/b.zip: is a zip that cannot be opened"),
        (
            "",
            "centerline = {file = 'l.geojson', name = 'CL'}",
            {"l_geojson": LINES},
            "name = 'CL' picks an alignment of LandXML, and l.geojson is a GIS file; leave it out",
        ),
        (
            "",
            "centerline = {file = 'l.xml', where = 'a = 1'}",
            {"l_xml": LANDXML},
            "where = 'a = 1' picks features of a map file, and l.xml is LandXML; write name =",
        ),
        ("", "centerline = {file = 'l.xml', name = 'x'}", {"l_xml": LANDXML}, "called 'x'"),
        ("", "", {"numbers_csv": b"no\n"}, "numbers.csv: has columns no; expected"),
        ('records = ["r.shp"]', "", {"r_shp": b"\x00\x00\x27\x0a"}, "zip its .shp"),
    ],
)
def test_what_is_wrong_with_a_job_is_one_sentence(
    inputs: str, leg: str, more: dict[str, bytes], sentence: str
) -> None:
    """What is not there, what cannot be read, what does not fit."""
    with pytest.raises((JobError, ReadError), match=sentence) as caught:
        read(inputs, leg, **more)

    assert len(str(caught.value).splitlines()) <= 2


def test_all_that_is_wrong_is_said_at_once() -> None:
    """A line each, with the first as the cause."""
    with pytest.raises(JobError, match="fits none") as caught:
        read('marks = ["m.csv"]', "centerline = 'l.gpkg'", drives__b_txt=b"", numbers_csv=b"no\n")

    assert len(str(caught.value).split("\n")) == 5
    assert len(caught.value.facts["faults"]) == 4
    assert str(caught.value).endswith('[inputs] set_aside = ["drives/b.txt"]')


def test_a_walk_is_no_drive_of_a_vehicle() -> None:
    """Its marks were walked, its drive is one of the walks; it counts once, under either name."""
    survey = read('walks = ["drives/a.gpx"]').survey

    assert survey.walks == frozenset(survey.drive_names)
    assert survey.marks["method"].tolist() == ["walked"]
    assert [(one.name, one.what) for one in survey.sources] == [
        ("drives/a.gpx", "walk"), ("job.toml", "job"),
    ]  # fmt: skip
    assert read().survey.walks == frozenset()


def test_waypoints_alone_of_a_walk_are_walked() -> None:
    """Without fixes there is no drive, and they are marks of a person on foot."""
    point = WAY[: WAY.index(b"<trk>")] + b"</gpx>"
    survey = read('walks = ["w.gpx"]', w_gpx=point.replace(b"manhole", b"GAS valve")).survey

    assert sorted(survey.marks["method"]) == ["vehicle", "walked"]
    assert survey.walks == frozenset()
    assert [one.what for one in survey.sources if one.name == "w.gpx"] == ["marks"]


def test_a_walk_is_no_spine() -> None:
    """A line is made from what a vehicle drove."""
    with pytest.raises(
        JobError, match=r"'w\.gpx' is no drive of this job; the drives are drives/a"
    ):
        read('walks = ["w.gpx"]', "spine = 'w.gpx'", w_gpx=WAY.replace(b"12:00", b"13:00"))


def test_one_fault_alone_keeps_its_class() -> None:
    """A file that cannot be read is a ReadError."""
    with pytest.raises(ReadError, match=r"drives/k\.gpx: holds neither a fix") as caught:
        read(drives__k_gpx=b"<gpx/>")

    assert caught.value.facts["file"] == "drives/k.gpx"


def test_a_job_that_is_not_among_the_files_is_refused() -> None:
    """The name must be one of the files."""
    with pytest.raises(JobError, match=r"job\.toml: is not among the 0 files"):
        read_job("job.toml", {})


def test_a_spine_kept_under_another_name_is_still_the_spine() -> None:
    """A copy is counted once under one name; the leg follows."""
    (leg,) = read("", "spine = 'drives/b.gpx'", drives__b_gpx=WAY).settings.legs

    assert leg.spine == "drives/a.gpx"


def test_order_and_names_of_files_do_not_matter() -> None:
    """The same job listed in another order gives the same tables."""
    files = {"job.toml": JOB.format(inputs='marks = ["*.csv"]', leg="").encode(),
             "drives/a.gpx": WAY, "m.csv": MARKS}  # fmt: skip
    one = read_job("job.toml", files).survey
    other = read_job("job.toml", dict(reversed(files.items()))).survey

    assert one.marks.equals(other.marks)
    assert one.fixes.equals(other.fixes)
    assert one.sources == other.sources


@pytest.mark.parametrize(
    ("name", "fixes", "source"),
    [
        ("leipzig-car.gpx", 264, "graphhopper/graphhopper"),
        ("visnjan-car.gpx", 104, "tkrajina/gpxpy"),
        ("regensburg-car.nmea", 774, "GENIVI/positioning"),
    ],
)
def test_each_real_car_drive_is_a_job(name: str, fixes: int, source: str) -> None:
    """One drive file and the least of a job file."""
    data = open_data(f"drives/{name}", source=source).read_bytes()
    files = {"job.toml": JOB.format(inputs="", leg="").encode(), f"drives/{name}": data}

    assert len(read_job("job.toml", files).survey.fixes) == fixes


def kml(*placemarks):
    """A KML file of placemarks."""
    inside = "".join(f"<Placemark>{one}</Placemark>" for one in placemarks)
    return f"<kml>{inside}</kml>".encode()


POINT = "<name>manhole</name><Point><coordinates>-100.87,41.435</coordinates></Point>"
LINE = "<LineString><coordinates>-100.87,41.43 -100.87,41.44</coordinates></LineString>"


def test_kml_is_a_drive_marks_records_or_a_line() -> None:
    """By the key that it is listed under."""
    survey = read(
        'marks = ["m.kml"]\nrecords = ["r.kml"]', "centerline = 'l.kml'",
        drives__b_kml=kml(LINE), m_kml=kml(POINT, LINE), r_kml=kml(POINT, LINE), l_kml=kml(LINE),
    ).survey  # fmt: skip

    assert sorted(survey.drive_names.values()) == ["drives/a.gpx", "drives/b.kml"]
    assert survey.marks["source"].tolist() == ["drives/a.gpx", "m.kml"]
    assert sorted(one.geom_type for one in survey.records["geometry"]) == ["LineString", "Point"]
    assert [len(piece.lon_deg) for piece in survey.lines["A"]] == [2]
    assert [one.text for one in survey.findings if "its 2 fixes are not used" in one.text] != []


def test_a_list_of_stations_and_a_table_of_fixes_are_read_by_content() -> None:
    """A list under marks, a log in CSV under drives."""
    log = b"lat,lon,time\n41.43,-100.87,2026-06-01T15:00:00Z\n41.44,-100.87,2026-06-01T15:00:09Z\n"
    survey = read('marks = ["walk.txt"]', walk_txt=b"12+40 MH RT wheel path\n", drives__c_txt=log)

    assert survey.survey.marks["said_station"].tolist() == ["", "12+40"]
    assert sorted(survey.survey.drive_names.values()) == ["drives/a.gpx", "drives/c.txt"]


def test_a_zip_is_read_as_if_its_files_were_listed() -> None:
    """Each by what it holds, called by its way; what systems add is counted."""
    other = WAY.replace(b"12:00", b"13:00")
    packed = zipped(day2__b_gpx=other, MACOSX__x=b"").replace(b"MACOSX/x", b".ACOSX/x")
    survey = read(drives__log_zip=packed).survey

    assert sorted(survey.drive_names.values()) == ["drives/a.gpx", "drives/log.zip/day2/b.gpx"]
    assert {one.name: (one.what, dict(one.taken), dict(one.skipped)) for one in survey.sources}[
        "drives/log.zip"
    ] == ("zip", {"files": 1}, {"hidden files": 1})


def test_a_shapefile_in_its_zip_is_no_zip_of_files() -> None:
    """Its own reader takes it whole and says what it lacks."""
    with pytest.raises(ReadError, match=r"r\.zip: has no layer with geometry"):
        read('records = ["r.zip"]', r_zip=zipped(r_shp=b"", r_dbf=b""))


def test_a_designed_alignment_is_a_legs_line() -> None:
    """Chosen by its name; its file is a source, and what is off with others is not said."""
    made = read("", "centerline = {file = 'l.xml', name = 'CL'}", l_xml=LANDXML)
    alignment = made.survey.alignments["A"]

    assert (alignment.name, alignment.unit, alignment.crs) == ("CL", "ftUS", "EPSG:26852")
    assert made.survey.lines == {}
    assert not [one for one in made.survey.findings if "'other'" in one.where]
    assert ("l.xml", "centerline", {"alignments": 1}) in [
        (one.name, one.what, dict(one.taken)) for one in made.survey.sources
    ]


def test_a_photo_with_words_is_a_mark_and_a_silent_one_belongs_to_a_mark() -> None:
    """Within ten seconds of it; the one that belongs to nothing is listed."""
    said = jpeg({BASE.ImageDescription: "water valve"}, camera("2026:06:01 07:00:05"), PLACE)
    silent = jpeg(exif=camera("2026:06:01 07:00:02"))
    far = jpeg(exif=camera("2026:06:01 09:00:00"))
    survey = read('photos = ["p/*"]', p__1_jpg=said, p__2_jpg=silent, p__3_jpg=far).survey

    assert survey.marks[["kind", "photo"]].to_numpy().tolist() == [
        ["MH", "p/2.jpg"], ["WV", "p/1.jpg"],
    ]  # fmt: skip
    assert {one.name: dict(one.taken) for one in survey.sources if one.what == "photo"} == {
        "p/1.jpg": {"photos": 1},
        "p/2.jpg": {"photos of marks": 1},
        "p/3.jpg": {"photos that belong to nothing yet": 1},
    }
    assert [one.where for one in survey.findings if "has no zone" in one.text] == [
        "p/1.jpg and 2 more photos"
    ]


def test_a_bad_file_is_refused_with_the_line_that_sets_it_aside() -> None:
    """What is set aside already stays in the line."""
    inputs = 'photos = ["p/*"]\nset_aside = ["p/b.jpg"]'
    with pytest.raises(ReadError, match=r"p/c\.jpg: is empty") as caught:
        read(inputs, p__b_jpg=b"", p__c_jpg=b"", drives__z_gpx=WAY)

    assert str(caught.value).splitlines()[1] == (
        'to go on without what cannot be read: [inputs] set_aside = ["p/b.jpg", "p/c.jpg"]'
    )


def test_a_file_that_is_set_aside_is_not_read_and_that_is_said() -> None:
    """As a doubt and among the sources, once, under whatever key; also one of a zip."""
    both = zipped(b_gpx=b"broken", c_gpx=WAY.replace(b"12:00", b"13:00"))
    survey = read(
        'marks = ["drives/x.gpx"]\nset_aside = ["drives/x.gpx", "drives/log.zip/b.gpx"]',
        drives__x_gpx=b"broken", drives__log_zip=both,
    ).survey  # fmt: skip
    aside = [one.name for one in survey.sources if one.what == "set aside"]

    assert aside == ["drives/log.zip/b.gpx", "drives/x.gpx"]
    assert sorted(one.where for one in survey.findings if "is set aside" in one.text) == aside
    assert {one.level for one in survey.findings if "is set aside" in one.text} == {"doubt"}
    assert len(survey.drive_names) == 2


def test_a_name_that_sets_nothing_aside_is_a_fault() -> None:
    """A mistyped name would let a bad file in, or a good one."""
    with pytest.raises(JobError, match=r"set_aside: 'x\.gpx' is none of the files that drives"):
        read('set_aside = ["x.gpx"]')


def test_a_datum_operation_reaches_the_readers() -> None:
    """One that does not fit the file's datum is refused by the reader of lines."""
    with pytest.raises(JobError, match="set_aside") as caught:
        read_job("job.toml", {
            "job.toml": JOB.replace("[inputs]", 'datum_operation = "EPSG:0"\n[inputs]')
            .format(inputs='records = ["r.geojson", "s.geojson"]', leg="").encode(),
            "drives/a.gpx": WAY,
            **dict.fromkeys(("r.geojson", "s.geojson"), CRS),
        })  # fmt: skip

    assert caught.value.facts["files"] == ("r.geojson", "s.geojson")
    assert "EPSG:0" in str(caught.value)


def features(*places, **properties):
    """A GeoJSON file of points with the same properties."""
    made = [
        {"type": "Feature", "properties": properties,
         "geometry": {"type": "Point", "coordinates": place}}
        for place in places
    ]  # fmt: skip
    return json.dumps({"type": "FeatureCollection", "features": made}).encode()


NEAR, FAR = [-100.87, 41.4351], [-100.80, 41.435]


def test_a_file_under_records_tables_is_read_as_they_say() -> None:
    """It need not stand under [inputs] too; the rest is guessed, in zips as well."""
    table = '[[records]]\nfiles = "r/*"\nkind = "water valve"\n'
    survey = read(
        "", table, r__a_geojson=features(NEAR, TYPE="manhole"),
        r__b_zip=zipped(c_csv=b"lat,lon,type\n41.436,-100.87,manhole\n"),
    ).survey  # fmt: skip
    both = read('records = ["r/a.geojson"]', table, r__a_geojson=features(NEAR)).survey

    assert sorted(survey.records["source"]) == ["r/a.geojson", "r/b.zip/c.csv"]
    assert survey.records["kind"].tolist() == ["WV", "WV"]
    assert both.records["kind"].tolist() == ["WV"]
    assert [one.name for one in both.sources if one.what == "records"] == ["r/a.geojson"]


def test_records_outside_the_surroundings_of_drives_and_lines_are_counted() -> None:
    """A line elsewhere brings its surroundings with it."""
    files = {"r_geojson": features(NEAR, FAR, type="manhole")}
    one = read('records = ["r.geojson"]', **files).survey
    wide = LINES.replace(b"-100.88", b"-100.8")
    line = 'centerline = "l.geojson"'
    two = read('records = ["r.geojson"]', line, **files, l_geojson=wide).survey

    assert [dict(x.skipped) for x in one.sources if x.what == "records"] == [
        {"outside the job's surroundings": 1}
    ]
    assert (len(one.records), len(two.records)) == (1, 2)
    assert set(one.records["record_id"]) < set(two.records["record_id"])


def test_records_tables_that_fit_nothing_or_name_what_is_not_there_are_errors() -> None:
    """Both are said in one go."""
    with pytest.raises(JobError, match=r"has no field 'KIND'") as caught:
        read(
            "", '[[records]]\nfiles = "x/*"\n[[records]]\nfiles = "r.geojson"\nkind_field = "KIND"',
            r_geojson=features(NEAR, TYPE="manhole"),
        )  # fmt: skip

    fits, _ = caught.value.facts["faults"]
    assert fits == (
        "job.toml: [[records]] files: 'x/*' fits none of the job's files; mend it or put the file "
        "there"
    )
    with pytest.raises(JobError, match=r"'r\.geojson' fits 'r\.geojson', which a table before it"):
        read("", '[[records]]\nfiles = "r.geojson"\n' * 2, r_geojson=features(NEAR))


def test_street_maps_are_read_around_the_job() -> None:
    """A street across the drive is kept, one a degree away is not; both sorts of file count."""
    here = Way([(-100.88, 41.435), (-100.86, 41.435)], {"name": "Oak St", "highway": "primary"})
    away = Way([(-99.0, 41.435), (-99.1, 41.435)], {"name": "Far St", "highway": "primary"})
    survey = read('streets = ["map/*"]', map__t_osm=xml([here, away])).survey

    assert [one.name for one in survey.streets] == ["Oak St"]
    assert ("map/t.osm", "streets") in {(one.name, one.what) for one in survey.sources}


def test_a_street_map_that_cannot_be_read_can_be_set_aside() -> None:
    """One sentence, and how to go on without it."""
    with pytest.raises(ReadError, match=r"damaged or cut off.*\n.*set_aside = \[.t\.osm.\]"):
        read('streets = ["t.osm"]', t_osm=b"<osm><way>")
    survey = read('streets = ["t.osm"]\nset_aside = ["t.osm"]', t_osm=b"<osm><way>").survey

    assert survey.streets == ()


def test_an_extract_under_records_is_sent_where_it_belongs() -> None:
    """It holds streets, no covers."""
    with pytest.raises(ReadError, match="not read under records; list it under streets"):
        read('records = ["t.osm"]', t_osm=b"<osm/>")


def test_the_list_issued_before_comes_with_the_job() -> None:
    """Its letter and rows, from the folder that the job names; without one there is none."""
    pack = example_pack()
    files = {
        "issued__A__obstructions_csv": csv_text(pack).encode(),
        "issued__A__report_json": report_text(pack).encode(),
    }
    made = read('issued = "issued/A/"', **files)

    assert made.issued is not None
    assert (made.issued.revision, len(made.issued.rows)) == ("A", 7)
    assert read().issued is None
    with pytest.raises(JobError, match="issued/B"):
        read('issued = "issued/B"', **files)
