"""Ratios against public alternatives, measured in one run on one machine.

Run by ``make bench``.  Each line says what was compared, both times and the ratio; the answers
are compared too, so that speed is never bought with accuracy.
"""

import time

import numpy as np
import shapely
from bench import mapping, merging, preparing, reading, records, sheets

from routeprep.centerline import measured
from routeprep.geodesy import plane_at
from routeprep.locating import locate, runners_up
from routeprep.shapes import Defaults

POINTS = 1_000_000
VERTICES = 20_000
SAMPLE = 300


def made(rng):
    """A winding line and points along it with 6 m scatter, 1 % of them wild; all invented.

    It runs north, where a transverse Mercator plane is true, so that shapely's answers in that
    plane can be compared to the millimetre over 200 km.
    """
    step_m = rng.uniform(4.0, 16.0, VERTICES - 1)
    heading = np.pi / 2 + 0.8 * np.sin(np.cumsum(rng.normal(0.0, 0.03, VERTICES - 1)))
    steps = np.column_stack([np.cos(heading), np.sin(heading)]) * step_m[:, None]
    xy = np.vstack([[0.0, 0.0], np.cumsum(steps, axis=0)])
    xy -= xy.mean(axis=0)
    near = rng.integers(0, VERTICES - 1, POINTS)
    share = rng.uniform(0.0, 1.0, POINTS)[:, None]
    points = xy[near] * (1 - share) + xy[near + 1] * share + rng.normal(0.0, 6.0, (POINTS, 2))
    wild = rng.integers(0, POINTS, POINTS // 100)
    points[wild] += rng.normal(0.0, 500.0, (len(wild), 2))
    return xy, points


def main():
    """Print what is measured: locating, reading, grouping, the map."""
    rng = np.random.default_rng(1)
    xy, points = made(rng)
    plane = plane_at(-100.0, 41.0)
    lon, lat = plane.to_lonlat(xy)
    line = measured(lon, lat, sd_m=np.zeros(len(lon)), elevation_m=0.0, made_from="file")
    point_lon, point_lat = plane.to_lonlat(points)
    usual = Defaults()

    begin = time.perf_counter()
    places = locate(line, point_lon, point_lat)
    ours_s = time.perf_counter() - begin
    runners_up(
        line, point_lon, point_lat, places,
        within_m=usual.runner_up_within_m, apart_m=usual.runner_up_apart_m,
    )  # fmt: skip
    both_s = time.perf_counter() - begin

    string = shapely.LineString(xy)
    chosen = rng.choice(POINTS, SAMPLE, replace=False)
    sample = shapely.points(points[chosen])
    begin = time.perf_counter()
    along = shapely.line_locate_point(string, sample)
    theirs_s = (time.perf_counter() - begin) * POINTS / SAMPLE
    away = shapely.distance(string, sample)

    # Where the two feet are one place, along differs only by plane against ground length.
    miss_m = np.abs(places.distance_m[chosen] - away)
    cumulative = np.r_[0.0, np.cumsum(np.hypot(*np.diff(xy, axis=0).T))]
    ground = np.interp(along, cumulative, line.along_m)
    inside = places.past_end_m[chosen] == 0
    along_miss_m = np.abs(ground - places.along_m[chosen])[inside]
    print(f"locate, {POINTS:,} points on a line of {VERTICES:,} vertices")
    print(f"  shapely.line_locate_point   {theirs_s:8.1f} s (from a sample of {SAMPLE})")
    print(f"  locate                      {ours_s:8.2f} s   {theirs_s / ours_s:6.0f} times")
    print(f"  locate with runner-up       {both_s:8.2f} s   {theirs_s / both_s:6.0f} times")
    print(f"  largest difference: distance {miss_m.max() * 1000:.3f} mm, "
          f"along {along_miss_m.max() * 1000:.3f} mm")  # fmt: skip
    reading.report()
    records.report()
    merging.report()
    preparing.report()
    mapping.report()
    sheets.report()


if __name__ == "__main__":
    main()
