"""The words that the drive page offers are words that the office understands."""

import re

import pytest
from builders import KINDS

from routeprep.field.assets import assets
from routeprep.kinds import ACROSS, NO_THINGS

TEXT = assets()["drivekinds.js"].content.decode()
MARKS = assets()["marks.js"].content.decode()
USUAL = re.findall(
    r'\["([^"]+)", "([^"]+)"\]', TEXT.partition("USUAL = [")[2].partition("].map")[0]
)
OFFERED = re.findall(r'\["([^"]+)", "', TEXT.partition("ACROSS = [")[2].partition("];")[0])


@pytest.mark.parametrize(("name", "group"), USUAL)
def test_each_usual_kind_is_one_of_the_table(name, group):
    """By its own name, in its own group."""
    kind = KINDS.kinds[KINDS.understand(name).kind]

    assert (kind.name, kind.group) == (name, group)
    assert group not in NO_THINGS


def test_there_are_usual_kinds():
    """The pattern above finds them."""
    assert len(USUAL) >= 20


def test_each_where_across_is_offered_once():
    """All words that are stored, and no others."""
    assert sorted(OFFERED) == sorted(ACROSS)


@pytest.mark.parametrize(("words", "code"), [("begin", "PKB"), ("end", "PKE")])
def test_parked_cars_are_said_in_words_that_coverage_knows(words, code):
    """From here, to here."""
    assert f'"parked cars {words}"' in MARKS
    assert KINDS.understand(f"parked cars {words}").kind == code
