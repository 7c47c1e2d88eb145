"""Declared tables: each column once, with its kind of value, its unit and whether it may be empty.

In goes a pandas table, out comes the same table, checked; or an error that names every column
and row that breaks the declaration.  Unknown text is the empty string, unknown numbers are NaN,
unknown times NaT.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from routeprep.errors import TableError

__all__ = [
    "COVERAGE",
    "EVIDENCE",
    "FIXES",
    "ISSUED",
    "LOCATED",
    "MARKS",
    "OBSTRUCTIONS",
    "ON_FOOT",
    "RECORDS",
    "SEARCH",
    "SMOOTHED",
    "Column",
    "check",
    "rows_of",
    "table",
]

_TEXT, _NUMBER, _COUNT, _TIME, _IDS, _GEOMETRY = (
    "text",
    "number",
    "count",
    "time",
    "ids",
    "geometry",
)
_ROWS_SHOWN = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One declared column.

    Attributes
    ----------
    name
        Its name; the unit is the ending (``_m``, ``_deg``, ``_mps``).
    holds
        "text", "number" (float64), "count" (int64), "time" (UTC), "ids" (tuples of text) or
        "geometry" (longitude, latitude [deg]).
    needed
        Whether every row must have a value.
    values
        The only texts allowed; empty means any.
    """

    name: str
    holds: str
    needed: bool = False
    values: tuple[str, ...] = ()


def _text(name: str, *values: str, needed: bool = False) -> Column:
    return Column(name=name, holds=_TEXT, needed=needed, values=values)


def _number(*names: str, needed: bool = False) -> tuple[Column, ...]:
    return tuple(Column(name=name, holds=_NUMBER, needed=needed) for name in names)


FIXES: tuple[Column, ...] = (
    _text("drive_id", needed=True),
    Column(name="piece", holds=_COUNT, needed=True),
    Column(name="time_utc", holds=_TIME),
    *_number("lon_deg", "lat_deg", needed=True),
    *_number("ele_m", "accuracy_m", "speed_mps", "course_deg"),
)

# What smoothing adds to cleaned fixes: the row of the raw fix in its drive as recorded, and the
# smoothed state at its time; ``smooth_sd_m`` is the standard deviation of one axis.  ``standing``
# is 1 for fixes that were recorded while the vehicle stood, and else 0.
SMOOTHED: tuple[Column, ...] = (
    Column(name="raw_row", holds=_COUNT, needed=True),
    *_number("smooth_lon_deg", "smooth_lat_deg", "smooth_sd_m", needed=True),
    *_number("smooth_speed_mps", "smooth_course_deg"),
    Column(name="standing", holds=_COUNT, needed=True),
)

MARKS: tuple[Column, ...] = (
    _text("mark_id", needed=True),
    _text("drive_id"),
    _text("kind"),
    _text("words"),
    Column(name="time_utc", holds=_TIME),
    *_number("lon_deg", "lat_deg", "accuracy_m"),
    _text("across"),
    _text("across_frame", "as driven", "up-station", needed=True),
    _text("said_leg"),
    _text("said_station"),
    _text("said_offset"),
    _text("size"),
    *_number("height_m"),
    _text("height_by", "", "posted", "measured", "guess"),
    _text("method", "vehicle", "walked", "wheeled", "taped", needed=True),
    _text("note"),
    _text("photo"),
    _text("clip"),
    _text("by"),
    _text("source", needed=True),
)

RECORDS: tuple[Column, ...] = (
    _text("record_id", needed=True),
    _text("kind"),
    _text("owner"),
    _text("name"),
    _text("source", needed=True),
    *_number("datum_sd_m"),
    Column(name="geometry", holds=_GEOMETRY, needed=True),
)

# Methods of marks that were made on foot.
ON_FOOT = ("walked", "wheeled", "taped")

# What locating adds to marks and to records.  ``person`` is whose lateness was taken off (who the
# files say, or the drive), ``late_m`` how far the place was moved back against the travel for it,
# ``speed_mps`` how fast the thing was passed, ``own_sd_m`` the part of ``along_sd_m`` that no other
# mark of the person shares.
LOCATED: tuple[Column, ...] = (
    _text("leg"),
    *_number("along_m", "from_m", "to_m", "offset_m", "along_sd_m", "offset_sd_m"),
    Column(name="travel", holds=_COUNT, needed=True),
    _text("person"),
    *_number("speed_mps", "late_m", "own_sd_m"),
    _text("lane"),
    _text("position"),
    *_number("past_end_m", "runner_up_m"),
    _text("doubt"),
)

