"""The plan of work in words: the operator's left and right, lifts, and what the work amounts to."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from sheets.made_packs import NAN, leg
from sheets.made_plans import FT, amount, meeting, reverse, run

from routeprep.planwords import (
    area_text,
    depths_text,
    hands,
    lift_text,
    pass_text,
    quantity_texts,
    turned,
    width_text,
)
from routeprep.units import STATION_UNITS

CURB, LINE = "curb side", "centerline side"
ROW = {
    "station_text": "24+10", "plus_minus_text": "±20 ft", "along_sd_m": 2.9, "action": "LIFT",
}  # fmt: skip


def edges(left_ft, right_ft, travel=1):
    """A pass between two offsets."""
    return run(left_m=np.full(2, left_ft * FT), right_m=np.full(2, right_ft * FT), travel=travel)


def test_a_pass_is_never_called_by_its_code_alone():
    """Half first."""
    assert pass_text(run()) == "INSIDE HALF, pass A R1"


@pytest.mark.parametrize(
    ("left_ft", "right_ft", "travel", "expected"),
    [
        (0.0, 7.25, 1, (LINE, CURB)),
        (0.0, 7.25, -1, (CURB, LINE)),
        (-7.25, 0.0, 1, (CURB, LINE)),
        (-7.25, 0.0, -1, (LINE, CURB)),
        (-12.0, -4.75, -1, (LINE, CURB)),
    ],
)
def test_the_fixed_words_stay_with_the_road(left_ft, right_ft, travel, expected):
    """The curb side of a pass is away from the line, whichever way it is run."""
    assert hands(edges(left_ft, right_ft, travel)) == expected


@pytest.mark.parametrize("travel", [1, -1])
def test_a_pass_across_the_line_has_no_curb_side(travel):
    """A turn lane in the middle of the road."""
    assert set(hands(edges(-3.0, 4.25, travel))) == {"the line is under the drum"}


@given(st.floats(-40.0, 40.0), st.floats(0.1, 12.0))
def test_reversing_a_pass_swaps_left_and_right(left_ft, wide_ft):
    """And nothing else."""
    one = edges(left_ft, left_ft + wide_ft)

    assert hands(reverse(one)) == hands(one)[::-1]
    assert turned(reverse(one), 1, 2) == turned(one, 1, 2)[::-1]


def test_depths_say_least_and_most_and_what_is_not_given():
    """1.5 in is 38.1 mm; 2 in is 50.8 mm."""
    varied, same = np.array([0.0508, 0.0381]), np.array([0.05, 0.05])

    assert depths_text(varied, units="us") == "1.5 to 2 in"
    assert depths_text(same, units="metric") == "50 mm"
    assert depths_text(np.array([0.0508, NAN]), units="us") == "2 in, in places not given"
    assert depths_text(np.array([NAN]), units="us") == "depth not given"


def test_widths_and_areas_have_the_units_of_the_job():
    """100 ft2 is 9.290304 m2 (the foot is 0.3048 m)."""
    assert width_text(7.25 * FT, units="us") == "7.25 ft"
    assert width_text(7.25 * FT, units="metric") == "2.21 m"
    assert area_text(9.290304, units="us") == "100 ft²"
    assert area_text(9.290304, units="metric") == "9.3 m²"
    assert area_text(NAN, units="us") == "size not given"


def test_a_published_example_comes_out_in_short_tons():
    """24 ft x 1 mile x 2 in at 110 lb/yd2 in is 1,548.8 tons of 14,080 yd2 (trade handbooks)."""
    area, volume, weight, by_weight, by_volume = quantity_texts(amount(), units="us")

    assert (area, volume, weight) == ("14,080 yd²", "782.2 yd³", "1,548.8 tons")
    assert (by_weight, by_volume) == ("70.4", "64.2")


def test_metric_weights_are_tonnes():
    """1,548.8 short tons of 907.18474 kg are 1,405.048 t; 14,080 yd2 are 11,772.67 m2."""
    area, volume, weight, *_ = quantity_texts(amount(), units="metric")

    assert (area, volume, weight) == ("11,773 m²", "598.1 m³", "1,405.0 t")


def test_what_is_not_known_is_said():
    """No truck, or no depth."""
    no_truck = amount(loads_by_weight=NAN, loads_by_volume=NAN)

    assert quantity_texts(no_truck, units="us")[3:] == ("truck not given", "truck not given")
    assert quantity_texts(amount(volume_m3=NAN), units="us")[1:] == (
        "depth not given", "depth not given", "not known", "not known",
    )  # fmt: skip


def lifted(*met, travel=1, units="us", road=None, ends=(0.0, 1000.0)):
    """The words of a lift of some meetings of a pass, each with a usual row."""
    places = [dict.fromkeys(("from_m", "to_m", "along_m"), one.along_m) for one, _ in met]
    pairs = [(one, ROW | at | more) for (one, more), at in zip(met, places, strict=True)]
    one = run(along_m=np.array(ends), travel=travel)
    return lift_text(pairs, one, road or leg("A"), units=units)


def test_a_taped_lift_prints_stations_rounded_away_from_it():
    """197 m is 6.3 ft past 16+40 and 204 m is 9.3 ft past 16+60: 16+46 and 16+70."""
    met = (meeting("A-4", 200.0, exact=True), {})

    assert lifted(met) == "LIFT 16+46, DROP 16+70"
    assert lifted(met, travel=-1) == "LIFT 16+70, DROP 16+46"


def test_a_metric_lift_is_to_a_tenth_of_a_metre():
    """On a leg whose stations are kilometres."""
    road = leg("A", unit=STATION_UNITS["1000 m"])

    assert lifted((meeting("A-4", 200.06, exact=True), {}), road=road).startswith("LIFT 1+197.0,")


def test_what_is_not_taped_is_lifted_over_at_the_paint():
    """No station of the lift: the thing's own with its doubt."""
    assert lifted((meeting("A-1", 20.0), {})) == "LIFT and DROP at paint, about 24+10 ±20 ft"


