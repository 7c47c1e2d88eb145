"""One [[leg]] of a job's TOML to ``LegSettings`` and the file of its centerline.

In go values with the units of the job in their names, out come metres and station values.
"""

import math
import re
from collections.abc import Mapping
from functools import partial
from typing import NamedTuple

from routeprep.errors import JobError, StationError
from routeprep.lines import StationEquation
from routeprep.readers.globe import on_globe
from routeprep.readers.globs import pattern_fault
from routeprep.readers.jobwork import read_sections
from routeprep.readers.parts import shown
from routeprep.readers.tomltable import TomlTable
from routeprep.shapes import LegSettings, TieSettings
from routeprep.stakes import MILE_MARKER
from routeprep.units import (
    KMH_MPS,
    MPH_MPS,
    STATION_UNITS,
    StationUnit,
    parse_station,
    split_region,
    to_m,
)

__all__ = ["LineFile", "read_leg"]

# Lengths of a leg: the unit that a US job and a metric job give them in.
_LENGTHS = {
    "elevation": {"us": "ft", "metric": "m"},
    "lane_width": {"us": "ft", "metric": "m"},
    "depth": {"us": "in", "metric": "mm"},
    "sight_clearance": {"us": "ft", "metric": "m"},
}
_SPEEDS = {"posted": {"us": "mph", "metric": "kmh"}}
_MPS = {"mph": MPH_MPS, "kmh": KMH_MPS}
_KEYS = (
    "code", "name", "centerline", "spine", "start", "zero", "start_near", "unit", "from", "to",
    "lanes_left", "lanes_right", "lane_driven", "equations", "ties", "elevations", "section",
    *(f"{stem}_{unit}" for stem, units in (_LENGTHS | _SPEEDS).items() for unit in units.values()),
)  # fmt: skip
_TIE_KEYS = ("station", "lon_deg", "lat_deg", "kind", "by", "forced_by")

# What a tie may be.
_TIE_KINDS = ("plan", "paint", "wheel", MILE_MARKER)
_MARKER_NUMBER = re.compile(r"(?:MM\s*)?\d+(?:\.\d+)?$", re.IGNORECASE)

# Lanes of usual width (AASHTO Green Book, 12 ft; metric edition, 3.6 m; from memory), and the
# station unit of each practice.
_LANE_WIDTH_M = {"us": to_m(12.0, "ft"), "metric": 3.6}
_UNIT = {"us": "100 ft", "metric": "1000 m"}

# Numbers are written A-27, so a code is letters and digits.
_CODE = re.compile(r"[A-Za-z0-9]{1,6}$")


class LineFile(NamedTuple):
    """The file of a leg's centerline, the condition that picks its features, or an alignment."""

    file: str
    where: str
    name: str = ""


def _measure(leg: TomlTable, stem: str, units: str, unit_of: Mapping[str, str]) -> float:
    """A measure in the unit of the job; NaN when left out, a fault in the other unit."""
    right = unit_of[units]
    for system, unit in unit_of.items():
        if system != units and f"{stem}_{unit}" in leg.values:
            leg.fault(f"{stem}_{unit} is not for a job with units {units!r}; give {stem}_{right}")
    value = leg.number(f"{stem}_{right}")
    if stem != "elevation" and value <= 0:
        leg.fault(f"{stem}_{right} is {value:g}; expected more than 0")
    return value


def _length_m(leg: TomlTable, stem: str, units: str) -> float:
    return to_m(_measure(leg, stem, units, _LENGTHS[stem]), _LENGTHS[stem][units])


def _speed_mps(leg: TomlTable, stem: str, units: str) -> float:
    return _measure(leg, stem, units, _SPEEDS[stem]) * float(_MPS[_SPEEDS[stem][units]])


def _unit(leg: TomlTable, units: str) -> StationUnit:
    name = leg.text("unit") or _UNIT[units]
    if name not in STATION_UNITS:
        leg.fault(f"unit is {name!r}; expected one of {', '.join(map(repr, STATION_UNITS))}")
        name = _UNIT[units]
    return STATION_UNITS[name]


def _no_station(leg: TomlTable, key: str, error: StationError) -> None:
    """Say that a label is none of the unit, and where the unit comes from if it is another's."""
    text = leg.text(key)
    others = [one.name for one in STATION_UNITS.values() if _is_label(text, one)]
    hint = f"; if stations are written so, give the leg unit = {others[0]!r}" if others else ""
    leg.fault(f"{key}: {error}{hint}")


def _is_label(text: str, unit: StationUnit) -> bool:
    try:
        parse_station(split_region(text)[0], unit)
    except StationError:
        return False
    return True


def _station(leg: TomlTable, key: str, unit: StationUnit) -> float:
    """The value of a label [the unit's length]; NaN when left out."""
    text = leg.text(key)
    if not text:
        return math.nan
    try:
        return parse_station(text, unit)
    except StationError as error:
        _no_station(leg, key, error)
        return math.nan


def _label(leg: TomlTable, key: str, unit: StationUnit) -> str:
    """A label that can be read, with its region if it says one; empty when left out."""
    text = leg.text(key)
    if text:
        try:
            parse_station(split_region(text)[0], unit)
        except StationError as error:
            _no_station(leg, key, error)
    return text


def _needed_station(row: TomlTable, key: str, unit: StationUnit) -> float:
    row.text(key, needed=True)
    return _station(row, key, unit)


