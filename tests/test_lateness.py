"""How late each person taps, from what was marked and recorded together."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import settings as examples
from hypothesis import strategies as st

from routeprep.lateness import NOBODY, people_of
from routeprep.merging import Group, Look
from routeprep.shapes import Defaults

USUAL = Defaults()
GPS_M = 3.0
# Variance of v late - lead at 10 m/s of somebody unknown: 100 times 0.36 s2 and 9 m2 [m2].
BEFORE_M2 = 45.0


def look(along_m, **changes):
    """A mark from a vehicle that runs up-station at 10 m/s, 10 m taken off."""
    speed = changes.get("speed_mps", 10.0)
    usual = {
        "item_id": f"m{along_m}", "is_mark": True, "leg": "A", "kind": "SMH", "seconds": 0.0,
        "along_m": along_m, "from_m": along_m, "to_m": along_m, "offset_m": 0.0,
        "along_sd_m": 8.0, "offset_sd_m": 1.0, "lane": "R1", "position": "", "drive_id": "",
        "source": "drive.gpx", "travel": 1, "person": "one", "speed_mps": speed,
        "late_m": speed, "own_sd_m": math.hypot(GPS_M, 0.35 * speed), "driven_m": math.nan,
        "by": "", "size": "", "name": "", "method": "vehicle", "past_end_m": 0.0, "doubt": "",
    }  # fmt: skip
    return Look(**(usual | changes))


def still(along_m, sd_m=1.0, **changes):
    """A mark on foot."""
    nobody = {"person": "", "travel": 0, "speed_mps": math.nan, "late_m": 0.0}
    return look(along_m, **(nobody | {"method": "walked", "own_sd_m": sd_m} | changes))


def record(along_m, source="covers.geojson"):
    """A record of a file."""
    return still(along_m, 2.0, is_mark=False, method="file", source=source)


def learned(*things, people=NOBODY, defaults=USUAL):
    """What the things tell; each is a list of looks."""
    groups = [Group(looks=tuple(looks)) for looks in things]
    return people_of(groups, defaults=defaults, people=people)


def one_of(*things, **more):
    """What they tell of the person called one."""
    return learned(*things, **more).of["one"]


def sd_m(late, speed_mps=10.0):
    """Standard deviation of how far past the thing the phone is."""
    moves = np.array([speed_mps, -1.0])
    both = late.late_lead_sm
    return math.sqrt(moves @ [[late.late_sd_s**2, both], [both, late.lead_sd_m**2]] @ moves)


def test_one_thing_found_on_foot_is_weighed_against_what_is_usual():
    """6 m too far at 10 m/s: by hand, a normal prior of 45 m2 and a look of 9 + 3.5^2 + 1 m2."""
    found_m2 = GPS_M**2 + 3.5**2 + 1.0
    late = one_of([look(106.0), still(100.0)])

    share = BEFORE_M2 / (BEFORE_M2 + found_m2)
    assert late.late_m(10.0) == pytest.approx(10.0 + 6.0 * share, rel=0.01)
    assert sd_m(late) == pytest.approx(math.sqrt(share * found_m2), rel=0.01)


def test_what_is_before_the_thing_is_a_lead_or_an_early_tap():
    """Of 6 m short, seconds take 36 parts of 45 and the lead 9, as their doubts are."""
    late = one_of([look(94.0), still(100.0)])

    assert (late.late_s - 1.0) * 10.0 / -late.lead_m == pytest.approx(4.0, rel=1e-6)


def test_different_speeds_tell_seconds_from_lead():
    """2 s late, 6 m lead, at 5 and 20 m/s: 4 m and 34 m past the thing."""
    slow = [[look(100.0 * k - 1.0, speed_mps=5.0), still(100.0 * k, 0.1)] for k in range(1, 41)]
    fast = [[look(100.0 * k + 14.0, speed_mps=20.0), still(100.0 * k, 0.1)] for k in range(41, 81)]
    late = one_of(*slow, *fast)

    assert late.late_s == pytest.approx(2.0, abs=0.1)
    assert late.lead_m == pytest.approx(6.0, abs=1.2)
    assert (late.told, late.things) == (True, 80)


def both_ways(count, apart_m, **more):
    """Things marked by one person up-station and by another down-station, apart by so much."""
    return [
        [
            look(100.0 * k + apart_m / 2, item_id=f"u{k}", **more),
            look(100.0 * k - apart_m / 2, item_id=f"d{k}", person="two", travel=-1, **more),
        ]
        for k in range(1, count + 1)
    ]


def test_two_persons_in_both_directions_tell_their_lateness_together():
    """20 m apart at 10 m/s, so each is 1 s later than was taken off."""
    people = learned(*both_ways(100, 20.0))

    assert [one.late_m(10.0) for one in people.of.values()] == pytest.approx([20.0, 20.0], abs=0.3)


def test_who_of_two_is_the_later_one_shifts_all_things_alike():
    """By hand: what is left is half the variance before, and no second look cancels it."""
    things = both_ways(400, 0.0)
    shared_m2 = learned(*things).shared_m2(things[0])

    expected_m2 = np.full((2, 2), BEFORE_M2 / 2)
    assert shared_m2 == pytest.approx(expected_m2, rel=0.02)


def test_a_person_who_drove_both_ways_leaves_no_such_shift():
    """There and back by one: known as well as 400 pairs tell it."""
    things = [[one, look(two.along_m, travel=-1)] for one, two in both_ways(400, 20.0)]
    people = learned(*things)

    assert people.of["one"].late_m(10.0) == pytest.approx(20.0, abs=0.2)
    assert people.shared_m2(things[0])[0, 0] < 0.1


def test_a_wrong_pair_hardly_counts():
    """One thing of eleven is another one, 60 m off."""
    things = [[look(100.0 * k + 3.0), still(100.0 * k)] for k in range(1, 11)]
    wrong = [look(5060.0), still(5000.0)]

    assert one_of(*things, wrong).late_m(10.0) == pytest.approx(
        one_of(*things).late_m(10.0), abs=0.3
    )


def test_marks_of_one_minute_share_the_receivers_error():
    """Twenty in twenty seconds tell little more of the drive's own error than one."""

    def drive(step_s):
        return [
            [look(50.0 * k, seconds=step_s * k, drive_id="d"), still(50.0 * k, 0.1)]
            for k in range(20)
        ]

    together, apart = sd_m(one_of(*drive(1.0))), sd_m(one_of(*drive(600.0)))
    least_m2 = 1.0 / (1.0 / BEFORE_M2 + 1.0 / (GPS_M**2 * 0.85))

    assert together > math.sqrt(least_m2) > 2.0 * apart


