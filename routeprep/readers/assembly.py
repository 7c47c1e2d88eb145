"""Parts of many files to one ``Survey``, the same whatever the files are called or their order.

In go parts, out come tables in an order of their own: fixes by drive, marks by time, records by
id.  What stands in two files is one thing: it is kept once and said.
"""

import hashlib
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import pandas as pd

from routeprep import tables
from routeprep.lines import Alignment, LinePiece
from routeprep.shapes import Finding, Part, Source, Survey

__all__ = ["assemble"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Copy:
    """One drive as one file has it."""

    drive_id: str
    name: str
    by: str
    fixes: pd.DataFrame
    digest: str


def _digest(fixes: pd.DataFrame) -> str:
    """Says whether two copies of a drive are the same."""
    rows = pd.util.hash_pandas_object(fixes.drop(columns="drive_id"), index=False)
    return hashlib.sha256(rows.to_numpy().tobytes()).hexdigest()


def _copies(parts: Sequence[Part]) -> dict[str, list[_Copy]]:
    """Every drive in all its copies, the best copy first: most fixes, then by what they are."""
    found: dict[str, list[_Copy]] = {}
    for part in parts:
        for drive_id, fixes in part.fixes.groupby("drive_id", sort=False):
            copy = _Copy(
                drive_id=str(drive_id),
                name=part.drive_names[str(drive_id)],
                by=part.drive_by[str(drive_id)],
                fixes=fixes,
                digest=_digest(fixes),
            )
            found.setdefault(copy.drive_id, []).append(copy)
    return {
        drive_id: sorted(found[drive_id], key=lambda one: (-len(one.fixes), one.digest, one.name))
        for drive_id in sorted(found)
    }


def _said_once(copies: Sequence[_Copy]) -> Iterator[Finding]:
    best = copies[0]
    for copy in copies[1:]:
        same = copy.digest == best.digest
        how = "is the same drive as" if same else "begins and ends as, but differs from,"
        text = (
            f"{how} {best.name} ({len(copy.fixes)} and {len(best.fixes)} fixes); it is counted "
            f"once, as {best.name} has it"
        )
        yield Finding(level="note" if same else "doubt", where=copy.name, text=text)


def _once(
    frame: pd.DataFrame, key: str, *, better: Sequence[str]
) -> tuple[pd.DataFrame, Counter[str]]:
    """Rows with each id once, and how many more each source had.

    Of several the one with more said is kept: columns of ``better`` are filled rather than
    empty, then all columns decide, the file's name last.
    """
    texts = [name for name in frame.columns if isinstance(frame[name].dtype, pd.StringDtype)]
    order = [*(name for name in texts if name not in {key, "source"}), "source"]
    ranked = frame.assign(**{f"no {name}": frame[name] == "" for name in better})
    ranked = ranked.sort_values([key, *(f"no {name}" for name in better), *order], kind="stable")
    twice = ranked.duplicated(key)
    kept = ranked.loc[~twice, list(frame.columns)].reset_index(drop=True)
    return kept, Counter(ranked.loc[twice, "source"].tolist())


def _more(copies: Mapping[str, int], what: str) -> Iterator[Finding]:
    for source in sorted(copies):
        text = f"{copies[source]} {what} are also in another file (or copy) and are counted once"
        yield Finding(level="note", where=source, text=text)


def _sources(sources: Sequence[Source]) -> tuple[Source, ...]:
    """One entry a file and use, counts of repeated uses added up, by name."""
    merged: dict[tuple[str, str], Source] = {}
    for one in sources:
        before = merged.get((one.name, one.what))
        merged[one.name, one.what] = (
            one
            if before is None
            else replace(
                one,
                taken=dict(Counter(before.taken) + Counter(one.taken)),
                skipped=dict(Counter(before.skipped) + Counter(one.skipped)),
            )
        )
    return tuple(merged[key] for key in sorted(merged))


def assemble(
    parts: Sequence[Part],
    *,
    lines: Mapping[str, tuple[LinePiece, ...]],
    alignments: Mapping[str, Alignment],
    sources: Sequence[Source],
    findings: Sequence[Finding],
) -> Survey:
    """Put the parts of all files together.

    Parameters
    ----------
    parts
        One a file, in any order.
    lines
        Leg code to the pieces of its centerline.
    alignments
        Leg code to its designed alignment.
    sources
        Of the files that are no parts: lines, decisions, numbers, the job.
    findings
        What was noticed beside the parts.
    """
    ordered = sorted(parts, key=lambda part: (part.source.name, part.source.what))
    drives = _copies(ordered)
    best = {drive_id: copies[0] for drive_id, copies in drives.items()}
    none = tables.table(tables.FIXES, [])
    fixes = [one.fixes for one in best.values()] or [none]
    marks = pd.concat([tables.table(tables.MARKS, []), *(part.marks for part in ordered)])
    marks["drive_id"] = marks["drive_id"].where(marks["drive_id"].isin(list(best)), "")
    marks, more_marks = _once(marks, "mark_id", better=("drive_id", "kind"))
    records = pd.concat([tables.table(tables.RECORDS, []), *(part.records for part in ordered)])
    records, more_records = _once(records, "record_id", better=("owner",))
    return Survey(
        fixes=pd.concat(fixes, ignore_index=True),
        drive_names={drive_id: one.name for drive_id, one in best.items()},
        drive_by={
            drive_id: next((one.by for one in copies if one.by), "")
            for drive_id, copies in drives.items()
        },
        marks=marks.sort_values(["time_utc", "mark_id"], kind="stable", ignore_index=True),
        records=records,
        lines=lines,
        alignments=alignments,
        walks=frozenset(
            drive_id
            for part in ordered
            if part.source.what == "walk"
            for drive_id in part.drive_names
        ),
        sources=_sources([*(part.source for part in ordered), *sources]),
        findings=(
            *findings,
            *(finding for part in ordered for finding in part.findings),
            *(finding for copies in drives.values() for finding in _said_once(copies)),
            *_more(more_marks, "marks"),
            *_more(more_records, "records"),
        ),
    )
