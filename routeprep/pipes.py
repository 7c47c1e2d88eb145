"""Recorded sewer and storm pipes to places where a manhole should be and none is known.

In go records with lines among them, the list and a leg, out come places on the leg: ends and
bends of a pipe without a manhole near, and lengths of pipe too long to have none.
"""

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
import shapely

from routeprep.geodesy import Plane, plane_at
from routeprep.kinds import KindTable
from routeprep.locating import locate
from routeprep.shapes import Leg
from routeprep.spreads import HALF_95
from routeprep.tables import rows_of
from routeprep.units import to_m

__all__ = ["MOST_APART_M", "Pipe", "PipePlace", "missing_at", "pipes_of"]

Floats = npt.NDArray[np.float64]

# Sewer manholes are at most this far apart on lines of 15 in or less, 400 ft; 500 ft on 18 to
# 30 in.  They stand at each end and at each change of direction.  Recommended Standards for
# Wastewater Facilities (from memory).
MOST_APART_M = to_m(400.0, "ft")

# A drawn line turns, and does not wobble, by this and more [deg], once what is within the first
# value [m] of straight is taken as straight.  Common practice, no source.
_WOBBLE_M, _BEND_DEG = 1.0, 10.0
# A manhole is that of a pipe when it is this near [m], or as near as its own 95 % interval; the
# ends of pipes that meet are one place within as much.  Common practice, no source.
_NEAR_M = 8.0
# Pipes within this of a leg's frame are looked at [deg], about 500 ft.
_FRAME_DEG = 0.0015
# Along a pipe the road is looked for this often [m].
_STEP_M = 5.0
# Words by which a file says what a pipe is; a house's own pipe has no manhole.  Common practice,
# no source.
_SAYS = {"storm": ("storm", "drain"), "sewer": ("sewer", "sanitary")}
_HOUSE = ("lateral", "service")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pipe:
    """One piece of a recorded pipe.

    Attributes
    ----------
    carries
        "sewer" or "storm".
    record_id, owner, source
        Of its record.
    lon_deg, lat_deg
        Its vertices [deg].
    """

    carries: str
    record_id: str
    owner: str
    source: str
    lon_deg: Floats
    lat_deg: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class PipePlace:
    """Where a manhole is missing.

    Attributes
    ----------
    pipe
        Of which pipe.
    what
        "end", "bend", or "gap" for a length of pipe.
    from_m, to_m, offset_m
        Where on the leg [m]; ``from_m`` and ``to_m`` are one for an end or a bend.
    length_m
        Of the pipe without a manhole [m]; NaN for an end or a bend.
    """

    pipe: Pipe
    what: str
    from_m: float
    to_m: float
    offset_m: float
    length_m: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Covers:
    """Known manholes in a plane [m], and how near each is taken as near [m]."""

    xy_m: Floats
    near_m: Floats

    def at(self, xy_m: Floats) -> bool:
        """Whether one stands at a point [m]."""
        return bool(np.any(np.hypot(*(self.xy_m - xy_m).T) <= self.near_m))

    def around(self, xy_m: Floats) -> list[tuple[list[float], float]]:
        """Place and nearness [m] of those near the frame of a line's points [m]."""
        most_m = 2 * _NEAR_M
        low, high = xy_m.min(axis=0) - most_m, xy_m.max(axis=0) + most_m
        inside = np.all((self.xy_m >= low) & (self.xy_m <= high), axis=1)
        return list(zip(self.xy_m[inside].tolist(), self.near_m[inside].tolist(), strict=True))


def _carries(record: Mapping[str, Any], kinds: KindTable) -> str:
    """What a recorded line carries: by its kind, its name or its file's name; empty for neither."""
    kind = kinds.kinds.get(record["kind"])
    if kind is not None:
        return kind.owner if kind.owner in _SAYS else ""
    text = f"{record['name']} {record['source']}".lower()
    if any(word in text for word in _HOUSE):
        return ""
    return next((what for what, said in _SAYS.items() if any(one in text for one in said)), "")


def pipes_of(records: pd.DataFrame, kinds: KindTable) -> list[Pipe]:
    """The sewer and storm pipes among records: lines that say so.

    Parameters
    ----------
    records
        Table ``tables.RECORDS``.
    kinds
        The job's kinds.
    """
    sorts = shapely.get_type_id(records["geometry"].to_numpy())
    lines = np.isin(sorts, [shapely.GeometryType.LINESTRING, shapely.GeometryType.MULTILINESTRING])
    pipes = []
    for record in rows_of(records[lines]):
        carries = _carries(record, kinds)
        for part in shapely.get_parts(record["geometry"]) if carries else ():
            lon_deg, lat_deg = shapely.get_coordinates(part).T
            pipes.append(
                Pipe(
                    carries=carries,
                    record_id=record["record_id"],
                    owner=record["owner"],
                    source=record["source"],
                    lon_deg=lon_deg.copy(),
                    lat_deg=lat_deg.copy(),
                )
            )
    return pipes


def _in_frame(pipe: Pipe, leg: Leg) -> bool:
    """Whether a pipe comes near the frame of a leg."""
    line = leg.line
    return all(
        own.max() >= around.min() - _FRAME_DEG and own.min() <= around.max() + _FRAME_DEG
        for own, around in ((pipe.lon_deg, line.lon_deg), (pipe.lat_deg, line.lat_deg))
    )


