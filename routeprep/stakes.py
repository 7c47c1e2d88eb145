"""Marks that say a station: paint and stakes on the road, and mile markers.

In go marks, the drives' tracks and the legs' lines, out come ties for each leg.  A mark made on
foot ties where it was made; one from a vehicle is placed by its time on the drive, less the usual
lateness of a tap, and ties nothing.
"""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from routeprep.lines import Centerline
from routeprep.locating import locate
from routeprep.shapes import Defaults, Finding, TieSettings
from routeprep.tables import rows_of
from routeprep.tracks import Track

__all__ = ["MILE_MARKER", "Stake", "stakes_of"]

# The kind of a tie that is a reference reading.
MILE_MARKER = "mile marker"

# Codes of the kinds of marks that say a station, and the kind of tie each makes.
_KINDS = {"STA": "paint", "MM": MILE_MARKER}
# A number at the end of what was typed for a mile marker: "14", "mile 14.2".
_NUMBER = re.compile(r"\d{1,4}(?:\.\d{1,3})?$")


@dataclass(frozen=True, slots=True, kw_only=True)
class Stake:
    """What one mark says.

    Attributes
    ----------
    tie
        A tie where the mark was made.
    from_vehicle
        Whether it was said from a vehicle.
    """

    tie: TieSettings
    from_vehicle: bool


def _place_deg(
    mark: Mapping[str, Any], tracks: Mapping[str, Track], defaults: Defaults
) -> tuple[float, float]:
    """Longitude and latitude of a mark [deg], a vehicle's by time where its drive is known."""
    own = float(mark["lon_deg"]), float(mark["lat_deg"])
    track = tracks.get(mark["drive_id"])
    if mark["method"] != "vehicle" or pd.isna(mark["time_utc"]) or track is None:
        return own
    when = np.array([mark["time_utc"].timestamp() - defaults.tap_late_s])
    if track.away_s(when)[0] > defaults.fix_near_mark_s:
        return own
    passed = track.at(when)
    return float(passed.lon_deg[0]), float(passed.lat_deg[0])


def _station(mark: Mapping[str, Any]) -> str:
    """The station that a mark says; a mile marker's number may stand in its note."""
    said = str(mark["said_station"])
    if not said and _KINDS[str(mark["kind"])] == MILE_MARKER:
        number = _NUMBER.search(str(mark["note"]).strip())
        return number[0] if number else ""
    return said


def _tie(mark: Mapping[str, Any], tracks: Mapping[str, Track], defaults: Defaults) -> TieSettings:
    lon_deg, lat_deg = _place_deg(mark, tracks, defaults)
    by = (str(mark[name]) for name in ("words", "by", "source"))
    return TieSettings(
        station=_station(mark),
        lon_deg=lon_deg,
        lat_deg=lat_deg,
        kind=_KINDS[str(mark["kind"])],
        by=", ".join(part for part in by if part),
    )


def _leg_of(
    tie: TieSettings, lines: Mapping[str, Centerline], defaults: Defaults
) -> tuple[str, str]:
    """The leg that a mark stands on, or empty with the reason."""
    lon_deg, lat_deg = np.array([tie.lon_deg]), np.array([tie.lat_deg])
    near = sorted(
        (float(locate(line, lon_deg, lat_deg).distance_m[0]), code) for code, line in lines.items()
    )
    distance_m, code = near[0]
    if distance_m > defaults.road_corridor_m:
        return "", f"it is {distance_m:,.0f} m from leg {code}, the nearest"
    if len(near) > 1 and near[1][0] <= distance_m + defaults.runner_up_within_m:
        other_m, other = near[1]
        return "", (
            f"leg {code} is {distance_m:,.0f} m from it and leg {other} {other_m:,.0f} m: say with "
            "leg which one is meant"
        )
    return code, ""


def _why_not(tie: TieSettings, said_leg: str, lines: Mapping[str, Centerline]) -> str:
    """Why a mark ties nothing, whatever leg it is on; empty when it may."""
    if not tie.station:
        return "its station is not said: write it down as it stands there"
    if said_leg and said_leg not in lines:
        return f"its leg {said_leg!r} is none of {', '.join(lines)}"
    if not (math.isfinite(tie.lon_deg) and math.isfinite(tie.lat_deg)):
        return "it has no place"
    return ""


def stakes_of(
    marks: pd.DataFrame,
    tracks: Mapping[str, Track],
    lines: Mapping[str, Centerline],
    defaults: Defaults,
) -> tuple[dict[str, list[Stake]], tuple[Finding, ...]]:
    """Give each mark that says a station to its leg, or say why it ties nothing.

    Its leg is the one it says, else the nearest when that is plain.

    Parameters
    ----------
    marks
        Table of marks.
    tracks
        Drive id to its track, for drives that have times.
    lines
        Leg code to its line.
    defaults
        The tolerances.
    """
    stakes: dict[str, list[Stake]] = {code: [] for code in lines}
    found = []
    saying = marks[marks["kind"].isin(list(_KINDS))].drop_duplicates("mark_id")
    for mark in rows_of(saying.sort_values("mark_id")):
        tie, code = _tie(mark, tracks, defaults), str(mark["said_leg"])
        why = _why_not(tie, code, lines)
        if not (why or code):
            code, why = _leg_of(tie, lines, defaults)
        if why:
            text = f"{tie.by}: ties no stations, {why}"
            found.append(Finding(level="doubt", where=str(mark["source"]), text=text))
        else:
            from_vehicle = mark["method"] == "vehicle"
            stakes[code].append(Stake(tie=tie, from_vehicle=from_vehicle))
    return stakes, tuple(found)
