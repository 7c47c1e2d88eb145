"""What words say, with a lexicon of three phrases; the whole table is tried in test_kinds."""

import math

import pytest

from routeprep.sayings import Lexicon, phrase, understand
from routeprep.words import Role

LEXICON = Lexicon(
    phrases={
        ("manhole",): (Role.KIND, "MH"),
        ("manhole", "sanitary"): (Role.KIND, "SMH"),
        ("low", "wire"): (Role.KIND, "WIRE"),
        ("wire",): (Role.KIND, "WIRE"),
    },
    overhead=frozenset({"WIRE"}),
    longest=2,
)


def test_a_phrase_leaves_out_what_does_not_count() -> None:
    """Separators, brackets, articles, case and plain punctuation are no part of a phrase."""
    assert phrase("The Manhole - (SANITARY), a.") == ("manhole", "sanitary")


def test_a_phrase_keeps_what_counts() -> None:
    """Doubt, other signs and numbers are part of a phrase."""
    assert phrase("manhole? #4") == ("manhole", "?", "#", "4")


def test_the_longest_phrase_wins() -> None:
    """A longer phrase takes its words before a shorter one can."""
    assert understand("manhole sanitary at curb", LEXICON).kind == "SMH"


def test_phrases_do_not_reach_over_a_separator() -> None:
    """Unless the whole text is the phrase, a comma ends it."""
    saying = understand("manhole, sanitary, at curb", LEXICON)

    assert (saying.kind, saying.note) == ("MH", "sanitary")


@pytest.mark.parametrize(
    ("text", "size", "note"),
    [
        ("manhole 24 in", "24 in", ""),
        ("manhole 24 in dia", "24 in", "dia"),
        ("manhole 3 ft wide", "3 ft", "wide"),
        ("manhole 1 in low", "", "1 in low"),
        ("manhole proud 1 in", "", "proud 1 in"),
        ("manhole, 24 in from the curb", "", "24 in from the curb"),
        ("wire 14 ft wide", "14 ft", "wide"),
        ("wire 8 in", "8 in", ""),
        ("wire 2 ft sunken", "", "2 ft sunken"),
    ],
)
def test_a_measure_is_what_its_neighbours_say(text: str, size: str, note: str) -> None:
    """Beside a level word it is a remark, beside a width a size; in a note it is not taken."""
    saying = understand(text, LEXICON)

    assert (size, note) == (saying.size, saying.note)
    assert math.isnan(saying.height_m)


@pytest.mark.parametrize(
    ("text", "height_by"),
    [
        ("wire 14 ft", "guess"),
        ("wire 14 ft high", "guess"),
        ("wire 14 ft posted", "posted"),
        ("posted 14 ft: wire", "posted"),
        ("wire, taped, 14 ft clearance", "measured"),
        ("wire 14 ft estimated", "guess"),
        ("wire about 14 ft posted", "guess"),
        ("wire 14 ft posted measured", "guess"),
    ],
)
def test_a_height_is_a_guess_unless_said(text: str, height_by: str) -> None:
    """Posted or measured counts only when nothing makes it less."""
    saying = understand(text, LEXICON)

    assert (pytest.approx(4.2672), height_by) == (saying.height_m, saying.height_by)


@pytest.mark.parametrize(
    ("text", "note"),
    [
        ("old manhole, broken", "old, broken"),
        ("old, broken manhole", "old, broken"),
        ("manhole, Lid  RATTLES;\tsince May", "Lid  RATTLES;\tsince May"),
        ("manhole, rattles, OWP, 10:30", "rattles, 10:30"),
        ("manhole (rattles, a lot)", "(rattles, a lot)"),
        ("(old) manhole", "old"),
        ("manhole, ...", ""),
        ("manhole right side OWP", "OWP"),
    ],
)
def test_a_note_is_as_typed(text: str, note: str) -> None:
    """Modifiers, and what follows and is not understood, stand in the note as typed."""
    assert note == understand(text, LEXICON).note


def test_a_side_in_a_note_is_not_taken() -> None:
    """Only what is understood as a whole says where across."""
    saying = understand("manhole OWP, one more on the other side", LEXICON)

    assert (saying.across, saying.note) == ("outer wheel path", "one more on the other side")


def test_a_long_reason_is_cut() -> None:
    """The reason quotes no more than a line."""
    saying = understand("manhole " + "and so forth " * 50, LEXICON)

    assert saying.why.endswith('…" is not understood')
    assert len(saying.why) < 100
