"""[briefing] and [map] of a job's TOML: what only people know, for the cover and the map."""

import datetime as dt

from routeprep.briefing import Briefing, Phone, Ticket, Tiles
from routeprep.readers.parts import shown
from routeprep.readers.tomltable import TomlTable

__all__ = ["read_briefing", "read_tiles"]


def _phone(table: TomlTable) -> Phone:
    table.only("who", "number", "why")
    return Phone(
        who=table.text("who", needed=True),
        number=table.text("number", needed=True),
        why=table.text("why"),
    )


def _ticket(table: TomlTable) -> Ticket:
    table.only("number", "expires")
    expires = table.values.get("expires")
    if expires is not None and (
        isinstance(expires, dt.datetime) or not isinstance(expires, dt.date)
    ):
        table.fault(f"expires is {shown(expires)}; expected a date without quotes: 2026-06-10")
        expires = None
    return Ticket(number=table.text("number", needed=True), expires=expires)


def read_briefing(table: TomlTable) -> Briefing:
    """Read [briefing]; all of it may be left out.

    Parameters
    ----------
    table
        The table; faults are gathered in it.
    """
    table.only("where", "phones", "tickets", "worst", "issued_to", "night")
    night = table.values.get("night", False)
    if not isinstance(night, bool):
        table.fault(f"night is {shown(night)}; expected true or false")
    return Briefing(
        where=table.text("where"),
        phones=tuple(_phone(one) for one in table.tables("phones")),
        tickets=tuple(_ticket(one) for one in table.tables("tickets")),
        worst=table.texts("worst"),
        issued_to=table.text("issued_to"),
        night=night is True,
    )


def read_tiles(table: TomlTable) -> Tiles | None:
    """Read [map]: a source of tiles, or None for a map without.

    Parameters
    ----------
    table
        The table; faults are gathered in it.
    """
    table.only("tiles", "credit")
    address, credit = table.text("tiles"), table.text("credit")
    if not address:
        return None
    if not address.startswith("https://") or not all(f"{{{key}}}" in address for key in "zxy"):
        table.fault(
            f"tiles is {shown(address)}; expected an address that begins with https:// and holds "
            "{z}, {x} and {y}"
        )
    if not credit:
        table.fault("credit is missing; say whom the tiles' source wants to be named")
    return Tiles(address=address, credit=credit)
