"""Numbers that never change."""

import pytest
from builders import leg_settings, settings, survey
from hypothesis import given
from hypothesis import settings as examples
from hypothesis import strategies as st
from made_looks import MARK, look, people

from routeprep.concluding import conclude
from routeprep.errors import JobError
from routeprep.legs import build_legs
from routeprep.merging import Group, anchor_of
from routeprep.numbering import Thing, assign, number_key
from routeprep.shapes import IssuedNumber


def things(*anchors, leg="A"):
    """Things in station order, each known by its only item."""
    return [Thing(leg=leg, anchor_id=one, item_ids=(one,)) for one in anchors]


def ledger(**numbers):
    """A ledger: A1="x" means A-1 was issued to x."""
    return [
        IssuedNumber(no=f"{key[0]}-{key[1:]}", anchor_id=anchor, first_revision="A")
        for key, anchor in numbers.items()
    ]


def test_first_issue_numbers_in_station_order():
    """A-1, A-2, A-3."""
    assert assign(things("x", "y", "z"), [], revision="A").numbers == ("A-1", "A-2", "A-3")


def test_a_later_find_between_two_numbers_gets_a_letter():
    """Between A-1 and A-2 it is A-1A, the next one A-1B."""
    got = assign(things("x", "new", "newer", "y"), ledger(A1="x", A2="y"), revision="B")

    assert got.numbers == ("A-1", "A-1A", "A-1B", "A-2")


def test_a_find_before_the_first_number_comes_after_zero():
    """A-0A stands before A-1."""
    got = assign(things("new", "x"), ledger(A1="x"), revision="B")

    assert got.numbers == ("A-0A", "A-1")


def test_a_find_beyond_the_last_takes_a_number_never_used():
    """A-3 was removed; the next whole number is A-4."""
    got = assign(things("x", "y", "new"), ledger(A1="x", A2="y", A3="gone"), revision="B")

    assert got.numbers == ("A-1", "A-2", "A-4")
    assert [(one.no, one.why) for one in got.withdrawn] == [("A-3", "removed")]


def test_a_thing_that_joined_another_says_with_which():
    """Its old number is struck through, never used again."""
    joined = [Thing(leg="A", anchor_id="x", item_ids=("x", "y"))]
    got = assign(joined, ledger(A1="x", A2="y"), revision="B")

    assert got.numbers == ("A-1",)
    assert [(one.no, one.why) for one in got.withdrawn] == [("A-2", "joined with A-1")]


def test_the_ledger_grows_and_keeps_its_rows():
    """Old rows first and unchanged, new ones with this revision."""
    old = ledger(A1="x")
    got = assign(things("x", "new"), old, revision="B")

    assert got.ledger[:1] == tuple(old)
    assert got.ledger[1] == IssuedNumber(no="A-2", anchor_id="new", first_revision="B")


def test_a_number_issued_twice_is_refused():
    """The message names it."""
    with pytest.raises(JobError, match=r"\['A-1'\] stand twice in numbers.csv"):
        assign([], [*ledger(A1="x"), *ledger(A1="y")], revision="B")


def test_a_number_that_cannot_be_read_is_refused():
    """It must look like A-27."""
    with pytest.raises(JobError, match="number '27' is not of the form A-27"):
        number_key("27")


anchors = st.lists(st.text("abcdefgh", min_size=1, max_size=3), unique=True, max_size=12)


@given(anchors, anchors, st.randoms(use_true_random=False))
def test_no_issued_number_ever_moves(first, added, random):
    """Issue, add things anywhere, drop some, issue again: each anchor keeps its number."""
    one = assign(things(*first), [], revision="A")
    held = dict(zip(first, one.numbers, strict=True))
    later = [a for a in first if random.random() < 0.8]
    for new in added:
        if new not in held:
            later.insert(random.randint(0, len(later)), new)
    two = assign(things(*later), one.ledger, revision="B")
    got = dict(zip(later, two.numbers, strict=True))

    assert {a: got[a] for a in later if a in held} == {a: held[a] for a in later if a in held}
    assert len(set(two.numbers)) == len(later)
    assert not {got[a] for a in later if a not in held} & set(held.values())


@given(anchors)
def test_numbering_twice_is_numbering_once(some):
    """The second issue of the same list changes nothing."""
    one = assign(things(*some), [], revision="A")
    two = assign(things(*some), one.ledger, revision="B")

    assert two.numbers == one.numbers
    assert two.ledger == one.ledger


def test_an_anchor_with_two_numbers_is_refused():
    """Neither may vanish in silence."""
    with pytest.raises(JobError, match=r"\['A-1 \(x\)', 'A-2 \(x\)'\] share an anchor_id"):
        assign(things("x"), ledger(A1="x", A2="x"), revision="B")


