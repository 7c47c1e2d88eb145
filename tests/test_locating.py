"""Points against a leg's line: laws, hard places, and answers from elsewhere."""

import csv
import json

import numpy as np
import pytest
import shapely
from builders import leg_settings
from geographiclib.geodesic import Geodesic
from hypothesis import given
from hypothesis import strategies as st
from outside import open_data
from strategies import (
    alignment_of,
    fractions,
    line_from_xy,
    offsets_m,
    reversed_line,
    roads,
    winding_xy,
)

from routeprep.centerline import from_pieces, measured
from routeprep.designed import designed_line
from routeprep.geodesy import plane_at
from routeprep.grids import grid_of
from routeprep.lines import LinePiece
from routeprep.locating import locate, locate_near, place, runners_up
from routeprep.readers.landxml import choose, read_alignments

CITY = "Cambridge MA open data (cambridgegis), PDDL 1.0"


def one(value):
    """An array of one number."""
    return np.array([value], dtype=np.float64)


@given(roads(), fractions, offsets_m)
def test_a_point_placed_is_located_where_it_was_placed(line, fraction, offset_m):
    """Round trip within 1 mm, away from corners where two segments share a point."""
    along_m = fraction * line.length_m
    got = locate(line, *place(line, one(along_m), one(offset_m)))

    # Inside a corner the nearest segment may be the next one: never farther than was placed.
    assert got.distance_m[0] <= abs(offset_m) + 1e-3
    if abs(got.distance_m[0] - abs(offset_m)) < 1e-4:
        assert got.offset_m[0] == pytest.approx(offset_m, abs=1e-3)


@given(st.floats(50.0, 2000.0), fractions, offsets_m, st.floats(-175, 175), st.floats(-70, 70))
def test_on_a_straight_road_the_round_trip_is_exact(length_m, fraction, offset_m, lon, lat):
    """Along and offset come back within 1 mm."""
    line = line_from_xy([[0, 0], [0.6 * length_m, 0.8 * length_m]], lon_deg=lon, lat_deg=lat)
    along_m = fraction * line.length_m
    got = locate(line, *place(line, one(along_m), one(offset_m)))

    assert got.along_m[0] == pytest.approx(along_m, abs=1e-3)
    assert got.offset_m[0] == pytest.approx(offset_m, abs=1e-3)


@given(roads(), fractions, offsets_m)
def test_turning_the_road_round_mirrors_along_and_flips_sides(line, fraction, offset_m):
    """Along becomes length minus along; right becomes left."""
    point = place(line, one(fraction * line.length_m), one(offset_m))
    up, down = locate(line, *point), locate(reversed_line(line), *point)

    assert down.distance_m[0] == pytest.approx(up.distance_m[0], abs=1e-6)
    if up.past_end_m[0] == 0 and down.past_end_m[0] == 0:
        ground = line.length_m - down.along_m[0]
        two_feet_apart = abs(ground - up.along_m[0]) > 1e-3
        # Two feet may tie exactly on a corner's bisector; then both are right.
        assert not two_feet_apart or np.isclose(up.distance_m[0], down.distance_m[0], atol=1e-9)
        assert down.offset_m[0] == pytest.approx(-up.offset_m[0], abs=1e-3)


@given(winding_xy(), st.integers(0, 2**32 - 1))
def test_foot_agrees_with_shapely_as_an_independent_locator(xy, seed):
    """line_locate_point in the same plane gives the same place within 1 mm, ends clamped."""
    rng = np.random.default_rng(seed)
    points = xy[rng.integers(0, len(xy), 25)] + rng.normal(0.0, 8.0, (25, 2))
    plane = plane_at(-100.87, 41.43)
    line = line_from_xy(xy)
    got = locate(line, *plane.to_lonlat(points))
    string = shapely.LineString(xy)
    feet = shapely.get_coordinates(
        shapely.line_interpolate_point(
            string, shapely.line_locate_point(string, shapely.points(points))
        )
    )
    clamped = np.clip(got.along_m, 0.0, line.length_m)
    ours = plane.to_xy(*place(line, clamped, np.zeros(25)))
    expected_m = np.hypot(*(points - feet).T)

    np.testing.assert_allclose(np.hypot(*(points - ours).T), expected_m, atol=1e-3)


