"""The one room that knows the ellipsoid: lengths, bearings and planes near the work.

In go longitudes and latitudes in degrees, out come metres: geodesic lengths raised to the
ground, or coordinates in a plane centred near the points.  The plane only picks segments,
fractions and offsets; no length is ever measured in it.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from pyproj import Geod, Transformer

from routeprep.errors import LineError

__all__ = [
    "EARTH_RADIUS_M",
    "Plane",
    "bearings_deg",
    "destinations",
    "ground_factor",
    "plane_at",
    "segment_lengths_m",
]

Floats = npt.NDArray[np.float64]

# Mean radius of the Earth, (2a + b)/3 of WGS 84 [m] (Moritz, Geodetic Reference System 1980,
# Journal of Geodesy 74, 2000).  For h/R the choice among the usual radii moves a length at
# 2,000 m by less than 0.001 mm a metre.
EARTH_RADIUS_M = 6_371_008.8

_WGS84 = Geod(ellps="WGS84")


def ground_factor(elevation_m: float) -> float:
    """Ground length of a unit of ellipsoidal length: 1 + h/R.

    Parameters
    ----------
    elevation_m
        Height of the road [m].

    Examples
    --------
    >>> round(ground_factor(1500.0), 6)
    1.000235
    """
    return 1.0 + elevation_m / EARTH_RADIUS_M


def segment_lengths_m(lon_deg: Floats, lat_deg: Floats, *, elevation_m: float) -> Floats:
    """Horizontal ground length of each segment between neighbouring vertices [m].

    Parameters
    ----------
    lon_deg, lat_deg
        Vertices [deg], n of them; n - 1 lengths come back.
    elevation_m
        Height of the road [m]: the geodesic is multiplied by ``ground_factor``.
    """
    _, _, geodesic_m = _WGS84.inv(lon_deg[:-1], lat_deg[:-1], lon_deg[1:], lat_deg[1:])
    return np.asarray(geodesic_m, dtype=np.float64) * ground_factor(elevation_m)


def bearings_deg(lon_deg: Floats, lat_deg: Floats) -> Floats:
    """Azimuth at the start of each segment, clockwise from north [deg]."""
    azimuth_deg, _, _ = _WGS84.inv(lon_deg[:-1], lat_deg[:-1], lon_deg[1:], lat_deg[1:])
    return np.asarray(azimuth_deg, dtype=np.float64)


def destinations(
    lon_deg: Floats, lat_deg: Floats, *, azimuth_deg: Floats, length_m: Floats
) -> tuple[Floats, Floats, Floats]:
    """Points reached along geodesics.

    Parameters
    ----------
    lon_deg, lat_deg
        Where to start [deg].
    azimuth_deg
        Direction, clockwise from north [deg].
    length_m
        Ellipsoidal length [m]; negative goes backward.

    Returns
    -------
    tuple of arrays
        Longitude and latitude [deg], and the azimuth on arrival [deg].
    """
    lon, lat, back_deg = _WGS84.fwd(lon_deg, lat_deg, azimuth_deg, length_m)
    # pyproj gives the azimuth back to the start; the way on is opposite.
    return np.asarray(lon), np.asarray(lat), (np.asarray(back_deg) + 360.0) % 360.0 - 180.0


@dataclass(frozen=True, slots=True, eq=False)
class Plane:
    """A transverse Mercator plane of scale 1 at its centre, x east and y north [m]."""

    _forward: Transformer

    def to_xy(self, lon_deg: Floats, lat_deg: Floats) -> Floats:
        """Coordinates, shape (n, 2) [m]; NaN where the input is NaN."""
        x, y = self._forward.transform(lon_deg, lat_deg)
        xy = np.column_stack([np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)])
        xy[~np.isfinite(xy).all(axis=1)] = np.nan
        return xy

    def to_lonlat(self, xy_m: Floats) -> tuple[Floats, Floats]:
        """Longitude and latitude [deg] of coordinates (n, 2) [m]."""
        lon, lat = self._forward.transform(xy_m[:, 0], xy_m[:, 1], direction="INVERSE")
        return np.asarray(lon, dtype=np.float64), np.asarray(lat, dtype=np.float64)


def plane_at(lon_deg: float, lat_deg: float) -> Plane:
    """Make the plane centred on a point [deg].

    Within 10 km east or west its lengths are true to 1.3 mm a km (transverse Mercator: the scale
    is 1 + x^2 / 2R^2); north and south of the centre they are true.

    Raises
    ------
    LineError
        If the point is not on the Earth.
    """
    if not (abs(lon_deg) <= 360.0 and abs(lat_deg) <= 90.0):  # noqa: PLR2004 - degrees
        msg = f"no plane at longitude {lon_deg!r}, latitude {lat_deg!r}; expected degrees"
        raise LineError(msg, lon_deg=lon_deg, lat_deg=lat_deg)
    # A NumPy number would print its type, which PROJ reads as 0 without complaint.
    lon, lat = float(lon_deg), float(lat_deg)
    steps = (
        "+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad "
        f"+step +proj=tmerc +lat_0={lat!r} +lon_0={lon!r} +k=1 +ellps=WGS84"
    )
    return Plane(Transformer.from_pipeline(steps))
