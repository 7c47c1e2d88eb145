"""How a road bends and climbs, and where a driver sees little of it: curves, grades, sight spots.

They are made once and never changed.
"""

from dataclasses import dataclass

from routeprep.spreads import HALF_95

__all__ = ["Curve", "Grade", "SightSpot"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """A circular arc of a line, from PC to PT, looking up-station.

    Attributes
    ----------
    from_m, to_m
        PC and PT, or SC and CS where spirals adjoin, along [m]; the line's end where the curve
        goes on past it.
    radius_m
        On the ground [m].
    direction
        "right" or "left".
    deflection_deg
        What the arc turns by, without its spirals [deg]; never negative.
    radius_sd_m, from_sd_m, to_sd_m, deflection_sd_deg
        Standard deviations [m], [deg]: 0 for a designed alignment, NaN for an end that was not
        seen because the line ends there.  Those of the ends are of the place on the ground.
    spiral_in_m, spiral_out_m
        Length of the spiral before and after the arc [m]; known of a designed alignment only.
    """

    from_m: float
    to_m: float
    radius_m: float
    direction: str
    deflection_deg: float
    radius_sd_m: float = 0.0
    from_sd_m: float = 0.0
    to_sd_m: float = 0.0
    deflection_sd_deg: float = 0.0
    spiral_in_m: float = 0.0
    spiral_out_m: float = 0.0

    @property
    def begin_name(self) -> str:
        """What plans call its beginning: PC, or SC after a spiral."""
        return "SC" if self.spiral_in_m > 0.0 else "PC"

    @property
    def end_name(self) -> str:
        """What plans call its end: PT, or CS before a spiral."""
        return "CS" if self.spiral_out_m > 0.0 else "PT"

    @property
    def radius_told(self) -> bool:
        """Whether the radius is more than its ±; that of a sharp bend may not be."""
        return self.radius_m > HALF_95 * self.radius_sd_m


@dataclass(frozen=True, slots=True, kw_only=True)
class Grade:
    """How steep a stretch of road is.

    Attributes
    ----------
    from_m, to_m
        The stretch, along [m].
    grade_share
        Rise over length, up positive looking up-station: 0.02 is 2 %.
    grade_sd_share
        Its standard deviation; 0 for a designed profile.
    """

    from_m: float
    to_m: float
    grade_share: float
    grade_sd_share: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class SightSpot:
    """Where a driver may see less of the road ahead than it takes to stop: to look at.

    Attributes
    ----------
    from_m, to_m
        Where the driver is, along [m]; from is the lesser, whichever way the travel.
    travel
        +1 up-station, -1 down-station.
    side
        What hides the road stands "right" or "left" of it, looking up-station.
    available_m
        The least that is seen ahead from there [m].
    needed_m
        Stopping sight distance there [m].
    grade_share
        The grade it was reckoned with, up positive in the direction of travel; 0 where none is
        known.
    curve
        Index of the leg's curve that does it; -1 where none is known.
    """

    from_m: float
    to_m: float
    travel: int
    side: str
    available_m: float
    needed_m: float
    grade_share: float
    curve: int
