"""The things found so far: which look is at which, and the moves that change it.

In go looks on a ``Scale``; a passing is matched to the things as a whole, one look to one thing at
most (the assignment problem: Kuhn, The Hungarian method, Naval Research Logistics Quarterly 2,
1955), things are joined, and things are parted.  No move makes the whole less likely.
"""

from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

import numpy as np
import numpy.typing as npt
from scipy.sparse import coo_array
from scipy.sparse.csgraph import min_weight_full_bipartite_matching

from routeprep.odds import Scale, Sums, alone, gains, joined, of_things

__all__ = ["Things", "best_match"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]
Logs = npt.NDArray[np.float64]
_Number = TypeVar("_Number", np.float64, np.int64)

# What a change must gain to be made, so that rounding changes nothing.
_GAIN = 1e-6
# A passing is matched again once so large a share of a thing's looks near it has changed.  Common
# practice, no source.
_STIRRED_SHARE = 0.05
# Things are weighed for parting so many looks at a time, so that they fit near the processor.
_CHUNK = 2_000


def _pairs(of_m: Floats, things_m: Floats, reach_m: float) -> tuple[Ints, Ints]:
    """Rows of looks and of things, sorted along, that lie within reach of each other."""
    low = np.searchsorted(things_m, of_m - reach_m)
    count = np.searchsorted(things_m, of_m + reach_m, "right") - low
    rows = np.repeat(np.arange(len(of_m)), count)
    before = np.cumsum(count) - count
    return rows, np.arange(len(rows)) - np.repeat(before - low, count)


def best_match(rows: Ints, columns: Ints, gain: Logs, count: int) -> Ints:
    """Column of each row, each column once, with the greatest sum; -1 for none."""
    found = np.full(count, -1)
    order = np.lexsort((columns, -gain, rows))
    order = order[gain[order] > _GAIN]
    rows, columns, gain = rows[order], columns[order], gain[order]
    if not len(rows):
        return found
    best = np.diff(rows, prepend=-1) > 0
    found[rows[best]] = columns[best]
    # Where each row of a stretch wants another column best, there is nothing to weigh up.
    wanted = np.bincount(columns[best], minlength=int(columns.max()) + 1)
    stretch = _stretches(rows, columns, count)
    hard = np.bincount(stretch, wanted[columns] * best > 1, minlength=count)[stretch] > 0
    if hard.any():
        found[rows[hard]] = -1
        row, column = _assigned(rows[hard], columns[hard], gain[hard])
        found[row] = column
    return found


def _stretches(rows: Ints, columns: Ints, count: int) -> Ints:
    """Number of the stretch of each pair: no column has pairs with rows of two stretches."""
    order = np.lexsort((rows, columns))
    ends = np.flatnonzero(np.diff(columns[order], append=-1))
    begins = np.r_[0, ends[:-1] + 1]
    spans = np.zeros(count + 1, dtype=np.int64)
    np.add.at(spans, rows[order[begins]], 1)
    np.subtract.at(spans, rows[order[ends]], 1)
    parted = np.r_[True, np.cumsum(spans)[:-1] == 0]
    stretches: Ints = (np.cumsum(parted) - 1)[rows]
    return stretches


def _assigned(rows: Ints, columns: Ints, gain: Logs) -> tuple[Ints, Ints]:
    """Pairs of the assignment with the greatest sum of gains."""
    used_rows, row = np.unique(rows, return_inverse=True)
    used_columns, column = np.unique(columns, return_inverse=True)
    # A column of its own for each row, at no gain, stands for a new thing.  Costs are made
    # positive, since the solver takes a zero for a pair that may not be.
    none = np.arange(len(used_rows))
    most = float(gain.max()) + 1.0
    cost = coo_array(
        (
            np.r_[most - gain, np.full(len(none), most)],
            (np.r_[row, none], np.r_[column, len(used_columns) + none]),
        )
    )
    of_row, of_column = min_weight_full_bipartite_matching(cost.tocsr())
    real = of_column < len(used_columns)
    return used_rows[of_row[real]], used_columns[of_column[real]]


