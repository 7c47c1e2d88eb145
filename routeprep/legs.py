"""Legs from settings: each with its line, its stationing and its limits.

In go the leg's settings with the pieces of its file or the cleaned drives, out comes a ``Leg``.
"""

import math
from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd

from routeprep.centerline import from_pieces
from routeprep.driven import path_driven
from routeprep.errors import JobError
from routeprep.lines import Centerline, LinePiece, Stationing
from routeprep.shapes import Defaults, Finding, Leg, LegSettings, Settings, Survey
from routeprep.stationing import along_at, value_at

__all__ = ["build_legs"]


def _elevation(leg: LegSettings, fixes: pd.DataFrame) -> tuple[float, Finding]:
    """The road's height [m]: as given, else the middle of what the drives recorded, else 0."""
    where = f"leg {leg.code}"
    if math.isfinite(leg.elevation_m):
        text = f"ground length at the elevation given, {leg.elevation_m:,.1f} m"
        return leg.elevation_m, Finding(level="note", where=where, text=text)
    heights = fixes["ele_m"].to_numpy()
    heights = heights[np.isfinite(heights)]
    if len(heights):
        middle_m = round(float(np.median(heights)), 1)
        text = f"elevation was not given: {middle_m:,.1f} m taken from {len(heights):,} fixes"
        return middle_m, Finding(level="note", where=where, text=text)
    text = "elevation was not given and no fix has one: lengths are at sea level, 0 m"
    return 0.0, Finding(level="doubt", where=where, text=text)


def _line(
    leg: LegSettings,
    pieces: Sequence[LinePiece] | None,
    fixes: pd.DataFrame,
    *,
    names: Mapping[str, str],
    defaults: Defaults,
    alone: bool,
) -> tuple[Centerline, tuple[Finding, ...]]:
    elevation_m, said = _elevation(leg, fixes)
    if pieces is not None:
        line, findings = from_pieces(
            pieces,
            leg=leg.code,
            elevation_m=elevation_m,
            start_near_deg=leg.start_near_deg,
            join_gap_m=defaults.join_gap_m,
        )
    else:
        line, findings = path_driven(
            fixes, leg, names=names, elevation_m=elevation_m, defaults=defaults, alone=alone
        )
    return line, (said, *findings)


def _limits(leg: LegSettings, stationing: Stationing, line: Centerline) -> tuple[float, float]:
    """Limits of the cut, along [m]; the line's ends where none are given.

    Raises
    ------
    JobError
        If the cut would end before it begins.
    """
    first_m = along_at(stationing, leg.from_value) if math.isfinite(leg.from_value) else 0.0
    last_m = along_at(stationing, leg.to_value) if math.isfinite(leg.to_value) else line.length_m
    if first_m >= last_m:
        low, high = value_at(stationing, 0.0), value_at(stationing, line.length_m)
        msg = (
            f"leg {leg.code}: the cut would run from {first_m:,.1f} m to {last_m:,.1f} m along; "
            f"the line has stations {low:,.1f} to {high:,.1f} {leg.unit.length}: mend from and to"
        )
        raise JobError(msg, leg=leg.code)
    return first_m, last_m


def _beyond(leg: Leg) -> tuple[Finding, ...]:
    """Limits that lie past the line's ends, with the amount."""
    past = (
        ("from", -leg.from_m, "before the line begins"),
        ("to", leg.to_m - leg.line.length_m, "after it ends"),
    )
    return tuple(
        Finding(
            level="doubt",
            where=f"leg {leg.settings.code}",
            text=f"{key} is {over_m:,.1f} m {words}: nothing was surveyed there",
        )
        for key, over_m, words in past
        if over_m > 1.0
    )


def build_legs(
    survey: Survey, settings: Settings, fixes: pd.DataFrame
) -> tuple[tuple[Leg, ...], tuple[Finding, ...]]:
    """Build every leg of the job.

    Parameters
    ----------
    survey
        For the lines its files hold.
    settings
        The job.
    fixes
        Cleaned fixes.

    Raises
    ------
    JobError
        If a leg's limits contradict its line.
    LineError
        If a leg's line cannot be made from its file or from the drives.
    """
    driven = [leg for leg in settings.legs if leg.code not in survey.lines]
    legs, findings = [], []
    for one in settings.legs:
        line, said = _line(
            one,
            survey.lines.get(one.code),
            fixes,
            names=survey.drive_names,
            defaults=settings.defaults,
            alone=len(driven) == 1,
        )
        start = 0.0 if one.zero else one.start_value
        stationing = Stationing.from_start(unit=one.unit, start_value=start, zero=one.zero)
        first_m, last_m = _limits(one, stationing, line)
        leg = Leg(settings=one, line=line, stationing=stationing, from_m=first_m, to_m=last_m)
        legs.append(leg)
        findings += [*said, *_beyond(leg)]
    return tuple(legs), tuple(findings)
