"""A whole job from its TOML and its files.

In go names and bytes, out come ``Inputs``: survey, settings, decisions and numbers.  Each file is
read by what it holds, whatever it is called, and all that is wrong is said at once.
"""

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from typing import NamedTuple, Protocol, TypeVar

from routeprep.errors import InputError, JobError
from routeprep.lines import Alignment, LinePiece
from routeprep.readers.assembly import assemble
from routeprep.readers.attaching import attach_photos
from routeprep.readers.disk import kinds_text
from routeprep.readers.globs import matching
from routeprep.readers.issuedlist import read_issued
from routeprep.readers.jobleg import LineFile
from routeprep.readers.jobrecords import fields_by_file
from routeprep.readers.jobspine import with_spine
from routeprep.readers.jobtoml import JobInputs, read_settings
from routeprep.readers.landxml import choose, read_alignments
from routeprep.readers.listed import How, opened, read_listed
from routeprep.readers.nearby import surroundings
from routeprep.readers.parts import source
from routeprep.readers.sniff import SORTS, sort_of
from routeprep.readers.streetmap import read_streets
from routeprep.readers.tables_csv import read_decisions, read_numbers
from routeprep.readers.vector import read_lines
from routeprep.remarks import Remarks
from routeprep.shapes import (
    Decision,
    Finding,
    Issued,
    IssuedNumber,
    Part,
    Settings,
    Source,
    Survey,
)
from routeprep.streets import Street

__all__ = ["Inputs", "read_job"]

_T = TypeVar("_T")
_T_co = TypeVar("_T_co", covariant=True)

# The tables beside the job file.
_DECISIONS, _NUMBERS = "decisions.csv", "numbers.csv"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Inputs:
    """All that ``job.prepare`` needs."""

    survey: Survey
    settings: Settings
    decisions: tuple[Decision, ...]
    numbers: tuple[IssuedNumber, ...]
    issued: Issued | None = None
    remarks: Remarks = field(default_factory=Remarks)


class _TableReader(Protocol[_T_co]):
    """A reader of a table beside the job."""

    def __call__(self, data: bytes, *, name: str) -> tuple[_T_co, ...]:
        """Read the table."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Job:
    """A job's files by their names relative to its TOML, and all that was found on the way.

    Attributes
    ----------
    name, files
        The TOML's own name, and all files.
    how
        What readers need of the job.
    set_aside
        Names of files that are not read.
    errors
        All that is wrong.
    bad
        Names of the listed files among them, which can be set aside.
    sources, findings
        Of files that are no parts.
    """

    name: str
    files: Mapping[str, bytes]
    how: How
    set_aside: tuple[str, ...]
    errors: list[InputError] = field(default_factory=list)
    bad: list[str] = field(default_factory=list)
    sources: list[Source] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)

    def tried(self, read: Callable[[], _T], *, listed: str = "") -> _T | None:
        """What a reader gives, or None with its complaint among the errors."""
        try:
            return read()
        except InputError as error:
            self.errors.append(error)
            self.bad.extend([listed] if listed else [])
            return None

    def wanted(self, patterns: Sequence[str], where: str) -> list[str]:
        """The files that patterns mean, each once; a pattern that means none is an error."""
        found = {pattern: matching(pattern, self.files) for pattern in patterns}
        for pattern, names in found.items():
            if not names:
                msg = (
                    f"{self.name}: {where}: {pattern!r} fits none of the job's files; mend it or "
                    "put the file there"
                )
                self.errors.append(JobError(msg, file=self.name, pattern=pattern))
        return sorted({name for names in found.values() for name in names})

    def lays_aside(self, name: str, data: bytes) -> bool:
        """Whether a file is set aside; it is then said, once."""
        if name not in self.set_aside:
            return False
        if name not in {one.name for one in self.sources}:
            none: dict[str, int] = {}
            self.sources.append(source(data, name=name, what="set aside", taken=none, skipped=none))
            text = "is set aside by the job ([inputs] set_aside) and is not read"
            self.findings.append(Finding(level="doubt", where=name, text=text))
        return True


def _files(job: _Job, names: Sequence[str]) -> list[tuple[str, bytes]]:
    """The listed files with zips of other files unpacked, without those that are set aside."""
    found = []
    for name in names:
        if job.lays_aside(name, job.files[name]):
            continue
        inside = job.tried(partial(opened, job.files[name], name=name), listed=name)
        if inside is None:
            continue
        if inside.zipped and inside.zipped not in job.sources:
            job.sources.append(inside.zipped)
        found += [(path, data) for path, data in inside.files if not job.lays_aside(path, data)]
    return found


def _read(job: _Job, names: Sequence[str], key: str) -> list[Part]:
    """Read the files that are listed under one key."""
    read = [
        job.tried(partial(read_listed, data, name=name, key=key, how=job.how), listed=name)
        for name, data in _files(job, names)
    ]
    return [part for part in read if part is not None]


def _parts(job: _Job, inputs: JobInputs) -> list[Part]:
    """Read drives, walks, marks and photos; what is listed as a walk is no drive."""
    uses = (
        ("walks", inputs.walks),
        ("drives", inputs.drives),
        ("marks", inputs.marks),
        ("photos", inputs.photos),
    )
    names = {key: job.wanted(patterns, f"[inputs] {key}") for key, patterns in uses}
    names["drives"] = [name for name in names["drives"] if name not in names["walks"]]
    read = [part for key, wanted in names.items() for part in _read(job, wanted, key)]
    parts, findings = attach_photos(read)
    job.findings.extend(findings)
    return parts


def _records(job: _Job, inputs: JobInputs) -> list[Part]:
    """Read the records of the job's surroundings, as the job says what is in their files."""
    names = job.wanted(inputs.records, "[inputs] records")
    job.wanted([one.files for one in inputs.record_files], "[[records]] files")
    return _read(job, sorted({*names, *job.how.fields}), "records")


