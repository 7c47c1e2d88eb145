"""The ground under a pass: in go a pass and its leg, out come the corners of a ring."""

import numpy as np
import numpy.typing as npt

from routeprep.locating import place
from routeprep.plans import Pass
from routeprep.shapes import Leg

__all__ = ["outline_deg"]

Floats = npt.NDArray[np.float64]


def outline_deg(one: Pass, leg: Leg) -> tuple[Floats, Floats]:
    """Longitudes and latitudes [deg] of the ground under the drum, the first again last.

    Counter-clockwise: up-station along the right edge, back along the left one, with every vertex
    of the leg's line between the pass's ends.

    Parameters
    ----------
    one
        The pass.
    leg
        Its leg.
    """
    line_m = leg.line.along_m
    inside = (line_m > one.along_m[0]) & (line_m < one.along_m[-1])
    at_m = np.unique(np.concatenate([one.along_m, line_m[inside]]))
    there, back = (
        place(leg.line, at_m, np.interp(at_m, one.along_m, edge_m))
        for edge_m in (one.right_m, one.left_m)
    )
    lon_deg, lat_deg = (
        np.concatenate([right_deg, left_deg[::-1], right_deg[:1]])
        for right_deg, left_deg in zip(there, back, strict=True)
    )
    return lon_deg, lat_deg
