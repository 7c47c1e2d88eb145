"""What stands on the cover: the streets, the stops, what is not decided, and what to beware of.

In go a pack and its list, out comes a plain dict that the template draws.
"""

import datetime as dt
import re
from collections.abc import Mapping, Sequence

from routeprep.briefing import Briefing, Ticket
from routeprep.linewords import sight_rows
from routeprep.listing import Row, distance_text
from routeprep.shapes import Leg, Pack
from routeprep.sheets.leg_pages import is_stop, is_undecided
from routeprep.surveywords import poor_rows, poor_text, set_aside
from routeprep.wording import date_text, depth_text, limits_text, line_text

__all__ = ["CAUTIONS", "front_page"]

CAUTIONS = (
    (
        "This list brings you to the place. Paint put down on foot tells the operator where. "
        "No paint: stop, find it, paint it."
    ),
    "The machine stops for what the eye sees, on this list or not.",
    "Not a utility locate: the one-call law of the state governs that, and its tickets expire.",
    (
        "Not a traffic control plan: a qualified person makes that, in the edition and the "
        "supplement that govern the job."
    ),
    "Not a survey: places come from drives and files, and are as good as the ± beside them.",
    (
        "Heights near wires are measured by the utility or a qualified person. "
        "A height that was guessed is never printed as a number."
    ),
    "Nobody marks or reads a screen while driving or on the platform.",
)

# To write in by hand, where the job does not say it.
_WHERE_BLANK = "Emergency: we are at ____ nearest cross street ____"
_PHONES_BLANK = ("Superintendent ____ phone ____", "Utility to call ____ phone ____")
_TICKET_BLANK = "One-call ticket ____ expires ____"
_TICKETS_BLANK = 2

# How a number of the list looks, among the places that are picked as worst.
_NUMBER = re.compile(r"[A-Z]{1,3}-\d+[A-Z]*", re.ASCII)

# So many stretches or files of one sort stand on the cover; the rest are on the back pages.
_SHOWN = 6

_SIGHT_HINT = (
    "A hint, no design check, from posted speed and side clearance. Sight over crests is not "
    "judged."
)


def _street(leg: Leg, rows: Sequence[Row], *, units: str) -> list[str]:
    first, last = limits_text(leg)
    zero = f" from {leg.stationing.zero}" if leg.stationing.zero else ""
    cut = depth_text(leg.settings.depth_m, units=units)
    return [
        leg.settings.code,
        leg.settings.name,
        f"{first} → {last}{zero}",
        distance_text(leg.to_m - leg.from_m, units=units),
        cut or "not given",
        str(len(rows)),
        str(sum(map(is_stop, rows))),
        str(sum(map(is_undecided, rows))),
    ]


def _stops(rows: Sequence[Row]) -> list[list[str]]:
    return [
        [
            row["no"],
            " ".join(part for part in (row["station_text"], row["zero_text"]) if part),
            ", ".join(filter(None, (row["what_text"], row["where_text"], row["landmark_text"]))),
            ": ".join(part for part in (row["do_text"], row["who"]) if part),
        ]
        for row in rows
        if is_stop(row)
    ]


def _ticket(one: Ticket, *, first: dt.date, last: dt.date) -> dict[str, object]:
    """A ticket with its expiry; ``loud`` where it does not last to the end of the shift."""
    said = f"One-call ticket {one.number}"
    if one.expires is None:
        return {"text": "", "blank": f"{said} expires ____".split("____"), "loud": False}
    day = date_text(one.expires)
    if one.expires < first:
        text = f"{said} EXPIRED {day}: NOT VALID, CALL FOR A NEW ONE"
    elif one.expires < last:
        text = f"{said} EXPIRES {day}, DURING THIS SHIFT: CALL FOR A NEW ONE"
    else:
        text = f"{said} expires {day}"
    return {"text": text, "blank": [], "loud": one.expires < last}


def _worst(briefing: Briefing, rows: Sequence[Row]) -> list[str]:
    """The places picked as worst: a number of the list with what is there, other words as given."""
    by_no = {str(row["no"]): row for row in rows}

    def said(text: str) -> str:
        row = by_no.get(text)
        if row is None:
            return f"{text} (not on this list)" if _NUMBER.fullmatch(text) else text
        parts = (row["station_text"], row["zero_text"], row["what_text"])
        told = ", ".join(filter(None, (row["where_text"], row["landmark_text"])))
        return f"{' '.join(filter(None, (text, *parts)))}, {told}: {row['do_text']}"

    return [said(" ".join(text.split())) for text in briefing.worst]


