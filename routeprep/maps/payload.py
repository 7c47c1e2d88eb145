"""What the map's script draws and lists, as plain data.

In goes a ``Pack``, out comes a dictionary that JSON can hold: places in degrees, and texts as the
sheet prints them.  Nothing in it is markup.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd
import shapely

from routeprep.coverage import poorly
from routeprep.daychecks import DayChecks, day_checks, foot_line
from routeprep.daychecks import words_of as check_words
from routeprep.kinds import GROUPS, NO_THINGS, Kind
from routeprep.linewords import stretch_text
from routeprep.listing import Row, rows_by_leg
from routeprep.locating import place as located
from routeprep.maps.roads import place, road, simplified, stretch, zero_text
from routeprep.numbering import number_key
from routeprep.outlines import outline_deg
from routeprep.plans import Pass
from routeprep.planwords import pass_text
from routeprep.reviewing import Reviewed, accepted_texts, reviewed
from routeprep.reviewing import words_of as review_words
from routeprep.shapes import Leg, Pack
from routeprep.stationing import number
from routeprep.tables import rows_of
from routeprep.wording import height_text, shift_text

__all__ = ["payload"]

# Groups that are drawn: all but those whose marks are no things in the road.
_GROUPS = tuple(group for group in GROUPS if group not in NO_THINGS)

# Drives are drawn faintly, within this of their fixes, in degrees of some 111 km: 1 m.  Common
# practice, no source.
_DRIVE_WITHIN_DEG = 1.0 / 111_000

# Drives are drawn with no more vertices than this, so that a phone keeps up; coarser if need be.
_DRIVE_VERTICES = 20_000

# Outlines of passes are drawn within this, in degrees of some 111 km: 0.1 m; their names may stand
# at each multiple of the second value along [m].  Common practice, no source.
_PASS_WITHIN_DEG = 0.1 / 111_000
_NAME_EACH_M = 25.0

# Of what is left off the list for one reason, so many are named; the sheet's back pages name all.
_NAMED = 100

_SIDES = {"L": "left side", "R": "right side", "C": "on the line", "": ""}


def _state(row: Row) -> dict[str, object]:
    """How a thing is drawn and by what it can be picked out, each 0 or 1."""
    struck = bool(row["struck"])
    status = str(row["status"])
    undecided = not row["decided_by"] and not struck
    stop = bool(row["decided_by"]) and not struck and str(row["do_text"]).startswith("STOP")
    return {
        "stop": int(stop),
        "undecided": int(undecided),
        "hollow": int(status.startswith("in a file")),
        "broken": int("lane not sure" in str(row["doubt"])),
        "lowered": int(status.startswith("lowered")),
        "struck": int(struck),
    }


def _thing(row: Row, kind: Kind, leg: Leg, *, units: str) -> dict[str, object]:
    from_m, to_m = float(row["from_m"]), float(row["to_m"])
    return {
        "id": row["anchor_id"],
        "no": row["no"],
        "leg": row["leg"],
        "code": row["kind"],
        "group": _GROUPS.index(kind.group),
        "colour": kind.colour,
        "lat": round(float(row["lat_deg"]), 6),
        "lon": round(float(row["lon_deg"]), 6),
        "along": round(float(row["along_m"]), 2),
        "station": row["station_text"],
        "pm": row["plus_minus_text"],
        "landmark": row["landmark_text"],
        "reference": row["reference_text"],
        "stretch": row["ends_text"],
        "what": row["what_text"],
        "where": row["where_text"],
        "do": row["do_text"],
        "lift": row["lift_text"],
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
        "span": stretch(leg.line, from_m, to_m) if from_m < to_m else [],
    } | _state(row)


def _remarked(day: DayChecks, found: Reviewed) -> dict[str, dict[str, object]]:
    """Each thing's anchor to what was said of it: its reviews, and what was found on the day."""
    said: dict[str, list[str]] = {}
    for line in found.things:
        said.setdefault(line.subject, []).append(review_words(line))
    return {
        one.subject: {"reviews": said.get(one.subject, []), "check": check_words(one)}
        for one in day.things
    }


def _things(
    pack: Pack,
    legs: Mapping[str, Leg],
    listed: Mapping[str, list[Row]],
    remarked: Mapping[str, dict[str, object]],
) -> dict[str, Any]:
    """A row a thing, in the order of the sheet: the columns' names once, then the rows."""
    kinds, units = pack.settings.kinds.kinds, pack.settings.units
    made = [
        _thing(row, kinds[row["kind"]], legs[code], units=units) | remarked[row["anchor_id"]]
        for code, mine in listed.items()
        for row in mine
    ]
    names = list(made[0]) if made else []
    return {"names": names, "rows": [list(one.values()) for one in made]}


