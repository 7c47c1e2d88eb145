"""The middle of the road, from the runs beside a line.

In go runs as offsets from a line, out comes how far the middle of the road lies from it at each
vertex, and how sure that is.  Each direction keeps to its side, each run to its lane; a run
counts by its variance, and as one look however many fixes it has.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy.ndimage import uniform_filter1d

from routeprep.lanes import Lanes, lanes_of, tell_lanes
from routeprep.runs import Run
from routeprep.shapes import LegSettings
from routeprep.shaping import ALIKE_M, DEVICE_LOOKS, GRID_M
from routeprep.spreads import UNIFORM_IN_SDS

__all__ = ["Middle", "Roadway", "middle_of", "one_roadway"]

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

# Directions that are too far apart for less than this in all are taken for noise [m]; beside a
# stretch where they are, this much more is parted too [m]; common practice, no source.
_PARTED_LEAST_M = 100.0
_BESIDE_M = 50.0
# From both directions to one the shift changes over this [m]; common practice, no source.
_CHANGE_M = 100.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Middle:
    """The middle of the road beside a line, at each of its vertices.

    Attributes
    ----------
    offset_m, sd_m
        From the line to the middle, right positive, and its standard deviation [m].
    apart_m, share, run_sd_m
        Each run's distance from the middle once it is moved there [m], its share of the mean,
        and its own standard deviation [m]; shape (vertices, runs).
    half_apart_m
        Half the distance between the first lanes of the two directions [m]; NaN with one.
    one_way
        Where only one direction was driven.
    moved_m
        How far the runs were moved to the left of their own direction [m].
    """

    offset_m: Floats
    sd_m: Floats
    apart_m: Floats
    share: Floats
    run_sd_m: Floats
    half_apart_m: float
    one_way: Flags
    moved_m: Floats


def _mean(runs: Sequence[Run]) -> tuple[Floats, Floats]:
    """Weighted mean offset on the grid [m], and its weight."""
    weight = np.sum([run.weight for run in runs], axis=0)
    total = np.sum([run.weight * run.offset_m for run in runs], axis=0)
    return np.where(weight > 0, total / np.maximum(weight, 1e-12), 0.0), weight


def _apart(runs: Sequence[Run]) -> tuple[Floats, Floats]:
    """Distance between the two directions' mean paths on the grid [m], and its weight."""
    up_m, up_weight = _mean([run for run in runs if run.direction > 0])
    down_m, down_weight = _mean([run for run in runs if run.direction < 0])
    return np.asarray(up_m - down_m), np.minimum(up_weight, down_weight)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Roadway:
    """Runs of one roadway.

    Attributes
    ----------
    runs
        Those that count somewhere.
    silent
        Where the drives against the line count for nothing, at each vertex.
    parted_m, apart_m
        For how long the two directions are too far apart, and how far apart they are there [m];
        0 when they are nowhere.
    """

    runs: list[Run]
    silent: Flags
    parted_m: float
    apart_m: float


