"""The seal of a pack: one checksum of all that it says to a crew.

In goes a ``Pack``, out come 64 hexadecimal digits.  Two packs that say the same have the same
seal, whatever their input files are called; what a crew would read differently has another one.
"""

import functools
import hashlib
import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, fields

import numpy as np
import pandas as pd

from routeprep.listing import rows
from routeprep.plans import Plan
from routeprep.readiness import asked
from routeprep.shapes import Leg, Pack
from routeprep.stationing import label
from routeprep.tables import rows_of

__all__ = ["seal"]

# Decimals of what is sealed, by the ending of a column's name: as the data files print them.
# What differs by less is the floating point's, and nobody reads it.
_DECIMALS = {"_deg": 7, "": 2}

# Decimals of the plan of work [m]: 0.1 mm.
_PLAN_DECIMALS = 4

# Of the lists beside the main one, the columns that are printed; a file's name is not sealed.
_WITHDRAWN = ("no", "leg", "why")
_UNSORTED = ("words", "why", "looks_like")
_ELSEWHERE = ("id", "name", "why")
_COVERAGE = ("leg", "from_m", "to_m", "reason")


def _plain(name: str, value: object) -> object:
    """A cell as it is sealed: numbers rounded and never -0.0, what is not known as None."""
    if isinstance(value, float):
        decimals = next(digits for ending, digits in _DECIMALS.items() if name.endswith(ending))
        return round(value, decimals) + 0.0 if math.isfinite(value) else None
    return value


def _cells(row: Mapping[str, object], columns: Sequence[str]) -> list[object]:
    return [_plain(name, row[name]) for name in columns]


def _table(frame: pd.DataFrame, columns: Sequence[str]) -> list[list[object]]:
    """The rows of a table in their order, the named columns alone."""
    return [_cells(row, columns) for row in rows_of(frame[list(columns)])]


def _unordered(frame: pd.DataFrame, columns: Sequence[str]) -> list[list[object]]:
    """The rows of a table whose order depends on the input files, in an order of their own."""
    return sorted(_table(frame, columns), key=repr)


def _leg(leg: Leg) -> dict[str, object]:
    """A leg as its head says it: its street, its stations at ends and limits, its lanes."""
    said = leg.settings
    ends = (0.0, leg.line.length_m, leg.from_m, leg.to_m)
    return {
        "code": said.code,
        "name": said.name,
        "stations": [label(leg.stationing, at_m, decimals=2) for at_m in ends],
        "length_m": _plain("length_m", leg.line.length_m),
        "line": leg.line.made_from,
        "depth_m": None if math.isnan(said.depth_m) else round(said.depth_m, 4),
        "lanes": [said.lanes_left, said.lanes_right, _plain("lane_width_m", said.lane_width_m)],
        "landmarks": [(one.name, _plain("along_m", one.along_m), one.side)
                      for one in leg.landmarks],
    }  # fmt: skip


def _number(value: float) -> float | None:
    """A number of the plan as it is sealed: to 0.1 mm, what is not known as None."""
    return round(value, _PLAN_DECIMALS) + 0.0 if math.isfinite(value) else None


def _sealed(value: object) -> object:
    """A value of the plan, as deep as it goes."""
    if isinstance(value, np.ndarray):
        return [_number(float(one)) for one in value]
    if isinstance(value, float):
        return _number(value)
    return value


def _plan(plan: Plan) -> dict[str, object]:
    """The plan of work, part by part: what run sheets, hand work and quantities are made from."""
    return {
        part.name: [
            one
            if isinstance(one, str)
            else [_sealed(getattr(one, item.name)) for item in fields(one)]
            for one in getattr(plan, part.name)
        ]
        for part in fields(plan)
    }


@functools.lru_cache(maxsize=1)
def seal(pack: Pack) -> str:
    """SHA-256 of what a pack says, as 64 hexadecimal digits.

    Sealed are the job with its revision, date and briefing, the legs with their stations, the
    list as paper and data files have it, withdrawn numbers, what is yet to be sorted or stands
    elsewhere, where to search, what was poorly looked at, the plan of work if there is one, and
    why it is a draft.  What was said of the list is not: a review is of a list by its seal, and
    a change that is asked for makes a draft of the same list.

    Parameters
    ----------
    pack
        The pack.
    """
    settings, listed = pack.settings, rows(pack)
    said_of_it = asked(pack.obstructions, pack.remarks.reviews)
    columns = sorted(str(name) for name in listed.columns)
    said = {
        "job": [settings.name, settings.number, settings.revision, settings.date, settings.units],
        "briefing": asdict(settings.briefing),
        "legs": [_leg(leg) for leg in pack.legs],
        "columns": columns,
        "list": _table(listed, columns),
        "withdrawn": _table(pack.withdrawn, _WITHDRAWN),
        "unsorted": _unordered(pack.unsorted, _UNSORTED),
        "elsewhere": _unordered(pack.elsewhere, _ELSEWHERE),
        "search": _table(pack.search, [str(name) for name in pack.search.columns]),
        "coverage": _table(pack.coverage, _COVERAGE),
        "draft": [reason for reason in pack.draft if reason not in said_of_it],
    } | ({"plan": _plan(pack.plan)} if pack.plan.machines else {})
    # Dates and tuples of ids are written as text and list; ASCII, so that any text can be hashed.
    text = json.dumps(said, default=str, sort_keys=True, ensure_ascii=True, allow_nan=False)
    return hashlib.sha256(text.encode("ascii")).hexdigest()
