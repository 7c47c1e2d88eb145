"""A designed alignment as a leg's line: vertices for maps and matching, its own lengths kept.

In go an alignment in its file's plane and the leg's settings, out comes a ``Centerline`` that
locating finishes on the elements, with findings.  Its stations keep the plan's lengths; what they
are on the ground is reported, not applied.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from routeprep.centerline import SAME_VERTEX_M
from routeprep.datums import system_of
from routeprep.elements import place_on, vertices_on
from routeprep.errors import LineError
from routeprep.grids import Grid, combined_factor, elevation_factor, grid_of
from routeprep.lines import Alignment, Centerline
from routeprep.shapes import Finding, LegSettings
from routeprep.units import FACTORS_M

__all__ = ["Factors", "designed_line", "factors"]

Floats = npt.NDArray[np.float64]

# How far the chords between vertices leave the elements, and how far apart vertices are at most
# [m]: for maps and for matching drives, not for places.
_CHORD_ERROR_M = 0.01
_STEP_M = 25.0
# No plane that roads are designed in stretches them by more than this share: UTM has 0.1 %, one
# plane for all of a large state 0.5 % (from memory).
_MOST_SCALE_SHARE = 0.01
# A plane that stretches a road by more than this share at its elevation is probably not the one
# that the plans are in; common practice, no source.
_LIKELY_SCALE_SHARE = 0.0015
# A road may run on so far past the area that its plane is for [deg]; common practice, no source.
_BESIDE_DEG = 0.5
# PROJ's names of the two feet.
_FEET = {"foot": "ft", "US survey foot": "ftUS"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Factors:
    """What the lengths of a designed alignment are on the ground.

    Attributes
    ----------
    grid_scale
        Grid length of a unit of ellipsoidal length, the mean along the line.
    elevation_factor
        Ellipsoidal length of a unit of ground length.
    combined
        Grid length of a unit of ground length: the two multiplied.
    declared_m, ground_m
        The line's length on the plan and on the ground [m].
    """

    grid_scale: float
    elevation_factor: float
    combined: float
    declared_m: float
    ground_m: float


def factors(line: Centerline) -> Factors | None:
    """Factors of a designed alignment; None for any other line, whose along is ground already."""
    if line.alignment is None:
        return None
    return _factors(line, grid_of(line.crs, datum_operation=line.datum_operation))


def _factors(line: Centerline, grid: Grid) -> Factors:
    """Factors of a line in a plane; the scale's mean is such that lengths come out right."""
    inverse = 1.0 / grid.scale_at(line.lon_deg, line.lat_deg)
    ellipsoid_m = float(np.sum(np.diff(line.along_m) * (inverse[:-1] + inverse[1:]) / 2.0))
    scale = line.length_m / ellipsoid_m
    combined = combined_factor(scale, line.elevation_m)
    return Factors(
        grid_scale=scale,
        elevation_factor=elevation_factor(line.elevation_m),
        combined=combined,
        declared_m=line.length_m,
        ground_m=line.length_m / combined,
    )


@contextmanager
def _of_leg(leg: str) -> Iterator[None]:
    """Name the leg in what is wrong with a coordinate system.

    Raises
    ------
    LineError
        The same, with the leg.
    """
    try:
        yield
    except LineError as error:
        msg = f"leg {leg}: {error}"
        raise LineError(msg, leg=leg) from error


