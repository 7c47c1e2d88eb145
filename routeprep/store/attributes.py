"""The store's tables as attribute tables of a GeoPackage, the job file.

In go entries and blobs, out comes the same file with them in it; in goes such a file, perhaps from
somebody else, out come its entries and blobs, each checked.
"""

import datetime as dt
import sqlite3
from collections.abc import Iterable, Mapping, Sequence
from contextlib import closing
from pathlib import Path
from urllib.parse import quote

from sqlalchemy import Connection, Engine, NullPool, create_engine, event, insert, inspect, select
from sqlalchemy.exc import SQLAlchemyError

from routeprep.entries import Entry, in_time
from routeprep.errors import OutputError, ReadError
from routeprep.store.keeping import reason
from routeprep.store.rows import checked_blob, entry_of, named_blobs, row_of
from routeprep.store.schema import (
    BLOBS,
    ENTRIES,
    NAMES,
    create_tables,
    found_format,
    refuse_format,
)

__all__ = ["add_tables", "is_job_file", "read_job_file"]

# A file without map layers is a GeoPackage with these tables (OGC 12-128r19, 1.1.1 to 1.1.3, 2.1.5
# and tables 3, 4, 5 and 21): its marks in the header, the three reference systems, and no content.
# GDAL opens none for reading that lacks the table of geometry columns.
_BARE = """
PRAGMA application_id = 0x47504B47;
PRAGMA user_version = 10300;
CREATE TABLE gpkg_spatial_ref_sys (
  srs_name TEXT NOT NULL, srs_id INTEGER NOT NULL PRIMARY KEY, organization TEXT NOT NULL,
  organization_coordsys_id INTEGER NOT NULL, definition TEXT NOT NULL, description TEXT);
INSERT INTO gpkg_spatial_ref_sys VALUES
  ('undefined Cartesian', -1, 'NONE', -1, 'undefined', NULL),
  ('undefined geographic', 0, 'NONE', 0, 'undefined', NULL),
  ('WGS 84', 4326, 'EPSG', 4326, 'GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,' ||
   '298.257223563]],PRIMEM["Greenwich",0],UNIT["degree",0.0174532925199433]]', NULL);
CREATE TABLE gpkg_contents (
  table_name TEXT NOT NULL PRIMARY KEY, data_type TEXT NOT NULL, identifier TEXT UNIQUE,
  description TEXT DEFAULT '',
  last_change DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')),
  min_x DOUBLE, min_y DOUBLE, max_x DOUBLE, max_y DOUBLE, srs_id INTEGER,
  CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id));
CREATE TABLE gpkg_geometry_columns (
  table_name TEXT NOT NULL, column_name TEXT NOT NULL, geometry_type_name TEXT NOT NULL,
  srs_id INTEGER NOT NULL, z TINYINT NOT NULL, m TINYINT NOT NULL,
  CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name),
  CONSTRAINT uk_gc_table_name UNIQUE (table_name),
  CONSTRAINT fk_gc_tn FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name),
  CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys (srs_id));
"""
_LISTED = (
    "INSERT INTO gpkg_contents (table_name, data_type, identifier, description, last_change)"
    " VALUES (?, 'attributes', ?, ?, ?)"
)
_SAID = dict(
    zip(
        NAMES,
        (
            "What was recorded and decided, each once; never changed",
            "Bytes of the files, by their SHA-256",
            "The format of these tables",
        ),
        strict=True,
    )
)
# Longer values than any file that is read as an input has [bytes].
_VALUE_MOST = 500_000_000


def _engine(path: Path, mode: str) -> Engine:
    """An engine on a file in place, without a log beside it."""

    def connect() -> sqlite3.Connection:
        made = sqlite3.connect(f"file:{quote(str(path.absolute()))}?mode={mode}", uri=True)
        made.isolation_level = None
        made.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, _VALUE_MOST)
        # No function runs that the file's own definitions name.
        made.execute("PRAGMA trusted_schema = OFF")
        return made

    engine = create_engine("sqlite://", creator=connect, poolclass=NullPool, hide_parameters=True)
    event.listen(engine, "begin", lambda connection: connection.exec_driver_sql("BEGIN"))
    return engine


