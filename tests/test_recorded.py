"""What phones recorded becomes parts as readers make them."""

import datetime as dt
import math

import pytest
from builders import KINDS, WV
from field.phones import BEGIN_MS, DRIVE, drive_body, entry, fix, fixes_body, mark_body
from hypothesis import given
from hypothesis import strategies as st

from routeprep import tables
from routeprep.entries import make_entry
from routeprep.recorded import parts_of
from routeprep.tables import rows_of

OTHER = "9c000000-0000-4000-8000-000000000002"


def recorded(*bodies):
    """Entries of (kind, body), numbered as a phone numbers them."""
    return [entry(kind, f"{kind} {at}", body, counter=at) for at, (kind, body) in enumerate(bodies)]


def one_mark(**changes):
    """The row and part of one mark on a drive of four fixes."""
    body = mark_body(**changes)
    bodies = [("drive", drive_body()), ("fixes", fixes_body(*map(fix, range(4)))), ("mark", body)]
    (part,) = parts_of(recorded(*bodies), KINDS)
    (row,) = rows_of(part.marks)
    return row, part


def same(one, other):
    """Whether two sets of parts say the same."""
    return len(one) == len(other) and all(
        a.fixes.equals(b.fixes) and a.marks.equals(b.marks) and a.source == b.source
        and a.drive_names == b.drive_names and a.drive_by == b.drive_by
        and a.findings == b.findings
        for a, b in zip(one, other, strict=True)
    )  # fmt: skip


def test_nothing_recorded_makes_no_part():
    """The edge of no entries."""
    assert parts_of((), KINDS) == ()


def test_a_drive_is_a_part_with_its_fixes_and_marks():
    """Ids stay, the drive is named and known by who drove it."""
    row, part = one_mark()
    first = rows_of(part.fixes)[0]

    assert (row["mark_id"], row["drive_id"], row["kind"]) == ("mark-1", DRIVE, WV)
    assert part.drive_names == {DRIVE: "phone/drive 2026-09-21 14:00 3f2a91bc"}
    assert part.drive_by == {DRIVE: "R. Sample"}
    assert part.source.taken == {"fixes": 4, "marks": 1}
    assert (part.source.what, part.findings) == ("drive", ())
    assert first["time_utc"] == dt.datetime.fromtimestamp(BEGIN_MS / 1000, dt.UTC)
    assert (first["ele_m"], first["accuracy_m"], first["speed_mps"]) == (800.0, 5.0, 11.0)


def test_the_tables_are_as_declared():
    """What travels on is checked against the declarations."""
    _, part = one_mark()

    tables.check(part.fixes, tables.FIXES, what="fixes")
    tables.check(part.marks, tables.MARKS, what="marks")
    tables.check(part.records, tables.RECORDS, what="records")


def test_batches_that_come_in_any_order_make_one_drive_in_time_order():
    """The second batch came first, and one fix twice."""
    bodies = [("fixes", fixes_body(fix(2), fix(3))), ("fixes", fixes_body(fix(0), fix(2), fix(1)))]
    (part,) = parts_of(recorded(*bodies), KINDS)
    seconds = (part.fixes["time_utc"] - part.fixes["time_utc"].iloc[0]).dt.total_seconds()

    assert seconds.tolist() == [0.0, 1.0, 2.0, 3.0]
    assert part.source.skipped == {"fixes of a time that stands there already": 1}
    assert [one.level for one in part.findings] == ["note"]


def test_of_two_fixes_of_one_time_the_surer_is_kept():
    """An unknown accuracy is worse than a known one."""
    said = fixes_body(fix(0, accuracy_m=None), fix(0, accuracy_m=9.0), fix(0, accuracy_m=4.0))
    (part,) = parts_of(recorded(("fixes", said)), KINDS)

    assert part.fixes["accuracy_m"].tolist() == [4.0]


