"""A job on a real street: a city's line and records, and drives and taps that are invented."""

import datetime as dt
import json

import numpy as np
import shapely
from outside import open_data
from pyproj import Transformer

from routeprep.readers.jobfile import read_job

CITY = "github.com/cambridgegis/cambridgegis_data"
FILES = ("hydrants", "signals", "utility-poles")
# The plane of the state, NAD83 and metres: not what routeprep reckons in.
PLANE = Transformer.from_crs(4326, 26986, always_xy=True)
BEGIN = dt.datetime(2026, 5, 4, 15, tzinfo=dt.UTC)
SPEED_MPS = 9.0
# Within this of the line is on the leg [m] (``Defaults.road_corridor_m``).
CORRIDOR_M = 30.0
JOB = """
format = 1
[job]
name = "Prospect St, with invented drives"
date = 2026-06-01
timezone = "America/New_York"
[inputs]
drives = ["*.gpx"]
[[leg]]
code = "A"
name = "Prospect St"
start = "0+00"
start_near = [-71.10399, 42.36557]
elevation_ft = 0
centerline = "centerline.geojson"
[[records]]
files = "hydrants.geojson"
name_field = "HYDRANT_ID"
[[records]]
files = "signals.geojson"
kind = "signal"
[[records]]
files = "utility-poles.geojson"
kind_field = "TYPE"
"""


def city(name):
    """The bytes of one of the city's files."""
    path = open_data(f"city/prospect-st-{name}.geojson", source=CITY)
    return path.read_bytes()


def points(data):
    """Places of a file's points in the state's plane (n, 2) [m], and their properties."""
    features = json.loads(data)["features"]
    lon, lat = zip(*(one["geometry"]["coordinates"] for one in features), strict=True)
    return np.column_stack(PLANE.transform(lon, lat)), [one["properties"] for one in features]


def street():
    """The street's line in the state's plane, from its beginning."""
    features = json.loads(city("centerline"))["features"]
    parts = [
        shapely.LineString(
            np.column_stack(PLANE.transform(*np.array(one["geometry"]["coordinates"]).T))
        )
        for one in features
    ]
    line = shapely.line_merge(shapely.MultiLineString(parts))
    start = shapely.Point(PLANE.transform(-71.10399, 42.36557))
    return line if shapely.Point(line.coords[0]).distance(start) < 5.0 else line.reverse()


def moved(data, east_m, north_m):
    """The city's file as if all of it lay off by so much."""
    read = json.loads(data)
    for one in read["features"]:
        x, y = PLANE.transform(*one["geometry"]["coordinates"])
        one["geometry"]["coordinates"] = list(
            PLANE.transform(x + east_m, y + north_m, direction="INVERSE")
        )
    return json.dumps(read).encode()


def drive(line, taps, rng, *, way, day):
    """A GPX of one drive: a fix a second, good to 1.5 m, and taps a second late, give or take."""
    length_m = line.length
    times_s = np.arange(0.0, length_m / SPEED_MPS)
    gone_m = times_s * SPEED_MPS
    xy = np.array([line.interpolate(a if way > 0 else length_m - a).coords[0] for a in gone_m])
    # Two lanes of 12 ft: the right one of each direction.
    step = np.gradient(xy, axis=0)
    right = np.column_stack([step[:, 1], -step[:, 0]]) / np.hypot(*step.T)[:, None]
    drift = rng.normal(0.0, 1.0, 2)
    xy = xy + 1.83 * right + drift + rng.normal(0.0, 0.7, xy.shape)
    lon, lat = PLANE.transform(*xy.T, direction="INVERSE")
    begin = BEGIN + dt.timedelta(days=day)
    fixes = "".join(
        f'<trkpt lat="{b:.7f}" lon="{a:.7f}"><time>{_stamp(begin, s)}</time></trkpt>'
        for a, b, s in zip(lon, lat, times_s, strict=True)
    )
    marks = []
    for words, along_m in taps:
        gone = along_m if way > 0 else length_m - along_m
        late_s = gone / SPEED_MPS + rng.normal(1.0, 0.25)
        a, b = (np.interp(late_s, times_s, values) for values in (lon, lat))
        marks.append(
            f'<wpt lat="{b:.7f}" lon="{a:.7f}"><time>{_stamp(begin, late_s)}</time>'
            f"<name>{words}</name></wpt>"
        )
    marks = "".join(marks)
    who = "<metadata><author><name>R. Sample</name></author></metadata>"
    return f"<gpx>{who}{marks}<trk><name>{day}</name><trkseg>{fixes}</trkseg></trk></gpx>".encode()


def _stamp(begin, seconds):
    return (begin + dt.timedelta(seconds=float(seconds))).isoformat().replace("+00:00", "Z")


def city_job(drives, **files):
    """The inputs of the job: drives, and the city's files or others in their place."""
    given = {f"{name}.geojson": city(name) for name in ("centerline", *FILES)}
    given |= {f"{name.replace('_', '-')}.geojson": data for name, data in files.items()}
    given |= {f"{number}.gpx": data for number, data in enumerate(drives)}
    return read_job("job.toml", {"job.toml": JOB.encode(), **given})
