"""The ground of a strip in pieces: which pass cuts each piece first, and what its drum leaves.

In go a strip, its passes and where their drums are out of the road, out comes a ``Ground`` that
knows the area and the volume of every piece between any two places along.  Each bit of ground is in
one piece: what two passes run over counts for the one that is made first with its drum down.

In a bend a strip of width dn at offset n is (1 - k n) ds long, for a curvature k that is right
positive (differential geometry of parallel curves; Frenet).  Edges, depths and curvature change
evenly within a piece and a drum keeps its width, so that both integrals are of polynomials of
degree 5 at most in the distance along, which Gauss points integrate exactly (Abramowitz and Stegun
1964, 25.4.29: five of them up to degree 9).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from routeprep.geodesy import bearings_deg
from routeprep.lines import Centerline
from routeprep.plans import Pass, Strip

__all__ = ["Ground", "ground_of"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

# From and to along a leg [m].
_Stretch = tuple[float, float]

_NODES, _WEIGHTS = (values / 2 for values in np.polynomial.legendre.leggauss(5))
_NODES += 0.5
# Pieces that are nowhere wider than this are none, edges this near do not cross [m].
_NONE_M = 1e-9
_HALF_TURN_DEG, _TURN_DEG = 180.0, 360.0
# No pass; in its place the strip's own edges and depths count.
_NOBODY = -1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ground:
    """One strip in pieces; each array has a row a piece, pairs are at its begin and its end.

    Attributes
    ----------
    strip, passes
        The strip, and its passes in the order of work.
    from_m, to_m
        Along [m].
    low_m, high_m
        Offsets of the two edges of each piece [m].
    left_m, right_m, depth_left_m, depth_right_m
        What its depth is reckoned from: edges of the drum that cuts it, of the strip where none
        does, and the depths there [m].
    curvature_per_m
        Of the leg's line, right positive [1/m].
    first
        Index of the pass that cuts it first; -1 where no drum does.
    left_by
        Index of the pass that would cut it first if its drum were not out; -1 where no drum runs
        over it or one cuts it.
    skipped
        Whether it is left as it is.
    """

    strip: Strip
    passes: tuple[Pass, ...]
    from_m: Floats
    to_m: Floats
    low_m: Floats
    high_m: Floats
    left_m: Floats
    right_m: Floats
    depth_left_m: Floats
    depth_right_m: Floats
    curvature_per_m: Floats
    first: Ints
    left_by: Ints
    skipped: Bools

    def amounts(self, from_m: float = -np.inf, to_m: float = np.inf) -> tuple[Floats, Floats]:
        """Area [m2] and volume [m3] of each piece between two places; NaN without a depth.

        Parameters
        ----------
        from_m, to_m
            Along [m]; all of it when left out.
        """
        begin_m, end_m = np.maximum(self.from_m, from_m), np.minimum(self.to_m, to_m)
        long_m = np.maximum(end_m - begin_m, 0.0)
        share = (begin_m - self.from_m)[:, None] + long_m[:, None] * _NODES
        share /= (self.to_m - self.from_m)[:, None]

        def _at(pair_m: Floats) -> Floats:
            return np.asarray(pair_m[:, :1] + share * (pair_m[:, 1:] - pair_m[:, :1]))

        low_m, high_m, bend = _at(self.low_m), _at(self.high_m), _at(self.curvature_per_m)
        left_m, depth_m = _at(self.left_m), _at(self.depth_left_m)
        wide_m = _at(self.right_m) - left_m
        rise = (_at(self.depth_right_m) - depth_m) / np.where(wide_m > _NONE_M, wide_m, 1.0)
        # Moments of the width: integrals of 1, n and n^2 from the low to the high edge.
        one, middle_m = high_m - low_m, (low_m + high_m) / 2
        two = one * middle_m
        three = one * (middle_m * middle_m + one * one / 12)
        flat_m = depth_m - rise * left_m
        area_m = one - bend * two
        volume_m2 = flat_m * one + rise * two - bend * (flat_m * two + rise * three)
        # What lies outside has no depth to be unsure of.
        volume_m3 = np.where(long_m > 0, long_m * (volume_m2 @ _WEIGHTS), 0.0)
        return long_m * (area_m @ _WEIGHTS), volume_m3


def _bends(line: Centerline) -> tuple[Floats, Floats]:
    """Places between which the curvature changes evenly [m], and its pairs there [1/m].

    Between vertices a line turns evenly from the middle of one segment to the middle of the next;
    on a designed alignment the elements say.
    """
    if line.alignment is not None:
        made = line.alignment
        at_m = np.concatenate([[0.0], np.cumsum(made.length_m)])
        return at_m, np.column_stack([made.curvature_start_per_m, made.curvature_end_per_m])
    ahead_deg = bearings_deg(line.lon_deg, line.lat_deg)
    back_deg = bearings_deg(line.lon_deg[::-1], line.lat_deg[::-1])[::-1]
    turn_deg = ahead_deg[1:] - (back_deg[:-1] + _HALF_TURN_DEG)
    turn_deg = (turn_deg + _HALF_TURN_DEG) % _TURN_DEG - _HALF_TURN_DEG
    at_m = (line.along_m[:-1] + line.along_m[1:]) / 2
    bend_per_m = np.radians(turn_deg) / np.diff(at_m)
    return at_m, np.column_stack([bend_per_m, bend_per_m])


def _curvature(bends: tuple[Floats, Floats], from_m: Floats, to_m: Floats) -> Floats:
    """Curvature at both ends of slabs [1/m], none of which goes over a place where it jumps."""
    at_m, pairs = bends
    if not len(pairs):
        return np.zeros((len(from_m), 2))
    piece = np.searchsorted(at_m, (from_m + to_m) / 2) - 1
    here = np.clip(piece, 0, len(pairs) - 1)
    share = (np.column_stack([from_m, to_m]) - at_m[here, None]) / np.diff(at_m)[here, None]
    found = pairs[here, :1] + share * np.diff(pairs[here], axis=1)
    return np.where((piece == here)[:, None], found, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Slabs:
    """A strip in slabs across; edges are the strip's two, then two of each pass.

    ``begin_m`` and ``end_m`` hold the edges' offsets at both ends of each slab [m]; those of passes
    that do not run there lie on the strip's left edge.  ``runs`` and ``down`` have a row a pass.
    """

    from_m: Floats
    to_m: Floats
    begin_m: Floats
    end_m: Floats
    runs: Bools
    down: Bools

    @property
    def middle_m(self) -> Floats:
        """Edges in the middle of each slab [m]."""
        return (self.begin_m + self.end_m) / 2


def _slabs(
    strip: Strip, passes: Sequence[Pass], out: Mapping[str, Sequence[_Stretch]], at_m: Floats
) -> _Slabs:
    """The strip between neighbouring places [m]."""
    from_m, to_m = at_m[:-1], at_m[1:]
    middle_m = (from_m + to_m) / 2
    runs = np.array(
        [(one.along_m[0] < middle_m) & (middle_m < one.along_m[-1]) for one in passes]
    ).reshape(len(passes), len(middle_m))
    down = runs.copy()
    for row, one in enumerate(passes):
        for begin_m, end_m in out.get(one.code, ()):
            low, high = np.searchsorted(middle_m, [begin_m, end_m])
            down[row, low:high] = False
    there = np.vstack([np.ones((1, len(middle_m)), dtype=np.bool_), runs]).repeat(2, axis=0)
    given: tuple[Strip | Pass, ...] = (strip, *passes)
    ends = []
    for place_m in (from_m, to_m):
        edges_m = np.array(
            [
                np.interp(place_m, one.along_m, edge_m)
                for one in given
                for edge_m in (one.left_m, one.right_m)
            ]
        )
        ends.append(np.where(there, edges_m, edges_m[0]))
    return _Slabs(from_m=from_m, to_m=to_m, begin_m=ends[0], end_m=ends[1], runs=runs, down=down)


def _crossings(slabs: _Slabs) -> Floats:
    """Places within slabs at which one edge passes another [m]."""
    order = np.argsort(slabs.middle_m, axis=0, kind="stable")
    steps = [
        np.diff(np.take_along_axis(edges_m, order, axis=0), axis=0)
        for edges_m in (slabs.begin_m, slabs.end_m)
    ]
    crossed = np.flatnonzero((np.minimum(*steps) < -_NONE_M).any(axis=0))
    one, two = np.triu_indices(len(slabs.begin_m), 1)
    begin_m, end_m = (
        edges_m[one][:, crossed] - edges_m[two][:, crossed]
        for edges_m in (slabs.begin_m, slabs.end_m)
    )
    pair, slab = np.nonzero(begin_m * end_m < 0)
    share = begin_m[pair, slab] / (begin_m[pair, slab] - end_m[pair, slab])
    from_m, to_m = slabs.from_m[crossed][slab], slabs.to_m[crossed][slab]
    return np.asarray(from_m + share * (to_m - from_m))


def _places(
    strip: Strip, passes: Sequence[Pass], others_m: Sequence[Floats], ends: tuple[float, float]
) -> Floats:
    """Places of a strip at which anything changes, rising [m]."""
    found_m = np.unique(
        np.concatenate([strip.along_m, *(one.along_m for one in passes), *others_m])
    )
    return found_m[(found_m >= ends[0]) & (found_m <= ends[1])]


def _firsts(slabs: _Slabs, middle_m: Floats) -> tuple[Ints, Ints]:
    """Index of the pass that cuts each piece first, and of the one that would; -1 for none."""
    first = np.full(middle_m.shape, _NOBODY)
    would = first.copy()
    edges_m = slabs.middle_m
    for row in reversed(range(len(slabs.runs))):
        over = (edges_m[2 * row + 2] < middle_m) & (middle_m < edges_m[2 * row + 3])
        first = np.where(over & slabs.down[row], row, first)
        would = np.where(over, row, would)
    return first, would


def _pairs(slabs: _Slabs, edge: Ints, slab: Ints) -> Floats:
    """Offsets of edges at both ends of slabs [m]."""
    return np.column_stack([slabs.begin_m[edge, slab], slabs.end_m[edge, slab]])


def _depths(
    ends_m: Floats, first: Ints, strip: Strip, passes: Sequence[Pass]
) -> tuple[Floats, Floats]:
    """Depths at both edges of the drum or the strip, at both ends of each piece [m]."""
    left_m, right_m = np.empty_like(ends_m), np.empty_like(ends_m)
    given: tuple[Strip | Pass, ...] = (strip, *passes)
    for row, one in enumerate(given, start=_NOBODY):
        here = first == row
        left_m[here] = np.interp(ends_m[here], one.along_m, one.depth_left_m)
        right_m[here] = np.interp(ends_m[here], one.along_m, one.depth_right_m)
    return left_m, right_m


def ground_of(
    strip: Strip,
    passes: Sequence[Pass],
    line: Centerline,
    *,
    out: Mapping[str, Sequence[_Stretch]],
    skips: Mapping[str, Sequence[_Stretch]],
) -> Ground:
    """Part a strip into pieces, in order along and then from left to right.

    Parameters
    ----------
    strip
        The strip.
    passes
        All of the leg; those of other strips do not count.
    line
        The leg's line.
    out
        Pass code to the stretches in which its drum is out of the road, along [m].
    skips
        Pass code to the stretches of these that are left as they are [m].
    """
    mine = sorted((one for one in passes if one.strip == strip.name), key=lambda one: one.order)
    bends = _bends(line)
    stretches_m = [np.ravel(some.get(one.code, ())) for one in mine for some in (out, skips)]
    ends = (float(strip.along_m[0]), float(strip.along_m[-1]))
    at_m = _places(strip, mine, [*stretches_m, bends[0]], ends)
    slabs = _slabs(strip, mine, out, at_m)
    slabs = _slabs(strip, mine, out, np.unique(np.r_[at_m, _crossings(slabs)]))
    ground = _pieces(slabs, strip, mine, bends)
    skipped = np.zeros(len(ground.from_m), dtype=np.bool_)
    middle_m = (ground.from_m + ground.to_m) / 2
    for row, one in enumerate(mine):
        for begin_m, end_m in skips.get(one.code, ()):
            skipped |= (ground.left_by == row) & (begin_m < middle_m) & (middle_m < end_m)
    return replace(ground, skipped=skipped)


def _pieces(
    slabs: _Slabs, strip: Strip, passes: Sequence[Pass], bends: tuple[Floats, Floats]
) -> Ground:
    """What lies between neighbouring edges, within the strip."""
    edges_m = slabs.middle_m
    order = np.argsort(edges_m, axis=0, kind="stable")
    sorted_m = np.take_along_axis(edges_m, order, axis=0)
    middle_m = (sorted_m[:-1] + sorted_m[1:]) / 2
    inside = (edges_m[0] < middle_m) & (middle_m < edges_m[1])
    wide = np.diff(sorted_m, axis=0) > _NONE_M
    slab, row = np.nonzero((inside & wide).T)
    first, would = (found[row, slab] for found in _firsts(slabs, middle_m))
    from_m, to_m = slabs.from_m[slab], slabs.to_m[slab]
    depths_m = _depths(np.column_stack([from_m, to_m]), first, strip, passes)
    edge = 2 * (first - _NOBODY)
    return Ground(
        strip=strip,
        passes=tuple(passes),
        from_m=from_m,
        to_m=to_m,
        low_m=_pairs(slabs, order[row, slab], slab),
        high_m=_pairs(slabs, order[row + 1, slab], slab),
        left_m=_pairs(slabs, edge, slab),
        right_m=_pairs(slabs, edge + 1, slab),
        depth_left_m=depths_m[0],
        depth_right_m=depths_m[1],
        curvature_per_m=_curvature(bends, slabs.from_m, slabs.to_m)[slab],
        first=first,
        left_by=np.where(first == _NOBODY, would, _NOBODY),
        skipped=np.zeros(len(first), dtype=np.bool_),
    )