@given(roads(), st.permutations(range(12)))
def test_order_of_points_changes_nothing(line, order):
    """Each point's answer is its own."""
    along_m = np.linspace(0, line.length_m, 12)
    lon, lat = place(line, along_m, np.linspace(-5, 5, 12))
    straight, shuffled = locate(line, lon, lat), locate(line, lon[order], lat[order])

    np.testing.assert_array_equal(straight.along_m[order], shuffled.along_m)


def test_400_m_before_the_start_is_past_the_end_by_400_m():
    """Nothing clamps: along is negative and says by how much."""
    line = line_from_xy([[0, 0], [0, 1000]])
    got = locate(line, *plane_at(-100.87, 41.43).to_lonlat(np.array([[3.0, -400.0]])))

    assert got.along_m[0] == pytest.approx(-400.0, abs=0.01)
    assert got.past_end_m[0] == pytest.approx(400.0, abs=0.01)
    assert got.offset_m[0] == pytest.approx(3.0, abs=0.01)


def test_past_the_far_end_counts_on():
    """Just past the last vertex the stations go on."""
    line = line_from_xy([[0, 0], [0, 1000]])
    got = locate(line, *plane_at(-100.87, 41.43).to_lonlat(np.array([[0.0, 1000.5]])))

    assert got.along_m[0] == pytest.approx(1000.5, abs=0.01)
    assert got.past_end_m[0] == pytest.approx(0.5, abs=0.01)


def test_a_hairpin_20_m_apart_names_the_other_place():
    """9 m from one side and 11 from the other: the other one is the runner-up."""
    line = line_from_xy([[0, 0], [0, 500], [20, 500], [20, 0]])
    lon, lat = plane_at(-100.87, 41.43).to_lonlat(np.array([[9.0, 100.0], [9.0, 499.0]]))
    best = locate(line, lon, lat)
    other = runners_up(line, lon, lat, best, within_m=15.0, apart_m=60.0)

    assert best.along_m[0] == pytest.approx(100.0, abs=0.01)
    assert other[0] == pytest.approx(920.0, abs=0.01)
    assert np.isnan(other[1])


def test_near_a_known_distance_the_other_side_of_a_hairpin_is_found():
    """Time order settles what distance alone cannot."""
    line = line_from_xy([[0, 0], [0, 500], [20, 500], [20, 0]])
    lon, lat = plane_at(-100.87, 41.43).to_lonlat(np.array([[9.0, 100.0], [9.0, 100.0]]))
    got = locate_near(line, lon, lat, near_m=np.array([915.0, np.nan]), window_m=40.0)

    assert got.along_m[0] == pytest.approx(920.0, abs=0.01)
    assert got.offset_m[0] == pytest.approx(11.0, abs=0.01)
    assert np.isnan(got.along_m[1])


def test_points_without_coordinates_get_nothing_and_move_nobody():
    """NaN in, NaN out, in the same row."""
    line = line_from_xy([[0, 0], [0, 1000]])
    lon, lat = place(line, np.array([10.0, 20.0]), np.zeros(2))
    got = locate(line, np.array([lon[0], np.nan, lon[1]]), np.array([lat[0], np.nan, lat[1]]))

    assert np.isnan(got.along_m).tolist() == [False, True, False]
    assert got.along_m[2] == pytest.approx(20.0, abs=1e-6)


def test_no_points_give_no_places():
    """An empty array is no fault."""
    line = line_from_xy([[0, 0], [0, 1000]])

    assert len(locate(line, np.zeros(0), np.zeros(0)).along_m) == 0


