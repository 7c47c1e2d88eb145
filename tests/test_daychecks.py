"""What was looked at again on the day: by whom, what counts, and what nobody looked at."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_remarks import DAY_BEFORE, NASTY, check, remarked
from sheets import made_packs

from routeprep.daychecks import Checked, day_checks, foot_line, names_text, words_of
from routeprep.remarks import CHECKS

NUMBERS = ["A-1", "A-2", "A-3", "A-5", "A-6", "A-10", "B-1"]


def state_of(subject, *checks):
    """What the checks come to for a thing, limit or street."""
    day = day_checks(remarked(*checks))
    (found,) = [one for one in (*day.things, *day.limits, *day.streets) if one.name == subject]
    return found


def test_without_checks_nothing_was_looked_at():
    """By leg, things in the order of the list, with limits and street."""
    day = day_checks(made_packs.pack())

    assert [one.name for one in day.things] == NUMBERS
    assert [one.name for one in day.limits] == [
        "limit A begin", "limit A end", "limit B begin", "limit B end",
    ]  # fmt: skip
    assert [one.name for one in day.streets] == ["street A", "street B"]
    assert {one.says for one in (*day.things, *day.limits, *day.streets)} == {"not looked at"}
    assert day.astray == ()


@pytest.mark.parametrize("subject", ["anchor A-10", "mark A-10", "r1"])
def test_any_item_of_the_evidence_means_its_thing(subject):
    """The anchor, a mark of it or a record of it."""
    assert state_of("A-10", check(subject)).says == "same"


@pytest.mark.parametrize(
    ("subject", "name"),
    [("limit A begin",) * 2, ("limit B end",) * 2, ("leg B", "street B")],
)
def test_limits_and_streets_are_checked_too(subject, name):
    """By the words that a check has for them."""
    assert state_of(name, check(subject, "changed", "plate moved")).says == "changed"


def test_a_change_counts_when_two_persons_disagree_and_both_are_said():
    """Whoever was later: one of them saw something new."""
    found = state_of("A-1", check("mark A-1", "changed", "raised"), check("mark A-1", by="Bob"))
    turned = state_of("A-1", check("mark A-1", by="Bob"), check("mark A-1", "changed", "raised"))

    assert (found.says, turned.says) == ("changed", "changed")
    assert (
        words_of(found) == "changed: raised (Ann, 2026-06-01 17:40); same (Bob, 2026-06-01 17:40)"
    )
    assert words_of(turned) == words_of(found)


def test_a_person_s_latest_word_counts():
    """Called by the same name, however it was typed."""
    found = state_of(
        "A-1", check("mark A-1", "changed", "a car"), check("mark A-1", by=" ann"),
    )  # fmt: skip

    assert (found.says, len(found.said)) == ("same", 1)


def test_a_change_of_one_item_is_not_taken_back_by_a_word_on_another():
    """Two items that became one thing later: what was said of the one still stands."""
    things = [made_packs.thing("A-1", 20.0, mark_ids=("m1", "m2"))]
    pack = remarked(check("m1", "changed"), check("m2"), pack=made_packs.pack(things))

    assert day_checks(pack).things[0].says == "changed"


def test_not_looked_at_can_be_said_too():
    """With the reason; it counts as nobody having looked."""
    found = state_of("A-1", check("mark A-1", "not looked at", "a truck on it"))

    assert not found.looked_at
    assert words_of(found) == "not looked at: a truck on it (Ann, 2026-06-01 17:40)"


def test_words_that_are_no_answer_count_for_none_and_are_not_dropped():
    """A phone of another release may send them."""
    found = state_of("A-1", check("mark A-1", "fine"))

    assert found.says == "not looked at"
    assert words_of(found).startswith("fine (Ann")


@pytest.mark.parametrize("when", [DAY_BEFORE, "", "yesterday", "2026-13-40"])
def test_a_check_of_another_day_is_told_and_does_not_count(when):
    """Before the shift's first day, or of a day that it does not say."""
    found = state_of("A-1", check("mark A-1", when=when))
    who = ", ".join(part for part in ("Ann", when) if part)

    assert found.says == "not looked at"
    assert words_of(found) == f"not looked at; not on the day: same ({who})"


