"""One store: what was appended to it, and what is asked of it.

In go entries and blobs with who appends them, out come the same entries in the order in which they
were appended.  What ``append`` has returned from stays, whatever happens to the process.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from itertools import islice
from typing import Self

from sqlalchemy import ColumnElement, Connection, Engine, and_, func, insert, select, text
from sqlalchemy.exc import DBAPIError, SQLAlchemyError

from routeprep.access import Person, check_may
from routeprep.entries import Entry, checked
from routeprep.errors import EntryError, OutputError, ReadError
from routeprep.store.rows import checked_blob, entry_of, named_blobs, row_of, sha_map
from routeprep.store.schema import BLOBS, ENTRIES

__all__ = ["WRITES", "Store", "reason"]

# The option of a connection that is about to write; ``opening`` begins its transaction so.
WRITES = "routeprep_writes"
# How many values a statement names at once: older SQLite takes 999.
_AT_ONCE = 500


def reason(error: Exception) -> str:
    """What a database complains of in one line, without the statement and what was in it."""
    said = str(error.orig if isinstance(error, DBAPIError) else error)
    return next(iter(said.splitlines()), "") or type(error).__name__


def _chunks(values: Iterable[object]) -> Iterator[list[object]]:
    waiting = iter(values)
    while chunk := list(islice(waiting, _AT_ONCE)):
        yield chunk


def _had(connection: Connection, column: ColumnElement[str], keys: Collection[str]) -> set[str]:
    """Which of the keys are there."""
    found: set[str] = set()
    for chunk in _chunks(keys):
        found |= set(connection.scalars(select(column).where(column.in_(chunk))))
    return found


def _refuse_counters(connection: Connection, new: Sequence[Entry]) -> None:
    """Refuse an entry whose device has written another under the same counter.

    Raises
    ------
    EntryError
        Naming the job, the device, the counter and both entries.
    """
    taken: dict[tuple[str, str, int], str] = {}
    for job, device in {(one.job, one.device) for one in new}:
        counters = [one.counter for one in new if (one.job, one.device) == (job, device)]
        for chunk in _chunks(counters):
            at = and_(
                ENTRIES.c.job == job, ENTRIES.c.device == device, ENTRIES.c.counter.in_(chunk)
            )
            rows = connection.execute(select(ENTRIES.c.counter, ENTRIES.c.entry_id).where(at))
            taken |= {(job, device, counter): entry_id for counter, entry_id in rows}
    for one in new:
        other = taken.setdefault((one.job, one.device, one.counter), one.entry_id)
        if other != one.entry_id:
            msg = (
                f"entry {one.entry_id} ({one.kind}): device {one.device[:60]!r} has already "
                f"written entry {other} under counter {one.counter} of job {one.job[:60]!r}; "
                "give it the next counter"
            )
            raise EntryError(msg, entry=one.entry_id, other=other, counter=one.counter)


def _refuse_missing(connection: Connection, new: Sequence[Entry]) -> None:
    """Refuse an entry that names a blob which is neither there nor came along.

    Raises
    ------
    EntryError
        Naming the first.
    """
    named = named_blobs(new)
    missing = sorted(set(named) - _had(connection, BLOBS.c.sha256, named))
    if missing:
        one = named[missing[0]]
        msg = (
            f"entry {one.entry_id} ({one.kind} {one.thing[:60]!r}) names the content "
            f"{missing[0][:64]!r}, which is not in the store ({len(missing)} such); append the "
            "bytes with it"
        )
        raise EntryError(msg, entry=one.entry_id, missing=tuple(missing))


class Store:
    """Entries and blobs in one database; threads may share it, processes open their own.

    Made by ``opening.open_store``.
    """

    def __init__(self, engine: Engine, *, name: str) -> None:
        """Keep the engine, and the name that messages call the database by."""
        self._engine = engine
        self._writing = engine.execution_options(**{WRITES: True})
        self._name = name

    def __enter__(self) -> Self:
        """The store itself."""
        return self

    def __exit__(self, *_: object) -> None:
        """Close it."""
        self.close()

    def close(self) -> None:
        """Let go of the database."""
        self._engine.dispose()

    def append(
        self,
        entries: Sequence[Entry],
        blobs: Mapping[str, bytes] | None = None,
        *,
        by: Person,
    ) -> int:
        """Append entries and blobs, all or none, and say how many entries were new.

        They are on the disk when it returns.  An entry or blob that is there is passed over.

        Parameters
        ----------
        entries
            In any order, of any jobs.
        blobs
            Bytes by their sha256 in hexadecimal.
        by
            Who appends them, and may.

        Raises
        ------
        OutputError
            If the database refuses, naming why.
        """
        once = {checked(one).entry_id: one for one in entries}
        for one in once.values():
            check_may(by, one)
        given = sha_map(blobs or {}, where=self._name)
        try:
            with self._writing.begin() as connection:
                return _appended(connection, once, given)
        except SQLAlchemyError as error:
            msg = (
                f"{self._name}: {len(once)} entries could not be kept ({reason(error)}); nothing "
                "of them was: see that the database is there and has room, and try again"
            )
            raise OutputError(msg, store=self._name) from error

    def entries(self, job: str, *, after: int = 0, upto: int | None = None) -> tuple[Entry, ...]:
        """The entries of a job in the order in which they were appended.

        Parameters
        ----------
        job
            The stored job's name.
        after
            A serial: only what was appended after it.
        upto
            A serial: nothing that was appended after it; None for all.
        """
        asked = select(ENTRIES).where(ENTRIES.c.job == job, ENTRIES.c.serial > after)
        if upto is not None:
            asked = asked.where(ENTRIES.c.serial <= upto)
        with self._reading() as connection:
            rows = connection.execute(asked.order_by(ENTRIES.c.serial)).mappings().all()
        return tuple(entry_of(row) for row in rows)

    def serial(self, job: str) -> int:
        """The newest serial of a job, 0 for none: it grows whenever something is appended."""
        asked = select(func.max(ENTRIES.c.serial)).where(ENTRIES.c.job == job)
        with self._reading() as connection:
            return connection.scalar(asked) or 0

    def jobs(self) -> tuple[str, ...]:
        """The names of all stored jobs, sorted."""
        with self._reading() as connection:
            return tuple(sorted(connection.scalars(select(ENTRIES.c.job).distinct())))

    def blob(self, sha256: str) -> bytes:
        """The bytes of one blob."""
        return self.blobs([sha256])[sha256]

    def blobs(self, shas: Iterable[str]) -> dict[str, bytes]:
        """The bytes of several blobs, by sha256.

        Parameters
        ----------
        shas
            Each in hexadecimal, in any order.

        Raises
        ------
        ReadError
            If one is not there, or is not what it was.
        """
        wanted = sorted(set(shas))
        found: dict[str, bytes] = {}
        with self._reading() as connection:
            for chunk in _chunks(wanted):
                asked = select(BLOBS.c.sha256, BLOBS.c.content).where(BLOBS.c.sha256.in_(chunk))
                found |= {sha: bytes(data) for sha, data in connection.execute(asked)}
        for sha in wanted:
            if sha not in found:
                msg = f"{self._name}: has no content {sha[:64]!r}; take the last good copy"
                raise ReadError(msg, file=self._name, sha256=sha)
            checked_blob(sha, found[sha], where=self._name)
        return found

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        """A connection to read with.

        Raises
        ------
        ReadError
            If the database cannot be read.
        """
        try:
            with self._engine.connect() as connection:
                yield connection
        except SQLAlchemyError as error:
            msg = (
                f"{self._name}: cannot be read ({reason(error)}); see that the database is there "
                "and try again"
            )
            raise ReadError(msg, file=self._name) from error


def _appended(connection: Connection, once: Mapping[str, Entry], blobs: Mapping[str, bytes]) -> int:
    """Append in the transaction that is open, and say how many entries were new."""
    if connection.dialect.name == "postgresql":
        # Serials are drawn before they are seen: one writer at a time, so that nobody who asks
        # for what came after the newest serial misses one that was drawn earlier.
        connection.execute(text(f"LOCK TABLE {BLOBS.name}, {ENTRIES.name} IN EXCLUSIVE MODE"))
    had = _had(connection, ENTRIES.c.entry_id, once)
    new = [one for entry_id, one in once.items() if entry_id not in had]
    _refuse_counters(connection, new)
    held = _had(connection, BLOBS.c.sha256, blobs)
    for sha, data in blobs.items():
        if sha not in held:
            connection.execute(insert(BLOBS).values(sha256=sha, content=data))
    _refuse_missing(connection, new)
    for one in new:
        connection.execute(insert(ENTRIES).values(row_of(one)))
    return len(new)
