"""The obstruction sheet: a ``Pack`` in, the bytes of a PDF out.

A cover page, then each leg in station order on pages of its own, then the back pages with the
evidence.  What it says is put together here; how it looks is ``obstruction-sheet.typ``.
"""

from collections.abc import Sequence
from importlib import resources
from typing import cast

from routeprep import listing
from routeprep.errors import OutputError
from routeprep.shapes import Pack
from routeprep.sheets.back_pages import back_pages
from routeprep.sheets.front_page import front_page
from routeprep.sheets.leg_pages import Row, leg_page
from routeprep.sheets.typesetting import BOX, PAPERS, lacking_texts, printable, typeset
from routeprep.wording import date_text

__all__ = ["render"]

_TEMPLATE = "obstruction-sheet.typ"


def _rows_by_leg(pack: Pack) -> dict[str, list[Row]]:
    rows: Sequence[Row] = listing.rows(pack).to_dict("records")
    codes = [leg.settings.code for leg in pack.legs]
    return {code: [row for row in rows if row["leg"] == code] for code in codes}


def _data(pack: Pack, *, paper: str) -> dict[str, object]:
    settings, date = pack.settings, pack.settings.date
    rows_by_leg = _rows_by_leg(pack)
    rows = [row for leg in pack.legs for row in rows_by_leg[leg.settings.code]]
    return {
        "paper": PAPERS[paper],
        "title": f"Obstruction sheet, {settings.name}, revision {settings.revision}",
        "job": settings.name,
        "number": settings.number,
        "revision": settings.revision,
        "date": [date.year, date.month, date.day],
        "shift": f"SHIFT STARTING {date_text(date)}",
        "draft": bool(pack.draft),
        "front": front_page(pack, rows_by_leg),
        "legs": [leg_page(leg, rows_by_leg[leg.settings.code], pack) for leg in pack.legs],
        "back": back_pages(pack, rows),
    }


def render(pack: Pack, *, paper: str = "letter") -> bytes:
    """Draw the obstruction sheet of a pack as a tagged PDF; the same pack gives the same bytes.

    Parameters
    ----------
    pack
        What to draw.
    paper
        "letter" or "a4".

    Raises
    ------
    OutputError
        If the paper is another one, or the sheet cannot be typeset.
    """
    if paper not in PAPERS:
        msg = f"paper {paper!r} is not one that the sheet is made for; use one of {sorted(PAPERS)}"
        raise OutputError(msg, paper=paper)
    data, lacking = printable(_data(pack, paper=paper))
    shown = cast("dict[str, object]", data) | {"box": BOX, "lacking": lacking_texts(lacking)}
    template = (resources.files(__package__) / _TEMPLATE).read_bytes()
    return typeset(template, shown, date=pack.settings.date)
