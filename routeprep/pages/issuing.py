"""Issue: the pack as a draft with its reasons, or for good; who got which copy.

In go a seat and what the superintendent presses, out come ``number``, ``issue`` and ``copy``
entries, and packs to take along.
"""

from collections.abc import Callable, Sequence
from functools import partial
from typing import NamedTuple

import streamlit as st

from routeprep.changes import Change, changes
from routeprep.entries import Entry
from routeprep.errors import JobError
from routeprep.packing import zip_bytes
from routeprep.pages.session import Seat, act, plain
from routeprep.remarks import person_of
from routeprep.shapes import Pack

__all__ = ["show"]

_PAPERS = ("letter", "a4", "tabloid")
_HOW = ("printed", "by mail", "on a phone", "on a stick")
_PAPER = "paper"
_TO, _WAY, _OF = "copy to", "copy how", "copy of"
_ZIP = "application/zip"
# Where a reason of a draft is mended, by words of it; the first that fits.
_MENDED = (
    ("not decided", "decide them on the page In the road"),
    ("sort before issue", "sort them on the page In the road"),
    ("on no leg", "see the page In the road, or the limits on the page The job"),
    (
        "edited twice",
        "decide again: on In the road for a thing, else on The job or Files",
    ),
    ("asks for", "answer on the page Review: who asked accepts once it is as wanted"),
)


class _Held(NamedTuple):
    """The newest copy that somebody got."""

    to: str
    revision: str
    how: str


def _mended(reason: str) -> str:
    """Where a reason is mended."""
    return next((where for words, where in _MENDED if words in reason), "see the page The job")


def _hand_over(seat: Seat, revision: str) -> None:
    """Note down who got a copy.

    Raises
    ------
    JobError
        If nobody is named.
    """
    to = " ".join(str(st.session_state.get(_TO, "")).split())
    if not to:
        msg = f"the name of who got the copy is {to!r}; write who"
        raise JobError(msg)
    how = str(st.session_state[_WAY])
    seat.desk.hand_over(seat.look, seat.person, revision=revision, to=to, how=how)
    st.session_state[_TO] = ""


def _show_draft(pack: Pack) -> None:
    """Why it is a draft, and where each reason is mended."""
    st.warning("**DRAFT**: it is not to be worked from, and cannot be issued yet.")
    for reason in pack.draft:
        st.text(f"• {reason}: {_mended(reason)}.")


def _show_slip(pack: Pack, told: Sequence[Change]) -> None:
    """What changed since the list was last issued."""
    if pack.issued is None:
        st.text("First issue: numbers are given now and never change.")
        return
    before, now = pack.issued.revision, pack.settings.revision
    st.subheader(plain(f"Change slip: {now} after {before}"))
    if not told:
        st.text(f"Nothing on the list reads otherwise than on {before}.")
        return
    rows = [
        {"No.": one.no, "Station": one.station, "What": one.name, "What changed": one.text}
        for one in told
    ]
    st.dataframe(rows, hide_index=True, width="stretch", alt="What changed since the last issue")


def _show_now(seat: Seat, pack: Pack) -> None:
    """The pack as it stands: to take along as a draft, or to issue."""
    revision = pack.settings.revision
    st.subheader(plain(f"Revision {revision}: {pack.settings.name}"))
    if pack.draft:
        _show_draft(pack)
    paper = st.selectbox("Paper", _PAPERS, key=_PAPER)
    if pack.draft:
        # A pack that may be issued is taken along once it is: until then no paper looks like it.
        st.download_button(
            "Make the draft and take it along",
            partial(zip_bytes, pack, paper=paper),
            file_name="pack-draft.zip",
            mime=_ZIP,
            help="It takes some seconds. Every page of it says DRAFT.",
        )
    _show_slip(pack, changes(pack))
    if not seat.decides:
        st.text("The superintendent issues and notes who got a copy.")
    elif not pack.draft:
        # What is ticked is this very look: who ticked an earlier one has not read this.
        read = st.checkbox(
            f"I have read the list and what changed. Issue it as revision {plain(revision)}: its "
            "numbers stand for good.",
            key=f"read {seat.look.serial}",
        )
        st.button(
            plain(f"Issue revision {revision}"),
            key="issue",
            type="primary",
            disabled=not read,
            on_click=partial(
                act,
                partial(seat.desk.issue, seat.look, seat.person, paper=str(paper)),
                f"Revision {revision} is issued and kept.",
            ),
        )


