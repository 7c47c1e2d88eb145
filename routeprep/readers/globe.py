"""Whether a longitude and a latitude can be a place, and whether one stands for the other."""

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

__all__ = ["look_swapped", "off_globe", "on_globe", "swapped"]

Floats = npt.NDArray[np.float64]

_MOST_LON_DEG, _MOST_LAT_DEG = 180.0, 90.0


def on_globe(lon_deg: float, lat_deg: float) -> bool:
    """Whether they are a place on the Earth [deg]; NaN and infinity are none."""
    return abs(lon_deg) <= _MOST_LON_DEG and abs(lat_deg) <= _MOST_LAT_DEG


def look_swapped(lon_deg: float, lat_deg: float) -> bool:
    """Whether they are no place [deg], but would be the other way round."""
    return abs(lon_deg) <= _MOST_LAT_DEG < abs(lat_deg) <= _MOST_LON_DEG


def off_globe(lon_deg: Floats, lat_deg: Floats) -> npt.NDArray[np.bool_]:
    """Which of many are no place on the Earth [deg]; NaN and infinity are none."""
    return ~((np.abs(lon_deg) <= _MOST_LON_DEG) & (np.abs(lat_deg) <= _MOST_LAT_DEG))


def swapped(lon_deg: Sequence[float], lat_deg: Sequence[float]) -> bool:
    """Whether latitudes stand where longitudes should, in all of the points.

    Only what cannot be a latitude tells it, so that it is found west of 90 degrees west and east
    of 90 degrees east.

    Parameters
    ----------
    lon_deg, lat_deg
        Points [deg]; those that are not finite do not count.
    """
    pairs = zip(lon_deg, lat_deg, strict=True)
    known = [one for one in pairs if math.isfinite(one[0]) and math.isfinite(one[1])]
    return bool(known) and all(look_swapped(*one) for one in known)
