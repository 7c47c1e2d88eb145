"""What stands on a leg's pages, from top to bottom: things, the way between them, rules, bands.

In go a leg and its rows of the list, out come plain dicts that the template draws one by one.
"""

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from routeprep.listing import Row, distance_text
from routeprep.numbering import number_key
from routeprep.shapes import Leg, Pack
from routeprep.stationing import equation_places, label, number, stations_every
from routeprep.wording import depth_text, height_text, limits_text, line_text

__all__ = ["is_stop", "is_undecided", "leg_page"]

# A heavy rule at each multiple of this [the length unit of the stationing]: design of the sheet.
_RULE_EVERY = {"ft": 500, "m": 100}

# A rule nearer to a band than this would say the same station again [m].
_AT_LIMIT_M = 0.3

# More rules in a row than this with nothing between them are drawn as one.
_RULES_SHOWN = 3

# A thing at least this long along the road is printed with both its ends [m].
_LONG_M = 1.5

# Remarks up to this long stand under what the thing is; longer ones take the row's whole width.
_BRIEF = 50

# A row whose remarks, or whose narrow columns, are longer than this may be cut by the end of a
# page: it could be longer than one.
_REMARKS_KEPT, _COLUMNS_KEPT = 1500, 300

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
    marked = ", ".join(_BOXES[i] for i in crossed) or "none"
    sure = "; striped: not sure" if striped else ""
    return {
        "crossed": crossed,
        "striped": striped,
        "curb_on_right": row["side"] == "R",
        "words": row["where_text"],
        "alt": f"Five boxes from curb to line, X in {marked}{sure}",
    }


def _ends_text(row: Row, leg: Leg) -> str:
    """Both ends of a long thing, rounded away from it to 5 ft or 1 m, to stations there are."""
    if row["to_m"] - row["from_m"] < _LONG_M:
        return ""
    step = 5 if leg.stationing.unit.family == "ft" else 1
    ends = ((float(row["from_m"]), -1), (float(row["to_m"]), 1))
    return " to ".join(
        number(leg.stationing, along_m, step=step, toward=toward) for along_m, toward in ends
    )


def _remarks(row: Row, *, units: str) -> list[str]:
    status = "" if str(row["status"]).startswith("seen") else str(row["status"])
    height = height_text(row["height_m"], row["height_by"], units=units)
    texts = [f"height {height}" if height else "", status, str(row["note"])]
    return [text for text in texts if text]


def _thing(row: Row, leg: Leg, *, units: str) -> dict[str, object]:
    remarks = _remarks(row, units=units)
    length = sum(map(len, [*remarks, row["doubt"]]))
    narrow = max(len(row[name]) for name in ("what_text", "do_text", "who", "zero_text"))
    under = (
        _ends_text(row, leg), row["zero_text"], row["reference_text"], row["plus_minus_text"],
    )  # fmt: skip
    return {
        "type": "thing",
        "no": row["no"],
        "station": row["station_text"],
        "under_station": [text for text in under if text],
        "what": row["what_text"],
        "where": _where(row),
        "do": str(row["do_text"]).upper(),
        "proposed": row["proposed_text"],
        "who": row["who"],
        "doubt": row["doubt"],
        "remarks": remarks,
        "boxed": is_stop(row) or is_undecided(row),
        "struck": bool(row["struck"]),
        "brief": length <= _BRIEF,
        "whole": length <= _REMARKS_KEPT and narrow <= _COLUMNS_KEPT,
    }


def _with_zero(station: str, leg: Leg) -> str:
    return f"{station} from {leg.stationing.zero}" if leg.stationing.zero else station


def _bands(leg: Leg) -> list[_Place]:
    first, last = (_with_zero(text, leg) for text in limits_text(leg))
    return [
        _Place(along_m=leg.from_m, rank=1, item={"type": "band", "text": f"CUT BEGINS {first}"}),
        _Place(along_m=leg.to_m, rank=3, item={"type": "band", "text": f"CUT ENDS {last}"}),
    ]


def _equations(leg: Leg, shown_m: Sequence[float]) -> list[_Place]:
    """Station equations from the first to the last of what is shown."""
    return [
        _Place(along_m=along_m, rank=0, item={"type": "band", "text": f"STATION EQUATION {text}"})
        for along_m, text in equation_places(leg.stationing)
        if min(shown_m) <= along_m <= max(shown_m)
    ]


def _rules(leg: Leg, shown_m: Sequence[float]) -> list[_Place]:
    """Rules from the first to the last of what is shown, but none where a band is."""
    every_m = stations_every(
        leg.stationing,
        _RULE_EVERY[leg.stationing.unit.family],
        from_m=min(shown_m),
        to_m=max(shown_m),
    )
    bands_m = (leg.from_m, leg.to_m, *(m for m, _ in equation_places(leg.stationing)))
    places_m = [m for m in every_m if min(abs(m - band_m) for band_m in bands_m) > _AT_LIMIT_M]
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
    """Put the distance to the next thing or band behind each."""
    after = [place for place in places if place.item["type"] != "rule"][1:]
    ahead = iter(after)
    for place in places:
        yield place.item
        following = next(ahead, None) if place.item["type"] != "rule" else None
        if following is not None:
            gap = distance_text(following.along_m - place.along_m, units=units)
            same = gap.startswith("0 ")
            yield {"type": "gap", "text": "same station" if same else gap}


def _with_withdrawn(
    items: Iterator[dict[str, object]], withdrawn: Sequence[tuple[str, str]]
) -> Iterator[dict[str, object]]:
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


def _items(leg: Leg, rows: Sequence[Row], pack: Pack) -> list[dict[str, object]]:
    units = pack.settings.units
    things = [
        _Place(along_m=float(row["along_m"]), rank=2, item=_thing(row, leg, units=units))
        for row in rows
    ]
    fixed = things + _bands(leg)
    ends_m = [place.along_m for place in fixed]
    places = sorted(
        [*fixed, *_equations(leg, ends_m), *_rules(leg, ends_m)],
        key=lambda place: (place.along_m, place.rank),
    )
    mine = pack.withdrawn[pack.withdrawn["leg"] == leg.settings.code]
    withdrawn = list(zip(mine["no"], mine["why"], strict=True))
    return list(_with_withdrawn(_spaced(list(_thinned(places)), units=units), withdrawn))


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
    settings = leg.settings
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
        "line": f"Stations run {line_text(leg, pack)}.",
        "items": _items(leg, rows, pack),
    }
