"""KML and KMZ: drives from tracks and lines, marks from points, lines of a centerline, records.

In go bytes, out comes a ``Part``, pieces of line, or a table with geometry.  A track has times; a
drawn line has none, and is used as a drive only where nothing was recorded.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd
import shapely

from routeprep.errors import ReadError
from routeprep.kinds import KindTable
from routeprep.lines import LinePiece
from routeprep.readers.columns import Points, Span, drive_names, fixes_table, spans
from routeprep.readers.kmlstream import KmlStream, Placemark, Shape, stream_kml
from routeprep.readers.parts import Drives, Place, hear, make_part, marks_table, source
from routeprep.readers.plainxml import left_out
from routeprep.readers.times import NO_TIME_US
from routeprep.readers.zipped import member_of, names_in
from routeprep.shapes import Finding, Part

__all__ = ["kml_features", "read_kml", "read_kml_lines"]

# What becomes of what cannot be used, by the first word of the reason.
_LOST = {
    "coordinates": "left out",
    "placemarks": "left out",
    "tracks": "what has no partner is left out",
    "times": "kept without a time",
}

# Geometry by its sort, and what the counts call it.
_CALLED = {"point": "points", "line": "lines", "polygon": "areas", "track": "tracks"}
_RING_LEAST = 4


class _Read(NamedTuple):
    """A KML file and, when it came in a KMZ, how many others of it lie unread beside it."""

    stream: KmlStream
    others: int


def _read(data: bytes, name: str) -> _Read:
    """Read a KML file, or doc.kml or else the first KML of a KMZ."""
    if not data.startswith(b"PK"):
        return _Read(stream_kml(data, name=name), 0)
    names = names_in(data, name=name)
    maps = [one for one in names if one.lower().endswith(".kml")]
    path = "doc.kml" if "doc.kml" in maps else maps[0]
    text = member_of(data, path, name=name)
    return _Read(stream_kml(text, name=f"{name}/{path}"), len(maps) - 1)


def _whole(data: bytes, name: str) -> KmlStream:
    """A KML file that does not break off: a line or list that lacks its end would be wrong.

    Raises
    ------
    ReadError
        If it breaks off.
    """
    stream = _read(data, name).stream
    if stream.broken:
        msg = f"{name}: breaks off or is damaged at {stream.broken}; fetch the whole file again"
        raise ReadError(msg, file=name, found=stream.broken)
    return stream


def _shapes(stream: KmlStream, *sorts: str) -> Iterator[tuple[Placemark, Shape]]:
    for mark in stream.placemarks:
        for shape in mark.shapes:
            if shape.sort in sorts:
                yield mark, shape


def _points(stream: KmlStream, sort: str) -> Points:
    """The columns of all tracks or all lines, each a drive of its own."""
    points = Points()
    for line, (mark, shape) in enumerate(_shapes(stream, sort)):
        points.names.append(mark.name)
        for piece, run in enumerate(shape.runs):
            size = len(run.lon_deg)
            points.line.extend([line] * size)
            points.piece.extend([piece] * size)
            points.time_us.extend(run.time_us)
            points.lon_deg.extend(run.lon_deg)
            points.lat_deg.extend(run.lat_deg)
            points.ele_m.extend(run.ele_m)
    unknown = [np.nan] * len(points.line)
    for column in (points.accuracy_m, points.speed_mps, points.course_deg):
        column.extend(unknown)
    return points


def _drive_of(time_us: int, drives: Sequence[Span]) -> str:
    """The one drive whose times hold a mark's time; empty when that is not sure."""
    held = [one for one in drives if one.first_us <= time_us <= one.last_us != NO_TIME_US]
    return held[0].drive_id if len(held) == 1 and time_us != NO_TIME_US else ""


def _marks(
    stream: KmlStream, *, kinds: KindTable, drives: Sequence[Span], name: str
) -> list[tuple[Place, dict[str, object]]]:
    """A mark for each point, and for each placemark that has a time but no place."""
    rows = []
    for mark in stream.placemarks:
        places = [
            (run.lon_deg[0], run.lat_deg[0])
            for shape in mark.shapes
            if shape.sort == "point"
            for run in shape.runs
        ]
        if not mark.shapes:
            places = [(np.nan, np.nan)]
        texts = (mark.name, mark.description, *(value for _, value in mark.data))
        row: dict[str, object] = {
            **hear(texts, kinds),
            "drive_id": _drive_of(mark.time_us, drives),
            "across_frame": "as driven",
            "method": "vehicle",
            "by": stream.author,
            "source": name,
        }
        rows += [(Place(mark.time_us, *place), dict(row)) for place in places]
    return rows


