"""A path of tangents and circular arcs in a plane: places on it, and points beside it.

In go distances along in metres, or points with about where along they lie, out come arrays in
their order.  Past its ends the first or last piece goes on.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

__all__ = ["ArcPath"]

Floats = npt.NDArray[np.float64]

# Steps of the way to a foot: each leaves the share offset / radius of the error before it, and an
# error along counts in the offset by its square only.
_STEPS = 3


def _chords(size_m: Floats, curvature_per_m: Floats, heading: Floats) -> Floats:
    """Steps (n, 2) [m] along arcs that begin in a direction [rad].

    On an arc the chord of s is ``2 R sin(s / 2R)`` in the direction of its middle (any
    surveying text).
    """
    half = curvature_per_m * size_m / 2
    chord_m = size_m * np.sinc(half / np.pi)
    return np.column_stack([chord_m * np.sin(heading + half), chord_m * np.cos(heading + half)])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ArcPath:
    """Tangents and arcs end to end, each beginning in the direction of the one before.

    Attributes
    ----------
    start_xy_m
        Where it begins, east and north [m].
    heading_rad
        Direction there, clockwise from north [rad].
    break_m
        Where each piece but the first begins, along [m]; 0 or more, never decreasing.
    curvature_per_m
        Of each piece [1/m], right positive, 0 for a tangent; one more than breaks.
    """

    start_xy_m: tuple[float, float]
    heading_rad: float
    break_m: Floats
    curvature_per_m: Floats

    def _pieces(self) -> tuple[Floats, Floats, Floats]:
        """Along [m], direction [rad] and place (n, 2) [m] at the beginning of each piece."""
        begin_m = np.r_[0.0, self.break_m]
        size_m = np.diff(begin_m)
        turn = self.curvature_per_m[:-1] * size_m
        headings = self.heading_rad + np.r_[0.0, np.cumsum(turn)]
        steps = _chords(size_m, self.curvature_per_m[:-1], headings[:-1])
        return begin_m, headings, np.cumsum(np.vstack([self.start_xy_m, steps]), axis=0)

    def at(self, along_m: Floats) -> tuple[Floats, Floats]:
        """Places (n, 2) [m] and directions [rad] at distances along [m]."""
        return self._at(along_m, self._pieces())

    def _at(self, along_m: Floats, pieces: tuple[Floats, Floats, Floats]) -> tuple[Floats, Floats]:
        begin_m, headings, places = pieces
        piece = np.maximum(np.searchsorted(begin_m, along_m, side="right") - 1, 0)
        gone_m, curvature_per_m = along_m - begin_m[piece], self.curvature_per_m[piece]
        step = _chords(gone_m, curvature_per_m, headings[piece])
        return places[piece] + step, headings[piece] + curvature_per_m * gone_m

    def feet(self, xy_m: Floats, near_m: Floats) -> tuple[Floats, Floats]:
        """Distances of points' feet along [m], and of the points to the right of them [m].

        Parameters
        ----------
        xy_m
            Points (n, 2), nearer to the path than its least radius [m].
        near_m
            About where along each of them lies [m].
        """
        pieces, along_m = self._pieces(), near_m
        for _ in range(_STEPS):
            place, heading = self._at(along_m, pieces)
            away = xy_m - place
            ahead_m = away[:, 0] * np.sin(heading) + away[:, 1] * np.cos(heading)
            along_m = along_m + ahead_m
        place, heading = self._at(along_m, pieces)
        away = xy_m - place
        return along_m, away[:, 0] * np.cos(heading) - away[:, 1] * np.sin(heading)
