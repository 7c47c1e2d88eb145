"""Areas to cut, along all sections of a leg."""

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_work import area_m2, ft, leg, part, section

from routeprep.roadway import PARTS
from routeprep.strips import strip_flags, strips_of

LANE = part("lane", 3.5)
GUTTER = part("gutter", 0.5, cut=False)


def rows(strip):
    """Places with the edges there [m]."""
    return list(zip(strip.along_m, strip.left_m, strip.right_m, strict=True))


def test_without_sections_the_lanes_are_cut() -> None:
    """To the leg's depth, from limit to limit; what lies beyond is said to be unknown."""
    road = leg(lanes_left=2, from_m=10.0, to_m=500.0)
    right, left = strips_of(road)

    assert (right.name, left.name) == ("right lane", "left 2 lanes")
    assert rows(left) == [(10.0, pytest.approx(-ft(24)), 0.0), (500.0, pytest.approx(-ft(24)), 0.0)]
    assert right.depth_right_m.tolist() == [0.0508, 0.0508]
    assert (left.beyond_left, left.beyond_right, right.curb_right) == ("", "line", False)
    assert (
        "whether a curb or a shoulder ends them is not known" in strip_flags((right, left), road)[0]
    )


def test_a_strip_goes_on_through_sections_with_its_tapers() -> None:
    """12 m of taper from 500 ft on, along a gutter: one strip."""
    road = leg(
        section(end="15+00", right=(LANE, GUTTER)),
        section(begin="15+00", end="17+00", right=(LANE, part("parking", 0.0, 2.5), GUTTER)),
        section(begin="17+00", right=(LANE, part("parking", 2.5), GUTTER)),
    )
    (got,) = strips_of(road)

    assert got.name == "right lane and parking"
    assert [row[0] for row in rows(got)] == pytest.approx([0.0, ft(500), ft(700), 1000.0])
    assert got.right_m.tolist() == [3.5, 3.5, 6.0, 6.0]
    assert (got.curb_left, got.curb_right, got.beyond_right) == (False, True, "gutter")
    (flag,) = strip_flags((got,), road)
    assert "no section says what lies left of the line, where the leg has lanes (1)" in flag


def test_an_edge_that_jumps_does_so_within_a_millimetre() -> None:
    """A parking lane that is there at once, and a depth that changes with it."""
    deep = replace(LANE, depth_in_m=0.1, depth_out_m=0.1)
    road = leg(
        section(end="15+00", right=(LANE,), edge_right="shoulder"),
        section(begin="15+00", right=(deep, replace(deep, what="parking")), edge_right="shoulder"),
    )
    (got,) = strips_of(road)

    assert np.diff(got.along_m)[1] == pytest.approx(0.001)
    assert got.right_m.tolist() == [3.5, 3.5, 7.0, 7.0]
    assert got.depth_left_m.tolist() == [0.0508, 0.0508, 0.1, 0.1]


def test_a_curb_that_begins_parts_the_strip() -> None:
    """A pass along a curb is not one along a shoulder; both have their station in the name."""
    road = leg(
        section(end="15+00", right=(LANE,), edge_right="shoulder"),
        section(begin="15+00", right=(LANE,), edge_right="curb"),
    )
    one, two = strips_of(road)

    assert (one.name, two.name) == ("right lane from 10+00", "right lane from 15+00")
    assert one.along_m[-1] == two.along_m[0]
    assert (one.curb_right, two.curb_right) == (False, True)


def test_strips_of_one_name_and_station_are_numbered() -> None:
    """Two lanes with a bike lane between that is not cut."""
    got = strips_of(leg(section(right=(LANE, part("bike lane", 1.5, cut=False), LANE))))

    assert [one.name for one in got] == ["right lane from 10+00 (1)", "right lane from 10+00 (2)"]


def test_of_two_bands_the_one_that_shares_most_goes_on() -> None:
    """The lane goes on; parking with a depth of its own begins a strip, from no width."""
    parking = part("parking", 0.0, 2.0, depth_in_m=0.05, depth_out_m=0.0)
    road = leg(section(end="15+00", right=(LANE,)), section(begin="15+00", right=(LANE, parking)))
    lane, other = strips_of(road)

    assert (lane.name, lane.along_m[0], lane.along_m[-1]) == ("right lane", 0.0, 1000.0)
    assert (other.name, other.along_m[0]) == ("right parking", pytest.approx(ft(500)))
    assert other.right_m.tolist() == [3.5, 5.5]


