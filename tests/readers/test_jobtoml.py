"""The job's TOML: settings, input names, and all faults at once."""

import datetime as dt
import math
from contextlib import suppress

import pytest
from builders import KINDS
from hypothesis import given
from hypothesis import settings as examples
from hypothesis import strategies as st

from routeprep.errors import JobError
from routeprep.readers.disk import kinds_text
from routeprep.readers.jobleg import LineFile
from routeprep.readers.jobtoml import parse_toml, read_settings

TEXT = kinds_text()
GOOD = """
format = 1
[job]
name = "Elm St (invented)"
number = "T-1"
revision = "B"
date = 2026-06-01
timezone = "America/Chicago"
units = "us"
[inputs]
drives = ["drives/*.gpx"]
marks = []
records = ["records/*.geojson"]
photos = []
[[leg]]
code = "A"
name = "Elm St"
centerline = { file = "lines.gpkg", where = "name = 'Elm'" }
start = "10+00"
zero = ""
start_near = [-96.1, 41.2]
unit = "100 ft"
elevation_ft = 1000
from = "12+00"
to = "98+50"
depth_in = 2
lane_width_ft = 12
lanes_left = 1
lanes_right = 2
"""


def read(text=GOOD):
    """Settings and inputs from TOML text."""
    return read_settings(text.encode(), name="job.toml", kinds_text=TEXT)


def faults(text):
    """All that is wrong with a job file, one by one."""
    with pytest.raises(JobError, match=r"job\.toml: ") as caught:
        read(text)
    found = caught.value.facts["faults"]

    assert str(caught.value) == "\n".join(f"job.toml: {fault}" for fault in found)
    return list(found)


def changed(old, new):
    """The good job with one thing changed."""
    assert old in GOOD
    return GOOD.replace(old, new)


def test_the_whole_schema_is_read() -> None:
    """Every key of the schema, in metres and station values."""
    settings, inputs = read()
    (leg,) = settings.legs

    assert (settings.name, settings.number, settings.revision) == ("Elm St (invented)", "T-1", "B")
    assert (settings.date, settings.timezone.key) == (dt.date(2026, 6, 1), "America/Chicago")
    assert (leg.start_value, leg.from_station, leg.to_station) == (1000.0, "12+00", "98+50")
    assert (leg.elevation_m, leg.lane_width_m, leg.depth_m) == (304.8, 3.6576, 0.0508)
    assert (leg.lanes_left, leg.lanes_right, leg.start_near_deg) == (1, 2, (-96.1, 41.2))
    assert (inputs.drives, inputs.records) == (("drives/*.gpx",), ("records/*.geojson",))
    assert inputs.lines == {"A": LineFile("lines.gpkg", "name = 'Elm'")}
    assert inputs.findings == ()


def test_what_is_left_out_is_taken_and_said() -> None:
    """Defaults of a job with the least in it."""
    settings, inputs = read(
        "format = 1\n[job]\nname = 'x'\ndate = 2026-06-01\n"
        "[[leg]]\ncode = 'A'\nname = 'Elm'\nzero = 'north curb'\nstart_near = [1, 2]\n"
    )
    (leg,) = settings.legs

    assert (settings.revision, settings.units, settings.timezone.key) == ("A", "us", "UTC")
    assert (leg.lane_width_m, leg.lanes_left, leg.lanes_right) == (3.6576, 1, 1)
    assert (leg.unit.name, leg.zero) == ("100 ft", "north curb")
    assert all(map(math.isnan, (leg.start_value, leg.elevation_m, leg.depth_m)))
    assert leg.from_station == ""
    assert [finding.text.split(";")[0] for finding in inputs.findings] == [
        "[job] gives no timezone", "[job] gives no units", "[job] gives no revision",
    ]  # fmt: skip


def test_a_metric_job_has_metric_lengths() -> None:
    """Metres, millimetres and stations of a kilometre."""
    text = (
        changed('units = "us"', 'units = "metric"').replace('unit = "100 ft"\n', "")
        .replace("elevation_ft = 1000", "elevation_m = 300")
        .replace("depth_in = 2", "depth_mm = 50")
        .replace("lane_width_ft = 12\n", "").replace("10+00", "10+000")
        .replace("12+00", "12+000").replace("98+50", "98+500")
    )  # fmt: skip
    (leg,) = read(text)[0].legs

    assert (leg.unit.name, leg.start_value, leg.to_station) == ("1000 m", 10_000.0, "98+500")
    assert (leg.elevation_m, leg.depth_m, leg.lane_width_m) == (300.0, 0.05, 3.6)


