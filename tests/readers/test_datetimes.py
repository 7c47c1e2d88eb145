"""Dates and times as people write them."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routeprep.readers.datetimes import date_in, day_or_month_first, iso_date, iso_time
from routeprep.readers.times import moment, time_us

MAY = "2026-05-04"


@pytest.mark.parametrize(
    "text",
    [
        MAY, "2026/5/4", "2026.05.04", "4 May 2026", "May 4, 2026", "4-May-26",
        "may 4th 2026", "04.05.2026", "4. May 2026",
    ],
)  # fmt: skip
def test_a_clear_date_is_read(text: str) -> None:
    """Names of months, years first, and points with the day first."""
    assert date_in(text) == (MAY, "", True)


@pytest.mark.parametrize(
    ("text", "order", "date"),
    [
        ("5/4/2026", "month", MAY), ("4/5/2026", "day", MAY), ("4/5/26", "day", MAY),
        ("14/5/2026", "", "2026-05-14"), ("5/14/2026", "", "2026-05-14"),
        ("5/5/2026", "", "2026-05-05"),
        ("5/4/2026", "", ""), ("31/31/2026", "", ""), ("30 Feb 2026", "", ""),
        ("2026-13-01", "", ""),
        ("on 2026-05-04", "", ""), ("today", "", ""), ("12+40", "", ""), ("", "", ""),
    ],
)  # fmt: skip
def test_a_date_in_numbers_is_read_when_it_can_be_one_only(
    text: str, order: str, date: str
) -> None:
    """Which of day and month stands first is never guessed."""
    assert iso_date(text, order=order) == date


def test_what_stands_around_a_date_is_handed_back() -> None:
    """And a date that may be two comes as typed."""
    assert date_in("by R. Sample, 2026-05-04, dry") == (MAY, "by R. Sample, , dry", True)
    assert date_in("by R. Sample, 5/4/2026") == ("5/4/2026", "by R. Sample, ", False)


@pytest.mark.parametrize(
    ("texts", "order"),
    [
        (["1/2/2026", "13/2/2026"], "day"), (["1/2/2026", "2/13/2026"], "month"),
        (["13/2/2026", "2/13/2026"], ""), (["1/2/2026"], ""), (["13.2.2026"], ""), ([], ""),
    ],
)  # fmt: skip
def test_a_whole_column_tells_the_order(texts: list[str], order: str) -> None:
    """One date that can be read one way only is enough, two that contradict are not."""
    assert day_or_month_first(texts) == order


@pytest.mark.parametrize(
    ("date", "time", "expected"),
    [
        (MAY, "14:30", "2026-05-04T14:30:00"),
        ("5/14/2026", "2:30:05 PM", "2026-05-14T14:30:05"),
        (MAY, "12:05 a.m.", "2026-05-04T00:05:00"),
        (MAY, "12:05 pm", "2026-05-04T12:05:00"),
        ("", "14 May 2026, 14:30Z", "2026-05-14T14:30:00+00:00"),
        ("", "5/14/2026 14:30 -0500", "2026-05-14T14:30:00-0500"),
        ("", "2026-05-04 14:30:05.25", "2026-05-04 14:30:05.25"),
        (MAY, "14:30:05,5", "2026-05-04T14:30:05.500000"),
        ("", "1780315200", "2026-06-01T12:00:00+00:00"),
        ("", "1780315200123", "2026-06-01T12:00:00.123000+00:00"),
    ],
)
def test_times_are_put_together(date: str, time: str, expected: str) -> None:
    """In two cells or one, with half days, zones, and seconds since 1970."""
    assert iso_time(date, time) == expected
    assert time_us(iso_time(date, time))[1] in {"", "no zone"}


@pytest.mark.parametrize(
    ("date", "time"),
    [
        ("", "14:30"), ("5/4/2026", "14:30"), (MAY, "noon"), (MAY, "25:99"), (MAY, "13:00 pm"),
        ("", "0000000000"), ("", "17803152001"),
    ],
)  # fmt: skip
def test_a_time_that_is_none_stays_unreadable(date: str, time: str) -> None:
    """Without a clear date, or beyond the day."""
    assert time_us(iso_time(date, time))[1] not in {"", "no zone"}


@given(st.datetimes(dt.datetime(1980, 1, 1), dt.datetime(2079, 12, 31)))  # noqa: DTZ001
def test_a_time_written_in_words_comes_back(when: dt.datetime) -> None:
    """To the second, twelve hours or twenty-four."""
    when = when.replace(microsecond=0)
    for text in (f"{when:%d %b %Y %I:%M:%S %p}Z", f"{when:%B %d, %Y} {when:%H:%M:%S}Z"):
        since_us, odd = time_us(iso_time("", text))

        assert (moment(since_us), odd) == (when.replace(tzinfo=dt.UTC), "")


@given(st.text(max_size=40), st.text(max_size=40))
def test_no_text_breaks_the_reading(date: str, time: str) -> None:
    """Whatever is written, text comes back."""
    assert isinstance(iso_time(date, time), str)
    assert isinstance(date_in(date + time)[0], str)
