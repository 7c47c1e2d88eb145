"""Logs of fixes as tables: columns and units, rows that are no fix, and what is refused."""

import datetime as dt
import math
import zoneinfo
from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routeprep.errors import ReadError
from routeprep.readers.fixtable import read_fixes_csv

CHICAGO = zoneinfo.ZoneInfo("America/Chicago")
HEAD = "time_utc,lat,lon\n"


def read(text, encoding="utf-8"):
    """A part from the text of a log."""
    return read_fixes_csv(text.encode(encoding), name="log.csv", zone=CHICAGO)


def texts(part, level="doubt"):
    """What the part's findings of a level say."""
    return [one.text for one in part.findings if one.level == level]


def test_a_log_is_one_drive_with_its_numbers_in_metres() -> None:
    """Units stand in the names of the columns."""
    part = read(
        "Time UTC,Latitude (WGS84),Longitude (WGS84),Altitude (ft),Speed (mph),Heading,Accuracy m\n"
        "2026-06-01T12:00:00,41.43,-100.87,1000,60,359.5,4.5\n"
        "2026-06-01T12:00:01,41.44,-100.87,,,,\n"
    )
    first, second = part.fixes.to_dict("records")

    assert (first["lat_deg"], first["lon_deg"]) == (41.43, -100.87)
    assert first["time_utc"] == dt.datetime(2026, 6, 1, 12, tzinfo=dt.UTC)
    assert (first["ele_m"], first["speed_mps"]) == pytest.approx((304.8, 26.8224))
    assert (first["course_deg"], first["accuracy_m"]) == (359.5, 4.5)
    assert math.isnan(second["ele_m"] + second["speed_mps"] + second["course_deg"])
    assert list(part.drive_names.values()) == ["log.csv"]
    assert (part.source.what, part.source.taken) == ("drive", {"fixes": 2})
    assert part.findings == ()


@pytest.mark.parametrize(
    ("column", "mps"),
    [("speed_mps", 36.0), ("Speed (m/s)", 36.0), ("Speed km/h", 10.0), ("speed kph", 10.0),
     ("GPS speed mph", 16.09344), ("speed (knots)", 18.52)],
)  # fmt: skip
def test_speeds_are_read_in_their_units(column: str, mps: float) -> None:
    """Exact by the definitions of mile and knot."""
    part = read(f"lat,lon,{column}\n1,2,36\n")

    assert part.fixes["speed_mps"].tolist() == pytest.approx([mps])


def test_numbers_without_a_unit_are_not_used() -> None:
    """The columns are named, with how to name them."""
    part = read("lat,lon,speed,altitude\n1,2,36,100\n")

    assert part.fixes[["speed_mps", "ele_m"]].isna().all(axis=None)
    assert "columns 'speed', 'altitude' say no unit and are not used" in texts(part)[0]


def test_a_spreadsheet_s_log_is_read() -> None:
    """Titles, semicolons, decimal commas, the date in a column of its own, unknown columns."""
    part = read(
        "sep=;\nInvented log;;;\nDate;Time;Lat;Lon;Ele m;Battery\n"
        "14.05.2026;14:30:00;41,43;-100,87;1.240,5;90\n"
    )
    (row,) = part.fixes.to_dict("records")

    assert row["time_utc"] == dt.datetime(2026, 5, 14, 14, 30, tzinfo=dt.UTC)
    assert (row["lat_deg"], row["lon_deg"], row["ele_m"]) == (41.43, -100.87, 1240.5)
    assert texts(part, "note") == [
        "rows above the header are not used: 'Invented log'",
        "columns 'Battery' are not understood and not used",
    ]
    (doubt,) = texts(part)
    assert doubt.startswith("times without zone are taken as UTC (1 of them); name their column")


def test_an_older_encoding_is_a_doubt() -> None:
    """It was taken for granted."""
    assert "Windows-1252" in texts(read("lat,lon,caf\xe9\n1,2,3\n", "cp1252"))[0]


