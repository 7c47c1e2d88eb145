"""What changed since the list was last issued: one line a thing, in station order.

In goes a ``Pack`` with the list as it was last issued, out come changes in words, in feet for a
US job.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from routeprep.errors import StationError
from routeprep.listing import Row, distance_text, rows_by_leg
from routeprep.shapes import Leg, Pack
from routeprep.stationing import along_of
from routeprep.tables import rows_of
from routeprep.units import to_m

__all__ = ["Change", "changes"]

# Stations are printed to 5 ft (1 m): a place that moved by more than that reads differently,
# whatever its ± is.
_MOVED_M = to_m(5.0, "ft")

# A row of the list as it was issued, by the names of ``tables.ISSUED``.
_Was = Mapping[str, Any]

# One more look from a vehicle changes nothing for a crew.
_SEEN = {"seen once", "seen twice or more"}

# What follows a status in brackets is who and when.
_OPEN = " ("


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One thing that reads otherwise than on the paper before.

    Attributes
    ----------
    leg, no
        Its leg and number.
    station
        Where it is now, as printed; for one that is gone, where it was.
    along_m
        The same along the leg [m].
    name
        What it is.
    sorts
        What changed: "new", "gone", "struck", "moved", "side", "kind", "status", "decided".
    text
        The same in words.
    """

    leg: str
    no: str
    station: str
    along_m: float
    name: str
    sorts: tuple[str, ...]
    text: str


def _was_at(was: _Was, leg: Leg) -> tuple[float, bool]:
    """Where the station on the old paper lies today [m], and whether it still exists."""
    try:
        return along_of(leg.stationing, str(was["station"])), True
    except StationError:
        return float(was["along_m"]), False


def _moved(row: Row, was: _Was, leg: Leg, *, units: str) -> str:
    """How far a thing is from where the old paper leads to; empty when it reads the same."""
    was_m, exists = _was_at(was, leg)
    apart_m = float(row["along_m"]) - was_m
    if not exists:
        return f"its station was {was['station']}, which is on this leg no longer"
    if abs(apart_m) <= _MOVED_M:
        return ""
    way = "up" if apart_m > 0 else "down"
    sure = abs(apart_m) > row["plus_minus_m"] + was["plus_minus_m"]
    doubt = "" if sure else ", within the ± of both"
    far = distance_text(abs(apart_m), units=units)
    return f"moved {far} {way}-station, was at {was['station']}{doubt}"


def _side(row: Row, was: _Was) -> str:
    """Where across it was, when that changed."""
    after, before = ([str(one["lane"]), str(one["across"])] for one in (row, was))
    if after == before:
        return ""
    said, told = (", ".join(filter(None, one)) or "not known" for one in (after, before))
    return f"across: {said}, was {told}"


def _kind(row: Row, was: _Was) -> str:
    return "" if row["name"] == was["name"] else f"is {row['name']}, was {was['name']}"


def _status(row: Row, was: _Was) -> str:
    """What was done there since; who and when stand in brackets behind it."""
    after, before = str(row["status"]), str(was["status"])
    if after == before or {after, before} == _SEEN:
        return ""
    return f"{after}, was {before}"


def _decided(row: Row, was: _Was) -> str:
    """What a person decided since; what nobody decided reads STOP."""
    if not row["decided_by"]:
        return f"no longer decided: STOP, was {was['action']}" if was["decided_by"] else ""
    if not was["decided_by"]:
        return f"decided: {row['action']} ({row['decided_by']})"
    if row["action"] == was["action"]:
        return ""
    return f"decided otherwise: {row['action']} ({row['decided_by']}), was {was['action']}"


def _new(row: Row) -> str:
    where = ", ".join(part for part in (row["where_text"], row["size"]) if part)
    return f"new: {row['do_text']}" + (f", {where}" if where else "")


def _differences(row: Row, was: _Was, leg: Leg, *, units: str) -> dict[str, str]:
    """What changed about one thing, by its sort."""
    if row["struck"]:
        already = str(was["status"]).partition(_OPEN)[0] == "gone"
        return {} if already else {"struck": f"struck through: {row['status']}"}
    said = {
        "kind": _kind(row, was),
        "moved": _moved(row, was, leg, units=units),
        "side": _side(row, was),
        "status": _status(row, was),
        "decided": _decided(row, was),
    }
    return {sort: text for sort, text in said.items() if text}


def _of_row(row: Row, was: _Was | None, leg: Leg, *, units: str) -> Change | None:
    """What changed about a thing of the list; None when nothing did."""
    said = {"new": _new(row)} if was is None else _differences(row, was, leg, units=units)
    if not said:
        return None
    return Change(
        leg=row["leg"],
        no=row["no"],
        station=row["station_text"],
        along_m=float(row["along_m"]),
        name=row["name"],
        sorts=tuple(said),
        text="; ".join(said.values()),
    )


def _of_gone(was: _Was, why: str, leg: Leg | None) -> Change:
    """A thing of the old paper that is on the list no longer, and why."""
    if leg is None:
        along_m, reason = float(was["along_m"]), f"leg {was['leg']} is no longer in this job"
    else:
        (along_m, _), reason = _was_at(was, leg), why or "nothing speaks for it any more"
    return Change(
        leg=was["leg"],
        no=was["no"],
        station=was["station"],
        along_m=along_m,
        name=was["name"],
        sorts=("gone",),
        text=f"off the list: {reason}",
    )


def _found(pack: Pack, before: Mapping[str, _Was]) -> Iterator[Change]:
    """All changes, in no order."""
    legs = {leg.settings.code: leg for leg in pack.legs}
    why = dict(zip(pack.withdrawn["no"], pack.withdrawn["why"], strict=True))
    listed = rows_by_leg(pack)
    for code, rows in listed.items():
        for row in rows:
            change = _of_row(row, before.get(row["no"]), legs[code], units=pack.settings.units)
            if change:
                yield change
    kept = {row["no"] for rows in listed.values() for row in rows}
    for no, was in before.items():
        if no not in kept:
            yield _of_gone(was, why.get(no, ""), legs.get(was["leg"]))


def changes(pack: Pack) -> tuple[Change, ...]:
    """What changed since the list was last issued, by leg, then along; nothing for a first issue.

    A thing moved when the station on the old paper leads more than 5 ft (1.5 m) from it today,
    which holds the move of a station's label too.

    Parameters
    ----------
    pack
        With the list as it was last issued.
    """
    if pack.issued is None:
        return ()
    order = {leg.settings.code: place for place, leg in enumerate(pack.legs)}
    before = {row["no"]: row for row in rows_of(pack.issued.rows)}
    found = _found(pack, before)
    return tuple(
        sorted(
            found,
            key=lambda one: (order.get(one.leg, len(order)), one.leg, one.along_m, one.no),
        )
    )
