"""The command line: a group that loads a command's module only when that command is asked for.

Each command is a module of this package with a click command called ``command``.  Help and the
version load none of them, so that they answer at once.
"""

import gc
import importlib
import os

import click

from routeprep import __version__
from routeprep.errors import RouteprepError

__all__ = ["main"]

# The commands in the order of a day's work, with their help's first line, so that listing them
# loads none.
_COMMANDS = {
    "demo": "Lay out the demo's job and make its pack.",
    "check": "Say all that is wrong or doubtful in a job; write nothing.",
    "why": "Say what one thing on the list rests on; write nothing.",
    "brief": "Make a job's pack: the sheet, the map and the data files.",
    "locate": "Put points on a line: along, offset and station of each.",
    "stations": "Write stations with their coordinates; of a job the wheel sheet.",
    "save": "Save a whole job in one file that any map program opens.",
    "merge": "Make one job file of two copies that were worked on apart.",
    "app": "Open the pages in a browser.",
    "person": "Let somebody sign in to the shared pages, or change how.",
}


class _LazyGroup(click.Group):
    """A group that imports a command's module by name when it runs."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - click's signature
        return list(_COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        if cmd_name not in _COMMANDS:
            return None
        # Linear algebra on one thread, unless somebody has set it: the matrices are small, and on
        # a busy machine threads that wait for each other make it many times slower.
        os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
        # A large job makes millions of small objects that all live to the end: to look through
        # them for garbage again and again takes a fifth of its time.
        gc.set_threshold(100_000, 50, 50)
        module = importlib.import_module(f"routeprep.cli.{cmd_name}")
        command: click.Command = module.command
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        with formatter.section("Commands"):
            formatter.write_dl(list(_COMMANDS.items()))

    def invoke(self, ctx: click.Context) -> object:
        try:
            return super().invoke(ctx)
        except RouteprepError as error:
            click.echo(error, err=True)
            ctx.exit(1)


@click.group(cls=_LazyGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="routeprep")
def main() -> None:
    """From drives and notes to one station-ordered list of what is in the road.

    A job is a TOML file that names its inputs (README.md shows one), a job file (.gpkg) or a
    stored job (store:NAME).  Exit status: 0 done, with any doubts listed; 1 the data cannot be
    used, and why; 2 the command was not understood.
    """