def _findings(read: _Read, name: str, *, from_lines: bool, unused: int) -> Iterator[Finding]:
    stream = read.stream
    if stream.broken:
        text = (
            f"breaks off or is damaged at {stream.broken}; kept what came before; fetch the whole "
            "file if there is more"
        )
        yield Finding(level="doubt", where=name, text=text)
    yield from left_out(stream.skipped, stream.first, name=name, lost=_LOST, otherwise="not used")
    if from_lines:
        text = "has no recorded track, only drawn lines; they are taken as paths, without times"
        yield Finding(level="doubt", where=name, text=text)
    if unused:
        text = f"{unused} drawn lines are not used; the recorded tracks are"
        yield Finding(level="note", where=name, text=text)
    if read.others:
        text = f"{read.others} more KML files in it are not read; unpack it and list them"
        yield Finding(level="doubt", where=name, text=text)
    if stream.zoneless:
        text = f"times without zone are taken as UTC ({stream.zoneless} of them)"
        yield Finding(level="note", where=name, text=text)


def read_kml(data: bytes, *, name: str, kinds: KindTable) -> Part:
    """Read a KML or KMZ file: drives from its tracks (else its lines), marks from its points.

    Parameters
    ----------
    data
        The file.
    name
        Its name relative to the job.
    kinds
        For the words of the points.

    Raises
    ------
    ReadError
        If it is no KML, or holds neither a track, a line nor a point that can be used.
    """
    read = _read(data, name)
    counts = Counter(
        _CALLED[shape.sort] for mark in read.stream.placemarks for shape in mark.shapes
    )
    from_lines = not counts["tracks"] and bool(counts["lines"])
    points = _points(read.stream, "line" if from_lines else "track")
    drives = spans(points)
    marks = _marks(read.stream, kinds=kinds, drives=drives, name=name)
    if not drives and not marks:
        msg = (
            f"{name}: has {counts['areas']} areas and neither a track, a line nor a point; list it "
            "under records, or take it out of the job"
        )
        raise ReadError(msg, file=name, areas=counts["areas"])
    unused = 0 if from_lines else counts["lines"]
    return make_part(
        source(
            data,
            name=name,
            what="drive" if drives else "marks",
            taken={
                "points of lines as fixes" if from_lines else "fixes": len(points.line),
                "tracks": counts["tracks"],
                "placemarks": len(marks),
            },
            skipped={**read.stream.skipped, "areas": counts["areas"], "drawn lines": unused},
        ),
        drives=Drives(
            fixes_table(points, drives),
            drive_names(points, drives, name),
            {drive.drive_id: read.stream.author for drive in drives},
        ),
        marks=marks_table(marks),
        findings=tuple(_findings(read, name, from_lines=from_lines, unused=unused)),
    )


def read_kml_lines(data: bytes, *, name: str) -> tuple[LinePiece, ...]:
    """Read the lines and tracks of a KML or KMZ file as pieces of a centerline.

    Parameters
    ----------
    data
        The file.
    name
        Its name, for messages.

    Raises
    ------
    ReadError
        If it cannot be read, breaks off or has no line.
    """
    pieces = [
        LinePiece(
            lon_deg=np.array(run.lon_deg),
            lat_deg=np.array(run.lat_deg),
            name=mark.name,
            source=name,
        )
        for mark, shape in _shapes(_whole(data, name), "line", "track")
        for run in shape.runs
        if len(run.lon_deg) > 1
    ]
    if not pieces:
        msg = f"{name}: has no line of two or more vertices; give the file of the street's line"
        raise ReadError(msg, file=name)
    return tuple(pieces)


def _geometry(shape: Shape) -> shapely.Geometry | None:
    """A geometry [deg]; None when it has too few places for its sort."""
    runs = [np.column_stack([run.lon_deg, run.lat_deg]) for run in shape.runs]
    if shape.sort == "point":
        return shapely.Point(runs[0][0])
    if shape.sort == "polygon":
        rings = [run for run in runs if len(run) >= _RING_LEAST]
        return shapely.Polygon(rings[0], rings[1:]) if rings else None
    lines = [run for run in runs if len(run) > 1]
    if not lines:
        return None
    return shapely.LineString(lines[0]) if len(lines) == 1 else shapely.MultiLineString(lines)


def _row(mark: Placemark) -> dict[str, str]:
    own: Mapping[str, str] = {"name": mark.name, "description": mark.description}
    return {**dict(mark.data), **{key: text for key, text in own.items() if text}}


def kml_features(data: bytes, *, name: str) -> tuple[pd.DataFrame, npt.NDArray[np.object_]]:
    """The placemarks of a KML or KMZ file as features: their texts as columns, and geometry [deg].

    Parameters
    ----------
    data
        The file.
    name
        Its name, for messages.
    """
    found = list(_shapes(_whole(data, name), *_CALLED))
    geometry = np.empty(len(found), dtype=object)
    geometry[:] = [_geometry(shape) for _, shape in found]
    rows = [_row(mark) for mark, _ in found]
    columns = list(dict.fromkeys(key for row in rows for key in row))
    return pd.DataFrame(rows, columns=columns, dtype=object).fillna(""), geometry
