"""Street maps: OpenStreetMap extracts of both sorts, and any file of named lines."""

import hypothesis.strategies as st
import numpy as np
import pytest
import shapely
from hypothesis import given
from readers.made_osm import Way, pbf, xml
from readers.test_vector import KML_LINE, LINE, OTHER, written

from routeprep.errors import ReadError
from routeprep.readers.nearby import near_of
from routeprep.readers.sniff import sort_of
from routeprep.readers.streetmap import read_streets

A, B, C = (-100.87, 41.43), (-100.87, 41.44), (-100.86, 41.44)
ELM = Way([A, B], {"name": "Elm St", "highway": "residential"})
OAK = Way([B, C], {"name": "Oak  St ", "highway": "tertiary_link", "bridge": "yes"})
DEEP = Way([A, C], {"name": "Pine St", "highway": "service", "layer": "-2", "tunnel": "yes"})
LANE = Way([A, C], {"name": "Low Lane", "highway": "track", "tunnel": "culvert"})
OTHERS = [
    Way([A, B], {"highway": "residential"}),
    Way([A, B], {"name": "Elm Creek", "waterway": "stream"}),
    Way([A, B], {"name": "Elm Trail", "highway": "footway"}),
]
NEAR = near_of([(np.array([-100.87]), np.array([41.43]))])


@pytest.mark.parametrize("make", [xml, pbf])
def test_named_streets_of_an_extract_are_read(make):
    """The same streets from XML and from protocol buffers, to the 1e-7 degree they are kept in."""
    read = read_streets(make([ELM, OAK]), name="town.osm")

    assert [one.name for one in read.streets] == ["Elm St", "Oak St"]
    np.testing.assert_allclose([A[0], B[0]], read.streets[0].lon_deg, atol=1e-7, rtol=0)
    np.testing.assert_allclose([A[1], B[1]], read.streets[0].lat_deg, atol=1e-7, rtol=0)


@pytest.mark.parametrize("make", [xml, pbf])
def test_who_made_the_extract_is_named(make):
    """The licence asks for the credit (ODbL 1.0, 4.3)."""
    (elm,) = read_streets(make([ELM]), name="town.osm.pbf").streets

    assert elm.credit == "© OpenStreetMap contributors, ODbL"
    assert elm.source == "town.osm.pbf"


@pytest.mark.parametrize("make", [xml, pbf])
def test_bridges_and_tunnels_are_off_the_ground(make):
    """The tag layer says how far; a bridge or a culvert without it is one up or one down."""
    read = read_streets(make([ELM, OAK, DEEP, LANE]), name="town.osm")

    assert [one.level for one in read.streets] == [0, 1, -2, -1]


def test_what_is_no_named_street_is_left_and_counted():
    """A stream and a path are no streets, and a street without a name no landmark."""
    read = read_streets(xml([ELM, *OTHERS]), name="town.osm")

    assert read.source.taken == {"streets": 1}
    assert read.source.skipped == {"no name": 1, "no street": 2}
    assert read.findings == ()


@pytest.mark.parametrize("make", [xml, pbf])
def test_only_what_lies_near_the_job_is_read(make):
    """A street 1.1 km north of the job's one place is not read."""
    read = read_streets(make([ELM, Way([B, C], OAK.tags)]), name="town.osm", near=NEAR)

    assert [one.name for one in read.streets] == ["Elm St"]


def test_an_extract_of_elsewhere_is_said():
    """Nothing near the job is a doubt with a sentence, no silence."""
    (finding,) = read_streets(xml([OAK]), name="town.osm", near=NEAR).findings

    assert "has no named street near the job (no line near it)" in finding.text


@pytest.mark.parametrize("ending", ["geojson", "gpkg", "fgb", "zip"])
def test_any_file_of_named_lines_is_a_street_map(ending):
    """The column that names a line is found, and nobody has to be named for it."""
    data = written([LINE, OTHER], ending, epsg=32614, Street=["Elm St", "Oak St"])
    read = read_streets(data, name=f"town.{ending}", near=NEAR)

    assert [(one.name, one.credit, one.level) for one in read.streets] == [("Elm St", "", 0)]
    assert read.source.skipped == {"far from the job": 1}


def test_lines_of_kml_are_streets():
    """A placemark's name is the street's."""
    (elm,) = read_streets(KML_LINE, name="town.kml").streets

    assert elm.name == "Elm"


def test_lines_without_names_are_left_and_counted():
    """One of two has a name."""
    read = read_streets(written([LINE, OTHER], "geojson", name=["", "Oak St"]), name="t.geojson")

    assert (read.source.taken, read.source.skipped) == ({"streets": 1}, {"no name": 1})


def test_a_file_without_any_name_is_refused():
    """No landmark can come from it, and the person learns why."""
    with pytest.raises(ReadError, match="has 1 lines and none has a name; call the column"):
        read_streets(written([LINE], "geojson", width=[3.0]), name="town.geojson")


@pytest.mark.parametrize(
    ("data", "match"),
    [
        (b"a,b\n1,2\n", r"town: is a table \(CSV\) by its content, no street map"),
        (xml([ELM])[:-20], r"damaged or cut off \(\d+ bytes are there\); fetch the whole file"),
        (pbf([ELM])[:-9], "damaged or cut off"),
        (b"<!DOCTYPE osm [<!ENTITY a 'b'>]>" + xml([ELM]), "other XML by its content, no street"),
    ],
)
def test_what_cannot_be_read_gives_one_sentence(data, match):
    """Damaged, cut off, hostile or another sort of file."""
    with pytest.raises(ReadError, match=match):
        read_streets(data, name="town")


def test_a_street_off_the_globe_is_refused():
    """The library itself takes no latitude of 95 degrees."""
    with pytest.raises(ReadError, match="damaged or cut off"):
        read_streets(xml([Way([A, (-100.87, 95.0)], ELM.tags)]), name="town.osm")


def test_both_sorts_of_extract_are_known_by_content():
    """Whatever the file is called."""
    assert [sort_of(data, name="x") for data in (xml([ELM]), pbf([ELM]))] == ["osm", "osm"]


@given(cut=st.floats(0.0, 0.999))
def test_a_cut_off_extract_is_refused_or_loses_nothing_silently(cut):
    """Law: whatever is missing at the end, it raises our own error or has no street at all."""
    whole = pbf([ELM, OAK])
    data = whole[: int(len(whole) * cut)]
    try:
        read = read_streets(data, name="town.osm.pbf")
    except ReadError:
        return
    assert read.streets == ()
    assert read.findings


def test_a_street_of_one_point_is_none():
    """A way through one node has no length, so that it is no line."""
    assert not read_streets(xml([Way([A], ELM.tags)]), name="town.osm").streets


def test_geometry_is_a_line_of_its_own():
    """Streets hold copies, and can be drawn."""
    (elm,) = read_streets(xml([ELM]), name="town.osm").streets

    assert shapely.LineString(np.column_stack([elm.lon_deg, elm.lat_deg])).is_valid
