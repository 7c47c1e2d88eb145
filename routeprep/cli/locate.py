"""``routeprep locate POINTS -o OUT.csv``: points against one line, of a file or of a job's leg."""

import math
import re
from pathlib import Path
from typing import Any

import click
import numpy as np
import numpy.typing as npt
import pandas as pd

from routeprep.centerline import from_pieces
from routeprep.cli.arguments import FILE, OUT_FILE, JobFile
from routeprep.cli.steps import steps, write_file
from routeprep.errors import ReadError
from routeprep.exports.cells import DECIMALS, guarded
from routeprep.kept import open_job
from routeprep.lines import Centerline
from routeprep.locating import Places, locate, runners_up
from routeprep.packing import prepared
from routeprep.readers.disk import one_file
from routeprep.readers.sniff import sort_of
from routeprep.readers.vector import read_lines, read_points
from routeprep.shapes import Defaults, Finding, Leg
from routeprep.stationing import label

__all__ = ["command"]

Floats = npt.NDArray[np.float64]

# A text that is a number, signed or not, is no formula.
_NUMBER = re.compile(r"[+-]?\d+([.,]\d+)?([eE][+-]?\d+)?")


def _leg_of(job: str | None, code: str | None) -> tuple[Leg | None, Defaults]:
    """The leg of a job that the points are on, the one asked for or the only one, and defaults.

    Raises
    ------
    click.UsageError
        If the job has no leg of that code, or several and none was asked for; or if a leg is
        asked for without a job.
    """
    if job is None:
        if code is not None:
            msg = f"--leg {code} names a leg of a job; give the job with --job"
            raise click.UsageError(msg)
        return None, Defaults()
    opened = open_job(job)
    pack = prepared(opened.inputs, opened.files)
    legs = {leg.settings.code: leg for leg in pack.legs}
    wanted = next(iter(legs)) if code is None and len(legs) == 1 else code
    if wanted not in legs:
        msg = f"{job} has the legs {', '.join(legs)}; say which one with --leg"
        raise click.UsageError(msg)
    return legs[wanted], pack.settings.defaults


def _line(
    path: Path | None, leg: Leg | None, *, join_gap_m: float
) -> tuple[Centerline, tuple[Finding, ...]]:
    """The leg's own line, or the file's, measured at the leg's elevation and from its start.

    Raises
    ------
    click.UsageError
        If there is neither a file nor a leg.
    ReadError
        If the file is a designed alignment, which a leg has to bring.
    """
    if path is None:
        if leg is None:
            msg = "no line: give a file with --line, or a job with --job for its leg's own line"
            raise click.UsageError(msg)
        return leg.line, ()
    name, data = one_file(path)
    if sort_of(data, name=name) == "landxml":
        msg = (
            f"{name}: is LandXML; make a designed alignment the centerline of a leg, and give its "
            "job with --job and without --line"
        )
        raise ReadError(msg, file=name)
    line, findings = from_pieces(
        read_lines(data, name=name),
        leg=leg.settings.code if leg else name,
        elevation_m=leg.line.elevation_m if leg else 0.0,
        start_near_deg=leg.settings.start_near_deg if leg else None,
        join_gap_m=join_gap_m,
    )
    return line, tuple(findings)


def _doubts(places: Places, runner_up_m: Floats, *, corridor_m: float) -> list[str]:
    """Every reason why a point's place needs a human eye."""
    reasons = {
        "no place": np.isnan(places.along_m),
        "past an end": places.past_end_m > 0,
        "far from the road": places.distance_m > corridor_m,
        "near tie": np.isfinite(runner_up_m),
    }
    told = [np.where(holds, text, "").tolist() for text, holds in reasons.items()]
    return ["; ".join(filter(None, row)) for row in zip(*told, strict=True)]


def _stations(along_m: Floats, leg: Leg | None) -> list[str]:
    if leg is None:
        return [""] * len(along_m)
    return [label(leg.stationing, one) if math.isfinite(one) else "" for one in along_m.tolist()]


def _added(line: Centerline, lon_deg: Floats, lat_deg: Floats, *, leg: Leg | None,
           defaults: Defaults) -> pd.DataFrame:  # fmt: skip
    """The columns that say where each point is."""
    places = locate(line, lon_deg, lat_deg)
    runner_up_m = runners_up(
        line,
        lon_deg,
        lat_deg,
        places,
        within_m=defaults.runner_up_within_m,
        apart_m=defaults.runner_up_apart_m,
    )
    digits = DECIMALS["along_m"]
    return pd.DataFrame(
        {
            "leg": [leg.settings.code if leg else ""] * len(lon_deg),
            "along_m": places.along_m.round(digits) + 0.0,
            "offset_m": places.offset_m.round(digits) + 0.0,
            "station": _stations(places.along_m, leg),
            "past_end_m": places.past_end_m.round(digits),
            "runner_up_m": runner_up_m.round(digits) + 0.0,
            "doubt": _doubts(places, runner_up_m, corridor_m=defaults.road_corridor_m),
        }
    )


def _safe(cell: object) -> object:
    """A cell that no spreadsheet runs: texts guarded, but for those that are numbers."""
    return guarded(cell) if isinstance(cell, str) and not _NUMBER.fullmatch(cell) else cell


def _guarded(values: "pd.Series[Any]") -> "pd.Series[Any]":
    return values.map(_safe)


def _csv(table: pd.DataFrame) -> str:
    """CSV text: unknown numbers empty, texts that start a formula guarded."""
    safe = pd.concat([_guarded(table.iloc[:, at]) for at in range(table.shape[1])], axis=1)
    safe.columns = [guarded(str(name)) for name in table.columns]
    return safe.to_csv(index=False, lineterminator="\n")


@click.command("locate")
@click.argument("points", type=FILE)
@click.option("--line", "along", type=FILE, help="The line; without it the job's leg's own.")
@click.option("-o", "--output", "out", type=OUT_FILE, required=True, help="The CSV to write.")
@click.option("--job", type=JobFile(), help="Take elevation and stationing from this job's leg.")
@click.option("--leg", "code", help="Which leg of the job; needed when it has several.")
def command(points: Path, along: Path | None, out: Path, job: str | None, code: str | None) -> None:
    """Put points on a line: along, offset and station of each.

    POINTS and LINE are files in any coordinate system that they name.  Without LINE it is the
    job's leg's own line, a designed alignment by its elements.  Without a job, along is the plain
    geodesic length and station is empty.  One row a point, in the points' order.
    """
    with steps(3) as done:
        leg, defaults = _leg_of(job, code)
        line, findings = _line(along, leg, join_gap_m=defaults.join_gap_m)
        name, data = one_file(points)
        frame, lon_deg, lat_deg, _, datum_said = read_points(data, name=name)
        done("read the files")
        added = _added(line, lon_deg, lat_deg, leg=leg, defaults=defaults)
        done("located the points")
        table = pd.concat([frame.reset_index(drop=True), added], axis=1)
        inputs = tuple(path for path in (points, along, job) if path is not None)
        write_file(out, _csv(table).encode(), inputs=inputs)
        done("wrote the table")
    doubtful = added.loc[added["doubt"] != "", "doubt"].value_counts().sort_index()
    click.echo(f"{out}: {len(added):,} points on a line of {line.length_m:,.1f} m")
    for finding in findings:
        click.echo(f"{finding.where}: {finding.text}")
    if datum_said:
        click.echo(f"{name}: {datum_said}")
    for doubt, count in doubtful.items():
        click.echo(f"{count:,} {doubt}")
