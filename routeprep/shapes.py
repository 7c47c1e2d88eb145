"""The frozen shapes that travel between rooms.

They are made once, checked when made, and never changed; a stage returns a new one.  Those that
hold tables or arrays compare by identity.
"""

import datetime as dt
import math
import zoneinfo
from collections.abc import Mapping
from dataclasses import dataclass, field, fields

import numpy as np
import numpy.typing as npt
import pandas as pd

from routeprep import tables
from routeprep.briefing import Briefing, Tiles
from routeprep.errors import JobError
from routeprep.estimates import FileShift, Lateness, Missed
from routeprep.kinds import KindTable
from routeprep.lines import Alignment, Centerline, LinePiece, StationEquation, Stationing, Tie
from routeprep.plans import Plan
from routeprep.remarks import Remarks
from routeprep.roadform import Curve, Grade, SightSpot
from routeprep.roadway import Haul, Machine, Section
from routeprep.streets import Landmark, Street
from routeprep.units import StationUnit

__all__ = [
    "Decision",
    "Defaults",
    "DriveFacts",
    "Finding",
    "Issued",
    "IssuedNumber",
    "Leg",
    "LegSettings",
    "Pack",
    "Part",
    "Settings",
    "Source",
    "Survey",
    "TieSettings",
]

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """Something a person should know: a warning as data.

    Attributes
    ----------
    level
        "note" (for the record), "doubt" (needs a human eye) or "fault" (cannot be used).
    where
        What it is about: a file with its place, a leg, a drive, a number.
    text
        One sentence: what was found, what was expected, what to do.
    """

    level: str
    where: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """One input file and what was taken from it.

    Attributes
    ----------
    name
        The file's name relative to the job, with forward slashes.
    what
        "drive", "walk", "marks", "records", "photo", "zip", "centerline", "decisions", "numbers",
        "job",
        or "set aside" for a file that the job names and does not want read.
    sha256
        Of its bytes, hexadecimal.
    taken
        Counts of what was taken, by what it is ("fixes": 812).
    skipped
        Counts of what was not, by the reason.
    """

    name: str
    what: str
    sha256: str
    taken: Mapping[str, int]
    skipped: Mapping[str, int]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Part:
    """What one reader took from one file; parts together make a ``Survey``.

    Attributes
    ----------
    fixes, marks, records
        Tables ``tables.FIXES``, ``tables.MARKS`` and ``tables.RECORDS``; empty where the file
        has none.
    drive_names, drive_by
        For each drive id: the file and track it came from, and who drove (may be empty).
    source
        What was taken and skipped.
    findings
        What the reader noticed.
    """

    fixes: pd.DataFrame
    marks: pd.DataFrame
    records: pd.DataFrame
    drive_names: Mapping[str, str]
    drive_by: Mapping[str, str]
    source: Source
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Survey:
    """All that was read: drives, marks, records and lines, before any of it is judged.

    Attributes
    ----------
    fixes
        Table ``tables.FIXES``, in recorded order within each drive; ``piece`` counts up at each
        break in reception.
    drive_names
        Drive id to the file and track it came from.
    drive_by
        Drive id to who drove, empty when not known.
    marks, records
        Tables ``tables.MARKS`` and ``tables.RECORDS``.
    lines
        Leg code to the pieces that its centerline file holds.
    alignments
        Leg code to the designed alignment that its centerline file holds; a leg is in one of
        the two, or in neither when its line is made from drives.
    sources
        One entry a file.
    findings
        What the readers noticed.
    walks
        Ids of the drives that were recorded on foot: they make no line and are no looks from a
        vehicle, and their marks were walked.
    streets
        Named lines of street maps, for landmarks.
    """

    fixes: pd.DataFrame
    drive_names: Mapping[str, str]
    drive_by: Mapping[str, str]
    marks: pd.DataFrame
    records: pd.DataFrame
    lines: Mapping[str, tuple[LinePiece, ...]]
    alignments: Mapping[str, Alignment]
    sources: tuple[Source, ...]
    findings: tuple[Finding, ...]
    walks: frozenset[str] = frozenset()
    streets: tuple[Street, ...] = ()

    def __post_init__(self) -> None:
        """Check the three tables against their declarations."""
        tables.check(self.fixes, tables.FIXES, what="fixes")
        tables.check(self.marks, tables.MARKS, what="marks")
        tables.check(self.records, tables.RECORDS, what="records")


