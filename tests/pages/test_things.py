"""In the road: what needs a person first, and what can be done about a thing."""

import datetime as dt

import pytest

from routeprep.access import SUPERINTENDENT, Person
from routeprep.current import current_of
from routeprep.desk import Desk
from routeprep.entries import make_entry
from routeprep.pages.session import seat_of
from routeprep.pages.things_waiting import first_of

NAME = "Bluestem Road and Alder Street (invented)"
ANN = Person(name="Ann", role=SUPERINTENDENT)
HOSTILE = "<script>alert(1)</script> {{ 7*7 }} #eval[1] **bold** [x](javascript:1) \u202eright 🚧"


@pytest.fixture
def page(office):
    """The page of the demo."""
    return office.turned(office.named().button(key="demo").click().run(), "road")


def pack():
    """The job as it stands, at the desk that the pages share."""
    return seat_of(ANN, NAME).pack()


def chosen(page, item):
    """The page with a thing chosen, as a tap on the map has it."""
    page.session_state["chosen thing"] = item
    return page.run()


def an_item(**wanted):
    """The anchor of a thing with these values."""
    table = pack().obstructions
    for name, value in wanted.items():
        table = table[table[name] == value]
    return str(table["anchor_id"].iloc[0])


def button(page, label):
    """The first button whose label begins so."""
    return next(one for one in page.button if one.label.startswith(label))


def decisions(office):
    """What was decided by Ann, by field."""
    current = current_of(office.store().entries(NAME))
    return {one.field: one for one in current.decisions if one.by == "Ann"}


def test_it_says_what_waits_and_goes_to_doubts_first(page):
    """Edited twice, to sort, not decided, in doubt; the first is in doubt and not decided."""
    counts = page.markdown[1].value
    table = pack().obstructions
    undecided = table[table["decided_by"] == ""]
    goes = button(page, "Next that needs you").click().run()
    first = table.set_index("anchor_id").loc[goes.session_state["chosen thing"]]

    assert f"**{len(pack().unsorted)}** to sort" in counts
    assert not len(undecided) or f"**{len(undecided)}** not decided" in counts
    assert first["doubt"]
    assert not page.exception


def test_the_queue_goes_round():
    """From the last to the first; a thing that is in no queue to the first."""
    assert [first_of(["a", "b"], one) for one in ("a", "b", "", "z")] == ["b", "a", "a", "a"]
    assert first_of(["a"], "a") == ""
    assert first_of([], "a") == ""


SAID = [
    ({}, "As proposed", "action", "as proposed"),
    ({"action": "GO AROUND", "action more": "by 3 ft"}, "Decide this", "action",
     "GO AROUND by 3 ft"),
    ({"state": "walked, not found"}, "Keep it", "status", "walked, not found"),
    ({"state": "lowered", "deep": "4 in"}, "Keep it", "status", "lowered 4 in"),
    ({"kind": "WATER VALVE"}, "Change what it is", "kind", "WATER VALVE"),
    ({"side": "right side", "position": "curb or edge"}, "Keep where across", "across",
     "right side, curb or edge"),
    ({"size": "24 in"}, "Keep the size", "size", "24 in"),
    ({"height": "15'6\"", "by": "posted"}, "Keep the height", "height", "15 ft 6 in posted"),
    ({"note": HOSTILE}, "Keep the note", "note", HOSTILE),
]  # fmt: skip


def filled(page, item, fill, press):
    """The page after fields of a thing were filled in and a button was pressed."""
    widgets = [*page.selectbox, *page.text_input, *page.text_area]
    for name, said in fill.items():
        next(one for one in widgets if one.key == f"{name} {item}").set_value(said)
    return button(page, press).click().run()


def test_what_is_said_of_a_thing_is_decided_by_name(office, page):
    """Field after field."""
    item = an_item(leg="A", kind="SMH")
    shown = chosen(page, item)
    for fill, press, field, value in SAID:
        shown = filled(shown, item, fill, press)
        kept = decisions(office)[field]
        assert not shown.exception
        assert [one.value for one in shown.error] == []
        assert (kept.anchor_id, kept.value, kept.by) == (item, value, "Ann")


def test_what_cannot_be_is_refused_in_a_sentence_and_not_kept(office, page):
    """A height without a number; on the line and on a side; lowered by nothing."""
    item = an_item(leg="A", kind="SMH")
    shown = chosen(page, item)
    for fill, press in (
        ({"height": "high"}, "Keep the height"),
        ({"side": "right side", "position": "on the line"}, "Keep where across"),
        ({"state": "lowered", "deep": ""}, "Keep it"),
    ):
        shown = filled(shown, item, fill, press)
        assert len(shown.error) == 1
    assert decisions(office) == {}


