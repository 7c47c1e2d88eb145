"""Stream a GPX file into columns, keeping what came before a break.

In go bytes, out comes ``Stream``: columns of track points and of route points, waypoints, and
counts of what could not be used.  DOCTYPE is refused and no entity is ever expanded; a point
counts only when its end tag was read.
"""

import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from routeprep.errors import ReadError
from routeprep.readers.columns import SPEED_MOST_MPS, Points
from routeprep.readers.globe import look_swapped, on_globe
from routeprep.readers.parts import shown
from routeprep.readers.plainxml import Missed, parse, plain_parser
from routeprep.readers.times import NO_TIME_US, time_us

__all__ = ["Stream", "Waypoint", "stream"]

# Points and what they may stand in; a trkpt straight in a trk breaks the schema and is taken.
_PARENTS = {"trkpt": ("trkseg", "trk"), "rtept": ("rte",), "wpt": ("gpx",)}
_SORTS = {"trkpt": "fixes", "rtept": "route points", "wpt": "waypoints"}
_LINES = {("gpx", "trk"): "trkpt", ("gpx", "rte"): "rtept"}

# Texts outside of points: who made the file (GPX 1.1 and 1.0), names of tracks and routes.
_HEADS = {
    ("author", "name"): "author",
    ("gpx", "author"): "author",
    ("trk", "name"): "trkpt",
    ("rte", "name"): "rtept",
}

# Children of a point that are read (GPX 1.1 schema, wptType; speed and course from 1.0).
_TEXTS = ("name", "desc", "cmt")
_FIELDS = (*_TEXTS, "time", "ele", "speed", "course", "hdop")

# Elements that hold a radius in metres, whatever their prefix: what logging apps write under
# extensions (common practice, no source).  hdop is a factor without unit, never metres.
_ACCURACY = ("accuracy", "hacc", "h_acc", "horizontal_accuracy", "horizontalaccuracy")

# What the drive page writes of a mark beside GPX, in its own namespace, and the mark's column.
_OWN = ("xmlns:field", "urn:routeprep:field")
_TOLD = {
    "field:leg": "said_leg",
    "field:station": "said_station",
    "field:offset": "said_offset",
    "field:method": "method",
    "field:note": "note",
}

