"""What is known of a line in words, in the unit of its stations."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sheets.made_packs import leg
from sheets.surveyed_pack import curve, designed_leg, tie, tied_leg

from routeprep.designed import factors
from routeprep.linewords import (
    curve_rows,
    grade_rows,
    plan_rows,
    reference_rows,
    sight_rows,
    stretch_text,
    tie_rows,
)
from routeprep.roadform import Grade
from routeprep.stationing import along_of
from routeprep.units import STATION_UNITS, to_m

METRIC = leg(unit=STATION_UNITS["1000 m"], start_value=12000.0)


def with_curve(**changes):
    """The row of one curve of a leg."""
    (row,) = curve_rows(replace(leg(), curves=(curve(650.0, 900.0, **changes),)))
    return row


@given(st.floats(1.0, 999.0), st.floats(1.0, 999.0))
def test_a_stretch_leads_back_to_where_it_is(from_m, to_m_):
    """Each end is the station of a place within half of 5 ft, or the end of the cut."""
    road = leg()
    first, last = stretch_text(road, from_m, to_m_).split(" to ")

    assert along_of(road.stationing, first) == pytest.approx(from_m, abs=to_m(2.5, "ft") + 1e-6)
    assert along_of(road.stationing, last) == pytest.approx(to_m_, abs=to_m(2.5, "ft") + 1e-6)


def test_ends_of_line_and_cut_are_not_rounded():
    """What ends with the cut ends where the head of the sheet says that it does."""
    road = replace(leg(), from_m=to_m(101.2, "ft"), to_m=to_m(3000.0, "ft"))

    assert stretch_text(road, 0.0, road.from_m) == "10+00 to 11+01.2"
    assert stretch_text(road, to_m(1001.0, "ft"), road.to_m) == "20+00 to 40+00"
    assert stretch_text(road, road.to_m, 1000.0) == "40+00 to 42+80.8"


def test_a_stretch_names_its_zero_or_its_region():
    """A named zero never looks like plan stations, and a label that stands twice says which."""
    bent = tied_leg()
    near = stretch_text(leg(zero="ELM N CURB"), 30.0, 60.0)
    at = along_of(bent.stationing, "25+20 BK")

    assert near == "1+00 to 1+95 from ELM N CURB"
    assert stretch_text(bent, at, along_of(bent.stationing, "25+20 AH")) == "25+20 BK to 25+20 AH"


def test_ties_say_how_far_they_are_off():
    """Longer, shorter, or as the line; the first has nothing before it."""
    rows = tie_rows(tied_leg())
    (even,) = tie_rows(replace(leg(), ties=(tie(0.0, "1+00", residual_m=-1e-9,
                                                stretch_share=-1e-12),)))  # fmt: skip

    assert rows[0] == ("12+00", "plan", "plan paint at the culvert, J. Doe", "first tie", "")
    assert rows[1][3:] == ("3.2 ft longer than the line", "+0.320 %")
    assert rows[2][3:] == ("0.4 ft shorter than the line", "-0.040 %, forced by J. Doe")
    assert even[3:] == ("as the line", "+0.000 %")


def test_references_stand_in_order_along():
    """Equations and mile markers, each with its station."""
    assert reference_rows(tied_leg()) == [
        ("13+50", "mile marker 14"),
        ("25+43.20 BK = 25+00.00 AH", "station equation"),
        ("39+60", "mile marker 14.5"),
    ]


def test_plan_and_ground_are_those_of_the_factors():
    """Lengths in the plan's own feet, factors with 8 decimals, what was done about the datum."""
    road = designed_leg()
    found = factors(road.line)
    (row,) = plan_rows(road)
    plan, ground = (float(text.split()[0].replace(",", "")) for text in row[:2])

    assert plan == pytest.approx(found.declared_m * 3937 / 1200, abs=0.005)
    assert plan / ground == pytest.approx(found.combined, abs=1e-5)
    assert row[2] == f"{ground - plan:.2f} ftUS longer"
    assert [len(text) for text in row[3:6]] == [10, 10, 10]
    assert float(row[3]) * float(row[4]) == pytest.approx(float(row[5]), abs=2e-8)
    assert row[6:] == ("EPSG:26914", "NAD83, taken as WGS 84")


@pytest.mark.parametrize(
    ("changes", "datum"),
    [
        ({"datum_operation": "EPSG:1515"}, "NAD83, EPSG:1515"),
        ({"crs": "EPSG:32614"}, "WGS 84"),
    ],
)
def test_a_datum_is_named_with_its_operation(changes, datum):
    """WGS 84 itself needs none."""
    road = designed_leg()
    (row,) = plan_rows(replace(road, line=replace(road.line, **changes)))

    assert row[7] == datum


def test_a_plan_longer_than_the_ground_is_said_so():
    """Below the plane the ground is the shorter one."""
    road = designed_leg()
    (row,) = plan_rows(replace(road, line=replace(road.line, elevation_m=-5000.0)))

    assert row[2].endswith(" shorter")


