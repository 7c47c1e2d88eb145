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
from routeprep.across import turn, turn_all
from routeprep.corridor import in_corridor
from routeprep.estimates import Lateness
from routeprep.kinds import KindTable
from routeprep.locating import Places, locate, locate_near, runners_up
from routeprep.matching import Path, way_at
from routeprep.shapes import Defaults, Leg
from routeprep.spots import Spots, spots_of, spots_of_records
from routeprep.spreads import UNIFORM_IN_SDS
from routeprep.tables import rows_of
from routeprep.tracks import Track
from routeprep.walked import SaidPlace, lateral_of, said_places

__all__ = ["locate_marks", "locate_records"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]
Texts = npt.NDArray[np.object_]

# A mark's place is looked for this far along from where the drive's path has it [m].  Common
# practice, no source.
_WINDOW_M = 40.0
# A course runs with the line when the cosine of the angle between them is at least this.
_ALONG_COS = 0.7
_NUMBERS = ("along_m", "offset_m", "past_end_m", "distance_m")
# What nobody knows of a thing without a place.
_BLANK: dict[str, object] = {
    "offset_m": math.nan, "along_sd_m": math.nan, "offset_sd_m": math.nan, "travel": 0,
    "person": "", "speed_mps": math.nan, "late_m": math.nan, "own_sd_m": math.nan, "lane": "",
    "position": "", "past_end_m": math.nan, "runner_up_m": math.nan,
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Places:
    """Things on legs, one value a thing; NaN for one that has no place."""

    leg: Ints
    along_m: Floats
    offset_m: Floats
    past_end_m: Floats
    distance_m: Floats
    runner_up_m: Floats
    near_tie: Flags


def _fill(places: _Places, rows: Ints, found: Places, leg: int) -> None:
    places.leg[rows] = leg
    for name in _NUMBERS:
        getattr(places, name)[rows] = getattr(found, name)


def _nearest(
    places: _Places, rows: Ints, spots: Spots, legs: Sequence[Leg], defaults: Defaults
) -> None:
    """The nearest leg, with a near tie when another leg or another part is nearly as near."""
    lon, lat = spots.lon_deg[rows], spots.lat_deg[rows]
    best = [locate(leg.line, lon, lat) for leg in legs]
    distances_m = np.nan_to_num([one.distance_m for one in best], nan=np.inf)
    chosen = np.argmin(distances_m, axis=0)
    for number, (leg, found) in enumerate(zip(legs, best, strict=True)):
        here = np.flatnonzero(chosen == number)
        own = Places(**{name: getattr(found, name)[here] for name in _NUMBERS})
        _fill(places, rows[here], own, number)
        places.runner_up_m[rows[here]] = runners_up(
            leg.line,
            lon[here],
            lat[here],
            own,
            within_m=defaults.runner_up_within_m,
            apart_m=defaults.runner_up_apart_m,
        )
    tie = np.isfinite(places.runner_up_m[rows])
    if len(legs) > 1:
        nearest_m, second_m = np.partition(distances_m, 1, axis=0)[:2]
        tie |= second_m <= nearest_m + defaults.runner_up_within_m
    places.near_tie[rows] = tie


def _places(spots: Spots, legs: Sequence[Leg], defaults: Defaults) -> _Places:
    """Each thing on its drive's leg, near the distance that the path gives; else the nearest."""
    count = len(spots.leg)
    places = _Places(
        leg=np.zeros(count, dtype=np.int64),
        near_tie=np.zeros(count, dtype=bool),
        **{name: np.full(count, np.nan) for name in (*_NUMBERS, "runner_up_m")},
    )
    for number, leg in enumerate(legs):
        rows = np.flatnonzero(spots.leg == number)
        lon, lat, near_m = spots.lon_deg[rows], spots.lat_deg[rows], spots.near_m[rows]
        found = locate_near(leg.line, lon, lat, near_m=near_m, window_m=_WINDOW_M)
        _fill(places, rows, found, number)
    free = np.flatnonzero(spots.leg < 0)
    if len(free):
        _nearest(places, free, spots, legs, defaults)
    return places


def _travels(spots: Spots, places: _Places, legs: Sequence[Leg]) -> Ints:
    """Which way each vehicle went: by its course, where that runs with the line.

    A path is known every 12 m only; where a vehicle turned round the course knows better.
    """
    travel = spots.travel.copy()
    for number, leg in enumerate(legs):
        rows = np.flatnonzero((spots.leg == number) & np.isfinite(spots.course_deg))
        rows = rows[np.isfinite(places.along_m[rows])]
        course = np.radians(spots.course_deg[rows])
        way = way_at(leg.line, places.along_m[rows])
        cosine = np.sin(course) * way[:, 0] + np.cos(course) * way[:, 1]
        travel[rows] = np.where(np.abs(cosine) >= _ALONG_COS, np.sign(cosine), travel[rows])
    return travel


def _ahead(spots: Spots, places: _Places, travel: Ints, legs: Sequence[Leg]) -> _Places:
    """The places moved on by what each person has the thing ahead of the phone."""
    moved_m = travel * spots.lead_m
    length_m = np.array([leg.line.length_m for leg in legs])[places.leg]
    along_m = places.along_m + moved_m
    past_m = np.maximum(0.0, np.maximum(-along_m, along_m - length_m))
    return replace(
        places, along_m=along_m, past_end_m=np.where(moved_m == 0.0, places.past_end_m, past_m)
    )


def _doubts(spots: Spots, places: _Places, *, far: Flags, sure: Flags) -> Texts:
    """Every reason why a person should look at each place."""
    # The drive was not on this leg when the mark was made: a cross street, or a yard.
    astray = spots.by_time & (spots.leg < 0)
    flags = {
        "order disagrees with the drive": spots.disagrees | astray,
        "no time": spots.untimed,
        "poor accuracy": spots.poor,
        "near tie": places.near_tie,
        "past an end": places.past_end_m > 0,
        "far from the road": far,
        "lane not sure": ~sure,
    }
    said = np.column_stack(list(flags.values()))
    cases, which = np.unique(said @ (1 << np.arange(len(flags))), return_inverse=True)
    texts = [
        "; ".join(word for bit, word in enumerate(flags) if case >> bit & 1)
        for case in cases.tolist()
    ]
    return np.array(texts, dtype=object)[which]


def _offset_sds_m(
    words: pd.DataFrame, spots: Spots, places: _Places, legs: Sequence[Leg]
) -> Floats:
    """Standard deviation across where nobody said: of the place, the line, and for a vehicle more.

    A vehicle's own offset tells no more than that the thing was on the road.
    """
    line_sd_m, road_sd_m = np.zeros(len(places.leg)), np.zeros(len(places.leg))
    for number, leg in enumerate(legs):
        rows = places.leg == number
        line, lanes = leg.line, leg.settings.lanes_left + leg.settings.lanes_right
        here = np.searchsorted(line.along_m, places.along_m[rows])
        line_sd_m[rows] = line.sd_m[np.clip(here, 0, len(line.sd_m) - 1)]
        road_sd_m[rows] = lanes * leg.settings.lane_width_m / UNIFORM_IN_SDS
    road_sd_m[(words["method"] != "vehicle").to_numpy()] = 0.0
    return np.sqrt(spots.sd_m**2 + line_sd_m**2 + road_sd_m**2)


def _columns(
    words: pd.DataFrame, spots: Spots, legs: Sequence[Leg], defaults: Defaults
) -> dict[str, Any]:
    """The located columns of marks or records; ``words`` has method, across and its frame."""
    places, settings = _places(spots, legs, defaults), [leg.settings for leg in legs]
    travel = _travels(spots, places, legs)
    places = _ahead(spots, places, travel, legs)
    lateral = turn_all(
        words["across"].tolist(),
        frames=words["across_frame"].tolist(),
        travels=travel.tolist(),
        legs=[settings[leg] for leg in places.leg.tolist()],
    )
    lost, far = np.isnan(places.along_m), places.distance_m > defaults.road_corridor_m
    said = np.isfinite(lateral["offset_m"])
    codes = np.array([one.code for one in settings], dtype=object)
    columns = {
        "leg": np.where(lost | far, "", codes[places.leg]),
        "along_m": places.along_m,
        "from_m": places.along_m.copy(),
        "to_m": places.along_m.copy(),
        "offset_m": np.where(said, lateral["offset_m"], places.offset_m),
        "along_sd_m": np.hypot(spots.own_sd_m, spots.shared_sd_m),
        "offset_sd_m": np.where(
            said, lateral["offset_sd_m"], _offset_sds_m(words, spots, places, legs)
        ),
        "travel": travel,
        "person": spots.person,
        "speed_mps": spots.speed_mps,
        "late_m": spots.late_m,
        "own_sd_m": spots.own_sd_m,
        "lane": lateral["lane"],
        "position": lateral["position"],
        "past_end_m": places.past_end_m,
        "runner_up_m": places.runner_up_m,
    }
    for name, blank in _BLANK.items():
        columns[name][lost] = blank
    columns["doubt"] = _doubts(spots, places, far=far, sure=lateral["sure"])
    for row in np.flatnonzero(far & ~lost):
        columns["doubt"][row] += _far_words(places, int(row), codes)
    return columns


def _lost_words(mark: Mapping[str, Any]) -> str:
    """Why a mark without a place has none."""
    if mark["said_station"] and mark["method"] == "vehicle":
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
        "person": "",
        "speed_mps": math.nan,
        "late_m": math.nan,
        "own_sd_m": said.along_sd_m,
        "lane": lateral.lane,
        "position": lateral.position,
        "past_end_m": said.past_end_m,
        "runner_up_m": math.nan,
        "doubt": "; ".join([*said.doubts, *([] if lateral.sure else ["lane not sure"])]),
    }


