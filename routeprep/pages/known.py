"""Who is known to be before a page, as the office's file has it at this moment.

In goes what somebody said or showed on this page before, out comes a ``Person``, or None.
"""

import ipaddress

import streamlit as st

from routeprep.access import SUPERINTENDENT, Person
from routeprep.admission import by_mail
from routeprep.errors import AccessError
from routeprep.officefile import read_office

__all__ = [
    "check_same",
    "forget",
    "keep_member",
    "keep_name",
    "known",
    "on_this_machine",
    "shown_to",
]

# Under what is kept: who sits here, who has signed in, and for whom the page was shown.
_NAME, _MEMBER, _SHOWN_TO = "own name", "member", "shown to"
# What a proxy tells of whom it asks for.
_PASSED_ON = ("X-Forwarded-For", "Forwarded", "X-Real-Ip")


def on_this_machine() -> bool:
    """Whether only who sits at this machine can see the page."""
    address = str(st.get_option("server.address") or "")
    try:
        loopback = address == "localhost" or ipaddress.ip_address(address).is_loopback
    except ValueError:
        loopback = False
    return loopback and not any(name in st.context.headers for name in _PASSED_ON)


def keep_name(name: str) -> None:
    """Keep the name of who sits at this machine."""
    st.session_state[_NAME] = name


def keep_member(name: str) -> None:
    """Keep who of the office's file has signed in."""
    st.session_state[_MEMBER] = name


def forget() -> None:
    """Know nobody any more."""
    for key in (_NAME, _MEMBER):
        st.session_state.pop(key, None)


def known() -> Person | None:
    """Who has said or shown who they are and may still be here; None for nobody.

    Raises
    ------
    ReadError
        If the office's file is not understood: nobody is let in.
    """
    office = read_office()
    if not office.members:
        name = str(st.session_state.get(_NAME, ""))
        return Person(name=name, role=SUPERINTENDENT) if name and on_this_machine() else None
    name = st.session_state.get(_MEMBER, "")
    for one in office.members:
        if name and one.name == name and one.argon2:
            return Person(name=one.name, role=one.role)
    if not st.user.get("is_logged_in", False) or st.user.get("email_verified") is False:
        return None
    return by_mail(office, str(st.user.get("email", "")))


def shown_to(person: Person) -> None:
    """Remember for whom the page is shown: its buttons are pressed by nobody else."""
    st.session_state[_SHOWN_TO] = person


def check_same() -> None:
    """Refuse what is pressed on a page that was shown to somebody else, or in another role.

    Raises
    ------
    AccessError
        If so: since then somebody signed out, was taken out, or was given another role.
    """
    before, now = st.session_state.get(_SHOWN_TO), known()
    if now != before:
        since = f"{now.name} ({now.role})" if now else "nobody"
        msg = (
            f"nothing was done: since this page was shown, who is signed in has become {since}; "
            "look again, then press"
        )
        raise AccessError(msg)
