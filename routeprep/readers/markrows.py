"""Rows of a table of marks to columns of ``tables.MARKS``.

In go cells as a person filled them in, out come the columns of one mark and what was odd about
them.  A cell that cannot be used is never dropped: it goes into the mark's note.
"""

import datetime as dt
import math
import re
from collections.abc import Mapping
from typing import NamedTuple

from routeprep.kinds import ACROSS, KindTable
from routeprep.readers.csvtext import LAT, LON, number
from routeprep.readers.headings import LENGTHS, Wanted
from routeprep.readers.parts import hear, shown
from routeprep.readers.times import NO_TIME_US, time_us
from routeprep.tables import ON_FOOT
from routeprep.units import to_m

__all__ = ["COLUMNS", "MarkRow", "mark_row", "who_and_day"]

# Names of columns that are understood, once ``plain``, by what they say.
_NAMES: dict[str, tuple[str, ...]] = {
    "time": (
        "time", "time_utc", "utc", "utc_time", "datetime", "date_time", "timestamp", "when",
        "local_time", "time_local",
    ),
    "date": ("date", "day", "survey_date", "date_walked", "walked_on"),
    "lat": LAT,
    "lon": LON,
    "kind": ("kind", "type", "feature", "asset"),
    "words": ("words", "what", "description", "desc", "text", "item", "thing"),
    "name": ("name", "label", "title"),
    "across": ("across", "where"),
    "across_frame": ("across_frame", "frame"),
    "side": ("side", "rt_lt", "lt_rt", "l_r", "r_l", "left_right", "right_left"),
    "size": ("size", "diameter", "dia"),
    "method": ("method", "how"),
    "note": ("note", "notes", "remark", "remarks", "comment", "comments"),
    "by": ("by", "who", "person", "observer", "walked_by", "recorded_by"),
    "said_leg": ("leg", "said_leg"),
    "street": ("street", "road", "street_name", "road_name"),
    "said_station": ("station", "said_station", "sta", "stn", "chainage"),
    "from_station": ("from_station", "station_from", "from_sta", "sta_from", "begin_station"),
    "to_station": ("to_station", "station_to", "to_sta", "sta_to", "end_station"),
    "said_offset": ("offset", "said_offset", "off", "offset_from_cl", "off_cl", "offset_cl"),
    "offset_rt": ("offset_rt", "off_rt", "rt_offset", "rt_off", "offset_right", "right_offset"),
    "offset_lt": ("offset_lt", "off_lt", "lt_offset", "lt_off", "offset_left", "left_offset"),
    "depth": ("depth", "depth_below", "depth_below_surface"),
    "lowered": ("lowered", "lowered_by"),
    "height": ("height", "clearance"),
    "height_by": ("height_by",),
    "accuracy": ("accuracy", "horizontal_accuracy"),
}  # fmt: skip
_MEASURED = (
    "size", "said_station", "from_station", "to_station", "said_offset", "offset_rt", "offset_lt",
    "depth", "lowered", "height", "accuracy",
)  # fmt: skip
# The columns of a table of marks.
COLUMNS = Wanted(
    {name: field for field, names in _NAMES.items() for name in names},
    dict.fromkeys(_MEASURED, LENGTHS),
)

_LENGTH = re.compile(r"(?P<value>[+-]?\d[\d.,]*)\s*(?P<unit>[A-Za-z'\"]*)\.?$", re.ASCII)

# A station with a decimal comma, as spreadsheets of some countries save it: 12+40,5.
_COMMA_STATION = re.compile(r"(\+\s?\d{2,3}),(\d{1,2})(?![\d,])")

_METHODS = {
    "": "vehicle", "vehicle": "vehicle", "driven": "vehicle", "drive": "vehicle",
    "walked": "walked", "walk": "walked", "on foot": "walked", "foot": "walked",
    "paced": "walked", "wheeled": "wheeled", "wheel": "wheeled", "measuring wheel": "wheeled",
    "taped": "taped", "tape": "taped",
}  # fmt: skip
_DRIVEN, _UP = "as driven", "up-station"
_FRAMES = {"": _DRIVEN, "as driven": _DRIVEN, "driven": _DRIVEN}
_FRAMES |= {"up-station": _UP, "up station": _UP, "upstation": _UP}
_HEIGHTS = ("posted", "measured", "guess")
_SIDES = {
    "": "", "rt": "RT", "r": "RT", "right": "RT", "lt": "LT", "l": "LT", "left": "LT",
    "cl": "CL", "c": "CL", "center": "CL", "centre": "CL", "centerline": "CL",
}  # fmt: skip
_ACROSS_OF = {"RT": "right side", "LT": "left side", "CL": "on the line"}
# An offset that says its side: 4 ft RT, L 6.5.
_WITH_SIDE = re.compile(r"(?<![a-z])(rt|lt|cl|r|l|right|left)(?![a-z])", re.IGNORECASE)


class MarkRow(NamedTuple):
    """One mark of a table: its time [us], its columns, and what was odd."""

    time_us: int
    columns: dict[str, object]
    odd: tuple[str, ...]


