"""Why a list is a draft; none may be issued while there is a reason."""

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_remarks import remarked, review
from sheets.made_packs import UNDECIDED, pack, thing, unsorted

from routeprep import tables
from routeprep.deciding import NOTHING
from routeprep.readiness import anchors_of, asked, drafted, standing
from routeprep.remarks import REVIEWS, WHOLE

READY = pack([thing("A-1", 20.0), thing("A-2", 30.0)]).obstructions
DONE = unsorted()
MARKS = pd.DataFrame({"said_station": [], "leg": [], "kind": []}, dtype="str")


def reasons(obstructions=READY, sort=DONE, marks=MARKS, **said):
    """Why it is a draft."""
    return drafted(obstructions, sort, marks, **said)


def test_a_list_that_is_sorted_and_decided_may_be_issued():
    """There is no reason."""
    assert reasons() == ()


def test_what_is_not_decided_or_sorted_is_counted():
    """A row without a person is not decided."""
    table = pack([thing("A-1", 20.0, **UNDECIDED), thing("A-2", 30.0)]).obstructions

    assert reasons(table, unsorted("zzz", "qqq")) == (
        "1 of 2 things are not decided",
        "2 marks wait under sort before issue",
    )


def test_a_thing_at_a_station_on_no_leg_keeps_it_a_draft():
    """Not what is on a leg, said no station, or stands for nothing."""
    marks = pd.DataFrame(
        [("12+00", "", "SMH"), ("12+00", "A", "SMH"), ("", "", "SMH"), ("12+00", "", NOTHING),
         ("12+00", "", "")],
        columns=["said_station", "leg", "kind"], dtype="str",
    )  # fmt: skip

    assert reasons(marks=marks) == ("1 mark says a station that is on no leg: see not on the list",)


@pytest.mark.parametrize(
    ("names", "text"),
    [
        (["A-1"], "1 thing was edited twice: A-1"),
        (list("abcde"), "5 things were edited twice: a, b, c, d, e"),
        (list("abcdefg"), "7 things were edited twice: a, b, c, d, e, and 2 more"),
    ],
)
def test_what_was_edited_twice_keeps_it_a_draft(names, text):
    """The first few by name."""
    assert reasons(twice=names) == (text,)


ASK = review("mark A-1", "ask for change", "close it first")


@pytest.mark.parametrize(
    ("later", "open_"),
    [
        ([], True),
        ([review("anchor A-1", "accept")], False),
        ([review("anchor A-1", "accept", by=" LEE ")], False),
        ([review(WHOLE, "accept")], False),
        ([review("anchor A-1", "accept", by="Lou")], True),
        ([review("anchor A-2", "accept")], True),
        ([review("anchor A-1", "comment", "thanks")], True),
        ([review("anchor A-1", "accept"), ASK], True),
    ],
)
def test_a_change_that_is_asked_for_is_open_until_the_same_person_accepts(later, open_):
    """On any item of the thing, or the whole list."""
    assert reasons(reviews=[ASK, *later]) == (("Lee asks for 1 change",) if open_ else ())


def test_who_asks_for_several_is_counted_once():
    """A person by name, each as last written."""
    more = [
        review("anchor A-2", "ask for change", by="lee"),
        review(WHOLE, "ask for change", by="Lou"),
    ]

    assert reasons(reviews=[ASK, *more]) == ("lee asks for 2 changes", "Lou asks for 1 change")
    assert reasons(reviews=[ASK, *more]) == asked(READY, [ASK, *more])


def test_an_acceptance_holds_until_a_change_of_the_same_is_asked_for():
    """A comment neither asks nor accepts; a change of another thing takes nothing back."""
    said = [
        review(WHOLE, "accept"), review("anchor A-1", "accept"), review(WHOLE, "comment", "well"),
        ASK, review(WHOLE, "unheard of"),
    ]  # fmt: skip

    assert standing(said, anchors_of(READY)) == [True, False, False, True, False]


def test_an_anchor_is_its_own_thing_whatever_else_holds_its_id():
    """Two rows that name one item: its number hangs on the anchor."""
    things = [
        thing("A-1", 20.0),
        thing("A-2", 30.0, mark_ids=("anchor A-1", "mark A-2"), record_ids=("r",)),
    ]
    held = anchors_of(pack(things).obstructions)

    assert (held["anchor A-1"], held["mark A-2"], held["r"]) == (
        "anchor A-1", "anchor A-2", "anchor A-2",
    )  # fmt: skip


def test_a_list_without_things_may_have_reviews():
    """Of the whole."""
    empty = tables.table(tables.OBSTRUCTIONS, [])

    assert reasons(empty, reviews=[review(WHOLE, "ask for change")]) == ("Lee asks for 1 change",)


@given(st.lists(st.builds(
    review, st.sampled_from(["mark A-1", "anchor A-1", "anchor A-2", WHOLE, "gone"]),
    st.sampled_from(REVIEWS), by=st.sampled_from(["Lee", "Lou"]),
), max_size=8))  # fmt: skip
def test_a_review_stands_exactly_when_nothing_later_takes_it_back(made):
    """Against every later one, told apart by hand; the pack's own list agrees."""
    anchors = anchors_of(READY)
    back = {"accept": "ask for change", "ask for change": "accept"}
    for at, (one, stands) in enumerate(zip(made, standing(made, anchors), strict=True)):
        subject = anchors.get(one.subject, one.subject)
        about = {subject, WHOLE} if one.says == "ask for change" else {subject}
        later = [
            other for other in made[at + 1 :]
            if other.by == one.by and other.says == back.get(one.says)
            and anchors.get(other.subject, other.subject) in about
        ]  # fmt: skip
        assert stands is (one.says in back and not later)

    open_ = sum(
        stands and one.says == "ask for change"
        for one, stands in zip(made, standing(made, anchors), strict=True)
    )
    texts = asked(READY, remarked(*made).remarks.reviews)
    assert sum(int(text.split()[3]) for text in texts) == open_
