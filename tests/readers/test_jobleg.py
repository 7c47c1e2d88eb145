"""One leg of the job file."""

import math

from hypothesis import given
from hypothesis import strategies as st

from routeprep.readers.jobleg import LineFile, read_leg
from routeprep.readers.tomltable import TomlTable

GOOD = {"code": "A", "name": "Elm St", "start": "10+00", "start_near": [-96.1, 41.2]}


def read(units="us", **values):
    """A leg, the file of its line, and what is wrong."""
    faults = []
    leg, line = read_leg(
        TomlTable(values=GOOD | values, where="[[leg]] 1", faults=faults), units=units
    )
    return leg, line, faults


def test_a_plain_name_is_a_file_without_condition() -> None:
    """The short way to name a centerline."""
    assert read(centerline="elm.geojson")[1] == LineFile("elm.geojson", "")
    assert read(centerline="")[1] is None


def test_a_named_zero_has_no_plan_station() -> None:
    """From and to count from it."""
    leg, _, faults = read(start="", zero="curb", **{"from": "0+30"})

    assert faults == []
    assert leg is not None
    assert math.isnan(leg.start_value)
    assert leg.from_value == 30.0


def test_faults_keep_the_leg_out() -> None:
    """A leg with a fault is no leg, and the fault names it."""
    leg, _, faults = read(lanes_left="two")

    assert leg is None
    assert faults == ["[[leg]] A: lanes_left is 'two'; expected a whole number, 0 or more"]


@given(st.floats(-400, 20_000), st.floats(1, 30))
def test_metric_lengths_are_taken_as_they_are(elevation_m: float, width_m: float) -> None:
    """No factor touches a metre; below sea level is a height too."""
    leg, _, faults = read("metric", start="1+000", elevation_m=elevation_m, lane_width_m=width_m)

    assert faults == []
    assert leg is not None
    assert (leg.elevation_m, leg.lane_width_m) == (elevation_m, width_m)