# How often each stretch of a leg was looked at: passings up and down the stations, by day and by
# night (neither, when no time is known), in which lanes, how fast at most and how unsure at
# worst; ``reason`` says why it was poorly looked at, empty where it was not.
COVERAGE: tuple[Column, ...] = (
    _text("leg", needed=True),
    *_number("from_m", "to_m", needed=True),
    Column(name="looks_up", holds=_COUNT, needed=True),
    Column(name="looks_down", holds=_COUNT, needed=True),
    Column(name="looks_day", holds=_COUNT, needed=True),
    Column(name="looks_night", holds=_COUNT, needed=True),
    _text("lanes"),
    *_number("fastest_mps", "worst_sd_m"),
    _text("reason"),
)

OBSTRUCTIONS: tuple[Column, ...] = (
    _text("anchor_id", needed=True),
    _text("no"),
    _text("leg", needed=True),
    _text("kind", needed=True),
    _text("name", needed=True),
    *_number("from_m", "to_m", "along_m", "offset_m", "along_sd_m", "offset_sd_m", needed=True),
    _text("lane"),
    _text("across"),
    Column(name="times_seen", holds=_COUNT, needed=True),
    _text("method", "vehicle", "walked", "wheeled", "taped", "file", needed=True),
    Column(name="mark_ids", holds=_IDS, needed=True),
    Column(name="record_ids", holds=_IDS, needed=True),
    _text("status", needed=True),
    _text("action", needed=True),
    _text("proposed", needed=True),
    _text("who"),
    _text("decided_by"),
    *_number("height_m"),
    _text("height_by", "", "posted", "measured", "guess"),
    _text("size"),
    _text("doubt"),
    _text("note"),
    *_number("past_end_m"),
    *_number("lon_deg", "lat_deg", needed=True),
)

# The evidence for each thing on the list, a row a look, and marks and records near it that are no
# part of it.  ``apart_m`` is from the thing's place to the look's, up-station positive; ``part``
# says whether it gave the place, is kept beside it, or is near and another thing.
EVIDENCE: tuple[Column, ...] = (
    _text("anchor_id", needed=True),
    _text("item_id", needed=True),
    _text("what", "mark", "record", needed=True),
    _text("part", "place", "beside", "near", needed=True),
    _text("kind", needed=True),
    _text("words"),
    _text("method", "vehicle", "walked", "wheeled", "taped", "file", needed=True),
    _text("person"),
    _text("drive_id"),
    _text("source", needed=True),
    Column(name="time_utc", holds=_TIME),
    Column(name="travel", holds=_COUNT, needed=True),
    *_number("speed_mps", "late_m"),
    *_number("along_m", "along_sd_m", "offset_m", "offset_sd_m", "apart_m", needed=True),
    _text("lane"),
    _text("position"),
    _text("why", needed=True),
)

# Where to look again, in walking order: what is in a file and was not seen, and where something is
# probably missing.  ``no`` and ``record_id`` are empty where the list or the file has nothing.
SEARCH: tuple[Column, ...] = (
    _text("leg", needed=True),
    *_number("from_m", "to_m", "along_m", needed=True),
    *_number("offset_m", "offset_sd_m"),
    _text("side", "", "L", "R", "C"),
    _text("what", needed=True),
    _text("why", needed=True),
    _text("owner"),
    _text("no"),
    _text("record_id"),
    *_number("lon_deg", "lat_deg", needed=True),
)

# The list as it was last issued, from that pack's own obstructions.csv.
ISSUED: tuple[Column, ...] = (
    _text("no", needed=True),
    _text("anchor_id", needed=True),
    _text("leg", needed=True),
    _text("name"),
    _text("station"),
    *_number("along_m", "plus_minus_m", needed=True),
    _text("lane"),
    _text("across"),
    _text("status"),
    _text("action"),
    _text("decided_by"),
)


def _empty_values(column: Column) -> object:
    if column.holds == _TEXT:
        return pd.array([], dtype="str")
    if column.holds == _TIME:
        return pd.DatetimeIndex([], tz="UTC").as_unit("us")
    dtypes = {_NUMBER: np.float64, _COUNT: np.int64, _IDS: object, _GEOMETRY: object}
    return np.empty(0, dtype=dtypes[column.holds])


