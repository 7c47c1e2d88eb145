"""Horizontal curves of a line: radius, direction, PC and PT, deflection, each with its ±.

In go a centerline and the fixes of the drives, out come its circular arcs.  Those of a designed
alignment are read off its elements.  Those of any other line are found and fitted, tangents and
arcs end to end; spirals are not modelled there, and are taken into the arc beside them.  A curve
must stand out from noise, so that none is invented: noise of a path driven is what the drives
differ by from one another, noise of a line from a file is how unevenly it bends.
"""

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import pandas as pd

from routeprep.alongside import Alongside, Wander, covariance_m2, stretches, wander_of
from routeprep.arcfit import Beside
from routeprep.bends import Pieces, pieces_of
from routeprep.geodesy import ground_factor, plane_at
from routeprep.lines import Alignment, Centerline
from routeprep.planar import Polyline, thin
from routeprep.roadform import Curve
from routeprep.shapes import Defaults, Finding
from routeprep.spreads import RADIUS_68_IN_SDS
from routeprep.turns import Arc, arcs_of

__all__ = ["curves_of", "curves_said"]

Floats = npt.NDArray[np.float64]

_FITTED_TO = {"path driven": "the fixes", "file": "the file's vertices"}

# Radii of two elements that meet are one when they differ by less than this share: files give
# lengths to 0.001 ft or coarser.  Common practice, no source.
_SAME_RADIUS_SHARE = 1e-4

# Knots that the first look at a path driven begins with [m], and the length over which the fresh
# part of the fixes' errors is turned into an error of direction [m]; common practice, no source.
_KNOT_M = 30.0
_SCALE_M = 60.0
# Steps of the way to a foot.
_FOOT_STEPS = 4
# Fixes of more drives than the first are thinned, the more drives the more, up to the last [m] at
# so many drives: errors that wander hardly change over it, and a fit takes as long as for a few
# drives.  Common practice, no source.
_WHOLE_DRIVES, _SPARSE_DRIVES, _SPARSE_M = 10.0, 100.0, 40.0

# Vertices of a file's line are no surer than this [m]: 7 decimals of a degree are 0.01 m.
_VERTEX_SD_M = 0.02
# Fewer vertices do not tell how uneven they are.
_VERTICES_TELL = 10
# Where a curve begins within a chord, the chord's direction is not the line's: by a quarter of
# what it turns, about this [rad].
_CHORD_SD_RAD = 0.005
# Median of the size of a normal error to its standard deviation: 1 / 0.6745.
_MEDIAN_TO_SD = 1.4826
# A vertex is an angle point when it turns by more than so many standard deviations and none
# beside it turns by this share of it the same way, or when the curve would lie farther than this
# from its chords [m]; a curve has so many vertices on it, give or take this at its ends [m]; a
# chord so many times longer than the next is a tangent; directions nearer to each other than the
# last [m] are not looked at apart.  Common practice, no source.
_ANGLE_SDS = 5.0
_LIKE_SHARE = 0.2
_SAGITTA_M = 2.0
_CURVE_VERTICES = 3
_END_M = 1.0
_LONG_RATIO = 3.0
_DRAWN_KNOT_M = 10.0
# Fewer fixes of a drive within reach of a curve tell nothing.
_ENOUGH = 4


def curves_of(line: Centerline, fixes: pd.DataFrame, *, defaults: Defaults) -> tuple[Curve, ...]:
    """Circular arcs of a line, in order along it.

    Parameters
    ----------
    line
        The line.
    fixes
        Cleaned fixes of the drives; they count for a path driven only.
    defaults
        For the accuracy of a phone that reports none.
    """
    if line.alignment is not None:
        return _designed(line.alignment)
    plane = plane_at(float(np.median(line.lon_deg)), float(np.median(line.lat_deg)))
    road = _Road(line, plane.to_xy(line.lon_deg, line.lat_deg))
    if line.made_from == "path driven":
        parts = stretches(fixes, plane, road.line)
        arcs = _driven(road, parts, _device_sd_m(fixes, defaults))
    else:
        arcs = _drawn(road)
    return tuple(road.curve(arc) for arc in arcs)


