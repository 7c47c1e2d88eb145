"""Designed alignments as lines: where they lie, what their lengths are on the ground."""

from dataclasses import replace

import numpy as np
import pytest
from builders import leg_settings
from geographiclib.geodesic import Geodesic
from pyproj import Transformer
from strategies import alignment_of, line_from_xy

from routeprep.designed import designed_line, factors
from routeprep.errors import LineError
from routeprep.geodesy import segment_lengths_m
from routeprep.units import STATION_UNITS

# Straight, into a spiral, a curve to the right, out of it, and on: invented.
ROAD = alignment_of(
    (300.0, 0.0, 0.0),
    (60.0, 0.0, 1 / 250),
    (180.0, 1 / 250, 1 / 250),
    (60.0, 1 / 250, 0.0),
    (400.0, 0.0, 0.0),
)


# The same in Indiana, in the state's eastern plane.
INDIANA = replace(ROAD, unit="ftUS", crs="EPSG:2965", x_m=ROAD.x_m - 400_000.0,
                  y_m=ROAD.y_m - 4_085_000.0)  # fmt: skip


def made(alignment=ROAD, *, elevation_m=0.0, datum_operation="", **leg):
    """The line of an alignment, and the texts of its findings."""
    line, findings = designed_line(
        alignment,
        leg=leg_settings(**leg),
        elevation_m=elevation_m,
        datum_operation=datum_operation,
    )
    return line, [(one.level, one.text) for one in findings]


def test_the_line_keeps_the_alignments_own_distances():
    """1,000 m on the plan are 1,000 m of stations, though more on the ground."""
    line, _ = made(elevation_m=1500.0)

    assert line.length_m == pytest.approx(1000.0, abs=1e-9)
    assert line.made_from == "designed alignment"
    assert (line.alignment, line.crs, line.elevation_m) == (ROAD, "EPSG:26914", 1500.0)


def test_its_vertices_lie_where_the_plane_has_them():
    """Element starts in degrees by pyproj alone, within 1e-9 degree."""
    line, _ = made()
    turn = Transformer.from_crs("EPSG:26914", "EPSG:4269", always_xy=True)
    lon, lat = turn.transform(ROAD.x_m, ROAD.y_m)
    starts = np.searchsorted(line.along_m, np.r_[0.0, np.cumsum(ROAD.length_m)[:-1]] - 1e-6)

    np.testing.assert_allclose(line.lon_deg[starts], lon, rtol=0, atol=1e-9)
    np.testing.assert_allclose(line.lat_deg[starts], lat, rtol=0, atol=1e-9)


def test_chords_between_vertices_leave_the_curve_by_a_centimetre_at_most():
    """Sagitta, chord squared over 8 R; and no chord is longer than 25 m."""
    steps_m = np.diff(made()[0].along_m)

    assert steps_m.max() <= 25.0
    assert (steps_m[13:-16] ** 2 / (8 * 250)).max() <= 0.01


def test_elements_of_no_length_to_speak_of_make_no_vertex():
    """Two vertices at one place would be a segment of no length."""
    short = alignment_of((100.0, 0.0, 0.0), (1e-5, 0.0, 0.0), (100.0, 0.0, 0.0), (1e-6, 0.0, 0.0))
    line, _ = made(short)

    assert np.diff(line.along_m).min() > 0.001
    assert line.along_m[-1] == pytest.approx(200.000011, abs=1e-9)


@pytest.mark.parametrize(
    ("operation", "sd_m"), [("", 0.5102), ("EPSG:1515", 0.0), ("EPSG:1188", 0.5102)]
)
def test_another_datum_adds_a_metre_to_the_plus_minus_unless_an_operation_is_named(operation, sd_m):
    """And it is said."""
    line, said = made(datum_operation=operation)

    assert line.sd_m == pytest.approx(sd_m, abs=1e-4)
    assert line.datum_operation == operation
    assert any("EPSG:26914 (NAD83) is" in text for _, text in said)


def test_in_wgs84_nothing_is_added_or_said_of_a_datum():
    """EPSG:32614 is the same plane in WGS 84."""
    line, said = made(replace(ROAD, crs="EPSG:32614"))

    assert not line.sd_m.any()
    assert [level for level, _ in said] == ["note"]


def test_factors_are_those_of_the_plane_and_the_height():
    """Mean k of UTM by k0 (1 + dE^2 / 2 k0^2 R^2) and R / (R + h), within 2e-6; ground by both."""
    line, _ = made(elevation_m=1200.0)
    found = factors(line)
    east_m = ROAD.x_m.mean() - 500_000.0
    scale = 0.9996 * (1 + east_m**2 / (2 * 0.9996**2 * 6_378_000.0**2))

    assert found.grid_scale == pytest.approx(scale, abs=2e-6)
    assert found.elevation_factor == pytest.approx(6_371_008.8 / 6_372_208.8, abs=1e-12)
    assert found.combined == pytest.approx(found.grid_scale * found.elevation_factor, rel=1e-15)
    assert found.declared_m / found.ground_m == pytest.approx(found.combined, rel=1e-15)


def test_ground_length_is_the_geodesic_raised_to_the_ground():
    """A straight of 10 km by geographiclib, times 1 + h/R, within 1 mm: at 1,200 m, 5.4 m more.

    A straight of a plane bends from the geodesic by so little that its length does not show it.
    """
    straight = alignment_of((10_000.0, 0.0, 0.0))
    line, _ = made(straight, elevation_m=1200.0)
    ends = line.lat_deg[0], line.lon_deg[0], line.lat_deg[-1], line.lon_deg[-1]
    geodesic_m = Geodesic.WGS84.Inverse(*ends)["s12"]

    assert factors(line).ground_m == pytest.approx(geodesic_m * (1 + 1200 / 6_371_008.8), abs=0.001)
    assert factors(line).ground_m - 10_000.0 == pytest.approx(5.4, abs=0.5)


