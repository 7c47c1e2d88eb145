"""What was looked at again on the day, and what was not.

In goes a ``Pack`` with what persons found on the day, out comes for each thing, for both limits of
each cut and for each street what was found, by whom and when, or that nobody looked.
"""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from routeprep.listing import rows_by_leg
from routeprep.readiness import anchors_of
from routeprep.remarks import CHECKS, DayCheck, person_of
from routeprep.shapes import Pack

__all__ = [
    "Checked",
    "DayChecks",
    "LegChecks",
    "day_checks",
    "foot_line",
    "names_text",
    "words_of",
]

_SAME, _CHANGED, _NOT_LOOKED_AT = CHECKS
_NOTHING_CHECKED = "NOT RE-CHECKED"
# So many of the numbers that were not looked at stand at the foot of a page: about two lines.
_AT_FOOT = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """What is known of one subject on the day.

    Attributes
    ----------
    subject
        The thing's anchor, ``limit A begin``, ``limit A end`` or ``leg A``.
    name
        As it is called on paper: "A-3", "limit A begin", "street A".
    says
        "same", "changed" or "not looked at".  Of persons who disagree, the one who found a change
        counts.
    said
        The latest check of each person, those that count first, then in order of time.
    aside
        Checks that do not count: of a day before the shift, or that name no day.
    """

    subject: str
    name: str
    says: str
    said: tuple[DayCheck, ...]
    aside: tuple[DayCheck, ...]

    @property
    def looked_at(self) -> bool:
        """Whether somebody looked on the day."""
        return self.says != _NOT_LOOKED_AT


@dataclass(frozen=True, slots=True, kw_only=True)
class LegChecks:
    """One leg on the day: its things in the order of the list, its limits, and the street."""

    code: str
    things: tuple[Checked, ...]
    begin: Checked
    end: Checked
    street: Checked

    @property
    def limits(self) -> tuple[Checked, Checked]:
        """Where the cut begins, and where it ends."""
        return self.begin, self.end


@dataclass(frozen=True, slots=True, kw_only=True)
class DayChecks:
    """All that was looked at on the day.

    Attributes
    ----------
    legs
        In the job's order.
    astray
        Checks of what is not on this list any more, in order of time.
    """

    legs: tuple[LegChecks, ...]
    astray: tuple[DayCheck, ...]

    @property
    def things(self) -> tuple[Checked, ...]:
        """All things, in the order of the list."""
        return tuple(one for leg in self.legs for one in leg.things)

    @property
    def limits(self) -> tuple[Checked, ...]:
        """Both limits of each leg."""
        return tuple(one for leg in self.legs for one in leg.limits)

    @property
    def streets(self) -> tuple[Checked, ...]:
        """The street of each leg."""
        return tuple(leg.street for leg in self.legs)


def _on_the_day(check: DayCheck, first: dt.date) -> bool:
    """Whether a check was made on the first day of the shift or later."""
    try:
        return dt.date.fromisoformat(check.when[:10]) >= first
    except ValueError:
        return False


def _latest(checks: Iterable[DayCheck]) -> list[DayCheck]:
    """What each person said last of each item, in order of time."""
    latest: dict[tuple[str, str], DayCheck] = {}
    for one in checks:
        key = (person_of(one.by), one.subject)
        latest.pop(key, None)
        latest[key] = one
    return list(latest.values())


def _checked(subject: str, name: str, checks: Sequence[DayCheck], first: dt.date) -> Checked:
    """What the checks of one subject come to."""
    said = _latest(one for one in checks if _on_the_day(one, first))
    found = {one.says for one in said}
    says = next((one for one in (_CHANGED, _SAME) if one in found), _NOT_LOOKED_AT)
    return Checked(
        subject=subject,
        name=name,
        says=says,
        said=tuple(sorted(said, key=lambda one: one.says != says)),
        aside=tuple(one for one in checks if not _on_the_day(one, first)),
    )


def day_checks(pack: Pack) -> DayChecks:
    """What was found on the day, for all of a pack.

    A check counts from the first day of the shift on; an older one, or one whose date cannot be
    read, is kept beside it.

    Parameters
    ----------
    pack
        With its remarks, which are in order of time.
    """
    first, anchors = pack.settings.date, anchors_of(pack.obstructions)
    found: dict[str, list[DayCheck]] = {}
    for one in pack.remarks.checks:
        found.setdefault(anchors.get(one.subject, one.subject), []).append(one)

    def checked(subject: str, name: str) -> Checked:
        return _checked(subject, name, found.pop(subject, ()), first)

    legs = tuple(
        LegChecks(
            code=code,
            things=tuple(checked(str(row["anchor_id"]), str(row["no"])) for row in rows),
            begin=checked(f"limit {code} begin", f"limit {code} begin"),
            end=checked(f"limit {code} end", f"limit {code} end"),
            street=checked(f"leg {code}", f"street {code}"),
        )
        for code, rows in rows_by_leg(pack).items()
    )
    left = {id(one) for several in found.values() for one in several}
    return DayChecks(legs=legs, astray=tuple(one for one in pack.remarks.checks if id(one) in left))


def _one_said(check: DayCheck) -> str:
    """One check in words, with who and when."""
    text = ": ".join(part for part in (check.says, check.text) if part)
    who = ", ".join(part for part in (check.by, check.when) if part)
    return f"{text} ({who})" if who else text


def words_of(checked: Checked | DayCheck) -> str:
    """What was found, in words, with who and when; all who disagree are heard.

    Parameters
    ----------
    checked
        Of one subject, or a single check.

    Examples
    --------
    >>> one = DayCheck(subject="leg A", says="changed", text="cars", by="Ann", when="2026-06-01")
    >>> words_of(one)
    'changed: cars (Ann, 2026-06-01)'
    """
    if isinstance(checked, DayCheck):
        return _one_said(checked)
    said = [_one_said(one) for one in checked.said] or [_NOT_LOOKED_AT]
    return "; ".join([*said, *(f"not on the day: {_one_said(one)}" for one in checked.aside)])


def names_text(checked: Iterable[Checked], *, most: int) -> str:
    """Names of some subjects, and how many more there are.

    Parameters
    ----------
    checked
        Which.
    most
        So many are named.

    Examples
    --------
    >>> some = [
    ...     Checked(subject=no, name=no, says="same", said=(), aside=()) for no in ("A-1", "A-2")
    ... ]
    >>> names_text(some, most=2), names_text(some, most=1)
    ('A-1, A-2', 'A-1, … (1 more)')
    """
    names = [one.name for one in checked]
    more = len(names) - most
    return ", ".join([*names[:most], *([f"… ({more} more)"] if more > 0 else [])])


def _of(checked: Sequence[Checked]) -> str:
    return f"{sum(one.looked_at for one in checked)} OF {len(checked)}"


def foot_line(pack: Pack) -> str:
    """What stands at the foot of each page: how much was looked at again, and what was not.

    Parameters
    ----------
    pack
        With its remarks.
    """
    day = day_checks(pack)
    every = (*day.things, *day.limits, *day.streets)
    if not any(one.looked_at for one in every):
        return _NOTHING_CHECKED
    changed = [one for one in every if one.says == _CHANGED]
    missed = [one for one in every if not one.looked_at]
    counts = f"{_of(day.things)}, LIMITS {_of(day.limits)}, STREETS {_of(day.streets)}"
    parts: Mapping[str, Sequence[Checked]] = {"CHANGED": changed, "NOT": missed}
    said = [f"{word}: {names_text(some, most=_AT_FOOT)}" for word, some in parts.items() if some]
    return " · ".join([f"RE-CHECKED ON THE DAY: {counts}", *said])
