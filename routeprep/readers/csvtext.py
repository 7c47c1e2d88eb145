"""CSV text to a header and numbered rows.

In go bytes (comma, semicolon or tab), out comes a ``Sheet``; its row numbers count as a
spreadsheet does, from 1.  Here too is how the numbers of many countries are written.
"""

import csv
import io
import math
import re
from collections import Counter
from collections.abc import Callable, Iterator
from itertools import islice
from typing import NamedTuple

from routeprep.errors import ReadError
from routeprep.readers.encodings import any_text_of, text_of
from routeprep.readers.parts import shown

__all__ = [
    "LAT",
    "LON",
    "Sheet",
    "degrees",
    "number",
    "plain",
    "read_sheet",
    "read_spreadsheet",
]

# What columns of latitude and longitude are called, once ``plain``.
LAT = ("lat", "latitude", "lat_deg", "latitude_deg")
LON = ("lon", "lng", "long", "longitude", "lon_deg", "longitude_deg")

_DELIMITERS = ",;\t"
# A first line by which a spreadsheet says the delimiter: sep=;
_SEP = re.compile(r"\s*\"?sep=([,;\t|])\"?[ \t]*(?:\r\n?|\n|$)", re.IGNORECASE)
# So much of a file tells its delimiter [characters, rows], less than the library takes for a cell;
# and a header stands among so many rows.
_LOOKED_AT, _ROWS_LOOKED_AT, _HEADER_WITHIN = 65_536, 40, 20

# A number with a decimal comma, as programs of many countries write it.
_COMMA = re.compile(r"\s*[-+]?\d+,\d+\s*$")
# Numbers: plain; with a decimal comma that can be no thousands; with thousands parted by comma,
# point, blank or apostrophe, where the parts can be nothing else.
_PLAIN = re.compile(r"[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d{1,2})?$")
_DECIMAL_COMMA = re.compile(r"[-+]?(\d+,(\d{1,2}|\d{4,})|(0|\d{4,}),\d{3})$")
_BY_COMMA = re.compile(r"[-+]?\d{1,3}(,\d{3})+\.\d+$|[-+]?\d{1,3}(,\d{3}){2,}$")
_BY_POINT = re.compile(r"[-+]?\d{1,3}(\.\d{3})+,\d+$|[-+]?\d{1,3}(\.\d{3}){2,}$")
_PARTED = re.compile(r"(?<=\d)['\u2019 \u00a0\u2009\u202f](?=\d{3}(?!\d))")


class Sheet(NamedTuple):
    """The cells of a CSV file.

    Attributes
    ----------
    header
        Names of the columns as written, without space around them.
    rows
        Row number and cells, as many as the header has or more; rows without any text are left
        out.
    above
        Texts of the rows above the header.
    odd
        What is to be said of the encoding; empty when nothing is.
    """

    header: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    above: tuple[str, ...] = ()
    odd: str = ""


def plain(column: str) -> str:
    """A column's name in lower case with one underscore between words: "Height (ft)", height_ft."""
    return re.sub(r"[^a-z0-9]+", "_", column.lower()).strip("_")


def degrees(cell: str) -> float:
    """A cell as a number of degrees, NaN when it has none; a decimal comma is understood."""
    cell = cell.strip().removesuffix("\N{DEGREE SIGN}")
    try:
        return float(cell.replace(",", ".") if _COMMA.match(cell) else cell)
    except ValueError:
        return math.nan


def _plainly(cell: str) -> str:
    """A number as Python reads it, empty when it is none or its comma may be of either sort."""
    cell = _PARTED.sub("", cell.strip().replace("\N{MINUS SIGN}", "-"))
    if _PLAIN.match(cell):
        return cell
    if _BY_COMMA.match(cell):
        return cell.replace(",", "")
    if _DECIMAL_COMMA.match(cell) or _BY_POINT.match(cell):
        return cell.replace(".", "").replace(",", ".")
    return ""


def number(cell: str) -> float:
    """A cell as a number, NaN when it has none or when its comma may be of either sort.

    Examples
    --------
    >>> number("0,5"), number("1,240.5"), number("1.240,5"), number("1,240")
    (0.5, 1240.5, 1240.5, nan)
    """
    value = float(_plainly(cell) or math.nan)
    return value if math.isfinite(value) else math.nan


def _numbered(text: str, delimiter: str) -> Iterator[tuple[int, tuple[str, ...]]]:
    """Numbers and cells of the rows with any text, without space around the cells."""
    rows = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    for row, cells in enumerate(rows, start=1):
        stripped = tuple(map(str.strip, cells))
        if any(stripped):
            yield row, stripped


def _agreement(text: str, delimiter: str) -> tuple[int, int]:
    """How many of the first rows have the same number of cells, more than one, and how many."""
    first = islice(_numbered(text[:_LOOKED_AT], delimiter), _ROWS_LOOKED_AT)
    counts = Counter(len(cells) for _, cells in first if len(cells) > 1)
    return max(((rows, cells) for cells, rows in counts.items()), default=(0, 0))


def _delimited(text: str) -> tuple[str, str]:
    """The text without a line that says the delimiter, and the delimiter."""
    said = _SEP.match(text)
    if said:
        return text[said.end() :], said[1]
    return text, max(_DELIMITERS, key=lambda one: _agreement(text, one))


def _filled(text: str, *, name: str) -> list[tuple[int, tuple[str, ...]]]:
    """Numbered rows with any text.

    Raises
    ------
    ReadError
        If there is none, or the text breaks the rules of CSV.
    """
    body, delimiter = _delimited(text)
    try:
        filled = list(_numbered(body, delimiter))
    except csv.Error as error:
        msg = f"{name}: is not CSV that can be read ({error}); save it again as CSV (UTF-8)"
        raise ReadError(msg, file=name) from error
    if not filled:
        msg = f"{name}: has no header, only {shown(text)}; save it again as CSV (UTF-8)"
        raise ReadError(msg, file=name)
    return filled


def _sheet(filled: list[tuple[int, tuple[str, ...]]], at: int, odd: str) -> Sheet:
    """The sheet whose header is the row at a place among those with text."""
    header = filled[at][1]
    above = tuple(" | ".join(filter(None, cells)) for _, cells in filled[:at])
    rows = tuple(
        (row, cells if len(cells) >= len(header) else cells + ("",) * (len(header) - len(cells)))
        for row, cells in filled[at + 1 :]
    )
    return Sheet(header=header, rows=rows, above=above, odd=odd)


def read_sheet(data: bytes, *, name: str) -> Sheet:
    """Read a CSV file in UTF-8 whose first row is its header.

    Parameters
    ----------
    data
        The file.
    name
        Its name, for messages.
    """
    return _sheet(_filled(text_of(data, name=name), name=name), 0, "")


def read_spreadsheet(data: bytes, *, name: str, known: Callable[[str], bool]) -> Sheet:
    """Read a CSV file as a spreadsheet saved it: other encodings, titles above the header.

    Parameters
    ----------
    data
        The file.
    name
        Its name, for messages.
    known
        Says whether a cell is the name of a column: the first of the rows with most of them is
        the header.
    """
    text, odd = any_text_of(data, name=name)
    filled = _filled(text, name=name)
    counts = [sum(map(known, cells)) for _, cells in filled[:_HEADER_WITHIN]]
    return _sheet(filled, counts.index(max(counts)), odd)
