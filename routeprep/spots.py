"""Where and when each mark was, before it is put on a leg.

In go marks, the drives' tracks and their paths, out comes a ``Spot`` a mark.  A mark is placed by
its time on its drive, one from a vehicle less the usual lateness of a tap; its leg and the
vehicle's direction come from the drive's path.  A walker may go on either side and look either
way: which way he went says nothing.  Without a time on a drive a mark's own position is all there
is.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from routeprep.drives import seconds_of
from routeprep.geodesy import segment_lengths_m
from routeprep.matching import Path, where_at
from routeprep.noise import RADIUS_68_IN_SDS
from routeprep.shapes import Defaults
from routeprep.tables import rows_of
from routeprep.tracks import Track

__all__ = ["Spot", "spots_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """Where and when one thing was, before it is put on a leg.

    Attributes
    ----------
    lon_deg, lat_deg
        Its place [deg]; NaN when there is none.
    sd_m, late_sd_m
        Standard deviation of one axis of the place [m], and along the road by lateness [m].
    by_time
        Whether the drive's place at its time was taken.
    leg, near_m, travel
        What the drive's path says: index of the leg (-1 none), distance along it [m], direction.
    doubts
        Why a person should look at it.
    """

    lon_deg: float
    lat_deg: float
    sd_m: float
    late_sd_m: float
    by_time: bool
    leg: int
    near_m: float
    travel: int
    doubts: tuple[str, ...]


class _Passed:
    """Where a drive was when a thing was passed, and when it was tapped."""

    def __init__(self, track: Track, seconds: float, late_s: float) -> None:
        both = np.array([seconds - late_s, seconds])
        states = track.at(both)
        self.lon_deg, self.tap_lon_deg = states.lon_deg.tolist()
        self.lat_deg, self.tap_lat_deg = states.lat_deg.tolist()
        self.sd_m = float(states.sd_m[0])
        self.speed_mps = float(states.speed_mps[0])
        self.away_s = float(track.away_s(both)[0])

    def tap_away_m(self, lon_deg: float, lat_deg: float) -> float:
        """How far the tap's own position is from where the drive was at the tap [m]."""
        lon = np.array([lon_deg, self.tap_lon_deg])
        lat = np.array([lat_deg, self.tap_lat_deg])
        return float(segment_lengths_m(lon, lat, elevation_m=0.0)[0])


def _spot_by_time(
    mark: Mapping[str, Any], passed: _Passed, path: Path, when: float, defaults: Defaults
) -> Spot:
    """Where the vehicle was when the thing passed, or the walker when it was tapped."""
    leg, near_m, travel = where_at(path, when)
    doubts = []
    tap = (float(mark["lon_deg"]), float(mark["lat_deg"]))
    if math.isfinite(tap[0]) and passed.tap_away_m(*tap) > defaults.tap_disagrees_m:
        doubts.append("order disagrees with the drive")
    if passed.sd_m * RADIUS_68_IN_SDS > defaults.poor_accuracy_m:
        doubts.append("poor accuracy")
    return Spot(
        lon_deg=passed.lon_deg,
        lat_deg=passed.lat_deg,
        sd_m=passed.sd_m,
        late_sd_m=passed.speed_mps * defaults.tap_late_sd_s,
        by_time=True,
        leg=leg,
        near_m=near_m,
        travel=travel if mark["method"] == "vehicle" else 0,
        doubts=tuple(doubts),
    )


def _spot_by_place(mark: Mapping[str, Any], defaults: Defaults) -> Spot:
    """The mark's own position: all there is without a time on a drive."""
    reported = float(mark["accuracy_m"])
    radius_m = reported if math.isfinite(reported) else defaults.phone_accuracy_m
    vehicle = mark["method"] == "vehicle"
    doubts = ["no time"] if vehicle else []
    if radius_m > defaults.poor_accuracy_m:
        doubts.append("poor accuracy")
    return Spot(
        lon_deg=float(mark["lon_deg"]),
        lat_deg=float(mark["lat_deg"]),
        sd_m=radius_m / RADIUS_68_IN_SDS,
        late_sd_m=defaults.tap_untimed_sd_m if vehicle else 0.0,
        by_time=False,
        leg=-1,
        near_m=math.nan,
        travel=0,
        doubts=tuple(doubts),
    )


def _by_time(mark: Mapping[str, Any], passed: _Passed, defaults: Defaults) -> bool:
    """Whether the drive knows the place better than the tap's own position does."""
    if not passed.away_s <= defaults.fix_near_mark_s:
        return False
    drift_m = passed.away_s * passed.speed_mps
    return drift_m <= defaults.tap_untimed_sd_m or math.isnan(mark["lon_deg"])


def _drive_of(
    mark: Mapping[str, Any], when: float, tracks: Mapping[str, Track], defaults: Defaults
) -> str:
    """The drive a mark was made on: named, or for a vehicle the only one recorded at its time."""
    if math.isnan(when):
        return ""
    if mark["drive_id"] or mark["method"] != "vehicle":
        return str(mark["drive_id"]) if mark["drive_id"] in tracks else ""
    near = [
        drive_id
        for drive_id, track in tracks.items()
        if track.away_s(np.array([when]))[0] <= defaults.fix_near_mark_s
    ]
    return near[0] if len(near) == 1 else ""


def spots_of(
    marks: pd.DataFrame,
    tracks: Mapping[str, Track],
    paths: Mapping[str, Path],
    defaults: Defaults,
) -> list[Spot]:
    """Where each mark was.

    Parameters
    ----------
    marks
        Table of marks.
    tracks
        Drive id to its track, for drives that have times.
    paths
        Drive id to its path on the legs, for the same drives.
    defaults
        The tolerances.
    """
    spots = []
    for mark, seconds in zip(rows_of(marks), seconds_of(marks["time_utc"]).tolist(), strict=True):
        late_s = defaults.tap_late_s if mark["method"] == "vehicle" else 0.0
        when = seconds - late_s
        drive_id = _drive_of(mark, when, tracks, defaults)
        passed = _Passed(tracks[drive_id], seconds, late_s) if drive_id else None
        if passed is not None and _by_time(mark, passed, defaults):
            spots.append(_spot_by_time(mark, passed, paths[drive_id], when, defaults))
        else:
            spots.append(_spot_by_place(mark, defaults))
    return spots
