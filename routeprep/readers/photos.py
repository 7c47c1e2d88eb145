"""Geotagged photos: a mark each, with its place, its time and what is written in it.

In go bytes of JPEG or HEIC, out comes a ``Part`` of one mark.  A photo that says nothing has the
words "(photo)": it is evidence for a mark made near it, found by ``attaching``.
"""

import math
import re
import zoneinfo
from collections.abc import Mapping
from pathlib import PurePosixPath

from PIL import ExifTags

from routeprep.kinds import KindTable
from routeprep.readers.globe import on_globe
from routeprep.readers.parts import Place, hear, make_part, marks_table, shown, source
from routeprep.readers.phototime import (
    PhotoTimes,
    clock_time,
    satellite_time,
    taken_at,
    zone_offset,
)
from routeprep.readers.pictures import Tags, read_tags
from routeprep.shapes import Finding, Part

__all__ = ["SILENT", "read_photo"]

# The words of a photo that says nothing.
SILENT = "(photo)"

_GPS = ExifTags.GPS
_BASE = ExifTags.Base

# Where a position is in doubt by the device's own word: "V", measurement interrupted (EXIF 2.32,
# GPSStatus).
_VOID = "V"
# WGS 84 as devices write it; other datums lie up to half a kilometre off.
_DATUMS = ("", "WGS84", "WGS1984")

# Charsets of a comment, in its first eight bytes (EXIF 2.32, UserComment).
_CHARSET_BYTES = 8
# Letters of the shortest word in a file's name that can say a kind.
_SHORTEST = 3


def _text(value: object) -> str:
    """A text of a tag: libraries hand out Latin-1, and devices write UTF-8."""
    if isinstance(value, str):
        value = value.encode("latin-1", "replace")
    if not isinstance(value, bytes):
        return ""
    plain = value.split(b"\0")[0]
    try:
        text = plain.decode("utf-8")
    except UnicodeDecodeError:
        text = plain.decode("latin-1")
    return " ".join("".join(one if one.isprintable() else " " for one in text).split())


