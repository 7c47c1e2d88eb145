"""Exact factors between units, and station labels as text.

Inside the package everything is metres, degrees, seconds and radians only where a formula
needs them; this module is the one place with a factor in it.
"""

import re
from dataclasses import dataclass
from decimal import ROUND_FLOOR, ROUND_HALF_UP, Decimal
from fractions import Fraction

from routeprep.errors import StationError

__all__ = [
    "FACTORS_M",
    "KMH_MPS",
    "KNOT_MPS",
    "LB_KG",
    "MPH_MPS",
    "STATION_UNITS",
    "USUAL_UNITS",
    "StationUnit",
    "format_station",
    "parse_station",
    "split_region",
    "to_m",
]

# Lengths in metres, exact.  International foot: 1959 yard agreement, 0.3048 m.
# US survey foot: 1200/3937 m, deprecated from 1 January 2023 (85 FR 62698, NIST and NGS),
# still the unit of many state plane files.  Checked against pyproj.get_units_map().
FACTORS_M: dict[str, Fraction] = {
    "m": Fraction(1),
    "km": Fraction(1000),
    "mm": Fraction(1, 1000),
    "cm": Fraction(1, 100),
    "ft": Fraction(3048, 10000),
    "ftUS": Fraction(1200, 3937),
    "in": Fraction(254, 10000),
    "yd": Fraction(9144, 10000),
    "mi": Fraction(1609344, 1000),
}

# Speeds in metres a second, exact: international knot is 1852 m an hour (BIPM SI brochure,
# 9th ed., table 8 note), mile an hour from the international mile.
KMH_MPS = Fraction(1000, 3600)
KNOT_MPS = Fraction(1852, 3600)
MPH_MPS = Fraction(1609344, 3600 * 1000)

# The pound in kilograms, exact (1959 agreement); a short ton is 2000 of them.
LB_KG = Fraction(45359237, 100_000_000)


def to_m(value: float, unit: str) -> float:
    """Convert a length to metres.

    Parameters
    ----------
    value
        Length [unit].
    unit
        A key of ``FACTORS_M``: m, km, mm, cm, ft, ftUS, in, yd or mi.

    Examples
    --------
    >>> to_m(10, "ft")
    3.048
    """
    factor = FACTORS_M[unit]
    return value * factor.numerator / factor.denominator


@dataclass(frozen=True, slots=True, kw_only=True)
class StationUnit:
    """How a leg's stations are written.

    Attributes
    ----------
    name
        As in the job file: "100 ft", "100 ftUS", "1000 m" or "100 m".
    length
        The unit of length of a station value, a key of ``FACTORS_M``.
    per_station
        How many of them make one station.
    digits
        Digits after the plus sign, before any decimal point.
    """

    name: str
    length: str
    per_station: int
    digits: int

    @property
    def family(self) -> str:
        """Which practice it is of: "ft" for both feet, "m" for metres."""
        return "ft" if self.length in {"ft", "ftUS"} else "m"

    @property
    def length_m(self) -> float:
        """One unit of length of a station value [m]."""
        return float(FACTORS_M[self.length])

    def length_text(self, length_m: float, *, decimals: int = 1) -> str:
        """A length for people, in the unit of the stations: "1,240.5 ft".

        Parameters
        ----------
        length_m
            The length [m].
        decimals
            Digits after the decimal point.
        """
        return f"{length_m / self.length_m:,.{decimals}f} {self.length}"


# US practice: a station is 100 ft, in US survey feet where the plans are.  Metric: 1000 m (FHWA
# metric practice, most of Europe) or 100 m (some agencies).  From memory; the agency's plan
# manual decides.
STATION_UNITS: dict[str, StationUnit] = {
    "100 ft": StationUnit(name="100 ft", length="ft", per_station=100, digits=2),
    "100 ftUS": StationUnit(name="100 ftUS", length="ftUS", per_station=100, digits=2),
    "1000 m": StationUnit(name="1000 m", length="m", per_station=1000, digits=3),
    "100 m": StationUnit(name="100 m", length="m", per_station=100, digits=2),
}

