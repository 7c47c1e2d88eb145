"""Invented roads across and machines, for the tests of the plan of work."""

import math

import numpy as np
from builders import from_start, leg_settings
from hypothesis import strategies as st
from strategies import line_from_xy

from routeprep.plans import Strip
from routeprep.roadway import Machine, RoadPart, Section
from routeprep.shapes import Leg
from routeprep.units import to_m

DEPTH_M = 0.0508


def ft(value):
    """Feet in metres."""
    return to_m(value, "ft")


def leg(*sections, length_m=1000.0, line=None, from_m=0.0, to_m=None, landmarks=(), **changes):
    """A leg with stations from 10+00, cut 2 in deep from end to end."""
    line = line_from_xy([[0.0, 0.0], [0.0, length_m]]) if line is None else line
    said = leg_settings(**({"depth_m": DEPTH_M, "sections": sections} | changes))
    return Leg(
        settings=said,
        line=line,
        stationing=from_start(unit=said.unit, start_value=said.start_value, zero=said.zero),
        from_m=from_m,
        to_m=round(line.length_m, 6) if to_m is None else to_m,
        landmarks=landmarks,
    )


def part(what, width_m, end_m=None, **more):
    """A part of the road across that is cut."""
    more = {"cut": True} | more
    return RoadPart(what=what, width_m=width_m, width_end_m=width_m if end_m is None else end_m,
                    **more)  # fmt: skip


def section(*, left=(), right=(), begin="", end="", **more):
    """A section from limit to limit, unless it says otherwise."""
    return Section(from_station=begin, to_station=end, left=left, right=right, **more)


def machine(drum_m=2.2098, overlap_m=0.0762, name="one", **changes):
    """A machine with a drum of 7.25 ft and 0.25 ft of overlap, flush on both sides."""
    usual = {
        "drum_diameter_m": 1.0, "flush_side": "", "ahead_m": 20.0, "behind_m": 10.0,
        "moldboard_m": 1.5,
    }  # fmt: skip
    return Machine(name=name, drum_m=drum_m, overlap_m=overlap_m, **(usual | changes))


def strip(along_m, left_m, right_m, **changes):
    """A strip with a shoulder on its right, the line on its left."""
    along_m, left_m, right_m = (
        np.array(one, dtype=np.float64) for one in (along_m, left_m, right_m)
    )
    deep_m = np.full(len(along_m), DEPTH_M)
    usual = {
        "leg": "A", "name": "right lane", "depth_left_m": deep_m, "depth_right_m": deep_m,
        "curb_left": False, "curb_right": False, "beyond_left": "line",
        "beyond_right": "shoulder",
    }  # fmt: skip
    return Strip(along_m=along_m, left_m=left_m, right_m=right_m, **(usual | changes))


@st.composite
def strips(draw, *, least_m=0.0, most_m=16.0, long_m=600.0):
    """A strip right of the line, left of it or across it, with widths that change or jump."""
    count = draw(st.integers(2, 8))
    long, step = st.floats(0.5, long_m / 8), st.just(0.001)
    apart_m = [long, *[st.one_of(step, long)] * (count - 3), long][: count - 1]
    along_m = np.r_[0.0, np.cumsum([draw(one) for one in apart_m])]
    side = draw(st.sampled_from([1, -1, 0]))
    inner_m = np.array([draw(st.floats(0.0, 4.0)) for _ in range(count)])
    if side == 0:
        inner_m = -1.0 - inner_m
    wide_m = np.array([draw(st.floats(least_m, most_m)) for _ in range(count)])
    if side == 0:
        wide_m = wide_m - inner_m + 1.0
    edges = (inner_m, inner_m + wide_m) if side >= 0 else (-inner_m - wide_m, -inner_m)
    return strip(
        along_m, *edges,
        curb_left=draw(st.booleans()), curb_right=draw(st.booleans()),
        beyond_left=draw(st.sampled_from(["", "line", "shoulder"])),
        beyond_right=draw(st.sampled_from(["", "line", "shoulder"])),
        traffic=side,
    )  # fmt: skip


@st.composite
def fleets(draw):
    """One to three machines of any drum."""
    made = []
    for number in range(draw(st.integers(1, 3))):
        drum_m = draw(st.floats(0.5, 4.0))
        overlap_m = drum_m * draw(st.floats(0.0, 0.3))
        made.append(machine(drum_m, overlap_m, name=f"machine {number + 1}"))
    return tuple(made)


def curved(length_m=600.0, *, bend_per_m=0.002, every_m=1.0, heading_rad=0.4):
    """A line along one even curve, in chords of a metre: they leave the arc by 0.3 mm."""
    s_m = np.arange(0.0, length_m + every_m / 2, every_m)
    heading = heading_rad + bend_per_m * s_m
    middle = (heading[:-1] + heading[1:]) / 2
    steps = np.column_stack([np.sin(middle), np.cos(middle)]) * every_m
    return line_from_xy(np.vstack([[0.0, 0.0], np.cumsum(steps, axis=0)]))


def area_m2(along_m, left_m, right_m):
    """Area between two edges, in along and offset [m2]."""
    return float(np.trapezoid(np.asarray(right_m) - np.asarray(left_m), along_m))


def unknown(value):
    """Whether nobody gave a number."""
    return math.isnan(value)
