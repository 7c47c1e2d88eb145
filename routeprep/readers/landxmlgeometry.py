"""The elements of one LandXML alignment, from their coordinates alone.

In go the nodes of its CoordGeom, out come ``Element``s in the file's unit, each with what it says
of itself that its coordinates do not bear out.  Points are complex numbers, east + north j, so
that a direction is one too and a quarter turn to the right is a product with -1j.

What the schema (LandXML 1.2) says: point text is northing easting [elevation]; ``rot`` is the way
from Start to End round Center; an infinite radius is INF; a Chain is a list of CgPoint names; the
points of an IrregularLine include its ends.
"""

import cmath
import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from routeprep.elements import place_on
from routeprep.lines import Alignment
from routeprep.readers.landxmldrawing import ALLOWED, NOTHING, Doubt, Drawing, too_far
from routeprep.readers.landxmltree import Node, Place
from routeprep.readers.parts import shown

__all__ = ["SWAPPED", "Element", "elements_of"]

# What the schemas name beside the clothoid (LandXML 1.2, spiralType).
_OTHER_SPIRALS = (
    "biquadratic", "bloss", "cosine", "cubic", "sinusoid", "revBiquadratic", "revBloss",
    "revCosine", "revSinusoid", "sineHalfWave", "biquadraticParabola", "cubicParabola",
    "japaneseCubic", "radioid", "weinerBogen",
)  # fmt: skip
SWAPPED = (
    "easting and northing look swapped (LandXML points are northing, then easting), or rot is "
    "wrong; export it again"
)


class Element(NamedTuple):
    """One element in the file's unit; curvature and turns are right positive.

    ``along`` is its direction at Start, ``onward`` the one at its End; ``loose`` says that it is
    a part of a Chain or IrregularLine, which has corners; ``declared`` is what the file says its
    direction at Start is, as text.
    """

    what: str
    place: Place
    start: complex
    end: complex
    along: complex
    onward: complex
    curvature_start: float
    curvature_end: float
    length: float
    loose: bool
    declared: str
    doubts: tuple[Doubt, ...]


def elements_of(
    geometry: Sequence[Node], *, place: Place, points: Mapping[str, Sequence[Node]], unit: str
) -> Iterator[Element]:
    """Read the elements of an alignment in their order, those of no length among them.

    Parameters
    ----------
    geometry
        Its CoordGeom nodes.
    place
        Where it stands.
    points
        The survey points that it refers to, by name.
    unit
        The file's unit of length, for messages.

    Raises
    ------
    ReadError
        If an element is not one that is read, or lacks what makes it.
    """
    nodes = (child for one in geometry for child in one.children)
    for number, node in enumerate(nodes, start=1):
        where = f"{place.text}, element {number} ({node.tag}, line {node.line})"
        drawing = Drawing(node, Place(place.file, where), points, unit)
        if node.tag not in _ELEMENTS:
            names = ", ".join(sorted(_ELEMENTS))
            msg = f"<{node.tag[:40]}> is no element of an alignment that is read ({names})"
            raise drawing.place.wrong(msg)
        yield from _ELEMENTS[node.tag](drawing)


def _straight(
    drawing: Drawing, start: complex, end: complex, *, loose: bool, doubts: Sequence[Doubt] = ()
) -> Element:
    step = end - start
    along = step / abs(step) if step else 1j
    return Element(
        what="line",
        place=drawing.place,
        start=start,
        end=end,
        along=along,
        onward=along,
        curvature_start=0.0,
        curvature_end=0.0,
        length=abs(step),
        loose=loose,
        declared=drawing.node.attributes.get("dir", ""),
        doubts=tuple(doubts),
    )


def _line(drawing: Drawing) -> Iterator[Element]:
    start, end = drawing.point("Start"), drawing.point("End")
    doubts = drawing.differs("length", abs(end - start), "length")
    yield _straight(drawing, start, end, loose=False, doubts=doubts)


def _through(drawing: Drawing, vertices: Sequence[complex]) -> Iterator[Element]:
    """Lines from point to point; the length that is declared is that of all of them."""
    steps = list(itertools.pairwise(vertices))
    if not steps:
        msg = f"has {len(vertices)} points; a line has two or more"
        raise drawing.place.wrong(msg)
    whole = sum(abs(end - start) for start, end in steps)
    plain = drawing._replace(node=drawing.node._replace(attributes={}))
    yield _straight(plain, *steps[0], loose=True, doubts=drawing.differs("length", whole, "length"))
    for start, end in steps[1:]:
        yield _straight(plain, start, end, loose=True)


def _chain(drawing: Drawing) -> Iterator[Element]:
    return _through(drawing, [drawing.named(name) for name in drawing.node.text.split()])


