"""What stands on the pages of one pass: everything it meets, once, in the order met."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from sheets.made_packs import NAN, UNDECIDED, thing
from sheets.made_plans import (
    FT,
    IN,
    MET,
    NOT_LIFTED,
    RAMPS,
    SURE,
    THINGS,
    machine,
    meeting,
    plan,
    planned,
    reverse,
    run,
)

from routeprep import listing
from routeprep.lines import StationEquation
from routeprep.sheets.run_pages import pass_page, station_of


def _listed(things):
    pack = planned(plan(passes=(), meetings=()), things=things)
    return pack, {row["anchor_id"]: row for row in listing.rows_by_leg(pack)["A"]}


USUAL = _listed(THINGS)


def listed(things):
    """A pack of these things, and their rows; the usual ones are listed once."""
    return USUAL if things is None else _listed(things)


def page(one=None, *, met=MET, things=None, **changes):
    """The pages of a pass that meets these things."""
    one = one or run()
    pack, rows = listed(things)
    made = plan(**({"passes": (one,), "meetings": met} | changes))
    return pass_page(one, replace(pack, plan=made), pack.legs[0], rows)


def of_type(made, kind):
    """The items of one type."""
    return [item for item in made["items"] if item["type"] == kind]


def numbers(made):
    """The numbers in the order of the page."""
    return [item["no"] for item in of_type(made, "thing")]


def bands(made):
    """The texts of the bands in their order."""
    return [item["text"] for item in of_type(made, "band")]


def test_a_pass_up_station_is_in_station_order():
    """All that it meets, once."""
    assert numbers(page()) == [f"A-{k}" for k in range(1, 12)]


@given(st.permutations(MET))
def test_reversing_a_pass_reverses_what_is_met_and_loses_nothing(met):
    """In whatever order the meetings are given."""
    up, down = page(met=met), page(reverse(run()), met=met)

    assert numbers(down) == numbers(up)[::-1]
    assert [edge["depth"] for edge in down["edges"]] == [
        edge["depth"] for edge in up["edges"]
    ][::-1]  # fmt: skip


def test_a_page_holds_its_own_pass_alone():
    """What another pass meets is on another page."""
    met = (*MET[:2], replace(MET[2], pass_code="A R2"))  # noqa: S106

    assert numbers(page(met=met)) == ["A-1", "A-2"]


def test_the_head_says_from_to_and_the_way():
    """A line of 1000 m from 10+00 ends at 42+81; turned for a pass down-station."""
    up, down = page(), page(reverse(run()))

    assert (up["from_to"], up["direction"]) == ("10+00 → 42+81", "STATIONS COUNT UP")
    assert (down["from_to"], down["direction"]) == ("42+81 → 10+00", "STATIONS COUNT DOWN")
    assert up["title"] == "INSIDE HALF, pass A R1"


def test_the_head_says_what_lies_at_either_hand_and_how_deep():
    """2 in at the line and 1.5 in at the curb."""
    up, down = page()["edges"], page(reverse(run()))["edges"]

    assert up == [
        {"hand": "YOUR LEFT", "side": "centerline side", "depth": "2 in"},
        {"hand": "YOUR RIGHT", "side": "curb side", "depth": "1.5 in"},
    ]
    assert [edge["side"] for edge in down] == ["curb side", "centerline side"]


def test_a_width_that_changes_says_both():
    """From 7 to 7.25 ft."""
    narrow = run(right_m=np.array([7.0 * FT, 7.25 * FT]))

    assert page()["width"] == "7.25 ft"
    assert page(narrow)["width"] == "7 to 7.25 ft"


def test_the_bands_begin_and_end_with_the_room_that_is_needed():
    """65 ft ahead of 42+81 is 43+46; down-station it is 9+35."""
    first, *_, last = of_type(page(ramps=()), "band")
    *_, down = of_type(page(reverse(run()), ramps=()), "band")

    assert (first["text"], last["text"]) == ("CUT BEGINS 10+00", "CUT ENDS 42+81")
    assert first["under"] == "Room ahead of the drum 65 ft, machine behind it 30 ft."
    assert last["under"] == "Room needed ahead of the drum 65 ft: the truck stands to 43+46."
    assert down["under"].endswith("the truck stands to 9+35.")


@pytest.mark.parametrize("machines", [(), (machine(ahead_m=NAN, behind_m=NAN),)])
def test_a_room_that_is_not_given_is_said(machines):
    """Of no machine, or of one that says nothing."""
    *_, last = of_type(page(machines=machines, ramps=()), "band")

    assert last["under"] == "Room needed ahead of the drum not given."


@pytest.mark.parametrize("travel", [1, -1])
def test_ramps_stand_at_their_ends(travel):
    """After the begin and before the end, either way."""
    made = bands(page(run(travel=travel)))

    assert made[0].startswith("CUT BEGINS")
    assert made[1].startswith("RAMP")
    assert made[-2].startswith("RAMP")
    assert made[-1].startswith("CUT ENDS")


def test_a_ramp_says_how_deep_and_how_long():
    """2 in at 48:1 is 8 ft (Louisiana section 509)."""
    assert bands(page())[1] == "RAMP 10+00: 2 in deep, 8 ft long (48:1)"


def test_ramps_of_other_strips_and_places_are_not_met():
    """Another strip's, and one beyond the end."""
    others = (replace(RAMPS[0], strip="left lane"), replace(RAMPS[0], along_m=1010.0))

    assert not [text for text in bands(page(ramps=others)) if text.startswith("RAMP")]


