"""Groups of looks to rows of the list: what we conclude is in the road.

In goes a ``Group`` with its leg, out comes one row of ``tables.OBSTRUCTIONS`` without number and
decision.  Taped beats wheeled beats walked beats vehicle beats file, for the place, the lane and
the size; of heights the lowest that is firm counts, whoever took it.  All evidence is kept.
"""

import math
import re
import zoneinfo
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd

from routeprep.averaging import best_looks, merged_along, merged_offset
from routeprep.kinds import KindTable, Proposal
from routeprep.lateness import People
from routeprep.locating import place
from routeprep.merging import Group, Look, knows_across, passings
from routeprep.shapes import Leg, Settings
from routeprep.tables import ON_FOOT
from routeprep.units import to_m

__all__ = ["CONCLUDED", "care_of", "careful", "conclude", "deep_enough"]

# What of a mark is needed beside its look.
CONCLUDED = (
    "mark_id", "said_station", "said_offset", "lon_deg", "time_utc", "by", "height_m",
    "height_by", "size", "note",
)  # fmt: skip

# A reach along shorter than this is a point [m].  Common practice, no source.
_POINT_M = 1.0
# How many votes one look has on what a thing is: who stood at it read the lid, who drove by saw
# it, and a file may mean its neighbour.  Common practice, no source.
_VOTES = {"file": 1, "vehicle": 2, "walked": 4, "wheeled": 4, "taped": 4}
# Actions from the most careful to the least: first those that keep the drum off.  Common practice,
# no source.
_CARE = (
    "STOP", "SKIP", "LIFT", "GO AROUND", "HAND WORK", "SHALLOW UP TO", "SLOW", "LOOK", "MILL OVER",
    "CUT THROUGH",
)  # fmt: skip
# A status that says how far below the surface somebody measured a casting to be.
_LOWERED = re.compile(r"^lowered (?P<size>\d+(\.\d+)?) ?(?P<unit>in|mm|cm)\b")
# A casting must lie this much deeper than the deepest cut before it may be milled over [m]:
# 1 in, common practice, no source.
_OVER_MARGIN_M = 0.0254
_DOUBTS = (
    "near tie",
    "past an end",
    "poor accuracy",
    "no time",
    "order disagrees with the drive",
)
# What marks that say their station are doubted for begins so.
_SAID = "said "
_LANE = "lane not sure"


def care_of(action: str) -> int:
    """How careful an action is: 0 for the most careful, more for those that are less.

    Examples
    --------
    >>> care_of("STOP") < care_of("LIFT, then look") < care_of("CUT THROUGH")
    True
    """
    return next((rank for rank, one in enumerate(_CARE) if action.startswith(one)), len(_CARE))


def deep_enough(status: str, *, depth_m: float) -> bool:
    """Whether a casting was lowered, and measured deeper than the cut by the margin.

    Parameters
    ----------
    status
        As it was decided, with or without who and when.
    depth_m
        The deepest cut there [m]; when it is not known (NaN), nothing is deep enough.

    Examples
    --------
    >>> deep_enough("lowered 4 in (R. Vega, 2026-05-20)", depth_m=0.0508)
    True
    >>> deep_enough("lowered 1 in", depth_m=0.0508), deep_enough("walked", depth_m=0.0)
    (False, False)
    """
    match = _LOWERED.match(status)
    return match is not None and to_m(float(match["size"]), match["unit"]) >= (
        depth_m + _OVER_MARGIN_M
    )


def careful(codes: Sequence[str], kinds: KindTable, *, depth_m: float) -> Proposal:
    """The most careful of what the table proposes for kinds that a thing may be.

    Whoever one of them names for that action is named, the first kind's first.

    Parameters
    ----------
    codes
        Codes of the table, at least one.
    kinds
        The table.
    depth_m
        Depth of the cut [m]; NaN when not known.
    """
    proposals = [kinds.propose(code, depth_m=depth_m) for code in codes]
    best = min(proposals, key=lambda one: care_of(one.action))
    who = dict.fromkeys(one.who for one in proposals if one.action == best.action and one.who)
    return Proposal(to_depth_m=best.to_depth_m, action=best.action, who="; ".join(who))


