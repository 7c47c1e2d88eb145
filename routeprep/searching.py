"""Where to look again on foot: what files have and nobody saw, and where something is missing.

In go the list, records, coverage and legs, out comes the table ``tables.SEARCH`` in walking
order: by leg, then along.  It holds what the cut can meet; what lies beyond stays on the list of
obstructions alone.
"""

import bisect
import itertools
import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from routeprep import tables
from routeprep.coverage import poorly
from routeprep.kinds import KindTable
from routeprep.locating import place
from routeprep.missed import Passed, passed
from routeprep.pipes import MOST_APART_M, PipePlace, missing_at, pipes_of
from routeprep.shapes import Leg, Settings
from routeprep.spreads import HALF_95
from routeprep.tables import rows_of
from routeprep.units import FACTORS_M, to_m

__all__ = ["search_of"]

_Row = Mapping[str, Any]

# What lies this far past the limits of the cut [m] is still walked to: the machine and trucks
# stand there.  Common practice, no source.
_PAST_LIMITS_M = to_m(100.0, "ft")
# Manholes farther apart than this many times what is usual are of two runs: a sewer turned off.
# Common practice, no source.
_RUN_TIMES = 3
# A thing that fewer passings could see is no surprise when it was seen once.  Common practice, no
# source.
_SEVERAL = 3
_IRON = "iron in the road"
_UNSEEN = "in a file, not seen"
_NOT_THERE = ("gone", "walked, not found")


def _far(length_m: float, units: str) -> str:
    """A length for people: whole feet, or whole metres."""
    if units == "us":
        return f"{length_m / float(FACTORS_M['ft']):,.0f} ft"
    return f"{length_m:,.0f} m"


def _edge_m(leg: Leg) -> float:
    """How far from the line the cut can reach [m]: the lanes of the wider side and one more.

    Shoulders and parking lanes are not in the job; common practice, no source.
    """
    lanes = max(leg.settings.lanes_left, leg.settings.lanes_right) + 1
    return lanes * leg.settings.lane_width_m


def _meets(row: _Row, leg: Leg) -> bool:
    """Whether the cut can meet a thing, as far as anybody knows."""
    inside = (
        row["to_m"] >= leg.from_m - _PAST_LIMITS_M and row["from_m"] <= leg.to_m + _PAST_LIMITS_M
    )
    return bool(inside and abs(row["offset_m"]) - HALF_95 * row["offset_sd_m"] <= _edge_m(leg))


def _side(row: _Row) -> str:
    """L, R or C; empty where it is not sure."""
    if row["across"] == "on the line":
        return "C"
    if row["lane"]:
        return str(row["lane"])[0]
    if abs(row["offset_m"]) > HALF_95 * row["offset_sd_m"]:
        return "R" if row["offset_m"] > 0 else "L"
    return ""


def _named(row: _Row) -> str:
    """What a thing is called: its number, or its name where it has none."""
    return str(row["no"] or f"a {row['name']}")


# ---- Things on the list ----------------------------------------------------------------------


def _unseen(row: _Row, records: Mapping[str, _Row]) -> list[str]:
    """That a file has it and nobody saw it."""
    if row["status"] != _UNSEEN:
        return []
    held = [records[one] for one in row["record_ids"] if one in records]
    said = [f"{one['source']}{' as ' if one['name'] else ''}{one['name']}" for one in held]
    return [f"in {' and '.join(said) or 'a file'}; no drive saw it"]


def _once(row: _Row, known: Passed) -> list[str]:
    """That it was seen once though it was passed several times, and no file has it."""
    if row["times_seen"] != 1 or row["record_ids"]:
        return []
    looks = sum(known.at(row["leg"], row["along_m"])[1:])
    return [f"seen on 1 of {looks} passings, in no file: is it there?"] if looks >= _SEVERAL else []


