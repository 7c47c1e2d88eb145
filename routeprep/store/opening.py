"""From the address of a database to an open store.

In goes a URL, out comes a ``Store`` whose tables are in today's format.  Several processes may
open the same new database at once.
"""

import sqlite3
import time
from pathlib import Path

from sqlalchemy import URL, Connection, Engine, create_engine, event, inspect, make_url, text
from sqlalchemy.engine.interfaces import DBAPIConnection
from sqlalchemy.exc import ArgumentError, SQLAlchemyError
from sqlalchemy.pool import ConnectionPoolEntry

from routeprep.errors import ReadError
from routeprep.store.keeping import WRITES, Store, reason
from routeprep.store.schema import create_tables, found_format, refuse_format

__all__ = ["open_store"]

_SQLITE, _POSTGRES = "sqlite", "postgresql"
_DRIVER = "postgresql+psycopg"
_EXAMPLES = "sqlite:////folder/jobs.db or postgresql://user@host/database"
# How long a writer waits for another one [s]; a batch takes well under a second.
# Common practice, no source.
_PATIENCE_S = 30
# A key of PostgreSQL's advisory locks, drawn once: who makes the tables holds it.
_MAKING = 7_290_331_845


def open_store(url: str) -> Store:
    """Open a store, making its tables if there are none.

    SQLite writes ahead into a log and syncs it at each commit (WAL, synchronous FULL); the file
    and its folder are made, readable by its owner alone.  Of PostgreSQL the same is asked.

    Parameters
    ----------
    url
        ``sqlite:////folder/jobs.db`` or ``postgresql://user@host/database``.

    Raises
    ------
    ReadError
        If it is no such address, the database cannot be opened, belongs to another program or is
        in a newer format.
    """
    address = _address(url)
    name = _name(address)
    engine = _engine(address, name)
    try:
        with engine.execution_options(**{WRITES: True}).begin() as connection:
            _prepare(connection, name)
        if address.get_backend_name() == _SQLITE:
            _write_ahead(engine)
    except (SQLAlchemyError, sqlite3.Error) as error:
        engine.dispose()
        msg = (
            f"{name}: cannot be opened as a store ({reason(error)}); see that it is there and "
            "yours, or name another"
        )
        raise ReadError(msg, file=name) from error
    except ReadError:
        engine.dispose()
        raise
    return Store(engine, name=name)


def _address(url: str) -> URL:
    """The parts of a URL.

    Raises
    ------
    ReadError
        If it is neither SQLite in a file nor PostgreSQL.
    """
    try:
        address = make_url(url)
        if address.drivername == _POSTGRES:
            address = address.set(drivername=_DRIVER)
        known = address.drivername in {_SQLITE, _DRIVER}
    except (ArgumentError, ValueError) as error:
        # What was found may hold a password, and is not shown.
        msg = f"the store's address ({len(url)} characters) is no URL; write {_EXAMPLES}"
        raise ReadError(msg) from error
    no_file = address.database in {None, "", ":memory:"} or bool(address.query)
    if not known or (no_file and address.drivername == _SQLITE):
        msg = f"{_name(address)!r} is no store; write {_EXAMPLES}"
        raise ReadError(msg, file=_name(address))
    return address


def _name(address: URL) -> str:
    """What messages call a database: its file, or its address without the password."""
    if address.get_backend_name() == _SQLITE and address.database:
        return address.database
    return address.render_as_string(hide_password=True)


def _engine(address: URL, name: str) -> Engine:
    """The engine of an address; nothing is opened yet.

    Raises
    ------
    ReadError
        If the folder cannot be made, or the driver is not installed.
    """
    try:
        if address.get_backend_name() == _SQLITE:
            path = Path(name)
            path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            path.touch(mode=0o600, exist_ok=True)
            made = create_engine(
                address, hide_parameters=True, connect_args={"timeout": _PATIENCE_S}
            )
            event.listen(made, "connect", _sqlite_connected)
            event.listen(made, "begin", _sqlite_began)
            return made
        made = create_engine(address, hide_parameters=True, pool_pre_ping=True)
        event.listen(made, "connect", _postgres_connected)
    except OSError as error:
        msg = f"{name}: cannot be made ({error.strerror}); name a place that you may write to"
        raise ReadError(msg, file=name) from error
    except (ImportError, SQLAlchemyError) as error:
        msg = f"{name}: has no driver here ({error}); install routeprep[postgres]"
        raise ReadError(msg, file=name) from error
    return made


def _sqlite_connected(connection: DBAPIConnection, _record: ConnectionPoolEntry) -> None:
    """Each connection of SQLite: transactions are begun by us, and commits reach the disk."""
    # The library would begin a transaction only when it sees a statement that it knows.
    connection.isolation_level = None
    for pragma in ("synchronous = FULL", "recursive_triggers = ON", "trusted_schema = OFF"):
        connection.execute(f"PRAGMA {pragma}")


def _sqlite_began(connection: Connection) -> None:
    """Who is about to write asks for it at once, and so waits for the writer before it."""
    writes = connection.get_execution_options().get(WRITES)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _postgres_connected(connection: DBAPIConnection, _record: ConnectionPoolEntry) -> None:
    """Each connection of PostgreSQL: a commit reaches the disk whatever the server's default."""
    cursor = connection.cursor()
    cursor.execute(
        "SELECT set_config('synchronous_commit', 'on', false)"
        " WHERE current_setting('synchronous_commit') = 'off'"
    )
    connection.commit()


def _prepare(connection: Connection, name: str) -> None:
    """See that the tables are there and in today's format, making them where there are none.

    Raises
    ------
    ReadError
        If the database is not a store's, or keeps nothing safe.
    """
    if connection.dialect.name == _POSTGRES:
        connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": _MAKING})
        if connection.scalar(text("SHOW fsync")) != "on":
            msg = (
                f"{name}: the server runs with fsync off, and a power cut would lose what was "
                "kept; set fsync = on in postgresql.conf"
            )
            raise ReadError(msg, file=name)
    found = found_format(connection, name)
    others = inspect(connection).get_table_names() if connection.dialect.name == _SQLITE else []
    if "gpkg_contents" in others:
        msg = (
            f"{name}: is a GeoPackage and no store; give a job file as JOB to a command, or add "
            "it to a stored job"
        )
        raise ReadError(msg, file=name)
    if found is not None:
        refuse_format(found, name)
        return
    if others:
        msg = (
            f"{name}: is another program's database with the tables {', '.join(others[:5])}; name "
            "a new file"
        )
        raise ReadError(msg, file=name, tables=tuple(others))
    create_tables(connection)


def _write_ahead(engine: Engine) -> None:
    """Have SQLite write into a log that it syncs at each commit; the file remembers it.

    The library does not wait for other processes here, as it does everywhere else.

    Raises
    ------
    OperationalError
        If others keep the file for all that time; ``open_store`` says it in our words.
    """
    until_s = time.monotonic() + _PATIENCE_S
    while True:
        raw = engine.raw_connection()
        try:
            raw.cursor().execute("PRAGMA journal_mode = WAL")
        except sqlite3.OperationalError:
            if time.monotonic() > until_s:
                raise
            time.sleep(0.05)
        else:
            return
        finally:
            raw.close()
