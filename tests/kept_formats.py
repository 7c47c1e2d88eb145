"""Makes the stored files of this format that the tests keep; run once for each format.

``python tests/kept_formats.py`` writes ``tests/data/store_format_N.db`` and
``job_format_N.gpkg``, N being today's format.  Files of an earlier one are never made again: they
are what is out there.  All in them is invented.
"""

import sqlite3
from contextlib import closing
from pathlib import Path

from made_entries import ANA, BLOBS, NOON, every_kind

from routeprep.store import add_tables, open_store
from routeprep.store.schema import FORMAT

DATA = Path(__file__).parent / "data"


def main():
    """Write both; a file that is there is left, and named by an error."""
    database, job_file = DATA / f"store_format_{FORMAT}.db", DATA / f"job_format_{FORMAT}.gpkg"
    for path in (database, job_file):
        path.touch(exist_ok=False)
        path.unlink()
    with open_store(f"sqlite:///{database}") as store:
        store.append(every_kind(), BLOBS, by=ANA)
    with closing(sqlite3.connect(database)) as connection:
        # In one file, without the log beside it.
        connection.execute("PRAGMA journal_mode = DELETE")
    add_tables(job_file, every_kind(), BLOBS, date=NOON.date())


if __name__ == "__main__":
    main()
