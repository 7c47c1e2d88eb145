"""Tangents and arcs laid through points beside a line, by generalized least squares.

In go a line's first pieces, with the points beside it and the covariance of their distances from
it; out come the arcs that stand out from noise, and how sure each of their numbers is.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import least_squares

from routeprep.arcs import ArcPath
from routeprep.bends import Pieces

__all__ = ["Arc", "Beside", "arcs_of"]

Floats = npt.NDArray[np.float64]

# Numbers of a fit before its breaks: how far its beginning moves to the right, what its
# direction changes by, and how far from the path the points of the two directions keep.
_FIRST = 3
# What the points say nothing about is known by this share of what they say most about, so that
# the rest can be told: rounding.
_NOTHING = 1e-12
# No number is surer than this, in its own unit squared: rounding.
_LEAST_VARIANCE = 1e-24
# A fit is done when chi-squared, counted from 1, falls by less than this share, or after so many
# steps: then it is taken as it is, and its ± will show it.
_SAME = 1e-6
_STEPS = 60
# Nodes and weights of the quadrature on 0 to 1: six are exact to 1e-12 for half a turn.
_NODES = (np.polynomial.legendre.leggauss(6)[0] + 1.0) / 2
_WEIGHTS = np.polynomial.legendre.leggauss(6)[1] / 2
# Step for derivatives of places, in each number's own unit.
_STEP = 1e-6

# A curve turns by this much at least [deg] and stands out from noise by so many standard
# deviations of what it turns by; two that meet are one unless their curvatures differ by so many.
# Beyond 5, one of a million places looked at seems a curve and is none (normal distribution).
# Common practice, no source.
_TURN_LEAST_DEG = 2.0
_TURN_SDS = 5.0
_STEP_SDS = 4.0
# A curve is fitted together with so many pieces to either side, and so far [m]; common practice,
# no source.
_NEIGHBOURS = 3
_REACH_M = 800.0
# A piece shorter than this has no length [m]; common practice, no source.
_NO_LENGTH_M = 1.0
# The direction that a fit begins with is the line's over this distance [m]; common practice, no
# source.
_AHEAD_M = 100.0
# There must be so many more points than numbers to fit.
_SPARE = 1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Beside:
    """Points beside a path that err together.

    Attributes
    ----------
    xy_m
        The points (n, 2) [m].
    near_m
        About where along the path each lies [m].
    side
        +1 or -1 for points that keep one distance to the right or left of the path, whichever
        that is; 0 for points of the path itself.
    covariance_m2
        Of their distances from the path (n, n) [m2].
    """

    xy_m: Floats
    near_m: Floats
    side: int
    covariance_m2: Floats


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
    scatter
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
    scatter: float


_Points = Callable[[float, float], Sequence[Beside]]
_Place = Callable[[float], Floats]


class _Model:
    """A path by the numbers of a fit."""

    def __init__(self, first: Pieces, start_xy_m: Floats, heading: float) -> None:
        self.start_xy_m, self.heading = start_xy_m, heading
        self.curves = np.flatnonzero(first.curvature_per_m)
        self.breaks = len(first.break_m)
        turning = first.curvature_per_m[self.curves]
        self.first = np.concatenate([np.zeros(_FIRST), first.break_m, turning])

    def path(self, values: Floats) -> ArcPath:
        """The path of these numbers; breaks out of order are held back."""
        right_m, turn = float(values[0]), float(values[1])
        east, south = np.cos(self.heading), np.sin(self.heading)
        curvature_per_m = np.zeros(self.breaks + 1)
        curvature_per_m[self.curves] = values[_FIRST + self.breaks :]
        break_m = values[_FIRST : _FIRST + self.breaks]
        return ArcPath(
            start_xy_m=(self.start_xy_m[0] + right_m * east, self.start_xy_m[1] - right_m * south),
            heading_rad=self.heading + turn,
            break_m=np.maximum.accumulate(np.maximum(break_m, 0.0)),
            curvature_per_m=curvature_per_m,
        )

    def slopes(self, values: Floats, along_m: Floats) -> Floats:
        """What one more of each number adds to the offset of points (n, numbers).

        A turn at one place moves all places beyond it sideways by the turn times how far ahead of
        it they are; a break that moves turns by the difference of the curvatures it parts, and a
        curvature by the length of its piece up to there (Gauss-Legendre quadrature).
        """
        path = self.path(values)
        place, heading = path.at(along_m)
        way = np.column_stack([np.sin(heading), np.cos(heading)])
        begin_m = np.concatenate([[0.0], path.break_m])
        begins, _ = path.at(begin_m)
        ahead_m = np.einsum("nk,nmk->nm", way, place[:, None] - begins)
        beyond = along_m[:, None] > begin_m
        slopes = np.zeros((len(along_m), len(values)))
        slopes[:, 0] = -np.cos(heading - path.heading_rad)
        slopes[:, 1] = -ahead_m[:, 0]
        slopes[:, _FIRST : _FIRST + self.breaks] = (
            np.diff(path.curvature_per_m) * (beyond * ahead_m)[:, 1:]
        )
        end_m = np.append(path.break_m, np.inf)
        for column, piece in enumerate(self.curves.tolist(), start=_FIRST + self.breaks):
            size_m = np.clip(np.minimum(along_m, end_m[piece]) - begin_m[piece], 0.0, None)
            for node, weight in zip(_NODES, _WEIGHTS, strict=True):
                turned, _ = path.at(begin_m[piece] + node * size_m)
                slopes[:, column] -= weight * size_m * np.sum(way * (place - turned), axis=1)
        return slopes

    def at(self, piece: int) -> int:
        """Which of the numbers is the curvature of a piece that is a curve."""
        return _FIRST + self.breaks + int(np.searchsorted(self.curves, piece))


class _Fit:
    """The best path, and how sure it is."""

    def __init__(self, model: _Model, values: Floats, covariance: Floats, scatter: float) -> None:
        """Keep the numbers with their covariance.

        Parameters
        ----------
        model
            What the numbers mean.
        values
            The numbers, each in its own unit [m, rad, 1/m].
        covariance
            Of the numbers.
        scatter
            Chi-squared of the points over their number less that of the numbers fitted.
        """
        self.path = model.path(values)
        self.scatter = scatter
        self._model, self._values, self._covariance = model, values, covariance

    def turn(self, piece: int, *, to_m: float) -> tuple[float, float]:
        """What a curve turns by, right positive, and its standard deviation [rad].

        Parameters
        ----------
        piece
            Which piece.
        to_m
            Where the path ends, along [m].
        """
        bounds_m = np.r_[0.0, self.path.break_m, to_m]
        size_m = float(bounds_m[piece + 1] - bounds_m[piece])
        curvature_per_m = float(self.path.curvature_per_m[piece])
        gradient = np.zeros(len(self._values))
        if piece > 0:
            gradient[_FIRST + piece - 1] = -curvature_per_m
        if piece < self._model.breaks:
            gradient[_FIRST + piece] = curvature_per_m
        gradient[self._model.at(piece)] = size_m
        return curvature_per_m * size_m, self._sd(gradient)

    def curvature_sd_per_m(self, piece: int) -> float:
        """Standard deviation of a curve's curvature [1/m]."""
        return self._sd(np.eye(len(self._values))[self._model.at(piece)])

    def step_sds(self, piece: int) -> float:
        """How many standard deviations a curve's curvature differs by from the next one's."""
        unit = np.eye(len(self._values))
        step_per_m = float(np.diff(self.path.curvature_per_m[piece : piece + 2])[0])
        both = unit[self._model.at(piece + 1)] - unit[self._model.at(piece)]
        return abs(step_per_m) / self._sd(both)

    def break_sd_m(self, at: int) -> float:
        """Standard deviation of the place of a break, along the road on the ground [m]."""
        _, heading = self.path.at(self.path.break_m[at : at + 1])
        way = np.array([np.sin(heading[0]), np.cos(heading[0])])
        steps = _STEP * np.eye(len(self._values))
        ahead = np.array([self._place(self._values + step, at) for step in steps])
        behind = np.array([self._place(self._values - step, at) for step in steps])
        return self._sd((ahead - behind) @ way / (2 * _STEP))

    def _place(self, values: Floats, at: int) -> Floats:
        path = self._model.path(values)
        return np.asarray(path.at(path.break_m[at : at + 1])[0][0])

    def _sd(self, gradient: Floats) -> float:
        return math.sqrt(max(float(gradient @ self._covariance @ gradient), _LEAST_VARIANCE))


