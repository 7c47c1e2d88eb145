"""Records of somebody's file: what is guessed, said and skipped."""

import json
import tempfile
from pathlib import Path

import geopandas
import pytest
import shapely
from builders import KINDS

from routeprep.errors import ReadError
from routeprep.readers.records import read_records

POINT = shapely.Point(-100.87, 41.43)
BOW_TIE = shapely.Polygon([(0, 0), (1, 1), (1, 0), (0, 1)])


def read(*features, name="records.geojson"):
    """A part from features: geometry and properties."""
    made = [
        {"type": "Feature", "properties": properties,
         "geometry": geometry and shapely.geometry.mapping(geometry)}
        for geometry, properties in features
    ]  # fmt: skip
    data = json.dumps({"type": "FeatureCollection", "features": made}).encode()
    return read_records(data, name=name, kinds=KINDS)


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
        "guessed from names and values: kind from column 'asset_type', owner from column 'Owner', "
        "name from column 'asset_id'"
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
    assert part.findings[1].text == "the kind of 1 of 3 records is not understood"


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