@dataclass(frozen=True, slots=True, kw_only=True)
class DriveFacts:
    """What is worth saying about one drive.

    Attributes
    ----------
    drive_id
        Which.
    fixes
        How many were kept.
    begin_utc, end_utc
        Times of the first and last fix; None without times.
    length_m
        How far it went on the ellipsoid, standing left out, breaks not driven across [m].
    stood_s
        How long it stood [s].
    accuracy_m
        Median of the radius that the device reports [m]; NaN when it reports none.
    sd_m
        Median standard deviation of one axis of the smoothed places [m].
    gaps
        Breaks in the fixes.
    name, by
        The file and track it came from, and who drove; empty where nobody says.
    """

    drive_id: str
    fixes: int
    begin_utc: dt.datetime | None
    end_utc: dt.datetime | None
    length_m: float
    stood_s: float
    accuracy_m: float
    sd_m: float
    gaps: int
    name: str = ""
    by: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Defaults:
    """Every tolerance and default that decides something, in one place.

    ``report.json`` lists them all.  Common practice, no source, unless a source is named.
    """

    # 68 % radius of a phone under open sky [m]: GPS.gov gives 4.9 m (ION paper); taken as 68 %.
    phone_accuracy_m: float = 4.9
    # Per-axis standard deviation of an owner's record [m].
    record_sd_m: float = 2.0
    # A tap comes this long after the thing [s], how sure that is for a person nobody knows yet
    # [s], and how far a single tap of one person spreads about it [s].
    tap_late_s: float = 1.0
    tap_late_sd_s: float = 0.6
    tap_spread_s: float = 0.35
    # A person taps when the thing is this far ahead of the phone, and how sure that is [m].
    tap_lead_m: float = 0.0
    tap_lead_sd_m: float = 3.0
    # Marks without a time are placed at their own position, with this much more doubt [m].
    tap_untimed_sd_m: float = 15.0
    # A mark must have a fix this near in time to be placed by time [s].
    fix_near_mark_s: float = 10.0
    # Farther than this from every leg's line: far from the road [m].
    road_corridor_m: float = 30.0
    # Another place at most this much farther than the best, and more than this far away along,
    # is a runner-up [m].
    runner_up_within_m: float = 15.0
    runner_up_apart_m: float = 60.0
    # A tap's own position this far from the place at its time disagrees with the drive [m].
    tap_disagrees_m: float = 40.0
    # Reported accuracy worse than this is poor [m].
    poor_accuracy_m: float = 15.0
    # Pieces of a centerline file nearer than this are joined [m].
    join_gap_m: float = 0.5
    # Between fixes farther apart than this nothing is known [s].
    drive_gap_s: float = 20.0
    # Faster than this between fixes is an impossible jump [m/s], 134 mph.
    jump_speed_mps: float = 60.0
    # Other drives within this of the spine help to make a path driven [m].
    spine_corridor_m: float = 25.0
    # Features narrower than this along a driven path are noise unless its drives agree on them [m].
    path_smooth_m: float = 160.0
    # A look is never at a thing that lies beyond this many standard deviations of their distance
    # along, or beyond the second value [m]; it is not asked to be nearer than the third [m].
    same_thing_sds: float = 3.0
    same_thing_most_m: float = 30.0
    same_thing_least_m: float = 3.0
    # Two drives are one when their fixes agree for more than this share of the shorter.
    same_drive_share: float = 0.5
    # Chance that a person who drives by taps a thing, of 1.
    seen_share: float = 0.7
    # Share of marks that call a thing by another kind's name, of 1.
    wrong_kind_share: float = 0.05
    # Iron this near outside the drum is for the side plate and the ski [m], 2 ft.
    side_plate_m: float = 0.6096
    # Per-axis standard deviation of a place that a person put by hand on the map [m].
    hand_placed_sd_m: float = 3.0
    # Things nearer than this along that all want a lift are lifted over as one [m], 25 ft.
    lift_join_m: float = 7.62
    # A station that was said, by how it was found: standard deviation [m], and a share of the
    # distance from the nearest known place.  Taped 0.1 ft, wheeled 1 ft, paced 5 ft.
    taped_sd_m: float = 0.03
    taped_share: float = 0.0005
    wheeled_sd_m: float = 0.3
    wheeled_share: float = 0.005
    paced_sd_m: float = 1.5
    paced_share: float = 0.03
    # An offset that was said in feet, from the line on the road [m], 1 ft.
    said_offset_sd_m: float = 0.3

    def __post_init__(self) -> None:
        """Refuse anything that is not a finite number, 0 or more.

        Raises
        ------
        JobError
            Naming the default and its value.
        """
        for item in fields(self):
            value = getattr(self, item.name)
            if not (math.isfinite(value) and value >= 0):
                msg = f"default {item.name} is {value!r}; expected a finite number, 0 or more"
                raise JobError(msg, name=item.name, value=value)


