"""What of a line or an area lies in the corridor of a job's legs.

In go geometries in degrees, out come the same with lines and areas cut down to the corridor: a
water main may cross the road and have its middle a mile away.  Points, and what lies outside
altogether, stay as they are.
"""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import shapely

from routeprep.geodesy import plane_at
from routeprep.shapes import Leg

__all__ = ["in_corridor"]

Geometries = npt.NDArray[np.object_]

# A leg's line may be drawn with so much fewer vertices for this [m]; the corridor is no survey.
_SIMPLER_M = 0.5


def in_corridor(geometry: Geometries, legs: Sequence[Leg], *, within_m: float) -> Geometries:
    """Cut lines and areas down to what lies near a leg.

    Parameters
    ----------
    geometry
        Points, lines and areas, longitude and latitude [deg].
    legs
        The legs.
    within_m
        How far from a leg's line the corridor reaches [m].
    """
    rows = np.flatnonzero(shapely.get_num_coordinates(geometry) > 1)
    if not len(rows) or not legs:
        return geometry
    middle = legs[0].line
    plane = plane_at(float(middle.lon_deg.mean()), float(middle.lat_deg.mean()))

    def _flat(lonlat: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        return plane.to_xy(lonlat[:, 0], lonlat[:, 1])

    def _round(xy_m: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        return np.column_stack(plane.to_lonlat(xy_m))

    lines = [shapely.LineString(plane.to_xy(leg.line.lon_deg, leg.line.lat_deg)) for leg in legs]
    corridor = shapely.union_all([line.simplify(_SIMPLER_M).buffer(within_m) for line in lines])
    shapely.prepare(corridor)
    near = shapely.make_valid(shapely.transform(geometry[rows], _flat))
    cut = shapely.intersection(near, corridor)
    inside = ~shapely.is_empty(cut)
    made = geometry.copy()
    made[rows[inside]] = shapely.transform(cut[inside], _round)
    return made
