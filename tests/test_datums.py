"""Coordinate systems by name, and what is done about their datums."""

import numpy as np
import pytest
from pyproj import CRS, network

from routeprep.datums import datum_of, shift_of, system_of
from routeprep.errors import LineError

ARC_SECOND = np.pi / 180.0 / 3600.0
CLARKE_1866 = (6378206.4, 1 / 294.978698213898)
GRS80 = (6378137.0, 1 / 298.257222101)
WGS84 = (6378137.0, 1 / 298.257223563)


def geocentric(lon_deg, lat_deg, ellipsoid):
    """Geocentric coordinates [m] of a place on an ellipsoid (EPSG guidance note 7-2, 4.1.1)."""
    a, f = ellipsoid
    e2 = f * (2 - f)
    lon, lat = np.radians([lon_deg, lat_deg])
    nu = a / np.sqrt(1 - e2 * np.sin(lat) ** 2)
    return nu * np.array(
        [np.cos(lat) * np.cos(lon), np.cos(lat) * np.sin(lon), (1 - e2) * np.sin(lat)]
    )


def geographic(xyz_m, ellipsoid):
    """Longitude and latitude [deg] of geocentric coordinates, by iteration (the same note)."""
    a, f = ellipsoid
    e2 = f * (2 - f)
    x, y, z = xyz_m
    lat = np.arctan2(z, np.hypot(x, y) * (1 - e2))
    for _ in range(20):
        nu = a / np.sqrt(1 - e2 * np.sin(lat) ** 2)
        lat = np.arctan2(z + e2 * nu * np.sin(lat), np.hypot(x, y))
    return np.degrees(np.arctan2(y, x)), np.degrees(lat)


@pytest.mark.parametrize(
    ("crs", "label", "datum_name"),
    [
        ("EPSG:2965", "EPSG:2965", "North American Datum 1983"),
        ("NAD83 / Indiana East (ftUS)", "EPSG:2965", "North American Datum 1983"),
        ("EPSG:26915+5703", "EPSG:26915", "North American Datum 1983"),
        (
            "+proj=utm +zone=15 +datum=NAD83 +towgs84=0,0,0",
            "+proj=utm +zone=15 +datum=NAD83 +towgs84=0,0,0",
            "North American Datum 1983",
        ),
        ("OGC:CRS84", "OGC:CRS84", "World Geodetic System 1984 ensemble"),
    ],
)
def test_the_horizontal_part_is_found_by_code_name_or_parameters(crs, label, datum_name):
    """Heights and shifts that are bound to a system are set aside."""
    system = system_of(crs)

    assert label == system.label
    assert datum_name == system.datum_name


@pytest.mark.parametrize("crs", ["", "EPSG:1", "my plans", "IN83-EF"])
def test_a_system_that_is_not_known_is_named(crs):
    """With what to give instead."""
    with pytest.raises(LineError, match=r"is not known; give the code .* \"EPSG:2965\""):
        system_of(crs)


@pytest.mark.parametrize(
    ("crs", "what"),
    [
        ("EPSG:5703", r"'NAVD88 height' \(Vertical CRS\)"),
        ("EPSG:4978", r"'WGS 84' \(Geocentric CRS\)"),
        ("EPSG:27561", r"'NTF \(Paris\) / Lambert Nord France'"),
        ('LOCAL_CS["site",UNIT["metre",1]]', r"'site' \(Engineering CRS\)"),
    ],
)
def test_what_has_no_degrees_from_greenwich_is_refused(crs, what):
    """Heights, geocentric coordinates, grads from Paris, a site of its own."""
    with pytest.raises(LineError, match=rf"is {what}.*; expected a plane or longitudes"):
        system_of(crs)


def test_the_network_is_off_whatever_was_set_before():
    """PROJ would fetch files of shifts, so that a result would depend on the machine."""
    network.set_network_enabled(active=True)
    system_of("EPSG:4267")

    assert not network.is_network_enabled()


@pytest.mark.parametrize("crs", ["EPSG:4326", "EPSG:32615", "EPSG:3857", "EPSG:9057"])
def test_wgs84_is_itself(crs):
    """Nothing is added and nothing said, also where the job names an operation for others."""
    datum, shift = datum_of(system_of(crs), "EPSG:1515")

    assert (datum.sd_m, datum.said, shift) == (0.0, "", None)


