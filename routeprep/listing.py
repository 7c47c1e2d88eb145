"""One list of a pack's obstructions as every output shows it: sheet, map, tables.

In goes a ``Pack``, out comes a table with a row an obstruction, in the order of the sheet: first
the columns of the exported list (metres, signed offsets), then the texts that paper and screen
print (feet for a US job).  No output words these things for itself.
"""

import functools
import math
from collections.abc import Hashable, Mapping, Sequence
from typing import Any, cast

import pandas as pd

from routeprep.deciding import NOT_DECIDED
from routeprep.markers import reading_at
from routeprep.shapes import Leg, Pack
from routeprep.spreads import HALF_95
from routeprep.stationing import label, number, value_at
from routeprep.streets import Landmark
from routeprep.tables import rows_of
from routeprep.units import FACTORS_M, to_m

__all__ = ["EXPORTED", "Row", "distance_text", "rows", "rows_by_leg"]

# A row of the list, by the names of its columns.
Row = Mapping[Hashable, Any]

# The columns of obstructions.csv, in their order.
EXPORTED = (
    "no", "leg", "kind", "name", "station", "station_value", "along_m", "lane", "across",
    "offset_m", "side", "plus_minus_m", "plus_minus_across_m", "from_station", "to_station",
    "status", "times_seen", "method", "record_ids", "action", "decided_by", "passes", "height_m",
    "height_by", "doubt", "note", "lon_deg", "lat_deg", "anchor_id",
)  # fmt: skip

# What listing adds to the table of obstructions.
_ADDED = (
    "station", "station_value", "side", "plus_minus_m", "plus_minus_across_m", "from_station",
    "to_station", "passes", "station_text", "zero_text", "reference_text", "plus_minus_text",
    "what_text", "where_text", "box", "do_text", "proposed_text", "struck", "landmark_text",
    "ends_text",
)  # fmt: skip

# Print no finer than it was measured: whole feet (0.1 m) if wheeled or taped and as sure as
# that, else 5 ft (1 m).
_FINE = ("wheeled", "taped")
_STEP = {"ft": (1.0, 5.0), "m": (0.1, 1.0)}

# A thing at least this long along the road is said with both its ends [m].
_LONG_M = 1.5

# What is asked of a row to know whether it is lifted over as one with others.
_LIFT = "LIFT"
_LIFTED = ("anchor_id", "no", "from_m", "to_m", "lane", "do_text", "struck")

# A ± is said from 5 ft up.
_SAID_FROM_M = to_m(5.0, "ft")

# Boxes on the sheet from curb to line.
_BOXES = (
    "curb or edge",
    "outer wheel path",
    "between wheel paths",
    "inner wheel path",
    "on the line",
)


def distance_text(length_m: float, *, units: str, step: float = 5.0) -> str:
    """A distance for people: "245 ft" on a US job, "75 m" on a metric one.

    Parameters
    ----------
    length_m
        The distance [m].
    units
        "us" or "metric".
    step
        Round to a multiple of this [ft]; on a metric job to 1 m (0.1 m when below 5 ft).
    """
    if units == "us":
        feet = length_m / float(FACTORS_M["ft"])
        return f"{math.floor(feet / step + 0.5) * step:,.0f} ft"
    return f"{length_m:,.0f} m" if step >= 5.0 else f"{length_m:,.1f} m"  # noqa: PLR2004


def _side(lane: str, across: str, offset_m: float, offset_sd_m: float) -> str:
    if across == "on the line":
        return "C"
    if lane:
        return lane[0]
    if abs(offset_m) > HALF_95 * offset_sd_m:
        return "R" if offset_m > 0 else "L"
    return ""


def _where_text(row: Row, side: str) -> str:
    if row["across"] == "whole road":
        return "whole road"
    word = {"R": "right", "L": "left", "C": "", "": "side not sure"}[side]
    word = f"{word} side" if word in ("right", "left") and not row["across"] else word
    lane = str(row["lane"])
    if len(lane) > 1 and lane[1:] != "1":
        word = f"{word}, lane {lane[1:]} from the line"
    parts = [part for part in (word, str(row["across"])) if part]
    unsure = "lane not sure" in str(row["doubt"])
    if unsure and not side:
        return ", ".join(["side and lane not sure", *parts[1:]])
    return ", ".join([*parts, *(["lane not sure"] if unsure else [])])


