"""Fixes of drives alongside a line, and the noise in them.

In go cleaned fixes and a line in a plane, out come stretches of drives in one direction with
their distances along and beside the line; and how the receivers' errors hang together in time.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import pandas as pd

from routeprep.drives import seconds_of
from routeprep.geodesy import Plane
from routeprep.planar import Polyline, thin

__all__ = ["Alongside", "Wander", "covariance_m2", "stretches", "wander_of"]

Floats = npt.NDArray[np.float64]

# Fixes nearer to each other than this are thinned out, a stretch is at least this long, and fixes
# farther from the line than this are not on the road [m]; a stretch whose middle distance is more
# than the last is on another roadway [m].  Common practice, no source.
_THIN_M = 4.0
_LEAST_M = 60.0
_BESIDE_M = 30.0
_ROADWAY_M = 12.0
# Where a drive has no times, it is taken to go this fast [m/s]: 30 mph; common practice, no source.
_USUAL_MPS = 13.4
# A move along the line that differs by more than this from the drive's own is a jump to another
# part of the line [m]; common practice, no source.
_JUMP_M = 15.0

# Receivers' errors hang together over about a minute, and this much of them does not [m]; what
# a drive alone cannot tell.  Common practice, no source.
_USUAL_TIME_S = 60.0
_USUAL_FRESH_M = 0.7
# The correlation times [s] and fresh parts [m] that are tried.
_TIMES_S = np.geomspace(4.0, 1024.0, 17)
_FRESH_M = np.r_[0.02, 0.05, 0.1:0.9:0.1, 1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0]
# Fewer fixes tell nothing.
_ENOUGH = 10


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Alongside:
    """A stretch of one drive in one direction along a line, in the line's order.

    Attributes
    ----------
    direction
        +1 along the line, -1 against it.
    xy_m
        Its fixes (n, 2) [m].
    along_m, offset_m
        Of each on the line [m], right positive.
    heading_rad
        Of the line there, clockwise from north [rad].
    time_s
        Of each fix [s].
    """

    direction: int
    xy_m: Floats
    along_m: Floats
    offset_m: Floats
    heading_rad: Floats
    time_s: Floats

    def between(self, from_m: float, to_m: float) -> "Alongside":
        """The part of it within distances along [m]."""
        rows = (self.along_m >= from_m) & (self.along_m <= to_m)
        return self.rows(np.flatnonzero(rows))

    def rows(self, rows: npt.NDArray[np.int64]) -> "Alongside":
        """Some of its fixes."""
        return replace(
            self,
            xy_m=self.xy_m[rows],
            along_m=self.along_m[rows],
            offset_m=self.offset_m[rows],
            heading_rad=self.heading_rad[rows],
            time_s=self.time_s[rows],
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Wander:
    """A receiver's error on each axis: a part that wanders and a part that is fresh each time.

    Attributes
    ----------
    sd_m
        Standard deviation of the part that wanders [m].
    time_s
        Its correlation time [s].
    fresh_sd_m
        Standard deviation of the fresh part [m].
    """

    sd_m: float
    time_s: float
    fresh_sd_m: float


def stretches(fixes: pd.DataFrame, plane: Plane, line: Polyline) -> list[Alongside]:
    """Every stretch of every drive along a line.

    Parameters
    ----------
    fixes
        Cleaned fixes.
    plane
        The plane that the line is in.
    line
        The line.
    """
    found = []
    heading = np.arctan2(line.step_m[:, 0], line.step_m[:, 1])
    for _, piece in fixes.groupby(["drive_id", "piece"], sort=True):
        xy_m = plane.to_xy(piece["lon_deg"].to_numpy(), piece["lat_deg"].to_numpy())
        rows = thin(xy_m, step_m=_THIN_M)
        xy_m, time_s = xy_m[rows], _times_s(xy_m[rows], seconds_of(piece["time_utc"])[rows])
        feet = line.feet(xy_m)
        along_m = line.along_m[feet.segment] + feet.fraction * line.length_m[feet.segment]
        inside = (feet.fraction >= 0) & (feet.fraction <= 1)
        on = inside & (np.abs(feet.offset_m) <= _BESIDE_M)
        for part, direction in _parts(xy_m, along_m, on):
            order = part[np.argsort(along_m[part], kind="stable")]
            if abs(float(np.median(feet.offset_m[order]))) > _ROADWAY_M:
                continue
            found.append(
                Alongside(
                    direction=direction,
                    xy_m=xy_m[order],
                    along_m=along_m[order],
                    offset_m=feet.offset_m[order],
                    heading_rad=heading[feet.segment[order]],
                    time_s=time_s[order],
                )
            )
    return found


def _times_s(xy_m: Floats, seconds: Floats) -> Floats:
    """Times of fixes [s]; of a drive without them as if it went at a usual speed."""
    if np.isfinite(seconds).all():
        return seconds
    driven_m = np.cumsum(np.hypot(*np.diff(xy_m, axis=0).T))
    return np.concatenate([[0.0], driven_m / _USUAL_MPS])


def _parts(
    xy_m: Floats, along_m: Floats, on: npt.NDArray[np.bool_]
) -> list[tuple[npt.NDArray[np.int64], int]]:
    """Rows that go along the line without a turn or a jump, each with its direction."""
    if len(xy_m) < 2:  # noqa: PLR2004 - a part has two ends
        return []
    moved_m = np.diff(along_m)
    driven_m = np.hypot(*np.diff(xy_m, axis=0).T)
    whole = np.abs(np.abs(moved_m) - driven_m) <= _JUMP_M
    way = np.where(on[1:] & on[:-1] & whole, np.sign(moved_m), 0.0)
    # A single step back is noise, not a turn.
    lone = np.r_[False, (way[1:-1] == -way[:-2]) & (way[1:-1] == -way[2:]), False]
    way = np.where(lone & (way != 0), -way, way) if len(way) > 2 else way  # noqa: PLR2004
    cuts = np.r_[0, np.flatnonzero(np.diff(way) != 0) + 1, len(way)]
    parts = [(np.arange(a, b + 1), int(way[a])) for a, b in pairwise(cuts.tolist())]
    return [(rows, d) for rows, d in parts if d and np.ptp(along_m[rows]) >= _LEAST_M]


def covariance_m2(part: Alongside, wander: Wander) -> Floats:
    """Covariance of a stretch's distances from its line (n, n) [m2].

    Errors of the two axes are alike and independent, so that of two fixes only the part of their
    common error counts that is square to the line at both: the cosine of its turn between them.
    The wandering part is a first-order Gauss-Markov process (Gelb, Applied Optimal Estimation,
    1974; from memory).

    Parameters
    ----------
    part
        The stretch.
    wander
        The errors.
    """
    apart_s = np.abs(part.time_s[:, None] - part.time_s)
    turn = np.cos(part.heading_rad[:, None] - part.heading_rad)
    slow_m2 = wander.sd_m**2 * np.exp(-apart_s / wander.time_s) * turn
    return np.asarray(slow_m2 + wander.fresh_sd_m**2 * np.eye(len(part.along_m)))


def wander_of(parts: Sequence[Alongside], *, device_sd_m: float) -> Wander:
    """The errors that drives show against one another, by maximum likelihood.

    Each drive is held against the mean of the others beside it, so that the road's own shape
    drops out.  A drive alone has the usual errors.

    Parameters
    ----------
    parts
        Stretches of drives along one line.
    device_sd_m
        Standard deviation of one axis by the devices [m]; the wandering part is never less.
    """
    apart = [one for one in _contrasts(parts) if len(one[1]) >= _ENOUGH]
    if not apart:
        return Wander(sd_m=device_sd_m, time_s=_USUAL_TIME_S, fresh_sd_m=_USUAL_FRESH_M)
    values_m = np.concatenate([apart_m for _, apart_m in apart])
    sd_m = max(device_sd_m, float(np.sqrt(np.mean(values_m**2))))
    total = np.sum([_unlikely(part, apart_m, sd_m=sd_m) for part, apart_m in apart], axis=0)
    time, fresh = np.unravel_index(np.argmin(total), total.shape)
    return Wander(sd_m=sd_m, time_s=float(_TIMES_S[time]), fresh_sd_m=float(_FRESH_M[fresh]))


def _unlikely(part: Alongside, apart_m: Floats, *, sd_m: float) -> Floats:
    """Twice the negative log likelihood of each time and fresh part, but for a constant.

    By what each value differs from what those before it let expect (Kalman 1960), with ``sd_m``
    for the wandering part.
    """
    gone_s = np.abs(np.diff(part.time_s, prepend=part.time_s[0]))
    turn = np.cos(np.diff(part.heading_rad, prepend=part.heading_rad[0]))
    keep = np.exp(-gone_s[:, None] / _TIMES_S) * turn[:, None]
    total = mean_m = np.zeros((len(_TIMES_S), len(_FRESH_M)))
    own_m2 = np.full_like(total, sd_m**2)
    for kept, value_m in zip(keep[:, :, None], apart_m.tolist(), strict=True):
        own_m2 = kept**2 * own_m2 + (1.0 - kept**2) * sd_m**2
        all_m2 = own_m2 + _FRESH_M**2
        off_m = value_m - kept * mean_m
        total = total + off_m**2 / all_m2 + np.log(all_m2)
        mean_m = kept * mean_m + own_m2 / all_m2 * off_m
        own_m2 = own_m2 * _FRESH_M**2 / all_m2
    return total


def _contrasts(parts: Sequence[Alongside]) -> list[tuple[Alongside, Floats]]:
    """Each stretch where others lie beside it, with its distance from their mean [m].

    With n drives the mean of the others errs too, so that the difference is n / (n - 1) too
    large in variance; it is made smaller by that.
    """
    found = []
    lane_m = {way: _lane_m(parts, way) for way in {part.direction for part in parts}}
    for one in parts:
        beside = np.full((len(parts), len(one.along_m)), np.nan)
        for row, two in enumerate(parts):
            if two is not one:
                own_m = two.offset_m - lane_m[two.direction]
                beside[row] = np.interp(
                    one.along_m, two.along_m, own_m, left=math.nan, right=math.nan
                )
        count = np.isfinite(beside).sum(axis=0)
        mean_m = np.nansum(beside, axis=0) / np.maximum(count, 1)
        own_m = one.offset_m - lane_m[one.direction]
        rows = np.flatnonzero(count > 0)
        apart_m = (own_m - mean_m) * np.sqrt(count / (count + 1.0))
        found.append((one.rows(rows), apart_m[rows]))
    return found


def _lane_m(parts: Sequence[Alongside], direction: int) -> float:
    """Mean distance from the line of all drives in one direction [m]."""
    return float(np.mean(np.concatenate([p.offset_m for p in parts if p.direction == direction])))
