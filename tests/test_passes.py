"""Passes over strips: their codes and names, the way they are run, and what must be said."""

import re
import time
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely
from builders import PLANE
from hypothesis import given, settings
from hypothesis import strategies as st
from made_work import area_m2, curved, fleets, ft, leg, machine, part, section, strip, strips

from routeprep.errors import JobError
from routeprep.locating import place
from routeprep.passes import pass_flags, passes_of, uncut_of
from routeprep.strips import strips_of
from routeprep.units import STATION_UNITS, to_m

UP_TO = re.compile(r"up to ([\d.]+) ft of it runs")
LANE = part("lane", ft(12))
ROAD = section(left=(LANE,), right=(LANE,), edge_left="shoulder", edge_right="shoulder")


def passes(*sections, machines=None, **changes):
    """Passes of a leg with these sections."""
    road = leg(*sections, **changes)
    return passes_of(strips_of(road), road, [machine()] if machines is None else machines)


def over(one, *machines, road=None):
    """Passes over one strip."""
    return passes_of([one], road or leg(), machines or (machine(),))


def test_two_lanes_are_four_halves_each_with_its_traffic() -> None:
    """Right of the line up-station, left of it down-station, each from the line outward."""
    got = passes(ROAD)

    assert [(one.code, one.order, one.half, one.travel, one.against) for one in got] == [
        ("A R1", 1, "inside half", 1, False),
        ("A R2", 2, "outside half", 1, False),
        ("A L1", 3, "inside half", -1, False),
        ("A L2", 4, "outside half", -1, False),
    ]
    assert [(one.left_m[0], one.right_m[0]) for one in got[2:]] == [
        pytest.approx((-ft(7.25), 0.0)),
        pytest.approx((-ft(12), -ft(4.75))),
    ]
    assert all(one.flags == () for one in got)


def test_a_road_one_way_is_run_one_way_on_both_sides() -> None:
    """Unless the section says otherwise, and then it is against the traffic."""
    one_way = passes(replace(ROAD, traffic="up"))
    said = passes(replace(ROAD, run_left="up"))

    assert [(one.travel, one.against) for one in one_way] == [(1, False)] * 4
    assert [(one.travel, one.against) for one in said[2:]] == [(1, True)] * 2


def test_the_passes_of_a_lane_and_its_shoulder_have_their_names() -> None:
    """12 ft and 8 ft of shoulder: the third pass has 7.25 of 7.25 ft on it but 0.75, by hand."""
    right = (LANE, part("shoulder", ft(8)))

    assert [one.half for one in passes(section(right=right))] == [
        "inside half", "outside half", "shoulder",
    ]  # fmt: skip
    assert [one.half for one in passes(section(right=(part("shoulder", ft(7)),)))] == ["shoulder"]
    assert [one.half for one in passes(section(right=(part("lane", ft(7)),)))] == ["whole width"]
    assert [one.half for one in passes(section(right=(LANE, LANE)))] == [
        "inside half", "middle", "middle", "outside half",
    ]  # fmt: skip


def test_a_strip_across_the_line_has_passes_in_the_middle() -> None:
    """A turn lane of 12 ft: which way it is run nobody said, and that is said."""
    half = part("turn lane", ft(6), over_line=True)
    got = passes(section(left=(half,), right=(half,)))

    assert [(one.code, one.half, one.travel) for one in got] == [
        ("A M1", "middle", 1),
        ("A M2", "middle", 1),
    ]
    assert all("either way" in one.flags[0] for one in got)


def test_machines_take_the_passes_in_order() -> None:
    """In echelon: one after the other, from the line outward, on each strip anew."""
    two = (machine(), machine(name="two"))

    assert [one.machine for one in passes(ROAD, machines=two)] == ["one", "two", "one", "two"]
    assert passes(ROAD, machines=()) == ()


@pytest.mark.parametrize(
    ("flush", "run", "expected"),
    [
        ("right", "", ""),
        ("", "", ""),
        ("left", "", "only when run against the traffic"),
        ("left", "down", ""),
        ("right", "down", "only when run with the traffic"),
    ],
)
def test_the_flush_side_is_at_the_curb_or_it_is_said(flush: str, run: str, expected: str) -> None:
    """With the traffic the outer curb is on the operator's right."""
    road = replace(ROAD, edge_right="curb", run_right=run, left=())
    inner, outer = passes(road, machines=(machine(flush_side=flush),))

    assert inner.flags == ()
    assert bool(outer.flags) == bool(expected)
    assert all(expected in text for text in outer.flags)


