"""Zips of other files, unpacked within bounds.

In go bytes of a zip, out come the names and contents of its files.  What is encrypted, leads out
of its folder, packs itself too small or unpacks too large is refused by name; sizes that the zip
declares are never trusted.
"""

import io
import re
import stat
import zipfile
import zlib
from collections import Counter
from collections.abc import Iterator
from typing import NamedTuple

from routeprep.errors import ReadError
from routeprep.readers.parts import shown

__all__ = ["Unpacked", "member_of", "names_in", "unpack"]

# More files, more bytes unpacked, or more bytes for one byte packed than these are no survey.
# Deflate packs no file better than 1,032 to 1 (RFC 1951); logs of positions pack 5 to 30 to 1.
# Common practice, no source.
_FILES_MOST = 5_000
_BYTES_MOST = 1_000_000_000
_RATIO_MOST = 200
# Small files may pack as well as they like [bytes].
_RATIO_FROM = 1_000_000

# Bytes read at a time.
_CHUNK = 1 << 20

# Bit 0 of the flags: encrypted (APPNOTE 4.4.4).
_ENCRYPTED = 0x1
_METHODS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
_DRIVE = re.compile(r"[A-Za-z]:")


class Unpacked(NamedTuple):
    """The files of a zip.

    Attributes
    ----------
    files
        Name in the zip and content, in the order of their names.
    hidden
        How many files of the system that made it were left out.
    """

    files: tuple[tuple[str, bytes], ...]
    hidden: int


def _hidden(path: str) -> bool:
    """Whether a file is one that systems add for themselves."""
    parts = [part for part in path.split("/") if part not in {".", ".."}]
    return any(part == "__MACOSX" or part.startswith(".") for part in parts)


def _entry_fault(entry: zipfile.ZipInfo) -> str:
    """Why a file of a zip is not read; empty when it is."""
    path = entry.filename
    if not path:
        return "has no name"
    if "\\" in path or path.startswith("/") or _DRIVE.match(path) or ".." in path.split("/"):
        return "leads out of its folder"
    if entry.flag_bits & _ENCRYPTED:
        return "is encrypted"
    if stat.S_ISLNK(entry.external_attr >> 16):
        return "is a link to another file"
    if entry.compress_type not in _METHODS:
        return f"is packed by method {entry.compress_type}, and only 0 and 8 are read"
    return ""


def _check(entries: list[zipfile.ZipInfo], name: str) -> None:
    """Refuse a zip with too many files, two of one name, or one that is not read.

    Raises
    ------
    ReadError
        Naming the first such file.
    """
    if len(entries) > _FILES_MOST:
        msg = f"{name}: is a zip of {len(entries):,} files; more than {_FILES_MOST:,} are not read"
        raise ReadError(msg, file=name, entries=len(entries))
    faults = [(entry.filename, _entry_fault(entry)) for entry in entries]
    twice = [path for path, count in Counter(entry.filename for entry in entries).items()
             if count > 1]  # fmt: skip
    faults += [(path, "stands in it twice") for path in twice]
    wrong = [f"{shown(path)} {fault}" for path, fault in faults if fault]
    if wrong:
        more = f" (and {len(wrong) - 1} more such)" if len(wrong) > 1 else ""
        msg = f"{name}: is a zip in which {wrong[0]}{more}; pack it again without"
        raise ReadError(msg, file=name, faults=tuple(wrong))


def _entries(archive: zipfile.ZipFile, name: str) -> tuple[list[zipfile.ZipInfo], int]:
    """The files to read, by name, and how many hidden ones there are."""
    files = [entry for entry in archive.infolist() if not entry.filename.endswith("/")]
    seen = [entry for entry in files if not _hidden(entry.filename)]
    _check(seen, name)
    return sorted(seen, key=lambda entry: entry.filename), len(files) - len(seen)


def _open(data: bytes, name: str) -> zipfile.ZipFile:
    """The zip.

    Raises
    ------
    ReadError
        If it is none, or is damaged.
    """
    try:
        return zipfile.ZipFile(io.BytesIO(data))
    except (zipfile.BadZipFile, ValueError, NotImplementedError, UnicodeError) as error:
        msg = f"{name}: is a zip that cannot be opened ({error}); fetch the whole file again"
        raise ReadError(msg, file=name, diagnostic=str(error)) from error


def _chunks(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, name: str) -> Iterator[bytes]:
    """The content of one file, piece by piece.

    Raises
    ------
    ReadError
        If it is damaged.
    """
    try:
        with archive.open(entry) as stream:
            while chunk := stream.read(_CHUNK):
                yield chunk
    except (zipfile.BadZipFile, zlib.error, EOFError, ValueError, OSError, RuntimeError) as error:
        msg = f"{name}: {shown(entry.filename)} in it is damaged ({error}); fetch the zip again"
        raise ReadError(msg, file=name, member=entry.filename) from error


def _content(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, name: str, room: int) -> bytes:
    """The content of one file, as long as it stays within the room that is left [bytes].

    Raises
    ------
    ReadError
        If it unpacks too large, by itself or for what it is packed in.
    """
    content = bytearray()
    for chunk in _chunks(archive, entry, name):
        content += chunk
        swollen = len(content) > max(_RATIO_FROM, _RATIO_MOST * entry.compress_size)
        if len(content) > room or swollen:
            msg = (
                f"{name}: {shown(entry.filename)} in it unpacks from {entry.compress_size:,} to "
                f"more than {len(content) - len(chunk):,} bytes; it is not read further, since a "
                f"zip may unpack to {_BYTES_MOST:,} bytes and {_RATIO_MOST} times its size; give "
                "the files themselves"
            )
            raise ReadError(msg, file=name, member=entry.filename)
    return bytes(content)


def names_in(data: bytes, *, name: str) -> tuple[str, ...]:
    """Names of the files in a zip, sorted, without hidden ones.

    Parameters
    ----------
    data
        The zip.
    name
        Its name, for messages.
    """
    with _open(data, name) as archive:
        return tuple(entry.filename for entry in _entries(archive, name)[0])


def member_of(data: bytes, path: str, *, name: str) -> bytes:
    """The content of one file of a zip.

    Parameters
    ----------
    data
        The zip.
    path
        The file's name in it, one of ``names_in``.
    name
        The zip's name, for messages.
    """
    with _open(data, name) as archive:
        return _content(archive, archive.getinfo(path), name, _BYTES_MOST)


def unpack(data: bytes, *, name: str) -> Unpacked:
    """Unpack all files of a zip.

    Parameters
    ----------
    data
        The zip.
    name
        Its name, for messages.

    Raises
    ------
    ReadError
        If it holds no file, or one that is not read.
    """
    with _open(data, name) as archive:
        entries, hidden = _entries(archive, name)
        files, room = [], _BYTES_MOST
        for entry in entries:
            content = _content(archive, entry, name, room)
            room -= len(content)
            files.append((entry.filename, content))
    if not files:
        msg = f"{name}: is a zip without a file to read ({hidden} hidden); pack the files again"
        raise ReadError(msg, file=name)
    return Unpacked(tuple(files), hidden)
