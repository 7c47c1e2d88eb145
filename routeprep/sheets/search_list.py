"""The search list: a ``Pack`` in, the bytes of a PDF out.

For the superintendent, who walks it before the sheet is issued: in walking order what to look
for, where, why and whose, with a box for what was found.  How it looks is ``search-list.typ``.
"""

import math
from collections.abc import Mapping
from typing import Any

from routeprep.shapes import Leg, Pack
from routeprep.sheets.drawing import draw
from routeprep.spreads import HALF_95
from routeprep.stationing import number
from routeprep.tables import rows_of
from routeprep.units import FACTORS_M
from routeprep.wording import date_text, limits_text

__all__ = ["render"]

_TEMPLATE = "search-list.typ"

_CAUTIONS = (
    (
        "Walk it facing traffic, on the walk or shoulder or behind the closure, with a spotter and "
        "in high-visibility clothing, as your own and the owner's rules say. Never from a live "
        "lane."
    ),
    (
        "Not found is not gone: paved over iron shows on a metal detector, not to the eye. Ask the "
        "owner before you write not found."
    ),
    "Lift no cover and enter nothing. Not a utility locate: one-call rules hold.",
    "Found: write its size, tape it from a thing on the list, and put both into the job.",
)
_TOO_FEW = "How many things were missed: too few were seen on more than one passing to estimate it."
_NOTHING = "Nothing to look for on this leg. Expect iron that no file has and nobody saw."
# A stretch shorter than this is a place [m].
_PLACE_M = 1.0
# Stations are printed no finer than a phone knows them, by the family of the leg's unit.
_STEP = {"ft": 5.0, "m": 1.0}
_SIDES = {"L": "left", "R": "right", "C": "on the line", "": "side not sure"}


def _station(leg: Leg, along_m: float) -> str:
    step = _STEP[leg.stationing.unit.family]
    return number(leg.stationing, along_m, step=step, decimals=0)


def _offset(row: Mapping[str, Any], *, units: str) -> str:
    """How far from the line, with its ±; empty where nothing is known."""
    if math.isnan(row["offset_m"]):
        return ""
    unit_m = float(FACTORS_M["ft"]) if units == "us" else 1.0
    unit, decimals = ("ft", 0) if units == "us" else ("m", 1)
    half = HALF_95 * row["offset_sd_m"] / unit_m
    rounded = math.ceil(half * 10**decimals) / 10**decimals if math.isfinite(half) else math.nan
    known = f" ±{rounded:.{decimals}f} {unit}" if math.isfinite(half) else ""
    return f"{abs(row['offset_m']) / unit_m:.{decimals}f} {unit}{known}"


def _row(row: Mapping[str, Any], leg: Leg, *, units: str) -> dict[str, object]:
    stretch = row["to_m"] - row["from_m"] >= _PLACE_M
    whole = stretch and math.isnan(row["offset_m"])
    return {
        "from": _station(leg, row["from_m"]),
        "to": _station(leg, row["to_m"]) if stretch else "",
        "side": "" if whole and not row["side"] else _SIDES[row["side"]],
        "offset": "" if stretch else _offset(row, units=units),
        "no": row["no"],
        "what": row["what"],
        "why": row["why"],
        "owner": row["owner"],
        "whole": whole,
    }


def _leg(leg: Leg, pack: Pack) -> dict[str, object]:
    first, last = limits_text(leg)
    units = pack.settings.units
    own = pack.search[pack.search["leg"] == leg.settings.code]
    return {
        "code": leg.settings.code,
        "name": leg.settings.name,
        "limits": f"{first} → {last}",
        "zero": f"from {leg.stationing.zero}" if leg.stationing.zero else "",
        "rows": [_row(row, leg, units=units) for row in rows_of(own)],
        "nothing": _NOTHING if own.empty else "",
    }


def render(pack: Pack, *, paper: str = "letter") -> bytes:
    """Draw the search list of a pack as a tagged PDF; the same pack gives the same bytes.

    Parameters
    ----------
    pack
        What to draw.
    paper
        "letter" or "a4".
    """
    own = {
        "shift": date_text(pack.settings.date),
        "legs": [_leg(leg, pack) for leg in pack.legs],
        "missed": [one.text for one in pack.missed] or [_TOO_FEW],
        "cautions": list(_CAUTIONS),
    }
    return draw(pack, own, template=_TEMPLATE, title="Search list", paper=paper)
