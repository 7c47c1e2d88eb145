"""Points against a leg's line: along, offset, past an end, and the other place if there is one.

In go longitudes and latitudes, out come arrays in the points' order.  Nothing clamps: past an
end ``along_m`` is negative or beyond the length and ``past_end_m`` says by how much.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from routeprep.geodesy import bearings_deg, destinations, ground_factor, plane_at
from routeprep.lines import Centerline
from routeprep.planar import Feet, Polyline

__all__ = ["Places", "locate", "locate_near", "place", "runners_up"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

# A plane serves points within this much longitude of its centre [deg]: about 8.5 km at 40
# degrees north, where its scale is 1 + 1e-6 (transverse Mercator: 1 + x^2 / 2R^2).
_HALF_ZONE_DEG = 0.1
# So many points are looked at together, so that memory does not grow with their number.
_CHUNK = 100_000


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
    middle_deg = float(line.lat_deg.mean())
    parts = []
    for number, centre in enumerate(centres):
        rows = np.flatnonzero(zone == number)
        if len(rows):
            plane = plane_at(float(centre), middle_deg)
            polyline = Polyline(plane.to_xy(line.lon_deg, line.lat_deg))
            parts.append((rows, polyline, plane.to_xy(lon_deg[rows], lat_deg[rows])))
    return parts


def locate(line: Centerline, lon_deg: Floats, lat_deg: Floats) -> Places:
    """Nearest place on the line of each point.

    Parameters
    ----------
    line
        The leg's line.
    lon_deg, lat_deg
        Points [deg]; a point with NaN gets NaN.
    """
    names = ("along_m", "offset_m", "past_end_m", "distance_m")
    out = {name: np.full(len(lon_deg), np.nan) for name in names}
    for rows, polyline, xy in _in_zones(line, lon_deg, lat_deg):
        feet = polyline.feet(xy)
        out["along_m"][rows], out["past_end_m"][rows] = _along(line, feet)
        out["offset_m"][rows], out["distance_m"][rows] = feet.offset_m, feet.distance_m
    return Places(**out)


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
    names = ("along_m", "offset_m", "past_end_m", "distance_m")
    out = {name: np.full(len(lon_deg), np.nan) for name in names}
    last = len(line.along_m) - 2
    lon_deg = np.where(np.isfinite(near_m), lon_deg, np.nan)
    low = np.clip(np.searchsorted(line.along_m, near_m - window_m) - 1, 0, last)
    high = np.clip(np.searchsorted(line.along_m, near_m + window_m) - 1, low, last)
    for rows, polyline, xy in _in_zones(line, lon_deg, lat_deg):
        segment = np.array(
            [
                _best_of(polyline, xy[k], int(low[row]), int(high[row]))
                for k, row in enumerate(rows)
            ],
            dtype=np.int64,
        )
        feet = polyline.feet_on(xy, segment)
        out["along_m"][rows], out["past_end_m"][rows] = _along(line, feet)
        out["offset_m"][rows], out["distance_m"][rows] = feet.offset_m, feet.distance_m
    return Places(**out)


def _best_of(polyline: Polyline, xy: Floats, low: int, high: int) -> int:
    """Segment nearest to one point among low to high; -1 for a point that is not finite."""
    if not np.isfinite(xy).all():
        return -1
    segments = np.arange(low, high + 1)
    feet = polyline.feet_on(np.broadcast_to(xy, (len(segments), 2)), segments)
    return low + int(np.argmin(feet.distance_m))


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
    return out


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
        Distance along [m]; past an end the end segment is drawn on.
    offset_m
        Right positive looking up-station [m].
    """
    last = len(line.along_m) - 2
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
