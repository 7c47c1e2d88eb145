"""Invented plans of work, made by hand, for the tests of what prints and writes them."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from maps.example_pack import KINDS
from sheets.made_packs import NAN, UNDECIDED, leg, pack, thing

from routeprep.plans import HandWork, Meeting, Pass, Plan, Quantity, Ramp, Strip
from routeprep.roadway import Machine
from routeprep.shapes import Pack
from routeprep.streets import Landmark
from routeprep.units import to_m

FT = to_m(1.0, "ft")
IN = to_m(1.0, "in")


def machine(name: str = "Big One", **changes: object) -> Machine:
    """A half-lane machine of 7.25 ft."""
    values = {
        "name": name,
        "drum_m": 7.25 * FT,
        "overlap_m": 0.25 * FT,
        "drum_diameter_m": 1.0,
        "flush_side": "right",
        "ahead_m": 65.0 * FT,
        "behind_m": 30.0 * FT,
        "moldboard_m": 2.0,
    }
    return Machine(**(values | changes))  # type: ignore[arg-type]


def strip(code: str = "A", name: str = "right lane", **changes: object) -> Strip:
    """Twelve feet right of the line, 2 in deep, all of a leg of 1000 m."""
    at_m = np.array([0.0, 1000.0])
    values = {
        "leg": code,
        "name": name,
        "along_m": at_m,
        "left_m": np.zeros(2),
        "right_m": np.full(2, 12.0 * FT),
        "depth_left_m": np.full(2, 2.0 * IN),
        "depth_right_m": np.full(2, 2.0 * IN),
        "curb_left": False,
        "curb_right": True,
        "traffic": 1,
    }
    return Strip(**(values | changes))  # type: ignore[arg-type]


def run(code: str = "A R1", order: int = 1, **changes: object) -> Pass:
    """The pass along the line, up-station: 0 to 7.25 ft, 2 in deep."""
    at_m = np.array([0.0, 1000.0])
    values = {
        "code": code,
        "order": order,
        "leg": code.partition(" ")[0],
        "strip": "right lane",
        "machine": "Big One",
        "half": "inside half",
        "travel": 1,
        "against": False,
        "along_m": at_m,
        "left_m": np.zeros(2),
        "right_m": np.full(2, 7.25 * FT),
        "depth_left_m": np.full(2, 2.0 * IN),
        "depth_right_m": np.full(2, 1.5 * IN),
        "flags": (),
    }
    return Pass(**(values | changes))  # type: ignore[arg-type]


def reverse(one: Pass) -> Pass:
    """The same pass run the other way."""
    return replace(one, travel=-one.travel)


def meeting(no: str, along_m: float, code: str = "A R1", **changes: object) -> Meeting:
    """A thing under the drum, 2 ft from its left edge, to be lifted over at the paint."""
    values = {
        "pass_code": code,
        "anchor_id": f"anchor {no}",
        "along_m": along_m,
        "touch": "cut",
        "from_left_m": 2.0 * FT,
        "from_right_m": 5.25 * FT,
        "action": "LIFT",
        "lift_from_m": along_m - 3.0,
        "lift_to_m": along_m + 4.0,
        "exact": False,
        "joined": "",
    }
    return Meeting(**(values | changes))  # type: ignore[arg-type]


def amount(what: str = "leg", code: str = "A", **changes: object) -> Quantity:
    """What 24 ft by a mile by 2 in comes to at 110 lb a square yard and inch.

    1,548.8 short tons, 14,080 yd2 (trade handbooks' example); 782.2 yd3.
    """
    area_m2 = 24.0 * FT * 5280.0 * FT
    mass_kg = 1548.8 * 907.18474
    values = {
        "leg": code,
        "what": what,
        "from_m": 0.0,
        "to_m": 5280.0 * FT,
        "area_m2": area_m2,
        "volume_m3": area_m2 * 2.0 * IN,
        "mass_kg": mass_kg,
        "loose_m3": mass_kg / 1425.7,
        "loads_by_weight": 70.4,
        "loads_by_volume": 64.25,
    }
    return Quantity(**(values | changes))  # type: ignore[arg-type]


NOT_LIFTED = {"lift_from_m": NAN, "lift_to_m": NAN}
SURE = {"method": "taped", "along_sd_m": 0.1, "offset_sd_m": 0.1}

THINGS = (
    thing("A-1", 20.0),
    thing("A-2", 60.0, **UNDECIDED, proposed="GO AROUND"),
    thing("A-3", 120.0, name="steel plate", size="", action="STOP", who="call the plate's owner"),
    thing("A-4", 200.0, **SURE, name="WATER valve", size="8 in"),
    thing("A-5", 320.0, doubt="lane not sure", lane="", across="", name="GAS valve"),
    thing("A-6", 330.0, name="GAS valve", across="between wheel paths"),
    thing("A-7", 500.0, **SURE, across="inner wheel path"),
    thing("A-8", 640.0, name="wire", kind="WIRE", size="", across="whole road", lane="",
          action="SLOW", height_m=4.7, height_by="posted"),
    thing("A-9", 700.0, status="lowered 4 in (J. Doe, 2026-05-30)", action="MILL OVER"),
    thing("A-10", 800.0, from_m=790.0, to_m=815.0, name="patch", kind="HUMP", size="",
          action="SKIP"),
    thing("A-11", 850.0, status="lowered 1 in (J. Doe, 2026-05-30)", action="STOP"),
    thing("B-1", 30.0, across="on the line"),
)  # fmt: skip

MET = (
    meeting("A-1", 20.0),
    meeting("A-2", 60.0, action="NOT DECIDED: STOP", **NOT_LIFTED),
    meeting("A-3", 120.0, action="STOP", **NOT_LIFTED),
    meeting("A-4", 200.0, exact=True),
    meeting("A-5", 320.0, touch="maybe", joined="anchor A-5", lift_from_m=316.0, lift_to_m=335.0),
    meeting("A-6", 330.0, joined="anchor A-5", lift_from_m=316.0, lift_to_m=335.0),
    meeting("A-7", 500.0, touch="side", from_left_m=-1.0 * FT, from_right_m=8.25 * FT,
            action="SIDE PLATE / SKI", **NOT_LIFTED),
    meeting("A-8", 640.0, touch="over", from_left_m=NAN, from_right_m=NAN, action="SLOW",
            **NOT_LIFTED),
    meeting("A-9", 700.0, action="MILL OVER", **NOT_LIFTED),
    meeting("A-10", 800.0, from_left_m=NAN, from_right_m=NAN, action="SKIP", lift_from_m=787.0,
            lift_to_m=819.0),
    meeting("A-11", 850.0, action="STOP", **NOT_LIFTED),
)  # fmt: skip

LANDMARKS = (
    Landmark(name="Elm St", along_m=300.0, side="", source="streets.osm"),
    Landmark(name="Oak Ct", along_m=600.0, side="L", source="streets.osm"),
)

RAMPS = (
    Ramp(leg="A", strip="right lane", along_m=0.0, depth_m=2.0 * IN, length_m=8.0 * FT, text="r"),
    Ramp(leg="A", strip="right lane", along_m=1000.0, depth_m=2.0 * IN, length_m=8.0 * FT,
         text="r"),
)  # fmt: skip

HAND = (
    HandWork(leg="A", from_m=17.0, to_m=24.0, left_m=0.3, right_m=1.5, area_m2=8.4,
             who="hand-work crew", why="around what is lifted over", anchor_ids=("anchor A-1",)),
    HandWork(leg="A", from_m=316.0, to_m=335.0, left_m=-1.0, right_m=1.2, area_m2=41.8,
             who="small machine", why="one lift", anchor_ids=("anchor A-5", "anchor A-6")),
    HandWork(leg="B", from_m=0.0, to_m=100.0, left_m=-3.6, right_m=-3.0, area_m2=60.0,
             who="", why="along the curb", anchor_ids=()),
)  # fmt: skip


def plan(**changes: object) -> Plan:
    """One machine, a pass up, one down, one against traffic, and some of everything else."""
    outer = {"left_m": np.full(2, 7.0 * FT), "right_m": np.full(2, 12.0 * FT)}
    values = {
        "machines": (machine(),),
        "strips": (strip(), strip("B", "left lane", along_m=np.array([0.0, 200.0]))),
        "passes": (
            run(flags=("the curb is on the operator's right and the drum is flush on its left",)),
            run("A R2", 2, half="outside half", against=True, travel=-1, **outer),
            run("B L1", 1, half="whole width", travel=-1, along_m=np.array([0.0, 200.0]),
                strip="left lane", left_m=np.full(2, -12.0 * FT), right_m=np.zeros(2)),
        ),
        "meetings": (
            *MET,
            *(replace(one, pass_code="A R2") for one in MET[:4]),  # noqa: S106
            meeting("B-1", 30.0, "B L1"),
        ),
        "ramps": RAMPS,
        "hand_work": HAND,
        "quantities": (
            amount(), amount("right lane"), amount("A R1"), amount("hand work", area_m2=50.2),
            amount("hand work", "B", area_m2=60.0),
            amount(code="B"),
        ),
        "flags": ("leg A: passes are in order from the line outward",),
    }  # fmt: skip
    return Plan(**(values | changes))  # type: ignore[arg-type]


def planned(
    made: Plan | None = None, *, things: Sequence[dict[str, object]] = THINGS, **changes: object
) -> Pack:
    """A pack with a plan of work."""
    legs = (
        replace(leg("A"), landmarks=LANDMARKS),
        leg("B", length_m=200.0, zero="Elm St north curb"),
    )
    one = pack(things, **({"legs": legs, "withdrawn": ()} | changes))  # type: ignore[arg-type]
    settings = replace(one.settings, kinds=KINDS)
    return replace(one, plan=plan() if made is None else made, settings=settings)
