"""Rows of a table of marks to columns of ``tables.MARKS``.

In go cells as a person filled them in, out come the columns of one mark and what was odd about
them.  A cell that cannot be used is never dropped: it goes into the mark's note.
"""

import math
import re
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from routeprep.errors import ReadError
from routeprep.kinds import ACROSS, KindTable
from routeprep.readers.csvtext import LAT, LON, plain
from routeprep.readers.parts import hear, shown
from routeprep.readers.times import NO_TIME_US, time_us
from routeprep.units import FACTORS_M, to_m

__all__ = ["Columns", "MarkRow", "columns_of", "mark_row"]

# Names of columns that are understood, once ``plain``, by what they say.
_NAMES: dict[str, tuple[str, ...]] = {
    "time": ("time", "time_utc", "utc", "datetime", "date_time", "timestamp", "when"),
    "lat": LAT,
    "lon": LON,
    "kind": ("kind", "type"),
    "words": ("words", "what", "description", "desc", "text"),
    "name": ("name", "label", "title"),
    "across": ("across", "where"),
    "across_frame": ("across_frame", "frame"),
    "size": ("size",),
    "method": ("method", "how"),
    "note": ("note", "notes", "remark", "remarks", "comment", "comments"),
    "by": ("by", "who", "person", "observer"),
    "said_station": ("station", "said_station"),
    "said_offset": ("offset", "said_offset"),
    "height": ("height", "clearance"),
    "height_by": ("height_by",),
    "accuracy": ("accuracy", "horizontal_accuracy"),
}
_BY_NAME = {name: field for field, names in _NAMES.items() for name in names}

# Columns that may have their unit at the end of their name, and how units are written.
_MEASURED = ("size", "said_offset", "height", "accuracy")
_UNITS = {unit.lower(): unit for unit in FACTORS_M}
_UNITS |= {"feet": "ft", "foot": "ft", "'": "ft", "inches": "in", "inch": "in", '"': "in"}
_UNITS |= {"metres": "m", "meters": "m", "metre": "m", "meter": "m"}
_LENGTH = re.compile(r"(?P<value>\d+(?:\.\d+)?)\s*(?P<unit>[A-Za-z'\"]*)\.?$")

_METHODS = {
    "": "vehicle", "vehicle": "vehicle", "driven": "vehicle", "drive": "vehicle",
    "walked": "walked", "walk": "walked", "on foot": "walked",
    "wheeled": "wheeled", "wheel": "wheeled", "taped": "taped", "tape": "taped",
}  # fmt: skip
_FRAMES = {"": "as driven", "as driven": "as driven", "driven": "as driven"}
_FRAMES |= {"up-station": "up-station", "up station": "up-station", "upstation": "up-station"}
_HEIGHTS = ("posted", "measured", "guess")


class Columns(NamedTuple):
    """Which column of a table says what.

    Attributes
    ----------
    place
        Where in the header, by what the column says.
    units
        Units of those columns whose name has one.
    unknown
        Names of columns that are not understood.
    """

    place: Mapping[str, int]
    units: Mapping[str, str]
    unknown: tuple[str, ...]


class MarkRow(NamedTuple):
    """One mark of a table: its time [us], its columns, and what was odd."""

    time_us: int
    columns: dict[str, object]
    odd: tuple[str, ...]


def _meant(column: str) -> tuple[str, str]:
    """What a column says and the unit its name has; both empty when not understood."""
    name = plain(column)
    if name in _BY_NAME:
        return _BY_NAME[name], ""
    stem, _, unit = name.rpartition("_")
    field = _BY_NAME.get(stem, "")
    return (field, _UNITS[unit]) if field in _MEASURED and unit in _UNITS else ("", "")


def columns_of(header: Sequence[str], *, name: str) -> Columns:
    """Understand the columns of a table of marks.

    Parameters
    ----------
    header
        The columns' names.
    name
        The file, for messages.

    Raises
    ------
    ReadError
        If two columns say the same.
    """
    at: dict[str, int] = {}
    units: dict[str, str] = {}
    for place, column in enumerate(header):
        field, unit = _meant(column)
        if field in at:
            msg = (
                f"{name}: columns {header[at[field]]!r} and {column!r} both say {field}; rename or "
                "remove one"
            )
            raise ReadError(msg, file=name, columns=(header[at[field]], column))
        if field:
            at[field] = place
            units |= {field: unit} if unit else {}
    return Columns(
        at, units, tuple(column for column in header if column and not _meant(column)[0])
    )


