"""Photos in JPEG and HEIC: what is written in them, and a plain picture without it.

In go bytes, out come the tags of EXIF, read without decoding the picture; or a small JPEG that
holds nothing but the picture, turned upright.
"""

import io
import re
import struct
import warnings
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass

import pi_heif
from PIL import ExifTags, Image, ImageOps

from routeprep.errors import ReadError
from routeprep.readers.heifboxes import read_heif

__all__ = ["Tags", "plain_jpeg", "read_tags"]

# More pixels than this are refused: a picture that is small in its file can still fill the memory.
# The library for JPEG has the same limit.
_PIXELS_MOST = 178_956_970

# What the libraries raise on bytes that are no picture, or a damaged one.
_FOREIGN = (
    OSError, ValueError, SyntaxError, RuntimeError, EOFError, TypeError, KeyError, IndexError,
    OverflowError, ZeroDivisionError, struct.error,
)  # fmt: skip

# What a library calls a file in memory, different at each run.
_ADDRESS = re.compile(r"<[^<>]* at 0x[0-9a-f]+>")

# Quality of the plain picture, 1 to 95; common practice, no source.
_QUALITY = 85


@dataclass(frozen=True, slots=True, kw_only=True)
class Tags:
    """The tags of a photo (EXIF 2.32, CIPA DC-008), by number.

    Attributes
    ----------
    main, exif, gps
        Of the picture, of how it was taken, of where.
    little_endian
        The order of bytes in them.
    odd
        Why they cannot be read; empty when they can, or are not there.
    """

    main: Mapping[int, object]
    exif: Mapping[int, object]
    gps: Mapping[int, object]
    little_endian: bool
    odd: str


def _is_heic(data: bytes) -> bool:
    return data[4:8] == b"ftyp"


def _too_large(name: str, told: str) -> str:
    return (
        f"{name}: is a photo of too many pixels ({told}); more than {_PIXELS_MOST:,} are not read; "
        "give it smaller"
    )


def _refuse_size(size: tuple[int, int], name: str) -> None:
    """Refuse a picture that would fill the memory.

    Raises
    ------
    ReadError
        With its size.
    """
    if size[0] * size[1] > _PIXELS_MOST:
        msg = _too_large(name, f"{size[0]:,} x {size[1]:,} pixels")
        raise ReadError(msg, file=name, size=size)


@contextmanager
def _translated(name: str, what: str) -> Iterator[None]:
    """Turn what the libraries raise into one sentence, and keep what they remark to themselves.

    Raises
    ------
    ReadError
        Saying that it is a photo that is ``what``.
    """
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            yield
        except ReadError:
            raise
        except Image.DecompressionBombError as error:
            msg = _too_large(name, str(error).split(" exceeds")[0])
            raise ReadError(msg, file=name) from error
        except _FOREIGN as error:
            told = " ".join(_ADDRESS.sub("it", str(error)).split())
            msg = f"{name}: is a photo that {what} ({told}); copy it again from the camera"
            raise ReadError(msg, file=name, diagnostic=told) from error


def _jpeg(data: bytes, name: str) -> Image.Image:
    """The picture of a JPEG, not yet decoded."""
    with _translated(name, "cannot be read"):
        picture = Image.open(io.BytesIO(data), formats=("JPEG",))
        _refuse_size(picture.size, name)
    return picture


def _is_tags(block: bytes) -> bool:
    """Whether a block begins as tags do (TIFF 6.0, section 2), or there is none."""
    return not block or block.removeprefix(b"Exif\0\0").startswith((b"II*\0", b"MM\0*"))


def _loaded(block: bytes) -> Image.Exif:
    exif = Image.Exif()
    if _is_tags(block):
        exif.load(block)
    return exif


def read_tags(data: bytes, *, name: str) -> Tags:
    """Read what is written in a photo.

    Parameters
    ----------
    data
        The file, JPEG or HEIC.
    name
        Its name, for messages.
    """
    if _is_heic(data):
        picture = None
        block, size = read_heif(data, name=name)
        _refuse_size(size, name)
    else:
        picture = _jpeg(data, name)
        block = picture.info.get("exif") or b""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            exif = _loaded(block) if picture is None else picture.getexif()
            return Tags(
                main=dict(exif),
                exif=dict(exif.get_ifd(ExifTags.IFD.Exif)),
                gps=dict(exif.get_ifd(ExifTags.IFD.GPSInfo)),
                little_endian=exif.endian == "<",
                odd="" if _is_tags(block) else "no tags",
            )
        except _FOREIGN as error:
            return Tags(main={}, exif={}, gps={}, little_endian=True, odd=type(error).__name__)


def _small(data: bytes, name: str, longest_px: int) -> Image.Image:
    """The picture, upright and no longer than wanted."""
    if _is_heic(data):
        _refuse_size(read_heif(data, name=name).size, name)
        with _translated(name, "is damaged or cut off"):
            # Turned by the library already.
            picture: Image.Image = pi_heif.open_heif(data).to_pillow()
            picture.thumbnail((longest_px, longest_px))
            return picture
    picture = _jpeg(data, name)
    with _translated(name, "is damaged or cut off"):
        picture.thumbnail((longest_px, longest_px))
        return ImageOps.exif_transpose(picture)


def plain_jpeg(data: bytes, *, longest_px: int, name: str = "the photo") -> bytes:
    """Make a small JPEG of a photo that says nothing of where, when and by what it was taken.

    Parameters
    ----------
    data
        The file, JPEG or HEIC.
    longest_px
        Pixels along the longer side; a smaller photo keeps its own.
    name
        Its name, for messages.
    """
    picture = _small(data, name, longest_px).convert("RGB")
    # A new picture of the same pixels: what the old one carries along is not copied.
    plain = Image.new("RGB", picture.size)
    plain.paste(picture)
    out = io.BytesIO()
    plain.save(out, format="JPEG", quality=_QUALITY)
    return out.getvalue()
