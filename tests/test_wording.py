"""Dates, limits, depths, heights and lines in the words of a sheet."""

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from sheets.made_packs import leg, pack

from routeprep.units import STATION_UNITS, to_m
from routeprep.wording import (
    date_text,
    default_text,
    depth_text,
    height_text,
    limits_text,
    line_text,
    plus_minus_text,
)


@given(st.dates())
def test_a_date_is_the_calendar_s(date: dt.date) -> None:
    """Day of the week, day and year agree with the calendar, whatever the locale."""
    day_of_week, day, month, year = date_text(date).split()

    assert (int(day), int(year)) == (date.day, date.year)
    assert [day_of_week, month] == date.ctime().upper().split()[:2]


@pytest.mark.parametrize(
    ("from_ft", "to_ft", "expected"),
    [(200.0, 3000.0, ("12+00", "40+00")), (0.0, 1234.56, ("10+00", "22+34.6"))],
)
def test_limits_are_whole_where_they_are(
    from_ft: float, to_ft: float, expected: tuple[str, str]
) -> None:
    """A decimal stands only where the plans have one."""
    made = replace(leg(), from_m=to_m(from_ft, "ft"), to_m=to_m(to_ft, "ft"))

    assert limits_text(made) == expected


def test_metric_limits_have_three_digits() -> None:
    """Stations of 1000 m."""
    made = leg(unit=STATION_UNITS["1000 m"], start_value=12000.0, length_m=345.0)

    assert limits_text(made) == ("12+000", "12+345")


@pytest.mark.parametrize(
    ("depth_m", "units", "expected"),
    [
        (to_m(2.0, "in"), "us", "2 in"),
        (to_m(1.75, "in"), "us", "1.75 in"),
        (0.04, "metric", "40 mm"),
        (float("nan"), "us", ""),
    ],
)
def test_depth(depth_m: float, units: str, expected: str) -> None:
    """Inches or millimetres, nothing when not given."""
    assert depth_text(depth_m, units=units) == expected


@pytest.mark.parametrize(
    ("height_m", "by", "units", "expected"),
    [
        (to_m(14.5, "ft"), "posted", "us", "14 ft 6 in, posted"),
        (to_m(14.5, "ft") - 0.001, "measured", "us", "14 ft 5 in, measured"),
        (4.456, "measured", "metric", "4.45 m, measured"),
        (4.45, "posted", "metric", "4.45 m, posted"),
        (4.45, "guess", "metric", "only guessed: have it measured"),
        (float("nan"), "", "us", ""),
        (float("nan"), "posted", "us", ""),
        (4.45, "", "us", ""),
    ],
)
def test_height_is_never_rounded_up_and_never_a_guess(
    height_m: float, by: str, units: str, expected: str
) -> None:
    """A raised bed must fit under what is printed."""
    assert height_text(height_m, by, units=units) == expected


@given(st.floats(0.0, 1000.0), st.sampled_from([("us", "ft"), ("metric", "m")]))
def test_plus_minus_is_never_smaller_than_it_is(sd_m: float, units: tuple[str, str]) -> None:
    """Rounding only widens it, by less than one step."""
    text = plus_minus_text(sd_m, units=units[0])
    said_m = to_m(float(text.removeprefix("±").split()[0]), units[1])

    assert -1e-5 <= said_m - 1.959964 * sd_m <= to_m(1.0, "ft")


def test_a_path_driven_is_never_called_a_plan_centerline() -> None:
    """It says what it is, and how sure."""
    made = leg()
    line = replace(made.line, made_from="path driven", sd_m=np.array([1.0, 3.0]))

    assert line_text(replace(made, line=line), pack()) == (
        "along the path driven, not plan centerline (±13 ft across, at worst ±20 ft)"
    )
    assert line_text(made, pack()) == "along the centerline of a file"


@pytest.mark.parametrize(
    ("name", "value", "units", "expected"),
    [
        ("jump_speed_mps", 60.0, "us", "jump speed: 60 m/s (134 mph)"),
        ("jump_speed_mps", 60.0, "metric", "jump speed: 60 m/s"),
        ("tap_late_s", 1.0, "us", "tap late: 1 s"),
        ("road_corridor_m", 30.0, "metric", "road corridor: 30 m"),
        ("same_thing_sds", 2.0, "us", "same thing sds: 2"),
    ],
)
def test_defaults_carry_their_unit(name: str, value: float, units: str, expected: str) -> None:
    """Metres and metres a second, in feet and miles an hour beside them on a US job."""
    assert default_text(name, value, units=units) == expected
