"""Which looks at a thing tell how late somebody taps, and what is said of that.

In go groups of looks, out come those that tell: taps at a known speed, and where the thing is; how
many things told each person's lateness by what; and the words for it.
"""

import math
from collections import Counter
from collections.abc import Sequence
from typing import NamedTuple

from routeprep.merging import Group, Look

__all__ = ["Telling", "is_tap", "settling_words", "tallied", "telling_of", "told_words"]

# What tells a lateness, as it is said.
_WAYS = {
    "the other way": "also marked the other way",
    "on foot": "found on foot",
    "in a file": "in a file",
    "the same way": "marked the same way at other speeds",
}


def is_tap(look: Look) -> bool:
    """Whether a person's lateness is in the place, in a known direction.

    Parameters
    ----------
    look
        A mark or record.
    """
    return bool(look.person) and math.isfinite(look.speed_mps) and look.travel != 0


class Telling(NamedTuple):
    """The looks at a thing that can tell lateness: taps, or what says where the thing is."""

    tapped: list[Look]
    still: list[Look]


def telling_of(one: Group) -> Telling:
    """Those looks of a thing that tell.

    Parameters
    ----------
    one
        The thing.
    """
    told = Telling([], [])
    for look in one.looks:
        if is_tap(look):
            told.tapped.append(look)
        elif look.method != "vehicle":
            told.still.append(look)
    return told


def tallied(telling: Sequence[Telling]) -> dict[str, Counter[str]]:
    """For each person how many things told his lateness, in all ("things") and by what.

    Parameters
    ----------
    telling
        Of each thing the looks that tell.
    """
    who: dict[frozenset[str], Counter[str]] = {}
    for tapped, still in telling:
        ways = {"on foot" if one.is_mark else "in a file" for one in still}
        if len({look.travel for look in tapped}) > 1:
            ways.add("the other way")
        if len(tapped) > 1 and not ways:
            ways.add("the same way")
        told = frozenset({*ways, "things"} if ways else ())
        who.setdefault(told, Counter()).update({look.person for look in tapped})
    found: dict[str, Counter[str]] = {}
    for told, things in who.items():
        for person, count in things.items():
            found.setdefault(person, Counter()).update(dict.fromkeys(told, count))
    return found


def told_words(told_by: Counter[str]) -> str:
    """What a lateness rests on.

    Parameters
    ----------
    told_by
        How many things told it, see ``tallied``.
    """
    ways = [f"{told_by[way]} {words}" for way, words in _WAYS.items() if told_by[way]]
    return f"told by {told_by['things']} things, of them {', '.join(ways)}"


def settling_words(marked: Sequence[Look], told_by: Counter[str]) -> str:
    """Which drive would settle a lateness: on the leg where most was marked.

    Parameters
    ----------
    marked
        The person's taps, at least one.
    told_by
        How many things told it, see ``tallied``.
    """
    leg = Counter(look.leg for look in marked).most_common(1)[0][0]
    ways = {look.travel for look in marked if look.leg == leg}
    both = f"mark the same things on leg {leg} from both directions"
    one = f"drive leg {leg} once the other way and mark the same things"
    why = "what tells it is too little" if told_by else "nothing tells it, the usual is taken"
    if told_by["the other way"] and len(ways) == 1:
        why = "told only in sum with those who drove the other way"
    why += f" (things: {told_by['things']})" if told_by else ""
    return f"{why}; to settle it, {one if len(ways) == 1 else both}, or walk to one that was marked"
