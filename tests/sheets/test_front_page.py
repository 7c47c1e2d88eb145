"""What the cover shows of what was poorly looked at, of sight, and of files left out."""

import datetime as dt
from dataclasses import replace

import pytest
from sheets.made_packs import pack, rows
from sheets.surveyed_pack import surveyed_pack, tied_leg

from routeprep import tables
from routeprep.briefing import Briefing, Phone, Ticket
from routeprep.shapes import Issued, Source
from routeprep.sheets.front_page import front_page


def shown(made):
    """The cover of a pack."""
    return front_page(made, {one.settings.code: rows(made, one.settings.code) for one in made.legs})


def poor(*lengths_m):
    """Stretches end to end that nobody drove, parted by good ones of 1 m."""
    at_m, found = 0.0, []
    for length_m in lengths_m:
        ends_m = (at_m, at_m + length_m, at_m + length_m + 1.0)
        found += [
            {"leg": "A", "from_m": ends_m[0], "to_m": ends_m[1], "reason": "not driven"},
            {"leg": "A", "from_m": ends_m[1], "to_m": ends_m[2]},
        ]
        at_m += length_m + 1.0
    none = {"looks_up": 0, "looks_down": 0, "looks_day": 0, "looks_night": 0}
    return tables.table(tables.COVERAGE, [one | none for one in found])


def test_what_was_poorly_looked_at_stands_on_the_cover():
    """Leg, stations and why, and how much of the cut it is."""
    found = shown(surveyed_pack())["poor"]

    assert found["title"] == "2,790 ft of 5,575 ft"
    assert found["rows"][0] == ["A", "16+60 to 21+50", "driven once; only at night"]
    assert len(found["rows"]) == 3
    assert found["more"] == ""


def test_a_long_list_keeps_the_longest_and_says_how_many_more():
    """Six stand on the cover in the order along; the shorter ones are on the back pages."""
    made = replace(pack(), coverage=poor(60, 10, 70, 80, 20, 90, 100, 110))
    found = shown(made)["poor"]

    assert len(found["rows"]) == 6
    assert "10+00 to 11+95" in found["rows"][0][1]
    assert found["more"] == "and 2 more stretches, all shorter, on the back pages"
    assert [row[1] for row in found["rows"]] == sorted(row[1] for row in found["rows"])


def test_places_to_look_at_come_with_their_caution():
    """That it is a hint, and that nothing is said of crests."""
    found = shown(surveyed_pack())["sight"]

    assert found["rows"][0][:5] == [
        "A",
        "17+00 to 19+00",
        "stations counting up",
        "210 ft",
        "250 ft",
    ]
    assert "A hint, no design check" in found["caution"]
    assert "Sight over crests is not judged" in found["caution"]


def test_many_places_to_look_at_are_cut():
    """Six, and how many more."""
    road = tied_leg()
    made = pack([], legs=(replace(road, sight=road.sight * 4),), withdrawn=())

    assert shown(made)["sight"]["more"] == "and 2 more places on the back pages"


def test_files_set_aside_are_named_on_the_cover():
    """By name; the rest of many on the back pages."""
    made = surveyed_pack()
    many = tuple(
        Source(name=f"{no}.gpx", what="set aside", sha256="0" * 64, taken={}, skipped={})
        for no in range(9)
    )

    assert shown(made)["aside"] == {"rows": [["drives/bad.gpx"]], "more": ""}
    assert shown(replace(made, sources=many))["aside"]["more"] == (
        "and 3 more files on the back pages"
    )


@pytest.mark.parametrize("name", ["poor", "sight", "aside"])
def test_a_job_without_any_shows_none(name):
    """Empty ones print nothing."""
    assert shown(pack())[name]["rows"] == []


def calls(**changes):
    """What the cover says of calls, for a job that says these things."""
    made = pack()
    briefing = Briefing(**changes)
    return shown(replace(made, settings=replace(made.settings, briefing=briefing)))["calls"]


def blanks(found):
    """The lines to write on, with a gap for each blank."""
    return ["____".join(parts) for parts in found["write_in"]]


def test_what_the_job_does_not_say_is_written_in_by_hand():
    """A line for each of it."""
    assert blanks(calls()) == [
        "Emergency: we are at ____ nearest cross street ____",
        "Superintendent ____ phone ____",
        "Utility to call ____ phone ____",
        "One-call ticket ____ expires ____",
        "One-call ticket ____ expires ____",
    ]


def test_what_the_job_says_needs_no_line():
    """Only what is missing has one."""
    found = calls(
        where="Elm St at 3rd",
        phones=(Phone(who="J. Doe", number="555-0100", why=""),),
        tickets=(Ticket(number="T-1", expires=dt.date(2026, 6, 15)),),
    )

    assert found["where"] == "Elm St at 3rd"
    assert found["phones"] == [["J. Doe", "555-0100", ""]]
    assert blanks(found) == []


@pytest.mark.parametrize(
    ("expires", "night", "text", "loud"),
    [
        (dt.date(2026, 6, 15), False, "One-call ticket T-1 expires MON 15 JUN 2026", False),
        (dt.date(2026, 6, 1), False, "One-call ticket T-1 expires MON 1 JUN 2026", False),
        (
            dt.date(2026, 6, 1),
            True,
            "One-call ticket T-1 EXPIRES MON 1 JUN 2026, DURING THIS SHIFT: CALL FOR A NEW ONE",
            True,
        ),
        (
            dt.date(2026, 5, 31),
            False,
            "One-call ticket T-1 EXPIRED SUN 31 MAY 2026: NOT VALID, CALL FOR A NEW ONE",
            True,
        ),
    ],
)
def test_a_ticket_that_does_not_last_is_said_loudly(expires, night, text, loud):
    """The pack is for 1 June; a night of that date ends on the 2nd."""
    (ticket,) = calls(tickets=(Ticket(number="T-1", expires=expires),), night=night)["tickets"]

    assert (ticket["text"], ticket["loud"]) == (text, loud)


def test_a_ticket_without_expiry_has_a_line_for_it():
    """Nobody takes it for one that does not expire."""
    (ticket,) = calls(tickets=(Ticket(number="T-1", expires=None),))["tickets"]

    assert ticket["blank"] == ["One-call ticket T-1 expires ", ""]
    assert ticket["text"] == ""


def test_the_worst_places_say_what_is_there():
    """A number of the list is told in full, other words stand as given, a wrong number is said."""
    made = pack()
    briefing = Briefing(worst=("A-3", "the  corner at Oak Av", "A-99"))
    found = shown(replace(made, settings=replace(made.settings, briefing=briefing)))["worst"]

    assert found == [
        "A-3 12+00 steel plate 24 in, right, outer wheel path: STOP",
        "the corner at Oak Av",
        "A-99 (not on this list)",
    ]


@pytest.mark.parametrize(
    ("issued", "said"),
    [
        ("", "REVISION C. Tear up any sheet of this job that bears another letter."),
        ("B", "REVISION C. TEAR UP REVISION B, every page of it."),
        ("C", "REVISION C WAS ISSUED ALREADY: give this one a new letter."),
    ],
)
def test_the_revision_before_is_torn_up(issued, said):
    """By its letter where it is known."""
    before = Issued(revision=issued, rows=tables.table(tables.ISSUED, [])) if issued else None

    assert shown(replace(pack(), issued=before))["revision"] == said
