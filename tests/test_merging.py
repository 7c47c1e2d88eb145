"""Marks and records to things: what may be one, what stays two, and what a person decided."""

import itertools
import math
from collections import Counter

import numpy as np
import pandas as pd
import pytest
from builders import CB, KINDS, MH, SMH, WV, drive, settings, survey, tap
from hypothesis import given
from hypothesis import settings as examples
from hypothesis import strategies as st
from invented.simulated import simulate

from routeprep import tables
from routeprep.drives import clean
from routeprep.job import prepare
from routeprep.legs import build_legs
from routeprep.matching import Path, match
from routeprep.merging import Look, anchor_of, group, knows_across, looks_of, passings
from routeprep.placing import locate_marks, locate_records
from routeprep.readers.jobfile import read_job
from routeprep.shapes import Defaults
from routeprep.smoothing import smooth

USUAL = {
    "is_mark": True, "leg": "A", "kind": SMH, "seconds": 1000.0, "along_m": 100.0, "from_m": 100.0,
    "to_m": 100.0, "offset_m": 2.7, "along_sd_m": 7.0, "offset_sd_m": 0.55, "lane": "R1",
    "position": "", "drive_id": "up", "source": "up.gpx", "travel": 1, "driven_m": 100.0, "by": "",
    "method": "vehicle", "past_end_m": 0.0, "doubt": "", "person": "", "speed_mps": 10.0,
    "late_m": 10.0, "own_sd_m": 5.0, "size": "", "name": "",
}  # fmt: skip


def look(item_id, **changes):
    """One mark in the right lane, 100 m along, seen going up-station."""
    return Look(**(USUAL | {"item_id": item_id} | changes))


def record(item_id, **changes):
    """One cover of a city's file."""
    usual = {
        "is_mark": False, "seconds": math.nan, "along_sd_m": 2.0, "offset_sd_m": 2.0, "lane": "",
        "drive_id": "", "source": "covers.geojson", "travel": 0, "driven_m": math.nan,
        "method": "file", "doubt": "lane not sure",
    }  # fmt: skip
    return look(item_id, **(usual | changes))


def back(item_id, **changes):
    """The same cover seen by another drive going down-station."""
    return look(item_id, **({"drive_id": "down", "travel": -1, "seconds": 5000.0} | changes))


def grouped(*looks, **decided):
    """Ids of each group."""
    groups = group(looks, kinds=KINDS, defaults=Defaults(), **decided)
    return sorted(sorted(one.item_id for one in made.looks) for made in groups)


def test_two_drives_that_saw_one_cover_saw_one():
    """Nine metres apart along, each good to 7 m."""
    assert grouped(look("a"), back("b", along_m=109.0)) == [["a", "b"]]


def test_beyond_their_doubt_they_are_two():
    """More than three standard deviations of the distance: 30 m."""
    assert grouped(look("a"), back("b", along_m=131.0)) == [["a"], ["b"]]


def test_what_is_far_apart_for_its_doubt_is_two():
    """20 m apart, each good to 5 m: 2.8 standard deviations, against one cover in 300 m."""
    sure = {"along_sd_m": 5.0, "own_sd_m": 5.0}

    assert grouped(look("a", **sure), back("b", along_m=120.0, **sure)) == [["a"], ["b"]]


def test_however_unsure_30_m_apart_are_two():
    """Doubt is no reason to swallow the next cover."""
    looks = look("a", along_sd_m=50.0), back("b", along_m=131.0, along_sd_m=50.0)

    assert grouped(*looks) == [["a"], ["b"]]


def test_a_valve_is_no_manhole():
    """Kinds that can not be one thing stay apart."""
    assert grouped(look("a"), back("b", kind=WV)) == [["a"], ["b"]]


def test_a_manhole_of_no_kind_may_be_any():
    """But it does not make one of the sewer and the storm cover that it could be."""
    storm = look("c", kind=KINDS.find("storm manhole").code, drive_id="third", along_m=102.0)

    assert grouped(look("a"), back("b", kind=MH)) == [["a", "b"]]
    assert grouped(look("a"), back("b", kind=MH, along_m=99.0), storm) == [["a", "b"], ["c"]]


