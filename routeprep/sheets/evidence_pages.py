"""What the back pages say of each thing, and of how far all of it can be trusted.

In go a pack and its list, out come titled tables: the evidence, what is in a file and was not
seen, how late people tap, how files lie, what is probably missed.
"""

from collections.abc import Sequence

from routeprep.estimates import FileShift, Missed
from routeprep.listing import Row
from routeprep.shapes import Pack
from routeprep.sheets.leg_pages import is_stop
from routeprep.units import FACTORS_M
from routeprep.whywords import lateness_text, why_shorts
from routeprep.wording import plus_minus_text

__all__ = ["PHOTO_PX", "evidence_pages", "photos_of_stops", "section", "stop_photos"]

# Pixels along the longer side of a photo as it is kept for printing: 3.4 in at 150 a inch.
PHOTO_PX = 510

# Between the names of several photos of one mark, as the readers write them.
_JOINT = " | "
# So many photos of one STOP are printed.
_PHOTOS = 2

_EVIDENCE = (
    "± is the half-width of the 95 % interval. Before and after are looking up-station, from the "
    "place on the list."
)
_LATENESS = (
    "A tap from a vehicle comes late by so many seconds, whatever the speed, and a fixed way ahead "
    "of or behind the phone. It is taken off before a mark is placed."
)
_SHIFTS = "A file's things are moved back only where the shift stands out from its own ±."
_MISSED = "A lower bound: what cannot be seen from a vehicle at all is not in it."


def section(
    title: str,
    head: Sequence[str],
    shares: Sequence[float],
    rows: Sequence[Sequence[str]],
    *texts: str,
) -> dict[str, object]:
    """A titled table.

    Parameters
    ----------
    title
        Its title.
    head
        Titles of its columns.
    shares
        The widths of its columns against each other.
    rows
        Its cells.
    texts
        What stands between title and table.
    """
    return {
        "title": title,
        "head": list(head),
        "shares": list(shares),
        "rows": rows,
        "text": list(texts),
    }


def _record_names(pack: Pack) -> dict[str, str]:
    """Names of records as their owner has them, with the file where there are several."""
    records = pack.records
    several = records["source"].nunique() > 1
    named = zip(records["record_id"], records["name"], records["source"], strict=True)
    return {
        one: f"{name or 'no name'} ({source})" if several else name or "no name"
        for one, name, source in named
    }


def _records(row: Row, names: dict[str, str]) -> str:
    return "; ".join(names.get(one, one) for one in str(row["record_ids"]).split())


def _seen(row: Row) -> str:
    """How it is known, where its evidence is not at hand."""
    times = f"seen {row['times_seen']} times" if row["times_seen"] != 1 else "seen once"
    return f"{times}, {row['method']}"


def _decided(row: Row) -> str:
    by = f"by {row['decided_by']}" if row["decided_by"] else "nobody yet"
    return f"proposed {row['proposed']}; decided {by}"


def _evidence(rows: Sequence[Row], pack: Pack) -> dict[str, object]:
    units, names, shorts = pack.settings.units, _record_names(pack), why_shorts(pack)

    def line(row: Row) -> list[str]:
        records = _records(row, names)
        why = [shorts.get(row["anchor_id"]) or _seen(row), f"records: {records}" if records else ""]
        along = plus_minus_text(row["along_sd_m"], units=units)
        across = plus_minus_text(row["offset_sd_m"], units=units)
        return [
            row["no"],
            f"{along} along, {across} across; {row['lon_deg']:.6f} {row['lat_deg']:.6f}",
            f"{row['status']}; {_decided(row)}",
            "; ".join(filter(None, why)),
        ]

    head = ("No.", "±; longitude, latitude", "Status, and who decided", "What it rests on")
    return section("Evidence", head, (5, 15, 17, 26), [line(row) for row in rows], _EVIDENCE)


