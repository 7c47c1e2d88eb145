"""What a person with a measuring wheel walks off from the nearest physical thing.

In go a leg and its rows of the list, out come walks: from each tie ahead and back, every station
and every obstruction that is nearer to it than to another tie, with its distance on the ground.

That distance is what the stations say, through all equations: plans, paint and a wheel know it
better than the phone that placed the ties.  Where a tie follows, the distance on the line stands
beside it, so that a difference is found and not spread.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from routeprep.designed import factors
from routeprep.listing import Row
from routeprep.shapes import Leg
from routeprep.stationing import number, stations_every, value_at

__all__ = ["Stop", "Walk", "walks"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """One place on a walk.

    Attributes
    ----------
    wheel_m
        Distance on the ground from the tie that the walk begins at, by the stations [m].
    line_m
        The same by where the two are on the line [m].
    station
        Its label, without the name of the zero.
    row
        Its row of the list; None for a bare station or a tie.
    tie
        What the wheel is checked at, when a tie stands there; else empty.
    """

    wheel_m: float
    line_m: float
    station: str
    row: Row | None
    tie: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Walk:
    """From one tie in one direction.

    Attributes
    ----------
    tie, station
        What it begins at, and the label there.
    ahead
        Whether the stations count up on the way.
    paints
        Whether stations may be painted from here: plan stations from a plan tie only.
    stops
        In the order met.
    """

    tie: str
    station: str
    ahead: bool
    paints: bool
    stops: tuple[Stop, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Place:
    """Something to walk to, ``along_m`` from the leg's start [m]; ``rank`` orders equals.

    ``ground_m`` is where its station has it on the ground [m], counted from any one place.
    """

    along_m: float
    ground_m: float
    rank: int
    station: str
    row: Row | None = None
    tie: str = ""
    paints: bool = False


def _ties(leg: Leg, ground: Callable[[float], float]) -> list[_Place]:
    """Physical things in order along the leg: its zero and its ties; a bare start is none."""
    zero = leg.stationing.zero
    known = [(tie.along_m, tie.by, bool(zero) or tie.kind == "plan") for tie in leg.ties]
    if zero:
        known.append((0.0, zero, True))
    return [
        _Place(
            along_m=along_m,
            ground_m=ground(along_m),
            rank=0,
            station=_label(leg, along_m, decimals=1),
            tie=by,
            paints=paints,
        )
        for along_m, by, paints in sorted(known)
    ]


def _label(leg: Leg, along_m: float, *, decimals: int) -> str:
    """The station without the name of the zero, which the walk begins at or is headed by."""
    return number(leg.stationing, along_m, step=0, decimals=decimals)


def _scale(leg: Leg) -> float:
    """What a length along the leg is on the ground, for one of them."""
    on_ground = factors(leg.line)
    return 1.0 / on_ground.combined if on_ground else 1.0


def _ground(leg: Leg, scale: float) -> Callable[[float], float]:
    """Where the stations have a place on the ground [m], counted from any one place."""
    running = replace(leg.stationing, equations=())
    unit_m = leg.stationing.unit.length_m * scale
    return lambda along_m: value_at(running, along_m) * unit_m


def _places(
    leg: Leg, rows: Sequence[Row], ground: Callable[[float], float], *, every: float
) -> list[_Place]:
    """Round stations and things in order along the leg."""
    stations = [
        _Place(
            along_m=along_m,
            ground_m=ground(along_m),
            rank=1,
            station=_label(leg, along_m, decimals=0),
        )
        for along_m in stations_every(leg.stationing, every, to_m=leg.line.length_m)
    ]
    things = [
        _Place(
            along_m=float(row["along_m"]),
            ground_m=ground(float(row["along_m"])),
            rank=2,
            station=str(row["station_text"]),
            row=row,
        )
        for row in rows
    ]
    return sorted([*stations, *things], key=lambda place: (place.along_m, place.rank))


def _walk(
    tie: _Place, places: Sequence[_Place], *, ahead: bool, scale: float, close_at: _Place | None
) -> Walk:
    """What is met from a tie in one direction, and at last the next tie, to check the wheel at."""
    met = [*places, close_at] if close_at else list(places)
    stops = tuple(
        Stop(
            wheel_m=abs(place.ground_m - tie.ground_m),
            line_m=abs(place.along_m - tie.along_m) * scale,
            station=place.station,
            row=place.row,
            tie=place.tie,
        )
        for place in met
    )
    return Walk(tie=tie.tie, station=tie.station, ahead=ahead, paints=tie.paints, stops=stops)


def walks(leg: Leg, rows: Sequence[Row], *, every: float) -> tuple[Walk, ...]:
    """Every walk of a leg, in order along it; none without a physical thing to begin at.

    Each place is in one walk: from the nearer tie, and from the one behind when both are as near.

    Parameters
    ----------
    leg
        The leg.
    rows
        Its rows of ``listing.rows``.
    every
        Distance between the stations [the leg's length unit].
    """
    scale = _scale(leg)
    ground = _ground(leg, scale)
    ties = _ties(leg, ground)
    nearest: dict[int, list[_Place]] = {at: [] for at in range(len(ties))}
    for place in _places(leg, rows, ground, every=every) if ties else []:
        away = [abs(place.ground_m - tie.ground_m) for tie in ties]
        nearest[away.index(min(away))].append(place)
    made = []
    for at, tie in enumerate(ties):
        back = [place for place in nearest[at] if place.along_m < tie.along_m][::-1]
        ahead = [place for place in nearest[at] if place.along_m >= tie.along_m]
        after = ties[at + 1] if at + 1 < len(ties) else None
        made += [
            _walk(tie, back, ahead=False, scale=scale, close_at=None),
            _walk(tie, ahead, ahead=True, scale=scale, close_at=after),
        ]
    return tuple(walk for walk in made if walk.stops)