def _plus_minus_text(sd_m: float, *, units: str) -> str:
    half_m = HALF_95 * sd_m
    if half_m < _SAID_FROM_M:
        return ""
    if units == "us":
        return f"±{math.ceil(half_m / _SAID_FROM_M) * 5} ft"
    return f"±{math.ceil(half_m)} m"


def _landmark_text(leg: Leg, along_m: float, *, units: str, step: float) -> str:
    """How far past the last landmark a place is, or before the first one; empty without any."""
    marks = leg.landmarks
    if not marks:
        return ""

    def far(mark: Landmark) -> str:
        return distance_text(abs(along_m - mark.along_m), units=units, step=step)

    nearest = min(marks, key=lambda mark: abs(along_m - mark.along_m))
    if far(nearest).split()[0] in ("0", "0.0"):
        return f"at {nearest.name}"
    passed = [mark for mark in marks if mark.along_m <= along_m]
    mark, word = (passed[-1], "past") if passed else (marks[0], "before")
    return f"{far(mark)} {word} {mark.name}"


def _ends_text(leg: Leg, from_m: float, to_m: float) -> str:
    """Both ends of a stretch, rounded away from it to 5 ft or 1 m, to stations there are."""
    step = 5 if leg.stationing.unit.family == "ft" else 1
    ends = ((from_m, -1), (to_m, 1))
    return " to ".join(
        number(leg.stationing, along_m, step=step, toward=toward) for along_m, toward in ends
    )


def _one(row: Row, leg: Leg, *, units: str) -> dict[str, object]:
    stationing = leg.stationing
    along_m, sd_m = float(row["along_m"]), float(row["along_sd_m"])
    offset_m, offset_sd_m = float(row["offset_m"]), float(row["offset_sd_m"])
    side = _side(str(row["lane"]), str(row["across"]), offset_m, offset_sd_m)
    fine, coarse = _STEP[stationing.unit.family]
    taped = row["method"] in _FINE and HALF_95 * sd_m < _SAID_FROM_M
    step = fine if taped else coarse
    decimals = 1 if step < 1 else 0
    from_m, to_m = float(row["from_m"]), float(row["to_m"])
    # Whatever else the row says: what no named person decided reads STOP.
    decided = bool(row["decided_by"])
    return {
        "station": label(stationing, along_m, decimals=1),
        "station_value": value_at(stationing, along_m),
        "side": side,
        "plus_minus_m": HALF_95 * sd_m,
        "plus_minus_across_m": HALF_95 * offset_sd_m,
        "from_station": label(stationing, from_m, decimals=1),
        "to_station": label(stationing, to_m, decimals=1),
        "passes": "",
        "station_text": number(stationing, along_m, step=step, decimals=decimals),
        "zero_text": f"from {stationing.zero}" if stationing.zero else "",
        "reference_text": reading_at(leg.markers, along_m, units=units),
        "plus_minus_text": _plus_minus_text(sd_m, units=units),
        "what_text": " ".join(part for part in (str(row["name"]), str(row["size"])) if part),
        "where_text": _where_text(row, side),
        "box": _BOXES.index(str(row["across"])) if row["across"] in _BOXES else -1,
        "do_text": str(row["action"]) if decided else NOT_DECIDED,
        "proposed_text": "" if decided else str(row["proposed"]),
        "struck": str(row["status"]).startswith("gone"),
        "landmark_text": _landmark_text(leg, along_m, units=units, step=1.0 if taped else 5.0),
        "ends_text": _ends_text(leg, from_m, to_m) if to_m - from_m >= _LONG_M else "",
    }


def _one_pass(row: Row, others: Sequence[Row]) -> bool:
    """Whether one pass may meet a row together with others: no two are in lanes that differ."""
    return all(not row["lane"] or other["lane"] in ("", row["lane"]) for other in others)


def _end_m(group: Sequence[Row]) -> float:
    """Where the last of some rows ends, along [m]."""
    return max(float(row["to_m"]) for row in group)


