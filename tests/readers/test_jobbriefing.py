"""What only people know, from a job's TOML."""

import datetime as dt
import tomllib

import pytest

from routeprep.briefing import Briefing, Phone, Ticket, Tiles
from routeprep.readers.jobbriefing import read_briefing, read_tiles
from routeprep.readers.tomltable import TomlTable

WHOLE = """
where = "Elm St between Main and 3rd"
worst = ["A-12", "the corner at Oak Av"]
issued_to = "night crew"
night = true
phones = [
  { who = "J. Doe", number = "555-0100", why = "everything" },
  { who = "Gas", number = "9" },
]
tickets = [{ number = "T-1", expires = 2026-06-10 }, { number = "T-2" }]
"""


def table(text):
    """A table with its own list of faults."""
    return TomlTable(values=tomllib.loads(text), where="[briefing]", faults=[])


def faults(text, read=read_briefing):
    """What is said of a table."""
    made = table(text)
    read(made)
    return made.faults


def test_all_of_it_is_read():
    """Each as it was given."""
    made = table(WHOLE)

    assert read_briefing(made) == Briefing(
        where="Elm St between Main and 3rd",
        phones=(
            Phone(who="J. Doe", number="555-0100", why="everything"),
            Phone(who="Gas", number="9", why=""),
        ),
        tickets=(
            Ticket(number="T-1", expires=dt.date(2026, 6, 10)),
            Ticket(number="T-2", expires=None),
        ),
        worst=("A-12", "the corner at Oak Av"),
        issued_to="night crew",
        night=True,
    )
    assert made.faults == []


def test_nothing_given_is_a_briefing_to_write_in_by_hand():
    """All of it may be left out."""
    made = table("")

    assert read_briefing(made) == Briefing()
    assert made.faults == []


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("phone = []", "key 'phone' is not known; the nearest one is 'phones'"),
        ('night = "yes"', "night is 'yes'; expected true or false"),
        ("night = 1", "night is 1; expected true or false"),
        ("where = 5", "where is 5; expected a text in quotes"),
        ('worst = "A-12"', "worst is 'A-12'; expected a list of texts"),
        ('phones = [{ who = "Gas" }]', "number is missing"),
        ('phones = [{ number = "9" }]', "who is missing"),
        ('phones = [{ who = "Gas", number = 911 }]', "number is 911; expected a text in quotes"),
        ("tickets = [{ expires = 2026-06-10 }]", "number is missing"),
        (
            'tickets = [{ number = "T", expires = "2026-06-10" }]',
            "expires is '2026-06-10'; expected a date without quotes: 2026-06-10",
        ),
        (
            'tickets = [{ number = "T", expires = 2026-06-10T12:00:00 }]',
            "expected a date without quotes",
        ),
        ('tickets = [{ number = "T", expire = 2026-06-10 }]', "the nearest one is 'expires'"),
    ],
)
def test_what_does_not_fit_is_said(text, said):
    """With the value, and what was expected."""
    assert said in " ".join(faults(text))


def test_a_date_that_does_not_fit_is_taken_as_not_given():
    """It prints as a line to write on, never as a date that somebody guessed."""
    made = table('tickets = [{ number = "T", expires = "soon" }]')

    assert read_briefing(made).tickets == (Ticket(number="T", expires=None),)


def test_tiles_are_an_address_and_whom_to_name():
    """Both, or no tiles at all."""
    text = 'tiles = "https://tiles.example/{z}/{x}/{y}.png"\ncredit = "Example maps"'

    assert read_tiles(table(text)) == Tiles(
        address="https://tiles.example/{z}/{x}/{y}.png", credit="Example maps"
    )
    assert read_tiles(table("")) is None
    assert faults(text, read_tiles) == []


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('tiles = "https://a/{z}/{x}/{y}"', "credit is missing"),
        ('tiles = "http://a/{z}/{x}/{y}"\ncredit = "A"', "begins with https://"),
        ('tiles = "https://a/{z}/{x}"\ncredit = "A"', "holds {z}, {x} and {y}"),
        ('tile = "https://a"', "the nearest one is 'tiles'"),
    ],
)
def test_tiles_that_cannot_be_used_are_said(text, said):
    """With what was expected."""
    assert said in " ".join(faults(text, read_tiles))
