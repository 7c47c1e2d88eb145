"""Real drives, the whole chain: each file a pack, or the sentence that is expected of it.

The files are other projects' public test data (see each row); what they must give was read off
the files themselves: lengths by pyproj's geodesics, what is missing by eye.
"""

import functools
import math
import re

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic
from outside import open_data
from pyproj import Geod

from routeprep import exports
from routeprep.drives import clean
from routeprep.errors import InputError
from routeprep.job import prepare
from routeprep.locating import locate
from routeprep.maps.page import render as map_page
from routeprep.readers.jobfile import read_job
from routeprep.shapes import Defaults
from routeprep.sheets.obstruction_sheet import render as sheet
from routeprep.smoothing import smooth

JOB = """format = 1
[job]
name = "a real drive"
date = 2026-06-01
timezone = "UTC"
units = "us"
revision = "A"
[inputs]
drives = ["{name}"]
[[leg]]
code = "A"
name = "a street"
start = "10+00"
start_near = [{lon!r}, {lat!r}]
"""


def read(path, near=(0.0, 0.0)):
    """The job of one drive file."""
    toml = JOB.format(name=path.name, lon=float(near[0]), lat=float(near[1])).encode()
    return read_job("job.toml", {"job.toml": toml, path.name: path.read_bytes()})


@functools.cache
def packed(path):
    """The pack of one drive file, its start near the first fix."""
    fixes = read(path).survey.fixes
    near = (fixes["lon_deg"].iloc[0], fixes["lat_deg"].iloc[0]) if len(fixes) else (0.0, 0.0)
    job = read(path, near)
    return prepare(job.survey, job.settings, job.decisions, job.numbers)


def raw_length_m(fixes):
    """Geodesic length from fix to fix, by pyproj."""
    lon, lat = fixes["lon_deg"].to_numpy(), fixes["lat_deg"].to_numpy()
    return float(Geod(ellps="WGS84").line_length(lon, lat))


CARS = {
    # file: (source, raw length [m] as published beside the data, least share in the line)
    "drives/visnjan-car.gpx": ("gpxpy test files, Apache-2.0", 2736.001, 0.95),
    "drives/leipzig-car.gpx": ("graphhopper test files, Apache-2.0", 9567.550, 0.99),
    # 18.0 km driven, 4.9 km of them both ways.
    "drives/regensburg-car.nmea": ("GENIVI positioning log replayer, MPL-2.0", 18022.0, 0.30),
}


@pytest.mark.parametrize("name", CARS)
def test_a_real_car_drive_gives_a_pack(name):
    """Sheet, map and tables are made, and the line says that it is a path driven."""
    source, _, _ = CARS[name]
    pack = packed(open_data(name, source=source))

    assert sheet(pack)[:5] == b"%PDF-"
    assert "path driven, not plan centerline" in map_page(pack).lower()
    assert exports.csv_text(pack).count("\n") == 1 + len(pack.obstructions)
    assert pack.legs[0].line.made_from == "path driven"


@pytest.mark.parametrize("name", CARS)
def test_a_real_drive_is_as_long_as_published(name):
    """Raw fixes as read, by pyproj.Geod and by geographiclib, within 5 cm of the data's README."""
    source, published_m, _ = CARS[name]
    fixes = read(open_data(name, source=source)).survey.fixes
    lon, lat = fixes["lon_deg"].to_numpy(), fixes["lat_deg"].to_numpy()
    again_m = sum(
        Geodesic.WGS84.Inverse(a, b, c, d)["s12"]
        for a, b, c, d in zip(lat, lon, lat[1:], lon[1:], strict=False)
    )

    assert raw_length_m(fixes) == pytest.approx(published_m, abs=0.05)
    assert again_m == pytest.approx(published_m, abs=0.05)


SMOOTHED = {
    # file: how far the smoothed length may be from that of the fixes [ratio], and why
    "drives/visnjan-car.gpx": 0.01,  # up to 49 s between fixes: the straight way is too short
    "drives/leipzig-car.gpx": 1e-6,  # no times: nothing is smoothed
    "drives/regensburg-car.nmea": 0.005,  # 168 s of standing scatter
}


@pytest.mark.parametrize("name", CARS)
def test_a_real_drive_smoothed_is_as_long_as_its_fixes(name):
    """Against geographiclib from fix to fix within each piece."""
    source, _, _ = CARS[name]
    fixes = read(open_data(name, source=source)).survey.fixes
    got = smooth(clean(fixes, names={}, defaults=Defaults()).fixes, Defaults())
    lon, lat, piece = (got.fixes[one].to_numpy() for one in ("lon_deg", "lat_deg", "piece"))
    ends = np.flatnonzero(np.diff(piece) == 0)
    driven_m = sum(
        Geodesic.WGS84.Inverse(lat[k], lon[k], lat[k + 1], lon[k + 1])["s12"] for k in ends
    )

    assert got.facts[0].length_m == pytest.approx(driven_m, rel=SMOOTHED[name])


def test_a_real_drive_smoothed_keeps_to_its_device_speed():
    """regensburg-car.nmea has the receiver's own speeds: summed over time, within 1 %."""
    source = CARS["drives/regensburg-car.nmea"][0]
    fixes = read(open_data("drives/regensburg-car.nmea", source=source)).survey.fixes
    got = smooth(clean(fixes, names={}, defaults=Defaults()).fixes, Defaults())
    one = got.fixes
    wait_s = one["time_utc"].diff().dt.total_seconds()
    by_speed_m = one["speed_mps"].rolling(2).mean() * wait_s
    # Through its two silences, of 16 s and 18 s, the straight way: 409.4 m and 291.7 m.
    driven_m = by_speed_m[wait_s <= 2.0].sum() + 409.4 + 291.7

    assert got.facts[0].length_m == pytest.approx(driven_m, rel=0.01)