def _crs(alignment: Alignment, leg: LegSettings) -> tuple[str, tuple[Finding, ...]]:
    """The coordinate system that the file names, or the job where it does not.

    Raises
    ------
    LineError
        If neither names one, the two are different, or the file's is not known and the job has
        none.
    """
    where = f"leg {leg.code}"
    if not alignment.crs and not leg.crs:
        msg = (
            f"{where}: alignment {alignment.name!r} cannot be located from longitude and latitude, "
            "since its file names no coordinate system, or several; name the plane that the plans "
            'are in: centerline = { file = "...", crs = "EPSG:..." }'
        )
        raise LineError(msg, leg=leg.code, alignment=alignment.name)
    if not alignment.crs or not leg.crs:
        return alignment.crs or leg.crs, ()
    with _of_leg(leg.code):
        ours = system_of(leg.crs)
    try:
        theirs = system_of(alignment.crs)
    except LineError:
        text = (
            f"the file of alignment {alignment.name!r} calls its coordinate system "
            f"{alignment.crs!r}, which is not known; {ours.label} is taken, as the job says"
        )
        return leg.crs, (Finding(level="doubt", where=where, text=text),)
    if not theirs.crs.equals(ours.crs, ignore_axis_order=True):
        msg = (
            f"{where}: the file of alignment {alignment.name!r} is in {theirs.label} "
            f"({theirs.crs.name}) but the job says crs = {leg.crs!r} ({ours.crs.name}); give the "
            "one that is right, or leave crs out"
        )
        raise LineError(msg, leg=leg.code, file=theirs.label, job=ours.label)
    return leg.crs, ()


def _vertices(alignment: Alignment) -> Floats:
    """Distances along of the vertices [m]: dense enough, and no two the same place."""
    along_m = vertices_on(alignment, chord_error_m=_CHORD_ERROR_M, step_m=_STEP_M)
    apart = np.r_[True, np.diff(along_m[:-1]) > SAME_VERTEX_M]
    inner = along_m[:-1][apart]
    return np.append(inner[along_m[-1] - inner > SAME_VERTEX_M], along_m[-1])


def _on_the_earth(
    alignment: Alignment, grid: Grid, xy_m: Floats, leg: str
) -> tuple[Floats, Floats]:
    """Longitude and latitude [deg] of an alignment's vertices.

    Raises
    ------
    LineError
        If one has none.
    """
    lon_deg, lat_deg = grid.to_lonlat(xy_m)
    lost = np.flatnonzero(np.isnan(lon_deg))
    if len(lost):
        east, north = xy_m[lost[0]] / grid.unit_m
        msg = (
            f"leg {leg}: east {east:,.1f}, north {north:,.1f} of alignment {alignment.name!r} has "
            f"no place in {grid.name} ({grid.unit}); give the coordinate system that it is in"
        )
        raise LineError(msg, leg=leg, crs=grid.name)
    return lon_deg, lat_deg


def _check(line: Centerline, found: Factors, leg: str) -> None:
    """Refuse a plane that nobody designs a road in.

    Raises
    ------
    LineError
        If its scale is far from 1.
    """
    if abs(found.grid_scale - 1.0) > _MOST_SCALE_SHARE:
        msg = (
            f"leg {leg}: in {line.crs} a metre near {line.lon_deg[0]:.4f}, {line.lat_deg[0]:.4f} "
            f"is {found.grid_scale:.4f} m long; no road is designed in such a plane: give the one "
            "that the plans are in"
        )
        raise LineError(msg, leg=leg, scale=found.grid_scale)


def _unlike_feet(alignment: Alignment, grid: Grid) -> str:
    """What is odd about a file in one foot and a plane in the other; empty where nothing is."""
    theirs = _FEET.get(grid.unit, alignment.unit)
    if alignment.unit in {"m", theirs}:
        return ""
    share = float(FACTORS_M["ftUS"] / FACTORS_M["ft"]) - 1.0
    off_m = share * float(max(np.abs(alignment.x_m).max(), np.abs(alignment.y_m).max()))
    return (
        f"the file of alignment {alignment.name!r} is in {alignment.unit} and {grid.name} is in "
        f"{theirs}; the file is taken at its word: if it is wrong, all is {off_m:.2f} m off"
    )


def _unlikely(line: Centerline, found: Factors) -> str:
    """What is odd about a plane's scale on the ground; empty where nothing is."""
    if abs(found.combined - 1.0) <= _LIKELY_SCALE_SHARE:
        return ""
    return (
        f"in {line.crs} plan and ground differ by {abs(found.combined - 1.0):.2%} near "
        f"{line.lon_deg[0]:.4f}, {line.lat_deg[0]:.4f}; look whether the plans are in this plane"
    )


