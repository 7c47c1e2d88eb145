"""Things on the list to their evidence: a row a look, and what lies near and is another thing.

In go the groups of looks and the numbered list, out comes ``tables.EVIDENCE``: what gave a thing
its place, what is kept beside it and why, and for the nearest marks and records of other things
why they are none of its own.
"""

from collections.abc import Hashable, Iterator, Mapping, Sequence
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd

from routeprep import tables
from routeprep.averaging import best_looks
from routeprep.kinds import KindTable
from routeprep.merging import Group, Look, knows_across, passings
from routeprep.tables import rows_of

__all__ = ["evidence_of"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

# Near is what lies within this many standard deviations along, but at least and at most so far
# [m], and no more than so many other things.  Common practice, no source.
_NEAR_SDS, _NEAR_LEAST_M, _NEAR_MOST_M = 2.5, 3.0, 15.0
_NEAR_COUNT = 5
# What outranks a look of a worse method.
_OUTRANKS = {"vehicle": "a look from a vehicle"}
# Text and numbers of a look that its evidence repeats.
_TEXTS = ("item_id", "kind", "method", "drive_id", "source", "lane", "position")
_NUMBERS = ("speed_mps", "late_m", "along_m", "along_sd_m", "offset_m", "offset_sd_m")


class _Thing(NamedTuple):
    """One thing of the list with its looks, and those by drive or file."""

    row: Mapping[str, Any]
    looks: tuple[Look, ...]
    by_source: Mapping[Hashable, Sequence[Look]]


class _Decided(NamedTuple):
    """What persons decided to join and to split."""

    joined: Mapping[str, frozenset[str]]
    splits: frozenset[str]


class _Row(NamedTuple):
    """One row of evidence: the thing, the look, by their places, its part and the reason."""

    thing: int
    look: int
    part: str
    why: str


def evidence_of(
    groups: Sequence[Group],
    obstructions: pd.DataFrame,
    marks: pd.DataFrame,
    *,
    kinds: KindTable,
    joins: Sequence[tuple[str, str]] = (),
    splits: frozenset[str] = frozenset(),
) -> pd.DataFrame:
    """Say for each thing what it rests on and what near it is another thing.

    Parameters
    ----------
    groups
        The groups that the list was concluded from.
    obstructions
        The list, with its numbers.
    marks
        Table of marks.
    kinds
        The job's kinds.
    joins, splits
        What persons decided, as ``merging.group`` takes them.
    """
    things = _things(groups, obstructions)
    looks = [look for thing in things for look in thing.looks]
    decided = _Decided(_partners(joins), splits)
    near = _near(things, looks, kinds, decided)
    rows = [*_own(things, kinds), *near]
    order = sorted(range(len(rows)), key=lambda at: (rows[at].thing, rows[at].part == "near", at))
    return _table([rows[at] for at in order], things, looks, marks)


def _source(look: Look) -> Hashable:
    """What looks of one passing, or of one file, have in common."""
    return look.is_mark, look.drive_id or look.source


def _things(groups: Sequence[Group], obstructions: pd.DataFrame) -> list[_Thing]:
    """The things in the order of the list, each with its group."""
    group_of = {look.item_id: one for one in groups for look in one.looks}
    things = []
    for row in rows_of(obstructions):
        looks = group_of[row["anchor_id"]].looks
        by_source: dict[Hashable, list[Look]] = {}
        for look in looks:
            by_source.setdefault(_source(look), []).append(look)
        things.append(_Thing(row, looks, by_source))
    return things


def _partners(joins: Sequence[tuple[str, str]]) -> dict[str, frozenset[str]]:
    """Item id to those that a person joined it with."""
    partners: dict[str, frozenset[str]] = {}
    for one, other in joins:
        partners[one] = partners.get(one, frozenset()) | {other}
        partners[other] = partners.get(other, frozenset()) | {one}
    return partners


# --- what a thing rests on -------------------------------------------------------------------


def _own(things: Sequence[_Thing], kinds: KindTable) -> Iterator[_Row]:
    """The looks of each thing: those that gave the place, and those beside them."""
    at = 0
    for number, thing in enumerate(things):
        best = best_looks(thing.looks)
        outranks = _OUTRANKS.get(best[0].method, best[0].method)
        giving = {look.item_id for look in best}
        for look in thing.looks:
            gave = look.item_id in giving
            why = "gives the place" if gave else f"{outranks} outranks it"
            part = "place" if gave else "beside"
            yield _Row(number, at, part, "; ".join([why, *_aside(look, thing, kinds)]))
            at += 1


def _aside(look: Look, thing: _Thing, kinds: KindTable) -> Iterator[str]:
    """What of a look was not kept."""
    if not kinds.same_thing(look.kind, thing.row["kind"]):
        yield f"its kind {kinds.kinds[look.kind].name} is set aside"
    if look.lane and not _one_lane(look.lane, thing.row["lane"]):
        yield f"its lane {look.lane} is set aside"
    elif look.position not in {"", thing.row["across"]} and look.is_mark:
        yield f"its {look.position} is set aside"


def _one_lane(one: str, other: str) -> bool:
    return one.startswith(other) or other.startswith(one)


# --- what is near and another thing ----------------------------------------------------------


def _near(
    things: Sequence[_Thing], looks: Sequence[Look], kinds: KindTable, decided: _Decided
) -> Iterator[_Row]:
    """For each thing the nearest look of each other thing within reach."""
    of = np.repeat(np.arange(len(things)), [len(thing.looks) for thing in things])
    by_leg: dict[str, list[int]] = {}
    for at, look in sorted(enumerate(looks), key=lambda pair: (pair[1].along_m, pair[1].item_id)):
        by_leg.setdefault(look.leg, []).append(at)
    on = {leg: _Lying.of(rows, looks) for leg, rows in by_leg.items()}
    for number, thing in enumerate(things):
        for at in on[str(thing.row["leg"])].near(thing.row, of, number):
            other = things[of[at]]
            reasons = [*_why_apart(thing, other, looks[at], kinds, decided)]
            why = "; ".join(reasons) or _nearer(other)
            yield _Row(number, at, "near", why)


class _Lying(NamedTuple):
    """The looks on one leg in order along, by their places."""

    rows: Ints
    along_m: Floats
    sd_m: Floats

    @classmethod
    def of(cls, rows: Sequence[int], looks: Sequence[Look]) -> "_Lying":
        """From their places and the looks."""
        return cls(
            np.array(rows),
            np.array([looks[row].along_m for row in rows]),
            np.array([looks[row].along_sd_m for row in rows]),
        )

    def near(self, thing: Mapping[str, Any], of: Ints, number: int) -> list[int]:
        """Places of the nearest look of each other thing within reach, the nearest first."""
        here_m, sd_m = float(thing["along_m"]), float(thing["along_sd_m"])
        first, last = np.searchsorted(
            self.along_m, [here_m - _NEAR_MOST_M, here_m + _NEAR_MOST_M], side="left"
        )
        away_m = np.abs(self.along_m[first:last] - here_m)
        reach_m = np.maximum(_NEAR_SDS * np.hypot(self.sd_m[first:last], sd_m), _NEAR_LEAST_M)
        rows = self.rows[first:last]
        others = np.flatnonzero((away_m <= reach_m) & (of[rows] != number))
        ordered = rows[others[np.argsort(away_m[others], kind="stable")]]
        _, once = np.unique(of[ordered], return_index=True)
        nearest: list[int] = ordered[np.sort(once)[:_NEAR_COUNT]].tolist()
        return nearest


def _why_apart(
    thing: _Thing, other: _Thing, look: Look, kinds: KindTable, decided: _Decided
) -> Iterator[str]:
    """Each reason why another thing, that a look near by is of, is not this one."""
    yield from _by_decision(thing, other, look, decided)
    if _one_source(thing, other, is_mark=True):
        yield "one drive tapped both"
    if _one_source(thing, other, is_mark=False):
        yield "one file has both"
    if not kinds.same_thing(look.kind, thing.row["kind"]):
        yield f"another kind: {kinds.kinds[look.kind].name}"
    yield from _across(thing.row, look)


def _by_decision(thing: _Thing, other: _Thing, look: Look, decided: _Decided) -> Iterator[str]:
    if look.item_id in decided.splits:
        yield "a person split it off"
    elif any(one.item_id in decided.splits for one in thing.looks):
        yield "a person said that this stands alone"
    partners = decided.joined.get(look.item_id, frozenset())
    if partners.intersection(one.item_id for one in other.looks):
        yield f"a person joined it with {_name(other)}"


def _one_source(thing: _Thing, other: _Thing, *, is_mark: bool) -> bool:
    """Whether one passing, or one file, has a look at each of two things."""
    common = thing.by_source.keys() & other.by_source.keys()
    return any(
        passings([one, two]) == 1
        for key in common
        for one in thing.by_source[key]
        for two in other.by_source[key]
        if one.is_mark == is_mark
    )


def _across(row: Mapping[str, Any], look: Look) -> Iterator[str]:
    """Whether it lies on another side, or in another lane."""
    lane = str(row["lane"])
    if lane and look.lane and not _one_lane(lane, look.lane):
        yield "other side of the road" if lane[0] != look.lane[0] else "another lane"
        return
    gap_m = abs(look.offset_m - row["offset_m"])
    reach_m = _NEAR_SDS * np.hypot(look.offset_sd_m, row["offset_sd_m"])
    if knows_across(look) and lane and gap_m > max(reach_m, _NEAR_LEAST_M):
        same = look.offset_m * row["offset_m"] > 0
        yield "too far across the road" if same else "other side of the road"


def _nearer(other: _Thing) -> str:
    return f"fits {_name(other)} better"


def _name(thing: _Thing) -> str:
    return thing.row["no"] or "another thing"


# --- the table -------------------------------------------------------------------------------


def _table(
    rows: Sequence[_Row], things: Sequence[_Thing], looks: Sequence[Look], marks: pd.DataFrame
) -> pd.DataFrame:
    """The rows as ``tables.EVIDENCE``."""
    if not rows:
        return tables.table(tables.EVIDENCE, [])
    thing, at = np.array([row[:2] for row in rows]).T
    items = pd.Index([look.item_id for look in looks])
    seen = marks.set_index("mark_id")[["words", "time_utc"]].reindex(items)
    names = [look.name for look in looks]
    here_m = np.array([one.row["along_m"] for one in things])
    columns: dict[str, Any] = {
        name: pd.array([getattr(look, name) for look in looks], dtype="str") for name in _TEXTS
    }
    columns |= {
        name: np.array([getattr(look, name) for look in looks], dtype=np.float64)
        for name in _NUMBERS
    }
    columns["what"] = _str("mark" if look.is_mark else "record" for look in looks)
    columns["words"] = seen["words"].where(seen["words"].notna(), names).astype("str").array
    columns["person"] = _str(look.person or look.by for look in looks)
    columns["time_utc"] = seen["time_utc"].array
    columns["travel"] = np.array([look.travel for look in looks], dtype=np.int64)
    made = pd.DataFrame(columns).take(at).reset_index(drop=True)
    made = made.assign(
        anchor_id=_str(one.row["anchor_id"] for one in things)[thing],
        part=_str(row.part for row in rows),
        why=_str(row.why for row in rows),
        apart_m=made["along_m"].to_numpy() - here_m[thing],
    )
    declared = [column.name for column in tables.EVIDENCE]
    return tables.check(made[declared], tables.EVIDENCE, what="evidence")


def _str(values: Iterator[str]) -> Any:  # noqa: ANN401 - pandas' own array of text
    return pd.array(list(values), dtype="str")