def test_a_line_500_km_long_is_measured_by_geodesics_everywhere():
    """geographiclib's summed geodesics, and exact round trips far from the middle."""
    lon = np.linspace(-103.0, -97.0, 400)
    lat = 41.0 + 0.05 * np.sin(np.arange(400) / 9.0)
    line = measured(lon, lat, sd_m=np.zeros(400), elevation_m=0.0, made_from="file")
    expected = sum(
        Geodesic.WGS84.Inverse(a, b, c, d)["s12"]
        for a, b, c, d in zip(lat, lon, lat[1:], lon[1:], strict=False)
    )
    along_m = np.linspace(1000.0, line.length_m - 1000.0, 50)
    got = locate(line, *place(line, along_m, np.full(50, 4.0)))

    assert line.length_m == pytest.approx(expected, abs=1e-5)
    np.testing.assert_allclose(got.offset_m, 4.0, atol=1e-3)
    np.testing.assert_allclose(got.along_m, along_m, atol=0.5)


def prospect_st():
    """Prospect St, 12 pieces of a city's centerline file, joined."""
    path = open_data("city/prospect-st-centerline.geojson", source=CITY)
    features = json.loads(path.read_text(encoding="utf-8"))["features"]
    pieces = [
        LinePiece(
            lon_deg=np.array([p[0] for p in feature["geometry"]["coordinates"]]),
            lat_deg=np.array([p[1] for p in feature["geometry"]["coordinates"]]),
            name=feature["properties"]["Street_Name"],
            source=path.name,
        )
        for feature in features
    ]
    line, _ = from_pieces(pieces, leg="A", elevation_m=0.0, start_near_deg=(-71.10399, 42.36557))
    return line


def test_prospect_st_is_as_long_as_the_independent_answer():
    """1155.017 m on the ground, computed by independent code from the city's file."""
    assert prospect_st().length_m == pytest.approx(1155.017, abs=0.001)


def test_66_things_on_prospect_st_are_within_2_cm_of_the_table():
    """Station and offset by independent code; two signals before the start are past the end."""
    path = open_data("city/prospect-st.expected.csv", source=CITY)
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    lon = np.array([float(row["lon_deg"]) for row in rows])
    lat = np.array([float(row["lat_deg"]) for row in rows])
    got = locate(prospect_st(), lon, lat)
    inside = got.past_end_m == 0
    along_m = np.array([float(row["along_ground_m"]) for row in rows])
    offset_m = np.array([float(row["offset_m_right_positive"]) for row in rows])

    assert (len(rows), int(inside.sum())) == (68, 66)
    np.testing.assert_allclose(got.along_m[inside], along_m[inside], atol=0.02)
    np.testing.assert_allclose(got.offset_m[inside], offset_m[inside], atol=0.02)
    assert sorted(got.past_end_m[~inside].round(2)) == [1.73, 5.64]


def test_a_states_measured_route_is_as_long_as_its_geodesics():
    """route-10023601, 182 vertices: 9609.146 m uncalibrated, computed beside the open data."""
    path = open_data(
        "measured-routes/route-10023601.csv", source="WSDOT-GIS/arcgis-rest-lrs, Unlicense"
    )
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    lon = np.array([float(row["lon_deg"]) for row in rows])
    lat = np.array([float(row["lat_deg"]) for row in rows])
    line = measured(lon, lat, sd_m=np.zeros(len(lon)), elevation_m=0.0, made_from="file")
    so_far_m = [float(row["geodesic_length_so_far_m"]) for row in rows]

    assert line.length_m == pytest.approx(9609.146, abs=0.001)
    np.testing.assert_allclose(line.along_m, so_far_m, atol=0.001)


def designed(alignment, *, datum_operation=""):
    """The line of a designed alignment."""
    line, _ = designed_line(
        alignment, leg=leg_settings(), elevation_m=200.0, datum_operation=datum_operation
    )
    return line


