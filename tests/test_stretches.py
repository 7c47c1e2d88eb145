"""Stretches along a line."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from routeprep.stretches import long_enough, merged, shared, stretches_of


@st.composite
def some(draw):
    """Stretches in order that do not touch, in whole metres."""
    places = sorted(draw(st.sets(st.integers(0, 60), max_size=12)))
    places = places[: len(places) // 2 * 2]
    return [(float(one), float(two)) for one, two in zip(places[::2], places[1::2], strict=True)]


def metres(stretches):
    """The whole metres that stretches hold."""
    return {at for low, high in stretches for at in range(int(low), int(high))}


@given(st.lists(st.booleans(), min_size=1, max_size=20))
def test_stretches_hold_the_segments_that_are_inside(inside: list[bool]) -> None:
    """Each segment a metre long."""
    got = stretches_of(np.arange(len(inside) + 1.0), np.array(inside))

    assert metres(got) == {at for at, one in enumerate(inside) if one}
    assert len(merged(got, gap_m=0.0)) == len(got)


@given(some(), some())
def test_what_two_lists_share_is_in_both(one: list, two: list) -> None:
    """Counted metre by metre."""
    assert metres(shared(one, two)) == metres(one) & metres(two)
    assert shared(one, two) == shared(two, one)


def test_gaps_up_to_a_length_are_closed() -> None:
    """The gap itself still is; one stretch may lie within another."""
    assert merged([(0.0, 9.0), (2.0, 3.0), (12.0, 15.0), (19.0, 20.0)], gap_m=3.0) == [
        (0.0, 15.0),
        (19.0, 20.0),
    ]


@given(some())
def test_long_stretches_keep_what_they_were_and_stay_within(stretches: list) -> None:
    """None shorter than 10 m but where there is no room."""
    got = long_enough(stretches, least_m=10.0, within_m=(0.0, 60.0))

    assert metres(stretches) <= metres([(low // 1, -(-high // 1)) for low, high in got])
    assert all(high - low >= 10.0 and 0.0 <= low < high <= 60.0 for low, high in got)
    assert long_enough(stretches[:1], least_m=99.0, within_m=(0.0, 60.0)) == [
        (0.0, 60.0) for _ in stretches[:1]
    ]
