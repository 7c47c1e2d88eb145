"""One good file of each format that is read, in a small invented job, to be broken at random."""

import io
import json
import tempfile
import zipfile
from pathlib import Path

import geopandas
import shapely
from PIL import Image
from readers.made_osm import Way, pbf, xml

JOB = """\
format = 1
[job]
name = "invented"
number = "F-1"
revision = "A"
date = 2026-06-01
timezone = "America/Chicago"
units = "us"
[inputs]
%s
[[leg]]
code = "A"
name = "Elm St"
start = "10+00"
start_near = [-96.1, 41.2]
elevation_ft = 1000
centerline = %s
"""
LINE = json.dumps(
    {
        "type": "FeatureCollection",
        "features": [
            {
                "type": "Feature",
                "properties": {"name": "Elm St"},
                "geometry": {
                    "type": "LineString",
                    "coordinates": [[-96.1, 41.2], [-96.098, 41.2005], [-96.09, 41.201]],
                },
            }
        ],
    }
).encode()
TRACK = [(-96.1 + 0.0001 * k, 41.2 + 0.00001 * k, 300 + k, k) for k in range(40)]


def job(key, name):
    """A job whose line is a file, with one more file under a key of its inputs: name and key."""
    toml = JOB % (f'{key} = ["{name}"]', '"line.geojson"')
    return {"job.toml": toml.encode(), "line.geojson": LINE}, name, key


def gpx():
    """A GPX track with times and two waypoints."""
    points = "".join(
        f'<trkpt lat="{lat:.6f}" lon="{lon:.6f}"><ele>{ele}</ele>'
        f"<time>2026-05-04T15:00:{k:02d}Z</time><hdop>1.1</hdop></trkpt>"
        for lon, lat, ele, k in TRACK
    )
    waypoints = "".join(
        f'<wpt lat="{lat}" lon="{lon}"><time>2026-05-04T15:00:{k:02d}Z</time>'
        f"<name>{words}</name></wpt>"
        for (lon, lat, _, k), words in zip(TRACK[5::9], ("MH outer wheel path", "GV"), strict=False)
    )
    text = (
        '<?xml version="1.0" encoding="UTF-8"?><gpx version="1.1" creator="invented" '
        f'xmlns="http://www.topografix.com/GPX/1/1">{waypoints}<trk><name>up</name>'
        f"<trkseg>{points}</trkseg></trk></gpx>"
    )
    return (*job("drives", "drive.gpx"), text.encode())


def _sentence(body):
    total = 0
    for letter in body.encode():
        total ^= letter
    return f"${body}*{total:02X}\r\n"


def _ddmm(deg, width):
    whole = int(abs(deg))
    return f"{whole:0{width}d}{(abs(deg) - whole) * 60:07.4f}"


def nmea():
    """RMC and GGA sentences, a second apart."""
    lines = []
    for lon, lat, ele, k in TRACK:
        place = f"{_ddmm(lat, 2)},N,{_ddmm(lon, 3)},W"
        lines.append(_sentence(f"GPGGA,1500{k:02d},{place},1,08,0.9,{ele}.0,M,-27.0,M,,"))
        lines.append(_sentence(f"GPRMC,1500{k:02d},A,{place},022.4,084.4,040526,003.1,W"))
    return (*job("drives", "log.nmea"), "".join(lines).encode())


def _kml_text():
    coords = "".join(
        f"<when>2026-05-04T15:00:{k:02d}Z</when><gx:coord>{lon:.6f} {lat:.6f} {ele}</gx:coord>"
        for lon, lat, ele, k in TRACK
    )
    return (
        '<?xml version="1.0"?><kml xmlns="http://www.opengis.net/kml/2.2" '
        'xmlns:gx="http://www.google.com/kml/ext/2.2"><Document><Placemark><name>MH right</name>'
        "<description><![CDATA[<b>24 in</b>]]></description><TimeStamp><when>2026-05-04T15:00:10Z"
        "</when></TimeStamp><Point><coordinates>-96.099,41.2001,300</coordinates></Point>"
        f"</Placemark><Placemark><gx:Track>{coords}</gx:Track></Placemark></Document></kml>"
    ).encode()


