"""Areas to cut: in goes a leg with its sections, out come its strips, right, left, across the line.

What one span cuts goes on through all spans that go on with it, with the same curbs; edges and
depths may jump where a span ends.  ``bands`` says what makes one strip across the road.
"""

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from routeprep.bands import STEP_M, Band, Edge, bands_of
from routeprep.plans import Strip
from routeprep.roadway import PARTS
from routeprep.shapes import Leg
from routeprep.spans import Span, spans_of
from routeprep.stationing import label

__all__ = ["strip_flags", "strips_of"]

Floats = npt.NDArray[np.float64]

# Rows of edges and depths that differ by less are one and the same [m].
_EQUAL_M = 1e-9

_SIDES = {1: "right", -1: "left"}
_ORDER = (1, -1, 0)
_BEYOND = ("beyond_inner", "beyond_outer")

_Chain = list[tuple[Span, Band]]


def _shared_m(one: Band, two: Band) -> float:
    """Width [m] that the end of one band shares with the begin of another of its nature."""
    nature = [
        (band.side, band.beyond_inner.curb, band.beyond_outer.curb, band.traffic, band.travel)
        for band in (one, two)
    ]
    if nature[0] != nature[1]:
        return 0.0
    return min(one.outer_m[1], two.outer_m[0]) - max(one.inner_m[1], two.inner_m[0])


def _chains(pairs: Iterable[tuple[Span, list[Band]]]) -> list[_Chain]:
    """Bands that go on from span to span: each with the one it shares most of its width with."""
    done: list[_Chain] = []
    going: list[_Chain] = []
    for span, bands in pairs:
        shared = sorted(
            (-_shared_m(chain[-1][1], band), at, to)
            for at, chain in enumerate(going)
            for to, band in enumerate(bands)
        )
        took: dict[int, _Chain] = {}
        ended = dict(enumerate(going))
        for less_m, at, to in shared:
            if -less_m > STEP_M and at in ended and to not in took:
                took[to] = ended.pop(at)
        fresh = [took.get(to, []) for to in range(len(bands))]
        done += [chain for chain in fresh if not chain]
        for chain, band in zip(fresh, bands, strict=True):
            chain.append((span, band))
        going = fresh
    return done


def _equal(one_m: float, two_m: float) -> bool:
    return abs(one_m - two_m) < _EQUAL_M or (math.isnan(one_m) and math.isnan(two_m))


def _rows(chain: _Chain) -> Floats:
    """Rows of along, inner and outer edge, their depths, and the shoulder [m], outward."""
    rows: list[tuple[float, ...]] = []
    for span, band in chain:
        depths = (band.depth_inner_m, band.depth_outer_m)
        begin, end = (
            (along_m, band.inner_m[at], band.outer_m[at], *depths, band.shoulder_m[at])
            for at, along_m in enumerate((span.begin_m, span.end_m))
        )
        if not rows:
            rows.append(begin)
        elif not all(map(_equal, rows[-1][1:], begin[1:])):
            rows.append((begin[0] + STEP_M, *begin[1:]))
        rows.append(end)
    return np.array(rows, dtype=np.float64)


def _beyond(edges: Iterable[Edge]) -> str:
    """What lies beyond an edge all along; empty where somewhere nobody says."""
    words = list(dict.fromkeys(edge.what for edge in edges))
    return "" if "" in words else " or ".join(words)


def _name(chain: _Chain) -> str:
    """What a strip is: "right lane and parking"."""
    first = chain[0][1]
    most = {
        what: count
        for what in PARTS
        if (count := max(band.parts.count(what) for _, band in chain)) > 0
    }
    words = [what if count == 1 else f"{count} {what}s" for what, count in most.items()]
    said = " and ".join([", ".join(words[:-1]), words[-1]] if words[1:] else words)
    return f"{_SIDES[first.side]} {said}" if first.side else f"{said} across the line"


