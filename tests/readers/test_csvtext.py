"""CSV text: encodings, delimiters, row numbers."""

import math
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routeprep.errors import ReadError
from routeprep.readers.csvtext import degrees, number, plain, read_sheet, read_spreadsheet


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


def spreadsheet(text, encoding="utf-8"):
    """A sheet whose columns are called lat, lon and what."""
    known = {"lat", "lon", "what"}.__contains__
    return read_spreadsheet(text.encode(encoding), name="t.csv", known=known)


def test_titles_above_the_header_are_told_apart() -> None:
    """The first row with most names of columns is the header; rows keep their numbers."""
    sheet = spreadsheet("Marks, second night;;\n\nwhat\nlat;lon;what\n1;2;MH\nlat;lon;what\n")

    assert sheet.above == ("Marks, second night", "what")
    assert sheet.header == ("lat", "lon", "what")
    assert sheet.rows == ((5, ("1", "2", "MH")), (6, ("lat", "lon", "what")))


def test_without_a_known_name_the_first_row_is_the_header() -> None:
    """What is missing is for the reader to say."""
    assert spreadsheet("a,b\n1,2\n").header == ("a", "b")


@pytest.mark.parametrize("first", ["sep=;\n", '"sep=;"\r\n', "SEP=;\r"])
def test_a_line_that_says_the_delimiter_is_no_row(first: str) -> None:
    """It is obeyed even where commas are more."""
    sheet = spreadsheet(first + "lat;lon\n1,0,0;2,0,0\n")

    assert sheet.header == ("lat", "lon")
    assert sheet.rows == ((2, ("1,0,0", "2,0,0")),)


def test_decimal_commas_do_not_pass_for_delimiters() -> None:
    """Most rows agree on the semicolon."""
    sheet = spreadsheet("lat;lon;what\n41,43;-100,87;MH\n41,44;-100,88;WV\n")

    assert [cells[0] for _, cells in sheet.rows] == ["41,43", "41,44"]


@pytest.mark.parametrize(("encoding", "said"), [("utf-16", ""), ("cp1252", "Windows-1252")])
def test_spreadsheets_come_in_older_encodings(encoding: str, said: str) -> None:
    """What had to be taken for granted is said."""
    sheet = spreadsheet("lat\tlon\twhat\n1\t2\tcafé\n", encoding)

    assert sheet.rows[0][1][2] == "café"
    assert said in sheet.odd
    assert bool(said) == bool(sheet.odd)


def test_quotes_that_never_end_tell_no_delimiter() -> None:
    """A cell of more than the library takes is refused by the reader, not while guessing."""
    with pytest.raises(ReadError, match="is not CSV that can be read"):
        spreadsheet('lat;lon\n"' + "x" * 200_000)


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


@pytest.mark.parametrize(
    ("cell", "value"),
    [
        ("12", 12.0), ("-0.5", -0.5), ("\u22123", -3.0), (" 7 ", 7.0), ("1e-05", 1e-05),
        (".5", 0.5),
        ("0,5", 0.5), ("0,125", 0.125), ("1234,567", 1234.567), ("3,1416", 3.1416),
        ("1,240.5", 1240.5), ("1.240,5", 1240.5), ("1,240,000", 1.24e6), ("1.240.000", 1.24e6),
        ("1 240,5", 1240.5), ("1'240.5", 1240.5), ("1\u202f240", 1240.0),
        ("1,240,000.5", 1240000.5),
    ],
)  # fmt: skip
def test_numbers_of_many_countries_are_read(cell: str, value: float) -> None:
    """Where it can be one number only."""
    assert number(cell) == value


@pytest.mark.parametrize("cell", ["", "1,240", "12 ft", "nan", "inf", "9" * 400, "1,2,3", "1.2.3"])
def test_a_number_that_may_be_two_is_none(cell: str) -> None:
    """1,240 may be a thousand or one and a quarter."""
    assert math.isnan(number(cell))


@given(st.floats(0.0, 999_999.0).map(lambda value: round(value, 2)))
def test_a_number_written_with_thousands_comes_back(value: float) -> None:
    """In the ways of two continents."""
    text = f"{value:,.2f}"
    turned = text.translate(str.maketrans(",.", ".,"))

    assert (number(text), number(turned)) == (value, value)


@given(st.binary(max_size=100))
def test_no_bytes_break_the_reading(data: bytes) -> None:
    """Any bytes are a table or an error of ours."""
    with suppress(ReadError):
        sheet = read_sheet(data, name="t.csv")

        assert all(len(cells) >= len(sheet.header) for _, cells in sheet.rows)
