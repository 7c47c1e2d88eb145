"""Regions between station equations, and rounding inside them."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routeprep.lines import StationEquation, Stationing
from routeprep.regions import Region, bearing, outward, regions_of, rounded
from routeprep.units import STATION_UNITS

INF = math.inf
# 15+00 BK = 12+00 AH and 14+00 BK = 20+00 AH, invented.
TWO = [Region(-INF, 1500.0, 0.0), Region(1200.0, 1400.0, -300.0), Region(2000.0, INF, 300.0)]
steps = st.sampled_from([0.01, 0.1, 1.0, 5.0, 500.0])


def stationing(*pairs):
    """Plan stations from 0+00 with equations of back and ahead values."""
    return Stationing(
        unit=STATION_UNITS["100 ft"],
        zero="",
        known_m=(0.0,),
        known_value=(0.0,),
        equations=tuple(StationEquation(back_value=b, ahead_value=a) for b, a in pairs),
    )


def test_each_equation_begins_a_region_with_its_own_shift() -> None:
    """Back less what came before is the running value; ahead less that is the shift."""
    assert regions_of(stationing((1500.0, 1200.0), (1400.0, 2000.0))) == TWO


def test_without_equations_there_is_one_region() -> None:
    """Also where back and ahead are one."""
    assert regions_of(stationing()) == [Region(-INF, INF, 0.0)]
    assert regions_of(stationing((7.0, 7.0))) == [Region(-INF, INF, 0.0)]


@pytest.mark.parametrize(
    ("value", "at"), [(1100.0, [0]), (1200.0, [0, 1]), (1450.0, [0]), (1700.0, []), (2000.0, [2])]
)
def test_regions_bear_their_ends_too(value: float, at: list[int]) -> None:
    """Both labels of an equation exist, those of a gap do not."""
    assert bearing(value, TWO) == at


@pytest.mark.parametrize(
    ("value", "at", "step", "text"),
    [
        (1498.0, 0, 5.0, (0, 1500.0, 0)),
        (1499.9, 0, 500.0, (0, 1500.0, 0)),
        (1399.9, 1, 5.0, (1, 1400.0, 0)),
        (1201.0, 1, 500.0, (1, 1200.0, 0)),
        (2001.0, 2, 500.0, (2, 2000.0, 0)),
        (2003.0, 2, 0.1, (2, 2003.0, 1)),
    ],
)
def test_rounded_stays_in_its_region(value, at, step, text) -> None:
    """The nearest multiple inside, finer when there is none."""
    assert rounded(value, at, TWO, step=step) == text


def test_outward_crosses_an_equation_without_a_multiple() -> None:
    """Down-station of 12+01 AH by whole 500 ft is the back label 15+00; up-station is 20+00."""
    assert outward(1201.0, 1, TWO, step=500.0, toward=-1) == (0, 1500.0, 0)
    assert outward(1201.0, 1, TWO, step=500.0, toward=1) == (2, 2000.0, 0)


@given(st.floats(-1e6, 1e6), steps)
def test_without_equations_rounding_is_plain(value: float, step: float) -> None:
    """Half a step away at most, outward less than one."""
    alone = [Region(-INF, INF, 0.0)]

    assert abs(rounded(value, 0, alone, step=step).value - value) <= step / 2 + 1e-9
    assert 0 <= value - outward(value, 0, alone, step=step, toward=-1).value < step + 1e-9
    assert 0 <= outward(value, 0, alone, step=step, toward=1).value - value < step + 1e-9


@given(st.sampled_from([0, 1, 2]), st.floats(0.0, 200.0), steps)
def test_rounded_is_always_inside(at: int, into: float, step: float) -> None:
    """Never a label that its region does not bear."""
    region = TWO[at]
    value = region.low_value + into if at else region.high_value - into

    assert region.low_value <= rounded(value, at, TWO, step=step).value <= region.high_value
