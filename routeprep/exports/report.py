"""``report.json``: what the pack holds and what it was made from, for machines.

In goes a ``Pack``, out comes JSON with sorted keys: counts, lengths, factors, defaults used,
findings, versions and input checksums.  Nothing in it depends on the clock or the machine.
"""

import dataclasses
import json
from collections import Counter
from collections.abc import Iterable, Mapping
from importlib import metadata
from typing import Any

import numpy as np
import pandas as pd

from routeprep import __version__
from routeprep.coverage import poorly
from routeprep.designed import Factors, factors
from routeprep.estimates import FileShift, Lateness, Missed
from routeprep.exports.cells import rounded
from routeprep.exports.remarked import remark_counts, remarks_told
from routeprep.geodesy import ground_factor
from routeprep.lines import Centerline, Tie
from routeprep.roadform import Curve, Grade, SightSpot
from routeprep.shapes import DriveFacts, Finding, Leg, Pack, Source
from routeprep.spreads import HALF_95
from routeprep.stationing import equation_places, label
from routeprep.tables import rows_of
from routeprep.whywords import why_shorts

__all__ = ["FORMAT", "report_text"]

# Version of the report's format.
FORMAT = 1

# The libraries that make or move a number or a byte.
_LIBRARIES = (
    "folium",
    "fonttools",
    "geopandas",
    "gpxpy",
    "numpy",
    "pandas",
    "pyogrio",
    "pyproj",
    "scipy",
    "shapely",
    "typst",
)

_STATION_LENGTH = (
    "horizontal ground distance: the geodesic length of each segment of the centerline "
    "(WGS 84) times 1 + h/R, h the leg's elevation and R the Earth's mean radius; on a designed "
    "alignment the plan's own distances in its plane, with what they are on the ground under grid"
)

_LEVELS = ("fault", "doubt", "note")


def _tie(tie: Tie) -> dict[str, object]:
    return {
        "along_m": rounded(tie.along_m, 3),
        "station": tie.station,
        "kind": tie.kind,
        "by": tie.by,
        "residual_m": rounded(tie.residual_m, 3),
        "stretch": rounded(tie.stretch_share, 7),
        "forced_by": tie.forced_by,
    }


def _grid(line: Centerline, found: Factors | None) -> dict[str, object] | None:
    """The plane of a designed alignment, and its factors: grid over ellipsoid over ground."""
    if found is None:
        return None
    return {
        "crs": line.crs,
        "datum_operation": line.datum_operation,
        "declared_length_m": rounded(found.declared_m, 3),
        "ground_length_m": rounded(found.ground_m, 3),
        "scale": rounded(found.grid_scale, 9),
        "elevation_factor": rounded(found.elevation_factor, 9),
        "combined_factor": rounded(found.combined, 9),
    }


def _stretch(leg: Leg, from_m: float, to_m: float) -> dict[str, object]:
    return {
        "from_m": rounded(from_m, 2),
        "to_m": rounded(to_m, 2),
        "from_station": label(leg.stationing, from_m),
        "to_station": label(leg.stationing, to_m),
    }


def _curve(curve: Curve, leg: Leg) -> dict[str, object]:
    """A curve from PC to PT; ± are 95 %, null for an end that was not seen."""
    return _stretch(leg, curve.from_m, curve.to_m) | {
        "radius_m": rounded(curve.radius_m, 3),
        "direction": curve.direction,
        "deflection_deg": rounded(curve.deflection_deg, 5),
        "spiral_in_m": rounded(curve.spiral_in_m, 3),
        "spiral_out_m": rounded(curve.spiral_out_m, 3),
        "plus_minus": {
            "from_m": rounded(HALF_95 * curve.from_sd_m, 2),
            "to_m": rounded(HALF_95 * curve.to_sd_m, 2),
            "radius_m": rounded(HALF_95 * curve.radius_sd_m, 2),
            "deflection_deg": rounded(HALF_95 * curve.deflection_sd_deg, 3),
        },
    }


def _grade(grade: Grade, leg: Leg) -> dict[str, object]:
    return _stretch(leg, grade.from_m, grade.to_m) | {
        "grade": rounded(grade.grade_share, 5),
        "plus_minus": rounded(HALF_95 * grade.grade_sd_share, 5),
    }


def _sight(spot: SightSpot, leg: Leg) -> dict[str, object]:
    """A place to look at; ``curve`` counts the leg's curves from 0, null for none."""
    return _stretch(leg, spot.from_m, spot.to_m) | {
        "travel": spot.travel,
        "hidden_by": spot.side,
        "seen_m": rounded(spot.available_m, 2),
        "needed_m": rounded(spot.needed_m, 2),
        "grade": rounded(spot.grade_share, 5),
        "curve": spot.curve if spot.curve >= 0 else None,
    }


