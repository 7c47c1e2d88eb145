"""CSV text to a header and numbered rows.

In go bytes (UTF-8, with or without a byte order mark; comma, semicolon or tab), out comes a
``Sheet``; its row numbers count as a spreadsheet does, the header being row 1.
"""

import csv
import io
import math
import re
from collections.abc import Sequence
from typing import NamedTuple

from routeprep.errors import ReadError
from routeprep.readers.parts import shown

__all__ = ["LAT", "LON", "Sheet", "degrees", "plain", "read_sheet", "text_of"]

# What columns of latitude and longitude are called, once ``plain``.
LAT = ("lat", "latitude", "lat_deg", "latitude_deg")
LON = ("lon", "lng", "long", "longitude", "lon_deg", "longitude_deg")

_DELIMITERS = ",;\t"

# A number with a decimal comma, as programs of many countries write it.
_COMMA = re.compile(r"\s*[-+]?\d+,\d+\s*$")


class Sheet(NamedTuple):
    """The cells of a CSV file.

    Attributes
    ----------
    header
        Names of the columns as written, without space around them.
    rows
        Row number and cells, as many as the header has or more; rows without any text are left
        out.
    """

    header: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]


def text_of(data: bytes, *, name: str) -> str:
    """Decode UTF-8, without its byte order mark.

    Raises
    ------
    ReadError
        If the file is empty or its bytes are no UTF-8.
    """
    if not data.strip():
        msg = f"{name}: is empty ({len(data)} bytes); save it again, or take it out of the job"
        raise ReadError(msg, file=name)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        msg = (
            f"{name}: is not text in UTF-8 (byte {error.start} is {data[error.start]:#04x}); "
            "save it again as UTF-8"
        )
        raise ReadError(msg, file=name, byte=error.start) from error


def plain(column: str) -> str:
    """A column's name in lower case with one underscore between words: "Height (ft)", height_ft."""
    return re.sub(r"[^a-z0-9]+", "_", column.lower()).strip("_")


def degrees(cell: str) -> float:
    """A cell as a number of degrees, NaN when it has none; a decimal comma is understood."""
    try:
        return float(cell.replace(",", ".") if _COMMA.match(cell) else cell)
    except ValueError:
        return math.nan


def _delimiter(text: str) -> str:
    line = next((line for line in text.splitlines() if line.strip()), "")
    counts = [len(next(csv.reader([line], delimiter=mark))) for mark in _DELIMITERS]
    return _DELIMITERS[counts.index(max(counts))]


def _cells(row: Sequence[str], width: int) -> tuple[str, ...]:
    return tuple(cell.strip() for cell in row) + ("",) * (width - len(row))


def read_sheet(data: bytes, *, name: str) -> Sheet:
    """Read a CSV file.

    Parameters
    ----------
    data
        The file.
    name
        Its name, for messages.

    Raises
    ------
    ReadError
        If it is empty, no UTF-8, or breaks the rules of CSV.
    """
    text = text_of(data, name=name)
    try:
        rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=_delimiter(text)))
    except csv.Error as error:
        msg = f"{name}: is not CSV that can be read ({error}); save it again as CSV (UTF-8)"
        raise ReadError(msg, file=name) from error
    filled = [(number, row) for number, row in enumerate(rows, start=1) if any(map(str.strip, row))]
    if not filled:
        msg = f"{name}: has no header, only {shown(text)}; save it again as CSV (UTF-8)"
        raise ReadError(msg, file=name)
    header = _cells(filled[0][1], 0)
    body = tuple((number, _cells(row, len(header))) for number, row in filled[1:])
    return Sheet(header, body)
