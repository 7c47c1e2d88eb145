"""Invented packs for the tests of the strip: a road with many things, and what lies beside it."""

from dataclasses import replace

import numpy as np
from maps.example_pack import KINDS, leg, pack_of, thing

from routeprep import listing, tables
from routeprep.streets import Landmark

ACTIONS = (
    "LIFT", "STOP", "GO AROUND", "MILL OVER", "SLOW", "SHALLOW UP TO 1.5 in", "HAND WORK",
    "CUT THROUGH",
)  # fmt: skip
ACROSS = (
    "curb or edge", "outer wheel path", "between wheel paths", "inner wheel path", "on the line",
    "whole road", "",
)  # fmt: skip
STREETS = (("Elm St", 120.0, ""), ("Oak St", 330.0, "L"), ("Pine Ave", 610.0, "R"))


def road(length_m=3229.0, **changes):
    """A straight road along a parallel with four lanes and three cross streets."""
    lon = np.linspace(-96.1, -96.1 + length_m / 83_870.0, 50)
    made = leg("A", "Invented Road", lon.tolist(), [41.2] * 50)
    marks = tuple(
        Landmark(name=name, along_m=along_m, side=side, source="x", credit="© Invented Map")
        for name, along_m, side in STREETS
    )
    settings = replace(made.settings, lanes_left=2, lanes_right=2)
    return replace(made, settings=settings, landmarks=marks, **changes)


def things(on, count=200, seed=1):
    """So many things along a road, 30 of them in two crowds, of every sort."""
    rng = np.random.default_rng(seed)
    length_m = on.line.length_m
    spread = rng.uniform(32.0, length_m - 32.0, max(count - 30, 0))
    crowds = np.r_[rng.normal(900.0, 15.0, 20), rng.normal(2000.0, 4.0, 10)][:count]
    made = []
    for number, along_m in enumerate(np.sort(np.r_[spread, crowds]), 1):
        lane = str(rng.choice(["L1", "L2", "R1", "R2", ""]))
        more = {
            "lane": lane,
            "across": str(rng.choice(ACROSS)),
            "action": str(rng.choice(ACTIONS)),
            "decided_by": str(rng.choice(["A. Sample", ""])),
            "offset_m": float(rng.uniform(-9.0, 9.0)),
            "doubt": "" if lane else "lane not sure",
            "times_seen": int(rng.integers(0, 3)),
            "to_m": float(along_m + rng.choice([0.0, 0.0, 0.0, 40.0])),
            "status": str(rng.choice(["seen once", "seen once", "gone (A. Sample)"])),
        }
        code = str(rng.choice(list(KINDS.kinds)))
        made.append(thing(on, f"A-{number}", code, float(along_m), **more))
    return made


def busy(count=200, seed=1, **changes):
    """A pack with a busy road, partly poorly looked at, with two places to search."""
    on = road()
    none = {"leg": "A", "looks_up": 0, "looks_down": 0, "looks_day": 0, "looks_night": 0}
    coverage = [none | {"from_m": 400.0, "to_m": 520.0, "reason": "not driven"}]
    place = {"leg": "A", "what": "x", "why": "y", "lon_deg": -96.0, "lat_deg": 41.2, "side": "R"}
    search = [
        place | {"from_m": 700.0, "to_m": 700.0, "along_m": 700.0, "offset_m": 3.0},
        place | {"from_m": 1300.0, "to_m": 1400.0, "along_m": 1350.0, "offset_m": float("nan")},
        place | {"from_m": 800.0, "to_m": 800.0, "along_m": 800.0, "offset_m": 3.0, "no": "A-1"},
    ]
    usual = {
        "coverage": tables.table(tables.COVERAGE, coverage),
        "search": tables.table(tables.SEARCH, search),
    }
    return pack_of((on,), things(on, count, seed), **(usual | changes))


def rows(pack, code="A"):
    """The rows of one leg."""
    return listing.rows_by_leg(pack)[code]
