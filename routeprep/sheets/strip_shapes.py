"""The parts of a drawing as plain data, and the road of a strip.

In go places in points, out come dicts that the template draws one by one: lines, areas, signs and
texts, from the upper left corner, x to the right and y down.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["GROUP_SIGNS", "Road", "area", "line", "sign", "writing"]

# The corners of the sign of each group of kinds, in the groups' order, in units of its radius, as
# on the map; none is a circle.  Shape carries the meaning, since sheets get photocopied.
GROUP_SIGNS: tuple[tuple[tuple[float, float], ...], ...] = (
    (),
    ((-0.95, -0.95), (0.95, -0.95), (0.95, 0.95), (-0.95, 0.95)),
    ((0, -1.25), (1.25, 0), (0, 1.25), (-1.25, 0)),
    ((-0.6, -0.95), (0.6, -0.95), (1.2, 0), (0.6, 0.95), (-0.6, 0.95), (-1.2, 0)),
    ((0, -1.25), (1.3, 0.9), (-1.3, 0.9)),
    ((0, -1.15), (1.05, -0.35), (1.05, 0.95), (-1.05, 0.95), (-1.05, -0.35)),
    ((-1.05, -0.95), (1.05, -0.95), (1.05, 0.3), (0, 1.2), (-1.05, 0.3)),
    (
        (-0.5, -1.15), (0.5, -1.15), (0.5, -0.55), (1.2, -0.55), (1.2, 0.55), (0.5, 0.55),
        (0.5, 1.15), (-0.5, 1.15), (-0.5, 0.55), (-1.2, 0.55), (-1.2, -0.55), (-0.5, -0.55),
    ),
    ((-1.3, -0.9), (1.3, -0.9), (0, 1.25)),
)  # fmt: skip

# One lane on paper, and the ground beside the road that things may stand on [pt].
_LANE_PT, _SHOULDER_PT = 22.0, 9.0

# Where across a lane the boxes of the list are, from the curb to the line, of its width.
_BOXES = (0.95, 0.75, 0.5, 0.25, 0.0)
_MIDDLE = 0.5

_DECIMALS = 2


def _round(*values: float) -> list[float]:
    return [round(value, _DECIMALS) + 0.0 for value in values]


def line(
    points: Sequence[float], *, wide: float = 0.8, dash: str = "solid", grey: int = 0
) -> dict[str, object]:
    """A line from one point to another: x, y, x, y."""
    return {"is": "line", "at": _round(*points), "wide": wide, "dash": dash, "grey": grey}


def area(
    corner: Sequence[float], *, fill: str = "none", wide: float = 0.0, dash: str = "solid"
) -> dict[str, object]:
    """A rectangle from its upper left corner: x, y, width, height; ``fill`` is named."""
    return {"is": "area", "at": _round(*corner), "fill": fill, "wide": wide, "dash": dash}


def sign(
    group: int, x_pt: float, y_pt: float, *, radius_pt: float, hollow: bool, unsure: bool
) -> dict[str, object]:
    """The sign of a thing: by its group, hollow when never seen, its outline broken if not sure.

    Parameters
    ----------
    group
        Place among the groups of kinds.
    x_pt, y_pt
        Its middle [pt].
    radius_pt
        Its size [pt].
    hollow
        Whether only a file knows it.
    unsure
        Whether nobody knows the lane.
    """
    corners = [_round(x_pt + a * radius_pt, y_pt + b * radius_pt) for a, b in GROUP_SIGNS[group]]
    return {
        "is": "sign",
        "corners": corners,
        "middle": _round(x_pt, y_pt),
        "radius": radius_pt,
        "fill": "white" if hollow or unsure else "black",
        "dash": "dashed" if unsure else "solid",
    }


def writing(text: str, x_pt: float, y_pt: float, *, size: float, width: float) -> dict[str, object]:
    """A line of bold text about a middle, its top at y."""
    at = _round(x_pt - width / 2, y_pt, width)
    return {"is": "writing", "text": text, "at": at, "size": size}


@dataclass(frozen=True, slots=True, kw_only=True)
class Road:
    """The road of a strip on paper.

    Attributes
    ----------
    from_m, to_m
        What of the leg it shows, along [m].
    lanes_left, lanes_right
        Its lanes.
    lane_width_m
        Of one lane [m].
    width_pt
        How long it is on paper [pt].
    top_pt
        Its left edge on paper, which is above [pt].
    """

    from_m: float
    to_m: float
    lanes_left: int
    lanes_right: int
    lane_width_m: float
    width_pt: float
    top_pt: float = 0.0

    @property
    def middle_pt(self) -> float:
        """The line on paper [pt]."""
        return self.top_pt + self.lanes_left * _LANE_PT

    @property
    def bottom_pt(self) -> float:
        """The right edge on paper [pt]."""
        return self.middle_pt + self.lanes_right * _LANE_PT

    def lane_lines_pt(self) -> list[float]:
        """Lines between lanes of one direction on paper [pt]."""
        lanes = [*range(1, self.lanes_left)], [*range(1, self.lanes_right)]
        return [
            self.middle_pt + way * k * _LANE_PT
            for way, own in zip((-1, 1), lanes, strict=True)
            for k in own
        ]

    def x_pt(self, along_m: float) -> float:
        """Where a place along is on paper [pt]; nothing lies off the strip."""
        share = (along_m - self.from_m) / (self.to_m - self.from_m)
        return self.width_pt * min(max(share, 0.0), 1.0)

    def _within(self, y_pt: float) -> float:
        return min(max(y_pt, self.top_pt - _SHOULDER_PT), self.bottom_pt + _SHOULDER_PT)

    def y_pt(self, lane: str, box: int, offset_m: float) -> float:
        """Where across it is on paper [pt]: by lane and box, else by the offset.

        Parameters
        ----------
        lane
            "L1", "R2", … or empty.
        box
            Place among the boxes of the list from curb to line, -1 when not known.
        offset_m
            From the line, right positive [m]; what lies beside the road is drawn beside it.
        """
        if lane[1:].isdigit():
            share = _BOXES[box] if box >= 0 else _MIDDLE
            side = 1.0 if lane[0] == "R" else -1.0
            return self._within(self.middle_pt + side * (int(lane[1:]) - 1 + share) * _LANE_PT)
        if box == len(_BOXES) - 1 or not math.isfinite(offset_m):
            return self.middle_pt
        return self._within(self.middle_pt + offset_m / self.lane_width_m * _LANE_PT)

    def across(self, lane: str, *, whole: bool) -> tuple[float, float]:
        """Upper and lower edge of what a reach takes up: its lane, or the whole road [pt]."""
        if whole or not lane[1:].isdigit():
            return self.top_pt, self.bottom_pt
        side, number = (1.0 if lane[0] == "R" else -1.0), int(lane[1:])
        edges = [self.middle_pt + side * k * _LANE_PT for k in (number - 1, number)]
        return self._within(min(edges)), self._within(max(edges))
