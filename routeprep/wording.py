"""The texts that sheet and map put together from numbers: dates, limits, depths, heights, lines.

In go shapes, out come the words as they are printed, in feet and inches for a US job.
"""

import datetime as dt
import math

import numpy as np

from routeprep.shapes import Leg, Pack
from routeprep.spreads import HALF_95
from routeprep.stationing import number, value_at
from routeprep.units import FACTORS_M, MPH_MPS

__all__ = [
    "date_text",
    "default_text",
    "depth_text",
    "height_text",
    "limits_text",
    "line_text",
    "plus_minus_text",
    "shift_text",
]

# Of our own, since a locale would change them.
_DAYS = ("MON", "TUE", "WED", "THU", "FRI", "SAT", "SUN")
_MONTHS = (
    "JAN", "FEB", "MAR", "APR", "MAY", "JUN", "JUL", "AUG", "SEP", "OCT", "NOV", "DEC",
)  # fmt: skip

# A limit this near to a whole foot or metre is one: what is left is the floating point's.
_WHOLE_M = 1e-6


def date_text(date: dt.date) -> str:
    """A date for people.

    Examples
    --------
    >>> date_text(dt.date(2026, 6, 1))
    'MON 1 JUN 2026'
    """
    return f"{_DAYS[date.weekday()]} {date.day} {_MONTHS[date.month - 1]} {date.year}"


def shift_text(date: dt.date, *, night: bool) -> str:
    """When the shift is: a night has two dates, and both are said.

    Parameters
    ----------
    date
        The day on which it starts.
    night
        Whether it starts in the evening and ends on the next day.

    Examples
    --------
    >>> shift_text(dt.date(2026, 6, 1), night=True)
    'NIGHT OF MON 1 → TUE 2 JUN 2026'
    >>> shift_text(dt.date(2026, 12, 31), night=True)
    'NIGHT OF THU 31 DEC 2026 → FRI 1 JAN 2027'
    >>> shift_text(dt.date(2026, 6, 1), night=False)
    'SHIFT STARTING MON 1 JUN 2026'
    """
    if not night:
        return f"SHIFT STARTING {date_text(date)}"
    first, last = date_text(date).split(), date_text(date + dt.timedelta(days=1)).split()
    # What both dates have in common, from the year backwards, is said once.
    own = next(k for k in range(len(first), 0, -1) if first[k - 1] != last[k - 1])
    return f"NIGHT OF {' '.join(first[:own])} → {' '.join(last)}"


def _limit(leg: Leg, along_m: float) -> str:
    unit_m = leg.stationing.unit.length_m
    value = value_at(leg.stationing, along_m)
    whole = abs(value - round(value)) * unit_m < _WHOLE_M
    return number(leg.stationing, along_m, step=0, decimals=0 if whole else 1)


def limits_text(leg: Leg) -> tuple[str, str]:
    """Stations where a leg's cut begins and ends, without the name of the zero."""
    return _limit(leg, leg.from_m), _limit(leg, leg.to_m)


def depth_text(depth_m: float, *, units: str) -> str:
    """A depth of cut, empty when not given.

    Parameters
    ----------
    depth_m
        The depth [m]; NaN when not given.
    units
        "us" or "metric".

    Examples
    --------
    >>> depth_text(0.0381, units="us"), depth_text(0.04, units="metric")
    ('1.5 in', '40 mm')
    """
    if math.isnan(depth_m):
        return ""
    unit = "in" if units == "us" else "mm"
    return f"{round(depth_m / float(FACTORS_M[unit]), 2):g} {unit}"


def height_text(height_m: float, height_by: str, *, units: str) -> str:
    """A height over the road, rounded down; a guess never prints as a number.

    Parameters
    ----------
    height_m
        The height [m]; NaN when not known.
    height_by
        "posted", "measured", "guess" or empty.
    units
        "us" or "metric".

    Examples
    --------
    >>> height_text(4.4196, "posted", units="us")
    '14 ft 6 in, posted'
    >>> height_text(4.4196, "guess", units="us")
    'only guessed: have it measured'
    """
    if height_by == "guess":
        return "only guessed: have it measured"
    if math.isnan(height_m) or not height_by:
        return ""
    if units == "us":
        inches = math.floor(height_m / float(FACTORS_M["in"]) + _WHOLE_M)
        return f"{inches // 12} ft {inches % 12} in, {height_by}"
    return f"{math.floor(height_m * 100 + _WHOLE_M) / 100:.2f} m, {height_by}"


def plus_minus_text(sd_m: float, *, units: str) -> str:
    """Half-width of the 95 % interval, rounded up.

    Parameters
    ----------
    sd_m
        Standard deviation [m].
    units
        "us" or "metric".

    Examples
    --------
    >>> plus_minus_text(2.5, units="us"), plus_minus_text(2.5, units="metric")
    ('±17 ft', '±4.9 m')
    """
    half_m = HALF_95 * sd_m
    if units == "us":
        return f"±{math.ceil(half_m / float(FACTORS_M['ft']) - _WHOLE_M)} ft"
    return f"±{math.ceil(half_m * 10 - _WHOLE_M) / 10:.1f} m"


def line_text(leg: Leg, pack: Pack) -> str:
    """What a leg's stations run along, and how sure that line is."""
    if leg.line.made_from != "path driven":
        return f"along the centerline of a {leg.line.made_from}"
    units = pack.settings.units
    usual = plus_minus_text(float(np.median(leg.line.sd_m)), units=units)
    worst = plus_minus_text(float(leg.line.sd_m.max()), units=units)
    return f"along the path driven, not plan centerline ({usual} across, at worst {worst})"


def default_text(name: str, value: float, *, units: str) -> str:
    """A default in words, its unit taken from the ending of its name.

    Parameters
    ----------
    name
        As in ``Defaults``.
    value
        Its value [the unit that the name ends in].
    units
        "us" or "metric".

    Examples
    --------
    >>> default_text("road_corridor_m", 30.0, units="us")
    'road corridor: 30 m (98.4 ft)'
    >>> default_text("same_drive_share", 0.5, units="us")
    'same drive share: 0.5'
    """
    words, _, unit = name.rpartition("_")
    words = words.replace("_", " ")
    if unit == "m":
        feet = f" ({value / float(FACTORS_M['ft']):,.1f} ft)" if units == "us" else ""
        return f"{words}: {value:g} m{feet}"
    if unit == "mps":
        miles = f" ({value / float(MPH_MPS):,.0f} mph)" if units == "us" else ""
        return f"{words}: {value:g} m/s{miles}"
    if unit == "s":
        return f"{words}: {value:g} s"
    return f"{name.replace('_', ' ')}: {value:g}"
