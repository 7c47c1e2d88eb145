"""What named persons decided, put on the list; what nobody decided reads STOP.

In go rows of obstructions and the decisions, out come the rows with action, proposal, status and
who decided.  The kinds table only proposes.  A decision hangs on any item of a thing's evidence,
or on ``kind:CODE`` for all things of a kind; ``decided`` says which of several counts.  Joins add
up until a later split.
"""

import re
from collections.abc import Mapping, Sequence
from typing import Any

from routeprep.concluding import care_of, careful, deep_enough
from routeprep.correcting import CORRECTIONS, correction_fault, with_doubts
from routeprep.decided import Ranked, held, latest, ranked, stamp
from routeprep.errors import JobError
from routeprep.kinds import ACTIONS, KindTable, Proposal
from routeprep.shapes import Decision, Finding

__all__ = [
    "NOTHING",
    "NOT_DECIDED",
    "check_decisions",
    "decide",
    "joins",
    "loose",
    "sorted_kinds",
    "splits",
]

# What a decision can be about.
_FIELDS = ("kind", "join", "split", "status", "action", "size", "note", *CORRECTIONS)
# What of that is put on rows here.
_DECIDED = ("kind", "status", "action", "size", "note")
# The kind of words that stand for no thing at all.
NOTHING = "nothing"
# What every row reads until a named person has decided.
NOT_DECIDED = "NOT DECIDED: STOP"
_GONE = "GONE"
_AS_PROPOSED = "as proposed"
# Why what was decided for a whole kind does not hold for a thing that may be another.
_BY_ITSELF = "kind not sure: decide this one by itself"

_STATUS = re.compile(r"^(walked|walked, not found|gone|lowered \d+(\.\d+)? ?(in|mm|cm))$")
_PER_KIND = "kind:"
_MILL_OVER = "MILL OVER"
_CUT_THROUGH = "CUT THROUGH"
_IRON = "iron in the road"
# An action, then nothing or more words: "LOOKS" is none of them.
_ACTION = re.compile(rf"({'|'.join(ACTIONS)})\b")
# When it was decided, so that text in order is time in order; empty counts as the earliest.
_WHEN = re.compile(r"^(\d{4}-\d\d-\d\d([T ].*)?)?$")


def check_decisions(decisions: Sequence[Decision], *, kinds: KindTable) -> None:
    """Refuse decisions that cannot be carried out, all of them in one error.

    Parameters
    ----------
    decisions
        In the order of the file.
    kinds
        The job's kinds.

    Raises
    ------
    JobError
        Naming each row with a field, value or name that is not known.
    """
    faults = []
    for row, one in enumerate(decisions, start=1):
        fault = _fault(one, kinds)
        if fault:
            faults.append(f"decision {row} ({one.anchor_id}): {fault}")
    if faults:
        raise JobError("; ".join(faults), faults=faults)


def _fault(one: Decision, kinds: KindTable) -> str:
    """What is wrong with a decision; empty when nothing is."""
    if one.field not in _FIELDS:
        return f"field {one.field!r} is not one of {_FIELDS}"
    if not one.by:
        return f"{one.field} was decided by nobody; name the person in column by"
    if not _WHEN.match(one.when):
        return f"when is {one.when!r}; write the date like 2026-05-20"
    if one.anchor_id.startswith(_PER_KIND):
        code = one.anchor_id.removeprefix(_PER_KIND)
        if one.field != "action" or code not in kinds.kinds:
            return f"for a whole kind only action can be decided, and {code!r} must be a kind"
    return _value_fault(one, kinds)


def _value_fault(one: Decision, kinds: KindTable) -> str:
    value = one.value
    if one.field in CORRECTIONS:
        return correction_fault(one.field, value)
    if one.field == "join" and value in ("", one.anchor_id):
        return f"join with {value!r}; name the id of another mark or record"
    if one.field == "kind" and value != NOTHING and kinds.find(value) is None:
        return f"{value!r} is not a kind of this job, nor {NOTHING!r}"
    if one.field == "status" and not _STATUS.match(value):
        return (
            f"status {value!r} is not one of 'walked', 'walked, not found', 'gone', 'lowered 4 in'"
        )
    if one.field == "action" and value != _AS_PROPOSED and not _ACTION.match(value):
        return f"action {value!r} does not start with one of {ACTIONS} nor is {_AS_PROPOSED!r}"
    return ""


def sorted_kinds(decisions: Sequence[Decision], kinds: KindTable) -> dict[str, str]:
    """Item id to the kind code a person gave it; ``NOTHING`` for what is no thing."""
    made = {}
    for anchor_id, (_, one) in latest(decisions, "kind").items():
        found = kinds.find(one.value)
        made[anchor_id] = found.code if found is not None else NOTHING
    return made


def joins(decisions: Sequence[Decision]) -> tuple[tuple[str, str], ...]:
    """Pairs of item ids that a person decided are one thing, unless one was split off later."""
    parted = latest(decisions, "split")
    pairs = {
        (one.anchor_id, one.value)
        for rank, one in ranked(decisions, "join")
        if all(rank > parted.get(item, (-1, one))[0] for item in (one.anchor_id, one.value))
    }
    return tuple(sorted(pairs))


def splits(decisions: Sequence[Decision]) -> frozenset[str]:
    """Item ids that a person decided stand alone."""
    return frozenset(latest(decisions, "split"))


def loose(decisions: Sequence[Decision], legs: Mapping[str, str]) -> tuple[Finding, ...]:
    """Say which decisions hang on nothing, or join what cannot be one row.

    Parameters
    ----------
    decisions
        Checked decisions.
    legs
        Id of every mark and record to the code of its leg; empty for those on none.
    """
    texts = [_loose(one, legs) for one in decisions]
    return tuple(
        Finding(level="doubt", where=f"decision {row} ({one.anchor_id})", text=text)
        for row, (one, text) in enumerate(zip(decisions, texts, strict=True), start=1)
        if text
    )


