"""Marks of a person on foot that say their station, placed where they say.

In go marks and legs, out comes for each mark that says a station the place that it says, or why
it has none.  What was said wins over the satellite's position; where the two are far apart, both
are said.  A wheel and a tape measure along the slope and a station is level: on a 6 % grade they
read 1.8 m in a kilometre more, which the ± of a wheel covers and that of a tape does not.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd

from routeprep.across import Lateral, only_side, turn
from routeprep.geodesy import segment_lengths_m
from routeprep.locating import locate_near, place
from routeprep.shapes import Defaults, Leg, LegSettings
from routeprep.spreads import HALF_95, RADIUS_68_IN_SDS
from routeprep.tables import ON_FOOT, rows_of
from routeprep.walkwords import (
    Reach,
    distance_words,
    legs_called,
    offset_of,
    past_m,
    reach_of,
)

__all__ = ["SaidPlace", "lateral_of", "said_places"]

_SIDES = {"right side": 1, "left side": -1}
_IN_LANE = ("curb or edge", "outer wheel path", "between wheel paths", "inner wheel path")
# Where in a lane a wheel path lies, looking up-station from its side of the line.
_PATHS = {
    (1, "right wheel path"): "outer wheel path", (1, "left wheel path"): "inner wheel path",
    (-1, "right wheel path"): "inner wheel path", (-1, "left wheel path"): "outer wheel path",
}  # fmt: skip
_WHEEL_PATHS = ("right wheel path", "left wheel path")
# Positions from the line outward, each up to a share of the lane's width: halfway between the
# places that ``across`` gives them.
_POSITIONS = (
    (0.125, "on the line"),
    (0.375, "inner wheel path"),
    (0.625, "between wheel paths"),
    (0.875, "outer wheel path"),
    (math.inf, "curb or edge"),
)
# Farther apart than this many standard deviations what was said and the satellite disagree.
_APART_SDS = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class SaidPlace:
    """Where a mark says that it is.

    Attributes
    ----------
    leg
        Index of the leg, -1 when what was said is no place on any.
    along_m, from_m, to_m
        Its middle and reach along the leg [m].
    along_sd_m
        Standard deviation along [m].
    past_end_m
        How far past an end [m]; 0 on the line.
    side
        +1 right of the line looking up-station, -1 left, 0 not said.
    offset_m, offset_sd_m
        From the line, right positive [m]: as said, else where the person stood; NaN for neither.
    told_sd_m
        Standard deviation of an offset as said from the line on the road [m]; NaN where none was.
    doubts
        Why a person should look at it.
    """

    leg: int
    along_m: float = math.nan
    from_m: float = math.nan
    to_m: float = math.nan
    along_sd_m: float = math.nan
    past_end_m: float = 0.0
    side: int = 0
    offset_m: float = math.nan
    offset_sd_m: float = math.nan
    told_sd_m: float = math.nan
    doubts: tuple[str, ...] = ()


def _nowhere(text: str, legs: Sequence[Leg], tried: Sequence[tuple[int, Reach]]) -> str:
    """Why a station is on none of the legs that it may be on."""
    if len(tried) > 1:
        codes = ", ".join(legs[k].settings.code for k, _ in tried)
        return f"said station {text} is on none of legs {codes}"
    at, reach = tried[0]
    if reach.why:
        return f"said station: {reach.why}"
    past = distance_words(past_m(legs[at], reach), legs[at])
    return f"said station {text} lies {past} past an end of leg {legs[at].settings.code}"


def _which(
    mark: Mapping[str, Any], legs: Sequence[Leg], defaults: Defaults
) -> tuple[int, Reach | None, str]:
    """The leg that a mark's station is on and the reach there, or why it is on none."""
    text, said = str(mark["said_station"]), str(mark["said_leg"])
    tried = [(k, reach_of(legs[k], text)) for k in legs_called(said, legs)]
    if not tried:
        return -1, None, f"said station {text} is on {said!r}, which is no leg of this job"
    good = [(k, reach) for k, reach in tried if past_m(legs[k], reach) <= defaults.road_corridor_m]
    if len(good) == 1:
        return good[0][0], good[0][1], ""
    if not good:
        return -1, None, _nowhere(text, legs, tried)
    codes = ", ".join(legs[k].settings.code for k, _ in good)
    return -1, None, f"said station {text} is on legs {codes}: which leg?"


