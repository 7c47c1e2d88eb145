"""Stream a KML file into placemarks, keeping what came before a break.

In go bytes, out comes ``KmlStream``: placemarks with their texts, times and geometry, and counts
of what could not be used.  DOCTYPE is refused, no entity is ever expanded, and no link, style or
picture that the file names is ever followed.
"""

import math
import re
from array import array
from collections import Counter
from dataclasses import dataclass, field
from html import unescape

from routeprep.errors import ReadError
from routeprep.readers.globe import look_swapped, on_globe
from routeprep.readers.parts import counted, shown
from routeprep.readers.plainxml import Missed, parse, plain_parser
from routeprep.readers.times import NO_TIME_US, time_us

__all__ = ["KmlStream", "Placemark", "Run", "Shape", "stream_kml"]

# Geometry that is read, by element (KML 2.2 and 2.3, OGC 07-147r2 and 12-007r2; gx:Track before
# that); the rest, such as models, is counted.
_SHAPES = {"Point": "point", "LineString": "line", "LinearRing": "line", "Polygon": "polygon",
           "Track": "track", "MultiTrack": "track"}  # fmt: skip
_UNREAD = {
    "NetworkLink": "links to other files, never followed",
    "Model": "models",
    "GroundOverlay": "overlays",
    "PhotoOverlay": "overlays",
    "ScreenOverlay": "overlays",
}

# Texts that are read: by the element and what it stands in.
_TEXTS = {
    ("Placemark", "name"): "name",
    ("Placemark", "description"): "description",
    ("TimeStamp", "when"): "time",
    ("TimeSpan", "begin"): "time",
    ("Data", "value"): "value",
    ("SchemaData", "SimpleData"): "value",
    ("Track", "when"): "when",
    ("Track", "coord"): "coord",
    ("author", "name"): "author",
}

# Tags of HTML; a bare "<" in "depth < 3 in" is none.
_TAG = re.compile(r"(</?[A-Za-z!][^<>]*>)")
_HIDDEN = ("script", "style")
# "lon,lat,alt" with spaces after the commas, as some programs write it.
_COMMA = re.compile(r"\s*,\s*")
_NO_PLACE = (math.nan, math.nan, math.nan)


@dataclass(slots=True, kw_only=True, eq=False)
class Run:
    """Places one after another: UTC [us] or ``NO_TIME_US``, degrees, metres or NaN."""

    time_us: "array[int]" = field(default_factory=lambda: array("q"))
    lon_deg: "array[float]" = field(default_factory=lambda: array("d"))
    lat_deg: "array[float]" = field(default_factory=lambda: array("d"))
    ele_m: "array[float]" = field(default_factory=lambda: array("d"))

    def add(self, since_us: int, place: tuple[float, float, float]) -> None:
        """Add a place: longitude, latitude [deg], elevation [m]."""
        self.time_us.append(since_us)
        self.lon_deg.append(place[0])
        self.lat_deg.append(place[1])
        self.ele_m.append(place[2])


@dataclass(slots=True, kw_only=True, eq=False)
class Shape:
    """One geometry: "point", "line", "polygon" (outer ring first) or "track", in runs."""

    sort: str
    runs: list[Run] = field(default_factory=list)


@dataclass(slots=True, kw_only=True, eq=False)
class Placemark:
    """One placemark.

    Attributes
    ----------
    name, description
        Its texts without HTML; empty when there are none.
    data
        Name and value of each of its own fields.
    time_us
        UTC since 1970 [us]; ``NO_TIME_US`` when unknown.
    shapes
        Its geometry; empty when it has none that can be used.
    """

    name: str = ""
    description: str = ""
    data: list[tuple[str, str]] = field(default_factory=list)
    time_us: int = NO_TIME_US
    shapes: list[Shape] = field(default_factory=list)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class KmlStream:
    """All that a file gave.

    Attributes
    ----------
    placemarks
        In the file's order.
    author
        Who the file says made it; may be empty.
    skipped, first
        Counts of what could not be used by reason, and where each came up first.
    zoneless
        Times without zone, taken as UTC.
    broken
        Where and why the file breaks off; empty when it is whole.
    """

    placemarks: tuple[Placemark, ...]
    author: str
    skipped: Counter[str]
    first: dict[str, str]
    zoneless: int
    broken: str


