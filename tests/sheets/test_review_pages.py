"""Reviews, checks and edits apart on the back pages."""

import pytest
from made_remarks import check, remarked, review, twice
from sheets.made_packs import pack
from sheets.made_plans import planned
from sheets.pdf_text import pages_of

from routeprep.remarks import WHOLE
from routeprep.sealing import seal
from routeprep.sheets import (
    change_slip,
    day_check,
    hand_work,
    obstruction_sheet,
    run_sheets,
    search_list,
    strip,
    tie_sheet,
    wheel_sheet,
)
from routeprep.sheets.back_pages import back_pages
from routeprep.sheets.review_pages import review_pages

SEAL = seal(pack())


def sections(*said):
    """The sections by their titles."""
    return {str(one["title"]): one for one in review_pages(remarked(*said))}


def test_a_list_that_nobody_reviewed_says_so():
    """A sentence, and no empty tables."""
    got = sections()

    assert (got["Review"]["rows"], got["Review"]["text"]) == (
        [], ["Nobody has reviewed this list."],
    )  # fmt: skip
    titles = [one["title"] for one in back_pages(remarked(), [])]
    assert "Review" in titles
    assert not {"Check on the day", "Edited twice"} & set(titles)


def test_a_review_is_a_row_with_words_who_when_and_of_which_list():
    """What is open is said, and so is what was said of another list."""
    got = sections(
        review(WHOLE, "accept", seal=SEAL),
        review("mark A-3", "ask for change", "close it first", by="Lou"),
        review("gone", "comment", "old", seal="0" * 64),
    )["Review"]

    assert got["rows"] == [
        ["whole list", "accept", "", "Lee, 2026-06-01 17:40", "of this very list"],
        ["A-3", "ask for change: OPEN", "close it first", "Lou, 2026-06-01 17:40",
         "NOT THIS LIST: of a list that is not known"],
        ["gone (not on this list)", "comment", "old", "Lee, 2026-06-01 17:40",
         "NOT THIS LIST: of an earlier list"],
    ]  # fmt: skip
    assert got["text"] == [
        "The whole list was accepted by Lee, 2026-06-01 17:40: of this very list.",
        "Changes asked for and not accepted since, 1: A-3.",
    ]


def test_a_change_that_was_accepted_since_is_not_open():
    """It stays as a row."""
    rows = sections(review("mark A-3", "ask for change", "x"), review("anchor A-3", "accept"))[
        "Review"
    ]["rows"]

    assert [row[1] for row in rows] == ["ask for change", "accept"]


def test_what_was_looked_at_on_the_day_is_listed_with_what_was_not():
    """Things, limits, streets, and what is on no list."""
    got = sections(check("anchor A-2", "changed", "raised"), check("leg B"), check("gone"))

    assert got["Check on the day"]["rows"] == [
        ["A-2", "CHANGED", "changed: raised (Ann, 2026-06-01 17:40)"],
        ["street B", "SAME", "same (Ann, 2026-06-01 17:40)"],
        ["gone (not on this list)", "", "same (Ann, 2026-06-01 17:40)"],
    ]
    (text,) = got["Check on the day"]["text"]
    assert text.startswith("RE-CHECKED ON THE DAY: 1 OF 7, LIMITS 0 OF 4, STREETS 1 OF 2")
    assert text.endswith(".")


def test_what_was_edited_twice_has_both():
    """By the thing's number, with what each said."""
    assert sections(twice())["Edited twice"]["rows"] == [
        ("A-1", "decision action", "LIFT (Ann); STOP (Bob)"),
    ]


def test_all_of_it_is_printed_and_each_page_says_what_was_looked_at_again():
    """On the sheet as it is read."""
    made = remarked(review("mark A-3", "ask for change", "close it first"),
                    check("anchor A-2", "changed", "raised"), twice())  # fmt: skip
    pages = pages_of(obstruction_sheet.render(made))
    text = " ".join(pages)

    for words in (
        "close it first",
        "changed: raised (Ann",
        "LIFT (Ann); STOP (Bob)",
        "Nobody has accepted this very list as a whole.",
    ):
        assert words in text
    assert all("RE-CHECKED ON THE DAY: 1 OF 7" in page for page in pages)


@pytest.mark.parametrize(
    "sheet",
    [change_slip, day_check, hand_work, obstruction_sheet, run_sheets, search_list, strip,
     tie_sheet, wheel_sheet],
)  # fmt: skip
def test_every_page_of_every_sheet_says_that_nobody_looked_again(sheet):
    """Whoever holds one page knows."""
    pages = pages_of(sheet.render(planned()))

    assert pages
    assert all("NOT RE-CHECKED" in page for page in pages)
