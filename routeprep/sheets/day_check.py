"""The day-check form: a ``Pack`` in, the bytes of a PDF out.

For who drives or walks the job on the day, before the machine: each thing and each limit once
more, same, changed or not looked at; what a phone sent already is filled in.  How it looks is
``day-check.typ``.
"""

from collections.abc import Iterator, Sequence

from routeprep.daychecks import (
    Checked,
    DayChecks,
    LegChecks,
    day_checks,
    names_text,
    words_of,
)
from routeprep.listing import Row, rows_by_leg
from routeprep.remarks import CHECKS
from routeprep.shapes import Leg, Pack
from routeprep.sheets.drawing import draw
from routeprep.wording import limits_text, shift_text

__all__ = ["render"]

_TEMPLATE = "day-check.typ"

_HOW = (
    (
        "Look at each line once more before the machine comes, and put an X. Write what is new, "
        "who looked and when. A blank line was not looked at."
    ),
    (
        "Changed: tell the superintendent and the crew at once, mark it in paint, and issue the "
        "list again. What is written here changes no other sheet."
    ),
    "Walk it facing traffic, behind the closure or off the road. Nobody writes while driving.",
)
# What to look for along the whole street, with the two answers.
_ASKED = (
    ("New patch or cut since the list was made", "none", "yes"),
    ("Paint still there: numbers and limits", "all", "gone"),
    ("Parked cars or bins in the cut", "none", "yes"),
    ("Moved limits: cut, closure, steel plates", "none", "yes"),
)
# So many numbers stand at the foot of a page, some three lines; boxes that are blank say the rest.
_NAMED = 40


def _marks(checked: Checked) -> dict[str, object]:
    """Which box has the X, and what was said; no X where nobody said anything."""
    known = bool(checked.said)
    return {
        "at": CHECKS.index(checked.says) if known else -1,
        "said": words_of(checked) if known or checked.aside else "",
    }


def _thing(row: Row, checked: Checked) -> dict[str, object]:
    where = (row["where_text"], row["landmark_text"])
    return {
        "type": "thing",
        "no": row["no"],
        "station": row["station_text"],
        "plus_minus": row["plus_minus_text"],
        "what": row["what_text"],
        "where": "; ".join(text for text in where if text),
        "struck": bool(row["struck"]),
    } | _marks(checked)


def _limit(what: str, station: str, words: str, checked: Checked) -> dict[str, object]:
    return {
        "type": "limit",
        "no": what,
        "station": station,
        "plus_minus": "",
        "what": words,
        "where": "",
        "struck": False,
    } | _marks(checked)


def _rows(leg: Leg, rows: Sequence[Row], day: LegChecks) -> list[dict[str, object]]:
    """Things and limits in station order, the street last."""
    first, last = limits_text(leg)
    begin = _limit("BEGIN", first, "the cut begins", day.begin)
    end = _limit("END", last, "the cut ends", day.end)

    def placed() -> Iterator[tuple[float, int, int, dict[str, object]]]:
        yield leg.from_m, 0, 0, begin
        for at, (row, checked) in enumerate(zip(rows, day.things, strict=True)):
            yield float(row["along_m"]), 1, at, _thing(row, checked)
        yield leg.to_m, 2, 0, end

    in_order = [item for *_, item in sorted(placed(), key=lambda one: one[:3])]
    return [*in_order, _limit("STREET", "", "the street itself: see below", day.street)]


def _missed_text(day: LegChecks) -> str:
    """What of a leg was not looked at, for the foot of its pages."""
    missed = [one for one in day.things if not one.looked_at]
    others = [one for one in (*day.limits, day.street) if not one.looked_at]
    count = len(day.things)
    if len(missed) == count and len(others) == len(day.limits) + 1:
        return f"NOT RE-CHECKED: ALL of leg {day.code}: {count} things, both limits, the street"
    if not missed and not others:
        return f"RE-CHECKED: ALL of leg {day.code}: {count} things, both limits, the street"
    things = f": {names_text(missed, most=_NAMED)}" if missed else ""
    also = "".join(f" · {one.name}" for one in others)
    return f"NOT RE-CHECKED: {len(missed)} OF {count} things of leg {day.code}{things}{also}"


def _changed(day: DayChecks) -> list[dict[str, str]]:
    """What was found changed, in the order of the list, with the words."""
    every = (*day.things, *day.limits, *day.streets)
    changed = CHECKS[1]
    return [{"no": one.name, "said": words_of(one)} for one in every if one.says == changed]


def _leg(leg: Leg, rows: Sequence[Row], day: LegChecks) -> dict[str, object]:
    first, last = limits_text(leg)
    return {
        "code": leg.settings.code,
        "name": leg.settings.name,
        "limits": f"{first} → {last}",
        "zero": f"from {leg.stationing.zero}" if leg.stationing.zero else "",
        "rows": _rows(leg, rows, day),
        "missed": _missed_text(day),
    }


def render(pack: Pack, *, paper: str = "letter") -> bytes:
    """Draw the day-check form of a pack as a tagged PDF; the same pack gives the same bytes.

    Parameters
    ----------
    pack
        What to draw; boxes are filled from the checks among its remarks.
    paper
        "letter", "a4" or "tabloid".
    """
    day, listed = day_checks(pack), rows_by_leg(pack)
    own = {
        "shift": shift_text(pack.settings.date, night=pack.settings.briefing.night),
        "how": list(_HOW),
        "asked": [list(one) for one in _ASKED],
        "changed": _changed(day),
        "legs": [
            _leg(leg, listed[of_leg.code], of_leg)
            for leg, of_leg in zip(pack.legs, day.legs, strict=True)
        ],
        "astray": [f"{one.subject}: {words_of(one)}" for one in day.astray],
    }
    return draw(pack, own, template=_TEMPLATE, title="Check on the day", paper=paper)
