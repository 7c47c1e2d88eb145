"""Things that are really in the road, and the words that people type for them."""

from dataclasses import dataclass
from typing import NamedTuple

from routeprep.units import FACTORS_M

__all__ = ["COVERS", "FT_M", "NAMES", "PLACES", "Thing", "words_for"]

FT_M = float(FACTORS_M["ft"])

# Kinds that a city's file of covers holds, and that people take for one another.
COVERS = ("SMH", "DMH", "WV", "GASV", "DI", "CB")


@dataclass(frozen=True, slots=True, kw_only=True)
class Name:
    """What a kind is called: in full, in short, and in the invented city's own file."""

    full: str
    short: str
    city: str = ""


# Codes of the kinds used here; the words are among those of the kinds table.
NAMES: dict[str, Name] = {
    "SMH": Name(full="sewer manhole", short="sanitary manhole", city="Sanitary Manhole"),
    "DMH": Name(full="storm manhole", short="storm manhole", city="Storm Manhole"),
    "WV": Name(full="water valve", short="WV", city="Water Valve"),
    "GASV": Name(full="gas valve", short="gas valve", city="Gas Valve"),
    "DI": Name(full="drop inlet", short="DI", city="Drop Inlet"),
    "CB": Name(full="catch basin", short="CB", city="Catch Basin"),
    "MON": Name(full="survey monument", short="survey monument", city="Survey Monument"),
    "RRX": Name(full="railroad crossing", short="railroad crossing"),
    "BJ": Name(full="bridge joint", short="bridge joint"),
    "LOOP": Name(full="traffic loop", short="loop"),
    "WIRE": Name(full="low wire", short="low wire"),
    "BCUT": Name(full="begin cut", short="begin cut"),
    "ECUT": Name(full="end cut", short="end cut"),
    "TIEIN": Name(full="tie-in", short="tie in"),
    "SST": Name(full="side street", short="side street"),
    "XW": Name(full="crosswalk", short="crosswalk"),
    "PATCH": Name(full="patch", short="patch"),
    "PLATE": Name(full="steel plate", short="steel plate"),
    "SPOT": Name(full="sketchy spot", short="sketchy"),
}


class Place(NamedTuple):
    """Where across a 12 ft lane: distance from the line [ft], and the words for it."""

    off_ft: float
    words: str


PLACES = {
    "curb": Place(11.0, "curb or edge"),
    "outer": Place(9.0, "outer wheel path"),
    "mid": Place(6.0, "between wheel paths"),
    "inner": Place(3.0, "inner wheel path"),
    "line": Place(0.0, "on the line"),
    "whole": Place(0.0, ""),
    "beside": Place(16.0, ""),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Thing:
    """One thing that is really there.

    Attributes
    ----------
    kind
        Code of its kind.
    leg
        Code of the leg.
    along_m
        Distance along the leg's centerline [m].
    side
        "R" right of the line looking up-station, "L" left of it, "C" across the whole road.
    place
        A key of ``PLACES``.
    visibility
        Chance that a person who drives by taps it; 0 when it cannot be seen.
    in_file
        Whether the city's file has it.
    size
        As a person says it, or empty.
    note
        Why it is special, for the truth only.
    """

    kind: str
    leg: str
    along_m: float
    side: str
    place: str
    visibility: float
    in_file: bool
    size: str = ""
    note: str = ""

    @property
    def offset_m(self) -> float:
        """Distance from the line [m], right positive looking up-station."""
        off_m = PLACES[self.place].off_ft * FT_M
        return -off_m if self.side == "L" else off_m

    @property
    def lane(self) -> str:
        """Lane R1 or L1; empty for a thing on the line, across the road or beside it."""
        return "" if self.place in {"line", "whole", "beside"} else f"{self.side}1"


def across_words(thing: Thing, *, travel: int, by_hand: bool) -> str:
    """Where across the road, as somebody says it who drives by on the right.

    Parameters
    ----------
    thing
        The thing.
    travel
        +1 up-station, -1 down-station.
    by_hand
        Say wheel paths as right and left.
    """
    mine = thing.offset_m * travel >= 0
    words = PLACES[thing.place].words
    if thing.place == "beside":
        return "right side" if mine else "left side"
    if thing.place in {"whole", "line"}:
        return words
    if not mine:
        return "other side"
    hands = {"outer": "RT wheel path", "inner": "LT wheel path"} if by_hand else {}
    return hands.get(thing.place, words)


def words_for(thing: Thing, *, travel: int, manner: str) -> str:
    """What one person types for a thing.

    Parameters
    ----------
    thing
        The thing.
    travel
        +1 up-station, -1 down-station.
    manner
        "full", "short", "hands" (right and left wheel path) or "bare" (only what it is).
    """
    name = NAMES[thing.kind]
    across = across_words(thing, travel=travel, by_hand=manner == "hands")
    if manner == "bare":
        return " ".join(part for part in (name.full, thing.size) if part)
    if manner == "full":
        return ", ".join(part for part in (name.full, across, thing.size) if part)
    said = " ".join(part for part in (name.short, across) if part)
    return ", ".join(part for part in (said, thing.size) if part)
