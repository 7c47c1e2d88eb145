"""Landmarks along the legs: where named streets meet them, and other fixed things with names.

In go legs, the lines of street maps, and located marks and records; out come the same legs with
what people know a place by, in order along.  A street that only passes over or under, runs beside
or is the leg's own is none.
"""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

import numpy as np
import numpy.typing as npt
import pandas as pd
import shapely

from routeprep.geodesy import Plane, plane_at
from routeprep.kinds import KindTable
from routeprep.lines import Centerline
from routeprep.locating import locate_near
from routeprep.planar import Polyline
from routeprep.shapes import Leg
from routeprep.streets import Landmark, Street
from routeprep.tables import rows_of

__all__ = ["credits_of", "with_landmarks"]

Floats = npt.NDArray[np.float64]

# What follows is common practice, no source, where no source is named.
# A street that meets a leg so far outside its ends still is its landmark [m]: a cut that begins
# at a curb has the street's own line before it.
_PAST_END_M = 30.0
# One street that meets a leg twice within this meets it once [m]: two carriageways, or the two
# arms of an offset crossing.
_ONCE_WITHIN_M = 30.0
# A thing that somebody marked or recorded is the street of that name within this [m]: twice the
# usual ± of a mark from a vehicle.
_SAME_WITHIN_M = 60.0
# A street must get so far beyond the leg's edge within this distance of where they meet [m]; one
# that does not runs beside it.
_LEAVES_BY_M, _LEAVES_WITHIN_M = 10.0, 60.0
# Offsets are looked at in steps of this along a street [m].
_STEP_M = 2.0
# A street's own line is so near where it meets a leg [m], and the leg's own street's so near [m].
_ON_M, _OWN_WITHIN_M = 1.0, 15.0
# A place along that was found in a plane is refined within this of it [m].
_WINDOW_M = 100.0

# Words of streets' names that are one (USPS Publication 28, appendix C1, and section 233 for the
# directions, from memory).
_SHORT = {
    "avenue": "ave", "av": "ave", "boulevard": "blvd", "circle": "cir", "court": "ct",
    "drive": "dr", "expressway": "expy", "highway": "hwy", "lane": "ln", "parkway": "pkwy",
    "place": "pl", "road": "rd", "square": "sq", "street": "st", "terrace": "ter", "trail": "trl",
    "north": "n", "south": "s", "east": "e", "west": "w", "northeast": "ne", "northwest": "nw",
    "southeast": "se", "southwest": "sw",
}  # fmt: skip
# What the name of a street ends with; a note that does not is no name.
_STREETS = {
    *("alley", "ave", "blvd", "cir", "ct", "dr", "expy", "hwy", "ln", "pkwy", "pl", "ramp", "rd"),
    *("row", "sq", "st", "ter", "trl", "way"),
}
_WORD = re.compile(r"[^\W_]+")
# The longest name that a note is taken for [characters].
_NAME_MOST = 40

# Kinds that people know a place by, when they have a name.
_SIDE_STREET, _OTHERS = "SST", ("RRX", "BJ")

_Words = tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Way:
    """A street's line in the plane of a leg."""

    street: Street
    words: _Words
    line: shapely.LineString


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Road:
    """A leg in a plane, with its line drawn on past both ends.

    Attributes
    ----------
    leg
        The leg.
    plane
        Centred on it.
    polyline
        Its line, for offsets.
    line
        The same, longer by ``_PAST_END_M`` at both ends.
    own
        Lines of its own street.
    """

    leg: Leg
    plane: Plane
    polyline: Polyline
    line: shapely.LineString
    own: tuple[_Way, ...] = ()

    def edges_m(self) -> tuple[float, float]:
        """How far the edges lie left and right of the line [m]."""
        said = self.leg.settings
        return said.lanes_left * said.lane_width_m, said.lanes_right * said.lane_width_m

    def reach_m(self) -> float:
        """How far from the line a street may end that still meets the leg, at most [m]."""
        return max(self.edges_m()) + self.leg.settings.lane_width_m


def _words(name: str) -> _Words:
    """A name by which two ways to write it are one: "Elm Street" is "ELM ST."."""
    return tuple(_SHORT.get(word, word) for word in _WORD.findall(name.casefold()))


def _is_own(words: _Words, leg: _Words) -> bool:
    """Whether a street is the leg's own: "Elm St" of the leg "Elm St, Oak to Pine"."""
    return words == leg or (len(words) > 1 and words == leg[: len(words)])


def _road(leg: Leg) -> _Road:
    line = leg.line
    plane = plane_at(float(np.median(line.lon_deg)), float(line.lat_deg.mean()))
    xy_m = plane.to_xy(line.lon_deg, line.lat_deg)
    first, last = (xy_m[0] - xy_m[1]), (xy_m[-1] - xy_m[-2])
    before = xy_m[0] + first * (_PAST_END_M / np.hypot(*first))
    behind = xy_m[-1] + last * (_PAST_END_M / np.hypot(*last))
    drawn_on = shapely.LineString(np.vstack([before, xy_m, behind]))
    return _Road(leg=leg, plane=plane, polyline=Polyline(xy_m), line=drawn_on)


