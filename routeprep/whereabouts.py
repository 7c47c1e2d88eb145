"""Where things may be, for passes to meet: in go rows of the list, out come ``Thing``s.

Their ± along and across counts (95 %), a lane that is not sure counts as all of its side or of the
road, and a casting is as wide as its size says.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from routeprep.kinds import Kind, KindTable
from routeprep.lifting import skip_of
from routeprep.plans import Pass
from routeprep.shapes import Leg
from routeprep.spreads import HALF_95
from routeprep.tables import rows_of
from routeprep.units import to_m

__all__ = ["Thing", "size_m", "skip_m", "things_of"]

_Row = Mapping[str, Any]

_LIFT, _SKIP, _HAND = "LIFT", "SKIP", "HAND WORK"
_UNSURE, _NOT_FOUND = "lane not sure", "not found"

_CASTINGS = ("iron in the road", "do not cut without the owner")
# What may stand out of the surface beside the drum.
_STANDING = (*_CASTINGS, "edges")
# What hangs over the road or lies across it, wherever across somebody saw it.
_SPANNING = ("overhead", "transitions")
_WHOLE = "whole road"
_SIDES = ("R", "L")

# A casting whose size nobody said is taken to be this wide [m]: the cover of a manhole, 24 in;
# common practice, no source.  Clearances are for that; what is larger has the rest added.
_COVER_M = to_m(24, "in")
_SIZE = re.compile(
    r"(?P<one>\d+(?:\.\d+)?)(?:\s*x\s*(?P<two>\d+(?:\.\d+)?))?\s*(?P<unit>in|ft|mm|cm|m)\b"
)
# Stations are printed for what was taped and is surer than this [m], 5 ft.
_SURE_M = to_m(5, "ft")


def size_m(size: str) -> float:
    """The longest side that a size names [m]; 0 when none is said.

    Examples
    --------
    >>> round(size_m("24 in"), 4), round(size_m("2x3 ft"), 4), size_m("large")
    (0.6096, 0.9144, 0.0)
    """
    return max(
        (
            to_m(float(side), match["unit"])
            for match in _SIZE.finditer(size)
            for side in (match["one"], match["two"])
            if side
        ),
        default=0.0,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Thing:
    """One row of the list, as a pass meets it.

    Attributes
    ----------
    row, kind
        The row, and its kind.
    half_m, said_half_m
        Half its size: at most, and as said [m].
    low_m, high_m
        Offsets between which its middle may be [m].
    sure
        Whether these are known, and not only its side or that it is on the road.
    spans
        Whether it lies across or over the whole road.
    skip
        From and to along that are to be skipped [m]; None when that is not its action.
    """

    row: _Row
    kind: Kind
    half_m: float
    said_half_m: float
    low_m: float
    high_m: float
    sure: bool
    spans: bool
    skip: tuple[float, float] | None

    @property
    def stands(self) -> bool:
        """Whether it may stand out of the surface beside the drum."""
        return self.kind.group in _STANDING

    @property
    def along_half_m(self) -> float:
        """Half-width of its 95 % interval along [m]."""
        return HALF_95 * float(self.row["along_sd_m"])

    @property
    def lifted(self) -> bool:
        """Whether the drum comes out for it.

        Hand work is lifted over where its kind asks for a clearance.
        """
        action = str(self.row["action"])
        clear = self.kind.clear_ahead_m + self.kind.clear_behind_m > 0
        return bool(self.row["decided_by"]) and (
            action.startswith((_LIFT, _SKIP)) or (action.startswith(_HAND) and clear)
        )

    def clear_m(self, moldboard_m: float) -> tuple[float, float]:
        """Clearance before and after it as the drum comes [m].

        Parameters
        ----------
        moldboard_m
            From the drum back to the moldboard, which has to be past it too [m]; NaN when not
            known: then what the kind says, which includes the usual one.
        """
        more_m = max(0.0, self.said_half_m - _COVER_M / 2)
        behind_m = self.kind.clear_behind_m
        if behind_m > 0:
            behind_m = float(np.fmax(behind_m, moldboard_m))
        return self.kind.clear_ahead_m + more_m, behind_m + more_m

    @property
    def exact(self) -> bool:
        """Whether it was walked and taped: what is lifted over may be printed as stations."""
        found = _NOT_FOUND not in str(self.row["status"])
        return self.row["method"] == "taped" and found and self.along_half_m < _SURE_M


def _spans(row: _Row, kind: Kind) -> bool:
    said = str(row["across"]) or kind.across
    return said == _WHOLE or kind.group in _SPANNING


def _road_m(leg: Leg, passes: Sequence[Pass]) -> tuple[float, float]:
    """Offsets of the outermost edges of lanes and passes [m]."""
    said = leg.settings
    return (
        min(-said.lanes_left * said.lane_width_m, *(one.left_m.min() for one in passes), 0.0),
        max(said.lanes_right * said.lane_width_m, *(one.right_m.max() for one in passes), 0.0),
    )


def _across(row: _Row, road_m: tuple[float, float]) -> tuple[float, float, bool]:
    """Offsets between which the middle of a thing may be [m], and whether that is known.

    A lane that is not sure may be any on its side; where not even that is known, any on the road,
    if the ± reaches it at all.  What stands in a file has a place of its own.
    """
    half_m, middle_m = HALF_95 * float(row["offset_sd_m"]), float(row["offset_m"])
    low_m, high_m = middle_m - half_m, middle_m + half_m
    if _UNSURE not in str(row["doubt"]):
        return low_m, high_m, True
    side = str(row["lane"])[:1]
    left_m, right_m = (0.0 if side == "R" else road_m[0], 0.0 if side == "L" else road_m[1])
    on_road = side in _SIDES or (low_m <= right_m and high_m >= left_m)
    if row["method"] != "file" and on_road:
        low_m, high_m = min(low_m, left_m), max(high_m, right_m)
    return low_m, high_m, False


def skip_m(row: _Row, leg: Leg) -> tuple[float, float] | None:
    """From and to of what a row says to skip [m]; None when that is not its action.

    As said, if that is where the thing is; else the thing's own reach.

    Parameters
    ----------
    row
        Of the list.
    leg
        Its leg.
    """
    if not str(row["action"]).startswith(_SKIP):
        return None
    said = skip_of(str(row["action"]), leg)
    from_m, to_m = float(row["from_m"]), float(row["to_m"])
    half_m = HALF_95 * float(row["along_sd_m"])
    if said.from_m <= to_m + half_m and said.to_m >= from_m - half_m:
        return said.from_m, said.to_m
    return from_m, to_m


def _thing(row: _Row, leg: Leg, kinds: KindTable, road_m: tuple[float, float]) -> Thing:
    kind = kinds.kinds[str(row["kind"])]
    casting = kind.group in _CASTINGS
    said_m = size_m(str(row["size"])) if casting else 0.0
    low_m, high_m, sure = _across(row, road_m)
    return Thing(
        row=row,
        kind=kind,
        half_m=(said_m or _COVER_M) / 2 if casting else 0.0,
        said_half_m=said_m / 2,
        low_m=low_m,
        high_m=high_m,
        sure=sure,
        spans=_spans(row, kind),
        skip=skip_m(row, leg),
    )


def things_of(
    obstructions: pd.DataFrame, leg: Leg, kinds: KindTable, passes: Sequence[Pass]
) -> tuple[Thing, ...]:
    """Take what the list has on a leg, in its order.

    Parameters
    ----------
    obstructions
        Table ``tables.OBSTRUCTIONS``, of any leg.
    leg
        The leg.
    kinds
        The job's kinds.
    passes
        Of this leg: a thing whose lane is not sure may be in any on its side.
    """
    road_m = _road_m(leg, passes)
    mine = obstructions[obstructions["leg"] == leg.settings.code]
    return tuple(_thing(row, leg, kinds, road_m) for row in rows_of(mine))
