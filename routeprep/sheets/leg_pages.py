"""What stands on a leg's pages, from top to bottom: things, the way between them, rules, bands.

In go a leg and its rows of the list, out come plain dicts that the template draws one by one.
"""

import itertools
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import cast

from routeprep.listing import Row, distance_text
from routeprep.numbering import number_key
from routeprep.shapes import Leg, Pack
from routeprep.stationing import equation_places, label, number, stations_every
from routeprep.wording import depth_text, height_text, limits_text, line_text

__all__ = ["is_stop", "is_undecided", "leg_page", "with_withdrawn"]

# A heavy rule at each multiple of this [the length unit of the stationing]: design of the sheet.
_RULE_EVERY = {"ft": 500, "m": 100}

# Stations of landmarks are rounded to this [the length unit of the stationing].
_STEP = {"ft": 5.0, "m": 1.0}

# So many of the longest numbers are measured.
_WIDEST = 20

# A rule nearer to a band than this would say the same station again [m].
_AT_LIMIT_M = 0.3

# More rules in a row than this with nothing between them are drawn as one.
_RULES_SHOWN = 3

# Rows that stand with the next thing, such as rules, are kept on its page up to this many.
_TOGETHER = 4

# Kinds after which the cut is another one; those that begin and end it only where they are farther
# than this from the leg's own limit, which has a band already [m].
_CHANGES = ("DCH", "WCH", "BUTT", "BCUT", "ECUT")
_LIMIT_NEAR_M = 15.0

_EVERYWHERE = "whole road"
_BOXES = ("curb or edge", "outer wheel path", "between", "inner wheel path", "line")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Place:
    """Something that stands at a place of the leg; ``rank`` orders things at one place.

    ``along_m`` is its distance along [m].
    """

    along_m: float
    rank: int
    item: dict[str, object]


def is_undecided(row: Row) -> bool:
    """Whether nobody has decided yet what to do there; what is gone needs no decision."""
    return not row["decided_by"] and not row["struck"]


def is_stop(row: Row) -> bool:
    """Whether a person decided that the crew stops there; what is gone stops nobody."""
    decided = not is_undecided(row)
    return decided and str(row["do_text"]).startswith("STOP") and not row["struck"]


def _where(row: Row) -> dict[str, object]:
    box, everywhere = int(row["box"]), row["across"] == _EVERYWHERE
    crossed = list(range(len(_BOXES))) if everywhere else [box] if box >= 0 else []
    striped = not crossed or "lane not sure" in row["doubt"]
    marked = "all" if everywhere else ", ".join(_BOXES[i] for i in crossed) or "none"
    sure = "; striped: not sure" if striped else ""
    return {
        "crossed": crossed,
        "striped": striped,
        "curb_on_right": row["side"] == "R",
        "words": row["where_text"],
        "alt": f"Five boxes from curb to line, X in {marked}{sure}",
    }


def _remarks(row: Row, *, units: str) -> list[str]:
    status = "" if str(row["status"]).startswith("seen") else str(row["status"])
    height = height_text(row["height_m"], row["height_by"], units=units)
    texts = [f"height {height}" if height else "", status, str(row["note"])]
    return [text for text in texts if text]


def _sub(row: Row) -> list[str]:
    """What stands under what to do: the proposal with who does it, and the lift it is part of."""
    proposed = f"proposed: {row['proposed_text']}" if row["proposed_text"] else ""
    texts = (" · ".join(filter(None, (proposed, row["who"]))), row["lift_text"].partition(":")[0])
    return [text for text in texts if text]


def _thing(row: Row, *, units: str) -> dict[str, object]:
    under = (row["landmark_text"], row["ends_text"], row["zero_text"], row["reference_text"])
    return {
        "type": "thing",
        "no": row["no"],
        "station": row["station_text"],
        "plus_minus": row["plus_minus_text"],
        "under_station": [text for text in under if text],
        "what": row["what_text"],
        "where": _where(row),
        "do": str(row["do_text"]).upper(),
        "sub": _sub(row),
        "doubt": row["doubt"],
        "remarks": _remarks(row, units=units),
        "boxed": is_stop(row) or is_undecided(row),
        "lifted": bool(row["lift_text"]),
        "struck": bool(row["struck"]),
        "gap": "",
    }


def _lift_places(rows: Sequence[Row]) -> list[_Place]:
    """Before the first of things that are lifted over as one: from where to where, and which."""
    first = {str(row["lift_text"]): row for row in reversed(rows) if row["lift_text"]}
    return [
        _Place(
            along_m=float(row["along_m"]),
            rank=3,
            item={"type": "lift", "text": f"{text}. Ground between: the small machine."},
        )
        for text, row in first.items()
    ]


