"""What was driven and looked at in words: drives, looks at each stretch, what was poorly seen.

In goes a pack, out come rows of texts as sheet and command line print them; feet and miles for a
US job.
"""

import math
import zoneinfo

import pandas as pd

from routeprep.coverage import poorly
from routeprep.linewords import stretch_text
from routeprep.listing import distance_text
from routeprep.shapes import DriveFacts, Pack
from routeprep.tables import rows_of
from routeprep.units import FACTORS_M, KMH_MPS, MPH_MPS
from routeprep.wording import date_text, plus_minus_text

__all__ = [
    "drive_row",
    "look_rows",
    "poor_rows",
    "poor_text",
    "set_aside",
    "speed_text",
    "time_text",
]

_MINUTE_S, _HOUR_S = 60, 3600


def time_text(seconds: float) -> str:
    """A duration for people.

    Parameters
    ----------
    seconds
        How long [s].

    Examples
    --------
    >>> time_text(8.4), time_text(449.0), time_text(4320.0)
    ('8 s', '7 min 29 s', '1 h 12 min')
    """
    whole = round(seconds)
    if whole < _MINUTE_S:
        return f"{whole} s"
    if whole < _HOUR_S:
        return f"{whole // _MINUTE_S} min {whole % _MINUTE_S} s"
    minutes = round(whole / _MINUTE_S)
    return f"{minutes // _MINUTE_S} h {minutes % _MINUTE_S} min"


def _span(drive: DriveFacts, zone: zoneinfo.ZoneInfo) -> str:
    """From when to when by the clocks of the job, and how long that is."""
    if drive.begin_utc is None or drive.end_utc is None:
        return "no times"
    first, last = drive.begin_utc.astimezone(zone), drive.end_utc.astimezone(zone)
    day = "" if first.date() == last.date() else f"{date_text(last.date())} "
    return (
        f"{date_text(first.date())} {first:%H:%M:%S} to {day}{last:%H:%M:%S %Z} "
        f"({time_text((drive.end_utc - drive.begin_utc).total_seconds())})"
    )


def _way(length_m: float, *, units: str) -> str:
    """How far a drive went: miles or kilometres from one up."""
    unit = "mi" if units == "us" else "km"
    far = length_m / float(FACTORS_M[unit])
    return f"{far:,.2f} {unit}" if far >= 1 else distance_text(length_m, units=units)


def drive_row(drive: DriveFacts, pack: Pack) -> tuple[str, ...]:
    """One drive: name, who drove, when, length, accuracy reported, ± smoothed, stood, gaps."""
    units, zone = pack.settings.units, pack.settings.timezone
    reported = not math.isnan(drive.accuracy_m)
    return (
        drive.name,
        drive.by or "nobody named",
        _span(drive, zone),
        _way(drive.length_m, units=units),
        distance_text(drive.accuracy_m, units=units, step=1) if reported else "none",
        plus_minus_text(drive.sd_m, units=units),
        "not known" if drive.begin_utc is None else time_text(drive.stood_s),
        str(drive.gaps) if drive.gaps else "none",
    )


def _lanes(lanes: str) -> str:
    """Lanes with their counts, such as "L1: 2, R1: 1"."""
    parts = [part.rpartition(" ") for part in lanes.split(", ") if part]
    return ", ".join(f"{lane}: {count}" for lane, _, count in parts)


def speed_text(speed_mps: float, *, units: str) -> str:
    """A speed for people, empty when not known.

    Parameters
    ----------
    speed_mps
        The speed [m/s]; NaN when not known.
    units
        "us" or "metric".

    Examples
    --------
    >>> speed_text(15.0, units="us"), speed_text(15.0, units="metric")
    ('34 mph', '54 km/h')
    """
    if math.isnan(speed_mps):
        return ""
    unit, factor = ("mph", MPH_MPS) if units == "us" else ("km/h", KMH_MPS)
    return f"{speed_mps / float(factor):,.0f} {unit}"


def _unsure(sd_m: float, *, units: str) -> str:
    return "" if math.isnan(sd_m) else plus_minus_text(sd_m, units=units)


def look_rows(pack: Pack) -> list[tuple[str, ...]]:
    """Every stretch: leg, stretch, looks up and down, by day and night, lanes, fastest, ±, why."""
    units = pack.settings.units
    legs = {leg.settings.code: leg for leg in pack.legs}
    return [
        (
            row["leg"],
            stretch_text(legs[row["leg"]], row["from_m"], row["to_m"]),
            f"{row['looks_up']} up, {row['looks_down']} down",
            f"{row['looks_day']} day, {row['looks_night']} night",
            _lanes(row["lanes"]),
            speed_text(row["fastest_mps"], units=units),
            _unsure(row["worst_sd_m"], units=units),
            row["reason"],
        )
        for row in rows_of(pack.coverage)
    ]


def _poor(pack: Pack) -> pd.DataFrame:
    return poorly(pack.coverage, pack.legs)


def poor_rows(pack: Pack, *, longest: int | None = None) -> list[tuple[str, ...]]:
    """What was poorly looked at within the cut, by leg, then along: leg, stretch, why.

    Parameters
    ----------
    pack
        The pack.
    longest
        No more than so many, the longest; None for all.
    """
    legs = {leg.settings.code: leg for leg in pack.legs}
    poor = _poor(pack)
    size_m = (poor["to_m"] - poor["from_m"]).sort_values(ascending=False, kind="stable")
    shown = poor.loc[sorted(size_m.index[:longest])]
    return [
        (row["leg"], stretch_text(legs[row["leg"]], row["from_m"], row["to_m"]), row["reason"])
        for row in rows_of(shown)
    ]


def poor_text(pack: Pack) -> str:
    """How much of the cut was poorly looked at: "900 ft of 4,200 ft"; empty for nothing."""
    poor, units = _poor(pack), pack.settings.units
    if poor.empty:
        return ""
    poor_m = float((poor["to_m"] - poor["from_m"]).sum())
    cut_m = sum(leg.to_m - leg.from_m for leg in pack.legs)
    return f"{distance_text(poor_m, units=units)} of {distance_text(cut_m, units=units)}"


def set_aside(pack: Pack) -> list[str]:
    """Names of the files that the job set aside, by name."""
    return sorted(one.name for one in pack.sources if one.what == "set aside")
