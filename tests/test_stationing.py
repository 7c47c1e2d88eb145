"""Along to station and back, and labels that never pass for another kind."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routeprep.errors import StationError
from routeprep.lines import Stationing
from routeprep.stationing import along_at, label, number, value_at
from routeprep.units import STATION_UNITS, parse_station

PLAN = Stationing.from_start(unit=STATION_UNITS["100 ft"], start_value=1000.0, zero="")
NAMED = Stationing.from_start(unit=STATION_UNITS["100 ft"], start_value=0.0, zero="ELM N CURB")
METRIC = Stationing.from_start(unit=STATION_UNITS["1000 m"], start_value=2000.0, zero="")
stationings = st.builds(
    Stationing,
    unit=st.sampled_from(list(STATION_UNITS.values())),
    start_value=st.integers(-5000, 500_000).map(float),
    zero=st.sampled_from(["", "ELM N CURB"]),
)
alongs = st.floats(-5_000, 200_000)


def test_the_start_bears_the_start_station() -> None:
    """At the beginning of the line stands the job's start station."""
    assert label(PLAN, 0.0) == "10+00.0"


def test_a_hundred_feet_on_is_one_station_on() -> None:
    """30.48 m are one station of 100 ft."""
    assert label(PLAN, 30.48) == "11+00.0"


def test_before_the_start_it_goes_on_counting() -> None:
    """Nothing clamps: 30.48 m before 0+00 of a named zero is -1+00."""
    assert label(NAMED, -30.48, decimals=0) == "-1+00 from ELM N CURB"


def test_a_metric_line_counts_metres() -> None:
    """A kilometre station counts metres from its start value."""
    assert label(METRIC, 345.6) == "2+345.6"


@pytest.mark.parametrize(
    ("feet", "step", "text"), [(12.4, 5.0, "10+10"), (12.5, 5.0, "10+15"), (97.5, 5.0, "11+00")]
)
def test_numbers_round_to_a_step(feet: float, step: float, text: str) -> None:
    """To the nearest 5 ft, halves up-station, carrying into the next station."""
    assert number(PLAN, feet * 0.3048, step=step) == text


@pytest.mark.parametrize("along_m", [math.nan, math.inf])
def test_a_place_that_is_not_finite_is_refused(along_m: float) -> None:
    """There is no label without a place."""
    with pytest.raises(StationError, match=r"along is (nan|inf) m"):
        label(PLAN, along_m)


@given(stationings, alongs)
def test_value_and_back(stationing: Stationing, along_m: float) -> None:
    """Along to value to along is the same place within 1 um."""
    assert along_at(stationing, value_at(stationing, along_m)) == pytest.approx(along_m, abs=1e-6)


@given(stationings, alongs)
def test_label_and_back(stationing: Stationing, along_m: float) -> None:
    """A label with three decimals leads back to within half of its last digit."""
    text = number(stationing, along_m, step=0, decimals=3)
    value = parse_station(text, stationing.unit)

    assert along_at(stationing, value) == pytest.approx(along_m, abs=0.00051)


@given(stationings, alongs)
def test_only_a_named_zero_stands_in_the_label(stationing: Stationing, along_m: float) -> None:
    """Distances from a named zero never look like plan stations, nor the other way round."""
    assert (" from " in label(stationing, along_m)) == bool(stationing.zero)


@given(stationings, alongs, alongs)
def test_up_station_is_up(stationing: Stationing, one_m: float, other_m: float) -> None:
    """Farther along never has a smaller value."""
    assert (value_at(stationing, one_m) <= value_at(stationing, other_m)) or one_m > other_m
