"""The boxes of a HEIC photo: its tags and its size, read without decoding the picture.

In go bytes, out come the block of tags and the declared size.  The library that decodes such
pictures ends the whole program on some damaged files, so that every file is checked here first.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import NamedTuple

from routeprep.errors import ReadError

__all__ = ["Heif", "read_heif"]

# More boxes than this are no photo; common practice, no source.
_BOXES_MOST = 20_000
# Bytes of version and flags at the beginning of a full box.
_FULL = 4
# Where an extent's offset counts from: the file, or the box "idat" (ISO/IEC 14496-12, 8.11.3).
_IN_FILE, _IN_IDAT = 0, 1


class Heif(NamedTuple):
    """What a HEIC file says of itself.

    Attributes
    ----------
    exif
        The block of tags, from its byte order on; empty when there is none.
    size
        Width and height of the largest picture in it [pixels].
    """

    exif: bytes
    size: tuple[int, int]


class _DamagedError(Exception):
    """Something in the boxes that cannot be; the text says what."""


@dataclass(slots=True)
class _Bytes:
    """Bytes that are taken from the front, a number at a time."""

    data: memoryview
    at: int = 0

    def take(self, size: int) -> memoryview:
        """The next bytes.

        Raises
        ------
        _DamagedError
            If there are not so many.
        """
        if self.at + size > len(self.data):
            msg = f"{size} bytes are wanted where {len(self.data) - self.at} are left"
            raise _DamagedError(msg)
        self.at += size
        return self.data[self.at - size : self.at]

    def number(self, size: int) -> int:
        """A whole number of so many bytes, 0 for none."""
        return int.from_bytes(self.take(size), "big")

    def text(self) -> str:
        """A text up to its zero byte.

        Raises
        ------
        _DamagedError
            If it is no plain text: the library that decodes the picture fails on it.
        """
        raw = bytes(self.data[self.at :]).split(b"\0")[0]
        self.at = min(self.at + len(raw) + 1, len(self.data))
        return _plain(raw)


class _Item(NamedTuple):
    """Something in the file: its number and its type."""

    number: int
    sort: str


class _Place(NamedTuple):
    """Where an item lies: what its offsets count from, and offset and length of each part."""

    method: int
    extents: tuple[tuple[int, int], ...]


def _plain(raw: bytes) -> str:
    text = raw.decode("latin-1")
    if not (text.isascii() and (text.isprintable() or not text)):
        msg = f"{text!r} stands where a type in plain letters is expected"
        raise _DamagedError(msg)
    return text


def _boxes(data: memoryview) -> Iterator[tuple[str, memoryview]]:
    """Type and content of each box, one after another.

    Raises
    ------
    _DamagedError
        If one is longer than what holds it, or shorter than its own head.
    """
    rest = _Bytes(data)
    for _ in range(_BOXES_MOST):
        if rest.at == len(data):
            return
        begin = rest.at
        size, sort = rest.number(4), _plain(bytes(rest.take(4)))
        size = rest.number(8) if size == 1 else size or len(data) - begin
        yield sort, rest.take(size - (rest.at - begin)) if size >= rest.at - begin else _short(size)
    msg = f"it has more than {_BOXES_MOST:,} boxes"
    raise _DamagedError(msg)


def _short(size: int) -> memoryview:
    msg = f"a box of {size} bytes is shorter than its own head"
    raise _DamagedError(msg)


def _by_type(data: memoryview) -> dict[str, memoryview]:
    """The boxes by type.

    Raises
    ------
    _DamagedError
        If one of those that stand once stands twice.
    """
    found: dict[str, memoryview] = {}
    for sort, content in _boxes(data):
        if sort in found and sort in {"meta", "iinf", "iloc", "iprp", "ipco", "idat", "pitm"}:
            msg = f"the box {sort!r} stands twice"
            raise _DamagedError(msg)
        found[sort] = content
    return found


def _need(boxes: Mapping[str, memoryview], sort: str) -> memoryview:
    if sort not in boxes:
        msg = f"the box {sort!r} is missing"
        raise _DamagedError(msg)
    return boxes[sort]


def _items(content: memoryview) -> list[_Item]:
    """The items of the box "iinf", each type in plain letters.

    Raises
    ------
    _DamagedError
        If there are other than it declares, or of a version that photos do not have.
    """
    head = _Bytes(content)
    version = head.number(_FULL) >> 24
    count = head.number(4 if version else 2)
    items = []
    for sort, entry in _boxes(content[head.at :]):
        if sort == "infe":
            items.append(_item(_Bytes(entry)))
    if len(items) != count:
        msg = f"it declares {count} items and has {len(items)}"
        raise _DamagedError(msg)
    return items


def _item(entry: _Bytes) -> _Item:
    version = entry.number(_FULL) >> 24
    if version not in {2, 3}:
        msg = f"an item is of version {version}, not 2 or 3"
        raise _DamagedError(msg)
    number = entry.number(4 if version == 3 else 2)  # noqa: PLR2004 - the version
    entry.take(2)
    sort = _plain(bytes(entry.take(4)))
    entry.text()
    if sort == "mime":
        entry.text()
    return _Item(number, sort)


def _places(content: memoryview) -> dict[int, _Place]:
    """Where each item lies, from the box "iloc"."""
    rest = _Bytes(content)
    version = rest.number(_FULL) >> 24
    sizes = rest.number(2)
    offset_size, length_size, base_size = sizes >> 12, sizes >> 8 & 15, sizes >> 4 & 15
    index_size = sizes & 15 if version else 0
    wide = 4 if version > 1 else 2
    found = {}
    for _ in range(rest.number(wide)):
        number = rest.number(wide)
        method = rest.number(2) & 15 if version else _IN_FILE
        rest.take(2)
        base = rest.number(base_size)
        extents = []
        for _ in range(rest.number(2)):
            rest.take(index_size)
            extents.append((base + rest.number(offset_size), rest.number(length_size)))
        found[number] = _Place(method, tuple(extents))
    return found


def _content(place: _Place, data: memoryview, idat: memoryview) -> bytes:
    """The bytes of an item.

    Raises
    ------
    _DamagedError
        If they lie outside of the file.
    """
    within = data if place.method == _IN_FILE else idat
    if place.method not in {_IN_FILE, _IN_IDAT}:
        msg = f"an item lies where method {place.method} says, not 0 or 1"
        raise _DamagedError(msg)
    parts = []
    for offset, length in place.extents:
        if offset + length > len(within):
            msg = f"an item ends at byte {offset + length} of {len(within)}"
            raise _DamagedError(msg)
        parts.append(bytes(within[offset : offset + length]))
    return b"".join(parts)


def _sizes(content: memoryview) -> Iterator[tuple[int, int]]:
    """The sizes among the properties, in the box "iprp"."""
    for sort, inner in _boxes(_need(_by_type(content), "ipco")):
        if sort == "ispe":
            size = _Bytes(inner, _FULL)
            yield size.number(4), size.number(4)


def _read(data: memoryview) -> Heif:
    top = _by_type(data)
    meta = _need(top, "meta")
    boxes = _by_type(meta[_FULL:])
    items, places = _items(_need(boxes, "iinf")), _places(_need(boxes, "iloc"))
    idat = boxes.get("idat", memoryview(b""))
    blocks = [
        _content(places[item.number], data, idat)
        for item in items
        if item.sort == "Exif" and item.number in places
    ]
    exif = blocks[0] if blocks else b""
    # Four bytes say how far behind them the tags begin (ISO/IEC 23008-12, A.2.1).
    begin = _FULL + int.from_bytes(exif[:_FULL], "big")
    sizes = sorted(_sizes(_need(boxes, "iprp")), key=lambda size: size[0] * size[1])
    return Heif(exif[begin:], sizes[-1] if sizes else (0, 0))


def read_heif(data: bytes, *, name: str) -> Heif:
    """Read the tags and the size of a HEIC photo, and check the boxes that hold it together.

    Parameters
    ----------
    data
        The file.
    name
        Its name, for messages.

    Raises
    ------
    ReadError
        If its boxes are damaged.
    """
    try:
        return _read(memoryview(data))
    except _DamagedError as error:
        msg = f"{name}: is a photo that cannot be read ({error}); copy it again from the camera"
        raise ReadError(msg, file=name, diagnostic=str(error)) from error
