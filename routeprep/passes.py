"""Passes over strips: in go the strips of a leg and the machines, out come runs to be made.

Where each drum runs is laid out in ``drums``; here each gets its code, its place in the order of
work, its direction, its name, and what a person must know before it is run.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from routeprep.drums import Laid, Run, bed_of, fitting, lay
from routeprep.errors import JobError
from routeprep.plans import Pass, Strip
from routeprep.roadway import Machine
from routeprep.shapes import Leg
from routeprep.stationing import number
from routeprep.units import StationUnit

__all__ = ["pass_flags", "passes_of", "uncut_of"]

Floats = npt.NDArray[np.float64]

# Less than this outside the strip is not worth saying [m].
_HANGS_M = 0.001
# A pass is a shoulder's when more than this share of its drum runs on it.
_SHOULDER_SHARE = 0.5

_LETTERS = {1: "R", -1: "L", 0: "M"}
_HANDS = {1: "right", -1: "left"}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Work:
    """One strip with its runs, and the way they are run."""

    strip: Strip
    laid: Laid
    traffic: int
    travel: int

    def runs(self) -> list[Run]:
        """The runs in the order of work: from the line outward, each as it is met."""
        return sorted(
            self.laid.runs, key=lambda run: (run.number, self.travel * run.bed.along_m[0])
        )


def _work(strip: Strip, machines: Sequence[Machine]) -> _Work:
    bed = bed_of(strip)
    traffic = strip.traffic or bed.side
    return _Work(
        strip=strip,
        laid=lay(bed, machines),
        traffic=traffic,
        travel=strip.travel or traffic or 1,
    )


def _in_order(works: Sequence[_Work]) -> list[_Work]:
    """Right of the line, left of it, across it; then as met; then from the line outward."""

    def key(work: _Work) -> tuple[int, float, float]:
        bed = work.laid.bed
        met_m = bed.along_m[0] if work.travel > 0 else -bed.along_m[-1]
        return (1, -1, 0).index(bed.side), float(met_m), float(bed.inner_m[0])

    return sorted(works, key=key)


def _checked(leg: Leg, machines: Sequence[Machine]) -> None:
    """Refuse a machine whose passes would never get across a strip.

    Raises
    ------
    JobError
        Naming the machine, its drum and its overlap.
    """
    for one in machines:
        if not one.drum_m > one.overlap_m >= 0:
            unit = leg.settings.unit
            msg = (
                f"machine {one.name!r}: its drum is {unit.length_text(one.drum_m, decimals=2)} "
                f"wide and its overlap {unit.length_text(one.overlap_m, decimals=2)}; expected an "
                "overlap of 0 or more that is less than the drum"
            )
            raise JobError(msg, machine=one.name)


def _on_shoulder(runs: Sequence[Run]) -> bool:
    """Whether runs of one number have most of their drum on the shoulder."""
    on_m2 = all_m2 = 0.0
    for run in runs:
        begins_m = np.fmax(run.bed.shoulder_m, run.inner_m)
        wide_m = np.nan_to_num(np.maximum(run.outer_m - begins_m, 0.0))
        wide_m[np.isnan(run.bed.shoulder_m)] = 0.0
        on_m2 += float(np.trapezoid(wide_m, run.bed.along_m))
        all_m2 += float(np.trapezoid(run.outer_m - run.inner_m, run.bed.along_m))
    return on_m2 > _SHOULDER_SHARE * all_m2


def _halves(laid: Laid) -> Mapping[int, str]:
    """What each run's number is called."""
    by_number: dict[int, list[Run]] = {}
    for run in laid.runs:
        by_number.setdefault(run.number, []).append(run)
    shoulder = [at for at, runs in by_number.items() if _on_shoulder(runs)]
    lanes = sorted(set(by_number) - set(shoulder))
    said = dict.fromkeys(shoulder, "shoulder") | dict.fromkeys(lanes, "middle")
    if lanes and laid.bed.side:
        said |= {lanes[0]: "inside half", lanes[-1]: "outside half"}
    return said | ({lanes[0]: "whole width"} if len(lanes) == 1 else {})


