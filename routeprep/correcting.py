"""What named persons corrected by hand, put on the list: the place, where across, the height.

In go rows of obstructions and the decisions, out come the rows with what was corrected and, in
``doubt``, by whom and when.  A place by hand gives the distance along and the offset; what a
person said of where across goes before its offset, and before what the looks say.
"""

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

import numpy as np

from routeprep.across import Lateral, only_side
from routeprep.decided import Ranked, held, latest, stamp
from routeprep.geodesy import segment_lengths_m
from routeprep.kinds import ACROSS
from routeprep.locating import locate, place, runners_up
from routeprep.shapes import Decision, Defaults, Leg, LegSettings
from routeprep.spreads import HALF_95
from routeprep.units import to_m
from routeprep.walked import SaidPlace, lateral_of
from routeprep.walkwords import distance_words

__all__ = ["CORRECTIONS", "POSITIONS", "SIDES", "corrected", "correction_fault", "with_doubts"]

# What a person can correct of one thing.
CORRECTIONS = ("place", "across", "height")
# What is said of where across: a side, looking up-station, and where on it.  "Other side" is not
# among them: other than which, nobody knows when the looks are put together anew.
SIDES = {"right side": 1, "left side": -1}
POSITIONS = tuple(one for one in ACROSS if one not in (*SIDES, "other side"))
# They lie where they lie, whatever the side.
_ON_NO_SIDE = ("on the line", "whole road")

_DEGREES = re.compile(r"(?P<lon>-?\d{1,3}(\.\d{1,12})?) (?P<lat>-?\d{1,2}(\.\d{1,12})?)", re.ASCII)
_LANE = re.compile(r"lane (?P<lane>[1-9])", re.ASCII)
_HEIGHT = re.compile(
    r"((?P<feet>\d{1,2}) ft (?P<inches>\d{1,2}(\.\d{1,3})?) in"
    r"|(?P<size>\d{1,3}(\.\d{1,4})?) ?(?P<unit>ft|m)) (?P<by>posted|measured|guess)",
    re.ASCII,
)
_FIRM = ("posted", "measured")

# A place by hand this far from where the looks have the thing is said [m].
_FAR_M = to_m(100.0, "ft")
# A place by hand this share of a lane's width outside the lane that was said contradicts it: as
# far as from the line to the near wheel path.  Common practice, no source.
_OUTSIDE_SHARE = 0.25
_LETTERS = {1: "R", -1: "L"}
_WORDS = {1: "right", -1: "left"}
_LANE_SAID = "the lane said lies"
_UNSURE, _NEAR_TIE, _PAST = "lane not sure", "near tie", "past an end"
# Methods of which a place by hand is not taken in silence.
_MEASURED = ("taped", "wheeled")


class _Said(NamedTuple):
    """Where across a person says that a thing lies: side and lane 0 and position "" if not said."""

    side: int
    lane: int
    position: str


# --- what may be said ------------------------------------------------------------------------


def _place_of(value: str) -> tuple[float, float] | None:
    """Longitude and latitude [deg]; None for what is no place."""
    match = _DEGREES.fullmatch(value)
    if match is None:
        return None
    lon_deg, lat_deg = float(match["lon"]), float(match["lat"])
    return (lon_deg, lat_deg) if abs(lon_deg) <= 180 and abs(lat_deg) <= 90 else None  # noqa: PLR2004


def _height_of(value: str) -> tuple[float, str] | None:
    """Height [m] and how it is known; None for what is no height."""
    match = _HEIGHT.fullmatch(value)
    if match is None:
        return None
    if match["feet"]:
        height_m = to_m(float(match["feet"]), "ft") + to_m(float(match["inches"]), "in")
    else:
        height_m = to_m(float(match["size"]), match["unit"])
    return (height_m, match["by"]) if height_m > 0 else None


def _said_of(value: str) -> _Said | None:
    """Where across; None for what is not understood."""
    parts = [" ".join(part.split()) for part in value.split(",")]
    sides = [SIDES[part] for part in parts if part in SIDES]
    lanes = [int(match["lane"]) for part in parts if (match := _LANE.fullmatch(part))]
    positions = [part for part in parts if part in POSITIONS]
    known = len(sides) + len(lanes) + len(positions)
    if known != len(parts) or max(len(sides), len(lanes), len(positions)) > 1:
        return None
    if positions and positions[0] in _ON_NO_SIDE and known > 1:
        return None
    return _Said(sum(sides), sum(lanes), "".join(positions))


