"""Street maps for landmarks: named lines near the job.

In go the bytes of an OpenStreetMap extract (``.osm`` or ``.osm.pbf``) or of any file of named
lines, out come streets with whom to name for them, and what was taken and left.
"""

import re
import warnings
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import NamedTuple

import pandas as pd
import pyogrio
import shapely

from routeprep.errors import ReadError
from routeprep.lines import LinePiece
from routeprep.readers.nearby import Near
from routeprep.readers.parts import source
from routeprep.readers.sniff import SORTS, sort_of
from routeprep.readers.vector import read_lines
from routeprep.shapes import Finding, Source
from routeprep.streets import Street

__all__ = ["StreetMap", "read_streets"]

# As the licence asks (Open Database License 1.0, section 4.3, and the foundation's attribution
# guideline of 2021).
_CREDIT = "© OpenStreetMap contributors, ODbL"

# Roads that people drive, by the tag highway (OpenStreetMap wiki, Key:highway, from memory);
# paths, and roads that are only planned, are no landmarks.
_DRIVEN = frozenset({
    "busway", "living_street", "motorway", "motorway_link", "pedestrian", "primary",
    "primary_link", "residential", "road", "secondary", "secondary_link", "service", "tertiary",
    "tertiary_link", "track", "trunk", "trunk_link", "unclassified",
})  # fmt: skip

# What is asked of the lines of an extract.
_TAGS = ("name", "highway", "other_tags")

# Tags that say which way lies over the other, in the text that holds all further tags.
_TAG = re.compile(r'"(bridge|tunnel|layer)"=>"((?:[^"\\]|\\.)*)"')
_LAYER = re.compile(r"-?\d{1,2}")


class StreetMap(NamedTuple):
    """The streets of one file, what was taken and left, and what was noticed."""

    streets: tuple[Street, ...]
    source: Source
    findings: tuple[Finding, ...]


def _level(tags: object) -> int:
    """Over or under the ground, from the text of further tags."""
    found = dict(_TAG.findall(tags)) if isinstance(tags, str) else {}
    if _LAYER.fullmatch(found.get("layer", "")):
        return int(found["layer"])
    over, under = (found.get(key, "no") != "no" for key in ("bridge", "tunnel"))
    return int(over) - int(under)


def _called(text: object) -> str:
    """A name without blanks around and doubled in it; empty for none."""
    return " ".join(text.split()) if isinstance(text, str) else ""


def _extract(data: bytes, *, name: str, near: Near | None) -> pd.DataFrame:
    """The lines of an OpenStreetMap extract that lie near the job.

    Raises
    ------
    ReadError
        If it is damaged or cut off.
    """
    box = near and (near.west_deg, near.south_deg, near.east_deg, near.north_deg)
    try:
        with warnings.catch_warnings():
            # What the library remarks on a file in memory is not about the file.
            warnings.simplefilter("ignore", RuntimeWarning)
            return pd.DataFrame(
                pyogrio.read_dataframe(data, layer="lines", columns=list(_TAGS), bbox=box)
            )
    except (RuntimeError, ValueError) as error:
        msg = (
            f"{name}: is an OpenStreetMap extract that is damaged or cut off ({len(data):,} bytes "
            "are there); fetch the whole file again"
        )
        raise ReadError(msg, file=name, diagnostic=str(error)) from error


def _from_extract(frame: pd.DataFrame, name: str) -> tuple[list[Street], Counter[str]]:
    """Streets of an extract, and how many lines are none, by the reason."""
    streets, left = [], Counter[str]()
    columns = [frame[name] for name in (*_TAGS, "geometry")]
    for text, highway, tags, line in zip(*columns, strict=True):
        called = _called(text)
        reason = "" if called else "no name"
        if highway not in _DRIVEN:
            reason = "no street"
        if reason:
            left[reason] += 1
            continue
        lonlat_deg = shapely.get_coordinates(line)
        streets.append(
            Street(
                name=called,
                lon_deg=lonlat_deg[:, 0].copy(),
                lat_deg=lonlat_deg[:, 1].copy(),
                source=name,
                credit=_CREDIT,
                level=_level(tags),
            )
        )
    return streets, left


def _is_near(piece: LinePiece, near: Near | None) -> bool:
    """Whether the box around a line meets the job's surroundings."""
    if near is None:
        return True
    return bool(
        piece.lon_deg.max() >= near.west_deg
        and piece.lon_deg.min() <= near.east_deg
        and piece.lat_deg.max() >= near.south_deg
        and piece.lat_deg.min() <= near.north_deg
    )


def _from_lines(
    pieces: Sequence[LinePiece], name: str, near: Near | None
) -> tuple[list[Street], Counter[str]]:
    """Streets of a file of lines, and how many lines are none, by the reason.

    Raises
    ------
    ReadError
        If none of its lines has a name.
    """
    streets, left = [], Counter[str]()
    for piece in pieces:
        called = _called(piece.name)
        if not called:
            left["no name"] += 1
        elif not _is_near(piece, near):
            left["far from the job"] += 1
        else:
            streets.append(
                Street(
                    name=called,
                    lon_deg=piece.lon_deg,
                    lat_deg=piece.lat_deg,
                    source=name,
                    credit="",
                )
            )
    if left["no name"] == len(pieces):
        msg = (
            f"{name}: has {len(pieces)} lines and none has a name; call the column with the "
            "streets' names 'name'"
        )
        raise ReadError(msg, file=name, lines=len(pieces))
    return streets, left


def _findings(name: str, count: int, left: Mapping[str, int]) -> tuple[Finding, ...]:
    if count:
        return ()
    told = ", ".join(f"{many} {why}" for why, many in sorted(left.items())) or "no line near it"
    text = f"has no named street near the job ({told}): no landmarks come from it"
    return (Finding(level="doubt", where=name, text=text),)


def read_streets(
    data: bytes, *, name: str, near: Near | None = None, datum_operation: str = ""
) -> StreetMap:
    """Read the named streets of a file that lie near the job.

    Of an OpenStreetMap extract only what people drive is taken; what lies farther away is not
    read from it, and so not counted.

    Parameters
    ----------
    data
        The file.
    name
        Its name relative to the job.
    near
        The job's surroundings, where streets are kept; None for everywhere.
    datum_operation
        Takes a GIS file's datum that is not WGS 84 there; see ``datums.datum_of``.

    Raises
    ------
    ReadError
        If it is no file of lines, is damaged, or none of its lines has a name.
    """
    sort = sort_of(data, name=name)
    if sort == "osm":
        streets, left = _from_extract(_extract(data, name=name, near=near), name)
    elif sort in {"gis", "kml"}:
        pieces = read_lines(data, name=name, datum_operation=datum_operation)
        streets, left = _from_lines(pieces, name, near)
    else:
        msg = (
            f"{name}: is {SORTS[sort]} by its content, no street map; give an OpenStreetMap "
            "extract (.osm, .osm.pbf) or a GIS file of lines with a column name"
        )
        raise ReadError(msg, file=name, found=sort)
    taken = {"streets": len(streets)}
    came_from = source(data, name=name, what="streets", taken=taken, skipped=left)
    return StreetMap(tuple(streets), came_from, _findings(name, len(streets), left))
