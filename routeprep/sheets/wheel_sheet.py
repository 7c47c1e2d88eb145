"""The wheel sheet: a ``Pack`` in, the bytes of a PDF out.

For the person who puts paint down: feet on the wheel from the nearest physical thing to each
station and each obstruction.  How it looks is ``wheel-sheet.typ``.
"""

from collections.abc import Sequence

from routeprep import listing
from routeprep.listing import Row, distance_text
from routeprep.shapes import Leg, Pack
from routeprep.sheets.drawing import draw
from routeprep.units import FACTORS_M
from routeprep.wheeling import Stop, Walk, walks
from routeprep.wording import date_text, limits_text, line_text

__all__ = ["EVERY", "render"]

_TEMPLATE = "wheel-sheet.typ"

# Distance between the stations that are walked off [the leg's length unit]; common practice, no
# source.
EVERY = {"ft": 100.0, "m": 50.0}

# 1.8 ft: the surface is (1 + 0.06^2)^0.5 = 1.0018 times as long as the plan on 6 %.
_CAUTIONS = (
    (
        "Plan stations are painted only from a plan tie: a thing whose plan station stands on the "
        "plans. From any other thing, use the feet to find what is on the list."
    ),
    (
        "A wheel measures along the surface. On a steep grade it reads more than the plan: 1.8 ft "
        "a 1,000 ft on 6 %. Check it at each tie; do not spread a difference, find it."
    ),
    "Paint iron where you see it, not where the feet say.",
    "Wheel from the shoulder or the walk, behind the closure, never in live traffic.",
)
_NO_TIE = (
    "No physical thing with a known station: nothing to wheel from. The line's beginning is where "
    "a file or a drive begins, not a thing on the road. Give the leg ties (plan paint, a bridge "
    "joint, a curb line with its station), then issue this sheet again."
)


def _wheel_text(wheel_m: float, *, units: str) -> str:
    """What the wheel reads: whole feet, or tenths of a metre."""
    if units == "us":
        return f"{wheel_m / float(FACTORS_M['ft']):,.0f}"
    return f"{wheel_m:,.1f}"


def _stop(stop: Stop, walk: Walk, *, units: str) -> dict[str, object]:
    row = stop.row
    paint = f"PAINT {stop.station}" if walk.paints else f"{stop.station}: do not paint"
    wheel, line = (_wheel_text(one_m, units=units) for one_m in (stop.wheel_m, stop.line_m))
    if stop.tie:
        other = "" if line == wheel else f"; {line} by its place on the line"
        what = f"CHECK THE WHEEL: {stop.station}, {stop.tie}{other}"
    else:
        what = paint if row is None else str(row["what_text"])
    under = [] if row is None else [row["where_text"], row["plus_minus_text"]]
    return {
        "wheel": wheel,
        "no": "" if row is None else row["no"],
        "station": "" if row is None else stop.station,
        "what": what,
        "under": [text for text in under if text],
        "rule": row is None,
        "struck": row is not None and bool(row["struck"]),
    }


def _walk(walk: Walk, *, units: str) -> dict[str, object]:
    way = "AHEAD, stations count up" if walk.ahead else "BACK, stations count down"
    plan = "" if walk.paints else "NOT A PLAN TIE: PAINT NO PLAN STATIONS FROM IT"
    return {
        "from": walk.tie,
        "station": walk.station,
        "way": way,
        "warning": plan,
        "stops": [_stop(stop, walk, units=units) for stop in walk.stops],
    }


def _leg(leg: Leg, pack: Pack, rows: Sequence[Row], *, every: float | None) -> dict[str, object]:
    units = pack.settings.units
    first, last = limits_text(leg)
    made = walks(leg, rows, every=every or EVERY[leg.stationing.unit.family])
    return {
        "code": leg.settings.code,
        "name": leg.settings.name,
        "limits": f"{first} → {last}",
        "zero": f"from {leg.stationing.zero}" if leg.stationing.zero else "",
        "length": distance_text(leg.line.length_m, units=units, step=1),
        "line": f"Stations run {line_text(leg, pack)}.",
        "unit": "FEET" if units == "us" else "METRES",
        "walks": [_walk(walk, units=units) for walk in made],
        "no_tie": "" if made else _NO_TIE,
    }


def render(pack: Pack, *, paper: str = "letter", every: float | None = None) -> bytes:
    """Draw the wheel sheet of a pack as a tagged PDF; the same pack gives the same bytes.

    Parameters
    ----------
    pack
        What to draw.
    paper
        "letter" or "a4".
    every
        Distance between the stations [each leg's length unit]; None for the usual one.
    """
    rows_by_leg = listing.rows_by_leg(pack)
    own = {
        "shift": date_text(pack.settings.date),
        "legs": [_leg(leg, pack, rows_by_leg[leg.settings.code], every=every) for leg in pack.legs],
        "cautions": list(_CAUTIONS),
    }
    return draw(pack, own, template=_TEMPLATE, title="Wheel sheet", paper=paper)
