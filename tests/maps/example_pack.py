"""A small pack made by hand: two legs, seven things, an invented place."""

import datetime as dt
import zoneinfo

import numpy as np
import pandas as pd
import shapely
from builders import from_start

from routeprep import tables
from routeprep.geodesy import segment_lengths_m
from routeprep.kinds import Kind, KindTable
from routeprep.lines import Centerline
from routeprep.shapes import (
    Decision,
    Finding,
    IssuedNumber,
    Leg,
    LegSettings,
    Pack,
    Settings,
    Source,
)
from routeprep.units import STATION_UNITS

HOSTILE = (
    "=1+1 {{ cycler }} {% low ${x} <script>alert(1)</script> #sys.version"
    " `tick` </script> <!-- \u2028 end"
)

NAN = float("nan")


def kind(code: str, name: str, group: str, colour: str = "") -> Kind:
    """One kind with nothing but what outputs show."""
    return Kind(
        code=code,
        name=name,
        words=(name,),
        group=group,
        owner="",
        colour=colour,
        clear_ahead_m=0.0,
        clear_behind_m=0.0,
        proposals=(),
        asks=(),
        may_be=(),
        across="",
    )


KINDS = KindTable(
    kinds={
        item.code: item
        for item in (
            kind("SMH", "sewer manhole", "iron in the road", "green"),
            kind("WV", "WATER valve", "iron in the road", "blue"),
            kind("GV", "GAS valve", "iron in the road", "yellow"),
            kind("MON", "survey monument", "do not cut without the owner", "pink"),
            kind("HUMP", "speed hump", "in the surface"),
            kind("LIP", "gutter lip", "edges"),
            kind("WIRE", "wire", "overhead", "red"),
            kind("TIE", "tie-in", "transitions"),
            kind("SCH", "school", "traffic and access"),
            kind("LOW", "lowbed spot", "site"),
            kind("SKY", "sketchy spot", "sketchy spot"),
        )
    }
)


def leg(code: str, name: str, lon_deg: list[float], lat_deg: list[float], **more: object) -> Leg:
    """A leg along the vertices; ``zero`` makes it one without plan stations."""
    lon, lat = np.array(lon_deg), np.array(lat_deg)
    along_m = np.append(0.0, np.cumsum(segment_lengths_m(lon, lat, elevation_m=360.0)))
    zero = str(more.get("zero", ""))
    start = NAN if zero else 1000.0
    unit = STATION_UNITS[str(more.get("unit", "100 ft"))]
    settings = LegSettings(
        code=code,
        name=name,
        spine="",
        start_value=start,
        zero=zero,
        start_near_deg=None,
        unit=unit,
        elevation_m=360.0,
        from_station="",
        to_station="",
        depth_m=0.05,
        lane_width_m=3.66,
        lanes_left=1,
        lanes_right=1,
    )
    made_from = str(more.get("made_from", "file"))
    line = Centerline(
        lon_deg=lon,
        lat_deg=lat,
        along_m=along_m,
        sd_m=np.full(len(lon), 0.0 if made_from == "file" else 0.8),
        elevation_m=360.0,
        made_from=made_from,
    )
    stationing = from_start(unit=unit, start_value=0.0 if zero else 1000.0, zero=zero)
    cut = (30.0, float(along_m[-1]) - 30.0)
    return Leg(settings=settings, line=line, stationing=stationing, from_m=cut[0], to_m=cut[1])


def curve(count: int = 200) -> tuple[list[float], list[float]]:
    """A bending road of about 3 km."""
    at = np.linspace(0.0, 1.0, count)
    lon_deg = -96.1 + 0.03 * at
    lat_deg = 41.2 + 0.006 * np.sin(4.0 * at)
    return lon_deg.tolist(), lat_deg.tolist()


def thing(at_leg: Leg, no: str, code: str, along_m: float, **more: object) -> dict[str, object]:
    """One row of the table of obstructions on a leg."""
    line = at_leg.line
    row: dict[str, object] = {
        "anchor_id": f"id-{no}",
        "no": no,
        "leg": at_leg.settings.code,
        "kind": code,
        "name": KINDS.kinds[code].name,
        "from_m": along_m,
        "to_m": along_m,
        "along_m": along_m,
        "offset_m": 1.5,
        "along_sd_m": 2.5,
        "offset_sd_m": 2.5,
        "lane": "R1",
        "across": "outer wheel path",
        "times_seen": 2,
        "method": "vehicle",
        "mark_ids": (f"{no}-1", f"{no}-2"),
        "record_ids": (),
        "status": "seen twice or more",
        "action": "LIFT",
        "proposed": "LIFT",
        "decided_by": "",
        "height_m": NAN,
        "lon_deg": float(np.interp(along_m, line.along_m, line.lon_deg)),
        "lat_deg": float(np.interp(along_m, line.along_m, line.lat_deg)),
    }
    return row | more


