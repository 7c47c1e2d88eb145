r"""Plain lists of stations with words, one thing a line, as those write who walk with a wheel.

In go lines such as "12+40 MH RT wheel path, 24 in, lowered 3 in", out comes a ``Part`` with marks
that say their station.  Lines between them may say the leg or street, who walked, when and how;
those that begin with # do not count.  A line that is not understood is a mark to be sorted, and
so is one without a station: nothing is dropped.  Right and left are those of a person who looks
up-station.
"""

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from routeprep.errors import ReadError
from routeprep.kinds import KindTable
from routeprep.readers.datetimes import date_in
from routeprep.readers.encodings import any_text_of
from routeprep.readers.listheads import Said, heading_of
from routeprep.readers.markrows import who_and_day
from routeprep.readers.parts import Place, hear, make_part, marks_table, shown, source
from routeprep.readers.times import NO_TIME_US
from routeprep.shapes import Finding, Part

__all__ = ["read_station_list"]

# A longer line is not looked at for its station [characters].
_MOST = 500
# Lines that a finding or an error names one by one.
_LINES_SHOWN = 5

# A station of any unit, a sign touching it, and its region: -0+50, 12+40.5 BK, 13+00 region 2.
_LABEL = r"[-\u2212]?\d{1,5}\s?\+\s?\d{2,3}(?:\.\d{1,4})?(?![\d+])(?:\s*(?:bk|ah|region\s?\d)\b)?"
_TO = r"\s*(?:\bto\b|\bthru\b|\bthrough\b|[-\u2013\u2014])\s*"
_STATION = re.compile(
    rf"(?:\b(?:at|station|sta)\b[.:]?\s*|@\s*){{0,2}}"
    rf"(?<![\w.+])(?P<first>{_LABEL})(?:{_TO}(?P<last>{_LABEL}))?(?![\w+])",
    re.IGNORECASE | re.ASCII,
)
# What may stand before a line: a number of its own, or a bullet.  A hyphen and a blank may be a
# bullet or a sign, and is neither.
_BULLET = re.compile(r"\s*(?:\d{1,3}[.)]\s+|[\u2022*\u00b7]\s*)")
_HYPHEN = re.compile(r"\s*[-\u2013\u2014\u2212]\s")

# Offsets: 6.5 ft LT, RT 12', 12 RT; a bare number right behind the station, or between commas.
_NUMBER = r"\d{1,3}(?:\.\d{1,2})?"
_UNIT = r"\s?(?:feet|foot|ft\b\.?|'(?!')|m\b|met(?:er|re)s?\b)"
_SIDE = r"(?:rt|lt|right|left|r|l)\b\.?"
# With a decimal comma a number of metres alone: 2,5 m RT; "24,6 ft RT" may be two things.
_METRES = r"\d{1,3},\d{1,2}\s?(?:m|met(?:er|re)s?)\b"
_NOT_INSIDE = r"(?<![\w.])(?<!\d,)"
_OF_LINE = r"(?:\s+(?:of|from)\s+(?:the\s+)?(?:cl|center\s?line|centre\s?line)\b)?"
_NO_PATH = r"(?!\s*-?(?:hand|side|wheel|wp\b|track|curb|kerb|gutter|lane|edge|shoulder))"
_OFFSETS = tuple(
    re.compile(text, re.IGNORECASE | re.ASCII)
    for text in (
        rf"{_NOT_INSIDE}(?:{_NUMBER}{_UNIT}|{_METRES})\s?{_SIDE}{_OF_LINE}{_NO_PATH}",
        rf"(?<![\w.])(?:rt|lt|right|left)\b\.?\s?{_NUMBER}{_UNIT}(?!\s?(?:x|by)\b)(?![\w'])",
        rf"^{_NUMBER}\s?{_SIDE}{_OF_LINE}{_NO_PATH}",
        rf"(?<=[,;\t])[ ]{{0,3}}{_NUMBER}\s?{_SIDE}{_OF_LINE}[ ]{{0,3}}(?=[,;\t]|$)",
    )
)
# A side alone; before a wheel path it may be the lane's.
_SIDE_ALONE = re.compile(
    r"(?<!\w)(?P<side>[rl])(?:t|ight|eft)\b\.?(?:\s(?:hand\s)?side\b)?(?!\s*-?(?:wheel|wp\b|track))",
    re.IGNORECASE | re.ASCII,
)
_ON_LINE = re.compile(r"(?<!\w)(?:cl|center\s?line|centre\s?line)(?!\w)", re.IGNORECASE)
_LOWERED = re.compile(r"\blowered\b", re.IGNORECASE)
# The quotes that phones type for feet and inches.
_QUOTES = str.maketrans("\u2018\u2019\u2032\u201c\u201d\u2033", "'''\"\"\"")
# The time of day that may stand before a station.
_CLOCK = re.compile(r"\s*(?P<clock>\d{1,2}:\d\d(?::\d\d)?(?:\s?[ap]m\b)?)[\s,;-]+", re.IGNORECASE)
# Between the parts of a line, and left at the ends of what stays when one is taken out.
_LOOSE = " \t,;:-\u2013\u2014"


