"""Drums side by side over a strip: in goes a strip with machines, out comes where each one runs.

Widths are counted from the inner edge of the strip outward: the edge nearer the line, the left
one of a strip across it.  Each drum runs over the one before by its machine's overlap, from the
inner edge outward; the last one runs along the outer edge, and what is left over becomes more
overlap there.  So both edges are followed where the width changes, and drums between them begin
and end where the width needs them; one that the others make needless is left out.  Common practice,
no source.

For a width W, drum D and overlap O that is 1 + ceil((W - D) / (D - O)) drums (geometry: the first
covers D, each more covers D - O), with 1 mm allowed for rounding.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from routeprep.plans import Strip
from routeprep.roadway import Machine
from routeprep.stretches import Stretches, long_enough, merged, shared, stretches_of

__all__ = ["Bed", "Laid", "Run", "bed_of", "fitting", "lay"]

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

# A width that is this much more than the drums cover needs no drum more [m]; edges step within it.
_STEP_M = 0.001
# A drum is not put down for less than this, nor lifted for less [m].  Common practice, no source.
_LEAST_RUN_M = 10.0
# Shorter stretches between curbs are not worth a run [m].
_NO_RUN_M = 0.01

_ACROSS = ("inner_m", "outer_m", "depth_inner_m", "depth_outer_m", "shoulder_m")


def _between(at_m: Floats, along_m: Floats, values: Floats) -> Floats:
    """Values at places [m]; at a known place its own, though the one beside it be unknown."""
    found = np.interp(at_m, along_m, values)
    known = np.minimum(np.searchsorted(along_m, at_m), len(along_m) - 1)
    return np.where(along_m[known] == at_m, values[known], found)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bed:
    """A strip from its inner edge outward.

    Attributes
    ----------
    side
        +1 right of the line, -1 left, 0 across it.
    along_m
        Places [m].
    inner_m, outer_m
        Distances of the edges from the line there [m].
    depth_inner_m, depth_outer_m
        Depths there [m].
    shoulder_m
        Where the shoulder begins [m]; NaN without one.
    curb_inner, curb_outer
        Whether nothing may run over the edge.
    beyond_inner, beyond_outer
        What lies beyond it.
    """

    side: int
    along_m: Floats
    inner_m: Floats
    outer_m: Floats
    depth_inner_m: Floats
    depth_outer_m: Floats
    shoulder_m: Floats
    curb_inner: bool
    curb_outer: bool
    beyond_inner: str
    beyond_outer: str

    @property
    def between(self) -> bool:
        """Whether it lies between two curbs."""
        return self.curb_inner and self.curb_outer

    @property
    def held(self) -> bool:
        """Whether a drum that is too wide keeps to the outer edge, and hangs over the inner one.

        It hangs over the softer edge: not over a curb, and over what is not known rather less.
        """
        inner, outer = (
            2 if curb else 1 if not beyond else 0
            for curb, beyond in (
                (self.curb_inner, self.beyond_inner),
                (self.curb_outer, self.beyond_outer),
            )
        )
        return outer > inner or self.curb_outer

    def at(self, along_m: Floats) -> "Bed":
        """The same strip with its edges at other places.

        Parameters
        ----------
        along_m
            Rising places within it [m].
        """
        values: dict[str, Any] = {
            name: _between(along_m, self.along_m, getattr(self, name)) for name in _ACROSS
        }
        return replace(self, along_m=along_m, **values)

    def part(self, which: slice) -> "Bed":
        """The same strip at some of its places."""
        names = ("along_m", *_ACROSS)
        values: dict[str, Any] = {name: getattr(self, name)[which] for name in names}
        return replace(self, **values)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Run:
    """One drum from where it is put down to where it is lifted.

    Attributes
    ----------
    number
        Its place from the inner edge outward, from 0.
    machine
        Whose drum it is.
    bed
        The strip along it.
    inner_m, outer_m
        Edges of the drum, distances from the line at the bed's places [m].
    """

    number: int
    machine: Machine
    bed: Bed
    inner_m: Floats
    outer_m: Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Laid:
    """All runs of a strip, by number, then along; and what they leave.

    Attributes
    ----------
    runs
        The runs.
    bed
        The strip at all places where anything changes.
    covered_m
        How far from the inner edge the runs have cut it there [m].
    last
        The number of the run along the outer edge.
    left
        Stretches along in which they leave a part of it [m].
    """

    runs: tuple[Run, ...]
    bed: Bed
    covered_m: Floats
    last: int
    left: tuple[tuple[float, float], ...]


def bed_of(strip: Strip) -> Bed:
    """A strip from its inner edge outward."""
    right, left = strip.left_m.min() >= -_STEP_M, strip.right_m.max() <= _STEP_M
    side = (-1 if strip.traffic < 0 else 1) if right and left else int(right) - int(left)
    edges = [
        (strip.left_m, strip.depth_left_m, strip.curb_left, strip.beyond_left),
        (strip.right_m, strip.depth_right_m, strip.curb_right, strip.beyond_right),
    ]
    inner, outer = edges[::-1] if side < 0 else edges
    sign = -1.0 if side < 0 else 1.0
    shoulder_m = strip.shoulder_m if len(strip.shoulder_m) else np.full(len(strip.along_m), np.nan)
    return Bed(
        side=side,
        along_m=strip.along_m,
        inner_m=sign * inner[0],
        outer_m=sign * outer[0],
        depth_inner_m=inner[1],
        depth_outer_m=outer[1],
        shoulder_m=sign * shoulder_m,
        curb_inner=inner[2],
        curb_outer=outer[2],
        beyond_inner=inner[3],
        beyond_outer=outer[3],
    )


def fitting(bed: Bed, machines: Sequence[Machine]) -> tuple[Machine, ...]:
    """Machines that are used on a strip; if none fits, those with the narrowest drum.

    A drum fits that is no wider than the strip at its widest; between two curbs, where it cannot
    hang over, at its narrowest.

    Parameters
    ----------
    bed
        The strip.
    machines
        In the order in which they run beside each other.
    """
    wide_m = bed.outer_m - bed.inner_m
    room_m = float(wide_m.min() if bed.between else wide_m.max())
    least_m = min(one.drum_m for one in machines)
    room_m = max(room_m, least_m)
    return tuple(one for one in machines if one.drum_m <= room_m + _STEP_M)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Order:
    """Machines in the order of their drums over the widest place, and where each begins [m]."""

    machines: tuple[Machine, ...]
    begins_m: tuple[float, ...]
    held: bool

    @property
    def base(self) -> int:
        """The drum that runs all along."""
        return len(self.machines) - 1 if self.held else 0

    def needed_m(self, number: int) -> float:
        """Above which width a drum is needed [m]; the one that runs all along always is."""
        last = self.machines[-1]
        if number == self.base:
            return -np.inf
        if number == 0:
            return last.drum_m
        before = number - 1 if number < len(self.machines) - 1 else 0
        covered_m = self.begins_m[before] + self.machines[before].drum_m
        between_m = last.drum_m - last.overlap_m if number < len(self.machines) - 1 else 0.0
        return covered_m + between_m

    def inner_m(self, number: int, wide_m: Floats) -> Floats:
        """Where a drum's inner edge runs at these widths [m]."""
        rest_m = wide_m - self.machines[number].drum_m
        if number < len(self.machines) - 1:
            rest_m = np.minimum(self.begins_m[number], rest_m)
        return rest_m if self.held else np.maximum(rest_m, 0.0)

    def kinks_m(self) -> set[float]:
        """Widths at which something changes [m]."""
        drums = [one.drum_m for one in self.machines]
        ends = [begin_m + drum_m for begin_m, drum_m in zip(self.begins_m, drums, strict=True)]
        needed = [self.needed_m(number) for number in range(len(drums)) if number != self.base]
        return {
            *drums,
            *(drum_m - _STEP_M for drum_m in drums),
            *ends,
            *needed,
            *(one_m + _STEP_M for one_m in needed),
        }


