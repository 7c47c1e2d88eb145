"""Exact factors, and station labels there and back."""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pyproj.database import get_units_map

from routeprep.errors import StationError
from routeprep.units import (
    FACTORS_M,
    KMH_MPS,
    KNOT_MPS,
    MPH_MPS,
    STATION_UNITS,
    StationUnit,
    format_station,
    parse_station,
    split_region,
    to_m,
)

FEET = STATION_UNITS["100 ft"]
KILOMETRES = STATION_UNITS["1000 m"]
units = st.sampled_from(list(STATION_UNITS.values()))

# Our name, EPSG's name and code.
PROJ_NAMES = {
    "m": "metre",
    "km": "kilometre",
    "mm": "millimetre",
    "cm": "centimetre",
    "ft": "foot",
    "ftUS": "US survey foot",
    "in": "inch",
    "yd": "yard",
    "mi": "Statute mile",
}


@pytest.mark.parametrize("unit", FACTORS_M)
def test_factor_agrees_with_proj(unit: str) -> None:
    """Each factor is the one in PROJ's database (EPSG; PROJ's own for inch and yard)."""
    known = {
        item.name: item.conv_factor
        for auth in ("EPSG", "PROJ")
        for item in get_units_map(auth_name=auth, category="linear").values()
    }

    assert known[PROJ_NAMES[unit]] == pytest.approx(float(FACTORS_M[unit]), rel=1e-12)


def test_the_two_feet_differ_by_two_parts_in_a_million() -> None:
    """The US survey foot is longer by exactly 2 parts in 10^6 of itself (Federal Register 1959)."""
    assert Fraction(999_998, 1_000_000) == FACTORS_M["ft"] / FACTORS_M["ftUS"]


def test_speeds() -> None:
    """A knot is 1852 m an hour, a mile an hour 0.44704 m/s, 18 km an hour 5 m/s exactly."""
    assert KNOT_MPS * 3600 == 1852
    assert KMH_MPS * 18 == 5
    assert Fraction("0.44704") == MPH_MPS


def test_to_m_is_exact_for_whole_numbers() -> None:
    """A survey foot's 3937 make 1200 m, without a rounding on the way."""
    assert to_m(3937, "ftUS") == 1200.0


@pytest.mark.parametrize(
    ("value", "decimals", "label"),
    [
        (0.0, 0, "0+00"),
        (99.4, 0, "0+99"),
        (99.5, 0, "1+00"),
        (1234.5, 1, "12+34.5"),
        (1299.95, 1, "13+00.0"),
        (2.5, 0, "0+03"),
        (-2.5, 0, "-0+03"),
        (-0.4, 0, "0+00"),
        (-150.25, 2, "-1+50.25"),
        (1_000_000.0, 0, "10000+00"),
    ],
)
def test_label_of_a_value(value: float, decimals: int, label: str) -> None:
    """Plusses that round up carry into the next station; halves round away from zero."""
    assert format_station(value, FEET, decimals=decimals) == label


def test_metric_stations_have_three_digits() -> None:
    """A kilometre station writes the metres with three digits."""
    assert format_station(12_034.56, KILOMETRES, decimals=2) == "12+034.56"


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_a_value_that_is_not_finite_is_refused(value: float) -> None:
    """There is no station at NaN or infinity."""
    with pytest.raises(StationError, match=r"(nan|inf) is not a finite number"):
        format_station(value, FEET)


@pytest.mark.parametrize("text", ["12+3", "12+345", "1234", "12+34.", "+34", "12 34", "", "a+00"])
def test_what_is_no_label_is_refused(text: str) -> None:
    """A label has exactly the unit's digits after the plus; the message shows one."""
    with pytest.raises(StationError, match=r"write it like 12\+34\.6 \(2 digits"):
        parse_station(text, FEET)


@pytest.mark.parametrize("text", ["-0+50", "\u22120+50", " - 0 + 50 "])
def test_minus_signs_and_blanks_are_read(text: str) -> None:
    """A hyphen and a true minus mean the same, blanks mean nothing."""
    assert parse_station(text, FEET) == -50.0


@given(st.integers(-10_000_000, 10_000_000), units, st.integers(0, 3))
def test_format_then_parse_gives_the_value_back(
    steps: int, unit: StationUnit, decimals: int
) -> None:
    """A value with no more decimals than are written survives the way there and back."""
    value = steps / 10**decimals

    assert parse_station(format_station(value, unit, decimals=decimals), unit) == value


@given(st.floats(-1e6, 1e6), units, st.integers(0, 3))
def test_a_label_is_within_half_a_last_digit(
    value: float, unit: StationUnit, decimals: int
) -> None:
    """Rounding moves a value by half of the last digit at most."""
    back = parse_station(format_station(value, unit, decimals=decimals), unit)

    assert abs(back - value) <= 0.5 / 10**decimals * (1 + 1e-9) + 1e-9


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("13+00", ("13+00", "")),
        ("13+00 BK", ("13+00", "BK")),
        ("13+00 ah ", ("13+00", "AH")),
        ("13+00AH", ("13+00", "AH")),
        ("13+00 region 2", ("13+00", "2")),
        ("13+00 Region12", ("13+00", "12")),
        ("13+00 region 0", ("13+00 region 0", "")),
        ("", ("", "")),
    ],
)
def test_a_region_is_parted_from_its_label(text: str, parts: tuple[str, str]) -> None:
    """Back, ahead or a number; what is none of them stays with the label."""
    assert split_region(text) == parts