def test_opposite_lanes_are_two():
    """Each was called in a lane of its own."""
    assert grouped(look("a"), back("b", lane="L1", offset_m=-2.7)) == [["a"], ["b"]]


def test_a_lane_of_several_may_be_the_side():
    """R is any lane on the right."""
    wide = back("b", lane="R", offset_m=3.6, offset_sd_m=2.1)

    assert grouped(look("a"), wide) == [["a", "b"]]


def test_a_record_on_the_other_side_of_the_road_is_another_cover():
    """The unseen cover on the left must not vanish into the one seen on the right."""
    assert grouped(look("a"), record("r", offset_m=-3.0)) == [["a"], ["r"]]


def test_a_record_near_the_lane_said_is_that_cover():
    """1.5 m beside it, good to 2 m."""
    assert grouped(look("a"), record("r", offset_m=1.2)) == [["a", "r"]]


def test_of_two_records_the_nearer_across_is_taken():
    """Equally near along; the other stays in a file, not seen."""
    near, far = record("near", offset_m=2.5), record("far", offset_m=-1.0)

    assert grouped(look("a"), far, near) == [["a", "near"], ["far"]]


def test_where_nobody_said_a_vehicle_does_not_know_across():
    """A mark without words may be any cover at that station."""
    assert grouped(look("a", lane=""), record("r", offset_m=-3.0)) == [["a", "r"]]
    assert not knows_across(look("a", lane=""))


def test_what_fills_the_whole_road_lies_on_both_sides():
    """A rail crossing in a file may be drawn at either edge."""
    assert not knows_across(look("a", lane="", position="whole road", method="walked"))


def test_records_of_one_file_are_two_things():
    """An owner lists each cover once."""
    assert grouped(record("r"), record("s", along_m=101.0)) == [["r"], ["s"]]


def test_a_newer_export_of_the_same_covers_doubles_nothing():
    """Two files, 10 cm apart."""
    again = record("s", along_m=100.1, source="covers-2026.geojson")

    assert grouped(record("r"), again) == [["r", "s"]]


def test_two_taps_of_one_passing_are_two():
    """Three metres apart, tapped by one drive."""
    assert grouped(look("a"), look("b", along_m=103.0, driven_m=103.0)) == [["a"], ["b"]]


def test_two_taps_of_a_parked_driver_are_two_however_long_he_stood():
    """Ten minutes at the kerb, two covers."""
    assert grouped(look("a"), look("b", seconds=1600.0, along_m=102.0)) == [["a"], ["b"]]


def test_round_the_block_and_past_again_is_another_passing():
    """150 s later and 400 m farther the same cover comes by."""
    again = look("b", seconds=1150.0, along_m=103.0, driven_m=503.0)

    assert grouped(look("a"), again) == [["a", "b"]]


def test_one_drive_there_and_back_saw_one_cover_twice():
    """Its direction tells the passings apart."""
    there, here = look("a"), look("b", travel=-1, driven_m=130.0, seconds=1060.0)

    assert grouped(there, here) == [["a", "b"]]
    assert passings([there, here]) == 2


def test_a_direction_that_is_not_known_makes_no_second_passing():
    """One tap at the edge of a gap has no direction."""
    assert grouped(look("a"), look("b", travel=0, along_m=103.0)) == [["a"], ["b"]]


def test_untimed_marks_of_one_drive_are_one_passing():
    """Nothing tells them apart, so nothing makes them one."""
    looks = [look(k, seconds=math.nan, driven_m=math.nan, travel=0) for k in "ab"]

    assert grouped(*looks) == [["a"], ["b"]]
    assert passings(looks) == 1


