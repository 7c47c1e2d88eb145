"""Tangents and arcs laid through points beside a line, by generalized least squares.

In go first pieces with the points beside them and the covariance of their distances, out come the
best pieces and how sure each of their numbers is.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.linalg.lapack import dtrtri
from scipy.optimize import least_squares

from routeprep.arcs import ArcPath
from routeprep.bends import Pieces

__all__ = ["Beside", "Fit", "laid"]

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
_STEPS = 30
# Nodes and weights of the quadrature on 0 to 1: six are exact to 1e-12 for half a turn.
_NODES = (np.polynomial.legendre.leggauss(6)[0] + 1.0) / 2
_WEIGHTS = np.polynomial.legendre.leggauss(6)[1] / 2
# Step for derivatives of places, in each number's own unit.
_STEP = 1e-6


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


class _Model:
    """A path by the numbers of a fit."""

    def __init__(self, first: Pieces, start_xy_m: Floats, heading: float) -> None:
        self.start_xy_m, self.heading = start_xy_m, heading
        self.curves = np.flatnonzero(first.curvature_per_m)
        self.breaks = len(first.break_m)
        turning = first.curvature_per_m[self.curves]
        self.first = np.concatenate([np.zeros(_FIRST), first.break_m, turning])

    def path(self, values: Floats) -> ArcPath:
        """The path of these numbers [m, rad, 1/m]; breaks out of order are held back."""
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
        """What one more of each number [m, rad, 1/m] adds to the offset of points (n, numbers).

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
        from_m, to_m = begin_m[self.curves], np.append(path.break_m, np.inf)[self.curves]
        size_m = np.maximum(np.minimum(along_m[:, None], to_m) - from_m, 0.0)
        passed = along_m[:, None] >= to_m
        moment_m2 = passed[..., None] * _moments(path, from_m, np.where(passed, size_m, 0.0).max(0))
        rows, curves = np.nonzero((size_m > 0) & ~passed)
        moment_m2[rows, curves] = _moments(path, from_m[curves], size_m[rows, curves])
        ahead_m2 = size_m[..., None] * place[:, None] - moment_m2
        slopes[:, _FIRST + self.breaks :] = -np.einsum("nk,nck->nc", way, ahead_m2)
        return slopes

    def at(self, piece: int) -> int:
        """Which of the numbers is the curvature of a piece that is a curve."""
        return _FIRST + self.breaks + int(np.searchsorted(self.curves, piece))


def _moments(path: ArcPath, from_m: Floats, size_m: Floats) -> Floats:
    """Places of a path summed over a length of it from each beginning (n, 2) [m2]."""
    node_m = from_m + _NODES[:, None] * size_m
    places = path.at(node_m.ravel())[0].reshape(*node_m.shape, 2)
    return np.asarray(size_m[:, None] * np.tensordot(_WEIGHTS, places, axes=1))


class Fit:
    """The best path, and how sure it is."""

    def __init__(
        self, model: _Model, values: Floats, covariance: Floats, scatter_share: float
    ) -> None:
        """Keep the numbers with their covariance.

        Parameters
        ----------
        model
            What the numbers mean.
        values
            The numbers, each in its own unit [m, rad, 1/m].
        covariance
            Of the numbers.
        scatter_share
            Chi-squared of the points over their number less that of the numbers fitted.
        """
        self.path = model.path(values)
        self.scatter_share = scatter_share
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


def laid(first: Pieces, points: Sequence[Beside], *, start_xy_m: Floats, heading_rad: float) -> Fit:
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
    # Inverted once: solving with it at every step takes longer.
    whiten = [dtrtri(np.linalg.cholesky(one.covariance_m2), lower=1)[0] for one in points]
    ends = np.cumsum([len(one.xy_m) for one in points])[:-1]

    def _white(off_m: Floats) -> Floats:
        sets = zip(whiten, np.split(off_m, ends), strict=True)
        return np.concatenate([factor @ part for factor, part in sets])

    def _misfit(values: Floats) -> Floats:
        _, off_m = model.path(values).feet(xy_m, near_m)
        return np.append(_white(off_m - side * values[2]), 1.0)

    def _slopes(values: Floats) -> Floats:
        along_m, _ = model.path(values).feet(xy_m, near_m)
        slopes = model.slopes(values, along_m)
        slopes[:, 2] = -side
        return np.vstack([_white(slopes), np.zeros(len(values))])

    best = least_squares(
        _misfit, model.first, jac=_slopes, method="lm", x_scale="jac",
        ftol=_SAME, xtol=_SAME**2, max_nfev=_STEPS,
    )  # fmt: skip
    scatter_share = max(0.0, 2 * float(best.cost) - 1.0) / max(1, len(xy_m) - len(best.x))
    return Fit(model, best.x, _covariance(best.jac) * max(1.0, scatter_share), scatter_share)


def _covariance(jacobian: Floats) -> Floats:
    """Inverse of the information, with next to none about what nothing is known of."""
    size = np.sqrt(np.sum(jacobian**2, axis=0))
    size = np.where(size > 0, size, 1.0)
    unit = jacobian / size
    inverse = np.linalg.inv(unit.T @ unit + _NOTHING * np.eye(len(size)))
    return np.asarray(inverse / size / size[:, None])
