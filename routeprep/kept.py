"""A job from where it is kept: a TOML with its files, a job file, or the office's store.

In goes what a person calls the job, out come the same ``Inputs`` in all three ways, or the
entries and blobs that it is made of.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path

from routeprep.current import current_of
from routeprep.entries import Entry
from routeprep.errors import JobError
from routeprep.jobs import OpenedJob, entries_of_files, job_of_entries
from routeprep.office import open_office_store
from routeprep.readers.disk import job_files
from routeprep.readers.jobfile import read_job
from routeprep.store import named_blobs, read_job_file

__all__ = ["JOB_FILE", "STORED", "TOML", "entries_of_job", "open_job"]

# How a job in the store is named where a file could stand.
STORED = "store:"
# How the files end that a job is kept in.
TOML, JOB_FILE = ".toml", ".gpkg"


def _is_kept(text: str) -> bool:
    """Whether a job is kept as entries."""
    return text.startswith(STORED) or Path(text).suffix.lower() == JOB_FILE


@contextmanager
def _kept(text: str) -> Iterator[tuple[Sequence[Entry], Callable[[str], bytes]]]:
    """The entries of a job file or a stored job, and what gives a blob by its sha256.

    Raises
    ------
    JobError
        If the store has no such job.
    """
    if not text.startswith(STORED):
        entries, blobs = read_job_file(Path(text))
        yield entries, blobs.__getitem__
        return
    job = text.removeprefix(STORED)
    with open_office_store() as store:
        entries = store.entries(job)
        if not entries:
            known = ", ".join(store.jobs()) or "none"
            msg = f"the store has no job {job!r}; it has: {known}"
            raise JobError(msg, job=job)
        yield entries, store.blob


def entries_of_job(text: str) -> tuple[Sequence[Entry], Mapping[str, bytes]]:
    """The entries and blobs of a job.

    Parameters
    ----------
    text
        The path of a .toml or of a job file (.gpkg), or ``store:NAME``.

    Raises
    ------
    JobError
        If the store has no such job; any other error of reading says what to mend.
    """
    if not _is_kept(text):
        return entries_of_files(*job_files(Path(text)))
    with _kept(text) as (entries, blob):
        return entries, {sha256: blob(sha256) for sha256 in named_blobs(entries)}


def open_job(text: str) -> OpenedJob:
    """A job ready to be prepared; argument and errors as ``entries_of_job`` has them."""
    if _is_kept(text):
        with _kept(text) as (entries, blob):
            return job_of_entries(current_of(entries), blob)
    name, files = job_files(Path(text))
    return OpenedJob(read_job(name, files), files)
