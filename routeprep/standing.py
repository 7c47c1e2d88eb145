"""When a vehicle stood: its fixes scatter, but it goes nowhere.

In go times, smoothed places and what disturbs a drive, out comes which fixes were recorded while
it stood.
"""

import numpy as np
import numpy.typing as npt

from routeprep.noise import WANDER_S, Noise

__all__ = ["stood"]

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

# A vehicle stands at a fix when its mean speed over this long, or over two usual waits if that is
# longer, is less than the error of such a speed explains [s]; all values here were chosen in
# simulation (tests/proof), no source.
_OVER_S = 10.0
# That error, in standard deviations, and the limits of the speed that it gives [m/s].
_SDS = 3.0
_SLOW_LEAST_MPS, _SLOW_MOST_MPS = 0.5, 1.2
# Fresh errors average out over about this long in a smoothed place [s].
_FRESH_S = 5.0
# Beside such a fix it already stood, or still does, while its place differs by less than this much
# of the error, or than this much a second for each second of usual wait [m/s2].
_BESIDE_SDS, _BESIDE_MPS2 = 0.7, 0.1
# Between two stops no longer apart than the speed is measured over it stood too, when the places on
# either side of the while differ by less than this much of the error.
_BETWEEN_SDS = 2.5
# A device that says less than this says that it stands [m/s].
_DEVICE_STANDS_MPS = 0.3


def _apart_sd_m(noise: Noise, step_s: float, apart_s: Floats) -> Floats:
    """Standard deviation of one axis of the way between two smoothed places by errors alone."""
    fresh = noise.fresh_m**2 * min(1.0, step_s / _FRESH_S)
    return np.sqrt(2 * (fresh + noise.wander_m**2 * -np.expm1(-apart_s / WANDER_S)))


def _mean_speed_mps(seconds: Floats, xy_m: Floats, over_s: float) -> Floats:
    """Speed from half the time before to half the time after each fix."""
    begin = np.maximum(seconds - over_s / 2, seconds[0])
    end = np.minimum(seconds + over_s / 2, seconds[-1])
    way = [np.interp(end, seconds, one) - np.interp(begin, seconds, one) for one in xy_m.T]
    return np.asarray(np.hypot(*way) / np.maximum(end - begin, over_s / 4))


def _held_after(core: Flags, seconds: Floats, xy_m: Floats, most_m: Floats, most_s: float) -> Flags:
    """Fixes soon after the last core fix that are hardly away from it."""
    last = np.maximum.accumulate(np.where(core, np.arange(len(core)), 0))
    later_s = np.abs(seconds - seconds[last])
    away_m = np.hypot(*(xy_m - xy_m[last]).T)
    limit_m = np.interp(later_s, np.linspace(0.0, most_s, len(most_m)), most_m)
    return np.asarray(core[last] & (later_s <= most_s) & (away_m <= limit_m))


def _between(
    standing: Flags, seconds: Floats, xy_m: Floats, *, most_m: float, most_s: float
) -> Flags:
    """Fixes of a short while between two stops at one place: nobody drives off and comes back."""
    found = np.zeros_like(standing)
    rows = np.flatnonzero(standing)
    passes = (np.diff(rows) > 1) & (np.diff(seconds[rows]) <= most_s)
    for left, back in zip(rows[:-1][passes].tolist(), rows[1:][passes].tolist(), strict=True):
        first, last = np.searchsorted(
            seconds, [seconds[left] - most_s, np.nextafter(seconds[back] + most_s, np.inf)]
        )
        earlier = xy_m[first : left + 1][standing[first : left + 1]].mean(axis=0)
        later = xy_m[back:last][standing[back:last]].mean(axis=0)
        found[left:back] = np.hypot(*(later - earlier)) <= most_m
    return found


def stood(
    seconds: Floats, xy_m: Floats, device_mps: Floats, *, noise: Noise, step_s: float
) -> Flags:
    """Whether the vehicle stood at each fix.

    Stops shorter than about ten seconds may be missed, and so may a second at either end.

    Parameters
    ----------
    seconds
        Rising times [s].
    xy_m
        Smoothed places in a plane [m].
    device_mps
        Speeds as the device says [m/s]; NaN where it does not.
    noise
        What disturbs the drive.
    step_s
        Usual time from fix to fix [s].
    """
    over_s = max(_OVER_S, 2 * step_s)
    slow_mps = _SDS * float(_apart_sd_m(noise, step_s, np.array([over_s]))[0]) / over_s
    slow_mps = min(max(slow_mps, _SLOW_LEAST_MPS), _SLOW_MOST_MPS)
    speed_mps = _mean_speed_mps(seconds, xy_m, over_s)
    core = speed_mps < slow_mps
    core |= (device_mps < _DEVICE_STANDS_MPS) & (speed_mps < _SLOW_MOST_MPS)
    later_s = np.linspace(0.0, over_s / 2, 21)
    most_m = np.maximum(
        _BESIDE_SDS * _apart_sd_m(noise, step_s, later_s), _BESIDE_MPS2 * step_s * later_s
    )
    after = _held_after(core, seconds, xy_m, most_m, over_s / 2)
    before = _held_after(core[::-1], seconds[::-1], xy_m[::-1], most_m, over_s / 2)[::-1]
    beside = core | after | before
    apart_m = _BETWEEN_SDS * float(_apart_sd_m(noise, step_s, np.array([over_s]))[0])
    return beside | _between(beside, seconds, xy_m, most_m=apart_m, most_s=over_s)