def _streets(job: _Job, inputs: JobInputs) -> tuple[Street, ...]:
    """Read the street maps of the job's surroundings."""
    how, names = job.how, job.wanted(inputs.streets, "[inputs] streets")
    read = partial(read_streets, near=how.near, datum_operation=how.datum_operation)
    maps = [
        job.tried(partial(read, data, name=name), listed=name) for name, data in _files(job, names)
    ]
    job.sources.extend(one.source for one in maps if one)
    job.findings.extend(finding for one in maps if one for finding in one.findings)
    return tuple(street for one in maps if one for street in one.streets)


def _check_set_aside(job: _Job) -> None:
    """Say which names under set_aside are no listed file."""
    known = {one.name for one in job.sources if one.what == "set aside"}
    for name in job.set_aside:
        if name not in known:
            msg = (
                f"{job.name}: [inputs] set_aside: {name!r} is none of the files that drives, "
                "walks, marks, records and photos name; mend it or take it out"
            )
            job.errors.append(JobError(msg, file=job.name, set_aside=name))


class _Line(NamedTuple):
    """What the file of a leg's centerline holds: pieces, or a designed alignment."""

    pieces: tuple[LinePiece, ...]
    alignment: Alignment | None
    findings: tuple[Finding, ...]


def _line(job: _Job, code: str, line: LineFile) -> _Line:
    """Read the line of one leg.

    Raises
    ------
    JobError
        If its file is not there, or is picked from in the way of another sort of file.
    """
    if line.file not in job.files:
        msg = (
            f"{job.name}: leg {code}: centerline {line.file!r} is not among the job's files; mend "
            "the name or put the file there"
        )
        raise JobError(msg, file=job.name, missing=line.file)
    data = job.files[line.file]
    sort = sort_of(data, name=line.file)
    if sort == "landxml" and line.where:
        msg = (
            f"{job.name}: leg {code}: where = {line.where!r} picks features of a map file, and "
            f"{line.file} is LandXML; write name = and the alignment's name"
        )
        raise JobError(msg, file=job.name, where=line.where)
    if sort != "landxml" and line.name:
        msg = (
            f"{job.name}: leg {code}: name = {line.name!r} picks an alignment of LandXML, and "
            f"{line.file} is {SORTS[sort]}; leave it out, or write where = for a GIS file"
        )
        raise JobError(msg, file=job.name, name=line.name)
    if sort == "landxml":
        read = read_alignments(data, name=line.file)
        alignment = choose(read, wanted=line.name, name=line.file)
        names = {one.name for one in read.alignments} | {name for name, _ in read.refused}
        others = [f"alignment {name!r}" for name in names - {alignment.name}]
        said = [one for one in read.findings if not any(other in one.where for other in others)]
        return _Line((), alignment, tuple(said))
    operation = job.how.datum_operation
    pieces = read_lines(data, name=line.file, where=line.where, datum_operation=operation)
    return _Line(pieces, None, ())


