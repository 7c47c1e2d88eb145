"""Legs from settings: each with its line, its stationing and its limits.

In go the leg's settings with the pieces of its file, its designed alignment or the cleaned
drives, out comes a ``Leg``.
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from routeprep.centerline import from_pieces, start_end
from routeprep.curves import curves_of, curves_said
from routeprep.designed import designed_line
from routeprep.driven import path_driven
from routeprep.errors import JobError, StationError
from routeprep.lines import Alignment, Centerline, Stationing
from routeprep.shapes import Defaults, Finding, Leg, LegSettings, Settings, Survey
from routeprep.sight import sight_spots
from routeprep.stakes import stakes_of
from routeprep.stationing import along_of, equation_places, label, true_length_m, value_at
from routeprep.stopping import grades_of
from routeprep.ties import tied
from routeprep.tracks import Track
from routeprep.units import USUAL_UNITS

__all__ = ["build_legs"]

# Starts of job and alignment nearer than this are one [the unit's length].
_SAME_START = 0.01

# Limits and equations this little past an end are not worth saying [m].
_WORTH_SAYING_M = 1.0


def _finding(leg: LegSettings, level: str, text: str) -> Finding:
    return Finding(level=level, where=f"leg {leg.code}", text=text)


def _elevation(leg: LegSettings, fixes: pd.DataFrame) -> tuple[float, Finding]:
    """The road's height [m]: as given, else the middle of what the drives recorded, else 0."""
    if math.isfinite(leg.elevation_m):
        text = f"ground length at the elevation given, {leg.unit.length_text(leg.elevation_m)}"
        return leg.elevation_m, _finding(leg, "note", text)
    heights = fixes["ele_m"].to_numpy()
    heights = heights[np.isfinite(heights)]
    if len(heights):
        middle_m = round(float(np.median(heights)), 1)
        middle = leg.unit.length_text(middle_m)
        text = f"elevation was not given: {middle} taken from {len(heights):,} fixes"
        return middle_m, _finding(leg, "note", text)
    text = "elevation was not given and no fix has one: ground lengths are at sea level"
    return 0.0, _finding(leg, "doubt", text)


def _in_unit(leg: LegSettings, alignment: Alignment) -> LegSettings:
    """The leg with the alignment's unit; "100 ft" in a job means the foot of the plans.

    Raises
    ------
    JobError
        If the job names another unit.
    """
    if alignment.unit == leg.unit.length:
        return leg
    own = USUAL_UNITS[alignment.unit]
    plain_feet = leg.unit.length == "ft" and own.family == "ft"
    if leg.unit_said and not plain_feet:
        msg = (
            f"leg {leg.code}: the job's unit is {leg.unit.name!r} but alignment "
            f"{alignment.name!r} counts in {alignment.unit}; drop unit or write {own.name!r}"
        )
        raise JobError(msg, leg=leg.code, unit=leg.unit.name, alignment=alignment.unit)
    return replace(leg, unit=own)


def _completed(leg: LegSettings, alignment: Alignment) -> tuple[LegSettings, tuple[Finding, ...]]:
    """The leg with what its alignment brings, and what the job has otherwise."""
    leg = _in_unit(leg, alignment)
    found = []
    called = f"alignment {alignment.name!r}"
    if leg.zero:
        text = f"stations count from {leg.zero!r} as the job has it, not as in {called}"
        return leg, (_finding(leg, "doubt", text),)
    if math.isnan(leg.start_value):
        leg = replace(leg, start_value=alignment.start_value)
    elif abs(leg.start_value - alignment.start_value) > _SAME_START:
        text = (
            f"start is {leg.start_value:,.2f} {leg.unit.length} in the job and "
            f"{alignment.start_value:,.2f} in {called}; the job's is taken"
        )
        found.append(_finding(leg, "doubt", text))
    if not leg.equations:
        leg = replace(leg, equations=alignment.equations)
    elif leg.equations != alignment.equations:
        text = (
            f"the job's {len(leg.equations)} station equations are taken, not the "
            f"{len(alignment.equations)} of {called}"
        )
        found.append(_finding(leg, "note", text))
    return leg, tuple(found)


def _turned(leg: LegSettings, line: Centerline) -> Iterator[Finding]:
    """A start_near that would have a designed alignment the other way round."""
    if (
        leg.start_near_deg is not None
        and start_end(line.lon_deg, line.lat_deg, leg.start_near_deg)[0]
    ):
        text = (
            "start_near lies nearer to the end of the designed alignment than to its beginning; "
            "its stations run as its file has them: look whether it is the right one, and mend "
            "start_near"
        )
        yield _finding(leg, "doubt", text)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Lines:
    """What the lines of all legs are made from."""

    survey: Survey
    settings: Settings
    fixes: pd.DataFrame

    def alone(self) -> bool:
        """Whether one leg alone is made from drives."""
        given = {*self.survey.lines, *self.survey.alignments}
        return sum(leg.code not in given for leg in self.settings.legs) == 1

    def line(self, leg: LegSettings) -> tuple[LegSettings, Centerline, tuple[Finding, ...]]:
        """The line of one leg, with its settings completed by what its alignment brings."""
        elevation_m, said = _elevation(leg, self.fixes)
        survey, defaults = self.survey, self.settings.defaults
        if leg.code in survey.alignments:
            alignment = survey.alignments[leg.code]
            leg, more = _completed(leg, alignment)
            line, findings = designed_line(
                alignment,
                leg=leg,
                elevation_m=elevation_m,
                datum_operation=self.settings.datum_operation,
            )
            return leg, line, (said, *more, *findings, *_turned(leg, line))
        if leg.code in survey.lines:
            line, findings = from_pieces(
                survey.lines[leg.code],
                leg=leg.code,
                elevation_m=elevation_m,
                start_near_deg=leg.start_near_deg,
                join_gap_m=defaults.join_gap_m,
            )
        else:
            line, findings = path_driven(
                self.fixes,
                leg,
                names=survey.drive_names,
                elevation_m=elevation_m,
                defaults=defaults,
                alone=self.alone(),
            )
        return leg, line, (said, *findings)


