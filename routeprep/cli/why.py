"""``routeprep why JOB NO``: what one thing on the list rests on."""

import textwrap
from pathlib import Path

import click

from routeprep.cli.steps import JobFile, steps
from routeprep.packing import pack_of
from routeprep.readers.disk import job_files
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
def command(job: Path, no: str) -> None:
    """Say what one thing on the list rests on; write nothing.

    JOB is the job's .toml file, NO a number of its list, such as A-27 or a27.
    """
    with steps(2) as done:
        name, files = job_files(job)
        done("read the files")
        pack = pack_of(name, files)
        done("prepared the list")
    for line in why_lines(pack, no):
        click.echo(_wrapped(line))
