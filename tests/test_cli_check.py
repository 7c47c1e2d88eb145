"""``check``: each file and leg with what is odd about it, in lines that fit a laptop."""

import re
import shutil
from dataclasses import replace

import pytest
from click.testing import CliRunner
from sheets.surveyed_pack import surveyed_pack

from routeprep import tables
from routeprep.cli import check, main
from routeprep.home import home
from routeprep.shapes import Finding, Source

JOB = home() / "data" / "demo" / "job"


@pytest.fixture
def said(monkeypatch):
    """What check prints of a pack."""

    def run(pack):
        monkeypatch.setattr(check, "prepared", lambda _inputs, _files: pack)
        done = CliRunner().invoke(main, ["check", str(JOB / "job.toml")])
        assert (done.exit_code, done.stderr) == (0, "")
        return done.stdout

    return run


def flat(text):
    """The text on one line, so that a sentence is found wherever its lines break."""
    return " ".join(text.split())


def under(text, title):
    """The lines under a title that stands two deep."""
    (block,) = re.findall(rf"^  {re.escape(title)}.*\n((?:    .*\n)*)", text, re.MULTILINE)
    return flat(block)


def test_a_file_is_told_with_its_drive_and_what_is_odd(said):
    """What it is, counts, time span, length, accuracy, who, and findings about it or its track."""
    text = said(surveyed_pack())

    assert "  drives/one.gpx: drive\n" in text
    assert under(text, "drives/one.gpx: drive") == (
        "took 812 fixes; skipped 3 no time morning: THU 28 MAY 2026 08:12:04 to 08:19:33 CDT "
        "(7 min 29 s), 3.00 mi; stood 27 s; accuracy reported by the device (68 %): 16 ft; "
        "smoothed (95 %): ±11 ft; gaps: 1; driven by J. Doe DOUBT: the log was cut off. "
        "morning: 1 breaks in the fixes"
    )


def test_a_finding_stands_once_under_its_file_or_leg_or_in_the_heap(said):
    """What is about no file and no leg is in the sections below."""
    text = said(surveyed_pack())

    assert text.count("the log was cut off") == 1
    assert under(text, "A Invented Road A").endswith("ground length at the elevation given")
    assert "\nCannot be used: 1\n  an invented fault of the whole job\n" in text
    assert "\nDoubts: 1\n  decision 3 (x): hangs on nothing\n" in text
    assert "\nFor the record" not in text


def test_the_longer_name_owns_a_finding(said):
    """A file in a zip is not the zip, and a leg AB is not leg A."""
    made = surveyed_pack()
    sources = tuple(
        Source(name=name, what=what, sha256="0" * 64, taken={"files": 1}, skipped={})
        for name, what in (("a.zip", "zip"), ("a.zip/one.gpx", "drive"))
    )
    findings = (
        Finding(level="note", where="a.zip/one.gpx, line 3", text="is odd"),
        Finding(level="note", where="leg AB", text="is another leg"),
    )
    text = said(replace(made, sources=sources, findings=findings, drives=()))

    assert under(text, "a.zip: zip") == "took 1 files"
    assert under(text, "a.zip/one.gpx: drive") == "took 1 files line 3: is odd"
    assert "\nFor the record: 1\n  leg AB: is another leg\n" in text


def test_files_set_aside_are_said_first_and_only_there(said):
    """By name, before anything that was read."""
    text = said(surveyed_pack())

    assert text.splitlines()[2:4] == [
        "SET ASIDE by name, NOT READ: 1",
        "  drives/bad.gpx: DOUBT: is set aside by the job ([inputs] set_aside) and is not read",
    ]
    assert text.count("drives/bad.gpx") == 1


def test_photos_stand_together(said):
    """Hundreds of them do not hide the rest; what is odd names the photo."""
    made = surveyed_pack()
    text = said(made)
    photos = [one for one in made.sources if one.what == "photo"]
    only = said(replace(made, sources=(replace(photos[0], skipped={}),), findings=()))

    assert under(text, "2 photos, photos/1.jpg to photos/2.jpg") == (
        "skipped 2 positions that cannot be used 1.jpg and 1 more photos: the clock is off "
        "DOUBT: photos that belong to nothing yet: 1"
    )
    assert "  1 photos, photos/1.jpg\n\nLegs" in only


