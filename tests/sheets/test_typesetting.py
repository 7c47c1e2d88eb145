"""Typesetting: data in, the same bytes out, nothing run and nothing silently lost."""

import datetime as dt

import pytest
import typst
from hypothesis import given
from hypothesis import strategies as st

from routeprep.errors import OutputError
from routeprep.sheets.typesetting import BOX, printable, typeset

DATE = dt.date(2026, 6, 1)
HEAD = b"""
#set document(title: "t")
#set text(font: "Source Sans Pro", fallback: false, lang: "en")
#let data = json(bytes(sys.inputs.data))
"""


@given(st.text())
def test_printable_text_stays_printable(text: str) -> None:
    """What was made printable once does not change again."""
    once, _ = printable(text)

    assert printable(once) == (once, {})


@given(st.text())
def test_every_box_is_counted(text: str) -> None:
    """Boxes are those typed and those that stand for a counted character."""
    shown, lacking = printable(text)

    assert str(shown).count(BOX) == text.count(BOX) + lacking.total()


@given(st.text(st.characters(min_codepoint=32, max_codepoint=126)))
def test_plain_text_is_kept(text: str) -> None:
    """ASCII prints as typed."""
    assert printable(text) == (text, {})


def test_texts_are_found_at_any_depth() -> None:
    """Lists and mappings keep their form, numbers their value."""
    shown, lacking = printable({"a": ["工", 1, None, {"b": ("x\n工", True)}]})

    assert shown == {"a": [BOX, 1, None, {"b": [f"x {BOX}", True]}]}
    assert lacking == {"工": 2}


@pytest.mark.parametrize(
    "character", ["\u202e", "\u200b", "\ud800", "\x00", "\x1b", "\ufeff", "\U0001f6a7"]
)
def test_what_cannot_be_seen_becomes_a_box(character: str) -> None:
    """Marks that hide, or turn the letters around them about, are made visible."""
    assert printable(f"a{character}b") == (f"a{BOX}b", {character: 1})


def test_letters_with_loose_accents_are_joined() -> None:
    """Some machines store an accent by itself; paper shows one letter."""
    assert printable("cafe\u0301") == ("caf\u00e9", {})


def test_any_printable_text_can_be_typeset() -> None:
    """Lone surrogates and control characters do not break the data on its way."""
    shown, _ = printable("".join(map(chr, range(0x3000))) + "\ud800")

    assert typeset(HEAD + b"#data.text", {"text": shown}, date=DATE).startswith(b"%PDF-")


def test_a_broken_template_is_our_error_with_the_diagnostic() -> None:
    """The typesetter's error is kept as cause, and its words as a fact."""
    with pytest.raises(OutputError, match=r"cannot be typeset: .*key \"nothing\"") as caught:
        typeset(HEAD + b"#data.nothing", {}, date=DATE)

    assert isinstance(caught.value.__cause__, typst.TypstError)
    assert "data.nothing" in str(caught.value.facts["diagnostic"])


def test_a_warning_is_an_error() -> None:
    """An unknown font would print nothing, so it is refused."""
    with pytest.raises(OutputError, match=r"warned: .*unknown font family: nowhere"):
        typeset(HEAD + b'#text(font: "Nowhere")[x]', {}, date=DATE)
