"""The part of a LandXML file that alignments are made of, as a small tree.

In go bytes, out comes the root as a ``Node`` with units, coordinate system and alignments under
it; surfaces, parcels and the like are passed over and never held.  DOCTYPE is refused and no
entity is ever expanded; a file that breaks off gives nothing, since half an alignment is wrong.
"""

import math
from collections.abc import Callable, Collection, Iterator
from typing import NamedTuple

from routeprep.errors import ReadError
from routeprep.readers.parts import shown
from routeprep.readers.plainxml import parse, plain_parser

__all__ = ["Node", "Place", "read_points", "read_tree"]

# What is kept, by what it stands in (LandXML 1.0 to 1.2 schemas); in a CoordGeom everything but
# Feature, so that an element that is not known can be refused by its name.
_ENDS = frozenset({"Center", "End", "PI", "PntList2D", "PntList3D", "Start"})
_KEPT = {
    "LandXML": frozenset({"Alignments", "CoordinateSystem", "Units"}),
    "Units": frozenset({"Imperial", "Metric"}),
    "Alignments": frozenset({"Alignment"}),
    "Alignment": frozenset({"CoordGeom", "Profile", "StaEquation"}),
    "Profile": frozenset({"ProfAlign"}),
    "ProfAlign": frozenset({"CircCurve", "PVI", "ParaCurve", "UnsymParaCurve"}),
    **dict.fromkeys(("Curve", "IrregularLine", "Line", "Spiral"), _ENDS),
}
_TEXTS = _ENDS | _KEPT["ProfAlign"] | {"Chain", "CgPoint"}

# No number in a file of roads is greater: it is 2.5 times round the earth in metres.
_GREATEST = 1e8


class Node(NamedTuple):
    """One element of the file: its name without prefix, where it stands, what it holds."""

    tag: str
    attributes: dict[str, str]
    line: int
    children: "list[Node]"
    texts: list[str]

    @property
    def text(self) -> str:
        """Its text, without the space around it."""
        return "".join(self.texts).strip()

    def all(self, tag: str) -> "Iterator[Node]":
        """Its children of one name."""
        return (child for child in self.children if child.tag == tag)


class Place(NamedTuple):
    """Where in which file something stands, for messages."""

    file: str
    text: str

    def wrong(self, found: str) -> ReadError:
        """The error that says what was found here and what to do."""
        return ReadError(f"{self.file}, {self.text}: {found}", file=self.file, place=self.text)

    def number(self, text: str, what: str) -> float:
        """Read a finite number.

        Raises
        ------
        ReadError
            If it is none, or greater than any in a file of roads.
        """
        try:
            value = math.nan if "_" in text else float(text)
        except ValueError:
            value = math.nan
        if not abs(value) <= _GREATEST:
            expected = "expected a number with a decimal point, within 100 million"
            msg = f"{what} is {shown(text)}; {expected}; mend it or export again"
            raise self.wrong(msg)
        return value

    def optional(self, node: Node, attribute: str) -> float:
        """Read a number from an attribute, NaN where there is none."""
        text = node.attributes.get(attribute, "").strip()
        return self.number(text, attribute) if text else math.nan


class _Parser:
    """Keeps what a rule says of one file, and passes over the rest."""

    def __init__(self, name: str, keep: Callable[[str, str, dict[str, str]], bool]) -> None:
        self.name = name
        self.keep = keep
        self.space = ""
        self.document = Node("", {}, 0, [], [])
        self.open = [self.document]
        self.passed = 0  # how deep inside what is passed over
        self.expat = plain_parser(
            name, what="LandXML", again="export it anew", namespace_separator=" "
        )
        self.expat.buffer_text = True
        self.expat.StartElementHandler = self.start
        self.expat.EndElementHandler = self.end
        self.expat.CharacterDataHandler = self.heard

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        """Begin an element: keep it if it is of the root's namespace and of use.

        Raises
        ------
        ReadError
            If the root is not LandXML.
        """
        space, _, local = tag.rpartition(" ")
        if self.passed:
            self.passed += 1
            return
        node = Node(local, attributes, self.expat.CurrentLineNumber, [], [])
        if len(self.open) == 1:
            if local != "LandXML":
                msg = (
                    f"{self.name}: is XML that begins with <{local[:40]}>, not LandXML; export "
                    "the alignment as LandXML 1.2"
                )
                raise ReadError(msg, file=self.name, found=local)
            self.space = space
        elif space != self.space or not self.keep(self.open[-1].tag, local, attributes):
            self.passed = 1
            return
        self.open[-1].children.append(node)
        self.open.append(node)

    def end(self, _tag: str) -> None:
        """End an element."""
        if self.passed:
            self.passed -= 1
        else:
            self.open.pop()

    def heard(self, text: str) -> None:
        """Keep the text of an element that has one of use."""
        if not self.passed and self.open[-1].tag in _TEXTS:
            self.open[-1].texts.append(text)


def _parsed(data: bytes, *, name: str, keep: Callable[[str, str, dict[str, str]], bool]) -> Node:
    parser = _Parser(name, keep)
    broken = parse(parser.expat, data)
    if broken:
        msg = (
            f"{name}, line {broken.line}: breaks off or is damaged there ({broken.why}); half an "
            "alignment would be wrong, so nothing is read; export it again"
        )
        raise ReadError(msg, file=name, line=broken.line) from broken.error
    return parser.document.children[0]


def read_tree(data: bytes, *, name: str) -> Node:
    """Read what alignments are made of.

    Parameters
    ----------
    data
        The file.
    name
        What it is called, for messages.

    Raises
    ------
    ReadError
        If it breaks off, declares a document type, is not LandXML or not of version 1.
    """
    root = _parsed(
        data,
        name=name,
        keep=lambda parent, tag, _: (
            tag != "Feature" if parent == "CoordGeom" else tag in _KEPT.get(parent, ())
        ),
    )
    version = root.attributes.get("version", "1")
    if version.partition(".")[0] != "1":
        msg = f"{name}: is LandXML {shown(version)}; 1.0 to 1.2 are read; export it as 1.2"
        raise ReadError(msg, file=name, found=version)
    return root


def read_points(data: bytes, *, name: str, wanted: Collection[str]) -> list[Node]:
    """Read the survey points (CgPoint) of some names, in the file's order.

    Parameters
    ----------
    data
        The file.
    name
        What it is called, for messages.
    wanted
        Their names; the others are passed over.
    """

    def keep(_parent: str, tag: str, attributes: dict[str, str]) -> bool:
        return tag == "CgPoints" or (tag == "CgPoint" and attributes.get("name") in wanted)

    found: list[Node] = []
    groups = [_parsed(data, name=name, keep=keep)]
    while groups:
        group = groups.pop(0)
        found += group.all("CgPoint")
        groups += group.all("CgPoints")
    return found
