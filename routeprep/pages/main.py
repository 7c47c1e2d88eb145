"""The pages: who is there, which job, and what they can look at.

Streamlit runs this file as a script; imported, it does nothing.
"""

from collections.abc import Callable
from functools import partial

import streamlit as st

from routeprep.errors import RouteprepError
from routeprep.pages import (
    add_files,
    choosing,
    histories,
    issuing,
    job_form,
    on_the_day,
    phones,
    reviewing_page,
    sign_in,
    things,
)
from routeprep.pages.known import shown_to
from routeprep.pages.session import Seat, plain, seat_of, show_told

__all__ = ["main"]

# The library prints white on every accent; on the one of the night that can hardly be read.
_STYLE = """<style>
[data-testid^="stBaseButton-primary"] { color: light-dark(#ffffff, #0b0b0b); }
</style>"""

# What is shown of a job, in the order of the work: title, part of the address, what shows it.
_OF_JOB: tuple[tuple[str, str, Callable[[Seat], None]], ...] = (
    ("The job", "job", job_form.show),
    ("Files", "files", add_files.show),
    ("In the road", "road", things.show),
    ("Review", "review", reviewing_page.show),
    ("On the day", "day", on_the_day.show),
    ("Issue", "issue", issuing.show),
    ("History", "history", histories.show),
    ("Phones", "phones", phones.show),
)


def _shown(show: Callable[[], None]) -> None:
    """Show a page; what cannot be used is one sentence."""
    show_told()
    try:
        show()
    except RouteprepError as error:
        st.error(plain(str(error)))


def main() -> None:
    """Show the page that was asked for."""
    st.set_page_config(page_title=f"{sign_in.TITLE} · routeprep", page_icon="🛣️", layout="wide")
    st.html(_STYLE)
    try:
        person = sign_in.who()
    except RouteprepError as error:
        st.error(plain(str(error)))
        return
    if person is None:
        return
    shown_to(person)
    jobs = partial(_shown, partial(choosing.show, person))
    pages = [st.Page(jobs, title="Jobs", url_path="jobs", default=True)]
    job = choosing.chosen()
    if job:
        seat = seat_of(person, job)
        pages += [
            st.Page(partial(_shown, partial(show, seat)), title=title, url_path=path)
            for title, path, show in _OF_JOB
        ]
    st.navigation(pages, position="top").run()


if __name__ == "__main__":
    main()
