"""The tie sheet: lowered iron, ramps, steps and skipped ground, with room for swing ties."""

from dataclasses import replace

import numpy as np
import pytest
from sheets.made_packs import UNDECIDED, thing
from sheets.made_plans import IN, SURE, meeting, plan, planned, strip
from sheets.pdf_text import pages_of
from sheets.tag_tree import tag_tree

from routeprep.errors import OutputError
from routeprep.plans import Plan
from routeprep.sheets.tie_sheet import render

LOWERED = "lowered 1 in (J. Doe, 2026-05-30)"


def rows_of(made):
    """What is read of each row."""
    return [tag.read() for tag in tag_tree(render(made)).all("TR")]


def only(one, **changes):
    """All that is read of a sheet of one thing."""
    return " ".join(rows_of(planned(plan(ramps=(), strips=(), **changes), things=[one])))


def test_a_row_has_number_station_offset_what_was_done_and_two_blank_ties():
    """A cover lowered 1 in under a 2-in cut is here, and STOP on the run sheet."""
    (row,) = [one for one in rows_of(planned()) if one.startswith("A-11 ")]

    assert row == (
        "A-11 37+90 ±20 ft right, outer wheel path, not taped sewer manhole 24 in "
        f"{LOWERED.replace('lowered', 'LOWERED')}; on the run sheet: STOP "
        "from how far from how far"
    )


def test_lowered_iron_stays_although_no_pass_meets_it():
    """Gone from the run sheets, not from here."""
    made = planned(plan(meetings=()), things=[thing("A-9", 700.0, status=LOWERED)])

    assert "A-9" in " ".join(rows_of(made))


def test_a_taped_offset_is_in_feet_and_no_other():
    """1.5 m is 5 ft; -1.5 m left of the line."""
    taped = thing("A-1", 20.0, **SURE, status=LOWERED)

    assert "5 ft right of the line, taped" in only(taped)
    assert "5 ft left of the line, taped" in only(taped | {"offset_m": -1.5})
    assert "taped sewer" in only(thing("A-1", 20.0, status=LOWERED))


def test_ramps_say_how_deep_and_long():
    """2 in at 48:1 is 8 ft (Louisiana section 509)."""
    assert "10+00 across right lane ramp RAMPED: 2 in deep, 8 ft long from how far" in (
        " ".join(rows_of(planned()))
    )


def test_a_joint_without_a_ramp_is_a_step():
    """Both ends of leg B, which has no ramps; leg A's have."""
    pages = pages_of(render(planned()))

    assert ["STEP: 2 in, no ramp planned" in page for page in pages] == [False, False, True]


def test_a_change_of_depth_within_a_strip_is_a_step_too():
    """From 2 in to 1 in at 500 m, 26+40."""
    depth_m = np.array([2.0, 2.0, 1.0, 1.0]) * IN
    jumps = strip(
        along_m=np.array([0.0, 500.0, 500.001, 1000.0]), left_m=np.zeros(4),
        right_m=np.full(4, 3.0), depth_left_m=depth_m, depth_right_m=depth_m,
    )  # fmt: skip

    assert "26+40 across right lane step STEP: 1 in, no ramp planned" in " ".join(
        rows_of(planned(plan(strips=(jumps,))))
    )


@pytest.mark.parametrize(
    ("action", "done"),
    [
        ("LIFT", "LIFTED OVER"),
        ("GO AROUND", "GONE AROUND"),
        ("SKIP", "SKIPPED"),
        ("SKIP 10+20 to 10+80", "SKIPPED: SKIP 10+20 to 10+80"),
    ],
)
def test_ground_that_is_left_says_how(action, done):
    """What a named person decided."""
    assert f"sewer manhole 24 in {done} from how far" in only(thing("A-1", 20.0, action=action))


@pytest.mark.parametrize(
    "changes",
    [UNDECIDED, {"status": "gone (J. Doe, 2026-05-30)"}, {"action": "SLOW"}, {"action": "STOP"}],
)
def test_what_leaves_no_ground_is_not_here(changes):
    """Nobody decided, it is gone, or it is cut through."""
    assert "A-1" not in only(thing("A-1", 20.0, **changes))


def test_lowered_iron_that_is_lifted_over_stands_once():
    """Under lowered iron."""
    assert only(thing("A-1", 20.0, status=LOWERED)).count("A-1") == 1


def test_it_says_that_the_ties_are_blank_and_why():
    """None is in the job's files."""
    assert (
        "No swing tie is in the job's files: both boxes of each row are blank"
        in (pages_of(render(planned()))[0])
    )


def test_nothing_to_tie_is_said():
    """One page."""
    (page,) = pages_of(render(planned(plan(ramps=(), strips=(), meetings=()), things=())))

    assert "Nothing lowered, no ramp, no step and no skipped ground." in page


def test_without_a_machine_it_says_so_and_keeps_what_was_lowered():
    """Nothing is planned; what is lifted over is not known."""
    (page,) = pages_of(render(planned(Plan())))

    assert "No machine is named in the job: no passes are planned." in page
    assert "A-9" in page
    assert "LIFTED OVER from" not in page


def test_without_a_machine_and_lowered_iron_it_is_one_page():
    """It says both."""
    (page,) = pages_of(render(planned(Plan(), things=())))

    assert "no passes are planned. Nothing lowered" in page


def test_every_page_says_draft_and_caution_and_holds_one_leg():
    """As all sheets."""
    pages = pages_of(render(planned()))

    assert all("DRAFT, NOT FOR CUTTING" in page for page in pages)
    assert ["Invented Road B" in page for page in pages] == [False, False, True]


def test_the_same_pack_gives_the_same_bytes():
    """On A4, twice."""
    assert render(planned(), paper="a4") == render(planned(), paper="a4")


def test_another_paper_is_refused():
    """By name."""
    with pytest.raises(OutputError, match="paper 'legal'"):
        render(planned(), paper="legal")


def test_hostile_words_are_only_words():
    """Of a thing and a strip."""
    nasty = "#sys.version $1$ *bold* 工"
    made = plan(strips=(replace(strip(), name=nasty),), ramps=(), meetings=(meeting("A-1", 20.0),))
    text = " ".join(pages_of(render(planned(made, things=[thing("A-1", 20.0, name=nasty)]))))

    assert text.count("#sys.version $1$ *bold*") >= 3
    assert "U+5DE5" in text
