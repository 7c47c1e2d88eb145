"""A photo as a mark: place, time, words, and what cannot be used."""

import datetime as dt
import math
import zoneinfo

import pytest
from builders import KINDS
from readers.made_photos import BASE, GPS, HEIC, PLACE, camera, jpeg, rational, satellite

from routeprep.errors import ReadError
from routeprep.readers.photos import SILENT, read_photo

CHICAGO = zoneinfo.ZoneInfo("America/Chicago")
NOON = dt.datetime(2026, 6, 1, 12, tzinfo=dt.UTC)
DIGITIZED = {
    BASE.DateTimeDigitized: "2026:06:01 14:00:00",
    BASE.OffsetTimeDigitized: "+02:00",
}
CLOCK = camera("2026:06:01 07:00:00", "-05:00")


def read(data, name="photos/IMG_1234.jpg"):
    """The part of one photo, and its mark."""
    part = read_photo(data, name=name, kinds=KINDS, zone=CHICAGO)
    (mark,) = part.marks.to_dict("records")
    return part, mark


def test_a_photo_is_a_mark_with_place_time_words_and_its_name() -> None:
    """From JPEG; the accuracy is the one that the device reports."""
    gps = PLACE | {GPS.GPSHPositioningError: 4.5, GPS.GPSMapDatum: "WGS-84"}
    part, mark = read(jpeg({BASE.ImageDescription: "water valve, 8 in"}, CLOCK, gps))

    assert (mark["kind"], mark["size"], mark["words"]) == ("WV", "8 in", "water valve, 8 in")
    assert (mark["lat_deg"], mark["lon_deg"]) == pytest.approx((41.43, -100.87), abs=1e-12)
    assert (mark["time_utc"], mark["accuracy_m"]) == (NOON, 4.5)
    assert (mark["photo"], mark["method"], mark["drive_id"]) == (
        "photos/IMG_1234.jpg", "vehicle", "",
    )  # fmt: skip
    assert (part.source.what, part.source.taken, part.findings) == ("photo", {"photos": 1}, ())


def test_a_photo_in_heic_is_read_alike() -> None:
    """The format that phones write."""
    _, mark = read(HEIC, "x.heic")

    assert (mark["kind"], mark["across"]) == ("MH", "outer wheel path")
    assert (mark["lat_deg"], mark["lon_deg"]) == pytest.approx((41.43, -100.87), abs=1e-12)
    assert (mark["time_utc"], mark["accuracy_m"]) == (NOON, 4.5)


@pytest.mark.parametrize(
    ("exif", "gps", "texts"),
    [
        (CLOCK, satellite("2026:06:01", 12, 0, 3), []),
        (camera("2026:06:01 07:00:00"), satellite("2026:06:01", 12, 0, 3), ["note"]),
        (camera("2026:06:01 07:00:00"), satellite("2026:06:02", 12, 0, 3), ["note", "note"]),
        (camera("2026:06:01 07:00:00"), satellite("2026:05:31", 12, 0, 3), ["note", "note"]),
        (camera("2026:06:01 07:00:00"), {}, ["note"]),
        ({}, satellite("2026:06:01", 12, 0, 0), []),
        (DIGITIZED, {}, []),
        (camera("2026:06:01 07:03:00"), satellite("2026:06:01", 12, 0, 0), ["note", "doubt"]),
        (CLOCK, {GPS.GPSTimeStamp: (12.0, 0.0, 3.0)}, []),
        (CLOCK, {GPS.GPSDateStamp: "2026:06:01"}, []),
        (CLOCK, satellite("2026:06:01", 12, 0, 0) | {GPS.GPSTimeStamp: (12.0, rational(0, 0), 0.0)},
         []),
    ],
)  # fmt: skip
def test_every_way_to_tell_the_time_tells_noon(
    exif: dict[int, object], gps: dict[int, object], texts: list[str]
) -> None:
    """Offset, satellite, the job's zone; what was reckoned or doubted is said."""
    part, mark = read(jpeg(exif=exif, gps=gps))

    assert mark["time_utc"] == NOON
    assert [finding.level for finding in part.findings] == texts


def test_fractions_of_the_second_count() -> None:
    """At 45 mph half a second is ten metres."""
    _, mark = read(jpeg(exif=CLOCK | {BASE.SubsecTimeOriginal: "5"}))

    assert mark["time_utc"] == NOON + dt.timedelta(milliseconds=500)


