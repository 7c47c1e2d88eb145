"""The store's tables in a GeoPackage: what is written, and what of a stranger's is refused."""

import json
import sqlite3
from contextlib import closing

import geopandas
import pyogrio
import pytest
from made_entries import BLOBS, EVERY_KIND, LINE_SHA, PACK_SHA, every_kind, made
from stored_job import NOON

from routeprep.entries import make_entry
from routeprep.errors import EntryError, OutputError, ReadError
from routeprep.store import add_tables, is_job_file, read_job_file
from routeprep.store.schema import FORMAT


def written(path, entries=None, blobs=BLOBS):
    """A job file without layers."""
    add_tables(path, every_kind() if entries is None else entries, blobs, date=NOON.date())
    return path


def changed(path, *statements):
    """A job file on which somebody ran statements, its guards taken away before."""
    with closing(sqlite3.connect(path)) as connection:
        for table in ("entries", "blobs"):
            for act in ("update", "delete", "insert"):
                connection.execute(f"DROP TRIGGER {table}_stay_{act}")
        for one in statements:
            connection.execute(one)
        connection.commit()
    return path


def test_what_was_written_is_read_again(tmp_path):
    """Every kind of entry, and the bytes."""
    entries, blobs = read_job_file(written(tmp_path / "job.gpkg"))

    assert {one.entry_id: one for one in entries} == {one.entry_id: one for one in every_kind()}
    assert blobs == BLOBS


def test_the_same_entries_in_any_order_are_the_same_bytes(tmp_path):
    """Given twice, too."""
    forth = written(tmp_path / "forth.gpkg")
    back = written(tmp_path / "back.gpkg", [*every_kind()[::-1], *every_kind()],
                   dict(sorted(BLOBS.items(), reverse=True)))  # fmt: skip

    assert forth.read_bytes() == back.read_bytes()


def test_a_map_program_lists_and_reads_the_tables(tmp_path):
    """As GDAL does, without a layer beside them and with one."""
    bare, full = written(tmp_path / "bare.gpkg"), tmp_path / "full.gpkg"
    places = geopandas.GeoDataFrame({"no": ["A-1"]}, geometry=geopandas.points_from_xy([1], [2]),
                                    crs="EPSG:4326")  # fmt: skip
    places.to_file(full, layer="obstructions", driver="GPKG")
    written(full)
    tables = {"entries", "blobs", "routeprep_format"}

    assert {name for name, _ in pyogrio.list_layers(bare)} == tables
    assert {name for name, _ in pyogrio.list_layers(full)} == tables | {"obstructions"}
    rows = pyogrio.read_dataframe(full, layer="entries")
    assert set(rows["entry_id"]) == {one.entry_id for one in every_kind()}
    assert json.loads(rows.set_index("kind").loc["number", "body"]) == EVERY_KIND["number"][1]
    assert len(geopandas.read_file(full, layer="obstructions")) == 1


def test_reading_leaves_the_file_and_its_folder_as_they_were(tmp_path):
    """No log beside it, not a byte changed."""
    path = written(tmp_path / "job.gpkg")
    before = path.read_bytes()
    read_job_file(path)

    assert (path.read_bytes(), list(tmp_path.iterdir())) == (before, [path])


def test_a_geopackage_of_layers_alone_is_no_job(tmp_path):
    """It may be a line or somebody's covers."""
    path = tmp_path / "covers.gpkg"
    geopandas.GeoDataFrame(geometry=geopandas.points_from_xy([1], [2]), crs=4326).to_file(path)

    assert not is_job_file(path)
    with pytest.raises(ReadError, match=r"covers\.gpkg: holds map layers and no job; give what"):
        read_job_file(path)
    assert is_job_file(written(tmp_path / "job.gpkg"))


@pytest.mark.parametrize(
    "content", [None, b"", b"no database" * 99, b"SQLite format 3\0" + b"x" * 999]
)
def test_what_is_no_geopackage_is_refused(tmp_path, content):
    """Missing, empty, another thing, cut off."""
    path = tmp_path / "job.gpkg"
    if content is not None:
        path.write_bytes(content)

    assert not is_job_file(path)
    with pytest.raises(ReadError, match=r"job\.gpkg: (cannot be read|holds map layers)"):
        read_job_file(path)


def test_a_file_that_was_cut_off_is_refused(tmp_path):
    """At any page: never a part of a job for the whole."""
    whole = written(tmp_path / "job.gpkg").read_bytes()
    cut = tmp_path / "cut.gpkg"
    for size in range(4096, len(whole), 4096):
        cut.write_bytes(whole[:size])
        with pytest.raises((ReadError, EntryError)):
            read_job_file(cut)


def test_a_newer_format_is_refused_by_name(tmp_path):
    """With the file's name and both numbers."""
    path = changed(
        written(tmp_path / "job.gpkg"),
        f"UPDATE routeprep_format SET format={FORMAT + 1}",  # noqa: S608
    )

    assert is_job_file(path)
    with pytest.raises(
        ReadError, match=rf"job\.gpkg: is in format {FORMAT + 1}, .* newer routeprep"
    ):
        read_job_file(path)


