"""Files that broke the readers of others, under every key of a job: a sentence or a part.

None of them is in the project; see ``outside.open_data``.
"""

import time
import zoneinfo

import pytest
from builders import KINDS
from outside import open_data

from routeprep.errors import InputError
from routeprep.readers.jobfile import read_job
from routeprep.readers.listed import How, opened, read_listed

HOW = How(kinds=KINDS, zone=zoneinfo.ZoneInfo("UTC"), datum_operation="")
KEYS = ("drives", "marks", "records", "photos")
# Seconds that one file may take, on a machine that is busy with other things.
MOST_S = 2.0

SOURCES = {
    "gpx": "test files of tkrajina/gpxpy, georust/gpx, graphhopper/graphhopper and togeojson",
    "json": "nst/JSONTestSuite",
    "kml": "test files of OSGeo/gdal and of togeojson",
    "xml": "test files of defusedxml",
}
FILES = (
    "gpx/georust_badcharacter.gpx",
    "gpx/gpxpy__track-with-extremes.gpx",
    "gpx/graphhopper_no_trk.gpx",
    "gpx/graphhopper_no_trkpt.gpx",
    "gpx/graphhopper_test-only-wpt.gpx",
    "gpx/togeojson__bad.gpx",
    "gpx/togeojson__empty_trk.gpx",
    "json/i_number_huge_exp.json",
    "json/i_string_UTF-16LE_with_BOM.json",
    "json/n_number_NaN.json",
    "json/n_object_trailing_comma.json",
    "json/n_structure_100000_opening_arrays.json",
    "json/n_structure_no_data.json",
    "kml/gdal_truncated.kml",
    "kml/togeojson_nogeomplacemark.kml",
    "kml/togeojson_null_geometry.kml",
    "kml/togeojson_point_extra_coordinates.kml",
    "xml/dtd.xml",
    "xml/external.xml",
    "xml/quadratic.xml",
    "xml/xmlbomb.xml",
)
JOB = """
format = 1
[job]
name = "a hostile file"
date = 2026-06-01
timezone = "UTC"
units = "us"
revision = "A"
[[leg]]
code = "A"
name = "a street"
start = "0+00"
centerline = "hostile"
"""
# Files that can be used, and the key that each is used under.
USED = {
    "gpx/gpxpy__track-with-extremes.gpx": {"drives", "marks"},
    "gpx/graphhopper_test-only-wpt.gpx": {"drives", "marks", "records"},
    "kml/togeojson_point_extra_coordinates.kml": {"drives", "marks", "records"},
}


def data_of(name):
    """The bytes of one hostile file."""
    return open_data(f"hostile/{name}", source=SOURCES[name.split("/")[0]]).read_bytes()


def listed(data, name, key):
    """Read one file as a job does: all parts, each with its tables."""
    return [
        read_listed(inner, name=path, key=key, how=HOW)
        for path, inner in opened(data, name=name).files
    ]


def test_every_hostile_file_is_tried() -> None:
    """The list above is the folder's."""
    folder = open_data("hostile/xml/dtd.xml", source=SOURCES["xml"]).parent.parent

    assert sorted(str(path.relative_to(folder)) for path in folder.rglob("*.*")) == sorted(FILES)


@pytest.mark.parametrize("key", KEYS)
@pytest.mark.parametrize("name", FILES)
def test_a_hostile_file_is_a_sentence_or_a_part_under_any_key(name: str, key: str) -> None:
    """Its name is in the sentence, nothing is followed, and it is over at once."""
    data, begun_s = data_of(name), time.process_time()
    if key in USED.get(name, ()):
        (part,) = listed(data, name, key)

        assert len(part.fixes) + len(part.marks) + len(part.records) + len(part.findings) > 0
    else:
        with pytest.raises(InputError, match=r"\w") as caught:
            listed(data, name, key)

        assert str(caught.value).startswith(name)
        assert "\n" not in str(caught.value)
        assert len(str(caught.value)) < 500
    assert time.process_time() - begun_s < MOST_S


@pytest.mark.parametrize("name", FILES)
def test_a_hostile_file_is_a_sentence_as_a_centerline(name: str) -> None:
    """Or it has a line, which only the track of extremes and the route of another have."""
    files = {"job.toml": JOB.encode(), "hostile": data_of(name)}
    if name in {"gpx/gpxpy__track-with-extremes.gpx", "gpx/graphhopper_test-only-wpt.gpx"}:
        assert read_job("job.toml", files).survey.lines["A"]
        return
    with pytest.raises(InputError, match="hostile") as caught:
        read_job("job.toml", files)

    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("name", FILES)
def test_a_hostile_file_instead_of_a_job_is_a_sentence(name: str) -> None:
    """A job that is no TOML says so."""
    with pytest.raises(InputError, match=r"job\.toml: ") as caught:
        read_job("job.toml", {"job.toml": data_of(name)})

    assert caught.value.facts["file"] == "job.toml"
