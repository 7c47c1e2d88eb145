"""What is cut across the road in one span: in goes a span, out come bands from the line outward.

Parts that are cut and lie side by side make one band, as far as one straight depth runs across
them.  A band ends at the line: lanes of the two directions are milled apart, so that no pass
lies across the line where the traffic of both runs, unless the parts next to it say so
(``over_line``); these make a band of their own.  Common practice, no source.
"""

import math
from dataclasses import dataclass, replace

from routeprep.errors import JobError
from routeprep.roadway import RoadPart
from routeprep.shapes import Leg, LegSettings
from routeprep.spans import Span

__all__ = ["STEP_M", "Band", "Edge", "bands_of"]

# Edges and depths nearer than this are one [m].
STEP_M = 0.001

_WAYS = {"up": 1, "down": -1, "": 0}
# Nobody mills over these where they are not cut; that a median is raised is the safe guess.
_RAISED = ("gutter", "median")


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """What lies beyond the edge of a band.

    Attributes
    ----------
    what
        "line", "curb", "shoulder" or one of ``roadway.PARTS``; empty when not given.
    curb
        Whether nothing may run over it.
    """

    what: str
    curb: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """Parts to cut side by side in one span; pairs are at its begin and its end.

    Attributes
    ----------
    side
        +1 right of the line looking up-station, -1 left, 0 across it.
    parts
        What they are, from the line outward.
    inner_m, outer_m
        Distances of the two edges from the line [m]; across it from left to right, the left one
        negative.
    depth_inner_m, depth_outer_m
        Depth of the cut at the two edges [m].
    beyond_inner, beyond_outer
        What lies beyond them.
    shoulder_m
        Where a shoulder in it begins [m]; NaN without one.
    traffic, travel
        As of a strip.
    """

    side: int
    parts: tuple[str, ...]
    inner_m: tuple[float, float]
    outer_m: tuple[float, float]
    depth_inner_m: float
    depth_outer_m: float
    beyond_inner: Edge
    beyond_outer: Edge
    shoulder_m: tuple[float, float] = (math.nan, math.nan)
    traffic: int = 0
    travel: int = 0


def _same(one_m: float, two_m: float) -> bool:
    """Whether two depths are one; so are two that nobody gave."""
    both_unknown = math.isnan(one_m) and math.isnan(two_m)
    return both_unknown or abs(one_m - two_m) < STEP_M