def _with_landmarks(leg: Leg, rows: Sequence[Row]) -> Iterator[tuple[str, int]]:
    """Rows and landmarks by turns, in order along: what it is and which."""
    places = [
        *((mark.along_m, 0, i) for i, mark in enumerate(leg.landmarks)),
        *((float(row["along_m"]), 1, i) for i, row in enumerate(rows)),
    ]
    for _, rank, i in sorted(places):
        yield ("thing" if rank else "landmark"), i


def _entries(
    leg: Leg, rows: Sequence[Row], gone: Sequence[Mapping[str, Any]]
) -> list[list[object]]:
    """A leg's list from top to bottom: things, landmarks, and numbers no longer alone.

    A thing and a landmark are told by their place among the leg's own, a number by itself and
    why.  As on the sheet, a number stands before the first thing with a higher one.
    """
    waiting = sorted(gone, key=lambda one: number_key(str(one["no"])))
    entries: list[list[object]] = []
    for what, i in _with_landmarks(leg, rows):
        while (
            what == "thing"
            and waiting
            and number_key(str(waiting[0]["no"])) < number_key(str(rows[i]["no"]))
        ):
            one = waiting.pop(0)
            entries.append(["withdrawn", one["no"], one["why"]])
        entries.append([what, i])
    return entries + [["withdrawn", one["no"], one["why"]] for one in waiting]


def _poor(row: Mapping[str, Any], leg: Leg) -> dict[str, object]:
    """A stretch that was poorly looked at, with a place in its middle for its words."""
    from_m, to_m = float(row["from_m"]), float(row["to_m"])
    return {
        "leg": row["leg"],
        "stretch": stretch_text(leg, from_m, to_m),
        "why": row["reason"],
        "span": stretch(leg.line, from_m, to_m),
        "at": place(leg.line, (from_m + to_m) / 2),
    }


def _look(row: Mapping[str, Any], leg: Leg) -> dict[str, object]:
    """A place to look again: a station, or a stretch."""
    from_m, to_m = float(row["from_m"]), float(row["to_m"])
    step = 5 if leg.stationing.unit.family == "ft" else 1
    station = f"{number(leg.stationing, float(row['along_m']), step=step)} {zero_text(leg)}"
    long = from_m < to_m
    return {
        "leg": row["leg"],
        "station": stretch_text(leg, from_m, to_m) if long else station.rstrip(),
        "side": _SIDES[row["side"]],
        "what": row["what"],
        "why": row["why"],
        "owner": row["owner"],
        "no": row["no"],
        "at": [round(float(row["lat_deg"]), 6), round(float(row["lon_deg"]), 6)],
        "span": stretch(leg.line, from_m, to_m) if long else [],
    }


def _unsorted(row: Mapping[str, Any]) -> dict[str, object]:
    known = math.isfinite(row["lat_deg"]) and math.isfinite(row["lon_deg"])
    return {
        "words": row["words"],
        "why": row["why"],
        "looks_like": row["looks_like"],
        "source": row["source"],
        "at": [round(row["lat_deg"], 6), round(row["lon_deg"], 6)] if known else [],
    }


def _elsewhere(table: pd.DataFrame) -> list[dict[str, object]]:
    """What is left off the list, by file and reason: how many, and the first names."""
    return [
        {"source": source, "why": why, "count": len(group), "names": list(group["name"][:_NAMED])}
        for (source, why), group in table.groupby(["source", "why"], sort=True)
    ]


def _drives(fixes: pd.DataFrame) -> list[list[int]]:
    pieces = [
        shapely.LineString(piece[["lon_deg", "lat_deg"]].to_numpy())
        for _, piece in fixes.groupby(["drive_id", "piece"], sort=True)
        if len(piece) > 1
    ]
    within_deg = _DRIVE_WITHIN_DEG
    drawn = simplified(pieces, within_deg)
    # Two whole numbers a vertex; a piece never has fewer than two vertices.
    most = 2 * max(_DRIVE_VERTICES, 2 * len(pieces))
    while sum(len(line) for line in drawn) > most:
        within_deg *= 2
        drawn = simplified(pieces, within_deg)
    return drawn


