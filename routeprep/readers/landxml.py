"""Read designed alignments from a LandXML file, 1.0 to 1.2, with any namespace.

In go bytes, out come ``Alignment``s in metres in the file's own plane, and what their numbers say
against each other.  The unit of length is the file's and never assumed; geometry is taken from
coordinates alone.
"""

import cmath
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from routeprep.errors import ReadError
from routeprep.lines import Alignment
from routeprep.readers.landxmlchecks import declared_directions, findings_of, neighbours
from routeprep.readers.landxmldrawing import NOTHING, Doubt, named_points, too_far
from routeprep.readers.landxmlgeometry import Element, elements_of
from routeprep.readers.landxmlstations import equations_of, profile_of
from routeprep.readers.landxmltree import Node, Place, read_points, read_tree
from routeprep.readers.parts import shown
from routeprep.shapes import Finding
from routeprep.units import FACTORS_M

__all__ = ["LandXml", "choose", "read_alignments"]

# linearUnit as the schemas name it, and as ``units`` does.
_UNITS = {"foot": "ft", "ussurveyfoot": "ftUS", "meter": "m"}
# No road is longer [the file's unit].
_LONGEST = 1e7


@dataclass(frozen=True, slots=True, kw_only=True)
class LandXml:
    """What one file holds.

    Attributes
    ----------
    alignments
        Those that can be used, in the file's order.
    findings
        What is off in each, and what was left out; ``where`` begins with the file and the
        alignment.
    refused
        Name of each alignment that cannot be used, and the sentence about it.
    """

    alignments: tuple[Alignment, ...]
    findings: tuple[Finding, ...]
    refused: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class _File:
    """What holds for all alignments of a file."""

    name: str
    unit: str
    directions: str
    crs: str
    points: Mapping[str, Sequence[Node]]


def read_alignments(data: bytes, *, name: str) -> LandXml:
    """Read all alignments of a file.

    Parameters
    ----------
    data
        The file.
    name
        What it is called, for messages.

    Raises
    ------
    ReadError
        If it is no LandXML, names no unit of length that is read, has no alignment, or none
        that can be used.
    """
    root = read_tree(data, name=name)
    nodes = [node for group in root.all("Alignments") for node in group.all("Alignment")]
    if not nodes:
        msg = (
            f"{name}: is LandXML but has no Alignment (0 found); export the centerline as an "
            "alignment"
        )
        raise ReadError(msg, file=name)
    crs, findings = _crs(root, name)
    unit, directions = _unit(root, name)
    file = _File(
        name=name,
        unit=unit,
        directions=directions,
        crs=crs,
        points=_points(data, nodes, name),
    )
    alignments, refused, errors = [], [], []
    for number, node in enumerate(nodes, start=1):
        called = node.attributes.get("name", "").strip() or f"number {number}"
        try:
            alignment, found = _alignment(node, called, file)
        except ReadError as error:
            errors.append(error)
            refused.append((called, str(error)))
            where = f"{name}, alignment {called!r}"
            findings.append(Finding(level="fault", where=where, text=str(error)))
            continue
        alignments.append(alignment)
        findings += found
    if not alignments:
        raise errors[0]
    return LandXml(alignments=tuple(alignments), findings=tuple(findings), refused=tuple(refused))


def choose(read: LandXml, *, wanted: str, name: str) -> Alignment:
    """Choose one alignment of a file by its name; the only one needs no name.

    Parameters
    ----------
    read
        What the file holds.
    wanted
        The alignment's name; empty for the only one.
    name
        The file's name, for messages.

    Raises
    ------
    ReadError
        If there are several and none is wanted, or not exactly one of that name, or that one
        cannot be used.
    """
    refused = dict(read.refused)
    names = [one.name for one in read.alignments] + list(refused)
    listed = ", ".join(repr(one) for one in names)
    if not wanted and len(names) > 1:
        msg = f"{name}: has {len(names)} alignments ({listed}); name the one to use"
        raise ReadError(msg, file=name, names=names)
    found = [one for one in read.alignments if one.name == wanted.strip() or not wanted]
    if len(found) == 1:
        return found[0]
    if wanted.strip() in refused:
        raise ReadError(refused[wanted.strip()], file=name, names=names)
    msg = (
        f"{name}: has {len(found)} alignments called {wanted!r}; it has {listed}; name one of them"
    )
    raise ReadError(msg, file=name, names=names)


def _unit(root: Node, name: str) -> tuple[str, str]:
    """The file's unit of length, and that of its directions.

    Raises
    ------
    ReadError
        If it names none, several, or one that is not read.
    """
    systems = [one for units in root.all("Units") for one in units.children]
    given = [one.attributes.get("linearUnit", "").strip() for one in systems]
    if len(set(given)) != 1 or given[0].lower() not in _UNITS:
        found = " and ".join(shown(one) for one in given) or "no Units"
        msg = (
            f"{name}: its linearUnit is {found}; expected one of foot, USSurveyFoot and meter, "
            "since a unit is never assumed; export it again with its units"
        )
        raise ReadError(msg, file=name, found=given)
    return _UNITS[given[0].lower()], systems[0].attributes.get("directionUnit", "radians")


