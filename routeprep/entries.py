"""Entries: what was recorded or decided, each written once and never changed.

In goes what somebody said of a thing, out comes an ``Entry`` whose id is made of all that it
holds, so that a copy of it is the same entry.  An entry names its parents, the entries on the
same thing that its author had seen; what has no child is current.
"""

import datetime as dt
import json
import uuid
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from routeprep.errors import EntryError

__all__ = [
    "BODIES",
    "Entry",
    "checked",
    "entry_json",
    "heads",
    "in_time",
    "make_entry",
    "parse_entry",
]

# The namespace of all ids of entries: a random UUID drawn once (RFC 9562, section 6.5).
_NAMESPACE = uuid.UUID("c2a0a8d7-58d4-4c38-8d0f-5a3a8b0f7e11")

_TEXT: tuple[type, ...] = (str,)
_NUMBER: tuple[type, ...] = (int, float)
_UNKNOWN: tuple[type, ...] = (int, float, type(None))

# What the body of each kind of entry holds; a thing that was taken back has the body
# ``{"removed": true}`` whatever its kind.  Times are milliseconds since 1970, UTC; sha256 names
# a blob.
BODIES: Mapping[str, Mapping[str, tuple[type, ...]]] = {
    # The job's TOML; thing: "settings".
    "settings": {"name": _TEXT, "sha256": _TEXT},
    # One input file; thing: its name relative to the TOML, with forward slashes.
    "file": {"sha256": _TEXT},
    # A row of decisions.csv; thing: "ITEM FIELD", for a join "ITEM join OTHER".
    "decision": dict.fromkeys(("anchor_id", "field", "value", "by", "when", "why"), _TEXT),
    # A row of numbers.csv; thing: the number.
    "number": dict.fromkeys(("no", "anchor_id", "first_revision"), _TEXT),
    # As remarks.Review and remarks.DayCheck; thing: one of its own for each.
    "review": dict.fromkeys(("subject", "says", "text", "by", "when", "seal"), _TEXT),
    "check": dict.fromkeys(("subject", "says", "text", "by", "when"), _TEXT),
    # An issued pack; thing: its revision letter.  ``pack`` is the sha256 of its zip.
    "issue": dict.fromkeys(("revision", "seal", "pack", "by", "when"), _TEXT),
    # Who got which copy of an issue; thing: one of its own for each.
    "copy": dict.fromkeys(("revision", "to", "how", "by", "when"), _TEXT),
    # A drive or walk that a phone records; thing: its drive_id.
    "drive": {"drive_id": _TEXT, "name": _TEXT, "by": _TEXT, "walk": (bool,)},
    # Fixes in the order recorded: time_ms, lon_deg, lat_deg, ele_m, accuracy_m, speed_mps,
    # course_deg, None for what is unknown; thing: "DRIVE_ID FIRST_TIME_MS NUMBER".
    "fixes": {"drive_id": _TEXT, "fixes": (list,)},
    # A mark as ``tables.MARKS`` has it, what is not said left empty; thing: its mark_id.
    "mark": {
        **dict.fromkeys(
            ("mark_id", "drive_id", "words", "across", "across_frame", "said_leg", "said_station",
             "said_offset", "size", "height_by", "method", "note", "photo", "clip", "by"),
            _TEXT,
        ),
        "time_ms": _UNKNOWN,
        **dict.fromkeys(("lon_deg", "lat_deg", "accuracy_m", "height_m"), _UNKNOWN),
    },
    # A thing that the crew has ticked off or back on; thing: the item's id.
    "tick": {"anchor_id": _TEXT, "done": (bool,), "by": _TEXT, "when": _TEXT},
    # Found tonight; thing: one of its own for each.  ``no`` is T1, T2 … as painted.
    "found": {
        **dict.fromkeys(("no", "leg", "words", "across", "note", "by", "when"), _TEXT),
        **dict.fromkeys(("along_m", "lon_deg", "lat_deg"), _UNKNOWN),
    },
    # A phone that may send; thing: the token's hash.
    "device": {"name": _TEXT, "role": _TEXT, "until": _TEXT, "by": _TEXT},
}  # fmt: skip

