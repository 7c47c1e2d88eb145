"""The spine that a leg's line is made from: one stretch of one drive.

In go cleaned fixes, out comes the stretch that the leg names, or the longest one that does not
come back to itself.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.spatial import cKDTree

from routeprep.centerline import START_NEAR_M, start_end
from routeprep.errors import LineError
from routeprep.geodesy import Plane
from routeprep.planar import thin
from routeprep.shapes import LegSettings

__all__ = ["THIN_M", "Stretch", "spine_of", "start_near"]

Floats = npt.NDArray[np.float64]

# Fixes nearer than this are thinned out, and points are set at most this far apart [m]; common
# practice, no source.
THIN_M = 8.0
_DENSE_M = 10.0
# A stretch comes back to itself when it is this near [m] to a part this far behind [m]; common
# practice, no source.
_BACK_NEAR_M = 15.0
_BACK_APART_M = 40.0
# Within this of its end a stretch that turns by more than a right angle is turning round [m];
# common practice, no source.
_HOOK_M = 60.0
# A line is made from no less than this [m]; common practice, no source.
_LEAST_PATH_M = 60.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stretch:
    """Part of a drive that does not come back to itself.

    Attributes
    ----------
    drive_id
        The drive.
    xy_m
        Its points in the plane, in order [m].
    length_m
        Its length [m].
    """

    drive_id: str
    xy_m: Floats
    length_m: float


def _dense(xy_m: Floats) -> Floats:
    """Points at most the dense step apart from first to last fix, standstill scatter gone."""
    rows = thin(xy_m, step_m=THIN_M)
    kept: Floats = xy_m[np.union1d(rows, [len(xy_m) - 1])]
    if len(kept) < 2:  # noqa: PLR2004 - a path has two ends
        return kept
    size_m = np.hypot(*np.diff(kept, axis=0).T)
    parts = np.maximum(1, np.ceil(size_m / _DENSE_M)).astype(int)
    at = np.concatenate([np.arange(n) / n + i for i, n in enumerate(parts)] + [[len(kept) - 1.0]])
    return np.column_stack([np.interp(at, np.arange(len(kept)), kept[:, k]) for k in (0, 1)])


def _longest_plain(xy_m: Floats) -> Floats:
    """The longest part of a path that neither crosses itself nor comes back beside itself."""
    along_m = np.r_[0.0, np.cumsum(np.hypot(*np.diff(xy_m, axis=0).T))]
    pairs = cKDTree(xy_m).query_pairs(_BACK_NEAR_M, output_type="ndarray")
    low, high = pairs.min(axis=1, initial=len(xy_m)), pairs.max(axis=1, initial=0)
    back = along_m[high] - along_m[low] > _BACK_APART_M if len(pairs) else np.zeros(0, bool)
    begin = np.zeros(len(xy_m), dtype=np.int64)
    np.maximum.at(begin, high[back], low[back] + 1)
    begin = np.maximum.accumulate(begin)
    end = int(np.argmax(along_m - along_m[begin]))
    plain = xy_m[begin[end] : end + 1]
    return _unhooked(_unhooked(plain)[::-1])[::-1]


def _unhooked(xy_m: Floats) -> Floats:
    """A path without the turning round at its end."""
    along_m = np.r_[0.0, np.cumsum(np.hypot(*np.diff(xy_m, axis=0).T))]
    begin = int(np.searchsorted(along_m, along_m[-1] - _HOOK_M))
    if begin + 1 >= len(xy_m):
        return xy_m
    ahead = xy_m[begin + 1] - xy_m[begin]
    return xy_m[: begin + 1 + int(np.argmax((xy_m[begin:] - xy_m[begin]) @ ahead))]


def _stretches(fixes: pd.DataFrame, plane: Plane) -> list[Stretch]:
    stretches = []
    for (drive_id, _), piece in fixes.groupby(["drive_id", "piece"], sort=True):
        xy = _dense(
            plane.to_xy(piece["smooth_lon_deg"].to_numpy(), piece["smooth_lat_deg"].to_numpy())
        )
        if len(xy) > 1:
            plain = _longest_plain(xy)
            length_m = float(np.hypot(*np.diff(plain, axis=0).T).sum())
            if length_m >= _LEAST_PATH_M:
                stretches.append(Stretch(drive_id=str(drive_id), xy_m=plain, length_m=length_m))
    return stretches


def spine_of(
    fixes: pd.DataFrame,
    leg: LegSettings,
    *,
    names: Mapping[str, str],
    alone: bool,
    plane: Plane,
) -> Stretch:
    """The stretch the line is made from: named, or the longest that can be meant.

    Parameters
    ----------
    fixes
        Cleaned fixes of all drives.
    leg
        The leg; ``spine`` may name the drive, ``start_near_deg`` tells the start.
    names
        Drive id to what its file calls it.
    alone
        Whether this is the only leg made from drives.
    plane
        The plane that the spine is wanted in.

    Raises
    ------
    LineError
        If no drive is meant, or none starts near the leg's start.
    """
    where = f"leg {leg.code}"
    meant = [s for s in _stretches(fixes, plane) if _is_meant(names.get(s.drive_id, ""), leg.spine)]
    if not meant:
        known = sorted(set(names.values()))
        wanted = f"spine {leg.spine!r}" if leg.spine else "a drive"
        msg = (
            f"{where}: {wanted} with {_LEAST_PATH_M:g} m driven one way was not found among "
            f"{len(known)} drives {known}; name a drive of the job, or give a centerline file"
        )
        raise LineError(msg, leg=leg.code)
    near = meant
    if not alone and not leg.spine:
        near = [s for s in meant if _from_start_m(s, leg, plane) <= START_NEAR_M]
        if not near:
            best_m = min(_from_start_m(s, leg, plane) for s in meant)
            msg = (
                f"{where}: no stretch driven one way ends within {START_NEAR_M:g} m of "
                f"start_near {leg.start_near_deg} (the nearest is {best_m:.0f} m away); name the "
                "leg's spine drive, or give a centerline file"
            )
            raise LineError(msg, leg=leg.code)
    return max(near, key=lambda s: (round(s.length_m, 3), s.drive_id))


def _is_meant(name: str, spine: str) -> bool:
    """Whether a drive is the one named: by its whole name, or its file's before the track's."""
    return not spine or name == spine or name.startswith((f"{spine}:", f"{spine} "))


def _from_start_m(stretch: Stretch, leg: LegSettings, plane: Plane) -> float:
    lon, lat = plane.to_lonlat(stretch.xy_m[[0, -1]])
    return start_end(lon, lat, start_near(leg))[1]


def start_near(leg: LegSettings) -> tuple[float, float]:
    """Longitude and latitude near the end that bears the leg's start [deg].

    Raises
    ------
    LineError
        If the job does not say.
    """
    if leg.start_near_deg is None:
        msg = (
            f"leg {leg.code}: start_near is missing; a line made from drives needs "
            "start_near = [longitude, latitude] near the end that bears the start"
        )
        raise LineError(msg, leg=leg.code)
    return leg.start_near_deg