def test_left_of_the_line_edges_and_curbs_change_sides() -> None:
    """The outer edge is the left one."""
    (got,) = strips_of(leg(section(left=(LANE, part("shoulder", 1.0, 2.0)), edge_left="curb")))

    assert rows(got) == [(0.0, -4.5, 0.0), (1000.0, -5.5, 0.0)]
    assert (got.curb_left, got.curb_right, got.traffic) == (True, False, -1)
    assert got.shoulder_m.tolist() == [-3.5, -3.5]
    assert (got.beyond_left, got.name) == ("curb", "left lane and shoulder")


def test_a_strip_across_the_line_comes_last() -> None:
    """A turn lane in the middle with a lane either side."""
    half = part("turn lane", 2.0, over_line=True)
    got = strips_of(leg(section(left=(half, LANE), right=(half, LANE))))

    assert [one.name for one in got] == ["right lane", "left lane", "turn lane across the line"]
    assert rows(got[2]) == [(0.0, -2.0, 2.0), (1000.0, -2.0, 2.0)]


def test_what_lies_beyond_an_edge_changes_along() -> None:
    """Shoulder, then parking that is not cut: either; unknown somewhere is unknown."""
    shoulder = section(end="15+00", right=(LANE,), edge_right="shoulder")
    parking = section(begin="15+00", right=(LANE, part("parking", 2.0, cut=False)))
    nobody = section(begin="15+00", right=(LANE,))
    road = leg(shoulder, nobody)

    assert strips_of(leg(shoulder, parking))[0].beyond_right == "shoulder or parking"
    assert strips_of(road)[0].beyond_right == ""
    assert "beyond its right edge is not given" in strip_flags(strips_of(road), road)[1]


def test_no_depth_and_nothing_to_cut_are_said() -> None:
    """They are not guessed."""
    bare = leg(depth_m=math.nan)
    none = leg(section(right=(replace(LANE, cut=False),)))

    assert sum("the depth is not given" in one for one in strip_flags(strips_of(bare), bare)) == 2
    assert strips_of(none) == ()
    assert strip_flags((), none)[0] == "leg A: nothing is cut: no lane and no part of a section is"


@st.composite
def roads(draw):
    """Sections of any parts, with the whole area that is cut, reckoned part by part [m2]."""
    stops = sorted(draw(st.sets(st.integers(11, 40), max_size=5)))
    begins, ends = ["", *(f"{one}+00" for one in stops)], [*(f"{one}+00" for one in stops), ""]
    places = [0.0, *(ft(one * 100 - 1000) for one in stops), 1000.0]
    width = st.one_of(st.just(0.0), st.floats(0.3, 5.0))
    a_part = st.builds(
        part, st.sampled_from(PARTS), width, width, cut=st.booleans(),
        depth_in_m=st.sampled_from([math.nan, 0.04]), depth_out_m=st.sampled_from([math.nan, 0.04]),
    )  # fmt: skip
    side = st.lists(a_part, max_size=4).map(tuple)
    edge = st.sampled_from(["", "curb", "shoulder"])
    sections = [
        section(begin=one, end=two, left=draw(side), right=draw(side), edge_left=draw(edge))
        for one, two in zip(begins, ends, strict=True)
    ]
    whole_m2 = sum(
        (high - low) * (one.width_m + one.width_end_m) / 2 * one.cut
        for (low, high), given_one in zip(itertools.pairwise(places), sections, strict=True)
        for one in (*given_one.left, *given_one.right)
    )
    return leg(*sections), whole_m2


@given(roads())
def test_strips_have_the_area_of_the_parts_that_are_cut(made) -> None:
    """But for half a millimetre at each jump."""
    road, whole_m2 = made
    got = strips_of(road)

    assert sum(area_m2(one.along_m, one.left_m, one.right_m) for one in got) == pytest.approx(
        whole_m2, abs=0.001 * 30 * 6
    )
    for one in got:
        assert (np.diff(one.along_m) > 0).all()
        assert (one.left_m <= one.right_m).all()
    assert len({one.name for one in got}) == len(got)
