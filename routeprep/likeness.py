"""What looks say, as logarithms of chances: kinds, places across and sizes.

In go the kinds, offsets and sizes of many looks, out comes a ``Saying`` each: how likely every look
is to say what it says, whichever way it truly is.  A look that says nothing is equally likely
either way, so that what is not known never speaks for or against.
"""

import functools
import math
import zlib
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

from routeprep.kinds import KindTable

__all__ = ["Saying", "across_said", "kinds_said", "log_sum", "sizes_said"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
# Logarithms of chances, of 1 or per metre.
Logs = npt.NDArray[np.float64]

# All values here: common practice, no source.
# Chance that a person says the general word, a manhole, where an exact one would be right.
_GENERAL = 0.3
# Chance that a thing is called by a name of another group: next to never, whoever passed it by.
_OTHER_GROUP = 1e-15
# A valve swallowed by its neighbour is a drum broken, a row too many costs a glance: looks of two
# kinds must be this many times more likely one thing than their chances alone ask for.
_SWALLOWED = 3.0
# Share of looks whose words across, or whose size, are plainly wrong; of the first as of kinds.
_WRONG_ACROSS = 0.02 / _SWALLOWED
_WRONG_SIZE = 0.1
# Across the road in cells of this width, at most this far from the line [m]; what lies farther out
# counts as there.  What is plainly wrong lies anywhere in that.
_CELL_M = 0.75
_HALF_M = 15.0
# Before anything is seen a thing may lie in any cell, as if this many looks had said so evenly;
# and things lie where no look was in this share of all cases.
_LOOKS_BEFORE = 2.0
_ELSEWHERE = 0.02
# Sizes are told apart by their words; sixteen are enough to tell neighbours apart.
_SIZES = 16


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Saying:
    """What looks say of one thing about a thing: its kind, its place across, or its size.

    Attributes
    ----------
    rows
        Logarithm of the chance of each different saying (rows) for each way the thing may truly
        be (columns).
    of_look
        Row of each look.
    usual
        Logarithm of the share of things that are each way.
    """

    rows: Logs
    of_look: Ints
    usual: Logs


def log_sum(logs: Logs) -> Logs:
    """Logarithm of the sum of chances along the last axis."""
    # Column by column: rows are short, and each would be a loop of its own.
    most = functools.reduce(np.maximum, np.moveaxis(logs, -1, 0))
    chances = logs - most[..., None]
    np.exp(chances, out=chances)
    total: Logs = most + np.log(chances.sum(axis=-1))
    return total


def kinds_said(of_look: Sequence[str], kinds: KindTable, *, wrong_share: float) -> Saying:
    """Chances of calling a thing of one kind by the name of another, kinds by code.

    Wrong names fall evenly on all others of the group.

    Parameters
    ----------
    of_look
        Code of each look's kind.
    kinds
        The job's kinds.
    wrong_share
        Share of wrong names, of 1 [-].
    """
    codes = sorted(set(of_look))
    groups = [kinds.kinds[code].group for code in codes]
    count_of = Counter(kind.group for kind in kinds.kinds.values())

    def chance(said: int, true: int) -> float:
        if said == true:
            return 1.0 - wrong_share
        if codes[true] in kinds.kinds[codes[said]].may_be:
            return _GENERAL
        if groups[said] == groups[true]:
            return max(wrong_share, _OTHER_GROUP) / (count_of[groups[said]] - 1) / _SWALLOWED
        return _OTHER_GROUP

    count = len(codes)
    table = [[chance(said, true) for true in range(count)] for said in range(count)]
    row_of = {code: row for row, code in enumerate(codes)}
    return Saying(
        rows=np.log(np.array(table).reshape(count, count)),
        of_look=np.array([row_of[code] for code in of_look], dtype=np.int64),
        usual=np.zeros(count),
    )


def across_said(offset_m: Floats, sd_m: Floats) -> Saying:
    """Chances of each look's offset for a thing in each cell across the road.

    Parameters
    ----------
    offset_m
        Offset of each look [m]; NaN where it does not know.
    sd_m
        Its standard deviation [m].
    """
    known = np.isfinite(offset_m)
    # What does not know is one row of its own, far outside.
    told_m = np.column_stack([np.where(known, offset_m, np.inf), np.where(known, sd_m, 1.0)])
    different, of_look = np.unique(told_m, axis=0, return_inverse=True)
    edges_m = _edges_m(offset_m[known])
    half_m = _CELL_M / 2
    # Beyond the last cell is in the last cell.
    place_m = np.clip(different[:, :1], edges_m[0] + half_m, edges_m[-1] - half_m)
    below = ndtr((edges_m - place_m) / np.maximum(different[:, 1:], half_m / 2))
    inside = np.diff(below, axis=1)
    plain = (1 - _WRONG_ACROSS) * inside / _CELL_M + _WRONG_ACROSS / (2 * _HALF_M)
    knows = np.isfinite(different[:, 0])
    counts = np.bincount(of_look.ravel(), minlength=len(different))
    seen = np.sum((inside * counts[:, None])[knows], axis=0)
    usual = seen + (_LOOKS_BEFORE + _ELSEWHERE * seen.sum()) / len(seen)
    return Saying(
        rows=np.log(np.where(knows[:, None], plain, 1.0)),
        of_look=of_look.ravel(),
        usual=np.log(usual / usual.sum()),
    )


def _edges_m(offset_m: Floats) -> Floats:
    """Edges of the cells that looks lie in and of one beside them [m]."""
    low_m, high_m = np.clip(
        [offset_m.min(initial=0.0), offset_m.max(initial=0.0)], -_HALF_M, _HALF_M
    )
    low, high = math.floor(low_m / _CELL_M) - 1, math.ceil(high_m / _CELL_M) + 1
    return _CELL_M * np.arange(low, high + 1)


def sizes_said(sizes: Sequence[str]) -> Saying:
    """Chances of each look's size, where it says one.

    Parameters
    ----------
    sizes
        As said; empty where nobody said one.
    """
    words = ["".join(size.lower().split()) for size in sizes]
    of_look = [zlib.crc32(text.encode()) % _SIZES if text else _SIZES for text in words]
    told = np.where(np.eye(_SIZES) > 0, 1 - _WRONG_SIZE, _WRONG_SIZE / (_SIZES - 1))
    return Saying(
        rows=np.log(np.vstack([told, np.ones(_SIZES)])),
        of_look=np.array(of_look, dtype=np.int64),
        usual=np.full(_SIZES, -math.log(_SIZES)),
    )