def test_sorts_of_file_are_told_apart(said):
    """A designed alignment is no mere centerline, a list of stations no mere marks."""
    made = surveyed_pack()
    row = {"mark_id": "m", "across_frame": "as driven", "method": "walked", "source": "walk.txt"}
    marks = tables.table(tables.MARKS, [row | {"said_station": "12+40"}])
    walk = Source(name="walk.txt", what="marks", sha256="0" * 64, taken={"marks": 1}, skipped={})
    text = said(replace(made, marks=marks, sources=(*made.sources, walk)))

    assert "  lines/c.xml: designed alignment\n" in text
    assert "  walk.txt: station list\n" in text


def test_a_leg_is_told_with_its_line_stations_curves_and_sight(said):
    """Line, cut, references, ties, curves, grades, where to look."""
    text = under(said(surveyed_pack()), "A Invented Road A")
    wanted = (
        "3,281 ft (1,000.0 m) along the path driven, not plan centerline",
        "cut 10+00 to 42+40.8, 3,281 ft, 2 in deep",
        "mile marker 14: 13+50",
        "station equation: 25+43.20 BK = 25+00.00 AH",
        "ties: 12+00 (plan; plan paint at the culvert, J. Doe), 22+03.2 (paint;",
        "curve to the right: PC 16+50 ±20 ft, PT 19+00 ±20 ft, radius 720 ft ±60 ft, turns 20.1°",
        "grade 10+00 to 19+85: 6.0 % down ±0.3 %",
        "TO LOOK AT 17+00 to 19+00, stations counting up: a driver may see 210 ft and needs 250 ft",
        "POORLY LOOKED AT 21+50 to 42+40.8: not driven",
    )

    assert [one for one in wanted if one not in text] == []
    assert "; spiral 196.85 ftUS before" in under(said(surveyed_pack()), "C Invented Road C")


def test_a_leg_of_which_nothing_is_known_says_nothing_more(said):
    """Line and cut alone, with the name of the zero."""
    made = surveyed_pack(coverage=tables.table(tables.COVERAGE, []))

    assert under(said(made), "B Invented Road B") == (
        "656 ft (200.0 m) along the centerline of a file, at 1,181 ft elevation cut 0+00 to "
        "6+56.2 from Elm St north curb, 656 ft, 2 in deep"
    )


def test_a_metric_job_is_told_in_metres(said):
    """No feet where the job has none."""
    made = surveyed_pack()
    made = replace(made, settings=replace(made.settings, units="metric"))

    assert "200.0 m along the centerline of a file, at 360 m elevation" in flat(said(made))


def test_lines_fit_a_laptop(said):
    """No line is wider than 96 but for a word that is itself."""
    lines = said(surveyed_pack()).splitlines()

    assert max(map(len, lines)) <= 96


def test_a_job_with_a_bad_file_is_checked_once_it_is_set_aside(tmp_path):
    """Refused with the way out; named in the job, it is said and left out."""
    shutil.copytree(JOB, tmp_path / "job")
    (tmp_path / "job" / "drives" / "junk.gpx").write_text("no log at all")
    job = tmp_path / "job" / "job.toml"
    refused = CliRunner().invoke(main, ["check", str(job)])
    job.write_text(job.read_text().replace(
        "[inputs]\n", '[inputs]\nset_aside = ["drives/junk.gpx"]\n'
    ))  # fmt: skip
    done = CliRunner().invoke(main, ["check", str(job)])

    assert refused.exit_code == 1
    assert 'set_aside = ["drives/junk.gpx"]' in refused.stderr
    assert done.exit_code == 0
    assert "\nSET ASIDE by name, NOT READ: 1\n  drives/junk.gpx: DOUBT: is set aside" in done.stdout
