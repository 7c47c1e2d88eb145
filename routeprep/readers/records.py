"""Records: things taken from somebody's file, with what the file says of them.

In go bytes of points, lines or polygons, out comes a ``Part`` with records.  What each column
means is as the job says or guessed, and it is said; what is outside the job's surroundings is
counted.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd
import shapely

from routeprep import tables
from routeprep.errors import ReadError
from routeprep.identity import Item, item_ids
from routeprep.kinds import KindTable
from routeprep.readers.gis import read_layers
from routeprep.readers.kml import kml_features
from routeprep.readers.nearby import SAMPLE, Near, outside
from routeprep.readers.parts import counted, make_part, shown, source
from routeprep.readers.recordcolumns import Fields, RecordColumns, record_columns
from routeprep.readers.sniff import sort_of
from routeprep.readers.vector import read_points
from routeprep.shapes import Finding, Part

__all__ = ["read_records"]

Geometries = npt.NDArray[np.object_]
Flags = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]

# So many values that are not understood are named.
_NAMED = 5
_OUTSIDE = "outside the job's surroundings"
_NOTHING_SAID = Fields()


def _usable(geometry: Geometries, near: Near | None) -> tuple[Flags, Counter[str]]:
    """Which geometries can be used, and counts of those that cannot, by reason."""
    bounds = shapely.bounds(geometry)
    empty = np.isnan(bounds).all(axis=1)
    limits = np.array([180.0, 90.0, 180.0, 90.0])
    off = ~empty & ~(np.abs(bounds) <= limits).all(axis=1)
    out = outside(geometry, near)
    invalid = ~empty & ~off & ~out & ~shapely.is_valid(geometry)
    skipped = Counter(
        {
            "features without geometry": int(empty.sum()),
            "features off the globe": int(off.sum()),
            "features with invalid geometry": int(invalid.sum()),
            _OUTSIDE: int(out.sum()),
        }
    )
    return ~(empty | off | out | invalid), skipped


def _unknown(kept: Sequence[tuple[str, str]]) -> str:
    """The values of the kind that are not understood, the most frequent named; empty when all are.

    Parameters
    ----------
    kept
        Of each record its code and what the file says for its kind.
    """
    values = Counter(said for code, said in kept if not code)
    if not values:
        return ""
    most = sorted(values.items(), key=lambda one: (-one[1], one[0]))
    named = ", ".join(
        f"{shown(said) if said else 'nothing'} ({count:,})" for said, count in most[:_NAMED]
    )
    more = f" and {len(most) - _NAMED:,} more values" if len(most) > _NAMED else ""
    return (
        f"the kind of {values.total():,} of {len(kept):,} records is not understood: {named}{more};"
        " they stand under not on the list; name the field or the kind with [[records]] in the job "
        "file, or add words with [[kind]]"
    )


def _findings(
    columns: RecordColumns,
    kept: Sequence[int],
    skipped: Mapping[str, int],
    *,
    name: str,
    outside_of: int,
) -> Iterator[Finding]:
    mend = "; if wrong, say it with [[records]] in the job file"
    mend = mend if "(guessed)" in columns.told else ""
    yield Finding(level="note", where=name, text=f"{columns.told}{mend}")
    unknown = _unknown([(columns.codes[row], columns.said_kinds[row]) for row in kept])
    if unknown:
        yield Finding(level="doubt", where=name, text=unknown)
    for reason, count in skipped.items():
        if count and reason != _OUTSIDE:
            yield Finding(level="doubt", where=name, text=f"{count} {reason} left out")
    count = skipped[_OUTSIDE]
    if count:
        all_out = count == outside_of
        text = f"{count:,} of {outside_of:,} features are {_OUTSIDE} and are not read further"
        text += "; see whether this is the right file and its coordinate system" if all_out else ""
        yield Finding(level="doubt" if all_out else "note", where=name, text=text)


class _Features(NamedTuple):
    """The things of a file: attributes, geometry [deg], and what each one's datum adds [m].

    ``sample`` are its first rows, ``left_out`` how many are outside and were not read.
    """

    frame: pd.DataFrame
    geometry: Geometries
    datum_sd_m: Floats
    said: tuple[str, ...]
    sample: pd.DataFrame
    left_out: int


def _features(data: bytes, *, name: str, datum_operation: str, near: Near | None) -> _Features:
    sort = sort_of(data, name=name)
    if sort == "kml":
        frame, shapes = kml_features(data, name=name)
        return _Features(frame, shapes, np.zeros(len(shapes)), (), frame.head(SAMPLE), 0)
    if sort != "gis":
        frame, lon_deg, lat_deg, *_ = read_points(data, name=name)
        points = np.array(shapely.points(np.c_[lon_deg, lat_deg]), dtype=object)
        return _Features(frame, points, np.zeros(len(points)), (), frame.head(SAMPLE), 0)
    read = read_layers(data, name=name, datum_operation=datum_operation, near=near)
    frame = pd.DataFrame(read.frame.drop(columns=read.frame.geometry.name))
    return _Features(
        frame, read.frame.geometry.to_numpy(), read.datum_sd_m, read.said, read.sample,
        read.left_out,
    )  # fmt: skip


def _table(
    found: _Features, columns: RecordColumns, kept: Sequence[int], *, name: str
) -> pd.DataFrame:
    """The table of records of the rows that are kept."""
    codes, names = columns.codes, columns.names
    places = shapely.point_on_surface(found.geometry[kept]).tolist()
    items = [
        Item(None, place.x, place.y, f"{codes[row]} {names[row]}")
        for place, row in zip(places, kept, strict=True)
    ]
    rows = [
        {
            "record_id": record_id,
            "kind": codes[row],
            "owner": columns.owners[row],
            "name": names[row],
            "source": name,
            "datum_sd_m": found.datum_sd_m[row],
            "geometry": found.geometry[row],
        }
        for record_id, row in zip(item_ids("record", items), kept, strict=True)
    ]
    return tables.table(tables.RECORDS, rows)


def read_records(
    data: bytes,
    *,
    name: str,
    kinds: KindTable,
    datum_operation: str = "",
    fields: Fields = _NOTHING_SAID,
    near: Near | None = None,
) -> Part:
    """Read the things of somebody's file: points, lines and polygons.

    Parameters
    ----------
    data
        The file: any that GIS reads, KML, a CSV with longitude and latitude, or waypoints of GPX.
    name
        Its name relative to the job; a name such as "city-hydrants.geojson" says a kind.
    kinds
        To find the kind of each.
    datum_operation
        Takes a GIS file's datum that is not WGS 84 there; see ``datums.datum_of``.
    fields
        What the job says of its columns; the rest is guessed, and said.
    near
        The job's surroundings; what lies outside is counted only.  None: all is read.

    Raises
    ------
    ReadError
        If nothing in it can be used, or it lacks a column that the job names.
    """
    found = _features(data, name=name, datum_operation=datum_operation, near=near)
    usable, skipped = _usable(found.geometry, near)
    skipped[_OUTSIDE] += found.left_out
    if not usable.any() and not skipped[_OUTSIDE]:
        lost = counted(skipped)
        msg = f"{name}: has no feature that can be used ({lost or 'it is empty'}); export it again"
        raise ReadError(msg, file=name, skipped=dict(skipped))
    columns = record_columns(found.frame, found.sample, fields, name=name, kinds=kinds)
    rows = np.flatnonzero(usable).tolist()
    all_of_it = len(found.frame) + found.left_out
    return make_part(
        source(data, name=name, what="records", taken={"records": len(rows)}, skipped=skipped),
        records=_table(found, columns, rows, name=name),
        findings=(
            *(Finding(level="note", where=name, text=text) for text in found.said),
            *_findings(columns, rows, skipped, name=name, outside_of=all_of_it),
        ),
    )
