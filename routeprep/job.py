"""The whole flow in one short function: a survey, settings, decisions and numbers to a pack.

Each stage is a public function of its own room; this one only hands results down, in two halves:
what groups the looks takes long and hangs on few decisions, what follows is run for each edit.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import pandas as pd

from routeprep import tables
from routeprep.concluding import CONCLUDED, conclude
from routeprep.correcting import corrected
from routeprep.coverage import coverage_of
from routeprep.deciding import (
    NOTHING,
    check_decisions,
    decide,
    joins,
    loose,
    sorted_kinds,
    splits,
)
from routeprep.depths import deepest_m
from routeprep.disputes import disputed
from routeprep.drives import CleanDrives, clean
from routeprep.evidence import Looked, evidence_of, looked_of
from routeprep.gathering import Gathered, Rules, Surveyed, gather
from routeprep.kinds import KindTable
from routeprep.landmarks import with_landmarks
from routeprep.leftover import elsewhere_of, homeless, no_things, unsorted_of, withdrawn_of
from routeprep.legs import build_legs
from routeprep.matching import match
from routeprep.merging import anchor_of
from routeprep.missed import missed_of
from routeprep.numbering import Numbered, Thing, assign
from routeprep.planning import plan_of
from routeprep.readiness import drafted
from routeprep.remarks import Remarks
from routeprep.searching import search_of
from routeprep.shapes import (
    Decision,
    DriveFacts,
    Finding,
    Issued,
    IssuedNumber,
    Leg,
    Pack,
    Settings,
    Survey,
)
from routeprep.smoothing import Smoothed, smooth
from routeprep.tables import rows_of

__all__ = ["Grouped", "finish", "group", "grouping", "prepare"]

_NO_REMARKS = Remarks()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Grouped:
    """A job as far as its looks are placed and put together; decisions on rows come after.

    Attributes
    ----------
    survey, settings
        As given.
    drives, smoothed
        The fixes that count, and where the vehicle was.
    legs
        With their landmarks.
    gathered
        Which looks are one thing.
    looked
        The looks of the groups, as evidence asks for them.
    concluded
        What each thing is and where, in the order of the groups, not yet known by any item.
    coverage
        Table ``tables.COVERAGE``.
    said
        What was noticed of lines, marks and records.
    """

    survey: Survey
    settings: Settings
    drives: CleanDrives
    smoothed: Smoothed
    legs: tuple[Leg, ...]
    gathered: Gathered
    looked: Looked
    concluded: tuple[Mapping[str, Any], ...]
    coverage: pd.DataFrame
    said: tuple[Finding, ...]


def grouping(
    decisions: Sequence[Decision], kinds: KindTable, survey: Survey | None = None
) -> tuple[object, ...]:
    """All of the decisions that ``group`` asks for: while it is the same, so is the grouping.

    Parameters
    ----------
    decisions
        What named persons decided.
    kinds
        The job's kinds.
    survey
        What was surveyed: then a kind that was given to what is understood without it, and so
        groups nothing anew, is left out.
    """
    given = sorted_kinds(decisions, kinds)
    if survey is not None:
        known = _understood(survey.marks, "mark_id") | _understood(survey.records, "record_id")
        given = {one: kind for one, kind in given.items() if kind == NOTHING or one not in known}
    return tuple(sorted(given.items())), tuple(joins(decisions)), splits(decisions)


def _understood(items: pd.DataFrame, key: str) -> set[str]:
    """Ids of marks or records each of whose rows has a kind without anybody's decision."""
    return set(items[key]) - set(items.loc[items["kind"] == "", key])


