"""Photos of nothing in particular, made for tests: JPEG with the tags that a test wants."""

import io
from pathlib import Path

from PIL import ExifTags, Image
from PIL.TiffImagePlugin import IFDRational

# 96 x 64 pixels, grey with one red corner, turned by 90 degrees, with place, time and words;
# encoded with libheif for these tests, since the library that reads HEIC cannot write it.
HEIC = (Path(__file__).parent.parent / "data" / "turned_photo.heic").read_bytes()

BASE, GPS = ExifTags.Base, ExifTags.GPS

# 41 deg 25' 48" N, 100 deg 52' 12" W.
PLACE = {
    GPS.GPSLatitudeRef: "N",
    GPS.GPSLatitude: (41.0, 25.0, 48.0),
    GPS.GPSLongitudeRef: "W",
    GPS.GPSLongitude: (100.0, 52.0, 12.0),
}


def rational(over, under):
    """A rational as it stands in a file, whatever its denominator."""
    return IFDRational(over, under)


def satellite(date, *clock):
    """The tags of a satellite time."""
    return {GPS.GPSDateStamp: date, GPS.GPSTimeStamp: tuple(map(float, clock))}


def camera(local, offset=""):
    """The tags of a camera clock."""
    tags = {BASE.DateTimeOriginal: local}
    return tags | ({BASE.OffsetTimeOriginal: offset} if offset else {})


def jpeg(main=None, exif=None, gps=None, *, size=(96, 64), **more):
    """A JPEG with these tags, grey with a red corner at its left top."""
    picture = Image.new("RGB", size, (90, 90, 90))
    picture.paste((250, 0, 0), (0, 0, size[0] // 3, size[1] // 4))
    tags = Image.Exif()
    for number, value in (main or {}).items():
        tags[number] = value
    for sort, values in ((ExifTags.IFD.Exif, exif), (ExifTags.IFD.GPSInfo, gps)):
        if values:
            tags.get_ifd(sort).update(values)
            tags[sort] = values
    out = io.BytesIO()
    picture.save(out, format="JPEG", exif=tags.tobytes(), **more)
    return out.getvalue()
