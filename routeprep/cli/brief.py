"""``routeprep brief JOB -o DIR``: a job's pack."""

from pathlib import Path

import click

from routeprep.cli.arguments import FOLDER, PAPER, JobFile
from routeprep.cli.steps import pack_listing, steps
from routeprep.kept import open_job
from routeprep.packing import FILES, prepared, write_pack

__all__ = ["command", "write_brief"]


def write_brief(job: str, target: Path, *, paper: str) -> None:
    """Make a job's pack in the target folder and say what it holds and what keeps it a draft.

    Parameters
    ----------
    job
        The job's TOML, a job file (.gpkg) or ``store:NAME``.
    target
        The pack's folder.
    paper
        "letter", "a4" or "tabloid".
    """
    with steps(2 + len(FILES)) as done:
        opened = open_job(job)
        done("read the files")
        pack = prepared(opened.inputs, opened.files)
        done("prepared the list")
        paths = write_pack(pack, target, paper=paper, tell=done)
    click.echo(pack_listing(paths))
    doubts = sum(item.level != "note" for item in pack.findings)
    in_doubt = int((pack.obstructions["doubt"] != "").sum())
    click.echo(
        f"things: {len(pack.obstructions)}; legs: {len(pack.legs)}; things in doubt: {in_doubt}; "
        f"marks to sort before issue: {len(pack.unsorted)}; further doubts: {doubts} "
        "(routeprep check names them all)"
    )
    for reason in pack.draft:
        click.echo(f"DRAFT, NOT FOR CUTTING: {reason}")


@click.command("brief")
@click.argument("job", type=JobFile())
@click.option("-o", "--output", "target", type=FOLDER, required=True, help="The pack's folder.")
@PAPER
def command(job: str, target: Path, paper: str) -> None:
    """Make a job's pack: the sheet, the map and the data files.

    JOB is the job's .toml file, a job file (.gpkg) or store:NAME.  The pack is written beside its
    folder and swapped in whole; a folder that holds anything else is left alone.
    """
    write_brief(job, target, paper=paper)
