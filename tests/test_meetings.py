"""What passes meet: once each, in the order met, with what to do and where the drum is out."""

import itertools
import math
from collections import Counter

import pytest
from builders import KINDS
from hypothesis import given
from hypothesis import strategies as st
from made_meetings import (
    INCH_M,
    MACHINE,
    ft,
    listed,
    meet,
    reversed_run,
    run,
    runs,
    some_things,
    thing,
)
from made_work import leg, machine

from routeprep.deciding import NOT_DECIDED
from routeprep.meetings import SIDE_PLATE
from routeprep.shapes import Defaults
from routeprep.touching import touched_by, where_of
from routeprep.whereabouts import things_of

USUAL = run(0.0, 2.0)
DOWN = run(0.0, 2.0, travel=-1)
BLADE = machine(drum_diameter_m=40 * INCH_M, moldboard_m=ft(4))


def test_things_stand_in_the_order_met() -> None:
    """A long thing is met at the end that the drum comes to."""
    rows = [thing(50.0, 1.0), thing(40.0, 1.0, reach_m=30.0), thing(60.0, 1.0)]

    assert [one.along_m for one in meet(USUAL, *rows)] == [40.0, 50.0, 60.0]
    assert [one.along_m for one in meet(DOWN, *rows)] == [40.0, 60.0, 50.0]


def test_the_drum_is_out_from_before_to_behind_as_it_comes() -> None:
    """A manhole: 3 ft before, 5 ft behind, looking the way the pass is run."""
    (up,), (down,) = meet(USUAL, thing(100.0, 1.0)), meet(DOWN, thing(100.0, 1.0))

    assert (up.lift_from_m, up.lift_to_m) == pytest.approx((100.0 - ft(3), 100.0 + ft(5)))
    assert (down.lift_from_m, down.lift_to_m) == pytest.approx((100.0 - ft(5), 100.0 + ft(3)))


def test_the_drums_contact_is_added_both_ways() -> None:
    """A 40 in drum 4 in deep: 12 in (the 12-16-20 triangle), on a reach of 10 m."""
    (got,) = meet(run(0.0, 2.0, depth_m=4 * INCH_M), thing(100.0, 1.0, reach_m=10.0),
                  machines=(BLADE,))  # fmt: skip

    assert got.lift_from_m == pytest.approx(100.0 - ft(4))
    assert got.lift_to_m == pytest.approx(110.0 + ft(6))


def test_a_moldboard_farther_back_than_the_clearance_counts() -> None:
    """8 ft behind the drum."""
    (got,) = meet(USUAL, thing(100.0, 1.0), machines=(machine(drum_diameter_m=math.nan,
                                                              moldboard_m=ft(8)),))  # fmt: skip

    assert got.lift_to_m == pytest.approx(100.0 + ft(8))


def test_feet_are_from_the_drums_edges_and_inside_is_positive() -> None:
    """Looking up-station, whichever way the pass is run; NaN for what spans or is not sure."""
    rows = [thing(100.0, 0.5), thing(200.0, 2.1),
            thing(300.0, 1.0, doubt="lane not sure"), thing(400.0, 1.0, kind="WIRE")]  # fmt: skip
    got = meet(USUAL, *rows)

    assert [(one.from_left_m, one.from_right_m) for one in got[:2]] == [
        pytest.approx((0.5, 1.5)), pytest.approx((2.1, -0.1))]  # fmt: skip
    assert all(math.isnan(one.from_left_m + one.from_right_m) for one in got[2:])


@pytest.mark.parametrize(
    ("kind", "action", "beside"),
    [
        ("MH", "LIFT", SIDE_PLATE),
        ("GASV", "STOP", "STOP"),
        ("WALL", "GO AROUND", "GO AROUND"),
        ("MH", "GONE", "GONE"),
    ],
)
def test_iron_beside_the_drum_is_for_the_side_plate(kind, action, beside) -> None:
    """No lift there; a stop stays a stop, and a wall is gone around."""
    (got,) = meet(USUAL, thing(100.0, 2.5, kind=kind, action=action))

    assert (got.touch, got.action) == ("side", beside)
    assert math.isnan(got.lift_from_m)