# The station unit of an alignment in each unit of length, where nobody names one.
USUAL_UNITS: dict[str, StationUnit] = {
    "ft": STATION_UNITS["100 ft"],
    "ftUS": STATION_UNITS["100 ftUS"],
    "m": STATION_UNITS["1000 m"],
}

# The sign may be typed as a hyphen or as a true minus (U+2212).
_LABEL = re.compile(
    r"^\s*(?P<sign>[-\u2212]?)\s*(?P<whole>\d+)\s*\+\s*(?P<rest>\d+)(?P<dec>\.\d+)?\s*$"
)


def format_station(value: float, unit: StationUnit, *, decimals: int = 0) -> str:
    """Write a station value as a label, carrying rounded-up plusses into the next station.

    Parameters
    ----------
    value
        Distance from station zero along the stationing [the unit's length]; may be negative.
    unit
        How the leg's stations are written.
    decimals
        Digits after the decimal point; halves round away from zero.

    Raises
    ------
    StationError
        If the value is not a finite number.

    Examples
    --------
    >>> format_station(1234.56, STATION_UNITS["100 ft"], decimals=2)
    '12+34.56'
    >>> format_station(1799.999, STATION_UNITS["100 ft"], decimals=2)
    '18+00.00'
    >>> format_station(-50.0, STATION_UNITS["100 ft"])
    '-0+50'
    """
    number = Decimal(repr(float(value)))
    if not number.is_finite():
        msg = f"station value {value!r} is not a finite number; give a distance in {unit.length}"
        raise StationError(msg, value=value)
    rounded = abs(number).quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_HALF_UP)
    whole = int((rounded / unit.per_station).to_integral_value(rounding=ROUND_FLOOR))
    rest = rounded - whole * unit.per_station
    width = unit.digits + (decimals + 1 if decimals else 0)
    sign = "-" if number < 0 and rounded else ""
    return f"{sign}{whole}+{rest:0{width}.{decimals}f}"


def parse_station(text: str, unit: StationUnit) -> float:
    """Read a label such as 12+34.56 as a station value [the unit's length].

    Raises
    ------
    StationError
        If the text is not a label of this unit: the plus part must have exactly the unit's
        digits (two for 100, three for 1000) before any decimal point.

    Examples
    --------
    >>> parse_station("12+34.56", STATION_UNITS["100 ft"])
    1234.56
    >>> parse_station("-0+50", STATION_UNITS["100 ft"])
    -50.0
    """
    match = _LABEL.match(text)
    if match is None or len(match["rest"]) != unit.digits:
        example = format_station(12.3456 * unit.per_station, unit, decimals=1)
        msg = (
            f"{text!r} is not a station of the {unit.name} kind; "
            f"write it like {example} ({unit.digits} digits after the plus)"
        )
        raise StationError(msg, text=text, unit=unit.name)
    size = int(match["whole"]) * unit.per_station + Decimal(match["rest"] + (match["dec"] or ""))
    return float(-size if match["sign"] else size)


# Where station equations make a label stand twice, its side of them is written behind it: BK for
# back and AH for ahead, as plan sheets have it (from memory); with more than two, the region.
_REGION = re.compile(
    r"^(?P<label>.*?)\s*(?P<side>BK|AH|REGION\s*(?P<region>[1-9]\d?))\s*$", re.IGNORECASE
)


def split_region(text: str) -> tuple[str, str]:
    """Part a label from its region: "BK", "AH", the region's number, or empty when not said.

    Examples
    --------
    >>> split_region("13+00 BK"), split_region("13+00 region 2"), split_region("13+00")
    (('13+00', 'BK'), ('13+00', '2'), ('13+00', ''))
    """
    match = _REGION.match(text)
    return (match["label"], match["region"] or match["side"].upper()) if match else (text, "")
