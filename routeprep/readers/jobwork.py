"""[[leg.section]], [[machine]] and [haul] of a job's TOML: the road across, and what cuts it.

In go values with the units of the job in their names, out come metres and kilograms.
"""

import math
from collections.abc import Mapping, Sequence

from routeprep.readers.parts import shown
from routeprep.readers.tomltable import TomlTable
from routeprep.roadway import PARTS, Haul, Machine, RoadPart, Section
from routeprep.units import FACTORS_M, LB_KG, to_m

__all__ = ["read_haul", "read_machines", "read_sections"]

# Lengths by the unit that a US job and a metric job give them in.
_WIDTH = {"us": "ft", "metric": "m"}
_DEPTH = {"us": "in", "metric": "mm"}
_EDGES = ("", "curb", "shoulder")
_SIDES = ("", "left", "right")
_WAYS = ("", "up", "down")

# What a section says of both its sides.
_ACROSS = {
    "edge_left": _EDGES,
    "edge_right": _EDGES,
    "traffic": _WAYS,
    "run_left": _WAYS,
    "run_right": _WAYS,
}

_TON_KG = {"us": float(2000 * LB_KG), "metric": 1000.0}
_CUBIC_M = {"us": float(FACTORS_M["yd"] ** 3), "metric": 1.0}
_PER_CUBIC_FT_KGPM3 = float(LB_KG / FACTORS_M["ft"] ** 3)


def _length_m(table: TomlTable, stem: str, unit_of: Mapping[str, str], units: str) -> float:
    """A length of 0 or more in the job's unit [m]; NaN when left out."""
    key = f"{stem}_{unit_of[units]}"
    value = table.number(key)
    if value < 0:
        table.fault(f"{key} is {value:g}; expected 0 or more")
        return math.nan
    return to_m(value, unit_of[units])


def _needed_m(table: TomlTable, stem: str, units: str) -> float:
    """A width that must be given, more than 0 [m]; 1 m where it is not, beside the fault."""
    key = f"{stem}_{_WIDTH[units]}"
    value_m = _length_m(table, stem, _WIDTH, units)
    if key not in table.values:
        table.fault(f"{key} is missing; give it")
    elif value_m == 0.0:
        table.fault(f"{key} is 0; expected more than 0")
    return value_m if value_m > 0 else 1.0


def _choice(table: TomlTable, key: str, known: Sequence[str]) -> str:
    text = table.text(key)
    if text not in known:
        table.fault(
            f"{key} is {text!r}; expected one of {', '.join(map(repr, filter(None, known)))}"
        )
        return ""
    return text


def _said(part: TomlTable, key: str, *, usual: bool) -> bool:
    value = part.values.get(key, usual)
    if not isinstance(value, bool):
        part.fault(f"{key} is {shown(value)}; expected true or false")
        return usual
    return value


def _part(part: TomlTable, units: str) -> RoadPart:
    width, depth = _WIDTH[units], _DEPTH[units]
    part.only(
        "what", "cut", "over_line", f"width_{width}", f"width_end_{width}", f"depth_in_{depth}",
        f"depth_out_{depth}",
    )  # fmt: skip
    what = part.text("what", needed=True)
    if what and what not in PARTS:
        part.fault(f"what is {what!r}; expected one of {', '.join(map(repr, PARTS))}")
    key = f"width_{width}"
    width_m = _length_m(part, "width", _WIDTH, units)
    if key not in part.values:
        part.fault(f"{key} is missing; give it, 0 for a part that begins there")
    end_m = _length_m(part, "width_end", _WIDTH, units)
    return RoadPart(
        what=what or PARTS[0],
        width_m=0.0 if math.isnan(width_m) else width_m,
        width_end_m=(0.0 if math.isnan(width_m) else width_m) if math.isnan(end_m) else end_m,
        cut=_said(part, "cut", usual=True),
        depth_in_m=_length_m(part, "depth_in", _DEPTH, units),
        depth_out_m=_length_m(part, "depth_out", _DEPTH, units),
        over_line=_said(part, "over_line", usual=False),
    )


