"""Ramps at transverse joints, and what stands in the way at the ends of a cut.

In go the strips of a leg, out come ramps where a cut begins or ends, or where its depth or its
width jumps; and sentences on what lies within the room that truck and machine need beyond an end.
"""

import itertools
import math
import operator
from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from routeprep.plans import Pass, Ramp, Strip
from routeprep.roadway import Haul, Machine
from routeprep.shapes import Leg
from routeprep.spreads import HALF_95
from routeprep.stationing import number
from routeprep.tables import rows_of
from routeprep.units import FACTORS_M, StationUnit

__all__ = ["PUBLISHED_SLOPES", "end_flags", "ramp_flags", "ramps_of"]

Floats = npt.NDArray[np.float64]

# What agencies publish for a temporary ramp, length over depth.  48:1 is Louisiana section 509
# (1 ft a quarter inch); 36:1 an Illinois-type rule (3 ft an inch); 30:1 Caltrans, or flatter, for
# a drop over 0.15 ft; 50:1 to 120:1 others; 1 in 12 stood in Missouri section 622 until it was
# struck in 2003.
PUBLISHED_SLOPES = (
    "agencies publish 30:1 or flatter, 36:1, 48:1, and 50:1 to 120:1; a 1 in 12 was struck in 2003"
)
_FLATTEST, _STEEPEST = 120.0, 30.0

# A jump takes no more than this along, and a smaller face needs no ramp [m].
_STEP_M, _LEAST_M = 0.0015, 0.001
# Two strips meet when one ends this near to where the other begins [m].
_MEET_M = 0.01
# From the middle of a cross street to its curb return, at most [m]; common practice, no source.
_CROSSING_M = 15.0
# What a pass ends at within this of a limit of the cut is said of the limit [m].
_AT_LIMIT_M = 1.0
_TRACK, _TRAFFIC = "RRX", ("SST", "SIG")


@dataclass(frozen=True, slots=True, kw_only=True)
class _End:
    """One end of a strip or of a part of it between two jumps, its edges and depths there [m].

    ``outward`` is +1 where the part ends, -1 where it begins; ``jump`` tells whether its strip
    goes on beyond it.
    """

    strip: Strip
    at: int
    outward: int
    jump: bool

    @property
    def along_m(self) -> float:
        return float(self.strip.along_m[self.at])

    @property
    def left_m(self) -> float:
        return float(self.strip.left_m[self.at])

    @property
    def right_m(self) -> float:
        return float(self.strip.right_m[self.at])

    @property
    def depths_m(self) -> tuple[float, float]:
        return float(self.strip.depth_left_m[self.at]), float(self.strip.depth_right_m[self.at])

    def depth_at(self, offset_m: float) -> float:
        """Depth of the cut at an offset within it [m]."""
        return float(np.interp(offset_m, [self.left_m, self.right_m], self.depths_m))

    def what(self, *, covered: bool) -> str:
        """What makes a face here: a strip goes on beyond all of the width, or does not."""
        if covered:
            return "change of depth"
        if self.jump:
            return "change of width"
        return "end of the cut" if self.outward > 0 else "beginning of the cut"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Joint:
    """A face across the road: where, how deep, and what makes it."""

    strip: str
    along_m: float
    depth_m: float
    what: str


def _along(end: _End) -> float:
    return end.along_m


def _most_m(*depths_m: float) -> float:
    """The greatest depth [m], NaN if one is not known."""
    return float(np.max(depths_m))


def _ends(strip: Strip) -> Iterator[_End]:
    """Where a strip begins and ends, and where it jumps: there one part ends, the next begins."""
    jumps = np.flatnonzero(np.diff(strip.along_m) < _STEP_M).tolist()
    last = len(strip.along_m) - 1
    for at in (0, *(jump + 1 for jump in jumps)):
        yield _End(strip=strip, at=at, outward=-1, jump=at > 0)
    for at in (*jumps, last):
        yield _End(strip=strip, at=at, outward=1, jump=at < last)


def _beside(end: _End, ends: Sequence[_End]) -> list[_End]:
    """Ends of other parts that this one goes on into; ``ends`` stand in order along."""
    low = bisect_left(ends, end.along_m - _MEET_M, key=_along)
    high = bisect_right(ends, end.along_m + _MEET_M, key=_along)
    return [
        one
        for one in ends[low:high]
        if one.outward != end.outward
        and min(one.right_m, end.right_m) - max(one.left_m, end.left_m) > _LEAST_M
    ]


def _step_m(one_m: float, two_m: float) -> float:
    """How much deeper one cut is than another [m]; none where nobody gave either."""
    return 0.0 if math.isnan(one_m) and math.isnan(two_m) else one_m - two_m


