"""From a template and plain data to the bytes of a PDF, always in the same typeface.

What people typed reaches the template only as data, so that it prints as typed and runs
nothing.  Characters that the typeface lacks become a box, and are counted.
"""

import datetime as dt
import functools
import io
import json
import tempfile
import unicodedata
from collections import Counter
from collections.abc import Mapping
from importlib import resources
from pathlib import Path

import typst
from fontTools.ttLib import TTFont

from routeprep.errors import OutputError

__all__ = ["BOX", "PAPERS", "lacking_texts", "printable", "typeset"]

# What the templates of all sheets import.
_PARTS = "sheet-parts.typ"

# What a template calls each paper.
PAPERS = {"letter": "us-letter", "a4": "a4", "tabloid": "us-tabloid"}

# Printed where the typeface lacks a character: its ballot box, since it has no white square.
BOX = "\N{BALLOT BOX}"

# Its package has each face as OTF and as TTF in one folder, and which of the two is taken from
# there depends on the order of the folder: so these two are handed over by themselves.
_FACES = ("SourceSansPro-Regular.otf", "SourceSansPro-Bold.otf")

# Nothing of these categories shows on paper, and some turn the letters around them about.
_UNSEEN = frozenset({"Cc", "Cf", "Cn", "Co", "Cs"})


@functools.cache
def _faces() -> Mapping[str, bytes]:
    folder = resources.files("font_source_sans_pro") / "files"
    return {name: (folder / name).read_bytes() for name in _FACES}


@functools.cache
def _covered() -> frozenset[int]:
    fonts = [TTFont(io.BytesIO(face), lazy=True) for face in _faces().values()]
    return frozenset.intersection(*(frozenset(font.getBestCmap()) for font in fonts))


def _shown(character: str) -> str:
    if character.isspace():
        return " "
    unseen = unicodedata.category(character) in _UNSEEN
    return BOX if unseen or ord(character) not in _covered() else character


@functools.cache
def _clear() -> frozenset[str]:
    """The characters that are printed as they are."""
    return frozenset(one for one in map(chr, _covered()) if _shown(one) == one)


def printable(value: object) -> tuple[object, Counter[str]]:
    """Put a box for each character that the typeface lacks, in all texts of some plain data.

    Line ends and other blanks become spaces, and letters with accents one character each.

    Parameters
    ----------
    value
        Text, a number, a list of values or a mapping of names to values, as deep as may be.

    Returns
    -------
    tuple
        The same data with other texts, and how often each lacking character occurred.

    Examples
    --------
    >>> text, lacking = printable("caf\u00e9 \U0001f6a7")
    >>> text == f"caf\u00e9 {BOX}", dict(lacking) == {"\U0001f6a7": 1}
    (True, True)
    """
    lacking: Counter[str] = Counter()
    return _printable(value, lacking), lacking


def _printable(value: object, lacking: Counter[str]) -> object:
    if isinstance(value, Mapping):
        return {name: _printable(one, lacking) for name, one in value.items()}
    if isinstance(value, list | tuple):
        return [_printable(one, lacking) for one in value]
    if not isinstance(value, str):
        return value
    text = unicodedata.normalize("NFC", value)
    if _clear().issuperset(text):
        return text
    shown = [_shown(character) for character in text]
    lacking.update(was for was, now in zip(text, shown, strict=True) if now == BOX != was)
    return "".join(shown)


def lacking_texts(lacking: Counter[str]) -> list[str]:
    """Each character that the typeface lacks, by its number and name, and how often it occurred.

    Examples
    --------
    >>> lacking_texts(Counter({"\u5de5": 2}))
    ['U+5DE5 CJK UNIFIED IDEOGRAPH-5DE5, 2 times']
    """
    return [
        f"U+{ord(one):04X} {unicodedata.name(one, 'without a name')}, {count} times"
        for one, count in sorted(lacking.items())
    ]


def typeset(
    template: bytes,
    data: Mapping[str, object],
    *,
    date: dt.date,
    pictures: Mapping[str, bytes] | None = None,
) -> bytes:
    """Typeset data as a tagged PDF (PDF/UA-1) that is the same for the same data.

    Parameters
    ----------
    template
        Source that reads ``sys.inputs.data``; it may import ``sheet-parts.typ``.
    data
        Plain data; only texts that went through ``printable``.
    date
        Stamped into the file: no clock is read.
    pictures
        What the template draws, by the plain file names that it uses.

    Raises
    ------
    OutputError
        If the template cannot be typeset or the typesetter warns; it keeps the diagnostic.
    """
    midnight = dt.datetime.combine(date, dt.time(), tzinfo=dt.UTC)
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        shared = {
            _PARTS: (resources.files(__package__) / _PARTS).read_bytes(),
            **_faces(),
            **(pictures or {}),
        }
        for name, content in shared.items():
            (Path(folder) / name).write_bytes(content)
        fonts = typst.Fonts(
            include_system_fonts=False, include_embedded_fonts=False, font_paths=[folder]
        )
        compiler = typst.Compiler(template, root=folder, font_paths=fonts)
        try:
            pdf, warnings = compiler.compile_with_warnings(
                format="pdf",
                sys_inputs={"data": json.dumps(data)},
                pdf_standards=["ua-1"],
                timestamp=midnight,
            )
        except typst.TypstError as error:
            msg = (
                f"the sheet cannot be typeset: {error.message}; its template is at fault, report it"
            )
            raise OutputError(msg, diagnostic=error.diagnostic) from error
    if warnings or not isinstance(pdf, bytes):
        found = [warning.message for warning in warnings]
        msg = (
            f"the typesetter warned: {found}, expected nothing; its template is at fault, report it"
        )
        raise OutputError(msg, warnings=found)
    return pdf
