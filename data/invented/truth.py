"""What is true about a made job: lines, things, marks and people, and the same as JSON."""

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace

import numpy as np
import numpy.typing as npt

from invented.drives import Person, TrueMark
from invented.roads import Road
from invented.things import Thing

__all__ = ["Made", "TrueLine", "Truth", "count_from", "true_line", "truth_json"]

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TrueLine:
    """A leg's true line: vertices [deg] with along at each [m], 0 at the leg's zero."""

    lon_deg: Floats
    lat_deg: Floats
    along_m: Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Truth:
    """What is true: lines by leg, things, marks in the files' order, who tapped in each file."""

    lines: Mapping[str, TrueLine]
    things: tuple[Thing, ...]
    marks: tuple[TrueMark, ...]
    people: Mapping[str, Person]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Made:
    """A job's files by name relative to the job, and the truth about it."""

    files: Mapping[str, bytes]
    truth: Truth


def true_line(road: Road, *, from_m: float, to_m: float, step_m: float) -> TrueLine:
    """Points of the true centerline between two places of the road, along counted from the first.

    Parameters
    ----------
    road
        The road.
    from_m, to_m
        The two places along the road as laid [m].
    step_m
        About how far apart [m].
    """
    along = np.linspace(from_m, to_m, math.ceil((to_m - from_m) / step_m) + 1)
    lon, lat = road.lonlat(along, np.zeros_like(along))
    return TrueLine(lon_deg=lon, lat_deg=lat, along_m=along - from_m)


def count_from(truth: Truth, zero_m: Mapping[str, float], legs: Mapping[str, str]) -> Truth:
    """Shift things and marks so that along counts from each leg's zero.

    Parameters
    ----------
    truth
        Along counted as the roads were laid.
    zero_m
        Along of each leg's zero as the roads were laid [m].
    legs
        The leg of each file.
    """
    things = tuple(
        replace(thing, along_m=thing.along_m - zero_m[thing.leg]) for thing in truth.things
    )
    marks = tuple(
        replace(mark, along_m=mark.along_m - zero_m[legs[mark.file]]) for mark in truth.marks
    )
    return replace(truth, things=things, marks=marks)


def _row(item: object) -> dict[str, object]:
    names = [field.name for field in fields(item)]  # type: ignore[arg-type]
    return {name: _plain(name, getattr(item, name)) for name in names}


def _plain(name: str, value: object) -> object:
    if isinstance(value, float):
        return round(value, 7 if name.endswith("_deg") else 3)
    if isinstance(value, np.ndarray):
        return [_plain(name, v) for v in value.tolist()]
    return value


def truth_json(truth: Truth) -> bytes:
    """The truth as JSON: metres to the millimetre, degrees to 1e-7, one thing a line."""
    parts = {
        "lines": [{"leg": leg, **_row(line)} for leg, line in truth.lines.items()],
        "people": [{"file": file, **_row(person)} for file, person in truth.people.items()],
        "things": [
            {**_row(thing), "offset_m": round(thing.offset_m, 3), "lane": thing.lane}
            for thing in truth.things
        ],
        "marks": [_row(mark) for mark in truth.marks],
    }
    blocks = [
        f'"{name}": [\n' + ",\n".join(json.dumps(row) for row in rows) + "\n]"
        for name, rows in parts.items()
    ]
    return ("{\n" + ",\n".join(blocks) + "\n}\n").encode()
