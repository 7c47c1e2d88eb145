"""GPX files: what is taken, what is skipped and why, and what is refused."""

import datetime as dt
import itertools
from pathlib import Path

import gpxpy
import numpy as np
import pytest
from builders import KINDS
from gpxpy.gpx import GPX, GPXTrack, GPXTrackPoint, GPXTrackSegment, GPXWaypoint
from hypothesis import given
from hypothesis import strategies as st

from routeprep.errors import ReadError
from routeprep.readers.gpx import read_gpx

DATA = Path(__file__).parent.parent / "data"
HEAD = '<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1">'
TRACK = "<trk><trkseg>{}</trkseg></trk>"


def read(text, name="drive.gpx"):
    """A part from GPX text."""
    return read_gpx(text.encode(), name=name, kinds=KINDS)


def fault(name):
    """A part from one of the tiny files that each hold one fault."""
    return read_gpx((DATA / name).read_bytes(), name=name, kinds=KINDS)


def waypoint(texts="<name>manhole</name>", time="2026-06-01T12:00:30Z"):
    """A waypoint as text."""
    when = f"<time>{time}</time>" if time else ""
    return f'<wpt lat="41.43" lon="-100.87">{when}{texts}</wpt>'


def fixes(*minutes):
    """Track points at minutes past noon, as text."""
    return "".join(
        f'<trkpt lat="41.43" lon="-100.{870000 + i}">'
        f"<time>2026-06-01T12:{minute:02d}:00Z</time></trkpt>"
        for i, minute in enumerate(minutes)
    )


def known(column):
    """The values of a column, None where there is none."""
    return [None if missing else one for one, missing in zip(column, column.isna(), strict=True)]


def doubts(part):
    """What the part's doubts say."""
    return [finding.text for finding in part.findings if finding.level == "doubt"]


def test_a_track_becomes_a_drive_with_all_its_columns() -> None:
    """Elevation, accuracy, author and the name of the track arrive, whatever the prefix is."""
    part = fault("own_prefix.gpx")
    (row,) = part.fixes.to_dict("records")
    drive_id = row.pop("drive_id")

    assert (row["lon_deg"], row["lat_deg"], row["ele_m"], row["accuracy_m"]) == (
        -100.87, 41.43, 880.5, 4.5,
    )  # fmt: skip
    assert part.drive_names == {drive_id: "own_prefix.gpx: up"}
    assert part.drive_by == {drive_id: "invented driver"}


def test_each_segment_is_a_piece_and_each_track_a_drive() -> None:
    """Two segments of one track count up; another track is another drive."""
    first = "<trk><trkseg>" + fixes(0, 1) + "</trkseg><trkseg>" + fixes(2) + "</trkseg></trk>"
    part = read(HEAD + first + TRACK.format(fixes(9)) + "</gpx>")

    assert part.fixes["piece"].tolist() == [0, 0, 1, 0]
    assert part.fixes["drive_id"].nunique() == 2
    assert list(part.drive_names.values()) == ["drive.gpx: track 1", "drive.gpx: track 2"]
    assert part.source.taken == {"fixes": 4, "tracks": 2}


OURS = 'xmlns:field="urn:routeprep:field"'


@pytest.mark.parametrize(
    ("namespace", "expected"),
    [
        (OURS, ("A", "11+52", "6 ft RT", "wheeled")),
        ('xmlns:field="urn:another"', ("", "", "", "vehicle")),
    ],
)
def test_what_the_drive_page_writes_of_a_walk_is_read_and_others_words_are_not(
    namespace, expected
) -> None:
    """Leg, station, offset and how it was measured stand in a namespace of our own."""
    values = {"leg": "A", "station": "11+52", "offset": "6 ft RT", "method": "wheeled"}
    told = "".join(f"<field:{k} {namespace}>{v}</field:{k}>" for k, v in values.items())
    (mark,) = read(f"{HEAD}{waypoint(told)}</gpx>").marks.to_dict("records")
    columns = ("said_leg", "said_station", "said_offset", "method")

    assert tuple(mark[name] for name in columns) == expected


def test_a_way_of_measuring_that_nobody_knows_is_a_vehicles() -> None:
    """A file that was changed by hand says nothing that the list would then be held to."""
    told = f"<field:method {OURS}>surveyed</field:method>"
    (mark,) = read(f"{HEAD}{waypoint(told)}</gpx>").marks.to_dict("records")

    assert mark["method"] == "vehicle"