@dataclass(frozen=True, slots=True, kw_only=True)
class TieSettings:
    """A physical thing whose station is known, as the job file has it.

    Attributes
    ----------
    station
        The label that plans, paint or wheel give it; for a mile marker its number.
    lon_deg, lat_deg
        Where it is [deg].
    kind
        "plan", "paint", "wheel", or "mile marker" (a reference reading that never stretches).
    by
        What it is and who says so, for people.
    forced_by
        Who takes it although it stretches the line by more than is believed; empty: nobody.
    """

    station: str
    lon_deg: float
    lat_deg: float
    kind: str
    by: str
    forced_by: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LegSettings:
    """One street or ramp as the job file has it, in metres and station values.

    Attributes
    ----------
    code, name
        The leg's letter(s) and street.
    spine
        The drive that the line is made from; empty: the longest stretch that does not cross
        itself.
    start_value
        Plan station at the beginning [the unit's length]; NaN for a leg with a named zero, and
        where ties or a designed alignment bring the stations.
    zero
        Name of the physical zero, empty for a leg with plan stations.
    start_near_deg
        Longitude and latitude near the end that bears the start [deg], or None.
    unit
        How its stations are written.
    elevation_m
        Of the road [m]; NaN: from the drives.
    unit_said
        Whether the job names the unit; if not, a designed alignment's own goes before it.
    from_station, to_station
        Labels of the limits of the cut; empty: the line's ends.
    depth_m
        Depth of the cut [m]; NaN when not given.
    lane_width_m
        Width of one lane [m].
    lanes_left, lanes_right
        Number of lanes left and right of the centerline, looking up-station.
    lane_driven
        Where drives went one way only: the lane they kept to, counted from the line to the
        side that traffic in their direction keeps to; 0: not given.
    equations, ties
        Station equations in order along the leg, and physical things whose station is known.
    crs
        Coordinate system of a designed alignment whose file does not name one; empty: the
        file's.
    posted_mps
        Posted speed [m/s]; NaN when not given.
    sight_clearance_m
        Clear distance from the middle of the inside lane to what hides the road in a curve [m];
        NaN when not given.
    elevations
        Elevations of the road that were typed in: station label and elevation [m].
    sections
        The road across, in order along; empty: the lanes alone.
    """

    code: str
    name: str
    spine: str
    start_value: float
    zero: str
    start_near_deg: tuple[float, float] | None
    unit: StationUnit
    elevation_m: float
    from_station: str
    to_station: str
    depth_m: float
    lane_width_m: float
    lanes_left: int
    lanes_right: int
    lane_driven: int = 0
    unit_said: bool = False
    equations: tuple[StationEquation, ...] = ()
    ties: tuple[TieSettings, ...] = ()
    crs: str = ""
    posted_mps: float = math.nan
    sight_clearance_m: float = math.nan
    elevations: tuple[tuple[str, float], ...] = ()
    sections: tuple[Section, ...] = ()

    def __post_init__(self) -> None:
        """Refuse a leg that contradicts itself.

        Raises
        ------
        JobError
            If it has both start and zero, equations from a named zero, or lanes that cannot be.
        """
        where = f"leg {self.code!r}"
        if self.zero and not math.isnan(self.start_value):
            msg = (
                f"{where}: start is {self.start_value:g} {self.unit.length} and zero is "
                f"{self.zero!r}; give start (a plan station) or zero (a physical zero's name)"
            )
            raise JobError(msg, leg=self.code)
        if self.zero and self.equations:
            msg = (
                f"{where}: {len(self.equations)} station equations stand with the zero "
                f"{self.zero!r}; equations are of plan stations: give start instead of zero"
            )
            raise JobError(msg, leg=self.code)
        if not self.lane_width_m > 0 or self.lanes_left < 0 or self.lanes_right < 0:
            msg = (
                f"{where}: lane width {self.lane_width_m:g} m, {self.lanes_left} lanes left, "
                f"{self.lanes_right} right; expected a positive width and counts of 0 or more"
            )
            raise JobError(msg, leg=self.code)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Settings:
    """The job: what it is called, its units, its legs, its kinds and its defaults.

    ``units`` is "us" or "metric"; ``date`` is printed and stamped into files, nothing reads the
    clock.  ``datum_operation`` names the operation that takes files in another datum to WGS 84;
    empty: the datums are taken as one, and said.  ``tiles`` is None for a map without any; without
    ``machines`` there is no plan of work.
    """

    name: str
    number: str
    revision: str
    date: dt.date
    timezone: zoneinfo.ZoneInfo
    units: str
    legs: tuple[LegSettings, ...]
    kinds: KindTable
    defaults: Defaults = field(default_factory=Defaults)
    datum_operation: str = ""
    briefing: Briefing = field(default_factory=Briefing)
    tiles: Tiles | None = None
    machines: tuple[Machine, ...] = ()
    haul: Haul = field(default_factory=Haul)

    def __post_init__(self) -> None:
        """Refuse a job without legs, or with two legs of one code.

        Raises
        ------
        JobError
            Naming the job or the codes.
        """
        codes = [leg.code for leg in self.legs]
        if not codes:
            msg = f"job {self.name!r} has no leg; add a [[leg]] with code, name and start or zero"
            raise JobError(msg, job=self.name)
        twice = sorted({code for code in codes if codes.count(code) > 1})
        if twice:
            msg = f"leg codes {twice} stand twice in job {self.name!r}; each leg needs its own"
            raise JobError(msg, codes=twice)


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """One row of ``decisions.csv``: what a named person decided about one thing.

    ``anchor_id`` is the id of any mark or record in the thing's evidence, the id of an unsorted
    mark, or ``kind:CODE`` for all things of a kind.
    """

    anchor_id: str
    field: str
    value: str
    by: str
    when: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class IssuedNumber:
    """One row of ``numbers.csv``: a number that was printed once and never changes."""

    no: str
    anchor_id: str
    first_revision: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Issued:
    """The list as it was last issued: its revision letter, and table ``tables.ISSUED``."""

    revision: str
    rows: pd.DataFrame

    def __post_init__(self) -> None:
        """Check the table."""
        tables.check(self.rows, tables.ISSUED, what="issued list")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Leg:
    """One street or ramp with its line and stationing.

    Attributes
    ----------
    settings
        As in the job, completed by what a designed alignment brings.
    line, stationing
        What its stations run along, and how they are written.
    from_m, to_m
        Limits of the cut, along [m].
    ties
        That the stationing was made from, in order along.
    markers
        Mile markers in order along: along [m] and their number of miles.
    curves, grades
        Of its line, in order along.
    sight
        Where a driver may not see far enough to stop, by travel, then in order along.
    landmarks
        Cross streets and other fixed things that people know, in order along.
    """

    settings: LegSettings
    line: Centerline
    stationing: Stationing
    from_m: float
    to_m: float
    ties: tuple[Tie, ...] = ()
    markers: tuple[tuple[float, float], ...] = ()
    curves: tuple[Curve, ...] = ()
    grades: tuple[Grade, ...] = ()
    sight: tuple[SightSpot, ...] = ()
    landmarks: tuple[Landmark, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pack:
    """Everything one briefing needs, before it is drawn or written.

    Attributes
    ----------
    settings
        The job.
    legs
        In the job's order.
    fixes
        Cleaned fixes (``tables.FIXES``), for drawing the drives faintly.
    drives
        What is worth saying about each drive that counts, by name.
    marks, records
        With ``tables.LOCATED`` added.
    coverage
        Table ``tables.COVERAGE``: how often each stretch was looked at, by leg, then along.
    obstructions
        Table ``tables.OBSTRUCTIONS``, by leg in the job's order, then ``along_m``.
    unsorted
        Marks whose words were not understood, with ``why`` and ``looks_like`` added: sort
        before issue.
    elsewhere
        Marks and records that became nothing on the list (on no leg, set aside, or a record of no
        kind that is known), with the reason: table of ``id``, ``name``, ``source``, ``why``.
    withdrawn
        Numbers that no longer stand alone: table of ``no``, ``leg``, ``why`` ("removed" or
        "joined with A-14").
    numbers
        The ledger with this revision's numbers added.
    decisions
        As given.
    findings
        What the readers and the stages noticed.
    sources
        One entry an input file.
    draft
        Why the pack is a draft; empty when it may be issued.
    evidence
        Table ``tables.EVIDENCE``, by thing in the list's order.
    lateness
        How late each person taps, by person.
    shifts
        How far each file of records lies off, by file.
    missed
        How many things were probably missed, by group of kinds.
    search
        Table ``tables.SEARCH``, in walking order.
    issued
        The list as it was last issued; None for a first issue.
    plan
        The plan of work; empty where the job names no machine.
    photos
        Plain small JPEGs of what the crew stops for, by the name that the marks give.
    remarks
        Reviews, checks on the day, and what was edited twice.
    """

    settings: Settings
    legs: tuple[Leg, ...]
    fixes: pd.DataFrame
    drives: tuple[DriveFacts, ...]
    marks: pd.DataFrame
    records: pd.DataFrame
    coverage: pd.DataFrame
    obstructions: pd.DataFrame
    unsorted: pd.DataFrame
    elsewhere: pd.DataFrame
    withdrawn: pd.DataFrame
    numbers: tuple[IssuedNumber, ...]
    decisions: tuple[Decision, ...]
    findings: tuple[Finding, ...]
    sources: tuple[Source, ...]
    draft: tuple[str, ...]
    evidence: pd.DataFrame
    lateness: tuple[Lateness, ...]
    shifts: tuple[FileShift, ...]
    missed: tuple[Missed, ...]
    search: pd.DataFrame
    issued: Issued | None
    plan: Plan = field(default_factory=Plan)
    photos: Mapping[str, bytes] = field(default_factory=dict)
    remarks: Remarks = field(default_factory=Remarks)

    def __post_init__(self) -> None:
        """Check the tables that everything downstream reads."""
        tables.check(self.coverage, tables.COVERAGE, what="coverage")
        tables.check(self.obstructions, tables.OBSTRUCTIONS, what="obstructions")
        tables.check(self.evidence, tables.EVIDENCE, what="evidence")
        tables.check(self.search, tables.SEARCH, what="search list")
