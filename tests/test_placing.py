"""Marks and records onto legs: time and course before position, and every doubt said."""

import datetime as dt
import math

import numpy as np
import pandas as pd
import pytest
from builders import (
    BEGIN,
    KINDS,
    SMH,
    drive,
    leg_settings,
    lonlat,
    mark,
    settings,
    straight,
    survey,
    tap,
)  # fmt: skip
from hypothesis import given
from hypothesis import settings as examples
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, Polygon

from routeprep import tables
from routeprep.drives import clean
from routeprep.estimates import Lateness
from routeprep.legs import build_legs
from routeprep.matching import match
from routeprep.placing import locate_marks, locate_records
from routeprep.shapes import Defaults
from routeprep.smoothing import smooth

UP = drive([[2, 0], [2, 1000]])
DOWN = drive([[-2, 1000], [-2, 0]], begin=BEGIN + dt.timedelta(hours=1), name="down")
LINES = {"A": (straight(),)}
LANE_M = 3.6576


def legs_of(*legs, lines=None):
    """The legs of a job with lines in files."""
    read = survey(lines=lines or LINES)
    return build_legs(read, settings(*legs), read.fixes, {})[0]


def located(*marks, drives=(UP,), legs=(), lines=None, people=None):
    """Marks placed on a job's legs."""
    built = legs_of(*legs, lines=lines)
    read = survey(*drives, marks=marks, lines=lines or LINES)
    fixes = clean(read.fixes, names={}, defaults=Defaults()).fixes
    smoothed = smooth(fixes, Defaults())
    paths = match(smoothed.fixes, built, Defaults())
    return locate_marks(
        read.marks,
        smoothed.tracks,
        paths,
        built,
        kinds=KINDS,
        defaults=Defaults(),
        people=people,
    )


def placed(one, **job):
    """The row of the only mark."""
    return located(one, **job).iloc[0]


def records(*geometries, legs=(), lines=None, **more):
    """Records placed on a job's legs."""
    rows = [
        {"record_id": f"r{k}", "kind": SMH, "source": "x.geojson", "geometry": geometry, **more}
        for k, geometry in enumerate(geometries)
    ]
    return locate_records(
        tables.table(tables.RECORDS, rows),
        legs_of(*legs, lines=lines),
        kinds=KINDS,
        defaults=Defaults(),
    )


def at(x_m, y_m, **more):
    """A mark made at a place, on no drive."""
    lon, lat = lonlat(x_m, y_m)
    return mark(**({"kind": SMH, "words": SMH, "lon_deg": lon, "lat_deg": lat} | more))


