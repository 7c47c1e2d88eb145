"""Where and when each mark was, before it is put on a leg.

In go marks, the drives' tracks and their paths, and what is known of how late each person taps, out
come ``Spots``.  A mark is placed by its time on its drive, one from a vehicle less the person's
lateness; its leg and the vehicle's direction come from the drive's path.  A walker may go on either
side and look either way: which way he went says nothing.  Without a time on a drive a mark's own
position is all there is.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
import shapely

from routeprep.drives import seconds_of
from routeprep.estimates import Lateness
from routeprep.geodesy import segment_lengths_m
from routeprep.matching import Path, where_at
from routeprep.shapes import Defaults
from routeprep.spreads import RADIUS_68_IN_SDS
from routeprep.tracks import Track

__all__ = ["Spots", "spots_of", "spots_of_records", "usual_lateness"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]
Texts = npt.NDArray[np.object_]

# How fast a thing was passed is the mean over the time in which it may have been passed: this
# share of it at its middle, this at each end (Simpson's rule).
_MIDDLE_SHARE, _END_SHARE = 2.0 / 3.0, 1.0 / 6.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Spots:
    """Where and when things were, before they are put on a leg; one value a thing.

    Attributes
    ----------
    lon_deg, lat_deg
        Places [deg], the lead not yet added; NaN when there is none.
    sd_m, shared_sd_m
        Standard deviation of one axis of the place [m], and along the road by what all marks of
        the person share [m].
    own_sd_m
        The part of the deviation along that no other mark of the person shares [m].
    person
        Whose lateness was taken off: who the mark or its drive names, else the drive.
    speed_mps, late_m
        How fast the thing was passed [m/s], and how far the place is moved back [m].
    lead_m
        The part of that which is moved along the leg: how far ahead the thing was [m].
    by_time
        Whether the drive's place at its time was taken.
    leg, near_m, travel
        What the drive's path says: index of the leg (-1 none), distance along it [m], direction.
    course_deg
        The vehicle's direction, clockwise from north [deg]; NaN when nothing tells.
    disagrees, poor, untimed
        Why a person should look at it: the tap's own position is elsewhere, the accuracy is poor,
        no drive knows its time.
    """

    lon_deg: Floats
    lat_deg: Floats
    sd_m: Floats
    shared_sd_m: Floats
    own_sd_m: Floats
    person: Texts
    speed_mps: Floats
    late_m: Floats
    lead_m: Floats
    by_time: Flags
    leg: Ints
    near_m: Floats
    travel: Ints
    course_deg: Floats
    disagrees: Flags
    poor: Flags
    untimed: Flags


def usual_lateness(person: str, defaults: Defaults) -> Lateness:
    """How late somebody taps of whom nothing is known.

    Parameters
    ----------
    person
        Who.
    defaults
        The usual values.
    """
    return Lateness(
        person=person,
        late_s=defaults.tap_late_s,
        late_sd_s=defaults.tap_late_sd_s,
        lead_m=defaults.tap_lead_m,
        lead_sd_m=defaults.tap_lead_sd_m,
        late_lead_sm=0.0,
        tap_sd_s=defaults.tap_spread_s,
        things=0,
        told=False,
        text="nothing was marked that tells it: the usual values are taken",
    )


# On foot one stands at the thing.
_ON_FOOT = Lateness(
    person="", late_s=0.0, late_sd_s=0.0, lead_m=0.0, lead_sd_m=0.0, late_lead_sm=0.0,
    tap_sd_s=0.0, things=0, told=False, text="",
)  # fmt: skip


def _taken_off(
    named: Texts, vehicle: Flags, people: Mapping[str, Lateness], defaults: Defaults
) -> dict[str, Floats]:
    """What is known of the lateness of whoever made each mark, a column a number."""
    who, names = pd.factorize(np.where(vehicle, named, ""))
    known = [people.get(name) or usual_lateness(name, defaults) for name in names]
    numbers = ("late_s", "late_sd_s", "lead_m", "lead_sd_m", "late_lead_sm", "tap_sd_s")
    columns = {}
    for number in numbers:
        each = np.array([getattr(one, number) for one in known], dtype=np.float64)
        columns[number] = np.where(vehicle, each[who], getattr(_ON_FOOT, number))
    return columns


def _drives_of(
    marks: pd.DataFrame, passed_s: Floats, tracks: Mapping[str, Track], defaults: Defaults
) -> Texts:
    """The drive of each mark: named, or for a vehicle the only one recorded at its time."""
    timed, drive_id = np.isfinite(passed_s), marks["drive_id"].to_numpy(dtype=object)
    found = np.where(timed & marks["drive_id"].isin(list(tracks)).to_numpy(), drive_id, "")
    unnamed = (marks["method"] == "vehicle").to_numpy() & (drive_id == "")
    rows = np.flatnonzero(timed & unnamed)
    near = {
        key: track.away_s(passed_s[rows]) <= defaults.fix_near_mark_s
        for key, track in tracks.items()
    }
    once = np.sum(list(near.values()), axis=0) == 1
    for key, here in near.items():
        found[rows[here & once]] = key
    return found


def _still(lon_deg: Floats, lat_deg: Floats, sd_m: Floats) -> dict[str, Any]:
    """The columns of places that no drive tells anything of."""
    count = len(sd_m)
    columns: dict[str, Any] = {"lon_deg": lon_deg, "lat_deg": lat_deg, "sd_m": sd_m}
    columns |= {name: np.full(count, np.nan) for name in ("speed_mps", "near_m", "course_deg")}
    columns |= {name: np.zeros(count) for name in ("shared_sd_m", "late_m", "lead_m")}
    flags = ("by_time", "disagrees", "poor", "untimed")
    columns |= {name: np.zeros(count, dtype=bool) for name in flags}
    return columns | {
        "own_sd_m": sd_m.copy(),
        "person": np.full(count, "", dtype=object),
        "leg": np.full(count, -1),
        "travel": np.zeros(count, dtype=np.int64),
    }


def _by_place(marks: pd.DataFrame, vehicle: Flags, defaults: Defaults) -> dict[str, Any]:
    """Each mark at its own position: all there is without a time on a drive."""
    reported_m = marks["accuracy_m"].to_numpy()
    radius_m = np.where(np.isfinite(reported_m), reported_m, defaults.phone_accuracy_m)
    lon, lat = (marks[name].to_numpy(copy=True) for name in ("lon_deg", "lat_deg"))
    sd_m = radius_m / RADIUS_68_IN_SDS
    return _still(lon, lat, sd_m) | {
        "own_sd_m": np.hypot(sd_m, np.where(vehicle, defaults.tap_untimed_sd_m, 0.0)),
        "poor": radius_m > defaults.poor_accuracy_m,
        "untimed": vehicle.copy(),
    }


def _passed(track: Track, seconds: Floats, off: Mapping[str, Floats]) -> dict[str, Floats]:
    """Where and how fast a drive was when things were passed, and where when they were tapped."""
    passed_s, reach_s = seconds - off["late_s"], np.hypot(off["late_sd_s"], off["tap_sd_s"])
    asked = track.at(np.concatenate([passed_s, seconds]))
    passed, tapped = slice(len(seconds)), slice(len(seconds), None)
    at_fixes = np.hypot(track.mean_states[:, 1, 0], track.mean_states[:, 1, 1])
    ends = (np.interp(passed_s + way_s, track.seconds, at_fixes) for way_s in (-reach_s, reach_s))
    return {
        "passed_s": passed_s,
        "away_s": track.away_s(passed_s),
        "lon_deg": asked.lon_deg[passed],
        "lat_deg": asked.lat_deg[passed],
        "sd_m": asked.sd_m[passed],
        "speed_mps": _MIDDLE_SHARE * asked.speed_mps[passed] + _END_SHARE * sum(ends),
        "course_deg": asked.course_deg[passed],
        "tap_lon_deg": asked.lon_deg[tapped],
        "tap_lat_deg": asked.lat_deg[tapped],
    }


def _tap_away_m(lon_deg: Floats, lat_deg: Floats, passed: Mapping[str, Floats]) -> Floats:
    """How far each tap's own position is from where the drive was at the tap [m]; NaN for none."""
    lon = np.column_stack([lon_deg, passed["tap_lon_deg"]]).ravel()
    lat = np.column_stack([lat_deg, passed["tap_lat_deg"]]).ravel()
    return segment_lengths_m(lon, lat, elevation_m=0.0)[::2]


