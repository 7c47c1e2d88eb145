"""A reading of an obstruction sheet as a program reads it aloud: each row, told from its tags.

As a script, ``python tests/sheets/reading.py sheet.pdf`` prints what is read of each page of the
list: number, station, what, where, what to do.
"""

import re
import sys
from pathlib import Path
from typing import NamedTuple

from sheets.tag_tree import Tag, tag_tree

_NUMBER = re.compile(r"([A-Z]+-\d+[A-Z]*)(?: ↓ (.*))?")


class Read(NamedTuple):
    """What is read of one row."""

    page: int
    no: str
    ahead: str
    station: str
    what: str
    where: str
    do: str
    doubt: str


def _row(tag: Tag) -> Read | None:
    cells = [one.read() for one in tag.inside]
    match = _NUMBER.fullmatch(cells[1]) if len(cells) == 7 else None
    if match is None:
        return None
    return Read(tag.page + 1, match[1], match[2] or "", *cells[2:])


def rows_read(pdf: bytes) -> list[Read]:
    """The rows of the list in reading order; its page numbers count from 1."""
    found = [_row(tag) for tag in tag_tree(pdf).all("TR")]
    return [one for one in found if one is not None]


def lines_read(pdf: bytes) -> list[str]:
    """Everything that is read in the list, row by row, bands and landmarks too."""
    return [tag.read() for tag in tag_tree(pdf).all("TR")]


if __name__ == "__main__":
    for read in rows_read(Path(sys.argv[1]).read_bytes()):
        sys.stdout.write(" | ".join(map(str, read)) + "\n")
