"""CSV text: encodings, delimiters, row numbers."""

import math
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routeprep.errors import ReadError
from routeprep.readers.csvtext import degrees, plain, read_sheet, text_of


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_delimiter_mark_and_line_ending_do_not_matter(
    delimiter: str, mark: bytes, ending: str
) -> None:
    """The same table, however a spreadsheet saved it."""
    text = ending.join([delimiter.join(row) for row in (("lat", "note"), ("41.43", "a b"))])
    sheet = read_sheet(mark + text.encode(), name="marks.csv")

    assert sheet.header == ("lat", "note")
    assert sheet.rows == ((2, ("41.43", "a b")),)


def test_rows_are_numbered_as_a_spreadsheet_does() -> None:
    """Empty rows count, are left out, and short rows are filled up."""
    sheet = read_sheet(b'a,b\n1,2\n,\n\n"x\ny"\n', name="t.csv")

    assert sheet.rows == ((2, ("1", "2")), (5, ("x\ny", "")))


def test_cells_beyond_the_header_are_kept() -> None:
    """A row that is too wide is for the caller to judge."""
    assert read_sheet(b"a,b\n1,2,3\n", name="t.csv").rows == ((2, ("1", "2", "3")),)


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"", r"t\.csv: is empty \(0 bytes\)"),
        (b" \n ", "is empty"),
        ("é".encode("latin-1"), "is not text in UTF-8 \\(byte 0 is 0xe9\\)"),
        ("a,b".encode("utf-16"), "is not text in UTF-8"),
        (b",,\n,,", "has no header"),
        (b"a\n" + b'"' + b"x" * 200_000 + b'"', "is not CSV that can be read"),
    ],
)
def test_what_is_no_csv_is_refused(data: bytes, sentence: str) -> None:
    """One sentence each, naming the file."""
    with pytest.raises(ReadError, match=sentence):
        read_sheet(data, name="t.csv")


def test_a_byte_order_mark_is_no_text() -> None:
    """The mark at the beginning is not part of the first name."""
    assert text_of(b"\xef\xbb\xbflat", name="t.csv") == "lat"


@pytest.mark.parametrize(
    ("column", "name"),
    [("Height (ft)", "height_ft"), ("  LAT ", "lat"), ("time-UTC", "time_utc"), ("##", "")],
)
def test_names_are_compared_plain(column: str, name: str) -> None:
    """Case and punctuation do not count."""
    assert plain(column) == name


@pytest.mark.parametrize(("cell", "value"), [("41.5", 41.5), ("41,5", 41.5), (" -1 ", -1.0)])
def test_degrees_are_read_with_either_decimal_sign(cell: str, value: float) -> None:
    """A decimal comma is what many countries write."""
    assert degrees(cell) == value


@pytest.mark.parametrize("cell", ["", "north", "1,234,5", "41 43"])
def test_what_is_no_number_of_degrees_is_none(cell: str) -> None:
    """NaN, never a guess."""
    assert math.isnan(degrees(cell))


@given(st.binary(max_size=100))
def test_no_bytes_break_the_reading(data: bytes) -> None:
    """Any bytes are a table or an error of ours."""
    with suppress(ReadError):
        sheet = read_sheet(data, name="t.csv")

        assert all(len(cells) >= len(sheet.header) for _, cells in sheet.rows)
