"""Numbers that never change.

In go things in station order with their anchors and the ledger of issued numbers, out come a
number for each thing, the ledger with the new ones, and the numbers that no longer stand alone.
"""

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from routeprep.errors import JobError
from routeprep.shapes import IssuedNumber

__all__ = ["Numbered", "Thing", "Withdrawn", "assign", "number_key"]

_NUMBER = re.compile(r"^(?P<leg>.+)-(?P<whole>\d+)(?P<letters>[A-Z]*)$")
_LETTERS = 26


@dataclass(frozen=True, slots=True, kw_only=True)
class Thing:
    """One thing to be numbered: its leg, its anchor and all items of its evidence."""

    leg: str
    anchor_id: str
    item_ids: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Withdrawn:
    """An issued number that no longer stands alone, and why."""

    no: str
    leg: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Numbered:
    """Numbers for all things.

    Attributes
    ----------
    numbers
        For each thing, in the order given.
    ledger
        The old ledger followed by this revision's numbers.
    withdrawn
        Numbers that are struck through from now on.
    """

    numbers: tuple[str, ...]
    ledger: tuple[IssuedNumber, ...]
    withdrawn: tuple[Withdrawn, ...]


def number_key(no: str) -> tuple[str, int, int, str]:
    """Sort key of a number: A-9 before A-27, A-27 before A-27A, A-27Z before A-27AA.

    Raises
    ------
    JobError
        If the text is not a number such as A-27 or A-27A.

    Examples
    --------
    >>> sorted(["A-28", "A-27A", "A-9", "A-27"], key=number_key)
    ['A-9', 'A-27', 'A-27A', 'A-28']
    """
    match = _NUMBER.match(no)
    if match is None:
        msg = f"number {no!r} is not of the form A-27 or A-27A; mend numbers.csv"
        raise JobError(msg, no=no)
    return match["leg"], int(match["whole"]), len(match["letters"]), match["letters"]


def _letters(count: int) -> str:
    """The count-th insert's letters: 1 is A, 27 is AA."""
    text = ""
    while count:
        count, rest = divmod(count - 1, _LETTERS)
        text = chr(ord("A") + rest) + text
    return text


def _inserted(leg: str, after: int, used: set[str]) -> str:
    """The next free number right after an issued whole number."""
    count = 1
    while f"{leg}-{after}{_letters(count)}" in used:
        count += 1
    return f"{leg}-{after}{_letters(count)}"


def _of_leg(
    leg: str, things: Sequence[Thing], issued: Mapping[str, str], used: set[str]
) -> list[str]:
    """Numbers for one leg's things, in station order.

    A thing that was issued a number on another leg keeps it, and new ones do not follow it.
    """
    keys = [number_key(no) for no in used]
    top = max((whole for of, whole, _, _ in keys if of == leg), default=0)
    own = {
        i: key[1]
        for i, thing in enumerate(things)
        if thing.anchor_id in issued and (key := number_key(issued[thing.anchor_id]))[0] == leg
    }
    last = max(own, default=-1)
    numbers = []
    before = 0
    for i, thing in enumerate(things):
        if thing.anchor_id in issued:
            no = issued[thing.anchor_id]
            before = own.get(i, before)
        elif i > last:
            top += 1
            no = f"{leg}-{top}"
        else:
            no = _inserted(leg, before, used)
        used.add(no)
        numbers.append(no)
    return numbers


def _check(ledger: Sequence[IssuedNumber]) -> None:
    """Refuse a ledger in which a number or an anchor stands twice.

    Raises
    ------
    JobError
        Naming the numbers, or the anchors with their numbers.
    """
    nos = Counter(one.no for one in ledger)
    twice = sorted(no for no, count in nos.items() if count > 1)
    if twice:
        msg = f"numbers {twice} stand twice in numbers.csv; each was issued to one thing only"
        raise JobError(msg, numbers=twice)
    anchors = Counter(one.anchor_id for one in ledger)
    both = [f"{one.no} ({one.anchor_id})" for one in ledger if anchors[one.anchor_id] > 1]
    if both:
        msg = f"numbers {both} share an anchor_id in numbers.csv; each thing has one number"
        raise JobError(msg, numbers=both)


def assign(things: Sequence[Thing], ledger: Sequence[IssuedNumber], *, revision: str) -> Numbered:
    """Number every thing; what was issued stays as it is.

    At a leg's first issue numbers run in station order.  Later a find between A-27 and A-28 is
    A-27A; one beyond the last issued thing takes the next whole number never used.

    Parameters
    ----------
    things
        In station order within each leg.
    ledger
        Numbers issued before, each with its anchor.
    revision
        The revision that new numbers are first issued in.

    Raises
    ------
    JobError
        If a number in the ledger cannot be read or stands twice, or an anchor does.
    """
    _check(ledger)
    issued = {one.anchor_id: one.no for one in ledger}
    used = {one.no for one in ledger}
    by_leg: dict[str, list[int]] = {}
    for i, thing in enumerate(things):
        by_leg.setdefault(thing.leg, []).append(i)
    numbers = [""] * len(things)
    for leg, rows in by_leg.items():
        for row, no in zip(
            rows, _of_leg(leg, [things[i] for i in rows], issued, used), strict=True
        ):
            numbers[row] = no
    new = tuple(
        IssuedNumber(no=no, anchor_id=thing.anchor_id, first_revision=revision)
        for thing, no in zip(things, numbers, strict=True)
        if thing.anchor_id not in issued
    )
    return Numbered(
        numbers=tuple(numbers),
        ledger=(*ledger, *new),
        withdrawn=_withdrawn(things, numbers, ledger),
    )


def _withdrawn(
    things: Sequence[Thing], numbers: Sequence[str], ledger: Sequence[IssuedNumber]
) -> tuple[Withdrawn, ...]:
    anchors = {thing.anchor_id for thing in things}
    holder = {
        item: no for thing, no in zip(things, numbers, strict=True) for item in thing.item_ids
    }
    gone = [one for one in ledger if one.anchor_id not in anchors]
    return tuple(
        Withdrawn(
            no=one.no,
            leg=number_key(one.no)[0],
            why=f"joined with {holder[one.anchor_id]}" if one.anchor_id in holder else "removed",
        )
        for one in sorted(gone, key=lambda one: number_key(one.no))
    )
