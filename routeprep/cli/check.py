"""``routeprep check JOB``: all that is wrong or doubtful in a job, in plain lines."""

import textwrap
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

import click
import numpy as np

from routeprep.cli.arguments import JobFile
from routeprep.cli.steps import steps
from routeprep.deciding import NOT_DECIDED
from routeprep.kept import open_job
from routeprep.linewords import (
    curve_rows,
    grade_rows,
    reference_rows,
    sight_rows,
    tie_rows,
)
from routeprep.listing import distance_text, rows
from routeprep.packing import prepared
from routeprep.shapes import DriveFacts, Finding, Leg, Pack, Source
from routeprep.surveywords import drive_row, poor_rows, set_aside
from routeprep.units import FACTORS_M
from routeprep.whywords import lateness_text
from routeprep.wording import depth_text, limits_text, line_text

__all__ = ["command"]

# A laptop's window shows this many characters side by side.
_WIDTH = 96
# What may stand behind a file's or a leg's name in the place that a finding is about.
_AFTER_NAME = ":, /"
_PHOTOS = "photos"
_LEVELS = {"fault": "CANNOT BE USED: ", "doubt": "DOUBT: ", "note": ""}


class _Block(NamedTuple):
    """A title with the lines under it."""

    title: str
    lines: Sequence[str]


def _wrapped(text: str, *, depth: int) -> str:
    """A text in lines, those that follow two deeper than the first."""
    return textwrap.fill(
        text,
        _WIDTH,
        initial_indent=" " * depth,
        subsequent_indent=" " * (depth + 2),
        break_long_words=False,
        break_on_hyphens=False,
    )


def _section(title: str, lines: Iterable[str]) -> Iterator[str]:
    """A title with how many follow, then the lines; nothing for none."""
    listed = list(lines)
    if listed:
        yield f"\n{title}: {len(listed)}"
        yield from (_wrapped(line, depth=2) for line in listed)


def _blocks(title: str, blocks: Sequence[_Block]) -> Iterator[str]:
    """A title with how many follow, then each block."""
    yield f"\n{title}: {len(blocks)}"
    for block in blocks:
        yield _wrapped(block.title, depth=2)
        yield from (_wrapped(line, depth=6) for line in block.lines)


# --- whose findings are whose ----------------------------------------------------------------


def _owner(where: str, names: Collection[str]) -> str:
    """The longest of the names that a place begins with; empty for none."""
    ends = [len(where), *(at for at, one in enumerate(where) if one in _AFTER_NAME)]
    return next((where[:end] for end in sorted(ends, reverse=True) if where[:end] in names), "")


def _said(finding: Finding, owner: str) -> str:
    """A finding as it stands under its owner, or alone: its level, the rest of its place, text."""
    place = finding.where.removeprefix(owner).lstrip(_AFTER_NAME)
    return _LEVELS[finding.level] + ": ".join(part for part in (place, finding.text) if part)


class _Findings:
    """The findings of a pack by what they are about."""

    def __init__(self, pack: Pack) -> None:
        legs = [f"leg {leg.settings.code}" for leg in pack.legs]
        self._names = {*(one.name for one in pack.sources), *legs, _PHOTOS}
        self._owned: dict[str, list[Finding]] = {}
        ordered = sorted(pack.findings, key=lambda one: list(_LEVELS).index(one.level))
        for finding in ordered:
            self._owned.setdefault(_owner(finding.where, self._names), []).append(finding)

    def under(self, name: str) -> list[str]:
        """What is said about a file or leg."""
        return [_said(one, name) for one in self._owned.get(name, ())]

    def of_files(self, sources: Sequence[Source]) -> list[str]:
        """What is said about several files, each with its name."""
        names = dict.fromkeys([*(one.name for one in sources), _PHOTOS])
        return [_said(one, _PHOTOS) for name in names for one in self._owned.get(name, ())]

    def others(self, level: str) -> list[str]:
        """What is about no file and no leg, with its place."""
        loose = [one for one in self._owned.get("", ()) if one.level == level]
        return [": ".join(part for part in (one.where, one.text) if part) for one in loose]

    def count(self, level: str) -> int:
        """How many of a level there are in all."""
        return sum(one.level == level for owned in self._owned.values() for one in owned)


# --- files -----------------------------------------------------------------------------------


def _counted(counts: Mapping[str, int]) -> str:
    return ", ".join(f"{count:,} {what}" for what, count in counts.items() if count)


def _taken(source: Source) -> str:
    taken, skipped = _counted(source.taken) or "nothing", _counted(source.skipped)
    return f"took {taken}" + (f"; skipped {skipped}" if skipped else "")


