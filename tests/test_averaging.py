"""Many looks at one thing to one place: what is shared counts once, what cancels cancels."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_looks import MARK, back, lateness, look, people, record, walked

from routeprep.averaging import best_looks, merged_along, merged_offset

ONE, NOBODY = people(lateness("one")), people()


def by_one(item_id, **changes):
    """A look of a person whose lateness is known, with 2.5 m of its own."""
    return look(item_id, **({"person": "one", "along_sd_m": 2.5} | changes))


def across(*looks, **marks):
    """Merged offset of looks; further words of a mark by its id."""
    rows = {one.item_id: MARK | marks.get(one.item_id, {}) for one in looks if one.is_mark}
    return merged_offset(looks, rows)


def test_the_best_looks_are_those_of_the_best_method():
    """Wheeled before walked before vehicle before file, all of them."""
    looks = [record("r"), look("a"), walked("w"), walked("x")]

    assert [one.item_id for one in best_looks(looks)] == ["w", "x"]
    assert [one.item_id for one in best_looks(looks[:1])] == ["r"]


def test_independent_looks_weigh_by_their_variances():
    """Textbook: weights 1/4 and 1/16, variance 1 / (1/4 + 1/16) (hand calculation)."""
    one, other = look("a", along_sd_m=2.0), back("b", along_sd_m=4.0, along_m=105.0)
    got = merged_along([one, other], NOBODY)

    assert got == pytest.approx((101.0, math.sqrt(3.2)))


def test_one_look_up_and_one_down_cancel_the_shared_lateness():
    """At one speed only their own doubt is left: 2.5 m over the square root of two."""
    up, down = by_one("u"), by_one("d", travel=-1, along_m=96.0, drive_id="back")
    mean_m, sd_m = merged_along([up, down], ONE)

    assert mean_m == pytest.approx(98.0)
    assert sd_m == pytest.approx(2.5 / math.sqrt(2.0))


def test_two_looks_in_one_direction_keep_the_shared_lateness():
    """Var(1/2 (a + b)) = own / 2 + v^2 s^2 - 2 v c + l^2 = 3.125 + 4 - 2 + 1 (by hand)."""
    _, sd_m = merged_along([by_one("a"), by_one("b", drive_id="again")], ONE)

    assert sd_m == pytest.approx(math.sqrt(3.125 + 3.0))


def test_one_look_has_its_own_doubt_and_its_persons():
    """2.5^2 + 3 (as above)."""
    assert merged_along([by_one("a")], ONE) == pytest.approx((100.0, math.sqrt(9.25)))


def test_two_persons_who_are_late_together_do_not_cancel():
    """Only their sum is known: what one is too late by, the other is too early by.

    Up and down at 10 m/s, 0.2 s each, all of it shared against each other: half the difference
    of -0.2 s and 0.2 s is 2 m; 3.125 m2 are their own (by hand).
    """
    sure = {"lead_sd_m": 0.0, "late_lead_sm": 0.0}
    covariance = np.zeros((4, 4))
    covariance[:2, :2] = [[0.04, -0.04], [-0.04, 0.04]]
    known = people(lateness("one", **sure), lateness("two", **sure), both=covariance)
    looks = [by_one("a"), by_one("b", person="two", travel=-1, drive_id="back")]

    assert merged_along(looks, known)[1] == pytest.approx(math.sqrt(3.125 + 4.0))


def test_travel_that_is_not_known_shares_nothing():
    """It may be off to either side: as sure as two persons."""
    looks = [by_one("a"), by_one("b", travel=0, drive_id="again")]

    assert merged_along(looks, ONE)[1] == pytest.approx(math.sqrt(9.25 / 2))


def test_a_person_nobody_knows_shares_all_that_is_not_his_own():
    """In one direction; 4^2 own and 3^2 shared of 5^2: 16 / 2 + 9."""
    usual = {"along_sd_m": 5.0, "own_sd_m": 4.0, "person": "two"}
    one, other = look("a", **usual), look("b", drive_id="again", **usual)
    down = back("d", **usual)

    assert merged_along([one, other], NOBODY)[1] == pytest.approx(math.sqrt(17.0))
    assert merged_along([one, down], NOBODY)[1] == pytest.approx(math.sqrt(12.5))


def test_a_mark_placed_by_its_own_position_is_not_late_by_seconds():
    """Its speed is not known; what is not its own stays shared with others of that sort."""
    usual = {"along_sd_m": 5.0, "own_sd_m": 4.0, "speed_mps": math.nan}
    looks = [by_one("a", **usual), by_one("b", drive_id="again", **usual)]

    assert merged_along(looks, ONE)[1] == pytest.approx(math.sqrt(17.0))


def test_two_taps_of_one_passing_are_no_surer_than_one():
    """A person joined them; they share the receiver's error."""
    _, sd_m = merged_along([by_one("a"), by_one("b", along_m=101.0, driven_m=101.0)], ONE)

    assert sd_m == pytest.approx(math.sqrt(9.25))


