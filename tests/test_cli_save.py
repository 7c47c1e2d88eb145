"""``routeprep save`` and ``merge``: a job in one file, and the same pack from it."""

import geopandas
import pyogrio
import pytest
from click.testing import CliRunner

from routeprep.access import SUPERINTENDENT, Person
from routeprep.cli import main
from routeprep.home import home
from routeprep.office import open_office_store
from routeprep.store import read_job_file

JOB = home() / "data" / "demo" / "job" / "job.toml"
NAME = "Bluestem Road and Alder Street (invented)"
# What tells of the list alone, and of no file that it was made from.
SAME = ("obstructions.csv", "obstructions.geojson", "map.html", "plan.json", "run-sheets.pdf")


def run(*words):
    """The command, which must end well."""
    done = CliRunner().invoke(main, [str(word) for word in words], catch_exceptions=False)
    assert (done.exit_code, done.stderr) == (0, "")
    return done.stdout


@pytest.fixture(scope="module")
def saved(tmp_path_factory):
    """The demo's job file, and what was said of it."""
    path = tmp_path_factory.mktemp("saved") / "job.gpkg"
    return path, run("save", JOB, "-o", path)


def test_it_says_what_was_saved(saved):
    """The job, how many entries and how many files."""
    path, said = saved
    entries, blobs = read_job_file(path)

    assert said == (f"{path}: {NAME}; entries: {len(entries)}; contents of files: {len(blobs)}\n")


def test_any_map_program_opens_it(saved):
    """Its layers with their places, and the tables of what was recorded."""
    path, _ = saved
    layers = {str(name) for name, _ in pyogrio.list_layers(path)}

    assert {"obstructions", "centerlines", "fixes", "marks", "entries", "blobs"} <= layers
    assert len(geopandas.read_file(path, layer="obstructions")) == 69


def test_the_pack_is_the_same_from_the_toml_the_job_file_and_the_store(
    saved, tmp_path, monkeypatch
):
    """To the byte, but for what names the files it was made from."""
    path, _ = saved
    monkeypatch.setenv("ROUTEPREP_STORE", f"sqlite:///{tmp_path / 'jobs.db'}")
    entries, blobs = read_job_file(path)
    with open_office_store() as store:
        store.append(entries, blobs, by=Person(name="Ann", role=SUPERINTENDENT))
    for name, job in (("toml", JOB), ("file", path), ("store", f"store:{NAME}")):
        run("brief", job, "-o", tmp_path / name)

    for name in SAME:
        made = {(tmp_path / way / name).read_bytes() for way in ("toml", "file", "store")}
        assert (name, len(made)) == (name, 1)


def test_a_copy_merged_with_itself_is_itself(saved, tmp_path):
    """Nothing is edited twice."""
    path, _ = saved
    said = run("merge", path, path, "-o", tmp_path / "both.gpkg")

    assert "EDITED TWICE" not in said
    assert read_job_file(tmp_path / "both.gpkg") == read_job_file(path)


def test_an_input_is_never_written_over(saved):
    """By either command."""
    path, _ = saved
    for words in (("save", path), ("merge", path, path)):
        done = CliRunner().invoke(main, [*map(str, words), "-o", str(path)])
        assert done.exit_code == 1
        assert "is an input" in done.stderr
