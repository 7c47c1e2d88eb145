"""decisions.csv and numbers.csv."""

import pytest

from routeprep.errors import JobError, ReadError
from routeprep.readers.tables_csv import read_decisions, read_numbers
from routeprep.shapes import Decision, IssuedNumber

DECISIONS = "anchor_id,field,value,by,when,why\n"
NUMBERS = "no,anchor_id,first_revision\n"


def test_decisions_are_read_in_order() -> None:
    """Each row as it stands; value and why may be empty."""
    text = (
        DECISIONS
        + 'abc,action,LIFT,"Invented, A.",2026-05-19,\nkind:MH,split,,B,2026-05-20T07:00,x\n'
    )

    assert read_decisions(text.encode(), name="decisions.csv") == (
        Decision(anchor_id="abc", field="action", value="LIFT", by="Invented, A.",
                 when="2026-05-19", why=""),
        Decision(anchor_id="kind:MH", field="split", value="", by="B", when="2026-05-20T07:00",
                 why="x"),
    )  # fmt: skip


def test_numbers_are_read_in_order() -> None:
    """Each row as it stands."""
    assert read_numbers((NUMBERS + "A-1,abc,A\n").encode(), name="numbers.csv") == (
        IssuedNumber(no="A-1", anchor_id="abc", first_revision="A"),
    )


def test_a_table_without_rows_is_none() -> None:
    """Only the header is no decision and no number."""
    assert read_decisions(DECISIONS.encode(), name="decisions.csv") == ()
    assert read_numbers(NUMBERS.encode(), name="numbers.csv") == ()


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (
            "no,anchor,first_revision\nA-1,abc,A\n",
            "has columns no, anchor, .* expected no, anchor_id",
        ),
        (NUMBERS + "A-1,abc,A,x\n", "rows 2 have more than 3 cells"),
        (NUMBERS + "A-1,,A\n,abc,A\n", "row 2 has no anchor_id; row 3 has no no"),
        (NUMBERS + "A-1,abc,A\nA-1,abd,A\n", "no A-1 stands in rows 2, 3"),
        (NUMBERS + "A-1,abc,A\nA-2,abc,A\n", "anchor_id abc stands in rows 2, 3"),
    ],
)
def test_a_ledger_that_contradicts_itself_is_refused(text: str, sentence: str) -> None:
    """Columns, empty cells and repeats, naming the rows."""
    with pytest.raises(JobError, match=sentence):
        read_numbers(text.encode(), name="numbers.csv")


@pytest.mark.parametrize(
    ("row", "sentence"),
    [
        ("abc,action,LIFT,,,", "row 2 has no by; row 2 has no when"),
        ("abc,action,LIFT,B,5/19/2026,", "when is '5/19/2026', expected a date"),
        ("abc,action,LIFT,B,20260519,", "expected a date"),
    ],
)
def test_decisions_need_a_name_and_a_date(row: str, sentence: str) -> None:
    """Of two decisions the later one counts, so the date must sort."""
    with pytest.raises(JobError, match=sentence):
        read_decisions((DECISIONS + row).encode(), name="decisions.csv")


def test_bytes_that_are_no_text_are_refused() -> None:
    """The reader of text says it."""
    with pytest.raises(ReadError, match="UTF-8"):
        read_numbers(b"\xff\xff", name="numbers.csv")