def _by_station(
    mark: Mapping[str, Any], said: SaidPlace, legs: Sequence[Leg], doubt: str
) -> dict[str, Any]:
    """The columns of a mark that says its station; where that is no place, the reason first."""
    if said.leg >= 0:
        return _said_row(mark, said, legs[said.leg])
    return {"doubt": "; ".join([*said.doubts, *([doubt] if doubt else [])])}


def _far_words(places: _Places, row: int, codes: Texts) -> str:
    """How far a thing is from the nearest leg."""
    words = f"; {places.distance_m[row]:.0f} m from leg {codes[places.leg[row]]}"
    past_m = places.past_end_m[row]
    return f"{words}, {past_m:.0f} m past an end" if past_m > 0 else words


def _usually(said: list[str], kind: list[str], kinds: KindTable) -> Texts:
    """Where across things lie as said, and where their kind usually does when nobody said."""
    usual = {code: one.across for code, one in kinds.kinds.items()}
    across = [one or usual.get(code, "") for one, code in zip(said, kind, strict=True)]
    return np.array(across, dtype=object)


def _with(frame: pd.DataFrame, columns: Mapping[str, Any]) -> pd.DataFrame:
    located = pd.DataFrame(
        {
            one.name: pd.array(columns[one.name], dtype="str")
            if one.holds == "text"
            else columns[one.name]
            for one in tables.LOCATED
        }
    )
    located.index = frame.index
    return pd.concat([frame, tables.check(located, tables.LOCATED, what="located")], axis=1)


