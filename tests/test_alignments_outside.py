"""Alignments with published answers: worked curves, and real files of several programs.

Tolerances are 0.001 ft, as the answers are printed, unless said otherwise.
"""

import cmath
import csv
import math

import numpy as np
import pytest
from landxmls import alignment, bearing, curve, landxml, line, worked_c
from outside import open_data

from routeprep.elements import locate_on, place_on
from routeprep.errors import ReadError
from routeprep.readers.landxml import choose, read_alignments
from routeprep.units import FACTORS_M

BSI = "bSI-InfraRoom/IFC-infra-unit-test, CC BY 4.0"
FT = 0.001


class Feet:
    """An alignment asked in stations and feet, or in the file's other unit."""

    def __init__(self, data, name="worked.xml"):
        read = read_alignments(data, name=name)
        self.findings = read.findings
        self.one = choose(read, wanted="", name=name)
        self.unit_m = float(FACTORS_M[self.one.unit])
        self.length = self.one.length_m.sum() / self.unit_m

    def place(self, stations, offsets):
        """East and north at stations and offsets."""
        along_m = (np.atleast_1d(stations) - self.one.start_value) * self.unit_m
        offset_m = np.broadcast_to(offsets, along_m.shape) * self.unit_m
        return place_on(self.one, along_m, offset_m)[0] / self.unit_m

    def locate(self, places):
        """Station and offset of east and north."""
        got = locate_on(self.one, np.atleast_2d(places) * self.unit_m)
        return np.column_stack(
            [got.along_m / self.unit_m + self.one.start_value, got.offset_m / self.unit_m]
        )


def xy(place):
    """East and north of a complex number."""
    return np.column_stack([np.real(place), np.imag(place)])


SIDES = pytest.mark.parametrize(("side", "rot"), [(1, "cw"), (-1, "ccw")], ids=["right", "left"])


def single_curve(*, pc_station, back_deg, radius, delta_deg, side, rot):
    """Tangent, curve and tangent of one problem: PC and direction, what it is drawn with, file."""
    pc, out = 6000.0 + 9000.0j, bearing(back_deg)
    center = pc - 1j * side * radius * out
    pt = center + (pc - center) * cmath.exp(-1j * side * math.radians(delta_deg))
    onward = out * cmath.exp(-1j * side * math.radians(delta_deg))
    elements = (
        line(pc - 300.0 * out, pc),
        curve(pc, center, pt, rot, radius=f"{radius:.9f}"),
        line(pt, pt + 200.0 * onward),
    )
    start = f"{pc_station - 300.0:.9f}"
    return pc, out, Feet(landxml(alignment(*elements, sta_start=start)))


def check_single_curve(one, pc, out, side, *, pc_station, radius):
    """Lay the curve out by deflection angles and chords from PC, as is done with a transit.

    Deflection for an arc s is s / 2R, its chord 2R sin of it (route surveying, arc definition);
    points beside it lie on the radius.
    """
    arcs = np.arange(25.0, one.length - 500.0, 25.0)
    deflections = arcs / (2.0 * radius)
    on_line = pc + 2.0 * radius * np.sin(deflections) * out * np.exp(-1j * side * deflections)
    to_right = -1j * out * np.exp(-2j * side * deflections)
    for offset in (0.0, 12.0, -24.5):
        places = xy(on_line + offset * to_right)
        stations = pc_station + arcs

        assert one.place(stations, offset) == pytest.approx(places, abs=FT)
        assert one.locate(places)[:, 0] == pytest.approx(stations, abs=FT)
        assert one.locate(places)[:, 1] == pytest.approx(np.full(len(arcs), offset), abs=FT)


@SIDES
def test_worked_curve_a(side, rot):
    """PI 23+25.00, D = 4 degrees (arc), 40 degrees: PC 18+03.651, PT 28+03.651, LC, M and E."""
    radius = 5729.578 / 4.0
    pc, out, one = single_curve(
        pc_station=1803.651, back_deg=63.0, radius=radius, delta_deg=40.0, side=side, rot=rot
    )
    pt = one.place(2803.651, 0.0)[0]
    middle = one.place(2303.651, 0.0)[0]
    corner = pc + 521.349 * out

    assert one.length - 500.0 == pytest.approx(1000.000, abs=FT)
    assert one.locate(xy(corner + 0.0))[0, 0] == pytest.approx(2303.651, abs=FT)
    assert np.hypot(*(pt - xy(pc)[0])) == pytest.approx(979.816, abs=FT)
    assert np.hypot(*(middle - 0.5 * (pt + xy(pc)[0]))) == pytest.approx(86.384, abs=FT)
    assert np.hypot(*(middle - xy(corner)[0])) == pytest.approx(91.928, abs=FT)
    check_single_curve(one, pc, out, side, pc_station=1803.651, radius=radius)


