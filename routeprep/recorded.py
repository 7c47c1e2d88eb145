"""What phones recorded, as the parts that readers make of files.

In go the entries of drives, fixes and marks, in any order, out comes a ``Part`` for each drive or
walk: its fixes in time order, each once, and its marks, their words understood as in any file.
What cannot be used is counted and said; ids stay as the phone gave them.
"""

import datetime as dt
import hashlib
import math
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from routeprep import tables
from routeprep.entries import Entry, in_time
from routeprep.kinds import ACROSS, KindTable
from routeprep.shapes import Finding, Part, Source

__all__ = ["parts_of"]

# What a fix holds, in this order; the first three must be known.
_FIX = ("time_ms", "lon_deg", "lat_deg", "ele_m", "accuracy_m", "speed_mps", "course_deg")
_NEEDED = 3
# Twice the earth's radius [m]: no length here is larger.
_FAR_M = 12_742_000.0
# What each number can be; nothing on a road goes faster than 100 m/s (224 mph; common practice,
# no source), and a device that knows no speed or course may write a negative one.
_LIMITS: Mapping[str, tuple[float, float]] = {
    "lon_deg": (-180.0, 180.0),
    "lat_deg": (-90.0, 90.0),
    "ele_m": (-_FAR_M, _FAR_M),
    "accuracy_m": (0.0, _FAR_M),
    "speed_mps": (0.0, 100.0),
    "course_deg": (0.0, 360.0),
    "height_m": (0.0, _FAR_M),
}
_EPOCH = dt.datetime(1970, 1, 1, tzinfo=dt.UTC)
_MILLISECOND = dt.timedelta(milliseconds=1)
# GPS time begins on 6 January 1980 (IS-GPS-200); nothing that is read was recorded after 2100.
_FIRST_MS = (dt.datetime(1980, 1, 6, tzinfo=dt.UTC) - _EPOCH) // _MILLISECOND
_END_MS = (dt.datetime(2101, 1, 1, tzinfo=dt.UTC) - _EPOCH) // _MILLISECOND

_ODD = "left out, since they have no time or place that can be"
_REPEATED = "of a time that stands there already"
_TEXTS = ("words", "said_leg", "said_station", "said_offset", "size", "photo", "clip", "by")
# The texts that a column may hold; the first stands where a phone says another.
_CHOICES: Mapping[str, tuple[str, ...]] = {
    "across": ("", *ACROSS),
    "across_frame": ("as driven", "up-station"),
    "height_by": ("", "posted", "measured", "guess"),
    "method": ("vehicle", "walked", "wheeled", "taped"),
}
# Marks of no drive that is known.
_LOOSE = ""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Drive:
    """One drive as its entries tell it."""

    drive_id: str
    name: str = ""
    by: str = ""
    walk: bool = False
    fixes: list[object] = field(default_factory=list)
    marks: list[Mapping[str, object]] = field(default_factory=list)
    ids: list[str] = field(default_factory=list)


def _one_line(text: object) -> str:
    return " ".join(str(text).split())


def _number(value: object, name: str) -> float:
    """A number within what it can be, else NaN."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return math.nan
    low, high = _LIMITS[name]
    return float(value) if low <= value <= high else math.nan


def _whole_ms(value: object) -> int | None:
    """A time within what it can be, in whole milliseconds."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return round(value) if _FIRST_MS <= value < _END_MS else None


def _moment(time_ms: int | None) -> dt.datetime | None:
    return None if time_ms is None else _EPOCH + time_ms * _MILLISECOND


def _drives(entries: Iterable[Entry]) -> dict[str, _Drive]:
    """The entries by the drive that they are of, marks of no known drive under ``_LOOSE``."""
    ordered = sorted({one.entry_id: one for one in entries}.values(), key=in_time)
    found: dict[str, _Drive] = {}
    for one in ordered:
        if one.kind == "drive":
            told = {name: one.body[name] for name in ("name", "by", "walk")}
            key = str(one.body["drive_id"])
            found[key] = _Drive(drive_id=key, ids=[one.entry_id], **told)  # type: ignore[arg-type]
    for one in ordered:
        if one.kind == "fixes":
            key = str(one.body["drive_id"])
            drive = found.setdefault(key, _Drive(drive_id=key))
            drive.fixes.extend(one.body["fixes"])  # type: ignore[arg-type]
            drive.ids.append(one.entry_id)
    for one in ordered:
        if one.kind == "mark":
            key = str(one.body["drive_id"])
            key = key if key in found else _LOOSE
            drive = found.setdefault(key, _Drive(drive_id=key))
            drive.marks.append(one.body)
            drive.ids.append(one.entry_id)
    return found


def _fix(values: object) -> dict[str, Any] | None:
    """One fix by its columns; None if it has no time or no place."""
    if not isinstance(values, Sequence) or isinstance(values, str) or len(values) < _NEEDED:
        return None
    time_ms = _whole_ms(values[0])
    row = {name: _number(value, name) for name, value in zip(_FIX[1:], values[1:], strict=False)}
    if time_ms is None or math.isnan(row["lon_deg"]) or math.isnan(row["lat_deg"]):
        return None
    return {"time_ms": time_ms, **row}


