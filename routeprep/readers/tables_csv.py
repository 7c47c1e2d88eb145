"""The two small tables beside a job: what was decided, and which numbers were issued.

In go bytes with columns exactly as the contract has them, out come ``Decision`` and
``IssuedNumber``; what is wrong is said for all rows at once.
"""

import datetime as dt
from collections.abc import Sequence
from dataclasses import fields

from routeprep.errors import JobError
from routeprep.readers.csvtext import read_sheet
from routeprep.readers.parts import shown
from routeprep.shapes import Decision, IssuedNumber

__all__ = ["read_decisions", "read_numbers"]

_Row = tuple[int, dict[str, str]]


def _rows(data: bytes, *, name: str, columns: Sequence[str]) -> list[_Row]:
    """Numbered rows of a table with exactly these columns.

    Raises
    ------
    JobError
        If the columns are others, or a row has more cells.
    """
    sheet = read_sheet(data, name=name)
    if list(sheet.header) != list(columns):
        msg = f"{name}: has columns {', '.join(sheet.header)}; expected {', '.join(columns)}"
        raise JobError(msg, file=name, columns=sheet.header)
    wide = [str(number) for number, cells in sheet.rows if len(cells) > len(columns)]
    if wide:
        msg = f"{name}: rows {', '.join(wide)} have more than {len(columns)} cells; mend them"
        raise JobError(msg, file=name, rows=wide)
    return [(number, dict(zip(columns, cells, strict=True))) for number, cells in sheet.rows]


def _refuse(name: str, faults: Sequence[str]) -> None:
    """Say all that is wrong with a table.

    Raises
    ------
    JobError
        If anything is.
    """
    if faults:
        msg = f"{name}: {'; '.join(faults)}; mend the table"
        raise JobError(msg, file=name, faults=tuple(faults))


def _empty(rows: Sequence[_Row], needed: Sequence[str]) -> list[str]:
    return [
        f"row {number} has no {column}"
        for number, row in rows
        for column in needed
        if not row[column]
    ]


def _twice(rows: Sequence[_Row], column: str) -> list[str]:
    places: dict[str, list[str]] = {}
    for number, row in rows:
        places.setdefault(row[column], []).append(str(number))
    return [
        f"{column} {value} stands in rows {', '.join(at)}"
        for value, at in places.items()
        if value and len(at) > 1
    ]


def _is_date(text: str) -> bool:
    try:
        dt.datetime.fromisoformat(text)
    except ValueError:
        return False
    return "-" in text


def read_decisions(data: bytes, *, name: str) -> tuple[Decision, ...]:
    """Read ``decisions.csv``.

    Parameters
    ----------
    data
        The table.
    name
        Its name, for messages.
    """
    columns = [field.name for field in fields(Decision)]
    rows = _rows(data, name=name, columns=columns)
    undated = [
        f"row {number}: when is {shown(row['when'])}, expected a date such as 2026-06-01"
        for number, row in rows
        if row["when"] and not _is_date(row["when"])
    ]
    _refuse(name, _empty(rows, ("anchor_id", "field", "by", "when")) + undated)
    return tuple(Decision(**row) for _, row in rows)


def read_numbers(data: bytes, *, name: str) -> tuple[IssuedNumber, ...]:
    """Read ``numbers.csv``.

    Parameters
    ----------
    data
        The table.
    name
        Its name, for messages.
    """
    columns = [field.name for field in fields(IssuedNumber)]
    rows = _rows(data, name=name, columns=columns)
    _refuse(name, _empty(rows, columns) + _twice(rows, "no") + _twice(rows, "anchor_id"))
    return tuple(IssuedNumber(**row) for _, row in rows)
