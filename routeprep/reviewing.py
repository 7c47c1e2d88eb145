"""What reviewers said of a list, worded for print.

In goes a ``Pack`` with its reviews, out come lines of the whole list and of each thing, and who
accepted the whole, and whether that was this very list.
"""

from dataclasses import dataclass

from routeprep.readiness import anchors_of, standing
from routeprep.remarks import REVIEWS, WHOLE, EditedTwice, Review, person_of
from routeprep.sealing import seal
from routeprep.shapes import Pack

__all__ = ["ReviewLine", "Reviewed", "accepted_texts", "edited_named", "reviewed", "words_of"]

_COMMENT, _ACCEPT, _ASK = REVIEWS
_THIS, _EARLIER = "of this very list", "of an earlier list"
_UNKNOWN = "of a list that is not known"
_NOBODY = "Nobody has reviewed this list."
_NOT_ACCEPTED = "Nobody has accepted this very list as a whole."


@dataclass(frozen=True, slots=True, kw_only=True)
class ReviewLine:
    """One review as it is printed.

    Attributes
    ----------
    no
        The thing's number; "whole list"; empty for what is not on this list.
    subject
        The thing's anchor, ``WHOLE``, or the id that is on no list.
    says, text, by, when
        As the reviewer said it.
    of
        Which list was looked at: "of this very list", "of an earlier list" or "of a list that is
        not known".
    stands
        For a change that was asked for: whether the same person has not accepted the thing, or the
        whole list, since.  For an acceptance: whether the same person has not asked for a change
        of the same since.
    """

    no: str
    subject: str
    says: str
    text: str
    by: str
    when: str
    of: str
    stands: bool

    @property
    def of_this_list(self) -> bool:
        """Whether it is a review of this very list."""
        return self.of == _THIS


@dataclass(frozen=True, slots=True, kw_only=True)
class Reviewed:
    """All reviews of a pack.

    Attributes
    ----------
    whole
        Of the whole list, in order of time.
    things
        In the order of the list, then of time.
    astray
        Of what is not on this list any more, in order of time.
    """

    whole: tuple[ReviewLine, ...]
    things: tuple[ReviewLine, ...]
    astray: tuple[ReviewLine, ...]

    @property
    def lines(self) -> tuple[ReviewLine, ...]:
        """All of them."""
        return (*self.whole, *self.things, *self.astray)

    @property
    def accepted(self) -> tuple[ReviewLine, ...]:
        """Who accepted the whole list and still does, each person's latest, in order of time."""
        latest = {
            person_of(one.by): one for one in self.whole if one.says == _ACCEPT and one.stands
        }
        return tuple(one for one in self.whole if latest.get(person_of(one.by)) is one)

    @property
    def asked(self) -> tuple[ReviewLine, ...]:
        """Changes that were asked for and still are."""
        return tuple(one for one in self.lines if one.says == _ASK and one.stands)


def _which(review: Review, this: str) -> str:
    """Which list a review is of."""
    if not review.seal:
        return _UNKNOWN
    return _THIS if review.seal == this else _EARLIER


def reviewed(pack: Pack) -> Reviewed:
    """The reviews of a pack, as they are printed.

    Parameters
    ----------
    pack
        With its remarks, which are in order of time.
    """
    things, reviews = pack.obstructions, pack.remarks.reviews
    # Sealing takes long, and a list without reviews is asked for after every act on the pages.
    this, anchors = seal(pack) if reviews else "", anchors_of(things)
    numbers = dict(zip(things["anchor_id"], things["no"], strict=True))
    place = {anchor_id: at for at, anchor_id in enumerate(numbers)}
    lines = [
        ReviewLine(
            no="whole list" if subject == WHOLE else str(numbers.get(subject, "")),
            subject=subject,
            says=one.says,
            text=one.text,
            by=one.by,
            when=one.when,
            of=_which(one, this),
            stands=stands,
        )
        for one, stands in zip(reviews, standing(reviews, anchors), strict=True)
        for subject in [anchors.get(one.subject, one.subject)]
    ]
    on_list = [one for one in lines if one.subject in place]
    return Reviewed(
        whole=tuple(one for one in lines if one.subject == WHOLE),
        things=tuple(sorted(on_list, key=lambda one: place[one.subject])),
        astray=tuple(one for one in lines if one.subject not in place and one.subject != WHOLE),
    )


def words_of(line: ReviewLine) -> str:
    """A review in words, with who, when and of which list.

    Parameters
    ----------
    line
        Which.
    """
    text = ": ".join(part for part in (line.says, line.text) if part)
    who = ", ".join(part for part in (line.by, line.when) if part)
    return f"{text} ({'; '.join(part for part in (who, line.of) if part)})"


def accepted_texts(found: Reviewed) -> list[str]:
    """Who accepted the whole list, when and which; or that nobody did; and what is still asked.

    Parameters
    ----------
    found
        All reviews.
    """
    if not found.lines:
        return [_NOBODY]
    texts = [
        f"The whole list was accepted by {', '.join(filter(None, (one.by, one.when)))}: {one.of}."
        for one in found.accepted
    ]
    if not any(one.of_this_list for one in found.accepted):
        texts.append(_NOT_ACCEPTED)
    if found.asked:
        names = ", ".join(dict.fromkeys(one.no or "not on this list" for one in found.asked))
        texts.append(f"Changes asked for and not accepted since, {len(found.asked)}: {names}.")
    return texts


def edited_named(pack: Pack) -> list[tuple[str, EditedTwice]]:
    """What two persons changed apart, each with its name on paper: a thing's number, else its own.

    Parameters
    ----------
    pack
        With its remarks.
    """
    things, anchors = pack.obstructions, anchors_of(pack.obstructions)
    numbers = dict(zip(things["anchor_id"], things["no"], strict=True))
    return [
        (str(numbers.get(anchors.get(one.subject, ""), one.subject)), one)
        for one in pack.remarks.edited_twice
    ]