class _Cells:
    """The cells of one row by what they say; odd ones are gathered."""

    def __init__(
        self,
        cells: Mapping[str, str],
        units: Mapping[str, str],
        kinds: KindTable,
        zone: dt.tzinfo,
    ) -> None:
        self.cells, self.units, self.kinds, self.zone = cells, units, kinds, zone
        self.odd: list[str] = []
        self.kept: list[str] = []

    def text(self, field: str) -> str:
        """The text of a cell, with the unit of its column when it is a bare number."""
        cell, unit = self.cells.get(field, ""), self.units.get(field, "")
        match = _LENGTH.match(cell)
        return f"{cell} {unit}" if match and unit and not match["unit"] else cell

    def folded(self, field: str) -> str:
        """The text of a cell in lower case, its words parted by one blank."""
        return " ".join(self.cells.get(field, "").lower().split())

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
        unit = LENGTHS.get(match["unit"].lower(), "") if match else ""
        value = number(match["value"]) if match and unit else math.nan
        if not value >= 0:
            self.strange(field, "is no length with a unit, such as 14.5 ft")
            return math.nan
        return to_m(value, unit)

    def one_of(self, field: str, meanings: Mapping[str, str]) -> str:
        """What a cell means, or what an empty one would."""
        cell = self.folded(field)
        if cell in meanings:
            return meanings[cell]
        self.strange(field, f"is none of {', '.join(sorted(set(meanings.values()) - {''}))}")
        return meanings[""]

    def time(self) -> int:
        """The time [us]."""
        cell = self.cells.get("time", "")
        if not cell:
            return NO_TIME_US
        since_us, odd = time_us(cell, self.zone)
        if odd == "no zone":
            return since_us
        if odd:
            self.strange("time", f"is {odd}; write it like 2026-06-01T14:30:00Z")
        return since_us


def _heard(cells: _Cells) -> dict[str, object]:
    """Kind, words and what the words say; a kind and words that contradict are not understood."""
    kinds = cells.kinds
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


def _across(cells: _Cells, kind: str) -> str:
    """Where across the road, in the words that are stored; empty when not understood."""
    cell = cells.folded("across")
    if cell in ("", *ACROSS):
        return cell
    said = cells.kinds.understand(f"{cells.kinds.kinds[kind].name}, {cell}") if kind else None
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


def _station(cells: _Cells) -> str:
    """The station as said, or from and to."""
    first, last = cells.text("from_station"), cells.text("to_station")
    reach = f"{first} to {last}" if first and last and first != last else first or last
    return _COMMA_STATION.sub(r"\1.\2", cells.text("said_station") or reach)


def _offset(cells: _Cells) -> str:
    """The offset as said, with its side."""
    offset = cells.text("said_offset")
    for side, field in (("RT", "offset_rt"), ("LT", "offset_lt")):
        text = cells.text(field)
        if text and offset:
            cells.strange(field, f"stands beside the offset {offset}")
        elif text:
            offset = text if _WITH_SIDE.search(text) else f"{text} {side}"
    return offset


def _sided(cells: _Cells, across: str, station: str) -> tuple[str, str]:
    """Where across and the offset as said, with the side of a column of its own.

    Beside a station the side goes with the offset, else it says where across.
    """
    side, offset = cells.one_of("side", _SIDES), _offset(cells)
    if not side or _WITH_SIDE.search(offset):
        return across, offset
    if station or offset:
        return across, f"{offset} {side}".strip()
    if across:
        cells.kept.append(f"side: {side}")
    return across or _ACROSS_OF[side], ""


def who_and_day(by: str, day: str) -> str:
    """Who says it, and on which day where no time is known: "R. Sample, 2026-05-04".

    Parameters
    ----------
    by, day
        Each may be empty.
    """
    return ", ".join(filter(None, (by, day)))


def _frame(cells: _Cells, method: str, station: str) -> str:
    """Which way a person looked: beside a station taken on foot, up-station unless said."""
    frame = cells.one_of("across_frame", _FRAMES)
    plain = station and method in ON_FOOT and not cells.folded("across_frame")
    return _UP if plain else frame


def _measured(cells: _Cells, row: dict[str, object]) -> dict[str, object]:
    """What was measured, and how."""
    method, station = cells.one_of("method", _METHODS), _station(cells)
    across = _across(cells, str(row.get("kind", ""))) or str(row.get("across", ""))
    across, offset = _sided(cells, across, station)
    return {
        **({"across": across} if across else {}),
        **({"size": cells.text("size")} if cells.text("size") else {}),
        **_height(cells),
        "across_frame": _frame(cells, method, station),
        "accuracy_m": cells.length_m("accuracy"),
        "method": method,
        "said_leg": ", ".join(filter(None, (cells.text("said_leg"), cells.text("street")))),
        "said_station": station,
        "said_offset": offset,
    }


def mark_row(
    cells: Mapping[str, str],
    *,
    units: Mapping[str, str],
    kinds: KindTable,
    zone: dt.tzinfo,
    name: str,
) -> MarkRow:
    """Read one row.

    Parameters
    ----------
    cells
        Text by what the column says; see ``headings.columns_of``.
    units
        Units of those columns whose name has one.
    kinds
        For kind and words.
    zone
        Of a time that says none.
    name
        The file.
    """
    own = _Cells(cells, units, kinds, zone)
    row = _heard(own)
    row |= _measured(own, row)
    since_us = own.time()
    day = own.text("date") if since_us == NO_TIME_US else ""
    row |= {"by": who_and_day(own.text("by"), day), "source": name}
    depths = [f"{field} {own.text(field)}" for field in ("depth", "lowered") if own.text(field)]
    notes = (str(row.get("note", "")), own.text("note"), *depths, *own.kept)
    row["note"] = "; ".join(dict.fromkeys(note for note in notes if note))
    return MarkRow(since_us, row, tuple(own.odd))