@pytest.mark.parametrize("name", CARS)
def test_the_line_of_a_real_drive_lies_under_the_drive(name):
    """No longer than driven, not shorter than its share, and the fixes on it are near it."""
    source, published_m, share = CARS[name]
    pack = packed(open_data(name, source=source))
    line = pack.legs[0].line
    on_it = locate(line, pack.fixes["lon_deg"].to_numpy(), pack.fixes["lat_deg"].to_numpy())
    near = on_it.distance_m[on_it.distance_m < 12.0]
    flat_m = line.length_m / (1 + line.elevation_m / 6_371_008.8)

    assert share * published_m < flat_m < published_m
    assert np.quantile(near, 0.9) < 8.0


def test_a_drive_that_crosses_itself_does_not_cross_itself_as_a_line():
    """visnjan-car.gpx crosses itself and ends near its start: no vertex has another place near."""
    line = packed(open_data("drives/visnjan-car.gpx", source=CARS["drives/visnjan-car.gpx"][0]))
    line = line.legs[0].line
    every = np.column_stack([line.lon_deg, line.lat_deg])
    squeeze = math.cos(math.radians(45.27))
    xy = every * [111_320 * squeeze, 111_130]
    apart = np.hypot(*(xy[:, None] - xy[None, :]).transpose(2, 0, 1))
    far_along = np.abs(line.along_m[:, None] - line.along_m[None, :]) > 60.0

    assert apart[far_along].min() > 5.0


def test_both_ways_on_one_road_make_one_line_driven_in_both_directions():
    """regensburg-car.nmea runs 4.9 km both ways: the middle is made from both."""
    source = CARS["drives/regensburg-car.nmea"][0]
    pack = packed(open_data("drives/regensburg-car.nmea", source=source))
    said = " ".join(one.text for one in pack.findings if one.where == "leg A")
    up, down = map(int, re.search(r"middle of (\d+) runs? one way and (\d+)", said).groups())

    assert min(up, down) >= 1
    assert "the line lies in the lane driven" not in said


GPXPY, GEORUST, HOPPER, TOGEOJSON = (
    "gpxpy test files, Apache-2.0",
    "georust/gpx fixtures, MIT",
    "graphhopper test files, Apache-2.0",
    "togeojson fixtures, BSD-2-Clause",
)
TOO_SHORT = "a drive with 60 m driven one way was not found among 1 drives"
NO_DRIVE = "the job has 0 fixes; add a drive"
NOTHING = "holds neither a fix nor a waypoint that can be used"
MESSY = {
    # file: (source, fixes and marks in the pack, or the sentence)
    "georust_empty_name_tag.gpx": (GEORUST, NOTHING),
    "georust_with_accuracy.gpx": (GEORUST, TOO_SHORT),
    "gpxpy_cerknicko-without-times.gpx": (GPXPY, (280, 7)),
    "gpxpy_gpx-with-node-with-comments.gpx": (GPXPY, TOO_SHORT),
    "gpxpy_gpx1.0_with_all_fields.gpx": (GPXPY, TOO_SHORT),
    "gpxpy_gpx1.1_with_all_fields.gpx": (GPXPY, TOO_SHORT),
    "gpxpy_gpx1.1_with_extensions_without_namespaces.gpx": (GPXPY, NO_DRIVE),
    "gpxpy_korita-zbevnica.gpx": (GPXPY, (871, 2)),
    "gpxpy_track-with-empty-segment.gpx": (GPXPY, (9, 0)),
    "gpxpy_track-with-extremes.gpx": (GPXPY, (25, 0)),
    "gpxpy_track-with-less-sec-time.gpx": (GPXPY, TOO_SHORT),
    "gpxpy_track_with_dilution_errors.gpx": (GPXPY, TOO_SHORT),
    "gpxpy_track_with_speed.gpx": (GPXPY, TOO_SHORT),
    "gpxpy_unicode_with_bom_noencoding.gpx": (GPXPY, NO_DRIVE),
    "graphhopper_tour-with-loop.gpx": (HOPPER, (11, 0)),
    "graphhopper_tour4-with-uturn.gpx": (HOPPER, (5, 0)),
    "togeojson_blue_hills.gpx": (TOGEOJSON, (1243, 46)),
}


@pytest.mark.parametrize("name", MESSY)
def test_each_messy_file_gives_a_pack_or_its_sentence(name):
    """Nothing in between: no traceback, no empty pack in silence."""
    source, expected = MESSY[name]
    path = open_data(f"drives/messy/{name}", source=source)
    if isinstance(expected, str):
        with pytest.raises(InputError, match=expected):
            packed(path)
    else:
        pack = packed(path)

        assert (len(pack.fixes), len(pack.marks)) == expected


def test_the_table_names_every_messy_file():
    """A new file in the open data asks for a row."""
    folder = open_data("drives/messy/gpxpy_track_with_speed.gpx", source=GPXPY).parent

    assert sorted(path.name for path in folder.iterdir()) == sorted(MESSY)
