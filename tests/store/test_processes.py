"""Several processes at one store, at once."""

import sqlite3
from contextlib import closing

import pytest
from killed_writer import BATCH, PROCESSES, append_some, batch, open_and_say
from made_entries import ANA, JOB, made

from routeprep.store import open_store


def running(target, *arguments):
    """A process that was started."""
    made_here = PROCESSES.Process(target=target, args=arguments)
    made_here.start()
    return made_here


def ended(processes):
    """Wait for processes; they must end well."""
    for one in processes:
        one.join()
    codes = [one.exitcode for one in processes]
    for one in processes:
        one.close()
    return codes


def test_two_processes_append_at_once_and_nothing_is_lost(url):
    """Each waits for the other; while they write, a third reads only whole batches."""
    count = 12
    with open_store(url) as store:
        writers = [running(append_some, url, name, count) for name in ("a", "b")]
        seen = []
        while any(one.is_alive() for one in writers):
            entries = store.entries(JOB)
            seen.append([one.entry_id for one in entries])
            assert len(entries) % BATCH == 0
            assert store.serial(JOB) == 0 or len(store.entries(JOB)) >= len(entries)
        assert ended(writers) == [0, 0]
        whole = store.entries(JOB)

    wanted = {one.entry_id for name in ("a", "b") for number in range(count)
              for one in batch(name, number)[0]}  # fmt: skip
    assert {one.entry_id for one in whole} == wanted
    assert len(whole) == len(wanted)
    # What was seen first stays first, so that asking for what came since misses nothing.
    assert all(part == [one.entry_id for one in whole[: len(part)]] for part in seen)


def test_processes_open_a_new_store_at_once(url):
    """One makes the tables, all find them."""
    queue = PROCESSES.Queue()
    openers = [running(open_and_say, url, queue) for _ in range(4)]
    said = [queue.get() for _ in openers]

    assert ended(openers) == [0] * 4
    assert [jobs for _, jobs in said] == [()] * 4
    queue.close()
    queue.join_thread()


@pytest.mark.parametrize("url", ["sqlite"], indirect=True)
def test_who_reads_keeps_nobody_from_writing(url):
    """With the log written ahead a reader has the store as it was, and the writer goes on."""
    with open_store(url) as store:
        store.append([made(counter=1)], by=ANA)
        path = url.removeprefix("sqlite:///")
        with closing(sqlite3.connect(path, isolation_level=None, timeout=0)) as reader:
            counted = "SELECT count(*) FROM entries"
            reader.execute("BEGIN")
            before = reader.execute(counted).fetchone()[0]
            store.append([made(counter=2, thing="m2 note")], by=ANA)
            during = reader.execute(counted).fetchone()[0]
            reader.execute("ROLLBACK")
            after = reader.execute(counted).fetchone()[0]

    assert (before, during, after) == (1, 1, 2)