def kml():
    """A KML with a placemark and a track."""
    return (*job("drives", "drive.kml"), _kml_text())


def kmz():
    """The same, zipped without compression so that faults reach the inside too."""
    return (*job("drives", "drive.kmz"), _zipped({"doc.kml": _kml_text()}))


def _zipped(files, how=zipfile.ZIP_STORED):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", how) as archive:
        for name, data in files.items():
            archive.writestr(zipfile.ZipInfo(name), data)
    return out.getvalue()


def zipped():
    """A zip of two drives."""
    return (*job("drives", "drives.zip"), _zipped({"a.gpx": gpx()[3], "b.nmea": nmea()[3]}))


def _points():
    return geopandas.GeoDataFrame(
        {"name": ["MH", "water valve"], "size_in": [24.0, 6.0], "owner": ["City", "City"]},
        geometry=[shapely.Point(-96.099, 41.2001), shapely.Point(-96.097, 41.2006)],
        crs="EPSG:4326",
    )


def _written(name, driver):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / name
        _points().to_file(path, driver=driver)
        if path.suffix == ".shp":
            return _zipped({one.name: one.read_bytes() for one in sorted(Path(folder).iterdir())})
        return path.read_bytes()


def geojson():
    """Owners' records as GeoJSON."""
    return (*job("records", "covers.geojson"), _written("covers.geojson", "GeoJSON"))


def gpkg():
    """Owners' records as a GeoPackage."""
    return (*job("records", "covers.gpkg"), _written("covers.gpkg", "GPKG"))


def shapefile():
    """Owners' records as a zipped shapefile."""
    return (*job("records", "covers.zip"), _written("covers.shp", "ESRI Shapefile"))


def flatgeobuf():
    """Owners' records as FlatGeobuf."""
    return (*job("records", "covers.fgb"), _written("covers.fgb", "FlatGeobuf"))


def marks_csv():
    """A spreadsheet of marks."""
    text = (
        "Time,Latitude,Longitude,What,Across,Size (in),Note\n"
        "2026-05-04T15:00:10Z,41.2001,-96.099,manhole,outer wheel path,24,proud\n"
        '2026-05-04T15:00:20Z,41.2002,-96.098,"water valve, GV?",,6,"two\nlines"\n'
        "2026-05-04T15:00:30Z,41.2003,-96.097,catch basin,curb,,\n"
    )
    return (*job("marks", "marks.csv"), text.encode())


def fixes_csv():
    """A log of fixes as a table."""
    rows = "".join(
        f"2026-05-04T15:00:{k:02d}Z,{lat:.6f},{lon:.6f},{ele},22.5,4.9\n"
        for lon, lat, ele, k in TRACK
    )
    text = f"time,lat,lon,elevation m,speed mph,accuracy m\n{rows}"
    return (*job("drives", "log.csv"), text.encode())


def station_list():
    """A list typed by somebody who walked with a wheel."""
    text = (
        "LEG A\nwheeled by R. Sample, 2026-05-04\n\n12+40 MH RT wheel path, 24 in, lowered 3 in\n"
        "12+60 WV 6.5 ft LT\n13+00 to 13+40 patch\n# a remark\nsomething odd\n-0+20 CB RT\n"
    )
    return (*job("marks", "walk.txt"), text.encode())


def _photo(kind):
    exif = Image.Exif()
    exif[0x010E] = "manhole outer wheel path"
    exif.get_ifd(0x8769)[0x9003] = "2026:05:04 10:00:10"
    exif.get_ifd(0x8769)[0x9011] = "-05:00"
    place = exif.get_ifd(0x8825)
    place[1], place[2], place[3], place[4] = "N", (41.0, 12.0, 0.36), "W", (96.0, 5.0, 56.4)
    out = io.BytesIO()
    Image.new("RGB", (64, 48), (90, 90, 90)).save(out, kind, exif=exif)
    return out.getvalue()


