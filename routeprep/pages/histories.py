"""History: who said what and when, of any thing and of the whole job.

In goes a seat, out come its entries in plain words; nothing is changed here.
"""

import datetime as dt
from collections.abc import Callable, Iterable, Mapping

import streamlit as st

from routeprep.entries import Entry, in_time
from routeprep.errors import RouteprepError
from routeprep.listing import rows_by_leg
from routeprep.pages.session import Seat, paged
from routeprep.readiness import anchors_of
from routeprep.remarks import WHOLE
from routeprep.shapes import Pack

__all__ = ["show"]

_A_PAGE = 40
_MOST_SHOWN = 2_000
_THING, _KIND, _WHO, _PAGE = "history of", "history kind", "history who", "history page"
_WHOLE_JOB, _ANY_KIND, _ANYBODY = "the whole job", "any kind", "anybody"
_NO_NAME = "nobody named"
# Each kind of entry as people call it.
_KINDS = {
    "settings": "settings of the job",
    "file": "file",
    "decision": "decision",
    "number": "number",
    "review": "review",
    "check": "check on the day",
    "issue": "issue",
    "copy": "copy handed over",
    "drive": "drive or walk",
    "fixes": "positions of a drive",
    "mark": "mark",
    "tick": "tick of the crew",
    "found": "found tonight",
    "device": "phone",
}
_Body = Mapping[str, object]


def _with(head: str, *more: object) -> str:
    """A head and what is known beside it."""
    return ", ".join([head, *(str(one) for one in more if one)])


def _decision(body: _Body) -> str:
    why = f"; why: {body['why']}" if body["why"] else ""
    return f"{body['field']} is {body['value']}{why}"


def _fixes(body: _Body) -> str:
    points = body["fixes"]
    return f"{len(points) if isinstance(points, list) else 0} positions"


def _mark(body: _Body) -> str:
    return _with(f"marked {body['words']}", body["across"], body["size"], body["note"])


def _said(body: _Body) -> str:
    return f"{body['says']}: {body['text']}" if body["text"] else str(body["says"])


# What an entry says, by its kind; of a phone its name and role, never what lets it in.
_WORDS: Mapping[str, Callable[[_Body], str]] = {
    "settings": lambda body: f"kept the settings in {body['name']}",
    "file": lambda body: f"put in a content, checksum {str(body['sha256'])[:8]}",
    "decision": _decision,
    "number": lambda body: f"number {body['no']} given for good in {body['first_revision']}",
    "review": _said,
    "check": _said,
    "issue": lambda body: f"issued revision {body['revision']}, seal {str(body['seal'])[:12]}",
    "copy": lambda body: f"revision {body['revision']} to {body['to']}, {body['how']}",
    "drive": lambda body: f"{'walked' if body['walk'] else 'drove'}: {body['name']}",
    "fixes": _fixes,
    "mark": _mark,
    "tick": lambda body: "done" if body["done"] else "not done after all",
    "found": lambda body: _with(f"{body['no']} {body['words']}", body["across"], body["note"]),
    "device": lambda body: f"{body['name']} may send as {body['role']} until {body['until']}",
}


def _text(entry: Entry) -> str:
    """What an entry says."""
    text = "taken back" if entry.removed else _WORDS[entry.kind](entry.body)
    more = len(text) - _MOST_SHOWN
    return text if more <= 0 else f"{text[:_MOST_SHOWN]} … ({more:,} characters more)"


def _named(pack: Pack | None) -> dict[str, str]:
    """The number of the thing that each item is evidence of."""
    if pack is None:
        return {}
    numbers = {
        str(row["anchor_id"]): str(row["no"]) for rows in rows_by_leg(pack).values() for row in rows
    }
    return {item: numbers[anchor] for item, anchor in anchors_of(pack.obstructions).items()}


def _about(entry: Entry, names: Mapping[str, str], once: Mapping[str, Entry]) -> str:
    """What an entry is about, as people call it."""
    if entry.kind == "device":
        return ""
    if entry.kind in {"file", "issue", "number"}:
        return entry.thing
    said = [entry, *(once[one] for one in entry.parents if one in once)]
    for one in said:
        for field in ("anchor_id", "subject", "mark_id"):
            subject = str(one.body.get(field, ""))
            if subject in names:
                return names[subject]
            if subject == WHOLE:
                return "the whole list"
            if subject.startswith(("kind:", "limit ", "leg ")):
                return subject
    return ""


