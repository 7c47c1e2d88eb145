"""Where a vehicle was at any time."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from wheeled import BEGIN_S, recorded, smoothed

from routeprep.tracks import courses, moved


def straight(*, silent=(), north_mps=10.0, count=61, **columns):
    """The track of a drive going north, without the fixes between two times."""
    since_s = np.array([s for s in range(count) if not (silent and silent[0] < s < silent[1])])
    xy_m = np.column_stack([0.0 * since_s, north_mps * since_s])
    track, _, _ = smoothed(recorded(since_s, xy_m, **columns))
    return track


def at(track, *since_s):
    """States at times since the begin."""
    return track.at(BEGIN_S + np.array(since_s))


@given(st.floats(0.1, 40.0), st.floats(0.1, 40.0), st.floats(0.1, 3.0))
def test_moving_twice_is_moving_once_for_as_long(one_s, other_s, push_mps2):
    """Transition and covariance of two waits are those of their sum."""
    waits_s, push = np.array([one_s, other_s, one_s + other_s]), np.full(3, push_mps2)
    step, spread = moved(waits_s, push)

    np.testing.assert_allclose(step[1] @ step[0], step[2], rtol=1e-9, atol=1e-9)
    np.testing.assert_allclose(
        step[1] @ spread[0] @ step[1].T + spread[1], spread[2], rtol=1e-8, atol=1e-9
    )


def test_at_a_fix_the_state_is_the_fixs_own():
    """And halfway between two it lies between."""
    states = at(straight(), 20.0, 20.5, 21.0)

    assert np.diff(states.lat_deg) == pytest.approx([5.0 / 111_065.0] * 2, rel=0.01)
    assert states.speed_mps == pytest.approx([10.0] * 3, abs=0.01)
    assert np.sin(np.radians(states.course_deg)) == pytest.approx([0.0] * 3, abs=0.01)


def test_in_a_silence_the_doubt_grows_towards_its_middle():
    """Twenty seconds without a fix."""
    sd_m = at(straight(silent=(20, 40)), 20.0, 25.0, 30.0, 35.0, 40.0).sd_m

    assert sd_m[0] < sd_m[1] < sd_m[2]
    assert sd_m[2] > sd_m[3] > sd_m[4]
    assert sd_m[2] > sd_m[0] + 2.0


def test_outside_its_fixes_a_drive_is_where_it_was_and_less_sure():
    """Three seconds after the end it may be 30 m on, before the begin too."""
    states = at(straight(), -3.0, 0.0, 60.0, 63.0)

    assert states.lat_deg[[0, 2]] == pytest.approx(states.lat_deg[[1, 3]])
    assert states.sd_m[[0, 3]] == pytest.approx(np.hypot(states.sd_m[[1, 2]], 30.0), rel=0.01)


def test_a_break_is_not_bridged():
    """In a minute without fixes the nearest one counts, less and less."""
    track = straight(silent=(20, 80), count=101)
    states = at(track, 20.0, 30.0, 70.0, 80.0)

    assert states.lat_deg[[0, 3]] == pytest.approx(states.lat_deg[[1, 2]])
    assert track.away_s(BEGIN_S + np.array([10.5, 20.0, 30.0, 70.0])).tolist() == [0, 0, 10, 10]
    assert states.sd_m[1] > 100.0


def test_its_length_leaves_the_break_out():
    """Four hundred metres of a thousand."""
    assert straight(silent=(20, 80), count=101).length_m() == pytest.approx(400.0, rel=0.003)


def test_one_fix_is_where_it_is():
    """Whenever it is asked."""
    track = straight(count=1)
    states = at(track, -5.0, 0.0, 5.0)

    assert np.ptp(states.lat_deg) == 0.0
    assert track.away_s(BEGIN_S + np.array([-5.0, 0.0, 5.0])).tolist() == [5.0, 0.0, 5.0]


def test_no_times_no_states():
    """Empty in, empty out."""
    assert len(straight().at(np.zeros(0)).lon_deg) == 0


def test_standing_it_looks_where_it_drove():
    """The course before, else the one after, else none."""
    slow, east, north = [0.1, 0.0], [5.0, 0.0], [0.0, 5.0]

    assert courses(np.array([slow, east, slow, north])).tolist() == [90.0, 90.0, 90.0, 0.0]
    assert np.isnan(courses(np.array([slow, slow]))).all()
