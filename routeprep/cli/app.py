"""``routeprep app``: the page, served on this machine only."""

import runpy
import sys

import click

from routeprep.home import home

__all__ = ["command"]


@click.command("app", context_settings={"ignore_unknown_options": True})
@click.argument("options", nargs=-1, type=click.UNPROCESSED)
def command(options: tuple[str, ...]) -> None:
    """Open the page in a browser on this machine.

    OPTIONS are handed on to the server, for example --server.port 8600.  It answers on
    127.0.0.1 only.
    """
    where = ["--server.address", "127.0.0.1", "--server.headless", "false"]
    sys.argv = ["streamlit", "run", str(home() / "app.py"), *where, *options]
    runpy.run_module("streamlit", run_name="__main__")