def test_own_kinds_and_defaults_are_taken() -> None:
    """A kind of the job is found, and a tolerance is another."""
    text = GOOD + (
        "[[kind]]\ncode = 'ZZ'\nname = 'invented thing'\ngroup = 'site'\nclear_ahead_ft = 1\n"
        "clear_behind_ft = 1\naction = 'SLOW'\n[defaults]\njoin_gap_m = 2\n"
    )
    settings, _ = read(text)
    found = settings.kinds.find("invented thing")

    assert found is not None
    assert found.code == "ZZ"
    assert KINDS.find("invented thing") is None
    assert settings.defaults.join_gap_m == 2.0


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        ("format = 1", "", "format is None; write format = 1"),
        ("format = 1", "format = '1'", "format is '1'"),
        ("format = 1", "format = true", "format is True"),
        ("number =", "numbr =", "[job]: key 'numbr' is not known; the nearest one is 'number'"),
        ("drives =", "drive =", "[inputs]: key 'drive' is not known; the nearest one is 'drives'"),
        ("[inputs]", "[input]", "key 'input' is not known; the nearest one is 'inputs'"),
        ("lanes_left", "lane_left", "[[leg]] A: key 'lane_left' is not known"),
        ("where =", "were =", "[[leg]] A, centerline: key 'were' is not known; the nearest"),
        ('name = "Elm St (invented)"\n', "", "[job]: name is missing"),
        ("date = 2026-06-01", "", "[job]: date is missing"),
        ("date = 2026-06-01", "date = '2026-06-01'", "[job]: date is '2026-06-01'; expected"),
        ("date = 2026-06-01", "date = 2026-06-01T12:00:00", "without quotes or time"),
        ("America/Chicago", "America/Chicgo", "timezone 'America/Chicgo' is not known"),
        ("America/Chicago", "../etc/passwd", "timezone '../etc/passwd' is not known"),
        ('units = "us"', 'units = "feet"', "units is 'feet'; expected one of us, metric"),
        ('["drives/*.gpx"]', '"drives/*.gpx"', "expected a list of texts"),
        ('["drives/*.gpx"]', '["../x.gpx"]', "drives: '../x.gpx' leads out"),
        ("photos = []", 'photos = ["/p.jpg"]', "photos: '/p.jpg' is absolute"),
        ('code = "A"', 'code = "A-1"', "code is 'A-1'; expected up to 6 letters or digits"),
        ('code = "A"', "", "[[leg]] 1: code is missing"),
        ('name = "Elm St"', "", "[[leg]] A: name is missing"),
        ('start = "10+00"', "start = 1000", "start is 1000; expected a text"),
        ('start = "10+00"', 'start = "10+000"', "start: '10+000' is not a station of the"),
        ('zero = ""', 'zero = "curb"', "both are given: give start"),
        ("[-96.1, 41.2]", "[41.2, -96.1]", "start_near is [41.2, -96.1]; expected longitude"),
        ("[-96.1, 41.2]", "[-96.1]", "start_near is [-96.1]"),
        ('unit = "100 ft"', 'unit = "50 ft"', "unit is '50 ft'; expected one of '100 ft'"),
        ("elevation_ft = 1000", "elevation_m = 300",
         "elevation_m is not for a job with units 'us'; give"),
        ("depth_in = 2", "depth_mm = 50", "depth_mm is not for a job with units 'us'; give"),
        ("depth_in = 2", "depth_in = 0", "depth_in is 0; expected more than 0"),
        ("lane_width_ft = 12", "lane_width_ft = nan", "lane_width_ft is nan; expected a number"),
        ("lanes_left = 1", "lanes_left = -1", "lanes_left is -1; expected a whole number"),
        ("lanes_left = 1", "lanes_left = 1.0", "lanes_left is 1.0; expected a whole number"),
        ('file = "lines.gpkg", ', "", "centerline: file is missing"),
        ('"lines.gpkg"', '"/lines.gpkg"', "centerline: '/lines.gpkg' is absolute"),
        ("lanes_right = 2", "spine = 'a.gpx'", "spine is 'a.gpx' but the line comes from"),
        ("lanes_right = 2", "[defaults]\njoin_gap = 1", "[defaults]: key 'join_gap' is not known"),
        ("lanes_right = 2", "[defaults]\njoin_gap_m = -1", "[defaults]: default join_gap_m is -1"),
        ("lanes_right = 2", "[[kind]]\ncode = 1", "[[kind]]: "),
        ("lanes_right = 2", "[[leg]]\ncode = 'A'\nname = 'x'\nzero = 'y'\nstart_near=[1,2]",
         "leg codes ['A'] stand twice"),
    ],
)  # fmt: skip
def test_each_fault_is_one_sentence(old: str, new: str, fault: str) -> None:
    """What was found, where, and what to write."""
    found = faults(changed(old, new))

    assert len(found) == 1
    assert fault in found[0]


