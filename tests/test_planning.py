"""The plan of work of a job put together, and what must be read before it is used."""

import itertools
import math
import time
from dataclasses import replace

import numpy as np
import pytest
from builders import settings
from made_meetings import INCH_M, ft, listed, thing
from made_work import leg, machine, part, section
from strategies import line_from_xy

from routeprep.planning import plan_of
from routeprep.plans import Plan
from routeprep.roadway import Haul

LANE = part("lane", ft(12))
ROAD = section(left=(LANE,), right=(LANE,), edge_left="shoulder", edge_right="shoulder")
MACHINE = machine(drum_diameter_m=40 * INCH_M)
HAUL = Haul(density_kgpm3=2400.0, loose_kgpm3=1500.0, payload_kg=20_000.0, body_m3=12.0,
            ramp_slope=48.0)  # fmt: skip


def plan(*rows, legs=None, **changes):
    """The plan of a job of one leg of 1,000 m from 10+00, 2 in deep."""
    legs = legs or (leg(ROAD, from_m=50.0, to_m=900.0),)
    usual = {"machines": (MACHINE,), "haul": HAUL}
    return plan_of(legs, listed(*rows), settings(*[one.settings for one in legs],
                                                 **(usual | changes)))  # fmt: skip


def flags(*rows, about="", **changes):
    """Its sentences that have some words."""
    return [text for text in plan(*rows, **changes).flags if about in text]


def test_without_machines_the_plan_is_empty() -> None:
    """Nothing is laid out that nobody can run."""
    got = plan(thing(100.0, 1.0), machines=())

    assert [getattr(got, name) for name in ("passes", "strips", "meetings", "flags")] == [()] * 4
    assert isinstance(got, Plan)


def test_all_parts_are_put_together_leg_by_leg() -> None:
    """Two legs, each with its own things, ramps, hand work and quantities."""
    legs = (leg(ROAD, to_m=900.0), leg(ROAD, code="B", to_m=500.0))
    got = plan(thing(100.0, 1.1), thing(200.0, 1.1, leg="B", anchor_id="b"), legs=legs)

    assert [one.code for one in got.passes] == [
        f"{code} {name}" for code in "AB" for name in ("R1", "R2", "L1", "L2")]  # fmt: skip
    assert [(one.pass_code, one.anchor_id) for one in got.meetings] == [
        ("A R1", "MH 100"), ("A R2", "MH 100"), ("B R1", "b"), ("B R2", "b")]  # fmt: skip
    assert [one.leg for one in got.hand_work] == ["A", "B"]
    whole = [(one.leg, one.area_m2) for one in got.quantities if one.what == "leg"]
    assert whole == [
        ("A", pytest.approx(900.0 * ft(24))), ("B", pytest.approx(500.0 * ft(24)))]  # fmt: skip
    assert {one.leg for one in got.ramps} == {"A", "B"}


def test_the_same_job_gives_the_same_plan() -> None:
    """Also when the list comes in another order."""
    rows = [thing(100.0, 1.0), thing(103.0, 1.8, kind="WV"), thing(300.0, 0.0, kind="DECK")]
    one, two = plan(*rows), plan(*rows[::-1])

    for name in ("meetings", "hand_work", "quantities", "ramps"):
        assert str(getattr(one, name)) == str(getattr(two, name))
    assert sorted(one.flags) == sorted(two.flags)


def test_things_in_no_pass_are_counted_and_named() -> None:
    """With their places; what is gone needs none."""
    rows = [thing(100.0, 1.0), thing(ft(200), ft(-30), no="A-7"),
            thing(300.0, 12.0, status="gone (Ann Ek, 2026-05-20)")]  # fmt: skip

    (said,) = flags(*rows, about="outside every pass")

    assert said == "leg A: 1 of 3 things lie outside every pass: A-7 manhole at 12+00, 30 ft left"


def test_things_nobody_decided_are_named() -> None:
    """They read stop, and what is left around them is reckoned nowhere."""
    (said,) = flags(thing(100.0, 1.0, no="A-2", decided_by=""), thing(200.0, 1.0),
                    about="NOT DECIDED")  # fmt: skip

    assert said.startswith("leg A: 1 of 2 things that the passes meet read NOT DECIDED: STOP")
    assert said.endswith(": A-2 manhole")


def test_a_mill_over_that_is_not_followed_is_said() -> None:
    """A section is deeper than the leg: lowered 3 in is enough for 2 in, not for 3 in."""
    deep = replace(LANE, depth_in_m=3 * INCH_M, depth_out_m=3 * INCH_M)
    road = leg(section(right=(deep,), edge_right="shoulder"))
    row = thing(100.0, 1.0, no="A-5", status="lowered 3 in (Ann Ek)", action="MILL OVER")
    (said,) = flags(row, legs=(road,), about="MILL OVER")

    assert "A-5 manhole: MILL OVER was decided" in said
    assert "'lowered 3 in (Ann Ek)'" in said
    assert flags(row, about="MILL OVER") == []


def test_stops_and_ways_around_under_the_drum_are_named() -> None:
    """What they leave nobody can reckon; over the road they leave nothing."""
    rows = [thing(100.0, 1.0, no="A-1", kind="GASV", action="STOP"),
            thing(200.0, 1.0, no="A-2", kind="WIRE", action="STOP")]  # fmt: skip
    (said,) = flags(*rows, about="otherwise than by a lift")

    assert said.endswith("left around them: A-1 GAS VALVE (STOP)")


