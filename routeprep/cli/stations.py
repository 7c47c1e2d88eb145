"""``routeprep stations LINE -o DIR``: stations with coordinates, and a job's wheel sheet."""

import datetime as dt
import math
import zoneinfo
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

import click
import numpy as np

from routeprep import tables
from routeprep.cli.arguments import FOLDER, PAPER
from routeprep.cli.steps import steps, write_file
from routeprep.errors import OutputError, StationError
from routeprep.exports.stations import (
    Staked,
    staked_alignment,
    staked_leg,
    stations_csv,
    stations_gpx,
)
from routeprep.kept import JOB_FILE, STORED, TOML, open_job
from routeprep.kinds import parse_kinds
from routeprep.legs import build_legs
from routeprep.lines import Alignment, LinePiece, Stationing
from routeprep.packing import prepared
from routeprep.readers.disk import kinds_text, one_file
from routeprep.readers.landxml import choose, read_alignments
from routeprep.readers.sniff import sort_of
from routeprep.readers.vector import read_lines
from routeprep.shapes import Finding, LegSettings, Pack, Settings, Survey
from routeprep.sheets import wheel_sheet
from routeprep.store import is_job_file
from routeprep.units import STATION_UNITS, USUAL_UNITS, StationUnit, parse_station

__all__ = ["command"]

# Nothing of a line alone is printed with its date or the width of its lanes: any will do.
_ANY_DATE, _ANY_WIDTH_M = dt.date(2000, 1, 1), 3.5


class _Line(NamedTuple):
    """What a line without a job is stationed by: options of the command."""

    start: str
    unit: str
    crs: str
    alignment: str


def _start(line: _Line, unit: StationUnit) -> float:
    """The station at the line's beginning [the unit's length]; NaN when not given.

    Raises
    ------
    click.BadParameter
        If it is no station of the unit.
    """
    if not line.start:
        return math.nan
    try:
        return parse_station(line.start, unit)
    except StationError as error:
        raise click.BadParameter(str(error), param_hint="--start") from error


def _unplaced(alignment: Alignment, line: _Line, *, every: float | None) -> Staked:
    """Stations of an alignment whose plane nobody named, in its own coordinates."""
    unit = STATION_UNITS[line.unit] if line.unit else USUAL_UNITS[alignment.unit]
    start = _start(line, unit)
    stationing = Stationing(
        unit=unit,
        zero="",
        known_m=(0.0,),
        known_value=(alignment.start_value if math.isnan(start) else start,),
        equations=alignment.equations,
        length_m=float(np.sum(alignment.length_m)),
    )
    return staked_alignment(alignment, stationing, every=every or wheel_sheet.EVERY[unit.family])


def _placed(
    name: str,
    line: _Line,
    *,
    pieces: Sequence[LinePiece],
    alignment: Alignment | None,
    every: float | None,
) -> tuple[Staked, Sequence[Finding]]:
    """Stations of a line with longitudes and latitudes, as a job of this one leg has them."""
    usual = USUAL_UNITS[alignment.unit if alignment else "ft"]
    unit = STATION_UNITS[line.unit] if line.unit else usual
    start = _start(line, unit)
    leg = LegSettings(
        code="A",
        name=name,
        spine="",
        start_value=0.0 if math.isnan(start) and alignment is None else start,
        zero="",
        start_near_deg=None,
        unit=unit,
        unit_said=bool(line.unit),
        elevation_m=math.nan,
        from_station="",
        to_station="",
        depth_m=math.nan,
        lane_width_m=_ANY_WIDTH_M,
        lanes_left=1,
        lanes_right=1,
        crs=line.crs,
    )
    survey = Survey(
        fixes=tables.table(tables.FIXES, []),
        drive_names={},
        drive_by={},
        marks=tables.table(tables.MARKS, []),
        records=tables.table(tables.RECORDS, []),
        lines={} if alignment else {"A": tuple(pieces)},
        alignments={"A": alignment} if alignment else {},
        sources=(),
        findings=(),
    )
    settings = Settings(
        name=name,
        number="",
        revision="",
        date=_ANY_DATE,
        timezone=zoneinfo.ZoneInfo("UTC"),
        units="us" if unit.family == "ft" else "metric",
        legs=(leg,),
        kinds=parse_kinds(kinds_text()),
    )
    (made,), findings = build_legs(survey, settings, survey.fixes, {})
    every = every or wheel_sheet.EVERY[unit.family]
    return staked_leg(made, every=every), findings


