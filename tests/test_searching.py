"""What is worth a walk: on a leg that runs north from the origin of the tests' plane."""

import math

import pandas as pd
import pytest
import shapely
from builders import KINDS, lonlat, settings
from hypothesis import given
from hypothesis import strategies as st
from sheets.made_packs import thing
from test_pipes import LEG, line, manhole, record

from routeprep import tables
from routeprep.locating import locate
from routeprep.searching import search_of

FILE = {
    "status": "in a file, not seen", "times_seen": 0, "method": "file", "mark_ids": (),
    "record_ids": ("r1",), "lane": "", "across": "",
}  # fmt: skip
COVER = {
    "record_id": "r1", "name": "SMH-12", "owner": "City", "source": "records/covers.geojson",
    "geometry": shapely.Point(*lonlat(1.0, 300.0)),
}  # fmt: skip
ONCE = {"status": "seen once", "times_seen": 1}


def passed(up=2, down=2, *, from_m=0.0, to_m=1000.0, reason=""):
    """A stretch passed so many times."""
    return {"leg": "A", "from_m": from_m, "to_m": to_m, "looks_up": up, "looks_down": down,
            "looks_day": up + down, "looks_night": 0, "reason": reason}  # fmt: skip


def found(*things, records=(), marks=(), stretches=None, legs=(LEG,), **changes):
    """The rows of the search list."""
    made = [{"mark_id": at, "kind": kind, "across_frame": "as driven", "method": "vehicle",
             "source": "a.gpx"} for at, kind in marks]  # fmt: skip
    search = search_of(
        tables.table(tables.OBSTRUCTIONS, list(things)),
        tables.table(tables.RECORDS, list(records)),
        tables.table(tables.MARKS, made),
        tables.table(tables.COVERAGE, stretches or [passed()]),
        legs=legs,
        settings=settings(**changes),
    )
    return tables.rows_of(search)


def only(*things, **more):
    """The one row of the search list: what, why and owner."""
    (row,) = found(*things, **more)
    return row["what"], row["why"], row["owner"]


# --- things on the list


def test_what_a_file_has_and_nobody_saw_is_looked_for():
    """With its number, its owner, its file and the name it has there."""
    (row,) = found(manhole(300.0, **FILE), records=[COVER])

    assert (row["no"], row["owner"], row["record_id"]) == ("A-300", "City", "r1")
    assert row["why"] == "in records/covers.geojson as SMH-12; no drive saw it"
    assert (row["what"], row["from_m"], row["to_m"]) == ("sewer manhole 24 in", 300.0, 300.0)


def test_a_record_without_a_name_or_owner_says_what_it_can():
    """The owner's sort stands for the owner."""
    bare = COVER | {"name": "", "owner": ""}

    assert only(manhole(300.0, **FILE), records=[bare])[1:] == (
        "in records/covers.geojson; no drive saw it", "sewer",
    )  # fmt: skip
    assert only(manhole(300.0, **FILE))[1] == "in a file; no drive saw it"


def test_what_was_seen_twice_is_not_on_the_list():
    """Nor what was walked, or is gone, or was walked and not found."""
    walked = {"method": "walked", "status": "walked (J. Doe)"} | {"times_seen": 1}
    lost = [FILE | {"status": text} for text in ("walked, not found (J. Doe)", "gone (J. Doe)")]

    assert found(manhole(300.0), manhole(310.0, **walked)) == []
    assert found(*(manhole(300.0, **one) for one in lost)) == []


def test_iron_seen_once_of_several_passings_is_looked_for():
    """Of four; not of two, and not when a file has it too."""
    once = manhole(300.0, **ONCE)

    assert only(once)[1] == "seen on 1 of 4 passings, in no file: is it there?"
    assert found(once, stretches=[passed(1, 1)]) == []
    assert found(once | {"record_ids": ("r1",)}, records=[COVER]) == []


def test_a_patch_seen_once_is_not_looked_for():
    """It is no iron."""
    assert found(manhole(300.0, **ONCE, kind="PATCH", name="patch")) == []


def test_a_kind_that_may_be_several_is_asked_for():
    """An unknown valve; a manhole of unknown owner whose lane is not known either."""
    unsure = manhole(300.0, kind="MH", name="manhole", doubt="near tie; lane not sure")

    assert only(manhole(300.0, kind="VLV", name="unknown valve"))[1] == "which kind, and whose?"
    assert only(unsure)[1] == "which kind, and whose?; which lane?"


