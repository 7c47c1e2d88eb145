"""Mile markers beside a leg, and what a place reads from them.

In go markers in metres along with their number of miles, out come readings such as
"MM 14 + 320 ft".  They are for reference: no station is ever reckoned from them.
"""

import itertools
import math
from collections.abc import Sequence

from routeprep.shapes import Finding
from routeprep.units import StationUnit, to_m

__all__ = ["one_way", "reading_at"]

# Markers that the line has farther apart or nearer than their miles by more than this share are
# doubted: miles are seldom a mile, but not by a tenth; common practice, no source.
_DOUBTED_SHARE = 0.1
# Readings are rounded to this [ft] on a US job, to 1 m on a metric one.
_READING_FT = 10


def one_way(
    markers: Sequence[tuple[float, float, str]], *, where: str, unit: StationUnit
) -> tuple[tuple[tuple[float, float], ...], tuple[Finding, ...]]:
    """Markers in order along, none where their numbers do not run one way; how far apart they are.

    Parameters
    ----------
    markers
        Along [m], number of miles, and what to call each.
    where
        What the findings are about.
    unit
        For the distances in them.
    """
    ordered = sorted(markers)
    found = []
    ways = set()
    for (one_m, one, name), (two_m, two, other) in itertools.pairwise(ordered):
        text = (
            f"{other} lies {unit.length_text(two_m - one_m)} after {name} on the line, "
            f"{unit.length_text(to_m(abs(two - one), 'mi'))} by their miles; they stretch nothing"
        )
        wild = abs(two_m - one_m - to_m(abs(two - one), "mi")) > _DOUBTED_SHARE * (two_m - one_m)
        found.append(Finding(level="doubt" if wild else "note", where=where, text=text))
        ways.add((two > one) - (two < one))
    if len(ways) > 1 or 0 in ways:
        numbers = ", ".join(f"{miles:g}" for _, miles, _ in ordered)
        text = f"mile markers {numbers} do not run one way along the line: none is read from"
        return (), (*found, Finding(level="doubt", where=where, text=text))
    if len(ordered) == 1:
        text = f"{ordered[0][2]} stands alone: its readings take miles to run up-station"
        found.append(Finding(level="doubt", where=where, text=text))
    return tuple((along_m, miles) for along_m, miles, _ in ordered), tuple(found)


def reading_at(markers: Sequence[tuple[float, float]], along_m: float, *, units: str) -> str:
    """What a place reads from the mile marker before it; empty without markers.

    Before, in the direction in which miles count up; before the first one the distance is
    subtracted.  Nearest 10 ft, or 1 m on a metric job.

    Parameters
    ----------
    markers
        In order along, as in ``Leg``: along [m] and number of miles.
    along_m
        Distance along the line [m].
    units
        "us" or "metric".

    Examples
    --------
    >>> reading_at([(100.0, 14.0), (1709.3, 15.0)], 197.5, units="us")
    'MM 14 + 320 ft'
    """
    if not markers:
        return ""
    way = -1.0 if markers[-1][1] < markers[0][1] else 1.0
    ordered = sorted((way * at_m, miles) for at_m, miles in markers)
    before = [one for one in ordered if one[0] <= way * along_m]
    at_m, miles = before[-1] if before else ordered[0]
    away_m = way * along_m - at_m
    step_m = to_m(_READING_FT, "ft") if units == "us" else 1.0
    steps = math.floor(abs(away_m) / step_m + 0.5)
    shown = f"{steps * _READING_FT:,} ft" if units == "us" else f"{steps:,} m"
    return f"MM {miles:g} {'+' if away_m >= 0 else '-'} {shown}"
