"""What is cut across the road in one span."""

import math
from dataclasses import replace

import pytest
from made_work import leg, part, section

from routeprep.bands import bands_of
from routeprep.errors import JobError
from routeprep.spans import spans_of

LANE = part("lane", 3.5)
GUTTER = part("gutter", 0.5, cut=False)


def bands(*, depth_m=0.05, lanes_left=1, **sides):
    """Bands of one section."""
    road = leg(section(**sides), depth_m=depth_m, lanes_left=lanes_left)
    return bands_of(spans_of(road)[0], road)


def beyond(band):
    """What lies beyond both edges, with a star for what nothing may run over."""
    edges = (band.beyond_inner, band.beyond_outer)
    return [edge.what + "*" * edge.curb for edge in edges]


def test_parts_that_are_cut_side_by_side_make_one_band_on_each_side() -> None:
    """Never across the line; the gutter is not cut."""
    right, left = bands(
        left=(LANE,), right=(LANE, part("parking", 2.0), GUTTER), edge_right="curb",
        edge_left="shoulder",
    )  # fmt: skip

    assert (right.side, right.parts, right.inner_m, right.outer_m) == (
        1, ("lane", "parking"), (0.0, 0.0), (5.5, 5.5),
    )  # fmt: skip
    assert (left.side, left.outer_m) == (-1, (3.5, 3.5))
    assert beyond(right) == ["line", "gutter*"]
    assert beyond(left) == ["line", "shoulder"]


def test_what_is_not_cut_parts_the_bands() -> None:
    """A bike lane stays: one may run over it, not over a median or a curb."""
    one, two = bands(right=(LANE, part("bike lane", 1.5, cut=False), LANE), edge_right="curb")
    over = bands(left=(part("median", 1.0, cut=False), LANE), right=(LANE,))

    assert (two.inner_m, two.outer_m) == ((5.0, 5.0), (8.5, 8.5))
    assert (beyond(one), beyond(two)) == (["line", "bike lane"], ["bike lane", "curb*"])
    assert [beyond(band) for band in over] == [["median*", ""], ["median*", ""]]


@pytest.mark.parametrize(
    ("edge", "expected"), [("curb", "curb*"), ("shoulder", "shoulder"), ("", "")]
)
def test_beyond_the_line_of_a_road_on_one_side_lies_its_edge(edge: str, expected: str) -> None:
    """A ramp whose line is its left edge."""
    (right,) = bands(right=(LANE,), edge_left=edge, lanes_left=0)

    assert beyond(right) == [expected, ""]


def test_beyond_the_line_lie_lanes_that_no_section_names() -> None:
    """The leg has one there; an edge that is given goes before it."""
    assert beyond(bands(right=(LANE,))[0])[0] == "line"
    assert beyond(bands(right=(LANE,), edge_left="curb")[0])[0] == "curb*"


def test_widths_change_from_begin_to_end_and_nothing_wide_is_left_out() -> None:
    """A taper from 0 to 3 m; a part of no width at all is no part."""
    nothing = part("parking", 0.0)
    (band,) = bands(right=(LANE, nothing, part("turn lane", 0.0, 3.0), nothing))

    assert band.parts == ("lane", "turn lane")
    assert (band.inner_m, band.outer_m) == ((0.0, 0.0), (3.5, 6.5))


def test_a_shoulder_begins_where_its_part_does() -> None:
    """Cut with the lane; two shoulders are one."""
    (band,) = bands(right=(LANE, part("shoulder", 1.0), part("shoulder", 1.0)))

    assert band.shoulder_m == (3.5, 3.5)