def _pass(one: Pass, leg: Leg) -> dict[str, object]:
    """A pass: its outline, its words, and places in its middle where they may stand."""
    outline = shapely.LineString(np.column_stack(outline_deg(one, leg)))
    first_m, last_m = float(one.along_m[0]), float(one.along_m[-1])
    count = max(int((last_m - first_m) // _NAME_EACH_M), 1)
    at_m = first_m + (np.arange(count) + 0.5) * (last_m - first_m) / count
    middle_m = np.interp(at_m, one.along_m, (one.left_m + one.right_m) / 2)
    lon_deg, lat_deg = located(leg.line, at_m, middle_m)
    return {
        "leg": one.leg,
        "words": pass_text(one),
        "way": "stations count up" if one.travel > 0 else "stations count down",
        "against": int(one.against),
        "ring": simplified([outline], _PASS_WITHIN_DEG)[0],
        "names": [
            [round(float(lat), 6), round(float(lon), 6)]
            for lat, lon in zip(lat_deg, lon_deg, strict=True)
        ],
    }


def _bounds(pack: Pack) -> list[list[float]]:
    """South-west and north-east corner of the legs and the things, latitude first [deg]."""
    things = pack.obstructions
    lat_deg = np.concatenate([*(leg.line.lat_deg for leg in pack.legs), things["lat_deg"]])
    lon_deg = np.concatenate([*(leg.line.lon_deg for leg in pack.legs), things["lon_deg"]])
    corners = ((lat_deg.min(), lon_deg.min()), (lat_deg.max(), lon_deg.max()))
    return [[round(float(value), 6) for value in corner] for corner in corners]


def _job(pack: Pack) -> dict[str, object]:
    settings = pack.settings
    return {
        "name": settings.name,
        "number": settings.number,
        "revision": settings.revision,
        "shift": shift_text(settings.date, night=settings.briefing.night),
        "units": settings.units,
    }


def _said(pack: Pack, day: DayChecks, found: Reviewed) -> dict[str, list[str]]:
    """What was said of no thing on the map: of the whole list, limits, streets, and things gone."""
    others = [one for one in (*day.limits, *day.streets) if one.said or one.aside]
    return {
        "reviews": [
            *accepted_texts(found),
            *(f"{line.no}: {review_words(line)}" for line in found.whole),
            *(f"not on this list: {review_words(line)}" for line in found.astray),
        ],
        "checks": [
            foot_line(pack),
            *(f"{one.name}: {check_words(one)}" for one in others),
            *(f"not on this list: {check_words(one)}" for one in day.astray),
        ],
    }


def payload(pack: Pack) -> dict[str, object]:
    """Everything the map's script draws and lists, in the order of the sheet.

    Lines are whole micro-degrees, latitude first, the start and then the steps; other places are
    latitude and longitude [deg].
    """
    legs = {leg.settings.code: leg for leg in pack.legs}
    listed, units = rows_by_leg(pack), pack.settings.units
    gone = {
        code: [row for row in rows_of(pack.withdrawn) if row["leg"] == code] for code in legs
    }  # fmt: skip
    tiles, day, found = pack.settings.tiles, day_checks(pack), reviewed(pack)
    return {
        "job": _job(pack),
        "draft": list(pack.draft),
        "tiles": {"address": tiles.address, "credit": tiles.credit} if tiles else None,
        "bounds": _bounds(pack),
        "groups": list(_GROUPS),
        "legs": [
            road(leg, units=units) | {"entries": _entries(leg, listed[code], gone[code])}
            for code, leg in legs.items()
        ],
        "drives": _drives(pack.fixes),
        "passes": [_pass(one, legs[one.leg]) for one in pack.plan.passes],
        "poor": [_poor(row, legs[row["leg"]]) for row in rows_of(poorly(pack.coverage, pack.legs))],
        "look": [_look(row, legs[row["leg"]]) for row in rows_of(pack.search)],
        "things": _things(pack, legs, listed, _remarked(day, found)),
        "said": _said(pack, day, found),
        "unsorted": [_unsorted(row) for row in rows_of(pack.unsorted)],
        "elsewhere": _elsewhere(pack.elsewhere),
        "credits": sorted({mark.credit for leg in pack.legs for mark in leg.landmarks} - {""}),
        # Of legs that the job has no more; all others stand in their leg's list.
        "withdrawn": [
            {"no": row["no"], "why": row["why"]}
            for row in rows_of(pack.withdrawn)
            if row["leg"] not in legs
        ],
    }
