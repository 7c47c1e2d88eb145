"""The table of kinds, and what a person's words say.

In goes the text of a mark ("water valve outer wheel path, 8 in"), out comes a ``Saying``: the
kind, where across the road, the size, or the reason why the words were not understood.  The
table itself is a file (``kinds.toml``), parsed here from its text and extendable by the job.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

__all__ = ["ACROSS", "ACTIONS", "GROUPS", "Kind", "KindTable", "Proposal", "Saying", "parse_kinds"]

# The groups, in the order in which a legend lists them.
GROUPS = (
    "iron in the road",
    "do not cut without the owner",
    "in the surface",
    "edges",
    "overhead",
    "transitions",
    "traffic and access",
    "site",
    "sketchy spot",
)

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
    asks: tuple[str, ...]
    may_be: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Saying:
    """What some words say.

    Attributes
    ----------
    kind
        The code, or empty when the words were not understood.
    across
        One of ``ACROSS`` or empty.
    size
        As said with its unit ("24 in"), or empty.
    height_m
        Height over the road [m], NaN when none was said.
    height_by
        "posted", "measured", "guess" or empty; a height said without one of these is a guess.
    note
        What follows a separator and says nothing of the above.
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


@dataclass(frozen=True, slots=True, eq=False)
class KindTable:
    """All kinds of one job, by code."""

    kinds: Mapping[str, Kind]

    def understand(self, words: str) -> Saying:
        """Read words strictly: anything left over makes them not understood."""
        raise NotImplementedError

    def find(self, text: str) -> Kind | None:
        """The kind whose code, name or word the whole text is, or None."""
        raise NotImplementedError

    def propose(self, code: str, *, depth_m: float) -> Proposal:
        """The table's proposal for a cut of this depth [m]; NaN or unknown means the deepest."""
        raise NotImplementedError

    def same_thing(self, one: str, other: str) -> bool:
        """Whether marks of these two kinds can be one thing: equal, or one may be the other."""
        raise NotImplementedError


def parse_kinds(text: str, *, extra: Sequence[Mapping[str, object]] = ()) -> KindTable:
    """Parse the table from its TOML text; the job's own kinds come after and replace by code."""
    raise NotImplementedError