def _lifts(listed: Sequence[Row], join_m: float) -> list[list[Row]]:
    """Rows of a leg, in order, that the drum is lifted over as one: two or more each.

    Those nearer than ``join_m`` [m] that a named person decided to lift over, in one lane or in
    lanes that are not known.
    """
    done: list[list[Row]] = []
    near: list[list[Row]] = []
    for row in listed:
        if row["struck"] or not str(row["do_text"]).startswith(_LIFT):
            continue
        far = [group for group in near if row["from_m"] - _end_m(group) >= join_m]
        done += far
        near = [group for group in near if group not in far]
        joined = next((group for group in near if _one_pass(row, group)), None)
        if joined is None:
            near.append([row])
        else:
            joined.append(row)
    return [group for group in done + near if len(group) > 1]


def _lift_texts(listed: pd.DataFrame, pack: Pack) -> pd.DataFrame:
    """The list with what it says of lifts that are joined."""
    texts: dict[str, str] = {}
    for leg in pack.legs:
        mine = _rows_of(listed.loc[listed["leg"] == leg.settings.code, list(_LIFTED)])
        for group in _lifts(mine, pack.settings.defaults.lift_join_m):
            from_m = min(float(row["from_m"]) for row in group)
            nos = ", ".join(row["no"] for row in group)
            said = f"ONE {_LIFT} {_ends_text(leg, from_m, _end_m(group))}: {nos}"
            texts |= {row["anchor_id"]: said for row in group}
    lifts = [texts.get(anchor_id, "") for anchor_id in listed["anchor_id"]]
    return listed.assign(lift_text=pd.array(lifts, dtype="str"))


def _rows_of(frame: pd.DataFrame) -> Sequence[Row]:
    return cast("Sequence[Row]", rows_of(frame))


def _passes_of(table: pd.DataFrame, pack: Pack) -> list[str]:
    """For each thing the codes of the passes that it is in, in the plan's order."""
    order = {one.code: at for at, one in enumerate(pack.plan.passes)}
    codes: dict[str, set[str]] = {}
    for met in pack.plan.meetings:
        codes.setdefault(met.anchor_id, set()).add(met.pass_code)
    return [
        "; ".join(sorted(codes.get(anchor_id, ()), key=lambda code: order[code]))
        for anchor_id in table["anchor_id"]
    ]


# Every output asks for the list, one after the other: it is made once for the pack at hand.
@functools.lru_cache(maxsize=1)
def _listed(pack: Pack) -> pd.DataFrame:
    legs = {leg.settings.code: leg for leg in pack.legs}
    table = pack.obstructions.reset_index(drop=True)
    made = [_one(row, legs[str(row["leg"])], units=pack.settings.units) for row in _rows_of(table)]
    added = pd.DataFrame(made, columns=_ADDED, index=table.index)
    listed = pd.concat([table, added], axis=1)
    listed["record_ids"] = [" ".join(ids) for ids in listed["record_ids"]]
    listed["to_next_m"] = listed.groupby("leg")["along_m"].diff(-1).abs()
    listed = _lift_texts(listed, pack)
    listed["passes"] = pd.array(_passes_of(table, pack), dtype="str")
    others = [name for name in listed.columns if name not in EXPORTED]
    return listed[[*EXPORTED, *others]]


def rows(pack: Pack) -> pd.DataFrame:
    """The list, a row an obstruction, by leg in the job's order and then by ``along_m``.

    Returns
    -------
    pandas.DataFrame
        ``EXPORTED`` columns (``record_ids`` joined by spaces), then ``station_text``,
        ``zero_text``, ``reference_text`` (from the mile marker before),
        ``plus_minus_text``, ``what_text``, ``where_text``, ``box`` (0 curb … 4
        line, -1 not known), ``do_text``, ``proposed_text``, ``who``, ``size``, ``struck``,
        ``landmark_text`` ("85 ft past Elm St"), ``ends_text`` (of what is long, "12+00 to 12+40"),
        ``lift_text`` (the same for all that are lifted over as one, "ONE LIFT 12+00 to 12+20:
        A-3, A-4"), ``to_next_m`` (along to the next row of the leg [m], NaN for the last),
        ``mark_ids``, ``past_end_m``; and the other columns of ``tables.OBSTRUCTIONS``.
    """
    return _listed(pack).copy()


def rows_by_leg(pack: Pack) -> dict[str, list[Row]]:
    """The rows of each leg of the job, in order; none for a leg without things."""
    listed = _rows_of(rows(pack))
    codes = [leg.settings.code for leg in pack.legs]
    return {code: [row for row in listed if row["leg"] == code] for code in codes}