def _of_file(path: Path, line: _Line, *, every: float | None) -> tuple[Staked, Sequence[Finding]]:
    """Stations of a line that a file holds."""
    name, data = one_file(path)
    if sort_of(data, name=name) != "landxml":
        pieces = read_lines(data, name=name)
        return _placed(name, line, pieces=pieces, alignment=None, every=every)
    read = read_alignments(data, name=name)
    alignment = choose(read, wanted=line.alignment, name=name)
    if alignment.crs or line.crs:
        staked, found = _placed(name, line, pieces=(), alignment=alignment, every=every)
        return staked, (*read.findings, *found)
    text = (
        "no coordinate system is named, so there are no longitudes and latitudes and no GPX; "
        "name it with --crs, such as EPSG:26915"
    )
    said = Finding(level="note", where=name, text=text)
    return _unplaced(alignment, line, every=every), (*read.findings, said)


class _LineOrJob(click.Path):
    """A file with a line in it, or a job as ``JobFile`` takes it; the value is the text."""

    name = "line"

    def __init__(self) -> None:
        super().__init__(exists=True, dir_okay=False)

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> str:
        text = str(value)
        if not text.startswith(STORED):
            super().convert(text, param, ctx)
        return text


def _is_job(text: str) -> bool:
    """Whether a line is a job: a GeoPackage may be a job file or hold a line alone."""
    ending = Path(text).suffix.lower()
    return (
        text.startswith(STORED)
        or ending == TOML
        or (ending == JOB_FILE and is_job_file(Path(text)))
    )


def _pack(job: str, line: _Line) -> Pack:
    """The pack of a job.

    Raises
    ------
    click.UsageError
        If an option says what a job says itself.
    """
    given = [f"--{key}" for key, value in line._asdict().items() if value]
    if given:
        msg = f"{', '.join(given)}: a job says that itself; leave it out"
        raise click.UsageError(msg)
    opened = open_job(job)
    return prepared(opened.inputs, opened.files)


def _of_job(pack: Pack, code: str | None, *, every: float | None) -> list[Staked]:
    """Stations of a job's legs, or of one of them.

    Raises
    ------
    click.BadParameter
        If the job has no leg of that code.
    """
    codes = [leg.settings.code for leg in pack.legs]
    if code is not None and code not in codes:
        msg = f"{code!r} is no leg of this job; it has {', '.join(codes)}"
        raise click.BadParameter(msg, param_hint="--leg")
    return [
        staked_leg(leg, every=every or wheel_sheet.EVERY[leg.stationing.unit.family])
        for leg in pack.legs
        if code in {None, leg.settings.code}
    ]


def _write(folder: Path, files: Mapping[str, bytes], *, inputs: tuple[str, ...]) -> None:
    """Write the files into a folder and name them.

    Raises
    ------
    OutputError
        If the folder cannot be made.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        msg = f"{folder} cannot be written ({error}); choose a folder that can"
        raise OutputError(msg, path=str(folder)) from error
    for name, content in files.items():
        write_file(folder / name, content, inputs=inputs)
        click.echo(f"{folder / name}")


def _files(lines: Sequence[Staked]) -> dict[str, bytes]:
    files = {"stations.csv": stations_csv(lines).encode()}
    if any(np.isfinite(staked.lon_deg).any() for staked in lines):
        files["stations.gpx"] = stations_gpx(lines).encode()
    return files


@click.command("stations")
@click.argument("line", type=_LineOrJob())
@click.option("-o", "--output", "target", type=FOLDER, required=True, help="Folder to write to.")
@click.option("--every", type=click.FloatRange(min=0.1), help="Feet or metres between stations.")
@click.option("--leg", "code", help="One leg of a job; all without it.")
@click.option("--start", default="", help="Station at the line's beginning (a file, no job).")
@click.option("--unit", type=click.Choice(list(STATION_UNITS)), help="How stations are written.")
@click.option("--crs", default="", help="Coordinate system of a LandXML that names none.")
@click.option("--alignment", default="", help="Name of one of a LandXML's alignments.")
@PAPER
def command(  # noqa: PLR0913 - the options of a command
    line: str,
    target: Path,
    *,
    every: float | None,
    code: str | None,
    start: str,
    unit: str | None,
    crs: str,
    alignment: str,
    paper: str,
) -> None:
    """Write stations with their coordinates; of a job the wheel sheet.

    LINE is a file with a line in it (LandXML, GeoJSON and the like), or a job: its .toml, a job
    file (.gpkg) or store:NAME.  Written are stations.csv, stations.gpx where longitudes are known,
    and wheel-sheet.pdf of a job: feet on the wheel from the nearest physical thing to each station
    and each obstruction.
    """
    options = _Line(start=start, unit=unit or "", crs=crs, alignment=alignment)
    with steps(3) as done:
        if _is_job(line):
            pack = _pack(line, options)
            done("prepared the job")
            out = _files(_of_job(pack, code, every=every))
            out["wheel-sheet.pdf"] = wheel_sheet.render(pack, paper=paper, every=every)
            findings: Sequence[Finding] = ()
        else:
            staked, findings = _of_file(Path(line), options, every=every)
            done("read the line")
            out = _files([staked])
        _write(target, out, inputs=(line,))
        done("wrote the files")
    for finding in findings:
        click.echo(f"{finding.where}: {finding.text}")
