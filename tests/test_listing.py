"""The one list that every output shows, worded once."""

import dataclasses

import pytest
from maps.example_pack import example_legs, example_pack, example_settings, pack_of, thing
from sheets.made_plans import planned

from routeprep.deciding import NOT_DECIDED
from routeprep.lines import StationEquation
from routeprep.listing import EXPORTED, distance_text, rows, rows_by_leg
from routeprep.plans import Plan
from routeprep.streets import Landmark
from routeprep.units import to_m

ROAD, SIDE = example_legs()


def one(**changes):
    """The list's row of one thing 120 m along the first leg."""
    (row,) = rows(pack_of((ROAD,), [thing(ROAD, "A-1", "SMH", 120.0, **changes)])).to_dict(
        "records"
    )
    return row


def test_the_exported_columns_come_first():
    """What is exported stands first and in its order."""
    assert tuple(rows(example_pack()).columns[: len(EXPORTED)]) == EXPORTED


def test_a_pack_without_things_has_an_empty_list_with_all_columns():
    """Nothing found is a list of no rows, not a failure."""
    listed = rows(pack_of((ROAD,), []))

    assert list(listed.columns) == list(rows(example_pack()).columns)
    assert len(listed) == 0


def test_the_list_changes_nothing_in_the_pack():
    """Making the list leaves the table of obstructions as it was."""
    pack = example_pack()
    before = pack.obstructions.copy(deep=True)
    rows(pack)

    assert before.equals(pack.obstructions)


def test_stations_count_from_the_start_or_from_the_named_zero():
    """120 m is 393.70 ft: 13+93.7 from 10+00, or 3+93.7 from the curb, whose name is said."""
    other = thing(SIDE, "B-1", "SMH", 120.0)
    listed = rows(pack_of((ROAD, SIDE), [thing(ROAD, "A-1", "SMH", 120.0), other]))

    assert listed["station"].tolist() == ["13+93.7", "3+93.7 from ELM N CURB"]
    assert listed["zero_text"].tolist() == ["", "from ELM N CURB"]


@pytest.mark.parametrize(
    ("method", "text"),
    [("vehicle", "13+95"), ("walked", "13+95"), ("wheeled", "13+94"), ("taped", "13+94")],
)
def test_no_finer_than_it_was_measured(method, text):
    """Whole feet if wheeled or taped, the nearest 5 ft otherwise."""
    assert one(method=method, along_sd_m=0.1)["station_text"] == text


def test_a_taped_mark_placed_by_satellite_prints_no_finer_than_that():
    """Its station is only as sure as its place: ±15 ft is no whole foot."""
    assert one(method="taped", along_sd_m=2.0)["station_text"] == "13+95"


@pytest.mark.parametrize(
    ("sd_m", "units", "text"),
    [
        (0.1, "us", ""),
        (0.77, "us", ""),
        (0.78, "us", "±10 ft"),
        (2.5, "us", "±20 ft"),
        (0.1, "metric", ""),
        (2.5, "metric", "±5 m"),
    ],
)
def test_plus_minus_is_said_from_5_ft_up(sd_m, units, text):
    """The 95 % half-width, rounded up to 5 ft or 1 m; what is surer than 5 ft needs none."""
    settings = dataclasses.replace(example_settings((ROAD,)), units=units)
    row = thing(ROAD, "A-1", "SMH", 120.0, along_sd_m=sd_m)

    assert rows(pack_of((ROAD,), [row], settings=settings))["plus_minus_text"].tolist() == [text]


def test_plus_minus_is_the_95_percent_half_width():
    """1.96 standard deviations (normal distribution)."""
    assert one(along_sd_m=2.0, offset_sd_m=1.0)["plus_minus_m"] == pytest.approx(3.92, abs=0.001)


@pytest.mark.parametrize(
    ("lane", "across", "offset_m", "side"),
    [
        ("R1", "outer wheel path", -1.0, "R"),
        ("L2", "", 5.0, "L"),
        ("", "on the line", 5.0, "C"),
        ("", "", 9.0, "R"),
        ("", "", -9.0, "L"),
        ("", "", 3.0, ""),
    ],
)
def test_side_is_what_was_said_before_what_was_measured(lane, across, offset_m, side):
    """Where nobody said, the offset tells the side only if it is surer than its own doubt."""
    assert one(lane=lane, across=across, offset_m=offset_m, offset_sd_m=2.5)["side"] == side