def _crs(root: Node, name: str) -> tuple[str, list[Finding]]:
    """The coordinate system that the file names, empty for none or several, and what is odd."""
    told = [(node, *_crs_of(node, name)) for node in root.all("CoordinateSystem")]
    named = [(crs, node.line) for node, crs, _ in told if crs]
    findings = [finding for _, _, some in told for finding in some]
    if len({crs for crs, _ in named}) < 2:  # noqa: PLR2004 - one alone is no question
        return named[0][0] if named else "", findings
    places = " and ".join(f"{crs} (line {line})" for crs, line in named)
    text = (
        f"the file names several coordinate systems, {places}; none is taken: name the one that "
        "the alignment is in with the leg's centerline"
    )
    return "", [*findings, Finding(level="doubt", where=name, text=text)]


def _crs_of(node: Node, name: str) -> tuple[str, list[Finding]]:
    """What one CoordinateSystem names, and what is odd about it."""
    code = node.attributes.get("epsgCode", "").strip().upper().removeprefix("EPSG:")
    wkt = node.attributes.get("ogcWktCode", "").strip()
    findings = [
        Finding(level="doubt", where=f"{name}, CoordinateSystem in line {node.line}", text=text)
        for text in _odd(node, code)
    ]
    if code.isdecimal() and code.isascii() and int(code):
        return f"EPSG:{int(code)}", findings
    return wkt, findings


def _odd(node: Node, code: str) -> list[str]:
    found = []
    if code and not (code.isdecimal() and code.isascii()):
        found.append(f"epsgCode is {shown(code)}, no number; name the coordinate system in the job")
    turned = node.attributes.get("rotationAngle", "").strip()
    if turned.strip("+-0."):
        found.append(
            f"rotationAngle is {shown(turned)}; the plane is taken as not turned; check that the "
            "line lies on the road"
        )
    return found


def _points(data: bytes, nodes: Sequence[Node], name: str) -> dict[str, list[Node]]:
    """The survey points that alignments refer to, read from the file only if there are any."""
    wanted = named_points([one for node in nodes for one in node.all("CoordGeom")])
    points: dict[str, list[Node]] = {}
    for point in read_points(data, name=name, wanted=wanted) if wanted else ():
        points.setdefault(point.attributes["name"], []).append(point)
    return points


def _elements(
    node: Node, place: Place, file: _File
) -> tuple[list[Element], list[Doubt], list[Finding]]:
    """The elements that have a length, what is off in all, and a note about the others.

    Raises
    ------
    ReadError
        If there is none, or they are longer than any road.
    """
    geometry = list(node.all("CoordGeom"))
    every = list(elements_of(geometry, place=place, points=file.points, unit=file.unit))
    kept = [one for one in every if one.length >= NOTHING]
    whole = math.fsum(one.length for one in kept)
    if not 0.0 < whole <= _LONGEST:
        msg = (
            f"has {len(kept)} elements with a length, {whole:.4f} {file.unit} in all; expected "
            f"one or more, and no more than {_LONGEST:.0f}; export its horizontal geometry"
        )
        raise place.wrong(msg)
    doubts = [doubt for one in every for doubt in one.doubts]
    doubts += neighbours(kept, unit=file.unit)
    declared = place.optional(node, "length")
    if too_far(whole, declared):
        text = (
            f"{place.text} declares a length of {declared:.4f} {file.unit}, its elements give "
            f"{whole:.4f}"
        )
        doubts.append(Doubt("total", abs(whole - declared), text))
    return kept, doubts, _left_out([one for one in every if one.length < NOTHING], place)


def _left_out(short: Sequence[Element], place: Place) -> list[Finding]:
    if not short:
        return []
    text = f"{short[0].place.text} has no length and is left out (the first of {len(short)} such)"
    return [Finding(level="note", where=f"{place.file}, {place.text}", text=text)]


def _alignment(node: Node, called: str, file: _File) -> tuple[Alignment, list[Finding]]:
    """One alignment in metres, with what is to be said of it.

    Raises
    ------
    ReadError
        If it cannot be used.
    """
    place = Place(file.name, f"alignment {called!r}")
    start = place.optional(node, "staStart")
    if math.isnan(start):
        msg = f"has no staStart in line {node.line}, so that its stations are not known; add it"
        raise place.wrong(msg)
    elements, doubts, short = _elements(node, place, file)
    length = math.fsum(one.length for one in elements)
    unit_m = float(FACTORS_M[file.unit])
    equations, odd = equations_of(
        list(node.all("StaEquation")), place=place, start=start, length=length
    )
    profile, low = profile_of(
        list(node.all("Profile")), place=place, start=start, length=length, unit_m=unit_m
    )
    findings = findings_of([*doubts, *odd, *low], place=place)
    findings += declared_directions(elements, unit=file.directions, place=place)
    findings += short
    alignment = Alignment(
        name=called,
        what=tuple(one.what for one in elements),
        x_m=np.array([one.start.real for one in elements]) * unit_m,
        y_m=np.array([one.start.imag for one in elements]) * unit_m,
        heading_deg=np.array([90.0 - math.degrees(cmath.phase(one.along)) for one in elements])
        % 360.0,
        curvature_start_per_m=np.array([one.curvature_start for one in elements]) / unit_m,
        curvature_end_per_m=np.array([one.curvature_end for one in elements]) / unit_m,
        length_m=np.array([one.length for one in elements]) * unit_m,
        unit=file.unit,
        crs=file.crs,
        start_value=start,
        equations=equations,
        profile=profile,
    )
    return alignment, findings
