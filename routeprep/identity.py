"""Ids that say what a thing is, never which file it came in.

In go the time, the place and the words of each item of one file, out comes a uuid5 for each: a
copy of the file under another name, or with one more item in it, gives the same ids.
"""

import datetime as dt
import uuid
from collections import Counter
from collections.abc import Iterable
from typing import NamedTuple

__all__ = ["Item", "item_ids"]

# The namespace of all routeprep ids: a random UUID drawn once (RFC 9562, section 6.5).
_NAMESPACE = uuid.UUID("7f1d6c52-0b0e-4d0a-9a52-7e2f4c1b9d36")


class Item(NamedTuple):
    """What identifies one thing.

    Attributes
    ----------
    time_utc
        When, or None.
    lon_deg, lat_deg
        Where [deg]; counted to 1e-7 degree.  NaN when not known.
    words
        What was said, or the owner's own id.
    """

    time_utc: dt.datetime | None
    lon_deg: float
    lat_deg: float
    words: str


def _name(sort: str, item: Item) -> str:
    time = ""
    if item.time_utc is not None:
        time = item.time_utc.astimezone(dt.UTC).isoformat(timespec="microseconds")
    # Adding 0.0 makes one zero of the two that floats have.
    place = f"{round(item.lon_deg, 7) + 0.0:.7f} {round(item.lat_deg, 7) + 0.0:.7f}"
    return "\n".join((sort, time, place, " ".join(item.words.split())))


def item_ids(sort: str, items: Iterable[Item]) -> list[str]:
    """Give each item of one file its id, equal items told apart by their order.

    Parameters
    ----------
    sort
        "drive", "mark" or "record".
    items
        The items in the file's order.

    Examples
    --------
    >>> one = Item(None, -96.1, 41.2, "manhole")
    >>> first, second = item_ids("mark", [one, one])
    >>> first == item_ids("mark", [one])[0], first == second
    (True, False)
    """
    seen: Counter[str] = Counter()
    ids = []
    for item in items:
        name = _name(sort, item)
        ids.append(str(uuid.uuid5(_NAMESPACE, f"{name}\n{seen[name]}")))
        seen[name] += 1
    return ids
