"""A writing process is killed at random moments; nothing that it was told is kept is lost."""

import random
import signal
import sqlite3
import time
from contextlib import closing

import postgres_server
import psycopg
import pytest
from killed_writer import BATCH, PROCESSES, append_until_killed, batch
from made_entries import JOB

from routeprep.store import named_blobs, open_store

pytestmark = pytest.mark.proof

# The moments are drawn from this seed: the same delays each run, whatever the machine makes of
# them.  The longest is that of a dozen batches on a slow disk [s].
SEED = 20_260_601
LONGEST_S = 0.12
# So many writers are killed at one store, one after the other, then another is begun: some die
# while the tables are made, some at a store that holds much.
A_STORE = 10


def killed(url, writer, delay_s):
    """Start a writer, kill it after a delay, and give what it acknowledged."""
    here, there = PROCESSES.Pipe(duplex=False)
    process = PROCESSES.Process(target=append_until_killed, args=(url, writer, there))
    process.start()
    there.close()
    assert here.recv() == "begun"
    time.sleep(delay_s)
    process.kill()
    process.join()
    assert process.exitcode == -signal.SIGKILL
    process.close()
    acknowledged = []
    with closing(here):
        while True:
            try:
                acknowledged.append(here.recv())
            except EOFError:
                return acknowledged


def kept_whole(store, acknowledged):
    """How many batches the store holds; each is whole, and none that was acknowledged is missing.

    ``acknowledged``: the numbers by writer.
    """
    entries = store.entries(JOB)
    by_batch = {}
    for one in entries:
        writer, number = one.device.removeprefix("writer "), one.counter // BATCH
        by_batch.setdefault((writer, number), set()).add(one.entry_id)
    wanted = {
        (writer, number): {one.entry_id for one in batch(writer, number)[0]}
        for writer, number in by_batch
    }
    lost = {(writer, one) for writer, numbers in acknowledged.items() for one in numbers}

    assert by_batch == wanted
    assert lost - set(by_batch) == set()
    # What was not acknowledged may have been kept: of each writer the batch it died in, no more.
    for writer, numbers in acknowledged.items():
        assert sum(of == writer for of, _ in by_batch) - len(numbers) in {0, 1}
    named = named_blobs(entries)
    assert set(store.blobs(named)) == set(named)
    return len(by_batch), len(named)


def told(name, acknowledged, kept, begun_s):
    """Print the counts of one database."""
    sure = sum(map(len, acknowledged))
    print(  # noqa: T201 - the counts are what the proof shows
        f"\n{name}: killed {len(acknowledged)} times, {sum(not one for one in acknowledged)} of "
        f"them before the first batch was kept; batches of {BATCH} acknowledged: {sure}; "
        f"kept: {kept}, so {kept - sure} were kept and died unheard; lost: 0; "
        f"{time.monotonic() - begun_s:.0f} s"
    )


def killed_at(urls, name, *, times, rows_of_blobs, whole):
    """Kill writers at store after store and look at each store after each kill.

    ``urls`` gives the addresses of new stores; ``rows_of_blobs`` counts the blobs behind the
    store's back, ``whole`` asks the database whether it is sound.
    """
    begun_s, moments = time.monotonic(), random.Random(SEED)  # noqa: S311 - moments, no secret
    every, total = [], 0
    for first in range(0, times, A_STORE):
        url, acknowledged = next(urls), {}
        for at in range(first, min(times, first + A_STORE)):
            writer = f"w{at}"
            acknowledged[writer] = killed(url, writer, moments.uniform(0, LONGEST_S))
            with open_store(url) as store:
                whole(url)
                kept, blobs = kept_whole(store, acknowledged)
            assert rows_of_blobs(url) == blobs == kept
        every += acknowledged.values()
        total += kept
    told(name, every, total, begun_s)

    assert len(every) == times
    # Else no writer wrote, and nothing was shown; else no moment was early.
    assert sum(map(len, every)) > times
    assert any(not one for one in every)


def sqlite(url):
    """A connection to the file, not through the store."""
    return closing(sqlite3.connect(url.removeprefix("sqlite:///")))


def test_sqlite_survives_200_kills(tmp_path):
    """No acknowledged entry lost, no broken file, nothing half appended."""

    def whole(url):
        with sqlite(url) as connection:
            assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
            assert connection.execute("PRAGMA journal_mode").fetchall() == [("wal",)]

    def rows_of_blobs(url):
        with sqlite(url) as connection:
            return connection.execute("SELECT count(*) FROM blobs").fetchone()[0]

    urls = (f"sqlite:///{tmp_path / f'jobs-{number}.db'}" for number in range(20))
    killed_at(urls, "SQLite", times=200, rows_of_blobs=rows_of_blobs, whole=whole)


def test_postgresql_survives_50_kills():
    """The same of an office's server, which lives on."""
    with postgres_server.started() as server:
        plain = server.replace("+psycopg", "")

        def schemas():
            for number in range(5):
                with psycopg.connect(plain) as connection:
                    connection.execute(f"CREATE SCHEMA jobs_{number}")
                yield f"{server}?options=-csearch_path%3Djobs_{number}"

        def rows_of_blobs(url):
            with psycopg.connect(url.replace("+psycopg", "")) as connection:
                (counted,) = connection.execute("SELECT count(*) FROM blobs").fetchone()
            return counted

        def whole(url):
            # Every page of the table and its indexes is read, each row by both of its keys.
            with psycopg.connect(url.replace("+psycopg", "")) as connection:
                connection.execute("SET enable_seqscan = off")
                twice = "SELECT count(*) FROM entries a JOIN entries b USING (entry_id, serial)"
                (joined,) = connection.execute(twice).fetchone()
                connection.execute("SET enable_seqscan = on")
                (counted,) = connection.execute("SELECT count(*) FROM entries").fetchone()
            assert joined == counted

        killed_at(schemas(), "PostgreSQL", times=50, rows_of_blobs=rows_of_blobs, whole=whole)
