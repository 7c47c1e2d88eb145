"""NMEA 0183 logs: one drive from RMC sentences, elevations from GGA.

In go bytes, out comes a ``Part``.  Only sentences whose checksum holds count; a position that the
receiver calls void, estimated or simulated begins a new ``piece``; what lies between sentences is
counted as noise.  A log without a valid RMC gives the positions of its GGA sentences.
"""

import math
import re
from collections import Counter
from collections.abc import Iterator
from functools import reduce
from operator import xor

from routeprep.errors import ReadError
from routeprep.readers.columns import SPEED_MOST_MPS, Points, fixes_table, spans
from routeprep.readers.globe import on_globe
from routeprep.readers.nmeaclock import Clock
from routeprep.readers.parts import Drives, counted, make_part, source
from routeprep.shapes import Finding, Part
from routeprep.units import KNOT_MPS

__all__ = ["read_nmea"]

# NMEA 0183: "$", two letters of the talker, three of the sentence, fields, "*", the exclusive or
# of all between in hexadecimal.
_SENTENCE = re.compile(rb"\$([^$*]+)\*([0-9A-Fa-f]{2})$")

# Receivers of GPS, of several systems, of GLONASS and of Galileo.
_TALKERS = ("GP", "GN", "GL", "GA")

# Degrees and minutes run together, "4901.5940".
_DEGREES = re.compile(r"(\d{1,3})([0-5]\d(?:\.\d*)?)$")

_KNOT_MPS = float(KNOT_MPS)

# Reasons, as they are counted.
_NOISE = "lines with noise between sentences"
_CHECKSUM = "sentences with a wrong checksum"
_NO_CHECKSUM = "sentences without checksum"
_OTHER = "sentences of other sorts"
_VOID = "void positions"
_DEAD = "estimated positions"
_TYPED = "simulated or typed positions"
_UNREADABLE = "unreadable positions"
_NO_TIME = "unreadable times"
_SPEEDS = "speeds that cannot be"

# What the mode of RMC (NMEA 0183 version 2.3 and later) and the quality of GGA say of a position
# that was not measured; all other words are of fixes.
_NO_FIX = {
    "N": _VOID, "0": _VOID, "E": _DEAD, "6": _DEAD, "M": _TYPED, "7": _TYPED, "S": _TYPED,
    "8": _TYPED,
}  # fmt: skip

# Fields that the longest sentence that is read has, its name counted.
_FIELDS = 13


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


class _Track:
    """Positions of one sort of sentence as they are read."""

    def __init__(self) -> None:
        self.points = Points(names=[""])
        self.clock = Clock()
        self.counts: Counter[str] = Counter()
        self.piece = 0
        self.parted = False  # no position since the last one that is no fix

    def usable(self, says: str) -> bool:
        """Whether the receiver's own word calls a position measured; others are counted."""
        reason = _NO_FIX.get(says, "")
        if reason:
            self.counts[reason] += 1
            self.parted = True
        return not reason

    def position(self, place: list[str], clock: str, date: str) -> bool:
        """Take a position (latitude, its side, longitude, its side); whether it is a fix."""
        lat_deg = _degrees(place[0], place[1], "NS")
        lon_deg = _degrees(place[2], place[3], "EW")
        if not on_globe(lon_deg, lat_deg):
            self.counts[_UNREADABLE] += 1
            return False
        self.piece += bool(self.parted and self.points.line)
        self.parted = False
        self.counts[_NO_TIME] += not self.clock.hear(clock, date)
        points = self.points
        points.line.append(0)
        points.piece.append(self.piece)
        points.lon_deg.append(lon_deg)
        points.lat_deg.append(lat_deg)
        for column in (points.ele_m, points.accuracy_m, points.speed_mps, points.course_deg):
            column.append(math.nan)
        return True

    def motion(self, speed: str, course: str) -> None:
        """Give the last fix its speed and course."""
        knots = _number(speed, 0.0, math.inf)
        if knots * _KNOT_MPS > SPEED_MOST_MPS:
            self.counts[_SPEEDS] += 1
            knots = math.nan
        self.points.speed_mps[-1] = knots * _KNOT_MPS
        self.points.course_deg[-1] = _number(course, 0.0, 360.0)


