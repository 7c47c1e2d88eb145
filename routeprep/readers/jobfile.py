"""A whole job from its TOML and its files.

In go names and bytes, out come ``Inputs``: survey, settings, decisions and numbers.  Each file is
read by what it holds, whatever it is called, and all that is wrong is said at once.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Protocol, TypeVar

from routeprep import tables
from routeprep.errors import InputError, JobError, ReadError
from routeprep.kinds import KindTable
from routeprep.lines import LinePiece
from routeprep.readers.assembly import assemble
from routeprep.readers.disk import kinds_text
from routeprep.readers.globs import matching
from routeprep.readers.gpx import read_gpx
from routeprep.readers.jobleg import LineFile
from routeprep.readers.jobtoml import JobInputs, read_settings
from routeprep.readers.markstable import read_marks_csv, read_marks_points
from routeprep.readers.nmea import read_nmea
from routeprep.readers.parts import source
from routeprep.readers.records import read_records
from routeprep.readers.sniff import sort_of
from routeprep.readers.tables_csv import read_decisions, read_numbers
from routeprep.readers.vector import read_lines
from routeprep.shapes import (
    Decision,
    Finding,
    IssuedNumber,
    LegSettings,
    Part,
    Settings,
    Source,
    Survey,
)

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


class _Reader(Protocol):
    """A reader of a file that gives a part."""

    def __call__(self, data: bytes, *, name: str, kinds: KindTable) -> Part:
        """Read the file."""


class _TableReader(Protocol[_T_co]):
    """A reader of a table beside the job."""

    def __call__(self, data: bytes, *, name: str) -> tuple[_T_co, ...]:
        """Read the table."""


def _drive(data: bytes, *, name: str, kinds: KindTable) -> Part:
    """Read a drive, whatever it is called.

    Raises
    ------
    ReadError
        If it is no log of a drive.
    """
    sort = sort_of(data, name=name)
    if sort == "xml":
        return read_gpx(data, name=name, kinds=kinds)
    if sort == "nmea":
        return read_nmea(data, name=name)
    msg = (
        f"{name}: is {sort} by its content, no log of a drive; give GPX or NMEA, or list it under "
    )
    raise ReadError(msg + "marks or records", file=name, found=sort)


def _only_marks(part: Part) -> Part:
    """The waypoints of a GPX file that is listed for its marks."""
    findings = part.findings
    if len(part.fixes):
        text = (
            f"is listed under marks, so its {len(part.fixes)} fixes are not used; list it under "
            "drives to use them"
        )
        findings = (*findings, Finding(level="doubt", where=part.source.name, text=text))
    return replace(
        part,
        fixes=tables.table(tables.FIXES, []),
        drive_names={},
        drive_by={},
        source=replace(
            part.source,
            what="marks",
            taken={"waypoints": len(part.marks)},
            skipped={**part.source.skipped, **({"fixes": n} if (n := len(part.fixes)) else {})},
        ),
        findings=findings,
    )


def _marks(data: bytes, *, name: str, kinds: KindTable) -> Part:
    """Read marks, whatever the file is called.

    Raises
    ------
    ReadError
        If it holds no marks.
    """
    sort = sort_of(data, name=name)
    if sort == "xml":
        return _only_marks(read_gpx(data, name=name, kinds=kinds))
    if sort == "csv":
        return read_marks_csv(data, name=name, kinds=kinds)
    if sort == "gis":
        return read_marks_points(data, name=name, kinds=kinds)
    msg = f"{name}: is {sort} by its content and holds no marks; list it under drives"
    raise ReadError(msg, file=name, found=sort)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Job:
    """A job's files by their names relative to its TOML, its kinds, and all that is wrong."""

    name: str
    files: Mapping[str, bytes]
    kinds: KindTable
    errors: list[InputError]

    def tried(self, read: Callable[[], _T]) -> _T | None:
        """What a reader gives, or None with its complaint among the errors."""
        try:
            return read()
        except InputError as error:
            self.errors.append(error)
            return None

    def wanted(self, patterns: Sequence[str], key: str) -> list[str]:
        """The files that patterns mean, each once; a pattern that means none is an error."""
        found = {pattern: matching(pattern, self.files) for pattern in patterns}
        for pattern, names in found.items():
            if not names:
                msg = (
                    f"{self.name}: [inputs] {key}: {pattern!r} fits none of the job's files; mend "
                    "it or put the file there"
                )
                self.errors.append(JobError(msg, file=self.name, pattern=pattern))
        return sorted({name for names in found.values() for name in names})


