"""Invented OpenStreetMap extracts, written by hand from the formats' descriptions.

XML: OpenStreetMap wiki, OSM XML.  Protocol buffers: OpenStreetMap wiki, PBF Format, and the wire
format of protocol buffers (varint, zigzag, length-delimited).  Both from memory; that a program
of others reads them is what the tests show.
"""

import struct
import zlib
from collections.abc import Iterator, Sequence
from typing import NamedTuple
from xml.sax.saxutils import quoteattr


class Way(NamedTuple):
    """A way through points [deg] with its tags."""

    lonlat: Sequence[tuple[float, float]]
    tags: dict[str, str]


def _numbered(ways: Sequence[Way]) -> tuple[dict[tuple[float, float], int], list[list[int]]]:
    """Points with numbers, each once, and the numbers of each way."""
    nodes = {
        point: k for k, point in enumerate(dict.fromkeys(p for w in ways for p in w.lonlat), 1)
    }
    return nodes, [[nodes[point] for point in way.lonlat] for way in ways]


def xml(ways: Sequence[Way]) -> bytes:
    """The extract as XML."""
    nodes, refs = _numbered(ways)
    lines = ['<?xml version="1.0" encoding="UTF-8"?>', '<osm version="0.6" generator="invented">']
    lines += [f'<node id="{k}" lat="{y}" lon="{x}"/>' for (x, y), k in nodes.items()]
    for number, (way, ids) in enumerate(zip(ways, refs, strict=True), 1):
        lines.append(f'<way id="{number}">')
        lines += [f'<nd ref="{one}"/>' for one in ids]
        lines += [f"<tag k={quoteattr(k)} v={quoteattr(v)}/>" for k, v in way.tags.items()]
        lines.append("</way>")
    return "\n".join([*lines, "</osm>"]).encode()


def _varint(value: int) -> bytes:
    out = bytearray()
    while value > 0x7F:
        out.append(value & 0x7F | 0x80)
        value >>= 7
    return bytes([*out, value])


def _zigzag(value: int) -> int:
    return value << 1 if value >= 0 else (-value << 1) - 1


def _field(number: int, value: int | bytes) -> bytes:
    if isinstance(value, int):
        return _varint(number << 3) + _varint(value)
    return _varint(number << 3 | 2) + _varint(len(value)) + value


def _packed(values: Sequence[int]) -> bytes:
    return b"".join(map(_varint, values))


def _steps(values: Sequence[int]) -> Iterator[int]:
    """Differences, zigzag."""
    return (_zigzag(b - a) for a, b in zip([0, *values[:-1]], values, strict=True))


def _block(sort: bytes, content: bytes) -> bytes:
    blob = _field(2, len(content)) + _field(3, zlib.compress(content))
    head = _field(1, sort) + _field(3, len(blob))
    return struct.pack(">I", len(head)) + head + blob


def pbf(ways: Sequence[Way]) -> bytes:
    """The extract in protocol buffers: dense nodes and ways, one block."""
    nodes, refs = _numbered(ways)
    words = sorted({text for way in ways for pair in way.tags.items() for text in pair})
    at = {text: number for number, text in enumerate(words, 1)}
    strings = b"".join(_field(1, text.encode()) for text in ["", *words])
    lats, lons = ([round(point[k] * 1e7) for point in nodes] for k in (1, 0))
    dense = (
        _field(1, _packed([*_steps(list(nodes.values()))]))
        + _field(8, _packed([*_steps(lats)]))
        + _field(9, _packed([*_steps(lons)]))
    )
    written = [
        _field(1, number)
        + _field(2, _packed([at[key] for key in way.tags]))
        + _field(3, _packed([at[value] for value in way.tags.values()]))
        + _field(8, _packed([*_steps(ids)]))
        for number, (way, ids) in enumerate(zip(ways, refs, strict=True), 1)
    ]
    groups = [_field(2, _field(2, dense)), _field(2, b"".join(_field(3, one) for one in written))]
    header = _field(4, b"OsmSchema-V0.6") + _field(4, b"DenseNodes")
    data = _field(1, strings) + b"".join(groups)
    return _block(b"OSMHeader", header) + _block(b"OSMData", data)
