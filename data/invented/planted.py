"""Twelve covers within 1,000 ft of the demo's long road, for what a search has to find."""

from collections.abc import Sequence

from invented.drives import DriveSpec
from invented.planned import planned_things, things_of
from invented.things import FT_M, Thing

__all__ = ["PARKED_FT", "PLANTED_FT", "planted_things", "says_parked"]

# Between these [ft] along leg A; what the demo has there is left out.
PLANTED_FT = (11000.0, 12000.0)
# Cars were parked here [ft], on the right.
PARKED_FT = (11420.0, 11530.0)

# As in the demo's own table.  Four manholes of one sewer, 320 ft apart: the second is paved over
# and in no file, so that only the gap of 640 ft tells of it.
PLANTED = """
A, 11030, L, inner , SMH  , 0.9, yes, 24 in  , in a row
A, 11100, R, outer , WV   , 0  , yes,        , paved over
A, 11200, R, outer , WV   , 0.5, yes,        , hard to see
A, 11350, L, inner , SMH  , 0  , no , 24 in  , in the gap of a row
A, 11440, R, curb  , WV   , 0  , no ,        , under a parked car
A, 11470, R, outer , GASV , 0  , no ,        , under a parked car
A, 11510, R, curb  , DI   , 0  , no ,        , under a parked car
A, 11600, R, mid   , DMH  , 0.3, yes,        , hard to see
A, 11670, L, inner , SMH  , 0.7, no , 24 in  , in a row
A, 11800, L, outer , GASV , 0  , yes,        , paved over
A, 11900, R, curb  , CB   , 0.7, yes,        , in the file
A, 11990, L, inner , SMH  , 0.9, yes, 24 in  , in a row
"""


def planted_things() -> tuple[Thing, ...]:
    """The demo's things with these twelve in the place of its own between ``PLANTED_FT``."""
    low_m, high_m = (at_ft * FT_M for at_ft in PLANTED_FT)
    kept = [one for one in planned_things() if one.leg != "A" or not low_m <= one.along_m <= high_m]
    return tuple(sorted((*kept, *things_of(PLANTED)), key=lambda one: (one.leg, one.along_m)))


def says_parked(spec: DriveSpec) -> tuple[tuple[float, str], ...]:
    """What somebody taps where the parked cars begin and end: distance gone [m] and words.

    Parameters
    ----------
    spec
        A drive up the road from its beginning; tapped as late as its person taps, at the speed
        kept there.
    """
    begin_m = spec.along_m[0]
    said: list[tuple[float, str]] = []
    for at_ft, words in zip(PARKED_FT, ("parked cars begin", "parked cars end"), strict=True):
        gone_m = at_ft * FT_M - begin_m
        speed_mps = _speed_at(spec.speeds, gone_m)
        said.append((gone_m + spec.person.late_s * speed_mps - spec.person.lead_m, words))
    return tuple(said)


def _speed_at(speeds: Sequence[tuple[float, float]], gone_m: float) -> float:
    return [speed_mps for from_m, speed_mps in speeds if from_m <= gone_m][-1]
