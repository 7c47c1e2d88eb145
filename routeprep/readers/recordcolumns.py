"""Which columns of an owner's file say kind, name and owner: as the job says, or guessed.

In go the rows of a file and what the job says of it, out come kind, name and owner of each row
and the sentence that tells where they come from.  Guesses are made from the file's first rows,
wherever they lie, so that they stay the same when a further drive widens what is read.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import PurePosixPath

import pandas as pd

from routeprep.errors import ReadError
from routeprep.kinds import KindTable
from routeprep.readers.csvtext import plain
from routeprep.readers.parts import shown

__all__ = ["Fields", "RecordColumns", "record_columns"]

# Words in the names of columns that hold a kind, an owner, or the owner's own name of a thing, in
# the order in which they are trusted; common practice of city files, no source.
_KIND = ("kind", "type", "class", "asset", "feature", "description", "name")
_OWNER = ("owner", "agency", "jurisdiction")
_NAME = ("name", "id", "number", "no", "label")

# Numbers that a database gives a row change with each export, and name nothing.
_ROW_IDS = ("objectid", "object_id", "globalid", "global_id", "fid", "ogc_fid", "gid", "street_id")

# Letters of the shortest text in a file's name that can say a kind.
_SHORTEST = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Fields:
    """What the job says of a file of records; empty where it says nothing.

    Attributes
    ----------
    kind_field, name_field, owner_field
        Columns.
    kind
        Code of the kind that all are.
    owner
        Whose all are.
    """

    kind_field: str = ""
    name_field: str = ""
    owner_field: str = ""
    kind: str = ""
    owner: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordColumns:
    """What each row of a file is.

    Attributes
    ----------
    codes, names, owners
        Of each row; empty where nothing says it.
    said_kinds
        What the file says for the kind of each row, understood or not.
    told
        Where kind, name and owner come from, one clause.
    """

    codes: tuple[str, ...]
    names: tuple[str, ...]
    owners: tuple[str, ...]
    said_kinds: tuple[str, ...]
    told: str


def _text(value: object) -> str:
    """A value as text, empty where there is none; the number 83.0 is 83."""
    if value is None or value != value:  # noqa: PLR0124 - NaN
        return ""
    whole = isinstance(value, float) and value.is_integer()
    return f"{value:.0f}" if whole else " ".join(str(value).split())


def _texts(frame: pd.DataFrame, column: str) -> tuple[str, ...]:
    return tuple(map(_text, frame[column].tolist())) if column else ("",) * len(frame)


def _columns_with(frame: pd.DataFrame, words: Sequence[str]) -> list[str]:
    """Columns whose names have one of the words, by the order of the words."""
    ranked = []
    for place, column in enumerate(map(str, frame.columns)):
        said = plain(column)
        ranks = [rank for rank, word in enumerate(words) if word in said.split("_")]
        if ranks and said not in _ROW_IDS:
            ranked.append((ranks[0], place, column))
    return [column for _, _, column in sorted(ranked)]


def _codes(texts: Sequence[str], kinds: KindTable) -> tuple[str, ...]:
    """The kind that each text says, empty where none."""
    known = {"": ""}
    for text in set(texts) - {""}:
        found = kinds.find(text)
        known[text] = found.code if found else kinds.understand(text).kind
    return tuple(known[text] for text in texts)


def _code_of_file(name: str, kinds: KindTable) -> str:
    """The kind that a file's name says: its longest run of words that is one, the last of equals.

    A single short word is an abbreviation of something else more often than a code ("st").
    """
    words = plain(PurePosixPath(name).stem).split("_")
    singular = [word.removesuffix("s") for word in words]
    runs = [
        (size, start)
        for size in range(len(words), 0, -1)
        for start in range(len(words) - size, -1, -1)
    ]
    for size, start in runs:
        for said in (words, singular):
            text = " ".join(said[start : start + size])
            found = kinds.find(text) if len(text) >= _SHORTEST else None
            if found:
                return found.code
    return ""


def _named(sample: pd.DataFrame, wanted: str, *, key: str, name: str) -> str:
    """The column that the job names, whatever its case.

    Raises
    ------
    ReadError
        If the file has none of that name, with those it has and an example of each.
    """
    columns = [str(column) for column in sample.columns]
    if wanted in columns:
        return wanted
    like = [column for column in columns if plain(column) == plain(wanted)]
    if len(like) == 1:
        return like[0]
    told = [f"{column} ({_example(sample, column)})" for column in columns]
    msg = (
        f"{name}: has no field {wanted!r}, which [[records]] names as {key}; its fields are "
        f"{', '.join(told) or 'none'}"
    )
    raise ReadError(msg, file=name, field=wanted, fields=columns)


def _example(sample: pd.DataFrame, column: str) -> str:
    return next((shown(text) for text in _texts(sample, column) if text), "empty")


def _guessed_kind(sample: pd.DataFrame, kinds: KindTable) -> str:
    """The column with most values that are understood as kinds; empty where none has any."""
    best, most = "", 0
    for column in _columns_with(sample, _KIND):
        hits = sum(map(bool, _codes(_texts(sample, column), kinds)))
        if hits > most:
            best, most = column, hits
    return best


def _clause(what: str, column: str, *, given: bool, constant: str) -> str:
    """Where one thing comes from, in words."""
    if constant:
        return f"{what} {constant} for all (as the job says)"
    if not column:
        return f"{what} from none"
    return f"{what} from {column!r} ({'as the job says' if given else 'guessed'})"


def _chosen(sample: pd.DataFrame, fields: Fields, *, name: str, kinds: KindTable) -> list[str]:
    """Columns of kind, name and owner, empty for none."""
    keys = ("kind_field", "name_field", "owner_field")
    given = {
        key: _named(sample, wanted, key=key, name=name)
        for key in keys
        if (wanted := getattr(fields, key))
    }
    kind = given.get("kind_field", "")
    if not (kind or fields.kind):
        kind = _guessed_kind(sample, kinds)
    owner = given.get("owner_field", "")
    owners = _columns_with(sample, _OWNER)
    if not (owner or fields.owner):
        owner = owners[0] if owners else ""
    taken = (kind, owner, *owners)
    names = [one for one in _columns_with(sample, _NAME) if one not in taken]
    return [kind, given.get("name_field") or (names[0] if names else ""), owner]


def record_columns(
    frame: pd.DataFrame, sample: pd.DataFrame, fields: Fields, *, name: str, kinds: KindTable
) -> RecordColumns:
    """Say what each row of a file is.

    Parameters
    ----------
    frame
        The rows.
    sample
        The file's first rows, for guesses.
    fields
        What the job says of the file.
    name
        The file's name; "city-hydrants.geojson" says a kind where no column does.
    kinds
        To find the kind of each.

    Raises
    ------
    ReadError
        If the file has no column that the job names.
    """
    kind, called, owner = _chosen(sample, fields, name=name, kinds=kinds)
    from_file = "" if fields.kind else _code_of_file(name, kinds)
    said = _texts(frame, kind)
    codes = tuple(
        fields.kind or code or (from_file if not text else "")
        for code, text in zip(_codes(said, kinds), said, strict=True)
    )
    told = (
        f"kind {from_file} from the file's name"
        if from_file and not kind
        else _clause("kind", kind, given=bool(fields.kind_field), constant=fields.kind),
        _clause("name", called, given=bool(fields.name_field), constant=""),
        _clause("owner", owner, given=bool(fields.owner_field), constant=fields.owner),
    )
    return RecordColumns(
        codes=codes,
        names=_texts(frame, called),
        owners=(fields.owner,) * len(frame) if fields.owner else _texts(frame, owner),
        said_kinds=said,
        told=", ".join(told),
    )
