"""The whole flow in one short function: a survey, settings, decisions and numbers to a pack.

Each stage is a public function of its own room; this one only hands results down, so that an
edit of one mark re-runs only what follows it.
"""

from collections.abc import Mapping, Sequence
from typing import Any

import pandas as pd

from routeprep import tables
from routeprep.concluding import conclude
from routeprep.deciding import NOTHING, check_decisions, decide, joins, sorted_kinds, splits
from routeprep.drives import CleanDrives, clean
from routeprep.kinds import KindTable
from routeprep.legs import build_legs
from routeprep.matching import match
from routeprep.merging import anchor_of, group, looks_of
from routeprep.numbering import Numbered, Thing, assign
from routeprep.placing import locate_marks, locate_records
from routeprep.shapes import Decision, IssuedNumber, Leg, Pack, Settings, Survey
from routeprep.tables import rows_of

__all__ = ["prepare"]


def prepare(
    survey: Survey,
    settings: Settings,
    decisions: Sequence[Decision],
    numbers: Sequence[IssuedNumber],
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

    Raises
    ------
    RouteprepError
        If the job cannot be prepared; the message says what to mend.
    """
    check_decisions(decisions, kinds=settings.kinds)
    drives = clean(survey.fixes, names=survey.drive_names, defaults=settings.defaults)
    legs, said = build_legs(survey, settings, drives.fixes)
    paths = match(drives.fixes, legs, settings.defaults)
    marks = locate_marks(
        _one_each(survey.marks, drives, decisions, settings.kinds),
        drives.fixes,
        paths,
        legs,
        settings.defaults,
    )
    records = locate_records(survey.records.drop_duplicates("record_id"), legs, settings.defaults)
    rows = _rows(marks, records, legs, settings, decisions=decisions, numbers=numbers)
    numbered = _number(rows, settings, numbers)
    obstructions = tables.table(
        tables.OBSTRUCTIONS,
        [row | {"no": no} for row, no in zip(rows, numbered.numbers, strict=True)],
    )
    unsorted = _unsorted(marks, settings.kinds)
    return Pack(
        settings=settings,
        legs=legs,
        fixes=drives.fixes,
        marks=marks,
        records=records,
        obstructions=obstructions,
        unsorted=unsorted,
        elsewhere=_elsewhere(marks, records),
        withdrawn=_withdrawn(numbered),
        numbers=numbered.ledger,
        decisions=tuple(decisions),
        findings=(*survey.findings, *drives.findings, *said),
        sources=survey.sources,
        draft=_draft(obstructions, unsorted),
    )


def _one_each(
    marks: pd.DataFrame, drives: CleanDrives, decisions: Sequence[Decision], kinds: KindTable
) -> pd.DataFrame:
    """Marks once each, on the drive that is kept, with the kinds a person gave unsorted ones."""
    given = sorted_kinds(decisions, kinds)
    kept = marks.assign(
        drive_id=marks["drive_id"].map(lambda one: drives.copies.get(one, one)).astype("str"),
        kind=pd.array(
            [
                kind or given.get(mark_id, "")
                for mark_id, kind in zip(marks["mark_id"], marks["kind"], strict=True)
            ],
            dtype="str",
        ),
    )
    kept = kept.sort_values(["mark_id", "drive_id", "source"], kind="stable")
    return kept.drop_duplicates("mark_id").reset_index(drop=True)


def _rows(
    marks: pd.DataFrame,
    records: pd.DataFrame,
    legs: Sequence[Leg],
    settings: Settings,
    *,
    decisions: Sequence[Decision],
    numbers: Sequence[IssuedNumber],
) -> list[dict[str, Any]]:
    """Rows of obstructions without numbers, by leg in the job's order, then along."""
    kinds = settings.kinds
    things = marks[marks["kind"] != NOTHING]
    looks = [*looks_of(things, is_mark=True), *looks_of(records, is_mark=False)]
    groups = group(
        looks,
        kinds=kinds,
        defaults=settings.defaults,
        joins=joins(decisions),
        splits=splits(decisions),
    )
    issued = {one.anchor_id: one.no for one in numbers}
    leg_of = {leg.settings.code: leg for leg in legs}
    order = {leg.settings.code: place for place, leg in enumerate(legs)}
    mark_of: Mapping[str, dict[str, Any]] = {str(mark["mark_id"]): mark for mark in rows_of(things)}
    rows = [
        conclude(
            one,
            leg_of[one.looks[0].leg],
            anchor_id=anchor_of(one, issued),
            marks=mark_of,
            kinds=kinds,
        )
        for one in groups
    ]
    rows.sort(key=lambda row: (order[str(row["leg"])], row["along_m"], row["anchor_id"]))
    depths_m = {leg.settings.code: leg.settings.depth_m for leg in legs}
    return decide(rows, decisions, kinds=kinds, depths_m=depths_m)


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


def _unsorted(marks: pd.DataFrame, kinds: KindTable) -> pd.DataFrame:
    """Marks whose words were not understood, with the reason and what they look like."""
    rows = marks[marks["kind"] == ""].reset_index(drop=True)
    said = [kinds.understand(words) for words in rows["words"]]
    return rows.assign(
        why=pd.array([one.why for one in said], dtype="str"),
        looks_like=pd.array([one.looks_like for one in said], dtype="str"),
    )


def _elsewhere(marks: pd.DataFrame, records: pd.DataFrame) -> pd.DataFrame:
    """Marks and records that became nothing on the list, each with the reason."""
    rows = [
        (mark["mark_id"], mark["words"], mark["source"], mark["doubt"])
        for mark in rows_of(marks)
        if not mark["leg"] and mark["kind"] not in ("", NOTHING)
    ]
    rows += [
        (mark["mark_id"], mark["words"], mark["source"], "set aside by a decision: nothing")
        for mark in rows_of(marks)
        if mark["kind"] == NOTHING
    ]
    rows += [
        (
            record["record_id"],
            record["name"],
            record["source"],
            record["doubt"] if record["kind"] else "kind not understood",
        )
        for record in rows_of(records)
        if not record["leg"] or not record["kind"]
    ]
    return pd.DataFrame(rows, columns=["id", "name", "source", "why"], dtype="str")


def _withdrawn(numbered: Numbered) -> pd.DataFrame:
    rows = [(one.no, one.leg, one.why) for one in numbered.withdrawn]
    return pd.DataFrame(rows, columns=["no", "leg", "why"], dtype="str")


def _draft(obstructions: pd.DataFrame, unsorted: pd.DataFrame) -> tuple[str, ...]:
    """Why the pack may not be issued yet."""
    open_rows = int((obstructions["decided_by"] == "").sum())
    reasons = []
    if open_rows:
        reasons.append(f"{open_rows} of {len(obstructions)} things are not decided")
    if len(unsorted):
        reasons.append(f"{len(unsorted)} marks wait under sort before issue")
    return tuple(reasons)