def test_rows_that_are_no_fix_are_counted_and_the_first_is_named() -> None:
    """No coordinates, off the globe, at nought, too wide."""
    part = read(HEAD + ",41,-100\n,north,2\n,95,2\n,96,2\n,0,0\n,1,2,3\n")

    assert part.source.skipped == {
        "rows without coordinates": 1,
        "rows off the globe": 2,
        "rows at 0, 0": 1,
        "rows with more cells than columns": 1,
    }
    assert any(
        text.startswith("2 rows off the globe; left out, the first in row 4: latitude '95'")
        for text in texts(part)
    )


def test_times_and_numbers_that_cannot_be_used_are_said() -> None:
    """The fixes are kept without them."""
    head = "time,lat,lon,accuracy_m,course,ele_m\n"
    part = read(head + "noon,1,2,-1,400,low\n1234-01-01T00:00Z,1,2,,,\n")
    kept = "those fixes are kept without, the first in row 2:"

    assert part.fixes["time_utc"].isna().all()
    assert part.fixes[["accuracy_m", "course_deg", "ele_m"]].isna().all(axis=None)
    assert texts(part) == [
        f"3 numbers that cannot be used; {kept} ele 'low'",
        f"2 unreadable times; {kept} 'noon'",
    ]


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "log.csv: is empty"),
        (
            "x,y\n1,2\n",
            r"no columns of latitude and longitude among 'x', 'y' \(first rows: 1 \| 2\)",
        ),
        ("lat,lon\n-100,41\n-101,42\n", r"first latitude is -100\.0 .* they are swapped"),
        ("lat,lon\n95,200\n", "no row with a place .1 rows off the globe, the first in row 2"),
        ("lat,lon\n", r"no row with a place \(no rows\)"),
        ("lat,latitude,lon\n1,1,1\n", "both say lat"),
    ],
)
def test_what_is_no_log_is_refused(text: str, sentence: str) -> None:
    """One sentence, with what was found."""
    with pytest.raises(ReadError, match=sentence):
        read(text)


def test_a_copy_under_another_name_is_the_same_drive() -> None:
    """Ids say what a thing is."""
    data = (HEAD + "2026-06-01T12:00:00,41,-100\n").encode()
    one, other = (read_fixes_csv(data, name=name, zone=CHICAGO) for name in ("a.csv", "b.csv"))

    assert list(one.drive_names) == list(other.drive_names)


@given(
    st.lists(
        st.tuples(st.floats(-90, 90), st.floats(-180, 180), st.floats(0, 90)),
        min_size=1,
        max_size=9,
    )
)
def test_what_was_written_is_read_back(rows: list[tuple[float, float, float]]) -> None:
    """To the last digit, but for places at nought."""
    text = "".join(f"{lat!r},{lon!r},{speed!r}\n" for lat, lon, speed in rows)
    kept = [row for row in rows if row[:2] != (0.0, 0.0)]
    with suppress(ReadError):
        part = read("lat,lon,speed_mps\n" + text)

        assert part.fixes[["lat_deg", "lon_deg"]].to_numpy().tolist() == [
            [lat, lon] for lat, lon, _ in kept
        ]


@given(st.binary(max_size=200))
def test_no_bytes_break_the_reading(data: bytes) -> None:
    """Any bytes are a log or an error of ours."""
    with suppress(ReadError):
        read_fixes_csv(b"lat,lon,time,speed_mph\n" + data, name="log.csv", zone=CHICAGO)


def test_a_column_of_local_times_is_of_the_job_s_zone() -> None:
    """In May five hours behind UTC, and nothing is to be doubted."""
    part = read("time_local,lat,lon\n2026-05-04 10:01:00,41.43,-100.87\n")

    assert part.fixes["time_utc"][0].isoformat() == "2026-05-04T15:01:00+00:00"
    assert part.findings == ()
