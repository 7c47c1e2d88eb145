"""Times as files write them to UTC microseconds, and on to what tables hold."""

import datetime as dt

import numpy as np
import numpy.typing as npt
import pandas as pd

__all__ = ["NO_TIME_US", "full_year", "moment", "time_index", "time_us"]

# What numpy takes for NaT.
NO_TIME_US = -(2**63)

_EPOCH = dt.datetime(1970, 1, 1, tzinfo=dt.UTC)
_MICROSECOND = dt.timedelta(microseconds=1)

# GPS time begins on 6 January 1980 (IS-GPS-200); nothing that is read was recorded after 2100.
_FIRST_YEAR = 1980
_FIRST_US = (dt.datetime(_FIRST_YEAR, 1, 1, tzinfo=dt.UTC) - _EPOCH) // _MICROSECOND
_END_US = (dt.datetime(2101, 1, 1, tzinfo=dt.UTC) - _EPOCH) // _MICROSECOND

# A date alone ("2026-06-01") says no time.
_DATE_LENGTH = 10


def full_year(two_digits: int) -> int:
    """The year that two digits mean: 80 is 1980, when GPS time begins, and 79 is 2079.

    Examples
    --------
    >>> full_year(80), full_year(26), full_year(79)
    (1980, 2026, 2079)
    """
    return _FIRST_YEAR + (two_digits - _FIRST_YEAR) % 100


def time_us(text: str, zone: dt.tzinfo = dt.UTC) -> tuple[int, str]:
    """UTC since 1970 [us] of an ISO 8601 time, and what is odd about it.

    Parameters
    ----------
    text
        As written.
    zone
        In which a time without a zone of its own is taken.

    Returns
    -------
    tuple of int and str
        ``NO_TIME_US`` with "unreadable" or "outside 1980-2100", or a time with "" or "no zone".

    Examples
    --------
    >>> time_us("2026-06-01T12:00:00.5+00:00"), time_us("1970-01-01T00:00:00Z")[1]
    ((1780315200500000, ''), 'outside 1980-2100')
    """
    text = text.strip()
    if len(text) <= _DATE_LENGTH:
        return NO_TIME_US, "unreadable"
    try:
        read = dt.datetime.fromisoformat(text)
    except ValueError:
        return NO_TIME_US, "unreadable"
    odd = ""
    if read.tzinfo is None:
        read, odd = read.replace(tzinfo=zone), "no zone"
    since_us = (read - _EPOCH) // _MICROSECOND
    if not _FIRST_US <= since_us < _END_US:
        return NO_TIME_US, "outside 1980-2100"
    return since_us, odd


def moment(since_us: int) -> dt.datetime | None:
    """The time that so many microseconds since 1970 are [us], None for ``NO_TIME_US``."""
    return None if since_us == NO_TIME_US else _EPOCH + since_us * _MICROSECOND


def time_index(since_us: npt.NDArray[np.int64]) -> pd.DatetimeIndex:
    """A column of times from microseconds since 1970 [us]."""
    return pd.DatetimeIndex(since_us.view("M8[us]")).tz_localize("UTC")
