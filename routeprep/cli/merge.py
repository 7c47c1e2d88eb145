"""``routeprep merge A.gpkg B.gpkg -o C.gpkg``: two copies of one job made one."""

from pathlib import Path

import click

from routeprep.cli.arguments import FILE, OUT_FILE
from routeprep.cli.save import tell_saved
from routeprep.cli.steps import refuse_input, steps
from routeprep.saving import merge_job_files

__all__ = ["command"]


@click.command("merge")
@click.argument("a", type=FILE)
@click.argument("b", type=FILE)
@click.option("-o", "--output", "out", type=OUT_FILE, required=True, help="The .gpkg to write.")
def command(a: Path, b: Path, out: Path) -> None:
    """Make one job file of two copies that were worked on apart.

    A and B are job files of one job.  All that either holds is kept, and either order gives the
    same file; what two persons changed, neither knowing of the other, is named and not chosen.
    """
    refuse_input(out, inputs=(str(a), str(b)))
    with steps(1) as done:
        saved = merge_job_files(a, b, out)
        done("wrote the file")
    tell_saved(saved, out)