def _face(end: _End, ends: Sequence[_End]) -> tuple[float, bool]:
    """How deep the face is at an end [m], and whether something goes on beyond all its width.

    It is as deep as the cut, less what goes on beyond it.
    """
    reached_m, deepest_m = end.left_m, 0.0
    for one in sorted(_beside(end, ends), key=lambda one: one.left_m):
        if one.left_m - reached_m > _LEAST_M:
            break
        shared_m = (max(one.left_m, end.left_m), min(one.right_m, end.right_m))
        # The deeper of two strips that meet has the face.
        deeper_m = [_step_m(end.depth_at(at_m), one.depth_at(at_m)) for at_m in shared_m]
        deepest_m = _most_m(deepest_m, *deeper_m)
        reached_m = max(reached_m, one.right_m)
    covered = end.right_m - reached_m <= _LEAST_M
    return (deepest_m if covered else _most_m(*end.depths_m)), covered


def _faces(strips: Sequence[Strip]) -> Iterator[_Joint]:
    """Faces where parts of strips begin and end; none where one has no width there."""
    ends = sorted(itertools.chain.from_iterable(map(_ends, strips)), key=_along)
    for end in ends:
        if end.right_m - end.left_m > _LEAST_M:
            depth_m, covered = _face(end, ends)
            yield _Joint(
                strip=end.strip.name,
                along_m=end.along_m,
                depth_m=depth_m,
                what=end.what(covered=covered),
            )


def _joints(strips: Sequence[Strip]) -> list[_Joint]:
    """All faces that need a ramp or have no known depth, by strip as given, then along.

    Both faces of one jump are one joint, as deep as the deeper of them.
    """
    place = {strip.name: at for at, strip in enumerate(strips)}
    kept = [one for one in _faces(strips) if not one.depth_m < _LEAST_M]
    made: list[_Joint] = []
    for one in sorted(kept, key=lambda one: (place[one.strip], one.along_m, one.what)):
        before = made[-1] if made else one
        if made and before.strip == one.strip and one.along_m - before.along_m < _STEP_M:
            made[-1] = max(
                before, one, key=lambda joint: (math.isnan(joint.depth_m), joint.depth_m)
            )
        else:
            made.append(one)
    return made


def _depth_text(depth_m: float, unit: StationUnit) -> str:
    """A depth for people: inches or millimetres."""
    one = "in" if unit.family == "ft" else "mm"
    return f"{round(depth_m / float(FACTORS_M[one]), 2):g} {one}"


def _station(leg: Leg, along_m: float) -> str:
    return number(leg.stationing, along_m, step=0, decimals=0)


def ramps_of(strips: Sequence[Strip], leg: Leg, haul: Haul) -> tuple[Ramp, ...]:
    """Ramps at the transverse joints of a leg; none without a slope, or where no depth is known.

    The length is depth times slope.  Where two strips meet, the ramp is as deep as the step
    between them.

    Parameters
    ----------
    strips
        Of this leg.
    leg
        The leg.
    haul
        For the slope of ramps.
    """
    if math.isnan(haul.ramp_slope):
        return ()
    unit = leg.settings.unit
    made = []
    for one in _joints(strips):
        if math.isnan(one.depth_m):
            continue
        length_m = one.depth_m * haul.ramp_slope
        text = (
            f"RAMP at {_station(leg, one.along_m)}, {one.what}: "
            f"{_depth_text(one.depth_m, unit)} deep, {unit.length_text(length_m, decimals=2)} "
            f"long ({haul.ramp_slope:g}:1)"
        )
        made.append(
            Ramp(
                leg=leg.settings.code,
                strip=one.strip,
                along_m=one.along_m,
                depth_m=one.depth_m,
                length_m=length_m,
                text=text,
            )
        )
    return tuple(made)


def ramp_flags(strips: Sequence[Strip], leg: Leg, haul: Haul) -> tuple[str, ...]:
    """Say what a person must know of the ramps of a leg: no slope, an odd one, a depth unknown.

    Parameters
    ----------
    strips, leg, haul
        As for ``ramps_of``.
    """
    where, slope, joints = f"leg {leg.settings.code}", haul.ramp_slope, _joints(strips)
    flags = []
    if joints and math.isnan(slope):
        flags.append(
            f"{where}: {len(joints)} transverse joints and no ramp_slope: no ramp is reckoned; "
            f"take it from the agency ({PUBLISHED_SLOPES})"
        )
    elif joints and not _STEEPEST <= slope <= _FLATTEST:
        odd = "steeper" if slope < _STEEPEST else "flatter"
        flags.append(f"{where}: ramps of {slope:g}:1 are {odd} than published: {PUBLISHED_SLOPES}")
    unknown = sorted({one.strip for one in joints if math.isnan(one.depth_m)})
    flags += [f"{where}, {name}: no ramp is reckoned, its depth is not given" for name in unknown]
    return tuple(flags)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Limit:
    """One end of the cut or of a pass, the way out of it, and the room needed beyond it [m]."""

    leg: Leg
    what: str
    along_m: float
    outward: int
    room_m: float

    def beyond_m(self, along_m: float) -> float:
        """How far beyond this end a place lies, negative within the cut [m]."""
        return self.outward * (along_m - self.along_m)

    def meets(self, from_m: float, to_m: float) -> bool:
        """Whether a stretch lies at this end or within the room [m]."""
        near_m, far_m = sorted((self.beyond_m(from_m), self.beyond_m(to_m)))
        return near_m <= self.room_m and far_m >= -_CROSSING_M

    def says(self, what: str) -> str:
        leg = self.leg
        room = leg.settings.unit.length_text(self.room_m)
        return (
            f"leg {leg.settings.code}: {self.what} at {_station(leg, self.along_m)} {what}; truck "
            f"and machine need {room} beyond it"
        )


