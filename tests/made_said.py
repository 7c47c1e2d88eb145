"""Invented entries of every kind, for tests of what they say now and who may write them."""

import datetime as dt

from routeprep.entries import BODIES, make_entry

NOON = dt.datetime(2026, 6, 1, 12, 0, tzinfo=dt.UTC)
_FILLED = {str: "x", bool: True, int: 1, list: [[1, 2.0, 3.0]]}


def body_of(kind, **changes):
    """A body that fits a kind."""
    return {name: _FILLED[types[0]] for name, types in BODIES[kind].items()} | changes


def entry(**changes):
    """An entry about a file; ``changes`` are other arguments."""
    usual = {
        "job": "Elm St (invented)", "kind": "file", "thing": "drives/a.gpx",
        "body": {"sha256": "0" * 64}, "author": "Ana (invented)", "device": "desk 1", "counter": 1,
        "time_utc": NOON,
    }  # fmt: skip
    return make_entry(**(usual | changes))
