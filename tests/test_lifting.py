"""Where the drum is out in one pass: contact, joined lifts, and what is to be skipped."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_meetings import INCH_M, ft
from made_work import leg

from routeprep.lifting import Lift, contact_m, joined_lifts, skip_of


def lift(first_m, last_m, *members, ahead_m=1.0, behind_m=1.0):
    """A lift over things from one place to another."""
    return Lift(first_m=first_m, last_m=last_m, out_m=first_m - ahead_m, down_m=last_m + behind_m,
                members=members)  # fmt: skip


@pytest.mark.parametrize(
    ("diameter_in", "depth_in", "half_chord_in"),
    [
        (40.0, 2.0, math.sqrt(2 * 20 * 2 - 4)),  # sqrt(76) = 8.718 in, by hand
        (40.0, 4.0, 12.0),  # the 12-16-20 triangle
        (10.0, 2.0, 4.0),  # the 3-4-5 triangle
        (10.0, 5.0, 5.0),  # to its middle
        (10.0, 7.0, 5.0),  # deeper than its middle it is no longer
        (10.0, 0.0, 0.0),
        (math.nan, 2.0, 0.0),  # not known: nothing is added, and the plan says so
        (40.0, math.nan, 0.0),
    ],
)
def test_contact_is_the_half_chord_at_that_depth(diameter_in, depth_in, half_chord_in) -> None:
    """Triangles by hand."""
    got_m = contact_m(diameter_in * INCH_M, np.array([depth_in * INCH_M]))

    assert got_m[0] / INCH_M == pytest.approx(half_chord_in)


def test_things_nearer_than_the_join_distance_are_one_lift() -> None:
    """As near as it are two; far lifts stay."""
    lifts = [lift(0.0, 0.0, 0), lift(5.9, 8.0, 1), lift(14.0, 14.0, 2)]

    assert [one.members for one in joined_lifts(lifts, join_m=6.0)] == [(0, 1), (2,)]
    (one, _) = joined_lifts(lifts, join_m=6.0)
    assert (one.first_m, one.last_m, one.out_m, one.down_m) == (0.0, 8.0, -1.0, 9.0)


def test_a_lift_that_begins_while_the_drum_is_out_is_the_same_one() -> None:
    """Also where a wide clearance reaches back over one that was done."""
    lifts = [lift(0.0, 0.0, 0), lift(10.0, 10.0, 1), lift(30.0, 30.0, 2, ahead_m=25.0)]
    wide = [*lifts[:2], lift(30.0, 30.0, 2, ahead_m=29.5)]

    assert [one.members for one in joined_lifts(lifts, join_m=1.0)] == [(0,), (1, 2)]
    assert [one.members for one in joined_lifts(wide, join_m=1.0)] == [(0, 1, 2)]


@given(st.lists(st.tuples(st.floats(0, 500), st.floats(0, 30), st.floats(0, 40)), max_size=15),
       st.floats(0, 20))  # fmt: skip
def test_joined_lifts_are_apart_and_hold_all(some, join_m) -> None:
    """Each thing once, and no two lifts that are left are near; joining again changes nothing."""
    lifts = [lift(first_m, first_m + long_m, number, ahead_m=ahead_m)
             for number, (first_m, long_m, ahead_m) in enumerate(sorted(some))]  # fmt: skip
    made = joined_lifts(lifts, join_m=join_m)

    assert [member for one in made for member in one.members] == list(range(len(lifts)))
    assert joined_lifts(made, join_m=join_m) == made
    for one, other in itertools.pairwise(made):
        assert other.first_m - one.last_m >= join_m
        assert other.out_m > one.down_m


@pytest.mark.parametrize(
    "said",
    ["SKIP 12+00 to 13+50", "SKIP: from 12+00 to 13+50", "SKIP 12+00-13+50", "SKIP 13+50 to 12+00",
     "SKIP 12+00.00 TO 13+50 for the bridge deck", "SKIP 1200 ft to 1350 ft"],
)  # fmt: skip
def test_skip_says_from_and_to(said) -> None:
    """However it is written; the leg begins at 10+00."""
    got = skip_of(said, leg())

    assert (got.from_m, got.to_m) == pytest.approx((ft(200), ft(350)))


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ("SKIP", "'' is not a station"),
        ("SKIP the deck", "'the deck' is not a station"),
        ("SKIP 12+00", "is one station, not from and to"),
        ("SKIP 12+00 to 13+50 and 14+00 to 15+00", "is not a station"),
    ],
)
def test_a_skip_that_says_no_stretch_says_why(said, why) -> None:
    """Nothing is guessed."""
    got = skip_of(said, leg())

    assert math.isnan(got.from_m)
    assert why in got.why
