"""How far a drive's fixes err, and how much the vehicle was pushed about, from the drive itself.

In go times and places of the fixes and what the device says of itself, out comes a ``Noise``.
A receiver's error has a part that is new with each fix and a part that wanders over a minute or
so; they differ from a vehicle's motion by how fast they change.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

__all__ = ["PUSH_S", "WANDER_S", "Noise", "noise_of"]

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

# An acceleration lasts about this long [s]: a curve, a braking (Singer, Estimating optimal
# tracking filter performance for manned maneuvering targets, 1970, has the model; the value is
# common practice for a car, no source).
PUSH_S = 4.0
# The wandering part of a receiver's error keeps about this long [s]; common practice, no source.
WANDER_S = 60.0

# What is tried: fresh and wandering error [m] and push [m/s2], each in even ratios.
_FRESH_M = np.r_[0.05, np.geomspace(0.2, 12.0, 28)]
_WANDER_M = np.r_[0.02, np.geomspace(0.3, 15.0, 18)]
_PUSH_MPS2 = np.geomspace(0.1, 3.0, 13)
# Before a drive is looked at: its push [m/s2], and how sure that is as a ratio (one sd of the
# logarithm); common practice, no source.
_USUAL_PUSH_MPS2 = 0.7
_USUAL_PUSH_SD = 1.0
# Below this many accelerations nothing is read from a drive; then this share is fresh error.
_LEAST = 16
_FRESH_SHARE = 0.3
# The drive's accelerations are looked at in this many bands of frequency.
_BANDS = 40
# Errors are all fresh if that explains a drive as well to this log-likelihood, and wandering alone
# is worse by that much; about one chance in seven and in twenty.
_AS_WELL = 2.0
_WORSE = 3.0
# Fresh errors of more than this share of the report are all of it; common practice, no source.
_ALL_SHARE = 0.8


@dataclass(frozen=True, slots=True, kw_only=True)
class Noise:
    """What disturbs a drive, as standard deviations of one axis.

    Attributes
    ----------
    fresh_m
        Error that is new with each fix [m].
    wander_m
        Error that wanders over ``WANDER_S`` [m].
    hidden_m
        Error that the device owns up to and the drive cannot show, since it hardly changes [m].
    push_mps2
        Acceleration of the vehicle [m/s2].
    """

    fresh_m: float
    wander_m: float
    hidden_m: float
    push_mps2: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Bands:
    """Power of a drive's accelerations by frequency."""

    turn: npt.NDArray[np.float64]  # radians a fix
    power: npt.NDArray[np.float64]
    count: npt.NDArray[np.float64]
    step_s: float


def _bands(seconds: Floats, xy_m: Floats, joined: Flags) -> _Bands | None:
    """Second differences of evenly recorded fixes, as power in bands; None when too few.

    They are what is left after a steady motion is taken off, so that nothing leaks from it.
    """
    wait_s = np.diff(seconds)
    step_s = float(np.median(wait_s[joined])) if joined.any() else np.nan
    even = joined & (wait_s > step_s / 2) & (wait_s < step_s * 2)
    used = even[1:] & even[:-1]
    if used.sum() < _LEAST:
        return None
    speed = np.diff(xy_m @ [1.0, 1.0j]) / wait_s
    change = np.where(used, np.diff(speed) / ((wait_s[1:] + wait_s[:-1]) / 2) * step_s**2, 0.0)
    window = np.hanning(len(change) + 2)[1:-1] * used
    power = np.abs(np.fft.fft(change * window)) ** 2 / np.sum(window**2)
    turn = np.abs(np.fft.fftfreq(len(change))) * 2 * np.pi
    edges = np.geomspace(2 * np.pi / len(change) * 0.99, np.pi * 1.01, _BANDS)
    band = np.digitize(turn, edges)
    count, *sums = (
        np.bincount(band, values, minlength=_BANDS + 1)[1:]
        for values in (np.ones_like(turn), turn, power)
    )
    some = count > 0
    means = [one[some] / count[some] for one in sums]
    return _Bands(
        turn=means[0], power=means[1], count=count[some].astype(np.float64), step_s=step_s
    )


