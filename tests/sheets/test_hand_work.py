"""The hand-work sheet: each area with where, how large, who, why, and the totals."""

from dataclasses import replace

import pytest
from sheets.made_packs import NAN, thing
from sheets.made_plans import HAND, amount, plan, planned
from sheets.pdf_text import pages_of
from sheets.tag_tree import tag_tree

from routeprep.errors import OutputError
from routeprep.plans import Plan
from routeprep.sheets.hand_work import render


def text_of(units="us", **changes):
    """All text of the sheet."""
    return " ".join(pages_of(render(planned(plan(**changes), units=units))))


def test_an_area_reads_from_to_side_size_who_why_and_around_what():
    """17 to 24 m: 10+55 to 10+80 rounded away; 8.4 m2 are 90 ft2; 0.3 to 1.5 m are 1 to 5 ft."""
    rows = [tag.read() for tag in tag_tree(render(planned())).all("TR")]

    assert (
        "about 10+55 to 10+80 at the paint, ±20 ft right, 1 ft to 5 ft from the line 90 ft² "
        "hand-work crew around what is lifted over A-1"
    ) in rows


def test_stations_are_plain_where_all_was_taped_or_the_plan_says():
    """Around A-4, which is taped; along a curb, around nothing."""
    text = text_of(hand_work=(replace(HAND[0], anchor_ids=("anchor A-4",)), HAND[2]))

    assert "10+55 to 10+79 right" in text
    assert "0+00 to 3+29 left" in text
    assert "about" not in text


def test_a_doubt_too_small_for_the_list_is_still_no_tape():
    """0.5 m at one standard deviation says no ± on the list."""
    things = [thing("A-1", 20.0, along_sd_m=0.5)]
    text = " ".join(pages_of(render(planned(plan(hand_work=HAND[:1]), things=things))))

    assert "about 10+55 to 10+80 at the paint, not taped" in text


def test_an_area_of_no_given_extent_says_so_and_counts_for_nothing():
    """Its size is not made up."""
    unknown = replace(HAND[0], area_m2=NAN)
    some, alone = text_of(hand_work=(unknown, HAND[1])), text_of(hand_work=(unknown,))

    assert "size not given" in some
    assert "Leg A, 2 areas: 450 ft² + 1 of no given size" in some
    assert "Leg A, 1 area: 1 of no given size" in alone


def test_ground_that_is_left_as_it_is_is_told_apart():
    """10 m2 are 108 ft2."""
    skipped = amount("skipped", area_m2=10.0)

    assert "540 ft², of it 108 ft² left as it is (skipped)" in text_of(quantities=(skipped,))


def test_a_metric_job_is_in_square_metres():
    """As given."""
    text = text_of("metric")

    assert "right, 0.3 m to 1.5 m from the line 8.4 m²" in text
    assert "41.8 m²" in text


def test_an_area_across_the_line_says_both_sides():
    """1.0 m left and 1.2 m right are 3 and 4 ft."""
    assert "across the line: 3 ft left to 4 ft right 450 ft² small machine one lift A-5, A-6" in (
        text_of()
    )


def test_an_area_left_of_the_line_is_told_from_the_line_outward():
    """-3.6 to -3.0 m: 10 to 12 ft."""
    assert "left, 10 ft to 12 ft from the line" in text_of()


def test_who_is_not_named_is_asked_for():
    """Nothing is guessed."""
    assert "nobody named: name who" in text_of()


def test_totals_stand_by_who_by_leg_and_in_all():
    """540 and 646 ft2 are 1,186 ft2."""
    text = text_of()

    assert "Leg A, 2 areas: 540 ft²" in text
    assert "Leg B, 1 area: 646 ft²" in text
    assert "All 1,186 ft²" in text
    assert "small machine 1 450 ft²" in text


def test_areas_stand_in_order_along_whatever_order_they_are_given_in():
    """By leg, each on pages of its own."""
    pages = pages_of(render(planned(plan(hand_work=HAND[::-1]))))

    assert len(pages) == 2
    assert pages[0].index("10+55") < pages[0].index("20+35")
    assert "0+00 to" not in pages[0]


def test_a_plan_that_leaves_nothing_says_what_that_does_not_mean():
    """Expect some."""
    assert "The plan leaves no ground to hand work. Expect some" in text_of(hand_work=())


def test_a_job_without_a_machine_is_one_page_that_says_so():
    """The files of a pack are fixed."""
    (page,) = pages_of(render(planned(Plan())))

    assert "No machine is named in the job: no passes are planned." in page


def test_every_page_says_draft_and_caution():
    """As all sheets."""
    for page in pages_of(render(planned())):
        assert "DRAFT, NOT FOR CUTTING" in page
        assert "the paint tells the operator where" in page


def test_the_same_pack_gives_the_same_bytes():
    """On A4, twice."""
    assert render(planned(), paper="a4") == render(planned(), paper="a4")


def test_another_paper_is_refused():
    """By name."""
    with pytest.raises(OutputError, match="paper 'legal'"):
        render(planned(), paper="legal")


def test_hostile_words_are_only_words():
    """Of who and why."""
    nasty = "#sys.version $1$ *bold* 工"
    text = text_of(hand_work=(replace(HAND[0], who=nasty, why=nasty),))

    assert text.count("#sys.version $1$ *bold*") >= 2
    assert "U+5DE5" in text
