"""What stands on the back pages: the evidence, what was left out, how lengths were measured.

In go a pack and its list, out come titled tables and paragraphs that the template draws.
"""

from collections.abc import Mapping, Sequence
from dataclasses import fields

from routeprep.listing import distance_text
from routeprep.shapes import Leg, Pack
from routeprep.sheets.leg_pages import Row
from routeprep.units import FACTORS_M
from routeprep.wording import default_text, line_text, plus_minus_text

__all__ = ["back_pages"]

_CONVENTIONS = (
    (
        "Stations count up the way this sheet looks: ahead on stationing. Right and left are the "
        "right and left of a person who looks that way."
    ),
    (
        "Offsets in the data files are in metres from the centerline, right positive looking "
        "up-station."
    ),
    "± is the half-width of the 95 % interval; beside a station it stands from 5 ft (1.5 m) up.",
    (
        "Stations are rounded to the nearest 5 ft (1 m), or to whole feet (0.1 m) where the place "
        "was wheeled or taped."
    ),
    "A number once issued never changes and is never used again; gaps in the numbers are normal.",
    "NAD83 and WGS84 are taken as one; they differ by about a metre.",
)

_LENGTHS = (
    "Lengths are horizontal ground distance: geodesic length on the WGS84 ellipsoid, times "
    "(1 + h/R) at the road's elevation h."
)


def _section(
    title: str, head: Sequence[str], shares: Sequence[float], rows: Sequence[Sequence[str]]
) -> dict[str, object]:
    """A titled table; ``shares`` are the widths of its columns against each other."""
    return {"title": title, "head": list(head), "shares": list(shares), "rows": rows, "text": []}


def _paragraphs(title: str, *texts: str) -> dict[str, object]:
    return {"title": title, "head": [], "shares": [], "rows": [], "text": list(texts)}


def _record_names(pack: Pack) -> dict[str, str]:
    """Names of records as their owner has them, with the file where there are several."""
    records = pack.records
    several = records["source"].nunique() > 1
    named = zip(records["record_id"], records["name"], records["source"], strict=True)
    return {
        one: f"{name or 'no name'} ({source})" if several else name or "no name"
        for one, name, source in named
    }


def _evidence(rows: Sequence[Row], pack: Pack) -> dict[str, object]:
    units, names = pack.settings.units, _record_names(pack)

    def line(row: Row) -> list[str]:
        records = [names.get(one, one) for one in str(row["record_ids"]).split()]
        return [
            row["no"],
            row["status"],
            str(row["times_seen"]),
            row["method"],
            plus_minus_text(row["along_sd_m"], units=units),
            plus_minus_text(row["offset_sd_m"], units=units),
            f"{row['lon_deg']:.6f} {row['lat_deg']:.6f}",
            row["proposed"],
            row["decided_by"] or "nobody yet",
            "; ".join(records),
        ]

    head = (
        "No.", "Status", "Seen", "How", "± along", "± across", "Longitude, latitude",
        "Proposed", "Decided by", "Records",
    )  # fmt: skip
    shares = (5, 8.5, 3.6, 5.4, 5, 5, 7.8, 6.6, 9, 7)
    return _section("Evidence", head, shares, [line(row) for row in rows])


def _unsorted(pack: Pack) -> dict[str, object]:
    table = pack.unsorted
    said = table["words"].where(table["words"] != "", table["note"])
    rows = list(zip(said, table["why"], table["looks_like"], table["source"], strict=True))
    head = ("Words as typed", "Why not understood", "Looks like", "File")
    return _section("Sort before issue", head, (4, 4, 1.6, 3), rows)


def _elsewhere(pack: Pack) -> dict[str, object]:
    table = pack.elsewhere
    rows = list(zip(table["name"], table["why"], table["source"], strict=True))
    return _section("Not on the list", ("What", "Why", "File"), (3, 5, 3), rows)


def _findings(pack: Pack) -> dict[str, object]:
    rows = [(one.level, one.where, one.text) for one in pack.findings]
    return _section("Findings", ("Level", "Where", "What was found"), (1, 3, 7), rows)


def _measured(leg: Leg, pack: Pack) -> list[str]:
    units = pack.settings.units
    unit = "ft" if units == "us" else "m"
    elevation = leg.line.elevation_m / float(FACTORS_M[unit])
    return [
        leg.settings.code,
        distance_text(leg.line.length_m, units=units, step=1),
        distance_text(leg.to_m - leg.from_m, units=units, step=1),
        f"{elevation:,.0f} {unit}",
        f"{line_text(leg, pack)}, {len(leg.line.along_m)} vertices",
    ]


def _lengths(pack: Pack) -> dict[str, object]:
    head = ("Leg", "Line", "Cut", "Elevation", "Stations run")
    rows = [_measured(leg, pack) for leg in pack.legs]
    section = _section("Lengths, and how they were measured", head, (1, 2, 2, 2, 7), rows)
    return section | {"text": [_LENGTHS]}


def _defaults(pack: Pack) -> dict[str, object]:
    defaults, units = pack.settings.defaults, pack.settings.units
    texts = [
        default_text(one.name, getattr(defaults, one.name), units=units) for one in fields(defaults)
    ]
    return _paragraphs("Defaults used", ". ".join(texts) + ".")


def _counted(counts: Mapping[str, int]) -> str:
    return ", ".join(f"{count} {what}" for what, count in sorted(counts.items()))


def _sources(pack: Pack) -> dict[str, object]:
    rows = [
        (one.name, one.what, one.sha256[:8], _counted(one.taken), _counted(one.skipped))
        for one in pack.sources
    ]
    head = ("File", "What", "SHA-256", "Taken", "Skipped")
    return _section("Input files", head, (4, 2, 1.6, 3, 3), rows)


def back_pages(pack: Pack, rows: Sequence[Row]) -> list[dict[str, object]]:
    """All that the back pages show, a dict a section; sections without rows or text are left out.

    Parameters
    ----------
    pack
        The pack.
    rows
        All rows of the list, in order.
    """
    sections = [
        _evidence(rows, pack),
        _unsorted(pack),
        _elsewhere(pack),
        _findings(pack),
        _lengths(pack),
        _defaults(pack),
        _paragraphs("Conventions", *_CONVENTIONS),
        _sources(pack),
    ]
    return [section for section in sections if section["rows"] or section["text"]]
