"""Reviews worded for print: in what order, of which list, and what is still asked for."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_remarks import NASTY, remarked, review, twice
from sheets import made_packs

from routeprep.remarks import REVIEWS, WHOLE
from routeprep.reviewing import accepted_texts, edited_named, reviewed, words_of
from routeprep.sealing import seal

NOW = seal(made_packs.pack())


def told(*said):
    """Who accepted the whole list, and what is still asked."""
    return accepted_texts(reviewed(remarked(*said)))


def test_reviews_stand_in_the_order_of_the_list_then_of_time():
    """Whatever the order in which they were made; those of the whole list by themselves."""
    found = reviewed(
        remarked(
            review("mark B-1", text="one"),
            review(WHOLE, text="two"),
            review("mark A-2", text="three"),
            review("anchor B-1", text="four"),
        )
    )

    assert [(one.no, one.text) for one in found.things] == [
        ("A-2", "three"), ("B-1", "one"), ("B-1", "four"),
    ]  # fmt: skip
    assert [(one.no, one.text) for one in found.whole] == [("whole list", "two")]


def test_a_review_of_what_is_not_on_the_list_is_kept():
    """It has no number; its subject says what it was of."""
    (line,) = reviewed(remarked(review("gone", text="why?"))).astray

    assert (line.no, line.subject, line.text) == ("", "gone", "why?")


@pytest.mark.parametrize(
    ("sealed", "of"),
    [
        (NOW, "of this very list"),
        ("0" * 64, "of an earlier list"),
        ("", "of a list that is not known"),
    ],
)
def test_a_review_says_of_which_list_it_is(sealed, of):
    """By the seal of the pack that was looked at."""
    (line,) = reviewed(remarked(review(WHOLE, "accept", seal=sealed))).whole

    assert (line.of, line.of_this_list) == (of, sealed == NOW)


def test_an_acceptance_of_this_very_list_is_said():
    """Who and when, and nothing else."""
    assert told(review(WHOLE, "accept", seal=NOW)) == [
        "The whole list was accepted by Lee, 2026-06-01 17:40: of this very list."
    ]


def test_an_acceptance_of_an_earlier_list_does_not_hold():
    """It is said, and that nobody has accepted this one."""
    assert told(review(WHOLE, "accept", seal="0" * 64)) == [
        "The whole list was accepted by Lee, 2026-06-01 17:40: of an earlier list.",
        "Nobody has accepted this very list as a whole.",
    ]


def test_a_list_that_nobody_reviewed_says_so():
    """A sheet says what it does not know."""
    assert told() == ["Nobody has reviewed this list."]


def test_who_accepts_twice_is_named_once():
    """The latest counts."""
    texts = told(review(WHOLE, "accept", seal="0" * 64), review(WHOLE, "accept", seal=NOW))

    assert texts == ["The whole list was accepted by Lee, 2026-06-01 17:40: of this very list."]


def test_who_asks_for_a_change_of_the_whole_takes_an_acceptance_back():
    """Until the next one."""
    first, then = review(WHOLE, "accept", seal=NOW), review(WHOLE, "ask for change", "plates")

    assert told(first, then) == [
        "Nobody has accepted this very list as a whole.",
        "Changes asked for and not accepted since, 1: whole list.",
    ]
    assert told(first, then, first)[0].endswith("of this very list.")
    assert len(told(first, then, first)) == 1


@pytest.mark.parametrize(
    ("later", "open_still"),
    [
        ([], True),
        ([review("mark A-2", "accept")], False),
        ([review(WHOLE, "accept")], False),
        ([review("mark A-2", "accept", by="Kim")], True),
        ([review("mark A-1", "accept")], True),
        ([review("mark A-2", "comment")], True),
    ],
)
def test_a_change_is_asked_for_until_the_same_person_accepts(later, open_still):
    """The thing or the whole list; nobody else can, and a comment does not."""
    found = reviewed(remarked(review("anchor A-2", "ask for change", "move it"), *later))

    assert bool(found.asked) == open_still


def test_what_is_still_asked_is_named_once():
    """By number; what is on no list by words."""
    ask = [review(one, "ask for change") for one in ("mark A-2", "mark A-2", "gone")]

    assert told(*ask)[-1] == ("Changes asked for and not accepted since, 3: A-2, not on this list.")


def test_a_review_in_words_has_who_when_and_of_which_list():
    """Without a name the list alone stands in brackets."""
    full, bare = reviewed(
        remarked(review("mark A-1", "comment", "loose"), review("mark A-1", by="", when=""))
    ).things

    assert words_of(full) == ("comment: loose (Lee, 2026-06-01 17:40; of a list that is not known)")
    assert words_of(bare) == "comment (of a list that is not known)"


def test_what_was_edited_twice_is_named_by_its_number():
    """Where it is a thing; else as the entry has it."""
    pack = remarked(twice("mark A-1"), twice("kind:SMH"))

    assert [name for name, _ in edited_named(pack)] == ["A-1", "kind:SMH"]


def test_hostile_words_stay_as_typed():
    """Nothing is taken out or put in."""
    (line,) = reviewed(remarked(review("mark A-1", "comment", NASTY))).things

    assert NASTY in words_of(line)


reviews = st.lists(
    st.builds(
        review,
        st.sampled_from(["mark A-1", "anchor A-1", "mark A-2", WHOLE, "gone"]),
        st.sampled_from(REVIEWS),
        st.text(max_size=3),
        by=st.sampled_from(["Lee", "Kim"]),
        seal=st.sampled_from(["", NOW, "0" * 64]),
    ),
    max_size=8,
)


@given(made=reviews)
def test_no_review_is_lost_and_none_is_told_twice(made):
    """Law: each is in one place; what is asked for and what is accepted are among them."""
    found = reviewed(remarked(*made))

    assert sorted((one.says, one.text, one.by) for one in found.lines) == sorted(
        (one.says, one.text, one.by) for one in made
    )
    assert len({one.by for one in found.accepted}) == len(found.accepted)
    assert set(found.asked) <= set(found.lines)
