"""Names of columns with units and plain words around them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routeprep.errors import ReadError
from routeprep.readers.csvtext import Sheet
from routeprep.readers.headings import LENGTHS, Wanted, columns_of, first_rows
from routeprep.readers.markrows import COLUMNS
from routeprep.units import FACTORS_M

SPEED = Wanted({"speed": "speed", "time": "time"}, {"speed": {"km_h": "km/h", "mph": "mph"}})


@pytest.mark.parametrize(
    ("column", "meant"),
    [
        ("Sta.", ("said_station", "")), ("STA", ("said_station", "")),
        ("Station (ft)", ("said_station", "ft")), ("Off RT ft", ("offset_rt", "ft")),
        ("Offset (ft RT)", ("offset_rt", "ft")), ("Offset [m] LT", ("offset_lt", "m")),
        ("GPS Lat", ("lat", "")), ("Latitude (WGS84)", ("lat", "")), ("Lon (deg)", ("lon", "")),
        ("Longitude, decimal degrees", ("lon", "")), ("Depth below in", ("depth", "in")),
        ("Height (feet)", ("height", "ft")), ("Date", ("date", "")), ("Walked by", ("by", "")),
        ("Leg", ("said_leg", "")), ("Street name", ("street", "")), ("RT/LT", ("side", "")),
        ("note_ft", ("", "")), ("colour", ("", "")), ("ft", ("", "")), ("", ("", "")),
    ],
)  # fmt: skip
def test_names_are_understood_with_what_stands_around_them(
    column: str, meant: tuple[str, str]
) -> None:
    """Units anywhere in the name, and words that change nothing."""
    assert COLUMNS.meant(column) == meant
    assert COLUMNS.known()(column) is bool(meant[0])


def test_a_unit_of_two_words_is_one() -> None:
    """Speed km/h."""
    assert SPEED.meant("Speed (km/h)") == ("speed", "km/h")


def test_columns_have_places_units_and_the_rest() -> None:
    """What is not understood is listed; columns without a name are not."""
    columns = columns_of(("Speed mph", "", "time", "colour"), SPEED, name="t.csv")

    assert (columns.place, columns.units) == ({"speed": 0, "time": 2}, {"speed": "mph"})
    assert columns.unknown == ("colour",)


def test_two_columns_for_one_thing_are_refused() -> None:
    """Which one counts is not guessed."""
    with pytest.raises(ReadError, match="'height_ft' and 'height_m' both say height"):
        columns_of(("height_ft", "height_m"), COLUMNS, name="m.csv")


def test_first_rows_are_shown_cut_off() -> None:
    """Three of them, each no longer than a line."""
    rows = tuple((row, ("x" * 300,)) for row in range(2, 9))
    shown = first_rows(Sheet(("a",), rows))

    assert shown.startswith("'a' (first rows: xxx")
    assert shown.count("//") == 2
    assert len(shown) < 400
    assert first_rows(Sheet(("a",), ())) == "'a' (first rows: none)"


@given(st.sampled_from(sorted(LENGTHS)), st.sampled_from(["Height", "Offset", "Size"]))
def test_every_unit_of_length_is_known_by_its_names(unit: str, column: str) -> None:
    """Written in brackets behind a name."""
    field, found = COLUMNS.meant(f"{column} ({unit})")

    assert field
    assert found in {*FACTORS_M, ""}


@given(st.text(max_size=30))
def test_no_name_breaks_the_reading(column: str) -> None:
    """Any text is understood or not."""
    assert len(COLUMNS.meant(column)) == 2
