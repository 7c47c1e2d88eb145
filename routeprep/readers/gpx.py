"""GPX 1.0 and 1.1: one drive a track, marks from waypoints.

In go bytes, out comes a ``Part``.  A new segment is a new ``piece``; a log that breaks off keeps
what came before the break and says so; a planned route is no drive, and is used only where
nothing else was recorded.
"""

from collections.abc import Iterator, Sequence

from routeprep.errors import ReadError
from routeprep.kinds import KindTable
from routeprep.readers.columns import Span, drive_names, fixes_table, spans
from routeprep.readers.gpxstream import Stream, Waypoint, stream
from routeprep.readers.parts import Drives, Place, counted, hear, make_part, marks_table, source
from routeprep.readers.plainxml import left_out
from routeprep.readers.times import NO_TIME_US
from routeprep.shapes import Finding, Part
from routeprep.tables import ON_FOOT

__all__ = ["read_gpx"]

# A waypoint belongs to the track whose times hold it, with so much room at either end [us]: taps
# just before the first fix and after the last.  Common practice, no source.
_ROOM_US = 60_000_000

# What becomes of what cannot be used, by the first word of the reason.
_LOST = {
    "fixes": "left out",
    "route": "left out",
    "waypoints": "left out",
    "times": "the points are kept without a time",
}


def _spans_at(drives: Sequence[Span], time_us: int, *, room_us: int) -> list[Span]:
    return [
        drive
        for drive in drives
        if drive.first_us != NO_TIME_US
        and drive.first_us - room_us <= time_us <= drive.last_us + room_us
    ]


def _drive_of(time_us: int, drives: Sequence[Span]) -> str:
    """The drive that a mark was made on, empty when that is not sure."""
    if len(drives) == 1 and NO_TIME_US in (time_us, drives[0].first_us):
        return drives[0].drive_id
    if time_us == NO_TIME_US:
        return ""
    held = _spans_at(drives, time_us, room_us=0)
    held = held or _spans_at(drives, time_us, room_us=_ROOM_US)
    return held[0].drive_id if len(held) == 1 else ""


def _mark(
    waypoint: Waypoint, *, kinds: KindTable, drives: Sequence[Span], by: str, name: str
) -> tuple[Place, dict[str, object]]:
    method = waypoint.told.get("method", "")
    row: dict[str, object] = {
        **hear((waypoint.name, waypoint.desc, waypoint.cmt), kinds),
        "drive_id": _drive_of(waypoint.time_us, drives),
        "accuracy_m": waypoint.accuracy_m,
        "across_frame": "as driven",
        "by": by,
        "source": name,
        **waypoint.told,
        "method": method if method in ON_FOOT else "vehicle",
    }
    return Place(waypoint.time_us, waypoint.lon_deg, waypoint.lat_deg), row


def _findings(read: Stream, name: str, *, from_routes: bool) -> Iterator[Finding]:
    fixes, marks = len(read.tracks.line), len(read.waypoints)
    if read.broken:
        text = (
            f"breaks off or is damaged at {read.broken}; kept what came before: {fixes} fixes and "
            f"{marks} waypoints; fetch the whole file from the device if there is more"
        )
        yield Finding(level="doubt", where=name, text=text)
    yield from left_out(
        read.skipped, read.first, name=name, lost=_LOST, otherwise="those values are not used"
    )
    if from_routes:
        text = (
            f"has no recorded track, only {len(read.routes.line)} points of a planned route; the "
            "route is taken as the path, without times"
        )
        yield Finding(level="doubt", where=name, text=text)
    elif read.routes.line:
        text = f"a planned route of {len(read.routes.line)} points is not used; the tracks are"
        yield Finding(level="note", where=name, text=text)
    if read.noticed["times without zone"]:
        text = f"times without zone are taken as UTC ({read.noticed['times without zone']} of them)"
        yield Finding(level="note", where=name, text=text)
    if read.noticed["hdop"]:
        text = (
            f"hdop is a factor, not an accuracy in metres, and is not used "
            f"({read.noticed['hdop']} points have it)"
        )
        yield Finding(level="note", where=name, text=text)


def read_gpx(data: bytes, *, name: str, kinds: KindTable) -> Part:
    """Read a GPX file: drives from its tracks, marks from its waypoints.

    Parameters
    ----------
    data
        The file.
    name
        Its name relative to the job.
    kinds
        For the words of the waypoints.

    Raises
    ------
    ReadError
        If it is no GPX, or holds neither a fix nor a waypoint that can be used.
    """
    read = stream(data, name=name)
    from_routes = not read.tracks.line and bool(read.routes.line)
    points = read.routes if from_routes else read.tracks
    if not points.line and not read.waypoints:
        lost = counted(dict(sorted(read.skipped.items())))
        msg = (
            f"{name}: holds neither a fix nor a waypoint that can be used"
            f"{f' ({lost})' if lost else ''}; export it again, or take the file out of the job"
        )
        raise ReadError(msg, file=name, skipped=dict(read.skipped))
    drives = spans(points)
    marks = [
        _mark(waypoint, kinds=kinds, drives=drives, by=read.author, name=name)
        for waypoint in read.waypoints
    ]
    return make_part(
        source(
            data,
            name=name,
            what="drive" if drives else "marks",
            taken={
                "route points as fixes" if from_routes else "fixes": len(points.line),
                "tracks": 0 if from_routes else len(drives),
                "waypoints": len(marks),
            },
            skipped={
                **read.skipped,
                "tracks without fixes": len(read.tracks.names) - len(set(read.tracks.line)),
                "route points": 0 if from_routes else len(read.routes.line),
            },
        ),
        drives=Drives(
            fixes_table(points, drives),
            drive_names(points, drives, name),
            {drive.drive_id: read.author for drive in drives},
        ),
        marks=marks_table(marks),
        findings=tuple(_findings(read, name, from_routes=from_routes)),
    )
