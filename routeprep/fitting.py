"""The likeliest motion of a drive: all its fixes at once, forward and back.

In go the fixes of a drive and what disturbs it, out come place, velocity and acceleration at
every fix with their covariances.  A receiver's error is taken to be partly fresh with each fix
and partly wandering, so that a slow wandering is not taken for driving.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from routeprep.chains import Estimate, solve
from routeprep.noise import WANDER_S, Noise
from routeprep.tracks import moved

__all__ = ["Recorded", "fit"]

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

# A vehicle's speed before anything is known of it, one axis [m/s]; common practice, no source.
_ANY_SPEED_MPS = 40.0
# Fixes nearer in time than this are taken this far apart when the motion between is judged [s].
_LEAST_WAIT_S = 0.05
# Long drives are fitted in parts of so many fixes, with so many more at either side that do not
# count, so that memory stays bounded.
_PART, _BESIDE = 50_000, 1_000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Recorded:
    """One drive with times, ready to be fitted.

    Attributes
    ----------
    seconds
        Rising times [s].
    xy_m
        Places in a plane [m].
    joined
        Whether each fix but the last belongs to one piece with the next.
    error_share
        How far each fix errs, as a share of the drive's noise.
    push_mps2
        Standard deviation of the acceleration after each fix but the last [m/s2].
    speed_mps
        Velocity at each fix that is known beside its place, shape (n, 2) [m/s].
    speed_weight
        How sure that is: 1 over the variance of one axis [s2/m2]; 0 for not known.
    """

    seconds: Floats
    xy_m: Floats
    joined: Flags
    error_share: Floats
    push_mps2: Floats
    speed_mps: Floats
    speed_weight: npt.NDArray[np.float64]

    def part(self, rows: slice) -> "Recorded":
        """Some neighbouring fixes of it."""
        links = slice(rows.start, rows.stop - 1)
        return Recorded(
            seconds=self.seconds[rows],
            xy_m=self.xy_m[rows],
            joined=self.joined[links],
            error_share=self.error_share[rows],
            push_mps2=self.push_mps2[links],
            speed_mps=self.speed_mps[rows],
            speed_weight=self.speed_weight[rows],
        )


def _parts(count: int) -> Iterator[tuple[slice, slice]]:
    """Fixes to fit together, and which of them count."""
    for low in range(0, count, _PART):
        high = min(low + _PART, count)
        begin = max(low - _BESIDE, 0)
        yield slice(begin, min(high + _BESIDE, count)), slice(low - begin, high - begin)


def _links(drive: Recorded) -> tuple[Floats, Floats]:
    """What each link asks: that the motion be the usual one and the error wander as usual."""
    count = len(drive.seconds)
    diagonal, upper = np.zeros((count, 4, 4)), np.zeros((count - 1, 4, 4))
    wait_s = np.where(drive.joined, np.maximum(np.diff(drive.seconds), _LEAST_WAIT_S), 1.0)
    step, spread = moved(wait_s, drive.push_mps2)
    weight = np.linalg.inv(spread) * drive.joined[:, None, None]
    back = np.swapaxes(step, 1, 2) @ weight
    diagonal[:-1, :3, :3] += back @ step
    diagonal[1:, :3, :3] += weight
    upper[:, :3, :3] = -back
    keep = np.exp(-wait_s / WANDER_S)
    fresh = drive.joined / -np.expm1(-2 * wait_s / WANDER_S)
    diagonal[:-1, 3, 3] += keep**2 * fresh
    diagonal[1:, 3, 3] += fresh
    upper[:, 3, 3] = -keep * fresh
    return diagonal, upper


def _fit_part(drive: Recorded, noise: Noise) -> Estimate:
    """Fit place, velocity, acceleration and wandering error at every fix of a part at once."""
    diagonal, upper = _links(drive)
    first = np.r_[True, ~drive.joined]
    diagonal[:, 1, 1] += first / _ANY_SPEED_MPS**2 + drive.speed_weight
    diagonal[:, 2, 2] += first
    diagonal[:, 3, 3] += first
    seen = np.zeros((len(first), 4))
    seen[:, 0], seen[:, 3] = 1.0, noise.wander_m * drive.error_share
    sure = 1.0 / (noise.fresh_m * drive.error_share) ** 2
    diagonal += sure[:, None, None] * seen[:, :, None] * seen[:, None, :]
    given = (sure[:, None] * seen)[:, :, None] * drive.xy_m[:, None, :]
    given[:, 1] += drive.speed_weight[:, None] * drive.speed_mps
    return solve(diagonal, upper, given)


def fit(drive: Recorded, noise: Noise) -> Estimate:
    """Fit place, velocity and acceleration at every fix, in the units of ``tracks.moved``.

    Parameters
    ----------
    drive
        The drive.
    noise
        What disturbs it.
    """
    means, owns, nexts = [], [], []
    for rows, kept in _parts(len(drive.seconds)):
        part = _fit_part(drive.part(rows), noise)
        means.append(part.mean_states[kept, :3])
        owns.append(part.own_cov[kept, :3, :3])
        nexts.append(part.next_cov[kept, :3, :3])
    return Estimate(
        mean_states=np.concatenate(means),
        own_cov=np.concatenate(owns),
        next_cov=np.concatenate(nexts),
    )