def test_speed_and_course_are_read_and_hdop_is_no_accuracy() -> None:
    """GPX 1.0 has speed and course; hdop stays out of the metres, and is said once."""
    part = fault("hdop_is_no_accuracy.gpx")

    assert part.fixes["speed_mps"].tolist()[0] == 12.5
    assert part.fixes["course_deg"].tolist()[0] == 359.5
    assert part.fixes["accuracy_m"].isna().all()
    assert list(part.drive_by.values()) == ["invented passenger"]
    assert sum("hdop" in finding.text for finding in part.findings) == 1


def test_values_that_cannot_be_are_left_empty_and_counted() -> None:
    """A word for an elevation, a negative speed and a course of 361 are not used."""
    part = fault("hdop_is_no_accuracy.gpx")
    values = part.fixes[["ele_m", "speed_mps", "course_deg"]].to_numpy()[1]

    assert np.isnan(values).all()
    assert part.source.skipped == {
        "course values that cannot be": 1,
        "ele values that cannot be": 1,
        "speed values that cannot be": 1,
    }


def test_coordinates_that_cannot_be_are_skipped_with_count_and_reason() -> None:
    """Missing, undefined, comma, NaN, infinite and out of range: none becomes a fix."""
    part = fault("coordinates_that_cannot_be.gpx")

    assert part.fixes[["lon_deg", "lat_deg"]].to_numpy().tolist() == [[-100.87, 41.43], [180, -90]]
    assert part.source.skipped == {
        "fixes off the globe": 4,
        "fixes without coordinates": 3,
        "waypoints without coordinates": 1,
    }
    assert any("line 6: lat 'undefined', lon 'undefined'" in text for text in doubts(part))


def test_odd_times_are_read_as_utc_or_left_out() -> None:
    """Fractions and offsets are read, no zone is UTC, and what cannot be is no time."""
    part = fault("odd_times.gpx")
    noon = dt.datetime(2026, 6, 1, 12, tzinfo=dt.UTC)

    assert (
        known(part.fixes["time_utc"])
        == [noon + dt.timedelta(seconds=s) for s in (0, 1.25, 2, 3)] + [None] * 5
    )
    assert part.source.skipped == {"times outside 1980-2100": 2, "times unreadable": 2}
    assert any("taken as UTC (1 of them)" in finding.text for finding in part.findings)


def test_a_cut_off_log_keeps_what_came_before_and_says_so() -> None:
    """The two whole points stay; the place of the cut is a doubt."""
    part = fault("cut_off_log.gpx")

    assert len(part.fixes) == 2
    assert len(doubts(part)) == 1
    assert "line 6" in doubts(part)[0]
    assert "2 fixes and 0 waypoints" in doubts(part)[0]


def test_cutting_anywhere_keeps_every_whole_point() -> None:
    """At every byte: an error of ours, or all points whose end tag was read."""
    data = (HEAD + waypoint() + TRACK.format(fixes(0, 1, 2)) + "</gpx>").encode()
    for cut in range(len(data)):
        kept = data[:cut]
        whole = kept.count(b"</trkpt>"), kept.count(b"</wpt>")
        if whole == (0, 0):
            with pytest.raises(ReadError, match="nothing usable"):
                read_gpx(kept, name="cut.gpx", kinds=KINDS)
        else:
            part = read_gpx(kept, name="cut.gpx", kinds=KINDS)

            assert (len(part.fixes), len(part.marks)) == whole
            assert "breaks off" in doubts(part)[0]


def test_bytes_of_nothing_after_the_end_lose_nothing() -> None:
    """A log padded with zeros, as after a crash, keeps its points."""
    data = (HEAD + TRACK.format(fixes(0, 1)) + "</gpx>").encode() + b"\0" * 64

    assert len(read_gpx(data, name="padded.gpx", kinds=KINDS).fixes) == 2


@pytest.mark.parametrize(
    ("name", "sentence"),
    [
        ("kml_named_gpx.gpx", "kml_named_gpx.gpx: is a KML file, not GPX"),
        ("document_type.gpx", "line 2: declares the document type 'gpx'"),
    ],
)
def test_what_is_no_plain_gpx_is_refused(name: str, sentence: str) -> None:
    """Another format under the name of GPX, and anything that could define entities."""
    with pytest.raises(ReadError, match=sentence):
        fault(name)


@pytest.mark.parametrize(
    "encoding", ["x-unknown", "gb2312", "idna", "utf-7"], ids=lambda name: f"encoding {name}"
)
def test_an_encoding_that_cannot_be_read_is_refused(encoding: str) -> None:
    """Encodings that the parser does not know give our error with its cause."""
    text = f'<?xml version="1.0" encoding="{encoding}"?>{HEAD}</gpx>'
    with pytest.raises(ReadError, match=r"drive\.gpx: (is not GPX that can be read|holds neither)"):
        read(text)


