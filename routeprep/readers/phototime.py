"""When a photo was taken, from its camera clock, its zone and its satellite time.

In go the times that a photo holds, out comes UTC with all that was reckoned or is in doubt.  The
camera clock is local time without a zone unless the photo says one; the satellite time is UTC,
but some devices give its date a day ahead or behind.
"""

import datetime as dt
import math
import re
import zoneinfo
from dataclasses import dataclass, replace
from typing import NamedTuple

from routeprep.readers.times import NO_TIME_US, time_us

__all__ = ["PhotoTimes", "Taken", "clock_time", "satellite_time", "taken_at", "zone_offset"]

_DAY = dt.timedelta(days=1)
# Zones are whole quarters of an hour from UTC, from 12 hours behind to 14 ahead.
_QUARTER = dt.timedelta(minutes=15)
_ZONES = (dt.timedelta(hours=-12), dt.timedelta(hours=14))
# A satellite date is wrong when the two times differ by a day to within so much: the clock may
# be on summer time or not.  Common practice, no source.
_ABOUT = dt.timedelta(hours=2)
# Photos that are read were taken in these years; see ``times``.
_YEARS = (1981, 2100)
# Times of one moment may differ by so much; else the camera clock is wrong.  Common practice, no
# source; a mark needs a fix within 10 s.
_SAME = dt.timedelta(seconds=10)

_CLOCK = re.compile(r"(\d{4})[:/-](\d\d)[:/-](\d\d)[ T](\d\d):(\d\d):(\d\d)")
_DATE = re.compile(r"(\d{4})[:/-](\d\d)[:/-](\d\d)")
_OFFSET = re.compile(r"([+-])(\d\d):?(\d\d)$")


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoTimes:
    """The times that a photo holds, each None when it does not.

    Attributes
    ----------
    clock
        Of the camera: local, without zone.
    offset
        Of the camera clock from UTC, as the photo says.
    satellite
        UTC.
    """

    clock: dt.datetime | None
    offset: dt.timedelta | None
    satellite: dt.datetime | None


class Taken(NamedTuple):
    """When a photo was taken.

    Attributes
    ----------
    time_us
        UTC since 1970 [us]; ``NO_TIME_US`` when it is not known.
    notes, doubts
        What was reckoned, and what needs a human eye.
    """

    time_us: int
    notes: tuple[str, ...]
    doubts: tuple[str, ...]


def clock_time(text: str, fraction: str) -> dt.datetime | None:
    """Read a time such as "2026:06:01 07:00:00" and digits of its second; None when it is none."""
    match = _CLOCK.match(text)
    if match is None:
        return None
    digits = re.sub(r"\D.*", "", fraction.strip())[:6].ljust(6, "0")
    year, month, day, hour, minute, second = match.groups()
    try:
        return dt.datetime.fromisoformat(f"{year}-{month}-{day}T{hour}:{minute}:{second}.{digits}")
    except ValueError:
        return None


def zone_offset(text: str) -> dt.timedelta | None:
    """Read an offset from UTC such as "-05:00"; None when it is none."""
    match = _OFFSET.match(text.strip())
    if match is None:
        return None
    size = dt.timedelta(hours=int(match[2]), minutes=int(match[3]))
    offset = -size if match[1] == "-" else size
    return offset if _ZONES[0] <= offset <= _ZONES[1] else None


def satellite_time(date: str, clock: tuple[float, ...]) -> dt.datetime | None:
    """Read a satellite date and its hours, minutes and seconds; None when there is no whole one."""
    match = _DATE.match(date)
    if match is None or len(clock) != 3 or not all(map(math.isfinite, clock)):  # noqa: PLR2004
        return None
    seconds = clock[0] * 3600.0 + clock[1] * 60.0 + clock[2]
    if min(clock) < 0 or seconds >= _DAY.total_seconds() + 1.0:
        return None
    try:
        day = dt.datetime(int(match[1]), int(match[2]), int(match[3]), tzinfo=dt.UTC)
        return day + dt.timedelta(seconds=seconds)
    except (ValueError, OverflowError):
        return None


