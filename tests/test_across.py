"""Where across, turned once with the direction of travel."""

import math
from dataclasses import replace

import pytest
from builders import leg_settings
from hypothesis import given
from hypothesis import strategies as st

from routeprep.across import turn, turn_all
from routeprep.kinds import ACROSS

LEG = leg_settings()


def turned(across, travel, *, leg=LEG, frame="as driven"):
    """Lane, position and whether the lane is sure."""
    got = turn(across, frame=frame, travel=travel, leg=leg)
    return got.lane, got.position, got.sure


@pytest.mark.parametrize(
    ("across", "travel", "expected"),
    [
        ("outer wheel path", 1, ("R1", "outer wheel path", True)),
        ("outer wheel path", -1, ("L1", "outer wheel path", True)),
        ("right wheel path", -1, ("L1", "outer wheel path", True)),
        ("left wheel path", 1, ("R1", "inner wheel path", True)),
        ("other side", -1, ("R1", "", True)),
        ("other side", 1, ("L1", "", True)),
        ("on the line", -1, ("C", "on the line", True)),
        ("whole road", 0, ("", "whole road", True)),
        ("right side", 1, ("R1", "", True)),
        ("left side", 1, ("", "", False)),
        ("curb or edge", 0, ("", "curb or edge", False)),
        ("", 1, ("", "", False)),
    ],
)
def test_words_as_driven_on_a_two_lane_road(across, travel, expected):
    """Traffic keeps right: the vehicle's own lane is right of the line when it runs up-station."""
    assert turned(across, travel) == expected


def test_one_cover_called_from_both_directions_is_on_one_side():
    """Up-station it is in the own outer wheel path, down-station on the other side."""
    up, down = turned("outer wheel path", 1), turned("other side", -1)

    assert up[0] == down[0] == "R1"


def test_words_up_station_need_no_direction():
    """The side is as seen looking up-station."""
    assert turned("left side", 0, frame="up-station") == ("L1", "", True)
    assert turned("outer wheel path", 1, frame="up-station") == ("", "outer wheel path", False)


def test_with_two_lanes_a_side_the_lane_is_not_sure():
    """Only the curb lane is known by its curb."""
    wide = replace(LEG, lanes_right=2)

    assert turned("outer wheel path", 1, leg=wide) == ("R", "outer wheel path", False)
    assert turned("curb or edge", 1, leg=wide) == ("R2", "curb or edge", True)


def test_outer_wheel_path_lies_9_ft_from_the_line():
    """Three quarters of a 12-ft lane (common practice, no source)."""
    got = turn("outer wheel path", frame="as driven", travel=-1, leg=LEG)

    assert got.offset_m == pytest.approx(-9 * 0.3048)


@given(st.sampled_from(ACROSS), st.sampled_from([-1, 1]))
def test_driving_the_other_way_mirrors_the_road(across, travel):
    """Up and down swap sides and nothing else."""
    one = turn(across, frame="as driven", travel=travel, leg=LEG)
    other = turn(across, frame="as driven", travel=-travel, leg=LEG)
    swap = str.maketrans("RL", "LR")

    assert other.lane == one.lane.translate(swap)
    assert (other.position, other.sure) == (one.position, one.sure)
    assert math.isnan(one.offset_m) or other.offset_m == pytest.approx(-one.offset_m)


@pytest.mark.parametrize(
    ("across", "travel", "expected"),
    [
        ("outer wheel path", 1, ("R1", "outer wheel path", True)),
        ("outer wheel path", -1, ("", "", False)),
        ("outer wheel path", 0, ("", "", False)),
        ("other side", 1, ("", "", False)),
        ("left side", 1, ("", "", False)),
        ("on the line", 1, ("", "on the line", False)),
        ("", 1, ("", "", False)),
    ],
)
def test_on_a_one_way_leg_nothing_lies_where_no_lane_is(across, travel, expected):
    """Words that contradict the only lane print no side: a wrong curb is worse than none."""
    assert turned(across, travel, leg=replace(LEG, lanes_left=0)) == expected


def test_a_one_way_leg_with_lanes_on_the_left_only():
    """Driven down-station, its own side is left."""
    leg = replace(LEG, lanes_left=2, lanes_right=0)

    assert turned("curb or edge", -1, leg=leg) == ("L2", "curb or edge", True)
    assert turned("other side", -1, leg=leg) == ("", "", False)


@given(st.sampled_from(ACROSS), st.sampled_from((-1, 0, 1)), st.integers(1, 4))
def test_as_driven_a_one_way_leg_never_gives_the_empty_side(across, travel, lanes):
    """No row ever says left where the job has no lane on the left."""
    got = turn(
        across, frame="as driven", travel=travel, leg=replace(LEG, lanes_left=0, lanes_right=lanes)
    )

    assert not got.lane.startswith("L")
    assert not got.offset_m < 0


@given(st.lists(st.tuples(st.sampled_from(sorted(ACROSS)), st.sampled_from((-1, 0, 1)))))
def test_many_are_turned_as_each_of_them(asked):
    """Equal cases are turned once."""
    across, travels = ([one[k] for one in asked] for k in (0, 1))
    together = turn_all(
        across, frames=["as driven"] * len(asked), travels=travels, legs=[LEG] * len(asked)
    )
    each = [turn(one, frame="as driven", travel=travel, leg=LEG) for one, travel in asked]

    assert together["lane"].tolist() == [one.lane for one in each]
    assert together["sure"].tolist() == [one.sure for one in each]
    assert together["offset_m"].tolist() == pytest.approx(
        [one.offset_m for one in each], nan_ok=True
    )
