"""An invented pack with evidence of every part, for the tests of why and of the report."""

import datetime as dt
from dataclasses import replace

import pandas as pd
from made_looks import lateness
from sheets.surveyed_pack import surveyed_pack

from routeprep import tables
from routeprep.estimates import FileShift, Missed
from routeprep.shapes import Decision
from routeprep.units import MPH_MPS, to_m

WHEN = dt.datetime(2026, 5, 28, 13, 15, 9, tzinfo=dt.UTC)
MPH_35 = 35 * float(MPH_MPS)


def row(anchor_id, item_id, part, apart_ft, **changes):
    """A look up-station by J. Doe at 35 mph, so many feet from the thing's place."""
    along_ft = {"anchor A-1": 90.0, "anchor A-2": 460.0}[anchor_id] / 0.3048 + apart_ft
    usual = {
        "anchor_id": anchor_id, "item_id": item_id, "what": "mark", "part": part, "kind": "SMH",
        "words": "mh owp", "method": "vehicle", "person": "J. Doe", "drive_id": "d1",
        "source": "drives/one.gpx", "time_utc": WHEN, "travel": 1, "speed_mps": MPH_35,
        "late_m": to_m(51.0, "ft"), "along_m": to_m(along_ft, "ft"), "along_sd_m": to_m(10.0, "ft"),
        "offset_m": 1.5, "offset_sd_m": 0.6, "apart_m": to_m(apart_ft, "ft"), "lane": "R1",
        "position": "outer wheel path", "why": "gives the place",
    }  # fmt: skip
    return usual | changes


RECORD = {
    "what": "record", "method": "file", "words": "WV-1032", "person": "", "drive_id": "",
    "source": "records/covers.geojson", "time_utc": None, "travel": 0, "speed_mps": float("nan"),
    "late_m": 0.0, "lane": "", "position": "",
}  # fmt: skip
# The first thing: seen both ways, in a file, near another; the second: walked, and by an unnamed
# drive whose time nobody knows.
EVIDENCE = (
    row("anchor A-1", "m1", "place", -12.0),
    row("anchor A-1", "m2", "place", 9.0, travel=-1, late_m=to_m(-3.0, "ft"), position="",
        why="gives the place; its lane R1 is set aside"),
    row("anchor A-1", "r1", "beside", 4.0, **RECORD, why="a look from a vehicle outranks it"),
    row("anchor A-1", "m3", "near", 21.0, why="another kind: GAS VALVE"),
    row("anchor A-2", "m3", "place", 0.2, method="walked", speed_mps=float("nan"), late_m=0.0,
        travel=0, person="R. Roe", drive_id="", source="walk.csv", words="", lane="", position=""),
    row("anchor A-2", "m4", "beside", 6.0, person="d2", drive_id="d2", time_utc=None, travel=0,
        speed_mps=float("nan"), late_m=0.0, why="walked outranks it"),
)  # fmt: skip


def evident_pack(rows=EVIDENCE, **changes):
    """A pack with that evidence, estimates, a search list and decisions."""
    made = surveyed_pack()
    values = {
        "evidence": tables.table(tables.EVIDENCE, list(rows)),
        "lateness": (lateness("J. Doe", late_lead_sm=0.0), lateness("nobody met", told=False)),
        "shifts": (
            FileShift(
                source="records/covers.geojson", east_m=1.25, north_m=-0.5, east_sd_m=0.25,
                north_sd_m=0.25, east_north_m2=0.0, pairs=31, applied=True,
                text="lies 4 ft east and 2 ft south, from 31 pairs; taken off",
            ),
        ),
        "missed": (
            Missed(
                what="all things", looks=2, seen=40, estimate=44.4, low=41.0, high=53.25,
                method="Chapman", text="about 4 more: a lower bound",
            ),
        ),
        "search": tables.table(tables.SEARCH, [
            {"leg": "A", "from_m": 10.0, "to_m": 20.0, "along_m": 15.0, "what": what,
             "why": "in a file, not seen", "lon_deg": -96.1, "lat_deg": 41.2}
            for what in ("water valve", "water valve", "sewer manhole")
        ]),
        "decisions": (
            Decision(anchor_id="mark A-1", field="size", value="30 in", by="J. Doe",
                     when="2026-05-30", why="measured"),
            Decision(anchor_id="else", field="action", value="LIFT", by="J. Doe", when="", why=""),
        ),
        "withdrawn": pd.DataFrame(
            [("A-4", "A", "joined with A-1"), ("A-7", "A", "removed")],
            columns=["no", "leg", "why"], dtype="str",
        ),
    }  # fmt: skip
    return replace(made, **(values | changes))
