"""XML that is only ever what it says: a stream parser that expands no entity and follows no link.

In goes a file's name, out comes an expat parser to hang handlers on; what cannot be used of a file
is counted here, and where a file breaks off is told here.
"""

from collections import Counter
from collections.abc import Iterator, Mapping
from typing import NamedTuple
from xml.parsers import expat

from routeprep.errors import ReadError
from routeprep.readers.parts import shown
from routeprep.shapes import Finding

__all__ = ["Break", "Missed", "left_out", "parse", "plain_parser"]


class Break(NamedTuple):
    """Where a file breaks off or is damaged, and why."""

    line: int
    why: str
    error: Exception

    def __str__(self) -> str:
        """Give line and reason as a message has them."""
        return f"line {self.line}: {self.why}"


def plain_parser(
    name: str, *, what: str, again: str, namespace_separator: str | None = None
) -> expat.XMLParserType:
    """Make a parser that refuses a document that could define entities.

    Parameters
    ----------
    name
        What the file is called, for messages.
    what
        What it should be, such as "GPX".
    again
        What to do, such as "export it as plain GPX".
    namespace_separator
        Stands between namespace and name of a tag; None leaves prefixes as they are.
    """
    parser = expat.ParserCreate(namespace_separator=namespace_separator)

    def refuse(doctype: str, *_others: object) -> None:
        msg = (
            f"{name}, line {parser.CurrentLineNumber}: declares the document type "
            f"{shown(doctype)}, which no {what} file has, so it is refused; {again}"
        )
        raise ReadError(msg, file=name, found=doctype)

    parser.StartDoctypeDeclHandler = refuse
    return parser


def parse(parser: expat.XMLParserType, data: bytes) -> Break | None:
    """Parse a whole file; None, or where it breaks off.

    Parameters
    ----------
    parser
        Of ``plain_parser``.
    data
        The file.

    Raises
    ------
    ReadError
        What the handlers refuse, as they do.
    """
    try:
        parser.Parse(data, True)  # noqa: FBT003 - the library's signature
    except expat.ExpatError as error:
        return Break(error.lineno, expat.ErrorString(error.code), error)
    except ReadError:
        raise
    except (LookupError, ValueError) as error:
        return Break(parser.CurrentLineNumber, str(error), error)
    return None


class Missed:
    """What of a file could not be used: how often, and where each reason came up first."""

    def __init__(self, parser: expat.XMLParserType) -> None:
        self.parser = parser
        self.skipped: Counter[str] = Counter()
        self.first: dict[str, str] = {}

    def miss(self, reason: str, found: str) -> None:
        """Count something that cannot be used, and keep where it came up first."""
        self.skipped[reason] += 1
        if reason not in self.first:
            self.first[reason] = f"line {self.parser.CurrentLineNumber}: {found}"


def left_out(
    skipped: Mapping[str, int],
    first: Mapping[str, str],
    *,
    name: str,
    lost: Mapping[str, str],
    otherwise: str,
) -> Iterator[Finding]:
    """Say what of a file was not used, by reason; a doubt where more than a value is lost.

    Parameters
    ----------
    skipped, first
        Of ``Missed``.
    name
        The file.
    lost
        What became of it, by the first word of the reason, where that is a doubt.
    otherwise
        What became of the rest, which is a note.
    """
    for reason in sorted(skipped):
        word = reason.split()[0]
        yield Finding(
            level="doubt" if word in lost else "note",
            where=name,
            text=f"{skipped[reason]} {reason}, the first at {first[reason]}; "
            f"{lost.get(word, otherwise)}",
        )