def test_a_line_from_drives_needs_its_beginning() -> None:
    """Without a centerline only start_near says which end the stations start from."""
    line = """centerline = { file = "lines.gpkg", where = "name = 'Elm'" }\n"""
    (fault,) = faults(
        changed(line, "centerline = ''\n").replace("start_near = [-96.1, 41.2]\n", "")
    )

    assert "then give start_near" in fault


def test_all_faults_are_said_at_once() -> None:
    """A file is mended once."""
    text = GOOD.replace("number", "numbr").replace("date =", "dat =").replace("10+00", "x")

    assert len(faults(text)) == 4


def test_a_job_without_a_leg_is_refused() -> None:
    """It needs at least one."""
    (fault,) = faults(GOOD[: GOOD.index("[[leg]]")])

    assert "has no leg" in fault


def test_a_newer_format_is_refused_by_name_before_anything_else() -> None:
    """Its keys may mean other things."""
    with pytest.raises(JobError, match="has format 2, this version reads format 1"):
        read("format = 2\nnew = 1")


@pytest.mark.parametrize(
    "data", [b"name = ", b"\xff\xfe", b"a = " + b"[" * 20_000, b"a = 1\na = 2"],
    ids=["no value", "no text", "too deep", "twice"],
)  # fmt: skip
def test_what_is_no_toml_is_refused(data: bytes) -> None:
    """With the place, and with the library's error as the cause."""
    with pytest.raises(JobError, match=r"job\.toml: is not TOML") as caught:
        parse_toml(data, name="job.toml")

    assert caught.value.__cause__ is not None


def test_a_byte_order_mark_does_not_matter() -> None:
    """Some editors write one."""
    assert parse_toml(b"\xef\xbb\xbfa = 1", name="job.toml") == {"a": 1}


@given(st.data())
@examples(max_examples=50)
def test_no_edit_of_a_line_breaks_the_reading(data: st.DataObject) -> None:
    """Any line replaced by another value is read or refused by us."""
    lines = GOOD.strip().split("\n")
    at = data.draw(st.integers(0, len(lines) - 1))
    value = data.draw(st.sampled_from(["-1", "[]", "{}", "''", "true", "inf", "[[1]]", "07:00:00"]))
    lines[at] = f"{lines[at].split('=')[0].strip('[] ')} = {value}"
    with suppress(JobError):
        settings, _ = read("\n".join(lines))

        assert settings.legs


def test_photos_set_aside_and_a_datum_operation_are_read() -> None:
    """What a job may name beside its drives, marks and records."""
    text = GOOD.replace("photos = []", 'photos = ["p/*.jpg"]\nset_aside = ["drives/bad.gpx"]')
    text = text.replace("[job]", '[job]\ndatum_operation = "EPSG:1234"')
    settings, inputs = read(text)

    assert inputs.photos == ("p/*.jpg",)
    assert inputs.set_aside == ("drives/bad.gpx",)
    assert settings.datum_operation == "EPSG:1234"


def test_records_tables_are_read_with_the_job_s_own_kinds() -> None:
    """A kind that the job adds is known there; what is wrong is said with the rest."""
    table = '\n[[records]]\nfiles = "r/*"\nkind = "stable"\n'
    own = (
        '\n[[kind]]\ncode = "STB"\nname = "stable"\ngroup = "site"\nclear_ahead_ft = 1\n'
        'clear_behind_ft = 1\naction = "LOOK"\n'
    )
    _, inputs = read(GOOD + table + own)

    assert inputs.record_files[0].fields.kind == "STB"
    assert faults(GOOD + table)[0].startswith("[[records]] 1: kind 'stable' is no kind of thing")