def _loose(one: Decision, legs: Mapping[str, str]) -> str:
    """Why a decision cannot be carried out as things are; empty when it can."""
    if one.anchor_id.startswith(_PER_KIND):
        return ""
    items = (one.anchor_id, one.value) if one.field == "join" else (one.anchor_id,)
    for item in items:
        if item not in legs:
            return (
                f"{one.field} {one.value!r} by {stamp(one)} changes nothing: no mark or record "
                f"has the id {item}; take the row out, or mend the id"
            )
    codes = [legs[item] for item in items]
    if codes[0] != codes[-1] or (one.field == "join" and not codes[0]):
        shown = " and ".join(f"leg {code}" if code else "no leg" for code in codes)
        return f"join with {one.value} changes nothing: they lie on {shown}, each with its own list"
    return ""


def decide(
    rows: Sequence[Mapping[str, Any]],
    decisions: Sequence[Decision],
    *,
    kinds: KindTable,
    depths_m: Sequence[float],
) -> list[dict[str, Any]]:
    """Put decisions on rows of obstructions; of corrections see ``correcting``.

    Parameters
    ----------
    rows
        As ``concluding.conclude`` makes them, with corrections.
    decisions
        Checked decisions.
    kinds
        The job's kinds.
    depths_m
        For each row the deepest cut there [m], NaN when not known.
    """
    by_field = {field: latest(decisions, field) for field in _DECIDED}
    return [
        _decided(dict(row), by_field, kinds, depth_m)
        for row, depth_m in zip(rows, depths_m, strict=True)
    ]


def _decided(
    row: dict[str, Any],
    by_field: Mapping[str, Mapping[str, Ranked]],
    kinds: KindTable,
    depth_m: float,
) -> dict[str, Any]:
    ids = (str(row["anchor_id"]), *row["mark_ids"], *row["record_ids"])
    called = row.pop("called", ())
    named = _rename(row, held(by_field["kind"], ids), called, kinds)
    codes = list(dict.fromkeys([str(row["kind"]), *(() if named else called)]))
    for field in ("size", "note"):
        said = held(by_field[field], ids)
        if said is not None:
            row[field] = said.value
    status = held(by_field["status"], ids)
    if status is not None:
        row["status"] = f"{status.value} ({stamp(status)})"
    proposal = careful(codes, kinds, depth_m=depth_m)
    row["proposed"], row["who"] = proposal.action, proposal.who
    action = held(by_field["action"], ids)
    action = action or _for_kind(row, by_field["action"], proposal, sure=len(codes) == 1)
    iron = any(kinds.kinds[code].group == _IRON for code in codes)
    _act(row, action, status, proposal, depth_m, iron=iron)
    return row


def _rename(
    row: dict[str, Any], one: Decision | None, called: Sequence[str], kinds: KindTable
) -> bool:
    """Give a thing the kind that a person decided, and say whether that settles what it is.

    It does when it was decided for the thing by its anchor; for another mark of its evidence it
    may be no more than what that mark's words meant.
    """
    found = kinds.find(one.value) if one is not None else None
    if one is None or found is None:
        return False
    row["kind"], row["name"] = found.code, found.name
    if one.anchor_id != row["anchor_id"]:
        return False
    settled = tuple(f"called {kinds.kinds[code].name} " for code in called)
    doubts = str(row["doubt"]).split("; ")
    row["doubt"] = "; ".join(part for part in doubts if not part.startswith(settled))
    return True


def _for_kind(
    row: dict[str, Any],
    actions: Mapping[str, Ranked],
    proposal: Proposal,
    *,
    sure: bool,
) -> Decision | None:
    """What was decided for all things of a kind.

    Where it is not sure that a thing is of the kind, nothing less careful holds than what is
    proposed for whatever else it was called.
    """
    action = held(actions, [f"{_PER_KIND}{row['kind']}"])
    if sure or action is None or action.value == _AS_PROPOSED:
        return action
    if care_of(action.value) <= care_of(proposal.action):
        return action
    row["doubt"] = with_doubts(row, _BY_ITSELF)
    return None


def _act(
    row: dict[str, Any],
    action: Decision | None,
    status: Decision | None,
    proposal: Proposal,
    depth_m: float,
    *,
    iron: bool,
) -> None:
    """Set action and who decided it; anything short of a decision reads STOP."""
    if status is not None and status.value == "gone":
        row["action"], row["decided_by"], row["who"] = _GONE, stamp(status), ""
        return
    if action is None:
        row["action"], row["decided_by"] = NOT_DECIDED, ""
        return
    said = proposal.action if action.value == _AS_PROPOSED else action.value
    refused = _refused(said, status, depth_m, iron=iron)
    if refused:
        row["action"], row["decided_by"] = NOT_DECIDED, ""
        row["doubt"] = with_doubts(row, refused)
        return
    row["action"], row["decided_by"] = said, stamp(action)
    if said != proposal.action:
        row["who"] = ""


def _refused(said: str, status: Decision | None, depth_m: float, *, iron: bool) -> str:
    """Why an action is not carried out whoever decided it; empty when it may be.

    The words count wherever they stand: "LOOK, then mill over" is to mill over.
    """
    words = " ".join(said.upper().split())
    measured = status.value if status is not None else ""
    if _MILL_OVER in words and not deep_enough(measured, depth_m=depth_m):
        return "not measured deep enough to mill over"
    return "iron is not cut through" if iron and _CUT_THROUGH in words else ""