def _which(row: _Row, said: Mapping[str, str], kinds: KindTable) -> list[str]:
    """That its kind or lane is not sure."""
    called = Counter(said[one] for one in row["mark_ids"] if said.get(one, "") in kinds.kinds)
    at_odds = any(not kinds.same_thing(*two) for two in itertools.combinations(called, 2))
    if at_odds:
        names = [f"{kinds.kinds[code].name} {count}" for code, count in called.most_common()]
        why = [f"called {', '.join(names)} times: which is it?"]
    else:
        why = ["which kind, and whose?"] if kinds.kinds[row["kind"]].may_be else []
    return [*why, *(["which lane?"] if "lane not sure" in row["doubt"] else [])]


def _thing(row: _Row, why: Sequence[str], records: Mapping[str, _Row], kinds: KindTable) -> _Row:
    """One row of the search list for a thing on the list."""
    held = [records[one] for one in row["record_ids"] if one in records]
    owners = dict.fromkeys(str(one["owner"]) for one in held if one["owner"])
    return {
        **{name: row[name] for name in ("leg", "from_m", "to_m", "along_m", "no")},
        "offset_m": row["offset_m"],
        "offset_sd_m": row["offset_sd_m"],
        "side": _side(row),
        "what": " ".join(part for part in (row["name"], row["size"]) if part),
        "why": "; ".join(why),
        "owner": " / ".join(owners) or kinds.kinds[row["kind"]].owner,
        "record_id": str(row["record_ids"][0]) if row["record_ids"] else "",
    }


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Known:
    """What is known beside the list: records by id, the kind that each mark says, passings."""

    records: Mapping[str, _Row]
    said: Mapping[str, str]
    passed: Passed
    kinds: KindTable


def _things(obstructions: Iterable[_Row], known: _Known) -> list[_Row]:
    """Things of a leg that somebody should look at on foot and nobody did."""
    kinds = known.kinds
    found = []
    for row in obstructions:
        why = _unseen(row, known.records)
        if not why and row["method"] == "vehicle" and kinds.kinds[row["kind"]].group == _IRON:
            why = [*_once(row, known.passed), *_which(row, known.said, kinds)]
        if why and not str(row["status"]).startswith(_NOT_THERE):
            found.append(_thing(row, why, known.records, kinds))
    return found


# ---- Spacing ---------------------------------------------------------------------------------


def _manholes(kinds: KindTable) -> tuple[set[str], set[str]]:
    """Codes of sewer manholes, and of what may turn out to be one."""
    exact = {
        code
        for code, kind in kinds.kinds.items()
        if kind.owner == "sewer" and "manhole" in kind.name.lower()
    }
    return exact, {code for code, kind in kinds.kinds.items() if exact & set(kind.may_be)}


def _apart_m(one: _Row, other: _Row, leg: Leg) -> float:
    """How far two manholes lie apart across [m]; infinite when they cannot be of one run.

    A run keeps to a lane's width, as far as one knows where its manholes are.
    """
    width_m = leg.settings.lane_width_m
    half_m = HALF_95 * math.hypot(one["offset_sd_m"], other["offset_sd_m"])
    across_m = abs(float(one["offset_m"]) - float(other["offset_m"]))
    along_m = abs(float(one["along_m"]) - float(other["along_m"]))
    apart = across_m > width_m + min(half_m, width_m) or along_m > _RUN_TIMES * MOST_APART_M
    return math.inf if apart else across_m


def _runs(manholes: Sequence[_Row], leg: Leg) -> list[list[_Row]]:
    """Manholes that lie on one sewer, as it seems: each joins the run whose last is nearest."""
    runs: list[list[_Row]] = []
    for one in manholes:
        away_m = [_apart_m(one, run[-1], leg) for run in runs]
        nearest = min(range(len(runs)), key=away_m.__getitem__, default=-1)
        if nearest >= 0 and math.isfinite(away_m[nearest]):
            runs[nearest].append(one)
        else:
            runs.append([one])
    return runs


