"""Bytes of text files to text, and what is said of their encoding."""

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routeprep.errors import ReadError
from routeprep.readers.encodings import any_text_of, text_of

TYPED = "12+40 MH près du café\n"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_unicode_is_read_without_a_word(encoding: str) -> None:
    """With or without its mark, and in either order of bytes."""
    assert any_text_of(TYPED.encode(encoding), name="l.txt") == (TYPED, "")


def test_an_older_encoding_is_read_and_said() -> None:
    """The accents of Windows-1252 arrive, and a person is asked to look at them."""
    text, said = any_text_of(TYPED.encode("cp1252"), name="l.txt")

    assert text == TYPED
    assert "was read as Windows-1252" in said


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"", r"l\.txt: is empty \(0 bytes\)"),
        (b" \r\n", "is empty"),
        (b"\xff\xfea", r"is not text in UTF-8, UTF-16 or Windows-1252 \(byte 2 is 0x61\)"),
        (b"12+40 \x81", r"\(byte 6 is 0x81\); save it again as UTF-8"),
        (b"\x89PNG\x1a\xc0", r"is not text .* \(character 4 is '\\x1a'\)"),
    ],
)
def test_what_is_no_text_is_refused(data: bytes, sentence: str) -> None:
    """One sentence, with the place."""
    with pytest.raises(ReadError, match=sentence):
        any_text_of(data, name="l.txt")


def test_tables_of_our_own_are_utf_8() -> None:
    """Nothing else is read there."""
    with pytest.raises(ReadError, match=r"is not text in UTF-8 \(byte 0 is 0xe9\)"):
        text_of("é".encode("latin-1"), name="t.csv")


def test_a_byte_order_mark_is_no_text() -> None:
    """The mark at the beginning is not part of the first name."""
    assert text_of(b"\xef\xbb\xbflat", name="t.csv") == "lat"


@given(st.binary(max_size=100))
def test_no_bytes_break_the_reading(data: bytes) -> None:
    """Any bytes are text or an error of ours."""
    with suppress(ReadError):
        assert isinstance(any_text_of(data, name="l.txt")[0], str)
