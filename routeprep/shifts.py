"""How far each file of records lies off from what was seen: its datum, or how it was digitised.

In go groups of looks and the records as their files have them, out comes a ``FileShift`` a file;
in go records and shifts, out come the records moved back.  A mark from a vehicle tells only how far
a record lies off along the road, one on foot across it too.  It is one problem of least squares:
each record lies off by its file's shift and an error of its own, each mark by its person's
lateness, by an error of the receiver that wanders for a minute, and by its own.  Lateness turns
with the direction of travel and a shift does not: what was seen one way only tells little of it.
"""

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd
import shapely

from routeprep.estimates import FileShift
from routeprep.geodesy import bearings_deg, destinations
from routeprep.lateness import People
from routeprep.locating import place
from routeprep.merging import Group, Look
from routeprep.noise import WANDER_S
from routeprep.robust import BEFORE_M, LEAST_SD_M, Effect, OffRow, estimate
from routeprep.shapes import Defaults, Leg
from routeprep.spreads import HALF_95
from routeprep.tables import ON_FOOT, rows_of

__all__ = ["file_shifts", "shifted"]

Floats = npt.NDArray[np.float64]

# Chi-square with one and two degrees of freedom is above these in 1 of 100 (any table; the second
# is -2 ln 0.01).
_CHI2_99 = (math.inf, 6.6349, 9.2103)
# A shift that is no larger [m] is left, and one of fewer records.  Common practice, no source.
_LEAST_M = 0.5
_LEAST_PAIRS = 3
# In a direction that is known no better than this [m] nothing moves.  Common practice, no source.
_UNTOLD_M = 2.5
# Records longer than this along the road have no one place [m].  Common practice, no source.
_POINT_M = 2.0
# The direction of a leg at a place is taken over this much to both sides [m].
_REACH_M = 1.0
_COMPASS = (
    "north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west",
)  # fmt: skip


def _headings_deg(leg: Leg, along_m: Floats) -> Floats:
    """Direction up-station at distances along, clockwise from north [deg]."""
    ends_m = np.column_stack([along_m - _REACH_M, along_m + _REACH_M]).ravel()
    return bearings_deg(*place(leg.line, ends_m, np.zeros(len(ends_m))))[::2]


def _late(mark: Look, defaults: Defaults) -> tuple[float, tuple[Effect, ...]]:
    """What lateness is usual in a mark's distance along [m], and how far it may differ.

    What is known of the person is not used: it may come from this very file.
    """
    if not (mark.person and mark.travel and math.isfinite(mark.speed_mps)):
        return 0.0, ()
    usual_m = defaults.tap_late_s * mark.speed_mps - defaults.tap_lead_m
    speed_mps, travel = mark.travel * mark.speed_mps, float(mark.travel)
    late = Effect(("late", mark.person), -speed_mps, defaults.tap_late_sd_s)
    lead = Effect(("lead", mark.person), travel, defaults.tap_lead_sd_m)
    return mark.travel * (mark.late_m - usual_m), (late, lead)


def _wander(mark: Look, sd_m: float, what: str) -> tuple[Effect, ...]:
    """The receiver's error, which wanders for about a minute, for marks whose drive is known."""
    if not mark.drive_id or math.isnan(mark.seconds):
        return ()
    minute = math.floor(mark.seconds / WANDER_S)
    return (Effect((what, mark.drive_id, minute), 1.0, max(sd_m, LEAST_SD_M)),)


