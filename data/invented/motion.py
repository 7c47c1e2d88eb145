"""How a car moves and how far its receiver errs: times, distances, errors second by second."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

__all__ = ["Course", "Motion", "motion", "wander"]

Floats = npt.NDArray[np.float64]

# A car's usual speeding up and slowing down [m/s2]; common practice, no source.
SPEED_UP_MPS2 = 1.2
SLOW_DOWN_MPS2 = 1.5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Motion:
    """When a car has gone how far: times [s] and distances [m]; equal distances are a stop."""

    time_s: Floats
    gone_m: Floats

    def gone_at(self, time_s: Floats) -> Floats:
        """Distance gone [m] at times [s]."""
        return np.interp(time_s, self.time_s, self.gone_m)

    def time_at(self, gone_m: Floats) -> Floats:
        """Time [s] at which a distance [m] is reached; at a stop, when it drives on."""
        return np.interp(gone_m, self.gone_m, self.time_s)


def motion(
    length_m: float,
    speeds: Sequence[tuple[float, float]],
    stops: Sequence[tuple[float, float]],
) -> Motion:
    """Drive a distance from standstill to standstill under speed limits and with stops.

    Between points a metre apart the acceleration is constant, so ``v^2 - u^2 = 2 a s`` and the
    time is ``2 s / (u + v)`` (constant acceleration, any physics text).

    Parameters
    ----------
    length_m
        How far [m].
    speeds
        Distance [m] and the speed kept from there on [m/s].
    stops
        Distance [m] and how long [s].
    """
    even_m = np.linspace(0.0, length_m, math.ceil(length_m) + 1)
    gone = np.union1d(even_m, np.array([at for at, _ in stops], dtype=np.float64))
    from_m, limit = np.array(speeds).T
    cap = limit[np.clip(np.searchsorted(from_m, gone, side="right") - 1, 0, None)]
    cap[np.isin(gone, [0.0, length_m, *(at for at, _ in stops)])] = 0.0
    up, down = 2 * SPEED_UP_MPS2 * gone, 2 * SLOW_DOWN_MPS2 * gone
    square = np.minimum.accumulate(cap**2 - up) + up
    square = np.minimum.accumulate((square + down)[::-1])[::-1] - down
    speed = np.sqrt(np.maximum(square, 0.0))
    time = np.r_[0.0, np.cumsum(2 * np.diff(gone) / (speed[:-1] + speed[1:]))]
    for at, wait in sorted(stops):
        i = int(np.flatnonzero(gone == at)[-1])
        time = np.r_[time[: i + 1], time[i:] + wait]
        gone = np.r_[gone[: i + 1], gone[i:]]
    return Motion(time_s=time, gone_m=gone)


def wander(rng: np.random.Generator, n: int, *, sd_m: float, time_s: float) -> Floats:
    """Receiver's error each second: a stationary first-order Gauss-Markov process.

    Each value is ``exp(-1/T)`` of the one before plus a fresh part, so that the correlation at
    a lag of t is ``exp(-t/T)`` (Gelb, Applied Optimal Estimation, 1974; from memory).

    Parameters
    ----------
    rng
        Where the numbers come from.
    n
        How many seconds.
    sd_m
        Standard deviation [m].
    time_s
        Correlation time T [s].
    """
    keep = math.exp(-1.0 / time_s)
    fresh = rng.standard_normal(n) * np.r_[sd_m, np.full(n - 1, sd_m * math.sqrt(1 - keep**2))]
    value, values = 0.0, []
    for step in fresh.tolist():
        value = value * keep + step
        values.append(value)
    return np.array(values)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Course:
    """A drive's way along its leg, one way or there and back.

    Attributes
    ----------
    moves
        When it has gone how far.
    gone_m
        Distance gone at its beginning, turn and end [m].
    along_m
        Along the leg there [m].
    """

    moves: Motion
    gone_m: Floats
    along_m: Floats

    def along_at(self, time_s: Floats) -> Floats:
        """Along the leg [m] at times [s]."""
        return np.interp(self.moves.gone_at(time_s), self.gone_m, self.along_m)

    def side_at(self, time_s: Floats) -> Floats:
        """+1 on the up-station lane, -1 on the other, in between while it turns round."""
        first = np.searchsorted(self.moves.gone_m, self.gone_m, side="left")
        last = np.searchsorted(self.moves.gone_m, self.gone_m, side="right") - 1
        times = np.c_[self.moves.time_s[last[:-1]], self.moves.time_s[first[1:]]].ravel()
        sides: Floats = np.repeat(np.sign(np.diff(self.along_m)), 2)
        return np.interp(time_s, times, sides)

    def reached(self, along_m: float, *, lead_m: float) -> list[tuple[int, float]]:
        """Each time a thing is ``lead_m`` ahead: direction of travel and distance gone [m].

        Parameters
        ----------
        along_m
            Where the thing is [m].
        lead_m
            How far ahead of the receiver it is then [m].
        """
        found = []
        for j, (begin, end) in enumerate(pairwise(self.along_m.tolist())):
            if min(begin, end) <= along_m <= max(begin, end):
                gone = abs(along_m - begin) - lead_m
                found.append((1 if end > begin else -1, float(self.gone_m[j] + max(gone, 0.0))))
        return found
