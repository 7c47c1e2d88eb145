"""What was kept in an earlier format opens; a file of each format is kept with the tests."""

import shutil
from pathlib import Path

import pytest
from made_entries import BLOBS, JOB, every_kind, made
from stored_job import ANA

from routeprep.current import current_of
from routeprep.store import open_store, read_job_file
from routeprep.store.schema import FORMAT

DATA = Path(__file__).parents[1] / "data"
FORMATS = range(1, FORMAT + 1)


def test_a_file_of_every_format_is_kept():
    """A new format cannot forget to keep one; ``kept_formats.py`` makes them."""
    kept = {path.name for path in DATA.glob("*_format_*")}

    assert kept == {f"store_format_{one}.db" for one in FORMATS} | {
        f"job_format_{one}.gpkg" for one in FORMATS
    }


@pytest.mark.parametrize("number", FORMATS)
def test_a_store_of_an_earlier_format_opens_and_goes_on(tmp_path, number):
    """Nothing in it is lost, ids are what they were, and it takes what comes."""
    path = shutil.copy(DATA / f"store_format_{number}.db", tmp_path / "jobs.db")
    with open_store(f"sqlite:///{path}") as store:
        assert store.entries(JOB) == tuple(every_kind())
        assert store.blobs(BLOBS) == BLOBS
        assert store.append([*every_kind(), made(counter=99, thing="m2 note")], by=ANA) == 1


@pytest.mark.parametrize("number", FORMATS)
def test_a_job_file_of_an_earlier_format_opens(number):
    """From where it lies; it is only read."""
    path = DATA / f"job_format_{number}.gpkg"
    before = path.read_bytes()
    entries, blobs = read_job_file(path)

    assert {one.entry_id for one in entries} == {one.entry_id for one in every_kind()}
    assert (blobs, path.read_bytes()) == (BLOBS, before)
    assert [one.body["revision"] for one in current_of(entries).issues] == ["A"]
