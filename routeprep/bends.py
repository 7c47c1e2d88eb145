"""Where a line turns: a first look at its tangents and curves, from its direction along it.

In go directions along a line with their noise, out come pieces of one curvature each.  In a
tangent the direction is constant, in an arc it changes evenly, so that it is a broken line over
the distance; what is no bend beyond noise is straightened.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from routeprep.chains import solve

__all__ = ["Pieces", "pieces_of"]

Floats = npt.NDArray[np.float64]

# A knot of the broken line stays when the line without it would lie worse by this in
# chi-squared, and a piece is a curve when its slope is so many standard deviations from 0.
# They let too much through rather than too little: a curve is tested again when it is fitted.
# Common practice, no source.
_KNOT_CHI2 = 9.0
_TURN_SDS = 4.0
# A knot without a direction beside it lies where its neighbours do, by this share of what the
# directions say: rounding.
_NOTHING = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pieces:
    """Tangents and curves end to end, from along 0.

    Attributes
    ----------
    break_m
        Where each piece but the first begins, along [m].
    curvature_per_m
        Of each [1/m], right positive, 0 for a tangent; one more than breaks.
    length_m
        Where the last one ends, along [m].
    """

    break_m: Floats
    curvature_per_m: Floats
    length_m: float

    @property
    def bound_m(self) -> Floats:
        """Where each piece begins, and the last one ends, along [m]."""
        return np.concatenate([[0.0], self.break_m, [self.length_m]])

    def within(self, from_m: float, to_m: float) -> "Pieces":
        """The pieces between two distances along, the first taken off [m]."""
        low = int(np.searchsorted(self.break_m, from_m, side="right"))
        high = int(np.searchsorted(self.break_m, to_m, side="left"))
        return Pieces(
            break_m=self.break_m[low:high] - from_m,
            curvature_per_m=self.curvature_per_m[low : high + 1],
            length_m=to_m - from_m,
        )

    def straightened(self, piece: int) -> "Pieces":
        """The pieces with one made a tangent, and part of the tangents beside it."""
        curvature_per_m = self.curvature_per_m.copy()
        curvature_per_m[piece] = 0.0
        idle = (curvature_per_m[1:] == 0.0) & (curvature_per_m[:-1] == 0.0)
        return self._with(self.break_m[~idle], curvature_per_m[np.r_[True, ~idle]])

    def without(self, piece: int) -> "Pieces":
        """The pieces without one; its neighbours meet in its middle, or go on to the end."""
        middle_m = float(self.bound_m[piece : piece + 2].mean())
        around = self.break_m[max(piece - 1, 0) : piece + 1]
        inner = len(around) > 1
        break_m = np.delete(self.break_m, max(piece - 1, 0))
        if inner:
            break_m[piece - 1] = middle_m
        return self._with(break_m, np.delete(self.curvature_per_m, piece))

    def merged(self, piece: int) -> "Pieces":
        """The pieces with one and the next made one that turns by as much as both."""
        size_m = np.diff(self.bound_m)[piece : piece + 2]
        both = float(self.curvature_per_m[piece : piece + 2] @ size_m) / float(size_m.sum())
        curvature_per_m = np.delete(self.curvature_per_m, piece)
        curvature_per_m[piece] = both
        return self._with(np.delete(self.break_m, piece), curvature_per_m)

    def gathered(self, least_m: float) -> "Pieces":
        """The pieces with each curve shorter than this made one with a like one beside it [m]."""
        size_m = np.diff(self.bound_m)
        alike = self.curvature_per_m[1:] * self.curvature_per_m[:-1] > 0
        short = alike & (np.minimum(size_m[1:], size_m[:-1]) < least_m)
        return self.merged(int(np.argmax(short))).gathered(least_m) if short.any() else self

    def _with(self, break_m: Floats, curvature_per_m: Floats) -> "Pieces":
        return Pieces(
            break_m=break_m,
            curvature_per_m=curvature_per_m,
            length_m=self.length_m,
        )


def _fitted(
    along_m: Floats, heading: Floats, sd: Floats, knot_m: Floats
) -> tuple[Floats, Floats, Floats]:
    """Direction at each knot by weighted least squares [rad], and its covariance [rad2].

    The covariance is with itself and with the next one.  Each place lies between two knots and
    tells of them alone, which makes the knots a chain.
    """
    count = len(knot_m)
    left = np.clip(np.searchsorted(knot_m, along_m, side="right"), 1, count - 1) - 1
    share = (along_m - knot_m[left]) / np.diff(knot_m)[left]
    weight = sd**-2

    def _sums(first: Floats, second: Floats) -> Floats:
        """Sums by knot of what each place gives the knots before and after it."""
        before, after = (
            np.bincount(knot, weight * share_of, minlength=count).astype(np.float64)
            for knot, share_of in ((left, first), (left + 1, second))
        )
        return before + after

    own = _sums((1.0 - share) ** 2, share**2)
    given = _sums((1.0 - share) * heading, share * heading)
    between = _sums(share * (1.0 - share), np.zeros_like(share))[:-1]
    loose = _NOTHING * float(own.mean())
    ends = np.r_[1.0, np.full(count - 2, 2.0), 1.0]
    found = solve(
        (own + loose * ends)[:, None, None],
        (between - loose)[:, None, None],
        given[:, None, None],
    )
    return found.mean_states[:, 0, 0], found.own_cov[:, 0, 0], found.next_cov[:, 0, 0]


def pieces_of(
    along_m: Floats, heading_rad: Floats, *, sd_rad: Floats, knot_m: Floats, length_m: float
) -> Pieces:
    """Tangents and curves of a line, as far as its directions tell them from noise.

    Knots of the broken line are taken out as long as it does not lie worse than noise explains,
    those that matter least among their neighbours first (bottom-up segmentation: Keogh and
    others, An online algorithm for segmenting time series, 2001).

    Parameters
    ----------
    along_m
        Where a direction is known [m], increasing.
    heading_rad
        The directions there, clockwise from north, without jumps of a whole turn [rad].
    sd_rad
        Standard deviation of each, independent [rad].
    knot_m
        Where a piece may begin, the first and last place included [m]; two or more.
    length_m
        Of the line [m].
    """
    while True:
        value, own, following = _fitted(along_m, heading_rad, sd_rad, knot_m)
        size_m = np.diff(knot_m)
        curvature = np.diff(value) / size_m
        variance = (own[1:] + own[:-1] - 2 * following) / size_m**2
        # What two knots of a chain share goes through the one between.
        across = following[1:] * following[:-1] / own[1:-1]
        shared = (following[1:] + following[:-1] - own[1:-1] - across) / size_m[1:] / size_m[:-1]
        chi2 = np.diff(curvature) ** 2 / (variance[1:] + variance[:-1] - 2 * shared)
        idle = (chi2 < _KNOT_CHI2) & (chi2 <= np.r_[chi2[1:], np.inf])
        idle &= chi2 < np.r_[np.inf, chi2[:-1]]
        if not idle.any():
            break
        knot_m = np.delete(knot_m, 1 + np.flatnonzero(idle))
    turning = np.abs(curvature) > _TURN_SDS * np.sqrt(variance)
    found = Pieces(
        break_m=knot_m[1:-1],
        curvature_per_m=np.where(turning, curvature, 0.0),
        length_m=length_m,
    )
    return found if turning.all() else found.straightened(int(np.argmin(turning)))
