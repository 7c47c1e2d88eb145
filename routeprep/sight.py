"""Where a driver may not see far enough to stop, in plan view.

In go a line with its curves and grades and the leg's posted speed and side clearance, out come
places to look at.  It is a hint to look, no design check: what hides the road is taken to stand
at one distance all along, and sight over crests is not judged.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from routeprep.elements import place_on
from routeprep.geodesy import bearings_deg
from routeprep.lines import Centerline
from routeprep.roadform import Curve, Grade, SightSpot
from routeprep.shapes import Finding, LegSettings
from routeprep.spreads import HALF_95
from routeprep.stopping import needed_m

__all__ = ["sight_spots"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

# Sight is looked at every so far along; a vertex of a file's line is rounded over this much at
# either side, or to the middle of its chords where they are shorter; places nearer to each other
# than the last are one [m].  Common practice, no source.
_STEP_M = 2.0
_ROUNDED_M = 25.0
_ONE_SPOT_M = 25.0
# A wall nearer to the lane than this share of its clearance is folded: rounding of even places.
_FOLDED = 0.99
# So many places are looked from at once, so that memory stays bounded.
_CHUNK = 4000
# Keeps a division by nothing in its bounds.
_TINY = 1e-12
# No curve is taken to be sharper than this [m]; common practice, no source.
_SHARPEST_M = 5.0


def sight_spots(
    line: Centerline, leg: LegSettings, *, curves: Sequence[Curve], grades: Sequence[Grade]
) -> tuple[tuple[SightSpot, ...], tuple[Finding, ...]]:
    """Places where plan view gives less than stopping sight distance at the posted speed.

    Looked at along the middle of the lane nearest to what hides the road, both ways, since one
    open lane may carry both.  A path driven is looked at by its curves, each as sharp as its ±
    allows, so that noise makes no place and hides none; any other line as it is.

    Parameters
    ----------
    line
        The line.
    leg
        Its posted speed, clearance and lanes.
    curves, grades
        Of the line; where no grade is known the road is taken to be level.
    """
    where = f"leg {leg.code}"
    lacking = [
        name
        for name, value in (("posted speed", leg.posted_mps), ("clearance", leg.sight_clearance_m))
        if not math.isfinite(value)
    ]
    if lacking:
        text = f"sight distance was not looked at: no {' and no '.join(lacking)} given"
        return (), (Finding(level="note", where=where, text=text),)
    course = _course(line, curves)
    spots = [
        spot
        for travel in (1, -1)
        for side in (1, -1)
        for spot in _spots(course, leg, travel=travel, side=side, curves=curves, grades=grades)
    ]
    text = (
        f"sight distance in plan view with {leg.sight_clearance_m / leg.unit.length_m:.1f} "
        f"{leg.unit.length} clear beside the inside lane: {len(spots)} places to look at; a hint, "
        "no design check, and sight over crests is not judged"
    )
    spots.sort(key=lambda spot: (-spot.travel, spot.from_m, spot.side))
    return tuple(spots), (Finding(level="note", where=where, text=text),)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Course:
    """Even places along a line: along [m], in a plane [m], direction [rad]."""

    along_m: Floats
    xy_m: Floats
    heading_rad: Floats


def _course(line: Centerline, curves: Sequence[Curve]) -> _Course:
    """A line's course: of a designed alignment exact, else from directions along it."""
    count = max(2, math.ceil(line.length_m / _STEP_M) + 1)
    along_m = np.linspace(0.0, line.length_m, count)
    if line.alignment is not None:
        xy_m, heading_deg = place_on(line.alignment, along_m, np.zeros(count))
        return _Course(along_m=along_m, xy_m=xy_m, heading_rad=np.radians(heading_deg))
    turns = _curve_turns(curves) if line.made_from == "path driven" else _vertex_turns(line)
    begins_m, ends_m, turned = np.array(turns, dtype=np.float64).reshape(-1, 3).T
    knot_m = np.maximum.accumulate(np.column_stack([begins_m, ends_m]).ravel())
    after = np.cumsum(turned)
    known = np.column_stack([after - turned, after]).ravel()
    heading = np.interp(along_m, knot_m, known) if len(turns) else np.zeros(count)
    middle, size_m = (heading[1:] + heading[:-1]) / 2, np.diff(along_m)
    steps = size_m[:, None] * np.column_stack([np.sin(middle), np.cos(middle)])
    xy_m = np.vstack([[0.0, 0.0], np.cumsum(steps, axis=0)])
    return _Course(along_m=along_m, xy_m=xy_m, heading_rad=heading)