class Things:
    """The things so far: which look is at which, and what is known of each."""

    def __init__(self, scale: Scale, thing: Ints) -> None:
        """Begin with looks at things, or at none yet.

        Parameters
        ----------
        scale
            What looks are weighed with.
        thing
            Number of the thing of each look; -1 for none.
        """
        placed = np.flatnonzero(thing >= 0)
        self.scale = scale
        self.thing: Ints = np.full(len(thing), -1)
        self.thing[placed] = np.unique(thing[placed], return_inverse=True)[1]
        self.sums = of_things(scale, self.thing)
        self.looks: Ints = np.bincount(self.thing[placed])
        # Counts changes; when each thing was changed last; the share of its looks since.
        self.clock = 0
        self.changed: Ints = np.zeros(len(self.looks), dtype=np.int64)
        self.stirred: Floats = np.zeros(len(self.looks))
        # Things in their order along, as they were when the clock stood at ``_sorted_at``.
        self._sorted: Ints = np.zeros(0, dtype=np.int64)
        self._sorted_m: Floats = np.zeros(0)
        self._sorted_at = -1

    def near(self, along_m: Floats, reach_m: float) -> tuple[Ints, Ints]:
        """Pairs of place and thing within reach of each other.

        Parameters
        ----------
        along_m
            Places on the axis [m].
        reach_m
            How far things may lie from them [m].
        """
        if self._sorted_at != self.clock:
            held = np.flatnonzero(self.looks)
            self._sorted = held[np.argsort(self.sums.mean_m[held], kind="stable")]
            self._sorted_m, self._sorted_at = self.sums.mean_m[self._sorted], self.clock
        rows, columns = _pairs(along_m, self._sorted_m, reach_m)
        return rows, self._sorted[columns]

    def match(self, rows: Ints, *, strict: bool = False) -> bool:
        """Match the looks of one passing to the things; whether anything changed.

        What a look was at stays possible, however far its place has moved, unless it is strict.
        """
        before, single = self.thing[rows], alone(self.scale, rows)
        pair, things = self.near(single.mean_m, self.scale.reach_m)
        kept = self._take_out(rows, single)
        may = self.scale.may_meet(single, pair, self.sums, things)
        may &= self.looks[things] > 0
        pair, things = pair[may], things[may]
        former = np.where(self._still(before), before, -1)
        if not strict:
            pair, things = _with_former(pair, things, former)
        free = ~self._clashing(rows[pair], things)
        pair, things = pair[free], things[free]
        gain = gains(self.scale, single, pair, self.sums, things)
        after = best_match(pair, things, gain, len(rows))
        # Whether all can stay as they are.
        placed = (before >= 0).all() and np.sum(former[pair] == things) == np.sum(former >= 0)
        was, becomes = (float(gain[one[pair] == things].sum()) for one in (before, after))
        if placed and becomes <= was + _GAIN:
            self.thing[rows] = before
            self.sums.put(before, kept)
            self.looks[before] += 1
            return False
        self._put(rows, single, before, after)
        return True

    def _still(self, things: Ints) -> Bools:
        """Whether things, -1 for none, have looks left."""
        left: Bools = (things >= 0) & (np.r_[self.looks, 0][things] > 0)
        return left

    def _clashing(self, rows: Ints, things: Ints) -> Bools:
        """Whether a look may not be at a thing because of another look there."""
        clashes = self.scale.evidence.clashes
        found = np.zeros(len(rows), dtype=bool)
        for k in np.flatnonzero(np.isin(rows, list(clashes))):
            found[k] = any(self.thing[other] == things[k] for other in clashes[int(rows[k])])
        return found

    def _take_out(self, rows: Ints, single: Sums) -> Sums:
        """Take looks out of their things; what these were is handed back."""
        placed = np.flatnonzero(self.thing[rows] >= 0)
        at = self.thing[rows[placed]]
        kept = self.sums.take(at)
        self.thing[rows] = -1
        self.looks[at] -= 1
        left = np.flatnonzero(self.looks[at] > 0)
        less = joined(self.scale, kept.take(left), single.take(placed[left]), times=-1)
        self.sums.put(at[left], less)
        return kept

    def _put(self, rows: Ints, single: Sums, before: Ints, after: Ints) -> None:
        """Put looks to things; what is at none is a new thing."""
        old, new = np.flatnonzero(after >= 0), np.flatnonzero(after < 0)
        held = self.sums.take(after[old])
        self.sums.put(after[old], joined(self.scale, held, single.take(old)))
        after[new] = self._fresh(len(new))
        self.sums.put(after[new], single.take(new))
        self.thing[rows] = after
        self.looks[after] += 1
        self.clock += 1
        moved = before != after
        at = np.unique(np.r_[after[moved], before[moved & (before >= 0)]])
        # One look among many moves no other.
        self.stirred[at] += 1 / (self.looks[at] + 1)
        at = at[self.stirred[at] > _STIRRED_SHARE]
        self.changed[at], self.stirred[at] = self.clock, 0.0

    def _fresh(self, count: int) -> Ints:
        """Numbers of things that have no looks, making room where there are too few."""
        idle = np.flatnonzero(self.looks == 0)
        if len(idle) < count:
            more = max(count, len(self.looks))
            self.sums = self.sums.longer(more)
            self.looks = np.r_[self.looks, np.zeros(more, dtype=np.int64)]
            self.changed = np.r_[self.changed, np.zeros(more, dtype=np.int64)]
            self.stirred = np.r_[self.stirred, np.zeros(more)]
            idle = np.flatnonzero(self.looks == 0)
        return idle[:count]

    def match_again(self, passings: Sequence[Ints], matched: Ints) -> bool:
        """Take each passing out and match it anew, where anything near it has changed."""
        any_changed = False
        for number, rows in enumerate(passings):
            _, things = self.near(self.scale.along_m[rows], self.scale.reach_m)
            if self.changed[things].max(initial=0) > matched[number]:
                any_changed |= self.match(rows)
                matched[number] = self.clock
        return any_changed

    def join(self) -> bool:
        """Join neighbours that no passing tells apart while that is likelier; whether any were."""
        any_changed = False
        while True:
            held = np.flatnonzero(self.looks)
            row, things = self.near(self.sums.mean_m[held], self.scale.reach_m)
            ones = held[row]
            once = ones < things
            ones, others = ones[once], things[once]
            may = self.scale.may_meet(self.sums, ones, self.sums, others)
            ones, others = ones[may], others[may]
            gain = gains(self.scale, self.sums, ones, self.sums, others)
            order = np.lexsort((others, ones, -gain))
            order = order[gain[order] > _GAIN]
            if not self._join_each(ones[order], others[order]):
                return any_changed
            any_changed = True

    def _join_each(self, ones: Ints, others: Ints) -> bool:
        """Join pairs in this order, each thing once; whether any could be."""
        members = _members(self.thing, len(self.looks))
        used: set[int] = set()
        for one, other in zip(ones.tolist(), others.tolist(), strict=True):
            if one in used or other in used or self._meet(members(one), members(other)):
                continue
            self.thing[members(other)] = one
            used |= {one, other}
        self._renew(np.array(sorted(used), dtype=np.int64))
        return bool(used)

    def _meet(self, ones: Ints, others: Ints) -> bool:
        """Whether looks of two things are of one passing, or may not be one for another reason."""
        evidence, here = self.scale.evidence, set(others.tolist())
        one_passing = np.isin(evidence.passing[ones], evidence.passing[others]).any()
        return bool(one_passing) or any(
            here & evidence.clashes.get(look, frozenset()) for look in ones.tolist()
        )

    def _renew(self, things: Ints) -> None:
        """Sum up some things anew."""
        number = np.full(len(self.looks) + 1, -1)
        number[things] = np.arange(len(things))
        placed = number[self.thing]
        counts = np.bincount(placed[placed >= 0], minlength=len(things))
        self.looks[things] = counts
        left = counts > 0
        number[things] = np.where(left, np.cumsum(left) - 1, -1)
        self.sums.put(things[left], of_things(self.scale, number[self.thing]))
        self.clock += 1
        self.changed[things] = self.clock

    def part(self, since: int) -> bool:
        """Part things in two, along or by what was said, where that is likelier."""
        evidence, any_changed = self.scale.evidence, False
        kind, across = (said.of_look for said in evidence.said[:2])
        for key in (kind, across, np.zeros_like(kind)):
            rows = np.flatnonzero((self.looks[self.thing] > 1) & (self.changed[self.thing] > since))
            rows = rows[np.lexsort((rows, self.scale.along_m[rows], key[rows], self.thing[rows]))]
            for some in _chunks(rows, self.thing[rows]):
                any_changed |= self._part_some(some)
        return any_changed

    def _part_some(self, rows: Ints) -> bool:
        """Part things after the look that gains most; looks stand thing by thing."""
        at = self.thing[rows]
        last = np.r_[at[1:] != at[:-1], True]
        first = _up_to(self.scale, rows, at)
        cut = np.flatnonzero(~last)
        one, whole = first.take(cut), first.take(np.flatnonzero(last))
        of_cut = (np.cumsum(last) - last)[cut]
        rest = joined(self.scale, whole.take(of_cut), one, times=-1)
        each = np.arange(len(cut))
        gain = -gains(self.scale, one, each, rest, each)
        best = np.lexsort((cut, -gain, of_cut))
        best = best[np.r_[True, np.diff(of_cut[best]) != 0]]
        best = best[gain[best] > _GAIN]
        if not len(best):
            return False
        begins = np.r_[0, np.flatnonzero(last)[:-1] + 1]
        parted = at[cut[best]]
        fresh = self._fresh(len(best))
        for number, k in zip(fresh.tolist(), best.tolist(), strict=True):
            self.thing[rows[begins[of_cut[k]] : cut[k] + 1]] = number
        self._renew(np.sort(np.r_[parted, fresh]))
        return True


