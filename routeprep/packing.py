"""From a job's files to a pack, and from a pack to files.

In go the files that a person has, out comes a ``Pack``; in goes a ``Pack``, out comes a folder
that is swapped in whole, or the same files in one zip.
"""

import io
import json
import shutil
import tempfile
import zipfile
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path

from routeprep import exports
from routeprep.errors import OutputError, ReadError
from routeprep.exports.plan import passes_text, plan_text
from routeprep.job import prepare
from routeprep.listing import rows_by_leg
from routeprep.maps import page
from routeprep.readers.jobfile import Inputs, read_job
from routeprep.readers.listed import opened
from routeprep.readers.pictures import plain_jpeg
from routeprep.shapes import Finding, Pack
from routeprep.sheets import (
    change_slip,
    day_check,
    hand_work,
    obstruction_sheet,
    run_sheets,
    search_list,
    strip,
    tie_sheet,
)
from routeprep.sheets.evidence_pages import PHOTO_PX, photos_of_stops

__all__ = [
    "FILES",
    "pack_files",
    "pack_of",
    "prepared",
    "with_photos",
    "write_pack",
    "zip_bytes",
]

# What a pack holds, in the order in which it is made.
FILES = (
    "obstruction-sheet.pdf",
    "search-list.pdf",
    "change-slip.pdf",
    "obstruction-strip.pdf",
    "run-sheets.pdf",
    "hand-work.pdf",
    "tie-sheet.pdf",
    "day-check.pdf",
    "map.html",
    "obstructions.csv",
    "obstructions.geojson",
    "obstructions.gpx",
    "obstructions.gpkg",
    "passes.geojson",
    "plan.json",
    "report.json",
    "numbers.csv",
    "sort-before-issue.csv",
    "unrecorded.csv",
)
_SHEETS = {
    "obstruction-sheet.pdf": obstruction_sheet.render,
    "search-list.pdf": search_list.render,
    "change-slip.pdf": change_slip.render,
    "obstruction-strip.pdf": strip.render,
    "run-sheets.pdf": run_sheets.render,
    "hand-work.pdf": hand_work.render,
    "tie-sheet.pdf": tie_sheet.render,
    "day-check.pdf": day_check.render,
}
_TEXTS: dict[str, Callable[[Pack], str]] = {
    "map.html": page.render,
    "obstructions.csv": exports.csv_text,
    "obstructions.geojson": exports.geojson_text,
    "obstructions.gpx": exports.gpx_text,
    "passes.geojson": passes_text,
    "plan.json": plan_text,
    "report.json": exports.report_text,
    "numbers.csv": exports.numbers_text,
    "sort-before-issue.csv": exports.unsorted_text,
    "unrecorded.csv": exports.unrecorded_text,
}

_PLAIN_FILE = 0o100644 << 16


def _quiet(_name: str) -> None:
    """Tell nobody."""


def pack_of(name: str, files: Mapping[str, bytes]) -> Pack:
    """Prepare the pack of a job from its files.

    Parameters
    ----------
    name
        The job file's name, a key of ``files``.
    files
        Name relative to the job to content.
    """
    folder = name[: name.rfind("/") + 1]
    near = {path.removeprefix(folder): data for path, data in files.items()}
    return prepared(read_job(name, files), near)


def prepared(inputs: Inputs, files: Mapping[str, bytes]) -> Pack:
    """Prepare the pack of a job that was read.

    Parameters
    ----------
    inputs
        All that was read.
    files
        Name relative to the job's TOML to content, for the photos.
    """
    pack = prepare(
        inputs.survey,
        inputs.settings,
        inputs.decisions,
        inputs.numbers,
        issued=inputs.issued,
        remarks=inputs.remarks,
    )
    return with_photos(pack, files)


def with_photos(pack: Pack, files: Mapping[str, bytes]) -> Pack:
    """The pack with the photos of its STOPs, small and bare of all that the camera wrote.

    Parameters
    ----------
    pack
        Without photos.
    files
        Name relative to the job's TOML to content.
    """
    rows = [row for of_leg in rows_by_leg(pack).values() for row in of_leg]
    names = sorted({name for names in photos_of_stops(pack, rows).values() for name in names})
    if not names:
        # The very same pack, for which the list is already made.
        return pack
    photos, findings = {}, []
    for name in names:
        try:
            photos[name] = plain_jpeg(_photo(name, files), longest_px=PHOTO_PX, name=name)
        except ReadError as error:
            text = f"is the photo of a STOP and cannot be printed: {error}"
            findings.append(Finding(level="doubt", where=name, text=text))
    return replace(pack, photos=photos, findings=(*pack.findings, *findings))


