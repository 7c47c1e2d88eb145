"""What a phone is handed to keep: which kinds are met most on this job, and where to look again.

In goes a pack, out comes JSON; the crew's list is added to it where that page is made.
"""

from collections import Counter
from collections.abc import Mapping
from typing import Any

from routeprep.field.crewlist import crew_list
from routeprep.kinds import GROUPS, NO_THINGS, KindTable
from routeprep.shapes import Leg, Pack
from routeprep.stationing import label
from routeprep.tables import rows_of
from routeprep.units import to_m

__all__ = ["handout", "kinds_most_met"]

# Stations of the search list are told to this step [the unit's length].
_STEP = {"ft": 5.0, "m": 1.0}


def kinds_most_met(kinds: KindTable, met: Mapping[str, int]) -> list[dict[str, str]]:
    """The kinds that a person marks, those met most on the job first, then in the legend's order.

    Parameters
    ----------
    kinds
        The job's kinds.
    met
        How often each was marked, by code.
    """
    order = {code: place for place, code in enumerate(kinds.kinds)}
    things = [one for one in kinds.kinds.values() if one.group not in NO_THINGS]
    things.sort(key=lambda one: (-met.get(one.code, 0), GROUPS.index(one.group), order[one.code]))
    return [
        {"code": one.code, "name": one.name, "group": one.group, "across": one.across}
        for one in things
    ]


def _look(row: Mapping[str, Any], legs: Mapping[str, Leg]) -> dict[str, object]:
    """One row of the search list."""
    leg = legs[row["leg"]]
    unit = leg.stationing.unit
    station = label(leg.stationing, row["along_m"], step=_STEP[unit.family], decimals=0)
    return {
        "leg": row["leg"],
        "street": leg.settings.name,
        "station": station,
        "side": row["side"],
        "what": row["what"],
        "why": row["why"],
        "no": row["no"],
        "record_id": row["record_id"],
        "lon_deg": round(row["lon_deg"], 7),
        "lat_deg": round(row["lat_deg"], 7),
        "stretch": bool(row["to_m"] - row["from_m"] > to_m(5.0, "ft")),
    }


def handout(pack: Pack) -> dict[str, object]:
    """What the drive page keeps of a job.

    Parameters
    ----------
    pack
        The job as it stands.
    """
    legs = {leg.settings.code: leg for leg in pack.legs}
    met = Counter(code for code in pack.marks["kind"].tolist() if code)
    return {
        "job": pack.settings.name,
        "units": pack.settings.units,
        "legs": [{"code": code, "name": leg.settings.name} for code, leg in legs.items()],
        "kinds": kinds_most_met(pack.settings.kinds, met),
        "search": [_look(row, legs) for row in rows_of(pack.search)],
        "crew": crew_list(pack),
    }