def _kind(looks: Sequence[Look], kinds: KindTable, depth_m: float) -> str:
    """The kind with the most votes; one that may be several votes for each of them.

    So an exact kind goes before one that may be it.  Among equals the more careful one, then the
    one said first.
    """
    votes = Counter[str]()
    for look in looks:
        for code in {look.kind, *kinds.kinds[look.kind].may_be}:
            votes[code] += _VOTES[look.method]
    said = dict.fromkeys(look.kind for look in looks)
    most = max(votes[code] for code in said)
    equal = [code for code in said if votes[code] == most]
    exact = [code for code in equal if not kinds.kinds[code].may_be] or equal
    if len(exact) == 1:
        return exact[0]
    return min(exact, key=lambda code: care_of(kinds.propose(code, depth_m=depth_m).action))


def _called(names: Sequence[str]) -> list[str]:
    """What else a thing was called, and how often, each a doubt of its own."""
    often = {1: "once", 2: "twice"}
    return [
        f"called {name} {often.get(count, f'{count} times')}"
        for name, count in Counter(names).items()
    ]


def _kind_doubts(looks: Sequence[Look], kind: str, kinds: KindTable) -> list[str]:
    """What else it was called, by persons and in files."""
    wrong = [look for look in looks if not kinds.same_thing(look.kind, kind)]
    files = dict.fromkeys(kinds.kinds[look.kind].name for look in wrong if not look.is_mark)
    return [
        *_called([kinds.kinds[look.kind].name for look in wrong if look.is_mark]),
        *(f"called {name} in a file" for name in files),
    ]


def _lane(looks: Sequence[Look]) -> tuple[str, str, list[str]]:
    """Lane, position and what is doubtful about them, from the best marks that know it.

    Of lanes that contradict each other only what they share is kept: the side, or nothing.
    Where the best say no position, others of that lane do.
    """
    sure = [look for look in looks if _LANE not in look.doubt]
    best = best_looks(sure or looks)
    lanes = {look.lane for look in best if look.lane}
    sides = {lane[0] for lane in lanes}
    lane = "".join(lanes) if len(lanes) == 1 else "".join(sides) if len(sides) == 1 else ""
    told = [look.position for look in best if look.position]
    told = told or [
        look.position for look in (sure or looks) if look.position and look.lane == lane
    ]
    ranked = Counter(told).most_common(2)
    tied = len(ranked) > 1 and ranked[0][1] == ranked[1][1]
    position = ranked[0][0] if ranked and not tied else ""
    doubts = _called([one for one in told if one != position])
    return lane, position, doubts if sure and len(lanes) <= 1 else [*doubts, _LANE]


def _blind(look: Look, marks: Mapping[str, Mapping[str, Any]]) -> bool:
    """Whether only a station was said: where across, neither words nor a position tell."""
    mark = marks.get(look.item_id)
    if mark is None or look.lane or not mark["said_station"]:
        return False
    return not mark["said_offset"] and math.isnan(mark["lon_deg"])


def _giving_offset(
    looks: Sequence[Look],
    best: Sequence[Look],
    lane: str,
    position: str,
    *,
    sure: bool,
) -> list[Look]:
    """The looks that give the offset: of the best, those that agree with the lane said.

    Where nobody said, those that know more of it than where the vehicle was.
    """
    said = [look for look in looks if sure and look.lane == lane and _LANE not in look.doubt]
    told = [look for look in said if look.position == position]
    known = [look for look in best if knows_across(look)]
    others = [look for look in looks if knows_across(look)]
    return best_looks(told or said or known or others or best)


def _doubt(best: Sequence[Look], *others: str) -> str:
    said = {word for look in best for word in look.doubt.split("; ")}
    words = [word for word in _DOUBTS if word in said]
    words += sorted(word for word in said if word.startswith(_SAID))
    return "; ".join([*words, *others])


