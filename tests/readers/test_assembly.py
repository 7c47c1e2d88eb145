"""Parts to one survey: order, copies, and what is counted once."""

import datetime as dt
from dataclasses import replace

import pandas as pd
from builders import KINDS
from hypothesis import given
from hypothesis import strategies as st

from routeprep.readers.assembly import assemble
from routeprep.readers.gpx import read_gpx
from routeprep.readers.markstable import read_marks_csv
from routeprep.readers.parts import source
from routeprep.readers.records import read_records

HEAD = "<gpx><metadata><author><name>{}</name></author></metadata>"


def gpx(*seconds, start=0, marks=("manhole",), name="a.gpx", by="invented"):
    """A drive with fixes at these seconds and marks in its first one."""
    waypoints = "".join(
        f'<wpt lat="41.43" lon="-100.87"><time>2026-06-01T12:{start:02d}:00Z</time>'
        f"<name>{words}</name></wpt>"
        for words in marks
    )
    fixes = "".join(
        f'<trkpt lat="41.{4300 + second}" lon="-100.87"><ele>{second}</ele>'
        f"<time>2026-06-01T12:{start:02d}:{second:02d}Z</time></trkpt>"
        for second in seconds
    )
    text = f"{HEAD.format(by)}{waypoints}<trk><trkseg>{fixes}</trkseg></trk></gpx>"
    return read_gpx(text.encode(), name=name, kinds=KINDS)


def survey(*parts):
    """The survey of these parts alone."""
    return assemble(parts, lines={}, alignments={}, sources=(), findings=())


def same(one, other):
    """Whether two surveys hold the same tables."""
    pairs = ((one.fixes, other.fixes), (one.marks, other.marks), (one.records, other.records))
    return all(a.equals(b) for a, b in pairs)


PARTS = (
    gpx(0, 1, 2, name="a.gpx"),
    gpx(0, 5, start=3, marks=("water valve", "lunch"), name="b.gpx"),
    read_records(b"lat,lon,type\n41.43,-100.87,manhole\n1,1,manhole\n", name="r.csv", kinds=KINDS),
    read_marks_csv(
        b"lat,lon,what\n41.43,-100.87,manhole\n", name="m.csv", kinds=KINDS, zone=dt.UTC
    ),
)


@given(st.permutations(PARTS))
def test_the_order_of_files_changes_nothing(parts: list) -> None:
    """Tables, sources and findings are the same."""
    one, other = survey(*PARTS), survey(*parts)

    assert same(one, other)
    assert (one.sources, one.findings) == (other.sources, other.findings)


def test_names_of_files_change_no_order() -> None:
    """Only columns that hold a name differ."""
    one = survey(gpx(0, 1, name="a.gpx"), gpx(0, 5, start=3, name="b.gpx"))
    other = survey(gpx(0, 1, name="z.gpx"), gpx(0, 5, start=3, name="b.gpx"))

    assert one.fixes.equals(other.fixes)
    assert one.marks.drop(columns="source").equals(other.marks.drop(columns="source"))
    assert list(one.drive_names) == list(other.drive_names)


def test_nothing_at_all_is_an_empty_survey() -> None:
    """Tables of the right columns without rows."""
    empty = survey()

    assert (len(empty.fixes), len(empty.marks), len(empty.records)) == (0, 0, 0)


def test_a_copy_under_another_name_is_counted_once_and_said() -> None:
    """The same bytes twice: one drive, one mark."""
    once = survey(gpx(0, 1, name="a.gpx"))
    twice = survey(gpx(0, 1, name="a.gpx"), gpx(0, 1, name="copy.gpx"))

    assert same(once, twice)
    assert [finding.where for finding in twice.findings] == ["copy.gpx", "copy.gpx"]
    assert "is the same drive as a.gpx" in twice.findings[0].text
    assert "1 marks are also in another file" in twice.findings[1].text


def test_saved_again_with_one_more_waypoint_adds_only_that() -> None:
    """No id changes, and the new mark is there."""
    before = survey(gpx(0, 1, name="a.gpx"))
    after = survey(gpx(0, 1, name="a.gpx"), gpx(0, 1, marks=("manhole", "lunch"), name="b.gpx"))

    assert set(before.marks["mark_id"]) < set(after.marks["mark_id"])
    assert len(after.marks) == 2
    assert after.fixes.equals(before.fixes)


def test_of_two_copies_the_one_with_more_fixes_is_kept() -> None:
    """Thinned by some program, it begins and ends alike: the fuller one counts, as a doubt."""
    both = survey(gpx(0, 2, name="a.gpx", by=""), gpx(0, 1, 2, name="b.gpx"))

    assert len(both.fixes) == 3
    assert list(both.drive_names.values()) == ["b.gpx"]
    assert list(both.drive_by.values()) == ["invented"]
    assert both.findings[0].level == "doubt"
    assert both.findings[0].where == "a.gpx"


def test_of_two_equal_marks_the_one_that_knows_its_drive_is_kept() -> None:
    """Waypoints saved alone, and again with the track."""
    alone = gpx(marks=("manhole",), name="a.gpx")
    both = survey(alone, gpx(0, 1, name="b.gpx"))

    assert both.marks["drive_id"].tolist() == list(both.drive_names)


def test_a_mark_of_a_drive_that_is_not_there_has_none() -> None:
    """No id dangles."""
    part = gpx(0, 1)
    marks = survey(replace(part, fixes=part.fixes.iloc[:0], drive_names={}, drive_by={})).marks

    assert part.marks["drive_id"].tolist() != [""]
    assert marks["drive_id"].tolist() == [""]


def test_marks_come_by_time_and_those_without_last() -> None:
    """The order of the road, then what has no time."""
    marks = survey(*PARTS).marks

    assert marks["time_utc"].isna().tolist() == [False, False, False, True]
    assert marks["time_utc"].dropna().is_monotonic_increasing
    assert isinstance(marks["drive_id"].dtype, pd.StringDtype)


def test_uses_of_one_file_are_one_source() -> None:
    """A city's file that serves two legs stands once, its counts added."""
    one = source(b"x", name="city.gpkg", what="centerline", taken={"pieces": 2}, skipped={})
    both = assemble([], lines={}, alignments={}, sources=[one, one], findings=())

    assert [(item.name, item.taken) for item in both.sources] == [("city.gpkg", {"pieces": 4})]