def _laid(
    first: Pieces, points: Sequence[Beside], *, start_xy_m: Floats, heading_rad: float
) -> _Fit:
    """Lay the best path of tangents and curves through points.

    Generalized least squares (Aitken 1935) on the distances of the points, by the method of
    Levenberg and Marquardt.  The covariance is never less than what the points scatter by.

    Parameters
    ----------
    first
        Its pieces, about right.
    points
        Points that err together, set by set; sets are independent.  More points than numbers.
    start_xy_m, heading_rad
        About where it begins [m], and its direction there, clockwise from north [rad].
    """
    model = _Model(first, start_xy_m, heading_rad)
    xy_m = np.concatenate([one.xy_m for one in points])
    near_m = np.concatenate([one.near_m for one in points])
    side = np.concatenate([np.full(len(one.xy_m), float(one.side)) for one in points])
    whiten = [np.linalg.inv(np.linalg.cholesky(one.covariance_m2)) for one in points]
    ends = np.cumsum([len(one.xy_m) for one in points])[:-1]

    def white(off: Floats) -> Floats:
        sets = zip(whiten, np.split(off, ends), strict=True)
        return np.concatenate([factor @ part for factor, part in sets])

    def misfit(values: Floats) -> Floats:
        _, off_m = model.path(values).feet(xy_m, near_m)
        return np.append(white(off_m - side * values[2]), 1.0)

    def slopes(values: Floats) -> Floats:
        along_m, _ = model.path(values).feet(xy_m, near_m)
        slopes = model.slopes(values, along_m)
        slopes[:, 2] = -side
        return np.vstack([white(slopes), np.zeros(len(values))])

    best = least_squares(
        misfit, model.first, jac=slopes, method="lm", x_scale="jac",
        ftol=_SAME, xtol=_SAME**2, max_nfev=_STEPS,
    )  # fmt: skip
    scatter = (2 * float(best.cost) - 1.0) / max(1, len(xy_m) - len(best.x))
    return _Fit(model, best.x, _covariance(best.jac) * max(1.0, scatter), scatter)


