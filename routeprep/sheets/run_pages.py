"""What stands on the pages of one pass, in the order in which its operator meets it.

In go a pass, its leg and its machine, out come plain dicts that the template draws one by one.
Left and right are the operator's: YOUR LEFT and YOUR RIGHT.
"""

import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from routeprep.deciding import NOT_DECIDED
from routeprep.listing import Row, distance_text
from routeprep.plans import Meeting, Pass, Ramp
from routeprep.planwords import depths_text, hands, lift_text, pass_text, turned, width_text
from routeprep.roadway import Machine
from routeprep.shapes import Leg, Pack
from routeprep.sheets.drum_picture import drum_picture
from routeprep.sheets.leg_pages import is_undecided
from routeprep.stationing import equation_places, number
from routeprep.wording import depth_text, height_text

__all__ = ["in_order", "pass_page", "station_of"]

Floats = npt.NDArray[np.float64]

# A depth that changes by less than this stays the same [m]; a change within the second value along
# is a jump [m].
_SAME_M, _JUMP_M = 0.0005, 0.0015
# A ramp belongs to a pass of its strip that is this near to it [m].
_RAMP_NEAR_M = 0.1
_STEP = {"ft": 5.0, "m": 1.0}
_BEFORE = {"past": "before", "before": "past"}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Place:
    """Something at a place of the pass; ``rank`` orders what is met at one place [m]."""

    along_m: float
    rank: int
    item: dict[str, object]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Run:
    """One pass with all that its pages need."""

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
        """Whether a place lies on the pass [m]."""
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


def in_order(pack: Pack) -> list[Pass]:
    """The passes of a plan in the order of work: leg after leg, each in its own order."""
    codes = [leg.settings.code for leg in pack.legs]
    return sorted(pack.plan.passes, key=lambda one: (codes.index(one.leg), one.order))


# ---- Bands -----------------------------------------------------------------------------------


def _room_text(length_m: float, *, units: str) -> str:
    return "not given" if math.isnan(length_m) else distance_text(length_m, units=units, step=1)


def _ends(run: _Run) -> Iterator[_Place]:
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
        yield _Place(along_m=along_m, rank=rank, item=item)


def _ramps(run: _Run) -> Iterator[_Place]:
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
        yield _Place(along_m=ramp.along_m, rank=5 if at_end else 2, item=item)


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


def _change_text(run: _Run, first: int, last: int) -> str:
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


def _depths(run: _Run) -> Iterator[_Place]:
    for first, last in _stretches(run.one):
        text = _change_text(run, first, last)
        begin = turned(run.one, first, last)[0]
        item: dict[str, object] = {"type": "band", "text": text, "under": "", "gap": ""}
        yield _Place(along_m=float(run.one.along_m[begin]), rank=2, item=item)


def _landmarks(run: _Run) -> Iterator[_Place]:
    sides = {"L": "YOUR LEFT", "R": "YOUR RIGHT"}
    if run.one.travel < 0:
        sides = {"L": "YOUR RIGHT", "R": "YOUR LEFT"}
    for mark in run.leg.landmarks:
        if run.within(mark.along_m):
            step = _STEP[run.leg.stationing.unit.family]
            station = number(run.leg.stationing, mark.along_m, step=step)
            side = f", on {sides[mark.side]}" if mark.side else ""
            item: dict[str, object] = {"type": "landmark", "text": f"{station} {mark.name}{side}"}
            yield _Place(along_m=mark.along_m, rank=0, item=item)


def _equations(run: _Run) -> Iterator[_Place]:
    for along_m, text in equation_places(run.leg.stationing):
        if run.within(along_m):
            item: dict[str, object] = {"type": "landmark", "text": f"STATION EQUATION {text}"}
            yield _Place(along_m=along_m, rank=0, item=item)


# ---- Things ----------------------------------------------------------------------------------