def correction_fault(field: str, value: str) -> str:
    """What is wrong with the value of a correction; empty when nothing is.

    Parameters
    ----------
    field
        One of ``CORRECTIONS``.
    value
        As decided.

    Examples
    --------
    >>> correction_fault("height", "15.5 ft posted"), correction_fault("across", "whole road")
    ('', '')
    """
    if field == "place" and _place_of(value) is None:
        return (
            f"place {value!r} is not a longitude and a latitude in degrees such as "
            "'-100.8700000 41.4300000'"
        )
    if field == "across" and _said_of(value) is None:
        return (
            f"across {value!r} is not understood; say one of {', '.join(POSITIONS)}, with "
            "'right side' or 'left side' looking up-station, and 'lane 2' counted from the line, "
            "such as 'right side, lane 2, outer wheel path'"
        )
    if field == "height" and _height_of(value) is None:
        return (
            f"height {value!r} is not understood; write it like '15.5 ft posted', "
            "'14 ft 6 in measured' or '4.72 m guess'"
        )
    return ""


# --- rows ------------------------------------------------------------------------------------


def with_doubts(row: Mapping[str, Any], *more: str, without: Sequence[str] = ()) -> str:
    """The doubts of a row with some more, each once, and without those that begin as said."""
    doubts = [part for part in str(row["doubt"]).split("; ") if part]
    kept = [part for part in doubts if not part.startswith(tuple(without))] if without else doubts
    # What persons write must not look like two doubts.
    return "; ".join(dict.fromkeys([*kept, *(part.replace("; ", ", ") for part in more if part)]))


def _away_m(row: Mapping[str, Any], lon_deg: float, lat_deg: float, leg: Leg) -> float:
    """How far a place is from that of a row, on the ground [m]."""
    lon, lat = np.array([row["lon_deg"], lon_deg]), np.array([row["lat_deg"], lat_deg])
    return float(segment_lengths_m(lon, lat, elevation_m=leg.line.elevation_m)[0])


