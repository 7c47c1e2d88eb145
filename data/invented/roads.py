"""True roads: tangents and circular arcs, exact, in a plane of ground metres.

In go lengths, radii and deflection angles, out come coordinates, directions, longitudes and
latitudes of any point given by along and offset.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from pyproj import Transformer

__all__ = ["Bend", "Road", "curve", "ground_plane", "lay_road", "tangent", "to_lonlat"]

Floats = npt.NDArray[np.float64]

# Mean radius of the Earth, (2a + b)/3 of WGS 84 [m] (Moritz, Geodetic Reference System 1980,
# Journal of Geodesy 74, 2000).
EARTH_M = 6_371_008.8


class Bend(NamedTuple):
    """A tangent or a circular arc: length [m] and radius [m], right turns positive, 0 straight."""

    length_m: float
    radius_m: float


def tangent(length_m: float) -> Bend:
    """A straight piece [m]."""
    return Bend(length_m, 0.0)


def curve(radius_m: float, delta_deg: float) -> Bend:
    """A circular arc through a deflection angle: its length is R times the angle in radians.

    Parameters
    ----------
    radius_m
        Radius [m].
    delta_deg
        Deflection angle [deg], right turns positive.
    """
    return Bend(radius_m * math.radians(abs(delta_deg)), math.copysign(radius_m, delta_deg))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Road:
    """The true centerline of a leg, exact, in a plane of ground metres.

    Attributes
    ----------
    code, name
        The leg's letter and street.
    from_m
        Along at the beginning of each tangent or arc [m].
    x_m, y_m, heading_rad
        Place and direction (clockwise from north [rad]) there; x east, y north [m].
    turn_per_m
        Curvature of each [1/m], right positive.
    length_m
        Of the whole road [m].
    plane
        From longitude and latitude [deg] to the plane [m].
    """

    code: str
    name: str
    from_m: Floats
    x_m: Floats
    y_m: Floats
    heading_rad: Floats
    turn_per_m: Floats
    length_m: float
    plane: Transformer

    def heading_at(self, along_m: Floats) -> Floats:
        """Direction of the road [rad], clockwise from north."""
        i = self._piece(along_m)
        return self.heading_rad[i] + self.turn_per_m[i] * (along_m - self.from_m[i])

    def xy(self, along_m: Floats, offset_m: Floats) -> tuple[Floats, Floats]:
        """Coordinates [m] of points given by along and offset [m], right positive.

        Past an end the first or last piece goes on.  On an arc the chord of s is
        ``2 R sin(s / 2R)`` in the direction of its middle (any surveying text).
        """
        i = self._piece(along_m)
        gone = along_m - self.from_m[i]
        half = self.turn_per_m[i] * gone / 2
        chord = gone * np.sinc(half / math.pi)
        toward = self.heading_rad[i] + half
        heading = self.heading_at(along_m)
        x = self.x_m[i] + chord * np.sin(toward) + offset_m * np.cos(heading)
        y = self.y_m[i] + chord * np.cos(toward) - offset_m * np.sin(heading)
        return x, y

    def point(self, along_m: float, offset_m: float) -> tuple[float, float]:
        """Coordinates [m] of one point given by along and offset [m], right positive."""
        x, y = self.xy(np.array([along_m]), np.array([offset_m]))
        return float(x[0]), float(y[0])

    def lonlat(self, along_m: Floats, offset_m: Floats) -> tuple[Floats, Floats]:
        """Longitude and latitude [deg] of points given by along and offset [m]."""
        return to_lonlat(self.plane, *self.xy(along_m, offset_m))

    def _piece(self, along_m: Floats) -> npt.NDArray[np.intp]:
        last = len(self.from_m) - 1
        return np.clip(np.searchsorted(self.from_m, along_m, side="right") - 1, 0, last)


def ground_plane(lon_deg: float, lat_deg: float, *, elevation_m: float) -> Transformer:
    """A transverse Mercator plane whose scale at its centre is that of the ground: 1 + h/R.

    Parameters
    ----------
    lon_deg, lat_deg
        Its centre [deg].
    elevation_m
        Height of the ground [m].
    """
    scale = 1.0 + elevation_m / EARTH_M
    return Transformer.from_pipeline(
        "+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad "
        f"+step +proj=tmerc +lat_0={lat_deg!r} +lon_0={lon_deg!r} +k_0={scale!r} +ellps=WGS84"
    )


def to_lonlat(plane: Transformer, x_m: Floats, y_m: Floats) -> tuple[Floats, Floats]:
    """Longitude and latitude [deg] of points of the plane [m]."""
    lon, lat = plane.transform(x_m, y_m, direction="INVERSE")
    return np.asarray(lon, dtype=np.float64), np.asarray(lat, dtype=np.float64)


def lay_road(
    bends: Sequence[Bend],
    *,
    code: str,
    name: str,
    start_xy_m: tuple[float, float],
    heading_deg: float,
    plane: Transformer,
) -> Road:
    """Lay tangents and arcs end to end, each beginning in the direction of the one before.

    Parameters
    ----------
    bends
        The pieces, up-station.
    code, name
        The leg's letter and street.
    start_xy_m
        Where it begins [m].
    heading_deg
        Direction there, clockwise from north [deg].
    plane
        The plane that the coordinates are in.
    """
    x, y, heading, along = *start_xy_m, math.radians(heading_deg), 0.0
    rows = []
    for bend in bends:
        turn = 1.0 / bend.radius_m if bend.radius_m else 0.0
        rows.append((along, x, y, heading, turn))
        half = turn * bend.length_m / 2
        chord = bend.length_m * float(np.sinc(half / math.pi))
        x += chord * math.sin(heading + half)
        y += chord * math.cos(heading + half)
        heading += 2 * half
        along += bend.length_m
    from_m, x_m, y_m, heading_rad, turn_per_m = np.array(rows).T
    return Road(
        code=code, name=name, from_m=from_m, x_m=x_m, y_m=y_m, heading_rad=heading_rad,
        turn_per_m=turn_per_m, length_m=along, plane=plane,
    )  # fmt: skip
