"""The surroundings of a job, in degrees and in the planes of files."""

import math

import numpy as np
import pytest
import shapely
from builders import PLANE, leg_settings, settings, straight
from hypothesis import given
from hypothesis import strategies as st
from pyproj import Geod, Transformer

from routeprep.lines import Alignment
from routeprep.readers.nearby import Near, box_in, near_of, outside, surroundings
from routeprep.readers.parts import make_part, source

NEAR = Near(west_deg=-100.9, south_deg=41.4, east_deg=-100.8, north_deg=41.5)


def part():
    """A file without drives."""
    return make_part(source(b"", name="x.gpx", what="drive", taken={}, skipped={}))


def test_the_box_reaches_150_m_beyond_the_last_place_on_each_side() -> None:
    """By geodesics; what is not finite does not count."""
    lon, lat = np.array([-100.87, math.nan, -100.86]), np.array([41.43, 41.0, 41.44])
    near = near_of([(lon, lat)])
    _, _, far_m = Geod(ellps="WGS84").inv(
        [-100.87, -100.86, -100.87, -100.86], [41.44, 41.44, 41.43, 41.44],
        [near.west_deg, near.east_deg, -100.87, -100.86],
        [41.44, 41.44, near.south_deg, near.north_deg],
    )  # fmt: skip

    assert far_m == pytest.approx(np.full(4, 150.0), abs=0.01)


def test_without_places_or_round_the_globe_there_is_no_box() -> None:
    """Then everything is read."""
    lost = np.array([math.nan])

    assert near_of([]) is None
    assert near_of([(lost, lost)]) is None
    assert near_of([(np.array([-179.9999, 179.9999]), np.array([41.0, 41.0]))]) is None


@given(st.floats(-100.9, -100.8), st.floats(41.4, 41.5))
def test_what_is_in_the_box_is_in_the_box_of_any_plane(lon: float, lat: float) -> None:
    """US survey feet of a state's plane, and UTM far outside its zone."""
    for crs in ("EPSG:2288", "EPSG:32610"):
        box = box_in(NEAR, crs, datum_operation="")
        x, y = Transformer.from_crs(4326, crs, always_xy=True).transform(lon, lat)

        assert box.west <= x <= box.east
        assert box.south <= y <= box.north


def test_degrees_of_another_datum_are_a_wider_box_and_what_cannot_be_is_none() -> None:
    """NAD83 is within 500 m; an unknown system and a plane of another datum are for the reader."""
    box = box_in(NEAR, "EPSG:4269", datum_operation="")
    pole = Near(west_deg=-100.9, south_deg=-90.0, east_deg=-100.8, north_deg=41.5)

    assert box.west < NEAR.west_deg - 0.004
    assert box_in(NEAR, "nonsense", datum_operation="") is None
    assert box_in(NEAR, "EPSG:26714", datum_operation="") is None
    assert box_in(pole, "EPSG:2288", datum_operation="") is None


def test_only_what_is_known_to_lie_beside_the_box_is_outside() -> None:
    """What reaches into it is not, nor what has no place on the globe."""
    shapes = np.array(
        [
            shapely.Point(-100.85, 41.45),
            shapely.Point(-100.95, 41.45),
            shapely.Point(-100.85, 41.55),
            shapely.LineString([(-101, 41.45), (-100, 41.45)]),
            shapely.Point(),
            None,
            shapely.Point(500, 41.45),
            shapely.Point(-100.8 + 4e-8, 41.45),
            shapely.Point(-100.8 + 6e-8, 41.45),
        ]
    )

    assert outside(shapes, NEAR).tolist() == [
        False, True, True, False, False, False, False, False, True
    ]  # fmt: skip
    assert not outside(shapes, None).any()


def alignment(crs):
    """A designed line 1 km north."""
    one = np.array([0.0])
    return Alignment(
        name="CL", what=("line",), x_m=np.array([500_000.0]), y_m=np.array([4_590_000.0]),
        heading_deg=one, curvature_start_per_m=one, curvature_end_per_m=one,
        length_m=np.array([1000.0]), unit="m", crs=crs, start_value=0.0, equations=(), profile=(),
    )  # fmt: skip


def test_lines_and_alignments_have_surroundings() -> None:
    """An alignment in its plane, its far end too; without a plane all is read."""
    job = settings()
    piece = surroundings([part()], [straight()], {}, job)
    lon, lat = PLANE.to_lonlat(np.array([[0.0, 1149.0], [149.0, 0.0]]))
    far = Transformer.from_crs(32614, 4326, always_xy=True).transform(500_000, 4_591_000)
    planned = surroundings([], [], {"A": alignment("EPSG:32614")}, job)
    told = surroundings([], [], {"A": alignment("")}, settings(leg_settings(crs="EPSG:32614")))

    assert piece.south_deg < lat[0] < piece.north_deg
    assert piece.west_deg < lon[1] < piece.east_deg
    assert planned.south_deg < far[1] < planned.north_deg
    assert planned == told
    assert surroundings([], [], {"A": alignment("")}, job) is None
