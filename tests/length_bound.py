"""How well anybody could tell the length of a wheeled drive from its fixes: a lower bound.

The Cramér-Rao bound (Kay, Fundamentals of Statistical Signal Processing: Estimation Theory, 1993,
chapter 3; from memory) for somebody who knows far more than the tool: that the road is tangents
and arcs, the second at which the vehicle entered each of them and what share of it it had gone at
every fix, and how the receiver errs.  Only the lengths, the deflections and where the road begins
are left to find.
"""

import math

import numpy as np
from invented.roads import Bend, lay_road
from wheeled import BEGIN_S, Receiver, Wheeled

# Steps for the numerical derivatives: small against what is asked, large against rounding.
_STEP_M = 0.01
_STEP_RAD = 1e-5


def _parts(road) -> tuple[np.ndarray, np.ndarray]:
    """Length [m] and deflection [rad] of each tangent or arc."""
    lengths_m = np.diff(np.r_[road.from_m, road.length_m])
    return lengths_m, lengths_m * road.turn_per_m


def _laid(start: np.ndarray, lengths_m: np.ndarray, turns_rad: np.ndarray, plane):
    """The road of these parts; start is x, y [m] and heading [rad]."""
    bends = [
        Bend(length_m, length_m / turn if turn else 0.0)
        for length_m, turn in zip(lengths_m, turns_rad, strict=True)
    ]
    return lay_road(
        bends, code="A", name="", start_xy_m=(start[0], start[1]),
        heading_deg=math.degrees(start[2]), plane=plane,
    )  # fmt: skip


def length_sd_m(drive: Wheeled, receiver: Receiver) -> float:
    """The least standard deviation of its length that an unbiased estimate can have [m]."""
    since_s = drive.fixes["time_utc"].map(lambda one: one.timestamp()).to_numpy() - BEGIN_S
    road, gone_m = drive.road, drive.moves.gone_at(since_s)
    lengths_m, turns_rad = _parts(road)
    count, arcs = len(lengths_m), np.flatnonzero(turns_rad)
    part = np.clip(np.searchsorted(road.from_m, gone_m, side="right") - 1, 0, count - 1)
    share = (gone_m - road.from_m[part]) / lengths_m[part]

    def places(values: np.ndarray) -> np.ndarray:
        lengths, turns = values[3 : 3 + count], turns_rad.copy()
        turns[arcs] = values[3 + count :]
        laid = _laid(values[:3], lengths, turns, road.plane)
        along = laid.from_m[part] + share * lengths[part]
        return np.column_stack(laid.xy(along, np.zeros_like(along)))

    start = np.array([road.x_m[0], road.y_m[0], road.heading_rad[0]])
    values = np.r_[start, lengths_m, turns_rad[arcs]]
    steps = np.full(len(values), _STEP_RAD)
    steps[[0, 1, *range(3, 3 + count)]] = _STEP_M
    slopes = [
        (places(values + one) - places(values - one)) / (2 * one.max()) for one in np.diag(steps)
    ]
    white = _whitened(np.stack(slopes, axis=-1), receiver, since_s).reshape(-1, len(values))
    gain = np.zeros(len(values))
    gain[3 : 3 + count] = 1.0
    # To the last fix, which is a little short of the end.
    gain[2 + count] = share[-1]
    return math.sqrt(gain @ np.linalg.solve(white.T @ white, gain))


def _whitened(slopes: np.ndarray, receiver: Receiver, since_s: np.ndarray) -> np.ndarray:
    """Slopes over what is new in each error: a first-order Gauss-Markov process, or fresh."""
    if not receiver.over_s:
        return slopes / receiver.sd_m
    keep = np.exp(-np.diff(since_s) / receiver.over_s)[:, None, None]
    new = slopes[1:] - keep * slopes[:-1]
    return np.concatenate([slopes[:1], new / np.sqrt(1 - keep**2)]) / receiver.sd_m
