"""Make the demo: an invented job in an invented place, and the truth about it.

``demo()`` makes the job of ``data/demo`` in memory, ``planted_demo(seed)`` the same with covers
that are missed, ``simulate(seed)`` others of its sort for tests that need many.  Run as a program
it writes ``data/demo`` anew: the same bytes every time.
"""

import datetime as dt
import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

import numpy as np
from invented.drives import Drive, DriveSpec, Person, TrueMark, drive
from invented.files import CITY, Feature, job_toml, records, to_csv, to_geojson, to_gpx
from invented.planned import INSTEAD, JUNK, STRANGE, planned_things
from invented.planted import planted_things, says_parked
from invented.roads import Road, curve, lay_road, tangent
from invented.simulated import (
    FIRST_DAY_UTC,
    INPUTS,
    JOB,
    LANES,
    MPS_PER_MPH,
    Plan,
    job_plane,
    line_feature,
    main_road,
    simulate,
)
from invented.things import FT_M, NAMES, PLACES, Thing
from invented.truth import Made, Truth, count_from, true_line, truth_json
from invented.walk import plan_ties, station_list

from routeprep.identity import Item, item_ids
from routeprep.kinds import parse_kinds
from routeprep.readers.disk import kinds_text
from routeprep.tables import ISSUED
from routeprep.units import STATION_UNITS, format_station

__all__ = ["Plan", "demo", "demo_files", "planted_demo", "simulate"]

SEED = 12
SPINE = "drives/a-1-up.gpx"
NEVER_ISSUED = 4
WALK = "walk-b.txt"

README = """# The demo: an invented job

Place, streets, city, people and everything in the road are invented by `data/make_demo.py`, which
writes this folder anew, the same bytes every time. Do not edit it by hand, and do not look for
any of it outdoors.

- `job/` is the job as a superintendent would have it: five drives (the long road twice each way,
  the side street there and back) with marks dropped late, the list of somebody who walked the side
  street with a wheel, the city's file of covers, the city's street file, two things whose plan
  station is known, decisions made so far and the numbers issued in revision A.
- `truth/truth.json` is what is true: lines, things (visibility 0: nobody could see it), which
  mark is about which thing (`thing` counts from 0, -1 is none) and the kind its words stand for
  (empty: nobody should understand them), and how late each person taps. Metres, degrees and
  seconds; along counts from each leg's zero.  On leg A that is abeam of the first fix of
  `drives/a-1-up.gpx`, where a line made from the drives begins.
"""

# Numbers of the kind that is kept for fiction; nobody answers them.
BRIEFING = {
    "where": "Bluestem Road east of Marrowgrass, between Cedar Street and Sedge Lane (invented)",
    "phones": [
        {"who": "superintendent (invented)", "number": "308-555-0117", "why": "anything unclear"},
        {"who": "water and sewer, on call (invented)", "number": "308-555-0142", "why": "covers"},
        {"who": "railroad emergency line (invented)", "number": "308-555-0163", "why": "A 49+60"},
    ],
    "tickets": [{"number": "26-118204 (invented)", "expires": dt.date(2026, 6, 9)}],
    "worst": [
        "the railroad and the loops before it, A 49+60 to 56+00",
        "the steel plate at 66+65: nobody has said what is beneath",
    ],
    "night": True,
}
# An invented half-lane machine and truck; no maker's figures.
MACHINE = {
    "name": "half-lane machine (invented)", "drum_ft": 7.25, "overlap_ft": 0.25,
    "drum_diameter_in": 40, "flush_side": "right", "ahead_ft": 60, "behind_ft": 25,
    "moldboard_ft": 3,
}  # fmt: skip
HAUL = {"payload_tons": 20, "body_yd3": 18, "ramp_slope": 48}
ACROSS = [
    {
        "left": [{"what": "lane", "width_ft": 12}], "right": [{"what": "lane", "width_ft": 12}],
        "edge_left": "curb", "edge_right": "curb",
    }
]  # fmt: skip
LAST = "issued/A"

DECISION_COLUMNS = ("anchor_id", "field", "value", "by", "when", "why")

