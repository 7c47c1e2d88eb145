"""Review: the traffic control lead comments, accepts and asks for changes, per thing and whole.

In go a seat and what the reviewer presses, out come ``review`` entries.
"""

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import NamedTuple

import streamlit as st

from routeprep.access import SUPERINTENDENT, TRAFFIC_LEAD
from routeprep.errors import JobError
from routeprep.linewords import sight_rows
from routeprep.listing import Row, distance_text, rows_by_leg
from routeprep.pages.session import Seat, act, paged, plain
from routeprep.remarks import REVIEWS, WHOLE
from routeprep.reviewing import Reviewed, ReviewLine, accepted_texts, reviewed, words_of
from routeprep.shapes import Leg, Pack
from routeprep.stationing import label

__all__ = ["show"]

_COMMENT, _ACCEPT, _ASK = REVIEWS
_BUTTONS = {_COMMENT: "Comment", _ACCEPT: "Accept", _ASK: "Ask for change"}
_SAID = {
    _COMMENT: "Your comment is kept.",
    _ACCEPT: "Accepted, with your name.",
    _ASK: "Your ask is kept; the list stays a draft until you accept.",
}
_MAY = (SUPERINTENDENT, TRAFFIC_LEAD)
# So many things on one showing: what is drawn of a thing takes time.
_A_PAGE = 20
_MOST_CHARACTERS = 10_000
_LEG, _WHICH, _WORDS, _PAGE = "review leg", "review which", "review words", "review page"
_EVERY_LEG = "every leg"
# Which things are shown, by what the filter is called.
_Picks = Mapping[str, Callable[[Row, Sequence[ReviewLine]], bool]]
_PICKS: _Picks = {
    "all things": lambda _row, _said: True,
    "doubted": lambda row, _said: bool(row["doubt"]),
    "not decided": lambda row, _said: not row["decided_by"],
    "change asked for": lambda _row, said: any(one.says == _ASK and one.stands for one in said),
    "nothing said yet": lambda _row, said: not said,
}


# Groups of kinds that change what traffic meets.
_FOR_TRAFFIC = frozenset({"traffic and access", "overhead"})


class _Place(NamedTuple):
    """Something along a street that traffic meets, for the table."""

    along_m: float
    station: str
    what: str


def _say(seat: Seat, subject: str, says: str) -> None:
    """Keep what the reviewer says, and empty the box for the next.

    Raises
    ------
    JobError
        If a comment or an ask has no words.
    """
    key = f"text {subject}"
    text = str(st.session_state.get(key, "")).strip()
    if says != _ACCEPT and not text:
        msg = f"nothing stands in the box for {says!r}; write what you mean, then press again"
        raise JobError(msg, subject=subject)
    seat.desk.review(seat.look, seat.person, subject=subject, says=says, text=text)
    st.session_state[key] = ""


def _show_box(seat: Seat, subject: str, name: str) -> None:
    """Where the reviewer says something of one subject."""
    if seat.person.role not in _MAY:
        return
    st.text_area(
        f"What you say of {plain(name)}", key=f"text {subject}", max_chars=_MOST_CHARACTERS
    )
    with st.container(horizontal=True):
        for says in REVIEWS:
            st.button(
                _BUTTONS[says],
                key=f"{says} {subject}",
                on_click=partial(act, partial(_say, seat, subject, says), _SAID[says]),
            )


def _show_said(said: Sequence[ReviewLine]) -> None:
    """What was said so far; what is open first in its words."""
    for one in said:
        state = "OPEN: " if one.says == _ASK and one.stands else ""
        earlier = "" if one.of_this_list else "NOT THIS LIST: "
        st.text(f"{state}{earlier}{words_of(one)}")


def _show_whole(seat: Seat, found: Reviewed) -> None:
    """The whole list: who accepted it, what is asked still, and what one says of it."""
    st.subheader("The whole list")
    for text in accepted_texts(found):
        st.text(text)
    for one in found.asked:
        st.text(f"Open: {one.no or 'not on this list'}: {words_of(one)}")
    _show_said(found.whole)
    _show_box(seat, WHOLE, "the whole list")


def _places(pack: Pack, leg: Leg, rows: Sequence[Row]) -> list[_Place]:
    """Limits, streets and what the list says of traffic, in station order."""
    units, kinds = leg.stationing, pack.settings.kinds.kinds
    places = [
        _Place(leg.from_m, label(units, leg.from_m), "the cut begins"),
        _Place(leg.to_m, label(units, leg.to_m), "the cut ends"),
    ]
    sides = {"L": "side street on the left", "R": "side street on the right"}
    for one in leg.landmarks:
        where = sides.get(one.side, "crosses, or its side is not known")
        places.append(
            _Place(one.along_m, label(units, one.along_m, decimals=0), f"{one.name}: {where}")
        )
    for row in rows:
        kind = kinds.get(str(row["kind"]))
        if kind is not None and kind.group in _FOR_TRAFFIC:
            parts = (row["what_text"], row["where_text"], row["size"], row["note"])
            said = ", ".join(str(part) for part in parts if part)
            places.append(_Place(float(row["along_m"]), str(row["station_text"]),
                                 f"{row['no']}: {said}"))  # fmt: skip
    return sorted(places)


