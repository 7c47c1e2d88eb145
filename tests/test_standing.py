"""When a vehicle stood, from where it seems to have been."""

import numpy as np
import pytest

from routeprep.noise import Noise
from routeprep.standing import stood

QUIET = Noise(fresh_m=0.5, wander_m=0.5, hidden_m=0.0, push_mps2=0.7)


def stands(speeds_mps, *, step_s=1.0, device_mps=None, noise=QUIET):
    """Which fixes of a straight drive at these speeds stood."""
    way_m = np.r_[0.0, np.cumsum(np.asarray(speeds_mps[:-1], dtype=np.float64) * step_s)]
    seconds = step_s * np.arange(len(way_m))
    device = np.full(len(way_m), np.nan) if device_mps is None else np.asarray(device_mps)
    return stood(seconds, np.column_stack([way_m, 0.0 * way_m]), device, noise=noise, step_s=step_s)


def test_a_stop_is_found_and_the_drive_is_not():
    """Twenty seconds between two stretches at 10 m/s, found to a second."""
    got = stands([10.0] * 30 + [0.0] * 20 + [10.0] * 30)

    assert got[31:50].all()
    assert not got[:29].any()
    assert not got[52:].any()


@pytest.mark.parametrize("step_s", [1.0, 5.0])
def test_walking_is_not_standing(step_s):
    """At 1.3 m/s, however often it is recorded."""
    assert not stands([1.3] * 100, step_s=step_s).any()


def test_the_larger_the_errors_the_slower_must_standing_be_told_from():
    """A creep of 0.8 m/s is driving to a good receiver and not to a poor one."""
    creep = [0.8] * 100
    poor = Noise(fresh_m=4.0, wander_m=2.0, hidden_m=0.0, push_mps2=0.7)

    assert not stands(creep).any()
    assert stands(creep, noise=poor).all()


def test_a_device_that_says_it_stands_is_believed_when_the_places_allow_it():
    """Creeping places with no speed count, and places at 10 m/s never do."""
    creep, fast = [0.8] * 40, [10.0] * 40

    assert stands(creep, device_mps=[0.0] * 40).all()
    assert not stands(fast, device_mps=[0.0] * 40).any()


def test_one_fix_stands():
    """It goes nowhere."""
    assert stands([0.0]).tolist() == [True]


def test_backward_in_time_it_stood_at_the_same_fixes():
    """The same drive driven back."""
    speeds = [10.0] * 15 + [0.0] * 25 + [4.0] * 10 + [0.0] * 12

    # The speed of the last fix is never driven.
    assert stands([*speeds[-2::-1], 0.0]).tolist() == stands(speeds)[::-1].tolist()


def halted(places_m, *, step_s=5.0):
    """Which fixes of a halt stood, when these places were recorded in the middle of it."""
    noise = Noise(fresh_m=2.0, wander_m=0.0, hidden_m=0.0, push_mps2=0.7)
    way_m = np.r_[-150.0, -100.0, -50.0, [0.0] * 6, places_m, 50.0, 100.0, 150.0]
    seconds, none = step_s * np.arange(len(way_m)), np.full(len(way_m), np.nan)
    places = np.column_stack([way_m, 0.0 * way_m])
    return stood(seconds, places, none, noise=noise, step_s=step_s)[9:-3]


def test_bad_fixes_in_a_halt_do_not_part_it():
    """Two off to either side, others at one place: nobody drives off and comes back in 10 s."""
    assert halted([8.5, -4.0, *[0.0] * 6]).all()


def test_what_moves_up_in_a_queue_has_gone():
    """After 25 m at 2.5 m/s it stands elsewhere: the fix between is driving."""
    got = halted([12.5, *[25.0] * 6])

    assert not got[0]
    assert got[3:].all()