def _by_time(
    passed: Mapping[str, Floats], off: Mapping[str, Floats], path: Path, vehicle: Flags
) -> dict[str, Any]:
    """Where the vehicle was when things passed, or the walker when they were tapped."""
    speed, sd_m = passed["speed_mps"], passed["sd_m"]
    leg, near_m, travel = where_at(path, passed["passed_s"])
    travel = np.where(vehicle, travel, 0)
    # Which way the lead lies is not known where the travel is not: it is not added, but doubted.
    known = (travel != 0) & (leg >= 0)
    lead_m = np.where(known, off["lead_m"], 0.0)
    shared_m2 = (
        (speed * off["late_sd_s"]) ** 2
        - 2 * speed * off["late_lead_sm"]
        + off["lead_sd_m"] ** 2
        + (off["lead_m"] - lead_m) ** 2
    )
    return {
        "lon_deg": passed["lon_deg"],
        "lat_deg": passed["lat_deg"],
        "sd_m": sd_m,
        "shared_sd_m": np.sqrt(np.maximum(shared_m2, 0.0)),
        "own_sd_m": np.hypot(sd_m, speed * off["tap_sd_s"]),
        "speed_mps": speed,
        "late_m": speed * off["late_s"] - lead_m,
        "lead_m": lead_m,
        "by_time": True,
        "leg": leg,
        "near_m": near_m,
        "travel": travel,
        "course_deg": np.where(vehicle, passed["course_deg"], np.nan),
        "untimed": False,
    }


