"""Any sheet of a pack: what all say at head and foot, put with their own words and typeset.

In go a ``Pack`` and plain data of one sheet, out come the bytes of a PDF.
"""

from collections.abc import Mapping
from importlib import resources
from typing import cast

from routeprep.daychecks import foot_line
from routeprep.errors import OutputError
from routeprep.sealing import seal
from routeprep.shapes import Pack
from routeprep.sheets.typesetting import BOX, PAPERS, lacking_texts, printable, typeset

__all__ = ["draw"]

# So many characters of the pack's checksum stand on each page: sheet, map and data that belong
# together show the same ones.
_SEAL_SHOWN = 6


def draw(  # noqa: PLR0913 - what a sheet is, and on what it is drawn
    pack: Pack,
    own: Mapping[str, object],
    *,
    template: str,
    title: str,
    paper: str,
    landscape: bool = False,
    pictures: Mapping[str, bytes] | None = None,
) -> bytes:
    """Draw a sheet as a tagged PDF; the same pack gives the same bytes.

    Parameters
    ----------
    pack
        Whose sheet it is.
    own
        What this sheet says beside its head: plain data by the names of its template.
    template
        Name of its template in this folder; it imports ``sheet-parts.typ``.
    title
        What the sheet is called.
    paper
        "letter", "a4" or "tabloid" (11 by 17 in).
    landscape
        Whether the paper lies on its long side.
    pictures
        What the template draws, by the plain file names that it uses.

    Raises
    ------
    OutputError
        If the paper is another one, or the sheet cannot be typeset.
    """
    if paper not in PAPERS:
        msg = f"paper {paper!r} is not one that the sheet is made for; use one of {sorted(PAPERS)}"
        raise OutputError(msg, paper=paper)
    settings, date = pack.settings, pack.settings.date
    head = {
        "paper": PAPERS[paper],
        "landscape": landscape,
        "title": f"{title}, {settings.name}, revision {settings.revision}",
        "job": settings.name,
        "number": settings.number,
        "revision": settings.revision,
        "date": [date.year, date.month, date.day],
        "draft": bool(pack.draft),
        "issued_to": settings.briefing.issued_to,
        "seal": f"pack {seal(pack)[:_SEAL_SHOWN]}",
        "rechecked": foot_line(pack),
    }
    data, lacking = printable(head | dict(own))
    shown = cast("dict[str, object]", data) | {"box": BOX, "lacking": lacking_texts(lacking)}
    source = (resources.files(__package__) / template).read_bytes()
    return typeset(source, shown, date=date, pictures=pictures)