def _lifts(run: _Run) -> dict[str, list[tuple[Meeting, Row]]]:
    """Things that share a lift, by the first of them; none that are lifted over alone."""
    groups: dict[str, list[tuple[Meeting, Row]]] = {}
    for met, row in run.met:
        groups.setdefault(met.joined or met.anchor_id, []).append((met, row))
    return {first: group for first, group in groups.items() if len(group) > 1}


def _nos(group: Sequence[tuple[Meeting, Row]]) -> str:
    return ", ".join(str(row["no"]) for _, row in group)


def _one_lifts(run: _Run, lifts: Mapping[str, Sequence[tuple[Meeting, Row]]]) -> Iterator[_Place]:
    for group in lifts.values():
        said = lift_text(group, run.leg, travel=run.one.travel, units=run.units)
        text = f"ONE LIFT for {_nos(group)}: {said}. Ground between: the small machine."
        first_m = min((met.along_m for met, _ in group), key=lambda at_m: run.one.travel * at_m)
        yield _Place(along_m=first_m, rank=3, item={"type": "lift", "text": text})


def _under_station(row: Row, run: _Run) -> list[str]:
    """Past or before which landmark, from where to where, from which zero; all as it is met."""
    landmark, ends = str(row["landmark_text"]), str(row["ends_text"])
    if run.one.travel < 0:
        parts = landmark.split(" ", 3)
        if len(parts) > 3 and parts[2] in _BEFORE:  # noqa: PLR2004 - "85 ft past Elm St"
            landmark = " ".join([*parts[:2], _BEFORE[parts[2]], parts[3]])
        ends = " to ".join(reversed(ends.split(" to ")))
    return [text for text in (landmark, ends, str(row["zero_text"])) if text]


def _do(met: Meeting, row: Row) -> str:
    """What to do there; what nobody decided reads STOP, whatever else is said."""
    return NOT_DECIDED if is_undecided(row) else str(met.action).upper()


def _lift(met: Meeting, row: Row, run: _Run, shared: Sequence[tuple[Meeting, Row]]) -> str:
    """Where the drum is out of the road."""
    if shared:
        return f"in ONE LIFT: {_nos(shared)}"
    return lift_text([(met, row)], run.leg, travel=run.one.travel, units=run.units)


def _sub(met: Meeting, row: Row) -> list[str]:
    """What stands under what to do: the proposal, and who."""
    proposed = f"proposed: {row['proposed_text']}" if row["proposed_text"] else ""
    side = "SIDE PLATE / SKI side" if met.touch == "side" and is_undecided(row) else ""
    return [text for text in (side, proposed, str(row["who"])) if text]


def _remarks(row: Row, *, units: str) -> list[str]:
    status = "" if str(row["status"]).startswith("seen") else str(row["status"])
    height = height_text(float(row["height_m"]), str(row["height_by"]), units=units)
    doubt = f"? {row['doubt']}" if row["doubt"] else ""
    texts = (doubt, f"height {height}" if height else "", status, str(row["note"]))
    return [text for text in texts if text]


def _thing(
    met: Meeting, row: Row, run: _Run, shared: Sequence[tuple[Meeting, Row]]
) -> dict[str, object]:
    do = _do(met, row)
    return {
        "type": "thing",
        "no": row["no"],
        "station": row["station_text"],
        "plus_minus": row["plus_minus_text"],
        "under_station": _under_station(row, run),
        "what": row["what_text"],
        "remarks": _remarks(row, units=run.units),
        "drum": drum_picture(met, run.one, row, units=run.units),
        "do": do,
        "lift": _lift(met, row, run, shared),
        "exact": met.exact and not shared,
        "sub": _sub(met, row),
        "boxed": do.startswith(("STOP", NOT_DECIDED)),
        "lifted": bool(shared),
        "struck": bool(row["struck"]),
        "gap": "",
    }