def _not_seen(rows: Sequence[Row], pack: Pack) -> dict[str, object]:
    names = _record_names(pack)
    found = [
        (
            row["no"],
            " ".join(filter(None, (row["station_text"], row["zero_text"]))),
            row["what_text"],
            row["where_text"],
            _records(row, names),
        )
        for row in rows
        if row["times_seen"] == 0 and row["record_ids"] and not row["struck"]
    ]
    head = ("No.", "Station", "What the file says", "Where", "Record")
    return section("In a file, not seen by us", head, (1.4, 3, 4, 4, 4), found)


def _lateness(pack: Pack) -> dict[str, object]:
    names = {drive.drive_id: drive.by or drive.name for drive in pack.drives}
    units = pack.settings.units
    rows = [
        (names.get(one.person, one.person), lateness_text(one, units=units))
        for one in pack.lateness
    ]
    return section("How late people tap", ("Who", "How late"), (2, 9), rows, _LATENESS)


def _shift_text(one: FileShift, *, units: str) -> str:
    """How far and which way a file lies off."""
    unit = "ft" if units == "us" else "m"
    in_unit = float(FACTORS_M[unit])
    parts = [
        f"{abs(size_m) / in_unit:.1f} {unit} {ways[size_m < 0]} "
        f"{plus_minus_text(sd_m, units=units)}"
        for size_m, sd_m, ways in (
            (one.east_m, one.east_sd_m, ("east", "west")),
            (one.north_m, one.north_sd_m, ("north", "south")),
        )
    ]
    return ", ".join(parts)


def _shifts(pack: Pack) -> dict[str, object]:
    rows = [
        (
            one.source,
            _shift_text(one, units=pack.settings.units),
            "moved back" if one.applied else "left as it is",
            one.text,
        )
        for one in pack.shifts
    ]
    head = ("File", "Lies off by", "So it was", "What that rests on")
    return section("How files lie", head, (3, 3, 1.6, 5), rows, _SHIFTS)


def _missed_row(one: Missed) -> tuple[str, ...]:
    between = f"{one.low:.0f} to {one.high:.0f}"
    return one.what, str(one.looks), str(one.seen), f"{one.estimate:.0f} ({between})", one.text


def _missed(pack: Pack) -> dict[str, object]:
    rows = [_missed_row(one) for one in pack.missed]
    head = ("What", "Looks", "Seen", "There are probably", "What that rests on")
    return section("What was probably missed", head, (2.4, 1, 1, 2.2, 5), rows, _MISSED)


def evidence_pages(pack: Pack, rows: Sequence[Row]) -> list[dict[str, object]]:
    """Tables of the evidence, a dict a section; one without rows has none.

    Parameters
    ----------
    pack
        The pack.
    rows
        All rows of the list, in order.
    """
    return [
        _evidence(rows, pack),
        _not_seen(rows, pack),
        _lateness(pack),
        _shifts(pack),
        _missed(pack),
    ]


def photos_of_stops(pack: Pack, rows: Sequence[Row]) -> dict[str, tuple[str, ...]]:
    """The number of each decided STOP to the names of the photos in its evidence.

    Parameters
    ----------
    pack
        The pack.
    rows
        Rows of the list.
    """
    named = dict(zip(pack.marks["mark_id"], pack.marks["photo"], strict=True))
    found = {}
    for row in rows:
        texts = [named.get(one, "") for one in row["mark_ids"]] if is_stop(row) else []
        photos = dict.fromkeys(name for text in texts for name in str(text).split(_JOINT) if name)
        if photos:
            found[str(row["no"])] = tuple(photos)
    return found


def stop_photos(pack: Pack, rows: Sequence[Row]) -> list[dict[str, str]]:
    """The photos that are printed, with what each shows; only those that the pack holds.

    Parameters
    ----------
    pack
        The pack.
    rows
        Rows of the list.
    """
    by_no = {str(row["no"]): row for row in rows}
    shown = []
    for no, names in photos_of_stops(pack, rows).items():
        row, held = by_no[no], [name for name in names if name in pack.photos]
        text = f"{no} {row['station_text']} {row['what_text']}, {row['where_text']}"
        more = f"; {len(held) - _PHOTOS} more in the job's files" if len(held) > _PHOTOS else ""
        shown += [{"name": name, "text": f"{text}{more}"} for name in held[:_PHOTOS]]
    return shown
