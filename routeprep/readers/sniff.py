"""What a file is by its content, whatever it is called."""

import re

from routeprep.errors import ReadError
from routeprep.readers.encodings import WIDE
from routeprep.readers.parts import shown
from routeprep.readers.zipped import names_in

__all__ = ["SORTS", "sort_of"]

# What a person calls the sorts of file that are told apart.
SORTS = {
    "csv": "a table (CSV)",
    "gis": "a GIS file",
    "kml": "KML",
    "landxml": "LandXML",
    "nmea": "an NMEA log",
    "osm": "an OpenStreetMap extract",
    "photo": "a photo",
    "stations": "a list of stations",
    "xml": "GPX or other XML",
    "zip": "a zip of files",
}

# First bytes: GeoPackage (SQLite 3 file format), zip (APPNOTE 4.3.7 and 4.3.16), FlatGeobuf (its
# specification), shapefile (ESRI technical description, 1998), JPEG (ITU-T T.81, B.1.1.3); JSON
# and XML begin with a bracket.
_MAGIC = (
    (b"SQLite format 3\0", "gis"),
    (b"PK\x03\x04", "zip"),
    (b"PK\x05\x06", "zip"),
    (b"fgb\x03", "gis"),
    (b"\x00\x00\x27\x0a", "shapefile"),
    (b"\x1f\x8b", "gzip"),
    (b"%PDF", "PDF"),
    (b"\x89PNG", "PNG"),
    (b"\xff\xd8\xff", "photo"),
)
# An OpenStreetMap extract in protocol buffers: behind four bytes of length the type of its first
# block, a field of 9 bytes (OpenStreetMap wiki, PBF Format, from memory).
_PBF = b"\n\tOSMHeader"
_NMEA = re.compile(rb"^.{0,80}\$[A-Z]{5},", re.MULTILINE)
_LOOKED_AT = 4096

# Brands of still pictures in HEVC (ISO/IEC 23008-12, annex B).
_HEIC = (b"heic", b"heix", b"heim", b"heis", b"mif1")

# First elements of XML that have readers of their own; GPX and all else is "xml".
_ROOTS = {"kml": "kml", "LandXML": "landxml", "osm": "osm"}
_ROOT = re.compile(r"<(?:[\w.-]+:)?([A-Za-z_][\w.-]*)")
# The first element may stand behind a long comment [bytes].
_XML_LOOKED_AT = 65536

# A line of a list that begins with a station, such as "12+40 MH" or "3. Sta 12+40": two digits
# after the plus in feet, three in metres.
_STATION = re.compile(
    rb"\s*(?:\d{1,3}[.)]\s+|[*-]\s+|\xe2\x80\xa2\s*)?(?:\d{1,2}:\d\d(?::\d\d)?(?:\s?[ap]m)?[\s,;-]+)?"
    rb"(?:(?:at|sta|station)\b[.:]?\s*|@\s*){0,2}"
    rb"-?\d{1,5}\s?\+\s?\d{2,3}(?:\.\d+)?(?![\d.])",
    re.IGNORECASE,
)
# A cell of a table, up to what parts it from the next.
_CELL = re.compile(rb"[^,;\t]*[,;\t]")

# The name of a column of stations, as the header of a table whose rows begin with one has it
# first: "Sta", "from_station".  "Walked by R. Sample, 2026-05-04" above a list is no header.
_STATION_COLUMN = re.compile(
    rb"\W*(?:[a-z]+[\s_])?(?:sta|stn|stations?|chainage|from|begin)\b", re.IGNORECASE
)

# Files that the zip of a shapefile has no use for.
_PICTURES = (".jpg", ".jpeg", ".heic", ".heif")
_OTHERS = (
    *_PICTURES, ".gpx", ".kmz", ".nmea", ".csv", ".geojson", ".json", ".gpkg", ".fgb", ".zip",
)  # fmt: skip
_OFFICE = "[Content_Types].xml"


def _root_of(data: bytes) -> str:
    """The sort of an XML file by the name of its first element."""
    encoding = "utf-16" if data.startswith(WIDE) else "utf-8"
    text = data[:_XML_LOOKED_AT].decode(encoding, "replace")
    at = text.find("<")
    while at >= 0 and text.startswith(("<?", "<!--"), at):
        end = text.find("?>" if text[at + 1] == "?" else "-->", at)
        at = text.find("<", end) if end >= 0 else -1
    match = _ROOT.match(text, at) if at >= 0 else None
    return _ROOTS.get(match[1], "xml") if match else "xml"


