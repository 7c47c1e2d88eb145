"""A centerline from drives: the path driven.

In go cleaned fixes, out comes one line: a spine moved to the middle of all the drives along it.
Both directions together give the middle of the road; noise is smoothed out, so that it does not
lengthen the line.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy import sparse
from scipy.sparse.linalg import splu

from routeprep.centerline import measured, start_end
from routeprep.errors import LineError
from routeprep.geodesy import Plane, plane_at
from routeprep.lines import Centerline
from routeprep.planar import Polyline, thin
from routeprep.shapes import Defaults, Finding, LegSettings
from routeprep.spines import THIN_M, spine_of, start_near

__all__ = ["RADIUS_68_IN_SDS", "path_driven"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

# The radius that holds 68 % of a circular normal error, in standard deviations of one axis:
# sqrt(-2 ln(1 - 0.68)) (Rayleigh distribution).
RADIUS_68_IN_SDS = 1.5096

# The grid along the line [m]; common practice, no source.
_GRID_M = 5.0
# A drive helps only with stretches at least this long [m], and fades in and out over this [m], down
# to this share of its weight; all these are common practice, no source.
_RUN_LEAST_M = 40.0
_FADE_M = 100.0
_FADE_FLOOR = 0.02
# It follows the line while the two lengths agree to this share, both taken from this many fixes
# before to this many after; common practice, no source.
_FOLLOWS = 0.5
_BASE = 2
# Directions that are too far apart for less than this in all are taken for noise [m]; beside a
# stretch where they are, this much more is parted too [m]; common practice, no source.
_PARTED_LEAST_M = 100.0
_BESIDE_M = 50.0
# A start farther than this from start_near is doubted [m]: three times what a phone is good to.
_START_SURE_M = 15.0
# How often the line is moved to the middle of its drives; common practice, no source.
_ROUNDS = 3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Run:
    """One drive along the line in one direction: its offset on the grid, and its weight."""

    direction: int
    offset_m: Floats
    weight: Floats


def _smooth(xy_m: Floats, *, wavelength_m: float) -> Floats:
    """Resample a path evenly and take out features narrower than a wavelength.

    Penalised least squares on third differences (Eilers, A perfect smoother, Analytical
    Chemistry 75, 2003), the penalty set so that half the amplitude passes at the wavelength.
    """
    along_m = np.r_[0.0, np.cumsum(np.hypot(*np.diff(xy_m, axis=0).T))]
    count = max(5, round(along_m[-1] / _GRID_M) + 1)
    grid = np.linspace(0.0, along_m[-1], count)
    even = np.column_stack([np.interp(grid, along_m, xy_m[:, k]) for k in (0, 1)])
    step_m = grid[1] - grid[0]
    penalty = (2.0 * np.sin(np.pi * step_m / max(wavelength_m, 2 * step_m))) ** -6
    third = sparse.diags_array(
        [-1.0, 3.0, -3.0, 1.0], offsets=[0, 1, 2, 3], shape=(count - 3, count), format="csc"
    )
    system = sparse.eye_array(count, format="csc") + penalty * (third.T @ third)
    smooth = splu(system.tocsc()).solve(even)
    return np.asarray(smooth, dtype=np.float64)


def _runs(fixes: pd.DataFrame, plane: Plane, line: Polyline, corridor_m: float) -> list[_Run]:
    """Every stretch of every drive that follows the line, as offsets on its vertices."""
    grid_m = np.r_[0.0, np.cumsum(line.length_m)]
    runs = []
    for _, piece in fixes.groupby(["drive_id", "piece"], sort=True):
        xy = plane.to_xy(piece["lon_deg"].to_numpy(), piece["lat_deg"].to_numpy())
        xy = xy[thin(xy, step_m=THIN_M)]
        if len(xy) < 2:  # noqa: PLR2004 - a run has two ends
            continue
        feet = line.feet(xy)
        along_m = grid_m[feet.segment] + feet.fraction * line.length_m[feet.segment]
        on = (np.abs(feet.offset_m) <= corridor_m) & (feet.fraction >= 0) & (feet.fraction <= 1)
        way = _way(xy, along_m)
        change = np.flatnonzero(np.diff(np.where(on, way, 0)) != 0) + 1
        runs += [
            _run(grid_m, along_m[rows], feet.offset_m[rows], int(way[rows[0]]))
            for rows in np.split(np.arange(len(xy)), change)
            if on[rows[0]] and way[rows[0]] and np.ptp(along_m[rows]) >= _RUN_LEAST_M
        ]
    return runs


def _way(xy_m: Floats, along_m: Floats) -> Floats:
    """+1 or -1 where a drive runs along the line, 0 where it crosses it or jumps."""
    rows = np.arange(len(xy_m))
    low, high = np.maximum(rows - _BASE, 0), np.minimum(rows + _BASE, len(xy_m) - 1)
    driven_m = np.hypot(*(xy_m[high] - xy_m[low]).T)
    moved_m = along_m[high] - along_m[low]
    follows = np.abs(np.abs(moved_m) - driven_m) <= _FOLLOWS * driven_m
    return np.where(follows, np.sign(moved_m), 0.0)


def _run(grid_m: Floats, along_m: Floats, offset_m: Floats, direction: int) -> _Run:
    order = np.argsort(along_m, kind="stable")
    first_m, last_m = float(along_m.min()), float(along_m.max())
    inside = (grid_m >= first_m) & (grid_m <= last_m)
    edge_m = np.minimum(grid_m - first_m, last_m - grid_m)
    weight = np.where(inside, np.clip(edge_m / _FADE_M, _FADE_FLOOR, 1.0), 0.0)
    return _Run(
        direction=direction,
        offset_m=np.interp(grid_m, along_m[order], offset_m[order]),
        weight=weight,
    )


def _mean(runs: Sequence[_Run], shift_m: float) -> tuple[Floats, Floats]:
    """Weighted mean offset on the grid, each direction moved to the middle, and its weight."""
    weight = np.sum([run.weight for run in runs], axis=0)
    total = np.sum([run.weight * (run.offset_m - run.direction * shift_m) for run in runs], axis=0)
    return np.where(weight > 0, total / np.maximum(weight, 1e-12), 0.0), weight


def _apart(runs: Sequence[_Run]) -> tuple[Floats, Floats]:
    """Distance between the two directions' mean paths on the grid [m], and its weight."""
    up_m, up_weight = _mean([run for run in runs if run.direction > 0], 0.0)
    down_m, down_weight = _mean([run for run in runs if run.direction < 0], 0.0)
    return np.asarray(up_m - down_m), np.minimum(up_weight, down_weight)


