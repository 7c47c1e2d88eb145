"""A path in a plane, without what is noise in it.

In go even vertices with how far each drive lies from them, out come smoothed vertices: widely
smoothed where the drives show nothing else, narrowly where they agree on a bend.
"""

from itertools import pairwise

import numpy as np
import numpy.typing as npt
from scipy.linalg import solveh_banded
from scipy.ndimage import uniform_filter1d

__all__ = ["ALIKE_M", "DEVICE_LOOKS", "GRID_M", "even", "low_pass", "shaped"]

Floats = npt.NDArray[np.float64]

# The grid along a path [m]: on a radius of 15 m a chord this long lies 5 cm inside the curve.
GRID_M = 2.5
# A satellite's error stays much the same over this [m]: a minute at 30 mph.  Common practice, no
# source.
ALIKE_M = 800.0
# What a device says of its own error counts like this many looks at what the drives disagree by;
# common practice, no source.
DEVICE_LOOKS = 6.0
# Nothing narrower than this is believed [m]: a car cannot turn sharper than a radius of 5 to 6 m,
# and a quarter of that turn is 9 m long; common practice, no source.
_NARROWEST_M = 15.0
# A band is kept by the share 1 - 4.505 noise / energy of the energy around, the threshold that
# lets noise pass once in a length (Cai, Adaptive wavelet estimation: a block thresholding and
# oracle inequality approach, Annals of Statistics 27, 1999).
_THRESHOLD = 4.505
# Median of a squared standard normal value (chi-squared distribution, one degree of freedom).
_MEDIAN_SQUARE = 0.4549

_THIRD = (-1.0, 3.0, -3.0, 1.0)
_LEAST = 5


def even(xy_m: Floats) -> Floats:
    """Resample a path to even steps of about the grid.

    Parameters
    ----------
    xy_m
        Vertices (n, 2) [m].
    """
    along_m = np.r_[0.0, np.cumsum(np.hypot(*np.diff(xy_m, axis=0).T))]
    count = max(_LEAST, round(along_m[-1] / GRID_M) + 1)
    grid = np.linspace(0.0, along_m[-1], count)
    return np.column_stack([np.interp(grid, along_m, xy_m[:, k]) for k in (0, 1)])


def low_pass(values_m: Floats, *, wavelength_m: float) -> Floats:
    """Take out features narrower than a wavelength from values on the grid.

    Penalised least squares on third differences (Eilers, A perfect smoother, Analytical
    Chemistry 75, 2003), the penalty set so that half the amplitude passes at the wavelength.

    Parameters
    ----------
    values_m
        One column a series (n, k), any unit [m].
    wavelength_m
        Half the amplitude passes here [m].
    """
    count = len(values_m)
    penalty = (2.0 * np.sin(np.pi * GRID_M / wavelength_m)) ** -6
    bands = np.zeros((4, count))
    for apart in range(4):
        for k in range(4 - apart):
            row = bands[3 - apart, apart:]
            row[k : k + count - 3] += penalty * _THIRD[k] * _THIRD[k + apart]
    bands[3] += 1.0
    return np.asarray(solveh_banded(bands, values_m), dtype=np.float64)


def shaped(
    xy_m: Floats, *, apart_m: Floats, share: Floats, sd_m: Floats, widest_m: float
) -> Floats:
    """Smooth a path as much as its noise asks for, octave by octave.

    The noise in an octave is what the drives disagree by there and, as if it had been looked at
    a few times, what is to be expected.  A device's error is taken for a Gauss-Markov process: its
    spectrum 2 sd^2 L / (pi (1 + (w L)^2)) is above 1 / L that of a random walk (Gelb, Applied
    Optimal Estimation, 1974; from memory).  To that comes scatter from fix to fix, told from the
    narrowest octave, in which bends are rare.

    Parameters
    ----------
    xy_m
        Vertices (n, 2) of the mean of the drives, on the grid [m].
    apart_m
        Distance of each drive from the mean at each vertex (n, drives) [m].
    share
        Each drive's share of the mean (n, drives), 1 in all [of the mean].
    sd_m
        Each drive's standard deviation by its device (n, drives) [m].
    widest_m
        What is wider than this is always kept [m].
    """
    centre_m = xy_m.mean(axis=0)
    both = np.column_stack([xy_m - centre_m, apart_m])
    octaves = max(0, int(np.log2(widest_m / _NARROWEST_M)))
    waves_m = [widest_m / 2**k for k in range(octaves + 1)]
    smooth = [low_pass(both, wavelength_m=wave_m) for wave_m in waves_m]
    bands = [fine - wide for wide, fine in pairwise(smooth)]
    alone = np.sum(share**2, axis=1)
    device_m2 = np.sum((share * sd_m) ** 2, axis=1) / (2 * np.pi**2 * ALIKE_M)
    scatter_m2 = np.median(np.sum(bands[-1][:, :2] ** 2, axis=1)) / _MEDIAN_SQUARE if bands else 0.0
    shape: Floats = smooth[0][:, :2] + centre_m
    for wave_m, band in zip(waves_m, bands, strict=False):
        looks = GRID_M / wave_m * float(np.sum(1.0 - alone))
        found_m2 = GRID_M / wave_m * float(np.sum(share * band[:, 2:] ** 2))
        expected_m2 = device_m2 * wave_m + scatter_m2 * waves_m[-2] / wave_m
        noise_m2 = (DEVICE_LOOKS * expected_m2 + found_m2 * alone) / (DEVICE_LOOKS + looks)
        window = max(3, round(wave_m / 2 / GRID_M))
        energy_m2 = uniform_filter1d(np.sum(band[:, :2] ** 2, axis=1), window, mode="nearest")
        kept = np.clip(1.0 - _THRESHOLD * noise_m2 / np.maximum(energy_m2, 1e-12), 0.0, 1.0)
        shape = shape + kept[:, None] * band[:, :2]
    return shape
