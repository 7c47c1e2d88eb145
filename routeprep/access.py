"""Who may do what: roles, and what each may write.

In go a person and the kind of an entry, out comes nothing, or an error that says who may.  The
store asks for each entry; no page decides it by itself.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from routeprep.entries import BODIES, Entry
from routeprep.errors import AccessError

__all__ = [
    "CREW",
    "PHONE_FILES",
    "ROLES",
    "SUPERINTENDENT",
    "TRAFFIC_LEAD",
    "Person",
    "check_may",
    "may",
]

SUPERINTENDENT, TRAFFIC_LEAD, CREW = "superintendent", "traffic lead", "crew"
ROLES = (SUPERINTENDENT, TRAFFIC_LEAD, CREW)

# The kinds of entry that each role may write.  A phone writes as the role of its token.
_MAY: Mapping[str, frozenset[str]] = {
    SUPERINTENDENT: frozenset(BODIES),
    TRAFFIC_LEAD: frozenset({"review", "check"}),
    CREW: frozenset({"drive", "fixes", "mark", "file", "tick", "found", "check"}),
}
# Kinds that are printed with who said it: what others sign, they sign themselves.
_SIGNED = frozenset({"review", "check"})
# Files that come from a phone, photos and voice clips, lie under this name; of files a crew adds
# those alone, and changes none.
PHONE_FILES = "phone/"


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """Who acts, and in which role."""

    name: str
    role: str


def may(role: str, entry: Entry) -> bool:
    """Whether a role may write an entry."""
    if entry.kind not in _MAY.get(role, frozenset()):
        return False
    if role == CREW and entry.kind == "file":
        return entry.thing.startswith(PHONE_FILES) and not entry.removed and not entry.parents
    return True


def check_may(person: Person, entry: Entry) -> None:
    """Refuse what a person may not write.

    Raises
    ------
    AccessError
        Naming who may, or an entry that somebody else is said to have written.
    """
    if not may(person.role, entry):
        roles = [role for role in ROLES if may(role, entry)]
        msg = (
            f"{person.name or 'somebody'} ({person.role}) may not write a {entry.kind}; "
            f"{' and '.join(roles)} may"
        )
        raise AccessError(msg, role=person.role, kind=entry.kind)
    # A superintendent brings in job files, with what others have written.
    signed = entry.body.get("by", entry.author) if entry.kind in _SIGNED else entry.author
    others = {entry.author, signed} - {person.name}
    if person.role != SUPERINTENDENT and others:
        msg = (
            f"{person.name or 'somebody'} ({person.role}) may not write a {entry.kind} in the name "
            f"of {' and '.join(sorted(map(repr, others)))}; write it in your own"
        )
        raise AccessError(msg, role=person.role, kind=entry.kind, author=entry.author)
