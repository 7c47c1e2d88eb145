"""A leg as the map draws it: its line, its ticks and limits, and which station stands where.

In goes a ``Leg``, out comes a dictionary that JSON can hold.  Lines are whole micro-degrees,
latitude first, the start and then the steps.
"""

import itertools

import numpy as np
import numpy.typing as npt
import shapely

from routeprep.geodesy import bearings_deg
from routeprep.lines import Centerline, Stationing
from routeprep.listing import distance_text
from routeprep.shapes import Leg
from routeprep.stationing import equation_places, number, stations_every, value_at
from routeprep.streets import Landmark
from routeprep.wording import limits_text

__all__ = ["place", "road", "simplified", "stretch", "zero_text"]

Floats = npt.NDArray[np.float64]

# A tick at each multiple of this [the unit's length], 100 ft or 20 m, and which multiples of it
# the map may thin them to: 500 ft and 100 m are the sheet's own rules.
_TICK = {"ft": 100.0, "m": 20.0}
_TICK_EVERY = {"ft": (1, 2, 5, 10, 20, 50, 100, 200, 500), "m": (1, 5, 10, 25, 50, 100, 250, 500)}

# Lines are sent as whole micro-degrees (0.11 m), first the start, then the steps.
_MICRO = 1e6
_CM = 100

# A centerline is drawn within this of its vertices, in degrees of some 111 km: 0.3 m.  Common
# practice, no source.
_LINE_WITHIN_DEG = 0.3 / 111_000

# Where a landmark's street meets the leg from one side only.
_SIDES = {"L": "on the left", "R": "on the right", "": ""}


def _steps(lon_deg: Floats, lat_deg: Floats) -> list[int]:
    """Latitude and longitude by turns, whole micro-degrees: the start, then the steps."""
    micro = np.rint(np.column_stack([lat_deg, lon_deg]) * _MICRO).astype(np.int64)
    steps = np.diff(micro, axis=0, prepend=np.zeros((1, 2), dtype=np.int64))
    return [int(step) for step in steps.ravel()]


def simplified(lines: list[shapely.LineString], within_deg: float) -> list[list[int]]:
    """Lines with no more vertices than it takes to stay this near to them, packed.

    Parameters
    ----------
    lines
        In longitude and latitude [deg].
    within_deg
        How near [deg].
    """
    drawn = shapely.simplify(lines, within_deg, preserve_topology=False)
    return [_steps(*shapely.get_coordinates(line).T) for line in drawn]


def _at(line: Centerline, along_m: Floats) -> tuple[Floats, Floats]:
    """Longitudes and latitudes [deg] along the line [m], straight between its vertices."""
    lon_deg = np.interp(along_m, line.along_m, line.lon_deg)
    lat_deg = np.interp(along_m, line.along_m, line.lat_deg)
    return lon_deg, lat_deg


def place(line: Centerline, along_m: float) -> list[float]:
    """Latitude and longitude [deg] of a place on the line.

    Parameters
    ----------
    line
        The line.
    along_m
        The place, along [m].
    """
    (lon_deg,), (lat_deg,) = _at(line, np.array([along_m]))
    return [round(float(lat_deg), 6), round(float(lon_deg), 6)]


def stretch(line: Centerline, from_m: float, to_m: float) -> list[int]:
    """The part of a stretch that lies on the line, packed; empty when none does.

    Parameters
    ----------
    line
        The line.
    from_m, to_m
        Its ends, along [m].
    """
    from_m, to_m = max(from_m, 0.0), min(to_m, line.length_m)
    if from_m >= to_m:
        return []
    inside = (line.along_m > from_m) & (line.along_m < to_m)
    ends_m = np.array([from_m, *line.along_m[inside], to_m])
    lon_deg, lat_deg = _at(line, ends_m)
    drawn = shapely.LineString(np.column_stack([lon_deg, lat_deg]))
    return simplified([drawn], _LINE_WITHIN_DEG)[0]


def _line(line: Centerline) -> dict[str, object]:
    """The line packed, and how far along each of its vertices is: centimetres, in steps."""
    whole = shapely.LineString(np.column_stack([line.lon_deg, line.lat_deg, line.along_m]))
    drawn = shapely.simplify(whole, _LINE_WITHIN_DEG, preserve_topology=False)
    lon_deg, lat_deg, along_m = shapely.get_coordinates(drawn, include_z=True).T
    along_cm = np.rint(along_m * _CM).astype(np.int64)
    return {"line": _steps(lon_deg, lat_deg), "along_cm": np.diff(along_cm, prepend=0).tolist()}


