"""What two changed apart, on the list: both said, and nothing chosen."""

from hypothesis import given
from hypothesis import strategies as st

from routeprep.deciding import NOT_DECIDED
from routeprep.disputes import disputed
from routeprep.remarks import EditedTwice


def row(no, **changes):
    """One row of the list with what a dispute can be about."""
    usual = {
        "no": no, "anchor_id": f"anchor {no}", "mark_ids": (f"mark {no}",), "record_ids": (),
        "kind": "SMH", "doubt": "", "action": "LIFT", "decided_by": "Ana, 2026-05-20",
    }  # fmt: skip
    return usual | changes


def twice(subject, *, field="action", kind="decision", values=("LIFT (Ana)", "STOP (Ben)")):
    """What two said."""
    return EditedTwice(
        kind=kind, subject=subject, field=field, values=values, entry_ids=("e1", "e2")
    )


ROWS = (row("A-1"), row("A-2", record_ids=("r2",), doubt="near tie"), row("A-3", kind="WV"))


def test_without_disputes_the_list_is_as_it_was():
    """Row by row."""
    got = disputed(ROWS, ())

    assert (got.rows, got.names, got.findings) == (list(ROWS), (), ())


def test_a_disputed_action_reads_stop_and_says_both():
    """On any item of the evidence; what was doubted stays."""
    for subject in ("anchor A-2", "mark A-2", "r2"):
        got = disputed(ROWS, [twice(subject)])
        (one,) = got.findings

        assert [made == was for made, was in zip(got.rows, ROWS, strict=True)] == [
            True,
            False,
            True,
        ]
        assert got.rows[1] == ROWS[1] | {
            "action": NOT_DECIDED, "decided_by": "",
            "doubt": "near tie; edited twice: action LIFT (Ana) or STOP (Ben)",
        }  # fmt: skip
        assert (got.names, one.where, one.level) == (("A-2",), "A-2", "doubt")
        assert "LIFT (Ana) or STOP (Ben); look at both, and decide" in one.text


def test_a_disputed_note_leaves_the_action():
    """It is said, and what was decided stands."""
    got = disputed(ROWS, [twice("mark A-1", field="note", values=("deep (Ana)", "flat (Ben)"))])

    assert (got.rows[0]["action"], got.rows[0]["decided_by"]) == ("LIFT", "Ana, 2026-05-20")
    assert got.rows[0]["doubt"] == "edited twice: note deep (Ana) or flat (Ben)"


def test_a_dispute_over_a_whole_kind_stops_all_of_it():
    """Also where there is one of it: it is called by its kind."""
    got = disputed(ROWS, [twice("kind:SMH"), twice("kind:WV")])

    assert [one["action"] for one in got.rows] == [NOT_DECIDED] * 3
    assert got.names == ("kind:SMH", "kind:WV")


def test_what_is_on_no_row_is_told_all_the_same():
    """A file, the settings, or a thing that is gone."""
    got = disputed(ROWS, [twice("a.gpx", kind="file", field=""), twice("gone")])

    assert got.rows == list(ROWS)
    assert got.names == ("a.gpx", "gone")
    assert got.findings[0].text.startswith("edited twice, neither knowing of the other: file LIFT")


def test_an_item_on_two_rows_stops_both():
    """A join across legs leaves a row on each."""
    rows = [row("A-1", mark_ids=("m",)), row("B-1", mark_ids=("m",))]
    got = disputed(rows, [twice("m")])

    assert [one["action"] for one in got.rows] == [NOT_DECIDED] * 2
    assert got.names == ("m",)


def test_two_disputes_of_one_thing_are_both_said_and_named_once():
    """Words with a semicolon are no doubt of their own."""
    got = disputed(
        ROWS, [twice("A-1", field="note", values=("a; b (Ana)", "c (Ben)")), twice("mark A-1")]
    )

    assert got.rows[0]["doubt"].split("; ") == [
        "edited twice: note a, b (Ana) or c (Ben)",
        "edited twice: action LIFT (Ana) or STOP (Ben)",
    ]
    assert (got.names, len(got.findings)) == (("A-1",), 2)


def test_a_thing_without_a_number_yet_is_no_subject_of_nothing():
    """An empty number names no row."""
    assert disputed([row("")], [twice("")]).rows == [row("")]


@given(st.lists(st.tuples(st.sampled_from(["mark A-1", "r2", "kind:WV", "kind:SMH", "x"]),
                          st.sampled_from(["action", "note", "place"]))))  # fmt: skip
def test_every_dispute_is_told_and_no_disputed_action_stays(made):
    """Whatever was changed apart."""
    got = disputed(ROWS, [twice(subject, field=field) for subject, field in made])
    actions = {subject for subject, field in made if field == "action"}
    stopped = {"mark A-1": [0], "r2": [1], "kind:WV": [2], "kind:SMH": [0, 1], "x": []}
    expected = {at for subject in actions for at in stopped[subject]}

    assert len(got.findings) == len(made)
    assert {at for at, one in enumerate(got.rows) if one["action"] == NOT_DECIDED} == expected
