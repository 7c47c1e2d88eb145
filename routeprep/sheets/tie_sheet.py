"""The tie sheet: a ``Pack`` in, the bytes of a PDF out.

For the crews that come after, who raise the castings and pave: lowered iron, ramps, steps and
skipped ground, each with room for two swing ties.  How it looks is ``tie-sheet.typ``.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

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
from routeprep.sheets.run_places import station_of
from routeprep.wording import depth_text, limits_text, shift_text

__all__ = ["render"]

_TEMPLATE = "tie-sheet.typ"

_NO_TIES = "No swing tie is in the job's files: both boxes of each row are blank."
_TIES = "What notes say of swing ties stands in the boxes, as said; nobody has checked it."
_TAPE = (
    "Tape each from a thing that stays (a curb, a pole, a wall), before the cut and before the "
    "paving, and write what from and how far."
)
_CAUTIONS = (
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
# What a note says of swing ties: "ties 14.2 ft pole 12 and 22 ft hydrant"; a tie-in is none.
_TIE = re.compile(r"\bties?\b(?!\s*-?\s*in\b)\s*:?", re.IGNORECASE)
_NEXT_TIE = re.compile(r"[,;]|\band\b|" + _TIE.pattern, re.IGNORECASE)
_BOXES = 2


def _offset(row: Row, *, units: str) -> str:
    """How far from the line where it was taped, else the words of the list."""
    if not is_taped(row):
        return f"{row['where_text']}, not taped"
    offset_m = float(row["offset_m"])
    side = "right" if offset_m > 0 else "left"
    return f"{distance_text(abs(offset_m), units=units, step=1)} {side} of the line, taped"


def _ties(note: str) -> list[str]:
    """What a note says of swing ties, for two boxes; what is more stands in the second."""
    said: list[str] = []
    for part in note.split(" / "):
        found = _TIE.search(part)
        if found:
            pieces = _NEXT_TIE.split(part[found.end() :])
            said += [piece.strip() for piece in pieces if re.search(r"\d", piece)]
    boxes = [*said[: _BOXES - 1], "; ".join(said[_BOXES - 1 :])]
    return [*boxes, *[""] * (_BOXES - len(boxes))]


def _cells(row: Row, done: str, *, units: str) -> dict[str, object]:
    where = [row["ends_text"], _offset(row, units=units), row["zero_text"]]
    return {
        "no": row["no"],
        "station": " ".join(filter(None, (row["station_text"], row["plus_minus_text"]))),
        "where": [text for text in where if text],
        "what": row["what_text"],
        "done": done,
        "ties": _ties(str(row["note"])),
    }


def _is_lowered(row: Row) -> bool:
    return str(row["status"]).startswith(_LOWERED)


def _on_run_sheet(row: Row, pack: Pack) -> str:
    """What the run sheets say to do at a thing."""
    if not pack.plan.machines or is_undecided(row):
        return str(row["do_text"])
    met = [one for one in pack.plan.meetings if one.anchor_id == row["anchor_id"]]
    under = [one for one in met if one.touch != "side"]
    return ", ".join(dict.fromkeys(one.action for one in under or met)) or "no pass meets it"


def _lowered(rows: Sequence[Row], pack: Pack) -> list[dict[str, object]]:
    """Castings that were lowered, whatever was decided since."""
    units = pack.settings.units

    def done(row: Row) -> str:
        how = str(row["status"]).removeprefix(_LOWERED)
        return f"{_LOWERED.upper()}{how}; on the run sheet: {_on_run_sheet(row, pack)}"

    return [_cells(row, done(row), units=units) for row in rows if _is_lowered(row)]


def _skipped(rows: Sequence[Row], pack: Pack) -> Iterator[dict[str, object]]:
    """Ground that was decided to be left: what is lifted over or gone around leaves some too.

    None around what lies outside every pass.
    """
    under = {met.anchor_id for met in pack.plan.meetings if met.touch != "side"}
    for row in rows:
        do = str(row["do_text"])
        word = next((said for begins, said in _LEFT.items() if do.startswith(begins)), "")
        listed = is_undecided(row) or row["struck"] or _is_lowered(row)
        if word and row["anchor_id"] in under and not listed:
            done = word if do in _LEFT else f"{word}: {do}"
            yield _cells(row, done, units=pack.settings.units)


def _joint(one: Ramp, leg: Leg, what: str, done: str) -> dict[str, object]:
    return {
        "no": "",
        "station": station_of(leg, one.along_m),
        "where": [f"across {one.strip}"],
        "what": what,
        "done": done,
        "ties": [""] * _BOXES,
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


def _leg(leg: Leg, pack: Pack, rows: Sequence[Row]) -> dict[str, Any]:
    first, last = limits_text(leg)
    sections = {
        "Lowered iron": _lowered(rows, pack),
        "Ramps": _ramps(leg, pack),
        "Steps: transverse joints without a ramp": _steps(leg, pack),
        "Skipped ground": list(_skipped(rows, pack)),
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
    held = [row for leg in shown for one in leg["sections"] for row in one["rows"]]
    ties = _TIES if any(any(row["ties"]) for row in held) else _NO_TIES
    own = {
        "shift": shift_text(pack.settings.date, night=pack.settings.briefing.night),
        "nothing": " ".join(filter(None, said)),
        "legs": shown,
        "cautions": [f"{ties} {_TAPE}", *_CAUTIONS],
    }
    return draw(pack, own, template=_TEMPLATE, title="Tie sheet", paper=paper)