@pytest.mark.parametrize("offset_m", [1.0, 2.5])
def test_what_nobody_decided_reads_stop(offset_m) -> None:
    """Under the drum and beside it, whatever the row says; and no lift is made up."""
    (got,) = meet(USUAL, thing(100.0, offset_m, decided_by=""))

    assert got.action == NOT_DECIDED
    assert math.isnan(got.lift_from_m)


@pytest.mark.parametrize(
    ("status", "depths_in", "action"),
    [
        ("lowered 1 in (Ann Ek, 2026-05-20)", (2.0,), NOT_DECIDED),
        ("lowered 4 in (Ann Ek, 2026-05-20)", (2.0,), "MILL OVER"),
        ("lowered 3 in (Ann Ek, 2026-05-20)", (2.0,), "MILL OVER"),
        ("lowered 2.9 in (Ann Ek, 2026-05-20)", (2.0,), NOT_DECIDED),
        ("lowered 3 in (Ann Ek, 2026-05-20)", (2.0, 3.0), NOT_DECIDED),
        ("lowered 4 in (Ann Ek, 2026-05-20)", (math.nan,), NOT_DECIDED),
        ("walked (Ann Ek, 2026-05-20)", (2.0,), NOT_DECIDED),
    ],
)
def test_mill_over_needs_it_lower_than_the_deepest_cut_there(status, depths_in, action) -> None:
    """By an inch, in every pass that it may be in; issue: 1 in under a 2-in cut is STOP."""
    passes = [run(0.0, 2.0, depth_m=deep * INCH_M, code=f"A R{k}")
              for k, deep in enumerate(depths_in)]  # fmt: skip
    got = meet(passes, thing(100.0, 1.0, status=status, action="MILL OVER"))

    assert [one.action for one in got] == [action] * len(depths_in)


def test_lifts_nearer_than_the_join_distance_are_one() -> None:
    """25 ft: the first as the drum comes names it, and all say the whole stretch."""
    rows = [thing(100.0, 1.0), thing(100.0 + ft(24), 1.0), thing(100.0 + ft(50), 1.0)]
    up, down = meet(USUAL, *rows), meet(DOWN, *rows)

    assert [one.joined for one in up] == ["MH 100", "MH 100", ""]
    assert [one.joined for one in down] == ["", rows[1]["anchor_id"], rows[1]["anchor_id"]]
    whole = pytest.approx((100.0 - ft(3), 100.0 + ft(29)))
    assert [(one.lift_from_m, one.lift_to_m) for one in up[:2]] == [whole, whole]


def test_a_thing_beside_the_drum_joins_no_lift() -> None:
    """Nor does one that is not lifted over."""
    rows = [thing(100.0, 1.0), thing(102.0, 2.5), thing(104.0, 1.0, action="SLOW")]

    assert [one.joined for one in meet(USUAL, *rows)] == ["", "", ""]


def test_stations_of_a_joined_lift_are_printed_if_all_were_taped() -> None:
    """One that was seen from a vehicle makes the whole lift a matter of paint."""
    rows = [thing(100.0, 1.0), thing(104.0, 1.0, method="vehicle"), thing(300.0, 1.0)]

    assert [one.exact for one in meet(USUAL, *rows)] == [False, False, True]


def test_a_skip_keeps_the_drum_out_from_station_to_station() -> None:
    """And as far as the thing's own clearance, where that is more: 5 ft before a deck."""
    row = thing(ft(203), 1.0, kind="DECK", action="SKIP 12+00 to 13+00")
    (got,) = meet(USUAL, row)

    assert got.lift_from_m == pytest.approx(ft(198))
    assert got.lift_to_m == pytest.approx(ft(300))
    assert got.touch == "over"


