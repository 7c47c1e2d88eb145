"""A big GeoJSON file made small: what lies outside the job's surroundings is left out.

In go its bytes and the surroundings, out come the bytes of a GeoJSON file with the rest, and how
many features were left out.  Each feature is read by the standard parser and dropped at once, so
that memory does not grow with the file; a file that is anything else is handed back as it is.
"""

import json
import re
from collections.abc import Iterator
from typing import Any, NamedTuple

from routeprep.readers.nearby import SAMPLE, Box, Near

__all__ = ["Thinned", "thinned"]

# A smaller file is as quick whole [bytes].
_SMALL = 5_000_000
_SPACE = re.compile(r"[ \t\r\n]*")
_BETWEEN = re.compile(r"[ \t\r\n]*([,\]])[ \t\r\n]*")
# So much of a file tells whether it is JSON [bytes].
_HEAD, _BEFORE = 64, b"\xef\xbb\xbf \t\r\n"
# Names of systems whose coordinates are longitude and latitude in WGS 84.
_DEGREES = re.compile(r"(CRS84|EPSG:+(?:[\d.]*:+)?4326)$", re.IGNORECASE)
# Features are left out by a box that is this much wider [deg], and exactly by the reader.
_SPARE_DEG = 1e-6
_LON_DEG, _LAT_DEG = 180.0, 90.0


class Thinned(NamedTuple):
    """What is left of a file, and how many features were left out."""

    data: bytes
    left_out: int


def _past(text: str, at: int, mark: str = "") -> int:
    """Where the text goes on after white space, a mark, and white space again.

    Raises
    ------
    ValueError
        If the mark is not there.
    """
    found = _SPACE.match(text, at)
    at = found.end() if found else at
    if not mark:
        return at
    if not text.startswith(mark, at):
        msg = f"character {at} is {text[at : at + 1]!r}, expected {mark!r}"
        raise ValueError(msg)
    return _past(text, at + len(mark))


def _ends(coordinates: list[Any]) -> Iterator[tuple[float, float]]:
    """All positions of nested coordinates."""
    if isinstance(coordinates[0], list):
        for inner in coordinates:
            yield from _ends(inner)
    else:
        yield float(coordinates[0]), float(coordinates[1])


def _reach(geometry: dict[str, Any]) -> tuple[float, float, float, float]:
    """West, south, east and north end of a geometry."""
    coordinates = geometry["coordinates"]
    if geometry["type"] == "Point":
        lon, lat = coordinates[0] + 0.0, coordinates[1] + 0.0
        return lon, lat, lon, lat
    lons, lats = zip(*_ends(coordinates), strict=True)
    return min(lons), min(lats), max(lons), max(lats)


def _far(feature: dict[str, Any], box: Box) -> bool:
    """Whether a feature lies on the globe and outside; what is odd is for the reader to judge."""
    try:
        west, south, east, north = _reach(feature["geometry"])
    except (KeyError, IndexError, TypeError, ValueError):
        return False
    if east >= box.west and west <= box.east and north >= box.south and south <= box.north:
        return False
    return -_LON_DEG <= west <= east <= _LON_DEG and -_LAT_DEG <= south <= north <= _LAT_DEG


def _kept(text: str, at: int, near: Near) -> tuple[list[dict[str, Any]], int, int]:
    """The features to keep, how many there are, and where the text goes on.

    Raises
    ------
    ValueError
        If what begins here is no list.
    """
    scan, kept, count, at = json.JSONDecoder().raw_decode, [], 0, _past(text, at, "[")
    box = Box(
        near.west_deg - _SPARE_DEG, near.south_deg - _SPARE_DEG,
        near.east_deg + _SPARE_DEG, near.north_deg + _SPARE_DEG,
    )  # fmt: skip
    if text.startswith("]", at):
        return [], 0, _past(text, at, "]")
    while True:
        feature, at = scan(text, at)
        if count < SAMPLE or not _far(feature, box):
            kept.append(feature)
        count += 1
        found = _BETWEEN.match(text, at)
        if found is None:
            msg = f"character {at} is {text[at : at + 1]!r}, expected the next of {count} features"
            raise ValueError(msg)
        at = found.end()
        if found[1] == "]":
            return kept, count, at


def _is_in_degrees(members: dict[str, Any]) -> bool:
    """Whether a collection has features in WGS 84, as all do that name no other system."""
    if members.get("type") != "FeatureCollection" or "features" not in members:
        return False
    crs = members.get("crs")
    return crs is None or bool(_DEGREES.search(str(crs["properties"]["name"])))


def _collection(text: str, near: Near) -> Thinned:
    """The collection with its members and the features near.

    Raises
    ------
    ValueError
        If it is no JSON, or no collection in degrees.
    """
    scan = json.JSONDecoder().raw_decode
    members: dict[str, Any] = {}
    count, at = 0, _past(text, 0, "{")
    while not text.startswith("}", at):
        key, at = scan(text, at)
        at = _past(text, at, ":")
        if key == "features":
            members[key], count, at = _kept(text, at, near)
        else:
            members[key], at = scan(text, at)
        at = _past(text, at)
        if not text.startswith("}", at):
            at = _past(text, at, ",")
    if _past(text, at, "}") != len(text) or not _is_in_degrees(members):
        msg = f"{len(members)} members ({', '.join(members)}) are no collection in degrees"
        raise ValueError(msg)
    left_out = count - len(members["features"])
    return Thinned(json.dumps(members, ensure_ascii=False).encode(), left_out)


def thinned(data: bytes, near: Near) -> Thinned:
    """Leave out what lies outside, but for the first ``nearby.SAMPLE`` features.

    Parameters
    ----------
    data
        A file of any sort; one that is small or no GeoJSON in degrees comes back as it is.
    near
        The surroundings.
    """
    if len(data) < _SMALL or not data[:_HEAD].lstrip(_BEFORE).startswith(b"{"):
        return Thinned(data, 0)
    try:
        return _collection(data.decode("utf-8-sig"), near)
    except (ValueError, KeyError, TypeError, RecursionError):
        # The reader of the whole file finds words for what is wrong with it.
        return Thinned(data, 0)
