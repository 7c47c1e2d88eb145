"""What stands on the back pages: the evidence, what was left out, how lengths were measured.

In go a pack and its list, out come titled tables and paragraphs that the template draws.
"""

from collections.abc import Mapping, Sequence
from dataclasses import fields

from routeprep.linewords import (
    curve_rows,
    grade_rows,
    plan_rows,
    reference_rows,
    sight_rows,
    tie_rows,
)
from routeprep.listing import Row, distance_text
from routeprep.shapes import Leg, Pack, Settings
from routeprep.sheets.evidence_pages import evidence_pages, section
from routeprep.sheets.review_pages import review_pages
from routeprep.stationing import number
from routeprep.surveywords import drive_row, look_rows
from routeprep.units import FACTORS_M
from routeprep.wording import default_text, line_text

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
)
_AS_ONE = (
    "NAD83 and WGS84 are taken as one: they differ by about a metre (3 ft), and 1 m is added to "
    "the ± of what comes in NAD83."
)

_LENGTHS = (
    "Lengths are horizontal ground distance: geodesic length on the WGS84 ellipsoid, times "
    "(1 + h/R) at the road's elevation h."
)
_PLAN_LENGTHS = (
    "Stations of a designed alignment keep the plan's lengths; what they are on the ground is "
    "reported under Plan and ground, not applied."
)
_TIES = (
    "Between ties the stations are spread evenly, so that each tie has its own; before the first "
    "and after the last they count as measured. Mile markers stretch nothing."
)
_CURVES = (
    "Curves of a designed alignment are the plan's. Others are fitted to the drives or to the "
    "file's line: a spiral is taken into the arc beside it, and a curve that does not stand out "
    "from the noise is not listed. Right and left are looking up-station."
)
_GRADES = "Up and down are looking up-station."
_SIGHT = (
    "Places to look at, no design check: plan view only, with the side clearance and the posted "
    "speed that the job gives. Sight over crests is not judged."
)
_LOOKS = (
    "A look is one passing of a vehicle; there and back is two. Day and night are by the sun; "
    "fastest and ± are the worst of all passings. L1 and R1 are the lanes beside the line, left "
    "and right of it looking up-station. Without times neither speed nor day is known."
)
_DRIVES = (
    "Accuracy is the usual radius that the device reports, taken as 68 %. ± is that of the "
    "smoothed places, 95 %. Length leaves out standing, and breaks are not driven across."
)


def _paragraphs(title: str, *texts: str) -> dict[str, object]:
    return {"title": title, "head": [], "shares": [], "rows": [], "text": list(texts)}


def _unsorted(pack: Pack) -> dict[str, object]:
    table = pack.unsorted
    said = table["words"].where(table["words"] != "", table["note"])
    rows = list(zip(said, table["why"], table["looks_like"], table["source"], strict=True))
    head = ("Words as typed", "Why not understood", "Looks like", "File")
    return section("Sort before issue", head, (4, 4, 1.6, 3), rows)


def _elsewhere(pack: Pack) -> dict[str, object]:
    table = pack.elsewhere
    rows = list(zip(table["name"], table["why"], table["source"], strict=True))
    return section("Not on the list", ("What", "Why", "File"), (3, 5, 3), rows)


def _findings(pack: Pack) -> dict[str, object]:
    rows = [(one.level, one.where, one.text) for one in pack.findings]
    return section("Findings", ("Level", "Where", "What was found"), (1, 3, 7), rows)


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
    designed = any(plan_rows(leg) for leg in pack.legs)
    texts = [_LENGTHS, *([_PLAN_LENGTHS] if designed else [])]
    return section("Lengths, and how they were measured", head, (1, 2, 2, 2, 7), rows, *texts)


def _plan(pack: Pack) -> dict[str, object]:
    """Plan lengths and ground lengths of designed alignments."""
    head = (
        "Leg", "On the plan", "On the ground", "Ground is", "Grid scale", "Elevation factor",
        "Combined factor", "Coordinate system, datum",
    )  # fmt: skip
    rows = [
        (leg.settings.code, *numbers, f"{crs}; {datum}")
        for leg in pack.legs
        for *numbers, crs, datum in plan_rows(leg)
    ]
    return section("Plan and ground", head, (1.2, 3, 3, 2.6, 2.5, 2.5, 2.5, 4), rows)


