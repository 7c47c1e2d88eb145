"""The first page of the run sheets: passes in the order of work, what they amount to, ramps, flags.

In go a pack and its plan, out comes a plain dict that the template draws.
"""

from collections.abc import Sequence
from dataclasses import fields

from routeprep.plans import Pass, Quantity, Ramp
from routeprep.planwords import area_text, pass_text, quantity_texts, width_text
from routeprep.shapes import Leg, Pack
from routeprep.sheets.run_pages import in_order
from routeprep.sheets.run_places import station_of
from routeprep.wording import depth_text

__all__ = ["HAND_WORK", "NO_MACHINE", "hand_work_m2", "run_cover", "total_of"]

# Said in place of a sheet where there is nothing to plan with.
NO_MACHINE = "No machine is named in the job: no passes are planned."

HAND_WORK, _LEG = "hand work", "leg"
_ADDED = tuple(
    item.name for item in fields(Quantity) if item.name not in ("leg", "what", "from_m", "to_m")
)
_HEADS = ("Leg", "Area cut", "Volume", "Weight", "Loads by weight", "Loads by volume", "Hand work")
_NOTE = (
    "Less what is skipped. Loads have a decimal: round up, and order by the greater of the two. "
    "Hand work is the ground that the machine leaves (hand-work sheet)."
)


def total_of(parts: Sequence[Quantity]) -> Quantity:
    """Add quantities; what is not known of one is not known of all.

    Parameters
    ----------
    parts
        One or more.
    """
    sums = {name: sum(float(getattr(one, name)) for one in parts) for name in _ADDED}
    return Quantity(
        leg=parts[0].leg,
        what=parts[0].what,
        from_m=min(one.from_m for one in parts),
        to_m=max(one.to_m for one in parts),
        **sums,
    )


def _pass_row(one: Pass, leg: Leg, pages: Sequence[str]) -> list[str]:
    first, last = (station_of(leg, float(one.along_m[at])) for at in (0, -1))
    ends = (first, last) if one.travel > 0 else (last, first)
    way = "count up" if one.travel > 0 else "count down"
    against = ", AGAINST TRAFFIC" if one.against else ""
    read = ", read the box first" if one.flags else ""
    machine = [one.machine] if len(pages) > 1 else []
    return [
        pass_text(one),
        leg.settings.name,
        *machine,
        " → ".join(ends),
        f"stations {way}{against}{read}",
    ]


def hand_work_m2(pack: Pack, code: str, *, what: str = HAND_WORK) -> float:
    """Area of a leg's hand work [m2]; 0 where there is none.

    Parameters
    ----------
    pack
        With its plan of work.
    code
        The leg's.
    what
        "hand work", or "skipped" for what is left as it is.
    """
    held = pack.plan.quantities
    return sum(one.area_m2 for one in held if (one.leg, one.what) == (code, what))


def _quantity_rows(pack: Pack) -> list[list[str]]:
    units = pack.settings.units
    by_leg = [one for one in pack.plan.quantities if one.what == _LEG]
    codes = list(dict.fromkeys(one.leg for one in by_leg))
    rows = []
    for code in codes:
        whole = total_of([one for one in by_leg if one.leg == code])
        hand = area_text(hand_work_m2(pack, code), units=units)
        rows.append([code, *quantity_texts(whole, units=units), hand])
    if len(codes) > 1:
        hand = area_text(sum(hand_work_m2(pack, code) for code in codes), units=units)
        rows.append(["ALL", *quantity_texts(total_of(by_leg), units=units), hand])
    return rows


def _flags(pack: Pack) -> list[str]:
    """What must be read of the whole plan; what is of one pass stands on its own pages."""
    own = {f"{one.code}: {text}" for one in pack.plan.passes for text in one.flags}
    return [text for text in pack.plan.flags if text not in own]


def _ramp_row(ramp: Ramp, leg: Leg, *, units: str) -> list[str]:
    slope = f"{ramp.length_m / ramp.depth_m:.3g}:1" if ramp.depth_m > 0 else "slope not known"
    return [
        leg.settings.code,
        station_of(leg, ramp.along_m),
        ramp.strip,
        depth_text(ramp.depth_m, units=units),
        width_text(ramp.length_m, units=units),
        slope,
    ]


def run_cover(pack: Pack) -> dict[str, object]:
    """All that the first page shows.

    Parameters
    ----------
    pack
        With its plan of work.
    """
    plan, units = pack.plan, pack.settings.units
    legs = {leg.settings.code: leg for leg in pack.legs}
    machines = [one.name for one in plan.machines]
    return {
        "nothing": "" if plan.machines else NO_MACHINE,
        "why_draft": list(pack.draft),
        "machines": [
            f"{one.name}: drum {width_text(one.drum_m, units=units)}, overlap "
            f"{width_text(one.overlap_m, units=units)}"
            for one in plan.machines
        ],
        "several": len(machines) > 1,
        "passes": [
            [str(at), *_pass_row(one, legs[one.leg], machines)]
            for at, one in enumerate(in_order(pack), start=1)
        ],
        "quantity_heads": list(_HEADS),
        "quantities": _quantity_rows(pack),
        "quantity_note": _NOTE,
        "ramps": [_ramp_row(one, legs[one.leg], units=units) for one in plan.ramps],
        "flags": _flags(pack),
    }
