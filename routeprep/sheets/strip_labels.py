"""The labels of a strip: what is written for each thing, and where it stands beside the road.

In go a stretch of a leg with its rows of the list, out come the parts of the drawing.  Labels of
the left side stand above the road, of the right side below.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from routeprep.listing import Row
from routeprep.sheets.leg_pages import is_stop, is_undecided
from routeprep.sheets.lettering import lines_of, text_pt
from routeprep.sheets.strip_layout import Placed, farthest, rows_needed, spread
from routeprep.sheets.strip_shapes import Road, line

__all__ = ["WIDTH_PT", "Side", "Stretch", "fits", "side_parts", "sides_of"]

# How long a strip is on paper [pt]: 17 in less two sides of 30 pt.
WIDTH_PT = 17 * 72.0 - 60.0

# Sizes of type [pt]; numbers are read from two metres.
_NO_PT, _CODE_PT, _DO_PT = 16.0, 11.0, 12.0
# A line of what to do is no longer than this [pt].
_DO_ROOM_PT = 84.0
# Heights of the lines of a label, the space inside it and between two [pt].
_NO_HIGH_PT, _DO_HIGH_PT, _INSIDE_PT, _BETWEEN_PT = 17.0, 13.0, 3.0, 6.0
# Leaders slant within this before each row of labels [pt].
_SLANT_PT = 12.0

# So many rows of labels may stand on one side, and so far from its thing a label may [pt].
_ROWS_MOST, _FAR_MOST_PT = 3, 220.0

_NOT_DECIDED = "NOT DECIDED"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stretch:
    """A stretch of a leg, along [m], and the rows of the list that are drawn on it, in order."""

    from_m: float
    to_m: float
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Label:
    """What is written for one thing: number, code, doubt, what to do in lines; and how large."""

    row: Row
    head: tuple[str, str, str]
    do: tuple[str, ...]
    width_pt: float
    high_pt: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Side:
    """The labels of one side and their places; ``way`` is -1 above the road, 1 below it."""

    labels: Sequence[_Label]
    placed: Sequence[Placed]
    way: int

    def row_pt(self, row: int) -> float:
        """Height of a row of labels [pt], that of its highest."""
        both = zip(self.labels, self.placed, strict=True)
        return max(label.high_pt for label, placed in both if placed.row == row)

    def out_pt(self, rows: int) -> float:
        """How far so many rows reach out from the ground of the road [pt]."""
        return sum(self.row_pt(row) + _SLANT_PT for row in range(rows))

    def high_pt(self) -> float:
        """Height of all rows with the leaders before them [pt]."""
        return self.out_pt(rows_needed(self.placed))

    def near_pt(self, row: int, edge_pt: float) -> float:
        """The edge of a row that is nearer to the road [pt], from the edge of the road [pt]."""
        return edge_pt + self.way * (self.out_pt(row) + _SLANT_PT)


def _what_to_do(row: Row) -> str:
    if row["struck"]:
        return "GONE"
    return _NOT_DECIDED if is_undecided(row) else str(row["do_text"])


def _label(row: Row) -> _Label:
    head = (str(row["no"]), str(row["kind"]), "?" if row["doubt"] else "")
    do = lines_of(_what_to_do(row), _DO_PT, room_pt=_DO_ROOM_PT)
    head_pt = (
        text_pt(f"{head[0]} {head[2]}", _NO_PT) + text_pt(f" {head[1]} ", _CODE_PT, bold=False)
    )  # fmt: skip
    widest_pt = max([head_pt, *(text_pt(one, _DO_PT) for one in do)])
    return _Label(
        row=row,
        head=head,
        do=tuple(do),
        width_pt=widest_pt + 2 * _INSIDE_PT,
        high_pt=_NO_HIGH_PT + len(do) * _DO_HIGH_PT + 2 * _INSIDE_PT,
    )


def _by_side(rows: Sequence[Row]) -> tuple[list[_Label], list[_Label]]:
    """Labels above and below the road; what is on no side stands where there are fewer."""
    above: list[_Label] = []
    below: list[_Label] = []
    for row in rows:
        nearer = above if len(above) <= len(below) else below
        {"L": above, "R": below}.get(row["side"], nearer).append(_label(row))
    return above, below


def _wanted(labels: Sequence[_Label], road: Road) -> list[float]:
    return [road.x_pt(float(one.row["along_m"])) for one in labels]


def _placed(labels: Sequence[_Label], road: Road) -> list[Placed]:
    """Where the labels of one side stand; none where they do not all have room."""
    widths = [one.width_pt + _BETWEEN_PT for one in labels]
    return spread(_wanted(labels, road), widths, room_pt=WIDTH_PT, most=_ROWS_MOST) or []


def fits(rows: Sequence[Row], road: Road) -> bool:
    """Whether the labels of all rows have room, none of them far from its thing.

    Parameters
    ----------
    rows
        The rows of a stretch.
    road
        The road that they stand on.
    """
    for labels in _by_side(rows):
        placed = _placed(labels, road)
        if len(placed) != len(labels):
            return False
        if farthest(_wanted(labels, road), placed) > _FAR_MOST_PT:
            return False
    return True


def sides_of(rows: Sequence[Row], road: Road) -> tuple[Side, Side]:
    """The labels above and below the road, with their places.

    Parameters
    ----------
    rows
        Rows that fit.
    road
        The road that they stand on.
    """
    above, below = _by_side(rows)
    return (
        Side(labels=above, placed=_placed(above, road), way=-1),
        Side(labels=below, placed=_placed(below, road), way=1),
    )


def _leader(
    side: Side, placed: Placed, start_pt: tuple[float, float], edge_pt: float
) -> Iterator[dict[str, object]]:
    """The way from a sign to its label: straight to the edge, then from row to row."""
    x_pt, y_pt = start_pt
    yield line((x_pt, y_pt, x_pt, edge_pt))
    y_pt = edge_pt
    for row, turn_pt in enumerate(placed.turns_pt):
        near_pt = side.near_pt(row, edge_pt)
        yield line((x_pt, y_pt, turn_pt, near_pt))
        x_pt, y_pt = turn_pt, near_pt + side.way * side.row_pt(row)
        if row < placed.row:
            yield line((turn_pt, near_pt, turn_pt, y_pt))


def _written(label: _Label, placed: Placed, side: Side, edge_pt: float) -> dict[str, object]:
    """A label as it is drawn; its nearer edge is on its row's."""
    row, near_pt = label.row, side.near_pt(placed.row, edge_pt)
    top_pt = near_pt if side.way > 0 else near_pt - label.high_pt
    number, code, doubt = label.head
    left_pt = placed.turns_pt[-1] - label.width_pt / 2
    return {
        "is": "label",
        "at": [round(one, 2) for one in (left_pt, top_pt, label.width_pt, label.high_pt)],
        "no": number,
        "code": code,
        "doubt": doubt,
        "do": list(label.do),
        "box": "dashed" if is_undecided(row) else "solid" if is_stop(row) else "none",
        "struck": bool(row["struck"]),
    }


def side_parts(
    side: Side, starts_pt: Sequence[tuple[float, float]], edge_pt: float
) -> tuple[list[dict[str, object]], list[dict[str, object]]]:
    """Leaders and labels of one side.

    Parameters
    ----------
    side
        The side.
    starts_pt
        Where the sign of each thing is, x and y [pt].
    edge_pt
        Where the ground of the road ends on that side [pt].
    """
    leaders: list[dict[str, object]] = []
    labels: list[dict[str, object]] = []
    for label, placed, start in zip(side.labels, side.placed, starts_pt, strict=True):
        leaders += _leader(side, placed, start, edge_pt)
        labels.append(_written(label, placed, side, edge_pt))
    return leaders, labels