def test_another_line_has_no_plan():
    """Its along is ground already."""
    assert plan_rows(leg()) == []


def test_a_curve_is_said_no_finer_than_it_is_known():
    """PC and PT to 5 ft with their ±; radius to half of its ±."""
    assert with_curve() == (
        "PC 16+50 ±20 ft", "PT 19+00 ±20 ft", "720 ft ±60 ft", "right", "20.1° ±0.9°", "",
    )  # fmt: skip
    assert with_curve(radius_sd_m=to_m(0.3, "ft"))[2] == "716.2 ft ±0.6 ft"
    assert with_curve(radius_sd_m=to_m(0.03, "ft"))[2] == "716.2 ft ±0.1 ft"


@given(st.floats(20.0, 5000.0), st.floats(0.01, 0.4))
def test_a_printed_radius_keeps_its_interval(radius_m, share):
    """What is printed holds the radius, and its ± is the 95 % half-width or up to twice that."""
    row = with_curve(radius_m=radius_m, radius_sd_m=radius_m * share)[2]
    radius_ft, half_ft = (float(text.replace(",", "").split()[0]) for text in row.split("±"))
    exact_ft = 1.959964 * radius_m * share / 0.3048

    assert abs(radius_ft - radius_m / 0.3048) <= 0.25 * exact_ft + 0.05
    assert exact_ft <= half_ft + 1e-9 <= 1.5 * exact_ft + 0.1


def test_what_was_not_seen_of_a_curve_is_said():
    """An end past the line, and a radius that is less than its ±."""
    row = with_curve(from_sd_m=math.nan, to_sd_m=math.nan, radius_m=20.0, radius_sd_m=15.0)

    assert row[:3] == ("before the line begins", "after the line ends", "too short to say")


def test_a_designed_curve_is_as_the_plans_have_it():
    """Hundredths, no ±, and its spirals."""
    (row,) = curve_rows(designed_leg())

    assert row == (
        "SC 15+24.93", "CS 20+17.06", "1,000.00 ftUS", "right", "28.1935°",
        "spiral 196.85 ftUS before, 196.85 ftUS after",
    )  # fmt: skip


def test_a_metric_curve_is_said_in_metres():
    """To 1 m along."""
    road = replace(METRIC, curves=(curve(650.0, 900.0),))

    assert curve_rows(road)[0][:3] == ("PC 12+198 ±5 m", "PT 12+274 ±6 m", "220 m ±20 m")


@pytest.mark.parametrize(
    ("grade_share", "sd_share", "steep", "sure"),
    [
        (-0.0604, 0.0011, "6.0 % down", "±0.3 %"),
        (0.0215, 0.0, "2.15 % up", ""),
        (0.0001, 0.0011, "level", "±0.3 %"),
    ],
)
def test_a_grade_says_up_or_down(grade_share, sd_share, steep, sure):
    """A profile to a hundredth, a survey to a tenth."""
    one = Grade(from_m=0.0, to_m=300.0, grade_share=grade_share, grade_sd_share=sd_share)

    assert grade_rows(replace(leg(), grades=(one,))) == [("10+00 to 19+85", steep, sure)]


def test_a_vertical_curve_is_one_row():
    """Samples of a designed profile end to end are said from the first to the last."""
    at_m = [0.0, 200.0, 210.0, 220.0, 230.0, 400.0, 410.0, 500.0, 510.0, 520.0]
    shares = [0.02, 0.015, 0.0, -0.015, -0.02, -0.01, 0.01, 0.03, 0.03]
    grades = tuple(
        Grade(from_m=one, to_m=two, grade_share=share)
        for one, two, share in zip(at_m, at_m[1:], shares, strict=False)
    )
    apart = (*grades, replace(grades[-1], from_m=600.0, to_m=610.0))
    rows = grade_rows(replace(leg(), grades=apart))

    assert [row[1] for row in rows] == [
        "2.00 % up", "1.50 % up to 1.50 % down", "2.00 % down", "1.00 % down", "1.00 % up",
        "3.00 % up", "3.00 % up",
    ]  # fmt: skip
    assert rows[1][0] == "16+55 to 17+55"


def test_sight_is_rounded_to_the_safe_side():
    """Seen down, needed up, to 5 ft or 1 m, with what hides the road."""
    road = tied_leg()
    first, second = sight_rows(road, units="us")

    hides = "what stands on the right hides the road in the curve of radius 720 ft ±60 ft"

    assert first[:4] == ("17+00 to 19+00", "stations counting up", "210 ft", "250 ft")
    assert first[4] == f"{hides}; grade 6.0 % down that way"
    assert second[1] == "stations counting down"
    assert second[4] == "what stands on the left hides the road"
    assert sight_rows(road, units="metric")[0][2:4] == ("64 m", "76 m")


def test_a_leg_of_which_nothing_is_known_has_no_rows():
    """Empty ones print nothing."""
    road = leg()
    found = (tie_rows(road), reference_rows(road), curve_rows(road), grade_rows(road),
             sight_rows(road, units="us"))  # fmt: skip

    assert found == ([], [], [], [], [])
