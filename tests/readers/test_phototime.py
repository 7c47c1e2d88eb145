"""When a photo was taken: every way in which camera clock, zone and satellite time come."""

import datetime as dt
import math
import zoneinfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routeprep.readers.phototime import (
    PhotoTimes,
    clock_time,
    satellite_time,
    taken_at,
    zone_offset,
)
from routeprep.readers.times import NO_TIME_US, moment

CHICAGO = zoneinfo.ZoneInfo("America/Chicago")
NOON = dt.datetime(2026, 6, 1, 12, tzinfo=dt.UTC)
ZONE_TAKEN = "its camera clock has no zone; the job's, America/Chicago, is taken"
TOLD = "the zone of its camera clock is told by its satellite time"
DAY = "the date of its satellite time is a day {} and is set right by its camera clock"


def taken(clock="", offset="", date="", of_day=(), zone=CHICAGO):
    """What is reckoned from the texts of a photo's tags."""
    times = PhotoTimes(
        clock=clock_time(clock, ""),
        offset=zone_offset(offset),
        satellite=satellite_time(date, of_day),
    )
    return taken_at(times, zone)


@pytest.mark.parametrize(
    ("clock", "offset", "date", "of_day", "notes"),
    [
        ("2026:06:01 07:00:00", "-05:00", "", (), ()),
        ("2026:06:01 21:30:00", "+09:30", "", (), ()),
        ("", "", "2026:06:01", (12, 0, 0), ()),
        ("2026:06:01 07:00:00", "", "", (), (ZONE_TAKEN,)),
        ("2026:06:01 07:00:00", "-05:00", "2026:06:01", (12, 0, 4), ()),
        ("2026:06:01 07:00:00", "", "2026:06:01", (12, 0, 4), (TOLD,)),
        ("2026:06:01 21:00:00", "", "2026:06:01", (12, 0, 4), (TOLD,)),
        ("2026:06:02 02:00:00", "", "2026:06:01", (12, 0, 4), (TOLD,)),
        ("2026:06:01 17:45:00", "", "2026:06:01", (11, 59, 56), (TOLD,)),
        ("2026:06:01 07:00:00", "-05:00", "2026:06:02", (12, 0, 4), (DAY.format("ahead"),)),
        ("2026:06:01 07:00:00", "-05:00", "2026:05:31", (12, 0, 4), (DAY.format("behind"),)),
        ("2026:06:01 07:00:00", "", "2026:06:02", (12, 0, 4), (DAY.format("ahead"), TOLD)),
        ("2026:06:01 07:00:00", "", "2026:05:31", (12, 0, 4), (DAY.format("behind"), TOLD)),
        ("2026:06:01 06:00:00", "", "2026:06:02", (12, 0, 4), (DAY.format("ahead"), TOLD)),
    ],
)  # fmt: skip
def test_noon_is_noon_however_it_is_told(
    clock: str, offset: str, date: str, of_day: tuple[float, ...], notes: tuple[str, ...]
) -> None:
    """Offset, satellite time, the job's zone; a wrong date; a clock of another zone."""
    found = taken(clock, offset, date, of_day)

    assert moment(found.time_us) == NOON
    assert (found.notes, found.doubts) == (notes, ())


def test_a_satellite_date_is_a_day_off_where_the_local_date_differs_too() -> None:
    """Evening in Chicago is the next day in UTC: a device may give the local date."""
    found = taken("2026:06:01 21:00:00", "-05:00", "2026:06:01", (2, 0, 0))

    assert moment(found.time_us) == dt.datetime(2026, 6, 2, 2, tzinfo=dt.UTC)
    assert found.notes == (DAY.format("behind"),)


@pytest.mark.parametrize(
    ("clock", "offset", "apart"),
    [
        ("2026:06:01 07:03:00", "", "3.0 min"),
        ("2026:06:01 08:00:00", "-05:00", "60.0 min"),
        ("2026:06:01 06:59:40", "-05:00", "0.3 min"),
        ("2026:06:01 13:00:00", "-05:00", "6 h"),
        ("2026:01:01 07:00:00", "-05:00", "151 days"),
        ("2026:06:04 09:00:00", "", "3 days"),
    ],
)
def test_where_the_two_disagree_the_satellite_counts(clock: str, offset: str, apart: str) -> None:
    """A camera whose clock is minutes, an hour or months off."""
    found = taken(clock, offset, "2026:06:01", (12, 0, 0))

    assert moment(found.time_us) == NOON
    assert f"are {apart} apart; the satellite time is taken" in found.doubts[0]