def _strip(chain: _Chain, code: str) -> Strip:
    """A strip with its edges left and right, looking up-station."""
    along_m, inner_m, outer_m, depth_inner_m, depth_outer_m, shoulder_m = _rows(chain).T
    first = chain[0][1]
    inner = (inner_m, depth_inner_m, first.beyond_inner.curb)
    outer = (outer_m, depth_outer_m, first.beyond_outer.curb)
    said = [_beyond(getattr(band, name) for _, band in chain) for name in _BEYOND]
    sign, edges = 1.0, [inner, outer]
    if first.side < 0:
        sign, edges, said = -1.0, edges[::-1], said[::-1]
    return Strip(
        leg=code,
        name=_name(chain),
        along_m=along_m,
        # No minus before a zero: it is printed.
        left_m=sign * edges[0][0] + 0.0,
        right_m=sign * edges[1][0] + 0.0,
        depth_left_m=edges[0][1],
        depth_right_m=edges[1][1],
        curb_left=edges[0][2],
        curb_right=edges[1][2],
        beyond_left=said[0],
        beyond_right=said[1],
        shoulder_m=sign * shoulder_m,
        traffic=first.traffic,
        travel=first.travel,
    )


def _named_apart(strips: Sequence[Strip], leg: Leg) -> tuple[Strip, ...]:
    """The strips with names that stand once on the leg."""
    names = [strip.name for strip in strips]
    times = Counter(names)
    apart = [
        f"{name} from {label(leg.stationing, float(strip.along_m[0]), decimals=0)}"
        if times[name] > 1
        else name
        for name, strip in zip(names, strips, strict=True)
    ]
    times, seen, final = Counter(apart), Counter[str](), []
    for name in apart:
        seen[name] += 1
        final.append(f"{name} ({seen[name]})" if times[name] > 1 else name)
    return tuple(replace(strip, name=name) for strip, name in zip(strips, final, strict=True))


def strips_of(leg: Leg) -> tuple[Strip, ...]:
    """Strips of a leg within the limits of its cut: right of the line, left of it, across it.

    Without sections the leg's lanes are cut from limit to limit, and what lies beyond them is not
    given.  Within a side they stand in order along, then from the line outward.

    Parameters
    ----------
    leg
        The leg with its sections.
    """
    chains = _chains((span, bands_of(span, leg)) for span in spans_of(leg))
    chains.sort(
        key=lambda chain: (
            _ORDER.index(chain[0][1].side),
            chain[0][0].begin_m,
            chain[0][1].inner_m,
        )
    )
    return _named_apart([_strip(chain, leg.settings.code) for chain in chains], leg)


def strip_flags(strips: Sequence[Strip], leg: Leg) -> tuple[str, ...]:
    """Say what a person must know of the strips of a leg before they are cut.

    Parameters
    ----------
    strips
        Of this leg.
    leg
        The leg.
    """
    said = leg.settings
    where, flags = f"leg {said.code}", []
    if not strips:
        flags.append(f"{where}: nothing is cut: no lane and no part of a section is")
    elif not said.sections:
        flags.append(
            f"{where}: no section says what lies across the road; the lanes alone are cut, and "
            "whether a curb or a shoulder ends them is not known: give [[leg.section]]"
        )
    for side, lanes in (("left", said.lanes_left), ("right", said.lanes_right)):
        if lanes and said.sections and not any(getattr(one, side) for one in said.sections):
            flags.append(
                f"{where}: no section says what lies {side} of the line, where the leg has lanes "
                f"({lanes}): nothing is cut there; give {side}"
            )
    for strip in strips:
        if np.isnan(strip.depth_left_m + strip.depth_right_m).any():
            flags.append(f"{where}, {strip.name}: the depth is not given; give it")
        unknown = [
            side
            for side, beyond, curb in (
                ("left", strip.beyond_left, strip.curb_left),
                ("right", strip.beyond_right, strip.curb_right),
            )
            if not beyond and not curb
        ]
        if said.sections and unknown:
            sides = " and ".join(unknown)
            flags.append(
                f"{where}, {strip.name}: what lies beyond its {sides} edge is not given "
                f"everywhere; give edge_{' and edge_'.join(unknown)}"
            )
    return tuple(flags)
