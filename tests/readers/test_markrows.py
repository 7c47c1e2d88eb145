"""Columns and rows of a table of marks."""

import datetime as dt

import pytest
from builders import KINDS

from routeprep.readers.markrows import mark_row, who_and_day
from routeprep.readers.times import NO_TIME_US


def row(**cells):
    """One row's columns and oddities."""
    return mark_row(cells, units={"height": "ft"}, kinds=KINDS, zone=dt.UTC, name="m.csv")


@pytest.mark.parametrize(
    ("cell", "height_m"),
    [("10", 3.048), ("10 ft", 3.048), ("3 m", 3.0), ("120in", 3.048), ("10'", 3.048),
     ("10 feet", 3.048), ("3.5", 1.0668), ("3,5", 1.0668)],
)  # fmt: skip
def test_a_cell_s_own_unit_goes_before_its_column_s(cell: str, height_m: float) -> None:
    """Lengths in their own or the column's unit."""
    assert row(height=cell).columns["height_m"] == pytest.approx(height_m)


@pytest.mark.parametrize("cell", ["high", "-3", "3 furlongs", "3 4", "nan", "1,240", "3 ft RT"])
def test_a_length_that_is_none_is_odd(cell: str) -> None:
    """It is not used, and it is kept."""
    made = row(height=cell)

    assert "height_m" not in made.columns
    assert made.columns["note"] == f"height: {cell}"
    assert len(made.odd) == 1


def test_an_empty_row_is_a_mark_without_words() -> None:
    """What was not said is unknown; the weakest method and the usual frame hold."""
    made = row()

    assert made.time_us == NO_TIME_US
    assert made.odd == ()
    assert (made.columns["words"], made.columns["method"]) == ("", "vehicle")
    assert made.columns["across_frame"] == "as driven"


def said(**cells):
    """What a row on foot says of its place."""
    made = row(**({"method": "wheeled", "said_station": "12+40"} | cells)).columns
    return made["said_station"], made["said_offset"], made.get("across", ""), made["across_frame"]


@pytest.mark.parametrize(
    ("cells", "offset", "across"),
    [
        ({"said_offset": "4 ft", "side": "RT"}, "4 ft RT", ""),
        ({"said_offset": "4 ft LT", "side": "RT"}, "4 ft LT", ""),
        ({"said_offset": "-4"}, "-4", ""),
        ({"offset_rt": "4"}, "4 RT", ""),
        ({"offset_lt": "6.5 ft"}, "6.5 ft LT", ""),
        ({"offset_lt": "6.5 ft LT"}, "6.5 ft LT", ""),
        ({"side": "left"}, "LT", ""),
        ({"side": "CL"}, "CL", ""),
        ({"side": "R", "across": "curb or edge"}, "RT", "curb or edge"),
        ({"side": "R", "said_station": ""}, "", "right side"),
        ({"side": "C", "said_station": ""}, "", "on the line"),
        ({"side": "R", "said_station": "", "said_offset": "3 m"}, "3 m RT", ""),
    ],
)
def test_offset_and_side_go_together(cells, offset, across) -> None:
    """In one cell, in columns for each side, or with a column of sides."""
    assert said(**cells)[1:3] == (offset, across)


def test_a_side_beside_a_position_is_kept_in_the_note() -> None:
    """Without a station there is one place for where across."""
    made = row(side="R", across="curb or edge").columns

    assert (made["across"], made["note"]) == ("curb or edge", "side: RT")


def test_two_offsets_are_said() -> None:
    """The one on the left is kept in the note."""
    made = row(offset_rt="4", offset_lt="5")

    assert made.columns["said_offset"] == "4 RT"
    assert made.columns["note"] == "offset_lt: 5"
    assert made.odd == ("offset_lt '5' stands beside the offset 4 RT",)


@pytest.mark.parametrize(
    ("cells", "station"),
    [
        ({}, "12+40"),
        ({"said_station": "", "from_station": "12+40", "to_station": "13+10"}, "12+40 to 13+10"),
        ({"said_station": "", "from_station": "12+40", "to_station": "12+40"}, "12+40"),
        ({"said_station": "", "to_station": "13+10"}, "13+10"),
    ],
)
def test_from_and_to_are_one_reach(cells, station) -> None:
    """A station of its own goes before them."""
    assert said(**cells)[0] == station


def test_a_person_on_foot_looks_up_station() -> None:
    """Unless something else is said, or there is no station."""
    assert said()[3] == "up-station"
    assert said(across_frame="as driven")[3] == "as driven"
    assert said(said_station="")[3] == said(method="vehicle")[3] == "as driven"


def test_leg_and_street_are_said_together() -> None:
    """Both must fit."""
    assert row(said_leg="A", street="Elm St").columns["said_leg"] == "A, Elm St"


def test_depths_go_into_the_note() -> None:
    """They change no status: that a person decides."""
    made = mark_row(
        {"lowered": "3", "depth": "4 in"},
        units={"lowered": "in"},
        kinds=KINDS,
        zone=dt.UTC,
        name="",
    )

    assert made.columns["note"] == "depth 4 in; lowered 3 in"


def test_a_day_without_a_time_stands_beside_the_person() -> None:
    """A date alone is no time."""
    assert row(by="R. Sample", date="2026-05-04").columns["by"] == "R. Sample, 2026-05-04"
    assert row(by="R. Sample", date="2026-05-04", time="2026-05-04T12:00Z").columns["by"] == (
        "R. Sample"
    )
    assert who_and_day("", "2026-05-04") == "2026-05-04"
