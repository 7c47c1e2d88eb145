"""``routeprep check JOB``: all that is wrong or doubtful in a job, in plain lines."""

from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

import click

from routeprep.cli.steps import JobFile, steps
from routeprep.deciding import NOT_DECIDED
from routeprep.listing import HALF_95, distance_text, rows
from routeprep.packing import pack_of
from routeprep.readers.disk import job_files
from routeprep.shapes import Leg, Pack, Source
from routeprep.stationing import label

__all__ = ["command"]


def _counted(counts: Mapping[str, int]) -> str:
    return ", ".join(f"{count:,} {what}" for what, count in counts.items() if count)


def _source(source: Source) -> str:
    taken = _counted(source.taken) or "nothing"
    skipped = _counted(source.skipped)
    return f"{source.name} ({source.what}): took {taken}" + (
        f"; skipped {skipped}" if skipped else ""
    )


def _leg(leg: Leg, *, units: str) -> str:
    """A leg's length, where its line comes from, and how sure it is."""
    line = leg.line
    made = "from a file" if line.made_from == "file" else f"{line.made_from}, no plan centerline"
    sure_m = HALF_95 * float(line.sd_m.max())
    across = f", across ±{distance_text(sure_m, units=units, step=1.0)} at worst" if sure_m else ""
    feet = f" ({distance_text(line.length_m, units=units, step=1.0)})" if units == "us" else ""
    return (
        f"{leg.settings.code} {leg.settings.name}: {line.length_m:,.1f} m{feet} on the ground at "
        f"{line.elevation_m:,.0f} m, line {made}{across}; cut "
        f"{label(leg.stationing, leg.from_m)} to {label(leg.stationing, leg.to_m)}"
    )


def _things(pack: Pack) -> Iterator[tuple[str, str, str, bool]]:
    """Where and what each thing is, its doubt, and whether it is undecided."""
    for row in rows(pack).to_dict("records"):
        where = f"{row['no'] or '(no number)'} {row['leg']} {row['station']} {row['what_text']}"
        yield where, row["proposed_text"], row["doubt"], row["do_text"] == NOT_DECIDED


def _unsorted(pack: Pack) -> Iterator[str]:
    for row in pack.unsorted.to_dict("records"):
        meant = f" (is it {row['looks_like']}?)" if row["looks_like"] else ""
        yield f"{row['words']!r} from {row['source']}: {row['why']}{meant}"


def _section(title: str, lines: Iterable[str]) -> Iterator[str]:
    """A title with how many follow, then the lines; nothing for none."""
    listed = list(lines)
    if listed:
        yield f"\n{title}: {len(listed)}"
        yield from (f"  {line}" for line in listed)


def _report(pack: Pack) -> Iterator[str]:
    units = pack.settings.units
    things = list(_things(pack))
    found: dict[str, list[str]] = {"fault": [], "doubt": [], "note": []}
    for item in pack.findings:
        found[item.level].append(f"{item.where}: {item.text}" if item.where else item.text)
    yield f"{pack.settings.name}, revision {pack.settings.revision}: {len(things)} things"
    yield from _section("Files", map(_source, pack.sources))
    yield from _section("Legs", (_leg(leg, units=units) for leg in pack.legs))
    yield from _section("Cannot be used", found["fault"])
    yield from _section("Doubts", found["doubt"])
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
    yield from _section("For the record", found["note"])


@click.command("check")
@click.argument("job", type=JobFile())
def command(job: Path) -> None:
    """Say all that is wrong or doubtful in a job; write nothing.

    JOB is the job's .toml file.
    """
    with steps(2) as done:
        name, files = job_files(job)
        done("read the files")
        pack = pack_of(name, files)
        done("prepared the list")
    for line in _report(pack):
        click.echo(line)
