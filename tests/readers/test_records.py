"""Records of somebody's file: what is guessed, said and skipped."""

import json
import tempfile
from pathlib import Path

import geopandas
import numpy as np
import pandas as pd
import pytest
import shapely
from builders import KINDS

from routeprep.errors import ReadError
from routeprep.readers import bigjson
from routeprep.readers.nearby import Near
from routeprep.readers.recordcolumns import Fields
from routeprep.readers.records import read_records

POINT = shapely.Point(-100.87, 41.43)
BOW_TIE = shapely.Polygon([(0, 0), (1, 1), (1, 0), (0, 1)])


def read(*features, name="records.geojson", **more):
    """A part from features: geometry and properties."""
    made = [
        {"type": "Feature", "properties": properties,
         "geometry": geometry and shapely.geometry.mapping(geometry)}
        for geometry, properties in features
    ]  # fmt: skip
    data = json.dumps({"type": "FeatureCollection", "features": made}).encode()
    return read_records(data, name=name, kinds=KINDS, **more)


def test_kind_owner_and_name_come_from_columns_and_are_said() -> None:
    """The mapping that was guessed is a finding."""
    columns = {
        "OBJECTID": 7,
        "asset_type": "Sewer manhole",
        "Owner": "invented city",
        "asset_id": 12.0,
    }
    part = read((POINT, columns))
    (row,) = part.records.to_dict("records")

    assert (row["kind"], row["owner"], row["name"]) == ("SMH", "invented city", "12")
    assert row["source"] == "records.geojson"
    assert part.findings[0].text == (
        "kind from 'asset_type' (guessed), name from 'asset_id' (guessed), owner from 'Owner' "
        "(guessed); if wrong, say it with [[records]] in the job file"
    )


def test_the_column_that_says_most_kinds_is_taken() -> None:
    """A column called type that says nothing gives way to one that does."""
    rows = [(POINT, {"type": "A1", "description": words}) for words in ("water valve", "manhole")]

    assert read(*rows).records["kind"].tolist() == ["WV", "MH"]


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("city-hydrants.geojson", "HYD"),
        ("records/sewer_manholes_2024.geojson", "SMH"),
        ("st.geojson", ""),
        ("stuff.geojson", ""),
    ],
)
def test_without_a_column_the_file_s_name_says_the_kind(name: str, kind: str) -> None:
    """The longest run of words counts, and short ones are no codes."""
    assert read((POINT, {"colour": "red"}), name=name).records["kind"].tolist() == [kind]


def test_a_value_that_is_not_understood_is_not_overruled_by_the_name() -> None:
    """Only rows that say nothing take the file's kind; what is unknown is a doubt."""
    part = read(
        (POINT, {"type": "water valve"}), (POINT, {"type": "UNKNOWN"}), (POINT, {"type": None}),
        name="hydrants.geojson",
    )  # fmt: skip

    assert part.records["kind"].tolist() == ["WV", "", "HYD"]
    assert part.findings[1].text.startswith(
        "the kind of 1 of 3 records is not understood: 'UNKNOWN' (1); they stand under not on "
    )


def test_features_that_cannot_be_used_are_counted() -> None:
    """No geometry, a polygon that crosses itself, and a place off the globe."""
    part = read((POINT, {}), (None, {}), (BOW_TIE, {}), (shapely.Point(0, 95), {}))

    assert part.source.taken == {"records": 1}
    assert part.source.skipped == {
        "features off the globe": 1,
        "features with invalid geometry": 1,
        "features without geometry": 1,
    }


def test_lines_and_polygons_are_kept_as_they_are() -> None:
    """Geometry stays in degrees, without heights."""
    line = shapely.LineString([(1, 2, 9), (3, 4, 9)])
    area = shapely.Polygon([(0, 0), (1, 0), (1, 1)])
    kept = read((line, {}), (area, {})).records["geometry"].tolist()

    assert kept == [shapely.force_2d(line), area]


def test_a_file_with_nothing_usable_is_refused() -> None:
    """With what was wrong with it."""
    with pytest.raises(ReadError, match=r"no feature that can be used \(2 features without geom"):
        read((None, {}), (None, {}))
    with pytest.raises(ReadError, match="it is empty"):
        read()


def test_points_of_a_csv_are_records() -> None:
    """A list with longitude and latitude serves; rows without a place are counted."""
    data = b"id,lat,lon,type\n5,41.43,-100.87,manhole\n6,,,manhole\n"
    part = read_records(data, name="covers.csv", kinds=KINDS)

    assert part.records["name"].tolist() == ["5"]
    assert part.source.skipped == {"features without geometry": 1}


def test_ids_say_what_a_record_is_and_not_its_file_or_row() -> None:
    """Another file name, another order, another database number: the same ids."""
    one, two = (POINT, {"fid": 1, "type": "manhole"}), (shapely.Point(1, 1), {"type": "manhole"})
    again = (POINT, {"fid": 9, "type": "manhole"})
    first = read(one, two, name="a.geojson").records["record_id"].tolist()

    assert read(two, again, name="b.geojson").records["record_id"].tolist() == first[::-1]


