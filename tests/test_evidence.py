"""What each thing rests on, what was set aside, and why what is near is another thing."""

import time

import pandas as pd
import pytest
from builders import KINDS, MH, WV
from hypothesis import given
from hypothesis import settings as examples
from hypothesis import strategies as st
from made_looks import MARK, back, look, record, walked

from routeprep import tables
from routeprep.evidence import evidence_of, looked_of
from routeprep.merging import Group


def listed(groups, **changes):
    """A numbered list of groups, each where its first look is."""
    rows = []
    for count, one in enumerate(groups, start=1):
        first = one.looks[0]
        rows.append({
            "anchor_id": first.item_id, "no": f"A-{count}", "leg": first.leg, "kind": first.kind,
            "name": KINDS.kinds[first.kind].name, "from_m": first.along_m, "to_m": first.along_m,
            "along_m": first.along_m, "along_sd_m": 2.0, "offset_m": first.offset_m,
            "offset_sd_m": 0.5, "lane": first.lane, "across": first.position, "times_seen": 1,
            "method": "vehicle", "mark_ids": (), "record_ids": (), "status": "seen once",
            "action": "LIFT", "proposed": "LIFT", "lon_deg": -100.0, "lat_deg": 41.0,
        } | changes)  # fmt: skip
    return tables.table(tables.OBSTRUCTIONS, rows)


def table_of_marks(looks):
    """The marks of the looks, with their words."""
    usual = {"across_frame": "as driven", "method": "vehicle", "source": "up.gpx"}
    return tables.table(tables.MARKS, [
        usual | {"mark_id": one.item_id, "words": f"words of {one.item_id}",
                 "time_utc": MARK["time_utc"]}
        for one in looks if one.is_mark
    ])  # fmt: skip


def evidence(*things, changes=None, **decided):
    """The evidence for things, each a sequence of looks."""
    groups = [Group(looks=tuple(looks)) for looks in things]
    marks = table_of_marks([one for looks in things for one in looks])
    looked = looked_of(groups, marks)
    return evidence_of(looked, listed(groups, **(changes or {})), kinds=KINDS, **decided)


def why_near(one, other, **decided):
    """Why the second look is none of the first one's thing."""
    got = evidence([one], [other], **decided)
    near = got[(got["anchor_id"] == one.item_id) & (got["part"] == "near")]
    return near["why"].tolist()


def test_every_look_has_its_row_with_its_part():
    """Walked gives the place; the vehicle and the file are kept beside it."""
    got = evidence([walked("w"), look("a", along_m=104.0), record("r", name="SMH 12")])

    assert got[["item_id", "part", "why"]].to_numpy().tolist() == [
        ["w", "place", "gives the place"],
        ["a", "beside", "walked outranks it"],
        ["r", "beside", "walked outranks it"],
    ]
    assert got["words"].tolist() == ["words of w", "words of a", "SMH 12"]
    assert got["apart_m"].tolist() == [0.0, 4.0, 0.0]
    assert got["time_utc"].isna().tolist() == [False, False, True]


def test_a_look_from_a_vehicle_outranks_a_file():
    """The file is kept."""
    got = evidence([look("a"), record("r")])

    assert got["why"].tolist() == ["gives the place", "a look from a vehicle outranks it"]


def test_what_was_not_kept_of_a_look_is_said():
    """Its kind, its lane, or its place in the lane."""
    first = look("a", position="outer wheel path")
    wrong = back("b", kind=WV, lane="L1", offset_m=-2.7)
    inner = back("c", position="inner wheel path")

    assert evidence([first, wrong, inner])["why"].tolist() == [
        "gives the place",
        "gives the place; its kind WATER VALVE is set aside; its lane L1 is set aside",
        "gives the place; its inner wheel path is set aside",
    ]


def test_who_and_how_late_are_the_looks_own():
    """The walker by his name, the driver by whom the lateness is of."""
    got = evidence([look("a", person="J. Doe", late_m=11.0, speed_mps=10.0), walked("w")])

    assert got["person"].tolist() == ["J. Doe", "walker"]
    assert got["late_m"].tolist() == [11.0, 0.0]
    assert got["travel"].tolist() == [1, 0]


