"""Looks at one thing to its merged place: along, offset and how sure both are.

In go the looks of a group, out come weighted means with their standard deviations.  What looks
share counts once: the lateness of a person, what words leave open, one passing.
"""

import math
from collections.abc import Hashable, Mapping, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.special import chdtri

from routeprep.lateness import People
from routeprep.merging import METHODS, Look, passings

__all__ = ["best_looks", "merged_along", "merged_offset"]

Floats = npt.NDArray[np.float64]

# How much each method counts.
_RANKS = {method: rank for rank, method in enumerate(METHODS)}
# Nothing is placed more surely than this [m].  Common practice, no source.
_LEAST_SD_M = 0.01
# Looks disagree when chi-square is beyond what it reaches in this share of cases by chance.
_BY_CHANCE_SHARE = 0.05


def best_looks(looks: Sequence[Look]) -> list[Look]:
    """The looks of the best method there is; they give the place.

    Parameters
    ----------
    looks
        At least one.
    """
    ranks = [_RANKS[look.method] for look in looks]
    top = max(ranks)
    return [look for look, rank in zip(looks, ranks, strict=True) if rank == top]


def _own_m2(looks: Sequence[Look]) -> Floats:
    """Variance of each look that no other passing shares [m2].

    Looks of one drive that pass within a minute share the receiver's error too, but two taps of
    one passing are never one thing; where a person joined them all the same, together they count
    as one look.
    """
    owns_m2 = np.array([max(look.own_sd_m, _LEAST_SD_M) ** 2 for look in looks])
    sharing: dict[Hashable, list[int]] = {}
    for row, look in enumerate(looks):
        sharing.setdefault((look.is_mark, look.drive_id or look.source), []).append(row)
    for rows in sharing.values():
        if len(rows) > 1:
            pairs = [[passings([looks[i], looks[j]]) == 1 for j in rows] for i in rows]
            owns_m2[rows] *= np.sum(pairs, axis=1)
    return owns_m2


def _lateness_m2(looks: Sequence[Look], people: People) -> Floats:
    """Covariance of looks by what is not known of their persons' lateness [m2].

    A look up-station and one down-station are off to opposite sides and cancel, as far as one
    lateness is behind both.
    """
    keys: dict[Hashable, int] = {}
    of = np.array([keys.setdefault(_sharing(look, people), len(keys)) for look in looks])
    rest_m2 = [max(look.along_sd_m**2 - look.own_sd_m**2, 0.0) for look in looks]
    told = np.array([_told(look, people) for look in looks])
    rest_m = np.where(told, 0.0, np.sqrt(rest_m2))
    unknown_m2: Floats = np.where(of[:, None] == of, np.outer(rest_m, rest_m), 0.0)
    if not told.any():
        return unknown_m2
    known_m2 = people.shared_m2(looks)
    # Off to which side a look is whose travel is not known, nobody knows: it shares nothing.
    aside = np.array([look.travel == 0 for look in looks])
    known_m2[(aside[:, None] | aside) & ~np.eye(len(looks), dtype=bool)] = 0.0
    return unknown_m2 + known_m2


def _told(look: Look, people: People) -> bool:
    """Whether a lateness was taken off by its seconds."""
    return look.person in people.of and math.isfinite(look.speed_mps)


def _sharing(look: Look, people: People) -> Hashable:
    """What looks of a person of whom nothing is known share: all that is not their own, one way.

    Without person or travel it is nothing.
    """
    alone = not look.person or look.travel == 0 or _told(look, people)
    return look.item_id if alone else (look.person, look.travel)


def merged_along(looks: Sequence[Look], people: People) -> tuple[float, float]:
    """Merged along and its standard deviation [m], by generalised least squares.

    A. C. Aitken, On least squares and linear combination of observations, Proceedings of the Royal
    Society of Edinburgh 55, 1935.
    """
    covariance_m2 = np.diag(_own_m2(looks)) + _lateness_m2(looks, people)
    along_m = np.array([look.along_m for look in looks])
    if len(looks) == 1:
        return float(along_m[0]), math.sqrt(covariance_m2[0, 0])
    solved = np.linalg.solve(covariance_m2, np.column_stack([np.ones(len(looks)), along_m]))
    weight, moment = solved.sum(axis=0).tolist()
    mean_m = moment / weight
    chi_square = float((along_m - mean_m) @ (solved[:, 1] - mean_m * solved[:, 0]))
    return mean_m, math.sqrt(_widening(chi_square, len(looks)) / weight)


def _measured(look: Look, marks: Mapping[str, Mapping[str, Any]]) -> bool:
    """Whether an offset was measured; if not it is that of words, or of the vehicle.

    All who say "outer wheel path" share what that leaves open, and so do all who drove the lane.
    """
    if look.method == "vehicle":
        return False
    told = look.is_mark and bool(marks[look.item_id]["said_offset"])
    return told or not (look.lane or look.position)


def merged_offset(
    looks: Sequence[Look], marks: Mapping[str, Mapping[str, Any]]
) -> tuple[float, float]:
    """Merged offset and its standard deviation [m]; looks that disagree widen it.

    Of those that share what they leave open the surest counts for all.
    """
    offset_m = np.array([look.offset_m for look in looks])
    sd_m = np.maximum([look.offset_sd_m for look in looks], _LEAST_SD_M)
    measured = np.array([_measured(look, marks) for look in looks])
    weight = 1.0 / sd_m**2
    if not measured.all():
        weight[~measured] *= weight[~measured].max() / weight[~measured].sum()
    mean_m = float(weight @ offset_m / weight.sum())
    chi_square = float(np.sum(((offset_m - mean_m) / sd_m) ** 2))
    return mean_m, math.sqrt(_widening(chi_square, len(looks)) / float(weight.sum()))


def _widening(chi_square: float, count: int) -> float:
    """What the variance of a mean is multiplied by where its looks disagree.

    That is chi-square over its degrees of freedom (Birge, The calculation of errors by the method
    of least squares, Physical Review 40, 1932), but only where chi-square is larger than chance
    explains: of few looks the ratio is above 1 in a third of all cases and more, and widening each
    of them would make every interval wider than it says.
    """
    freedom = count - 1
    if freedom == 0 or chi_square <= chdtri(freedom, _BY_CHANCE_SHARE):
        return 1.0
    return chi_square / freedom
