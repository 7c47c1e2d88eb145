"""``routeprep app``: the pages, served on this machine, or further where the office shares them."""

import runpy
import sys
from collections.abc import Sequence

import click

from routeprep.errors import AccessError
from routeprep.home import home
from routeprep.officefile import Office, office_path, read_office

__all__ = ["command", "server_options"]


def server_options(office: Office) -> Sequence[str]:
    """Where the server answers, in its own words.

    Parameters
    ----------
    office
        As its file has it; one that shares nothing is served on this machine only.

    Raises
    ------
    AccessError
        If the pages are shared and nobody is named who may sign in.
    """
    sharing = office.sharing
    if sharing is None:
        return ("--server.address", "127.0.0.1")
    if not office.members:
        msg = (
            f"{office_path()} shares the pages on {sharing.address} and names nobody who may sign "
            "in; add each person with routeprep person"
        )
        raise AccessError(msg, address=sharing.address)
    options = ["--server.address", sharing.address]
    for host in ("localhost", "127.0.0.1", *sharing.hosts):
        options += ["--server.allowedHosts", host]
    if sharing.certificate:
        options += ["--server.sslCertFile", sharing.certificate, "--server.sslKeyFile", sharing.key]
    return options


@click.command("app", context_settings={"ignore_unknown_options": True})
@click.argument("options", nargs=-1, type=click.UNPROCESSED)
def command(options: tuple[str, ...]) -> None:
    """Open the pages in a browser.

    OPTIONS are handed on to the server, for example --server.port 8600.  It answers on 127.0.0.1
    only, unless the office's file shares it; then whoever comes has to sign in.
    """
    where = server_options(read_office())
    headless = ("--server.headless", "false")
    sys.argv = ["streamlit", "run", str(home() / "app.py"), *where, *headless, *options]
    runpy.run_module("streamlit", run_name="__main__")
