"""What a stored job's entries say now.

In go the entries of one job, in any order, out comes ``Current``: its files, decisions, numbers,
remarks and what phones sent.  It is computed each time and stored nowhere.  Where two persons
changed one thing, neither knowing of the other, neither is chosen: a decision is left out, a file
or the job's TOML stays as both had last seen it, and the pair is told.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from routeprep.entries import Entry, heads, in_time
from routeprep.remarks import DayCheck, EditedTwice, Remarks, Review
from routeprep.shapes import Decision, IssuedNumber

__all__ = ["Current", "current_of", "decision_thing"]

_Heads = Mapping[tuple[str, str], tuple[Entry, ...]]

# Kinds of which each entry is a thing of its own, and what a phone sends.
_RECORDED = ("drive", "fixes", "mark")
# How much of a value is shown where it was edited twice [characters].
_SHOWN = 120
# An anchor that is no item's: a number under it is struck through and never used again.
_TWICE = "issued twice: "


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Current:
    """A stored job as its entries have it now.

    Attributes
    ----------
    toml_name, toml_sha256
        The job's TOML; empty while the job has none.
    files
        Name relative to the TOML to sha256, of all input files.
    decisions, numbers
        As ``decisions.csv`` and ``numbers.csv`` would have them; in order of time, and by number.
    remarks
        Reviews, checks, and what was edited twice.
    issues, copies, found, recorded
        Entries of these kinds, in order of time; ``recorded`` are drives, fixes and marks.
    done
        Ids of the items that the crew has ticked off.
    devices
        Hash of a phone's token to its entry, without those that were taken back.
    heads
        The entries that have no child, by kind and thing: what a next entry on the thing names
        as its parents.
    """

    toml_name: str
    toml_sha256: str
    files: Mapping[str, str]
    decisions: tuple[Decision, ...]
    numbers: tuple[IssuedNumber, ...]
    remarks: Remarks
    issues: tuple[Entry, ...]
    copies: tuple[Entry, ...]
    found: tuple[Entry, ...]
    recorded: tuple[Entry, ...]
    done: frozenset[str]
    devices: Mapping[str, Entry]
    heads: _Heads


def current_of(entries: Iterable[Entry]) -> Current:
    """What the entries of one job say now; their order does not matter."""
    once = {one.entry_id: one for one in entries}
    found = heads(once.values())
    agreed = {key: _agreed(several, once) for key, several in found.items()}
    standing = {key: one for key, one in agreed.items() if one is not None and not one.removed}
    toml = standing.get(("settings", "settings"))
    numbers, twice = _numbers(once.values(), found)
    return Current(
        toml_name="" if toml is None else str(toml.body["name"]),
        toml_sha256="" if toml is None else str(toml.body["sha256"]),
        files={one.thing: str(one.body["sha256"]) for one in _of(standing, "file")},
        decisions=_decisions(found),
        numbers=numbers,
        remarks=Remarks(
            reviews=tuple(Review(**_texts(one)) for one in _of(standing, "review")),
            checks=tuple(DayCheck(**_texts(one)) for one in _of(standing, "check")),
            edited_twice=(*_edited_twice(found), *twice),
        ),
        issues=tuple(_each(found, "issue")),
        copies=tuple(_of(standing, "copy")),
        found=tuple(_of(standing, "found")),
        recorded=_recorded(standing),
        done=frozenset(
            thing
            for (kind, thing), several in found.items()
            if kind == "tick" and all(one.body.get("done") is True for one in several)
        ),
        devices={
            thing: several[-1]
            for (kind, thing), several in found.items()
            if kind == "device" and not any(one.removed for one in several)
        },
        heads=found,
    )


def _of(standing: Mapping[tuple[str, str], Entry], kind: str) -> list[Entry]:
    """The standing entries of a kind, in order of time."""
    return sorted((one for (of, _), one in standing.items() if of == kind), key=in_time)


def _recorded(standing: Mapping[tuple[str, str], Entry]) -> tuple[Entry, ...]:
    """What phones sent, in order of time."""
    every = [one for kind in _RECORDED for one in _of(standing, kind)]
    return tuple(sorted(every, key=in_time))


def _each(found: _Heads, kind: str) -> list[Entry]:
    """Every head of a kind that was not taken back, in order of time."""
    every = [one for (of, _), several in found.items() if of == kind for one in several]
    return sorted((one for one in every if not one.removed), key=in_time)


def _texts(entry: Entry) -> dict[str, str]:
    return {name: str(value) for name, value in entry.body.items()}


def _same(several: Sequence[Entry]) -> bool:
    """Whether all heads of a thing say the same; who said it and when does not count."""
    apart = {"by", "when", "why"}
    said = [{name: one.body[name] for name in one.body if name not in apart} for one in several]
    return all(one == said[0] for one in said)


def _ancestors(entry: Entry, once: Mapping[str, Entry]) -> set[str]:
    """Ids of all entries on the thing that the author of one had seen."""
    found: set[str] = set()
    waiting = list(entry.parents)
    while waiting:
        one = waiting.pop()
        known = once.get(one)
        if known is None or one in found:
            continue
        if (known.kind, known.thing) == (entry.kind, entry.thing):
            found.add(one)
            waiting.extend(known.parents)
    return found


def _agreed(several: Sequence[Entry], once: Mapping[str, Entry]) -> Entry | None:
    """The entry that stands: the one head, or of several what all their authors had last seen.

    Where they had seen nothing in common, the earliest: an input is never without a content.
    """
    if _same(several):
        return several[0]
    common = set.intersection(*(_ancestors(one, once) for one in several))
    if common:
        # The last of them is the one that no other of them follows.
        earlier = {parent for one in common for parent in _ancestors(once[one], once)}
        return max((once[one] for one in common - earlier), key=in_time)
    return next((one for one in several if not one.removed), None)


def _decisions(found: _Heads) -> tuple[Decision, ...]:
    """What was decided and is not disputed, in order of time."""
    agreed = [
        several[0] for (kind, _), several in found.items() if kind == "decision" and _same(several)
    ]
    made = sorted((one for one in agreed if not one.removed), key=in_time)
    return tuple(Decision(**_texts(one)) for one in made)


def _numbers(
    entries: Iterable[Entry], found: _Heads
) -> tuple[tuple[IssuedNumber, ...], list[EditedTwice]]:
    """The ledger, each number and each anchor once, and which were issued twice.

    A number stays with the thing that it was given first, whoever knew of it later; what was given
    second keeps no number of its own, and a second number of one thing is struck through and never
    used again.  Who has seen it says so with an entry after both.
    """
    given = sorted(
        (one for one in entries if one.kind == "number"),
        key=lambda one: (bool(one.parents), *in_time(one)),
    )
    open_ids = {one.entry_id for several in found.values() for one in several}
    ledger: dict[str, IssuedNumber] = {}
    of_anchor: dict[str, str] = {}
    twice: list[EditedTwice] = []
    for one in given:
        number = IssuedNumber(**_texts(one))
        before = ledger.get(number.no)
        if before is not None:
            if before.anchor_id != number.anchor_id:
                values = (f"for {before.anchor_id}", f"for {number.anchor_id}")
                twice.append(_pair("number", number.no, values, one))
            continue
        kept = of_anchor.setdefault(number.anchor_id, number.no)
        if kept != number.no:
            twice.append(_pair("number", number.anchor_id, (kept, number.no), one))
            number = IssuedNumber(
                no=number.no,
                anchor_id=f"{_TWICE}{number.no}",
                first_revision=number.first_revision,
            )
        ledger[number.no] = number
    told = [pair for pair in twice if open_ids & set(pair.entry_ids)]
    return tuple(ledger[no] for no in sorted(ledger)), told


def _pair(kind: str, subject: str, values: tuple[str, ...], entry: Entry) -> EditedTwice:
    ids = (entry.entry_id,)
    return EditedTwice(kind=kind, subject=subject, field="", values=values, entry_ids=ids)


def _edited_twice(found: _Heads) -> list[EditedTwice]:
    """What two persons changed apart, by kind and thing; numbers and ticks are told elsewhere."""
    told = []
    for (kind, thing), several in found.items():
        if kind in {"number", "tick"} or _same(several):
            continue
        bodies = [one.body for one in several if not one.removed]
        said = bodies[0] if kind == "decision" and bodies else {}
        told.append(
            EditedTwice(
                kind=kind,
                subject=str(said.get("anchor_id", thing)),
                field=str(said.get("field", "")),
                values=tuple(_shown(one) for one in several),
                entry_ids=tuple(one.entry_id for one in several),
            )
        )
    return told


def _shown(entry: Entry) -> str:
    """What an entry says, with who and when."""
    time = "" if entry.time_utc is None else f"{entry.time_utc:%Y-%m-%d %H:%M} UTC"
    when = str(entry.body.get("when", "")) or time
    said = entry.body.get("value", entry.body.get("sha256", entry.thing))
    text = "taken back" if entry.removed else str(said)[:_SHOWN]
    return f"{text} ({', '.join(part for part in (entry.author, when) if part)})"


def decision_thing(anchor_id: str, field: str, value: str) -> str:
    """What a decision is about: an item's field; of joins each pair is one thing."""
    return f"{anchor_id} join {value}" if field == "join" else f"{anchor_id} {field}"
