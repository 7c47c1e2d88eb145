"""In the road: map and list side by side, and beside them what can be done about the chosen thing.

In go a seat and what somebody taps, out come decisions, marks and what is taken back.
"""

import uuid
from collections.abc import Mapping
from functools import partial
from typing import Any

import streamlit as st

from routeprep.current import decision_thing
from routeprep.desk import Act
from routeprep.entries import BODIES
from routeprep.errors import JobError
from routeprep.listing import rows
from routeprep.maps.payload import payload
from routeprep.pages.road_map import Asked, Placed, placed_on, road_map, said_on
from routeprep.pages.session import Seat, act, plain
from routeprep.pages.thing_form import show_thing
from routeprep.pages.things_waiting import first_of, show_kinds, show_twice, show_unsorted, waiting
from routeprep.shapes import Pack
from routeprep.tables import rows_of

__all__ = ["show"]

_MAP, _CHOSEN, _PLACING, _DRAWN = "road map", "chosen thing", "tap is for", "map data"
_WORDS, _FOOT, _NEXT = "new words", "new on foot", "next to look at"
# What a tap on the map is for, in the words of the page.
_TAPS = {"look": "", "move the chosen thing": "move", "add a new mark": "add"}
_AFOOT = ("from the office", "walked")


def _listed(pack: Pack) -> dict[str, dict[str, Any]]:
    """The rows of the list as every output words them, by anchor."""
    return {str(row["anchor_id"]): row for row in rows_of(rows(pack))}


def _anchor(listed: Mapping[str, Mapping[str, Any]], item: str) -> str:
    """The thing that an item belongs to; empty for none."""
    if item in listed:
        return item
    return next((anchor for anchor, row in listed.items() if item in row["mark_ids"]), "")


def _data(seat: Seat) -> tuple[str, Mapping[str, object]]:
    """What the map draws, made once for each state of the job, and that state's name."""
    serial = f"{seat.desk.job} {seat.look.serial}"
    held = st.session_state.get(_DRAWN)
    if held is None or held[0] != serial:
        held = (serial, payload(seat.pack()))
        st.session_state[_DRAWN] = held
    return held


def _on_chosen() -> None:
    """Something was tapped on the map or in its list."""
    st.session_state[_CHOSEN] = said_on(_MAP)


def _moved(seat: Seat, put: Placed) -> None:
    """Put a thing where it was dragged to."""
    where = f"{put.lon_deg:.7f} {put.lat_deg:.7f}"
    seat.desk.decide(seat.look, seat.person, [(put.item, "place", where)])


def _marked(seat: Seat, put: Placed) -> None:
    """Add a mark where the map was tapped.

    Raises
    ------
    JobError
        If nobody said what is there.
    """
    words = " ".join(str(st.session_state.get(_WORDS, "")).split())
    if not words:
        msg = "say first what is there, then tap the map"
        raise JobError(msg)
    mark_id = str(uuid.uuid4())
    on_foot = st.session_state.get(_FOOT) == _AFOOT[1]
    said: dict[str, object] = {
        "mark_id": mark_id,
        "words": words,
        "method": "walked" if on_foot else "vehicle",
        "by": seat.person.name,
        "lon_deg": put.lon_deg,
        "lat_deg": put.lat_deg,
    }
    empty: dict[str, object] = {
        name: "" if str in types else None for name, types in BODIES["mark"].items()
    }
    place = f"{put.lon_deg:.7f} {put.lat_deg:.7f}"
    # The tap says where, whatever a mark without a time is worth.
    where = {
        "anchor_id": mark_id, "field": "place", "value": place, "by": seat.person.name,
        "when": seat.desk.when(seat.look), "why": "",
    }  # fmt: skip
    acts = [
        Act("mark", mark_id, empty | said),
        Act("decision", decision_thing(mark_id, "place", place), where),
    ]
    seat.desk.write(seat.look, seat.person, acts)
    st.session_state[_CHOSEN] = mark_id


def _on_placed(seat: Seat) -> None:
    """The map was tapped, or a thing dragged, for what was picked above it."""
    put = placed_on(_MAP)
    if put is None:
        return
    if _TAPS.get(str(st.session_state.get(_PLACING)), "") == "add":
        act(partial(_marked, seat, put), "Added; its place is the one that you tapped.")
    else:
        act(partial(_moved, seat, put), "Moved; who, when and from where stand with it.")


def _show_taps(seat: Seat) -> str:
    """What a tap on the map is for."""
    if not seat.decides:
        return ""
    said = st.segmented_control(
        "A tap on the map is to", list(_TAPS), default="look", key=_PLACING, required=True
    )
    if said == "add a new mark":
        left, right = st.columns([2, 1])
        left.text_input("What is there, in the words of the trade", key=_WORDS, max_chars=200)
        right.selectbox("Known", _AFOOT, key=_FOOT)
    return _TAPS[str(said)]


def _show_next(seat: Seat, listed: Mapping[str, Mapping[str, Any]]) -> None:
    """What needs a person first, and a button that goes there."""
    counts, queue = waiting(seat.pack(), listed)
    st.write(" · ".join(f"**{count}** {what}" for what, count in counts.items()) or "All decided.")
    following = first_of(queue, str(st.session_state.get(_CHOSEN, "")))
    if following:
        st.button(
            f"Next that needs you: {plain(str(listed[following]['no']))}",
            key=_NEXT,
            type="primary",
            on_click=partial(st.session_state.__setitem__, _CHOSEN, following),
        )


def show(seat: Seat) -> None:
    """Show the page.

    Parameters
    ----------
    seat
        Who sits at which job.
    """
    st.title("In the road")
    st.write(
        "Map and list; what is chosen in one shows in the other. The list says look; paint put "
        "down on foot says where."
    )
    pack = seat.pack()
    listed = _listed(pack)
    serial, job = _data(seat)
    chosen = _anchor(listed, str(st.session_state.get(_CHOSEN, "")))
    left, right = st.columns([5, 3])
    with left:
        # One place, whatever stands in it: else the map below would move and be made anew.
        with st.container():
            placing = _show_taps(seat)
        asked = Asked(serial, job, chosen, placing, pack.settings.tiles)
        road_map(asked, _MAP, on_chosen=_on_chosen, on_placed=partial(_on_placed, seat))
    with right:
        _show_next(seat, listed)
        if chosen in listed:
            show_thing(seat, pack, listed, chosen)
        else:
            st.write("Tap a thing on the map or in its list.")
    show_twice(seat, pack)
    show_unsorted(seat, pack)
    show_kinds(seat, pack)
    if len(pack.elsewhere):
        with st.expander(f"Not on the list ({len(pack.elsewhere)})"):
            st.dataframe(
                pack.elsewhere[["name", "source", "why"]],
                hide_index=True,
                width="stretch",
                alt="What lies elsewhere or is no thing",
            )
