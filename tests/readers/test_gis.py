"""GIS files: layers, zips and what the library cannot read."""

import io
import sqlite3
import tempfile
import zipfile
from pathlib import Path

import geopandas
import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from routeprep.errors import ReadError
from routeprep.readers.gis import read_layers

POINT = geopandas.GeoDataFrame({"n": [1]}, geometry=[shapely.Point(1, 2)], crs=4326)
LINE = geopandas.GeoDataFrame({"n": [2]}, geometry=[shapely.LineString([(1, 2), (3, 4)])], crs=4326)


def package(**layers):
    """The bytes of a GeoPackage of these layers."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "x.gpkg"
        for name, frame in layers.items():
            frame.to_file(path, layer=name, driver="GPKG")
        return path.read_bytes()


def zipped(**files):
    """The bytes of a zip of these files."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(name.replace("_", "."), data)
    return out.getvalue()


def test_of_several_layers_the_one_that_is_wanted_is_read() -> None:
    """Lines from the layer of lines, whatever the layers are called."""
    data = package(LineString=POINT, other=LINE)

    assert read_layers(data, name="x.gpkg", sorts=("LineString",)).frame["n"].tolist() == [2]
    assert read_layers(data, name="x.gpkg", sorts=("Point",)).frame["n"].tolist() == [1]


def test_all_layers_are_read_when_nothing_is_asked_for() -> None:
    """One after another."""
    assert read_layers(package(a=POINT, b=LINE), name="x.gpkg").frame["n"].tolist() == [1, 2]


def test_measures_of_vertices_are_read_past(tmp_path: Path) -> None:
    """Owners' files often have them; nothing is said about them (broken files, seed 101)."""
    path = tmp_path / "m.gpkg"
    path.write_bytes(package(a=POINT))
    package_sql = sqlite3.connect(path)
    with package_sql:
        package_sql.execute("UPDATE gpkg_geometry_columns SET m = 1")
    package_sql.close()

    assert read_layers(path.read_bytes(), name="m.gpkg").frame["n"].tolist() == [1]


def test_a_coordinate_system_that_the_library_chokes_on_is_refused() -> None:
    """It ends in an error of its own making (broken files, seed 202)."""
    with tempfile.TemporaryDirectory() as folder:
        POINT.to_file(Path(folder) / "x.shp")
        sides = {one.name.replace(".", "_"): one.read_bytes() for one in Path(folder).iterdir()}
    broken = sides["x_prj"].replace(b"D_WGS", b"D_W\xcbS")

    with pytest.raises(ReadError, match=r"x\.zip"):
        read_layers(zipped(**sides | {"x_prj": broken}), name="x.zip")


def test_two_layers_that_fit_are_refused() -> None:
    """Which one is meant is not guessed."""
    with pytest.raises(ReadError, match=r"2 of its layers have Point geometry \(a \(Point\), b"):
        read_layers(package(a=POINT, b=POINT), name="x.gpkg", sorts=("Point",))


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (zipped(a_txt=b"x"), r"is a zip of 1 files \(1 bytes unpacked\) with 0 .shp"),
        (zipped(a_vrt=b"<OGRVRTDataSource/>"), "with 0 .shp"),
        (zipped(a_shp=b"x"), "cannot be read as a GIS file"),
        (b"PK\x03\x04broken", "cannot be read as a GIS file"),
        (b"SQLite format 3\0broken", "cannot be read as a GIS file"),
        (b'{"type": "FeatureCollection", "features": [{"type"', "cannot be read as a GIS file"),
    ],
    ids=["no shapefile", "no vrt", "bad shapefile", "bad zip", "bad package", "cut off"],
)
def test_what_the_library_cannot_read_is_one_sentence(data: bytes, sentence: str) -> None:
    """With the library's words but without its random names."""
    with pytest.raises(ReadError, match=sentence) as caught:
        read_layers(data, name="x")

    assert "pyogrio_" not in str(caught.value)
    assert "\n" not in str(caught.value)


def test_the_same_fault_reads_the_same_twice() -> None:
    """Messages do not change from run to run."""
    said = set()
    for _ in range(2):
        with pytest.raises(ReadError, match="cannot be read") as caught:
            read_layers(b'{"type": "FeatureCollection"', name="x")
        said.add(str(caught.value))

    assert len(said) == 1


@given(st.binary(max_size=60))
def test_no_bytes_after_a_known_beginning_break_the_reading(data: bytes) -> None:
    """Any rest is an error of ours or features."""
    for head in (b'{"type":', b"fgb\x03", b"PK\x03\x04"):
        with pytest.raises(ReadError, match="x: "):
            read_layers(head + data, name="x")


def in_system(frame, crs):
    """The bytes of a GeoPackage of a layer whose coordinates are called those of a system."""
    return package(layer=frame.set_crs(crs, allow_override=True))


def test_a_datum_near_wgs84_is_taken_as_one_and_said() -> None:
    """NAD83 by its system's code: a metre for each feature; WGS 84 adds nothing."""
    there = POINT.set_geometry([shapely.Point(-71.1, 42.37)], crs=4269).to_crs(2249)
    near, same = read_layers(package(a=there), name="x"), read_layers(package(a=POINT), name="x")

    assert near.datum_sd_m.tolist() == [pytest.approx(1 / 1.959964)]
    assert near.said == (
        "EPSG:2249 (NAD83) is taken as WGS 84: ± grows by 1 m; name a datum_operation to do better",
    )
    np.testing.assert_allclose(
        shapely.get_coordinates(near.frame.geometry), [[-71.1, 42.37]], rtol=0, atol=1e-10
    )
    assert (same.datum_sd_m.tolist(), same.said) == ([0.0], ())


def test_each_layer_has_its_own_datum() -> None:
    """And each is said once."""
    layers = {"a": POINT, "b": LINE.set_crs(4269, allow_override=True), "c": POINT, "d": LINE}
    read = read_layers(package(**layers), name="x")

    assert read.datum_sd_m.tolist() == pytest.approx([0.0, 1 / 1.959964, 0.0, 0.0])
    assert [text[:9] for text in read.said] == ["EPSG:4269"]


def test_an_old_datum_is_refused_unless_an_operation_is_named() -> None:
    """NAD27 is tens of metres off; by EPSG:1173 it is good to 10 m."""
    data = in_system(POINT.set_geometry([shapely.Point(-71.1, 42.37)]), 4267)
    with pytest.raises(ReadError, match=r"x: EPSG:4267 has the datum 'North American Datum 1927'"):
        read_layers(data, name="x")
    read = read_layers(data, name="x", datum_operation="EPSG:1173")
    moved_deg = np.abs(shapely.get_coordinates(read.frame.geometry) - [-71.1, 42.37])

    assert read.datum_sd_m.tolist() == [10.0]
    assert 1e-5 < moved_deg.max() < 1e-3


def test_what_has_no_place_in_its_system_is_off_the_globe() -> None:
    """Rings stay closed, so that the feature can be counted and left out."""
    far = shapely.Polygon([(0, 0), (1e12, 0), (1e12, 1e12)])
    data = in_system(POINT.set_geometry([far]), 26914)
    (geometry,) = read_layers(data, name="x").frame.geometry

    assert np.isinf(shapely.get_coordinates(geometry)).any()