def read_sections(leg: TomlTable, *, units: str) -> tuple[Section, ...]:
    """Read the [[leg.section]] tables of a leg; none when the lanes are all there is.

    Parameters
    ----------
    leg
        The leg's table; faults are gathered in it.
    units
        "us" or "metric".
    """
    example = 'what = "lane", width_ft = 12'
    made = []
    for row in leg.rows("section", 'from = "12+00", to = "20+00", right = [..]'):
        row.only("from", "to", "left", "right", *_ACROSS)
        section = Section(
            from_station=row.text("from"),
            to_station=row.text("to"),
            left=tuple(_part(one, units) for one in row.rows("left", example)),
            right=tuple(_part(one, units) for one in row.rows("right", example)),
            **{key: _choice(row, key, known) for key, known in _ACROSS.items()},
        )
        if not section.left and not section.right:
            row.fault("left and right are both missing; give what lies there from the line outward")
        made.append(section)
    return tuple(made)


def _machine(table: TomlTable, units: str) -> Machine:
    width, depth = _WIDTH[units], _DEPTH[units]
    table.only(
        "name", "flush_side", *(f"{stem}_{width}" for stem in ("drum", "overlap", "ahead", "behind",
        "moldboard")), f"drum_diameter_{depth}",
    )  # fmt: skip
    drum_m = _needed_m(table, "drum", units)
    overlap_m = _length_m(table, "overlap", _WIDTH, units)
    drum, overlap = (table.values.get(f"{stem}_{width}") for stem in ("drum", "overlap"))
    if overlap_m >= drum_m:
        table.fault(
            f"overlap_{width} is {shown(overlap)} and drum_{width} {shown(drum)}; expected a part "
            "of the drum"
        )
    others_m = {
        stem: _length_m(table, stem, _WIDTH, units) for stem in ("ahead", "behind", "moldboard")
    }
    return Machine(
        name=table.text("name", needed=True),
        drum_m=drum_m,
        overlap_m=0.0 if math.isnan(overlap_m) else overlap_m,
        drum_diameter_m=_length_m(table, "drum_diameter", _DEPTH, units),
        flush_side=_choice(table, "flush_side", _SIDES),
        ahead_m=others_m["ahead"],
        behind_m=others_m["behind"],
        moldboard_m=others_m["moldboard"],
    )


def read_machines(top: TomlTable, *, units: str) -> tuple[Machine, ...]:
    """Read the [[machine]] tables; none: no plan of work is made.

    What is left out of a machine but its name and drum is not known (NaN), and the plan says so.

    Parameters
    ----------
    top
        The whole file; faults are gathered in it.
    units
        "us" or "metric".
    """
    made = tuple(_machine(table, units) for table in top.tables("machine"))
    names = [one.name for one in made]
    for name in sorted({name for name in names if names.count(name) > 1}):
        top.fault(f"[[machine]] {name!r} stands twice; give each machine a name of its own")
    return made


def read_haul(table: TomlTable, *, units: str) -> Haul:
    """Read [haul]; all of it may be left out.

    Parameters
    ----------
    table
        The table; faults are gathered in it.
    units
        "us" or "metric".
    """
    keys = {
        "us": ("density_lb_ft3", "loose_lb_ft3", "payload_tons", "body_yd3"),
        "metric": ("density_kg_m3", "loose_kg_m3", "payload_t", "body_m3"),
    }[units]
    table.only(*keys, "ramp_slope")
    values = [table.number(key) for key in (*keys, "ramp_slope")]
    for key, value in zip((*keys, "ramp_slope"), values, strict=True):
        if value <= 0:
            table.fault(f"{key} is {value:g}; expected more than 0")
    density, loose, payload, body, ramp = values
    dense = _PER_CUBIC_FT_KGPM3 if units == "us" else 1.0
    usual = Haul()
    return Haul(
        density_kgpm3=usual.density_kgpm3 if math.isnan(density) else density * dense,
        loose_kgpm3=usual.loose_kgpm3 if math.isnan(loose) else loose * dense,
        payload_kg=payload * _TON_KG[units],
        body_m3=body * _CUBIC_M[units],
        ramp_slope=ramp,
    )