@pytest.mark.parametrize(
    "values",
    [
        None, "text", 7, [], [BEGIN_MS, -100.0], [None, -100.0, 41.0], [True, -100.0, 41.0],
        ["1", -100.0, 41.0], [0, -100.0, 41.0], [10**400, -100.0, 41.0], [BEGIN_MS, 200.0, 41.0],
        [BEGIN_MS, -100.0, -91.0], [BEGIN_MS, None, 41.0], [BEGIN_MS, -100.0, "41"],
        [BEGIN_MS, True, 41.0], [BEGIN_MS, 10**400, 41.0],
    ],
)  # fmt: skip
def test_what_is_no_fix_is_left_out_counted_and_said(values):
    """A phone that sends nonsense spoils nothing else."""
    (part,) = parts_of(recorded(("fixes", fixes_body(fix(0), values))), KINDS)

    assert part.source.skipped == {
        "fixes left out, since they have no time or place that can be": 1
    }
    assert [one.level for one in part.findings] == ["doubt"]
    assert len(part.fixes) == 1


def test_numbers_that_cannot_be_are_unknown():
    """A negative speed is how some devices say that they know none."""
    (part,) = parts_of(
        recorded(("fixes", fixes_body([BEGIN_MS, -100.0, 41.0, None, -1, -1.0, 361]))), KINDS
    )
    (row,) = rows_of(part.fixes)

    assert all(math.isnan(row[name]) for name in ("ele_m", "accuracy_m", "speed_mps", "course_deg"))


def test_a_short_fix_knows_its_place_alone():
    """Time and place are all that is needed."""
    (part,) = parts_of(recorded(("fixes", fixes_body([BEGIN_MS, -100.0, 41.0]))), KINDS)
    (row,) = rows_of(part.fixes)

    assert (row["lon_deg"], row["lat_deg"]) == (-100.0, 41.0)
    assert math.isnan(row["accuracy_m"])


def test_a_walk_is_a_walk_and_its_marks_are_a_walkers():
    """What says from a vehicle on a walk was walked; wheeled stays."""
    bodies = [
        ("drive", drive_body(walk=True, name="")),
        ("fixes", fixes_body(fix(0))),
        ("mark", mark_body("a")),
        ("mark", mark_body("b", method="wheeled")),
    ]
    (part,) = parts_of(recorded(*bodies), KINDS)

    assert part.source.what == "walk"
    assert part.drive_names == {DRIVE: "phone/walk 3f2a91bc"}
    assert part.marks["method"].tolist() == ["walked", "wheeled"]


def test_a_drive_without_fixes_has_marks_alone():
    """Its file would be one of marks; no drive is named that has no fix."""
    (part,) = parts_of(recorded(("drive", drive_body()), ("mark", mark_body())), KINDS)

    assert part.source.what == "marks"
    assert part.drive_names == {}
    assert len(part.marks) == 1


def test_marks_of_no_known_drive_are_kept():
    """Nothing that was recorded is lost."""
    (part,) = parts_of(recorded(("mark", mark_body(drive_id=OTHER))), KINDS)
    (row,) = rows_of(part.marks)

    assert (row["drive_id"], row["source"]) == ("", "phone/marks of no drive")


def test_what_a_button_said_goes_before_the_words():
    """Words say one place across and one size, buttons another."""
    row, _ = one_mark(
        words="manhole outer wheel path, 24 in, rattles", across="left wheel path", size="30 in",
        note="loose",
    )  # fmt: skip

    assert (row["across"], row["size"]) == ("left wheel path", "30 in")
    assert row["note"] == "rattles; loose"


def test_words_alone_are_understood_as_in_any_file():
    """Where no button was pressed the words tell."""
    row, _ = one_mark(words="manhole outer wheel path, 24 in, rattles")

    assert (row["across"], row["size"], row["note"]) == ("outer wheel path", "24 in", "rattles")


def test_words_that_are_not_understood_stay_for_a_person_to_sort():
    """No kind is made up, no word dropped."""
    row, _ = one_mark(words="marked, not said what", across="whole road")

    assert (row["kind"], row["words"]) == ("", "marked, not said what")
    assert row["across"] == "whole road"


def test_a_height_without_a_source_is_a_guess():
    """And one that was measured is measured."""
    guessed, _ = one_mark(words="overhead wire", height_m=4.6)
    measured, _ = one_mark(words="overhead wire", height_m=4.6, height_by="measured")

    assert (guessed["height_m"], guessed["height_by"]) == (4.6, "guess")
    assert (measured["height_m"], measured["height_by"]) == (4.6, "measured")