def test_what_a_drive_is_off_by_is_counted_once():
    """It is in the looks' own deviations, and so not again in what they share."""
    things = [
        [look(50.0 * k, seconds=float(k), drive_id="d"), still(50.0 * k, 0.1)] for k in range(40)
    ]
    people = learned(*things)

    assert people.shared_m2(things[0])[0, 0] < 0.2 * sd_m(people.of["one"]) ** 2


def test_marks_without_a_time_share_nothing():
    """A walked mark may have none."""
    late = one_of([look(103.0, drive_id="d"), still(100.0, drive_id="w", seconds=math.nan)])

    assert math.isfinite(late.late_s)


def test_a_file_that_is_off_misleads_nobody_who_drove_both_ways():
    """Three metres up-station: the person is late by the same both ways, the file is not."""
    things = [
        [look(100.0 * k + 5.0), look(100.0 * k - 5.0, travel=-1), record(100.0 * k + 3.0)]
        for k in range(1, 61)
    ]

    assert one_of(*things).late_m(10.0) == pytest.approx(15.0, abs=0.3)


def test_a_file_alone_leaves_its_own_shift_in_the_doubt():
    """Sixty records cannot know better than the 2 m2 that their file is off by."""
    things = [[look(100.0 * k), record(100.0 * k)] for k in range(1, 61)]

    assert sd_m(one_of(*things)) ** 2 > 1.0 / (1.0 / BEFORE_M2 + 1.0 / 2.0)


def scattered(spread_s):
    """Two hundred things on foot, each tapped with such a spread."""
    late_m = np.random.default_rng(5).normal(0.0, 10.0 * spread_s, 200)
    error_m = np.random.default_rng(6).normal(0.0, GPS_M, 200)
    return [
        [look(50.0 * k + late_m[k] + error_m[k], item_id=f"m{k}"), still(50.0 * k, 0.1)]
        for k in range(200)
    ]


def test_an_uneven_hand_is_seen():
    """Twice the usual spread, of 200 taps: within a fifth."""
    assert one_of(*scattered(0.7)).tap_sd_s == pytest.approx(0.7, rel=0.2)


def test_no_hand_is_taken_for_steadier_than_usual():
    """Marks far apart are not put together, so that those that are look steadier."""
    assert one_of(*scattered(0.1)).tap_sd_s == 0.35


def test_what_was_taken_off_comes_back_first():
    """Placed with what was learned, the same looks tell the same again."""
    things = [[look(100.0 * k + 7.0), still(100.0 * k)] for k in range(1, 31)]
    first = learned(*things)
    late = first.of["one"]
    own_m = math.hypot(GPS_M, late.tap_sd_s * 10.0)
    placed = [
        [
            look(one.along_m + 10.0 - late.late_m(10.0), late_m=late.late_m(10.0), own_sd_m=own_m),
            on_foot,
        ]
        for one, on_foot in things
    ]
    again = learned(*placed, people=first).of["one"]

    assert again.late_m(10.0) == pytest.approx(late.late_m(10.0), abs=0.02)


def test_where_nothing_tells_the_usual_is_kept_and_a_drive_named():
    """Ten marks on one way."""
    late = one_of(*[[look(100.0 * k)] for k in range(10)])

    assert (late.late_s, late.late_sd_s, late.told, late.things) == (1.0, 0.6, False, 0)
    assert late.text == (
        "1.0 s ± 1.3 s late at the usual speed: nothing tells it, the usual is taken; to settle "
        "it, drive leg A once the other way and mark the same things, or walk to one that was "
        "marked"
    )


