"""Located marks and records to groups: what belongs to one thing.

In go marks and records on legs, out come groups: each is one thing in the road, known by its
anchor.  Which looks are at one thing is what is likeliest of all (``association``); two taps of one
passing stay two, and so do two records of one file.  The order of the input changes nothing.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from operator import attrgetter
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from routeprep.association import associate
from routeprep.drives import seconds_of
from routeprep.kinds import KindTable
from routeprep.likeness import across_said, kinds_said, sizes_said
from routeprep.matching import Path, driven_at
from routeprep.odds import Evidence
from routeprep.shapes import Defaults
from routeprep.spreads import UNIFORM_IN_SDS
from routeprep.ways import ways_of

__all__ = ["METHODS", "Group", "Look", "anchor_of", "group", "knows_across", "looks_of", "passings"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

# Legs are laid on one axis so far apart that nothing on one comes near another [m].
_LEG_M = 1e6
# Where on a thing somebody means, its edge or its middle: standard deviation [m], a casting being
# 2 to 3 ft wide.  Common practice, no source.
_WHERE_ON_IT_M = 0.5
_NUMBERS_OF = attrgetter(
    "along_m", "from_m", "to_m", "offset_m", "along_sd_m", "offset_sd_m", "own_sd_m", "travel"
)
# To pass one place twice in one direction a vehicle drives at least this much farther than the
# two taps lie apart [m]: turning round, and round again.  Common practice, no source.
_AROUND_M = 60.0
# Marks of one file, made on no known drive, belong to one passing when nearer in time than this
# [s].  Common practice, no source.
_PASSING_S = 1800.0
# What of a look stands in any located table, and in some, with what it is where it does not.
_AS_LOCATED = (
    "leg", "kind", "along_m", "from_m", "to_m", "offset_m", "along_sd_m", "offset_sd_m", "lane",
    "position", "source", "travel", "person", "speed_mps", "late_m", "own_sd_m", "past_end_m",
    "doubt",
)  # fmt: skip
_AS_SAID = {"drive_id": "", "by": "", "size": "", "name": "", "method": "file"}
# From worst to best: taped beats wheeled beats walked beats vehicle beats file.
METHODS = ("file", "vehicle", "walked", "wheeled", "taped")


class Look(NamedTuple):
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
    kept = ((located["leg"] != "") & (located["kind"] != "")).to_numpy(dtype=bool)
    frame, when = located[kept], seconds[kept]
    columns = {name: frame[name].tolist() for name in _AS_LOCATED}
    columns |= {"item_id": frame["mark_id" if is_mark else "record_id"].tolist()}
    columns |= {"is_mark": [is_mark] * len(frame)}
    columns |= {
        name: frame[name].tolist() if name in frame else [none] * len(frame)
        for name, none in _AS_SAID.items()
    }
    columns |= {"seconds": when.tolist(), "driven_m": _driven_m(frame, when, paths or {}).tolist()}
    return list(map(Look._make, zip(*(columns[name] for name in Look._fields), strict=True)))


def _driven_m(frame: pd.DataFrame, seconds: Floats, paths: Mapping[str, Path]) -> Floats:
    """How far its drive had come when each mark was made [m]; NaN when not known."""
    driven_m = np.full(len(frame), math.nan)
    if "drive_id" in frame:
        for drive_id, rows in frame.groupby("drive_id", sort=False).indices.items():
            if str(drive_id) in paths:
                driven_m[rows] = driven_at(paths[str(drive_id)], seconds[rows])
    return driven_m


def _one_passing(one: Look, other: Look) -> bool:
    """Whether two marks of one drive, or of one file and no known drive, are of one passing."""
    if not one.drive_id:
        return not abs(one.seconds - other.seconds) > _PASSING_S
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
    counted: dict[tuple[str, str], list[Look]] = {}
    for look in looks:
        mine = counted.setdefault((look.drive_id, "" if look.drive_id else look.source), [])
        if not any(_one_passing(look, other) for other in mine):
            mine.append(look)
    return sum(map(len, counted.values()))


def knows_across(look: Look) -> bool:
    """Whether its offset is the thing's own, not that of the vehicle or of the whole road.

    Parameters
    ----------
    look
        A mark or record.
    """
    return (bool(look.lane) or look.method != "vehicle") and look.position != "whole road"


def _passings_of(looks: Sequence[Look]) -> Ints:
    """Number of the passing or file of each look.

    Passings of one drive on different legs share a number: they meet at no thing.
    """
    rows_of_drive: dict[tuple[bool, str, str, str], list[int]] = {}
    for row, look in enumerate(looks):
        own = (look.drive_id, "", look.leg) if look.drive_id else ("", look.source, "")
        rows_of_drive.setdefault((look.is_mark, *own), []).append(row)
    parts: list[tuple[tuple[bool, str, str, int], Ints]] = []
    for (is_mark, drive_id, source, _), rows in rows_of_drive.items():
        laps = _laps([looks[row] for row in rows])
        parts += [
            ((is_mark, drive_id, source, lap), np.array(rows)[laps == lap])
            for lap in range(laps.max() + 1)
        ]
    number = {one: n for n, one in enumerate(sorted({one for one, _ in parts}))}
    passing = np.empty(len(looks), dtype=np.int64)
    for one, rows_of_one in parts:
        passing[rows_of_one] = number[one]
    return passing


def _laps(looks: Sequence[Look]) -> Ints:
    """How often a drive had come by on one leg before it made each mark; 0 for a file's records."""
    laps = np.zeros(len(looks), dtype=np.int64)
    if not looks[0].is_mark or any(math.isnan(look.seconds) for look in looks):
        return laps
    order = sorted(range(len(looks)), key=lambda row: (looks[row].seconds, looks[row].item_id))
    lap, travel, before = 0, 0, looks[order[0]]
    for row in order:
        look = looks[row]
        turned = bool(look.drive_id) and travel * look.travel < 0
        lap += turned or not _one_passing(before, look)
        travel = look.travel or travel
        laps[row], before = lap, look
    return laps


