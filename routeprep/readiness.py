"""Why a list may not be issued yet: in go its tables and what was said of it, out come reasons.

A list without any may be issued.
"""

from collections import Counter
from collections.abc import Mapping, Sequence

import pandas as pd

from routeprep.deciding import NOTHING
from routeprep.remarks import REVIEWS, WHOLE, Review, person_of
from routeprep.tables import rows_of

__all__ = ["anchors_of", "asked", "drafted", "standing"]

_, _ACCEPT, _ASK = REVIEWS
# What takes back what.
_BACK = {_ACCEPT: _ASK, _ASK: _ACCEPT}
# So many of what was edited twice are named.
_NAMED = 5


def _astray(marks: pd.DataFrame) -> int:
    """How many marks of things say a station that is on no leg."""
    said = (marks["said_station"] != "") & (marks["leg"] == "")
    return int((said & ~marks["kind"].isin(["", NOTHING])).sum())


def _twice(names: Sequence[str]) -> str:
    """What was edited twice, the first few by name."""
    more = len(names) - _NAMED
    shown = ", ".join([*names[:_NAMED], *([f"and {more} more"] if more > 0 else [])])
    verb = "things were" if len(names) > 1 else "thing was"
    return f"{len(names)} {verb} edited twice: {shown}"


def anchors_of(obstructions: pd.DataFrame) -> dict[str, str]:
    """The id of every item that a thing rests on to the thing's anchor.

    Parameters
    ----------
    obstructions
        Table ``tables.OBSTRUCTIONS``; an anchor stands for its own thing, whatever else holds its
        id.
    """
    held: dict[str, str] = {}
    things = rows_of(obstructions[["anchor_id", "mark_ids", "record_ids"]])
    for row in things:
        held |= dict.fromkeys((*row["mark_ids"], *row["record_ids"]), str(row["anchor_id"]))
    return held | {str(row["anchor_id"]): str(row["anchor_id"]) for row in things}


def standing(reviews: Sequence[Review], anchors: Mapping[str, str]) -> list[bool]:
    """For each review whether it asks or accepts, and the same person has not said else since.

    A change that was asked for is open until the thing, or the whole list, is accepted; an
    acceptance holds until a change of the same is asked for; a comment leaves both.

    Parameters
    ----------
    reviews
        In order of time.
    anchors
        As ``anchors_of`` gives them.
    """
    since: set[tuple[str, str, str]] = set()
    stands = []
    for one in reversed(reviews):
        person, subject = person_of(one.by), anchors.get(one.subject, one.subject)
        about = (subject, WHOLE) if one.says == _ASK else (subject,)
        back = _BACK.get(one.says)
        taken = any((person, back, what) in since for what in about)
        stands.append(back is not None and not taken)
        since.add((person, one.says, subject))
    return stands[::-1]


def asked(obstructions: pd.DataFrame, reviews: Sequence[Review]) -> tuple[str, ...]:
    """Who asks for how many changes still, a reason each.

    Parameters
    ----------
    obstructions
        Table ``tables.OBSTRUCTIONS``.
    reviews
        In order of time.
    """
    stands = standing(reviews, anchors_of(obstructions) if reviews else {})
    waiting = [
        one for one, open_ in zip(reviews, stands, strict=True) if open_ and one.says == _ASK
    ]
    names = {person_of(one.by): one.by for one in waiting}
    counts = Counter(person_of(one.by) for one in waiting)
    return tuple(
        f"{names[person]} asks for {count} change{'s' * (count > 1)}"
        for person, count in counts.items()
    )


def drafted(
    obstructions: pd.DataFrame,
    unsorted: pd.DataFrame,
    marks: pd.DataFrame,
    *,
    twice: Sequence[str] = (),
    reviews: Sequence[Review] = (),
) -> tuple[str, ...]:
    """Why a list is a draft, a reason each; none when it may be issued.

    Parameters
    ----------
    obstructions
        Table ``tables.OBSTRUCTIONS``.
    unsorted
        Marks to be sorted before issue.
    marks
        With ``tables.LOCATED``.
    twice
        Names of what was edited twice.
    reviews
        In order of time; see ``standing``.
    """
    undecided = int((obstructions["decided_by"] == "").sum())
    astray = _astray(marks)
    reasons = []
    if undecided:
        reasons.append(f"{undecided} of {len(obstructions)} things are not decided")
    if len(unsorted):
        wait = "1 mark waits" if len(unsorted) == 1 else f"{len(unsorted)} marks wait"
        reasons.append(f"{wait} under sort before issue")
    if astray:
        say = "1 mark says" if astray == 1 else f"{astray} marks say"
        reasons.append(f"{say} a station that is on no leg: see not on the list")
    if twice:
        reasons.append(_twice(twice))
    return (*reasons, *asked(obstructions, reviews))
