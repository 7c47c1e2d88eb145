"""Points against a designed alignment, by its elements: lines, arcs and clothoids, not chords.

In go distances or coordinates in the alignment's own plane in metres, out come arrays in their
order.  Nothing clamps: past an end the tangent there is drawn on, and it is said by how much.

Method: an element's direction turns by k s + (k' - k) s^2 / 2L, so that lines and arcs are closed
forms and a clothoid is the integral of the direction's cosine and sine, which is taken by
Gauss-Legendre quadrature (Abramowitz and Stegun 1964, 7.3 and 25.4.29).  The nearest place is
where the way to the point stands square to the direction: closed for lines and arcs, by Newton's
method kept inside a bracket for clothoids.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from routeprep.errors import LineError
from routeprep.lines import Alignment

__all__ = ["OnElements", "locate_near_on", "locate_on", "place_on", "vertices_on"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

# Twelve nodes integrate a turn of 2 rad to 1e-16 of the length: less than 2^24 / 24!.
_NODES, _WEIGHTS = (array / 2 for array in np.polynomial.legendre.leggauss(12))
_PANEL_RAD = 2.0

# Pieces leave their chords by this much at most [m]; what a chord's distance cannot rule out is
# settled on the element itself, and rounding of large coordinates is allowed for.
_PIECE_CHORD_ERROR_M = 0.001
_SLACK_M = 1e-6
# Distances that differ by less are equal [m]: rounding of coordinates, 1e7 m times 1e-16.
_SAME_M = 1e-9
# Newton's steps end when they are shorter than this [m], or after so many.
_CONVERGED_M, _MOST_STEPS = 1e-10, 60
# Keeps a division by a length of nothing in its bounds.
_TINY = 1e-30
# So many points, or pairs of point and piece, are looked at together.
_CHUNK, _PAIRS = 5_000, 2_000_000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OnElements:
    """Where points are against an alignment.

    Attributes
    ----------
    along_m
        Distance from its start [m]; below 0 or above the length past an end, NaN for a point
        that is not finite.
    offset_m
        Distance from it, right positive looking up-station [m].
    past_end_m
        How far past an end, measured along the tangent there [m]; 0 elsewhere.
    distance_m
        Distance from the nearest point of the alignment itself [m].
    """

    along_m: Floats
    offset_m: Floats
    past_end_m: Floats
    distance_m: Floats


def _starts(alignment: Alignment) -> Floats:
    """Distance along at which each element starts, and the last one ends [m]."""
    return np.concatenate([[0.0], np.cumsum(alignment.length_m)])


def _rate(alignment: Alignment) -> Floats:
    """How fast each element's curvature changes [1/m2]."""
    change = alignment.curvature_end_per_m - alignment.curvature_start_per_m
    return np.asarray(change / alignment.length_m)


def _ahead_right(s_m: Floats, k_per_m: Floats, rate: Floats) -> tuple[Floats, Floats]:
    """Forward and right of an element's start [m], at a distance from it."""
    half = 0.5 * k_per_m * s_m
    chord = s_m * np.sinc(half / np.pi)
    forward, right = chord * np.cos(half), chord * np.sin(half)
    bent = np.flatnonzero((rate != 0.0) & np.isfinite(s_m))
    if len(bent):
        forward[bent], right[bent] = _integrated(s_m[bent], k_per_m[bent], rate[bent])
    return forward, right


def _integrated(s_m: Floats, k_per_m: Floats, rate: Floats) -> tuple[Floats, Floats]:
    """The same for clothoids, in panels that turn little enough."""
    turn = np.maximum(np.abs(k_per_m), np.abs(k_per_m + rate * s_m)) * s_m
    panels = max(1, int(np.ceil(turn.max() / _PANEL_RAD)))
    forward, right = np.zeros(len(s_m)), np.zeros(len(s_m))
    for panel in range(panels):
        for node, weight in zip(_NODES, _WEIGHTS, strict=True):
            t_m = s_m * ((panel + 0.5 + node) / panels)
            heading = t_m * (k_per_m + 0.5 * rate * t_m)
            forward += weight * np.cos(heading)
            right += weight * np.sin(heading)
    return forward * s_m / panels, right * s_m / panels