def _show_leg_facts(pack: Pack, leg: Leg, rows: Sequence[Row]) -> None:
    """What traffic meets along one street."""
    said = leg.settings
    units = pack.settings.units
    length = distance_text(leg.to_m - leg.from_m, units=units)
    wide = distance_text(said.lane_width_m, units=units, step=1.0)
    st.text(
        f"{said.code} {said.name}: {length} of cut; lanes left {said.lanes_left}, right "
        f"{said.lanes_right}, {wide} each"
    )
    table = [
        {"Station": one.station, "What traffic meets": one.what} for one in _places(pack, leg, rows)
    ]
    st.dataframe(table, hide_index=True, width="stretch", alt=f"What traffic meets on {said.code}")
    for stretch, way, seen, needed, hides in sight_rows(leg, units=units):
        st.text(f"Sight, {stretch}, {way}: sees {seen}, needs {needed} to stop; {hides}")


def _show_facts(pack: Pack, listed: Mapping[str, list[Row]]) -> None:
    """What the lead looks at beside the list: limits, streets, sight, truck room, doubts."""
    with st.expander("Limits, cross streets, side streets, trucks and sight"):
        for leg in pack.legs:
            _show_leg_facts(pack, leg, listed.get(leg.settings.code, []))
        if pack.settings.machines:
            st.text("Cars beside the drum, truck room and hand work stand pass by pass in the run "
                    "sheets of the pack.")  # fmt: skip
        for flag in pack.plan.flags:
            st.text(f"Plan of work: {flag}")
        if "truck" not in " ".join(pack.plan.flags).casefold():
            st.text("ROOM FOR TRUCKS beyond the list is not measured by this survey: look.")
        st.text("People on foot, driveways and parked cars are known only where somebody marked "
                "them.")  # fmt: skip
        for one in pack.findings:
            if one.level != "note":
                st.text(f"{one.level}: {one.where}: {one.text}")


def _chosen(listed: Mapping[str, list[Row]], said: Mapping[str, Sequence[ReviewLine]]) -> list[Row]:
    """The things that the filters leave, by leg, in station order."""
    with st.container(horizontal=True):
        code = st.selectbox("Street", [_EVERY_LEG, *listed], key=_LEG)
        which = st.selectbox("Show", list(_PICKS), key=_WHICH)
        words = st.text_input("With these words or this number", key=_WORDS)
    wanted = words.casefold().split()

    def fits(row: Row) -> bool:
        names = ("no", "what_text", "where_text", "do_text", "doubt", "note")
        text = " ".join(str(row[name]) for name in names).casefold()
        picked = _PICKS[which](row, said.get(str(row["anchor_id"]), ()))
        return picked and all(one in text for one in wanted)

    return [row for of, rows in listed.items() if code in (_EVERY_LEG, of)
            for row in rows if fits(row)]  # fmt: skip


def _show_thing(seat: Seat, row: Row, said: Sequence[ReviewLine]) -> None:
    """One thing: what the sheet says of it, what was said of it, and what one says."""
    state = ""
    if said:
        waits = any(one.says == _ASK and one.stands for one in said)
        state = " · CHANGE ASKED FOR" if waits else f" · {said[-1].says}"
    name = f"{row['no']} · {row['station_text']} {row['zero_text']} · {row['what_text']}"
    # A note of any length and with any signs is no part of the title.
    with st.expander(plain(f"{name[:120]}{state}")):
        lines = (
            row["where_text"],
            f"Do: {row['do_text']}",
            f"Status: {row['status']}",
            f"Doubt: {row['doubt']}" if row["doubt"] else "",
            f"Note: {row['note']}" if row["note"] else "",
            row["landmark_text"],
        )
        for line in filter(None, lines):
            st.text(str(line))
        _show_said(said)
        _show_box(seat, str(row["anchor_id"]), str(row["no"]))


def show(seat: Seat) -> None:
    """Show the page.

    Parameters
    ----------
    seat
        Who sits at which job.
    """
    st.title("Review")
    st.write("The traffic control lead accepts the list, or asks for changes; it stands in the "
             "pack.")  # fmt: skip
    if seat.person.role not in _MAY:
        st.write("The traffic lead and the superintendent review.")
    pack = seat.pack()
    listed, found = rows_by_leg(pack), reviewed(pack)
    said: dict[str, list[ReviewLine]] = {}
    for one in found.things:
        said.setdefault(one.subject, []).append(one)
    _show_facts(pack, listed)
    _show_whole(seat, found)
    st.subheader("Thing by thing")
    for row in paged(_chosen(listed, said), "things, by street and station", _PAGE, most=_A_PAGE):
        _show_thing(seat, row, said.get(str(row["anchor_id"]), ()))
    if found.astray:
        st.subheader("Said of what is not on this list any more")
        _show_said(found.astray)
