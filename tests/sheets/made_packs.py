"""Invented packs, made by hand, for the tests of sheets."""

import datetime as dt
import zoneinfo
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
import pandas as pd
import shapely
from builders import from_start

from routeprep import listing, tables
from routeprep.kinds import KindTable
from routeprep.lines import Centerline
from routeprep.shapes import Finding, Leg, LegSettings, Pack, Settings, Source
from routeprep.units import STATION_UNITS, to_m

HOSTILE = "=1+1 {{ cycler }} {% low ${x} <script>alert(1)</script> #sys.version"
NAN = float("nan")


def leg(code: str = "A", *, length_m: float = 1000.0, zero: str = "", **changes: object) -> Leg:
    """A straight leg along a parallel; ``changes`` go to its settings."""
    settings = LegSettings(
        code=code,
        name=f"Invented Road {code}",
        spine="",
        start_value=NAN if zero else 1000.0,
        zero=zero,
        start_near_deg=None,
        unit=STATION_UNITS["100 ft"],
        elevation_m=360.0,
        from_station="",
        to_station="",
        depth_m=to_m(2.0, "in"),
        lane_width_m=3.66,
        lanes_left=1,
        lanes_right=1,
    )
    settings = replace(settings, **changes)  # type: ignore[arg-type]
    line = Centerline(
        lon_deg=np.array([-96.1, -96.1 + length_m * 1.2e-5]),
        lat_deg=np.full(2, 41.2),
        along_m=np.array([0.0, length_m]),
        sd_m=np.zeros(2),
        elevation_m=360.0,
        made_from="file",
    )
    start_value = 0.0 if zero else settings.start_value
    stationing = from_start(unit=settings.unit, start_value=start_value, zero=zero)
    return Leg(settings=settings, line=line, stationing=stationing, from_m=0.0, to_m=length_m)


def thing(no: str, along_m: float, **changes: object) -> dict[str, object]:
    """A decided manhole in the outer wheel path; ``changes`` are other values of its row."""
    return {
        "anchor_id": f"anchor {no}",
        "no": no,
        "leg": no.partition("-")[0],
        "kind": "SMH",
        "name": "sewer manhole",
        "from_m": along_m,
        "to_m": along_m,
        "along_m": along_m,
        "offset_m": 1.5,
        "along_sd_m": 2.4,
        "offset_sd_m": 2.0,
        "lane": "R1",
        "across": "outer wheel path",
        "times_seen": 2,
        "method": "vehicle",
        "mark_ids": (f"mark {no}",),
        "status": "seen twice or more",
        "action": "LIFT",
        "proposed": "LIFT",
        "decided_by": "J. Doe",
        "height_m": NAN,
        "size": "24 in",
        "past_end_m": NAN,
        "lon_deg": -96.1 + along_m * 1.2e-5,
        "lat_deg": 41.2,
    } | changes


UNDECIDED = {"decided_by": "", "action": "NOT DECIDED: STOP"}

# Two legs with a row of each sort; what stands here is what a pack may hold.
THINGS = (
    thing("A-1", 20.0, note=HOSTILE),
    thing("A-2", 60.0, **UNDECIDED, proposed="GO AROUND"),
    thing("A-3", 61.0, name="steel plate", action="STOP", who="call the plate's owner"),
    thing("A-5", 400.0, doubt="near tie; lane not sure", lane="", across=""),
    thing("A-6", 700.0, status="gone (J. Doe, 2026-05-30)", note="café 工 \N{CONSTRUCTION SIGN}"),
    thing("A-10", 720.0, status="in a file, not seen", times_seen=0, record_ids=("r1",)),
    thing("B-1", 30.0, across="on the line"),
)


def unsorted(*words: str) -> pd.DataFrame:
    """Marks whose words were not understood."""
    rows = [
        {
            "mark_id": text,
            "words": text,
            "across_frame": "as driven",
            "method": "vehicle",
            "source": "drives/one.gpx",
        }
        for text in words
    ]
    count = len(rows)
    marks = tables.table(tables.MARKS, rows)
    return marks.assign(
        why=pd.array(["left over: lunch"] * count, dtype="str"),
        looks_like=pd.array(["CB"] * count, dtype="str"),
    )


def texts(columns: Sequence[str], *rows: Sequence[str]) -> pd.DataFrame:
    """A table of texts."""
    return pd.DataFrame(rows, columns=list(columns), dtype="str")


def pack(
    things: Sequence[Mapping[str, object]] = THINGS,
    *,
    legs: Sequence[Leg] | None = None,
    draft: Sequence[str] = ("1 of 7 things are not decided",),
    units: str = "us",
    name: str = "Invented Mill Job",
    withdrawn: Sequence[Sequence[str]] = (("A-4", "A", "joined with A-3"),),
) -> Pack:
    """A pack with something in every part of it."""
    legs = legs or (leg("A"), leg("B", length_m=200.0, zero="Elm St north curb"))
    record = {
        "record_id": "r1",
        "name": "WV-1032",
        "source": "records/covers.geojson",
        "geometry": shapely.Point(-96.1, 41.2),
    }
    return Pack(
        settings=Settings(
            name=name,
            number="26-0417",
            revision="C",
            date=dt.date(2026, 6, 1),
            timezone=zoneinfo.ZoneInfo("America/Chicago"),
            units=units,
            legs=tuple(one.settings for one in legs),
            kinds=KindTable(kinds={}),
        ),
        legs=tuple(legs),
        fixes=tables.table(tables.FIXES, []),
        drives=(),
        marks=tables.table(tables.MARKS, []),
        records=tables.table(tables.RECORDS, [record]),
        coverage=tables.table(tables.COVERAGE, []),
        obstructions=tables.table(tables.OBSTRUCTIONS, things),
        unsorted=unsorted("asdf lunch stop"),
        elsewhere=texts(
            ("id", "name", "source", "why"),
            ("e1", "hydrant 7", "records/covers.geojson", "far from the road: 210 m from leg A"),
        ),
        withdrawn=texts(("no", "leg", "why"), *withdrawn),
        numbers=(),
        decisions=(),
        findings=(Finding(level="doubt", where="drives/one.gpx", text="the log was cut off."),),
        sources=(
            Source(
                name="drives/one.gpx",
                what="drive",
                sha256="0123456789abcdef" * 4,
                taken={"fixes": 812},
                skipped={"no time": 3},
            ),
        ),
        draft=tuple(draft),
        evidence=tables.table(tables.EVIDENCE, []),
        lateness=(),
        shifts=(),
        missed=(),
        search=tables.table(tables.SEARCH, []),
        issued=None,
    )


def rows(made: Pack, code: str) -> list[dict[str, object]]:
    """The rows of one leg as sheets get them."""
    listed = listing.rows(made).to_dict("records")
    return [{str(key): value for key, value in row.items()} for row in listed if row["leg"] == code]
