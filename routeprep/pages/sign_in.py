"""Who is there: on one machine a name, where people sign in a passphrase or an account.

In goes the office's file, out comes a ``Person``, or None while the page asks.  It is asked again
at each showing, so that who was taken out of the file is out at once.
"""

import streamlit as st
from streamlit.errors import StreamlitAuthError

from routeprep.access import Person
from routeprep.admission import Doorkeeper
from routeprep.officefile import Office, office_path, read_office
from routeprep.pages.known import forget, keep_member, keep_name, known, on_this_machine
from routeprep.pages.session import plain

__all__ = ["TITLE", "leave", "who"]

# Over the first page, and in the name of the browser's window.
TITLE = "Before the drum comes"


@st.cache_resource(show_spinner=False)
def _doorkeeper() -> Doorkeeper:
    """One for all who come."""
    return Doorkeeper()


def _ask_name() -> None:
    """The name of who sits at this machine: the superintendent."""
    if not on_this_machine():
        st.title(TITLE)
        st.error(
            "This page can be reached from other machines, and nobody is named who may sign in. "
            "Add each person with *routeprep person*, then start it again with *routeprep app*."
        )
        return
    st.title(TITLE)
    with st.form("who"):
        asked = st.text_input("Your name, as it is to stand beside what you decide", max_chars=100)
        if st.form_submit_button("Go on", type="primary") and asked.strip():
            keep_name(asked.strip())
            st.rerun()


def _ask_passphrase(office: Office) -> None:
    """A name and a passphrase."""
    with st.form("sign in", clear_on_submit=False):
        name = st.text_input("Name", key="member name")
        passphrase = st.text_input("Passphrase", type="password", key="passphrase")
        if not st.form_submit_button("Sign in", type="primary"):
            return
    if _doorkeeper().busy():
        st.error("Too many wrong passphrases just now; wait a minute.")
        return
    person = _doorkeeper().admit(office, name, passphrase)
    if person is None:
        st.error("Name and passphrase do not go together.")
        return
    keep_member(person.name)
    st.rerun()


def _log_in() -> None:
    """Go to the account's own page."""
    try:
        st.login()
    except StreamlitAuthError:
        st.session_state["no accounts"] = True


def _ask(office: Office) -> None:
    """Ask who is there."""
    st.title(TITLE)
    if any(one.argon2 for one in office.members):
        _ask_passphrase(office)
    if any(one.mail for one in office.members):
        if st.user.get("is_logged_in", False):
            mail = plain(str(st.user.get("email", "")))
            st.error(f"{mail} is not among those who may sign in here.")
            st.button("Sign out", on_click=leave)
        st.button("Sign in with your account", on_click=_log_in)
        if st.session_state.pop("no accounts", False):
            st.error("No account service is set up; README.md says how, under *Sharing the pages*.")
    st.write(f"Who may sign in stands in {plain(office_path().name)} on the office's machine.")


def leave() -> None:
    """Sign out."""
    forget()
    if st.user.get("is_logged_in", False):
        st.logout()


def who() -> Person | None:
    """The person before the page; None while it asks who that is.

    Raises
    ------
    ReadError
        If the office's file is not understood: nobody is let in.
    """
    person = known()
    if person is None:
        office = read_office()
        if office.members:
            _ask(office)
        else:
            _ask_name()
    return person