def _download(seat: Seat, issue: Entry) -> Callable[[], bytes]:
    """What gives the pack of an issue, byte for byte as it was issued."""
    return partial(seat.desk.store.blob, str(issue.body["pack"]))


def _show_earlier(seat: Seat) -> None:
    """The packs that were issued, newest first."""
    issues = seat.look.current.issues
    st.subheader("Issued so far" if issues else "Nothing was issued yet")
    for one in reversed(issues):
        body = {name: str(value) for name, value in one.body.items()}
        with st.container(border=True):
            st.text(f"Revision {body['revision']}, {body['when']}, by {body['by']}")
            st.text(f"Seal {body['seal'][:12]}")
            st.download_button(
                plain(f"Take revision {body['revision']} along"),
                _download(seat, one),
                file_name=f"pack-{len(issues) - issues[::-1].index(one)}.zip",
                mime=_ZIP,
                key=f"pack {one.entry_id}",
            )


def _newest_held(copies: Sequence[Entry], order: Sequence[str]) -> list[_Held]:
    """The newest issue that each person holds, by the order of issues; not the one noted last."""
    held: dict[str, _Held] = {}
    place = {revision: at for at, revision in enumerate(order)}
    for one in copies:
        got = _Held(str(one.body["to"]), str(one.body["revision"]), str(one.body["how"]))
        before = held.get(person_of(got.to))
        if before is None or place.get(got.revision, -1) >= place.get(before.revision, -1):
            held[person_of(got.to)] = got
    return list(held.values())


def _show_copies(seat: Seat) -> None:
    """Who got which copy, and who still holds an older one."""
    current = seat.look.current
    order = [str(one.body["revision"]) for one in current.issues]
    if not order:
        return
    st.subheader("Who got a copy")
    older = [one for one in _newest_held(current.copies, order) if one.revision != order[-1]]
    if older:
        names = "; ".join(f"{one.to} has {one.revision}, {one.how}" for one in older)
        st.warning(plain(f"These hold an older copy than {order[-1]}: {names}. Collect it."))
    if len(order) > 1:
        st.text(f"Who got {order[-1]} may still carry an older sheet: collect it.")
    rows = [
        {
            "Revision": str(one.body["revision"]),
            "Who": str(one.body["to"]),
            "How": str(one.body["how"]),
            "When": str(one.body["when"]),
            "Handed over by": str(one.body["by"]),
        }
        for one in reversed(current.copies)
    ]
    if rows:
        st.dataframe(rows, hide_index=True, width="stretch", alt="Who got which copy")
    else:
        st.text("Nobody is noted yet.")
    if seat.decides:
        st.text_input("Who got a copy", key=_TO, max_chars=200)
        # After each issue the newest stands there again.
        revision = st.selectbox("Of revision", order[::-1], key=f"{_OF} {len(order)}")
        st.selectbox("How", _HOW, key=_WAY)
        st.button(
            "Note it down",
            key="hand over",
            on_click=partial(act, partial(_hand_over, seat, revision), "Noted."),
        )


def show(seat: Seat) -> None:
    """Show the page.

    Parameters
    ----------
    seat
        Who sits at which job.
    """
    st.title("Issue")
    st.write("Only what is sorted and decided is issued; every pack that was issued is kept.")
    now, before = st.container(), st.container()
    # What was issued is there whatever has happened to the files since.
    with before:
        _show_copies(seat)
        _show_earlier(seat)
    with now:
        _show_now(seat, seat.pack())
