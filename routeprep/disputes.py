"""What two persons changed, neither knowing of the other: in go the list and what was edited twice.

Out come rows that say both, and NOT DECIDED: STOP where it is the action that is disputed; nothing
is chosen in silence.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from routeprep.correcting import with_doubts
from routeprep.deciding import NOT_DECIDED
from routeprep.remarks import EditedTwice
from routeprep.shapes import Finding

__all__ = ["Disputed", "disputed"]

_PER_KIND = "kind:"
_ACTION = "action"


@dataclass(frozen=True, slots=True, kw_only=True)
class Disputed:
    """The list with what was edited twice on it.

    Attributes
    ----------
    rows
        In their order.
    names
        What was edited twice, once each: numbers of things, else what it is called.
    findings
        One for each, with both values.
    """

    rows: list[dict[str, Any]]
    names: tuple[str, ...]
    findings: tuple[Finding, ...]


def _text(one: EditedTwice) -> str:
    """What each said: "action LIFT (ANA) or STOP (BEN)"."""
    return f"{one.field or one.kind} {' or '.join(one.values)}"


def _places(rows: Sequence[Mapping[str, Any]]) -> dict[str, list[int]]:
    """What a dispute can be about, each with the places of its rows on the list."""
    found: dict[str, list[int]] = {}
    for at, row in enumerate(rows):
        own = {row["anchor_id"], row["no"], *row["mark_ids"], *row["record_ids"]} - {""}
        for subject in (*own, f"{_PER_KIND}{row['kind']}"):
            found.setdefault(str(subject), []).append(at)
    return found


def _row(row: dict[str, Any], about: Sequence[EditedTwice]) -> dict[str, Any]:
    """A row with what was edited twice of it."""
    open_ = any(one.field == _ACTION for one in about)
    said = [f"edited twice: {_text(one)}" for one in about]
    made = row | {"doubt": with_doubts(row, *said)}
    return made | {"action": NOT_DECIDED, "decided_by": ""} if open_ else made


def disputed(rows: Sequence[dict[str, Any]], edited_twice: Sequence[EditedTwice]) -> Disputed:
    """Say on the rows of the list what was edited twice.

    Parameters
    ----------
    rows
        Of ``tables.OBSTRUCTIONS``, with their numbers.
    edited_twice
        As the remarks have it.
    """
    if not edited_twice:
        return Disputed(rows=list(rows), names=(), findings=())
    places = _places(rows)
    about: dict[int, list[EditedTwice]] = {}
    names: dict[str, None] = {}
    findings = []
    for one in edited_twice:
        at = places.get(one.subject, [])
        for place in at:
            about.setdefault(place, []).append(one)
        alone = len(at) == 1 and not one.subject.startswith(_PER_KIND)
        name = str(rows[at[0]]["no"]) if alone else one.subject
        names[name] = None
        text = f"edited twice, neither knowing of the other: {_text(one)}; look at both, and decide"
        findings.append(Finding(level="doubt", where=name, text=text))
    return Disputed(
        rows=[_row(row, about[at]) if at in about else row for at, row in enumerate(rows)],
        names=tuple(names),
        findings=tuple(findings),
    )
