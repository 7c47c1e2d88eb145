"""Comma-separated tables of a pack: the list, the numbers, what is to be sorted, what no file has.

In goes a ``Pack``, out comes text with LF line ends; a cell that a spreadsheet would run as a
formula starts with an apostrophe.
"""

import csv
import io
import re
from collections.abc import Iterable, Sequence

import pandas as pd

from routeprep.exports.cells import DECIMALS, exported, guarded, rounded
from routeprep.exports.unrecorded import UNRECORDED, unrecorded
from routeprep.listing import EXPORTED
from routeprep.shapes import Pack

__all__ = ["csv_text", "numbers_text", "unrecorded_text", "unsorted_text"]

_LINE_END = re.compile("\r\n?|\n")

_UNSORTED = ("mark_id", "words", "why", "looks_like", "source", "time_utc", "lon_deg", "lat_deg")


def _cell(name: str, value: object) -> str:
    if name in DECIMALS:
        number = rounded(float(value), DECIMALS[name])  # type: ignore[arg-type]
        return "" if number is None else f"{number:.{DECIMALS[name]}f}"
    # One kind of line end, inside cells too: a bare CR would end the row for some readers.
    return guarded("\n".join(_LINE_END.split(str(value))))


def _written(header: Sequence[str], lines: Iterable[Sequence[str]]) -> str:
    sheet = io.StringIO(newline="")
    writer = csv.writer(sheet, lineterminator="\n")
    writer.writerow(header)
    writer.writerows(lines)
    return sheet.getvalue()


def csv_text(pack: Pack) -> str:
    """``obstructions.csv``: the columns ``listing.EXPORTED``, a row an obstruction.

    Metres with 2 decimals, degrees with 7; what is not known is empty.
    """
    table = exported(pack)
    lines = (
        [_cell(name, value) for name, value in zip(EXPORTED, line, strict=True)]
        for line in table.itertuples(index=False, name=None)
    )
    return _written(EXPORTED, lines)


def numbers_text(pack: Pack) -> str:
    """``numbers.csv``: every number ever issued, with the anchor that it belongs to."""
    lines = (
        [guarded(item.no), guarded(item.anchor_id), guarded(item.first_revision)]
        for item in pack.numbers
    )
    return _written(("no", "anchor_id", "first_revision"), lines)


def _time_text(time_utc: object) -> str:
    return pd.Timestamp(time_utc).isoformat().replace("+00:00", "Z")  # type: ignore[arg-type]


def unsorted_text(pack: Pack) -> str:
    """``sort-before-issue.csv``: the marks whose words were not understood, and why."""
    table = pack.unsorted.assign(
        time_utc=[
            "" if pd.isna(time_utc) else _time_text(time_utc)
            for time_utc in pack.unsorted["time_utc"]
        ]
    )
    lines = (
        [_cell(name, value) for name, value in zip(_UNSORTED, line, strict=True)]
        for line in table[list(_UNSORTED)].itertuples(index=False, name=None)
    )
    return _written(_UNSORTED, lines)


def unrecorded_text(pack: Pack) -> str:
    """``unrecorded.csv``: what was seen and stands in no file, for those who keep the files."""
    lines = ([_cell(name, row[name]) for name in UNRECORDED] for row in unrecorded(pack))
    return _written(UNRECORDED, lines)
