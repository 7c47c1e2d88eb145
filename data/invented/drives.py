"""Drives along a true road: fixes with an error, and marks that are tapped late.

In go a road, the things in it and a ``DriveSpec``, out comes a ``Drive``: what a phone would
have recorded, and for each mark what is true about it.
"""

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from invented.motion import Course, Motion, motion, wander
from invented.roads import Road, to_lonlat
from invented.things import COVERS, FT_M, Thing, words_for
from routeprep.identity import Item, item_ids

__all__ = ["Drive", "DriveSpec", "Person", "TrueMark", "drive", "stamp"]

Floats = npt.NDArray[np.float64]

ELEVATION_M = 2900 * FT_M
LANE_M = 12 * FT_M

# Nobody is quicker than this [s]; from memory: simple reactions take about 0.2 s.
LEAST_LATE_S = 0.2

# Height of a receiver errs more than its place, and more slowly; common practice, no source.
HEIGHT_ERROR_RATIO = 1.5
HEIGHT_ERROR_TIME_S = 120.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """Somebody who taps.

    Attributes
    ----------
    name
        What the files call them.
    late_s, late_sd_s
        Mean and spread of the time from seeing a thing at the usual spot to the tap [s].
    lead_m
        How far ahead of the receiver that spot is [m]: the hood, say; negative is behind.
    manner
        How they say things, see ``words_for``.
    """

    name: str
    late_s: float
    late_sd_s: float
    lead_m: float
    manner: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DriveSpec:
    """One drive before it is driven.

    Attributes
    ----------
    file
        Name of its file, relative to the job.
    person
        Who taps.
    start_utc
        Time of the first fix.
    along_m
        Where it begins, turns and ends along the leg [m]: two values one way, three there and
        back.
    speeds
        Distance gone [m] and the speed kept from there on [m/s].
    stops
        Distance gone [m] and how long it stands there [s]; turning round is one of them.
    noise_sd_m, noise_time_s
        Receiver's error on each axis [m] and its correlation time [s].
    gap_s
        When reception is lost and when it comes back, since the start [s]; None for never.
    accuracy_m
        Radius that the receiver reports [m]; NaN when it reports none.
    wrong_share
        Share of marks with a wrong kind.
    instead
        Index of a thing to the words that are typed for it whatever the person's manner is,
        and the code they stand for; such a thing is always tapped.
    junk
        Distance gone [m] and words that stand for nothing in the road.
    """

    file: str
    person: Person
    start_utc: dt.datetime
    along_m: tuple[float, ...]
    speeds: tuple[tuple[float, float], ...]
    stops: tuple[tuple[float, float], ...] = ()
    noise_sd_m: float = 2.5
    noise_time_s: float = 60.0
    gap_s: tuple[float, float] | None = None
    accuracy_m: float = math.nan
    wrong_share: float = 0.0
    instead: Mapping[int, tuple[str, str]] = field(default_factory=dict)
    junk: tuple[tuple[float, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueMark:
    """One mark as it stands in its file, and what is true about it.

    Attributes
    ----------
    mark_id
        As a reader of the file will name it.
    file, time_utc, lon_deg, lat_deg, words
        As written; place in degrees.
    thing
        Index of the thing it is about; -1 for none.
    said
        Code of the kind that the words stand for; empty when nobody should understand them.
    travel
        +1 up-station, -1 down-station.
    along_m
        Where the receiver truly was at the tap [m].
    late_s
        The lateness of this tap [s].
    speed_mps
        Mean speed during it [m/s].
    """

    mark_id: str
    file: str
    time_utc: str
    lon_deg: float
    lat_deg: float
    words: str
    thing: int
    said: str
    travel: int
    along_m: float
    late_s: float
    speed_mps: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Drive:
    """One drive as recorded: fixes (times since the start [s]) and marks in their order."""

    spec: DriveSpec
    time_s: Floats
    lon_deg: Floats
    lat_deg: Floats
    ele_m: Floats
    marks: tuple[TrueMark, ...]


def course(spec: DriveSpec) -> Course:
    """Lay out how a drive goes along its leg."""
    along = np.array(spec.along_m)
    gone = np.r_[0.0, np.cumsum(np.abs(np.diff(along)))]
    moves = motion(float(gone[-1]), spec.speeds, spec.stops)
    return Course(moves=moves, gone_m=gone, along_m=along)


class Tap(NamedTuple):
    """One press of the button: when [s] and what about; see ``TrueMark``."""

    time_s: float
    words: str
    thing: int
    said: str
    travel: int
    late_s: float
    speed_mps: float


def _words(
    rng: np.random.Generator, spec: DriveSpec, thing: Thing, *, travel: int
) -> tuple[str, str]:
    """What is typed for a thing, and the code it stands for."""
    wrong, other = rng.random(), rng.random()
    if wrong < spec.wrong_share:
        others = [code for code in COVERS if code != thing.kind]
        thing = replace(thing, kind=others[int(other * len(others))])
    return words_for(thing, travel=travel, manner=spec.person.manner), thing.kind


def taps(
    rng: np.random.Generator, spec: DriveSpec, way: Course, *, leg: str, things: Sequence[Thing]
) -> list[Tap]:
    """Press the button for things as they pass, late, and for nothing now and then.

    Parameters
    ----------
    rng
        Where the numbers come from.
    spec
        The drive.
    way
        How it goes along its leg.
    leg
        Code of the leg.
    things
        All things of the job.
    """
    made = []
    for i, thing in enumerate(things):
        passes = way.reached(thing.along_m, lead_m=spec.person.lead_m) if thing.leg == leg else []
        for travel, gone_m in passes:
            seen = rng.random() < thing.visibility or i in spec.instead
            late_s = spec.person.late_s + spec.person.late_sd_s * rng.standard_normal()
            usual = _words(rng, spec, thing, travel=travel)
            words, said = spec.instead.get(i, usual)
            if seen:
                tap = Tap(0.0, words, i, said, travel, max(LEAST_LATE_S, late_s), 0.0)
                made.append(_timed(tap, way.moves, gone_m))
    for gone_m, words in spec.junk:
        tap = _timed(Tap(0.0, words, -1, "", 0, 0.0, 0.0), way.moves, gone_m)
        made.append(tap._replace(travel=int(way.side_at(np.array([tap.time_s]))[0])))
    return sorted(made)


def _timed(tap: Tap, moves: Motion, gone_m: float) -> Tap:
    """The tap with its time, its lateness after the car has gone a distance [m], and speed."""
    time_s = float(moves.time_at(np.array([gone_m]))[0]) + tap.late_s
    further_m = float(moves.gone_at(np.array([time_s]))[0]) - gone_m
    return tap._replace(time_s=time_s, speed_mps=further_m / tap.late_s if tap.late_s else 0.0)


def drive(spec: DriveSpec, road: Road, things: Sequence[Thing], *, seed: tuple[int, ...]) -> Drive:
    """Drive along a road once: fixes each second, and marks where the phone was at the taps.

    While reception is lost there are neither fixes nor marks.

    Parameters
    ----------
    spec
        The drive.
    road
        The leg's true centerline.
    things
        All things of the job.
    seed
        Of this drive.
    """
    noise = np.random.Generator(np.random.PCG64([*seed, 1]))
    hand = np.random.Generator(np.random.PCG64([*seed, 2]))
    way = course(spec)
    time_s = np.arange(math.ceil(float(way.moves.time_s[-1])) + 1, dtype=np.float64)
    x, y = road.xy(way.along_at(time_s), way.side_at(time_s) * LANE_M / 2)
    n, sd_m, tau_s = len(time_s), spec.noise_sd_m, spec.noise_time_s
    x += wander(noise, n, sd_m=sd_m, time_s=tau_s)
    y += wander(noise, n, sd_m=sd_m, time_s=tau_s)
    up = wander(noise, n, sd_m=HEIGHT_ERROR_RATIO * sd_m, time_s=HEIGHT_ERROR_TIME_S)
    lost = spec.gap_s or (math.inf, math.inf)
    kept = (time_s <= lost[0]) | (time_s >= lost[1])
    lon, lat = to_lonlat(road.plane, x[kept], y[kept])
    tapped = taps(hand, spec, way, leg=road.code, things=things)
    tapped = [tap for tap in tapped if not lost[0] < tap.time_s < lost[1]]
    at_s = np.array([tap.time_s for tap in tapped])
    places_deg = np.c_[np.interp(at_s, time_s[kept], lon), np.interp(at_s, time_s[kept], lat)]
    return Drive(
        spec=spec, time_s=time_s[kept], lon_deg=lon, lat_deg=lat, ele_m=(ELEVATION_M + up)[kept],
        marks=_marks(spec, tapped, places_deg=places_deg, along_m=way.along_at(at_s)),
    )  # fmt: skip


def stamp(time_utc: dt.datetime) -> str:
    """A time as files write it, to the millisecond: 2026-05-18T14:00:07.412Z."""
    return f"{time_utc:%Y-%m-%dT%H:%M:%S}.{time_utc.microsecond // 1000:03d}Z"


def _marks(
    spec: DriveSpec, tapped: Sequence[Tap], *, places_deg: Floats, along_m: Floats
) -> tuple[TrueMark, ...]:
    """Marks as their file will have them: times to the millisecond, degrees to 1e-7."""
    start = spec.start_utc
    times = [start + dt.timedelta(milliseconds=round(tap.time_s * 1000)) for tap in tapped]
    items = [
        Item(time, lon, lat, tap.words)
        for time, tap, (lon, lat) in zip(
            times, tapped, np.round(places_deg, 7).tolist(), strict=True
        )
    ]
    rows = zip(item_ids("mark", items), times, items, tapped, along_m.tolist(), strict=True)
    return tuple(
        TrueMark(
            mark_id=mark_id, file=spec.file, time_utc=stamp(time), lon_deg=item.lon_deg,
            lat_deg=item.lat_deg, words=item.words, thing=tap.thing, said=tap.said,
            travel=tap.travel, along_m=along, late_s=tap.late_s, speed_mps=tap.speed_mps,
        )
        for mark_id, time, item, tap, along in rows
    )  # fmt: skip
