"""Logs of fixes as tables: CSV with a row a fix, as programs on phones and spreadsheets save them.

In go bytes, out comes a ``Part`` with one drive.  Numbers that need a unit are used when the name
of their column has one; rows that are no place are skipped, counted, and the first one named.
"""

import datetime as dt
import math
from array import array
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence

from routeprep.errors import ReadError
from routeprep.readers.columns import Points, fixes_table, spans
from routeprep.readers.csvtext import (
    LAT,
    LON,
    Sheet,
    degrees,
    number,
    plain,
    read_spreadsheet,
)
from routeprep.readers.datetimes import day_or_month_first, iso_time
from routeprep.readers.globe import on_globe, swapped
from routeprep.readers.headings import LENGTHS, Columns, Wanted, columns_of, first_rows
from routeprep.readers.parts import Drives, make_part, shown, source
from routeprep.readers.times import NO_TIME_US, time_us
from routeprep.shapes import Finding, Part
from routeprep.units import KNOT_MPS, MPH_MPS, to_m

__all__ = ["read_fixes_csv"]

_NAMES: dict[str, tuple[str, ...]] = {
    "time": (
        "time", "time_utc", "utc", "utc_time", "datetime", "date_time", "timestamp", "when",
        "local_time", "time_local", "fix_time", "created_at",
    ),
    "date": ("date", "day"),
    "lat": LAT,
    "lon": LON,
    "ele": ("ele", "elevation", "alt", "altitude", "height"),
    "accuracy": (
        "accuracy", "horizontal_accuracy", "accuracy_horizontal", "hacc", "h_acc", "acc",
        "haccuracy", "h_accuracy",
    ),
    "speed": ("speed", "velocity", "ground_speed", "speed_over_ground", "sog"),
    "course": (
        "course", "heading", "bearing", "track", "course_over_ground", "cog", "direction",
        "course_deg",
    ),
}  # fmt: skip
_SPEEDS = {
    **dict.fromkeys(("mps", "m_s", "ms"), "m/s"),
    **dict.fromkeys(("kmh", "km_h", "kph", "kmph"), "km/h"),
    "mph": "mph",
    **dict.fromkeys(("kn", "kt", "kts", "knot", "knots"), "kn"),
}
_COLUMNS = Wanted(
    {name: field for field, names in _NAMES.items() for name in names},
    {"ele": LENGTHS, "accuracy": LENGTHS, "speed": _SPEEDS},
)
# Metres a second, of each unit of speed.
_MPS = {"m/s": 1.0, "km/h": to_m(1.0, "km") / 3600.0, "mph": float(MPH_MPS), "kn": float(KNOT_MPS)}

# Reasons, as they are counted.
_NO_PLACE = "rows without coordinates"
_OFF = "rows off the globe"
_NOWHERE = "rows at 0, 0"
_WIDE = "rows with more cells than columns"
_NO_TIME = "unreadable times"
_BELOW = "numbers that cannot be used"


def _why_not(cells: Sequence[str], width: int, lon_deg: float, lat_deg: float) -> str:
    """Why a row is no fix; empty when it is one.  Receivers without a fix write 0, 0."""
    if any(cells[width:]):
        return _WIDE
    if math.isnan(lon_deg) or math.isnan(lat_deg):
        return _NO_PLACE
    if not on_globe(lon_deg, lat_deg):
        return _OFF
    return _NOWHERE if lon_deg == lat_deg == 0.0 else ""


class _Log:
    """A log as it is read, row by row."""

    def __init__(self, sheet: Sheet, columns: Columns, zone: dt.tzinfo) -> None:
        self.columns, self.width = columns, len(sheet.header)
        at = columns.place
        called = plain(sheet.header[at["time"]]).split("_") if "time" in at else []
        self.zone_said = "utc" in called or "local" in called
        self.zone = zone if "local" in called else dt.UTC
        said = [at[field] for field in ("date", "time") if field in at]
        self.order = day_or_month_first(cells[i] for _, cells in sheet.rows for i in said)
        self.points = Points(names=[""])
        self.skipped: Counter[str] = Counter()
        self.first: dict[str, str] = {}
        self.zoneless = 0

    def cell(self, cells: Sequence[str], field: str) -> str:
        """What a row says of something, empty for what has no column."""
        return cells[self.columns.place[field]] if field in self.columns.place else ""

    def count(self, why: str, where: str) -> None:
        """Count what is left out, and keep where it is found first."""
        self.skipped[why] += 1
        self.first.setdefault(why, where)

    def row(self, row: int, cells: Sequence[str]) -> None:
        """Take one row."""
        lat, lon = self.cell(cells, "lat"), self.cell(cells, "lon")
        lat_deg, lon_deg = degrees(lat), degrees(lon)
        why = _why_not(cells, self.width, lon_deg, lat_deg)
        if why:
            self.count(why, f"row {row}: latitude {shown(lat)}, longitude {shown(lon)}")
            return
        points = self.points
        points.line.append(0)
        points.piece.append(0)
        points.time_us.append(self.time(row, cells))
        points.lon_deg.append(lon_deg)
        points.lat_deg.append(lat_deg)
        for column, field in self.measures():
            column.append(self.measure(row, cells, field))

    def measures(self) -> "tuple[tuple[array[float], str], ...]":
        """The columns of numbers that have a unit, and what they say."""
        points = self.points
        return (
            (points.ele_m, "ele"),
            (points.accuracy_m, "accuracy"),
            (points.speed_mps, "speed"),
            (points.course_deg, "course"),
        )

    def time(self, row: int, cells: Sequence[str]) -> int:
        """UTC since 1970 of a row [us]."""
        text = self.cell(cells, "time")
        said = iso_time(self.cell(cells, "date"), text, order=self.order)
        since_us, odd = time_us(said, self.zone)
        self.zoneless += odd == "no zone" and not self.zone_said
        if since_us == NO_TIME_US and text:
            self.count(_NO_TIME, f"row {row}: {shown(text)}")
        return since_us

    def measure(self, row: int, cells: Sequence[str], field: str) -> float:
        """A number of a row [m], [m/s] or [deg]; NaN when it has none or its unit is not said."""
        text, unit = self.cell(cells, field), self.columns.units.get(field, "")
        if not text or (not unit and field != "course"):
            return math.nan
        value = number(text)
        fits = value < math.inf if field == "ele" else value >= 0
        if not fits or (field == "course" and value > 360.0):  # noqa: PLR2004 - a circle
            self.count(_BELOW, f"row {row}: {field} {shown(text)}")
            return math.nan
        if field == "course":
            return value
        return value * _MPS[unit] if field == "speed" else to_m(value, unit)


