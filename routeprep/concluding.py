"""Groups of looks to rows of the list: what we conclude is in the road.

In goes a ``Group`` with its leg, out comes one row of ``tables.OBSTRUCTIONS`` without number and
decision.  Taped beats wheeled beats walked beats vehicle beats file, for the place, the lane and
the size; of heights the lowest that is firm counts, whoever took it.  All evidence is kept.
"""

import math
import zoneinfo
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd

from routeprep.kinds import KindTable
from routeprep.locating import place
from routeprep.merging import METHODS, Group, Look, knows_across, passings
from routeprep.shapes import Leg
from routeprep.tables import ON_FOOT

__all__ = ["conclude"]

# A reach along shorter than this is a point [m].  Common practice, no source.
_POINT_M = 1.0
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


def _best(looks: Sequence[Look]) -> list[Look]:
    """The looks of the best method there is; they give the place."""
    top = max(METHODS.index(look.method) for look in looks)
    return [look for look in looks if METHODS.index(look.method) == top]


def _most(values: Sequence[str]) -> str:
    """The value said most often; the first said among equals; empty when none."""
    counts = Counter(value for value in values if value)
    return counts.most_common(1)[0][0] if counts else ""


def _kind(looks: Sequence[Look], kinds: KindTable) -> str:
    """The kind said most often, an exact one before one that may be several."""
    exact = [look.kind for look in looks if not kinds.kinds[look.kind].may_be]
    return _most(exact) or _most([look.kind for look in looks])


def _along(looks: Sequence[Look]) -> tuple[float, float]:
    """Weighted mean along and its standard deviation [m].

    Looks by one person in one direction share their lateness, so they count as one look for the
    standard deviation.  Looks that disagree by more than their own deviations widen it by the
    square root of chi-square over its degrees of freedom (Birge, The calculation of errors by
    the method of least squares, Physical Review 40, 1932).
    """
    weight = np.array([1.0 / max(look.along_sd_m, 0.01) ** 2 for look in looks])
    along = np.array([look.along_m for look in looks])
    mean = float(np.sum(weight * along) / weight.sum())
    people = {(look.by or look.drive_id, look.travel) for look in looks}
    variance = len(looks) / weight.sum() / len(people)
    ratio = float(np.sum(weight * (along - mean) ** 2)) / max(len(looks) - 1, 1)
    return mean, math.sqrt(variance * max(ratio, 1.0))


def _lane(looks: Sequence[Look]) -> tuple[str, str, bool]:
    """Lane, position and whether the lane is known, from the best marks that know it.

    Of lanes that contradict each other only what they share is kept: the side, or nothing.
    Where the best say no position, others of that lane do.
    """
    sure = [look for look in looks if _LANE not in look.doubt]
    best = _best(sure or looks)
    lanes = {look.lane for look in best if look.lane}
    sides = {lane[0] for lane in lanes}
    lane = "".join(lanes) if len(lanes) == 1 else "".join(sides) if len(sides) == 1 else ""
    told = [look for look in best if look.position]
    told = told or [look for look in (sure or looks) if look.position and look.lane == lane]
    ranked = Counter(look.position for look in told).most_common(2)
    tied = len(ranked) > 1 and ranked[0][1] == ranked[1][1]
    position = ranked[0][0] if ranked and not tied else ""
    return lane, position, bool(sure) and len(lanes) <= 1


def _blind(look: Look, marks: Mapping[str, Mapping[str, Any]]) -> bool:
    """Whether only a station was said: where across, neither words nor a position tell."""
    mark = marks.get(look.item_id)
    if mark is None or look.lane or not mark["said_station"]:
        return False
    return not mark["said_offset"] and math.isnan(mark["lon_deg"])


def _offset(
    looks: Sequence[Look],
    best: Sequence[Look],
    lane: str,
    position: str,
    *,
    sure: bool,
) -> tuple[float, float]:
    """Offset and its standard deviation [m] from the best looks that agree with the lane said.

    Where nobody said, from what knows more of it than where the vehicle was.
    """
    said = [look for look in looks if sure and look.lane == lane and _LANE not in look.doubt]
    told = [look for look in said if look.position == position]
    known = [look for look in best if knows_across(look)]
    others = [look for look in looks if knows_across(look)]
    chosen = _best(told or said or known or others or best)
    weight = np.array([1.0 / max(look.offset_sd_m, 0.01) ** 2 for look in chosen])
    offset = np.array([look.offset_m for look in chosen])
    mean = float(np.sum(weight * offset) / weight.sum())
    return mean, min(look.offset_sd_m for look in chosen)


def _doubt(best: Sequence[Look], *, sure: bool) -> str:
    said = {word for look in best for word in look.doubt.split("; ")}
    words = [word for word in _DOUBTS if word in said]
    words += sorted(word for word in said if word.startswith(_SAID))
    return "; ".join(words if sure else [*words, _LANE])


def _status(
    looks: Sequence[Look],
    marks: Mapping[str, Mapping[str, Any]],
    *,
    times: int,
    zone: zoneinfo.ZoneInfo,
) -> str:
    on_foot = [look for look in looks if look.method in ON_FOOT]
    if on_foot:
        mark = marks[_best(on_foot)[-1].item_id]
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
    return _words([str(marks[look.item_id]["size"]) for look in _best(sized)]) if sized else ""


def _words(values: Sequence[str]) -> str:
    """Each different text once, in time order."""
    return " / ".join(dict.fromkeys(value for value in values if value))


def conclude(
    one: Group,
    leg: Leg,
    *,
    anchor_id: str,
    marks: Mapping[str, Mapping[str, Any]],
    kinds: KindTable,
    zone: zoneinfo.ZoneInfo,
) -> dict[str, Any]:
    """Conclude what one group of looks is and where.

    Parameters
    ----------
    one
        The group.
    leg
        Its leg.
    anchor_id
        The item it is known by.
    marks
        Mark id to the mark's row.
    kinds
        The job's kinds.
    zone
        The job's time zone, for dates.
    """
    looks, best = one.looks, _best(one.looks)
    seen = [look for look in looks if look.is_mark]
    times = passings(seen)
    kind = _kind(looks, kinds)
    along_m, along_sd_m = _along(best)
    lane, position, sure = _lane(seen or looks)
    across = [look for look in looks if not _blind(look, marks)] or looks
    offset_m, offset_sd_m = _offset(across, _best(across), lane, position, sure=sure)
    from_m, to_m = _reach(looks, along_m)
    rows = [marks[look.item_id] for look in seen]
    height_m, height_by = _height(rows)
    lon, lat = place(leg.line, np.array([along_m]), np.array([offset_m]))
    return {
        "anchor_id": anchor_id,
        "leg": leg.settings.code,
        "kind": kind,
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
        "status": _status(seen, marks, times=times, zone=zone),
        "height_m": height_m,
        "height_by": height_by,
        "size": _size(seen, marks),
        "doubt": _doubt(best, sure=sure),
        "note": _words([str(row["note"]) for row in rows]),
        "past_end_m": max(look.past_end_m for look in best),
        "lon_deg": float(lon[0]),
        "lat_deg": float(lat[0]),
    }
