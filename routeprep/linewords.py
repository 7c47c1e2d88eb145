"""What is known of a leg's line in words: stretches, ties, references, plan and ground, curves.

In goes a leg, out come rows of texts as sheet and command line print them, in the unit of the
leg's stations.  A leg of which nothing of a sort is known gives no rows.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from routeprep.designed import Factors, factors
from routeprep.grids import grid_of
from routeprep.lines import Centerline, Tie
from routeprep.listing import distance_text
from routeprep.roadform import Curve, Grade, SightSpot
from routeprep.shapes import Leg
from routeprep.spreads import HALF_95
from routeprep.stationing import equation_places, label, number
from routeprep.units import FACTORS_M, StationUnit
from routeprep.wording import limits_text

__all__ = [
    "curve_rows",
    "grade_rows",
    "plan_rows",
    "reference_rows",
    "sight_rows",
    "stretch_text",
    "tie_rows",
]

# Places that were surveyed are rounded to this [the unit's length], as on the list.
_STEP = {"ft": 5, "m": 1}

# Lengths with a ± are rounded to one of these [the unit's length], the largest that is no more
# than half of it.
_STEPS = (0.1, 0.5, 1.0, 5.0, 10.0, 50.0, 100.0, 500.0)

# Stretches of a designed profile shorter than this are samples of a vertical curve [m]: they are
# taken each 10 m.
_SAMPLE_M = 15.0

_WAY = {1: "stations counting up", -1: "stations counting down"}


def _ends(leg: Leg) -> dict[float, str]:
    """Stations of the ends of the line and of the cut, which are not rounded."""
    whole = replace(leg, from_m=0.0, to_m=leg.line.length_m)
    return {
        along_m: text
        for one in (whole, leg)
        for along_m, text in zip((one.from_m, one.to_m), limits_text(one), strict=True)
    }


def stretch_text(leg: Leg, from_m: float, to_m: float) -> str:
    """A stretch of a leg, such as "12+00 to 13+05 from Elm St north curb".

    Its ends are rounded to 5 ft or 1 m where they are no end of the line or the cut.

    Parameters
    ----------
    leg
        The leg.
    from_m, to_m
        Its ends, along [m].
    """
    stationing, known = leg.stationing, _ends(leg)
    step = _STEP[stationing.unit.family]
    first, last = (
        known.get(at_m) or number(stationing, at_m, step=step) for at_m in (from_m, to_m)
    )
    return f"{first} to {last}" + (f" from {stationing.zero}" if stationing.zero else "")


def _unsigned_zero(value: float, digits: int) -> float:
    """The value rounded, never -0."""
    return round(value, digits) + 0.0


def _half(sd_m: float, unit: StationUnit, step: float) -> str:
    """A ±, rounded up."""
    count = math.ceil(HALF_95 * sd_m / unit.length_m / step)
    return f"±{count * step:,g} {unit.length}"


def _surveyed(length_m: float, sd_m: float, unit: StationUnit) -> str:
    """A length with its ±, no finer than that; a designed one as the plans have it."""
    if sd_m == 0:
        return unit.length_text(length_m, decimals=2)
    half = HALF_95 * sd_m / unit.length_m
    step = max((one for one in _STEPS if one <= half / 2), default=_STEPS[0])
    rounded = math.floor(length_m / unit.length_m / step + 0.5) * step
    decimals = 1 if step < 1 else 0
    return f"{rounded:,.{decimals}f} {unit.length} {_half(sd_m, unit, step)}"


def _off(tie: Tie, unit: StationUnit) -> str:
    """How much more or less line the stations say there is from the tie before."""
    size = unit.length_text(abs(tie.residual_m))
    if size.startswith("0.0 "):
        return "as the line"
    return f"{size} {'longer' if tie.residual_m > 0 else 'shorter'} than the line"


def _tie(tie: Tie, unit: StationUnit) -> tuple[str, ...]:
    first = math.isnan(tie.residual_m)
    stretch = f"{_unsigned_zero(tie.stretch_share * 100, 3):+.3f} %"
    forced = f", forced by {tie.forced_by}" if tie.forced_by else ""
    return (
        tie.station,
        tie.kind,
        tie.by,
        "first tie" if first else _off(tie, unit),
        "" if first else stretch + forced,
    )


def tie_rows(leg: Leg) -> list[tuple[str, ...]]:
    """The ties: station, kind, what and who, how far the stations are off the line, stretch."""
    return [_tie(tie, leg.stationing.unit) for tie in leg.ties]


def reference_rows(leg: Leg) -> list[tuple[str, ...]]:
    """Station equations and mile markers in order along: where, and what stands there."""
    step = _STEP[leg.stationing.unit.family]
    equations = [
        (along_m, text, "station equation") for along_m, text in equation_places(leg.stationing)
    ]
    markers = [
        (along_m, label(leg.stationing, along_m, step=step, decimals=0), f"mile marker {miles:g}")
        for along_m, miles in leg.markers
    ]
    return [(where, what) for _, where, what in sorted([*equations, *markers])]


def _plan(line: Centerline, found: Factors, unit: StationUnit) -> tuple[str, ...]:
    grid = grid_of(line.crs, datum_operation=line.datum_operation)
    operation = line.datum_operation or "taken as WGS 84"
    longer = "longer" if found.ground_m >= found.declared_m else "shorter"
    return (
        unit.length_text(found.declared_m, decimals=2),
        unit.length_text(found.ground_m, decimals=2),
        f"{unit.length_text(abs(found.ground_m - found.declared_m), decimals=2)} {longer}",
        f"{found.grid_scale:.8f}",
        f"{found.elevation_factor:.8f}",
        f"{found.combined:.8f}",
        grid.name,
        f"{grid.datum.name}, {operation}" if grid.datum.said else "WGS 84",
    )


def plan_rows(leg: Leg) -> list[tuple[str, ...]]:
    """What a designed alignment is on the ground; one row, none for another line.

    Length on the plan, on the ground, the difference, grid scale, elevation factor, combined
    factor, coordinate system, datum with what was done about it.
    """
    found = factors(leg.line)
    return [] if found is None else [_plan(leg.line, found, leg.stationing.unit)]


def _end(leg: Leg, name: str, along_m: float, sd_m: float) -> str:
    """PC, SC, CS or PT with its station."""
    if sd_m == 0:
        return f"{name} {label(leg.stationing, along_m, decimals=2)}"
    unit = leg.stationing.unit
    step = _STEP[unit.family]
    station = label(leg.stationing, along_m, step=step, decimals=0)
    return f"{name} {station} {_half(sd_m, unit, step)}"


def _turned(curve: Curve) -> str:
    if curve.deflection_sd_deg == 0:
        return f"{curve.deflection_deg:.4f}°"
    half_deg = math.ceil(HALF_95 * curve.deflection_sd_deg * 10) / 10
    return f"{curve.deflection_deg:.1f}° ±{half_deg:.1f}°"


def _spirals(curve: Curve, unit: StationUnit) -> str:
    lengths = ((curve.spiral_in_m, "before"), (curve.spiral_out_m, "after"))
    said = [
        f"{unit.length_text(size_m, decimals=2)} {where}" for size_m, where in lengths if size_m
    ]
    return f"spiral {', '.join(said)}" if said else ""


def _radius(curve: Curve, unit: StationUnit) -> str:
    if not curve.radius_told:
        return "too short to say"
    return _surveyed(curve.radius_m, curve.radius_sd_m, unit)


def _curve(curve: Curve, leg: Leg) -> tuple[str, ...]:
    unit, begun, ended = leg.stationing.unit, curve.from_sd_m, curve.to_sd_m
    return (
        "before the line begins"
        if math.isnan(begun)
        else _end(leg, curve.begin_name, curve.from_m, begun),
        "after the line ends"
        if math.isnan(ended)
        else _end(leg, curve.end_name, curve.to_m, ended),
        _radius(curve, unit),
        curve.direction,
        _turned(curve),
        _spirals(curve, unit),
    )


def curve_rows(leg: Leg) -> list[tuple[str, ...]]:
    """The curves: beginning, end, radius, right or left, deflection, spirals; each with its ±."""
    return [_curve(curve, leg) for curve in leg.curves]


def _steep(grade_share: float, decimals: int) -> str:
    text = f"{abs(grade_share) * 100:.{decimals}f}"
    if float(text) == 0:
        return "level"
    return f"{text} % {'up' if grade_share > 0 else 'down'}"


def _samples(grades: Sequence[Grade]) -> Iterator[list[Grade]]:
    """Grades one by one, but end to end the short ones of a designed profile's vertical curve."""
    run: list[Grade] = []
    for grade in grades:
        short = not grade.grade_sd_share and grade.to_m - grade.from_m < _SAMPLE_M
        if run and short and run[-1].to_m == grade.from_m:
            run.append(grade)
            continue
        if run:
            yield run
        run = [grade] if short else []
        if not short:
            yield [grade]
    if run:
        yield run


