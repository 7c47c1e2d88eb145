"""``plan.json`` and ``passes.geojson``: the plan of work as plain data, for other programs.

In goes a ``Pack``, out comes JSON with sorted keys.  Lengths are metres, areas square metres,
masses kilograms; what is not known is null.
"""

import dataclasses
import json
import math
from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
import numpy.typing as npt

from routeprep import __version__
from routeprep.exports.cells import rounded
from routeprep.outlines import outline_deg
from routeprep.plans import Pass
from routeprep.shapes import Leg, Pack
from routeprep.stationing import label

__all__ = ["FORMAT", "pass_columns", "passes_text", "plan_text", "ring_of"]

Floats = npt.NDArray[np.float64]

# Version of the plan's format.
FORMAT = 1

# Digits after the point: a micrometre, a thousandth of a gram; what is less is the floating
# point's.  Loads are given as reckoned, not rounded up.
_DECIMALS = 6
_DEGREES = 7

_WORDS = {
    "lengths": (
        "metres; along is from the start of the leg's centerline, offsets and edges are from it, "
        "right positive looking up-station"
    ),
    "travel": "+1 up-station, -1 down-station",
    "depths": "metres, at the edges that stand beside them",
    "quantities": (
        "of each strip, pass, hand work and leg, less what is skipped: m2, m3 in the road, kg, m3 "
        "in the truck, truck loads that are not rounded"
    ),
    "unknown": "null",
}


def _plain(value: object) -> object:
    """A value as JSON has it."""
    if isinstance(value, np.ndarray):
        return [rounded(float(one), _DECIMALS) for one in value]
    if isinstance(value, float):
        return rounded(value, _DECIMALS)
    return list(value) if isinstance(value, tuple) else value


def _record(item: Any) -> dict[str, object]:  # noqa: ANN401 - any of the shapes of the plan
    """The fields of one shape by their names."""
    return {one.name: _plain(getattr(item, one.name)) for one in dataclasses.fields(item)}


def _labels(item: Any, leg: Leg) -> dict[str, object]:  # noqa: ANN401 - as above
    """Stations of the ends of what has an along or a from and a to."""
    if isinstance(getattr(item, "along_m", None), np.ndarray):
        ends_m = (float(item.along_m[0]), float(item.along_m[-1]))
    elif hasattr(item, "from_m"):
        ends_m = (item.from_m, item.to_m)
    else:
        return {"station": label(leg.stationing, item.along_m)}
    first, last = (label(leg.stationing, at_m) for at_m in ends_m)
    return {"from_station": first, "to_station": last}


def _parts(pack: Pack) -> dict[str, object]:
    """Everything of the plan that lies on a leg, in the plan's order."""
    legs = {leg.settings.code: leg for leg in pack.legs}
    plan = pack.plan
    parts: dict[str, tuple[Any, ...]] = {
        "strips": plan.strips,
        "passes": plan.passes,
        "ramps": plan.ramps,
        "hand_work": plan.hand_work,
        "quantities": plan.quantities,
    }
    return {
        name: [_record(one) | _labels(one, legs[one.leg]) for one in held]
        for name, held in parts.items()
    }


def _meetings(pack: Pack) -> list[dict[str, object]]:
    """What each pass meets, with its number and station."""
    legs = {leg.settings.code: leg for leg in pack.legs}
    leg_of = {one.code: legs[one.leg] for one in pack.plan.passes}
    things = pack.obstructions
    nos = dict(zip(things["anchor_id"], things["no"], strict=True))
    return [
        _record(one) | {"no": nos.get(one.anchor_id, "")} | _labels(one, leg_of[one.pass_code])
        for one in pack.plan.meetings
    ]


def plan_text(pack: Pack) -> str:
    """``plan.json`` of a pack: machines, strips, passes, meetings, ramps, hand work, quantities.

    Of a job without a machine every list is empty.
    """
    settings = pack.settings
    made: dict[str, object] = {
        "format": FORMAT,
        "versions": {"routeprep": __version__},
        "job": {
            "name": settings.name,
            "number": settings.number,
            "revision": settings.revision,
            "date": settings.date.isoformat(),
            "units": settings.units,
        },
        "words": _WORDS,
        "draft": list(pack.draft),
        "machines": [_record(one) for one in pack.plan.machines],
        "haul": _record(settings.haul),
        "meetings": _meetings(pack),
        "flags": list(pack.plan.flags),
    }
    whole = made | _parts(pack)
    return f"{json.dumps(whole, indent=1, sort_keys=True, ensure_ascii=False, allow_nan=False)}\n"


# ---- On the map ------------------------------------------------------------------------------


def ring_of(one: Pass, leg: Leg) -> list[list[float]]:
    """Outline of the ground under the drum: longitude and latitude [deg], the first again last.

    Counter-clockwise, as RFC 7946 (3.1.6) has it.

    Parameters
    ----------
    one
        The pass.
    leg
        Its leg.
    """
    ring = np.column_stack(outline_deg(one, leg))
    return [[round(float(lon), _DEGREES), round(float(lat), _DEGREES)] for lon, lat in ring]


def _span(values: Floats) -> tuple[float, float]:
    known = values[~np.isnan(values)]
    return (float(known.min()), float(known.max())) if len(known) else (math.nan, math.nan)


def pass_columns(one: Pass, leg: Leg) -> dict[str, object]:
    """What map layers say of a pass, a value a column; numbers are metres.

    Parameters
    ----------
    one
        The pass.
    leg
        Its leg.
    """
    first_m, last_m = float(one.along_m[0]), float(one.along_m[-1])
    least_m, most_m = _span(one.right_m - one.left_m)
    shallow_m, deep_m = _span(np.concatenate([one.depth_left_m, one.depth_right_m]))
    return {
        "code": one.code,
        "work_order": one.order,
        "leg": one.leg,
        "strip": one.strip,
        "machine": one.machine,
        "half": one.half,
        "travel": one.travel,
        "against_traffic": one.against,
        "from_m": first_m,
        "to_m": last_m,
        "from_station": label(leg.stationing, first_m),
        "to_station": label(leg.stationing, last_m),
        "least_width_m": least_m,
        "width_m": most_m,
        "least_depth_m": shallow_m,
        "depth_m": deep_m,
        "flags": "; ".join(one.flags),
    }


def _features(pack: Pack) -> Iterator[dict[str, object]]:
    legs: Mapping[str, Leg] = {leg.settings.code: leg for leg in pack.legs}
    for one in pack.plan.passes:
        columns = pass_columns(one, legs[one.leg])
        yield {
            "type": "Feature",
            "id": one.code,
            "geometry": {
                "type": "Polygon",
                "coordinates": [ring_of(one, legs[one.leg])],
            },
            "properties": {
                name: rounded(value, 3) if isinstance(value, float) else value
                for name, value in columns.items()
            },
        }


def passes_text(pack: Pack) -> str:
    """``passes.geojson``: the ground under each pass as a polygon, one to a line of text.

    Longitude first, WGS 84, as RFC 7946 has it; none without a machine.
    """
    inside = ",\n".join(json.dumps(one, ensure_ascii=False) for one in _features(pack))
    return f'{{"type": "FeatureCollection", "features": [\n{inside}\n]}}\n'
