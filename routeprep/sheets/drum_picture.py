"""Where a thing lies under the drum or beside it, as the operator sees it: a small picture's data.

In go a meeting and its pass, out comes a plain dict that the template draws, with the words under
the picture and its alternative text.
"""

import math

from routeprep.listing import Row, distance_text
from routeprep.plans import Meeting, Pass
from routeprep.planwords import hands, turned
from routeprep.spreads import HALF_95

__all__ = ["drum_picture", "is_taped"]

# An offset counts as taped when it is known within this, 95 % [m]: the 2 ft of the side plate.
_TAPED_WITHIN_M = 0.61
# Stripes are at least this share of the drum wide, so that they are seen.
_LEAST_SHARE = 0.2
_LEFT, _RIGHT = "YOUR LEFT", "YOUR RIGHT"
_THIRDS = (f"{_LEFT} third", "middle third", f"{_RIGHT} third")
# What is said of where across the road; the left and right of other frames are not the operator's.
_PLACES = (
    "curb or edge", "outer wheel path", "between wheel paths", "inner wheel path", "on the line",
)  # fmt: skip
_WHOLE = "whole road"


def is_taped(row: Row) -> bool:
    """Whether how far it is from the drum's edge may be printed in feet."""
    half_m = HALF_95 * float(row["offset_sd_m"])
    return str(row["method"]) == "taped" and half_m <= _TAPED_WITHIN_M


def _nearer(left_m: float, right_m: float, *, units: str) -> str:
    """How far from the nearer edge of the drum."""
    nearer_m, hand = min((left_m, _LEFT), (right_m, _RIGHT))
    return f"{distance_text(nearer_m, units=units, step=1)} from {hand} edge"


def _beside(left_m: float, right_m: float, *, taped: bool, units: str) -> tuple[str, str]:
    """Kind and words of what lies just outside the drum."""
    if math.isnan(left_m) or math.isnan(right_m):
        return "beside", "just outside the drum, side not known"
    outside_m, hand = max((-left_m, _LEFT), (-right_m, _RIGHT))
    kind = "left" if hand == _LEFT else "right"
    if taped:
        far = distance_text(max(outside_m, 0.0), units=units, step=1)
        return kind, f"{far} outside {hand} edge"
    return kind, f"just outside {hand} edge, not taped"


def _under(left_m: float, width_m: float) -> float:
    """How far across the drum from YOUR LEFT, of 1."""
    return min(max(left_m / width_m, 0.0), 1.0)


def _striped(left_m: float, width_m: float, half_m: float) -> tuple[float, float]:
    """From where to where across the drum it may lie, of 1."""
    if math.isnan(left_m) or not width_m > 0:
        return 0.0, 1.0
    spread = max(half_m / width_m, _LEAST_SHARE / 2)
    # What may lie under the drum is striped on it, even if its likeliest place is beside.
    middle = min(max(left_m / width_m, _LEAST_SHARE / 2), 1.0 - _LEAST_SHARE / 2)
    return max(middle - spread, 0.0), min(middle + spread, 1.0)


def _place(row: Row) -> str:
    return str(row["across"]) if row["across"] in _PLACES else ""


def _crossing(row: Row) -> dict[str, object]:
    whole = row["across"] == _WHOLE
    return {"kind": "over", "words": "whole width of the road" if whole else "over the drum"}


def _cut(row: Row, left_m: float, right_m: float, *, units: str) -> dict[str, object]:
    width_m = left_m + right_m
    if math.isnan(width_m) or not width_m > 0:
        words = ", ".join(filter(None, (_place(row), "where under the drum: not known")))
        return {"kind": "striped", "from": 0.0, "to": 1.0, "words": words}
    at = _under(left_m, width_m)
    if is_taped(row):
        return {"kind": "x", "at": at, "words": _nearer(left_m, right_m, units=units)}
    third = _THIRDS[min(int(3 * at), 2)]
    words = ", ".join(filter(None, (_place(row), f"about {third}, not taped")))
    return {"kind": "x", "at": at, "words": words}


def drum_picture(met: Meeting, one: Pass, row: Row, *, units: str) -> dict[str, object]:
    """What the small picture of the drum shows.

    Parameters
    ----------
    met
        The thing as the pass meets it.
    one
        The pass.
    row
        The thing's row of the list.
    units
        "us" or "metric".

    Returns
    -------
    dict
        ``kind`` ("x", "striped", "left", "right", "beside" or "over"), ``at`` or ``from`` and
        ``to`` across the drum from YOUR LEFT (of 1), ``words`` under it, ``curb`` (the hand on
        which the curb is drawn: "left", "right" or ""), and ``alt``.
    """
    left_m, right_m = turned(one, met.from_left_m, met.from_right_m)
    if met.touch == "over":
        shown = _crossing(row)
    elif met.touch == "side":
        kind, words = _beside(left_m, right_m, taped=is_taped(row), units=units)
        shown = {"kind": kind, "words": words}
    elif met.touch == "maybe":
        half_m = HALF_95 * float(row["offset_sd_m"])
        first, last = _striped(left_m, left_m + right_m, half_m)
        words = ", ".join(filter(None, (_place(row), "may be under the drum: not sure")))
        shown = {"kind": "striped", "from": first, "to": last, "words": words}
    else:
        shown = _cut(row, left_m, right_m, units=units)
    at_left, at_right = hands(one)
    curb = "left" if at_left == "curb side" else "right" if at_right == "curb side" else ""
    side = f"; curb side on YOUR {curb.upper()}" if curb else ""
    marks = {"striped": "stripes", "over": "bar across"}.get(str(shown["kind"]), "X")
    return shown | {"curb": curb, "alt": f"Drum, {marks}: {shown['words']}{side}"}
