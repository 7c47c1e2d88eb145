"""What the commands share: kinds of argument, a patient progress bar, and a list of files."""

import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import click

from routeprep.errors import OutputError

__all__ = ["FILE", "FOLDER", "PAPER", "JobFile", "pack_listing", "steps", "write_file"]

FILE = click.Path(exists=True, dir_okay=False, path_type=Path)
FOLDER = click.Path(file_okay=False, path_type=Path)
PAPER = click.option(
    "--paper",
    type=click.Choice(["letter", "a4", "tabloid"]),
    default="letter",
    show_default=True,
    help="Size of the sheet's pages.",
)

# A bar for what is over at once only flickers.
_PATIENCE_S = 1.0


class JobFile(click.Path):
    """A job: a file whose name ends in .toml."""

    name = "job"

    def __init__(self) -> None:
        """Take only a file that is there."""
        super().__init__(exists=True, dir_okay=False, path_type=Path)

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> Path:
        """The path, refused as a usage error unless it ends in .toml."""
        path = Path(str(value))
        if path.suffix.lower() != ".toml":
            self.fail(f"{str(path)!r} is no job; give the job's .toml file", param, ctx)
        super().convert(path, param, ctx)
        return path


@contextmanager
def steps(length: int) -> Iterator[Callable[[str], None]]:
    """A progress bar that shows itself on a terminal only, and only past one second.

    Parameters
    ----------
    length
        How many steps there are; the yielded function is called after each, with what was done.
    """
    begun_s = time.monotonic()
    with click.progressbar(length=length, file=sys.stderr, hidden=True, label="working") as bar:

        def done(what: str) -> None:
            bar.hidden = not sys.stderr.isatty() or time.monotonic() - begun_s < _PATIENCE_S
            bar.label = f"{what:<24}"
            bar.update(1)

        yield done


def pack_listing(paths: Sequence[Path]) -> str:
    """The files that were written, one a line with its size in kB, under their folder."""
    width = max(len(path.name) for path in paths)
    lines = [f"{paths[0].parent}/"]
    lines += [f"  {path.name:<{width}}  {path.stat().st_size / 1000:>9,.1f} kB" for path in paths]
    return "\n".join(lines)


def write_file(path: Path, content: bytes, *, inputs: Sequence[Path]) -> None:
    """Write a file beside its place and swap it in.

    Parameters
    ----------
    path
        Where.
    content
        What.
    inputs
        Files that must not be replaced.

    Raises
    ------
    OutputError
        If it would replace an input, or its place cannot be written.
    """
    if path.exists() and any(path.samefile(one) for one in inputs):
        msg = f"{path} is an input; write the result to another file"
        raise OutputError(msg, path=str(path))
    beside = path.with_name(f".{path.name}.new")
    try:
        beside.write_bytes(content)
        beside.replace(path)
    except OSError as error:
        msg = f"{path} cannot be written ({error}); choose a place that can"
        raise OutputError(msg, path=str(path)) from error
