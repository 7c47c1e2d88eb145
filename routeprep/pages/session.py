"""Who sits before the page, at which job, and what they have before them.

In go a person and the name of a stored job, out comes a ``Seat`` that each page is given.  What
somebody does is done by a button's callback with the seat that the button was drawn with, so that
it names what the person saw and not what came since.
"""

import re
from collections.abc import Callable, Sequence
from typing import NamedTuple, TypeVar

import streamlit as st

from routeprep.access import SUPERINTENDENT, Person
from routeprep.desk import Desk, Look
from routeprep.errors import RouteprepError
from routeprep.office import store_url
from routeprep.pages.known import check_same
from routeprep.shapes import Pack
from routeprep.store import Store, open_store

__all__ = ["Seat", "act", "office_store", "paged", "plain", "seat_of", "show_told", "tell"]

_T = TypeVar("_T")
# Where a sentence for the person waits for the next showing of the page.
_TOLD = "told"


class Seat(NamedTuple):
    """A person at a job.

    Attributes
    ----------
    person
        Who acts.
    desk
        The job.
    look
        The job as this showing of the page has it.
    """

    person: Person
    desk: Desk
    look: Look

    @property
    def decides(self) -> bool:
        """Whether the person may change the job; the store asks again for each act."""
        return self.person.role == SUPERINTENDENT

    def pack(self) -> Pack:
        """The pack as the person has it before them; errors as ``Desk.pack``."""
        return self.desk.pack(self.look)


def plain(text: str) -> str:
    """Text that Markdown prints as it was typed, on one line."""
    escaped = re.sub(r"([!-/:-@\[-`{-~])", r"\\\1", text)
    return " ".join(escaped.split())


def paged(items: Sequence[_T], said: str, key: str, *, most: int) -> Sequence[_T]:
    """The items of the page that is asked for; how many there are is told, and pages offered.

    Parameters
    ----------
    items
        All of them.
    said
        What they are and in which order.
    key
        Of the choice of a page.
    most
        Items of a page.
    """
    pages = max(1, -(-len(items) // most))
    st.text(f"{len(items)} {said}")
    if pages == 1:
        return items
    page = st.selectbox(
        "Page", range(1, pages + 1), key=key, format_func=lambda one: f"{one} of {pages}"
    )
    return items[(page - 1) * most : page * most]


@st.cache_resource(show_spinner=False)
def _store(url: str) -> Store:
    """The store of an address, opened once for all who look at the page."""
    return open_store(url)


@st.cache_resource(show_spinner=False)
def _desk(url: str, job: str) -> Desk:
    """A job's desk, shared by all who look at it: what is slow is made once."""
    return Desk(_store(url), job)


def office_store() -> Store:
    """The office's store.

    Raises
    ------
    ReadError
        If it cannot be opened.
    """
    return _store(store_url())


def seat_of(person: Person, job: str) -> Seat:
    """Sit a person down at a job as it is now."""
    desk = _desk(store_url(), job)
    return Seat(person, desk, desk.look())


def tell(text: str, *, bad: bool = False) -> None:
    """Have a sentence shown at the top of the page, the next time that it is shown."""
    st.session_state.setdefault(_TOLD, []).append((text, bad))


def show_told() -> None:
    """Show what waits to be told, once."""
    # Its place is kept when there is nothing to tell: what moves on a page is made anew, and a
    # map would lose what part of the road it shows.
    with st.container():
        for text, bad in st.session_state.pop(_TOLD, ()):
            (st.error if bad else st.success)(plain(text))


def act(what: Callable[[], object], said: str) -> None:
    """Do something in a button's callback; what is refused is told in a sentence.

    Parameters
    ----------
    what
        Does it, with the seat that the button was drawn with.
    said
        What to tell when it is done.
    """
    try:
        check_same()
        what()
    except RouteprepError as error:
        tell(str(error), bad=True)
    else:
        tell(said)