def _what(source: Source, station_lists: Collection[str]) -> str:
    if source.what == "centerline" and "alignments" in source.taken:
        return "designed alignment"
    return "station list" if source.name in station_lists else source.what


def _station_lists(pack: Pack) -> set[str]:
    """Files of marks that say stations and have no coordinates."""
    marks = pack.marks
    by_station = (marks["said_station"] != "") & ~np.isfinite(marks["lon_deg"])
    found = by_station.groupby(marks["source"]).all()
    return set(found.index[found])


def _drive(drive: DriveFacts, pack: Pack, file: str, *, on_foot: bool) -> str:
    name, by, when, far, reported, sure, stood, gaps = drive_row(drive, pack)
    track = name.removeprefix(file).lstrip(_AFTER_NAME)
    return (
        f"{f'{track}: ' if track else ''}{when}, {far}; stood {stood}; accuracy reported by the "
        f"device (68 %): {reported}; smoothed (95 %): {sure}; gaps: {gaps}; "
        f"{'walked' if on_foot else 'driven'} by {by}"
    )


def _drives(pack: Pack) -> dict[str, list[DriveFacts]]:
    """Drives by the file that each is of."""
    files = {source.name for source in pack.sources}
    drives: dict[str, list[DriveFacts]] = {}
    for drive in pack.drives:
        drives.setdefault(_owner(drive.name, files), []).append(drive)
    return drives


def _file(
    sources: Sequence[Source],
    drives: Sequence[DriveFacts],
    pack: Pack,
    findings: _Findings,
    station_lists: Collection[str],
) -> _Block:
    """One file: what it is, what was taken of it, its drives, what is odd about it."""
    name = sources[0].name
    on_foot = any(one.what == "walk" for one in sources)
    what = ", ".join(dict.fromkeys(_what(one, station_lists) for one in sources))
    lines = [*map(_taken, sources), *(_drive(one, pack, name, on_foot=on_foot) for one in drives)]
    return _Block(f"{name}: {what}", [*lines, *findings.under(name)])


def _photos(sources: Sequence[Source], findings: _Findings) -> list[_Block]:
    """All photos as one, since there may be hundreds."""
    if not sources:
        return []
    skipped: dict[str, int] = {}
    for one in sources:
        skipped |= {why: skipped.get(why, 0) + count for why, count in one.skipped.items()}
    ends = " to ".join(dict.fromkeys((sources[0].name, sources[-1].name)))
    lines = [f"skipped {_counted(skipped)}"] if _counted(skipped) else []
    return [_Block(f"{len(sources)} photos, {ends}", [*lines, *findings.of_files(sources)])]


def _files(pack: Pack, findings: _Findings) -> list[_Block]:
    """Every file that was read, by name; photos last."""
    aside = set(set_aside(pack))
    by_name: dict[str, list[Source]] = {}
    for source in pack.sources:
        if source.what != "photo" and source.name not in aside:
            by_name.setdefault(source.name, []).append(source)
    photos = [one for one in pack.sources if one.what == "photo"]
    lists, drives = _station_lists(pack), _drives(pack)
    return [
        *(
            _file(sources, drives.get(name, []), pack, findings, lists)
            for name, sources in by_name.items()
        ),
        *_photos(photos, findings),
    ]


def _aside(pack: Pack, findings: _Findings) -> list[str]:
    return [f"{name}: {'; '.join(findings.under(name))}" for name in set_aside(pack)]


# --- legs ------------------------------------------------------------------------------------


def _line(leg: Leg, pack: Pack) -> str:
    units = pack.settings.units
    unit = "ft" if units == "us" else "m"
    metres = f" ({leg.line.length_m:,.1f} m)" if units == "us" else ""
    elevation = leg.line.elevation_m / float(FACTORS_M[unit])
    return (
        f"{distance_text(leg.line.length_m, units=units, step=1)}{metres} "
        f"{line_text(leg, pack)}, at {elevation:,.0f} {unit} elevation"
    )


def _cut(leg: Leg, pack: Pack) -> str:
    units = pack.settings.units
    first, last = limits_text(leg)
    zero = f" from {leg.stationing.zero}" if leg.stationing.zero else ""
    depth = depth_text(leg.settings.depth_m, units=units)
    length = distance_text(leg.to_m - leg.from_m, units=units, step=1)
    return f"cut {first} to {last}{zero}, {length}" + (f", {depth} deep" if depth else "")


