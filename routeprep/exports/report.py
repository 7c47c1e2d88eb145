"""``report.json``: what the pack holds and what it was made from, for machines.

In goes a ``Pack``, out comes JSON with sorted keys: counts, lengths, factors, defaults used,
findings, versions and input checksums.  Nothing in it depends on the clock or the machine.
"""

import dataclasses
import json
from collections import Counter
from collections.abc import Iterable
from importlib import metadata

import numpy as np

from routeprep import __version__
from routeprep.designed import Factors, factors
from routeprep.exports.cells import rounded
from routeprep.geodesy import ground_factor
from routeprep.lines import Centerline, Tie
from routeprep.listing import HALF_95
from routeprep.shapes import Finding, Leg, Pack, Source
from routeprep.stationing import equation_places, label

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
        "cut": {
            "from_m": rounded(leg.from_m, 2),
            "to_m": rounded(leg.to_m, 2),
            "from_station": label(stationing, leg.from_m),
            "to_station": label(stationing, leg.to_m),
        },
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
    }


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
        "counts": _counts(pack),
        "defaults": dataclasses.asdict(settings.defaults),
        "findings": [dataclasses.asdict(item) for item in sorted(pack.findings, key=_rank)],
        "sources": [
            _source(item) for item in sorted(pack.sources, key=lambda item: (item.name, item.what))
        ],
        "draft": list(pack.draft),
    }
    return f"{json.dumps(report, indent=2, sort_keys=True, ensure_ascii=False, allow_nan=False)}\n"