def _depth(run: Run, edge_m: Floats) -> Floats:
    """Depth of the cut at an edge of the drum [m]; outside the strip that at the strip's edge."""
    bed = run.bed
    wide_m = bed.outer_m - bed.inner_m
    within_m = np.clip(edge_m - bed.inner_m, 0.0, wide_m)
    share = within_m / np.where(wide_m > 0, wide_m, 1.0)
    return bed.depth_inner_m + share * (bed.depth_outer_m - bed.depth_inner_m)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Words:
    """What must be said of one run."""

    leg: Leg
    run: Run
    work: _Work
    machines: tuple[Machine, ...]

    def length(self, length_m: float) -> str:
        """A length [m] for people."""
        return self.leg.settings.unit.length_text(length_m, decimals=2)

    def station(self, along_m: float) -> str:
        """The station at a place along [m]."""
        return _station(self.leg, along_m)

    def hangs(self) -> Iterator[str]:
        """A drum wider than the strip, and where the rest of it goes."""
        run, bed = self.run, self.run.bed
        for over_m, what in (
            (bed.inner_m - run.inner_m, _over(bed.beyond_inner)),
            (run.outer_m - bed.outer_m, _over(bed.beyond_outer)),
        ):
            at = int(np.argmax(over_m))
            if over_m[at] > _HANGS_M:
                wide_m = float(bed.outer_m[at] - bed.inner_m[at])
                yield (
                    f"the drum is {self.length(run.machine.drum_m)} wide and the strip "
                    f"{self.length(wide_m)} at {self.station(float(bed.along_m[at]))}: up to "
                    f"{self.length(float(over_m[at]))} of it runs {what}"
                )

    def curbs(self) -> list[int]:
        """On which hands of the operator a curb runs along the drum: +1 right, -1 left."""
        bed = self.run.bed
        outward = (bed.side or 1) * self.work.travel
        inner = bed.curb_inner and self.run.number == 0
        outer = bed.curb_outer and self.run.number == self.work.laid.last
        return [-outward] * inner + [outward] * outer

    def flush(self) -> Iterator[str]:
        """A curb on a side on which the drum is not flush."""
        flush, curbs = self.run.machine.flush_side, self.curbs()
        for hand in curbs:
            side = _HANDS[hand]
            if flush in {"", side}:
                continue
            others = [
                one.name
                for one in self.machines
                if one.flush_side in {"", side} and one is not self.run.machine
            ]
            if len(curbs) > 1:
                way = "run the other way round, the other curb would be on it: leave that edge"
            elif self.against():
                way = "it is flush to the curb only when run with the traffic"
            elif self.work.traffic:
                way = "it is flush to the curb only when run against the traffic"
            else:
                way = "it is flush to the curb only when run the other way"
            instead = f", or take {' or '.join(others)}" if others else ""
            yield (
                f"the curb is on the operator's {side} and the drum is flush on its {flush}: "
                f"{way}{instead}; else what it leaves along the curb is hand work"
            )

    def against(self) -> bool:
        return self.work.travel == -self.work.traffic

    def way(self) -> Iterator[str]:
        """A strip with traffic of both directions beside it."""
        if not self.work.traffic and not self.work.strip.travel:
            yield "traffic may run either way beside it: up-station is taken; say which with run"

    def all(self) -> tuple[str, ...]:
        return (*self.hangs(), *self.flush(), *self.way())


def _over(beyond: str) -> str:
    """Where a drum runs that is wider than the strip."""
    if beyond == "line":
        return "over the line into the next lane"
    if beyond:
        return f"onto the {beyond}"
    return "over the edge, and what lies there is not given: look before it is run"


def _station(leg: Leg, along_m: float) -> str:
    return number(leg.stationing, along_m, step=0, decimals=0)


def _pass(words: _Words, half: str, *, code: str, order: int) -> Pass:
    """One run as a pass, its edges left and right looking up-station."""
    run, work = words.run, words.work
    pairs = [
        (run.inner_m, run.outer_m),
        (_depth(run, run.inner_m), _depth(run, run.outer_m)),
    ]
    sign = 1.0
    if run.bed.side < 0:
        sign, pairs = -1.0, [(outer, inner) for inner, outer in pairs]
    drum, depth = pairs
    return Pass(
        code=code,
        order=order,
        leg=work.strip.leg,
        strip=work.strip.name,
        machine=run.machine.name,
        half=half,
        travel=work.travel,
        against=words.against(),
        along_m=run.bed.along_m,
        # No minus before a zero: it is printed.
        left_m=sign * drum[0] + 0.0,
        right_m=sign * drum[1] + 0.0,
        depth_left_m=depth[0],
        depth_right_m=depth[1],
        flags=words.all(),
    )