@pytest.mark.parametrize("when", ["2026-06-01", "2026-06-02 01:10", "2026-06-09T08:00"])
def test_a_check_counts_from_the_shift_s_first_day_on(when):
    """A night ends on the next day, and a list may be used longer."""
    assert state_of("A-1", check("mark A-1", when=when)).says == "same"


def test_a_check_of_what_is_not_on_the_list_is_kept():
    """A thing that was split off, a leg that is no more."""
    lost = [check("gone"), check("leg C"), check("limit C begin")]
    day = day_checks(remarked(lost[0], check("mark A-1"), *lost[1:]))

    assert list(day.astray) == lost
    assert sum(one.looked_at for one in day.things) == 1


def test_a_check_without_a_name_is_words_alone():
    """Nothing in brackets."""
    assert words_of(check("mark A-1", "changed", "new", by="", when="")) == "changed: new"


def test_the_foot_says_when_nobody_looked():
    """Without checks, with those of another day, and where each says not looked at."""
    every = [[], [check("mark A-1", when=DAY_BEFORE)], [check("mark A-1", "not looked at")]]

    assert {foot_line(remarked(*some)) for some in every} == {"NOT RE-CHECKED"}


def test_the_foot_counts_and_names_what_changed_and_what_nobody_looked_at():
    """2 of 7 things, 1 of 4 limits; six of the ten that are left are named."""
    line = foot_line(
        remarked(check("mark A-1"), check("mark A-3", "changed"), check("limit A end"))
    )

    assert line == (
        "RE-CHECKED ON THE DAY: 2 OF 7, LIMITS 1 OF 4, STREETS 0 OF 2 · CHANGED: A-3 · "
        "NOT: A-2, A-5, A-6, A-10, B-1, limit A begin, … (4 more)"
    )


def test_the_foot_of_a_job_that_was_looked_at_whole_names_nothing():
    """Counts alone."""
    others = ["limit A begin", "limit A end", "limit B begin", "limit B end", "leg A", "leg B"]
    every = [check(f"mark {no}") for no in NUMBERS] + [check(one) for one in others]

    assert foot_line(remarked(*every)) == (
        "RE-CHECKED ON THE DAY: 7 OF 7, LIMITS 4 OF 4, STREETS 2 OF 2"
    )


def test_a_pack_without_things_has_limits_to_look_at():
    """Nothing breaks on an empty list."""
    pack = remarked(check("limit A end"), pack=made_packs.pack([]))

    assert foot_line(pack).startswith("RE-CHECKED ON THE DAY: 0 OF 0, LIMITS 1 OF 4")


def test_hostile_words_stay_as_typed():
    """Nothing is taken out or put in."""
    assert NASTY in words_of(state_of("A-1", check("mark A-1", "changed", NASTY)))


checks = st.lists(
    st.builds(
        check,
        st.sampled_from(["mark A-1", "anchor A-1", "mark A-2", "leg A", "limit A end", "gone"]),
        st.sampled_from(CHECKS),
        st.text(max_size=3),
        by=st.sampled_from(["Ann", "Bob", "Cy"]),
    ),
    max_size=8,
)


@given(made=checks)
def test_no_check_is_lost_and_a_change_is_never_outvoted(made):
    """Law: the latest of each person on each item stands somewhere, and *changed* counts."""
    day = day_checks(remarked(*made))
    every = [*day.things, *day.limits, *day.streets]
    kept = [one for found in every for one in found.said] + list(day.astray)
    last = {(one.by, one.subject): one for one in made}

    assert all(one in kept for one in last.values())
    assert all(
        (found.says == "changed") == any(one.says == "changed" for one in found.said)
        for found in every
    )


@given(names=st.lists(st.sampled_from(NUMBERS), max_size=9), most=st.integers(1, 9))
def test_names_and_how_many_more_make_up_all(names, most):
    """Law: what is named and what is counted are all of them."""
    some = [Checked(subject=no, name=no, says="same", said=(), aside=()) for no in names]
    parts = names_text(some, most=most).split(", ") if names else []
    more = int(parts.pop().removeprefix("… (").removesuffix(" more)")) if len(names) > most else 0

    assert parts == names[: len(parts)]
    assert len(parts) + more == len(names)