@pytest.mark.parametrize(
    ("changes", "text"),
    [
        ({"lane": "R1", "across": "inner wheel path"}, "right, inner wheel path"),
        ({"lane": "L2", "across": ""}, "left side, lane 2 from the line"),
        ({"lane": "", "across": "", "offset_m": 0.0}, "side not sure"),
        ({"lane": "", "across": "on the line"}, "on the line"),
        ({"lane": "", "across": "whole road"}, "whole road"),
        (
            {"lane": "R1", "across": "", "doubt": "lane not sure; near tie"},
            "right side, lane not sure",
        ),
    ],
)
def test_where_across_in_words(changes, text):
    """Side, lane and position, and that the lane is not sure."""
    assert one(**changes)["where_text"] == text


@pytest.mark.parametrize(
    ("across", "box"),
    [("curb or edge", 0), ("on the line", 4), ("whole road", -1), ("", -1)],
)
def test_box_from_curb_to_line(across, box):
    """Five boxes; what fits none has none."""
    assert one(across=across)["box"] == box


def test_until_a_person_decides_it_reads_stop():
    """The table's proposal is no decision."""
    row = one(action="LIFT", proposed="LIFT", decided_by="")

    assert (row["do_text"], row["proposed_text"]) == (NOT_DECIDED, "LIFT")


def test_a_decision_is_printed_alone():
    """What a named person decided needs no proposal beside it."""
    row = one(action="GO AROUND", proposed="LIFT", decided_by="A. Sample")

    assert (row["do_text"], row["proposed_text"]) == ("GO AROUND", "")


def test_a_thing_that_is_gone_is_struck():
    """It stays on the list under its number."""
    assert one(status="gone (A. Sample, 2026-05-30)")["struck"]


def test_distance_to_the_next_ends_with_the_leg():
    """The last row of a leg has no next one."""
    things = [thing(ROAD, "A-1", "SMH", 100.0), thing(ROAD, "A-2", "SMH", 130.0)]
    listed = rows(pack_of((ROAD, SIDE), [*things, thing(SIDE, "B-1", "SMH", 10.0)]))

    assert listed["to_next_m"].tolist()[0] == 30.0
    assert listed["to_next_m"].isna().tolist() == [False, True, True]


@pytest.mark.parametrize(
    ("length_m", "units", "step", "text"),
    [
        (30.48, "us", 5.0, "100 ft"),
        (31.0, "us", 5.0, "100 ft"),
        (31.0, "us", 1.0, "102 ft"),
        (1609.344, "us", 5.0, "5,280 ft"),
        (31.4, "metric", 5.0, "31 m"),
        (31.44, "metric", 1.0, "31.4 m"),
    ],
)
def test_distances_for_people(length_m, units, step, text):
    """Feet on a US job, metres on a metric one, no finer than asked."""
    assert distance_text(length_m, units=units, step=step) == text


def test_a_place_reads_from_the_mile_marker_before_it():
    """120 m are 393.7 ft; without markers nothing is read."""
    road = dataclasses.replace(ROAD, markers=((0.0, 14.0), (1609.344, 15.0)))
    listed = rows(pack_of((road,), [thing(road, "A-1", "SMH", 120.0)]))

    assert listed["reference_text"].tolist() == ["MM 14 + 390 ft"]
    assert one()["reference_text"] == ""


def test_a_station_that_stands_twice_says_which():
    """In the exports and on the sheet: 14+00 BK is 1,000 ft less than 14+00 AH."""
    equations = (StationEquation(back_value=2500.0, ahead_value=1300.0),)
    stationing = dataclasses.replace(
        ROAD.stationing, equations=equations, length_m=ROAD.line.length_m
    )
    road = dataclasses.replace(ROAD, stationing=stationing)
    listed = rows(pack_of((road,), [thing(road, "A-1", "SMH", 400 * 0.3048)]))

    assert listed["station"].tolist() == ["14+00.0 BK"]
    assert listed["station_text"].tolist() == ["14+00 BK"]
    assert listed["station_value"].tolist() == pytest.approx([1400.0])


def test_rows_stand_under_their_leg_in_order():
    """A leg without things has no rows."""
    made = pack_of((ROAD, SIDE), [thing(ROAD, f"A-{k}", "SMH", 60.0 * k) for k in (1, 2)])
    by_leg = rows_by_leg(made)

    assert [row["no"] for row in by_leg[ROAD.settings.code]] == ["A-1", "A-2"]
    assert by_leg[SIDE.settings.code] == []


