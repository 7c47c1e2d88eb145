"""Physical things whose station is known, and the stationing that agrees with them.

In go a leg's settings, its line and what marks say, out comes its ``Stationing``: piecewise
linear between plan, paint and wheel ties, one for one outside them, with what each tie does to
the stations as findings.  Mile markers are readings beside the stations and never stretch them.
"""

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from routeprep.errors import JobError, StationError
from routeprep.lines import Centerline, Stationing, Tie
from routeprep.locating import locate, runners_up
from routeprep.markers import one_way
from routeprep.shapes import Defaults, Finding, LegSettings, TieSettings
from routeprep.stakes import MILE_MARKER, Stake
from routeprep.stationing import along_at, along_of, label, value_at
from routeprep.units import to_m

__all__ = ["Tied", "tied"]

# Surest first: what plans give, what is painted on the road, what a wheel said.
_RANKS = ("plan", "paint", "wheel", MILE_MARKER)

# Two ties this near to each other are one place within what a phone tells [m].
_NOISE_M = to_m(10.0, "ft")
# By how much the stations may differ from the line between two ties: the noise and the first
# share of the distance is doubted, more than the noise and more than the second share refused,
# so that two ties close together are not refused for a phone's sake.  Common practice, no source.
_DOUBTED_SHARE = 0.005
_REFUSED_SHARE = 0.05
# Stretches of line outside the ties shorter than this are not worth saying [m].
_WORTH_SAYING_M = 1.0
# Less than this is printed as 0.0 [the unit's length].
_PRINTED = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Tied:
    """A leg's stationing, and what it was made from.

    Attributes
    ----------
    stationing
        Of the leg's line.
    ties
        That were used, in order along.
    markers
        Mile markers in order along: along [m] and number of miles.
    findings
        What each tie does to the stations, and what was not used.
    """

    stationing: Stationing
    ties: tuple[Tie, ...]
    markers: tuple[tuple[float, float], ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Known:
    """A tie on its line; ``value`` is the running one [the unit's length], or miles."""

    tie: TieSettings
    along_m: float
    value: float

    @property
    def name(self) -> str:
        return _called(self.tie)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Leg:
    """A leg whose stationing is made, with the tolerances."""

    settings: LegSettings
    line: Centerline
    defaults: Defaults

    @property
    def start(self) -> float:
        """Station value at the line's beginning [the unit's length]; NaN when not given."""
        return 0.0 if self.settings.zero else self.settings.start_value

    @property
    def unit_m(self) -> float:
        return self.settings.unit.length_m

    def far(self, length_m: float) -> str:
        """A length [m] for people, in the leg's unit."""
        return self.settings.unit.length_text(length_m)

    def note(self, text: str, *, doubted: bool = False) -> Finding:
        level = "doubt" if doubted else "note"
        return Finding(level=level, where=f"leg {self.settings.code}", text=text)

    def counting(self, known: Sequence[tuple[float, float]]) -> Stationing:
        """The stationing of known places: along [m] and running value."""
        known_m, values = zip(*known, strict=True)
        return Stationing(
            unit=self.settings.unit,
            zero=self.settings.zero,
            known_m=known_m,
            known_value=values,
            equations=self.settings.equations,
            length_m=self.line.length_m,
        )


def _called(tie: TieSettings) -> str:
    """A tie for people: "tie 12+00 (plan paint at the culvert, plan)"."""
    what = "MM" if tie.kind == MILE_MARKER else "tie"
    station = tie.station.upper().removeprefix("MM").strip() if what == "MM" else tie.station
    return f"{what} {station} ({', '.join(part for part in (tie.by, tie.kind) if part)})"


def _running(tie: TieSettings, leg: _Leg) -> float:
    """The running value of a tie's label [the unit's length], or the miles of a marker.

    Raises
    ------
    StationError
        If a marker's number is none.
    """
    if tie.kind != MILE_MARKER:
        begin = 0.0 if math.isnan(leg.start) else leg.start
        endless = replace(leg.counting([(0.0, begin)]), length_m=math.inf)
        return begin + along_of(endless, tie.station) / leg.unit_m
    digits = tie.station.upper().removeprefix("MM").strip()
    if not digits.replace(".", "", 1).isdecimal():
        msg = f"{tie.station!r} is no number of a mile marker; write it like 14 or 14.2"
        raise StationError(msg, text=tie.station)
    return float(digits)


def _on_line(tie: TieSettings, leg: _Leg) -> tuple[_Known, list[Finding]]:
    """A tie with its place on the line; a second place nearly as near is doubted.

    Raises
    ------
    JobError
        If it is far from the line or from its ends, or its label cannot be.
    """
    lon_deg, lat_deg = np.array([tie.lon_deg]), np.array([tie.lat_deg])
    places = locate(leg.line, lon_deg, lat_deg)
    distance_m, most_m = float(places.distance_m[0]), leg.defaults.road_corridor_m
    if distance_m > most_m:
        msg = (
            f"leg {leg.settings.code}: {_called(tie)} at {tie.lon_deg:.6f}, {tie.lat_deg:.6f} is "
            f"{leg.far(distance_m)} from the line; one within {leg.far(most_m)} is believed: mend "
            "its longitude and latitude"
        )
        raise JobError(msg, leg=leg.settings.code, distance_m=distance_m)
    try:
        known = _Known(tie=tie, along_m=float(places.along_m[0]), value=_running(tie, leg))
    except StationError as error:
        msg = f"leg {leg.settings.code}: {_called(tie)}: {error}"
        raise JobError(msg, leg=leg.settings.code, station=tie.station) from error
    within_m, apart_m = leg.defaults.runner_up_within_m, leg.defaults.runner_up_apart_m
    other_m = float(
        runners_up(leg.line, lon_deg, lat_deg, places, within_m=within_m, apart_m=apart_m)[0]
    )
    text = (
        f"{known.name} is taken at {leg.far(known.along_m)} along, but the line comes nearly as "
        f"near at {leg.far(other_m)}; look which one it is"
    )
    return known, [leg.note(text, doubted=True)] if math.isfinite(other_m) else []


def _from_stake(tie: TieSettings, leg: _Leg) -> tuple[_Known | None, list[Finding]]:
    """What a mark says on the line, or nothing and the reason: a mark stops no job."""
    try:
        return _on_line(tie, leg)
    except JobError as error:
        text = str(error).removeprefix(f"leg {leg.settings.code}: ")
        return None, [leg.note(f"{text}; it ties nothing", doubted=True)]


def _apart(known: Sequence[_Known], leg: _Leg) -> tuple[list[_Known], list[Finding]]:
    """In order along; of ties that are one place within the noise only the surest."""
    kept: list[_Known] = []
    found = []
    for one in sorted(known, key=lambda one: (one.along_m, one.value)):
        before = kept[-1] if kept else one
        apart_m = one.along_m - before.along_m
        said_m = (one.value - before.value) * leg.unit_m
        if before is one or max(apart_m, abs(said_m)) > _NOISE_M:
            kept.append(one)
            continue
        kept[-1], other = sorted((before, one), key=_sureness)
        text = (
            f"{other.name} is not used: it stands {leg.far(apart_m)} from {kept[-1].name} and "
            f"says {leg.far(abs(said_m))}, which is one place within what a phone tells"
        )
        found.append(leg.note(text))
    return kept, found


def _sureness(known: _Known) -> tuple[bool, int]:
    return not known.tie.forced_by, _RANKS.index(known.tie.kind)


def _lies(before: _Known, tie: _Known, leg: _Leg) -> str:
    return (
        f"{tie.name} lies {leg.far(tie.along_m - before.along_m)} after {before.name} on the "
        f"line, its station {leg.far((tie.value - before.value) * leg.unit_m)} after"
    )


def _refuse_wild(before: _Known, tie: _Known, leg: _Leg, *, forced_by: str) -> None:
    """Refuse a tie that is not to be believed against the one before.

    Raises
    ------
    JobError
        If its station does not come after the other's, or the stretch is too large and nobody
        forces it.
    """
    distance_m = tie.along_m - before.along_m
    said_m = (tie.value - before.value) * leg.unit_m
    where = f"leg {leg.settings.code}: {_lies(before, tie, leg)}"
    if said_m <= 0 or distance_m <= 0:
        msg = (
            f"{where}; both must be more than 0: mend one of them, turn a line that runs the other "
            "way with start_near, or give a station equation where the stations go back; nobody "
            "can force this"
        )
        raise JobError(msg, leg=leg.settings.code, distance_m=distance_m, said_m=said_m)
    residual_m = said_m - distance_m
    if abs(residual_m) > max(_NOISE_M, _REFUSED_SHARE * distance_m) and not forced_by:
        msg = (
            f"{where}: a stretch of {residual_m / distance_m:+.1%} is beyond {_REFUSED_SHARE:.0%} "
            "and not believed; mend one of them, or say who takes it with forced_by"
        )
        raise JobError(msg, leg=leg.settings.code, distance_m=distance_m, said_m=said_m)


def _against(before: _Known, tie: _Known, leg: _Leg) -> tuple[Tie, Finding]:
    """A tie against the one before it, with its residual and the stretch it implies."""
    forced_by = tie.tie.forced_by or before.tie.forced_by
    _refuse_wild(before, tie, leg, forced_by=forced_by)
    distance_m = tie.along_m - before.along_m
    residual_m = (tie.value - before.value) * leg.unit_m - distance_m
    share = residual_m / distance_m
    text = (
        f"{_lies(before, tie, leg)}: residual {leg.far(residual_m)}, stretch {share:+.3%}, scale "
        f"{1 + share:.6f}" + (f"; forced by {forced_by}" if forced_by else "")
    )
    doubted = abs(residual_m) > _NOISE_M + _DOUBTED_SHARE * distance_m
    used = _used(tie, residual_m=residual_m, stretch_share=share, forced_by=forced_by)
    return used, leg.note(text, doubted=doubted)


def _used(known: _Known, *, residual_m: float, stretch_share: float, forced_by: str) -> Tie:
    return Tie(
        along_m=known.along_m,
        station=known.tie.station,
        kind=known.tie.kind,
        by=known.tie.by,
        residual_m=residual_m,
        stretch_share=stretch_share,
        forced_by=forced_by,
    )


def _outside(known: Sequence[_Known], leg: _Leg) -> Iterator[Finding]:
    """How far the line goes on beyond the ties."""
    ends = (
        (known[0].along_m, f"before the first tie, {known[0].name}"),
        (leg.line.length_m - known[-1].along_m, f"after the last tie, {known[-1].name}"),
    )
    for beyond_m, where in ends:
        outside_m = min(beyond_m, leg.line.length_m)
        if outside_m > _WORTH_SAYING_M:
            yield leg.note(
                f"{leg.far(outside_m)} of line {where}, has stations counted one for one from it; "
                "no tie checks them there"
            )


def _plain(stationing: Stationing) -> Stationing:
    """The same without equations, so that written and running values are one."""
    return replace(stationing, equations=())


def _start(stationing: Stationing, first: _Known, leg: _Leg) -> Iterator[Finding]:
    """How far the job's start is from what the ties have there."""
    residual_m = (leg.start - value_at(_plain(stationing), 0.0)) * leg.unit_m
    if abs(residual_m) >= _PRINTED * leg.unit_m:
        more = "less" if residual_m < 0 else "more"
        yield leg.note(
            f"the start is {leg.far(abs(residual_m))} {more} than what the ties have at the line's "
            f"beginning, {label(stationing, 0.0)}; the ties hold",
            doubted=abs(residual_m) > _NOISE_M + _DOUBTED_SHARE * abs(first.along_m),
        )


def _heard(stationing: Stationing, known: _Known, leg: _Leg) -> Finding:
    """How a station that was said from a vehicle agrees."""
    away_m = abs(along_at(_plain(stationing), known.value) - known.along_m)
    text = (
        f"{known.name} was said from a vehicle and ties nothing, since a tap is seconds late; "
        f"stations read {label(stationing, known.along_m)} there, {leg.far(away_m)} away"
    )
    return leg.note(text, doubted=away_m > leg.defaults.tap_disagrees_m)


def _from_start(leg: _Leg) -> Stationing:
    """The stationing of a leg without ties.

    Raises
    ------
    JobError
        If nothing says where its stations begin.
    """
    if math.isnan(leg.start):
        msg = (
            f"leg {leg.settings.code}: nothing says where its stations begin: start, zero and ties "
            f"are not given, and its line, made from a {leg.line.made_from}, brings none; give "
            "start (the plan station at the beginning) or zero (a physical zero's name)"
        )
        raise JobError(msg, leg=leg.settings.code)
    return leg.counting([(0.0, leg.start)])


def _from_ties(
    known: Sequence[_Known], leg: _Leg
) -> tuple[Stationing, tuple[Tie, ...], list[Finding]]:
    """The stationing of a leg with ties, the ties as used, and what they do."""
    kept, found = _apart(known, leg)
    pairs = [_against(before, tie, leg) for before, tie in itertools.pairwise(kept)]
    first = _used(kept[0], residual_m=math.nan, stretch_share=math.nan, forced_by="")
    stationing = leg.counting([(one.along_m, one.value) for one in kept])
    found += [finding for _, finding in pairs]
    found += [*_outside(kept, leg), *_start(stationing, kept[0], leg)]
    return stationing, (first, *(tie for tie, _ in pairs)), found


def tied(leg: LegSettings, line: Centerline, stakes: Sequence[Stake], defaults: Defaults) -> Tied:
    """Make a leg's stationing from its ties, or from its start where it has none.

    With ties, the start is only checked against them.

    Parameters
    ----------
    leg
        The leg, with all that a designed alignment brings.
    line
        Its line.
    stakes
        What marks say on this leg.
    defaults
        The tolerances.
    """
    frame = _Leg(settings=leg, line=line, defaults=defaults)
    from_job = [(*_on_line(tie, frame), False) for tie in leg.ties]
    said = [(*_from_stake(one.tie, frame), one.from_vehicle) for one in stakes]
    placed = [(known, late) for known, _, late in (*from_job, *said) if known is not None]
    found = [finding for _, findings, _ in (*from_job, *said) for finding in findings]
    ways = [(known, late) for known, late in placed if known.tie.kind != MILE_MARKER]
    ties = [known for known, late in ways if not late]
    if ties:
        stationing, used, said_of_ties = _from_ties(ties, frame)
    else:
        stationing, used, said_of_ties = _from_start(frame), (), []
    markers, said_of_markers = one_way(
        [(k.along_m, k.value, k.name) for k, _ in placed if k.tie.kind == MILE_MARKER],
        where=f"leg {leg.code}",
        unit=leg.unit,
    )
    heard = [_heard(stationing, known, frame) for known, late in ways if late]
    return Tied(
        stationing=stationing,
        ties=used,
        markers=markers,
        findings=(*found, *said_of_ties, *heard, *said_of_markers),
    )