@pytest.mark.parametrize(
    ("depths", "expected"),
    [
        # Of lane and parking: inner, outer, inner, outer.
        ((0.05, 0.05, 0.05, 0.05), 1),
        ((0.05, 0.05, 0.05, 0.0), 2),
        ((0.05, 0.05, 0.04, 0.04), 2),
        # 3.5 m rise by 35 mm, the next 2 m by 20 mm: one straight depth, by hand.
        ((0.0, 0.035, 0.035, 0.055), 1),
        ((0.0, 0.035, 0.035, 0.045), 2),
        ((math.nan, math.nan, 0.05, 0.05), 1),
        ((0.04, math.nan, math.nan, 0.04), 2),
    ],
)
def test_one_straight_depth_makes_one_band(depths, expected: int) -> None:
    """Where the depth bends the band is parted; a part's own depth goes before the leg's."""
    lane = replace(LANE, depth_in_m=depths[0], depth_out_m=depths[1])
    parking = part("parking", 2.0, depth_in_m=depths[2], depth_out_m=depths[3])

    assert len(bands(right=(lane, parking))) == expected


def test_a_part_that_begins_within_a_sloping_depth_goes_on_with_it() -> None:
    """From no width to 2 m: looked at where it has a width."""
    lane = replace(LANE, depth_in_m=0.0, depth_out_m=0.035)
    parking = part("parking", 0.0, 2.0, depth_in_m=0.035, depth_out_m=0.055)

    assert len(bands(right=(lane, parking))) == 1


def test_depths_that_nobody_gave_are_one() -> None:
    """Two parts without depth on a leg without depth."""
    (band,) = bands(right=(LANE, LANE), depth_m=math.nan)

    assert math.isnan(band.depth_outer_m)


def test_traffic_keeps_right_unless_it_all_runs_one_way() -> None:
    """And the way that somebody says it is run."""
    both = bands(left=(LANE,), right=(LANE,), run_left="up")
    one_way = bands(left=(LANE,), right=(LANE,), traffic="down")

    assert [(one.traffic, one.travel) for one in both] == [(1, 0), (-1, 1)]
    assert [(one.traffic, one.travel) for one in one_way] == [(-1, 0), (-1, 0)]


HALF = part("turn lane", 2.0, over_line=True)


def test_parts_over_the_line_make_a_band_across_it() -> None:
    """The lanes beside it stay bands of their own."""
    right, left, middle = bands(
        left=(HALF, LANE), right=(replace(HALF, width_m=1.0, width_end_m=1.0), LANE)
    )

    assert (middle.side, middle.inner_m, middle.outer_m) == (0, (-2.0, -2.0), (1.0, 1.0))
    assert (right.inner_m, left.inner_m) == ((1.0, 1.0), (2.0, 2.0))
    assert (beyond(middle), beyond(right)) == (["lane", "lane"], ["turn lane", ""])
    assert (middle.traffic, middle.travel, middle.parts) == (0, 0, ("turn lane",))


def test_a_band_across_a_one_way_road_has_its_traffic_and_way() -> None:
    """Both sides say the same."""
    said = {"traffic": "up", "run_left": "down", "run_right": "down"}
    (middle,) = bands(left=(HALF,), right=(HALF,), **said)

    assert (middle.traffic, middle.travel) == (1, -1)


@pytest.mark.parametrize(
    ("left", "right"),
    [
        ((), (HALF,)),
        ((LANE,), (HALF,)),
        ((HALF,), (replace(HALF, cut=False),)),
        ((HALF, HALF), (HALF,)),
    ],
)
def test_only_one_side_over_the_line_is_refused(left, right) -> None:
    """Both sides must say it of the part next to the line, and of no other."""
    with pytest.raises(JobError, match=r"over_line stands on \d parts left"):
        bands(left=left, right=right)


def test_a_depth_that_bends_at_the_line_is_refused_across_it() -> None:
    """A crown of 20 mm."""
    crown = replace(HALF, depth_in_m=0.06, depth_out_m=0.04)

    with pytest.raises(JobError, match=r"goes 0\.04, 0\.06 m left of it and 0\.06, 0\.04 m right"):
        bands(left=(crown,), right=(crown,))