def _lane_at(offset_m: float, sd_m: float, leg: LegSettings) -> tuple[str, bool]:
    """Lane at an offset [m], as far as its ± tells it, and whether that is sure."""
    half_m, width_m = HALF_95 * sd_m, leg.lane_width_m
    side = only_side(leg) or (int(math.copysign(1, offset_m)) if abs(offset_m) > half_m else 0)
    if not side:
        return "", False
    lanes = leg.lanes_right if side > 0 else leg.lanes_left
    out_m = max(side * offset_m, 0.0)
    sure = lanes > 0 and all(abs(out_m - k * width_m) > half_m for k in range(1, lanes))
    lane = min(int(out_m // width_m), lanes - 1) + 1
    return (f"{_LETTERS[side]}{lane}" if sure else _LETTERS[side]), sure


def _outside_m(lane: str, offset_m: float, leg: LegSettings) -> float:
    """How far an offset [m] lies outside a lane, or outside its side where only that is known."""
    width_m, lanes = leg.lane_width_m, {"R": leg.lanes_right, "L": leg.lanes_left}
    if lane[:1] not in lanes:
        # On the line; or nobody said which lane.
        return max(abs(offset_m) - _OUTSIDE_SHARE * width_m, 0.0) if lane else 0.0
    out_m = offset_m if lane[0] == "R" else -offset_m
    last = int(lane[1:] or max(lanes[lane[0]], 1))
    first = int(lane[1:] or 1)
    return max((first - 1) * width_m - out_m, out_m - last * width_m, 0.0)


def _across_at(
    row: Mapping[str, Any], offset_m: float, sd_m: float, leg: Leg
) -> tuple[str, list[str]]:
    """Lane of a row that was put at an offset [m], and what is doubtful about it.

    What was said stays; where that is elsewhere, every pass on either side must list the thing.
    """
    said = str(row["lane"])
    if not said and not row["across"]:
        lane, sure = _lane_at(offset_m, sd_m, leg.settings)
        return lane, [] if sure else [_UNSURE]
    outside_m = _outside_m(said, offset_m, leg.settings)
    if outside_m > _OUTSIDE_SHARE * leg.settings.lane_width_m:
        return said, [f"{_LANE_SAID} {distance_words(outside_m, leg)} from the place", _UNSURE]
    return said, [_UNSURE] if _UNSURE in str(row["doubt"]) else []


def _refused(one: Decision, why: str) -> str:
    return f"{one.field} by {stamp(one)} is not taken: {why}"


def _placed(row: dict[str, Any], one: Decision, leg: Leg, defaults: Defaults) -> dict[str, Any]:
    """The row where a person put it; where that is no place on its leg, as it was, and why."""
    lon_deg, lat_deg = _place_of(one.value) or (math.nan, math.nan)
    lon, lat = np.array([lon_deg]), np.array([lat_deg])
    found = locate(leg.line, lon, lat)
    past_m, far_m = float(found.past_end_m[0]), float(found.distance_m[0])
    code = leg.settings.code
    if past_m > 0:
        why = f"it lies {distance_words(past_m, leg)} past an end of leg {code}"
        return row | {"doubt": with_doubts(row, _refused(one, why))}
    if not far_m <= defaults.road_corridor_m:
        why = f"it lies {distance_words(far_m, leg)} from leg {code}"
        return row | {"doubt": with_doubts(row, _refused(one, why))}
    sd_m, offset_m = defaults.hand_placed_sd_m, float(found.offset_m[0])
    moved_m = float(found.along_m[0]) - float(row["along_m"])
    away_m = _away_m(row, lon_deg, lat_deg, leg)
    tie = runners_up(
        leg.line,
        lon,
        lat,
        found,
        within_m=defaults.runner_up_within_m,
        apart_m=defaults.runner_up_apart_m,
    )
    lane, unsure = _across_at(row, offset_m, sd_m, leg)
    doubt = with_doubts(
        row,
        f"placed by hand: {stamp(one)}",
        f"moved from a {row['method']} place" if row["method"] in _MEASURED else "",
        f"{distance_words(away_m, leg)} from where its looks have it" if away_m > _FAR_M else "",
        _NEAR_TIE if np.isfinite(tie[0]) else "",
        *unsure,
        # These asked where it is, and a person has answered.
        without=(_NEAR_TIE, _PAST, _UNSURE),
    )
    return row | {
        "along_m": float(found.along_m[0]),
        "offset_m": offset_m,
        "from_m": float(row["from_m"]) + moved_m,
        "to_m": float(row["to_m"]) + moved_m,
        "along_sd_m": sd_m,
        "offset_sd_m": sd_m,
        "lane": lane,
        "past_end_m": 0.0,
        "lon_deg": lon_deg,
        "lat_deg": lat_deg,
        "doubt": doubt,
    }


def _side_of(row: Mapping[str, Any], leg: LegSettings) -> int:
    """The side that a row lies on: +1 right looking up-station, -1 left, 0 not sure."""
    for side, letter in _LETTERS.items():
        if str(row["lane"]).startswith(letter):
            return side
    if abs(row["offset_m"]) > HALF_95 * row["offset_sd_m"]:
        return int(math.copysign(1, row["offset_m"]))
    return only_side(leg)


def _lateral(said: _Said, side: int, leg: LegSettings) -> Lateral | str:
    """Where across on a leg, or why that cannot be."""
    lanes = leg.lanes_right if side > 0 else leg.lanes_left
    if said.lane and side and said.lane > lanes:
        return f"leg {leg.code} has {lanes} lanes {_WORDS[side]} of its line"
    if said.lane and side and said.position == POSITIONS[0] and said.lane < lanes:
        return f"the {said.position} of leg {leg.code} is beside lane {lanes}"
    own = replace(leg, lanes_left=1, lanes_right=1) if said.lane and side else leg
    words = said.position or next((word for word, one in SIDES.items() if one == side), "")
    lateral = lateral_of({"across": words}, SaidPlace(leg=0, side=side), own)
    if own is leg:
        return lateral
    out_m = side * (said.lane - 1) * leg.lane_width_m
    lane = f"{_LETTERS[side]}{said.lane}"
    return replace(lateral, lane=lane, offset_m=lateral.offset_m + out_m)


def _offset(
    row: Mapping[str, Any], lateral: Lateral, leg: Leg
) -> Iterator[tuple[str, float | str]]:
    """The columns of where across words put a row; the surer offset of two that agree is kept."""
    apart_m = abs(float(row["offset_m"]) - lateral.offset_m)
    sd_m = float(row["offset_sd_m"])
    if not math.isfinite(apart_m):
        return
    if sd_m <= lateral.offset_sd_m and apart_m <= HALF_95 * lateral.offset_sd_m:
        return
    yield "offset_m", lateral.offset_m
    yield "offset_sd_m", lateral.offset_sd_m
    lon, lat = place(leg.line, np.array([row["along_m"]]), np.array([lateral.offset_m]))
    yield "lon_deg", float(lon[0])
    yield "lat_deg", float(lat[0])


def _turned(row: dict[str, Any], one: Decision, leg: Leg) -> dict[str, Any]:
    """The row with where across it lies as a person said."""
    said = _said_of(one.value) or _Said(0, 0, "")
    side = said.side or _side_of(row, leg.settings)
    lateral = _lateral(said, side, leg.settings)
    if isinstance(lateral, str):
        return row | {"doubt": with_doubts(row, _refused(one, lateral))}
    apart_m = abs(float(row["offset_m"]) - lateral.offset_m)
    half_m = HALF_95 * math.hypot(row["offset_sd_m"], lateral.offset_sd_m)
    doubt = with_doubts(
        row,
        f"across by hand, {distance_words(apart_m, leg)} from where it was: {stamp(one)}"
        if apart_m > half_m
        else "",
        "" if lateral.sure else f"across by {stamp(one)} does not tell the lane",
        "" if lateral.sure else _UNSURE,
        # These asked where across it is, and a person has answered.
        without=(_UNSURE, _LANE_SAID, *(f"called {word} " for word in ACROSS)),
    )
    across = {"lane": lateral.lane, "across": lateral.position, "doubt": doubt}
    return row | across | dict(_offset(row, lateral, leg))


def _raised(row: dict[str, Any], one: Decision, leg: Leg) -> dict[str, Any]:
    """The row with its height as a person has it; a firm height is not lost in silence."""
    height_m, by = _height_of(one.value) or (math.nan, "")
    was_m, was_by = float(row["height_m"]), str(row["height_by"])
    firm = was_by in _FIRM and (by not in _FIRM or height_m > was_m)
    unit = leg.settings.unit
    # Rounded down, as heights are.
    low_m = math.floor(10 * was_m / unit.length_m) / 10 * unit.length_m if firm else math.nan
    doubt = f"height by {stamp(one)}; it was {unit.length_text(low_m)}, {was_by}" if firm else ""
    return row | {"height_m": height_m, "height_by": by, "doubt": with_doubts(row, doubt)}


def corrected(
    rows: Sequence[Mapping[str, Any]],
    decisions: Sequence[Decision],
    *,
    legs: Sequence[Leg],
    defaults: Defaults,
) -> list[dict[str, Any]]:
    """Put corrections on rows of obstructions; by leg in the job's order, then along.

    Parameters
    ----------
    rows
        As ``concluding.conclude`` makes them.
    decisions
        Checked decisions.
    legs
        The job's legs.
    defaults
        How sure a place by hand is, and how far from its leg it may lie.
    """
    of_leg = {leg.settings.code: leg for leg in legs}
    order = {code: at for at, code in enumerate(of_leg)}
    found = {field: latest(decisions, field) for field in CORRECTIONS}
    made = [_corrected(row, found, of_leg[str(row["leg"])], defaults) for row in rows]
    return sorted(made, key=lambda row: (order[str(row["leg"])], row["along_m"], row["anchor_id"]))


def _corrected(
    row: Mapping[str, Any],
    found: Mapping[str, Mapping[str, Ranked]],
    leg: Leg,
    defaults: Defaults,
) -> dict[str, Any]:
    """One row: first the place, so that what was said of where across goes before its offset."""
    made = dict(row)
    ids = (str(row["anchor_id"]), *row["mark_ids"], *row["record_ids"])
    put, across, height = (held(found[field], ids) for field in CORRECTIONS)
    if put is not None:
        made = _placed(made, put, leg, defaults)
    if across is not None:
        made = _turned(made, across, leg)
    return made if height is None else _raised(made, height, leg)
