"""The things found so far and the moves that change them."""

import numpy as np
import pytest
from builders import SMH, WV
from hypothesis import given
from hypothesis import settings as examples
from hypothesis import strategies as st
from scipy.optimize import linear_sum_assignment
from test_odds import evidence, scale_of

from routeprep import things as moves
from routeprep.odds import log_fit
from routeprep.things import Things, best_match


@st.composite
def tables_of_gains(draw):
    """Which rows may have which columns, and what they gain."""
    shape = draw(st.tuples(st.integers(1, 7), st.integers(1, 7)))
    cells = st.one_of(st.none(), st.integers(-3, 9))
    rows = st.lists(cells, min_size=shape[1], max_size=shape[1])
    return draw(st.lists(rows, min_size=shape[0], max_size=shape[0]))


@given(tables_of_gains())
@examples(max_examples=200)
def test_the_best_match_is_that_of_another_library(table):
    """scipy's dense solver, at no gain where a pair may not be or would lose."""
    pairs = [(i, j, g) for i, row in enumerate(table) for j, g in enumerate(row) if g is not None]
    rows, columns, gain = np.array(pairs, dtype=np.float64).reshape(-1, 3).T
    found = best_match(rows.astype(int), columns.astype(int), gain, len(table))
    dense = np.array([[max(g or 0, 0) for g in row] for row in table])
    one, other = linear_sum_assignment(-dense)
    used = found[found >= 0].tolist()

    assert len(set(used)) == len(used)
    assert (
        sum(table[i][j] for i, j in enumerate(found.tolist()) if j >= 0) == dense[one, other].sum()
    )


def matched(looks, *passings):
    """Things after matching passings in order."""
    made = Things(scale_of(looks), np.full(len(looks.along_m), -1))
    for rows in passings:
        made.match(np.array(rows))
    return made


def sets(thing):
    """Looks of each thing."""
    return sorted(np.flatnonzero(thing == n).tolist() for n in set(thing.tolist()))


def test_a_passing_is_matched_as_a_whole():
    """Each look would rather have the first thing; one look of a passing, one thing."""
    looks = evidence([0.0, 12.0, 2.0, 5.0], passing=np.array([0, 0, 1, 1]))

    assert sets(matched(looks, [0, 1], [2, 3]).thing) == [[0, 2], [1, 3]]


def test_matching_again_where_nothing_changed_changes_nothing():
    """And says so."""
    looks = evidence([0.0, 30.0, 2.0, 31.0], passing=np.array([0, 0, 1, 1]))
    made = matched(looks, [0, 1], [2, 3])
    before, never = made.thing.tolist(), np.full(2, -1)
    rows = [np.array([0, 1]), np.array([2, 3])]

    assert not made.match(rows[1])
    assert not made.match_again(rows, never)
    assert not made.match_again(rows, never)
    assert made.thing.tolist() == before


def test_looks_that_clash_are_at_two_things():
    """Though they lie at one place in two passings."""
    looks = evidence([0.0, 0.0], clashes={0: frozenset({1}), 1: frozenset({0})})
    made = matched(looks, [0], [1])

    assert sets(made.thing) == [[0], [1]]
    assert not made.join()


def test_neighbours_that_no_passing_tells_apart_are_joined():
    """Two things of two looks each, where one of four is likelier."""
    looks = evidence([0.0, 1.0, 0.5, 1.5])
    made = Things(scale_of(looks), np.array([0, 0, 1, 1]))

    assert made.join()
    assert sets(made.thing) == [[0, 1, 2, 3]]


def test_neighbours_that_one_passing_saw_both_are_not_joined():
    """It tapped twice."""
    looks = evidence([0.0, 1.0], passing=np.array([0, 0]))

    assert not matched(looks, [0, 1]).join()


@pytest.mark.parametrize(
    ("along_m", "kinds"),
    [([0.0, 1.0, 28.0, 29.0], [SMH] * 4), ([0.0, 1.0, 0.0, 1.0], [SMH, SMH, WV, WV])],
)
def test_what_is_likelier_two_is_parted(along_m, kinds, monkeypatch):
    """By place or by what was said; however few looks are weighed at a time."""
    monkeypatch.setattr(moves, "_CHUNK", 2)
    made = Things(scale_of(evidence(along_m, kinds=kinds)), np.zeros(4, dtype=np.int64))

    assert made.part(-1)
    assert sets(made.thing) == [[0, 1], [2, 3]]
    assert not made.part(made.clock)


@st.composite
def passings_of_looks(draw):
    """Looks of four passings within 80 m."""
    count = draw(st.integers(2, 12))
    along_m = sorted(draw(st.lists(st.integers(0, 80), min_size=count, max_size=count)))
    passing = np.array(draw(st.lists(st.integers(0, 3), min_size=count, max_size=count)))
    kinds = draw(st.lists(st.sampled_from((SMH, WV)), min_size=count, max_size=count))
    return evidence(along_m, passing=np.unique(passing, return_inverse=True)[1], kinds=kinds)


@given(passings_of_looks())
@examples(max_examples=60)
def test_no_move_makes_the_whole_less_likely_or_two_taps_one(looks):
    """Matching again, joining and parting, in turn."""
    rows = [np.flatnonzero(looks.passing == n) for n in range(looks.passing.max() + 1)]
    made = matched(looks, *rows)
    never = np.full(len(rows), -1)
    fits = [log_fit(made.scale, made.thing)]
    for move in (
        lambda: made.match_again(rows, never.copy()),
        made.join,
        lambda: made.part(-1),
    ) * 2:
        move()
        fits.append(log_fit(made.scale, made.thing))

    assert np.diff(fits).min() > -1e-6
    assert all(len(set(made.thing[one].tolist())) == len(one) for one in rows)