def located(row: dict[str, object]) -> dict[str, object]:
    """The columns that locating adds, all of them unknown."""
    return {"travel": 0} | row


def example_legs() -> tuple[Leg, Leg]:
    """A road with plan stations from a file, and a path driven with a named zero."""
    lon_deg, lat_deg = curve()
    road = leg("A", "Example Road", lon_deg, lat_deg)
    side = leg(
        "B",
        "Sample Street",
        [-96.085, -96.0852, -96.0854],
        [41.2050, 41.2075, 41.2100],
        zero="ELM N CURB",
        made_from="path driven",
    )
    return road, side


def example_things(road: Leg, side: Leg) -> list[dict[str, object]]:
    """Seven things, each different in what an output must show."""
    return [
        thing(road, "A-1", "SMH", 120.0, note=HOSTILE, size="24 in"),
        thing(road, "A-2", "WV", 124.0, doubt="lane not sure", across="", lane=""),
        thing(
            road, "A-3", "GV", 600.0, status="in a file, not seen", method="file", mark_ids=(),
            record_ids=("r-1",), times_seen=0, decided_by="A. Sample", action="STOP", who="owner",
        ),
        thing(
            road, "A-4", "HUMP", 900.0, from_m=890.0, to_m=930.0, decided_by="A. Sample",
            action="MILL OVER", across="whole road", offset_m=0.0,
        ),
        thing(
            road, "A-5", "WIRE", 1500.0, height_m=5.486, height_by="measured", across="",
            decided_by="A. Sample", action="SLOW",
        ),
        thing(road, "A-6", "MON", 2000.0, status="gone (A. Sample, 2026-05-30)"),
        thing(side, "B-1", "SKY", 40.0, note="-0+50 said on the radio", lane="L1", offset_m=-1.4),
    ]  # fmt: skip


def _fixes(legs: tuple[Leg, ...]) -> pd.DataFrame:
    start = dt.datetime(2026, 5, 28, 15, 0, tzinfo=dt.UTC)
    line = legs[0].line
    return tables.table(
        tables.FIXES,
        [
            {
                "drive_id": "d-1",
                "piece": 0 if i < len(line.lon_deg) // 2 else 1,
                "time_utc": start + dt.timedelta(seconds=i),
                "lon_deg": float(line.lon_deg[i]) + 1e-5,
                "lat_deg": float(line.lat_deg[i]) - 1e-5,
            }
            for i in range(len(line.lon_deg))
        ],
    )


def _marks() -> list[dict[str, object]]:
    when = dt.datetime(2026, 5, 28, 15, 2, tzinfo=dt.UTC)
    base = {"drive_id": "d-1", "across_frame": "as driven", "method": "vehicle"}
    place = {"lon_deg": -96.09, "lat_deg": 41.206}
    return [
        base
        | {"mark_id": "A-1-1", "kind": "SMH", "words": "manhole", "source": "drives/one.gpx"}
        | {"time_utc": when, "note": HOSTILE}
        | place,
        base
        | {"mark_id": "m-2", "words": '=lunch, "here"', "source": "drives/one.gpx"}
        | {"time_utc": when + dt.timedelta(milliseconds=500)}
        | place,
        base | {"mark_id": "m-3", "words": "blrp", "source": "marks.csv"},
    ]


def example_settings(legs: tuple[Leg, ...], **more: object) -> Settings:
    """Settings of an invented job."""
    values = {
        "name": "Example Road and Sample Street",
        "number": "EX-1",
        "revision": "A",
        "date": dt.date(2026, 6, 1),
        "timezone": zoneinfo.ZoneInfo("America/Chicago"),
        "units": "us",
        "legs": tuple(item.settings for item in legs),
        "kinds": KINDS,
    }
    return Settings(**(values | more))  # type: ignore[arg-type]