def test_ground_length_of_a_curved_road_is_that_of_its_vertices():
    """Sum of geodesics, less what chords lose, within 10 mm a km."""
    line, _ = made(elevation_m=300.0)
    sum_m = segment_lengths_m(line.lon_deg, line.lat_deg, elevation_m=300.0).sum()

    assert factors(line).ground_m == pytest.approx(sum_m, abs=0.01)


def test_lines_from_files_and_drives_have_no_factors():
    """Their along is ground already."""
    assert factors(line_from_xy([[0, 0], [0, 100]])) is None


def test_lengths_and_factors_are_said_in_the_legs_unit():
    """Reported, not applied."""
    line, said = made(INDIANA, elevation_m=300.0, unit=STATION_UNITS["100 ftUS"])
    feet = factors(line).ground_m / 1200 * 3937

    assert said[-1][0] == "note"
    assert said[-1][1].startswith(
        "stations keep the plan's lengths: 3,280.83 ftUS of alignment 'CL 1' in EPSG:2965 are "
        f"{feet:,.2f} ftUS on the ground, {feet - 3280.8333:.2f} ftUS more (grid scale 1.0000"
    )
    assert said[-1][1].endswith("): reported, not applied")


def test_the_jobs_system_serves_where_the_file_names_none():
    """And the same one may stand in both, however it is spelled."""
    bare = replace(ROAD, crs="")
    (one, _), (two, _) = made(bare, crs="EPSG:26914"), made(crs="NAD83 / UTM zone 14N")

    np.testing.assert_array_equal(one.lon_deg, two.lon_deg)


def test_without_a_system_it_cannot_be_located():
    """The message says what to give."""
    bare = replace(ROAD, crs="")
    with pytest.raises(
        LineError,
        match=r"leg A: alignment 'CL 1' cannot be located from longitude and latitude, since its "
        r'file names no coordinate system, or several; name .* centerline = .* crs = "EPSG:',
    ):
        made(bare)


def test_two_different_systems_are_refused():
    """Naming both."""
    with pytest.raises(LineError, match=r"is in EPSG:26914 .* but the job says crs = 'EPSG:2965'"):
        made(crs="EPSG:2965")


def test_a_name_that_only_its_program_knows_gives_way_to_the_jobs():
    """And is doubted; with no other to go by it is refused."""
    local = replace(ROAD, crs="IN83-EF")
    _, said = made(local, crs="EPSG:26914")

    expected = (
        "the file of alignment 'CL 1' calls its coordinate system 'IN83-EF', which is not known; "
        "EPSG:26914 is taken, as the job says"
    )
    assert said[0] == ("doubt", expected)
    with pytest.raises(LineError, match="leg A: coordinate system 'IN83-EF' is not known"):
        made(local)


def test_the_two_feet_in_file_and_plane_are_doubted_with_what_it_makes():
    """At 500 km from the origin two parts in a million are 1.00 m."""
    _, said = made(replace(INDIANA, unit="ft"), unit=STATION_UNITS["100 ft"])

    expected = (
        "the file of alignment 'CL 1' is in ft and EPSG:2965 is in ftUS; the file is taken at its "
        "word: if it is wrong, all is 1.00 m off"
    )
    assert said[0] == ("doubt", expected)


@pytest.mark.parametrize("unit", ["m", "ftUS"])
def test_other_units_are_no_matter(unit):
    """Metres of a plane in feet are metres."""
    _, said = made(replace(INDIANA, unit=unit))

    assert [level for level, _ in said] == ["note", "note"]


def test_a_line_where_its_plane_is_not_for_is_doubted():
    """Easting read as northing puts a road of Indiana's eastern plane some way north of it."""
    swapped = replace(INDIANA, x_m=INDIANA.y_m, y_m=INDIANA.x_m + 600_000.0)
    fine, odd = (made(one)[1] for one in (INDIANA, swapped))

    assert not any("northing first" in text for _, text in fine)
    assert any(
        level == "doubt"
        and "plane, NAD83 / Indiana East (ftUS), is for -86.6 to -84.8, 38.0 to 41.8" in text
        for level, text in odd
    )


def test_a_plane_that_is_for_nowhere_in_particular_or_crosses_the_date_line_doubts_nothing():
    """One given by its parameters alone, and one of the south-west Pacific."""
    plain = replace(ROAD, crs="+proj=utm +zone=14 +datum=WGS84")
    pacific = replace(ROAD, crs="EPSG:3832", x_m=ROAD.x_m - 499_000.0, y_m=ROAD.y_m - 4.4e6)

    assert not any("northing first" in text for one in (plain, pacific) for _, text in made(one)[1])


def test_a_plane_that_no_road_is_designed_in_is_refused():
    """Web Mercator makes a metre at 41 degrees 1.33 m long."""
    web = replace(ROAD, crs="EPSG:3857", x_m=ROAD.x_m - 11_600_000.0, y_m=ROAD.y_m + 450_000.0)
    with pytest.raises(LineError, match=r"in EPSG:3857 a metre near .* is 1\.3\d+ m long"):
        made(web)


def test_coordinates_that_have_no_place_are_named():
    """In the plane's own unit."""
    far = replace(ROAD, crs="EPSG:2965", x_m=ROAD.x_m + 1e9)
    with pytest.raises(LineError, match=r"leg A: east [\d,.]+, north [\d,.]+ of alignment 'CL 1'"):
        made(far)