def _sd_m(method: str, away_m: float, defaults: Defaults) -> float:
    """Standard deviation along, that far from the nearest known place [m]."""
    own_m, share = {
        "taped": (defaults.taped_sd_m, defaults.taped_share),
        "wheeled": (defaults.wheeled_sd_m, defaults.wheeled_share),
        "walked": (defaults.paced_sd_m, defaults.paced_share),
    }[method]
    return own_m + share * away_m


def _line_sd_m(leg: Leg, along_m: float) -> float:
    return float(np.interp(along_m, leg.line.along_m, leg.line.sd_m))


def _with_offset(
    mark: Mapping[str, Any], said: SaidPlace, leg: Leg, defaults: Defaults
) -> SaidPlace:
    """The place with the offset that was said."""
    text = str(mark["said_offset"])
    side, offset_m, understood = offset_of(text, leg.stationing.unit)
    if not understood:
        return replace(said, doubts=(*said.doubts, f"said offset {text!r} is not understood"))
    if side * _SIDES.get(str(mark["across"]), 0) < 0:
        said = replace(said, doubts=(*said.doubts, "said offset and side disagree"))
    if math.isnan(offset_m):
        return replace(said, side=side)
    if abs(offset_m) > defaults.road_corridor_m:
        far = distance_words(abs(offset_m), leg)
        why = f"said offset {text} is {far} from leg {leg.settings.code}"
        return SaidPlace(leg=-1, doubts=(why,))
    sd_m = defaults.said_offset_sd_m
    return replace(
        said,
        side=side,
        offset_m=offset_m,
        offset_sd_m=math.hypot(sd_m, _line_sd_m(leg, said.along_m)),
        told_sd_m=sd_m,
    )


def _stood(mark: Mapping[str, Any], said: SaidPlace, leg: Leg, defaults: Defaults) -> SaidPlace:
    """The place held against the satellite's position, which gives the offset where none was said.

    The position may be anywhere across the road, and anywhere in the reach.
    """
    lon, lat = (np.array([float(mark[name])]) for name in ("lon_deg", "lat_deg"))
    if not np.isfinite(lon[0]):
        return said
    radius_m = float(mark["accuracy_m"])
    radius_m = radius_m if math.isfinite(radius_m) else defaults.phone_accuracy_m
    sd_m = radius_m / RADIUS_68_IN_SDS
    told_m = said.offset_m if math.isfinite(said.told_sd_m) else 0.0
    line_lon, line_lat = place(leg.line, np.array([said.along_m]), np.array([told_m]))
    apart_m = float(
        segment_lengths_m(
            np.array([lon[0], line_lon[0]]),
            np.array([lat[0], line_lat[0]]),
            elevation_m=leg.line.elevation_m,
        )[0]
    )
    lanes = max(leg.settings.lanes_left, leg.settings.lanes_right) + 1
    across_m = 0.0 if math.isfinite(said.told_sd_m) else lanes * leg.settings.lane_width_m
    free_m = across_m + (said.to_m - said.from_m) / 2
    allowed_m = free_m + _APART_SDS * math.hypot(sd_m, said.along_sd_m)
    if apart_m > allowed_m:
        doubt = f"said station and position disagree by {distance_words(apart_m, leg)}"
        return replace(said, doubts=(*said.doubts, doubt))
    if math.isfinite(said.offset_m):
        return said
    near = locate_near(
        leg.line, lon, lat, near_m=np.array([said.along_m]), window_m=max(allowed_m, 1.0)
    )
    return replace(
        said,
        offset_m=float(near.offset_m[0]),
        offset_sd_m=math.hypot(sd_m, _line_sd_m(leg, said.along_m)),
    )