def test_marks_that_call_it_differently_are_told():
    """Twice a water valve, once a gas valve."""
    marks = [("a", "WV"), ("b", "GASV"), ("c", "WV"), ("d", "")]
    row = only(manhole(300.0, kind="WV", name="WATER VALVE", mark_ids=tuple("abcd")), marks=marks)

    assert row[1] == "called WATER VALVE 2, GAS VALVE 1 times: which is it?"


def test_the_side_is_said_when_it_is_known():
    """By the lane, by the line, by an offset beyond its ±; else not."""
    rows = found(
        manhole(100.0, **(FILE | {"lane": "L1"})),
        manhole(200.0, **(FILE | {"across": "on the line"})),
        manhole(300.0, 3.0, **FILE),
        manhole(400.0, -3.0, **FILE),
        manhole(500.0, 0.5, **FILE),
    )

    sides = {round(row["along_m"]): row["side"] for row in rows if row["from_m"] == row["to_m"]}
    assert sides == {100: "L", 200: "C", 300: "R", 400: "L", 500: ""}


def test_what_the_cut_cannot_meet_is_left_out():
    """12 m beside the road, and more than 100 ft past the limits; not what is 20 m past."""
    away = [manhole(300.0, 12.0, **FILE), manhole(1040.0, **FILE), manhole(-40.0, **FILE)]

    assert found(*away) == []
    assert [row["along_m"] for row in found(manhole(1020.0, **FILE))] == [1020.0]


# --- spacing


def test_a_gap_in_a_run_of_manholes_is_looked_at():
    """600 ft between two of one line: where the one between is, if 400 ft holds."""
    (row,) = found(manhole(100.0), manhole(100.0 + 600 * 0.3048))

    assert (row["what"], row["owner"], row["side"], row["no"]) == (
        "a sewer manhole between", "sewer", "R", "",
    )  # fmt: skip
    assert row["why"] == (
        "600 ft ±18 ft from A-100 to A-282.88, of one sewer as it seems: rarely more than 400 ft. "
        "Look first 200 ft to 400 ft past A-100"
    )
    assert (row["from_m"], row["to_m"]) == pytest.approx((100.0, 282.88))


def test_a_longer_gap_misses_more_than_one():
    """1,000 ft: two or more, and no place is likelier."""
    what, why, _ = only(manhole(100.0), manhole(404.8), units="metric")

    assert what == "2 or more sewer manholes between"
    assert why == (
        "305 m ±6 m from A-100 to A-404.8, of one sewer as it seems: rarely more than 122 m"
    )


def test_400_ft_is_no_gap():
    """Nor is what is nearer."""
    assert found(manhole(100.0), manhole(221.9)) == []


def test_no_gap_is_made_up_before_the_first_or_after_the_last():
    """One manhole in the middle of a kilometre; two that are more than 1,200 ft apart."""
    assert found(manhole(500.0)) == []
    assert found(manhole(100.0), manhole(470.0)) == []


def test_manholes_on_two_lines_are_two_runs():
    """6 m to the right and 6 m to the left by turns, each 100 m from the next on its line."""
    rows = [manhole(50.0 * at, 6.0 if at % 2 else -6.0) for at in range(2, 12)]

    assert found(*rows) == []
    assert len(found(*rows[:3], *rows[5:])) == 2


def test_a_manhole_whose_lane_is_not_sure_may_be_of_the_run():
    """It fills a gap, though its offset is 4 m off."""
    unsure = manhole(200.0, 5.0, offset_sd_m=2.0, **(FILE | {"method": "file"}))

    assert [row["no"] for row in found(manhole(100.0), unsure, manhole(300.0))] == ["A-200"]


def test_a_manhole_of_unknown_owner_may_be_of_the_run():
    """It ends a gap, and makes none of its own; what is far across does not end it."""
    ends = [manhole(100.0), manhole(300.0)]
    beside = manhole(200.0, 9.0, kind="MH", name="manhole")

    assert {row["no"] for row in found(*ends, manhole(200.0, kind="MH"))} == {"A-200"}
    assert "" in {row["no"] for row in found(*ends, beside)}


def test_a_manhole_that_was_walked_and_not_found_ends_no_gap():
    """The file may have it wrong, and one is still missing."""
    lost = manhole(200.0, **(FILE | {"status": "walked, not found (J. Doe)"}))

    assert [row["what"] for row in found(manhole(100.0), lost, manhole(300.0))] == [
        "a sewer manhole between"
    ]


def test_a_manhole_without_a_number_is_named():
    """Before numbers are given."""
    (row,) = found(manhole(100.0, no=""), manhole(300.0, no=""))

    assert "from a sewer manhole to a sewer manhole" in row["why"]


def test_a_gap_between_left_and_right_has_no_side():
    """Half a metre each from the line."""
    row = found(manhole(100.0, 0.5, lane="R1"), manhole(300.0, -0.5, lane="L1"))[0]

    assert (row["side"], row["offset_m"]) == ("", 0.0)


