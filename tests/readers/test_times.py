"""Times as files write them."""

import datetime as dt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from routeprep.readers.times import NO_TIME_US, moment, time_index, time_us


@pytest.mark.parametrize(
    ("text", "odd"),
    [
        ("2026-06-01T12:00:00Z", ""),
        ("  2026-06-01 12:00:00+05:30 ", ""),
        ("1980-01-01T00:00:00Z", ""),
        ("2100-12-31T23:59:59.999999Z", ""),
        ("2026-06-01T12:00:00", "no zone"),
        ("1979-12-31T23:59:59Z", "outside 1980-2100"),
        ("2101-01-01T00:00:00Z", "outside 1980-2100"),
        ("0001-01-01T00:00:00+23:59", "outside 1980-2100"),
        ("9999-12-31T23:59:59-23:59", "outside 1980-2100"),
        ("2026-06-01", "unreadable"),
        ("2026-13-01T12:00:00Z", "unreadable"),
        ("12:00:00", "unreadable"),
        ("", "unreadable"),
    ],
)
def test_what_is_odd_about_a_time_is_said(text: str, odd: str) -> None:
    """Both ends of the years that count, zones, and what is no time."""
    since_us, said = time_us(text)

    assert said == odd
    assert (since_us == NO_TIME_US) == (odd in {"unreadable", "outside 1980-2100"})


FIRST, LAST = dt.datetime(1980, 1, 2), dt.datetime(2100, 12, 30)  # noqa: DTZ001 - zones follow


@given(st.datetimes(FIRST, LAST, timezones=st.timezones()))
def test_any_moment_written_with_its_zone_is_read_back(time: dt.datetime) -> None:
    """Whatever the zone, the moment is the same to the microsecond."""
    utc = time.astimezone(dt.UTC)

    assert moment(time_us(utc.isoformat())[0]) == utc


@given(st.text(max_size=30))
def test_no_text_breaks_the_reading(text: str) -> None:
    """Any text is a time or is called odd."""
    since_us, odd = time_us(text)

    assert odd or since_us != NO_TIME_US


def test_a_column_of_times_has_gaps_where_none_is_known() -> None:
    """Microseconds become UTC times, the missing one becomes NaT."""
    column = time_index(np.array([1_780_315_200_500_000, NO_TIME_US]))

    assert column[0] == dt.datetime(2026, 6, 1, 12, 0, 0, 500_000, tzinfo=dt.UTC)
    assert column.isna().tolist() == [False, True]
    assert moment(NO_TIME_US) is None
