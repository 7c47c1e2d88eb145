"""What the elements of one alignment say against each other and against what is declared.

In go ``Element``s in the file's unit, out come ``Doubt``s with their amounts, and findings: one
for each sort, about the worst of it.  The coordinates are taken; a declared direction never is.
"""

import cmath
import itertools
import math
from collections.abc import Iterable, Iterator, Sequence

from routeprep.readers.landxmldrawing import ALLOWED, Doubt
from routeprep.readers.landxmlgeometry import SWAPPED, Element
from routeprep.readers.landxmltree import Place
from routeprep.shapes import Finding

__all__ = ["declared_directions", "findings_of", "neighbours"]

# Neighbours may meet at this angle [deg], and at what the last digit of coordinates written to
# 0.001 makes of it [the file's unit over the shorter one's length].  Common practice, no source.
_STRAIGHT_DEG = 0.02
_LAST_DIGIT = 0.002
# Beyond this, two neighbours run against each other [deg].
_AGAINST_DEG = 170.0
# A declared direction may differ by this much before it is noted [deg].
_DIRECTION_DEG = 0.1

# Angles of the schema (LandXML 1.2, angularType) in degrees; "decimal dd.mm.ss" is read apart.
_ANGLES = {"decimal degrees": 1.0, "grads": 0.9, "radians": 180.0 / math.pi}


def _between_deg(one: complex, other: complex) -> float:
    """Angle from one direction to another [deg], right positive."""
    return -math.degrees(cmath.phase(other / one))


def neighbours(elements: Sequence[Element], *, unit: str) -> Iterator[Doubt]:
    """Say where elements do not meet, or meet at an angle.

    Parameters
    ----------
    elements
        Of an alignment, in order, none of no length.
    unit
        The file's unit of length, for messages.

    Raises
    ------
    ReadError
        If a curve runs against its neighbour.
    """
    for one, other in itertools.pairwise(elements):
        met = f"{one.place.text} and {other.place.text.rpartition(', element ')[2]}"
        gap = abs(other.start - one.end)
        if gap > ALLOWED:
            text = f"between {met} there is a gap of {gap:.4f} {unit}"
            yield Doubt("gap", gap, text)
        angle_deg = _between_deg(one.onward, other.along)
        curved = next((each for each in (one, other) if each.what == "curve"), None)
        if gap <= ALLOWED and abs(angle_deg) > _AGAINST_DEG and curved is not None:
            msg = f"runs against its neighbour ({met} meet at {angle_deg:.2f} degrees); {SWAPPED}"
            raise curved.place.wrong(msg)
        allowed_deg = _STRAIGHT_DEG + math.degrees(_LAST_DIGIT / min(one.length, other.length))
        if abs(angle_deg) > allowed_deg and not (one.loose or other.loose):
            text = f"{met} meet at an angle of {angle_deg:.4f} degrees, right positive"
            yield Doubt("angle", abs(angle_deg), text)


def _declared_deg(text: str, unit: str) -> float:
    """A declared direction clockwise from north [deg]; NaN when it cannot be read."""
    try:
        value = float(text)
    except ValueError:
        return math.nan
    if unit != "decimal dd.mm.ss":
        return value * _ANGLES.get(unit, math.nan)
    whole, rest = divmod(abs(value) + 1e-9, 1.0)
    minutes, rest = divmod(rest * 100.0, 1.0)
    return math.copysign(whole + minutes / 60.0 + rest * 100.0 / 3600.0, value)


def declared_directions(
    elements: Sequence[Element], *, unit: str, place: Place
) -> Iterator[Finding]:
    """Say once that declared directions are not those of the coordinates.

    A note, since coordinates are taken; a doubt where all that disagree are those of a line with
    easting and northing swapped, which is all that tells of it when there is no curve.

    Parameters
    ----------
    elements
        Of an alignment.
    unit
        The file's unit of directions.
    place
        The alignment.
    """
    off = []
    for one in elements:
        declared_deg = _declared_deg(one.declared, unit)
        found_deg = math.degrees(math.atan2(one.along.real, one.along.imag)) % 360.0
        if _apart_deg(declared_deg, found_deg) > _DIRECTION_DEG:
            off.append((one, declared_deg % 360.0, found_deg))
    if off:
        one, declared_deg, found_deg = off[0]
        swapped = all(_apart_deg(said, 90.0 - found) <= _DIRECTION_DEG for _, said, found in off)
        text = (
            f"{one.place.text} declares a direction of {declared_deg:.4f} degrees, its "
            f"coordinates give {found_deg:.4f} (the first of {len(off)} such); coordinates are "
            f"taken, directions never{f'; but {SWAPPED}' if swapped else ''}"
        )
        where = f"{place.file}, {place.text}"
        yield Finding(level="doubt" if swapped else "note", where=where, text=text)


def _apart_deg(one_deg: float, other_deg: float) -> float:
    return abs((one_deg - other_deg + 180.0) % 360.0 - 180.0)


def findings_of(doubts: Iterable[Doubt], *, place: Place) -> list[Finding]:
    """One finding for each sort of doubt, about the worst of it.

    Parameters
    ----------
    doubts
        In the order in which they came up.
    place
        The alignment.
    """
    sorts: dict[str, list[Doubt]] = {}
    for doubt in doubts:
        sorts.setdefault(doubt.sort, []).append(doubt)
    findings = []
    for found in sorts.values():
        worst = max(found, key=lambda doubt: doubt.amount)
        more = f"; the worst of {len(found)} such" if len(found) > 1 else ""
        told = worst.text.removeprefix(f"{place.text}, ")
        text = f"{told}{more}; check it against the plans"
        findings.append(Finding(level="doubt", where=f"{place.file}, {place.text}", text=text))
    return findings
