"""Where and when each mark was, before it is put on a leg.

In go marks, cleaned fixes and the drives' paths, out comes a ``Spot`` a mark.  A mark from a
vehicle is placed by its time on the drive, less the usual lateness of a tap; its leg and
direction come from the drive's path.  Without a time on a drive its own position is all there is.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from routeprep.driven import RADIUS_68_IN_SDS
from routeprep.drives import seconds_of
from routeprep.geodesy import segment_lengths_m
from routeprep.matching import Path, where_at
from routeprep.shapes import Defaults
from routeprep.tables import rows_of

__all__ = ["Spot", "spots_of"]

# Speed at a mark is taken over this long either side of it [s].  Common practice, no source.
_SPEED_S = 2.0


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


class _Track:
    """One drive's fixes as arrays, to be asked where it was at a time."""

    def __init__(self, fixes: pd.DataFrame, path: Path) -> None:
        self.path = path
        self.seconds = seconds_of(fixes["time_utc"])
        self.lon_deg = fixes["lon_deg"].to_numpy()
        self.lat_deg = fixes["lat_deg"].to_numpy()
        self.accuracy_m = fixes["accuracy_m"].to_numpy()
        self.piece = fixes["piece"].to_numpy()

    def away_s(self, seconds: float) -> float:
        """How long before or after the nearest fix a time lies; 0 within a piece [s]."""
        after = int(np.searchsorted(self.seconds, seconds))
        near = [k for k in (after - 1, after) if 0 <= k < len(self.seconds)]
        if len(near) == 2 and self.piece[near[0]] == self.piece[near[1]]:  # noqa: PLR2004
            return 0.0
        return min(abs(float(self.seconds[k]) - seconds) for k in near)

    def drift_m(self, seconds: float) -> float:
        """How far the vehicle may have gone since the nearest fix; 0 within a piece [m]."""
        away_s = self.away_s(seconds)
        if away_s == 0.0:
            return 0.0
        nearest = int(np.argmin(np.abs(self.seconds - seconds)))
        return away_s * self.speed_mps(float(self.seconds[nearest]))

    def at(self, seconds: float) -> tuple[float, float]:
        """Longitude and latitude [deg] at a time."""
        lon = np.interp(seconds, self.seconds, self.lon_deg)
        lat = np.interp(seconds, self.seconds, self.lat_deg)
        return float(lon), float(lat)

    def speed_mps(self, seconds: float) -> float:
        """Speed around a time [m/s]."""
        low = max(seconds - _SPEED_S, float(self.seconds[0]))
        high = min(seconds + _SPEED_S, float(self.seconds[-1]))
        if high <= low:
            return 0.0
        return _apart_m(self.at(low), self.at(high)) / (high - low)

    def radius_m(self, seconds: float, default_m: float) -> float:
        """Accuracy that the device reported at a time, or the default [m]."""
        after = min(int(np.searchsorted(self.seconds, seconds)), len(self.seconds) - 1)
        reported = float(self.accuracy_m[after])
        return reported if math.isfinite(reported) else default_m


def _apart_m(one: tuple[float, float], other: tuple[float, float]) -> float:
    lon, lat = np.array([one[0], other[0]]), np.array([one[1], other[1]])
    return float(segment_lengths_m(lon, lat, elevation_m=0.0)[0])


def _spot_by_time(
    mark: Mapping[str, Any], seconds: float, track: _Track, defaults: Defaults
) -> Spot:
    """Where the vehicle was when the thing passed: the tap less its usual lateness."""
    when = seconds - defaults.tap_late_s
    leg, near_m, travel = where_at(track.path, when)
    place = track.at(when)
    radius_m = track.radius_m(when, defaults.phone_accuracy_m)
    doubts = []
    tap = (float(mark["lon_deg"]), float(mark["lat_deg"]))
    if math.isfinite(tap[0]) and _apart_m(tap, track.at(seconds)) > defaults.tap_disagrees_m:
        doubts.append("order disagrees with the drive")
    if radius_m > defaults.poor_accuracy_m:
        doubts.append("poor accuracy")
    return Spot(
        lon_deg=place[0],
        lat_deg=place[1],
        sd_m=radius_m / RADIUS_68_IN_SDS,
        late_sd_m=math.hypot(track.speed_mps(when) * defaults.tap_late_sd_s, track.drift_m(when)),
        by_time=True,
        leg=leg,
        near_m=near_m,
        travel=travel,
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


def _by_time(mark: Mapping[str, Any], seconds: float, track: _Track, defaults: Defaults) -> bool:
    """Whether the drive knows the place better than the tap's own position does."""
    when = seconds - defaults.tap_late_s
    if not track.away_s(when) <= defaults.fix_near_mark_s:
        return False
    return track.drift_m(when) <= defaults.tap_untimed_sd_m or math.isnan(mark["lon_deg"])


def _track_of(
    mark: Mapping[str, Any], seconds: float, tracks: Mapping[str, _Track], defaults: Defaults
) -> _Track | None:
    """The drive a vehicle's mark was made on: named, or the only one recorded at its time."""
    if mark["method"] != "vehicle":
        return None
    if mark["drive_id"]:
        return tracks.get(str(mark["drive_id"]))
    when = seconds - defaults.tap_late_s
    near = [one for one in tracks.values() if one.away_s(when) <= defaults.fix_near_mark_s]
    return near[0] if len(near) == 1 else None


def spots_of(
    marks: pd.DataFrame, fixes: pd.DataFrame, paths: Mapping[str, Path], defaults: Defaults
) -> list[Spot]:
    """Where each mark was.

    Parameters
    ----------
    marks
        Table of marks.
    fixes
        Cleaned fixes.
    paths
        Drive id to its path on the legs.
    defaults
        The tolerances.
    """
    tracks = {
        str(drive_id): _Track(drive, paths[str(drive_id)])
        for drive_id, drive in fixes.groupby("drive_id", sort=True)
        if str(drive_id) in paths
    }
    spots = []
    for mark, seconds in zip(rows_of(marks), seconds_of(marks["time_utc"]), strict=True):
        track = _track_of(mark, float(seconds), tracks, defaults)
        if track is not None and _by_time(mark, float(seconds), track, defaults):
            spots.append(_spot_by_time(mark, float(seconds), track, defaults))
        else:
            spots.append(_spot_by_place(mark, defaults))
    return spots