# NAD83 of Massachusetts, Indiana, Hawaii (whose registry operations are all but the zero shift),
# its realizations, and the new datums of other parts of the world.
@pytest.mark.parametrize(
    "crs",
    ["EPSG:2249", "EPSG:6459", "EPSG:26961", "EPSG:6628", "EPSG:2927", "EPSG:3878", "EPSG:3006",
     "EPSG:28356", "EPSG:7856", "EPSG:31983", "EPSG:2193", "EPSG:6668", "EPSG:9000"],
)  # fmt: skip
def test_new_datums_are_taken_as_wgs84_with_a_metre_added_and_said(crs):
    """The two differ by about a metre."""
    datum, shift = datum_of(system_of(crs), "")

    assert (datum.sd_m, shift) == (pytest.approx(1 / 1.959964), None)
    assert datum.said.startswith(crs)
    assert datum.said.endswith(
        "is taken as WGS 84: ± grows by 1 m; name a datum_operation to do better"
    )


@pytest.mark.parametrize(
    "crs",
    ["EPSG:26786", "EPSG:4267", "EPSG:23031", "EPSG:27700", "EPSG:31467", "EPSG:20256",
     "EPSG:30169", "EPSG:4322", "+proj=tmerc +lat_0=40 +lon_0=-86 +ellps=GRS80"],
)  # fmt: skip
def test_old_and_unknown_datums_are_refused(crs):
    """NAD27, ED50, OSGB36, DHDN, AGD, Tokyo and WGS 72 lie metres to hundreds of metres away."""
    with pytest.raises(LineError, match="lies more than a metre or two from WGS 84"):
        datum_of(system_of(crs), "")


def test_the_refusal_names_operations_that_fit():
    """Of the registry's, those for that part of the world that need no file; each is accepted."""
    system = system_of("EPSG:26786")
    with pytest.raises(LineError, match=r"EPSG:1173 \(NAD27 to WGS 84 \(4\)\); EPSG:1174") as told:
        datum_of(system, "")
    codes = [word for word in str(told.value).split() if word.startswith("EPSG:1")]

    assert all(shift_of(code, system).name.startswith("NAD27 to WGS 84") for code in codes)


def test_a_datum_without_operations_is_to_be_exported_anew():
    """Nothing can be named for a datum that the registry does not know."""
    with pytest.raises(LineError, match="has none that does without a file of shifts: export it"):
        datum_of(system_of("+proj=tmerc +lat_0=40 +lon_0=-86 +ellps=GRS80"), "")


@pytest.mark.parametrize("lon_lat", [(-86.0, 40.0), (-120.5, 47.25), (-71.1, 42.37)])
def test_a_named_operation_of_seven_parameters_is_that_operation(lon_lat):
    """EPSG:1901, NAD83(HARN) to WGS 84 (3), written out from its parameters, within 0.1 mm.

    Coordinate frame rotation, EPSG method 9607: -0.991, 1.9072, 0.5129 m; -0.0257899075194932,
    -0.0096500989602704, -0.0116599432323421 seconds; 0 ppm.
    """
    rx, ry, rz = np.array([-0.0257899075194932, -0.0096500989602704, -0.0116599432323421]) * (
        ARC_SECOND
    )
    turn = np.array([[1, rz, -ry], [-rz, 1, rx], [ry, -rx, 1]])
    there_m = turn @ geocentric(*lon_lat, GRS80) + np.array([-0.991, 1.9072, 0.5129])
    expected = np.array(geographic(there_m, WGS84))
    shift = shift_of("EPSG:1901", system_of("EPSG:2927"))
    lon, lat = np.array([lon_lat[0]]), np.array([lon_lat[1]])
    got = np.ravel(shift.apply(lon, lat, to_wgs84=True))

    np.testing.assert_allclose(got, expected, rtol=0, atol=1e-9)
    assert 0.5e-5 < np.abs(got - lon_lat).max() < 2e-5
    back = np.ravel(shift.apply(*got.reshape(2, 1), to_wgs84=False))
    np.testing.assert_allclose(back, lon_lat, rtol=0, atol=1e-9)


