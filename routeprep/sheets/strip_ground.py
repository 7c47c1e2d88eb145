"""The road of a strip with its stations, limits, cross streets and what was poorly looked at.

In go a leg and its road on paper, out come the parts of the drawing that lie under the things.
"""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from routeprep.coverage import poorly
from routeprep.shapes import Leg, Pack
from routeprep.sheets.lettering import text_pt
from routeprep.sheets.strip_layout import apart
from routeprep.sheets.strip_shapes import Road, area, line, writing
from routeprep.stationing import number, stations_every, value_at
from routeprep.streets import Landmark
from routeprep.tables import rows_of
from routeprep.units import to_m
from routeprep.wording import limits_text

__all__ = ["BAND_PT", "GROUND_PT", "ground_parts", "landmarks_on", "search_parts"]

# Height of the band with stations, and of the one with cross streets [pt].
BAND_PT = 30.0
# So far beyond the road's edges its ground reaches [pt]: signs beside it, ticks, cross streets.
GROUND_PT = 14.0

# Sizes of type, and the space between two texts [pt].
_LARGE_PT, _SMALL_PT, _BETWEEN_PT = 16.0, 11.0, 8.0
# A small text is moved no farther than this: it would be read at another tick [pt].
_STAYS_PT = 4.0
# Ticks, and the stations that are written large [the unit's length].
_TICKS = {"ft": (100.0, 500.0), "m": (20.0, 100.0)}
_TICK_PT, _LONG_TICK_PT = 5.0, 10.0
# A place to search no longer than this is a place [m], else a stretch.
_PLACE_M = 1.5
# A sign nearer to an S than this would lie under it [pt].
_SEARCH_PT = 15.0
# A cross street is drawn so wide [m], but no wider on paper than this [pt].
_STREET_M, _STREET_MOST_PT = to_m(30.0, "ft"), 60.0
_SAME_VALUE = 1e-6
_LIGHT = 150


class _Text(NamedTuple):
    """A text of a band: where it belongs [pt], and its size [pt]."""

    at_pt: float
    text: str
    size_pt: float


def _limits(leg: Leg, road: Road) -> list[tuple[float, str]]:
    """Limits of the cut that lie on the strip: along [m] and words."""
    first, last = limits_text(leg)
    both = ((leg.from_m, f"CUT BEGINS {first}"), (leg.to_m, f"CUT ENDS {last}"))
    return [(m, text) for m, text in both if road.from_m <= m <= road.to_m]


def landmarks_on(leg: Leg, road: Road) -> list[Landmark]:
    """The landmarks of a leg on the strip.

    Parameters
    ----------
    leg
        The leg.
    road
        Its road on paper.
    """
    return [one for one in leg.landmarks if road.from_m <= one.along_m <= road.to_m]


def _wide_pt(text: _Text) -> float:
    return text_pt(text.text, text.size_pt) + _BETWEEN_PT


def _apart(texts: Sequence[_Text], width_pt: float) -> list[tuple[_Text, float]]:
    """Texts with their places; a small one that would be moved gives way, and what has no room."""
    shown = sorted(texts)
    while shown:
        widths = [_wide_pt(one) for one in shown]
        crowded = sum(widths) > width_pt
        places = apart([one.at_pt for one in shown], widths, room_pt=width_pt)
        moved = [
            (abs(place_pt - one.at_pt), one)
            for one, place_pt in zip(shown, places, strict=True)
            if one.size_pt < _LARGE_PT or crowded
        ]
        far_pt, one = max(moved, default=(0.0, None))
        if one is None or (far_pt <= _STAYS_PT and not crowded):
            return list(zip(shown, places, strict=True))
        shown.remove(one)
    return []


def _band(
    texts: Sequence[_Text], top_pt: float, ends_pt: tuple[float, float], width_pt: float
) -> Iterator[dict[str, object]]:
    """Texts in a row, moved apart, each with a line to where it belongs."""
    begin_pt, end_pt = ends_pt
    for one, place_pt in _apart(texts, width_pt):
        wide_pt = _wide_pt(one)
        yield line((place_pt, begin_pt, one.at_pt, end_pt), grey=_LIGHT)
        yield writing(one.text, place_pt, top_pt, size=one.size_pt, width=wide_pt)


def _stations(leg: Leg, road: Road) -> tuple[list[float], list[tuple[float, str, bool]]]:
    """Ticks along [m], and the stations that are written: along [m], text, and whether large."""
    small, large = _TICKS[leg.stationing.unit.family]
    ticks = stations_every(leg.stationing, small, from_m=road.from_m, to_m=road.to_m)
    written = []
    for m in ticks:
        value = value_at(leg.stationing, m)
        is_large = abs(value - round(value / large) * large) < _SAME_VALUE
        written.append((m, number(leg.stationing, m, step=1.0), is_large))
    return list(ticks), written


def _edges(leg: Leg, road: Road) -> Iterator[dict[str, object]]:
    """Curb lines, heavy within the cut; the line; and the lines between lanes."""
    first, last = road.x_pt(leg.from_m), road.x_pt(leg.to_m)
    for y_pt in (road.top_pt, road.bottom_pt):
        yield line((0.0, y_pt, road.width_pt, y_pt), wide=0.8, dash="dashed")
        if leg.to_m > road.from_m and leg.from_m < road.to_m:
            yield line((first, y_pt, last, y_pt), wide=2.2)
    for y_pt in road.lane_lines_pt():
        yield line((0.0, y_pt, road.width_pt, y_pt), wide=0.6, dash="dashed", grey=_LIGHT)
    yield line((0.0, road.middle_pt, road.width_pt, road.middle_pt), wide=1.2)


