"""Where the drum is out of the road in one pass, and lifts that are near each other made one.

In go what is to be lifted over, in the order met, out come stretches along.  Distances are those
run: along for a pass up-station, minus along for one down-station, so that they always rise.
"""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from routeprep.shapes import Leg
from routeprep.walkwords import Reach, reach_of

__all__ = ["Lift", "contact_m", "joined_lifts", "skip_of"]

Floats = npt.NDArray[np.float64]

_SKIP = "SKIP"
# A station in a sentence; a hyphen after a digit is no sign.
_LABEL = re.compile(
    r"(?<![\d.])[-\u2212]?\d+\+\d+(?:\.\d+)?(?:\s*(?:BK|AH|region\s*\d+)\b)?", re.IGNORECASE
)
_BOTH = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Lift:
    """One stretch over which the drum is out, in distances run.

    Attributes
    ----------
    first_m, last_m
        Where the first thing begins and the last one ends [m].
    out_m, down_m
        Where the drum is lifted and where it is down again [m].
    members
        Numbers of its things in the order met.
    """

    first_m: float
    last_m: float
    out_m: float
    down_m: float
    members: tuple[int, ...]

    def near(self, other: "Lift", join_m: float) -> bool:
        """Whether a later lift is one with this: its things are near, or the drum is still out.

        Parameters
        ----------
        other
            The later one.
        join_m
            Things nearer than this are lifted over as one [m].
        """
        return other.first_m - self.last_m < join_m or other.out_m <= self.down_m

    def with_next(self, other: "Lift") -> "Lift":
        """Make this lift and a later one into one."""
        return Lift(
            first_m=min(self.first_m, other.first_m),
            last_m=max(self.last_m, other.last_m),
            out_m=min(self.out_m, other.out_m),
            down_m=max(self.down_m, other.down_m),
            members=(*self.members, *other.members),
        )


def joined_lifts(lifts: Sequence[Lift], *, join_m: float) -> list[Lift]:
    """Lifts with those made one that are near each other, and so on until none are.

    Parameters
    ----------
    lifts
        In the order met.
    join_m
        Things nearer than this along are lifted over as one [m].
    """
    made: list[Lift] = []
    for one in lifts:
        lift = one
        while made and made[-1].near(lift, join_m):
            lift = made.pop().with_next(lift)
        made.append(lift)
    return made


def contact_m(diameter_m: float, depth_m: Floats) -> Floats:
    """Half of the length over which a drum is in the road [m]; 0 when either is not known.

    The half-chord of the tips' circle at the surface: sqrt(2 R d - d^2) (geometry).

    Parameters
    ----------
    diameter_m
        Of the tips' circle [m].
    depth_m
        Of the cut [m]; deeper than its middle a drum is no longer.
    """
    radius_m = diameter_m / 2
    deep_m = np.minimum(depth_m, radius_m)
    return np.asarray(np.nan_to_num(np.sqrt(np.maximum(2 * radius_m * deep_m - deep_m**2, 0.0))))


def skip_of(action: str, leg: Leg) -> Reach:
    """From and to along a leg of what is to be skipped; NaN with the reason where none is said.

    Parameters
    ----------
    action
        As decided: "SKIP 12+00 to 12+50".
    leg
        The leg.
    """
    said = action.removeprefix(_SKIP).strip(" :,")
    labels = _LABEL.findall(said)
    if len(labels) == _BOTH:
        return reach_of(leg, " to ".join(labels))
    found = reach_of(leg, said)
    if found.why or found.from_m < found.to_m:
        return found
    return Reach(math.nan, math.nan, f"{said!r} is one station, not from and to")