PEOPLE = (
    Person(name="driver 1", late_s=1.1, late_sd_s=0.3, lead_m=6 * FT_M, manner="full"),
    Person(name="passenger 2", late_s=0.8, late_sd_s=0.3, lead_m=3 * FT_M, manner="short"),
    Person(name="driver 3", late_s=1.4, late_sd_s=0.35, lead_m=10 * FT_M, manner="hands"),
    Person(name="passenger 4", late_s=1.0, late_sd_s=0.35, lead_m=0.0, manner="bare"),
)


# Three covers of the city's file that lie far from the job: along leg A [ft] and offset [ft].
FAR = ((2000.0, 700.0), (7000.0, -900.0), (11000.0, 650.0))


def side_road(main: Road) -> Road:
    """The demo's short leg: it begins at the main road's north curb and runs north."""
    at_m = 4600 * FT_M
    heading_deg = math.degrees(float(main.heading_at(np.array([at_m]))[0])) - 90.0
    return lay_road(
        [tangent(150.0), curve(400.0, 20.0), tangent(60.0)],
        code="B", name="Alder Street (invented)", start_xy_m=main.point(at_m, -18 * FT_M),
        heading_deg=heading_deg, plane=main.plane,
    )  # fmt: skip


class Outing(NamedTuple):
    """One drive of the demo: file, who, when after the first [min], from, turn and to [m]."""

    file: str
    person: int
    start_min: float
    along_m: tuple[float, ...]
    speeds_mph: tuple[float, ...]
    stops: tuple[tuple[float, float], ...]
    gap_s: tuple[float, float] | None = None
    accuracy_m: float = math.nan


def outings(main: Road, side: Road) -> tuple[Outing, ...]:
    """Two drives up the main road and two down, and one up and down the side street."""
    end_m, top_m = main.length_m, side.length_m - 3.0
    first_m, second_m = 4520 * FT_M, 9160 * FT_M
    return (
        Outing(SPINE, 0, 0.0, (0.0, end_m), (30, 38, 42, 35), ((first_m, 24.0), (second_m, 11.0))),
        Outing(
            "drives/a-2-down.gpx", 1, 12.0, (end_m - 6.0, 8.0), (28, 33, 30, 36),
            ((end_m - second_m, 31.0),), accuracy_m=3.8,
        ),
        Outing(
            "drives/a-3-up.gpx", 2, 1445.0, (5.0, end_m - 9.0), (35, 45, 40, 25),
            ((first_m, 8.0),), gap_s=(196.0, 236.0),
        ),
        Outing(
            "drives/a-4-down.gpx", 3, 1460.0, (end_m - 3.0, 4.0), (25, 35, 30, 22),
            ((end_m - first_m, 40.0),), accuracy_m=5.0,
        ),
        Outing(
            "drives/b-there-and-back.gpx", 1, 30.0, (3.0, top_m, 3.0), (18, 20),
            ((top_m - 3.0, 15.0),), accuracy_m=3.8,
        ),
    )  # fmt: skip


def spec_of(outing: Outing, number: int, things: Sequence[Thing]) -> DriveSpec:
    """Fill in one drive: speeds by quarters of the way, words out of the ordinary, junk."""
    length_m = sum(abs(b - a) for a, b in pairwise(outing.along_m))
    changes = np.linspace(0.0, length_m, len(outing.speeds_mph), endpoint=False).tolist()
    index = {(thing.leg, round(thing.along_m / FT_M)): i for i, thing in enumerate(things)}
    return DriveSpec(
        file=outing.file,
        person=PEOPLE[outing.person],
        start_utc=FIRST_DAY_UTC + dt.timedelta(minutes=outing.start_min),
        along_m=outing.along_m,
        speeds=tuple(
            (at, mph * MPS_PER_MPH) for at, mph in zip(changes, outing.speeds_mph, strict=True)
        ),
        stops=outing.stops,
        gap_s=outing.gap_s,
        accuracy_m=outing.accuracy_m,
        instead={
            index[leg, ft]: (words, said) for n, leg, ft, words, said in INSTEAD if n == number
        },
        junk=tuple((gone_m, words) for n, gone_m, words in JUNK if n == number),
    )


