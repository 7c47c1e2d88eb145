"""What the processes do that a test starts, and perhaps kills."""

import hashlib
import itertools
import multiprocessing
import os

from made_entries import ANA, made

from routeprep.store import open_store

BATCH = 5

# Processes are forked off one that has loaded what takes long to load.
PROCESSES = multiprocessing.get_context("forkserver")
PROCESSES.set_forkserver_preload(
    [
        "routeprep.store",
        "psycopg",
        "sqlalchemy.dialects.postgresql.psycopg",
        "sqlalchemy.dialects.sqlite.pysqlite",
    ]
)


def batch(writer, number):
    """Five entries that belong together, and the bytes that the first of them names."""
    content = f"{writer} {number} ".encode() * 2000
    sha = hashlib.sha256(content).hexdigest()
    device = f"writer {writer}"
    first = number * BATCH
    entries = [
        made("file", first, device=device, thing=f"{writer}/{number}.gpx", body={"sha256": sha}),
        *(
            made("decision", first + at, device=device, thing=f"{writer} {number} {at}")
            for at in range(1, BATCH)
        ),
    ]
    return entries, {sha: content}


def append_until_killed(url, writer, told):
    """Append batch after batch, saying the number of each once it is acknowledged.

    ``told`` is a pipe's end: "begun" before the store is opened, then the numbers.
    """
    told.send("begun")
    with open_store(url) as store:
        for number in itertools.count():
            store.append(*batch(writer, number), by=ANA)
            told.send(number)


def append_some(url, writer, count):
    """Append so many batches, each in a transaction of its own."""
    with open_store(url) as store:
        for number in range(count):
            store.append(*batch(writer, number), by=ANA)


def open_and_say(url, queue):
    """Open a store that may not be there yet, with others doing the same."""
    with open_store(url) as store:
        queue.put((os.getpid(), store.jobs()))
