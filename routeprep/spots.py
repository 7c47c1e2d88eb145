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
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd

from routeprep.drives import seconds_of
from routeprep.geodesy import segment_lengths_m
from routeprep.matching import Path, where_at
from routeprep.shapes import Defaults
from routeprep.spreads import RADIUS_68_IN_SDS
from routeprep.tables import rows_of
from routeprep.tracks import Track

__all__ = ["Spot", "spots_of"]

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """Where and when one thing was, before it is put on a leg.

    Attributes
    ----------
    lon_deg, lat_deg
        Its place [deg]; NaN when there is none.
    sd_m, late_sd_m
        Standard deviation of one axis of the place [m], and along the road by lateness [m].
    own_sd_m
        The part of the deviation along that no other mark of the person shares [m].
    person
        Whose lateness was taken off: who the mark or its drive names, else the drive.
    speed_mps, late_m
        How fast the thing was passed [m/s], and how far the place was moved back [m].
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
    own_sd_m: float
    person: str
    speed_mps: float
    late_m: float
    by_time: bool
    leg: int
    near_m: float
    travel: int
    doubts: tuple[str, ...]


class _Passed(NamedTuple):
    """Where a drive was when a thing was passed, and when it was tapped."""

    seconds: float
    lon_deg: float
    lat_deg: float
    sd_m: float
    speed_mps: float
    away_s: float
    tap_lon_deg: float
    tap_lat_deg: float

    def tap_away_m(self, lon_deg: float, lat_deg: float) -> float:
        """How far the tap's own position is from where the drive was at the tap [m]."""
        lon = np.array([lon_deg, self.tap_lon_deg])
        lat = np.array([lat_deg, self.tap_lat_deg])
        return float(segment_lengths_m(lon, lat, elevation_m=0.0)[0])


def _passings(track: Track, seconds: Floats, late_s: Floats) -> list[_Passed]:
    """Where a drive was at many taps, asked together."""
    passed_s = seconds - late_s
    passed, tapped = track.at(passed_s), track.at(seconds)
    columns = (
        passed_s, passed.lon_deg, passed.lat_deg, passed.sd_m, passed.speed_mps,
        track.away_s(passed_s), tapped.lon_deg, tapped.lat_deg,
    )  # fmt: skip
    return [_Passed(*row) for row in np.column_stack(columns).tolist()]


def _spot_by_time(mark: Mapping[str, Any], passed: _Passed, path: Path, defaults: Defaults) -> Spot:
    """Where the vehicle was when the thing passed, or the walker when it was tapped."""
    leg, near_m, travel = where_at(path, passed.seconds)
    doubts = []
    tap = (float(mark["lon_deg"]), float(mark["lat_deg"]))
    if math.isfinite(tap[0]) and passed.tap_away_m(*tap) > defaults.tap_disagrees_m:
        doubts.append("order disagrees with the drive")
    if passed.sd_m * RADIUS_68_IN_SDS > defaults.poor_accuracy_m:
        doubts.append("poor accuracy")
    vehicle = mark["method"] == "vehicle"
    return Spot(
        lon_deg=passed.lon_deg,
        lat_deg=passed.lat_deg,
        sd_m=passed.sd_m,
        late_sd_m=passed.speed_mps * defaults.tap_late_sd_s if vehicle else 0.0,
        own_sd_m=math.hypot(passed.sd_m, passed.speed_mps * defaults.tap_spread_s * vehicle),
        person=(str(mark["by"]) or str(mark["drive_id"])) if vehicle else "",
        speed_mps=passed.speed_mps,
        late_m=passed.speed_mps * defaults.tap_late_s if vehicle else 0.0,
        by_time=True,
        leg=leg,
        near_m=near_m,
        travel=travel if vehicle else 0,
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
        own_sd_m=math.hypot(
            radius_m / RADIUS_68_IN_SDS, defaults.tap_untimed_sd_m if vehicle else 0.0
        ),
        person="",
        speed_mps=math.nan,
        late_m=0.0,
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


def _drives_of(
    marks: pd.DataFrame, passed_s: Floats, tracks: Mapping[str, Track], defaults: Defaults
) -> npt.NDArray[np.object_]:
    """The drive of each mark: named, or for a vehicle the only one recorded at its time."""
    timed, drive_id = np.isfinite(passed_s), marks["drive_id"].to_numpy(dtype=object)
    found = np.where(timed & np.isin(drive_id, list(tracks)), drive_id, "")
    unnamed = (marks["method"] == "vehicle").to_numpy() & (drive_id == "")
    rows = np.flatnonzero(timed & unnamed)
    near = {
        key: track.away_s(passed_s[rows]) <= defaults.fix_near_mark_s
        for key, track in tracks.items()
    }
    once = np.sum(list(near.values()), axis=0) == 1
    for key, here in near.items():
        found[rows[here & once]] = key
    return found


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
    rows, seconds = rows_of(marks), seconds_of(marks["time_utc"])
    late_s = np.where(marks["method"] == "vehicle", defaults.tap_late_s, 0.0)
    drives = _drives_of(marks, seconds - late_s, tracks, defaults)
    spots = [_spot_by_place(mark, defaults) for mark in rows]
    for drive_id, track in tracks.items():
        own = np.flatnonzero(drives == drive_id)
        passings = _passings(track, seconds[own], late_s[own])
        for row, passed in zip(own.tolist(), passings, strict=True):
            if _by_time(rows[row], passed, defaults):
                spots[row] = _spot_by_time(rows[row], passed, paths[drive_id], defaults)
    return spots
