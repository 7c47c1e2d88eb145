"""The exports, each read back by other code than the one that wrote it."""

import csv
import dataclasses
import io
import json
import os
import re
import sqlite3
import subprocess
import sys
from pathlib import Path

import gpxpy
import numpy as np
import pyogrio
import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree
from made_evidence import evident_pack
from maps.example_pack import (
    HOSTILE,
    example_legs,
    example_pack,
    leg,
    pack_of,
    thing,
)
from sheets.surveyed_pack import surveyed_pack
from strategies import alignment_of

from routeprep import exports
from routeprep.designed import designed_line
from routeprep.errors import OutputError
from routeprep.exports.cells import exported, guarded, rounded
from routeprep.geodesy import segment_lengths_m
from routeprep.lines import StationEquation, Tie
from routeprep.listing import EXPORTED, rows
from routeprep.shapes import Pack

TESTS = Path(__file__).resolve().parent
NUMBERS = (
    "station_value", "along_m", "offset_m", "plus_minus_m", "plus_minus_across_m", "times_seen",
    "height_m", "lon_deg", "lat_deg",
)  # fmt: skip
GPX_WPT = (
    "ele", "time", "magvar", "geoidheight", "name", "cmt", "desc", "src", "link", "sym", "type",
    "fix", "sat", "hdop", "vdop", "pdop", "ageofdgpsdata", "dgpsid", "extensions",
)  # fmt: skip
LAYERS = ["obstructions", "centerlines", "fixes", "marks", "records"]

# What a spreadsheet may take for the start of a formula (OWASP, CSV Injection).
FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")


def empty_pack() -> Pack:
    """A pack of one leg and nothing else."""
    return pack_of(example_legs()[:1], [])


def with_note(note: str) -> Pack:
    """A pack of one thing with this note."""
    legs = example_legs()
    return pack_of(legs, [thing(legs[0], "A-1", "SMH", 120.0, note=note)])


def read_csv(text: str) -> list[dict[str, str]]:
    """The rows as Python's csv module has them."""
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_csv_has_the_declared_columns_and_a_row_an_obstruction() -> None:
    """The header is the contract's, and rows stand in the list's order."""
    pack = example_pack()
    text = exports.csv_text(pack)

    assert text.splitlines()[0] == ",".join(EXPORTED)
    assert [row["no"] for row in read_csv(text)] == list(rows(pack)["no"])
    assert "\r" not in exports.csv_text(with_note("one\r\ntwo\rthree"))


def test_csv_numbers_have_fixed_decimals_and_come_back() -> None:
    """Metres to a centimetre, degrees to 1e-7; what is not known is empty."""
    pack = example_pack()
    read = read_csv(exports.csv_text(pack))
    listed = rows(pack)

    assert {len(row["along_m"].partition(".")[2]) for row in read} == {2}
    assert {len(row["lon_deg"].partition(".")[2]) for row in read} == {7}
    assert [row["height_m"] for row in read] == ["", "", "", "", "5.49", "", ""]
    for name in NUMBERS:
        values = [float(row[name] or "nan") for row in read]
        assert values == pytest.approx(listed[name].tolist(), abs=0.005, nan_ok=True)


def test_csv_guards_formulas_but_not_numbers() -> None:
    """A note that a spreadsheet would run starts with an apostrophe; -1.40 stays a number."""
    read = read_csv(exports.csv_text(example_pack()))

    assert read[0]["note"] == f"'{HOSTILE}"
    assert read[6]["note"] == "'-0+50 said on the radio"
    assert read[6]["offset_m"] == "-1.40"


def test_csv_guards_a_station_before_zero() -> None:
    """The label -0+32.8 would be reckoned out by a spreadsheet."""
    side = example_legs()[1]
    pack = pack_of((side,), [thing(side, "B-1", "SMH", -10.0)])

    assert read_csv(exports.csv_text(pack))[0]["station"] == "'-0+32.8 from ELM N CURB"


