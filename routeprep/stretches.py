"""Stretches along a line: found, joined, made long enough, and what two lists of them share.

A list of stretches is pairs of begin and end in rising order, none touching the next.
"""

from bisect import bisect_left, bisect_right

import numpy as np
import numpy.typing as npt

__all__ = ["Stretches", "long_enough", "merged", "shared", "stretches_of"]

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

Stretches = list[tuple[float, float]]


def stretches_of(along_m: Floats, inside: Bools) -> Stretches:
    """Stretches [m] of neighbouring segments that are inside.

    Parameters
    ----------
    along_m
        Rising places [m].
    inside
        For each segment between two of them whether it is.
    """
    edges = np.flatnonzero(np.diff(np.r_[False, inside, False].astype(np.int8)))
    return [
        (float(along_m[begin]), float(along_m[end])) for begin, end in edges.reshape(-1, 2).tolist()
    ]


def merged(stretches: Stretches, *, gap_m: float) -> Stretches:
    """Stretches with those joined that lie no farther apart than a gap.

    Parameters
    ----------
    stretches
        In order of their begin; they may overlap.
    gap_m
        The gap [m].
    """
    made: Stretches = []
    for begin_m, end_m in stretches:
        if made and begin_m - made[-1][1] <= gap_m:
            made[-1] = (made[-1][0], max(end_m, made[-1][1]))
        else:
            made.append((begin_m, end_m))
    return made


def long_enough(
    stretches: Stretches, *, least_m: float, within_m: tuple[float, float]
) -> Stretches:
    """Stretches no shorter than a length and no nearer to each other, as far as there is room.

    Parameters
    ----------
    stretches
        In order.
    least_m
        The length [m].
    within_m
        Where there is room, from and to [m].
    """
    wide = []
    for begin_m, end_m in merged(stretches, gap_m=least_m):
        more_m = max(0.0, least_m - (end_m - begin_m)) / 2
        low_m, high_m = begin_m - more_m, end_m + more_m
        shift_m = max(0.0, within_m[0] - low_m) - max(0.0, high_m - within_m[1])
        wide.append((max(within_m[0], low_m + shift_m), min(within_m[1], high_m + shift_m)))
    return merged(wide, gap_m=0.0)


def shared(one: Stretches, two: Stretches) -> Stretches:
    """What two lists of stretches have in common."""
    begins_m, ends_m = [begin_m for begin_m, _ in two], [end_m for _, end_m in two]
    return [
        (max(begin_m, low_m), min(end_m, high_m))
        for begin_m, end_m in one
        for low_m, high_m in two[bisect_right(ends_m, begin_m) : bisect_left(begins_m, end_m)]
    ]