def test_another_machine_that_would_fit_the_curb_is_named() -> None:
    """The second machine is flush on the other side."""
    two = (machine(), machine(name="two", flush_side="left"), machine(name="three"))
    got = passes(replace(ROAD, edge_right="curb", left=()), machines=two)

    assert got[1].machine == "two"
    assert "or take one or three" in got[1].flags[0]


def test_a_curb_on_each_side_wants_a_drum_that_is_flush_on_both() -> None:
    """One pass as wide as the strip; on its way down-station the hands change."""
    between = strip([0.0, 99.0], [0.0] * 2, [ft(7.25)] * 2, curb_left=True, curb_right=True)
    (up,) = over(between, machine(flush_side="right"))
    (down,) = over(replace(between, travel=-1), machine(flush_side="right"))

    assert [text.partition(" and")[0] for text in up.flags] == [
        "the curb is on the operator's left"
    ]
    assert up.flags == down.flags


def test_a_curb_beside_a_strip_without_traffic() -> None:
    """Run the other way it is flush."""
    across = strip([0.0, 99.0], [-3.0] * 2, [3.0] * 2, curb_right=True, travel=1)
    last = over(across, machine(flush_side="left"))[-1]

    assert "only when run the other way" in last.flags[0]


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({}, "onto the shoulder"),
        ({"curb_right": True}, "over the line into the next lane"),
        ({"curb_left": True, "beyond_right": ""}, "what lies there is not given"),
    ],
)
def test_a_drum_wider_than_the_strip_says_where_the_rest_goes(changes, expected: str) -> None:
    """7.25 ft on a strip of 5 ft: 2.25 ft, by hand; never over a curb."""
    (got,) = over(strip([0.0, 90.0], [0.0] * 2, [ft(5)] * 2, **changes))

    assert "2.25 ft" in got.flags[0]
    assert expected in got.flags[0]


def test_a_machine_wider_than_everything_is_said() -> None:
    """It gets no pass beside one that fits; alone it hangs over."""
    wide, small = machine(5.0, name="wide"), machine()
    road = leg(ROAD)
    both = pass_flags(strips_of(road), road, (wide, small))

    assert sum("wide has no pass on it" in text for text in both) == 2
    assert all("runs onto" in one.flags[0] for one in passes(ROAD, machines=(wide,)))
    assert "no machine is given" in pass_flags((), road, ())[0]


def test_passes_that_do_not_overlap_are_said() -> None:
    """Nobody gave an overlap, or it is 0; and the order of work is said for what it is."""
    road = leg(ROAD)
    got = pass_flags(strips_of(road), road, (machine(), machine(overlap_m=0.0, name="two")))

    assert "that is common practice, and the crew may change it" in got[0]
    assert [text for text in got if "overlap" in text] == [
        "leg A: passes of machine two do not run over each other: its overlap is 0 or not given"
    ]


@pytest.mark.parametrize("side", [1, -1])
def test_what_lies_between_curbs_and_is_too_narrow_is_left(side: int) -> None:
    """4 ft in the first 100 m, 8 ft after: no drum runs in the first part."""
    wide = np.array([4, 4, 8, 8]) * ft(1) + 1.0
    edges = sorted([[side * 1.0] * 4, (side * wide).tolist()], key=lambda one: one[0])
    deep_m = np.array([0.03, 0.03, 0.05, 0.05])
    one = strip(
        [0.0, 100.0, 100.001, 300.0], *edges, curb_left=True, curb_right=True, depth_right_m=deep_m
    )
    (left,) = uncut_of([one], leg(), (machine(),))
    flags = pass_flags([one], leg(), (machine(),))

    assert left.along_m[[0, -1]] == pytest.approx([0.0, 100.0], abs=0.01)
    assert area_m2(left.along_m, left.left_m, left.right_m) == pytest.approx(ft(4) * 100, rel=1e-3)
    assert (left.left_m[0], left.right_m[0]) == pytest.approx((edges[0][0], edges[1][0]))
    assert (left.depth_left_m[0], left.depth_right_m[0]) == (0.0508, 0.03)
    assert "no pass cuts it from 10+00 to 13+28" in flags[-1]
    assert [got.code for got in over(one)] == [
        "A R1" if side > 0 else "A L1",
        "A R2" if side > 0 else "A L2",
    ]
    assert uncut_of([one], leg(), ()) == (one,)