def test_a_pass_of_each_machine_meets_a_thing_once() -> None:
    """Two in echelon that overlap there."""
    other = machine(name="two")
    passes = [USUAL, run(1.9, 3.9, code="A R2", order=2, machine="two")]
    got = meet(passes, thing(100.0, 1.95), machines=(MACHINE, other))

    assert [(one.pass_code, one.touch) for one in got] == [("A R1", "cut"), ("A R2", "cut")]


def test_a_leg_without_things_meets_nothing() -> None:
    """Those of another leg do not count."""
    assert meet(USUAL) == ()
    assert meet(USUAL, thing(100.0, 1.0, leg="B")) == ()


def test_the_side_plates_reach_is_a_default() -> None:
    """None at 0."""
    assert meet(USUAL, thing(100.0, 2.5), defaults=Defaults(side_plate_m=0.0)) == ()


@st.composite
def many_runs(draw):
    """Passes of a leg, each with its code."""
    return [draw(runs(code=f"A R{number}")) for number in range(1, draw(st.integers(1, 4)) + 1)]


@given(many_runs(), some_things())
def test_everything_is_in_every_pass_it_may_touch_once_and_in_the_order_met(passes, rows) -> None:
    """The law of the issue; what may be touched is held to polygons in ``test_touching``."""
    got = meet(passes, *rows)
    where = where_of(things_of(listed(*rows), leg(), KINDS, passes))
    by_id = {row["anchor_id"]: row for row in rows}
    counts = Counter((one.pass_code, one.anchor_id) for one in got)

    assert set(counts.values()) <= {1}
    for one in passes:
        mine = [by_id[met.anchor_id] for met in got if met.pass_code == one.code]
        may = touched_by(one, where, side_m=Defaults().side_plate_m).number
        assert {row["anchor_id"] for row in mine} == {rows[at]["anchor_id"] for at in may}
        met_m = [row["from_m"] if one.travel > 0 else -row["to_m"] for row in mine]
        assert met_m == sorted(met_m)


@given(runs(), some_things())
def test_running_a_pass_the_other_way_turns_the_order_and_nothing_else(one, rows) -> None:
    """Looking up-station all stays where it is; only clearances turn with the way it is run."""
    there, back = meet(one, *rows), meet(reversed_run(one), *rows)
    same = ("touch", "from_left_m", "from_right_m", "action", "along_m")

    for met in there:
        (other,) = [other for other in back if other.anchor_id == met.anchor_id]
        assert [str(getattr(met, name)) for name in same] == [
            str(getattr(other, name)) for name in same]  # fmt: skip
        assert math.isnan(met.lift_from_m) == math.isnan(other.lift_from_m)


@given(st.floats(0.0, 2.0), st.floats(0.0, 900.0))
def test_the_road_seen_from_its_other_end_is_the_same_to_the_operator(offset_m, along_m) -> None:
    """Stations mirrored and sides flipped, run the same way over the ground."""
    (got,) = meet(USUAL, thing(along_m, offset_m, anchor_id="x"))
    (turned,) = meet(run(-2.0, 0.0, travel=-1), thing(1000.0 - along_m, -offset_m, anchor_id="x"))

    assert turned.from_left_m == pytest.approx(got.from_right_m, abs=1e-9)
    assert 1000.0 - turned.lift_to_m == pytest.approx(got.lift_from_m, abs=1e-9)
    assert 1000.0 - turned.lift_from_m == pytest.approx(got.lift_to_m, abs=1e-9)


@given(runs(), some_things())
def test_lifts_of_a_pass_lie_apart(one, rows) -> None:
    """No drum is put down while it is still out for the next thing."""
    got = meet(one, *rows)
    lifts = sorted({(met.lift_from_m, met.lift_to_m) for met in got
                    if not math.isnan(met.lift_from_m)})  # fmt: skip

    assert all(first[1] < second[0] for first, second in itertools.pairwise(lifts))
