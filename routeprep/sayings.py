"""What a person's words say: which thing, where across the road, how big, how high.

In goes the text of a mark and the phrases of the kinds, out comes a ``Saying``.  The reading is
strict: one thing must be named, and all that stands beside its name must be understood; else the
words are not understood, and the reason is said.  What follows a comma or the like and says
nothing that is known here is kept as a note, character for character.
"""

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import NamedTuple

from routeprep.words import BESIDE_MEASURES, OWN_PHRASES, Bit, Phrase, Role, bits_of, measured

__all__ = ["Lexicon", "Saying", "phrase", "understand"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Saying:
    """What some words say.

    Attributes
    ----------
    kind
        The code, or empty when the words were not understood.
    across
        One of ``kinds.ACROSS`` or empty.
    size
        As said with its unit ("24 in"), or empty.
    height_m
        Height over the road [m], NaN when none was said.
    height_by
        "posted", "measured", "guess" or empty; a height said without one of these is a guess.
    note
        Modifiers, and what follows a separator and says nothing of the above, as typed.
    why
        Why the words were not understood; empty when they were.
    looks_like
        A code that the words may mean, for the person who sorts; empty when none.
    """

    kind: str
    across: str
    size: str
    height_m: float
    height_by: str
    note: str
    why: str
    looks_like: str


class Lexicon(NamedTuple):
    """The phrases of the kinds.

    Attributes
    ----------
    phrases
        Phrase to ``Role.KIND`` and the code.
    overhead
        Codes of the kinds that have a height over the road.
    longest
        Number of tokens of the longest phrase.
    """

    phrases: Mapping[Phrase, tuple[Role, str]]
    overhead: Collection[str]
    longest: int


class _Part(NamedTuple):
    """What stands between two separators."""

    bits: tuple[Bit, ...]
    start: int
    end: int

    @property
    def named(self) -> bool:
        return any(bit.role == Role.KIND for bit in self.bits)

    @property
    def read(self) -> bool:
        return all(bit.role != Role.WORD for bit in self.bits)


_NOTHING = Saying(
    kind="", across="", size="", height_m=math.nan, height_by="", note="", why="", looks_like=""
)
# A side of the road and a position in the lane can both be said; ``across`` holds one of them,
# the side, and the position goes to the note.
_SIDES = ("right side", "left side", "other side")
_IN_LANE = (
    "curb or edge", "outer wheel path", "between wheel paths", "inner wheel path",
    "right wheel path", "left wheel path",
)  # fmt: skip
# Tokens of the longest phrase that is looked for beyond those of the table.
_OWN_LONGEST = max(len(words) for words in OWN_PHRASES)
_QUOTED_MOST = 60
# A measure beside a level word is a remark ("1 in low"); a height may be called high or low.
_ABOVE_OR_BELOW = frozenset(BESIDE_MEASURES["level"])
_HIGH_OR_LOW = frozenset(("high", "low"))
_WIDTHS = frozenset(BESIDE_MEASURES["width"])
_ROUGHLY = frozenset(BESIDE_MEASURES["roughly"])
_BETWEEN = (Role.SPLIT, Role.BRACKET)
_TWICE = {Role.ACROSS: "where across", Role.SIZE: "the size", Role.HEIGHT: "the height"}


def phrase(text: str) -> Phrase:
    """The tokens of a text without case, accents, articles, separators and plain punctuation.

    Examples
    --------
    >>> phrase("Manhole - SANITARY")
    ('manhole', 'sanitary')
    """
    return tuple(bit.value for bit in bits_of(text) if bit.role not in _BETWEEN)


def _joined(bits: Sequence[Bit], lexicon: Lexicon) -> list[Bit]:
    # Words become phrases, the longest first, a kind's before others of the same length.
    values = [bit.value if bit.role == Role.WORD else "" for bit in bits]
    joined: dict[int, Bit] = {}
    free = set(range(len(bits)))
    for size in range(max(lexicon.longest, _OWN_LONGEST), 0, -1):
        spans = [tuple(values[at : at + size]) for at in range(len(bits) - size + 1)]
        for reading in (lexicon.phrases, OWN_PHRASES):
            for at, words in enumerate(spans):
                if words in reading and free.issuperset(range(at, at + size)):
                    free.difference_update(range(at, at + size))
                    joined[at] = Bit(*reading[words], bits[at].start, bits[at + size - 1].end)
    joined |= {at: bits[at] for at in free}
    return [joined[at] for at in sorted(joined)]


def _role_of_measure(bits: Sequence[Bit], at: int, *, overhead: bool) -> Role:
    size, height_m = measured(bits[at].value)
    beside = {bit.value for bit in bits[max(at - 1, 0) : at + 2] if bit.role == Role.NOTE}
    if beside & (_ABOVE_OR_BELOW - _HIGH_OR_LOW if overhead else _ABOVE_OR_BELOW):
        return Role.NOTE
    if math.isnan(height_m):
        return Role.SIZE if size else Role.WORD
    # A length in feet or metres is a height, unless somebody says that it is a width.
    if beside & _WIDTHS:
        return Role.SIZE
    return Role.HEIGHT if overhead else Role.WORD


def _settled(bits: Sequence[Bit], *, overhead: bool) -> list[Bit]:
    # What measures and the words about heights are depends on the thing that is named.
    settled = [
        bit._replace(role=_role_of_measure(bits, at, overhead=overhead))
        if bit.role == Role.MEASURE
        else bit
        for at, bit in enumerate(bits)
    ]
    if any(bit.role == Role.HEIGHT for bit in settled):
        return settled
    of_heights = (Role.BY, Role.OF_HEIGHT)
    return [bit._replace(role=Role.WORD) if bit.role in of_heights else bit for bit in settled]


def _parts(bits: Sequence[Bit], length: int) -> list[_Part]:
    # Separators part a text; a bracket only parts the name of the thing from what follows it.
    parts: list[_Part] = []
    inside: list[Bit] = []
    start, named = 0, False
    for bit in bits:
        if bit.role == Role.SPLIT or (bit.role == Role.BRACKET and named):
            parts.append(_Part(tuple(inside), start, bit.start))
            inside, named = [], False
            start = bit.end if bit.role == Role.SPLIT else bit.start
        elif bit.role != Role.BRACKET:
            inside.append(bit)
            named = named or bit.role == Role.KIND
    parts.append(_Part(tuple(inside), start, length))
    return [part for part in parts if part.bits]


def _read(parts: Sequence[_Part]) -> list[Bit]:
    return [bit for part in parts if part.read for bit in part.bits]


def _quoted(text: str, bits: Sequence[Bit]) -> str:
    typed = " ".join(text[bits[0].start : bits[-1].end].split())
    return f'"{typed}"' if len(typed) <= _QUOTED_MOST else f'"{typed[:_QUOTED_MOST]}…"'


def _not_one_thing(text: str, bits: Sequence[Bit]) -> str:
    """Why the words do not name exactly one thing that is there, or nothing."""
    named = [bit for bit in bits if bit.role == Role.KIND]
    if not bits:
        return f"nothing was said ({text[:_QUOTED_MOST]!r}); say what the thing is"
    if not named:
        return f"no kind of thing is named in {_quoted(text, bits)}"
    if len(named) > 1:
        both = " and ".join(_quoted(text, [bit]) for bit in named[:2])
        return f"more than one thing is named, {both}; one mark is one thing"
    for bit in bits:
        if bit.role == Role.AGAINST:
            return f"{_quoted(text, [bit])} says that it is not there, or takes the words back"
        if bit.role == Role.DOUBT:
            return f"{_quoted(text, [bit])} leaves open what it is"
    return ""


def _left_over(text: str, parts: Sequence[_Part]) -> str:
    """Why what stands before or beside the name is not understood, or nothing."""
    last = next(at for at, part in enumerate(parts) if part.named)
    bits = [bit for part in parts[: last + 1] for bit in part.bits]
    for over, run in groupby(bits, key=lambda bit: bit.role == Role.WORD):
        if over:
            return f"{_quoted(text, list(run))} is not understood"
    return ""


def _values(bits: Sequence[Bit], role: Role) -> list[str]:
    return list(dict.fromkeys(bit.value for bit in bits if bit.role == role))


def _contradiction(text: str, bits: Sequence[Bit]) -> str:
    """Why what was said beside the name cannot all be taken, or nothing."""
    for role in (Role.ACROSS, Role.SIZE, Role.HEIGHT):
        if len(_values(bits, role)) > 1:
            said = " and ".join(_quoted(text, [bit]) for bit in bits if bit.role == role)
            return f"{_TWICE[role]} is said twice, {said}"
    by = [bit for bit in bits if bit.role == Role.BY]
    if by and not _values(bits, Role.HEIGHT):
        return f"{_quoted(text, by[:1])} tells how a height is known, but no height is understood"
    return ""


def _side_first(parts: Sequence[_Part]) -> list[_Part]:
    # A side and a position in the lane: the side stays, the position becomes a note.
    said = _values(_read(parts), Role.ACROSS)
    sides = [value for value in said if value in _SIDES]
    if len(said) != 2 or len(sides) != 1 or not set(said) & set(_IN_LANE):  # noqa: PLR2004 - a pair
        return list(parts)

    def settled(bit: Bit) -> Bit:
        noted = bit.role == Role.ACROSS and bit.value not in sides
        return bit._replace(role=Role.NOTE) if noted else bit

    return [part._replace(bits=tuple(map(settled, part.bits))) for part in parts]


def _note(text: str, parts: Sequence[_Part]) -> str:
    items: list[tuple[bool, int, int]] = []
    for part in parts:
        if part.read:
            items += [(bit.role == Role.NOTE, bit.start, bit.end) for bit in part.bits]
        else:
            items.append((True, part.start, part.end))
    runs = [list(run) for noted, run in groupby(items, key=lambda item: item[0]) if noted]
    return ", ".join(text[run[0][1] : run[-1][2]].strip() for run in runs)


def _height(bits: Sequence[Bit]) -> tuple[float, str]:
    said = _values(bits, Role.HEIGHT)
    if not said:
        return math.nan, ""
    by = _values(bits, Role.BY)
    roughly = any(bit.role == Role.NOTE and bit.value in _ROUGHLY for bit in bits)
    return measured(said[0])[1], by[0] if len(by) == 1 and not roughly else "guess"


def understand(text: str, lexicon: Lexicon) -> Saying:
    """Read words strictly: anything left over makes them not understood; never raises.

    Parameters
    ----------
    text
        Any text.
    lexicon
        The phrases of the kinds.
    """
    whole = lexicon.phrases.get(phrase(text))
    if whole:
        return replace(_NOTHING, kind=whole[1])
    bits = _joined(list(bits_of(text)), lexicon)
    codes = _values(bits, Role.KIND)
    looks_like = codes[0] if len(codes) == 1 else ""
    why = _not_one_thing(text, [bit for bit in bits if bit.role not in _BETWEEN])
    if why:
        return replace(_NOTHING, why=why, looks_like=looks_like)
    settled = _settled(bits, overhead=looks_like in lexicon.overhead)
    parts = _side_first(_parts(settled, len(text)))
    read = _read(parts)
    why = _left_over(text, parts) or _contradiction(text, read)
    if why:
        return replace(_NOTHING, why=why, looks_like=looks_like)
    height_m, height_by = _height(read)
    return Saying(
        kind=looks_like,
        across="".join(_values(read, Role.ACROSS)),
        size="".join(measured(said)[0] for said in _values(read, Role.SIZE)),
        height_m=height_m,
        height_by=height_by,
        note=_note(text, parts),
        why="",
        looks_like="",
    )