@given(st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00")))
def test_any_text_comes_back_from_csv_and_is_no_formula(note: str) -> None:
    """Without the guard, the cell is what was typed, with one kind of line end."""
    cell = read_csv(exports.csv_text(with_note(note)))[0]["note"]
    note = note.replace("\r\n", "\n").replace("\r", "\n")

    assert not cell.startswith(FORMULA)
    assert note == (cell.removeprefix("'") if note.startswith(FORMULA) else cell)


@given(st.text())
def test_guard_leaves_other_text_alone(text: str) -> None:
    """Only an apostrophe is ever added."""
    assert guarded(text) in {text, f"'{text}"}
    assert not guarded(text).startswith(FORMULA)


@given(st.floats(-1e6, 1e6))
def test_rounded_is_near_and_never_minus_zero(value: float) -> None:
    """Half of the last digit at most is lost."""
    number = rounded(value, 2)

    assert number == pytest.approx(value, abs=0.005 + 1e-9)
    assert f"{number:.2f}" != "-0.00"


def test_geojson_carries_the_same_list() -> None:
    """Names and order of the properties are the columns'; numbers are numbers, unknown is null."""
    pack = example_pack()
    features = json.loads(exports.geojson_text(pack))["features"]
    read = read_csv(exports.csv_text(pack))

    assert len(features) == len(pack.obstructions)
    for feature, row in zip(features, read, strict=True):
        assert list(feature["properties"]) == list(EXPORTED)
        for name, value in feature["properties"].items():
            if value is None:
                assert row[name] == ""
            elif name in NUMBERS:
                assert float(row[name]) == value
            else:
                assert row[name] == guarded(value)


def test_geojson_is_read_by_gdal_as_points() -> None:
    """Another program finds the same count, places and names."""
    pack = example_pack()
    frame = pyogrio.read_dataframe(exports.geojson_text(pack).encode())

    assert list(frame["no"]) == list(rows(pack)["no"])
    assert set(frame.geom_type) == {"Point"}
    assert frame.geometry.x.tolist() == pytest.approx(rows(pack)["lon_deg"].tolist(), abs=1e-7)
    assert frame.crs.to_epsg() == 4326
    assert set(EXPORTED) <= set(frame.columns)


def test_geojson_has_no_member_that_the_standard_dropped() -> None:
    """RFC 7946: no crs, positions of longitude and latitude, at most 7 decimals."""
    text = exports.geojson_text(example_pack())
    data = json.loads(text)

    assert set(data) == {"type", "features"}
    assert re.findall(r"\d\.\d{8,}", text) == []
    assert all(-97 < feature["geometry"]["coordinates"][0] < -96 for feature in data["features"])


def test_gpx_round_trip() -> None:
    """gpxpy reads back every waypoint and every vertex of the centerlines."""
    pack = example_pack()
    gpx = gpxpy.parse(exports.gpx_text(pack))
    listed = rows(pack)

    assert [point.longitude for point in gpx.waypoints] == pytest.approx(
        listed["lon_deg"].tolist(), abs=1e-7
    )
    assert gpx.waypoints[0].name == "A-1 sewer manhole 24 in"
    assert gpx.waypoints[0].description == (
        "A 13+95 ±20 ft; right, outer wheel path; NOT DECIDED: STOP; seen twice or more; " + HOSTILE
    )
    assert [len(route.points) for route in gpx.routes] == [
        len(leg.line.lon_deg) for leg in pack.legs
    ]
    assert gpx.routes[1].description == "made from: path driven; not plan centerline"
    assert gpx.time is None


def test_gpx_elements_stand_in_the_order_of_the_schema() -> None:
    """GPX 1.1 is a sequence: metadata, wpt, rte; and inside a wpt as its type says."""
    root = etree.fromstring(exports.gpx_text(example_pack()).encode())
    tags = [etree.QName(child).localname for child in root]
    order = ("metadata", "wpt", "rte")

    assert root.tag == "{http://www.topografix.com/GPX/1/1}gpx"
    assert root.get("version") == "1.1"
    assert tags == sorted(tags, key=order.index)
    for point in root.iter("{*}wpt", "{*}rtept"):
        inside = [etree.QName(child).localname for child in point]
        assert inside == sorted(inside, key=GPX_WPT.index)
        assert re.fullmatch(r"-?\d+\.\d{1,7}", point.get("lat"))


@given(st.text(st.characters(exclude_categories=["Cs"])))
def test_gpx_is_well_formed_whatever_is_typed(note: str) -> None:
    """Characters that XML cannot hold are replaced, and the rest comes back."""
    root = etree.fromstring(exports.gpx_text(with_note(note)).encode())
    text = root.findtext("{*}wpt/{*}desc")
    kept = re.sub("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]", "\ufffd", note)

    assert text.endswith(kept.replace("\r\n", "\n").replace("\r", "\n"))


def test_gpx_says_draft_and_only_then() -> None:
    """The description of the file is the banner of a draft."""
    assert gpxpy.parse(exports.gpx_text(example_pack())).description == "DRAFT, NOT FOR CUTTING"
    assert not gpxpy.parse(exports.gpx_text(empty_pack())).description


def test_gpkg_layers_and_counts(tmp_path: Path) -> None:
    """GDAL finds five layers with a row for all that the pack holds."""
    pack, path = example_pack(), tmp_path / "o.gpkg"
    exports.write_gpkg(pack, path)
    counts = {name: pyogrio.read_info(path, layer=name)["features"] for name in LAYERS}

    assert [name for name, _ in pyogrio.list_layers(path)] == LAYERS
    assert counts == {
        "obstructions": len(pack.obstructions),
        "centerlines": len(pack.legs),
        "fixes": len(pack.fixes),
        "marks": len(pack.marks),
        "records": len(pack.records),
    }


def test_gpkg_list_is_the_csv_list(tmp_path: Path) -> None:
    """The layer's columns and values are those of the list; unknown is null."""
    pack, path = example_pack(), tmp_path / "o.gpkg"
    exports.write_gpkg(pack, path)
    with sqlite3.connect(path) as base:
        base.row_factory = sqlite3.Row
        read = [dict(row) for row in base.execute("SELECT * FROM obstructions ORDER BY fid")]
    base.close()

    for found, row in zip(read, read_csv(exports.csv_text(pack)), strict=True):
        assert [name for name in found if name in EXPORTED] == list(EXPORTED)
        for name in EXPORTED:
            value = found[name]
            if value is None:
                assert row[name] == ""
            elif name in NUMBERS:
                assert float(row[name]) == pytest.approx(value, abs=1e-9)
            else:
                assert row[name] == guarded(value)


def test_gpkg_keeps_a_text_past_a_nul(tmp_path: Path) -> None:
    """A text of the format ends there: a sign stands in its place, and the rest is kept."""
    pack, path = example_pack(), tmp_path / "o.gpkg"
    notes = ["deep\0frame", *pack.obstructions["note"].iloc[1:]]
    exports.write_gpkg(
        dataclasses.replace(pack, obstructions=pack.obstructions.assign(note=notes)), path
    )

    assert "deep\ufffdframe" in list(pyogrio.read_dataframe(path, layer="obstructions")["note"])


def test_gpkg_places_and_times_come_back(tmp_path: Path) -> None:
    """Places are longitude and latitude; a mark without a place keeps its row."""
    pack, path = example_pack(), tmp_path / "o.gpkg"
    exports.write_gpkg(pack, path)
    fixes = pyogrio.read_dataframe(path, layer="fixes")
    marks = pyogrio.read_dataframe(path, layer="marks")
    lines = pyogrio.read_dataframe(path, layer="centerlines")
    records = pyogrio.read_dataframe(path, layer="records")

    assert fixes.geometry.x.tolist() == pack.fixes["lon_deg"].tolist()
    assert fixes["time_utc"].tolist() == pack.fixes["time_utc"].tolist()
    assert marks.geometry.isna().tolist() == [False, False, True]
    assert marks["note"][0] == HOSTILE
    assert len(lines.geometry[0].coords) == len(pack.legs[0].line.lon_deg)
    assert records.geom_type.tolist() == ["Point", "LineString"]


def test_gpkg_has_the_same_bytes_in_every_run(tmp_path: Path) -> None:
    """Other process, time zone and hash seed: the same file, and nothing beside it."""
    exports.write_gpkg(example_pack(), tmp_path / "here.gpkg")
    code = (
        "import sys\nfrom pathlib import Path\nfrom maps.example_pack import example_pack\n"
        "from routeprep.exports import write_gpkg\n"
        "write_gpkg(example_pack(), Path(sys.argv[1]))"
    )
    paths = os.pathsep.join([str(TESTS), str(TESTS.parent)])
    environment = os.environ | {"PYTHONHASHSEED": "7", "TZ": "Asia/Tokyo", "PYTHONPATH": paths}
    there = tmp_path / "there.gpkg"
    subprocess.run([sys.executable, "-c", code, str(there)], env=environment, check=True)

    assert there.read_bytes() == (tmp_path / "here.gpkg").read_bytes()
    assert {path.name for path in tmp_path.iterdir()} == {"here.gpkg", "there.gpkg"}


def test_gpkg_is_stamped_with_the_job_date_and_leaves_gdal_as_it_was(tmp_path: Path) -> None:
    """The date of change is the job's, and GDAL's own setting is put back."""
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": "2001-02-03T00:00:00.000Z"})
    exports.write_gpkg(example_pack(), tmp_path / "o.gpkg")
    after = pyogrio.get_gdal_config_option("OGR_CURRENT_DATE")
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": None})
    base = sqlite3.connect(tmp_path / "o.gpkg")
    dates = {row[0] for row in base.execute("SELECT last_change FROM gpkg_contents")}
    base.close()

    assert after == "2001-02-03T00:00:00.000Z"
    assert dates == {"2026-06-01T00:00:00.000Z"}


def test_gpkg_of_an_empty_pack_has_its_layers(tmp_path: Path) -> None:
    """No rows is no reason for no layer."""
    exports.write_gpkg(empty_pack(), tmp_path / "o.gpkg")

    assert [name for name, _ in pyogrio.list_layers(tmp_path / "o.gpkg")] == LAYERS


def test_gpkg_refuses_what_is_there_and_a_folder_that_is_not(tmp_path: Path) -> None:
    """Nothing is overwritten, and GDAL's own error is translated."""
    (tmp_path / "o.gpkg").touch()

    with pytest.raises(OutputError, match=r"o\.gpkg is there already"):
        exports.write_gpkg(empty_pack(), tmp_path / "o.gpkg")
    with pytest.raises(OutputError, match=r"no/o\.gpkg cannot be written: .*see that its folder"):
        exports.write_gpkg(empty_pack(), tmp_path / "no" / "o.gpkg")


def test_report_counts_agree_with_the_list() -> None:
    """Every count can be found again in the exported list or in the pack."""
    pack = example_pack()
    counts = json.loads(exports.report_text(pack))["counts"]
    read = read_csv(exports.csv_text(pack))

    assert counts["obstructions"] == {
        "all": len(read),
        "by_leg": {"A": 6, "B": 1},
        "by_status": {"seen twice or more": 5, "in a file, not seen": 1, "gone": 1},
        "by_group": {
            "iron in the road": 3,
            "in the surface": 1,
            "overhead": 1,
            "do not cut without the owner": 1,
            "sketchy spot": 1,
        },
        "in_doubt": sum(bool(row["doubt"]) for row in read),
        "undecided": sum(not row["decided_by"] for row in read),
    }
    assert counts["unsorted"] == len(read_csv(exports.unsorted_text(pack)))
    assert counts["numbers"] == len(read_csv(exports.numbers_text(pack)))
    assert (counts["drives"], counts["fixes"], counts["marks"], counts["records"]) == (1, 200, 3, 2)


def test_report_says_which_length_a_station_is() -> None:
    """Ground length is the geodesic one times 1 + h/R, both given, and so is the factor."""
    pack = example_pack()
    report = json.loads(exports.report_text(pack))
    first, line = report["legs"][0], pack.legs[0].line
    geodesic_m = segment_lengths_m(line.lon_deg, line.lat_deg, elevation_m=0.0).sum()

    assert first["geodesic_length_m"] == pytest.approx(geodesic_m, abs=0.001)
    assert first["length_m"] == pytest.approx(geodesic_m * (1 + 360 / 6_371_008.8), abs=0.001)
    assert first["factor"] == pytest.approx(
        first["length_m"] / first["geodesic_length_m"], abs=1e-6
    )
    assert report["station_length"].startswith("horizontal ground distance")
    assert [item["made_from"] for item in report["legs"]] == ["file", "path driven"]
    assert report["legs"][1]["plus_minus_across_m"] == {"median": 1.57, "worst": 1.57}


def test_report_gives_a_designed_alignments_factors() -> None:
    """Its stations are the plan's; the ground is the plan over the combined factor."""
    pack = example_pack()
    road = alignment_of((1000.0, 0.0, 0.0))
    line, _ = designed_line(
        road, leg=pack.legs[0].settings, elevation_m=1200.0, datum_operation="EPSG:1515"
    )
    leg = dataclasses.replace(pack.legs[0], line=line)
    designed, driven = json.loads(
        exports.report_text(dataclasses.replace(pack, legs=(leg, pack.legs[1])))
    )["legs"]
    grid = designed["grid"]

    assert driven["grid"] is None
    assert (designed["length_m"], grid["declared_length_m"]) == (1000.0, 1000.0)
    assert (grid["crs"], grid["datum_operation"]) == ("EPSG:26914", "EPSG:1515")
    assert grid["combined_factor"] == pytest.approx(grid["scale"] * grid["elevation_factor"])
    assert grid["ground_length_m"] == pytest.approx(1000 / grid["combined_factor"], abs=0.001)
    assert designed["geodesic_length_m"] == pytest.approx(1000 / grid["scale"], abs=0.001)


def test_report_says_what_the_stations_were_made_from() -> None:
    """Equations, ties with what they do, and mile markers; a first tie has no residual."""
    road = example_legs()[0]
    tie = Tie(
        along_m=0.0, station="10+00", kind="plan", by="curb", residual_m=float("nan"),
        stretch_share=float("nan"), forced_by="",
    )  # fmt: skip
    second = dataclasses.replace(
        tie, along_m=304.8, station="20+00", residual_m=1.5, stretch_share=0.004921, forced_by="X"
    )
    equations = (StationEquation(back_value=1500.0, ahead_value=2000.0),)
    stationing = dataclasses.replace(road.stationing, equations=equations)
    made = dataclasses.replace(
        road, stationing=stationing, ties=(tie, second), markers=((12.0, 14.0),)
    )
    leg = json.loads(exports.report_text(pack_of((made,), [])))["legs"][0]

    assert leg["equations"] == [{"along_m": 152.4, "text": "15+00.00 BK = 20+00.00 AH"}]
    assert leg["mile_markers"] == [{"along_m": 12.0, "miles": 14.0}]
    assert [one["residual_m"] for one in leg["ties"]] == [None, 1.5]
    assert leg["ties"][1] == {
        "along_m": 304.8, "station": "20+00", "kind": "plan", "by": "curb", "residual_m": 1.5,
        "stretch": 0.004921, "forced_by": "X",
    }  # fmt: skip


def test_report_lists_inputs_defaults_and_versions_the_same_whatever_their_order() -> None:
    """Sources and findings are sorted, worst finding first; keys too; no clock, no folder."""
    pack = example_pack()
    text = exports.report_text(pack)
    report = json.loads(text)
    same = dataclasses.replace(pack, sources=pack.sources[::-1], findings=pack.findings[::-1])

    assert exports.report_text(same) == text
    assert [item["level"] for item in report["findings"]] == ["doubt", "note"]
    assert [item["name"] for item in report["sources"]] == ["covers.geojson", "drives/one.gpx"]
    assert report["defaults"]["phone_accuracy_m"] == 4.9
    assert report["versions"]["numpy"] == np.__version__
    assert report["format"] == 1
    assert text == json.dumps(report, indent=2, sort_keys=True, ensure_ascii=False) + "\n"
    assert str(Path.cwd()) not in text


def test_report_of_an_empty_pack_counts_zero() -> None:
    """A leg without a thing is still counted."""
    counts = json.loads(exports.report_text(empty_pack()))["counts"]

    assert counts["obstructions"]["by_leg"] == {"A": 0}
    assert counts["drives"] == 0


def test_numbers_are_the_ledger() -> None:
    """Every number ever issued, also one that no longer stands alone."""
    assert exports.numbers_text(example_pack()) == (
        "no,anchor_id,first_revision\nA-1,id-A-1,A\nA-7,id-A-7,A\n"
    )


def test_unsorted_marks_keep_their_words() -> None:
    """Words as typed, time in UTC, and no place or time where there was none."""
    read = read_csv(exports.unsorted_text(example_pack()))

    assert [row["words"] for row in read] == ['\'=lunch, "here"', "blrp"]
    assert [row["time_utc"] for row in read] == ["2026-05-28T15:02:00.500000Z", ""]
    assert [row["lon_deg"] for row in read] == ["-96.0900000", ""]


def test_exports_of_an_empty_pack_are_headers() -> None:
    """No thing: a table of no rows, a collection of no features."""
    pack = empty_pack()

    assert exports.csv_text(pack) == ",".join(EXPORTED) + "\n"
    assert json.loads(exports.geojson_text(pack)) == {"type": "FeatureCollection", "features": []}
    assert gpxpy.parse(exports.gpx_text(pack)).waypoints == []
    assert len(exports.unsorted_text(pack).splitlines()) == 1
    assert len(exports.numbers_text(pack).splitlines()) == 1
    assert list(exported(pack).columns) == list(EXPORTED)


def test_metric_leg_exports_its_station_as_written() -> None:
    """A station of the 1000 m kind keeps three digits after the plus."""
    road = leg("A", "Example Road", [-96.1, -96.08], [41.2, 41.2], unit="1000 m")
    read = read_csv(exports.csv_text(pack_of((road,), [thing(road, "A-1", "SMH", 234.5)])))

    assert read[0]["station"] == "1+234.5"
    assert read[0]["station_value"] == "1234.50"


def test_report_tells_each_drive() -> None:
    """Metres, seconds and UTC; what a drive does not know is null."""
    first, second = json.loads(exports.report_text(surveyed_pack()))["drives"]

    assert first == {
        "id": "d1", "name": "drives/one.gpx: morning", "by": "J. Doe", "fixes": 812, "gaps": 1,
        "begin_utc": "2026-05-28T13:12:04+00:00", "end_utc": "2026-05-28T13:19:33+00:00",
        "lasted_s": 449.0, "length_m": 4828.03, "stood_s": 27.0, "accuracy_m": 4.9,
        "plus_minus_m": 3.14,
    }  # fmt: skip
    assert {name for name, value in second.items() if value is None} == {
        "begin_utc", "end_utc", "lasted_s", "stood_s", "accuracy_m",
    }  # fmt: skip


def test_report_tells_curves_grades_and_sight() -> None:
    """In metres and stations, each with its ± of 95 %, null for what was not seen."""
    leg = json.loads(exports.report_text(surveyed_pack()))["legs"][0]
    curve, _, last = leg["curves"]

    assert (curve["direction"], curve["from_station"]) == ("right", "16+51.4")
    assert curve["plus_minus"]["radius_m"] == pytest.approx(30 * 0.3048 * 1.96, abs=0.01)
    assert last["plus_minus"]["to_m"] is None
    assert leg["grades"][0]["grade"] == -0.0604
    assert leg["sight"][0]["seen_m"] == pytest.approx(212 * 0.3048, abs=0.01)
    assert [one["curve"] for one in leg["sight"]] == [0, None]


def test_report_tells_how_often_each_stretch_was_looked_at() -> None:
    """Every row of the coverage, and what of the cut was poorly looked at."""
    pack = surveyed_pack()
    report = json.loads(exports.report_text(pack))
    rows_told = report["coverage"]

    assert [one["reason"] for one in rows_told] == pack.coverage["reason"].tolist()
    assert rows_told[0]["looks_up"] == 1
    assert rows_told[2]["fastest_mps"] is None
    assert [(one["leg"], one["reason"]) for one in report["poorly_looked_at"]] == [
        ("A", "driven once; only at night"),
        ("A", "not driven"),
        ("B", "driven once; parked cars hid it on the right (said by J. Doe)"),
    ]
    assert report["poorly_looked_at"][2]["to_station"] == "1+64.0 from Elm St north curb"


def test_report_tells_what_was_set_aside() -> None:
    """Among the sources, with its checksum and nothing taken."""
    sources = json.loads(exports.report_text(surveyed_pack()))["sources"]
    (aside,) = [one for one in sources if one["what"] == "set aside"]

    assert (aside["name"], aside["taken"], len(aside["sha256"])) == ("drives/bad.gpx", {}, 64)


def test_report_tells_what_each_thing_rests_on() -> None:
    """Every row of the evidence under its thing, numbers in metres, what is not known null."""
    first, second = json.loads(exports.report_text(evident_pack()))["evidence"]
    look, record = first["looks"][0], first["looks"][2]

    assert [first["no"], second["no"]] == ["A-1", "A-2"]
    assert [one["part"] for one in first["looks"]] == ["place", "place", "beside", "near"]
    assert (look["apart_m"], look["late_m"]) == (-3.66, 15.54)
    assert (look["time_utc"], look["person"]) == ("2026-05-28T13:15:09+00:00", "J. Doe")
    assert look["plus_minus_m"] == pytest.approx(10 * 0.3048 * 1.96, abs=0.01)
    assert (record["time_utc"], record["speed_mps"]) == (None, None)
    assert first["text"].startswith("2 looks from a vehicle (1 up, 1 down) 12 ft before")


def test_report_tells_lateness_shifts_and_what_is_missed_with_their_intervals() -> None:
    """A ± is 1.96 standard deviations."""
    report = json.loads(exports.report_text(evident_pack()))
    late, default = report["lateness"]
    (shift,), (missed,) = report["shifts"], report["missed"]

    assert (late["late_s"], late["plus_minus"]["late_s"]) == (1.1, 0.392)
    assert (late["told_by_the_data"], default["told_by_the_data"]) == (True, False)
    assert (shift["east_m"], shift["plus_minus"]["east_m"], shift["applied"]) == (1.25, 0.49, True)
    assert (missed["estimate"], missed["interval"]) == (44.4, [41.0, 53.25])
    assert report["search"] == {
        "all": 3, "by_leg": {"A": 3}, "by_what": {"sewer manhole": 1, "water valve": 2},
        "by_why": {"in a file, not seen": 3},
    }  # fmt: skip


def test_report_of_a_thing_without_evidence_still_names_it() -> None:
    """Its looks are none."""
    evidence = json.loads(exports.report_text(example_pack()))["evidence"]

    assert [one["no"] for one in evidence][:2] == ["A-1", "A-2"]
    assert evidence[0]["looks"] == []
