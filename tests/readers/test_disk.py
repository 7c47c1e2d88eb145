"""Files from disk: what a job names, nothing else, and shapefiles whole."""

import os
import tomllib
import warnings
from pathlib import Path

import geopandas
import pytest
import shapely

from routeprep.errors import ReadError
from routeprep.readers.disk import job_files, kinds_text, one_file
from routeprep.readers.vector import read_lines

JOB = """
[inputs]
drives = ["drives/*.gpx", "drives/a.gpx"]
records = ["records/*", "missing.csv", "../out.csv", "**x"]
photos = ["photo.jpg"]
[[leg]]
centerline = { file = "line.csv", where = "" }
[[leg]]
centerline = "./other.csv"
"""


def folder_with(folder: Path, *names: str) -> Path:
    """A job's folder with these files, each holding its own name."""
    for name in (*names, "job.toml"):
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(JOB if name == "job.toml" else name)
    return folder / "job.toml"


def shapefile(path: Path) -> None:
    """A shapefile of one line."""
    line = shapely.LineString([(-100.87, 41.43), (-100.86, 41.44)])
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        geopandas.GeoDataFrame({"n": [1]}, geometry=[line], crs=26914).to_file(path)


def test_a_job_s_files_are_those_that_it_names(tmp_path: Path) -> None:
    """Patterns, lines and the two tables; nothing beside, above or hidden."""
    job = folder_with(
        tmp_path, "drives/a.gpx", "drives/b.gpx", "drives/b.txt", "records/r.csv",
        "records/.hidden", "line.csv", "other.csv", "decisions.csv", "numbers.csv", "else.csv",
        "photo.jpg",
    )  # fmt: skip
    name, files = job_files(job)

    assert name == "job.toml"
    assert sorted(files) == [
        "decisions.csv", "drives/a.gpx", "drives/b.gpx", "job.toml", "line.csv", "numbers.csv",
        "other.csv", "photo.jpg", "records/r.csv",
    ]  # fmt: skip
    assert files["drives/a.gpx"] == b"drives/a.gpx"


@pytest.mark.parametrize(
    "text", ["format = ", "inputs = 1\nleg = 2", "inputs.drives = 1\nleg = [1]", "[[leg]]\nx = 1"]
)
def test_a_job_that_is_wrong_is_left_to_its_reader(tmp_path: Path, text: str) -> None:
    """Whoever reads the whole of it says what is wrong."""
    job = tmp_path / "job.toml"
    job.write_text(text)

    assert job_files(job) == ("job.toml", {"job.toml": text.encode()})


def test_a_shapefile_comes_whole_and_as_one_file(tmp_path: Path) -> None:
    """Its side files are in it and are no files of their own."""
    job = folder_with(tmp_path, "records/note.csv")
    shapefile(tmp_path / "records" / "line.shp")
    (tmp_path / "records" / "line.dbf").rename(tmp_path / "records" / "line.DBF")
    _, files = job_files(job)
    (piece,) = read_lines(files["records/line.shp"], name="line.shp")

    assert sorted(files) == ["job.toml", "records/line.shp", "records/note.csv"]
    assert piece.lon_deg.tolist() != []


def test_a_shapefile_packs_to_the_same_bytes(tmp_path: Path) -> None:
    """Whenever it is packed."""
    shapefile(tmp_path / "line.shp")
    first = one_file(tmp_path / "line.shp")
    for path in tmp_path.iterdir():
        path.touch()

    assert one_file(tmp_path / "line.shp") == first
    assert first[0] == "line.shp"


@pytest.mark.parametrize("name", ["nothing.gpx", "nothing.shp", "."])
def test_a_file_that_is_not_there_is_refused(tmp_path: Path, name: str) -> None:
    """By name, with the system's reason as the cause."""
    with pytest.raises(ReadError, match="cannot be opened") as caught:
        one_file(tmp_path / name)

    assert isinstance(caught.value.__cause__, OSError)


def test_the_table_of_kinds_is_in_the_package() -> None:
    """It is TOML with kinds in it."""
    assert tomllib.loads(kinds_text())["kind"]


def test_a_file_that_is_too_large_is_refused_before_it_is_read(tmp_path: Path) -> None:
    """A sparse file of 600 MB: its size is looked at, not its content."""
    path = tmp_path / "state.gpkg"
    path.touch()
    os.truncate(path, 600_000_000)
    with pytest.raises(ReadError, match="has 600,000,000 bytes, and files of more than") as caught:
        one_file(path)

    assert caught.value.facts["bytes"] == 600_000_000


def test_street_maps_and_the_two_files_of_an_issued_pack_are_a_job_s(tmp_path: Path) -> None:
    """Of the issued pack the list and the report, nothing else."""
    names = ("map/a.osm", "issued/A/obstructions.csv", "issued/A/report.json", "issued/A/map.html")
    job = folder_with(tmp_path, *names)
    job.write_text('[inputs]\nstreets = ["map/*"]\nissued = "issued/A/"\n')

    assert sorted(job_files(job)[1]) == ["issued/A/obstructions.csv", "issued/A/report.json",
                                         "job.toml", "map/a.osm"]  # fmt: skip


@pytest.mark.parametrize("issued", ['""', '"/"', '"../A"', "3"])
def test_an_issued_pack_that_is_none_is_left_to_say(tmp_path: Path, issued: str) -> None:
    """Nothing outside the job's folder is opened."""
    job = folder_with(tmp_path / "job", "a.gpx")
    folder_with(tmp_path, "A/obstructions.csv", "A/report.json")
    job.write_text(f"[inputs]\nissued = {issued}\n")

    assert sorted(job_files(job)[1]) == ["job.toml"]


def test_files_that_records_tables_name_are_a_job_s(tmp_path: Path) -> None:
    """Though nothing stands under [inputs]."""
    folder_with(tmp_path, "city/covers.gpkg", "city/other.csv")
    job = tmp_path / "job.toml"
    job.write_text('[[records]]\nfiles = "city/*.gpkg"\n[[records]]\nkind = "manhole"\n')

    assert sorted(job_files(job)[1]) == ["city/covers.gpkg", "job.toml"]