def _leg(leg: Leg) -> dict[str, object]:
    line, stationing = leg.line, leg.stationing
    factor, found = ground_factor(line.elevation_m), factors(line)
    ground_m = found.ground_m if found else line.length_m
    return {
        "code": leg.settings.code,
        "name": leg.settings.name,
        "made_from": line.made_from,
        "vertices": len(line.lon_deg),
        "length_m": rounded(line.length_m, 3),
        "geodesic_length_m": rounded(ground_m / factor, 3),
        "elevation_m": rounded(line.elevation_m, 2),
        "factor": rounded(factor, 9),
        "grid": _grid(line, found),
        "plus_minus_across_m": {
            "median": rounded(HALF_95 * float(np.median(line.sd_m)), 2),
            "worst": rounded(HALF_95 * float(line.sd_m.max()), 2),
        },
        "unit": stationing.unit.name,
        "zero": stationing.zero,
        "start_station": label(stationing, 0.0),
        "end_station": label(stationing, line.length_m),
        "equations": [
            {"along_m": rounded(along_m, 3), "text": text}
            for along_m, text in equation_places(stationing)
        ],
        "ties": [_tie(tie) for tie in leg.ties],
        "mile_markers": [
            {"along_m": rounded(along_m, 3), "miles": miles} for along_m, miles in leg.markers
        ],
        "curves": [_curve(curve, leg) for curve in leg.curves],
        "grades": [_grade(grade, leg) for grade in leg.grades],
        "sight": [_sight(spot, leg) for spot in leg.sight],
        "cut": _stretch(leg, leg.from_m, leg.to_m),
    }


def _drive(drive: DriveFacts) -> dict[str, object]:
    """One drive; times in UTC, null where it has none."""
    begin, end = drive.begin_utc, drive.end_utc
    return {
        "id": drive.drive_id,
        "name": drive.name,
        "by": drive.by,
        "fixes": drive.fixes,
        "begin_utc": begin.isoformat() if begin else None,
        "end_utc": end.isoformat() if end else None,
        "lasted_s": rounded((end - begin).total_seconds(), 3) if begin and end else None,
        "length_m": rounded(drive.length_m, 2),
        "stood_s": rounded(drive.stood_s, 1) if begin else None,
        "accuracy_m": rounded(drive.accuracy_m, 2),
        "plus_minus_m": rounded(HALF_95 * drive.sd_m, 2),
        "gaps": drive.gaps,
    }


def _looks(pack: Pack) -> list[dict[str, object]]:
    """How often each stretch was looked at, by leg, then along."""
    legs = {leg.settings.code: leg for leg in pack.legs}
    return [
        {"leg": row["leg"]}
        | _stretch(legs[row["leg"]], row["from_m"], row["to_m"])
        | {name: row[name] for name in ("looks_up", "looks_down", "looks_day", "looks_night")}
        | {
            "lanes": row["lanes"],
            "fastest_mps": rounded(row["fastest_mps"], 2),
            "plus_minus_m": rounded(HALF_95 * row["worst_sd_m"], 2),
            "reason": row["reason"],
        }
        for row in rows_of(pack.coverage)
    ]


def _poorly(pack: Pack) -> list[dict[str, object]]:
    """What of the cut was poorly looked at, and why."""
    legs = {leg.settings.code: leg for leg in pack.legs}
    return [
        {"leg": row["leg"], "reason": row["reason"]}
        | _stretch(legs[row["leg"]], row["from_m"], row["to_m"])
        for row in rows_of(poorly(pack.coverage, pack.legs))
    ]


def _look(row: Mapping[str, Any]) -> dict[str, object]:
    """One look as evidence; ``apart_m`` is from the thing's place, up-station positive."""
    when = row["time_utc"]
    texts = (
        "item_id", "what", "part", "kind", "words", "method", "person", "drive_id", "source",
        "travel", "lane", "position", "why",
    )  # fmt: skip
    numbers = ("along_m", "offset_m", "apart_m", "speed_mps", "late_m")
    return (
        {name: row[name] for name in texts}
        | {name: rounded(row[name], 2) for name in numbers}
        | {
            "time_utc": None if pd.isna(when) else when.isoformat(),
            "plus_minus_m": rounded(HALF_95 * row["along_sd_m"], 2),
            "plus_minus_across_m": rounded(HALF_95 * row["offset_sd_m"], 2),
        }
    )


def _evidence(pack: Pack) -> list[dict[str, object]]:
    """What each thing rests on and what near it is another thing, in the order of the list."""
    looks: dict[str, list[dict[str, object]]] = {}
    for row in rows_of(pack.evidence):
        looks.setdefault(row["anchor_id"], []).append(_look(row))
    things, shorts = pack.obstructions, why_shorts(pack)
    return [
        {
            "no": no,
            "anchor_id": anchor_id,
            "text": shorts.get(anchor_id, ""),
            "looks": looks.get(anchor_id, []),
        }
        for no, anchor_id in zip(things["no"], things["anchor_id"], strict=True)
    ]


