"""Marks and records to groups, with what was learned of persons and files on the way.

In go marks and records as read, out come the same on their legs, the groups that are one thing
each, and how late each person taps.  What lies together tells how late somebody is, and how late he
is tells what lies together: so both are done again until the groups no longer change.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import pandas as pd

from routeprep.estimates import FileShift, Lateness
from routeprep.lateness import NOBODY, People, people_of
from routeprep.matching import Path
from routeprep.merging import Group, group, looks_of
from routeprep.placing import locate_marks, locate_records
from routeprep.shapes import Leg, Settings
from routeprep.shifts import file_shifts, shifted
from routeprep.tracks import Track

__all__ = ["Gathered", "Rules", "Surveyed", "gather"]

# Marks are placed anew at most so often: with few looks two ways to group them may alternate.
_ROUNDS = 3
# Lateness [s], leads and shifts [m] are found when in the root of the mean square they move by no
# more than this: a tenth of what a single mark is unsure by.  Common practice, no source.
_STILL_S, _STILL_M = 0.05, 0.5
# No more looks than this tell how far a file lies off.
_MOST_LOOKS = 4000


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """What persons decided about the grouping, and what is no thing in the road.

    Attributes
    ----------
    no_things
        Codes of kinds that stay off the list.
    joins
        Pairs of item ids that are one thing.
    splits
        Item ids that stand alone.
    """

    no_things: frozenset[str]
    joins: tuple[tuple[str, str], ...]
    splits: frozenset[str]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Surveyed:
    """What there is to gather.

    Attributes
    ----------
    marks, records
        As read, each once.
    tracks, paths
        Drive id to its track, and to its path on the legs, for drives that have times.
    legs
        The job's legs.
    """

    marks: pd.DataFrame
    records: pd.DataFrame
    tracks: Mapping[str, Track]
    paths: Mapping[str, Path]
    legs: Sequence[Leg]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Gathered:
    """All evidence, each thing's together.

    Attributes
    ----------
    marks, records
        With ``tables.LOCATED``.
    groups
        Each is one thing.
    people
        How late each person taps, as it was taken off the marks.
    shifts
        How far each file of records lies off.
    """

    marks: pd.DataFrame
    records: pd.DataFrame
    groups: tuple[Group, ...]
    people: People
    shifts: tuple[FileShift, ...]

    @property
    def lateness(self) -> tuple[Lateness, ...]:
        """How late each person taps, by name."""
        return tuple(self.people.of.values())


def gather(surveyed: Surveyed, *, settings: Settings, rules: Rules) -> Gathered:
    """Place, group, learn how late each person taps, and do so again until nothing changes.

    Parameters
    ----------
    surveyed
        What there is.
    settings
        The job.
    rules
        What persons decided, and what is no thing.
    """
    job, defaults = _Job(surveyed=surveyed, settings=settings, rules=rules), settings.defaults
    as_read = job.located(surveyed.records)
    got = job.gathered(as_read, NOBODY, ())
    for _ in range(_ROUNDS):
        people = people_of(got.groups, defaults=defaults, people=got.people)
        paired = _paired(got.groups)
        shifts = file_shifts(paired, as_read, surveyed.legs, people=got.people, defaults=defaults)
        if _still(got, people, shifts):
            return replace(got, shifts=shifts)
        before, moved = got, any(one.applied for one in shifts)
        records = job.located(shifted(surveyed.records, shifts)) if moved else as_read
        got = job.gathered(records, people, shifts)
        if _ids(got.groups) == _ids(before.groups):
            break
    return got


def _paired(groups: Sequence[Group]) -> list[Group]:
    """Things in each file, evenly thinned: two numbers need no more, and many take minutes."""
    of_file: dict[str, list[int]] = {}
    for number, one in enumerate(groups):
        for source in sorted({look.source for look in one.looks if not look.is_mark}):
            of_file.setdefault(source, []).append(number)
    kept: set[int] = set()
    for numbers in of_file.values():
        looks = sum(len(groups[number].looks) for number in numbers)
        kept.update(numbers[:: math.ceil(looks / _MOST_LOOKS)])
    return [groups[number] for number in sorted(kept)]


def _still(got: Gathered, people: People, shifts: Sequence[FileShift]) -> bool:
    """Whether what was learned is, but for a trifle, what was taken off."""
    was, is_now = got.people.of, people.of
    files = {one.source: one for one in got.shifts if one.applied}
    applied = [one for one in shifts if one.applied]
    if was.keys() != is_now.keys() or files.keys() != {one.source for one in applied}:
        return False
    away_s = [one.late_s - was[person].late_s for person, one in is_now.items()]
    away_m = [one.lead_m - was[person].lead_m for person, one in is_now.items()]
    for one in applied:
        away_m += [one.east_m - files[one.source].east_m, one.north_m - files[one.source].north_m]
    return _rms(away_s) <= _STILL_S and _rms(away_m) <= _STILL_M


def _rms(values: Sequence[float]) -> float:
    return math.sqrt(sum(value**2 for value in values) / max(len(values), 1))


def _ids(groups: Sequence[Group]) -> set[frozenset[str]]:
    """What lies together."""
    return {frozenset(look.item_id for look in one.looks) for one in groups}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Job:
    """What stays the same from one time to the next."""

    surveyed: Surveyed
    settings: Settings
    rules: Rules

    def located(self, records: pd.DataFrame) -> pd.DataFrame:
        """Records on their legs."""
        settings, legs = self.settings, self.surveyed.legs
        return locate_records(records, legs, kinds=settings.kinds, defaults=settings.defaults)

    def gathered(
        self, records: pd.DataFrame, people: People, shifts: Sequence[FileShift]
    ) -> Gathered:
        """Marks on their legs, each person's lateness taken off, and what lies together."""
        marks = locate_marks(
            self.surveyed.marks,
            self.surveyed.tracks,
            self.surveyed.paths,
            self.surveyed.legs,
            kinds=self.settings.kinds,
            defaults=self.settings.defaults,
            people=people.of,
        )
        groups = tuple(self.grouped(marks, records))
        return Gathered(
            marks=marks, records=records, groups=groups, people=people, shifts=tuple(shifts)
        )

    def grouped(self, marks: pd.DataFrame, records: pd.DataFrame) -> list[Group]:
        """The evidence for each thing, without what was set aside or is no thing in the road."""
        off, paths = list(self.rules.no_things), self.surveyed.paths
        return group(
            [
                *looks_of(marks[~marks["kind"].isin(off)], is_mark=True, paths=paths),
                *looks_of(records[~records["kind"].isin(off)], is_mark=False),
            ],
            kinds=self.settings.kinds,
            defaults=self.settings.defaults,
            joins=self.rules.joins,
            splits=self.rules.splits,
            paths=paths,
            codes=[leg.settings.code for leg in self.surveyed.legs],
        )
