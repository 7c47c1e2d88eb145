"""What was driven and looked at, in words."""

import datetime as dt
import zoneinfo
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sheets.made_packs import pack
from sheets.surveyed_pack import drives, surveyed_pack

from routeprep import tables
from routeprep.surveywords import (
    drive_row,
    look_rows,
    poor_rows,
    poor_text,
    set_aside,
    time_text,
)


def in_metres(made):
    """The pack as a metric job has it."""
    return replace(made, settings=replace(made.settings, units="metric"))


@given(st.floats(0.0, 1e5))
def test_a_time_is_right_to_its_last_digit(seconds):
    """Within half a second below an hour, half a minute above."""
    parts = time_text(seconds).split()
    sizes = {"h": 3600, "min": 60, "s": 1}
    told = sum(int(one) * sizes[unit] for one, unit in zip(parts[::2], parts[1::2], strict=True))

    assert told == pytest.approx(seconds, abs=0.5 if seconds < 3599 else 31.0)


def test_a_drive_is_said_by_the_clocks_of_the_job():
    """When, how long, how far, how sure, who; UTC 13:12 is 08:12 in Chicago in May."""
    made = surveyed_pack()

    assert drive_row(made.drives[0], made) == (
        "drives/one.gpx: morning", "J. Doe",
        "THU 28 MAY 2026 08:12:04 to 08:19:33 CDT (7 min 29 s)", "3.00 mi", "16 ft", "±11 ft",
        "27 s", "1",
    )  # fmt: skip


def test_a_drive_without_times_says_so():
    """What nobody recorded is no number."""
    made = surveyed_pack()

    assert drive_row(made.drives[1], made)[1:] == (
        "nobody named", "no times", "395 ft", "none", "±11 ft", "not known", "none",
    )  # fmt: skip


def test_a_drive_past_midnight_through_a_change_of_clocks():
    """Both days stand there, and it lasted as long as it lasted."""
    made = surveyed_pack()
    zone = zoneinfo.ZoneInfo("America/Chicago")
    begin = dt.datetime(2026, 10, 31, 23, 30, tzinfo=zone).astimezone(dt.UTC)
    late = replace(drives()[0], begin_utc=begin, end_utc=begin + dt.timedelta(hours=3))

    assert drive_row(late, made)[2] == (
        "SAT 31 OCT 2026 23:30:00 to SUN 1 NOV 2026 01:30:00 CST (3 h 0 min)"
    )


def test_a_metric_job_has_kilometres_and_metres():
    """As its crew reads them."""
    made = in_metres(surveyed_pack())

    assert drive_row(made.drives[0], made)[3:6] == ("4.83 km", "4.9 m", "±3.2 m")
    assert look_rows(made)[0][5] == "48 km/h"


def test_looks_are_counted_by_way_sun_and_lane():
    """What is not known is empty."""
    rows = look_rows(surveyed_pack())

    assert rows[0] == (
        "A", "10+00 to 16+60", "1 up, 1 down", "2 day, 0 night", "L1: 1, R1: 1", "30 mph",
        "±13 ft", "",
    )  # fmt: skip
    assert rows[1][4:] == ("R lane not told: 1", "30 mph", "±26 ft", "driven once; only at night")
    assert rows[2][4:] == ("", "", "", "not driven")


def test_what_was_poorly_looked_at_is_listed_by_leg_and_station():
    """All of it, or the longest alone, in the same order."""
    made = surveyed_pack()

    assert [row[:2] for row in poor_rows(made)] == [
        ("A", "16+60 to 21+50"),
        ("A", "21+50 to 42+40.8"),
        ("B", "0+00 to 1+65 from Elm St north curb"),
    ]
    assert poor_rows(made, longest=2) == poor_rows(made)[:2]
    assert poor_rows(made, longest=1) == [("A", "21+50 to 42+40.8", "not driven")]


def test_how_much_of_the_cut_was_poorly_looked_at():
    """Feet of feet, nothing where all is well."""
    made = surveyed_pack()
    well = replace(made, coverage=tables.table(tables.COVERAGE, []))

    assert poor_text(made) == "2,790 ft of 5,575 ft"
    assert poor_text(well) == ""
    assert poor_rows(well) == []


def test_files_set_aside_are_named():
    """By name, and no others."""
    assert set_aside(surveyed_pack()) == ["drives/bad.gpx"]
    assert set_aside(pack()) == []
