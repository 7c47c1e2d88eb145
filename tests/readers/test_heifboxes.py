"""The boxes of a HEIC photo: what is read from them, and damage that must not reach the decoder."""

import struct
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st
from readers.made_photos import HEIC

from routeprep.errors import ReadError
from routeprep.readers.heifboxes import read_heif
from routeprep.readers.pictures import plain_jpeg


def box(sort, *contents, size=None):
    """A box of contents."""
    inside = b"".join(contents)
    return struct.pack(">I", len(inside) + 8 if size is None else size) + sort + inside


def infe(number, sort, *, version=2, more=b"\0"):
    """An entry for an item."""
    wide = ">I" if version == 3 else ">H"
    head = struct.pack(">I", version << 24) + struct.pack(wide, number) + b"\0\0"
    return box(b"infe", head, sort, more)


def iinf(*entries, count=None):
    """The list of items."""
    return box(b"iinf", bytes(4), struct.pack(">H", len(entries) if count is None else count),
               *entries)  # fmt: skip


def iloc(number, offset, length, *, method=None):
    """Where one item lies."""
    if method is None:
        return box(b"iloc", bytes(4), struct.pack(">HHHHHII", 0x4400, 1, number, 0, 1, offset,
                                                  length))  # fmt: skip
    return box(b"iloc", b"\1\0\0\0", struct.pack(">HHHHHHII", 0x4400, 1, number, method, 0, 1,
                                                 offset, length))  # fmt: skip


def iprp(*sizes):
    """The properties: sizes."""
    boxes = [box(b"ispe", bytes(4), struct.pack(">II", *size)) for size in sizes]
    return box(b"iprp", box(b"ipco", *boxes))


def heic(*boxes, more=b""):
    """A file of boxes within its meta box."""
    return box(b"ftyp", b"heic\0\0\0\0") + box(b"meta", bytes(4), *boxes) + more


USUAL = (iinf(infe(1, b"hvc1")), iloc(1, 0, 8), iprp((96, 64)))


def test_tags_and_size_of_a_photo_are_read() -> None:
    """From their order of bytes on; the picture is not decoded."""
    read = read_heif(HEIC, name="x")

    assert read.exif.startswith(b"MM\0*")
    assert b"2026:06:01 07:00:00" in read.exif
    assert read.size == (96, 64)


@pytest.mark.parametrize(
    ("data", "exif", "size"),
    [
        (heic(*USUAL), b"", (96, 64)),
        (heic(USUAL[0], USUAL[1], iprp((512, 512), (4032, 3024), (320, 240))), b"", (4032, 3024)),
        (heic(USUAL[0], USUAL[1], iprp()), b"", (0, 0)),
        (heic(iinf(infe(7, b"Exif")), iloc(7, 0, 8, method=1), iprp(),
              box(b"idat", b"\0\0\0\2xxII")), b"II", (0, 0)),
        (heic(iinf(infe(7, b"Exif", version=3)), iloc(8, 0, 8), iprp()), b"", (0, 0)),
        (heic(iinf(infe(1, b"mime", more=b"\0text/xml\0\0")), *USUAL[1:]), b"", (96, 64)),
        (heic(*USUAL, more=box(b"mdat", b"x", size=0)), b"", (96, 64)),
        (heic(*USUAL, more=struct.pack(">I", 1) + b"mdat" + struct.pack(">Q", 18) + b"xx"), b"",
         (96, 64)),
    ],
    ids=["bare", "tiles", "no size", "tags in idat", "tags nowhere", "xml", "to the end", "wide"],
)  # fmt: skip
def test_boxes_are_read_as_writers_put_them(
    data: bytes, exif: bytes, size: tuple[int, int]
) -> None:
    """The largest size counts: phones store tiles."""
    assert read_heif(data, name="x") == (exif, size)


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"", "the box 'meta' is missing"),
        (heic(USUAL[0], USUAL[2]), "the box 'iloc' is missing"),
        (heic(*USUAL[:2]), "the box 'iprp' is missing"),
        (heic(*USUAL, USUAL[0]), "the box 'iinf' stands twice"),
        (heic(*USUAL, more=box(b"meta")), "the box 'meta' stands twice"),
        (heic(iinf(infe(1, b"hvc1"), count=2), *USUAL[1:]), "declares 2 items and has 1"),
        (heic(iinf(infe(1, b"hvc1", version=0)), *USUAL[1:]), "an item is of version 0"),
        (heic(iinf(infe(1, b"\x18\xa1if")), *USUAL[1:]), "where a type in plain letters"),
        (heic(iinf(infe(1, b"hvc1", more=b"n\xff\0")), *USUAL[1:]), "in plain letters is expected"),
        (heic(iinf(infe(1, b"mime", more=b"\0t\xff\0\0")), *USUAL[1:]), "in plain letters"),
        (heic(iinf(infe(1, b"Exif")), iloc(1, 90_000, 8), iprp()), "an item ends at byte 90008 of"),
        (heic(iinf(infe(1, b"Exif")), iloc(1, 0, 8, method=2), iprp()), "where method 2 says"),
        (heic(*USUAL, more=box(b"mdat", size=4)), "a box of 4 bytes is shorter than its own head"),
        (heic(*USUAL, more=box(b"mdat", size=90)), "82 bytes are wanted where 0 are left"),
        (heic(*USUAL, more=box(b"free") * 20_001), "it has more than 20,000 boxes"),
        (heic(*USUAL, more=b"\0\0\0"), "4 bytes are wanted where 3 are left"),
    ],
)  # fmt: skip
def test_damage_is_one_sentence(data: bytes, why: str) -> None:
    """What was found where something else was expected."""
    with pytest.raises(
        ReadError, match=f"x.heic: is a photo that cannot be read .*{why}"
    ) as caught:
        read_heif(data, name="x.heic")

    assert caught.value.facts["file"] == "x.heic"


def test_a_type_that_is_no_text_never_reaches_the_decoder() -> None:
    """Found on 25 November 2026 by breaking files: pi_heif 1.4.0 ended the program on it."""
    broken = HEIC.replace(b"Exif\0\0\0\0\x0epitm", b"\x18\xa1if\0\0\0\0\x0epitm")

    assert broken != HEIC
    with pytest.raises(ReadError, match="in plain letters is expected") as caught:
        plain_jpeg(broken, longest_px=48)

    assert "cannot be read" in str(caught.value)


@given(st.integers(0, 520), st.binary(min_size=1, max_size=8))
def test_damage_anywhere_is_a_sentence_or_a_photo(at: int, bytes_: bytes) -> None:
    """Whatever is written over the boxes."""
    data = HEIC[:at] + bytes_ + HEIC[at + len(bytes_) :]
    read = None
    with suppress(ReadError):
        read = read_heif(data, name="x")

    assert read is None or len(read.exif) <= len(data)
