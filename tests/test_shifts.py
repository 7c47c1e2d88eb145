"""How far files of records lie off: planted shifts are found, lateness is none."""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from builders import KINDS, PLANE, SMH, leg_settings
from hypothesis import given, settings
from hypothesis import strategies as st
from made_looks import lateness, look, people, record
from pyproj import Geod

from routeprep import tables
from routeprep.centerline import measured
from routeprep.estimates import FileShift
from routeprep.lateness import NOBODY
from routeprep.lines import Stationing
from routeprep.locating import locate
from routeprep.merging import Group
from routeprep.placing import locate_records
from routeprep.shapes import Defaults, Leg
from routeprep.shifts import file_shifts, shifted

USUAL = Defaults()
NORTH = ((0, 0), (0, 2000))
CORNER = ((0, 0), (0, 1000), (1000, 1000))
SPEED_MPS = 15.0
# Of the person who taps [s]; 1.0 s is usual.
LATE_S = 1.6


def leg(xy_m):
    """A two-lane street along a path."""
    lon, lat = PLANE.to_lonlat(np.array(xy_m, dtype=np.float64))
    line = measured(lon, lat, sd_m=np.full(len(lon), 0.3), elevation_m=0.0, made_from="file")
    own = leg_settings()
    stationing = Stationing(unit=own.unit, zero="", known_m=(0.0,), known_value=(1000.0,))
    return Leg(settings=own, line=line, stationing=stationing, from_m=0.0, to_m=line.length_m)


def things(xy_m, step_m=40.0):
    """Covers along a path, 3 m to its left and right in turn [m]."""
    path = shapely.LineString(xy_m)
    beside = (path.offset_curve(3.0), path.offset_curve(-3.0))
    alongs = np.arange(step_m, path.length - step_m, step_m)
    return np.array(
        [beside[k % 2].interpolate(along_m).coords[0] for k, along_m in enumerate(alongs)]
    )


def taps(number, along_m, rng, *, ways):
    """One person's taps of a thing, placed as if the lateness were the usual one."""
    more_s = rng.normal(LATE_S - USUAL.tap_late_s, USUAL.tap_spread_s, len(ways))
    return [
        look(
            f"m{number}-{way}", travel=way, person="p", speed_mps=SPEED_MPS,
            late_m=USUAL.tap_late_s * SPEED_MPS, seconds=100.0 * number,
            along_m=along_m + way * SPEED_MPS * more,
            drive_id=f"d{way}", own_sd_m=math.hypot(0.5, SPEED_MPS * USUAL.tap_spread_s),
        )
        for way, more in zip(ways, more_s, strict=True)
    ]  # fmt: skip


def walks(number, along_m, offset_m, rng):
    """A mark of one on foot, good to a metre."""
    e, n = rng.normal(0.0, 1.0, 2)
    return [
        look(
            f"w{number}", method="walked", drive_id="walk", seconds=100.0 * number, travel=0,
            along_m=along_m + e, offset_m=offset_m + n, own_sd_m=1.0, offset_sd_m=1.0,
            speed_mps=math.nan, late_m=0.0,
        )
    ]  # fmt: skip


def surveyed(xy_m, shift_m, seed, *, ways=(1, -1), wrong=0, foot=False):
    """Groups, located records and the leg of a file that lies off by so much east and north."""
    rng, street, true_m = np.random.default_rng(seed), leg(xy_m), things(xy_m)
    said_m = true_m + shift_m + rng.normal(0.0, 1.0, true_m.shape)
    said_m[:wrong] += rng.normal(0.0, 12.0, (wrong, 2))
    rows = [
        {"record_id": f"r{k}", "kind": SMH, "source": "covers.geojson", "datum_sd_m": 0.0,
         "geometry": shapely.Point(*place)}
        for k, place in enumerate(zip(*PLANE.to_lonlat(said_m), strict=True))
    ]  # fmt: skip
    records = tables.table(tables.RECORDS, rows)
    records = locate_records(records, (street,), kinds=KINDS, defaults=USUAL)
    there = locate(street.line, *PLANE.to_lonlat(true_m))
    marks = [
        walks(k, a, o, rng) if foot else taps(k, a, rng, ways=ways)
        for k, (a, o) in enumerate(zip(there.along_m, there.offset_m, strict=True))
    ]
    groups = [Group(looks=(*seen, record(f"r{k}"))) for k, seen in enumerate(marks)]
    return groups, records, (street,)


def found(made, known=NOBODY):
    """The shift of the one file."""
    (one,) = file_shifts(*made, people=known, defaults=USUAL)
    return one


def off_sds(one, shift_m):
    """How far a shift is from what was planted, in its standard deviations (Mahalanobis)."""
    miss = np.array([one.east_m, one.north_m]) - shift_m
    covariance = np.array(
        [[one.east_sd_m**2, one.east_north_m2], [one.east_north_m2, one.north_sd_m**2]]
    )
    return math.sqrt(float(miss @ np.linalg.solve(covariance, miss)))


