"""How far a drive errs, read from the drive itself."""

import numpy as np
import pytest
from builders import PLANE
from wheeled import Receiver, wheeled

from routeprep.drives import seconds_of
from routeprep.noise import noise_of


def noise(receiver, *, reported_m, reported_sd=0.2, seed=3):
    """What is found of one simulated drive."""
    fixes = wheeled(seed, receiver).fixes
    xy_m = PLANE.to_xy(fixes["lon_deg"].to_numpy(), fixes["lat_deg"].to_numpy())
    joined = np.ones(len(fixes) - 1, dtype=bool)
    seconds = seconds_of(fixes["time_utc"])
    return noise_of(seconds, xy_m, joined, reported_m=reported_m, reported_sd=reported_sd)


@pytest.mark.parametrize("sd_m", [1.0, 2.0, 4.0])
def test_fresh_errors_are_found(sd_m):
    """Within a fifth, and hardly any wandering is made up."""
    got = noise(Receiver(sd_m=sd_m), reported_m=sd_m)

    assert got.fresh_m == pytest.approx(sd_m, rel=0.2)
    assert got.wander_m < 0.3 * sd_m


@pytest.mark.parametrize("sd_m", [1.0, 2.0, 4.0])
def test_wandering_errors_are_found(sd_m):
    """Within a third, and hardly any of it is taken for fresh."""
    got = noise(Receiver(sd_m=sd_m, over_s=60.0), reported_m=sd_m)

    assert got.wander_m == pytest.approx(sd_m, rel=0.33)
    assert got.fresh_m < 0.2 * sd_m


def test_a_report_gives_way_to_a_drive_that_shows_more():
    """The device says 1 m, the fixes jump about by 4 m."""
    got = noise(Receiver(sd_m=4.0), reported_m=1.0)

    assert got.fresh_m == pytest.approx(4.0, rel=0.25)


def test_what_a_drive_cannot_show_is_believed_of_the_report():
    """Errors of 1 m that wander, 4 m reported: the rest hardly changes."""
    got = noise(Receiver(sd_m=1.0, over_s=60.0), reported_m=4.0, reported_sd=0.5)

    assert np.hypot(np.hypot(got.fresh_m, got.wander_m), got.hidden_m) == pytest.approx(4.0)
    assert got.hidden_m > 2.0


def test_too_few_fixes_say_nothing():
    """All is taken from the report, mostly as wandering."""
    none = np.ones(1, dtype=bool)
    got = noise_of(np.array([0.0, 1.0]), np.zeros((2, 2)), none, reported_m=3.0, reported_sd=0.2)

    assert np.hypot(got.fresh_m, got.wander_m) == pytest.approx(3.0)
    assert got.wander_m > got.fresh_m


def test_fixes_without_a_link_say_nothing():
    """Each is a piece of its own."""
    apart = np.zeros(29, dtype=bool)
    got = noise_of(np.arange(30.0), np.zeros((30, 2)), apart, reported_m=3.0, reported_sd=0.2)

    assert np.hypot(got.fresh_m, got.wander_m) == pytest.approx(3.0)
