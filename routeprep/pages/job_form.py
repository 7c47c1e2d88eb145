"""The job: forms for all that its TOML has, legs included; the TOML in and out.

In go a seat and what was typed, out come ``settings`` entries; a TOML that could not be read is
refused with all that is wrong in it, and what was typed stays.
"""

import datetime as dt
import hashlib
from collections.abc import Mapping
from functools import partial
from typing import Any, NamedTuple

import streamlit as st
import tomlkit

from routeprep.errors import JobError
from routeprep.pages.job_fields import TABLES, Field, Table, fields_of, wide
from routeprep.pages.job_values import (
    edited_rows,
    put,
    rows_frame,
    shown_value,
    tables_of,
    typed_value,
)
from routeprep.pages.session import Seat, act, tell
from routeprep.readers.disk import kinds_text
from routeprep.readers.jobtoml import parse_toml, read_settings

__all__ = ["show"]

_NAME = "job.toml"
_START = 'format = 1\n\n[job]\nname = ""\nrevision = "A"\nunits = "us"\n'
_NEW = "add one"
_NOT_SAID = ""


class _Form(NamedTuple):
    """One table's form.

    Attributes
    ----------
    text
        The TOML that it was drawn from.
    table, at, within
        Which table, as ``job_values.put`` has them.
    units
        Of the job.
    """

    text: str
    table: Table
    at: int
    within: int
    units: str

    def key(self, part: str) -> str:
        """The key of a widget: another one once the TOML has changed."""
        sha256 = hashlib.sha256(self.text.encode()).hexdigest()[:12]
        return f"{sha256} {self.table.name} {self.within} {self.at} {part}"

    def fields(self) -> tuple[Field, ...]:
        """What it asks for."""
        return fields_of(self.table, self.units)

    def shown(self) -> Mapping[str, Any]:
        """The table as it is; empty for a new one."""
        found = tables_of(tomlkit.parse(self.text), self.table.name, within=self.within)
        return found[self.at] if self.at < len(found) else {}


def _text(seat: Seat) -> str:
    """The job's TOML; that of a job that has just begun, if it has none."""
    sha256 = seat.look.current.toml_sha256
    if sha256:
        return seat.desk.store.blob(sha256).decode("utf-8-sig")
    document = tomlkit.parse(_START)
    document["job"]["name"] = seat.desk.job
    return tomlkit.dumps(document)


def _lacks(data: bytes, name: str) -> str:
    """What keeps a TOML from being read as a job; empty when nothing does."""
    try:
        read_settings(data, name=name, kinds_text=kinds_text())
    except JobError as error:
        return str(error)
    return ""


def _keep(seat: Seat, text: str) -> None:
    """Keep a TOML.

    One that cannot be read as a job is kept only in the place of none, or of another such: so a
    job is begun part by part.

    Raises
    ------
    JobError
        Saying all that is wrong with it.
    """
    current = seat.look.current
    name, data = current.toml_name or _NAME, text.encode()
    parse_toml(data, name=name)
    lacks = _lacks(data, name)
    whole = bool(current.toml_sha256) and not _lacks(
        seat.desk.store.blob(current.toml_sha256), name
    )
    if lacks and whole:
        raise JobError(lacks, file=name)
    seat.desk.put_files(seat.look, seat.person, {}, toml=(name, data))
    if lacks:
        tell(f"What is still to be given: {lacks}", bad=True)


def _save(seat: Seat, form: _Form) -> None:
    """Keep what a form holds."""
    shown = form.shown()
    values = {}
    for one in form.fields():
        said = st.session_state.get(form.key(one.key))
        if one.sort == "rows":
            said = edited_rows(rows_frame(shown, one), said or {})
        values[one.key] = typed_value(one, said)
    document = tomlkit.parse(form.text)
    put(document, form.table, form.at, values, within=form.within)
    _keep(seat, tomlkit.dumps(document))


def _take_out(seat: Seat, form: _Form) -> None:
    """Take one of several tables out."""
    document = tomlkit.parse(form.text)
    put(document, form.table, form.at, None, within=form.within)
    _keep(seat, tomlkit.dumps(document))


def _read_in(seat: Seat, key: str) -> None:
    """Put a TOML that was handed over in the place of the job's.

    Raises
    ------
    JobError
        If it is no text, or cannot be read.
    """
    handed = st.session_state.get(key)
    if handed is None:
        return
    try:
        text = handed.getvalue().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        msg = f"{handed.name} is no text ({error}); hand over the job's .toml"
        raise JobError(msg, file=handed.name) from error
    _keep(seat, text)


def _column(field: Field) -> Any:  # noqa: ANN401 - a column of any sort
    """How the editor shows a column."""
    if field.sort == "number":
        return st.column_config.NumberColumn(field.label)
    if field.sort == "choice":
        return st.column_config.SelectboxColumn(field.label, options=list(field.known))
    if field.sort == "date":
        return st.column_config.DateColumn(field.label)
    return st.column_config.TextColumn(field.label)


