"""How deep the cut is at each thing: in go rows of the list and legs, out come depths.

A section says how deep its parts are cut; a part without a depth, and a leg without sections, is
cut as deep as the leg.
"""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from routeprep.shapes import Leg
from routeprep.spans import Span, spans_of
from routeprep.spreads import HALF_95

__all__ = ["deepest_m"]


def _deepest_part_m(span: Span, leg_m: float) -> float:
    """The deepest cut across a span [m]; NaN where one is not given, 0 where nothing is cut."""
    section = span.section
    depths_m = [
        leg_m if math.isnan(edge_m) else edge_m
        for part in (*section.left, *section.right)
        if part.cut
        for edge_m in (part.depth_in_m, part.depth_out_m)
    ]
    return math.nan if any(map(math.isnan, depths_m)) else max(depths_m, default=0.0)


class _Depths:
    """The deepest cut across each span of a leg [m]."""

    def __init__(self, leg: Leg) -> None:
        self.leg_m = leg.settings.depth_m
        spans = spans_of(leg) if leg.settings.sections else []
        deepest = [(one, _deepest_part_m(one, self.leg_m)) for one in spans]
        self.spans = [(one.begin_m, one.end_m, deep_m) for one, deep_m in deepest]

    def between(self, from_m: float, to_m: float) -> float:
        """The deepest cut anywhere between two places along [m].

        Where no section lies, or nothing is cut across it, the leg's depth stands for what might
        be cut there.
        """
        found_m = [
            deep_m for begin_m, end_m, deep_m in self.spans if begin_m <= to_m and end_m >= from_m
        ]
        if any(map(math.isnan, found_m)):
            return math.nan
        return max(found_m, default=0.0) or self.leg_m


def deepest_m(rows: Sequence[Mapping[str, Any]], legs: Sequence[Leg]) -> list[float]:
    """The deepest cut of each thing's leg anywhere within its reach and its ± along (95 %) [m].

    Parameters
    ----------
    rows
        Of ``tables.OBSTRUCTIONS``.
    legs
        Of the job.

    Returns
    -------
    list
        A depth a row; NaN where a depth is not given.

    Raises
    ------
    RouteprepError
        If a section's stations do not exist, or the sections do not fit together.
    """
    of_leg = {leg.settings.code: _Depths(leg) for leg in legs}
    found = []
    for row in rows:
        half_m = HALF_95 * float(row["along_sd_m"])
        from_m, to_m = (float(row[name]) for name in ("from_m", "to_m"))
        along_m = float(row["along_m"])
        depths = of_leg[str(row["leg"])]
        found.append(depths.between(min(from_m, along_m) - half_m, max(to_m, along_m) + half_m))
    return found
