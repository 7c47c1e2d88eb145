"""The path driven in simulation: length, corners and its ±, over twenty seeds each.

Every road, drive and error is invented.
"""

import numpy as np
import pytest
from driven_roads import both_ways, cornered_road, line_of, long_road, true_line, winding_road

from routeprep.locating import locate
from routeprep.planar import Polyline

SEEDS = range(20)


def length_errors(road, **drives):
    """How much too long the line is for each seed, as a share of the true length."""
    truth = true_line(road)
    errors = []
    for seed in SEEDS:
        line, _ = line_of(road, *both_ways(road, seed, **drives))
        ends_m = locate(truth, line.lon_deg[[0, -1]], line.lat_deg[[0, -1]]).along_m
        errors.append(line.length_m / abs(ends_m[1] - ends_m[0]) - 1)
    return np.array(errors)


@pytest.mark.parametrize(
    "error", [(1.0, 60.0), (2.5, 60.0), (4.0, 60.0), (1.0, 0.0), (2.5, 0.0), (4.0, 0.0)]
)
def test_noise_does_not_lengthen_the_line(error):
    """Four drives of 4 km, errors of 1 to 4 m on each axis, over a minute or from fix to fix."""
    errors = length_errors(long_road(), error=error)

    assert np.abs(errors).max() < 0.001
    assert abs(errors.mean()) < 0.0004


@pytest.mark.parametrize("error", [(2.5, 60.0), (2.5, 0.0), (4.0, 0.0)])
def test_noise_does_not_lengthen_the_line_of_a_single_drive(error):
    """One drive is not averaged with others: its line keeps its own wandering, and no more."""
    errors = length_errors(long_road(), ways=(1,), error=error)

    assert np.abs(errors).max() < 0.0015
    assert abs(errors.mean()) < 0.0004


def test_many_turns_are_not_cut_short():
    """Sixteen corners of 12 and 15 m radius in 3.9 km: 0.17 % too short with noise of 2.5 m."""
    assert abs(length_errors(winding_road(), error=(2.5, 60.0)).mean()) < 0.002
    assert abs(length_errors(winding_road(), error=(0.1, 60.0)).mean()) < 0.001


def roundings_m(road, error):
    """How far inside the true corners the line lies, for each 0.5 m around each corner.

    What the line is off by before and after the corner is taken off: that is no rounding.
    """
    at_m = np.arange(0.0, road.length_m, 0.5)
    points_m = np.column_stack(road.xy(at_m, np.zeros(len(at_m))))
    profiles = []
    for seed in SEEDS:
        line, _ = line_of(road, *both_ways(road, seed, error=error))
        xy_m = np.column_stack(road.plane.transform(line.lon_deg, line.lat_deg))
        right_m = -Polyline(xy_m).feet(points_m).offset_m
        for start_m, turn in zip(road.from_m, road.turn_per_m, strict=False):
            end_m = start_m + 15.0 * np.pi / 2
            if turn:
                before = right_m[(at_m > start_m - 70) & (at_m < start_m - 25)].mean()
                after = right_m[(at_m > end_m + 25) & (at_m < end_m + 70)].mean()
                around = np.arange(start_m - 15.0, end_m + 15.0, 0.5)
                usual_m = np.interp(around, [start_m, end_m], [before, after])
                profiles.append(np.sign(turn) * (np.interp(around, at_m, right_m) - usual_m))
    return np.array(profiles)


@pytest.mark.parametrize(("error", "most_m"), [((0.1, 60.0), 0.25), ((2.5, 60.0), 0.55)])
def test_a_corner_of_15_m_radius_keeps_its_shape(error, most_m):
    """On average over seeds, at the worst place of the corner; it was 2 m with 60 m smoothing."""
    assert np.abs(roundings_m(cornered_road(), error).mean(axis=0)).max() < most_m


def test_the_line_begins_and_ends_where_its_spine_does():
    """Within 0.5 m of abeam of the smoothed first and last fix, whatever the noise."""
    for seed in SEEDS:
        drives = both_ways(long_road(), seed)
        line, said = line_of(long_road(), *drives)
        spine = next(one for one in drives if one["drive_id"].iloc[0] in said[0].text)
        ends = spine.iloc[[0, -1]]
        places = locate(line, ends["lon_deg"].to_numpy(), ends["lat_deg"].to_numpy())
        past_m = np.abs(places.past_end_m)
        inside_m = np.minimum(np.abs(places.along_m), np.abs(places.along_m - line.length_m))

        assert np.maximum(past_m, inside_m).max() < 0.5