def _in_zone(clock: dt.datetime, zone: zoneinfo.ZoneInfo) -> tuple[dt.datetime, str]:
    """A camera time in the job's zone, and what is odd about it."""
    first, second = clock.replace(tzinfo=zone), clock.replace(tzinfo=zone, fold=1)
    utc = first.astimezone(dt.UTC)
    if first.utcoffset() == second.utcoffset():
        return utc, ""
    if utc.astimezone(zone).replace(tzinfo=None) == clock:
        return utc, (
            f"its camera clock shows a time that came twice in {zone.key}, when clocks went back, "
            "and it has no zone; the first is taken"
        )
    return utc, (
        f"its camera clock shows a time that {zone.key} did not have, when clocks went forward, "
        "and it has no zone; it is taken as not yet set forward"
    )


def _day_set_right(satellite: dt.datetime, utc: dt.datetime) -> tuple[dt.datetime, str]:
    """The satellite time on the right day, and what was wrong."""
    apart = satellite - utc
    if abs(abs(apart) - _DAY) > _ABOUT:
        return satellite, ""
    late = apart > dt.timedelta(0)
    return satellite - _DAY if late else satellite + _DAY, (
        f"the date of its satellite time is a day {'ahead' if late else 'behind'} and is set right "
        "by its camera clock"
    )


def _both(clock: dt.datetime, times: PhotoTimes, zone: zoneinfo.ZoneInfo) -> Taken:
    """The time of a photo that has a camera clock and a satellite time."""
    assumed, _ = _in_zone(clock, zone)
    told = clock.replace(tzinfo=dt.UTC)
    utc = assumed if times.offset is None else told - times.offset
    satellite, wrong_day = _day_set_right(times.satellite or utc, utc)
    notes = [wrong_day] if wrong_day else []
    if times.offset is None:
        offset = _QUARTER * round((told - satellite) / _QUARTER)
        if _ZONES[0] <= offset <= _ZONES[1]:
            utc = told - offset
            notes.append("the zone of its camera clock is told by its satellite time")
    apart = abs(utc - satellite)
    if apart <= _SAME:
        return _taken(utc, notes, [])
    doubt = (
        f"its camera clock and its satellite time are {_length(apart)} apart; the satellite time "
        "is taken"
    )
    return _taken(satellite, notes, [doubt])


def _length(apart: dt.timedelta) -> str:
    """A time between two clocks in words, rounded so that photos of one camera read alike."""
    for name, unit in (("days", _DAY), ("h", dt.timedelta(hours=1))):
        if apart >= 2 * unit:
            return f"{apart / unit:.0f} {name}"
    return f"{apart.total_seconds() / 60.0:.1f} min"


def _taken(utc: dt.datetime, notes: list[str], doubts: list[str]) -> Taken:
    return Taken(time_us(utc.isoformat())[0], tuple(notes), tuple(doubts))


def _doubted(times: PhotoTimes) -> tuple[PhotoTimes, list[str]]:
    """The times without those of years that cannot be, and what was wrong."""
    doubts = []
    for field, what in (("clock", "camera clock"), ("satellite", "satellite time")):
        value: dt.datetime | None = getattr(times, field)
        if value is not None and not _YEARS[0] <= value.year < _YEARS[1]:
            doubts.append(f"its {what} says the year {value.year}, which cannot be; it is not used")
            times = replace(times, **{field: None})
    return times, doubts


def taken_at(times: PhotoTimes, zone: zoneinfo.ZoneInfo) -> Taken:
    """Reckon when a photo was taken.

    With a zone of its own, the camera clock counts; without one the satellite time tells the
    zone, or else the job's is taken.  Where the two times disagree, the satellite time counts.

    Parameters
    ----------
    times
        What the photo holds.
    zone
        The job's time zone.
    """
    times, doubts = _doubted(times)
    taken = _taken_at(times, zone)
    return taken._replace(doubts=(*doubts, *taken.doubts))


def _taken_at(times: PhotoTimes, zone: zoneinfo.ZoneInfo) -> Taken:
    """When a photo was taken whose times are of years that can be."""
    clock = times.clock
    if clock is None:
        if times.satellite is None:
            return Taken(NO_TIME_US, (), ())
        return _taken(times.satellite, [], [])
    if times.satellite is not None:
        return _both(clock, times, zone)
    if times.offset is not None:
        return _taken(clock.replace(tzinfo=dt.UTC) - times.offset, [], [])
    utc, odd = _in_zone(clock, zone)
    note = f"its camera clock has no zone; the job's, {zone.key}, is taken"
    return _taken(utc, [note], [odd] if odd else [])
