"""Stretches of drives that follow a line, as distances from it.

In go cleaned fixes with their smoothed places and a line, out come runs: one drive in one
direction each, its offset from the line and how sure that is at every vertex.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from routeprep.geodesy import Plane
from routeprep.planar import Polyline, thin
from routeprep.spines import THIN_M

__all__ = ["RUN_LEAST_M", "Run", "runs_along"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

# A drive helps only with stretches at least this long [m], and fades in and out over this [m], down
# to this share of its weight; all these are common practice, no source.
RUN_LEAST_M = 40.0
_FADE_M = 100.0
_FADE_FLOOR = 0.02
# A run that ends this near an end of the line is taken to go on to it [m]; common practice, no
# source.
_NEAR_END_M = 50.0
# It follows the line while the two lengths agree to this share, both taken from this many fixes
# before to this many after; common practice, no source.
_FOLLOWS = 0.5
_BASE = 2
# No device is believed to be better than this [m]; common practice, no source.
_LEAST_SD_M = 0.05


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Run:
    """One drive along a line in one direction.

    Attributes
    ----------
    direction
        +1 along the line, -1 against it.
    offset_m
        From the line at each of its vertices, right positive [m].
    sd_m
        Standard deviation of that, by the device [m].
    left_m
        How far its recorded places lie to the right of the smoothed ones [m].
    weight
        How much it counts: 1 inside, less near its ends, 0 beyond them; and by its variance.
    """

    direction: int
    offset_m: Floats
    sd_m: Floats
    left_m: Floats
    weight: Floats


def runs_along(
    fixes: pd.DataFrame, plane: Plane, line: Polyline, *, corridor_m: float
) -> list[Run]:
    """Every stretch of every drive that follows the line.

    Parameters
    ----------
    fixes
        Cleaned fixes with ``tables.SMOOTHED``.
    plane
        The plane that the line is in.
    line
        The line.
    corridor_m
        Fixes farther from it do not follow it [m].
    """
    runs = []
    for _, piece in fixes.groupby(["drive_id", "piece"], sort=True):
        xy = plane.to_xy(piece["smooth_lon_deg"].to_numpy(), piece["smooth_lat_deg"].to_numpy())
        kept = thin(xy, step_m=THIN_M)
        if len(kept) < 2:  # noqa: PLR2004 - a run has two ends
            continue
        raw = plane.to_xy(piece["lon_deg"].to_numpy(), piece["lat_deg"].to_numpy())
        stood = piece["standing"].to_numpy() > 0
        raw = np.where(stood[:, None], xy, raw)
        places = _places(line, xy[kept], raw[kept], piece["smooth_sd_m"].to_numpy()[kept])
        past_m = np.maximum(-places.along_m, places.along_m - line.along_m[-1])
        on = (np.abs(places.offset_m) <= corridor_m) & (past_m <= corridor_m)
        way = np.where(on, _way(xy[kept], places.along_m), 0.0)
        change = np.flatnonzero(np.diff(way) != 0) + 1
        runs += [
            _run(line, places, rows, direction=int(way[rows[0]]))
            for rows in np.split(np.arange(len(kept)), change)
            if way[rows[0]] and np.ptp(places.along_m[rows]) >= RUN_LEAST_M
        ]
    return runs


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Places:
    """Fixes beside a line; along it is negative before its start."""

    along_m: Floats
    offset_m: Floats
    left_m: Floats
    sd_m: Floats


def _places(line: Polyline, xy_m: Floats, raw_m: Floats, sd_m: Floats) -> _Places:
    feet = line.feet(xy_m)
    way = line.step_m[feet.segment] / line.length_m[feet.segment][:, None]
    left_m = raw_m - xy_m
    return _Places(
        along_m=line.along_m[feet.segment] + feet.fraction * line.length_m[feet.segment],
        offset_m=feet.offset_m,
        left_m=left_m[:, 0] * way[:, 1] - left_m[:, 1] * way[:, 0],
        sd_m=np.maximum(sd_m, _LEAST_SD_M),
    )


def _way(xy_m: Floats, along_m: Floats) -> Floats:
    """+1 or -1 where a drive runs along the line, 0 where it crosses it or jumps."""
    rows = np.arange(len(xy_m))
    low, high = np.maximum(rows - _BASE, 0), np.minimum(rows + _BASE, len(xy_m) - 1)
    gone_m = np.r_[0.0, np.cumsum(np.hypot(*np.diff(xy_m, axis=0).T))]
    driven_m = gone_m[high] - gone_m[low]
    moved_m = along_m[high] - along_m[low]
    follows = np.abs(np.abs(moved_m) - driven_m) <= _FOLLOWS * driven_m
    return np.where(follows, np.sign(moved_m), 0.0)


def _run(line: Polyline, places: _Places, rows: Ints, *, direction: int) -> Run:
    """One run from some rows of the fixes."""
    rows = rows[np.argsort(places.along_m[rows], kind="stable")]
    grid_m, along_m = line.along_m, places.along_m[rows]
    # What ends near an end of the line is taken to go on to it.
    first_m = -_FADE_M if along_m[0] <= _NEAR_END_M else along_m[0]
    last_m = grid_m[-1] + _FADE_M if along_m[-1] >= grid_m[-1] - _NEAR_END_M else along_m[-1]
    inside = (grid_m >= first_m) & (grid_m <= last_m)
    edge_m = np.minimum(grid_m - first_m, last_m - grid_m)
    fade = np.where(inside, np.clip(edge_m / _FADE_M, _FADE_FLOOR, 1.0), 0.0)
    offset_m, left_m, sd_m = (
        np.interp(grid_m, along_m, values[rows])
        for values in (places.offset_m, places.left_m, places.sd_m)
    )
    return Run(
        direction=direction,
        offset_m=offset_m,
        left_m=left_m,
        sd_m=sd_m,
        weight=fade / sd_m**2,
    )
