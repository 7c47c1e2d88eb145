"""The turns of a line: arcs that stand out from noise.

In go a line's pieces at first sight, with the points beside it and the covariance of their
distances from it; out come its arcs and how sure each of their numbers is.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from routeprep.arcfit import Beside, Fit, laid
from routeprep.bends import Pieces

__all__ = ["Arc", "arcs_of"]

Floats = npt.NDArray[np.float64]

# A curve turns by this much at least [deg] and stands out from noise by so many standard
# deviations of what it turns by; two that meet are one unless their curvatures differ by so many.
# Beyond 5, one of a million places looked at seems a curve and is none (normal distribution).
# Common practice, no source.
_TURN_LEAST_DEG = 2.0
_TURN_SDS = 5.0
_STEP_SDS = 4.0
# A curve is fitted together with so many pieces to either side, with fewer where that does not
# succeed, and so far [m]; common practice, no source.
_NEIGHBOURS = (3, 2, 1)
_REACH_M = 800.0
# A fit has failed when points scatter by this much more in variance than they should, or when a
# curve comes out as nearly a full circle [rad]; common practice, no source.
_SCATTER_SHARE = 4.0
_CIRCLE_RAD = 5.5
# A piece shorter than this has no length [m]; common practice, no source.
_NO_LENGTH_M = 1.0
# The direction that a fit begins with is the line's over this distance [m]; common practice, no
# source.
_AHEAD_M = 100.0
# There must be so many more points than numbers to fit.
_SPARE = 1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Arc:
    """A circular arc and how sure it is.

    Attributes
    ----------
    from_m, to_m
        Where it begins and ends, about, along the line [m].
    from_xy_m, to_xy_m
        Where it begins and ends [m].
    curvature_per_m, turn_rad
        Right positive [1/m], [rad].
    from_sd_m, to_sd_m, curvature_sd_per_m, turn_sd_rad
        Standard deviations, those of the ends along the road on the ground [m], [1/m], [rad];
        NaN for an end that is the line's.
    scatter_share
        Variance of the points' distances over what it was taken to be.
    """

    from_m: float
    to_m: float
    from_xy_m: Floats
    to_xy_m: Floats
    curvature_per_m: float
    turn_rad: float
    from_sd_m: float
    to_sd_m: float
    curvature_sd_per_m: float
    turn_sd_rad: float
    scatter_share: float


_Points = Callable[[float, float], Sequence[Beside]]
_Place = Callable[[float], Floats]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Fitted:
    """A curve of a line fitted with its neighbours; ``piece`` is its number among them."""

    fit: Fit
    piece: int
    from_m: float
    to_m: float

    def failed(self) -> bool:
        """Whether the fit says nothing about the curve."""
        turn_rad, _ = self.fit.turn(self.piece, to_m=self.to_m)
        return self.fit.scatter_share > _SCATTER_SHARE or abs(turn_rad) > _CIRCLE_RAD

    def weakness(self) -> tuple[int, float, int]:
        """What speaks most against the curve: how, how little it weighs, for which piece.

        0 is a piece of no length beside another curve, 1 a curve that bends like the next, 2 one
        that turns too little; nothing speaks against it when the weight is 1 or more.
        """
        curvature_per_m = np.r_[self.fit.path.curvature_per_m, 0.0, 0.0]
        size_m = np.diff(np.r_[0.0, self.fit.path.break_m, self.to_m])
        here, after = self.piece, self.piece + 1
        meets = curvature_per_m[after] != 0.0
        if size_m[here] < _NO_LENGTH_M and (meets or (here and curvature_per_m[here - 1] != 0.0)):
            return 0, 0.0, here
        if not meets and curvature_per_m[after + 1] != 0.0 and size_m[after] < _NO_LENGTH_M:
            return 0, 0.0, after
        alike = self.fit.step_sds(here) / _STEP_SDS if meets else math.inf
        if alike < 1.0:
            return 1, alike, here
        turn_rad, sd_rad = self.fit.turn(here, to_m=self.to_m)
        size = abs(turn_rad)
        return 2, min(size / sd_rad / _TURN_SDS, math.degrees(size) / _TURN_LEAST_DEG), here

    def arc(self) -> Arc:
        """The curve."""
        path, piece = self.fit.path, self.piece
        turn_rad, turn_sd_rad = self.fit.turn(piece, to_m=self.to_m)
        bound_m = np.r_[0.0, path.break_m, self.to_m]
        places, _ = path.at(bound_m[piece : piece + 2])
        last = piece == len(path.break_m)
        return Arc(
            from_m=self.from_m + float(bound_m[piece]),
            to_m=self.from_m + float(bound_m[piece + 1]),
            from_xy_m=places[0],
            to_xy_m=places[1],
            curvature_per_m=float(path.curvature_per_m[piece]),
            turn_rad=turn_rad,
            from_sd_m=self.fit.break_sd_m(piece - 1) if piece else math.nan,
            to_sd_m=math.nan if last else self.fit.break_sd_m(piece),
            curvature_sd_per_m=self.fit.curvature_sd_per_m(piece),
            turn_sd_rad=turn_sd_rad,
            scatter_share=self.fit.scatter_share,
        )


class _Fits:
    """Fits of a line's curves, each made once."""

    def __init__(self, points: _Points, place: _Place) -> None:
        self.points, self.place = points, place
        self.known: dict[tuple[float, ...], Fit | None] = {}

    def fitted(self, pieces: Pieces, piece: int) -> _Fitted | None:
        """Fit one curve with its neighbours; None where there are too few points."""
        first = None
        for most in _NEIGHBOURS:
            one = self._with(pieces, piece, most)
            if one is not None and not one.failed():
                return one
            first = first or one
        return first

    def _with(self, pieces: Pieces, piece: int, most: int) -> _Fitted | None:
        """The same with so many neighbours to either side."""
        bound_m = pieces.bound_m
        low, high = max(piece - most, 0), min(piece + 1 + most, len(bound_m) - 1)
        from_m = max(float(bound_m[low]), float(bound_m[piece]) - _REACH_M)
        to_m = min(float(bound_m[high]), float(bound_m[piece + 1]) + _REACH_M)
        first = pieces.within(from_m, to_m)
        key = (from_m, to_m, *first.break_m.tolist(), *first.curvature_per_m.tolist())
        if key not in self.known:
            self.known[key] = self._fit(first, from_m, to_m)
        fit = self.known[key]
        if fit is None:
            return None
        before = int(np.searchsorted(pieces.break_m, from_m, side="right"))
        return _Fitted(fit=fit, piece=piece - before, from_m=from_m, to_m=to_m - from_m)

    def _fit(self, first: Pieces, from_m: float, to_m: float) -> Fit | None:
        beside = self.points(from_m, to_m)
        sides = any(one.side for one in beside)
        turning = int(np.count_nonzero(first.curvature_per_m))
        numbers = 2 + sides + len(first.break_m) + turning
        if sum(len(one.xy_m) for one in beside) < numbers + _SPARE:
            return None
        start_xy_m, ahead_m = self.place(from_m), min(float(first.bound_m[1]), _AHEAD_M)
        east, north = self.place(from_m + ahead_m) - start_xy_m
        heading = math.atan2(east, north) - float(first.curvature_per_m[0]) * ahead_m / 2
        return laid(first, beside, start_xy_m=start_xy_m, heading_rad=heading)


