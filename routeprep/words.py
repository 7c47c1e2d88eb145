"""The text of a mark as bits: words with their roles, measures, separators.

In goes any text, out come its bits in order, without case, accents, width and articles, each with
the place where it stands in the text as typed.  Here too are the phrases that mean something
beside the name of a thing: where across the road, how a height is known, plain modifiers,
negations, doubts.
"""

import functools
import math
import re
import unicodedata
from collections.abc import Iterator, Mapping
from enum import StrEnum
from typing import NamedTuple

from routeprep.units import to_m

__all__ = ["BESIDE_MEASURES", "OWN_PHRASES", "Bit", "Phrase", "Role", "bits_of", "measured"]

Phrase = tuple[str, ...]


class Role(StrEnum):
    """What a bit does in a text; WORD is not understood (yet)."""

    WORD = "word"
    SPLIT = "split"
    BRACKET = "bracket"
    MEASURE = "measure"
    KIND = "kind"
    ACROSS = "across"
    NOTE = "modifier"
    FILLER = "filler"
    AGAINST = "negation"
    DOUBT = "doubt"
    SIZE = "size"
    HEIGHT = "height"
    BY = "how a height is known"
    OF_HEIGHT = "height word"


class Bit(NamedTuple):
    """One bit of a text.

    Attributes
    ----------
    role
        What it does.
    value
        The folded word, or what the phrase stands for.
    start, end
        Where it stands in the text as typed.
    """

    role: Role
    value: str
    start: int
    end: int


_PATHS = ("wheel path", "wheelpath", "wheel track", "wheeltrack", "wp")


def _paths(*which: str) -> tuple[str, ...]:
    return tuple(f"{one} {path}" for one in which for path in _PATHS)


# Where across the road: the words stored, and what people type for them, without articles.
_ACROSS_SAID = {
    "curb or edge": (
        "curb or edge", "curb", "kerb", "curb line", "curbline", "curbside", "gutter",
        "gutter line", "gutterline", "flow line", "flowline", "edge", "edge line", "fog line",
        "edge of road", "edge of pavement", "pavement edge", "road edge", "eop",
    ),
    "outer wheel path": ("owp", *_paths("outer", "outside")),
    "between wheel paths": (
        "between wheel paths", "between wheelpaths", "between wheel tracks", "between wheels",
        "between wp", "bwp", "middle of lane", "center of lane", "centre of lane", "lane center",
        "mid lane", "midlane",
    ),
    "inner wheel path": ("iwp", *_paths("inner", "inside")),
    "on the line": (
        "on line", "centerline", "center line", "centreline", "centre line", "cl",
        "double yellow", "yellow line", "middle of road", "center of road", "centre of road",
    ),
    "right wheel path": ("rwp", *_paths("right", "rt", "right hand")),
    "left wheel path": ("lwp", *_paths("left", "lt", "left hand")),
    "right side": ("right side", "rt side", "right hand side", "rhs", "right", "rt"),
    "left side": ("left side", "lt side", "left hand side", "lhs", "left", "lt"),
    "other side": (
        "other side", "other side of road", "opposite side", "opposite lane", "opposing lane",
        "oncoming lane", "far side", "other direction",
    ),
    "whole road": (
        "whole road", "whole street", "whole width", "full width", "full road", "entire road",
        "entire width", "curb to curb", "all lanes",
    ),
}  # fmt: skip

# Modifiers that tell what a measure beside them is.
BESIDE_MEASURES: Mapping[str, tuple[str, ...]] = {
    "level": (
        "low", "high", "proud", "deep", "shallow", "sunken", "raised", "recessed", "lowered",
    ),
    "width": ("wide", "long", "dia", "diameter"),
    "roughly": ("about", "approx", "approximately", "roughly"),
}  # fmt: skip
_BY_SAID = {
    "posted": ("posted",),
    "measured": ("measured", "meas", "taped"),
    "guess": ("guess", "guessed", "estimate", "estimated", "est"),
}
_PLAIN = {
    Role.FILLER: ("at", "in", "on", "near", "side", "of", "by"),
    Role.OF_HEIGHT: ("clearance", "height", "clear", "tall"),
    Role.NOTE: (
        *(word for words in BESIDE_MEASURES.values() for word in words),
        "near side", "old", "new", "existing", "broken", "cracked", "damaged", "loose", "rusty",
        "bad", "rough", "round", "square", "rectangular", "big", "large", "small", "little",
        "double", "single", "temporary", "temp", "wheel path", "wheelpath",
    ),
    Role.AGAINST: (
        "no", "not", "none", "never", "nothing", "without", "w o", "gone", "removed", "missing",
        "isnt", "arent", "wasnt", "aint", "cant", "cannot", "couldnt", "didnt", "doesnt", "dont",
        "wont", "cancel", "cancelled", "canceled", "delete", "deleted", "ignore", "disregard",
        "scratch", "mistake", "wrong", "false", "oops", "undo",
    ),
    Role.DOUBT: (
        "?", "maybe", "or", "think", "unsure", "check", "perhaps", "possible", "possibly",
        "probable", "probably", "likely", "might", "could", "either", "verify", "confirm",
        "suspect", "suspected",
    ),
}  # fmt: skip
_ARTICLES = ("the", "a", "an")

