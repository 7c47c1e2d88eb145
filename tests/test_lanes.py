"""Lanes told from how far across the road drives ran."""

import numpy as np
import pytest
from builders import leg_settings
from hypothesis import given
from hypothesis import strategies as st

from routeprep.lanes import lane_fit, lanes_of, tell_lanes
from routeprep.runs import Run

WIDTH_M = 3.6576
FOUR = leg_settings(lanes_left=2, lanes_right=2)


def run(lane, direction=1, *, count=1600, sd_m=0.7, moved_m=0.0, weight=1.0):
    """A run in a lane counted from the middle of the road, from the vertices of a grid."""
    offset_m = direction * (np.broadcast_to(lane, count) - 0.5) * WIDTH_M - moved_m
    sd = np.full(count, sd_m)
    return Run(
        direction=direction, offset_m=offset_m, sd_m=sd, left_m=np.zeros(count),
        weight=np.broadcast_to(weight, count) / sd**2,
    )  # fmt: skip


def told(*runs, leg=FOUR):
    """The lanes of runs that count alike."""
    share = np.full((len(runs[0].offset_m), len(runs)), 1.0 / len(runs))
    return tell_lanes(runs, leg, share=share)


def chances(across_m, *, lanes=2, sd_m=1.0):
    """Chances of the lanes where the middle of the road is known."""
    fit = lane_fit(
        np.asarray(across_m), middle_m=np.zeros(1), lanes=lanes, lane_width_m=WIDTH_M, sd_m=sd_m
    )
    return fit.chance[:, 0]


@pytest.mark.parametrize("moved_m", [-WIDTH_M, 0.0, WIDTH_M])
def test_lanes_are_told_wherever_the_line_lies(moved_m):
    """Two lanes up, one of them driven down: also when the line lies a lane away."""
    runs = [run(one, moved_m=moved_m) for one in (1, 2, 2)] + [run(1, -1, moved_m=moved_m)]
    lanes = told(*runs)

    assert lanes.outward_m.mean(axis=0) / WIDTH_M == pytest.approx([0, 1, 1, 0], abs=0.05)
    assert lanes.sd_m < 0.6


def test_lanes_that_may_be_two_ways_leave_the_middle_unsure():
    """Up and down two lanes apart: either may be in its second lane, and neither is believed."""
    lanes = told(run(2, sd_m=1.0), run(1, -1, sd_m=1.0))

    assert lanes.outward_m / WIDTH_M == pytest.approx(0.5, abs=0.1)
    assert lanes.sd_m > 1.0


def test_a_phone_tells_no_lanes_on_a_short_road():
    """With 3 m on each axis and 400 m driven the chances stay nearly even."""
    lanes = told(run(1, count=160, sd_m=3.0), run(1, -1, count=160, sd_m=3.0))

    assert lanes.outward_m / WIDTH_M == pytest.approx(0.5, abs=0.2)


def test_one_lane_each_way_leaves_nothing_to_tell():
    """No run is out of its first lane, for sure."""
    lanes = told(run(1), run(1, -1), leg=leg_settings())

    assert not lanes.outward_m.any()
    assert lanes.sd_m == 0.0


def test_a_change_of_lanes_is_followed():
    """2 km in the first lane, 2 km in the second, where there is no doubt of the middle."""
    chance = chances(np.repeat([0.5, 1.5], 40) * WIDTH_M, sd_m=0.5)

    assert chance[0, :35].min() > 0.9
    assert chance[1, 45:].min() > 0.9


def test_only_where_it_was_driven_does_a_run_tell():
    """Half a run lies in another lane, where it has no weight."""
    half = np.arange(1600) < 800
    part = run(np.where(half, 2, 1), weight=np.where(half, 1.0, 0.0))
    lanes = told(part, run(1), run(1, -1))

    assert lanes.outward_m[:800, 0] / WIDTH_M == pytest.approx(1.0, abs=0.1)


@given(
    st.lists(st.floats(-20, 20), min_size=1, max_size=60),
    st.integers(1, 4),
    st.floats(0.3, 10),
)
def test_chances_are_chances(across_m, lanes, sd_m):
    """Over all lanes they are 1, and none is negative."""
    chance = chances(across_m, lanes=lanes, sd_m=sd_m)

    assert chance.sum(axis=0) == pytest.approx(1.0)
    assert (chance >= 0).all()


@given(st.lists(st.floats(0, 10), min_size=2, max_size=40))
def test_driven_backward_the_same_lanes_are_told(across_m):
    """The chain runs both ways."""
    assert chances(across_m)[:, ::-1] == pytest.approx(chances(across_m[::-1]), abs=1e-9)


def test_traffic_keeps_right():
    """Up-station it has the lanes on the right, and never fewer than one."""
    leg = leg_settings(lanes_left=0, lanes_right=3)

    assert (lanes_of(leg, 1), lanes_of(leg, -1)) == (3, 1)
