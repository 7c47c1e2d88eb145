"""Stretches of drives that follow a line."""

import numpy as np
import pandas as pd
import pytest
from builders import PLANE, drive
from driven_roads import as_recorded

from routeprep.planar import Polyline
from routeprep.runs import runs_along

LINE = Polyline(np.column_stack([np.zeros(401), np.linspace(0.0, 1000.0, 401)]))


def runs(*drives, line=LINE, corridor_m=25.0, **columns):
    """The runs along a line."""
    fixes = as_recorded(*drives).assign(**columns)
    return runs_along(fixes, PLANE, line, corridor_m=corridor_m)


def test_each_direction_is_a_run_with_its_offset():
    """Up 2 m to the right of the line, back 3 m to its left."""
    up, down = runs(drive([[2, 0], [2, 1000], [-3, 1000], [-3, 0]]))

    assert (up.direction, down.direction) == (1, -1)
    assert np.median(up.offset_m) == pytest.approx(2.0, abs=0.01)
    assert np.median(down.offset_m) == pytest.approx(-3.0, abs=0.01)


def test_what_leaves_the_line_or_crosses_it_is_no_run():
    """A cross street, and a drive beyond the corridor."""
    assert runs(drive([[-300, 500], [300, 500]])) == []
    assert runs(drive([[40, 0], [40, 1000]])) == []


def test_a_run_fades_in_and_out_in_mid_line_and_goes_on_to_an_end_that_it_is_near():
    """From 30 m to 600 m: full weight at the beginning, next to none at 600 m, none beyond."""
    (run,) = runs(drive([[2, 30], [2, 600]]))
    at_m = np.linspace(0.0, 1000.0, 401)
    share = run.weight * run.sd_m**2

    assert share[at_m == 0.0] == 1.0
    assert share[at_m == 500.0] == pytest.approx(0.9, abs=0.1)
    assert share[at_m > 600.0].tolist() == [0.0] * int((at_m > 600.0).sum())
    assert run.offset_m[0] == pytest.approx(2.0, abs=0.01)


def test_a_less_sure_drive_counts_by_its_variance():
    """Twice the standard deviation is a quarter of the weight; nothing is sure beyond 0.05 m."""
    fixes = drive([[2, 0], [2, 1000]])
    (usual,), (poor,), (perfect,) = (runs(fixes, smooth_sd_m=sd_m) for sd_m in (3.0, 6.0, 0.0))

    assert usual.weight / poor.weight == pytest.approx(4.0)
    assert perfect.sd_m.max() == 0.05


def test_what_smoothing_took_is_kept_beside_but_for_standing():
    """Recorded 1 m farther right than smoothed: 1 m, and nothing for fixes while it stood."""
    fixes = drive([[2, 0], [2, 1000]])
    lon, _ = PLANE.to_lonlat(np.array([[1.0, 500.0], [0.0, 500.0]]))
    moved = fixes["lon_deg"] - (lon[0] - lon[1])
    (moving,) = runs(fixes, smooth_lon_deg=moved)
    (standing,) = runs(fixes, smooth_lon_deg=moved, standing=1)

    assert moving.left_m == pytest.approx(1.0, abs=0.01)
    assert standing.left_m == pytest.approx(0.0)


def test_lone_fixes_and_short_stretches_are_no_runs():
    """A piece of one fix, and 30 m along the line."""
    short = drive([[2, 500], [2, 530]])
    lone = drive([[2, 100], [2, 130]], name="lone").iloc[:1]

    assert runs(pd.concat([short, lone])) == []
