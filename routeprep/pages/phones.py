"""Phones: which may send to this job, a code for a new one, and what has come from them.

In go a seat and what the superintendent presses, out come ``device`` entries.
"""

import datetime as dt
from collections import Counter
from functools import partial
from typing import NamedTuple
from urllib.parse import urlsplit

import streamlit as st

from routeprep.access import CREW, SUPERINTENDENT
from routeprep.desk import Act
from routeprep.field import OFFERS, new_token, pairing_address, qr_code
from routeprep.pages.session import Seat, act, plain

__all__ = ["show"]

_OFFERED, _NAME, _ROLE, _ORIGIN = "offered", "phone name", "phone role", "phone origin"
_SAFE = ("localhost", "127.0.0.1")


class _Offered(NamedTuple):
    """A code that waits for a phone."""

    job: str
    name: str
    code: str
    origin: str


def _offer(seat: Seat) -> None:
    """Make a token for a phone and a code to fetch it with."""
    name = " ".join(str(st.session_state[_NAME]).split())
    made = new_token(
        name=name,
        role=str(st.session_state[_ROLE]),
        by=seat.person.name,
        now=dt.datetime.now(dt.UTC),
    )
    seat.desk.write(seat.look, seat.person, [Act("device", made.thing, made.body)])
    origin = str(st.session_state[_ORIGIN]).strip()
    st.session_state[_OFFERED] = _Offered(seat.desk.job, name, OFFERS.offer(made.token), origin)


def _take_back(seat: Seat, thing: str) -> None:
    """Let a phone send nothing more."""
    seat.desk.write(seat.look, seat.person, [Act("device", thing, None)])


def _own_origin() -> str:
    """Where this page is reached."""
    parts = urlsplit(st.context.url or "")
    return f"{parts.scheme}://{parts.netloc}" if parts.netloc else ""


def _show_offered(job: str) -> None:
    """The code that waits, as text and as a picture."""
    offered: _Offered | None = st.session_state.get(_OFFERED)
    if offered is None or offered.job != job:
        return
    st.subheader(f"For {plain(offered.name)}: {offered.code[:4]} {offered.code[4:]}")
    st.write(
        f"Open {plain(offered.origin)}/field/drive/ on the phone and type this code, or point its "
        "camera here. It works once, within ten minutes."
    )
    address = pairing_address(offered.origin, offered.code)
    st.image(qr_code(address), caption="The same code as a picture", width=280)
    parts = urlsplit(offered.origin)
    if parts.scheme != "https" and parts.hostname not in _SAFE:
        st.warning(
            "A phone gives its position to a page by https only. README.md says how to make a "
            "certificate for a laptop in the truck."
        )


def _show_new(seat: Seat) -> None:
    """What is asked to pair a phone."""
    st.subheader("A new phone")
    st.text_input("Who holds it", key=_NAME, max_chars=100)
    st.selectbox("As", [CREW, SUPERINTENDENT], key=_ROLE)
    st.text_input(
        "Where the phone reaches this machine", _own_origin(), key=_ORIGIN,
        help="As https://truck.local:8501",
    )  # fmt: skip
    named = bool(str(st.session_state.get(_NAME, "")).strip())
    st.button(
        "Make a code",
        key="offer",
        type="primary",
        disabled=not named,
        on_click=partial(act, partial(_offer, seat), "The phone may send once it has the code."),
    )
    _show_offered(seat.desk.job)


def _show_paired(seat: Seat) -> None:
    """Which phones may send."""
    devices = seat.look.current.devices
    st.subheader("Phones that may send" if devices else "No phone may send yet")
    for thing, one in devices.items():
        body = {name: plain(str(value)) for name, value in one.body.items()}
        with st.container(border=True):
            st.write(f"**{body['name']}**, {body['role']}, until {body['until']}, by {body['by']}")
            if seat.decides:
                st.button(
                    "Take it back",
                    key=f"back {thing}",
                    on_click=partial(
                        act,
                        partial(_take_back, seat, thing),
                        "It sends nothing more; what it has recorded stays on it.",
                    ),
                )


def _show_came(seat: Seat) -> None:
    """How much has come, by drive."""
    drives = [one for one in seat.look.current.recorded if one.kind == "drive"]
    st.subheader("What has come" if drives else "Nothing has come yet")
    fixes: Counter[str] = Counter()
    marks: Counter[str] = Counter()
    for one in seat.look.current.recorded:
        of_drive = str(one.body.get("drive_id", ""))
        if one.kind == "fixes":
            points = one.body["fixes"]
            fixes[of_drive] += len(points) if isinstance(points, list) else 0
        marks[of_drive] += one.kind == "mark"
    rows = [
        {
            "": "walk" if one.body["walk"] else "drive",
            "What it is called": str(one.body["name"]),
            "Who": str(one.body["by"]),
            "Fixes": fixes[one.thing],
            "Marks": marks[one.thing],
        }
        for one in drives
    ]
    if rows:
        st.dataframe(rows, hide_index=True, width="stretch", alt="Drives that came from phones")


def show(seat: Seat) -> None:
    """Show the page.

    Parameters
    ----------
    seat
        Who sits at which job.
    """
    st.title("Phones")
    st.write("A phone records drives and walks, and keeps the crew's list, with no signal too.")
    if seat.decides:
        _show_new(seat)
    else:
        st.write("The superintendent pairs phones.")
    _show_paired(seat)
    _show_came(seat)
