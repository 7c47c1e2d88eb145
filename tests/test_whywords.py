"""Why a thing stands on the list, in words."""

from dataclasses import replace

import pytest
from made_evidence import EVIDENCE, RECORD, evident_pack, row
from made_looks import lateness

from routeprep.errors import JobError
from routeprep.whywords import lateness_text, why_lines, why_short, why_shorts

PACK = evident_pack()


def metric(pack):
    """The same in metres."""
    return replace(pack, settings=replace(pack.settings, units="metric"))


def under(lines, title):
    """The lines under a title, which says how many follow."""
    at = next(k for k, line in enumerate(lines) if line.startswith(f"{title}: "))
    count = int(lines[at].rpartition(" ")[2])
    return [line.strip() for line in lines[at + 1 : at + 1 + count]]


def test_the_head_says_what_it_is_where_how_sure_and_what_to_do():
    """As the sheet has it, with every ±, also below 5 ft."""
    assert why_lines(PACK, "A-1")[:4] == [
        "A-1 sewer manhole 24 in: seen twice or more",
        "  where: A 12+95 ±16 ft; right, outer wheel path (±13 ft across)",
        "  to do: LIFT",
        "  joined with it: A-4",
    ]


def test_doubt_and_proposal_stand_in_the_head():
    """What nobody decided reads STOP beside the proposal."""
    table = PACK.obstructions.assign(decided_by="", who="gas owner")
    lines = why_lines(replace(PACK, obstructions=table.astype({"who": "str"})), "A-2")

    assert "  in doubt: lane not sure" in lines
    assert "  to do: NOT DECIDED: STOP (LIFT, gas owner proposed)" in lines


def test_each_look_says_who_when_which_way_how_fast_how_late_and_where_it_puts_it():
    """In the job's time zone; what of it was set aside comes last."""
    first, second = under(why_lines(PACK, "A-1"), "What gives the place")

    assert first == (
        "J. Doe, drives/one.gpx: morning, THU 28 MAY 2026 08:15:09 CDT, stations counting up at "
        "35 mph, taken as 51 ft late: 12 ft before ±20 ft; said 'mh owp'; R1, outer wheel path"
    )
    assert "stations counting down at 35 mph, taken as 3 ft early: 9 ft after ±20 ft" in second
    assert second.endswith("; R1; its lane R1 is set aside")


def test_a_record_says_which_of_which_file_and_what_outranks_it():
    """And one without a name says so."""
    (told,) = under(why_lines(PACK, "A-1"), "Kept beside it")
    bare = evident_pack([row("anchor A-1", "r1", "place", 0.0, **RECORD | {"words": ""})])

    assert told == (
        "record WV-1032 of records/covers.geojson: 4 ft after ±20 ft; a look from a vehicle "
        "outranks it"
    )
    assert under(why_lines(bare, "A-1"), "What gives the place") == [
        "record without a name of records/covers.geojson: at the place ±20 ft"
    ]


def test_a_walker_and_an_unnamed_drive_without_times_are_told_too():
    """Nothing is made up: no time, no speed, no direction."""
    lines = why_lines(PACK, "A-2")

    assert under(lines, "What gives the place") == [
        "R. Roe, walk.csv, THU 28 MAY 2026 08:15:09 CDT, walked: at the place ±20 ft"
    ]
    assert under(lines, "Kept beside it") == [
        (
            "nobody named, drives/two.gpx, no time, placed by its own position, since its drive "
            "does not know it: 6 ft after ±20 ft; said 'mh owp'; R1, outer wheel path; walked "
            "outranks it"
        )
    ]


def test_what_is_near_says_how_far_it_is_from_here_and_from_its_own_place():
    """With its number, and why it is another thing."""
    assert under(why_lines(PACK, "A-1"), "Near, and another thing") == [
        (
            "A-2 sewer manhole, nearest look 21 ft after, 0 ft from its own place: another kind: "
            "GAS VALVE"
        )
    ]