def spots_of(
    marks: pd.DataFrame,
    tracks: Mapping[str, Track],
    paths: Mapping[str, Path],
    defaults: Defaults,
    *,
    people: Mapping[str, Lateness],
) -> Spots:
    """Where each mark was.

    Parameters
    ----------
    marks
        Table of marks.
    tracks
        Drive id to its track, for drives that have times.
    paths
        Drive id to its path on the legs, for the same drives.
    defaults
        The tolerances, and the lateness of who is not among the people.
    people
        Person to how late he taps.
    """
    seconds, vehicle = seconds_of(marks["time_utc"]), (marks["method"] == "vehicle").to_numpy()
    by, drive_id = (marks[name].to_numpy(dtype=object) for name in ("by", "drive_id"))
    first = _taken_off(np.where(by == "", drive_id, by), vehicle, people, defaults)
    drives = _drives_of(marks, seconds - first["late_s"], tracks, defaults)
    person = np.where(by == "", drives, by)
    off = _taken_off(person, vehicle, people, defaults)
    columns = _by_place(marks, vehicle, defaults)
    groups = pd.Series(drives, dtype=object).groupby(drives).indices
    for key, all_rows in groups.items():
        if key not in tracks:
            continue
        here = {name: values[all_rows] for name, values in off.items()}
        passed = _passed(tracks[str(key)], seconds[all_rows], here)
        known = _known(passed, columns["lon_deg"][all_rows], defaults)
        rows, here, passed = all_rows[known], _some(here, known), _some(passed, known)
        away_m = _tap_away_m(columns["lon_deg"][rows], columns["lat_deg"][rows], passed)
        found = _by_time(passed, here, paths[str(key)], vehicle[rows])
        for name, values in found.items():
            columns[name][rows] = values
        columns["person"][rows] = np.where(vehicle[rows], person[rows], "")
        columns["disagrees"][rows] = away_m > defaults.tap_disagrees_m
        columns["poor"][rows] = passed["sd_m"] * RADIUS_68_IN_SDS > defaults.poor_accuracy_m
    return Spots(**columns)


def _some(columns: Mapping[str, Floats], rows: Flags) -> dict[str, Floats]:
    return {name: values[rows] for name, values in columns.items()}


def _known(passed: Mapping[str, Floats], lon_deg: Floats, defaults: Defaults) -> Flags:
    """Whether the drive knows the place better than the tap's own position does."""
    near = passed["away_s"] <= defaults.fix_near_mark_s
    drift_m = passed["away_s"] * passed["speed_mps"]
    return near & ((drift_m <= defaults.tap_untimed_sd_m) | np.isnan(lon_deg))


def spots_of_records(records: pd.DataFrame, defaults: Defaults) -> Spots:
    """Where each record is: a point in the middle of its line or polygon.

    Parameters
    ----------
    records
        Table of records.
    defaults
        The tolerances.
    """
    middles = shapely.get_coordinates(shapely.point_on_surface(records["geometry"].to_numpy()))
    sd_m = defaults.record_sd_m + np.nan_to_num(records["datum_sd_m"].to_numpy())
    return Spots(**_still(middles[:, 0], middles[:, 1], sd_m))
