"""Cleaned drives to smoothed ones."""

import math

import numpy as np
import pandas as pd
import pytest
from builders import PLANE
from hypothesis import given
from hypothesis import settings as examples
from hypothesis import strategies as st
from wheeled import Receiver, recorded, smoothed, wheeled

from routeprep import tables
from routeprep.drives import clean
from routeprep.shapes import Defaults
from routeprep.smoothing import smooth

SOME = wheeled(7, Receiver(sd_m=2.0, over_s=60.0), curves=3, stops=1)
SINCE_S = np.arange(len(SOME.fixes), dtype=np.float64)
XY_M = PLANE.to_xy(SOME.fixes["lon_deg"].to_numpy(), SOME.fixes["lat_deg"].to_numpy())


def places_m(fixes):
    """Smoothed places in the tests' plane."""
    return PLANE.to_xy(fixes["smooth_lon_deg"].to_numpy(), fixes["smooth_lat_deg"].to_numpy())


def speeds(at_s=SINCE_S):
    """True speeds of the drive, for a device that knows them."""
    return np.gradient(SOME.moves.gone_at(at_s), at_s)


def noisy(sd_m, *, seed=1, count=200, speed_mps=0.0):
    """Fixes each second of a vehicle that goes north at a speed, fresh errors."""
    rng = np.random.default_rng(seed)
    since_s = np.arange(count, dtype=np.float64)
    way = np.column_stack([0.0 * since_s, speed_mps * since_s])
    return recorded(since_s, way + sd_m * rng.standard_normal((count, 2)))


def test_columns_are_added_and_none_is_overwritten():
    """What was cleaned stands as it stood, in its order."""
    cleaned = clean(SOME.fixes, names={}, defaults=Defaults()).fixes
    before = cleaned.copy()
    got = smooth(cleaned, Defaults()).fixes

    pd.testing.assert_frame_equal(cleaned, before)
    pd.testing.assert_frame_equal(got[list(before.columns)], before)
    tables.check(got, tables.SMOOTHED, what="smoothed")


def test_no_fixes_gain_their_columns():
    """An empty table is no fault."""
    none = clean(tables.table(tables.FIXES, []), names={}, defaults=Defaults()).fixes
    got = smooth(none, Defaults())

    tables.check(got.fixes, tables.SMOOTHED, what="smoothed")
    assert (len(got.fixes), got.tracks, got.facts) == (0, {}, ())


def test_each_drive_is_smoothed_for_itself():
    """Two drives in one table come out as each does alone."""
    other = noisy(1.0, speed_mps=9.0).assign(drive_id=pd.array(["b drive"] * 200, dtype="str"))
    both = smooth(
        clean(pd.concat([SOME.fixes, other]), names={}, defaults=Defaults()).fixes, Defaults()
    )
    _, facts, alone = smoothed(SOME.fixes)

    assert both.facts[0] == facts
    pd.testing.assert_frame_equal(both.fixes[: len(alone)], alone)
    assert sorted(both.tracks) == ["a drive", "b drive"]


def test_smoothed_places_are_nearer_to_the_truth_than_fixes():
    """With fresh errors of 3 m, by more than half."""
    one = wheeled(11, Receiver(sd_m=3.0), curves=3, stops=1)
    track, _, fixes = smoothed(one.fixes)
    true_m = one.xy(track.seconds - track.seconds[0])
    raw = PLANE.to_xy(fixes["lon_deg"].to_numpy(), fixes["lat_deg"].to_numpy())

    assert np.std(places_m(fixes) - true_m) < 0.5 * np.std(raw - true_m)


def test_standing_neither_lengthens_nor_bends_a_drive():
    """Three minutes at one place, 4 m of scatter: no length, one place, every fix marked."""
    _, facts, fixes = smoothed(noisy(4.0))

    assert len(fixes) == 200
    assert fixes["standing"].tolist() == [1] * 200
    assert np.ptp(places_m(fixes), axis=0).max() < 0.5
    assert (facts.length_m, facts.stood_s) == (0.0, 199.0)


def test_driving_is_not_marked_as_standing():
    """At 10 m/s no fix is, whatever the scatter."""
    _, facts, fixes = smoothed(noisy(4.0, speed_mps=10.0))

    assert fixes["standing"].sum() == 0
    assert facts.length_m == pytest.approx(1990.0, rel=0.005)


def test_facts_tell_what_a_drive_was():
    """Counts, times, accuracy and breaks."""
    fixes = noisy(1.0, speed_mps=10.0).assign(accuracy_m=3.0)
    _, facts, table = smoothed(fixes[(fixes.index < 50) | (fixes.index > 100)])

    assert (facts.drive_id, facts.fixes, facts.gaps) == ("a drive", 149, 1)
    assert (facts.end_utc - facts.begin_utc).total_seconds() == 199.0
    assert facts.accuracy_m == 3.0
    assert facts.sd_m == table["smooth_sd_m"].median()
    assert facts.length_m == pytest.approx(1480.0, rel=0.01)


def test_a_drive_without_times_keeps_its_places():
    """It has no track, the course of its line and the doubt of its report."""
    none = pd.Series(pd.DatetimeIndex([None] * 200, tz="UTC").as_unit("us"))
    fixes = noisy(0.0, speed_mps=10.0).assign(time_utc=none, accuracy_m=6.0)
    got = smooth(clean(fixes, names={}, defaults=Defaults()).fixes, Defaults())

    assert got.tracks == {}
    assert got.fixes["smooth_lat_deg"].tolist() == got.fixes["lat_deg"].tolist()
    assert got.fixes["smooth_sd_m"].tolist() == pytest.approx([6.0 / 1.5096] * 200)
    assert np.cos(np.radians(got.fixes["smooth_course_deg"])).min() == pytest.approx(1.0)
    assert got.facts[0].length_m == pytest.approx(1990.0, abs=0.1)
    assert (got.facts[0].begin_utc, got.facts[0].end_utc) == (None, None)


