"""The change slip: what a person reads who holds the paper before."""

from dataclasses import replace

import pytest
from sheets import made_packs
from sheets.pdf_text import pages_of

from routeprep import listing, tables
from routeprep.shapes import Issued
from routeprep.sheets.change_slip import render
from routeprep.tables import rows_of


def slip(now=made_packs.THINGS, before=None, *, revision="B", **changes):
    """The text of the slip of a pack, after one of other things was issued."""
    pack = made_packs.pack(now, **({"draft": ()} | changes))
    if before is not None:
        listed = listing.rows(made_packs.pack(before))[[one.name for one in tables.ISSUED]]
        rows = tables.table(tables.ISSUED, rows_of(listed))
        pack = replace(pack, issued=Issued(revision=revision, rows=rows))
    return " ".join(pages_of(render(pack)))


MANHOLE = made_packs.thing("A-1", 20.0)
MOVED = made_packs.thing("A-1", 120.0)


def test_a_first_issue_says_so_in_one_line():
    """A pack's files are fixed, so the slip is there; it has nothing to tick."""
    text = slip()

    assert "Revision C is the first that is issued for this job" in text
    assert "TEAR UP" not in text
    assert "Tick each line" not in text


def test_the_paper_before_is_torn_up():
    """Its letter, in large."""
    assert "TEAR UP REVISION B. Work from revision C alone." in slip([MOVED], [MANHOLE])


def test_a_draft_tears_up_nothing():
    """The issued paper holds until another one is issued."""
    text = slip([MOVED], [MANHOLE], draft=("1 of 1 things are not decided",))

    assert "THIS IS A DRAFT: work from revision B. Tear it up once revision C is issued" in text
    assert "TEAR UP REVISION" not in text


def test_each_change_is_a_line_with_number_station_and_words():
    """100 m are 328 ft: to 5 ft, 330."""
    text = slip([MOVED], [MANHOLE])

    assert "1 thing has changed: 1 moved." in text
    assert "A-1 13+95 sewer manhole moved 330 ft up-station, was at 10+65.6" in text


def test_all_that_changed_is_counted():
    """A new one, and one that is gone."""
    text = slip([MANHOLE, made_packs.thing("A-2", 60.0)], [MANHOLE, made_packs.thing("A-9", 90.0)])

    assert "2 things have changed: 1 new, 1 off the list." in text


def test_nothing_new_is_said():
    """The old paper is torn up all the same: another letter is another paper."""
    text = slip([MANHOLE], [MANHOLE])

    assert "Nothing on the list has changed since revision B." in text
    assert "TEAR UP REVISION B" in text


def test_a_letter_that_was_used_is_refused_in_words():
    """Two papers of one letter that say different things."""
    text = slip([MOVED], [MANHOLE], revision="C")

    assert "Both are called revision C, and they do not say the same" in text
    assert "TEAR UP" not in text


def test_a_leg_of_the_paper_before_that_is_no_more_is_named():
    """By its code."""
    text = slip([MANHOLE], [MANHOLE, made_packs.thing("B-1", 20.0)],
                legs=[made_packs.leg("A")])  # fmt: skip

    assert "Leg B No. Station What What changed B-1" in text


@pytest.mark.parametrize("paper", ["letter", "a4", "tabloid"])
def test_hostile_and_long_lists_are_drawn_on_any_paper(paper):
    """What people typed prints as typed, and a long slip has more pages."""
    now = [made_packs.thing(f"A-{k}", 2.0 * k, name=made_packs.HOSTILE) for k in range(1, 80)]
    pack = made_packs.pack(now)
    listed = listing.rows(made_packs.pack([MANHOLE]))[[one.name for one in tables.ISSUED]]
    pack = replace(
        pack, issued=Issued(revision="B", rows=tables.table(tables.ISSUED, rows_of(listed)))
    )
    pdf = render(pack, paper=paper)

    assert pdf == render(pack, paper=paper)
    assert "#sys.version" in " ".join(pages_of(pdf))