class _Line(NamedTuple):
    """One line: its number, its text as typed, and what it says of a place."""

    number: int
    text: str
    station: str
    offset: str
    rest: str
    clock: str = ""


def _shorn(text: str) -> str:
    return text.strip(_LOOSE)


def _offset_in(rest: str) -> tuple[str, str]:
    """The offset in what stands beside a station, and the rest; two offsets are none."""
    found = [match for form in _OFFSETS for match in form.finditer(rest)]
    if len({match.span() for match in found}) != 1:
        return "", rest
    start, end = found[0].span()
    offset = " ".join(_shorn(found[0][0]).split()).replace(",", ".")
    return offset, ", ".join(filter(None, (_shorn(rest[:start]), _shorn(rest[end:]))))


def _line_of(number: int, typed: str) -> _Line:
    """What a line says of its place; a line that says two has none."""
    text = typed.strip()
    bullet = _BULLET.match(text)
    bare = text[bullet.end() :] if bullet else text
    timed = _CLOCK.match(bare)
    bare = bare[timed.end() :] if timed else bare
    found = list(_STATION.finditer(bare)) if len(bare) <= _MOST else []
    if len(found) != 1 or _HYPHEN.match(bare):
        return _Line(number, text, "", "", text)
    station = " to ".join(" ".join(one.split()) for one in found[0].groups() if one)
    before, behind = bare[: found[0].start()], bare[found[0].end() :]
    offset, rest = _offset_in(_shorn(behind))
    if not offset and before.strip(_LOOSE):
        offset, before = _offset_in(_shorn(before))
    rest = " ".join(filter(None, (_shorn(before), rest)))
    clock = timed["clock"] if timed else ""
    return _Line(number, text, station.replace("\u2212", "-"), offset, rest, clock)


def _heard(rest: str, kinds: KindTable) -> tuple[dict[str, object], str]:
    """What the words say, and the side where they say one beside a position in the lane."""
    row = hear((rest,), kinds)
    sides = list(_SIDE_ALONE.finditer(rest))
    if len(sides) == 1:
        start, end = sides[0].span()
        bare = hear((" ".join((rest[:start], rest[end:])),), kinds)
        if bare.get("kind") and bare["across"]:
            return bare | {"words": rest}, f"{sides[0]['side'].upper()}T"
    if str(row.get("across", "")).endswith(" wheel path"):
        # Right of the line or of the lane is not said: the words stay in sight.
        row["note"] = "; ".join(filter(None, (str(row["across"]), str(row["note"]))))
    return row, ""


def _mark_of(line: _Line, said: Said, *, kinds: KindTable, name: str) -> dict[str, object]:
    """The columns of one mark; without a station its kind waits for a person."""
    row, side = _heard(line.rest, kinds)
    offset = line.offset or side
    if not offset and row.get("across") == "on the line" and _ON_LINE.search(line.rest):
        offset = "CL"
    if not line.station:
        row = {"words": line.text, "note": f"line {line.number} says no station"}
    elif line.clock:
        row["note"] = "; ".join(filter(None, (str(row.get("note", "")), f"at {line.clock}")))
    where = " ".join(filter(None, (line.station, line.offset)))
    return row | {
        "words": "; ".join(filter(None, (str(row["words"]), where))),
        "across_frame": "up-station",
        "said_leg": said.leg,
        "said_station": line.station,
        "said_offset": offset,
        "method": said.method or "wheeled",
        "by": who_and_day(said.by, said.day),
        "source": name,
    }


