"""Marks that say a station: whose leg, which place, how far they are believed; all invented."""

import datetime as dt
import math

import pytest
from builders import drive, lonlat, mark, survey, tap
from hypothesis import given
from hypothesis import strategies as st
from strategies import line_from_xy

from routeprep import tables
from routeprep.drives import clean
from routeprep.shapes import Defaults
from routeprep.smoothing import smooth
from routeprep.stakes import Stake, stakes_of

LINES = {
    "A": line_from_xy([[0.0, 0.0], [0.0, 1000.0]]),
    "B": line_from_xy([[0.0, 500.0], [800.0, 500.0]]),
}
UP = drive([[2, 0], [2, 1000]])


def painted(x_m, y_m, **more):
    """Station paint marked on foot."""
    lon_deg, lat_deg = lonlat(x_m, y_m)
    usual = {
        "kind": "STA", "words": "station paint", "lon_deg": lon_deg, "lat_deg": lat_deg,
        "said_station": "12+00", "method": "walked", "by": "J. Doe", "source": "walk.csv",
    }  # fmt: skip
    return mark(**(usual | more))


def found(*marks, drives=()):
    """Stakes by leg, and what is said."""
    fixes = survey(*drives).fixes
    cleaned = clean(fixes, names={}, defaults=Defaults()).fixes
    tracks = smooth(cleaned, Defaults()).tracks
    stakes, findings = stakes_of(tables.table(tables.MARKS, marks), tracks, LINES, Defaults())
    return stakes, [(one.level, one.where, one.text) for one in findings]


def test_paint_ties_where_it_was_marked() -> None:
    """On the leg it stands on, with its words, who marked it and the file."""
    stakes, said = found(painted(3.0, 100.0))
    (stake,) = stakes["A"]

    assert (stakes["B"], said) == ([], [])
    assert (stake.tie.station, stake.tie.kind, stake.from_vehicle) == ("12+00", "paint", False)
    assert (stake.tie.lon_deg, stake.tie.lat_deg) == lonlat(3.0, 100.0)
    assert stake.tie.by == "station paint, J. Doe, walk.csv"


def test_a_mark_that_stands_in_two_files_ties_once() -> None:
    """It has one id."""
    assert len(found(painted(3.0, 100.0), painted(3.0, 100.0, source="b.csv"))[0]["A"]) == 1


def test_other_marks_say_no_station() -> None:
    """A manhole whose station was said is placed by it, and ties nothing."""
    assert found(painted(3.0, 100.0, kind="MH")) == ({"A": [], "B": []}, [])


@pytest.mark.parametrize(
    ("more", "station"),
    [({"said_station": "14"}, "14"), ({"said_station": "", "note": "14.2"}, "14.2"),
     ({"said_station": "", "note": "old; mile 14"}, "14")],
)  # fmt: skip
def test_a_mile_marker_says_its_number(more: dict[str, str], station: str) -> None:
    """As its station, or at the end of its note."""
    (stake,) = found(painted(3.0, 100.0, kind="MM", words="mile marker", **more))[0]["A"]

    assert (stake.tie.station, stake.tie.kind) == (station, "mile marker")


def test_a_leg_that_is_said_is_taken_over_the_nearest() -> None:
    """At the crossing of two legs a person says which."""
    stakes, said = found(painted(3.0, 490.0, said_leg="B"))

    assert ([len(stakes[code]) for code in "AB"], said) == ([0, 1], [])


@pytest.mark.parametrize(
    ("more", "why"),
    [
        ({"said_station": ""}, "its station is not said: write it down as it stands there"),
        ({"said_station": "", "kind": "MM", "note": "bent"}, "its station is not said"),
        ({"said_leg": "Q"}, "its leg 'Q' is none of A, B"),
        ({"lon_deg": math.nan, "lat_deg": math.nan}, "it has no place"),
    ],
)
def test_a_mark_that_cannot_tie_says_why(more: dict[str, object], why: str) -> None:
    """It stops no job."""
    stakes, said = found(painted(3.0, 100.0, **more))

    assert stakes == {"A": [], "B": []}
    assert [(level, where) for level, where, _ in said] == [("doubt", "walk.csv")]
    assert f"ties no stations, {why}" in said[0][2]


@pytest.mark.parametrize(
    ("x_m", "y_m", "why"),
    [(-60.0, 100.0, "it is 60 m from leg A, the nearest"),
     (5.0, 495.0, "leg A is 5 m from it and leg B 5 m: say with leg which one is meant")],
)  # fmt: skip
def test_a_mark_whose_leg_is_not_plain_ties_nothing(x_m: float, y_m: float, why: str) -> None:
    """Too far from every line, or near to two."""
    stakes, said = found(painted(x_m, y_m))

    assert stakes == {"A": [], "B": []}
    assert why in said[0][2]


def test_a_vehicle_s_mark_is_placed_by_its_time() -> None:
    """Tapped 3 s late at 10 m/s, with 1 s taken off for every tap: 20 m past the stake."""
    late = tap(UP, 20, "STA", late_s=3.0, said_station="12+00")
    (stake,) = found(late, drives=[UP])[0]["A"]

    assert stake.from_vehicle
    assert (stake.tie.lon_deg, stake.tie.lat_deg) == pytest.approx(lonlat(2.0, 220.0), abs=1e-8)


@pytest.mark.parametrize("hours", [None, 5])
def test_a_vehicle_s_mark_without_its_drive_stays_where_it_is(hours: int | None) -> None:
    """No time, or none near the drive's: its own position is all there is."""
    when = None if hours is None else UP["time_utc"].iloc[0] + dt.timedelta(hours=hours)
    more = {"method": "vehicle", "time_utc": when, "drive_id": UP["drive_id"].iloc[0]}
    (stake,) = found(painted(3.0, 100.0, **more), drives=[UP])[0]["A"]

    assert (stake.tie.lon_deg, stake.tie.lat_deg) == lonlat(3.0, 100.0)


@given(st.permutations([50.0, 150.0, 250.0, 350.0]))
def test_the_order_of_the_marks_does_not_matter(places_m: list[float]) -> None:
    """The same stakes in the same order."""
    stakes: list[Stake] = found(*(painted(3.0, y_m) for y_m in places_m))[0]["A"]
    usual: list[Stake] = found(*(painted(3.0, y_m) for y_m in sorted(places_m)))[0]["A"]

    assert stakes == usual
