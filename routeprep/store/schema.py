"""The store's tables, and in which format they are.

In goes a connection, out comes a database in today's format, or an error that names what it is.
The database itself refuses to change or delete what was appended, whoever asks.
"""

from sqlalchemy import (
    DDL,
    BigInteger,
    CheckConstraint,
    Column,
    Connection,
    Identity,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
    event,
    insert,
    inspect,
    select,
)

from routeprep.errors import ReadError

__all__ = ["BLOBS", "ENTRIES", "FORMAT", "NAMES", "create_tables", "found_format", "refuse_format"]

# The format of the tables below.  A later one adds a step for each format before it, run by
# ``opening`` in the same transaction that finds the older number, and keeps a file of each in
# tests/data.  This is the first, so that there is no step yet.
FORMAT = 1

_METADATA = MetaData()
# SQLite numbers its rows by an INTEGER alone; a GeoPackage asks for the same name.
_SERIAL = BigInteger().with_variant(Integer(), "sqlite")

ENTRIES = Table(
    "entries",
    _METADATA,
    Column("serial", _SERIAL, Identity(), primary_key=True),
    Column("entry_id", Text, nullable=False, unique=True),
    Column("job", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("thing", Text, nullable=False),
    Column("body", Text, nullable=False),
    Column("parents", Text, nullable=False),
    Column("author", Text, nullable=False),
    Column("device", Text, nullable=False),
    Column("counter", _SERIAL, nullable=False),
    Column("time_utc", Text),
    UniqueConstraint("job", "device", "counter"),
    Index("entries_of_job", "job", "serial"),
)
BLOBS = Table(
    "blobs",
    _METADATA,
    Column("serial", _SERIAL, Identity(), primary_key=True),
    Column("sha256", Text, nullable=False, unique=True),
    Column("content", LargeBinary, nullable=False),
)
_FORMATS = Table(
    "routeprep_format",
    _METADATA,
    Column("id", Integer, CheckConstraint("id = 1"), primary_key=True, autoincrement=False),
    Column("format", Integer, nullable=False),
)
NAMES = (ENTRIES.name, BLOBS.name, _FORMATS.name)

# What INSERT OR REPLACE would replace: SQLite does it without asking the triggers on deletion.
_TAKEN = {
    ENTRIES: (
        "serial = NEW.serial OR entry_id = NEW.entry_id"
        " OR (job = NEW.job AND device = NEW.device AND counter = NEW.counter)"
    ),
    BLOBS: "serial = NEW.serial OR sha256 = NEW.sha256",
}
_REFUSAL = "is never changed or deleted; append what is true now"
_POSTGRES_GUARD = """
CREATE FUNCTION {name}_stay() RETURNS trigger LANGUAGE plpgsql AS
$$BEGIN RAISE EXCEPTION 'what {name} hold {refusal}'; END$$;
CREATE TRIGGER {name}_stay BEFORE UPDATE OR DELETE OR TRUNCATE ON {name}
FOR EACH STATEMENT EXECUTE FUNCTION {name}_stay();
"""


def _guard(table: Table) -> None:
    """Have the database refuse to change, delete or replace a table's rows."""
    name = table.name
    texts = [("postgresql", _POSTGRES_GUARD.format(name=name, refusal=_REFUSAL))]
    refuse = f"BEGIN SELECT RAISE(ABORT, 'what {name} hold {_REFUSAL}'); END"
    for act, when in (("UPDATE", ""), ("DELETE", ""), ("INSERT", _TAKEN[table])):
        # The texts are those above; nobody else's come into the statement.
        asks = f"WHEN EXISTS (SELECT 1 FROM {name} WHERE {when})" if when else ""  # noqa: S608
        trigger = f"CREATE TRIGGER {name}_stay_{act.lower()} BEFORE {act} ON {name} {asks} {refuse}"
        texts.append(("sqlite", trigger))
    for dialect, text in texts:
        made = DDL(text)  # type: ignore[no-untyped-call]  # the library's own signature
        event.listen(table, "after_create", made.execute_if(dialect=dialect))


_guard(ENTRIES)
_guard(BLOBS)


def create_tables(connection: Connection) -> None:
    """Make the tables in a database that has none of them, and write their format.

    Parameters
    ----------
    connection
        In a transaction.
    """
    _METADATA.create_all(connection, checkfirst=False)
    connection.execute(insert(_FORMATS).values(id=1, format=FORMAT))


def found_format(connection: Connection, name: str) -> int | None:
    """In which format the tables of a database are, None when it has none of them.

    Parameters
    ----------
    connection
        To the database.
    name
        What it is called in messages.

    Raises
    ------
    ReadError
        If it has some of the tables, or one that does not say its format.
    """
    held = [one for one in NAMES if inspect(connection).has_table(one)]
    if not held:
        return None
    rows = connection.scalars(select(_FORMATS.c.format)).all() if _FORMATS.name in held else []
    number = rows[0] if len(rows) == 1 and isinstance(rows[0], int) else 0
    if number > FORMAT:
        # Its tables may have other names.
        return number
    if len(held) < len(NAMES) or number < 1:
        msg = (
            f"{name}: has the tables {', '.join(held)} and the format {list(rows)}, expected "
            f"{', '.join(NAMES)} and one format; another program's database, or a damaged one: "
            "name another, or take the last good copy"
        )
        raise ReadError(msg, file=name, tables=tuple(held))
    return number


def refuse_format(found: int, name: str) -> None:
    """Refuse tables of a format that this version does not know.

    Raises
    ------
    ReadError
        Naming both formats and what to do.
    """
    if found != FORMAT:
        msg = (
            f"{name}: is in format {found}, and this version of routeprep knows format {FORMAT}; "
            "open it with a newer routeprep"
        )
        raise ReadError(msg, file=name, format=found)