def _curve_turns(curves: Sequence[Curve]) -> list[tuple[float, float, float]]:
    """Where a line turns and by how much [rad]: its curves, as sharp as their ± allows."""
    turns = []
    for curve in curves:
        radius_m = max(curve.radius_m - HALF_95 * curve.radius_sd_m, _SHARPEST_M)
        turn = math.radians(curve.deflection_deg)
        middle_m, half_m = (curve.from_m + curve.to_m) / 2, radius_m * turn / 2
        way = 1.0 if curve.direction == "right" else -1.0
        turns.append((middle_m - half_m, middle_m + half_m, way * turn))
    return turns


def _vertex_turns(line: Centerline) -> list[tuple[float, float, float]]:
    """Where a line turns and by how much [rad]: at its vertices, rounded."""
    bearing = np.radians(bearings_deg(line.lon_deg, line.lat_deg))
    turn = (np.diff(bearing) + math.pi) % (2 * math.pi) - math.pi
    half_m = np.diff(line.along_m) / 2
    reach_m = np.minimum(np.minimum(half_m[1:], half_m[:-1]), _ROUNDED_M)
    at_m = line.along_m[1:-1]
    return list(
        zip((at_m - reach_m).tolist(), (at_m + reach_m).tolist(), turn.tolist(), strict=True)
    )


def _lane_m(leg: LegSettings, side: int) -> float:
    """From the line to the middle of the outermost lane on a side, positive to that side [m].

    With no lane on that side it is the first one on the other.
    """
    lanes = leg.lanes_right if side > 0 else leg.lanes_left
    return leg.lane_width_m * (lanes - 0.5)


def _seen(course: _Course, *, travel: int, side: int) -> _Course:
    """The course as one travels it, mirrored if need be so that the wall stands on the right."""
    order, mirror = slice(None, None, travel), np.array([float(side * travel), 1.0])
    heading = course.heading_rad[order] + (0.0 if travel > 0 else math.pi)
    return _Course(
        along_m=course.along_m[order],
        xy_m=course.xy_m[order] * mirror,
        heading_rad=heading * mirror[0],
    )


def _available_m(course: _Course, *, lane_m: float, wall_m: float, reach_m: float) -> Floats:
    """How far one sees along a lane from each place of it, up to a reach [m].

    From the eye the wall's points limit the directions in which the lane beyond them is seen; the
    wall stands right of the lane.  Infinite where nothing within reach hides the lane, or it ends.
    """
    right = np.column_stack([np.cos(course.heading_rad), -np.sin(course.heading_rad)])
    lane_xy_m, wall_xy_m = course.xy_m + lane_m * right, course.xy_m + wall_m * right
    # Within a bend sharper than the clearance the wall would fold into the road: it ends there.
    near_m, _ = cKDTree(lane_xy_m).query(wall_xy_m)
    wall_xy_m = np.where((near_m < _FOLDED * (wall_m - lane_m))[:, None], np.nan, wall_xy_m)
    gone_m = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(lane_xy_m, axis=0).T))])
    eyes = np.arange(len(gone_m))
    most = int(np.max(np.searchsorted(gone_m, gone_m + reach_m) - eyes)) + 1
    found = [
        _seen_from(
            rows, gone_m=gone_m, lane_xy_m=lane_xy_m, wall_xy_m=wall_xy_m, right=right, most=most
        )
        for rows in np.array_split(eyes, math.ceil(len(eyes) / _CHUNK))
    ]
    return np.concatenate(found)


