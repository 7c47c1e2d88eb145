"""What became nothing on the list, and why: marks to sort, what lies elsewhere, numbers withdrawn.

In go located marks and records, and numbers, out come the tables ``Pack.unsorted``,
``Pack.elsewhere`` and ``Pack.withdrawn``.
"""

from collections.abc import Mapping
from typing import Any

import pandas as pd

from routeprep.deciding import NOTHING
from routeprep.kinds import NO_THINGS, KindTable
from routeprep.numbering import Numbered
from routeprep.shapes import Finding, Settings
from routeprep.tables import rows_of

__all__ = ["elsewhere_of", "homeless", "no_things", "unsorted_of", "withdrawn_of"]

# What a record is called that its owner's file gives no name.
_NO_NAME = "(no name)"
# Why a mark of a kind that is understood is yet to be sorted.
_NO_PLACE = "no place is said"


def no_things(kinds: KindTable) -> dict[str, str]:
    """Codes of the kinds that are no things in the road, with what they are for."""
    return {
        code: NO_THINGS[kind.group] for code, kind in kinds.kinds.items() if kind.group in NO_THINGS
    }


def unsorted_of(marks: pd.DataFrame, kinds: KindTable) -> pd.DataFrame:
    """Marks whose words were not understood, with the reason and what they look like."""
    rows = marks[marks["kind"] == ""].reset_index(drop=True)
    said = [kinds.understand(words) for words in rows["words"]]
    return rows.assign(
        why=pd.array([one.why or _NO_PLACE for one in said], dtype="str"),
        looks_like=pd.array([one.looks_like for one in said], dtype="str"),
    )


def elsewhere_of(marks: pd.DataFrame, records: pd.DataFrame, kinds: KindTable) -> pd.DataFrame:
    """Marks and records that became nothing on the list, each with the reason."""
    for_what = no_things(kinds)
    off = ["", NOTHING, *for_what]
    marks = marks[(marks["kind"] != "") & (marks["kind"].isin(off) | (marks["leg"] == ""))]
    records = records[records["kind"].isin(off) | (records["leg"] == "")]
    rows = [
        *(
            (one["mark_id"], one["words"], one["source"], _why_not(one, for_what))
            for one in rows_of(marks)
        ),
        *(
            (one["record_id"], one["name"] or _NO_NAME, one["source"], _why_not(one, for_what))
            for one in rows_of(records)
        ),
    ]
    return pd.DataFrame(rows, columns=["id", "name", "source", "why"], dtype="str")


def _why_not(item: Mapping[str, Any], for_what: Mapping[str, str]) -> str:
    """Why a mark or record is not on the list."""
    if not item["kind"]:
        return "kind not understood"
    if item["kind"] == NOTHING:
        return "set aside by a decision: nothing"
    if item["kind"] in for_what:
        return for_what[item["kind"]]
    return str(item["doubt"])


def withdrawn_of(numbered: Numbered) -> pd.DataFrame:
    """Numbers that no longer stand alone, each with the reason."""
    rows = [(one.no, one.leg, one.why) for one in numbered.withdrawn]
    return pd.DataFrame(rows, columns=["no", "leg", "why"], dtype="str")


def homeless(numbered: Numbered, settings: Settings) -> list[Finding]:
    """Say which issued numbers belong to a leg that the job no longer has."""
    codes = {leg.code for leg in settings.legs}
    return [
        Finding(
            level="doubt",
            where=one.no,
            text=f"{one.why}: it was issued on leg {one.leg!r}, which is not in this job, so that "
            "no leg's list shows it struck through",
        )
        for one in numbered.withdrawn
        if one.leg not in codes
    ]