def _rows(
    record: Mapping[str, object],
    mark: Look,
    *,
    heading_deg: float,
    people: People,
    defaults: Defaults,
    line_sd_m: float,
) -> list[OffRow]:
    """What one mark tells of one record: along the road, and across it when made on foot."""
    item, east = str(record["record_id"]), math.sin(math.radians(heading_deg))
    north = math.cos(math.radians(heading_deg))
    own = Effect(("record along", item), 1.0, defaults.record_sd_m)
    back_m, late = _late(mark, defaults)
    known = people.of.get(mark.person)
    tap_m = (known.tap_sd_s if known else defaults.tap_spread_s) * mark.speed_mps if late else 0.0
    rest_m = math.sqrt(max(mark.own_sd_m**2 - tap_m**2, 0.0))
    wander = _wander(mark, rest_m, "along")
    along = OffRow(
        record=item,
        off_m=float(str(record["along_m"])) - mark.along_m - back_m,
        east_share=east,
        north_share=north,
        sd_m=tap_m if wander else math.hypot(tap_m, rest_m),
        effects=(own, *late, *wander),
    )
    if mark.method not in ON_FOOT or mark.position == "whole road":
        return [along]
    wander = _wander(mark, mark.offset_sd_m, "across")
    line = Effect(("line", mark.leg), 1.0, max(line_sd_m, LEAST_SD_M))
    across = OffRow(
        record=item,
        off_m=float(str(record["offset_m"])) - mark.offset_m,
        east_share=north,
        north_share=-east,
        sd_m=0.0 if wander else mark.offset_sd_m,
        effects=(own._replace(key=("record across", item)), line, *wander),
    )
    return [along, across]


def _toward(east_m: float, north_m: float) -> str:
    """The point of the compass that a shift goes to."""
    share = math.degrees(math.atan2(east_m, north_m)) / (360.0 / len(_COMPASS))
    return _COMPASS[round(share) % len(_COMPASS)]


class _Told(NamedTuple):
    """What of a shift is known well enough [m], in how many directions, and its covariance [m2]."""

    shift_m: Floats
    directions: int
    covariance_m2: Floats

    def sd_m(self) -> float:
        """Standard deviation in the direction of the shift [m]; the least without a shift."""
        size_m = float(np.hypot(*self.shift_m))
        if not size_m:
            return math.sqrt(float(np.linalg.eigvalsh(self.covariance_m2)[0]))
        way = self.shift_m / size_m
        return math.sqrt(float(way @ self.covariance_m2 @ way))

    def is_chance(self) -> bool:
        """Whether 1 of 100 files that lie right would seem to lie off as much."""
        chi2 = float(self.shift_m @ np.linalg.solve(self.covariance_m2, self.shift_m))
        return chi2 <= _CHI2_99[self.directions]


def _told(shift_m: Floats, covariance_m2: Floats) -> _Told:
    """The part of a shift in directions that are known well enough, each by itself."""
    variance, axes = np.linalg.eigh(covariance_m2)
    known = variance < _UNTOLD_M**2
    return _Told(axes @ (axes.T @ shift_m * known), int(known.sum()), covariance_m2)


def _text(source: str, told: _Told, *, pairs: int, moved: bool) -> str:
    """One sentence on a shift."""
    from_pairs, half_m = f"from {pairs} pairs of record and mark", HALF_95 * told.sd_m()
    if not told.directions:
        return f"{source}: whether it lies off is not told, ± {half_m:.1f} m at best ({from_pairs})"
    size_m = float(np.hypot(*told.shift_m))
    toward = _toward(*told.shift_m.tolist())
    off = f"{size_m:.1f} m ± {half_m:.1f} m off toward the {toward} ({from_pairs})"
    only = "" if told.directions > 1 else "; square to that nothing tells"
    if moved:
        return f"{source} lies {off}{only}; its records are moved back"
    return f"{source} may lie {off}{only}; that may be chance or too little, so nothing is moved"


