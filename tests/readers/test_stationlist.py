"""Plain lists of stations: what is taken, what waits to be sorted, and what is said."""

import time
from contextlib import suppress

import pytest
from builders import KINDS
from hypothesis import given
from hypothesis import strategies as st

from routeprep.errors import ReadError
from routeprep.readers.stationlist import read_station_list

# Invented, as crews write them.
LIST = """# second night
LEG A, Bluestem Road
wheeled by R. Sample, 2026-05-04

12+40 MH RT wheel path, 24 in, lowered 3 in
12+55, 12 RT, WV
13+10 to 13+60 patch RT
MH by the church
Bridge Road
taped
0+10 CB 11.5 ft LT
"""


def read(text, encoding="utf-8"):
    """A part from the text of a list."""
    return read_station_list(text.encode(encoding), name="walk.txt", kinds=KINDS)


def marks(text):
    """The marks of a list."""
    return read(text).marks.to_dict("records")


def only(line):
    """What the only line says: station, offset, kind, across, size, note."""
    (mark,) = marks(line)
    names = ("said_station", "said_offset", "kind", "across", "size", "note")
    return tuple(mark[name] for name in names)


def test_each_line_is_a_mark_that_says_its_station() -> None:
    """With what stood above it: leg, method, who and the day."""
    first = marks(LIST)[0]

    assert (first["kind"], first["size"]) == ("MH", "24 in")
    assert (first["said_leg"], first["said_station"]) == ("A, Bluestem Road", "12+40")
    assert (first["method"], first["across_frame"]) == ("wheeled", "up-station")
    assert (first["by"], first["source"]) == ("R. Sample, 2026-05-04", "walk.txt")
    assert first["words"] == "MH RT wheel path, 24 in, lowered 3 in; 12+40"


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("12+40 MH 6\u2019 RT, 24\u201d", ("12+40", "6' RT", "MH", "", "24 in", "")),
        ("0+120 MH 2,5 m R, 600 mm", ("0+120", "2.5 m R", "MH", "", "600 mm", "")),
        ("0+120 WV 1.2 m LT", ("0+120", "1.2 m LT", "WV", "", "", "")),
        ("9:12am 13+10 CB 18 ft RT", ("13+10", "18 ft RT", "CB", "", "", "at 9:12am")),
    ],
    ids=["quotes of a phone", "decimal comma", "decimal point", "time of day"],
)
def test_what_people_type_for_numbers_is_understood(line: str, said: tuple[str, ...]) -> None:
    """Quotes of a phone's keyboard, metres with a comma, a time before the station."""
    assert only(line) == said


def test_a_comma_in_feet_may_be_two_things_and_is_not_read_as_one() -> None:
    """24 in and 6 ft, or 24.6 ft: nobody knows, so no offset is made of its end."""
    assert only("12+40 MH 24,6 ft RT")[1] != "6 ft RT"


def test_headings_hold_until_the_next() -> None:
    """The street and the method change, who and the day stay."""
    last = marks(LIST)[-1]

    assert (last["said_leg"], last["method"]) == ("Bridge Road", "taped")
    assert (last["said_offset"], last["by"]) == ("11.5 ft LT", "R. Sample, 2026-05-04")


def test_counts_and_findings_say_what_became_of_every_line() -> None:
    """Marks, headings, comments, lines without a station; lowered and headings are told."""
    part = read(LIST)
    texts = [one.text for one in part.findings]

    assert part.source.taken == {"marks": 5, "headings": 4, "lines without a station": 1}
    assert part.source.skipped == {"comments": 1}
    assert "1 lines have no station, or more than one" in texts[0]
    assert "line 8 ('MH by the church')" in texts[0]
    assert texts[1].startswith("headings: line 2: leg or street A, Bluestem Road; line 3: ")
    assert "lowered stands in the note of line 5" in texts[2]
    assert [one.level for one in part.findings] == ["doubt", "note", "note"]


def test_a_line_without_a_station_waits_to_be_sorted() -> None:
    """Its words are understood, and yet nothing could place it."""
    lost = marks(LIST)[3]

    assert (lost["kind"], lost["words"]) == ("", "MH by the church")
    assert lost["note"] == "line 8 says no station"


