"""Distances along a leg's line to station values and labels, and back.

In goes a ``Stationing`` with ``along`` in metres, out comes a station value in the unit of the
plans, or the label that the plans and the paint use; a leg with a named zero never looks like
plan stations, since its label always carries the zero's name.
"""

import math

from routeprep.errors import StationError
from routeprep.lines import Stationing
from routeprep.units import format_station

__all__ = ["along_at", "label", "number", "value_at"]


def value_at(stationing: Stationing, along_m: float) -> float:
    """Station value [the unit's length] at a distance along the line [m].

    Beyond the ends it goes on counting: nothing clamps.
    """
    return stationing.known_value[0] + (along_m - stationing.known_m[0]) / stationing.unit.length_m


def along_at(stationing: Stationing, value: float) -> float:
    """Distance along the line [m] at a station value [the unit's length]."""
    return stationing.known_m[0] + (value - stationing.known_value[0]) * stationing.unit.length_m


def number(stationing: Stationing, along_m: float, *, step: float, decimals: int = 0) -> str:
    """The numbers of a label, without the name of the zero.

    Parameters
    ----------
    stationing
        The leg's stationing.
    along_m
        Distance along the line [m].
    step
        Round to a multiple of this [the unit's length]; 0 for no rounding but ``decimals``.
    decimals
        Digits after the point.

    Raises
    ------
    StationError
        If ``along_m`` is not finite.
    """
    if not math.isfinite(along_m):
        msg = f"along is {along_m!r} m; a station needs a finite distance along the line"
        raise StationError(msg, along_m=along_m)
    value = value_at(stationing, along_m)
    if step:
        value = math.floor(value / step + 0.5) * step
    return format_station(value, stationing.unit, decimals=decimals)


def label(stationing: Stationing, along_m: float, *, step: float = 0, decimals: int = 1) -> str:
    """The whole label: "12+34.5", or "2+40.0 from Elm St north curb" for a named zero.

    Parameters
    ----------
    stationing
        The leg's stationing.
    along_m
        Distance along the line [m].
    step
        Round to a multiple of this [the unit's length]; 0 for no rounding but ``decimals``.
    decimals
        Digits after the point.

    Raises
    ------
    StationError
        If ``along_m`` is not finite.
    """
    text = number(stationing, along_m, step=step, decimals=decimals)
    return f"{text} from {stationing.zero}" if stationing.zero else text
