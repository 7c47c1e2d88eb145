"""Where passings went along the legs."""

import numpy as np
import pytest

from routeprep.matching import Path
from routeprep.ways import ways_of

BOTH = frozenset({0, 1})


def path(*stretches):
    """A path through stretches of a leg and places along, one fix a second."""
    leg = np.concatenate([np.full(len(at), leg) for leg, at in stretches])
    along_m = np.concatenate([np.asarray(at, dtype=np.float64) for _, at in stretches])
    seconds = np.arange(float(len(leg)))
    return Path(seconds=seconds, leg=leg, along_m=along_m, driven_m=seconds * 12.0)


def ways(*stretches, looked=None, codes=("A", "B")):
    """Begins and ends on the axis for each of two groups of kinds; leg B begins at 10 km."""
    looked = {("d", code): BOTH for code in codes} if looked is None else looked
    made = ways_of({"d": path(*stretches)}, codes, looked, origin_m={"A": 0.0, "B": 1e4}, count=2)
    return [(begins.tolist(), ends.tolist()) for begins, ends in made]


def test_one_way_is_one_stretch():
    """Up or down, for every group that was tapped."""
    for at_m in (range(0, 501, 12), range(492, -1, -12)):
        assert ways((0, at_m)) == [([0.0], [pytest.approx(492.0)])] * 2


def test_there_and_back_passes_twice():
    """It turned at 492 m."""
    assert ways((0, range(0, 501, 12)), (0, range(480, -1, -12)))[0] == ([0.0, 0.0], [492.0] * 2)


def test_wandering_where_it_stood_is_no_passing():
    """12 m to and fro."""
    assert ways((0, [100, 112, 100, 112, 100]))[0] == ([], [])


def test_off_the_road_nothing_was_passed():
    """Between two legs there is none."""
    found = ways((0, range(0, 101, 12)), (-1, [np.nan] * 5), (1, range(0, 101, 12)))[0]

    assert found == ([0.0, 10000.0], [96.0, 10096.0])


def test_a_leg_without_looks_is_not_on_the_axis():
    """Nor is a drive that has no fixes."""
    assert ways((1, range(0, 101, 12)), looked={("d", "A"): BOTH})[0] == ([], [])
    assert ways((0, []))[0] == ([], [])


def test_what_a_drive_never_tapped_it_did_not_look_for():
    """Covers only."""
    found = ways((0, range(0, 101, 12)), looked={("d", "A"): frozenset({1})})

    assert found == [([], []), ([0.0], [96.0])]