def _ways(road: _Road, streets: Sequence[Street]) -> list[_Way]:
    """The streets near a leg, in its plane, by name."""
    lines = [street for street in streets if len(street.lon_deg) > 1 and _words(street.name)]
    if not lines:
        return []
    counts = [len(street.lon_deg) for street in lines]
    lon_deg = np.concatenate([street.lon_deg for street in lines])
    lat_deg = np.concatenate([street.lat_deg for street in lines])
    xy_m = road.plane.to_xy(lon_deg, lat_deg)
    pieces = shapely.linestrings(xy_m, indices=np.repeat(np.arange(len(lines)), counts))
    drawn: list[shapely.LineString] = np.asarray(pieces).tolist()
    near = shapely.dwithin(np.asarray(drawn), road.line, road.reach_m() + _LEAVES_WITHIN_M)
    ways = [
        _Way(street=street, words=_words(street.name), line=line)
        for street, line, is_near in zip(lines, drawn, near.tolist(), strict=True)
        if is_near
    ]
    return sorted(ways, key=lambda way: (way.words, way.street.name, way.street.source))


def _meetings(road: _Road, merged: shapely.Geometry) -> list[float]:
    """Where a street crosses or ends at a leg, along its line drawn on [m]."""
    parts = shapely.get_parts(shapely.intersection(merged, road.line))
    crossed = [road.line.project(one) for one in parts if one.geom_type == "Point"]
    left_m, right_m = road.edges_m()
    lane_m = road.leg.settings.lane_width_m
    ended = []
    for end in shapely.get_parts(shapely.boundary(merged)):
        foot = road.polyline.feet(shapely.get_coordinates(end))
        edge_m = right_m if foot.offset_m[0] > 0 else left_m
        if road.line.distance(end) <= edge_m + lane_m:
            ended.append(road.line.project(end))
    # An end beside a crossing is where the street's line is cut into pieces.
    alone = [m for m in ended if all(abs(m - at_m) > _ONCE_WITHIN_M for at_m in crossed)]
    return sorted([*crossed, *alone])


def _sides(road: _Road, merged: shapely.Geometry, at_m: float) -> str:
    """On which sides a street leaves a leg: "L", "R", "LR", or none where it runs beside it."""
    around = shapely.buffer(road.line.interpolate(at_m), _LEAVES_WITHIN_M)
    near = shapely.segmentize(shapely.intersection(merged, around), _STEP_M)
    offset_m = road.polyline.feet(shapely.get_coordinates(near)).offset_m
    left_m, right_m = road.edges_m()
    left = offset_m.min() <= -(left_m + _LEAVES_BY_M)
    right = offset_m.max() >= right_m + _LEAVES_BY_M
    return "L" * bool(left) + "R" * bool(right)


def _over_or_under(road: _Road, ways: Sequence[_Way], at_m: float) -> bool:
    """Whether a street passes over or under a leg: they are not on one level where they meet."""
    point = road.line.interpolate(at_m)
    reach_m = road.reach_m() + _ON_M
    levels = {way.street.level for way in ways if way.line.distance(point) <= reach_m}
    near = [(way.line.distance(point), way.street.level) for way in road.own]
    near_m, own = min(near, default=(np.inf, 0))
    return bool(levels) and (own if near_m <= _OWN_WITHIN_M else 0) not in levels


def _along(road: _Road, at_m: Sequence[float]) -> Floats:
    """Distances along a leg [m] of places on its line drawn on [m]."""
    line: Centerline = road.leg.line
    points = shapely.get_coordinates(road.line.interpolate(list(at_m)))
    lon_deg, lat_deg = road.plane.to_lonlat(points)
    scale = line.length_m / float(road.polyline.along_m[-1])
    near_m = np.clip((np.array(at_m) - _PAST_END_M) * scale, 0.0, line.length_m)
    places = locate_near(line, lon_deg, lat_deg, near_m=near_m, window_m=_WINDOW_M)
    return places.along_m


def _clusters(places: Iterable[Landmark]) -> Iterator[list[Landmark]]:
    """Landmarks of one name, at least one, that follow each other so closely that they are one."""
    found: list[Landmark] = []
    for one in sorted(places, key=lambda place: place.along_m):
        if found and one.along_m - found[-1].along_m > _ONCE_WITHIN_M:
            yield found
            found = []
        found.append(one)
    yield found


