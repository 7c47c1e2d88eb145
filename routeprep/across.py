"""Where across the road, turned from what a person saw to a side, a lane and an offset.

In go the words as said, their frame and the direction of travel, out comes a ``Lateral`` looking
up-station.  What the person said wins over the satellite: a phone cannot tell which lane.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from routeprep.shapes import LegSettings
from routeprep.spreads import UNIFORM_IN_SDS

__all__ = ["Lateral", "only_side", "turn", "turn_all"]

# Where in its lane a position lies, from the line outward as a share of the lane's width: wheel
# paths about 3 ft either side of the middle of a 12-ft lane (common practice, no source).
_SHARE = {
    "curb or edge": 1.0,
    "outer wheel path": 0.75,
    "between wheel paths": 0.5,
    "inner wheel path": 0.25,
}
_IN_LANE = {"right wheel path": "outer wheel path", "left wheel path": "inner wheel path"}
# A position said is good to about this share of a lane (common practice, no source).
_SAID_SD_SHARE = 0.15


@dataclass(frozen=True, slots=True, kw_only=True)
class Lateral:
    """Where across, looking up-station.

    Attributes
    ----------
    lane
        "R1" is the first lane right of the centerline, "L2" the second left; "R" or "L" when
        only the side is known; "C" on the line; empty when not even the side is.
    position
        The words from curb to line, or "whole road"; empty when not known.
    offset_m, offset_sd_m
        From the centerline, right positive [m], and its standard deviation [m]; NaN when the
        words do not tell.
    sure
        Whether the lane is known; if not, every pass it may touch must list it.
    """

    lane: str
    position: str
    offset_m: float
    offset_sd_m: float
    sure: bool


def turn(across: str, *, frame: str, travel: int, leg: LegSettings) -> Lateral:
    """Turn words into a side and a lane, once.

    Parameters
    ----------
    across
        One of ``kinds.ACROSS`` or empty.
    frame
        "as driven" or "up-station".
    travel
        +1 driven up-station, -1 down-station, 0 not known.
    leg
        The leg, for its lanes; traffic keeps right.
    """
    road_m = (leg.lanes_left + leg.lanes_right) * leg.lane_width_m
    if across == "whole road":
        middle_m = (leg.lanes_right - leg.lanes_left) * leg.lane_width_m / 2
        return Lateral(
            lane="",
            position=across,
            offset_m=middle_m,
            offset_sd_m=road_m / UNIFORM_IN_SDS,
            sure=True,
        )
    if across == "on the line":
        sure = leg.lanes_left == leg.lanes_right == 1
        return Lateral(
            lane="C" if sure else "",
            position=across,
            offset_m=0.0 if sure else math.nan,
            offset_sd_m=_SAID_SD_SHARE * leg.lane_width_m if sure else math.nan,
            sure=sure,
        )
    position = _IN_LANE.get(across, across) if frame == "as driven" else across
    position = position if position in _SHARE else ""
    side = _side(across, frame=frame, travel=travel)
    only = only_side(leg)
    if only and frame == "as driven" and side != only:
        # All lanes lie on one side; said of another side, or driven against the traffic, the
        # words do not tell curb from line.
        side, position = 0, ""
    if side == 0:
        return Lateral(
            lane="", position=position, offset_m=math.nan, offset_sd_m=math.nan, sure=False
        )
    return _in_lane(side, position, leg)


def turn_all(
    across: Iterable[str],
    *,
    frames: Iterable[str],
    travels: Iterable[int],
    legs: Iterable[LegSettings],
) -> dict[str, npt.NDArray[Any]]:
    """Turn the words of many things, each different case once: a column a field of ``Lateral``.

    Parameters
    ----------
    across, frames, travels, legs
        For each thing what ``turn`` asks.
    """
    kept: dict[int, LegSettings] = {}
    asked = [
        (words, frame, travel, id(kept.setdefault(id(leg), leg)))
        for words, frame, travel, leg in zip(across, frames, travels, legs, strict=True)
    ]
    number = {case: place for place, case in enumerate(dict.fromkeys(asked))}
    turned = [
        turn(words, frame=frame, travel=travel, leg=kept[leg])
        for words, frame, travel, leg in number
    ]
    which = np.array([number[case] for case in asked], dtype=np.int64)
    holds = {"lane": object, "position": object, "offset_m": float, "offset_sd_m": float}
    return {
        name: np.array([getattr(one, name) for one in turned], dtype=dtype)[which]
        for name, dtype in (holds | {"sure": bool}).items()
    }


def only_side(leg: LegSettings) -> int:
    """The side that all lanes of a one-way leg lie on; 0 when both have lanes."""
    return (leg.lanes_left == 0) - (leg.lanes_right == 0)


def _side(across: str, *, frame: str, travel: int) -> int:
    """+1 right of the centerline looking up-station, -1 left, 0 not known."""
    if frame == "up-station":
        return {"right side": 1, "left side": -1}.get(across, 0)
    # As driven, keeping right: the vehicle's own side is right when it runs up-station.  The
    # left side as driven may be the left of the lane or of the road: not known.
    if across in _SHARE or across in _IN_LANE or across == "right side":
        return travel
    return -travel if across == "other side" else 0


def _in_lane(side: int, position: str, leg: LegSettings) -> Lateral:
    lanes = leg.lanes_right if side > 0 else leg.lanes_left
    letter = "R" if side > 0 else "L"
    width_m = leg.lane_width_m
    outermost = position == "curb or edge" and lanes > 0
    if lanes == 1 or outermost:
        if position:
            offset_m = (lanes - 1 + _SHARE[position]) * width_m
            sd_m = _SAID_SD_SHARE * width_m
        else:
            offset_m, sd_m = width_m / 2, width_m / UNIFORM_IN_SDS
        return Lateral(
            lane=f"{letter}{lanes}",
            position=position,
            offset_m=side * offset_m,
            offset_sd_m=sd_m,
            sure=True,
        )
    # Several lanes, or none given on this side: the side is known, the lane is not.
    wide_m = max(lanes, 1) * width_m
    return Lateral(
        lane=letter,
        position=position,
        offset_m=side * wide_m / 2,
        offset_sd_m=wide_m / UNIFORM_IN_SDS,
        sure=False,
    )
