"""Drives as recorded to drives that can be used.

In goes the table of fixes in recorded order, out comes the same table without repeated and
backward times, impossible jumps and accelerations, its pieces parted where nothing was recorded;
and which drives are copies of one another.
"""

import bisect
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from routeprep.geodesy import plane_at
from routeprep.shapes import Defaults, Finding

__all__ = ["CleanDrives", "clean", "seconds_of", "silent"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]

# Across a silence longer than the gap, a piece is parted only if the vehicle also moved farther
# than this [m]: recorders save no fixes while standing.  Common practice, no source.
_MOVED_M = 50.0
# A silence this long parts a piece wherever the vehicle was [s].  Common practice, no source.
_PARKED_S = 600.0
# A fix beside the straight way between its neighbours asks for an acceleration; no road vehicle
# reaches this one [m/s2], 2 g.  Nor does it count unless the fix is this far beside [m], and so
# many times as far as the drive's fixes usually are.  Common practice, no source.
_PUSH_MOST_MPS2 = 20.0
_BESIDE_M, _BESIDE_TIMES = 10.0, 8.0
# A wait from fix to fix is a silence when it is longer than so many usual ones and so much [s];
# common practice, no source.
_SILENT_WAITS, _SILENT_S = 3.0, 2.0
# Fixes of two copies of a drive agree when they are this near at one time [m].  Common practice,
# no source.
_AGREE_M = 2.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CleanDrives:
    """Drives that can be used.

    Attributes
    ----------
    fixes
        Table of fixes, by drive, in time order, with ``piece`` counted anew and ``raw_row``, the
        row of the raw fix in its drive as recorded.
    copies
        Drive id of each copy to the id of the drive that is kept.
    findings
        What was taken out, a sentence a drive.
    """

    fixes: pd.DataFrame
    copies: Mapping[str, str]
    findings: tuple[Finding, ...]


def seconds_of(times: pd.Series) -> Floats:
    """Seconds since 1970 of each time [s], NaN where there is none."""
    plain = times.to_numpy(dtype="datetime64[us]")
    return np.where(np.isnat(plain), np.nan, plain.astype(np.int64) / 1e6)


def silent(wait_s: Floats, *, usual_s: float) -> Flags:
    """Whether waits from fix to fix are so long that the device was silent.

    Parameters
    ----------
    wait_s
        The waits [s].
    usual_s
        The drive's usual one [s].
    """
    return np.asarray(wait_s > _SILENT_WAITS * usual_s + _SILENT_S)


def _in_order(seconds: Floats) -> Flags:
    """The most fixes whose times only rise; all of them when the drive has no times.

    The longest rising sequence (Schensted, Longest increasing and decreasing subsequences,
    1961): one fix with a time far ahead costs that fix alone, not all that come after it.
    """
    if not np.isfinite(seconds).any() or (np.diff(seconds) > 0).all():
        return np.ones(len(seconds), dtype=bool)
    tops: list[float] = []
    ranks = np.full(len(seconds), -1, dtype=np.int64)
    for row in np.flatnonzero(np.isfinite(seconds)):
        when = float(seconds[row])
        rank = bisect.bisect_left(tops, when)
        tops[rank : rank + 1] = [when]
        ranks[row] = rank
    return _rising(seconds, ranks, len(tops))


def _rising(seconds: Floats, ranks: Ints, length: int) -> Flags:
    """Fixes of one longest rising sequence, read off from its end; of equal times the first."""
    kept = np.zeros(len(seconds), dtype=bool)
    rows = np.argsort(ranks, kind="stable")
    bounds = np.searchsorted(ranks[rows], np.arange(length + 1))
    after_row, after_s = len(seconds), np.inf
    for rank in range(length - 1, -1, -1):
        of_rank = rows[bounds[rank] : bounds[rank + 1]]
        fits = of_rank[(of_rank < after_row) & (seconds[of_rank] < after_s)]
        after_row, after_s = int(fits[0]), float(seconds[fits[0]])
        kept[after_row] = True
    return kept


