"""The path driven, against a road that is known."""

import re

import numpy as np
import pytest
from builders import PLANE, drive, leg_settings, lonlat
from driven_roads import as_recorded
from hypothesis import given
from hypothesis import strategies as st

from routeprep.driven import path_driven
from routeprep.errors import LineError
from routeprep.shapes import Defaults


def path(*drives, alone=True, sd_m=3.25, **changes):
    """The line and its findings from drives as recorded."""
    fixes = as_recorded(*drives, sd_m=sd_m)
    names = {one: f"drives/{k}.gpx" for k, one in enumerate(sorted(set(fixes["drive_id"])))}
    return path_driven(
        fixes,
        leg_settings(**changes),
        names=names,
        elevation_m=0.0,
        defaults=Defaults(),
        alone=alone,
    )


def bend(x_m):
    """A road north with a quarter turn of 150 m radius, driven x_m right of its middle."""
    turn = np.linspace(0, np.pi / 2, 40)
    radius = 150.0
    return np.vstack(
        [
            [[x_m, 0.0]],
            np.column_stack(
                [radius - (radius - x_m) * np.cos(turn), 400 + (radius - x_m) * np.sin(turn)]
            ),
            [[700.0, 400 + radius - x_m]],
        ]
    )


def test_both_directions_give_the_middle_of_the_road():
    """Lanes 1.8 m either side: the line lies between, within 0.1 m, curve included."""
    line, _ = path(drive(bend(1.8)), drive(bend(-1.8)[::-1], name="back"), sd_m=0.3)
    truth = bend(0.0)
    xy = PLANE.to_xy(line.lon_deg, line.lat_deg)
    straight = np.abs(xy[(xy[:, 1] > 30) & (xy[:, 1] < 380)][:, 0])
    round_the_bend = xy[(xy[:, 1] > 410) & (xy[:, 0] < 140)]
    radius = np.hypot(round_the_bend[:, 0] - 150.0, round_the_bend[:, 1] - 400.0)

    assert straight.max() < 0.1
    assert np.abs(radius - 150.0).max() < 0.25
    assert line.length_m == pytest.approx(np.hypot(*np.diff(truth, axis=0).T).sum(), rel=0.01)


def test_standing_at_a_signal_does_not_lengthen_the_line():
    """Two minutes of scatter in mid-drive leave the length within 0.2 %."""
    rng = np.random.default_rng(3)
    moving = np.column_stack([np.zeros(101), np.linspace(0, 1000, 101)])
    still = np.array([0.0, 500.0]) + rng.normal(0, 2.0, (120, 2))
    stopped = np.vstack([moving[:50], still, moving[50:]])
    fixes = drive([[0, 0], [0, 2200]])[: len(stopped)]
    lon, lat = PLANE.to_lonlat(stopped)
    line, _ = path(fixes.assign(lon_deg=lon, lat_deg=lat))

    assert line.length_m == pytest.approx(1000.0, rel=0.002)


@given(st.integers(0, 2**32 - 1))
def test_white_noise_of_1_m_does_not_lengthen_the_line(seed):
    """Raw fixes 10 m apart would be 2 % too long, sqrt(10^2 + 4 1^2) / 10; it stays under 0.1 %."""
    rng = np.random.default_rng(seed)
    xy = np.column_stack([np.zeros(201), np.linspace(0, 2000, 201)])
    lon, lat = PLANE.to_lonlat(xy + rng.normal(0, 1.0, xy.shape))
    line, _ = path(drive([[0, 0], [0, 2000]]).assign(lon_deg=lon, lat_deg=lat))
    ends = PLANE.to_xy(line.lon_deg[[0, -1]], line.lat_deg[[0, -1]])

    assert line.length_m == pytest.approx(float(np.hypot(*(ends[1] - ends[0]))), rel=1e-3)


