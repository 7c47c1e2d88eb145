"""How wide a text is when it is printed in the sheets' typeface.

In go a text and a size, out comes a width that is never smaller than on paper, for drawings whose
labels must not touch.
"""

import functools
import io
from collections.abc import Mapping
from importlib import resources

from fontTools.ttLib import TTFont

__all__ = ["lines_of", "text_pt"]

_FACES = {False: "SourceSansPro-Regular.otf", True: "SourceSansPro-Bold.otf"}

# A glyph of another form (figures of one width) may be wider than the usual one.
_SPARE = 1.05
# What the typeface lacks is printed as its ballot box, which is about as wide as it is high.
_UNKNOWN = 1.0


@functools.cache
def _widths(*, bold: bool) -> Mapping[int, float]:
    """Advance of each character as a share of the size."""
    data = (resources.files("font_source_sans_pro") / "files" / _FACES[bold]).read_bytes()
    font = TTFont(io.BytesIO(data), lazy=True)
    advances, unit = font["hmtx"].metrics, font["head"].unitsPerEm
    return {code: advances[glyph][0] / unit for code, glyph in font.getBestCmap().items()}


def text_pt(text: str, size_pt: float, *, bold: bool = True) -> float:
    """Width of a line of text [pt], a little too much rather than too little.

    Parameters
    ----------
    text
        One line.
    size_pt
        Size of the type [pt].
    bold
        Whether it is bold.
    """
    widths = _widths(bold=bold)
    return sum(widths.get(ord(one), _UNKNOWN) for one in text) * size_pt * _SPARE


def _broken(word: str, size_pt: float, room_pt: float) -> list[str]:
    """A word in pieces that each fit, one character at least."""
    pieces = [""]
    for one in word:
        if pieces[-1] and text_pt(pieces[-1] + one, size_pt) > room_pt:
            pieces.append("")
        pieces[-1] += one
    return pieces


def lines_of(text: str, size_pt: float, *, room_pt: float) -> list[str]:
    """A bold text in lines that fit into some room, broken between words and, if need be, in them.

    Parameters
    ----------
    text
        Any text; none gives no line.
    size_pt
        Size of the type [pt].
    room_pt
        The longest line [pt].
    """
    lines: list[str] = []
    for word in text.split():
        for piece in _broken(word, size_pt, room_pt):
            longer = f"{lines[-1]} {piece}" if lines else piece
            if lines and text_pt(longer, size_pt) <= room_pt:
                lines[-1] = longer
            else:
                lines.append(piece)
    return lines
