"""Files from disk to bytes: the only module that opens inputs.

In go paths, out come names with forward slashes and contents, as the other readers take them.
"""

import io
import zipfile
from collections.abc import Iterator
from importlib import resources
from pathlib import Path

from routeprep.errors import InputError, ReadError
from routeprep.readers.globs import matching, pattern_fault
from routeprep.readers.issuedlist import FILES as ISSUED_FILES
from routeprep.readers.jobtoml import parse_toml

__all__ = ["job_files", "kinds_text", "one_file"]

# A shapefile is several files of one stem (ESRI technical description, 1998; .cpg by practice).
_SHAPE = ".shp"
_SIDES = (".shp", ".shx", ".dbf", ".prj", ".cpg")

# Larger files are no survey of a few streets [bytes]; common practice, no source.
_BYTES_MOST = 500_000_000

# Tables that are read when they stand beside the job file.
_BESIDE = ("decisions.csv", "numbers.csv")


def _bytes(path: Path) -> bytes:
    """The content of a file.

    Raises
    ------
    ReadError
        If it is not there, cannot be opened, or is too large.
    """
    try:
        size = path.stat().st_size
        if size <= _BYTES_MOST:
            return path.read_bytes()
    except OSError as error:
        msg = f"{path}: cannot be opened ({error.strerror or error}); check the name"
        raise ReadError(msg, file=str(path)) from error
    msg = (
        f"{path}: has {size:,} bytes, and files of more than {_BYTES_MOST:,} are not read; cut out "
        "what the job needs, or take it out of the job"
    )
    raise ReadError(msg, file=str(path), bytes=size)


def _sides(path: Path) -> list[Path]:
    """The files of a shapefile that lie beside each other, whatever the case of their endings."""
    beside = [one for one in path.parent.iterdir() if one.stem == path.stem]
    return sorted(one for one in beside if one.suffix.lower() in _SIDES)


def _content(path: Path) -> bytes:
    """A file's bytes; a shapefile and its side files as one zip, the same bytes every time."""
    if path.suffix.lower() != _SHAPE or not path.is_file():
        return _bytes(path)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for one in _sides(path):
            # Without a time: the bytes must not depend on the clock.
            entry = zipfile.ZipInfo(f"{one.stem}{one.suffix.lower()}")
            entry.create_system = 3
            archive.writestr(entry, _bytes(one))
    return out.getvalue()


def one_file(path: Path) -> tuple[str, bytes]:
    """The name and content of one file; a shapefile comes as a zip of its files.

    Parameters
    ----------
    path
        The file.
    """
    return path.name, _content(path)


def _texts(value: object) -> Iterator[str]:
    """The names in a value of a job file: a text, a list of texts, or a table with a file."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, list):
        yield from (one for one in value if isinstance(one, str))
    elif isinstance(value, dict):
        yield from _texts(value.get("file"))


def _each(tables: object, key: str) -> list[object]:
    """The values of a key in a list of tables."""
    listed = tables if isinstance(tables, list) else []
    return [table.get(key) for table in listed if isinstance(table, dict)]


def _patterns(data: bytes, name: str) -> list[str]:
    """All names and patterns of a job file that lead to files; none when it cannot be read.

    What is wrong with it is said by who reads it as a whole.
    """
    try:
        top = parse_toml(data, name=name)
    except InputError:
        return []
    inputs = top.get("inputs")
    values = (
        [inputs.get(key) for key in ("drives", "walks", "marks", "records", "photos", "streets")]
        if isinstance(inputs, dict)
        else []
    )
    values += _each(top.get("leg"), "centerline") + _each(top.get("records"), "files")
    issued = inputs.get("issued") if isinstance(inputs, dict) else None
    if isinstance(issued, str) and issued.strip().strip("/"):
        values += [f"{issued.strip().strip('/')}/{name}" for name in ISSUED_FILES]
    texts = [text for value in values for text in _texts(value)]
    return [text for text in texts if not pattern_fault(text)]


def _found(folder: Path, pattern: str) -> list[str]:
    """Names of the files that a pattern means, relative to the folder."""
    plain = pattern.removeprefix("./")
    if (folder / plain).is_file():
        return [plain]
    deep = f"{plain}/*" if plain.endswith("**") else plain
    try:
        paths = [path for path in folder.glob(deep) if path.is_file()]
    except ValueError:  # "**" beside other letters is no pattern of the library, and fits nothing
        return []
    return matching(pattern, [path.relative_to(folder).as_posix() for path in paths])


def job_files(toml_path: Path) -> tuple[str, dict[str, bytes]]:
    """Read a job file and every file that it names.

    A side file of a shapefile is not a file of its own; what a name or pattern does not find is
    left to ``jobfile.read_job`` to say.

    Parameters
    ----------
    toml_path
        The job's TOML.

    Returns
    -------
    tuple of str and dict
        The TOML's name, and contents by name relative to its folder.
    """
    data, folder = _bytes(toml_path), toml_path.parent
    names = {name for one in _patterns(data, toml_path.name) for name in _found(folder, one)}
    names |= {name for name in _BESIDE if (folder / name).is_file()}
    shapes = {Path(name).with_suffix("") for name in names if name.lower().endswith(_SHAPE)}
    sides = {
        name
        for name in names
        if Path(name).with_suffix("") in shapes
        and Path(name).suffix.lower() in _SIDES
        and not name.lower().endswith(_SHAPE)
    }
    files = {name: _content(folder / name) for name in sorted(names - sides)}
    return toml_path.name, {toml_path.name: data, **files}


def kinds_text() -> str:
    """The text of the package's table of kinds."""
    return resources.files("routeprep").joinpath("kinds.toml").read_text("utf-8")
