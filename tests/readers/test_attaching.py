"""Photos that say nothing, and the marks that they are of."""

import datetime as dt
import zoneinfo

import pytest
from builders import BEGIN, KINDS, lonlat, mark
from hypothesis import given
from hypothesis import strategies as st
from readers.made_photos import BASE, GPS, camera, jpeg

from routeprep import tables
from routeprep.readers.attaching import PHOTO_JOINT, attach_photos
from routeprep.readers.parts import make_part, source
from routeprep.readers.photos import read_photo

UTC = zoneinfo.ZoneInfo("UTC")


def photo(name, *, after_s=None, x_m=None, words=""):
    """A photo taken so long after the begin, and so far east of the origin."""
    exif, gps = {}, {}
    if after_s is not None:
        exif = camera(f"{BEGIN + dt.timedelta(seconds=after_s):%Y:%m:%d %H:%M:%S}", "+00:00")
    if x_m is not None:
        lon_deg, lat_deg = lonlat(x_m, 0.0)
        gps = {
            GPS.GPSLatitudeRef: "N", GPS.GPSLatitude: (lat_deg, 0.0, 0.0),
            GPS.GPSLongitudeRef: "W", GPS.GPSLongitude: (-lon_deg, 0.0, 0.0),
        }  # fmt: skip
    main = {BASE.ImageDescription: words} if words else {}
    return read_photo(jpeg(main, exif, gps), name=name, kinds=KINDS, zone=UTC)


def marked(*marks, name="marks.csv"):
    """A part of marks, each its words, its seconds after the begin and its metres east."""
    rows = []
    for words, after_s, x_m in marks:
        time = None if after_s is None else BEGIN + dt.timedelta(seconds=after_s)
        lon_deg, lat_deg = (float("nan"),) * 2 if x_m is None else lonlat(x_m, 0.0)
        rows.append(
            mark(kind="MH", words=words, time_utc=time, lon_deg=lon_deg, lat_deg=lat_deg,
                 source=name)
        )  # fmt: skip
    came = source(b"", name=name, what="marks", taken={"marks": len(rows)}, skipped={})
    return make_part(came, marks=tables.table(tables.MARKS, rows))


def attached(*parts):
    """What the marks' photos are, by words, and the texts of the findings."""
    made, findings = attach_photos(parts)
    photos = {row["words"]: row["photo"] for part in made for row in tables.rows_of(part.marks)}
    return photos, [finding.text for finding in findings]


@pytest.mark.parametrize(
    ("after_s", "x_m", "of"),
    [
        (9, None, "a"),
        (31, None, "b"),
        (20, None, ""),
        (None, 4.0, "a"),
        (None, 295.0, "b"),
        (None, 150.0, ""),
        (3, 100.0, "a"),
        (500, 5.0, "a"),
        (3, 500.0, ""),
        (3, 300.0, "b"),
        (None, None, ""),
    ],
    ids=["just after", "near in time", "between", "near", "near the other", "far", "on the move",
         "later, near", "elsewhere then", "elsewhere then, near the other", "nothing known"],
)  # fmt: skip
def test_a_silent_photo_is_of_the_mark_made_near_it(
    after_s: int | None, x_m: float | None, of: str
) -> None:
    """In time, unless that mark was made far off at that moment; else in place."""
    photos, texts = attached(
        marked(("a", 0, 0.0), ("b", 40, 300.0)), photo("p.jpg", after_s=after_s, x_m=x_m)
    )

    assert photos == {"a": "", "b": ""} | ({of: "p.jpg"} if of else {})
    assert any("belong to nothing yet: 1 say nothing" in text for text in texts) == (of == "")


def test_a_mark_without_a_place_is_found_by_its_time_alone() -> None:
    """And one without a time by its place."""
    photos, _ = attached(
        marked(("timed", 0, None), ("placed", None, 300.0)),
        photo("p.jpg", after_s=2, x_m=50.0), photo("q.jpg", after_s=99, x_m=301.0),
    )  # fmt: skip

    assert photos == {"timed": "p.jpg", "placed": "q.jpg"}


def test_several_photos_of_one_mark_are_all_named() -> None:
    """A spoken photo is a mark, and a silent one may be of it."""
    photos, texts = attached(
        photo("1.jpg", after_s=0, words="manhole"), photo("3.jpg", after_s=2),
        photo("2.jpg", after_s=1),
    )  # fmt: skip

    assert photos == {"manhole": PHOTO_JOINT.join(["1.jpg", "2.jpg", "3.jpg"])}
    assert "2 photos without words are put to the mark" in texts[-1]


def test_many_silent_photos_are_one_finding() -> None:
    """The first ones with time and place; each says among its counts what became of it."""
    parts = [photo(f"{i:03}.jpg", after_s=100 + i, x_m=3.0) for i in range(30)]
    made, findings = attach_photos([*parts, marked(("a", 0, 900.0))])
    (loose,) = [one for one in findings if "belong to nothing" in one.text]

    assert sum(len(part.marks) for part in made) == 1
    assert loose.level == "doubt"
    assert "30 say nothing" in loose.text
    assert "000.jpg (2026-05-04 15:01:40 UTC; 41.43000, -100.86996)" in loose.text
    assert loose.text.endswith(" and 10 more")
    assert [dict(part.source.taken) for part in made][-1] == {
        "photos that belong to nothing yet": 1
    }


def test_words_that_the_camera_writes_into_every_photo_say_nothing() -> None:
    """Three photos or more with words of no kind; words of a kind are a person's."""
    own = [photo(f"{i}.jpg", after_s=i, words="CAMERA 12 MP") for i in range(3)]
    said = [photo(f"m{i}.jpg", after_s=60 * i, words="manhole") for i in range(4, 8)]
    two = [photo(f"t{i}.jpg", after_s=600 * i, words="odd words") for i in range(1, 3)]
    photos, texts = attached(*own, *said, *two)

    assert set(photos) == {"manhole", "odd words"}
    assert any("the words 'CAMERA 12 MP' stand in 3 photos or more" in text for text in texts)


def test_what_is_said_of_many_photos_is_said_once() -> None:
    """With the first of them; the rest of the parts keep their own."""
    parts = [
        read_photo(jpeg(exif=camera("2026:06:01 07:00:00")), name=f"{i}.jpg", kinds=KINDS, zone=UTC)
        for i in range(3)
    ]
    made, findings = attach_photos(parts)

    assert [one.where for one in findings if "UTC, is taken" in one.text] == [
        "0.jpg and 2 more photos"
    ]
    assert [part.findings for part in made] == [()] * 3


def test_without_photos_nothing_changes() -> None:
    """The same parts, and nothing to say."""
    part = marked(("a", 0, 0.0))

    assert attach_photos([part]) == ([part], [])
    assert attach_photos([]) == ([], [])


FIVE = (
    marked(("a", 0, 0.0)),
    photo("1.jpg", after_s=1),
    photo("2.jpg", after_s=2),
    photo("3.jpg", after_s=300),
    photo("4.jpg", after_s=5, words="manhole"),
)


@given(st.permutations(range(5)))
def test_the_order_of_files_does_not_matter(order: list[int]) -> None:
    """The same marks get the same photos."""
    photos, texts = attached(*(FIVE[at] for at in order))

    assert photos == {"a": "1.jpg | 2.jpg", "manhole": "4.jpg"}
    assert len(texts) == 2
