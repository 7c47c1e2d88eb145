"""Shapes are frozen and born valid."""

import dataclasses
import datetime as dt
import zoneinfo

import numpy as np
import pytest
from maps.example_pack import KINDS, example_legs, example_pack, example_settings

from routeprep import shapes
from routeprep.errors import JobError, LineError, TableError
from routeprep.lines import StationEquation
from routeprep.units import STATION_UNITS

NAN = float("nan")
LEG = shapes.LegSettings(
    code="A",
    name="Example Road",
    spine="",
    start_value=1000.0,
    zero="",
    start_near_deg=None,
    unit=STATION_UNITS["100 ft"],
    elevation_m=NAN,
    from_station="",
    to_station="",
    depth_m=NAN,
    lane_width_m=3.66,
    lanes_left=1,
    lanes_right=1,
)


def line(**changes):
    """A straight line of three vertices."""
    values = {
        "lon_deg": np.array([-96.1, -96.09, -96.08]),
        "lat_deg": np.array([41.2, 41.2, 41.2]),
        "along_m": np.array([0.0, 838.0, 1676.0]),
        "sd_m": np.zeros(3),
        "elevation_m": 360.0,
        "made_from": "file",
    }
    return shapes.Centerline(**(values | changes))


@pytest.mark.parametrize("name", shapes.__all__)
def test_shapes_cannot_be_changed(name):
    """No shape has a field that can be set."""
    shape = getattr(shapes, name)

    assert shape.__dataclass_params__.frozen
    assert "__slots__" in vars(shape)


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"zero": "ELM N CURB"}, "leg 'A': start is 1000 ft and zero is 'ELM N CURB'"),
        (
            {
                "zero": "ELM N CURB",
                "start_value": NAN,
                "equations": (StationEquation(back_value=1500.0, ahead_value=1200.0),),
            },
            "1 station equations stand with the zero 'ELM N CURB'",
        ),
        ({"lane_width_m": 0.0}, "lane width 0 m"),
        ({"lane_width_m": NAN}, "lane width nan m"),
        ({"lanes_left": -1}, "-1 lanes left"),
    ],
)
def test_a_leg_that_contradicts_itself_is_refused(changes, told):
    """The leg is named, with the values that cannot be."""
    with pytest.raises(JobError, match=told):
        dataclasses.replace(LEG, **changes)


def test_a_leg_may_have_no_limits_and_one_sided_lanes():
    """Limits left out are the line's ends; a one-way street has lanes on one side."""
    assert dataclasses.replace(LEG, lanes_left=0).lanes_right == 1


@pytest.mark.parametrize("legs", [(), (LEG, LEG)])
def test_a_job_without_legs_or_with_two_of_one_code_is_refused(legs):
    """The error names the job, or the code that stands twice."""
    with pytest.raises(JobError, match=r"has no leg|\['A'\] stand twice"):
        shapes.Settings(
            name="x",
            number="",
            revision="A",
            date=dt.date(2026, 6, 1),
            timezone=zoneinfo.ZoneInfo("America/Chicago"),
            units="us",
            legs=legs,
            kinds=KINDS,
        )


@pytest.mark.parametrize("value", [-1.0, NAN, float("inf")])
def test_a_default_that_cannot_be_is_refused(value):
    """A tolerance is a finite number, 0 or more."""
    with pytest.raises(JobError, match=f"default tap_late_s is {value!r}"):
        shapes.Defaults(tap_late_s=value)


def test_length_is_the_last_along():
    """The line is as long as its last vertex is along."""
    assert line().length_m == 1676.0


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"lon_deg": np.array([-96.1])}, r"two or more vertices in equal arrays, found \[1, 3\]"),
        ({"lat_deg": np.array([41.2, NAN, 41.2])}, "3 vertices has values that are not finite"),
        ({"sd_m": np.array([0.0, NAN, 0.0])}, "values that are not finite"),
        ({"along_m": np.array([1.0, 2.0, 3.0])}, "it starts at 1.0"),
        ({"along_m": np.array([0.0, 2.0, 2.0])}, "from 2.0 to 2.0 at vertex 2"),
        ({"along_m": np.array([0.0, 2.0, 1.0])}, "from 2.0 to 1.0 at vertex 2"),
    ],
)
def test_a_line_that_is_none_is_refused(changes, told):
    """Sizes, finite values and the order of along are checked when the line is made."""
    with pytest.raises(LineError, match=told):
        line(**changes)


def test_a_pack_checks_its_list():
    """A list that breaks its declaration makes no pack."""
    pack = example_pack()
    broken = pack.obstructions.drop(columns="status")

    with pytest.raises(TableError, match="column status is missing"):
        dataclasses.replace(pack, obstructions=broken)


@pytest.mark.parametrize(
    ("table", "column"), [("fixes", "piece"), ("marks", "mark_id"), ("records", "source")]
)
def test_a_survey_checks_its_tables(table, column):
    """Fixes, marks and records are checked when the survey is made."""
    pack = example_pack()
    held = {"fixes": pack.fixes, "marks": pack.marks, "records": pack.records}

    with pytest.raises(TableError, match=f"{table}: column {column} is missing"):
        shapes.Survey(
            **(held | {table: held[table].drop(columns=column)}),
            drive_names={},
            drive_by={},
            lines={},
            alignments={},
            sources=(),
            findings=(),
        )


def test_what_holds_tables_is_compared_by_identity():
    """Two packs of equal content are two packs; a table has no single truth value."""
    legs = example_legs()

    assert example_settings(legs) != example_settings(legs)
