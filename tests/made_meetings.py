"""Invented passes and rows of the list, for the tests of what passes meet and leave."""

import math
from dataclasses import replace

import numpy as np
from builders import KINDS
from hypothesis import strategies as st
from made_work import DEPTH_M, ft, leg, machine

from routeprep import tables
from routeprep.meetings import meetings_of
from routeprep.plans import Pass
from routeprep.shapes import Defaults
from routeprep.units import to_m

INCH_M = to_m(1, "in")
# Half-width of a 95 % interval in standard deviations (normal distribution).
SDS_95 = 1.959964
MACHINE = machine(moldboard_m=math.nan, drum_diameter_m=math.nan)


def run(left_m, right_m, *, along_m=(0.0, 1000.0), depth_m=DEPTH_M, code="A R1", **changes):
    """A pass; edges and depth are one number or one a place."""
    along_m = np.array(along_m, dtype=np.float64)

    def each(value):
        return np.broadcast_to(np.asarray(value, dtype=np.float64), along_m.shape).copy()

    usual = {
        "order": 1, "leg": "A", "strip": "right lane", "machine": "one", "half": "inside half",
        "travel": 1, "against": False, "flags": (),
    }  # fmt: skip
    depth = {"depth_left_m": each(depth_m), "depth_right_m": each(depth_m)}
    edges = {"left_m": each(left_m), "right_m": each(right_m)}
    return Pass(code=code, along_m=along_m, **edges, **(usual | depth | changes))


def thing(along_m, offset_m, *, kind="MH", reach_m=0.0, anchor_id="", **changes):
    """A row of the list that was walked, taped, and decided: lift."""
    anchor_id = anchor_id or f"{kind} {along_m:g}"
    usual = {
        "anchor_id": anchor_id, "no": f"A-{anchor_id}", "leg": "A", "kind": kind,
        "name": KINDS.kinds[kind].name, "from_m": along_m, "to_m": along_m + reach_m,
        "along_m": along_m, "offset_m": offset_m, "along_sd_m": 0.0, "offset_sd_m": 0.0,
        "lane": "R1", "across": "", "times_seen": 1, "method": "taped", "mark_ids": (),
        "record_ids": (), "status": "walked (Ann Ek, 2026-05-20)", "action": "LIFT",
        "proposed": "LIFT", "decided_by": "Ann Ek, 2026-05-20", "who": "hand-work crew",
        "height_m": math.nan, "size": "24 in", "past_end_m": 0.0, "lon_deg": 0.0, "lat_deg": 0.0,
    }  # fmt: skip
    return usual | changes


def listed(*rows):
    """The rows as the table of obstructions."""
    return tables.table(tables.OBSTRUCTIONS, list(rows))


def meet(passes, *rows, road=None, machines=(MACHINE,), defaults=None):
    """What passes meet."""
    passes = (passes,) if isinstance(passes, Pass) else tuple(passes)
    return meetings_of(
        passes,
        listed(*rows),
        road or leg(),
        kinds=KINDS,
        defaults=defaults or Defaults(),
        machines=machines,
    )


@st.composite
def runs(draw, *, code="A R1"):
    """A pass whose edges come and go."""
    count = draw(st.integers(2, 6))
    gaps_m = [draw(st.one_of(st.just(0.001), st.floats(1.0, 80.0))) for _ in range(count - 1)]
    along_m = draw(st.floats(-20.0, 50.0)) + np.r_[0.0, np.cumsum(gaps_m)]
    left_m = np.array([draw(st.floats(-6.0, 6.0)) for _ in range(count)])
    depths_m = [np.array([draw(st.floats(0.01, 0.2)) for _ in range(count)]) for _ in range(2)]
    return run(
        left_m,
        left_m + draw(st.floats(0.5, 4.0)),
        along_m=along_m,
        depth_left_m=depths_m[0],
        depth_right_m=depths_m[1],
        code=code,
        travel=draw(st.sampled_from([1, -1])),
    )


@st.composite
def some_things(draw, *, most=12):
    """Rows of the list of every sort."""
    made = []
    for number in range(draw(st.integers(1, most))):
        action = draw(st.sampled_from(["LIFT", "STOP", "HAND WORK", "CUT THROUGH", "SLOW"]))
        row = thing(
            draw(st.floats(-40.0, 400.0)),
            draw(st.floats(-12.0, 12.0)),
            kind=draw(st.sampled_from(["MH", "WV", "MON", "PATCH", "WALL", "WIRE", "XW", "DECK"])),
            reach_m=draw(st.sampled_from([0.0, 0.0, 5.0, 60.0])),
            anchor_id=f"{number:02d}",
            along_sd_m=draw(st.floats(0.0, 5.0)),
            offset_sd_m=draw(st.floats(0.0, 2.0)),
            lane=draw(st.sampled_from(["", "R", "L", "R1"])),
            across=draw(st.sampled_from(["", "whole road", "curb or edge"])),
            method=draw(st.sampled_from(["vehicle", "taped", "file"])),
            size=draw(st.sampled_from(["", "24 in", "2x6 ft"])),
            doubt=draw(st.sampled_from(["", "lane not sure"])),
            action=action,
        )
        made.append(row)
    return made


def reversed_run(one):
    """The same pass run the other way."""
    return replace(one, travel=-one.travel)


__all__ = ["INCH_M", "MACHINE", "SDS_95", "ft", "listed", "meet", "reversed_run", "run", "runs",
           "some_things", "thing"]  # fmt: skip
