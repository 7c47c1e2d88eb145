"""How often each stretch of a leg was looked at: which way, in which lane, by day or by night.

In go the drives' paths on the legs, out comes the table ``tables.COVERAGE``, a row a stretch; a
row with a reason belongs on the list of what was poorly looked at.  A look is one passing of a
vehicle: there and back in one drive is two.
"""

import itertools
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from routeprep import tables
from routeprep.drives import seconds_of, silent
from routeprep.geodesy import plane_at
from routeprep.lanes import BLOCK_M, lane_fit
from routeprep.locating import locate
from routeprep.matching import Path
from routeprep.planar import thin
from routeprep.shapes import Defaults, Leg, Settings
from routeprep.sun import DUSK_DEG, elevation_deg
from routeprep.tables import rows_of

__all__ = ["coverage_of", "poorly"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]

# A drive turned round when it came back by more than this [m]: twice what a phone strays.  Common
# practice, no source.
_TURN_M = 30.0
# The signal was lost in a silence when the vehicle went farther than this meanwhile [m]; common
# practice, no source.
_LOST_M = 30.0
# A lane is told when its chance is at least this; common practice, no source.
_TOLD = 0.9
# A fix is of the passing when it lies this near to where the passing was at its time [m]; common
# practice, no source.
_NEAR_M = 40.0
# Fixes of drives without times are thinned to this [m]; common practice, no source.
_THIN_M = 12.0
# Marks with which people say that parked cars hid the road: all along, from here, to here.
_PARKED, _BEGIN, _END = "PKG", "PKB", "PKE"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Pass:
    """One passing along a leg: rows in the order of along, rising."""

    direction: int
    along_m: Floats
    seconds: Floats
    lost: Flags


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Look:
    """What one passing saw of each stretch of a leg; NaN and empty where nothing is known."""

    direction: int
    seen: Flags
    lost: Flags
    sun_deg: Floats
    fastest_mps: Floats
    worst_sd_m: Floats
    lanes: list[str]


def _edges_m(leg: Leg) -> Floats:
    """Where a leg's stretches begin and end [m]; what is left over goes to the last one."""
    length_m = leg.line.length_m
    inner_m = np.arange(1, int(length_m / BLOCK_M) + 1) * BLOCK_M
    return np.concatenate([[0.0], inner_m[inner_m <= length_m - BLOCK_M / 2], [length_m]])


def _turns(along_m: Floats) -> list[tuple[int, int, int]]:
    """First row, last row and direction of each passing, turning round told from noise."""
    passes, first, far, way = [], 0, 0, 0
    for row, here_m in enumerate(along_m.tolist()):
        back_m = here_m - float(along_m[far])
        if way == 0 and abs(back_m) > _TURN_M:
            way, far = (1 if back_m > 0 else -1), row
        elif way * back_m > 0:
            far = row
        elif way and abs(back_m) > _TURN_M:
            passes.append((first, far, way))
            first, far, way = far, row, -way
    return [*passes, (first, far, way)] if way else passes


def _passes(path: Path, leg: int) -> list[_Pass]:
    """Every passing of a drive along one leg."""
    on = np.flatnonzero(path.leg == leg)
    wait_s = np.diff(path.seconds)
    usual_s = float(np.median(wait_s)) if len(wait_s) else 0.0
    passes = []
    for rows in np.split(on, np.flatnonzero(np.diff(on) > 1) + 1):
        for first, last, way in _turns(path.along_m[rows]):
            part = rows[first : last + 1]
            along_m = way * np.maximum.accumulate(way * path.along_m[part])
            seconds = path.seconds[part]
            silence = silent(np.diff(seconds), usual_s=usual_s)
            lost = silence & (np.abs(np.diff(along_m)) > _LOST_M)
            passes.append(
                _Pass(
                    direction=way,
                    along_m=along_m[::way],
                    seconds=seconds[::way],
                    lost=lost[::way],
                )
            )
    return passes


def _untimed(drive: pd.DataFrame, legs: Sequence[Leg], defaults: Defaults) -> Path:
    """The path of a drive without times: each fix on its nearest leg."""
    lon, lat = drive["smooth_lon_deg"].to_numpy(), drive["smooth_lat_deg"].to_numpy()
    xy_m = plane_at(float(np.median(lon)), float(np.median(lat))).to_xy(lon, lat)
    rows = thin(xy_m, step_m=_THIN_M)
    places = [locate(leg.line, lon[rows], lat[rows]) for leg in legs]
    away_m = np.array([one.distance_m for one in places])
    leg = np.argmin(away_m, axis=0)
    near = away_m.min(axis=0) <= defaults.road_corridor_m
    along_m = np.array([one.along_m for one in places])[leg, np.arange(len(rows))]
    nothing = np.full(len(rows), np.nan)
    return Path(
        seconds=nothing,
        leg=np.where(near, leg, -1),
        along_m=np.where(near, along_m, np.nan),
        driven_m=nothing,
    )