def _when(entry: Entry, zone: dt.tzinfo) -> str:
    """The job's local date and time of an entry; what a file says of it where there is none."""
    if entry.time_utc is None:
        return str(entry.body.get("when", "")) or "no time"
    local = entry.time_utc.astimezone(zone)
    # A table beside a job may name a day alone, which no zone moves.
    said = str(entry.body.get("when", ""))
    return said if entry.device.startswith("file ") and said else f"{local:%Y-%m-%d %H:%M}"


def _pack(seat: Seat) -> tuple[Pack | None, dt.tzinfo]:
    """The pack and the job's clock; neither where the job cannot be prepared just now."""
    try:
        pack = seat.pack()
    except RouteprepError as error:
        st.text(f"The job cannot be prepared just now, times are UTC: {error}")
        return None, dt.UTC
    return pack, pack.settings.timezone


def _of_thing(
    seat: Seat, pack: Pack | None, chosen: str, names: Mapping[str, str]
) -> tuple[Entry, ...]:
    """The entries of what was chosen, in the order they came."""
    rows = [] if pack is None else [row for every in rows_by_leg(pack).values() for row in every]
    kinds = [f"kind:{row['kind']}" for row in rows if str(row["no"]) == chosen]
    if not kinds:
        return seat.look.entries
    items = [item for item, no in names.items() if no == chosen]
    # What was decided of its kind was decided of it.
    return seat.desk.history(seat.look, {*items, *kinds, chosen})


def _numbers(pack: Pack | None) -> dict[str, str]:
    """What each thing is called where one is chosen, by its number."""
    if pack is None:
        return {}
    return {
        str(row["no"]): f"{row['no']} · {row['station_text']} · {row['what_text']}"[:120]
        for rows in rows_by_leg(pack).values()
        for row in rows
    }


def _picked(entries: Iterable[Entry], kind: str, who: str) -> list[Entry]:
    """Entries of a kind and a person, newest first."""
    return [
        one
        for one in sorted(entries, key=in_time, reverse=True)
        if kind in (_ANY_KIND, _KINDS[one.kind]) and who in (_ANYBODY, one.author or _NO_NAME)
    ]


def _show_one(
    entry: Entry, names: Mapping[str, str], once: Mapping[str, Entry], zone: dt.tzinfo
) -> None:
    """One entry: who, when, of what, what it says and what it replaced."""
    with st.container(border=True):
        head = (_when(entry, zone), entry.author or _NO_NAME, _KINDS[entry.kind])
        about = _about(entry, names, once)
        st.text(" · ".join([*head, *([about] if about else [])]))
        st.text(_text(entry))
        for parent in entry.parents:
            if parent in once:
                before = once[parent]
                st.text(f"Before: {_text(before)} ({before.author or _NO_NAME}, "
                        f"{_when(before, zone)})")  # fmt: skip


def show(seat: Seat) -> None:
    """Show the page.

    Parameters
    ----------
    seat
        Who sits at which job.
    """
    st.title("History")
    st.write("Who said what and when; nothing that was recorded or decided is ever lost.")
    pack, zone = _pack(seat)
    numbers = _numbers(pack)
    entries = seat.look.entries
    kinds = [name for kind, name in _KINDS.items() if any(one.kind == kind for one in entries)]
    people = sorted({one.author or _NO_NAME for one in entries})
    with st.container(horizontal=True):
        chosen = st.selectbox("Of", [_WHOLE_JOB, *numbers], key=_THING,
                              format_func=lambda one: numbers.get(one, one))  # fmt: skip
        kind = st.selectbox("Kind", [_ANY_KIND, *kinds], key=_KIND)
        who = st.selectbox("By", [_ANYBODY, *people], key=_WHO)
    once = {one.entry_id: one for one in entries}
    names = _named(pack)
    for one in paged(
        _picked(_of_thing(seat, pack, chosen, names), kind, who),
        "entries, newest first",
        _PAGE,
        most=_A_PAGE,
    ):
        _show_one(one, names, once, zone)
