"""Columns of fixes as they are read, point by point, and the table and ids they become.

In go numbers, out comes the table ``tables.FIXES`` with a drive id for each track.  The columns
are plain arrays, so that a million points take 80 MB.
"""

from array import array
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
import pandas as pd

from routeprep import tables
from routeprep.identity import Item, item_ids
from routeprep.readers.times import NO_TIME_US, moment, time_index

__all__ = ["SPEED_MOST_MPS", "Points", "Span", "drive_names", "fixes_table", "spans"]


# Faster than this nothing goes on a road [m/s], 224 mph.  Common practice, no source.
SPEED_MOST_MPS = 100.0


def _whole() -> "array[int]":
    return array("q")


def _real() -> "array[float]":
    return array("d")


@dataclass(slots=True, kw_only=True, eq=False)
class Points:
    """Columns that grow point by point, in the file's order.

    Attributes
    ----------
    names
        Of the tracks or routes.
    line, piece
        Which track or route a point is of (counting ``names``), and which segment of it.
    time_us
        UTC since 1970 [us]; ``NO_TIME_US`` where unknown.
    lon_deg, lat_deg
        Where [deg].
    ele_m, accuracy_m, speed_mps, course_deg
        NaN where unknown.
    """

    names: list[str] = field(default_factory=list)
    line: "array[int]" = field(default_factory=_whole)
    piece: "array[int]" = field(default_factory=_whole)
    time_us: "array[int]" = field(default_factory=_whole)
    lon_deg: "array[float]" = field(default_factory=_real)
    lat_deg: "array[float]" = field(default_factory=_real)
    ele_m: "array[float]" = field(default_factory=_real)
    accuracy_m: "array[float]" = field(default_factory=_real)
    speed_mps: "array[float]" = field(default_factory=_real)
    course_deg: "array[float]" = field(default_factory=_real)


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """One drive of a file.

    Attributes
    ----------
    drive_id
        Says what the drive is: its first and last fix.
    line
        Which of the file's tracks it is, counted from 0.
    start, stop
        Its rows in the columns.
    first_us, last_us
        Its earliest and latest time [us]; ``NO_TIME_US`` when no fix has a time.
    """

    drive_id: str
    line: int
    start: int
    stop: int
    first_us: int
    last_us: int


def _item(points: Points, first: int, last: int) -> Item:
    time = moment(points.time_us[last])
    end = f"{points.lon_deg[last] + 0.0:.7f} {points.lat_deg[last] + 0.0:.7f}"
    return Item(
        moment(points.time_us[first]),
        points.lon_deg[first],
        points.lat_deg[first],
        f"{time.isoformat(timespec='microseconds') if time else ''} {end}",
    )


def _times_us(points: Points, start: int, stop: int) -> tuple[int, int]:
    times_us = np.frombuffer(points.time_us, np.int64)[start:stop]
    known_us = times_us[times_us != NO_TIME_US]
    return (int(known_us.min()), int(known_us.max())) if len(known_us) else (NO_TIME_US,) * 2


def spans(points: Points) -> tuple[Span, ...]:
    """The drives that the points make, one for each track that has any."""
    if not points.line:
        return ()
    lines = np.frombuffer(points.line, np.int64)
    edges = np.flatnonzero(np.diff(lines)) + 1
    starts, stops = [0, *edges.tolist()], [*edges.tolist(), len(lines)]
    items = [_item(points, i, j - 1) for i, j in zip(starts, stops, strict=True)]
    return tuple(
        Span(
            drive_id=drive_id,
            line=int(lines[i]),
            start=i,
            stop=j,
            first_us=(known := _times_us(points, i, j))[0],
            last_us=known[1],
        )
        for drive_id, i, j in zip(item_ids("drive", items), starts, stops, strict=True)
    )


def drive_names(points: Points, drives: Sequence[Span], name: str) -> dict[str, str]:
    """What each drive is called: the file, and the track where it has a name or is one of many.

    Parameters
    ----------
    points
        The columns.
    drives
        Their ``spans``.
    name
        The file.
    """
    names = {}
    for drive in drives:
        count = f"track {drive.line + 1}" if len(drives) > 1 else ""
        told = " ".join(part for part in (count, points.names[drive.line]) if part)
        names[drive.drive_id] = f"{name}: {told}" if told else name
    return names


def _floats(column: "array[float]") -> npt.NDArray[np.float64]:
    return np.frombuffer(column, np.float64) if column else np.empty(0)


def fixes_table(points: Points, drives: Sequence[Span]) -> pd.DataFrame:
    """The table of fixes.

    Parameters
    ----------
    points
        The columns.
    drives
        Their ``spans``.
    """
    if not drives:
        return tables.table(tables.FIXES, [])
    ids = np.array([drive.drive_id for drive in drives], dtype=object)
    counts = [drive.stop - drive.start for drive in drives]
    frame = pd.DataFrame(
        {
            "drive_id": pd.array(np.repeat(ids, counts), dtype="str"),
            "piece": np.frombuffer(points.piece, np.int64),
            "time_utc": time_index(np.frombuffer(points.time_us, np.int64)),
            "lon_deg": _floats(points.lon_deg),
            "lat_deg": _floats(points.lat_deg),
            "ele_m": _floats(points.ele_m),
            "accuracy_m": _floats(points.accuracy_m),
            "speed_mps": _floats(points.speed_mps),
            "course_deg": _floats(points.course_deg),
        }
    )
    return tables.check(frame, tables.FIXES, what="fixes")
