"""What a phone of the tests sends: invented entries, and the items of its protocol."""

import datetime as dt

from routeprep.entries import make_entry

JOB = "test job"
BEGIN_MS = 1_790_000_000_000
DRIVE = "3f2a91bc-0000-4000-8000-000000000001"
DEVICE = "aaaaaaaa-0000-4000-8000-00000000000a"


def fix(number, *, lon_deg=-100.87, lat_deg=41.43, accuracy_m=5.0):
    """The fix of one second of a drive that runs north at about 11 m/s."""
    return [
        BEGIN_MS + number * 1000,
        lon_deg,
        lat_deg + number * 1e-4,
        800.0,
        accuracy_m,
        11.0,
        0.0,
    ]


def drive_body(drive_id=DRIVE, *, name="drive 2026-09-21 14:00", walk=False):
    """The body of a drive."""
    return {"drive_id": drive_id, "name": name, "by": "R. Sample", "walk": walk}


def fixes_body(*fixes, drive_id=DRIVE):
    """The body of a batch of fixes."""
    return {"drive_id": drive_id, "fixes": list(fixes)}


def mark_body(mark_id="mark-1", words="water valve", **changes):
    """The body of a mark made 2 s after the drive began."""
    texts = ("across", "said_leg", "said_station", "said_offset", "size", "height_by", "note",
             "photo", "clip")  # fmt: skip
    usual = {
        **dict.fromkeys(texts, ""),
        "mark_id": mark_id, "drive_id": DRIVE, "words": words, "across_frame": "as driven",
        "method": "vehicle", "by": "R. Sample", "time_ms": BEGIN_MS + 2000,
        "lon_deg": -100.87, "lat_deg": 41.4302, "accuracy_m": 5.0, "height_m": None,
    }  # fmt: skip
    return usual | changes


def entry(kind, thing, body, *, counter=1, parents=(), device=DEVICE):
    """An entry as the office makes it of an item."""
    time_utc = dt.datetime.fromtimestamp(BEGIN_MS / 1000 + counter, dt.UTC)
    return make_entry(
        job=JOB, kind=kind, thing=thing, body=body, author="R. Sample", device=device,
        counter=counter, time_utc=time_utc, parents=parents,
    )  # fmt: skip


def item(counter, kind, thing, body, **more):
    """An item as the page sends it."""
    usual = {"counter": counter, "kind": kind, "thing": thing, "body": body, "parents": []}
    return usual | {"time_ms": BEGIN_MS + counter * 1000} | more
