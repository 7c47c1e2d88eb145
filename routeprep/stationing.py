"""Distances along a leg's line to station values and labels, and back.

In goes a ``Stationing`` with ``along`` in metres, out comes a station value in the unit of the
plans, or the label that the plans and the paint use; a leg with a named zero never looks like
plan stations, since its label always carries the zero's name.

Station equations part the line into regions, counted from 1 up-station.  A place at an equation
has the ahead label.  A label that two regions bear is written with BK or AH, one that more bear
with its region, as "13+00 region 2"; a printed label always exists, and leads back to where it
was printed.
"""

import itertools
import math
from bisect import bisect_right
from collections.abc import Sequence

from routeprep.errors import StationError
from routeprep.lines import Stationing
from routeprep.regions import SAME, Region, bearing, outward, regions_of, rounded
from routeprep.units import format_station, parse_station, split_region

__all__ = [
    "along_at",
    "along_of",
    "equation_places",
    "label",
    "number",
    "stations_every",
    "true_length_m",
    "value_at",
]

# A label this near past an end of the line still counts as on it [m]: printed stations are
# rounded to 5 ft or 1 m, so that the last thing on a line may be printed just beyond it.
_NEAR_END_M = 2.0

# Values are rounded to this many digits before they are rounded for print.
_DIGITS = 6
# Digits of an equation's labels, and of a label in a message.
_FINE = 2
_BOTH = 2


def _interpolated(at: float, xs: Sequence[float], ys: Sequence[float], *, beyond: float) -> float:
    """Piecewise linear between known places, with the slope ``beyond`` outside them."""
    after = bisect_right(xs, at)
    if 0 < after < len(xs):
        share = (at - xs[after - 1]) / (xs[after] - xs[after - 1])
        return ys[after - 1] + share * (ys[after] - ys[after - 1])
    end = 0 if after == 0 else -1
    return ys[end] + (at - xs[end]) * beyond


def _running(stationing: Stationing, along_m: float) -> float:
    """The running value [the unit's length].

    Raises
    ------
    StationError
        If ``along_m`` is not finite.
    """
    if not math.isfinite(along_m):
        msg = f"along is {along_m!r} m; a station needs a finite distance along the line"
        raise StationError(msg, along_m=along_m)
    known_m, known = stationing.known_m, stationing.known_value
    return _interpolated(along_m, known_m, known, beyond=1 / stationing.unit.length_m)


def _in_region(stationing: Stationing, value: float, region: Region) -> float:
    """Distance along [m] at a written value of a region."""
    known_m, known = stationing.known_m, stationing.known_value
    running = value - region.shift_value
    return _interpolated(running, known, known_m, beyond=stationing.unit.length_m)


def _written(
    stationing: Stationing, along_m: float, regions: Sequence[Region]
) -> tuple[int, float]:
    """The region's index and the written value, the ahead one at an equation."""
    running = _running(stationing, along_m)
    starts = [region.low_value - region.shift_value - SAME for region in regions]
    at = bisect_right(starts, running) - 1
    region = regions[at]
    return at, min(max(running + region.shift_value, region.low_value), region.high_value)


def value_at(stationing: Stationing, along_m: float) -> float:
    """Station value [the unit's length] at a finite distance along the line [m].

    Beyond the ends it goes on counting: nothing clamps.
    """
    return _written(stationing, along_m, regions_of(stationing))[1]


def _on_line(stationing: Stationing, value: float, regions: Sequence[Region]) -> list[int]:
    """Indices of the regions that bear a value on the line; if none does, of all that bear it."""
    last_m = stationing.length_m + _NEAR_END_M
    everywhere = bearing(value, regions)
    here = [
        at
        for at in everywhere
        if -_NEAR_END_M <= _in_region(stationing, value, regions[at]) <= last_m
    ]
    return here or everywhere


def _suffix(stationing: Stationing, value: float, at: int, regions: Sequence[Region]) -> str:
    """What must stand behind a label so that it means this region, with a blank before it."""
    here = _on_line(stationing, value, regions)
    if here == [at]:
        return ""
    if at in here and len(here) == _BOTH:
        return " BK" if at == here[0] else " AH"
    return f" region {at + 1}"


