"""Cleaned drives to smoothed ones: where the vehicle was, and how sure that is.

In go cleaned fixes, out come the same fixes with ``tables.SMOOTHED`` added, a ``Track`` a drive
to be asked where it was at any time, and what is worth saying about each drive.  While the
vehicle stands its fixes are one place: their scatter neither lengthens nor bends the path.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from routeprep import tables
from routeprep.chains import Estimate
from routeprep.drives import seconds_of, silent
from routeprep.fitting import Recorded, fit
from routeprep.geodesy import Plane, bearings_deg, plane_at, segment_lengths_m
from routeprep.noise import Noise, noise_of
from routeprep.shapes import Defaults, DriveFacts
from routeprep.spreads import RADIUS_68_IN_SDS
from routeprep.standing import stood
from routeprep.tracks import Track, courses

__all__ = ["Smoothed", "smooth"]

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

# The median of a Rayleigh distribution in standard deviations of one axis: sqrt(2 ln 2).
_MEDIAN_IN_SDS = 1.1774
# How sure a reported accuracy and the default are, as ratios; common practice, no source.
_REPORTED_SD, _DEFAULT_SD = 0.2, 0.5
# Reports are believed to vary within a drive by these ratios to their median, no more.
_VARY_LEAST, _VARY_MOST = 0.2, 20.0
# Across a silence the vehicle may do anything it usually does: its push [m/s2], so that 95 %
# intervals hold 95 % in silences of 20 s on curves of 60 m to 200 m (tests/proof).
_SILENT_PUSH_MPS2 = 0.65
# While it stands: its push [m/s2], and how sure it is that the speed is nothing [m/s].
_STANDING_PUSH_MPS2, _STANDING_MPS = 0.05, 0.02
# From one standing fix to the next it stood if they are no farther apart than this in time, or
# than two usual waits [s]; common practice, no source.
_STANDING_LINK_S = 10.0
# For so long before it stands and after [s] it brakes and starts: its push, at least [m/s2];
# chosen in simulation (tests/proof), no source.
_STOPPING_S, _STOPPING_PUSH_MPS2 = 8.0, 1.0
# A device's speed is no better than this on each axis [m/s]; common practice, no source.
_DEVICE_SPEED_MPS = 0.5
# Where the direction comes from the first fit, so many times that fit's variance is added; chosen
# in simulation (tests/proof), no source.
_NOT_NEW = 6.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Smoothed:
    """Smoothed drives.

    Attributes
    ----------
    fixes
        Cleaned fixes with ``tables.SMOOTHED`` added.
    tracks
        Drive id to its track; drives without times have none.
    facts
        One entry a drive, by drive id; the names for people are not known here.
    """

    fixes: pd.DataFrame
    tracks: Mapping[str, Track]
    facts: tuple[DriveFacts, ...]


def _radius_m(fixes: pd.DataFrame, defaults: Defaults) -> tuple[float, Floats]:
    """Median reported accuracy or the default, and that of each fix as a share of it."""
    reported = fixes["accuracy_m"].to_numpy()
    there = np.isfinite(reported) & (reported > 0.0)
    if not there.any():
        return defaults.phone_accuracy_m, np.ones(len(fixes))
    usual_m = float(np.median(reported[there]))
    share = np.where(there, reported, usual_m) / usual_m
    return usual_m, np.clip(share, _VARY_LEAST, _VARY_MOST)


def _usual_wait_s(drive: Recorded) -> float:
    """Usual time from fix to fix."""
    wait_s = np.diff(drive.seconds)[drive.joined]
    return float(np.median(wait_s)) if len(wait_s) else 1.0


def _known_speed(fixes: pd.DataFrame, first: Estimate, stands: Flags) -> tuple[Floats, Floats]:
    """Velocity known beside the places, and its weight.

    Standing it is nothing.  The device's speed counts as far as it agrees with the first fit
    over the whole drive.  Without the device's course the direction is the first fit's, which
    is nothing new: then it counts for less.
    """
    fitted = first.mean_states[:, 1]
    speed, course = (fixes[name].to_numpy() for name in ("speed_mps", "course_deg"))
    own = np.arctan2(fitted[:, 0], fitted[:, 1])
    way = np.where(np.isfinite(course), np.radians(course), own)
    said = speed[:, None] * np.column_stack([np.sin(way), np.cos(way)])
    weight = np.where(stands, _STANDING_MPS**-2, 0.0)
    there = np.isfinite(speed) & ~stands
    if there.any():
        off_mps = np.hypot(*(said - fitted)[there].T)
        sd_mps = max(float(np.median(off_mps)) / _MEDIAN_IN_SDS, _DEVICE_SPEED_MPS)
        again = np.where(np.isfinite(course), 0.0, _NOT_NEW * first.own_cov[:, 1, 1])
        weight[there] = 1.0 / (sd_mps**2 + again[there])
    return np.where(there[:, None], said, 0.0), weight


def _still(drive: Recorded, stands: Flags) -> Flags:
    """Links over which the vehicle stood: it did at both ends, with no silence between."""
    short = np.diff(drive.seconds) <= max(_STANDING_LINK_S, 2 * _usual_wait_s(drive))
    return np.asarray(stands[1:] & stands[:-1] & drive.joined & short)


def _near(still: Flags, seconds: Floats) -> Flags:
    """Links soon before or after one over which the vehicle stood."""
    if not still.any():
        return still
    middle = (seconds[1:] + seconds[:-1]) / 2
    edges = np.flatnonzero(np.diff(np.r_[False, still, False].astype(np.int8)))
    at = seconds[edges]
    after = np.searchsorted(at, middle)
    near_s = np.minimum(
        np.abs(at[np.minimum(after, len(at) - 1)] - middle),
        np.abs(at[np.maximum(after - 1, 0)] - middle),
    )
    return np.asarray(near_s <= _STOPPING_S)


def _pushes(drive: Recorded, noise: Noise, still: Flags, gap_s: float) -> Floats:
    """Acceleration after each fix: the usual one, near a stop, in a silence, or standing.

    A silence longer than the gap within a piece is a recorder that paused: the vehicle went no
    farther from the middle than about half the way between the ends.
    """
    wait_s = np.diff(drive.seconds)
    silence = silent(wait_s, usual_s=_usual_wait_s(drive))
    stopping = np.maximum(noise.push_mps2, _STOPPING_PUSH_MPS2)
    push = np.where(_near(still, drive.seconds), stopping, noise.push_mps2)
    push = np.where(silence, _SILENT_PUSH_MPS2, push)
    # For long times t, a push p leaves the middle unsure by p (2 T t^3 / 192)^0.5, T of 4 s.
    half_m = np.hypot(*np.diff(drive.xy_m, axis=0).T) / 2 + 1.0
    paused = half_m * np.sqrt(24.0 / wait_s**3)
    push = np.where(wait_s > gap_s, np.minimum(push, paused), push)
    return np.where(still, _STANDING_PUSH_MPS2, push)


def _with(fixes: pd.DataFrame, stands: Flags, **columns: Floats) -> pd.DataFrame:
    return fixes.assign(**columns, standing=stands.astype(np.int64))


def _untimed(fixes: pd.DataFrame, defaults: Defaults) -> tuple[pd.DataFrame, DriveFacts]:
    """A drive without times as it was recorded: nothing says what is motion and what is error."""
    lon, lat = fixes["lon_deg"].to_numpy(), fixes["lat_deg"].to_numpy()
    usual_m, share = _radius_m(fixes, defaults)
    joined = np.diff(fixes["piece"].to_numpy()) == 0
    way = bearings_deg(lon, lat) % 360.0
    course = pd.Series(np.r_[np.where(joined, way, np.nan), np.nan]).ffill()
    sd_m = usual_m * share / RADIUS_68_IN_SDS
    smoothed = _with(
        fixes,
        np.zeros(len(fixes), dtype=bool),
        smooth_lon_deg=lon,
        smooth_lat_deg=lat,
        smooth_sd_m=sd_m,
        smooth_speed_mps=fixes["speed_mps"].to_numpy(),
        smooth_course_deg=np.where(fixes["course_deg"].notna(), fixes["course_deg"], course),
    )
    length_m = float(segment_lengths_m(lon, lat, elevation_m=0.0)[joined].sum())
    return smoothed, _facts(smoothed, length_m=length_m, stood_s=0.0, timed=False)


def _facts(smoothed: pd.DataFrame, *, length_m: float, stood_s: float, timed: bool) -> DriveFacts:
    times = smoothed["time_utc"]
    return DriveFacts(
        drive_id=str(smoothed["drive_id"].iloc[0]),
        fixes=len(smoothed),
        begin_utc=times.iloc[0].to_pydatetime() if timed else None,
        end_utc=times.iloc[-1].to_pydatetime() if timed else None,
        length_m=length_m,
        stood_s=stood_s,
        accuracy_m=float(smoothed["accuracy_m"].median()),
        sd_m=float(smoothed["smooth_sd_m"].median()),
        gaps=int(smoothed["piece"].iloc[-1] - smoothed["piece"].iloc[0]),
    )


def _recorded(fixes: pd.DataFrame, share: Floats, plane: Plane) -> Recorded:
    """A drive as recorded, with nothing known of its speed or push yet."""
    seconds = seconds_of(fixes["time_utc"])
    count = len(fixes)
    return Recorded(
        seconds=seconds - seconds[0],
        xy_m=plane.to_xy(fixes["lon_deg"].to_numpy(), fixes["lat_deg"].to_numpy()),
        joined=np.diff(fixes["piece"].to_numpy()) == 0,
        error_share=share,
        push_mps2=np.zeros(count - 1),
        speed_mps=np.zeros((count, 2)),
        speed_weight=np.zeros(count),
    )


def _fitted(fixes: pd.DataFrame, defaults: Defaults, plane: Plane) -> tuple[Track, Flags]:
    """The track of a drive with times, and at which fixes it stood.

    Fitted twice: the first time to see when it stood and whether the device's speed agrees.
    """
    usual_m, share = _radius_m(fixes, defaults)
    drive = _recorded(fixes, share, plane)
    noise = noise_of(
        drive.seconds,
        drive.xy_m,
        drive.joined,
        reported_m=usual_m / RADIUS_68_IN_SDS,
        reported_sd=_REPORTED_SD if fixes["accuracy_m"].notna().any() else _DEFAULT_SD,
    )
    still = np.zeros_like(drive.joined)
    drive = replace(drive, push_mps2=_pushes(drive, noise, still, defaults.drive_gap_s))
    first = fit(drive, noise)
    stands = stood(
        drive.seconds,
        first.mean_states[:, 0],
        fixes["speed_mps"].to_numpy(),
        noise=noise,
        step_s=_usual_wait_s(drive),
    )
    still = _still(drive, stands)
    speed_mps, speed_weight = _known_speed(fixes, first, stands)
    drive = replace(
        drive,
        push_mps2=_pushes(drive, noise, still, defaults.drive_gap_s),
        speed_mps=speed_mps,
        speed_weight=speed_weight,
    )
    fitted = fit(drive, noise)
    track = Track(
        plane=plane,
        seconds=seconds_of(fixes["time_utc"]),
        joined=drive.joined,
        still=still,
        push_mps2=drive.push_mps2,
        hidden_m=noise.hidden_m * share,
        course_deg=courses(fitted.mean_states[:, 1]),
        mean_states=fitted.mean_states,
        own_cov=fitted.own_cov,
        next_cov=fitted.next_cov,
    )
    return track, stands


def _timed(fixes: pd.DataFrame, defaults: Defaults) -> tuple[pd.DataFrame, DriveFacts, Track]:
    lon, lat = fixes["lon_deg"].to_numpy(), fixes["lat_deg"].to_numpy()
    plane = plane_at(float(np.median(lon)), float(np.median(lat)))
    track, stands = _fitted(fixes, defaults, plane)
    states = track.at(track.seconds)
    smoothed = _with(
        fixes,
        stands,
        smooth_lon_deg=states.lon_deg,
        smooth_lat_deg=states.lat_deg,
        smooth_sd_m=states.sd_m,
        smooth_speed_mps=states.speed_mps,
        smooth_course_deg=states.course_deg,
    )
    stood_s = float(np.diff(track.seconds)[track.still].sum())
    facts = _facts(smoothed, length_m=track.length_m(), stood_s=stood_s, timed=True)
    return smoothed, facts, track


def smooth(fixes: pd.DataFrame, defaults: Defaults) -> Smoothed:
    """Smooth every drive.

    A drive without times keeps its places and gets no track.

    Parameters
    ----------
    fixes
        Cleaned fixes.
    defaults
        The tolerances.
    """
    drives, facts, tracks = [], [], {}
    for drive_id, drive in fixes.groupby("drive_id", sort=True):
        if drive["time_utc"].isna().any():
            smoothed, said = _untimed(drive, defaults)
        else:
            smoothed, said, tracks[str(drive_id)] = _timed(drive, defaults)
        drives.append(smoothed)
        facts.append(said)
    if drives:
        table = pd.concat(drives, ignore_index=True)
    else:
        blank = tables.table(tables.SMOOTHED, []).drop(columns="raw_row")
        table = pd.concat([fixes, blank.set_index(fixes.index)], axis=1)
    tables.check(table, tables.SMOOTHED, what="smoothed fixes")
    return Smoothed(fixes=table, tracks=tracks, facts=tuple(facts))