def _status(
    looks: Sequence[Look],
    marks: Mapping[str, Mapping[str, Any]],
    *,
    times: int,
    zone: zoneinfo.ZoneInfo,
) -> str:
    on_foot = [look for look in looks if look.method in ON_FOOT]
    if on_foot:
        mark = marks[best_looks(on_foot)[-1].item_id]
        when = mark["time_utc"]
        date = "" if pd.isna(when) else f"{when.astimezone(zone):%Y-%m-%d}"
        said = ", ".join(part for part in (str(mark["by"]), date) if part)
        return f"walked ({said})" if said else "walked"
    if times == 0:
        return "in a file, not seen"
    return "seen once" if times == 1 else "seen twice or more"


def _height(marks: Sequence[Mapping[str, Any]]) -> tuple[float, str]:
    """The lowest height that was posted or measured; else the lowest guess."""
    known = [(float(mark["height_m"]), str(mark["height_by"])) for mark in marks]
    known = [pair for pair in known if math.isfinite(pair[0])]
    firm = [pair for pair in known if pair[1] in ("posted", "measured")]
    return min(firm or known, default=(math.nan, ""))


def _reach(looks: Sequence[Look], along_m: float) -> tuple[float, float]:
    long = [look for look in looks if look.to_m - look.from_m > _POINT_M]
    if not long:
        return along_m, along_m
    return min(look.from_m for look in long), max(look.to_m for look in long)


def _size(looks: Sequence[Look], marks: Mapping[str, Mapping[str, Any]]) -> str:
    """The size as said by the best marks that say one."""
    sized = [look for look in looks if marks[look.item_id]["size"]]
    return _words([str(marks[look.item_id]["size"]) for look in best_looks(sized)]) if sized else ""


def _words(values: Sequence[str]) -> str:
    """Each different text once, in time order."""
    return " / ".join(dict.fromkeys(value for value in values if value))


def conclude(
    one: Group,
    leg: Leg,
    *,
    anchor_id: str,
    marks: Mapping[str, Mapping[str, Any]],
    people: People,
    settings: Settings,
) -> dict[str, Any]:
    """Conclude what one group of looks is and where; ``called`` is each kind it was called by.

    Parameters
    ----------
    one
        The group.
    leg
        Its leg.
    anchor_id
        The item it is known by.
    marks
        Mark id to the mark's row, with ``CONCLUDED``.
    people
        How late each person taps, as it was taken off the looks.
    settings
        The job: its kinds, and its time zone for dates.
    """
    looks, best, kinds = one.looks, best_looks(one.looks), settings.kinds
    seen = [look for look in looks if look.is_mark]
    times = passings(seen)
    kind = _kind(looks, kinds, leg.settings.depth_m)
    along_m, along_sd_m = merged_along(best, people)
    lane, position, unsure = _lane(seen or looks)
    across = [look for look in looks if not _blind(look, marks)] or looks
    chosen = _giving_offset(across, best_looks(across), lane, position, sure=_LANE not in unsure)
    offset_m, offset_sd_m = merged_offset(chosen, marks)
    from_m, to_m = _reach(looks, along_m)
    rows = [marks[look.item_id] for look in seen]
    height_m, height_by = _height(rows)
    lon, lat = place(leg.line, np.array([along_m]), np.array([offset_m]))
    return {
        "anchor_id": anchor_id,
        "leg": leg.settings.code,
        "kind": kind,
        "called": tuple(dict.fromkeys(look.kind for look in looks)),
        "name": kinds.kinds[kind].name,
        "from_m": from_m,
        "to_m": to_m,
        "along_m": along_m,
        "offset_m": offset_m,
        "along_sd_m": along_sd_m,
        "offset_sd_m": offset_sd_m,
        "lane": lane,
        "across": position,
        "times_seen": times,
        "method": best[0].method,
        "mark_ids": tuple(look.item_id for look in seen),
        "record_ids": tuple(look.item_id for look in looks if not look.is_mark),
        "status": _status(seen, marks, times=times, zone=settings.timezone),
        "height_m": height_m,
        "height_by": height_by,
        "size": _size(seen, marks),
        "doubt": _doubt(best, *_kind_doubts(looks, kind, kinds), *unsure),
        "note": _words([str(row["note"]) for row in rows]),
        "past_end_m": max(look.past_end_m for look in best),
        "lon_deg": float(lon[0]),
        "lat_deg": float(lat[0]),
    }