@pytest.mark.parametrize(
    ("later_s", "source", "expected"),
    [
        (60.0, "list.csv", 2),
        (7200.0, "list.csv", 1),
        (60.0, "other.csv", 1),
        (math.nan, "list.csv", 2),
    ],
)
def test_marks_on_no_drive_are_one_passing_by_file_and_half_an_hour(later_s, source, expected):
    """A list of marks names each cover once; two hours later it may name it again."""
    one = look("a", drive_id="", source="list.csv", driven_m=math.nan)
    other = look("b", drive_id="", source=source, seconds=1000.0 + later_s, driven_m=math.nan)

    assert len(grouped(one, other)) == expected


def test_other_legs_have_things_of_their_own():
    """Same distance along, other street."""
    assert grouped(look("a"), back("b", leg="B")) == [["a"], ["b"]]


def test_a_joined_pair_is_one_however_far_apart():
    """A person saw both."""
    assert grouped(look("a"), back("b", along_m=180.0), joins=[("b", "a")]) == [["a", "b"]]


def test_joins_add_up():
    """Two things joined with a third are all one; a join said twice is one join."""
    looks = look("a"), back("b", along_m=180.0), back("c", along_m=260.0)
    joins = [("a", "b"), ("a", "c"), ("b", "c")]

    assert grouped(*looks, joins=joins) == [["a", "b", "c"]]


def test_a_join_takes_all_that_either_thing_was_made_of():
    """Two drives marked two things each; joined by one mark of each, no mark is left behind."""
    first = look("a"), back("b")
    second = look("c", along_m=180.0), back("d", along_m=180.0)

    assert grouped(*first, *second) == [["a", "b"], ["c", "d"]]
    assert grouped(*first, *second, joins=[("c", "a")]) == [["a", "b", "c", "d"]]


def test_a_join_across_legs_or_with_nothing_changes_nothing():
    """Each leg keeps its row."""
    looks = look("a"), back("b", leg="B")

    assert grouped(*looks, joins=[("a", "b"), ("a", "gone"), ("gone", "b")]) == [["a"], ["b"]]


def test_a_split_mark_stands_alone():
    """Whichever of the two it was."""
    for parted in "ab":
        assert grouped(look("a"), back("b"), splits=frozenset(parted)) == [["a"], ["b"]]


def test_what_was_split_stays_away_from_those_that_its_partner_could_join():
    """Split from all, then joined with one: the others do not come back through that one."""
    looks = look("a"), back("b"), back("c", drive_id="third")
    got = grouped(*looks, joins=[("a", "b")], splits=frozenset("a"))

    assert got == [["a", "b"], ["c"]]


def test_the_earliest_mark_is_the_anchor():
    """Timed before untimed, marks before records."""
    made = group([record("r"), back("b"), look("a")], kinds=KINDS, defaults=Defaults())

    assert [one.item_id for one in made[0].looks] == ["a", "b", "r"]
    assert anchor_of(made[0], {}) == "a"


def test_an_item_that_was_issued_a_number_is_the_anchor():
    """Of several the earliest placed."""
    made = group([look("a"), back("b"), record("r")], kinds=KINDS, defaults=Defaults())[0]

    assert anchor_of(made, {"r": "A-7"}) == "r"
    assert anchor_of(made, {"r": "A-7", "b": "A-9"}) == "b"


def test_no_rows_give_no_looks_and_no_groups():
    """Empty tables are no fault."""
    empty = tables.table((*tables.MARKS, *tables.LOCATED), [])

    assert looks_of(empty, is_mark=True) == []
    assert grouped() == []


def test_only_what_has_a_leg_and_a_kind_is_evidence():
    """The others stand under elsewhere or wait to be sorted."""
    rows = [
        {"mark_id": item_id, "leg": leg, "kind": kind, "across_frame": "as driven",
         "method": "walked", "source": "x.csv"}
        for item_id, leg, kind in (("on", "A", SMH), ("off", "", SMH), ("odd", "A", ""))
    ]  # fmt: skip
    looks = looks_of(tables.table((*tables.MARKS, *tables.LOCATED), rows), is_mark=True)

    assert [one.item_id for one in looks] == ["on"]
    assert math.isnan(looks[0].driven_m)