def jpeg():
    """A geotagged photo."""
    return (*job("photos", "photo.jpg"), _photo("JPEG"))


def heic():
    """A photo as phones save it (encoded for the tests of its reader)."""
    data = Path(__file__).parent.parent / "data" / "turned_photo.heic"
    return (*job("photos", "photo.heic"), data.read_bytes())


def landxml():
    """A designed alignment: a line, an arc and a line, in EPSG:26915."""
    text = (
        '<?xml version="1.0"?><LandXML xmlns="http://www.landxml.org/schema/LandXML-1.2" '
        'version="1.2"><Units><Metric linearUnit="meter"/></Units>'
        '<CoordinateSystem epsgCode="26915"/><Alignments><Alignment name="A" staStart="1000" '
        'length="1018.879"><CoordGeom><Line><Start>4560000 240000</Start><End>4560353.5534 '
        '240353.5534</End></Line><Curve rot="cw"><Start>4560353.5534 240353.5534</Start><Center>'
        "4559646.4466 241060.6602</Center><End>4560580.0270 240702.2922</End></Curve></CoordGeom>"
        '<StaEquation staAhead="2000" staBack="1300" staInternal="1300"/></Alignment></Alignments>'
        "</LandXML>"
    )
    toml = JOB % ("marks = []", '{ file = "line.xml", crs = "EPSG:26915" }')
    files = {"job.toml": toml.replace('start = "10+00"\n', "").encode()}
    return files, "line.xml", "", text.encode()


def job_toml():
    """The job file itself."""
    files, _, _, track = gpx()
    toml = files["job.toml"].decode() + 'ties = [{ station = "12+00", lon_deg = -96.099, '
    toml += 'lat_deg = 41.2001, kind = "plan", by = "paint" }]\n'
    return {"line.geojson": LINE, "drive.gpx": track}, "job.toml", "", toml.encode()


def decisions_csv():
    """What named persons decided."""
    files, name, _, track = gpx()
    text = (
        "anchor_id,field,value,by,when,why\nkind:MH,action,as proposed,J. Doe,2026-05-30,\n"
        'kind:SMH,action,LIFT,J. Doe,2026-05-30,"said\nso"\n'
    )
    return {**files, name: track}, "decisions.csv", "", text.encode()


def _street_map(name, data):
    """A job with a street map, which is read with the whole job."""
    files, *_ = job("streets", name)
    return files, name, "", data


_STREETS = [
    Way([(-96.0985, 41.198), (-96.0982, 41.203)], {"highway": "residential", "name": "Oak Ct"}),
    Way([(-96.095, 41.2), (-96.095, 41.21)], {"highway": "tertiary", "name": "1st St"}),
]


def osm():
    """A street map as OpenStreetMap XML."""
    return _street_map("town.osm", xml(_STREETS))


def osm_pbf():
    """A street map in protocol buffers."""
    return _street_map("town.osm.pbf", pbf(_STREETS))


def issued():
    """The list of the pack that was issued last."""
    text = (
        "no,anchor_id,leg,name,station,along_m,plus_minus_m,lane,across,status,action,decided_by\n"
        "A-1,m1,A,manhole,10+40.0,12.2,8.0,R1,outer wheel path,seen once,LIFT,J. Doe\n"
        "A-2,m2,A,gas valve,11+15.0,35.0,8.0,,,seen once,STOP,\n"
    )
    report = {"job": {"revision": "A"}, "counts": {"obstructions": {"all": 2}}}
    toml = JOB % ('issued = "issued/A"', '"line.geojson"')
    files = {
        "job.toml": toml.encode(), "line.geojson": LINE,
        "issued/A/report.json": json.dumps(report).encode(),
    }  # fmt: skip
    return files, "issued/A/obstructions.csv", "", text.encode()


SEEDS = {
    one.__name__: one
    for one in (
        gpx, nmea, kml, kmz, zipped, geojson, gpkg, shapefile, flatgeobuf, marks_csv, fixes_csv,
        station_list, jpeg, heic, landxml, job_toml, decisions_csv,
        osm, osm_pbf, issued,
    )
}  # fmt: skip
