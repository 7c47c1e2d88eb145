"""A centerline from drives: the path driven.

In go smoothed fixes, out comes one line: a spine moved to the middle of all the drives along it.
Both directions together give the middle of the road; noise is smoothed out, so that it does not
lengthen the line.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from routeprep.centerline import measured, start_end
from routeprep.errors import LineError
from routeprep.geodesy import Plane, plane_at
from routeprep.lines import Centerline
from routeprep.middle import Middle, Roadway, middle_of, one_roadway
from routeprep.planar import Polyline
from routeprep.runs import RUN_LEAST_M, runs_along
from routeprep.shapes import Defaults, Finding, LegSettings
from routeprep.shaping import even, low_pass, shaped
from routeprep.spines import spine_of, start_near

__all__ = ["path_driven"]

Floats = npt.NDArray[np.float64]

# A start farther than this from start_near is doubted [m]: three times what a phone is good to.
_START_SURE_M = 15.0
# How often the line is moved to the middle of its drives, and how smooth it begins [m]; common
# practice, no source.
_ROUNDS = 4
_FIRST_M = 60.0
# Stretches shorter than this are not spoken of [m]; common practice, no source.
_SPOKEN_M = 100.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Path:
    """The line in a plane, moved to the middle of its runs; ``middle`` is its last move."""

    xy_m: Floats
    middle: Middle
    roadway: Roadway


def _moved(line: Polyline, offset_m: Floats) -> Floats:
    """Vertices moved square to the line, right positive."""
    way = np.gradient(line.xy_m, axis=0)
    way /= np.hypot(way[:, 0], way[:, 1])[:, None]
    right = np.column_stack([way[:, 1], -way[:, 0]])
    return np.asarray(line.xy_m + offset_m[:, None] * right)


def _path(
    spine_xy_m: Floats, fixes: pd.DataFrame, plane: Plane, leg: LegSettings, defaults: Defaults
) -> _Path:
    """Move the spine to the middle of the drives along it, a few rounds.

    Raises
    ------
    LineError
        If no drive follows the smoothed spine.
    """
    begun = even(spine_xy_m)
    xy_m = low_pass(begun, wavelength_m=_FIRST_M)
    # Opposite paths may be as far apart as all lanes, and three times the noise of a drive [m].
    noise_m = float(np.median(fixes["smooth_sd_m"]))
    allowed_m = (leg.lanes_left + leg.lanes_right) * leg.lane_width_m + 3 * noise_m
    for _ in range(_ROUNDS):
        line = Polyline(even(xy_m))
        every = runs_along(fixes, plane, line, corridor_m=defaults.spine_corridor_m)
        roadway = one_roadway(every, allowed_m=allowed_m)
        if not roadway.runs:
            msg = (
                f"leg {leg.code}: no drive keeps along its own smoothed path for "
                f"{RUN_LEAST_M:g} m; the fixes scatter too much or lie too far apart: give a "
                "centerline file"
            )
            raise LineError(msg, leg=leg.code)
        middle = middle_of(roadway.runs, leg, grid_m=line.along_m)
        xy_m = shaped(
            _moved(line, middle.offset_m),
            apart_m=middle.apart_m,
            share=middle.share,
            sd_m=middle.run_sd_m,
            widest_m=defaults.path_smooth_m,
        )
    return _Path(xy_m=xy_m, middle=middle, roadway=roadway)


def _ended(xy_m: Floats, sd_m: Floats, first_m: Floats, last_m: Floats) -> tuple[Floats, Floats]:
    """Cut or lengthen a path so that it begins and ends abeam of two points [m]."""
    line = Polyline(xy_m)
    feet = line.feet(np.array([first_m, last_m]))
    at = feet.segment + feet.fraction
    ends = line.start_m[feet.segment] + feet.fraction[:, None] * line.step_m[feet.segment]
    inside = np.flatnonzero((np.arange(len(xy_m)) > at[0]) & (np.arange(len(xy_m)) < at[1]))
    cut = np.vstack([ends[:1], xy_m[inside], ends[1:]])
    rows = np.concatenate([at[:1], inside, at[1:]])
    return cut, np.interp(rows, np.arange(len(sd_m)), sd_m)


def path_driven(
    fixes: pd.DataFrame,
    leg: LegSettings,
    *,
    names: Mapping[str, str],
    elevation_m: float,
    defaults: Defaults,
    alone: bool,
) -> tuple[Centerline, tuple[Finding, ...]]:
    """Make a leg's line from drives.

    Parameters
    ----------
    fixes
        Cleaned fixes of all drives.
    leg
        The leg; ``spine`` may name the drive, ``start_near_deg`` tells the start.
    names
        Drive id to what its file calls it.
    elevation_m
        Height of the road [m].
    defaults
        The tolerances.
    alone
        Whether this is the only leg made from drives.

    Raises
    ------
    LineError
        If there is no fix, no drive can be the spine, none keeps along it, or nothing says which
        end is the start.
    """
    lon, lat = fixes["smooth_lon_deg"].to_numpy(), fixes["smooth_lat_deg"].to_numpy()
    if not len(lon):
        msg = f"leg {leg.code}: the job has 0 fixes; add a drive, or give a centerline file"
        raise LineError(msg, leg=leg.code)
    plane = plane_at(float(np.median(lon)), float(np.median(lat)))
    near_deg = start_near(leg)
    spine = spine_of(fixes, leg, names=names, alone=alone, plane=plane)
    path = _path(spine.xy_m, fixes, plane, leg, defaults)
    xy_m, sd_m = _ended(path.xy_m, path.middle.sd_m, spine.xy_m[0], spine.xy_m[-1])
    lon, lat = plane.to_lonlat(xy_m)
    turn, away_m = start_end(lon, lat, near_deg)
    way = slice(None, None, -1 if turn else 1)
    line = measured(
        lon[way], lat[way], sd_m=sd_m[way], elevation_m=elevation_m, made_from="path driven"
    )
    said = [
        _made(line, path, names.get(spine.drive_id, spine.drive_id)),
        *_parted(path.roadway, leg),
        *_one_way(line, path, leg, turned=turn),
        *_far_start(away_m),
    ]
    where = f"leg {leg.code}"
    return line, tuple(Finding(level=level, where=where, text=text) for level, text in said)


def _made(line: Centerline, path: _Path, spine: str) -> tuple[str, str]:
    """What the line was made from: a level and a sentence, like all that follow."""
    up = sum(run.direction > 0 for run in path.roadway.runs)
    return "note", (
        f"path driven, not plan centerline: {line.length_m:,.0f} m along {spine}, moved to the "
        f"middle of {up} runs one way and {len(path.roadway.runs) - up} the other"
    )


def _parted(roadway: Roadway, leg: LegSettings) -> list[tuple[str, str]]:
    """Where the two directions have a roadway each."""
    if not roadway.parted_m:
        return []
    text = (
        f"for {roadway.parted_m:,.0f} m the two directions are {roadway.apart_m:.1f} m apart, "
        f"more than {leg.lanes_left + leg.lanes_right} lanes allow: only drives along the spine's "
        "direction made the line there; make a leg for each roadway"
    )
    return [("doubt", text)]


def _far_start(away_m: float) -> list[tuple[str, str]]:
    """A start that is not where the job says."""
    if away_m <= _START_SURE_M:
        return []
    text = (
        f"start_near is {away_m:,.0f} m from the nearer end of the path driven; the start is at "
        "the end of the path, not at start_near"
    )
    return [("doubt", text)]


def _one_way(
    line: Centerline, path: _Path, leg: LegSettings, *, turned: bool
) -> list[tuple[str, str]]:
    """Where only one direction was driven, and what was done about it there."""
    middle = path.middle
    alone = middle.one_way & ~path.roadway.silent
    edges = np.flatnonzero(np.diff(np.r_[False, alone, False]))
    count = len(alone) - 1
    said = []
    for first, after in edges.reshape(-1, 2):
        ends_m = np.sort(np.abs(turned - np.array([first, after - 1]) / count)) * line.length_m
        if np.ptp(ends_m) >= min(_SPOKEN_M, line.length_m):
            where = f"from {ends_m[0]:,.0f} m to {ends_m[1]:,.0f} m along, "
            moved_m = float(np.mean(middle.moved_m[first:after]))
            said.append(_one_way_text("" if alone.all() else where, leg, middle, moved_m))
    return said[::-1] if turned else said


def _one_way_text(where: str, leg: LegSettings, middle: Middle, moved_m: float) -> tuple[str, str]:
    """One stretch driven in one direction, what it was moved by, and why."""
    text = f"{where}driven in one direction only: "
    if leg.lane_driven:
        return "note", text + (
            f"the line was moved {moved_m:.1f} m to the left of the drives, from lane "
            f"{leg.lane_driven} that the job says was driven to the middle of the road"
        )
    if math.isfinite(middle.half_apart_m):
        return "doubt", text + (
            f"the line was moved {moved_m:.1f} m to the left of the drives, by what lies between "
            "the two directions elsewhere; drive it the other way too, or give lane_driven"
        )
    return "doubt", text + (
        "the line lies in the lane driven, not in the middle of the road; drive it the other way "
        "too, or give lane_driven"
    )
