"""What readers share: sources, parts, and hearing words."""

from builders import KINDS

from routeprep.readers.parts import Place, hear, make_part, marks_table, shown, source
from routeprep.readers.times import NO_TIME_US


def test_a_source_has_its_checksum_and_only_counts_of_something() -> None:
    """SHA-256 of no bytes is a published value (FIPS 180-4 examples)."""
    made = source(b"", name="a.csv", what="marks", taken={"z": 1, "a": 2, "n": 0}, skipped={})

    assert made.sha256 == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
    assert list(made.taken.items()) == [("a", 2), ("z", 1)]


def test_a_part_of_nothing_has_empty_tables() -> None:
    """What a reader did not take is an empty table of the right columns."""
    part = make_part(source(b"", name="a", what="marks", taken={}, skipped={}))

    assert [len(table) for table in (part.fixes, part.marks, part.records)] == [0, 0, 0]
    assert "mark_id" in part.marks.columns


def test_long_values_are_cut_in_messages() -> None:
    """A message shows the beginning of what is long."""
    assert shown("x") == "'x'"
    assert len(shown("x" * 1000)) < 50


def test_the_first_text_that_is_understood_counts() -> None:
    """All texts are kept once in the words."""
    heard = hear(("lunch", "manhole", "lunch"), KINDS)

    assert (heard["kind"], heard["words"]) == ("MH", "lunch; manhole")


def test_texts_that_say_nothing_have_no_kind() -> None:
    """Nothing is guessed: only the words are there."""
    assert hear(("lunch",), KINDS) == {"words": "lunch"}
    assert hear(("", ""), KINDS) == {"words": ""}


def test_equal_marks_are_told_apart() -> None:
    """Two marks alike in time, place and words have two ids."""
    row = {"words": "manhole", "across_frame": "as driven", "method": "vehicle", "source": "a"}
    table = marks_table([(Place(NO_TIME_US, -100.0, 41.0), dict(row)) for _ in range(2)])

    assert table["mark_id"].nunique() == 2
    assert table["time_utc"].isna().all()