@st.composite
def many_looks(draw):
    """Marks of three drives and records of two files in 80 m of two legs."""
    count = draw(st.integers(0, 14))
    looks = []
    for k in range(count):
        along_m = float(draw(st.integers(0, 80)))
        spot = {"along_m": along_m, "leg": draw(st.sampled_from("AB"))}
        spot["kind"] = draw(st.sampled_from((SMH, MH, WV, CB)))
        if draw(st.booleans()):
            drive_id = draw(st.sampled_from(("up", "down", "third")))
            lane, offset_m = draw(st.sampled_from((("R1", 2.7), ("L1", -2.7), ("", 1.0))))
            looks.append(
                look(f"m{k}", drive_id=drive_id, lane=lane, offset_m=offset_m,
                     seconds=1000.0 + along_m, driven_m=along_m, **spot)
            )  # fmt: skip
        else:
            source = draw(st.sampled_from(("one.geojson", "two.geojson")))
            offset_m = float(draw(st.integers(-5, 5)))
            looks.append(record(f"r{k}", source=source, offset_m=offset_m, **spot))
    return looks


def ids(groups):
    """Ids of each group, in order."""
    return [[one.item_id for one in made.looks] for made in groups]


@given(many_looks(), st.randoms(use_true_random=False))
@examples(max_examples=40)
def test_the_order_of_the_input_changes_nothing(looks, random):
    """Shuffled looks give the same groups in the same order."""
    shuffled = random.sample(looks, len(looks))
    one = group(looks, kinds=KINDS, defaults=Defaults())

    assert ids(group(shuffled, kinds=KINDS, defaults=Defaults())) == ids(one)


@given(many_looks())
@examples(max_examples=40)
def test_every_look_is_in_exactly_one_group_of_one_leg(looks):
    """Nothing is lost, nothing stands twice, no row lies on two streets."""
    groups = group(looks, kinds=KINDS, defaults=Defaults())

    assert sorted(itertools.chain(*ids(groups))) == sorted(one.item_id for one in looks)
    assert all(len({one.leg for one in made.looks}) == 1 for made in groups)


@given(many_looks())
@examples(max_examples=40)
def test_no_group_holds_two_of_one_passing_or_file(looks):
    """Two taps of one drive going by are two things, and so are two rows of one file."""
    for one in group(looks, kinds=KINDS, defaults=Defaults()):
        marks = [item for item in one.looks if item.is_mark]
        files = [item.source for item in one.looks if not item.is_mark]

        assert passings(marks) == len(marks)
        assert len(set(files)) == len(files)


@given(many_looks())
@examples(max_examples=30)
def test_merging_twice_is_merging_once(looks):
    """What comes out goes in again and comes out the same."""
    once = group(looks, kinds=KINDS, defaults=Defaults())
    again = [item for one in once for item in one.looks]

    assert ids(group(again, kinds=KINDS, defaults=Defaults())) == ids(once)


@given(many_looks())
@examples(max_examples=30)
def test_a_further_drive_loses_nothing(looks):
    """Every thing that was on the list is still evidence for one, and two taps are still two."""
    fewer = [one for one in looks if one.drive_id != "third"]
    before = group(fewer, kinds=KINDS, defaults=Defaults())
    after = {item: n for n, row in enumerate(ids(group(looks, kinds=KINDS, defaults=Defaults())))
             for item in row}  # fmt: skip

    assert all(after.keys() >= {item.item_id for item in one.looks} for one in before)
    assert all(after[a.item_id] != after[b.item_id] for a, b in itertools.combinations(fewer, 2)
               if a.is_mark and b.is_mark and passings([a, b]) == 1)  # fmt: skip


@given(many_looks(), st.data())
@examples(max_examples=40)
def test_joins_and_splits_are_obeyed(looks, data):
    """Joined items of one leg share a row; a split item shares one only with what it was joined."""
    names = [one.item_id for one in looks] or ["none"]
    name = st.sampled_from(names)
    joins = data.draw(st.lists(st.tuples(name, name), max_size=3))
    splits = frozenset(data.draw(st.lists(name, max_size=3)))
    leg = {one.item_id: one.leg for one in looks}
    made = group(looks, kinds=KINDS, defaults=Defaults(), joins=joins, splits=splits)
    of = {item: set(row) for row in ids(made) for item in row}
    joined = set(itertools.chain(*joins))

    assert all(b in of[a] for a, b in joins if leg.get(a) == leg.get(b) and a in of)
    assert all(of[item] <= joined | {item} for item in splits if item in of)