def test_records_in_another_datum_carry_what_it_adds() -> None:
    """A state's plane in NAD83: a metre, said; nothing for degrees."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "covers.gpkg"
        frame = geopandas.GeoDataFrame({"type": ["manhole"]}, geometry=[POINT], crs=4326)
        frame.to_crs(26914).to_file(path, driver="GPKG")
        data = path.read_bytes()
    near = read_records(data, name="covers.gpkg", kinds=KINDS)
    moved = read_records(data, name="covers.gpkg", kinds=KINDS, datum_operation="EPSG:1515")

    assert near.records["datum_sd_m"].tolist() == [pytest.approx(1 / 1.959964)]
    assert near.findings[0].text.startswith("EPSG:26914 (NAD83) is taken as WGS 84")
    assert moved.records["datum_sd_m"].tolist() == [0.0]
    assert "is brought to WGS 84 by NAD83 to WGS 84 (5)" in moved.findings[0].text
    assert read((POINT, {})).records["datum_sd_m"].tolist() == [0.0]


NEAR = Near(west_deg=-100.88, south_deg=41.42, east_deg=-100.86, north_deg=41.44)
FAR = shapely.Point(-96.0, 41.2)


def test_what_is_outside_the_surroundings_is_counted_and_said() -> None:
    """In every sort of file; what has no geometry is counted as such."""
    made = (POINT, {"type": "manhole"}), (FAR, {"type": "manhole"}), (None, {})
    part = read(*made, near=NEAR)
    table = b"lat,lon,type\n41.43,-100.87,manhole\n41.2,-96,manhole\n"
    csv = read_records(table, name="covers.csv", kinds=KINDS, near=NEAR)

    assert len(part.records) == len(csv.records) == 1
    assert part.source.skipped == {
        "features without geometry": 1, "outside the job's surroundings": 1
    }  # fmt: skip
    assert part.findings[-1].text == (
        "1 of 3 features are outside the job's surroundings and are not read further"
    )
    assert part.findings[-1].level == "note"
    assert csv.source.skipped == {"outside the job's surroundings": 1}


def test_a_file_that_is_all_outside_is_a_doubt_and_no_error() -> None:
    """A city's file of another city, or in coordinates that are not what they say."""
    part = read((FAR, {"type": "manhole"}), near=NEAR)

    assert part.records.empty
    assert part.findings[-1].level == "doubt"
    assert part.findings[-1].text.endswith(
        "whether this is the right file and its coordinate system"
    )


def test_what_the_job_says_of_a_file_goes_before_what_is_guessed() -> None:
    """Kind and owner for all."""
    part = read((POINT, {"type": "water valve"}), fields=Fields(kind="SMH", owner="invented city"))

    assert part.records[["kind", "owner"]].to_numpy().tolist() == [["SMH", "invented city"]]
    assert part.findings[0].text == (
        "kind SMH for all (as the job says), name from none, owner invented city for all (as the "
        "job says)"
    )


def test_of_the_values_that_are_not_understood_the_most_frequent_are_named() -> None:
    """Five of them, with their counts, and how many more there are."""
    said = ["e", "b", "b", "a", "a", "a", "c", "d", "f", "", "manhole"]
    part = read(*((POINT, {"type": f"unicorn {one}" if len(one) == 1 else one}) for one in said))

    assert part.findings[1].text.startswith(
        "the kind of 10 of 11 records is not understood: 'unicorn a' (3), 'unicorn b' (2), nothing "
        "(1), 'unicorn c' (1), 'unicorn d' (1) and 2 more values; they stand under not on the list"
    )


@pytest.fixture(scope="module")
def many():
    """6,000 points in rows from south to north, two of each place and name; far ones first."""
    lat = np.repeat(np.linspace(41.0, 41.6, 3000), 2)
    order = np.argsort(-np.abs(lat - 41.43), kind="stable")
    points = shapely.points(np.full(6000, -100.87), lat)[order]
    frame = {"type": ["manhole"] * 6000, "owner": ["one", "two"] * 3000}
    return geopandas.GeoDataFrame(frame, geometry=points, crs=4326)


def written(frame, driver, suffix):
    """The bytes of a file of these features."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"x.{suffix}"
        frame.to_file(path, driver=driver)
        return path.read_bytes()


@pytest.mark.parametrize(
    ("driver", "suffix", "crs"),
    [("GPKG", "gpkg", 4326), ("GPKG", "gpkg", 2288), ("FlatGeobuf", "fgb", 4326)],
)
def test_an_index_gives_the_same_records_as_the_whole_file(many, driver, suffix, crs) -> None:
    """With the same ids and owners, whatever the order of the index."""
    frame = many if crs == 4326 else many.to_crs(crs)
    data = written(frame, driver, suffix)
    near = read_records(data, name="x", kinds=KINDS, near=NEAR)
    whole = read_records(data, name="x", kinds=KINDS).records
    lat = shapely.get_y(whole["geometry"])
    inside = whole[(lat > NEAR.south_deg) & (lat < NEAR.north_deg)].reset_index(drop=True)

    assert 150 < len(near.records) < 250
    pd.testing.assert_frame_equal(near.records, inside)
    assert near.source.skipped["outside the job's surroundings"] == 6000 - len(inside)


def test_a_big_geojson_gives_the_same_records_as_the_whole_file(many, monkeypatch) -> None:
    """What is left out early is counted with the rest."""
    data = written(many, "GeoJSON", "geojson")
    whole = read_records(data, name="x", kinds=KINDS, near=NEAR)
    monkeypatch.setattr(bigjson, "_SMALL", 0)
    near = read_records(data, name="x", kinds=KINDS, near=NEAR)

    pd.testing.assert_frame_equal(near.records, whole.records)
    assert near.source == whole.source
