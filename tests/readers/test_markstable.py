"""Tables of marks: rows taken, rows skipped, cells kept."""

import datetime as dt
import json
import math
import zoneinfo
from pathlib import Path

import pytest
from builders import KINDS
from hypothesis import given
from hypothesis import strategies as st

from routeprep.errors import ReadError
from routeprep.readers.markstable import read_marks_csv, read_marks_points

CHICAGO = zoneinfo.ZoneInfo("America/Chicago")
FAULTS = Path(__file__).parent.parent / "data" / "marks_with_bad_rows.csv"


def read(text):
    """A part from CSV text."""
    return read_marks_csv(text.encode(), name="marks.csv", kinds=KINDS, zone=CHICAGO)


def points(*features):
    """A part from points with properties."""
    made = [
        {"type": "Feature", "properties": properties,
         "geometry": place and {"type": "Point", "coordinates": place}}
        for place, properties in features
    ]  # fmt: skip
    data = json.dumps({"type": "FeatureCollection", "features": made}).encode()
    return read_marks_points(data, name="marks.geojson", kinds=KINDS, zone=CHICAGO)


def test_bad_rows_are_skipped_with_their_number_and_reason() -> None:
    """Places that cannot be and rows that are too wide, counted and named."""
    part = read_marks_csv(FAULTS.read_bytes(), name="marks.csv", kinds=KINDS, zone=CHICAGO)
    (left_out,) = [one.text for one in part.findings if one.text.startswith("rows left out")]

    assert part.source.taken == {"marks": 6}
    assert part.source.skipped == {
        "rows off the globe": 1,
        "rows with more cells than columns": 1,
    }
    assert all(f"row {number} (" in left_out for number in (7, 8))


def test_rows_with_a_time_but_no_place_are_marks_to_be_placed_by_time() -> None:
    """Their place is not known here; coordinates that are none are said."""
    part = read_marks_csv(FAULTS.read_bytes(), name="marks.csv", kinds=KINDS, zone=CHICAGO)
    (odd,) = [one.text for one in part.findings if one.text.startswith("cells that cannot")]

    assert part.marks["lon_deg"].isna().tolist()[2:4] == [True, True]
    assert part.marks["time_utc"].notna().tolist()[2:4] == [True, True]
    assert "are no place" in odd


def test_rows_with_neither_place_nor_time_nor_station_are_skipped() -> None:
    """Nothing could ever place them."""
    part = read("lat,lon,what\n,,manhole\n41.43,-100.87,manhole\n")

    assert part.source.taken == {"marks": 1}
    assert part.source.skipped == {"rows without coordinates, time or station": 1}


def test_cells_that_cannot_be_used_are_said_and_kept_in_the_note() -> None:
    """A direction across, a length without unit and a time that are not understood."""
    part = read_marks_csv(FAULTS.read_bytes(), name="marks.csv", kinds=KINDS, zone=CHICAGO)
    (odd,) = [one.text for one in part.findings if one.text.startswith("cells that cannot")]

    assert part.marks["note"].tolist()[4] == "across: sideways; accuracy: 7; time: noon"
    assert "row 6, accuracy '7' is no length with a unit" in odd


def test_unknown_columns_are_said() -> None:
    """A column that is not understood is not used, and that is a note."""
    part = read_marks_csv(FAULTS.read_bytes(), name="marks.csv", kinds=KINDS, zone=CHICAGO)

    assert "columns 'colour' are not understood" in part.findings[0].text


def test_every_column_is_understood_by_its_plain_name() -> None:
    """One row with all columns filled."""
    (mark,) = read(
        "Time UTC;Latitude;Lng;Kind;Words;Across;Across frame;Size (in);Method;Note;Who;Station;"
        "Offset ft;Height;Height by;Accuracy m\n"
        "2026-06-01T12:00:00;41,43;-100,87;MH;rattles;curb or edge;Up-Station;24;taped;near gate;"
        "invented;12+34;4;14.5 ft;posted;0,5 m\n".replace("0,5 m", "0.5")
    ).marks.to_dict("records")

    assert (mark["lat_deg"], mark["lon_deg"], mark["accuracy_m"]) == (41.43, -100.87, 0.5)
    assert (mark["kind"], mark["words"], mark["note"]) == (
        "MH",
        "MH; rattles",
        "rattles; near gate",
    )
    assert (mark["across"], mark["across_frame"]) == ("curb or edge", "up-station")
    assert (mark["size"], mark["method"], mark["by"]) == ("24 in", "taped", "invented")
    assert (mark["said_station"], mark["said_offset"]) == ("12+34", "4 ft")
    assert (mark["height_m"], mark["height_by"]) == (pytest.approx(4.4196), "posted")
    assert mark["time_utc"] == dt.datetime(2026, 6, 1, 12, tzinfo=dt.UTC)


