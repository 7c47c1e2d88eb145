"""What the map's script draws and lists, as plain data.

In goes a ``Pack``, out comes a dictionary that JSON can hold: places in degrees, and texts as the
sheet prints them.  Nothing in it is markup.
"""

import math
from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
import shapely

from routeprep.coverage import poorly
from routeprep.deciding import NOT_DECIDED
from routeprep.geodesy import bearings_deg
from routeprep.kinds import GROUPS, NO_THINGS, Kind
from routeprep.lines import Centerline
from routeprep.linewords import stretch_text
from routeprep.listing import distance_text, rows
from routeprep.shapes import Leg, Pack
from routeprep.stationing import number, stations_every, value_at
from routeprep.tables import rows_of
from routeprep.wording import height_text, limits_text

__all__ = ["payload"]

Floats = npt.NDArray[np.float64]

# Groups that are drawn: all but those whose marks are no things in the road.
_GROUPS = tuple(group for group in GROUPS if group not in NO_THINGS)

# A tick at each of these station values: 500 ft or 100 m, as on the sheet's landmark rows.
_TICK = {"ft": 500.0, "m": 100.0}

# Lines are sent as whole micro-degrees (0.11 m), first the start, then the steps.
_MICRO = 1e6

# A line is drawn within this of its vertices, in degrees of some 111 km: 0.3 m for a
# centerline, 1 m for a drive, which is drawn faintly.  Common practice, no source.
_LINE_WITHIN_DEG = 0.3 / 111_000
_DRIVE_WITHIN_DEG = 1.0 / 111_000

# Drives are drawn with no more vertices than this, so that a phone keeps up; coarser if need be.
_DRIVE_VERTICES = 20_000


def _packed(lon_deg: Floats, lat_deg: Floats) -> list[int]:
    """Latitude and longitude by turns, whole micro-degrees: the start, then the steps."""
    micro = np.rint(np.column_stack([lat_deg, lon_deg]) * _MICRO).astype(np.int64)
    steps = np.diff(micro, axis=0, prepend=np.zeros((1, 2), dtype=np.int64))
    return [int(step) for step in steps.ravel()]


def _simplified(lines: list[shapely.LineString], within_deg: float) -> list[list[int]]:
    drawn = shapely.simplify(lines, within_deg, preserve_topology=False)
    return [_packed(*shapely.get_coordinates(line).T) for line in drawn]


def _at(line: Centerline, along_m: Floats) -> tuple[Floats, Floats]:
    """Longitudes and latitudes [deg] along the line [m], straight between its vertices."""
    lon_deg = np.interp(along_m, line.along_m, line.lon_deg)
    lat_deg = np.interp(along_m, line.along_m, line.lat_deg)
    return lon_deg, lat_deg


def _stretch(line: Centerline, from_m: float, to_m: float) -> list[int]:
    """The part of a stretch that lies on the line; empty when none does."""
    from_m, to_m = max(from_m, 0.0), min(to_m, line.length_m)
    if from_m >= to_m:
        return []
    inside = (line.along_m > from_m) & (line.along_m < to_m)
    ends_m = np.array([from_m, *line.along_m[inside], to_m])
    lon_deg, lat_deg = _at(line, ends_m)
    drawn = shapely.LineString(np.column_stack([lon_deg, lat_deg]))
    return _simplified([drawn], _LINE_WITHIN_DEG)[0]


def _sign(leg: Leg, along_m: float, text: str) -> dict[str, object]:
    """A text at a place on the line [m], with the line's bearing there [deg]."""
    line = leg.line
    segment = int(np.searchsorted(line.along_m, along_m, side="right")) - 1
    segment = min(max(segment, 0), len(line.along_m) - 2)
    ends = slice(segment, segment + 2)
    (lon_deg,), (lat_deg,) = _at(line, np.array([along_m]))
    bearing_deg = float(bearings_deg(line.lon_deg[ends], line.lat_deg[ends])[0])
    return {
        "at": [round(float(lat_deg), 6), round(float(lon_deg), 6)],
        "bearing": round(bearing_deg, 1),
        "text": text,
        "zero": f"from {leg.stationing.zero}" if leg.stationing.zero else "",
        "outward": [],
    }


def _limits(leg: Leg) -> list[dict[str, object]]:
    first, last = limits_text(leg)
    ends = (("CUT FROM", first, leg.from_m, 180), ("CUT TO", last, leg.to_m, 0))
    return [
        _sign(leg, along_m, f"{words} {station}") | {"outward": [turn_deg]}
        for words, station, along_m, turn_deg in ends
        if 0.0 <= along_m <= leg.line.length_m
    ]


def _ticks(leg: Leg) -> list[dict[str, object]]:
    stationing = leg.stationing
    step = _TICK[stationing.unit.family]
    return [
        _sign(leg, along_m, number(stationing, along_m, step=0))
        | {"count": round(value_at(stationing, along_m) / step)}
        for along_m in stations_every(stationing, step, to_m=leg.line.length_m)
    ]


def _leg(leg: Leg, *, units: str) -> dict[str, object]:
    line, stationing = leg.line, leg.stationing
    first, last = limits_text(leg)
    zero = f" from {stationing.zero}" if stationing.zero else ""
    whole = shapely.LineString(np.column_stack([line.lon_deg, line.lat_deg]))
    return {
        "code": leg.settings.code,
        "name": leg.settings.name,
        "path_driven": line.made_from == "path driven",
        "designed": line.made_from == "designed alignment",
        "length": distance_text(line.length_m, units=units),
        "line": _simplified([whole], _LINE_WITHIN_DEG)[0],
        "cut": _stretch(line, leg.from_m, leg.to_m),
        "cut_from": f"{first}{zero}",
        "cut_to": f"{last}{zero}",
        "limits": _limits(leg),
        "tick_m": _TICK[stationing.unit.family] * stationing.unit.length_m,
        "ticks": _ticks(leg),
    }


