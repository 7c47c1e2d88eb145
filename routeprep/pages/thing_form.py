"""What can be said and decided of one thing: in go a seat and a thing, out come decisions."""

import re
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import Any

import streamlit as st

from routeprep.correcting import POSITIONS, SIDES
from routeprep.desk import Act
from routeprep.entries import Entry
from routeprep.errors import JobError
from routeprep.kinds import ACTIONS
from routeprep.pages.session import Seat, act, plain
from routeprep.shapes import Pack
from routeprep.tables import rows_of

__all__ = ["show_thing"]

_AS_PROPOSED = "as proposed"
_KNOWN = ("posted", "measured", "guess")
_STATES = ("walked", "walked, not found", "lowered", "gone")
_Row = Mapping[str, Any]


def _decide(seat: Seat, item: str, field: str, value: Callable[[], str]) -> None:
    """Decide one field; the value is read when the button is pressed."""
    seat.desk.decide(seat.look, seat.person, [(item, field, value())])


def _button(
    seat: Seat, label: str, item: str, field: str, value: Callable[[], str], *, first: bool = False
) -> None:
    """A button that decides one field of a thing."""
    st.button(
        label,
        key=f"{label} {field} {item}",
        type="primary" if first else "secondary",
        on_click=partial(act, partial(_decide, seat, item, field, value), "Kept, by your name."),
    )


def _typed(key: str) -> str:
    return " ".join(str(st.session_state.get(key, "")).split())


def _says(row: _Row) -> None:
    """What the sheet says of it."""
    st.subheader(plain(f"{row['no']} {row['what_text']}"))
    stands = [row["station_text"], row["zero_text"], row["plus_minus_text"]]
    lines = (
        " ".join(str(part) for part in stands if part),
        row["landmark_text"],
        row["where_text"],
        row["ends_text"],
        row["status"],
        row["note"],
    )
    st.markdown(f"**{plain(str(row['do_text']))}**")
    st.text("\n".join(str(line) for line in lines if line))
    if row["doubt"]:
        st.warning(plain(f"Doubt: {row['doubt']}"))
    if row["decided_by"]:
        st.caption(plain(f"decided by {row['decided_by']}"))


def _show_action(seat: Seat, item: str, row: _Row) -> None:
    """What to do there."""
    if row["proposed_text"]:
        _button(
            seat, plain(f"As proposed: {row['proposed_text']}"), item, "action",
            lambda: _AS_PROPOSED, first=True,
        )  # fmt: skip
    with st.expander("Decide otherwise", key=f"otherwise {item}"):
        action, more = f"action {item}", f"action more {item}"
        st.selectbox("What to do", ACTIONS, key=action)
        st.text_input(
            "More, as from where to where, how shallow, whom to call", key=more, max_chars=200
        )

        def said() -> str:
            return f"{_typed(action)} {_typed(more)}".strip()

        _button(seat, "Decide this", item, "action", said)


def _show_state(seat: Seat, item: str) -> None:
    """What somebody who was there has found or done."""
    with st.expander("Walked, lowered, gone", key=f"walked {item}"):
        state, deep = f"state {item}", f"deep {item}"
        st.selectbox("It was", _STATES, key=state)
        st.text_input("Lowered by, below the surface", key=deep, help="As 4 in or 100 mm")

        def said() -> str:
            return f"lowered {_typed(deep)}" if _typed(state) == "lowered" else _typed(state)

        _button(seat, "Keep it", item, "status", said)


def _show_kind(seat: Seat, pack: Pack, item: str, row: _Row) -> None:
    """What it is."""
    kinds = pack.settings.kinds.kinds
    names = [one.name for one in kinds.values()]
    key = f"kind {item}"
    st.selectbox("It is", names, names.index(kinds[str(row["kind"])].name), key=key)
    _button(seat, "Change what it is", item, "kind", lambda: _typed(key))


def _height(key: str, by: str) -> str:
    """Height and how it is known, as decisions have it.

    Raises
    ------
    JobError
        If it is none.
    """
    typed = _typed(key).replace("'", " ft ").replace('"', " in ")
    typed = " ".join(typed.split())
    if not re.search(r"\d", typed):
        msg = f"the height is {typed!r}; write it like 15 ft 6 in or 4.7 m"
        raise JobError(msg, height=typed)
    return f"{typed} {_typed(by)}"


