"""The day-check form: a row for each thing and limit, filled in from what was said."""

from dataclasses import replace

import pytest
from made_remarks import DAY_BEFORE, LONG, NASTY, check, remarked
from sheets.made_packs import leg, pack, thing
from sheets.pdf_text import pages_of
from sheets.tag_tree import tag_tree

from routeprep.errors import OutputError
from routeprep.sheets import day_check
from routeprep.sheets.day_check import render

EVERY = (
    *(f"anchor {no}" for no in ("A-1", "A-2", "A-3", "A-5", "A-6", "A-10", "B-1")),
    "limit A begin", "limit A end", "limit B begin", "limit B end", "leg A", "leg B",
)  # fmt: skip


def drawn(monkeypatch, *said, made=None):
    """What the form is drawn from."""
    kept = []
    monkeypatch.setattr(day_check, "draw", lambda _, own, **__: kept.append(own) or b"")
    render(remarked(*said, pack=made))
    return kept[0]


def rows(own, at=0):
    """The rows of one leg by what they are called."""
    return {row["no"]: row for row in own["legs"][at]["rows"]}


def test_each_thing_stands_between_the_limits_and_the_street_last(monkeypatch):
    """In station order; a blank box for each answer."""
    own = drawn(monkeypatch)

    assert list(rows(own)) == [
        "BEGIN", "A-1", "A-2", "A-3", "A-5", "A-6", "A-10", "END", "STREET",
    ]  # fmt: skip
    assert list(rows(own, 1)) == ["BEGIN", "B-1", "END", "STREET"]
    assert {row["at"] for row in rows(own).values()} == {-1}
    assert rows(own)["A-6"]["struck"]


def test_a_thing_outside_the_limits_stands_where_it_lies(monkeypatch):
    """Before the cut begins and after it ends: the crew passes it all the same."""
    things = [thing("A-1", 20.0), thing("A-2", 500.0), thing("A-3", 900.0)]
    short = replace(leg("A"), from_m=100.0, to_m=800.0)
    own = drawn(monkeypatch, made=pack(things, legs=[short]))

    assert list(rows(own)) == ["A-1", "BEGIN", "A-2", "END", "A-3", "STREET"]


@pytest.mark.parametrize(("says", "at"), [("same", 0), ("changed", 1), ("not looked at", 2)])
def test_what_was_said_has_the_x_with_who_and_when(monkeypatch, says, at):
    """In the column that it says."""
    own = drawn(monkeypatch, check("mark A-2", says, "a"), check("limit A end", says))

    assert (rows(own)["A-2"]["at"], rows(own)["END"]["at"]) == (at, at)
    assert rows(own)["A-2"]["said"] == f"{says}: a (Ann, 2026-06-01 17:40)"


def test_what_was_found_before_the_day_is_told_without_an_x(monkeypatch):
    """It was not looked at on the day."""
    row = rows(drawn(monkeypatch, check("anchor A-2", "same", when=DAY_BEFORE)))["A-2"]

    assert row["at"] == -1
    assert row["said"] == "not looked at; not on the day: same (Ann, 2026-05-31 17:40)"


def test_each_page_says_what_of_its_leg_was_not_looked_at(monkeypatch):
    """All, some by number, or nothing."""
    texts = [one["missed"] for one in drawn(monkeypatch)["legs"]]
    some = drawn(monkeypatch, check("anchor A-1"), check("leg A"), check("limit A begin"))
    things = drawn(monkeypatch, *(check(one) for one in EVERY[:7]))
    every = drawn(monkeypatch, *(check(one) for one in EVERY))

    assert texts == [
        "NOT RE-CHECKED: ALL of leg A: 6 things, both limits, the street",
        "NOT RE-CHECKED: ALL of leg B: 1 things, both limits, the street",
    ]
    assert some["legs"][0]["missed"] == (
        "NOT RE-CHECKED: 5 OF 6 things of leg A: A-2, A-3, A-5, A-6, A-10 · limit A end"
    )
    assert things["legs"][1]["missed"] == (
        "NOT RE-CHECKED: 0 OF 1 things of leg B · limit B begin · limit B end · street B"
    )
    assert every["legs"][0]["missed"].startswith("RE-CHECKED: ALL of leg A: 6 things")


def test_what_changed_stands_at_the_head_in_the_order_of_the_list(monkeypatch):
    """And what is not on this list any more at the end."""
    own = drawn(
        monkeypatch,
        check("leg A", "changed", "parked cars"),
        check("anchor A-3", "changed", "moved"),
        check("anchor A-1"),
        check("gone", "changed", "no more"),
    )

    assert [one["no"] for one in own["changed"]] == ["A-3", "street A"]
    assert own["astray"] == ["gone: changed: no more (Ann, 2026-06-01 17:40)"]


def test_the_form_is_read_with_all_of_it():
    """Title, shift, each number once as a row, the street's questions and blank rows."""
    made = remarked(check("anchor A-2", "changed", "raised 1 in"), check("gone", "same"))
    pages = pages_of(render(made))
    text = " ".join(pages)
    numbers = [row.inside[0].read() for row in tag_tree(render(made)).all("TR")]

    for no in ("A-1", "A-2", "A-3", "A-5", "A-6", "A-10", "B-1"):
        assert numbers.count(no) == 1
    for words in (
        "SHIFT STARTING MON 1 JUN 2026",
        "raised 1 in",
        "Parked cars or bins in the cut",
        "Found today and not on the list",
        "Nobody writes while driving",
    ):
        assert words in text
    assert all("RE-CHECKED" in page and "No paint: stop" in page for page in pages)
    assert "Checks of what is not on this list any more" in pages[-1]


@pytest.mark.parametrize("paper", ["letter", "a4", "tabloid"])
def test_the_same_pack_gives_the_same_bytes_on_each_paper(paper):
    """Nothing of the clock or the machine."""
    made = remarked(check("anchor A-2", "changed"))

    assert render(made, paper=paper) == render(made, paper=paper)


def test_other_paper_is_refused():
    """By name."""
    with pytest.raises(OutputError, match="paper 'b5' is not one"):
        render(remarked(), paper="b5")


def test_hostile_and_long_words_are_printed_as_typed():
    """Nothing of them is read as a command; what the typeface lacks is a box and listed."""
    text = " ".join(pages_of(render(remarked(check("anchor A-2", "changed", NASTY)))))
    pages = pages_of(render(remarked(check("anchor A-2", "changed", LONG))))

    for words in ("{{ cycler }}", "#sys.version", "<script>alert(1)</script>", "**bold**"):
        assert words in text
    assert "U+1F6A7" in text
    assert sum(page.count("word") for page in pages) >= 2 * LONG.count("word")