def group(survey: Survey, settings: Settings, decisions: Sequence[Decision]) -> Grouped:
    """The long part of ``prepare``: from what was surveyed to which looks are one thing.

    Parameters
    ----------
    survey
        Drives, marks, records and lines as read.
    settings
        The job.
    decisions
        What named persons decided; what ``grouping`` gives of them counts here.

    Raises
    ------
    RouteprepError
        If the job cannot be prepared; the message says what to mend.
    """
    drives = clean(survey.fixes, names=survey.drive_names, defaults=settings.defaults)
    smoothed = smooth(drives.fixes, settings.defaults)
    given = sorted_kinds(decisions, settings.kinds)
    made = _one_each(_on_kept(survey.marks, drives), "mark_id", given)
    driven = _by_vehicle(smoothed.fixes, survey, drives)
    legs, said = build_legs(replace(survey, marks=made), settings, driven, smoothed.tracks)
    paths = match(smoothed.fixes, legs, settings.defaults)
    surveyed = Surveyed(
        marks=made,
        records=_one_each(survey.records, "record_id", given),
        tracks=smoothed.tracks,
        paths=paths,
        legs=legs,
    )
    gathered = gather(surveyed, settings=settings, rules=_rules(settings, decisions))
    marks, records = gathered.marks, gathered.records
    return Grouped(
        survey=survey,
        settings=settings,
        drives=drives,
        smoothed=smoothed,
        legs=with_landmarks(
            legs, survey.streets, marks=marks, records=records, kinds=settings.kinds
        ),
        gathered=gathered,
        looked=looked_of(gathered.groups, marks),
        concluded=_concluded(gathered, legs, settings),
        coverage=coverage_of(driven, paths, legs, marks, settings),
        said=(
            *said,
            *_twice(survey.marks, "mark_id", "mark"),
            *_twice(survey.records, "record_id", "record"),
        ),
    )


def finish(
    grouped: Grouped,
    decisions: Sequence[Decision],
    numbers: Sequence[IssuedNumber],
    *,
    issued: Issued | None = None,
    remarks: Remarks = _NO_REMARKS,
) -> Pack:
    """The short part of ``prepare``: rows, decisions, numbers and the plan of work.

    Parameters
    ----------
    grouped
        As ``group`` made it with the same joins, splits and sorted kinds.
    decisions, numbers, issued, remarks
        As ``prepare`` has them.
    """
    settings, survey, legs = grouped.settings, grouped.survey, grouped.legs
    gathered, coverage = grouped.gathered, grouped.coverage
    marks, records = gathered.marks, gathered.records
    rows = corrected(_known(grouped, numbers), decisions, legs=legs, defaults=settings.defaults)
    rows = decide(rows, decisions, kinds=settings.kinds, depths_m=deepest_m(rows, legs))
    numbered = _number(rows, settings, numbers)
    twice = disputed(
        [row | {"no": no} for row, no in zip(rows, numbered.numbers, strict=True)],
        remarks.edited_twice,
    )
    obstructions = tables.table(tables.OBSTRUCTIONS, twice.rows)
    unsorted = unsorted_of(marks, settings.kinds)
    return Pack(
        settings=settings,
        legs=legs,
        fixes=grouped.smoothed.fixes,
        drives=_named(grouped.smoothed.facts, survey),
        marks=marks,
        records=records,
        coverage=coverage,
        obstructions=obstructions,
        unsorted=unsorted,
        elsewhere=elsewhere_of(marks, records, settings.kinds),
        withdrawn=withdrawn_of(numbered),
        numbers=numbered.ledger,
        decisions=tuple(decisions),
        findings=(
            *survey.findings,
            *grouped.drives.findings,
            *grouped.said,
            *loose(decisions, _legs_of(marks, records)),
            *homeless(numbered, settings),
            *twice.findings,
        ),
        sources=survey.sources,
        draft=drafted(obstructions, unsorted, marks, twice=twice.names, reviews=remarks.reviews),
        evidence=evidence_of(
            grouped.looked,
            obstructions,
            kinds=settings.kinds,
            joins=joins(decisions),
            splits=splits(decisions),
        ),
        lateness=gathered.lateness,
        shifts=gathered.shifts,
        missed=missed_of(obstructions, marks, coverage, settings.kinds),
        search=search_of(obstructions, records, marks, coverage, legs=legs, settings=settings),
        issued=issued,
        plan=plan_of(legs, obstructions, settings),
        remarks=remarks,
    )


def prepare(
    survey: Survey,
    settings: Settings,
    decisions: Sequence[Decision],
    numbers: Sequence[IssuedNumber],
    *,
    issued: Issued | None = None,
    remarks: Remarks = _NO_REMARKS,
) -> Pack:
    """Turn what was surveyed and decided into what is issued.

    Parameters
    ----------
    survey
        Drives, marks, records and lines as read.
    settings
        The job.
    decisions
        What named persons decided, in the order of the file.
    numbers
        The ledger of issued numbers.
    issued
        The list as it was last issued, for what changed since.
    remarks
        Reviews, checks on the day, and what was edited twice.

    Raises
    ------
    RouteprepError
        If the job cannot be prepared; the message says what to mend.
    """
    check_decisions(decisions, kinds=settings.kinds)
    grouped = group(survey, settings, decisions)
    return finish(grouped, decisions, numbers, issued=issued, remarks=remarks)


