"""State planes of NAD83 against the answers of the National Geodetic Survey.

The data are ``test/gie/nad83`` answers of PROJ's own tests (OSGeo/PROJ, MIT licence): 225 points
in 87 zones, east and north in US survey feet by NOAA's program L176 of the 1980s and 1990s.
"""

import re

import numpy as np
import pytest
from outside import open_data

from routeprep.grids import grid_of

# FIPS zone to the EPSG code of its plane in metres (EPSG registry).
ZONES = {
    101: 26929, 102: 26930, 201: 26948, 202: 26949, 203: 26950, 301: 26951, 302: 26952,
    401: 26941, 402: 26942, 403: 26943, 404: 26944, 405: 26945, 406: 26946, 501: 26953,
    502: 26954, 503: 26955, 600: 26956, 700: 26957, 903: 26960, 1001: 26966, 1101: 26968,
    1103: 26970, 1201: 26971, 1301: 26973, 1302: 26974, 1401: 26975, 1501: 26977, 1601: 2205,
    1701: 26981, 1702: 26982, 1801: 26983, 1900: 26985, 2001: 26986, 2113: 26990, 2201: 26991,
    2301: 26994, 2401: 26996, 2402: 26997, 2403: 26998, 2500: 32100, 2600: 32104, 2701: 32107,
    2800: 32110, 2900: 32111, 3001: 32112, 3002: 32113, 3003: 32114, 3101: 32115, 3104: 32118,
    3200: 32119, 3301: 32120, 3401: 32122, 3501: 32124, 3602: 32127, 3701: 32128, 3800: 32130,
    3900: 32133, 4001: 32134, 4100: 32136, 4201: 32137, 4301: 32142, 4302: 32143, 4303: 32144,
    4400: 32145, 4501: 32146, 4502: 32147, 4601: 32148, 4701: 32150, 4801: 32152, 4901: 32155,
    4902: 32156, 5001: 26931, 5002: 26932, 5003: 26933, 5004: 26934, 5005: 26935, 5006: 26936,
    5007: 26937, 5008: 26938, 5009: 26939, 5010: 26940, 5101: 26961, 5102: 26962, 5103: 26963,
    5104: 26964, 5105: 26965, 5200: 32161,
}  # fmt: skip
US_SURVEY_FOOT_M = 1200.0 / 3937.0


def degrees(text):
    """Degrees of a text such as -86d30'15.250."""
    sign, whole, minutes, seconds = re.fullmatch(r"(-?)(\d+)d(\d+)'([\d.]+)", text).groups()
    return float(f"{sign}1") * (int(whole) + int(minutes) / 60 + float(seconds) / 3600)


def answers():
    """Zone, longitude, latitude [deg], east and north [US survey feet] of every point."""
    path = open_data("geodesy/state-plane-nad83.yaml", source="OSGeo/PROJ, test/gie, MIT")
    rows = re.findall(
        r"\+init=nad83:(\d+).*\n  in: +(\S+) +(\S+) +(\S+) +(\S+)", path.read_text("utf-8")
    )
    return [(int(z), degrees(x), degrees(y), float(e), float(n)) for z, x, y, e, n in rows]


def test_225_points_in_87_zones_agree_with_noaa():
    """East and north within 0.003 ft."""
    rows = answers()
    got = [
        grid_of(f"EPSG:{ZONES[zone]}").to_xy(np.array([lon]), np.array([lat]))[0]
        for zone, lon, lat, _, _ in rows
    ]
    expected = [row[3:] for row in rows]

    assert (len(rows), len({row[0] for row in rows})) == (225, 87)
    np.testing.assert_allclose(np.array(got) / US_SURVEY_FOOT_M, expected, rtol=0, atol=0.003)


def test_and_back():
    """Longitude and latitude of NOAA's feet within 1e-8 degree, 1 mm."""
    rows = answers()
    got = [
        np.ravel(
            grid_of(f"EPSG:{ZONES[zone]}").to_lonlat(np.array([[east, north]]) * US_SURVEY_FOOT_M)
        )
        for zone, _, _, east, north in rows
    ]

    np.testing.assert_allclose(got, [row[1:3] for row in rows], rtol=0, atol=1.5e-8)


@pytest.mark.parametrize(
    ("zone", "crs"), [(1301, "EPSG:2965"), (2001, "EPSG:2249"), (4601, "EPSG:2285")]
)
def test_planes_in_feet_are_the_same_planes_in_metres(zone, crs):
    """Indiana East, Massachusetts Mainland and Washington North, within 0.003 ft.

    Massachusetts' feet are 1200/3937 m each, as its metres are; the false origins agree to a
    thousandth of a foot.
    """
    for one, lon, lat, east, north in answers():
        if one == zone:
            xy = grid_of(crs).to_xy(np.array([lon]), np.array([lat]))[0]
            np.testing.assert_allclose(xy / US_SURVEY_FOOT_M, [east, north], rtol=0, atol=0.003)