def test_an_empty_file_is_refused() -> None:
    """No bytes at all are no GPX; the parser's own error is the cause."""
    with pytest.raises(ReadError, match="no element found") as caught:
        read("")

    assert caught.value.__cause__ is not None


def test_a_file_with_nothing_in_it_is_refused() -> None:
    """Neither fix nor waypoint is one sentence."""
    with pytest.raises(ReadError, match="neither a fix nor a waypoint"):
        read(HEAD + TRACK.format("") + "</gpx>")


def test_a_planned_route_alone_is_taken_without_times_and_said() -> None:
    """Without any track the route is the path; its times are no times of a drive."""
    part = fault("planned_route_only.gpx")

    assert len(part.fixes) == 2
    assert part.fixes["time_utc"].isna().all()
    assert part.source.taken == {"route points as fixes": 2}
    assert "planned route" in doubts(part)[0]


def test_a_planned_route_beside_a_track_is_not_used() -> None:
    """What was driven counts, and the route is counted as skipped."""
    route = '<rte><rtept lat="1" lon="1"/></rte>'
    part = read(HEAD + route + TRACK.format(fixes(0)) + "</gpx>")

    assert len(part.fixes) == 1
    assert part.source.skipped == {"route points": 1}


def test_a_waypoint_is_a_mark_as_driven_from_a_vehicle() -> None:
    """Words are read through the kinds; method, frame, person, time and source are filled."""
    head = HEAD + "<metadata><author><name>invented driver</name></author></metadata>"
    part = read(head + waypoint("<name>sewer manhole outer wheel path 24 in</name>") + "</gpx>")
    (mark,) = part.marks.to_dict("records")

    assert (mark["kind"], mark["across"], mark["size"]) == ("SMH", "outer wheel path", "24 in")
    assert (mark["method"], mark["across_frame"]) == ("vehicle", "as driven")
    assert (mark["by"], mark["source"]) == ("invented driver", "drive.gpx")
    assert mark["time_utc"] == dt.datetime(2026, 6, 1, 12, 0, 30, tzinfo=dt.UTC)


@pytest.mark.parametrize(
    ("texts", "kind", "words"),
    [
        ("<name>manhole</name>", "MH", "manhole"),
        ("<name>WP 12</name><desc>manhole</desc>", "MH", "WP 12; manhole"),
        ("<name>WP 12</name><cmt>manhole</cmt>", "MH", "WP 12; manhole"),
        ("<name>WP 12</name><cmt>lunch</cmt><desc>lunch</desc>", "", "WP 12; lunch"),
        ("<name>manhole</name><desc>24 in</desc>", "MH", "manhole; 24 in"),
        ("", "", ""),
    ],
)
def test_name_then_description_then_comment_are_heard(texts: str, kind: str, words: str) -> None:
    """The first text that is understood counts, and all of them are kept."""
    (mark,) = read(HEAD + waypoint(texts) + "</gpx>").marks.to_dict("records")

    assert (mark["kind"], mark["words"]) == (kind, words)


def test_name_and_description_are_heard_together() -> None:
    """Words that only make sense together are understood."""
    part = read(HEAD + waypoint("<name>wheel path</name><desc>low wire</desc>") + "</gpx>")

    assert part.marks["words"].tolist() == ["wheel path; low wire"]


@pytest.mark.parametrize(
    ("time", "track"),
    [
        ("2026-06-01T12:00:30Z", 0),
        ("2026-06-01T11:59:00Z", 0),
        ("2026-06-01T11:58:59Z", None),
        ("2026-06-01T12:10:30Z", 1),
        ("2026-06-01T12:05:00Z", None),
        ("", None),
    ],
)
def test_a_mark_belongs_to_the_track_whose_times_hold_it(time: str, track: int | None) -> None:
    """A minute of room at either end; a time that no track holds belongs to none."""
    tracks = TRACK.format(fixes(0, 1)) + TRACK.format(fixes(10, 11))
    part = read(HEAD + waypoint(time=time) + tracks + "</gpx>")
    ids = list(part.drive_names)

    assert part.marks["drive_id"].tolist() == ["" if track is None else ids[track]]


