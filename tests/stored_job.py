"""A small invented job as files, and stored: one street, five covers that somebody walked to."""

import datetime as dt
import json

from builders import lonlat

from routeprep.access import CREW, SUPERINTENDENT, TRAFFIC_LEAD, Person
from routeprep.desk import Desk
from routeprep.jobs import entries_of_files

ANA = Person(name="Ana (invented)", role=SUPERINTENDENT)
BEN = Person(name="Ben (invented)", role=SUPERINTENDENT)
LEAD = Person(name="Lee (invented)", role=TRAFFIC_LEAD)
CREW_HAND = Person(name="Cal (invented)", role=CREW)
NOON = dt.datetime(2026, 6, 1, 17, 0, tzinfo=dt.UTC)
JOB = "Elm Street (invented)"

TOML = f"""format = 1
# A comment that a form keeps.
[job]
name = "{JOB}"
revision = "A"
date = 2026-06-01
timezone = "America/Chicago"
units = "us"

[inputs]
marks = ["marks.csv"]

[[leg]]
code = "A"
name = "Elm St (invented)"
start = "10+00"
start_near = [{lonlat(0.0, 0.0)[0]!r}, {lonlat(0.0, 0.0)[1]!r}]
unit = "100 ft"
elevation_ft = 0
centerline = {{ file = "line.geojson" }}
depth_in = 2
lane_width_ft = 12
lanes_left = 1
lanes_right = 1
"""

KINDS = ("sewer manhole", "water valve", "catch basin", "sewer manhole", "zzz qqq")


def marks_csv():
    """Five marks, 60 m apart, the last in words that nobody understands."""
    lines = ["time,lon,lat,words,by,method"]
    for place, words in enumerate(KINDS):
        lon, lat = lonlat(2.0, 60.0 * (place + 1))
        time = (NOON + dt.timedelta(minutes=place)).isoformat()
        lines.append(f"{time},{lon:.7f},{lat:.7f},{words},Ana (invented),walked")
    return ("\n".join(lines) + "\n").encode()


def line_geojson():
    """A straight street of 400 m."""
    places = [lonlat(0.0, 0.0), lonlat(0.0, 200.0), lonlat(0.0, 400.0)]
    line = {"type": "LineString", "coordinates": places}
    feature = {"type": "Feature", "properties": {}, "geometry": line}
    return json.dumps({"type": "FeatureCollection", "features": [feature]}).encode()


def job_files_small():
    """The job's files by name; its TOML is ``job.toml``."""
    return {"job.toml": TOML.encode(), "line.geojson": line_geojson(), "marks.csv": marks_csv()}


def stored(store, *, decided=False):
    """A desk at the small job, kept in a store; ``decided``: sorted and decided throughout."""
    entries, blobs = entries_of_files("job.toml", job_files_small())
    store.append(entries, blobs, by=ANA)
    desk = Desk(store, JOB, now=lambda: NOON)
    if decided:
        pack = desk.pack(desk.look())
        desk.decide(
            desk.look(),
            ANA,
            [(one, "kind", "nothing") for one in pack.unsorted["mark_id"]]
            + [(one, "action", "as proposed") for one in pack.obstructions["anchor_id"]],
        )
    return desk
