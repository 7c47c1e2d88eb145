"""What the commands share: a patient progress bar, writing a file, and a list of files."""

import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import click

from routeprep.errors import OutputError

__all__ = [
    "pack_listing",
    "refuse_input",
    "steps",
    "write_file",
]

# A bar for what is over at once only flickers.
_PATIENCE_S = 1.0


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


def refuse_input(path: Path, *, inputs: Sequence[str | Path]) -> None:
    """Refuse to write where an input is.

    Parameters
    ----------
    path
        Where.
    inputs
        Files that must not be replaced; what is no file is passed over.

    Raises
    ------
    OutputError
        If it is one of them.
    """
    there = [one for one in map(Path, inputs) if one.exists()]
    if path.exists() and any(path.samefile(one) for one in there):
        msg = f"{path} is an input; write the result to another file"
        raise OutputError(msg, path=str(path))


def write_file(path: Path, content: bytes, *, inputs: Sequence[str | Path]) -> None:
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
    refuse_input(path, inputs=inputs)
    beside = path.with_name(f".{path.name}.new")
    try:
        beside.write_bytes(content)
        beside.replace(path)
    except OSError as error:
        msg = f"{path} cannot be written ({error}); choose a place that can"
        raise OutputError(msg, path=str(path)) from error
