"""Drives as recorded to drives that can be used."""

import datetime as dt

import numpy as np
import pandas as pd
import pytest
from builders import BEGIN, drive
from hypothesis import given
from hypothesis import strategies as st

from routeprep import tables
from routeprep.drives import clean, seconds_of
from routeprep.shapes import Defaults

ROAD = [[0, 0], [0, 600]]


def cleaned(*drives):
    """Drives cleaned together."""
    fixes = pd.concat(drives, ignore_index=True)
    names = {one: one[:4] for one in set(fixes["drive_id"])}
    return clean(fixes, names=names, defaults=Defaults())


def test_a_good_drive_stays_as_it_is():
    """Nothing is left out and nothing is said; each fix knows its row as recorded."""
    fixes = drive(ROAD)
    got = cleaned(fixes)

    pd.testing.assert_frame_equal(got.fixes, fixes.assign(raw_row=np.arange(61)))
    assert got.findings == ()


def test_repeated_and_backward_times_are_left_out_and_counted():
    """Fix 3 repeats the time of fix 2; fix 6 goes back an hour."""
    fixes = drive(ROAD)
    times = fixes["time_utc"].copy()
    times[3] = times[2]
    times[6] -= pd.Timedelta(hours=1)
    got = cleaned(fixes.assign(time_utc=times))

    assert len(got.fixes) == len(fixes) - 2
    assert "2 fixes with no, repeated or backward times left out" in got.findings[0].text


def test_each_fix_keeps_the_row_it_was_recorded_in():
    """Whatever was left out before it, and counted anew in each drive."""
    fixes = drive(ROAD)
    times = fixes["time_utc"].copy()
    times[3] = times[2]
    other = drive([[80, 0], [80, 300]], name="other truck")
    got = cleaned(fixes.assign(time_utc=times), other).fixes
    rows = got[got["drive_id"] == fixes["drive_id"][0]]["raw_row"]

    assert rows.tolist() == [0, 1, 2, *range(4, 61)]
    assert got[got["drive_id"] != fixes["drive_id"][0]]["raw_row"].tolist() == list(range(31))


def test_an_impossible_acceleration_is_left_out():
    """One fix 40 m aside at 10 m/s: 80 m/s2 there and back, though no jump."""
    fixes = drive(ROAD)
    fixes.loc[20, "lon_deg"] += 0.00048
    got = cleaned(fixes)

    assert got.fixes["raw_row"].tolist() == [*range(20), *range(21, 61)]
    assert "1 impossible accelerations left out" in got.findings[0].text


def test_a_poor_receiver_is_not_thinned_out():
    """Where all fixes jump about by 10 m, none of them is the odd one."""
    fixes = drive(ROAD)
    noise = np.random.default_rng(5).standard_normal(len(fixes))
    got = cleaned(fixes.assign(lon_deg=fixes["lon_deg"] + 0.00012 * noise))

    assert len(got.fixes) == 61


def test_a_shift_that_stays_costs_a_fix_or_two():
    """From fix 30 on all lie 45 m aside: two ways are joined, neither is eaten up."""
    fixes = drive(ROAD)
    fixes.loc[30:, "lon_deg"] += 0.00054
    got = cleaned(fixes)

    assert len(got.fixes) >= 59


def test_an_impossible_jump_is_left_out():
    """One fix 500 m aside between neighbours 20 m apart."""
    fixes = drive(ROAD)
    fixes.loc[20, "lon_deg"] += 0.006
    got = cleaned(fixes)

    assert 20 not in got.fixes.index[got.fixes["lon_deg"] > -100.868].tolist()
    assert "1 impossible jumps left out" in got.findings[0].text


def test_a_silence_parts_the_drive():
    """A minute without fixes while 600 m were driven is never driven across."""
    fixes = drive(ROAD)
    got = cleaned(fixes[(fixes.index < 10) | (fixes.index > 40)])

    assert got.fixes["piece"].tolist() == [0] * 10 + [1] * 20
    assert "1 breaks in the fixes" in got.findings[0].text


def test_a_break_in_the_file_parts_the_drive_only_when_it_is_long_or_has_no_times():
    """Fixes lost under a bridge for 12 s; a pause of 30 s; and nothing that says how long."""
    fixes = drive(ROAD).assign(piece=lambda one: (one.index > 20).astype(int))
    later = fixes["time_utc"] + pd.to_timedelta(np.where(fixes.index > 20, 29, 0), unit="s")
    never = fixes["time_utc"].where([False] * len(fixes))

    assert set(cleaned(fixes.drop(index=range(20, 31))).fixes["piece"]) == {0}
    assert cleaned(fixes.assign(time_utc=later)).fixes["piece"].tolist() == [0] * 21 + [1] * 40
    assert cleaned(fixes.assign(time_utc=never)).fixes["piece"].tolist() == [0] * 21 + [1] * 40


