"""What a file is by its content, whatever it is called."""

import re

from routeprep.errors import ReadError
from routeprep.readers.parts import shown

__all__ = ["sort_of"]

# First bytes: GeoPackage (SQLite 3 file format), zip (APPNOTE 4.3.7), FlatGeobuf (its
# specification), shapefile (ESRI technical description, 1998); JSON and XML begin with a bracket.
_MAGIC = (
    (b"SQLite format 3\0", "gis"),
    (b"PK\x03\x04", "gis"),
    (b"fgb\x03", "gis"),
    (b"\x00\x00\x27\x0a", "shapefile"),
    (b"\xff\xfe<\x00", "xml"),
    (b"\xfe\xff\x00<", "xml"),
    (b"\x1f\x8b", "gzip"),
    (b"%PDF", "PDF"),
    (b"\x89PNG", "PNG"),
    (b"\xff\xd8\xff", "JPEG"),
)
_READ = ("gis", "xml", "nmea", "csv")
_NMEA = re.compile(rb"^.{0,80}\$[A-Z]{5},", re.MULTILINE)
_LOOKED_AT = 4096


def sort_of(data: bytes, *, name: str) -> str:
    """Say what a file is: "xml" (GPX or refused), "nmea", "gis" or "csv".

    Parameters
    ----------
    data
        The file.
    name
        Its name, for messages.

    Raises
    ------
    ReadError
        If it is empty or of a sort that is not read.
    """
    head = data[:_LOOKED_AT].removeprefix(b"\xef\xbb\xbf").lstrip()
    if not head:
        msg = f"{name}: is empty ({len(data)} bytes); save it again, or take it out of the job"
        raise ReadError(msg, file=name)
    found = next((sort for magic, sort in _MAGIC if data.startswith(magic)), "")
    if not found:
        found = {b"<": "xml", b"{": "gis", b"[": "gis"}.get(head[:1], "")
    if not found:
        found = "nmea" if _NMEA.search(head) else "csv"
    if found not in _READ:
        again = (
            "zip its .shp, .shx, .dbf and .prj together"
            if found == "shapefile"
            else "give GPX, NMEA, CSV, GeoJSON, GeoPackage, FlatGeobuf or a zipped shapefile"
        )
        msg = f"{name}: is {found} by its first bytes ({shown(data[:4])}), not read; {again}"
        raise ReadError(msg, file=name, found=found)
    return found
