"""Files handed over without their folders are put where the job looks for them."""

import pytest

from routeprep.errors import JobError
from routeprep.home import home
from routeprep.readers.disk import job_files
from routeprep.uploads import job_of_uploads

JOB = home() / "data" / "demo" / "job"
ALL = [(path.name, path.read_bytes()) for path in sorted(JOB.rglob("*.*"))]
TEXT = (JOB / "job.toml").read_text(encoding="utf-8")


def job(**inputs):
    """The demo's job file with these inputs, and without the others."""
    before, _, rest = TEXT.partition("[inputs]\n")
    lines = "".join(f"{key} = {value}\n" for key, value in inputs.items())
    return ("job.toml", f"{before}[inputs]\n{lines}\n{rest[rest.index('[[leg]]') :]}".encode())


def test_the_demo_without_folders_is_the_demo():
    """Every file comes back under the name that it has on disk, in any order."""
    name, files = job_files(JOB / "job.toml")

    assert job_of_uploads(ALL) == (name, files, ())
    assert job_of_uploads(reversed(ALL)) == (name, files, ())


@pytest.mark.parametrize("prefix", ["job/", "C:\\fakepath\\"])
def test_folders_that_come_along_do_not_matter(prefix):
    """Some browsers send a path; its last part is the name."""
    assert job_of_uploads([(prefix + name, held) for name, held in ALL]) == job_of_uploads(ALL)


@pytest.mark.parametrize(
    ("pattern", "place"),
    [
        ("drives/**/*.gpx", "drives/a-1-up.gpx"),
        ("**/a-1-up.gpx", "a-1-up.gpx"),
        ("*/a-1-up.gpx", "x/a-1-up.gpx"),
        ("./drives/a-1-up.gpx", "drives/a-1-up.gpx"),
    ],
)
def test_wildcards_for_folders(pattern, place):
    """A pattern of folders is given a folder that it fits."""
    files = [job(drives=f'["{pattern}"]'), *(one for one in ALL if one[0] != "job.toml")]

    assert place in job_of_uploads(files).files


def test_tables_beside_the_job_stay_there():
    """A pattern that fits every CSV does not take decisions and numbers for records."""
    files = [job(records='["more/*.csv"]'), *(one for one in ALL if one[0] != "job.toml")]
    named = set(job_of_uploads(files).files)

    assert {"decisions.csv", "numbers.csv"} <= named
    assert not {"more/decisions.csv", "more/numbers.csv"} & named


def test_a_shapefile_keeps_its_side_files():
    """Its files go into one folder and come back as one."""
    sides = [(f"covers.{end}", end.encode()) for end in ("shp", "shx", "dbf", "prj")]
    files = [job(records='["records/*.shp"]'), *ALL[1:], *sides]
    files = [one for one in files if one[0] != "job.toml"] + [files[0]]
    handed = job_of_uploads(files)

    assert handed.files["records/covers.shp"].startswith(b"PK")
    assert "covers.dbf" not in handed.unused


def test_photos_lie_where_the_job_looks_for_them():
    """As drives, marks and records do."""
    files = [job(photos='["photos/*.jpg"]'), ("1.jpg", b"x"), ("2.png", b"")]
    handed = job_of_uploads(files)

    assert handed.files["photos/1.jpg"] == b"x"
    assert handed.unused == ("2.png",)


def test_walks_lie_where_the_job_looks_for_them():
    """Beside the drives, in a folder of their own."""
    files = [job(drives='["drives/a-*.gpx"]', walks='["walks/w-*.gpx"]'), ("w-1.gpx", b"x")]

    assert job_of_uploads(files).files["walks/w-1.gpx"] == b"x"


def test_what_the_job_does_not_name_is_told():
    """Nothing handed over is dropped in silence."""
    assert job_of_uploads([*ALL, ("holiday.jpg", b"")]).unused == ("holiday.jpg",)


@pytest.mark.parametrize(
    ("files", "told"),
    [
        ([], "none of the files ends in .toml"),
        ([("a.toml", b""), ("b.toml", b"")], "a.toml, b.toml of the files"),
        ([("x/a.gpx", b""), ("y/a.gpx", b"")], "a.gpx was handed over twice"),
        (
            [job(drives='["drives/*.gpx"]', marks='["walks/*.gpx"]'), ("a.gpx", b"")],
            "a.gpx fits files .* in drives and in wal",
        ),
        ([("job.toml", b"format = ")], "job.toml"),
    ],
)
def test_what_cannot_be_placed_is_refused(files, told):
    """The file is named, and what to do about it."""
    with pytest.raises(JobError, match=told):
        job_of_uploads(files)


def test_street_maps_and_an_issued_pack_are_put_where_the_job_looks():
    """The list and report of the pack before go into its folder."""
    named = job(streets='["map/*.osm"]', issued='"issued/A"')
    files = [named, ("town.osm", b"<osm/>"), ("obstructions.csv", b"no"), ("report.json", b"{}")]

    assert sorted(job_of_uploads(files).files) == [
        "issued/A/obstructions.csv", "issued/A/report.json", "job.toml", "map/town.osm",
    ]  # fmt: skip


def test_files_of_records_tables_are_put_where_the_job_looks():
    """As those under [inputs] are."""
    name, text = job(records="[]")
    table = b'\n[[records]]\nfiles = "city/covers.csv"\nkind = "manhole"\n'
    others = [one for one in ALL if one[0] != "job.toml"]
    handed = job_of_uploads([(name, text + table), *others, ("covers.csv", b"lat,lon\n")])

    assert "city/covers.csv" in handed.files
