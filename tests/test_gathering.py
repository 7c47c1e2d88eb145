"""Placing, grouping and lateness, again until nothing changes."""

import datetime as dt
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from builders import BEGIN, KINDS, SMH, WV, drive, lonlat, settings, survey, tap
from hypothesis import given
from hypothesis import settings as examples
from hypothesis import strategies as st
from shapely.geometry import Point

from routeprep.drives import clean
from routeprep.gathering import Rules, Surveyed, gather
from routeprep.legs import build_legs
from routeprep.matching import match
from routeprep.merging import group
from routeprep.smoothing import smooth

NOTHING_SAID = Rules(no_things=frozenset(), joins=(), splits=frozenset())
UP = drive([[2, 0], [2, 1000]])
DOWN = drive([[-2, 1000], [-2, 0]], begin=BEGIN + dt.timedelta(hours=1), name="down")
FAST = drive([[2, 0], [2, 1000]], speed_mps=20.0, begin=BEGIN + dt.timedelta(hours=2), name="fast")
PLACES_M = (110.0, 250.0, 390.0, 530.0, 670.0, 810.0)


def taps(fixes, late_s, by, *, up=True, speed_mps=10.0, places_m=PLACES_M):
    """A mark for each thing, all equally late."""
    across = "outer wheel path" if up else "other side"
    gone_m = [place if up else 1000.0 - place for place in places_m]
    return [
        tap(fixes, gone / speed_mps, SMH, across=across, late_s=late_s, by=by) for gone in gone_m
    ]


def covers(places_m=PLACES_M):
    """The same things in the city's file."""
    return [
        {
            "record_id": f"r{place:.0f}",
            "kind": SMH,
            "source": "covers.geojson",
            "geometry": Point(*lonlat(2.7, place)),
        }
        for place in places_m
    ]


def surveyed(marks, records=(), drives=(UP, DOWN)):
    """What there is on the tests' straight street."""
    read, job = survey(*drives, marks=marks, records=records), settings()
    fixes = clean(read.fixes, names={}, defaults=job.defaults).fixes
    smoothed = smooth(fixes, job.defaults)
    legs, _ = build_legs(read, job, smoothed.fixes, smoothed.tracks)
    return Surveyed(
        marks=read.marks,
        records=read.records,
        tracks=smoothed.tracks,
        paths=match(smoothed.fixes, legs, job.defaults),
        legs=legs,
    )


def gathered(marks, records=(), drives=(UP, DOWN), rules=NOTHING_SAID):
    """All of it together."""
    return gather(surveyed(marks, records, drives), settings=settings(), rules=rules)


def test_two_persons_who_tap_late_in_both_directions_find_their_things():
    """A second and a half late each: things 10 m apart both ways come together where they are."""
    got = gathered([*taps(UP, 1.5, "one"), *taps(DOWN, 1.5, "two", up=False)])

    middles = sorted(np.mean([look.along_m for look in one.looks]) for one in got.groups)
    assert middles == pytest.approx(PLACES_M, abs=1.0)
    assert [one.person for one in got.lateness] == ["one", "two"]
    assert [one.late_m(10.0) for one in got.lateness] == pytest.approx([15.0, 15.0], abs=1.5)


def test_the_marks_lie_where_what_is_told_of_lateness_puts_them():
    """What is reported is what was taken off."""
    got = gathered([*taps(UP, 1.5, "one"), *taps(DOWN, 0.5, "two", up=False)], covers())
    off_m = {one.person: one.late_m(10.0) for one in got.lateness}

    expected = [off_m[person] for person in got.marks["person"]]
    assert got.marks["late_m"].tolist() == pytest.approx(expected, abs=0.1)


def test_a_late_person_is_told_from_an_early_one_by_a_file():
    """1.5 s and 0.5 s late: without the file the things would lie 5 m off between them."""
    got = gathered([*taps(UP, 1.5, "one"), *taps(DOWN, 0.5, "two", up=False)], covers())

    assert [one.late_m(10.0) for one in got.lateness] == pytest.approx([15.0, 5.0], abs=2.0)
    assert len(got.groups) == len(PLACES_M)


def test_nobody_is_late_where_nobody_tapped():
    """Records alone are grouped at once."""
    got = gathered([], covers())

    assert (len(got.groups), got.lateness) == (len(PLACES_M), ())
    assert [(one.pairs, one.applied) for one in got.shifts] == [(0, False)]


def there_and_back(late_s):
    """One person's marks both ways, and covers of a file that lies 8 m up-station."""
    marks = [*taps(UP, late_s, "one"), *taps(DOWN, late_s, "one", up=False)]
    return marks, [row | {"geometry": moved(row["geometry"])} for row in covers()]


def moved(point):
    """A point 8 m farther north."""
    lon, lat = lonlat(0.0, 8.0)
    zero_lon, zero_lat = lonlat(0.0, 0.0)
    return Point(point.x + lon - zero_lon, point.y + lat - zero_lat)


