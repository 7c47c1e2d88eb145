"""What the crew page keeps: the whole list, by leg, as each pass and each direction meets it.

In goes a ``Pack``, out comes what JSON can hold: the texts of the sheets, with YOUR LEFT and YOUR
RIGHT turned here and nowhere else, and the centerline, on which the phone places itself.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

import numpy as np

from routeprep.listing import Row, rows_by_leg
from routeprep.maps.roads import road, zero_text
from routeprep.plans import Pass
from routeprep.planwords import turned
from routeprep.sealing import seal
from routeprep.shapes import Leg, Pack
from routeprep.sheets.front_page import CAUTIONS
from routeprep.sheets.leg_pages import is_undecided, leg_page, with_withdrawn
from routeprep.sheets.run_pages import in_order, pass_page, pass_places, under_station
from routeprep.spreads import HALF_95, RADIUS_68_IN_SDS
from routeprep.stationing import equation_places, number
from routeprep.surveywords import poor_rows
from routeprep.tables import rows_of
from routeprep.units import to_m
from routeprep.wording import limits_text, shift_text

__all__ = ["crew_list"]

# How far it is to the next thing is said to this: whoever reads it looks up, and paint says the
# rest.  Design of the page.
_STEP = {"us": (25.0, "ft"), "metric": (10.0, "m")}
# Stations of landmarks are rounded to this [the unit's length], as on the sheet.
_LANDMARK_STEP = {"ft": 5.0, "m": 1.0}
# Decimals of degrees (0.01 m) and of metres.
_DEG, _M = 7, 2
_LEFT, _RIGHT = "YOUR LEFT", "YOUR RIGHT"
# How the list words a side, and which it is.
_SIDES = {"left": 0, "left side": 0, "right": 1, "right side": 1}
# Items of a pass that stand between things, as the page has them.
_BETWEEN = {"band": "band", "landmark": "landmark", "lift": "lift", "rule": "landmark"}


class _Way(NamedTuple):
    """A direction along a leg: +1 up-station, -1 down-station, and what it is called."""

    travel: int
    title: str


_WAYS = (_Way(1, "STATIONS COUNT UP"), _Way(-1, "STATIONS COUNT DOWN"))


class _Sheet(NamedTuple):
    """One leg with its rows of the list, and what the sheet says of it."""

    leg: Leg
    rows: Sequence[Row]
    page: Mapping[str, object]
    withdrawn: Sequence[tuple[str, str]]


def _thing(row: Row, said: Mapping[str, object]) -> dict[str, object]:
    """A thing as the sheet says it, whatever the direction."""
    doubt = [f"? {row['doubt']}"] if row["doubt"] else []
    remarks: Sequence[str] = said["remarks"]  # type: ignore[assignment]
    return {
        "anchor": row["anchor_id"],
        "no": row["no"],
        "kind": row["kind"],
        **{name: round(float(row[name]), _M) for name in ("along_m", "from_m", "to_m")},
        "half_m": round(HALF_95 * float(row["along_sd_m"]), _M),
        **{name: round(float(row[name]), _DEG) for name in ("lon_deg", "lat_deg")},
        "station": row["station_text"],
        "plus_minus": row["plus_minus_text"],
        "reference": row["reference_text"],
        "what": row["what_text"],
        "do": said["do"],
        "sub": said["sub"],
        "lift": row["lift_text"],
        "remarks": [*doubt, *remarks],
        "boxed": said["boxed"],
        "undecided": is_undecided(row),
        "struck": said["struck"],
    }


def _things(sheet: _Sheet) -> list[dict[str, object]]:
    """The things of a leg, up-station."""
    blocks: Sequence[Sequence[Mapping[str, object]]] = sheet.page["blocks"]  # type: ignore[assignment]
    said = {item["no"]: item for block in blocks for item in block if item["type"] == "thing"}
    return [_thing(row, said[row["no"]]) for row in sheet.rows]


# ---- The whole leg, in both directions --------------------------------------------------------


def _where(row: Row, way: _Way) -> str:
    """Where across, the side as it is seen by who looks that way."""
    side, comma, rest = str(row["where_text"]).partition(",")
    if side not in _SIDES:
        return str(row["where_text"])
    return f"{turned(way, _LEFT, _RIGHT)[_SIDES[side]]}{comma}{rest}"


def _band(along_m: float, text: str) -> dict[str, object]:
    return {"type": "band", "along_m": round(along_m, _M), "text": text, "under": ""}


def _fixed(leg: Leg, way: _Way) -> Iterator[tuple[float, int, dict[str, object]]]:
    """Limits, equations and landmarks of a leg: along [m], rank among equals up-station, item."""
    zero = f" {zero_text(leg)}".rstrip()
    first, last = turned(way, "CUT BEGINS", "CUT ENDS")
    begin, end = limits_text(leg)
    yield leg.from_m, 0, _band(leg.from_m, f"{first} {begin}{zero}")
    yield leg.to_m, 3, _band(leg.to_m, f"{last} {end}{zero}")
    for along_m, text in equation_places(leg.stationing):
        yield along_m, 1, _band(along_m, f"STATION EQUATION {text}")
    hands = dict(zip("LR", turned(way, _LEFT, _RIGHT), strict=True))
    step = _LANDMARK_STEP[leg.stationing.unit.family]
    for mark in leg.landmarks:
        side = f", on {hands[mark.side]}" if mark.side else ""
        station = number(leg.stationing, mark.along_m, step=step)
        item = _band(mark.along_m, f"{station} {mark.name}{side}") | {"type": "landmark"}
        yield mark.along_m, 1, item


def _whole(sheet: _Sheet, way: _Way) -> list[dict[str, object]]:
    """All that stands on a leg, in the order met."""
    things = (
        (
            float(row["along_m"]),
            2,
            {
                "type": "thing",
                "thing": at,
                "no": row["no"],
                "where": _where(row, way),
                "under": under_station(row, travel=way.travel),
            },
        )
        for at, row in enumerate(sheet.rows)
    )
    placed = sorted([*_fixed(sheet.leg, way), *things], key=lambda one: one[:2])
    items = list(with_withdrawn((item for _, _, item in placed), sheet.withdrawn))
    return items if way.travel > 0 else items[::-1]


def _whole_way(sheet: _Sheet, way: _Way) -> dict[str, object]:
    """A whole leg in one direction."""
    page, ends = sheet.page, turned(way, *limits_text(sheet.leg))
    zero = f" {zero_text(sheet.leg)}".rstrip()
    said = (page["cut"], page["counts"], page["line"])
    return {
        "pass": "",
        "travel": way.travel,
        "title": f"WHOLE STREET, {way.title}",
        "from_to": f"{' → '.join(ends)}{zero}",
        "head": [str(text) for text in said if text],
        "items": _whole(sheet, way),
    }


# ---- A pass ----------------------------------------------------------------------------------


def _met(item: Mapping[str, object], at: int) -> dict[str, object]:
    """What the run sheet says of a thing."""
    drum: Mapping[str, object] = item["drum"]  # type: ignore[assignment]
    return {
        "type": "thing",
        "thing": at,
        "where": drum["words"],
        "under": item["under_station"],
        **{name: item[name] for name in ("no", "do", "sub", "lift", "boxed")},
    }


def _passed(sheet: _Sheet, one: Pass, pack: Pack) -> Iterator[dict[str, object]]:
    """All that stands on the pages of a pass, in the order met."""
    by_anchor = {str(row["anchor_id"]): row for row in sheet.rows}
    order = {row["no"]: at for at, row in enumerate(sheet.rows)}
    for place in pass_places(one, pack, sheet.leg, by_anchor):
        item = place.item
        if item["type"] == "thing":
            yield _met(item, order[str(item["no"])])
        else:
            text = _band(place.along_m, str(item["text"])) | {"under": item.get("under", "")}
            yield text | {"type": _BETWEEN[str(item["type"])]}


def _pass_way(sheet: _Sheet, one: Pass, pack: Pack) -> dict[str, object]:
    """A pass: its direction is that of the plan of work."""
    by_anchor = {str(row["anchor_id"]): row for row in sheet.rows}
    page = pass_page(one, pack, sheet.leg, by_anchor)
    edges: Sequence[Mapping[str, str]] = page["edges"]  # type: ignore[assignment]
    flags: Sequence[str] = page["flags"]  # type: ignore[assignment]
    head = [
        *(["AGAINST TRAFFIC"] if one.against else []),
        f"{page['machine']}, {page['width']} wide",
        *(f"{edge['hand']}: {edge['side']}, {edge['depth']}" for edge in edges),
        *flags,
        str(page["counts"]),
    ]
    return {
        "pass": one.code,
        "travel": one.travel,
        "title": f"{page['title']}, {page['direction']}",
        "from_to": page["from_to"],
        "head": head,
        "items": list(_passed(sheet, one, pack)),
    }


# ---- The whole -------------------------------------------------------------------------------


def _line(leg: Leg) -> list[list[float]]:
    """The centerline: longitude and latitude [deg] and along [m] of each vertex."""
    line = leg.line
    columns = (
        np.round(line.lon_deg, _DEG), np.round(line.lat_deg, _DEG), np.round(line.along_m, _M),
    )  # fmt: skip
    return [[float(value) for value in vertex] for vertex in np.column_stack(columns)]


def _leg(sheet: _Sheet, pack: Pack) -> dict[str, object]:
    leg = sheet.leg
    drawn = road(leg, units=pack.settings.units)
    passes = [one for one in in_order(pack) if one.leg == leg.settings.code]
    poor = [f"{stretch}: {why}" for code, stretch, why in poor_rows(pack)
            if code == leg.settings.code]  # fmt: skip
    return {
        **{name: drawn[name] for name in ("code", "name", "zero", "per_station", "digits")},
        "unit": leg.stationing.unit.length,
        "unit_m": leg.stationing.unit.length_m,
        # From and to along [m], both written values [the unit], and which region of equations.
        "pieces": drawn["pieces"],
        "line": _line(leg),
        "poor": poor,
        "things": _things(sheet),
        "ways": [
            *(_whole_way(sheet, way) for way in _WAYS),
            *(_pass_way(sheet, one, pack) for one in passes),
        ],
    }


def _sheets(pack: Pack) -> Iterator[_Sheet]:
    listed, gone = rows_by_leg(pack), list(rows_of(pack.withdrawn))
    for leg in pack.legs:
        rows = listed[leg.settings.code]
        withdrawn = [(row["no"], row["why"]) for row in gone if row["leg"] == leg.settings.code]
        yield _Sheet(leg, rows, leg_page(leg, rows, pack), withdrawn)


def crew_list(pack: Pack) -> dict[str, object]:
    """What the crew page keeps of a job, in the order of the sheets.

    Parameters
    ----------
    pack
        The job as it stands.
    """
    settings, defaults = pack.settings, pack.settings.defaults
    step, unit = _STEP[settings.units]
    codes = {leg.settings.code for leg in pack.legs}
    return {
        "job": settings.name,
        "number": settings.number,
        "shift": shift_text(settings.date, night=settings.briefing.night),
        "revision": settings.revision,
        "seal": seal(pack),
        "draft": list(pack.draft),
        "cautions": list(CAUTIONS),
        "step": step,
        "unit": unit,
        "unit_m": to_m(1.0, unit),
        "gps": {
            # The radius that a phone reports is taken as 68 %; said is half of 95 % along.
            "half_per_radius": HALF_95 / RADIUS_68_IN_SDS,
            "poor_m": defaults.poor_accuracy_m,
            "corridor_m": defaults.road_corridor_m,
            "runner_up_within_m": defaults.runner_up_within_m,
            "runner_up_apart_m": defaults.runner_up_apart_m,
        },
        "legs": [_leg(sheet, pack) for sheet in _sheets(pack)],
        # Of legs that the job has no more; all others stand in their leg's list.
        "withdrawn": [
            {"no": row["no"], "why": row["why"]}
            for row in rows_of(pack.withdrawn)
            if row["leg"] not in codes
        ],
    }
