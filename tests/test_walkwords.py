"""What a person on foot says of a place: leg, station or reach, offset."""

import math

import pytest
from builders import leg_settings, settings, straight, survey
from hypothesis import given
from hypothesis import strategies as st

from routeprep.legs import build_legs
from routeprep.shapes import LegSettings
from routeprep.units import STATION_UNITS
from routeprep.walkwords import (
    Reach,
    distance_words,
    legs_called,
    offset_of,
    past_m,
    reach_of,
)

FEET, METRES = STATION_UNITS["100 ft"], STATION_UNITS["1000 m"]
FT_M = 0.3048


def legs_of(*legs: LegSettings):
    """Legs that run north for a kilometre."""
    read = survey(lines={leg.code: (straight(),) for leg in legs})
    return build_legs(read, settings(*legs), read.fixes, {})[0]


(LEG,) = legs_of(leg_settings())
STREETS = legs_of(
    leg_settings(), leg_settings(code="B", name="North Oak Avenue"), leg_settings(code="C")
)


@pytest.mark.parametrize(
    ("text", "from_ft", "to_ft"),
    [
        ("12+40", 240, 240), ("10+00", 0, 0), ("9+50.5", -49.5, -49.5),
        ("12+40 to 13+10", 240, 310),
        ("13+10 TO 12+40", 240, 310), ("1240 ft", 240, 240), ("1240.5'", 240.5, 240.5),
        ("1240 feet to 1310 feet", 240, 310), ("-0+50", -1050, -1050), ("-50 ft", -1050, -1050),
    ],
)  # fmt: skip
def test_stations_and_reaches_are_places_along(text: str, from_ft: float, to_ft: float) -> None:
    """From 10+00 at the beginning; a length is from station zero."""
    reach = reach_of(LEG, text)

    assert (reach.from_m, reach.to_m) == pytest.approx((from_ft * FT_M, to_ft * FT_M), abs=1e-9)
    assert reach.why == ""


@pytest.mark.parametrize("text", ["1240", "1,240 ft", "12+4", "near the drain", "", "12+40 to x"])
def test_what_is_no_station_says_why(text: str) -> None:
    """In one clause, since reasons are parted by semicolons."""
    reach = reach_of(LEG, text)

    assert math.isnan(reach.from_m)
    assert "is not a station of the 100 ft kind" in reach.why
    assert "; " not in reach.why


def test_past_an_end_is_measured_from_the_nearest_of_a_reach() -> None:
    """Nothing on the line, the amount beyond, and nowhere."""
    assert past_m(LEG, Reach(-10.0, 20.0, "")) == 0.0
    assert past_m(LEG, Reach(-30.0, -10.0, "")) == 10.0
    assert past_m(LEG, Reach(1012.0, 1040.0, "")) == pytest.approx(12.0, abs=0.01)
    assert math.isnan(past_m(LEG, Reach(math.nan, math.nan, "why")))


def test_distances_are_in_the_unit_of_the_stations() -> None:
    """Feet or metres."""
    (metric,) = legs_of(leg_settings(unit=METRES))

    assert distance_words(30.48, LEG) == "100 ft"
    assert distance_words(1030.4, metric) == "1,030 m"


@pytest.mark.parametrize(
    ("said", "codes"),
    [
        ("", "ABC"), ("a", "A"), ("B", "B"), ("Elm Street", "AC"), ("elm st.", "AC"),
        ("N. Oak Ave", "B"), ("C, Elm St", "C"), ("B, Elm St", ""), ("Pine St", ""), (" , ", "ABC"),
    ],
)  # fmt: skip
def test_legs_are_called_by_code_or_by_street(said: str, codes: str) -> None:
    """However the street's name is shortened; what contradicts itself is none."""
    assert [STREETS[at].settings.code for at in legs_called(said, STREETS)] == list(codes)


@pytest.mark.parametrize(
    ("text", "side", "feet"),
    [
        ("12 RT", 1, 12), ("6.5 ft LT", -1, -6.5), ("L 4", -1, -4), ("RT 12'", 1, 12),
        ("12' R", 1, 12),
        ("-4", -1, -4), ("4", 1, 4), ("+4 ft", 1, 4), ("6,5 ft RT", 1, 6.5), ("24 in right", 1, 2),
        ("3 ft LT of CL", -1, -3), ("2 ft right from the center line", 1, 2), ("0", 1, 0),
    ],
)  # fmt: skip
def test_offsets_are_right_positive(text: str, side: int, feet: float) -> None:
    """With a side or a sign; a bare number is in the unit of the stations."""
    offset = offset_of(text, FEET)

    assert (offset.side, offset.understood) == (side, True)
    assert offset.offset_m == pytest.approx(feet * FT_M)


def test_on_a_metric_leg_a_bare_offset_is_in_metres() -> None:
    """And feet stay feet."""
    assert offset_of("2.5 LT", METRES).offset_m == -2.5
    assert offset_of("10 ft", METRES).offset_m == pytest.approx(3.048)


@pytest.mark.parametrize(("text", "side"), [("RT", 1), ("left", -1), ("", 0)])
def test_a_side_alone_has_no_offset(text: str, side: int) -> None:
    """And nothing said is understood."""
    offset = offset_of(text, FEET)

    assert (offset.side, offset.understood) == (side, True)
    assert math.isnan(offset.offset_m)


def test_on_the_line_is_an_offset_of_nought() -> None:
    """CL, or in words."""
    assert offset_of("CL", FEET) == offset_of("center line", FEET) == (0, 0.0, True)


@pytest.mark.parametrize(
    "text",
    ["-4 LT", "R 4 LT", "1,240 ft", "12 furlongs", "far", "-", "of CL", "1 RT" + " " * 99 + "x"],
)
def test_an_offset_that_may_be_two_is_none(text: str) -> None:
    """A sign beside a side, two sides, a comma of thousands."""
    assert not offset_of(text, FEET).understood


@given(st.text(max_size=90))
def test_no_text_breaks_the_reading(text: str) -> None:
    """Any text is a place or says why."""
    assert reach_of(LEG, text).why or math.isfinite(reach_of(LEG, text).from_m)
    assert len(offset_of(text, FEET)) == 3
    assert isinstance(legs_called(text, STREETS), list)