def _shift(source: str, rows: Sequence[OffRow], defaults: Defaults) -> FileShift:
    """The shift of one file."""
    pairs = len({row.record for row in rows})
    told = _Told(np.zeros(2), 0, np.eye(2) * BEFORE_M**2)
    text = f"{source}: none of its records was seen, so whether it lies off is not known"
    moved = False
    if rows:
        told = _told(*estimate(rows, defaults.record_sd_m))
        large = float(np.hypot(*told.shift_m)) > _LEAST_M
        moved = large and not told.is_chance() and pairs >= _LEAST_PAIRS
        text = _text(source, told, pairs=pairs, moved=moved)
    return FileShift(
        source=source,
        east_m=float(told.shift_m[0]),
        north_m=float(told.shift_m[1]),
        east_sd_m=math.sqrt(float(told.covariance_m2[0, 0])),
        north_sd_m=math.sqrt(float(told.covariance_m2[1, 1])),
        east_north_m2=float(told.covariance_m2[0, 1]),
        pairs=pairs,
        applied=moved,
        text=text,
    )


def _pairs(
    groups: Sequence[Group], records: Mapping[str, Mapping[str, object]]
) -> list[tuple[Mapping[str, object], Look]]:
    """Records that have one place on a leg, each with every mark of its thing there, in order."""
    found = [
        (records[look.item_id], mark)
        for one in groups
        for look in one.looks
        if not look.is_mark and look.item_id in records and look.to_m - look.from_m <= _POINT_M
        for mark in one.looks
        if mark.is_mark and mark.leg == records[look.item_id]["leg"]
    ]
    return sorted(found, key=lambda pair: (str(pair[0]["record_id"]), pair[1].item_id))


def file_shifts(
    groups: Sequence[Group],
    records: pd.DataFrame,
    legs: Sequence[Leg],
    *,
    people: People,
    defaults: Defaults,
) -> tuple[FileShift, ...]:
    """How far each file lies off, by file; files without a record on a leg are left out.

    Parameters
    ----------
    groups
        Which marks and records are one thing.
    records
        As their files have them, on their legs (``tables.LOCATED``): whatever the groups were made
        from, it is the whole shift that comes out.
    legs
        The job's legs.
    people
        How late each person taps: how far single taps spread is taken from it.
    defaults
        The usual lateness and deviations.
    """
    on_leg = records[records["leg"] != ""]
    pairs = _pairs(groups, {str(row["record_id"]): row for row in rows_of(on_leg)})
    rows: dict[str, list[OffRow]] = {source: [] for source in sorted(set(on_leg["source"]))}
    for leg in legs:
        mine = [pair for pair in pairs if pair[0]["leg"] == leg.settings.code]
        headings = _headings_deg(leg, np.array([mark.along_m for _, mark in mine]))
        line_sd_m = float(np.median(leg.line.sd_m))
        for (record, mark), heading_deg in zip(mine, headings.tolist(), strict=True):
            rows[str(record["source"])] += _rows(
                record,
                mark,
                heading_deg=heading_deg,
                people=people,
                defaults=defaults,
                line_sd_m=line_sd_m,
            )
    return tuple(_shift(source, told, defaults) for source, told in rows.items())


def shifted(records: pd.DataFrame, shifts: Sequence[FileShift]) -> pd.DataFrame:
    """The records with those of files that lie off moved back, along geodesics.

    Parameters
    ----------
    records
        Table of records; what was located must be located again.
    shifts
        Of the files; only those that are applied count.
    """
    off = {one.source: one for one in shifts if one.applied}
    geometry = records["geometry"].to_numpy(dtype=object, copy=True)
    for source in sorted(off):
        mine = np.flatnonzero(records["source"] == source)
        corners = shapely.get_coordinates(geometry[mine])
        back_deg = math.degrees(math.atan2(-off[source].east_m, -off[source].north_m))
        lon_deg, lat_deg, _ = destinations(
            corners[:, 0],
            corners[:, 1],
            azimuth_deg=np.full(len(corners), back_deg),
            length_m=np.full(len(corners), math.hypot(off[source].east_m, off[source].north_m)),
        )
        geometry[mine] = shapely.set_coordinates(
            geometry[mine], np.column_stack([lon_deg, lat_deg])
        )
    return records.assign(geometry=geometry)
