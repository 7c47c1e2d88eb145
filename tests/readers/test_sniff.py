"""What a file is by its content."""

import pytest

from routeprep.errors import ReadError
from routeprep.readers.sniff import sort_of


@pytest.mark.parametrize(
    ("data", "sort"),
    [
        (b"\xef\xbb\xbf <?xml version='1.0'?><gpx/>", "xml"),
        ("<gpx/>".encode("utf-16"), "xml"),
        (b"boot\r\n$GPRMC,120000,V*00", "nmea"),
        (b'\n{"type": "FeatureCollection"}', "gis"),
        (b"SQLite format 3\0...", "gis"),
        (b"PK\x03\x04...", "gis"),
        (b"fgb\x03fgb\x00", "gis"),
        (b"lat,lon\n1,2", "csv"),
    ],
)
def test_content_says_what_a_file_is(data: bytes, sort: str) -> None:
    """Whatever it is called."""
    assert sort_of(data, name="x.bin") == sort


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"", "is empty"),
        (b"\x00\x00\x27\x0a\x00", "is shapefile .* zip its .shp"),
        (b"\x1f\x8b\x08", "is gzip"),
        (b"%PDF-1.7", "is PDF"),
        (b"\xff\xd8\xff\xe0", "is JPEG"),
    ],
)
def test_what_is_not_read_is_refused_by_its_sort(data: bytes, sentence: str) -> None:
    """The sentence says what it is and what to give."""
    with pytest.raises(ReadError, match=sentence):
        sort_of(data, name="x.bin")
