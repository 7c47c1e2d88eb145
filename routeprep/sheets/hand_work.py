"""The hand-work sheet: a ``Pack`` in, the bytes of a PDF out.

For the crew that works by hand or with the small machine: each area that the machine leaves, where
it is, how large, who works it and why.  How it looks is ``hand-work.typ``.
"""

import math
from collections.abc import Mapping, Sequence

from routeprep import listing
from routeprep.listing import Row, distance_text
from routeprep.planning import NOT_COUNTED
from routeprep.plans import HandWork
from routeprep.planwords import area_text
from routeprep.shapes import Leg, Pack
from routeprep.sheets.drawing import draw
from routeprep.sheets.run_cover import NO_MACHINE, hand_work_m2
from routeprep.stationing import number
from routeprep.wording import limits_text, shift_text

__all__ = ["render"]

_TEMPLATE = "hand-work.typ"

_CAUTIONS = (
    "Sizes are of the plan, not of the road: they grow and shrink with where the iron really is.",
    "Paint the edges of each area on foot before the machine comes; the paint decides.",
    "Sides are left and right looking up-station, the way the stations count up.",
)
_NONE = "The plan leaves no ground to hand work. Expect some: around iron that is not on the list."
# Who works ground that is skipped.
_LEFT = "nobody: left as it is"
# Shorter than this an area is one place [m].
_POINT_M = 0.01
# Stations of what is taped, and of what is not, are rounded to this [the unit's length].
_STEP = {"ft": (1.0, 5.0), "m": (1.0, 1.0)}


def _side(one: HandWork, *, units: str) -> str:
    """On which side of the line, and from where to where across."""

    def far(offset_m: float) -> str:
        return distance_text(abs(offset_m), units=units, step=1)

    if one.left_m < 0 < one.right_m:
        return f"across the line: {far(one.left_m)} left to {far(one.right_m)} right"
    near_m, far_m = sorted((one.left_m, one.right_m), key=abs)
    side = "right" if one.right_m > 0 else "left"
    return f"{side}, {far(near_m)} to {far(far_m)} from the line"


def _is_sure(rows: Sequence[Row]) -> bool:
    """Whether an area may be printed with its stations: all that it is left for was taped."""
    return all(row["method"] == "taped" and not row["plus_minus_text"] for row in rows)


def _ends(one: HandWork, leg: Leg, *, sure: bool) -> str:
    """Stations of both ends, rounded away from each other; one of what is a place."""
    step = _STEP[leg.stationing.unit.family][0 if sure else 1]
    if one.to_m - one.from_m < _POINT_M:
        return number(leg.stationing, one.from_m, step=step)
    first, last = (
        number(leg.stationing, at_m, step=step, toward=way)
        for at_m, way in ((one.from_m, -1), (one.to_m, 1))
    )
    return f"{first} to {last}"


def _who(one: HandWork) -> str:
    return _LEFT if one.skipped else one.who


def _row(one: HandWork, leg: Leg, rows: Mapping[str, Row], *, units: str) -> dict[str, object]:
    around = [rows[anchor_id] for anchor_id in one.anchor_ids]
    sure = _is_sure(around)
    ends = _ends(one, leg, sure=sure)
    worst = max(around, key=lambda row: float(row["along_sd_m"]), default={})
    doubt = "" if sure else f"at the paint, {worst['plus_minus_text'] or 'not taped'}"
    return {
        "ends": ends if sure else f"about {ends}",
        "doubt": doubt,
        "side": _side(one, units=units),
        "size": area_text(one.area_m2, units=units),
        "who": _who(one) or "nobody named: name who",
        "why": one.why,
        "nos": ", ".join(str(row["no"]) for row in around),
    }


def _total(parts: Sequence[HandWork], *, units: str) -> str:
    """How large some areas are together, and how many of them have no size."""
    known = [one.area_m2 for one in parts if not math.isnan(one.area_m2)]
    unknown = len(parts) - len(known)
    if not known and unknown:
        return f"{unknown} of no given size"
    more = f" + {unknown} of no given size" if unknown else ""
    return f"{area_text(sum(known), units=units)}{more}"


def _left(code: str, pack: Pack) -> str:
    """How much of a leg's ground is left as it is, and not worked; empty for none."""
    left_m2 = hand_work_m2(pack, code, what="skipped")
    if not left_m2 > 0:
        return ""
    left = area_text(left_m2, units=pack.settings.units)
    return f", of it {left} left as it is (skipped)"


def _whos(parts: Sequence[HandWork], *, units: str) -> list[list[str]]:
    """For each who: how many areas and how large, in the order of the plan."""
    names = dict.fromkeys(_who(one) for one in parts)
    by_who = {name: [one for one in parts if _who(one) == name] for name in names}
    return [
        [name or "nobody named", str(len(mine)), _total(mine, units=units)]
        for name, mine in by_who.items()
    ]


def _not_counted(code: str, pack: Pack) -> list[str]:
    """What of a leg the machine leaves around things that no area counts, without the leg."""
    where = f"leg {code}: "
    flags = [text for text in pack.plan.flags if text.startswith(where) and NOT_COUNTED in text]
    return [text.removeprefix(where) for text in flags]


def _leg(leg: Leg, pack: Pack, rows: Mapping[str, Row]) -> dict[str, object]:
    units, code = pack.settings.units, leg.settings.code
    mine = [one for one in pack.plan.hand_work if one.leg == code]
    first, last = limits_text(leg)
    count = "1 area" if len(mine) == 1 else f"{len(mine)} areas"
    ordered = sorted(mine, key=lambda one: (one.from_m, one.left_m))
    return {
        "code": code,
        "name": leg.settings.name,
        "limits": f"{first} → {last}",
        "zero": f"from {leg.stationing.zero}" if leg.stationing.zero else "",
        "rows": [_row(one, leg, rows, units=units) for one in ordered],
        "total": f"Leg {code}, {count}: {_total(mine, units=units)}{_left(code, pack)}",
        "not_counted": _not_counted(code, pack),
    }


def render(pack: Pack, *, paper: str = "letter") -> bytes:
    """Draw the hand-work sheet of a pack as a tagged PDF; the same pack gives the same bytes.

    Without a machine in the job, or without any such ground, it is one page that says so.

    Parameters
    ----------
    pack
        What to draw.
    paper
        "letter", "a4" or "tabloid".
    """
    plan, units = pack.plan, pack.settings.units
    listed = listing.rows_by_leg(pack)
    rows = {str(row["anchor_id"]): row for mine in listed.values() for row in mine}
    shown = [leg for leg in pack.legs if leg.settings.code in {one.leg for one in plan.hand_work}]
    others = [leg.settings.code for leg in pack.legs if leg not in shown]
    nothing = "" if plan.hand_work else _NONE if plan.machines else NO_MACHINE
    own = {
        "shift": shift_text(pack.settings.date, night=pack.settings.briefing.night),
        "nothing": nothing,
        "whos": _whos(plan.hand_work, units=units),
        "total": _total(plan.hand_work, units=units),
        "legs": [_leg(leg, pack, rows) for leg in shown],
        "others": [f"Leg {code}: {text}" for code in others for text in _not_counted(code, pack)],
        "cautions": list(_CAUTIONS),
    }
    return draw(pack, own, template=_TEMPLATE, title="Hand work", paper=paper)