def _plain(text: str) -> str:
    """A text without HTML: its tags, scripts and styles left out, its entities read."""
    kept, hidden = [], ""
    for bit in _TAG.split(text):
        if not _TAG.match(bit):
            kept.append("" if hidden else bit)
            continue
        tag = bit.strip("</>").split()[0].lower() if bit.strip("</> ") else ""
        if tag in _HIDDEN:
            hidden = "" if bit.startswith("</") else tag
        kept.append(" ")
    return " ".join(unescape("".join(kept)).split())


class _Parser:
    """What is known between two tags of a file."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.placemarks: list[Placemark] = []
        self.author = ""
        self.zoneless = 0
        self.path: list[str] = []
        self.mark: Placemark | None = None
        self.shape: Shape | None = None
        self.shape_depth = 0
        self.key = ""  # of the data that is open
        self.whens = array("q")
        self.coords = Run()
        self.wanted = ""  # whose text is being read
        self.wanted_depth = 0
        self.text: list[str] = []
        self.expat = plain_parser(name, what="KML", again="export it as plain KML")
        self.expat.CharacterDataHandler = self.text.append
        self.expat.StartElementHandler = self.start
        self.expat.EndElementHandler = self.end
        self.missed = Missed(self.expat)
        self.miss = self.missed.miss

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        """Begin an element, whatever its prefix.

        Raises
        ------
        ReadError
            If the first element is not kml.
        """
        name, parent = tag.rpartition(":")[2], self.path[-1] if self.path else ""
        if not parent and name != "kml":
            msg = f"{self.name}: is XML that begins with <{tag[:40]}>, not KML; export it as KML"
            raise ReadError(msg, file=self.name, found=tag)
        self.path.append(name)
        if self.wanted:  # HTML in a description that is not quoted
            return
        self.want(_TEXTS.get((parent, name), ""))
        if name in _UNREAD:
            self.miss(_UNREAD[name], f"<{tag}>")
        elif name == "Placemark":
            self.mark = Placemark()
        elif self.mark is not None:
            self.inside(name, attributes)

    def want(self, wanted: str) -> None:
        """Read the text of the element that has just begun, or none."""
        self.wanted, self.wanted_depth = wanted, len(self.path)
        self.text.clear()

    def inside(self, name: str, attributes: dict[str, str]) -> None:
        """Begin an element of a placemark."""
        if name in {"Data", "SimpleData"}:
            self.key = attributes.get("name", "")
        elif name == "coordinates":
            self.want(name)
        elif name in _SHAPES and self.shape is None:
            self.shape, self.shape_depth = Shape(sort=_SHAPES[name]), len(self.path)
        if name == "Track":
            self.whens, self.coords = array("q"), Run()

    def end(self, tag: str) -> None:
        """End an element."""
        name = tag.rpartition(":")[2]
        if self.wanted and len(self.path) > self.wanted_depth:
            self.path.pop()
            return
        if self.wanted:
            self.heard("".join(self.text))
        if name == "Track" and self.shape is not None:
            self.close_track()
        if self.shape is not None and len(self.path) == self.shape_depth:
            self.close_shape()
        if name == "Placemark":
            self.close_mark()
        self.path.pop()

    def heard(self, text: str) -> None:
        """Take the text of the element that ends."""
        wanted, self.wanted = self.wanted, ""
        if wanted == "author":
            self.author = self.author or " ".join(text.split())
        elif wanted == "when":
            self.whens.append(self.time(text))
        elif wanted == "coord":
            self.coords.add(NO_TIME_US, self.place(text.replace(",", " ").split()))
        elif wanted == "coordinates":
            self.coordinates(text)
        elif self.mark is not None:
            self.said(self.mark, wanted, text)

    def said(self, mark: Placemark, wanted: str, text: str) -> None:
        """Take a text of a placemark."""
        if wanted == "name":
            mark.name = _plain(text)
        elif wanted == "description":
            mark.description = _plain(text)
        elif wanted == "time":
            mark.time_us = self.time(text)
        elif text.strip():
            mark.data.append((self.key, _plain(text)))

    def time(self, text: str) -> int:
        """A time [us]."""
        since_us, odd = time_us(text)
        if odd == "no zone":
            self.zoneless += 1
        elif odd:
            self.miss(f"times {odd}", shown(text.strip()))
        return since_us

    def place(self, texts: list[str]) -> tuple[float, float, float]:
        """Longitude and latitude [deg] and elevation [m]; NaN when it is no place."""
        told = shown(",".join(texts))
        try:
            lon_deg, lat_deg, *rest = map(float, texts)
        except ValueError:
            self.miss("coordinates that are no numbers", told)
            return _NO_PLACE
        if not on_globe(lon_deg, lat_deg):
            swapped = look_swapped(lon_deg, lat_deg)
            hint = " (longitude and latitude look swapped)" if swapped else ""
            self.miss("coordinates off the globe", told + hint)
            return _NO_PLACE
        if len(rest) > 1 and self.shape is not None and self.shape.sort != "point":
            self.miss("coordinates of more than three numbers", told)
            return _NO_PLACE
        return lon_deg, lat_deg, rest[0] if rest and math.isfinite(rest[0]) else math.nan

    def coordinates(self, text: str) -> None:
        """Add a run of places to the open geometry."""
        if self.shape is None:
            return
        run = Run()
        for bit in _COMMA.sub(",", text).split():
            place = self.place(bit.split(","))
            if not math.isnan(place[0]):
                run.add(NO_TIME_US, place)
        if run.lon_deg:
            self.shape.runs.append(run)

    def close_track(self) -> None:
        """Put the times and places of a track together, first to first and so on."""
        whens, coords, run = self.whens, self.coords, Run()
        if whens and len(whens) != len(coords.lon_deg):
            told = f"{len(whens)} times, {len(coords.lon_deg)} places"
            self.miss("tracks with more times than places, or fewer", told)
        places = zip(coords.lon_deg, coords.lat_deg, coords.ele_m, strict=True)
        for since_us, place in zip(whens or coords.time_us, places, strict=False):
            if not math.isnan(place[0]):
                run.add(since_us, place)
        self.whens, self.coords = array("q"), Run()
        if run.lon_deg and self.shape is not None:
            self.shape.runs.append(run)

    def close_shape(self) -> None:
        """End a geometry: keep it if it has a place."""
        shape, self.shape = self.shape, None
        if shape is not None and shape.runs and self.mark is not None:
            self.mark.shapes.append(shape)

    def close_mark(self) -> None:
        """End a placemark: keep it if it has a place or a time."""
        mark, self.mark = self.mark, None
        if mark is None:
            return
        if mark.shapes or mark.time_us != NO_TIME_US:
            self.placemarks.append(mark)
        else:
            self.miss("placemarks without place or time", shown(mark.name or mark.description))

    def cut(self) -> None:
        """Keep what of an open placemark came before a break: whole places of lines and tracks."""
        kept = ("line", "track")
        if self.shape is not None and self.shape.sort in kept:
            if self.wanted == "coordinates":
                whole = _COMMA.sub(",", "".join(self.text)).split()[:-1]
                self.coordinates(" ".join(whole))
            if "Track" in self.path:
                self.close_track()
            self.close_shape()
        if self.mark is not None and any(shape.sort in kept for shape in self.mark.shapes):
            self.close_mark()


def stream_kml(data: bytes, *, name: str) -> KmlStream:
    """Read a KML file of any version from its bytes.

    Parameters
    ----------
    data
        The file; it may break off anywhere.
    name
        What it is called, for messages.

    Raises
    ------
    ReadError
        If it is no KML, declares a document type, or has nothing that can be used.
    """
    parser = _Parser(name)
    broken = str(parse(parser.expat, data) or "")
    if broken:
        parser.cut()
    skipped = parser.missed.skipped
    if not parser.placemarks:
        lost = counted(dict(sorted(skipped.items())))
        msg = (
            f"{name}: has no placemark with a place or a time that can be used"
            f"{f' ({lost})' if lost else ''}"
            f"{f'; it breaks off or is damaged at {broken}' if broken else ''}; export it again, "
            "or take the file out of the job"
        )
        raise ReadError(msg, file=name, skipped=dict(skipped), broken=broken)
    return KmlStream(
        placemarks=tuple(parser.placemarks),
        author=parser.author,
        skipped=skipped,
        first=parser.missed.first,
        zoneless=parser.zoneless,
        broken=broken,
    )