@pytest.mark.parametrize(
    ("kind", "words", "code"),
    [
        ("water valve", "", "WV"),
        ("", "water valve outer wheel path", "WV"),
        ("MH", "sewer manhole", "MH"),
        ("MH", "beside the church", "MH"),
        ("water valve", "manhole", ""),
        ("thingamajig", "manhole", "MH"),
        ("thingamajig", "whatsit", ""),
    ],
)
def test_kind_and_words_agree_or_are_not_understood(kind: str, words: str, code: str) -> None:
    """The column of kinds rules; what contradicts it goes to be sorted."""
    part = read(f"lat,lon,kind,words\n41.43,-100.87,{kind},{words}\n")

    assert part.marks["kind"].tolist() == [code]


def test_a_height_without_a_source_is_a_guess() -> None:
    """Nobody said that it was measured."""
    part = read("lat,lon,what,height_ft\n41.43,-100.87,low wire,14\n")

    assert part.marks["height_by"].tolist() == ["guess"]


def test_across_is_understood_in_other_words() -> None:
    """Short words for where across are read as the kinds read them."""
    part = read("lat,lon,kind,across\n41.43,-100.87,MH,OWP\n")

    assert part.marks["across"].tolist() == ["outer wheel path"]


def test_a_method_that_is_not_known_is_the_weakest() -> None:
    """It counts as seen from a vehicle, and what was written is kept."""
    part = read("lat,lon,kind,method\n41.43,-100.87,MH,by drone\n")

    assert part.marks["method"].tolist() == ["vehicle"]
    assert part.marks["note"].tolist() == ["method: by drone"]


def test_times_in_a_column_called_utc_need_no_zone() -> None:
    """The column says it; another column's times without zone are noted."""
    row = "\n2026-06-01T12:00:00,41.43,-100.87,manhole\n"

    assert read("time_utc,lat,lon,what" + row).findings == ()
    assert "taken as America/Chicago" in read("time,lat,lon,what" + row).findings[0].text


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (
            "x,y,what\n1,2,manhole\n",
            r"no columns of latitude .* 'x', 'y', 'what' \(first rows: 1 \| 2",
        ),
        ("lat,what\n", r"no columns of latitude .* \(first rows: none\)"),
        ("lat,latitude,lon\n1,1,2\n", "columns 'lat' and 'latitude' both say lat"),
        (
            "Sta.,what\n12+40,manhole\n",
            r"says stations, and no column method .* 'Sta\.', 'what' \(first rows: 12\+40 \| man",
        ),
        (
            "lat,lon,what\n-100.87,41.43,MH\n,,MH\n",
            r"row 2 is at latitude -100\.87, longitude 41\.43, and so are all: .* swapped",
        ),
    ],
)
def test_tables_without_one_place_are_refused(text: str, sentence: str) -> None:
    """The sentence shows the columns that were found, and the first rows."""
    with pytest.raises(ReadError, match=sentence):
        read(text)


WALK = """Walk of the second night;;;;;;;;
;;;;;;;;
Sta.;Off RT ft;What;Depth below in;Date;Time;GPS Lat;Longitude (WGS84);Method
12+40;6,5;MH;3;14.05.2026;14:30;;;wheeled
12+55;;"WV
beside the drain";;15.05.2026;2:30 PM;41,43;-100,87;wheel
Total: 2;;;;;;;;
"""


def test_a_sheet_as_a_spreadsheet_saves_it_is_read() -> None:
    """Titles, semicolons, decimal commas, a date and a time, cells of two lines, totals."""
    part = read(WALK)
    first, second = part.marks.to_dict("records")
    texts = [one.text for one in part.findings]

    assert (first["said_station"], first["said_offset"]) == ("12+40", "6,5 ft RT")
    assert (first["method"], first["across_frame"], first["note"]) == (
        "wheeled", "up-station", "depth 3 in",
    )  # fmt: skip
    assert first["time_utc"] == dt.datetime(2026, 5, 14, 14, 30, tzinfo=CHICAGO)
    assert (second["kind"], second["note"]) == ("WV", "beside the drain")
    assert (second["lat_deg"], second["lon_deg"]) == (41.43, -100.87)
    assert second["time_utc"] == dt.datetime(2026, 5, 15, 14, 30, tzinfo=CHICAGO)
    assert part.source.skipped == {"rows of totals": 1}
    assert texts[0] == "rows above the header are not used: Walk of the second night"
    assert (
        "times without zone are taken as America/Chicago, the job's time zone (2 of them)" in texts
    )


def test_stations_need_no_coordinates_when_they_say_how_they_were_found() -> None:
    """On foot, the station is the place."""
    part = read("Leg,Station,Kind,How,Who,Date\nA,12+40,MH,taped,R. Sample,2026-05-04\nA,,MH,,,\n")

    assert part.marks["said_leg"].tolist() == ["A"]
    assert part.marks["by"].tolist() == ["R. Sample, 2026-05-04"]
    assert part.source.skipped == {"rows without coordinates, time or station": 1}


def test_a_reach_has_two_stations() -> None:
    """From and to in columns of their own."""
    part = read("From station,To station,What,Method\n12+40,13+10,patch,wheeled\n")

    assert part.marks["said_station"].tolist() == ["12+40 to 13+10"]


