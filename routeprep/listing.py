"""One list of a pack's obstructions as every output shows it: sheet, map, tables.

In goes a ``Pack``, out comes a table with a row an obstruction, in the order of the sheet: first
the columns of the exported list (metres, signed offsets), then the texts that paper and screen
print (feet for a US job).  No output words these things for itself.
"""

import math
from collections.abc import Hashable, Mapping, Sequence
from typing import Any

import pandas as pd

from routeprep.deciding import NOT_DECIDED
from routeprep.markers import reading_at
from routeprep.shapes import Leg, Pack
from routeprep.spreads import HALF_95
from routeprep.stationing import label, number, value_at
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
    "what_text", "where_text", "box", "do_text", "proposed_text", "struck",
)  # fmt: skip

# Print no finer than it was measured: whole feet (0.1 m) if wheeled or taped and as sure as
# that, else 5 ft (1 m).
_FINE = ("wheeled", "taped")
_STEP = {"ft": (1.0, 5.0), "m": (0.1, 1.0)}

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


def _where_text(row: "pd.Series[Any]", side: str) -> str:
    if row["across"] == "whole road":
        return "whole road"
    word = {"R": "right side", "L": "left side", "C": "", "": "side not sure"}[side]
    lane = str(row["lane"])
    if len(lane) > 1 and lane[1:] != "1":
        word = f"{word}, lane {lane[1:]} from the line"
    parts = [part for part in (word, str(row["across"])) if part]
    if "lane not sure" in str(row["doubt"]):
        parts.append("lane not sure")
    return ", ".join(parts)


def _plus_minus_text(sd_m: float, *, units: str) -> str:
    half_m = HALF_95 * sd_m
    if half_m < _SAID_FROM_M:
        return ""
    if units == "us":
        return f"±{math.ceil(half_m / _SAID_FROM_M) * 5} ft"
    return f"±{math.ceil(half_m)} m"


def _one(row: "pd.Series[Any]", leg: Leg, *, units: str) -> dict[str, object]:
    stationing = leg.stationing
    along_m, sd_m = float(row["along_m"]), float(row["along_sd_m"])
    offset_m, offset_sd_m = float(row["offset_m"]), float(row["offset_sd_m"])
    side = _side(str(row["lane"]), str(row["across"]), offset_m, offset_sd_m)
    fine, coarse = _STEP[stationing.unit.family]
    taped = row["method"] in _FINE and HALF_95 * sd_m < _SAID_FROM_M
    step = fine if taped else coarse
    decimals = 1 if step < 1 else 0
    # Whatever else the row says: what no named person decided reads STOP.
    decided = bool(row["decided_by"])
    return {
        "station": label(stationing, along_m, decimals=1),
        "station_value": value_at(stationing, along_m),
        "side": side,
        "plus_minus_m": HALF_95 * sd_m,
        "plus_minus_across_m": HALF_95 * offset_sd_m,
        "from_station": label(stationing, float(row["from_m"]), decimals=1),
        "to_station": label(stationing, float(row["to_m"]), decimals=1),
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
    }


def rows(pack: Pack) -> pd.DataFrame:
    """The list, a row an obstruction, by leg in the job's order and then by ``along_m``.

    Returns
    -------
    pandas.DataFrame
        ``EXPORTED`` columns (``record_ids`` joined by spaces), then ``station_text``,
        ``zero_text``, ``reference_text`` (from the mile marker before),
        ``plus_minus_text``, ``what_text``, ``where_text``, ``box`` (0 curb … 4
        line, -1 not known), ``do_text``, ``proposed_text``, ``who``, ``size``, ``struck``,
        ``to_next_m`` (along to the next row of the leg [m], NaN for the last), ``mark_ids``,
        ``past_end_m``; and the other columns of ``tables.OBSTRUCTIONS``.
    """
    legs = {leg.settings.code: leg for leg in pack.legs}
    table = pack.obstructions.reset_index(drop=True)
    made = [
        _one(row, legs[str(row["leg"])], units=pack.settings.units) for _, row in table.iterrows()
    ]
    added = pd.DataFrame(made, columns=_ADDED, index=table.index)
    listed = pd.concat([table, added], axis=1)
    listed["record_ids"] = [" ".join(ids) for ids in listed["record_ids"]]
    listed["to_next_m"] = listed.groupby("leg")["along_m"].diff(-1).abs()
    others = [name for name in listed.columns if name not in EXPORTED]
    return listed[[*EXPORTED, *others]]


def rows_by_leg(pack: Pack) -> dict[str, list[Row]]:
    """The rows of each leg of the job, in order; none for a leg without things."""
    listed: Sequence[Row] = rows(pack).to_dict("records")
    codes = [leg.settings.code for leg in pack.legs]
    return {code: [row for row in listed if row["leg"] == code] for code in codes}
