"""How many things all looks from a vehicle missed: lower bounds from how often each was seen.

In go the list, its marks and how often each stretch was passed, out come estimates with their
95 % intervals.  A look is one passing of a vehicle in one direction.
"""

import bisect
import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import pandas as pd

from routeprep.drives import seconds_of
from routeprep.estimates import Missed
from routeprep.kinds import GROUPS, KindTable
from routeprep.spreads import HALF_95
from routeprep.tables import rows_of

__all__ = ["Bound", "Passed", "chao", "chapman", "missed_of", "passed"]

# With fewer things seen, or fewer of them seen twice, nothing is estimated.  Common practice, no
# source.
_LEAST_SEEN, _LEAST_TWICE = 8, 3
# Drives that tap a thing on the far side less than this often for each tap of one on their own
# side see their own side only.  Common practice, no source.
_FAR_SHARE = 0.5
# A drive that comes back by more than this [m] passes anew.  Common practice, no source.
_AROUND_M = 60.0
_ALL = "all things"
# So many things on each side along the road are looked at for another name of one of them.
_BESIDE = 8

# One passing: the drive, its direction, and how many times it went that way before.
_Passing = tuple[str, int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bound:
    """How many there are, seen or not, and the ends of the 95 % interval."""

    estimate: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class _Seen:
    """One thing that was seen: its group of kinds, its side, who passed, and who saw it.

    ``stretch`` names where the same vehicles passed; ``up`` and ``down`` are how many.
    """

    along_m: float
    along_sd_m: float
    group: str
    side: str
    stretch: tuple[str, int]
    up: int
    down: int
    by: frozenset[_Passing]

    def own(self) -> "_Seen":
        """The same with the passings on its own side alone."""
        way = 1 if self.side == "R" else -1
        return replace(
            self,
            up=self.up if way > 0 else 0,
            down=self.down if way < 0 else 0,
            by=frozenset(one for one in self.by if one[1] == way),
        )

    def may_be(self, other: "_Seen") -> bool:
        """Whether it can be the other one that a passing called by another name."""
        if self.stretch[0] != other.stretch[0] or self.group != other.group or self.by & other.by:
            return False
        half_m = HALF_95 * math.hypot(self.along_sd_m, other.along_sd_m)
        sides = {self.side, other.side} - {""}
        return len(sides) <= 1 and abs(self.along_m - other.along_m) <= half_m


def chapman(first: int, second: int, both: int) -> Bound:
    """How many there are, from two looks: Lincoln and Petersen's estimate, nearly unbiased.

    Chapman, Some properties of the hypergeometric distribution with applications to zoological
    sample censuses, 1951; variance and normal interval of Seber, The estimation of animal
    abundance, 1982, p. 60.  The interval's low end may be below what was seen.

    Parameters
    ----------
    first, second
        How many each look saw.
    both
        How many of them both saw.

    Examples
    --------
    >>> one = chapman(87, 14, 7)
    >>> round(one.estimate, 1), round(one.low, 1), round(one.high, 1)
    (164.0, 93.8, 234.2)
    """
    estimate = (first + 1) * (second + 1) / (both + 1) - 1
    spread = (first + 1) * (second + 1) * (first - both) * (second - both)
    half = HALF_95 * math.sqrt(spread / ((both + 1) ** 2 * (both + 2)))
    return Bound(estimate=estimate, low=estimate - half, high=estimate + half)


def chao(frequencies: Sequence[int], *, occasions: int | None = None) -> Bound:
    """At least how many there are, from how many were seen once, twice, three times and so on.

    Chao, Estimating the population size for capture-recapture data with unequal catchability,
    Biometrics 43, 1987: as many unseen as f1^2 / (2 f2), or f1 (f1 - 1) / 2 where none was seen
    twice, with her log-normal interval.  With few looks that is too many by t / (t - 1), so that
    it is no bound; the factor, and the variances, are as in Colwell and others, Models and
    estimators linking individual-based and sample-based rarefaction, Journal of Plant Ecology 5,
    2012 (from memory).

    Parameters
    ----------
    frequencies
        How many things were seen once, twice, ...; none of them 0 times.
    occasions
        How many looks there were, t; None for so many that it does not matter.

    Examples
    --------
    >>> round(chao((43, 16, 8, 6, 0, 2, 1)).estimate, 1)
    133.8
    """
    once, twice = (*frequencies, 0, 0)[:2]
    seen = sum(frequencies)
    share = 1.0 if occasions is None else (occasions - 1) / occasions
    if twice:
        ratio = once / twice
        unseen = share * once * ratio / 2
        variance = twice * (
            share / 2 * ratio**2 + share**2 * ratio**3 + share**2 / 4 * ratio**4
        )  # fmt: skip
    else:
        unseen = share * once * (once - 1) / 2
        variance = unseen + share**2 * once * (2 * once - 1) ** 2 / 4
        variance -= share**2 * once**4 / (4 * (seen + unseen)) if once else 0.0
    if unseen == 0:
        return Bound(estimate=seen, low=seen, high=seen)
    factor = math.exp(HALF_95 * math.sqrt(math.log1p(max(variance, 0.0) / unseen**2)))
    return Bound(estimate=seen + unseen, low=seen + unseen / factor, high=seen + unseen * factor)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Passed:
    """How often each stretch of each leg was passed.

    ``by_leg`` has for each leg where its stretches begin [m], and how often each was passed up and
    down the stations.
    """

    by_leg: Mapping[str, tuple[list[float], list[int], list[int]]]

    def at(self, leg: str, along_m: float) -> tuple[int, int, int]:
        """Number of the stretch of a place, and how often it was passed up and down.

        Parameters
        ----------
        leg
            Code of the leg; -1, 0 and 0 for one of which nothing is known.
        along_m
            The place [m]; past an end, that of the end.
        """
        if leg not in self.by_leg:
            return -1, 0, 0
        from_m, up, down = self.by_leg[leg]
        stretch = max(bisect.bisect_right(from_m, along_m) - 1, 0)
        return stretch, up[stretch], down[stretch]


def passed(coverage: pd.DataFrame) -> Passed:
    """How often each stretch was passed, from ``tables.COVERAGE``."""
    return Passed(
        by_leg={
            str(leg): (own["from_m"].tolist(), own["looks_up"].tolist(), own["looks_down"].tolist())
            for leg, own in coverage.groupby("leg", sort=False)
        }
    )


# What of a mark tells in which passing it was made.
_TELLING = ("mark_id", "leg", "travel", "gone_m", "drive_id", "source")


def _passings(marks: pd.DataFrame) -> dict[str, _Passing]:
    """Mark to the passing that it was made in, for marks from a vehicle on a leg.

    A drive that went the same way twice comes back in between.
    """
    kept = marks[(marks["method"] == "vehicle") & (marks["leg"] != "")]
    gone_m = kept["travel"] * kept["along_m"]
    kept = kept.assign(seconds=seconds_of(kept["time_utc"]), gone_m=gone_m)
    kept = kept.sort_values(["seconds", "gone_m", "mark_id"], kind="stable")
    found: dict[str, _Passing] = {}
    far_m: dict[tuple[str, str, int], float] = {}
    times: Counter[tuple[str, str, int]] = Counter()
    columns = (kept[name].tolist() for name in _TELLING)
    for mark_id, leg, way, here_m, drive_id, source in zip(*columns, strict=True):
        drive = drive_id or source
        key = (leg, drive, way)
        if key in far_m and here_m < far_m[key] - _AROUND_M:
            times[key] += 1
            del far_m[key]
        far_m[key] = max(here_m, far_m.get(key, here_m))
        found[mark_id] = (drive, way, times[key])
    return found


# What of a thing counts.
_COUNTED = ("leg", "kind", "lane", "along_m", "along_sd_m", "mark_ids")


def _seen(
    obstructions: pd.DataFrame, marks: pd.DataFrame, coverage: pd.DataFrame, kinds: KindTable
) -> list[_Seen]:
    """Everything on the list that was seen from a vehicle, with who passed there."""
    passing = _passings(marks)
    known = passed(coverage)
    things = []
    for row in rows_of(obstructions[list(_COUNTED)]):
        by = frozenset(passing[one] for one in row["mark_ids"] if one in passing)
        stretch, up, down = known.at(row["leg"], row["along_m"])
        if not by or stretch < 0:
            continue
        things.append(
            _Seen(
                along_m=float(row["along_m"]),
                along_sd_m=float(row["along_sd_m"]),
                group=kinds.kinds[row["kind"]].group,
                side=str(row["lane"])[:1],
                stretch=(str(row["leg"]), stretch),
                up=up,
                down=down,
                by=by,
            )
        )
    return things


def _once_each(things: Sequence[_Seen]) -> list[_Seen]:
    """Things without those that may be another one under another name.

    What one passing alone saw, beside a thing that it did not see, may be that thing called by
    the wrong kind.  To count it as a second thing would make a bound of what is missed too high,
    since things seen once carry it; so it counts as one more look at the other.
    """
    kept = sorted(things, key=lambda one: (one.stretch[0], one.along_m, sorted(one.by)))
    at = 0
    while at < len(kept):
        one = kept[at]
        beside = range(max(at - _BESIDE, 0), min(at + _BESIDE + 1, len(kept)))
        others = [n for n in beside if n != at and one.may_be(kept[n])]
        if len(one.by) > 1 or not others:
            at += 1
            continue
        nearest = min(others, key=lambda n: (abs(kept[n].along_m - one.along_m), n))
        kept[nearest] = replace(kept[nearest], by=kept[nearest].by | one.by)
        del kept[at]
    return kept


def _own_side_only(things: Iterable[_Seen]) -> bool:
    """Whether drives hardly tapped what lies on the far side: each saw half of the road."""
    hits: Counter[bool] = Counter()
    looks: Counter[bool] = Counter()
    for one in things:
        for way, passed in ((1, one.up), (-1, one.down)):
            own = (one.side == "R") == (way > 0)
            hits[own] += sum(by[1] == way for by in one.by) if one.side else 0
            looks[own] += passed if one.side else 0
    if not looks[True] or not looks[False]:
        return False
    return hits[False] / looks[False] < _FAR_SHARE * hits[True] / looks[True]


def _firsts(things: Sequence[_Seen]) -> tuple[int, int, int]:
    """How many things the first of two passings saw, how many the second, and how many both.

    Which of a stretch's two is the first: up the stations before down, then by the drive's id.
    """
    of: Mapping[tuple[str, int], set[_Passing]] = defaultdict(set)
    for one in things:
        of[one.stretch].update(one.by)
    counts = [0, 0, 0]
    for one in things:
        if len(one.by) > 1:
            counts[2] += 1
            continue
        (by,) = one.by
        order = sorted(of[one.stretch], key=lambda who: (-who[1], who))
        counts[order.index(by) % 2] += 1
    first, second, both = counts
    return first + both, second + both, both


def _bound(things: Sequence[_Seen], looks: int) -> tuple[Bound, str]:
    """The bound for things that were each passed so many times, and whose method it is."""
    if looks == 2:  # noqa: PLR2004 - two looks have a method of their own
        return chapman(*_firsts(things)), "Chapman"
    counts = Counter(min(len(one.by), looks) for one in things)
    return chao([counts[times] for times in range(1, looks + 1)], occasions=looks), "Chao"


def _text(what: str, looks: int, seen: int, bound: Bound, *, own_side: bool) -> str:
    """The estimate in plain words, numbers of things to the nearest whole one."""
    least, best, most = (
        math.floor(max(value - seen, 0.0) + 0.5)
        for value in (bound.low, bound.estimate, bound.high)
    )
    where = "on its own side " if own_side else ""
    head = f"{what}, where the road was passed {where}{looks} times: {seen} seen; "
    if most < 1:
        told = "nothing tells of more, since nearly all were seen more than once"
    else:
        told = (
            f"at least {least} more are probably there that no drive tapped"
            if least
            else "whether more are there that no drive tapped, the looks do not tell"
        )
        told += f" (the bound itself is {best}, 95 % interval {least} to {most})"
    return f"{head}{told}. A lower bound: looks from the same seat miss the same things"


def _missed(what: str, things: Sequence[_Seen], looks: int, *, own_side: bool) -> Missed | None:
    """The estimate for one sort of things; None with too few to tell."""
    seen = len(things)
    twice = sum(len(one.by) > 1 for one in things)
    if seen < _LEAST_SEEN or twice < _LEAST_TWICE:
        return None
    bound, method = _bound(things, looks)
    return Missed(
        what=what,
        looks=looks,
        seen=seen,
        estimate=max(bound.estimate, float(seen)),
        # What was seen is there, whatever a normal interval says.
        low=max(bound.low, float(seen)),
        high=bound.high,
        method=method,
        text=_text(what, looks, seen, bound, own_side=own_side),
    )


def missed_of(
    obstructions: pd.DataFrame, marks: pd.DataFrame, coverage: pd.DataFrame, kinds: KindTable
) -> tuple[Missed, ...]:
    """Estimate what no drive saw: for all things and for each group of kinds with enough of them.

    Places that were passed a different number of times are counted apart, so that a thing could
    be seen as often as every other one beside it.  What is known from files or walks alone, and
    places passed once, tell nothing.  Where drives hardly tapped the far side of the road, each
    counts as a look at its own side only: two halves of a road that never overlap would make the
    number missed endless.

    Parameters
    ----------
    obstructions
        Table ``tables.OBSTRUCTIONS``.
    marks
        With ``tables.LOCATED``.
    coverage
        Table ``tables.COVERAGE``.
    kinds
        The job's kinds, for their groups.

    Returns
    -------
    tuple
        By number of looks, the most first; then all things before the groups.  Empty where there
        are too few things to tell.
    """
    every = _seen(obstructions, marks, coverage, kinds)
    own_side = _own_side_only(every)
    if own_side:
        every = [one.own() for one in every if one.side]
        every = [one for one in every if one.by]
    things = _once_each(every)
    found = []
    for looks in sorted({one.up + one.down for one in things}, reverse=True):
        here = [one for one in things if one.up + one.down == looks]
        parts = {name: [one for one in here if one.group == name] for name in GROUPS}
        sorts = {_ALL: here} | {name: part for name, part in parts.items() if part != here}
        if looks > 1:
            found += [_missed(what, part, looks, own_side=own_side) for what, part in sorts.items()]
    return tuple(one for one in found if one is not None)
