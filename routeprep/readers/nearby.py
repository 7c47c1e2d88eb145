"""The surroundings of a job: of an owner's big file only what lies in them is read.

In go the places of drives and lines, out comes a box that is a little wider; in goes geometry in
degrees, out comes which of it is outside.  What a record is called and which columns of its file
say what must not hang on the box, or a further drive would change numbers: see ``SAMPLE``.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import shapely

from routeprep.datums import system_of
from routeprep.elements import place_on
from routeprep.errors import LineError
from routeprep.geodesy import destinations
from routeprep.grids import grid_of
from routeprep.lines import Alignment, LinePiece
from routeprep.shapes import Part, Settings

__all__ = ["SAMPLE", "Box", "Near", "box_in", "near_of", "outside", "surroundings"]

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

# What the columns of a file mean is guessed from so many of its first rows, wherever they lie.
SAMPLE = 5_000

# How far beyond drives and lines records are read [m]: farther than any record that can be on a
# leg (30 m) and than GPS is wrong among buildings.  Common practice, no source.
_MARGIN_M = 150.0

# A designed alignment is followed in steps of this [m], less than the margin.
_STEP_M = 100.0

# Of a side of the box in a file's own system so many points are taken, since it is curved there.
_SIDE = 9
# The box in a file's own degrees is wider by this [deg]: datums differ by less than 300 m.
_DATUM_DEG = 0.005
# Places are compared as ids count them, so that two records of one id are both in or out.
_DECIMALS = 7
_GLOBE_DEG = np.array([180.0, 90.0, 180.0, 90.0])


@dataclass(frozen=True, slots=True, kw_only=True)
class Near:
    """A box in WGS 84 [deg]."""

    west_deg: float
    south_deg: float
    east_deg: float
    north_deg: float


class Box(NamedTuple):
    """A box in a file's own coordinates."""

    west: float
    south: float
    east: float
    north: float


def near_of(places: Iterable[tuple[Floats, Floats]]) -> Near | None:
    """The surroundings of all places; None when there is none, or they lie round the globe.

    Parameters
    ----------
    places
        Longitudes and latitudes [deg]; those that are not finite do not count.
    """
    known = [np.column_stack(place) for place in places]
    lonlat = np.concatenate(known) if known else np.empty((0, 2))
    lonlat = lonlat[np.isfinite(lonlat).all(axis=1)]
    if not len(lonlat):
        return None
    (west, south), (east, north) = lonlat.min(axis=0), lonlat.max(axis=0)
    # A degree of longitude is shortest farthest from the equator.
    lat = south if abs(south) > abs(north) else north
    lon_deg, lat_deg, _ = destinations(
        np.array([west, east, west, west]),
        np.array([lat, lat, south, north]),
        azimuth_deg=np.array([270.0, 90.0, 180.0, 0.0]),
        length_m=np.full(4, _MARGIN_M),
    )
    box = Near(
        west_deg=float(lon_deg[0]), south_deg=float(lat_deg[2]),
        east_deg=float(lon_deg[1]), north_deg=float(lat_deg[3]),
    )  # fmt: skip
    return box if box.west_deg < west and east < box.east_deg else None


def box_in(near: Near, crs: str, *, datum_operation: str) -> Box | None:
    """The surroundings in the system of a file, never smaller; None where it has no place there.

    Parameters
    ----------
    near
        The surroundings.
    crs, datum_operation
        See ``grids.grid_of``.
    """
    lon = np.linspace(near.west_deg, near.east_deg, _SIDE)
    lat = np.linspace(near.south_deg, near.north_deg, _SIDE)
    try:
        if not system_of(crs).crs.is_projected:
            return Box(
                near.west_deg - _DATUM_DEG, near.south_deg - _DATUM_DEG,
                near.east_deg + _DATUM_DEG, near.north_deg + _DATUM_DEG,
            )  # fmt: skip
        grid = grid_of(crs, datum_operation=datum_operation)
    except LineError:
        return None
    all_lon, all_lat = (values.ravel() for values in np.meshgrid(lon, lat))
    xy = grid.to_xy(all_lon, all_lat) / grid.unit_m
    if not np.isfinite(xy).all():
        return None
    low, high = xy.min(axis=0), xy.max(axis=0)
    # Between the points a side bulges by less than this share of the box.
    spare = (high - low) / _SIDE
    return Box(*(low - spare).tolist(), *(high + spare).tolist())


def outside(geometry: npt.NDArray[np.object_], near: Near | None) -> Flags:
    """Which features lie outside the surroundings; none that is empty or off the globe.

    Parameters
    ----------
    geometry
        In WGS 84 [deg].
    near
        The surroundings; None for everywhere.
    """
    if near is None:
        return np.zeros(len(geometry), dtype=bool)
    bounds = np.round(shapely.bounds(geometry), _DECIMALS)
    with np.errstate(invalid="ignore"):
        known = (np.abs(bounds) <= _GLOBE_DEG).all(axis=1)
        west, south, east, north = bounds.T
        beside = (east < near.west_deg) | (west > near.east_deg)
        beyond = beside | (north < near.south_deg) | (south > near.north_deg)
        return np.asarray(known & beyond, dtype=bool)


def _on_alignment(alignment: Alignment, crs: str, datum_operation: str) -> tuple[Floats, Floats]:
    """Places along a designed alignment [deg].

    Raises
    ------
    LineError
        If nobody says which plane it is in, or that plane cannot be used.
    """
    length_m = float(alignment.length_m.sum())
    along_m = np.linspace(0.0, length_m, int(length_m / _STEP_M) + 2)
    xy_m, _ = place_on(alignment, along_m, np.zeros(len(along_m)))
    return grid_of(alignment.crs or crs, datum_operation=datum_operation).to_lonlat(xy_m)


def _places(
    parts: Sequence[Part],
    pieces: Iterable[LinePiece],
    alignments: Mapping[str, Alignment],
    settings: Settings,
) -> Iterator[tuple[Floats, Floats]]:
    for part in parts:
        yield part.fixes["lon_deg"].to_numpy(), part.fixes["lat_deg"].to_numpy()
    for piece in pieces:
        yield piece.lon_deg, piece.lat_deg
    crs = {leg.code: leg.crs for leg in settings.legs}
    for code, alignment in alignments.items():
        yield _on_alignment(alignment, crs[code], settings.datum_operation)


def surroundings(
    parts: Sequence[Part],
    pieces: Iterable[LinePiece],
    alignments: Mapping[str, Alignment],
    settings: Settings,
) -> Near | None:
    """The surroundings of a job's drives and lines; None when there are none, or one has no place.

    Parameters
    ----------
    parts
        With the drives.
    pieces
        Of all centerlines.
    alignments
        Leg code to its designed alignment.
    settings
        The job, for the planes of alignments.
    """
    try:
        return near_of(_places(parts, pieces, alignments, settings))
    except LineError:
        # What is wrong with the alignment is said where its leg is made.
        return None