def _grade(run: Sequence[Grade], leg: Leg) -> tuple[str, ...]:
    first, last = run[0], run[-1]
    stretch = stretch_text(leg, first.from_m, last.to_m)
    if first.grade_sd_share == 0:
        ends = dict.fromkeys(_steep(one.grade_share, 2) for one in (first, last))
        return stretch, " to ".join(ends), ""
    half = math.ceil(HALF_95 * first.grade_sd_share * 1000) / 10
    return stretch, _steep(first.grade_share, 1), f"±{half:.1f} %"


def grade_rows(leg: Leg) -> list[tuple[str, ...]]:
    """The grades: stretch, how steep looking up-station, ±; a vertical curve from and to."""
    return [_grade(run, leg) for run in _samples(leg.grades)]


def _whole(length_m: float, *, units: str, up: bool) -> str:
    """A distance rounded up or down to 5 ft or 1 m."""
    step_m = float(_STEP["ft"] * FACTORS_M["ft"]) if units == "us" else 1.0
    count = (math.ceil if up else math.floor)(round(length_m / step_m, 6))
    return distance_text(count * step_m, units=units)


def _sight(spot: SightSpot, leg: Leg, *, units: str) -> tuple[str, ...]:
    hides = f"what stands on the {spot.side} hides the road"
    if spot.curve >= 0:
        curve = leg.curves[spot.curve]
        hides += f" in the curve of radius {_radius(curve, leg.stationing.unit)}"
    if spot.grade_share:
        hides += f"; grade {_steep(spot.grade_share, 1)} that way"
    return (
        stretch_text(leg, spot.from_m, spot.to_m),
        _WAY[spot.travel],
        _whole(spot.available_m, units=units, up=False),
        _whole(spot.needed_m, units=units, up=True),
        hides,
    )


def sight_rows(leg: Leg, *, units: str) -> list[tuple[str, ...]]:
    """Where a driver may see less than it takes to stop: stretch, way, seen, needed, what hides.

    Parameters
    ----------
    leg
        The leg.
    units
        "us" or "metric", for what is seen and needed.
    """
    return [_sight(spot, leg, units=units) for spot in leg.sight]