def test_standing_without_fixes_parts_nothing():
    """A recorder that saves nothing at a signal did not lose the road."""
    fixes = drive(ROAD)
    times = fixes["time_utc"] + pd.to_timedelta(np.where(fixes.index > 30, 90, 0), unit="s")
    got = cleaned(fixes.assign(time_utc=times))

    assert set(got.fixes["piece"]) == {0}


def test_parked_for_long_parts_the_drive():
    """Ten minutes without a fix in one place: what came before and after are two pieces."""
    fixes = drive(ROAD)
    times = fixes["time_utc"] + pd.to_timedelta(np.where(fixes.index > 30, 700, 0), unit="s")
    got = cleaned(fixes.assign(time_utc=times))

    assert got.fixes["piece"].tolist() == [0] * 31 + [1] * 30


def test_a_drive_without_times_is_kept_and_doubted():
    """Its marks cannot be placed by time."""
    fixes = drive(ROAD).assign(time_utc=pd.Series(pd.NaT, index=range(61)).dt.tz_localize("UTC"))
    got = cleaned(fixes.assign(time_utc=fixes["time_utc"].astype("datetime64[us, UTC]")))

    assert len(got.fixes) == 61
    assert "none of 61 fixes has a time" in got.findings[0].text


def test_a_copy_with_one_more_fix_counts_once():
    """The longer one is kept."""
    one, other = drive(ROAD), drive([[0, 0], [0, 610]], name="copy")
    got = cleaned(one, other)

    assert got.copies == {one["drive_id"][0]: other["drive_id"][0]}
    assert "the same drive as" in got.findings[-1].text


def test_two_drives_at_one_time_on_two_roads_are_two():
    """Two trucks out at once."""
    got = cleaned(drive(ROAD), drive([[80, 0], [80, 600]], name="other truck"))

    assert got.copies == {}


def test_the_same_road_an_hour_later_is_another_drive():
    """Same places, other times."""
    later = drive(ROAD, begin=BEGIN + dt.timedelta(hours=1))
    got = cleaned(drive(ROAD), later)

    assert got.copies == {}


def test_a_drive_copied_twice_counts_once():
    """Both copies point at one original."""
    got = cleaned(drive(ROAD), drive(ROAD, name="b"), drive(ROAD, name="c"))

    assert len(set(got.copies.values())) == 1
    assert len(got.copies) == 2
    assert len(got.fixes) == 61


def test_no_fixes_give_no_drives():
    """An empty table is no fault."""
    got = clean(tables.table(tables.FIXES, []), names={}, defaults=Defaults())

    assert len(got.fixes) == 0
    assert got.copies == {}


def test_seconds_of_no_time_is_nan():
    """And of a time it is seconds since 1970."""
    times = pd.to_datetime(pd.Series([None, "1970-01-02T00:00:01Z"]), utc=True).dt.as_unit("us")

    assert np.isnan(seconds_of(times)).tolist() == [True, False]
    assert seconds_of(times)[1] == pytest.approx(86_401.0)


@given(st.lists(st.integers(0, 60), unique=True, max_size=30))
def test_cleaning_twice_is_cleaning_once(dropped):
    """What was cleaned needs no more cleaning."""
    fixes = drive(ROAD).drop(index=dropped)
    once = cleaned(fixes).fixes if len(fixes) else fixes
    twice = cleaned(once).fixes if len(once) else once

    pd.testing.assert_frame_equal(once, twice)


def test_one_time_far_ahead_costs_one_fix():
    """A first fix dated a year ahead does not put all the others out of order."""
    fixes = drive(ROAD)
    times = fixes["time_utc"].copy()
    times[0] += pd.Timedelta(days=365)
    times[30] += pd.Timedelta(hours=1)
    got = cleaned(fixes.assign(time_utc=times))

    assert len(got.fixes) == len(fixes) - 2
    assert "2 fixes with no, repeated or backward times left out" in got.findings[0].text


def test_a_copy_without_times_that_stood_long_counts_once():
    """Forty fixes of one spot are one place, not most of the drive."""
    fixes = drive(ROAD)
    stood = pd.concat([fixes.iloc[:1]] * 40 + [fixes], ignore_index=True)
    none = pd.Series(pd.DatetimeIndex([None] * len(stood), tz="UTC").as_unit("us"))
    one, other = stood.assign(time_utc=none), stood.assign(time_utc=none, drive_id="copy")
    got = cleaned(one, other)

    assert len(got.copies) == 1


def test_a_drive_without_times_is_no_copy_of_one_that_has_them():
    """What they share cannot be compared; both are kept and the one is doubted."""
    fixes = drive(ROAD)
    none = pd.Series(pd.DatetimeIndex([None] * len(fixes), tz="UTC").as_unit("us"))

    assert cleaned(fixes, fixes.assign(time_utc=none, drive_id="untimed")).copies == {}


def test_a_drive_that_shares_a_few_minutes_with_another_is_another():
    """Two phones in one car, the second switched on for the last ten seconds of the first."""
    fixes = drive(ROAD)
    later = drive([[0, 0], [0, 1100]], name="second phone").iloc[50:]
    got = cleaned(fixes, later)

    assert got.copies == {}