def _thing(row: "pd.Series[Any]", kind: Kind, leg: Leg, *, units: str) -> dict[str, object]:
    struck = bool(row["struck"])
    stops = str(row["do_text"]).startswith(("STOP", NOT_DECIDED))
    long = bool(row["from_m"] < row["to_m"])
    return {
        "id": row["anchor_id"],
        "no": row["no"],
        "leg": row["leg"],
        "code": row["kind"],
        "group": _GROUPS.index(kind.group),
        "colour": kind.colour,
        "at": [round(row["lat_deg"], 7), round(row["lon_deg"], 7)],
        "station": row["station_text"],
        "zero": row["zero_text"],
        "reference": row["reference_text"],
        "pm": row["plus_minus_text"],
        "what": row["what_text"],
        "where": row["where_text"],
        "do": row["do_text"],
        "proposed": row["proposed_text"],
        "who": row["who"],
        "decided_by": row["decided_by"],
        "height": height_text(float(row["height_m"]), str(row["height_by"]), units=units),
        "doubt": row["doubt"],
        "status": row["status"],
        "note": row["note"],
        "seen": int(row["times_seen"]),
        "marks": len(row["mark_ids"]),
        "records": len(str(row["record_ids"]).split()),
        "ringed": stops and not struck,
        "hollow": str(row["status"]).startswith("in a file"),
        "broken": "lane not sure" in str(row["doubt"]),
        "struck": struck,
        "span": _stretch(leg.line, row["from_m"], row["to_m"]) if long else [],
        "stretch": f"{row['from_station']} to {row['to_station']}" if long else "",
    }


def _poor(row: Mapping[str, Any], leg: Leg) -> dict[str, object]:
    """A stretch that was poorly looked at, with a place in its middle for its words."""
    line, from_m, to_m = leg.line, float(row["from_m"]), float(row["to_m"])
    (lon_deg,), (lat_deg,) = _at(line, np.array([(from_m + to_m) / 2]))
    return {
        "leg": row["leg"],
        "stretch": stretch_text(leg, from_m, to_m),
        "why": row["reason"],
        "span": _stretch(line, from_m, to_m),
        "at": [round(float(lat_deg), 6), round(float(lon_deg), 6)],
    }


def _unsorted(row: "pd.Series[Any]") -> dict[str, object]:
    known = math.isfinite(row["lat_deg"]) and math.isfinite(row["lon_deg"])
    return {
        "words": row["words"],
        "why": row["why"],
        "looks_like": row["looks_like"],
        "source": row["source"],
        "at": [round(row["lat_deg"], 7), round(row["lon_deg"], 7)] if known else [],
    }


def _drives(fixes: pd.DataFrame) -> list[list[int]]:
    pieces = [
        shapely.LineString(piece[["lon_deg", "lat_deg"]].to_numpy())
        for _, piece in fixes.groupby(["drive_id", "piece"], sort=True)
        if len(piece) > 1
    ]
    within_deg = _DRIVE_WITHIN_DEG
    drawn = _simplified(pieces, within_deg)
    # Two whole numbers a vertex; a piece never has fewer than two vertices.
    most = 2 * max(_DRIVE_VERTICES, 2 * len(pieces))
    while sum(len(line) for line in drawn) > most:
        within_deg *= 2
        drawn = _simplified(pieces, within_deg)
    return drawn


def _bounds(pack: Pack) -> list[list[float]]:
    """South-west and north-east corner of the legs and the things, latitude first [deg]."""
    things = pack.obstructions
    lat_deg = np.concatenate([*(leg.line.lat_deg for leg in pack.legs), things["lat_deg"]])
    lon_deg = np.concatenate([*(leg.line.lon_deg for leg in pack.legs), things["lon_deg"]])
    corners = ((lat_deg.min(), lon_deg.min()), (lat_deg.max(), lon_deg.max()))
    return [[round(float(value), 6) for value in corner] for corner in corners]


def _dicts(frame: pd.DataFrame, names: Iterable[str]) -> list[dict[str, str]]:
    lines = frame[list(names)].itertuples(index=False, name=None)
    return [dict(zip(names, map(str, line), strict=True)) for line in lines]


def payload(pack: Pack) -> dict[str, object]:
    """Everything the map's script draws and lists, in the order of the sheet.

    Lines are whole micro-degrees, latitude first, the start and then the steps; other places are
    latitude and longitude [deg].
    """
    settings, legs = pack.settings, {leg.settings.code: leg for leg in pack.legs}
    kinds, units = settings.kinds.kinds, settings.units
    return {
        "job": {
            "name": settings.name,
            "number": settings.number,
            "revision": settings.revision,
            "date": settings.date.isoformat(),
        },
        "draft": list(pack.draft),
        "bounds": _bounds(pack),
        "groups": list(_GROUPS),
        "legs": [_leg(leg, units=units) for leg in pack.legs],
        "drives": _drives(pack.fixes),
        "poor": [_poor(row, legs[row["leg"]]) for row in rows_of(poorly(pack.coverage, pack.legs))],
        "things": [
            _thing(row, kinds[row["kind"]], legs[row["leg"]], units=units)
            for _, row in rows(pack).iterrows()
        ],
        "unsorted": [_unsorted(row) for _, row in pack.unsorted.iterrows()],
        "elsewhere": _dicts(pack.elsewhere, ("name", "source", "why")),
        "withdrawn": _dicts(pack.withdrawn, ("no", "why")),
    }