def _covariance(jacobian: Floats) -> Floats:
    """Inverse of the information, with next to none about what nothing is known of."""
    size = np.sqrt(np.sum(jacobian**2, axis=0))
    size = np.where(size > 0, size, 1.0)
    unit = jacobian / size
    inverse = np.linalg.inv(unit.T @ unit + _NOTHING * np.eye(len(size)))
    return np.asarray(inverse / size / size[:, None])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Fitted:
    """A curve of a line fitted with its neighbours; ``piece`` is its number among them."""

    fit: _Fit
    piece: int
    from_m: float
    to_m: float

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
            scatter=self.fit.scatter,
        )


class _Fits:
    """Fits of a line's curves, each made once."""

    def __init__(self, points: _Points, place: _Place) -> None:
        self.points, self.place = points, place
        self.known: dict[tuple[float, ...], _Fit | None] = {}

    def fitted(self, pieces: Pieces, piece: int) -> _Fitted | None:
        """Fit one curve with its neighbours; None where there are too few points."""
        bound_m = pieces.bound_m
        low, high = max(piece - _NEIGHBOURS, 0), min(piece + 1 + _NEIGHBOURS, len(bound_m) - 1)
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

    def _fit(self, first: Pieces, from_m: float, to_m: float) -> _Fit | None:
        beside = self.points(from_m, to_m)
        sides = any(one.side for one in beside)
        numbers = _FIRST - 1 + sides + len(first.break_m)
        numbers += np.count_nonzero(first.curvature_per_m)
        if sum(len(one.xy_m) for one in beside) < numbers + _SPARE:
            return None
        start_xy_m, ahead_m = self.place(from_m), min(float(first.bound_m[1]), _AHEAD_M)
        east, north = self.place(from_m + ahead_m) - start_xy_m
        heading = math.atan2(east, north) - float(first.curvature_per_m[0]) * ahead_m / 2
        return _laid(first, beside, start_xy_m=start_xy_m, heading_rad=heading)


def arcs_of(first: Pieces, points: _Points, place: _Place) -> list[Arc]:
    """Arcs of a line that stand out from noise, in order.

    Each curve is fitted with its neighbours; the weakest is made a tangent, or one with the next
    if it bends alike, until none is weak.

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
            return [one.arc() for one, _ in found if one]
        change = (first.without, first.merged, first.straightened)[what]
        first = change(piece)


def _weakest(one: _Fitted | None, piece: int) -> tuple[int, float, int]:
    """What speaks most against a curve, with the piece's number on the line."""
    if one is None:
        return 2, 0.0, piece
    what, size, which = one.weakness()
    return what if size < 1.0 else 2, size, piece + which - one.piece
