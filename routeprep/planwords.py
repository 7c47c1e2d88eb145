"""The plan of work in words: passes as their operator sees them, lifts, quantities.

In go passes, meetings and quantities, out come the texts that paper, map and data print, in feet
and short tons for a US job.  What an operator reads names YOUR LEFT and YOUR RIGHT alone: a pass
that runs down-station is turned once, here.
"""

import math
from collections.abc import Mapping, Sequence
from typing import Any, Protocol, TypeVar, cast

import numpy as np
import numpy.typing as npt

from routeprep.listing import Row
from routeprep.plans import Meeting, Pass, Quantity
from routeprep.shapes import Leg
from routeprep.stationing import number
from routeprep.units import FACTORS_M, LB_KG
from routeprep.whereabouts import skip_m
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
# What reaches less far along is said as one place, as on the list [m].
_LONG_M = 1.5

_FT2 = float(FACTORS_M["ft"]) ** 2
_YD2 = float(FACTORS_M["yd"]) ** 2
_YD3 = float(FACTORS_M["yd"]) ** 3
# A short ton is 2000 lb.
_TON_KG = 2000 * float(LB_KG)
_T_KG = 1000.0


class _Directed(Protocol):
    """What is run up-station (+1) or down-station (-1)."""

    @property
    def travel(self) -> int: ...


def pass_text(one: Pass) -> str:
    """What a pass is called: never its code alone, as in "INSIDE HALF, pass A R1"."""
    return f"{one.half.upper()}, pass {one.code}"


def turned(one: _Directed, left: _Side, right: _Side) -> tuple[_Side, _Side]:
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


def _taped(met: Sequence[Meeting], one: Pass, leg: Leg) -> str:
    """Stations of lifting and dropping, rounded away from the things, in the order met.

    Where a lift reaches over an end of the pass the drum is not in the road there anyhow.
    """
    from_m = min(lift.lift_from_m for lift in met)
    to_m = max(lift.lift_to_m for lift in met)
    step, decimals = (1.0, 0) if leg.stationing.unit.family == "ft" else (0.1, 1)
    ends = [
        number(leg.stationing, at_m, step=step, decimals=decimals, toward=way)
        for at_m, way in ((from_m, -1), (to_m, 1))
    ]
    over = [from_m <= float(one.along_m[0]), to_m >= float(one.along_m[-1])]
    first, last = turned(one, *ends)
    up_at_first, up_at_last = turned(one, *over)
    lift = "BEGIN WITH THE DRUM UP" if up_at_first else f"LIFT {first}"
    return f"{lift}, {'THEN UP TO THE END' if up_at_last else f'DROP {last}'}"


def _reach(row: Row, leg: Leg) -> tuple[tuple[float, str], ...]:
    """Where a thing is along [m], with the station to print: one place, or both its ends.

    Of what is to be skipped, the ends of that.
    """
    said = skip_m(cast("Mapping[str, Any]", row), leg)
    from_m, to_m = said or (float(row["from_m"]), float(row["to_m"]))
    if to_m - from_m < _LONG_M:
        return ((float(row["along_m"]), str(row["station_text"])),)
    step = 5.0 if leg.stationing.unit.family == "ft" else 1.0
    return tuple(
        (at_m, number(leg.stationing, at_m, step=step, toward=way))
        for at_m, way in ((from_m, -1), (to_m, 1))
    )


def lift_text(met: Sequence[tuple[Meeting, Row]], one: Pass, leg: Leg, *, units: str) -> str:
    """Where the drum is lifted and dropped, for one thing or for those that share a lift.

    Stations stand only where every one of them is exact; anything else is lifted over at the
    paint, and the sheet says about where that is.  Empty where the drum stays down.

    Parameters
    ----------
    met
        Each thing of the lift, with its row of the list.
    one
        The pass.
    leg
        Its leg.
    units
        "us" or "metric".
    """
    lifted = [(met_one, row) for met_one, row in met if not math.isnan(met_one.lift_from_m)]
    if not lifted:
        return ""
    if all(met_one.exact for met_one, _ in lifted):
        return _taped([met_one for met_one, _ in lifted], one, leg)
    places = sorted(
        (place for _, row in lifted for place in _reach(row, leg)),
        key=lambda place: one.travel * place[0],
    )
    about = " to ".join(dict.fromkeys((places[0][1], places[-1][1])))
    worst = max((row for _, row in lifted), key=lambda row: float(row["along_sd_m"]))
    said = worst["plus_minus_text"] or plus_minus_text(float(worst["along_sd_m"]), units=units)
    return f"LIFT and DROP at paint, about {about} {said}"
