"""What named persons decided, on rows of the list."""

import math

import pytest
from builders import KINDS, MH, SMH, WV
from hypothesis import given
from hypothesis import strategies as st

from routeprep.deciding import (
    NOT_DECIDED,
    NOTHING,
    check_decisions,
    decide,
    joins,
    loose,
    sorted_kinds,
    splits,
)
from routeprep.errors import JobError
from routeprep.shapes import Decision

BY = "superintendent (invented)"
INCH_M = 0.0254


def decision(anchor_id, field, value="", when="2026-05-20", **changes):
    """One row of decisions.csv."""
    usual = {"anchor_id": anchor_id, "field": field, "value": value, "by": BY, "when": when}
    return Decision(**(usual | {"why": ""} | changes))


def row(**changes):
    """One row of the list: anchor a, further mark b, record r."""
    usual = {
        "anchor_id": "a", "leg": "A", "kind": SMH, "name": KINDS.kinds[SMH].name, "doubt": "",
        "mark_ids": ("a", "b"), "record_ids": ("r",), "status": "seen once", "size": "", "note": "",
    }  # fmt: skip
    return usual | changes


def decided(*decisions, depth_m=math.nan, **changes):
    """The row with decisions put on it."""
    return decide([row(**changes)], decisions, kinds=KINDS, depths_m=[depth_m])[0]


def test_what_nobody_decided_reads_stop_beside_the_proposal():
    """The table only proposes, for the deepest cut when the depth is not known."""
    got = decided()

    assert (got["action"], got["decided_by"]) == (NOT_DECIDED, "")
    assert got["proposed"] == KINDS.propose(SMH, depth_m=math.nan).action


def test_a_decision_prints_with_who_and_when():
    """On any item of the evidence."""
    for item in ("a", "b", "r"):
        got = decided(decision(item, "action", "GO AROUND"))

        assert (got["action"], got["decided_by"]) == ("GO AROUND", f"{BY}, 2026-05-20")


def test_of_two_on_one_item_the_later_counts():
    """By date; on one date by place in the file."""
    early, late = decision("a", "action", "LIFT", "2026-05-19"), decision("a", "action", "STOP")
    again = decision("a", "action", "SLOW")

    assert decided(late, early)["action"] == "STOP"
    assert decided(late, again, early)["action"] == "SLOW"


def test_of_two_on_other_evidence_the_later_counts():
    """Also on one date: the last in the file, whichever item it names."""
    rows = [decision("r", "action", "LIFT"), decision("b", "action", "STOP")]

    assert decided(*rows)["action"] == "STOP"
    assert decided(*rows[::-1])["action"] == "LIFT"


def test_the_anchors_decision_holds_when_another_thing_joins():
    """What was decided later about a cover that turned out to be this one does not replace it."""
    own = decision("a", "action", "LIFT", "2026-05-19")
    other = decision("b", "action", "CUT THROUGH", "2026-05-21")

    assert decided(own, other)["action"] == "LIFT"


def test_one_thing_differs_from_its_kind():
    """A decision about the thing counts before the one about all of a kind."""
    kind = decision(f"kind:{SMH}", "action", "LIFT", "2026-05-22")

    assert decided(kind)["action"] == "LIFT"
    assert decided(kind, decision("a", "action", "STOP"))["action"] == "STOP"
    assert decided(kind, kind=WV)["action"] == NOT_DECIDED


def test_a_kind_decided_renames_the_row():
    """The proposal is the new kind's."""
    got = decided(decision("a", "kind", "water valve"))

    assert (got["kind"], got["name"]) == (WV, KINDS.kinds[WV].name)


def test_size_and_note_are_taken_as_decided():
    """The person who looked knows better."""
    got = decided(decision("a", "size", "30 in"), decision("b", "note", "rattles"))

    assert (got["size"], got["note"]) == ("30 in", "rattles")


def test_a_thing_never_seen_can_be_walked_and_not_found():
    """It stays on the list with what was really done."""
    got = decided(decision("r", "status", "walked, not found"), mark_ids=(), anchor_id="r")

    assert got["status"] == f"walked, not found ({BY}, 2026-05-20)"
    assert got["action"] == NOT_DECIDED


def test_what_is_gone_needs_no_action():
    """Who says so decided."""
    got = decided(decision("a", "status", "gone"), decision("a", "action", "LIFT"))

    assert (got["action"], got["decided_by"]) == ("GONE", f"{BY}, 2026-05-20")
    assert got["who"] == ""


