"""How likely it is that looks are at one thing, against their being at two.

In go the looks of many passings and files as ``Evidence``, out come logarithms of chances.
A thing's chance is that of its place and kind among the things of the road, of every look at it,
its true place being anywhere, and of every passing that went by, whether it saw the thing or not.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields

import numpy as np
import numpy.typing as npt
from scipy.sparse import coo_array
from scipy.special import gammaln

from routeprep.likeness import Saying, log_sum
from routeprep.shapes import Defaults

__all__ = ["Evidence", "Scale", "Sums", "alone", "gains", "joined", "log_fit", "of_things"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]
# Logarithms of chances, of 1 or per metre.
Logs = npt.NDArray[np.float64]

# Things differ in how well they are seen: their shares spread about the usual one as far as those
# of so many passings would.  Common practice, no source.
_SEEN_WEIGHT = 4.0
# Before anything is seen there is one thing of a kind in this length of road [m].  Common
# practice, no source.
_ONE_IN_M = 300.0
# For each thing that can be seen the files hold so many more that cannot: under the last overlay,
# under parked cars, gone.  Common practice, no source.
_HIDDEN_SHARE = 0.5
_TWO_PI = 2.0 * np.pi


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Evidence:
    """Looks in an order that does not depend on the input's, the legs one after the other.

    Attributes
    ----------
    along_m
        Place on one axis on which the legs lie far apart [m].
    sd_m
        Standard deviation that a look shares with no other [m].
    shared_m
        How far it lies off when its person is one standard deviation later than thought [m];
        negative when it was driven down-station.
    person
        Number of its person; -1 for none.
    passing
        Number of its passing or file: no two looks of one are at one thing.
    tapped
        Whether it was tapped in passing: others who passed could have done that too.
    said
        What it says of its kind (first), of its place across and of its size.
    clashes
        Look to looks of other passings that are never at one thing with it.
    group_of_kind
        Number of the group of each kind that looks may be of.
    ways
        For each group, where the passings that looked for it begin and end on the axis [m], each
        sorted.
    road_m
        Length of road looked at [m].
    """

    along_m: Floats
    sd_m: Floats
    shared_m: Floats
    person: Ints
    passing: Ints
    tapped: Bools
    said: tuple[Saying, ...]
    clashes: Mapping[int, frozenset[int]]
    group_of_kind: Ints
    ways: tuple[tuple[Floats, Floats], ...]
    road_m: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sums:
    """What is known of some things, or of single looks: one row each.

    Attributes
    ----------
    weight_per_m2, mean_m
        Weight [1/m2] and mean of the looks' places [m].
    taps
        In how many passings it was tapped.
    said
        Logarithms of the chances of all that was said, for each way that the thing may be.
    words, seen
        Logarithms of the chances of all that was said, and of who saw it and who did not.
    """

    weight_per_m2: Floats
    mean_m: Floats
    taps: Ints
    said: tuple[Logs, ...]
    words: Logs
    seen: Logs

    def take(self, rows: Ints) -> "Sums":
        """Some of the rows, in this order."""
        plain = {
            item.name: getattr(self, item.name)[rows]
            for item in fields(self)
            if item.name != "said"
        }
        return Sums(said=tuple(logs[rows] for logs in self.said), **plain)

    def longer(self, count: int) -> "Sums":
        """The rows, and room for so many more."""
        grown = {
            item.name: np.r_[values, np.zeros(count, dtype=values.dtype)]
            for item in fields(self)
            if item.name != "said"
            for values in (getattr(self, item.name),)
        }
        said = tuple(np.vstack([logs, np.zeros((count, logs.shape[1]))]) for logs in self.said)
        return Sums(said=said, **grown)

    def put(self, rows: Ints, other: "Sums") -> None:
        """Write rows in the place of these."""
        for item in fields(self):
            if item.name != "said":
                getattr(self, item.name)[rows] = getattr(other, item.name)
        for logs, written in zip(self.said, other.said, strict=True):
            logs[rows] = written


class Scale:
    """What looks are weighed with: their places once lateness is off, and what is usual.

    Attributes
    ----------
    evidence
        The looks.
    along_m, weight_per_m2
        Place of each look [m] and its weight [1/m2].
    usual
        Logarithms of how usual each kind is per metre, each place across and each size.
    """

    def __init__(
        self,
        evidence: Evidence,
        defaults: Defaults,
        *,
        late_sds: Floats,
        left_share: Floats,
        kinds: Floats,
    ) -> None:
        """Take off what is known of each person's lateness, and count what is not as doubt.

        Parameters
        ----------
        evidence
            The looks.
        defaults
            The tolerances.
        late_sds
            How much later than thought each person is, in standard deviations [-].
        left_share
            Share of the variance of each person's lateness that is left [-].
        kinds
            How many things there are of each kind [-].
        """
        self.evidence = evidence
        told = evidence.person >= 0
        late = np.where(told, np.r_[late_sds, 0.0][evidence.person], 0.0)
        left = np.where(told, np.r_[left_share, 0.0][evidence.person], 0.0)
        self.along_m = evidence.along_m - late * evidence.shared_m
        self.weight_per_m2 = 1.0 / (evidence.sd_m**2 + left * evidence.shared_m**2)
        rates = np.log((kinds + 1.0) / (evidence.road_m + _ONE_IN_M))
        self.usual = (rates, *(one.usual for one in evidence.said[1:]))
        self.reach_m = max(defaults.same_thing_most_m, defaults.same_thing_least_m)
        self._least_m, self._sds = defaults.same_thing_least_m, defaults.same_thing_sds
        # Two things that no passing may see as one are weighed before that is asked.
        passings = int(evidence.passing.max(initial=0)) + 1
        most = max([passings, *(len(begins) for begins, _ in evidence.ways)])
        count = np.arange(2 * most + 1)
        seen = defaults.seen_share * _SEEN_WEIGHT
        missed = _SEEN_WEIGHT - seen
        self._seen = gammaln(seen + count) - gammaln(seen)
        self._missed = gammaln(missed + count) - gammaln(missed)
        self._passed = gammaln(_SEEN_WEIGHT + count) - gammaln(_SEEN_WEIGHT)
        # Many looks say the same: what each says alone is worked out once a saying.
        self._alone = tuple(
            log_sum(usual + one.rows) for usual, one in zip(self.usual, evidence.said, strict=True)
        )

    def move(self, person: int, late_sds: float) -> None:
        """Take a person's lateness off all of that person's looks.

        Parameters
        ----------
        person
            Number of the person.
        late_sds
            How much later than thought, in standard deviations [-].
        """
        own = self.evidence.person == person
        self.along_m[own] -= late_sds * self.evidence.shared_m[own]

    def sums(
        self, weight_per_m2: Floats, mean_m: Floats, *, taps: Ints, said: tuple[Logs, ...]
    ) -> Sums:
        """Sums of things, with the chances that follow from them.

        Parameters
        ----------
        weight_per_m2, mean_m
            Weight [1/m2] and place along [m] of each thing.
        taps, said
            How often each was tapped, and the logarithms of what was said of it.
        """
        return Sums(
            weight_per_m2=weight_per_m2,
            mean_m=mean_m,
            taps=taps,
            said=said,
            words=self.words(said),
            seen=self.seen(taps, mean_m, said[0]),
        )

    def words(self, said: tuple[Logs, ...]) -> Logs:
        """Logarithm of the chance of all that was said, whichever way the thing is."""
        parts = [log_sum(usual + logs) for usual, logs in zip(self.usual, said, strict=True)]
        total: Logs = np.sum(parts, axis=0)
        return total

    def words_alone(self, rows: Ints) -> Logs:
        """``words`` of single looks.

        Parameters
        ----------
        rows
            Rows of the looks.
        """
        said = zip(self._alone, self.evidence.said, strict=True)
        total: Logs = np.sum([logs[one.of_look[rows]] for logs, one in said], axis=0)
        return total

    def seen(self, taps: Ints, mean_m: Floats, kinds: Logs) -> Logs:
        """Logarithm of the chance that it was tapped so often by those who passed it.

        Passings see a thing with a chance that is the thing's own: Polya's urn (Eggenberger and
        Polya, Ueber die Statistik verketteter Vorgaenge, 1923).

        Parameters
        ----------
        taps
            Passings that tapped it.
        mean_m
            Where it is on the axis [m].
        kinds
            What was said of its kind; those count who looked for things of the likeliest.
        """
        passed = taps
        if self.evidence.ways:
            group = self.evidence.group_of_kind[np.argmax(kinds + self.usual[0], axis=1)]
            passed = np.zeros_like(taps)
            for number, (begins, ends) in enumerate(self.evidence.ways):
                here = group == number
                at_m = mean_m[here]
                passed[here] = np.searchsorted(begins, at_m, "right") - np.searchsorted(ends, at_m)
            passed = np.maximum(passed, taps)
        logs = self._seen[taps] + self._missed[passed - taps] - self._passed[passed]
        # What stands in files alone may be hidden from all who passed.
        hidden: Logs = np.where(taps > 0, logs, np.log(np.exp(logs) + _HIDDEN_SHARE))
        return hidden

    def may_meet(self, one: Sums, rows: Ints, other: Sums, columns: Ints) -> Bools:
        """Whether things are near enough to be one, pair by pair."""
        weights = one.weight_per_m2[rows], other.weight_per_m2[columns]
        sds_m = self._sds * np.sqrt(1 / weights[0] + 1 / weights[1])
        most_m = np.clip(sds_m, self._least_m, self.reach_m)
        near: Bools = np.abs(one.mean_m[rows] - other.mean_m[columns]) <= most_m
        return near


def alone(scale: Scale, rows: Ints) -> Sums:
    """Some looks, each as a thing of its own."""
    evidence = scale.evidence
    said = tuple(one.rows[one.of_look[rows]] for one in evidence.said)
    mean_m, taps = scale.along_m[rows], evidence.tapped[rows].astype(np.int64)
    return Sums(
        weight_per_m2=scale.weight_per_m2[rows],
        mean_m=mean_m,
        taps=taps,
        said=said,
        words=scale.words_alone(rows),
        seen=scale.seen(taps, mean_m, said[0]),
    )


def of_things(scale: Scale, thing: Ints) -> Sums:
    """Every thing, by the number of the thing of each look; -1 for looks that are at none."""
    evidence = scale.evidence
    rows = np.flatnonzero(thing >= 0)
    at, count = thing[rows], int(thing.max(initial=-1)) + 1
    # Of no looks at all numpy counts whole numbers.
    weight = np.bincount(at, scale.weight_per_m2[rows], count).astype(np.float64)
    # From a look of each thing, since the axis is long and its squares would drown the metres.
    origin_m = np.zeros(count)
    origin_m[at] = scale.along_m[rows]
    off_m = scale.weight_per_m2[rows] * (scale.along_m[rows] - origin_m[at])
    mean_m = origin_m + np.bincount(at, off_m, count) / weight
    taps = np.bincount(at[evidence.tapped[rows]], minlength=count)
    said = tuple(_summed(one, at, rows, count) for one in evidence.said)
    return scale.sums(weight, mean_m, taps=taps, said=said)


def _summed(said: Saying, at: Ints, rows: Ints, count: int) -> Logs:
    """Sums over each thing's looks, without writing out a row a look."""
    shape = (count, len(said.rows))
    times = coo_array((np.ones(len(rows)), (at, said.of_look[rows])), shape=shape)
    sums: Logs = times.tocsr() @ said.rows
    return sums


