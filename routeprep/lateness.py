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
# What tells a lateness, as it is said.
_WAYS = {
    "the other way": "also marked the other way",
    "on foot": "found on foot",
    "in a file": "in a file",
    "the same way": "marked the same way at other speeds",
}


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
    marked: dict[str, list[Look]] = {}
    for look in (look for one in groups for look in one.looks if _tapped(look)):
        marked.setdefault(look.person, []).append(look)
    if not marked:
        return NOBODY
    persons, told_by = sorted(marked), _told_by(groups)
    fit = _fitted(_tabled(groups, persons, people, defaults), defaults)
    of = {
        person: _lateness(row, marked[person], fit, told_by[person], defaults)
        for row, person in enumerate(persons)
    }
    return People(of=of, covariance=fit.for_looks)


def _tapped(look: Look) -> bool:
    """Whether a person's lateness is in the place, in a known direction."""
    return bool(look.person) and math.isfinite(look.speed_mps) and look.travel != 0


def _tells(one: Group) -> list[Look]:
    """The looks that can tell lateness: their own, or where the thing is."""
    return [look for look in one.looks if _tapped(look) or look.method != "vehicle"]


def _numbers(looks: Sequence[Look], name: str) -> Floats:
    return np.array([getattr(look, name) for look in looks], dtype=np.float64)


def _tabled(
    groups: Sequence[Group], persons: Sequence[str], people: People, defaults: Defaults
) -> _Looks:
    """The looks that tell, of things that have two of them."""
    telling = [looks for looks in map(_tells, groups) if len(looks) > 1]
    looks = [look for one in telling for look in one]
    person_at = {person: row for row, person in enumerate(persons)}
    files = sorted({(look.source, look.leg) for look in looks if not look.is_mark})
    file_at = {file: row for row, file in enumerate(files)}
    person = [person_at[look.person] if _tapped(look) else -1 for look in looks]
    file = [-1 if look.is_mark else file_at[look.source, look.leg] for look in looks]
    taken = [people.of.get(one) or usual_lateness(one, defaults) for one in persons]
    tapped = np.array(person, dtype=np.int64) >= 0
    speed = np.where(tapped, _numbers(looks, "speed_mps"), 0.0)
    way = np.where(tapped, _numbers(looks, "travel"), 0.0)
    taps_m = np.array([*(one.tap_sd_s for one in taken), 0.0])[person] * speed
    own_m2 = _numbers(looks, "own_sd_m") ** 2 - taps_m**2
    own_m2[np.array(file, dtype=np.int64) >= 0] *= 1.0 - _FILE_SHARE
    return _Looks(
        thing=np.repeat(np.arange(len(telling)), [len(one) for one in telling]),
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
    timed = [row for row, one in enumerate(looks) if one.drive_id and math.isfinite(one.seconds)]
    order = sorted(timed, key=lambda row: (looks[row].drive_id, looks[row].seconds))
    crowd = np.ones(len(looks))
    for rows in (order, order[::-1]):
        sum_before, drive, at_s = 0.0, "", 0.0
        for row in rows:
            look = looks[row]
            fade = math.exp(-abs(look.seconds - at_s) / WANDER_S) if look.drive_id == drive else 0.0
            sum_before = (1.0 + sum_before) * fade
            crowd[row] += sum_before
            drive, at_s = look.drive_id, look.seconds
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


def _told_by(groups: Sequence[Group]) -> dict[str, Counter[str]]:
    """For each person how many things told his lateness, in all and by what."""
    found: dict[str, Counter[str]] = {}
    for looks in map(_tells, groups):
        mine: dict[str, set[int]] = {}
        still = {"on foot" if one.is_mark else "in a file" for one in looks if not _tapped(one)}
        for look in looks:
            if _tapped(look):
                mine.setdefault(look.person, set()).add(-look.travel)
        back = set().union(*mine.values())
        for person, against in mine.items():
            ways = still | ({"the other way"} if any(-way in back for way in against) else set())
            ways = ways or ({"the same way"} if len(looks) > 1 else set())
            found.setdefault(person, Counter()).update({*ways, "things"} if ways else ())
    return found


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
        + (_told_words(told_by) if told else _settling_words(marked, told_by)),
    )


def _told_words(told_by: Counter[str]) -> str:
    """What a lateness rests on."""
    ways = [f"{told_by[way]} {words}" for way, words in _WAYS.items() if told_by[way]]
    return f"told by {told_by['things']} things, of them {', '.join(ways)}"


def _settling_words(marked: Sequence[Look], told_by: Counter[str]) -> str:
    """Which drive would settle a lateness: on the leg where most was marked."""
    leg = Counter(look.leg for look in marked).most_common(1)[0][0]
    ways = {look.travel for look in marked if look.leg == leg}
    both = f"mark the same things on leg {leg} from both directions"
    one = f"drive leg {leg} once the other way and mark the same things"
    why = "what tells it is too little" if told_by else "nothing tells it, the usual is taken"
    if told_by["the other way"] and len(ways) == 1:
        why = "told only in sum with those who drove the other way"
    why += f" (things: {told_by['things']})" if told_by else ""
    return f"{why}; to settle it, {one if len(ways) == 1 else both}, or walk to one that was marked"