def _show_measures(seat: Seat, item: str, row: _Row) -> None:
    """Where across, size, height, note."""
    side, position, lane = f"side {item}", f"position {item}", f"lane {item}"
    left, middle, right = st.columns(3)
    left.selectbox("Side, looking up-station", ["", *SIDES], key=side)
    middle.selectbox("Lane from the line", ["", *(f"lane {k}" for k in range(1, 7))], key=lane)
    right.selectbox("Where on it", ["", *POSITIONS], key=position)
    _button(
        seat, "Keep where across", item, "across",
        lambda: ", ".join(filter(None, (_typed(side), _typed(lane), _typed(position)))),
    )  # fmt: skip
    size, height, by, note = f"size {item}", f"height {item}", f"by {item}", f"note {item}"
    st.text_input("Size", key=size, placeholder=str(row["size"]), max_chars=100)
    _button(seat, "Keep the size", item, "size", lambda: _typed(size))
    left, right = st.columns(2)
    left.text_input("Height", key=height, placeholder="15 ft 6 in", max_chars=20)
    right.selectbox("How known", _KNOWN, key=by)
    _button(seat, "Keep the height", item, "height", lambda: _height(height, by))
    st.text_area("Note", str(row["note"]), key=note, max_chars=10_000)
    _button(seat, "Keep the note", item, "note", lambda: str(st.session_state.get(note, "")))


def _of_mark(one: _Row) -> str:
    """A mark in words."""
    said = one["words"] or one["kind"]
    return f"{said}, {one['method']}, by {one['by'] or 'somebody'}, {one['source']}"


def _evidence(pack: Pack, row: _Row) -> list[tuple[str, str]]:
    """Each mark and record that it rests on, by id, in words."""
    marks = pack.marks[pack.marks["mark_id"].isin(row["mark_ids"])]
    named = str(row["record_ids"]).split()
    records = pack.records[pack.records["record_id"].isin(named)]
    found = [(str(one["mark_id"]), _of_mark(one)) for one in rows_of(marks)]
    found += [
        (str(one["record_id"]), f"{one['name'] or one['kind']}, {one['owner']}, {one['source']}")
        for one in rows_of(records)
    ]
    return found


def _show_together(
    seat: Seat, item: str, listed: Mapping[str, _Row], evidence: Sequence[tuple[str, str]]
) -> None:
    """Joining it with another thing, and splitting one of its looks off."""
    leg = listed[item]["leg"]
    others = {
        other: f"{row['no']} {row['station_text']} {row['what_text']}"
        for other, row in listed.items()
        if other != item and row["leg"] == leg
    }
    if others:
        joined = f"other {item}"
        st.selectbox("The same thing as", list(others), key=joined, format_func=others.__getitem__)
        _button(seat, "Join them", item, "join", lambda: str(st.session_state[joined]))
    looks = dict(evidence)
    if len(looks) > 1:
        key = f"look {item}"
        st.selectbox("Another thing is", list(looks), key=key, format_func=looks.__getitem__)
        st.button(
            "Split it off",
            key=f"split {item}",
            on_click=partial(act, partial(_split, seat, key), "Split off, by your name."),
        )


def _split(seat: Seat, key: str) -> None:
    """Have one look stand alone."""
    item = str(st.session_state[key])
    seat.desk.decide(seat.look, seat.person, [(item, "split", "")])


def _decided(seat: Seat, ids: Sequence[str]) -> list[Entry]:
    """What was decided of these items and holds now."""
    heads = seat.look.current.heads
    return [
        several[-1]
        for (kind, _), several in heads.items()
        if kind == "decision" and several[-1].body.get("anchor_id") in ids
    ]


def _show_decided(seat: Seat, ids: Sequence[str]) -> None:
    """What was decided of it, each with a button that takes it back."""
    for one in _decided(seat, ids):
        body = one.body
        st.text(f"{body['field']} {body['value']}\n{body['by']}, {body['when']}")
        st.button(
            "Take it back",
            key=f"back {one.entry_id}",
            on_click=partial(
                act,
                partial(
                    seat.desk.write, seat.look, seat.person, [Act("decision", one.thing, None)]
                ),
                "Taken back; it stays in the history.",
            ),
        )


def show_thing(seat: Seat, pack: Pack, listed: Mapping[str, _Row], item: str) -> None:
    """Show one thing, and what can be done about it.

    Parameters
    ----------
    seat, pack
        Who sits at which job, and how it stands.
    listed
        Its rows as they are worded, by anchor.
    item
        The thing's anchor.
    """
    row = listed[item]
    _says(row)
    evidence = _evidence(pack, row)
    if not seat.decides:
        st.write("The superintendent decides.")
    else:
        _show_action(seat, item, row)
        _show_state(seat, item)
        change = "Change what it is, where across, size, height, note"
        with st.expander(change, key=f"change {item}"):
            _show_kind(seat, pack, item, row)
            _show_measures(seat, item, row)
        with st.expander("Join and split", key=f"together {item}"):
            _show_together(seat, item, listed, evidence)
    with st.expander(f"What it rests on ({len(evidence)})", key=f"evidence {item}"):
        for _, words in evidence:
            st.text(words)
    ids = [item, *(one for one, _ in evidence)]
    if seat.decides and _decided(seat, ids):
        with st.expander("What was decided", key=f"decided {item}"):
            _show_decided(seat, ids)