def stepped(depth_m, **changes):
    """A pass whose left depth jumps at 500 m from 2 in."""
    at_m = np.array([0.0, 500.0, 500.001, 1000.0])
    left_m = np.array([2.0 * IN, 2.0 * IN, depth_m, depth_m])
    return run(
        along_m=at_m, left_m=np.zeros(4), right_m=np.full(4, 7.25 * FT), depth_left_m=left_m,
        depth_right_m=np.full(4, 2.0 * IN), **changes,
    )  # fmt: skip


def test_a_depth_that_jumps_is_a_band_at_its_station():
    """500 m is 1640 ft: 26+40."""
    made = bands(page(stepped(1.0 * IN)))

    assert "DEPTH CHANGES 26+40: YOUR LEFT 2 in → 1 in, YOUR RIGHT stays 2 in" in made


def test_a_change_of_depth_is_turned_with_the_pass():
    """From 1 to 2 in, on the other hand."""
    made = bands(page(stepped(1.0 * IN, travel=-1)))

    assert "DEPTH CHANGES 26+40: YOUR LEFT stays 2 in, YOUR RIGHT 1 in → 2 in" in made


def test_a_depth_that_is_not_given_from_somewhere_on_is_a_band():
    """Nothing is guessed."""
    made = bands(page(stepped(NAN)))

    assert "DEPTH CHANGES 26+40: YOUR LEFT 2 in → not given, YOUR RIGHT stays 2 in" in made


def test_a_depth_that_changes_evenly_says_from_where_to_where():
    """400 m is 23+12, 600 m 29+69."""
    at_m = np.array([0.0, 400.0, 500.0, 600.0, 1000.0])
    depth_m = np.array([2.0, 2.0, 1.5, 1.0, 1.0]) * IN
    one = run(
        along_m=at_m, left_m=np.zeros(5), right_m=np.full(5, 7.25 * FT), depth_left_m=depth_m,
        depth_right_m=depth_m,
    )  # fmt: skip

    assert "DEPTH CHANGES EVENLY 23+12 to 29+69: both edges 2 in → 1 in" in bands(page(one))
    assert "DEPTH CHANGES EVENLY 29+69 to 23+12: both edges 1 in → 2 in" in bands(
        page(reverse(one))
    )


def test_what_is_lifted_over_as_one_has_a_band_before_it():
    """With its numbers, and the rows say so; not taped, so at the paint."""
    made = page()
    (band,) = of_type(made, "lift")
    at = made["items"].index(band)

    assert band["text"].startswith("ONE LIFT for A-5, A-6: LIFT and DROP at paint, about 20+50 to")
    assert [item["no"] for item in made["items"][at + 1 : at + 3]] == ["A-5", "A-6"]
    assert made["items"][at + 1]["lift"] == "in ONE LIFT: A-5, A-6"


def test_a_taped_lift_is_printed_as_stations_and_no_other():
    """A-4 alone is taped."""
    exact = {item["no"]: item["lift"] for item in of_type(page(), "thing") if item["exact"]}

    assert exact == {"A-4": "LIFT 16+46, DROP 16+70"}


