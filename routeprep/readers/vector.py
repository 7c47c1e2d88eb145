"""Lines and points of any file that has them.

In go bytes, out come the pieces of a centerline, or points with the columns that they came with.
"""

from dataclasses import replace
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd
import shapely

from routeprep.errors import ReadError
from routeprep.lines import LinePiece
from routeprep.readers.columns import Points
from routeprep.readers.csvtext import LAT, LON, degrees, plain, read_sheet
from routeprep.readers.gis import read_layers
from routeprep.readers.globe import off_globe
from routeprep.readers.gpxstream import Stream, stream
from routeprep.readers.kml import kml_features, read_kml_lines
from routeprep.readers.sniff import SORTS, sort_of
from routeprep.readers.times import moment

__all__ = ["PointTable", "read_lines", "read_points"]

Floats = npt.NDArray[np.float64]

# Columns that name a line, in the order in which they are trusted.
_NAMES = ("name", "street", "street_name", "streetname", "fullname", "full_name", "label", "route")


class PointTable(NamedTuple):
    """The points of a file, a row each.

    Attributes
    ----------
    frame
        The file's own columns.
    lon_deg, lat_deg
        Where each is [deg]; NaN where a row has no place.
    datum_sd_m, datum_said
        Standard deviation that the file's datum adds [m], and what was done about it; 0 and empty
        for WGS 84.
    """

    frame: pd.DataFrame
    lon_deg: Floats
    lat_deg: Floats
    datum_sd_m: float = 0.0
    datum_said: str = ""


def _whole_gpx(data: bytes, *, name: str) -> Stream:
    """A GPX file that does not break off: a line or list that lacks its end would be wrong.

    Raises
    ------
    ReadError
        If it breaks off.
    """
    read = stream(data, name=name)
    if read.broken:
        msg = f"{name}: breaks off or is damaged at {read.broken}; fetch the whole file again"
        raise ReadError(msg, file=name, found=read.broken)
    return read


def _csv_points(data: bytes, *, name: str) -> PointTable:
    sheet = read_sheet(data, name=name)
    places = {plain(column): at for at, column in reversed(list(enumerate(sheet.header)))}
    found = [next((places[one] for one in names if one in places), None) for names in (LON, LAT)]
    if None in found:
        msg = (
            f"{name}: has no columns of longitude and latitude among "
            f"{', '.join(map(repr, sheet.header))}; name them lon and lat [degrees]"
        )
        raise ReadError(msg, file=name, columns=sheet.header)
    wide = [number for number, cells in sheet.rows if len(cells) > len(sheet.header)]
    if wide:
        msg = f"{name}: row {wide[0]} has more cells than the {len(sheet.header)} columns; mend it"
        raise ReadError(msg, file=name, rows=wide)
    lon_deg, lat_deg = (
        np.array([degrees(cells[at]) for _, cells in sheet.rows if at is not None]) for at in found
    )
    off = off_globe(lon_deg, lat_deg)
    lon_deg[off] = lat_deg[off] = np.nan
    frame = pd.DataFrame([cells for _, cells in sheet.rows], columns=list(sheet.header))
    return PointTable(frame, lon_deg, lat_deg)


def _piece(lon_deg: Floats, lat_deg: Floats, *, called: str, name: str, at: str) -> LinePiece:
    """One piece of line.

    Raises
    ------
    ReadError
        If a vertex has no place on the globe.
    """
    bad = off_globe(lon_deg, lat_deg)
    if bad.any():
        first = int(np.argmax(bad))
        msg = (
            f"{name}: vertex {first + 1} of {at} is at {lon_deg[first]!r}, {lat_deg[first]!r}, not "
            "a place in degrees; mend it or its coordinate system"
        )
        raise ReadError(msg, file=name, vertex=first + 1)
    return LinePiece(lon_deg=lon_deg, lat_deg=lat_deg, name=called, source=name)


def _gpx_pieces(points: Points, *, name: str) -> list[LinePiece]:
    lines, pieces = np.array(points.line, np.int64), np.array(points.piece, np.int64)
    lon_deg, lat_deg = np.array(points.lon_deg), np.array(points.lat_deg)
    edges = np.flatnonzero((np.diff(lines) != 0) | (np.diff(pieces) != 0)) + 1
    rows = np.split(np.arange(len(lines)), edges)
    return [
        _piece(lon_deg[at], lat_deg[at], called=points.names[int(lines[at[0]])], name=name, at="it")
        for at in rows
        if len(at) > 1
    ]


def _gis_pieces(data: bytes, *, name: str, where: str, datum_operation: str) -> list[LinePiece]:
    frame, sd_m, said, *_ = read_layers(
        data,
        name=name,
        sorts=("LineString", "Curve"),
        where=where,
        datum_operation=datum_operation,
    )
    columns = {plain(str(column)): column for column in frame.columns}
    called = next((columns[one] for one in _NAMES if one in columns), None)
    pieces = []
    for row, geometry in enumerate(frame.geometry):
        text = "" if called is None else frame[called].iloc[row]
        for part in _line_parts(geometry):
            xy_deg = shapely.get_coordinates(part)
            pieces.append(
                _piece(
                    xy_deg[:, 0].copy(),
                    xy_deg[:, 1].copy(),
                    called=text if isinstance(text, str) else "",
                    name=name,
                    at=f"feature {row + 1}",
                )
            )
    datum_sd_m = float(max(sd_m, default=0.0))
    return [replace(one, datum_sd_m=datum_sd_m, datum_said="; ".join(said)) for one in pieces]


def _line_parts(geometry: shapely.Geometry | None) -> list[shapely.Geometry]:
    parts = shapely.get_parts(shapely.get_parts(np.array([geometry], dtype=object)))
    return [part for part in parts if part.geom_type == "LineString" and not part.is_empty]


