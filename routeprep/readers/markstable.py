"""Tables of marks: CSV as spreadsheets save it, or points of a GIS file with such properties.

In go bytes, out comes a ``Part`` with marks.  A row without a place is skipped with its number and
reason; a cell that cannot be used is said and kept in the mark's note.
"""

import datetime as dt
import math
import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

from routeprep.errors import ReadError
from routeprep.kinds import KindTable
from routeprep.readers.csvtext import Sheet, degrees, plain, read_spreadsheet
from routeprep.readers.datetimes import day_or_month_first, iso_date, iso_time
from routeprep.readers.globe import on_globe, swapped
from routeprep.readers.headings import Columns, columns_of, first_rows
from routeprep.readers.markrows import COLUMNS, mark_row
from routeprep.readers.parts import Place, make_part, marks_table, shown, source
from routeprep.readers.times import time_us
from routeprep.readers.vector import read_points
from routeprep.shapes import Finding, Part
from routeprep.spreads import RADIUS_68_IN_SDS

__all__ = ["read_marks_csv", "read_marks_points"]

# Rows that a finding names one by one.
_ROWS_SHOWN = 10

_NO_PLACE = "rows without coordinates, time or station"
_OFF = "rows off the globe"
_WIDE = "rows with more cells than columns"
_TOTALS = "rows of totals"

# What the first text of a row of totals is, with its colon and number.
_TOTAL = re.compile(r"(grand |sub)?totals?\b[\W\d]*|(sum|count|average|mean)[\W\d]*", re.IGNORECASE)


class _Row(NamedTuple):
    """A row with its number in the file and its place [deg], NaN where it has none."""

    number: int
    cells: tuple[str, ...]
    lon_deg: float
    lat_deg: float


def _why_not(row: _Row, width: int, *, findable: bool) -> str:
    """Why a row is no mark; empty when it is one.

    Without coordinates a time can still place it on a drive, or a person by its station.
    """
    if len(row.cells) > width and any(row.cells[width:]):
        return _WIDE
    if _TOTAL.fullmatch(next(filter(None, row.cells), "")):
        return _TOTALS
    if math.isnan(row.lon_deg) or math.isnan(row.lat_deg):
        return "" if findable else _NO_PLACE
    return "" if on_globe(row.lon_deg, row.lat_deg) else _OFF


def _about(sheet: Sheet, name: str) -> Iterator[Finding]:
    """What a person should know of how a sheet was read."""
    if sheet.odd:
        yield Finding(level="doubt", where=name, text=sheet.odd)
    if sheet.above:
        text = f"rows above the header are not used: {_listed(sheet.above)}"
        yield Finding(level="note", where=name, text=text)


def _listed(rows: Sequence[str]) -> str:
    more = f" and {len(rows) - _ROWS_SHOWN} more" if len(rows) > _ROWS_SHOWN else ""
    return "; ".join(rows[:_ROWS_SHOWN]) + more


class _Taken:
    """What is taken from the rows of one table, and what is odd about them."""

    def __init__(self, header: Sequence[str], columns: Columns, zone: dt.tzinfo) -> None:
        self.header, self.columns, self.zone = header, columns, zone
        self.marks: list[tuple[Place, dict[str, object]]] = []
        self.skipped: Counter[str] = Counter()
        self.bad: list[str] = []
        self.odd: list[str] = []
        self.zoneless = 0
        self.nameless: set[int] = set()

    def cells_of(self, row: _Row, order: str) -> dict[str, str]:
        """The cells by what they say, time and date as ISO 8601 where they are understood."""
        self.nameless |= {at for at, name in enumerate(self.header) if not name and row.cells[at]}
        cells = {field: row.cells[at] for field, at in self.columns.place.items()}
        date, time = cells.get("date", ""), cells.get("time", "")
        cells["date"] = iso_date(date, order=order) or date
        return cells | {"time": iso_time(date, time, order=order) if time else ""}

    def skip(self, row: _Row, why: str) -> None:
        """Leave a row out."""
        self.skipped[why] += 1
        self.bad.append(
            f"row {row.number} ({why.removeprefix('rows ')}: {shown(','.join(row.cells))})"
        )

    def take(self, row: _Row, cells: Mapping[str, str], *, kinds: KindTable, name: str) -> None:
        """Take a row as a mark."""
        at = self.columns.place.get("time", -1)
        says_utc = at >= 0 and "utc" in plain(self.header[at])
        zone = dt.UTC if says_utc else self.zone
        mark = mark_row(cells, units=self.columns.units, kinds=kinds, zone=zone, name=name)
        self.zoneless += not says_utc and time_us(cells["time"])[1] == "no zone"
        self.odd += [f"row {row.number}, {one}" for one in mark.odd]
        lon_deg, lat_deg = row.lon_deg, row.lat_deg
        if math.isnan(lon_deg + lat_deg):
            lon_deg = lat_deg = math.nan
            said = ", ".join(filter(None, (cells.get("lon"), cells.get("lat"))))
            if said:
                self.odd.append(f"row {row.number}, coordinates {shown(said)} are no place")
        self.marks.append((Place(mark.time_us, lon_deg, lat_deg), mark.columns))

    def findings(self, name: str) -> Iterator[Finding]:
        """What a person should know of the table."""
        unknown = [repr(column) for column in self.columns.unknown]
        unknown += [f"number {at + 1}, without a name," for at in sorted(self.nameless)]
        if unknown:
            text = f"columns {', '.join(unknown)} are not understood and not used"
            yield Finding(level="note", where=name, text=text)
        if self.bad:
            yield Finding(level="doubt", where=name, text=f"rows left out: {_listed(self.bad)}")
        if self.odd:
            text = f"cells that cannot be used, kept in the note: {_listed(self.odd)}"
            yield Finding(level="doubt", where=name, text=text)
        if self.zoneless:
            text = (
                f"times without zone are taken as {self.zone}, the job's time zone "
                f"({self.zoneless} of them)"
            )
            yield Finding(level="note", where=name, text=text)


