"""The times of an NMEA log: clock times and dates, as they come, to UTC.

In go times of day with a date or without one, out come UTC microseconds.  A date that is missing
is reckoned from the nearest that is there, with a day more when the clock passes midnight.
"""

import datetime as dt
import re

from routeprep.readers.times import NO_TIME_US, full_year, time_us

__all__ = ["Clock"]

# Hours, minutes and seconds run together, "165744.00"; day, month and two digits of the year.
_CLOCK = re.compile(r"([01]\d|2[0-3])([0-5]\d)([0-5]\d)(\.\d*)?$")
_DATE = re.compile(r"(\d\d)(\d\d)(\d\d)$")

_DAY_US = 86_400_000_000


def _of_day_us(clock: str) -> int:
    """Microseconds since midnight of hhmmss.ss; ``NO_TIME_US`` when it is no time."""
    match = _CLOCK.match(clock)
    if match is None:
        return NO_TIME_US
    seconds = (int(match[1]) * 60 + int(match[2])) * 60 + int(match[3])
    return seconds * 1_000_000 + int((match[4] or ".")[1:7].ljust(6, "0"))


def _midnight_us(date: str) -> int:
    """UTC of the beginning of a day, ddmmyy; ``NO_TIME_US`` when it is no date."""
    match = _DATE.match(date)
    if match is None:
        return NO_TIME_US
    year = full_year(int(match[3]))
    try:
        day = dt.date(year, int(match[2]), int(match[1]))
    except ValueError:
        return NO_TIME_US
    return time_us(f"{day.isoformat()}T00:00:00+00:00")[0]


def _nearest_us(of_day_us: int, to_us: int) -> int:
    """The instant with a time of day that is nearest to another instant [us]."""
    return of_day_us + _DAY_US * ((to_us - of_day_us + _DAY_US // 2) // _DAY_US)


class Clock:
    """Times of one log's fixes, in the order of the log.

    Examples
    --------
    >>> clock = Clock()
    >>> clock.hear("235959", "010626"), clock.hear("000001", "")
    (True, True)
    >>> first, second = clock.times_us()
    >>> second - first
    2000000
    """

    def __init__(self) -> None:
        """Begin without a time."""
        self.of_day_us: list[int] = []
        self.midnight_us: list[int] = []
        self.is_fix: list[bool] = []

    def _add(self, of_day_us: int, midnight_us: int, *, is_fix: bool) -> None:
        self.of_day_us.append(of_day_us)
        self.midnight_us.append(midnight_us)
        self.is_fix.append(is_fix)

    def date(self, clock: str, date: str) -> None:
        """Take a time with its date that is no fix: hhmmss with any fraction, and ddmmyy."""
        of_day_us, midnight_us = _of_day_us(clock), _midnight_us(date)
        if NO_TIME_US not in {of_day_us, midnight_us}:
            self._add(of_day_us, midnight_us, is_fix=False)

    def hear(self, clock: str, date: str) -> bool:
        """Take the time of the next fix; whether it can be read, date or not.

        Parameters
        ----------
        clock
            hhmmss with any fraction.
        date
            ddmmyy; empty when the sentence has none.
        """
        of_day_us, midnight_us = _of_day_us(clock), _midnight_us(date)
        if date and midnight_us == NO_TIME_US:
            of_day_us = NO_TIME_US
        self._add(of_day_us, midnight_us, is_fix=True)
        return of_day_us != NO_TIME_US

    def _known(self) -> list[int]:
        """Rows that have both time and date."""
        return [row for row, midnight_us in enumerate(self.midnight_us)
                if NO_TIME_US not in {midnight_us, self.of_day_us[row]}]  # fmt: skip

    def times_us(self) -> list[int]:
        """UTC since 1970 of each fix [us]; ``NO_TIME_US`` where it has none."""
        times_us = [NO_TIME_US] * len(self.is_fix)
        known = self._known()
        for row in known:
            times_us[row] = self.midnight_us[row] + self.of_day_us[row]
        if known:
            # From the first date to the end of the log, then back from it to the beginning.
            self._reckon(times_us, range(known[0], len(times_us)))
            self._reckon(times_us, range(known[0], -1, -1))
        return [one for one, is_fix in zip(times_us, self.is_fix, strict=True) if is_fix]

    def _reckon(self, times_us: list[int], rows: range) -> None:
        """Give times without date the one nearest to the time before them in a walk of the rows."""
        last_us = times_us[rows[0]]
        for row in rows:
            if times_us[row] == NO_TIME_US and self.of_day_us[row] != NO_TIME_US:
                times_us[row] = _nearest_us(self.of_day_us[row], last_us)
            last_us = last_us if times_us[row] == NO_TIME_US else times_us[row]

    @property
    def said(self) -> str:
        """What a person should know about the dates; empty when all are there."""
        undated = sum(
            midnight_us == NO_TIME_US != of_day_us
            for midnight_us, of_day_us in zip(self.midnight_us, self.of_day_us, strict=True)
        )
        if not undated:
            return ""
        if not self._known():
            return (
                f"has no date, only times of day ({undated} of them), so that its fixes are kept "
                "without a time; record with RMC or ZDA switched on"
            )
        return (
            f"{undated} times have no date; it is reckoned from the nearest date in the log, a day "
            "more or less past midnight"
        )