def one_roadway(runs: Sequence[Run], *, allowed_m: float) -> Roadway:
    """Runs of one roadway.

    Where the directions are farther apart than allowed, and a little beside it, those against
    the line count for nothing.

    Parameters
    ----------
    runs
        All runs along a line.
    allowed_m
        How far apart two directions of one roadway may be [m].
    """
    apart_m, both = _apart(runs)
    far = (both > 0) & (np.abs(apart_m) > allowed_m)
    if np.sum(far) * GRID_M < _PARTED_LEAST_M:
        return Roadway(runs=list(runs), silent=np.zeros_like(far), parted_m=0.0, apart_m=0.0)
    reach = np.ones(2 * round(_BESIDE_M / GRID_M) + 1)
    silent = np.convolve(far, reach, mode="full")[len(reach) // 2 :][: len(far)] > 0
    kept = [
        run if run.direction > 0 else replace(run, weight=np.where(silent, 0.0, run.weight))
        for run in runs
    ]
    return Roadway(
        runs=[run for run in kept if run.weight.any()],
        silent=silent,
        parted_m=float(far.sum()) * GRID_M,
        apart_m=float(np.mean(np.abs(apart_m[far]))),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Halves:
    """Half the distance between the two directions, and where both were driven.

    ``half_m`` is 0 when there is but one.
    """

    half_m: float
    sd_m: float
    both: Flags


def _halves(inner: Sequence[Run]) -> _Halves:
    """Half the mean distance between the directions' paths, all runs in their first lanes."""
    apart_m, weight = _apart(inner)
    both = np.broadcast_to(weight > 0, inner[0].weight.shape)
    total = float(np.sum(weight))
    if not both.any():
        return _Halves(half_m=0.0, sd_m=0.0, both=both)
    looks = max(1.0, float(both.sum()) * GRID_M / (2 * ALIKE_M))
    return _Halves(
        half_m=float(np.sum(weight * apart_m)) / total / 2.0,
        sd_m=float(np.sqrt(both.sum() / total / 2.0 / looks)),
        both=both,
    )


def _outward(
    lanes: Lanes, halves: _Halves, runs: Sequence[Run], leg: LegSettings
) -> tuple[Floats, Floats]:
    """How far each run lies out of the middle in its own direction [m], and the middle's sd for it.

    Where both directions were driven by what lies between them; else by the lane the job gives,
    else by what lies between them elsewhere, else not at all.
    """
    twin_m = lanes.outward_m + halves.half_m
    single_m = twin_m
    single_sd_m = math.hypot(lanes.sd_m, leg.lane_width_m / UNIFORM_IN_SDS)
    if leg.lane_driven:
        single_m = np.full_like(twin_m, (leg.lane_driven - 0.5) * leg.lane_width_m)
        single_sd_m = leg.lane_width_m / UNIFORM_IN_SDS
    elif not halves.both.any():
        # Somewhere on its side of the road: the mean square of an even spread from 0 to its width.
        wide_m = lanes_of(leg, runs[0].direction) * leg.lane_width_m
        single_m = np.zeros_like(twin_m)
        single_sd_m = wide_m / math.sqrt(3.0)
    size = round(_CHANGE_M / GRID_M)
    mix = uniform_filter1d(halves.both.astype(np.float64), size, mode="nearest")
    outward_m = mix[:, None] * twin_m + (1 - mix)[:, None] * single_m
    return outward_m, mix * lanes.sd_m + (1 - mix) * single_sd_m


def _scale(weight: Floats, sd_m: Floats, share: Floats, apart_m: Floats) -> float:
    """How many times farther the drives disagree than their devices say, both weighed.

    With few looks it is itself unsure: two looks less in the divisor make the variance that of
    Student's distribution.
    """
    step_looks = GRID_M / ALIKE_M
    free = step_looks * float(np.sum(weight * sd_m**2 * (1.0 - share)))
    found = step_looks * float(np.sum(weight * apart_m**2))
    return math.sqrt((DEVICE_LOOKS + found) / (DEVICE_LOOKS + free - 2.0))


def middle_of(runs: Sequence[Run], leg: LegSettings, *, grid_m: Floats) -> Middle:
    """Find the middle of the road beside a line.

    Parameters
    ----------
    runs
        Runs of one roadway, one or more.
    leg
        For its lanes, and the lane that was driven where traffic was one way.
    grid_m
        Along the line at its vertices [m].
    """
    way = np.array([run.direction for run in runs], dtype=np.float64)
    offset_m, left_m, sd_m, weight = (
        np.column_stack([getattr(run, name) for run in runs])
        for name in ("offset_m", "left_m", "sd_m", "weight")
    )
    total = weight.sum(axis=1)
    seen = total > 0
    share = weight / np.where(seen, total, 1.0)[:, None]
    # The more drives there are, the less does each need smoothing by itself, which rounds bends:
    # what that took is given back but for the square of one drive's share.  From simulation, no
    # source.
    offset_m = offset_m + left_m * (1.0 - np.sum(share**2, axis=1) ** 2)[:, None]
    lanes = tell_lanes(runs, leg, share=share)
    inner_m = offset_m - way * lanes.outward_m
    halves = _halves([replace(run, offset_m=inner_m[:, k]) for k, run in enumerate(runs)])
    outward_m, outward_sd_m = _outward(lanes, halves, runs, leg)
    moved_m = offset_m - way * outward_m
    middle_m = np.sum(share * moved_m, axis=1)
    middle_m = np.interp(grid_m, grid_m[seen], middle_m[seen])
    apart_m = moved_m - middle_m[:, None]
    scale = _scale(weight, sd_m, share, apart_m)
    look_m = scale * np.sqrt(np.sum((share * sd_m) ** 2, axis=1))
    uneven_m = scale * halves.sd_m * np.abs(share @ way)
    all_sd_m = np.sqrt(look_m**2 + uneven_m**2 + outward_sd_m**2)
    return Middle(
        offset_m=middle_m,
        sd_m=np.interp(grid_m, grid_m[seen], all_sd_m[seen]),
        apart_m=apart_m,
        share=share,
        run_sd_m=sd_m,
        half_apart_m=halves.half_m if halves.both.any() else math.nan,
        one_way=~halves.both,
        moved_m=np.sum(share * outward_m, axis=1),
    )
