"""Drives with a wheel's truth, all invented: a road, a motion with stops, a receiver's error."""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd
from builders import BEGIN, PLANE
from invented.motion import Motion, motion, wander
from invented.roads import Road, curve, ground_plane, lay_road, tangent

from routeprep import tables
from routeprep.drives import clean
from routeprep.shapes import Defaults
from routeprep.smoothing import smooth
from routeprep.spreads import RADIUS_68_IN_SDS

Floats = npt.NDArray[np.float64]
BEGIN_S = BEGIN.timestamp()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Receiver:
    """How a receiver errs and records.

    ``sd_m`` is of one axis [m], correlated over ``over_s`` [s], 0 for fresh; it records each
    ``every_s`` [s] and falls silent for 20 s so many times.
    """

    sd_m: float
    over_s: float = 0.0
    every_s: int = 1
    silences: int = 0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Wheeled:
    """A drive as recorded, and what a wheel would have said of it."""

    fixes: pd.DataFrame
    road: Road
    moves: Motion
    quiet_s: list[tuple[float, float]]

    def xy(self, since_s: Floats) -> Floats:
        """Where the vehicle truly was [m] at times since the begin [s]."""
        gone_m = self.moves.gone_at(since_s)
        return np.column_stack(self.road.xy(gone_m, np.zeros_like(gone_m)))

    def length_m(self) -> float:
        """What the wheel says from the first to the last fix [m]."""
        times = self.fixes["time_utc"].iloc[[0, -1]]
        since_s = times.map(lambda one: one.timestamp()).to_numpy() - BEGIN_S
        return float(np.ptp(self.moves.gone_at(since_s)))


def _road(rng: np.random.Generator, curves: int) -> Road:
    """Tangents of 80 m to 400 m and curves of 60 m to 200 m radius, either way."""
    bends = []
    for _ in range(curves):
        turn_deg = math.degrees(rng.uniform(0.5, 2.2)) * rng.choice([-1, 1])
        bends += [tangent(rng.uniform(80, 400)), curve(rng.uniform(60, 200), turn_deg)]
    bends.append(tangent(rng.uniform(80, 300)))
    plane = ground_plane(-100.87, 41.43, elevation_m=0.0)
    return lay_road(
        bends, code="A", name="Elm St", start_xy_m=(0.0, 0.0), heading_deg=70.0, plane=plane
    )


def _error(rng: np.random.Generator, count: int, receiver: Receiver) -> Floats:
    if not receiver.over_s:
        return receiver.sd_m * rng.standard_normal((count, 2))
    axes = [wander(rng, count, sd_m=receiver.sd_m, time_s=receiver.over_s) for _ in range(2)]
    return np.column_stack(axes)


def wheeled(
    seed: int, receiver: Receiver, *, curves: int = 12, stops: int = 4, reported: bool = True
) -> Wheeled:
    """Drive a road once at 10 m/s to 15 m/s, stopping for 10 s to 60 s, each drive otherwise."""
    rng = np.random.default_rng(seed)
    road = _road(rng, curves)
    speeds = [(float(at_m), rng.uniform(10, 15)) for at_m in road.from_m]
    places_m = np.sort(rng.uniform(100, road.length_m - 100, stops)).round()
    halts = [(float(at_m), rng.uniform(10, 60)) for at_m in np.unique(places_m)]
    moves = motion(road.length_m, speeds, halts)
    since_s = np.arange(math.floor(moves.time_s[-1]))
    error_m = _error(rng, len(since_s), receiver)
    lasts_s = float(moves.time_s[-1])
    begins_s = [
        lasts_s * (k + rng.uniform(0.3, 0.7)) / receiver.silences for k in range(receiver.silences)
    ]
    quiet_s = [(begin, begin + 20.0) for begin in begins_s]
    kept = since_s % receiver.every_s == 0
    for begin, end in quiet_s:
        kept &= (since_s <= begin) | (since_s >= end - 1.0)
    gone_m = moves.gone_at(since_s[kept])
    xy_m = np.column_stack(road.xy(gone_m, np.zeros_like(gone_m))) + error_m[kept]
    radius_m = receiver.sd_m * RADIUS_68_IN_SDS if reported else math.nan
    fixes = recorded(since_s[kept], xy_m, accuracy_m=radius_m)
    return Wheeled(fixes=fixes, road=road, moves=moves, quiet_s=quiet_s)


def recorded(since_s, xy_m, **columns):
    """A table of fixes of one drive, from times since the begin [s] and places [m]."""
    lon, lat = PLANE.to_lonlat(np.asarray(xy_m, dtype=np.float64))
    count = len(lon)
    times = pd.to_datetime((BEGIN_S + np.asarray(since_s)) * 1e6, unit="us", utc=True)
    frame = pd.DataFrame(
        {
            "drive_id": pd.array(["a drive"] * count, dtype="str"),
            "piece": np.zeros(count, dtype=np.int64),
            "time_utc": times.as_unit("us"),
            "lon_deg": lon,
            "lat_deg": lat,
            "ele_m": math.nan,
            "accuracy_m": math.nan,
            "speed_mps": math.nan,
            "course_deg": math.nan,
        }
    ).assign(**columns)
    return tables.check(frame, tables.FIXES, what="fixes")


def smoothed(fixes):
    """A drive cleaned and smoothed: its track, its facts and its table."""
    cleaned = clean(fixes, names={}, defaults=Defaults()).fixes
    got = smooth(cleaned, Defaults())
    return got.tracks["a drive"], got.facts[0], got.fixes


def covered(one: Wheeled):
    """Of one smoothed drive, each half second: how many of 95 % intervals hold, and in silences.

    Returns pairs of how many hold, of how many; silences apart from the rest.
    """
    track, _, _ = smoothed(one.fixes)
    since_s = np.arange(0.0, track.seconds[-1] - BEGIN_S, 0.5)
    states = track.at(since_s + BEGIN_S)
    miss_m = np.abs(PLANE.to_xy(states.lon_deg, states.lat_deg) - one.xy(since_s))
    holds = miss_m <= 1.96 * states.sd_m[:, None]
    silent = np.zeros(len(since_s), dtype=bool)
    for begin, end in one.quiet_s:
        silent |= (since_s > begin + 1.0) & (since_s < end - 1.0)
    return [(int(holds[rows].sum()), 2 * int(rows.sum())) for rows in (~silent, silent)]


def share(pairs):
    """The share that holds, of many pairs."""
    held, of = np.sum(pairs, axis=0)
    return held / of
