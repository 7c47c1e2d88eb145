"""Marks and records onto the legs, with every reason for doubt.

In go marks, records, cleaned fixes and the drives' paths, out come the same tables with
``tables.LOCATED`` added.  A mark from a vehicle is placed by its time on the drive, less the
usual lateness of a tap; its leg and direction come from the drive's path, so time and course
come before position.  Nothing clamps and no leg is chosen in silence.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
import shapely

from routeprep import tables
from routeprep.across import turn
from routeprep.driven import RADIUS_68_IN_SDS
from routeprep.drives import seconds_of
from routeprep.geodesy import segment_lengths_m
from routeprep.kinds import KindTable
from routeprep.locating import locate, locate_near, runners_up
from routeprep.matching import Path, where_at
from routeprep.shapes import Defaults, Leg
from routeprep.tables import rows_of

__all__ = ["locate_marks", "locate_records"]

Floats = npt.NDArray[np.float64]

# A mark's place is looked for this far along from where the drive's path has it [m].
_WINDOW_M = 40.0
# Length of an even spread in its standard deviations.
_UNIFORM = math.sqrt(12.0)
# Speed at a mark is taken over this long either side of it [s].
_SPEED_S = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Spot:
    """Where and when one thing was, before it is put on a leg."""

    lon_deg: float
    lat_deg: float
    sd_m: float
    late_sd_m: float
    by_time: bool
    leg: int
    near_m: float
    travel: int
    doubts: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Place:
    """One thing on one leg."""

    leg: int
    along_m: float
    offset_m: float
    past_end_m: float
    distance_m: float
    runner_up_m: float
    near_tie: bool


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
) -> _Spot:
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
    return _Spot(
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


def _spot_by_place(mark: Mapping[str, Any], defaults: Defaults) -> _Spot:
    """The mark's own position: all there is without a time on a drive."""
    reported = float(mark["accuracy_m"])
    radius_m = reported if math.isfinite(reported) else defaults.phone_accuracy_m
    vehicle = mark["method"] == "vehicle"
    doubts = ["no time"] if vehicle else []
    if radius_m > defaults.poor_accuracy_m:
        doubts.append("poor accuracy")
    return _Spot(
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


def _spots(marks: pd.DataFrame, tracks: Mapping[str, _Track], defaults: Defaults) -> list[_Spot]:
    spots = []
    for mark, seconds in zip(rows_of(marks), seconds_of(marks["time_utc"]), strict=True):
        track = _track_of(mark, float(seconds), tracks, defaults)
        if track is not None and _by_time(mark, float(seconds), track, defaults):
            spots.append(_spot_by_time(mark, float(seconds), track, defaults))
        else:
            spots.append(_spot_by_place(mark, defaults))
    return spots


def _on_leg(leg: Leg, spots: Sequence[_Spot], defaults: Defaults) -> "dict[str, Floats]":
    """Best place and runner-up of every spot on one leg."""
    lon = np.array([spot.lon_deg for spot in spots])
    lat = np.array([spot.lat_deg for spot in spots])
    best = locate(leg.line, lon, lat)
    other_m = runners_up(
        leg.line,
        lon,
        lat,
        best,
        within_m=defaults.runner_up_within_m,
        apart_m=defaults.runner_up_apart_m,
    )
    return {
        "along_m": best.along_m,
        "offset_m": best.offset_m,
        "past_end_m": best.past_end_m,
        "distance_m": best.distance_m,
        "runner_up_m": other_m,
    }


def _settled(leg: Leg, number: int, spots: Sequence[_Spot]) -> list[_Place]:
    """Places on one leg, each near the distance that the drive's path gives."""
    near = locate_near(
        leg.line,
        np.array([spot.lon_deg for spot in spots]),
        np.array([spot.lat_deg for spot in spots]),
        near_m=np.array([spot.near_m for spot in spots]),
        window_m=_WINDOW_M,
    )
    columns = (near.along_m, near.offset_m, near.past_end_m, near.distance_m)
    return [
        _Place(
            leg=number,
            along_m=along_m,
            offset_m=offset_m,
            past_end_m=past_end_m,
            distance_m=distance_m,
            runner_up_m=math.nan,
            near_tie=False,
        )
        for along_m, offset_m, past_end_m, distance_m in np.column_stack(columns).tolist()
    ]


def _nearest(found: "Sequence[dict[str, Floats]]", row: int, defaults: Defaults) -> _Place:
    """The nearest leg, with a near tie when another leg or another part is nearly as near."""
    order = sorted(range(len(found)), key=lambda leg: (float(found[leg]["distance_m"][row]), leg))
    leg = order[0]
    here = {name: float(values[row]) for name, values in found[leg].items()}
    tie = math.isfinite(here["runner_up_m"])
    if len(order) > 1:
        second_m = float(found[order[1]]["distance_m"][row])
        tie = tie or second_m <= here["distance_m"] + defaults.runner_up_within_m
    return _Place(leg=leg, near_tie=tie, **here)


def _places(spots: Sequence[_Spot], legs: Sequence[Leg], defaults: Defaults) -> list[_Place]:
    places: dict[int, _Place] = {}
    for number, leg in enumerate(legs):
        rows = [row for row, spot in enumerate(spots) if spot.leg == number]
        places |= zip(rows, _settled(leg, number, [spots[row] for row in rows]), strict=True)
    free = [row for row in range(len(spots)) if row not in places]
    found = [_on_leg(leg, [spots[row] for row in free], defaults) for leg in legs]
    places |= {row: _nearest(found, place, defaults) for place, row in enumerate(free)}
    return [places[row] for row in range(len(spots))]


def _doubts(spot: _Spot, place: _Place, *, far: bool) -> list[str]:
    """Every reason but the lane why a person should look at a place."""
    doubts = list(spot.doubts)
    if spot.by_time and spot.leg < 0 and "order disagrees with the drive" not in doubts:
        # The drive was not on this leg when the mark was made: a cross street, or a yard.
        doubts.append("order disagrees with the drive")
    if place.near_tie:
        doubts.append("near tie")
    if place.past_end_m > 0:
        doubts.append("past an end")
    if far:
        doubts.append("far from the road")
    return doubts


def _row(
    mark: Mapping[str, Any], spot: _Spot, place: _Place, legs: Sequence[Leg], defaults: Defaults
) -> dict[str, Any]:
    """The located columns of one mark."""
    if not math.isfinite(place.along_m):
        return {"travel": 0, "doubt": "no place and no time"}
    leg = legs[place.leg]
    far = place.distance_m > defaults.road_corridor_m
    doubts = _doubts(spot, place, far=far)
    lateral = turn(
        str(mark["across"]), frame=str(mark["across_frame"]), travel=spot.travel, leg=leg.settings
    )
    if not lateral.sure:
        doubts.append("lane not sure")
    here = int(np.clip(np.searchsorted(leg.line.along_m, place.along_m), 0, len(leg.line.sd_m) - 1))
    line_sd_m = float(leg.line.sd_m[here])
    said = math.isfinite(lateral.offset_m)
    # Where nobody said, a vehicle's own offset tells no more than that it was on the road.
    lanes = leg.settings.lanes_left + leg.settings.lanes_right
    road_sd_m = lanes * leg.settings.lane_width_m / _UNIFORM if mark["method"] == "vehicle" else 0.0
    return {
        "leg": "" if far else leg.settings.code,
        "along_m": place.along_m,
        "from_m": place.along_m,
        "to_m": place.along_m,
        "offset_m": lateral.offset_m if said else place.offset_m,
        "along_sd_m": math.hypot(spot.sd_m, spot.late_sd_m),
        "offset_sd_m": lateral.offset_sd_m if said else math.hypot(spot.sd_m, line_sd_m, road_sd_m),
        "travel": spot.travel,
        "lane": lateral.lane,
        "position": lateral.position,
        "past_end_m": place.past_end_m,
        "runner_up_m": place.runner_up_m,
        "doubt": "; ".join(doubts) if not far else _far_words(place, leg, doubts),
    }


def _with_usual(mark: Mapping[str, Any], kinds: KindTable) -> dict[str, Any]:
    """The mark with where its kind usually lies across, when nobody said."""
    kind = kinds.kinds.get(mark["kind"])
    return {**mark, "across": mark["across"] or (kind.across if kind else "")}


def _far_words(place: _Place, leg: Leg, doubts: list[str]) -> str:
    """Why a thing that lies on no leg does not."""
    words = f"{place.distance_m:.0f} m from leg {leg.settings.code}"
    if place.past_end_m > 0:
        words += f", {place.past_end_m:.0f} m past an end"
    return "; ".join([*doubts, words])


def _with(frame: pd.DataFrame, rows: list[dict[str, Any]]) -> pd.DataFrame:
    located = tables.table(tables.LOCATED, rows)
    located.index = frame.index
    return pd.concat([frame, located], axis=1)


def locate_marks(
    marks: pd.DataFrame,
    fixes: pd.DataFrame,
    paths: Mapping[str, Path],
    legs: Sequence[Leg],
    *,
    kinds: KindTable,
    defaults: Defaults,
) -> pd.DataFrame:
    """Put every mark on a leg, or say why it is on none (``leg`` empty, ``doubt`` says why).

    Where nobody said where across, what usually spans the road is taken to span it.

    Parameters
    ----------
    marks
        Table of marks.
    fixes
        Cleaned fixes.
    paths
        Drive id to its path on the legs.
    legs
        The job's legs.
    kinds
        The job's kinds, for what usually spans the road.
    defaults
        The tolerances.
    """
    tracks = {
        str(drive_id): _Track(drive, paths[str(drive_id)])
        for drive_id, drive in fixes.groupby("drive_id", sort=True)
        if str(drive_id) in paths
    }
    spots = _spots(marks, tracks, defaults)
    places = _places(spots, legs, defaults)
    rows = [
        _row(_with_usual(mark, kinds), spot, place, legs, defaults)
        for mark, spot, place in zip(rows_of(marks), spots, places, strict=True)
    ]
    return _with(marks, rows)


def locate_records(
    records: pd.DataFrame, legs: Sequence[Leg], *, kinds: KindTable, defaults: Defaults
) -> pd.DataFrame:
    """Put every record on a leg, or say how far from one it is.

    Lines and polygons are placed by a point in their middle and reach from their first to their
    last vertex along the leg; across it they count as spread evenly over their vertices.  A file
    rarely says which lane, and its own shift is not known: *lane not sure*.

    Parameters
    ----------
    records
        Table of records.
    legs
        The job's legs.
    kinds
        The job's kinds, for what usually spans the road.
    defaults
        The tolerances.
    """
    points = [geometry.representative_point() for geometry in records["geometry"]]
    blank = _Spot(
        lon_deg=0.0, lat_deg=0.0, sd_m=defaults.record_sd_m, late_sd_m=0.0, by_time=False,
        leg=-1, near_m=math.nan, travel=0, doubts=(),
    )  # fmt: skip
    spots = [replace(blank, lon_deg=point.x, lat_deg=point.y) for point in points]
    places = _places(spots, legs, defaults)
    said = {"across": "", "across_frame": "up-station", "method": "file"}
    rows = [
        _row(_with_usual(said | {"kind": kind}, kinds), spot, place, legs, defaults)
        for kind, spot, place in zip(records["kind"], spots, places, strict=True)
    ]
    for row, place, geometry in zip(rows, places, records["geometry"], strict=True):
        if row.get("leg") and shapely.get_num_coordinates(geometry) > 1:
            vertices = shapely.get_coordinates(geometry)
            reach = locate(legs[place.leg].line, vertices[:, 0], vertices[:, 1])
            row["from_m"], row["to_m"] = float(reach.along_m.min()), float(reach.along_m.max())
            spread_m = float(np.ptp(reach.offset_m)) / _UNIFORM
            row["offset_sd_m"] = math.hypot(row["offset_sd_m"], spread_m)
    return _with(records, rows)