def _stationing(leg: Leg) -> Iterator[str]:
    """Equations, markers and ties; what the ties do is found, and stands among what is odd."""
    for where, what in reference_rows(leg):
        yield f"{what}: {where}"
    ties = [
        f"{station} ({'; '.join(filter(None, (kind, by)))})"
        for station, kind, by, *_ in tie_rows(leg)
    ]
    if ties:
        yield f"ties: {', '.join(ties)}"


def _bends(leg: Leg, *, units: str) -> Iterator[str]:
    """Curves, grades and sight."""
    for first, last, radius, direction, turned, spirals in curve_rows(leg):
        more = f"; {spirals}" if spirals else ""
        yield (f"curve to the {direction}: {first}, {last}, radius {radius}, turns {turned}{more}")
    for stretch, steep, sure in grade_rows(leg):
        yield f"grade {stretch}: {steep} {sure}".strip()
    for stretch, way, seen, needed, hides in sight_rows(leg, units=units):
        yield (
            f"TO LOOK AT {stretch}, {way}: a driver may see {seen} and needs {needed} to stop; "
            f"{hides}"
        )


def _leg(leg: Leg, pack: Pack, findings: _Findings) -> _Block:
    """One leg: its line, its stations, its curves, what was poorly looked at, what is odd."""
    code = leg.settings.code
    poor = [(where, why) for one, where, why in poor_rows(pack) if one == code]
    return _Block(
        f"{code} {leg.settings.name}",
        [
            _line(leg, pack),
            _cut(leg, pack),
            *_stationing(leg),
            *_bends(leg, units=pack.settings.units),
            *(f"POORLY LOOKED AT {where}: {why}" for where, why in poor),
            *findings.under(f"leg {code}"),
        ],
    )


# --- the list --------------------------------------------------------------------------------


def _things(pack: Pack) -> Iterator[tuple[str, str, str, bool]]:
    """Where and what each thing is, its doubt, and whether it is undecided."""
    for row in rows(pack).to_dict("records"):
        where = f"{row['no'] or '(no number)'} {row['leg']} {row['station']} {row['what_text']}"
        yield where, row["proposed_text"], row["doubt"], row["do_text"] == NOT_DECIDED


def _unsorted(pack: Pack) -> Iterator[str]:
    for row in pack.unsorted.to_dict("records"):
        meant = f" (is it {row['looks_like']}?)" if row["looks_like"] else ""
        yield f"{row['words']!r} from {row['source']}: {row['why']}{meant}"


def _lateness(pack: Pack) -> Iterator[str]:
    """How late each person taps, told by the name of the drive where nobody says who."""
    names = {one.drive_id: one.name for one in pack.drives}
    for late in pack.lateness:
        who = names.get(late.person, late.person)
        yield f"{who}: {lateness_text(late, units=pack.settings.units)}"


def _report(pack: Pack) -> Iterator[str]:
    things, findings = list(_things(pack)), _Findings(pack)
    yield _wrapped(
        f"{pack.settings.name}, revision {pack.settings.revision}: {len(things)} things; doubts "
        f"about files and legs: {findings.count('doubt')}; cannot be used: "
        f"{findings.count('fault')}",
        depth=0,
    )
    yield from _section("SET ASIDE by name, NOT READ", _aside(pack, findings))
    yield from _blocks("Files", _files(pack, findings))
    yield from _blocks("Legs", [_leg(leg, pack, findings) for leg in pack.legs])
    yield from _section("How late people tap", _lateness(pack))
    yield from _section("How far files lie off", (one.text for one in pack.shifts))
    yield from _section("What was probably missed", (one.text for one in pack.missed))
    yield from _section("Cannot be used", findings.others("fault"))
    yield from _section("Doubts", findings.others("doubt"))
    yield from _section("Things in doubt", (f"{w}: {doubt}" for w, _, doubt, _ in things if doubt))
    yield from _section("Sort before issue", _unsorted(pack))
    elsewhere = pack.elsewhere.to_dict("records")
    yield from _section(
        "Not on the list",
        (f"{row['name']} from {row['source']}: {row['why']}" for row in elsewhere),
    )
    yield from _section(
        "Not decided", (f"{w}: {proposed} proposed" for w, proposed, _, open_ in things if open_)
    )
    yield from _section("Draft because", pack.draft)
    yield from _section("For the record", findings.others("note"))


@click.command("check")
@click.argument("job", type=JobFile())
def command(job: str) -> None:
    """Say all that is wrong or doubtful in a job; write nothing.

    JOB is the job's .toml file, a job file (.gpkg) or store:NAME.
    """
    with steps(2) as done:
        opened = open_job(job)
        done("read the files")
        pack = prepared(opened.inputs, opened.files)
        done("prepared the list")
    for line in _report(pack):
        click.echo(line)
