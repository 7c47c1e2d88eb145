"""Why a thing stands on the list, in words: what it rests on, what was set aside, what is near.

In go a pack and a number of the list, out come plain lines as the command, the report and the
back pages print them; feet and miles for a US job, times by the clocks of the job.
"""

import difflib
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, NamedTuple

import pandas as pd

from routeprep.errors import JobError
from routeprep.estimates import Lateness
from routeprep.listing import distance_text, rows
from routeprep.numbering import number_key
from routeprep.shapes import Pack
from routeprep.spreads import HALF_95
from routeprep.surveywords import speed_text
from routeprep.tables import rows_of
from routeprep.wording import date_text, plus_minus_text

__all__ = ["lateness_text", "why_lines", "why_short", "why_shorts"]

_WAY = {1: "stations counting up", -1: "stations counting down", 0: ""}
# How many numbers like the one asked for are named.
_LIKE = 3
_GIVES = "gives the place"
_FROM = {"vehicle": "from a vehicle", "file": "in a file"}


class _Names(NamedTuple):
    """What ids mean to people."""

    units: str
    drives: Mapping[str, tuple[str, str]]
    things: Mapping[str, tuple[str, str]]

    def who(self, row: Mapping[str, Any]) -> str:
        """Who made a mark: as its file says, or as its drive does."""
        if row["person"] and row["person"] not in self.drives:
            return str(row["person"])
        return self.drives.get(row["drive_id"], ("", ""))[1] or "nobody named"

    def file(self, row: Mapping[str, Any]) -> str:
        """The drive, or the file, that it is of."""
        return self.drives.get(row["drive_id"], ("", ""))[0] or str(row["source"])

    def away(self, apart_m: float) -> str:
        """How far before or after the place something is, looking up-station.

        Parameters
        ----------
        apart_m
            From the place, up-station positive [m].
        """
        far = distance_text(abs(apart_m), units=self.units, step=1)
        if far.split()[0] in {"0", "0.0"}:
            return "at the place"
        return f"{far} {'after' if apart_m > 0 else 'before'}"


def _names(pack: Pack, evidence: pd.DataFrame) -> _Names:
    """Names of drives, and of the thing that each item is of."""
    table = pack.obstructions
    named = zip(table["no"], table["name"], strict=True)
    known = dict(zip(table["anchor_id"], named, strict=True))
    own = evidence[evidence["part"] != "near"]
    return _Names(
        units=pack.settings.units,
        drives={one.drive_id: (one.name or one.drive_id, one.by) for one in pack.drives},
        things={
            item: known[anchor]
            for item, anchor in zip(own["item_id"], own["anchor_id"], strict=True)
            if anchor in known
        },
    )


# --- one look --------------------------------------------------------------------------------


def _when(row: Mapping[str, Any], pack: Pack) -> str:
    if pd.isna(row["time_utc"]):
        return "no time"
    when = row["time_utc"].astimezone(pack.settings.timezone)
    return f"{date_text(when.date())} {when:%H:%M:%S %Z}"


def _late(row: Mapping[str, Any], *, units: str) -> str:
    """How late a tap was taken to be."""
    if row["method"] != "vehicle":
        return str(row["method"])
    if math.isnan(row["speed_mps"]):
        return "placed by its own position, since its drive does not know it"
    far = distance_text(abs(row["late_m"]), units=units, step=1)
    return f"taken as {far} {'late' if row['late_m'] >= 0 else 'early'}"


def _mark(row: Mapping[str, Any], pack: Pack, names: _Names) -> str:
    """Who, when, which way, how fast, how late: where that puts the thing, and what was said."""
    speed = speed_text(row["speed_mps"], units=names.units)
    way = " at ".join(part for part in (_WAY[row["travel"]], speed) if part)
    told = [names.who(row), names.file(row), _when(row, pack), way, _late(row, units=names.units)]
    return f"{', '.join(part for part in told if part)}: {_put(row, names)}{_said(row)}"


def _put(row: Mapping[str, Any], names: _Names) -> str:
    sure = plus_minus_text(row["along_sd_m"], units=names.units)
    return f"{names.away(row['apart_m'])} {sure}"


def _said(row: Mapping[str, Any]) -> str:
    """What was said, and which lane that was taken to be."""
    lane = ", ".join(part for part in (row["lane"], row["position"]) if part)
    return (f"; said {row['words']!r}" if row["words"] else "") + (f"; {lane}" if lane else "")


def _look(row: Mapping[str, Any], pack: Pack, names: _Names) -> str:
    """One look, with what of it was set aside."""
    if row["what"] == "record":
        text = f"record {row['words'] or 'without a name'} of {row['source']}: {_put(row, names)}"
    else:
        text = _mark(row, pack, names)
    why = str(row["why"]).removeprefix(_GIVES).removeprefix("; ")
    return f"{text}; {why}" if why else text


