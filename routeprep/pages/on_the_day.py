"""On the day: what somebody looks at again before the drum comes, one tap each.

In go a seat and what the person taps, out come ``check`` entries.
"""

from collections.abc import Sequence
from functools import partial

import streamlit as st

from routeprep.daychecks import Checked, DayChecks, LegChecks, day_checks, foot_line, words_of
from routeprep.errors import JobError
from routeprep.listing import Row, rows_by_leg
from routeprep.pages.session import Seat, act, plain
from routeprep.remarks import CHECKS
from routeprep.shapes import Leg
from routeprep.stationing import label

__all__ = ["show"]

_SAME, _CHANGED, _NOT_LOOKED_AT = CHECKS
_BUTTONS = {_SAME: "Same", _CHANGED: "Changed", _NOT_LOOKED_AT: "Not looked at"}
# What changes most between the survey and the day, put into the box in one tap.
_OF_THING = ("not there any more", "covered or paved over", "moved", "paint is gone",
             "parked car on it")  # fmt: skip
_OF_LIMIT = ("limit moved up-station", "limit moved down-station", "paint is gone")
_OF_STREET = ("new patch", "new cut", "parked cars", "paint is gone", "paint still there")
_OPEN, _LEG, _LEFT, _PAGE = "day open", "day leg", "day left", "day page"
_A_PAGE = 20
_MOST_CHARACTERS = 2_000


def _tap(seat: Seat, subject: str, says: str) -> None:
    """Keep what was found; of a change the words are asked for next."""
    seat.desk.check(seat.look, seat.person, subject=subject, says=says, text="")
    st.session_state[_OPEN] = subject if says == _CHANGED else ""


def _add_word(subject: str, word: str) -> None:
    """Put a usual change into the box, behind what stands there."""
    key = f"words {subject}"
    had = str(st.session_state.get(key, "")).strip()
    st.session_state[key] = f"{had}; {word}" if had else word


def _tell_change(seat: Seat, subject: str) -> None:
    """Keep what has changed, in words.

    Raises
    ------
    JobError
        If there are no words.
    """
    text = str(st.session_state.get(f"words {subject}", "")).strip()
    if not text:
        msg = f"{subject}: no word of what has changed; choose or type what you saw"
        raise JobError(msg, subject=subject)
    seat.desk.check(seat.look, seat.person, subject=subject, says=_CHANGED, text=text)
    st.session_state[_OPEN] = ""


def _show_one(seat: Seat, checked: Checked, lines: Sequence[str], usual: Sequence[str]) -> None:
    """One subject: what it is, what was found, three buttons."""
    subject = checked.subject
    with st.container(border=True):
        for line in lines:
            st.text(line)
        found = checked.says if checked.looked_at else _NOT_LOOKED_AT
        st.write(f"**{plain(found.upper())}**")
        if checked.said or checked.aside:
            st.text(words_of(checked))
        with st.container(horizontal=True):
            for says in CHECKS:
                st.button(
                    _BUTTONS[says],
                    key=f"{says} {subject}",
                    type="primary" if checked.said and says == found else "secondary",
                    on_click=partial(
                        act,
                        partial(_tap, seat, subject, says),
                        f"{checked.name}: {says}.",
                    ),
                )
        if st.session_state.get(_OPEN) == subject:
            st.text("What has changed?")
            with st.container(horizontal=True):
                for word in usual:
                    st.button(
                        word, key=f"usual {word} {subject}",
                        on_click=partial(_add_word, subject, word),
                    )  # fmt: skip
            st.text_input("In your words", key=f"words {subject}", max_chars=_MOST_CHARACTERS)
            st.button(
                "Keep what changed",
                key=f"tell {subject}",
                type="primary",
                on_click=partial(
                    act, partial(_tell_change, seat, subject), f"{checked.name}: changed, in words."
                ),
            )


def _show_missed(day: DayChecks) -> None:
    """What nobody has looked at on the day, in plain sight."""
    for name, every in (("things", day.things), ("limits", day.limits), ("streets", day.streets)):
        missed = [one.name for one in every if not one.looked_at]
        if missed:
            st.text(f"NOT LOOKED AT, {len(missed)} of {len(every)} {name}: {', '.join(missed)}")


def _of_day(seat: Seat, leg: Leg, checks: LegChecks, rows: Sequence[Row]) -> None:
    """One street: the street, its limits, then its things in station order."""
    left = st.toggle("Only what nobody has looked at", key=_LEFT)

    def wanted(one: Checked) -> bool:
        return not left or not one.looked_at or st.session_state.get(_OPEN) == one.subject

    by_anchor = {str(row["anchor_id"]): row for row in rows}
    every: list[tuple[Checked, list[str], Sequence[str]]] = [
        (checks.street, [f"The street {leg.settings.name}: patches, cuts, paint, parked cars"],
         _OF_STREET),
        (checks.begin, [f"The cut begins at {label(leg.stationing, leg.from_m)}"], _OF_LIMIT),
        (checks.end, [f"The cut ends at {label(leg.stationing, leg.to_m)}"], _OF_LIMIT),
    ]  # fmt: skip
    for one in checks.things:
        row = by_anchor[one.subject]
        where = ", ".join(part for part in (row["where_text"], row["landmark_text"]) if part)
        head = f"{row['no']}  {row['station_text']} {row['zero_text']}  {row['what_text']}"
        every.append((one, [head, where, f"Do: {row['do_text']}"], _OF_THING))
    shown = [one for one in every if wanted(one[0])]
    pages = max(1, -(-len(shown) // _A_PAGE))
    page = 1
    if pages > 1:
        page = st.selectbox("Page", range(1, pages + 1), key=_PAGE,
                            format_func=lambda one: f"{one} of {pages}")  # fmt: skip
    for checked, lines, usual in shown[(page - 1) * _A_PAGE : page * _A_PAGE]:
        _show_one(seat, checked, lines, usual)
    if not shown:
        st.text("Somebody has looked at all of this street.")


def show(seat: Seat) -> None:
    """Show the page.

    Parameters
    ----------
    seat
        Who sits at which job.
    """
    st.title("On the day")
    st.write("Look at each place again before the drum comes: *same*, *changed* or *not looked "
             "at*. It prints on every page.")  # fmt: skip
    pack = seat.pack()
    day, listed = day_checks(pack), rows_by_leg(pack)
    st.text(f"{foot_line(pack)}.")
    st.text(f"Counted from the day of the shift, {pack.settings.date:%Y-%m-%d}, on.")
    with st.expander("What nobody has looked at"):
        _show_missed(day)
    codes = [leg.code for leg in day.legs]
    code = st.selectbox("Street", codes, key=_LEG)
    leg = next(one for one in pack.legs if one.settings.code == code)
    checks = next(one for one in day.legs if one.code == code)
    _of_day(seat, leg, checks, listed[code])
    if day.astray:
        st.subheader("Said of what is not on this list any more")
        for one in day.astray:
            st.text(words_of(one))