def _zip_sort(data: bytes, name: str) -> str:
    """What a zip is: a shapefile, a KMZ, or files of other sorts.

    Raises
    ------
    ReadError
        If it cannot be opened, or is a document of an office program.
    """
    names = names_in(data, name=name)
    if _OFFICE in names:
        msg = (
            f"{name}: is a document of an office program ({len(names)} files zipped); save the "
            "table in it as CSV (UTF-8)"
        )
        raise ReadError(msg, file=name)
    shapes = [one for one in names if one.lower().endswith(".shp")]
    maps = [one for one in names if one.lower().endswith(".kml")]
    others = [one for one in names if one.lower().endswith(_OTHERS)]
    if shapes:
        if maps or others:
            msg = (
                f"{name}: is a zip with a shapefile ({shapes[0]}) among other files "
                f"({[*maps, *others][0]}); zip the shapefile alone"
            )
            raise ReadError(msg, file=name, shapes=tuple(shapes))
        return "gis"
    # A KMZ has one KML, or doc.kml before the rest, and the pictures that it shows.
    is_map = len(maps) == 1 or "doc.kml" in maps
    only_pictures = all(one.lower().endswith(_PICTURES) for one in others)
    return "kml" if is_map and only_pictures else "zip"


def _text_sort(head: bytes) -> str:
    """What a text is: a list of stations when most lines from the first such on begin with one."""
    if _NMEA.search(head):
        return "nmea"
    lines = [line for line in head.splitlines() if line.strip() and not line.startswith(b"#")]
    listed = [bool(_STATION.match(line)) for line in lines]
    if not any(listed):
        return "csv"
    first = listed.index(True)
    # Under the header of a table every line is cells, as the header is.
    named = first > 0 and _STATION_COLUMN.match(lines[first - 1])
    is_table = named and all(_CELL.match(line) for line in lines[first - 1 :])
    return "stations" if 2 * sum(listed) > len(lines) - first and not is_table else "csv"


def _plain_head(data: bytes) -> bytes:
    """The beginning of a file without its byte order mark, as UTF-8 where it was UTF-16."""
    head = data[:_LOOKED_AT]
    if head.startswith(WIDE):
        head = head.decode("utf-16", "replace").encode()
    return head.removeprefix(b"\xef\xbb\xbf").lstrip()


def _found(data: bytes, head: bytes, name: str) -> str:
    sort = next((sort for magic, sort in _MAGIC if data.startswith(magic)), "")
    if sort == "zip":
        return _zip_sort(data, name)
    if data[4:15] == _PBF:
        return "osm"
    if not sort and data[4:8] == b"ftyp":
        return "photo" if data[8:12] in _HEIC else "video"
    # GeoJSON is UTF-8 (RFC 7946, section 1).
    json = "" if data.startswith(WIDE) else "gis"
    sort = sort or {b"<": "xml", b"{": json, b"[": json}.get(head[:1], "")
    if sort == "xml":
        return _root_of(data)
    return sort or _text_sort(head)


def sort_of(data: bytes, *, name: str) -> str:
    """Say what a file is.

    Parameters
    ----------
    data
        The file.
    name
        Its name, for messages.

    Returns
    -------
    str
        "gis" (GeoJSON, GeoPackage, FlatGeobuf, zipped shapefile), "xml" (GPX, or other XML that
        its reader refuses), "kml" (KMZ too), "landxml", "nmea", "osm", "stations" (a list of
        lines that begin with a station), "csv", "photo" (JPEG or HEIC) or "zip" (of other files).

    Raises
    ------
    ReadError
        If it is empty or of a sort that is not read.
    """
    head = _plain_head(data)
    if not head:
        msg = f"{name}: is empty ({len(data)} bytes); save it again, or take it out of the job"
        raise ReadError(msg, file=name)
    found = _found(data, head, name)
    if found not in SORTS:
        again = (
            "zip its .shp, .shx, .dbf and .prj together"
            if found == "shapefile"
            else "give GPX, NMEA, KML, CSV, GeoJSON, GeoPackage, FlatGeobuf, a zipped shapefile, "
            "or a photo in JPEG or HEIC"
        )
        msg = f"{name}: is {found} by its first bytes ({shown(data[:4])}), not read; {again}"
        raise ReadError(msg, file=name, found=found)
    return found