def _east_north(forward: Floats, right: Floats, heading: Floats) -> Floats:
    """East and north (n, 2) from forward and right of a direction, and the other way round."""
    east, north = np.sin(heading), np.cos(heading)
    return np.column_stack([forward * east + right * north, forward * north - right * east])


def place_on(alignment: Alignment, along_m: Floats, offset_m: Floats) -> tuple[Floats, Floats]:
    """Coordinates (n, 2) [m] and direction [deg] at distances along and beside an alignment.

    Where two elements meet it is the later one that counts.  The direction is that of the
    alignment there, clockwise from the plane's north, 0 to 360.

    Parameters
    ----------
    alignment
        The alignment.
    along_m
        Distance along [m]; past an end the tangent there is drawn on; NaN gives NaN.
    offset_m
        Right positive looking up-station [m].
    """
    starts = _starts(alignment)
    along_m = np.where(np.isfinite(along_m), along_m, np.nan)
    here = np.maximum(np.searchsorted(starts[:-1], along_m, side="right") - 1, 0)
    local_m = along_m - starts[here]
    s_m = np.clip(local_m, 0.0, alignment.length_m[here])
    beyond_m = local_m - s_m
    first, k_per_m = np.radians(alignment.heading_deg)[here], alignment.curvature_start_per_m[here]
    rate = _rate(alignment)[here]
    heading = first + s_m * (k_per_m + 0.5 * rate * s_m)
    start_m = np.column_stack([alignment.x_m[here], alignment.y_m[here]])
    foot_m = start_m + _east_north(*_ahead_right(s_m, k_per_m, rate), first)
    return foot_m + _east_north(beyond_m, offset_m, heading), np.mod(np.degrees(heading), 360.0)


def vertices_on(alignment: Alignment, *, chord_error_m: float, step_m: float) -> Floats:
    """Distances along [m] from 0 to the length, every end of an element among them.

    Parameters
    ----------
    alignment
        The alignment.
    chord_error_m
        The most that an element leaves the chord between two of them [m]; by the sagitta's
        bound, length^2 x curvature / 8.
    step_m
        The most between two of them [m]; may be infinite.

    Raises
    ------
    LineError
        If one of the two is not above 0.
    """
    if not (chord_error_m > 0.0 and step_m > 0.0):
        msg = (
            f"alignment {alignment.name!r}: a chord error of {chord_error_m!r} m and a step of "
            f"{step_m!r} m; expected both above 0"
        )
        raise LineError(msg, chord_error_m=chord_error_m, step_m=step_m)
    ends = (alignment.curvature_start_per_m, alignment.curvature_end_per_m)
    k_per_m = np.abs(ends).max(axis=0)
    most = np.maximum(np.sqrt(k_per_m / (8.0 * chord_error_m)), 1.0 / step_m)
    counts = np.maximum(1, np.ceil(alignment.length_m * most)).astype(np.int64)
    starts = _starts(alignment)
    element = np.repeat(np.arange(len(counts)), counts)
    number = np.arange(len(element)) - np.repeat(np.cumsum(counts) - counts, counts)
    inner = starts[element] + alignment.length_m[element] * (number / counts[element])
    return np.append(inner, starts[-1])


