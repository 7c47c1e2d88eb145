"""What a stored job is kept in: entries and blobs, appended and never changed.

In goes the address of a database, SQLite in one file or PostgreSQL, out comes a ``Store``; and the
same tables as attribute tables of a GeoPackage.
"""

from routeprep.store.attributes import add_tables, is_job_file, read_job_file
from routeprep.store.keeping import Store
from routeprep.store.opening import open_store
from routeprep.store.rows import named_blobs

__all__ = [
    "Store",
    "add_tables",
    "is_job_file",
    "named_blobs",
    "open_store",
    "read_job_file",
]
