"""Points against a leg's line: along, offset, past an end, and the other place if there is one.

In go longitudes and latitudes, out come arrays in the points' order.  Nothing clamps: past an
end ``along_m`` is negative or beyond the length and ``past_end_m`` says by how much.  On a
designed alignment places are those of its elements, in its own plane; on any other line they are
those of its segments, in planes near the points.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt
import shapely

from routeprep.elements import OnElements, locate_near_on, locate_on, place_on
from routeprep.geodesy import Plane, bearings_deg, destinations, ground_factor, plane_at
from routeprep.grids import Grid, grid_of
from routeprep.lines import Alignment, Centerline
from routeprep.planar import Feet, Polyline

__all__ = ["Places", "locate", "locate_near", "place", "runners_up"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

# A plane serves points within this much longitude of its centre [deg]: about 8.5 km at 40
# degrees north, where its scale is 1 + 1e-6 (transverse Mercator: 1 + x^2 / 2R^2).
_HALF_ZONE_DEG = 0.1
# So many points, or points with windows, are looked at together, so that memory does not grow
# with their number.
_CHUNK, _WINDOWS = 100_000, 5_000
# The nearest place on an alignment is this near along to that on its chords [m]: chords leave it
# by centimetres, and a foot moves by no more than the offset times the chord's turn.
_CHORD_TO_ARC_M = 5.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Places:
    """Where points are against one line.

    Attributes
    ----------
    along_m
        Ground distance from the line's start [m]; below 0 or above the length past an end, NaN
        for a point without coordinates.
    offset_m
        Distance from the line, right positive looking up-station [m].
    past_end_m
        How far past an end, measured along the end segment drawn on [m]; 0 elsewhere.
    distance_m
        Distance from the nearest point of the line itself [m].
    """

    along_m: Floats
    offset_m: Floats
    past_end_m: Floats
    distance_m: Floats


def _zones(line: Centerline, lon_deg: Floats) -> tuple[Ints, Floats]:
    """Zone of each point and the centre longitude of each zone [deg]."""
    west, east = float(line.lon_deg.min()), float(line.lon_deg.max())
    count = max(1, int(np.ceil((east - west) / (2 * _HALF_ZONE_DEG))))
    width = (east - west) / count if count > 1 else 1.0
    index = np.floor((np.nan_to_num(lon_deg, nan=west) - west) / width)
    zone = np.clip(index, 0, count - 1).astype(np.int64)
    centres = west + (np.arange(count) + 0.5) * (east - west) / count
    return zone, centres


def _along(line: Centerline, feet: Feet) -> tuple[Floats, Floats]:
    """``along_m`` and ``past_end_m`` of feet on the line."""
    here = np.maximum(feet.segment, 0)
    size_m = np.diff(line.along_m)[here]
    along_m = line.along_m[here] + feet.fraction * size_m
    past_m = np.maximum(0.0, np.maximum(-along_m, along_m - line.length_m))
    inside = (feet.fraction >= 0.0) & (feet.fraction <= 1.0)
    return along_m, np.where(inside, 0.0, past_m)


def _in_zones(
    line: Centerline, lon_deg: Floats, lat_deg: Floats
) -> "list[tuple[Ints, Polyline, Floats]]":
    """For each zone with points: their indices, the line in its plane, the points in its plane."""
    zone, centres = _zones(line, lon_deg)
    parts = []
    for number, centre in enumerate(centres):
        rows = np.flatnonzero(zone == number)
        if len(rows):
            plane, polyline = _flat(line, float(centre))
            parts.append((rows, polyline, plane.to_xy(lon_deg[rows], lat_deg[rows])))
    return parts


@lru_cache(maxsize=16)
def _flat(line: Centerline, lon_deg: float) -> tuple[Plane, Polyline]:
    """The line in the plane of a zone, kept since many drives ask for the same one."""
    plane = plane_at(lon_deg, float(line.lat_deg.mean()))
    return plane, Polyline(plane.to_xy(line.lon_deg, line.lat_deg))


def _best_of(polyline: Polyline, xy: Floats, low: Ints, high: Ints) -> Ints:
    """Segment nearest to each point among its low to high; -1 for a point that is not finite."""
    best = np.full(len(xy), -1, dtype=np.int64)
    finite = np.flatnonzero(np.isfinite(xy).all(axis=1))
    for begin in range(0, len(finite), _WINDOWS):
        rows = finite[begin : begin + _WINDOWS]
        counts = high[rows] - low[rows] + 1
        first = np.cumsum(counts) - counts
        point = np.repeat(rows, counts)
        segment = low[point] + np.arange(len(point)) - np.repeat(first, counts)
        distance_m = polyline.feet_on(xy[point], segment).distance_m
        best[rows] = segment[np.lexsort((segment, distance_m, point))[first]]
    return best


class _Chords:
    """A line whose segments are all there is of it."""

    def __init__(self, line: Centerline) -> None:
        self.line = line

    def _on(self, count: int, parts: "Iterable[tuple[Ints, Feet]]") -> Places:
        """Places of so many points from the feet of some of them at a time."""
        names = ("along_m", "offset_m", "past_end_m", "distance_m")
        out = {name: np.full(count, np.nan) for name in names}
        for rows, feet in parts:
            out["along_m"][rows], out["past_end_m"][rows] = _along(self.line, feet)
            out["offset_m"][rows], out["distance_m"][rows] = feet.offset_m, feet.distance_m
        return Places(**out)

    def nearest(self, lon_deg: Floats, lat_deg: Floats) -> Places:
        """Places of points [deg], each on its nearest segment."""
        zones = _in_zones(self.line, lon_deg, lat_deg)
        return self._on(len(lon_deg), ((rows, line.feet(xy)) for rows, line, xy in zones))

    def near(self, lon_deg: Floats, lat_deg: Floats, *, near_m: Floats, window_m: float) -> Places:
        """Places of points [deg] on the segments around known distances along [m]."""
        along_m, last = self.line.along_m, len(self.line.along_m) - 2
        lon_deg = np.where(np.isfinite(near_m), lon_deg, np.nan)
        low = np.clip(np.searchsorted(along_m, near_m - window_m) - 1, 0, last)
        high = np.clip(np.searchsorted(along_m, near_m + window_m) - 1, low, last)

        def feet(rows: Ints, polyline: Polyline, xy: Floats) -> Feet:
            """Feet of points of a plane [m], each on the best segment of its window."""
            return polyline.feet_on(xy, _best_of(polyline, xy, low[rows], high[rows]))

        zones = _in_zones(self.line, lon_deg, lat_deg)
        return self._on(len(lon_deg), ((rows, feet(rows, line, xy)) for rows, line, xy in zones))

    def settled(self, lon_deg: Floats, lat_deg: Floats, along_m: Floats) -> Floats:
        """Distances along [m] as they are: what was found on the segments is final."""
        del lon_deg, lat_deg
        return along_m

    def put(self, along_m: Floats, offset_m: Floats) -> tuple[Floats, Floats]:
        """Degrees of places [m], by geodesics: along the segment, then square to it."""
        line, last = self.line, len(self.line.along_m) - 2
        here = np.clip(np.searchsorted(line.along_m, along_m, side="right") - 1, 0, last)
        ends = np.column_stack([here, here + 1]).ravel()
        azimuth_deg = bearings_deg(line.lon_deg[ends], line.lat_deg[ends])[::2]
        factor = ground_factor(line.elevation_m)
        lon, lat, onward_deg = destinations(
            line.lon_deg[here],
            line.lat_deg[here],
            azimuth_deg=azimuth_deg,
            length_m=(along_m - line.along_m[here]) / factor,
        )
        lon, lat, _ = destinations(lon, lat, azimuth_deg=onward_deg + 90.0, length_m=offset_m)
        return lon, lat


class _Elements:
    """A designed alignment: places are exact on its elements, lengths those of its plane."""

    def __init__(self, alignment: Alignment, grid: Grid) -> None:
        self.alignment = alignment
        self.grid = grid

    def nearest(self, lon_deg: Floats, lat_deg: Floats) -> Places:
        """Places of points [deg], each on its nearest element."""
        return _places_of(locate_on(self.alignment, self.grid.to_xy(lon_deg, lat_deg)))

    def near(self, lon_deg: Floats, lat_deg: Floats, *, near_m: Floats, window_m: float) -> Places:
        """Places of points [deg] on the elements around known distances along [m]."""
        xy_m = self.grid.to_xy(lon_deg, lat_deg)
        return _places_of(locate_near_on(self.alignment, xy_m, near_m=near_m, window_m=window_m))

    def settled(self, lon_deg: Floats, lat_deg: Floats, along_m: Floats) -> Floats:
        """Distances along [m] that were found on the chords, finished on the elements."""
        window_m = _CHORD_TO_ARC_M
        return self.near(lon_deg, lat_deg, near_m=along_m, window_m=window_m).along_m

    def put(self, along_m: Floats, offset_m: Floats) -> tuple[Floats, Floats]:
        """Degrees of places [m], in the plane: along the elements and square to them."""
        return self.grid.to_lonlat(place_on(self.alignment, along_m, offset_m)[0])


def _places_of(found: OnElements) -> Places:
    return Places(
        along_m=found.along_m,
        offset_m=found.offset_m,
        past_end_m=found.past_end_m,
        distance_m=found.distance_m,
    )


def _road(line: Centerline) -> _Chords | _Elements:
    """What finds places on a line."""
    if line.alignment is None:
        return _Chords(line)
    return _Elements(line.alignment, grid_of(line.crs, datum_operation=line.datum_operation))


def locate(line: Centerline, lon_deg: Floats, lat_deg: Floats) -> Places:
    """Nearest place on the line of each point.

    Parameters
    ----------
    line
        The leg's line.
    lon_deg, lat_deg
        Points [deg]; a point with NaN gets NaN.
    """
    return _road(line).nearest(lon_deg, lat_deg)


def locate_near(
    line: Centerline, lon_deg: Floats, lat_deg: Floats, *, near_m: Floats, window_m: float
) -> Places:
    """Nearest place of each point on the part of the line around a known distance along.

    Parameters
    ----------
    line
        The leg's line.
    lon_deg, lat_deg
        Points [deg].
    near_m
        For each point, the distance along that it must be near [m]; NaN gives NaN.
    window_m
        How far along from there to look [m].
    """
    return _road(line).near(lon_deg, lat_deg, near_m=near_m, window_m=window_m)


def runners_up(
    line: Centerline,
    lon_deg: Floats,
    lat_deg: Floats,
    places: Places,
    *,
    within_m: float,
    apart_m: float,
) -> Floats:
    """Distance along [m] of another place nearly as near, NaN where there is none.

    Parameters
    ----------
    line
        The leg's line.
    lon_deg, lat_deg
        Points [deg].
    places
        What ``locate`` said of them.
    within_m
        The other place may be this much farther from the point than the best one [m].
    apart_m
        And it must be more than this far from the best one along the line [m].
    """
    out = np.full(len(lon_deg), np.nan)
    for all_rows, polyline, all_xy in _in_zones(line, lon_deg, lat_deg):
        for begin in range(0, len(all_rows), _CHUNK):
            rows, xy = all_rows[begin : begin + _CHUNK], all_xy[begin : begin + _CHUNK]
            reach = np.nan_to_num(places.distance_m[rows], nan=0.0) + within_m
            point, segment = _within(polyline, xy, reach)
            best_m = places.along_m[rows][point]
            far_m = np.maximum(
                np.abs(line.along_m[segment] - best_m), np.abs(line.along_m[segment + 1] - best_m)
            )
            point, segment = point[far_m > apart_m], segment[far_m > apart_m]
            feet = polyline.feet_on(xy[point], segment)
            along_m, _ = _along(line, feet)
            apart = np.abs(along_m - places.along_m[rows][point]) > apart_m
            near = feet.distance_m <= reach[point]
            keep = np.flatnonzero(apart & near)
            order = keep[np.lexsort((segment[keep], feet.distance_m[keep], point[keep]))]
            first = np.r_[True, point[order][1:] != point[order][:-1]] if len(order) else keep
            chosen = order[first] if len(order) else order
            out[rows[point[chosen]]] = along_m[chosen]
    return _road(line).settled(lon_deg, lat_deg, out)


def _within(polyline: Polyline, xy: Floats, reach_m: Floats) -> tuple[Ints, Ints]:
    """Pairs of point and segment whose boxes are within reach; a superset of the near ones."""
    boxes = shapely.box(
        xy[:, 0] - reach_m, xy[:, 1] - reach_m, xy[:, 0] + reach_m, xy[:, 1] + reach_m
    )
    point, segment = polyline.tree.query(boxes)
    return point.astype(np.int64), segment.astype(np.int64)


def place(line: Centerline, along_m: Floats, offset_m: Floats) -> tuple[Floats, Floats]:
    """Longitude and latitude [deg] at distances along and beside the line.

    Parameters
    ----------
    line
        The leg's line.
    along_m
        Distance along [m]; past an end the end segment, or the tangent there, is drawn on.
    offset_m
        Right positive looking up-station [m].
    """
    return _road(line).put(along_m, offset_m)
