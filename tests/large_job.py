"""An invented job of 2,000 things and 100,000 fixes, as files, for what must stay quick."""

import json

import numpy as np

DRIVES, FIXES_EACH, THINGS = 100, 1000, 2000
NAME = "Long Road (invented)"
# Ten things to 100 m, on a straight road to the north [deg].
_LON, _LAT, _STEP_DEG = -101.0, 41.0, 9e-5

TOML = f"""format = 1
[job]
name = "{NAME}"
date = 2026-06-01
timezone = "America/Chicago"
units = "us"
[inputs]
drives = ["drives/*.gpx"]
records = ["covers.geojson"]
[[leg]]
code = "A"
name = "{NAME}"
start = "10+00"
elevation_ft = 2900
depth_in = 2
centerline = "line.geojson"
[[machine]]
name = "machine (invented)"
drum_ft = 7.25
"""


def _feature(sort, geometry, **properties):
    return {
        "type": "Feature",
        "properties": properties,
        "geometry": {"type": sort, "coordinates": geometry},
    }


def _text(features):
    return json.dumps({"type": "FeatureCollection", "features": features}).encode()


def _drive(number, rng):
    """A drive to the north, a fix a second, good to some metres."""
    lat = _LAT + np.linspace(0.0, THINGS * _STEP_DEG, FIXES_EACH) + rng.normal(0, 2e-5, FIXES_EACH)
    lon = _LON + 2e-5 + rng.normal(0, 2e-5, FIXES_EACH)
    day, points = 1 + number % 28, []
    for at in range(FIXES_EACH):
        second = number // 28 * 1200 + at
        stamp = f"2026-05-{day:02}T{8 + second // 3600:02}:{second // 60 % 60:02}:{second % 60:02}Z"
        points.append(
            f'<trkpt lat="{lat[at]:.7f}" lon="{lon[at]:.7f}"><time>{stamp}</time></trkpt>'
        )
    head = '<gpx version="1.1" creator="invented" xmlns="http://www.topografix.com/GPX/1/1">'
    return f"{head}<trk><trkseg>{''.join(points)}</trkseg></trk></gpx>".encode()


def large_job():
    """The files by name, with the TOML's."""
    rng = np.random.default_rng(20_260_601)
    top = _LAT + (THINGS + 10) * _STEP_DEG
    covers = [
        _feature(
            "Point", [_LON + 1.5e-5 * (1 + at % 2), _LAT + (at + 0.5) * _STEP_DEG],
            kind="sewer manhole" if at % 3 else "water valve", name=f"C{at}",
        )
        for at in range(THINGS)
    ]  # fmt: skip
    line = [[_LON, _LAT - 10 * _STEP_DEG], [_LON, top]]
    files = {
        "job.toml": TOML.encode(),
        "covers.geojson": _text(covers),
        "line.geojson": _text([_feature("LineString", line)]),
    }
    drives = {f"drives/{at}.gpx": _drive(at, rng) for at in range(DRIVES)}
    return "job.toml", files | drives