# Measures.  Numbers are short, so that none is too large; nothing here repeats without bound.
_NUMBER = r"[0-9]{1,4}(?:[.,][0-9]{1,3})?"
_END = r"(?![^\W_])"
_GAP = r"[\ -]?"
_FOOT = rf"(?:(?:ft|feet|foot){_END}\.?|'(?!'))"
# "24 in the ..." is no inch.
_INCH = rf"(?:in(?:ch(?:es)?)?{_END}\.?(?!\ (?:the|a|an)\b)|''|\")"
_UNIT = rf"(?:{_FOOT}|{_INCH}|(?:mm|cm|m|met(?:er|re)s?){_END})"
_SCAN = re.compile(
    rf"""
    (?P<measure>
        {_NUMBER}{_GAP}{_FOOT}[\ -]{{0,3}}{_NUMBER}{_GAP}{_INCH}
      | {_NUMBER}'[\ -]?{_NUMBER}(?![^\W_]|'|[.,][0-9])
      | {_NUMBER}{_GAP}{_UNIT}?\ ?(?:x|by)\ ?{_NUMBER}{_GAP}{_UNIT}
      | {_NUMBER}{_GAP}{_UNIT}
    )
  | (?P<number>[0-9]+(?:[.,][0-9]+)*)
  | (?P<initials>(?:[a-z]\.){{1,4}}[a-z](?![^\W\d_])\.?)
  | (?P<word>[^\W\d_]+(?:'[^\W\d_]+)*)
  | (?P<split>[,;:\n]|-(?=\ |$)|(?<=\ )-|^-)
  | (?P<bracket>[()\[\]{{}}])
  | (?P<blank>[\ .!*_/\\'"-])
  | (?P<symbol>.)
    """,
    re.VERBOSE | re.DOTALL,
)
_UNIT_NAMES = {
    **dict.fromkeys(("ft", "feet", "foot", "'"), "ft"),
    **dict.fromkeys(("in", "inch", "inches", "''", '"'), "in"),
    **dict.fromkeys(("m", "meter", "meters", "metre", "metres"), "m"),
    "mm": "mm",
    "cm": "cm",
}
_UNITS_SAID = re.compile(r"met(?:er|re)s?|inch(?:es)?|in|feet|foot|ft|mm|cm|m|''|['\"]")
_INCHES_A_FOOT = 12

_SAME_CHARACTER = str.maketrans(
    {
        **dict.fromkeys("\N{RIGHT SINGLE QUOTATION MARK}\N{LEFT SINGLE QUOTATION MARK}"
                        "\N{MODIFIER LETTER APOSTROPHE}\N{PRIME}`\N{ACUTE ACCENT}", "'"),
        **dict.fromkeys("\N{LEFT DOUBLE QUOTATION MARK}\N{RIGHT DOUBLE QUOTATION MARK}"
                        "\N{DOUBLE PRIME}", '"'),
        **dict.fromkeys("\N{HYPHEN}\N{NON-BREAKING HYPHEN}\N{EN DASH}\N{MINUS SIGN}", "-"),
        **dict.fromkeys("\N{EM DASH}\N{HORIZONTAL BAR}", ";"),
        **dict.fromkeys("\r\v\f\N{NEXT LINE}\N{LINE SEPARATOR}\N{PARAGRAPH SEPARATOR}", "\n"),
        "\N{MULTIPLICATION SIGN}": "x",
    }
)  # fmt: skip
_WORD_FOR = {"&": "and", "@": "at"}
# Combining class of marks that strike a letter through: they are no accents.
_STRUCK = 1