def without(fixes, low_m, high_m):
    """A drive up the road with no fixes between two distances."""
    return fixes.drop(index=range(low_m // 10 + 1, high_m // 10)).reset_index(drop=True)


def standing(seconds, *, at_row):
    """The drive up, with so many more fixes where one was."""
    rows = np.r_[: at_row + 1, np.full(seconds, at_row), at_row + 1 : len(UP)]
    times = UP["time_utc"].iloc[0] + pd.to_timedelta(np.arange(len(rows)), unit="s")
    stood = UP.iloc[rows].reset_index(drop=True)
    return stood.assign(time_utc=times.astype("datetime64[us, UTC]"))


def test_a_tap_is_placed_where_the_drive_was_a_second_before():
    """And its doubt is that of the drive and, at 10 m/s, of an unknown person's usual tap."""
    row = placed(tap(UP, 40.0, SMH, across="outer wheel path"))

    assert row["along_m"] == pytest.approx(400.0, abs=0.1)
    assert row["along_sd_m"] == pytest.approx(math.hypot(4.9 / 1.5096, 3.5, 6.0, 3.0), abs=0.01)
    assert row["own_sd_m"] == pytest.approx(math.hypot(4.9 / 1.5096, 3.5), abs=0.01)
    assert (row["speed_mps"], row["late_m"]) == pytest.approx((10.0, 10.0), abs=0.01)
    assert (row["travel"], row["doubt"]) == (1, "")


def test_a_walker_s_mark_lies_where_his_track_was_when_he_made_it():
    """He taps at the thing, so nothing is taken off; which way he went tells no lane."""
    walk = drive([[8, 0], [8, 300]], speed_mps=1.25)
    row = placed(tap(walk, 160.0, SMH, late_s=0.0, method="walked"), drives=[walk])
    off_m = placed(
        tap(walk, 160.0, SMH, late_s=0.0, method="walked") | {"lat_deg": 41.4325}, drives=[walk]
    )["along_m"]

    assert row["along_m"] == pytest.approx(200.0, abs=0.2)
    assert row["offset_m"] == pytest.approx(8.0, abs=0.2)
    assert (row["travel"], row["doubt"]) == (0, "lane not sure")
    assert off_m == pytest.approx(200.0, abs=0.2)


def test_a_tap_while_standing_is_sure_along():
    """A minute at a signal: lateness costs nothing, and a minute's fixes know the place better.

    How far ahead of the phone the thing was stays unknown: 3 m.
    """
    stood = standing(60, at_row=30)
    row = placed(tap(stood, 60.0, SMH), drives=[stood])

    assert row["along_m"] == pytest.approx(300.0, abs=0.5)
    assert row["speed_mps"] == pytest.approx(0.0, abs=0.1)
    assert 2.0 < row["own_sd_m"] < 4.9 / 1.5096
    assert row["along_sd_m"] == pytest.approx(math.hypot(row["own_sd_m"], 3.0), abs=0.01)


def test_marks_of_a_drive_without_times_keep_their_own_place():
    """With the doubt of a tap at speed."""
    none = pd.Series(pd.DatetimeIndex([None] * len(UP), tz="UTC").as_unit("us"))
    row = placed(tap(UP, 40.0, SMH), drives=[UP.assign(time_utc=none)])

    assert row["along_m"] == pytest.approx(410.0, abs=0.1)
    assert row["doubt"] == "no time; lane not sure"
    assert row["along_sd_m"] > 15.0


def test_just_before_a_moving_drive_began_the_taps_own_place_counts():
    """Eight seconds at 10 m/s before the first fix the drive knows nothing of it."""
    late = UP.iloc[10:].reset_index(drop=True)
    row = placed(tap(UP, 2.0, SMH), drives=[late])

    assert row["along_m"] == pytest.approx(30.0, abs=0.1)
    assert "no time" in row["doubt"]


def test_a_second_after_the_last_fix_the_drive_still_counts():
    """The way it may have gone on is in the doubt."""
    short = UP.iloc[:41].reset_index(drop=True)
    row = placed(tap(UP, 41.0, SMH), drives=[short])

    assert row["along_m"] == pytest.approx(400.0, abs=0.1)
    tapped_m = math.hypot(3.5, 6.0, 3.0)
    assert row["along_sd_m"] == pytest.approx(math.hypot(4.9 / 1.5096, tapped_m, 10.0), abs=0.1)


def test_a_mark_without_a_place_near_the_end_of_a_drive_is_placed_by_it():
    """Better 80 m unsure than lost."""
    short = UP.iloc[:41].reset_index(drop=True)
    nowhere = tap(UP, 48.0, SMH) | {"lon_deg": math.nan, "lat_deg": math.nan}
    row = placed(nowhere, drives=[short])

    assert row["along_m"] == pytest.approx(400.0, abs=0.1)
    assert row["along_sd_m"] > 80.0


def test_parked_before_the_drive_the_tap_is_where_the_car_stood():
    """Standing, the drive cannot have gone far."""
    stood = standing(10, at_row=0)
    row = placed(tap(stood, -5.0, SMH), drives=[stood])

    assert row["along_m"] == pytest.approx(0.0, abs=0.5)
    assert "no time" not in row["doubt"]


def test_in_a_gap_of_reception_the_taps_own_place_counts():
    """The drive knows nothing 200 m from its last fix."""
    row = placed(tap(UP, 50.0, SMH), drives=[without(UP, 300, 700)])

    assert row["along_m"] == pytest.approx(510.0, abs=0.1)
    assert "no time" in row["doubt"]


def test_in_a_short_silence_a_tap_is_placed_by_its_time_and_less_sure():
    """Twenty seconds without a fix: half way through, the drive may have been elsewhere."""
    short = without(UP, 300, 500)
    middle, before = located(tap(UP, 40.0, SMH), tap(UP, 25.0, SMH), drives=[short]).iloc

    assert middle["along_m"] == pytest.approx(400.0, abs=1.0)
    assert (middle["travel"], middle["doubt"]) == (1, "lane not sure")
    assert middle["along_sd_m"] > before["along_sd_m"] + 0.5


def test_poor_accuracy_is_said_of_drives_and_of_places():
    """Worse than 15 m, as the device reports it."""
    by_time = placed(tap(UP, 40.0, SMH), drives=[UP.assign(accuracy_m=40.0)])
    by_place = placed(at(0.0, 400.0, accuracy_m=40.0, method="walked"))

    assert by_time["doubt"] == by_place["doubt"] == "poor accuracy; lane not sure"
    assert by_place["along_sd_m"] == pytest.approx(40.0 / 1.5096, abs=0.01)


def test_a_tap_far_from_its_drive_disagrees():
    """Its own place is 100 m from where the drive was."""
    lon, lat = lonlat(100.0, 400.0)
    row = placed(tap(UP, 40.0, SMH, lon_deg=lon, lat_deg=lat))

    assert row["along_m"] == pytest.approx(400.0, abs=0.1)
    assert row["doubt"] == "order disagrees with the drive; lane not sure"


def test_a_mark_with_only_words_lies_nowhere():
    """It is kept, with the reason."""
    row = placed(mark(kind=SMH, words="manhole"))

    assert (row["leg"], row["doubt"]) == ("", "no place and no time")


def test_where_nobody_said_the_doubt_across_reaches_over_the_road():
    """On six lanes the vehicle's own 9 m right of the line do not make it the right side."""
    wide = leg_settings(lanes_left=3, lanes_right=3)
    right = drive([[9, 0], [9, 1000]])
    row = placed(tap(right, 40.0, SMH), drives=[right], legs=[wide])

    assert row["offset_m"] == pytest.approx(9.0, abs=0.01)
    assert row["offset_m"] < 1.96 * row["offset_sd_m"]


def test_a_walked_mark_knows_its_own_offset():
    """The person stood on it."""
    row = placed(at(-5.0, 400.0, method="walked"))

    assert (row["offset_m"], row["offset_sd_m"]) == pytest.approx((-5.0, 4.9 / 1.5096), abs=0.01)


def test_there_and_back_the_mark_lies_where_the_drive_was_then():
    """A street driven up and down in one drive: the second half travels down-station."""
    both = drive([[2, 0], [2, 600], [-2, 600], [-2, 0]])
    rows = located(
        tap(both, 20.0, SMH, across="outer wheel path"),
        tap(both, 100.4, SMH, across="outer wheel path"),
        drives=[both],
    )

    # At 10 m/s no car turns round on the spot: the smoothed drive gives way a little.
    assert rows["along_m"].tolist() == pytest.approx([200.0, 200.0], abs=1.5)
    assert (rows["travel"].tolist(), rows["lane"].tolist()) == ([1, -1], ["R1", "L1"])


def known(late_s, lead_m=0.0, *, person="R. Sample", sd_s=0.1, sd_m=0.5, both_sm=0.02):
    """A person whose lateness is known well."""
    one = Lateness(
        person=person, late_s=late_s, late_sd_s=sd_s, lead_m=lead_m, lead_sd_m=sd_m,
        late_lead_sm=both_sm, tap_sd_s=0.2, things=9, told=True, text="",
    )  # fmt: skip
    return {person: one}


@pytest.mark.parametrize(("fixes", "expected_m"), [(UP, 395.0), (DOWN, 605.0)])
def test_a_person_s_lateness_is_taken_off_against_the_travel(fixes, expected_m):
    """At 10 m/s 0.8 s are 8 m back, and what is 3 m ahead of the phone lies 3 m on."""
    row = placed(
        tap(fixes, 40.0, SMH, late_s=0.0, by="R. Sample"), drives=[fixes], people=known(0.8, 3.0)
    )

    assert row["along_m"] == pytest.approx(expected_m, abs=0.1)
    assert (row["person"], row["late_m"]) == ("R. Sample", pytest.approx(5.0, abs=0.01))


def test_what_is_not_known_of_a_person_s_lateness_is_in_the_doubt():
    """Variance of v late - lead: 10 m/s squared times 0.01 s2, less 20 times 0.02, and 0.25 m2."""
    row = placed(tap(UP, 40.0, SMH, by="R. Sample"), people=known(1.0))

    assert row["own_sd_m"] == pytest.approx(math.hypot(4.9 / 1.5096, 2.0), abs=0.01)
    assert row["along_sd_m"] ** 2 - row["own_sd_m"] ** 2 == pytest.approx(
        1.0 - 0.4 + 0.25, abs=0.01
    )


def test_who_gives_no_name_is_known_by_the_drive():
    """Two marks of one file are by one person."""
    drive_id = UP["drive_id"].iloc[0]
    rows = located(
        tap(UP, 40.0, SMH), tap(UP, 60.0, SMH, drive_id=""), people=known(2.0, person=drive_id)
    )

    assert rows["person"].tolist() == [drive_id, drive_id]
    assert rows["late_m"].tolist() == pytest.approx([20.0, 20.0], abs=0.01)


def test_a_tap_just_after_turning_round_belongs_to_the_way_up():
    """Passed 30 m before the turn and tapped 20 m after it."""
    both = drive([[2, 0], [2, 600], [-2, 600], [-2, 0]])
    late = tap(both, 57.0, SMH, late_s=5.4, across="outer wheel path", by="R. Sample")
    row = placed(late, drives=[both], people=known(5.4, 2.0))

    # No car turns round on the spot: the smoothed drive gives way by up to its standard deviation.
    assert (row["travel"], row["lane"]) == (1, "R1")
    assert row["along_m"] == pytest.approx(572.0, abs=4.9 / 1.5096)


def test_what_is_passed_just_after_turning_round_belongs_to_the_way_down():
    """Within a path's 12 m from fix to fix the course knows better."""
    both = drive([[2, 0], [2, 600], [-2, 600], [-2, 0]])
    row = placed(tap(both, 61.4, SMH, across="outer wheel path"), drives=[both])

    assert (row["travel"], row["lane"]) == (-1, "L1")
    assert row["along_m"] == pytest.approx(590.0, abs=2.0)


def test_what_was_passed_before_a_stop_and_tapped_at_it_lies_before_it():
    """Three seconds late, of which two were spent standing."""
    stood = standing(60, at_row=30)
    row = placed(
        tap(stood, 29.0, SMH, late_s=3.0, by="R. Sample"), drives=[stood], people=known(3.0)
    )

    assert row["along_m"] == pytest.approx(290.0, abs=2.0)
    assert row["travel"] == 1


def test_round_the_block_each_passing_is_placed_for_itself():
    """Up the street, round by the next one, and up again: one place, one direction, two times."""
    block = drive([[2, 0], [2, 500], [300, 500], [300, 0], [2, 0], [2, 500]])
    rows = located(
        tap(block, 20.0, SMH, across="outer wheel path"),
        tap(block, 179.6, SMH, across="outer wheel path"),
        tap(block, 100.0, SMH),
        drives=[block],
    )

    assert rows["along_m"].tolist()[:2] == pytest.approx([200.0, 200.0], abs=1.5)
    assert rows["travel"].tolist()[:2] == [1, 1]
    assert (rows["leg"].iloc[2], rows["travel"].iloc[2]) == ("", 0)


def test_a_lead_of_unknown_direction_is_a_doubt():
    """A drive of one fix knows no course: 4 m ahead may be 4 m on either side."""
    one = UP.iloc[40:41].reset_index(drop=True)
    here = {"drives": [one], "people": known(0.0, 4.0, sd_s=0.0, sd_m=0.0, both_sm=0.0)}
    row = placed(tap(UP, 40.0, SMH, late_s=0.0, by="R. Sample"), **here)

    assert (row["travel"], row["along_m"]) == (0, pytest.approx(400.0, abs=0.1))
    assert row["along_sd_m"] ** 2 - row["own_sd_m"] ** 2 == pytest.approx(16.0, abs=0.01)


def test_at_a_corner_the_drive_settles_the_leg():
    """Legs that cross: the tap is on the street that was driven, a place alone is a near tie."""
    lines = {"A": (straight(),), "B": (_across(500.0),)}
    legs = leg_settings(), leg_settings(code="B")
    cross = drive([[-300, 498], [300, 498]])
    by_time = placed(tap(cross, 30.0, SMH), drives=[cross], legs=legs, lines=lines)
    by_place = placed(at(1.0, 498.0, method="walked"), legs=legs, lines=lines)

    assert (by_time["leg"], "near tie" in by_time["doubt"]) == ("B", False)
    assert "near tie" in by_place["doubt"]


def _across(y_m):
    """A street that crosses at a distance along, running east."""
    lon, lat = zip(lonlat(-400.0, y_m), lonlat(400.0, y_m), strict=True)
    piece = straight()
    return type(piece)(lon_deg=np.array(lon), lat_deg=np.array(lat), name="cross", source="x")


def test_legs_end_to_end_take_what_lies_on_them():
    """A drive over the joint: before it leg A, after it leg B, no past an end."""
    first = straight(500.0)
    lon, lat = zip(lonlat(0.0, 500.0), lonlat(0.0, 1000.0), strict=True)
    second = type(first)(lon_deg=np.array(lon), lat_deg=np.array(lat), name="B", source="x")
    legs = leg_settings(), leg_settings(code="B", start_near_deg=lonlat(0.0, 500.0))
    rows = located(
        tap(UP, 48.0, SMH), tap(UP, 52.0, SMH), legs=legs, lines={"A": (first,), "B": (second,)}
    )

    assert rows["leg"].tolist() == ["A", "B"]
    assert rows["along_m"].tolist() == pytest.approx([480.0, 20.0], abs=0.2)
    assert rows["past_end_m"].tolist() == [0.0, 0.0]


def test_past_an_end_counts_on():
    """12 m after the line ends, and too far off it is on no leg."""
    near, far = placed(at(0.0, 1012.0, method="walked")), placed(at(0.0, 1060.0, method="walked"))

    assert (near["leg"], near["past_end_m"]) == ("A", pytest.approx(12.0, abs=0.01))
    assert "past an end" in near["doubt"]
    assert (far["leg"], "60 m from leg A, 60 m past an end" in far["doubt"]) == ("", True)


def test_a_line_across_the_road_spreads_across_and_not_along():
    """A rail crossing drawn from edge to edge."""
    crossing = LineString([lonlat(-8.0, 300.0), lonlat(8.0, 300.0)])
    row = records(crossing).iloc[0]

    assert (row["from_m"], row["to_m"]) == pytest.approx((300.0, 300.0), abs=0.01)
    assert row["offset_sd_m"] == pytest.approx(math.hypot(2.0, 16.0 / math.sqrt(12.0)), abs=0.01)


def test_a_main_that_crosses_the_road_lies_where_it_crosses():
    """Though its middle is 450 m from the leg."""
    row = records(LineString([lonlat(-50.0, 300.0), lonlat(950.0, 300.0)])).iloc[0]

    assert (row["leg"], row["along_m"]) == ("A", pytest.approx(300.0, abs=0.01))
    assert (row["from_m"], row["to_m"]) == pytest.approx((300.0, 300.0), abs=0.01)


def test_a_polygon_reaches_from_its_first_to_its_last_corner():
    """A patch 40 m long."""
    corners = [lonlat(x, y) for x, y in ((1, 300), (4, 300), (4, 340), (1, 340))]
    row = records(Polygon(corners)).iloc[0]

    assert (row["from_m"], row["to_m"]) == pytest.approx((300.0, 340.0), abs=0.01)
    assert row["along_m"] == pytest.approx(320.0, abs=1.0)


def test_a_record_far_off_says_from_which_leg_and_how_far():
    """Also a line: its reach is of no use there."""
    far = LineString([lonlat(90.0, 300.0), lonlat(90.0, 320.0)])
    rows = records(Point(lonlat(84.0, 300.0)), far)

    assert rows["leg"].tolist() == ["", ""]
    assert "84 m from leg A" in rows["doubt"].iloc[0]
    assert rows["from_m"].iloc[1] == rows["to_m"].iloc[1]


def test_empty_tables_stay_empty_and_gain_their_columns():
    """No mark and no record is no fault."""
    for rows in (located(), records()):
        assert len(rows) == 0
        tables.check(rows, tables.LOCATED, what="located")


@given(st.permutations(range(6)))
@examples(max_examples=25)
def test_the_order_of_the_marks_changes_no_place(order):
    """Each mark is placed for itself."""
    marks = [
        tap(UP, 20.0, SMH), tap(DOWN, 50.0, SMH), at(3.0, 700.0), at(90.0, 100.0),
        tap(UP, 99.9, SMH), mark(kind=SMH, words="nowhere"),
    ]  # fmt: skip
    one = located(*marks, drives=[UP, DOWN]).set_index("mark_id")
    other = located(*(marks[k] for k in order), drives=[UP, DOWN]).set_index("mark_id")

    pd.testing.assert_frame_equal(other.loc[one.index], one)


@given(st.integers(30, 960), st.sampled_from((1, -1)))
@examples(max_examples=25)
def test_a_tap_comes_back_to_where_the_thing_was_passed(tenths, travel):
    """Wherever and whichever way, within the drive."""
    seconds = tenths / 10.0
    fixes = UP if travel > 0 else DOWN
    row = placed(tap(fixes, seconds, SMH, across="outer wheel path"), drives=[fixes])
    expected_m = 10.0 * seconds if travel > 0 else 1000.0 - 10.0 * seconds

    assert row["along_m"] == pytest.approx(expected_m, abs=0.1)
    assert row["travel"] == travel
    assert row["offset_m"] == pytest.approx(travel * 0.75 * LANE_M)


def test_what_spans_the_road_needs_nobody_to_say_so():
    """A railroad crossing lies across the whole road, and its lane is no doubt."""
    row = placed(tap(UP, 40.0, KINDS.find("railroad crossing").code))

    assert (row["position"], row["lane"], row["doubt"]) == ("whole road", "", "")


def test_what_a_person_said_wins_over_what_usually_spans_the_road():
    """A hump in one lane only."""
    row = placed(tap(UP, 40.0, KINDS.find("speed hump").code, across="outer wheel path"))

    assert (row["position"], row["lane"]) == ("outer wheel path", "R1")


def test_a_mark_saved_apart_from_its_drive_is_placed_by_its_time():
    """The only drive recorded at its time is the one it was made on."""
    row = placed(tap(UP, 40.0, SMH, drive_id=""))

    assert row["along_m"] == pytest.approx(400.0, abs=0.5)
    assert row["travel"] == 1


def test_with_two_drives_at_its_time_a_mark_saved_apart_keeps_its_own_place():
    """Nothing says which vehicle it was made in."""
    beside = drive([[8, 0], [8, 1000]], name="second truck")
    row = located(tap(UP, 40.0, SMH, drive_id=""), drives=(UP, beside)).iloc[0]

    assert row["along_m"] == pytest.approx(410.0, abs=0.5)
    assert "no time" in row["doubt"]


def test_a_records_datum_adds_to_its_doubt_both_ways():
    """2 m of the owner's file and 1 m of the datum, which is the same for all of them: added."""
    point = Point(*lonlat(3.0, 400.0))
    plain, near = records(point).iloc[0], records(point, datum_sd_m=1.0).iloc[0]

    assert (plain["along_sd_m"], near["along_sd_m"]) == pytest.approx((2.0, 3.0))
    assert near["offset_sd_m"] == pytest.approx(3.0)


def by_wheel(station, **more):
    """A mark that says its station, made on foot."""
    usual = {"kind": SMH, "words": SMH, "method": "wheeled", "across_frame": "up-station"}
    return mark(**(usual | {"said_station": station} | more))


def test_a_mark_on_foot_lies_where_it_says_that_it_does():
    """With its offset, from where the wheel began; a drive at that time changes nothing."""
    row = placed(by_wheel("12+40", said_offset="9 RT", time_utc=BEGIN))

    assert (row["leg"], row["along_m"]) == ("A", pytest.approx(240 * 0.3048))
    assert (row["offset_m"], row["lane"]) == (pytest.approx(9 * 0.3048), "R1")
    assert row["along_sd_m"] == pytest.approx(0.3 + 0.005 * 240 * 0.3048)
    assert (row["position"], row["doubt"], row["travel"]) == ("outer wheel path", "", 0)


def test_a_reach_that_was_said_keeps_its_ends():
    """A patch from 12+40 to 13+00."""
    row = placed(by_wheel("12+40 to 13+00"))

    assert (row["from_m"], row["to_m"]) == pytest.approx((240 * 0.3048, 300 * 0.3048))


def test_where_only_the_station_was_said_the_thing_may_lie_anywhere_across():
    """In the middle, with the doubt of the whole road."""
    row = placed(by_wheel("12+40"))

    assert (row["offset_m"], row["lane"], row["doubt"]) == (0.0, "", "lane not sure")
    assert row["offset_sd_m"] == pytest.approx(2 * LANE_M / math.sqrt(12.0))


def test_who_stood_there_tells_the_offset_that_was_not_said():
    """The satellite's position, where it agrees with the station."""
    lon, lat = lonlat(-5.0, 240 * 0.3048)
    row = placed(by_wheel("12+40", lon_deg=lon, lat_deg=lat))

    assert row["offset_m"] == pytest.approx(-5.0, abs=0.01)


def test_what_spans_the_road_does_so_at_its_station_too():
    """Nobody has to say so."""
    row = placed(by_wheel("12+40", kind=KINDS.find("railroad crossing").code))

    assert (row["position"], row["doubt"]) == ("whole road", "")


def test_a_station_that_is_no_place_leaves_the_position():
    """With the reason, and none of the others is lost."""
    lon, lat = lonlat(1.0, 400.0)
    row = placed(by_wheel("99+00", lon_deg=lon, lat_deg=lat))

    assert row["along_m"] == pytest.approx(400.0, abs=0.01)
    assert row["doubt"] == "said station 99+00 lies 5,619 ft past an end of leg A; lane not sure"


def test_a_station_that_is_no_place_and_no_position_say_why():
    """It is kept, on no leg."""
    row = placed(by_wheel("99+00"))

    assert row["leg"] == ""
    assert row["doubt"] == "said station 99+00 lies 5,619 ft past an end of leg A"


def test_a_station_that_nobody_says_how_was_found_is_no_place():
    """A vehicle knows none."""
    row = placed(by_wheel("12+40", method="vehicle"))

    assert row["doubt"] == "said station 12+40, but not whether it was walked, wheeled or taped"


def test_a_mark_from_a_vehicle_keeps_its_time_whatever_station_it_says():
    """Its place is the drive's."""
    row = placed(tap(UP, 40.0, SMH, said_station="12+40"))

    assert row["along_m"] == pytest.approx(400.0, abs=0.5)
