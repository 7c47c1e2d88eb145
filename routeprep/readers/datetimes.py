"""Dates and times as people and spreadsheets write them, to the ISO 8601 text that is read.

In goes a text such as "5/14/2026 2:30 PM", out comes "2026-05-14T14:30:00", or nothing.  Which of
day and month stands first is taken from the column as a whole, never guessed.
"""

import datetime as dt
import re
from collections.abc import Iterable

from routeprep.readers.times import full_year, moment, time_us

__all__ = ["date_in", "day_or_month_first", "iso_date", "iso_time"]

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_NAME = rf"(?P<name>{'|'.join(_MONTHS)})[a-z]{{0,6}}\.?"
_YEAR = r"(?P<year>\d{4}|\d\d)"
_ISO = r"(?P<iso>\d{4}[-/.]\d\d?[-/.]\d\d?)"
_NUMBERS = rf"(?P<one>\d\d?)(?P<mark>[/.-])(?P<two>\d\d?)(?P=mark){_YEAR}"
_DAY_NAME = rf"(?P<day>\d\d?)(?:st|nd|rd|th)?[ .-]?\s?{_NAME}[ ,.-]\s?{_YEAR}"
_NAME_DAY = rf"{_NAME}\s?(?P<day>\d\d?)(?:st|nd|rd|th)?,?\s{_YEAR}"
_FORMS = tuple(
    re.compile(rf"(?<![\w+]){form}(?![\w+])", re.IGNORECASE | re.ASCII)
    for form in (_ISO, _NUMBERS, _DAY_NAME, _NAME_DAY)
)
_CLOCK = re.compile(
    r"(?P<hour>\d\d?):(?P<minute>\d\d)(?::(?P<second>\d\d)(?:[.,](?P<part>\d{1,6})\d*)?)?"
    r"\s*(?:(?P<half>[ap])\.?m\.?)?\s*(?P<zone>z|utc|gmt|[+-]\d\d(?::?\d\d)?)?$",
    re.IGNORECASE | re.ASCII,
)
# Seconds or milliseconds since 1970, as programs write them.
_SINCE = re.compile(r"(?P<seconds>\d{10})(?:\.(?P<part>\d{1,6})\d*|(?P<milli>\d{3}))?$", re.ASCII)

_MONTHS_A_YEAR, _HOURS_HALF = 12, 12


def _numbers(text: str) -> tuple[int, int] | None:
    """The first two numbers of a date such as 5/14/2026, None when it is none."""
    match = _FORMS[1].search(text)
    return (int(match["one"]), int(match["two"])) if match and match["mark"] != "." else None


def day_or_month_first(texts: Iterable[str]) -> str:
    """Which of "day" and "month" stands first in a column's dates; empty when they do not tell.

    Examples
    --------
    >>> day_or_month_first(["5/4/2026", "5/14/2026"]), day_or_month_first(["5/4/2026"])
    ('month', '')
    """
    found = [pair for pair in map(_numbers, texts) if pair is not None]
    day = any(one > _MONTHS_A_YEAR for one, _ in found)
    month = any(two > _MONTHS_A_YEAR for _, two in found)
    return "" if day == month else "day" if day else "month"


def _year(text: str) -> int:
    short = len(text) == 2  # noqa: PLR2004 - digits
    return full_year(int(text)) if short else int(text)


def _ymd(match: re.Match[str], order: str) -> tuple[int, int, int] | None:
    """Year, month and day of a date that matched; None when day and month may be either."""
    said = match.groupdict()
    if said.get("iso"):
        year, month, day = map(int, re.split(r"[-/.]", said["iso"]))
        return year, month, day
    if said.get("name"):
        return _year(said["year"]), _MONTHS.index(said["name"].lower()) + 1, int(said["day"])
    one, two = int(said["one"]), int(said["two"])
    first = "day" if said["mark"] == "." else order or day_or_month_first([match[0]])
    if not first and one != two:
        return None
    return (_year(said["year"]), two, one) if first == "day" else (_year(said["year"]), one, two)


def date_in(text: str, *, order: str = "") -> tuple[str, str, bool]:
    """Find a date in a text.

    Parameters
    ----------
    text
        Any text.
    order
        "day" or "month": which stands first in dates such as 5/4/2026; empty when not known.
        Between points the day stands first.

    Returns
    -------
    tuple of str, str and bool
        The date as 2026-05-04, or as typed when it may be two dates or is none of the calendar;
        what stands before and after it; and whether it is clear.

    Examples
    --------
    >>> date_in("on May 4, 2026 by night"), date_in("5/4/2026"), date_in("today")
    (('2026-05-04', 'on  by night', True), ('5/4/2026', '', False), ('', 'today', False))
    """
    match = next(filter(None, (form.search(text) for form in _FORMS)), None)
    if match is None:
        return "", text, False
    rest = text[: match.start()] + text[match.end() :]
    numbers = _ymd(match, order)
    try:
        date = dt.date(*numbers).isoformat() if numbers else ""
    except ValueError:
        date = ""
    return date or match[0], rest, bool(date)


def iso_date(text: str, *, order: str = "") -> str:
    """A text that is a date and nothing else as 2026-05-04; empty when it is none, or not clear.

    Parameters
    ----------
    text
        As typed.
    order
        See ``date_in``.
    """
    date, rest, clear = date_in(text, order=order)
    return date if clear and not rest.strip() else ""


def _iso_clock(match: re.Match[str]) -> str:
    """A time of day as 14:30:05.25 with its zone; hours beyond 23 are left for others to refuse."""
    hour = int(match["hour"])
    if match["half"]:
        wrong = not 1 <= hour <= _HOURS_HALF
        hour = 99 if wrong else hour % _HOURS_HALF + _HOURS_HALF * (match["half"].lower() == "p")
    part = f".{match['part'].ljust(6, '0')}" if match["part"] else ""
    zone = (match["zone"] or "").upper()
    zone = "+00:00" if zone in {"Z", "UTC", "GMT"} else zone
    return f"{hour:02d}:{match['minute']}:{match['second'] or '00'}{part}{zone}"


def iso_time(date: str, time: str, *, order: str = "") -> str:
    """A date and a time of day, in two texts or in the second alone, as ISO 8601.

    Parameters
    ----------
    date
        The date as typed, or empty.
    time
        The time as typed, perhaps with its date; seconds or milliseconds since 1970 too.
    order
        See ``date_in``.

    Returns
    -------
    str
        Text for ``times.time_us``; the time as typed when it is not understood.

    Examples
    --------
    >>> iso_time("5/14/2026", "2:30 PM"), iso_time("", "14 May 2026 14:30Z")
    ('2026-05-14T14:30:00', '2026-05-14T14:30:00+00:00')
    """
    time = time.strip()
    if time_us(time)[1] in {"", "no zone"}:
        return time
    since = _SINCE.match(time)
    if since:
        part = since["milli"] or since["part"] or ""
        read = moment(int(since["seconds"]) * 10**6 + int(part.ljust(6, "0")))
        return read.isoformat() if read else time
    clock = _CLOCK.search(time)
    if clock is None:
        return time
    day = iso_date(time[: clock.start()].rstrip(" ,T") or date, order=order)
    return f"{day}T{_iso_clock(clock)}" if day else time
