"""What a pass may touch: in go where things may be and a pass, out come those it meets, and how.

Edges of a pass are straight between its places, so that the nearest place of each thing is found
among them and where two distances cross.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from routeprep.plans import Pass
from routeprep.whereabouts import Thing

__all__ = ["Touched", "Where", "touched_by", "where_of"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

# Edges nearer than this touch [m].
_TOUCH_M = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Where:
    """Where things may be, a value a thing.

    Attributes
    ----------
    along_m, from_m, to_m, along_half_m
        Where they are along and how far they reach, and half of the 95 % interval [m].
    offset_m
        Of their middles [m].
    half_m
        Half their size at most [m].
    may_low_m, may_high_m
        Offsets between which any of it may be [m].
    sure_low_m, sure_high_m
        Offsets between which the drum must reach to be surely over it [m]; the low may be the
        higher one.
    sure, spans, stands
        As of a ``Thing``.
    rank
        Place in the order of their ids.
    """

    along_m: Floats
    from_m: Floats
    to_m: Floats
    along_half_m: Floats
    offset_m: Floats
    half_m: Floats
    may_low_m: Floats
    may_high_m: Floats
    sure_low_m: Floats
    sure_high_m: Floats
    sure: Bools
    spans: Bools
    stands: Bools
    rank: Ints


def where_of(things: Sequence[Thing]) -> Where:
    """Put where things may be into arrays."""

    def each(name: str) -> Floats:
        return np.array([one.row[name] for one in things], dtype=np.float64)

    def own(name: str) -> Floats:
        return np.array([getattr(one, name) for one in things], dtype=np.float64)

    low_m, high_m, half_m, said_half_m = map(own, ("low_m", "high_m", "half_m", "said_half_m"))
    ids = np.array([one.row["anchor_id"] for one in things], dtype=object)
    return Where(
        along_m=each("along_m"),
        from_m=each("from_m"),
        to_m=each("to_m"),
        along_half_m=own("along_half_m"),
        offset_m=each("offset_m"),
        half_m=half_m,
        may_low_m=low_m - half_m,
        may_high_m=high_m + half_m,
        sure_low_m=low_m + said_half_m,
        sure_high_m=high_m - said_half_m,
        sure=own("sure") > 0,
        spans=own("spans") > 0,
        stands=own("stands") > 0,
        rank=np.argsort(np.argsort(ids, kind="stable"), kind="stable"),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Touched:
    """What one pass meets, as its drum comes to it.

    Attributes
    ----------
    number
        Index of the thing.
    touch
        How, as ``plans.Meeting`` has it.
    deep_m
        The deepest cut of the pass where it may be [m].
    from_left_m, from_right_m
        From the drum's edges, inside positive [m]; NaN if not known.
    """

    number: Ints
    touch: tuple[str, ...]
    deep_m: Floats
    from_left_m: Floats
    from_right_m: Floats


def _apart_m(one: Pass, at_m: Floats, low_m: Floats, high_m: Floats) -> Floats:
    """How far things are from the drum across, where they are nearest [m]; 0 or less: under it."""
    beyond_left_m = np.interp(at_m, one.along_m, one.left_m) - high_m[:, None]
    beyond_right_m = low_m[:, None] - np.interp(at_m, one.along_m, one.right_m)
    apart_m = np.maximum(beyond_left_m, beyond_right_m).min(axis=1)
    # Between two places both are straight: the greater is least where they cross.
    differ_m = beyond_left_m - beyond_right_m
    cross = differ_m[:, :-1] * differ_m[:, 1:] < 0
    if not cross.any():
        return np.asarray(apart_m)
    share = differ_m[:, :-1] / np.where(cross, differ_m[:, :-1] - differ_m[:, 1:], 1.0)
    there_m = beyond_left_m[:, :-1] + share * np.diff(beyond_left_m, axis=1)
    return np.asarray(np.minimum(apart_m, np.where(cross, there_m, np.inf).min(axis=1)))


def _within(one: Pass, where: Where, at: Ints, margin_m: Floats) -> Floats:
    """Places of a pass at which each thing may be, with a margin [m]."""
    reach_m = where.along_half_m[at] + margin_m
    begin_m, end_m = float(one.along_m[0]), float(one.along_m[-1])
    first_m = np.maximum(where.from_m[at] - reach_m, begin_m)
    last_m = np.minimum(where.to_m[at] + reach_m, end_m)
    return np.asarray(np.clip(one.along_m, first_m[:, None], last_m[:, None]))


def _under(one: Pass, where: Where, at: Ints) -> Bools:
    """Whether things are surely under the drum, wherever within their ± they are."""
    at_m = _within(one, where, at, np.zeros(len(at)))
    left_m = np.interp(at_m, one.along_m, one.left_m).max(axis=1)
    right_m = np.interp(at_m, one.along_m, one.right_m).min(axis=1)
    across = (left_m <= where.sure_low_m[at] + _TOUCH_M) & (
        where.sure_high_m[at] <= right_m + _TOUCH_M
    )
    # Shifted to either end of its ± along it still reaches into the pass.
    shift_m = where.along_half_m[at]
    along = (where.from_m[at] + shift_m <= one.along_m[-1]) & (
        where.to_m[at] - shift_m >= one.along_m[0]
    )
    return np.asarray(along & across & where.sure[at])


def _candidates(one: Pass, where: Where, reach_m: Floats) -> Ints:
    """Things that lie along a pass and within reach of its widest edges [m]."""
    along_m = where.along_half_m + where.half_m
    there = (where.from_m - along_m <= one.along_m[-1]) & (where.to_m + along_m >= one.along_m[0])
    beside = (where.may_high_m + reach_m >= one.left_m.min()) & (
        where.may_low_m - reach_m <= one.right_m.max()
    )
    return np.flatnonzero(there & (beside | where.spans))


def _in_order(one: Pass, where: Where, at: Ints) -> Ints:
    """Things as the drum comes to them."""
    ends_m = where.from_m[at] if one.travel > 0 else -where.to_m[at]
    return at[np.lexsort((where.rank[at], one.travel * where.along_m[at], ends_m))]


def touched_by(one: Pass, where: Where, *, side_m: float) -> Touched:
    """Find what a pass meets: "cut", "maybe", "side" or "over", as ``plans.Meeting`` has it.

    Parameters
    ----------
    one
        The pass.
    where
        Where the things may be.
    side_m
        What stands this near outside the drum is for the side plate [m].
    """
    reach_m = np.where(where.stands, side_m, 0.0) + _TOUCH_M
    at = _in_order(one, where, _candidates(one, where, reach_m))
    at_m = _within(one, where, at, where.half_m[at])
    apart_m = _apart_m(one, at_m, where.may_low_m[at], where.may_high_m[at])
    hit = apart_m <= _TOUCH_M
    touch = np.select(
        [where.spans[at], hit & _under(one, where, at), hit, apart_m <= reach_m[at]],
        ["over", "cut", "maybe", "side"],
        "",
    )
    edges_m = (one.depth_left_m, one.depth_right_m)
    depth_m = np.maximum(*(np.interp(at_m, one.along_m, edge_m) for edge_m in edges_m))
    known = where.sure[at] & (touch != "over")
    along_m, offset_m = where.along_m[at], np.where(known, where.offset_m[at], np.nan)
    kept = touch != ""
    return Touched(
        number=at[kept],
        touch=tuple(touch[kept].tolist()),
        deep_m=depth_m.max(axis=1)[kept],
        from_left_m=(offset_m - np.interp(along_m, one.along_m, one.left_m))[kept],
        from_right_m=(np.interp(along_m, one.along_m, one.right_m) - offset_m)[kept],
    )