def _parts(job: _Job, inputs: JobInputs) -> list[Part]:
    """Read drives, marks and records."""
    uses: tuple[tuple[str, tuple[str, ...], _Reader], ...] = (
        ("drives", inputs.drives, _drive),
        ("marks", inputs.marks, _marks),
        ("records", inputs.records, read_records),
    )
    read = [
        job.tried(partial(reader, job.files[name], name=name, kinds=job.kinds))
        for key, patterns, reader in uses
        for name in job.wanted(patterns, key)
    ]
    return [part for part in read if part is not None]


def _line(job: _Job, code: str, line: LineFile) -> tuple[LinePiece, ...]:
    """Read the line of one leg.

    Raises
    ------
    JobError
        If its file is not there.
    """
    if line.file not in job.files:
        msg = (
            f"{job.name}: leg {code}: centerline {line.file!r} is not among the job's files; mend "
            "the name or put the file there"
        )
        raise JobError(msg, file=job.name, missing=line.file)
    return read_lines(job.files[line.file], name=line.file, where=line.where)


def _lines(job: _Job, inputs: JobInputs) -> tuple[dict[str, tuple[LinePiece, ...]], list[Source]]:
    """The lines of all legs that have a file, and the files."""
    lines, sources = {}, []
    for code, line in inputs.lines.items():
        pieces = job.tried(partial(_line, job, code, line))
        if pieces is not None:
            lines[code] = pieces
            sources.append(_source(job, line.file, "centerline", pieces=len(pieces)))
    return lines, sources


def _source(job: _Job, name: str, what: str, **taken: int) -> Source:
    return source(job.files[name], name=name, what=what, taken=taken, skipped={})


def _beside(job: _Job, name: str, read: _TableReader[_T]) -> tuple[_T, ...]:
    """A table that may stand beside the job file; no rows when it is not there or is wrong."""
    data = job.files.get(name)
    return () if data is None else job.tried(partial(read, data, name=name)) or ()


def _with_spine(leg: LegSettings, parts: Sequence[Part], survey: Survey) -> LegSettings:
    """The leg with its spine called as the survey calls it, for a copy kept under another name.

    Raises
    ------
    JobError
        If the spine is no file of a drive.
    """
    ids = [
        drive_id
        for part in parts
        for drive_id, called in part.drive_names.items()
        if leg.spine in {called, part.source.name}
    ]
    if not leg.spine:
        return leg
    if not ids:
        known = sorted({part.source.name for part in parts if part.drive_names})
        msg = (
            f"leg {leg.code}: spine {leg.spine!r} is no drive of this job; the drives are "
            f"{', '.join(known) or 'none'}"
        )
        raise JobError(msg, leg=leg.code, spine=leg.spine)
    names = [survey.drive_names[drive_id] for drive_id in ids]
    return leg if any(one.startswith(leg.spine) for one in names) else replace(leg, spine=names[0])


def _refuse(errors: Sequence[InputError]) -> None:
    """Say all that is wrong with a job and its files, a line each.

    Raises
    ------
    JobError
        If more than one thing is wrong; one alone keeps its own class.
    """
    if len(errors) == 1:
        raise errors[0]
    if errors:
        msg = "\n".join(map(str, errors))
        raise JobError(msg, faults=tuple(map(str, errors))) from errors[0]


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


def read_job(name: str, files: Mapping[str, bytes]) -> Inputs:
    """Read a job and all its files.

    Parameters
    ----------
    name
        The TOML's name, a key of ``files``.
    files
        Contents by name with forward slashes; in any order.
    """
    own_name, near = _beside_toml(name, files)
    settings, inputs = read_settings(near[own_name], name=own_name, kinds_text=kinds_text())
    job = _Job(name=own_name, files=near, kinds=settings.kinds, errors=[])
    parts = _parts(job, inputs)
    lines, sources = _lines(job, inputs)
    decisions = _beside(job, _DECISIONS, read_decisions)
    numbers = _beside(job, _NUMBERS, read_numbers)
    _refuse(job.errors)
    counts = {_DECISIONS: len(decisions), _NUMBERS: len(numbers)}
    sources += [_source(job, own_name, "job", legs=len(settings.legs))]
    sources += [
        _source(job, table, table.removesuffix(".csv"), rows=count)
        for table, count in counts.items()
        if table in near
    ]
    survey = assemble(parts, lines=lines, alignments={}, sources=sources, findings=inputs.findings)
    legs = [job.tried(partial(_with_spine, leg, parts, survey)) for leg in settings.legs]
    _refuse(job.errors)
    return Inputs(
        survey=survey,
        settings=replace(settings, legs=tuple(leg for leg in legs if leg is not None)),
        decisions=decisions,
        numbers=numbers,
    )
