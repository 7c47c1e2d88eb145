"""The list as map features: GeoJSON (RFC 7946) and GPX 1.1.

In goes a ``Pack``, out comes text.  The properties of a GeoJSON feature carry the names of the
columns of ``obstructions.csv``.
"""

import json
import re
from typing import Any

import gpxpy.gpx
import pandas as pd

from routeprep import __version__
from routeprep.exports.cells import DECIMALS, exported, rounded
from routeprep.listing import EXPORTED, rows
from routeprep.shapes import Leg, Pack
from routeprep.stationing import label

__all__ = ["geojson_text", "gpx_text"]

# What XML 1.0 cannot hold (W3C, XML 1.0 5th ed., production 2).
_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def _property(name: str, value: object) -> object:
    if name in DECIMALS:
        return rounded(float(value), DECIMALS[name])  # type: ignore[arg-type]
    return int(value) if name == "times_seen" else str(value) or None  # type: ignore[call-overload]


def _feature(row: dict[str, object]) -> dict[str, object]:
    properties = {name: _property(name, value) for name, value in row.items()}
    place = [properties["lon_deg"], properties["lat_deg"]]
    return {
        "type": "Feature",
        "id": row["anchor_id"],
        "geometry": {"type": "Point", "coordinates": place},
        "properties": properties,
    }


def geojson_text(pack: Pack) -> str:
    """``obstructions.geojson``: a point an obstruction, one to a line of text.

    Numbers are numbers; null is not known.  Longitude first, WGS 84, as RFC 7946 has it.
    """
    features = [
        json.dumps(_feature(dict(zip(EXPORTED, line, strict=True))), ensure_ascii=False)
        for line in exported(pack).itertuples(index=False, name=None)
    ]
    inside = ",\n".join(features)
    return f'{{"type": "FeatureCollection", "features": [\n{inside}\n]}}\n'


def _xml(text: str) -> str:
    return _NOT_XML.sub("\ufffd", text)


def _waypoint(row: "pd.Series[Any]") -> gpxpy.gpx.GPXWaypoint:
    station = " ".join(part for part in (row["station_text"], row["zero_text"]) if part)
    said = (
        f"{row['leg']} {station} {row['plus_minus_text']}".strip(),
        row["where_text"],
        row["do_text"],
        row["status"],
        f"doubt: {row['doubt']}" if row["doubt"] else "",
        row["note"],
    )
    return gpxpy.gpx.GPXWaypoint(
        latitude=rounded(float(row["lat_deg"]), 7),
        longitude=rounded(float(row["lon_deg"]), 7),
        name=_xml(" ".join(str(part) for part in (row["no"], row["what_text"]) if part)),
        description=_xml("; ".join(str(part) for part in said if part)),
    )


def _route(leg: Leg) -> gpxpy.gpx.GPXRoute:
    line = leg.line
    made = f"made from: {line.made_from}; "
    kind = "not plan centerline" if line.made_from == "path driven" else "centerline"
    route = gpxpy.gpx.GPXRoute(
        name=_xml(f"{leg.settings.code} {leg.settings.name}"), description=_xml(made + kind)
    )
    for lon_deg, lat_deg in zip(line.lon_deg, line.lat_deg, strict=True):
        point = gpxpy.gpx.GPXRoutePoint(
            latitude=rounded(float(lat_deg), 7), longitude=rounded(float(lon_deg), 7)
        )
        route.points.append(point)
    route.points[0].name = _xml(label(leg.stationing, 0.0))
    route.points[-1].name = _xml(label(leg.stationing, line.length_m))
    return route


def gpx_text(pack: Pack) -> str:
    """``obstructions.gpx``: a waypoint an obstruction, a route a centerline; no times.

    A waypoint's name is its number and what it is; the description says the station, where
    across the road, what to do and what is in doubt.
    """
    gpx = gpxpy.gpx.GPX()
    gpx.creator = f"routeprep {__version__}"
    gpx.name = _xml(f"{pack.settings.name}, revision {pack.settings.revision}")
    if pack.draft:
        gpx.description = "DRAFT, NOT FOR CUTTING"
    gpx.waypoints.extend(_waypoint(row) for _, row in rows(pack).iterrows())
    gpx.routes.extend(_route(leg) for leg in pack.legs)
    return f"{gpx.to_xml(version='1.1')}\n"
