"""The job's TOML to ``Settings`` and the names of its input files.

In go bytes, out come the settings in metres and station values.  Everything that is wrong with
the file is said in one error, so that it is mended once.
"""

import datetime as dt
import math
import tomllib
import zoneinfo
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from functools import partial

from routeprep.errors import InputError, JobError
from routeprep.kinds import KindTable, parse_kinds
from routeprep.readers.globs import pattern_fault
from routeprep.readers.jobbriefing import read_briefing, read_tiles
from routeprep.readers.jobleg import LineFile, read_leg
from routeprep.readers.jobrecords import RecordFiles, read_record_tables
from routeprep.readers.jobwork import read_haul, read_machines
from routeprep.readers.parts import shown
from routeprep.readers.tomltable import TomlTable
from routeprep.shapes import Defaults, Finding, LegSettings, Settings

__all__ = ["JobInputs", "parse_toml", "read_settings"]

# The format that this version reads; the job file says it as format = 1.
_FORMAT = 1

_TOP = (
    "format",
    "job",
    "inputs",
    "records",
    "leg",
    "kind",
    "defaults",
    "briefing",
    "map",
    "machine",
    "haul",
)
_JOB = ("name", "number", "revision", "date", "timezone", "units", "datum_operation")
_INPUTS = ("drives", "walks", "marks", "records", "photos", "streets", "issued", "set_aside")
_UNITS = ("us", "metric")


@dataclass(frozen=True, slots=True, kw_only=True)
class JobInputs:
    """The files that a job names, relative to its TOML with forward slashes.

    Attributes
    ----------
    drives, walks, marks, records, photos
        Names or patterns; walks are drives that were recorded on foot.
    streets
        Names or patterns of street maps, for landmarks.
    issued
        The folder of the pack that was issued last; empty for a first issue.
    set_aside
        Names of files among those that are not read, members of a zip as "log.zip/inner.gpx".
    lines
        Leg code to the file of its centerline; legs whose line comes from drives are left out.
    findings
        What was not given and what is taken instead.
    record_files
        Further names or patterns of records, with what the job says of each file.
    """

    drives: tuple[str, ...]
    walks: tuple[str, ...]
    marks: tuple[str, ...]
    records: tuple[str, ...]
    photos: tuple[str, ...]
    streets: tuple[str, ...]
    issued: str
    set_aside: tuple[str, ...]
    lines: Mapping[str, LineFile]
    findings: tuple[Finding, ...]
    record_files: tuple[RecordFiles, ...] = ()


