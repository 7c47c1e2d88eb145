"""The road of a strip on paper: along and across."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routeprep.sheets.strip_drawing import SIGNED
from routeprep.sheets.strip_shapes import GROUP_SIGNS, Road, area, line, sign, writing

ROAD = Road(
    from_m=100.0, to_m=300.0, lanes_left=2, lanes_right=1, lane_width_m=3.5, width_pt=1000.0,
    top_pt=50.0,
)  # fmt: skip
LANE_PT = 22.0


def test_every_group_has_a_sign_of_its_own():
    """Shape tells them apart on a photocopy."""
    assert len(GROUP_SIGNS) == len(set(GROUP_SIGNS)) == len(SIGNED)


@pytest.mark.parametrize(
    ("along_m", "x_pt"), [(100, 0), (200, 500), (300, 1000), (90, 0), (900, 1000)]
)
def test_along_the_road_is_to_scale(along_m, x_pt):
    """200 m on 1,000 pt; what lies off the strip is drawn at its end."""
    assert ROAD.x_pt(along_m) == x_pt


def test_left_is_above_and_right_is_below():
    """Looking up-station is looking to the right."""
    assert (ROAD.top_pt, ROAD.middle_pt, ROAD.bottom_pt) == (50.0, 94.0, 116.0)
    assert ROAD.lane_lines_pt() == [72.0]


@pytest.mark.parametrize(
    ("lane", "box", "offset_m", "lanes"),
    [
        ("R1", 2, 0.0, 0.5), ("R1", 1, 0.0, 0.75), ("R1", 0, 0.0, 0.95), ("L1", 3, 0.0, -0.25),
        ("L2", 2, 0.0, -1.5), ("L2", -1, 9.0, -1.5), ("", -1, 3.5, 1.0), ("", -1, -1.75, -0.5),
        ("", 4, 3.5, 0.0), ("", -1, math.nan, 0.0), ("R", -1, 1.75, 0.5),
    ],
)  # fmt: skip
def test_across_the_road_lane_and_box_come_before_the_offset(lane, box, offset_m, lanes):
    """In lanes from the line, right positive."""
    assert ROAD.y_pt(lane, box, offset_m) == pytest.approx(94.0 + lanes * LANE_PT)


@given(st.floats(-1e4, 1e4), st.sampled_from(["", "R9", "L9", "R1"]), st.integers(-1, 4))
def test_nothing_is_drawn_far_beside_the_road(offset_m, lane, box):
    """Law: what lies beside the road is drawn on its shoulder."""
    assert 41.0 <= ROAD.y_pt(lane, box, offset_m) <= 125.0


def test_a_reach_takes_its_lane_or_the_whole_road():
    """Between the lane's edges."""
    assert ROAD.across("L2", whole=False) == (50.0, 72.0)
    assert ROAD.across("R1", whole=False) == (94.0, 116.0)
    assert ROAD.across("", whole=False) == ROAD.across("R1", whole=True) == (50.0, 116.0)


def test_parts_are_plain_data_without_minus_zero():
    """Rounded to 0.01 pt, so that the same pack gives the same bytes."""
    assert line((-0.001, 1.234, 2.0, 3.0))["at"] == [0.0, 1.23, 2.0, 3.0]
    assert area((1, 2, 3, 4), fill="grey")["fill"] == "grey"
    assert writing("x", 10.0, 5.0, size=16.0, width=4.0)["at"] == [8.0, 5.0, 4.0]


@pytest.mark.parametrize(
    ("hollow", "unsure", "fill", "dash"),
    [(False, False, "black", "solid"), (True, False, "white", "solid"),
     (False, True, "white", "dashed"), (True, True, "white", "dashed")],
)  # fmt: skip
def test_a_sign_says_what_is_known(hollow, unsure, fill, dash):
    """White for what nobody saw, a broken outline for a lane that is not sure."""
    made = sign(1, 10.0, 20.0, radius_pt=2.0, hollow=hollow, unsure=unsure)

    assert (made["fill"], made["dash"]) == (fill, dash)
    assert made["corners"][0] == [8.1, 18.1]
