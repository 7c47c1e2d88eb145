"""The change slip: a ``Pack`` in, the bytes of a PDF out.

For who holds the paper before: what is new, moved, gone or decided since, a line a thing with a
box to tick.  How it looks is ``change-slip.typ``.
"""

from collections import Counter
from collections.abc import Sequence

from routeprep.changes import Change, changes
from routeprep.shapes import Pack
from routeprep.sheets.drawing import draw
from routeprep.wording import shift_text

__all__ = ["render"]

_TEMPLATE = "change-slip.typ"

# What a change is called, in the order in which they are counted.
_WORDS = {
    "new": "new",
    "gone": "off the list",
    "struck": "struck through",
    "moved": "moved",
    "side": "other side or lane",
    "kind": "called otherwise",
    "status": "looked at again",
    "decided": "decided",
}

_FIRST = "Revision {new} is the first that is issued for this job: there is no paper before it."
_TEAR = "TEAR UP REVISION {old}. Work from revision {new} alone."
_KEEP = "THIS IS A DRAFT: work from revision {old}. Tear it up once revision {new} is issued."
_SAME = (
    "Both are called revision {new}, and they do not say the same: give this one another letter "
    "before it is issued."
)
_NOTHING = "Nothing on the list has changed since revision {old}."
_HOW = "Tick each line once it is changed on the road: number and paint. A struck number stays."


def _told(found: Sequence[Change]) -> str:
    """How many things changed, and how."""
    counts = Counter(sort for one in found for sort in one.sorts)
    told = ", ".join(f"{counts[sort]} {word}" for sort, word in _WORDS.items() if counts[sort])
    things = "1 thing has" if len(found) == 1 else f"{len(found)} things have"
    return f"{things} changed: {told}."


def _head(pack: Pack, found: Sequence[Change]) -> dict[str, object]:
    """What stands above the lines: which paper to tear up, and how much changed."""
    new = pack.settings.revision
    if pack.issued is None:
        return {"tear": "", "warning": "", "told": _FIRST.format(new=new), "how": ""}
    old = pack.issued.revision
    return {
        "tear": "" if old == new else (_KEEP if pack.draft else _TEAR).format(old=old, new=new),
        "warning": _SAME.format(new=new) if old == new and found else "",
        "told": _told(found) if found else _NOTHING.format(old=old),
        "how": _HOW if found else "",
    }


def _legs(pack: Pack, found: Sequence[Change]) -> list[dict[str, object]]:
    """The lines by leg, those of the job first; legs without changes are left out."""
    names = {leg.settings.code: leg.settings.name for leg in pack.legs}
    codes = dict.fromkeys(one.leg for one in found)
    return [
        {
            "title": f"Leg {code}, {names[code]}" if code in names else f"Leg {code}",
            "lines": [
                {
                    "no": one.no,
                    "station": one.station,
                    "name": one.name,
                    "text": one.text,
                    "gone": one.sorts in {("gone",), ("struck",)},
                }
                for one in found
                if one.leg == code
            ],
        }
        for code in codes
    ]


def render(pack: Pack, *, paper: str = "letter") -> bytes:
    """Draw the change slip of a pack as a tagged PDF; the same pack gives the same bytes.

    Parameters
    ----------
    pack
        What to draw; without a list issued before, the slip says so.
    paper
        "letter", "a4" or "tabloid".
    """
    found = changes(pack)
    own = {
        "shift": shift_text(pack.settings.date, night=pack.settings.briefing.night),
        "legs": _legs(pack, found),
        **_head(pack, found),
    }
    return draw(pack, own, template=_TEMPLATE, title="Change slip", paper=paper)