def _goes_on(band: Band, part: Band) -> bool:
    """Whether one straight depth runs across a band and the part beyond it."""
    if not _same(band.depth_outer_m, part.depth_inner_m):
        return False
    rise_m = band.depth_outer_m - band.depth_inner_m
    if abs(rise_m) < STEP_M or math.isnan(rise_m):
        return _same(part.depth_inner_m, part.depth_outer_m)
    wide = [
        (band.outer_m[at] - band.inner_m[at], part.outer_m[at] - part.inner_m[at]) for at in (0, 1)
    ]
    return all(
        _same(part.depth_outer_m, band.depth_outer_m + rise_m * more_m / wide_m)
        for wide_m, more_m in wide
        if wide_m > 0 and more_m > 0
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Side:
    """One side of the road in one span: its parts from the line outward, each as a band.

    ``lanes`` are those that the leg has there.
    """

    given: tuple[RoadPart, ...]
    laid: tuple[Band, ...]
    end: Edge
    lanes: int

    def edge(self, at: int) -> Edge:
        """What lies at a place in the order outward; past the last the road's edge."""
        if at >= len(self.given):
            return self.end
        part = self.given[at]
        return Edge(what=part.what, curb=part.what in _RAISED and not part.cut)

    def inner_edge(self) -> Edge:
        """What somebody meets who comes over the line from the other side."""
        if not self.given and (self.end.what or not self.lanes):
            return self.end
        first = self.edge(0) if self.given else self.end
        return first if first.curb else Edge(what="line", curb=False)


def _side(span: Span, side: int, leg: LegSettings) -> _Side:
    """One side with its parts laid from the line outward; parts of no width are left out."""
    section, depth_m = span.section, leg.depth_m
    parts = section.right if side > 0 else section.left
    edge = section.edge_right if side > 0 else section.edge_left
    run = section.run_right if side > 0 else section.run_left
    given, laid, inner_m = [], [], (0.0, 0.0)
    for part in parts:
        wide_m = [
            part.width_m + share * (part.width_end_m - part.width_m)
            for share in (span.begin_share, span.end_share)
        ]
        if max(wide_m) <= 0:
            continue
        outer_m = (inner_m[0] + wide_m[0], inner_m[1] + wide_m[1])
        nothing = Edge(what="", curb=False)
        given.append(part)
        laid.append(
            Band(
                side=side,
                parts=(part.what,),
                inner_m=inner_m,
                outer_m=outer_m,
                depth_inner_m=depth_m if math.isnan(part.depth_in_m) else part.depth_in_m,
                depth_outer_m=depth_m if math.isnan(part.depth_out_m) else part.depth_out_m,
                beyond_inner=nothing,
                beyond_outer=nothing,
                shoulder_m=inner_m if part.what == "shoulder" else (math.nan, math.nan),
                traffic=_WAYS[section.traffic] or side,
                travel=_WAYS[run],
            )
        )
        inner_m = outer_m
    end = Edge(what=edge, curb=edge == "curb")
    lanes = leg.lanes_right if side > 0 else leg.lanes_left
    return _Side(given=tuple(given), laid=tuple(laid), end=end, lanes=lanes)


def _joined(band: Band, part: Band) -> Band:
    """A band with the part beyond it."""
    shoulder_m = part.shoulder_m if math.isnan(band.shoulder_m[0]) else band.shoulder_m
    return replace(
        band,
        parts=band.parts + part.parts,
        outer_m=part.outer_m,
        depth_outer_m=part.depth_outer_m,
        shoulder_m=shoulder_m,
    )


def _bands(own: _Side, other: _Side, *, skip: int) -> list[Band]:
    """The bands of a side; ``skip`` parts next to the line belong to a strip across it."""
    made: list[tuple[int, int, Band]] = []
    for at in range(skip, len(own.given)):
        if not own.given[at].cut:
            continue
        part = own.laid[at]
        if made and made[-1][1] == at - 1 and _goes_on(made[-1][2], part):
            made[-1] = (made[-1][0], at, _joined(made[-1][2], part))
        else:
            made.append((at, at, part))
    return [
        replace(
            band,
            beyond_inner=own.edge(first - 1) if first else other.inner_edge(),
            beyond_outer=own.edge(last + 1),
        )
        for first, last, band in made
    ]


def _across(left: _Side, right: _Side, where: str) -> list[Band]:
    """The strip across the line, if the parts next to it say so.

    Raises
    ------
    JobError
        If only one side says so, or the depths of the two do not run straight across.
    """
    said = [[part.over_line and part.cut for part in one.given] for one in (left, right)]
    if not any(map(any, said)):
        return []
    if not all(one[:1] == [True] and not any(one[1:]) for one in said):
        shown = ["/".join(part.what for part in one.given) or "nothing" for one in (left, right)]
        msg = (
            f"{where}: over_line stands on {sum(said[0])} parts left ({shown[0]}) and "
            f"{sum(said[1])} right ({shown[1]}); say it of the part next to the line on both "
            "sides, cut on both, and of no other"
        )
        raise JobError(msg, where=where)
    one, two = left.laid[0], right.laid[0]
    band = replace(
        one,
        side=0,
        parts=tuple(dict.fromkeys(one.parts + two.parts)),
        inner_m=(-one.outer_m[0], -one.outer_m[1]),
        outer_m=(0.0, 0.0),
        depth_inner_m=one.depth_outer_m,
        depth_outer_m=one.depth_inner_m,
        beyond_inner=left.edge(1),
        shoulder_m=(math.nan, math.nan),
        traffic=one.traffic if one.traffic == two.traffic else 0,
        travel=one.travel if one.travel == two.travel else 0,
    )
    if not _goes_on(band, two):
        msg = (
            f"{where}: the depth across the line goes {one.depth_outer_m:g}, "
            f"{one.depth_inner_m:g} m left of it and {two.depth_inner_m:g}, "
            f"{two.depth_outer_m:g} m right; a strip across the line needs one straight depth"
        )
        raise JobError(msg, where=where)
    outer = right.edge(1)
    return [replace(band, outer_m=two.outer_m, depth_outer_m=two.depth_outer_m, beyond_outer=outer)]


def bands_of(span: Span, leg: Leg) -> list[Band]:
    """All bands of one span: right of the line, left of it, across it.

    Parameters
    ----------
    span
        A section between two places along.
    leg
        For its depth, where a part has none of its own.
    """
    left, right = (_side(span, side, leg.settings) for side in (-1, 1))
    where = f"leg {leg.settings.code}, section {span.from_words()} to {span.to_words()}"
    middle = _across(left, right, where)
    skip = len(middle)
    return [*_bands(right, left, skip=skip), *_bands(left, right, skip=skip), *middle]