def test_one_direction_only_is_said():
    """The line lies in the lane driven, and is not sure of the middle by the width of its side."""
    line, said = path(drive([[2, 0], [2, 500]]))
    x_m = PLANE.to_xy(line.lon_deg, line.lat_deg)[:, 0]

    assert any("the line lies in the lane driven, not in the middle" in one.text for one in said)
    assert any("path driven, not plan centerline" in one.text for one in said)
    assert np.abs(x_m - 2.0).max() < 0.1
    assert line.sd_m.min() > np.hypot(3.25, 3.6576 / np.sqrt(3.0))


@pytest.mark.parametrize(("lane", "moved_m"), [(1, 1.8288), (2, 5.4864)])
@pytest.mark.parametrize("start_y_m", [0.0, 500.0])
def test_one_direction_is_moved_to_the_middle_by_the_lane_that_the_job_gives(
    lane, moved_m, start_y_m
):
    """Half a lane from lane 1, one and a half from lane 2, to the left of the drive, and said."""
    line, said = path(
        drive([[moved_m, 0], [moved_m, 500]]),
        start_near_deg=lonlat(0.0, start_y_m), lanes_right=2, lanes_left=2, lane_driven=lane,
    )  # fmt: skip
    x_m = PLANE.to_xy(line.lon_deg, line.lat_deg)[:, 0]
    (text,) = [one.text for one in said if "one direction" in one.text]

    assert np.abs(x_m).max() < 0.1
    assert f"moved {moved_m:.1f} m to the left of the drives, from lane {lane}" in text


def partly_one_way():
    """2 km up, of them the first 1.2 km down too, 1.5 m either side of the middle."""
    return drive([[1.5, 0], [1.5, 2000]]), drive([[-1.5, 1200], [-1.5, 0]], name="back")


@pytest.mark.parametrize("start_y_m", [0.0, 2000.0])
def test_a_stretch_driven_one_way_is_moved_by_what_lies_between_the_directions_elsewhere(start_y_m):
    """The line stays in the middle, is less sure there, and says from where to where."""
    line, said = path(*partly_one_way(), start_near_deg=lonlat(0.0, start_y_m))
    xy = PLANE.to_xy(line.lon_deg, line.lat_deg)
    (text,) = [one.text for one in said if "one direction" in one.text]
    first, last = (1200, 2000) if start_y_m == 0.0 else (0, 800)

    assert np.abs(xy[:, 0]).max() < 0.1
    found = re.search(r"from ([\d,]+) m to ([\d,]+) m along", text)
    assert found is not None
    ends_m = [int(one.replace(",", "")) for one in found.groups()]
    assert ends_m == pytest.approx([first, last], abs=15)
    assert "moved 1.5 m to the left of the drives, by what lies between" in text
    assert line.sd_m[xy[:, 1] > 1400].min() > line.sd_m[xy[:, 1] < 1000].max() + 0.5


def test_only_the_stretch_driven_one_way_is_moved_by_the_lane_given():
    """From 1.5 m, which lies between the directions, to half a lane, within 100 m, smoothly."""
    line, said = path(*partly_one_way(), lane_driven=1)
    xy = PLANE.to_xy(line.lon_deg, line.lat_deg)
    near, far = xy[xy[:, 1] < 1050], xy[xy[:, 1] > 1350]

    assert np.abs(near[:, 0]).max() < 0.1
    assert np.abs(far[:, 0] - (1.5 - 1.8288)).max() < 0.1
    assert np.abs(np.diff(xy[:, 0]) / np.diff(xy[:, 1])).max() < 0.01
    assert any("from lane 1 that the job says was driven" in one.text for one in said)


def test_drives_in_another_lane_do_not_pull_the_middle():
    """Of three drives up, two keep to lane 2: 0.8 m if all counted as in one lane."""
    width_m = 3.6576
    ups = [
        drive([[(k + 0.5) * width_m, 0], [(k + 0.5) * width_m, 4000]], name=f"up {n}")
        for n, k in enumerate((0, 1, 1))
    ]
    down = drive([[-width_m / 2, 4000], [-width_m / 2, 0]], name="down")
    offsets_m = [
        float(PLANE.to_xy(line.lon_deg, line.lat_deg)[:, 0].mean())
        for line, _ in (
            path(*ups, down, sd_m=0.7, lanes_left=2, lanes_right=2),
            path(*ups, down, sd_m=0.7),
        )
    ]

    assert abs(offsets_m[0]) < 0.1
    assert offsets_m[1] == pytest.approx(width_m / 3, abs=0.1)