# --- pipes


def test_a_pipe_that_ends_in_the_road_is_looked_at():
    """Its end without a manhole, with the file's owner."""
    pipe = record(line((1, 200), (1, 300)), owner="City")
    (row,) = found(manhole(200.0), records=[pipe])

    assert (row["what"], row["owner"], row["record_id"]) == ("a sewer manhole", "City", "p1")
    assert row["why"] == "a pipe in records/sewers.geojson has its end here, and none is known"
    assert (row["side"], round(row["along_m"])) == ("R", 300)


def test_a_long_storm_pipe_is_looked_along():
    """200 m between two storm manholes, left of the line."""
    pipe = record(line((-1, 200), (-1, 400)), source="storm.gpkg")
    ends = [manhole(at, -1.0, kind="DMH", name="storm manhole") for at in (200.0, 400.0)]
    (row,) = found(*ends, records=[pipe])

    assert (row["what"], row["side"], row["owner"]) == ("a storm manhole or inlet", "L", "storm")
    assert row["why"] == "656 ft of pipe in storm.gpkg without one: rarely more than 400 ft"


def test_a_recorded_sewer_tells_more_than_a_gap():
    """Two pipes meet at 200 m between manholes 200 m apart: that place alone is looked at."""
    pipes = [record(line((1, 100), (1, 200))), record(line((1, 200), (1, 300)), "p2")]
    (row,) = found(manhole(100.0), manhole(300.0), records=pipes)

    assert (round(row["from_m"]), round(row["to_m"])) == (200, 200)


# --- stretches and order


@pytest.mark.parametrize(
    ("reason", "side"),
    [
        ("driven once", ""),
        ("parked cars hid it on the right (said by driver 1)", "R"),
        ("parked cars hid it on the left (said by driver 1)", "L"),
        ("parked cars hid it on the left (said by A); parked cars hid it on the right (B)", ""),
    ],
)
def test_what_was_poorly_looked_at_is_a_stretch(reason, side):
    """With its reason, and its side when one is said."""
    rows = [passed(to_m=200.0), passed(from_m=200.0, to_m=300.0, reason=reason)]
    (row,) = found(stretches=rows)

    assert (row["what"], row["why"], row["side"]) == ("all of this stretch", reason, side)
    assert (row["from_m"], row["to_m"]) == (200.0, 300.0)
    assert math.isnan(row["offset_m"])


def test_rows_stand_in_walking_order():
    """A stretch before the things in it."""
    things = [manhole(at, **FILE) for at in (700.0, 200.0, 520.0)]
    rows = found(*things, stretches=[passed(from_m=200.0, to_m=500.0, reason="driven once")])

    assert [(row["along_m"], row["what"]) for row in rows] == [
        (200.0, "2 or more sewer manholes between"), (200.0, "all of this stretch"),
        (200.0, "sewer manhole 24 in"), (520.0, "a sewer manhole between"),
        (520.0, "sewer manhole 24 in"), (700.0, "sewer manhole 24 in"),
    ]  # fmt: skip


def test_each_row_has_its_place_on_the_globe():
    """Located again, it lies where the row says."""
    rows = found(manhole(300.0, 2.0, **FILE), stretches=[passed(from_m=50.0, reason="driven once")])
    frame = pd.DataFrame(rows)
    places = locate(LEG.line, frame["lon_deg"].to_numpy(), frame["lat_deg"].to_numpy())

    assert places.along_m == pytest.approx(frame["along_m"].to_numpy(), abs=0.01)
    assert places.offset_m == pytest.approx([0.0, 2.0], abs=0.01)


def test_an_empty_job_has_an_empty_list():
    """Nothing known, nothing doubted."""
    assert found() == []


@given(st.permutations(range(3)))
def test_the_order_of_the_list_changes_nothing(order):
    """The same rows from things in any order."""
    things = [manhole(90.0 + 150.0 * at, **(FILE if at % 2 else ONCE)) for at in range(3)]

    assert found(*(things[at] for at in order)) == found(*things)


def test_the_tables_that_came_in_are_unchanged():
    """No column is added, no value put in another's place."""
    things = tables.table(tables.OBSTRUCTIONS, [thing("A-1", 100.0), thing("A-2", 300.0)])
    before = things.copy()
    empty = [
        tables.table(columns, []) for columns in (tables.RECORDS, tables.MARKS, tables.COVERAGE)
    ]
    search_of(things, *empty, legs=[LEG], settings=settings(kinds=KINDS))

    pd.testing.assert_frame_equal(things, before)