def test_a_worse_report_makes_a_place_less_sure():
    """One stretch under trees: 5 m reported, then 20 m."""
    fixes = noisy(2.0, speed_mps=10.0)
    radius_m = np.where((fixes.index > 80) & (fixes.index < 120), 20.0, 5.0)
    _, _, got = smoothed(fixes.assign(accuracy_m=radius_m))

    assert got["smooth_sd_m"][100] > 2.0 * got["smooth_sd_m"][20]


def test_what_nobody_reported_is_the_default():
    """A drive without noise is still no better than a phone."""
    _, _, got = smoothed(noisy(0.0, speed_mps=10.0))

    assert got["smooth_sd_m"].median() == pytest.approx(4.9 / 1.5096, rel=0.02)


def test_a_device_speed_is_used():
    """Fresh errors of 4 m: with the device's speed the smoothed one is nearer to the truth."""
    one = wheeled(7, Receiver(sd_m=4.0), curves=3, stops=1)
    at_s = np.arange(len(one.fixes), dtype=np.float64)
    true_mps = np.gradient(one.moves.gone_at(at_s), at_s)
    _, _, without = smoothed(one.fixes)
    _, _, with_it = smoothed(one.fixes.assign(speed_mps=true_mps))
    off = [np.std(one["smooth_speed_mps"] - true_mps) for one in (without, with_it)]

    assert off[1] < 0.8 * off[0]


def test_a_device_course_is_used():
    """Speed and course together are a velocity."""
    north = noisy(3.0, speed_mps=10.0).assign(speed_mps=10.0, course_deg=0.0)
    _, _, got = smoothed(north)

    assert np.std(np.sin(np.radians(got["smooth_course_deg"]))) < 0.03


def test_a_device_speed_in_another_unit_is_not_believed():
    """Kilometres an hour where metres a second should be: hardly any weight."""
    wrong = SOME.fixes.assign(speed_mps=3.6 * speeds())
    _, facts, _ = smoothed(wrong)

    assert facts.length_m == pytest.approx(SOME.length_m(), rel=0.02)


def test_a_recorder_that_pauses_while_standing_leaves_no_doubt_about_the_place():
    """Ninety seconds without a fix and no way between: it stood."""
    fixes = noisy(0.5, speed_mps=10.0, count=100)
    times = fixes["time_utc"] + pd.to_timedelta(np.where(fixes.index > 50, 90, 0), unit="s")
    track, _, got = smoothed(fixes.assign(time_utc=times))
    middle = track.at(track.seconds[50:51] + 45.0)

    assert got["piece"].max() == 0
    assert middle.sd_m[0] < 15.0


def test_two_fixes_and_one_fix_are_drives():
    """The least there can be."""
    two, one = smoothed(noisy(0.0, speed_mps=10.0, count=2)), smoothed(noisy(0.0, count=1))

    assert two[1].length_m == pytest.approx(10.0, rel=0.05)
    assert one[1].length_m == 0.0
    assert math.isnan(one[2]["smooth_course_deg"][0])


@given(st.integers(-10_000_000, 10_000_000))
@examples(max_examples=10)
def test_a_drive_at_another_time_is_the_same_drive(later_s):
    """Shifting all times shifts the answer."""
    _, facts, got = smoothed(SOME.fixes)
    shifted = SOME.fixes["time_utc"] + pd.Timedelta(seconds=later_s)
    _, later, moved = smoothed(SOME.fixes.assign(time_utc=shifted))

    np.testing.assert_allclose(places_m(moved), places_m(got), atol=1e-5)
    assert later.length_m == pytest.approx(facts.length_m, abs=1e-4)


@given(st.floats(-3000.0, 3000.0), st.floats(-3000.0, 3000.0))
@examples(max_examples=10)
def test_a_drive_at_another_place_is_the_same_drive(east_m, north_m):
    """Shifting all places shifts the answer; the plane's scale alone may differ."""
    shift = np.array([east_m, north_m])
    _, facts, got = smoothed(SOME.fixes)
    _, there, moved = smoothed(recorded(SINCE_S, XY_M + shift, accuracy_m=SOME.fixes["accuracy_m"]))

    np.testing.assert_allclose(places_m(moved) - shift, places_m(got), atol=1e-3)
    assert there.length_m == pytest.approx(facts.length_m, rel=1e-6)


@given(st.integers(0, 1000))
@examples(max_examples=10)
def test_a_drive_backward_in_time_is_the_same_path(seed):
    """Reversing time mirrors the smoothed path, but for what is known before it began."""
    one = wheeled(seed, Receiver(sd_m=2.0), curves=2, stops=1).fixes
    since_s = np.arange(len(one), dtype=np.float64)
    xy_m = PLANE.to_xy(one["lon_deg"].to_numpy(), one["lat_deg"].to_numpy())
    _, facts, forth = smoothed(recorded(since_s, xy_m))
    _, turned, back = smoothed(recorded(since_s, xy_m[::-1]))

    np.testing.assert_allclose(places_m(back)[::-1], places_m(forth), atol=0.02)
    assert turned.length_m == pytest.approx(facts.length_m, abs=0.02)
