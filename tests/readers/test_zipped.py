"""Zips of other files: what is unpacked, and every way in which one is refused."""

import io
import stat
import struct
import warnings
import zipfile
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routeprep.errors import ReadError
from routeprep.readers.zipped import member_of, names_in, unpack


def packed(*files, method=zipfile.ZIP_DEFLATED):
    """A zip of names, or entries, and contents."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", method) as archive, warnings.catch_warnings():
        warnings.simplefilter("ignore")  # two of one name
        for name, data in files:
            # Of a day of its own, since each process that collects the tests makes it anew.
            entry = zipfile.ZipInfo(name) if isinstance(name, str) else name
            entry.compress_type = method
            archive.writestr(entry, data)
    return out.getvalue()


def link(name):
    """An entry that is a symbolic link."""
    entry = zipfile.ZipInfo(name)
    entry.create_system = 3
    entry.external_attr = (stat.S_IFLNK | 0o777) << 16
    return entry


def with_flags(data, flags):
    """The zip with other flags in both headers of its one file."""
    at = data.index(b"PK\x01\x02")
    patched = bytearray(data)
    struct.pack_into("<H", patched, 6, flags)
    struct.pack_into("<H", patched, at + 8, flags)
    return bytes(patched)


def test_files_come_by_name_without_what_systems_add() -> None:
    """Folders are no files; resource forks and hidden files are counted and left out."""
    data = packed(
        ("b/x.gpx", b"2"), ("a.csv", b"1"), ("b/", b""), ("__MACOSX/._a.csv", b"?"),
        (".DS_Store", b"?"), ("b/.hidden/c.csv", b"?"),
    )  # fmt: skip
    read = unpack(data, name="log.zip")

    assert read.files == (("a.csv", b"1"), ("b/x.gpx", b"2"))
    assert read.hidden == 3
    assert names_in(data, name="log.zip") == ("a.csv", "b/x.gpx")
    assert member_of(data, "b/x.gpx", name="log.zip") == b"2"


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (packed(("/etc/x", b"")), r"'/etc/x' leads out of its folder; pack it again"),
        (packed(("a/../../x", b"")), "leads out of its folder"),
        (packed(("C:x", b"")), "leads out of its folder"),
        (packed(("a\\..\\x", b"")), "leads out of its folder"),
        (packed(("abcd", b"1")).replace(b"abcd", b"\0bcd"), "'' has no name"),
        (packed((link("a.gpx"), b"/etc/passwd")), "'a.gpx' is a link to another file"),
        (packed(("a", b"1"), ("a", b"2")), "'a' stands in it twice"),
        (packed(("a", b"1" * 99), method=zipfile.ZIP_LZMA), "is packed by method 14"),
        (with_flags(packed(("a", b"1")), 1), "'a' is encrypted"),
        (packed(("/a", b""), ("/b", b"")), r"\(and 1 more such\)"),
        (packed(*((str(i), b"") for i in range(5001))), "zip of 5,001 files; more than 5,000"),
        (packed((".DS_Store", b"")), r"without a file to read \(1 hidden\)"),
        (packed(), r"without a file to read \(0 hidden\)"),
        (b"PK\x03\x04 cut off", r"cannot be opened \(File is not a zip file\)"),
    ],
)  # fmt: skip
def test_a_zip_that_is_not_read_says_why(data: bytes, sentence: str) -> None:
    """The first file that is not read is named."""
    with pytest.raises(ReadError, match=sentence) as caught:
        unpack(data, name="log.zip")

    assert caught.value.facts["file"] == "log.zip"


def test_a_bomb_is_refused_before_it_is_unpacked() -> None:
    """30 MB of zeros pack 1,000 to 1; no more than the limit is ever held."""
    data = packed(("bomb.gpx", bytes(30_000_000)))
    with pytest.raises(ReadError, match=r"unpacks from 2\d,\d{3} to more than \d,\d{3},\d{3} byt"):
        unpack(data, name="log.zip")

    assert len(data) < 40_000


def test_a_small_file_may_pack_as_well_as_it_likes() -> None:
    """A log of one repeated line is no bomb."""
    assert unpack(packed(("a", bytes(900_000))), name="log.zip").files[0][1] == bytes(900_000)


def test_many_files_together_are_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each is small, but the sum has a limit."""
    monkeypatch.setattr("routeprep.readers.zipped._BYTES_MOST", 1000)
    data = packed(("a", bytes(600)), ("b", bytes(600)))
    with pytest.raises(ReadError, match="'b' in it unpacks from"):
        unpack(data, name="log.zip")

    assert len(member_of(data, "b", name="log.zip")) == 600


def declaring(size):
    """A zip of ten bytes that declares another size."""
    data = bytearray(packed(("a", b"0123456789")))
    struct.pack_into("<I", data, data.index(b"PK\x01\x02") + 24, size)
    return bytes(data)


def test_a_declared_size_that_is_too_small_is_damage() -> None:
    """What comes out is held to its checksum."""
    with pytest.raises(ReadError, match=r"'a' in it is damaged \(Bad CRC") as caught:
        unpack(declaring(5), name="log.zip")

    assert caught.value.facts["member"] == "a"


def test_a_declared_size_that_is_too_large_takes_nothing() -> None:
    """What comes out counts, not what is declared."""
    assert unpack(declaring(500_000_000), name="log.zip").files == (("a", b"0123456789"),)


def test_a_changed_byte_is_damage() -> None:
    """The checksum of the content is held."""
    data = packed(("a", b"0123456789"), method=zipfile.ZIP_STORED).replace(b"01234", b"01934")
    with pytest.raises(ReadError, match=r"'a' in it is damaged \(Bad CRC-32.*fetch the zip again"):
        unpack(data, name="log.zip")

    assert names_in(data, name="log.zip") == ("a",)


@given(
    st.integers(0, 400), st.binary(max_size=12), st.sampled_from(["put", "over", "cut"])
)  # fmt: skip
def test_damage_anywhere_is_a_sentence_or_the_files(at: int, bytes_: bytes, how: str) -> None:
    """No fault at any place gives anything but a ReadError."""
    whole = packed(("a.gpx", b"<gpx/>" * 9), ("b.csv", b"lat,lon\n"))
    rest = {"put": whole[at:], "over": whole[at + len(bytes_) :], "cut": b""}[how]
    read = None
    with suppress(ReadError):
        read = unpack(whole[:at] + bytes_ + rest, name="log.zip")

    assert read is None or read.files