def _text(stationing: Stationing, value: float) -> str:
    return format_station(value, stationing.unit, decimals=_FINE)


def _ends(stationing: Stationing, regions: Sequence[Region], at: int) -> tuple[str, str]:
    """The labels either side of the equation between a region and the next."""
    values = ((at, regions[at].high_value), (at + 1, regions[at + 1].low_value))
    back, ahead = (rounded(value, one, regions, step=10**-_FINE) for one, value in values)
    return (
        format_station(back.value, stationing.unit, decimals=back.decimals),
        format_station(ahead.value, stationing.unit, decimals=ahead.decimals),
    )


def _equation(stationing: Stationing, regions: Sequence[Region], at: int) -> str:
    return "{} BK = {} AH".format(*_ends(stationing, regions, at))


def _gap_words(stationing: Stationing, value: float, regions: Sequence[Region]) -> str:
    """In which gap a label would lie, and the labels on either side."""
    jumps = itertools.pairwise(regions)
    at = next(at for at, (one, two) in enumerate(jumps) if one.high_value < value < two.low_value)
    back, ahead = _ends(stationing, regions, at)
    return (
        f"it lies in the gap of the station equation {back} BK = {ahead} AH; the last station "
        f"before the gap is {back}, the first after it is {ahead}"
    )


def _which_words(stationing: Stationing, value: float, regions: Sequence[Region]) -> str:
    """Which regions bear a label, each with where that is, and the equations between them."""
    unit, here = stationing.unit, _on_line(stationing, value, regions)
    text = _text(stationing, value)
    places = [
        f"{text}{_suffix(stationing, value, at, regions)} is "
        f"{unit.length_text(_in_region(stationing, value, regions[at]))} along"
        for at in here
    ]
    parted = [_equation(stationing, regions, at) for at in range(len(regions) - 1)]
    equations = f"; station equations: {', '.join(parted)}" if parted else ""
    return f"{', '.join(places)}{equations}"


def _fitting(said: str, here: Sequence[int], everywhere: Sequence[int], last: int) -> Sequence[int]:
    """Which of the regions that bear a label fit what is written behind it."""
    if not said:
        return here
    if said.isdigit():
        return [at for at in everywhere if at == int(said) - 1]
    if len(here) == _BOTH:
        return [here[0 if said == "BK" else 1]]
    # One region alone bears it: it must lie back of some equation, or ahead of some.
    wrong = last if said == "BK" else 0
    return [at for at in here if len(here) == 1 and at != wrong]


def _meant(stationing: Stationing, value: float, said: str) -> float:
    """Distance along [m] at a written value with what is written behind it.

    Raises
    ------
    StationError
        If it is not finite, no region bears it, or not the one said, or several do and none is
        said.
    """
    if not math.isfinite(value):
        msg = f"station value {value!r} {stationing.unit.length} is not a finite number; mend it"
        raise StationError(msg, value=value)
    regions = regions_of(stationing)
    everywhere = bearing(value, regions)
    if not everywhere:
        why = _gap_words(stationing, value, regions)
        msg = f"station {_text(stationing, value)} does not exist: {why}"
        raise StationError(msg, value=value)
    here = _on_line(stationing, value, regions)
    fitting = _fitting(said, here, everywhere, len(regions) - 1)
    if len(fitting) != 1:
        count = {1: "once", 2: "twice"}.get(len(here), f"{len(here)} times")
        not_so = f", and not in region {said}" if said.isdigit() else f", and {said} does not fit"
        msg = (
            f"station {_text(stationing, value)} stands {count} on this leg"
            f"{not_so if said else ''}: {_which_words(stationing, value, regions)}; write the one "
            "that is meant"
        )
        raise StationError(msg, value=value, regions=[at + 1 for at in here])
    return _in_region(stationing, value, regions[fitting[0]])


def along_at(stationing: Stationing, value: float, *, region: int = 0) -> float:
    """Distance along the line [m] at a station value; one in a gap is refused.

    Parameters
    ----------
    stationing
        The leg's stationing.
    value
        The written value [the unit's length].
    region
        Which region's, from 1 up-station; 0: not said, for a value that stands once.
    """
    return _meant(stationing, value, str(region) if region else "")


