"""Files: drives, notes and owners' files dragged in, and what was understood of each.

In go a seat and files, out come ``file`` entries and the TOML that names them; what cannot be read
is refused in a sentence, and nothing of it is kept.
"""

from collections.abc import Mapping, Sequence
from functools import partial
from pathlib import PurePosixPath
from typing import NamedTuple

import pandas as pd
import streamlit as st
import tomlkit
from streamlit.runtime.uploaded_file_manager import UploadedFile

from routeprep.desk import Act
from routeprep.errors import JobError, ReadError
from routeprep.pages.job_fields import TABLES
from routeprep.pages.job_values import put, tables_of
from routeprep.pages.session import Seat, act, plain
from routeprep.readers.globs import matching
from routeprep.readers.jobfile import read_job
from routeprep.readers.sniff import sort_of
from routeprep.shapes import Finding, Source

__all__ = ["show"]

# What a file can be: the key of [inputs] that names it, and its folder.
_AS = {
    "a drive": "drives",
    "a walk": "walks",
    "further marks": "marks",
    "an owner's records": "records",
    "a photo": "photos",
    "a street map": "streets",
    "a centerline, named by its leg": "",
}
_LINES = "lines"
_FIRST, *_, _LINE = _AS
# What a sort of file mostly is.
_USUALLY = {
    "photo": "a photo",
    "osm": "a street map",
    "stations": "further marks",
    "csv": "further marks",
    "gis": "an owner's records",
    "landxml": _LINE,
}
_HANDED = "files to add"
_FILES_MOST = 200


class _Kept(NamedTuple):
    """Files to add by their names, and the TOML that names them; None if it does so already."""

    toml: str | None
    files: Mapping[str, bytes]


def _as_key(name: str) -> str:
    return f"as {name}"


def _guess(file: UploadedFile) -> str:
    """What a file probably is; the person says it if it is not."""
    try:
        return _USUALLY.get(sort_of(file.getvalue(), name=file.name), _FIRST)
    except ReadError:
        return _FIRST


def _plain_name(name: str) -> str:
    """The name of a file without the folders of whoever handed it over."""
    return PurePosixPath(name.replace("\\", "/")).name


def _with(toml: str, handed: Sequence[UploadedFile], said: Mapping[str, str]) -> _Kept:
    """The files by the names that the job gives them, and the TOML that names them.

    Raises
    ------
    JobError
        If two have one name.
    """
    document = tomlkit.parse(toml)
    table = next(one for one in TABLES if one.name == "inputs")
    files: dict[str, bytes] = {}
    changed = False
    for one in handed:
        key = _AS[said[one.name]]
        path = f"{key or _LINES}/{_plain_name(one.name)}"
        if path in files:
            msg = f"{_plain_name(one.name)} was handed over twice; rename one"
            raise JobError(msg, file=path)
        files[path] = one.getvalue()
        named = [
            str(pattern)
            for inputs in tables_of(document, "inputs")
            for pattern in inputs.get(key, [])
        ]
        if key and not any(matching(pattern, [path]) for pattern in named):
            put(document, table, 0, {key: [*named, path]})
            changed = True
    return _Kept(tomlkit.dumps(document) if changed else None, files)


def _add(seat: Seat, handed: Sequence[UploadedFile]) -> None:
    """Add files to the job, once all of it can be read with them.

    Raises
    ------
    JobError
        If the job has another file of that name; other errors as ``read_job``.
    """
    current = seat.look.current
    blob = seat.desk.store.blob
    said = {one.name: str(st.session_state[_as_key(one.name)]) for one in handed}
    name, had = current.toml_name, blob(current.toml_sha256)
    kept = _with(had.decode("utf-8-sig"), handed, said)
    before = {name: blob(sha256) for name, sha256 in current.files.items()}
    other = [name for name, data in kept.files.items() if before.get(name, data) != data]
    if other:
        msg = (
            f"the job has another file {other[0]} already; rename yours, or take that one out first"
        )
        raise JobError(msg, file=other[0])
    data = had if kept.toml is None else kept.toml.encode()
    read_job(name, before | dict(kept.files) | {name: data})
    toml = None if kept.toml is None else (name, data)
    seat.desk.put_files(seat.look, seat.person, kept.files, toml=toml)


def _take_out(seat: Seat, name: str) -> None:
    """Take a file out; what it held stays in the history."""
    seat.desk.write(seat.look, seat.person, [Act("file", name, None)])


def _show_adding(seat: Seat) -> None:
    """What is asked of files that are handed over."""
    handed = st.file_uploader(
        "Drives, walks, lists of marks, owners' files, photos, street maps",
        accept_multiple_files=True,
        key=_HANDED,
        max_upload_size=50,
    )
    if not handed:
        return
    if len(handed) > _FILES_MOST:
        st.error(f"{len(handed)} files at once; hand over {_FILES_MOST} at most, or a zip of them.")
        return
    for one in handed:
        st.selectbox(
            f"{plain(one.name)} is", list(_AS), list(_AS).index(_guess(one)), key=_as_key(one.name)
        )
    st.button(
        "Add these",
        key="add files",
        type="primary",
        on_click=partial(act, partial(_add, seat, handed), "Added."),
    )


def _counts(counts: Mapping[str, int]) -> str:
    said = (
        (count, what.removesuffix("s") if count == 1 else what) for what, count in counts.items()
    )
    return ", ".join(f"{count:,} {what}" for count, what in said if count)


def _understood(sources: Sequence[Source]) -> pd.DataFrame:
    """A row for each file: what it is and what was taken from it."""
    rows = [(one.name, one.what, _counts(one.taken), _counts(one.skipped)) for one in sources]
    return pd.DataFrame(rows, columns=["File", "Read as", "Taken", "Left"])


def _show_findings(findings: Sequence[Finding], names: set[str]) -> None:
    """What was noticed of the files, doubts first."""
    told = [one for one in findings if one.where.partition(" ")[0] in names or one.where in names]
    for level, title in (("doubt", "Doubts about them"), ("note", "What was noticed")):
        some = [one for one in told if one.level == level]
        if some:
            with st.expander(f"{title} ({len(some)})", expanded=level == "doubt"):
                for one in some:
                    st.text(f"{one.where}: {one.text}")


def _show_files(seat: Seat) -> None:
    """What was understood of the job's files, and taking one out."""
    pack = seat.pack()
    st.subheader("What was understood")
    st.dataframe(
        _understood(pack.sources),
        hide_index=True,
        width="stretch",
        alt="The job's files and what was taken from each",
    )
    _show_findings(pack.findings, {one.name for one in pack.sources})
    if len(pack.unsorted):
        st.warning(f"To be sorted before issue, on the page In the road: {len(pack.unsorted)}.")
    names = sorted(seat.look.current.files)
    if seat.decides and names:
        st.subheader("Take a file out")
        name = st.selectbox("Which", names, key="which file")
        st.button(
            "Take it out",
            key="take out",
            on_click=partial(
                act,
                partial(_take_out, seat, str(name)),
                "Taken out; it stays in the history.",
            ),
        )


def show(seat: Seat) -> None:
    """Show the page.

    Parameters
    ----------
    seat
        Who sits at which job.
    """
    st.title("Files")
    st.write("What was recorded and what the owners gave; nothing is changed in it.")
    if not seat.look.current.toml_name:
        st.write("Give the job its settings first, on the page *The job*.")
        return
    if seat.decides:
        _show_adding(seat)
    else:
        st.write("The superintendent adds files.")
    _show_files(seat)
