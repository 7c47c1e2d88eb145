"""Planes of coordinate systems: a file's or job's east and north against longitude and latitude.

In go the system's name and coordinates, out come metres or degrees, always east or longitude
first.  ``lonlat_of`` is the one way from any file's coordinates to degrees.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt
from pyproj import Transformer

from routeprep.datums import Datum, Shift, datum_of, system_of
from routeprep.errors import LineError
from routeprep.geodesy import destinations, ground_factor

__all__ = ["Grid", "combined_factor", "elevation_factor", "grid_of", "lonlat_of"]

Floats = npt.NDArray[np.float64]

# Half of what a point scale is measured over [m]: there rounding counts for 1e-11 and the change
# of the scale for less.
_SCALE_REACH_M = 50.0


def elevation_factor(elevation_m: float) -> float:
    """Ellipsoidal length of a unit of ground length: R / (R + h).

    Strictly h is the height above the ellipsoid: elevation plus the geoid's height, -20 to -35 m
    in the conterminous United States.  A job gives the elevation alone, which makes the factor
    too small by 3 to 6 parts in a million: 0.02 to 0.03 ft a mile.

    Parameters
    ----------
    elevation_m
        Height of the road [m].

    Examples
    --------
    >>> round(elevation_factor(152.4), 6)
    0.999976
    """
    return 1.0 / ground_factor(elevation_m)


def combined_factor(scale: float, elevation_m: float) -> float:
    """Grid length of a unit of ground length: point scale times elevation factor.

    Parameters
    ----------
    scale
        Grid length of a unit of ellipsoidal length there [no unit].
    elevation_m
        Height of the road [m].

    Examples
    --------
    >>> round(combined_factor(0.999981, 152.4), 6)
    0.999957
    """
    return scale * elevation_factor(elevation_m)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Grid:
    """The plane of a coordinate system against longitude and latitude in WGS 84.

    Attributes
    ----------
    name
        The system's code, or its name where it has none.
    unit, unit_m
        Its own unit as PROJ spells it, such as "US survey foot", and that unit [m].
    datum
        Its datum, and what was done about it.
    """

    name: str
    unit: str
    unit_m: float
    datum: Datum
    _projection: Transformer
    _shift: Shift | None

    def to_xy(self, lon_deg: Floats, lat_deg: Floats) -> Floats:
        """East and north, shape (n, 2) [m] whatever the system's own unit; NaN where none."""
        x, y = lon_deg, lat_deg
        if self._shift is not None:
            x, y = self._shift.apply(x, y, to_wgs84=False)
        return _finite(*self._projection.transform(x, y)) * self.unit_m

    def to_lonlat(self, xy_m: Floats) -> tuple[Floats, Floats]:
        """Longitude and latitude [deg] of east and north (n, 2) [m]; NaN where none."""
        own = xy_m / self.unit_m
        x, y = self._projection.transform(own[:, 0], own[:, 1], direction="INVERSE")
        return _in_wgs84(x, y, self._shift)

    def scale_at(self, lon_deg: Floats, lat_deg: Floats) -> Floats:
        """Grid length of a unit of ellipsoidal length at each point [deg], west to east.

        In a conformal projection, as road plans have, it is the same in all directions: the point
        scale k.
        """
        due_east_deg = np.full(len(lon_deg), 90.0)
        west, east = (
            self.to_xy(
                *destinations(
                    lon_deg,
                    lat_deg,
                    azimuth_deg=due_east_deg,
                    length_m=np.full(len(lon_deg), reach_m),
                )[:2]
            )
            for reach_m in (-_SCALE_REACH_M, _SCALE_REACH_M)
        )
        return np.asarray(np.hypot(*(east - west).T) / (2.0 * _SCALE_REACH_M), dtype=np.float64)


def _finite(x: Floats, y: Floats) -> Floats:
    """Pairs (n, 2), NaN where either is not finite."""
    pairs = np.column_stack([np.asarray(x, np.float64), np.asarray(y, np.float64)])
    pairs[~np.isfinite(pairs).all(axis=1)] = np.nan
    return pairs


def _in_wgs84(lon_deg: Floats, lat_deg: Floats, shift: Shift | None) -> tuple[Floats, Floats]:
    """Longitude and latitude [deg] after a datum's operation, if there is one; NaN where none."""
    if shift is not None:
        lon_deg, lat_deg = shift.apply(lon_deg, lat_deg, to_wgs84=True)
    pairs = _finite(lon_deg, lat_deg)
    return pairs[:, 0].copy(), pairs[:, 1].copy()


@lru_cache(maxsize=64)
def _grid(crs: str, datum_operation: str) -> Grid:
    system = system_of(crs)
    datum, shift = datum_of(system, datum_operation)
    axis = system.crs.axis_info[0]
    return Grid(
        name=system.label,
        unit=axis.unit_name,
        unit_m=axis.unit_conversion_factor,
        datum=datum,
        _projection=Transformer.from_crs(system.base, system.crs, always_xy=True),
        _shift=shift,
    )


def grid_of(crs: str, *, datum_operation: str = "") -> Grid:
    """The plane of a coordinate system.

    Parameters
    ----------
    crs
        Its code such as EPSG:2965, name or WKT.
    datum_operation
        Operation of the registry, by code or name, that takes its datum to WGS 84; see
        ``datums.datum_of``.

    Raises
    ------
    LineError
        If the system is missing, not known, or no plane whose axes run east and north; or its
        datum cannot be brought to WGS 84 as named.
    """
    system = system_of(crs).crs
    ways = [axis.direction for axis in system.axis_info]
    if not system.is_projected or set(ways) != {"east", "north"}:
        msg = (
            f"coordinate system {crs!r} is {system.name!r} ({system.type_name}, axes "
            f"{' and '.join(ways)}); expected a plane whose axes run east and north, such as "
            '"EPSG:2965"'
        )
        raise LineError(msg, crs=crs)
    return _grid(crs, datum_operation)


def lonlat_of(xy: Floats, crs: str, *, datum_operation: str = "") -> tuple[Floats, Floats, Datum]:
    """Longitude and latitude in WGS 84 [deg] of a file's coordinates, and what was done for it.

    Parameters
    ----------
    xy
        Coordinates (n, 2) [the system's own unit], east or longitude first.
    crs, datum_operation
        See ``grid_of``; longitudes and latitudes are as welcome as a plane.

    Raises
    ------
    LineError
        If the system is missing or not known, or its datum cannot be brought to WGS 84.
    """
    system = system_of(crs)
    if system.crs.is_projected:
        grid = _grid(crs, datum_operation)
        return *grid.to_lonlat(xy * grid.unit_m), grid.datum
    datum, shift = datum_of(system, datum_operation)
    return *_in_wgs84(xy[:, 0], xy[:, 1], shift), datum
