"""Drives onto legs in the order of time."""

import numpy as np
import pandas as pd
import pytest
from builders import drive, leg_settings, settings, straight, survey

from routeprep.legs import build_legs
from routeprep.lines import LinePiece
from routeprep.matching import driven_at, match
from routeprep.matching import where_at as where_at_times
from routeprep.shapes import Defaults

from strategies import line_from_xy  # isort: skip


def legs(*xys):
    """Legs A, B, … along paths of the tests' plane."""
    codes = "ABCDEF"[: len(xys)]
    lines = {}
    for code, xy in zip(codes, xys, strict=True):
        line = line_from_xy(xy)
        lines[code] = (
            LinePiece(lon_deg=line.lon_deg, lat_deg=line.lat_deg, name=code, source="x"),
        )
    job = settings(*(leg_settings(code=code, start_near_deg=None) for code in codes))
    return build_legs(survey(lines=lines), job, survey().fixes, {})[0]


def path(fixes, *xys):
    """The path of one drive on legs."""
    return match(fixes, legs(*xys), Defaults())[fixes["drive_id"].iloc[0]]


def since(fixes, seconds):
    """Seconds since 1970 at a time after the drive's start."""
    return fixes["time_utc"].iloc[0].timestamp() + seconds


def where_at(got, seconds):
    """Leg, along and travel at one time."""
    return tuple(values[0] for values in where_at_times(got, np.array([seconds])))


def test_there_and_back_tells_the_direction():
    """500 m up and 500 m down, one drive: travel turns round, along comes back."""
    fixes = drive([[2, 0], [2, 500], [-2, 500], [-2, 0]])
    got = path(fixes, [[0, 0], [0, 600]])
    up, down = where_at(got, since(fixes, 20.0)), where_at(got, since(fixes, 80.4))

    assert (up[0], up[2]) == (0, 1)
    assert (down[0], down[2]) == (0, -1)
    assert up[1] == pytest.approx(200.0, abs=1.0)
    assert down[1] == pytest.approx(200.0, abs=1.0)


def test_a_hairpin_is_followed_by_time_not_by_distance():
    """Roads 16 m apart and a drive that strays 9 m toward the other: still the one it is on."""
    road = [[0, 0], [0, 500], [16, 500], [16, 0]]
    strayed = [[0, 0], [0, 180], [9, 200], [9, 260], [0, 280], [0, 500], [16, 500], [16, 0]]
    fixes = drive(strayed)
    got = path(fixes, road)

    assert where_at(got, since(fixes, 23.0))[1] == pytest.approx(230.0, abs=15.0)


def test_crossing_another_leg_does_not_change_legs():
    """Course before position: a fix on the crossing stays on the street driven."""
    fixes = drive([[0, 0], [0, 600]])
    got = path(fixes, [[0, 0], [0, 600]], [[-300, 300], [300, 300]])

    assert set(got.leg) == {0}


def test_turning_into_another_leg_is_seen():
    """Leg A up to the corner, leg B after it."""
    fixes = drive([[0, 0], [0, 300], [300, 300]])
    got = path(fixes, [[0, 0], [0, 600]], [[-300, 300], [300, 300]])

    assert where_at(got, since(fixes, 10.0))[0] == 0
    assert where_at(got, since(fixes, 50.0))[0] == 1
    assert where_at(got, since(fixes, 50.0))[1] == pytest.approx(500.0, abs=1.0)


def test_a_drive_on_a_side_street_is_on_no_leg():
    """60 m beside the road is not on it."""
    fixes = drive([[60, 0], [60, 300]])
    got = path(fixes, [[0, 0], [0, 600]])

    assert set(got.leg) == {-1}
    assert where_at(got, since(fixes, 10.0))[0] == -1


def test_drives_without_times_are_left_out():
    """Nothing can be placed by time on them."""
    fixes = drive([[0, 0], [0, 300]])
    times = pd.Series(pd.DatetimeIndex([None] * len(fixes), tz="UTC").as_unit("us"))

    assert match(fixes.assign(time_utc=times), legs([[0, 0], [0, 600]]), Defaults()) == {}


def test_one_fix_has_a_place_but_no_direction():
    """Travel 0 is not known."""
    fixes = drive([[0, 0], [0, 300]]).iloc[10:11]
    got = path(fixes, [[0, 0], [0, 600]])

    assert where_at(got, since(fixes, 0.0))[::2] == (0, 0)
    assert np.isfinite(where_at(got, since(fixes, 0.0))[1])


def test_the_tests_straight_line_is_a_leg():
    """The builder's own line is 1,000 m long."""
    assert legs([[0, 0], [0, 1000]])[0].line.length_m == pytest.approx(1000.0, abs=0.01)
    assert len(straight().lon_deg) == 2


def test_the_way_driven_counts_up_and_not_while_standing():
    """There and back is twice the way."""
    fixes = drive([[2, 0], [2, 500], [-2, 500], [-2, 0]])
    got = path(fixes, [[0, 0], [0, 600]])

    assert driven_at(got, since(fixes, 20.0)) == pytest.approx(200.0, abs=1.0)
    assert driven_at(got, since(fixes, 80.4)) == pytest.approx(804.0, abs=13.0)
    assert np.isnan(driven_at(got, np.nan))
