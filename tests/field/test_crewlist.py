"""What the crew page keeps: every thing once, in the order met, the sides turned once."""

import json
from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from maps.example_pack import example_pack
from sheets.made_packs import HOSTILE, UNDECIDED, leg, pack, thing
from sheets.made_plans import FT, LANDMARKS, meeting, plan, planned, reverse, run

from routeprep.field.crewlist import crew_list
from routeprep.field.handout import handout
from routeprep.lines import StationEquation
from routeprep.listing import rows, rows_by_leg
from routeprep.plans import Plan
from routeprep.sealing import seal
from routeprep.sheets.run_pages import pass_page

HANDS = {"YOUR LEFT": "YOUR RIGHT", "YOUR RIGHT": "YOUR LEFT"}


def leg_of(made, code="A", **more):
    """One leg of the list."""
    return next(one for one in crew_list(made, **more)["legs"] if one["code"] == code)


def way_of(made_leg, travel, code=""):
    """A leg's whole list in one direction, or a pass of it."""
    return next(one for one in made_leg["ways"] if (one["pass"], one["travel"]) == (code, travel))


def met(way):
    """The numbers of a way's things, in the order met."""
    return [item["no"] for item in way["items"] if item["type"] == "thing"]


def of_type(way, kind):
    """A way's items of one type."""
    return [item for item in way["items"] if item["type"] == kind]


def swapped(text):
    """A text with left and right the other way round, and nothing else."""
    for one, other in HANDS.items():
        if one in text:
            return text.replace(one, other)
    return text


def test_every_obstruction_is_in_its_legs_list_once():
    """In both directions, of each leg; and all that the list has."""
    made = crew_list(planned())
    listed = rows(planned())

    for one in made["legs"]:
        wanted = list(listed.loc[listed["leg"] == one["code"], "no"])
        assert [item["no"] for item in one["things"]] == wanted
        for travel in (1, -1):
            assert Counter(met(way_of(one, travel))) == Counter(wanted)


@settings(max_examples=25)
@given(st.lists(st.floats(0.0, 1000.0), min_size=1, max_size=12))
def test_things_are_met_in_the_order_of_the_direction(along_m):
    """Wherever they lie: along rises up-station, and falls down-station."""
    made = leg_of(pack([thing(f"A-{at}", place_m) for at, place_m in enumerate(along_m, start=1)]))
    by_no = {one["no"]: one["along_m"] for one in made["things"]}
    up, down = (met(way_of(made, travel)) for travel in (1, -1))
    places_m = [by_no[no] for no in up]

    assert places_m == sorted(places_m)
    assert down == up[::-1]


def test_left_and_right_are_swapped_and_nothing_else():
    """Of what lies on a side; what is on the line or across the whole road stays."""
    sides = (
        thing("A-1", 20.0), thing("A-2", 60.0, lane="L1", offset_m=-1.5),
        thing("A-3", 90.0, lane="R2"), thing("A-4", 100.0, across=""),
        thing("A-5", 110.0, lane="C", across="on the line"),
        thing("A-6", 120.0, lane="", across="whole road"),
        thing("A-7", 130.0, lane="", across="", offset_m=0.0, doubt="lane not sure"),
    )  # fmt: skip
    made = leg_of(pack(sides))
    up, down = (
        {item["no"]: item["where"] for item in of_type(way_of(made, travel), "thing")}
        for travel in (1, -1)
    )

    assert up == {
        "A-1": "YOUR RIGHT, outer wheel path",
        "A-2": "YOUR LEFT, outer wheel path",
        "A-3": "YOUR RIGHT, lane 2 from the line, outer wheel path",
        "A-4": "YOUR RIGHT",
        "A-5": "on the line",
        "A-6": "whole road",
        "A-7": "side and lane not sure",
    }
    assert down == {no: swapped(where) for no, where in up.items()}


def test_the_whole_list_reads_as_the_sheet_has_it():
    """Station, ±, what, what to do, who, doubts, status and note."""
    listed = {row["no"]: row for row in rows_by_leg(pack())["A"]}
    things = {one["no"]: one for one in leg_of(pack())["things"]}

    for no, row in listed.items():
        one = things[no]
        assert (one["station"], one["plus_minus"]) == (row["station_text"], row["plus_minus_text"])
        assert (one["what"], one["do"]) == (row["what_text"], row["do_text"].upper())
    assert things["A-1"]["remarks"] == [HOSTILE]
    assert things["A-3"]["sub"] == ["call the plate's owner"]
    assert things["A-5"]["remarks"] == ["? near tie; lane not sure"]
    assert things["A-6"]["struck"]
    assert things["A-10"]["remarks"] == ["in a file, not seen"]