def passes_of(strips: Sequence[Strip], leg: Leg, machines: Sequence[Machine]) -> tuple[Pass, ...]:
    """Passes over the strips of a leg, in the order of work; none without a machine.

    Strips are worked right of the line, left of it, then across it, each from the line outward;
    machine after machine takes the next pass beside.  Passes run with the traffic, which keeps
    right, unless the strip says otherwise.  That each begins at the line is in one published
    specification (a state's section 404: start at the centreline); the rest is common practice,
    no source, and ``pass_flags`` says so.

    Parameters
    ----------
    strips
        Of this leg.
    leg
        The leg.
    machines
        In the order in which they run beside each other.
    """
    _checked(leg, machines)
    if not machines:
        return ()
    made: list[Pass] = []
    counts = dict.fromkeys(_LETTERS.values(), 0)
    for work in _in_order([_work(strip, machines) for strip in strips]):
        halves = _halves(work.laid)
        letter = _LETTERS[work.laid.bed.side]
        for run in work.runs():
            counts[letter] += 1
            words = _Words(leg=leg, run=run, work=work, machines=tuple(machines))
            code = f"{leg.settings.code} {letter}{counts[letter]}"
            made.append(_pass(words, halves[run.number], code=code, order=len(made) + 1))
    return tuple(made)


def uncut_of(strips: Sequence[Strip], leg: Leg, machines: Sequence[Machine]) -> tuple[Strip, ...]:
    """Find the ground of the strips that no pass cuts, as strips: between curbs no drum fits.

    All of every strip without a machine.

    Parameters
    ----------
    strips, leg, machines
        As for ``passes_of``.
    """
    _checked(leg, machines)
    if not machines:
        return tuple(strips)
    return tuple(left for strip in strips for left in _left(strip, lay(bed_of(strip), machines)))


def _left(strip: Strip, laid: Laid) -> Iterator[Strip]:
    """What the runs of one strip leave."""
    for begin_m, end_m in laid.left:
        low, high = np.searchsorted(laid.bed.along_m, [begin_m, end_m])
        at = slice(low, high + 1)
        bed = laid.bed
        edge_m = (bed.inner_m + laid.covered_m)[at]
        outer_m, along_m = bed.outer_m[at], bed.along_m[at]
        sides = (edge_m, outer_m) if bed.side >= 0 else (-outer_m, -edge_m)
        whole = bed.part(at)
        depths = (whole.depth_inner_m, whole.depth_outer_m)
        yield replace(
            strip,
            along_m=along_m,
            left_m=sides[0] + 0.0,
            right_m=sides[1] + 0.0,
            depth_left_m=depths[0 if bed.side >= 0 else 1],
            depth_right_m=depths[1 if bed.side >= 0 else 0],
            shoulder_m=(-1.0 if bed.side < 0 else 1.0) * whole.shoulder_m,
        )


def _too_wide(strip: Strip, machines: Sequence[Machine], unit: StationUnit) -> Iterator[str]:
    """Machines that get no pass on a strip since their drum is wider than it."""
    bed = bed_of(strip)
    used, wide_m = fitting(bed, machines), strip.right_m - strip.left_m
    room_m = float(wide_m.min() if bed.between else wide_m.max())
    where = "at its narrowest, between curbs" if bed.between else "at its widest"
    for one in machines:
        if one not in used:
            yield (
                f"machine {one.name} has no pass on it: its drum is "
                f"{unit.length_text(one.drum_m, decimals=2)} wide and the strip "
                f"{unit.length_text(room_m, decimals=2)} {where}"
            )


def pass_flags(strips: Sequence[Strip], leg: Leg, machines: Sequence[Machine]) -> tuple[str, ...]:
    """Say what a person must know of the passes of a leg as a whole.

    Parameters
    ----------
    strips, leg, machines
        As for ``passes_of``.
    """
    where = f"leg {leg.settings.code}"
    if not machines:
        return (f"{where}: no machine is given, so there are no passes; give [[machine]]",)
    order = (
        f"{where}: passes are in order from the line outward, right of it first; that is common "
        "practice, and the crew may change it"
    )
    flags = [order]
    flags += [
        f"{where}: passes of machine {one.name} do not run over each other: its overlap is 0 or "
        "not given"
        for one in machines
        if not one.overlap_m
    ]
    for strip in strips:
        flags += [
            f"{where}, {strip.name}: {text}"
            for text in _too_wide(strip, machines, leg.settings.unit)
        ]
    for left in uncut_of(strips, leg, machines):
        begin, end = (_station(leg, float(left.along_m[at])) for at in (0, -1))
        wide_m = float((left.right_m - left.left_m).max())
        narrow = leg.settings.unit.length_text(wide_m, decimals=2)
        flags.append(
            f"{where}, {left.name}: no pass cuts it from {begin} to {end}: at most {narrow} wide "
            "between curbs, no drum fits; a smaller machine or hand work"
        )
    return tuple(flags)