def _clashes(
    looks: Sequence[Look], along_m: Floats, passing: Ints, *, reach_m: float
) -> dict[int, frozenset[int]]:
    """Marks of one passing to which ``_passings_of`` gave two: near where a drive turned round."""
    rows_of_drive: dict[str, list[int]] = {}
    for row in np.argsort(along_m, kind="stable").tolist():
        if looks[row].drive_id:
            rows_of_drive.setdefault(looks[row].drive_id, []).append(row)
    found: dict[int, set[int]] = {}
    for rows in rows_of_drive.values():
        if len(set(passing[rows].tolist())) > 1:
            for one, other in _near(rows, along_m, reach_m=reach_m):
                if passing[one] != passing[other] and _one_passing(looks[one], looks[other]):
                    found.setdefault(one, set()).add(other)
                    found.setdefault(other, set()).add(one)
    return {row: frozenset(others) for row, others in found.items()}


def _near(rows: Sequence[int], along_m: Floats, *, reach_m: float) -> Iterator[tuple[int, int]]:
    """Pairs of rows, in the order of along, within reach of each other."""
    begin = 0
    for place, row in enumerate(rows):
        while along_m[row] - along_m[rows[begin]] > reach_m:
            begin += 1
        yield from ((other, row) for other in rows[begin:place])