def _limit(leg: LegSettings, stationing: Stationing, key: str, text: str) -> float:
    """Distance along of a limit of the cut [m].

    Raises
    ------
    JobError
        If its station does not exist, or not once.
    """
    try:
        return along_of(stationing, text)
    except StationError as error:
        msg = f"leg {leg.code}: {key}: {error}"
        raise JobError(msg, leg=leg.code, station=text) from error


def _limits(leg: LegSettings, stationing: Stationing, line: Centerline) -> tuple[float, float]:
    """Limits of the cut, along [m]; the line's ends where none are given.

    Raises
    ------
    JobError
        If the cut would end before it begins.
    """
    first_m, last_m = 0.0, line.length_m
    if leg.from_station:
        first_m = _limit(leg, stationing, "from", leg.from_station)
    if leg.to_station:
        last_m = _limit(leg, stationing, "to", leg.to_station)
    if first_m >= last_m:
        low, high = label(stationing, 0.0), label(stationing, line.length_m)
        begin, end = leg.unit.length_text(first_m), leg.unit.length_text(last_m)
        msg = (
            f"leg {leg.code}: the cut would run from {begin} to {end} "
            f"along; the line has stations {low} to {high}: mend from and to"
        )
        raise JobError(msg, leg=leg.code)
    return first_m, last_m


def _beyond(leg: Leg) -> Iterator[Finding]:
    """Limits and station equations that lie past the line's ends, with the amount."""
    length_m = leg.line.length_m
    past = (
        ("from", -leg.from_m, "before the line begins: nothing is placed there"),
        ("to", leg.to_m - length_m, "after it ends: nothing is placed there"),
        *(
            (f"station equation {text}", max(-at_m, at_m - length_m), "past an end of the line")
            for at_m, text in equation_places(leg.stationing)
        ),
    )
    for what, over_m, words in past:
        if over_m > _WORTH_SAYING_M:
            text = f"{what} is {leg.settings.unit.length_text(over_m)} {words}"
            yield _finding(leg.settings, "doubt", text)


def _through_equations(leg: Leg) -> Iterator[Finding]:
    """How long a cut with station equations is, which its labels alone do not tell."""
    stationing, unit = leg.stationing, leg.stationing.unit
    passed = [m for m, _ in equation_places(stationing) if leg.from_m < m < leg.to_m]
    if passed:
        first, last = (label(stationing, m, decimals=2) for m in (leg.from_m, leg.to_m))
        length = true_length_m(stationing, first, last) / unit.length_m
        apart = value_at(stationing, leg.to_m) - value_at(stationing, leg.from_m)
        text = (
            f"the cut from {first} to {last} is {length:,.2f} {unit.length} long with its station "
            f"equations ({len(passed)}), not the {apart:,.2f} {unit.length} between its labels"
        )
        yield _finding(leg.settings, "note", text)


def _typed(leg: Leg) -> list[tuple[float, float]]:
    """Elevations that were typed in: along [m] and elevation [m]."""
    return [
        (_limit(leg.settings, leg.stationing, "elevations", station), elevation_m)
        for station, elevation_m in leg.settings.elevations
    ]


def _shaped(leg: Leg, fixes: pd.DataFrame, defaults: Defaults) -> tuple[Leg, tuple[Finding, ...]]:
    """The leg with its curves, its grades, and where a driver may see too little."""
    code, line = leg.settings.code, leg.line
    curves = curves_of(line, fixes, defaults=defaults)
    grades, on_grades = grades_of(line, _typed(leg), fixes, leg=code)
    sight, on_sight = sight_spots(line, leg.settings, curves=curves, grades=grades)
    said = (*curves_said(line, curves, leg=code), *on_grades, *on_sight)
    return replace(leg, curves=curves, grades=grades, sight=sight), said


def build_legs(
    survey: Survey, settings: Settings, fixes: pd.DataFrame, tracks: Mapping[str, Track]
) -> tuple[tuple[Leg, ...], tuple[Finding, ...]]:
    """Build every leg of the job.

    Parameters
    ----------
    survey
        For the lines its files hold, and the marks that say a station.
    settings
        The job.
    fixes
        Cleaned fixes with ``tables.SMOOTHED``.
    tracks
        Drive id to its track, for the marks that say a station.

    Raises
    ------
    JobError
        If a leg's limits, ties or stations contradict its line.
    LineError
        If a leg's line cannot be made from its file or from the drives.
    """
    made = _Lines(survey=survey, settings=settings, fixes=fixes)
    lined = [made.line(leg) for leg in settings.legs]
    lines = {leg.code: line for leg, line, _ in lined}
    stakes, loose = stakes_of(survey.marks, tracks, lines, settings.defaults)
    legs, findings = [], []
    for one, line, said in lined:
        ties = tied(one, line, stakes[one.code], settings.defaults)
        first_m, last_m = _limits(one, ties.stationing, line)
        leg = Leg(
            settings=one,
            line=line,
            stationing=ties.stationing,
            from_m=first_m,
            to_m=last_m,
            ties=ties.ties,
            markers=ties.markers,
        )
        leg, shape = _shaped(leg, fixes, settings.defaults)
        legs.append(leg)
        findings += [*said, *ties.findings, *shape, *_beyond(leg), *_through_equations(leg)]
    return tuple(legs), (*findings, *loose)
