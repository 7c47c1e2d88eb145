"""What lies along one pass apart from things: where it begins, ends and changes, and landmarks.

In go a pass, its leg and its machine, out come places in the order in which its operator meets
them.  Left and right are the operator's.
"""

import itertools
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from routeprep.listing import Row, distance_text
from routeprep.plans import Meeting, Pass, Ramp
from routeprep.planwords import turned, width_text
from routeprep.roadway import Machine
from routeprep.shapes import Leg
from routeprep.stationing import equation_places, label, number, stations_every
from routeprep.wording import depth_text

__all__ = ["Place", "Run", "fixed_places", "ordered", "station_of"]

Floats = npt.NDArray[np.float64]

# A depth that changes by less than this stays the same [m]; a change within the second value along
# is a jump [m].
_SAME_M, _JUMP_M = 0.0005, 0.0015
# A ramp belongs to a pass of its strip that is this near to it [m].
_RAMP_NEAR_M = 0.1
_STEP = {"ft": 5.0, "m": 1.0}
# A heavy rule at each multiple of this [the length unit of the stationing]: design of the sheet.
_RULE_EVERY = {"ft": 500, "m": 100}
# A rule nearer than this to an end, a landmark or an equation would say the same again [m].
_AT_OTHER_M = 0.3
# More rules in a row than this with nothing between them are drawn as one.
_RULES_SHOWN = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Something at a place of the pass [m]; ``rank`` orders what is met at one place."""

    along_m: float
    rank: int
    item: dict[str, object]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Run:
    """One pass with all that its pages need.

    Attributes
    ----------
    one, leg, machine
        The pass, its leg, and its machine; None where the plan does not say which.
    met
        What it meets, each with its row of the list.
    ramps
        Of its strip.
    units
        "us" or "metric".
    """

    one: Pass
    leg: Leg
    machine: Machine | None
    met: Sequence[tuple[Meeting, Row]]
    ramps: Sequence[Ramp]
    units: str

    @property
    def ends_m(self) -> tuple[float, float]:
        """Where it begins and ends, in the way it is run [m]."""
        first_m, last_m = float(self.one.along_m[0]), float(self.one.along_m[-1])
        return turned(self.one, first_m, last_m)

    def within(self, along_m: float, *, near_m: float = 0.0) -> bool:
        """Whether a place lies on the pass.

        Parameters
        ----------
        along_m
            The place [m].
        near_m
            So far beyond its ends counts too [m].
        """
        low_m, high_m = sorted(self.ends_m)
        return low_m - near_m <= along_m <= high_m + near_m


def station_of(leg: Leg, along_m: float) -> str:
    """A place of the plan, to the whole foot or metre.

    Parameters
    ----------
    leg
        The leg.
    along_m
        The place, along [m].
    """
    return number(leg.stationing, along_m, step=0, decimals=0)


def _room_text(length_m: float, *, units: str) -> str:
    return "not given" if math.isnan(length_m) else distance_text(length_m, units=units, step=1)


def _ends(run: Run) -> Iterator[Place]:
    """Begin and end of the cut, with the room that truck and machine need."""
    machine, (begin_m, end_m) = run.machine, run.ends_m
    ahead_m, behind_m = (machine.ahead_m, machine.behind_m) if machine else (math.nan, math.nan)
    ahead, behind = (_room_text(one_m, units=run.units) for one_m in (ahead_m, behind_m))
    begin = f"CUT BEGINS {station_of(run.leg, begin_m)}"
    end = f"CUT ENDS {station_of(run.leg, end_m)}"
    reach = ""
    if not math.isnan(ahead_m):
        reach = f": the truck stands to {station_of(run.leg, end_m + run.one.travel * ahead_m)}"
    rooms = (
        (begin, begin_m, 1, f"Room ahead of the drum {ahead}, machine behind it {behind}."),
        (end, end_m, 6, f"Room needed ahead of the drum {ahead}{reach}."),
    )
    for text, along_m, rank, under in rooms:
        item: dict[str, object] = {"type": "band", "text": text, "under": under, "gap": ""}
        yield Place(along_m=along_m, rank=rank, item=item)


def _ramps(run: Run) -> Iterator[Place]:
    for ramp in run.ramps:
        if not run.within(ramp.along_m, near_m=_RAMP_NEAR_M):
            continue
        text = (
            f"RAMP {station_of(run.leg, ramp.along_m)}: "
            f"{depth_text(ramp.depth_m, units=run.units)} deep, "
            f"{width_text(ramp.length_m, units=run.units)} long "
            f"({ramp.length_m / ramp.depth_m:.3g}:1)"
        )
        item: dict[str, object] = {"type": "band", "text": text, "under": "", "gap": ""}
        at_end = abs(ramp.along_m - run.ends_m[1]) <= _RAMP_NEAR_M
        yield Place(along_m=ramp.along_m, rank=5 if at_end else 2, item=item)


def _differs(depth_m: Floats) -> npt.NDArray[np.bool_]:
    """Between which neighbours a depth changes, one that is not given being like another such."""
    known = ~np.isnan(depth_m)
    steps = np.abs(np.diff(np.nan_to_num(depth_m)))
    return np.asarray((steps > _SAME_M) | (known[1:] != known[:-1]))


def _stretches(one: Pass) -> Iterator[tuple[int, int]]:
    """First and last index of each stretch over which a depth changes, rising along."""
    changes = _differs(one.depth_left_m) | _differs(one.depth_right_m)
    jumps = np.diff(one.along_m) <= _JUMP_M
    # A jump at the end of a taper is said by itself.
    keys = [(bool(change), bool(jump)) for change, jump in zip(changes, jumps, strict=True)]
    for (change, _), group in itertools.groupby(range(len(keys)), key=lambda at: keys[at]):
        at = list(group)
        if change:
            yield at[0], at[-1] + 1


def _change_text(run: Run, first: int, last: int) -> str:
    """A change of depth as it is met: at which edge, from what to what."""
    one, units = run.one, run.units
    begin, end = turned(one, first, last)

    def edge(depth_m: Floats) -> str:
        ends_m = (float(depth_m[at]) for at in (begin, end))
        was, now = (depth_text(at_m, units=units) or "not given" for at_m in ends_m)
        return f"stays {was}" if was == now else f"{was} → {now}"

    left, right = turned(one, edge(one.depth_left_m), edge(one.depth_right_m))
    said = f"both edges {left}" if left == right else f"YOUR LEFT {left}, YOUR RIGHT {right}"
    if one.along_m[last] - one.along_m[first] <= _JUMP_M:
        return f"DEPTH CHANGES {station_of(run.leg, float(one.along_m[first]))}: {said}"
    from_text, to_text = (station_of(run.leg, float(one.along_m[at])) for at in (begin, end))
    return f"DEPTH CHANGES EVENLY {from_text} to {to_text}: {said}"


def _depths(run: Run) -> Iterator[Place]:
    for first, last in _stretches(run.one):
        text = _change_text(run, first, last)
        begin = turned(run.one, first, last)[0]
        item: dict[str, object] = {"type": "band", "text": text, "under": "", "gap": ""}
        yield Place(along_m=float(run.one.along_m[begin]), rank=2, item=item)


def _landmarks(run: Run) -> Iterator[Place]:
    sides = {"L": "YOUR LEFT", "R": "YOUR RIGHT"}
    if run.one.travel < 0:
        sides = {"L": "YOUR RIGHT", "R": "YOUR LEFT"}
    for mark in run.leg.landmarks:
        if run.within(mark.along_m):
            step = _STEP[run.leg.stationing.unit.family]
            station = number(run.leg.stationing, mark.along_m, step=step)
            side = f", on {sides[mark.side]}" if mark.side else ""
            item: dict[str, object] = {"type": "landmark", "text": f"{station} {mark.name}{side}"}
            yield Place(along_m=mark.along_m, rank=0, item=item)


def _equations(run: Run) -> Iterator[Place]:
    for along_m, text in equation_places(run.leg.stationing):
        if run.within(along_m):
            item: dict[str, object] = {"type": "landmark", "text": f"STATION EQUATION {text}"}
            yield Place(along_m=along_m, rank=0, item=item)


def _rules(run: Run) -> Iterator[Place]:
    """Round stations, but none where an end, a landmark or an equation is."""
    stationing, ends_m = run.leg.stationing, run.ends_m
    others_m = (
        *ends_m,
        *(along_m for along_m, _ in equation_places(stationing)),
        *(mark.along_m for mark in run.leg.landmarks),
    )
    every = _RULE_EVERY[stationing.unit.family]
    for along_m in stations_every(stationing, every, from_m=min(ends_m), to_m=max(ends_m)):
        if min(abs(along_m - other_m) for other_m in others_m) > _AT_OTHER_M:
            text = label(stationing, along_m, step=1, decimals=0)
            yield Place(along_m=along_m, rank=0, item={"type": "rule", "text": text})


def fixed_places(run: Run) -> list[Place]:
    """Ends, ramps, changes of depth, landmarks, equations and round stations of a pass."""
    return [
        *_ends(run), *_ramps(run), *_depths(run), *_landmarks(run), *_equations(run),
        *_rules(run),
    ]  # fmt: skip


def _thinned(places: Sequence[Place]) -> Iterator[Place]:
    """Draw a long row of rules with nothing between them as one."""
    for is_rule, group in itertools.groupby(places, key=lambda place: place.item["type"] == "rule"):
        stretch = list(group)
        if is_rule and len(stretch) > _RULES_SHOWN:
            text = f"{stretch[0].item['text']} to {stretch[-1].item['text']}: nothing on this list"
            yield Place(along_m=stretch[0].along_m, rank=0, item={"type": "rule", "text": text})
        else:
            yield from stretch


def _spaced(places: Sequence[Place], *, units: str) -> Iterator[Place]:
    """Say in each thing and band how far it is to the next of them."""
    ahead = iter([place for place in places if "gap" in place.item][1:])
    for place in places:
        following = next(ahead, None) if "gap" in place.item else None
        if following is None:
            yield place
        else:
            gap = distance_text(abs(following.along_m - place.along_m), units=units)
            gap = "beside it" if gap.startswith("0 ") else gap
            yield replace(place, item=place.item | {"gap": gap})


def ordered(places: Iterable[Place], run: Run) -> list[Place]:
    """Places in the order met, each thing and band with how far it is to the next.

    Parameters
    ----------
    places
        In any order.
    run
        The pass.
    """
    way = run.one.travel
    met = sorted(places, key=lambda place: (way * place.along_m, place.rank))
    return list(_spaced(list(_thinned(met)), units=run.units))