def _in_order(fixes: Iterable[object]) -> tuple[list[dict[str, Any]], Counter[str]]:
    """Fixes in time order, each time once, and how many were left out, by the reason.

    Of two that tell the same time the one with the better accuracy is kept.
    """
    rows = [_fix(values) for values in fixes]
    kept = [row for row in rows if row is not None]
    skipped = Counter({_ODD: len(rows) - len(kept)})
    kept.sort(key=_rank)
    once: dict[int, dict[str, Any]] = {}
    for row in kept:
        once.setdefault(row["time_ms"], row)
    skipped[_REPEATED] = len(kept) - len(once)
    return list(once.values()), skipped


def _rank(row: Mapping[str, Any]) -> tuple[float, ...]:
    """By time, then by accuracy, unknown last, then by all else."""
    numbers = (row.get(name, math.nan) for name in ("accuracy_m", *_FIX[1:]))
    return (row["time_ms"], *(math.inf if math.isnan(one) else one for one in numbers))


def _height(body: Mapping[str, object], by: str) -> dict[str, object]:
    height_m = _number(body["height_m"], "height_m")
    return {} if math.isnan(height_m) else {"height_m": height_m, "height_by": by or "guess"}


def _heard(body: Mapping[str, object], kinds: KindTable) -> dict[str, object]:
    """What the words say; nothing when they are not understood."""
    saying = kinds.understand(_one_line(body["words"]))
    if not saying.kind:
        return {}
    names = ("kind", "across", "size", "height_m", "height_by", "note")
    return {name: getattr(saying, name) for name in names}


def _mark(body: Mapping[str, object], drive: _Drive, kinds: KindTable) -> dict[str, object]:
    """One mark by its columns; what a button said goes before what the words say."""
    heard = _heard(body, kinds)
    chosen = {name: str(body[name]) for name in _CHOICES}
    odd = [
        f"{name}: {_one_line(said)}"
        for name, said in chosen.items()
        if said and said not in _CHOICES[name]
    ]
    chosen = {
        name: said if said in _CHOICES[name] else _CHOICES[name][0] for name, said in chosen.items()
    }
    if drive.walk and chosen["method"] == "vehicle":
        chosen["method"] = "walked"
    said = {name: _one_line(body[name]) for name in _TEXTS}
    notes = (str(heard.get("note", "")), _one_line(body["note"]), *odd)
    lon_deg, lat_deg = (_number(body[name], name) for name in ("lon_deg", "lat_deg"))
    nowhere = math.isnan(lon_deg + lat_deg)
    return {
        **heard,
        **{name: text for name, text in said.items() if text},
        **({"across": chosen["across"]} if chosen["across"] else {}),
        **_height(body, chosen["height_by"]),
        "mark_id": str(body["mark_id"]),
        "drive_id": drive.drive_id,
        "time_utc": _moment(_whole_ms(body["time_ms"])),
        "lon_deg": math.nan if nowhere else lon_deg,
        "lat_deg": math.nan if nowhere else lat_deg,
        "accuracy_m": _number(body["accuracy_m"], "accuracy_m"),
        "across_frame": chosen["across_frame"],
        "method": chosen["method"],
        "note": "; ".join(dict.fromkeys(note for note in notes if note)),
        "source": _called(drive),
    }


def _called(drive: _Drive) -> str:
    """What a drive is called: by its name and the beginning of its id, so that no two are alike."""
    if drive.drive_id == _LOOSE:
        return "phone/marks of no drive"
    name = _one_line(drive.name) or ("walk" if drive.walk else "drive")
    return f"phone/{name} {drive.drive_id[:8]}"


def _findings(where: str, skipped: Mapping[str, int]) -> Iterator[Finding]:
    levels = {_ODD: "doubt", _REPEATED: "note"}
    for why, level in levels.items():
        if skipped[why]:
            yield Finding(level=level, where=where, text=f"fixes {why}: {skipped[why]}")


def _part(drive: _Drive, kinds: KindTable) -> Part:
    name = _called(drive)
    fixes, skipped = _in_order(drive.fixes)
    columns = [
        {
            "drive_id": drive.drive_id,
            "time_utc": _moment(row["time_ms"]),
            **{name: value for name, value in row.items() if name != "time_ms"},
        }
        for row in fixes
    ]
    marks = [_mark(body, drive, kinds) for body in drive.marks]
    what, counts = "walk" if drive.walk else "drive", {"fixes": len(fixes), "marks": len(marks)}
    return Part(
        fixes=tables.table(tables.FIXES, columns),
        marks=tables.table(tables.MARKS, sorted(marks, key=lambda one: str(one["mark_id"]))),
        records=tables.table(tables.RECORDS, []),
        drive_names={drive.drive_id: name} if fixes else {},
        drive_by={drive.drive_id: _one_line(drive.by)} if fixes else {},
        source=Source(
            name=name,
            what=what if fixes else "marks",
            sha256=hashlib.sha256("\n".join(sorted(drive.ids)).encode()).hexdigest(),
            taken={one: count for one, count in counts.items() if count},
            skipped={f"fixes {why}": skipped[why] for why in sorted(skipped) if skipped[why]},
        ),
        findings=tuple(_findings(name, skipped)),
    )


def parts_of(entries: Iterable[Entry], kinds: KindTable) -> tuple[Part, ...]:
    """The parts that phones recorded, one a drive or walk; the entries' order does not matter.

    Parameters
    ----------
    entries
        Drives, fixes and marks that stand, as ``Current.recorded`` has them.
    kinds
        For the words of the marks.
    """
    drives = _drives(entries)
    return tuple(_part(drives[key], kinds) for key in sorted(drives))