def _covers(obstructions: pd.DataFrame, carries: str, plane: Plane, kinds: KindTable) -> _Covers:
    """Everything on the list that can be a manhole or inlet of such a pipe."""
    fits = {
        code
        for code, kind in kinds.kinds.items()
        if any(kinds.kinds[one].owner == carries for one in (code, *kind.may_be))
    }
    own = obstructions[obstructions["kind"].isin(fits)]
    half_m = HALF_95 * np.hypot(own["along_sd_m"].to_numpy(), own["offset_sd_m"].to_numpy())
    return _Covers(
        xy_m=plane.to_xy(own["lon_deg"].to_numpy(), own["lat_deg"].to_numpy()),
        near_m=np.clip(half_m, _NEAR_M, 2 * _NEAR_M),
    )


def _nodes(xy_m: Floats) -> list[tuple[int, str]]:
    """Vertices of a line [m] where a manhole belongs: its ends, and where it turns."""
    step = np.diff(xy_m, axis=0)
    heading = np.degrees(np.arctan2(step[:, 1], step[:, 0]))
    turn = np.abs((np.diff(heading) + 180.0) % 360.0 - 180.0)
    bends = [(int(at) + 1, "bend") for at in np.flatnonzero(turn >= _BEND_DEG)]
    return [(0, "end"), *bends, (len(xy_m) - 1, "end")]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _OnRoad:
    """What puts points of a plane on a leg and drops what the cut cannot meet."""

    leg: Leg
    plane: Plane
    edge_m: float

    def places(self, xy_m: Floats) -> Floats:
        """Along and offset [m] of those of the points [m] that lie on the road."""
        lon_deg, lat_deg = self.plane.to_lonlat(xy_m)
        found = locate(self.leg.line, lon_deg, lat_deg)
        inside = (found.distance_m <= self.edge_m) & (found.past_end_m == 0)
        places: Floats = np.column_stack([found.along_m, found.offset_m])[inside]
        return places


def _of_pipe(pipe: Pipe, covers: _Covers, road: _OnRoad) -> list[PipePlace]:
    """Where one pipe lacks a manhole on the road."""
    drawn = shapely.LineString(road.plane.to_xy(pipe.lon_deg, pipe.lat_deg)).simplify(_WOBBLE_M)
    xy_m = shapely.get_coordinates(drawn)
    nodes = _nodes(xy_m)
    found = [
        PipePlace(
            pipe=pipe, what=what, from_m=along_m, to_m=along_m, offset_m=offset_m,
            length_m=math.nan,
        )
        for at, what in nodes
        if not covers.at(xy_m[at])
        for along_m, offset_m in road.places(xy_m[[at]]).tolist()
    ]  # fmt: skip
    known = [
        shapely.Point(*one)
        for one, near_m in covers.around(xy_m)
        if drawn.distance(shapely.Point(*one)) <= near_m
    ]
    stops = [*known, *(shapely.Point(*xy_m[at]) for at, _ in nodes)]
    stops_m = np.sort([drawn.project(stop) for stop in stops]).tolist()
    for first_m, last_m in itertools.pairwise(stops_m):
        length_m = last_m - first_m
        if length_m > MOST_APART_M:
            at_m = np.linspace(first_m, last_m, math.ceil(length_m / _STEP_M) + 1)
            places = road.places(shapely.get_coordinates(drawn.interpolate(at_m)))
            if len(places):
                found.append(_gap(pipe, places, length_m=length_m))
    return found


def _gap(pipe: Pipe, places: Floats, *, length_m: float) -> PipePlace:
    along_m, offset_m = places.T
    return PipePlace(
        pipe=pipe,
        what="gap",
        from_m=float(along_m.min()),
        to_m=float(along_m.max()),
        offset_m=float(offset_m.mean()),
        length_m=length_m,
    )


def missing_at(
    pipes: Sequence[Pipe],
    obstructions: pd.DataFrame,
    leg: Leg,
    *,
    kinds: KindTable,
    edge_m: float,
) -> list[PipePlace]:
    """Where recorded pipes have an end, a bend or a long piece on a leg and no manhole is known.

    Ends that meet are one place.

    Parameters
    ----------
    pipes
        Of the whole job.
    obstructions
        Table ``tables.OBSTRUCTIONS``: what is known, seen or not.
    leg
        The leg.
    kinds
        The job's kinds.
    edge_m
        How far from the line the road reaches [m].
    """
    line = leg.line
    plane = plane_at(float(line.lon_deg.mean()), float(line.lat_deg.mean()))
    road = _OnRoad(leg=leg, plane=plane, edge_m=edge_m)
    found: list[PipePlace] = []
    for carries in _SAYS:
        near = [pipe for pipe in pipes if pipe.carries == carries and _in_frame(pipe, leg)]
        covers = _covers(obstructions, carries, plane, kinds)
        places = [one for pipe in near for one in _of_pipe(pipe, covers, road)]
        found += _once(sorted(places, key=lambda one: (one.from_m, one.what, one.pipe.record_id)))
    return found


def _once(places: Sequence[PipePlace]) -> list[PipePlace]:
    """Ends and bends of pipes that meet in one place, once; gaps as they are."""
    kept: list[PipePlace] = []
    for one in places:
        same = (
            math.hypot(one.from_m - other.from_m, one.offset_m - other.offset_m) <= _NEAR_M
            for other in kept
            if other.what != "gap"
        )
        if one.what == "gap" or not any(same):
            kept.append(one)
    return kept