def test_a_file_that_lies_off_is_moved_back():
    """It is the file that is wrong, since the marks agree both ways."""
    got = gathered(*there_and_back(1.5))

    assert [(one.source, one.applied) for one in got.shifts] == [("covers.geojson", True)]
    assert got.records["along_m"].tolist() == pytest.approx(PLACES_M, abs=1.0)
    assert got.lateness[0].late_m(10.0) == pytest.approx(15.0, abs=1.0)
    assert [len(one.looks) for one in got.groups] == [3] * len(PLACES_M)


def test_who_taps_very_late_is_found_out():
    """At 2.5 s the marks of both ways lie 30 m apart at first."""
    got = gathered(*there_and_back(2.5))

    assert got.lateness[0].late_m(10.0) == pytest.approx(25.0, abs=2.0)
    assert [len(one.looks) for one in got.groups] == [3] * len(PLACES_M)


def test_of_very_many_looks_some_tell_how_far_a_file_lies_off(monkeypatch):
    """Every second thing, when there are twice as many looks as are needed."""
    monkeypatch.setattr("routeprep.gathering._MOST_LOOKS", 9)
    got = gathered(*there_and_back(1.5))

    assert [(one.pairs, one.applied) for one in got.shifts] == [(3, True)]
    assert got.shifts[0].north_m == pytest.approx(8.0, abs=1.0)


@pytest.fixture
def alternating(monkeypatch):
    """Grouping that leaves one look alone every second time; how often it was asked."""
    asked = []

    def other(looks, **more):
        asked.append(len(looks))
        alone = {looks[0].item_id} if len(asked) % 2 else set()
        return group(looks, **(more | {"splits": frozenset(alone)}))

    monkeypatch.setattr("routeprep.gathering.group", other)
    return asked


def test_groups_that_alternate_come_to_rest_when_lateness_does(alternating):
    """One look more or less moves it by a trifle."""
    got = gathered(*there_and_back(1.5))

    assert len(alternating) == 2
    assert got.shifts[0].applied


def test_after_the_last_round_what_was_learned_is_taken_off(alternating, monkeypatch):
    """Even where the groups still change."""
    monkeypatch.setattr("routeprep.gathering._ROUNDS", 1)
    got = gathered(*there_and_back(1.5))

    off_m = got.lateness[0].late_m(10.0)
    assert len(alternating) == 2
    assert got.marks["late_m"].tolist() == pytest.approx([off_m] * len(got.marks), abs=0.1)


def test_what_was_decided_holds():
    """Joined, split off and set aside, whatever the lateness."""
    marks = [*taps(UP, 1.0, "one", places_m=(300.0,)), *taps(UP, 1.0, "one", places_m=(700.0,))]
    ids = tuple(mark["mark_id"] for mark in marks)
    joined = gathered(marks, rules=replace(NOTHING_SAID, joins=(ids,)))
    aside = gathered(marks, rules=replace(NOTHING_SAID, no_things=frozenset({SMH})))

    assert [len(one.looks) for one in joined.groups] == [2]
    assert (aside.groups, len(aside.marks)) == ((), 2)


def test_marks_of_another_kind_tell_nothing_of_each_other():
    """A valve beside each manhole, tapped by nobody else."""
    marks = [mark | {"kind": WV, "words": WV} for mark in taps(UP, 1.0, "one")]
    got = gathered(marks)

    assert [(one.things, one.told) for one in got.lateness] == [(0, False)]


@given(st.permutations(range(3)))
@examples(max_examples=6)
def test_the_order_of_marks_and_drives_changes_nothing(order):
    """Neither groups nor lateness."""
    parts = [
        (UP, taps(UP, 1.375, "one")),
        (DOWN, taps(DOWN, 0.875, "two", up=False)),
        (FAST, taps(FAST, 1.25, "three", speed_mps=20.0)),
    ]
    mixed = [parts[k] for k in order]
    one = gathered([mark for _, marks in parts for mark in marks], drives=[d for d, _ in parts])
    other = gathered([mark for _, marks in mixed for mark in marks], drives=[d for d, _ in mixed])

    assert ids_of(other) == ids_of(one)
    assert other.lateness == one.lateness
    pd.testing.assert_frame_equal(
        other.marks.sort_values("mark_id", ignore_index=True),
        one.marks.sort_values("mark_id", ignore_index=True),
    )


def ids_of(got):
    """The item ids of each thing."""
    return [[look.item_id for look in one.looks] for one in got.groups]


def test_gathering_again_what_was_gathered_changes_nothing():
    """The same in, the same out, and nothing that went in was changed."""
    there = surveyed([*taps(UP, 1.375, "one"), *taps(DOWN, 0.875, "two", up=False)], covers())
    before = there.marks.copy(deep=True), there.records.copy(deep=True)
    one, other = (gather(there, settings=settings(), rules=NOTHING_SAID) for _ in range(2))

    assert ids_of(other) == ids_of(one)
    assert other.lateness == one.lateness
    pd.testing.assert_frame_equal(there.marks, before[0])
    pd.testing.assert_frame_equal(there.records, before[1])


def test_the_kinds_are_the_job_s():
    """The tests' manhole is one of them."""
    assert SMH in KINDS.kinds