def test_a_named_operation_for_nad27_is_that_operation():
    """EPSG:1173 shifts by -8, 160, 176 m (US DMA TR 8350.2, eastern states), within 0.1 mm."""
    there_m = geocentric(-71.1, 42.37, CLARKE_1866) + np.array([-8.0, 160.0, 176.0])
    datum, shift = datum_of(system_of("EPSG:26786"), "EPSG:1173")
    got = np.ravel(shift.apply(np.array([-71.1]), np.array([42.37]), to_wgs84=True))

    np.testing.assert_allclose(got, geographic(there_m, WGS84), rtol=0, atol=1e-9)
    assert datum.sd_m == 10.0
    assert datum.said == (
        "EPSG:26786 (NAD27) is brought to WGS 84 by NAD27 to WGS 84 (4), good to 10 m, "
        "which the ± allows for"
    )


@pytest.mark.parametrize(
    ("crs", "operation", "sd_m"),
    [
        ("EPSG:2965", "EPSG:1515", 0.0),
        ("EPSG:2927", "NAD83(HARN) to WGS 84 (3)", 0.0),
        ("EPSG:2965", "EPSG:1188", 1 / 1.959964),
    ],
)
def test_an_operation_adds_no_more_than_taking_the_two_as_one(crs, operation, sd_m):
    """By code or name; the registry says 4 m of the zero shift for NAD83, EPSG:1188."""
    datum, shift = datum_of(system_of(crs), operation)

    assert datum.sd_m == pytest.approx(sd_m)
    assert shift is not None
    assert f"is brought to WGS 84 by {shift.name}" in datum.said


def test_an_operation_from_wgs84_is_turned_round():
    """EPSG:9690 runs from WGS 84 to GDA2020: 1.8 m, back and forth."""
    shift = shift_of("EPSG:9690", system_of("EPSG:7856"))
    lon, lat = np.array([151.0]), np.array([-33.0])
    there = shift.apply(lon, lat, to_wgs84=True)
    back = shift.apply(*there, to_wgs84=False)

    assert 1.0 < np.hypot((there[0] - lon) * 93_000, (there[1] - lat) * 111_000)[0] < 3.0
    np.testing.assert_allclose(np.ravel(back), [151.0, -33.0], rtol=0, atol=1e-9)


@pytest.mark.parametrize(
    ("operation", "sentence"),
    [
        ("EPSG:1173", r"\(NAD27 to WGS 84 \(4\)\) is between other datums and does not fit"),
        ("EPSG:1251", r"\(NAD83 to WGS 84 \(2\)\) is for another part of the world and does not"),
        ("EPSG:8970", r"\(ITRF2014 to NAD83\(2011\) \(1\)\) is between other datums"),
        ("+proj=helmert +x=1", "is between other datums"),
        ("EPSG:1241", "is not known, or reads a file of shifts that is not here"),
        ("EPSG:2965", "is not known, or reads a file of shifts"),
        ("the usual one", "is not known, or reads a file of shifts"),
    ],
)
def test_an_operation_that_does_not_fit_is_refused_with_those_that_would(operation, sentence):
    """Other datums, the Aleutians, geocentric coordinates, a grid, a typing error."""
    with pytest.raises(LineError, match=rf"{sentence}.*EPSG:1188 \(NAD83 to WGS 84 \(1\)\)"):
        shift_of(operation, system_of("EPSG:2965"))


def test_a_system_of_no_stated_area_is_anywhere():
    """A plane of one's own on NAD83: any operation of NAD83 fits."""
    own = CRS.from_user_input("+proj=tmerc +lat_0=40 +lon_0=-86 +datum=NAD83").to_wkt()

    assert shift_of("EPSG:1515", system_of(own)).good_m == 0.0


def test_areas_that_cross_180_degrees_are_beside_each_other():
    """NAD83 to WGS 84 (2) is for the Aleutians, on both sides; so is zone 10 of Alaska."""
    assert shift_of("EPSG:1251", system_of("EPSG:26940")).good_m == 8.0
