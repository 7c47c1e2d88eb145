"""What each pass meets: in go passes and the list of a leg, out come meetings as the drum comes.

Whether the drum comes out, and where, is what the row says; where nobody decided it reads STOP.
Iron beside the drum is for the side plate and the ski.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from routeprep.concluding import deep_enough
from routeprep.deciding import NOT_DECIDED
from routeprep.kinds import KindTable
from routeprep.lifting import Lift, contact_m, joined_lifts
from routeprep.plans import Meeting, Pass
from routeprep.roadway import Machine
from routeprep.shapes import Defaults, Leg
from routeprep.touching import Touched, touched_by, where_of
from routeprep.whereabouts import Thing, things_of

__all__ = ["SIDE_PLATE", "meetings_of"]

# What a pass does at iron just outside its drum.
SIDE_PLATE = "SIDE PLATE / SKI"
_MILL_OVER = "MILL OVER"
# What is done where a thing lies, whether under the drum or beside it.
_STAYS = ("STOP", "GONE", NOT_DECIDED)
# Their actions are about what lies beside the drum.
_BESIDE = "edges"


def _action(thing: Thing, deepest_m: float) -> str:
    """What a row says to do, whatever the pass; short of a decision, or not deep enough, STOP."""
    action = str(thing.row["action"])
    if not thing.row["decided_by"]:
        return NOT_DECIDED
    over = _MILL_OVER in " ".join(action.upper().split())
    if over and not deep_enough(str(thing.row["status"]), depth_m=deepest_m):
        return NOT_DECIDED
    return action


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Run:
    """One pass and what it meets.

    Attributes
    ----------
    one, machine
        The pass and its machine.
    things, actions
        All things of the leg, and what is to be done at each.
    met
        Those that the pass meets.
    """

    one: Pass
    machine: Machine
    things: Sequence[Thing]
    actions: Sequence[str]
    met: Touched

    def run_m(self, *along_m: float) -> list[float]:
        """Places along as distances run, rising [m]."""
        return sorted(self.one.travel * place_m for place_m in along_m)

    def lift(self, row: int, contact_m: float) -> Lift:
        """Find where the drum is out for one thing.

        Parameters
        ----------
        row
            Row of ``met``.
        contact_m
            Half of the length over which the drum is in the road there [m].
        """
        thing = self.things[self.met.number[row]]
        first_m, last_m = self.run_m(thing.row["from_m"], thing.row["to_m"])
        ahead_m, behind_m = thing.clear_m(self.machine.moldboard_m)
        skip_m = self.run_m(*thing.skip) if thing.skip else [first_m, last_m]
        return Lift(
            first_m=min(first_m, skip_m[0]),
            last_m=max(last_m, skip_m[1]),
            out_m=min(first_m - ahead_m, skip_m[0]) - contact_m,
            down_m=max(last_m + behind_m, skip_m[1]) + contact_m,
            members=(row,),
        )

    def lifts(self, join_m: float) -> dict[int, Lift]:
        """Find the lift that each row of ``met`` shares in; none where the drum stays down.

        Parameters
        ----------
        join_m
            Things nearer than this along are lifted over as one [m].
        """
        contacts_m = contact_m(self.machine.drum_diameter_m, self.met.deep_m)
        wanted = [
            self.lift(row, float(contacts_m[row]))
            for row in range(len(self.met.number))
            if self.met.touch[row] != "side" and self.things[self.met.number[row]].lifted
        ]
        made = joined_lifts(wanted, join_m=join_m)
        return {row: lift for lift in made for row in lift.members}

    def meetings(self, join_m: float) -> Iterator[Meeting]:
        """All that the pass meets, as the drum comes to it.

        Parameters
        ----------
        join_m
            Things nearer than this along are lifted over as one [m].
        """
        lifts = self.lifts(join_m)
        for row in range(len(self.met.number)):
            yield self._meeting(row, lifts.get(row))

    def _meeting(self, row: int, lift: Lift | None) -> Meeting:
        number = int(self.met.number[row])
        thing, touch = self.things[number], self.met.touch[row]
        members = [self.things[self.met.number[one]] for one in (lift.members if lift else (row,))]
        out_m = self.run_m(lift.out_m, lift.down_m) if lift else [np.nan, np.nan]
        return Meeting(
            pass_code=self.one.code,
            anchor_id=str(thing.row["anchor_id"]),
            along_m=float(thing.row["along_m"]),
            touch=touch,
            from_left_m=float(self.met.from_left_m[row]),
            from_right_m=float(self.met.from_right_m[row]),
            action=self._said(number, touch),
            lift_from_m=out_m[0],
            lift_to_m=out_m[1],
            exact=all(one.exact for one in members),
            joined=str(members[0].row["anchor_id"]) if len(members) > 1 else "",
        )

    def _said(self, number: int, touch: str) -> str:
        action, thing = self.actions[number], self.things[number]
        if touch != "side" or thing.kind.group == _BESIDE or action.startswith(_STAYS):
            return action
        return SIDE_PLATE


def _deepest_m(touched: Sequence[Touched], count: int) -> list[float]:
    """The deepest cut of any pass that meets each thing [m]; NaN where one is not known."""
    deepest_m = np.zeros(count)
    for met in touched:
        deepest_m[met.number] = np.maximum(deepest_m[met.number], met.deep_m)
    return [float(depth_m) for depth_m in deepest_m]


def meetings_of(
    passes: Sequence[Pass],
    obstructions: pd.DataFrame,
    leg: Leg,
    *,
    kinds: KindTable,
    defaults: Defaults,
    machines: Sequence[Machine],
) -> tuple[Meeting, ...]:
    """What the passes of a leg meet: pass by pass as given, each as the drum comes to it.

    Every thing is in every pass that it may touch, once.  Things in no meeting lie outside all
    passes.

    Parameters
    ----------
    passes
        Of this leg.
    obstructions
        Table ``tables.OBSTRUCTIONS``, of any leg.
    leg
        The leg.
    kinds
        The job's kinds, for clearances.
    defaults
        How near iron is for the side plate, and how near lifts are one.
    machines
        All that the passes name.
    """
    things = things_of(obstructions, leg, kinds, passes)
    if not things:
        return ()
    where = where_of(things)
    by_name: Mapping[str, Machine] = {one.name: one for one in machines}
    touched = [touched_by(one, where, side_m=defaults.side_plate_m) for one in passes]
    deepest_m = _deepest_m(touched, len(things))
    actions = [_action(*pair) for pair in zip(things, deepest_m, strict=True)]
    made: list[Meeting] = []
    for one, met in zip(passes, touched, strict=True):
        run = _Run(one=one, machine=by_name[one.machine], things=things, actions=actions, met=met)
        made += run.meetings(defaults.lift_join_m)
    return tuple(made)
