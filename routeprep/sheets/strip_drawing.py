"""One strip of road with all that stands on it, drawn as plain data.

In go a stretch of a leg with its rows of the list, out come the parts of the drawing, in the
order in which they are drawn, and the same in words.
"""

from collections.abc import Iterator
from dataclasses import replace

from routeprep.kinds import GROUPS, NO_THINGS
from routeprep.listing import Row
from routeprep.shapes import Leg, Pack
from routeprep.sheets.strip_ground import (
    BAND_PT,
    GROUND_PT,
    ground_parts,
    landmarks_on,
    search_parts,
)
from routeprep.sheets.strip_labels import WIDTH_PT, Stretch, side_parts, sides_of
from routeprep.sheets.strip_shapes import Road, area, line, sign
from routeprep.stationing import number

__all__ = ["SIGNED", "drawn", "road_of"]

# The groups that have a sign, in the order of the signs.
SIGNED = tuple(group for group in GROUPS if group not in NO_THINGS)

_SIGN_PT = 7.0
# A thing at least this long is drawn as a reach [m].
_REACH_M = 1.5
_EVERYWHERE = "whole road"
_SIDES = {"L": "left", "R": "right", "C": "on the line", "": "side not sure"}
# Stations in words are rounded to this [the unit's length].
_STEP = {"ft": 5.0, "m": 1.0}


def road_of(stretch: Stretch, leg: Leg) -> Road:
    """The road of a stretch on paper, its left edge at the top.

    Parameters
    ----------
    stretch, leg
        Which stretch of which leg.
    """
    said = leg.settings
    return Road(
        from_m=stretch.from_m,
        to_m=stretch.to_m,
        lanes_left=said.lanes_left,
        lanes_right=said.lanes_right,
        lane_width_m=said.lane_width_m,
        width_pt=WIDTH_PT,
    )


def _place(row: Row, road: Road) -> tuple[float, float]:
    """Where the sign of a thing is [pt]."""
    y_pt = road.y_pt(str(row["lane"]), int(row["box"]), float(row["offset_m"]))
    if row["across"] == _EVERYWHERE:
        y_pt = road.middle_pt
    return road.x_pt(float(row["along_m"])), y_pt


def _reaches(stretch: Stretch, leg: Leg, road: Road, pack: Pack) -> Iterator[dict[str, object]]:
    """Bands of what is long, on every strip that it reaches into."""
    mine = pack.obstructions[pack.obstructions["leg"] == leg.settings.code]
    columns = [mine[name].tolist() for name in ("from_m", "to_m", "lane", "across")]
    for from_m, to_m, lane, across in zip(*columns, strict=True):
        left, right = road.x_pt(float(from_m)), road.x_pt(float(to_m))
        if to_m - from_m >= _REACH_M and right > left:
            top, bottom = road.across(str(lane), whole=across == _EVERYWHERE)
            yield area((left, top, right - left, bottom - top), fill="grey", wide=0.8)
    for row in stretch.rows:
        if row["across"] == _EVERYWHERE and row["to_m"] - row["from_m"] < _REACH_M:
            x_pt = road.x_pt(float(row["along_m"]))
            yield line((x_pt, road.top_pt, x_pt, road.bottom_pt), wide=3.0)


def _sign(row: Row, road: Road, pack: Pack) -> dict[str, object]:
    x_pt, y_pt = _place(row, road)
    unsure = "lane not sure" in row["doubt"]
    return sign(
        SIGNED.index(pack.settings.kinds.kinds[row["kind"]].group),
        x_pt,
        y_pt,
        radius_pt=_SIGN_PT,
        hollow=row["times_seen"] == 0 or bool(row["struck"]),
        unsure=unsure,
    )


def _words(stretch: Stretch, leg: Leg, road: Road) -> str:
    """The strip as it is read aloud."""
    step = _STEP[leg.stationing.unit.family]
    ends = [number(leg.stationing, m, step=step) for m in (stretch.from_m, stretch.to_m)]
    streets = ", ".join(
        f"{one.name} at {number(leg.stationing, one.along_m, step=step)}"
        for one in landmarks_on(leg, road)
    )
    things = " ".join(
        f"{row['no']} at {row['station_text']}, {_SIDES[row['side']]}, {row['what_text']}: "
        f"{row['status'] if row['struck'] else row['do_text']}."
        for row in stretch.rows
    )
    crossing = f" Cross streets: {streets}." if streets else ""
    return f"Leg {leg.settings.code}, {ends[0]} to {ends[1]}.{crossing} {things or 'Nothing.'}"


def drawn(stretch: Stretch, leg: Leg, pack: Pack) -> dict[str, object]:
    """One strip: its height, its parts from the lowest to the topmost, and its words.

    Parameters
    ----------
    stretch, leg
        Which stretch of which leg.
    pack
        The pack.
    """
    flat = road_of(stretch, leg)
    above, below = sides_of(stretch.rows, flat)
    road = replace(flat, top_pt=BAND_PT + above.high_pt() + GROUND_PT)
    edges_pt = (road.top_pt - GROUND_PT, road.bottom_pt + GROUND_PT)
    bottom_pt = edges_pt[1] + below.high_pt() + 2.0
    both = [
        side_parts(side, [_place(one.row, road) for one in side.labels], edge_pt)
        for side, edge_pt in zip((above, below), edges_pt, strict=True)
    ]
    parts = [
        *ground_parts(leg, road, pack, top_pt=0.0, bottom_pt=bottom_pt),
        *_reaches(stretch, leg, road, pack),
        *search_parts(leg, road, pack, [_place(row, road) for row in stretch.rows]),
        *(leader for leaders, _ in both for leader in leaders),
        *(_sign(row, road, pack) for row in stretch.rows),
        *(label for _, labels in both for label in labels),
    ]
    high_pt = bottom_pt + (BAND_PT if landmarks_on(leg, road) else 2.0)
    return {"high": round(high_pt, 2), "parts": parts, "words": _words(stretch, leg, road)}