def _things(run: _Run, lifts: Mapping[str, list[tuple[Meeting, Row]]]) -> Iterator[_Place]:
    for met, row in run.met:
        shared = lifts.get(met.joined or met.anchor_id, [])
        yield _Place(along_m=met.along_m, rank=4, item=_thing(met, row, run, shared))


def _spaced(places: Sequence[_Place], *, units: str) -> Iterator[dict[str, object]]:
    """Say in each thing and band how far it is to the next of them."""
    ahead = iter([place for place in places if "gap" in place.item][1:])
    for place in places:
        following = next(ahead, None) if "gap" in place.item else None
        if following is None:
            yield place.item
        else:
            gap = distance_text(abs(following.along_m - place.along_m), units=units)
            yield place.item | {"gap": "beside it" if gap.startswith("0 ") else gap}


def _items(run: _Run) -> list[dict[str, object]]:
    lifts = _lifts(run)
    places = [
        *_ends(run), *_ramps(run), *_depths(run), *_landmarks(run), *_equations(run),
        *_one_lifts(run, lifts), *_things(run, lifts),
    ]  # fmt: skip
    way = run.one.travel
    ordered = sorted(places, key=lambda place: (way * place.along_m, place.rank))
    return list(_spaced(ordered, units=run.units))


# ---- The pages -------------------------------------------------------------------------------


def _widths(one: Pass, *, units: str) -> str:
    wide_m = one.right_m - one.left_m
    least, most = (width_text(float(m), units=units) for m in (wide_m.min(), wide_m.max()))
    return most if least == most else f"{least.split()[0]} to {most}"


def _counts(run: _Run) -> str:
    actions = [_do(met, row) for met, row in run.met]
    undecided = sum(do == NOT_DECIDED for do in actions)
    stops = sum(do.startswith("STOP") for do in actions)
    striped = sum(met.touch == "maybe" for met, _ in run.met)
    return (
        f"{len(actions)} on this pass: {stops} STOP, {undecided} not decided, "
        f"{striped} that may be under the drum (striped)"
    )


def _edges(run: _Run) -> list[dict[str, str]]:
    """YOUR LEFT and YOUR RIGHT: which side of the road, and how deep there."""
    one = run.one
    depths = (depths_text(depth_m, units=run.units) for depth_m in turned(
        one, one.depth_left_m, one.depth_right_m
    ))  # fmt: skip
    names = ("YOUR LEFT", "YOUR RIGHT")
    return [
        {"hand": hand, "side": side, "depth": depth}
        for hand, side, depth in zip(names, hands(one), depths, strict=True)
    ]


def pass_page(one: Pass, pack: Pack, leg: Leg, rows: Mapping[str, Row]) -> dict[str, object]:
    """All that the pages of a pass show.

    Parameters
    ----------
    one
        The pass.
    pack
        The pack it is from.
    leg
        Its leg.
    rows
        The leg's rows of the list, by anchor.
    """
    plan, units = pack.plan, pack.settings.units
    run = _Run(
        one=one,
        leg=leg,
        machine=next((it for it in plan.machines if it.name == one.machine), None),
        met=[(met, rows[met.anchor_id]) for met in plan.meetings if met.pass_code == one.code],
        ramps=[ramp for ramp in plan.ramps if (ramp.leg, ramp.strip) == (one.leg, one.strip)],
        units=units,
    )
    begin, end = (station_of(leg, at_m) for at_m in run.ends_m)
    zero = f" from {leg.stationing.zero}" if leg.stationing.zero else ""
    return {
        "code": leg.settings.code,
        "street": leg.settings.name,
        "title": pass_text(one),
        "machine": one.machine,
        "from_to": f"{begin} → {end}{zero}",
        "direction": "STATIONS COUNT UP" if one.travel > 0 else "STATIONS COUNT DOWN",
        "down": one.travel < 0,
        "against": one.against,
        "width": _widths(one, units=units),
        "edges": _edges(run),
        "flags": list(one.flags),
        "counts": _counts(run),
        "items": _items(run),
    }
