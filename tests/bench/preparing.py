"""How long a whole large job takes: 200,000 marks of 500 drives on 100 km, all invented."""

import gc
import time

import numpy as np
import pandas as pd
import shapely
from builders import PLANE, leg_settings, settings

from routeprep import tables
from routeprep.job import prepare
from routeprep.lines import LinePiece
from routeprep.shapes import Survey

DRIVES = 500
THINGS = 4_000
LENGTH_M = 100_000.0
DRIVEN_M = 10_000.0
CODES = np.array(["SMH", "DMH", "WV", "GASV", "DI", "CB"])
BEGIN = pd.Timestamp("2026-05-01T12:00:00Z")


def _bend(x_m):
    """How far north the road lies [m]."""
    return 300.0 * np.sin(x_m / 3000.0)


def _lonlat(x_m, y_m):
    return PLANE.to_lonlat(np.column_stack([x_m, y_m]))


def _table(columns, frames):
    """The frames as one declared table; what they do not say is unknown."""
    held = pd.concat(frames, ignore_index=True)
    blank = {"text": "", "number": np.nan}
    made = {}
    for one in columns:
        values = held[one.name] if one.name in held else [blank[one.holds]] * len(held)
        made[one.name] = pd.Series(values, dtype="str") if one.holds == "text" else values
        if one.holds == "time":
            made[one.name] = made[one.name].dt.as_unit("us")
    return tables.check(pd.DataFrame(made), columns, what="invented table")


def _drive(rng, number, things_m, codes):
    """The fixes and marks of one drive over 10 km, one way or the other."""
    up, speed_mps = number % 2 == 0, rng.uniform(7.0, 20.0)
    from_m = rng.uniform(0.0, LENGTH_M - DRIVEN_M)
    seconds = np.arange(int(DRIVEN_M / speed_mps))
    gone_m = seconds * speed_mps
    x_m = from_m + gone_m if up else from_m + DRIVEN_M - gone_m
    drift_m = np.cumsum(0.3 * rng.normal(size=(len(seconds), 2)), axis=0)
    drift_m -= drift_m.mean(axis=0)
    lon, lat = _lonlat(x_m + drift_m[:, 0], _bend(x_m) + (-2.0 if up else 2.0) + drift_m[:, 1])
    begin, name = BEGIN + pd.Timedelta(hours=number), f"drive {number:03d}"
    fixes = pd.DataFrame(
        {
            "drive_id": name, "piece": 0, "time_utc": begin + pd.to_timedelta(seconds, unit="s"),
            "lon_deg": lon, "lat_deg": lat,
        }
    )  # fmt: skip
    seen = np.flatnonzero((things_m > from_m + 50.0) & (things_m < from_m + DRIVEN_M - 100.0))
    ahead_m = things_m[seen] - from_m if up else from_m + DRIVEN_M - things_m[seen]
    tapped_s = ahead_m / speed_mps + 1.1 + 0.35 * rng.normal(size=len(seen))
    marks = pd.DataFrame(
        {
            "mark_id": [f"mark {number:03d}-{one:04d}" for one in seen], "drive_id": name,
            "kind": codes[seen], "words": codes[seen],
            "time_utc": begin + pd.to_timedelta(tapped_s, unit="s"),
            "lon_deg": np.interp(tapped_s, seconds, lon),
            "lat_deg": np.interp(tapped_s, seconds, lat),
            "across": "outer wheel path" if up else "other side", "across_frame": "as driven",
            "method": "vehicle",
            "source": f"{name}.gpx", "by": f"person {number // 2:03d}",
        }
    )  # fmt: skip
    return fixes, marks


def surveyed(drives=DRIVES):
    """The survey: one long road, its things in the city's file, and everybody's drives."""
    rng = np.random.default_rng(1)
    line_m = np.arange(0.0, LENGTH_M + 1.0, 25.0)
    lon, lat = _lonlat(line_m, _bend(line_m))
    things_m = np.sort(rng.uniform(0.0, LENGTH_M, THINGS))
    codes = CODES[rng.integers(len(CODES), size=THINGS)]
    made = [_drive(rng, number, things_m, codes) for number in range(drives)]
    places = _lonlat(*(np.stack([things_m, _bend(things_m)]) + rng.normal(size=(2, THINGS))))
    records = [
        {"record_id": f"record {number:04d}", "kind": code, "source": "covers.geojson",
         "geometry": shapely.Point(place)}
        for number, (code, place) in enumerate(zip(codes, zip(*places, strict=True), strict=True))
    ]  # fmt: skip
    names = {f"drive {number:03d}": f"drive {number:03d}.gpx" for number in range(drives)}
    return Survey(
        fixes=_table(tables.FIXES, [fixes for fixes, _ in made]),
        drive_names=names,
        drive_by=dict.fromkeys(names, ""),
        marks=_table(tables.MARKS, [marks for _, marks in made]),
        records=tables.table(tables.RECORDS, records),
        lines={"A": (LinePiece(lon_deg=lon, lat_deg=lat, name="A", source="road.geojson"),)},
        alignments={},
        sources=(),
        findings=(),
    )


def report():
    """Print the time of ``prepare``, garbage collected as seldom as on the command line."""
    usual = gc.get_threshold()
    gc.set_threshold(100_000, 50, 50)
    survey = surveyed()
    job = settings(leg_settings(start_near_deg=None))
    begin, busy = time.perf_counter(), time.process_time()
    pack = prepare(survey, job, [], [])
    spent_s, busy_s = time.perf_counter() - begin, time.process_time() - busy
    gc.set_threshold(*usual)
    print(f"prepare, {len(survey.marks):,} marks of {DRIVES} drives on {LENGTH_M / 1000:.0f} km")
    print(f"  time                        {spent_s:8.1f} s, {busy_s:.1f} s of one core")
    print(f"  things found                {len(pack.obstructions):8,} of {THINGS:,}")


if __name__ == "__main__":
    report()
