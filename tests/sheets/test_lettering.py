"""Widths of texts, never smaller than on paper."""

import json

import pypdf
import pytest
import typst
from hypothesis import given
from hypothesis import strategies as st

from routeprep.sheets.lettering import lines_of, text_pt
from routeprep.sheets.typesetting import _faces

# Asks the typesetter itself for a width: it becomes the width of the page.
ASK = b"""
#let data = json(bytes(sys.inputs.data))
#set text(font: "Source Sans Pro", fallback: false, number-type: "lining", number-width: "tabular")
#set page(width: auto, height: auto, margin: 0pt)
#text(data.size * 1pt, weight: data.weight, data.text)
"""


def typeset_pt(text, size_pt, *, bold, folder):
    """Width of a line as the typesetter makes it [pt]."""
    for name, content in _faces().items():
        (folder / name).write_bytes(content)
    fonts = typst.Fonts(
        include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(folder)]
    )
    data = {"text": text, "size": size_pt, "weight": "bold" if bold else "regular"}
    made = typst.Compiler(ASK, root=str(folder), font_paths=fonts).compile(
        format="pdf", sys_inputs={"data": json.dumps(data)}
    )
    path = folder / "asked.pdf"
    path.write_bytes(made)
    return float(pypdf.PdfReader(path).pages[0].mediabox.width)


@pytest.mark.parametrize("bold", [True, False])
@pytest.mark.parametrize("text", ["A-27", "GO AROUND", "SHALLOW UP TO 1.5 in", "B-114A ?", "WWW"])
def test_a_text_is_no_wider_on_paper_than_was_said(text, bold, tmp_path):
    """Against the typesetter, and not by more than a tenth too much."""
    on_paper = typeset_pt(text, 16.0, bold=bold, folder=tmp_path)

    assert on_paper <= text_pt(text, 16.0, bold=bold) <= 1.1 * on_paper + 1.0


def test_no_text_has_no_width_and_no_line():
    """Nothing in, nothing out."""
    assert text_pt("", 16.0) == 0.0
    assert lines_of("  ", 16.0, room_pt=80.0) == []


def test_lines_break_between_words():
    """As many words a line as fit."""
    assert lines_of("SHALLOW UP TO 1.5 in", 12.0, room_pt=84.0) == ["SHALLOW UP", "TO 1.5 in"]


@given(st.text(max_size=60), st.floats(10.0, 90.0))
def test_no_letter_is_lost_and_no_line_is_too_long(text, room_pt):
    """Law: the words without blanks are the same, and only a single character may stick out."""
    lines = lines_of(text, 12.0, room_pt=room_pt)

    assert "".join(text.split()) == "".join("".join(lines).split())
    assert all(text_pt(one, 12.0) <= room_pt or len(one) == 1 for one in lines)


def test_a_character_that_is_not_there_counts_as_a_box():
    """It is printed as one."""
    assert text_pt("\u5de5", 10.0) == pytest.approx(10.5)