def _irregular(drawing: Drawing) -> Iterator[Element]:
    vertices = [drawing.point("Start")]
    for node in drawing.node.children:
        if node.tag not in {"PntList2D", "PntList3D"}:
            continue
        numbers = [drawing.place.number(one, node.tag) for one in node.text.split()]
        size = 2 if node.tag == "PntList2D" else 3
        if len(numbers) % size:
            msg = f"{node.tag} has {len(numbers)} numbers, no multiple of {size}; export it again"
            raise drawing.place.wrong(msg)
        vertices += map(complex, numbers[1::size], numbers[0::size])
    # The list should hold the ends too, and often does.
    begins, ends = vertices[1:2] == vertices[:1], vertices[-1:] == [drawing.point("End")]
    return _through(drawing, vertices[begins:] + [drawing.point("End")] * (not ends))


def _of_no_length(drawing: Drawing, start: complex, end: complex) -> Element:
    """What stands for an element that begins and ends at one place.

    Raises
    ------
    ReadError
        If it is said to be long all the same.
    """
    declared = drawing.place.optional(drawing.node, "length")
    if declared > ALLOWED:
        msg = (
            f"begins and ends at one place, but declares a length of {declared:.4f} "
            f"{drawing.unit}; export a whole circle as two halves"
        )
        raise drawing.place.wrong(msg)
    return _straight(drawing, start, end, loose=False)


def _curve(drawing: Drawing) -> Iterator[Element]:
    """An arc through Start and End; Center is taken to lie as far from the one as the other."""
    start, end, turn = drawing.point("Start"), drawing.point("End"), drawing.turn()
    if abs(end - start) < NOTHING:
        yield _of_no_length(drawing, start, end)
        return
    given = drawing.point("Center") if drawing.has("Center") else _from_tangents(drawing, turn)
    chord = (end - start) / abs(end - start)
    middle = (given - 0.5 * (start + end)) / chord
    center = given - middle.real * chord
    radius = abs(start - center)
    sweep = -turn * cmath.phase((end - center) / (start - center)) % (2.0 * math.pi)
    _refuse_swapped(drawing, radius, sweep)
    along = 1j * turn * (center - start) / radius
    doubts = [
        *drawing.differs("length", radius * sweep, "length"),
        *drawing.differs("radius", abs(start - given), "radius"),
        *_off_center(drawing, abs(start - given), abs(end - given)),
    ]
    yield Element(
        what="curve",
        place=drawing.place,
        start=start,
        end=end,
        along=along,
        onward=along * cmath.exp(-1j * turn * sweep),
        curvature_start=turn / radius,
        curvature_end=turn / radius,
        length=radius * sweep,
        loose=False,
        declared=drawing.node.attributes.get("dirStart", ""),
        doubts=tuple(doubts),
    )


def _off_center(drawing: Drawing, from_start: float, from_end: float) -> Iterator[Doubt]:
    if too_far(from_start, from_end):
        text = (
            f"{drawing.place.text} has its Start {from_start:.4f} {drawing.unit} and its End "
            f"{from_end:.4f} from its Center; the arc is drawn through both ends"
        )
        yield Doubt("center", abs(from_start - from_end), text)


def _from_tangents(drawing: Drawing, turn: int) -> complex:
    """The centre of the arc whose tangents meet in PI; over half a circle they meet behind.

    Raises
    ------
    ReadError
        If there is no PI either, or it lies in line with the ends.
    """
    if not drawing.has("PI"):
        msg = "has neither Center nor PI, so that its arc is not known; export it with Center"
        raise drawing.place.wrong(msg)
    start, corner, end = drawing.point("Start"), drawing.point("PI"), drawing.point("End")
    apart = min(abs(corner - start), abs(corner - end)) >= NOTHING
    angle = -cmath.phase((end - corner) / (corner - start)) if apart else 0.0
    if not NOTHING < abs(angle) < math.pi - NOTHING:
        msg = f"its tangents meet at {math.degrees(angle):.4f} degrees; no arc has such a PI"
        raise drawing.place.wrong(msg)
    radius = 0.5 * abs(end - start) / math.sin(0.5 * abs(angle))
    behind = 1 if turn * angle > 0.0 else -1
    forward = behind * (corner - start) / abs(corner - start)
    return start - 1j * turn * radius * forward


def _refuse_swapped(drawing: Drawing, radius: float, sweep: float) -> None:
    """Refuse an arc whose declared length is that of the other way round its circle.

    Raises
    ------
    ReadError
        If it is.
    """
    declared = drawing.place.optional(drawing.node, "length")
    off = abs(radius * sweep - declared)
    other = abs(radius * (2.0 * math.pi - sweep) - declared)
    if too_far(radius * sweep, declared) and other < 0.1 * off:
        msg = (
            f"goes {math.degrees(sweep):.2f} degrees round its Center the way that rot says, but "
            f"its length of {declared:.4f} {drawing.unit} is that of the other way: Center lies on "
            f"the wrong side; {SWAPPED}"
        )
        raise drawing.place.wrong(msg)