def locate_marks(  # noqa: PLR0913 - each is another part of the job, handed down by name
    marks: pd.DataFrame,
    tracks: Mapping[str, Track],
    paths: Mapping[str, Path],
    legs: Sequence[Leg],
    *,
    kinds: KindTable,
    defaults: Defaults,
    people: Mapping[str, Lateness] | None = None,
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
    people
        Person to how late he taps; of who is not among them, the usual is taken.
    """
    spots = spots_of(marks, tracks, paths, defaults, people=people or {})
    words = marks.assign(across=_usually(marks["across"].tolist(), marks["kind"].tolist(), kinds))
    columns = _columns(words, spots, legs, defaults)
    lost = np.flatnonzero(np.isnan(columns["along_m"]))
    for row, mark in zip(lost, rows_of(words.iloc[lost]), strict=True):
        columns["doubt"][row] = _lost_words(mark)
    told = np.flatnonzero((marks["said_station"] != "") & (marks["method"] != "vehicle"))
    said = said_places(marks.iloc[told], legs, defaults)
    for row, mark in zip(told, rows_of(words.iloc[told]), strict=True):
        doubt = str(columns["doubt"][row]) if np.isfinite(columns["along_m"][row]) else ""
        for name, value in _by_station(mark, said[mark["mark_id"]], legs, doubt).items():
            columns[name][row] = value
    return _with(marks, columns)


def locate_records(
    records: pd.DataFrame, legs: Sequence[Leg], *, kinds: KindTable, defaults: Defaults
) -> pd.DataFrame:
    """Put every record on a leg, or say how far from one it is.

    Of lines and polygons what lies in the corridor counts: a point in its middle is their place,
    and they reach from its first to its last vertex; across they count as spread evenly over it.
    A file rarely says which lane, and its own shift is not known: *lane not sure*.

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
    geometry = in_corridor(records["geometry"].to_numpy(), legs, within_m=defaults.road_corridor_m)
    spots = spots_of_records(records.assign(geometry=geometry), defaults)
    words = pd.DataFrame(
        {
            "across": _usually([""] * len(records), records["kind"].tolist(), kinds),
            "across_frame": "up-station",
            "method": "file",
        },
        index=records.index,
    )
    columns = _columns(words, spots, legs, defaults)
    for leg in legs:
        rows = np.flatnonzero(columns["leg"] == leg.settings.code)
        _reach(columns, rows[shapely.get_num_coordinates(geometry[rows]) > 1], geometry, leg)
    return _with(records, columns)


def _reach(columns: dict[str, Any], rows: Ints, geometry: Texts, leg: Leg) -> None:
    """Let lines and polygons reach from their first to their last vertex, and spread across."""
    if not len(rows):
        return
    vertices, of = shapely.get_coordinates(geometry[rows], return_index=True)
    found = locate(leg.line, vertices[:, 0], vertices[:, 1])
    first = np.searchsorted(of, np.arange(len(rows)))
    columns["from_m"][rows] = np.minimum.reduceat(found.along_m, first)
    columns["to_m"][rows] = np.maximum.reduceat(found.along_m, first)
    wide_m = np.maximum.reduceat(found.offset_m, first) - np.minimum.reduceat(found.offset_m, first)
    columns["offset_sd_m"][rows] = np.hypot(columns["offset_sd_m"][rows], wide_m / UNIFORM_IN_SDS)