def along_of(stationing: Stationing, text: str) -> float:
    """Distance along the line [m] at a label: "12+34.5", "13+00 BK", "13+00 region 2".

    A label in a gap is refused, and one that stands more than once without its region.  The name
    of the zero may stand behind it, as it is printed, and before a minus the apostrophe that
    guards it in a CSV.
    """
    plain = text.strip().removeprefix("'")
    if stationing.zero:
        plain = plain.removesuffix(f"from {stationing.zero}").strip()
    words, said = split_region(plain)
    return _meant(stationing, parse_station(words, stationing.unit), said)


def number(
    stationing: Stationing, along_m: float, *, step: float, decimals: int = 0, toward: int = 0
) -> str:
    """The numbers of a label with its region if it needs one, without the name of the zero.

    Rounding never leaves the labels that exist: at an equation it goes to the nearest multiple
    in the place's own region, and in a region too short for one it is finer.

    Parameters
    ----------
    stationing
        The leg's stationing.
    along_m
        Distance along the line, finite [m].
    step
        Round to a multiple of this [the unit's length]; 0 for no rounding but ``decimals``.
    decimals
        Digits after the point.
    toward
        0 rounds to the nearest, halves up-station; -1 down-station and 1 up-station, across an
        equation if need be.
    """
    regions = regions_of(stationing)
    at, written = _written(stationing, along_m, regions)
    value, grid = round(written, _DIGITS), step or 10**-decimals
    if toward:
        printed = outward(value, at, regions, step=grid, toward=toward)
    else:
        printed = rounded(value, at, regions, step=grid)
    text = format_station(printed.value, stationing.unit, decimals=max(decimals, printed.decimals))
    return text + _suffix(stationing, printed.value, printed.region, regions)


def label(stationing: Stationing, along_m: float, *, step: float = 0, decimals: int = 1) -> str:
    """The whole label: "12+34.5", or "2+40.0 from Elm St north curb" for a named zero.

    Parameters
    ----------
    stationing
        The leg's stationing.
    along_m
        Distance along the line, finite [m].
    step
        Round to a multiple of this [the unit's length]; 0 for no rounding but ``decimals``.
    decimals
        Digits after the point.
    """
    text = number(stationing, along_m, step=step, decimals=decimals)
    return f"{text} from {stationing.zero}" if stationing.zero else text


def stations_every(
    stationing: Stationing, step: float, *, from_m: float = 0.0, to_m: float
) -> tuple[float, ...]:
    """Distances along [m] of all round stations of a stretch, in order, both its ends included.

    Only stations that exist: an equation's gap has none, an overlap has them twice.

    Parameters
    ----------
    stationing
        The leg's stationing.
    step
        The written value is a multiple of this [the unit's length].
    from_m, to_m
        The stretch, along [m].
    """
    begin, end = _running(stationing, from_m) - SAME, _running(stationing, to_m) + SAME
    found = []
    for region in regions_of(stationing):
        low = max(region.low_value, begin + region.shift_value)
        high = min(region.high_value, end + region.shift_value)
        counts = range(math.ceil(low / step), math.floor(high / step) + 1)
        # The end of a region is the next one's begin, and bears that one's label.
        values = [count * step for count in counts if count * step < region.high_value]
        found += [_in_region(stationing, value, region) for value in values]
    return tuple(found)


def equation_places(stationing: Stationing) -> tuple[tuple[float, str], ...]:
    """Each station equation with its distance along [m]: "25+43.20 BK = 30+67.43 AH"."""
    regions = regions_of(stationing)
    return tuple(
        (
            _in_region(stationing, region.high_value, region),
            _equation(stationing, regions, at),
        )
        for at, region in enumerate(regions[:-1])
    )


def true_length_m(stationing: Stationing, first: str, last: str) -> float:
    """Length of line from one label to another [m], through all gaps and overlaps between."""
    return along_of(stationing, last) - along_of(stationing, first)