# Straight, spiral, curve to the left, spiral, straight: invented, 1,000 m.
ROAD = alignment_of(
    (250.0, 0.0, 0.0),
    (80.0, 0.0, -1 / 180),
    (240.0, -1 / 180, -1 / 180),
    (80.0, -1 / 180, 0.0),
    (350.0, 0.0, 0.0),
)
# There and back 20 m apart round a half circle: invented, 200 m either way.
HAIRPIN = alignment_of(
    (200.0, 0.0, 0.0), (10.0 * np.pi, 0.1, 0.1), (200.0, 0.0, 0.0), heading_deg=0.0
)


@given(st.floats(-50.0, 1050.0), st.floats(-30.0, 30.0), st.sampled_from(["", "EPSG:1515"]))
def test_on_a_designed_alignment_the_round_trip_is_exact(along_m, offset_m, operation):
    """Along and offset come back within 0.01 mm, on curves, spirals and past the ends."""
    line = designed(ROAD, datum_operation=operation)
    got = locate(line, *place(line, one(along_m), one(offset_m)))

    assert got.along_m[0] == pytest.approx(along_m, abs=1e-5)
    assert got.offset_m[0] == pytest.approx(offset_m, abs=1e-5)
    assert got.past_end_m[0] == pytest.approx(max(-along_m, along_m - 1000.0, 0.0), abs=1e-5)


def test_a_point_on_a_curve_is_on_the_arc_not_on_its_chord():
    """Center and radius by hand: 180 m from the center is offset 0, 177 m is 3 m to the left."""
    line = designed(ROAD)
    heading = np.radians(ROAD.heading_deg[2])
    center_m = np.array([ROAD.x_m[2], ROAD.y_m[2]]) + 180.0 * np.array(
        [-np.cos(heading), np.sin(heading)]
    )
    turn = heading - np.array([31.0, 77.7, 200.0]) / 180.0
    away = np.column_stack([np.cos(turn), -np.sin(turn)])
    points = np.vstack([center_m + 180.0 * away, center_m + 177.0 * away])
    got = locate(line, *grid_of("EPSG:26914").to_lonlat(points))

    np.testing.assert_allclose(got.along_m, [361.0, 407.7, 530.0] * 2, rtol=0, atol=1e-5)
    np.testing.assert_allclose(got.offset_m, [0.0] * 3 + [-3.0] * 3, rtol=0, atol=1e-5)


def test_an_operation_moves_points_by_about_a_metre_against_the_plan():
    """Taken as one or brought over by EPSG:1515."""
    lon, lat = place(designed(ROAD), one(500.0), one(0.0))
    got = locate(designed(ROAD, datum_operation="EPSG:1515"), lon, lat)

    assert np.hypot(got.along_m[0] - 500.0, got.offset_m[0]) == pytest.approx(1.0, abs=0.5)


def test_another_place_on_an_arc_is_on_the_arc_not_on_its_chord():
    """A loop comes round beside its straight: center (30, 200) m, R = 30 m, by hand to 0.1 mm."""
    loop = alignment_of((200.0, 0.0, 0.0), (30.0 * 5.8, 1 / 30, 1 / 30), heading_deg=0.0)
    line = designed(loop)
    points_m = np.array([[1.0, north_m] for north_m in (177.0, 178.0, 179.0)])
    start_m = np.array([loop.x_m[0], loop.y_m[0]])
    lon, lat = grid_of("EPSG:26914").to_lonlat(start_m + points_m)
    from_center_m = points_m - [30.0, 200.0]
    turned = np.mod(np.arctan2(from_center_m[:, 1], -from_center_m[:, 0]), 2 * np.pi)
    got = runners_up(line, lon, lat, locate(line, lon, lat), within_m=15.0, apart_m=60.0)

    np.testing.assert_allclose(got, 200.0 + 30.0 * turned, rtol=0, atol=1e-4)


