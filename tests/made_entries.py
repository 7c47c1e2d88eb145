"""Entries of every kind, invented, of one job."""

import datetime as dt
import hashlib

from routeprep.access import SUPERINTENDENT, Person
from routeprep.entries import make_entry

JOB = "Oak Street (invented)"
ANA = Person(name="Ana (invented)", role=SUPERINTENDENT)
NOON = dt.datetime(2026, 6, 1, 17, 0, tzinfo=dt.UTC)
LINE = b'{"type": "LineString", "coordinates": [[-96.1, 41.2], [-96.09, 41.2]]}'
PACK = b"not a zip, and of no matter here"
LINE_SHA, PACK_SHA = (hashlib.sha256(one).hexdigest() for one in (LINE, PACK))
BLOBS = {LINE_SHA: LINE, PACK_SHA: PACK}

WHEN = "2026-06-01 12:00"
BY = {"by": ANA.name, "when": WHEN}
SAID = {"subject": "m1", "says": "comment", "text": "where do trucks turn?", **BY}

# A thing and a body of each kind.
EVERY_KIND = {
    "settings": ("settings", {"name": "job.toml", "sha256": LINE_SHA}),
    "file": ("line.geojson", {"sha256": LINE_SHA}),
    "decision": (
        "m1 note",
        {"anchor_id": "m1", "field": "note", "value": "deep frame", "why": "seen", **BY},
    ),
    "number": ("A-1", {"no": "A-1", "anchor_id": "m1", "first_revision": "A"}),
    "review": ("m1 x", SAID | {"seal": "s"}),
    "check": ("m1 y", SAID | {"says": "same"}),
    "issue": ("A", {"revision": "A", "seal": "s", "pack": PACK_SHA, **BY}),
    "copy": ("A x", {"revision": "A", "to": "paving crew", "how": "on paper", **BY}),
    "drive": ("d1", {"drive_id": "d1", "name": "morning", "by": ANA.name, "walk": False}),
    "fixes": ("d1 1", {"drive_id": "d1", "fixes": [[1, -96.1, 41.2, None, 5.0, 3.5, 90.0]]}),
    "mark": (
        "p1",
        {
            **dict.fromkeys(
                ("drive_id", "across", "across_frame", "said_leg", "said_station", "said_offset",
                 "size", "height_by", "method", "note", "photo", "clip"), "",
            ),
            "mark_id": "p1", "words": "sewer manhole", "by": ANA.name, "time_ms": 1_780_000_000_000,
            "lon_deg": -96.1, "lat_deg": 41.2, "accuracy_m": None, "height_m": None,
        },
    ),
    "tick": ("m1", {"anchor_id": "m1", "done": True, **BY}),
    "found": (
        "f1",
        {
            "no": "T1", "leg": "A", "words": "steel plate", "across": "", "note": "",
            "along_m": 12.5, "lon_deg": None, "lat_deg": None, **BY,
        },
    ),
    "device": ("h1", {"name": "truck 2", "role": "crew", "until": "2026-06-02", "by": ANA.name}),
}  # fmt: skip


def made(kind="decision", counter=1, **changed):
    """An entry of a kind; ``changed`` is given to ``make_entry`` instead of what is usual."""
    thing, body = EVERY_KIND[kind]
    minutes = dt.timedelta(minutes=counter % 1000)
    values = {
        "job": JOB, "kind": kind, "thing": thing, "body": body, "author": ANA.name,
        "device": "desk 1", "counter": counter, "time_utc": NOON + minutes,
    }  # fmt: skip
    return make_entry(**(values | changed))


def every_kind():
    """One entry of each kind, and one that takes the decision back."""
    all_kinds = [made(kind, at) for at, kind in enumerate(EVERY_KIND, start=1)]
    (decision,) = (one for one in all_kinds if one.kind == "decision")
    gone = made(counter=len(all_kinds) + 1, body=None, parents=[decision.entry_id])
    return [*all_kinds, gone]
