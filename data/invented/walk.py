"""What somebody wrote down who walked the side street with a measuring wheel, and what ties it."""

from collections.abc import Sequence

import numpy as np

from invented.roads import Road
from invented.things import FT_M, NAMES, PLACES, Thing

__all__ = ["plan_ties", "station_list"]

# How far the wheel errs [ft] and the share of the way it errs by; common practice, no source.
WHEEL_SD_FT = 0.3
WHEEL_SHARE = 0.001
# The walk went this far [ft]; cars were parked between these [ft], on the right.
WALKED_FT = 700.0
PARKED_FT = (535.0, 590.0)

HEAD = """\
# invented, like everything in this job
LEG B
wheeled by R. Sample (invented), 2026-05-21
"""

# Things on the main road whose plan station is known: along as laid [ft], offset [ft], what.
TIES = (
    (300.0, 24.0, "headwall of the culvert, plan sheet 3 (invented)"),
    (8240.0, -22.0, "west joint of the bridge, plan sheet 7 (invented)"),
)
TIE_SD_M = 0.1


def _station(feet: float) -> str:
    whole = round(feet)
    return f"{whole // 100}+{whole % 100:02d}"


def _line(thing: Thing, feet: float) -> str:
    where = "" if thing.place in {"line", "whole"} else f" {PLACES[thing.place].off_ft:g} ft "
    side = {"R": "RT", "L": "LT", "C": ""}[thing.side]
    size = f", {thing.size}" if thing.size else ""
    note = ", a car was parked on it" if "parked" in thing.note else ""
    return f"{_station(feet)} {NAMES[thing.kind].full}{where}{side}{size}{note}"


def station_list(things: Sequence[Thing], *, seed: tuple[int, ...]) -> bytes:
    """The list of those who walked the beginning of leg B: what they saw, parked on or not.

    Parameters
    ----------
    things
        All things of the job.
    seed
        Of the wheel's errors.
    """
    rng = np.random.Generator(np.random.PCG64([*seed, 9]))
    said = [
        (_erred(thing.along_m / FT_M, rng), thing)
        for thing in things
        if thing.leg == "B" and thing.along_m / FT_M < WALKED_FT
    ]
    lines = [(feet, _line(thing, feet)) for feet, thing in said]
    lines += [
        (at_ft, f"{_station(at_ft)} parked cars {what} RT")
        for at_ft, what in zip(PARKED_FT, ("begin", "end"), strict=True)
    ]
    return (HEAD + "".join(f"{text}\n" for _, text in sorted(lines))).encode()


def _erred(feet: float, rng: np.random.Generator) -> float:
    return feet + float(rng.normal(0.0, WHEEL_SD_FT + WHEEL_SHARE * feet))


def plan_ties(road: Road, *, zero_m: float, start_ft: float, seed: tuple[int, ...]) -> list[object]:
    """Ties of the main road as the job file has them.

    Parameters
    ----------
    road
        The road.
    zero_m
        Where its stations begin, along as laid [m].
    start_ft
        The station there [ft].
    seed
        Of the errors of their places.
    """
    rng = np.random.Generator(np.random.PCG64([*seed, 8]))
    made: list[object] = []
    for along_ft, offset_ft, what in TIES:
        error = rng.normal(0.0, TIE_SD_M, 2)
        lon, lat = road.lonlat(
            np.array([along_ft * FT_M + error[0]]), np.array([offset_ft * FT_M + error[1]])
        )
        station = start_ft + along_ft - zero_m / FT_M
        made.append(
            {
                "station": f"{int(station // 100)}+{station % 100:05.2f}",
                "lon_deg": round(float(lon[0]), 7),
                "lat_deg": round(float(lat[0]), 7),
                "kind": "plan",
                "by": what,
            }
        )
    return made