def _photo(name: str, files: Mapping[str, bytes]) -> bytes:
    """A photo's bytes, also from the zip that it came in."""
    if name in files:
        return files[name]
    zipped = next(one for one in files if name.startswith(f"{one}/"))
    return dict(opened(files[zipped], name=zipped).files)[name]


def pack_files(
    pack: Pack, folder: Path, *, paper: str, tell: Callable[[str], None] = _quiet
) -> list[Path]:
    """Write every file of a pack into an existing folder and name them.

    Parameters
    ----------
    pack
        What to write.
    folder
        Where; files of the same names are replaced.
    paper
        "letter", "a4" or "tabloid".
    tell
        Called with each file's name once it is written.
    """
    paths = [folder / name for name in FILES]
    for path in paths:
        if path.name in _SHEETS:
            path.write_bytes(_SHEETS[path.name](pack, paper=paper))
        elif path.name == "obstructions.gpkg":
            exports.write_gpkg(pack, path)
        else:
            path.write_bytes(_TEXTS[path.name](pack).encode())
        tell(path.name)
    return paths


def write_pack(
    pack: Pack, target: Path, *, paper: str, tell: Callable[[str], None] = _quiet
) -> list[Path]:
    """Write a pack beside its target and swap it in whole, so that no half pack ever stands.

    Whatever stops it, the target is afterwards the old pack or the new one; only a process killed
    between the two renames leaves none, and then the old pack is whole in a hidden folder beside.

    Parameters
    ----------
    pack
        What to write.
    target
        The pack's folder: a new one, an empty one or an older pack.
    paper
        "letter", "a4" or "tabloid".
    tell
        Called with each file's name once it is written.

    Raises
    ------
    OutputError
        If the target holds anything that is not a pack's, or its place cannot be written.
    """
    _check_target(target)
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        beside = Path(tempfile.mkdtemp(prefix=f".{target.name}-", dir=target.parent))
    except OSError as error:
        msg = f"{target} cannot be written ({error}); choose a folder that can"
        raise OutputError(msg, target=str(target)) from error
    try:
        made = beside / "new"
        made.mkdir()
        pack_files(pack, made, paper=paper, tell=tell)
        _swap(made, target, aside=beside / "old")
    finally:
        shutil.rmtree(beside, ignore_errors=True)
    return [target / name for name in FILES]


def _swap(made: Path, target: Path, *, aside: Path) -> None:
    """Put one folder in another's place, and the other back if that fails."""
    if not target.exists():
        made.rename(target)
        return
    target.rename(aside)
    try:
        made.rename(target)
    finally:
        if not target.exists():
            aside.rename(target)


def _check_target(target: Path) -> None:
    """Refuse a target whose content would be lost.

    Raises
    ------
    OutputError
        Naming what is there.
    """
    if not target.exists():
        return
    if not target.is_dir():
        msg = f"{target} is a file; a pack is a folder, so give the name of one"
        raise OutputError(msg, target=str(target))
    held = sorted(path.name for path in target.iterdir())
    if held and not _is_report(target / "report.json"):
        msg = (
            f"{target} holds {len(held)} files or folders ({held[0]} first) and is not a pack; "
            "choose a new or empty folder, or an older pack"
        )
        raise OutputError(msg, target=str(target), held=held)
    strange = sorted(set(held) - set(FILES))
    if strange:
        msg = (
            f"{target} is a pack but also holds {', '.join(strange)}, which would be lost; "
            "move that away or choose another folder"
        )
        raise OutputError(msg, target=str(target), held=strange)


def _is_report(path: Path) -> bool:
    """Whether a file is the report of a pack."""
    try:
        report = json.loads(path.read_bytes())
    except (OSError, ValueError):
        return False
    return isinstance(report, dict) and {"format", "station_length", "job"} <= set(report)


def zip_bytes(pack: Pack, *, paper: str) -> bytes:
    """The files of a pack in one zip that unpacks into a folder ``pack``.

    The same pack gives the same bytes: names are sorted and every file has the same date.

    Parameters
    ----------
    pack
        What to write.
    paper
        "letter", "a4" or "tabloid".
    """
    out = io.BytesIO()
    with (
        tempfile.TemporaryDirectory() as folder,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive,
    ):
        for path in sorted(pack_files(pack, Path(folder), paper=paper)):
            # Without a time: the bytes must not depend on the clock.
            entry = zipfile.ZipInfo(f"pack/{path.name}")
            entry.create_system, entry.external_attr = 3, _PLAIN_FILE
            archive.writestr(entry, path.read_bytes(), zipfile.ZIP_DEFLATED)
    return out.getvalue()
