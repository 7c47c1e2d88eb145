"""Invented looks, for the tests of what is concluded from them."""

import datetime as dt
import math

import numpy as np
from builders import SMH

from routeprep.estimates import Lateness
from routeprep.lateness import People
from routeprep.merging import Look

USUAL = {
    "is_mark": True, "leg": "A", "kind": SMH, "seconds": 1000.0, "along_m": 100.0, "from_m": 100.0,
    "to_m": 100.0, "offset_m": 2.7, "along_sd_m": 7.0, "offset_sd_m": 0.55, "lane": "R1",
    "position": "", "drive_id": "up", "source": "up.gpx", "travel": 1, "person": "",
    "speed_mps": 10.0, "late_m": 10.0, "own_sd_m": 7.0, "driven_m": 100.0, "by": "", "size": "",
    "name": "", "method": "vehicle", "past_end_m": 0.0, "doubt": "",
}  # fmt: skip
# What is read of a mark's own row.
MARK = {
    "time_utc": dt.datetime(2026, 5, 5, 15, 0, tzinfo=dt.UTC), "by": "", "height_m": math.nan,
    "height_by": "", "size": "", "note": "", "said_station": "", "said_offset": "",
    "lon_deg": -100.87,
}  # fmt: skip


def look(item_id, **changes):
    """One mark in the right lane, 100 m along, seen going up-station, all its doubt its own."""
    if "along_sd_m" in changes:
        changes = {"own_sd_m": changes["along_sd_m"]} | changes
    return Look(**(USUAL | {"item_id": item_id} | changes))


def record(item_id, **changes):
    """One cover of a city's file."""
    usual = {
        "is_mark": False, "seconds": math.nan, "along_sd_m": 2.0, "offset_sd_m": 2.0, "lane": "",
        "drive_id": "", "source": "covers.geojson", "travel": 0, "driven_m": math.nan,
        "speed_mps": math.nan, "late_m": 0.0, "method": "file", "doubt": "lane not sure",
    }  # fmt: skip
    return look(item_id, **(usual | changes))


def back(item_id, **changes):
    """The same cover seen by another drive going down-station."""
    return look(item_id, **({"drive_id": "down", "travel": -1, "seconds": 5000.0} | changes))


def walked(item_id, **changes):
    """A mark made on foot."""
    usual = {
        "method": "walked", "drive_id": "", "along_sd_m": 2.0, "travel": 0, "by": "walker",
        "speed_mps": math.nan, "late_m": 0.0,
    }  # fmt: skip
    return look(item_id, **(usual | changes))


def lateness(person, **changes):
    """How late somebody taps: 1.1 s, good to 0.2 s, with a lead good to 1 m."""
    usual = {
        "late_s": 1.1, "late_sd_s": 0.2, "lead_m": 2.0, "lead_sd_m": 1.0, "late_lead_sm": 0.1,
        "tap_sd_s": 0.3, "things": 9, "told": True,
        "text": "0.9 s ± 0.2 s late at the usual speed: told by 9 things",
    }  # fmt: skip
    return Lateness(person=person, **(usual | changes))


def people(*known, both=None):
    """These persons, of whom each was told for himself unless ``both`` is their covariance."""
    count = len(known)
    covariance = np.zeros((2 * count, 2 * count))
    for at, one in enumerate(known):
        covariance[at, at] = one.late_sd_s**2
        covariance[at + count, at + count] = one.lead_sd_m**2
        covariance[at, at + count] = covariance[at + count, at] = one.late_lead_sm
    return People(
        of={one.person: one for one in known}, covariance=covariance if both is None else both
    )