@pytest.mark.parametrize(
    ("other", "why"),
    [
        (look("b", along_m=104.0, driven_m=104.0), "one drive tapped both"),
        (back("b", kind=WV), "another kind: WATER VALVE"),
        (back("b", lane="L1", offset_m=-2.7), "other side of the road"),
        (back("b", lane="R2", offset_m=6.2), "another lane"),
        (record("b", offset_m=-6.0), "other side of the road"),
        (record("b", offset_m=11.0), "too far across the road"),
        (back("b", along_m=106.0), "fits A-2 better"),
    ],
)
def test_what_is_near_says_why_it_is_another_thing(other, why):
    """Each reason by itself."""
    assert why_near(look("a"), other) == [why]


def test_all_reasons_are_said():
    """One file has both, and they are of two kinds."""
    assert why_near(record("a"), record("b", kind=WV)) == [
        "one file has both; another kind: WATER VALVE"
    ]


def test_what_a_person_decided_is_the_first_reason():
    """Split off, standing alone, or joined with another."""
    one, other, third = look("a"), back("b", along_m=103.0), back("c", along_m=112.0)

    assert why_near(one, other, splits=frozenset({"b"})) == ["a person split it off"]
    assert why_near(one, other, splits=frozenset({"a"})) == ["a person said that this stands alone"]
    got = evidence([one], [other, third], joins=[("b", "c")])
    assert got["why"].tolist()[1] == "a person joined it with A-2"


def test_a_thing_without_a_number_is_another_thing():
    """Before numbers are given."""
    got = evidence([look("a")], [back("b", along_m=104.0)], changes={"no": ""})

    assert "fits another thing better" in got["why"].tolist()


def test_of_each_other_thing_the_nearest_look_is_said_and_of_things_the_five_nearest():
    """Seven covers 1 m apart, the second with two looks; other legs lie elsewhere."""
    others = [[back(f"b{k}", along_m=101.0 + k)] for k in range(7)]
    others[0].append(back("far", along_m=102.5, drive_id="third"))
    elsewhere = [look("z", leg="B")]
    got = evidence([look("a")], *others, elsewhere)
    near = got[(got["anchor_id"] == "a") & (got["part"] == "near")]

    assert near["item_id"].tolist() == ["b0", "b1", "b2", "b3", "b4"]


def test_near_is_within_the_doubt_but_3_m_at_least_and_15_m_at_most():
    """2.5 deviations of 2 m and of the look's own."""
    close = back("b", along_m=102.9, along_sd_m=0.1)
    sure = back("b", along_m=107.0, along_sd_m=0.1)
    vague = back("b", along_m=116.0, along_sd_m=30.0)

    def found(other, **changes):
        got = evidence([look("a", along_sd_m=0.1)], [other], changes=changes)
        return "b" in got.loc[got["anchor_id"] == "a", "item_id"].tolist()

    assert [found(close), found(close, along_sd_m=0.1)] == [True, True]
    assert [found(sure), found(sure._replace(along_m=104.9))] == [False, True]
    assert [found(vague), found(vague._replace(along_m=114.9))] == [False, True]


def test_an_empty_list_has_no_evidence():
    """And every column."""
    got = evidence()

    assert list(got.columns) == [column.name for column in tables.EVIDENCE]
    assert got.empty


@given(st.permutations(range(6)))
@examples(max_examples=20)
def test_the_order_of_groups_changes_nothing(order):
    """The list's order is that of the evidence."""
    groups = [Group(looks=(look(f"m{k}", along_m=100.0 + 4 * k, drive_id=f"d{k}"),))
              for k in range(6)]  # fmt: skip
    marks, rows = table_of_marks([one.looks[0] for one in groups]), listed(groups)
    shuffled = looked_of([groups[k] for k in order], marks)
    one = evidence_of(looked_of(groups, marks), rows, kinds=KINDS)
    other = evidence_of(shuffled, rows, kinds=KINDS)

    pd.testing.assert_frame_equal(one, other)


def test_a_hundred_kilometres_take_seconds():
    """5,000 things with 8 looks each: 40,000 looks in a few seconds, not minutes."""
    usual = look("x", kind=MH)
    things = [
        [usual._replace(item_id=f"{k}-{j}", along_m=20.0 * k + j, drive_id=f"d{j}",
                 driven_m=20.0 * k + j) for j in range(8)]
        for k in range(5000)
    ]  # fmt: skip
    begun_s = time.process_time()
    got = evidence(*things)

    assert time.process_time() - begun_s < 20.0
    assert (got["part"] == "place").sum() == 40_000
