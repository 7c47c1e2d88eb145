"""How high the sun stands over a place at a time.

In go times and places, out come degrees above the horizon of the sun's centre, without the air's
bending of its light.  Low precision formulas after Meeus, Astronomical Algorithms, 2nd ed. 1998,
chapters 25 and 28, in the form that NOAA's solar calculator publishes: good to about 0.01 degree
between the years 1901 and 2099.
"""

import numpy as np
import numpy.typing as npt

__all__ = ["DUSK_DEG", "elevation_deg"]

Floats = npt.NDArray[np.float64]

# Civil twilight ends when the sun's centre is this high (United States Naval Observatory's
# definitions).
DUSK_DEG = -6.0

# 2000 January 1, 12:00 UTC [s since 1970], and a Julian century [s].
_EPOCH_S = 946_728_000.0
_CENTURY_S = 36_525 * 86_400.0
_DAY_S = 86_400.0


def _declination_and_equation(century: Floats) -> tuple[Floats, Floats]:
    """The sun's declination, and true less mean solar time as an angle, both [rad]."""
    mean = np.radians((280.46646 + century * (36_000.76983 + 0.0003032 * century)) % 360.0)
    anomaly = np.radians(357.52911 + century * (35_999.05029 - 0.0001537 * century))
    bent = 0.016708634 - century * (0.000042037 + 0.0000001267 * century)
    centre_deg = (
        np.sin(anomaly) * (1.914602 - century * (0.004817 + 0.000014 * century))
        + np.sin(2 * anomaly) * (0.019993 - 0.000101 * century)
        + np.sin(3 * anomaly) * 0.000289
    )
    node = np.radians(125.04 - 1934.136 * century)
    seen = mean + np.radians(centre_deg - 0.00569 - 0.00478 * np.sin(node))
    tilt_s = 21.448 - century * (46.8150 + century * (0.00059 - 0.001813 * century))
    tilt = np.radians(23.0 + (26.0 + tilt_s / 60.0) / 60.0 + 0.00256 * np.cos(node))
    square = np.tan(tilt / 2) ** 2
    equation = (
        square * np.sin(2 * mean)
        - 2 * bent * np.sin(anomaly)
        + 4 * bent * square * np.sin(anomaly) * np.cos(2 * mean)
        - 0.5 * square**2 * np.sin(4 * mean)
        - 1.25 * bent**2 * np.sin(2 * anomaly)
    )
    return np.arcsin(np.sin(tilt) * np.sin(seen)), equation


def elevation_deg(seconds: Floats, lon_deg: Floats, lat_deg: Floats) -> Floats:
    """Height of the sun's centre above the horizon [deg]; NaN where a value is NaN.

    Parameters
    ----------
    seconds
        Times [s since 1970, UTC].
    lon_deg, lat_deg
        Places, east and north positive [deg].

    Examples
    --------
    >>> noon = np.array([946_728_000.0])
    >>> float(elevation_deg(noon, np.array([0.0]), np.array([51.48]))[0].round(1))
    15.5
    """
    declination, equation = _declination_and_equation((seconds - _EPOCH_S) / _CENTURY_S)
    turn = 2 * np.pi * (seconds % _DAY_S) / _DAY_S
    hour = turn + equation + np.radians(lon_deg) - np.pi
    lat = np.radians(lat_deg)
    sine = np.sin(lat) * np.sin(declination) + np.cos(lat) * np.cos(declination) * np.cos(hour)
    return np.asarray(np.degrees(np.arcsin(np.clip(sine, -1.0, 1.0))), dtype=np.float64)
