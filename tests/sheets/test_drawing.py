"""What all sheets share: the head of a pack, the paper, what the typeface lacks."""

import io

import pypdf
import pytest
from sheets.made_packs import pack
from sheets.pdf_text import pages_of

from routeprep.errors import OutputError
from routeprep.sealing import seal
from routeprep.sheets.drawing import draw

OWN = {"shift": "MON 1 JUN 2026", "legs": [], "cautions": []}


def test_a_sheet_of_another_paper_is_refused():
    """The paper is named, and those that there are."""
    with pytest.raises(
        OutputError, match=r"paper 'legal' is not one .* \['a4', 'letter', 'tabloid'\]"
    ):
        draw(pack(), OWN, template="wheel-sheet.typ", title="Any", paper="legal")


def test_what_a_sheet_says_itself_comes_after_the_head_of_its_pack():
    """Revision and draft are the pack's, and a lacking character of any text is listed."""
    made = pack(name="Invented Mill Job 工")
    (page,) = pages_of(draw(made, OWN, template="wheel-sheet.typ", title="Any", paper="a4"))

    assert "REV C" in page
    assert "DRAFT, NOT FOR CUTTING" in page
    assert "U+5DE5" in page


@pytest.mark.parametrize(
    ("paper", "landscape", "size_pt"),
    [
        ("letter", False, (612.0, 792.0)),
        ("letter", True, (792.0, 612.0)),
        ("a4", True, (841.89, 595.28)),
        ("tabloid", False, (792.0, 1224.0)),
        ("tabloid", True, (1224.0, 792.0)),
    ],
)
def test_paper_stands_or_lies(paper, landscape, size_pt):
    """Letter 8.5 by 11 in, tabloid 11 by 17 in, A4 by ISO 216, 210 by 297 mm."""
    made = pack(name="Invented Mill Job 工")
    pdf = draw(made, OWN, template="wheel-sheet.typ", title="Any", paper=paper, landscape=landscape)
    found = {
        (round(float(page.mediabox.width), 2), round(float(page.mediabox.height), 2))
        for page in pypdf.PdfReader(io.BytesIO(pdf)).pages
    }

    assert found == {size_pt}


def test_every_sheet_says_the_first_characters_of_the_pack_s_seal():
    """Sheets of one pack are known by it."""
    made = pack(name="Invented Mill Job 工")
    (page,) = pages_of(draw(made, OWN, template="wheel-sheet.typ", title="Any", paper="a4"))

    assert f"pack {seal(made)[:6]}" in page
