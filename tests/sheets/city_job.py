"""Two invented jobs that tests make from lines and records: three city streets, a metric road.

All of it is an invention.  The streets have no plan stations; one line is given the other way
round, one ends in a bulb, one is a ramp.
"""

import math
from dataclasses import replace
from functools import cache

import numpy as np
import shapely
from builders import PLANE, leg_settings, lonlat, settings, survey

from routeprep.briefing import Briefing, Phone, Ticket
from routeprep.job import prepare
from routeprep.lines import LinePiece
from routeprep.shapes import Decision, Pack
from routeprep.streets import Landmark
from routeprep.units import STATION_UNITS

BULB_M = 12.0
RAMP_M = 60.0


def _piece(xy_m, name):
    lon, lat = PLANE.to_lonlat(np.asarray(xy_m, dtype=np.float64))
    return LinePiece(lon_deg=lon, lat_deg=lat, name=name, source="streets.geojson")


def _bulb():
    """East for 120 m, then round a bulb to within 3 m of where it began."""
    turns = np.linspace(math.pi, -0.92 * math.pi, 40)
    ring = np.column_stack([132.0 + BULB_M * np.cos(turns), 50.0 + BULB_M * np.sin(turns)])
    return [(0.0, 50.0), *map(tuple, ring)]


def _ramp():
    """A quarter of a circle from north to east, from the end of the first street."""
    turns = np.linspace(math.pi, math.pi / 2, 30)
    return np.column_stack([RAMP_M + RAMP_M * np.cos(turns), 300.0 + RAMP_M * np.sin(turns)])


def _record(no, kind, x_m, y_m, name=""):
    return {
        "record_id": f"r{no}",
        "kind": kind,
        "name": name or f"{kind}-{no}",
        "owner": "city",
        "source": "covers.geojson",
        "geometry": shapely.Point(*lonlat(x_m, y_m)),
    }


def _accepted(*kinds):
    return [
        Decision(anchor_id=f"kind:{kind}", field="action", value="as proposed", by="J. Doe",
                 when="2026-05-30", why="")
        for kind in kinds
    ]  # fmt: skip


@cache
def city_pack() -> Pack:
    """Three streets with cross streets; 24 covers, none of them decided but the manholes."""
    usual = {"start_value": math.nan, "depth_m": 0.0508}
    legs = (
        leg_settings(
            code="A", name="Elm St", zero="MAIN ST N CURB", start_near_deg=lonlat(0.0, 0.0), **usual
        ),
        leg_settings(
            code="B", name="Oak Ct", zero="ELM ST E CURB", start_near_deg=lonlat(0.0, 50.0), **usual
        ),
        leg_settings(
            code="C", name="Ramp to Route 9", zero="ELM ST END", lanes_left=0,
            start_near_deg=lonlat(0.0, 300.0), **usual,
        ),
    )  # fmt: skip
    lines = {
        # Given from north to south, against its stations.
        "A": (_piece([(0.0, 300.0), (0.0, 0.0)], "Elm St"),),
        "B": (_piece(_bulb(), "Oak Ct"),),
        "C": (_piece(_ramp(), "Ramp to Route 9"),),
    }
    kinds = ("SMH", "WV", "GASV", "DI")
    covers = [_record(k, kinds[k % 4], 2.4 * (-1) ** k, 10.0 + 17.0 * k) for k in range(17)]
    covers += [_record(20 + k, kinds[k % 4], 15.0 + 25.0 * k, 48.0) for k in range(4)]
    covers += [_record(30, "SMH", 132.0, 50.0 + BULB_M), _record(31, "WV", 143.0, 50.0)]
    middle = RAMP_M - RAMP_M * math.cos(math.pi / 4)
    covers += [_record(40, "DI", middle, 300.0 + RAMP_M * math.sin(math.pi / 4))]
    briefing = Briefing(
        where="Elm St between Main St and 3rd St, from Main St by the water tower (invented)",
        phones=(
            Phone(who="J. Doe, superintendent", number="555-0100", why="everything"),
            Phone(who="Gas, day and night", number="555-0199", why="smell of gas: go, then call"),
        ),
        tickets=(
            Ticket(number="T-1001", expires=settings().date.replace(day=15)),
            Ticket(number="T-0007", expires=settings().date.replace(month=5, day=29)),
            Ticket(number="T-1002", expires=None),
        ),
        worst=("A-3", "the corner at 2nd St: trucks cut it", "A-99"),
        issued_to="night crew",
        night=True,
    )
    job = settings(*legs, name="Three streets (invented)", briefing=briefing)
    made = prepare(survey(records=covers, lines=lines), job, _accepted("SMH", "DI"), ())
    crossings = (("1st St", 95.0, ""), ("2nd St", 190.0, "L"), ("3rd St", 285.0, ""))
    marks = tuple(
        Landmark(name=name, along_m=at_m, side=side, source="streets.geojson")
        for name, at_m, side in crossings
    )
    first, *others = made.legs
    return replace(made, legs=(replace(first, landmarks=marks), *others))


@cache
def metric_pack() -> Pack:
    """A straight road of 5 km with 200 covers, stations of 1000 m; all are decided."""
    leg = leg_settings(
        unit=STATION_UNITS["1000 m"], start_value=12000.0, name="Invented Highway", depth_m=0.04
    )
    covers = [
        _record(k, ("SMH", "WV", "CB")[k % 3], (2.4, -2.4, 5.0, -5.2)[k % 4], 12.0 + 24.7 * k)
        for k in range(200)
    ]
    job = settings(leg, name="A metric road (invented)", units="metric")
    lines = {"A": (_piece([(0.0, 0.0), (0.0, 5000.0)], "Invented Highway"),)}
    return prepare(survey(records=covers, lines=lines), job, _accepted("SMH", "WV", "CB"), ())
