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


def ids(*rows, time_us=NO_TIME_US, lon_deg=float("nan")):
    """The ids of marks without words, by what else they say."""
    usual = {"words": "MH", "source": "a", "across_frame": "up-station", "method": "taped"}
    placed = [(Place(time_us, lon_deg, lon_deg), usual | row) for row in rows]
    return marks_table(placed)["mark_id"].tolist()


def test_marks_without_coordinates_are_told_apart_by_their_station() -> None:
    """By leg, station and offset, and without a time by who says so."""
    here = {"said_leg": "A", "said_station": "12+40"}
    others = [
        {"said_leg": "B"},
        {"said_station": "13+10"},
        {"said_offset": "4 RT"},
        {"by": "R. S."},
    ]

    for other in others:
        assert ids(here) != ids(here | other)
    assert ids(here, time_us=1) == ids(here | {"by": "R. S."}, time_us=1)
    assert ids(here, lon_deg=1.0) == ids(here | {"said_station": "13+10"}, lon_deg=1.0)


def test_two_equal_marks_are_two() -> None:
    """The second is told from the first by its order, in any file."""
    first, second = ids({"said_station": "12+40"}, {"said_station": "12+40"})

    assert first != second
    assert ids({"said_station": "12+40"}) == [first]