def zero_and_end_m(road: Road, spine: Drive) -> tuple[float, float]:
    """Along, as the road is laid, abeam of a drive's first and last fix [m].

    A line made from drives begins where its spine was begun, so that is the leg's zero; both
    ends lie on tangents.
    """
    ends = [0, -1]
    x, y = road.plane.transform(spine.lon_deg[ends], spine.lat_deg[ends])
    zero_m = (x[0] - road.x_m[0]) * math.sin(road.heading_rad[0]) + (y[0] - road.y_m[0]) * math.cos(
        road.heading_rad[0]
    )
    past_m = (x[1] - road.x_m[-1]) * math.sin(road.heading_rad[-1]) + (
        y[1] - road.y_m[-1]
    ) * math.cos(road.heading_rad[-1])
    return float(zero_m), float(road.from_m[-1] + past_m)


def ledger(marks: Sequence[TrueMark], things: Sequence[Thing]) -> list[tuple[str, str, str]]:
    """Numbers of revision A: what the first drive of each leg saw, in station order.

    A-4 was never issued, and the mark of A-7 is no longer in any file.
    """
    lost = Item(FIRST_DAY_UTC, -100.8701234, 41.4312345, "steel plate")
    meant = [mark for mark in marks if mark.thing >= 0 and mark.said]
    meant.sort(key=lambda mark: things[mark.thing].along_m)
    on_a = [mark.mark_id for mark in meant if mark.file == SPINE]
    on_a.insert(5, item_ids("mark", [lost])[0])
    on_b = [mark.mark_id for mark in meant if mark.file.startswith("drives/b")][:2]
    numbers = [n for n in range(1, len(on_a) + 2) if n != NEVER_ISSUED]
    return [
        *((f"A-{n}", anchor, "A") for n, anchor in zip(numbers, on_a, strict=True)),
        *((f"B-{n}", anchor, "A") for n, anchor in enumerate(on_b, start=1)),
    ]


def decisions(marks: Sequence[TrueMark], things: Sequence[Thing]) -> list[tuple[str, ...]]:
    """What the superintendent decided so far: a few kinds and a few things."""
    by_words = {mark.words: mark.mark_id for mark in marks}
    first: dict[int, str] = {}
    for mark in marks:
        if mark.said:
            first.setdefault(round(things[mark.thing].along_m / FT_M), mark.mark_id)
    rows = [
        ("kind:SST", "action", "as proposed", "2026-05-19", ""),
        ("kind:XW", "action", "as proposed", "2026-05-19", ""),
        ("kind:DI", "action", "as proposed", "2026-05-19", ""),
        ("kind:CB", "action", "as proposed", "2026-05-19", ""),
        (by_words["lunch"], "kind", "nothing", "2026-05-19", "a note to self"),
        (by_words["testing testing"], "kind", "nothing", "2026-05-19", "trying the phone"),
        (by_words[STRANGE], "kind", "water valve", "2026-05-20", "went back and looked"),
        (first[420], "status", "walked", "2026-05-20", ""),
        (first[420], "size", "26 in", "2026-05-20", "taped"),
        (first[1650], "action", "CUT THROUGH", "2026-05-20", "sound under the patch"),
        (first[4800], "status", "lowered 4 in", "2026-05-27", "by the owner"),
        (first[6400], "note", "mat is loose, talk about it", "2026-05-20", ""),
        (first[10050], "status", "walked, not found", "2026-05-20", "under new gravel"),
    ]
    who = "superintendent (invented)"
    return [(anchor, field, value, who, when, why) for anchor, field, value, when, why in rows]


def streets(main: Road, side: Road) -> bytes:
    """The city's street file: the side street in two pieces, one drawn backward, and others."""
    meet = true_line(side, from_m=0.0, to_m=150.0, step_m=30.0)
    rest = true_line(side, from_m=150.0, to_m=side.length_m, step_m=5.0)
    back = replace(rest, lon_deg=rest.lon_deg[::-1], lat_deg=rest.lat_deg[::-1])
    others = [
        Feature("LineString", _place_pair(main, at_m), {"street": name})
        for at_m, name in ((290.0, "Cedar Street"), (2820.0, "Dogwood Court"))
    ]
    through = [
        Feature("LineString", _place_pair(road, at_m, from_m=-180.0), {"street": name})
        for road, at_m, name in ((main, 3566.0, "Sedge Lane"), (side, 213.0, "Foxtail Lane"))
    ]
    return to_geojson(
        [
            others[0],
            line_feature(meet, {"street": "Alder Street"}),
            line_feature(back, {"street": "Alder Street"}),
            others[1],
            *through,
        ]
    )