def curves_said(line: Centerline, curves: Sequence[Curve], *, leg: str) -> tuple[Finding, ...]:
    """What a person should know about curves that were fitted; nothing about designed ones.

    Parameters
    ----------
    line
        The line.
    curves
        Its curves.
    leg
        The leg's code.
    """
    if line.alignment is not None or not curves:
        return ()
    untold = sum(not curve.radius_told for curve in curves)
    text = (
        f"{len(curves)} curves fitted to {_FITTED_TO[line.made_from]} as tangents and arcs; "
        "spirals are not modelled, the arcs take them in"
    )
    if untold:
        text += f"; {untold} of them turn so sharply that their radius is not told"
    return (Finding(level="note", where=f"leg {leg}", text=text),)


def _designed(alignment: Alignment) -> tuple[Curve, ...]:
    """Arcs of the elements; neighbours of one radius are one."""
    what, size_m = ("", *alignment.what, ""), np.r_[0.0, alignment.length_m, 0.0]
    end_m = np.cumsum(size_m)
    curves: list[Curve] = []
    for k in np.flatnonzero(np.array(what) == "curve").tolist():
        curvature_per_m = float(alignment.curvature_start_per_m[k - 1])
        one = Curve(
            from_m=float(end_m[k - 1]),
            to_m=float(end_m[k]),
            radius_m=1.0 / abs(curvature_per_m),
            direction="right" if curvature_per_m > 0 else "left",
            deflection_deg=math.degrees(abs(curvature_per_m) * float(size_m[k])),
            spiral_in_m=float(size_m[k - 1]) if what[k - 1] == "spiral" else 0.0,
            spiral_out_m=float(size_m[k + 1]) if what[k + 1] == "spiral" else 0.0,
        )
        goes_on = what[k - 1] == "curve" and _one_arc(curves[-1], one)
        curves[len(curves) - goes_on :] = [_both(curves[-1], one) if goes_on else one]
    return tuple(curves)


def _one_arc(one: Curve, two: Curve) -> bool:
    same_way = one.direction == two.direction
    return same_way and math.isclose(one.radius_m, two.radius_m, rel_tol=_SAME_RADIUS_SHARE)


def _both(one: Curve, two: Curve) -> Curve:
    """Two elements of one arc as one."""
    deflection_deg = one.deflection_deg + two.deflection_deg
    return replace(one, to_m=two.to_m, deflection_deg=deflection_deg, spiral_out_m=two.spiral_out_m)


def _device_sd_m(fixes: pd.DataFrame, defaults: Defaults) -> float:
    """Standard deviation of one axis of a fix [m], as devices say or by default."""
    said_m = fixes["accuracy_m"].to_numpy()
    told = np.isfinite(said_m).any()
    return float(np.nanmedian(said_m) if told else defaults.phone_accuracy_m) / RADIUS_68_IN_SDS


class _Road:
    """A line in a plane, and its curves from arcs there."""

    def __init__(self, line: Centerline, xy_m: Floats) -> None:
        self.centerline = line
        self.line = Polyline(xy_m)
        self.grid_m = self.line.along_m
        self.heading_rad = np.unwrap(np.arctan2(self.line.step_m[:, 0], self.line.step_m[:, 1]))
        self.middle_m = (self.grid_m[1:] + self.grid_m[:-1]) / 2

    def place(self, along_m: float) -> Floats:
        """The line's place at a distance along in the plane [m]."""
        xy_m = self.line.xy_m
        return np.array([np.interp(along_m, self.grid_m, xy_m[:, k]) for k in (0, 1)])

    def _foot_m(self, xy_m: Floats, near_m: float) -> float:
        """Distance along in the plane of the foot of a place that lies near one [m]."""
        for _ in range(_FOOT_STEPS):
            segment = int(
                np.clip(np.searchsorted(self.grid_m, near_m) - 1, 0, len(self.middle_m) - 1)
            )
            away_m = xy_m - self.line.start_m[segment]
            ahead_m = float(away_m @ self.line.step_m[segment]) / float(self.line.length_m[segment])
            near_m = float(self.grid_m[segment]) + ahead_m
        return near_m

    def curve(self, arc: Arc) -> Curve:
        """The curve on the ground of an arc in the plane."""
        scale = ground_factor(self.centerline.elevation_m)
        from_m, to_m = self._foot_m(arc.from_xy_m, arc.from_m), self._foot_m(arc.to_xy_m, arc.to_m)
        along_m = np.interp([from_m, to_m], self.grid_m, self.centerline.along_m)
        return Curve(
            from_m=float(along_m[0]),
            to_m=float(along_m[1]),
            radius_m=scale / abs(arc.curvature_per_m),
            direction="right" if arc.curvature_per_m > 0 else "left",
            deflection_deg=math.degrees(abs(arc.turn_rad)),
            radius_sd_m=scale * arc.curvature_sd_per_m / arc.curvature_per_m**2,
            from_sd_m=scale * arc.from_sd_m,
            to_sd_m=scale * arc.to_sd_m,
            deflection_sd_deg=math.degrees(arc.turn_sd_rad),
        )


