"""Invented roads and drives along them, for tests of lines that are made from drives."""

import datetime as dt
import math

import numpy as np
import pandas as pd
from builders import BEGIN, leg_settings
from invented.drives import ELEVATION_M, LANE_M
from invented.motion import Course, motion, wander
from invented.roads import curve, lay_road, tangent, to_lonlat
from invented.simulated import job_plane, main_road

from routeprep import tables
from routeprep.driven import path_driven
from routeprep.drives import clean
from routeprep.lines import Centerline
from routeprep.shapes import Defaults
from routeprep.smoothing import smooth

# A driver takes a bend so that it pushes sideways by no more than this [m/s2].
SIDEWAYS_MPS2 = 2.0


def as_recorded(*drives, sd_m=3.25):
    """Fixes with smoothed places that are those recorded, each as sure as the usual phone."""
    fixes = pd.concat(drives, ignore_index=True)
    usual = {"smooth_sd_m": sd_m, "smooth_speed_mps": np.nan, "smooth_course_deg": np.nan}
    columns = usual | {"smooth_lon_deg": fixes["lon_deg"], "smooth_lat_deg": fixes["lat_deg"]}
    count = len(fixes)
    return fixes.assign(**columns, raw_row=np.arange(count), standing=np.zeros(count, np.int64))


def long_road():
    """The demo's long leg, 4 km."""
    return main_road(job_plane())


def road_of(*pieces):
    """A road of tangents and curves."""
    return lay_road(
        pieces, code="A", name="invented", start_xy_m=(-500.0, 0.0), heading_deg=20.0,
        plane=job_plane(),
    )  # fmt: skip


def cornered_road():
    """Two right-angled corners of 15 m radius, 600 m apart."""
    return road_of(tangent(600), curve(15, 90), tangent(600), curve(15, -90), tangent(600))


def winding_road():
    """Sixteen right-angled turns of 12 and 15 m radius in 3.9 km."""
    turns = [
        (curve(15.0 if k % 2 else 12.0, 90.0 if k // 2 % 2 else -90.0), tangent(220.0))
        for k in range(16)
    ]
    return road_of(tangent(200.0), *(piece for turn in turns for piece in turn))


def _limits(road, speed_mps, *, up):
    """Distance gone and the speed kept from there on, slower in bends."""
    ends_m = np.r_[road.from_m[: len(road.turn_per_m)], road.length_m]
    limits = [min(speed_mps, math.sqrt(SIDEWAYS_MPS2 / max(abs(k), 1e-9))) for k in road.turn_per_m]
    if up:
        return tuple(zip(ends_m[:-1].tolist(), limits, strict=True))
    return tuple(zip((road.length_m - ends_m[:0:-1]).tolist(), limits[::-1], strict=True))


def driven(road, seed, *, up, speed_mps=15.0, error=(2.5, 60.0), begin=BEGIN):
    """Fixes each second of one drive along a road, half a lane right of its middle.

    The error on each axis has a standard deviation [m] and a correlation time [s], 0 for white
    noise.  The drive stands for half a minute a good part of the way on.
    """
    rng = np.random.Generator(np.random.PCG64(seed))
    gone_m = np.array([0.0, road.length_m])
    stop_m = road.length_m * (0.41 if up else 0.6)
    moves = motion(road.length_m, _limits(road, speed_mps, up=up), ((stop_m, 30.0),))
    way = Course(moves=moves, gone_m=gone_m, along_m=gone_m if up else gone_m[::-1])
    seconds = np.arange(math.ceil(float(moves.time_s[-1])) + 1, dtype=np.float64)
    x_m, y_m = road.xy(way.along_at(seconds), np.full(len(seconds), (0.5 if up else -0.5) * LANE_M))
    sd_m, time_s = error
    errors_m = [
        wander(rng, len(seconds), sd_m=sd_m, time_s=time_s)
        if time_s
        else rng.normal(0.0, sd_m, len(seconds))
        for _ in range(2)
    ]
    lon, lat = to_lonlat(road.plane, x_m + errors_m[0], y_m + errors_m[1])
    rows = [
        {
            "drive_id": f"{'up' if up else 'down'} {seed}",
            "time_utc": begin + dt.timedelta(seconds=float(second)),
            "lon_deg": lon[k],
            "lat_deg": lat[k],
        }
        for k, second in enumerate(seconds)
    ]
    return tables.table(tables.FIXES, rows)


def both_ways(road, seed, *, ways=(1, 0, 1, 0), error=(2.5, 60.0)):
    """Drives up (1) and down (0) a road at several speeds."""
    return [
        driven(
            road,
            (seed, k),
            up=bool(way),
            speed_mps=(15.0, 17.0, 13.0, 16.0)[k % 4],
            error=error,
            begin=BEGIN + dt.timedelta(hours=k),
        )
        for k, way in enumerate(ways)
    ]


def true_line(road):
    """The road's middle as a line to locate against, its along that of the road."""
    along_m = np.union1d(np.arange(0.0, road.length_m, 1.0), [*road.from_m, road.length_m])
    along_m = along_m[along_m <= road.length_m]
    lon, lat = road.lonlat(along_m, np.zeros(len(along_m)))
    return Centerline(
        lon_deg=lon, lat_deg=lat, along_m=along_m, sd_m=np.zeros(len(along_m)),
        elevation_m=ELEVATION_M, made_from="file",
    )  # fmt: skip


def line_of(road, *drives, **changes):
    """The path driven and its findings, from drives through cleaning and smoothing."""
    fixes = pd.concat(drives, ignore_index=True)
    names = {one: one for one in sorted(set(fixes["drive_id"]))}
    smoothed = smooth(clean(fixes, names=names, defaults=Defaults()).fixes, Defaults()).fixes
    lon, lat = road.lonlat(np.zeros(1), np.zeros(1))
    leg = leg_settings(**({"start_near_deg": (float(lon[0]), float(lat[0]))} | changes))
    return path_driven(
        smoothed, leg, names=names, elevation_m=ELEVATION_M, defaults=Defaults(), alone=True
    )