def _place_pair(road: Road, at_m: float, *, from_m: float = 6.0) -> list[list[float]]:
    """Ends of a street across a road, or from its edge [m]."""
    lon, lat = road.lonlat(np.full(2, at_m), np.array([from_m, 240.0]))
    return [[round(a, 7), round(b, 7)] for a, b in zip(lon.tolist(), lat.tolist(), strict=True)]


def far_covers(main: Road) -> list[Feature]:
    """Covers of the city that lie far from the job."""
    along, offset = np.array(FAR).T * FT_M
    places = zip(*(values.tolist() for values in main.lonlat(along, offset)), strict=True)
    return [
        Feature("Point", [round(lon, 7), round(lat, 7)], {
            "asset_id": f"SMH-{9000 + i}", "asset_type": NAMES["SMH"].city, "owner": CITY,
            "lid_size": "",
        })
        for i, (lon, lat) in enumerate(places)
    ]  # fmt: skip


def last_issue(
    marks: Sequence[TrueMark], things: Sequence[Thing], *, zero_m: float
) -> dict[str, bytes]:
    """What is needed of the pack of revision A: its list, nothing decided, and its report."""
    meant = {mark.mark_id: things[mark.thing] for mark in marks if mark.thing >= 0}
    kinds = parse_kinds(kinds_text()).kinds
    rows = []
    for no, anchor_id, _ in ledger(marks, things):
        thing = meant.get(anchor_id)
        name = kinds[thing.kind if thing else "PLATE"].name
        place = thing.place if thing else "outer"
        across = "whole road" if place == "whole" else PLACES[place].words
        along_m = thing.along_m - zero_m * (thing.leg == "A") if thing else 205.0
        unit, begin = STATION_UNITS["100 ft"], 1000.0 if no.startswith("A") else 0.0
        # On paper to the nearest 5 ft, as a drive alone could tell.
        value = begin + 5 * round(along_m / FT_M / 5)
        rows.append(
            (
                no, anchor_id, no[0], name, format_station(value, unit, decimals=1),
                f"{along_m:.2f}", "8.00", thing.lane if thing else "R1", across, "seen once",
                "STOP", "",
            )
        )  # fmt: skip
    report = {"job": {"revision": "A"}, "counts": {"obstructions": {"all": len(rows)}}}
    columns = [column.name for column in ISSUED]
    return {
        f"{LAST}/obstructions.csv": to_csv(columns, rows),
        f"{LAST}/report.json": (json.dumps(report) + "\n").encode(),
    }


def legs(main: Road, side: Road, ties: Sequence[object]) -> list[dict[str, object]]:
    """The job file's two legs."""
    starts = [road.lonlat(np.zeros(1), np.zeros(1)) for road in (main, side)]
    near = [[round(float(lon[0]), 5), round(float(lat[0]), 5)] for lon, lat in starts]
    return [
        {
            "code": "A", "name": main.name, "spine": SPINE, "start": "10+00",
            "start_near": near[0], "unit": "100 ft", "elevation_ft": 2900, "from": "12+00",
            "to": "138+00", "depth_in": 2, **LANES,
            "posted_mph": 45, "sight_clearance_ft": 14, "ties": ties, "section": ACROSS,
        },
        {
            "code": "B", "name": side.name, "zero": "Bluestem Rd north curb",
            "centerline": {"file": "lines/streets.geojson", "where": "street = 'Alder Street'"},
            "start_near": near[1], "from": "0+30", "to": "11+00", "depth_in": 1.5,
            **LANES, "section": ACROSS,
        },
    ]  # fmt: skip


