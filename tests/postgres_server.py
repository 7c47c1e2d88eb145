"""A PostgreSQL of a test's own, in a temporary folder, if one is installed."""

import os
import pwd
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from contextlib import closing, contextmanager
from pathlib import Path

import psycopg
import pytest

# Where Debian keeps the programs that are not on the path.
_PLACES = sorted(Path("/usr/lib/postgresql").glob("*/bin"), reverse=True)


def program(name):
    """The path of one of PostgreSQL's programs, None when it is not installed."""
    held = [one / name for one in _PLACES if (one / name).is_file()]
    found = held[0] if held else shutil.which(name)
    return None if found is None else Path(found)


def _as_nobody(command):
    """The command as a user who may run a server: it refuses to run as root."""
    if os.geteuid():
        return command
    known = {one.pw_name for one in pwd.getpwall()}
    user = "postgres" if "postgres" in known else "nobody"
    return ["setpriv", "--reuid", user, "--regid", "nogroup", "--clear-groups", *command]


def _free_port():
    with closing(socket.socket()) as one:
        one.bind(("127.0.0.1", 0))
        return one.getsockname()[1]


@contextmanager
def started(*more):
    """The URL of a database of a server that runs while this lasts, on this machine only.

    ``more`` are further options of its program.
    """
    if program("initdb") is None:
        if os.environ.get("CI"):
            pytest.fail("no PostgreSQL is installed; apt-get install postgresql")
        pytest.skip("no PostgreSQL is installed on this machine")
    # A temporary folder of pytest's may be entered by its owner only.
    folder = Path(tempfile.mkdtemp(prefix="routeprep-postgres-", dir="/tmp"))
    folder.chmod(0o777)
    port, data = _free_port(), folder / "data"
    initdb = [program("initdb"), "-D", data, "-U", "crew", "-A", "trust", "-E", "UTF8"]
    subprocess.run(_as_nobody([*initdb, "--no-locale"]), check=True, capture_output=True, cwd="/")
    with (folder / "log").open("wb") as log:
        options = ["-D", data, "-p", str(port), "-h", "127.0.0.1", "-k", folder, *more]
        server = subprocess.Popen(
            _as_nobody([program("postgres"), *options]), stdout=log, stderr=log, cwd="/"
        )
    url = f"postgresql+psycopg://crew@127.0.0.1:{port}/postgres"
    try:
        _wait(server, url, folder / "log")
        yield url
    finally:
        # Its manual, 19.5: SIGINT ends it without waiting for who is still connected.
        server.send_signal(signal.SIGINT)
        server.wait(timeout=60)
        shutil.rmtree(folder, ignore_errors=True)


def _wait(server, url, log):
    """Return once the server answers."""
    for _ in range(300):
        assert server.poll() is None, log.read_text()
        try:
            psycopg.connect(url.replace("+psycopg", "")).close()
        except psycopg.OperationalError:
            time.sleep(0.1)
        else:
            return
    pytest.fail(f"no answer after 30 s: {log.read_text()}")