class _Pieces:
    """An alignment in pieces so short that each is nearly its chord, with a tree of the chords."""

    def __init__(self, alignment: Alignment) -> None:
        """Cut it; a piece of an element is an element."""
        edges = vertices_on(alignment, chord_error_m=_PIECE_CHORD_ERROR_M, step_m=np.inf)
        starts, rate = _starts(alignment), _rate(alignment)
        self.along_m, self.length_m = edges[:-1], np.maximum(np.diff(edges), _TINY)
        self.total_m = float(edges[-1])
        element = np.searchsorted(starts[:-1], self.along_m, side="right") - 1
        from_m = self.along_m - starts[element]
        self.rate = rate[element]
        self.k_per_m = alignment.curvature_start_per_m[element] + self.rate * from_m
        self.xy_m, heading_deg = place_on(alignment, self.along_m, np.zeros(len(from_m)))
        self.heading = np.radians(heading_deg)
        away_m = _ahead_right(self.length_m, self.k_per_m, self.rate)
        self.end_m = self.xy_m + _east_north(*away_m, self.heading)
        self.end_heading = self.heading + self.turn(np.arange(len(element)), self.length_m)

    def turn(self, piece: Ints, s_m: Floats) -> Floats:
        """How far the direction has turned since the piece's start [rad], right positive."""
        return np.asarray(s_m * (self.k_per_m[piece] + 0.5 * self.rate[piece] * s_m))

    def corner_turn(self, piece: Ints, s_m: Floats, ahead_m: Floats) -> Floats:
        """How far the direction turns [rad] where another piece begins or ends at a place."""
        here = self.heading[piece] + self.turn(piece, s_m)
        onward = self.heading[np.minimum(piece + 1, len(self.heading) - 1)]
        other = np.where(ahead_m > 0.0, onward, self.end_heading[np.maximum(piece - 1, 0)])
        at_edge = (s_m <= 0.0) | (s_m >= self.length_m[piece])
        return np.where(at_edge, other - here, 0.0)

    def chord_distance(
        self, piece: Ints, xy_m: Floats, from_share: Floats, to_share: Floats
    ) -> Floats:
        """Distance of points from a part of the pieces' chords [m]."""
        step = self.end_m[piece] - self.xy_m[piece]
        rel = xy_m - self.xy_m[piece]
        share = (rel * step).sum(axis=1) / np.maximum((step**2).sum(axis=1), _TINY)
        away = rel - np.clip(share, from_share, to_share)[:, None] * step
        return np.asarray(np.hypot(away[:, 0], away[:, 1]))


@dataclass(frozen=True, slots=True, eq=False)
class _Pairs:
    """Rows of points, pieces that may be nearest, and the part of those to look at [m]."""

    point: Ints
    piece: Ints
    low_m: Floats
    high_m: Floats

    def at(self, rows: Ints) -> "_Pairs":
        """Some of them."""
        return _Pairs(self.point[rows], self.piece[rows], self.low_m[rows], self.high_m[rows])


def _feet(pieces: _Pieces, forward: Floats, right: Floats, pairs: _Pairs) -> Floats:
    """Distance of each pair's nearest place from the piece's start [m]."""
    k_per_m, bent = pieces.k_per_m[pairs.piece], pieces.rate[pairs.piece] != 0.0
    round_ = (k_per_m != 0.0) & ~bent
    s_m = forward.copy()
    k, middle = k_per_m[round_], 0.5 * (pairs.low_m + pairs.high_m)[round_]
    raw = np.arctan2(k * forward[round_], 1.0 - k * right[round_]) / k
    once_round_m = 2.0 * np.pi / np.abs(k)
    s_m[round_] = raw - once_round_m * np.round((raw - middle) / once_round_m)
    s_m = np.clip(s_m, pairs.low_m, pairs.high_m)
    rows = np.flatnonzero(bent)
    if len(rows):
        s_m[rows] = _newton(pieces, forward[rows], right[rows], pairs.at(rows))
    return s_m


