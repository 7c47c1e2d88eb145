"""Which phone a token belongs to, and what each phone has sent already.

In goes a token, out comes the ``Phone`` that it stands for: the job, who holds it and in which
role.  Of each job only what came since the last time is read from the store.
"""

import datetime as dt
import hmac
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import NamedTuple

from routeprep.access import Person
from routeprep.current import current_of
from routeprep.entries import Entry
from routeprep.field.pairing import hash_of
from routeprep.store import Store

__all__ = ["Phone", "Phones", "Sent"]

_DEVICE = "device"
# A token is 43 characters; nothing much longer is looked at [characters].
_TOKEN_MOST = 200


class Phone(NamedTuple):
    """What a token stands for.

    Attributes
    ----------
    job
        The stored job's name.
    person
        Who holds the phone, in which role it writes.
    until
        When the token ends.
    """

    job: str
    person: Person
    until: dt.datetime


class Sent(NamedTuple):
    """What came under a phone's number: the entry's id, and whose token it came with."""

    entry_id: str
    author: str


@dataclass(slots=True, kw_only=True, eq=False)
class _Known:
    """What was read of one job."""

    serial: int = 0
    devices: list[Entry] = field(default_factory=list)
    sent: dict[tuple[str, int], Sent] = field(default_factory=dict)


def _until(entry: Entry) -> dt.datetime:
    """When a token ends; at once, if its entry does not say it so that it can be read."""
    try:
        until = dt.datetime.fromisoformat(str(entry.body["until"]))
    except ValueError:
        return dt.datetime.min.replace(tzinfo=dt.UTC)
    return until if until.tzinfo else until.replace(tzinfo=dt.UTC)


def _now() -> dt.datetime:
    return dt.datetime.now(dt.UTC)


class Phones:
    """The phones of all jobs in one store; threads may share it."""

    def __init__(
        self, open_: Callable[[], Store], *, now: Callable[[], dt.datetime] = _now
    ) -> None:
        """Keep how the store is opened, which happens when it is first asked.

        Parameters
        ----------
        open_
            Opens the store.
        now
            The clock.
        """
        self._open, self._now = open_, now
        self._lock = threading.RLock()
        self._store: Store | None = None
        self._known: dict[str, _Known] = {}

    @property
    def store(self) -> Store:
        """The store, opened once."""
        with self._lock:
            if self._store is None:
                self._store = self._open()
            return self._store

    def _read(self, job: str) -> _Known:
        """What is known of a job, with what came since."""
        known = self._known.setdefault(job, _Known())
        serial = self.store.serial(job)
        if serial != known.serial:
            for one in self.store.entries(job, after=known.serial):
                known.sent[one.device, one.counter] = Sent(one.entry_id, one.author)
                if one.kind == _DEVICE:
                    known.devices.append(one)
            known.serial = serial
        return known

    def of(self, token: str) -> Phone | None:
        """The phone of a token; None if there is none, it was taken back, or its time is over.

        Each stored hash is compared in the same time, whether or not it fits.

        Parameters
        ----------
        token
            As the phone sent it.
        """
        if not 0 < len(token) <= _TOKEN_MOST:
            return None
        asked, found = hash_of(token), None
        with self._lock:
            for job in self.store.jobs():
                for thing, entry in current_of(self._read(job).devices).devices.items():
                    if hmac.compare_digest(thing.encode(), asked.encode()):
                        person = Person(name=str(entry.body["name"]), role=str(entry.body["role"]))
                        found = Phone(job=job, person=person, until=_until(entry))
        return found if found is not None and self._now() < found.until else None

    def sent(self, job: str, device: str, counter: int) -> Sent | None:
        """What a phone sent under a number; None if it is not in the store.

        Parameters
        ----------
        job
            The stored job's name.
        device, counter
            As the phone gave them.
        """
        with self._lock:
            return self._read(job).sent.get((device, counter))
