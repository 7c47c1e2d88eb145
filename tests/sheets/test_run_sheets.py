"""The run sheets: read page by page and row by row as a program reads them aloud."""

import re
from dataclasses import replace
from functools import cache

import pytest
from sheets.made_packs import HOSTILE, thing
from sheets.made_plans import MET, machine, meeting, plan, planned, run
from sheets.pdf_text import pages_of
from sheets.tag_tree import tag_tree

from routeprep.errors import OutputError
from routeprep.plans import Plan
from routeprep.sheets.run_sheets import render

PAPERS = ("letter", "a4")


@cache
def usual(paper="letter", units="us"):
    """The run sheets of the usual plan."""
    return render(planned(units=units), paper=paper)


def rows_read(pdf):
    """Number, station, what, drum and what to do of each thing, with its page from 1."""
    found = []
    for tag in tag_tree(pdf).all("TR"):
        cells = [one.read() for one in tag.inside]
        if len(cells) == 6 and re.match(r"[A-Z]+-\d+", cells[1]):
            found.append((tag.page + 1, *cells[1:]))
    return found


def test_the_first_page_is_the_whole_job_and_each_pass_has_its_own():
    """Both passes of leg A take two pages."""
    pages = pages_of(usual())

    assert "Passes, in the order of work" in pages[0]
    assert ["pass A R1" in page for page in pages[1:]] == [True, True, False, False, False]
    assert ["pass A R2" in page for page in pages[1:]] == [False, False, True, True, False]
    assert "pass B L1" in pages[5]


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("units", ["us", "metric"])
def test_everything_that_is_met_is_read_once_a_pass_in_the_order_met(paper, units):
    """Read from the tags, which is how it is read aloud."""
    numbers = [row[1].split(" ")[0] for row in rows_read(usual(paper, units))]

    assert numbers == [
        *(f"A-{k}" for k in range(1, 12)), "A-4", "A-3", "A-2", "A-1", "B-1",
    ]  # fmt: skip


def test_a_row_reads_number_next_station_what_where_and_what_to_do():
    """All that the operator needs, cell by cell."""
    row = rows_read(usual())[3]

    assert row[1:] == (
        "A-4 ↓ 395 ft",
        "16+56 328 ft before Elm St",
        "WATER valve 8 in",
        "Drum, X: 2 ft from YOUR LEFT edge; curb side on YOUR RIGHT 2 ft from YOUR LEFT edge",
        "LIFT LIFT 16+46, DROP 16+70",
    )


def test_stations_of_lifts_are_printed_for_taped_rows_alone():
    """All other lifts are at the paint."""
    lifts = [row[5] for row in rows_read(usual()) if row[5].startswith("LIFT")]

    assert sum("DROP 16+" in text or "LIFT 16+" in text for text in lifts) == 2
    assert all("at paint" in text or "ONE LIFT" in text for text in lifts if "16+" not in text)


def test_a_pass_down_station_says_so_and_against_traffic_too():
    """On its pages and on no other."""
    pages = pages_of(usual())

    assert ["STATIONS COUNT DOWN" in page for page in pages] == [
        False, False, False, True, True, True,
    ]  # fmt: skip
    assert ["AGAINST TRAFFIC: the pass" in page for page in pages] == [
        False, False, False, True, True, False,
    ]  # fmt: skip


def test_left_and_right_are_the_operators_alone():
    """Without YOUR, left and right do not stand on the pages of passes."""
    flagless = planned(plan(passes=tuple(replace(one, flags=()) for one in plan().passes)))
    text = " ".join(pages_of(render(flagless))[1:])

    assert re.findall(r"(?<!YOUR )\b(?:LEFT|RIGHT|left|right)\b", text.replace(
        "YOUR LEFT on the left", "YOUR LEFT on the"
    )) == []  # fmt: skip


def test_flags_stand_in_a_box_before_the_rows():
    """Of that pass."""
    page = pages_of(usual())[1]

    assert page.index("READ BEFORE YOU RUN") < page.index("the curb is on the operator's right")
    assert page.index("the curb is on the operator's right") < page.index("A-1")


def test_every_page_says_draft_revision_and_caution():
    """And that no number of the back pages is listed."""
    for page in pages_of(usual()):
        assert "DRAFT, NOT FOR CUTTING" in page
        assert "REV C" in page
        assert "the paint tells the operator where" in page


def test_two_machines_get_their_pages_one_after_the_other():
    """Each in the order of its own work, and no page of both."""
    outer = {"half": "outside half", "machine": "Small One"}
    passes = (run(), run("A R2", 2, **outer), run("A R3", 3), run("A R4", 4, **outer))
    met = [meeting("A-1", 20.0, one.code) for one in passes]
    made = planned(
        plan(machines=(machine(), machine("Small One")), passes=passes, meetings=tuple(met))
    )  # fmt: skip
    pages = pages_of(render(made))[1:]

    assert [re.search(r"pass (A R\d)", page)[1] for page in pages] == [
        "A R1", "A R3", "A R2", "A R4",
    ]  # fmt: skip
    assert ["machine Small One" in page for page in pages] == [False, False, True, True]


def test_a_pass_of_a_hundred_things_keeps_its_rows_whole():
    """Every page has the head of the table and of the pass; each thing is read once."""
    things = [thing(f"A-{k}", 9.0 * k, note="a long note " * 8) for k in range(1, 101)]
    met = tuple(meeting(f"A-{k}", 9.0 * k) for k in range(1, 101))
    pdf = render(planned(plan(passes=(run(),), meetings=met), things=things))
    pages = pages_of(pdf)[1:]

    assert [row[1].split(" ")[0] for row in rows_read(pdf)] == [f"A-{k}" for k in range(1, 101)]
    assert all("DO THIS" in page and "INSIDE HALF" in page for page in pages)
    assert len(pages) > 10


def test_a_pass_that_meets_nothing_has_its_begin_and_end():
    """And says that nothing is on it."""
    page = pages_of(render(planned(plan(passes=(run(),), meetings=()))))[1]

    assert "0 on this pass" in page
    assert "CUT BEGINS 10+00" in page
    assert "CUT ENDS 42+81" in page


def test_a_plan_without_a_pass_says_so():
    """A machine, and nothing to cut."""
    (page,) = pages_of(render(planned(plan(passes=(), meetings=()))))

    assert "No pass is planned: see what to read first." in page


def test_a_job_without_a_machine_is_one_page_that_says_so():
    """The files of a pack are fixed."""
    (page,) = pages_of(render(planned(Plan())))

    assert "No machine is named in the job: no passes are planned." in page


@pytest.mark.parametrize("paper", [*PAPERS, "tabloid"])
def test_the_same_pack_gives_the_same_bytes(paper):
    """Twice."""
    assert render(planned(), paper=paper) == render(planned(), paper=paper)


def test_another_paper_is_refused():
    """By name."""
    with pytest.raises(OutputError, match="paper 'legal'"):
        render(planned(), paper="legal")


def test_hostile_words_are_only_words():
    """Of machines, flags, notes and names; characters that the typeface lacks are listed."""
    flags = (HOSTILE, "*bold* 工")
    passes = (run(machine=HOSTILE, flags=flags, strip=HOSTILE),)
    things = [thing("A-1", 20.0, note=HOSTILE, name="#sys.version $1$")]
    made = plan(machines=(machine(HOSTILE),), passes=passes, meetings=MET[:1], flags=flags)
    text = " ".join(pages_of(render(planned(made, things=things))))

    assert text.count("#sys.version") > 4
    assert "*bold*" in text
    assert "U+5DE5" in text
