"""The list as it was last issued, from the folder of that pack.

In go the job's files and the folder's name, out comes ``Issued``: the revision letter from its
``report.json`` and the rows of its ``obstructions.csv``.
"""

import json
import math
from collections.abc import Mapping

from routeprep import tables
from routeprep.errors import JobError
from routeprep.readers.csvtext import Sheet, read_sheet
from routeprep.readers.globs import pattern_fault
from routeprep.readers.parts import shown
from routeprep.shapes import Issued

__all__ = ["FILES", "read_issued"]

# What of a pack is read again.
FILES = ("obstructions.csv", "report.json")

# What a cell may start with that a spreadsheet would run; such a cell was guarded by an
# apostrophe when it was written.
_GUARDED = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")


def _missing(files: Mapping[str, bytes], folder: str) -> str:
    """What keeps the folder from being read; empty when nothing does."""
    wrong = pattern_fault(folder)
    if wrong:
        return wrong
    lacking = [name for name in FILES if f"{folder}/{name}" not in files]
    is_are = "is" if len(lacking) == 1 else "are"
    return f"{' and '.join(lacking)} {is_are} not there" if lacking else ""


def _report(data: bytes, name: str) -> tuple[str, int]:
    """The revision letter and the number of things that a pack's report says.

    Raises
    ------
    JobError
        If it is no report of a pack.
    """
    try:
        report = json.loads(data)
        revision, count = report["job"]["revision"], report["counts"]["obstructions"]["all"]
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        msg = (
            f"{name}: is no report of a pack ({shown(data[:20])}); put the issued pack there whole"
        )
        raise JobError(msg, file=name) from error
    return str(revision), count if isinstance(count, int) else -1


def _plain(cell: str) -> str:
    """A text without the apostrophe that guards it."""
    return cell[1:] if cell.startswith("'") and cell[1:].startswith(_GUARDED) else cell


def _number(cell: str) -> float:
    """A number of the list, NaN for anything else."""
    try:
        value = float(cell)
    except ValueError:
        return math.nan
    return value if math.isfinite(value) else math.nan


def _rows(sheet: Sheet, name: str) -> list[dict[str, object]]:
    """The rows of an issued list.

    Raises
    ------
    JobError
        If columns, numbers, anchors or places are missing, or a row has more cells.
    """
    at = {column: place for place, column in enumerate(sheet.header)}
    lacking = [column.name for column in tables.ISSUED if column.name not in at]
    if lacking:
        msg = f"{name}: lacks columns {', '.join(lacking)}; put the issued pack there as it was"
        raise JobError(msg, file=name, columns=lacking)
    rows, bad = [], []
    for number, cells in sheet.rows:
        row: dict[str, object] = {
            one.name: _number(cells[at[one.name]])
            if one.holds == "number"
            else _plain(cells[at[one.name]])
            for one in tables.ISSUED
        }
        rows.append(row)
        needed = [row[one.name] for one in tables.ISSUED if one.needed]
        # NaN is the one number that is not itself.
        if len(cells) != len(sheet.header) or any(cell == "" or cell != cell for cell in needed):  # noqa: PLR0124
            bad.append(str(number))
    if bad:
        msg = f"{name}: rows {', '.join(bad)} are not as a pack has them; take the file as issued"
        raise JobError(msg, file=name, rows=bad)
    return rows


def read_issued(files: Mapping[str, bytes], *, folder: str) -> Issued:
    """Read the list of the pack that was issued last.

    Parameters
    ----------
    files
        The job's files by name.
    folder
        The pack's folder, as the job names it.

    Raises
    ------
    JobError
        If the folder is not there, or its list or report is not as a pack has them.
    """
    missing = _missing(files, folder)
    if missing:
        msg = (
            f"[inputs] issued = {folder!r}: {missing}; name the folder of the pack that was issued "
            "last, or take the line out for a first issue"
        )
        raise JobError(msg, issued=folder)
    table, report = (f"{folder}/{name}" for name in FILES)
    revision, count = _report(files[report], report)
    rows = _rows(read_sheet(files[table], name=table), table)
    if len(rows) != count:
        msg = (
            f"{table}: has {len(rows)} things and {report} says {count}; one of the two was "
            "changed, so put the issued pack there as it was"
        )
        raise JobError(msg, file=table, rows=len(rows), said=count)
    return Issued(revision=revision, rows=tables.table(tables.ISSUED, rows))
