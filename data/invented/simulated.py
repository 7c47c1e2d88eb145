"""Simulated jobs: one leg of the demo's sort, covers at random, drives both ways, records."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from pyproj import Transformer

from invented.drives import ELEVATION_M, DriveSpec, Person, drive
from invented.files import Feature, job_toml, records, to_geojson, to_gpx
from invented.roads import Road, curve, ground_plane, lay_road, tangent
from invented.things import COVERS, FT_M, Thing
from invented.truth import Made, TrueLine, Truth, true_line
from routeprep.units import MPH_MPS

__all__ = ["Plan", "job_plane", "line_feature", "main_road", "simulate"]

MPS_PER_MPH = float(MPH_MPS)

# Open grassland in the middle of a continent; nothing of the job is really there.
CENTRE_DEG = (-100.87, 41.43)
FIRST_DAY_UTC = dt.datetime(2026, 5, 18, 14, 0, tzinfo=dt.UTC)
INPUTS = {"drives": ["drives/*.gpx"], "records": ["records/*.geojson"]}
LANES = {"lane_width_ft": 12, "lanes_left": 1, "lanes_right": 1}
JOB: dict[str, object] = {
    "name": "Bluestem Road and Alder Street (invented)",
    "number": "MG-26-014",
    "revision": "A",
    "date": dt.date(2026, 6, 1),
    "timezone": "America/Chicago",
    "units": "us",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """What to simulate; the defaults are those of the project's proofs.

    Attributes
    ----------
    things
        How many covers.
    closest_m
        No two are nearer than this along the road [m]; one in eight has a neighbour within
        twice that.
    drives
        How many, up and down in turn.
    visibility_mean, visibility_weight
        Each thing's visibility is drawn from Beta(mean w, (1 - mean) w).
    in_file_share
        Share of the things that the city's file has.
    record_sd_m
        Error of the file on each axis [m].
    wrong_share
        Share of marks with a wrong kind.
    noise_sd_m, noise_time_s
        Receiver's error on each axis [m] and its correlation time [s].
    late_s, late_sd_s
        Lateness of the taps [s].
    lead_most_m
        Each person's lead is drawn between 0 and this [m].
    slowest_mps, fastest_mps
        Speeds kept, drawn anew every 400 m [m/s].
    """

    things: int = 160
    closest_m: float = 10 * FT_M
    drives: int = 4
    visibility_mean: float = 0.7
    visibility_weight: float = 2.0
    in_file_share: float = 0.7
    record_sd_m: float = 1.0
    wrong_share: float = 0.05
    noise_sd_m: float = 2.5
    noise_time_s: float = 60.0
    late_s: float = 1.1
    late_sd_s: float = 0.35
    lead_most_m: float = 15 * FT_M
    slowest_mps: float = 15 * MPS_PER_MPH
    fastest_mps: float = 45 * MPS_PER_MPH


USUAL = Plan()


def job_plane() -> Transformer:
    """The plane of ground metres of all invented jobs."""
    return ground_plane(*CENTRE_DEG, elevation_m=ELEVATION_M)


def main_road(plane: Transformer) -> Road:
    """The demo's long leg: two S-curves and a long tangent, about 4 km."""
    return lay_road(
        [
            tangent(420.0), curve(350.0, 50.0), tangent(160.0), curve(300.0, -65.0),
            tangent(1450.0), curve(500.0, 35.0), tangent(280.0), curve(260.0, -40.0),
            tangent(560.0),
        ],
        code="A", name="Bluestem Road (invented)", start_xy_m=(-1850.0, 650.0), heading_deg=110.0,
        plane=plane,
    )  # fmt: skip


