"""The plan of work: strips, passes, what each pass meets, ramps, hand work and quantities.

They are made once and never changed.  Offsets are from the leg's line, right positive looking
up-station; everything along is in metres along the leg.
"""

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from routeprep.roadway import Machine

__all__ = ["HandWork", "Meeting", "Pass", "Plan", "Quantity", "Ramp", "Strip"]

Floats = npt.NDArray[np.float64]


def _none() -> Floats:
    """No values: a field that was not given."""
    return np.zeros(0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Strip:
    """An area to cut: a band of the road with one edge on either side.

    Attributes
    ----------
    leg, name
        The leg's code, and what it is: "right lane and parking".
    along_m
        Rising places at which the edges are known; between them they change evenly [m].  Where
        an edge or a depth jumps, it does so within 1 mm along.
    left_m, right_m
        Offsets of the two edges there, left not more than right [m].
    depth_left_m, depth_right_m
        Depth of the cut at the two edges there [m].
    curb_left, curb_right
        Whether the edge runs along a curb, a gutter, or a median that is not cut: nothing may
        run over it.
    beyond_left, beyond_right
        What lies beyond the edge: "line" (the other side of the road), "curb", "shoulder" or one
        of ``roadway.PARTS``; empty when not given.
    shoulder_m
        Offset at which a shoulder that is cut with the rest begins, at each place [m]; NaN
        without one, empty for no shoulder at all.
    traffic
        Which way its traffic runs: +1 up-station, -1 down-station, 0 both ways or not known.
    travel
        Which way its passes are run, in the same words; 0 when nobody said: with the traffic.
    """

    leg: str
    name: str
    along_m: Floats
    left_m: Floats
    right_m: Floats
    depth_left_m: Floats
    depth_right_m: Floats
    curb_left: bool
    curb_right: bool
    beyond_left: str = ""
    beyond_right: str = ""
    shoulder_m: Floats = field(default_factory=_none)
    traffic: int = 0
    travel: int = 0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pass:
    """One run of one machine over one width.

    Attributes
    ----------
    code
        Unique in the job and as printed: "A R1" is the first pass right of the line on leg A.
    order
        Its place in the order of work, from 1.
    leg, strip, machine
        The leg's code, the strip's name and the machine's.
    half
        "inside half", "outside half", "shoulder", "middle" for one between or across the line,
        or "whole width" for one that is alone.
    travel
        +1 up-station, -1 down-station.
    against
        Whether it runs against the traffic of its lane.
    along_m, left_m, right_m
        As of a strip: the edges of the drum [m].  They lie within the strip but where the drum is
        wider than it; then a flag says where the rest goes.
    depth_left_m, depth_right_m
        Depth of the cut at the two edges [m].
    flags
        Sentences that a person must read before it is run; empty when there is nothing to say.
    """

    code: str
    order: int
    leg: str
    strip: str
    machine: str
    half: str
    travel: int
    against: bool
    along_m: Floats
    left_m: Floats
    right_m: Floats
    depth_left_m: Floats
    depth_right_m: Floats
    flags: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Meeting:
    """One thing that one pass meets or may meet.

    Attributes
    ----------
    pass_code, anchor_id
        The pass and the thing.
    along_m
        Where [m].
    touch
        "cut" (under the drum), "maybe" (its ± or its lane does not tell), "side" (within 2 ft
        outside the drum: SIDE PLATE / SKI), or "over" (overhead or across the whole road).
    from_left_m, from_right_m
        From the drum's edges, looking up-station, inside positive [m]; NaN when not known.
    action
        What the row says to do in this pass.
    lift_from_m, lift_to_m
        Where the drum is out of the road, along, rising [m]; NaN when it stays down.
    exact
        Whether those may be printed as stations: walked and taped rows only.
    joined
        The first thing of the lift that it shares; empty when it is alone.
    """

    pass_code: str
    anchor_id: str
    along_m: float
    touch: str
    from_left_m: float
    from_right_m: float
    action: str
    lift_from_m: float
    lift_to_m: float
    exact: bool
    joined: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Ramp:
    """A temporary ramp at a transverse joint: where, how deep and how long, and how steep."""

    leg: str
    strip: str
    along_m: float
    depth_m: float
    length_m: float
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HandWork:
    """Ground that the machine leaves and who does it: around lifted things, skipped, at curbs.

    ``area_m2`` is what lies within the cut [m2]; ``anchor_ids`` are the things it is left for;
    ``skipped`` tells that it is left as it is, so that nobody works it.
    """

    leg: str
    from_m: float
    to_m: float
    left_m: float
    right_m: float
    area_m2: float
    who: str
    why: str
    anchor_ids: tuple[str, ...]
    skipped: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """What one part of the work amounts to.

    Attributes
    ----------
    leg, what
        The leg's code; the strip, the pass, "hand work" or "leg".
    from_m, to_m
        Along [m].
    area_m2, volume_m3, mass_kg
        Of the cut, less what is skipped [m2], [m3], [kg].
    loose_m3
        Of the millings in the truck [m3].
    loads_by_weight, loads_by_volume
        Truck loads, not rounded; NaN when the truck is not given.
    """

    leg: str
    what: str
    from_m: float
    to_m: float
    area_m2: float
    volume_m3: float
    mass_kg: float
    loose_m3: float
    loads_by_weight: float
    loads_by_volume: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Plan:
    """The whole plan of work of a job; empty where the job names no machine."""

    machines: tuple[Machine, ...] = ()
    strips: tuple[Strip, ...] = ()
    passes: tuple[Pass, ...] = ()
    meetings: tuple[Meeting, ...] = ()
    ramps: tuple[Ramp, ...] = ()
    hand_work: tuple[HandWork, ...] = ()
    quantities: tuple[Quantity, ...] = ()
    flags: tuple[str, ...] = field(default=())