def _changes(leg: Leg, rows: Sequence[Row]) -> list[_Place]:
    """Bands where the cut changes."""
    limits_m = {"BCUT": leg.from_m, "ECUT": leg.to_m}

    def changes(row: Row) -> bool:
        limit_m = limits_m.get(row["kind"], math.inf)
        return not row["struck"] and abs(row["along_m"] - limit_m) > _LIMIT_NEAR_M

    return [
        _Place(
            along_m=float(row["along_m"]),
            rank=3,
            item={
                "type": "change",
                "text": f"{row['what_text']} {_with_zero(row['station_text'], leg)}".upper(),
            },
        )
        for row in rows
        if row["kind"] in _CHANGES and changes(row)
    ]


def _with_zero(station: str, leg: Leg) -> str:
    return f"{station} from {leg.stationing.zero}" if leg.stationing.zero else station


def _band(text: str) -> dict[str, object]:
    return {"type": "band", "text": text, "gap": ""}


def _bands(leg: Leg) -> list[_Place]:
    first, last = (_with_zero(text, leg) for text in limits_text(leg))
    return [
        _Place(along_m=leg.from_m, rank=1, item=_band(f"CUT BEGINS {first}")),
        _Place(along_m=leg.to_m, rank=5, item=_band(f"CUT ENDS {last}")),
    ]


def _equations(leg: Leg, shown_m: Sequence[float]) -> list[_Place]:
    """Station equations from the first to the last of what is shown."""
    return [
        _Place(along_m=along_m, rank=0, item=_band(f"STATION EQUATION {text}"))
        for along_m, text in equation_places(leg.stationing)
        if min(shown_m) <= along_m <= max(shown_m)
    ]


def _landmarks(leg: Leg, shown_m: Sequence[float]) -> list[_Place]:
    """Cross streets and the like, from the first to the last of what is shown."""
    sides = {"L": ", on the left", "R": ", on the right"}
    return [
        _Place(
            along_m=mark.along_m,
            rank=2,
            item={
                "type": "landmark",
                "station": number(
                    leg.stationing, mark.along_m, step=_STEP[leg.stationing.unit.family]
                ),
                "text": f"{mark.name}{sides.get(mark.side, '')}",
            },
        )
        for mark in leg.landmarks
        if min(shown_m) <= mark.along_m <= max(shown_m)
    ]


def _rules(leg: Leg, shown_m: Sequence[float]) -> list[_Place]:
    """Rules from the first to the last of what is shown, but none where a band or landmark is."""
    every_m = stations_every(
        leg.stationing,
        _RULE_EVERY[leg.stationing.unit.family],
        from_m=min(shown_m),
        to_m=max(shown_m),
    )
    others_m = (
        leg.from_m,
        leg.to_m,
        *(along_m for along_m, _ in equation_places(leg.stationing)),
        *(mark.along_m for mark in leg.landmarks),
    )
    places_m = [m for m in every_m if min(abs(m - other_m) for other_m in others_m) > _AT_LIMIT_M]
    texts = [label(leg.stationing, m, step=1, decimals=0) for m in places_m]
    return [
        _Place(along_m=m, rank=0, item={"type": "rule", "text": text})
        for m, text in zip(places_m, texts, strict=True)
    ]


def _thinned(places: Sequence[_Place]) -> Iterator[_Place]:
    """Draw a long run of rules with nothing between them as one."""
    for is_rule, run in itertools.groupby(places, key=lambda place: place.item["type"] == "rule"):
        stretch = list(run)
        if is_rule and len(stretch) > _RULES_SHOWN:
            text = f"{stretch[0].item['text']} to {stretch[-1].item['text']}: nothing on this list"
            yield _Place(along_m=stretch[0].along_m, rank=0, item={"type": "rule", "text": text})
        else:
            yield from stretch


def _spaced(places: Sequence[_Place], *, units: str) -> Iterator[dict[str, object]]:
    """Say in each thing and band how far it is to the next of them."""
    ahead = iter([place for place in places if "gap" in place.item][1:])
    for place in places:
        following = next(ahead, None) if "gap" in place.item else None
        if following is None:
            yield place.item
        else:
            gap = distance_text(following.along_m - place.along_m, units=units)
            yield place.item | {"gap": "beside it" if gap.startswith("0 ") else gap}


