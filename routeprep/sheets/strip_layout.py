"""Labels along a strip of road, moved apart so that none lies over another or over a leader.

In go labels with the places that they belong to, out come their places: rows outward from the
road, and for each row the place where a label or the leader of one farther out passes.  Nothing
here is random, and no order is lost, so that leaders never cross.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

__all__ = ["Placed", "apart", "farthest", "rows_needed", "spread"]

# So wide is the way of a leader between labels of a row nearer to the road [pt].
_LEADER_PT = 8.0

# A label that is moved farther than this from its thing is hard to follow [pt]: another row is
# begun instead, if there may be one.
_FAR_PT = 130.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """Where one label stands.

    Attributes
    ----------
    row
        Which row, outward from the road from 0.
    turns_pt
        Middle of the leader in each row from 0 to ``row``; the last is the label's middle [pt].
    """

    row: int
    turns_pt: tuple[float, ...]


def apart(wanted_pt: Sequence[float], widths_pt: Sequence[float], *, room_pt: float) -> list[float]:
    """Middles of things in one row, in their order, moved apart as little as may be.

    Least squares under the order (isotonic regression by pooling neighbours; Barlow, Bartholomew,
    Bremner and Brunk, Statistical Inference under Order Restrictions, 1972, from memory), between
    0 and the room there is.

    Parameters
    ----------
    wanted_pt
        Where each belongs, in order [pt].
    widths_pt
        How wide each is [pt]; together no wider than the room.
    room_pt
        Width of the row [pt].
    """
    steps = [(a + b) / 2 for a, b in pairwise(widths_pt)]
    shifts = [0.0, *accumulate(steps)][: len(wanted_pt)]
    pools: list[tuple[float, int]] = []
    for want, shift in zip(wanted_pt, shifts, strict=True):
        mean, count = want - shift, 1
        while pools and pools[-1][0] > mean:
            before, more = pools.pop()
            mean, count = (mean * count + before * more) / (count + more), count + more
        pools.append((mean, count))
    flat = [mean for mean, count in pools for _ in range(count)]
    low = widths_pt[0] / 2 if widths_pt else 0.0
    high = room_pt - widths_pt[-1] / 2 - shifts[-1] if widths_pt else 0.0
    return [max(low, min(high, one)) + shift for one, shift in zip(flat, shifts, strict=True)]


def _rows(
    wanted_pt: Sequence[float], widths_pt: Sequence[float], rows: int, room_pt: float
) -> list[Placed] | None:
    """Labels dealt out to so many rows in turn; None where they do not fit."""
    turns: list[list[float]] = [[] for _ in wanted_pt]
    here, now = list(range(len(wanted_pt))), list(wanted_pt)
    for row in range(rows):
        sizes = [widths_pt[k] if k % rows == row else _LEADER_PT for k in here]
        if sum(sizes) > room_pt:
            return None
        places = apart([now[k] for k in here], sizes, room_pt=room_pt)
        for k, at_pt in zip(here, places, strict=True):
            turns[k].append(at_pt)
            now[k] = at_pt
        here = [k for k in here if k % rows > row]
    return [Placed(row=len(one) - 1, turns_pt=tuple(one)) for one in turns]


def farthest(wanted_pt: Sequence[float], placed: Sequence[Placed]) -> float:
    """How far the label that was moved most stands from where it belongs [pt].

    Parameters
    ----------
    wanted_pt
        Where each belongs [pt].
    placed
        Where each stands.
    """
    return max(
        (abs(one.turns_pt[-1] - want) for one, want in zip(placed, wanted_pt, strict=True)),
        default=0.0,
    )


def spread(
    wanted_pt: Sequence[float], widths_pt: Sequence[float], *, room_pt: float, most: int
) -> list[Placed] | None:
    """Places of labels in as few rows as serve; None where so many rows do not hold them.

    Parameters
    ----------
    wanted_pt
        Where each belongs along the strip, in order [pt].
    widths_pt
        How wide each is, with the space beside it [pt].
    room_pt
        Width of the strip [pt].
    most
        Rows there may be.
    """
    best: list[Placed] | None = None
    for rows in range(1, most + 1):
        placed = _rows(wanted_pt, widths_pt, rows, room_pt)
        if placed is None:
            continue
        if best is None or farthest(wanted_pt, placed) < farthest(wanted_pt, best):
            best = placed
        if farthest(wanted_pt, best) <= _FAR_PT:
            break
    return best


def rows_needed(placed: Sequence[Placed]) -> int:
    """How many rows some labels take."""
    return max((one.row + 1 for one in placed), default=0)
