"""Things on the list to their evidence: a row a look, and what lies near and is another thing.

In go the groups of looks and the numbered list, out comes ``tables.EVIDENCE``: what gave a thing
its place, what is kept beside it and why, and for the nearest marks and records of other things
why they are none of its own.
"""

from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from functools import cache, partial
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd

from routeprep import tables
from routeprep.averaging import best_looks
from routeprep.kinds import KindTable
from routeprep.merging import Group, Look, knows_across, passings
from routeprep.tables import rows_of

__all__ = ["Looked", "evidence_of", "looked_of"]

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


# What of a thing on the list its evidence asks for.
_ASKED = (
    "anchor_id", "no", "leg", "kind", "lane", "across", "along_m", "along_sd_m", "offset_m",
    "offset_sd_m",
)  # fmt: skip


class _Group(NamedTuple):
    """The looks of one group: those by drive or file, those that give the place, what outranks."""

    number: int
    looks: tuple[Look, ...]
    by_source: Mapping[Hashable, Sequence[Look]]
    giving: frozenset[str]
    outranks: str
    first: int


class Looked(NamedTuple):
    """The looks of all groups, as far as no decision on a thing changes what is told of them.

    Attributes
    ----------
    groups
        As given.
    of_item
        Id of a look to the number of its group.
    of_look
        The same for each row of ``table``.
    lying
        The looks by leg, in order along.
    together
        Whether one passing, and whether one file, has a look at each of two groups, by number;
        what was asked once is kept.
    table
        A row a look, group by group, with the columns of ``tables.EVIDENCE`` that are its own.
    """

    groups: tuple[_Group, ...]
    of_item: Mapping[str, int]
    of_look: Ints
    lying: Mapping[str, "_Lying"]
    together: Callable[[int, int], tuple[bool, bool]]
    table: pd.DataFrame


class _Thing(NamedTuple):
    """One thing of the list with its group."""

    row: Mapping[str, Any]
    group: _Group


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


def looked_of(groups: Sequence[Group], marks: pd.DataFrame) -> Looked:
    """The looks of all groups, made ready once for many lists of the same groups.

    Parameters
    ----------
    groups
        The groups that lists are concluded from.
    marks
        Table of marks.
    """
    looks = [look for one in groups for look in one.looks]
    sizes = [len(one.looks) for one in groups]
    firsts = np.cumsum([0, *sizes])[:-1].tolist()
    by_leg: dict[str, list[int]] = {}
    for at, look in sorted(enumerate(looks), key=lambda pair: (pair[1].along_m, pair[1].item_id)):
        by_leg.setdefault(look.leg, []).append(at)
    pairs = enumerate(zip(groups, firsts, strict=True))
    made = tuple(_group(number, one.looks, first) for number, (one, first) in pairs)
    return Looked(
        groups=made,
        of_item={look.item_id: k for k, one in enumerate(groups) for look in one.looks},
        of_look=np.repeat(np.arange(len(groups)), sizes),
        lying={leg: _Lying.of(rows, looks) for leg, rows in by_leg.items()},
        together=cache(partial(_together, made)),
        table=_look_table(looks, marks),
    )


def evidence_of(
    looked: Looked,
    obstructions: pd.DataFrame,
    *,
    kinds: KindTable,
    joins: Sequence[tuple[str, str]] = (),
    splits: frozenset[str] = frozenset(),
) -> pd.DataFrame:
    """Say for each thing what it rests on and what near it is another thing.

    Parameters
    ----------
    looked
        The looks of the groups that the list was concluded from.
    obstructions
        The list, with its numbers: a thing a group.
    kinds
        The job's kinds.
    joins, splits
        What persons decided, as ``merging.group`` takes them.
    """
    listed = rows_of(obstructions[list(_ASKED)])
    numbers = [looked.of_item[row["anchor_id"]] for row in listed]
    things = [
        _Thing(row, looked.groups[number]) for row, number in zip(listed, numbers, strict=True)
    ]
    decided = _Decided(_partners(joins), splits)
    rows = [*_own(things, kinds), *_near(things, looked, _places(numbers), kinds, decided)]
    order = sorted(range(len(rows)), key=lambda at: (rows[at].thing, rows[at].part == "near", at))
    return _table([rows[at] for at in order], things, looked.table)