def _look(one: _Pass, leg: Leg, drive: pd.DataFrame) -> _Look:
    """What a passing saw: stretches that it covered half of or more."""
    edges_m = _edges_m(leg)
    size_m = np.diff(one.along_m)
    seen, lost = (
        np.diff(np.interp(edges_m, one.along_m, np.r_[0.0, np.cumsum(size_m * which)]))
        >= np.diff(edges_m) / 2
        for which in (~one.lost, one.lost)
    )
    middle_m = (edges_m[1:] + edges_m[:-1]) / 2
    line = leg.line
    lon, lat = (np.interp(middle_m, line.along_m, at) for at in (line.lon_deg, line.lat_deg))
    fixes = _fixes_of(one, drive)
    at = np.clip(np.searchsorted(edges_m, fixes["at_m"], side="right") - 1, 0, len(seen) - 1)
    fastest_mps, worst_sd_m = np.full((2, len(seen)), np.nan)
    np.fmax.at(fastest_mps, at, fixes["smooth_speed_mps"].to_numpy())
    np.fmax.at(worst_sd_m, at, fixes["smooth_sd_m"].to_numpy())
    return _Look(
        direction=one.direction,
        seen=seen,
        lost=lost,
        sun_deg=elevation_deg(np.interp(middle_m, one.along_m, one.seconds), lon, lat),
        fastest_mps=fastest_mps,
        worst_sd_m=worst_sd_m,
        lanes=_lanes(one, leg, fixes, at, count=len(seen)),
    )


def _fixes_of(one: _Pass, drive: pd.DataFrame) -> pd.DataFrame:
    """The fixes of a passing, with where along the leg each was; none without times."""
    order = np.argsort(one.seconds, kind="stable")
    seconds = seconds_of(drive["time_utc"])
    during = (seconds >= one.seconds[order[0]]) & (seconds <= one.seconds[order[-1]])
    at_m = np.interp(seconds[during], one.seconds[order], one.along_m[order])
    fixes: pd.DataFrame = drive[during].assign(at_m=at_m)
    return fixes


def _lanes(one: _Pass, leg: Leg, fixes: pd.DataFrame, at: Ints, *, count: int) -> list[str]:
    """The lane of a passing on each stretch; only the side where it is not told."""
    letter = "R" if one.direction > 0 else "L"
    lanes = leg.settings.lanes_right if one.direction > 0 else leg.settings.lanes_left
    unknown = f"{letter} lane not told"
    if lanes <= 1:
        return [f"{letter}1" if lanes else unknown] * count
    places = locate(
        leg.line, fixes["smooth_lon_deg"].to_numpy(), fixes["smooth_lat_deg"].to_numpy()
    )
    near = np.abs(places.along_m - fixes["at_m"].to_numpy()) <= _NEAR_M
    known, row = np.unique(at[near], return_inverse=True)
    if not len(known):
        return [unknown] * count
    mean_m = np.bincount(row, weights=places.offset_m[near]) / np.bincount(row)
    chance = lane_fit(
        one.direction * mean_m,
        middle_m=np.zeros(1),
        lanes=lanes,
        lane_width_m=leg.settings.lane_width_m,
        sd_m=float(np.hypot(fixes["smooth_sd_m"].median(), np.median(leg.line.sd_m))),
    ).chance[:, 0]
    said = [unknown] * count
    for stretch, one_lane in zip(known, chance.T, strict=True):
        if one_lane.max() >= _TOLD:
            said[stretch] = f"{letter}{int(np.argmax(one_lane)) + 1}"
    return said


def _parked(marks: pd.DataFrame) -> list[dict[str, Any]]:
    """Where somebody said that parked cars hid the road: leg, from, to [m], and the words."""
    said = marks[marks["kind"].isin([_PARKED, _BEGIN, _END]) & (marks["leg"] != "")]
    order = ["leg", "drive_id", "source", "time_utc", "along_m", "mark_id"]
    open_at: dict[tuple[str, ...], dict[str, Any]] = {}
    spans = []
    for mark in rows_of(said.sort_values(order, kind="stable")):
        key = (mark["leg"], mark["drive_id"], mark["source"])
        begun = open_at.pop(key, None)
        if begun and mark["kind"] == _END:
            ends_m = (begun["from_m"], begun["to_m"], mark["from_m"], mark["to_m"])
            spans.append(_span(begun, min(ends_m), max(ends_m)))
            continue
        # A beginning without an end, or an end alone, holds for its own stretch.
        spans += [_span(begun, begun["from_m"], begun["to_m"])] if begun else []
        if mark["kind"] == _BEGIN:
            open_at[key] = mark
        else:
            spans.append(_span(mark, mark["from_m"], mark["to_m"]))
    return spans + [_span(mark, mark["from_m"], mark["to_m"]) for mark in open_at.values()]


def _span(mark: Mapping[str, Any], from_m: float, to_m: float) -> dict[str, Any]:
    side = {1: " on the right", -1: " on the left"}.get(int(mark["travel"]), "")
    text = f"parked cars hid it{side} (said by {mark['by'] or mark['source']})"
    return {"leg": mark["leg"], "from_m": from_m, "to_m": to_m, "text": text}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Counts:
    """What was counted on one stretch; equal neighbours are put together."""

    looks_up: int
    looks_down: int
    looks_day: int
    looks_night: int
    lanes: str
    reason: str