def _driven(road: _Road, parts: list[Alongside], device_sd_m: float) -> list[Arc]:
    """Arcs of a path driven, fitted to the fixes."""
    if not parts:
        return []
    parts = _sparse(parts, float(road.grid_m[-1]))
    wander = wander_of(parts, device_sd_m=device_sd_m)

    def _points(from_m: float, to_m: float) -> list[Beside]:
        near = [part.between(from_m, to_m) for part in parts]
        both = len({part.direction for part in near if len(part.along_m) >= _ENOUGH}) > 1
        return [
            Beside(
                xy_m=part.xy_m,
                near_m=part.along_m - from_m,
                side=part.direction if both else 0,
                covariance_m2=covariance_m2(part, wander),
            )
            for part in near
            if len(part.along_m) >= _ENOUGH
        ]

    return arcs_of(_first_driven(road, parts, wander), _points, road.place)


def _sparse(parts: list[Alongside], length_m: float) -> list[Alongside]:
    """Fewer fixes of each drive where many lie side by side."""
    drives = sum(float(np.ptp(part.along_m)) for part in parts) / length_m
    if drives <= _WHOLE_DRIVES:
        return parts
    step_m = min(_SPARSE_M, _SPARSE_M * drives / _SPARSE_DRIVES)
    return [part.rows(thin(part.xy_m, step_m=step_m)) for part in parts]


def _first_driven(road: _Road, parts: list[Alongside], wander: Wander) -> Pieces:
    """Pieces of a path driven at first sight.

    Over a distance s the wandering part of one drive's errors moves its direction by the variance
    2 sd^2 / (time x speed x s): it is a random walk there.  The fresh part is worth 12 sd^2 d /
    s^3 with fixes d apart (the slope of a fitted line), taken at one scale.
    """
    driven_m = sum(float(np.ptp(part.along_m)) for part in parts)
    speed_mps = driven_m / sum(float(np.ptp(part.time_s)) for part in parts)
    count = sum(len(part.along_m) for part in parts)
    drives = driven_m / float(road.grid_m[-1])
    slow_m = 2 * wander.sd_m**2 / wander.time_s / speed_mps
    fresh_m = 12 * wander.fresh_sd_m**2 * driven_m / count / _SCALE_M**2
    knots = max(3, round(float(road.grid_m[-1]) / _KNOT_M) + 1)
    first = pieces_of(
        road.middle_m,
        road.heading_rad,
        sd_rad=np.sqrt((slow_m + fresh_m) / drives / road.line.length_m),
        knot_m=np.linspace(road.middle_m[0], road.middle_m[-1], knots),
        length_m=float(road.grid_m[-1]),
    )
    return first.gathered(2 * _KNOT_M)


def _drawn(road: _Road) -> list[Arc]:
    """Arcs of a line from a file, fitted to its vertices; an angle point parts it."""
    size_m, turn = road.line.length_m, np.diff(road.heading_rad)
    sd_m = _vertex_sd_m(size_m, turn)
    ends = np.r_[0, 1 + np.flatnonzero(_angle_points(size_m, turn, sd_m)), len(size_m)]
    arcs: list[Arc] = []
    for first, last in pairwise(ends.tolist()):
        if last - first > _CURVE_VERTICES:
            arcs += _drawn_between(road, first, last, sd_m)
    return arcs


def _vertex_sd_m(size_m: Floats, turn: Floats) -> float:
    """How far vertices lie off a smooth line [m], from how unevenly it bends.

    Curvature at a vertex is held against the mean of its neighbours'; as an offset from the
    chord that is 3/2 of its own error less 1 and 1/4 of those around, sqrt(4.375) of one's in
    all.  The median stands for the rest, so that ends of curves do not count.
    """
    curvature_per_m = 2 * turn / (size_m[1:] + size_m[:-1])
    odd_per_m = curvature_per_m[1:-1] - (curvature_per_m[2:] + curvature_per_m[:-2]) / 2
    off_m = np.abs(odd_per_m) * size_m[1:-2] * size_m[2:-1] / 2
    usual_m = float(np.median(off_m)) if len(off_m) >= _VERTICES_TELL else 0.0
    return max(_VERTEX_SD_M, usual_m * _MEDIAN_TO_SD / math.sqrt(4.375))