@pytest.mark.parametrize(
    ("line", "station"),
    [
        ("12+40 MH", "12+40"), ("-0+50 MH", "-0+50"), ("\u22120+50 MH", "-0+50"),
        ("1+234.5 MH", "1+234.5"), ("Sta. 12+40 MH", "12+40"), ("MH at 12+40", "12+40"),
        ("@ 12+40 MH", "12+40"), ("12+40 BK MH", "12+40 BK"), ("12+40 AH, MH", "12+40 AH"),
        ("12+40 region 2 MH", "12+40 region 2"), ("1. 12+40 MH", "12+40"),
        ("\u2022 12+40 MH", "12+40"), ("12 + 40 MH", "12 + 40"), ("12+40\tMH", "12+40"),
        ("12+40 to 13+10 MH", "12+40 to 13+10"), ("12+40-13+10 MH", "12+40 to 13+10"),
        ("12+40 - 13+10: MH", "12+40 to 13+10"), ("-0+50 thru 0+20 MH", "-0+50 to 0+20"),
    ],
)  # fmt: skip
def test_stations_are_found_as_people_write_them(line: str, station: str) -> None:
    """Of any unit, with a sign, a region, a bullet, or as a reach."""
    assert only(line)[:3] == (station, "", "MH")


@pytest.mark.parametrize(
    ("line", "offset"),
    [
        ("12+40 12 RT MH", "12 RT"), ("12+40, 12 RT, MH", "12 RT"), ("12+40 MH, 12 R", "12 R"),
        ("12+40 MH 6.5 ft LT", "6.5 ft LT"), ("12+40 MH LT 6.5 ft", "LT 6.5 ft"),
        ("12+40 MH 12' RT", "12' RT"),
        ("12+40 MH 2 m right of centerline", "2 m right of centerline"),
        ("12+40 MH", ""), ("12+40 MH RT", ""), ("12' RT MH 12+40", "12' RT"),
    ],
)  # fmt: skip
def test_offsets_are_found_with_their_side(line: str, offset: str) -> None:
    """A bare number only where it can be nothing else."""
    assert only(line)[1:3] == (offset, "MH")


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("12+40 MH CL", ("12+40", "CL", "MH", "on the line", "", "")),
        ("12+40 MH double yellow", ("12+40", "", "MH", "on the line", "", "")),
        ("12+40 MH RT curb", ("12+40", "RT", "MH", "curb or edge", "", "")),
        ("12+40 WV left side, OWP", ("12+40", "LT", "WV", "outer wheel path", "", "")),
        ("12+40 MH RT", ("12+40", "", "MH", "right side", "", "")),
        ("12+40 MH RT wheel path",
         ("12+40", "", "MH", "right wheel path", "", "right wheel path")),
        ("12+40 MH 24 in RT curb", ("12+40", "RT", "MH", "curb or edge", "24 in", "")),
        ("12+40 MH lowered 3 in, 24 in", ("12+40", "", "MH", "", "24 in", "lowered 3 in")),
    ],
)  # fmt: skip
def test_where_across_is_kept_with_its_side(line: str, said: tuple[str, ...]) -> None:
    """Right of the line is told from the right wheel path, whose lane is not said."""
    assert only(line) == said


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("12+40 whatsit", "whatsit; 12+40"), ("12+40", "12+40"),
        ("12+40 MH 24 RT", "MH 24 RT; 12+40"),
        ("12+40 MH 24 RT wheel path", "MH 24 RT wheel path; 12+40"),
        ("12+40 MH 3 ft RT, 4 ft LT", "MH 3 ft RT, 4 ft LT; 12+40"),
        ("12+40 MH 24 RT x 36", "MH 24 RT x 36; 12+40"),
    ],
)  # fmt: skip
def test_words_that_are_not_clear_wait_beside_their_station(line: str, words: str) -> None:
    """24 RT may be a size or an offset; two offsets are none."""
    station, offset, kind, *_ = only(line)

    assert (station, offset, kind) == ("12+40", "", "")
    assert marks(line)[0]["words"] == words


@pytest.mark.parametrize(
    "line", ["0+10 and 0+20 MH", "- 15+00 MH", "MH 12+4", "MH 12+4050", "1+2+30 MH", "x" * 600]
)
def test_a_line_whose_station_is_not_clear_waits_as_it_was_typed(line: str) -> None:
    """Two stations, a bullet that may be a sign, digits that are none."""
    lost = marks(f"12+40 MH\n{line}")[1]

    assert (lost["kind"], lost["said_station"], lost["words"]) == ("", "", line)