def _counts(looks: Sequence[_Look], leg: Leg, stretch: int, parked: Sequence[str]) -> _Counts:
    """The counts of one stretch, and why it was poorly looked at."""
    saw = [look for look in looks if look.seen[stretch]]
    up = sum(look.direction > 0 for look in saw)
    down = len(saw) - up
    night = sum(bool(look.sun_deg[stretch] < DUSK_DEG) for look in saw)
    lost = any(look.lost[stretch] for look in looks)
    two_way = leg.settings.lanes_left > 0 and leg.settings.lanes_right > 0
    why = {
        "not driven": not saw and not lost,
        "driven once": len(saw) == 1,
        "one direction only": two_way and len(saw) > 1 and not (up and down),
        "only at night": bool(saw) and night == len(saw),
        "signal lost": lost and len(saw) <= 1,
    }
    lanes = Counter(look.lanes[stretch] for look in saw)
    return _Counts(
        looks_up=up,
        looks_down=down,
        looks_day=sum(bool(look.sun_deg[stretch] >= DUSK_DEG) for look in saw),
        looks_night=night,
        lanes=", ".join(f"{lane} {count}" for lane, count in sorted(lanes.items())),
        reason="; ".join([*(text for text, true in why.items() if true), *parked]),
    )


def _rows(
    looks: Sequence[_Look], leg: Leg, parked: Sequence[Mapping[str, Any]]
) -> list[dict[str, Any]]:
    """Stretches of one leg, neighbours that count alike put together."""
    edges_m = _edges_m(leg)
    counts = []
    for stretch, (from_m, to_m) in enumerate(itertools.pairwise(edges_m.tolist())):
        beside = [one for one in parked if one["from_m"] < to_m and one["to_m"] >= from_m]
        texts = sorted({str(one["text"]) for one in beside if one["leg"] == leg.settings.code})
        counts.append(_counts(looks, leg, stretch, texts))
    unknown = np.full(len(counts), np.nan)
    fastest_mps = np.fmax.reduce([unknown, *(look.fastest_mps for look in looks)])
    worst_sd_m = np.fmax.reduce([unknown, *(look.worst_sd_m for look in looks)])
    rows = []
    for count, group in itertools.groupby(range(len(counts)), key=counts.__getitem__):
        stretches = list(group)
        rows.append(
            asdict(count)
            | {
                "leg": leg.settings.code,
                "from_m": float(edges_m[stretches[0]]),
                "to_m": float(edges_m[stretches[-1] + 1]),
                "fastest_mps": float(np.fmax.reduce(fastest_mps[stretches])),
                "worst_sd_m": float(np.fmax.reduce(worst_sd_m[stretches])),
            }
        )
    return rows


def coverage_of(
    fixes: pd.DataFrame,
    paths: Mapping[str, Path],
    legs: Sequence[Leg],
    marks: pd.DataFrame,
    settings: Settings,
) -> pd.DataFrame:
    """Count the looks at every stretch of every leg.

    Parameters
    ----------
    fixes
        Cleaned fixes with ``tables.SMOOTHED``.
    paths
        Drive id to its path on the legs; drives without times have none, and are put on their
        nearest leg.
    legs
        The job's legs.
    marks
        Marks with ``tables.LOCATED``, for those that say that parked cars hid the road.
    settings
        The job.
    """
    drives = {str(key): drive for key, drive in fixes.groupby("drive_id", sort=True)}
    every = {
        key: paths[key] if key in paths else _untimed(drive, legs, settings.defaults)
        for key, drive in drives.items()
    }
    parked = _parked(marks)
    rows = []
    for number, leg in enumerate(legs):
        looks = [
            _look(one, leg, drives[key])
            for key, path in every.items()
            for one in _passes(path, number)
        ]
        rows += _rows(looks, leg, parked)
    return tables.table(tables.COVERAGE, rows)


def poorly(coverage: pd.DataFrame, legs: Sequence[Leg]) -> pd.DataFrame:
    """Stretches within the limits of the cut that were poorly looked at, and why.

    Parameters
    ----------
    coverage
        Table ``tables.COVERAGE``.
    legs
        The job's legs, for their limits.

    Returns
    -------
    table
        Of ``leg``, ``from_m``, ``to_m`` and ``reason``, by leg, then along; neighbours with one
        reason are one.
    """
    found = []
    for leg in legs:
        own = coverage[coverage["leg"] == leg.settings.code]
        for reason, group in itertools.groupby(rows_of(own), key=lambda row: str(row["reason"])):
            rows = list(group)
            from_m = max(rows[0]["from_m"], leg.from_m)
            to_m = min(rows[-1]["to_m"], leg.to_m)
            if reason and from_m < to_m:
                found.append((leg.settings.code, from_m, to_m, reason))
    frame = pd.DataFrame(found, columns=["leg", "from_m", "to_m", "reason"])
    return frame.astype({"leg": "str", "from_m": float, "to_m": float, "reason": "str"})