def test_looks_that_know_their_side_find_each_other_first():
    """A tap without words, nearest to the record, does not take it from the lane it lies in."""
    vague = back("b", lane="", offset_m=-1.8, along_m=100.0, along_sd_m=1.0)
    lane, record_ = look("a", along_m=104.0), record("r", along_m=100.5, along_sd_m=1.0)

    assert grouped(vague, lane, record_) == [["a", "b", "r"]]
    assert grouped(vague, lane, back("c", lane="L1", offset_m=-2.7, along_m=130.0), record_) == [
        ["a", "b", "r"],
        ["c"],
    ]


def straight(drive_id, travel=1):
    """A path along 1 km of leg A at 10 m/s, going up- or down-station, and the drive's id."""
    at_m = np.arange(0.0, 1000.1, 10.0)
    return drive_id, Path(
        seconds=at_m / 10.0, leg=np.zeros(len(at_m), dtype=np.int64), along_m=at_m[::travel],
        driven_m=at_m,
    )  # fmt: skip


def seen_by(kinds, **changes):
    """A mark of each of these kinds at one place, each by a drive of its own."""
    return [look(f"m{n}", kind=kind, drive_id=f"d{n}", **changes) for n, kind in enumerate(kinds)]


def passed(*looks, by, **changes):
    """Ids of each group where so many drives went by that look for covers."""
    also = [look(f"x{n}", drive_id=f"d{n}", along_m=500.0 + 40 * n) for n in range(by)]
    paths = dict(straight(f"d{n}") for n in range(by))
    made = group([*looks, *also], kinds=KINDS, defaults=Defaults(), paths=paths, codes=["A"],
                 **changes)  # fmt: skip
    return sorted(row for row in map(sorted, ids(made)) if row[0][0] != "x")


def test_a_wrong_name_is_found_out_by_the_many_who_saw_no_other_thing():
    """Five saw a sewer manhole, the sixth a valve and no manhole: one thing, its looks as said."""
    assert passed(*seen_by([SMH] * 5 + [WV]), by=6) == [["m0", "m1", "m2", "m3", "m4", "m5"]]


def test_when_in_doubt_a_valve_is_no_manhole_by_another_name():
    """One saw a manhole, one a valve, and nobody else went by: two rows."""
    assert passed(*seen_by([SMH, WV]), by=2) == [["m0"], ["m1"]]


def test_a_valve_beside_a_manhole_is_not_swallowed():
    """One drive tapped both; five more saw the manhole alone."""
    beside = look("v", kind=WV, drive_id="d5", along_m=101.0, driven_m=101.0)

    assert ["v"] in passed(*seen_by([SMH] * 6), beside, by=6)


def test_words_across_that_conflict_do_not_part_what_all_else_joins():
    """Four say the right lane and one the left: one cover, its lane to be doubted."""
    looks = [*seen_by([SMH] * 4), look("l", drive_id="d4", lane="L1", offset_m=-2.7)]

    assert passed(*looks, by=8) == [["l", "m0", "m1", "m2", "m3"]]


def test_kinds_of_two_groups_are_not_one():
    """However many went by and saw but one of them."""
    patch = KINDS.find("patch").code

    assert passed(*seen_by([SMH] * 5 + [patch]), by=6)[-1] == ["m5"]


def test_sizes_that_differ_speak_for_two():
    """12 m apart, and one is twice as wide as the other."""
    for size, count in (("24 in", 1), ("48 in", 2)):
        looks = look("a", size="24 in"), back("b", along_m=115.0, size=size)

        assert len(grouped(*looks)) == count