def demo(seed: int = SEED) -> Made:
    """Make the demo's job in memory.

    Parameters
    ----------
    seed
        Everything random follows from it.
    """
    main = main_road(job_plane())
    side = side_road(main)
    things = planned_things()
    specs = [spec_of(outing, i, things) for i, outing in enumerate(outings(main, side))]
    made, marks = _made(main, side, things, specs, seed=seed, inputs={"issued": LAST})
    decided = to_csv(DECISION_COLUMNS, decisions(marks, things))
    issued = to_csv(("no", "anchor_id", "first_revision"), ledger(marks, things))
    first = drive(specs[0], main, things, seed=(seed, 0))
    zero_m, _ = zero_and_end_m(main, first)
    files = {
        **made.files, "decisions.csv": decided, "numbers.csv": issued,
        **last_issue(marks, things, zero_m=zero_m),
    }  # fmt: skip
    return replace(made, files=files)


def planted_demo(seed: int, *, parked_said: bool = True) -> Made:
    """Make the demo's job with twelve covers planted within 1,000 ft, nothing decided or issued.

    Parameters
    ----------
    seed
        Everything random follows from it.
    parked_said
        Whether somebody who drives up the road says that parked cars hid a part of it.
    """
    main = main_road(job_plane())
    side = side_road(main)
    things = planted_things()
    specs = [spec_of(outing, i, things) for i, outing in enumerate(outings(main, side))]
    if parked_said:
        specs[0] = replace(specs[0], junk=(*specs[0].junk, *says_parked(specs[0])))
    return _made(main, side, things, specs, seed=seed, inputs={})[0]


def _made(
    main: Road,
    side: Road,
    things: tuple[Thing, ...],
    specs: Sequence[DriveSpec],
    *,
    seed: int,
    inputs: Mapping[str, object],
) -> tuple[Made, tuple[TrueMark, ...]]:
    """Drive and write the job, and its marks with along counted as the roads are laid."""
    roads = [main, main, main, main, side]
    driven = [
        drive(spec, road, things, seed=(seed, i))
        for i, (spec, road) in enumerate(zip(specs, roads, strict=True))
    ]
    zero_m, _ = zero_and_end_m(main, driven[0])
    ties = plan_ties(main, zero_m=zero_m, start_ft=1000.0, seed=(seed,))
    files = {
        "job.toml": job_toml(
            {**JOB, "revision": "B"},
            {**INPUTS, "marks": [WALK], "streets": ["lines/streets.geojson"], **inputs},
            legs(main, side, ties),
            ("[[machine]]", MACHINE),
            ("[haul]", HAUL),
            ("[briefing]", BRIEFING),
        ),
        WALK: station_list(things, seed=(seed,)),
        "lines/streets.geojson": streets(main, side),
        "records/city-covers.geojson": to_geojson(
            [*records({"A": main, "B": side}, things, seed=(seed,), sd_m=1.0), *far_covers(main)]
        ),
        **{one.spec.file: to_gpx(one) for one in driven},
    }
    marks = tuple(mark for one in driven for mark in one.marks)
    return Made(files=files, truth=_truth(main, side, things, driven)), marks


def _truth(main: Road, side: Road, things: tuple[Thing, ...], driven: Sequence[Drive]) -> Truth:
    zero_m, end_m = zero_and_end_m(main, driven[0])
    truth = Truth(
        lines={
            "A": true_line(main, from_m=zero_m, to_m=end_m, step_m=2.0),
            "B": true_line(side, from_m=0.0, to_m=side.length_m, step_m=2.0),
        },
        things=things,
        marks=tuple(mark for one in driven for mark in one.marks),
        people={one.spec.file: one.spec.person for one in driven},
    )
    leg_of = {one.spec.file: "A" if one.spec.file.startswith("drives/a") else "B" for one in driven}
    return count_from(truth, {"A": zero_m, "B": 0.0}, leg_of)


def demo_files() -> dict[str, bytes]:
    """All files of ``data/demo`` by name relative to it."""
    made = demo()
    return {
        "README.md": README.encode(),
        "truth/truth.json": truth_json(made.truth),
        **{f"job/{name}": content for name, content in made.files.items()},
    }


def main() -> None:
    """Write ``data/demo`` anew and say what was written."""
    folder = Path(__file__).resolve().parent / "demo"
    for name, content in sorted(demo_files().items()):
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
        print(f"{len(content):>9,} {name}")


if __name__ == "__main__":
    main()
