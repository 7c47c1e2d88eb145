"""A job as entries, there and back.

In go a TOML and its files, out come the entries and blobs that keep them; in goes what a job's
entries say, out come the ``Inputs`` that the files would give.
"""

import datetime as dt
import hashlib
import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from typing import NamedTuple

from routeprep.current import Current, decision_thing
from routeprep.entries import Entry, make_entry
from routeprep.errors import JobError
from routeprep.readers.disk import kinds_text
from routeprep.readers.issuedlist import FILES as ISSUED_FILES
from routeprep.readers.issuedlist import read_issued
from routeprep.readers.jobfile import Inputs, read_job
from routeprep.readers.jobtoml import read_settings
from routeprep.readers.tables_csv import read_decisions, read_numbers
from routeprep.readers.zipped import member_of, names_in
from routeprep.recorded import parts_of
from routeprep.shapes import Issued

__all__ = [
    "OpenedJob",
    "entries_of_files",
    "issued_list",
    "job_of_entries",
    "next_revision",
    "read_stored",
    "with_decided",
]

_DECISIONS, _NUMBERS = "decisions.csv", "numbers.csv"
# When something was decided, as far as a file says: a date, with or without a time.
_DAY = re.compile(r"^\d{4}-\d\d-\d\d")
_LETTERS = re.compile(r"^[A-Z]+$")


class OpenedJob(NamedTuple):
    """A job that was opened.

    Attributes
    ----------
    inputs
        All that ``job.prepare`` needs.
    files
        Name relative to the job's TOML to content.
    """

    inputs: Inputs
    files: Mapping[str, bytes]


def _when(text: str) -> dt.datetime | None:
    """The day that a table names; None for none."""
    if not _DAY.match(text):
        return None
    try:
        return dt.datetime.fromisoformat(text[:10]).replace(tzinfo=dt.UTC)
    except ValueError:
        return None


def _entry(  # noqa: PLR0913 - an entry is all of these
    job: str,
    kind: str,
    thing: str,
    body: Mapping[str, object],
    author: str,
    *,
    parents: Iterable[str] = (),
    counter: int = 0,
) -> Entry:
    """An entry whose id hangs on what it says alone: the same file twice is the same entry.

    Each counts as written on a device of its own, so that no other takes its number; entries of
    one day stay in the order of their counters.
    """
    said = (kind, thing, *(f"{name} {body[name]}" for name in sorted(body)), author, *parents)
    return make_entry(
        job=job,
        kind=kind,
        thing=thing,
        body=body,
        author=author,
        device=f"file {hashlib.sha256(repr(said).encode()).hexdigest()[:32]}",
        counter=counter,
        time_utc=_when(str(body.get("when", ""))),
        parents=parents,
    )


def _tables(job: str, files: Mapping[str, bytes]) -> Iterator[Entry]:
    """The rows of the tables beside a job, each an entry; the last on a thing is current."""
    before: dict[str, Entry] = {}
    of_day: Counter[dt.datetime | None] = Counter()
    for one in read_decisions(files[_DECISIONS], name=_DECISIONS) if _DECISIONS in files else ():
        thing = decision_thing(one.anchor_id, one.field, one.value)
        body = {name: getattr(one, name) for name in type(one).__slots__}
        parents = [before[thing].entry_id] if thing in before else []
        day = _when(one.when)
        made = _entry(job, "decision", thing, body, one.by, parents=parents, counter=of_day[day])
        of_day[day] += 1
        before[thing] = made
        yield made
    for number in read_numbers(files[_NUMBERS], name=_NUMBERS) if _NUMBERS in files else ():
        body = {name: getattr(number, name) for name in type(number).__slots__}
        yield _entry(job, "number", number.no, body, "")