def with_withdrawn(
    items: Iterable[dict[str, object]], withdrawn: Sequence[tuple[str, str]]
) -> Iterator[dict[str, object]]:
    """Put each number that no longer stands alone before the first thing with a higher one.

    Parameters
    ----------
    items
        A leg's, up-station.
    withdrawn
        Its numbers that no longer stand alone, each with why.
    """
    waiting = sorted(withdrawn, key=lambda one: number_key(one[0]))
    for item in items:
        if item["type"] == "thing":
            key = number_key(str(item["no"]))
            while waiting and number_key(waiting[0][0]) < key:
                no, why = waiting.pop(0)
                yield {"type": "withdrawn", "no": no, "why": why}
        yield item
    for no, why in waiting:
        yield {"type": "withdrawn", "no": no, "why": why}


def _blocks(items: Iterable[dict[str, object]]) -> list[list[dict[str, object]]]:
    """Things with what stands before them, so that a page never ends on a rule."""
    blocks: list[list[dict[str, object]]] = [[]]
    for item in items:
        blocks[-1].append(item)
        if item["type"] == "thing" or len(blocks[-1]) > _TOGETHER:
            blocks.append([])
    last = blocks.pop()
    if blocks:
        blocks[-1] += last
        return blocks
    return [last]


def _items(leg: Leg, rows: Sequence[Row], pack: Pack) -> Iterator[dict[str, object]]:
    units = pack.settings.units
    things = [
        _Place(along_m=float(row["along_m"]), rank=4, item=_thing(row, units=units)) for row in rows
    ]
    fixed = things + _bands(leg)
    ends_m = [place.along_m for place in fixed]
    marked = [*_lift_places(rows), *_changes(leg, rows), *_landmarks(leg, ends_m)]
    places = sorted(
        [*fixed, *marked, *_equations(leg, ends_m), *_rules(leg, ends_m)],
        key=lambda place: (place.along_m, place.rank),
    )
    mine = pack.withdrawn[pack.withdrawn["leg"] == leg.settings.code]
    withdrawn = list(zip(mine["no"], mine["why"], strict=True))
    return with_withdrawn(_spaced(list(_thinned(places)), units=units), withdrawn)


def _kept(value: object) -> object:
    """A value that can be in a set."""
    return tuple(value) if isinstance(value, list) else value


def _widest(items: Iterable[dict[str, object]]) -> list[list[object]]:
    """The longest numbers, ways between, stations and orders, for the widths of their columns."""
    things = [item for item in items if item["type"] == "thing"]

    def longest(*names: str) -> list[tuple[object, ...]]:
        texts = {tuple(_kept(item[name]) for name in names) for item in things}
        most = max((len(str(text)) for text in texts), default=0)
        return sorted((text for text in texts if len(str(text)) == most), key=str)[:_WIDEST]

    return [
        [no for (no,) in longest("no")],
        [gap for (gap,) in longest("gap")],
        [list(both) for both in longest("station", "plus_minus")],
        [text for (texts,) in longest("under_station") for text in cast("tuple[str, ...]", texts)],
        [do for (do,) in longest("do")],
        [text for (texts,) in longest("sub") for text in cast("tuple[str, ...]", texts)],
    ]


def _credit(leg: Leg) -> str:
    """Whom the landmarks' files want to be named; empty for nobody."""
    credits_ = dict.fromkeys(mark.credit for mark in leg.landmarks if mark.credit)
    return f" Cross streets: {', '.join(credits_)}." if credits_ else ""


def leg_page(leg: Leg, rows: Sequence[Row], pack: Pack) -> dict[str, object]:
    """All that a leg's pages show.

    Parameters
    ----------
    leg
        The leg.
    rows
        Its rows of the list, in order.
    pack
        The pack they are from.
    """
    settings, items = leg.settings, list(_items(leg, rows, pack))
    stops, undecided = sum(map(is_stop, rows)), sum(map(is_undecided, rows))
    first, last = limits_text(leg)
    depth = depth_text(settings.depth_m, units=pack.settings.units)
    return {
        "code": settings.code,
        "name": settings.name,
        "limits": f"{first} → {last}",
        "zero": f"from {leg.stationing.zero}" if leg.stationing.zero else "",
        "cut": f"cut {depth}" if depth else "",
        "counts": f"{len(rows)} on this list, {stops} STOP, {undecided} not decided",
        "line": f"Stations run {line_text(leg, pack)}.{_credit(leg)}",
        "blocks": _blocks(items),
        "widest": _widest(items),
    }