def test_what_nobody_decided_reads_stop_in_the_list_and_in_every_pass():
    """Whatever the pass would do there."""
    made = planned(plan(meetings=(meeting("A-2", 60.0, action="LIFT"),)))
    one = leg_of(made)
    listed = next(thing for thing in one["things"] if thing["no"] == "A-2")
    (passed,) = of_type(way_of(one, 1, "A R1"), "thing")

    assert (listed["do"], listed["undecided"], listed["boxed"]) == (UNDECIDED["action"], True, True)
    assert (passed["do"], passed["boxed"]) == (UNDECIDED["action"], True)


def test_a_landmark_is_past_up_station_and_before_down_station():
    """85 ft past Elm St for who comes from it, 85 ft before it for who goes to it."""
    made = leg_of(planned(plan(meetings=()), things=[thing("A-1", 300.0 + 85.0 * FT)]))
    up, down = (of_type(way_of(made, travel), "thing")[0]["under"] for travel in (1, -1))

    assert (up, down) == (["85 ft past Elm St"], ["85 ft before Elm St"])


def test_landmarks_lie_on_the_hand_they_are_seen_on():
    """Oak Ct comes from the left, looking up-station."""
    made = leg_of(planned())
    up, down = (
        [item["text"] for item in of_type(way_of(made, travel), "landmark")] for travel in (1, -1)
    )

    assert up == ["19+85 Elm St", "29+70 Oak Ct, on YOUR LEFT"]
    assert down == ["29+70 Oak Ct, on YOUR RIGHT", "19+85 Elm St"]


def test_the_cut_begins_where_it_is_met_first():
    """Limits are named by the direction, with their own stations; so with a named zero."""
    made = crew_list(planned())["legs"]
    bands = [
        [item["text"] for item in of_type(way_of(one, travel), "band")]
        for one in made
        for travel in (1, -1)
    ]

    assert bands[:2] == [["CUT BEGINS 10+00", "CUT ENDS 42+80.8"],
                         ["CUT BEGINS 42+80.8", "CUT ENDS 10+00"]]  # fmt: skip
    assert bands[2][0] == "CUT BEGINS 0+00 from Elm St north curb"
    assert way_of(made[0], -1)["from_to"] == "42+80.8 → 10+00"
    assert made[1]["zero"] == "from Elm St north curb"


def test_station_equations_stand_where_they_are():
    """Between the limits, in either direction."""
    plain = leg("A")
    jump = StationEquation(back_value=2000.0, ahead_value=2500.0)
    with_jump = replace(plain, stationing=replace(plain.stationing, equations=(jump,)))
    made = leg_of(pack([thing("A-1", 20.0)], legs=(with_jump,)))
    texts = [item["text"] for item in of_type(way_of(made, -1), "band")]

    assert texts[1] == "STATION EQUATION 20+00.00 BK = 25+00.00 AH"
    assert [piece[4] for piece in made["pieces"]] == [1, 2]


def test_a_withdrawn_number_stands_where_it_was_in_both_directions():
    """Struck through, with what became of it; of a leg that is no more, at the end."""
    gone = (("A-4", "A", "joined with A-3"), ("C-1", "C", "removed"))
    made = crew_list(pack(withdrawn=gone))
    items = [item for item in way_of(made["legs"][0], 1)["items"] if "no" in item]
    order = [item["no"] for item in items]

    assert order.index("A-3") + 1 == order.index("A-4") == order.index("A-5") - 1
    assert items[order.index("A-4")] == {
        "type": "withdrawn", "no": "A-4", "why": "joined with A-3",
    }  # fmt: skip
    assert [item["no"] for item in way_of(made["legs"][0], -1)["items"] if "no" in item] == (
        order[::-1]
    )
    assert made["withdrawn"] == [{"no": "C-1", "why": "removed"}]


def test_a_pass_has_what_its_run_sheet_has():
    """The same things in the same order with the same words; its direction is the plan's."""
    made = planned()
    one = leg_of(made)
    by_anchor = {row["anchor_id"]: row for row in rows_by_leg(made)["A"]}
    for given_pass in made.plan.passes[:2]:
        page = pass_page(given_pass, made, made.legs[0], by_anchor)
        way = way_of(one, given_pass.travel, given_pass.code)
        sheet = [item for item in page["items"] if item["type"] == "thing"]

        assert [
            (item["no"], item["where"], item["do"], item["lift"], item["sub"], item["under"])
            for item in of_type(way, "thing")
        ] == [
            (item["no"], item["drum"]["words"], item["do"], item["lift"], item["sub"],
             item["under_station"])
            for item in sheet
        ]  # fmt: skip
        assert len(way["items"]) == len(page["items"])
        assert way["title"] == f"{page['title']}, {page['direction']}"


