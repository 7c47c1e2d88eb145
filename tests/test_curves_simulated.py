"""Curves from simulated drives, against the truth and the best that any method can do.

A few roads; ``tests/proof`` has a hundred of each.

Each road is tangent, arc, tangent.  It is driven four times, two each way, in lanes of 12 ft; the
receiver's error on each axis is a Gauss-Markov process of 2.5 m and 60 s and a fresh part of 1 m.
"""

import datetime as dt
import math
from dataclasses import dataclass

import numpy as np
import pandas as pd
import pytest
from builders import PLANE, leg_settings
from invented.drives import DriveSpec, Person, drive
from invented.roads import curve, ground_plane, lay_road, tangent

from routeprep import tables
from routeprep.curves import curves_of
from routeprep.driven import path_driven
from routeprep.drives import clean
from routeprep.planar import Polyline
from routeprep.shapes import Defaults
from routeprep.smoothing import smooth

SIMULATIONS = 20
TANGENT_M = 500.0
SPEED_MPS = 15.0
NOISE_SD_M, NOISE_TIME_S, FRESH_SD_M = 2.5, 60.0, 1.0
DRIVES = 4
# Radius [m] and deflection [deg].
ROADS = (
    (100.0, 60.0), (150.0, 45.0), (200.0, 30.0), (250.0, 50.0), (300.0, 25.0), (350.0, 60.0),
    (400.0, 20.0), (500.0, 40.0), (600.0, 15.0), (600.0, 10.0),
)  # fmt: skip

GROUND = ground_plane(-100.87, 41.43, elevation_m=0.0)
NOBODY = Person(name="nobody (invented)", late_s=1.0, late_sd_s=0.0, lead_m=0.0, manner="full")
NAMES = {f"drive-{k}": f"drive-{k}.gpx" for k in range(DRIVES)}


def driven(road, *, seed):
    """Fixes of all drives, and the line that the project makes of them."""
    fixes = pd.concat([one_drive(road, seed=seed, number=k) for k in range(DRIVES)])
    cleaned = clean(fixes.reset_index(drop=True), names=NAMES, defaults=Defaults()).fixes
    smoothed = smooth(cleaned, Defaults()).fixes
    lon, lat = road.lonlat(np.zeros(1), np.zeros(1))
    line, _ = path_driven(
        smoothed, leg_settings(start_near_deg=(float(lon[0]), float(lat[0]))), names=NAMES,
        elevation_m=0.0, defaults=Defaults(), alone=True,
    )  # fmt: skip
    return smoothed, line


def one_drive(road, *, seed, number):
    """One drive's fixes."""
    ends = (0.0, road.length_m) if number % 2 == 0 else (road.length_m, 0.0)
    spec = DriveSpec(
        file=f"drive-{number}.gpx", person=NOBODY,
        start_utc=dt.datetime(2026, 5, 18, 14 + number, tzinfo=dt.UTC), along_m=ends,
        speeds=((0.0, SPEED_MPS),), noise_sd_m=NOISE_SD_M, noise_time_s=NOISE_TIME_S,
    )  # fmt: skip
    made = drive(spec, road, [], seed=(seed, number))
    rng = np.random.Generator(np.random.PCG64([seed, number, 9]))
    xy_m = PLANE.to_xy(made.lon_deg, made.lat_deg)
    lon, lat = PLANE.to_lonlat(xy_m + rng.normal(0.0, FRESH_SD_M, xy_m.shape))
    times = [spec.start_utc + dt.timedelta(seconds=s) for s in made.time_s.tolist()]
    rows = zip(times, lon.tolist(), lat.tolist(), strict=True)
    return tables.table(
        tables.FIXES,
        [
            {"drive_id": f"drive-{number}", "time_utc": t, "lon_deg": a, "lat_deg": b}
            for t, a, b in rows
        ],
    )


def lay(*bends, heading_deg=20.0):
    """A road from the tests' origin."""
    return lay_road(
        bends, code="A", name="x", start_xy_m=(0.0, 0.0), heading_deg=heading_deg, plane=GROUND
    )


def place(numbers, along_m):
    """Places and directions on tangent, arc, tangent, by plain circle geometry.

    The numbers: how far right it begins, its direction, PC, radius, deflection [m, rad].
    """
    right, first, pc, radius, turn = numbers
    before = np.minimum(along_m, pc)
    bent = np.clip((along_m - pc) / radius, 0.0, turn)
    after = np.maximum(along_m - pc - radius * turn, 0.0)
    heading = first + bent
    east = right * np.cos(first) + before * np.sin(first) + after * np.sin(first + turn)
    north = -right * np.sin(first) + before * np.cos(first) + after * np.cos(first + turn)
    east += radius * (np.cos(first) - np.cos(heading))
    north += radius * (np.sin(heading) - np.sin(first))
    return np.column_stack([east, north]), heading