def _not_swapped(rows: Sequence[_Row], *, name: str) -> None:
    """Refuse a table whose latitudes stand under longitude.

    Raises
    ------
    ReadError
        If they can only be so.
    """
    if swapped([row.lon_deg for row in rows], [row.lat_deg for row in rows]):
        one = next(row for row in rows if not math.isnan(row.lon_deg + row.lat_deg))
        msg = (
            f"{name}: row {one.number} is at latitude {one.lat_deg!r}, longitude {one.lon_deg!r}, "
            "and so are all: latitude and longitude are swapped; name the columns the other way "
            "round"
        )
        raise ReadError(msg, file=name, row=one.number)


def _part(
    data: bytes,
    rows: Sequence[_Row],
    *,
    name: str,
    header: Sequence[str],
    kinds: KindTable,
    zone: dt.tzinfo,
) -> Part:
    _not_swapped(rows, name=name)
    columns = columns_of(header, COLUMNS, name=name)
    taken = _Taken(header, columns, zone)
    said = [columns.place[field] for field in ("date", "time") if field in columns.place]
    order = day_or_month_first(row.cells[at] for row in rows for at in said)
    for row in rows:
        cells = taken.cells_of(row, order)
        findable = any(cells.get(field) for field in ("time", "said_station", "from_station"))
        why = _why_not(row, len(header), findable=findable)
        if why:
            taken.skip(row, why)
        else:
            taken.take(row, cells, kinds=kinds, name=name)
    counts = {"marks": len(taken.marks)}
    return make_part(
        source(data, name=name, what="marks", taken=counts, skipped=taken.skipped),
        marks=marks_table(taken.marks),
        findings=tuple(taken.findings(name)),
    )


def _asked_for(fields: Mapping[str, int]) -> str:
    """What a table lacks so that its rows have a place; empty when it lacks nothing."""
    if {"lat", "lon"} <= set(fields) or "time" in fields:
        return ""
    if not {"said_station", "from_station"} & set(fields):
        return "has no columns of latitude and longitude, nor of time, nor of stations, among"
    if "method" not in fields:
        return (
            "says stations, and no column method says whether they were walked, wheeled or taped, "
            "among"
        )
    return ""


def read_marks_csv(data: bytes, *, name: str, kinds: KindTable, zone: dt.tzinfo) -> Part:
    """Read a CSV of marks.

    Parameters
    ----------
    data
        The file.
    name
        Its name relative to the job.
    kinds
        For kinds and words.
    zone
        Of times that say none.

    Raises
    ------
    ReadError
        If it is no CSV, or has columns neither of latitude and longitude, nor of time, nor of
        stations with how they were found.
    """
    sheet = read_spreadsheet(data, name=name, known=COLUMNS.known())
    fields = columns_of(sheet.header, COLUMNS, name=name).place
    lacks = _asked_for(fields)
    if lacks:
        msg = (
            f"{name}: {lacks} {first_rows(sheet)}; name the columns lat and lon, or time, or "
            "station and method; a plain list of stations has one at the beginning of each line, "
            "such as 12+40 MH RT"
        )
        raise ReadError(msg, file=name, columns=sheet.header)
    rows = [
        _Row(
            no,
            cells,
            *(degrees(cells[fields[key]]) if key in fields else math.nan for key in ("lon", "lat")),
        )
        for no, cells in sheet.rows
    ]
    part = _part(data, rows, name=name, header=sheet.header, kinds=kinds, zone=zone)
    return replace(part, findings=(*_about(sheet, name), *part.findings))


def _text(value: object) -> str:
    """A value of a GIS file as the text that a CSV would have."""
    if value is None or value != value:  # noqa: PLR0124 - NaN and NaT
        return ""
    if isinstance(value, dt.datetime):
        return value.isoformat()
    return f"{value:g}" if isinstance(value, float) else str(value).strip()


def read_marks_points(
    data: bytes, *, name: str, kinds: KindTable, zone: dt.tzinfo, datum_operation: str = ""
) -> Part:
    """Read the points of a GIS file as marks, their attributes named as columns of a CSV are.

    Parameters
    ----------
    data
        The file.
    name
        Its name relative to the job.
    kinds
        For kinds and words.
    zone
        Of times that say none.
    datum_operation
        Takes a datum that is not WGS 84 there; see ``datums.datum_of``.
    """
    frame, lon_deg, lat_deg, datum_sd_m, datum_said = read_points(
        data, name=name, datum_operation=datum_operation
    )
    header = [str(column) for column in frame.columns]
    cells = zip(*(map(_text, frame[column].tolist()) for column in frame.columns), strict=True)
    listed = list(cells) if header else [()] * len(lon_deg)
    rows = [
        _Row(number, row, lon, lat)
        for number, (row, lon, lat) in enumerate(
            zip(listed, lon_deg.tolist(), lat_deg.tolist(), strict=True), start=1
        )
    ]
    part = _part(data, rows, name=name, header=header, kinds=kinds, zone=zone)
    if not datum_said:
        return part
    marks = part.marks.assign(accuracy_m=part.marks["accuracy_m"] + RADIUS_68_IN_SDS * datum_sd_m)
    said = Finding(level="note", where=name, text=datum_said)
    return replace(part, marks=marks, findings=(*part.findings, said))