def _newton(pieces: _Pieces, forward: Floats, right: Floats, pairs: _Pairs) -> Floats:
    """The same on clothoids: where the way to the point stands square to the direction."""
    low, high = pairs.low_m, pairs.high_m
    from_low, _, low_away, _ = _beside(pieces, forward, right, pairs.piece, low)
    from_high, _, high_away, _ = _beside(pieces, forward, right, pairs.piece, high)
    bracketed = (from_low > 0.0) & (from_high < 0.0)
    # With no change of sign the nearest place is an end: the nearer one where both could be.
    end = np.where((from_low > 0.0) | ((from_high >= 0.0) & (high_away < low_away)), high, low)
    low, high = np.where(bracketed, low, end), np.where(bracketed, high, end)
    span = np.where(bracketed, from_low - from_high, 1.0)
    s_m = np.where(bracketed, low + from_low * (high - low) / span, end)
    moved_m, steps = np.inf, 0
    while moved_m >= _CONVERGED_M and steps < _MOST_STEPS:
        ahead, _, _, slope = _beside(pieces, forward, right, pairs.piece, s_m)
        low, high = np.where(ahead > 0.0, s_m, low), np.where(ahead > 0.0, high, s_m)
        step = np.where(slope > 0.0, s_m + ahead / np.maximum(slope, 1e-12), -1.0)
        better = np.where((step >= low) & (step <= high), step, 0.5 * (low + high))
        better = np.where(bracketed, better, end)
        moved_m, steps, s_m = np.abs(better - s_m).max(), steps + 1, better
    return s_m


def _beside(
    pieces: _Pieces, forward: Floats, right: Floats, piece: Ints, s_m: Floats
) -> tuple[Floats, Floats, Floats, Floats]:
    """Points seen from a place: ahead, right, how far [m]; how fast it falls behind going on."""
    k_per_m, rate = pieces.k_per_m[piece], pieces.rate[piece]
    x, y = _ahead_right(s_m, k_per_m, rate)
    turn = pieces.turn(piece, s_m)
    x, y = forward - x, right - y
    ahead, beside = x * np.cos(turn) + y * np.sin(turn), y * np.cos(turn) - x * np.sin(turn)
    return ahead, beside, np.hypot(x, y), 1.0 - (k_per_m + rate * s_m) * beside


def _settle(pieces: _Pieces, xy_m: Floats, pairs: _Pairs) -> dict[str, Floats]:
    """Each point's nearest place among its pairs, the first along of equals."""
    rel_m = xy_m[pairs.point] - pieces.xy_m[pairs.piece]
    forward, right = _east_north(rel_m[:, 0], rel_m[:, 1], pieces.heading[pairs.piece]).T
    s_m = _feet(pieces, forward, right, pairs)
    ahead, offset, distance, _ = _beside(pieces, forward, right, pairs.piece, s_m)
    least = np.full(len(xy_m), np.inf)
    np.minimum.at(least, pairs.point, distance)
    near = np.flatnonzero(distance <= least[pairs.point] + _SAME_M)
    # A foot square to its piece goes before the edge of the piece beside it.
    edge = np.abs(ahead[near]) > _SAME_M
    order = near[np.lexsort((pairs.piece[near], edge, pairs.point[near]))]
    rows = order[np.r_[True, np.diff(pairs.point[order]) > 0]]
    piece, s_m, ahead, offset = pairs.piece[rows], s_m[rows], ahead[rows], offset[rows]
    along_m = pieces.along_m[piece] + s_m
    last = len(pieces.along_m) - 1
    past = ((along_m <= 0.0) & (ahead < 0.0)) | (
        (piece == last) & (s_m >= pieces.length_m[last]) & (ahead > 0.0)
    )
    # Round a corner the offset is the distance, on the side of the mean of the two directions.
    turn = pieces.corner_turn(piece, s_m, ahead)
    side = offset * (1.0 + np.cos(turn)) - ahead * np.sin(turn)
    corner = ~past & (np.abs(ahead) > _SAME_M)
    offset = np.where(corner, np.copysign(distance[rows], side), offset)
    return {
        "along_m": along_m + np.where(past, ahead, 0.0),
        "offset_m": offset,
        "past_end_m": np.where(past, np.abs(ahead), 0.0),
        "distance_m": distance[rows],
    }


def _in_chunks(
    pieces: _Pieces, xy_m: Floats, rows: Ints, chunk: int, pairs_of: Callable[[Ints], _Pairs]
) -> OnElements:
    """Settle some rows of the points, so many together; the others get NaN."""
    names = ("along_m", "offset_m", "past_end_m", "distance_m")
    out = {name: np.full(len(xy_m), np.nan) for name in names}
    for begin in range(0, len(rows), chunk):
        some = rows[begin : begin + chunk]
        for name, values in _settle(pieces, xy_m[some], pairs_of(some)).items():
            out[name][some] = values
    return OnElements(**out)