def _lines(job: _Job, inputs: JobInputs) -> dict[str, _Line]:
    """The lines of all legs that have a file."""
    lines = {}
    for code, line in inputs.lines.items():
        read = job.tried(partial(_line, job, code, line))
        if read is not None:
            lines[code] = read
            taken = {"alignments": 1} if read.alignment else {"pieces": len(read.pieces)}
            job.sources.append(_source(job, line.file, "centerline", **taken))
    said = dict.fromkeys(finding for line in lines.values() for finding in line.findings)
    job.findings.extend(said)
    return lines


def _source(job: _Job, name: str, what: str, **taken: int) -> Source:
    return source(job.files[name], name=name, what=what, taken=taken, skipped={})


def _beside(job: _Job, name: str, read: _TableReader[_T]) -> tuple[_T, ...]:
    """A table that may stand beside the job file; no rows when it is not there or is wrong."""
    data = job.files.get(name)
    return () if data is None else job.tried(partial(read, data, name=name)) or ()


def _refuse(job: _Job) -> None:
    """Say all that is wrong with a job and its files, a line each, and how to go on without them.

    Raises
    ------
    JobError
        If more than one thing is wrong; one alone keeps its own class.
    """
    if not job.errors:
        return
    lines = [str(error) for error in job.errors]
    if job.bad:
        names = json.dumps(sorted({*job.bad, *job.set_aside}), ensure_ascii=False)
        lines.append(f"to go on without what cannot be read: [inputs] set_aside = {names}")
    first = job.errors[0]
    if len(job.errors) == 1:
        if len(lines) == 1:
            raise first
        raise type(first)("\n".join(lines), **first.facts) from first
    msg = "\n".join(lines)
    raise JobError(msg, faults=tuple(map(str, job.errors)), files=tuple(job.bad)) from first


def _beside_toml(name: str, files: Mapping[str, bytes]) -> tuple[str, dict[str, bytes]]:
    """The job file's own name, and the files by their names relative to its folder.

    Raises
    ------
    JobError
        If the job file is not among the files.
    """
    if name not in files:
        msg = f"{name}: is not among the {len(files)} files given; give the job's TOML with them"
        raise JobError(msg, file=name)
    folder = name[: name.rfind("/") + 1]
    inside = {path: data for path, data in files.items() if path.startswith(folder)}
    return name.removeprefix(folder), {
        path.removeprefix(folder): data for path, data in inside.items()
    }


def read_job(name: str, files: Mapping[str, bytes], *, also: Sequence[Part] = ()) -> Inputs:
    """Read a job and all its files.

    Parameters
    ----------
    name
        The TOML's name, a key of ``files``.
    files
        Contents by name with forward slashes; in any order.
    also
        Parts that come from no file: what phones sent.
    """
    own_name, near = _beside_toml(name, files)
    settings, inputs = read_settings(near[own_name], name=own_name, kinds_text=kinds_text())
    how = How(
        kinds=settings.kinds,
        zone=settings.timezone,
        datum_operation=settings.datum_operation,
    )
    job = _Job(name=own_name, files=near, how=how, set_aside=inputs.set_aside)
    parts, lines = [*_parts(job, inputs), *also], _lines(job, inputs)
    pieces = [piece for line in lines.values() for piece in line.pieces]
    alignments = {code: line.alignment for code, line in lines.items() if line.alignment}
    box = surroundings(parts, pieces, alignments, settings)
    said = job.tried(partial(fields_by_file, inputs.record_files, near, name=own_name)) or {}
    near_job = replace(job, how=replace(how, near=box, fields=said))
    parts += _records(near_job, inputs)
    streets = _streets(near_job, inputs)
    _check_set_aside(job)
    issued = job.tried(partial(read_issued, near, folder=inputs.issued)) if inputs.issued else None
    decisions = _beside(job, _DECISIONS, read_decisions)
    numbers = _beside(job, _NUMBERS, read_numbers)
    _refuse(job)
    counts = {_DECISIONS: len(decisions), _NUMBERS: len(numbers)}
    survey = assemble(
        parts,
        lines={code: line.pieces for code, line in lines.items() if line.pieces},
        alignments=alignments,
        sources=[
            *job.sources,
            _source(job, own_name, "job", legs=len(settings.legs)),
            *(
                _source(job, table, table.removesuffix(".csv"), rows=count)
                for table, count in counts.items()
                if table in near
            ),
        ],
        findings=(*inputs.findings, *job.findings),
    )
    legs = [job.tried(partial(with_spine, leg, parts, survey)) for leg in settings.legs]
    _refuse(job)
    return Inputs(
        survey=replace(survey, streets=streets),
        settings=replace(settings, legs=tuple(leg for leg in legs if leg is not None)),
        decisions=decisions,
        numbers=numbers,
        issued=issued,
    )