def test_the_line_ends_abeam_of_the_ends_of_its_spine():
    """Within 0.1 m, also where the other drives end elsewhere."""
    line, _ = path(drive([[2, 0], [2, 805]]), drive([[-2, 790], [-2, 14]], name="back"))
    y_m = PLANE.to_xy(line.lon_deg, line.lat_deg)[:, 1]

    assert y_m[0] == pytest.approx(0.0, abs=0.1)
    assert y_m[-1] == pytest.approx(800.0, abs=0.1)


def test_the_order_of_fixes_of_different_drives_changes_nothing():
    """The same line to the last bit."""
    drives = [drive(bend(1.8)), drive(bend(-1.8)[::-1], name="back"), drive(bend(1.2), name="c")]
    one, said = path(*drives)
    other, again = path(*drives[::-1])

    assert one.lon_deg.tobytes() == other.lon_deg.tobytes()
    assert one.sd_m.tobytes() == other.sd_m.tobytes()
    assert said[1:] == again[1:]


def test_opposite_roadways_too_far_apart_are_not_averaged():
    """20 m between directions is more than two lanes allow: the spine's side stands."""
    line, said = path(
        drive([[10, 0], [10, 600]]),
        drive([[-10, 560], [-10, 0]], name="back"),
        start_near_deg=lonlat(10.0, 0.0),
    )
    x_m = PLANE.to_xy(line.lon_deg, line.lat_deg)[:, 0]

    assert np.abs(x_m - 10.0).max() < 0.2
    assert any("the two directions are 20.0 m apart" in one.text for one in said)


def test_there_and_back_in_one_drive_is_one_line():
    """A spine does not come back beside itself; the way back helps to find the middle."""
    line, _ = path(drive([[2, 0], [2, 800], [-2, 800], [-2, 0]]))

    assert line.length_m == pytest.approx(800.0, abs=25.0)


def test_a_drive_that_crosses_itself_gives_its_longest_plain_stretch():
    """Like a loop ramp: 280 + 300 + 300 + 1200 m after the crossing, not the 2400 m driven."""
    line, _ = path(drive([[0, 0], [0, 600], [300, 600], [300, 300], [-900, 300]]))

    assert line.length_m == pytest.approx(2080.0, abs=20.0)


def test_start_near_turns_the_line():
    """The end that bears the start comes first."""
    line, _ = path(drive([[0, 0], [0, 500]]), start_near_deg=lonlat(0.0, 510.0))

    assert line.lat_deg[0] > line.lat_deg[-1]


def test_a_far_start_near_is_doubted():
    """A point 900 m from either end is not the start."""
    _, said = path(drive([[0, 0], [0, 500]]), start_near_deg=lonlat(900.0, 0.0))

    assert any("start_near is 900 m from the nearer end" in one.text for one in said)


def test_without_start_near_a_driven_line_is_refused():
    """Nothing says which end is the start."""
    with pytest.raises(LineError, match="leg A: start_near is missing"):
        path(drive([[0, 0], [0, 500]]), start_near_deg=None)


def test_a_spine_that_is_not_there_is_refused():
    """The drives there are are named."""
    with pytest.raises(LineError, match=r"spine 'drives/x.gpx' .* \['drives/0.gpx'\]"):
        path(drive([[0, 0], [0, 500]]), spine="drives/x.gpx")


def test_with_several_driven_legs_the_stretch_must_start_near():
    """The nearest one is named with its distance."""
    with pytest.raises(LineError, match="the nearest is 900 m away"):
        path(drive([[0, 0], [0, 500]]), start_near_deg=lonlat(900.0, 0.0), alone=False)


