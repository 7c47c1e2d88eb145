"""Open data for outside checks, found through ROUTEPREP_OPEN_DATA; none of it is in the project."""

import os
from pathlib import Path

import pytest


def open_data(name: str, *, source: str) -> Path:
    """Path of one file of open data.

    Set and missing fails; unset skips and names the public source.
    """
    folder = os.environ.get("ROUTEPREP_OPEN_DATA", "")
    if not folder:
        pytest.skip(f"ROUTEPREP_OPEN_DATA is not set; {name} comes from {source}")
    path = Path(folder) / name
    if not path.is_file():
        pytest.fail(f"ROUTEPREP_OPEN_DATA is {folder!r} but has no {name} (source: {source})")
    return path