def _curvature(drawing: Drawing, attribute: str) -> float:
    """One over a radius that may be missing or infinite.

    Raises
    ------
    ReadError
        If it is not above 0.
    """
    text = drawing.node.attributes.get(attribute, "").strip()
    if text.lstrip("+-").lower() in {"", "inf", "infinity"}:
        return 0.0
    radius = drawing.place.number(text, attribute)
    if radius <= 0.0:
        msg = f"{attribute} is {shown(text)}; expected a radius above 0, or INF for none"
        raise drawing.place.wrong(msg)
    return 1.0 / radius


def _spiral(drawing: Drawing) -> Iterator[Element]:
    """A clothoid of the declared radii and length, turned so that it points from Start to End."""
    start, end, turn = drawing.point("Start"), drawing.point("End"), drawing.turn()
    if abs(end - start) < NOTHING:
        yield _of_no_length(drawing, start, end)
        return
    first, last, length, angle = _of_clothoid(drawing, turn)
    drawn = _drawn(first, last, length)
    along = 1j * (end - start) / abs(end - start) * abs(drawn) / drawn
    miss = abs(abs(end - start) - abs(drawn))
    if drawing.has("PI"):
        miss = max(miss, _missed(drawing, start, end, drawn, angle))
    doubts = []
    if miss > ALLOWED:
        text = (
            f"{drawing.place.text} ends {miss:.4f} {drawing.unit} from its End when it is drawn "
            "with its radii and length"
        )
        doubts = [Doubt("spiral", miss, text)]
    yield Element(
        what="spiral",
        place=drawing.place,
        start=start,
        end=end,
        along=along,
        onward=along * cmath.exp(-1j * angle),
        curvature_start=first,
        curvature_end=last,
        length=length,
        loose=False,
        declared=drawing.node.attributes.get("dirStart", ""),
        doubts=tuple(doubts),
    )


def _of_clothoid(drawing: Drawing, turn: int) -> tuple[float, float, float, float]:
    """Curvature at both ends, length and turn.

    Raises
    ------
    ReadError
        If it is another transition, or none that can be built.
    """
    sort = drawing.node.attributes.get("spiType", "")
    if sort.lower() != "clothoid":
        known = "a transition that is not read" if sort in _OTHER_SPIRALS else "not known"
        msg = (
            f"spiType is {shown(sort)}, {known}: only the clothoid is; ask the designer for "
            "clothoids, or for lines and curves that stand for it"
        )
        raise drawing.place.wrong(msg)
    first = turn * _curvature(drawing, "radiusStart")
    last = turn * _curvature(drawing, "radiusEnd")
    length = drawing.place.optional(drawing.node, "length")
    angle = 0.5 * (first + last) * length
    if not (length > 0.0 and 0.0 < abs(angle) <= 2.0 * math.pi):
        msg = (
            f"is {length:.4f} {drawing.unit} long and turns {math.degrees(angle):.4f} degrees; "
            "expected a length above 0, a radius at one end or both, and one turn at most"
        )
        raise drawing.place.wrong(msg)
    return first, last, length, angle


def _missed(drawing: Drawing, start: complex, end: complex, drawn: complex, angle: float) -> float:
    """How far from its End a spiral ends when it sets out from Start to PI.

    Raises
    ------
    ReadError
        If PI says that it turns the other way.
    """
    corner = drawing.point("PI")
    if min(abs(corner - start), abs(corner - end)) < NOTHING:
        return 0.0
    seen = -cmath.phase((end - corner) / (corner - start))
    if seen * angle < 0.0 and abs(seen) > 0.5 * abs(angle):
        msg = (
            f"turns {math.degrees(seen):.3f} degrees at its PI, right positive, but "
            f"{math.degrees(angle):.3f} the way that rot says; {SWAPPED}"
        )
        raise drawing.place.wrong(msg)
    out = (corner - start) / abs(corner - start)
    return abs(start + drawn * out / 1j - end)


def _drawn(first: float, last: float, length: float) -> complex:
    """Where a clothoid ends that starts at 0 northward."""
    one = Alignment(
        name="", what=("spiral",), x_m=np.zeros(1), y_m=np.zeros(1), heading_deg=np.zeros(1),
        curvature_start_per_m=np.array([first]), curvature_end_per_m=np.array([last]),
        length_m=np.array([length]), unit="m", crs="", start_value=0.0, equations=(), profile=(),
    )  # fmt: skip
    ((x, y),), _ = place_on(one, np.array([length]), np.zeros(1))
    return complex(x, y)


_ELEMENTS = {
    "Chain": _chain,
    "Curve": _curve,
    "IrregularLine": _irregular,
    "Line": _line,
    "Spiral": _spiral,
}
