"""Looks to things: the grouping that is most likely of all.

In go looks as ``Evidence``, out comes the number of a thing for each.  Each passing is matched to
the things so far, then taken out and matched again; things are joined and parted; and so on until
nothing gets likelier.  A person's lateness moves all looks of a drive together: what they share
with others tells it on the way.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.sparse import coo_array, diags_array

from routeprep.odds import Evidence, Scale, alone, gains, log_fit
from routeprep.shapes import Defaults
from routeprep.things import Things

__all__ = ["Association", "associate"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

# All values here: common practice, no source.
# A person's lateness is looked for among so many standard deviations, with so many looks of his
# evenly along, and is told when less than this share of its variance is left.
_LATE_SDS = np.linspace(-3.0, 3.0, 61)
_LATE_LOOKS = 100
_TOLD_SHARE = 0.25
# Rounds of matching again, at most.
_ROUNDS = 5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Association:
    """Which look is at which thing.

    Attributes
    ----------
    thing
        Number of each look's thing.
    log_fits
        Logarithm of the chance of everything, before the last rounds and after each.
    """

    thing: Ints
    log_fits: tuple[float, ...]


def _late_of(things: Things, rows: Ints) -> float:
    """How many standard deviations later than thought a person is, by looks at things so far."""
    rows = rows[:: max(1, len(rows) // _LATE_LOOKS)]
    scale, shared_m = things.scale, things.scale.evidence.shared_m[rows]
    single = alone(scale, rows)
    most_m = float(np.abs(_LATE_SDS).max() * np.abs(shared_m).max())
    pair, near = things.near(single.mean_m, scale.reach_m + most_m)
    weight, other = single.weight_per_m2[pair], things.sums.weight_per_m2[near]
    half = weight * other / (weight + other)
    apart_m = single.mean_m[pair] - things.sums.mean_m[near]
    words = gains(scale, single, pair, things.sums, near) + half * apart_m**2 / 2
    worth = words > 0
    pair, half, apart_m, words = pair[worth], half[worth], apart_m[worth], words[worth]
    off_m = apart_m[:, None] - shared_m[pair][:, None] * _LATE_SDS
    gain = np.maximum(words[:, None] - half[:, None] * off_m**2 / 2, 0.0)
    first = np.flatnonzero(np.r_[True, np.diff(pair) != 0][: len(pair)])
    best = np.maximum.reduceat(gain, first, axis=0) if len(first) else gain
    return float(_LATE_SDS[np.argmax(best.sum(axis=0) - _LATE_SDS**2 / 2)])


def _first(scale: Scale, passings: Sequence[Ints]) -> Things:
    """Match every passing once, in order; each person's lateness is found on the way."""
    things = Things(scale, np.full(len(scale.along_m), -1))
    person = scale.evidence.person
    known = {-1}
    for rows in passings:
        for one in sorted(set(person[rows].tolist()) - known):
            scale.move(one, _late_of(things, rows[person[rows] == one]))
            known.add(one)
        things.match(rows)
    return things


def _lateness(evidence: Evidence, things: Things) -> tuple[Floats, Floats]:
    """Lateness of each person in standard deviations, and the share of its variance left.

    Least squares with each thing's place unknown and lateness spread as it is thought to be; the
    share left is that for given places of the things, since only differences matter here.
    """
    known = np.flatnonzero(evidence.person >= 0)
    people = int(evidence.person.max(initial=-1)) + 1
    weight, thing = 1.0 / evidence.sd_m**2, np.unique(things.thing, return_inverse=True)[1]
    of_thing = np.bincount(thing, weight)
    origin_m = np.zeros(len(of_thing))
    origin_m[thing] = evidence.along_m
    off_m = evidence.along_m - origin_m[thing]
    off_m -= (np.bincount(thing, weight * off_m) / of_thing)[thing]
    person, shared_m = evidence.person[known], evidence.shared_m[known]
    shape = (len(of_thing), people)
    at_m = coo_array((weight[known] * shared_m, (thing[known], person)), shape=shape).tocsr()
    own = np.bincount(person, weight[known] * shared_m**2, people)
    shared = (at_m.T @ diags_array(1 / of_thing) @ at_m).toarray()
    late: Floats = np.linalg.solve(
        np.diag(own + 1.0) - shared,
        np.bincount(person, weight[known] * shared_m * off_m[known], people),
    )
    told = weight[known] * shared_m**2 * (1 - weight[known] / of_thing[thing[known]])
    left: Floats = 1.0 / (1.0 + np.bincount(person, told, people).astype(np.float64))
    return late, left


def _guess(evidence: Evidence) -> Floats:
    """How many things there are of each kind, before any are told apart."""
    kind, count = evidence.said[0].of_look, len(evidence.said[0].usual)
    passed = 1.0
    if evidence.ways:
        begins, ends = max(evidence.ways, key=lambda way: len(way[0]))
        before = np.searchsorted(begins, evidence.along_m, "right")
        passed = max(1.0, float(np.mean(before - np.searchsorted(ends, evidence.along_m))))
    tapped = np.bincount(kind[evidence.tapped], minlength=count) / passed
    return tapped + np.bincount(kind[~evidence.tapped], minlength=count)


def _in_order(evidence: Evidence) -> list[Ints]:
    """Looks of each passing: files and walks first, then the passings with most looks."""
    order = np.argsort(evidence.passing, kind="stable")
    passings = np.split(order, np.flatnonzero(np.diff(evidence.passing[order])) + 1)
    return sorted(
        passings,
        key=lambda rows: (bool(evidence.tapped[rows[0]]), -len(rows), evidence.passing[rows[0]]),
    )


def associate(evidence: Evidence, defaults: Defaults) -> Association:
    """Find which looks are at one thing.

    Parameters
    ----------
    evidence
        The looks.
    defaults
        The tolerances.
    """
    passings = _in_order(evidence)
    people = int(evidence.person.max()) + 1
    kinds = _guess(evidence)
    unknown = Scale(
        evidence, defaults, late_sds=np.zeros(people), left_share=np.zeros(people), kinds=kinds
    )
    things = _first(unknown, passings)
    late, left = _lateness(evidence, things)
    told = left < _TOLD_SHARE
    scale = Scale(
        evidence,
        defaults,
        late_sds=np.where(told, late, 0.0),
        left_share=np.where(told, left, 1.0),
        kinds=_counted(things),
    )
    things = Things(scale, things.thing)
    for rows in passings:
        things.match(rows, strict=True)
    return _settled(things, passings)


def _counted(things: Things) -> Floats:
    """How many things there are of each kind, by what each most likely is."""
    logs = things.sums.said[0][things.looks > 0] + things.scale.usual[0]
    return np.bincount(np.argmax(logs, axis=1), minlength=logs.shape[1]).astype(np.float64)


def _settled(things: Things, passings: Sequence[Ints]) -> Association:
    """Match again, join and part until nothing changes."""
    log_fits = [log_fit(things.scale, things.thing)]
    matched = np.full(len(passings), -1)
    parted = -1
    for _ in range(_ROUNDS):
        changed = things.match_again(passings, matched)
        changed |= things.join()
        clock = things.clock
        changed |= things.part(parted)
        parted = clock
        log_fits.append(log_fit(things.scale, things.thing))
        if not changed:
            break
    return Association(thing=things.thing, log_fits=tuple(log_fits))
