"""An invented pack with all that is known of lines and drives: ties, curves, looks, what is odd."""

import datetime as dt
from dataclasses import replace

import numpy as np
from maps.example_pack import KINDS
from sheets.made_packs import NAN, leg, pack, thing
from strategies import alignment_of

from routeprep import tables
from routeprep.designed import designed_line
from routeprep.lines import StationEquation, Stationing, Tie
from routeprep.roadform import Curve, Grade, SightSpot
from routeprep.shapes import DriveFacts, Finding, Leg, Pack, Source
from routeprep.units import STATION_UNITS, to_m

BEGIN = dt.datetime(2026, 5, 28, 13, 12, 4, tzinfo=dt.UTC)


def tie(along_ft: float, station: str, **changes: object) -> Tie:
    """A plan tie, the first of its leg unless ``changes`` say how far it is off."""
    values = {
        "along_m": to_m(along_ft, "ft"),
        "station": station,
        "kind": "plan",
        "by": "plan paint at the culvert, J. Doe",
        "residual_m": NAN,
        "stretch_share": NAN,
        "forced_by": "",
    }
    return Tie(**(values | changes))  # type: ignore[arg-type]


def curve(from_ft: float, to_ft: float, **changes: object) -> Curve:
    """A curve to the right as a path driven shows it."""
    values = {
        "from_m": to_m(from_ft, "ft"),
        "to_m": to_m(to_ft, "ft"),
        "radius_m": to_m(716.2, "ft"),
        "direction": "right",
        "deflection_deg": 20.06,
        "radius_sd_m": to_m(30.0, "ft"),
        "from_sd_m": to_m(8.0, "ft"),
        "to_sd_m": to_m(9.0, "ft"),
        "deflection_sd_deg": 0.41,
    }
    return Curve(**(values | changes))  # type: ignore[arg-type]


def tied_leg() -> Leg:
    """A path driven with ties, an equation, mile markers, curves, grades and a place to look at."""
    road = leg("A")
    stationing = Stationing(
        unit=road.stationing.unit,
        zero="",
        known_m=(to_m(200.0, "ft"), to_m(1200.0, "ft"), to_m(2200.0, "ft")),
        known_value=(1200.0, 2203.2, 3203.2),
        equations=(StationEquation(back_value=2543.2, ahead_value=2500.0),),
        length_m=road.line.length_m,
    )
    spot = SightSpot(
        from_m=to_m(700.0, "ft"), to_m=to_m(900.0, "ft"), travel=1, side="right",
        available_m=to_m(212.0, "ft"), needed_m=to_m(246.2, "ft"), grade_share=-0.06, curve=0,
    )  # fmt: skip
    return replace(
        road,
        line=replace(road.line, sd_m=np.array([0.8, 1.4]), made_from="path driven"),
        stationing=stationing,
        ties=(
            tie(200.0, "12+00"),
            tie(1200.0, "22+03.2", residual_m=to_m(3.2, "ft"), stretch_share=0.0032, kind="paint"),
            tie(2200.0, "32+03.2", residual_m=to_m(-0.4, "ft"), stretch_share=-0.0004,
                kind="wheel", by="bridge joint, wheeled by R. Roe", forced_by="J. Doe"),
        ),
        markers=((to_m(350.0, "ft"), 14.0), (to_m(3000.0, "ft"), 14.5)),
        curves=(
            curve(650.0, 900.0),
            curve(1500.0, 1600.0, radius_m=20.0, radius_sd_m=15.0, direction="left"),
            curve(3000.0, 3280.0, to_sd_m=NAN),
        ),
        grades=(
            Grade(from_m=0.0, to_m=300.0, grade_share=-0.0604, grade_sd_share=0.0011),
            Grade(from_m=300.0, to_m=1000.0, grade_share=0.0001, grade_sd_share=0.0011),
        ),
        sight=(spot, replace(spot, travel=-1, side="left", grade_share=0.0, curve=-1)),
    )  # fmt: skip


