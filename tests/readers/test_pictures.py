"""Tags and plain pictures of photos, and what is no photo."""

import io
import struct
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from readers.made_photos import BASE, GPS, HEIC, PLACE, camera, jpeg

from routeprep.errors import ReadError
from routeprep.readers.pictures import plain_jpeg, read_tags

WORDS = "manhole, outer wheel path"
FULL = jpeg(
    {BASE.ImageDescription: WORDS, BASE.Orientation: 6, BASE.Artist: "Pat (invented)"},
    camera("2026:06:01 07:00:00", "-05:00"),
    PLACE,
    comment=b"a secret",
    icc_profile=b"a profile",
)


def declared(width, height):
    """A JPEG that declares a size, without more of a picture."""
    frame = b"\xff\xc0" + struct.pack(">HBHHB", 11, 8, height, width, 1) + b"\x01\x11\x00"
    return b"\xff\xd8" + frame + b"\xff\xda\x00\x08\x01\x01\x00\x00\x3f\x00" + b"\xff\xd9"


@pytest.mark.parametrize("data", [FULL, HEIC])
def test_tags_are_read_alike_from_both_formats(data: bytes) -> None:
    """Words, camera clock and place."""
    tags = read_tags(data, name="x")

    assert tags.main[BASE.ImageDescription] == WORDS
    assert tags.exif[BASE.DateTimeOriginal] == "2026:06:01 07:00:00"
    assert tags.gps[GPS.GPSLatitude] == (41.0, 25.0, 48.0)
    assert tags.odd == ""


def test_a_photo_without_tags_has_none() -> None:
    """That is no fault."""
    out = io.BytesIO()
    Image.new("L", (8, 8)).save(out, format="JPEG")
    for data in (out.getvalue(), jpeg()):
        tags = read_tags(data, name="x")

        assert (dict(tags.main), dict(tags.exif), dict(tags.gps), tags.odd) == ({}, {}, {}, "")


def test_damaged_tags_are_said() -> None:
    """The picture may still be good."""
    at = FULL.index(b"Exif\0\0") + 6
    tags = read_tags(FULL[:at] + b"XXXX" + FULL[at + 4 :], name="x")

    assert (dict(tags.gps), tags.odd) == ({}, "no tags")


@pytest.mark.parametrize("data", [FULL, HEIC])
def test_a_plain_picture_stands_upright_and_says_nothing(data: bytes) -> None:
    """Turned as the photo says, its red corner at the top right; no tag, comment or profile."""
    plain = plain_jpeg(data, longest_px=480)
    picture = Image.open(io.BytesIO(plain))
    red, grey = picture.getpixel((60, 3)), picture.getpixel((3, 90))

    assert picture.size == (64, 96)
    assert red == pytest.approx((250, 0, 0), abs=12)
    assert grey == pytest.approx((90, 90, 90), abs=12)
    assert dict(picture.getexif()) == {}
    assert not {"comment", "icc_profile", "exif", "xmp"} & set(picture.info)
    assert b"secret" not in plain
    assert b"invented" not in plain


def test_the_longer_side_is_no_longer_than_wanted() -> None:
    """A small photo keeps its size, and the same photo gives the same bytes."""
    wide = jpeg(size=(1600, 1200))

    assert Image.open(io.BytesIO(plain_jpeg(wide, longest_px=480))).size == (480, 360)
    assert Image.open(io.BytesIO(plain_jpeg(jpeg(), longest_px=480))).size == (96, 64)
    assert plain_jpeg(wide, longest_px=480) == plain_jpeg(wide, longest_px=480)


def test_pictures_of_other_modes_are_read() -> None:
    """Grey and four-colour JPEG become plain ones."""
    out = io.BytesIO()
    Image.new("CMYK", (8, 8)).save(out, format="JPEG")
    grey = io.BytesIO()
    Image.new("L", (8, 8)).save(grey, format="JPEG")

    assert Image.open(io.BytesIO(plain_jpeg(out.getvalue(), longest_px=9))).mode == "RGB"
    assert Image.open(io.BytesIO(plain_jpeg(grey.getvalue(), longest_px=9))).mode == "RGB"


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (declared(14_000, 14_000), r"of too many pixels \(Image size \(196000000 pixels\)\); more"),
        (declared(65_500, 65_500), "of too many pixels .* give it smaller"),
        (b"\xff\xd8\xff\xe0", r"x.jpg: is a photo that cannot be read \(cannot identify image"),
        (b"\xff\xd8\xff\xe0" + b"\0" * 99, "is a photo that cannot be read"),
        (b"\0\0\0\x18ftypheic", "is a photo that cannot be read"),
        (HEIC[:200], "is a photo that cannot be read"),
        (HEIC[:-40], r"cannot be read \(387 bytes are wanted where 347 are left\)"),
        (b"GIF89a", "is a photo that cannot be read"),
    ],
)
def test_what_is_no_photo_is_one_sentence(data: bytes, sentence: str) -> None:
    """For its tags and for its picture; no address of memory is shown."""
    for read in (read_tags, lambda data, name: plain_jpeg(data, longest_px=9, name=name)):
        with pytest.raises(ReadError, match=sentence) as caught:
            read(data, name="x.jpg")

        assert "0x" not in str(caught.value)


def test_a_photo_that_is_cut_off_has_tags_but_no_picture() -> None:
    """Half a picture is not printed."""
    half = jpeg({BASE.ImageDescription: WORDS}, size=(1600, 1200))[:-2000]

    assert read_tags(half, name="x").main[BASE.ImageDescription] == WORDS
    with pytest.raises(ReadError, match="is a photo that is damaged or cut off") as caught:
        plain_jpeg(half, longest_px=480, name="half.jpg")

    assert caught.value.facts["file"] == "half.jpg"


def test_a_large_heic_is_refused_by_its_declared_size(monkeypatch: pytest.MonkeyPatch) -> None:
    """Before it is decoded."""
    monkeypatch.setattr("routeprep.readers.pictures._PIXELS_MOST", 6000)
    with pytest.raises(ReadError, match=r"too many pixels \(96 x 64 pixels\)") as caught:
        read_tags(HEIC, name="large.heic")

    assert caught.value.facts["file"] == "large.heic"


@given(st.booleans(), st.integers(0, 900), st.binary(max_size=6))
def test_damage_anywhere_is_a_sentence_or_a_photo(
    heic: bool,  # noqa: FBT001 - drawn
    at: int,
    bytes_: bytes,
) -> None:
    """No fault at any place gives anything but a ReadError."""
    whole = HEIC if heic else FULL
    data = whole[:at] + bytes_ + whole[at + len(bytes_) :]
    done = 0
    for read in (read_tags, lambda data, name: plain_jpeg(data, longest_px=9, name=name)):
        with suppress(ReadError):
            read(data, name="x")
        done += 1

    assert done == 2
