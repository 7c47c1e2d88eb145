"""A pack is written whole or not at all, and always the same."""

import io
import json
import zipfile
from pathlib import Path

import pytest
from maps.example_pack import example_pack
from PIL import Image
from readers.made_photos import BASE, PLACE, jpeg, satellite

from routeprep.errors import OutputError
from routeprep.packing import FILES, pack_files, pack_of, write_pack, zip_bytes
from routeprep.sheets.evidence_pages import PHOTO_PX

PACK = example_pack()


def contents(folder):
    """Every file under a folder with its bytes."""
    return {path.name: path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """One pack, written once."""
    target = tmp_path_factory.mktemp("made") / "deep" / "pack"
    paths = write_pack(PACK, target, paper="letter")
    assert [path.name for path in paths] == list(FILES)
    return target


def test_a_pack_holds_every_file_and_nothing_else(made):
    """The names are fixed, none is empty, and nothing is left beside the folder."""
    assert sorted(contents(made)) == sorted(FILES)
    assert all(contents(made).values())
    assert list(made.parent.iterdir()) == [made]


def test_each_file_is_what_its_name_says(made):
    """The first bytes are those of the format."""
    held = contents(made)

    assert held["obstruction-sheet.pdf"].startswith(b"%PDF-")
    assert held["map.html"].lower().startswith(b"<!doctype html")
    assert held["obstructions.gpkg"].startswith(b"SQLite format 3")
    assert json.loads(held["report.json"])["format"] == 1
    assert json.loads(held["obstructions.geojson"])["type"] == "FeatureCollection"
    assert held["obstructions.csv"].startswith(b"no,leg,kind,")
    assert held["numbers.csv"].startswith(b"no,anchor_id,first_revision\n")


def test_the_same_pack_has_the_same_bytes(made, tmp_path):
    """Written again elsewhere, every file is the same."""
    pack_files(example_pack(), tmp_path, paper="letter")

    assert contents(tmp_path) == contents(made)


def test_paper_changes_the_sheets_alone(made, tmp_path):
    """Another size of paper is other sheets and the same data."""
    pack_files(PACK, tmp_path, paper="a4")
    differ = {name for name, held in contents(tmp_path).items() if held != contents(made)[name]}

    # The strip is for a board, which takes one size.
    sheets = {name for name in FILES if name.endswith(".pdf")} - {"obstruction-strip.pdf"}
    assert differ == sheets


@pytest.mark.parametrize("before", ["nothing", "an empty folder", "an older pack"])
def test_what_may_be_replaced(before, tmp_path):
    """A new folder, an empty one or an older pack takes the pack."""
    target = tmp_path / "pack"
    if before != "nothing":
        target.mkdir()
    if before == "an older pack":
        pack_files(PACK, target, paper="a4")
        (target / "map.html").write_text("old")
    write_pack(PACK, target, paper="letter")

    assert sorted(contents(target)) == sorted(FILES)
    assert contents(target)["map.html"] != b"old"
    assert list(tmp_path.iterdir()) == [target]


def test_a_file_in_the_way_is_refused(tmp_path):
    """A pack is a folder."""
    target = tmp_path / "pack"
    target.write_text("mine")
    with pytest.raises(OutputError, match=r"pack is a file; a pack is a folder"):
        write_pack(PACK, target, paper="letter")

    assert target.read_text() == "mine"


@pytest.mark.parametrize("report", [None, "{", "[]", '{"format": 1}'])
def test_a_folder_that_is_no_pack_is_refused_by_name(report, tmp_path):
    """Somebody's files are never replaced, also when one happens to be called report.json."""
    (tmp_path / "notes.txt").write_text("mine")
    if report is not None:
        (tmp_path / "report.json").write_text(report)
    with pytest.raises(OutputError, match=r"holds \d files or folders \(notes.txt first\)"):
        write_pack(PACK, tmp_path, paper="letter")

    assert (tmp_path / "notes.txt").read_text() == "mine"


def test_a_pack_with_a_persons_file_in_it_is_refused_by_name(tmp_path):
    """What was put into a pack's folder would be lost with it."""
    target = tmp_path / "pack"
    write_pack(PACK, target, paper="letter")
    (target / "notes.txt").write_text("mine")
    with pytest.raises(OutputError, match=r"also holds notes.txt, which would be lost"):
        write_pack(PACK, target, paper="letter")

    assert (target / "notes.txt").read_text() == "mine"


def test_a_place_that_cannot_be_written_is_named(tmp_path):
    """A parent that is a file holds no folder; the reason of the system is passed on."""
    (tmp_path / "file").write_text("")
    with pytest.raises(OutputError, match=r"file.pack cannot be written \(.*\)") as caught:
        write_pack(PACK, tmp_path / "file" / "pack", paper="letter")

    assert isinstance(caught.value.__cause__, OSError)


@pytest.mark.parametrize("at", ["obstruction-sheet.pdf", "obstructions.gpkg", FILES[-1]])
def test_an_interrupted_run_leaves_the_old_pack(at, tmp_path):
    """Stopped after any file, the old pack stands as it was and nothing lies beside it."""
    target = tmp_path / "pack"
    write_pack(PACK, target, paper="a4")
    before = contents(target)

    def stop(name):
        if name == at:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        write_pack(PACK, target, paper="letter", tell=stop)

    assert contents(target) == before
    assert list(tmp_path.iterdir()) == [target]


def test_a_swap_that_fails_puts_the_old_pack_back(tmp_path, monkeypatch):
    """If the new folder cannot take the place, the old one has it again."""
    target = tmp_path / "pack"
    write_pack(PACK, target, paper="a4")
    before = contents(target)
    rename = Path.rename

    def fails_for_the_new_one(self, other):
        if self.name == "new":
            raise PermissionError(13, "in use")
        return rename(self, other)

    monkeypatch.setattr(Path, "rename", fails_for_the_new_one)
    with pytest.raises(PermissionError, match="in use"):
        write_pack(PACK, target, paper="letter")

    assert contents(target) == before


def test_the_zip_holds_the_same_files(made):
    """Unpacked it is a folder called pack with the files of a written pack."""
    with zipfile.ZipFile(io.BytesIO(zip_bytes(PACK, paper="letter"))) as archive:
        held = {name.removeprefix("pack/"): archive.read(name) for name in archive.namelist()}

    assert held == contents(made)


def test_the_zip_is_the_same_every_time():
    """No clock and no order of a folder is in it."""
    assert zip_bytes(PACK, paper="letter") == zip_bytes(example_pack(), paper="letter")


# --- photos


def a_job(photos):
    """A job of one straight street with a steel plate that is decided STOP; files by name."""
    line = (
        '{"type": "Feature", "properties": {}, "geometry": {"type": "LineString", '
        '"coordinates": [[-100.88, 41.43], [-100.86, 41.43]]}}'
    )
    toml = (
        'format = 1\n[job]\nname = "one plate"\ndate = 2026-06-01\ntimezone = "America/Chicago"\n'
        f'[inputs]\nphotos = ["{photos}"]\n'
        '[[leg]]\ncode = "A"\nname = "Elm St"\nstart = "10+00"\ncenterline = "line.geojson"\n'
        "start_near = [-100.88, 41.43]\n"
    )
    decisions = (
        "anchor_id,field,value,by,when,why\nkind:PLATE,action,as proposed,J. Doe,2026-05-20,\n"
    )
    return {
        "job/job.toml": toml.encode(),
        "job/line.geojson": line.encode(),
        "job/decisions.csv": decisions.encode(),
    }


def plate():
    """A photo of a steel plate on the street, with its place and time."""
    gps = PLACE | satellite("2026:05:18", 17, 0, 0)
    return jpeg({BASE.ImageDescription: "steel plate outer wheel path"}, gps=gps, size=(2400, 1600))


def zipped(**files):
    """A zip of files."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, data in files.items():
            archive.writestr(f"{name}.jpg", data)
    return out.getvalue()


@pytest.mark.parametrize("name", ["plate.jpg", "photos.zip/plate.jpg"])
def test_the_photo_of_a_stop_is_printed_small_and_bare(name):
    """Also from a zip; where and when it was taken does not come along."""
    listed = name.partition("/")[0]
    held = zipped(plate=plate()) if listed.endswith(".zip") else plate()
    pack = pack_of("job/job.toml", a_job(listed) | {f"job/{listed}": held})
    (printed,) = pack.photos.values()
    picture = Image.open(io.BytesIO(printed))

    assert list(pack.photos) == [name]
    assert max(picture.size) == PHOTO_PX
    assert not picture.getexif()


def test_the_photo_of_what_is_not_decided_is_not_printed():
    """STOP for want of a decision is no STOP that somebody decided."""
    files = a_job("plate.jpg") | {"job/plate.jpg": plate()}
    del files["job/decisions.csv"]

    assert not pack_of("job/job.toml", files).photos


def test_a_photo_that_breaks_off_is_said_and_the_rest_goes_on():
    """Its tags can be read, its picture not."""
    files = a_job("plate.jpg") | {"job/plate.jpg": plate()[:6000]}
    pack = pack_of("job/job.toml", files)
    (said,) = [one for one in pack.findings if "photo of a STOP" in one.text]

    assert not pack.photos
    assert (said.level, said.where) == ("doubt", "plate.jpg")
