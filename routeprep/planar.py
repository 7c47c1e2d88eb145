"""Points against one polyline in a plane: which segment, how far along it, how far beside it.

In go coordinates in metres, out come arrays, one value a point and in the points' order.  The
nearest segment is found in a tree, so a line of any number of vertices is quick; nothing clamps:
a point past an end gets a fraction below 0 or above 1 of the end segment.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

__all__ = ["Feet", "Polyline", "thin"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Feet:
    """Feet of points on a polyline: the points of it nearest to them (no unit of length).

    Attributes
    ----------
    segment
        Index of the nearest segment; -1 for a point that is not finite.
    fraction
        Along that segment, 0 to 1; below 0 or above 1 only past an end of the whole line.
    offset_m
        Distance from the segment [m], right of its direction positive.
    distance_m
        Distance from the nearest point of the line itself [m], never negative.
    """

    segment: Ints
    fraction: Floats
    offset_m: Floats
    distance_m: Floats


class Polyline:
    """A polyline with a tree of its segments.

    Parameters
    ----------
    xy_m
        Vertices (n, 2), n of 2 or more, no two neighbours equal [m].
    """

    def __init__(self, xy_m: Floats) -> None:
        """Build the tree once."""
        self.xy_m = xy_m
        self.start_m = xy_m[:-1]
        self.step_m = np.diff(xy_m, axis=0)
        self.length_m = np.hypot(self.step_m[:, 0], self.step_m[:, 1])
        self.along_m = np.concatenate([[0.0], np.cumsum(self.length_m)])
        ends = np.stack([xy_m[:-1], xy_m[1:]], axis=1)
        segments: list[shapely.LineString] = np.asarray(shapely.linestrings(ends)).tolist()
        self.tree = shapely.STRtree(segments)

    def feet(self, xy_m: Floats) -> Feet:
        """Foot of each point on its nearest segment; the first one among equals.

        Parameters
        ----------
        xy_m
            Points (n, 2) [m]; a point with NaN gets segment -1 and NaN.
        """
        segment = np.full(len(xy_m), -1, dtype=np.int64)
        found, near = self.tree.query_nearest(shapely.points(xy_m))
        # Equals come together: keep the lowest segment for each point.
        order = np.lexsort((near, found))
        found, near = found[order], near[order]
        first = np.r_[True, found[1:] != found[:-1]] if len(found) else np.zeros(0, dtype=bool)
        segment[found[first]] = near[first]
        return self.feet_on(xy_m, segment)

    def feet_on(self, xy_m: Floats, segment: Ints) -> Feet:
        """Foot of each point on the segment named for it (-1: none).

        Parameters
        ----------
        xy_m
            Points (n, 2) [m].
        segment
            A segment index for each point.
        """
        last = len(self.length_m) - 1
        here = np.maximum(segment, 0)
        step, length = self.step_m[here], self.length_m[here]
        rel = xy_m - self.start_m[here]
        raw = (rel[:, 0] * step[:, 0] + rel[:, 1] * step[:, 1]) / length**2
        clipped = np.clip(raw, 0.0, 1.0)
        cross = rel[:, 1] * step[:, 0] - rel[:, 0] * step[:, 1]
        away = rel - clipped[:, None] * step
        distance = np.hypot(away[:, 0], away[:, 1])
        past = ((here == 0) & (raw < 0.0)) | ((here == last) & (raw > 1.0))
        # Beside a segment or past an end the offset is square to it; round a corner it is the
        # distance to the vertex, on the side that the corner's two segments agree on.
        round_corner = (raw != clipped) & ~past
        side = np.where(round_corner, self._corner_side(rel, here, raw), cross)
        offset = np.where(round_corner, distance * -np.sign(side), -cross / length)
        fraction = np.where(past, raw, clipped)
        lost = segment < 0
        fraction[lost] = offset[lost] = distance[lost] = np.nan
        return Feet(segment=segment, fraction=fraction, offset_m=offset, distance_m=distance)

    def _corner_side(self, rel: Floats, here: Ints, raw: Floats) -> Floats:
        """Cross product with the mean direction at the corner; positive is left."""
        other = np.clip(np.where(raw > 1.0, here + 1, here - 1), 0, len(self.length_m) - 1)
        one = self.step_m[here] / self.length_m[here][:, None]
        two = self.step_m[other] / self.length_m[other][:, None]
        mean = one + two
        corner = np.where(raw > 1.0, 1.0, 0.0)[:, None] * self.step_m[here]
        away = rel - corner
        return np.asarray(away[:, 1] * mean[:, 0] - away[:, 0] * mean[:, 1])


def thin(xy_m: Floats, *, step_m: float) -> Ints:
    """Indices of points so that each is at least a step from the one kept before it.

    The first point is always kept; standstill scatter goes.

    Parameters
    ----------
    xy_m
        Points (n, 2) [m].
    step_m
        Least distance between kept points [m].
    """
    if not len(xy_m):
        return np.zeros(0, dtype=np.int64)
    kept = [0]
    x, y = xy_m[:, 0].tolist(), xy_m[:, 1].tolist()
    last_x, last_y = x[0], y[0]
    for i in range(1, len(x)):
        if (x[i] - last_x) ** 2 + (y[i] - last_y) ** 2 >= step_m**2:
            kept.append(i)
            last_x, last_y = x[i], y[i]
    return np.array(kept, dtype=np.int64)