def _findings(log: _Log, sheet: Sheet, name: str) -> Iterator[Finding]:
    if sheet.odd:
        yield Finding(level="doubt", where=name, text=sheet.odd)
    if sheet.above:
        text = f"rows above the header are not used: {shown('; '.join(sheet.above))}"
        yield Finding(level="note", where=name, text=text)
    if log.columns.unknown:
        text = f"columns {', '.join(map(shown, log.columns.unknown))} are not understood"
        yield Finding(level="note", where=name, text=f"{text} and not used")
    lacking = [
        sheet.header[at]
        for field, at in log.columns.place.items()
        if field in {"ele", "accuracy", "speed"} and field not in log.columns.units
    ]
    if lacking:
        text = f"columns {', '.join(map(shown, lacking))} say no unit and are not used; name them "
        yield Finding(level="doubt", where=name, text=f"{text}like speed_mph, accuracy_m")
    for why, count in sorted(log.skipped.items()):
        kept = "; those fixes are kept without" if why in {_NO_TIME, _BELOW} else "; left out"
        text = f"{count} {why}{kept}, the first in {log.first[why]}"
        yield Finding(level="doubt", where=name, text=text)
    if log.zoneless:
        text = (
            f"times without zone are taken as UTC ({log.zoneless} of them); name their column "
            "time_local if they are of the job's time zone"
        )
        yield Finding(level="doubt", where=name, text=text)


def _checked(sheet: Sheet, place: Mapping[str, int], *, name: str) -> None:
    """Refuse a log without columns of places, or with latitudes under longitude.

    Raises
    ------
    ReadError
        If it is one.
    """
    if not {"lat", "lon"} <= set(place):
        msg = (
            f"{name}: has no columns of latitude and longitude among {first_rows(sheet)}; name "
            "them lat and lon [degrees], and that of the time time"
        )
        raise ReadError(msg, file=name, columns=sheet.header)
    lat_deg, lon_deg = (
        [degrees(cells[place[key]]) for _, cells in sheet.rows] for key in ("lat", "lon")
    )
    if swapped(lon_deg, lat_deg):
        msg = (
            f"{name}: the first latitude is {lat_deg[0]!r} and the first longitude "
            f"{lon_deg[0]!r}, and so are all: they are swapped; name the columns the other way "
            "round"
        )
        raise ReadError(msg, file=name, columns=sheet.header)


def read_fixes_csv(data: bytes, *, name: str, zone: dt.tzinfo) -> Part:
    """Read a CSV of fixes as one drive.

    Parameters
    ----------
    data
        The log.
    name
        Its name relative to the job.
    zone
        Of a column of local times.

    Raises
    ------
    ReadError
        If it is no CSV, has no columns of latitude and longitude, or no row with a place.
    """
    sheet = read_spreadsheet(data, name=name, known=_COLUMNS.known())
    columns = columns_of(sheet.header, _COLUMNS, name=name)
    _checked(sheet, columns.place, name=name)
    log = _Log(sheet, columns, zone)
    for row, cells in sheet.rows:
        log.row(row, cells)
    if not log.points.line:
        lost = "; ".join(
            f"{count} {why}, the first in {log.first[why]}" for why, count in log.skipped.items()
        )
        msg = f"{name}: has no row with a place ({lost or 'no rows'}); give a log with fixes"
        raise ReadError(msg, file=name, skipped=dict(log.skipped))
    drives = spans(log.points)
    return make_part(
        source(
            data,
            name=name,
            what="drive",
            taken={"fixes": len(log.points.line)},
            skipped=log.skipped,
        ),
        drives=Drives(
            fixes_table(log.points, drives),
            {drives[0].drive_id: name},
            {drives[0].drive_id: ""},
        ),
        findings=tuple(_findings(log, sheet, name)),
    )