def _near(row: Mapping[str, Any], own: Mapping[str, Any], names: _Names) -> str:
    """What is near, how far from here and from its own place, and why it is another thing."""
    no, name = names.things.get(row["item_id"], ("", "another thing"))
    here = names.away(row["apart_m"])
    there = distance_text(abs(own[row["item_id"]]), units=names.units, step=1)
    return f"{no} {name}, nearest look {here}, {there} from its own place: {row['why']}".strip()


# --- one thing -------------------------------------------------------------------------------


def _squashed(no: str) -> str:
    return "".join(no.replace("-", "").split()).casefold()


def _found(pack: Pack, no: str) -> str:
    """The number of the list that was meant.

    Raises
    ------
    JobError
        If it is not on the list; naming what became of it, or the numbers nearest to it.
    """
    listed = [str(one) for one in pack.obstructions["no"]]
    asked = no.strip().casefold()
    same = [one for one in listed if one.casefold() == asked]
    same = same or [one for one in listed if _squashed(one) == _squashed(no)]
    if len(same) == 1:
        return same[0]
    if same:
        msg = f"{no!r} may be any of {', '.join(same)}; write it with its dash"
        raise JobError(msg, no=no, nearest=same)
    for gone in rows_of(pack.withdrawn):
        if _squashed(gone["no"]) == _squashed(no):
            msg = f"{gone['no']} is no longer on the list: {_became(gone['why'])}"
            raise JobError(msg, no=no, why=gone["why"])
    like = _like(no, listed)
    msg = f"number {no!r} is not on the list; " + (
        f"the nearest are {', '.join(like)}" if like else "the list is empty"
    )
    raise JobError(msg, no=no, nearest=like)


def _became(why: str) -> str:
    """What became of a withdrawn number, and where to look on."""
    joined = why.removeprefix("joined with ")
    if joined != why:
        return f"{why}; ask for {joined}"
    return f"{why}; what was recorded of it is told by routeprep check under Not on the list"


def _like(no: str, listed: Sequence[str]) -> list[str]:
    """The numbers most like one, in the order of people."""
    by_text = {_squashed(one): one for one in listed}
    like = difflib.get_close_matches(_squashed(no), by_text, n=_LIKE, cutoff=0.0)
    return sorted((by_text[one] for one in like), key=number_key)


def _head(row: Mapping[str, Any], pack: Pack) -> Iterator[str]:
    """What it is, where, how sure, what is doubtful and what is to be done."""
    units = pack.settings.units
    yield f"{row['no']} {row['what_text']}: {row['status']}"
    along = plus_minus_text(row["along_sd_m"], units=units)
    across = plus_minus_text(row["offset_sd_m"], units=units)
    where = " ".join(part for part in (row["station_text"], along, row["zero_text"]) if part)
    yield f"  where: {row['leg']} {where}; {row['where_text']} ({across} across)"
    if row["doubt"]:
        yield f"  in doubt: {row['doubt']}"
    proposed = ", ".join(part for part in (row["proposed_text"], row["who"]) if part)
    yield f"  to do: {row['do_text']}" + (f" ({proposed} proposed)" if row["proposed_text"] else "")
    joined = pack.withdrawn["why"] == f"joined with {row['no']}"
    if joined.any():
        yield f"  joined with it: {', '.join(pack.withdrawn.loc[joined, 'no'])}"


def _section(title: str, lines: Iterable[str]) -> Iterator[str]:
    """A title with how many follow, then the lines; nothing for none."""
    listed = list(lines)
    if listed:
        yield f"{title}: {len(listed)}"
        yield from (f"  {line}" for line in listed)


def _decided(row: Mapping[str, Any], pack: Pack) -> Iterator[str]:
    """What named persons decided on it, in the order of the file."""
    records = str(row["record_ids"]).split()
    ids = {row["anchor_id"], *row["mark_ids"], *records, f"kind:{row['kind']}"}
    for one in pack.decisions:
        if one.anchor_id in ids:
            stamp = ", ".join(part for part in (one.by, one.when) if part)
            yield f"{one.field} {one.value} by {stamp}" + (f": {one.why}" if one.why else "")


def lateness_text(late: Lateness, *, units: str) -> str:
    """How late one person taps, with its ±, and what that rests on.

    Parameters
    ----------
    late
        The person's lateness.
    units
        "us" or "metric".
    """
    lead = distance_text(abs(late.lead_m), units=units, step=1)
    spot = "ahead of" if late.lead_m >= 0 else "behind"
    return (
        f"{late.text} ({late.late_s:.1f} s ±{HALF_95 * late.late_sd_s:.1f} s after the thing is "
        f"{lead} {plus_minus_text(late.lead_sd_m, units=units)} {spot} the phone)"
    )


