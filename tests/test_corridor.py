"""Lines and areas are cut down to what lies near the legs."""

import numpy as np
import pytest
import shapely
from builders import PLANE, from_start, leg_settings, lonlat

from routeprep.centerline import measured
from routeprep.corridor import in_corridor
from routeprep.shapes import Leg


def north(length_m=1000.0):
    """A leg that runs north from the origin."""
    lon, lat = PLANE.to_lonlat(np.array([[0.0, 0.0], [0.0, length_m]]))
    line = measured(lon, lat, sd_m=np.zeros(2), elevation_m=0.0, made_from="file")
    settings = leg_settings()
    stationing = from_start(unit=settings.unit, start_value=1000.0, zero="")
    return Leg(settings=settings, line=line, stationing=stationing, from_m=0.0, to_m=length_m)


def cut(*shapes, legs=None, within_m=30.0):
    """Shapes in the tests' plane [m] after they were cut down, in that plane again."""

    def there(xy_m):
        return np.column_stack(PLANE.to_lonlat(xy_m))

    def back(lonlat_deg):
        return PLANE.to_xy(lonlat_deg[:, 0], lonlat_deg[:, 1])

    given = shapely.transform(np.array(shapes, dtype=object), there)
    legs = [north()] if legs is None else legs
    return shapely.transform(in_corridor(given, legs, within_m=within_m), back)


def test_a_main_that_crosses_is_cut_down_to_the_corridor():
    """From 30 m left to 30 m right, though its middle lies 450 m away."""
    (main,) = cut(shapely.LineString([(-50.0, 400.0), (950.0, 400.0)]))

    assert shapely.bounds(main) == pytest.approx([-30.0, 400.0, 30.0, 400.0], abs=0.01)


def test_an_area_keeps_the_part_by_the_road():
    """Of a block of 600 m by 200 m, 30 m by 200 m and no more."""
    (area,) = cut(shapely.box(0.0, 300.0, 600.0, 500.0))

    assert area.area == pytest.approx(30.0 * 200.0, rel=1e-4)


def test_an_area_whose_ring_crosses_itself_is_mended_first():
    """A bow tie, as careless digitising leaves it."""
    (tie,) = cut(shapely.Polygon([(-5, 300), (5, 310), (5, 300), (-5, 310)]))

    assert tie.area == pytest.approx(50.0, rel=1e-4)


def test_what_lies_outside_and_points_stay_as_they_are():
    """Nothing is lost: placing says how far off they are."""
    far, point = shapely.LineString([(90.0, 0.0), (90.0, 50.0)]), shapely.Point(500.0, 500.0)
    got = cut(far, point)

    assert shapely.get_coordinates(got[0]) == pytest.approx(shapely.get_coordinates(far), abs=1e-3)
    assert shapely.get_coordinates(got[1]) == pytest.approx(np.array([[500, 500]]), abs=1e-3)


@pytest.mark.parametrize("shapes", [[], [shapely.Point(lonlat(0.0, 5.0))]])
def test_points_alone_and_nothing_come_back_themselves(shapes):
    """No corridor is made for them."""
    given = np.array(shapes, dtype=object)

    assert in_corridor(given, [north()], within_m=30.0) is given


def test_without_legs_nothing_is_cut():
    """There is no corridor."""
    line = shapely.LineString([(-50.0, 400.0), (50.0, 400.0)])
    (kept,) = cut(line, legs=[])

    assert kept.length == pytest.approx(100.0, abs=0.01)