class _Cells:
    """The cells of one row by what they say; odd ones are gathered."""

    def __init__(self, cells: Mapping[str, str], units: Mapping[str, str]) -> None:
        self.cells, self.units = cells, units
        self.odd: list[str] = []
        self.kept: list[str] = []

    def text(self, field: str) -> str:
        """The text of a cell, with the unit of its column when it is a bare number."""
        cell, unit = self.cells.get(field, ""), self.units.get(field, "")
        match = _LENGTH.match(cell)
        return f"{cell} {unit}" if match and unit and not match["unit"] else cell

    def strange(self, field: str, why: str) -> None:
        """Note a cell that cannot be used."""
        self.odd.append(f"{field} {shown(self.cells[field])} {why}")
        self.kept.append(f"{field}: {self.cells[field]}")

    def length_m(self, field: str) -> float:
        """A length with its own or its column's unit [m], NaN when it has none."""
        text = self.text(field)
        if not text:
            return math.nan
        match = _LENGTH.match(text)
        unit = _UNITS.get(match["unit"].lower(), "") if match else ""
        if match is None or not unit:
            self.strange(field, "is no length with a unit, such as 14.5 ft")
            return math.nan
        return to_m(float(match["value"]), unit)

    def one_of(self, field: str, meanings: Mapping[str, str]) -> str:
        """What a cell means, or what an empty one would."""
        cell = " ".join(self.cells.get(field, "").lower().split())
        if cell in meanings:
            return meanings[cell]
        self.strange(field, f"is none of {', '.join(sorted(set(meanings.values())))}")
        return meanings[""]

    def time(self) -> int:
        """The time [us]."""
        cell = self.cells.get("time", "")
        if not cell:
            return NO_TIME_US
        since_us, odd = time_us(cell)
        if odd == "no zone":
            return since_us
        if odd:
            self.strange("time", f"is {odd}; write it like 2026-06-01T14:30:00Z")
        return since_us


def _heard(cells: _Cells, kinds: KindTable) -> dict[str, object]:
    """Kind, words and what the words say; a kind and words that contradict are not understood."""
    cell, called = cells.cells.get("kind", ""), cells.cells.get("name", "")
    words = cells.cells.get("words", "") or called
    kind = kinds.find(cell) if cell else None
    if kind is None:
        return hear((cell, words, called), kinds)
    both = "; ".join(dict.fromkeys(text for text in (cell, words, called) if text))
    for text in (words, f"{kind.name}, {words}"):
        saying = kinds.understand(text)
        if saying.kind and kinds.same_thing(saying.kind, kind.code):
            return {**hear((text,), kinds), "kind": kind.code, "words": both}
    contradicts = bool(kinds.understand(words).kind)
    return {"words": both} if contradicts else {"kind": kind.code, "words": both, "note": words}


def _across(cells: _Cells, kind: str, kinds: KindTable) -> str:
    """Where across the road, in the words that are stored; empty when not understood."""
    cell = " ".join(cells.cells.get("across", "").lower().split())
    if cell in ("", *ACROSS):
        return cell
    said = kinds.understand(f"{kinds.kinds[kind].name}, {cell}") if kind else None
    if said and said.across:
        return said.across
    cells.strange("across", f"is not understood; write one of {', '.join(ACROSS)}")
    return ""


def _height(cells: _Cells) -> dict[str, object]:
    """Height and who says so: a height without a source is a guess."""
    height_m = cells.length_m("height")
    by = cells.one_of("height_by", {"": "", **{one: one for one in _HEIGHTS}})
    if math.isnan(height_m):
        return {}
    return {"height_m": height_m, "height_by": by or "guess"}


def mark_row(
    cells: Mapping[str, str], *, units: Mapping[str, str], kinds: KindTable, name: str
) -> MarkRow:
    """Read one row.

    Parameters
    ----------
    cells
        Text by what the column says; see ``columns_of``.
    units
        Units of those columns whose name has one.
    kinds
        For kind and words.
    name
        The file.
    """
    own = _Cells(cells, units)
    row = _heard(own, kinds)
    frame = own.one_of("across_frame", _FRAMES)
    across = _across(own, str(row.get("kind", "")), kinds)
    row |= {"across": across} if across else {}
    row |= {"size": own.text("size")} if own.text("size") else {}
    row |= _height(own)
    row |= {
        "across_frame": frame,
        "accuracy_m": own.length_m("accuracy"),
        "method": own.one_of("method", _METHODS),
        "said_station": own.text("said_station"),
        "said_offset": own.text("said_offset"),
        "by": own.text("by"),
        "source": name,
    }
    since_us = own.time()
    notes = (str(row.get("note", "")), own.text("note"), *own.kept)
    row["note"] = "; ".join(dict.fromkeys(note for note in notes if note))
    return MarkRow(since_us, row, tuple(own.odd))
