"""Entries and blobs as rows of the store's tables, there and back.

In goes an ``Entry``, out comes its row; in goes a row, out comes the ``Entry``, refused when it is
not what was written.
"""

import datetime as dt
import hashlib
import json
from collections.abc import Iterable, Mapping
from typing import TypeVar

from sqlalchemy import RowMapping

from routeprep.entries import Entry, checked
from routeprep.errors import EntryError, ReadError

__all__ = ["checked_blob", "entry_of", "named_blobs", "row_of", "sha_map"]

_T = TypeVar("_T")

_TEXTS = ("entry_id", "job", "kind", "thing", "body", "parents", "author", "device")
# What of a body names a blob, by kind of entry.
_BLOB_OF = {"settings": "sha256", "file": "sha256", "issue": "pack"}


def _json(value: object) -> str:
    """JSON in one form, so that the same entry is the same row everywhere."""
    return json.dumps(value, sort_keys=True, separators=(",", ":"), allow_nan=False)


def row_of(entry: Entry) -> dict[str, object]:
    """The row of an entry, without its serial."""
    time = None
    if entry.time_utc is not None:
        time = entry.time_utc.astimezone(dt.UTC).isoformat(timespec="milliseconds")
    return {
        "entry_id": entry.entry_id,
        "job": entry.job,
        "kind": entry.kind,
        "thing": entry.thing,
        "body": _json(entry.body),
        "parents": _json(list(entry.parents)),
        "author": entry.author,
        "device": entry.device,
        "counter": entry.counter,
        "time_utc": time,
    }


def _typed(value: object, wanted: type[_T]) -> _T:
    """A value, if it is of the type wanted.

    Raises
    ------
    TypeError
        Naming what it is.
    """
    if type(value) is not wanted:
        msg = f"{value!r:.40} is {type(value).__name__}, expected {wanted.__name__}"
        raise TypeError(msg)
    return value


def _time(value: object) -> dt.datetime | None:
    """When, as ``row_of`` writes it.

    Raises
    ------
    ValueError
        If it is no time in UTC.
    """
    if value is None:
        return None
    time = dt.datetime.fromisoformat(_typed(value, str))
    if time.utcoffset() != dt.timedelta(0):
        msg = f"time {time} is not UTC"
        raise ValueError(msg)
    return time


def _unchecked(held: RowMapping) -> Entry:
    """The entry that a row would be."""
    texts = {name: _typed(held[name], str) for name in _TEXTS}
    parents = _typed(json.loads(texts.pop("parents")), list)
    return Entry(
        body=_typed(json.loads(texts.pop("body")), dict),
        parents=tuple(_typed(one, str) for one in parents),
        counter=_typed(held["counter"], int),
        time_utc=_time(held["time_utc"]),
        **texts,
    )


def entry_of(held: RowMapping) -> Entry:
    """The entry of a row.

    Raises
    ------
    EntryError
        If the row was changed after it was written, or was never an entry.
    """
    try:
        made = _unchecked(held)
    except (TypeError, ValueError, RecursionError) as error:
        msg = f"row {held['serial']} of entries is no entry ({error}); take the last good copy"
        raise EntryError(msg, serial=held["serial"]) from error
    return checked(made)


def named_blobs(entries: Iterable[Entry]) -> dict[str, Entry]:
    """The blobs that entries name, by sha256, each with the first that names it."""
    named: dict[str, Entry] = {}
    for one in entries:
        key = _BLOB_OF.get(one.kind)
        if key is not None and not one.removed:
            named.setdefault(str(one.body[key]), one)
    return named


def checked_blob(sha256: str, content: bytes, *, where: str) -> bytes:
    """The bytes, if they are those that their key says.

    Raises
    ------
    ReadError
        If they are not.
    """
    found = hashlib.sha256(content).hexdigest()
    if found != sha256:
        msg = (
            f"{where}: {len(content):,} bytes under {sha256[:64]!r} have the sha256 {found}: they "
            "were changed or cut off; take them again from where they came"
        )
        raise ReadError(msg, sha256=sha256, found=found)
    return content


def sha_map(blobs: Mapping[str, bytes], *, where: str) -> dict[str, bytes]:
    """All blobs, each checked."""
    return {sha: checked_blob(sha, data, where=where) for sha, data in sorted(blobs.items())}
