"""NMEA 0183 logs: one drive from RMC sentences, elevations from GGA.

In go bytes, out comes a ``Part``.  Only sentences whose checksum holds count; a position that the
receiver calls void begins a new ``piece``; what lies between sentences is counted as noise.
"""

import math
import re
from collections import Counter
from collections.abc import Iterator
from functools import reduce
from operator import xor

from routeprep.errors import ReadError
from routeprep.readers.columns import Points, fixes_table, spans
from routeprep.readers.parts import Drives, make_part, source
from routeprep.readers.times import NO_TIME_US, time_us
from routeprep.shapes import Finding, Part
from routeprep.units import KNOT_MPS

__all__ = ["read_nmea"]

# NMEA 0183: "$", two letters of the talker, three of the sentence, fields, "*", the exclusive or
# of all between in hexadecimal.
_SENTENCE = re.compile(rb"\$([^$*]+)\*([0-9A-Fa-f]{2})$")

# Receivers of GPS, of several systems, of GLONASS and of Galileo.
_TALKERS = ("GP", "GN", "GL", "GA")

# Degrees and minutes run together, "4901.5940"; hours, minutes and seconds, "165744.00".
_DEGREES = re.compile(r"(\d{1,3})([0-5]\d(?:\.\d*)?)$")
_CLOCK = re.compile(r"(\d\d)(\d\d)(\d\d)(\.\d*)?$")
_DATE = re.compile(r"(\d\d)(\d\d)(\d\d)$")

# Two digits of a year: 80 is 1980, when GPS time begins, and 79 is 2079.
_FIRST_YEAR = 1980

_KNOT_MPS = float(KNOT_MPS)

# Reasons, as they are counted.
_NOISE = "lines with noise between sentences"
_CHECKSUM = "sentences with a wrong checksum"
_NO_CHECKSUM = "sentences without checksum"
_OTHER = "sentences of other sorts"
_VOID = "void positions"
_UNREADABLE = "unreadable positions"
_NO_TIME = "unreadable times"


def _degrees(text: str, side: str, sides: str) -> float:
    """Degrees of a text such as 4901.5940 with its side of the globe, NaN if it has none."""
    match = _DEGREES.match(text)
    if match is None or not side or side not in sides:
        return math.nan
    size = int(match[1]) + float(match[2]) / 60.0
    return -size if side == sides[1] else size


def _number(text: str, low: float, high: float) -> float:
    try:
        value = float(text)
    except ValueError:
        return math.nan
    return value if low <= value <= high else math.nan


def _time_us(clock: str, date: str) -> int:
    """UTC [us] of hhmmss.ss and ddmmyy."""
    times, days = _CLOCK.match(clock), _DATE.match(date)
    if times is None or days is None:
        return NO_TIME_US
    year = _FIRST_YEAR + (int(days[3]) - _FIRST_YEAR) % 100
    fraction = (times[4] or ".")[:7].ljust(2, "0")
    text = f"{year}-{days[2]}-{days[1]}T{times[1]}:{times[2]}:{times[3]}{fraction}"
    return time_us(f"{text}+00:00")[0]


