"""A job's files as a browser hands them over: without their folders.

In go base names and contents, out come the same files by their names relative to the job, as
``readers.disk`` gives them: each put where the job looks for it.
"""

import tempfile
from collections.abc import Iterable, Mapping
from pathlib import Path, PurePosixPath
from typing import NamedTuple

from routeprep.errors import JobError
from routeprep.readers.disk import job_files, kinds_text
from routeprep.readers.globs import matching
from routeprep.readers.issuedlist import FILES as ISSUED_FILES
from routeprep.readers.jobtoml import JobInputs, read_settings

__all__ = ["Handed", "job_of_uploads"]

# What lies beside the job whatever its patterns fit.
_BESIDE = {"decisions.csv", "numbers.csv"}


class Handed(NamedTuple):
    """A job that was handed over.

    Attributes
    ----------
    name
        The job file's name.
    files
        Contents by name relative to the job.
    unused
        Files that the job does not name.
    """

    name: str
    files: Mapping[str, bytes]
    unused: tuple[str, ...]


def _flat(files: Iterable[tuple[str, bytes]]) -> dict[str, bytes]:
    """The files by their base names.

    Raises
    ------
    JobError
        If two have the same one.
    """
    flat: dict[str, bytes] = {}
    for path, content in files:
        name = PurePosixPath(path.replace("\\", "/")).name
        if name in flat:
            msg = f"{name} was handed over twice; files are known by their names, so rename one"
            raise JobError(msg, file=name)
        flat[name] = content
    return flat


def _job_among(names: Iterable[str]) -> str:
    """The one job file.

    Raises
    ------
    JobError
        If there is none, or more than one.
    """
    jobs = sorted(name for name in names if name.lower().endswith(".toml"))
    if len(jobs) != 1:
        found = f"{', '.join(jobs)} of the files end" if jobs else "none of the files ends"
        msg = f"{found} in .toml; hand over one job with its files"
        raise JobError(msg, jobs=jobs)
    return jobs[0]


def _folder(pattern: PurePosixPath) -> str:
    """A folder that a pattern fits: any number of folders may be none, and a wildcard is an x."""
    parts = [part for part in pattern.parent.parts if part != "**"]
    return "/".join("x" if part in {"*", "?"} else part for part in parts)


def _wanted(names: Iterable[str], inputs: JobInputs) -> list[tuple[str, str]]:
    """Names with the folders that the job looks for them in; one named in full fits no pattern."""
    lines = [line.file for line in inputs.lines.values()]
    listed = (
        *inputs.drives,
        *inputs.walks,
        *inputs.marks,
        *inputs.records,
        *(one.files for one in inputs.record_files),
        *inputs.photos,
        *inputs.streets,
    )
    issued = [f"{inputs.issued}/{name}" for name in ISSUED_FILES] if inputs.issued else []
    patterns = [PurePosixPath(one) for one in (*listed, *lines, *issued)]
    full = [one for one in patterns if one.name in set(names)]
    others = sorted(set(names) - {one.name for one in full} - _BESIDE)
    return [(one.name, _folder(one)) for one in full] + [
        (name, _folder(one)) for one in patterns for name in matching(one.name, others)
    ]


def _places(names: Iterable[str], inputs: JobInputs) -> dict[str, str]:
    """For each file that the job names, the folder that it looks for it in.

    Raises
    ------
    JobError
        If a file fits two patterns that look in different folders.
    """
    places = dict.fromkeys(_BESIDE, "")
    for name, folder in _wanted(names, inputs):
        if places.setdefault(name, folder) != folder:
            both = " and in ".join(one or "its own folder" for one in (places[name], folder))
            msg = f"{name} fits files that the job wants in {both}; name it in full in the job"
            raise JobError(msg, file=name)
    stems = {Path(name).stem: place for name, place in places.items() if name.endswith(".shp")}
    return {name: stems[Path(name).stem] for name in names if Path(name).stem in stems} | places


def job_of_uploads(files: Iterable[tuple[str, bytes]]) -> Handed:
    """Put the files of one job where the job looks for them.

    Parameters
    ----------
    files
        Names, with or without folders, and contents.
    """
    flat = _flat(files)
    job = _job_among(flat)
    _, inputs = read_settings(flat[job], name=job, kinds_text=kinds_text())
    places = _places(flat, inputs) | {job: ""}
    with tempfile.TemporaryDirectory() as top:
        for name in flat.keys() & places.keys():
            folder = Path(top) / places[name]
            folder.mkdir(parents=True, exist_ok=True)
            (folder / name).write_bytes(flat[name])
        _, found = job_files(Path(top) / job)
    return Handed(job, found, tuple(sorted(flat.keys() - places.keys())))
