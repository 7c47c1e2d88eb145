"""What all sheets share: the head of a pack, the paper, what the typeface lacks."""

import pytest
from sheets.made_packs import pack
from sheets.pdf_text import pages_of

from routeprep.errors import OutputError
from routeprep.sheets.drawing import draw

OWN = {"shift": "MON 1 JUN 2026", "legs": [], "cautions": []}


def test_a_sheet_of_another_paper_is_refused():
    """The paper is named, and those that there are."""
    with pytest.raises(OutputError, match=r"paper 'legal' is not one .* \['a4', 'letter'\]"):
        draw(pack(), OWN, template="wheel-sheet.typ", title="Any", paper="legal")


def test_what_a_sheet_says_itself_comes_after_the_head_of_its_pack():
    """Revision and draft are the pack's, and a lacking character of any text is listed."""
    made = pack(name="Invented Mill Job 工")
    (page,) = pages_of(draw(made, OWN, template="wheel-sheet.typ", title="Any", paper="a4"))

    assert "REV C" in page
    assert "DRAFT, NOT FOR CUTTING" in page
    assert "U+5DE5" in page
