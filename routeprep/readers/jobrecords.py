"""What a job says of its owners' files: the ``[[records]]`` tables.

In go the tables, out come the files that each is about, with the columns that it names.  A file
that is named here need not stand under ``[inputs] records`` too.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from routeprep.errors import JobError
from routeprep.kinds import KindTable, nearest
from routeprep.readers.globs import matching, pattern_fault
from routeprep.readers.parts import shown
from routeprep.readers.recordcolumns import Fields
from routeprep.readers.tomltable import TomlTable

__all__ = ["RecordFiles", "fields_by_file", "read_record_tables"]

_KEYS = ("files", "kind_field", "name_field", "owner_field", "kind", "owner")
# Of a field and a value for all rows only one can hold.
_EITHER = (("kind_field", "kind"), ("owner_field", "owner"))


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordFiles:
    """One ``[[records]]`` table: a name or pattern of files, and what is said of them."""

    files: str
    fields: Fields


def _code(table: TomlTable, kinds: KindTable | None) -> str:
    """The code of the kind that all features are; empty where none is said."""
    said = table.text("kind")
    if not said or kinds is None:
        return ""
    found = kinds.find(said)
    code = found.code if found else kinds.understand(said).kind
    if not code:
        names = [kind.name for kind in kinds.kinds.values()]
        table.fault(
            f"kind {shown(said)} is no kind of thing; the nearest is {nearest(said, names)!r}, or "
            "add it with [[kind]]"
        )
    return code


def _one(table: TomlTable, kinds: KindTable | None) -> RecordFiles:
    table.only(*_KEYS)
    files = table.text("files", needed=True)
    wrong = pattern_fault(files) if files else ""
    if wrong:
        table.fault(f"files: {wrong}")
    texts = {key: table.text(key) for key in _KEYS}
    for field, value in _EITHER:
        if texts[field] and texts[value]:
            table.fault(
                f"{field} is {shown(texts[field])} and {value} is {shown(texts[value])}; give the "
                "field that says it or the value for all, not both"
            )
    return RecordFiles(
        files=files,
        fields=Fields(
            kind_field=texts["kind_field"],
            name_field=texts["name_field"],
            owner_field=texts["owner_field"],
            kind=_code(table, kinds),
            owner=texts["owner"],
        ),
    )


def read_record_tables(top: TomlTable, kinds: KindTable | None) -> tuple[RecordFiles, ...]:
    """Read the ``[[records]]`` tables of a job; what is wrong is gathered as faults.

    Parameters
    ----------
    top
        The job file.
    kinds
        The job's kinds; None when they are wrong themselves.
    """
    return tuple(_one(table, kinds) for table in top.tables("records"))


def fields_by_file(
    tables: Sequence[RecordFiles], files: Iterable[str], *, name: str
) -> dict[str, Fields]:
    """What is said of each file that a table is about.

    Parameters
    ----------
    tables
        The job's.
    files
        Names of all files of the job.
    name
        The job file's name, for messages.

    Raises
    ------
    JobError
        If a file is named by two tables.
    """
    known = list(files)
    found: dict[str, Fields] = {}
    for number, table in enumerate(tables, start=1):
        for file in matching(table.files, known):
            if file in found:
                msg = (
                    f"{name}: [[records]] {number}: {table.files!r} fits {file!r}, which a table "
                    "before it names too; let one table say what it holds"
                )
                raise JobError(msg, file=file, pattern=table.files)
            found[file] = table.fields
    return found
