"""What every reader hands back, put together the same way.

In go a file's bytes, rows and counts, out come its ``Source`` and ``Part``; and what the texts of
a mark say, heard through the kinds table.
"""

import hashlib
import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

import pandas as pd

from routeprep import tables
from routeprep.identity import Item, item_ids
from routeprep.kinds import KindTable
from routeprep.readers.times import NO_TIME_US, moment
from routeprep.shapes import Finding, Part, Source

__all__ = ["Drives", "Place", "counted", "hear", "make_part", "marks_table", "shown", "source"]

# Characters of a strange value that a message shows.
_SHOWN = 40

# What of a ``Saying`` a mark keeps.
_SAID = ("kind", "across", "size", "height_m", "height_by", "note")

# What tells marks without coordinates apart, beside their words.
_SAID_WHERE = ("said_leg", "said_station", "said_offset")


class Drives(NamedTuple):
    """The drives of a file: fixes, what they are called, who drove."""

    fixes: pd.DataFrame
    names: Mapping[str, str]
    by: Mapping[str, str]


class Place(NamedTuple):
    """When (UTC since 1970 [us], or ``NO_TIME_US``) and where [deg] a mark was made."""

    time_us: int
    lon_deg: float
    lat_deg: float


def counted(counts: Mapping[str, int]) -> str:
    """Counts in words, those of nothing left out: "3 rows off the globe, 1 unreadable times"."""
    return ", ".join(f"{count} {what}" for what, count in counts.items() if count)


def shown(value: object) -> str:
    """A value as a message shows it: quoted, and cut off when long."""
    text = repr(value)
    return text if len(text) <= _SHOWN else f"{text[:_SHOWN]}..."


def source(
    data: bytes, *, name: str, what: str, taken: Mapping[str, int], skipped: Mapping[str, int]
) -> Source:
    """Describe one input file.

    Parameters
    ----------
    data
        Its bytes.
    name
        Its name relative to the job.
    what
        See ``Source``.
    taken, skipped
        Counts; those of nothing are left out, and the rest stand in the order of their names.
    """
    return Source(
        name=name,
        what=what,
        sha256=hashlib.sha256(data).hexdigest(),
        taken={key: taken[key] for key in sorted(taken) if taken[key]},
        skipped={key: skipped[key] for key in sorted(skipped) if skipped[key]},
    )


def make_part(
    came_from: Source,
    *,
    drives: Drives | None = None,
    marks: pd.DataFrame | None = None,
    records: pd.DataFrame | None = None,
    findings: Sequence[Finding] = (),
) -> Part:
    """Put together what a reader took; what it did not is empty.

    Parameters
    ----------
    came_from
        The file.
    drives, marks, records
        What was taken.
    findings
        What the reader noticed.
    """
    none = Drives(tables.table(tables.FIXES, []), {}, {})
    fixes, names, by = drives or none
    return Part(
        fixes=fixes,
        marks=tables.table(tables.MARKS, []) if marks is None else marks,
        records=tables.table(tables.RECORDS, []) if records is None else records,
        drive_names=names,
        drive_by=by,
        source=came_from,
        findings=tuple(findings),
    )


def hear(texts: Sequence[str], kinds: KindTable) -> dict[str, object]:
    """Hear what the texts of one mark say: each alone, then the first two together.

    The first that is understood counts; all are kept in ``words``.

    Parameters
    ----------
    texts
        In the order in which they are trusted; empty ones and repeats do not count.
    kinds
        The kinds table.

    Returns
    -------
    dict
        Columns of ``tables.MARKS``; ``kind`` is missing when nothing was understood.
    """
    said = list(dict.fromkeys(text for text in texts if text))
    words: dict[str, object] = {"words": "; ".join(said)}
    for text in [*said, ", ".join(said[:2])]:
        saying = kinds.understand(text)
        if saying.kind:
            return words | {name: getattr(saying, name) for name in _SAID}
    return words


def _identity(place: Place, row: Mapping[str, object]) -> str:
    """The words of a mark; without coordinates also its station, without time who says so."""
    names = ["words"]
    if math.isnan(place.lon_deg):
        names += _SAID_WHERE
        names += ["by"] if place.time_us == NO_TIME_US else []
    return "\n".join(str(row.get(name, "")) for name in names)


def marks_table(rows: Sequence[tuple[Place, dict[str, object]]]) -> pd.DataFrame:
    """The marks of one file, with their ids, places and times filled in.

    Parameters
    ----------
    rows
        For each mark where it is and its other columns; ``words`` must be among them.
    """
    items = [
        Item(moment(place.time_us), place.lon_deg, place.lat_deg, _identity(place, row))
        for place, row in rows
    ]
    whole = [
        {
            "mark_id": mark_id,
            "time_utc": item.time_utc,
            "lon_deg": item.lon_deg,
            "lat_deg": item.lat_deg,
            **row,
        }
        for mark_id, item, (_, row) in zip(item_ids("mark", items), items, rows, strict=True)
    ]
    return tables.table(tables.MARKS, whole)