def test_an_overlap_as_wide_as_the_drum_is_refused() -> None:
    """Its passes would never get across."""
    with pytest.raises(JobError, match=r"'one': its drum is 3\.28 ft wide and its overlap 3\.28"):
        over(strip([0.0, 9.0], [0.0] * 2, [3.0] * 2), machine(1.0, 1.0))


def test_the_depth_at_the_edges_of_a_drum_lies_between_those_of_the_strip() -> None:
    """From 0 at the line to 60 mm at 12 ft: 7.25 ft is 36.25 mm, 4.75 ft is 23.75 mm."""
    one = strip(
        [0.0, 90.0], [0.0] * 2, [ft(12)] * 2,
        depth_left_m=np.zeros(2), depth_right_m=np.full(2, 0.06),
    )  # fmt: skip
    inner, outer = over(one)

    assert (inner.depth_left_m[0], inner.depth_right_m[0]) == pytest.approx((0.0, 0.03625))
    assert (outer.depth_left_m[0], outer.depth_right_m[0]) == pytest.approx((0.02375, 0.06))


def test_a_strip_as_narrow_as_a_number_can_be_has_a_depth() -> None:
    """Found by a longer search: dividing by 5e-324 m overflowed."""
    (got,) = over(strip([0.0, 9.0], [0.0, 0.0], [0.0, 5e-324]))

    assert got.depth_right_m.tolist() == [0.0508, 0.0508]


@pytest.mark.parametrize("unit", ["ft", "ftUS", "m"])
def test_survey_feet_and_metres_count_like_feet(unit: str) -> None:
    """12, 14.25 and 14.5 of each unit with a drum of 7.25 and 0.25 of overlap."""
    one = machine(to_m(7.25, unit), to_m(0.25, unit))
    name = {"ft": "100 ft", "ftUS": "100 ftUS", "m": "1000 m"}[unit]
    counts = [
        len(
            passes(
                section(right=(part("lane", to_m(wide, unit)),)),
                machines=(one,),
                unit=STATION_UNITS[name],
            )
        )
        for wide in (12, 14.25, 14.5)
    ]

    assert counts == [2, 2, 3]


def test_strips_along_are_worked_as_they_are_met() -> None:
    """Left of the line the one farther up-station comes first, as the traffic meets it."""
    near, far = (
        strip([at, at + 90.0], [-3.0] * 2, [0.0] * 2, name=name, beyond_left="shoulder")
        for at, name in ((0.0, "near"), (100.0, "far"))
    )

    got = passes_of([near, far], leg(), (machine(),))

    assert [one.strip for one in got] == ["far", "far", "near", "near"]


def test_a_hundred_kilometres_are_planned_within_a_second() -> None:
    """By processor time; a section each 250 m, its width changing all along."""
    unit = STATION_UNITS["1000 m"]
    labels = ["", *(f"{at // 4}+{at % 4 * 250:03d}" for at in range(1, 400)), ""]
    wide_m = [3.0 * (at % 3) for at in range(401)]
    road = leg(
        *(
            section(begin=one, end=two, right=(LANE, part("parking", *wide)), edge_right="curb")
            for one, two, wide in zip(labels, labels[1:], pairwise(wide_m), strict=False)
        ),
        length_m=100_000.0, unit=unit, start_value=0.0,
    )  # fmt: skip
    begin_s = time.process_time()
    got = passes_of(strips_of(road), road, [machine()])

    assert time.process_time() - begin_s < 1.0
    assert len(got) > 130


