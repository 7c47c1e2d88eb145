"""Lines of a station list that say the leg or street, who walked, when and how.

In goes a line and what was said before it, out comes what holds from there on; or nothing, when
the line is about a thing.
"""

import re
from dataclasses import dataclass, replace

from routeprep.kinds import KindTable
from routeprep.readers.datetimes import date_in

__all__ = ["Said", "heading_of"]

_METHODS = {
    "walked": "walked", "paced": "walked", "on foot": "walked", "wheeled": "wheeled",
    "wheel": "wheeled", "measuring wheel": "wheeled", "taped": "taped", "tape": "taped",
}  # fmt: skip
_LEG = re.compile(
    r"leg\b\s*[:=]?\s*(?P<leg>\w{1,8})\s*(?:[,:;(-]\s*(?P<street>[^()]+)\)?)?$", re.IGNORECASE
)
_STREET = re.compile(r"(?:street|road|on)\s*[:=]\s*(?P<street>.+)$", re.IGNORECASE)
# The last word of a street's name (a choice of USPS Publication 28, appendix C), or its first.
_LAST = (
    "street", "st", "road", "rd", "avenue", "ave", "av", "boulevard", "blvd", "drive", "dr",
    "lane", "ln", "highway", "hwy", "parkway", "pkwy", "court", "ct", "place", "pl", "way",
    "circle", "cir", "terrace", "ter", "trail", "trl", "pike", "loop", "alley", "aly",
)  # fmt: skip
_NUMBERED = re.compile(
    r"(?:us|hwy|highway|route|rte|sr|cr|county road|state route) \d+\w?$", re.IGNORECASE
)
_WORDS_MOST = 6
# Words that no street's name has, but remarks do.
_NO_STREET = frozenset(
    ("the", "this", "from", "to", "at", "near", "left", "right", "turn", "bus", "outside", "inside")
)
# How, who and when, in one line: "wheeled by R. Sample, 2026-05-04".
_DONE = re.compile(
    rf"(?:(?:method|how)\s*[:=]\s*)?(?:(?P<method>{'|'.join(sorted(_METHODS, key=len)[::-1])})\b)?"
    r"[\s,;:]*(?:on\b)?[\s,;:]*(?:(?:date|day|when)\b)?[\s,;:]*"
    r"(?:(?:by|who|walker)\b\s*[:=]?\s*(?P<by>[^\W\d][^\d#:;+]{0,58}))?$",
    re.IGNORECASE,
)
_LOOSE = " \t,;:()-"
# A longer line is no heading [characters].
_MOST = 120


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What the lines above say of the things below them; empty where they do not.

    Attributes
    ----------
    leg
        Code of the leg or name of the street, or both parted by a comma.
    by, day
        Who walked, and the date.
    method
        "walked", "wheeled" or "taped".
    """

    leg: str = ""
    by: str = ""
    day: str = ""
    method: str = ""

    def words(self) -> str:
        """What holds, for people."""
        leg = self.leg and f"leg or street {self.leg}"
        by, day = self.by and f"by {self.by}", self.day and f"on {self.day}"
        return ", ".join(filter(None, (leg, self.method, by, day))) or "nothing"


def _street_in(text: str, kinds: KindTable) -> str:
    """The name of a street that a line is and nothing else; empty when it is none."""
    words = text.strip(_LOOSE).rstrip(".").split()
    plain = " ".join(words)
    if _NUMBERED.match(plain):
        return plain
    if not 2 <= len(words) <= _WORDS_MOST or words[-1].lower() not in _LAST:  # noqa: PLR2004
        return ""
    # "side street Elm St" is a thing, and so is "loop"; "Bridge Road" is a street.
    thing = kinds.understand(plain).kind or any(
        kinds.find(" ".join(words[:at])) for at in range(1, len(words) - 1)
    )
    return "" if thing or _NO_STREET & set(map(str.lower, words)) else plain


def _leg_in(text: str, kinds: KindTable) -> str:
    """The leg or street that a line says; empty when it says none."""
    leg = _LEG.match(text)
    if leg:
        return ", ".join(one.strip(_LOOSE) for one in leg.groups() if one)
    street = _STREET.match(text)
    return street["street"].strip(_LOOSE) if street else _street_in(text, kinds)


def _closed(name: str) -> str:
    """A name with the bracket that belongs to one in it: "R. Sample (invented" loses none."""
    return f"{name})" if name.count("(") > name.count(")") else name


def heading_of(text: str, before: Said, kinds: KindTable) -> Said | None:
    """What holds after a line, or None when it is no heading.

    Parameters
    ----------
    text
        A line without a station.
    before
        What held before it.
    kinds
        For telling a thing from a heading.

    Examples
    --------
    >>> from routeprep.kinds import KindTable
    >>> heading_of("wheeled by R. Sample, 2026-05-04", Said(leg="A"), KindTable({}))
    Said(leg='A', by='R. Sample', day='2026-05-04', method='wheeled')
    """
    if len(text) > _MOST:
        return None
    leg = _leg_in(text, kinds)
    if leg:
        return replace(before, leg=leg)
    said = kinds.understand(text)
    day, rest, _ = date_in(text)
    done = _DONE.match(rest.strip(_LOOSE))
    if done is None or said.kind or said.looks_like or not (day or done["method"] or done["by"]):
        return None
    return replace(
        before,
        method=_METHODS[done["method"].lower()] if done["method"] else before.method,
        by=_closed(done["by"].strip(_LOOSE)) if done["by"] else before.by,
        day=day or before.day,
    )
