"""Drives onto legs, in the order of time: which leg the vehicle was on, where, and which way.

In go cleaned fixes and legs, out comes a ``Path`` a drive.  Among the places a fix may be, the
sequence is chosen that asks for the least jumping (Viterbi's algorithm; Newson and Krumm, Hidden
Markov map matching through noise and sparseness, 2009), so that there-and-back, crossings and
streets side by side come out by time and course before position.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from routeprep.drives import seconds_of
from routeprep.geodesy import plane_at
from routeprep.lines import Centerline
from routeprep.locating import Places, locate, locate_near, runners_up
from routeprep.planar import thin
from routeprep.shapes import Defaults, Leg

__all__ = ["Path", "driven_at", "match", "way_at", "where_at"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

# Fixes are thinned to this [m] before matching.  All values here: common practice, no source.
_THIN_M = 12.0
# Standard deviation of a fix's distance from its leg's line, wherever in its lane [m].
_OFFSET_SD_M = 8.0
# Costs, as half a squared number of standard deviations: being on no leg, a course across the
# line, a change of leg, leaving or coming back to a leg, and the most that a jump along can cost.
_OFF_ROAD = 7.0
_ACROSS = 6.0
_CHANGE_LEG = 4.0
_LEAVE = 3.0
_JUMP_MOST = 30.0
# A course is across the line when the cosine of the angle between them is less than this.
_COURSE_COS = 0.7
# Changes from so many fixes to the next are weighed together, so that memory stays bounded.
_CHUNK = 1000
_TWO = 2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Path:
    """Where one drive was, in the order of time.

    Attributes
    ----------
    seconds
        Time of each thinned fix [s since 1970].
    leg
        Index of the leg it was on, -1 for none.
    along_m
        Distance along that leg [m], NaN for none.
    driven_m
        Distance driven since the drive began [m], the straight way across its gaps.
    """

    seconds: Floats
    leg: Ints
    along_m: Floats
    driven_m: Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _States:
    """Candidate places of thinned fixes: one row a candidate, one column a fix."""

    leg: Ints
    along_m: Floats
    cost: Floats


def way_at(line: Centerline, along_m: Floats) -> Floats:
    """Unit direction of a line, east and north, at distances along it.

    Parameters
    ----------
    line
        The leg's line.
    along_m
        Distances along it [m]; past an end the end segment counts.
    """
    here = np.clip(
        np.searchsorted(line.along_m, along_m, side="right") - 1, 0, len(line.along_m) - 2
    )
    squeeze = np.cos(np.radians(line.lat_deg[here]))
    east = (line.lon_deg[here + 1] - line.lon_deg[here]) * squeeze
    north = line.lat_deg[here + 1] - line.lat_deg[here]
    size = np.hypot(east, north)
    return np.column_stack([east / size, north / size])


def _cost(leg: Leg, places: Places, course: Floats, defaults: Defaults) -> Floats:
    """Cost of being at each place: how far beside, and whether the course runs with the line."""
    offset = np.minimum(places.distance_m, defaults.road_corridor_m)
    cost = 0.5 * (offset / _OFFSET_SD_M) ** 2
    along = np.nan_to_num(places.along_m, nan=0.0)
    across = np.abs(np.sum(way_at(leg.line, along) * course, axis=1)) < _COURSE_COS
    cost = cost + np.where(across, _ACROSS, 0.0)
    near = places.distance_m <= defaults.road_corridor_m
    return np.where(near, cost, np.inf)


def _states(
    lon_deg: Floats,
    lat_deg: Floats,
    course: Floats,
    *,
    legs: Sequence[Leg],
    defaults: Defaults,
) -> _States:
    """The best place and the runner-up on each leg, and off the road."""
    leg_rows, along_rows, cost_rows = [], [], []
    for index, leg in enumerate(legs):
        best = locate(leg.line, lon_deg, lat_deg)
        other_m = runners_up(
            leg.line,
            lon_deg,
            lat_deg,
            best,
            within_m=defaults.runner_up_within_m,
            apart_m=defaults.runner_up_apart_m,
        )
        # Beyond the corridor the other place is not on the road either.
        other_m[best.distance_m > defaults.road_corridor_m] = np.nan
        half_m = defaults.runner_up_apart_m / 2
        other = locate_near(leg.line, lon_deg, lat_deg, near_m=other_m, window_m=half_m)
        for places in (best, other):
            leg_rows.append(np.full(len(lon_deg), index))
            along_rows.append(places.along_m)
            cost_rows.append(_cost(leg, places, course, defaults))
    leg_rows.append(np.full(len(lon_deg), -1))
    along_rows.append(np.full(len(lon_deg), np.nan))
    cost_rows.append(np.full(len(lon_deg), _OFF_ROAD))
    return _States(leg=np.array(leg_rows), along_m=np.array(along_rows), cost=np.array(cost_rows))


def _step_costs(
    states: _States, driven_m: Floats, breaks: npt.NDArray[np.bool_]
) -> Iterator[Floats]:
    """Cost of each change of state (rows to columns) from each fix to the next; 0 at a break."""
    for begin in range(0, len(driven_m) - 1, _CHUNK):
        rows = slice(begin, begin + _CHUNK + 1)
        leg, along_m = states.leg.T[rows], states.along_m.T[rows]
        leg_0, leg_1 = leg[:-1, :, None], leg[1:, None]
        moved_m = np.abs(along_m[1:, None] - along_m[:-1, :, None])
        # Along and distance driven agree with a standard deviation of 5 m and a fifth of the way.
        way_m = driven_m[rows][1:, None, None]
        miss = (np.nan_to_num(moved_m) - way_m) / (5.0 + 0.2 * way_m)
        same = np.minimum(0.5 * miss**2, _JUMP_MOST)
        off_0, off_1 = leg_0 < 0, leg_1 < 0
        change = np.where(off_0 ^ off_1, _LEAVE, _CHANGE_LEG)
        cost = np.where(leg_0 == leg_1, np.where(off_0, 0.0, same), change)
        yield from np.where(breaks[rows][1:, None, None], 0.0, cost)


def _best(states: _States, driven_m: Floats, breaks: npt.NDArray[np.bool_]) -> Ints:
    """State of each fix on the cheapest sequence."""
    costs = states.cost.T
    total, back = costs[0], np.zeros(costs.shape, dtype=np.int64)
    for step, cost, best in zip(
        _step_costs(states, driven_m, breaks), costs[1:], back[1:], strict=True
    ):
        sums = total[:, None] + step
        sums.argmin(axis=0, out=best)
        total = sums.min(axis=0) + cost
    chosen = [int(np.argmin(total))]
    for from_state in reversed(back[1:].tolist()):
        chosen.append(from_state[chosen[-1]])
    return np.array(chosen[::-1], dtype=np.int64)


def _match_one(drive: pd.DataFrame, legs: Sequence[Leg], defaults: Defaults) -> Path:
    lon, lat = drive["lon_deg"].to_numpy(), drive["lat_deg"].to_numpy()
    xy = plane_at(float(np.median(lon)), float(np.median(lat))).to_xy(lon, lat)
    rows = thin(xy, step_m=_THIN_M)
    xy, piece = xy[rows], drive["piece"].to_numpy()[rows]
    course = np.gradient(xy, axis=0) if len(xy) >= _TWO else np.ones_like(xy)
    course = course / np.maximum(np.hypot(course[:, 0], course[:, 1]), 1e-9)[:, None]
    states = _states(lon[rows], lat[rows], course, legs=legs, defaults=defaults)
    driven_m = np.r_[0.0, np.hypot(*np.diff(xy, axis=0).T)]
    breaks = np.r_[True, np.diff(piece) != 0]
    chosen = _best(states, driven_m, breaks)
    at = (chosen, np.arange(len(rows)))
    return Path(
        seconds=seconds_of(drive["time_utc"])[rows],
        leg=states.leg[at],
        along_m=states.along_m[at],
        driven_m=np.cumsum(driven_m),
    )


def match(fixes: pd.DataFrame, legs: Sequence[Leg], defaults: Defaults) -> dict[str, Path]:
    """Match every drive that has times to the legs.

    Parameters
    ----------
    fixes
        Cleaned fixes.
    legs
        The job's legs.
    defaults
        The tolerances.

    Returns
    -------
    dict
        Drive id to its path; drives without times are left out.
    """
    timed = fixes[fixes["time_utc"].notna()]
    return {
        str(drive_id): _match_one(drive, legs, defaults)
        for drive_id, drive in timed.groupby("drive_id", sort=True)
    }


def where_at(path: Path, seconds: Floats) -> tuple[Ints, Floats, Ints]:
    """Leg index, distance along it [m] and travel (+1 up-station, -1 down, 0 not known).

    Parameters
    ----------
    path
        The drive's path.
    seconds
        Times [s since 1970].

    Returns
    -------
    tuple of arrays
        Leg -1 with NaN and 0 when the drive was on no leg then.
    """
    last = len(path.seconds) - 1
    after = np.clip(np.searchsorted(path.seconds, seconds), min(1, last), last)
    before = np.maximum(after - 1, 0)
    since_s, until_s = seconds - path.seconds[before], path.seconds[after] - seconds
    on_before, on_after = path.leg[before] >= 0, path.leg[after] >= 0
    earlier = on_before & (~on_after | (np.abs(since_s) <= np.abs(until_s)))
    nearest = np.where(earlier, before, after)
    share = np.clip(since_s / np.maximum(since_s + until_s, 1e-9), 0.0, 1.0)
    gone_m = path.along_m[after] - path.along_m[before]
    one_leg = on_before & (path.leg[before] == path.leg[after])
    along_m = np.where(one_leg, path.along_m[before] + share * gone_m, path.along_m[nearest])
    return path.leg[nearest], along_m, _travel(path, nearest)


def driven_at(path: Path, seconds: Floats) -> Floats:
    """Distance driven since the drive began, at times [m].

    Parameters
    ----------
    path
        The drive's path.
    seconds
        Times [s since 1970].
    """
    return np.interp(seconds, path.seconds, path.driven_m)


def _travel(path: Path, rows: Ints) -> Ints:
    """Which way along its leg the drive went from the fix before to the one after, if on it."""
    low, high = np.maximum(rows - 1, 0), np.minimum(rows + 1, len(path.seconds) - 1)
    low = np.where(path.leg[low] == path.leg[rows], low, rows)
    high = np.where(path.leg[high] == path.leg[rows], high, rows)
    gone_m = np.nan_to_num(path.along_m[high] - path.along_m[low])
    return np.sign(gone_m).astype(np.int64)
