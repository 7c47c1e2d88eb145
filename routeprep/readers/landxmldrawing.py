"""What one element of an alignment is read from, and what may be off in it.

In go a node of a LandXML file and the survey points that it may name, out come its points, turns
and lengths, each with a sentence when it cannot be.  Points are complex numbers, east + north j;
point text is northing, easting and perhaps an elevation (LandXML 1.2 schema, PointType).
"""

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from routeprep.readers.landxmltree import Node, Place
from routeprep.readers.parts import shown

__all__ = ["ALLOWED", "NOTHING", "Doubt", "Drawing", "named_points", "too_far"]

# Lengths and places in a file may differ by this much before it is said [the file's unit], or by
# the second value of their size: coordinates are written to 0.001 or 0.01, and lengths rounded.
# Common practice, no source.
ALLOWED = 0.01
_ALLOWED_SHARE = 1e-5
# An element shorter than this is none [the file's unit]: a tenth of the last digit written.
NOTHING = 1e-4


class Doubt(NamedTuple):
    """Something that does not fit: of which sort, by how much, and the sentence about it."""

    sort: str
    amount: float
    text: str


def too_far(found: float, declared: float) -> bool:
    """Whether two lengths differ by more than rounding."""
    return abs(found - declared) > max(ALLOWED, _ALLOWED_SHARE * abs(declared))


def named_points(geometry: Sequence[Node]) -> set[str]:
    """Names of the survey points that elements refer to."""
    names: set[str] = set()
    for element in (child for node in geometry for child in node.children):
        if element.tag == "Chain":
            names.update(element.text.split())
        names.update(end.attributes["pntRef"] for end in element.children if _refers(end))
    return names


def _refers(point: Node) -> bool:
    return not point.text and "pntRef" in point.attributes


class Drawing(NamedTuple):
    """What one element is read from: its node, where that stands, the file's points and unit."""

    node: Node
    place: Place
    points: Mapping[str, Sequence[Node]]
    unit: str

    def has(self, tag: str) -> bool:
        """Whether a point is given."""
        return any(True for _ in self.node.all(tag))

    def point(self, tag: str) -> complex:
        """A point of the element, from its text or the survey point that it names.

        Raises
        ------
        ReadError
            If it is not there, or is no point.
        """
        found = next(self.node.all(tag), None)
        if found is None:
            msg = f"has no {tag}, without which it has no place; export it again"
            raise self.place.wrong(msg)
        if _refers(found):
            return self.named(found.attributes["pntRef"])
        return self.coordinates(found.text, tag)

    def named(self, name: str) -> complex:
        """A survey point by its name.

        Raises
        ------
        ReadError
            If there is none of the name, or several that differ.
        """
        texts = sorted({point.text for point in self.points.get(name, ())})
        if len(texts) != 1:
            msg = (
                f"names the survey point {shown(name)}, of which the file has {len(texts)}; give "
                "the alignment coordinates of its own"
            )
            raise self.place.wrong(msg)
        return self.coordinates(texts[0], f"survey point {shown(name)}")

    def coordinates(self, text: str, what: str) -> complex:
        """A point from northing, easting and perhaps an elevation.

        Raises
        ------
        ReadError
            If the text is anything else.
        """
        numbers = [self.place.number(one, what) for one in text.split()]
        if len(numbers) not in {2, 3}:
            msg = (
                f"{what} is {shown(text)}; expected northing and easting, and perhaps an "
                "elevation, with spaces between"
            )
            raise self.place.wrong(msg)
        return complex(numbers[1], numbers[0])

    def turn(self) -> int:
        """1 for clockwise, -1 for counter-clockwise.

        Raises
        ------
        ReadError
            If rot is neither.
        """
        rot = self.node.attributes.get("rot", "")
        if rot.lower() not in {"cw", "ccw"}:
            msg = f"rot is {shown(rot)}; expected cw or ccw"
            raise self.place.wrong(msg)
        return 1 if rot.lower() == "cw" else -1

    def differs(self, sort: str, found: float, attribute: str) -> list[Doubt]:
        """What there is to say of a length that is declared and found."""
        declared = self.place.optional(self.node, attribute)
        if math.isnan(declared) or not too_far(found, declared):
            return []
        text = (
            f"{self.place.text} declares a {attribute} of {declared:.4f} {self.unit}, its "
            f"coordinates give {found:.4f}"
        )
        return [Doubt(sort, abs(found - declared), text)]
