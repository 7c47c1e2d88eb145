"""A job is the same from its TOML, from a store, and from what was put into it."""

import hashlib

import pytest
from stored_job import ANA, JOB, job_files_small, stored

from routeprep.current import current_of
from routeprep.errors import JobError
from routeprep.home import home
from routeprep.jobs import entries_of_files, issued_list, job_of_entries, next_revision
from routeprep.kept import open_job
from routeprep.packing import pack_of, prepared
from routeprep.readers.disk import job_files
from routeprep.sealing import seal
from routeprep.store import open_store

DEMO = home() / "data" / "demo" / "job" / "job.toml"


@pytest.fixture
def store(tmp_path):
    """An empty store."""
    with open_store(f"sqlite:///{tmp_path / 'jobs.db'}") as opened:
        yield opened


def test_a_stored_job_gives_the_pack_that_its_files_give():
    """The demo through entries and blobs says the same as the demo from its folder."""
    name, files = job_files(DEMO)
    entries, blobs = entries_of_files(name, files)
    opened = job_of_entries(current_of(entries), blobs.__getitem__)

    assert seal(prepared(opened.inputs, opened.files)) == seal(pack_of(name, files))


def test_the_same_files_are_the_same_entries_wherever_they_lie():
    """Ids hang on what is said, so that bringing a job in twice adds nothing."""
    near = job_files_small()
    far = {f"jobs/elm/{name}": data for name, data in near.items()}

    assert entries_of_files("jobs/elm/job.toml", far) == entries_of_files("job.toml", near)


def test_every_file_is_a_blob_named_by_its_own_sum():
    """A blob's key is the sum of its bytes."""
    _, blobs = entries_of_files("job.toml", job_files_small())

    assert blobs == {hashlib.sha256(one).hexdigest(): one for one in job_files_small().values()}


def test_the_later_of_two_rows_on_one_thing_is_current():
    """A table may hold what was decided before and after; the last row stands, both are kept."""
    table = (
        "anchor_id,field,value,by,when,why\n"
        "kind:SMH,action,LIFT,Ana,2026-05-01,\n"
        "kind:SMH,action,STOP,Ben,2026-05-02,seen again\n"
    )
    files = job_files_small() | {"decisions.csv": table.encode()}
    entries, _ = entries_of_files("job.toml", files)
    current = current_of(entries)

    assert [one.value for one in current.decisions] == ["STOP"]
    assert sum(one.kind == "decision" for one in entries) == 2
    assert current.remarks.edited_twice == ()


def test_rows_of_one_day_stay_in_the_order_of_the_table():
    """A join before a split is another thing than one after it."""
    rows = [f"m{k},split,,Ana,2026-05-01," for k in range(12)]
    table = "\n".join(["anchor_id,field,value,by,when,why", *rows, ""])
    entries, _ = entries_of_files("job.toml", job_files_small() | {"decisions.csv": table.encode()})
    said = current_of(entries[::-1]).decisions

    assert [one.anchor_id for one in said] == [f"m{k}" for k in range(12)]


def test_a_row_of_another_day_leaves_the_others_the_same_entries():
    """A table that was brought in again with a day more has no row edited twice."""
    head, first, later = (
        "anchor_id,field,value,by,when,why\n", "m1,note,x,Ana,2026-05-01,\n",
        "m2,note,y,Ana,2026-05-02,\n",
    )  # fmt: skip
    one, other = (
        entries_of_files("job.toml", job_files_small() | {"decisions.csv": text.encode()})[0]
        for text in (head + later, head + first + later)
    )

    assert {made.entry_id for made in one} < {made.entry_id for made in other}


def test_a_number_beside_the_job_is_kept():
    """numbers.csv comes back as the ledger."""
    table = "no,anchor_id,first_revision\nA-1,x,A\nA-2,y,A\n"
    files = job_files_small() | {"numbers.csv": table.encode()}
    entries, blobs = entries_of_files("job.toml", files)
    inputs = job_of_entries(current_of(entries), blobs.__getitem__).inputs

    assert [(one.no, one.anchor_id) for one in inputs.numbers] == [("A-1", "x"), ("A-2", "y")]


def test_an_issued_job_goes_on_at_the_next_letter(store):
    """What was issued last is what the change slip is told against."""
    desk = stored(store, decided=True)
    desk.issue(desk.look(), ANA, paper="letter")
    inputs = desk.inputs(desk.look())

    assert (inputs.settings.revision, inputs.issued.revision) == ("B", "A")
    assert len(inputs.issued.rows) == 4
    pack = store.blob(str(desk.look().current.issues[0].body["pack"]))
    assert list(issued_list(pack).rows["no"]) == ["A-1", "A-2", "A-3", "A-4"]


def test_open_job_reads_all_three_ways(store, tmp_path, monkeypatch):
    """A TOML and the store give the same job."""
    stored(store)
    monkeypatch.setenv("ROUTEPREP_STORE", f"sqlite:///{tmp_path / 'jobs.db'}")
    for name, data in job_files_small().items():
        (tmp_path / name).write_bytes(data)
    packs = [prepared(*open_job(text)) for text in (str(tmp_path / "job.toml"), f"store:{JOB}")]

    assert seal(packs[0]) == seal(packs[1])


def test_a_job_that_the_store_lacks_is_refused_with_those_it_has(store, tmp_path, monkeypatch):
    """The message names what is there."""
    stored(store)
    monkeypatch.setenv("ROUTEPREP_STORE", f"sqlite:///{tmp_path / 'jobs.db'}")

    with pytest.raises(JobError, match=r"no job 'Oak'; it has: Elm Street"):
        open_job("store:Oak")


def test_a_job_without_settings_is_told_what_it_needs():
    """A job that was only named cannot be prepared yet."""
    with pytest.raises(JobError, match="no settings yet"):
        job_of_entries(current_of(()), {}.__getitem__)


@pytest.mark.parametrize(
    ("before", "after"), [("A", "B"), ("H", "I"), ("Z", "AA"), ("AZ", "BA"), ("9", "10")]
)
def test_the_letter_after(before, after):
    """Letters count as in numbers of sheets; numbers count up."""
    assert next_revision(before) == after