def _poor(leg: Leg, road: Road, pack: Pack) -> Iterator[dict[str, object]]:
    """Stripes where the road was poorly looked at."""
    for row in rows_of(poorly(pack.coverage, [leg])):
        left, right = (road.x_pt(float(row[name])) for name in ("from_m", "to_m"))
        if right > left:
            size = (left, road.top_pt, right - left, road.bottom_pt - road.top_pt)
            yield area(size, fill="striped")


def search_parts(
    leg: Leg, road: Road, pack: Pack, signs_pt: Sequence[tuple[float, float]]
) -> Iterator[dict[str, object]]:
    """Where to search for what is not on the list: an S at a place, a dotted line at a stretch.

    Parameters
    ----------
    leg, road, pack
        The leg, its road on paper, and the pack.
    signs_pt
        Where signs are, x and y [pt]: an S that would lie on one moves to the road's edge.
    """
    mine = pack.search[(pack.search["leg"] == leg.settings.code) & (pack.search["no"] == "")]
    for row in rows_of(mine):
        y_pt = road.y_pt("", -1, float(row["offset_m"]))
        if row["to_m"] - row["from_m"] > _PLACE_M:
            left, right = (road.x_pt(float(row[name])) for name in ("from_m", "to_m"))
            edge_pt = road.bottom_pt + _TICK_PT
            if right > left:
                yield line((left, edge_pt, right, edge_pt), wide=2.0, dash="dotted")
        elif road.from_m <= row["along_m"] < road.to_m:
            x_pt = road.x_pt(float(row["along_m"]))
            near = [(a, b) for a, b in signs_pt if abs(a - x_pt) < _SEARCH_PT]
            if any(abs(b - y_pt) < _SEARCH_PT for _, b in near):
                y_pt = road.top_pt if y_pt < road.middle_pt else road.bottom_pt
            yield {"is": "search", "at": [round(x_pt, 2), round(y_pt, 2)]}


def _cross_streets(leg: Leg, road: Road) -> Iterator[dict[str, object]]:
    """The sides of each cross street, from the edge of the road outward."""
    scale = road.width_pt / (road.to_m - road.from_m)
    half_pt = min(_STREET_M * scale, _STREET_MOST_PT) / 2
    for one in landmarks_on(leg, road):
        x_pt = road.x_pt(one.along_m)
        edges = {"L": [(road.top_pt, -1)], "R": [(road.bottom_pt, 1)]}
        both = [(road.top_pt, -1), (road.bottom_pt, 1)]
        for edge_pt, way in edges.get(one.side, both):
            end_pt = edge_pt + way * GROUND_PT
            yield area((x_pt - half_pt, min(edge_pt, end_pt), 2 * half_pt, GROUND_PT), fill="white")
            for at_pt in (x_pt - half_pt, x_pt + half_pt):
                yield line((at_pt, edge_pt, at_pt, end_pt), wide=1.6)


def _ticks(leg: Leg, road: Road) -> Iterator[dict[str, object]]:
    for m, _, large in _stations(leg, road)[1]:
        x_pt, long_pt = road.x_pt(m), _LONG_TICK_PT if large else _TICK_PT
        yield line((x_pt, road.top_pt - long_pt, x_pt, road.top_pt), wide=1.2)
        yield line((x_pt, road.bottom_pt, x_pt, road.bottom_pt + long_pt), wide=1.2)


def _band_of_stations(leg: Leg, road: Road, top_pt: float) -> Iterator[dict[str, object]]:
    """Stations and limits above all, with lines down to the road."""
    limits = _limits(leg, road)
    near = [road.x_pt(m) for m, _ in limits]
    texts = [_Text(road.x_pt(m), text, _LARGE_PT) for m, text in limits]
    for m, text, large in _stations(leg, road)[1]:
        x_pt = road.x_pt(m)
        if all(abs(x_pt - limit_pt) > 1.0 for limit_pt in near):
            texts.append(_Text(x_pt, text, _LARGE_PT if large else _SMALL_PT))
    ends = (top_pt + BAND_PT - 9.0, top_pt + BAND_PT)
    yield from _band(texts, top_pt, ends, road.width_pt)
    for one in texts:
        if one.size_pt == _LARGE_PT:
            yield line((one.at_pt, ends[1], one.at_pt, road.top_pt), wide=0.6, grey=_LIGHT)
    for x_pt in near:
        top, bottom = road.top_pt - GROUND_PT, road.bottom_pt + GROUND_PT
        yield line((x_pt, top, x_pt, bottom), wide=4.0)


def _band_of_streets(leg: Leg, road: Road, top_pt: float) -> Iterator[dict[str, object]]:
    """Names of cross streets under all, with lines up to the road."""
    marks = landmarks_on(leg, road)
    texts = [_Text(road.x_pt(one.along_m), one.name, _LARGE_PT) for one in marks]
    yield from _band(texts, top_pt + 9.0, (top_pt + 9.0, top_pt), road.width_pt)
    for one in texts:
        end_pt = road.bottom_pt + GROUND_PT
        yield line((one.at_pt, end_pt, one.at_pt, top_pt), wide=0.6, dash="dotted")


def ground_parts(
    leg: Leg, road: Road, pack: Pack, *, top_pt: float, bottom_pt: float
) -> list[dict[str, object]]:
    """What lies under the things of a strip.

    Parameters
    ----------
    leg
        The leg.
    road
        Its road on paper.
    pack
        For how well it was looked at.
    top_pt, bottom_pt
        Where the bands of stations and of cross streets begin [pt].
    """
    return [
        *_poor(leg, road, pack),
        *_edges(leg, road),
        *_cross_streets(leg, road),
        *_ticks(leg, road),
        *_band_of_stations(leg, road, top_pt),
        *_band_of_streets(leg, road, bottom_pt),
    ]