def _source(look: Look) -> Hashable:
    """What looks of one passing, or of one file, have in common."""
    return look.is_mark, look.drive_id or look.source


def _group(number: int, looks: tuple[Look, ...], first: int) -> _Group:
    """One group, and which row of all looks its first is."""
    by_source: dict[Hashable, list[Look]] = {}
    for look in looks:
        by_source.setdefault(_source(look), []).append(look)
    best = best_looks(looks)
    return _Group(
        number=number,
        looks=looks,
        by_source=by_source,
        giving=frozenset(look.item_id for look in best),
        outranks=_OUTRANKS.get(best[0].method, best[0].method),
        first=first,
    )


def _places(numbers: Sequence[int]) -> Ints:
    """For each group the place of its thing on the list, from the group of each thing."""
    places = np.empty(len(numbers), dtype=np.int64)
    places[numbers] = np.arange(len(numbers))
    return places


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
    for number, thing in enumerate(things):
        group = thing.group
        for at, look in enumerate(group.looks, start=group.first):
            gave = look.item_id in group.giving
            why = "gives the place" if gave else f"{group.outranks} outranks it"
            part = "place" if gave else "beside"
            yield _Row(number, at, part, "; ".join([why, *_aside(look, thing, kinds)]))


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
    things: Sequence[_Thing], looked: Looked, places: Ints, kinds: KindTable, decided: _Decided
) -> Iterator[_Row]:
    """For each thing the nearest look of each other thing within reach."""
    of = places[looked.of_look]
    for number, thing in enumerate(things):
        for at in looked.lying[str(thing.row["leg"])].near(thing.row, of, number):
            other = things[of[at]]
            look = other.group.looks[at - other.group.first]
            reasons = [
                *_by_decision(thing, other, look, decided),
                *_told(looked.together(thing.group.number, other.group.number)),
                *_why_apart(thing.row, look, kinds),
            ]
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


def _told(together: tuple[bool, bool]) -> Iterator[str]:
    """What it means that one passing, or one file, has both."""
    by_drive, in_file = together
    if by_drive:
        yield "one drive tapped both"
    if in_file:
        yield "one file has both"


def _why_apart(row: Mapping[str, Any], look: Look, kinds: KindTable) -> Iterator[str]:
    """Why a look near by is of another kind or place than a thing."""
    if not kinds.same_thing(look.kind, row["kind"]):
        yield f"another kind: {kinds.kinds[look.kind].name}"
    yield from _across(row, look)


def _by_decision(thing: _Thing, other: _Thing, look: Look, decided: _Decided) -> Iterator[str]:
    if look.item_id in decided.splits:
        yield "a person split it off"
    elif any(one.item_id in decided.splits for one in thing.group.looks):
        yield "a person said that this stands alone"
    partners = decided.joined.get(look.item_id, frozenset())
    if partners.intersection(one.item_id for one in other.group.looks):
        yield f"a person joined it with {_name(other)}"


def _together(groups: Sequence[_Group], one: int, other: int) -> tuple[bool, bool]:
    """Whether one passing, and whether one file, has a look at each of two groups."""
    mine, others = groups[one].by_source, groups[other].by_source
    common = mine.keys() & others.keys()
    marked = {
        look.is_mark
        for key in common
        for look in mine[key]
        if any(passings([look, two]) == 1 for two in others[key])
    }
    return True in marked, False in marked


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


def _look_table(looks: Sequence[Look], marks: pd.DataFrame) -> pd.DataFrame:
    """What evidence tells of each look itself."""
    items = pd.Index([look.item_id for look in looks], dtype="str")
    seen = marks.set_index("mark_id")[["words", "time_utc"]].reindex(items)
    names = [look.name for look in looks]
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
    return pd.DataFrame(columns)


def _table(rows: Sequence[_Row], things: Sequence[_Thing], looks: pd.DataFrame) -> pd.DataFrame:
    """The rows as ``tables.EVIDENCE``."""
    if not rows:
        return tables.table(tables.EVIDENCE, [])
    thing, at = np.array([row[:2] for row in rows]).T
    here_m = np.array([one.row["along_m"] for one in things])
    made = looks.take(at).reset_index(drop=True)
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