def bound(radius_m, turn_rad):
    """Least standard deviations of radius, PC, PT [m] and deflection [rad] that can be had.

    Cramer and Rao: the inverse of the Fisher information of the five numbers of the road in a
    fix each second of the mean of four drives, whose distances from the road have a covariance
    of sd^2 exp(-t / T) cos(turn between) and the fresh part, over four.
    """
    true = np.array([0.0, 0.0, TANGENT_M, radius_m, turn_rad])
    steps = np.diag([1e-3, 1e-6, 1e-3, 1e-3, 1e-6])
    along_m = np.arange(0.0, 2 * TANGENT_M + radius_m * turn_rad, SPEED_MPS)
    _, heading = place(true, along_m)
    right = np.column_stack([np.cos(heading), -np.sin(heading)])
    moved = [place(true + s, along_m)[0] - place(true - s, along_m)[0] for s in steps]
    slopes = np.column_stack([(m * right).sum(axis=1) for m in moved]) / (2 * np.diag(steps))
    apart_s = np.abs(along_m[:, None] - along_m) / SPEED_MPS
    turned = np.cos(heading[:, None] - heading)
    covariance = NOISE_SD_M**2 * np.exp(-apart_s / NOISE_TIME_S) * turned
    covariance += FRESH_SD_M**2 * np.eye(len(along_m))
    least = np.linalg.inv(slopes.T @ np.linalg.solve(covariance / DRIVES, slopes))
    way = np.array([math.sin(turn_rad), math.cos(turn_rad)])
    ends = [(pt(true + s) - pt(true - s)) @ way for s in steps]
    to_pt = np.array(ends) / (2 * np.diag(steps))
    return np.sqrt([least[3, 3], least[2, 2], to_pt @ least @ to_pt, least[4, 4]])


def pt(numbers):
    """The place of PT."""
    return place(numbers, np.array([numbers[2] + numbers[3] * numbers[4]]))[0][0]


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """Errors, stated standard deviations and least ones: radius, PC, PT, deflection; the count."""

    error: np.ndarray
    sd: np.ndarray
    least: np.ndarray
    direction_right: bool
    count: int


def simulate(number):
    """One road, driven and looked at."""
    radius_m, turn = ROADS[number % len(ROADS)]
    way = 1.0 if number % 2 else -1.0
    road = lay(
        tangent(TANGENT_M), curve(radius_m, way * turn), tangent(TANGENT_M),
        heading_deg=37.0 * number % 360,
    )  # fmt: skip
    fixes, line = driven(road, seed=number)
    found = curves_of(line, fixes, defaults=Defaults())
    one = found[0]
    lon, lat = road.lonlat(road.from_m[1:3], np.zeros(2))
    feet = Polyline(PLANE.to_xy(line.lon_deg, line.lat_deg)).feet(PLANE.to_xy(lon, lat))
    at = np.interp(feet.segment + feet.fraction, np.arange(len(line.along_m)), line.along_m)
    true = np.array([radius_m, *at, math.radians(turn)])
    said = np.array([one.radius_m, one.from_m, one.to_m, math.radians(one.deflection_deg)])
    sds = [one.radius_sd_m, one.from_sd_m, one.to_sd_m, math.radians(one.deflection_sd_deg)]
    return Outcome(
        error=said - true, sd=np.array(sds), least=bound(radius_m, math.radians(turn)),
        direction_right=one.direction == ("right" if way > 0 else "left"), count=len(found),
    )  # fmt: skip


def covered(outcomes):
    """Share of the intervals that hold the truth, of each number."""
    return np.mean([np.abs(one.error) <= 1.96 * one.sd for one in outcomes], axis=0)


def excess(outcomes):
    """Root mean square of the errors over the least possible, of each number."""
    return np.sqrt(np.mean([(one.error / one.least) ** 2 for one in outcomes], axis=0))


def width(outcomes):
    """What is stated over the least possible in the mean, of each number."""
    return np.mean([one.sd / one.least for one in outcomes], axis=0)


def made_up(count):
    """Curves that are found on a tangent of two miles, driven so many times."""
    road = lay(tangent(3218.7))
    drives = [driven(road, seed=1000 + seed) for seed in range(count)]
    return [
        curve for fixes, line in drives for curve in curves_of(line, fixes, defaults=Defaults())
    ]


@pytest.fixture(scope="module")
def outcomes():
    """All simulated roads, once."""
    return [simulate(number) for number in range(SIMULATIONS)]


def test_each_road_has_its_one_curve_and_its_direction(outcomes):
    """None is missed, none is made up beside it."""
    assert [one.count for one in outcomes] == [1] * SIMULATIONS
    assert all(one.direction_right for one in outcomes)


def test_the_plus_minus_covers_the_truth(outcomes):
    """The printed 95 % interval holds radius, PC, PT and deflection in 90 % or more."""
    assert covered(outcomes).min() >= 0.9


def test_errors_are_near_the_least_possible(outcomes):
    """Root mean square at most 1.5 times the Cramer-Rao bound, each of the four."""
    assert excess(outcomes).max() <= 1.5


def test_the_plus_minus_is_not_wider_than_it_must_be(outcomes):
    """What is stated is within a quarter of the bound in the mean."""
    assert width(outcomes) == pytest.approx(np.ones(4), abs=0.25)


def test_no_curve_is_found_on_a_tangent():
    """Two miles, many times."""
    assert made_up(SIMULATIONS) == []