_FORMATS = {
    "kml": "a KML file",
    "TrainingCenterDatabase": "a TCX file",
    "osm": "an OpenStreetMap file",
    "html": "a web page",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Waypoint:
    """One waypoint.

    Attributes
    ----------
    lon_deg, lat_deg
        Where [deg].
    time_us
        UTC since 1970 [us]; ``NO_TIME_US`` when unknown.
    accuracy_m
        Radius [m]; NaN when unknown.
    name, desc, cmt
        Its texts; empty when there are none.
    told
        What the drive page of this project says beside, by the mark's column.
    """

    lon_deg: float
    lat_deg: float
    time_us: int
    accuracy_m: float
    name: str
    desc: str
    cmt: str
    told: Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stream:
    """All that a file gave.

    Attributes
    ----------
    tracks, routes, waypoints
        What was read.
    author
        Who the file says made it; may be empty.
    skipped
        Counts of what could not be used, by reason.
    first
        For each reason, where it came up first and what stood there.
    noticed
        Things to note that lose nothing: "times without zone" and "hdop".
    broken
        Where and why the file breaks off; empty when it is whole.
    """

    tracks: Points
    routes: Points
    waypoints: tuple[Waypoint, ...]
    author: str
    skipped: Counter[str]
    first: dict[str, str]
    noticed: Counter[str]
    broken: str


class _Parser:
    """What is known between two tags of a file."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.points = {"trkpt": Points(), "rtept": Points()}
        self.waypoints: list[Waypoint] = []
        self.author = ""
        self.noticed: Counter[str] = Counter()
        self.prefix = ""
        self.fields: dict[str, str] = {}
        self.depth = 0
        self.path: list[str] = []  # local names of the open elements outside of points
        self.piece = -1
        self.sort = ""  # of the open point: trkpt, rtept or wpt
        self.point_depth = 0
        self.place_deg: tuple[float, float] | None = None
        self.point: dict[str, str] = {}
        self.wanted = ""  # whose text is being read
        self.wanted_depth = 0
        self.text: list[str] = []
        self.expat = plain_parser(name, what="GPX", again="export it as plain GPX")
        self.expat.buffer_text = True
        self.expat.CharacterDataHandler = self.text.append
        self.expat.StartElementHandler = self.start
        self.expat.EndElementHandler = self.end
        self.missed = Missed(self.expat)
        self.miss = self.missed.miss

    def root(self, tag: str) -> None:
        """Refuse a document that is not GPX.

        Raises
        ------
        ReadError
            If the first element is not gpx, naming what it is.
        """
        before, colon, local = tag.rpartition(":")
        if local != "gpx":
            what = _FORMATS.get(local, f"XML that begins with <{tag[:40]}>")
            msg = (
                f"{self.name}: is {what}, not GPX, whatever it is called; this version does not "
                "read it; export it as GPX"
            )
            raise ReadError(msg, file=self.name, found=tag)
        self.prefix = before + colon
        self.fields = {self.prefix + name: name for name in _FIELDS}
        self.path.append("gpx")

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        """Begin an element."""
        self.depth += 1
        if self.sort:
            if not self.wanted:
                name = self.fields.get(tag) if self.depth == self.point_depth + 1 else None
                # What ``want`` does, without the call: this runs for each value of each point.
                if name is not None:
                    self.wanted, self.wanted_depth = name, self.depth
                    self.text.clear()
                elif tag.rpartition(":")[2].lower() in _ACCURACY:
                    self.want("accuracy")
                elif tag in _TOLD and attributes.get(_OWN[0]) == _OWN[1]:
                    self.want(_TOLD[tag])
        elif self.depth == 1:
            self.root(tag)
        elif self.depth == len(self.path) + 1 and not self.wanted:
            plain = tag.removeprefix(self.prefix) if tag.startswith(self.prefix) else ""
            self.outside(plain, attributes)

    def want(self, name: str) -> None:
        """Read the text of the element that has just begun."""
        self.wanted, self.wanted_depth = name, self.depth
        self.text.clear()

    def outside(self, name: str, attributes: dict[str, str]) -> None:
        """Begin an element that is not inside a point."""
        parent = self.path[-1]
        if name in _PARENTS and parent in _PARENTS[name]:
            self.open(name, attributes)
            return
        self.path.append(name)
        if (parent, name) in _LINES:
            self.points[_LINES[parent, name]].names.append("")
            self.piece = 0 if name == "rte" else -1
        elif (parent, name) == ("trk", "trkseg"):
            self.piece += 1
        elif (parent, name) in _HEADS:
            self.want(_HEADS[parent, name])

    def open(self, sort: str, attributes: dict[str, str]) -> None:
        """Begin a point."""
        self.sort, self.point_depth, self.place_deg = sort, self.depth, None
        self.point.clear()
        lat, lon = attributes.get("lat", ""), attributes.get("lon", "")
        try:
            lat_deg, lon_deg = float(lat), float(lon)
        except ValueError:
            self.miss(f"{_SORTS[sort]} without coordinates", f"lat {shown(lat)}, lon {shown(lon)}")
            return
        if on_globe(lon_deg, lat_deg):
            self.place_deg = (lon_deg, lat_deg)
        else:
            swapped = look_swapped(lon_deg, lat_deg)
            hint = " (latitude and longitude look swapped)" if swapped else ""
            found = f"lat {shown(lat)}, lon {shown(lon)}{hint}"
            self.miss(f"{_SORTS[sort]} off the globe", found)

    def end(self, _tag: str) -> None:
        """End an element."""
        depth = self.depth
        self.depth -= 1
        if depth == self.wanted_depth:
            self.heard()
        if depth == self.point_depth:
            self.close()
        elif depth == len(self.path):
            self.path.pop()

    def heard(self) -> None:
        """Keep the text of the element that ends."""
        text = "".join(self.text)
        self.text.clear()
        if self.sort:
            self.point[self.wanted] = text
        elif self.wanted == "author":
            self.author = text.strip()
        else:
            self.points[self.wanted].names[-1] = " ".join(text.split())
        self.wanted, self.wanted_depth = "", 0

    def close(self) -> None:
        """End a point: keep it if it has a place."""
        sort, self.sort, self.point_depth = self.sort, "", 0
        if self.place_deg is None:
            return
        if "hdop" in self.point:
            self.noticed["hdop"] += 1
        if sort == "wpt":
            self.keep_waypoint(*self.place_deg)
        else:
            self.keep(sort, *self.place_deg)

    def keep(self, sort: str, lon_deg: float, lat_deg: float) -> None:
        """Add a point to its columns; the times of a planned route are no times of a drive."""
        points, said = self.points[sort], self.point
        if not points.names:  # a point that stands in no track
            points.names.append("")
        points.line.append(len(points.names) - 1)
        points.piece.append(max(self.piece, 0))
        points.time_us.append(self.time() if sort == "trkpt" else NO_TIME_US)
        points.lon_deg.append(lon_deg)
        points.lat_deg.append(lat_deg)
        for column, name, low, high in (
            (points.ele_m, "ele", -math.inf, math.inf),
            (points.accuracy_m, "accuracy", 0.0, math.inf),
            (points.speed_mps, "speed", 0.0, SPEED_MOST_MPS),
            (points.course_deg, "course", 0.0, 360.0),
        ):
            column.append(self.number(name, low, high) if name in said else math.nan)

    def keep_waypoint(self, lon_deg: float, lat_deg: float) -> None:
        """Add a waypoint."""
        self.waypoints.append(
            Waypoint(
                lon_deg=lon_deg,
                lat_deg=lat_deg,
                time_us=self.time(),
                accuracy_m=self.number("accuracy", 0.0, math.inf),
                **{name: self.words(name) for name in _TEXTS},
                told={name: text for name in _TOLD.values() if (text := self.words(name))},
            )
        )

    def words(self, name: str) -> str:
        """A text of the point, on one line."""
        return " ".join(self.point.get(name, "").split())

    def time(self) -> int:
        """The point's time [us]."""
        text = self.point.get("time")
        if text is None:
            return NO_TIME_US
        since_us, odd = time_us(text)
        if odd == "no zone":
            self.noticed["times without zone"] += 1
        elif odd:
            self.miss(f"times {odd}", shown(text))
        return since_us

    def number(self, name: str, low: float, high: float) -> float:
        """A number of the point within limits [its unit], NaN when it has none."""
        text = self.point.get(name)
        if text is None:
            return math.nan
        try:
            value = float(text)
        except ValueError:
            value = math.nan
        if math.isfinite(value) and low <= value <= high:
            return value
        self.miss(f"{name} values that cannot be", shown(text))
        return math.nan


def stream(data: bytes, *, name: str) -> Stream:
    """Read a GPX file of any version from its bytes.

    Parameters
    ----------
    data
        The file; it may break off anywhere.
    name
        What it is called, for messages.

    Raises
    ------
    ReadError
        If it is no GPX, declares a document type, or breaks off before anything could be used.
    """
    parser = _Parser(name)
    broken = parse(parser.expat, data)
    usable = parser.waypoints or any(points.lon_deg for points in parser.points.values())
    if broken and not usable:
        msg = (
            f"{name}: is not GPX that can be read ({broken}) and nothing usable stands before "
            "that; export it again"
        )
        raise ReadError(msg, file=name, found=str(broken)) from broken.error
    return Stream(
        tracks=parser.points["trkpt"],
        routes=parser.points["rtept"],
        waypoints=tuple(parser.waypoints),
        author=parser.author,
        skipped=parser.missed.skipped,
        first=parser.missed.first,
        noticed=parser.noticed,
        broken=str(broken or ""),
    )
