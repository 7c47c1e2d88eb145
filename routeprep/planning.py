"""The plan of work of a job: in go its legs, its list and its settings, out comes the ``Plan``.

Each part is made in a room of its own; here they are put together, and what a person must read
before the plan is used is said.
"""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from routeprep.deciding import NOT_DECIDED
from routeprep.ground import Ground
from routeprep.handwork import grounds_of, handwork_of
from routeprep.lifting import skip_of
from routeprep.meetings import meetings_of
from routeprep.passes import pass_flags, passes_of
from routeprep.plans import HandWork, Meeting, Pass, Plan, Strip
from routeprep.quantities import quantities_of
from routeprep.ramps import end_flags, ramp_flags, ramps_of
from routeprep.roadway import Haul, Machine
from routeprep.shapes import Leg, Settings
from routeprep.stationing import number
from routeprep.strips import strip_flags, strips_of
from routeprep.tables import rows_of
from routeprep.units import FACTORS_M, LB_KG
from routeprep.whereabouts import size_m, skip_m

__all__ = ["NOT_COUNTED", "plan_of"]

_Row = Mapping[str, Any]

# Said of what nobody can reckon; the hand-work sheet looks for it.
NOT_COUNTED = "no hand work and no quantity counts what is left around them"
_SKIP, _MILL_OVER = "SKIP", "MILL OVER"
# What may leave ground that nobody can reckon.
_OPEN = ("STOP", "GO AROUND")
_CASTINGS = ("iron in the road", "do not cut without the owner")
# What hangs over the road leaves no ground.
_OVERHEAD = "overhead"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _LegPlan:
    """The plan of work of one leg; ``rows`` has its part of the list by anchor, in order."""

    leg: Leg
    rows: Mapping[str, _Row]
    strips: tuple[Strip, ...]
    passes: tuple[Pass, ...]
    meetings: tuple[Meeting, ...]
    grounds: tuple[Ground, ...]
    hand_work: tuple[HandWork, ...]

    @property
    def where(self) -> str:
        """What its sentences begin with."""
        return f"leg {self.leg.settings.code}"

    def named(self, picked: Callable[[_Row], bool]) -> list[str]:
        """Numbers and names of some rows, in the list's order."""
        return [_name(row) for row in self.rows.values() if picked(row)]

    def met(self, *touches: str) -> dict[str, str]:
        """Things of some touches that the passes meet, with the action of the first meeting."""
        made: dict[str, str] = {}
        for one in self.meetings:
            if not touches or one.touch in touches:
                made.setdefault(one.anchor_id, one.action)
        return made


def _name(row: _Row) -> str:
    return f"{row['no']} {row['name']}".strip()


def _gone(row: _Row) -> bool:
    return str(row["status"]).startswith("gone")


def _leg_plan(leg: Leg, obstructions: pd.DataFrame, settings: Settings) -> _LegPlan:
    mine = obstructions[obstructions["leg"] == leg.settings.code]
    strips = strips_of(leg)
    passes = passes_of(strips, leg, settings.machines)
    meetings = meetings_of(
        passes,
        mine,
        leg,
        kinds=settings.kinds,
        defaults=settings.defaults,
        machines=settings.machines,
    )
    grounds = grounds_of(strips, passes, meetings, mine, leg)
    return _LegPlan(
        leg=leg,
        rows={str(row["anchor_id"]): row for row in rows_of(mine)},
        strips=strips,
        passes=passes,
        meetings=meetings,
        grounds=grounds,
        hand_work=handwork_of(meetings, passes, grounds, mine, leg),
    )


def _outside(made: _LegPlan) -> Iterator[str]:
    """Things that lie outside every pass, each by name and place."""
    met, unit = made.met(), made.leg.settings.unit
    places = [
        f"{_name(row)} at {number(made.leg.stationing, row['along_m'], step=0, decimals=0)}, "
        f"{unit.length_text(abs(row['offset_m']), decimals=0)} "
        f"{'right' if row['offset_m'] > 0 else 'left'}"
        for anchor_id, row in made.rows.items()
        if anchor_id not in met and not _gone(row)
    ]
    if places:
        yield (
            f"{made.where}: {len(places)} of {len(made.rows)} things lie outside every pass: "
            f"{'; '.join(places)}"
        )


def _undecided(made: _LegPlan) -> Iterator[str]:
    """Things without a decision, and those that may not be milled over."""
    met = made.met()
    names = made.named(lambda row: row["anchor_id"] in met and not row["decided_by"])
    if names:
        yield (
            f"{made.where}: {len(names)} of {len(met)} things that the passes meet read "
            f"{NOT_DECIDED}, and {NOT_COUNTED}: {', '.join(names)}"
        )
    for anchor_id, action in met.items():
        row = made.rows[anchor_id]
        if action == NOT_DECIDED and row["decided_by"]:
            yield (
                f"{made.where}, {_name(row)}: {row['action']} was decided, but its status is "
                f"{row['status']!r}: it reads STOP until it is measured deeper than the deepest "
                "cut there"
            )


