"""Which of several decisions counts."""

from hypothesis import given
from hypothesis import strategies as st

from routeprep.decided import held, latest, ranked, stamp
from routeprep.shapes import Decision


def decision(anchor_id, value="", *, field="action", when="2026-05-20", by="Ana"):
    """One decision."""
    return Decision(anchor_id=anchor_id, field=field, value=value, by=by, when=when, why="")


def values(pairs):
    """What was decided, in order."""
    return [one.value for _, one in pairs]


def test_decisions_are_ranked_by_time_then_as_they_stand():
    """One without a time is the earliest; ranks go over all fields."""
    rows = [
        decision("a", "late", when="2026-05-21"), decision("a", "first"), decision("b", "second"),
        decision("a", "note", field="note"), decision("a", "none", when=""),
    ]  # fmt: skip

    assert values(ranked(rows, "action")) == ["none", "first", "second", "late"]
    assert [rank for rank, _ in ranked(rows, "action")] == [0, 1, 2, 4]


def test_the_latest_on_each_item_counts():
    """Of one field alone."""
    rows = [decision("a", "LIFT"), decision("a", "STOP"), decision("b", "x", field="note")]

    assert {item: one.value for item, (_, one) in latest(rows, "action").items()} == {"a": "STOP"}


def test_a_decision_on_the_anchor_holds_before_any_other():
    """The anchor is the first of a thing's ids; else the latest on its evidence."""
    rows = [decision("a", "own", when="2026-05-19"), decision("b", "b"), decision("c", "c")]
    found = latest(rows, "action")

    assert held(found, ("a", "b", "c")).value == "own"
    assert held(found, ("x", "c", "b")).value == "c"
    assert held(found, ("x", "b")).value == "b"


def test_where_nobody_decided_nothing_is_held():
    """Neither on the thing nor on any."""
    assert held(latest([decision("a")], "action"), ("b",)) is None
    assert held({}, ("a",)) is None


def test_a_stamp_says_who_and_when_as_far_as_known():
    """A table may lack the day."""
    assert stamp(decision("a")) == "Ana, 2026-05-20"
    assert stamp(decision("a", when="")) == "Ana"


DAYS = st.tuples(st.sampled_from("abc"), st.integers(1, 28))


@given(st.lists(DAYS, unique_by=lambda one: one[1]), st.randoms(use_true_random=False))
def test_with_a_day_of_its_own_each_the_order_changes_nothing(made, chance):
    """Time alone tells, and the newest of a thing's evidence holds."""
    rows = [decision(item, str(day), when=f"2026-05-{day:02}") for item, day in made]
    shuffled = list(rows)
    chance.shuffle(shuffled)
    newest = max((day for _, day in made), default=None)
    one = held(latest(shuffled, "action"), ("x", "a", "b", "c"))

    assert one == held(latest(rows, "action"), ("x", "a", "b", "c"))
    assert (None if one is None else int(one.value)) == newest