def _named(facts: Sequence[DriveFacts], survey: Survey) -> tuple[DriveFacts, ...]:
    """The drives with the names that people know them by, in their order."""
    named = [
        replace(
            one,
            name=survey.drive_names.get(one.drive_id, one.drive_id),
            by=survey.drive_by.get(one.drive_id, ""),
        )
        for one in facts
    ]
    return tuple(sorted(named, key=lambda one: (one.name, one.drive_id)))


def _by_vehicle(fixes: pd.DataFrame, survey: Survey, drives: CleanDrives) -> pd.DataFrame:
    """The fixes that no person on foot made: those of a walk are beside the lanes."""
    walks = {drives.copies.get(one, one) for one in survey.walks}
    return fixes[~fixes["drive_id"].isin(walks)].reset_index(drop=True)


def _on_kept(marks: pd.DataFrame, drives: CleanDrives) -> pd.DataFrame:
    """Marks on the drive that is kept, for those that were made on a copy of it."""
    kept = marks["drive_id"].map(lambda one: drives.copies.get(one, one))
    return marks.assign(drive_id=kept.astype("str"))


def _one_each(items: pd.DataFrame, key: str, given: Mapping[str, str]) -> pd.DataFrame:
    """Marks or records once each, with the kinds that a person gave to those not understood.

    Of two rows of one mark, one that knows its drive is kept.
    """
    order = [name for name in (key, "drive_id", "source") if name in items]
    ordered = items.sort_values(
        order, ascending=[name != "drive_id" for name in order], kind="stable"
    )
    kept = ordered.drop_duplicates(key).reset_index(drop=True)
    said = [
        given.get(one, "") if not kind or given.get(one) == NOTHING else kind
        for one, kind in zip(kept[key], kept["kind"], strict=True)
    ]
    return kept.assign(kind=pd.array(said, dtype="str"))


def _twice(items: pd.DataFrame, key: str, what: str) -> list[Finding]:
    """Say for each file how many of its items stand in another file, or twice in it."""
    ordered = items.sort_values([key, "source"], kind="stable")
    counts = ordered.loc[ordered.duplicated(key), "source"].value_counts().sort_index()
    return [
        Finding(
            level="note",
            where=str(source),
            text=f"{what}s that stand in another file or twice in this one: {count}; counted once",
        )
        for source, count in counts.items()
    ]


def _legs_of(marks: pd.DataFrame, records: pd.DataFrame) -> dict[str, str]:
    """Id of every mark and record to the code of its leg, empty for none."""
    return dict(zip(marks["mark_id"].tolist(), marks["leg"].tolist(), strict=True)) | dict(
        zip(records["record_id"].tolist(), records["leg"].tolist(), strict=True)
    )


def _rules(settings: Settings, decisions: Sequence[Decision]) -> Rules:
    """What was decided about the grouping, and what is set aside or is no thing in the road."""
    return Rules(
        no_things=frozenset({NOTHING, *no_things(settings.kinds)}),
        joins=tuple(joins(decisions)),
        splits=splits(decisions),
    )


def _concluded(
    gathered: Gathered, legs: Sequence[Leg], settings: Settings
) -> tuple[dict[str, Any], ...]:
    """What each thing is and where, in the order of the groups."""
    leg_of = {leg.settings.code: leg for leg in legs}
    mark_of: Mapping[str, dict[str, Any]] = {
        str(mark["mark_id"]): mark for mark in rows_of(gathered.marks[list(CONCLUDED)])
    }
    return tuple(
        conclude(
            one,
            leg_of[one.looks[0].leg],
            anchor_id="",
            marks=mark_of,
            people=gathered.people,
            settings=settings,
        )
        for one in gathered.groups
    )


def _known(grouped: Grouped, numbers: Sequence[IssuedNumber]) -> list[dict[str, Any]]:
    """Rows of obstructions without numbers, each by the item that it is known by."""
    issued = {one.anchor_id: one.no for one in numbers}
    pairs = zip(grouped.gathered.groups, grouped.concluded, strict=True)
    return [{**row, "anchor_id": anchor_of(one, issued)} for one, row in pairs]


def _number(
    rows: Sequence[Mapping[str, Any]], settings: Settings, numbers: Sequence[IssuedNumber]
) -> Numbered:
    things = [
        Thing(
            leg=str(row["leg"]),
            anchor_id=str(row["anchor_id"]),
            item_ids=(*row["mark_ids"], *row["record_ids"]),
        )
        for row in rows
    ]
    return assign(things, numbers, revision=settings.revision)
