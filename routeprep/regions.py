"""The stretches between station equations, and rounding that never leaves the labels there are.

In goes a ``Stationing`` with its equations, out come regions up-station.  In each the written
value is the running value with the region's own shift.
"""

import math
from collections.abc import Sequence
from decimal import ROUND_FLOOR, Decimal
from typing import NamedTuple

from routeprep.lines import Stationing

__all__ = ["SAME", "Printed", "Region", "bearing", "outward", "regions_of", "rounded"]

# Places nearer than this are one [the unit's length]: what is left is the floating point's.
SAME = 1e-6


class Region(NamedTuple):
    """A stretch between equations: its first and last written value, and written less running."""

    low_value: float
    high_value: float
    shift_value: float


class Printed(NamedTuple):
    """A written value as it is printed: the region's index, the rounded value, its decimals."""

    region: int
    value: float
    decimals: int


def regions_of(stationing: Stationing) -> list[Region]:
    """All regions, up-station; an equation of two equal values parts nothing."""
    regions, low, shift = [], -math.inf, 0.0
    for equation in stationing.equations:
        if equation.back_value != equation.ahead_value:
            regions.append(Region(low, equation.back_value, shift))
            low, shift = equation.ahead_value, shift + equation.ahead_value - equation.back_value
    return [*regions, Region(low, math.inf, shift)]


def bearing(value: float, regions: Sequence[Region]) -> list[int]:
    """Indices of the regions that bear a written value.

    Parameters
    ----------
    value
        The written value [the unit's length].
    regions
        All regions.
    """
    return [
        at
        for at, region in enumerate(regions)
        if region.low_value - SAME <= value <= region.high_value + SAME
    ]


def _exact(value: float) -> Decimal:
    return Decimal(repr(value))


def _floor(value: Decimal, step: Decimal) -> Decimal:
    return (value / step).to_integral_value(rounding=ROUND_FLOOR) * step


def _ceiling(value: Decimal, step: Decimal) -> Decimal:
    return -_floor(-value, step)


def _nearest(value: Decimal, region: Region, step: Decimal) -> Decimal | None:
    """The multiple of a step nearest to a value, halves up-station; None where none is inside."""
    low, high = _exact(region.low_value), _exact(region.high_value)
    found = _floor(value + step / 2, step)
    if found > high:
        found = _floor(high, step)
    if found < low:
        found = _ceiling(low, step)
    return found if low <= found <= high else None


def _finer(step: Decimal) -> Decimal:
    """The next smaller power of ten."""
    power = Decimal(1).scaleb(step.adjusted())
    return power if power < step else power.scaleb(-1)


def _printed(region: int, value: Decimal, step: Decimal) -> Printed:
    return Printed(region, float(value), max(0, -int(step.normalize().as_tuple().exponent)))


def rounded(value: float, at: int, regions: Sequence[Region], *, step: float) -> Printed:
    """Rounded to the nearest multiple of a step in its own region, halves up-station.

    Where the region is too short to hold one, it is rounded finer.

    Parameters
    ----------
    value
        The written value [the unit's length].
    at
        Index of its region.
    regions
        All regions.
    step
        The step [the unit's length].
    """
    finer = _exact(step)
    found = _nearest(_exact(value), regions[at], finer)
    while found is None:
        finer = _finer(finer)
        found = _nearest(_exact(value), regions[at], finer)
    return _printed(at, found, finer)


def outward(
    value: float, at: int, regions: Sequence[Region], *, step: float, toward: int
) -> Printed:
    """Rounded down-station or up-station to a multiple of a step, across equations if need be.

    Parameters
    ----------
    value
        The written value [the unit's length].
    at
        Index of its region.
    regions
        All regions.
    step
        The step [the unit's length].
    toward
        -1 for down-station, 1 for up-station.
    """
    grid, own = _exact(step), regions[at]
    if toward < 0:
        nearer = [*regions[:at], own._replace(high_value=value)]
        found = [_floor(_exact(region.high_value), grid) for region in nearer]
        one = max(k for k, region in enumerate(nearer) if found[k] >= _exact(region.low_value))
        return _printed(one, found[one], grid)
    nearer = [own._replace(low_value=value), *regions[at + 1 :]]
    found = [_ceiling(_exact(region.low_value), grid) for region in nearer]
    one = min(k for k, region in enumerate(nearer) if found[k] <= _exact(region.high_value))
    return _printed(at + one, found[one], grid)
