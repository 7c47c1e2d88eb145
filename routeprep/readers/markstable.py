"""Tables of marks: CSV with plain column names, or points of a GIS file with such properties.

In go bytes, out comes a ``Part`` with marks.  A row without a place is skipped with its number and
reason; a cell that cannot be used is said and kept in the mark's note.
"""

import datetime as dt
import math
from collections import Counter
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from routeprep.errors import ReadError
from routeprep.kinds import KindTable
from routeprep.readers.csvtext import degrees, plain, read_sheet
from routeprep.readers.markrows import Columns, columns_of, mark_row
from routeprep.readers.parts import Place, make_part, marks_table, shown, source
from routeprep.readers.times import time_us
from routeprep.readers.vector import read_points
from routeprep.shapes import Finding, Part

__all__ = ["read_marks_csv", "read_marks_points"]

# Rows that a finding names one by one.
_ROWS_SHOWN = 10

_NO_PLACE = "rows without coordinates, time or station"
_OFF = "rows off the globe"
_WIDE = "rows with more cells than columns"


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
    if math.isnan(row.lon_deg) or math.isnan(row.lat_deg):
        return "" if findable else _NO_PLACE
    return "" if abs(row.lat_deg) <= 90.0 and abs(row.lon_deg) <= 180.0 else _OFF  # noqa: PLR2004


def _listed(rows: Sequence[str]) -> str:
    more = f" and {len(rows) - _ROWS_SHOWN} more" if len(rows) > _ROWS_SHOWN else ""
    return "; ".join(rows[:_ROWS_SHOWN]) + more


def _findings(
    name: str, columns: Columns, bad: Sequence[str], odd: Sequence[str], zoneless: int
) -> Iterator[Finding]:
    if columns.unknown:
        text = f"columns {', '.join(map(repr, columns.unknown))} are not understood and not used"
        yield Finding(level="note", where=name, text=text)
    if bad:
        yield Finding(level="doubt", where=name, text=f"rows left out: {_listed(bad)}")
    if odd:
        text = f"cells that cannot be used, kept in the note: {_listed(odd)}"
        yield Finding(level="doubt", where=name, text=text)
    if zoneless:
        text = f"times without zone are taken as UTC ({zoneless} of them)"
        yield Finding(level="note", where=name, text=text)


def _part(
    data: bytes, rows: Sequence[_Row], *, name: str, header: Sequence[str], kinds: KindTable
) -> Part:
    columns = columns_of(header, name=name)
    skipped: Counter[str] = Counter()
    marks, bad, odd, zoneless = [], [], [], 0
    says_utc = "time" in columns.place and "utc" in plain(header[columns.place["time"]])
    for row in rows:
        cells = {field: row.cells[at] for field, at in columns.place.items()}
        findable = bool(cells.get("time") or cells.get("said_station"))
        why = _why_not(row, len(header), findable=findable)
        if why:
            skipped[why] += 1
            bad.append(
                f"row {row.number} ({why.removeprefix('rows ')}: {shown(','.join(row.cells))})"
            )
            continue
        mark = mark_row(cells, units=columns.units, kinds=kinds, name=name)
        zoneless += not says_utc and time_us(cells.get("time", ""))[1] == "no zone"
        odd += [f"row {row.number}, {one}" for one in mark.odd]
        lon_deg, lat_deg = row.lon_deg, row.lat_deg
        if math.isnan(lon_deg + lat_deg):
            lon_deg = lat_deg = math.nan
            said = ", ".join(filter(None, (cells.get("lon"), cells.get("lat"))))
            odd += [f"row {row.number}, coordinates {shown(said)} are no place"] if said else []
        marks.append((Place(mark.time_us, lon_deg, lat_deg), mark.columns))
    return make_part(
        source(data, name=name, what="marks", taken={"marks": len(marks)}, skipped=skipped),
        marks=marks_table(marks),
        findings=tuple(_findings(name, columns, bad, odd, zoneless)),
    )


def read_marks_csv(data: bytes, *, name: str, kinds: KindTable) -> Part:
    """Read a CSV of marks.

    Parameters
    ----------
    data
        The file.
    name
        Its name relative to the job.
    kinds
        For kinds and words.

    Raises
    ------
    ReadError
        If it is no CSV, or has columns neither of latitude and longitude nor of time.
    """
    sheet = read_sheet(data, name=name)
    columns = columns_of(sheet.header, name=name)
    if not {"lat", "lon"} <= set(columns.place) and "time" not in columns.place:
        first = [" | ".join(cells) for _, cells in sheet.rows[:2]]
        msg = (
            f"{name}: has no columns of latitude and longitude, nor of time, among "
            f"{', '.join(map(repr, sheet.header))} (first rows: {' // '.join(first) or 'none'}); "
            "name them lat and lon, or time"
        )
        raise ReadError(msg, file=name, columns=sheet.header)
    rows = [
        _Row(
            no,
            cells,
            *(degrees(cells[columns.place[key]]) if key in columns.place else math.nan
              for key in ("lon", "lat")),
        )
        for no, cells in sheet.rows
    ]  # fmt: skip
    return _part(data, rows, name=name, header=sheet.header, kinds=kinds)


def _text(value: object) -> str:
    """A value of a GIS file as the text that a CSV would have."""
    if value is None or value != value:  # noqa: PLR0124 - NaN and NaT
        return ""
    if isinstance(value, dt.datetime):
        return value.isoformat()
    return f"{value:g}" if isinstance(value, float) else str(value).strip()


def read_marks_points(data: bytes, *, name: str, kinds: KindTable) -> Part:
    """Read the points of a GIS file as marks, their attributes named as columns of a CSV are.

    Parameters
    ----------
    data
        The file.
    name
        Its name relative to the job.
    kinds
        For kinds and words.
    """
    frame, lon_deg, lat_deg = read_points(data, name=name)
    header = [str(column) for column in frame.columns]
    cells = zip(*(map(_text, frame[column].tolist()) for column in frame.columns), strict=True)
    listed = list(cells) if header else [()] * len(lon_deg)
    rows = [
        _Row(number, row, lon, lat)
        for number, (row, lon, lat) in enumerate(
            zip(listed, lon_deg.tolist(), lat_deg.tolist(), strict=True), start=1
        )
    ]
    return _part(data, rows, name=name, header=header, kinds=kinds)