# Few characters make nearly all of what people write.
@functools.lru_cache(maxsize=1024)
def _same_characters(char: str) -> tuple[str, ...]:
    same = []
    for one in unicodedata.normalize("NFKD", char.translate(_SAME_CHARACTER)).casefold():
        category = unicodedata.category(one)
        if category == "Cf" or (category == "Mn" and unicodedata.combining(one) != _STRUCK):
            continue
        same.append(" " if category[0] == "Z" or (category == "Cc" and one != "\n") else one)
    return tuple(same)


def _folded(text: str) -> tuple[str, list[int]]:
    # The text to scan, runs of blanks made one, and where each character of it stood.
    chars: list[str] = []
    places: list[int] = []
    for place, char in enumerate(text):
        for one in _same_characters(char):
            if one == " " and chars and chars[-1] == " ":
                continue
            chars.append(one)
            places.append(place)
    return "".join(chars), [*places, len(text)]


def bits_of(text: str) -> Iterator[Bit]:
    r"""Words, measures, separators and brackets of any text, in order.

    Articles, blanks and plain punctuation make no bit; any other sign is a word of its own.

    Examples
    --------
    >>> [bit.value for bit in bits_of("The MANHOLE, 24\" (old)?")]
    ['manhole', ',', '24"', '(', 'old', ')', '?']
    """
    folded, places = _folded(text)
    for match in _SCAN.finditer(folded):
        sort = str(match.lastgroup)
        value = _WORD_FOR.get(match[0], match[0])
        if sort in ("word", "initials"):
            value = value.replace("'", "").replace(".", "")
        if sort == "blank" or value in _ARTICLES:
            continue
        role = Role(sort) if sort in ("split", "bracket", "measure") else Role.WORD
        end = max(places[match.end()], places[match.end() - 1] + 1)
        yield Bit(role, value, places[match.start()], end)


def _own_phrases() -> dict[Phrase, tuple[Role, str]]:
    groups = [(Role.ACROSS, value, texts) for value, texts in _ACROSS_SAID.items()]
    groups += [(Role.BY, value, texts) for value, texts in _BY_SAID.items()]
    groups += [(role, text, (text,)) for role, texts in _PLAIN.items() for text in texts]
    return {
        tuple(bit.value for bit in bits_of(text)): (role, value)
        for role, value, texts in groups
        for text in texts
    }


# Every phrase that means something beside the name of a thing, with its role and value.
OWN_PHRASES: Mapping[Phrase, tuple[Role, str]] = _own_phrases()


def _one_length(number: str, unit: str) -> tuple[str, float]:
    # A comma is a decimal comma only in metres, with one or two digits behind it.
    if unit not in ("ft", "m"):
        return f"{number} {unit}", math.nan
    readable = "," not in number or (unit == "m" and re.fullmatch(r"\d+,\d\d?", number))
    value = float(number.replace(",", ".")) if readable else 0.0
    return (f"{number} {unit}", to_m(value, unit)) if value else ("", math.nan)


def measured(said: str) -> tuple[str, float]:
    r"""Read the value of a measure bit as a size and as a height.

    Returns
    -------
    tuple[str, float]
        The size with its unit, empty when it is none (14 ft 60 in, 0 ft), and the height [m], NaN
        when it is none: inches and millimetres alone, one side by another.

    Examples
    --------
    >>> measured("24-inch"), measured("2'x3'")
    (('24 in', nan), ('2x3 ft', nan))
    >>> measured("14'6\"")
    ('14 ft 6 in', 4.4196)
    """
    numbers = re.findall(_NUMBER, said)
    units = [_UNIT_NAMES[unit] for unit in _UNITS_SAID.findall(said)]
    if len(numbers) == 1:
        return _one_length(numbers[0], units[0])
    first, second = numbers
    if "x" in said or "by" in said:
        if len(set(units)) == 1:
            return f"{first}x{second} {units[0]}", math.nan
        return f"{first} {units[0]} x {second} {units[1]}", math.nan
    if "," in said or float(first) == 0 or float(second) >= _INCHES_A_FOOT:
        return "", math.nan
    return f"{first} ft {second} in", to_m(float(first), "ft") + to_m(float(second), "in")
