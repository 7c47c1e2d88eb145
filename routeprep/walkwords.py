"""What a person on foot says of a place: the leg, the station or reach, the offset.

In go texts as they were written, out come which legs are meant, distances along one of them, and
an offset, right positive looking up-station; or the sentence why there is none.
"""

import math
import re
from collections.abc import Sequence
from typing import NamedTuple

from routeprep.errors import StationError
from routeprep.shapes import Leg
from routeprep.stationing import along_at, along_of
from routeprep.units import FACTORS_M, StationUnit, to_m

__all__ = ["Offset", "Reach", "distance_words", "legs_called", "offset_of", "past_m", "reach_of"]

# Words of streets' names that are written short as well (a choice of USPS Publication 28).
_SHORT = {
    "street": "st", "road": "rd", "avenue": "ave", "av": "ave", "boulevard": "blvd",
    "drive": "dr", "lane": "ln", "highway": "hwy", "route": "rte", "parkway": "pkwy",
    "court": "ct", "place": "pl", "circle": "cir", "terrace": "ter", "trail": "trl",
    "north": "n", "south": "s", "east": "e", "west": "w",
}  # fmt: skip

_UNITS = {
    **dict.fromkeys(("ft", "feet", "foot", "'"), "ft"),
    **dict.fromkeys(("m", "meter", "meters", "metre", "metres"), "m"),
    **dict.fromkeys(("in", "inch", "inches", '"'), "in"),
    "ftus": "ftUS", "cm": "cm", "mm": "mm", "yd": "yd", "": "",
}  # fmt: skip
# A comma is a decimal comma with one digit or two behind it; with three it may be thousands.
_SIZE = (
    r"(?P<size>\d{1,7}(?:\.\d{1,4}|,\d{1,2})?)"
    rf"(?:\s*(?P<unit>{'|'.join(sorted(filter(None, _UNITS), key=len)[::-1])})(?![a-z]))?\.?"
)
_LENGTH = re.compile(rf"(?P<sign>[-+]?)\s*{_SIZE}", re.IGNORECASE | re.ASCII)
_SIDE = r"rt|lt|right|left|r|l"
_OFFSET = re.compile(
    rf"(?P<sign>[-+]?)\s*(?:(?P<before>{_SIDE})(?![a-z])\.?\s*)?(?:{_SIZE})?"
    rf"\s*(?:(?P<after>{_SIDE})(?![a-z])\.?)?"
    r"(?:\s+(?:of|from)\s+(?:the\s+)?(?:cl|cent(?:er|re)\s?line))?",
    re.IGNORECASE | re.ASCII,
)
_ON_LINE = re.compile(r"cl|c/l|cent(?:er|re)\s?line", re.IGNORECASE)
_REACH = re.compile(r"(?P<first>.*\d.*?)\s+to\s+(?P<last>[-+]?\d.*)", re.IGNORECASE)
# A longer text is no station and no offset [characters].
_MOST = 80


class Reach(NamedTuple):
    """From and to along a leg [m], equal for a point; NaN with the reason where there is none."""

    from_m: float
    to_m: float
    why: str


class Offset(NamedTuple):
    """An offset as said.

    Attributes
    ----------
    side
        +1 right looking up-station, -1 left, 0 not said or on the line.
    offset_m
        Right positive [m]; NaN where only a side was said, or nothing.
    understood
        Whether the text is an offset or empty.
    """

    side: int
    offset_m: float
    understood: bool


def _in_unit(match: re.Match[str], unit: StationUnit) -> float:
    """A length [the unit's length]; one without a unit is in it."""
    value = float(match["size"].replace(",", "."))
    said = _UNITS[(match["unit"] or "").lower()]
    if not said or (said == "ft" and unit.family == "ft"):
        return value
    return to_m(value, said) / unit.length_m


def _along_m(leg: Leg, text: str) -> float:
    """Distance along at a label, or at a length from station zero such as 1240 ft [m]."""
    unit = leg.stationing.unit
    length = _LENGTH.fullmatch(text.strip()) if len(text) <= _MOST else None
    if length is None or not length["unit"]:
        return along_of(leg.stationing, text)
    value = _in_unit(length, unit)
    return along_at(leg.stationing, -value if length["sign"] == "-" else value)


def reach_of(leg: Leg, text: str) -> Reach:
    """From and to of what was said ("12+40", "12+40 to 13+10", "1240 ft") on a leg.

    Parameters
    ----------
    leg
        The leg.
    text
        As said.
    """
    ends = _REACH.fullmatch(text.strip()) if len(text) <= _MOST else None
    try:
        found = sorted(_along_m(leg, one) for one in (ends.groups() if ends else (text,)))
    except StationError as error:
        return Reach(math.nan, math.nan, str(error).replace("; ", ", "))
    return Reach(found[0], found[-1], "")


def past_m(leg: Leg, reach: Reach) -> float:
    """How far past an end of a leg the nearest of a reach lies [m]; NaN when it is nowhere."""
    if reach.why:
        return math.nan
    return max(0.0, -reach.to_m, reach.from_m - leg.line.length_m)


def distance_words(length_m: float, leg: Leg) -> str:
    """A distance for people, in the unit of a leg's stations.

    Parameters
    ----------
    length_m
        The distance [m].
    leg
        The leg.
    """
    unit = leg.stationing.unit.family
    return f"{length_m / float(FACTORS_M[unit]):,.0f} {unit}"


def _plain(name: str) -> str:
    words = re.findall(r"\w+", name.casefold())
    return " ".join(_SHORT.get(word, word) for word in words)


def legs_called(said: str, legs: Sequence[Leg]) -> list[int]:
    """Indices of the legs that are called as said: by code, by name, or by both with a comma.

    Parameters
    ----------
    said
        As said; empty means any.
    legs
        The job's legs.
    """
    wanted = [one.strip() for one in said.split(",") if one.strip()]
    codes = [leg.settings.code.casefold() for leg in legs]
    names = [_plain(leg.settings.name) for leg in legs]
    named = [
        {k for k in range(len(legs)) if codes[k] == one.casefold()}
        or {k for k in range(len(legs)) if names[k] == _plain(one)}
        for one in wanted
    ]
    return sorted(set(range(len(legs))).intersection(*named))


def offset_of(text: str, unit: StationUnit) -> Offset:
    """An offset as said: "12 RT", "6.5 ft LT", "-4", "LT", "CL".

    A bare number is in the unit of the stations; a sign and a side together are not understood.

    Parameters
    ----------
    text
        As said.
    unit
        Of the leg's stations.
    """
    text = text.strip()
    if not text or _ON_LINE.fullmatch(text):
        return Offset(0, 0.0 if text else math.nan, understood=True)
    match = _OFFSET.fullmatch(text) if len(text) <= _MOST else None
    if match is None:
        return Offset(0, math.nan, understood=False)
    sides = [one[0].lower() for one in (match["before"], match["after"]) if one]
    if len(sides) + bool(match["sign"]) > 1:
        return Offset(0, math.nan, understood=False)
    side = -1 if "l" in sides or match["sign"] == "-" else 1
    if not match["size"]:
        return Offset(side if sides else 0, math.nan, understood=bool(sides))
    return Offset(side, side * _in_unit(match, unit) * unit.length_m, understood=True)