def scatter(road: Road, plan: Plan, *, seed: int) -> tuple[Thing, ...]:
    """Put covers along a road at random, none closer to the next than the plan says."""
    rng = np.random.Generator(np.random.PCG64([seed, 0]))
    n = plan.things
    gaps = rng.exponential(size=n + 1)
    pairs = rng.random(n + 1) < 1 / 8
    near = plan.closest_m * (1 + rng.random(n + 1))
    room = road.length_m - float(near[pairs].sum()) - plan.closest_m * int((~pairs).sum())
    gaps = np.where(pairs, near, plan.closest_m + gaps * room / gaps[~pairs].sum())
    along = np.cumsum(gaps)[:-1]
    weight = plan.visibility_weight
    visibility = rng.beta(plan.visibility_mean * weight, (1 - plan.visibility_mean) * weight, n)
    places = ("curb", "outer", "mid", "inner", "line")
    return tuple(
        Thing(
            kind=COVERS[int(rng.integers(len(COVERS)))], leg=road.code, along_m=float(along[i]),
            side="RL"[int(rng.integers(2))], place=places[int(rng.integers(len(places)))],
            visibility=float(visibility[i]), in_file=bool(rng.random() < plan.in_file_share),
        )
        for i in range(n)
    )  # fmt: skip


def _simulated_spec(plan: Plan, road: Road, *, seed: int, number: int) -> DriveSpec:
    rng = np.random.Generator(np.random.PCG64([seed, 4, number]))
    person = Person(
        name=f"person {number + 1} (invented)", late_s=plan.late_s, late_sd_s=plan.late_sd_s,
        lead_m=float(rng.uniform(0.0, plan.lead_most_m)),
        manner=("full", "short", "hands")[int(rng.integers(3))],
    )  # fmt: skip
    changes = np.arange(0.0, road.length_m, 400.0)
    speeds = rng.uniform(plan.slowest_mps, plan.fastest_mps, len(changes))
    ends = (0.0, road.length_m) if number % 2 == 0 else (road.length_m, 0.0)
    return DriveSpec(
        file=f"drives/drive-{number + 1}.gpx", person=person,
        start_utc=FIRST_DAY_UTC + dt.timedelta(hours=number), along_m=ends,
        speeds=tuple(zip(changes.tolist(), speeds.tolist(), strict=True)),
        stops=((float(rng.uniform(0.3, 0.7)) * road.length_m, float(rng.uniform(10.0, 40.0))),),
        noise_sd_m=plan.noise_sd_m, noise_time_s=plan.noise_time_s,
        wrong_share=plan.wrong_share,
    )  # fmt: skip


def simulate(seed: int, *, plan: Plan = USUAL) -> Made:
    """Make a job of one leg with its true centerline as a file, drives both ways and records.

    Parameters
    ----------
    seed
        Everything follows from it.
    plan
        What to simulate.
    """
    plane = job_plane()
    road = main_road(plane)
    things = scatter(road, plan, seed=seed)
    driven = [
        drive(_simulated_spec(plan, road, seed=seed, number=i), road, things, seed=(seed, 5, i))
        for i in range(plan.drives)
    ]
    line = true_line(road, from_m=0.0, to_m=road.length_m, step_m=2.0)
    truth = Truth(
        lines={road.code: line}, things=things,
        marks=tuple(mark for one in driven for mark in one.marks),
        people={one.spec.file: one.spec.person for one in driven},
    )  # fmt: skip
    leg = {"code": "A", "name": road.name, "centerline": "lines/road.geojson", "start": "10+00",
           "elevation_ft": 2900, **LANES}  # fmt: skip
    files = {
        "job.toml": job_toml({**JOB, "name": f"simulated job {seed}"}, INPUTS, [leg]),
        "lines/road.geojson": to_geojson([line_feature(line, {"street": road.name})]),
        "records/covers.geojson": to_geojson(
            records({road.code: road}, things, seed=(seed,), sd_m=plan.record_sd_m)
        ),
        **{one.spec.file: to_gpx(one) for one in driven},
    }
    return Made(files=files, truth=truth)


def line_feature(line: TrueLine, properties: Mapping[str, object]) -> Feature:
    """A true line as a feature, degrees to 1e-7."""
    places = np.round(np.c_[line.lon_deg, line.lat_deg], 7).tolist()
    return Feature("LineString", places, properties)