def _people(evidence: Sequence[Mapping[str, Any]], pack: Pack, names: _Names) -> Iterator[str]:
    """How late those tap who saw it from a vehicle."""
    seen = {row["person"]: row for row in evidence if row["method"] == "vehicle"}
    for late in pack.lateness:
        if late.person in seen:
            who = names.who(seen[late.person])
            yield f"{who}: {lateness_text(late, units=names.units)}"


def why_lines(pack: Pack, no: str) -> list[str]:
    """All that is known of why a thing stands on the list, and where, in plain lines.

    Parameters
    ----------
    pack
        The pack.
    no
        Its number, with or without the dash, in large or small letters.

    Raises
    ------
    JobError
        If the number is not on the list.
    """
    listed = rows(pack)
    row = rows_of(listed[listed["no"] == _found(pack, no)])[0]
    own = pack.evidence["anchor_id"] == row["anchor_id"]
    parts: dict[str, list[dict[str, Any]]] = {"place": [], "beside": [], "near": []}
    for one in rows_of(pack.evidence[own]):
        parts[one["part"]].append(one)
    others = pack.evidence[pack.evidence["item_id"].isin([one["item_id"] for one in parts["near"]])]
    away = {one["item_id"]: one["apart_m"] for one in rows_of(others) if one["part"] != "near"}
    names = _names(pack, others)
    looks = [*parts["place"], *parts["beside"]]
    files = {one["source"] for one in looks if one["what"] == "record"}
    return [
        *_head(row, pack),
        *_section("What gives the place", (_look(one, pack, names) for one in parts["place"])),
        *_section("Kept beside it", (_look(one, pack, names) for one in parts["beside"])),
        *_section("Near, and another thing", (_near(one, away, names) for one in parts["near"])),
        *_section("Decided", _decided(row, pack)),
        *_section("How late they tap", _people(looks, pack, names)),
        *_section("How the files lie", (one.text for one in pack.shifts if one.source in files)),
    ]


# --- one line --------------------------------------------------------------------------------


def _range(looks: Sequence[Mapping[str, Any]], names: _Names) -> str:
    """From where to where looks put a thing."""
    ends = sorted(one["apart_m"] for one in looks)
    return " to ".join(dict.fromkeys(names.away(apart_m) for apart_m in (ends[0], ends[-1])))


def _counted(looks: Sequence[Mapping[str, Any]], names: _Names) -> str:
    """How many looks there are of one method, which way, and where they put the thing."""
    method, count = looks[0]["method"], len(looks)
    what = "record" if method == "file" else "look"
    ways = [
        f"{sum(one['travel'] == way for one in looks)} {word}"
        for way, word in ((1, "up"), (-1, "down"))
        if any(one["travel"] == way for one in looks)
    ]
    said = f"{count} {what}{'s' * (count > 1)} {_FROM.get(method, method)}"
    way = f" ({', '.join(ways)})" if ways else ""
    return f"{said}{way} {_range(looks, names)}"


def _short(evidence: Sequence[Mapping[str, Any]], names: _Names) -> str:
    """One line of all the evidence for a thing."""
    parts = []
    for part, lead in (("place", ""), ("beside", "beside: ")):
        own = [one for one in evidence if one["part"] == part]
        methods = dict.fromkeys(one["method"] for one in own)
        parts += [
            lead + _counted([one for one in own if one["method"] == method], names)
            for method in methods
        ]
    near = [one for one in evidence if one["part"] == "near"]
    told = [f"{names.things.get(one['item_id'], ('', ''))[0]} ({one['why']})" for one in near]
    if told:
        parts.append(f"near: {', '.join(told)}")
    return "; ".join(parts)


def why_shorts(pack: Pack) -> dict[str, str]:
    """Anchor of each thing to its evidence in one line: all of them at once."""
    names = _names(pack, pack.evidence)
    by_anchor: dict[str, list[dict[str, Any]]] = {}
    for one in rows_of(pack.evidence):
        by_anchor.setdefault(one["anchor_id"], []).append(one)
    return {anchor_id: _short(found, names) for anchor_id, found in by_anchor.items()}


def why_short(pack: Pack, anchor_id: str) -> str:
    """One line: how many looks put a thing where, what stands beside, what is near.

    Parameters
    ----------
    pack
        The pack.
    anchor_id
        The thing's anchor.
    """
    own = pack.evidence[pack.evidence["anchor_id"] == anchor_id]
    others = pack.evidence[pack.evidence["item_id"].isin(own["item_id"])]
    return _short(rows_of(own), _names(pack, others))
