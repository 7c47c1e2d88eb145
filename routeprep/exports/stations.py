"""Round stations of a line with their coordinates: a table, and points for a receiver.

In go legs or a designed alignment, out come CSV and GPX.  A line whose plane nobody named has east
and north in its file's own unit, and no longitude and latitude.
"""

import csv
import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import gpxpy.gpx
import numpy as np
import numpy.typing as npt

from routeprep import __version__
from routeprep.elements import place_on
from routeprep.exports.cells import guarded
from routeprep.lines import Alignment, Stationing
from routeprep.locating import place
from routeprep.roadform import Curve
from routeprep.shapes import Leg
from routeprep.stationing import equation_places, label, stations_every, value_at
from routeprep.units import FACTORS_M

__all__ = ["Staked", "staked_alignment", "staked_leg", "stations_csv", "stations_gpx"]

Floats = npt.NDArray[np.float64]

_HEADER = (
    "leg", "station", "what", "station_value", "along_m", "lon_deg", "lat_deg", "easting",
    "northing", "unit",
)  # fmt: skip

# Places nearer to each other than this are one, said once [m].
_SAME_M = 0.001
# Digits of a station's label: a hundredth of a foot or a millimetre.
_DECIMALS = {"ft": 2, "m": 3}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Staked:
    """Places along one line, in order.

    Attributes
    ----------
    leg
        The leg's code, or the alignment's name.
    what
        Of each place: "station", "line begins", "PC" and the like.
    along_m
        Distance along the line [m].
    labels, values
        The station's label, and its value [the unit's length].
    lon_deg, lat_deg
        Degrees; NaN where the line's plane is not known.
    east, north
        In the file's plane [``unit``]; NaN for a line that was not designed.
    unit
        "m", "ft" or "ftUS"; empty for a line that was not designed.
    """

    leg: str
    what: tuple[str, ...]
    along_m: Floats
    labels: tuple[str, ...]
    values: Floats
    lon_deg: Floats
    lat_deg: Floats
    east: Floats
    north: Floats
    unit: str


def _places(
    stationing: Stationing, length_m: float, every: float, named: Sequence[tuple[float, str]]
) -> list[tuple[float, str]]:
    """Along [m] and what of all places, in order, each once with all its names."""
    equations = [(at_m, f"equation {text}") for at_m, text in equation_places(stationing)]
    ends = [(0.0, "line begins"), (length_m, "line ends")]
    round_ones = [(at_m, "station") for at_m in stations_every(stationing, every, to_m=length_m)]
    found: list[tuple[float, str]] = []
    for at_m, what in sorted([*ends, *equations, *named, *round_ones]):
        if found and at_m - found[-1][0] <= _SAME_M:
            before_m, said = found.pop()
            names = [name for name in dict.fromkeys((said, what)) if name != "station"]
            # At an equation the label is the one ahead of it.
            kept_m = at_m if what.startswith("equation") else before_m
            found.append((kept_m, "; ".join(names) or "station"))
        elif -_SAME_M <= at_m <= length_m + _SAME_M:
            found.append((at_m, what))
    return found


def _staked(
    leg: str,
    stationing: Stationing,
    places: Sequence[tuple[float, str]],
    *,
    lonlat_deg: tuple[Floats, Floats] | None,
    alignment: Alignment | None,
) -> Staked:
    along_m = np.array([at_m for at_m, _ in places])
    unknown = np.full(len(along_m), np.nan)
    lon_deg, lat_deg = (unknown, unknown) if lonlat_deg is None else lonlat_deg
    east = north = unknown
    if alignment is not None:
        xy_m, _ = place_on(alignment, along_m, np.zeros(len(along_m)))
        east, north = (xy_m / float(FACTORS_M[alignment.unit])).T
    decimals = _DECIMALS[stationing.unit.family]
    return Staked(
        leg=leg,
        what=tuple(what for _, what in places),
        along_m=along_m,
        labels=tuple(label(stationing, at_m, decimals=decimals) for at_m, _ in places),
        values=np.array([value_at(stationing, at_m) for at_m, _ in places]),
        lon_deg=lon_deg,
        lat_deg=lat_deg,
        east=east,
        north=north,
        unit="" if alignment is None else alignment.unit,
    )


