"""What is appended is all there or not at all, once, and never changed."""

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from made_entries import BLOBS, JOB, LINE, LINE_SHA, PACK_SHA, every_kind, made
from sqlalchemy import create_engine, text
from sqlalchemy.exc import DBAPIError
from stored_job import ANA, CREW_HAND

from routeprep.errors import AccessError, EntryError, OutputError, ReadError
from routeprep.store import open_store


@pytest.fixture
def behind(url):
    """A connection to the database that does not go through the store."""
    engine = create_engine(url)
    with engine.connect() as connection:
        yield connection
    engine.dispose()


def counts(store):
    """How many entries there are, and which of the blobs."""
    held = []
    for sha in BLOBS:
        try:
            held.append(store.blob(sha))
        except ReadError:
            continue
    return len(store.entries(JOB)), len(held)


def test_what_was_appended_comes_back_in_its_order(store):
    """Entries as they were made, blobs byte for byte."""
    entries = every_kind()

    assert store.append(entries, BLOBS, by=ANA) == len(entries)
    assert store.entries(JOB) == tuple(entries)
    assert store.blobs(BLOBS) == BLOBS
    assert store.jobs() == (JOB,)


def test_an_empty_store_has_nothing(store):
    """No job, no entry, the serial before the first."""
    assert (store.jobs(), store.entries(JOB), store.serial(JOB)) == ((), (), 0)
    assert store.append([], by=ANA) == 0
    with pytest.raises(ReadError, match=f"has no content '{LINE_SHA}'"):
        store.blob(LINE_SHA)


def test_appended_again_it_is_there_once(store):
    """The count is of what was new, and the serial does not grow."""
    entries = every_kind()
    store.append(entries[:3], BLOBS, by=ANA)

    assert store.append(entries, BLOBS, by=ANA) == len(entries) - 3
    serial = store.serial(JOB)
    assert store.append([*entries, *entries], BLOBS, by=ANA) == 0
    assert (store.serial(JOB), counts(store)) == (serial, (len(entries), 2))


def test_it_stays_when_the_store_is_opened_again(url):
    """Closed and opened, the same."""
    with open_store(url) as first:
        first.append(every_kind(), BLOBS, by=ANA)
    with open_store(url) as second:
        assert second.entries(JOB) == tuple(every_kind())
        assert second.blobs(BLOBS) == BLOBS


def test_serials_part_what_was_there_from_what_came_since(store):
    """After one and up to one; another job does not count."""
    store.append([made(counter=1)], by=ANA)
    first = store.serial(JOB)
    store.append([made(counter=2), made(counter=1, job="Elm (invented)")], by=ANA)
    second = store.serial(JOB)
    store.append([made(counter=3)], by=ANA)

    assert [one.counter for one in store.entries(JOB, after=first)] == [2, 3]
    assert [one.counter for one in store.entries(JOB, after=first, upto=second)] == [2]
    assert store.entries(JOB, after=store.serial(JOB)) == ()
    assert store.jobs() == ("Elm (invented)", JOB)


REFUSED = {
    "a counter taken": (
        made(counter=1, thing="m2 note"), ANA, EntryError,
        r"'desk 1' has already written entry .* under counter 1 of job 'Oak Street \(invented\)'",
    ),
    "a content that nobody gave": (
        made("file", 7, body={"sha256": "0" * 64}), ANA, EntryError,
        r"names the content '0{64}', which is not in the store \(1 such\)",
    ),
    "an entry that was changed": (
        replace(made(counter=8), author="Eve (invented)"), ANA, EntryError,
        "its id is not made of what it says",
    ),
    "an act beyond the role": (
        made(counter=9), CREW_HAND, AccessError, "may not write a decision; superintendent may",
    ),
}  # fmt: skip


@pytest.mark.parametrize("bad", REFUSED)
@pytest.mark.parametrize("at", [0, 2])
def test_with_one_that_is_refused_nothing_is_appended(store, bad, at):
    """Wherever it stands among good ones; blobs that came with it are not kept either."""
    store.append([made(counter=1)], by=ANA)
    entry, person, error, told = REFUSED[bad]
    good = [
        made("tick", 20, author=person.name),
        made("file", 21, thing="phone/x.jpg", author=person.name),
    ]
    before = counts(store)

    with pytest.raises(error, match=told):
        store.append([*good[:at], entry, *good[at:]], BLOBS, by=person)

    assert counts(store) == before


def test_two_entries_of_one_counter_are_refused_together(store):
    """Not only against what is there."""
    with pytest.raises(EntryError, match="give it the next counter"):
        store.append([made(counter=1), made(counter=1, thing="m2 note")], by=ANA)

    assert store.entries(JOB) == ()


def test_a_blob_under_another_sum_is_refused(store):
    """Cut off on the way, for one."""
    with pytest.raises(ReadError, match=r"bytes under '.*' have the sha256 .* changed or cut off"):
        store.append([made("file")], {LINE_SHA: LINE[:-1]}, by=ANA)

    assert counts(store) == (0, 0)


def test_a_blob_that_is_there_need_not_come_again(store):
    """A second entry may name it."""
    store.append([made("file", 1)], {LINE_SHA: LINE}, by=ANA)

    assert store.append([made("file", 2, thing="copy.geojson")], by=ANA) == 1


def test_more_than_one_statement_takes_at_once(store):
    """As many as a day's fixes in parts."""
    entries = [made("tick", at, thing=f"m{at}") for at in range(1201)]
    blobs = {LINE_SHA: LINE}

    assert store.append(entries, blobs, by=ANA) == 1201
    assert store.append([*entries, made("tick", 1201)], blobs, by=ANA) == 1