def test_decisions_lateness_and_shifts_that_matter_are_told():
    """Only of those who saw it, and of the files that it is in."""
    lines = why_lines(PACK, "A-1")

    assert under(lines, "Decided") == ["size 30 in by J. Doe, 2026-05-30: measured"]
    assert under(lines, "How late they tap")[0].startswith("J. Doe: 0.9 s ± 0.2 s late at")
    assert under(lines, "How the files lie") == [
        "lies 4 ft east and 2 ft south, from 31 pairs; taken off"
    ]
    assert not any(line.startswith(("Decided", "How")) for line in why_lines(PACK, "A-2"))


def test_a_lead_is_ahead_of_the_phone_or_behind():
    """2 m ahead, good to 1 m."""
    late = lateness("x", text="told by 9 things")

    assert lateness_text(late, units="us") == (
        "told by 9 things (1.1 s ±0.4 s after the thing is 7 ft ±7 ft ahead of the phone)"
    )
    assert "2.0 m ±2.0 m behind the phone" in lateness_text(
        replace(late, lead_m=-2.0), units="metric"
    )


def test_a_metric_job_is_told_in_metres():
    """No feet where the job has none."""
    (first, _) = under(why_lines(metric(PACK), "A-1"), "What gives the place")

    assert "at 56 km/h, taken as 15.5 m late: 3.7 m before ±6.0 m" in first
    assert "3.7 m before to 2.7 m after" in why_short(metric(PACK), "anchor A-1")


@pytest.mark.parametrize("asked", ["A-1", "a-1", " A1 ", "a1", "A - 1"])
def test_a_number_is_understood_with_or_without_its_dash(asked):
    """In large or small letters."""
    assert why_lines(PACK, asked)[0].startswith("A-1 ")


def test_a_number_that_may_be_two_is_asked_back():
    """A12 may be of leg A or of leg A1."""
    numbers = PACK.obstructions.assign(no=["A-12", "A1-2"]).astype({"no": "str"})
    pack = replace(PACK, obstructions=numbers)

    with pytest.raises(JobError, match="'a12' may be any of A-12, A1-2; write it with its dash"):
        why_lines(pack, "a12")
    assert why_lines(pack, "a1-2")[0].startswith("A1-2 ")


def test_a_number_that_is_not_on_the_list_names_the_nearest():
    """In the order of people."""
    with pytest.raises(JobError, match="number 'A-9' is not on the list; the nearest are A-1, A-2"):
        why_lines(PACK, "A-9")
    with pytest.raises(JobError, match="number 'A-9' is not on the list; the list is empty"):
        why_lines(replace(PACK, obstructions=PACK.obstructions.iloc[:0]), "A-9")


def test_a_withdrawn_number_says_what_became_of_it():
    """Joined: with which; removed: where to look."""
    with pytest.raises(JobError, match="A-4 is no longer on the list: joined with A-1; ask for A-"):
        why_lines(PACK, "a4")
    with pytest.raises(JobError, match="A-7 is no longer on the list: removed; what was recorded"):
        why_lines(PACK, "A-7")


def test_one_line_counts_looks_and_says_where_they_put_it():
    """For the back pages."""
    assert why_short(PACK, "anchor A-1") == (
        "2 looks from a vehicle (1 up, 1 down) 12 ft before to 9 ft after; beside: 1 record in a "
        "file 4 ft after; near: A-2 (another kind: GAS VALVE)"
    )
    assert why_short(PACK, "anchor A-2") == (
        "1 look walked at the place; beside: 1 look from a vehicle 6 ft after"
    )


def test_all_lines_at_once_are_each_line_by_itself():
    """Asked together, the table is read once."""
    assert why_shorts(PACK) == {one: why_short(PACK, one) for one in ("anchor A-1", "anchor A-2")}


def test_the_order_of_evidence_of_other_things_changes_nothing():
    """A thing's own rows stay in their order."""
    turned = evident_pack([*EVIDENCE[4:], *EVIDENCE[:4]])

    assert why_lines(turned, "A-1") == why_lines(PACK, "A-1")


def test_a_thing_without_evidence_is_told_by_its_head():
    """A pack made before there was any."""
    lines = why_lines(evident_pack([], withdrawn=PACK.withdrawn.iloc[:0]), "A-2")

    assert [line.partition(":")[0].strip() for line in lines[1:]] == ["where", "in doubt", "to do"]