def test_one_thing_that_is_not_taped_makes_a_shared_lift_inexact():
    """From the first to the last as they are met, with the worst doubt."""
    first = (meeting("A-4", 200.0, exact=True), {"plus_minus_text": "", "along_sd_m": 0.1})
    last = (meeting("A-5", 205.0), {"station_text": "24+30"})

    assert lifted(first, last) == "LIFT and DROP at paint, about 24+10 to 24+30 ±20 ft"
    assert lifted(first, last, travel=-1).endswith("about 24+30 to 24+10 ±20 ft")


def test_a_doubt_that_the_list_does_not_say_is_said_of_a_lift():
    """1.96 x 0.5 m is 3.2 ft, 4 ft rounded up."""
    met = (meeting("A-1", 20.0), {"plus_minus_text": "", "along_sd_m": 0.5})

    assert lifted(met).endswith("about 24+10 ±4 ft")


def test_a_shared_lift_goes_from_the_first_lift_to_the_last_drop():
    """All of them taped: 197 to 214 m."""
    pair = [(replace(meeting("A-4", at_m, exact=True), joined="x"), {}) for at_m in (200.0, 210.0)]

    assert lifted(*pair) == "LIFT 16+46, DROP 17+03"


def test_a_lift_that_reaches_over_an_end_of_the_pass_has_no_station_there():
    """The drum is not in the road beyond it; whichever way it is run."""
    first, last = (meeting("A-4", at_m, exact=True) for at_m in (2.0, 998.0))

    assert lifted((first, {})) == "BEGIN WITH THE DRUM UP, DROP 10+20"
    assert lifted((first, {}), travel=-1) == "LIFT 10+20, THEN UP TO THE END"
    assert lifted((last, {})) == "LIFT 42+64, THEN UP TO THE END"
    assert lifted((first, {}), (last, {})) == "BEGIN WITH THE DRUM UP, THEN UP TO THE END"


def test_a_long_thing_is_lifted_over_from_end_to_end():
    """100 m to 130 m are 328.1 and 426.5 ft: each end rounded away from it to 5 ft."""
    met = (meeting("A-9", 115.0), {"from_m": 100.0, "to_m": 130.0})

    assert lifted(met) == "LIFT and DROP at paint, about 13+25 to 14+30 ±20 ft"
    assert lifted(met, travel=-1).endswith("about 14+30 to 13+25 ±20 ft")


def test_what_is_skipped_is_lifted_over_from_where_to_where_it_is_skipped():
    """As the action says it."""
    met = (meeting("A-9", 115.0), {"from_m": 115.0, "to_m": 115.0, "action": "SKIP 12+00 to 15+00"})

    assert lifted(met) == "LIFT and DROP at paint, about 12+00 to 15+00 ±20 ft"


def test_a_drum_that_stays_down_says_nothing():
    """No lift, no words."""
    assert lifted((meeting("A-3", 120.0, lift_from_m=NAN, lift_to_m=NAN), {})) == ""