HOSTILE = (
    "<script>alert(1)</script> #eval {{ 7 * 7 }} [x](javascript:1) 'x'; DROP TABLE entries; --",
    "א" * 10_000,
    "\N{RIGHT-TO-LEFT OVERRIDE}txt.exe \N{PILE OF POO} \0 \x1b[2J",
)


@pytest.mark.parametrize("note", HOSTILE, ids=["code", "long", "odd"])
def test_a_hostile_note_comes_back_unharmed(store, note):
    """As text, whatever it looks like."""
    entry = made(body=made().body | {"value": note})
    store.append([entry], by=ANA)

    assert store.entries(JOB)[0].body["value"] == note


def test_the_largest_counter_and_no_time_are_kept(store):
    """A counter has 64 bits; a file does not say when."""
    largest = made(counter=2**63 - 1, time_utc=None)
    store.append([largest], by=ANA)

    assert store.entries(JOB) == (largest,)


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE entries SET author = 'Eve'",
        "DELETE FROM entries",
        "UPDATE blobs SET content = sha256",
        "DELETE FROM blobs",
    ],
)
def test_the_database_itself_refuses_to_change_or_delete(store, behind, statement):
    """Whoever asks, and by whatever program."""
    store.append(every_kind(), BLOBS, by=ANA)
    before = counts(store)

    with pytest.raises(DBAPIError, match=r"is never changed or deleted|cannot be cast|is of type"):
        behind.execute(text(statement))

    behind.rollback()
    assert counts(store) == before


def test_the_database_refuses_to_empty_or_replace(store, behind):
    """TRUNCATE of PostgreSQL, INSERT OR REPLACE of SQLite."""
    store.append(every_kind(), BLOBS, by=ANA)
    statements = {
        "postgresql": ["TRUNCATE entries", "TRUNCATE blobs"],
        "sqlite": [
            "INSERT OR REPLACE INTO blobs (serial, sha256, content) VALUES (1, 'a', x'00')",
            f"INSERT OR REPLACE INTO blobs (sha256, content) VALUES ('{LINE_SHA}', x'00')",  # noqa: S608 - a sum of our own
            (
                "INSERT OR REPLACE INTO entries SELECT serial, 'other', job, kind, thing, body,"
                " parents, author, device, counter + 100, time_utc FROM entries"
            ),
        ],
    }[behind.dialect.name]
    for statement in statements:
        with pytest.raises(DBAPIError, match=r"is never changed or deleted"):
            behind.execute(text(statement))
        behind.rollback()

    assert counts(store) == (len(every_kind()), 2)


def unguarded(behind, table):
    """Take away what keeps a table as it is, as somebody with all rights can."""
    if behind.dialect.name == "sqlite":
        for act in ("update", "delete", "insert"):
            behind.execute(text(f"DROP TRIGGER {table}_stay_{act}"))
    else:
        behind.execute(text(f"DROP TRIGGER {table}_stay ON {table}"))


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ("author = 'Eve'", "its id is not made of what it says: it was changed"),
        ("body = '[]'", r"row 1 of entries is no entry \(\[\] is list, expected dict\)"),
        ("body = '{'", "row 1 of entries is no entry"),
        ("parents = '{}'", "is dict, expected list"),
        ("parents = '[1]'", "1 is int, expected str"),
        ("time_utc = 'noon'", "row 1 of entries is no entry"),
        ("kind = 'order'", "kind 'order' is not one of"),
    ],
)
def test_an_entry_that_was_changed_behind_our_back_is_refused(store, behind, change, told):
    """It is told apart from what was written, and names the way out."""
    store.append([made()], by=ANA)
    unguarded(behind, "entries")
    behind.execute(text(f"UPDATE entries SET {change}"))  # noqa: S608 - a text of our own
    behind.commit()

    with pytest.raises(EntryError, match=told):
        store.entries(JOB)


def test_a_blob_that_was_changed_behind_our_back_is_refused(store, behind):
    """Its sum does not fit."""
    store.append(every_kind(), BLOBS, by=ANA)
    unguarded(behind, "blobs")
    behind.execute(text("UPDATE blobs SET content = :bytes"), {"bytes": b"other"})
    behind.commit()

    with pytest.raises(ReadError, match=r"5 bytes under '.*' have the sha256"):
        store.blob(PACK_SHA)


def test_a_database_that_went_away_is_told_in_a_sentence(store, behind):
    """To who reads and to who writes; nothing is half there."""
    behind.execute(text("DROP TABLE entries"))
    behind.commit()

    with pytest.raises(ReadError, match="cannot be read"):
        store.entries(JOB)
    with pytest.raises(OutputError, match=r"1 entries could not be kept .* nothing of them was"):
        store.append([made()], by=ANA)


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.permutations(range(15)), st.lists(st.integers(0, 15), max_size=4))
def test_any_order_and_any_batches_keep_the_same(tmp_path_factory, order, cuts):
    """Entries are a set, however they came."""
    entries = every_kind()
    assert len(entries) == 15
    bounds = [0, *sorted(cuts), 15]
    shuffled = [entries[at] for at in order]
    path = tmp_path_factory.mktemp("any") / "jobs.db"
    with open_store(f"sqlite:///{path}") as store:
        new = [
            store.append(shuffled[first:last], BLOBS, by=ANA) for first, last in pairwise(bounds)
        ]

        assert sum(new) == 15
        assert {one.entry_id for one in store.entries(JOB)} == {one.entry_id for one in entries}
