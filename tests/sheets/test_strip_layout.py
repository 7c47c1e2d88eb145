"""Labels along a strip: none over another, none over a leader, no two leaders crossing."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize

from routeprep.sheets.strip_layout import apart, rows_needed, spread

ROOM_PT = 1000.0
labels = st.lists(st.tuples(st.floats(0.0, ROOM_PT), st.floats(10.0, 90.0)), max_size=40).map(
    sorted
)


def of(pairs):
    """Places and widths, each in a list."""
    return [at for at, _ in pairs], [width for _, width in pairs]


def test_labels_with_room_stay_where_they_belong():
    """100 apart and 50 wide."""
    assert apart([100.0, 200.0], [50.0, 50.0], room_pt=ROOM_PT) == [100.0, 200.0]


def test_two_labels_of_one_place_part_evenly():
    """40 and 60 wide: 50 apart, about the middle they share."""
    assert apart([500.0, 500.0], [40.0, 60.0], room_pt=ROOM_PT) == [475.0, 525.0]


def test_labels_stay_within_the_strip():
    """At both ends half a label's width inside."""
    assert apart([0.0, ROOM_PT], [50.0, 80.0], room_pt=ROOM_PT) == [25.0, 960.0]
    assert apart([], [], room_pt=ROOM_PT) == []


@pytest.mark.parametrize("seed", range(5))
def test_labels_move_as_little_as_may_be(seed):
    """Least squares under the order, against scipy's general solver to 0.1 pt."""
    rng = np.random.default_rng(seed)
    wanted, widths = np.sort(rng.uniform(0, 400, 9)), rng.uniform(20, 60, 9)
    gaps = (widths[1:] + widths[:-1]) / 2
    bounds = [(w / 2, 500 - w / 2) for w in widths]
    solved = minimize(
        lambda x: np.sum((x - wanted) ** 2), np.cumsum([widths[0] / 2, *gaps]), bounds=bounds,
        constraints={"type": "ineq", "fun": lambda x: np.diff(x) - gaps}, method="SLSQP",
    )  # fmt: skip

    np.testing.assert_allclose(
        apart(wanted.tolist(), widths.tolist(), room_pt=500.0), solved.x, atol=0.1
    )


def test_few_labels_take_one_row():
    """No reason for another."""
    placed = spread([100.0, 300.0], [50.0, 50.0], room_pt=ROOM_PT, most=4)

    assert [one.row for one in placed] == [0, 0]
    assert rows_needed(placed) == 1


def test_a_crowd_takes_more_rows():
    """Ten labels of 80 at one place would stand 360 off in one row."""
    placed = spread([500.0] * 10, [80.0] * 10, room_pt=ROOM_PT, most=4)

    assert rows_needed(placed) > 1


def test_more_labels_than_rows_hold_are_refused():
    """30 of 80 are 2,400 wide; two rows hold 2,000."""
    assert spread([500.0] * 30, [80.0] * 30, room_pt=ROOM_PT, most=2) is None
    assert rows_needed([]) == 0


@given(labels)
def test_no_label_lies_over_another_or_over_a_leader(pairs):
    """Law: in each row what passes keeps its distance, and keeps its order."""
    wanted, widths = of(pairs)
    placed = spread(wanted, widths, room_pt=ROOM_PT, most=6)

    for row in range(rows_needed(placed)):
        here = [
            (one.turns_pt[row], width if one.row == row else 0.0)
            for one, width in zip(placed, widths, strict=True)
            if one.row >= row
        ]
        for (a, wide), (b, wide_too) in pairwise(here):
            assert b - a >= (wide + wide_too) / 2 - 1e-6


@given(labels)
def test_every_label_is_placed_once_within_the_strip(pairs):
    """Law: as many come out as go in."""
    wanted, widths = of(pairs)
    placed = spread(wanted, widths, room_pt=ROOM_PT, most=6)

    assert len(placed) == len(pairs)
    for one, width in zip(placed, widths, strict=True):
        assert width / 2 - 1e-6 <= one.turns_pt[-1] <= ROOM_PT - width / 2 + 1e-6
        assert len(one.turns_pt) == one.row + 1
