"""The whole flow: what travels from drives and marks to the list, and the laws of identity."""

import datetime as dt
import math
from dataclasses import replace
from functools import cache

import pandas as pd
import pytest
from builders import (
    BEGIN,
    CB,
    MH,
    SMH,
    WV,
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
from shapely.geometry import LineString, Point

from routeprep import tables
from routeprep.deciding import NOT_DECIDED
from routeprep.errors import JobError
from routeprep.identity import Item, item_ids
from routeprep.job import finish, group, grouping, prepare
from routeprep.lines import LinePiece
from routeprep.remarks import EditedTwice, Remarks, Review
from routeprep.sealing import seal
from routeprep.shapes import Decision, IssuedNumber

UP = drive([[2, 0], [2, 1000]])
DOWN = drive([[-2, 1000], [-2, 0]], begin=BEGIN + dt.timedelta(hours=1), name="down")
BY = "superintendent (invented)"


def decision(anchor_id, field, value, when="2026-05-20"):
    """One row of decisions.csv."""
    return Decision(anchor_id=anchor_id, field=field, value=value, by=BY, when=when, why="")


def record(x_m, y_m, kind=SMH, name="C-1"):
    """One cover of an owner's file."""
    lon, lat = lonlat(x_m, y_m)
    item = Item(None, lon, lat, name)
    return {
        "record_id": item_ids("record", [item])[0],
        "kind": kind,
        "name": name,
        "source": "covers.geojson",
        "geometry": Point(lon, lat),
    }


def packed(*drives, marks=(), records=(), decisions=(), numbers=(), legs=(), lines=None):
    """The pack of a small job."""
    read = survey(*(drives or (UP, DOWN)), marks=marks, records=records, lines=lines)
    return prepare(read, settings(*legs), decisions, numbers)


def only(pack):
    """The one obstruction of a pack."""
    assert len(pack.obstructions) == 1
    return pack.obstructions.iloc[0]


def test_a_mark_is_placed_by_its_time_not_by_its_tap():
    """Tapped 1 s late at 10 m/s: the thing is back where it was passed."""
    row = only(packed(marks=[tap(UP, 40.0, SMH, across="outer wheel path")]))

    assert row["along_m"] == pytest.approx(400.0, abs=0.5)
    assert (row["lane"], row["across"]) == ("R1", "outer wheel path")
    assert row["offset_m"] == pytest.approx(0.75 * 3.6576)
    assert row["status"] == "seen once"
    assert row["doubt"] == ""


def test_the_pack_says_how_late_each_person_taps_and_marks_lie_where_that_puts_them():
    """2 s late at 10 m/s, a dozen covers called from both directions."""
    gone_s = [6.0 + 7.0 * k for k in range(12)]
    up = [tap(UP, at, SMH, across="outer wheel path", late_s=2.0, by="one") for at in gone_s]
    down = [tap(DOWN, 100.0 - at, SMH, across="other side", late_s=2.0, by="one") for at in gone_s]
    pack = packed(marks=[*up, *down])

    assert [(one.person, one.told) for one in pack.lateness] == [("one", True)]
    assert pack.lateness[0].late_m(10.0) == pytest.approx(20.0, abs=2.0)
    expected_m = [10.0 * at for at in gone_s]
    assert pack.obstructions["along_m"].tolist() == pytest.approx(expected_m, abs=1.5)


def test_a_walk_makes_no_line_and_is_no_look_and_outranks_the_vehicle():
    """A person on the sidewalk, who stands at the cover that a driver called 12 m short."""
    walk = drive([[8, 0], [8, 1000]], speed_mps=1.25, begin=BEGIN + dt.timedelta(hours=2))
    marks = [
        tap(UP, 38.8, SMH, across="outer wheel path"),
        tap(walk, 320.0, SMH, late_s=0.0, method="walked", by="R. Sample"),
    ]
    read = survey(UP, DOWN, walk, marks=marks, lines={})
    walks = frozenset(walk["drive_id"])
    pack = prepare(replace(read, walks=walks), settings(), (), ())
    without = packed(lines={})
    row = only(pack)

    assert pack.coverage.equals(without.coverage)
    assert pack.legs[0].line.lon_deg.tolist() == without.legs[0].line.lon_deg.tolist()
    assert (row["method"], row["times_seen"]) == ("walked", 2)
    assert row["status"] == "walked (R. Sample, 2026-05-04)"
    assert row["along_m"] == pytest.approx(400.0, abs=1.0)
    assert len(pack.drives) == 3


def test_a_walk_saved_again_in_part_is_still_a_walk():
    """The copy alone is listed as a walk; the whole is no drive either."""
    walk = drive([[8, 0], [8, 1000]], speed_mps=1.25, begin=BEGIN + dt.timedelta(hours=2))
    part = walk.iloc[:600].assign(drive_id="part")
    read = survey(UP, DOWN, walk, part, lines={})
    pack = prepare(replace(read, walks=frozenset({"part"})), settings(), (), ())

    assert pack.coverage.equals(packed(lines={}).coverage)


def test_a_record_that_nobody_named_is_said_to_have_no_name():
    """What is not on the list can be found in its file."""
    pack = packed(records=[record(0, 400, kind="", name="")])

    assert pack.elsewhere["name"].tolist() == ["(no name)"]


def test_one_cover_called_from_both_directions_is_one_row_on_one_side():
    """Up-station it is in the own outer wheel path, down-station on the other side."""
    row = only(
        packed(
            marks=[
                tap(UP, 40.0, SMH, across="outer wheel path"),
                tap(DOWN, 60.0, SMH, across="other side"),
            ]
        )
    )

    assert row["along_m"] == pytest.approx(400.0, abs=0.5)
    assert (row["lane"], row["across"]) == ("R1", "outer wheel path")
    assert (row["times_seen"], row["status"]) == (2, "seen twice or more")


def test_covers_on_opposite_sides_at_one_station_stay_two():
    """Each driver called one in his own lane."""
    pack = packed(
        marks=[
            tap(UP, 40.0, SMH, across="outer wheel path"),
            tap(DOWN, 60.0, SMH, across="outer wheel path"),
        ]
    )

    assert sorted(pack.obstructions["lane"]) == ["L1", "R1"]


def test_two_taps_of_one_passing_stay_two():
    """Ten feet apart, one drive tapped both."""
    pack = packed(marks=[tap(UP, 40.0, SMH), tap(UP, 40.3, SMH)])

    assert len(pack.obstructions) == 2


def test_a_drive_copied_under_another_name_changes_no_status():
    """Copies are counted once, said, and the marks with them."""
    marks = [tap(UP, 40.0, SMH)]
    copy = drive([[2, 0], [2, 1000]], name="copy")
    copied = tap(copy, 40.0, SMH, source="copy.gpx")
    once, twice = packed(UP, DOWN, marks=marks), packed(UP, DOWN, copy, marks=[*marks, copied])

    pd.testing.assert_frame_equal(once.obstructions, twice.obstructions)
    assert any("the same drive as" in one.text for one in twice.findings)


def test_drives_are_told_by_the_names_that_people_know():
    """By file and track, with who drove, in the order of the names; a copy is no drive."""
    read = survey(UP, DOWN, UP.assign(drive_id=pd.array(["copy"] * len(UP), dtype="str")))
    first, second = sorted(set(UP["drive_id"]) | set(DOWN["drive_id"]), reverse=True)
    named = replace(
        read,
        drive_names={first: "a.gpx", second: "b.gpx: home", "copy": "c.gpx"},
        drive_by={first: "J. Doe"},
    )
    pack = prepare(named, settings(), (), ())

    assert [(one.drive_id, one.name, one.by) for one in pack.drives] == [
        (first, "a.gpx", "J. Doe"), (second, "b.gpx: home", ""),
    ]  # fmt: skip
    assert pack.drives[0].length_m == pytest.approx(1000.0, rel=0.005)


def test_a_drive_saved_again_with_one_more_waypoint_changes_no_status():
    """The old marks stay seen once; the new one is new."""
    longer = drive([[2, 0], [2, 990]], name="saved again")
    marks = [tap(UP, 40.0, SMH)]
    again = [tap(longer, 40.0, SMH), tap(longer, 70.0, WV)]
    pack = packed(UP, DOWN, longer, marks=[*marks, *again])

    assert pack.obstructions["status"].tolist() == ["seen once", "seen once"]


def test_a_record_nobody_saw_says_so():
    """It stands on the list and its lane is not sure."""
    row = only(packed(records=[record(1.0, 300.0)]))

    assert row["status"] == "in a file, not seen"
    assert (row["times_seen"], row["method"], row["doubt"]) == (0, "file", "lane not sure")


def test_a_generic_manhole_takes_its_kind_from_the_record():
    """A mark says manhole, the city says sewer: one thing, a sewer manhole."""
    row = only(
        packed(marks=[tap(UP, 40.0, MH, across="outer wheel path")], records=[record(2.5, 401.0)])
    )

    assert row["kind"] == SMH
    assert (len(row["mark_ids"]), len(row["record_ids"])) == (1, 1)
    assert row["method"] == "vehicle"


def test_a_line_record_reaches_from_its_first_to_its_last_vertex():
    """A culvert or patch drawn along the road has two stations."""
    ends = [lonlat(1.0, 300.0), lonlat(1.0, 340.0)]
    long = record(1.0, 320.0) | {"geometry": LineString(ends)}
    row = only(packed(records=[long]))

    assert row["from_m"] == pytest.approx(300.0, abs=0.01)
    assert row["to_m"] == pytest.approx(340.0, abs=0.01)


def test_a_record_far_from_the_road_is_elsewhere_with_its_distance():
    """Nothing is dropped in silence."""
    pack = packed(records=[record(84.0, 300.0)])

    assert len(pack.obstructions) == 0
    assert "84 m from leg A" in pack.elsewhere["why"].iloc[0]


def test_a_mark_past_the_end_is_flagged_with_its_distance():
    """8 m before the line begins it is still on the road, past an end."""
    lon, lat = lonlat(0.0, -8.0)
    walked = mark(kind=WV, words="wv", lon_deg=lon, lat_deg=lat, method="walked", by="crew lead")
    row = only(packed(marks=[walked]))

    assert row["along_m"] == pytest.approx(-8.0, abs=0.01)
    assert row["past_end_m"] == pytest.approx(8.0, abs=0.01)
    assert "past an end" in row["doubt"]


def test_words_not_understood_go_on_sort_before_issue():
    """They are no obstruction, and not lost."""
    pack = packed(marks=[tap(UP, 40.0, "", words="lunch place")])

    assert len(pack.obstructions) == 0
    assert pack.unsorted["words"].tolist() == ["lunch place"]
    assert "1 mark waits under sort before issue" in pack.draft


def test_a_person_sorts_words_into_a_kind():
    """The mark takes its place on the list."""
    odd = tap(UP, 40.0, "", words="round lid thing")
    pack = packed(marks=[odd], decisions=[decision(odd["mark_id"], "kind", "sewer manhole")])

    assert only(pack)["kind"] == SMH
    assert len(pack.unsorted) == 0


def test_words_that_stand_for_nothing_are_set_aside_by_name():
    """They are kept under elsewhere with the reason."""
    odd = tap(UP, 40.0, "", words="lunch")
    pack = packed(marks=[odd], decisions=[decision(odd["mark_id"], "kind", "nothing")])

    assert len(pack.obstructions) == len(pack.unsorted) == 0
    assert pack.elsewhere["why"].tolist() == ["set aside by a decision: nothing"]


def test_until_a_person_decides_the_row_reads_stop():
    """The table only proposes."""
    pack = packed(marks=[tap(UP, 40.0, SMH)])

    assert only(pack)["action"] == NOT_DECIDED
    assert only(pack)["proposed"] != ""
    assert pack.draft == ("1 of 1 things are not decided",)


def test_one_decision_for_a_kind_decides_all_of_it():
    """One tap per kind is enough, and who said it is kept."""
    pack = packed(
        marks=[tap(UP, 40.0, SMH), tap(UP, 80.0, SMH)],
        decisions=[decision(f"kind:{SMH}", "action", "as proposed")],
    )

    assert pack.obstructions["decided_by"].tolist() == [f"{BY}, 2026-05-20"] * 2
    assert (pack.obstructions["action"] == pack.obstructions["proposed"]).all()
    assert pack.draft == ()


def test_the_later_decision_counts_whatever_the_order_of_rows():
    """By date, not by place in the file."""
    cover = tap(UP, 40.0, SMH)
    rows = [
        decision(cover["mark_id"], "action", "GO AROUND", "2026-05-22"),
        decision(cover["mark_id"], "action", "LIFT", "2026-05-20"),
    ]

    assert only(packed(marks=[cover], decisions=rows))["action"] == "GO AROUND"


def test_a_lowered_casting_stays_on_the_list():
    """With how far, who and when."""
    cover = tap(UP, 40.0, SMH)
    pack = packed(marks=[cover], decisions=[decision(cover["mark_id"], "status", "lowered 4 in")])

    assert only(pack)["status"] == f"lowered 4 in ({BY}, 2026-05-20)"


@pytest.mark.parametrize(
    ("lowered", "depth_in", "action"),
    [("lowered 4 in", 2.0, "MILL OVER"), ("lowered 1 in", 2.0, NOT_DECIDED),
     ("walked", 2.0, NOT_DECIDED), ("lowered 4 in", math.nan, NOT_DECIDED)],
)  # fmt: skip
def test_mill_over_needs_a_casting_measured_deeper_than_the_cut(lowered, depth_in, action):
    """Lowered 1 in under a 2-in cut stops, whatever was written."""
    cover = tap(UP, 40.0, SMH)
    rows = [
        decision(cover["mark_id"], "status", lowered),
        decision(cover["mark_id"], "action", "MILL OVER"),
    ]
    leg = leg_settings(depth_m=depth_in * 0.0254)
    got = only(packed(marks=[cover], decisions=rows, legs=[leg]))

    assert got["action"] == action


@pytest.mark.parametrize(
    ("bad", "sentence"),
    [
        (decision("x", "colour", "red"), "field 'colour' is not one of"),
        (decision("x", "action", "hope"), "action 'hope' does not start with one of"),
        (decision("x", "status", "buried"), "status 'buried' is not one of"),
        (decision("x", "kind", "spaceship"), "'spaceship' is not a kind of this job"),
        (decision("kind:NONE", "action", "LIFT"), "'NONE' must be a kind"),
        (replace(decision("x", "action", "LIFT"), by=""), "action was decided by nobody"),
    ],
)
def test_a_decision_that_cannot_be_carried_out_is_refused(bad, sentence):
    """The row is named with what was expected."""
    with pytest.raises(JobError, match=sentence):
        packed(decisions=[bad])


def issued(pack):
    """Anchor to number."""
    return dict(zip(pack.obstructions["anchor_id"], pack.obstructions["no"], strict=True))


THREE = [tap(UP, 20.0, SMH), tap(UP, 50.0, WV), tap(UP, 80.0, CB)]


def test_adding_a_mark_moves_no_issued_number():
    """The find between A-1 and A-2 is A-1A."""
    first = packed(marks=THREE)
    later = packed(marks=[*THREE, tap(DOWN, 65.0, WV)], numbers=first.numbers)

    assert later.obstructions["no"].tolist() == ["A-1", "A-1A", "A-2", "A-3"]
    assert issued(first).items() <= issued(later).items()


def test_merging_two_moves_no_number_and_strikes_one():
    """The group that holds the first anchor keeps it; the other prints joined with."""
    marks = [tap(UP, 20.0, SMH), tap(DOWN, 76.0, SMH), tap(UP, 80.0, CB)]
    first = packed(marks=marks)
    rows = [decision(marks[1]["mark_id"], "join", marks[0]["mark_id"])]
    later = packed(marks=marks, decisions=rows, numbers=first.numbers)

    assert first.obstructions["no"].tolist() == ["A-1", "A-2", "A-3"]
    assert later.obstructions["no"].tolist() == ["A-1", "A-3"]
    assert later.withdrawn["why"].tolist() == ["joined with A-1"]


def test_splitting_one_moves_no_number():
    """The part without the anchor is a later find."""
    marks = [tap(UP, 40.0, SMH), tap(DOWN, 60.0, SMH), tap(UP, 80.0, CB)]
    first = packed(marks=marks)
    rows = [decision(marks[1]["mark_id"], "split", "")]
    later = packed(marks=marks, decisions=rows, numbers=first.numbers)

    assert first.obstructions["no"].tolist() == ["A-1", "A-2"]
    assert sorted(later.obstructions["no"]) in (["A-0A", "A-1", "A-2"], ["A-1", "A-1A", "A-2"])
    assert issued(first).items() <= issued(later).items()


def test_deleting_one_strikes_its_number_and_moves_no_other():
    """A removed number is never used again."""
    first = packed(marks=THREE)
    later = packed(marks=[THREE[0], THREE[2], tap(UP, 52.0, SMH)], numbers=first.numbers)

    assert later.obstructions["no"].tolist() == ["A-1", "A-1A", "A-3"]
    assert later.withdrawn[["no", "why"]].values.tolist() == [["A-2", "removed"]]


def test_decisions_hang_on_any_item_of_the_evidence():
    """An older drive takes the anchor; the decision made on the younger mark still holds."""
    younger, older = tap(DOWN, 60.0, SMH), tap(UP, 40.0, SMH)
    rows = [decision(younger["mark_id"], "action", "LIFT")]
    pack = packed(marks=[older, younger], decisions=rows)

    assert only(pack)["anchor_id"] == older["mark_id"]
    assert only(pack)["action"] == "LIFT"


SIX = (*THREE, tap(DOWN, 80.0, SMH), tap(DOWN, 50.4, WV), tap(DOWN, 20.0, CB))


@cache
def in_order():
    """The list of six marks in their order, made once."""
    return packed(marks=SIX).obstructions


@given(st.permutations(SIX))
@examples(max_examples=40)
def test_shuffling_marks_changes_nothing(marks):
    """The list is the same whatever the order of the input."""
    pd.testing.assert_frame_equal(in_order(), packed(marks=marks).obstructions)


def test_a_second_leg_side_by_side_is_chosen_by_the_drive():
    """A ramp 12 m beside the road: the tap goes where the drive was."""
    lines = {
        "A": (straight(),),
        "B": (straight(x_m=12.0, name="ramp"),),
    }
    legs = (leg_settings(), leg_settings(code="B", name="ramp"))
    on_ramp = drive([[9, 0], [9, 1000]])
    row = only(packed(on_ramp, marks=[tap(on_ramp, 40.0, SMH)], legs=legs, lines=lines))

    assert row["leg"] == "B"
    assert "near tie" not in row["doubt"]


def test_a_record_between_two_legs_is_a_near_tie():
    """No time and no course: said, not guessed."""
    lines = {"A": (straight(),), "B": (straight(x_m=12.0, name="ramp"),)}
    legs = (leg_settings(), leg_settings(code="B", name="ramp"))
    row = only(packed(records=[record(5.0, 300.0)], legs=legs, lines=lines))

    assert "near tie" in row["doubt"]


def test_a_mark_made_off_the_leg_is_doubted():
    """Tapped on a cross street 20 m from the road."""
    cross = drive([[20, 300], [400, 300]])
    row = only(packed(cross, marks=[tap(cross, 0.0, SMH)]))

    assert "order disagrees with the drive" in row["doubt"]


def test_a_walked_mark_outranks_a_vehicle_mark():
    """It gives the place; the other is kept as evidence."""
    lon, lat = lonlat(2.7, 404.0)
    walked = mark(
        kind=SMH, words="smh", lon_deg=lon, lat_deg=lat, method="walked", by="walker (invented)",
        time_utc=BEGIN + dt.timedelta(days=1), accuracy_m=3.0,
    )  # fmt: skip
    row = only(packed(marks=[tap(UP, 40.0, SMH), walked]))

    assert row["along_m"] == pytest.approx(404.0, abs=0.01)
    assert row["status"] == "walked (walker (invented), 2026-05-05)"
    assert len(row["mark_ids"]) == 2


def test_a_leg_whose_elevation_is_unknown_says_so():
    """Neither the job nor the fixes have one."""
    pack = packed(legs=[leg_settings(elevation_m=math.nan)])

    assert any("lengths are at sea level" in one.text for one in pack.findings)


def test_the_elevation_comes_from_the_drives_when_it_is_not_given():
    """The middle of what the fixes say, and it is said."""
    high = UP.assign(ele_m=900.0)
    pack = packed(high, legs=[leg_settings(elevation_m=math.nan)])

    assert pack.legs[0].line.elevation_m == 900.0
    assert any("2,952.8 ft taken from 101 fixes" in one.text for one in pack.findings)


def test_limits_beyond_the_line_are_said_with_the_amount():
    """In the leg's unit."""
    pack = packed(legs=[leg_settings(from_station="9+00", to_station="40+00")])

    assert [one.text for one in pack.findings if one.level == "doubt"] == [
        "from is 100.0 ft before the line begins: nothing is placed there"
    ]


def test_limits_that_miss_the_line_are_refused():
    """The cut would end before it begins."""
    with pytest.raises(JobError, match="leg A: the cut would run from"):
        packed(legs=[leg_settings(to_station="9+00")])


def test_no_input_is_changed():
    """Stages return new tables."""
    read = survey(UP, DOWN, marks=THREE, records=[record(1.0, 300.0)])
    before = (read.fixes.copy(), read.marks.copy(), read.records.copy())
    prepare(read, settings(), [], [])

    for table, copy in zip((read.fixes, read.marks, read.records), before, strict=True):
        pd.testing.assert_frame_equal(table, copy)


def test_a_job_without_anything_seen_gives_an_empty_list():
    """No mark, no record, no fault."""
    pack = packed()

    assert len(pack.obstructions) == len(pack.elsewhere) == 0
    assert list(pack.obstructions.columns) == [one.name for one in tables.OBSTRUCTIONS]


def test_a_piece_of_line_is_needed_by_a_leg_that_has_a_file():
    """The builder's leg takes its line from pieces."""
    piece = straight()

    assert isinstance(piece, LinePiece)
    assert packed().legs[0].line.made_from == "file"


def test_an_unseen_cover_on_the_other_side_stays_on_the_list():
    """One was called in the right lane; the file has only one on the left."""
    pack = packed(
        marks=[tap(UP, 40.0, SMH, across="outer wheel path")], records=[record(-3.0, 400.5)]
    )

    assert sorted(pack.obstructions["status"]) == ["in a file, not seen", "seen once"]


def test_a_parked_passenger_who_names_two_covers_named_two():
    """Five minutes at the kerb."""
    parked = pd.concat([UP.iloc[:41], *[UP.iloc[40:41]] * 400], ignore_index=True)
    times = UP["time_utc"].iloc[0] + pd.to_timedelta(range(len(parked)), unit="s")
    parked = parked.assign(time_utc=pd.Series(times).astype("datetime64[us, UTC]"))
    pack = packed(parked, marks=[tap(parked, 60.0, SMH), tap(parked, 360.0, SMH)])

    assert pack.obstructions["status"].tolist() == ["seen once", "seen once"]


def test_one_drive_there_and_back_sees_one_cover_twice():
    """It is one row, on one side, seen twice."""
    both = drive([[2, 0], [2, 600], [-2, 600], [-2, 0]])
    calls = ((20.0, "outer wheel path"), (100.4, "other side"))
    row = only(packed(both, marks=[tap(both, at_s, SMH, across=said) for at_s, said in calls]))

    assert (row["lane"], row["across"]) == ("R1", "outer wheel path")
    assert (row["times_seen"], row["status"]) == (2, "seen twice or more")


def test_a_mark_in_a_file_without_its_drive_is_the_one_that_has_it():
    """Waypoints saved once more alone, under a name that sorts first, change no row."""
    one = tap(UP, 40.0, SMH)
    alone = one | {"drive_id": "", "source": "a.gpx"}
    once, twice = packed(marks=[one]), packed(marks=[alone, one])

    pd.testing.assert_frame_equal(once.obstructions, twice.obstructions)
    assert [one.text for one in twice.findings if "counted once" in one.text] == [
        "marks that stand in another file or twice in this one: 1; counted once"
    ]


def test_a_record_listed_in_two_files_is_one_whatever_their_order():
    """The same place and name; the file that sorts first is named."""
    one = record(1.0, 300.0)
    other = one | {"source": "b.geojson"}
    first, second = packed(records=[other, one]), packed(records=[one, other])

    assert first.records["source"].tolist() == second.records["source"].tolist() == ["b.geojson"]
    assert len(first.obstructions) == 1


def test_a_person_sets_a_mark_or_record_aside_whatever_it_was_understood_as():
    """They are kept under elsewhere with the reason."""
    seen, listed = tap(UP, 40.0, SMH), record(1.0, 700.0)
    rows = [decision(one, "kind", "nothing") for one in (seen["mark_id"], listed["record_id"])]
    pack = packed(marks=[seen], records=[listed], decisions=rows)

    assert len(pack.obstructions) == 0
    assert pack.elsewhere["why"].tolist() == ["set aside by a decision: nothing"] * 2


def test_a_person_sorts_a_record_into_a_kind():
    """A file's word that was not understood."""
    odd = record(1.0, 300.0, kind="")
    sorted_ = packed(records=[odd], decisions=[decision(odd["record_id"], "kind", "manhole")])

    assert packed(records=[odd]).elsewhere["why"].tolist() == ["kind not understood"]
    assert only(sorted_)["kind"] == MH


def test_a_join_across_legs_leaves_a_row_on_each():
    """It is said, and no station between two streets is made up."""
    lines = {"A": (straight(),), "B": (straight(x_m=300.0, name="B"),)}
    other = drive([[302, 0], [302, 1000]], name="other")
    marks = [tap(UP, 40.0, SMH), tap(other, 80.0, SMH)]
    rows = [decision(marks[0]["mark_id"], "join", marks[1]["mark_id"])]
    pack = packed(
        UP, other, marks=marks, decisions=rows, lines=lines,
        legs=(leg_settings(), leg_settings(code="B", start_near_deg=lonlat(300, 0))),
    )  # fmt: skip

    assert pack.obstructions["leg"].tolist() == ["A", "B"]
    assert pack.obstructions["along_m"].tolist() == pytest.approx([400.0, 800.0], abs=0.5)
    assert any("they lie on leg A and leg B" in one.text for one in pack.findings)


def test_a_decision_on_nothing_is_said():
    """An id that no mark or record has."""
    pack = packed(decisions=[decision("gone-mark", "action", "LIFT")])

    assert any("no mark or record has the id gone-mark" in one.text for one in pack.findings)


def test_numbers_of_a_leg_that_the_job_no_longer_has_are_said():
    """No list of a leg would show them struck through."""
    pack = packed(numbers=[IssuedNumber(no="C-3", anchor_id="x", first_revision="A")])

    assert pack.withdrawn["no"].tolist() == ["C-3"]
    assert any("issued on leg 'C', which is not in this job" in f.text for f in pack.findings)


def test_splitting_off_the_anchor_leaves_its_number_with_it():
    """The other mark is the new find."""
    marks = [tap(UP, 40.0, SMH), tap(DOWN, 60.0, SMH)]
    first = packed(marks=marks)
    rows = [decision(marks[0]["mark_id"], "split", "")]
    later = packed(marks=marks, decisions=rows, numbers=first.numbers)

    assert issued(later)[marks[0]["mark_id"]] == "A-1"
    assert len(later.obstructions) == 2


def test_a_later_split_undoes_a_join():
    """The person looked again."""
    marks = [tap(UP, 20.0, SMH), tap(DOWN, 76.0, SMH)]
    one, other = (each["mark_id"] for each in marks)
    rows = [decision(one, "join", other), decision(other, "split", "", when="2026-05-21")]

    assert len(packed(marks=marks, decisions=rows[:1]).obstructions) == 1
    assert len(packed(marks=marks, decisions=rows).obstructions) == 2


COPIED = (UP, DOWN, *(drive([[2, 0], [2, m]], name=n) for m, n in ((1000, "copy"), (990, "again"))))
FILED = (record(1.0, 300.0), record(1.0, 300.0) | {"source": "z"}, record(-2.0, 500.0))
TAPPED = (tap(COPIED[2], 40.0, SMH), tap(UP, 40.0, SMH), tap(COPIED[3], 70.0, WV))


@cache
def as_listed():
    """The pack of four drives and three records in their order, made once."""
    return packed(*COPIED, marks=TAPPED, records=FILED)


@given(st.permutations(COPIED), st.permutations(FILED))
@examples(max_examples=15)
def test_the_order_of_drives_and_records_changes_nothing(drives, records):
    """Files may be listed in any order, copies and all."""
    other = packed(*drives, marks=TAPPED[::-1], records=records)

    pd.testing.assert_frame_equal(as_listed().obstructions, other.obstructions)
    assert as_listed().findings == other.findings


def on_foot(kind, station, **changes):
    """A mark of somebody who walked with a wheel, found by its station alone."""
    usual = {
        "mark_id": f"walk {kind} {station}",
        "kind": kind,
        "words": kind,
        "across_frame": "up-station",
        "said_station": station,
        "method": "wheeled",
        "by": "R. Sample",
        "source": "walk.txt",
    }
    return usual | changes


def test_a_thing_at_a_said_station_is_on_the_list_there():
    """Wheeled from 10+00: 12+00 is 200 ft along."""
    row = only(packed(marks=[on_foot(SMH, "12+00")]))

    assert row["along_m"] == pytest.approx(200 * 0.3048)
    assert row["method"] == "wheeled"


def test_a_said_station_on_no_leg_keeps_the_pack_a_draft():
    """A mistyped station must not put a manhole quietly among what is not on the list."""
    pack = packed(marks=[on_foot(SMH, "98+00")])

    assert len(pack.obstructions) == 0
    assert pack.elsewhere["why"].str.startswith("said station").tolist() == [True]
    assert pack.draft == ("1 mark says a station that is on no leg: see not on the list",)


def test_what_says_a_station_ties_and_is_no_thing_in_the_road():
    """Painted 11+10 is found 100 ft along: the stations agree with the paint, the list is empty."""
    lon, lat = lonlat(3.0, 30.48)
    paint = on_foot("STA", "11+10", lon_deg=lon, lat_deg=lat, accuracy_m=1.0, method="walked")
    pack = packed(marks=[paint])

    assert len(pack.obstructions) == 0
    assert [(tie.station, round(tie.along_m, 2)) for tie in pack.legs[0].ties] == [("11+10", 30.48)]
    assert pack.elsewhere["why"].str.startswith("says a station").tolist() == [True]


def test_paint_that_a_person_sets_aside_ties_nothing():
    """The decision comes before the stations are made."""
    lon, lat = lonlat(3.0, 30.48)
    paint = on_foot("STA", "11+10", lon_deg=lon, lat_deg=lat, accuracy_m=1.0, method="walked")
    pack = packed(marks=[paint], decisions=[decision(paint["mark_id"], "kind", "nothing")])

    assert pack.legs[0].ties == ()


def test_a_thing_without_any_place_is_sorted_with_that_reason():
    """Words that are understood but say no place wait under sort before issue."""
    pack = packed(marks=[on_foot("", "", words="manhole")])

    assert pack.unsorted["why"].tolist() == ["no place is said"]


def test_only_what_groups_looks_anew_asks_for_the_long_half():
    """A kind given to words that were understood, an action or a note is the short half's."""
    known, odd = tap(UP, 40.0, SMH), tap(UP, 80.0, "", words="round lid thing")
    read, kinds = survey(UP, marks=[known, odd]), settings().kinds
    none = grouping([], kinds, read)

    def asked(field, value, item=known["mark_id"], given=read):
        return grouping([decision(item, field, value)], kinds, given) != none

    assert not asked("kind", "water valve")
    assert not asked("action", "LIFT")
    assert asked("kind", "nothing")
    assert asked("kind", "water valve", odd["mark_id"])
    assert asked("join", odd["mark_id"])
    assert asked("split", "")
    assert asked("kind", "water valve", given=None)


def test_the_short_half_alone_gives_what_both_give():
    """For decisions that group nothing anew, with the numbers given before."""
    marks = [tap(UP, 40.0, SMH), tap(UP, 80.0, WV)]
    read, job = survey(UP, DOWN, marks=marks), settings()
    ledger = prepare(read, job, [], []).numbers
    made = [
        decision(marks[0]["mark_id"], "kind", "water valve"),
        decision(marks[1]["mark_id"], "action", "LIFT"),
        decision(marks[1]["mark_id"], "across", "right side, lane 1"),
        decision(marks[1]["mark_id"], "height", "15 ft posted"),
    ]
    short = finish(group(read, job, []), made, ledger)

    assert seal(short) == seal(prepare(read, job, made, ledger))
    assert short.obstructions["height_by"].tolist() == ["", "posted"]


def test_what_two_changed_apart_stops_the_row_and_keeps_it_a_draft():
    """So does a change that a reviewer asks for; the seal is that of the list alone."""
    marks = [tap(UP, 40.0, SMH)]
    read, job, item = survey(UP, DOWN, marks=marks), settings(), marks[0]["mark_id"]
    made = [decision(item, "action", "LIFT")]
    twice = EditedTwice(
        kind="decision", subject=item, field="action", values=("LIFT (A)", "STOP (B)"),
        entry_ids=("1", "2"),
    )  # fmt: skip
    ask = Review(subject=item, says="ask for change", text="close it", by="Lee", when="w")
    plain, open_, asked = (
        prepare(read, job, made, [], remarks=remarks)
        for remarks in (Remarks(), Remarks(edited_twice=(twice,)), Remarks(reviews=(ask,)))
    )

    assert (only(plain)["action"], plain.draft) == ("LIFT", ())
    assert only(open_)["action"] == NOT_DECIDED
    assert open_.draft == ("1 of 1 things are not decided", "1 thing was edited twice: A-1")
    assert [one.where for one in open_.findings if "edited twice" in one.text] == ["A-1"]
    assert (only(asked)["action"], asked.draft) == ("LIFT", ("Lee asks for 1 change",))
    assert seal(asked) == seal(plain) != seal(open_)
