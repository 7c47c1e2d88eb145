"""What the back pages say of reviews, of the check on the day, and of what was edited twice.

In goes a pack, out come titled tables and paragraphs, as ``back_pages`` has them.
"""

from routeprep.daychecks import Checked, day_checks, foot_line, words_of
from routeprep.reviewing import ReviewLine, accepted_texts, edited_named, reviewed
from routeprep.shapes import Pack
from routeprep.sheets.evidence_pages import section

__all__ = ["review_pages"]

_TWICE = (
    "Two persons changed one thing, neither knowing of the other. Neither is taken: a decision is "
    "left open, a file stays as both had last seen it. One of them must decide again."
)
_ASTRAY = "not on this list"
_NOT_THIS = "NOT THIS LIST: "


def _review_row(line: ReviewLine) -> list[str]:
    who = ", ".join(part for part in (line.by, line.when) if part)
    of = line.of if line.of_this_list else f"{_NOT_THIS}{line.of}"
    open_still = line.says == "ask for change" and line.stands
    return [
        line.no or f"{line.subject} ({_ASTRAY})",
        f"{line.says}{': OPEN' if open_still else ''}",
        line.text,
        who,
        of,
    ]


def _review(pack: Pack) -> list[dict[str, object]]:
    """Who accepted the list, and then each review."""
    found = reviewed(pack)
    head = ("No.", "Says", "In their words", "Who, when", "Of which list")
    rows = [_review_row(line) for line in found.lines]
    texts = accepted_texts(found)
    if rows:
        return [section("Review", head, (1.6, 2, 6, 3, 2.4), rows, *texts)]
    return [{"title": "Review", "head": [], "shares": [], "rows": [], "text": texts}]


def _check_row(checked: Checked) -> list[str]:
    return [checked.name, checked.says.upper(), words_of(checked)]


def _checks(pack: Pack) -> dict[str, object]:
    """What was said of each thing, limit and street on the day; what nobody named is not listed."""
    day = day_checks(pack)
    every = (*day.things, *day.limits, *day.streets)
    rows = [_check_row(one) for one in every if one.said or one.aside]
    rows += [[f"{one.subject} ({_ASTRAY})", "", words_of(one)] for one in day.astray]
    head = ("No.", "Found", "In words, with who and when")
    return section("Check on the day", head, (2, 2, 10), rows, f"{foot_line(pack)}.")


def _twice(pack: Pack) -> dict[str, object]:
    rows = [
        (name, " ".join(part for part in (one.kind, one.field) if part), "; ".join(one.values))
        for name, one in edited_named(pack)
    ]
    head = ("What", "Of it", "What each said")
    return section("Edited twice", head, (3, 2, 9), rows, _TWICE)


def review_pages(pack: Pack) -> list[dict[str, object]]:
    """Sections of the back pages, a dict each; a table without rows is left out there.

    Parameters
    ----------
    pack
        With its remarks.
    """
    return [*_review(pack), _checks(pack), _twice(pack)]
