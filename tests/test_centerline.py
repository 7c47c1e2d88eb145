"""Pieces of a file joined into one directed line."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import winding_xy

from routeprep.centerline import from_pieces, measured, start_end
from routeprep.errors import LineError
from routeprep.geodesy import plane_at, segment_lengths_m
from routeprep.lines import LinePiece

PLANE = plane_at(-100.87, 41.43)
START = tuple(float(v[0]) for v in PLANE.to_lonlat(np.array([[0.0, 0.0]])))


def piece(*xy, name="Elm St"):
    """A piece through points of a plane [m]."""
    lon, lat = PLANE.to_lonlat(np.array(xy, dtype=np.float64))
    return LinePiece(lon_deg=lon, lat_deg=lat, name=name, source="lines.geojson")


def join(*pieces, near=START, gap_m=0.5):
    """The joined line."""
    line, _ = from_pieces(pieces, leg="A", elevation_m=0.0, start_near_deg=near, join_gap_m=gap_m)
    return line


@given(winding_xy(), st.integers(0, 2**32 - 1))
def test_pieces_in_any_order_and_direction_give_the_same_line(xy, seed):
    """Cut a line at random vertices, turn and shuffle the pieces: the line comes back."""
    rng = np.random.default_rng(seed)
    cuts = sorted(rng.choice(np.arange(1, len(xy) - 1), size=min(3, len(xy) - 2), replace=False))
    parts = [xy[a : b + 1] for a, b in zip([0, *cuts], [*cuts, len(xy) - 1], strict=True)]
    turned = [part[::-1] if rng.random() < 0.5 else part for part in parts]
    rng.shuffle(turned)
    whole = join(piece(*xy))
    got = join(*(piece(*part) for part in turned))

    np.testing.assert_array_equal(got.lon_deg, whole.lon_deg)
    np.testing.assert_array_equal(got.along_m, whole.along_m)


def test_along_is_the_sum_of_ground_lengths():
    """At 1,000 m a kilometre on the map is 157 mm longer on the ground."""
    lon, lat = PLANE.to_lonlat(np.array([[0.0, 0.0], [0.0, 500.0], [0.0, 1000.0]]))
    line = measured(lon, lat, sd_m=np.zeros(3), elevation_m=1000.0, made_from="file")
    flat_m = segment_lengths_m(lon, lat, elevation_m=0.0).sum()

    assert line.length_m - flat_m == pytest.approx(0.157, abs=0.001)


def test_a_small_gap_between_pieces_is_joined():
    """0.3 m is digitising, not a gap in the road."""
    line = join(piece((0, 0), (0, 100)), piece((0.3, 100), (0, 200)))

    assert line.length_m == pytest.approx(200.3, abs=0.1)


def test_a_wide_gap_is_refused_with_its_width_and_place():
    """12 m of nothing is not driven across."""
    with pytest.raises(LineError, match=r"2 parts; the narrowest gap is 12\.0 m wide, from -100"):
        join(piece((0, 0), (0, 100)), piece((0, 112), (0, 200)))


def test_pieces_of_two_streets_ask_which_one():
    """A city-wide file needs a where."""
    with pytest.raises(LineError, match=r"2 names \('Elm St', 'Oak St'\): choose one with where"):
        join(piece((0, 0), (0, 100)), piece((50, 0), (50, 100), name="Oak St"))


def test_a_fork_is_refused_with_its_place():
    """Three pieces at one point are not one line."""
    with pytest.raises(LineError, match=r"3 pieces of the centerline meet at -100\.\d+, 41\.\d+"):
        join(piece((0, 0), (0, 100)), piece((0, 100), (50, 150)), piece((0, 100), (-50, 150)))


def test_a_loop_is_refused():
    """A leg has two ends."""
    with pytest.raises(LineError, match="closes on itself at -100"):
        join(piece((0, 0), (100, 0), (100, 100)), piece((100, 100), (0, 100), (0, 0)))


def test_a_loop_beside_the_line_is_refused_too():
    """A chain and a ring: the ring is named."""
    with pytest.raises(LineError, match="closes on itself"):
        join(piece((0, 0), (0, 100)), piece((50, 0), (60, 0), (60, 10), (50, 0)))


def test_no_piece_is_refused():
    """A where that holds nothing is said so."""
    with pytest.raises(LineError, match="leg A: the centerline has 0 pieces"):
        join()


def test_a_copy_of_a_piece_is_left_out():
    """A file that holds a piece twice, once the other way round, gives the line once."""
    line = join(piece((0, 0), (0, 100)), piece((0, 100), (0, 0)), piece((0, 100), (0, 200)))

    assert line.length_m == pytest.approx(200.0, abs=0.01)


def test_start_near_the_far_end_turns_the_line():
    """The end that bears the start comes first."""
    far = tuple(float(v[0]) for v in PLANE.to_lonlat(np.array([[5.0, 210.0]])))
    line = join(piece((0, 0), (0, 200)), near=far)

    assert line.lat_deg[0] > line.lat_deg[-1]


def test_without_start_near_pieces_keep_their_common_direction():
    """All pieces drawn southward: the line runs southward."""
    line = join(piece((0, 100), (0, 0)), piece((0, 200), (0, 100)), near=None)

    assert line.lat_deg[0] > line.lat_deg[-1]


def test_pieces_drawn_both_ways_need_start_near():
    """Nothing says which end is the start, so it is asked."""
    with pytest.raises(LineError, match="1 pieces of the centerline run one way and 1 the other"):
        join(piece((0, 0), (0, 100)), piece((0, 200), (0, 100)), near=None)


def test_repeated_vertices_are_dropped():
    """A zero-length segment has no direction."""
    line = join(piece((0, 0), (0, 50), (0, 50), (0, 100)))

    assert len(line.along_m) == 3


def test_a_line_of_one_place_is_refused():
    """Two equal vertices are one."""
    lon, lat = PLANE.to_lonlat(np.zeros((2, 2)))
    with pytest.raises(LineError, match="2 vertices but 1 distinct"):
        measured(lon, lat, sd_m=np.zeros(2), elevation_m=0.0, made_from="file")


def test_start_end_says_which_end_and_how_near():
    """The last vertex is 5 m away."""
    lon, lat = PLANE.to_lonlat(np.array([[0.0, 0.0], [0.0, 100.0]]))
    near = tuple(float(v[0]) for v in PLANE.to_lonlat(np.array([[0.0, 105.0]])))
    turn, away_m = start_end(lon, lat, near)

    assert turn
    assert away_m == pytest.approx(5.0, abs=0.01)


def test_a_city_wide_file_of_parts_names_the_narrowest_gap():
    """Four thousand streets side by side, two of them 3 m from each other, in a moment."""
    streets = [piece([200.0 * k, 0.0], [200.0 * k, 100.0], name=f"{k} St") for k in range(4000)]
    streets.append(piece([603.0, 0.0], [603.0, -50.0], name="last"))

    with pytest.raises(LineError, match=r"4001 parts; the narrowest gap is 3.0 m .* \(3 St\)"):
        join(*streets)


def test_three_ends_joined_one_by_one_are_one_place():
    """The first is near the second, the second near the third: a fork of three."""
    arms = piece([0.0, 0], [0, 90]), piece([0.4, 0], [60, -60]), piece([0.8, 0], [-60, -60])

    with pytest.raises(LineError, match="3 pieces of the centerline meet"):
        join(*arms)


def test_what_a_files_datum_adds_is_the_lines_and_is_said_once():
    """In the order of the vertices, turned with the line."""
    said = "EPSG:2249 (NAD83) is taken as WGS 84"
    first, last = piece((0, 0), (0, 100)), piece((0, 100), (0, 200), (0, 300))
    datum = {"datum_sd_m": 1.0, "datum_said": said}
    line, findings = from_pieces(
        [replace(last, **datum), first], leg="A", elevation_m=0.0, start_near_deg=START
    )
    _, twice = from_pieces(
        [replace(last, **datum), replace(first, **datum)], leg="A", elevation_m=0.0
    )

    assert line.sd_m.tolist() == [0.0, 0.0, 1.0, 1.0]
    assert [(one.level, one.where, one.text) for one in findings[1:]] == [
        ("note", "lines.geojson", said)
    ]
    assert [one.text for one in twice[1:]] == [said]