def _things(limit: _Limit, obstructions: pd.DataFrame) -> Iterator[str]:
    """Cross streets, signals and tracks at one end."""
    for one in limit.leg.landmarks:
        if limit.meets(one.along_m, one.along_m):
            at = _station(limit.leg, one.along_m)
            yield limit.says(f"lies at {one.name} ({at}): plan for its traffic")
    here = obstructions[
        (obstructions["leg"] == limit.leg.settings.code)
        & obstructions["kind"].isin([_TRACK, *_TRAFFIC])
    ]
    for row in rows_of(here):
        doubt_m = HALF_95 * float(row["along_sd_m"])
        from_m, to_m = float(row["from_m"]) - doubt_m, float(row["to_m"]) + doubt_m
        if not limit.meets(from_m, to_m):
            continue
        at = _station(limit.leg, float(row["along_m"]))
        if row["kind"] == _TRACK:
            yield limit.says(
                f"lies at a track, {row['name']} ({at}): no truck or machine stands on it, and its "
                "owner is asked first"
            )
        elif not _named(limit.leg, from_m, to_m):
            yield limit.says(f"lies at a {row['name']} ({at}): plan for its traffic")


def _named(leg: Leg, from_m: float, to_m: float) -> bool:
    """Whether a landmark lies where a street or a signal may be [m]: then that names it."""
    return any(from_m - _CROSSING_M <= one.along_m <= to_m + _CROSSING_M for one in leg.landmarks)


def _line_end(limit: _Limit) -> Iterator[str]:
    """The end of the leg's line within the room."""
    line_m = limit.leg.line.length_m if limit.outward > 0 else 0.0
    rest_m = limit.beyond_m(line_m)
    if rest_m < limit.room_m:
        rest = limit.leg.settings.unit.length_text(max(rest_m, 0.0) + 0.0)
        yield limit.says(
            f"has {rest} of road beyond it on the line: whether the road goes on, or is a dead "
            "end, is not known; look"
        )


def _limits(leg: Leg, machines: Sequence[Machine], passes: Sequence[Pass]) -> Iterator[_Limit]:
    """Both ends of the cut; then the ends of passes that lie elsewhere, one for each place."""

    def room_m(some: Sequence[Machine]) -> float:
        rooms_m = [room_m for one in some for room_m in (one.ahead_m, one.behind_m)]
        return max((room_m for room_m in rooms_m if not math.isnan(room_m)), default=0.0)

    ends = {"the beginning of the cut": (leg.from_m, -1), "the end of the cut": (leg.to_m, 1)}
    for what, (along_m, outward) in ends.items():
        yield _Limit(leg=leg, what=what, along_m=along_m, outward=outward, room_m=room_m(machines))
    found: dict[tuple[float, int, int], list[Pass]] = {}
    for one in passes:
        for along_m, outward in ((float(one.along_m[0]), -1), (float(one.along_m[-1]), 1)):
            if min(abs(along_m - leg.from_m), abs(along_m - leg.to_m)) > _AT_LIMIT_M:
                found.setdefault((round(along_m, 1), outward, one.travel), []).append(one)
    for (along_m, outward, travel), some in sorted(found.items(), key=operator.itemgetter(0)):
        word = "end" if outward == travel else "beginning"
        names = {one.machine for one in some}
        yield _Limit(
            leg=leg,
            what=f"the {word} of {' and '.join(one.code for one in some)}",
            along_m=along_m,
            outward=outward,
            room_m=room_m([one for one in machines if one.name in names]),
        )


def end_flags(
    leg: Leg,
    machines: Sequence[Machine],
    obstructions: pd.DataFrame,
    passes: Sequence[Pass] = (),
) -> tuple[str, ...]:
    """Say which ends lie at a cross street, a signal, a track, or where the line ends.

    A pass may end at either end, so that beyond each there must be room for the truck ahead of
    the drum or the machine behind it, whichever is more.

    Parameters
    ----------
    leg
        The leg with its landmarks.
    machines
        For the room that they need.
    obstructions
        Table ``tables.OBSTRUCTIONS``, of any leg.
    passes
        Of this leg: some begin or end within the cut.
    """
    if not machines:
        return ()
    flags = []
    unknown = [one.name for one in machines if math.isnan(one.ahead_m)]
    if unknown:
        flags.append(
            f"leg {leg.settings.code}: the room that the truck needs ahead of the drum is not "
            f"given for {' and '.join(unknown)}; give ahead, and look at both ends of the cut"
        )
    for limit in _limits(leg, machines, passes):
        flags += [*_things(limit, obstructions), *_line_end(limit)]
    return tuple(flags)