def test_a_thing_that_moved_to_another_leg_keeps_its_number():
    """New ones on that leg are numbered for themselves, not after it."""
    got = assign(things("new", "x", "newer", leg="B"), ledger(A5="x"), revision="B")

    assert got.numbers == ("B-1", "A-5", "B-2")


def test_a_find_after_a_guest_follows_its_own_legs_number():
    """Between B-1 and B-2, whatever stands between."""
    got = assign(
        things("y", "x", "new", "z", leg="B"), ledger(A5="x", B1="y", B2="z"), revision="B"
    )

    assert got.numbers == ("B-1", "A-5", "B-1A", "B-2")


def test_a_leg_code_may_hold_a_dash():
    """A-1 is a leg of its own, and A-1-2 its second number."""
    codes = things("x", "y", leg="A-1") + things("z", leg="A")
    got = assign(codes, [], revision="A")

    assert got.numbers == ("A-1-1", "A-1-2", "A-1")
    assert number_key("A-1-2")[:2] == ("A-1", 2)


def test_numbers_of_a_leg_that_is_gone_are_withdrawn_and_kept():
    """The ledger never shrinks."""
    got = assign([], ledger(C3="x"), revision="B")

    assert [(one.no, one.leg, one.why) for one in got.withdrawn] == [("C-3", "C", "removed")]
    assert got.ledger == tuple(ledger(C3="x"))


def test_more_finds_than_letters_go_on_with_two():
    """After A-1Z comes A-1AA."""
    many = [f"n{k:02d}" for k in range(28)]
    got = assign(things("x", *many, "y"), ledger(A1="x", A2="y"), revision="B")

    assert got.numbers[-4:] == ("A-1Z", "A-1AA", "A-1AB", "A-2")


@given(st.lists(st.integers(0, 10**6), unique=True))
def test_numbers_are_ordered_as_people_count(counts):
    """A-9 comes before A-10, and A-10A right after A-10, A-10AA after A-10Z."""
    wanted = [f"A-{count}{suffix}" for count in sorted(counts) for suffix in ("", "A", "Z", "AA")]

    assert sorted(sorted(wanted), key=number_key) == wanted


JOB = settings(leg_settings())
LEG = build_legs(survey(), JOB, survey().fixes, {})[0][0]


def listed(groups, issued):
    """The list of groups of looks, numbered, with the ledger before it."""
    anchors = {one.anchor_id: one.no for one in issued}
    rows = [
        conclude(
            one,
            LEG,
            anchor_id=anchor_of(one, anchors),
            marks={item.item_id: MARK for item in one.looks},
            people=people(),
            settings=JOB,
        )
        for one in groups
    ]
    rows.sort(key=lambda row: (row["along_m"], row["anchor_id"]))
    numbered = assign(
        [Thing(leg="A", anchor_id=row["anchor_id"], item_ids=row["mark_ids"]) for row in rows],
        issued,
        revision="B",
    )
    return dict(zip(numbered.numbers, rows, strict=True)), numbered


def partitioned(looks, cuts):
    """Looks in time order put into things: each with the number of its thing."""
    things = {}
    for one, cut in zip(looks, cuts, strict=True):
        things.setdefault(cut, []).append(one)
    return [Group(looks=tuple(held)) for held in things.values()]


def driven(drive_id, places, begin_s):
    """The looks of one drive."""
    return [
        look(f"{drive_id}{k}", drive_id=drive_id, seconds=begin_s + k, along_m=place_m)
        for k, place_m in enumerate(places)
    ]


places = st.lists(st.floats(0.0, 900.0), min_size=1, max_size=8)


@given(places, places, st.booleans(), st.data())
@examples(max_examples=60)
def test_adding_a_drive_never_moves_a_number_nor_loses_a_thing(first, added, earlier, data):
    """Whatever the new looks join or draw together, also when they were made before the others.

    Each number stays with the thing that holds its first mark, or says with which it was joined;
    and every mark is still evidence for something.
    """
    old = driven("a", first, 1000.0)
    before, issued = listed([Group(looks=(one,)) for one in old], ())
    looks = sorted(
        old + driven("b", added, 0.0 if earlier else 5000.0), key=lambda one: one.seconds
    )
    cuts = data.draw(st.lists(st.integers(0, 9), min_size=len(looks), max_size=len(looks)))
    after, numbered = listed(partitioned(looks, cuts), issued.ledger)
    withdrawn = {one.no: one.why for one in numbered.withdrawn}
    holder = {item: no for no, row in after.items() for item in row["mark_ids"]}

    assert set(holder) == {one.item_id for one in looks}
    for no, row in before.items():
        assert holder[row["anchor_id"]] == no or withdrawn[no] == (
            f"joined with {holder[row['anchor_id']]}"
        )
    assert set(numbered.ledger) >= set(issued.ledger)