def _gap(one: _Row, other: _Row, *, units: str) -> _Row:
    """The stretch between two manholes of a run that are too far apart to have none between."""
    gap_m = other["along_m"] - one["along_m"]
    count = math.ceil(gap_m / MOST_APART_M) - 1
    half_m = HALF_95 * math.hypot(one["along_sd_m"], other["along_sd_m"])
    most = _far(MOST_APART_M, units)
    why = (
        f"{_far(gap_m, units)} ±{_far(half_m, units)} from {_named(one)} to {_named(other)}, of "
        f"one sewer as it seems: rarely more than {most}"
    )
    if count == 1:
        low = _far(gap_m - MOST_APART_M, units)
        why += f". Look first {low} to {most} past {_named(one)}"
    sides = {_side(one), _side(other)}
    return {
        "leg": one["leg"],
        "from_m": one["along_m"],
        "to_m": other["along_m"],
        "along_m": one["along_m"],
        "offset_m": (one["offset_m"] + other["offset_m"]) / 2,
        "offset_sd_m": max(one["offset_sd_m"], other["offset_sd_m"]),
        "side": sides.pop() if len(sides) == 1 else "",
        "what": f"{'a sewer manhole' if count == 1 else f'{count} or more sewer manholes'} between",
        "why": why,
        "owner": "sewer",
    }


def _spacing(obstructions: Sequence[_Row], leg: Leg, kinds: KindTable, *, units: str) -> list[_Row]:
    """Gaps in runs of sewer manholes; none before the first or after the last of a run.

    A manhole of unknown owner may be of the run, and a gap ends at it.
    """
    exact, may_be = _manholes(kinds)
    there = [row for row in obstructions if not str(row["status"]).startswith(_NOT_THERE)]
    known = [row for row in there if row["kind"] in exact]
    others = [row for row in there if row["kind"] in may_be]
    at_m = [row["along_m"] for row in others]
    found = []
    for run in _runs(known, leg):
        for one, last in itertools.pairwise(run):
            low, high = (bisect.bisect(at_m, row["along_m"]) for row in (one, last))
            between = [row for row in others[low:high] if math.isfinite(_apart_m(row, one, leg))]
            found += [
                _gap(here, there, units=units)
                for here, there in itertools.pairwise([one, *between, last])
                if there["along_m"] - here["along_m"] > MOST_APART_M
            ]
    return found


def _pipe_row(one: PipePlace, leg: Leg, *, units: str) -> _Row:
    """One row for a place where a recorded pipe lacks a manhole."""
    carries = f"{one.pipe.carries} manhole" + (" or inlet" if one.pipe.carries == "storm" else "")
    if one.what == "gap":
        length, most = (_far(length_m, units) for length_m in (one.length_m, MOST_APART_M))
        why = f"{length} of pipe in {one.pipe.source} without one: rarely more than {most}"
    else:
        why = f"a pipe in {one.pipe.source} has its {one.what} here, and none is known"
    return {
        "leg": leg.settings.code,
        "from_m": one.from_m,
        "to_m": one.to_m,
        "along_m": one.from_m,
        "offset_m": one.offset_m,
        "side": "R" if one.offset_m > 0 else "L",
        "what": f"a {carries}",
        "why": why,
        "owner": one.pipe.owner or one.pipe.carries,
        "record_id": one.pipe.record_id,
    }


def _on_sewers(
    obstructions: Sequence[_Row],
    missing: Sequence[PipePlace],
    leg: Leg,
    kinds: KindTable,
    *,
    units: str,
) -> list[_Row]:
    """Where recorded pipes lack a manhole, and gaps in runs where no recorded sewer tells more."""
    sewers = [one for one in missing if one.pipe.carries == "sewer"]
    gaps = [
        gap
        for gap in _spacing(obstructions, leg, kinds, units=units)
        if not any(one.from_m < gap["to_m"] and one.to_m > gap["from_m"] for one in sewers)
    ]
    found = [*gaps, *(_pipe_row(one, leg, units=units) for one in missing)]
    return [row for row in found if _meets({"offset_sd_m": 0.0, **row}, leg)]