def _late(late: Lateness) -> dict[str, object]:
    """How late one person taps; at a speed v that is ``late_s`` * v - ``lead_m``."""
    return {
        "person": late.person,
        "late_s": rounded(late.late_s, 3),
        "lead_m": rounded(late.lead_m, 2),
        "plus_minus": {
            "late_s": rounded(HALF_95 * late.late_sd_s, 3),
            "lead_m": rounded(HALF_95 * late.lead_sd_m, 2),
        },
        "late_lead_covariance_sm": rounded(late.late_lead_sm, 5),
        "tap_spread_s": rounded(late.tap_sd_s, 3),
        "things": late.things,
        "told_by_the_data": late.told,
        "text": late.text,
    }


def _shift(shift: FileShift) -> dict[str, object]:
    """How far one file lies off."""
    return {
        "source": shift.source,
        "east_m": rounded(shift.east_m, 3),
        "north_m": rounded(shift.north_m, 3),
        "plus_minus": {
            "east_m": rounded(HALF_95 * shift.east_sd_m, 3),
            "north_m": rounded(HALF_95 * shift.north_sd_m, 3),
        },
        "east_north_covariance_m2": rounded(shift.east_north_m2, 5),
        "pairs": shift.pairs,
        "applied": shift.applied,
        "text": shift.text,
    }


def _missed(missed: Missed) -> dict[str, object]:
    """How many things were probably missed; ``interval`` is that of 95 %."""
    return {
        "what": missed.what,
        "looks": missed.looks,
        "seen": missed.seen,
        "estimate": rounded(missed.estimate, 2),
        "interval": [rounded(missed.low, 2), rounded(missed.high, 2)],
        "method": missed.method,
        "text": missed.text,
    }


def _search(pack: Pack) -> dict[str, object]:
    """How many places there are to look at again, by what and by why."""
    search = pack.search
    return {
        "all": len(search),
        "by_leg": _tally(search["leg"]),
        "by_what": _tally(search["what"]),
        "by_why": _tally(search["why"]),
    }


def _tally(values: Iterable[object]) -> dict[str, int]:
    return dict(Counter(str(value) for value in values))


def _counts(pack: Pack) -> dict[str, object]:
    things, kinds = pack.obstructions, pack.settings.kinds.kinds
    return {
        "obstructions": {
            "all": len(things),
            "by_leg": {leg.settings.code: 0 for leg in pack.legs} | _tally(things["leg"]),
            "by_status": _tally(status.split(" (")[0] for status in things["status"]),
            "by_group": _tally(kinds[code].group for code in things["kind"]),
            "in_doubt": int((things["doubt"] != "").sum()),
            "undecided": int((things["decided_by"] == "").sum()),
        },
        "drives": int(pack.fixes["drive_id"].nunique()),
        "fixes": len(pack.fixes),
        "marks": len(pack.marks),
        "records": len(pack.records),
        "unsorted": len(pack.unsorted),
        "elsewhere": len(pack.elsewhere),
        "withdrawn": len(pack.withdrawn),
        "numbers": len(pack.numbers),
        "decisions": len(pack.decisions),
    } | remark_counts(pack)


def _source(source: Source) -> dict[str, object]:
    return {
        "name": source.name,
        "what": source.what,
        "sha256": source.sha256,
        "taken": dict(source.taken),
        "skipped": dict(source.skipped),
    }


def _rank(finding: Finding) -> tuple[int, str, str]:
    return _LEVELS.index(finding.level), finding.where, finding.text


def report_text(pack: Pack) -> str:
    """``report.json`` of a pack, with sorted keys; lengths in metres, unknown numbers null.

    It says what kind of length the stations are, and lists the findings worst first.
    """
    settings = pack.settings
    report = {
        "format": FORMAT,
        "versions": {"routeprep": __version__}
        | {name: metadata.version(name) for name in _LIBRARIES},
        "job": {
            "name": settings.name,
            "number": settings.number,
            "revision": settings.revision,
            "date": settings.date.isoformat(),
            "timezone": settings.timezone.key,
            "units": settings.units,
        },
        "station_length": _STATION_LENGTH,
        "legs": [_leg(leg) for leg in pack.legs],
        "drives": [_drive(drive) for drive in pack.drives],
        "coverage": _looks(pack),
        "poorly_looked_at": _poorly(pack),
        "evidence": _evidence(pack),
        "lateness": [_late(one) for one in pack.lateness],
        "shifts": [_shift(one) for one in pack.shifts],
        "missed": [_missed(one) for one in pack.missed],
        "search": _search(pack),
        "counts": _counts(pack),
        "defaults": dataclasses.asdict(settings.defaults),
        "findings": [dataclasses.asdict(item) for item in sorted(pack.findings, key=_rank)],
        "sources": [
            _source(item) for item in sorted(pack.sources, key=lambda item: (item.name, item.what))
        ],
        "draft": list(pack.draft),
    } | remarks_told(pack)
    return f"{json.dumps(report, indent=2, sort_keys=True, ensure_ascii=False, allow_nan=False)}\n"