def _evidence(
    looks: Sequence[Look],
    kinds: KindTable,
    defaults: Defaults,
    paths: Mapping[str, Path],
    codes: Sequence[str],
) -> Evidence:
    """Looks as numbers, the legs one after the other on one axis."""
    numbers = np.array([_NUMBERS_OF(look) for look in looks], dtype=np.float64).reshape(-1, 8)
    (place_m, from_m, to_m, offset_m, all_m, across_m, own_m, travel) = numbers.T
    of_leg = [look.leg for look in looks]
    legs, begins = np.unique(of_leg, return_index=True)
    origin_m = {leg: number * _LEG_M for number, leg in enumerate(legs.tolist())}
    along_m = place_m + np.array([origin_m[leg] for leg in of_leg])
    tapped = np.array([look.is_mark and look.method == "vehicle" for look in looks])
    late = tapped & (travel != 0) & np.array([bool(look.person) for look in looks])
    shared_m = np.where(late, np.sqrt(np.maximum(all_m**2 - own_m**2, 0.0)), 0.0)
    spread_m = (to_m - from_m) / UNIFORM_IN_SDS
    known = np.array([knows_across(look) for look in looks])
    codes_used = sorted({look.kind for look in looks})
    groups, group_of_kind = np.unique(
        [kinds.kinds[code].group for code in codes_used], return_inverse=True
    )
    group_of = dict(zip(codes_used, group_of_kind.tolist(), strict=True))
    looked: dict[tuple[str, str], set[int]] = {}
    for row in np.flatnonzero(tapped).tolist():
        key = (looks[row].drive_id, looks[row].leg)
        looked.setdefault(key, set()).add(group_of[looks[row].kind])
    sizes = [look.size for look in looks]
    # One person may be quicker one day than on another: each drive has a lateness of its own.
    who = [(look.person, look.drive_id) for look in looks]
    people = {one: n for n, one in enumerate(sorted(set(who)))}
    passing = _passings_of(looks)
    return Evidence(
        along_m=along_m,
        sd_m=np.sqrt(np.where(late, own_m, all_m) ** 2 + spread_m**2 + _WHERE_ON_IT_M**2),
        shared_m=shared_m * np.sign(travel),
        person=np.where(late, [people[one] for one in who], -1),
        passing=passing,
        tapped=tapped,
        said=(
            kinds_said([look.kind for look in looks], kinds, wrong_share=defaults.wrong_kind_share),
            across_said(np.where(known, offset_m, np.nan), across_m),
            *([sizes_said(sizes)] if any(sizes) else ()),
        ),
        clashes=_clashes(looks, along_m, passing, reach_m=2 * defaults.same_thing_most_m),
        group_of_kind=group_of_kind,
        ways=ways_of(paths, codes, looked, origin_m=origin_m, count=len(groups)),
        road_m=sum(float(np.ptp(one)) for one in np.split(place_m, begins[1:])),
    )


def group(  # noqa: PLR0913 - each is another part of the job, handed down by name
    looks: Sequence[Look],
    *,
    kinds: KindTable,
    defaults: Defaults,
    joins: Sequence[tuple[str, str]] = (),
    splits: frozenset[str] = frozenset(),
    paths: Mapping[str, Path] | None = None,
    codes: Sequence[str] = (),
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
    paths
        Drive id to its path, for who passed a thing and did not see it.
    codes
        Codes of the legs in the order that the paths number them.
    """
    if not looks:
        return []
    looks = sorted(looks, key=lambda look: (look.leg, look.along_m, look.item_id))
    at = {look.item_id: i for i, look in enumerate(looks)}
    told = [
        (at[one], at[other])
        for one, other in joins
        if one in at and other in at and looks[at[one]].leg == looks[at[other]].leg
    ]
    # What was split off and then joined stays away from all others, so it is left out of what is
    # found; all other joins are made last: they join whole things, with all their evidence.
    of_told = _united(len(looks), told)
    alone = {int(of_told[i]) for i, look in enumerate(looks) if look.item_id in splits}
    free = [i for i in range(len(looks)) if of_told[i] not in alone]
    found: list[tuple[int, int]] = []
    if free:
        evidence = _evidence([looks[i] for i in free], kinds, defaults, paths or {}, codes)
        first: dict[int, int] = {}
        things = associate(evidence, defaults).thing.tolist()
        found = [(first.setdefault(n, i), i) for i, n in zip(free, things, strict=True)]
    rows_of: dict[int, list[Look]] = {}
    for number, look in zip(_united(len(looks), told + found).tolist(), looks, strict=True):
        rows_of.setdefault(number, []).append(look)
    groups = [Group(looks=tuple(sorted(rows, key=_by_time))) for rows in rows_of.values()]
    return sorted(groups, key=lambda one: _by_time(one.looks[0]))


def _united(count: int, pairs: Sequence[tuple[int, int]]) -> Ints:
    """Number of the set of each of so many, made by uniting pairs."""
    links = np.array(pairs, dtype=np.int64).reshape(-1, 2)
    graph = coo_array((np.ones(len(links)), (links[:, 0], links[:, 1])), shape=(count, count))
    numbers: Ints = connected_components(graph, directed=False)[1]
    return numbers


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
