"""The files of a job as bytes: GPX, GeoJSON, CSV and the job's TOML."""

import csv
import datetime as dt
import io
import json
import math
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import NamedTuple
from xml.sax.saxutils import escape

import numpy as np

from invented.drives import Drive, DriveSpec
from invented.roads import Road, to_lonlat
from invented.things import NAMES, Thing

__all__ = ["CITY", "Feature", "job_toml", "records", "to_csv", "to_geojson", "to_gpx"]

CITY = "City of Marrowgrass, Sandhollow County (invented)"
GPX = "http://www.topografix.com/GPX/1/1"
LOG = "urn:example:invented-road-logger"


def to_gpx(recorded: Drive) -> bytes:
    """A drive as GPX 1.1: marks as waypoints, a new segment after lost reception."""
    spec = recorded.spec
    author = escape(spec.person.name)
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<gpx version="1.1" creator="invented road logger" xmlns="{GPX}" xmlns:log="{LOG}">',
        f"<metadata><author><name>{author}</name></author></metadata>",
    ]
    lines += [
        f'<wpt lat="{mark.lat_deg:.7f}" lon="{mark.lon_deg:.7f}"><time>{mark.time_utc}</time>'
        f"<name>{escape(mark.words)}</name></wpt>"
        for mark in recorded.marks
    ]
    lines += [f"<trk><name>{escape(Path(spec.file).stem)}</name>", "<trkseg>"]
    before_s = -1.0
    columns = (recorded.time_s, recorded.lon_deg, recorded.lat_deg, recorded.ele_m)
    for fix in zip(*(column.tolist() for column in columns), strict=True):
        if fix[0] > before_s + 1:
            lines += ["</trkseg>", "<trkseg>"]
        lines.append(_trkpt(spec, fix))
        before_s = fix[0]
    lines += ["</trkseg>", "</trk>", "</gpx>", ""]
    return "\n".join(lines).encode()


def _trkpt(spec: DriveSpec, fix: tuple[float, float, float, float]) -> str:
    time_s, lon_deg, lat_deg, ele_m = fix
    time = f"{spec.start_utc + dt.timedelta(seconds=time_s):%Y-%m-%dT%H:%M:%SZ}"
    accuracy = (
        ""
        if math.isnan(spec.accuracy_m)
        else (f"<extensions><log:accuracy>{spec.accuracy_m:.1f}</log:accuracy></extensions>")
    )
    return (
        f'<trkpt lat="{lat_deg:.7f}" lon="{lon_deg:.7f}"><ele>{ele_m:.1f}</ele>'
        f"<time>{time}</time>{accuracy}</trkpt>"
    )


class Feature(NamedTuple):
    """One feature of a GeoJSON file: type of geometry, coordinates [deg] and properties."""

    shape: str
    coordinates: object
    properties: Mapping[str, object]


def to_geojson(features: Iterable[Feature]) -> bytes:
    """Features as RFC 7946 has them, one a line."""
    rows = [
        json.dumps(
            {
                "type": "Feature",
                "properties": feature.properties,
                "geometry": {"type": feature.shape, "coordinates": feature.coordinates},
            }
        )
        for feature in features
    ]
    head = '{"type": "FeatureCollection", "features": ['
    return "\n".join((head, ",\n".join(rows), "]}", "")).encode()


def records(
    roads: Mapping[str, Road], things: Sequence[Thing], *, seed: tuple[int, ...], sd_m: float
) -> list[Feature]:
    """The city's file: those things that it has, each digitised with an error on each axis [m].

    Parameters
    ----------
    roads
        Legs by code.
    things
        All things; the file has those with ``in_file``.
    seed
        Of this file.
    sd_m
        Standard deviation of the error [m].
    """
    rng = np.random.Generator(np.random.PCG64([*seed, 3]))
    made = []
    for i, thing in enumerate(things):
        road, error = roads[thing.leg], sd_m * rng.standard_normal(2)
        if not thing.in_file:
            continue
        place_xy = np.array([road.point(thing.along_m, thing.offset_m)]) + error
        lon, lat = to_lonlat(road.plane, place_xy[:, 0], place_xy[:, 1])
        made.append(
            _record(thing, 1000 + 7 * i, [round(float(lon[0]), 7), round(float(lat[0]), 7)])
        )
    return made


def _record(thing: Thing, serial: int, place_deg: list[float]) -> Feature:
    properties = {
        "asset_id": f"{thing.kind}-{serial}",
        "asset_type": NAMES[thing.kind].city,
        "owner": CITY,
        "lid_size": thing.size,
    }
    return Feature("Point", place_deg, properties)


def to_csv(header: Sequence[str], rows: Iterable[Sequence[str]]) -> bytes:
    """A table as UTF-8 with line feeds."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(header)
    writer.writerows(rows)
    return text.getvalue().encode()


def _toml_value(value: object) -> str:
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{key} = {_toml_value(v)}" for key, v in value.items()) + " }"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_toml_value(v) for v in value) + "]"
    if isinstance(value, dt.date):
        return value.isoformat()
    # A basic string of TOML 1.0 and of JSON are written alike, up to DEL.
    return json.dumps(value, ensure_ascii=False)


def job_toml(
    job: Mapping[str, object],
    inputs: Mapping[str, object],
    legs: Sequence[Mapping[str, object]],
    *others: tuple[str, Mapping[str, object]],
) -> bytes:
    """The job file from its tables; values are texts, numbers, dates, lists and tables.

    Parameters
    ----------
    job, inputs, legs
        [job], [inputs] and each [[leg]].
    others
        Heads of further tables, and the tables.
    """
    lines = ["format = 1"]
    tables = [("[job]", job), ("[inputs]", inputs), *(("[[leg]]", leg) for leg in legs), *others]
    for head, table in tables:
        lines += ["", head, *(f"{key} = {_toml_value(value)}" for key, value in table.items())]
    return ("\n".join(lines) + "\n").encode()