def _with_former(rows: Ints, things: Ints, former: Ints) -> tuple[Ints, Ints]:
    """Pairs with that of each row and its former thing among them once; -1 for none."""
    known = np.flatnonzero(former >= 0)
    new = things != former[rows]
    return np.r_[rows[new], known], np.r_[things[new], former[known]]


def _members(thing: Ints, count: int) -> Callable[[int], Ints]:
    """Looks of each thing, by its number."""
    order = np.argsort(thing, kind="stable")
    begins = np.searchsorted(thing[order], np.arange(count + 1))
    return lambda number: order[begins[number] : begins[number + 1]]


def _chunks(rows: Ints, thing: Ints) -> Iterator[Ints]:
    """Looks that stand thing by thing in pieces of whole things."""
    ends = np.flatnonzero(np.r_[thing[1:] != thing[:-1], True][: len(thing)]) + 1
    begin = 0
    while begin < len(rows):
        end = int(ends[min(int(np.searchsorted(ends, begin + _CHUNK)), len(ends) - 1)])
        yield rows[begin:end]
        begin = end


def _up_to(scale: Scale, rows: Ints, thing: Ints) -> Sums:
    """What is known of each thing from its looks up to each; looks stand thing by thing."""
    single = alone(scale, rows)
    first = np.r_[True, thing[1:] != thing[:-1]]
    begin = np.flatnonzero(first)[np.cumsum(first) - 1]

    def running(values: npt.NDArray[_Number]) -> npt.NDArray[_Number]:
        sums = np.cumsum(values, axis=0)
        of_thing: npt.NDArray[_Number] = sums - (sums - values)[begin]
        return of_thing

    weight = running(single.weight_per_m2)
    origin_m = single.mean_m[begin]
    mean_m = origin_m + running(single.weight_per_m2 * (single.mean_m - origin_m)) / weight
    taps = running(single.taps)
    said = tuple(running(logs) for logs in single.said)
    return scale.sums(weight, mean_m, taps=taps, said=said)