def arcs_of(first: Pieces, points: _Points, place: _Place) -> list[Arc]:
    """Arcs of a line that stand out from noise, in order.

    Each curve is fitted with its neighbours; the weakest is made a tangent, or one with the next
    if it bends alike, until none is weak.  Where a fit fails the road winds in a way that is no
    tangent and arc, and nothing is said of it.

    Parameters
    ----------
    first
        The line's pieces at first sight.
    points
        Gives the points between two distances along, the first taken off ``near_m``.
    place
        Gives the line's place at a distance along.
    """
    fits = _Fits(points, place)
    while True:
        curves = np.flatnonzero(first.curvature_per_m).tolist()
        found = [(fits.fitted(first, piece), piece) for piece in curves]
        weak = [_weakest(one, piece) for one, piece in found]
        what, size, piece = min(weak, default=(0, math.inf, 0))
        if size >= 1.0:
            arcs = [one.arc() for one, _ in found if one and not one.failed()]
            return [arc for arc in arcs if not _lost(arc)]
        change = (first.without, first.merged, first.straightened)[what]
        first = change(piece)


def _weakest(one: _Fitted | None, piece: int) -> tuple[int, float, int]:
    """What speaks most against a curve, with the piece's number on the line."""
    if one is None:
        return 2, 0.0, piece
    if one.failed():
        return 2, math.inf, piece
    what, size, which = one.weakness()
    return what if size < 1.0 else 2, size, piece + which - one.piece


def _lost(arc: Arc) -> bool:
    """Whether an end of a curve may be anywhere."""
    return any(sd_m > _REACH_M for sd_m in (arc.from_sd_m, arc.to_sd_m))