@pytest.mark.parametrize("name", ["track_without_times.gpx"])
def test_the_only_track_takes_marks_where_times_are_missing(name: str) -> None:
    """With one track and no times there is no other that the mark could be of."""
    part = fault(name)

    assert part.marks["drive_id"].tolist() == list(part.drive_names)
    assert part.fixes["time_utc"].isna().all()


def test_ids_say_what_a_thing_is_and_not_its_file() -> None:
    """Saved again under another name with one more waypoint: the same ids."""
    track = TRACK.format(fixes(0, 1))
    before = read(HEAD + waypoint() + track + "</gpx>", name="a.gpx")
    after = read(
        HEAD + waypoint("<name>lunch</name>") + waypoint() + track + "</gpx>", name="b.gpx"
    )

    assert set(before.marks["mark_id"]) < set(after.marks["mark_id"])
    assert list(before.drive_names) == list(after.drive_names)


def test_points_that_stand_in_no_track_are_a_drive_without_a_name() -> None:
    """A broken tag around them (found by broken files, seed 101): no fix is lost."""
    part = read(f"<gpx><trkz><name>up</name><trkseg>{fixes(0, 1)}</trkseg></trkz></gpx>")

    assert list(part.drive_names.values()) == ["drive.gpx"]
    assert len(part.fixes) == 2


def test_deep_nesting_is_read_past() -> None:
    """A hundred thousand nested elements beside the track cost no stack."""
    deep = "<extensions>" + "<a>" * 100_000 + "</a>" * 100_000 + "</extensions>"

    assert len(read(HEAD + deep + TRACK.format(fixes(0)) + "</gpx>").fixes) == 1


times = st.datetimes(
    min_value=dt.datetime(1980, 1, 2),  # noqa: DTZ001 - the zone is given beside it
    max_value=dt.datetime(2100, 12, 30),  # noqa: DTZ001
    timezones=st.just(dt.UTC),
)
points = st.builds(
    GPXTrackPoint,
    latitude=st.floats(-90, 90),
    longitude=st.floats(-180, 180),
    elevation=st.none() | st.floats(-400, 9000),
    time=st.none() | times,
)


@given(st.lists(st.lists(st.lists(points, max_size=3), max_size=3), min_size=1, max_size=3))
def test_what_is_written_is_read_back(tracks: list[list[list[GPXTrackPoint]]]) -> None:
    """Random tracks written by another library come back: counts, places, times and pieces."""
    flat = [point for track in tracks for segment in track for point in segment]
    written = GPX()
    written.waypoints.append(GPXWaypoint(1.0, 2.0, name="manhole"))
    for track in tracks:
        segments = [GPXTrackSegment(points=segment) for segment in track]
        written.tracks.append(GPXTrack())
        written.tracks[-1].segments.extend(segments)
    part = read(written.to_xml())
    again = gpxpy.parse(written.to_xml())
    read_back = list(itertools.chain(*(s.points for t in again.tracks for s in t.segments)))

    assert len(part.fixes) == len(flat) == len(read_back)
    assert part.fixes["lon_deg"].tolist() == [point.longitude for point in read_back]
    assert part.fixes["lat_deg"].tolist() == [point.latitude for point in read_back]
    assert known(part.fixes["ele_m"]) == [point.elevation for point in read_back]
    assert known(part.fixes["time_utc"]) == [point.time for point in read_back]
    assert part.fixes["piece"].tolist() == [
        piece for track in tracks for piece, segment in enumerate(track) for _ in segment
    ]


def test_swapped_coordinates_are_said_to_look_so() -> None:
    """Nobody swaps them back unasked."""
    text = (
        b'<gpx><wpt lat="41.43" lon="-100.87"/><trk><trkseg><trkpt lat="-100.87" lon="41.43"/>'
        b"</trkseg></trk></gpx>"
    )
    (finding, *_) = read_gpx(text, name="x.gpx", kinds=KINDS).findings

    assert "1 fixes off the globe, the first at line 1: lat '-100.87', lon '41.43'" in finding.text
    assert "(latitude and longitude look swapped)" in finding.text


def test_a_speed_that_cannot_be_is_named_and_not_used() -> None:
    """1,000 m/s on a road; the place is kept."""
    text = (
        b'<gpx><trk><trkseg><trkpt lat="41" lon="-100"><speed>1000</speed></trkpt>'
        b'<trkpt lat="41" lon="-100"><speed>30</speed></trkpt></trkseg></trk></gpx>'
    )
    part = read_gpx(text, name="x.gpx", kinds=KINDS)

    assert part.fixes["speed_mps"].isna().tolist() == [True, False]
    assert part.source.skipped == {"speed values that cannot be": 1}