def _angle_points(size_m: Floats, turn: Floats, sd_m: float) -> npt.NDArray[np.bool_]:
    """Which inner vertices are corners of the road and no vertices of a curve.

    A curve's vertices turn like their neighbours, and its chords keep near it.
    """
    short_m = np.minimum(size_m[1:], size_m[:-1])
    size = np.abs(turn)
    beside = np.column_stack([np.r_[0.0, turn[:-1]], np.r_[turn[1:], 0.0]])
    like = np.sign(turn)[:, None] * beside
    alone = like.max(axis=1, initial=0.0) < _LIKE_SHARE * size
    clear = size > _ANGLE_SDS * sd_m * math.sqrt(6.0) / short_m
    return np.asarray(clear & (alone | (size * short_m / 8 > _SAGITTA_M)))


def _drawn_between(road: _Road, first: int, last: int, sd_m: float) -> list[Arc]:
    """Arcs between two vertices that end the line or are angle points."""
    begin_m = float(road.grid_m[first])
    vertex_m = road.grid_m[first : last + 1] - begin_m
    xy_m = road.line.xy_m[first : last + 1]
    at_m, chord = _directions(vertex_m)
    marks_m = np.append(np.arange(float(at_m[0]), float(at_m[-1]), _DRAWN_KNOT_M), at_m[-1])
    knot_m = at_m[np.unique(np.searchsorted(at_m, marks_m))]
    pieces = pieces_of(
        at_m,
        road.heading_rad[first + chord],
        sd_rad=np.hypot(_CHORD_SD_RAD, sd_m * math.sqrt(2.0) / road.line.length_m[first + chord]),
        knot_m=knot_m,
        length_m=float(vertex_m[-1]),
    )

    def _points(from_m: float, to_m: float) -> list[Beside]:
        rows = np.flatnonzero((vertex_m >= from_m) & (vertex_m <= to_m))
        covariance_m2 = sd_m**2 * np.eye(len(rows))
        return [
            Beside(
                xy_m=xy_m[rows], near_m=vertex_m[rows] - from_m, side=0, covariance_m2=covariance_m2
            )
        ]

    return [
        _as_drawn(arc, begin_m)
        for arc in arcs_of(pieces, _points, lambda along_m: road.place(begin_m + along_m))
        if _inside(vertex_m, arc) >= _CURVE_VERTICES
    ]


def _directions(vertex_m: Floats) -> tuple[Floats, npt.NDArray[np.int64]]:
    """Where the direction of a chord is that of the line [m], and which chord's that is.

    That is its middle on a curve.  A chord much longer than the next is a tangent up to it.
    """
    size_m = np.diff(vertex_m)
    before_m, after_m = np.r_[np.inf, size_m[:-1]], np.r_[size_m[1:], np.inf]
    begins, ends = size_m > _LONG_RATIO * before_m, size_m > _LONG_RATIO * after_m
    chord = np.arange(len(size_m))
    at_m = np.concatenate(
        [
            vertex_m[:-1] + size_m / 2,
            vertex_m[:-1][begins] + before_m[begins] / 2,
            vertex_m[1:][ends] - after_m[ends] / 2,
        ]
    )
    order = np.argsort(at_m, kind="stable")
    return at_m[order], np.concatenate([chord, chord[begins], chord[ends]])[order]


def _as_drawn(arc: Arc, begin_m: float) -> Arc:
    """The arc on the whole line, its ± by the scatter of its own vertices, which may be none."""
    share = math.sqrt(min(1.0, arc.scatter_share))
    return replace(
        arc,
        from_m=begin_m + arc.from_m,
        to_m=begin_m + arc.to_m,
        from_sd_m=arc.from_sd_m * share,
        to_sd_m=arc.to_sd_m * share,
        curvature_sd_per_m=arc.curvature_sd_per_m * share,
        turn_sd_rad=arc.turn_sd_rad * share,
    )


def _inside(vertex_m: Floats, arc: Arc) -> int:
    """How many vertices lie on an arc, its ends included."""
    return int(np.sum((vertex_m > arc.from_m - _END_M) & (vertex_m < arc.to_m + _END_M)))