@pytest.mark.parametrize(
    "action",
    ["MILL OVER", "MILL OVER slowly", "MILL OVER, 4 in down", "LOOK, then mill  over"],
)
@pytest.mark.parametrize(
    ("status", "depth_in", "over"),
    [
        ("lowered 3 in", 2.0, True),
        ("lowered 2.9 in", 2.0, False),
        ("lowered 80 mm", 2.0, True),
        ("lowered 4 in", math.nan, False),
        ("walked", 2.0, False),
    ],
)
def test_mill_over_needs_a_measured_depth_however_it_is_worded(action, status, depth_in, over):
    """An inch deeper than the cut, or the row reads stop and says why."""
    rows = [decision("a", "status", status), decision("a", "action", action)]
    got = decided(*rows, depth_m=depth_in * INCH_M, doubt="poor accuracy")

    assert got["action"] == (action if over else NOT_DECIDED)
    assert ("; not measured deep enough to mill over" in got["doubt"]) is not over


def test_mill_over_without_any_status_stops():
    """Nobody lowered it."""
    got = decided(decision("a", "action", "MILL OVER"), depth_m=0.05)

    assert (got["action"], got["doubt"]) == (NOT_DECIDED, "not measured deep enough to mill over")


def test_joins_add_up_and_a_later_split_undoes_them():
    """A join after the split counts again."""
    rows = [decision("a", "join", "b"), decision("a", "join", "c")]
    parted = decision("b", "split", when="2026-05-21")
    again = decision("b", "join", "a", "2026-05-22")

    assert joins(rows) == (("a", "b"), ("a", "c"))
    assert joins([parted, *rows]) == (("a", "c"),)
    assert joins([*rows, parted, again]) == (("a", "c"), ("b", "a"))
    assert splits([*rows, parted]) == frozenset("b")


def test_kinds_that_were_given_are_codes_and_nothing_stays_nothing():
    """By name, word or code."""
    rows = [decision("a", "kind", "Manhole"), decision("b", "kind", NOTHING)]

    assert sorted_kinds(rows, KINDS) == {"a": MH, "b": NOTHING}


@pytest.mark.parametrize(
    ("made", "sentence"),
    [
        (decision("a", "colour", "red"), "field 'colour' is not one of"),
        (decision("a", "action", "hope"), "action 'hope' does not start with one of"),
        (decision("a", "action", "LOOKS FINE"), "action 'LOOKS FINE' does not start with one of"),
        (decision("a", "status", "lowered"), "status 'lowered' is not one of"),
        (decision("a", "kind", "spaceship"), "'spaceship' is not a kind of this job"),
        (decision("a", "height", "high"), "height 'high' is not understood; write it like"),
        (decision("a", "join", ""), "join with ''; name the id of another mark"),
        (decision("a", "join", "a"), "join with 'a'; name the id of another mark"),
        (decision("kind:NONE", "action", "LIFT"), "'NONE' must be a kind"),
        (decision(f"kind:{SMH}", "status", "gone"), "for a whole kind only action"),
        (decision("a", "action", "LIFT", by=""), "action was decided by nobody"),
        (decision("a", "action", "LIFT", "5/20/2026"), "when is '5/20/2026'; write the date like"),
    ],
)
def test_what_cannot_be_carried_out_is_refused(made, sentence):
    """The row is named, with what was expected."""
    with pytest.raises(JobError, match=f"decision 2 .*{sentence}"):
        check_decisions([decision("a", "action", "LIFT"), made], kinds=KINDS)


def test_all_faults_are_named_in_one_error():
    """The file is mended once."""
    with pytest.raises(JobError, match=r"decision 1 .*; decision 2 "):
        check_decisions([decision("a", "colour", "x"), decision("b", "shape", "y")], kinds=KINDS)


@pytest.mark.parametrize("when", ["", "2026-05-20", "2026-05-20T14:30:00Z", "2026-05-20 14:30"])
def test_dates_that_sort_as_text_are_taken(when):
    """A date, with or without its time; without any it counts as the earliest."""
    check_decisions([decision("a", "action", "as proposed", when)], kinds=KINDS)

    decided_by = decided(decision("a", "action", "LIFT", when))["decided_by"]

    assert decided_by == (f"{BY}, {when}" if when else BY)


LEGS = {"a": "A", "b": "A", "c": "B", "off": ""}


@pytest.mark.parametrize(
    ("made", "sentence"),
    [
        (decision("x", "action", "LIFT"), "no mark or record has the id x"),
        (decision("a", "join", "y"), "no mark or record has the id y"),
        (decision("a", "join", "c"), "they lie on leg A and leg B"),
        (decision("off", "join", "off2"), "no mark or record has the id off2"),
        (decision("a", "join", "off"), "they lie on leg A and no leg"),
    ],
)
def test_a_decision_that_changes_nothing_is_said(made, sentence):
    """It is not lost in silence."""
    said = loose([made], LEGS)

    assert [(one.level, sentence in one.text) for one in said] == [("doubt", True)]