def test_with_several_driven_legs_the_stretch_that_starts_near_is_taken():
    """The longer drive lies 2 km away."""
    near, far = drive([[0, 0], [0, 300]]), drive([[2000, 0], [2000, 900]], name="far")
    line, _ = path(near, far, alone=False)

    assert line.length_m == pytest.approx(300.0, abs=1.0)


def test_a_job_without_fixes_is_refused():
    """A line needs something to be made from."""
    with pytest.raises(LineError, match="the job has 0 fixes"):
        path(drive([[0, 0], [0, 500]]).iloc[:0])


@pytest.mark.parametrize("length_m", [20.0, 35.0, 50.0])
def test_a_path_too_short_to_be_a_line_is_refused(length_m):
    """60 m driven one way is the least."""
    with pytest.raises(LineError, match="a drive with 60 m driven one way was not found"):
        path(drive([[0, 0], [0, length_m]], speed_mps=3.0))


def test_wandering_about_a_yard_makes_no_line():
    """80 m of turns that smooth away to nothing."""
    yard = [
        [0, 0], [-4, -9], [-10, -12], [-12, -23], [-8, -25], [1, -28], [1, -17], [-11, -18],
        [-21, -16], [-31, -19], [-28, -30], [-19, -35], [-15, -32], [-7, -24], [-18, -22],
        [-21, -17], [-12, -12], [-9, -9], [-4, -3], [-6, 2],
    ]  # fmt: skip
    with pytest.raises(LineError, match="no drive keeps along its own smoothed path for 40 m"):
        path(drive(yard, speed_mps=3.0))


def test_a_spine_is_named_by_the_whole_name_of_its_file_or_track():
    """Drive 1 is not drive 10, though it begins like it."""
    short, long = drive([[0, 0], [0, 300]]), drive([[0, 0], [0, 900]], name="long")
    names = {short["drive_id"][0]: "drives/1.gpx: track 1", long["drive_id"][0]: "drives/10.gpx"}
    line, said = path_driven(
        as_recorded(short, long), leg_settings(spine="drives/1.gpx"),
        names=names, elevation_m=0.0, defaults=Defaults(), alone=True,
    )  # fmt: skip

    assert line.length_m == pytest.approx(300.0, abs=10.0)
    assert "along drives/1.gpx: track 1" in said[0].text


def test_lone_fixes_and_standing_add_nothing():
    """A fix between two breaks, three at the kerb, and the drive makes the line alone."""
    fixes = drive([[0, 0], [0, 500]])
    rows = [*range(len(fixes)), 20, 30, 30, 40, 41, 42]
    piece = [0] * len(fixes) + [1, 2, 2, 3, 3, 3]
    broken = fixes.iloc[rows].reset_index(drop=True).assign(piece=piece)
    line, said = path(broken)

    assert line.length_m == pytest.approx(500.0, abs=10.0)
    assert "1 runs one way and 0 the other" in said[0].text


def test_a_stretch_where_the_roadways_part_is_made_from_one_of_them():
    """A median 24 m wide for 400 m in mid-road: the line stays on the spine's side, and says it."""
    up = drive([[2, 0], [2, 1500]])
    back = drive([[-2, 1400], [-2, 1050], [-22, 1000], [-22, 600], [-2, 550], [-2, 0]], name="back")
    line, said = path(up, back)
    xy = PLANE.to_xy(line.lon_deg, line.lat_deg)
    apart = xy[(xy[:, 1] > 620) & (xy[:, 1] < 980)][:, 0]
    beside = xy[(xy[:, 1] > 100) & (xy[:, 1] < 400)][:, 0]

    assert np.abs(apart).max() < 0.5
    assert np.abs(beside).max() < 0.5
    assert any("lanes allow" in one.text and "m apart" in one.text for one in said)


def test_a_start_some_way_from_start_near_is_doubted_with_its_distance():
    """30 m is 98 ft of station, far more than the ± of a row: said, not borne in silence."""
    _, said = path(drive([[0, 0], [0, 500]]), start_near_deg=lonlat(0.0, -30.0))

    assert any("start_near is 30 m from the nearer end" in one.text for one in said)
