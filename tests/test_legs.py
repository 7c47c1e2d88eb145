"""Legs from settings: line, stationing, limits, elevation."""

import math

import pytest
from builders import drive, leg_settings, lonlat, settings, straight, survey
from hypothesis import given
from hypothesis import settings as examples
from hypothesis import strategies as st

from routeprep.errors import JobError, LineError
from routeprep.legs import build_legs

UP = drive([[2, 0], [2, 1000]])
FOOT_M = 0.3048


def built(*legs, drives=(), lines=None):
    """Legs and findings of a small job."""
    read = survey(*drives, lines=lines)
    return build_legs(read, settings(*legs), read.fixes)


def texts(findings, level):
    """What the findings of one level say."""
    return [one.text for one in findings if one.level == level]


def test_a_leg_with_a_file_has_its_line_and_its_stations():
    """From end to end where no limits are given."""
    (leg,), _ = built()

    assert leg.line.made_from == "file"
    assert (leg.stationing.known_value[0], leg.stationing.zero) == (1000.0, "")
    assert (leg.from_m, leg.to_m) == (0.0, leg.line.length_m)


def test_a_leg_without_a_file_is_made_from_the_drives():
    """And is called so."""
    (leg,), findings = built(drives=[UP], lines={})

    assert leg.line.made_from == "path driven"
    assert any("path driven, not plan centerline" in text for text in texts(findings, "note"))


def test_a_named_zero_starts_at_0():
    """Its settings have no plan station."""
    (leg,), _ = built(leg_settings(start_value=math.nan, zero="Elm St north curb"))

    assert (leg.stationing.known_value[0], leg.stationing.zero) == (0.0, "Elm St north curb")


def test_limits_are_stations():
    """12+00 on a line from 10+00 is 200 ft along."""
    (leg,), findings = built(leg_settings(from_value=1200.0, to_value=2000.0))

    assert (leg.from_m, leg.to_m) == pytest.approx((200 * FOOT_M, 1000 * FOOT_M))
    assert texts(findings, "doubt") == []


def test_limits_past_both_ends_are_said_with_their_amounts():
    """Nothing was surveyed there."""
    _, findings = built(leg_settings(from_value=900.0, to_value=4400.0))

    assert texts(findings, "doubt") == [
        "from is 30.5 m before the line begins: nothing was surveyed there",
        "to is 36.3 m after it ends: nothing was surveyed there",
    ]


def test_limits_out_of_order_are_refused_with_the_stations_there_are():
    """The cut would end before it begins."""
    with pytest.raises(JobError, match=r"from 0.0 m to -30.5 m .* 1,000.0 to 4,280.8 ft"):
        built(leg_settings(to_value=900.0))


@pytest.mark.parametrize(
    ("given_m", "heights", "expected_m", "level", "sentence"),
    [
        (300.0, 900.0, 300.0, "note", "at the elevation given, 300.0 m"),
        (math.nan, 900.04, 900.0, "note", "900.0 m taken from 101 fixes"),
        (math.nan, math.nan, 0.0, "doubt", "lengths are at sea level, 0 m"),
    ],
)
def test_elevation_as_given_else_from_the_drives_else_sea_level(
    given_m, heights, expected_m, level, sentence
):
    """And it is said which."""
    (leg,), findings = built(leg_settings(elevation_m=given_m), drives=[UP.assign(ele_m=heights)])

    assert leg.line.elevation_m == expected_m
    assert any(sentence in text for text in texts(findings, level))


def test_legs_stand_in_the_order_of_the_job():
    """B before A if the job says so."""
    codes = ("B", "A")
    legs, _ = built(
        *(leg_settings(code=code) for code in codes), lines=dict.fromkeys("AB", (straight(),))
    )

    assert tuple(leg.settings.code for leg in legs) == codes


def test_of_two_driven_legs_each_takes_the_drive_that_begins_near_its_start():
    """Side streets 500 m apart."""
    other = drive([[500, 0], [500, 400]], name="other")
    legs, _ = built(
        leg_settings(), leg_settings(code="B", start_near_deg=lonlat(500, 0)),
        drives=[UP, other], lines={},
    )  # fmt: skip

    assert [leg.line.length_m for leg in legs] == pytest.approx([1000.0, 400.0], abs=10.0)


def test_a_start_far_from_both_ends_of_a_file_is_doubted():
    """Longitude and latitude of another town would turn the stations round in silence."""
    (leg,), findings = built(leg_settings(start_near_deg=lonlat(0.0, 1400.0)))

    assert leg.line.lat_deg[0] > leg.line.lat_deg[-1]
    assert any("start_near is 400 m from the nearer end" in t for t in texts(findings, "doubt"))


def test_no_drive_and_no_file_is_refused():
    """A leg needs one or the other."""
    with pytest.raises(LineError, match="leg A: the job has 0 fixes"):
        built(lines={})


@given(st.integers(1, 30), st.integers(1, 30))
@examples(max_examples=25)
def test_limits_come_back_as_the_stations_that_were_given(first, more):
    """Along divided by the unit, on top of the start."""
    low, high = 1000.0 + 50 * first, 1000.0 + 50 * (first + more)
    (leg,), _ = built(leg_settings(from_value=low, to_value=high))

    assert 1000.0 + leg.from_m / FOOT_M == pytest.approx(low)
    assert 1000.0 + leg.to_m / FOOT_M == pytest.approx(high)