def locate_on(alignment: Alignment, xy_m: Floats) -> OnElements:
    """Nearest place on an alignment of each point, the first along where two are as near.

    Parameters
    ----------
    alignment
        The alignment.
    xy_m
        Points (n, 2), east and north in the alignment's plane [m]; a point that is not finite
        gets NaN.
    """
    pieces = _Pieces(alignment)
    chords = shapely.linestrings(np.stack([pieces.xy_m, pieces.end_m], axis=1))
    tree = shapely.STRtree(np.asarray(chords).tolist())

    def near(rows: Ints) -> _Pairs:
        points = shapely.points(xy_m[rows])
        (found, _), chord_m = tree.query_nearest(points, return_distance=True, all_matches=False)
        reach_m = np.zeros(len(rows))
        reach_m[found] = chord_m + 2.0 * _PIECE_CHORD_ERROR_M + _SLACK_M
        point, piece = tree.query(points, predicate="dwithin", distance=reach_m)
        zero_m = np.zeros(len(piece))
        return _Pairs(point, piece, zero_m, pieces.length_m[piece])

    finite = np.flatnonzero(np.isfinite(xy_m).all(axis=1))
    return _in_chunks(pieces, xy_m, finite, _CHUNK, near)


def locate_near_on(
    alignment: Alignment, xy_m: Floats, *, near_m: Floats, window_m: float
) -> OnElements:
    """Nearest place of each point on the part of an alignment around a known distance along.

    Parameters
    ----------
    alignment
        The alignment.
    xy_m
        Points (n, 2), east and north in the alignment's plane [m].
    near_m
        For each point, the distance along that it must be near [m]; NaN gives NaN.
    window_m
        How far along from there to look [m]; where that leaves nothing of the alignment, its
        nearer end is taken.
    """
    pieces = _Pieces(alignment)
    low_m = np.clip(near_m - window_m, 0.0, pieces.total_m)
    high_m = np.clip(near_m + window_m, 0.0, pieces.total_m)
    finite = np.flatnonzero(np.isfinite(xy_m).all(axis=1) & np.isfinite(near_m))
    chunk = max(1, _PAIRS // len(pieces.along_m))

    def near(rows: Ints) -> _Pairs:
        return _in_windows(pieces, xy_m[rows], low_m=low_m[rows], high_m=high_m[rows])

    return _in_chunks(pieces, xy_m, finite, chunk, near)


def _in_windows(pieces: _Pieces, xy_m: Floats, *, low_m: Floats, high_m: Floats) -> _Pairs:
    """Pairs of point and piece inside each point's window that may hold the nearest place."""
    last = len(pieces.along_m) - 1
    first = np.clip(np.searchsorted(pieces.along_m, low_m, side="right") - 1, 0, last)
    final = np.clip(np.searchsorted(pieces.along_m, high_m, side="right") - 1, first, last)
    counts = final - first + 1
    point = np.repeat(np.arange(len(xy_m)), counts)
    number = np.arange(len(point)) - np.repeat(np.cumsum(counts) - counts, counts)
    piece = first[point] + number
    begin_m, length_m = pieces.along_m[piece], pieces.length_m[piece]
    low_m = np.clip(low_m[point] - begin_m, 0.0, length_m)
    high_m = np.clip(high_m[point] - begin_m, 0.0, length_m)
    pairs = _Pairs(point, piece, low_m, high_m)
    chord_m = pieces.chord_distance(piece, xy_m[point], low_m / length_m, high_m / length_m)
    least = np.full(len(xy_m), np.inf)
    np.minimum.at(least, point, chord_m)
    within = least[point] + 4.0 * _PIECE_CHORD_ERROR_M + _SLACK_M
    return pairs.at(np.flatnonzero(chord_m <= within))
