"""The kinds of argument and option that commands share."""

from pathlib import Path

import click

from routeprep.kept import JOB_FILE, STORED, TOML

__all__ = ["FILE", "FOLDER", "OUT_FILE", "PAPER", "JobFile"]

FILE = click.Path(exists=True, dir_okay=False, path_type=Path)
OUT_FILE = click.Path(dir_okay=False, path_type=Path)
FOLDER = click.Path(file_okay=False, path_type=Path)
PAPER = click.option(
    "--paper",
    type=click.Choice(["letter", "a4", "tabloid"]),
    default="letter",
    show_default=True,
    help="Size of the sheet's pages.",
)


class JobFile(click.Path):
    """A job: a .toml, a job file (.gpkg), or a stored job as store:NAME.

    The value is the text that ``kept.open_job`` takes.
    """

    name = "job"

    def __init__(self) -> None:
        """Take only a file that is there; whether the store has a job is said when it is opened."""
        super().__init__(exists=True, dir_okay=False)

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> str:
        """The text, refused as a usage error unless it is called as a job is."""
        text = str(value)
        if text.startswith(STORED):
            return text
        if Path(text).suffix.lower() not in {TOML, JOB_FILE}:
            self.fail(
                f"{text!r} is no job; give the job's {TOML} file, a job file ({JOB_FILE}) or "
                f"{STORED}NAME",
                param,
                ctx,
            )
        super().convert(text, param, ctx)
        return text
