"""Headings of station lists: leg, street, who, when, how."""

import pytest
from builders import KINDS
from hypothesis import given
from hypothesis import strategies as st

from routeprep.readers.listheads import Said, heading_of

BEFORE = Said(leg="A", by="L. Other", day="2026-05-01", method="taped")


def head(text):
    """What holds after a line that nothing stood before."""
    return heading_of(text, Said(), KINDS)


@pytest.mark.parametrize(
    ("text", "leg"),
    [
        ("LEG A", "A"), ("Leg: B", "B"), ("leg B2", "B2"),
        ("LEG A, Bluestem Road", "A, Bluestem Road"),
        ("leg A (Bluestem Rd)", "A, Bluestem Rd"), ("Bluestem Road", "Bluestem Road"),
        ("5th St.", "5th St"), ("street: Bluestem", "Bluestem"), ("on: Ramp 2", "Ramp 2"),
        ("Bridge Road", "Bridge Road"), ("US 30", "US 30"), ("County Road 12", "County Road 12"),
    ],
)  # fmt: skip
def test_a_leg_or_street_is_said(text: str, leg: str) -> None:
    """By code, by a word before it, or by a name that ends as streets' names do."""
    assert head(text) == Said(leg=leg)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("wheeled by R. Sample, 2026-05-04",
         Said(method="wheeled", by="R. Sample", day="2026-05-04")),
        ("wheeled by R. Sample (invented), 2026-05-04",
         Said(method="wheeled", by="R. Sample (invented)", day="2026-05-04")),
        ("Walked on May 4, 2026 by R. Sample",
         Said(method="walked", by="R. Sample", day="2026-05-04")),
        ("taped", Said(method="taped")), ("on foot", Said(method="walked")),
        ("Method: measuring wheel", Said(method="wheeled")),
        ("by R. Sample & L. Other", Said(by="R. Sample & L. Other")),
        ("Who: R. Sample", Said(by="R. Sample")), ("Date: 2026-05-04", Said(day="2026-05-04")),
        ("2026-05-04", Said(day="2026-05-04")),
        ("tape, 5/4/2026", Said(method="taped", day="5/4/2026")),
    ],
)  # fmt: skip
def test_who_when_and_how_are_said(text: str, said: Said) -> None:
    """In one line or in several, in any of these orders."""
    assert head(text) == said


@pytest.mark.parametrize(
    "text",
    [
        "manhole", "side street Elm St", "MH by the church", "walked to the drain", "lunch",
        "taped by manhole cover", "Elm St from Oak Ave to Pine St", "loop", "call 555-0134",
        "by the way, the traffic was heavy at 8", "wheeled " * 30, "leg", "the road",
        "left lane", "",
    ],
)  # fmt: skip
def test_what_may_be_a_thing_is_no_heading(text: str) -> None:
    """It waits for a person to sort it."""
    assert head(text) is None


def test_what_was_said_before_holds_on() -> None:
    """Until it is said anew."""
    assert heading_of("Bluestem Road", BEFORE, KINDS) == Said(
        leg="Bluestem Road", by="L. Other", day="2026-05-01", method="taped"
    )
    assert heading_of("wheeled", BEFORE, KINDS) == Said(
        leg="A", by="L. Other", day="2026-05-01", method="wheeled"
    )


def test_what_holds_is_said_in_words() -> None:
    """For the finding that shows it."""
    assert BEFORE.words() == "leg or street A, taped, by L. Other, on 2026-05-01"
    assert Said().words() == "nothing"


@given(st.text(max_size=140))
def test_no_text_breaks_the_reading(text: str) -> None:
    """Any line is a heading or not."""
    assert heading_of(text, BEFORE, KINDS) is None or heading_of(text, BEFORE, KINDS) != Said()
