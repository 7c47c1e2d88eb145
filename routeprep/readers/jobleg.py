"""One [[leg]] of a job's TOML to ``LegSettings`` and the file of its centerline.

In go values with the units of the job in their names, out come metres and station values.
"""

import math
import re
from collections.abc import Mapping
from functools import partial
from typing import NamedTuple

from routeprep.errors import JobError, StationError
from routeprep.readers.globs import pattern_fault
from routeprep.readers.parts import shown
from routeprep.readers.tomltable import TomlTable
from routeprep.shapes import LegSettings
from routeprep.units import STATION_UNITS, StationUnit, parse_station, to_m

__all__ = ["LineFile", "read_leg"]

# Lengths of a leg: the unit that a US job and a metric job give them in.
_LENGTHS = {
    "elevation": {"us": "ft", "metric": "m"},
    "lane_width": {"us": "ft", "metric": "m"},
    "depth": {"us": "in", "metric": "mm"},
}
_KEYS = (
    "code", "name", "centerline", "spine", "start", "zero", "start_near", "unit", "from", "to",
    "lanes_left", "lanes_right",
    *(f"{stem}_{unit}" for stem, units in _LENGTHS.items() for unit in units.values()),
)  # fmt: skip

# Lanes of usual width (AASHTO Green Book, 12 ft; metric edition, 3.6 m; from memory), and the
# station unit of each practice.
_LANE_WIDTH_M = {"us": to_m(12.0, "ft"), "metric": 3.6}
_UNIT = {"us": "100 ft", "metric": "1000 m"}

# Numbers are written A-27, so a code is letters and digits.
_CODE = re.compile(r"[A-Za-z0-9]{1,6}$")


class LineFile(NamedTuple):
    """The file of a leg's centerline, and the condition that picks its features."""

    file: str
    where: str


def _length_m(leg: TomlTable, stem: str, units: str) -> float:
    """A length in the unit of the job [m]; NaN when left out, a fault in the other unit."""
    right = _LENGTHS[stem][units]
    for system, unit in _LENGTHS[stem].items():
        if system != units and f"{stem}_{unit}" in leg.values:
            leg.fault(f"{stem}_{unit} is not for a job with units {units!r}; give {stem}_{right}")
    value = leg.number(f"{stem}_{right}")
    if stem != "elevation" and value <= 0:
        leg.fault(f"{stem}_{right} is {value:g}; expected more than 0")
    return to_m(value, right)


def _unit(leg: TomlTable, units: str) -> StationUnit:
    name = leg.text("unit") or _UNIT[units]
    if name not in STATION_UNITS:
        leg.fault(f"unit is {name!r}; expected one of {', '.join(map(repr, STATION_UNITS))}")
        name = _UNIT[units]
    return STATION_UNITS[name]


def _station(leg: TomlTable, key: str, unit: StationUnit) -> float:
    """The value of a label [the unit's length]; NaN when left out."""
    text = leg.text(key)
    if not text:
        return math.nan
    try:
        return parse_station(text, unit)
    except StationError as error:
        leg.fault(f"{key}: {error}")
        return math.nan


def _start_near(leg: TomlTable) -> tuple[float, float] | None:
    value = leg.values.get("start_near")
    if value is None:
        return None
    good = isinstance(value, list) and [type(one) in {int, float} for one in value] == [True] * 2
    if good and isinstance(value, list):
        lon_deg, lat_deg = float(value[0]), float(value[1])
        if abs(lon_deg) <= 180.0 and abs(lat_deg) <= 90.0:  # noqa: PLR2004 - the globe
            return lon_deg, lat_deg
    leg.fault(
        f"start_near is {shown(value)}; expected longitude and latitude in degrees, in this order"
    )
    return None


def _line_file(leg: TomlTable) -> LineFile | None:
    value = leg.values.get("centerline", "")
    if isinstance(value, dict):
        table = TomlTable(values=value, where=f"{leg.where}, centerline", faults=leg.faults)
        table.only("file", "where")
        line = LineFile(table.text("file", needed=True), table.text("where"))
    else:
        line = LineFile(leg.text("centerline"), "")
    wrong = pattern_fault(line.file) if line.file else ""
    if wrong:
        leg.fault(f"centerline: {wrong}")
    return line if line.file else None


def _code(leg: TomlTable) -> str:
    code = leg.text("code", needed=True)
    if code and not _CODE.match(code):
        leg.fault(f"code is {code!r}; expected up to 6 letters or digits, such as A")
    return code


def _check(leg: TomlTable, line: LineFile | None) -> None:
    """Say what contradicts itself between keys."""
    given: Mapping[str, object] = {key: value for key, value in leg.values.items() if value != ""}
    if ("start" in given) == ("zero" in given):
        both = "both are given" if "start" in given else "neither is given"
        leg.fault(
            f"{both}: give start (the plan station at the beginning) or zero (the name of a "
            "physical zero)"
        )
    if line is None and "start_near" not in given:
        leg.fault(
            "no centerline is given, so the line is made from the drives; then give start_near, "
            "the longitude and latitude near its beginning"
        )
    if line is not None and "spine" in given:
        leg.fault(f"spine is {shown(given['spine'])} but the line comes from {line.file}; drop one")


def read_leg(leg: TomlTable, *, units: str) -> tuple[LegSettings | None, LineFile | None]:
    """Read one leg; what is wrong is among the table's faults, and then there is no leg.

    Parameters
    ----------
    leg
        The table.
    units
        "us" or "metric".
    """
    before = len(leg.faults)
    code = _code(leg)
    leg = TomlTable(values=leg.values, where=f"[[leg]] {code or leg.where[8:]}", faults=leg.faults)
    leg.only(*_KEYS)
    line, unit = _line_file(leg), _unit(leg, units)
    _check(leg, line)
    width_m = _length_m(leg, "lane_width", units)
    make = partial(
        LegSettings,
        code=code,
        name=leg.text("name", needed=True),
        spine=leg.text("spine"),
        start_value=_station(leg, "start", unit),
        zero=leg.text("zero"),
        start_near_deg=_start_near(leg),
        unit=unit,
        elevation_m=_length_m(leg, "elevation", units),
        from_value=_station(leg, "from", unit),
        to_value=_station(leg, "to", unit),
        depth_m=_length_m(leg, "depth", units),
        lane_width_m=_LANE_WIDTH_M[units] if math.isnan(width_m) else width_m,
        lanes_left=leg.whole("lanes_left", default=1),
        lanes_right=leg.whole("lanes_right", default=1),
    )
    if len(leg.faults) > before:
        return None, line
    try:
        return make(), line
    except JobError as error:
        leg.faults.append(str(error))
        return None, line