def _ask(form: _Form, field: Field, shown: Mapping[str, Any]) -> None:
    """One field of a form."""
    key, value, more = form.key(field.key), shown_value(shown, field), field.more or None
    if field.sort == "rows":
        st.write(field.label)
        st.data_editor(
            rows_frame(shown, field),
            key=key,
            num_rows="dynamic",
            hide_index=True,
            width="stretch",
            column_config={one.key: _column(one) for one in field.columns},
        )
    elif field.sort == "texts":
        st.text_area(field.label, value, key=key, help=more, placeholder="one on each line")
    elif field.sort == "number":
        number = None if value is None else float(value)
        st.number_input(field.label, value=number, key=key, help=more, step=None, format="%g")
    elif field.sort == "whole":
        st.number_input(field.label, value=value, key=key, help=more, step=1)
    elif field.sort == "date":
        date = value if isinstance(value, dt.date) else None
        st.date_input(field.label, date, key=key, help=more)
    elif field.sort == "choice":
        options = list(dict.fromkeys((_NOT_SAID, *field.known, value)))
        st.selectbox(
            field.label, options, options.index(value), key=key, help=more,
            format_func=lambda one: one or "not said",
        )  # fmt: skip
    else:
        st.text_input(field.label, value, key=key, help=more)


def _show_form(seat: Seat, form: _Form) -> None:
    """A form with what keeps it and, of several, what takes it out."""
    shown = form.shown()
    with st.form(form.key("form"), border=False):
        left, right = st.columns(2)
        narrow = [one for one in form.fields() if not wide(one)]
        for at, one in enumerate(narrow):
            with left if at < (len(narrow) + 1) // 2 else right:
                _ask(form, one, shown)
        for one in form.fields():
            if wide(one):
                _ask(form, one, shown)
        st.form_submit_button(
            "Keep this",
            key=form.key("keep"),
            type="primary",
            disabled=not seat.decides,
            on_click=partial(act, partial(_save, seat, form), "Kept."),
        )
    if form.table.many and shown and seat.decides:
        st.button(
            "Take it out",
            key=form.key("out"),
            on_click=partial(act, partial(_take_out, seat, form), "Taken out."),
        )


def _named(table: Table, at: int, several: list[Any]) -> str:
    """What one of several tables is called in a choice."""
    if at == len(several):
        return _NEW
    said = [str(several[at].get(key, "")) for key in table.named_by]
    return " ".join(part for part in said if part) or f"number {at + 1}"


def _choose(text: str, table: Table, *, within: int, label: str) -> int:
    """Which of several tables is shown; one beyond the last for a new one."""
    several = tables_of(tomlkit.parse(text), table.name, within=within)
    return int(
        st.selectbox(
            label,
            range(len(several) + 1),
            key=f"which {table.name} {within}",
            format_func=lambda at: _named(table, at, several),
        )
    )


def _show_table(seat: Seat, text: str, table: Table, units: str) -> None:
    """One table, or a choice of several and the one that was chosen."""
    within = at = 0
    legs = tables_of(tomlkit.parse(text), "leg")
    if "." in table.name:
        if not legs:
            st.write("Add a leg first.")
            return
        outer = next(one for one in TABLES if one.name == "leg")
        within = int(
            st.selectbox(
                "Of which leg",
                range(len(legs)),
                key=f"within {table.name}",
                format_func=lambda leg: _named(outer, leg, legs),
            )
        )
    if table.many:
        at = _choose(text, table, within=within, label="Which")
    _show_form(seat, _Form(text, table, at, within, units))


def _show_text(seat: Seat, text: str) -> None:
    """The TOML in and out."""
    st.download_button(
        "Take the .toml along", text.encode(), file_name=seat.look.current.toml_name or _NAME,
        mime="application/toml",
    )  # fmt: skip
    if not seat.decides:
        return
    st.file_uploader("Another .toml in its place", type=["toml"], key="toml in")
    st.button(
        "Put it in its place",
        key="put toml",
        disabled=st.session_state.get("toml in") is None,
        on_click=partial(act, partial(_read_in, seat, "toml in"), "It is in its place."),
    )


def show(seat: Seat) -> None:
    """Show the page.

    Parameters
    ----------
    seat
        Who sits at which job.
    """
    st.title("The job")
    st.write("What the streets are called, where the cut runs, with what, and who is called.")
    if not seat.decides:
        st.write("The superintendent changes it.")
    text = _text(seat)
    units = str(tables_of(tomlkit.parse(text), "job")[0].get("units", "us"))
    units = units if units in {"us", "metric"} else "us"
    title = st.segmented_control(
        "Which part",
        [one.title for one in TABLES],
        default=TABLES[0].title,
        key="part of the job",
        required=True,
    )
    table = next(one for one in TABLES if one.title == title)
    st.subheader(table.title)
    _show_table(seat, text, table, units)
    st.subheader("The whole as a file")
    _show_text(seat, text)
