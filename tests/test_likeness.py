"""What looks say, as chances: kinds, places across and sizes."""

import math

import numpy as np
import pytest
from builders import CB, KINDS, MH, SMH, WV
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays
from scipy.special import logsumexp

from routeprep.likeness import across_said, kinds_said, log_sum, sizes_said

WIRE = KINDS.find("low wire").code


@given(arrays.arrays(np.float64, (3, 5), elements=st.floats(-800.0, 50.0)))
def test_the_log_of_a_sum_is_that_of_another_library(logs):
    """scipy.special.logsumexp."""
    assert log_sum(logs) == pytest.approx(logsumexp(logs, axis=-1), abs=1e-9)


def test_a_wrong_name_falls_evenly_on_the_others_of_the_group():
    """5 %, shared by the 18 other kinds of iron, and held to be three times rarer than it is."""
    said = kinds_said([SMH, WV, WV], KINDS, wrong_share=0.05)
    others = sum(kind.group == KINDS.kinds[SMH].group for kind in KINDS.kinds.values()) - 1
    own, wrong = np.exp(said.rows)[0]

    assert said.of_look.tolist() == [0, 1, 1]
    assert own == pytest.approx(0.95)
    assert wrong == pytest.approx(0.05 / others / 3)


def test_the_general_word_suits_each_exact_kind_but_not_the_other_way():
    """Who says manhole may mean a sewer manhole; who says sewer manhole means that."""
    said = kinds_said([MH, SMH], KINDS, wrong_share=0.05)
    general, exact = (sorted({MH, SMH}).index(code) for code in (MH, SMH))

    assert said.rows[general, exact] > said.rows[exact, general] + math.log(100)


def test_another_groups_name_is_next_to_never_said():
    """A wire is no catch basin, even where wrong names are said never to happen."""
    for wrong_share in (0.0, 0.05):
        said = kinds_said([CB, WIRE], KINDS, wrong_share=wrong_share)

        assert said.rows[0, 1] == pytest.approx(math.log(1e-15))


def test_an_offset_is_likeliest_in_its_own_cell_and_possible_in_every():
    """Words across that conflict cost; they do not forbid."""
    said = across_said(np.array([2.7, -2.7, np.nan]), np.array([0.5, 0.5, np.nan]))
    right, left = (int(np.argmax(said.rows[row])) for row in said.of_look[:2])

    assert right > left
    assert said.rows[said.of_look[0], left] > math.log(0.0001)
    assert np.ptp(said.rows[said.of_look[2]]) == 0
    assert np.exp(said.usual).sum() == pytest.approx(1.0)


def test_how_likely_an_offset_is_follows_the_normal_distribution():
    """Two cells, one standard deviation apart: exp(-1/2) but for the 2 % that are plainly wrong."""
    said = across_said(np.array([0.375, 9.0]), np.array([0.75, 0.75]))
    here = said.rows[said.of_look[0]]
    best = int(np.argmax(here))
    wrong = 0.02 / 3 / 30
    right = np.exp(here[[best, best + 1]]) - wrong

    assert right[1] / right[0] == pytest.approx(math.exp(-0.5), rel=0.06)


def test_what_lies_far_out_lies_in_the_outermost_cell():
    """A hydrant 25 m off the line is as far out as can be told."""
    said = across_said(np.array([0.0, 25.0, -25.0]), np.full(3, 2.0))

    assert np.argmax(said.rows[said.of_look], axis=1).tolist()[1:] == [said.rows.shape[1] - 1, 0]


def test_sizes_are_told_apart_by_their_words():
    """However they are spaced; who says none speaks for none."""
    one, same, other, none = sizes_said(["24 in", "24IN", "48 in", ""]).of_look.tolist()
    rows = sizes_said([""]).rows

    assert one == same != other
    assert np.ptp(rows[none]) == 0
    assert np.exp(rows[:none]).sum(axis=0) == pytest.approx(1.0)
