"""A job in one file: what is saved is read back, and two copies merge to all that either holds."""

import datetime as dt

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from made_entries import BLOBS, JOB, LINE, LINE_SHA, made

from routeprep.errors import EntryError, JobError, OutputError
from routeprep.saving import merge_job_files, save_job
from routeprep.store import read_job_file

NOON = dt.datetime(2026, 6, 1, 12, tzinfo=dt.UTC)


def note(said, who, *, parents=(), counter=1):
    """Somebody's note on one thing."""
    body = {"anchor_id": "m1", "field": "note", "value": said, "by": who, "when": "", "why": ""}
    return made(
        "decision", counter, thing="m1 note", body=body, author=who, device=who, parents=parents,
        time_utc=NOON + dt.timedelta(minutes=counter),
    )  # fmt: skip


# Some entries of three persons; the third has seen the first's.
FIRST = note("deep frame", "Ana")
ENTRIES = (
    FIRST,
    note("shallow frame", "Bob"),
    note("no frame", "Cy", parents=[FIRST.entry_id]),
    made("file", 2),
    made("tick", 3),
    made("mark", 4),
    made("device", 5),
)
SOME = st.sets(st.sampled_from(range(len(ENTRIES))), min_size=1)


def saved(path, numbers):
    """A job file of some of the entries."""
    save_job([ENTRIES[at] for at in sorted(numbers)], BLOBS, path)
    return path


def held(path):
    """Ids of the entries of a job file, and its blobs."""
    entries, blobs = read_job_file(path)
    return {one.entry_id for one in entries}, blobs


def merged(folder, a, b, name):
    """The file of two files."""
    merge_job_files(a, b, folder / name)
    return folder / name


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(SOME, SOME, SOME)
def test_merging_is_a_union_and_the_order_of_the_copies_does_not_matter(
    tmp_path_factory, first, second, third
):
    """Commutative to the byte, associative, and a file merged with itself is itself."""
    at = tmp_path_factory.mktemp("merge")
    a, b, c = (saved(at / f"{k}.gpkg", some) for k, some in enumerate((first, second, third)))
    ab, ba = merged(at, a, b, "ab.gpkg"), merged(at, b, a, "ba.gpkg")
    left, right = merged(at, ab, c, "l.gpkg"), merged(at, a, merged(at, b, c, "bc.gpkg"), "r.gpkg")

    assert held(ab)[0] == {ENTRIES[one].entry_id for one in first | second}
    assert ab.read_bytes() == ba.read_bytes()
    assert held(left) == held(right)
    assert merged(at, a, a, "aa.gpkg").read_bytes() == a.read_bytes()


def test_what_two_persons_changed_apart_is_named_and_not_chosen(tmp_path):
    """The note that follows one of them takes its place; the other stands against it."""
    a, b = saved(tmp_path / "a.gpkg", {0, 2}), saved(tmp_path / "b.gpkg", {1})
    told = merge_job_files(a, b, tmp_path / "c.gpkg")
    (twice,) = told.edited_twice

    assert (twice.kind, twice.subject, twice.field) == ("decision", "m1", "note")
    assert [value.partition(" (")[0] for value in twice.values] == ["shallow frame", "no frame"]
    assert "no settings yet" in told.no_layers


def test_a_file_is_replaced_only_by_one_that_holds_all_of_it(tmp_path):
    """What would be lost is counted, and the file is as it was."""
    path = saved(tmp_path / "a.gpkg", {0, 1})
    before = path.read_bytes()
    with pytest.raises(OutputError, match="with 1 entries that would be lost"):
        saved(path, {0, 3})

    assert path.read_bytes() == before
    saved(path, {0, 1, 3})
    assert held(path)[1] == BLOBS | {LINE_SHA: LINE}


def test_copies_of_two_jobs_are_not_merged(tmp_path):
    """Both are named."""
    a = saved(tmp_path / "a.gpkg", {0})
    save_job([made(job="Elm (invented)")], BLOBS, tmp_path / "b.gpkg")
    with pytest.raises(JobError, match=r"Oak Street \(invented\)' and .* 'Elm \(invented\)'"):
        merge_job_files(a, tmp_path / "b.gpkg", tmp_path / "c.gpkg")


def test_two_entries_under_one_number_of_one_device_are_refused(tmp_path):
    """One of the files was changed by hand."""
    a = saved(tmp_path / "a.gpkg", {0})
    save_job([note("other", "Ana")], BLOBS, tmp_path / "b.gpkg")
    with pytest.raises(EntryError, match="has written two entries under counter"):
        merge_job_files(a, tmp_path / "b.gpkg", tmp_path / "c.gpkg")


def test_a_place_that_is_no_job_file_s_and_a_job_of_nothing_are_refused(tmp_path):
    """By name."""
    with pytest.raises(OutputError, match="let its name end in"):
        saved(tmp_path / "a.zip", {0})
    with pytest.raises(OutputError, match="there is nothing to save"):
        save_job([], {}, tmp_path / "a.gpkg")
    with pytest.raises(OutputError, match="cannot be written"):
        saved(tmp_path / "nowhere" / "a.gpkg", {0})
    assert made().job == JOB