def _bearing_deg(line: Centerline, along_m: float) -> float:
    segment = int(np.searchsorted(line.along_m, along_m, side="right")) - 1
    segment = min(max(segment, 0), len(line.along_m) - 2)
    ends = slice(segment, segment + 2)
    return round(float(bearings_deg(line.lon_deg[ends], line.lat_deg[ends])[0]), 1)


def _sign(leg: Leg, along_m: float, text: str) -> dict[str, object]:
    """A text at a place on the line [m], with the line's bearing there [deg]."""
    return {
        "at": place(leg.line, along_m),
        "bearing": _bearing_deg(leg.line, along_m),
        "text": text,
    }


def zero_text(leg: Leg) -> str:
    """What a leg with a named zero has behind each of its stations; empty for plan stations."""
    return f"from {leg.stationing.zero}" if leg.stationing.zero else ""


def _limits(leg: Leg) -> list[dict[str, object]]:
    """Begin and end of the cut where they lie on the line, each with the way out of the cut."""
    first, last = limits_text(leg)
    ends = (("CUT FROM", first, leg.from_m, 180), ("CUT TO", last, leg.to_m, 0))
    return [
        _sign(leg, along_m, f"{words} {station}") | {"outward": [turn_deg]}
        for words, station, along_m, turn_deg in ends
        if 0.0 <= along_m <= leg.line.length_m
    ]


def _ticks(leg: Leg) -> list[list[object]]:
    """Text, latitude, longitude, bearing, and which multiple of a tick's step it is."""
    stationing = leg.stationing
    step = _TICK[stationing.unit.family]
    return [
        [
            number(stationing, along_m, step=0),
            *place(leg.line, along_m),
            _bearing_deg(leg.line, along_m),
            round(value_at(stationing, along_m) / step),
        ]
        for along_m in stations_every(stationing, step, to_m=leg.line.length_m)
    ]


def _pieces(stationing: Stationing, length_m: float) -> list[list[float]]:
    """Where the written value grows evenly: from and to along [m], both values, the region."""
    jumps_m = [along_m for along_m, _ in equation_places(stationing)]
    breaks_m = sorted({0.0, length_m, *stationing.known_m, *jumps_m})
    inside_m = [along_m for along_m in breaks_m if 0.0 <= along_m <= length_m]
    pieces = []
    for from_m, to_m in itertools.pairwise(inside_m):
        first = value_at(stationing, from_m)
        # At an equation the ahead value stands; the one before it follows from the middle.
        last = 2 * value_at(stationing, (from_m + to_m) / 2) - first
        region = 1 + sum(jump_m <= from_m for jump_m in jumps_m)
        pieces.append([round(from_m, 3), round(to_m, 3), round(first, 3), round(last, 3), region])
    return pieces


def _landmark(leg: Leg, landmark: Landmark) -> dict[str, object]:
    """A landmark with its station; without a place where it lies past an end of the line."""
    along_m, step = landmark.along_m, 5 if leg.stationing.unit.family == "ft" else 1
    on_line = 0.0 <= along_m <= leg.line.length_m
    return {
        "at": place(leg.line, along_m) if on_line else [],
        "bearing": _bearing_deg(leg.line, along_m),
        "text": landmark.name,
        "station": number(leg.stationing, along_m, step=step),
        "side": _SIDES[landmark.side],
    }


def road(leg: Leg, *, units: str) -> dict[str, object]:
    """All that the map draws of a leg itself, and what it needs to find a station on it.

    Parameters
    ----------
    leg
        The leg.
    units
        "us" or "metric", for its length.
    """
    line, stationing, settings = leg.line, leg.stationing, leg.settings
    first, last = limits_text(leg)
    family = stationing.unit.family
    zero = f" {zero_text(leg)}".rstrip()
    return _line(line) | {
        "code": settings.code,
        "name": settings.name,
        "zero": zero_text(leg),
        "path_driven": line.made_from == "path driven",
        "designed": line.made_from == "designed alignment",
        "length": distance_text(line.length_m, units=units),
        "cut": stretch(line, leg.from_m, leg.to_m),
        "cut_from": f"{first}{zero}",
        "cut_to": f"{last}{zero}",
        "limits": _limits(leg),
        "lanes": [settings.lanes_left, settings.lanes_right],
        "lane_m": settings.lane_width_m,
        "tick_m": _TICK[family] * stationing.unit.length_m,
        "tick_every": list(_TICK_EVERY[family]),
        "ticks": _ticks(leg),
        "per_station": stationing.unit.per_station,
        "digits": stationing.unit.digits,
        "pieces": _pieces(stationing, line.length_m),
        "landmarks": [_landmark(leg, landmark) for landmark in leg.landmarks],
    }