def _ordered(widest_m: float, machines: Sequence[Machine], *, held: bool) -> _Order:
    """As many drums as the widest place needs, machine after machine."""
    order, begins_m = [machines[0]], [0.0]
    while begins_m[-1] + order[-1].drum_m < widest_m - _STEP_M:
        machine = machines[len(order) % len(machines)]
        begins_m.append(max(0.0, begins_m[-1] + order[-1].drum_m - machine.overlap_m))
        order.append(machine)
    return _Order(machines=tuple(order), begins_m=tuple(begins_m), held=held)


def _crossed(along_m: Floats, wide_m: Floats, levels_m: Iterable[float]) -> Floats:
    """The places, and those between them at which the width passes a level [m]."""
    found = [along_m]
    for level_m in levels_m:
        over_m = wide_m - level_m
        at = np.flatnonzero(over_m[:-1] * over_m[1:] < 0)
        share = over_m[at] / (over_m[at] - over_m[at + 1])
        found.append(along_m[at] + share * (along_m[at + 1] - along_m[at]))
    return np.unique(np.concatenate(found))


def _needed(bed: Bed, wide_m: Floats, over_m: float) -> Stretches:
    """Stretches wider than so much [m], but for those that are so by no more than rounding."""
    at = np.searchsorted(bed.along_m, stretches_of(bed.along_m, wide_m > over_m)).reshape(-1, 2)
    return [
        (float(bed.along_m[low]), float(bed.along_m[high]))
        for low, high in at.tolist()
        if wide_m[low:high].max() > over_m + _STEP_M
    ]