@pytest.mark.parametrize(
    ("clock", "utc", "why"),
    [
        ("2026:11:01 01:30:00", (2026, 11, 1, 6, 30), "came twice in America/Chicago"),
        ("2026:11:01 02:30:00", (2026, 11, 1, 8, 30), ""),
        ("2026:11:01 00:30:00", (2026, 11, 1, 5, 30), ""),
        ("2026:03:08 02:30:00", (2026, 3, 8, 8, 30), "America/Chicago did not have"),
        ("2026:03:08 03:30:00", (2026, 3, 8, 8, 30), ""),
        ("2026:03:08 01:30:00", (2026, 3, 8, 7, 30), ""),
    ],
)
def test_the_hours_at_the_edges_of_summer_time_are_doubted(
    clock: str, utc: tuple[int, int, int, int, int], why: str
) -> None:
    """The hour that comes twice and the one that does not come; their neighbours are sure."""
    found = taken(clock)

    assert moment(found.time_us) == dt.datetime(*utc, tzinfo=dt.UTC)
    assert [why in one for one in found.doubts] == [True] * bool(why)


def test_an_offset_settles_the_hour_that_comes_twice() -> None:
    """With a zone of its own there is nothing to doubt."""
    first = taken("2026:11:01 01:30:00", "-05:00")
    second = taken("2026:11:01 01:30:00", "-06:00")

    assert (first.doubts, second.doubts) == ((), ())
    assert second.time_us - first.time_us == 3_600_000_000


@pytest.mark.parametrize("year", ["0001", "1234", "1970", "4096", "9999"])
def test_a_year_that_cannot_be_is_said_and_not_used(year: str) -> None:
    """From either clock; the other one counts."""
    wrong = f"{year}:06:01"
    neither = taken(f"{wrong} 07:00:00", "-12:00", wrong, (23, 59, 59))

    assert neither.time_us == NO_TIME_US
    assert [f"the year {int(year)}, which cannot be" in one for one in neither.doubts] == [True] * 2
    assert moment(taken(f"{wrong} 07:00:00", "", "2026:06:01", (12, 0, 0)).time_us) == NOON
    assert moment(taken("2026:06:01 07:00:00", "-05:00", wrong, (1, 2, 3)).time_us) == NOON


def test_no_time_is_no_time() -> None:
    """Nothing is made up."""
    assert taken() == (NO_TIME_US, (), ())


@pytest.mark.parametrize(
    ("text", "fraction", "expected"),
    [
        ("2026:06:01 07:00:00", "", dt.datetime(2026, 6, 1, 7)),  # noqa: DTZ001 - local
        ("2026-06-01T07:00:00", "25 ", dt.datetime(2026, 6, 1, 7, 0, 0, 250_000)),  # noqa: DTZ001
        ("2026:06:01 07:00:00", "1234567", dt.datetime(2026, 6, 1, 7, 0, 0, 123_456)),  # noqa: DTZ001
        ("0000:00:00 00:00:00", "", None),
        ("2026:02:31 07:00:00", "", None),
        ("2026:06:01 24:00:00", "", None),
        ("    :  :     :  :  ", "", None),
        ("yesterday", "", None),
        ("", "", None),
    ],
)
def test_camera_clocks_are_read_or_are_none(
    text: str, fraction: str, expected: dt.datetime | None
) -> None:
    """With digits of the second, and as devices write it that were never set."""
    assert clock_time(text, fraction) == expected


@pytest.mark.parametrize(
    ("text", "hours"),
    [("-05:00", -5), ("+0530", 5.5), ("+14:00", 14), ("-12:00", -12), ("+14:15", None),
     ("-13:00", None), ("   :  ", None), ("Z", None), ("", None)],
)  # fmt: skip
def test_offsets_are_read_or_are_none(text: str, hours: float | None) -> None:
    """From 12 hours behind to 14 ahead."""
    assert zone_offset(text) == (None if hours is None else dt.timedelta(hours=hours))


@pytest.mark.parametrize(
    "of_day", [(), (1, 2), (math.nan, 0, 0), (0, math.inf, 0), (-1, 0, 0), (25, 0, 0), (1, 2, 3, 4)]
)
def test_a_satellite_time_that_is_not_whole_is_none(of_day: tuple[float, ...]) -> None:
    """Zero denominators, missing parts, more than a day."""
    assert satellite_time("2026:06:01", of_day) is None
    assert satellite_time("2026:13:01", (1, 2, 3)) is None
    assert satellite_time("", (1, 2, 3)) is None


@given(
    st.datetimes(dt.datetime(1985, 1, 1), dt.datetime(2090, 1, 1)),  # noqa: DTZ001 - UTC below
    st.integers(-48, 56),
    st.sampled_from([-1, 0, 1]),
    st.integers(-9, 9),
)
def test_with_an_offset_the_camera_clock_is_the_time_whatever_the_date_s_fault(
    utc: dt.datetime, quarters: int, day: int, seconds: int
) -> None:
    """Any zone, a date a day off, and a few seconds between the two clocks."""
    utc = utc.replace(microsecond=0)
    offset = dt.timedelta(minutes=15 * quarters)
    satellite = utc + dt.timedelta(days=day, seconds=seconds)
    times = PhotoTimes(
        clock=utc + offset, offset=offset, satellite=satellite.replace(tzinfo=dt.UTC)
    )
    found = taken_at(times, CHICAGO)

    assert moment(found.time_us) == utc.replace(tzinfo=dt.UTC)
    assert len(found.notes) == abs(day)
    assert found.doubts == ()
