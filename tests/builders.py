"""Small invented jobs for tests: settings, drives and marks, as the readers would make them."""

import datetime as dt
import math
import zoneinfo
from importlib import resources

import numpy as np
import pandas as pd

from routeprep import tables
from routeprep.geodesy import plane_at
from routeprep.identity import Item, item_ids
from routeprep.kinds import parse_kinds
from routeprep.lines import LinePiece, Stationing
from routeprep.shapes import LegSettings, Settings, Survey
from routeprep.units import STATION_UNITS

KINDS = parse_kinds(resources.files("routeprep").joinpath("kinds.toml").read_text("utf-8"))
SMH, MH, WV, CB = (
    KINDS.find(words).code for words in ("sewer manhole", "manhole", "water valve", "catch basin")
)
PLANE = plane_at(-100.87, 41.43)
BEGIN = dt.datetime(2026, 5, 4, 15, 0, 0, tzinfo=dt.UTC)


def lonlat(x_m, y_m):
    """Longitude and latitude of one point of the tests' plane."""
    lon, lat = PLANE.to_lonlat(np.array([[x_m, y_m]], dtype=np.float64))
    return float(lon[0]), float(lat[0])


def leg_settings(**changes):
    """One two-lane leg with plan stations from 10+00, running north from the origin."""
    usual = {
        "code": "A",
        "name": "Elm St",
        "spine": "",
        "start_value": 1000.0,
        "zero": "",
        "start_near_deg": lonlat(0.0, 0.0),
        "unit": STATION_UNITS["100 ft"],
        "elevation_m": 0.0,
        "from_station": "",
        "to_station": "",
        "depth_m": math.nan,
        "lane_width_m": 3.6576,
        "lanes_left": 1,
        "lanes_right": 1,
    }
    return LegSettings(**(usual | changes))


def from_start(*, unit, start_value, zero):
    """The stationing of a line whose start alone is known."""
    return Stationing(unit=unit, zero=zero, known_m=(0.0,), known_value=(start_value,))


def settings(*legs, kinds=KINDS, **changes):
    """A job of these legs."""
    usual = {
        "name": "test job",
        "number": "T-1",
        "revision": "A",
        "date": dt.date(2026, 6, 1),
        "timezone": zoneinfo.ZoneInfo("America/Chicago"),
        "units": "us",
        "legs": legs or (leg_settings(),),
        "kinds": kinds,
    }
    return Settings(**(usual | changes))


def straight(length_m=1000.0, x_m=0.0, name="Elm St"):
    """A line running north, as a file would hold it."""
    lon, lat = PLANE.to_lonlat(np.array([[x_m, 0.0], [x_m, length_m]]))
    return LinePiece(lon_deg=lon, lat_deg=lat, name=name, source="lines.geojson")


def drive(xy_m, *, speed_mps=10.0, begin=BEGIN, name="drive"):
    """Fixes each second along a path at one speed, with a drive id as the readers give it."""
    xy_m = np.asarray(xy_m, dtype=np.float64)
    along_m = np.r_[0.0, np.cumsum(np.hypot(*np.diff(xy_m, axis=0).T))]
    at_m = np.arange(0.0, along_m[-1] + 1e-9, speed_mps)
    lon, lat = PLANE.to_lonlat(
        np.column_stack([np.interp(at_m, along_m, xy_m[:, k]) for k in (0, 1)])
    )
    times = [begin + dt.timedelta(seconds=float(k)) for k in range(len(at_m))]
    drive_id = item_ids("drive", [Item(times[0], float(lon[0]), float(lat[0]), name)])[0]
    return tables.table(
        tables.FIXES,
        [
            {"drive_id": drive_id, "time_utc": t, "lon_deg": a, "lat_deg": b}
            for t, a, b in zip(times, lon, lat, strict=True)
        ],
    )


def tap(fixes, seconds, kind, *, across="", late_s=1.0, **more):
    """A mark dropped on a drive: the thing passed at ``seconds`` after its start, tapped late."""
    when = fixes["time_utc"].iloc[0] + pd.Timedelta(seconds=seconds + late_s)
    since = (fixes["time_utc"] - fixes["time_utc"].iloc[0]).dt.total_seconds()
    lon = float(np.interp(seconds + late_s, since, fixes["lon_deg"]))
    lat = float(np.interp(seconds + late_s, since, fixes["lat_deg"]))
    usual = {
        "drive_id": fixes["drive_id"].iloc[0],
        "kind": kind,
        "words": kind,
        "time_utc": when.to_pydatetime(),
        "lon_deg": lon,
        "lat_deg": lat,
        "across": across,
        "across_frame": "as driven",
        "method": "vehicle",
        "source": "drive.gpx",
    }
    return mark(**(usual | more))


def mark(**row):
    """A mark with its id."""
    lon, lat = row.get("lon_deg", math.nan), row.get("lat_deg", math.nan)
    item = Item(row.get("time_utc"), lon, lat, str(row.get("words", "")))
    usual = {"across_frame": "as driven", "method": "vehicle", "source": "marks.csv"}
    return usual | {"mark_id": item_ids("mark", [item])[0]} | row


def survey(*drives, marks=(), records=(), lines=None):
    """A survey of drives, marks and records."""
    fixes = pd.concat(drives, ignore_index=True) if drives else tables.table(tables.FIXES, [])
    ids = sorted(set(fixes["drive_id"]))
    return Survey(
        fixes=fixes,
        drive_names={one: f"drive {k}" for k, one in enumerate(ids, start=1)},
        drive_by=dict.fromkeys(ids, ""),
        marks=tables.table(tables.MARKS, list(marks)),
        records=tables.table(tables.RECORDS, list(records)),
        lines={"A": (straight(),)} if lines is None else lines,
        alignments={},
        sources=(),
        findings=(),
    )
