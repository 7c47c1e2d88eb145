"""What stands on the pages of one pass, in the order in which its operator meets it.

In go a pass, its leg and its machine, out come plain dicts that the template draws one by one.
Left and right are the operator's: YOUR LEFT and YOUR RIGHT.
"""

from collections.abc import Iterator, Mapping, Sequence

from routeprep.deciding import NOT_DECIDED
from routeprep.listing import Row
from routeprep.meetings import SIDE_PLATE
from routeprep.plans import Meeting, Pass
from routeprep.planwords import depths_text, hands, lift_text, pass_text, turned, width_text
from routeprep.shapes import Leg, Pack
from routeprep.sheets.drum_picture import drum_picture
from routeprep.sheets.leg_pages import is_undecided
from routeprep.sheets.run_places import Place, Run, fixed_places, ordered, station_of
from routeprep.wording import height_text

__all__ = ["in_order", "pass_page", "pass_places", "under_station"]

_BEFORE = {"past": "before", "before": "past"}


def in_order(pack: Pack) -> list[Pass]:
    """The passes of a plan in the order of work: leg after leg, each in its own order."""
    codes = [leg.settings.code for leg in pack.legs]
    return sorted(pack.plan.passes, key=lambda one: (codes.index(one.leg), one.order))


# ---- Things ----------------------------------------------------------------------------------


def _lifts(run: Run) -> dict[str, list[tuple[Meeting, Row]]]:
    """Things that share a lift, by the first of them; none that are lifted over alone."""
    groups: dict[str, list[tuple[Meeting, Row]]] = {}
    for met, row in run.met:
        groups.setdefault(met.joined or met.anchor_id, []).append((met, row))
    return {first: group for first, group in groups.items() if len(group) > 1}


def _nos(group: Sequence[tuple[Meeting, Row]]) -> str:
    return ", ".join(str(row["no"]) for _, row in group)


def _one_lifts(run: Run, lifts: Mapping[str, Sequence[tuple[Meeting, Row]]]) -> Iterator[Place]:
    for group in lifts.values():
        said = lift_text(group, run.one, run.leg, units=run.units)
        text = f"ONE LIFT for {_nos(group)}: {said}. Ground between: the small machine."
        first_m = min((met.along_m for met, _ in group), key=lambda at_m: run.one.travel * at_m)
        yield Place(along_m=first_m, rank=3, item={"type": "lift", "text": text})


def under_station(row: Row, *, travel: int) -> list[str]:
    """Past or before which landmark, from where to where, from which zero; all as it is met.

    Parameters
    ----------
    row
        The thing's row of the list.
    travel
        +1 met up-station, -1 down-station.
    """
    landmark, ends = str(row["landmark_text"]), str(row["ends_text"])
    if travel < 0:
        parts = landmark.split(" ", 3)
        if len(parts) > 3 and parts[2] in _BEFORE:  # noqa: PLR2004 - "85 ft past Elm St"
            landmark = " ".join([*parts[:2], _BEFORE[parts[2]], parts[3]])
        ends = " to ".join(reversed(ends.split(" to ")))
    return [text for text in (landmark, ends, str(row["zero_text"])) if text]


def _do(met: Meeting, row: Row) -> str:
    """What to do there; what nobody decided reads STOP, whatever else is said."""
    return NOT_DECIDED if is_undecided(row) else str(met.action).upper()


def _lift(met: Meeting, row: Row, run: Run, shared: Sequence[tuple[Meeting, Row]]) -> str:
    """Where the drum is out of the road."""
    if shared:
        return f"in ONE LIFT: {_nos(shared)}"
    return lift_text([(met, row)], run.one, run.leg, units=run.units)


def _sub(met: Meeting, row: Row) -> list[str]:
    """What stands under what to do: the proposal, and who."""
    proposed = f"proposed: {row['proposed_text']}" if row["proposed_text"] else ""
    side = "SIDE PLATE / SKI side" if met.touch == "side" and is_undecided(row) else ""
    # Who cuts around it does so where the drum comes out.
    who = "" if str(met.action) == SIDE_PLATE else str(row["who"])
    return [text for text in (side, proposed, who) if text]


def _remarks(row: Row, *, units: str) -> list[str]:
    status = "" if str(row["status"]).startswith("seen") else str(row["status"])
    height = height_text(float(row["height_m"]), str(row["height_by"]), units=units)
    doubt = f"? {row['doubt']}" if row["doubt"] else ""
    texts = (doubt, f"height {height}" if height else "", status, str(row["note"]))
    return [text for text in texts if text]