def test_what_nobody_decided_reads_stop_whatever_the_meeting_says():
    """Also beside the drum."""
    met = (meeting("A-2", 60.0), meeting("A-2", 61.0, touch="side", action="SIDE PLATE / SKI"))
    first, second = of_type(page(met=met), "thing")

    assert {first["do"], second["do"]} == {"NOT DECIDED: STOP"}
    assert (first["boxed"], second["boxed"]) == (True, True)
    assert "SIDE PLATE / SKI side" in second["sub"]
    assert "proposed: GO AROUND" in first["sub"]


def test_a_row_says_the_state_of_a_casting():
    """Lowered 1 in under a 2-in cut: STOP, and that it was lowered."""
    (row,) = of_type(page(met=MET[-1:]), "thing")

    assert (row["do"], row["remarks"]) == ("STOP", ["lowered 1 in (J. Doe, 2026-05-30)"])


def test_a_height_and_a_doubt_are_remarks():
    """15 ft 5 in is 4.7 m, rounded down."""
    met = {row["no"]: row["remarks"] for row in of_type(page(), "thing")}

    assert met["A-8"] == ["height 15 ft 5 in, posted"]
    assert met["A-5"] == ["? lane not sure"]


def test_landmarks_stand_between_and_their_side_is_turned():
    """Oak Ct meets from the left looking up-station."""
    up, down = page(), page(reverse(run()))

    assert [item["text"] for item in of_type(up, "landmark")] == [
        "19+85 Elm St", "29+70 Oak Ct, on YOUR LEFT",
    ]  # fmt: skip
    assert of_type(down, "landmark")[0]["text"] == "29+70 Oak Ct, on YOUR RIGHT"


def test_past_and_before_a_landmark_are_turned():
    """65 ft past Elm St going up is before it going down; ends of what is long swap."""
    up = {row["no"]: row["under_station"] for row in of_type(page(), "thing")}
    down = {row["no"]: row["under_station"] for row in of_type(page(reverse(run())), "thing")}

    assert (up["A-5"], down["A-5"]) == (["65 ft past Elm St"], ["65 ft before Elm St"])
    assert (up["A-1"], down["A-1"]) == (["920 ft before Elm St"], ["920 ft past Elm St"])
    assert (up["A-10"][1], down["A-10"][1]) == ("35+90 to 36+75", "36+75 to 35+90")


def test_a_thing_at_a_landmark_is_at_it_either_way():
    """Nothing to turn."""
    things = [thing("A-1", 300.0, **SURE)]
    (row,) = of_type(page(reverse(run()), met=(meeting("A-1", 300.0),), things=things), "thing")

    assert row["under_station"] == ["at Elm St"]


def test_feet_to_the_next_stand_in_each_row():
    """40 m is 130 ft to the nearest 5."""
    made = page(met=MET[:2], ramps=())
    first, *_ = of_type(made, "thing")

    assert first["gap"] == "130 ft"
    assert of_type(made, "band")[-1]["gap"] == ""


def test_things_at_one_place_are_beside_each_other():
    """No feet between."""
    met = (meeting("A-1", 20.0), meeting("A-2", 20.2))
    first, _ = of_type(page(met=met), "thing")

    assert first["gap"] == "beside it"


def test_the_counts_are_of_what_is_met():
    """Two stops, one undecided, one that may be there."""
    assert page()["counts"] == (
        "11 on this pass: 2 STOP, 1 not decided, 1 that may be under the drum (striped)"
    )


def test_what_is_gone_is_struck_and_no_stop():
    """Kept, since it was recorded."""
    things = [thing("A-1", 20.0, status="gone (J. Doe, 2026-05-30)", **UNDECIDED)]
    met = (meeting("A-1", 20.0, action="GONE", **NOT_LIFTED),)
    (row,) = of_type(page(met=met, things=things), "thing")

    assert (row["struck"], row["do"], row["boxed"]) == (True, "GONE", False)


def test_station_equations_are_met_in_their_place():
    """As a line across; a pass that ends before one does not meet it."""
    pack = planned(plan(meetings=()))
    road = pack.legs[0]
    stationing = replace(
        road.stationing,
        equations=(StationEquation(back_value=2640.0, ahead_value=3000.0),),
        length_m=1000.0,
    )
    road = replace(road, stationing=stationing)
    short = run(along_m=np.array([0.0, 400.0]))
    shown = [of_type(pass_page(one, pack, road, {}), "landmark") for one in (run(), short)]

    assert [any("EQUATION" in item["text"] for item in items) for items in shown] == [True, False]


def test_a_station_is_to_the_whole_foot():
    """1000 m is 3280.8 ft."""
    assert station_of(planned().legs[0], 1000.0) == "42+81"
