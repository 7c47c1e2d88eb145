"""The first page: which jobs there are, opening one, bringing one in, taking one along.

In go a person and the store, out comes the name of the job that the other pages are about.
"""

import tempfile
from collections.abc import Sequence
from functools import partial
from pathlib import Path

import streamlit as st
from streamlit.runtime.uploaded_file_manager import UploadedFile

from routeprep.access import SUPERINTENDENT, Person
from routeprep.entries import Entry
from routeprep.errors import JobError
from routeprep.home import home
from routeprep.jobs import entries_of_files
from routeprep.kept import JOB_FILE
from routeprep.pages.session import act, office_store, plain, tell
from routeprep.pages.sign_in import TITLE, leave
from routeprep.readers.disk import job_files
from routeprep.saving import save_job
from routeprep.store import named_blobs, read_job_file
from routeprep.uploads import job_of_uploads

__all__ = ["choose", "chosen", "job_file", "show"]

_JOB = "job"


def chosen() -> str:
    """The job that this person has open; empty for none."""
    return str(st.session_state.get(_JOB) or st.query_params.get(_JOB, ""))


def choose(job: str) -> None:
    """Open a job, which may hold nothing yet."""
    st.session_state[_JOB] = job


def _said(entries: Sequence[Entry]) -> set[str]:
    """What entries say, whoever wrote them."""
    return {repr((one.kind, one.thing, sorted(one.body.items()))) for one in entries}


def _bring_files(person: Person, name: str, files: dict[str, bytes]) -> str:
    """Keep a TOML job in the store, unless somebody has done so, and say what it is called there.

    Raises
    ------
    JobError
        If the store has another job of that name.
    """
    entries, blobs = entries_of_files(name, files, author=person.name)
    store, job = office_store(), entries[0].job
    had = store.entries(job)
    if not had:
        store.append(entries, blobs, by=person)
    elif not _said(entries) <= _said(had):
        msg = (
            f"there is a job {job!r} already, and these files are not what it holds; open it and "
            "add the files there, or give the job in the .toml another name"
        )
        raise JobError(msg, job=job)
    else:
        tell("All of these files are here already, and what was done with them since.")
    return job


def _bring_job_file(person: Person, content: bytes) -> str:
    """Keep what a job file holds beside what the store has of the job, and say its name."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"handed{JOB_FILE}"
        path.write_bytes(content)
        entries, blobs = read_job_file(path)
    office_store().append(entries, blobs, by=person)
    return entries[0].job


def _bring(person: Person, handed: Sequence[UploadedFile]) -> None:
    """Bring in what was handed over and open it."""
    if len(handed) == 1 and handed[0].name.lower().endswith(JOB_FILE):
        choose(_bring_job_file(person, handed[0].getvalue()))
        return
    job = job_of_uploads((one.name, one.getvalue()) for one in handed)
    choose(_bring_files(person, job.name, dict(job.files)))
    if job.unused:
        tell(f"The job does not name {', '.join(job.unused)}: not kept.")


def _bring_demo(person: Person) -> None:
    """Bring in the demo and open it."""
    name, files = job_files(home() / "data" / "demo" / "job" / "job.toml")
    choose(_bring_files(person, name, dict(files)))


def job_file(entries: Sequence[Entry]) -> bytes:
    """A stored job as one job file.

    Parameters
    ----------
    entries
        All of it.
    """
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"job{JOB_FILE}"
        save_job(entries, office_store().blobs(named_blobs(entries)), path)
        return path.read_bytes()


def _show_jobs() -> None:
    """A button for each job, and the job file of the one that is open."""
    names = office_store().jobs()
    st.subheader("Jobs" if names else "No jobs yet")
    for job in names:
        st.button(
            plain(job),
            key=f"open {job}",
            on_click=partial(choose, job),
            type="primary" if job == chosen() else "secondary",
            width="stretch",
        )
    if chosen() in names:
        entries = office_store().entries(chosen())
        st.write(
            f"Open: **{plain(chosen())}**. All that was recorded and decided of it can be taken "
            "along in one file, worked on elsewhere, and brought in again: what both hold is "
            "kept, and what two persons changed is shown."
        )
        st.download_button(
            "Take the job along in one file",
            partial(job_file, entries),
            file_name=f"job{JOB_FILE}",
            mime="application/geopackage+sqlite3",
        )


def _show_bringing(person: Person) -> None:
    """How a job gets into the store."""
    st.subheader("Bring in a job")
    handed = st.file_uploader(
        "A job's files, its .toml and all that it names; or one job file (.gpkg)",
        accept_multiple_files=True,
        key="handed",
        help="Choose them all at once. Folders do not matter: files are known by their names.",
    )
    st.button(
        "Bring these in",
        key="bring",
        disabled=not handed,
        on_click=partial(act, partial(_bring, person, handed), "Brought in and opened."),
    )
    st.button(
        "Bring in the demo: an invented job in an invented place",
        key="demo",
        on_click=partial(act, partial(_bring_demo, person), "The demo is open."),
    )
    st.subheader("Start a job")
    name = st.text_input("What it is called", key="new name", max_chars=200)
    st.button(
        "Start it",
        key="start",
        disabled=not name.strip(),
        on_click=partial(choose, name.strip()),
        help="It is kept once its settings are.",
    )


def show(person: Person) -> None:
    """Show the page.

    Parameters
    ----------
    person
        Who is there.
    """
    st.title(TITLE)
    st.write("From drives and notes to one station-ordered list of what is in the road.")
    st.write(f"You are **{plain(person.name)}**, {person.role}.")
    st.button("Somebody else", key="leave", on_click=leave)
    _show_jobs()
    if person.role == SUPERINTENDENT:
        _show_bringing(person)
