"""The table of kinds, and what a person's words say.

In goes the text of a mark ("water valve outer wheel path, 8 in"), out comes a ``Saying``: the
kind, where across the road, the size, or the reason why the words were not understood.  The
table itself is a file (``kinds.toml``), parsed here from its text and extendable by the job.
"""

import difflib
import itertools
import math
import tomllib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from routeprep.errors import JobError
from routeprep.sayings import Lexicon, Saying, phrase, understand
from routeprep.units import to_m
from routeprep.words import OWN_PHRASES, Role, bits_of

__all__ = [
    "ACROSS", "ACTIONS", "GROUPS", "NO_THINGS", "Kind", "KindTable", "Proposal", "nearest",
    "parse_kinds",
]  # fmt: skip

# The groups, in the order in which a legend lists them.
GROUPS = (
    "iron in the road", "do not cut without the owner", "in the surface", "edges", "overhead",
    "transitions", "traffic and access", "site", "stations", "what hid the road", "sketchy spot",
)  # fmt: skip

# Groups of marks that are no things in the road, with what they are for.
NO_THINGS = {
    "stations": "says a station, no thing in the road: see the leg's ties and mile markers",
    "what hid the road": "says where the road was hidden: see poorly looked at",
}

# Where across the road, in the words that are stored.  The first five run from the curb to the
# line that parts the directions; left and right are as the person said them, in their frame.
ACROSS = (
    "curb or edge",
    "outer wheel path",
    "between wheel paths",
    "inner wheel path",
    "on the line",
    "right wheel path",
    "left wheel path",
    "right side",
    "left side",
    "other side",
    "whole road",
)

# What a sheet can tell the crew to do.  SHALLOW, SKIP and the like are followed by a value.
ACTIONS = (
    "STOP",
    "LIFT",
    "GO AROUND",
    "SHALLOW UP TO",
    "SKIP",
    "MILL OVER",
    "CUT THROUGH",
    "SLOW",
    "HAND WORK",
    "LOOK",
)

# APWA uniform colour code (ANSI Z535.1); green sewer and drain, purple reclaimed water.
_COLOURS = ("", "red", "yellow", "orange", "blue", "purple", "green", "pink", "white")
# A depth that comes from another unit is the same depth within this [m].
_SAME_DEPTH_M = 1e-6