def test_two_that_lie_on_no_leg_cannot_be_joined():
    """Neither is on any list."""
    said = loose([decision("off", "join", "off2")], LEGS | {"off2": ""})

    assert "they lie on no leg and no leg" in said[0].text


def test_decisions_that_hold_are_not_mentioned():
    """Also those on a kind, and those that sort a mark on no leg."""
    rows = [decision("a", "join", "b"), decision(f"kind:{SMH}", "action", "LIFT")]

    assert loose([*rows, decision("off", "kind", "manhole")], LEGS) == ()


@given(st.permutations(range(6)))
def test_with_a_date_on_each_the_order_of_the_file_changes_nothing(order):
    """The later date counts."""
    rows = [
        decision(item, field, value, f"2026-05-{day}")
        for day, (item, field, value) in enumerate(
            [("a", "action", "LIFT"), ("b", "action", "STOP"), ("a", "action", "SLOW"),
             ("r", "status", "walked"), ("b", "status", "gone"), ("a", "size", "30 in")],
            start=10,
        )
    ]  # fmt: skip

    assert decided(*(rows[k] for k in order)) == decided(*rows)


def test_iron_is_never_cut_through_whoever_decided_it():
    """Worse than milling over: the row stops, and says why."""
    got = decided(decision("a", "action", "CUT THROUGH"), depth_m=0.05)

    assert (got["action"], got["decided_by"]) == (NOT_DECIDED, "")
    assert "iron is not cut through" in got["doubt"]


def test_what_is_no_iron_may_be_cut_through():
    """A patch is asphalt."""
    patch = KINDS.find("patch").code
    got = decided(decision("a", "action", "CUT THROUGH"), kind=patch, depth_m=0.05)

    assert got["action"] == "CUT THROUGH"


def test_another_action_than_proposed_leaves_out_who_would_have_done_the_proposal():
    """Hand work around a casting is no hand work when the machine goes around it."""
    assert decided(decision("a", "action", "as proposed"))["who"] != ""
    assert decided(decision("a", "action", "GO AROUND"))["who"] == ""


GASV = KINDS.find("gas valve").code
UNSURE = {"kind": WV, "called": (WV, GASV), "doubt": "near tie; called GAS VALVE once"}


def test_a_thing_that_was_also_called_gas_is_proposed_as_gas():
    """Never less careful than what any look calls it; what it was called is no column."""
    got = decided(**UNSURE)

    assert (got["kind"], got["proposed"], got["who"]) == (WV, "STOP", "gas owner")
    assert "called" not in got


def test_a_kind_decided_by_a_named_person_settles_what_it_is():
    """Proposal and doubt are then that kind's alone."""
    got = decided(decision("a", "kind", "water valve"), **UNSURE)

    assert (got["proposed"], got["doubt"]) == ("LIFT", "near tie")


def test_a_kind_decided_for_one_mark_of_several_does_not_settle_it():
    """It may be no more than what that mark's words meant."""
    got = decided(decision("b", "kind", "water valve"), **UNSURE)

    assert (got["kind"], got["proposed"], got["doubt"]) == (WV, "STOP", UNSURE["doubt"])


def test_what_was_decided_for_a_kind_holds_less_where_the_kind_is_not_sure():
    """LIFT for all water valves does not lift what may be gas; STOP and as proposed hold."""
    wide = f"kind:{WV}"
    lifted = decided(decision(wide, "action", "LIFT"), **UNSURE)
    stopped = decided(decision(wide, "action", "STOP"), **UNSURE)
    accepted = decided(decision(wide, "action", "as proposed"), **UNSURE)

    assert lifted["action"] == NOT_DECIDED
    assert lifted["doubt"].endswith("kind not sure: decide this one by itself")
    assert (stopped["action"], accepted["action"]) == ("STOP", "STOP")
    assert decided(decision(wide, "action", "LIFT"), kind=WV, called=(WV,))["action"] == "LIFT"


def test_a_decision_on_the_thing_itself_holds():
    """A named person saw it."""
    assert decided(decision("a", "action", "LIFT"), **UNSURE)["action"] == "LIFT"


def test_what_may_be_iron_is_not_cut_through():
    """Called a patch by three and a manhole by one."""
    patch = KINDS.find("patch").code
    got = decided(decision("a", "action", "CUT THROUGH"), kind=patch, called=(patch, MH))

    assert got["action"] == NOT_DECIDED


def test_an_action_for_a_whole_kind_is_no_fault():
    """One tap per kind is enough."""
    assert check_decisions([decision(f"kind:{WV}", "action", "LIFT")], kinds=KINDS) is None