def _curve_ends(curve: Curve) -> Iterator[tuple[float, str]]:
    """Along [m] and name of a curve's ends, as plan sheets name them: with spirals, four."""
    if curve.spiral_in_m > 0.0:
        yield curve.from_m - curve.spiral_in_m, "TS"
    yield curve.from_m, curve.begin_name
    yield curve.to_m, curve.end_name
    if curve.spiral_out_m > 0.0:
        yield curve.to_m + curve.spiral_out_m, "ST"


def staked_leg(leg: Leg, *, every: float) -> Staked:
    """Places along a leg: round stations, its ends, station equations, and where curves begin.

    Parameters
    ----------
    leg
        The leg.
    every
        Distance between the stations [the leg's length unit].
    """
    curves = leg.curves if leg.line.alignment is not None else ()
    named = [end for curve in curves for end in _curve_ends(curve)]
    places = _places(leg.stationing, leg.line.length_m, every, named)
    along_m = np.array([at_m for at_m, _ in places])
    return _staked(
        leg.settings.code,
        leg.stationing,
        places,
        lonlat_deg=place(leg.line, along_m, np.zeros(len(along_m))),
        alignment=leg.line.alignment,
    )


def staked_alignment(alignment: Alignment, stationing: Stationing, *, every: float) -> Staked:
    """Places along a designed alignment whose plane nobody named, in the file's coordinates.

    Parameters
    ----------
    alignment
        The alignment.
    stationing
        Its stationing.
    every
        Distance between the stations [the stationing's length unit].
    """
    bounds_m = np.r_[0.0, np.cumsum(alignment.length_m)]
    pairs = zip(bounds_m[1:-1].tolist(), alignment.what, alignment.what[1:], strict=False)
    named = [(at_m, f"{one} to {other}") for at_m, one, other in pairs if one != other]
    places = _places(stationing, float(bounds_m[-1]), every, named)
    return _staked(alignment.name, stationing, places, lonlat_deg=None, alignment=alignment)


def _number(value: float, decimals: int) -> str:
    return "" if np.isnan(value) else f"{value + 0.0:.{decimals}f}"


def _rows(staked: Staked) -> Iterator[tuple[str, ...]]:
    for at, what in enumerate(staked.what):
        yield (
            guarded(staked.leg),
            guarded(staked.labels[at]),
            guarded(what),
            _number(float(staked.values[at]), 4),
            _number(float(staked.along_m[at]), 4),
            _number(float(staked.lon_deg[at]), 9),
            _number(float(staked.lat_deg[at]), 9),
            _number(float(staked.east[at]), 4),
            _number(float(staked.north[at]), 4),
            staked.unit,
        )


def stations_csv(lines: Sequence[Staked]) -> str:
    """A row a place of all lines, in order; what is not known is empty.

    Columns: ``leg, station, what, station_value, along_m, lon_deg, lat_deg, easting, northing,
    unit``.
    """
    sheet = io.StringIO(newline="")
    writer = csv.writer(sheet, lineterminator="\n")
    writer.writerow(_HEADER)
    for staked in lines:
        writer.writerows(_rows(staked))
    return sheet.getvalue()


def stations_gpx(lines: Sequence[Staked]) -> str:
    """A waypoint a place, named with leg and station; lines without longitudes are left out."""
    gpx = gpxpy.gpx.GPX()
    gpx.creator = f"routeprep {__version__}"
    for staked in lines:
        for at, what in enumerate(staked.what):
            if np.isfinite(staked.lon_deg[at]):
                point = gpxpy.gpx.GPXWaypoint(
                    latitude=round(float(staked.lat_deg[at]), 9),
                    longitude=round(float(staked.lon_deg[at]), 9),
                    name=f"{staked.leg} {staked.labels[at]}",
                    description=what,
                )
                gpx.waypoints.append(point)
    return f"{gpx.to_xml(version='1.1')}\n"
