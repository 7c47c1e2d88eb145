"""A whole job from its files."""

import json
from pathlib import Path

import pytest
from outside import open_data

from routeprep.errors import JobError, ReadError
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
        ("", "", {"drives__b_csv": MARKS}, "drives/b.csv: is csv by its content, no log"),
        (
            'marks = ["m.txt"]',
            "",
            {"m_txt": b"$GPRMC,1*00\n"},
            "is nmea by its content and holds no",
        ),
        ("", "", {"numbers_csv": b"no\n"}, "numbers.csv: has columns no; expected"),
        ('records = ["r.shp"]', "", {"r_shp": b"\x00\x00\x27\x0a"}, "zip its .shp"),
    ],
)
def test_what_is_wrong_with_a_job_is_one_sentence(
    inputs: str, leg: str, more: dict[str, bytes], sentence: str
) -> None:
    """What is not there, what cannot be read, what does not fit."""
    with pytest.raises((JobError, ReadError), match=sentence):
        read(inputs, leg, **more)


def test_all_that_is_wrong_is_said_at_once() -> None:
    """A line each, with the first as the cause."""
    with pytest.raises(JobError, match="fits none") as caught:
        read('marks = ["m.csv"]', "centerline = 'l.gpkg'", drives__b_txt=b"", numbers_csv=b"no\n")

    assert len(str(caught.value).split("\n")) == 4
    assert len(caught.value.facts["faults"]) == 4


def test_one_fault_alone_keeps_its_class() -> None:
    """A file that cannot be read is a ReadError."""
    with pytest.raises(ReadError, match=r"drives/k\.gpx: is a KML file"):
        read(drives__k_gpx=(DATA / "kml_named_gpx.gpx").read_bytes())


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