def _equations(leg: TomlTable, unit: StationUnit) -> tuple[StationEquation, ...]:
    """Station equations in order along the leg."""
    made: list[StationEquation] = []
    for row in leg.rows("equations", 'back = "25+43.20", ahead = "30+67.43"'):
        row.only("back", "ahead")
        one = StationEquation(
            back_value=_needed_station(row, "back", unit),
            ahead_value=_needed_station(row, "ahead", unit),
        )
        if one.back_value == one.ahead_value:
            row.fault(f"back and ahead are both {row.values['back']}; expected two stations")
        if made and one.back_value <= made[-1].ahead_value:
            row.fault(
                f"back is {row.values['back']}, not beyond the ahead station of the equation "
                "before; give equations in order along the leg"
            )
        made.append(one)
    return tuple(made)


def _degrees(row: TomlTable, key: str, most_deg: float) -> float:
    """A longitude or latitude, needed [deg]."""
    value = row.number(key)
    if key not in row.values:
        row.fault(f"{key} is missing; give it in degrees")
    elif abs(value) > most_deg:
        row.fault(f"{key} is {value:g}; expected degrees from -{most_deg:g} to {most_deg:g}")
    return value


def _tie(row: TomlTable, unit: StationUnit) -> TieSettings:
    row.only(*_TIE_KEYS)
    kind = row.text("kind", needed=True)
    if kind and kind not in _TIE_KINDS:
        row.fault(f"kind is {kind!r}; expected one of {', '.join(map(repr, _TIE_KINDS))}")
    station = row.text("station", needed=True)
    if kind != MILE_MARKER:
        _label(row, "station", unit)
    elif station and not _MARKER_NUMBER.match(station):
        row.fault(f"station is {station!r}; expected the number on the mile marker, such as '14'")
    return TieSettings(
        station=station,
        lon_deg=_degrees(row, "lon_deg", 180.0),
        lat_deg=_degrees(row, "lat_deg", 90.0),
        kind=kind,
        by=row.text("by", needed=True),
        forced_by=row.text("forced_by"),
    )


def _ties(leg: TomlTable, unit: StationUnit) -> tuple[TieSettings, ...]:
    example = 'station = "12+00", lon_deg = .., lat_deg = .., kind = "plan", by = ".."'
    return tuple(_tie(row, unit) for row in leg.rows("ties", example))


def _elevations(leg: TomlTable, unit: StationUnit, units: str) -> tuple[tuple[str, float], ...]:
    """Elevations that were typed: station label and height [m]."""
    right = f"elevation_{_LENGTHS['elevation'][units]}"
    made = []
    for row in leg.rows("elevations", f'station = "12+00", {right} = 1180.2'):
        row.only("station", *(f"elevation_{one}" for one in _LENGTHS["elevation"].values()))
        row.text("station", needed=True)
        height_m = _length_m(row, "elevation", units)
        if right not in row.values:
            row.fault(f"{right} is missing; give the height of the road there")
        made.append((_label(row, "station", unit), height_m))
    return tuple(made)


def _start_near(leg: TomlTable) -> tuple[float, float] | None:
    value = leg.values.get("start_near")
    if value is None:
        return None
    good = isinstance(value, list) and [type(one) in {int, float} for one in value] == [True] * 2
    if good and isinstance(value, list):
        lon_deg, lat_deg = float(value[0]), float(value[1])
        if on_globe(lon_deg, lat_deg):
            return lon_deg, lat_deg
    leg.fault(
        f"start_near is {shown(value)}; expected longitude and latitude in degrees, in this order"
    )
    return None


def _line_file(leg: TomlTable) -> tuple[LineFile | None, str]:
    """The file of the centerline, and the coordinate system that the job gives it."""
    value, crs = leg.values.get("centerline", ""), ""
    if isinstance(value, dict):
        table = TomlTable(values=value, where=f"{leg.where}, centerline", faults=leg.faults)
        table.only("file", "where", "name", "crs")
        line = LineFile(table.text("file", needed=True), table.text("where"), table.text("name"))
        crs = table.text("crs")
        if line.where and line.name:
            table.fault(
                f"where is {line.where!r} and name is {line.name!r}; give where for features of a "
                "map file, or name for an alignment"
            )
    else:
        line = LineFile(leg.text("centerline"), "")
    wrong = pattern_fault(line.file) if line.file else ""
    if wrong:
        leg.fault(f"centerline: {wrong}")
    return (line if line.file else None), crs


def _code(leg: TomlTable) -> str:
    code = leg.text("code", needed=True)
    if code and not _CODE.match(code):
        leg.fault(f"code is {code!r}; expected up to 6 letters or digits, such as A")
    return code


def _check(leg: TomlTable, line: LineFile | None) -> None:
    """Say what contradicts itself between keys."""
    given: Mapping[str, object] = {key: value for key, value in leg.values.items() if value != ""}
    brings = line is not None or bool(given.get("ties"))
    if ("start" in given) == ("zero" in given) and ("start" in given or not brings):
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
    (line, crs), unit = _line_file(leg), _unit(leg, units)
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
        unit_said=bool(leg.values.get("unit")),
        elevation_m=_length_m(leg, "elevation", units),
        from_station=_label(leg, "from", unit),
        to_station=_label(leg, "to", unit),
        depth_m=_length_m(leg, "depth", units),
        lane_width_m=_LANE_WIDTH_M[units] if math.isnan(width_m) else width_m,
        lanes_left=leg.whole("lanes_left", default=1),
        lanes_right=leg.whole("lanes_right", default=1),
        lane_driven=leg.whole("lane_driven", default=0),
        equations=_equations(leg, unit),
        ties=_ties(leg, unit),
        crs=crs,
        posted_mps=_speed_mps(leg, "posted", units),
        sight_clearance_m=_length_m(leg, "sight_clearance", units),
        elevations=_elevations(leg, unit, units),
        sections=read_sections(leg, units=units),
    )
    if len(leg.faults) > before:
        return None, line
    try:
        return make(), line
    except JobError as error:
        leg.faults.append(str(error))
        return None, line