def test_a_photo_without_position_keeps_its_time() -> None:
    """So that it is placed on a drive; nothing is said about what is not there."""
    part, mark = read(jpeg({BASE.ImageDescription: "manhole"}, CLOCK))

    assert math.isnan(mark["lon_deg"])
    assert (mark["time_utc"], part.findings) == (NOON, ())


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({GPS.GPSLatitudeRef: None}, "is incomplete or off the globe"),
        ({GPS.GPSLongitudeRef: None}, "is incomplete or off the globe"),
        ({GPS.GPSLongitudeRef: "Q"}, "is incomplete or off the globe"),
        ({GPS.GPSLongitude: None}, "is incomplete or off the globe"),
        ({GPS.GPSLatitude: (41.0, 25.0, rational(0, 0))}, "is incomplete or off the globe"),
        ({GPS.GPSLatitude: (rational(1, 0), 25.0, 0.0)}, "is incomplete or off the globe"),
        ({GPS.GPSLatitude: (95.0, 0.0, 0.0)}, "is incomplete or off the globe"),
        ({GPS.GPSLatitude: (41.0, 25.0)}, "is incomplete or off the globe"),
        ({GPS.GPSLatitude: (0.0,) * 3, GPS.GPSLongitude: (0.0,) * 3}, "is 0, 0, which devices"),
        ({GPS.GPSStatus: "V"}, "is void by the device's own word"),
        ({GPS.GPSMapDatum: "TOKYO"}, "is in the datum 'TOKYO', not WGS 84"),
    ],
)
def test_a_position_that_cannot_be_used_is_said(change: dict[int, object], why: str) -> None:
    """No sign is guessed, and a degree without its minutes is no place."""
    gps = {key: value for key, value in (PLACE | change).items() if value is not None}
    part, mark = read(jpeg(exif=CLOCK, gps=gps))
    (finding,) = part.findings

    assert math.isnan(mark["lon_deg"])
    assert math.isnan(mark["lat_deg"])
    assert (finding.level, why in finding.text) == ("doubt", True)
    assert part.source.skipped == {"positions that cannot be used": 1}


def test_south_and_east_are_what_they_say() -> None:
    """A sign for the south, none for the east; small letters too."""
    gps = PLACE | {GPS.GPSLatitudeRef: "s", GPS.GPSLongitudeRef: "E"}
    _, mark = read(jpeg(gps=gps))

    assert (mark["lat_deg"], mark["lon_deg"]) == pytest.approx((-41.43, 100.87), abs=1e-12)


@pytest.mark.parametrize("error", [0.0, rational(1, 0), rational(0, 0)])
def test_an_accuracy_that_cannot_be_is_none(error: object) -> None:
    """Zero is what devices write when they do not know."""
    _, mark = read(jpeg(gps=PLACE | {GPS.GPSHPositioningError: error}))

    assert math.isnan(mark["accuracy_m"])


@pytest.mark.parametrize(
    ("comment", "words"),
    [
        (b"ASCII\0\0\0manhole\0", "manhole"),
        (b"\0\0\0\0\0\0\0\0manhole", "manhole"),
        (b"UNICODE\0" + "tapón".encode("utf-16-be"), "tapón"),
        (b"manhole by Pat", "manhole by Pat"),
        (b"ASCII\0\0\0caf\xc3\xa9", "café"),
        (b"ASCII\0\0\0caf\xe9", "café"),
        (b"ASCII\0\0\0\0\0\0", SILENT),
        (b"ASCII\0\0\0  -- ", SILENT),
        (b"", SILENT),
    ],
)
def test_a_comment_is_read_in_its_charset(comment: bytes, words: str) -> None:
    """Without letters it says nothing."""
    _, mark = read(jpeg(exif={BASE.UserComment: comment}))

    assert mark["words"] == words


def test_description_and_comment_are_both_kept() -> None:
    """The one that is understood says the kind."""
    data = jpeg({BASE.ImageDescription: "look here"}, {BASE.UserComment: b"ASCII\0\0\0manhole"})
    _, mark = read(data)

    assert (mark["kind"], mark["words"]) == ("MH", "look here; manhole")


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("manhole-3.jpg", "manhole 3"),
        ("a/water_valve outer wheel path.jpg", "water valve outer wheel path"),
        ("bad manhole at Pats.jpg", "bad manhole at Pats"),
        ("IMG_1234.JPG", SILENT),
        ("20260601_070000.jpg", SILENT),
        ("PXL-2026.jpg", SILENT),
        ("DSC00012.jpg", SILENT),
        ("photo 3.jpg", SILENT),
        ("73AF0C12-55B1-4C1E.jpg", SILENT),
        ("st.jpg", SILENT),
    ],
)
def test_a_file_s_name_counts_only_when_it_says_a_kind(name: str, words: str) -> None:
    """What cameras call photos are no words."""
    _, mark = read(jpeg(), name)

    assert mark["words"] == words


def test_damaged_tags_are_doubted_and_no_photo_is_refused() -> None:
    """A picture without its tags has neither place nor time."""
    whole = jpeg(exif=CLOCK, gps=PLACE)
    at = whole.index(b"Exif\0\0") + 6
    part, mark = read(whole[:at] + b"XXXX" + whole[at + 4 :])

    assert math.isnan(mark["lon_deg"])
    assert part.findings[0].text.startswith("its tags are damaged")
    with pytest.raises(ReadError, match=r"no\.jpg: is a photo that cannot be read"):
        read(b"\xff\xd8\xff", "no.jpg")