# Chi-square with two degrees of freedom is below 9.21 in 99 of 100 (any table).
WITHIN = math.sqrt(9.21)


def test_a_planted_shift_is_found_from_both_directions_of_a_road_that_turns() -> None:
    """East is told by the part that runs east, north by the other."""
    one = found(surveyed(CORNER, (5.0, -5.0), 1))

    assert off_sds(one, (5.0, -5.0)) < WITHIN
    assert max(one.east_sd_m, one.north_sd_m) < 1.2
    assert one.applied
    assert one.pairs == 48
    assert "m off toward the south-east (from 48 pairs of record and mark)" in one.text
    assert one.text.endswith("its records are moved back")


def test_from_a_vehicle_only_along_the_road_is_told() -> None:
    """What lies square to the road stays unknown, and is said."""
    one = found(surveyed(NORTH, (4.0, 3.0), 2))

    assert abs(one.north_m - 3.0) < 2 * one.north_sd_m < 2.0
    assert abs(one.east_m) < 0.1
    assert one.east_sd_m > 25.0
    assert "toward the north (from 48 pairs of record and mark); square to that noth" in one.text


def test_lateness_of_one_who_drove_one_way_only_is_no_shift() -> None:
    """He taps 0.6 s later than is usual, 9 m at this speed, and the file is right."""
    one = found(surveyed(NORTH, (0.0, 0.0), 3, ways=(1,)))

    assert (one.east_m, one.north_m, one.applied) == (0.0, 0.0, False)
    assert one.north_sd_m > 6.0
    assert "covers.geojson: whether it lies off is not told, ± " in one.text


def test_marks_on_foot_tell_both_directions_on_a_straight_road() -> None:
    """A walk is not late and knows where across."""
    one = found(surveyed(NORTH, (4.0, 3.0), 4, foot=True))

    assert off_sds(one, (4.0, 3.0)) < WITHIN
    assert max(one.east_sd_m, one.north_sd_m) < 0.6
    assert one.applied


def test_a_walker_who_says_the_whole_road_tells_nothing_across() -> None:
    """Nor does a mark whose thing spans it."""
    groups, records, legs = surveyed(NORTH, (4.0, 3.0), 4, foot=True)
    wide = [
        Group(looks=tuple(look._replace(position="whole road") for look in one.looks))
        for one in groups
    ]

    assert found((wide, records, legs)).east_sd_m > 25.0


@pytest.mark.parametrize("seed", range(5))
def test_records_that_were_paired_with_another_thing_are_set_aside(seed: int) -> None:
    """One in eight lies 12 m off in any direction."""
    one = found(surveyed(CORNER, (4.0, -4.0), seed, wrong=6))

    assert off_sds(one, (4.0, -4.0)) < WITHIN
    assert one.applied


def test_intervals_hold_what_they_promise_and_right_files_stay() -> None:
    """Of 100 files that are right at most 4 are moved, and 95 % ellipses hold in 90 or more.

    Binomial: of 100 at 1 % more than 4 are moved once in 290, at 95 % fewer than 90 hold once in
    90.
    """
    each = [found(surveyed(CORNER, (0.0, 0.0), seed, foot=bool(seed % 2))) for seed in range(100)]

    assert sum(one.applied for one in each) <= 4
    # Chi-square with two degrees of freedom is below 5.99 in 95 of 100 (any table).
    assert sum(off_sds(one, (0.0, 0.0)) < math.sqrt(5.99) for one in each) >= 90


def test_a_small_shift_that_is_certain_is_left() -> None:
    """Below half a metre nobody gains."""
    sure = replace(USUAL, record_sd_m=0.01)
    made = surveyed(NORTH, (0.0, 0.3), 5, foot=True)
    groups = [Group(looks=tuple(x._replace(own_sd_m=0.05) for x in one.looks)) for one in made[0]]
    (one,) = file_shifts(groups, *made[1:], people=NOBODY, defaults=sure)

    assert math.hypot(one.east_m, one.north_m) < 0.5
    assert not one.applied


def test_two_records_move_no_file() -> None:
    """However far they lie off."""
    groups, records, legs = surveyed(NORTH, (10.0, 10.0), 6, foot=True)

    assert not found((groups[:2], records, legs)).applied
    assert found((groups[:20], records, legs)).applied


def test_a_file_of_which_nothing_was_seen_says_so() -> None:
    """Its records are on the leg, and nothing was marked there."""
    _, records, legs = surveyed(NORTH, (0.0, 0.0), 7)
    one = found(([], records, legs))

    assert (one.pairs, one.applied, one.east_sd_m) == (0, False, 30.0)
    assert one.text == (
        "covers.geojson: none of its records was seen, so whether it lies off is not known"
    )
    assert file_shifts([], records[:0], legs, people=NOBODY, defaults=USUAL) == ()


