"""``routeprep why JOB NO``: what one thing on the list rests on."""

import textwrap

import click

from routeprep.cli.arguments import JobFile
from routeprep.cli.steps import steps
from routeprep.kept import open_job
from routeprep.packing import prepared
from routeprep.whywords import why_lines

__all__ = ["command"]

# A laptop's window shows this many characters side by side.
_WIDTH = 96


def _wrapped(line: str) -> str:
    """A line in several, those that follow two deeper than the first."""
    depth = len(line) - len(line.lstrip())
    return textwrap.fill(
        line,
        _WIDTH,
        subsequent_indent=" " * (depth + 2),
        break_long_words=False,
        break_on_hyphens=False,
    )


@click.command("why")
@click.argument("job", type=JobFile())
@click.argument("no")
def command(job: str, no: str) -> None:
    """Say what one thing on the list rests on; write nothing.

    JOB is the job's .toml file, a job file (.gpkg) or store:NAME, and NO a number of its list, such
    as A-27 or a27.
    """
    with steps(2) as done:
        opened = open_job(job)
        done("read the files")
        pack = prepared(opened.inputs, opened.files)
        done("prepared the list")
    for line in why_lines(pack, no):
        click.echo(_wrapped(line))
