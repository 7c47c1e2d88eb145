"""One file that a job lists: read by what it holds, whatever it is called.

In go the key it is listed under, its name and bytes, out comes a ``Part``; a zip of other files
comes apart into them first.
"""

import zoneinfo
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import partial
from typing import NamedTuple

from routeprep import tables
from routeprep.errors import ReadError
from routeprep.kinds import KindTable
from routeprep.readers.fixtable import read_fixes_csv
from routeprep.readers.gpx import read_gpx
from routeprep.readers.kml import read_kml
from routeprep.readers.markstable import read_marks_csv, read_marks_points
from routeprep.readers.nearby import Near
from routeprep.readers.nmea import read_nmea
from routeprep.readers.parts import source
from routeprep.readers.photos import read_photo
from routeprep.readers.recordcolumns import Fields
from routeprep.readers.records import read_records
from routeprep.readers.sniff import SORTS, sort_of
from routeprep.readers.stationlist import read_station_list
from routeprep.readers.zipped import unpack
from routeprep.shapes import Finding, Part, Source

__all__ = ["How", "Opened", "opened", "read_listed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class How:
    """What of the job a reader needs: its kinds, its time zone and its datum operation.

    ``fields`` is what it says of each file of records, ``near`` its surroundings, beyond which
    records are counted only; None: all are read.
    """

    kinds: KindTable
    zone: zoneinfo.ZoneInfo
    datum_operation: str
    fields: Mapping[str, Fields] = field(default_factory=dict)
    near: Near | None = None


class Opened(NamedTuple):
    """The files that one listed file holds.

    Attributes
    ----------
    files
        Name and content: itself, or "log.zip/inner.gpx" for each file of a zip.
    zipped
        The zip, None for any other file.
    """

    files: tuple[tuple[str, bytes], ...]
    zipped: Source | None


def opened(data: bytes, *, name: str) -> Opened:
    """Unpack a zip of other files; any other file is itself.

    Parameters
    ----------
    data
        The file.
    name
        Its name relative to the job.
    """
    if sort_of(data, name=name) != "zip":
        return Opened(((name, data),), None)
    unpacked = unpack(data, name=name)
    zipped = source(
        data,
        name=name,
        what="zip",
        taken={"files": len(unpacked.files)},
        skipped={"hidden files": unpacked.hidden},
    )
    return Opened(tuple((f"{name}/{inner}", content) for inner, content in unpacked.files), zipped)


def _only_marks(part: Part) -> Part:
    """The marks of a file that is listed for its marks."""
    findings, fixes = part.findings, len(part.fixes)
    if fixes:
        text = (
            f"is listed under marks, so its {fixes} fixes are not used; list it under drives to "
            "use them"
        )
        findings = (*findings, Finding(level="doubt", where=part.source.name, text=text))
    return replace(
        part,
        fixes=tables.table(tables.FIXES, []),
        drive_names={},
        drive_by={},
        source=replace(
            part.source,
            what="marks",
            taken={"marks": count} if (count := len(part.marks)) else {},
            skipped={**part.source.skipped, **({"fixes": fixes} if fixes else {})},
        ),
        findings=findings,
    )


def _on_foot(part: Part) -> Part:
    """The file of somebody who walked: its marks are a walker's."""
    source = replace(part.source, what="walk") if len(part.fixes) else part.source
    method = part.marks["method"].where(part.marks["method"] != "vehicle", "walked")
    return replace(part, marks=part.marks.assign(method=method), source=source)


def _said_of(name: str, fields: Mapping[str, Fields]) -> Fields:
    """What the job says of a file, or of the zip that it came in."""
    said = [of for file, of in fields.items() if name == file or name.startswith(f"{file}/")]
    return said[0] if said else Fields()


def _readers(how: How, name: str) -> dict[str, dict[str, Callable[..., Part]]]:
    """The readers of each sort of file, by the key that it is listed under."""
    kinds = how.kinds
    records = partial(
        read_records,
        kinds=kinds,
        datum_operation=how.datum_operation,
        fields=_said_of(name, how.fields),
        near=how.near,
    )
    drives: dict[str, Callable[..., Part]] = {
        "xml": partial(read_gpx, kinds=kinds),
        "kml": partial(read_kml, kinds=kinds),
        "nmea": read_nmea,
        "csv": partial(read_fixes_csv, zone=how.zone),
    }
    return {
        "drives": drives,
        "walks": drives,
        "marks": {
            "xml": partial(read_gpx, kinds=kinds),
            "kml": partial(read_kml, kinds=kinds),
            "csv": partial(read_marks_csv, kinds=kinds, zone=how.zone),
            "gis": partial(
                read_marks_points,
                kinds=kinds,
                zone=how.zone,
                datum_operation=how.datum_operation,
            ),
            "stations": partial(read_station_list, kinds=kinds),
        },
        "records": dict.fromkeys(("xml", "kml", "csv", "gis"), records),
        "photos": {"photo": partial(read_photo, kinds=kinds, zone=how.zone)},
    }


def _elsewhere(sort: str, readers: Mapping[str, Mapping[str, object]]) -> str:
    """Where a file of a sort belongs."""
    keys = [key for key, by_sort in readers.items() if sort in by_sort]
    if sort == "osm":
        return "list it under streets"
    if keys:
        return f"list it under {' or '.join(keys)}"
    if sort == "zip":
        return "a zip within a zip is not opened, so unpack it"
    return "name it as the centerline of a leg"


def read_listed(data: bytes, *, name: str, key: str, how: How) -> Part:
    """Read one file that is no zip of others.

    Parameters
    ----------
    data
        The file.
    name
        Its name relative to the job.
    key
        What it is listed under: "drives", "walks", "marks", "records" or "photos".
    how
        What of the job its reader needs.

    Raises
    ------
    ReadError
        If it is of a sort that is not read under that key, or cannot be read.
    """
    sort, readers = sort_of(data, name=name), _readers(how, name)
    reader = readers[key].get(sort)
    if reader is None:
        msg = (
            f"{name}: is {SORTS[sort]} by its content, which is not read under {key}; "
            f"{_elsewhere(sort, readers)}"
        )
        raise ReadError(msg, file=name, found=sort)
    part = reader(data, name=name)
    if key == "walks":
        return _on_foot(part)
    return _only_marks(part) if key == "marks" and sort in {"xml", "kml"} else part
