"""The office: where its jobs are kept.

By default in one SQLite file in the user's own data folder; an office with several trucks names
a PostgreSQL database in the variable ``ROUTEPREP_STORE``.
"""

import os
from pathlib import Path

import platformdirs

from routeprep.store import Store, open_store

__all__ = ["open_office_store", "store_url"]

_STORE = "ROUTEPREP_STORE"


def store_url() -> str:
    """The address of the store, as SQLAlchemy writes it."""
    return os.environ.get(_STORE) or f"sqlite:///{_data_folder() / 'jobs.db'}"


def _data_folder() -> Path:
    """The user's data folder for this program; ``open_store`` makes it."""
    return Path(platformdirs.user_data_dir("routeprep", appauthor=False))


def open_office_store() -> Store:
    """Open the office's store; it is made where there is none."""
    return open_store(store_url())