def _spectra(bands: _Bands) -> tuple[Floats, Floats, Floats]:
    """Power in each band of unit fresh error, unit wandering error and unit push, both axes."""
    second = 2.0 - 2.0 * np.cos(bands.turn)
    keep = np.exp(-bands.step_s / WANDER_S)
    wander = (1 - keep**2) * second**2 / (1 + keep**2 - 2 * keep * np.cos(bands.turn))
    # A motion sampled in steps shows its faster parts folded back; three folds each way are ample.
    rate = np.abs(bands.turn[:, None] + 2 * np.pi * np.arange(-3, 4)) / bands.step_s
    push = 2 * PUSH_S / (1 + (rate * PUSH_S) ** 2) / rate**4
    return 2 * second**2, 2 * wander, 2 * second**2 * push.sum(axis=1) / bands.step_s


def _likeliest(bands: _Bands, reported_m: float, reported_sd: float) -> tuple[float, float, float]:
    """Fresh error, wandering error and push that explain the bands best.

    Whittle's likelihood (Whittle, Hypothesis testing in time series analysis, 1951) with the
    device's report and the usual push as priors, on a grid.
    """
    fresh, wander, push = np.meshgrid(_FRESH_M, _WANDER_M, _PUSH_MPS2, indexing="ij")
    fresh_m2, wander_m2, push_squared = fresh**2, wander**2, push**2
    log = -0.5 * (np.log(np.hypot(fresh, wander) / reported_m) / reported_sd) ** 2
    log -= 0.5 * (np.log(push / _USUAL_PUSH_MPS2) / _USUAL_PUSH_SD) ** 2
    for count, power, *units in zip(bands.count, bands.power, *_spectra(bands), strict=True):
        expected = fresh_m2 * units[0] + wander_m2 * units[1] + push_squared * units[2]
        # The window halves what each frequency tells.
        log -= 0.5 * count * (np.log(expected) + power / expected)
    all_fresh = np.where(wander == _WANDER_M[0], log, -np.inf)
    wandering = np.where(fresh < wander / 2, log, -np.inf)
    if all_fresh.max() > max(log.max() - _AS_WELL, wandering.max() + _WORSE):
        log = all_fresh
    best = np.unravel_index(np.argmax(log), log.shape)
    return float(fresh[best]), float(wander[best]), float(push[best])


def noise_of(
    seconds: Floats, xy_m: Floats, joined: Flags, *, reported_m: float, reported_sd: float
) -> Noise:
    """Estimate what disturbs a drive.

    What the device reports beyond what the drive shows is taken for an error that hardly
    changes: a drive cannot show it.  Where it shows fresh errors alone, and nearly as large as
    the report, there is no other.

    Parameters
    ----------
    seconds
        Rising times of the fixes [s].
    xy_m
        Their places in a plane [m].
    joined
        Whether each fix but the last belongs to one piece with the next.
    reported_m
        What the device reports, or the default, as a standard deviation of one axis [m].
    reported_sd
        How sure that is: standard deviation of its logarithm [ratio].
    """
    bands = _bands(seconds, xy_m, joined)
    if bands is None:
        fresh_m, push_mps2 = _FRESH_SHARE * reported_m, _USUAL_PUSH_MPS2
        wander_m = float(np.sqrt(1 - _FRESH_SHARE**2)) * reported_m
    else:
        fresh_m, wander_m, push_mps2 = _likeliest(bands, reported_m, reported_sd)
    hidden_m2 = reported_m**2 - fresh_m**2 - wander_m**2
    if wander_m == _WANDER_M[0] and fresh_m > _ALL_SHARE * reported_m:
        hidden_m2 = 0.0
    return Noise(
        fresh_m=fresh_m,
        wander_m=wander_m,
        hidden_m=float(np.sqrt(max(0.0, hidden_m2))),
        push_mps2=push_mps2,
    )