def add_tables(
    path: Path, entries: Iterable[Entry], blobs: Mapping[str, bytes], *, date: dt.date
) -> None:
    """Put entries and blobs into a GeoPackage, or into a new one without layers.

    The same entries in any order give the same rows.

    Parameters
    ----------
    path
        The file; made if it is not there.
    entries
        All of one job.
    blobs
        Bytes by sha256.
    date
        Stands as the tables' last change.

    Raises
    ------
    OutputError
        If it cannot be written.
    """
    once = {one.entry_id: one for one in entries}
    stamp = f"{date.isoformat()}T00:00:00.000Z"
    try:
        if not path.exists():
            with closing(sqlite3.connect(path)) as made:
                made.executescript(_BARE)
        with _engine(path, "rw").begin() as connection:
            create_tables(connection)
            for one in sorted(once.values(), key=in_time):
                connection.execute(insert(ENTRIES).values(row_of(one)))
            for sha, data in sorted(blobs.items()):
                connection.execute(insert(BLOBS).values(sha256=sha, content=data))
            for name, said in _SAID.items():
                connection.exec_driver_sql(_LISTED, (name, name, said, stamp))
    except (SQLAlchemyError, sqlite3.Error, OverflowError) as error:
        msg = f"{path} cannot be written ({reason(error)}); see that its folder has room"
        raise OutputError(msg, path=str(path)) from error


def is_job_file(path: Path) -> bool:
    """Whether a file holds a job, of whatever format; a GeoPackage may hold map layers alone."""
    try:
        with _engine(path, "ro").connect() as connection:
            return inspect(connection).has_table(NAMES[-1])
    except (SQLAlchemyError, sqlite3.Error):
        return False


def read_job_file(path: Path) -> tuple[tuple[Entry, ...], dict[str, bytes]]:
    """The entries and blobs of a job file, each checked; it is not changed.

    Parameters
    ----------
    path
        The file.

    Returns
    -------
    tuple of tuple and dict
        The entries, all of one job, and bytes by sha256.

    Raises
    ------
    ReadError
        If it is no job file, is in a newer format, or lacks a content that its entries name.
    """
    name = path.name
    try:
        with _engine(path, "ro").connect() as connection:
            _refuse_other(connection, name)
            asked = select(ENTRIES).order_by(ENTRIES.c.serial)
            rows = connection.execute(asked).mappings().all()
            contents = connection.execute(select(BLOBS.c.sha256, BLOBS.c.content)).all()
    except (SQLAlchemyError, sqlite3.Error) as error:
        msg = f"{name}: cannot be read as a job file ({reason(error)}); take the last good copy"
        raise ReadError(msg, file=name) from error
    entries = tuple(entry_of(row) for row in rows)
    blobs = _checked(contents, name)
    _refuse_mixed(entries, blobs, name)
    return entries, blobs


def _refuse_other(connection: Connection, name: str) -> None:
    """Refuse what is no job file of a format that is known.

    Raises
    ------
    ReadError
        Naming what it is.
    """
    found = found_format(connection, name)
    if found is None:
        msg = f"{name}: holds map layers and no job; give what routeprep save has written"
        raise ReadError(msg, file=name)
    refuse_format(found, name)
    for table in NAMES:
        # What is computed when it is asked for could take for ever.
        asked = "SELECT count(*) FROM pragma_table_xinfo(?) WHERE hidden <> 0"
        hidden = connection.exec_driver_sql(asked, (table,)).scalar()
        if hidden or table not in inspect(connection).get_table_names():
            msg = f"{name}: {table} is computed and no plain table; take the last good copy"
            raise ReadError(msg, file=name, table=table)


def _checked(contents: Iterable[Sequence[object]], name: str) -> dict[str, bytes]:
    """The blobs, each with the bytes that its key says.

    Raises
    ------
    ReadError
        If one holds no bytes, or others.
    """
    blobs = {}
    for sha, data in contents:
        if not isinstance(sha, str) or not isinstance(data, bytes):
            msg = f"{name}: content {str(sha)[:64]!r} is no bytes; take the last good copy"
            raise ReadError(msg, file=name)
        blobs[sha] = checked_blob(sha, data, where=name)
    return blobs


def _refuse_mixed(entries: Sequence[Entry], blobs: Mapping[str, bytes], name: str) -> None:
    """Refuse a file without entries, of several jobs, or that lacks a content.

    Raises
    ------
    ReadError
        Naming the jobs, or the entry.
    """
    jobs = sorted({one.job for one in entries})
    if len(jobs) != 1:
        held = ", ".join(map(repr, jobs)) or "no entries"
        msg = f"{name}: holds {held}; a job file has one job: take the last good copy"
        raise ReadError(msg, file=name, jobs=tuple(jobs))
    for sha, one in named_blobs(entries).items():
        if sha not in blobs:
            msg = (
                f"{name}: lacks the content {sha[:64]!r} of {one.kind} {one.thing[:60]!r}; take "
                "the last good copy"
            )
            raise ReadError(msg, file=name, sha256=sha)
