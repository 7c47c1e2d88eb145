"""Located marks and records to obstructions, first version.

In go marks and records on legs, out come groups: each is one thing in the road, known by its
anchor.  Marks of kinds that can be one thing, on one side, within their doubt along the road are
one; two taps of one drive in one passing stay two.  Greedy by distance in standard deviations,
with ties broken by id: the order of the input changes nothing.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from routeprep.drives import seconds_of
from routeprep.kinds import KindTable
from routeprep.shapes import Defaults
from routeprep.tables import rows_of

__all__ = ["METHODS", "Group", "Look", "anchor_of", "group", "looks_of"]

# Taps of one drive nearer in time than this, in one direction, belong to one passing [s].
_PASSING_S = 180.0
# From worst to best: taped beats wheeled beats walked beats vehicle beats file.
METHODS = ("file", "vehicle", "walked", "wheeled", "taped")


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """One mark or record on a leg: one piece of evidence.

    ``passing`` tells taps of one drive in one direction apart from later ones: (drive, travel,
    seconds); records have none.
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
    travel: int
    by: str
    method: str
    past_end_m: float
    doubt: str
    row: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """The evidence for one thing: looks by time, then by id."""

    looks: tuple[Look, ...]


def looks_of(located: pd.DataFrame, *, is_mark: bool) -> list[Look]:
    """Rows on a leg and of a known kind, as looks.

    Parameters
    ----------
    located
        Marks or records with ``tables.LOCATED``.
    is_mark
        Whether they are marks.
    """
    seconds = seconds_of(located["time_utc"]) if is_mark else np.full(len(located), math.nan)
    looks = []
    for row, (item, when) in enumerate(zip(rows_of(located), seconds, strict=True)):
        if item["leg"] and item["kind"]:
            looks.append(_look(item, float(when), row, is_mark=is_mark))
    return looks


def _look(item: Mapping[str, Any], when: float, row: int, *, is_mark: bool) -> Look:
    numbers = (
        "along_m", "from_m", "to_m", "offset_m", "along_sd_m", "offset_sd_m", "past_end_m"
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
        travel=int(item["travel"]),
        by=str(item.get("by", "")),
        method=str(item.get("method", "file")),
        doubt=str(item["doubt"]),
        row=row,
        **{name: float(item[name]) for name in numbers},
    )


def _one_passing(one: Look, other: Look) -> bool:
    """Whether two marks were made in one passing of one drive, or two records in one file."""
    if one.is_mark != other.is_mark:
        return False
    if not one.is_mark:
        return True
    if not one.drive_id or one.drive_id != other.drive_id:
        return False
    return one.travel == other.travel and not abs(one.seconds - other.seconds) > _PASSING_S


def _one_side(one: Look, other: Look) -> bool:
    """Whether the lanes said can be one lane; an unknown one can be any."""
    if not one.lane or not other.lane:
        return True
    return one.lane.startswith(other.lane) or other.lane.startswith(one.lane)


def _apart_sds(one: Look, other: Look, defaults: Defaults) -> float:
    """Distance along between two looks in standard deviations; infinite when never one thing."""
    gap_m = abs(one.along_m - other.along_m)
    sd_m = math.hypot(one.along_sd_m, other.along_sd_m)
    most_m = min(defaults.same_thing_most_m, defaults.same_thing_sds * sd_m)
    if gap_m > max(most_m, defaults.same_thing_least_m):
        return math.inf
    return gap_m / max(sd_m, 1e-6)


def _pairs(
    looks: Sequence[Look], kinds: KindTable, defaults: Defaults
) -> list[tuple[float, str, str, int, int]]:
    """Pairs that can be one thing, nearest first."""
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
                pairs.append((sds, low, high, i, j))
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
        Pairs of item ids that a person decided are one thing.
    splits
        Item ids that a person decided stand alone.
    """
    member = list(range(len(looks)))
    inside = {i: [i] for i in member}
    at = {look.item_id: i for i, look in enumerate(looks)}
    asked = [(at[one], at[other]) for one, other in joins if one in at and other in at]
    for i, j in asked:
        _union(i, j, member, inside)
    for _, low, high, i, j in _pairs(looks, kinds, defaults):
        if low in splits or high in splits or member[i] == member[j]:
            continue
        both = [(looks[a], looks[b]) for a in inside[member[i]] for b in inside[member[j]]]
        near = all(math.isfinite(_apart_sds(a, b, defaults)) for a, b in both)
        if near and all(_may_join(a, b, kinds) for a, b in both):
            _union(i, j, member, inside)
    groups = [
        Group(looks=tuple(sorted((looks[i] for i in rows), key=_by_time)))
        for rows in inside.values()
    ]
    return sorted(groups, key=lambda one: _by_time(one.looks[0]))


def _union(i: int, j: int, member: list[int], inside: dict[int, list[int]]) -> None:
    low, high = sorted((member[i], member[j]))
    if low != high:
        moved = inside.pop(high)
        inside[low] += moved
        for row in moved:
            member[row] = low


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
