"""Marks and records to things: what may be one, what stays two, and what a person decided."""

import itertools
import math

import pytest
from builders import CB, KINDS, MH, SMH, WV
from hypothesis import given
from hypothesis import settings as examples
from hypothesis import strategies as st

from routeprep import tables
from routeprep.merging import Look, anchor_of, group, knows_across, looks_of, passings
from routeprep.shapes import Defaults

USUAL = {
    "is_mark": True, "leg": "A", "kind": SMH, "seconds": 1000.0, "along_m": 100.0, "from_m": 100.0,
    "to_m": 100.0, "offset_m": 2.7, "along_sd_m": 7.0, "offset_sd_m": 0.55, "lane": "R1",
    "position": "", "drive_id": "up", "source": "up.gpx", "travel": 1, "driven_m": 100.0, "by": "",
    "method": "vehicle", "past_end_m": 0.0, "doubt": "",
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
    """More than two standard deviations of the distance: 20 m."""
    assert grouped(look("a"), back("b", along_m=121.0)) == [["a"], ["b"]]


def test_however_unsure_30_m_apart_are_two():
    """Doubt is no reason to swallow the next cover."""
    looks = look("a", along_sd_m=50.0), back("b", along_m=131.0, along_sd_m=50.0)

    assert grouped(*looks) == [["a"], ["b"]]


def test_a_valve_is_no_manhole():
    """Kinds that can not be one thing stay apart."""
    assert grouped(look("a"), back("b", kind=WV)) == [["a"], ["b"]]


def test_a_manhole_of_no_kind_may_be_any():
    """But it does not make one of the sewer and the storm cover that it could be."""
    storm = look("c", kind=KINDS.find("storm manhole").code, drive_id="third")

    assert grouped(look("a"), back("b", kind=MH)) == [["a", "b"]]
    assert grouped(look("a"), back("b", kind=MH), storm) == [["a", "b"], ["c"]]


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
@examples(max_examples=60)
def test_the_order_of_the_input_changes_nothing(looks, random):
    """Shuffled looks give the same groups in the same order."""
    shuffled = random.sample(looks, len(looks))
    one = group(looks, kinds=KINDS, defaults=Defaults())

    assert ids(group(shuffled, kinds=KINDS, defaults=Defaults())) == ids(one)


@given(many_looks())
@examples(max_examples=60)
def test_every_look_is_in_exactly_one_group_of_one_leg(looks):
    """Nothing is lost, nothing stands twice, no row lies on two streets."""
    groups = group(looks, kinds=KINDS, defaults=Defaults())

    assert sorted(itertools.chain(*ids(groups))) == sorted(one.item_id for one in looks)
    assert all(len({one.leg for one in made.looks}) == 1 for made in groups)


@given(many_looks())
@examples(max_examples=60)
def test_no_two_groups_could_still_be_one(looks):
    """Of any two groups some pair of members is never one thing."""
    groups = group(looks, kinds=KINDS, defaults=Defaults())
    for one, other in itertools.combinations(groups, 2):
        pairs = [(a, b) for a in one.looks for b in other.looks]
        alone = [len(group(pair, kinds=KINDS, defaults=Defaults())) for pair in pairs]

        assert 2 in alone


@given(many_looks(), st.data())
@examples(max_examples=60)
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
