"""Marks and records onto the legs, with every reason for doubt.

In go marks, records, the drives' tracks and their paths, out come the same tables with
``tables.LOCATED`` added.  The leg and direction of a mark come from the drive's path, so time and
course come before position.  Nothing clamps and no leg is chosen in silence.
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
from routeprep.kinds import KindTable
from routeprep.locating import locate, locate_near, runners_up
from routeprep.matching import Path
from routeprep.shapes import Defaults, Leg
from routeprep.spots import Spot, spots_of
from routeprep.spreads import UNIFORM_IN_SDS
from routeprep.tables import rows_of
from routeprep.tracks import Track
from routeprep.walked import SaidPlace, lateral_of, said_places

__all__ = ["locate_marks", "locate_records"]

Floats = npt.NDArray[np.float64]

# A mark's place is looked for this far along from where the drive's path has it [m].  Common
# practice, no source.
_WINDOW_M = 40.0


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


def _on_leg(leg: Leg, spots: Sequence[Spot], defaults: Defaults) -> "dict[str, Floats]":
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


def _settled(leg: Leg, number: int, spots: Sequence[Spot]) -> list[_Place]:
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


def _places(spots: Sequence[Spot], legs: Sequence[Leg], defaults: Defaults) -> list[_Place]:
    places: dict[int, _Place] = {}
    for number, leg in enumerate(legs):
        rows = [row for row, spot in enumerate(spots) if spot.leg == number]
        places |= zip(rows, _settled(leg, number, [spots[row] for row in rows]), strict=True)
    free = [row for row in range(len(spots)) if row not in places]
    found = [_on_leg(leg, [spots[row] for row in free], defaults) for leg in legs]
    places |= {row: _nearest(found, place, defaults) for place, row in enumerate(free)}
    return [places[row] for row in range(len(spots))]


def _doubts(spot: Spot, place: _Place, *, far: bool) -> list[str]:
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
    mark: Mapping[str, Any], spot: Spot, place: _Place, legs: Sequence[Leg], defaults: Defaults
) -> dict[str, Any]:
    """The located columns of one mark."""
    if not math.isfinite(place.along_m):
        return {"travel": 0, "doubt": _lost_words(mark)}
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
    road_sd_m = (
        lanes * leg.settings.lane_width_m / UNIFORM_IN_SDS if mark["method"] == "vehicle" else 0.0
    )
    return {
        "leg": "" if far else leg.settings.code,
        "along_m": place.along_m,
        "from_m": place.along_m,
        "to_m": place.along_m,
        "offset_m": lateral.offset_m if said else place.offset_m,
        "along_sd_m": math.hypot(spot.sd_m, spot.late_sd_m),
        "offset_sd_m": lateral.offset_sd_m if said else math.hypot(spot.sd_m, line_sd_m, road_sd_m),
        "travel": spot.travel,
        "person": spot.person,
        "speed_mps": spot.speed_mps,
        "late_m": spot.late_m,
        "own_sd_m": spot.own_sd_m,
        "lane": lateral.lane,
        "position": lateral.position,
        "past_end_m": place.past_end_m,
        "runner_up_m": place.runner_up_m,
        "doubt": "; ".join(doubts) if not far else _far_words(place, leg, doubts),
    }


def _lost_words(mark: Mapping[str, Any]) -> str:
    """Why a mark without a place has none."""
    if mark.get("said_station") and mark["method"] == "vehicle":
        return (
            f"said station {mark['said_station']}, but not whether it was walked, wheeled or taped"
        )
    return "no place and no time"


def _said_row(mark: Mapping[str, Any], said: SaidPlace, leg: Leg) -> dict[str, Any]:
    """The located columns of a mark that lies where it says that it does."""
    lateral = lateral_of(mark, said, leg.settings)
    offset_m, offset_sd_m = lateral.offset_m, lateral.offset_sd_m
    if math.isnan(offset_m):
        offset_m, offset_sd_m = said.offset_m, said.offset_sd_m
    if math.isnan(offset_m):
        # Nobody said and nobody stood there: anywhere on the road.
        road = turn("whole road", frame="up-station", travel=0, leg=leg.settings)
        offset_m, offset_sd_m = road.offset_m, road.offset_sd_m
    return {
        "leg": leg.settings.code,
        "along_m": said.along_m,
        "from_m": said.from_m,
        "to_m": said.to_m,
        "offset_m": offset_m,
        "along_sd_m": said.along_sd_m,
        "offset_sd_m": offset_sd_m,
        "travel": 0,
        "own_sd_m": said.along_sd_m,
        "lane": lateral.lane,
        "position": lateral.position,
        "past_end_m": said.past_end_m,
        "doubt": "; ".join([*said.doubts, *([] if lateral.sure else ["lane not sure"])]),
    }


def _with_doubts(row: dict[str, Any], said: SaidPlace | None) -> dict[str, Any]:
    """A row placed without its station, with the reason first; that alone when it has no place."""
    if said is None:
        return row
    doubts = [*said.doubts, *([str(row["doubt"])] if "along_m" in row and row["doubt"] else [])]
    return row | {"doubt": "; ".join(doubts)}


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
    tracks: Mapping[str, Track],
    paths: Mapping[str, Path],
    legs: Sequence[Leg],
    *,
    kinds: KindTable,
    defaults: Defaults,
) -> pd.DataFrame:
    """Put every mark on a leg, or say why it is on none (``leg`` empty, ``doubt`` says why).

    A mark of a person on foot that says its station lies there; one whose station is no place
    lies at its own position.  Where nobody said where across, what usually spans the road is
    taken to span it.

    Parameters
    ----------
    marks
        Table of marks.
    tracks
        Drive id to its track, for drives that have times.
    paths
        Drive id to its path on the legs.
    legs
        The job's legs.
    kinds
        The job's kinds, for what usually spans the road.
    defaults
        The tolerances.
    """
    spots = spots_of(marks, tracks, paths, defaults)
    places = _places(spots, legs, defaults)
    said = said_places(marks, legs, defaults)
    rows = []
    for bare, spot, place in zip(rows_of(marks), spots, places, strict=True):
        mark, own = _with_usual(bare, kinds), said.get(str(bare["mark_id"]))
        if own is not None and own.leg >= 0:
            rows.append(_said_row(mark, own, legs[own.leg]))
        else:
            rows.append(_with_doubts(_row(mark, spot, place, legs, defaults), own))
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
    blank = Spot(
        lon_deg=0.0, lat_deg=0.0, sd_m=defaults.record_sd_m, late_sd_m=0.0,
        own_sd_m=defaults.record_sd_m, person="", speed_mps=math.nan, late_m=0.0, by_time=False,
        leg=-1, near_m=math.nan, travel=0, doubts=(),
    )  # fmt: skip
    sds_m = defaults.record_sd_m + np.nan_to_num(records["datum_sd_m"].to_numpy())
    spots = [
        replace(blank, lon_deg=point.x, lat_deg=point.y, sd_m=sd_m, own_sd_m=sd_m)
        for point, sd_m in zip(points, sds_m.tolist(), strict=True)
    ]
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
            spread_m = float(np.ptp(reach.offset_m)) / UNIFORM_IN_SDS
            row["offset_sd_m"] = math.hypot(row["offset_sd_m"], spread_m)
    return _with(records, rows)
