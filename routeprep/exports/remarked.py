"""What ``report.json`` says of reviews, of checks on the day, and of what was edited twice.

In goes a ``Pack``, out come plain values for JSON, every text as it was typed.
"""

from collections import Counter
from collections.abc import Sequence

from routeprep.daychecks import Checked, day_checks
from routeprep.remarks import CHECKS, REVIEWS, DayCheck
from routeprep.reviewing import ReviewLine, edited_named, reviewed
from routeprep.shapes import Pack

__all__ = ["remark_counts", "remarks_told"]


def _review(line: ReviewLine) -> dict[str, object]:
    """One review; ``no`` is null for what is not on this list."""
    return {
        "no": line.no or None,
        "subject": line.subject,
        "says": line.says,
        "text": line.text,
        "by": line.by,
        "when": line.when,
        "of": line.of,
        "of_this_list": line.of_this_list,
        "stands": line.stands,
    }


def _check(check: DayCheck) -> dict[str, str]:
    return {"says": check.says, "text": check.text, "by": check.by, "when": check.when}


def _checked(checked: Checked) -> dict[str, object]:
    """One subject on the day; ``said`` counts, ``not_on_the_day`` does not."""
    return {
        "name": checked.name,
        "subject": checked.subject,
        "says": checked.says,
        "said": [_check(one) for one in checked.said],
        "not_on_the_day": [_check(one) for one in checked.aside],
    }


def _tally(checked: Sequence[Checked]) -> dict[str, int]:
    """How many are same, changed and not looked at."""
    found = Counter(one.says for one in checked)
    return {"all": len(checked)} | {says.replace(" ", "_"): found[says] for says in CHECKS}


def remark_counts(pack: Pack) -> dict[str, object]:
    """How much was reviewed and looked at again, by the names of the report's lists.

    Parameters
    ----------
    pack
        With its remarks.
    """
    found, day = reviewed(pack), day_checks(pack)
    says = Counter(one.says for one in found.lines)
    return {
        "reviews": {
            "all": len(found.lines),
            "by_says": {one: says[one] for one in REVIEWS},
            "changes_still_asked_for": len(found.asked),
            "whole_list_accepted": sum(one.of_this_list for one in found.accepted),
        },
        "checks": {
            "things": _tally(day.things),
            "limits": _tally(day.limits),
            "streets": _tally(day.streets),
            "not_on_this_list": len(day.astray),
        },
        "edited_twice": len(pack.remarks.edited_twice),
    }


def remarks_told(pack: Pack) -> dict[str, object]:
    """All reviews, the state of every thing, limit and street on the day, and edits made apart.

    Parameters
    ----------
    pack
        With its remarks.
    """
    day = day_checks(pack)
    return {
        "reviews": [_review(line) for line in reviewed(pack).lines],
        "checks": {
            "things": [_checked(one) for one in day.things],
            "limits": [_checked(one) for one in day.limits],
            "streets": [_checked(one) for one in day.streets],
            "not_on_this_list": [{"subject": one.subject} | _check(one) for one in day.astray],
        },
        "edited_twice": [
            {
                "name": name,
                "kind": one.kind,
                "subject": one.subject,
                "field": one.field,
                "values": list(one.values),
                "entry_ids": list(one.entry_ids),
            }
            for name, one in edited_named(pack)
        ],
    }
