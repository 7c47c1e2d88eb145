"""What only people know and a briefing needs: whom to call, tickets, where we are, a map's tiles.

They come from the job and are printed as given; nothing is computed from them.
"""

import datetime as dt
from dataclasses import dataclass

__all__ = ["Briefing", "Phone", "Ticket", "Tiles"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Phone:
    """Whom to call: who, the number as printed, and what for."""

    who: str
    number: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Ticket:
    """A one-call ticket: its number, and the day it expires (None when not given)."""

    number: str
    expires: dt.date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Briefing:
    """What the job says for the cover.

    Attributes
    ----------
    where
        Where we are, in words for an emergency call.
    phones, tickets
        Whom to call, and the one-call tickets.
    worst
        The places that the superintendent picked as worst, in his own words: numbers of the
        list ("A-12") or free text.
    issued_to
        Who gets the pack.
    night
        Whether the work starts in the evening, so that the shift spans two dates.
    """

    where: str = ""
    phones: tuple[Phone, ...] = ()
    tickets: tuple[Ticket, ...] = ()
    worst: tuple[str, ...] = ()
    issued_to: str = ""
    night: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Tiles:
    """A source of map tiles: its address with {z}, {x} and {y}, and whom to name for it."""

    address: str
    credit: str