def test_the_other_side_of_a_designed_hairpin_is_found_on_the_elements():
    """9 m from the way there and 11 from the way back: 381.4159 m along, by hand."""
    line = designed(HAIRPIN)
    begin_m = np.array([HAIRPIN.x_m[0], HAIRPIN.y_m[0]])
    points = begin_m + np.array([[9.0, 50.0], [9.0, 50.0], [-3.0, 10.0]])
    lon, lat = grid_of("EPSG:26914").to_lonlat(points)
    best = locate(line, lon, lat)
    other = runners_up(line, lon, lat, best, within_m=15.0, apart_m=60.0)
    near = locate_near(line, lon, lat, near_m=np.array([375.0, 55.0, np.nan]), window_m=40.0)

    np.testing.assert_allclose(best.along_m, [50.0, 50.0, 10.0], rtol=0, atol=1e-5)
    np.testing.assert_allclose(other[:2], 350.0 + 10.0 * np.pi, rtol=0, atol=1e-5)
    np.testing.assert_allclose(near.along_m[:2], [350.0 + 10.0 * np.pi, 50.0], rtol=0, atol=1e-5)
    np.testing.assert_allclose(near.offset_m[:2], [11.0, 9.0], rtol=0, atol=1e-5)
    assert np.isnan(near.along_m[2])


def test_points_without_coordinates_get_nothing_on_a_designed_alignment():
    """Nor do no points."""
    line = designed(ROAD)
    lon, lat = place(line, np.array([10.0, np.nan]), np.zeros(2))
    got = locate(line, lon, lat)
    other = runners_up(line, lon, lat, got, within_m=15.0, apart_m=60.0)

    assert got.along_m[0] == pytest.approx(10.0, abs=1e-5)
    assert np.isnan(got.along_m[1])
    assert np.isnan(other).all()
    assert len(locate(line, np.zeros(0), np.zeros(0)).along_m) == 0


def published(name, crs):
    """The alignment of an open LandXML file as a line."""
    path = open_data(f"alignments/{name}", source="bSI-InfraRoom/IFC-infra-unit-test, CC BY 4.0")
    read = read_alignments(path.read_bytes(), name=path.name)
    alignment = choose(read, wanted=read.alignments[0].name, name=path.name)
    line, _ = designed_line(
        alignment, leg=leg_settings(crs=crs), elevation_m=0.0, datum_operation=""
    )
    return line


def test_a_published_road_in_us_feet_is_located_to_a_thousandth_of_a_foot():
    """Every 50 ft, on the line, 12 ft left and 24 ft right, by independent code.

    Its file names no system; for the way to degrees and back any plane in these feet serves.
    """
    line, grid = published("INDOT_PR_Twin_Branch.xml", "EPSG:2965"), grid_of("EPSG:2965")
    path = open_data(
        "alignments/INDOT_PR_Twin_Branch.expected.csv", source="computed beside the open data"
    )
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    stations = np.array([float(row["station_ft"]) for row in rows]) - 2103.72056
    for east, north, offset_ft in (("E_ftUS", "N_ftUS", 0), ("E_L12", "N_L12", -12),
                                   ("E_R24", "N_R24", 24)):  # fmt: skip
        feet = np.array([[float(row[east]), float(row[north])] for row in rows])
        got = locate(line, *grid.to_lonlat(feet * grid.unit_m))

        np.testing.assert_allclose(got.along_m / grid.unit_m, stations, rtol=0, atol=0.001)
        np.testing.assert_allclose(got.offset_m / grid.unit_m, offset_ft, rtol=0, atol=0.001)


def test_a_published_road_with_its_own_system_is_located_by_degrees_alone():
    """A Finnish road in EPSG:3878, there and back within 0.01 mm along its whole length."""
    line = published("FI_TOI-Y3.xml", "")
    along_m = np.linspace(0.0, line.length_m, 500)
    got = locate(line, *place(line, along_m, np.full(500, 4.5)))

    assert line.crs == "EPSG:3878"
    np.testing.assert_allclose(got.along_m, along_m, rtol=0, atol=1e-5)
    np.testing.assert_allclose(got.offset_m, 4.5, rtol=0, atol=1e-5)