def _half_apart(runs: Sequence[_Run]) -> float:
    """Half the mean distance between the two directions' paths [m]; NaN with only one."""
    apart_m, both = _apart(runs)
    total = float(np.sum(both))
    return float(np.sum(both * apart_m)) / total / 2.0 if total > 0 else float("nan")


def _one_roadway(runs: Sequence[_Run], allowed_m: float) -> tuple[list[_Run], float, float]:
    """Runs of one roadway, and how long and how far apart the directions are where they part.

    Where the directions are farther apart than allowed, and a little beside it, those against
    the spine's direction count for nothing.
    """
    apart_m, both = _apart(runs)
    far = (both > 0) & (np.abs(apart_m) > allowed_m)
    if np.sum(far) * _GRID_M < _PARTED_LEAST_M:
        return list(runs), 0.0, 0.0
    reach = np.ones(2 * round(_BESIDE_M / _GRID_M) + 1)
    silent = np.convolve(far, reach, mode="full")[len(reach) // 2 :][: len(far)] > 0
    kept = [
        run if run.direction > 0 else replace(run, weight=np.where(silent, 0.0, run.weight))
        for run in runs
    ]
    left = [run for run in kept if run.weight.any()]
    return left, float(far.sum()) * _GRID_M, float(np.mean(np.abs(apart_m[far])))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Middle:
    """The line moved to the middle of its runs."""

    xy_m: Floats
    sd_m: Floats
    runs: Sequence[_Run]
    half_apart_m: float
    divided_m: float
    divided_apart_m: float


def _moved(line: Polyline, offset_m: Floats) -> Floats:
    """Vertices moved square to the line, right positive."""
    way = np.gradient(line.xy_m, axis=0)
    way /= np.hypot(way[:, 0], way[:, 1])[:, None]
    right = np.column_stack([way[:, 1], -way[:, 0]])
    return np.asarray(line.xy_m + offset_m[:, None] * right)


def _middle(
    spine_xy_m: Floats, fixes: pd.DataFrame, plane: Plane, leg: LegSettings, defaults: Defaults
) -> _Middle:
    """Move the spine to the middle of the drives along it, a few rounds.

    Raises
    ------
    LineError
        If no drive follows the smoothed spine.
    """
    xy_m = _smooth(spine_xy_m, wavelength_m=defaults.path_smooth_m)
    # Opposite paths may be as far apart as all lanes, and three times the noise of a drive [m].
    noise_m = _noise_m(fixes, defaults)
    allowed_m = (leg.lanes_left + leg.lanes_right) * leg.lane_width_m + 3 * noise_m
    for _ in range(_ROUNDS):
        line = Polyline(xy_m)
        every = _runs(fixes, plane, line, defaults.spine_corridor_m)
        runs, divided_m, divided_apart_m = _one_roadway(every, allowed_m)
        if not runs:
            msg = (
                f"leg {leg.code}: no drive keeps along its own smoothed path for "
                f"{_RUN_LEAST_M:g} m; the fixes scatter too much or lie too far apart: give a "
                "centerline file"
            )
            raise LineError(msg, leg=leg.code)
        half_m = _half_apart(runs)
        shift_m = 0.0 if np.isnan(half_m) else half_m
        offset_m, weight = _mean(runs, shift_m)
        sd_m = _sd(runs, offset_m, weight, shift_m, noise_m=noise_m)
        at = np.linspace(0.0, 1.0, len(sd_m))
        xy_m = _smooth(_moved(line, offset_m), wavelength_m=defaults.path_smooth_m)
        sd_m = np.interp(np.linspace(0.0, 1.0, len(xy_m)), at, sd_m)
    return _Middle(
        xy_m=xy_m,
        sd_m=sd_m,
        runs=runs,
        half_apart_m=half_m,
        divided_m=divided_m,
        divided_apart_m=divided_apart_m,
    )


def _noise_m(fixes: pd.DataFrame, defaults: Defaults) -> float:
    """Standard deviation of one axis of a drive [m], from the devices or the default."""
    reported = fixes["accuracy_m"].to_numpy()
    radius_m = np.nanmedian(reported) if np.isfinite(reported).any() else defaults.phone_accuracy_m
    return float(radius_m) / RADIUS_68_IN_SDS


def _sd(
    runs: Sequence[_Run], offset_m: Floats, weight: Floats, shift_m: float, *, noise_m: float
) -> Floats:
    """Standard deviation of the mean path on the grid [m].

    The noise of one drive is the larger of what its device says and what the drives disagree by
    (with n runs the scatter about their mean is n / (n - 1) too small).
    """
    left = [run.weight * (run.offset_m - run.direction * shift_m - offset_m) ** 2 for run in runs]
    free = max(len(runs) - 1, 1) / len(runs)
    spread_m = np.sqrt(np.sum(left) / max(np.sum([run.weight for run in runs]), 1e-12) / free)
    squares = np.sum([run.weight**2 for run in runs], axis=0)
    looks = np.where(squares > 0, weight**2 / np.maximum(squares, 1e-12), 1.0)
    return np.asarray(max(noise_m, float(spread_m)) / np.sqrt(looks))


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
    lon, lat = fixes["lon_deg"].to_numpy(), fixes["lat_deg"].to_numpy()
    if not len(lon):
        msg = f"leg {leg.code}: the job has 0 fixes; add a drive, or give a centerline file"
        raise LineError(msg, leg=leg.code)
    plane = plane_at(float(np.median(lon)), float(np.median(lat)))
    near_deg = start_near(leg)
    spine = spine_of(fixes, leg, names=names, alone=alone, plane=plane)
    middle = _middle(spine.xy_m, fixes, plane, leg, defaults)
    lon, lat = plane.to_lonlat(middle.xy_m)
    turn, away_m = start_end(lon, lat, near_deg)
    way = slice(None, None, -1 if turn else 1)
    line = measured(
        lon[way], lat[way], sd_m=middle.sd_m[way], elevation_m=elevation_m, made_from="path driven"
    )
    spine_name = names.get(spine.drive_id, spine.drive_id)
    return line, tuple(_said(leg, line, middle, spine_name=spine_name, away_m=away_m))


def _said(
    leg: LegSettings, line: Centerline, middle: _Middle, *, spine_name: str, away_m: float
) -> list[Finding]:
    """What a person should know about a line made from drives."""
    up = sum(run.direction > 0 for run in middle.runs)
    text = (
        f"path driven, not plan centerline: {line.length_m:,.0f} m along {spine_name}, moved to "
        f"the middle of {up} runs one way and {len(middle.runs) - up} the other"
    )
    said = [("note", text)]
    if middle.divided_m:
        text = (
            f"for {middle.divided_m:,.0f} m the two directions are {middle.divided_apart_m:.1f} m "
            f"apart, more than {leg.lanes_left + leg.lanes_right} lanes allow: only drives along "
            "the spine's direction made the line there; make a leg for each roadway"
        )
        said.append(("doubt", text))
    if np.isnan(middle.half_apart_m) and not middle.divided_m:
        text = (
            "driven in one direction only: the line lies in the lane driven, not in the middle of "
            "the road; drive it the other way too"
        )
        said.append(("doubt", text))
    if away_m > _START_SURE_M:
        text = (
            f"start_near is {away_m:,.0f} m from the nearer end of the path driven; the start is "
            "at the end of the path, not at start_near"
        )
        said.append(("doubt", text))
    return [Finding(level=level, where=f"leg {leg.code}", text=text) for level, text in said]