def test_without_a_word_about_it_a_list_is_wheeled() -> None:
    """And that is said."""
    part = read("12+40 MH")

    assert part.marks["method"].tolist() == ["wheeled"]
    assert "is not said: taken as wheeled" in part.findings[0].text


def test_a_date_that_may_be_two_is_kept_as_typed() -> None:
    """With a doubt."""
    part = read("wheeled by R. Sample, 5/4/2026\n12+40 MH")

    assert part.marks["by"].tolist() == ["R. Sample, 5/4/2026"]
    assert "dates that may be two are kept as typed (line 1: '5/4/2026')" in part.findings[0].text


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_encoding_and_line_ending_do_not_matter(encoding: str, ending: str) -> None:
    """An older encoding is a doubt."""
    part = read(f"12+40 MH, près{ending}13+10 WV", encoding)

    assert part.marks["note"].tolist() == ["près", ""]
    assert any("Windows-1252" in one.text for one in part.findings) == (encoding == "cp1252")


def test_a_line_put_in_before_changes_no_id() -> None:
    """And the same line twice is two things."""
    first = [mark["mark_id"] for mark in marks("12+40 MH\n13+10 MH\n13+10 MH")]
    later = [mark["mark_id"] for mark in marks("11+00 WV\n12+40 MH\n13+10 MH\n13+10 MH")]

    assert later[1:] == first
    assert len(set(first)) == 3


def test_lists_of_two_legs_or_two_people_are_not_one_list() -> None:
    """The same line on another leg, or by another person, is another mark."""
    texts = ["12+40 MH", "LEG A\n12+40 MH", "LEG B\n12+40 MH", "by: R. S.\n12+40 MH"]

    assert len({marks(text)[0]["mark_id"] for text in texts}) == 4


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"", "walk.txt: is empty"),
        (b"MH\nlunch\n", r"no line has a station; .* it begins with 'MH', 'lunch'"),
        (b"# nothing\n", "no line has a station"),
        (b"\x00\xff\xfe\x01", "is not text"),
    ],
)
def test_what_is_no_list_is_refused(data: bytes, sentence: str) -> None:
    """One sentence, with the first lines."""
    with pytest.raises(ReadError, match=sentence):
        read_station_list(data, name="walk.txt", kinds=KINDS)


@pytest.mark.parametrize(
    "line",
    [
        "at " * 30_000, "@" + " " * 100_000 + "x", "12+40" + " " * 100_000, "\t" * 100_000 + "x",
        "12+40 " * 20_000, "taped" + " " * 100_000 + "x", "leg" + " " * 100_000 + "!",
        "9" * 100_000,
    ],
)  # fmt: skip
def test_a_line_that_never_ends_is_read_quickly(line: str) -> None:
    """Nothing looks at it again and again."""
    begun = time.process_time()
    made = marks(f"12+40 MH\n{line}")

    assert len(made) == 2
    assert time.process_time() - begun < 10.0


@given(st.binary(max_size=200))
def test_no_bytes_break_the_reading(data: bytes) -> None:
    """Any bytes are a list or an error of ours."""
    with suppress(ReadError):
        read_station_list(data, name="walk.txt", kinds=KINDS)


lines = st.lists(
    st.text(st.characters(exclude_categories=["Cs", "Cc", "Zl", "Zp"]), max_size=40), max_size=8
)


@given(lines)
def test_no_line_with_text_is_lost(texts: list[str]) -> None:
    """Each is a mark, a heading or a comment."""
    part = read("\n".join(["12+40 MH", *texts]))
    counts = part.source.taken.get("headings", 0) + part.source.skipped.get("comments", 0)

    assert len(part.marks) + counts == 1 + sum(bool(text.strip()) for text in texts)


@given(
    st.integers(-2000, 9_999_99),
    st.integers(1, 300),
    st.sampled_from(["RT", "LT"]),
    st.sampled_from(["{s} MH {o}", "{s}, {o}, MH", "MH {o} at {s}", "STA {s} {o} MH"]),
)
def test_a_station_and_an_offset_that_were_written_are_read_back(
    tenths: int, offset: int, side: str, form: str
) -> None:
    """In any of the usual orders."""
    size = abs(tenths) / 10
    station = f"{'-' if tenths < 0 else ''}{int(size // 100)}+{size % 100:04.1f}"
    said = f"{offset / 10:g} ft {side}"

    assert only(form.format(s=station, o=said))[:3] == (station, said, "MH")
