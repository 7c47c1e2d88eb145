"""What persons said of a list that stands: reviews, checks on the day, and what was edited twice.

They come from the store and are printed in the pack; none of them changes a place or an action.
"""

from dataclasses import dataclass

__all__ = [
    "CHECKS",
    "REVIEWS",
    "WHOLE",
    "DayCheck",
    "EditedTwice",
    "Remarks",
    "Review",
    "person_of",
]

# What a review is of when it is of the whole list.
WHOLE = "whole"
# What a reviewer can say.
REVIEWS = ("comment", "accept", "ask for change")
# What a check on the day can find.
CHECKS = ("same", "changed", "not looked at")


@dataclass(frozen=True, slots=True, kw_only=True)
class Review:
    """What one person said of a thing or of the whole list.

    Attributes
    ----------
    subject
        The id of any item of a thing's evidence, or ``WHOLE``.
    says
        One of ``REVIEWS``.
    text
        In the person's own words; may be empty for *accept*.
    by, when
        Who, and the local date and time.
    seal
        Of the pack that was looked at; empty when not known.
    """

    subject: str
    says: str
    text: str
    by: str
    when: str
    seal: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class DayCheck:
    """What one person found on the day.

    Attributes
    ----------
    subject
        The id of any item of a thing's evidence; ``limit A begin`` or ``limit A end`` for where
        the cut of leg A begins and ends; ``leg A`` for the street itself (parked cars, a new
        patch or cut, paint).
    says
        One of ``CHECKS``.
    text
        What is new: a patch or cut, paint gone, parked cars, a limit that moved.
    by, when
        Who, and the local date and time.
    """

    subject: str
    says: str
    text: str
    by: str
    when: str


@dataclass(frozen=True, slots=True, kw_only=True)
class EditedTwice:
    """One thing that two persons changed, neither knowing of the other.

    Attributes
    ----------
    kind
        Kind of entry: "decision", "settings", "file", …
    subject
        What it is about: for a decision the item's id or ``kind:CODE``.
    field
        For a decision what was decided ("action"); else empty.
    values
        What each said, in words, with who and when.
    entry_ids
        The entries, in the same order.
    """

    kind: str
    subject: str
    field: str
    values: tuple[str, ...]
    entry_ids: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Remarks:
    """All that was said of a job's list, in order of time."""

    reviews: tuple[Review, ...] = ()
    checks: tuple[DayCheck, ...] = ()
    edited_twice: tuple[EditedTwice, ...] = ()


def person_of(by: str) -> str:
    """Who said it: one text for a name however it is spaced and capitalised."""
    return " ".join(by.split()).casefold()