def _comment(value: object, *, little_endian: bool) -> str:
    """A comment of a photo, whatever its charset."""
    if not isinstance(value, bytes):
        return _text(value)
    charset, body = value[:_CHARSET_BYTES], value[_CHARSET_BYTES:]
    if charset.startswith(b"UNICODE"):
        wide = "utf-16-le" if little_endian else "utf-16-be"
        text = body[: len(body) // 2 * 2].decode(wide, "replace").lstrip("\ufeff").split("\0")[0]
        return _text(text.encode())
    known = charset.startswith(b"ASCII") or not charset.strip(b"\0")
    return _text(body if known else value)


def _numbers(value: object) -> tuple[float, ...]:
    """Rationals of a tag as numbers; NaN where a denominator is zero."""
    values = value if isinstance(value, tuple) else (value,)
    found = []
    for one in values:
        try:
            found.append(float(one))
        except (TypeError, ValueError, ZeroDivisionError, OverflowError):
            found.append(math.nan)
    return tuple(found)


def _degrees(value: object, side: object, sides: str) -> float:
    """Degrees from degrees, minutes and seconds with their side of the globe; NaN without."""
    parts, letter = _numbers(value), _text(side).upper()[:1]
    if len(parts) != 3 or not letter or letter not in sides:  # noqa: PLR2004
        return math.nan
    if not all(math.isfinite(one) and one >= 0 for one in parts):
        return math.nan
    size = parts[0] + parts[1] / 60.0 + parts[2] / 3600.0
    return -size if letter == sides[1] else size


def _place(gps: Mapping[int, object]) -> tuple[float, float, str]:
    """Longitude and latitude [deg], NaN when there is none, and why a position is not used."""
    if _GPS.GPSLatitude not in gps and _GPS.GPSLongitude not in gps:
        return math.nan, math.nan, ""
    lon_deg = _degrees(gps.get(_GPS.GPSLongitude), gps.get(_GPS.GPSLongitudeRef), "EW")
    lat_deg = _degrees(gps.get(_GPS.GPSLatitude), gps.get(_GPS.GPSLatitudeRef), "NS")
    datum = re.sub(r"[^A-Z0-9]", "", _text(gps.get(_GPS.GPSMapDatum)).upper())
    why = ""
    if not on_globe(lon_deg, lat_deg):
        why = "is incomplete or off the globe"
    elif lon_deg == 0.0 and lat_deg == 0.0:
        why = "is 0, 0, which devices write when they have none"
    elif _text(gps.get(_GPS.GPSStatus)).upper() == _VOID:
        why = "is void by the device's own word"
    elif datum not in _DATUMS:
        why = f"is in the datum {shown(_text(gps.get(_GPS.GPSMapDatum)))}, not WGS 84"
    return (math.nan, math.nan, why) if why else (lon_deg, lat_deg, "")


def _times(tags: Tags) -> PhotoTimes:
    exif, gps = tags.exif, tags.gps
    clock = offset = None
    for at, fraction, zone in (
        (_BASE.DateTimeOriginal, _BASE.SubsecTimeOriginal, _BASE.OffsetTimeOriginal),
        (_BASE.DateTimeDigitized, _BASE.SubsecTimeDigitized, _BASE.OffsetTimeDigitized),
    ):
        if clock is None:
            clock = clock_time(_text(exif.get(at)), _text(exif.get(fraction)))
            offset = zone_offset(_text(exif.get(zone)))
    return PhotoTimes(
        clock=clock,
        offset=offset,
        satellite=satellite_time(
            _text(gps.get(_GPS.GPSDateStamp)), _numbers(gps.get(_GPS.GPSTimeStamp))
        ),
    )


def _accuracy_m(gps: Mapping[int, object]) -> float:
    """The radius that the device reports [m], NaN when it reports none."""
    (error_m, *_) = _numbers(gps.get(_GPS.GPSHPositioningError)) or (math.nan,)
    return error_m if math.isfinite(error_m) and error_m > 0 else math.nan


def _stem_words(name: str, kinds: KindTable) -> str:
    """The file's own name as words, when one of them is a word for a kind; cameras count photos."""
    words = re.sub(r"[_\W]+", " ", PurePosixPath(name).stem).split()
    runs = [
        " ".join(words[start:end])
        for start in range(len(words))
        for end in range(start + 1, len(words) + 1)
    ]
    known = any(len(run) >= _SHORTEST and kinds.find(run) for run in runs)
    text = " ".join(words)
    return text if known or kinds.understand(text).kind else ""


def _said(tags: Tags, *, name: str, kinds: KindTable) -> dict[str, object]:
    """The words of a photo and what they say."""
    written = (
        _text(tags.main.get(_BASE.ImageDescription)),
        _comment(tags.exif.get(_BASE.UserComment), little_endian=tags.little_endian),
    )
    texts = [text for text in written if any(map(str.isalpha, text))]
    return hear(texts or [_stem_words(name, kinds) or SILENT], kinds)


def read_photo(data: bytes, *, name: str, kinds: KindTable, zone: zoneinfo.ZoneInfo) -> Part:
    """Read one photo as a mark.

    Its words are what is written in it, else its name when that says a kind, else "(photo)".
    Without a position its time places it on a drive.

    Parameters
    ----------
    data
        The file.
    name
        Its name relative to the job.
    kinds
        For its words.
    zone
        The job's, for a camera clock that has none.
    """
    tags = read_tags(data, name=name)
    lon_deg, lat_deg, why = _place(tags.gps)
    taken = taken_at(_times(tags), zone)
    doubts = [*taken.doubts, *([f"its position {why}; it is not used"] if why else [])]
    if tags.odd:
        doubts.append("its tags are damaged, so that neither place nor time is known")
    row: dict[str, object] = {
        **_said(tags, name=name, kinds=kinds),
        "accuracy_m": _accuracy_m(tags.gps) if math.isfinite(lon_deg) else math.nan,
        "across_frame": "as driven",
        "method": "vehicle",
        "photo": name,
        "source": name,
    }
    levels = {"note": taken.notes, "doubt": doubts}
    return make_part(
        source(
            data,
            name=name,
            what="photo",
            taken={"photos": 1},
            skipped={"positions that cannot be used": int(bool(why))},
        ),
        marks=marks_table([(Place(taken.time_us, lon_deg, lat_deg), row)]),
        findings=[
            Finding(level=level, where=name, text=text)
            for level, texts in levels.items()
            for text in texts
        ],
    )
