"""How often each stretch of a leg was looked at."""

import datetime as dt

import numpy as np
import pandas as pd
import pytest
from builders import BEGIN, PLANE, drive, leg_settings, mark, settings, straight, survey
from driven_roads import as_recorded
from hypothesis import given
from hypothesis import strategies as st

from routeprep import tables
from routeprep.coverage import coverage_of, poorly
from routeprep.legs import build_legs
from routeprep.matching import match
from routeprep.placing import locate_marks

NIGHT = dt.datetime(2026, 5, 5, 6, 0, 0, tzinfo=dt.UTC)
UP = drive([[2, 0], [2, 1000]], name="up")
DOWN = drive([[-2, 1000], [-2, 0]], name="down")


def covered(*drives, marks=(), sd_m=3.25, travel=0, lines=None, **leg):
    """The coverage of leg A, 1 km north, and the leg; marks are placed where they are."""
    job = settings(leg_settings(**leg))
    read = survey(*drives, marks=marks, lines=lines)
    legs, _ = build_legs(read, job, read.fixes, {})
    fixes = as_recorded(read.fixes, sd_m=sd_m)
    fixes = fixes.assign(smooth_speed_mps=10.0)
    paths = match(fixes, legs, job.defaults)
    located = locate_marks(read.marks, {}, {}, legs, kinds=job.kinds, defaults=job.defaults)
    located = located.assign(travel=np.full(len(located), travel, dtype=np.int64))
    return coverage_of(fixes, paths, legs, located, job), legs


def rows(*drives, **more):
    """Rows of the coverage as mappings."""
    return tables.rows_of(covered(*drives, **more)[0])


def reasons(*drives, **more):
    """From where to where something was poorly looked at, and why."""
    found = tables.rows_of(poorly(*covered(*drives, **more)))
    return [(round(one["from_m"]), round(one["to_m"]), one["reason"]) for one in found]


def test_both_ways_by_day_is_well_looked_at():
    """One row: a look each way, by day, in the lane of its side, and nothing to say."""
    (row,) = rows(UP, DOWN)

    assert (row["looks_up"], row["looks_down"]) == (1, 1)
    assert (row["looks_day"], row["looks_night"]) == (2, 0)
    assert row["lanes"] == "L1 1, R1 1"
    assert (row["fastest_mps"], row["worst_sd_m"]) == (10.0, 3.25)
    assert row["reason"] == ""


@pytest.mark.parametrize(
    ("drives", "expected"),
    [
        ((), "not driven"),
        ((UP,), "driven once"),
        ((UP, drive([[2, 0], [2, 1000]], name="again")), "one direction only"),
        (
            (drive([[2, 0], [2, 1000]], begin=NIGHT), drive([[-2, 1000], [-2, 0]], begin=NIGHT)),
            "only at night",
        ),
        ((drive([[2, 0], [2, 1000]], begin=NIGHT),), "driven once; only at night"),
    ],
)
def test_why_a_stretch_was_poorly_looked_at(drives, expected):
    """In words, from end to end."""
    assert reasons(*drives) == [(0, 1000, expected)]


def test_a_one_way_leg_need_not_be_driven_the_other_way():
    """It has lanes on one side only."""
    again = drive([[2, 0], [2, 1000]], name="again")

    assert reasons(UP, again, lanes_left=0) == []


def test_there_and_back_in_one_drive_is_two_looks():
    """Turned round at 600 m; beyond that nobody was."""
    found = rows(drive([[2, 0], [2, 600], [-2, 600], [-2, 0]]))

    assert [(one["looks_up"], one["looks_down"]) for one in found] == [(1, 1), (0, 0)]
    assert found[0]["to_m"] == pytest.approx(600.0, abs=50.0)


def test_where_the_signal_was_lost_nothing_was_looked_at():
    """40 s without a fix, 400 m long: said, since the other way alone is one look."""
    silent = pd.concat([UP.iloc[:30], UP.iloc[70:]], ignore_index=True)
    lost = [one for one in reasons(silent, DOWN) if "signal lost" in one[2]]

    assert lost == [(300, 700, "driven once; signal lost")]
    assert reasons(silent)[1] == (300, 700, "signal lost")


def test_a_slow_recorder_has_not_lost_the_signal():
    """A fix each 10 s, 100 m apart, from end to end."""
    sparse = UP.iloc[::10].reset_index(drop=True)

    assert reasons(sparse, DOWN) == []


def test_standing_for_long_is_one_look():
    """Two minutes at 500 m, with the position wandering by 10 m."""
    still = UP.iloc[np.repeat(50, 120)]
    lon, lat = PLANE.to_lonlat(np.column_stack([np.full(120, 2.0), 500 + 5 * np.sin(range(120))]))
    stopped = pd.concat([UP.iloc[:50], still.assign(lon_deg=lon, lat_deg=lat), UP.iloc[50:]])
    seconds = pd.to_timedelta(range(len(stopped)), unit="s")
    times = pd.Series(UP["time_utc"].iloc[0] + seconds).astype("datetime64[us, UTC]")
    stopped = stopped.reset_index(drop=True).assign(time_utc=times)

    assert rows(stopped)[0]["looks_up"] == 1
    assert len(rows(stopped)) == 1