def _calls(pack: Pack) -> dict[str, object]:
    """Where we are and whom to call, with blanks for what the job does not say."""
    briefing, first = pack.settings.briefing, pack.settings.date
    last = first + dt.timedelta(days=1) if briefing.night else first
    tickets = [_ticket(one, first=first, last=last) for one in briefing.tickets]
    blanks = [
        *([] if briefing.where else [_WHERE_BLANK]),
        *([] if briefing.phones else _PHONES_BLANK),
        *([] if tickets else [_TICKET_BLANK] * _TICKETS_BLANK),
    ]
    return {
        "where": briefing.where,
        "phones": [[one.who, one.number, one.why] for one in briefing.phones],
        "tickets": tickets,
        "write_in": [text.split("____") for text in blanks],
    }


def _revision(pack: Pack) -> str:
    """Which revision this is, and what to do with the one before."""
    said = f"REVISION {pack.settings.revision}"
    if pack.issued is None:
        return f"{said}. Tear up any sheet of this job that bears another letter."
    if pack.issued.revision == pack.settings.revision:
        return f"{said} WAS ISSUED ALREADY: give this one a new letter."
    return f"{said}. TEAR UP REVISION {pack.issued.revision}, every page of it."


def _expect(pack: Pack, rows: Sequence[Row]) -> list[str]:
    counts = {
        "from a file, never seen by us": sum(row["times_seen"] == 0 for row in rows),
        "that need a human eye (marked ?)": sum(bool(row["doubt"]) for row in rows),
        "not understood: sort before issue, may be iron (back pages)": len(pack.unsorted),
        "left off the list, with the reason (back pages)": len(pack.elsewhere),
    }
    return [
        "Under an overlay, a parked car or mud: what nobody saw and no file holds is not here.",
        "Things " + "; ".join(f"{what}: {count}" for what, count in counts.items()) + ".",
    ]


def _cut(
    rows: Sequence[Sequence[str]], what: str, *, shown: Sequence[Sequence[str]] | None = None
) -> dict[str, object]:
    """Rows that are shown, the first where none are chosen, and how many more there are."""
    kept = rows[:_SHOWN] if shown is None else shown
    more = len(rows) - len(kept)
    text = f"and {more} more {what} on the back pages" if more else ""
    return {"rows": [list(row) for row in kept], "more": text}


def _poor(pack: Pack) -> dict[str, object]:
    """What was poorly looked at, and how much of the cut that is."""
    longest = poor_rows(pack, longest=_SHOWN)
    cut = _cut(poor_rows(pack), "stretches, all shorter,", shown=longest)
    return cut | {"title": poor_text(pack)}


def _sight(pack: Pack) -> dict[str, object]:
    """Where a driver may not see far enough to stop, with the caution that belongs to it."""
    units = pack.settings.units
    rows = [(leg.settings.code, *row) for leg in pack.legs for row in sight_rows(leg, units=units)]
    return _cut(rows, "places") | {"caution": _SIGHT_HINT}


def _aside(pack: Pack) -> dict[str, object]:
    """Files that were set aside by name."""
    return _cut([(name,) for name in set_aside(pack)], "files")


def front_page(pack: Pack, rows_by_leg: Mapping[str, Sequence[Row]]) -> dict[str, object]:
    """All that the cover shows.

    Parameters
    ----------
    pack
        The pack.
    rows_by_leg
        Leg code to its rows of the list, in order.
    """
    rows = [row for leg in pack.legs for row in rows_by_leg[leg.settings.code]]
    units = pack.settings.units
    return {
        "streets": [_street(leg, rows_by_leg[leg.settings.code], units=units) for leg in pack.legs],
        "stops": _stops(rows),
        "undecided": [row["no"] for row in rows if is_undecided(row)],
        "poor": _poor(pack),
        "sight": _sight(pack),
        "aside": _aside(pack),
        "expect": _expect(pack, rows),
        "why_draft": list(pack.draft),
        "lines": [f"Leg {leg.settings.code} runs {line_text(leg, pack)}." for leg in pack.legs],
        "cautions": list(CAUTIONS),
        "calls": _calls(pack),
        "worst": _worst(pack.settings.briefing, rows),
        "revision": _revision(pack),
    }