def test_marks_with_a_station_are_told_apart_by_it() -> None:
    """Another row before them, or another file, changes no id."""
    rows = ["12+40,MH,taped\n", "13+10,MH,taped\n", "14+00,MH,taped\n"]
    header = "Station,What,Method\n"
    whole, less = read(header + "".join(rows)).marks, read(header + "".join(rows[1:])).marks

    assert less["mark_id"].tolist() == whole["mark_id"].tolist()[1:]
    assert whole["mark_id"].nunique() == 3


def test_columns_without_a_name_are_said_when_they_hold_anything() -> None:
    """An empty one is no loss."""
    part = read("lat,,lon,,what\n41.43,,-100.87,hot,MH\n")

    assert [one.text for one in part.findings] == [
        "columns number 4, without a name, are not understood and not used"
    ]


def test_an_older_encoding_is_a_doubt() -> None:
    """It was taken for granted."""
    part = read_marks_csv(
        "lat,lon,what\n1,2,caf\xe9\n".encode("cp1252"), name="m", kinds=KINDS, zone=CHICAGO
    )

    assert part.findings[0].level == "doubt"
    assert "Windows-1252" in part.findings[0].text


def test_points_with_properties_are_marks() -> None:
    """The same names as columns of a CSV; a point without a place is skipped."""
    part = points(
        ([-100.87, 41.43], {"what": "manhole", "size_in": 24, "who": "invented", "height_m": None}),
        (None, {"what": "lunch"}),
    )
    (mark,) = part.marks.to_dict("records")

    assert (mark["kind"], mark["size"], mark["by"]) == ("MH", "24 in", "invented")
    assert math.isnan(mark["height_m"])
    assert part.source.skipped == {"rows without coordinates, time or station": 1}


def test_points_without_properties_are_marks_without_words() -> None:
    """Nothing is dropped: they go to be sorted."""
    assert points(([-100.87, 41.43], {})).marks["words"].tolist() == [""]


def test_times_of_points_are_read() -> None:
    """A property that the library takes for a time comes out as the same moment."""
    part = points(([-100.87, 41.43], {"time": "2026-06-01T07:00:00-05:00", "what": "manhole"}))

    assert part.marks["time_utc"].tolist() == [dt.datetime(2026, 6, 1, 12, tzinfo=dt.UTC)]


cells = st.text(st.characters(exclude_characters='\r\n",', exclude_categories=["Cs"]), max_size=15)


@given(st.lists(st.tuples(cells, cells, cells, cells), max_size=6))
def test_no_cell_breaks_a_table_and_no_row_with_a_place_is_lost(
    rows: list[tuple[str, str, str, str]],
) -> None:
    """Whatever is written, each row with a place is a mark."""
    text = "lat,lon,kind,words,across,height\n" + "".join(
        f"41.43,-100.87,{','.join(row)}\n" for row in rows
    )

    assert len(read(text).marks) == len(rows)


def test_points_in_another_datum_are_less_sure_and_it_is_said() -> None:
    """NAD83 by the crs member of 2008: 5 m of 68 % radius becomes 5.8, unknown stays unknown."""
    made = [
        {"type": "Feature", "properties": {"what": "manhole", "accuracy_m": radius_m},
         "geometry": {"type": "Point", "coordinates": [-100.87, 41.43]}}
        for radius_m in (5.0, None)
    ]  # fmt: skip
    crs = {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::4269"}}
    data = json.dumps({"type": "FeatureCollection", "crs": crs, "features": made}).encode()
    part = read_marks_points(data, name="marks.geojson", kinds=KINDS, zone=CHICAGO)

    # The 68 % radius of two equal axes is 1.51 times the standard deviation of one.
    expected = [
        pytest.approx(5.0 + 1.51 / 1.959964, abs=0.01),
        pytest.approx(math.nan, nan_ok=True),
    ]
    assert expected == part.marks["accuracy_m"].tolist()
    assert part.findings[-1].text.startswith("EPSG:4269 is taken as WGS 84: ± grows by 1 m")


def test_a_time_without_zone_is_the_job_s_own_and_one_in_utc_is_not() -> None:
    """What a person types is the time on his watch: in May five hours behind."""
    row = "\n2026-05-04 10:01:00,41.43,-100.87,manhole\n"
    local, utc = (
        read(f"{name},lat,lon,what{row}").marks["time_utc"][0] for name in ("time", "time_utc")
    )

    assert local.isoformat() == "2026-05-04T15:01:00+00:00"
    assert utc.isoformat() == "2026-05-04T10:01:00+00:00"


def test_a_station_with_a_decimal_comma_is_read() -> None:
    """As a spreadsheet saves it where numbers have one."""
    part = read("Station;What;Side;How\n12+40,5;MH;RT;walked\n13+00,25 BK;WV;up;walked\n")

    assert part.marks["said_station"].tolist() == ["12+40.5", "13+00.25 BK"]
    assert "row 3, side 'up' is none of CL, LT, RT" in part.findings[0].text