def joined(scale: Scale, one: Sums, other: Sums, *, times: int = 1) -> Sums:
    """Things with others added, row by row; ``times=-1`` takes them out again."""
    weight = one.weight_per_m2 + times * other.weight_per_m2
    mean_m = one.mean_m + times * other.weight_per_m2 / weight * (other.mean_m - one.mean_m)
    taps = one.taps + times * other.taps
    said = tuple(a + times * b for a, b in zip(one.said, other.said, strict=True))
    return scale.sums(weight, mean_m, taps=taps, said=said)


def gains(scale: Scale, one: Sums, rows: Ints, other: Sums, columns: Ints) -> Logs:
    """By how much it is likelier that things are one than two, pair by pair: log of the ratio."""
    weight, added = one.weight_per_m2[rows], other.weight_per_m2[columns]
    apart_m = other.mean_m[columns] - one.mean_m[rows]
    half = weight * added / (weight + added)
    place = 0.5 * (np.log(half / _TWO_PI) - half * apart_m**2)
    said = tuple(a[rows] + b[columns] for a, b in zip(one.said, other.said, strict=True))
    words = scale.words(said) - one.words[rows] - other.words[columns]
    mean_m = one.mean_m[rows] + added / (weight + added) * apart_m
    taps = one.taps[rows] + other.taps[columns]
    seen = scale.seen(taps, mean_m, said[0]) - one.seen[rows] - other.seen[columns]
    gain: Logs = place + words + seen
    return gain


def log_fit(scale: Scale, thing: Ints) -> float:
    """Logarithm of the chance of all looks, but for what no grouping changes."""
    thing = np.unique(thing, return_inverse=True)[1]
    sums = of_things(scale, thing)
    off = scale.weight_per_m2 * (scale.along_m - sums.mean_m[thing]) ** 2
    place = np.sum(np.log(scale.weight_per_m2 / _TWO_PI)) - np.sum(off)
    place += np.sum(np.log(_TWO_PI / sums.weight_per_m2))
    return float(place / 2 + np.sum(sums.words) + np.sum(sums.seen))