def test_texts_that_no_column_can_hold_go_to_the_note():
    """A newer page may say more than this program knows."""
    row, _ = one_mark(across="sideways", method="flown", across_frame="down")

    assert (row["across"], row["method"], row["across_frame"]) == ("", "vehicle", "as driven")
    assert row["note"] == "across: sideways; across_frame: down; method: flown"


def test_a_mark_has_both_coordinates_or_none():
    """And a time that cannot be is none."""
    row, _ = one_mark(lat_deg=None, time_ms=5)

    assert math.isnan(row["lon_deg"])
    assert row["time_utc"] is tables.pd.NaT


def test_a_drive_that_was_renamed_has_its_newest_name():
    """The later entry counts; ``current_of`` hands over the one that stands."""
    first = entry("drive", DRIVE, drive_body(name="old"), counter=1)
    later = entry("drive", "x", drive_body(name="new"), counter=2)
    (part,) = parts_of([later, first, entry("fixes", "f", fixes_body(fix(0)))], KINDS)

    assert part.source.name == "phone/new 3f2a91bc"


def test_two_drives_are_two_parts():
    """Each has its own fixes and marks."""
    bodies = [
        ("fixes", fixes_body(fix(0), drive_id=OTHER)),
        ("fixes", fixes_body(fix(0), fix(1))),
        ("mark", mark_body(drive_id=OTHER)),
    ]
    one, other = parts_of(recorded(*bodies), KINDS)

    assert [len(one.fixes), len(other.fixes)] == [2, 1]
    assert [len(one.marks), len(other.marks)] == [0, 1]


drives = st.sampled_from([DRIVE, OTHER])
numbers = st.lists(st.integers(0, 40), max_size=12)
batches = st.builds(
    lambda drive_id, which: ("fixes", fixes_body(*map(fix, which), drive_id=drive_id)),
    drives, numbers,
)  # fmt: skip
marks = st.builds(
    lambda drive_id, number: (
        "mark", mark_body(f"mark-{number}", drive_id=drive_id, time_ms=BEGIN_MS + number)
    ),
    drives, st.integers(0, 5),
)  # fmt: skip
named = st.builds(lambda drive_id: ("drive", drive_body(drive_id)), drives)
sent = st.lists(st.one_of(batches, marks, named), max_size=8)


@given(bodies=sent, order=st.randoms(use_true_random=False))
def test_the_order_of_the_entries_changes_nothing(bodies, order):
    """Nor does an entry that came twice."""
    entries = recorded(*bodies)
    shuffled = [*entries, *entries[:2]]
    order.shuffle(shuffled)

    assert same(parts_of(entries, KINDS), parts_of(shuffled, KINDS))


@given(bodies=sent)
def test_each_fix_stands_once_and_times_rise(bodies):
    """Whatever batches they came in."""
    wanted = {
        (body["drive_id"], values[0])
        for kind, body in bodies if kind == "fixes"
        for values in body["fixes"]
    }  # fmt: skip
    parts = parts_of(recorded(*bodies), KINDS)
    found = [
        (row["drive_id"], round(row["time_utc"].timestamp() * 1000))
        for part in parts
        for row in rows_of(part.fixes)
    ]

    assert len(found) == len(wanted)
    assert set(found) == wanted
    assert all(part.fixes["time_utc"].is_monotonic_increasing for part in parts)


@given(bodies=sent)
def test_no_mark_is_lost(bodies):
    """Each entry of a mark is a row of a part."""
    parts = parts_of(recorded(*bodies), KINDS)

    assert sum(len(part.marks) for part in parts) == sum(kind == "mark" for kind, _ in bodies)


@given(values=st.lists(st.one_of(st.none(), st.booleans(), st.integers(), st.text(max_size=3),
                                 st.floats(allow_nan=False, allow_infinity=False))))  # fmt: skip
def test_any_json_is_a_fix_or_counted(values):
    """Whatever a phone sends, the rest of its drive is read."""
    body = {"drive_id": DRIVE, "fixes": [values, fix(1)]}
    one = make_entry(job="j", kind="fixes", thing="t", body=body, author="", device="d",
                     counter=0, time_utc=None)  # fmt: skip
    (part,) = parts_of([one], KINDS)

    assert len(part.fixes) + sum(part.source.skipped.values()) == 2