@SIDES
def test_worked_curve_b(side, rot):
    """T = 436.18, 116 deg 36 min 48 s: PC 21+95.07, PT 27+43.214 back, L, LC, M and E."""
    delta_deg = 116.0 + 36.0 / 60.0 + 48.0 / 3600.0
    back_deg = 180.0 + 25.0 + 36.0 / 60.0 + 24.0 / 3600.0
    pc, out, one = single_curve(
        pc_station=2195.07, back_deg=back_deg, radius=269.320, delta_deg=delta_deg, side=side,
        rot=rot,
    )  # fmt: skip
    pt = one.place(2743.214, 0.0)[0]
    middle = one.place(2195.07 + 0.5 * 548.144, 0.0)[0]

    assert one.length - 500.0 == pytest.approx(548.144, abs=FT)
    assert np.hypot(*(pt - xy(pc)[0])) == pytest.approx(458.314, abs=FT)
    assert np.hypot(*(middle - 0.5 * (pt + xy(pc)[0]))) == pytest.approx(127.827, abs=FT)
    assert np.hypot(*(middle - xy(pc + 436.18 * out)[0])) == pytest.approx(243.307, abs=0.002)
    check_single_curve(one, pc, out, side, pc_station=2195.07, radius=269.320)


# Worked C as published: station, offset (right positive), northing, easting.
WORKED_C = [
    (1000.0, 0.0, 1000.0, 1000.0),
    (1500.0, 0.0, 1353.5534, 1353.5534),
    (1918.879, 0.0, 1580.0270, 1702.2922),
    (2218.879, 0.0, 1687.5374, 1982.3664),
    (1250.0, 6.0, 1172.5341, 1181.0193),
    (1700.0, -10.5, 1488.6904, 1502.3273),
    (1700.0, 10.5, 1471.1871, 1513.9305),
    (2000.0, 4.25, 1605.1305, 1779.5482),
]


@pytest.mark.parametrize("published", WORKED_C)
@SIDES
def test_worked_curve_c(published, side, rot):
    """Published coordinates forward and inverse; and their mirror image, left for right."""
    station, offset, north, east = published
    one = Feet(landxml(worked_c(lambda p: complex(side * p.real, p.imag), rot)))
    east, offset = side * east, side * offset

    assert one.findings == ()
    assert one.place(station, offset)[0] == pytest.approx((east, north), abs=FT)
    assert one.locate((east, north))[0] == pytest.approx((station, offset), abs=FT)


def test_worked_c_read_east_first_is_caught() -> None:
    """With easting and northing swapped the right-hand curve comes back as left: refused."""
    swapped = worked_c(lambda place: complex(place.imag, place.real))

    with pytest.raises(ReadError, match=r"element 2 \(Curve.*easting and northing look swapped"):
        read_alignments(landxml(swapped), name="swapped.xml")


def bsi(name):
    """The bytes of one file."""
    return open_data(f"alignments/{name}", source=BSI).read_bytes()


def test_indot_every_50_ft_with_offsets() -> None:
    """US survey feet, stations from 21+03.72: coordinates, direction and inverse to 0.001 ft."""
    one = Feet(bsi("INDOT_PR_Twin_Branch.xml"), name="INDOT_PR_Twin_Branch.xml")
    expected = bsi("INDOT_PR_Twin_Branch.expected.csv").decode().splitlines()
    rows = [{key: float(value) for key, value in row.items()} for row in csv.DictReader(expected)]
    stations = np.array([row["station_ft"] for row in rows])

    assert (one.one.unit, one.one.start_value) == ("ftUS", pytest.approx(2103.72056))
    assert len(rows) > 50
    for offset, name in ((0.0, "ftUS"), (-12.0, "L12"), (24.0, "R24")):
        places = np.array([(row[f"E_{name}"], row[f"N_{name}"]) for row in rows])

        assert one.place(stations, offset) == pytest.approx(places, abs=FT)
        assert one.locate(places)[:, 0] == pytest.approx(stations, abs=FT)
        assert one.locate(places)[:, 1] == pytest.approx(np.full(len(rows), offset), abs=FT)
    _, heading_deg = place_on(one.one, (stations - 2103.72056) * one.unit_m, 0.0 * stations)
    assert heading_deg == pytest.approx([row["azimuth_deg"] for row in rows], abs=1e-5)


def test_indot_profile_lies_on_its_parabolas() -> None:
    """PVI elevations are missed by A L / 800 (route surveying), others lie on the tangents."""
    one = Feet(bsi("INDOT_PR_Twin_Branch.xml")).one
    along_m, elevation_m = np.array(one.profile).T
    ft = float(FACTORS_M["ftUS"])
    at = np.interp((3150.0 - 2103.72056) * ft, along_m, elevation_m) / ft
    into = (783.524 - 797.16981264) / (3150.0 - 2276.86123337)
    out = (808.327 - 783.524) / (3990.0 - 3150.0)

    # Chords of 10 m stay within A x^2 / 8 L of the parabola: 0.015 ft.
    assert at == pytest.approx(783.524 + (out - into) * 500.0 / 8.0, abs=0.02)
    assert elevation_m[-1] / ft == pytest.approx(713.75733, abs=FT)
    assert np.diff(along_m).min() > 0.0


