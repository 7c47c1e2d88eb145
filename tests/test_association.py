"""Looks to things: the grouping that is most likely of all."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import settings as examples
from test_odds import evidence
from test_things import passings_of_looks, sets

from routeprep.association import associate
from routeprep.shapes import Defaults
from routeprep.things import Things

THINGS_M = np.cumsum([0.0, 22, 31, 25, 60, 28, 19, 45, 33, 24, 52, 27])


def found(looks):
    """Looks of each thing."""
    return sets(associate(looks, Defaults()).thing)


def opposite(late_m, *, shared_m=12.0, persons=(0, 1)):
    """Two drives in opposite directions that tap every thing, each so far past it."""
    n = len(THINGS_M)
    along_m = np.r_[THINGS_M + late_m, THINGS_M - late_m]
    order = np.argsort(along_m, kind="stable")
    way = np.r_[np.ones(n), -np.ones(n)]
    person = np.repeat(persons, n)
    looks = evidence(
        along_m[order], passing=np.repeat([0, 1], n)[order], person=person[order],
        shared_m=(shared_m * way)[order],
    )  # fmt: skip
    return looks, sorted(sorted(np.flatnonzero(order % n == i).tolist()) for i in range(n))


@pytest.mark.parametrize("late_m", [-14.0, 0.0, 14.0])
def test_opposite_drives_with_one_lateness_find_each_other(late_m):
    """28 m between the marks of each thing, which is as far as to the next."""
    looks, pairs = opposite(late_m)

    assert found(looks) == pairs


def test_a_lateness_that_two_looks_cannot_tell_stays_doubt():
    """Nobody moves 24 m on the word of one pair."""
    looks = evidence(
        [0.0, 24.0], shared_m=np.array([4.0, -4.0]), person=np.array([0, 1]), sd_m=np.full(2, 4.0)
    )

    assert found(looks) == [[0], [1]]


def test_records_are_matched_too():
    """A file's rows are tapped by nobody, and no passing missed them."""
    looks = evidence([0.0, 3.0, 40.0, 41.0], passing=np.array([0, 1, 0, 1]),
                     tapped=np.array([False, True, False, True]))  # fmt: skip

    assert found(looks) == [[0, 1], [2, 3]]


def test_that_others_passed_and_saw_nothing_speaks_for_one_thing():
    """14 m apart with six passings; with nobody else about the two stay two."""
    for count, expected in ((0, [[0], [1]]), (12, [[0, 1]])):
        ways = ((np.full(count, -50.0), np.full(count, 90.0)),) if count else ()

        assert found(evidence([0.0, 17.0], ways=ways, road_m=100.0)) == expected


def test_after_five_rounds_it_ends(monkeypatch):
    """Even if something changed in each."""
    monkeypatch.setattr(Things, "join", lambda _: True)

    assert len(associate(evidence([0.0, 3.0]), Defaults()).log_fits) == 6


@given(passings_of_looks())
@examples(max_examples=40)
def test_the_last_rounds_never_make_the_whole_less_likely(looks):
    """And two looks of one passing are at two things."""
    made = associate(looks, Defaults())
    rows = [np.flatnonzero(looks.passing == n) for n in range(looks.passing.max() + 1)]

    assert np.diff(made.log_fits).min() > -1e-6
    assert all(len(set(made.thing[one].tolist())) == len(one) for one in rows)