def late_drive(drive_id, travel, late_s, *, person):
    """Marks at things 25 m apart, alike, each tapped so late at 20 m/s."""
    late_m = 20.0 * late_s
    usual = {"drive_id": drive_id, "person": person, "travel": travel, "speed_mps": 20.0,
             "along_sd_m": math.hypot(5.0, 12.0)}  # fmt: skip
    things_m = np.cumsum([40.0, 22, 31, 25, 60, 28, 19, 45, 33, 24, 52, 27])
    return [
        look(f"{drive_id}{n:02d}", along_m=at_m + travel * late_m, driven_m=at_m,
             seconds=1000.0 + at_m, **usual)
        for n, at_m in enumerate(things_m.tolist())
    ]  # fmt: skip


def test_opposite_drives_that_are_both_late_see_the_same_things():
    """0.7 s at 20 m/s: 28 m between the two marks of each thing, as far as to the next one."""
    up = late_drive("up", 1, 0.7, person="Ann (invented)")
    down = late_drive("down", -1, 0.7, person="Bob (invented)")

    assert grouped(*up, *down) == [[f"down{n:02d}", f"up{n:02d}"] for n in range(12)]


def test_where_a_drive_turned_round_one_tap_too_many_stays_a_thing():
    """15 m past the first tap it turned, and tapped again 3 m short of it without a direction."""
    first = look("a", driven_m=100.0)
    between = look("b", travel=-1, along_m=110.0, driven_m=120.0, seconds=1010.0)
    last = look("c", travel=0, along_m=98.0, driven_m=132.0, seconds=1012.0)

    far = look("z", along_m=20.0, driven_m=20.0, seconds=990.0)
    made = grouped(far, first, between, last)

    assert passings([first, last]) == 1
    assert not any({"a", "c"} <= set(row) for row in made)
    assert ["z"] in made


def simulated(seed):
    """Groups of a simulated job, and the true thing of each mark."""
    made = simulate(seed)
    job = read_job("job.toml", made.files)
    survey, defaults = job.survey, job.settings.defaults
    cleaned = clean(survey.fixes, names=survey.drive_names, defaults=defaults)
    smoothed = smooth(cleaned.fixes, defaults)
    legs, _ = build_legs(survey, job.settings, smoothed.fixes, smoothed.tracks)
    paths = match(smoothed.fixes, legs, defaults)
    kinds = job.settings.kinds
    marks = locate_marks(survey.marks, smoothed.tracks, paths, legs, kinds=kinds, defaults=defaults)
    records = locate_records(survey.records, legs, kinds=kinds, defaults=defaults)
    looks = [*looks_of(marks, is_mark=True, paths=paths), *looks_of(records, is_mark=False)]
    groups = group(looks, kinds=kinds, defaults=defaults, paths=paths, codes=["A"])
    return groups, {mark.mark_id: mark.thing for mark in made.truth.marks}


@pytest.mark.parametrize("seed", [0, 5])
def test_pairs_of_marks_are_told_as_the_issue_asks(seed):
    """Of two simulated jobs, the second being the worst of 24: F1 at least 0.93."""
    groups, thing_of = simulated(seed)
    marks = [[thing_of[item.item_id] for item in one.looks if item.is_mark] for one in groups]
    made = [pair for row in marks for pair in itertools.combinations(row, 2)]
    right = sum(one == other for one, other in made)
    true = sum(math.comb(n, 2) for n in Counter(thing_of.values()).values())

    assert 2 * right / (len(made) + true) >= 0.93


def test_the_same_drive_twice_counts_once():
    """Under another file's name: every thing is still seen as often as before."""
    fixes = drive([[1.8, 0.0], [1.8, 600.0]])
    copied = fixes.assign(drive_id=pd.array(["copy"] * len(fixes), dtype="str"))
    marks = [
        tap(one, when, kind, words=f"{kind} {n}")
        for n, one in enumerate((fixes, copied))
        for when, kind in ((20.0, SMH), (40.0, WV))
    ]
    pack = prepare(survey(fixes, copied, marks=marks), settings(), [], [])

    assert len({one["mark_id"] for one in marks}) == 4
    assert pack.obstructions["times_seen"].tolist() == [1, 1, 1, 1]