class _Log:
    """A log as it is read, line by line."""

    def __init__(self) -> None:
        self.points = Points(names=[""])
        self.counts: Counter[str] = Counter()
        self.sentences = 0
        self.piece = 0
        self.void = False  # no position since the last void one
        self.ele_m = math.nan  # of the last GGA, taken at its time of day
        self.ele_at = ""
        self.fix_at = ""

    def line(self, line: bytes) -> None:
        """Take one line, from its last dollar sign on."""
        begin = line.rfind(b"$")
        if begin:
            self.counts[_NOISE] += 1
        if begin < 0:
            return
        match = _SENTENCE.match(line[begin:])
        if match is None:
            self.counts[_NO_CHECKSUM] += 1
        elif reduce(xor, match[1]) != int(match[2], 16):
            self.counts[_CHECKSUM] += 1
        else:
            self.sentences += 1
            self.sentence(match[1].decode("latin-1").split(","))

    def sentence(self, cells: list[str]) -> None:
        """Take the fields of one sentence, those that it lacks at its end as empty."""
        talker, sort = cells[0][:2], cells[0][2:]
        cells = cells + [""] * 11
        if talker in _TALKERS and sort == "RMC":
            self.position(cells)
        elif talker in _TALKERS and sort == "GGA":
            self.height(cells)
        else:
            self.counts[_OTHER] += 1

    def position(self, cells: list[str]) -> None:
        """Take an RMC sentence: a fix with its date, or a void one."""
        if cells[2] != "A":
            self.counts[_VOID] += 1
            self.void = True
            return
        lat_deg = _degrees(cells[3], cells[4], "NS")
        lon_deg = _degrees(cells[5], cells[6], "EW")
        if not (abs(lat_deg) <= 90.0 and abs(lon_deg) <= 180.0):  # noqa: PLR2004 - the globe
            self.counts[_UNREADABLE] += 1
            return
        since_us = _time_us(cells[1], cells[9])
        self.counts[_NO_TIME] += since_us == NO_TIME_US
        self.piece += bool(self.void and self.points.line)
        self.void, self.fix_at = False, cells[1]
        points = self.points
        points.line.append(0)
        points.piece.append(self.piece)
        points.time_us.append(since_us)
        points.lon_deg.append(lon_deg)
        points.lat_deg.append(lat_deg)
        points.ele_m.append(self.ele_m if cells[1] and self.ele_at == cells[1] else math.nan)
        points.accuracy_m.append(math.nan)
        points.speed_mps.append(_number(cells[7], 0.0, math.inf) * _KNOT_MPS)
        points.course_deg.append(_number(cells[8], 0.0, 360.0))

    def height(self, cells: list[str]) -> None:
        """Take a GGA sentence: the elevation of the fix of the same time, before or after it."""
        if cells[6] in {"", "0"} or cells[10] != "M":
            return
        self.ele_m, self.ele_at = _number(cells[9], -math.inf, math.inf), cells[1]
        if cells[1] and self.fix_at == cells[1]:
            self.points.ele_m[-1] = self.ele_m


def _findings(log: _Log, name: str) -> Iterator[Finding]:
    for reason in (_CHECKSUM, _NO_CHECKSUM, _NOISE, _UNREADABLE, _NO_TIME):
        if log.counts[reason]:
            text = (
                f"{log.counts[reason]} {reason}; left out"
                if reason != _NO_TIME
                else (f"{log.counts[reason]} {reason}; those fixes are kept without a time")
            )
            yield Finding(level="doubt", where=name, text=text)
    if log.counts[_VOID]:
        text = (
            f"{log.counts[_VOID]} positions are void by the receiver's own word and left out; "
            f"the drive has {log.piece + 1} pieces"
        )
        yield Finding(level="note", where=name, text=text)


def read_nmea(data: bytes, *, name: str) -> Part:
    """Read an NMEA 0183 log as one drive.

    Parameters
    ----------
    data
        The log.
    name
        Its name relative to the job.

    Raises
    ------
    ReadError
        If it has no valid RMC position.
    """
    log = _Log()
    for line in data.replace(b"\r", b"\n").split(b"\n"):
        if line.strip():
            log.line(line.strip())
    skipped = {reason: log.counts[reason] for reason in sorted(log.counts)}
    if not log.points.line:
        lost = ", ".join(f"{count} {reason}" for reason, count in skipped.items() if count)
        msg = (
            f"{name}: has no valid position in an RMC sentence{f' ({lost})' if lost else ''}; "
            "record again with RMC switched on, or take the file out of the job"
        )
        raise ReadError(msg, file=name, skipped=skipped)
    drives = spans(log.points)
    return make_part(
        source(
            data,
            name=name,
            what="drive",
            taken={"fixes": len(log.points.line), "sentences": log.sentences},
            skipped=skipped,
        ),
        drives=Drives(
            fixes_table(log.points, drives),
            {drives[0].drive_id: name},
            {drives[0].drive_id: ""},
        ),
        findings=tuple(_findings(log, name)),
    )
