"""A chain of normal states, each tied to its neighbours only: the best estimate of all of them.

In goes the block tridiagonal system of a least-squares fit, out come the solution and those
blocks of its inverse that tell how sure it is.  Nothing is approximated: this is what a Kalman
filter run forward and back gives, for all states at once.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

__all__ = ["Estimate", "solve"]

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Estimate:
    """The states of a chain; the units are those of the states.

    Attributes
    ----------
    mean_states
        Shape (n, m, axes): n states of m numbers, the same for each axis of the plane.
    own_cov
        Covariance of each state with itself, shape (n, m, m).
    next_cov
        Covariance of each state with the one after it, shape (n - 1, m, m).
    """

    mean_states: npt.NDArray[np.float64]
    own_cov: npt.NDArray[np.float64]
    next_cov: npt.NDArray[np.float64]


def _flip(blocks: Floats) -> Floats:
    """Each block transposed."""
    return np.swapaxes(blocks, -1, -2)


def solve(
    diagonal: npt.NDArray[np.float64],
    upper: npt.NDArray[np.float64],
    given: npt.NDArray[np.float64],
) -> Estimate:
    """Solve a block tridiagonal system and find the inverse on its three diagonals.

    Every second state is eliminated, which leaves a chain half as long of the same kind, and
    so on (odd-even reduction: Heller, Some aspects of the cyclic reduction algorithm for block
    tridiagonal linear systems, SIAM Journal on Numerical Analysis 13, 1976).  The inverse comes
    back on the way up (Takahashi's relations, 1973; from memory).

    Parameters
    ----------
    diagonal
        Blocks on the diagonal, symmetric and positive definite together, shape (n, m, m) [1 over
        the states' units, squared].
    upper
        Blocks right of them, shape (n - 1, m, m) [the same].
    given
        Right-hand sides, shape (n, m, axes) [1 over the states' units].
    """
    if len(diagonal) == 1:
        own = np.asarray(np.linalg.inv(diagonal), dtype=np.float64)
        return Estimate(mean_states=own @ given, own_cov=own, next_cov=upper)
    odd, right = len(diagonal) // 2, (len(diagonal) - 1) // 2
    inverse = np.asarray(np.linalg.inv(diagonal[1::2]), dtype=np.float64)
    before, after = upper[0::2], upper[1::2]
    # An eliminated state is fixed + left @ (the one before) + turn @ (the one after).
    left, turn = -inverse @ _flip(before), -inverse[:right] @ after
    fixed = inverse @ given[1::2]
    less, rest = diagonal[0::2].copy(), given[0::2].copy()
    less[:odd] += before @ left
    less[1 : 1 + right] += _flip(after) @ turn
    rest[:odd] -= before @ fixed
    rest[1 : 1 + right] -= _flip(after) @ fixed[:right]
    half = solve(less, before[:right] @ turn, rest)
    mean, own, following = np.empty_like(given), np.empty_like(diagonal), np.empty_like(upper)
    mean[0::2], own[0::2] = half.mean_states, half.own_cov
    fixed += left @ half.mean_states[:odd]
    fixed[:right] += turn @ half.mean_states[1 : 1 + right]
    with_before = left @ half.own_cov[:odd]
    with_before[:right] += turn @ _flip(half.next_cov)
    with_after = turn @ half.own_cov[1 : 1 + right] + left[:right] @ half.next_cov
    inverse += with_before @ _flip(left)
    inverse[:right] += with_after @ _flip(turn)
    mean[1::2], own[1::2] = fixed, inverse
    following[0::2], following[1::2] = _flip(with_before), with_after
    return Estimate(mean_states=mean, own_cov=own, next_cov=following)