def test_a_skip_that_is_not_followed_is_said() -> None:
    """No stations, or those of another place."""
    rows = [thing(ft(200), 1.0, no="A-1", action="SKIP the deck"),
            thing(ft(400), 1.0, no="A-2", action="SKIP 22+00 to 23+00"),
            thing(ft(600), 1.0, no="A-3", action="SKIP 15+50 to 16+50")]  # fmt: skip
    first, second = flags(*rows, about="is not followed")

    assert "A-1 manhole: 'SKIP the deck' is not followed, 'the deck' is not a station" in first
    assert "A-2 manhole: 'SKIP 22+00 to 23+00' is not followed, the thing lies at 14+00" in second


def test_castings_of_no_known_size_are_named() -> None:
    """In the passes alone; a patch needs none."""
    rows = [thing(100.0, 1.0, no="A-1", size=""), thing(200.0, 1.0, kind="PATCH", size=""),
            thing(300.0, 40.0, size=""), thing(400.0, 1.0)]  # fmt: skip

    assert flags(*rows, about="no size") == [
        "leg A: 1 castings have no size and are taken to be 24 in (0.61 m) wide: A-1 manhole"
    ]


def test_strips_along_a_curb_are_named() -> None:
    """What no drum reaches in a corner is in no area."""
    both = (leg(section(left=(LANE,), right=(LANE,), edge_left="curb", edge_right="curb")),)
    one = (leg(section(left=(LANE,), right=(LANE,), edge_left="curb", edge_right="shoulder")),)

    assert "right lane, left lane run along a curb" in flags(legs=both, about="radius")[0]
    assert "left lane runs along a curb" in flags(legs=one, about="radius")[0]
    assert flags(about="radius") == []


@pytest.mark.parametrize(
    ("changes", "about"),
    [
        ({"machines": (replace(MACHINE, drum_diameter_m=math.nan),)}, "drum's diameter"),
        ({"machines": (replace(MACHINE, moldboard_m=math.nan),)}, "moldboard is not given"),
        ({"haul": replace(HAUL, density_kgpm3=2349.4)}, "in the road is taken as the usual 2,349"),
        ({"haul": replace(HAUL, loose_kgpm3=1425.7)}, "in the truck is taken as the usual 1,426"),
        ({"haul": replace(HAUL, payload_kg=math.nan)}, "no loads by weight"),
        ({"haul": replace(HAUL, body_m3=math.nan)}, "no loads by volume"),
        ({"haul": replace(HAUL, ramp_slope=math.nan)}, "no ramp_slope"),
        ({"machines": (replace(MACHINE, ahead_m=math.nan),)}, "ahead of the drum is not given"),
        ({"legs": (leg(),)}, "no section says"),
        ({"legs": (leg(section(right=(part("lane", 1.0),), edge_right="curb")),)},
         "A R1: the drum is"),
    ],
)  # fmt: skip
def test_what_is_not_known_is_said(changes, about) -> None:
    """Once, and not where it is known."""
    assert len(flags(about=about, **changes)) == 1
    assert flags(about=about) == []


def big_job():
    """Ten legs of ten lanes that wind, 180 passes and 2,000 things."""
    rng = np.random.default_rng(7)
    t = np.linspace(0.0, 1.0, 300)
    line = line_from_xy(np.column_stack([200 * np.sin(4 * t), 3000 * t]))
    half = (LANE,) * 5
    road = section(left=half, right=half, edge_left="curb", edge_right="curb")
    legs = [leg(road, line=line, code=f"L{number}") for number in range(10)]
    kinds = ["MH", "WV", "CB", "WIRE", "DCH", "PATCH", "SIG"]
    rows = [
        thing(float(rng.uniform(0, 3000)), float(rng.uniform(-18, 18)), kind=str(rng.choice(kinds)),
              leg=f"L{number % 10}", along_sd_m=3.0, offset_sd_m=0.55, method="vehicle",
              anchor_id=f"{number:04d}")
        for number in range(2000)
    ]  # fmt: skip
    return legs, rows


def test_a_big_job_is_quick() -> None:
    """180 passes by 2,000 things, measured 1.5 s of processor time; the limit allows for load."""
    legs, rows = big_job()
    table, said = listed(*rows), settings(*[one.settings for one in legs], machines=(MACHINE,))
    begin_s = time.process_time()
    got = plan_of(legs, table, said)
    took_s = time.process_time() - begin_s

    assert len(got.passes) == 180
    assert took_s < 4.0
    keys = [(one.pass_code, one.anchor_id) for one in got.meetings]
    assert len(set(keys)) == len(keys)
    assert {anchor_id for _, anchor_id in keys} == {row["anchor_id"] for row in rows} - outside(got)


def outside(got):
    """Ids of things that the plan says lie in no pass, by their numbers."""
    texts = [text.partition(": ")[2] for text in got.flags if "outside every pass" in text]
    named = itertools.chain.from_iterable(text.partition(": ")[2].split("; ") for text in texts)
    return {text.removeprefix("A-")[:4] for text in named}