ELM, OAK = (
    Landmark(name="Elm St", along_m=100.0, side="", source="streets.geojson"),
    Landmark(name="Oak Av", along_m=200.0, side="R", source="streets.geojson"),
)


@pytest.mark.parametrize(
    ("along_m", "method", "text"),
    [
        (126.0, "vehicle", "85 ft past Elm St"),
        (126.0, "taped", "85 ft past Elm St"),
        (126.5, "taped", "87 ft past Elm St"),
        (74.0, "vehicle", "85 ft before Elm St"),
        (100.5, "vehicle", "at Elm St"),
        (199.5, "vehicle", "at Oak Av"),
        (198.0, "vehicle", "320 ft past Elm St"),
        (300.0, "vehicle", "330 ft past Oak Av"),
    ],
)
def test_how_far_past_the_last_landmark(along_m, method, text):
    """26 m is 85.3 ft and 26.5 m 86.9 ft; before the first one where none lies before."""
    road = dataclasses.replace(ROAD, landmarks=(ELM, OAK))
    made = pack_of((road,), [thing(road, "A-1", "SMH", along_m, method=method, along_sd_m=0.1)])

    assert rows(made)["landmark_text"].tolist() == [text]


def test_without_landmarks_none_is_named():
    """Nothing is made up."""
    assert one()["landmark_text"] == ""


def lifts(*things):
    """What the list says of lifts of things: along, lane and other values of each."""
    made = [
        thing(ROAD, f"A-{k}", "SMH", at_m, **({"action": "LIFT", "decided_by": "J. Doe"} | more))
        for k, (at_m, more) in enumerate(things, start=1)
    ]
    return rows(pack_of((ROAD,), made))["lift_text"].tolist()


def test_things_nearer_than_25_ft_are_lifted_over_as_one():
    """25 ft is 7.62 m: 7.6 m joins and 7.7 m does not; the ends are rounded away."""
    joined = lifts((100.0, {}), (107.6, {}), (115.3, {}))

    assert joined == ["ONE LIFT 13+25 to 13+55: A-1, A-2"] * 2 + [""]


def test_a_row_of_near_things_is_one_lift():
    """Each near the one before, however far the first is from the last."""
    assert (
        lifts(*((100.0 + 7.0 * k, {}) for k in range(4)))
        == ["ONE LIFT 13+25 to 14+00: A-1, A-2, A-3, A-4"] * 4
    )


@pytest.mark.parametrize(
    "other",
    [
        {"action": "STOP"},
        {"decided_by": "", "action": NOT_DECIDED},
        {"status": "gone (J. Doe, 2026-05-30)"},
        {"lane": "L1"},
    ],
)
def test_only_decided_lifts_of_one_lane_are_joined(other):
    """A stop stays a stop, and what another pass meets is another lift."""
    assert lifts((100.0, {"lane": "R1"}), (103.0, {"lane": "R1"} | other)) == ["", ""]


def test_a_lane_that_is_not_sure_joins_with_any():
    """Every pass that it may touch lifts over it; but it does not join two lanes."""
    texts = lifts((100.0, {"lane": "R1"}), (102.0, {"lane": ""}), (104.0, {"lane": "L1"}))

    assert texts == ["ONE LIFT 13+25 to 13+35: A-1, A-2"] * 2 + [""]


def test_lanes_side_by_side_have_lifts_of_their_own():
    """What lies between in the other lane does not part them."""
    lanes = ("R1", "L1", "R1", "L1")
    texts = lifts(*((100.0 + k, {"lane": lane}) for k, lane in enumerate(lanes)))

    assert [text.partition(": ")[2] for text in texts] == ["A-1, A-3", "A-2, A-4"] * 2


def test_a_long_thing_is_said_with_both_its_ends():
    """101 to 221 ft from 10+00, rounded away to 5 ft; a casting has one place."""
    assert one(from_m=to_m(101.0, "ft"), to_m=to_m(221.0, "ft"))["ends_text"] == "11+00 to 12+25"
    assert one()["ends_text"] == ""


def test_passes_say_which_passes_meet_a_thing():
    """In the order of the plan, each once; empty where none does."""
    made = rows(planned()).set_index("no")["passes"]

    assert made[["A-1", "A-5", "B-1"]].tolist() == ["A R1; A R2", "A R1", "B L1"]
    assert set(rows(planned(Plan()))["passes"]) == {""}
