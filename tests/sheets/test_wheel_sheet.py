"""The wheel sheet: feet from a physical thing, and no plan station painted from anything else."""

from dataclasses import replace

import pytest
from sheets.made_packs import leg, pack, thing
from sheets.pdf_text import pages_of
from test_wheeling import tie

from routeprep.errors import OutputError
from routeprep.lines import Stationing
from routeprep.sheets import wheel_sheet
from routeprep.units import STATION_UNITS


def tied(*ties, **changes):
    """A pack of one leg with ties."""
    road = replace(leg("A", length_m=400.0), ties=ties)
    return pack([thing("A-1", 90.0, size="24 in"), thing("A-2", 210.0)], legs=(road,), **changes)


def test_feet_number_station_and_what_stand_in_a_row():
    """At 90 m, back from a tie at 100 m: 33 ft on the wheel."""
    text = " ".join(pages_of(wheel_sheet.render(tied(tie(100.0, "13+28.1")))))

    assert "From a bridge joint (13+28.1): BACK, stations count down" in text
    assert "33 A-1 12+95 sewer manhole 24 in" in text


def test_plan_stations_are_offered_for_paint_from_a_plan_tie():
    """From a plan tie a round station reads PAINT."""
    text = " ".join(pages_of(wheel_sheet.render(tied(tie(100.0, "13+28.1")))))

    assert "PAINT 14+00" in text
    assert "NOT A PLAN TIE" not in text


def test_no_plan_station_is_painted_from_a_wheel_tie():
    """From anything else the sheet says so at the head and on each station."""
    text = " ".join(pages_of(wheel_sheet.render(tied(tie(100.0, "13+28.1", kind="wheel")))))

    assert "NOT A PLAN TIE: PAINT NO PLAN STATIONS FROM IT" in text
    assert "14+00: do not paint" in text
    assert "PAINT 14+00" not in text


def test_the_wheel_is_checked_at_the_next_tie():
    """The walk ahead ends at the next tie with what the wheel must read there."""
    text = " ".join(
        pages_of(wheel_sheet.render(tied(tie(100.0, "13+28"), tie(300.0, "19+84", by="joint 2"))))
    )

    assert "656 CHECK THE WHEEL: 19+84.3, joint 2" in text


def test_where_stations_and_line_differ_both_are_at_the_next_tie():
    """650 ft of stations on 656 ft of line between two ties: find it, do not spread it."""
    known = (tie(100.0, "13+28"), tie(300.0, "19+78", by="joint 2"))
    counting = Stationing(
        unit=STATION_UNITS["100 ft"], zero="", known_m=(100.0, 300.0), known_value=(1328.0, 1978.0)
    )
    road = replace(leg("A", length_m=400.0), ties=known, stationing=counting)
    text = " ".join(pages_of(wheel_sheet.render(pack([], legs=(road,)))))

    assert "650 CHECK THE WHEEL: 19+78.0, joint 2; 656 by its place on the line" in text


def test_a_leg_without_a_physical_thing_says_what_is_missing():
    """Nothing to wheel from is said, not left blank."""
    text = " ".join(pages_of(wheel_sheet.render(tied())))

    assert "nothing to wheel from" in text


def test_every_page_carries_draft_and_caution():
    """A draft says so on every page, and every page says that paint decides."""
    pages = pages_of(wheel_sheet.render(pack()))

    assert len(pages) > 1
    assert all("DRAFT, NOT FOR CUTTING" in page for page in pages)
    assert all("the paint tells the operator where" in page for page in pages)


def test_the_same_pack_gives_the_same_bytes():
    """Metric and A4, twice."""
    made = tied(tie(100.0, "13+28"), units="metric")

    assert wheel_sheet.render(made, paper="a4") == wheel_sheet.render(made, paper="a4")


def test_another_paper_is_refused():
    """A paper that the sheet is not made for is named."""
    with pytest.raises(OutputError, match="paper 'legal'"):
        wheel_sheet.render(pack(), paper="legal")


def test_what_the_typeface_lacks_is_listed():
    """A name with a character of another script prints a box and its number."""
    text = " ".join(pages_of(wheel_sheet.render(tied(tie(100.0, "13+28", by="joint 工")))))

    assert "U+5DE5" in text
