"""Patterns of file names, matched the same on every machine.

In go a pattern of a job file and names with forward slashes, out come those that it means.
"""

from collections.abc import Iterable
from fnmatch import fnmatchcase

from routeprep.readers.parts import shown

__all__ = ["matching", "pattern_fault"]


def pattern_fault(pattern: str) -> str:
    """What is wrong with a pattern; empty when nothing is."""
    if not pattern.strip():
        return "an empty name means no file; take it out"
    if "\\" in pattern:
        return f"{shown(pattern)} has a backslash; write forward slashes"
    if pattern.startswith("/") or pattern[1:2] == ":":
        return f"{shown(pattern)} is absolute; write it relative to the job file"
    if ".." in pattern.split("/"):
        return f"{shown(pattern)} leads out of the job's folder; put the file beside the job"
    return ""


def _fits(parts: list[str], pattern: list[str]) -> bool:
    if not pattern or not parts:
        return not parts and all(one == "**" for one in pattern)
    if pattern[0] == "**":
        return _fits(parts, pattern[1:]) or (
            not parts[0].startswith(".") and _fits(parts[1:], pattern)
        )
    hidden = parts[0].startswith(".") and not pattern[0].startswith(".")
    return not hidden and fnmatchcase(parts[0], pattern[0]) and _fits(parts[1:], pattern[1:])


def matching(pattern: str, names: Iterable[str]) -> list[str]:
    """The names that a pattern means, sorted: the one it spells out, or those that it fits.

    ``*`` stays inside one folder, ``**`` is any number of folders; case counts; names that begin
    with a dot are meant only by patterns that do.

    Examples
    --------
    >>> matching("drives/*.gpx", ["drives/b.gpx", "drives/a.gpx", "drives/old/c.gpx"])
    ['drives/a.gpx', 'drives/b.gpx']
    """
    plain = pattern.removeprefix("./")
    known = sorted(names)
    if plain in known:
        return [plain]
    parts = plain.split("/")
    return [name for name in known if _fits(name.split("/"), parts)]
