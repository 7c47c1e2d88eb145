"""The obstruction sheet: a ``Pack`` in, the bytes of a PDF out.

A cover page, then each leg in station order on pages of its own, then the back pages with the
evidence.  What it says is put together here; how it looks is ``obstruction-sheet.typ``.
"""

from routeprep import listing
from routeprep.shapes import Pack
from routeprep.sheets.back_pages import back_pages
from routeprep.sheets.drawing import draw
from routeprep.sheets.evidence_pages import stop_photos
from routeprep.sheets.front_page import front_page
from routeprep.sheets.leg_pages import leg_page
from routeprep.wording import shift_text

__all__ = ["render"]

_TEMPLATE = "obstruction-sheet.typ"


def render(pack: Pack, *, paper: str = "letter") -> bytes:
    """Draw the obstruction sheet of a pack as a tagged PDF; the same pack gives the same bytes.

    Parameters
    ----------
    pack
        What to draw.
    paper
        "letter", "a4" or "tabloid".
    """
    rows_by_leg = listing.rows_by_leg(pack)
    rows = [row for leg in pack.legs for row in rows_by_leg[leg.settings.code]]
    # Files of our own naming: a name that somebody gave is no path here.
    photos = {f"photo-{k}.jpg": one for k, one in enumerate(stop_photos(pack, rows), start=1)}
    own = {
        "shift": shift_text(pack.settings.date, night=pack.settings.briefing.night),
        "front": front_page(pack, rows_by_leg),
        "legs": [leg_page(leg, rows_by_leg[leg.settings.code], pack) for leg in pack.legs],
        "back": back_pages(pack, rows),
        "photos": [{"file": file, "text": one["text"]} for file, one in photos.items()],
    }
    pictures = {file: pack.photos[one["name"]] for file, one in photos.items()}
    return draw(
        pack,
        own,
        template=_TEMPLATE,
        title="Obstruction sheet",
        paper=paper,
        pictures=pictures,
    )