def test_aplitop_spirals() -> None:
    """Spiral meets spiral at R 1103.685, and one joins R 972.837 to 1387.185; published figures."""
    one = Feet(bsi("Aplitop-2.xml"), name="Aplitop-2.xml")
    shape = one.one
    along_m = np.concatenate([[0.0], np.cumsum(shape.length_m)])

    assert one.findings == ()
    assert one.length == pytest.approx(5651.0825, abs=0.0005)
    assert shape.what == ("line",) + 3 * ("spiral",) + (
        "curve",
        "spiral",
        "curve",
        "spiral",
        "line",
    )
    assert along_m[2] == pytest.approx(1523.105, abs=FT)
    assert 1.0 / shape.curvature_end_per_m[1] == pytest.approx(1103.685, abs=FT)
    assert 1.0 / shape.curvature_start_per_m[2] == pytest.approx(1103.685, abs=FT)
    assert along_m[3] == pytest.approx(2622.475, abs=FT)
    assert (shape.curvature_end_per_m[2], shape.curvature_start_per_m[3]) == (0.0, 0.0)
    assert along_m[5] == pytest.approx(3945.196, abs=FT)
    joined = 1.0 / shape.curvature_start_per_m[5], 1.0 / shape.curvature_end_per_m[5]
    assert joined == pytest.approx((-972.837, -1387.185), abs=FT)


@pytest.mark.parametrize("name", ["Aplitop-1.xml", "Aplitop-2.xml"])
def test_aplitop_ends_of_elements_meet(name):
    """Each element, drawn by its radii and length, ends where the file starts the next one."""
    one = Feet(bsi(name), name=name)
    ends_m = np.cumsum(one.one.length_m)
    places, heading_deg = place_on(one.one, ends_m - 1e-9, np.zeros(len(ends_m)))
    starts = np.column_stack([one.one.x_m, one.one.y_m])
    turn = np.radians(heading_deg[:-1] - one.one.heading_deg[1:])

    assert places[:-1] == pytest.approx(starts[1:], abs=FT)
    assert np.cos(turn) == pytest.approx(np.ones(len(turn)), abs=1e-10)


def test_aplitop_round_trip_on_every_element() -> None:
    """Every 7 m along 5.6 km with spirals, 15 m left and right, comes back to 1e-6 m."""
    one = Feet(bsi("Aplitop-2.xml"))
    stations = np.arange(0.0, one.length, 7.0)
    for offset in (-15.0, 15.0):
        got = one.locate(one.place(stations, offset))

        # Where the file's spirals miss their End by 0.0001 m, a point may have two feet.
        assert got[:, 0] == pytest.approx(stations, abs=2e-4)
        assert got[:, 1] == pytest.approx(np.full(len(stations), offset), abs=2e-4)


def test_a_real_finnish_road_is_read() -> None:
    """Another namespace, EPSG 3878 named by the file, and a profile with a circular curve."""
    one = Feet(bsi("FI_TOI-Y3.xml"), name="FI_TOI-Y3.xml")
    along_m, elevation_m = np.array(one.one.profile).T

    assert one.findings == ()
    assert (one.one.name, one.one.unit, one.one.crs) == ("Tie2 oikea", "m", "EPSG:3878")
    assert one.length == pytest.approx(37.043112, abs=1e-6)
    assert one.one.heading_deg[0] == pytest.approx(205.225997, abs=1e-5)
    assert (along_m[0], elevation_m[0]) == (-1.544812, 126.944412)
    assert (along_m[-1], elevation_m[-1]) == (35.958170, 126.005283)
    # Its curve is declared 9.901082 m long.
    assert along_m[-2] - along_m[1] == pytest.approx(9.901082, abs=0.01)


def test_coordinates_are_taken_over_a_declared_direction() -> None:
    """The same road with another ``dir`` is the same line, with one note about it."""
    data = bsi("FI_TOI-Y3.xml")
    told = Feet(data.replace(b'dir="205.225997"', b'dir="20.0"'), name="told.xml")

    assert told.one.heading_deg[0] == Feet(data).one.heading_deg[0]
    (finding,) = told.findings
    assert finding.level == "note"
    assert "direction of 20.0000 degrees" in finding.text


def test_a_file_of_pipes_has_no_alignment() -> None:
    """A drainage system is LandXML, and says that it has no alignment."""
    with pytest.raises(ReadError, match=r"DrainageSystem-1-1\.xml: is LandXML but has no Align"):
        read_alignments(bsi("DrainageSystem-1-1.xml"), name="DrainageSystem-1-1.xml")
