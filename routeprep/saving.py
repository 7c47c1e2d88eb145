"""A whole job in one file: a GeoPackage that any map program opens.

In go a job's entries and blobs, out comes the file: the layers that follow from them, and beside
these the entries and blobs themselves.  Two such files of one job are merged by their entries.
"""

import datetime as dt
import os
import shutil
import tempfile
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

from routeprep import exports
from routeprep.current import current_of
from routeprep.entries import Entry
from routeprep.errors import EntryError, JobError, OutputError, RouteprepError
from routeprep.jobs import job_of_entries
from routeprep.kept import JOB_FILE
from routeprep.packing import prepared
from routeprep.remarks import EditedTwice
from routeprep.shapes import Pack
from routeprep.store import add_tables, is_job_file, read_job_file

__all__ = ["Saved", "merge_job_files", "save_job", "save_job_file"]

# Stands as the date of tables whose entries have none.
_NO_DATE = dt.date(1970, 1, 1)


class Saved(NamedTuple):
    """What was saved.

    Attributes
    ----------
    job
        Its name.
    entries, blobs
        How many of each.
    edited_twice
        What two persons changed, neither knowing of the other.
    no_layers
        Why there are no map layers; empty when there are.
    """

    job: str
    entries: int
    blobs: int
    edited_twice: tuple[EditedTwice, ...]
    no_layers: str


def _layers(entries: Iterable[Entry], blobs: Mapping[str, bytes]) -> Pack:
    """The pack whose layers follow from the entries."""
    opened = job_of_entries(current_of(entries), blobs.__getitem__)
    return prepared(opened.inputs, opened.files)


def save_job(entries: Sequence[Entry], blobs: Mapping[str, bytes], path: Path) -> Saved:
    """Save a job with the layers that follow from it, and say what was saved.

    A job that cannot be prepared is saved without layers, and why is said: what was recorded is
    kept in any case.

    Parameters
    ----------
    entries, blobs, path
        As ``save_job_file`` has them.
    """
    pack, why = None, ""
    try:
        pack = _layers(entries, blobs)
    except RouteprepError as error:
        why = str(error)
    save_job_file(pack, entries, blobs, path)
    return Saved(
        job=entries[0].job,
        entries=len(entries),
        blobs=len(blobs),
        edited_twice=current_of(entries).remarks.edited_twice,
        no_layers=why,
    )


def save_job_file(
    pack: Pack | None, entries: Sequence[Entry], blobs: Mapping[str, bytes], path: Path
) -> None:
    """Write a job file beside its place and swap it in whole.

    The same entries in any order, with the same pack, give the same bytes on one machine.

    Parameters
    ----------
    pack
        Its layers are written too; None for a job that cannot be prepared.
    entries
        All of one job.
    blobs
        All that the entries name, by sha256.
    path
        Where, ending in .gpkg; an older job file there is replaced if all its entries are here.

    Raises
    ------
    OutputError
        If something would be lost, or the place cannot be written.
    """
    if path.suffix.lower() != JOB_FILE:
        msg = f"{path} is no place for a job file; let its name end in {JOB_FILE}"
        raise OutputError(msg, path=str(path))
    _refuse_loss(entries, path)
    try:
        beside = Path(tempfile.mkdtemp(prefix=f".{path.stem}-", dir=path.absolute().parent))
    except OSError as error:
        msg = f"{path} cannot be written ({error}); choose a folder that can"
        raise OutputError(msg, path=str(path)) from error
    try:
        made = beside / path.name
        if pack is not None:
            exports.write_gpkg(pack, made)
        add_tables(made, entries, blobs, date=_date(pack, entries))
        _synced(made)
        made.replace(path)
        _synced(path.absolute().parent)
    except OutputError:
        raise
    except OSError as error:
        msg = f"{path} cannot be written ({error}); choose a place that can"
        raise OutputError(msg, path=str(path)) from error
    finally:
        shutil.rmtree(beside, ignore_errors=True)


def _date(pack: Pack | None, entries: Iterable[Entry]) -> dt.date:
    """The date that the tables bear: the job's, or of what was written last."""
    if pack is not None:
        return pack.settings.date
    return max((one.time_utc.date() for one in entries if one.time_utc), default=_NO_DATE)


def _synced(path: Path) -> None:
    """Have a file, or a folder's list of names, on the disk."""
    if path.is_dir() and os.name == "nt":
        return  # that system opens no folder
    opened = os.open(path, os.O_RDONLY if path.is_dir() else os.O_RDWR)
    try:
        os.fsync(opened)
    finally:
        os.close(opened)


def _refuse_loss(entries: Sequence[Entry], path: Path) -> None:
    """Refuse a job without entries, and a place whose content would be lost.

    Raises
    ------
    OutputError
        Naming what is there.
    """
    if not entries:
        msg = f"{path}: the job holds {len(entries)} entries; there is nothing to save"
        raise OutputError(msg, path=str(path))
    if not path.exists():
        return
    if not is_job_file(path):
        msg = f"{path} is there and is no job file; give another name"
        raise OutputError(msg, path=str(path))
    there, _ = read_job_file(path)
    lost = {one.entry_id for one in there} - {one.entry_id for one in entries}
    if lost:
        msg = (
            f"{path} is a job file of {there[0].job!r} with {len(lost)} entries that would be "
            "lost; give another name, and routeprep merge to have both"
        )
        raise OutputError(msg, path=str(path), lost=len(lost))


def _union(a: Path, b: Path) -> tuple[list[Entry], dict[str, bytes]]:
    """The entries and blobs of two job files, each once.

    Raises
    ------
    JobError
        If they are of two jobs.
    EntryError
        If one device gave two entries the same number.
    """
    (of_a, blobs_a), (of_b, blobs_b) = read_job_file(a), read_job_file(b)
    if of_a[0].job != of_b[0].job:
        msg = (
            f"{a} holds the job {of_a[0].job!r} and {b} the job {of_b[0].job!r}; two copies of "
            "one job are merged"
        )
        raise JobError(msg, jobs=(of_a[0].job, of_b[0].job))
    once = {one.entry_id: one for one in (*of_a, *of_b)}
    written: dict[tuple[str, int], Entry] = {}
    for one in once.values():
        other = written.setdefault((one.device, one.counter), one)
        if other != one:
            msg = (
                f"{a} and {b}: device {one.device[:60]!r} has written two entries under counter "
                f"{one.counter}, {other.entry_id} and {one.entry_id}; one of the files was "
                "changed by hand: take the last good copy"
            )
            raise EntryError(msg, entries=(other.entry_id, one.entry_id))
    return list(once.values()), blobs_a | blobs_b


def merge_job_files(a: Path, b: Path, out: Path) -> Saved:
    """Merge two copies of one job: all entries of both, and the layers that follow from them.

    Either order gives the same file, and a file merged with itself is itself.

    Parameters
    ----------
    a, b
        Job files.
    out
        Where; as ``save_job_file`` has it.
    """
    return save_job(*_union(a, b), out)