# ---- Stretches -------------------------------------------------------------------------------


def _poor(coverage: pd.DataFrame, leg: Leg) -> list[_Row]:
    """Stretches of a leg that were poorly looked at."""
    found: list[_Row] = []
    for row in rows_of(poorly(coverage, [leg])):
        sides = [side for side in ("right", "left") if f"on the {side}" in row["reason"]]
        found.append(
            {
                "leg": row["leg"],
                "from_m": row["from_m"],
                "to_m": row["to_m"],
                "along_m": row["from_m"],
                "side": sides[0][0].upper() if len(sides) == 1 else "",
                "what": "all of this stretch",
                "why": row["reason"],
            }
        )
    return found


def _placed(rows: Sequence[_Row], leg: Leg) -> list[dict[str, Any]]:
    """Rows of a leg in walking order, with where each begins on the globe."""
    ordered = sorted(
        rows,
        key=lambda row: (row["along_m"], row["from_m"] == row["to_m"], row["what"], row["why"]),
    )
    along_m = np.array([row["along_m"] for row in ordered], dtype=np.float64)
    offset_m = np.array([row.get("offset_m", 0.0) for row in ordered], dtype=np.float64)
    lon, lat = place(leg.line, along_m, np.nan_to_num(offset_m))
    return [
        {**row, "lon_deg": lon_deg, "lat_deg": lat_deg}
        for row, lon_deg, lat_deg in zip(ordered, lon.tolist(), lat.tolist(), strict=True)
    ]


def search_of(
    obstructions: pd.DataFrame,
    records: pd.DataFrame,
    marks: pd.DataFrame,
    coverage: pd.DataFrame,
    *,
    legs: Sequence[Leg],
    settings: Settings,
) -> pd.DataFrame:
    """Everything that is worth a walk, in walking order.

    - What a file has and nobody saw.
    - Iron that was seen once of several passings and is in no file, or whose kind or lane is not
      sure.
    - Gaps in runs of sewer manholes, and where a recorded pipe ends, bends or goes on too long
      without one.
    - Stretches that were poorly looked at.

    What lies past the limits or beyond the road by more than its own ± is left out, and so is what
    a person on foot has looked at.

    Parameters
    ----------
    obstructions
        Table ``tables.OBSTRUCTIONS``.
    records, marks
        With ``tables.LOCATED``.
    coverage
        Table ``tables.COVERAGE``.
    legs
        The job's legs.
    settings
        The job.

    Returns
    -------
    table
        ``tables.SEARCH``.
    """
    kinds, units = settings.kinds, settings.units
    pipes = pipes_of(records, kinds)
    listed_ids = {one for ids in obstructions["record_ids"] for one in ids}
    on_list = records[records["record_id"].isin(listed_ids)]
    beside = _Known(
        records={str(one["record_id"]): one for one in rows_of(on_list)},
        said=dict(zip(marks["mark_id"].tolist(), marks["kind"].tolist(), strict=True)),
        passed=passed(coverage),
        kinds=kinds,
    )
    every: list[dict[str, Any]] = []
    for leg in legs:
        own = obstructions[obstructions["leg"] == leg.settings.code]
        known = rows_of(own.sort_values("along_m", kind="stable"))
        listed = [row for row in known if _meets(row, leg)]
        missing = missing_at(pipes, own, leg, kinds=kinds, edge_m=_edge_m(leg))
        rows = [
            *_things(listed, beside),
            *_on_sewers(known, missing, leg, kinds, units=units),
            *_poor(coverage, leg),
        ]
        every += _placed(rows, leg)
    return tables.table(tables.SEARCH, every)