def pack_of(legs: tuple[Leg, ...], things: list[dict[str, object]], **more: object) -> Pack:
    """A pack of these legs and things, and otherwise empty."""
    located_marks = (*tables.MARKS, *tables.LOCATED)
    unsorted = (
        *located_marks,
        tables.Column(name="why", holds="text"),
        tables.Column(name="looks_like", holds="text"),
    )
    values = {
        "settings": example_settings(legs),
        "legs": legs,
        "fixes": tables.table(tables.FIXES, []),
        "drives": (),
        "marks": tables.table(located_marks, []),
        "records": tables.table((*tables.RECORDS, *tables.LOCATED), []),
        "coverage": tables.table(tables.COVERAGE, []),
        "obstructions": tables.table(tables.OBSTRUCTIONS, things),
        "unsorted": tables.table(unsorted, []),
        "elsewhere": pd.DataFrame(columns=["id", "name", "source", "why"], dtype="str"),
        "withdrawn": pd.DataFrame(columns=["no", "leg", "why"], dtype="str"),
        "numbers": (),
        "decisions": (),
        "findings": (),
        "sources": (),
        "draft": (),
        "evidence": tables.table(tables.EVIDENCE, []),
        "lateness": (),
        "shifts": (),
        "missed": (),
        "search": tables.table(tables.SEARCH, []),
        "issued": None,
    }
    return Pack(**(values | more))  # type: ignore[arg-type]


def things_of(data: dict[str, object]) -> list[dict[str, object]]:
    """The things of the map's data, each by the names of its columns."""
    table = data["things"]
    return [dict(zip(table["names"], row, strict=True)) for row in table["rows"]]


def example_coverage() -> list[dict[str, object]]:
    """Looks at the example's legs: two stretches were poorly looked at."""
    none = {"looks_up": 0, "looks_down": 0, "looks_day": 0, "looks_night": 0}
    both = none | {"looks_up": 1, "looks_down": 1, "looks_day": 2, "lanes": "L1 1, R1 1"}
    return [
        both | {"leg": "A", "from_m": 0.0, "to_m": 1000.0, "fastest_mps": 12.0, "worst_sd_m": 2.0},
        none | {"leg": "A", "from_m": 1000.0, "to_m": 1400.0, "reason": "not driven"},
        both | {"leg": "A", "from_m": 1400.0, "to_m": 2600.0},
        both | {"leg": "B", "from_m": 0.0, "to_m": 500.0, "reason": "only at night"},
    ]


def example_pack() -> Pack:
    """The whole example: a draft with things unsorted, elsewhere and withdrawn."""
    legs = example_legs()
    marks = [located(row) for row in _marks()]
    located_marks = (*tables.MARKS, *tables.LOCATED)
    unsorted = (
        *located_marks,
        tables.Column(name="why", holds="text"),
        tables.Column(name="looks_like", holds="text"),
    )
    records = [
        {"record_id": "r-1", "kind": "GV", "source": "covers.geojson", "travel": 0}
        | {"geometry": shapely.Point(-96.094, 41.2044)},
        {"record_id": "r-2", "kind": "SMH", "source": "covers.geojson", "travel": 0}
        | {"geometry": shapely.LineString([(-96.0, 41.0), (-96.0, 41.1)])},
    ]
    gone = pd.DataFrame({"no": ["A-7"], "leg": ["A"], "why": ["joined with A-1"]}, dtype="str")
    far = pd.DataFrame(
        {"id": ["r-2"], "name": [HOSTILE], "source": ["covers.geojson"], "why": ["no leg near"]},
        dtype="str",
    )
    return pack_of(
        legs,
        example_things(*legs),
        fixes=_fixes(legs),
        coverage=tables.table(tables.COVERAGE, example_coverage()),
        marks=tables.table(located_marks, marks),
        records=tables.table((*tables.RECORDS, *tables.LOCATED), records),
        unsorted=tables.table(
            unsorted,
            [row | {"why": "no kind in these words", "looks_like": ""} for row in marks[1:]],
        ),
        elsewhere=far,
        withdrawn=gone,
        numbers=(
            IssuedNumber(no="A-1", anchor_id="id-A-1", first_revision="A"),
            IssuedNumber(no="A-7", anchor_id="id-A-7", first_revision="A"),
        ),
        decisions=(
            Decision(anchor_id="id-A-3", field="action", value="STOP", by="A. Sample", when="",
                     why=""),
        ),
        findings=(
            Finding(level="note", where="drives/one.gpx", text="One drive was read."),
            Finding(level="doubt", where="A-2", text="Nobody said which lane."),
        ),
        sources=(
            Source(name="drives/one.gpx", what="drive", sha256="ab" * 32, taken={"fixes": 200},
                   skipped={}),
            Source(name="covers.geojson", what="records", sha256="cd" * 32, taken={"records": 2},
                   skipped={"no position": 1}),
        ),
        draft=("4 things are not decided.",),
    )  # fmt: skip