def test_a_long_record_and_one_on_another_leg_tell_nothing() -> None:
    """A pipe has no one place; a join across legs is a person's."""
    groups, records, legs = surveyed(NORTH, (3.0, 3.0), 8, foot=True)
    long = [
        Group(looks=tuple(x._replace(to_m=x.from_m + 50.0) for x in one.looks)) for one in groups
    ]
    other = [Group(looks=tuple(x._replace(leg="B") for x in one.looks)) for one in groups]

    assert found((long, records, legs)).pairs == 0
    assert found((other, records, legs)).pairs == 0


def test_how_far_single_taps_spread_is_the_person_s_own() -> None:
    """One who taps unevenly tells less."""
    made = surveyed(CORNER, (3.0, -2.0), 9)
    wild = people(lateness("p", tap_sd_s=0.349))
    steady = people(lateness("p", tap_sd_s=0.1))

    assert found(made, wild).east_sd_m != found(made, steady).east_sd_m


def test_marks_without_time_or_drive_count_by_their_own_doubt() -> None:
    """Nobody's lateness was taken off them, and no receiver's error is shared."""
    groups, records, legs = surveyed(NORTH, (0.0, 3.0), 10)
    bare = [
        Group(looks=tuple(
            x._replace(person="", drive_id="", travel=0, speed_mps=math.nan, late_m=0.0)
            if x.is_mark else x
            for x in one.looks
        ))
        for one in groups
    ]  # fmt: skip
    one = found((bare, records, legs))

    assert one.pairs == 48
    assert one.north_sd_m == pytest.approx(math.sqrt((5.27**2 / 2 + 4.0) / 48), rel=0.25)


def test_a_record_that_lies_nowhere_but_on_the_mark_is_no_shift() -> None:
    """A shift of exactly nothing has no direction, and no sentence fails."""
    groups, records, legs = surveyed(NORTH, (0.0, 0.0), 11, foot=True)
    exact = [
        Group(looks=tuple(
            x._replace(along_m=row["along_m"], offset_m=row["offset_m"]) for x in one.looks
        ))
        for one, (_, row) in zip(groups, records.iterrows(), strict=True)
    ]  # fmt: skip
    one = found((exact, records, legs))

    assert (one.east_m, one.north_m, one.applied) == (0.0, 0.0, False)


@settings(max_examples=10)
@given(st.randoms(use_true_random=False))
def test_the_order_of_groups_and_records_changes_nothing(random) -> None:
    """Nor does that of the looks in a group."""
    groups, records, legs = surveyed(CORNER, (3.0, -2.0), 12, wrong=3)
    mixed = [Group(looks=tuple(random.sample(one.looks, len(one.looks)))) for one in groups]
    random.shuffle(mixed)
    rows = random.sample(range(len(records)), len(records))

    assert found((mixed, records.iloc[rows], legs)) == found((groups, records, legs))


def shift(source, east_m, north_m, *, applied=True):
    """A shift as it was found."""
    return FileShift(
        source=source, east_m=east_m, north_m=north_m, east_sd_m=0.2, north_sd_m=0.2,
        east_north_m2=0.0, pairs=9, applied=applied, text="",
    )  # fmt: skip


def test_records_move_back_by_what_their_file_lies_off() -> None:
    """Every vertex, by a geodesic of that length and direction; other files stay."""
    line = shapely.LineString([(-100.87, 41.43), (-100.86, 41.43), (-100.86, 41.44)])
    rows = [
        {"record_id": name, "source": name, "datum_sd_m": 0.0, "geometry": line}
        for name in ("off", "right", "small")
    ]
    records = tables.table(tables.RECORDS, rows)
    moved = shifted(records, [shift("off", 3.0, 4.0), shift("small", 1.0, 0.0, applied=False)])
    there = shapely.get_coordinates(moved["geometry"][0])
    back_deg, _, far_m = Geod(ellps="WGS84").inv(*line.coords.xy, *there.T)

    assert far_m == pytest.approx(5.0, abs=1e-6)
    # Toward west and south: 180 deg and the angle whose tangent is 3/4, 36.87 deg.
    assert back_deg == pytest.approx(np.full(3, -180.0 + 36.86990), abs=1e-3)
    assert moved["geometry"][1:].tolist() == [line, line]
    assert records["geometry"][0] == line


def test_a_file_that_was_moved_back_lies_off_no_more() -> None:
    """Located again, what is left is far below a metre; the file as it was still lies off."""
    groups, records, legs = surveyed(CORNER, (3.0, -2.0), 13, foot=True)
    one = found((groups, records, legs))
    moved = shifted(records[[column.name for column in tables.RECORDS]], [one])
    again = locate_records(moved, legs, kinds=KINDS, defaults=USUAL)
    rest = found((groups, again, legs))

    assert math.hypot(rest.east_m, rest.north_m) < 0.1
    assert not rest.applied
