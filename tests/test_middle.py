"""The middle of the road from runs beside a line."""

import numpy as np
import pytest
from builders import leg_settings
from hypothesis import given
from hypothesis import strategies as st

from routeprep.middle import middle_of, one_roadway
from routeprep.runs import Run
from routeprep.shaping import GRID_M

COUNT = 801
AT_M = np.arange(COUNT) * GRID_M


def run(offset_m, direction=1, *, sd_m=3.0, inside=True, left_m=0.0):
    """A run at an offset from the line [m]."""
    sd = np.full(COUNT, sd_m)
    return Run(
        direction=direction,
        offset_m=np.broadcast_to(np.asarray(offset_m, dtype=np.float64), COUNT),
        sd_m=sd,
        left_m=np.full(COUNT, left_m),
        weight=np.broadcast_to(inside, COUNT) / sd**2,
    )


def middle(*runs, **leg):
    """The middle beside the line."""
    return middle_of(runs, leg_settings(**leg), grid_m=AT_M)


@given(st.floats(-5, 5), st.floats(0.5, 4))
def test_both_directions_give_the_middle_between_them(middle_m, half_m):
    """However many drives went each way."""
    found = middle(
        run(middle_m + half_m), run(middle_m + half_m), run(middle_m + half_m),
        run(middle_m - half_m, -1),
    )  # fmt: skip

    assert found.offset_m == pytest.approx(middle_m, abs=1e-6)
    assert found.half_apart_m == pytest.approx(half_m, abs=1e-6)
    assert found.moved_m == pytest.approx(half_m, abs=1e-6)


def test_runs_count_by_their_variance():
    """3 m against 1 m: nine times the weight, so 0.1 of the way."""
    found = middle(run(0.0, sd_m=1.0), run(1.0, sd_m=3.0))

    assert found.offset_m == pytest.approx(0.1)
    assert found.share[0] == pytest.approx([0.9, 0.1])


def scattered(count):
    """Runs both ways that scatter about the middle as their devices say, by 3 m."""
    away_m = 3.0 * np.sqrt((count - 1) / count)
    return [run(away_m * (-1) ** (k // 2), 1 if k % 2 else -1) for k in range(count)]


def test_sixteen_runs_are_twice_as_sure_as_four():
    """One drive is one look, however many fixes it has."""
    four, sixteen = (middle(*scattered(count)).sd_m[0] for count in (4, 16))

    assert four / sixteen == pytest.approx(2.0, rel=0.1)
    assert four == pytest.approx(1.5, rel=0.15)


def test_runs_that_disagree_are_less_sure_than_their_devices_say():
    """Four devices say 1 m, and the drives scatter by 3 m."""
    offsets_m = (-3.0, 3.0, -3.0, 3.0)
    ways = (1, 1, -1, -1)
    agreed = middle(*(run(0.0, way, sd_m=1.0) for way in ways)).sd_m[0]
    apart = middle(*(run(m, way, sd_m=1.0) for m, way in zip(offsets_m, ways, strict=True)))

    assert apart.sd_m[0] > 1.5 * agreed


def test_what_smoothing_took_from_several_drives_alike_is_given_back():
    """0.94 of it with four drives; a single drive is left as it was smoothed."""
    several = middle(*(run(0.0, way, left_m=1.0) for way in (1, 1, -1, -1)))
    single = middle(run(0.0, left_m=1.0))

    assert several.offset_m == pytest.approx(1.0 - 1 / 16)
    assert single.offset_m == pytest.approx(0.0)


def test_where_no_run_was_the_middle_is_drawn_on():
    """Between two stretches it goes over evenly."""
    seen = (AT_M < 500) | (AT_M > 1000)
    found = middle(run(np.where(AT_M < 750, 1.0, 3.0), inside=seen))

    assert found.offset_m[AT_M == 750] == pytest.approx(2.0, abs=0.05)
    assert found.one_way.all()
    assert np.isfinite(found.sd_m).all()


def test_one_direction_alone_is_not_moved_and_unsure_by_its_side_of_the_road():
    """Lane unknown: anywhere from 0 to 3.66 m to the right, a root mean square of 2.11 m."""
    alone = middle(run(1.0))
    given_lane = middle(run(1.0), lane_driven=1)

    assert alone.offset_m == pytest.approx(1.0)
    assert np.isnan(alone.half_apart_m)
    assert alone.one_way.all()
    assert given_lane.offset_m == pytest.approx(1.0 - 3.6576 / 2)
    assert alone.sd_m[0] ** 2 - given_lane.sd_m[0] ** 2 == pytest.approx(
        3.6576**2 / 3 - 3.6576**2 / 12
    )


def test_a_roadway_is_one_unless_its_directions_are_too_far_apart_for_long():
    """30 m apart for 80 m is noise; for 500 m the drives against the line fall silent there."""
    short, long = ((AT_M > 900) & (end_m > AT_M) for end_m in (980, 1400))
    one, two = (
        one_roadway([run(2.0), run(np.where(far, -28.0, -2.0), -1)], allowed_m=15.0)
        for far in (short, long)
    )

    assert one.parted_m == 0.0
    assert not one.silent.any()
    assert two.parted_m == pytest.approx(500.0, abs=5.0)
    assert two.apart_m == pytest.approx(30.0)
    assert two.silent[(AT_M > 860) & (AT_M < 1440)].all()
    assert not two.runs[1].weight[two.silent].any()


def test_a_run_that_is_silent_everywhere_is_left_out():
    """Nothing of it counts."""
    apart = one_roadway([run(20.0), run(-20.0, -1)], allowed_m=15.0)

    assert [one.direction for one in apart.runs] == [1]