@pytest.mark.parametrize(
    ("statement", "error", "told"),
    [
        ("DELETE FROM entries", ReadError, "holds no entries; a job file has one job"),
        ("UPDATE entries SET author = 'Eve'", EntryError, "it was changed"),
        ("UPDATE entries SET body = x'00' WHERE kind = 'mark'", EntryError, "is bytes, expected"),
        ("UPDATE entries SET counter = 'two' || serial", EntryError, "is str, expected int"),
        ("UPDATE entries SET thing = CAST(x'ff' AS TEXT)", ReadError, "cannot be read as a job"),
        ("DELETE FROM blobs", ReadError, "lacks the content '.*' of settings 'settings'"),
        ("UPDATE blobs SET content = 1000000000000", ReadError, "is no bytes"),
        ("UPDATE blobs SET content = 'text'", ReadError, "is no bytes"),
        ("UPDATE blobs SET sha256 = serial || 'x'", ReadError, "have the sha256"),
        ("UPDATE blobs SET content = zeroblob(400000)", ReadError, "400,000 bytes under"),
        ("ALTER TABLE entries DROP COLUMN thing", ReadError, "cannot be read as a job file"),
        (
            "ALTER TABLE blobs ADD COLUMN more AS (length(content) * 2)", ReadError,
            "blobs is computed and no plain table",
        ),
    ],
)  # fmt: skip
def test_a_file_that_was_changed_by_hand_is_refused(tmp_path, statement, error, told):
    """One sentence that names what is wrong; never a job that nobody recorded."""
    path = changed(written(tmp_path / "job.gpkg"), statement)

    with pytest.raises(error, match=told):
        read_job_file(path)


@pytest.mark.parametrize("table", ["entries", "blobs", "routeprep_format"])
def test_a_table_that_is_a_question_is_refused(tmp_path, table):
    """A view could be computed for ever."""
    path = changed(
        written(tmp_path / "job.gpkg"),
        f"ALTER TABLE {table} RENAME TO was",
        f"CREATE VIEW {table} AS SELECT * FROM was",  # noqa: S608
    )

    with pytest.raises(ReadError, match=f"{table} is computed and no plain table"):
        read_job_file(path)


def test_two_jobs_in_one_file_are_refused(tmp_path):
    """Both are named."""
    path = written(tmp_path / "job.gpkg", [made(), made(job="Elm (invented)")])

    with pytest.raises(
        ReadError, match=r"holds 'Elm \(invented\)', 'Oak Street \(invented\)'; a job"
    ):
        read_job_file(path)


@pytest.mark.parametrize(
    "name",
    [
        "../line.geojson", "/etc/passwd", "drives/../../x", "C:/x", "a\\b", ".", "", "drives//a",
        "drives/./a", "a\nb", "a\0b",
    ],
)  # fmt: skip
@pytest.mark.parametrize("kind", ["file", "settings"])
def test_a_name_that_leads_out_of_the_job_is_refused(name, kind):
    """In the entry of a file, or as the name of the job's TOML; made and read alike."""
    changes = {"thing": name} if kind == "file" else {"body": {"name": name, "sha256": LINE_SHA}}
    with pytest.raises(EntryError, match=r"is no plain file name|must be named|is no character"):
        made(kind, **changes)


def test_a_file_with_a_name_that_leads_out_is_refused_when_it_is_read(tmp_path, monkeypatch):
    """Somebody else's program may have made it, with an id that fits."""
    with monkeypatch.context() as patched:
        patched.setattr("routeprep.entries._file_fault", lambda _name: "")
        bad = made("file", thing="../../home/line.geojson")
        path = written(tmp_path / "job.gpkg", [bad])

    with pytest.raises(EntryError, match=r"'../../home/line\.geojson' is no plain file name"):
        read_job_file(path)


def test_what_cannot_be_written_is_told(tmp_path):
    """A folder that is not there; tables that are there already."""
    with pytest.raises(OutputError, match=r"cannot be written .* has room"):
        written(tmp_path / "none" / "job.gpkg")
    path = written(tmp_path / "job.gpkg")
    before = path.read_bytes()
    with pytest.raises(OutputError, match="table entries already exists"):
        written(path)

    assert path.read_bytes() == before


def test_an_entry_whose_time_cannot_be_is_refused(tmp_path):
    """A zone before the first year: one sentence, not a fault of the program."""
    path = changed(
        written(tmp_path / "job.gpkg"),
        "UPDATE entries SET time_utc = '0001-01-01T00:00:00+14:00' WHERE kind = 'tick'",
    )

    with pytest.raises(EntryError, match=r"is no entry \(time 0001-01-01 .* is not UTC\)"):
        read_job_file(path)


def test_the_pack_of_an_issue_and_every_file_must_be_there(tmp_path):
    """Each blob that an entry names, whatever kind it is."""
    for sha in (LINE_SHA, PACK_SHA):
        path = tmp_path / f"{sha[:4]}.gpkg"
        rest = {key: data for key, data in BLOBS.items() if key != sha}
        with pytest.raises(ReadError, match=f"lacks the content '{sha}'"):
            read_job_file(written(path, blobs=rest))


def test_a_taken_back_file_needs_no_bytes(tmp_path):
    """Its entry stays; what it said does not."""
    gone = make_entry(
        job=made().job, kind="file", thing="x.gpx", body=None, author="", device="d", counter=1,
        time_utc=None,
    )  # fmt: skip
    entries, blobs = read_job_file(written(tmp_path / "job.gpkg", [gone], {}))

    assert (entries, blobs) == ((gone,), {})