def ground(line, along_m, left_m, right_m, at_m):
    """The area between two edges on the ground, in the tests' plane."""
    at_m = at_m[(at_m >= along_m[0]) & (at_m <= along_m[-1])]
    sides = [
        PLANE.to_xy(*place(line, at_m, np.interp(at_m, along_m, edge_m)))
        for edge_m in (left_m, right_m)
    ]
    quads = np.stack([sides[0][:-1], sides[0][1:], sides[1][1:], sides[1][:-1]], axis=1)
    return shapely.union_all(shapely.make_valid(shapely.polygons(quads)))


@settings(max_examples=25)
@given(strips(least_m=0.5), fleets(), st.floats(-0.004, 0.004))
def test_on_a_curved_road_the_passes_cover_the_strip_and_no_more(
    one: object, machines: tuple, bend_per_m: float
) -> None:
    """By shapely, on the ground: no gap, and outside only what a flag says runs over."""
    line = curved(float(one.along_m[-1]) + 5.0, bend_per_m=bend_per_m, every_m=2.0)
    got = over(one, *machines)
    at_m = np.unique(np.concatenate([one.along_m, line.along_m, *(each.along_m for each in got)]))
    whole = ground(line, one.along_m, one.left_m, one.right_m, at_m)
    cut = [ground(line, each.along_m, each.left_m, each.right_m, at_m) for each in got]
    left = [
        ground(line, each.along_m, each.left_m, each.right_m, at_m)
        for each in uncut_of([one], leg(), machines)
    ]
    # A millimetre along both edges of everything.
    slack_m2 = 0.004 * float(one.along_m[-1]) + 0.01

    assert whole.difference(shapely.union_all([*cut, *left])).area < slack_m2
    for each, area in zip(got, cut, strict=True):
        # Said in hundredths of a foot; outside a curve the ground is longer than the line.
        over_m = [ft(float(one) + 0.01) for text in each.flags for one in UP_TO.findall(text)]
        assert area.difference(whole).area < slack_m2 + 1.1 * sum(over_m) * np.ptp(each.along_m)


@given(strips(), fleets())
def test_running_a_pass_the_other_way_swaps_hands_and_nothing_else(
    one: object, machines: tuple
) -> None:
    """Where it runs, what it is called and by whom it is cut stay; the order may turn."""
    down = passes_of([replace(one, travel=-1)], leg(), machines)
    up = passes_of([replace(one, travel=1)], leg(), machines)

    def kept(some):
        return sorted(
            (each.half, each.machine, each.along_m[0], *each.left_m, *each.right_m) for each in some
        )

    assert kept(up) == kept(down)
    assert {each.travel for each in up} <= {1}
    assert all(each.against != other.against for each, other in zip(up, down, strict=True)) or any(
        each.left_m.min() < 0 < each.right_m.max() for each in up
    )


@given(strips(), fleets())
def test_a_road_looked_at_from_its_other_end_has_the_same_passes(
    one: object, machines: tuple
) -> None:
    """Along is counted from the other end, right is left, and the drums run where they ran."""
    long_m = float(one.along_m[-1])
    turned = replace(
        one,
        along_m=long_m - one.along_m[::-1],
        left_m=-one.right_m[::-1], right_m=-one.left_m[::-1],
        depth_left_m=one.depth_right_m[::-1], depth_right_m=one.depth_left_m[::-1],
        curb_left=one.curb_right, curb_right=one.curb_left,
        beyond_left=one.beyond_right, beyond_right=one.beyond_left, traffic=-one.traffic,
    )  # fmt: skip
    there, back = over(one, *machines), over(turned, *machines)
    if there and there[0].code.startswith("A M"):
        return  # across the line they are laid from the left, whichever end that is seen from

    assert [(each.half, each.machine, each.order) for each in there] == [
        (each.half, each.machine, each.order) for each in back
    ]
    for each, other in zip(there, back, strict=True):
        at_m = long_m - other.along_m[::-1]
        assert each.travel == -other.travel
        assert at_m[[0, -1]] == pytest.approx(each.along_m[[0, -1]], abs=1e-6)
        for edge_m, turned_m in ((each.left_m, other.right_m), (each.right_m, other.left_m)):
            got_m = np.interp(each.along_m, at_m, -turned_m[::-1])
            # A jump of metres within a millimetre magnifies what rounding leaves.
            assert got_m == pytest.approx(edge_m, abs=1e-3)
