"""Columns and rows of a table of marks."""

import pytest
from builders import KINDS

from routeprep.errors import ReadError
from routeprep.readers.markrows import columns_of, mark_row
from routeprep.readers.times import NO_TIME_US


def row(**cells):
    """One row's columns and oddities."""
    return mark_row(cells, units={"height": "ft"}, kinds=KINDS, name="m.csv")


def test_units_at_the_end_of_names_are_read() -> None:
    """Only columns that are measured carry a unit."""
    columns = columns_of(("Height (ft)", "accuracy_m", "size", "note_ft"), name="m.csv")

    assert columns.units == {"height": "ft", "accuracy": "m"}
    assert columns.place == {"height": 0, "accuracy": 1, "size": 2}
    assert columns.unknown == ("note_ft",)


def test_two_columns_for_one_thing_are_refused() -> None:
    """Which one counts is not guessed."""
    with pytest.raises(ReadError, match="'height_ft' and 'height_m' both say height"):
        columns_of(("height_ft", "height_m"), name="m.csv")


@pytest.mark.parametrize(
    ("cell", "height_m"),
    [("10", 3.048), ("10 ft", 3.048), ("3 m", 3.0), ("120in", 3.048), ("10'", 3.048),
     ("10 feet", 3.048), ("3.5", 1.0668)],
)  # fmt: skip
def test_a_cell_s_own_unit_goes_before_its_column_s(cell: str, height_m: float) -> None:
    """Lengths in their own or the column's unit."""
    assert row(height=cell).columns["height_m"] == pytest.approx(height_m)


@pytest.mark.parametrize("cell", ["high", "-3", "3 furlongs", "3 4", "nan"])
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