_KEYS = (
    "code", "name", "words", "group", "owner", "colour", "clear_ahead_ft", "clear_ahead_m",
    "clear_behind_ft", "clear_behind_m", "proposals", "action", "who", "across", "asks", "may_be",
)  # fmt: skip
_PROPOSAL_KEYS = ("up_to_in", "up_to_mm", "action", "who")


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """What the table proposes for cuts up to a depth; a person decides.

    Attributes
    ----------
    to_depth_m
        The deepest cut this proposal is for [m]; infinite for the last one.
    action
        One of ``ACTIONS``, in the words printed.
    who
        Who does it or must be called; may be empty.
    """

    to_depth_m: float
    action: str
    who: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One kind of thing.

    Attributes
    ----------
    code
        An abbreviation plan sheets use, unique in the table.
    name
        The words printed.
    words
        What people type or say for it, lower case.
    group
        One of ``GROUPS``.
    owner
        What sort of owner it has: sewer, storm, water, gas, electric, communications, ...
    colour
        The APWA uniform colour of that owner: red, yellow, orange, blue, purple, green, pink,
        white; empty where the code names none.
    clear_ahead_m, clear_behind_m
        Clearance along the road before and after it [m]; behind includes the moldboard.
    proposals
        By cut depth, shallowest first; the last one is for any depth.
    across
        Where across the road it lies when nobody said: "whole road" for what spans it, else
        empty.
    asks
        What else the kind asks for: "height", "owner told the date", ...
    may_be
        Codes of more exact kinds that this one may turn out to be.
    """

    code: str
    name: str
    words: tuple[str, ...]
    group: str
    owner: str
    colour: str
    clear_ahead_m: float
    clear_behind_m: float
    proposals: tuple[Proposal, ...]
    across: str
    asks: tuple[str, ...]
    may_be: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class KindTable:
    """All kinds of one job, by code.

    Examples
    --------
    >>> text = '''[[kind]]
    ... code = "MH"
    ... name = "manhole"
    ... group = "iron in the road"
    ... clear_ahead_ft = 3.0
    ... clear_behind_ft = 5.0
    ... action = "LIFT"
    ... '''
    >>> said = parse_kinds(text).understand("MH outer wheel path, 24 in, rattles")
    >>> said.kind, said.across, said.size, said.note
    ('MH', 'outer wheel path', '24 in', 'rattles')
    """

    kinds: Mapping[str, Kind]
    _lexicon: Lexicon = field(init=False, repr=False)

    def __post_init__(self) -> None:
        """Gather the phrases of all kinds once."""
        phrases = {
            words: (Role.KIND, kind.code)
            for kind in self.kinds.values()
            for words in map(phrase, _said(kind))
        }
        lexicon = Lexicon(
            phrases=phrases,
            overhead=frozenset(
                code for code, kind in self.kinds.items() if kind.group == "overhead"
            ),
            longest=max(map(len, phrases), default=0),
        )
        object.__setattr__(self, "_lexicon", lexicon)

    def understand(self, words: str) -> Saying:
        """Read words strictly: anything left over makes them not understood; never raises."""
        return understand(words, self._lexicon)

    def find(self, text: str) -> Kind | None:
        """The kind whose code, name or word the whole text is, or None.

        Case, accents, articles, separators and plain punctuation do not count, so that
        "Manhole - SANITARY" is the word "manhole sanitary".
        """
        found = self._lexicon.phrases.get(phrase(text))
        return self.kinds[found[1]] if found else None

    def propose(self, code: str, *, depth_m: float) -> Proposal:
        """The table's proposal for a cut of this depth; a person decides.

        Parameters
        ----------
        code
            A code of the table.
        depth_m
            Depth of the cut [m]; NaN when not known, which gives the last (deepest) proposal.

        Raises
        ------
        JobError
            If the table has no such code.
        """
        if code not in self.kinds:
            best = nearest(code, self.kinds)
            msg = f"kind {code!r} is not in the table of kinds; the nearest code is {best!r}"
            raise JobError(msg, code=code, nearest=best)
        proposals = self.kinds[code].proposals
        least_m = depth_m - _SAME_DEPTH_M
        return next((one for one in proposals if least_m <= one.to_depth_m), proposals[-1])

    def same_thing(self, one: str, other: str) -> bool:
        """Whether marks of these two kinds can be one thing: equal, or one may be the other."""
        return one == other or other in self._may_be(one) or one in self._may_be(other)

    def _may_be(self, code: str) -> tuple[str, ...]:
        return self.kinds[code].may_be if code in self.kinds else ()


def _said(kind: Kind) -> tuple[str, ...]:
    return (kind.code, kind.name, *kind.words)


def nearest(word: str, known: Iterable[str]) -> str:
    """The known word that is most like a word; empty when none is known."""
    return next(iter(difflib.get_close_matches(word, sorted(known), n=1, cutoff=0.0)), "")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    """One table of the file, read key by key; what is wrong with it is gathered in ``faults``."""

    row: Mapping[str, object]
    where: str
    faults: list[str]

    def fault(self, text: str) -> None:
        self.faults.append(f"{self.where}: {text}")

    def check_keys(self, known: Sequence[str]) -> None:
        for key in sorted(set(self.row) - set(known)):
            self.fault(f"key {key!r} is not known; the nearest one is {nearest(key, known)!r}")

    def text(self, key: str, *allowed: str, needed: bool = False) -> str:
        value = self.row.get(key, "")
        if not isinstance(value, str) or (needed and not value.strip()):
            self.fault(f"{key} is {value!r}; expected a text")
            return ""
        if allowed and value not in allowed:
            self.fault(f"{key} is {value!r}; expected one of {', '.join(filter(None, allowed))}")
        return value

    def texts(self, key: str) -> tuple[str, ...]:
        values = self.row.get(key, [])
        if not isinstance(values, list | tuple) or not all(isinstance(one, str) for one in values):
            self.fault(f"{key} is {values!r}; expected a list of texts")
            return ()
        return tuple(values)

    def length_m(self, stem: str, *units: str) -> float:
        keys = {f"{stem}_{unit}": unit for unit in units}
        given = [key for key in keys if key in self.row]
        if len(given) != 1:
            self.fault(f"{len(given)} of {' and '.join(keys)} given; expected exactly one")
            return math.nan
        value = self.row[given[0]]
        if (
            not isinstance(value, int | float)
            or isinstance(value, bool)
            or not 0 <= value < math.inf
        ):
            self.fault(f"{given[0]} is {value!r}; expected a finite number, 0 or more")
            return math.nan
        return to_m(value, keys[given[0]])

    def rows(self, key: str) -> list["_Row"]:
        values = self.row.get(key, [])
        if not isinstance(values, list | tuple) or not all(isinstance(one, dict) for one in values):
            self.fault(f"{key} is {values!r}; expected a list of tables")
            return []
        return [_Row(row=one, where=self.where, faults=self.faults) for one in values]


def _proposal(row: _Row, *, last: bool) -> Proposal:
    row.check_keys(_PROPOSAL_KEYS)
    to_depth_m = math.inf
    if not last:
        to_depth_m = row.length_m("up_to", "in", "mm")
    elif {"up_to_in", "up_to_mm"} & set(row.row):
        row.fault("the last proposal has a depth; expected one for any depth, without up_to")
    action = row.text("action", *ACTIONS, needed=True)
    return Proposal(to_depth_m=to_depth_m, action=action, who=row.text("who"))


def _proposals(row: _Row) -> tuple[Proposal, ...]:
    listed = row.rows("proposals")
    if listed and {"action", "who"} & set(row.row):
        row.fault("proposals stand beside action or who; give one or the other")
    if not listed:
        only = {key: row.row[key] for key in ("action", "who") if key in row.row}
        listed = [_Row(row=only, where=row.where, faults=row.faults)]
    made = tuple(_proposal(one, last=one is listed[-1]) for one in listed)
    depths_m = [one.to_depth_m for one in made]
    if any(deeper <= depth for depth, deeper in itertools.pairwise(depths_m)):
        row.fault(f"proposals end at {depths_m} m; expected the shallowest first")
    return made


def _kind(row: _Row) -> Kind:
    row.check_keys(_KEYS)
    return Kind(
        code=row.text("code", needed=True),
        name=row.text("name", needed=True),
        words=row.texts("words"),
        group=row.text("group", *GROUPS, needed=True),
        owner=row.text("owner"),
        colour=row.text("colour", *_COLOURS),
        clear_ahead_m=row.length_m("clear_ahead", "ft", "m"),
        clear_behind_m=row.length_m("clear_behind", "ft", "m"),
        proposals=_proposals(row),
        across=row.text("across", "", "whole road"),
        asks=row.texts("asks"),
        may_be=row.texts("may_be"),
    )


def _listed(top: _Row) -> dict[str, Kind]:
    kinds: dict[str, Kind] = {}
    for number, row in enumerate(top.rows("kind"), start=1):
        where = f"{top.where}, kind {number} ({row.row.get('code', 'no code')!r})"
        kind = _kind(_Row(row=row.row, where=where, faults=top.faults))
        if kind.code in kinds:
            top.fault(f"code {kind.code!r} stands twice; each kind needs its own")
        kinds[kind.code] = kind
    return kinds


def _phrase_fault(text: str, code: str, claimed: dict[tuple[str, ...], str]) -> str:
    words = phrase(text)
    if not words or not all(bit.role == Role.WORD and bit.value.isalnum() for bit in bits_of(text)
                            if bit.role not in (Role.SPLIT, Role.BRACKET)):  # fmt: skip
        return f"{text!r} of kind {code!r} cannot be read; expected words without signs or measures"
    if words in OWN_PHRASES:
        return f"{text!r} of kind {code!r} already serves as {OWN_PHRASES[words][0]}"
    other = claimed.setdefault(words, code)
    return "" if other == code else f"{text!r} is claimed by two kinds, {other!r} and {code!r}"


def _faults_together(kinds: Mapping[str, Kind]) -> Iterator[str]:
    claimed: dict[tuple[str, ...], str] = {}
    for code, kind in kinds.items():
        yield from filter(None, (_phrase_fault(text, code, claimed) for text in _said(kind)))
        for other in kind.may_be:
            if other not in kinds:
                best = nearest(other, kinds)
                yield f"kind {code!r} may be {other!r}, no code of the table; nearest {best!r}"


def parse_kinds(text: str, *, extra: Sequence[Mapping[str, object]] = ()) -> KindTable:
    """Parse the table from its TOML text; the job's own kinds come after and replace by code.

    Parameters
    ----------
    text
        The table: one ``[[kind]]`` a kind.
    extra
        The job's kinds, with the same keys; a whole kind takes the place of one of its code.

    Raises
    ------
    JobError
        Naming everything that is wrong: text that is no TOML, keys that are not known, values
        that do not fit, a code that stands twice, a word that two kinds claim or that means
        something else, codes that are not in the table.
    """
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        msg = f"the table of kinds is no TOML: {error}; mend it there"
        raise JobError(msg, table="kinds") from error
    faults: list[str] = []
    top = _Row(row=document, where="the table of kinds", faults=faults)
    top.check_keys(("kind",))
    kinds = _listed(top)
    kinds |= _listed(_Row(row={"kind": list(extra)}, where="the job's kinds", faults=faults))
    faults = faults or list(_faults_together(kinds))
    if faults:
        msg = f"{len(faults)} things are wrong with the kinds: {'; '.join(faults)}"
        raise JobError(msg, faults=faults)
    return KindTable(kinds)
