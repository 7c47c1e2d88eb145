"""``routeprep save JOB -o job.gpkg``: a whole job in one file."""

from pathlib import Path

import click

from routeprep.cli.arguments import OUT_FILE, JobFile
from routeprep.cli.steps import refuse_input, steps
from routeprep.kept import entries_of_job
from routeprep.saving import Saved, save_job

__all__ = ["command", "tell_saved"]


def tell_saved(saved: Saved, path: Path) -> None:
    """Say what was saved, and all that is odd about it."""
    click.echo(
        f"{path}: {saved.job}; entries: {saved.entries:,}; contents of files: {saved.blobs:,}"
    )
    for one in saved.edited_twice:
        what = " ".join(part for part in (one.kind, one.subject, one.field) if part)
        click.echo(f"EDITED TWICE: {what}: {' | '.join(one.values)}")
    if saved.no_layers:
        click.echo(f"NO MAP LAYERS, since the job cannot be prepared: {saved.no_layers}")


@click.command("save")
@click.argument("job", type=JobFile())
@click.option("-o", "--output", "out", type=OUT_FILE, required=True, help="The .gpkg to write.")
def command(job: str, out: Path) -> None:
    """Save a whole job in one file that any map program opens.

    JOB is the job's .toml file, a job file (.gpkg) or store:NAME.  The file is a GeoPackage: map
    layers, and all that was recorded and decided.  It is written beside its place and swapped in;
    an older one is replaced only if nothing in it would be lost.
    """
    refuse_input(out, inputs=(job,))
    with steps(2) as done:
        entries, blobs = entries_of_job(job)
        done("read the job")
        saved = save_job(entries, blobs, out)
        done("wrote the file")
    tell_saved(saved, out)
