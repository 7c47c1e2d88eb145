"""Stations of one LandXML alignment: its equations, and its profile along it.

In go its nodes, out come ``StationEquation``s in the file's unit and elevations along it in
metres.  A station in the file is the internal one, which runs on from staStart as if there were
no equations (LandXML 1.2 schema: "station" and "staInternal"), for the profile too.
"""

import itertools
import math
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from routeprep.errors import ReadError
from routeprep.lines import StationEquation
from routeprep.readers.landxmldrawing import ALLOWED, Doubt
from routeprep.readers.landxmltree import Node, Place
from routeprep.readers.parts import shown

__all__ = ["equations_of", "profile_of"]

# Vertical curves are drawn with points at most this far apart [m].
_STEP_M = 10.0
# A grade is taken for none when it changes by less [1].
_FLAT = 1e-9
# Points of a profile nearer to each other than this are one [m].
_SAME_M = 0.001


class _Jump(NamedTuple):
    """One equation: its internal station, the ahead one, the back one if it is given."""

    internal: float
    ahead: float
    back: float
    place: Place


def _jumps(nodes: Sequence[Node], place: Place) -> Iterator[_Jump]:
    """The equations in the file's order; a missing internal station is reckoned from the back one.

    Raises
    ------
    ReadError
        If one lacks what makes it, or counts down.
    """
    before: _Jump | None = None
    for number, node in enumerate(nodes, start=1):
        where = f"{place.text}, StaEquation {number} (line {node.line})"
        here = Place(place.file, where)
        ahead, back = here.optional(node, "staAhead"), here.optional(node, "staBack")
        internal = here.optional(node, "staInternal")
        if node.attributes.get("staIncrement", "increasing") == "decreasing":
            msg = "staIncrement is decreasing; stations that count down are not read; ask for a "
            msg += f"line of its own from {ahead:.4f} on, drawn the other way"
            raise here.wrong(msg)
        if math.isnan(ahead) or (math.isnan(back) and math.isnan(internal)):
            msg = (
                f"has staAhead {shown(node.attributes.get('staAhead'))} and neither staInternal "
                "nor staBack beside it; it needs staAhead and one of the two; export it again"
            )
            raise here.wrong(msg)
        if math.isnan(internal):
            internal = back if before is None else before.internal + back - before.ahead
        before = _Jump(internal, ahead, back, here)
        yield before


def equations_of(
    nodes: Sequence[Node], *, place: Place, start: float, length: float
) -> tuple[tuple[StationEquation, ...], list[Doubt]]:
    """Read the station equations, in order along the alignment [the file's unit].

    Where staBack disagrees with staInternal, the place that staInternal names is taken.

    Parameters
    ----------
    nodes
        Its StaEquation nodes.
    place
        Where it stands.
    start, length
        Its staStart and its length [the file's unit].

    Raises
    ------
    ReadError
        If one cannot be read, or two stand at one place.
    """
    jumps = sorted(_jumps(nodes, place))
    doubts, equations = [], []
    internal, label = start, start
    for number, jump in enumerate(jumps):
        if number and jump.internal <= jumps[number - 1].internal:
            msg = f"stands at {jump.internal:.4f}, where another one stands; export it again"
            raise jump.place.wrong(msg)
        outside = max(start - jump.internal, jump.internal - start - length)
        if outside > ALLOWED:
            text = (
                f"{jump.place.text} stands {outside:.4f} outside of the line, whose internal "
                f"stations are {start:.4f} to {start + length:.4f}; it is left out"
            )
            doubts.append(Doubt("equation outside", outside, text))
            continue
        back = label + (jump.internal - internal)
        if abs(back - jump.back) > ALLOWED:
            text = (
                f"{jump.place.text} has staBack {jump.back:.4f}, its staInternal gives {back:.4f}, "
                "which is taken"
            )
            doubts.append(Doubt("equation", abs(back - jump.back), text))
        equations.append(StationEquation(back_value=back, ahead_value=jump.ahead))
        internal, label = jump.internal, jump.ahead
    return tuple(equations), doubts


class _Corner(NamedTuple):
    """A PVI in metres: where, how high, and what rounds it: lengths before and after, or radius."""

    along_m: float
    elevation_m: float
    before_m: float
    after_m: float
    radius_m: float
    place: Place


def _corner(node: Node, place: Place, start: float, unit_m: float) -> _Corner:
    here = Place(place.file, f"{place.text}, {node.tag} in line {node.line}")
    numbers = [here.number(one, node.tag) for one in node.text.split()]
    if len(numbers) != 2:  # noqa: PLR2004 - station and elevation
        msg = f"is {shown(node.text)}; expected station and elevation"
        raise here.wrong(msg)
    half = 0.5 * _or_nothing(here.optional(node, "length")) if node.tag == "ParaCurve" else 0.0
    return _Corner(
        along_m=(numbers[0] - start) * unit_m,
        elevation_m=numbers[1] * unit_m,
        before_m=(half + _or_nothing(here.optional(node, "lengthIn"))) * unit_m,
        after_m=(half + _or_nothing(here.optional(node, "lengthOut"))) * unit_m,
        radius_m=_or_nothing(here.optional(node, "radius")) * unit_m,
        place=here,
    )