def test_who_drove_both_ways_is_asked_for_the_same_things():
    """Two drives, two things."""
    late = one_of([look(100.0)], [look(300.0, travel=-1)])

    assert "mark the same things on leg A from both directions" in late.text


def test_what_is_too_little_is_said():
    """Seen twice the same way at one speed: the two agree, which tells nothing."""
    late = one_of([look(100.0), look(101.0, item_id="again")])

    assert (late.told, late.things) == (False, 1)
    assert "what tells it is too little (things: 1); to settle it, drive leg A" in late.text


def test_what_only_two_together_know_is_said():
    """Whoever of the two drives the other way too settles it."""
    late = one_of(*both_ways(100, 20.0))

    assert not late.told
    assert "told only in sum with those who drove the other way (things: 100)" in late.text
    assert "drive leg A once the other way" in late.text


def test_what_told_it_is_counted():
    """On foot, in a file, by another the other way."""
    things = [
        [
            look(100.0 * k),
            still(100.0 * k),
            record(100.0 * k),
            look(100.0 * k, person="two", travel=-1),
        ]
        for k in range(1, 21)
    ]
    late = one_of(*things)

    assert late.told
    assert late.text.endswith(
        "told by 20 things, of them 20 also marked the other way, 20 found on foot, 20 in a file"
    )


def test_a_fit_that_does_not_come_to_rest_ends(monkeypatch):
    """What it has after the last time is near."""
    things = [[look(100.0 * k + 7.0), still(100.0 * k)] for k in range(1, 31)]
    rested = one_of(*things).late_m(10.0)
    monkeypatch.setattr("routeprep.lateness._TIMES", 1)

    assert one_of(*things).late_m(10.0) == pytest.approx(rested, abs=0.3)


def test_nobody_tapped_nobody_is_late():
    """Records, marks on foot, and marks from a vehicle without a time."""
    untimed = look(100.0, person="", travel=0, speed_mps=math.nan, late_m=0.0)

    assert learned([still(100.0), record(100.0), untimed]) is NOBODY
    assert learned() is NOBODY


def test_what_nobody_tapped_shares_nothing():
    """Nor does a person of whom nothing is known."""
    people = learned([look(100.0), still(100.0)])
    looks = [still(100.0), record(100.0), look(100.0, person="other"), look(100.0)]
    shared_m2 = people.shared_m2(looks)

    assert np.flatnonzero(shared_m2.any(axis=0)).tolist() == [3]
    assert shared_m2[3, 3] == pytest.approx(sd_m(people.of["one"]) ** 2, rel=0.01)


def test_a_mark_whose_travel_is_not_known_tells_nothing():
    """But shares the doubt of its person."""
    people = learned([look(100.0), still(100.0)], [look(250.0, travel=0), still(200.0)])

    assert people.of["one"].late_m(10.0) == pytest.approx(10.0, abs=1e-6)
    assert people.shared_m2([look(250.0, travel=0)])[0, 0] > 0


def test_a_value_that_is_certain_stays():
    """A job may set the usual lateness as known."""
    certain = Defaults(tap_late_sd_s=0.0, tap_lead_sd_m=0.0, tap_spread_s=0.0)
    late = one_of([look(110.0), still(100.0)], defaults=certain)

    assert (late.late_s, late.lead_m) == (pytest.approx(1.0), pytest.approx(0.0, abs=1e-6))


def told_of(things, order, *, turned=False):
    """Lateness of all, the things in another order, or the road counted from its other end."""
    flip = -1 if turned else 1
    mixed = [
        [
            look(
                flip * one.along_m, item_id=one.item_id, person=one.person,
                travel=flip * one.travel, method=one.method, speed_mps=one.speed_mps,
                late_m=one.late_m, own_sd_m=one.own_sd_m,
            )
            for one in things[k]
        ]
        for k in order
    ]  # fmt: skip
    return [(one.late_s, one.lead_m, one.late_sd_s) for one in learned(*mixed).of.values()]


@given(
    st.lists(st.floats(-12.0, 12.0), min_size=4, max_size=4),
    st.permutations(range(4)),
)
@examples(max_examples=25)
def test_neither_the_order_nor_the_end_that_stations_count_from_matters(errors_m, order):
    """The same persons are as late."""
    things = [
        [*pair, still(100.0 * k)] if k % 2 else pair
        for k, (pair, error_m) in enumerate(zip(both_ways(4, 10.0), errors_m, strict=True))
        for pair in [[look(pair[0].along_m + error_m, item_id=f"e{k}"), pair[1]]]
    ]
    expected = told_of(things, range(4))

    assert np.array(told_of(things, order)) == pytest.approx(np.array(expected), abs=1e-6)
    assert np.array(told_of(things, range(4), turned=True)) == pytest.approx(
        np.array(expected), abs=1e-6
    )
