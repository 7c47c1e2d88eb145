"""The bits of a text: words, measures, separators, and where they stood."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routeprep.kinds import ACROSS
from routeprep.words import BESIDE_MEASURES, OWN_PHRASES, Role, bits_of, measured


def values(text: str) -> list[str]:
    """What the bits of a text hold."""
    return [bit.value for bit in bits_of(text)]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", []),
        ("The  MANHOLE", ["manhole"]),
        ("\uff2d\uff28", ["mh"]),
        ("Mañhole", ["manhole"]),
        ("man\u200bhole\ufeff", ["manhole"]),
        ("MH\x00\tOWP", ["mh", "owp"]),
        ("M.H. isn't", ["mh", "isnt"]),
        ("utility-pole_drop/off!", ["utility", "pole", "drop", "off"]),
        ("a & b @ c", ["and", "b", "at", "c"]),
        ("MH - low", ["mh", "-", "low"]),
        ("MH—low\nx", ["mh", ";", "low", "\n", "x"]),
        ("MH#4?", ["mh", "#", "4", "?"]),
        ("=(😀)", ["=", "(", "😀", ")"]),
        ("e\u0336", ["e", "\u0336"]),
        ("1,234,567 in", ["1,234,567", "in"]),
        ("12345 in", ["12345", "in"]),
        ("24 in the lane", ["24", "in", "lane"]),
    ],
)
def test_texts_fall_into_bits(text: str, expected: list[str]) -> None:
    """Case, width, accents, articles and plain punctuation do not count; other signs do."""
    assert expected == values(text)


@pytest.mark.parametrize(
    ("text", "size", "height_m"),
    [
        ("24 in", "24 in", math.nan),
        ("24-inch", "24 in", math.nan),
        ("24\u201d", "24 in", math.nan),
        ("24''", "24 in", math.nan),
        ("600mm", "600 mm", math.nan),
        ("45 cm", "45 cm", math.nan),
        ("2x3 ft", "2x3 ft", math.nan),
        ("2 by 3 ft", "2x3 ft", math.nan),
        ("2' \xd7 3'", "2x3 ft", math.nan),
        ("2 ft x 30 in", "2 ft x 30 in", math.nan),
        ("14 ft", "14 ft", 4.2672),
        ("14 ft 6 in", "14 ft 6 in", 4.4196),
        ("14'6", "14 ft 6 in", 4.4196),
        ("14\u2019-6\u201d", "14 ft 6 in", 4.4196),
        ("14' - 6\"", "14 ft 6 in", 4.4196),
        ("4.3 metres", "4.3 m", 4.3),
        ("4,3 m", "4,3 m", 4.3),
        ("4,300 m", "", math.nan),
        ("14,5 ft", "", math.nan),
        ("14 ft 12 in", "", math.nan),
        ("0 ft", "", math.nan),
        ("0 ft 0 in", "", math.nan),
    ],
)
def test_measures_are_read(text: str, size: str, height_m: float) -> None:
    """One bit a measure, as a size and, in feet or metres, as a height."""
    (bit,) = bits_of(text)

    assert bit.role == Role.MEASURE
    assert (size, pytest.approx(height_m, abs=1e-9, nan_ok=True)) == measured(bit.value)


@given(st.text())
def test_bits_stand_in_order_in_the_text(text: str) -> None:
    """Each bit starts and ends inside the text, at or after the one before it."""
    bits = list(bits_of(text))

    assert all(0 <= bit.start < bit.end <= len(text) for bit in bits)
    assert sorted(bit.start for bit in bits) == [bit.start for bit in bits]


@given(st.text())
def test_measures_never_fail(text: str) -> None:
    """What is taken for a measure can be read as one, and is finite or not known."""
    for bit in bits_of(f"14' {text} 6 in"):
        if bit.role == Role.MEASURE:
            assert not math.isinf(measured(bit.value)[1])


def test_across_phrases_are_those_that_are_stored() -> None:
    """Every place across can be said, in its own words at least, and no other comes out."""
    across = {value for role, value in OWN_PHRASES.values() if role == Role.ACROSS}

    assert set(ACROSS) == across
    assert all(OWN_PHRASES[_phrase(value)] == (Role.ACROSS, value) for value in ACROSS)


def _phrase(text: str) -> tuple[str, ...]:
    return tuple(values(text))


def test_words_beside_measures_are_modifiers() -> None:
    """What tells about a measure is kept as a note where there is none."""
    words = [word for group in BESIDE_MEASURES.values() for word in group]

    assert {OWN_PHRASES[(word,)][0] for word in words} == {Role.NOTE}