def _plane_xy(drive: pd.DataFrame) -> Floats:
    """Coordinates of the fixes in a plane at their middle [m]."""
    lon, lat = drive["lon_deg"].to_numpy(), drive["lat_deg"].to_numpy()
    return plane_at(float(np.median(lon)), float(np.median(lat))).to_xy(lon, lat)


def _without_spikes(xy_m: Floats, seconds: Floats, jump_speed_mps: float) -> Ints:
    """Fixes but those impossibly far from both neighbours that agree without them."""
    rows = np.arange(len(xy_m))
    while True:
        before = _speed_mps(xy_m, seconds, rows[:-2], rows[1:-1])
        after = _speed_mps(xy_m, seconds, rows[1:-1], rows[2:])
        without = _speed_mps(xy_m, seconds, rows[:-2], rows[2:])
        bad = (np.minimum(before, after) > jump_speed_mps) & (without <= jump_speed_mps)
        if not bad.any():
            return rows
        rows = np.delete(rows, 1 + np.flatnonzero(bad))


def _without_swerves(xy_m: Floats, seconds: Floats) -> Ints:
    """Fixes but those beside the way between neighbours as no vehicle can be pushed."""
    rows = np.arange(len(xy_m))
    while len(rows) > 2:  # noqa: PLR2004 - a neighbour on either side
        wait_s = np.diff(seconds[rows])
        share = (wait_s[:-1] / (wait_s[:-1] + wait_s[1:]))[:, None]
        xy = xy_m[rows]
        away_m = np.hypot(*(xy[1:-1] - (1 - share) * xy[:-2] - share * xy[2:]).T)
        push_mps2 = 2 * away_m / (wait_s[:-1] * wait_s[1:])
        beside = np.r_[0.0, away_m, 0.0]
        worst = (away_m >= beside[:-2]) & (away_m > beside[2:])
        far_m = max(_BESIDE_M, _BESIDE_TIMES * float(np.median(away_m)))
        bad = worst & (push_mps2 > _PUSH_MOST_MPS2) & (away_m > far_m)
        if not bad.any():
            break
        rows = np.delete(rows, 1 + np.flatnonzero(bad))
    return rows


def _speed_mps(xy_m: Floats, seconds: Floats, one: Ints, other: Ints) -> Floats:
    """Speed between fixes [m/s]; NaN without times."""
    step_m = np.hypot(*(xy_m[other] - xy_m[one]).T)
    return np.asarray(step_m / (seconds[other] - seconds[one]))


def _pieces(xy_m: Floats, seconds: Floats, piece: Ints, defaults: Defaults) -> Ints:
    """Piece of each fix: a new one after a break in the file, a silence or a jump.

    A break in the file that times show to be no longer than the gap is a fix or two lost, under a
    bridge or in a street canyon: no more is unknown there than in any silence as short.
    """
    step_m = np.hypot(*np.diff(xy_m, axis=0).T)
    wait_s = np.diff(seconds)
    silent = (wait_s > defaults.drive_gap_s) & (step_m > _MOVED_M)
    silent |= wait_s > max(_PARKED_S, defaults.drive_gap_s)
    jump = step_m / wait_s > defaults.jump_speed_mps
    broken = (np.diff(piece) != 0) & ~(wait_s <= defaults.drive_gap_s)
    return np.cumsum(np.r_[False, silent | jump | broken]).astype(np.int64)