def _check_table(sort: str, *, name: str) -> None:
    """Refuse what has neither lines nor vertices.

    Raises
    ------
    ReadError
        If it is of any other sort than a table.
    """
    if sort != "csv":
        msg = (
            f"{name}: is {SORTS[sort]} by its content, no line; give the file of the street's line"
        )
        raise ReadError(msg, file=name, found=sort)


def read_lines(
    data: bytes, *, name: str, where: str = "", datum_operation: str = ""
) -> tuple[LinePiece, ...]:
    """Read the lines of a file: GIS features, GPX tracks or routes, KML lines, CSV vertices.

    Parameters
    ----------
    data
        The file.
    name
        Its name, for messages.
    where
        A condition in OGR SQL that picks features of a GIS file; empty for all.
    datum_operation
        Takes a GIS file's datum that is not WGS 84 there; see ``datums.datum_of``.

    Raises
    ------
    ReadError
        If it cannot be read, has no line, a vertex has no place, or ``where`` is given for a
        file that has no columns of features.
    """
    sort = sort_of(data, name=name)
    if where and sort != "gis":
        msg = f"{name}: where = {where!r} is for GIS files and this is {SORTS[sort]}; leave it out"
        raise ReadError(msg, file=name, where=where)
    if sort == "gis":
        pieces = _gis_pieces(data, name=name, where=where, datum_operation=datum_operation)
    elif sort == "xml":
        read = _whole_gpx(data, name=name)
        pieces = _gpx_pieces(read.tracks if read.tracks.line else read.routes, name=name)
    elif sort == "kml":
        pieces = list(read_kml_lines(data, name=name))
    else:
        _check_table(sort, name=name)
        _, lon_deg, lat_deg, *_ = _csv_points(data, name=name)
        pieces = [_piece(lon_deg, lat_deg, called="", name=name, at="it")] * (len(lon_deg) > 1)
    if not pieces:
        msg = f"{name}: has no line of two or more vertices; give the file of the street's line"
        raise ReadError(msg, file=name)
    return tuple(pieces)


def _gpx_points(data: bytes, *, name: str) -> PointTable:
    waypoints = _whole_gpx(data, name=name).waypoints
    if not waypoints:
        msg = f"{name}: has no waypoints; give a file with points"
        raise ReadError(msg, file=name)
    times = [moment(one.time_us) for one in waypoints]
    frame = pd.DataFrame(
        {
            "name": [one.name for one in waypoints],
            "desc": [one.desc for one in waypoints],
            "cmt": [one.cmt for one in waypoints],
            "time": [time.isoformat() if time else "" for time in times],
        }
    )
    lon_deg = np.array([one.lon_deg for one in waypoints])
    return PointTable(frame, lon_deg, np.array([one.lat_deg for one in waypoints]))


def _kml_points(data: bytes, *, name: str) -> PointTable:
    frame, geometry = kml_features(data, name=name)
    points = shapely.get_type_id(geometry) == shapely.GeometryType.POINT
    if not points.any():
        msg = f"{name}: has no points among its {len(points)} placemarks; give a file with points"
        raise ReadError(msg, file=name)
    xy_deg = shapely.get_coordinates(geometry[points])
    table = frame[points].reset_index(drop=True)
    return PointTable(table, xy_deg[:, 0].copy(), xy_deg[:, 1].copy())


def _gis_points(data: bytes, *, name: str, datum_operation: str) -> PointTable:
    frame, sd_m, said, *_ = read_layers(
        data, name=name, sorts=("Point",), datum_operation=datum_operation
    )
    geometry = frame.geometry.to_numpy()
    empty = shapely.is_missing(geometry) | shapely.is_empty(geometry)
    single = shapely.get_type_id(geometry) == shapely.GeometryType.POINT
    single |= shapely.get_num_coordinates(geometry) == 1
    bad = np.flatnonzero(~empty & ~single)
    if len(bad):
        msg = (
            f"{name}: feature {bad[0] + 1} is a {geometry[bad[0]].geom_type}, not a point "
            f"({len(bad)} of {len(frame)} are not); give a file of points"
        )
        raise ReadError(msg, file=name, features=(bad + 1).tolist())
    xy_deg = np.full((len(frame), 2), np.nan)
    xy_deg[~empty] = shapely.get_coordinates(geometry[~empty])
    xy_deg[~np.isfinite(xy_deg).all(axis=1)] = np.nan
    table = pd.DataFrame(frame.drop(columns=frame.geometry.name)).reset_index(drop=True)
    datum_sd_m = float(max(sd_m, default=0.0))
    return PointTable(table, xy_deg[:, 0].copy(), xy_deg[:, 1].copy(), datum_sd_m, "; ".join(said))


def read_points(data: bytes, *, name: str, datum_operation: str = "") -> PointTable:
    """Read the points of a file with the columns that they came with, one row each, in order.

    Parameters
    ----------
    data
        The file: GIS points in any coordinate system, a CSV with longitude and latitude, or the
        waypoints of GPX.
    name
        Its name, for messages.
    datum_operation
        Takes a GIS file's datum that is not WGS 84 there; see ``datums.datum_of``.

    Raises
    ------
    ReadError
        If it cannot be read, or has none or other things than points.
    """
    sort = sort_of(data, name=name)
    if sort == "gis":
        return _gis_points(data, name=name, datum_operation=datum_operation)
    if sort == "xml":
        return _gpx_points(data, name=name)
    if sort == "csv":
        return _csv_points(data, name=name)
    if sort == "kml":
        return _kml_points(data, name=name)
    msg = (
        f"{name}: is {SORTS[sort]} by its content, without points of its own; give a file of points"
    )
    raise ReadError(msg, file=name, found=sort)