def _thing(
    met: Meeting, row: Row, run: Run, shared: Sequence[tuple[Meeting, Row]]
) -> dict[str, object]:
    do = _do(met, row)
    return {
        "type": "thing",
        "no": row["no"],
        "station": row["station_text"],
        "plus_minus": row["plus_minus_text"],
        "under_station": under_station(row, travel=run.one.travel),
        "what": row["what_text"],
        "remarks": _remarks(row, units=run.units),
        "drum": drum_picture(met, run.one, row, units=run.units),
        "do": do,
        "lift": _lift(met, row, run, shared),
        "exact": met.exact and not shared,
        "sub": _sub(met, row),
        "boxed": do.startswith(("STOP", NOT_DECIDED)),
        "lifted": bool(shared),
        "struck": bool(row["struck"]),
        "gap": "",
    }


def _things(run: Run, lifts: Mapping[str, list[tuple[Meeting, Row]]]) -> Iterator[Place]:
    for met, row in run.met:
        shared = lifts.get(met.joined or met.anchor_id, [])
        yield Place(along_m=met.along_m, rank=4, item=_thing(met, row, run, shared))


def _places(run: Run) -> list[Place]:
    lifts = _lifts(run)
    return ordered([*fixed_places(run), *_one_lifts(run, lifts), *_things(run, lifts)], run)


# ---- The pages -------------------------------------------------------------------------------


def _widths(one: Pass, *, units: str) -> str:
    wide_m = one.right_m - one.left_m
    least, most = (width_text(float(m), units=units) for m in (wide_m.min(), wide_m.max()))
    return most if least == most else f"{least.split()[0]} to {most}"


def _counts(run: Run) -> str:
    actions = [_do(met, row) for met, row in run.met]
    undecided = sum(do == NOT_DECIDED for do in actions)
    stops = sum(do.startswith("STOP") for do in actions)
    striped = sum(met.touch == "maybe" for met, _ in run.met)
    return (
        f"{len(actions)} on this pass: {stops} STOP, {undecided} not decided, "
        f"{striped} that may be under the drum (striped)"
    )


def _edges(run: Run) -> list[dict[str, str]]:
    """YOUR LEFT and YOUR RIGHT: which side of the road, and how deep there."""
    one = run.one
    depths = (depths_text(depth_m, units=run.units) for depth_m in turned(
        one, one.depth_left_m, one.depth_right_m
    ))  # fmt: skip
    names = ("YOUR LEFT", "YOUR RIGHT")
    return [
        {"hand": hand, "side": side, "depth": depth}
        for hand, side, depth in zip(names, hands(one), depths, strict=True)
    ]


def _run(one: Pass, pack: Pack, leg: Leg, rows: Mapping[str, Row]) -> Run:
    plan = pack.plan
    return Run(
        one=one,
        leg=leg,
        machine=next((it for it in plan.machines if it.name == one.machine), None),
        met=[(met, rows[met.anchor_id]) for met in plan.meetings if met.pass_code == one.code],
        ramps=[ramp for ramp in plan.ramps if (ramp.leg, ramp.strip) == (one.leg, one.strip)],
        units=pack.settings.units,
    )


def pass_places(one: Pass, pack: Pack, leg: Leg, rows: Mapping[str, Row]) -> list[Place]:
    """What stands on the pages of a pass with where it is, in the order met.

    Parameters
    ----------
    one, pack, leg, rows
        As ``pass_page`` has them.
    """
    return _places(_run(one, pack, leg, rows))


def pass_page(one: Pass, pack: Pack, leg: Leg, rows: Mapping[str, Row]) -> dict[str, object]:
    """All that the pages of a pass show.

    Parameters
    ----------
    one
        The pass.
    pack
        The pack it is from.
    leg
        Its leg.
    rows
        The leg's rows of the list, by anchor.
    """
    units = pack.settings.units
    run = _run(one, pack, leg, rows)
    begin, end = (station_of(leg, at_m) for at_m in run.ends_m)
    zero = f" from {leg.stationing.zero}" if leg.stationing.zero else ""
    return {
        "code": leg.settings.code,
        "street": leg.settings.name,
        "title": pass_text(one),
        "machine": one.machine,
        "from_to": f"{begin} → {end}{zero}",
        "direction": "STATIONS COUNT UP" if one.travel > 0 else "STATIONS COUNT DOWN",
        "down": one.travel < 0,
        "against": one.against,
        "width": _widths(one, units=units),
        "edges": _edges(run),
        "flags": list(one.flags),
        "counts": _counts(run),
        "find": one.code.removeprefix(leg.settings.code).strip(),
        "items": [place.item for place in _places(run)],
    }