def _clean_one(
    drive: pd.DataFrame, name: str, defaults: Defaults
) -> tuple[pd.DataFrame, tuple[Finding, ...]]:
    """One drive cleaned, and what was taken out."""
    ordered = _in_order(seconds_of(drive["time_utc"]))
    kept = drive[ordered]
    seconds, xy_m = seconds_of(kept["time_utc"]), _plane_xy(kept)
    steady = _without_spikes(xy_m, seconds, defaults.jump_speed_mps)
    rows = steady[_without_swerves(xy_m[steady], seconds[steady])]
    piece = _pieces(xy_m[rows], seconds[rows], kept["piece"].to_numpy()[rows], defaults)
    facts = (
        (len(drive) - len(kept), "fixes with no, repeated or backward times left out"),
        (len(kept) - len(steady), "impossible jumps left out"),
        (len(steady) - len(rows), "impossible accelerations left out"),
        (int(piece[-1]), "breaks in the fixes, never driven across"),
    )
    said = [f"{count} {what}" for count, what in facts if count]
    findings = [Finding(level="note", where=name, text="; ".join(said))] if said else []
    if np.isnan(seconds[0]):
        text = (
            f"none of {len(drive)} fixes has a time; marks cannot be placed by time on this drive"
        )
        findings.append(Finding(level="doubt", where=name, text=text))
    return kept.iloc[rows].assign(piece=piece), tuple(findings)


class _Fixes:
    """One drive's fixes by what two copies of it share.

    That is the time [s], or without times the place [deg]; repeats count once.
    """

    def __init__(self, drive: pd.DataFrame) -> None:
        seconds = seconds_of(drive["time_utc"])
        self.place_deg = drive[["lon_deg", "lat_deg"]].to_numpy()
        self.timed = not np.isnan(seconds[0])
        keys = seconds if self.timed else np.round(self.place_deg, 6) @ [1.0, 1e3]
        self.keys, self.rows = np.unique(keys, return_index=True)

    def __len__(self) -> int:
        return len(self.keys)

    def same_drive(self, other: "_Fixes", share: float) -> bool:
        """Whether the fixes agree in time and place over more than a share [of the shorter]."""
        if self.timed != other.timed:
            return False
        needed = share * min(len(self), len(other))
        low, high = max(self.keys[0], other.keys[0]), min(self.keys[-1], other.keys[-1])
        if low > high:
            return False
        _, mine, others = np.intersect1d(
            self.keys, other.keys, assume_unique=True, return_indices=True
        )
        if len(mine) <= needed:
            return False
        places = np.r_[self.place_deg[self.rows[mine]], other.place_deg[other.rows[others]]]
        xy_m = _plane_xy(pd.DataFrame(places, columns=["lon_deg", "lat_deg"]))
        apart_m = np.hypot(*(xy_m[: len(mine)] - xy_m[len(mine) :]).T)
        return int((apart_m < _AGREE_M).sum()) > needed


def _copies(drives: Mapping[str, pd.DataFrame], share: float) -> dict[str, str]:
    fixes = {drive_id: _Fixes(drive) for drive_id, drive in drives.items()}
    kept: list[str] = []
    copies = {}
    for drive_id in sorted(fixes, key=lambda key: (-len(fixes[key]), key)):
        same = [one for one in kept if fixes[drive_id].same_drive(fixes[one], share)]
        if same:
            copies[drive_id] = same[0]
        else:
            kept.append(drive_id)
    return copies


def clean(fixes: pd.DataFrame, *, names: Mapping[str, str], defaults: Defaults) -> CleanDrives:
    """Clean every drive and leave out copies of one drive.

    Parameters
    ----------
    fixes
        Table of fixes in recorded order within each drive.
    names
        Drive id to what its file calls it, for the findings.
    defaults
        The tolerances.
    """
    drives: dict[str, pd.DataFrame] = {}
    findings: list[Finding] = []
    for drive_id, drive in fixes.groupby("drive_id", sort=True):
        name = names.get(str(drive_id), str(drive_id))
        recorded = drive.assign(raw_row=np.arange(len(drive)))
        drives[str(drive_id)], said = _clean_one(recorded, name, defaults)
        findings += said
    copies = _copies(drives, defaults.same_drive_share)
    for copy, original in sorted(copies.items()):
        text = f"the same drive as {names.get(original, original)}: counted once"
        findings.append(Finding(level="note", where=names.get(copy, copy), text=text))
    kept = [drive for drive_id, drive in drives.items() if drive_id not in copies]
    table = pd.concat(kept, ignore_index=True) if kept else fixes.assign(raw_row=0)
    return CleanDrives(fixes=table, copies=copies, findings=tuple(findings))
