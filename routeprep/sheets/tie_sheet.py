"""The tie sheet: a ``Pack`` in, the bytes of a PDF out.

For the crews that come after, who raise the castings and pave: lowered iron, ramps, steps and
skipped ground, each with room for two swing ties.  How it looks is ``tie-sheet.typ``.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from routeprep import listing
from routeprep.listing import Row, distance_text
from routeprep.plans import Ramp
from routeprep.planwords import width_text
from routeprep.ramps import ramps_of
from routeprep.shapes import Leg, Pack
from routeprep.sheets.drawing import draw
from routeprep.sheets.drum_picture import is_taped
from routeprep.sheets.leg_pages import is_undecided
from routeprep.sheets.run_cover import NO_MACHINE
from routeprep.sheets.run_pages import station_of
from routeprep.wording import depth_text, limits_text, shift_text

__all__ = ["render"]

_TEMPLATE = "tie-sheet.typ"

_CAUTIONS = (
    (
        "No swing tie is in the job's files: both boxes of each row are blank. Tape each from a "
        "thing that stays (a curb, a pole, a wall), before the cut and before the paving, and "
        "write what from and how far."
    ),
    "RAMPED, STEP, SKIPPED, LIFTED OVER, GONE AROUND: as planned. Cross out what was done else.",
    "Lowered iron stays on this sheet until it is raised, even where no pass meets it any more.",
    "Not a survey: what is not taped lies where drives and files put it, as good as its ±.",
)
_NONE = "Nothing lowered, no ramp, no step and no skipped ground."
# What a person decided that leaves ground in place, and how it is said afterwards.
_LEFT = {"SKIP": "SKIPPED", "LIFT": "LIFTED OVER", "GO AROUND": "GONE AROUND"}
_LOWERED = "lowered"
# A ramp stands at a joint that is this near along [m].
_SAME_M = 0.05


def _offset(row: Row, *, units: str) -> str:
    """How far from the line where it was taped, else the words of the list."""
    if not is_taped(row):
        return f"{row['where_text']}, not taped"
    offset_m = float(row["offset_m"])
    side = "right" if offset_m > 0 else "left"
    return f"{distance_text(abs(offset_m), units=units, step=1)} {side} of the line, taped"


def _cells(row: Row, done: str, *, units: str) -> dict[str, object]:
    where = [row["ends_text"], _offset(row, units=units), row["zero_text"]]
    return {
        "no": row["no"],
        "station": " ".join(filter(None, (row["station_text"], row["plus_minus_text"]))),
        "where": [text for text in where if text],
        "what": row["what_text"],
        "done": done,
    }


def _is_lowered(row: Row) -> bool:
    return str(row["status"]).startswith(_LOWERED)


def _lowered(rows: Sequence[Row], *, units: str) -> list[dict[str, object]]:
    """Castings that were lowered, whatever was decided since."""

    def done(row: Row) -> str:
        how = str(row["status"]).removeprefix(_LOWERED)
        return f"{_LOWERED.upper()}{how}; on the run sheet: {row['do_text']}"

    return [_cells(row, done(row), units=units) for row in rows if _is_lowered(row)]


def _skipped(rows: Sequence[Row], *, units: str) -> Iterator[dict[str, object]]:
    """Ground that was decided to be left: what is lifted over or gone around leaves some too."""
    for row in rows:
        do = str(row["do_text"])
        word = next((said for begins, said in _LEFT.items() if do.startswith(begins)), "")
        if word and not (is_undecided(row) or row["struck"] or _is_lowered(row)):
            yield _cells(row, word if do in _LEFT else f"{word}: {do}", units=units)


def _joint(one: Ramp, leg: Leg, what: str, done: str) -> dict[str, object]:
    return {
        "no": "",
        "station": station_of(leg, one.along_m),
        "where": [f"across {one.strip}"],
        "what": what,
        "done": done,
    }


def _ramps(leg: Leg, pack: Pack) -> list[dict[str, object]]:
    units = pack.settings.units
    return [
        _joint(
            one,
            leg,
            "ramp",
            f"RAMPED: {depth_text(one.depth_m, units=units)} deep, "
            f"{width_text(one.length_m, units=units)} long",
        )
        for one in pack.plan.ramps
        if one.leg == leg.settings.code
    ]


def _steps(leg: Leg, pack: Pack) -> list[dict[str, object]]:
    """Transverse joints for which no ramp is planned."""
    plan, units = pack.plan, pack.settings.units
    strips = [one for one in plan.strips if one.leg == leg.settings.code]
    ramped = [
        (one.strip, one.along_m) for one in plan.ramps if one.leg == leg.settings.code
    ]  # fmt: skip
    # Any slope finds the joints.
    joints = ramps_of(strips, leg, replace(pack.settings.haul, ramp_slope=1.0))
    return [
        _joint(one, leg, "step", f"STEP: {depth_text(one.depth_m, units=units)}, no ramp planned")
        for one in joints
        if not any(
            strip == one.strip and abs(along_m - one.along_m) <= _SAME_M
            for strip, along_m in ramped
        )
    ]


def _leg(leg: Leg, pack: Pack, rows: Sequence[Row]) -> dict[str, object]:
    units = pack.settings.units
    first, last = limits_text(leg)
    sections = {
        "Lowered iron": _lowered(rows, units=units),
        "Ramps": _ramps(leg, pack),
        "Steps: transverse joints without a ramp": _steps(leg, pack),
        "Skipped ground": list(_skipped(rows, units=units)) if pack.plan.machines else [],
    }
    return {
        "code": leg.settings.code,
        "name": leg.settings.name,
        "limits": f"{first} → {last}",
        "zero": f"from {leg.stationing.zero}" if leg.stationing.zero else "",
        "sections": [
            {"title": title, "rows": held} for title, held in sections.items() if held
        ],
    }  # fmt: skip


def render(pack: Pack, *, paper: str = "letter") -> bytes:
    """Draw the tie sheet of a pack as a tagged PDF; the same pack gives the same bytes.

    Without a machine in the job it says so, and lists what was lowered alone.

    Parameters
    ----------
    pack
        What to draw.
    paper
        "letter", "a4" or "tabloid".
    """
    listed = listing.rows_by_leg(pack)
    legs = [_leg(leg, pack, listed[leg.settings.code]) for leg in pack.legs]
    shown = [leg for leg in legs if leg["sections"]]
    said = (NO_MACHINE if not pack.plan.machines else "", "" if shown else _NONE)
    own = {
        "shift": shift_text(pack.settings.date, night=pack.settings.briefing.night),
        "nothing": " ".join(filter(None, said)),
        "legs": shown,
        "cautions": list(_CAUTIONS),
    }
    return draw(pack, own, template=_TEMPLATE, title="Tie sheet", paper=paper)