def _said(mark: Mapping[str, Any], legs: Sequence[Leg], defaults: Defaults) -> SaidPlace:
    """Where one mark says that it is."""
    at, reach, why = _which(mark, legs, defaults)
    if reach is None:
        return SaidPlace(leg=-1, doubts=(why,))
    leg = legs[at]
    along_m = (reach.from_m + reach.to_m) / 2
    past_m = max(0.0, -along_m, along_m - leg.line.length_m)
    away_m = min(abs(along_m - known_m) for known_m in leg.stationing.known_m)
    said = SaidPlace(
        leg=at,
        along_m=along_m,
        from_m=reach.from_m,
        to_m=reach.to_m,
        along_sd_m=_sd_m(str(mark["method"]), away_m, defaults),
        past_end_m=past_m,
        doubts=("past an end",) if past_m > 0 else (),
    )
    said = _with_offset(mark, said, leg, defaults)
    return said if said.leg < 0 else _stood(mark, said, leg, defaults)


def said_places(
    marks: pd.DataFrame, legs: Sequence[Leg], defaults: Defaults
) -> dict[str, SaidPlace]:
    """Where the marks that say their station are, by their ids.

    Only marks that were walked, wheeled or taped count.  The leg is the one said, else the only
    one, else the only one that has the station.

    Parameters
    ----------
    marks
        Table of marks.
    legs
        The job's legs.
    defaults
        The tolerances.
    """
    return {
        str(mark["mark_id"]): _said(mark, legs, defaults)
        for mark in rows_of(marks)
        if mark["said_station"] and mark["method"] in ON_FOOT
    }


def _by_offset(said: SaidPlace, leg: LegSettings) -> Lateral:
    """Lane and position at an offset as said from the line on the road."""
    width_m, size_m = leg.lane_width_m, abs(said.offset_m)
    letter, lanes = ("R", leg.lanes_right) if said.side > 0 else ("L", leg.lanes_left)
    at = min(int(size_m // width_m), max(lanes - 1, 0))
    share = size_m / width_m - at
    position = next(name for share_most, name in _POSITIONS if share < share_most)
    edges_m = [width_m * k for k in range(1, lanes)]
    sure = lanes > 0 and all(abs(size_m - edge_m) > HALF_95 * said.told_sd_m for edge_m in edges_m)
    lane = f"{letter}{at + 1}" if sure else letter
    if position == "on the line" and at == 0:
        lane, sure = "C", True
    inside = sure and (at in (0, lanes - 1) or position not in {"on the line", "curb or edge"})
    return Lateral(
        lane=lane,
        position=position if inside else "",
        offset_m=said.offset_m,
        offset_sd_m=said.offset_sd_m,
        sure=sure,
    )


def _by_words(across: str, side: int, leg: LegSettings) -> Lateral:
    """Lane and position on a side of the line, or what the words alone tell."""
    side = side or _SIDES.get(across, 0) or (only_side(leg) if across in _WHEEL_PATHS else 0)
    if not side or across == "on the line":
        return turn(across, frame="up-station", travel=0, leg=leg)
    # On its own side of the line the traffic that keeps right sees curb and line alike.
    position = _PATHS.get((side, across), across)
    seen = position if position in _IN_LANE else "right side"
    return turn(seen, frame="as driven", travel=side, leg=leg)


def lateral_of(mark: Mapping[str, Any], said: SaidPlace, leg: LegSettings) -> Lateral:
    """Where across a mark with a station lies: as said in feet, by its side, or by its words.

    Parameters
    ----------
    mark
        Its row.
    said
        Its place.
    leg
        The leg.
    """
    across = str(mark["across"])
    if across == "whole road":
        return turn(across, frame="up-station", travel=0, leg=leg)
    words = _by_words(across, said.side, leg)
    if math.isnan(said.told_sd_m):
        return words
    told = _by_offset(said, leg)
    agrees = bool(words.position) and words.lane[:1] in {"", told.lane[:1]}
    return replace(told, position=words.position) if agrees else told
