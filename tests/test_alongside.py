"""Fixes of drives alongside a line, and what they differ by."""

import math

import numpy as np
import pandas as pd
import pytest
from builders import PLANE, drive
from invented.motion import wander

from routeprep.alongside import Alongside, Wander, covariance_m2, stretches, wander_of
from routeprep.planar import Polyline

NORTH = Polyline(np.array([[0.0, 0.0], [0.0, 3000.0]]))


def along(*drives, line=NORTH):
    """Stretches of drives along a line."""
    return stretches(pd.concat(drives, ignore_index=True), PLANE, line)


def noisy(seed, *, sd_m, time_s, fresh_sd_m, drives=4):
    """Stretches of drives up and down 3 km at 15 m/s, with errors as they are stated."""
    rng = np.random.default_rng(seed)
    count = 200
    parts = []
    for k in range(drives):
        errors_m = wander(rng, count, sd_m=sd_m, time_s=time_s)
        errors_m += rng.normal(0.0, fresh_sd_m, count)
        parts.append(
            Alongside(
                direction=1 - 2 * (k % 2),
                xy_m=np.zeros((count, 2)),
                along_m=np.linspace(0.0, 2985.0, count),
                offset_m=(1 - 2 * (k % 2)) * 1.8 + errors_m,
                heading_rad=np.zeros(count),
                time_s=np.arange(count, dtype=np.float64),
            )
        )
    return parts


def test_each_direction_is_a_stretch_in_the_lines_order():
    """There and back in one drive: two, with their sides and rising distances."""
    up, down = along(drive([[2, 0], [2, 900], [-2, 900], [-2, 0]]))

    assert [up.direction, down.direction] == [1, -1]
    assert np.median(up.offset_m) == pytest.approx(2.0, abs=0.01)
    assert np.median(down.offset_m) == pytest.approx(-2.0, abs=0.01)
    assert (np.diff(up.along_m) > 0).all()
    assert (np.diff(down.along_m) > 0).all()
    assert (np.diff(down.time_s) < 0).all()


def test_a_side_street_another_roadway_and_a_short_stretch_do_not_count():
    """Square to the line, 20 m beside it, and 50 m long."""
    assert along(drive([[-300, 500], [300, 500]])) == []
    assert along(drive([[20, 0], [20, 900]])) == []
    assert along(drive([[2, 0], [2, 50]])) == []


def test_standing_and_one_step_back_do_not_part_a_stretch():
    """Standstill scatter is thinned out, a fix that jumped back 8 m is noise."""
    fixes = drive([[2, 0], [2, 900]])
    lat_deg = fixes["lat_deg"].to_numpy().copy()
    lat_deg[40] = lat_deg[39] - 8.0 / 111_000
    (one,) = along(fixes.assign(lat_deg=lat_deg))

    assert np.ptp(one.along_m) == pytest.approx(900.0, abs=11.0)


def test_a_jump_to_another_part_of_the_line_parts_a_stretch():
    """A line that goes up, across and down again 400 m away, and fixes that jump over."""
    hairpin = Polyline(np.array([[0.0, 0.0], [0.0, 900.0], [400.0, 900.0], [400.0, 0.0]]))
    one, other = drive([[0, 0], [0, 300]]), drive([[400, 300], [400, 0]])
    joined = pd.concat([one, other], ignore_index=True).assign(drive_id=one["drive_id"][0])

    assert len(along(joined, line=hairpin)) == 2


def test_drives_without_times_go_at_a_usual_speed():
    """134 m take 10 s."""
    fixes = drive([[2, 0], [2, 900]]).assign(time_utc=pd.NaT)
    fixes["time_utc"] = pd.to_datetime(fixes["time_utc"], utc=True).dt.as_unit("us")
    (one,) = along(fixes)

    assert np.ptp(one.time_s) == pytest.approx(np.ptp(one.along_m) / 13.4, rel=1e-6)


def test_a_lone_fix_is_no_stretch():
    """Nothing to go from or to."""
    assert along(drive([[2, 0], [2, 900]]).iloc[:1]) == []


def test_between_cuts_a_stretch():
    """And keeps its order."""
    (one,) = along(drive([[2, 0], [2, 900]]))

    assert one.between(99.0, 201.0).along_m == pytest.approx(np.arange(100.0, 201.0, 10.0))


def test_covariance_falls_with_time_and_with_the_turn_between():
    """sd^2 exp(-t / T) cos(turn), and the fresh part on the diagonal alone."""
    part = noisy(0, sd_m=0.0, time_s=60.0, fresh_sd_m=0.0, drives=1)[0]
    turned = Alongside(
        direction=1,
        xy_m=part.xy_m[:2],
        along_m=part.along_m[:2],
        offset_m=part.offset_m[:2],
        heading_rad=np.array([0.0, math.pi / 3]),
        time_s=np.array([0.0, 60.0]),
    )
    found = covariance_m2(turned, Wander(sd_m=2.0, time_s=60.0, fresh_sd_m=1.0))

    assert found == pytest.approx(np.array([[5.0, 2.0 / math.e], [2.0 / math.e, 5.0]]))


@pytest.mark.parametrize(
    ("sd_m", "time_s", "fresh_sd_m"), [(2.5, 60.0, 1.0), (2.5, 60.0, 0.3), (4.0, 20.0, 0.5)]
)
def test_drives_tell_how_fast_errors_wander(sd_m, time_s, fresh_sd_m):
    """In the mean of 20 roads within 10 % of the truth that made them: 2 sd^2 / T, and fresh."""
    found = [
        wander_of(noisy(seed, sd_m=sd_m, time_s=time_s, fresh_sd_m=fresh_sd_m), device_sd_m=sd_m)
        for seed in range(20)
    ]
    rates = [2 * one.sd_m**2 / one.time_s for one in found]

    assert np.mean(rates) == pytest.approx(2 * sd_m**2 / time_s, rel=0.1)
    assert np.mean([one.fresh_sd_m for one in found]) == pytest.approx(fresh_sd_m, rel=0.1)


def test_errors_are_never_less_than_the_device_says():
    """Drives that agree do so while a common error hides."""
    found = wander_of(noisy(1, sd_m=0.5, time_s=60.0, fresh_sd_m=0.1), device_sd_m=3.0)

    assert found.sd_m == 3.0


def test_a_drive_alone_has_the_usual_errors():
    """Nothing to hold it against; nor for drives that share but a few fixes."""
    lone = noisy(1, sd_m=2.0, time_s=60.0, fresh_sd_m=0.5, drives=1)
    usual = Wander(sd_m=3.0, time_s=60.0, fresh_sd_m=0.7)
    one, two = noisy(1, sd_m=2.0, time_s=60.0, fresh_sd_m=0.5, drives=2)

    assert wander_of(lone, device_sd_m=3.0) == usual
    assert wander_of([one.between(0, 1500), two.between(1450, 3000)], device_sd_m=3.0) == usual
