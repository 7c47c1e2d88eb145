"""Groups of looks to how late each person taps.

In go things with all that was marked and recorded of them, out comes a ``Lateness`` a person: the
phone was ``late_s * v - lead_m`` past the thing when it was tapped at a speed v.  What tells it are
things that were also marked the other way or at another speed, found on foot, or that stand in a
file.  It is one problem of least squares: each look lies where its thing is, plus what its person
is late by in the direction of travel, plus what its file is off by, plus its own error.
"""

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate
from operator import attrgetter

import numpy as np
import numpy.typing as npt
from scipy import sparse
from scipy.special import expit

from routeprep.estimates import Lateness
from routeprep.merging import Group, Look
from routeprep.noise import WANDER_S
from routeprep.shapes import Defaults
from routeprep.spots import usual_lateness
from routeprep.spreads import HALF_95
from routeprep.telling import Telling, is_tap, settling_words, tallied, telling_of, told_words

__all__ = ["NOBODY", "People", "people_of"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

# This share of looks belongs to another thing, or errs far more than it says: by this many times
# its standard deviation.  So a look is believed by its chance to be none of them (a contaminated
# normal distribution: Tukey, A survey of sampling from contaminated distributions, 1960; the
# values are common practice, no source).
_WRONG_SHARE = 0.05
_WRONG_SDS = 20.0
# How sure the usual spread of a single tap is, as a ratio (standard deviation of the logarithm).
# Common practice, no source.
_TAP_SD = 0.3
# This share of a record's variance is common to all of its file on a leg: datum, digitising.
# Common practice, no source.
_FILE_SHARE = 0.5
# The data told a lateness when less than this share of the doubt before is left.  Common practice,
# no source.
_TOLD_SHARE = 0.5
# Slower than this no speed is a person's usual one [m/s].  Common practice, no source.
_SLOW_MPS = 3.0
# No look is surer than this [m2], a centimetre, and no value than this in its own unit.
_LEAST_M2 = 1e-4
_LEAST_SD = 1e-6
# Least squares are solved so often, each time with other beliefs, until no value moves by more.
_TIMES = 20
_STILL = 5e-3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class People:
    """How late the persons tap, and how far what is not known of it is common to them.

    Two persons who drove opposite ways tell how late they are together.  Who of them is the later
    one shifts all things by the same, so that no number of looks cancels it.

    Attributes
    ----------
    of
        Person to how late he taps.
    covariance
        Of all ``late_s`` [s2], then all ``lead_m`` [m2], in the order of ``of``, and of both, as
        far as it is not in the looks' own deviations: less than a ``Lateness`` says, since a
        receiver's error that all marks of a drive share is taken off them with the lateness.
    """

    of: Mapping[str, Lateness]
    covariance: npt.NDArray[np.float64]

    def shared_m2(self, looks: Sequence[Look]) -> Floats:
        """Covariance of looks along the road by what is not known of their persons' lateness [m2].

        Parameters
        ----------
        looks
            Marks and records; what nobody tapped has none, nor have persons who are not known.
        """
        place = {person: row for row, person in enumerate(self.of)}
        tapped = [look.person in place and math.isfinite(look.speed_mps) for look in looks]
        who = np.array(
            [place[look.person] if one else 0 for look, one in zip(looks, tapped, strict=True)]
        )
        # Which way the lead lies is not known where the travel is not; either way it is a doubt.
        way = np.array([look.travel or 1 for look in looks]) * np.array(tapped)
        moves = [way * np.nan_to_num(_numbers(looks, "speed_mps")), -way]
        total = np.zeros((len(looks), len(looks)))
        for a, one in enumerate(moves):
            for b, other in enumerate(moves):
                at = np.ix_(who + a * len(place), who + b * len(place))
                total += np.outer(one, other) * self.covariance[at]
        return total


NOBODY = People(of={}, covariance=np.zeros((0, 0)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Looks:
    """What tells: looks of things that have two or more, a row each.

    ``thing`` counts the things; ``person`` is -1 for what nobody tapped, ``file`` for what stands
    in none.  ``raw_m`` is the place along with what was taken off added back; ``rest_m2`` the
    variance without that of the tap; ``crowd`` how many looks of the drive share one error of the
    receiver.
    """

    thing: Ints
    person: Ints
    file: Ints
    way: Ints
    speed_mps: Floats
    raw_m: Floats
    rest_m2: Floats
    crowd: npt.NDArray[np.float64]
    people: int
    files: int

    @property
    def things(self) -> int:
        """How many things there are."""
        return int(self.thing.max(initial=-1)) + 1

    def own_m2(self, taps_s: Floats) -> Floats:
        """Variance of each look [m2], with the spread of each person's taps [s]."""
        return self.rest_m2 + (np.append(taps_s, 0.0)[self.person] * self.speed_mps) ** 2

    def moves(self) -> sparse.csr_array:
        """How each look moves with the lateness and lead of persons and the shift of files."""
        rows = np.arange(len(self.thing))
        tapped, filed = rows[self.person >= 0], rows[self.file >= 0]
        who, way = self.person[tapped], self.way[tapped]
        values = np.r_[way * self.speed_mps[tapped], -way, np.ones(len(filed))]
        columns = np.r_[who, who + self.people, self.file[filed] + 2 * self.people]
        shape = (len(rows), 2 * self.people + self.files)
        return sparse.csr_array((values, (np.r_[tapped, tapped, filed], columns)), shape=shape)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Fit:
    """Lateness, then lead, of all persons, with the spread of their taps.

    ``covariance`` is of their errors, ``for_looks`` without those of the receivers, see ``People``.
    """

    values: Floats
    covariance: npt.NDArray[np.float64]
    for_looks: npt.NDArray[np.float64]
    taps_s: Floats


def people_of(groups: Sequence[Group], *, defaults: Defaults, people: People) -> People:
    """How late each person taps who tapped anything in the groups.

    Parameters
    ----------
    groups
        Things with their looks.
    defaults
        What is usual, before anything is known.
    people
        What was taken off these looks.
    """
    telling = [telling_of(one) for one in groups]
    marked: dict[str, list[Look]] = {}
    for look in (look for one in telling for look in one.tapped):
        marked.setdefault(look.person, []).append(look)
    if not marked:
        return NOBODY
    persons, told_by = sorted(marked), tallied(telling)
    fit = _fitted(_tabled(telling, persons, people, defaults), defaults)
    of = {
        person: _lateness(row, marked[person], fit, told_by[person], defaults)
        for row, person in enumerate(persons)
    }
    return People(of=of, covariance=fit.for_looks)


def _numbers(looks: Sequence[Look], name: str) -> Floats:
    return np.fromiter(map(attrgetter(name), looks), np.float64, len(looks))


def _tabled(
    telling: Sequence[Telling], persons: Sequence[str], people: People, defaults: Defaults
) -> _Looks:
    """The looks that tell, of things that have two of them."""
    things = [one.tapped + one.still for one in telling]
    counts = [len(one) for one in things if len(one) > 1]
    looks = [look for one in things if len(one) > 1 for look in one]
    person_at = {person: row for row, person in enumerate(persons)}
    files = sorted({(look.source, look.leg) for look in looks if not look.is_mark})
    file_at = {file: row for row, file in enumerate(files)}
    person = [person_at[look.person] if is_tap(look) else -1 for look in looks]
    file = [-1 if look.is_mark else file_at[look.source, look.leg] for look in looks]
    taken = [people.of.get(one) or usual_lateness(one, defaults) for one in persons]
    tapped = np.array(person, dtype=np.int64) >= 0
    speed = np.where(tapped, _numbers(looks, "speed_mps"), 0.0)
    way = np.where(tapped, _numbers(looks, "travel"), 0.0)
    taps_m = np.array([*(one.tap_sd_s for one in taken), 0.0])[person] * speed
    own_m2 = _numbers(looks, "own_sd_m") ** 2 - taps_m**2
    own_m2[np.array(file, dtype=np.int64) >= 0] *= 1.0 - _FILE_SHARE
    return _Looks(
        thing=np.repeat(np.arange(len(counts)), counts),
        person=np.array(person, dtype=np.int64),
        file=np.array(file, dtype=np.int64),
        way=way.astype(np.int64),
        speed_mps=speed,
        raw_m=_numbers(looks, "along_m") + np.where(tapped, way * _numbers(looks, "late_m"), 0.0),
        rest_m2=np.maximum(own_m2, _LEAST_M2),
        crowd=_crowd(looks),
        people=len(persons),
        files=len(files),
    )


def _crowd(looks: Sequence[Look]) -> Floats:
    """How many looks of the same drive share the error of the receiver with each, itself included.

    The error fades with ``WANDER_S``: two looks at a time dt share exp(-dt / WANDER_S) of it.
    """
    number: dict[str, int] = {"": -1}
    drive = np.array([number.setdefault(one.drive_id, len(number)) for one in looks])
    seconds, crowd = _numbers(looks, "seconds"), np.ones(len(looks))
    order = np.lexsort((seconds, drive))
    order = order[(drive[order] >= 0) & np.isfinite(seconds[order])]
    fade = np.exp(-np.abs(np.diff(seconds[order])) / WANDER_S) * (np.diff(drive[order]) == 0)
    for rows, fades in ((order, fade), (order[::-1], fade[::-1])):
        sums = accumulate(fades.tolist(), lambda before, one: (1.0 + before) * one, initial=0.0)
        crowd[rows] += list(sums)[: len(rows)]
    return crowd


def _fitted(known: _Looks, defaults: Defaults) -> _Fit:
    """Least squares again and again, each look believed by its chance to be right."""
    counts = (known.people, known.people, known.files)
    shift_m = defaults.record_sd_m * math.sqrt(_FILE_SHARE)
    sds = np.repeat((defaults.tap_late_sd_s, defaults.tap_lead_sd_m, shift_m), counts)
    usual = np.repeat((defaults.tap_late_s, defaults.tap_lead_m, 0.0), counts)
    before = np.maximum(sds, _LEAST_SD) ** -2.0
    taps_s = np.full(known.people, max(defaults.tap_spread_s, _LEAST_SD))
    weight = np.ones(len(known.thing))
    moves, values = known.moves(), usual
    for _ in range(_TIMES):
        crowded_m2 = known.own_m2(taps_s) + known.rest_m2 * (known.crowd - 1.0)
        moment, normal = _normal(known, moves, weight / crowded_m2, known.raw_m - moves @ usual)
        covariance = np.asarray(np.linalg.inv(normal + np.diag(before)), dtype=np.float64)
        values, last = usual + covariance @ moment, values
        taps_s, weight = _beliefs(known, known.raw_m - moves @ values, weight, taps_s, defaults)
        if np.abs(values - last).max() <= _STILL:
            break
    _, normal = _normal(known, moves, weight / known.own_m2(taps_s), known.raw_m)
    for_looks = np.asarray(np.linalg.inv(normal + np.diag(before)), dtype=np.float64)
    own = slice(2 * known.people)
    return _Fit(
        values=values[own],
        covariance=covariance[own, own],
        for_looks=for_looks[own, own],
        taps_s=taps_s,
    )


def _normal(
    known: _Looks, moves: sparse.csr_array, weight: Floats, off_m: Floats
) -> tuple[Floats, Floats]:
    """Moment and normal matrix of what persons and files have, the things' places left out."""
    rows, total = np.arange(len(weight)), np.bincount(known.thing, weight, known.things)
    sums = sparse.csr_array((weight, (known.thing, rows)), shape=(known.things, len(weight)))
    of_things = (sums @ moves).toarray()
    mean_m = np.bincount(known.thing, weight * off_m, known.things) / total
    moment = moves.T @ (weight * off_m) - of_things.T @ mean_m
    scaled = of_things / np.sqrt(total)[:, None]
    normal = (moves.T @ moves.multiply(weight[:, None])).toarray() - scaled.T @ scaled
    return moment, normal


def _beliefs(
    known: _Looks, rest_m: Floats, weight: Floats, taps_s: Floats, defaults: Defaults
) -> tuple[Floats, Floats]:
    """Spread of each person's taps [s], one step better, and how far each look is believed."""
    own_m2 = known.own_m2(taps_s)
    pull = weight / own_m2
    total = np.bincount(known.thing, pull, known.things)
    mean_m = np.bincount(known.thing, pull * rest_m, known.things) / total
    # A look pulls its own thing's place along; what is left of its error is this much smaller.
    free = np.maximum(1.0 - pull / total[known.thing], _LEAST_SD)
    ratio = (rest_m - mean_m[known.thing]) ** 2 / free / own_m2
    odds = math.log(_WRONG_SDS * (1.0 - _WRONG_SHARE) / _WRONG_SHARE)
    right = expit(odds - 0.5 * ratio * (1.0 - _WRONG_SDS**-2))
    taps_s = _tap_step(known, right * free, ratio, taps_s, defaults)
    return taps_s, right + (1.0 - right) / _WRONG_SDS**2


def _tap_step(
    known: _Looks, weight: Floats, ratio: Floats, taps_s: Floats, defaults: Defaults
) -> Floats:
    """One step of Fisher's scoring for the logarithm of each person's tap variance.

    A spread is never taken for smaller than the usual one: taps that lie far apart are not put
    together as one thing, so that those together always look closer than taps are.

    The likelihood is normal, with a usual value before anything is known (R. A. Fisher; C. R. Rao,
    Linear Statistical Inference and its Applications, 1973, section 5g; from memory).
    """
    tapped = known.person >= 0
    who = known.person[tapped]
    usual_s = max(defaults.tap_spread_s, _LEAST_SD)
    share = (1.0 - known.rest_m2 / known.own_m2(taps_s))[tapped]
    before = 1.0 / (2.0 * _TAP_SD) ** 2
    pulls = 0.5 * (weight * (ratio - 1.0))[tapped] * share
    slope = np.bincount(who, pulls, known.people) - 2.0 * np.log(taps_s / usual_s) * before
    bend = np.bincount(who, 0.5 * weight[tapped] * share**2, known.people) + before
    step = slope / bend
    return np.maximum(taps_s * np.exp(np.clip(step, -1.0, 1.0) / 2.0), usual_s)


def _lateness(
    row: int, marked: Sequence[Look], fit: _Fit, told_by: Counter[str], defaults: Defaults
) -> Lateness:
    """One person's lateness; in seconds at his usual speed it is what people can picture."""
    at = [row, row + len(fit.taps_s)]
    (late_s, lead_m), covariance = fit.values[at].tolist(), fit.covariance[np.ix_(at, at)]
    speed_mps = max(float(np.median(_numbers(marked, "speed_mps"))), _SLOW_MPS)
    moves = np.array([speed_mps, -1.0])
    sd_m = math.sqrt(moves @ covariance @ moves)
    told = sd_m < _TOLD_SHARE * math.hypot(
        speed_mps * defaults.tap_late_sd_s, defaults.tap_lead_sd_m
    )
    usually_s, half_s = late_s - lead_m / speed_mps, HALF_95 * sd_m / speed_mps
    return Lateness(
        person=marked[0].person,
        late_s=late_s,
        late_sd_s=math.sqrt(covariance[0, 0]),
        lead_m=lead_m,
        lead_sd_m=math.sqrt(covariance[1, 1]),
        late_lead_sm=float(covariance[0, 1]),
        tap_sd_s=float(fit.taps_s[row]),
        things=told_by["things"],
        told=told,
        text=f"{usually_s:.1f} s \u00b1 {half_s:.1f} s late at the usual speed: "
        + (told_words(told_by) if told else settling_words(marked, told_by)),
    )
