"""How likely it is that looks are at one thing, held to other libraries' distributions."""

import math

import numpy as np
import pytest
from builders import KINDS, SMH, WV
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats
from scipy.special import logsumexp

from routeprep.likeness import across_said, kinds_said
from routeprep.odds import Evidence, Scale, alone, gains, joined, log_fit, of_things
from routeprep.shapes import Defaults


def evidence(along_m, **changes):
    """Taps at sewer manholes, each in a passing of its own by a person of its own."""
    n = len(along_m)
    kinds = changes.pop("kinds", [SMH] * n)
    offset_m = np.asarray(changes.pop("offset_m", [np.nan] * n), dtype=np.float64)
    usual = {
        "along_m": np.asarray(along_m, dtype=np.float64),
        "sd_m": np.full(n, 5.0),
        "shared_m": np.zeros(n),
        "person": np.full(n, -1),
        "passing": np.arange(n),
        "tapped": np.ones(n, dtype=bool),
        "said": (
            kinds_said(kinds, KINDS, wrong_share=0.05),
            across_said(offset_m, np.full(n, 0.5)),
        ),
        "clashes": {},
        "group_of_kind": np.zeros(len(set(kinds)), dtype=np.int64),
        "ways": (),
        "road_m": 1000.0,
    }
    return Evidence(**(usual | changes))


def scale_of(looks, *, late_sds=(), left_share=(), kinds=None):
    """A scale on which nothing is known of lateness."""
    people = int(looks.person.max()) + 1
    return Scale(
        looks,
        Defaults(),
        late_sds=np.array(late_sds or np.zeros(people)),
        left_share=np.array(left_share or np.ones(people)),
        kinds=np.full(len(looks.said[0].usual), 4.0) if kinds is None else np.array(kinds),
    )


def gain(looks):
    """Gain of joining the first two looks."""
    scale, row = scale_of(looks), np.array([0])
    both = alone(scale, np.array([0, 1]))
    return float(gains(scale, both, row, both, row + 1)[0])


def test_the_gain_of_two_looks_is_bayes_factor_by_numerical_integration():
    """Places of a thing anywhere on the road, against two of them; scipy's quad and betabinom."""
    ways = (np.full(4, -100.0), np.full(4, 900.0))
    looks = evidence([0.0, 9.0], ways=(ways,))
    near = stats.norm(0.0, 5.0)
    one_place, _ = integrate.quad(lambda x: near.pdf(x) * near.pdf(x - 9.0), -60.0, 60.0)
    rate = 5.0 / 1300.0  # four and one more on 1,000 m and 300 m more

    def seen(k):
        return stats.betabinom.logpmf(k, 4, 2.8, 1.2) - math.log(math.comb(4, k))

    expected = math.log(one_place / rate) + seen(2) - 2 * seen(1)

    assert gain(looks) == pytest.approx(expected, abs=1e-6)


def test_a_second_name_costs_what_the_chances_say():
    """A sewer manhole and a valve at one place, of which there are equally many."""
    same, other = gain(evidence([0.0, 0.0])), gain(evidence([0.0, 0.0], kinds=[SMH, WV]))
    wrong = 0.05 / 18 / 3
    rate = 5.0 / 1300.0
    one = logsumexp([math.log(rate * 0.95 * wrong)] * 2)
    two = 2 * math.log(rate * (0.95 + wrong))

    assert other - same == pytest.approx(one - two + math.log(rate), abs=1e-6)


def test_conflicting_sides_cost_and_agreeing_ones_gain():
    """Beside looks that do not know."""
    unknown = gain(evidence([0.0, 3.0]))

    assert gain(evidence([0.0, 3.0], offset_m=[2.7, 2.7])) > unknown
    assert -8 < gain(evidence([0.0, 3.0], offset_m=[2.7, -2.7])) - unknown < -1