def _open(made: _LegPlan, settings: Settings) -> Iterator[str]:
    """Things around which the machine leaves ground that nobody can reckon.

    What lies across the whole road is under the drum too, such as a track.
    """
    names = [
        f"{_name(row)} ({action})"
        for anchor_id, action in made.met("cut", "maybe", "over").items()
        if (row := made.rows[anchor_id])
        and action.startswith(_OPEN)
        and settings.kinds.kinds[row["kind"]].group != _OVERHEAD
    ]
    if names:
        yield (
            f"{made.where}: {len(names)} things under the drum are decided otherwise than by a "
            f"lift, and {NOT_COUNTED}: {', '.join(names)}"
        )


def _skips(made: _LegPlan) -> Iterator[str]:
    """Stretches to be skipped that are not understood, or are elsewhere than the thing."""
    for row in made.rows.values():
        if not row["decided_by"] or not str(row["action"]).startswith(_SKIP):
            continue
        said = skip_of(str(row["action"]), made.leg)
        if (said.from_m, said.to_m) == skip_m(row, made.leg):
            continue
        at = number(made.leg.stationing, row["along_m"], step=0, decimals=0)
        why = said.why or f"the thing lies at {at}"
        yield (
            f"{made.where}, {_name(row)}: {row['action']!r} is not followed, {why}; the drum is "
            "lifted for the thing alone: decide it again with both stations"
        )


def _sizes(made: _LegPlan, settings: Settings) -> Iterator[str]:
    """Castings of no known size."""
    met = made.met("cut", "maybe", "side")
    names = made.named(
        lambda row: (
            row["anchor_id"] in met
            and not _gone(row)
            and settings.kinds.kinds[row["kind"]].group in _CASTINGS
            and not size_m(str(row["size"]))
        )
    )
    if names:
        yield (
            f"{made.where}: {len(names)} castings have no size and are taken to be 24 in (0.61 m) "
            f"wide: {', '.join(names)}"
        )


def _curbs(made: _LegPlan) -> Iterator[str]:
    """Strips along a curb, in whose corners a drum leaves the radius."""
    names = [one.name for one in made.strips if one.curb_left or one.curb_right]
    if names:
        yield (
            f"{made.where}: {', '.join(names)} run{'s' if len(names) == 1 else ''} along a curb: "
            "what no drum reaches in the radius of a corner is in no area; look, and mark radius "
            "returns"
        )


def _leg_flags(made: _LegPlan, obstructions: pd.DataFrame, settings: Settings) -> Iterator[str]:
    """All that must be read of one leg."""
    leg, strips, machines = made.leg, made.strips, settings.machines
    yield from strip_flags(strips, leg)
    yield from pass_flags(strips, leg, machines)
    yield from (f"{one.code}: {text}" for one in made.passes for text in one.flags)
    yield from end_flags(leg, machines, obstructions, made.passes)
    yield from ramp_flags(strips, leg, settings.haul)
    for said in (_undecided, _skips, _outside, _curbs):
        yield from said(made)
    for asked in (_open, _sizes):
        yield from asked(made, settings)


def _machine_flags(machines: Sequence[Machine]) -> Iterator[str]:
    """What is not known of the machines."""
    for one in machines:
        if math.isnan(one.drum_diameter_m):
            yield (
                f"machine {one.name}: its drum's diameter is not given; nothing is added to the "
                "clearances of its lifts for the length over which the drum is in the road"
            )
        if math.isnan(one.moldboard_m):
            yield (
                f"machine {one.name}: the way from its drum to the moldboard is not given; its "
                "lifts take the clearance of each kind, which includes a usual one"
            )


def _haul_flags(haul: Haul) -> Iterator[str]:
    """What is not known of asphalt and trucks."""
    usual = Haul()
    for name, value, known in (
        ("in the road", haul.density_kgpm3, usual.density_kgpm3),
        ("in the truck", haul.loose_kgpm3, usual.loose_kgpm3),
    ):
        if value == known:
            per_ft3 = value * float(FACTORS_M["ft"] ** 3 / LB_KG)
            yield (
                f"the density {name} is taken as the usual {value:,.0f} kg/m3 "
                f"({per_ft3:.0f} lb/ft3); give it in [haul]"
            )
    if math.isnan(haul.payload_kg):
        yield "what a truck may carry is not given: no loads by weight; give it in [haul]"
    if math.isnan(haul.body_m3):
        yield "what a truck holds is not given: no loads by volume; give it in [haul]"


def plan_of(legs: Sequence[Leg], obstructions: pd.DataFrame, settings: Settings) -> Plan:
    """Make the plan of work: strips, passes, what they meet, ramps, hand work and quantities.

    Parameters
    ----------
    legs
        In the job's order.
    obstructions
        Table ``tables.OBSTRUCTIONS``.
    settings
        The job; without machines the plan is empty.
    """
    if not settings.machines:
        return Plan()
    made = [_leg_plan(leg, obstructions, settings) for leg in legs]
    return Plan(
        machines=settings.machines,
        strips=tuple(one for leg in made for one in leg.strips),
        passes=tuple(one for leg in made for one in leg.passes),
        meetings=tuple(one for leg in made for one in leg.meetings),
        ramps=tuple(one for leg in made for one in ramps_of(leg.strips, leg.leg, settings.haul)),
        hand_work=tuple(one for leg in made for one in leg.hand_work),
        quantities=tuple(
            one for leg in made for one in quantities_of(leg.grounds, leg.leg, settings.haul)
        ),
        flags=(
            *_machine_flags(settings.machines),
            *_haul_flags(settings.haul),
            *(text for leg in made for text in _leg_flags(leg, obstructions, settings)),
        ),
    )
