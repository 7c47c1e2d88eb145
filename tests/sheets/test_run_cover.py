"""The first page of the run sheets: the passes in order, what the work amounts to, ramps."""

import math
from dataclasses import replace

import pytest
from sheets.made_packs import NAN
from sheets.made_plans import HAND, RAMPS, amount, machine, plan, planned, run

from routeprep.plans import Plan
from routeprep.sheets.run_cover import NO_MACHINE, run_cover, total_of


def cover(units="us", **changes):
    """The first page of a plan."""
    return run_cover(planned(plan(**changes), units=units))


def test_passes_stand_in_the_order_of_work():
    """Whatever order the plan lists them in."""
    passes = plan().passes
    rows = cover(passes=passes[::-1])["passes"]

    assert [row[0] for row in rows] == ["1", "2", "3"]
    assert rows[0] == [
        "1", "INSIDE HALF, pass A R1", "Invented Road A", "10+00 → 42+81",
        "stations count up, read the box first",
    ]  # fmt: skip
    assert rows[1][3:] == ["42+81 → 10+00", "stations count down, AGAINST TRAFFIC"]


def test_of_several_machines_each_pass_says_which():
    """In echelon."""
    rows = cover(machines=(machine(), machine("Small One")))["passes"]

    assert [row[3] for row in rows] == ["Big One"] * 3


def test_what_it_amounts_to_stands_by_leg_and_in_all():
    """A published example (trade handbooks) on each of two legs: 1,548.8 tons, 3,097.6 in all."""
    rows = cover()["quantities"]

    assert [row[:4] for row in rows] == [
        ["A", "14,080 yd²", "782.2 yd³", "1,548.8 tons"],
        ["B", "14,080 yd²", "782.2 yd³", "1,548.8 tons"],
        ["ALL", "28,160 yd²", "1,564.4 yd³", "3,097.6 tons"],
    ]
    assert rows[2][4:6] == ["140.8", "128.5"]


def test_hand_work_stands_beside_the_leg():
    """8.4 + 41.8 m2 are 540 ft2; 60 m2 are 646 ft2."""
    assert [row[-1] for row in cover()["quantities"]] == ["540 ft²", "646 ft²", "1,186 ft²"]


def test_a_leg_alone_has_no_total_beside_it():
    """It would be the same again."""
    rows = cover(quantities=(amount(), amount("A R1")))["quantities"]

    assert [row[0] for row in rows] == ["A"]


def test_parts_of_a_leg_are_added():
    """Two station ranges of one leg."""
    rows = cover(quantities=(amount(from_m=0.0, to_m=10.0), amount(from_m=10.0, to_m=20.0)))

    assert rows["quantities"][0][3] == "3,097.6 tons"


def test_what_is_not_known_of_a_part_is_not_known_of_the_whole():
    """A truck that is not given, and the range from the first to the last."""
    whole = total_of([amount(from_m=5.0), amount(loads_by_weight=NAN)])

    assert math.isnan(whole.loads_by_weight)
    assert whole.from_m == 0.0
    assert whole.area_m2 == pytest.approx(2 * amount().area_m2)


def test_ramps_are_listed_with_their_slope():
    """8 ft for 2 in is 48:1 (Louisiana section 509)."""
    assert cover()["ramps"][0] == ["A", "10+00", "right lane", "2 in", "8 ft", "48:1"]
    assert cover(ramps=(replace(RAMPS[0], depth_m=0.0),))["ramps"][0][-1] == "slope not known"


def test_machines_and_flags_are_said():
    """Drum and overlap; and what is to be read of the whole plan."""
    made = cover()

    assert made["machines"] == ["Big One: drum 7.25 ft, overlap 0.25 ft"]
    assert made["flags"] == ["leg A: passes are in order from the line outward"]


def test_without_a_machine_it_says_so():
    """And has nothing else."""
    made = run_cover(planned(Plan()))

    assert made["nothing"] == NO_MACHINE
    assert [made[name] for name in ("passes", "quantities", "ramps", "machines")] == [[]] * 4
    assert cover(passes=(run(),), hand_work=HAND)["nothing"] == ""
