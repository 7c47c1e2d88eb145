"""Values between a job's TOML and the forms that show them.

In go a TOML document and what was typed, out comes the document with that table changed and all
the rest as it was, comments too.
"""

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from typing import Any

import pandas as pd
import tomlkit
from tomlkit.items import AoT

from routeprep.errors import JobError
from routeprep.pages.job_fields import Field, Table

__all__ = ["edited_rows", "put", "rows_frame", "shown_value", "tables_of", "typed_value"]

_TRUE, _FALSE = "true", "false"
# How many numbers a place is.
_PLACE = 2


def tables_of(document: tomlkit.TOMLDocument, name: str, *, within: int = 0) -> list[Any]:
    """All tables of a name, in order.

    Parameters
    ----------
    document
        The TOML.
    name
        "leg", or "leg.section" for those of one leg.
    within
        Which leg.
    """
    outer, _, inner = name.partition(".")
    found: Any = document.get(outer, [])
    if inner:
        found = found[within].get(inner, []) if within < len(found) else []
    return list(found) if isinstance(found, list) else [found]


def _got(table: Mapping[str, Any], key: str) -> object:
    """A value by its key, with a dot for a table within; a centerline may be a text alone."""
    outer, _, inner = key.partition(".")
    value = table.get(outer)
    if not inner:
        return value
    if isinstance(value, Mapping):
        return value.get(inner)
    return value if inner == "file" else None


def shown_value(table: Mapping[str, Any], field: Field) -> Any:  # noqa: ANN401 - as the widget has it
    """A value as its widget shows it.

    Parameters
    ----------
    table
        The table, empty for a new one.
    field
        What is asked for.
    """
    value = _got(table, field.key)
    if field.sort in {"number", "whole", "date"}:
        return tomlkit.item(value).unwrap() if value is not None else None
    if field.sort == "texts":
        return "\n".join(map(str, value)) if isinstance(value, list) else ""
    if field.sort == "place":
        return ", ".join(map(str, value)) if isinstance(value, list) else ""
    if isinstance(value, bool):
        return _TRUE if value else _FALSE
    return "" if value is None else str(value)


def _number(text: object) -> float | int | None:
    """A number; None for none."""
    if text is None or (isinstance(text, float) and math.isnan(text)) or text is pd.NA:
        return None
    value = float(str(text))
    return int(value) if value.is_integer() else value


def _place(text: str) -> list[float | int] | None:
    """Longitude and latitude.

    Raises
    ------
    JobError
        If it is not two numbers.
    """
    parts = [part.strip() for part in text.split(",")] if text.strip() else []
    try:
        numbers = [_number(part) for part in parts]
    except ValueError:
        numbers = []
    if parts and len(numbers) != _PLACE:
        msg = f"the place is {text[:60]!r}; write longitude, comma, latitude: -96.1, 41.2"
        raise JobError(msg, place=text)
    return [one for one in numbers if one is not None] or None


def typed_value(field: Field, said: Any) -> object:  # noqa: ANN401 - as the widget has it
    """A value as the TOML has it; None for what is left out.

    Parameters
    ----------
    field
        What was asked for.
    said
        What the widget holds; of rows a list of tables by column.

    Raises
    ------
    JobError
        If a place is none.
    """
    if field.sort in {"number", "whole"}:
        return _number(said)
    if field.sort == "rows":
        made = [_row(field.columns, one) for one in said]
        return [one for one in made if one] or None
    if field.sort == "date":
        return said if isinstance(said, dt.date) else None
    text = str(said or "").strip()
    if field.sort == "texts":
        return [line.strip() for line in text.splitlines() if line.strip()] or None
    if field.sort == "place":
        return _place(text)
    flags = {_TRUE: True, _FALSE: False} if field.sort == "choice" else {}
    return flags.get(text, text or None)


def _row(columns: Sequence[Field], row: Mapping[str, Any]) -> dict[str, object]:
    """One row of a field as the TOML has it, without what is left out."""
    values = {one.key: typed_value(one, _said(row.get(one.key))) for one in columns}
    return {key: value for key, value in values.items() if value is not None}


def _said(value: Any) -> Any:  # noqa: ANN401 - a cell of a table
    """A cell of the editor: a date comes as text, nothing as several things."""
    if isinstance(value, str):
        try:
            return dt.date.fromisoformat(value)
        except ValueError:
            return value
    return None if value is None or value is pd.NaT else value


def rows_frame(table: Mapping[str, Any], field: Field) -> pd.DataFrame:
    """The rows of a field as the editor shows them, with all its columns."""
    value = _got(table, field.key)
    rows = value if isinstance(value, list) else []
    shown = [{one.key: shown_value(row, one) for one in field.columns} for row in rows]
    frame = pd.DataFrame(shown, columns=[one.key for one in field.columns], dtype=object)
    for one in field.columns:
        if one.sort in {"number", "whole"}:
            frame[one.key] = frame[one.key].astype("float64")
    return frame


def edited_rows(frame: pd.DataFrame, state: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The rows of an editor after what was edited, deleted and added.

    Parameters
    ----------
    frame
        As it was shown.
    state
        What the editor keeps: ``edited_rows``, ``deleted_rows`` and ``added_rows``.
    """
    rows = frame.to_dict("records")
    changed = {int(at): change for at, change in state.get("edited_rows", {}).items()}
    gone = {int(at) for at in state.get("deleted_rows", ())}
    kept = [row | changed.get(at, {}) for at, row in enumerate(rows) if at not in gone]
    return [*({str(key): one for key, one in row.items()} for row in kept),
            *state.get("added_rows", ())]  # fmt: skip


def put(
    document: tomlkit.TOMLDocument,
    table: Table,
    at: int,
    values: Mapping[str, object] | None,
    *,
    within: int = 0,
) -> None:
    """Change one table of a document.

    Parameters
    ----------
    document
        The TOML.
    table
        Which.
    at
        Which of several; one beyond the last is added.
    values
        By key, None for what is left out; None takes the table out.
    within
        Which leg, for what lies within one.
    """
    outer, _, inner = table.name.partition(".")
    holder: Any = document[outer][within] if inner else document
    key = inner or outer
    if not table.many:
        if key not in holder:
            holder[key] = tomlkit.table()
        _fill(holder[key], values or {})
        return
    if key not in holder:
        holder[key] = tomlkit.aot()
    several = holder[key]
    if values is None:
        del several[at]
        return
    if at == len(several):
        several.append(tomlkit.table() if isinstance(several, AoT) else tomlkit.inline_table())
    _fill(several[at], values)


def _fill(table: Any, values: Mapping[str, object]) -> None:  # noqa: ANN401
    """Set and take out values; what is as it was is not touched."""
    nested: dict[str, dict[str, object]] = {}
    for key, value in values.items():
        outer, _, inner = key.partition(".")
        if inner:
            nested.setdefault(outer, {})[inner] = value
            continue
        if value is None:
            table.pop(key, None)
        elif key not in table or tomlkit.item(table[key]).unwrap() != value:
            table[key] = value
    for outer, held in nested.items():
        kept = {key: value for key, value in held.items() if value is not None}
        if not kept:
            table.pop(outer, None)
            continue
        inline = tomlkit.inline_table()
        inline.update(kept)
        if table.get(outer) != inline:
            table[outer] = inline