def _filled(column: Column, rows: Sequence[Mapping[str, object]]) -> object:
    if not rows:
        return _empty_values(column)
    blank: dict[str, object] = {
        _TEXT: "", _NUMBER: float("nan"), _COUNT: 0, _TIME: None, _IDS: (), _GEOMETRY: None
    }  # fmt: skip
    values: list[Any] = [row.get(column.name, blank[column.holds]) for row in rows]
    if column.holds == _TEXT:
        return pd.array(values, dtype="str")
    if column.holds == _TIME:
        return pd.to_datetime(pd.Series(values, dtype=object), utc=True).dt.as_unit("us")
    if column.holds == _IDS:
        cells = np.empty(len(values), dtype=object)
        cells[:] = values
        return cells
    dtypes = {_NUMBER: np.float64, _COUNT: np.int64, _GEOMETRY: object}
    return np.array(values, dtype=dtypes[column.holds])


def table(columns: tuple[Column, ...], rows: Sequence[Mapping[str, object]]) -> pd.DataFrame:
    """Make a table of the declared columns from rows; what a row lacks is unknown.

    Raises
    ------
    TableError
        If a row has a key that is not declared, or a value breaks the declaration.

    Examples
    --------
    >>> list(table(RECORDS, []).columns)
    ['record_id', 'kind', 'owner', 'name', 'source', 'datum_sd_m', 'geometry']
    """
    known = {column.name for column in columns}
    extra = sorted({key for row in rows for key in row} - known)
    if extra:
        msg = f"columns {extra} are not declared; the declared ones are {sorted(known)}"
        raise TableError(msg, columns=extra)
    frame = pd.DataFrame({column.name: _filled(column, rows) for column in columns})
    return check(frame, columns, what="table")


def _fits(values: "pd.Series[Any]", holds: str) -> bool:
    if holds == _TEXT:
        return isinstance(values.dtype, pd.StringDtype)
    if holds == _NUMBER:
        return values.dtype == np.float64
    if holds == _COUNT:
        return values.dtype == np.int64
    if holds == _TIME:
        return isinstance(values.dtype, pd.DatetimeTZDtype) and str(values.dtype.tz) == "UTC"
    return True


def _bad_rows(values: "pd.Series[Any]", column: Column) -> npt.NDArray[np.bool_]:
    # Each table of a job comes by here, and most hold nothing: only what is declared is asked.
    bad = np.zeros(len(values), dtype=bool)
    if not len(values):
        return bad
    if column.holds == _NUMBER:
        numbers = values.to_numpy(dtype=np.float64)
        wrong: npt.NDArray[np.bool_] = np.isinf(numbers)
        return wrong | np.isnan(numbers) if column.needed else wrong
    if column.needed or column.holds == _TEXT:
        bad |= np.asarray(values.isna(), dtype=bool)
    if column.needed and column.holds == _TEXT:
        bad |= np.asarray(values == "", dtype=bool)
    if column.values:
        bad |= ~np.asarray(values.isin(column.values), dtype=bool)
    return bad


def check(frame: pd.DataFrame, columns: tuple[Column, ...], *, what: str) -> pd.DataFrame:
    """Return the table unchanged if it has every declared column with values that fit.

    Parameters
    ----------
    frame
        The table; further columns may stand beside the declared ones.
    columns
        The declaration.
    what
        What the table is, for the error.

    Raises
    ------
    TableError
        Naming every column that is missing or of the wrong type, and the first rows of each
        column with a value that is missing or not allowed.
    """
    faults = []
    for column in columns:
        if column.name not in frame.columns:
            faults.append(f"column {column.name} is missing")
            continue
        values = frame[column.name]
        if not _fits(values, column.holds):
            faults.append(f"column {column.name} is {values.dtype}, expected {column.holds}")
            continue
        bad = np.flatnonzero(_bad_rows(values, column))
        if len(bad):
            shown = [f"row {i}: {values.iloc[i]!r}" for i in bad[:_ROWS_SHOWN]]
            allowed = f", expected one of {column.values}" if column.values else ", value needed"
            faults.append(f"column {column.name}: {len(bad)} bad ({'; '.join(shown)}){allowed}")
    if faults:
        raise TableError(f"{what}: " + ". ".join(faults), what=what, faults=faults)
    return frame


def rows_of(frame: pd.DataFrame) -> list[dict[str, Any]]:
    """Rows of a table as mappings from column to value, in order."""
    names = [str(name) for name in frame.columns]
    columns = [frame[name].tolist() for name in frame.columns]
    return [dict(zip(names, values, strict=True)) for values in zip(*columns, strict=True)]
