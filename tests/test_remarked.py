"""What the report says of reviews, checks on the day, and of what was edited twice."""

import json

from made_remarks import DAY_BEFORE, LONG, NASTY, check, remarked, review, twice
from maps.example_pack import example_pack

from routeprep.exports import csv_text, geojson_text, report_text
from routeprep.exports.remarked import remark_counts, remarks_told
from routeprep.remarks import WHOLE
from routeprep.sealing import seal


def report_of(*said):
    """The report of the example with these remarks."""
    return json.loads(report_text(remarked(*said, pack=example_pack())))


def test_a_pack_without_remarks_counts_none():
    """All seven things of the example are not looked at."""
    report = report_of()

    assert report["reviews"] == []
    assert report["edited_twice"] == []
    assert report["counts"]["checks"]["things"] == {
        "all": 7, "same": 0, "changed": 0, "not_looked_at": 7,
    }  # fmt: skip
    assert report["counts"]["reviews"]["whole_list_accepted"] == 0


def test_checks_are_counted_by_what_they_found():
    """Two things, a limit, a street, and one of nothing on the list."""
    said = [check("A-1-1"), check("id-A-2", "changed"), check("limit A end"),
            check("leg B", "changed"), check("gone")]  # fmt: skip
    counts = remark_counts(remarked(*said, pack=example_pack()))["checks"]

    assert counts["things"] == {"all": 7, "same": 1, "changed": 1, "not_looked_at": 5}
    assert counts["limits"] == {"all": 4, "same": 1, "changed": 0, "not_looked_at": 3}
    assert counts["streets"] == {"all": 2, "same": 0, "changed": 1, "not_looked_at": 1}
    assert counts["not_on_this_list"] == 1


def test_each_thing_has_its_checks_and_those_of_another_day_apart():
    """All seven, whether somebody looked or not."""
    told = report_of(check("id-A-1", "changed", "new"), check("id-A-1", when=DAY_BEFORE))
    first, second = told["checks"]["things"][:2]

    assert first["name"] == "A-1"
    assert first["said"] == [
        {"says": "changed", "text": "new", "by": "Ann", "when": "2026-06-01 17:40"}
    ]
    assert [one["when"] for one in first["not_on_the_day"]] == [DAY_BEFORE]
    assert (second["says"], second["said"]) == ("not looked at", [])


def test_reviews_are_listed_with_the_list_that_they_are_of():
    """In the order of the sheet; number null for what is on no list."""
    now = seal(example_pack())
    report = report_of(
        review("gone"), review("id-A-1", "ask for change"), review(WHOLE, "accept", seal=now)
    )
    told = [(one["no"], one["of_this_list"], one["stands"]) for one in report["reviews"]]

    assert told == [("whole list", True, True), ("A-1", False, False), (None, False, False)]
    assert report["counts"]["reviews"] == {
        "all": 3,
        "by_says": {"accept": 1, "ask for change": 1, "comment": 1},
        "changes_still_asked_for": 0,
        "whole_list_accepted": 1,
    }


def test_what_was_edited_twice_is_listed_with_what_each_said():
    """And with the entries that said it."""
    (told,) = report_of(twice("id-A-1"))["edited_twice"]

    assert (told["name"], told["kind"], told["field"]) == ("A-1", "decision", "action")
    assert told["values"] == ["LIFT (Ann)", "STOP (Bob)"]
    assert told["entry_ids"] == ["e1", "e2"]


def test_hostile_and_long_words_come_back_as_typed():
    """10,000 characters and all that means something elsewhere."""
    said = [check("gone", "changed", NASTY), review("id-A-1", text=LONG), twice(values=(NASTY,))]
    told = report_of(*said)

    assert told["checks"]["not_on_this_list"][0]["text"] == NASTY
    assert told["reviews"][0]["text"] == LONG
    assert told["edited_twice"][0]["values"] == [NASTY]


def test_the_list_for_other_tools_is_the_same_with_and_without_remarks():
    """Its columns are fixed."""
    made = remarked(check("id-A-1", "changed"), review("id-A-1"), pack=example_pack())

    assert csv_text(made) == csv_text(example_pack())
    assert geojson_text(made) == geojson_text(example_pack())


def test_the_report_s_lists_do_not_hide_what_it_had():
    """No name of it is taken twice."""
    plain = {"counts", "job", "legs", "findings", "draft", "sources"}

    assert not plain & set(remarks_told(example_pack()))
