"""The plan of work in words: passes as their operator sees them, lifts, quantities.

In go passes, meetings and quantities, out come the texts that paper, map and data print, in feet
and short tons for a US job.  What an operator reads names YOUR LEFT and YOUR RIGHT alone: a pass
that runs down-station is turned once, here.
"""

import math
from collections.abc import Sequence
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from routeprep.listing import Row
from routeprep.plans import Meeting, Pass, Quantity
from routeprep.shapes import Leg
from routeprep.stationing import number
from routeprep.units import FACTORS_M, LB_KG
from routeprep.wording import depth_text, plus_minus_text

__all__ = [
    "area_text",
    "depths_text",
    "hands",
    "lift_text",
    "pass_text",
    "quantity_texts",
    "turned",
    "width_text",
]

Floats = npt.NDArray[np.float64]
_Side = TypeVar("_Side")

_CURB, _LINE, _OVER = "curb side", "centerline side", "the line is under the drum"
# A pass lies across the line when both its edges are more than this on either side of it [m].
_ACROSS_M = 0.01

_FT2 = float(FACTORS_M["ft"]) ** 2
_YD2 = float(FACTORS_M["yd"]) ** 2
_YD3 = float(FACTORS_M["yd"]) ** 3
# A short ton is 2000 lb.
_TON_KG = 2000 * float(LB_KG)
_T_KG = 1000.0


def pass_text(one: Pass) -> str:
    """What a pass is called: never its code alone, as in "INSIDE HALF, pass A R1"."""
    return f"{one.half.upper()}, pass {one.code}"


def turned(one: Pass, left: _Side, right: _Side) -> tuple[_Side, _Side]:
    """What is left and right looking up-station, as YOUR LEFT and YOUR RIGHT of the operator."""
    return (left, right) if one.travel > 0 else (right, left)


def hands(one: Pass) -> tuple[str, str]:
    """What lies at YOUR LEFT and at YOUR RIGHT: one word for each side of the road, never turned.

    Both are "the line is under the drum" where the pass lies across the line.
    """
    left_m, right_m = float(one.left_m.mean()), float(one.right_m.mean())
    if left_m < -_ACROSS_M and right_m > _ACROSS_M:
        return _OVER, _OVER
    if abs(left_m) < abs(right_m):
        return turned(one, _LINE, _CURB)
    return turned(one, _CURB, _LINE)


def width_text(width_m: float, *, units: str) -> str:
    """A width across the road as it is given: hundredths of a foot, centimetres.

    Parameters
    ----------
    width_m
        The width [m].
    units
        "us" or "metric".

    Examples
    --------
    >>> width_text(2.2098, units="us"), width_text(2.0, units="metric")
    ('7.25 ft', '2.00 m')
    """
    if units == "us":
        return f"{round(width_m / float(FACTORS_M['ft']), 2):g} ft"
    return f"{width_m:.2f} m"


def depths_text(depth_m: Floats, *, units: str) -> str:
    """Depth of the cut along one edge: one value, or from the least to the most.

    Parameters
    ----------
    depth_m
        Depths along the edge [m]; NaN where not given.
    units
        "us" or "metric".

    Examples
    --------
    >>> depths_text(np.array([0.0508, 0.0381]), units="us")
    '1.5 to 2 in'
    """
    known_m = depth_m[~np.isnan(depth_m)]
    if len(known_m) == 0:
        return "depth not given"
    least, most = (depth_text(float(m), units=units) for m in (known_m.min(), known_m.max()))
    text = most if least == most else f"{least.split()[0]} to {most}"
    return text if len(known_m) == len(depth_m) else f"{text}, in places not given"


def area_text(area_m2: float, *, units: str) -> str:
    """An area that is worked by hand: whole square feet, tenths of a square metre.

    Parameters
    ----------
    area_m2
        The area [m2]; NaN when nobody gave its extent.
    units
        "us" or "metric".

    Examples
    --------
    >>> area_text(9.290304, units="us"), area_text(9.290304, units="metric")
    ('100 ft²', '9.3 m²')
    """
    if math.isnan(area_m2):
        return "size not given"
    return f"{area_m2 / _FT2:,.0f} ft²" if units == "us" else f"{area_m2:,.1f} m²"


def _loads(loads: float) -> str:
    return "truck not given" if math.isnan(loads) else f"{loads:,.1f}"


def quantity_texts(one: Quantity, *, units: str) -> tuple[str, str, str, str, str]:
    """Area cut, volume, weight, and loads by weight and by volume, each with its unit.

    Square yards, cubic yards and short tons on a US job.  Loads have a decimal: whoever orders
    trucks rounds them up.

    Parameters
    ----------
    one
        The quantity.
    units
        "us" or "metric".
    """
    us = units == "us"
    area = f"{one.area_m2 / _YD2:,.0f} yd²" if us else f"{one.area_m2:,.0f} m²"
    if math.isnan(one.volume_m3):
        return area, "depth not given", "depth not given", "not known", "not known"
    return (
        area,
        f"{one.volume_m3 / _YD3:,.1f} yd³" if us else f"{one.volume_m3:,.1f} m³",
        f"{one.mass_kg / _TON_KG:,.1f} tons" if us else f"{one.mass_kg / _T_KG:,.1f} t",
        _loads(one.loads_by_weight),
        _loads(one.loads_by_volume),
    )


def _ends(met: Sequence[Meeting], leg: Leg, travel: int) -> tuple[str, str]:
    """Stations of lifting and dropping, rounded away from the things; in the order met."""
    from_m = min(one.lift_from_m for one in met)
    to_m = max(one.lift_to_m for one in met)
    step, decimals = (1.0, 0) if leg.stationing.unit.family == "ft" else (0.1, 1)
    low, high = (
        number(leg.stationing, at_m, step=step, decimals=decimals, toward=way)
        for at_m, way in ((from_m, -1), (to_m, 1))
    )
    return (low, high) if travel > 0 else (high, low)


def lift_text(met: Sequence[tuple[Meeting, Row]], leg: Leg, *, travel: int, units: str) -> str:
    """Where the drum is lifted and dropped, for one thing or for those that share a lift.

    Stations stand only where every one of them is exact; anything else is lifted over at the
    paint, and the sheet says about where that is.  Empty where the drum stays down.

    Parameters
    ----------
    met
        Each thing of the lift as it is met, with its row of the list.
    leg
        Its leg.
    travel
        +1 up-station, -1 down-station.
    units
        "us" or "metric".
    """
    lifted = [(one, row) for one, row in met if not math.isnan(one.lift_from_m)]
    if not lifted:
        return ""
    if all(one.exact for one, _ in lifted):
        first, last = _ends([one for one, _ in lifted], leg, travel)
        return f"LIFT {first}, DROP {last}"
    ordered = sorted(lifted, key=lambda both: travel * both[0].along_m)
    stations = [str(row["station_text"]) for _, row in ordered]
    about = " to ".join(dict.fromkeys((stations[0], stations[-1])))
    worst = max((row for _, row in lifted), key=lambda row: float(row["along_sd_m"]))
    said = worst["plus_minus_text"] or plus_minus_text(float(worst["along_sd_m"]), units=units)
    return f"LIFT and DROP at paint, about {about} {said}"
