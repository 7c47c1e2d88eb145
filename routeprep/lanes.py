"""Which lanes drives kept to, told from how far across the road they ran.

In go drives' places across a road, out come the chances of each lane along it.  Where a satellite
cannot tell the lanes apart the chances stay even: nothing is guessed.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from routeprep.runs import Run
from routeprep.shapes import LegSettings
from routeprep.shaping import ALIKE_M, DEVICE_LOOKS, GRID_M

__all__ = ["BLOCK_M", "LaneFit", "Lanes", "lane_fit", "lanes_of", "tell_lanes"]

Floats = npt.NDArray[np.float64]

# Lanes are told in blocks of this length [m]; a driver keeps to a lane for about this [m].  Common
# practice, no source.
BLOCK_M = 50.0
_KEPT_M = 2000.0
# The middle of the road is looked for at this many places a lane's width; common practice, no
# source.
_MIDDLES = 4
# Before it tells how far it strays from its own mean a run must be this many times as long as
# errors stay alike; common practice, no source.
_OWN_LOOKS = 2.0

_BLOCK = round(BLOCK_M / GRID_M)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LaneFit:
    """How one drive fits the lanes, for each place that the middle of the road may be at.

    Attributes
    ----------
    chance
        Of each lane, counted from the middle; shape (lanes, middles, blocks), 1 over all lanes.
    log_fit
        Logarithm of how well the whole drive fits each middle, to a constant.
    """

    chance: Floats
    log_fit: Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lanes:
    """How far out of the first lanes drives ran, at each vertex of a line.

    Attributes
    ----------
    outward_m
        Of each run, shape (vertices, runs) [m]; 0 in the first lane.
    sd_m
        Standard deviation of the middle of the road for not knowing them better [m].
    """

    outward_m: Floats
    sd_m: float


def lanes_of(leg: LegSettings, direction: int) -> int:
    """Count of lanes that traffic along the leg (+1) or against it (-1) has, 1 or more.

    Traffic keeps right.
    """
    return max(1, leg.lanes_right if direction > 0 else leg.lanes_left)


def lane_fit(
    across_m: Floats, *, middle_m: Floats, lanes: int, lane_width_m: float, sd_m: float
) -> LaneFit:
    """Fit a drive to lanes: a hidden Markov chain over blocks of its way.

    Forward and back (Rabiner, A tutorial on hidden Markov models, Proceedings of the IEEE 77,
    1989).  A block counts for as little as its share of the length that errors stay alike over,
    taken both ways.

    Parameters
    ----------
    across_m
        From a line towards the side that the drive keeps to, in each block [m].
    middle_m
        Where the middle of the road may lie from that line, towards the same side [m].
    lanes
        How many lanes there are on that side.
    lane_width_m
        Width of one [m].
    sd_m
        Standard deviation of a place across the road [m].
    """
    lane_m = (np.arange(lanes)[:, None, None] + 0.5) * lane_width_m + middle_m[:, None]
    fit = -0.5 * ((across_m - lane_m) / sd_m) ** 2 * (BLOCK_M / (2 * ALIKE_M))
    best = fit.max(axis=0)
    fits = np.exp(fit - best)
    leave = BLOCK_M / _KEPT_M if lanes > 1 else 0.0
    change = np.full((lanes, lanes), leave / max(lanes - 1, 1))
    np.fill_diagonal(change, 1.0 - leave)
    ahead, log_fit = _passed(fits, change)
    back, _ = _passed(fits[..., ::-1], change)
    both = ahead * back[..., ::-1] / fits
    return LaneFit(chance=both / both.sum(axis=0), log_fit=log_fit + best.sum(axis=-1))


def _passed(fits: Floats, change: Floats) -> tuple[Floats, Floats]:
    """Chances of the lanes by the blocks up to each, itself included, and the fit of all."""
    passed = np.empty_like(fits)
    held = np.full(fits.shape[:2], 1.0 / len(change))
    log_fit = np.zeros(fits.shape[1])
    for k in range(fits.shape[2]):
        held = (change @ held) * fits[..., k]
        size = held.sum(axis=0)
        held = held / size
        passed[..., k] = held
        log_fit += np.log(size)
    return passed, log_fit


def _own_scale(runs: Sequence[Run]) -> float:
    """How many times farther runs stray from their own means than their devices say."""
    free = found = DEVICE_LOOKS
    for run in runs:
        looks = float(np.sum(run.weight * run.sd_m**2)) * GRID_M / ALIKE_M - _OWN_LOOKS
        if looks > 0:
            mean_m = np.average(run.offset_m, weights=run.weight)
            strayed = float(np.average((run.offset_m - mean_m) ** 2, weights=run.weight))
            free, found = free + looks, found + looks * strayed / float(np.median(run.sd_m)) ** 2
    return float(np.sqrt(found / free))


def _blocks(values: Floats) -> Floats:
    """Means of the blocks of a column."""
    starts = np.arange(0, len(values), _BLOCK)
    means = np.add.reduceat(values, starts) / np.diff(np.r_[starts, len(values)])
    return np.asarray(means, dtype=np.float64)


def tell_lanes(runs: Sequence[Run], leg: LegSettings, *, share: Floats) -> Lanes:
    """Tell the lanes of all runs beside a line together, wherever the middle of the road may be.

    Parameters
    ----------
    runs
        The runs.
    leg
        For its lanes.
    share
        Each run's share of the mean, shape (vertices, runs) [of the mean].
    """
    reach = max(leg.lanes_left, leg.lanes_right)
    if reach <= 1:
        return Lanes(outward_m=np.zeros_like(share), sd_m=0.0)
    middle_m = np.linspace(-reach, reach, 2 * _MIDDLES * reach + 1) * leg.lane_width_m
    scale = _own_scale(runs)
    block = np.arange(len(share)) // _BLOCK
    number = np.zeros((len(middle_m), block[-1] + 1, len(runs)))
    log_fit = np.zeros(len(middle_m))
    for k, run in enumerate(runs):
        inside = np.flatnonzero(_blocks(run.weight) > 0)
        fit = lane_fit(
            run.direction * _blocks(run.offset_m)[inside],
            middle_m=run.direction * middle_m,
            lanes=lanes_of(leg, run.direction),
            lane_width_m=leg.lane_width_m,
            sd_m=scale * float(np.median(run.sd_m)),
        )
        number[:, inside, k] = np.tensordot(np.arange(len(fit.chance)), fit.chance, axes=1)
        log_fit += fit.log_fit
    fits = np.exp(log_fit - log_fit.max())
    fits /= fits.sum()
    return Lanes(
        outward_m=leg.lane_width_m * np.tensordot(fits, number, axes=1)[block],
        sd_m=math.sqrt(max(0.0, float(fits @ middle_m**2 - (fits @ middle_m) ** 2))),
    )