def _listed(lines: Sequence[_Line]) -> str:
    rows = [f"line {line.number} ({shown(line.text)})" for line in lines[:_LINES_SHOWN]]
    more = f" and {len(lines) - _LINES_SHOWN} more" if len(lines) > _LINES_SHOWN else ""
    return ", ".join(rows) + more


class _List:
    """A list as it is read, line by line."""

    def __init__(self) -> None:
        self.said = Said()
        self.counts: Counter[str] = Counter()
        self.taken: list[tuple[_Line, Said]] = []
        self.heads: list[str] = []
        self.unclear: list[str] = []

    def take(self, number: int, text: str, kinds: KindTable) -> None:
        """Take one line: a comment, a heading, or a thing."""
        if text.startswith("#"):
            self.counts["comments"] += 1
            return
        line = _line_of(number, text)
        head = None if line.station else heading_of(line.text, self.said, kinds)
        if head is None:
            self.taken.append((line, self.said))
            return
        self.heads.append(f"line {number}: {head.words()}")
        if head.day and not date_in(head.day)[2]:
            self.unclear.append(f"line {number}: {shown(head.day)}")
        self.said = head


def _doubts(read: _List, odd: str) -> Iterator[str]:
    lost = [line for line, _ in read.taken if not line.station]
    if odd:
        yield odd
    if lost:
        yield (
            f"{len(lost)} lines have no station, or more than one, and wait to be sorted: "
            f"{_listed(lost)}; if one is a street, write it like street: Elm St, since what "
            "follows is taken to be on the street before"
        )
    if read.unclear:
        yield (
            f"dates that may be two are kept as typed ({'; '.join(read.unclear)}); write them "
            "like 2026-05-04"
        )


def _notes(read: _List) -> Iterator[str]:
    lowered = [line for line, _ in read.taken if line.station and _LOWERED.search(line.text)]
    silent = sum(not said.method for _, said in read.taken)
    if read.heads:
        yield f"headings: {'; '.join(read.heads)}"
    if silent:
        yield (
            f"how {silent} things were found is not said: taken as wheeled; write wheeled, taped "
            "or walked on a line above them"
        )
    if lowered:
        yield (
            f"lowered stands in the note of {_listed(lowered)}; as a status it must be decided by "
            "a named person, with the date"
        )


def read_station_list(data: bytes, *, name: str, kinds: KindTable) -> Part:
    """Read a plain list of stations.

    Parameters
    ----------
    data
        The list.
    name
        Its name relative to the job.
    kinds
        For the words.

    Raises
    ------
    ReadError
        If it is no text, or no line of it has a station.
    """
    typed, odd = any_text_of(data, name=name)
    text = typed.translate(_QUOTES)
    read = _List()
    for number, line in enumerate(text.splitlines(), start=1):
        if line.strip():
            read.take(number, line.strip(), kinds)
    if not any(line.station for line, _ in read.taken):
        first = [line.strip() for line in text.splitlines() if line.strip()][:_LINES_SHOWN]
        msg = (
            f"{name}: no line has a station; expected lines such as 12+40 MH RT, and it begins "
            f"with {', '.join(map(shown, first)) or 'none'}"
        )
        raise ReadError(msg, file=name, lines=tuple(first))
    nowhere = Place(NO_TIME_US, float("nan"), float("nan"))
    marks = [(nowhere, _mark_of(line, said, kinds=kinds, name=name)) for line, said in read.taken]
    lost = sum(not line.station for line, _ in read.taken)
    return make_part(
        source(
            data,
            name=name,
            what="marks",
            taken={
                "marks": len(marks),
                "headings": len(read.heads),
                "lines without a station": lost,
            },
            skipped=read.counts,
        ),
        marks=marks_table(marks),
        findings=(
            *(Finding(level="doubt", where=name, text=text) for text in _doubts(read, odd)),
            *(Finding(level="note", where=name, text=text) for text in _notes(read)),
        ),
    )