def _ties(pack: Pack) -> dict[str, object]:
    head = ("Leg", "Station", "Kind", "What, and who says so", "Off from the tie before", "Stretch")
    rows = [(leg.settings.code, *row) for leg in pack.legs for row in tie_rows(leg)]
    return section("Ties", head, (1, 2.4, 1.4, 5, 3, 2.2), rows, _TIES)


def _references(pack: Pack) -> dict[str, object]:
    rows = [(leg.settings.code, *row) for leg in pack.legs for row in reference_rows(leg)]
    title = "Station equations and mile markers"
    return section(title, ("Leg", "Station", "What"), (1, 6, 6), rows)


def _curves(pack: Pack) -> dict[str, object]:
    head = ("Leg", "Begins", "Ends", "Radius", "To the", "Turns by", "Spirals")
    rows = [(leg.settings.code, *row) for leg in pack.legs for row in curve_rows(leg)]
    return section("Curves", head, (1, 3.2, 3.2, 3, 1.4, 2.4, 3), rows, _CURVES)


def _grades(pack: Pack) -> dict[str, object]:
    rows = [(leg.settings.code, *row) for leg in pack.legs for row in grade_rows(leg)]
    return section("Grades", ("Leg", "Stations", "Grade", "±"), (1, 6, 3, 3), rows, _GRADES)


def _sight(pack: Pack) -> dict[str, object]:
    units = pack.settings.units
    head = ("Leg", "Stations", "Driving with", "Seen", "Needed to stop", "What hides the road")
    rows = [(leg.settings.code, *row) for leg in pack.legs for row in sight_rows(leg, units=units)]
    title = "Where a driver may see less than it takes to stop"
    return section(title, head, (1, 4, 3, 1.7, 1.9, 5), rows, _SIGHT)


def _looks(pack: Pack) -> dict[str, object]:
    head = (
        "Leg", "Stations", "Looks", "By day, by night", "Lanes", "Fastest", "±",
        "Poorly looked at: why",
    )  # fmt: skip
    shares = (1, 4, 2, 2.2, 2.4, 1.7, 1.4, 4)
    return section("How often each stretch was looked at", head, shares, look_rows(pack), _LOOKS)


def _drives(pack: Pack) -> dict[str, object]:
    head = ("Drive", "Driven by", "When", "Length", "Accuracy", "±", "Stood", "Gaps")
    rows = [drive_row(drive, pack) for drive in pack.drives]
    return section("Drives", head, (4, 2.4, 4.4, 1.9, 1.9, 1.4, 1.7, 1.3), rows, _DRIVES)


def _landmarks(pack: Pack) -> dict[str, object]:
    rows = [
        (
            leg.settings.code,
            number(leg.stationing, mark.along_m, step=0, decimals=1),
            mark.name,
            {"L": "left", "R": "right"}.get(mark.side, "both sides"),
            "; ".join(filter(None, (mark.source, mark.credit))),
        )
        for leg in pack.legs
        for mark in leg.landmarks
    ]
    head = ("Leg", "Station", "What", "Side", "From")
    return section("Cross streets and other landmarks", head, (1, 2, 4, 2, 6), rows)


def _conventions(settings: Settings) -> dict[str, object]:
    operation = settings.datum_operation
    datum = f"Other datums are brought to WGS84 by {operation}, as the job says."
    return _paragraphs("Conventions", *_CONVENTIONS, datum if operation else _AS_ONE)


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
    return section("Input files", head, (4, 2, 1.6, 3, 3), rows)


def back_pages(pack: Pack, rows: Sequence[Row]) -> list[dict[str, object]]:
    """All that the back pages show, a dict a section; tables without rows are left out.

    Parameters
    ----------
    pack
        The pack.
    rows
        All rows of the list, in order.
    """
    sections = [
        _unsorted(pack),
        *review_pages(pack),
        *evidence_pages(pack, rows),
        _elsewhere(pack),
        _findings(pack),
        _looks(pack),
        _drives(pack),
        _lengths(pack),
        _plan(pack),
        _ties(pack),
        _references(pack),
        _landmarks(pack),
        _curves(pack),
        _grades(pack),
        _sight(pack),
        _defaults(pack),
        _conventions(pack.settings),
        _sources(pack),
    ]
    return [section for section in sections if section["rows"] or not section["head"]]
