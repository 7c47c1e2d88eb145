"""What waits for a person: things in the order they need one, kinds, marks to sort, disputes.

In go a seat and its pack, out come decisions, one tap each.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from functools import partial
from typing import Any

import streamlit as st

from routeprep.deciding import NOTHING
from routeprep.desk import Act
from routeprep.pages.session import Seat, act, plain
from routeprep.remarks import EditedTwice
from routeprep.shapes import Pack
from routeprep.tables import rows_of

__all__ = ["first_of", "show_kinds", "show_twice", "show_unsorted", "waiting"]

_UNSORTED, _AS = "which unsorted", "unsorted as"


def waiting(
    pack: Pack, listed: Mapping[str, Mapping[str, Any]]
) -> tuple[dict[str, int], list[str]]:
    """How much of what waits, and the things that need a person: doubts first, then in order.

    Parameters
    ----------
    pack
        The job as it stands.
    listed
        Its rows as they are worded, by anchor.
    """
    undecided = dict.fromkeys(item for item, row in listed.items() if not row["decided_by"])
    doubtful = dict.fromkeys(item for item, row in listed.items() if row["doubt"])
    twice = len(pack.remarks.edited_twice)
    counts = {
        "edited twice": twice,
        "to sort": len(pack.unsorted),
        "not decided": len(undecided),
        "in doubt": len(doubtful),
    }
    queue = [item for item in undecided if item in doubtful]
    queue += [item for item in undecided if item not in doubtful]
    queue += [item for item in doubtful if item not in undecided]
    return {what: count for what, count in counts.items() if count}, queue


def first_of(queue: Sequence[str], chosen: str) -> str:
    """The thing that comes after the chosen one; empty for none.

    Parameters
    ----------
    queue
        As ``waiting`` gives it.
    chosen
        What is chosen now.
    """
    if chosen in queue:
        at = queue.index(chosen)
        return (*queue[at + 1 :], *queue[:at], "")[0]
    return (*queue, "")[0]


# --- all of a kind -------------------------------------------------------------------------------


def _proposals(pack: Pack) -> dict[str, Counter[str]]:
    """Kinds of things that nobody decided, with what is proposed and how often."""
    found: dict[str, Counter[str]] = {}
    for row in rows_of(pack.obstructions):
        if not row["decided_by"]:
            found.setdefault(str(row["kind"]), Counter())[str(row["proposed"])] += 1
    return found


def show_kinds(seat: Seat, pack: Pack) -> None:
    """Accept what is proposed for all things of a kind, one tap each.

    Parameters
    ----------
    seat, pack
        Who sits at which job, and how it stands.
    """
    found = _proposals(pack)
    if not found or not seat.decides:
        return
    st.subheader("Decide all of a kind")
    st.write("By your name, as proposed; a thing that may be of another kind stays open.")
    for code, proposed in found.items():
        name = pack.settings.kinds.kinds[code].name
        said = ", ".join(f"{count} {action}" for action, count in proposed.items())
        decided = [(f"kind:{code}", "action", "as proposed")]
        st.button(
            plain(f"{name}: {said}"),
            key=f"kind {code}",
            on_click=partial(
                act,
                partial(seat.desk.decide, seat.look, seat.person, decided),
                f"Decided for every {name}.",
            ),
        )


# --- marks to sort -------------------------------------------------------------------------------


def _sort(seat: Seat, mark_id: str) -> None:
    """Say what a mark is."""
    said = str(st.session_state[_AS])
    seat.desk.decide(seat.look, seat.person, [(mark_id, "kind", said)])


def show_unsorted(seat: Seat, pack: Pack) -> None:
    """Marks whose words were not understood, one after the other.

    Parameters
    ----------
    seat, pack
        Who sits at which job, and how it stands.
    """
    items = rows_of(pack.unsorted)
    if not items:
        return
    st.subheader(f"Sort before issue ({len(items)})")
    by_id = {str(one["mark_id"]): one for one in items}
    mark_id = st.selectbox(
        "Which mark", list(by_id), key=_UNSORTED,
        format_func=lambda one: str(by_id[one]["words"]) or "(no words)",
    )  # fmt: skip
    one = by_id[str(mark_id)]
    st.text(f"{one['words'] or '(no words)'}\n{one['why']}\nfrom {one['source']}")
    if not seat.decides:
        return
    names = [NOTHING, *(kind.name for kind in pack.settings.kinds.kinds.values())]
    like = str(one["looks_like"])
    st.selectbox(
        "It is", names, names.index(like) if like in names else 0, key=_AS,
        format_func=lambda name: "no thing at all" if name == NOTHING else name,
    )  # fmt: skip
    st.button(
        "Sort it",
        key="sort",
        on_click=partial(act, partial(_sort, seat, str(mark_id)), "Sorted."),
    )


# --- edited twice --------------------------------------------------------------------------------


def _settle(seat: Seat, kind: str, thing: str, entry_id: str) -> None:
    """Say again what one of several entries said; all of them have been seen."""
    entry = next(one for one in seat.look.entries if one.entry_id == entry_id)
    body = None if entry.removed else dict(entry.body)
    if body is not None and kind == "decision":
        body |= {"by": seat.person.name, "when": seat.desk.when(seat.look)}
    seat.desk.write(seat.look, seat.person, [Act(kind, thing, body)])


def _show_one(seat: Seat, one: EditedTwice) -> None:
    """One dispute, and a button for each value."""
    entries = {entry.entry_id: entry for entry in seat.look.entries}
    st.write(plain(" ".join(filter(None, (one.kind, one.subject, one.field)))))
    for entry_id, value in zip(one.entry_ids, one.values, strict=False):
        entry = entries.get(entry_id)
        st.text(value)
        if seat.decides and entry is not None and entry.kind != "number":
            st.button(
                "This holds",
                key=f"holds {entry_id}",
                on_click=partial(
                    act, partial(_settle, seat, entry.kind, entry.thing, entry_id), "Settled."
                ),
            )


def show_twice(seat: Seat, pack: Pack) -> None:
    """What two persons changed, neither knowing of the other: nothing is chosen in silence.

    Parameters
    ----------
    seat, pack
        Who sits at which job, and how it stands.
    """
    several = pack.remarks.edited_twice
    if not several:
        return
    st.subheader(f"Edited twice ({len(several)})")
    for one in several:
        with st.container(border=True):
            _show_one(seat, one)