def test_looks_that_disagree_widen_the_doubt_by_their_ratio():
    """60 m apart, 7 m each: chi-square is 60^2 / 98, the deviation half the distance."""
    mean_m, sd_m = merged_along([look("a"), back("b", along_m=160.0)], NOBODY)

    assert (mean_m, sd_m) == pytest.approx((130.0, 30.0))


def test_what_chance_explains_widens_nothing():
    """Two looks 1.95 deviations apart are no sign of anything (chi-square: 3.84, any table)."""
    below, above = 1.95 * math.sqrt(98.0), 1.97 * math.sqrt(98.0)

    assert merged_along([look("a"), back("b", along_m=100 + below)], NOBODY)[1] < 5.0
    assert merged_along([look("a"), back("b", along_m=100 + above)], NOBODY)[1] > 9.0


def drawn(rng, count):
    """Looks of two persons at a thing 100 m along, with errors as their lateness has them."""
    made = {
        name: rng.multivariate_normal([0, 0], [[0.04, 0.1], [0.1, 1.0]]) for name in ("one", "two")
    }
    looks = []
    for k in range(count):
        name, way = ("one", "two")[k % 2], int(rng.choice([-1, 1]))
        speed_mps, own_sd_m = rng.uniform(7.0, 20.0), rng.uniform(1.5, 4.0)
        off_m = way * (speed_mps * made[name][0] - made[name][1]) + rng.normal(0.0, own_sd_m)
        looks.append(look(
            f"m{k}", person=name, travel=way, speed_mps=speed_mps, own_sd_m=own_sd_m,
            along_m=100.0 + off_m, drive_id=f"d{k}",
        ))  # fmt: skip
    return looks


@pytest.mark.parametrize("count", [1, 2, 3, 5, 8])
def test_intervals_cover_what_they_say(count):
    """Errors drawn as the model has them: 95 % of the intervals hold the truth (issue: 92-98 %)."""
    both = people(lateness("one"), lateness("two"))
    rng = np.random.default_rng(count)
    held = [
        abs(mean_m - 100.0) <= 1.959964 * sd_m
        for mean_m, sd_m in (merged_along(drawn(rng, count), both) for _ in range(2000))
    ]

    assert 0.935 <= np.mean(held) <= 0.965


def test_the_weights_are_those_of_the_textbook():
    """(1' S^-1 y) / (1' S^-1 1), with S put together term by term and inverted whole."""
    looks = drawn(np.random.default_rng(5), 6)
    late = np.array([[0.04, 0.1], [0.1, 1.0]])
    s = np.zeros((6, 6))
    for i, one in enumerate(looks):
        for j, other in enumerate(looks):
            here, there = ([x.travel * x.speed_mps, -x.travel] for x in (one, other))
            s[i, j] = (np.array(here) @ late @ there) * (one.person == other.person)
            s[i, j] += one.own_sd_m**2 * (i == j)
    y, ones, inverse = np.array([one.along_m for one in looks]), np.ones(6), np.linalg.inv(s)
    wanted = (ones @ inverse @ y) / (ones @ inverse @ ones)
    got = merged_along(looks, people(lateness("one"), lateness("two")))

    assert got == pytest.approx((wanted, (ones @ inverse @ ones) ** -0.5))


@given(st.permutations(range(5)))
def test_the_order_of_looks_changes_nothing(order):
    """Beyond the last digits."""
    looks = drawn(np.random.default_rng(11), 5)

    assert merged_along([looks[i] for i in order], ONE) == pytest.approx(
        merged_along(looks, ONE), rel=1e-12
    )


def test_words_about_a_lane_share_what_they_leave_open():
    """However often it is said, the outer wheel path is as wide as it is."""
    looks = [look("a"), back("b"), back("c", drive_id="third")]

    assert across(*looks) == pytest.approx((2.7, 0.55))


def test_offsets_that_were_measured_add_up():
    """Taped twice, or in two files: the deviation falls by the square root of two."""
    taped = {"method": "taped", "offset_sd_m": 0.3, "lane": "R1"}
    said = {"said_offset": "9 RT"}
    looks = walked("a", **taped), walked("b", offset_m=2.9, **taped)
    files = record("r"), record("s", source="other.geojson")

    assert across(*looks, a=said, b=said) == pytest.approx((2.8, 0.3 / math.sqrt(2.0)))
    assert across(*files) == pytest.approx((2.7, 2.0 / math.sqrt(2.0)))


def test_offsets_that_contradict_each_other_are_not_sure():
    """One says right, one left: the middle, and as unsure as they are apart."""
    mean_m, sd_m = across(look("a"), back("b", lane="L1", offset_m=-2.7))

    assert mean_m == pytest.approx(0.0)
    assert 2.7 <= sd_m <= 5.4