def designed_leg() -> Leg:
    """A designed alignment in US survey feet with a curve between spirals."""
    radius_m = to_m(1000.0, "ftUS")
    alignment = alignment_of(
        (100.0, 0.0, 0.0), (60.0, 0.0, 1 / radius_m), (150.0, 1 / radius_m, 1 / radius_m),
        (60.0, 1 / radius_m, 0.0), (130.0, 0.0, 0.0), unit="ftUS",
    )  # fmt: skip
    road = leg("C", unit=STATION_UNITS["100 ftUS"])
    line, _ = designed_line(alignment, leg=road.settings, elevation_m=360.0, datum_operation="")
    bend = Curve(
        from_m=160.0, to_m=310.0, radius_m=radius_m, direction="right", deflection_deg=28.1935,
        spiral_in_m=60.0, spiral_out_m=60.0,
    )  # fmt: skip
    grade = Grade(from_m=0.0, to_m=line.length_m, grade_share=0.0215)
    return replace(road, line=line, to_m=line.length_m, curves=(bend,), grades=(grade,))


def coverage() -> list[dict[str, object]]:
    """Looks at the stretches of two legs."""
    twice = {"looks_up": 1, "looks_down": 1, "looks_day": 2, "looks_night": 0}
    once = {"looks_up": 1, "looks_down": 0, "looks_day": 0, "looks_night": 1}
    never = dict.fromkeys(twice, 0)
    return [
        {"leg": "A", "from_m": 0.0, "to_m": 200.0, "lanes": "L1 1, R1 1", "fastest_mps": 13.4,
         "worst_sd_m": 2.0} | twice,
        {"leg": "A", "from_m": 200.0, "to_m": 350.0, "lanes": "R lane not told 1",
         "fastest_mps": 13.4, "worst_sd_m": 4.0, "reason": "driven once; only at night"} | once,
        {"leg": "A", "from_m": 350.0, "to_m": 1000.0, "reason": "not driven"} | never,
        {"leg": "B", "from_m": 0.0, "to_m": 50.0, "lanes": "R1 1", "reason": "driven once; parked "
         "cars hid it on the right (said by J. Doe)"} | once,
        {"leg": "B", "from_m": 50.0, "to_m": 200.0, "lanes": "L1 1, R1 1"} | twice,
    ]  # fmt: skip


def drives() -> tuple[DriveFacts, ...]:
    """A drive of three miles and a walk without times."""
    first = DriveFacts(
        drive_id="d1", fixes=812, begin_utc=BEGIN, end_utc=BEGIN + dt.timedelta(seconds=449),
        length_m=to_m(3.0, "mi"), stood_s=27.0, accuracy_m=4.9, sd_m=1.6, gaps=1,
        name="drives/one.gpx: morning", by="J. Doe",
    )  # fmt: skip
    walk = replace(
        first, drive_id="d2", begin_utc=None, end_utc=None, length_m=120.0, accuracy_m=NAN, gaps=0,
        name="drives/two.gpx", by="",
    )  # fmt: skip
    return first, walk


def surveyed_pack(**changes: object) -> Pack:
    """A pack with something in every table of its back pages."""
    made = pack(
        [thing("A-1", 90.0, size="24 in"), thing("A-2", 460.0, doubt="lane not sure")],
        legs=(tied_leg(), leg("B", length_m=200.0, zero="Elm St north curb"), designed_leg()),
    )
    sha = "0123456789abcdef" * 4
    values = {
        "settings": replace(made.settings, kinds=KINDS),
        "coverage": tables.table(tables.COVERAGE, coverage()),
        "drives": drives(),
        "sources": (
            *made.sources,
            Source(name="drives/bad.gpx", what="set aside", sha256=sha, taken={}, skipped={}),
            Source(name="drives/two.gpx", what="drive", sha256=sha, taken={"fixes": 60},
                   skipped={}),
            Source(name="lines/c.xml", what="centerline", sha256=sha, taken={"alignments": 1},
                   skipped={}),
            *(
                Source(name=f"photos/{no}.jpg", what="photo", sha256=sha, taken={"photos": 1},
                       skipped={"positions that cannot be used": 1})
                for no in (1, 2)
            ),
        ),
        "findings": (
            *made.findings,
            Finding(level="doubt", where="drives/bad.gpx", text="is set aside by the job ([inputs] "
                    "set_aside) and is not read"),
            Finding(level="note", where="drives/one.gpx: morning", text="1 breaks in the fixes"),
            Finding(level="note", where="photos/1.jpg and 1 more photos", text="the clock is off"),
            Finding(level="doubt", where="photos", text="photos that belong to nothing yet: 1"),
            Finding(level="note", where="leg A", text="ground length at the elevation given"),
            Finding(level="doubt", where="decision 3 (x)", text="hangs on nothing"),
            Finding(level="fault", where="", text="an invented fault of the whole job"),
        ),
    }  # fmt: skip
    return replace(made, **(values | changes))  # type: ignore[arg-type]