def test_a_pass_run_the_other_way_meets_the_same_turned():
    """Left and right of what is taped are swapped, and the order is."""
    one = run()
    ways = [
        way_of(
            leg_of(planned(plan(passes=(it,), meetings=(meeting("A-4", 200.0),)))),
            it.travel,
            "A R1",
        )
        for it in (one, reverse(one))
    ]
    (up,), (down,) = (of_type(way, "thing") for way in ways)

    assert up["where"] == "2 ft from YOUR LEFT edge"
    assert down["where"] == swapped(up["where"])
    assert ways[0]["head"][1:3] == [
        "YOUR LEFT: centerline side, 2 in", "YOUR RIGHT: curb side, 1.5 in",
    ]  # fmt: skip
    assert ways[1]["head"][1:3] == [
        "YOUR LEFT: curb side, 1.5 in", "YOUR RIGHT: centerline side, 2 in",
    ]  # fmt: skip


def test_what_must_be_read_of_a_pass_stands_in_its_head():
    """Against traffic first, then the machine, the hands, the flags and the counts."""
    made = leg_of(planned())
    first, against = way_of(made, 1, "A R1")["head"], way_of(made, -1, "A R2")["head"]

    assert first[0] == "Big One, 7.25 ft wide"
    assert first[3].startswith("the curb is on the operator's right")
    assert first[-1].startswith("11 on this pass")
    assert against[0] == "AGAINST TRAFFIC"


def test_what_stands_between_the_things_of_a_pass_is_in_the_order_met():
    """Ramps, one lift, landmarks and round stations, each with where it is."""
    way = way_of(leg_of(planned()), 1, "A R1")
    places_m = [item["along_m"] for item in way["items"] if "along_m" in item]
    (lift,) = of_type(way, "lift")

    assert places_m == sorted(places_m)
    assert lift["text"].startswith("ONE LIFT for A-5, A-6")
    assert [item["text"] for item in of_type(way, "landmark")][:2] == ["15+00", "19+85 Elm St"]


def test_passes_are_listed_in_the_order_of_work_after_the_whole_street():
    """Without a machine there is the whole street alone."""
    codes = [way["pass"] for way in leg_of(planned())["ways"]]

    assert codes == ["", "", "A R1", "A R2"]
    assert [way["pass"] for way in leg_of(planned(Plan()))["ways"]] == ["", ""]


@pytest.mark.parametrize(("units", "said"), [("us", (25.0, "ft", FT)), ("metric", (10.0, "m", 1))])
def test_how_far_is_said_in_the_units_of_the_job(units, said):
    """To 25 ft, or 10 m."""
    made = crew_list(pack(units=units))

    assert (made["step"], made["unit"], made["unit_m"]) == said


def test_feet_to_the_next_agree_with_a_check_by_hand():
    """From 12+00 (200 ft along) to things at 100 m and 320 m: 128.1 ft and 849.9 ft."""
    made = leg_of(pack([thing("A-1", 100.0), thing("A-2", 320.0)]))
    ((from_m, to_m, first, last, _),) = made["pieces"]
    at_m = from_m + (1200.0 - first) / (last - first) * (to_m - from_m)
    far_ft = [(one["from_m"] - at_m) / made["unit_m"] for one in made["things"]]

    assert far_ft == pytest.approx([128.08, 849.87], abs=0.01)


def test_the_line_leads_from_degrees_to_along():
    """Each vertex with its distance along, to the centimetre."""
    made = example_pack()
    kept = np.array(leg_of(made)["line"])
    line = made.legs[0].line

    assert kept == pytest.approx(
        np.column_stack([line.lon_deg, line.lat_deg, line.along_m]), abs=0.0051
    )
    assert kept[:, :2] == pytest.approx(np.column_stack([line.lon_deg, line.lat_deg]), abs=5.1e-8)


def test_state_revision_and_seal_are_told():
    """A draft with its reasons; issued, none."""
    made = crew_list(pack())

    assert made["draft"] == ["1 of 7 things are not decided"]
    assert (made["revision"], made["seal"]) == ("C", seal(pack()))
    assert crew_list(pack(draft=()))["draft"] == []
    assert "Nobody marks or reads a screen while driving or on the platform." in made["cautions"]


def test_it_is_json_and_the_same_each_time():
    """No NaN anywhere; and it is in what a phone is handed."""
    made = planned()
    text = json.dumps(crew_list(made), allow_nan=False)

    assert text == json.dumps(crew_list(planned()), allow_nan=False)
    assert json.dumps(handout(made)["crew"], allow_nan=False) == text


def test_a_street_without_things_has_its_limits_and_landmarks():
    """Nothing is met, and that is said by the counts."""
    empty = replace(pack([], withdrawn=()), legs=(replace(leg("A"), landmarks=LANDMARKS),))
    way = way_of(leg_of(empty), 1)

    assert [item["type"] for item in way["items"]] == ["band", "landmark", "landmark", "band"]
    assert "0 on this list, 0 STOP, 0 not decided" in way["head"]