def entries_of_files(
    name: str, files: Mapping[str, bytes], *, author: str = ""
) -> tuple[list[Entry], dict[str, bytes]]:
    """The entries and blobs that keep a TOML job in a store; the same job gives the same ones.

    Parameters
    ----------
    name
        The TOML's name, a key of ``files``.
    files
        Contents by name, as ``readers.disk.job_files`` gives them.
    author
        Who brings it in.

    Raises
    ------
    RouteprepError
        If the TOML or a table beside it cannot be read.
    """
    folder = name[: name.rfind("/") + 1]
    near = {path.removeprefix(folder): data for path, data in files.items()}
    own_name = name.removeprefix(folder)
    settings, _ = read_settings(near[own_name], name=own_name, kinds_text=kinds_text())
    job = settings.name
    blobs = {}
    entries = []
    for path in sorted(set(near) - {_DECISIONS, _NUMBERS}):
        sha256 = hashlib.sha256(near[path]).hexdigest()
        blobs[sha256] = near[path]
        if path == own_name:
            body = {"name": own_name, "sha256": sha256}
            entries.append(_entry(job, "settings", "settings", body, author))
        else:
            entries.append(_entry(job, "file", path, {"sha256": sha256}, author))
    entries += _tables(job, near)
    return entries, blobs


def next_revision(revision: str) -> str:
    """The letter after one: A, B, … Z, AA; a number counts up, any other text gets a 2.

    Examples
    --------
    >>> [next_revision(one) for one in ("A", "Z", "AZ", "ZZ", "0", "draft")]
    ['B', 'AA', 'BA', 'AAA', '1', 'draft 2']
    """
    if revision.isascii() and revision.isdigit():
        return str(int(revision) + 1)
    if not _LETTERS.match(revision):
        return f"{revision} 2"
    kept = revision.rstrip("Z")
    counted = f"{kept[:-1]}{chr(ord(kept[-1]) + 1)}" if kept else "A"
    return counted + "A" * (len(revision) - len(kept))


def issued_list(pack_zip: bytes) -> Issued:
    """The list of an issued pack, from the zip that was kept."""
    name = "the pack issued last"
    held = set(names_in(pack_zip, name=name))
    wanted = [path for one in ISSUED_FILES if (path := f"pack/{one}") in held]
    files = {path: member_of(pack_zip, path, name=name) for path in wanted}
    return read_issued(files, folder="pack")


def read_stored(current: Current, blob: Callable[[str], bytes]) -> OpenedJob:
    """The files of a stored job read, the slow part: what was decided is not in it yet.

    Parameters
    ----------
    current
        What the entries say.
    blob
        Gives a blob's bytes by its sha256.

    Raises
    ------
    JobError
        If the job has no TOML yet; any other error of reading says what to mend.
    """
    if not current.toml_name:
        msg = "the job has no settings yet; give it a name, a date and a leg first"
        raise JobError(msg)
    name = current.toml_name
    files = {path: blob(sha256) for path, sha256 in current.files.items()}
    files[name] = blob(current.toml_sha256)
    settings, _ = read_settings(files[name], name=name, kinds_text=kinds_text())
    parts = parts_of(current.recorded, settings.kinds)
    return OpenedJob(read_job(name, files, also=parts), files)


def with_decided(read: Inputs, current: Current, blob: Callable[[str], bytes]) -> Inputs:
    """What was read, with what the entries say of decisions, numbers, remarks and issues.

    Once a revision was issued, the job is at the letter after it.
    """
    issued, settings = read.issued, read.settings
    if current.issues:
        last = current.issues[-1]
        issued = issued_list(blob(str(last.body["pack"])))
        settings = replace(settings, revision=next_revision(str(last.body["revision"])))
    return replace(
        read,
        settings=settings,
        decisions=current.decisions,
        numbers=current.numbers,
        issued=issued,
        remarks=current.remarks,
    )


def job_of_entries(current: Current, blob: Callable[[str], bytes]) -> OpenedJob:
    """A stored job as its entries have it now; arguments as ``read_stored`` has them."""
    read = read_stored(current, blob)
    return OpenedJob(with_decided(read.inputs, current, blob), read.files)
