"""What a file is by its content."""

import io
import zipfile

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routeprep.errors import ReadError
from routeprep.readers.sniff import sort_of


def zipped(*names):
    """A zip of empty files of these names."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name in names:
            # Of a day of its own, since each process that collects the tests makes it anew.
            archive.writestr(zipfile.ZipInfo(name), b"")
    return out.getvalue()


@pytest.mark.parametrize(
    ("data", "sort"),
    [
        (b"\xef\xbb\xbf <?xml version='1.0'?><gpx/>", "xml"),
        ("<gpx/>".encode("utf-16"), "xml"),
        (b"<osm/>", "osm"),
        (b"<html/>", "xml"),
        (b"\0\0\0\r\n\tOSMHeader\x18", "osm"),
        (b"<", "xml"),
        (b"<?xml version='1.0'?><!-- <gpx> --><kml xmlns='x'/>", "kml"),
        (b"<k:kml xmlns:k='x'/>", "kml"),
        ("<?xml version='1.0'?><kml/>".encode("utf-16"), "kml"),
        (b"<LandXML version='1.2'/>", "landxml"),
        (b"<?xml never ends", "xml"),
        (b"<!DOCTYPE kml><kml/>", "xml"),
        (b"boot\r\n$GPRMC,120000,V*00", "nmea"),
        (b'\n{"type": "FeatureCollection"}', "gis"),
        (b"SQLite format 3\0...", "gis"),
        (b"fgb\x03fgb\x00", "gis"),
        (b"lat,lon\n1,2", "csv"),
        (b"12+40 MH RT wheel path, 24 in\n", "stations"),
        (b"# walked 6/1\n\n  -0+50.5 gas valve\n", "stations"),
        (b"1+234 manhole\n", "stations"),
        (
            b"Leg A\nwalked by R. Sample, 2026-05-04\n12+40 MH RT, 24 in\n13+10 WV, 6 in\n",
            "stations",
        ),
        (b"LEG A, Elm St\n12+40, MH\n13+10, WV\n", "stations"),
        (b"From_Sta,What\n12+40,MH\n13+10,WV\n", "csv"),
        (b"9:05 12+40 MH rt\n9:12 am, 13+10 CB rt\n", "stations"),
        (b"Elm St, walked north\n12+40 MH\n13+10 WV, 8 in\n", "stations"),
        (
            b"Elm St\nwalked by Pat (invented), 6/1/2026\n\n1. Sta. 12+40: MH\n2) @13+10 WV",
            "stations",
        ),
        (b"Elm St:\n12+40, MH\n13+10, WV\n", "stations"),
        ("12+40 MH\n".encode("utf-16"), "stations"),
        ("station,what\n".encode("utf-16"), "csv"),
        (b"note,where\nsee plans,12+40\n", "csv"),
        (b"one\ntwo\n12+40 MH\nthree\nfour\n", "csv"),
        (b"station,what\n12+40,MH\n13+10,WV\n", "csv"),
        (b"station;what\n12+40;MH\n", "csv"),
        (b"12+4 x\n", "csv"),
        (b"12+40.5.6\n", "csv"),
        (b"# only this\n", "csv"),
        (b"\xff\xd8\xff\xe0", "photo"),
        (b"\0\0\0\x24ftypheic\0\0", "photo"),
        (b"\0\0\0\x24ftypmif1\0\0", "photo"),
        (zipped("roads.shp", "roads.dbf", "roads.shp.xml", "readme.txt"), "gis"),
        (zipped("doc.kml", "files/arrow.png", "photo.jpg"), "kml"),
        (zipped("walk.kml"), "kml"),
        (zipped("doc.kml", "more.kml"), "kml"),
        (zipped("a.kml", "b.kml"), "zip"),
        (zipped("a.kml", "b.gpx"), "zip"),
        (zipped("a.gpx", "IMG_1.HEIC"), "zip"),
        (zipped(), "zip"),
    ],
    ids=lambda value: value if isinstance(value, str) else repr(value[:30]),
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
        (b"\x89PNG", "is PNG"),
        (b"\0\0\0\x18ftypmp42", "is video"),
        (b"PK\x03\x04...", r"is a zip that cannot be opened \(File is not a zip file\)"),
        (zipped("[Content_Types].xml", "xl/workbook.xml"), "is a document of an office program"),
        (zipped("r.shp", "r.dbf", "log.gpx"), r"with a shapefile \(r.shp\) among .*\(log.gpx\)"),
        (zipped("r.shp", "doc.kml"), r"shapefile \(r.shp\) among other files \(doc.kml\)"),
        (zipped("../r.shp"), "leads out of its folder"),
    ],
)
def test_what_is_not_read_is_refused_by_its_sort(data: bytes, sentence: str) -> None:
    """The sentence says what it is and what to give."""
    with pytest.raises(ReadError, match=sentence) as caught:
        sort_of(data, name="x.bin")

    assert str(caught.value).startswith("x.bin: ")


def test_a_long_comment_of_beginnings_is_passed_quickly() -> None:
    """Comments that never end are searched once each, not once for every beginning."""
    assert sort_of(b"<!-- " * 200_000 + b"<kml/>", name="x.bin") == "xml"


@given(st.binary(min_size=1))
def test_any_bytes_are_of_some_sort_or_a_sentence(data: bytes) -> None:
    """Nothing else comes out."""
    sorts = {"gis", "xml", "kml", "landxml", "nmea", "stations", "csv", "photo", "zip"}
    try:
        found = sort_of(data, name="x.bin")
    except ReadError:
        found = ""

    assert found in sorts | {""}