def test_lanes_are_named_where_they_are_told():
    """Two lanes each way: a good device tells them, a phone does not."""
    width_m = 3.6576
    inner = drive([[width_m / 2, 0], [width_m / 2, 1000]], name="inner")
    outer = drive([[-1.5 * width_m, 1000], [-1.5 * width_m, 0]], name="outer")
    two = {"lanes_left": 2, "lanes_right": 2}

    assert {one["lanes"] for one in rows(inner, outer, sd_m=0.5, **two)} == {"L2 1, R1 1"}
    assert {one["lanes"] for one in rows(inner, outer, sd_m=4.0, **two)} == {
        "L lane not told 1, R lane not told 1"
    }


def test_against_the_traffic_of_a_one_way_leg_there_is_no_lane_to_name():
    """It has no lanes on the left."""
    assert {one["lanes"] for one in rows(DOWN, lanes_left=0)} == {"L lane not told 1"}


def test_drives_without_times_count_too():
    """Neither by day nor by night, nobody knows how fast, and no lane of several."""
    untimed = UP.assign(time_utc=pd.Series(pd.NaT, index=UP.index, dtype="datetime64[us, UTC]"))
    (row,) = rows(untimed, lanes_right=2)

    assert (row["looks_up"], row["looks_day"], row["looks_night"]) == (1, 0, 0)
    assert np.isnan(row["fastest_mps"])
    assert row["lanes"] == "R lane not told 1"


def parked(kind, y_m, **more):
    """A mark about parked cars at a place on the leg."""
    lon, lat = PLANE.to_lonlat(np.array([[3.0, float(y_m)]]))
    when = BEGIN + dt.timedelta(seconds=y_m / 10)
    row = {"kind": kind, "words": kind, "lon_deg": float(lon[0]), "lat_deg": float(lat[0])}
    return mark(**(row | {"time_utc": when, "by": "driver 1", "source": "a.csv"} | more))


@pytest.mark.parametrize(
    ("marks", "expected"),
    [
        ([parked("PKB", 210), parked("PKE", 390)], [(200, 400)]),
        ([parked("PKG", 210)], [(200, 250)]),
        ([parked("PKB", 210)], [(200, 250)]),
        ([parked("PKE", 390)], [(350, 400)]),
        ([parked("PKB", 110), parked("PKB", 210), parked("PKE", 390)], [(100, 150), (200, 400)]),
        ([parked("PKB", 210), parked("PKG", 310)], [(200, 250), (300, 350)]),
        ([parked("PKB", 210), parked("PKE", 390, source="b.csv")], [(200, 250), (350, 400)]),
    ],
)
def test_parked_cars_hid_what_somebody_said_they_hid(marks, expected):
    """From a beginning to its end in one file; anything else holds for its own stretch."""
    found = reasons(UP, DOWN, marks=marks)

    assert [one[:2] for one in found] == expected
    assert {one[2] for one in found} == {"parked cars hid it (said by driver 1)"}


def test_who_said_it_is_the_file_when_no_name_is_known():
    """Said of the stretch that is there, and of no other leg."""
    (found,) = reasons(UP, DOWN, marks=[parked("PKG", 210, by="")])

    assert found[2] == "parked cars hid it (said by a.csv)"


def test_only_the_cut_is_spoken_of():
    """From 12+00 to 30+00 of a leg that begins at 10+00: 60.96 m to 609.6 m."""
    assert reasons(from_station="12+00", to_station="30+00") == [(61, 610, "not driven")]


@given(st.permutations([UP, DOWN, drive([[2, 0], [2, 600], [-2, 600], [-2, 0]], name="back")]))
def test_the_order_of_drives_changes_nothing(drives):
    """The same table."""
    usual = covered(UP, DOWN, drive([[2, 0], [2, 600], [-2, 600], [-2, 0]], name="back"))[0]

    assert covered(*drives)[0].equals(usual)


def test_a_leg_shorter_than_a_stretch_is_one():
    """20 m, with nobody on it."""
    found = rows(lines={"A": (straight(20.0),)})

    assert [(one["from_m"], round(one["to_m"], 3)) for one in found] == [(0.0, 20.0)]


@pytest.mark.parametrize(("travel", "side"), [(1, "right"), (-1, "left")])
def test_the_side_of_parked_cars_is_told_by_the_way_driven(travel, side):
    """Traffic keeps right, and so do those who park."""
    found = reasons(UP, DOWN, marks=[parked("PKG", 210)], travel=travel)

    assert found == [(200, 250, f"parked cars hid it on the {side} (said by driver 1)")]