def test_a_hostile_note_is_shown_as_it_was_typed(office, page):
    """And means nothing to the page."""
    item = an_item(leg="A", kind="SMH")
    desk = Desk(office.store(), NAME)
    desk.decide(desk.look(), ANN, [(item, "note", HOSTILE)])
    shown = chosen(page, item)

    assert not shown.exception
    assert any(HOSTILE in one.value for one in shown.text)
    assert all("<script>" not in one.value for one in (*shown.markdown, *shown.subheader))


def test_all_of_a_kind_are_decided_in_one_tap(office, page):
    """Those that nobody decided, and are sure to be of it."""
    label = next(one for one in page.button if (one.key or "").startswith("kind ")).key
    code = label.removeprefix("kind ")
    page.button(key=label).click().run()
    kept = decisions(office)["action"]

    assert (kept.anchor_id, kept.value) == (f"kind:{code}", "as proposed")


def test_marks_are_sorted_one_after_the_other(page):
    """What was said to be no thing waits no longer."""
    before = len(pack().unsorted)
    page.selectbox(key="unsorted as").set_value("nothing").run()
    page.button(key="sort").click().run()

    assert before > 0
    assert len(pack().unsorted) == before - 1


def test_what_was_decided_is_taken_back_and_stays_in_the_history(office, page):
    """By a press."""
    item = an_item(leg="A", kind="SMH")
    shown = button(chosen(page, item), "Keep the note").click().run()
    assert "note" in decisions(office)
    button(shown, "Take it back").click().run()

    assert "note" not in decisions(office)
    assert [one.removed for one in office.store().entries(NAME) if one.thing == f"{item} note"] == [
        False, True,
    ]  # fmt: skip


def test_a_look_is_split_off_and_joined_again(page):
    """It stands alone, then with what it was joined with and with nothing else."""
    table = pack().obstructions
    several = table[(table["leg"] == "A") & (table["mark_ids"].map(len) > 1)]
    item = str(several["anchor_id"].iloc[0])
    look = next(one for one in several["mark_ids"].iloc[0] if one != item)
    shown = chosen(page, item)
    shown.selectbox(key=f"look {item}").set_value(look).run()
    shown = button(shown, "Split it off").click().run()
    longer = len(pack().obstructions)
    shown.selectbox(key=f"other {item}").set_value(look).run()
    shown = button(shown, "Join them").click().run()

    assert [one.value for one in shown.error] == []
    assert longer == len(table) + 1
    assert [{item, look}] == [
        set(one) for one in pack().obstructions["mark_ids"] if look in one
    ]  # fmt: skip


def test_edited_twice_is_shown_with_both_and_one_is_chosen(office, page):
    """Neither holds before somebody has seen both."""
    item = an_item(leg="A", kind="SMH")
    store = office.store()
    for at, (who, said) in enumerate((("Ann", "first"), ("Bob", "second")), start=1):
        body = {"anchor_id": item, "field": "note", "value": said, "by": who,
                "when": "2026-06-01 08:00", "why": ""}  # fmt: skip
        entry = make_entry(
            job=NAME, kind="decision", thing=f"{item} note", body=body, author=who, device=f"d{at}",
            counter=1, time_utc=dt.datetime(2026, 6, 1, 8, at, tzinfo=dt.UTC),
        )  # fmt: skip
        store.append([entry], by=ANN)
    shown = page.run()
    both = [one.value for one in shown.text if "first" in one.value or "second" in one.value]
    holds = [one for one in shown.button if one.label == "This holds"]

    assert len(both) == 2
    assert len(holds) == 2
    holds[1].click().run()
    assert decisions(office)["note"].value == "second"
    assert pack().remarks.edited_twice == ()


@pytest.mark.usefixtures("page")
def test_others_look_and_decide_nothing(office):
    """A sentence says who does."""
    other = office.signed_in("Lee", "traffic lead")
    other.button(key=f"open {NAME}").click().run()
    shown = chosen(office.turned(other, "road"), an_item(leg="A", kind="SMH"))

    assert "The superintendent decides." in [one.value for one in shown.markdown]
    assert [one.label for one in shown.button if not one.label.startswith("Next that")] == []


def test_a_job_that_cannot_be_prepared_says_what_to_mend(office):
    """In a sentence."""
    page = office.named()
    page.text_input(key="new name").set_value("Third Street").run()
    shown = office.turned(page.button(key="start").click().run(), "road")

    assert "no settings yet" in shown.error[0].value


def test_what_lies_elsewhere_is_listed(page):
    """With why it is not on the list."""
    left = pack().elsewhere

    assert len(left) > 0
    assert list(page.dataframe[-1].value["why"]) == list(left["why"])
