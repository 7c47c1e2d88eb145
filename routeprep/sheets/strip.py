"""The strip for the briefing board: a ``Pack`` in, the bytes of a PDF out.

The road drawn straight along its stations, up-station to the right, in strips below each other:
its left side above, its right side below, with everything on the list once.  How it is typeset is
``strip.typ``; where each thing stands is put together here and in ``strip_drawing``.
"""

from collections.abc import Iterator, Sequence

from routeprep import listing
from routeprep.landmarks import credits_of
from routeprep.listing import Row, distance_text
from routeprep.shapes import Leg, Pack
from routeprep.sheets.drawing import draw
from routeprep.sheets.leg_pages import is_stop, is_undecided
from routeprep.sheets.strip_drawing import SIGNED, drawn, road_of
from routeprep.sheets.strip_labels import Stretch, fits
from routeprep.sheets.strip_shapes import sign
from routeprep.units import to_m
from routeprep.wording import limits_text, shift_text

__all__ = ["render", "stretches"]

_TEMPLATE = "strip.typ"
_PAPER = "tabloid"

# About so much road is drawn in one strip [m]: a quarter of a mile, so that a mile takes two pages.
_STRIP_M = {"us": to_m(1320.0, "ft"), "metric": 400.0}
# Where many things stand together a strip is halved, down to this [m].
_LEAST_M = 30.0
# Ground that is drawn beyond things that lie outside the limits of the cut [m].
_BEYOND_M = 5.0

_HOW = (
    "Up-station is to the right: what is left of the line stands above, what is right below. "
    "Lanes are not to scale; along the road it is to scale within each strip."
)
_MEANINGS = (
    "boxed: STOP",
    "broken box: NOT DECIDED, which reads STOP",
    "? there is a doubt: see the sheet",
    "white sign, whole outline: in a file, nobody saw it",
    "broken outline: lane not sure",
    "striped road: poorly looked at",
    "S and dotted curb: search here",
)
_SIGN_PT = 6.0


def _halves(stretch: Stretch) -> Iterator[Stretch]:
    """A stretch in two: by where it is, or by its things where that is too short to halve."""
    rows = stretch.rows
    if stretch.to_m - stretch.from_m > _LEAST_M:
        middle_m = (stretch.from_m + stretch.to_m) / 2
        first = tuple(row for row in rows if row["along_m"] < middle_m)
        yield Stretch(from_m=stretch.from_m, to_m=middle_m, rows=first)
        yield Stretch(from_m=middle_m, to_m=stretch.to_m, rows=rows[len(first) :])
        return
    half = len(rows) // 2
    for part in (rows[:half], rows[half:]):
        yield Stretch(from_m=stretch.from_m, to_m=stretch.to_m, rows=part)


def _readable(stretch: Stretch, leg: Leg) -> Iterator[Stretch]:
    """A stretch, halved until all its labels have room."""
    if len(stretch.rows) < 2 or fits(stretch.rows, road_of(stretch, leg)):  # noqa: PLR2004 - one thing always has room
        yield stretch
        return
    for half in _halves(stretch):
        yield from _readable(half, leg)


def stretches(leg: Leg, rows: Sequence[Row], *, units: str) -> list[Stretch]:
    """The strips of a leg in order: the cut, and whatever of the list lies outside it.

    Parameters
    ----------
    leg
        The leg.
    rows
        Its rows of the list, in order.
    units
        "us" or "metric".
    """
    from_m = min([leg.from_m, *(row["along_m"] - _BEYOND_M for row in rows)])
    to_m = max([leg.to_m, *(row["along_m"] + _BEYOND_M for row in rows)])
    count = max(1, round((to_m - from_m) / _STRIP_M[units]))
    step_m = (to_m - from_m) / count
    edges = [from_m + k * step_m for k in range(count)] + [to_m]
    found: list[Stretch] = []
    left = list(rows)
    for k in range(count):
        last = k == count - 1
        here = tuple(row for row in left if last or row["along_m"] < edges[k + 1])
        left = left[len(here) :]
        found += _readable(Stretch(from_m=edges[k], to_m=edges[k + 1], rows=here), leg)
    return found


def _legend(rows: Sequence[Row], pack: Pack) -> list[dict[str, object]]:
    """The signs of the groups that the leg has."""
    used = {pack.settings.kinds.kinds[row["kind"]].group for row in rows}
    return [
        {
            "sign": sign(at, 10.0, 9.0, radius_pt=_SIGN_PT, hollow=False, unsure=False),
            "text": group,
        }
        for at, group in enumerate(SIGNED)
        if group in used
    ]


def _told(leg: Leg, rows: Sequence[Row], *, units: str) -> str:
    stops, open_rows = sum(map(is_stop, rows)), sum(map(is_undecided, rows))
    length = distance_text(leg.to_m - leg.from_m, units=units)
    return f"{length} of cut. Things: {len(rows)}; STOP: {stops}; not decided: {open_rows}."


def _leg(leg: Leg, rows: Sequence[Row], pack: Pack) -> dict[str, object]:
    first, last = limits_text(leg)
    units = pack.settings.units
    return {
        "code": leg.settings.code,
        "name": leg.settings.name,
        "limits": f"{first} → {last}",
        "zero": f"from {leg.stationing.zero}" if leg.stationing.zero else "",
        "told": _told(leg, rows, units=units),
        "legend": _legend(rows, pack),
        "credit": " · ".join(credits_of([leg])),
        "strips": [drawn(one, leg, pack) for one in stretches(leg, rows, units=units)],
    }


def render(pack: Pack, *, paper: str = _PAPER) -> bytes:
    """Draw the strip of a pack as a tagged PDF; the same pack gives the same bytes.

    Parameters
    ----------
    pack
        What to draw.
    paper
        Of the pack's other sheets; a board takes tabloid (17 by 11 in), whatever they are on.
    """
    del paper
    rows_by_leg = listing.rows_by_leg(pack)
    own = {
        "shift": shift_text(pack.settings.date, night=pack.settings.briefing.night),
        "how": _HOW,
        "meanings": list(_MEANINGS),
        "legs": [_leg(leg, rows_by_leg[leg.settings.code], pack) for leg in pack.legs],
    }
    return draw(
        pack, own, template=_TEMPLATE, title="Obstruction strip", paper=_PAPER, landscape=True
    )