def _one(places: Sequence[Landmark]) -> Landmark:
    """One landmark of several that are one: in the middle of them, on all their sides."""
    sides = {side for place in places for side in (place.side or "LR")}
    return replace(
        places[0],
        along_m=(places[0].along_m + places[-1].along_m) / 2,
        side="" if len(sides) > 1 else sides.pop(),
        source=", ".join(sorted({place.source for place in places})),
    )


def _of_street(road: _Road, ways: Sequence[_Way]) -> list[Landmark]:
    """Where one street meets a leg."""
    merged = shapely.line_merge(shapely.union_all([way.line for way in ways]))
    sides = {m: _sides(road, merged, m) for m in _meetings(road, merged)}
    met = [m for m, side in sides.items() if side and not _over_or_under(road, ways, m)]
    if not met:
        return []
    sources = sorted({way.street.source for way in ways})
    credit = sorted({way.street.credit for way in ways if way.street.credit})
    places = [
        Landmark(
            name=ways[0].street.name,
            along_m=float(along_m),
            side="" if len(sides[m]) > 1 else sides[m],
            source=", ".join(sources),
            credit="; ".join(credit),
        )
        for m, along_m in zip(met, _along(road, met), strict=True)
    ]
    return [_one(cluster) for cluster in _clusters(places)]


def _of_streets(leg: Leg, streets: Sequence[Street]) -> list[Landmark]:
    """Where the streets of a map meet a leg."""
    road = _road(leg)
    ways, own = _ways(road, streets), _words(leg.settings.name)
    road = replace(road, own=tuple(way for way in ways if _is_own(way.words, own)))
    return [
        place
        for words, group in groupby(ways, key=lambda way: way.words)
        if not _is_own(words, own)
        for place in _of_street(road, list(group))
    ]


def _said_name(row: Mapping[str, object], what: str, kinds: KindTable) -> str:
    """What a mark or record is known by; empty for one without a name."""
    kind, text = str(row["kind"]), " ".join(str(row[what]).split())
    if what == "note":
        named = _words(text)[-1:] and _words(text)[-1] in _STREETS and len(text) <= _NAME_MOST
        return text if named and kind == _SIDE_STREET else ""
    if not text or kind == _SIDE_STREET:
        return text
    name = kinds.kinds[kind].name
    return text if text.casefold().endswith(name.casefold()) else f"{text} {name}"


def _of_things(
    leg: Leg, items: pd.DataFrame, columns: tuple[str, str], kinds: KindTable
) -> list[Landmark]:
    """Fixed things with names that lie on a leg; ``columns`` are those of the id and the name."""
    wanted = items["kind"].isin([_SIDE_STREET, *_OTHERS]) & items["kind"].isin(list(kinds.kinds))
    here = items[wanted & (items["leg"] == leg.settings.code) & items["along_m"].notna()]
    places = [
        Landmark(
            name=_said_name(row, columns[1], kinds),
            along_m=float(row["along_m"]),
            side=str(row["lane"])[:1] if row["kind"] == _SIDE_STREET else "",
            source=str(row[columns[0]]),
        )
        for row in rows_of(here)
    ]
    named = sorted((one for one in places if one.name), key=lambda one: _words(one.name))
    return [
        _one(cluster)
        for _, group in groupby(named, key=lambda one: _words(one.name))
        for cluster in _clusters(group)
    ]


def _added(known: Sequence[Landmark], more: Sequence[Landmark]) -> list[Landmark]:
    """Landmarks with those of a worse source that they do not hold yet."""

    def is_known(one: Landmark) -> bool:
        return any(
            _words(one.name) == _words(other.name)
            and abs(one.along_m - other.along_m) <= _SAME_WITHIN_M
            for other in known
        )

    return [*known, *(one for one in more if not is_known(one))]


def with_landmarks(
    legs: Sequence[Leg],
    streets: Sequence[Street],
    *,
    marks: pd.DataFrame,
    records: pd.DataFrame,
    kinds: KindTable,
) -> tuple[Leg, ...]:
    """Legs with their landmarks: from street maps, then records, then marks.

    Parameters
    ----------
    legs
        As built.
    streets
        Lines of street maps.
    marks, records
        With ``tables.LOCATED`` added.
    kinds
        The kinds table, for what a thing is called.
    """
    made = []
    for leg in legs:
        places = _of_streets(leg, streets)
        places = _added(places, _of_things(leg, records, ("record_id", "name"), kinds))
        places = _added(places, _of_things(leg, marks, ("mark_id", "note"), kinds))
        ordered = sorted(places, key=lambda one: (one.along_m, one.name))
        made.append(replace(leg, landmarks=tuple(ordered)))
    return tuple(made)


def credits_of(legs: Iterable[Leg]) -> tuple[str, ...]:
    """Whom to name wherever the landmarks of legs are printed, each once."""
    said = {place.credit for leg in legs for place in leg.landmarks}
    return tuple(sorted(said - {""}))
