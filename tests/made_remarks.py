"""Invented reviews and checks on the day, for tests; the made packs' shift is on 2026-06-01."""

from dataclasses import replace

from sheets import made_packs

from routeprep.remarks import DayCheck, EditedTwice, Remarks, Review

DAY = "2026-06-01 17:40"
DAY_BEFORE = "2026-05-31 17:40"

# What would mean something to a page, a template, a sheet's source, a reader of Markdown, or a
# spreadsheet; letters that run the other way; pictures that the typeface lacks.
NASTY = (
    "=1+1 {{ cycler }} {% low ${x} <script>alert(1)</script> #sys.version `tick` </script> <!-- "
    "**bold** [link](javascript:alert(1)) | $1$ \u05e9\u05dc\u05d5\u05dd \u202eabc \U0001f6a7 end"
)
LONG = "word " * 1990 + "x" * 50


def check(subject, says="same", text="", *, by="Ann", when=DAY):
    """What one person found."""
    return DayCheck(subject=subject, says=says, text=text, by=by, when=when)


def review(subject, says="comment", text="", *, by="Lee", when=DAY, seal=""):
    """What one reviewer said."""
    return Review(subject=subject, says=says, text=text, by=by, when=when, seal=seal)


def twice(subject="mark A-1", values=("LIFT (Ann)", "STOP (Bob)")):
    """A decision that two persons made apart."""
    return EditedTwice(
        kind="decision", subject=subject, field="action", values=values, entry_ids=("e1", "e2")
    )


def remarked(*said, pack=None):
    """A pack with these remarks, in this order; without one, two legs and seven things."""
    made = made_packs.pack() if pack is None else pack
    return replace(
        made,
        remarks=Remarks(
            reviews=tuple(one for one in said if isinstance(one, Review)),
            checks=tuple(one for one in said if isinstance(one, DayCheck)),
            edited_twice=tuple(one for one in said if isinstance(one, EditedTwice)),
        ),
    )