def _seen_from(
    eyes: Ints, *, gone_m: Floats, lane_xy_m: Floats, wall_xy_m: Floats, right: Floats, most: int
) -> Floats:
    """The same for some of the places, looking over so many places ahead."""
    ahead = eyes[:, None] + np.arange(1, most + 1)
    to = np.minimum(ahead, len(gone_m) - 1)
    lane, wall = (
        _bearing(points[to] - lane_xy_m[eyes][:, None], right[eyes][:, None])
        for points in (lane_xy_m, wall_xy_m)
    )
    limit = np.minimum.accumulate(np.where(np.isnan(wall), np.inf, wall), axis=1)
    spare = np.where(ahead < len(gone_m), limit - lane, np.inf)
    seen_m = np.full(len(eyes), np.inf)
    rows = np.flatnonzero((spare < 0).any(axis=1))
    at = np.argmax(spare[rows] < 0, axis=1)
    before = np.maximum(at - 1, 0)
    left = np.where(at > 0, spare[rows, before], np.inf)
    share = 1.0 / (1.0 - spare[rows, at] / np.maximum(left, _TINY))
    away_m = gone_m[to[rows]] - gone_m[eyes[rows]][:, None]
    rank = np.arange(len(rows))
    seen_m[rows] = away_m[rank, before] + share * (away_m[rank, at] - away_m[rank, before])
    return seen_m


def _bearing(away_m: Floats, right: Floats) -> Floats:
    """Direction of points from eyes [rad], right of straight ahead positive."""
    aside_m = away_m[..., 0] * right[..., 0] + away_m[..., 1] * right[..., 1]
    ahead_m = away_m[..., 1] * right[..., 0] - away_m[..., 0] * right[..., 1]
    return np.arctan2(aside_m, ahead_m)


def _spots(
    course: _Course,
    leg: LegSettings,
    *,
    travel: int,
    side: int,
    curves: Sequence[Curve],
    grades: Sequence[Grade],
) -> list[SightSpot]:
    """Places where too little is seen, for one direction and what hides the road on one side."""
    seen = _seen(course, travel=travel, side=side)
    grade = _grade_share(seen.along_m, grades) * travel + 0.0
    each, which = np.unique(grade, return_inverse=True)
    speed, family = leg.posted_mps, leg.unit.family
    needs_m = [needed_m(speed, grade_share=one, family=family) for one in each.tolist()]
    need_m = np.array(needs_m)[which]
    lane_m = _lane_m(leg, side)
    available_m = _available_m(
        seen, lane_m=lane_m, wall_m=lane_m + leg.sight_clearance_m, reach_m=float(need_m.max())
    )
    short = np.flatnonzero(available_m < need_m)
    apart = np.abs(np.diff(seen.along_m[short])) > _ONE_SPOT_M
    spots = []
    for rows in np.split(short, np.flatnonzero(apart) + 1) if len(short) else ():
        worst = rows[int(np.argmin(available_m[rows] - need_m[rows]))]
        ends_m = sorted(seen.along_m[rows[[0, -1]]].tolist())
        spots.append(
            SightSpot(
                from_m=ends_m[0],
                to_m=ends_m[1],
                travel=travel,
                side="right" if side > 0 else "left",
                available_m=float(available_m[worst]),
                needed_m=float(need_m[worst]),
                grade_share=float(grade[worst]),
                curve=_curve_ahead(
                    curves, float(seen.along_m[worst]), float(need_m[worst]) * travel, side
                ),
            )
        )
    return spots


def _grade_share(along_m: Floats, grades: Sequence[Grade]) -> Floats:
    """Grade at places along, up-station, 0 where none is known."""
    share = np.zeros(len(along_m))
    for grade in grades:
        share[(along_m >= grade.from_m) & (along_m <= grade.to_m)] = grade.grade_share
    return share


def _curve_ahead(curves: Sequence[Curve], eye_m: float, need_m: float, side: int) -> int:
    """Which curve to that side lies most between the eye and what it needs to see; -1: none."""
    low_m, high_m = sorted((eye_m, eye_m + need_m))
    way = "right" if side > 0 else "left"
    shared_m = [
        min(curve.to_m, high_m) - max(curve.from_m, low_m) if curve.direction == way else 0.0
        for curve in curves
    ]
    most_m = max(shared_m, default=0.0)
    return shared_m.index(most_m) if most_m > 0 else -1
