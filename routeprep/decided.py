"""Which decision counts: in go decisions and the items of a thing, out comes the one that holds.

Of two on one field and item the later one counts, and one on the anchor before one on other
evidence.
"""

from collections.abc import Mapping, Sequence

from routeprep.shapes import Decision

__all__ = ["Ranked", "held", "latest", "ranked", "stamp"]

# A decision with its rank in time.
Ranked = tuple[int, Decision]


def ranked(decisions: Sequence[Decision], field: str) -> list[Ranked]:
    """Decisions on one field with their ranks: by time, then in the order of the file."""
    ordered = sorted(enumerate(decisions), key=lambda pair: (pair[1].when, pair[0]))
    return [(rank, one) for rank, (_, one) in enumerate(ordered) if one.field == field]


def latest(decisions: Sequence[Decision], field: str) -> dict[str, Ranked]:
    """The decision that counts on one field, with its rank, by id."""
    return {one.anchor_id: (rank, one) for rank, one in ranked(decisions, field)}


def held(found: Mapping[str, Ranked], ids: Sequence[str]) -> Decision | None:
    """The decision on a thing's anchor, the first of its ids, else the latest on its evidence.

    Parameters
    ----------
    found
        Of one field, as ``latest`` gives it.
    ids
        Of the thing, its anchor first.
    """
    if not found:
        return None
    several = [found[item] for item in ids if item in found]
    if not several:
        return None
    return several[0][1] if ids[0] in found else max(several, key=lambda pair: pair[0])[1]


def stamp(one: Decision) -> str:
    """Who decided and when, as far as that is known."""
    return ", ".join(part for part in (one.by, one.when) if part)
