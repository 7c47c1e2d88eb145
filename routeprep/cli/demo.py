"""``routeprep demo -o DIR``: the invented job of the demo, and its pack."""

from pathlib import Path

import click

from routeprep.cli.arguments import FOLDER, PAPER
from routeprep.cli.brief import write_brief
from routeprep.errors import OutputError
from routeprep.home import home

__all__ = ["command"]


def _lay_out(source: Path, target: Path) -> None:
    """Copy the demo's job, unless a file there has another content.

    Raises
    ------
    OutputError
        Naming the first file that would be lost.
    """
    copies = {
        target / path.relative_to(source): path.read_bytes()
        for path in sorted(source.rglob("*"))
        if path.is_file()
    }
    for path, content in copies.items():
        if path.exists() and not (path.is_file() and path.read_bytes() == content):
            msg = (
                f"{path} is there and is not the demo's own (changed by hand, or of another "
                "version); choose another folder, or delete it"
            )
            raise OutputError(msg, path=str(path))
    for path, content in copies.items():
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)


@click.command("demo")
@click.option("-o", "--output", "target", type=FOLDER, required=True, help="Where to put both.")
@PAPER
def command(target: Path, paper: str) -> None:
    """Lay out the demo's job and make its pack.

    The job goes into DIR/job and its pack into DIR/pack.  Place, streets and people are
    invented.
    """
    _lay_out(home() / "data" / "demo" / "job", target / "job")
    click.echo(f"{target / 'job'}/\n  job.toml and its inputs: change them and run routeprep brief")
    write_brief(str(target / "job" / "job.toml"), target / "pack", paper=paper)