def test_many_who_passed_and_saw_one_thing_only_speak_for_one():
    """The more, the more."""
    gained = [
        gain(evidence([0.0, 12.0], ways=((np.full(n, -9.0), np.full(n, 99.0)),)))
        for n in (2, 4, 40)
    ]

    assert gained == sorted(gained)


def test_what_is_known_of_lateness_is_taken_off_and_what_is_left_is_doubt():
    """One standard deviation of 8 m, a quarter of the variance left: hypot(5, 4)."""
    looks = evidence([100.0, 50.0], shared_m=np.array([8.0, 0.0]), person=np.array([0, -1]))
    scale = scale_of(looks, late_sds=[1.0], left_share=[0.25])

    assert scale.along_m.tolist() == [92.0, 50.0]
    assert (1 / np.sqrt(scale.weight_per_m2)).tolist() == pytest.approx([math.hypot(5, 4), 5.0])
    scale.move(0, 0.5)
    assert scale.along_m.tolist() == [88.0, 50.0]


def test_things_farther_apart_than_three_standard_deviations_never_meet():
    """7.07 m for two looks of 5 m."""
    scale = scale_of(evidence([0.0, 21.0, 22.0]))
    sums = alone(scale, np.arange(3))

    assert scale.may_meet(sums, np.array([0, 0]), sums, np.array([1, 2])).tolist() == [True, False]


def test_only_those_count_as_having_missed_a_thing_who_looked_for_such():
    """Ten passed who tap patches only: one thing is no likelier than if nobody had passed."""
    nobody = (np.zeros(0), np.zeros(0))
    ten = (np.full(10, -9.0), np.full(10, 99.0))
    looks = [evidence([0.0, 12.0], ways=ways) for ways in ((), (nobody, ten), (ten, nobody))]

    assert gain(looks[1]) == pytest.approx(gain(looks[0]))
    assert gain(looks[2]) > gain(looks[0])


@st.composite
def grouped_looks(draw):
    """Looks within 100 m, and the number of the thing of each."""
    n = draw(st.integers(2, 8))
    along_m = draw(st.lists(st.floats(0.0, 100.0), min_size=n, max_size=n))
    kinds = draw(st.lists(st.sampled_from((SMH, WV)), min_size=n, max_size=n))
    thing = draw(st.lists(st.integers(0, 3), min_size=n, max_size=n))
    return evidence(along_m, kinds=kinds), np.unique(thing, return_inverse=True)[1]


@given(grouped_looks())
def test_joining_gains_what_the_whole_becomes_likelier(made):
    """The gain of the first two things is the difference of the sums over all."""
    looks, thing = made
    scale = scale_of(looks)
    if thing.max() > 0:
        sums, row = of_things(scale, thing), np.array([0])
        after = np.where(thing == 1, 0, thing)
        expected = log_fit(scale, after) - log_fit(scale, thing)

        assert gains(scale, sums, row, sums, row + 1)[0] == pytest.approx(expected, abs=1e-6)


@given(grouped_looks())
def test_what_is_put_to_a_thing_and_taken_out_again_leaves_no_trace(made):
    """But for rounding."""
    looks, thing = made
    scale, row = scale_of(looks), np.array([0])
    one, other = of_things(scale, thing).take(row), alone(scale, row)
    back = joined(scale, joined(scale, one, other), other, times=-1)

    assert back.mean_m == pytest.approx(one.mean_m, abs=1e-6)
    assert back.words == pytest.approx(one.words, abs=1e-6)
    assert back.taps.tolist() == one.taps.tolist()


def test_rows_can_be_written_over_and_room_made():
    """Row 1 in the place of row 0, and an empty row more."""
    scale = scale_of(evidence([0.0, 30.0]))
    sums = alone(scale, np.arange(2)).longer(1)
    sums.put(np.array([0]), sums.take(np.array([1])))

    assert sums.mean_m.tolist() == [30.0, 30.0, 0.0]
    assert sums.said[0].shape[0] == 3
