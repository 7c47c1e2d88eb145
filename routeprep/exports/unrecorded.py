"""What was seen and stands in no file, for those who keep the files.

In goes a ``Pack``, out come rows: each thing that somebody saw, without a record, at a place that a
file of such things covers, with the files that were looked at and the nearest that they have.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely

from routeprep.geodesy import Plane, plane_at
from routeprep.kinds import KindTable
from routeprep.listing import rows
from routeprep.shapes import Pack
from routeprep.tables import rows_of

__all__ = ["UNRECORDED", "unrecorded"]

# The columns of unrecorded.csv, in their order.
UNRECORDED = (
    "no", "leg", "station", "kind", "name", "owner", "lon_deg", "lat_deg", "plus_minus_m",
    "status", "files", "why",
)  # fmt: skip

# A file covers the ground between its records and this far around them [m]: manholes of a sewer
# are rarely farther apart.  Recommended Standards for Wastewater Facilities, from memory: 400 ft
# on sewers of 15 in or less, 500 ft on those of 18 to 30 in.
_AROUND_M = 152.4

_IRON = "iron in the road"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _File:
    """The records of one file in a plane: their kinds, names, shapes and the ground they cover."""

    source: str
    kinds: tuple[str, ...]
    names: tuple[str, ...]
    shapes: npt.NDArray[np.object_]
    ground: shapely.Geometry


def _files(pack: Pack, plane: Plane) -> list[_File]:
    """The files of records by name, what they hold of kinds that are known."""
    known = pack.records[pack.records["kind"].isin(list(pack.settings.kinds.kinds))]
    files = []
    for source, rows_here in known.groupby("source", sort=True):
        shapes = shapely.transform(
            rows_here["geometry"].to_numpy(), lambda lonlat: plane.to_xy(*lonlat.T)
        )
        files.append(
            _File(
                source=str(source),
                kinds=tuple(rows_here["kind"]),
                names=tuple(rows_here["name"]),
                shapes=shapes,
                ground=shapely.convex_hull(shapely.GeometryCollection(shapes.tolist())).buffer(
                    _AROUND_M
                ),
            )
        )
    return files


def _is_alike(kinds: KindTable, seen: str, recorded: str) -> bool:
    """Whether a file that holds one kind is where the other would stand."""
    owner = kinds.kinds[seen].owner
    same_owner = bool(owner) and owner == kinds.kinds[recorded].owner
    return same_owner or kinds.same_thing(seen, recorded)


def _nearest(file: _File, kind: str, here: shapely.Point, kinds: KindTable) -> str:
    """The nearest record like a thing in a file that covers its place; empty when there is none."""
    alike = {code for code in set(file.kinds) if _is_alike(kinds, kind, code)}
    if not alike or not shapely.intersects(file.ground, here):
        return ""
    rows_here = [row for row, code in enumerate(file.kinds) if code in alike]
    away_m = shapely.distance(file.shapes[rows_here], here)
    at = int(np.argmin(away_m))
    row = rows_here[at]
    called = " ".join(part for part in (file.kinds[row], file.names[row]) if part)
    return (
        f"{file.source}: none of its {len(rows_here)} records of this sort is at this place, the "
        f"nearest ({called}) is {away_m[at]:.1f} m away"
    )


def _is_ownable(row: Mapping[str, Any], kinds: KindTable) -> bool:
    """Whether somebody saw it, no record is of it, and an owner's file could hold it."""
    kind = kinds.kinds.get(str(row["kind"]))
    could = kind is not None and (bool(kind.owner) or kind.group == _IRON)
    return could and bool(row["mark_ids"]) and not row["record_ids"] and not row["struck"]


def unrecorded(pack: Pack) -> list[dict[str, object]]:
    """The rows of ``unrecorded.csv``, in the order of the list.

    Parameters
    ----------
    pack
        Kinds without an owner, such as a patch, stand in nobody's file and are left out; so is
        what lies beyond all files.
    """
    kinds = pack.settings.kinds
    listed = [row for row in rows_of(rows(pack)) if _is_ownable(row, kinds)]
    if not listed or pack.records.empty:
        return []
    plane = plane_at(float(listed[0]["lon_deg"]), float(listed[0]["lat_deg"]))
    files = _files(pack, plane)
    lonlat = np.array([(row["lon_deg"], row["lat_deg"]) for row in listed], dtype=np.float64)
    places = plane.to_xy(lonlat[:, 0], lonlat[:, 1])
    found = []
    for row, place in zip(listed, places.tolist(), strict=True):
        here = shapely.Point(place)
        told = {file.source: _nearest(file, row["kind"], here, kinds) for file in files}
        looked = [source for source, text in told.items() if text]
        if looked:
            own = {
                "owner": kinds.kinds[row["kind"]].owner,
                "files": "; ".join(looked),
                "why": "; ".join(told[source] for source in looked),
            }
            found.append({name: own.get(name, row.get(name, "")) for name in UNRECORDED})
    return found
