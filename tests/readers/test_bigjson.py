"""Big GeoJSON files made small."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routeprep.readers import bigjson
from routeprep.readers.bigjson import thinned
from routeprep.readers.nearby import Near

NEAR = Near(west_deg=-100.9, south_deg=41.4, east_deg=-100.8, north_deg=41.5)
HERE, FAR = [-100.85, 41.45], [-96.0, 41.2]
CRS84 = {"type": "name", "properties": {"name": "urn:ogc:def:crs:OGC:1.3:CRS84"}}


@pytest.fixture(autouse=True)
def every_file_is_big(monkeypatch):
    """One feature is the sample, and no file is small."""
    monkeypatch.setattr(bigjson, "_SMALL", 0)
    monkeypatch.setattr(bigjson, "SAMPLE", 1)


def feature(coordinates, sort="Point", **properties):
    """A feature of GeoJSON."""
    return {
        "type": "Feature", "properties": properties,
        "geometry": {"type": sort, "coordinates": coordinates},
    }  # fmt: skip


def collection(*features, **more):
    """The bytes of a file with these."""
    return json.dumps({"type": "FeatureCollection", **more, "features": features}).encode()


def test_the_first_features_and_those_near_are_kept_as_they_are() -> None:
    """With the members beside them, and text in any script."""
    first, near = feature(FAR, n=1), feature(HERE, name='"a}, {"b" Straße', deep={"x": [1, {}]})
    thin = thinned(collection(first, feature(FAR), near, feature(FAR), name="covers"), NEAR)

    assert json.loads(thin.data) == {
        "type": "FeatureCollection", "name": "covers", "features": [first, near]
    }  # fmt: skip
    assert thin.left_out == 2


@pytest.mark.parametrize(
    ("coordinates", "sort"),
    [
        ([[-101.0, 41.45], [-100.0, 41.45]], "LineString"),
        ([[[-101.0, 41.0], [-100.0, 41.0], [-100.0, 42.0], [-101.0, 41.0]]], "Polygon"),
        ([-100.85, 41.45, 300.0], "Point"),
        ([], "Point"),
        ([500.0, 41.0], "Point"),
        (["a", "b"], "Point"),
        (None, "Point"),
    ],
)
def test_what_reaches_in_or_is_odd_is_kept(coordinates, sort: str) -> None:
    """The reader counts what has no place, or none on the globe."""
    data = collection(feature(FAR), feature(coordinates, sort))

    assert thinned(data, NEAR).left_out == 0


def test_lines_and_polygons_beside_are_left_out_and_no_geometry_is_kept() -> None:
    """On each of the four sides."""
    line = feature([[-96.0, 41.0], [-96.1, 41.1]], "LineString")
    area = feature([[[[-101.5, 41.45], [-101.4, 41.45], [-101.4, 41.4]]]], "MultiPolygon")
    north, south = feature([-100.85, 42.0]), feature([-100.85, 41.0])
    none = {"type": "Feature", "properties": {}, "geometry": None}
    thin = thinned(collection(feature(FAR), line, area, north, south, none), NEAR)

    assert thin.left_out == 4
    assert json.loads(thin.data)["features"][1:] == [none]


def test_systems_that_are_degrees_are_known_wherever_they_stand() -> None:
    """Before or after the features."""
    features = [feature(FAR), feature(FAR)]
    after = json.dumps({"type": "FeatureCollection", "features": features, "crs": CRS84}).encode()

    assert thinned(collection(*features, crs=CRS84), NEAR).left_out == 1
    assert thinned(after, NEAR).left_out == 1


@pytest.mark.parametrize(
    "data",
    [
        b"[1]",
        b"{",
        b'{"type": "FeatureCollection", "features": [{}, {}] "x": 1}',
        b'{"type": "FeatureCollection", "features": [{}; {}]}',
        b'{"type": "FeatureCollection", "features": {}}',
        b'{"type": "FeatureCollection", "features": []} more',
        b'{"type": "FeatureCollection"}',
        b'{"type": "Topology", "features": []}',
        b'{"type": "FeatureCollection", "features": [\xff]}',
        b"SQLite format 3\0",
        collection(
            feature(FAR), feature(FAR),
            crs={"type": "name", "properties": {"name": "EPSG:26914"}},
        ),
        collection(feature(FAR), crs="nonsense"),
    ],
)  # fmt: skip
def test_anything_else_is_handed_back_as_it_is(data: bytes) -> None:
    """The reader of the whole file says what is wrong, if anything is."""
    assert thinned(data, NEAR) == (data, 0)


def test_an_empty_list_and_a_byte_order_mark_are_read() -> None:
    """Nothing is left out of nothing."""
    thin = thinned(b"\xef\xbb\xbf" + collection(), NEAR)

    assert json.loads(thin.data)["features"] == []
    assert thin.left_out == 0


def test_a_small_file_is_left_whole(monkeypatch) -> None:
    """It is as quick."""
    monkeypatch.setattr(bigjson, "_SMALL", 5_000_000)
    data = collection(feature(FAR), feature(FAR))

    assert thinned(data, NEAR) == (data, 0)


@given(st.lists(st.tuples(st.floats(-101, -100.7), st.floats(41.3, 41.6)), max_size=20))
def test_no_point_in_the_box_is_ever_left_out(places) -> None:
    """And every one that is well beside it is."""
    thin = thinned(collection(feature(FAR), *map(feature, map(list, places))), NEAR)
    left = [tuple(one["geometry"]["coordinates"]) for one in json.loads(thin.data)["features"]]
    inside = [(x, y) for x, y in places if -100.9 <= x <= -100.8 and 41.4 <= y <= 41.5]

    assert set(inside) <= set(left)
    assert all(-100.901 < x < -100.799 and 41.399 < y < 41.501 for x, y in left[1:])