class _Log:
    """A log as it is read, line by line."""

    def __init__(self) -> None:
        self.rmc, self.gga = _Track(), _Track()
        self.counts: Counter[str] = Counter()
        self.sentences = 0
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
        cells = cells + [""] * _FIELDS
        if talker in _TALKERS and sort == "RMC":
            self.minimum(cells)
        elif talker in _TALKERS and sort == "GGA":
            self.height(cells)
        else:
            self.counts[_OTHER] += 1
            if sort == "ZDA" and cells[4].startswith("20"):
                for track in (self.rmc, self.gga):
                    track.clock.date(cells[1], cells[2] + cells[3] + cells[4][2:])

    def minimum(self, cells: list[str]) -> None:
        """Take an RMC sentence: a fix with its date, or a void one."""
        status = "N" if cells[2] != "A" else cells[12]
        track = self.rmc
        if not track.usable(status) or not track.position(cells[3:7], cells[1], cells[9]):
            return
        track.motion(cells[7], cells[8])
        self.fix_at = cells[1]
        if cells[1] and self.ele_at == cells[1]:
            track.points.ele_m[-1] = self.ele_m

    def height(self, cells: list[str]) -> None:
        """Take a GGA sentence: the elevation of the RMC of the same time, before or after it."""
        ele_m = _number(cells[9], -math.inf, math.inf) if cells[10] == "M" else math.nan
        # Where RMC gives positions, those of GGA are the same again.
        if not self.rmc.points.line:
            measured = self.gga.usable(cells[6] or "0")
            if measured and self.gga.position(cells[2:6], cells[1], ""):
                self.gga.points.ele_m[-1] = ele_m
        if cells[6] in {"", "0"} or cells[10] != "M":
            return
        self.ele_m, self.ele_at = ele_m, cells[1]
        if cells[1] and self.fix_at == cells[1]:
            self.rmc.points.ele_m[-1] = self.ele_m


_WHAT = {
    _NO_TIME: "those fixes are kept without a time",
    _SPEEDS: "those speeds are not used",
}
_DOUBTS = (_CHECKSUM, _NO_CHECKSUM, _NOISE, _UNREADABLE, _NO_TIME, _SPEEDS, _DEAD, _TYPED)


def _findings(
    track: _Track, counts: Counter[str], name: str, *, from_gga: bool
) -> Iterator[Finding]:
    for reason in _DOUBTS:
        if counts[reason]:
            text = f"{counts[reason]} {reason}; {_WHAT.get(reason, 'left out')}"
            yield Finding(level="doubt", where=name, text=text)
    if counts[_VOID]:
        text = f"{counts[_VOID]} positions are void by the receiver's own word and left out"
        yield Finding(level="note", where=name, text=text)
    if from_gga:
        text = (
            "has no valid position in an RMC sentence; those of its GGA sentences are taken, "
            "without speed and course"
        )
        yield Finding(level="doubt", where=name, text=text)
    if track.clock.said:
        yield Finding(level="doubt", where=name, text=track.clock.said)


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
        If it has no valid position in an RMC or GGA sentence.
    """
    log = _Log()
    for line in data.replace(b"\r", b"\n").split(b"\n"):
        if line.strip():
            log.line(line.strip())
    from_gga = not log.rmc.points.line and bool(log.gga.points.line)
    track = log.gga if from_gga else log.rmc
    counts = log.counts + track.counts
    skipped = {reason: counts[reason] for reason in sorted(counts)}
    if not track.points.line:
        lost = counted(skipped)
        msg = (
            f"{name}: has no valid position in an RMC or GGA sentence"
            f"{f' ({lost})' if lost else ''}; record again with RMC switched on, or take the file "
            "out of the job"
        )
        raise ReadError(msg, file=name, skipped=skipped)
    track.points.time_us.extend(track.clock.times_us())
    drives = spans(track.points)
    return make_part(
        source(
            data,
            name=name,
            what="drive",
            taken={"fixes": len(track.points.line), "sentences": log.sentences},
            skipped=skipped,
        ),
        drives=Drives(
            fixes_table(track.points, drives),
            {drives[0].drive_id: name},
            {drives[0].drive_id: ""},
        ),
        findings=tuple(_findings(track, counts, name, from_gga=from_gga)),
    )