def parse_toml(data: bytes, *, name: str) -> dict[str, object]:
    """Parse TOML from bytes.

    Parameters
    ----------
    data
        The file.
    name
        Its name, for messages.

    Raises
    ------
    JobError
        If it is no TOML, with the place.
    """
    try:
        return tomllib.loads(data.decode("utf-8-sig"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, RecursionError) as error:
        msg = f"{name}: is not TOML that can be read ({error}); mend it there"
        raise JobError(msg, file=name, diagnostic=str(error)) from error


def _check_format(top: TomlTable, name: str) -> None:
    """Refuse a newer format before anything else is looked at.

    Raises
    ------
    JobError
        If the format is newer than this version reads.
    """
    found = top.values.get("format")
    if isinstance(found, int) and not isinstance(found, bool) and found > _FORMAT:
        msg = (
            f"{name}: has format {found}, this version reads format {_FORMAT}; take a newer version"
        )
        raise JobError(msg, file=name, format=found)
    if found != _FORMAT or isinstance(found, bool | float):
        top.fault(f"format is {shown(found)}; write format = {_FORMAT}")


def _date(job: TomlTable) -> dt.date:
    value = job.values.get("date")
    if isinstance(value, dt.date) and not isinstance(value, dt.datetime):
        return value
    job.fault(
        "date is missing; give the date to print, as date = 2026-06-01"
        if value is None
        else f"date is {shown(value)}; expected a date without quotes or time, such as 2026-06-01"
    )
    return dt.date.min


def _timezone(job: TomlTable) -> zoneinfo.ZoneInfo:
    text = job.text("timezone") or "UTC"
    try:
        return zoneinfo.ZoneInfo(text)
    except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
        job.fault(f"timezone {text!r} is not known; give an IANA name such as 'America/Chicago'")
        return zoneinfo.ZoneInfo("UTC")


def _units(job: TomlTable) -> str:
    units = job.text("units") or "us"
    if units not in _UNITS:
        job.fault(f"units is {units!r}; expected one of {', '.join(_UNITS)}")
        return "us"
    return units


def _patterns(inputs: TomlTable, key: str) -> tuple[str, ...]:
    texts = inputs.texts(key)
    for text in texts:
        wrong = pattern_fault(text)
        if wrong:
            inputs.fault(f"{key}: {wrong}")
    return texts


def _defaults(table: TomlTable) -> Defaults:
    known = [field.name for field in fields(Defaults)]
    table.only(*known)
    given = {key: table.number(key) for key in table.values if key in known}
    try:
        return Defaults(**{key: value for key, value in given.items() if not math.isnan(value)})
    except JobError as error:
        table.fault(str(error))
        return Defaults()


def _kinds(top: TomlTable, kinds_text: str) -> KindTable | None:
    extra = [table.values for table in top.tables("kind")]
    try:
        return parse_kinds(kinds_text, extra=extra)
    except InputError as error:
        top.fault(f"[[kind]]: {error}")
        return None


def _findings(job: TomlTable, name: str) -> tuple[Finding, ...]:
    taken = {"timezone": "UTC", "units": "us", "revision": "A"}
    return tuple(
        Finding(level="note", where=name, text=f"[job] gives no {key}; {value} is taken")
        for key, value in taken.items()
        if not job.values.get(key)
    )


def _read_inputs(
    top: TomlTable, lines: Mapping[str, LineFile], findings: tuple[Finding, ...]
) -> JobInputs:
    inputs = top.table("inputs")
    inputs.only(*_INPUTS)
    return JobInputs(
        drives=_patterns(inputs, "drives"),
        walks=_patterns(inputs, "walks"),
        marks=_patterns(inputs, "marks"),
        records=_patterns(inputs, "records"),
        photos=_patterns(inputs, "photos"),
        streets=_patterns(inputs, "streets"),
        issued=inputs.text("issued").strip("/"),
        set_aside=inputs.texts("set_aside"),
        lines=lines,
        findings=findings,
    )


def read_settings(data: bytes, *, name: str, kinds_text: str) -> tuple[Settings, JobInputs]:
    """Read a job file.

    Parameters
    ----------
    data
        The TOML.
    name
        Its name, for messages.
    kinds_text
        The text of the kinds table; the job's own [[kind]] tables are added to it.

    Raises
    ------
    JobError
        Saying all that is wrong with the file, a line each; ``facts["faults"]`` has them one by
        one.
    """
    top = TomlTable(values=parse_toml(data, name=name), where="", faults=[])
    _check_format(top, name)
    top.only(*_TOP)
    job = top.table("job")
    job.only(*_JOB)
    units = _units(job)
    read = [read_leg(table, units=units) for table in top.tables("leg")]
    lines = {leg.code: line for leg, line in read if leg is not None and line is not None}
    settings = _settings(top, job, units, [leg for leg, _ in read if leg is not None], kinds_text)
    inputs = replace(
        _read_inputs(top, lines, _findings(job, name)),
        record_files=read_record_tables(top, settings.kinds if settings else None),
    )
    if top.faults or settings is None:
        msg = "\n".join(f"{name}: {fault}" for fault in top.faults)
        raise JobError(msg, file=name, faults=tuple(top.faults))
    return settings, inputs


def _settings(
    top: TomlTable, job: TomlTable, units: str, legs: list[LegSettings], kinds_text: str
) -> Settings | None:
    """The settings, or None with what is wrong among the faults."""
    kinds = _kinds(top, kinds_text)
    make = partial(
        Settings,
        name=job.text("name", needed=True),
        number=job.text("number"),
        revision=job.text("revision") or "A",
        date=_date(job),
        timezone=_timezone(job),
        units=units,
        legs=tuple(legs),
        datum_operation=job.text("datum_operation"),
        defaults=_defaults(top.table("defaults")),
        briefing=read_briefing(top.table("briefing")),
        tiles=read_tiles(top.table("map")),
        machines=read_machines(top, units=units),
        haul=read_haul(top.table("haul"), units=units),
    )
    if kinds is None or (not legs and top.values.get("leg")):
        return None
    try:
        return make(kinds=kinds)
    except JobError as error:
        top.fault(str(error))
        return None
