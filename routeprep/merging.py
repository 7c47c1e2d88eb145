"""Located marks and records to groups: what belongs to one thing.

In go marks and records on legs, out come groups: each is one thing in the road, known by its
anchor.  Marks of kinds that can be one thing, on one side, within their doubt along the road are
one; two taps of one passing stay two, and so do two records of one file.  Greedy by distance in
standard deviations, looks that know their side before those that may lie on either, with ties
broken by id: the order of the input changes nothing.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from routeprep.drives import seconds_of
from routeprep.kinds import KindTable
from routeprep.matching import Path, driven_at
from routeprep.shapes import Defaults
from routeprep.tables import rows_of

__all__ = ["METHODS", "Group", "Look", "anchor_of", "group", "knows_across", "looks_of", "passings"]

# To pass one place twice in one direction a vehicle drives at least this much farther than the
# two taps lie apart [m]: turning round, and round again.  Common practice, no source.
_AROUND_M = 60.0
# Marks of one file, made on no known drive, belong to one passing when nearer in time than this
# [s].  Common practice, no source.
_PASSING_S = 1800.0
# From worst to best: taped beats wheeled beats walked beats vehicle beats file.
METHODS = ("file", "vehicle", "walked", "wheeled", "taped")


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """One mark or record on a leg: one piece of evidence.

    ``person``, ``speed_mps``, ``late_m`` and ``own_sd_m`` are as in ``tables.LOCATED``; ``name`` is
    the record's own name, ``size`` the mark's.

    ``driven_m`` is how far its drive had come when it was made [m]: it tells taps of one passing
    from those of a later one; NaN when not known.
    """

    item_id: str
    is_mark: bool
    leg: str
    kind: str
    seconds: float
    along_m: float
    from_m: float
    to_m: float
    offset_m: float
    along_sd_m: float
    offset_sd_m: float
    lane: str
    position: str
    drive_id: str
    source: str
    travel: int
    person: str
    speed_mps: float
    late_m: float
    own_sd_m: float
    driven_m: float
    by: str
    size: str
    name: str
    method: str
    past_end_m: float
    doubt: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """The evidence for one thing: looks by time, then by id."""

    looks: tuple[Look, ...]


def looks_of(
    located: pd.DataFrame, *, is_mark: bool, paths: Mapping[str, Path] | None = None
) -> list[Look]:
    """Rows on a leg and of a known kind, as looks.

    Parameters
    ----------
    located
        Marks or records with ``tables.LOCATED``.
    is_mark
        Whether they are marks.
    paths
        Drive id to its path, for marks.
    """
    seconds = seconds_of(located["time_utc"]) if is_mark else np.full(len(located), math.nan)
    return [
        _look(item, float(when), (paths or {}).get(str(item.get("drive_id", ""))), is_mark=is_mark)
        for item, when in zip(rows_of(located), seconds, strict=True)
        if item["leg"] and item["kind"]
    ]


def _look(item: Mapping[str, Any], when: float, path: Path | None, *, is_mark: bool) -> Look:
    numbers = (
        "along_m", "from_m", "to_m", "offset_m", "along_sd_m", "offset_sd_m", "past_end_m",
        "speed_mps", "late_m", "own_sd_m",
    )  # fmt: skip
    return Look(
        item_id=str(item["mark_id" if is_mark else "record_id"]),
        is_mark=is_mark,
        leg=str(item["leg"]),
        kind=str(item["kind"]),
        seconds=when,
        lane=str(item["lane"]),
        position=str(item["position"]),
        drive_id=str(item.get("drive_id", "")),
        source=str(item["source"]),
        travel=int(item["travel"]),
        driven_m=math.nan if path is None else driven_at(path, when),
        by=str(item.get("by", "")),
        person=str(item["person"]),
        size=str(item.get("size", "")),
        name=str(item.get("name", "")),
        method=str(item.get("method", "file")),
        doubt=str(item["doubt"]),
        **{name: float(item[name]) for name in numbers},
    )


def _one_passing(one: Look, other: Look) -> bool:
    """Whether two marks were made in one passing, or two records stand in one file."""
    if one.is_mark != other.is_mark:
        return False
    if not one.is_mark:
        return one.source == other.source
    if one.drive_id != other.drive_id:
        return False
    if not one.drive_id:
        return one.source == other.source and not abs(one.seconds - other.seconds) > _PASSING_S
    if one.travel * other.travel < 0:
        return False
    around_m = abs(one.driven_m - other.driven_m) - abs(one.along_m - other.along_m)
    return not around_m > _AROUND_M


def passings(looks: Sequence[Look]) -> int:
    """How many times a thing was passed and seen: two taps of one passing count once.

    Parameters
    ----------
    looks
        Marks, in order.
    """
    counted: list[Look] = []
    for look in looks:
        if not any(_one_passing(look, other) for other in counted):
            counted.append(look)
    return len(counted)


def _one_side(one: Look, other: Look) -> bool:
    """Whether the lanes said can be one lane; an unknown one can be any."""
    if not one.lane or not other.lane:
        return True
    return one.lane.startswith(other.lane) or other.lane.startswith(one.lane)


def knows_across(look: Look) -> bool:
    """Whether its offset is the thing's own, not that of the vehicle or of the whole road.

    Parameters
    ----------
    look
        A mark or record.
    """
    return (bool(look.lane) or look.method != "vehicle") and look.position != "whole road"


def _apart_sds(one: Look, other: Look, defaults: Defaults) -> float:
    """Distance between two looks in standard deviations; infinite when never one thing."""
    along = _sds(
        abs(one.along_m - other.along_m), math.hypot(one.along_sd_m, other.along_sd_m), defaults
    )
    if not (knows_across(one) and knows_across(other)):
        return along
    across = _sds(
        abs(one.offset_m - other.offset_m), math.hypot(one.offset_sd_m, other.offset_sd_m), defaults
    )
    return math.hypot(along, across)


def _sds(gap_m: float, sd_m: float, defaults: Defaults) -> float:
    most_m = min(defaults.same_thing_most_m, defaults.same_thing_sds * sd_m)
    if gap_m > max(most_m, defaults.same_thing_least_m):
        return math.inf
    return gap_m / max(sd_m, 1e-6)


def _pairs(
    looks: Sequence[Look], kinds: KindTable, defaults: Defaults
) -> list[tuple[bool, float, str, str, int, int]]:
    """Pairs that can be one thing: those of known sides first, then the nearest."""
    order = sorted(
        range(len(looks)), key=lambda i: (looks[i].leg, looks[i].along_m, looks[i].item_id)
    )
    reach_m = max(defaults.same_thing_most_m, defaults.same_thing_least_m)
    pairs = []
    for place, i in enumerate(order):
        for j in order[place + 1 :]:
            one, other = looks[i], looks[j]
            if other.leg != one.leg or other.along_m - one.along_m > reach_m:
                break
            sds = _apart_sds(one, other, defaults)
            if math.isfinite(sds) and _may_join(one, other, kinds):
                low, high = sorted((one.item_id, other.item_id))
                vague = not (knows_across(one) and knows_across(other))
                pairs.append((vague, sds, low, high, i, j))
    return sorted(pairs)


def _may_join(one: Look, other: Look, kinds: KindTable) -> bool:
    return (
        kinds.same_thing(one.kind, other.kind)
        and not _one_passing(one, other)
        and _one_side(one, other)
    )


def group(
    looks: Sequence[Look],
    *,
    kinds: KindTable,
    defaults: Defaults,
    joins: Sequence[tuple[str, str]] = (),
    splits: frozenset[str] = frozenset(),
) -> list[Group]:
    """Group looks into things.

    Parameters
    ----------
    looks
        Marks and records on legs.
    kinds
        The job's kinds.
    defaults
        The tolerances.
    joins
        Pairs of item ids that a person decided are one thing; on two legs they stay two rows.
    splits
        Item ids that a person decided stand alone, but for what they were joined with.
    """
    at = {look.item_id: i for i, look in enumerate(looks)}
    told = [
        (at[one], at[other])
        for one, other in joins
        if one in at and other in at and looks[at[one]].leg == looks[at[other]].leg
    ]
    alone = {i for i, look in enumerate(looks) if look.item_id in splits}
    sets = _parted(told, alone, len(looks))
    pairs = _pairs(looks, kinds, defaults)
    may_join: list[set[int]] = [set() for _ in looks]
    for *_, i, j in pairs:
        may_join[i].add(j)
        may_join[j].add(i)
    for *_, i, j in pairs:
        mine, others = sets.of(i), sets.of(j)
        if mine is others or alone.intersection(mine) or alone.intersection(others):
            continue
        if all(may_join[one].issuperset(others) for one in mine):
            sets.unite(i, j)
    for pair in told:
        sets.unite(*pair)
    groups = [
        Group(looks=tuple(sorted((looks[i] for i in rows), key=_by_time))) for rows in sets.all()
    ]
    return sorted(groups, key=lambda one: _by_time(one.looks[0]))


def _parted(told: Sequence[tuple[int, int]], alone: set[int], count: int) -> "_Sets":
    """Sets of what was split off and then joined, made first so that nothing else comes to them.

    All other joins are made last: they join whole things, with all their evidence.
    """
    joined = _Sets(count)
    for pair in told:
        joined.unite(*pair)
    sets = _Sets(count)
    for one, other in told:
        if alone.intersection(joined.of(one)):
            sets.unite(one, other)
    return sets


class _Sets:
    """Numbers in sets that can be united."""

    def __init__(self, count: int) -> None:
        self._set = [[i] for i in range(count)]

    def of(self, i: int) -> list[int]:
        """The set that holds a number."""
        return self._set[i]

    def unite(self, i: int, j: int) -> None:
        """Make one set of the two that hold these numbers."""
        if self._set[i] is not self._set[j]:
            small, large = sorted((self._set[i], self._set[j]), key=len)
            large += small
            for k in small:
                self._set[k] = large

    def all(self) -> list[list[int]]:
        """Every set once."""
        return [rows for i, rows in enumerate(self._set) if min(rows) == i]


def _by_time(look: Look) -> tuple[bool, float, bool, str]:
    """Timed looks first and in time, then marks, then records; ids settle the rest."""
    untimed = math.isnan(look.seconds)
    return untimed, 0.0 if untimed else look.seconds, not look.is_mark, look.item_id


def anchor_of(one: Group, issued: Mapping[str, str]) -> str:
    """The item that a thing is known by: the earliest placed, unless a number was issued to one.

    Parameters
    ----------
    one
        The group.
    issued
        Item id to the number issued to it.
    """
    held = [look.item_id for look in one.looks if look.item_id in issued]
    return held[0] if held else one.looks[0].item_id