def _or_nothing(value: float) -> float:
    return 0.0 if math.isnan(value) else value


def _grade(one: _Corner, other: _Corner) -> float:
    """Slope from one PVI to the next.

    Raises
    ------
    ReadError
        If they are not in order along the line.
    """
    if not other.along_m > one.along_m:
        msg = (
            f"stands {one.along_m - other.along_m:.4f} m before the one before it; expected "
            "stations that increase"
        )
        raise other.place.wrong(msg)
    return (other.elevation_m - one.elevation_m) / (other.along_m - one.along_m)


def _rounded(corner: _Corner, into: float, out: float) -> list[tuple[float, float]]:
    """Points along [m] and their elevation [m] on what rounds a PVI; itself where nothing does.

    The offset from the nearer tangent of a parabola through both ends is A l1 l2 / 2 (l1 + l2) at
    the PVI and falls with the square of the distance from its end (AASHTO Green Book 2018, 3.4.6;
    l1 = l2 is the common one).  A circle touches both tangents.
    """
    bend = math.atan(out) - math.atan(into)
    before_m, after_m = corner.before_m, corner.after_m
    if corner.radius_m:
        tangent_m = corner.radius_m * math.tan(0.5 * abs(bend))
        before_m = tangent_m * math.cos(math.atan(into))
        after_m = tangent_m * math.cos(math.atan(out))
    if min(before_m, after_m) <= 0.0 or abs(bend) < _FLAT:
        return [(corner.along_m, corner.elevation_m)]
    count = max(2, math.ceil((before_m + after_m) / _STEP_M))
    mid_m = (out - into) * before_m * after_m / (2.0 * (before_m + after_m))
    sign = math.copysign(corner.radius_m, bend)
    points = []
    for number in range(count + 1):
        x_m = (before_m + after_m) * number / count - before_m
        share = 1.0 + x_m / before_m if x_m < 0.0 else 1.0 - x_m / after_m
        offset_m = mid_m * share**2 + (into if x_m < 0.0 else out) * x_m
        if corner.radius_m:
            sine = math.sin(math.atan(into)) + (x_m + before_m) / sign
            drop_m = sign * (math.cos(math.atan(into)) - math.sqrt(max(0.0, 1.0 - sine**2)))
            offset_m = drop_m - before_m * into
        points.append((corner.along_m + x_m, corner.elevation_m + offset_m))
    return points


def _drawn(corners: Sequence[_Corner], length_m: float) -> list[tuple[float, float]]:
    """Points of a profile.

    Raises
    ------
    ReadError
        If it is not of this line, or its curves overlap.
    """
    if not corners:
        return []
    first, last = corners[0], corners[-1]
    if first.along_m < -length_m or last.along_m > 2.0 * length_m:
        msg = f"lies at {last.along_m:.2f} m on a line of {length_m:.2f} m; expected stations on it"
        raise (last if last.along_m > 2.0 * length_m else first).place.wrong(msg)
    grades = [_grade(one, other) for one, other in itertools.pairwise(corners)]
    points = [(first.along_m, first.elevation_m)]
    for corner, into, out in zip(corners[1:-1], grades[:-1], grades[1:], strict=True):
        rounded = _rounded(corner, into, out)
        if rounded[0][0] < points[-1][0] - ALLOWED:
            msg = (
                f"its curve begins {points[-1][0] - rounded[0][0]:.4f} m before the one before it "
                "ends; mend their lengths"
            )
            raise corner.place.wrong(msg)
        points += [one for one in rounded if one[0] > points[-1][0] + _SAME_M]
    if last.along_m < points[-1][0] - ALLOWED:
        msg = f"the curve before it ends {points[-1][0] - last.along_m:.4f} m past it; mend them"
        raise last.place.wrong(msg)
    if last.along_m > points[-1][0] + _SAME_M:
        points.append((last.along_m, last.elevation_m))
    return points


def profile_of(
    nodes: Sequence[Node], *, place: Place, start: float, length: float, unit_m: float
) -> tuple[tuple[tuple[float, float], ...], list[Doubt]]:
    """Read the only profile alignment: along [m] and elevation [m], dense enough for grades.

    A profile that cannot be used is left out and said: the line does not hang on it.  So are
    several, since nothing in the file says which one is the road.

    Parameters
    ----------
    nodes
        The alignment's Profile nodes.
    place
        Where it stands.
    start, length
        Its staStart and its length [the file's unit].
    unit_m
        The file's unit [m].
    """
    designed = [one for node in nodes for one in node.all("ProfAlign")]
    if not designed:
        return (), []
    if len(designed) > 1:
        names = ", ".join(shown(one.attributes.get("name", "")) for one in designed)
        text = f"{place.text} has {len(designed)} profile alignments ({names}); none is taken"
        return (), [Doubt("profile", math.nan, text)]
    try:
        corners = [_corner(node, place, start, unit_m) for node in designed[0].children]
        points = tuple(_drawn(corners, length * unit_m))
    except ReadError as error:
        text = f"its profile is left out, since {error}"
        return (), [Doubt("profile", math.nan, text)]
    return points, []