def _where(order: _Order, number: int, bed: Bed) -> Stretches:
    """Stretches in which a drum runs [m]."""
    wide_m = bed.outer_m - bed.inner_m
    wide_m = (wide_m[:-1] + wide_m[1:]) / 2
    first_m, last_m = float(bed.along_m[0]), float(bed.along_m[-1])
    needed = _needed(bed, wide_m, order.needed_m(number))
    fits = stretches_of(bed.along_m, wide_m > order.machines[number].drum_m - _STEP_M)
    run = long_enough(needed, least_m=_LEAST_RUN_M, within_m=(first_m, last_m))
    if bed.between:
        return [one for one in shared(run, fits) if one[1] - one[0] > _NO_RUN_M]
    # It is put down a step before it is needed, so that it cuts there.
    allowed = merged(sorted(needed + fits), gap_m=0.0)
    stepped = [
        (max(first_m, begin_m - _STEP_M), min(last_m, end_m + _STEP_M))
        for begin_m, end_m in shared(run, allowed)
    ]
    return merged(stepped, gap_m=0.0)


def _down(along_m: Floats, stretches: Stretches, *, ends: tuple[float, float]) -> Bools:
    """Where a drum cuts: in its stretches, but not just where it is put down and lifted."""
    down = np.zeros(len(along_m), dtype=np.bool_)
    for begin_m, end_m in _inside(stretches, ends):
        low, high = np.searchsorted(along_m, [begin_m, end_m])
        down[low : high + 1] = True
    return down


def _inside(stretches: Stretches, ends: tuple[float, float]) -> Stretches:
    """Stretches without the step at which a drum is put down or lifted within the strip [m]."""
    return [
        (
            begin_m if begin_m <= ends[0] else begin_m + _STEP_M,
            end_m if end_m >= ends[1] else end_m - _STEP_M,
        )
        for begin_m, end_m in stretches
    ]


def lay(bed: Bed, machines: Sequence[Machine]) -> Laid:
    """Lay drums over a strip, machine after machine from its inner edge outward.

    Between two curbs nothing runs where the drum does not fit, and that is left.

    Parameters
    ----------
    bed
        The strip.
    machines
        In the order in which they run beside each other; one or more, each with an overlap that
        is less than its drum.
    """
    wide_m = bed.outer_m - bed.inner_m
    order = _ordered(float(wide_m.max()), fitting(bed, machines), held=bed.held)
    numbers = range(len(order.machines))
    bed = bed.at(_crossed(bed.along_m, wide_m, order.kinks_m()))
    ends = (float(bed.along_m[0]), float(bed.along_m[-1]))
    stretches = [_where(order, number, bed) for number in numbers]
    places = [place for some in stretches for one in (some, _inside(some, ends)) for place in one]
    bed = bed.at(np.unique(np.r_[bed.along_m, np.ravel(places)]))
    wide_m = bed.outer_m - bed.inner_m
    covered_m = np.zeros(len(wide_m))
    runs = []
    for number in numbers:
        machine = order.machines[number]
        inner_m = order.inner_m(number, wide_m)
        reach_m = np.maximum(covered_m, np.minimum(inner_m + machine.drum_m, wide_m))
        down = _down(bed.along_m, stretches[number], ends=ends)
        for begin_m, end_m in stretches[number]:
            low, high = np.searchsorted(bed.along_m, [begin_m, end_m])
            cut = slice(low, high + 1)
            runs.append(
                Run(
                    number=number,
                    machine=machine,
                    bed=bed.part(cut),
                    inner_m=(bed.inner_m + inner_m)[cut],
                    outer_m=(bed.inner_m + inner_m)[cut] + machine.drum_m,
                )
            )
        covered_m = np.where(down, reach_m, covered_m)
    left_m = wide_m - covered_m
    left = stretches_of(bed.along_m, (left_m[:-1] + left_m[1:]) / 2 > _STEP_M)
    return Laid(runs=tuple(runs), bed=bed, covered_m=covered_m, last=numbers[-1], left=tuple(left))