_REMOVED = {"removed": True}
# A note of 10,000 characters passes; a day of fixes comes in several entries [characters].
_BODY_MOST = 1_000_000
# PostgreSQL indexes what has a third of a page of 8 kB at most (its manual, 11.2); a character
# has up to four bytes.
_NAME_MOST = 200
# What a 64-bit column holds.
_COUNTER_MOST = 2**63 - 1
# Unicode's characters begin with 32 that are none to print.
_FIRST_PRINTED = 32
# What is never taken back: the paper with it is out.
_KEPT = frozenset({"number", "issue"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One thing that was said, once.

    Attributes
    ----------
    entry_id
        UUID made of all the rest.
    job
        The stored job's name.
    kind, thing
        What it is about: a key of ``BODIES`` and, within it, which.
    body
        What was said, as JSON.
    parents
        Ids of the entries on the same thing that its author had seen, sorted.
    author
        Who.
    device, counter
        What it was written on, and its number there: no two entries of a job share both.
    time_utc
        When, by the device's clock; None where a file does not say.
    """

    entry_id: str
    job: str
    kind: str
    thing: str
    body: Mapping[str, object]
    parents: tuple[str, ...]
    author: str
    device: str
    counter: int
    time_utc: dt.datetime | None

    @property
    def removed(self) -> bool:
        """Whether it takes its thing back."""
        return self.body == _REMOVED


def _text(entry: Entry) -> str:
    """All of an entry but its id, one text for the same entry everywhere."""
    time = None
    if entry.time_utc is not None:
        time = entry.time_utc.astimezone(dt.UTC).isoformat(timespec="milliseconds")
    values = {
        "job": entry.job,
        "kind": entry.kind,
        "thing": entry.thing,
        "body": entry.body,
        "parents": list(entry.parents),
        "author": entry.author,
        "device": entry.device,
        "counter": entry.counter,
        "time": time,
    }
    return json.dumps(values, sort_keys=True, separators=(",", ":"), allow_nan=False)


def _unpaired(text: str) -> bool:
    """Whether half a character is in a text: a cut-off emoji can be neither kept nor printed."""
    return text != text.encode(errors="replace").decode()


def _names_fault(entry: Entry) -> str:
    """What is wrong with what an entry is called and counted by; empty when nothing is."""
    if not (entry.job and entry.thing and entry.device):
        return "job, thing and device must be named"
    if not 0 <= entry.counter <= _COUNTER_MOST:
        return f"counter is {entry.counter}, expected 0 to {_COUNTER_MOST}"
    if max(len(entry.job), len(entry.device)) > _NAME_MOST:
        return f"job and device may have {_NAME_MOST} characters at most"
    for text in (entry.job, entry.thing, entry.author, entry.device, *entry.parents):
        if "\0" in text or _unpaired(text):
            return f"{text[:40]!r} holds what is no character; leave that out"
    if entry.time_utc is not None and entry.time_utc.tzinfo is None:
        return f"time {entry.time_utc} names no zone"
    return ""


def _file_fault(name: str) -> str:
    """Why a file's name could lead out of the job's folder; empty when it cannot."""
    parts = name.split("/")
    odd = "\\" in name or name[1:2] == ":" or any(ord(one) < _FIRST_PRINTED for one in name)
    if odd or {"", ".", ".."} & set(parts):
        return f"{name[:60]!r} is no plain file name; write it relative to the job, as drives/a.gpx"
    return ""


def _body_fault(entry: Entry) -> str:
    """What is wrong with what an entry says; empty when nothing is."""
    held = BODIES[entry.kind]
    if set(entry.body) != set(held):
        return f"body has {sorted(entry.body)}, expected {sorted(held)}"
    for name, types in held.items():
        value = entry.body[name]
        # JSON's true is a number to Python.
        if not isinstance(value, types) or (isinstance(value, bool) and bool not in types):
            wanted = " or ".join(one.__name__ for one in types)
            return f"{name} is {str(value)[:40]!r}, expected {wanted}"
    return _file_fault(str(entry.body["name"])) if entry.kind == "settings" else ""


def _fault(entry: Entry) -> str:
    """What is wrong with an entry; empty when nothing is."""
    if entry.kind not in BODIES:
        return f"kind {entry.kind!r} is not one of {', '.join(BODIES)}"
    fault = _names_fault(entry) or (_file_fault(entry.thing) if entry.kind == "file" else "")
    if not fault and entry.removed and entry.kind in _KEPT:
        return f"a {entry.kind} stands for good: what was issued is never taken back"
    return fault or ("" if entry.removed else _body_fault(entry))


def checked(entry: Entry) -> Entry:
    """The entry, if its kind, body and id are as they must be.

    Raises
    ------
    EntryError
        Naming what is wrong.
    """
    fault = _fault(entry)
    try:
        text = _text(entry)
        # Looked for where there can be one, since a batch of fixes is long.
        if "\\ud" in text and _unpaired(json.dumps(entry.body, ensure_ascii=False)):
            fault = fault or "body holds half a character; leave that out"
    except (TypeError, ValueError, RecursionError) as error:
        fault, text = fault or f"body is no JSON ({error})", ""
    if not fault and len(text) > _BODY_MOST:
        fault = f"has {len(text):,} characters, {_BODY_MOST:,} at most; send it in parts"
    if not fault and entry.entry_id != str(uuid.uuid5(_NAMESPACE, text)):
        fault = "its id is not made of what it says: it was changed"
    if fault:
        msg = f"entry {entry.entry_id} ({entry.kind} {entry.thing[:60]!r}): {fault}"
        raise EntryError(msg, entry=entry.entry_id, kind=entry.kind)
    return entry


def make_entry(  # noqa: PLR0913 - an entry is all of these
    *,
    job: str,
    kind: str,
    thing: str,
    body: Mapping[str, object] | None,
    author: str,
    device: str,
    counter: int,
    time_utc: dt.datetime | None,
    parents: Iterable[str] = (),
) -> Entry:
    """Make an entry and check it.

    Parameters
    ----------
    job, kind, thing, author, device, counter, parents
        As ``Entry`` has them; parents in any order.
    body
        As ``BODIES`` declares; None takes the thing back.
    time_utc
        When, cut to whole milliseconds.

    Raises
    ------
    EntryError
        If the kind is not known, or the body is not as it is declared.
    """
    if time_utc is not None:
        cut_us = time_utc.microsecond // 1000 * 1000
        time_utc = time_utc.astimezone(dt.UTC).replace(microsecond=cut_us)
    unnamed = Entry(
        entry_id="", job=job, kind=kind, thing=thing,
        body=dict(_REMOVED if body is None else body), parents=tuple(sorted(set(parents))),
        author=author, device=device, counter=counter, time_utc=time_utc,
    )  # fmt: skip
    try:
        text = _text(unnamed)
    except (TypeError, ValueError, RecursionError) as error:
        msg = f"{kind} {thing[:60]!r}: body is no JSON ({error}); give texts, numbers and lists"
        raise EntryError(msg, kind=kind) from error
    made = {name: getattr(unnamed, name) for name in Entry.__slots__}
    return checked(Entry(**made | {"entry_id": str(uuid.uuid5(_NAMESPACE, text))}))


def entry_json(entry: Entry) -> str:
    """The entry as one line of JSON, without its id: the same entry gives the same text."""
    return _text(entry)


def parse_entry(text: str) -> Entry:
    """An entry from ``entry_json``.

    Raises
    ------
    EntryError
        If it is none.
    """
    try:
        values = json.loads(text)
        time = values["time"]
        return make_entry(
            time_utc=None if time is None else dt.datetime.fromisoformat(time),
            **{name: values[name] for name in values if name != "time"},
        )
    except (ValueError, TypeError, KeyError, RecursionError) as error:
        msg = f"{text[:60]!r} is no entry ({error}); take the file as it was written"
        raise EntryError(msg, text=text[:60]) from error


def heads(entries: Iterable[Entry]) -> dict[tuple[str, str], tuple[Entry, ...]]:
    """What is current of each thing, by kind and thing: the entries that have no child.

    Parameters
    ----------
    entries
        Of one job, in any order; the answer does not depend on it.

    Returns
    -------
    dict
        More than one head: the thing was edited twice, by persons who had not seen each other's
        entry.  Heads are ordered as ``in_time`` says; things by kind, then thing.
    """
    once = {one.entry_id: one for one in entries}
    # Of another thing an entry is no parent: who may write ticks does not take back decisions.
    seen = {(one.kind, one.thing, parent) for one in once.values() for parent in one.parents}
    found: dict[tuple[str, str], list[Entry]] = {}
    for one in once.values():
        if (one.kind, one.thing, one.entry_id) not in seen:
            found.setdefault((one.kind, one.thing), []).append(one)
    return {key: tuple(sorted(found[key], key=in_time)) for key in sorted(found)}


def in_time(entry: Entry) -> tuple[dt.datetime, int, str, str]:
    """Sort key of entries: by time, those without one first, then as their device counted them.

    What one device writes within a millisecond, or one file says of one day, stays in its order;
    of several devices the name decides, so that the order is the same everywhere.
    """
    time_utc = entry.time_utc or dt.datetime.min.replace(tzinfo=dt.UTC)
    return time_utc, entry.counter, entry.device, entry.entry_id
