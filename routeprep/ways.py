"""Where passings went along the legs: what was driven past and could have been seen.

In go the drives' paths, out come stretches of the one axis on which association lays all legs.
"""

from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet

import numpy as np
import numpy.typing as npt

from routeprep.matching import Path

__all__ = ["ways_of"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

# A way shorter than this is the phone's wandering where a vehicle stood or turned [m].  Common
# practice, no source.
_LEAST_M = 30.0


def _one_way(path: Path) -> list[tuple[int, float, float]]:
    """Leg, begin and end [m] of each way that a drive went without leaving the leg or turning."""
    if not len(path.leg):
        return []
    rises = np.sign(np.diff(path.along_m, prepend=np.nan))
    parts = np.r_[True, path.leg[1:] != path.leg[:-1]]
    # The step into a leg has no direction; the next one has, and begins nothing new.
    rises[parts] = np.r_[rises, 0.0][np.flatnonzero(parts) + 1]
    turned = np.r_[False, rises[1:] != rises[:-1]] & ~parts
    begins = np.flatnonzero(parts | turned)
    ways = []
    for begin, end in zip(begins.tolist(), [*begins[1:].tolist(), len(path.leg)], strict=True):
        # It turned at the fix before the first that went the other way.
        first = begin - 1 if turned[begin] else begin
        low, high = path.along_m[first:end].min(), path.along_m[first:end].max()
        if path.leg[begin] >= 0 and high - low >= _LEAST_M:
            ways.append((int(path.leg[begin]), float(low), float(high)))
    return ways


def ways_of(
    paths: Mapping[str, Path],
    codes: Sequence[str],
    looked: Mapping[tuple[str, str], AbstractSet[int]],
    *,
    origin_m: Mapping[str, float],
    count: int,
) -> tuple[tuple[Floats, Floats], ...]:
    """Where passings that looked for each group of kinds begin and end on the axis, each sorted.

    Parameters
    ----------
    paths
        Drive id to its path.
    codes
        Codes of the legs in the order that paths number them.
    looked
        Drive id and leg to the numbers of the groups that were tapped: what a person never taps
        he does not look for.
    origin_m
        Where each leg begins on the axis [m].
    count
        How many groups there are.
    """
    ways: list[list[tuple[float, float]]] = [[] for _ in range(count)]
    for drive_id in sorted(paths):
        for leg, low_m, high_m in _one_way(paths[drive_id]):
            at_m = origin_m.get(codes[leg], 0.0)
            for group in looked.get((drive_id, codes[leg]), ()):
                ways[group].append((at_m + low_m, at_m + high_m))
    columns = [np.array(one, dtype=np.float64).reshape(-1, 2) for one in ways]
    return tuple((np.sort(one[:, 0]), np.sort(one[:, 1])) for one in columns)