def _outside(line: Centerline) -> str:
    """What is odd about a line where its plane is not for; empty where nothing is.

    Easting read as northing mostly ends there, and so does the plane of another zone.
    """
    crs = system_of(line.crs).crs
    area = crs.area_of_use
    lon_deg, lat_deg = float(line.lon_deg[0]), float(line.lat_deg[0])
    if area is None or (
        _within(lon_deg, area.west, area.east) and _within(lat_deg, area.south, area.north)
    ):
        return ""
    return (
        f"in {line.crs} the line begins near {lon_deg:.4f}, {lat_deg:.4f}, but that plane, "
        f"{crs.name}, is for {area.west:.1f} to {area.east:.1f}, {area.south:.1f} to "
        f"{area.north:.1f}; look whether it is the plans', and whether the file has northing first"
    )


def _within(at_deg: float, low_deg: float, high_deg: float) -> bool:
    """Whether a degree is of an area, and a little beyond; one over the date line has them all."""
    return low_deg > high_deg or low_deg - _BESIDE_DEG <= at_deg <= high_deg + _BESIDE_DEG


def _said(alignment: Alignment, line: Centerline, found: Factors, leg: LegSettings) -> str:
    """The lengths and factors, in the leg's unit."""
    longer_m = found.ground_m - found.declared_m
    declared, ground, apart = (
        leg.unit.length_text(size_m, decimals=2)
        for size_m in (found.declared_m, found.ground_m, abs(longer_m))
    )
    return (
        f"stations keep the plan's lengths: {declared} of alignment {alignment.name!r} in "
        f"{line.crs} are {ground} on the ground, {apart} {'more' if longer_m >= 0 else 'less'} "
        f"(grid scale {found.grid_scale:.8f}, elevation factor {found.elevation_factor:.8f} at "
        f"{leg.unit.length_text(line.elevation_m)}, combined {found.combined:.8f}): reported, not "
        "applied"
    )


def designed_line(
    alignment: Alignment, *, leg: LegSettings, elevation_m: float, datum_operation: str
) -> tuple[Centerline, tuple[Finding, ...]]:
    """Make a leg's line of a designed alignment.

    Parameters
    ----------
    alignment
        As its file has it.
    leg
        The leg, for its code, unit and coordinate system.
    elevation_m
        Height of the road [m].
    datum_operation
        Between the plane's datum and WGS 84; empty takes the two as one.

    Raises
    ------
    LineError
        If no coordinate system is named, file and job name different ones, it is not known or
        not one for roads, or the coordinates have no place in it.
    """
    crs, said = _crs(alignment, leg)
    with _of_leg(leg.code):
        grid = grid_of(crs, datum_operation=datum_operation)
    along_m = _vertices(alignment)
    xy_m, _ = place_on(alignment, along_m, np.zeros(len(along_m)))
    lon_deg, lat_deg = _on_the_earth(alignment, grid, xy_m, leg.code)
    line = Centerline(
        lon_deg=lon_deg,
        lat_deg=lat_deg,
        along_m=along_m,
        sd_m=np.full(len(along_m), grid.datum.sd_m),
        elevation_m=elevation_m,
        made_from="designed alignment",
        alignment=alignment,
        crs=crs,
        datum_operation=datum_operation,
    )
    found = _factors(line, grid)
    _check(line, found, leg.code)
    texts = (
        ("doubt", _unlike_feet(alignment, grid)),
        ("note", grid.datum.said),
        ("doubt", _outside(line)),
        ("doubt", _unlikely(line, found)),
        ("note", _said(alignment, line, found, leg)),
    )
    where = f"leg {leg.code}"
    told = tuple(Finding(level=level, where=where, text=text) for level, text in texts if text)
    return line, (*said, *told)
