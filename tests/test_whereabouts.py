"""Where things may be: their ±, their lane, their size, and what they want of a drum."""

import math

import pytest
from builders import KINDS
from made_meetings import INCH_M, SDS_95, ft, listed, run, thing
from made_work import leg

from routeprep.whereabouts import size_m, skip_m, things_of

WIDE = run(-9.0, 11.0)


def one(*args, passes=(WIDE,), road=None, **changes):
    """One row as a thing."""
    (got,) = things_of(listed(thing(*args, **changes)), road or leg(), KINDS, passes)
    return got


@pytest.mark.parametrize(
    ("text", "longest_m"),
    [
        ("24 in", 24 * INCH_M),
        ("2x3 ft", ft(3)),
        ("2 ft x 30 in", 30 * INCH_M),
        ("600 mm", 0.6),
        ("24 in / 30 in", 30 * INCH_M),
        ("1.2 m", 1.2),
        ("", 0.0),
        ("large", 0.0),
        ("5 inlets", 0.0),
    ],
)
def test_a_size_is_its_longest_side(text, longest_m) -> None:
    """What is no size is none."""
    assert size_m(text) == pytest.approx(longest_m)


def test_it_may_be_anywhere_within_its_plus_minus() -> None:
    """95 % of a normal error."""
    got = one(100.0, 2.0, offset_sd_m=0.5, along_sd_m=2.0)

    assert (got.low_m, got.high_m) == pytest.approx((2.0 - SDS_95 / 2, 2.0 + SDS_95 / 2))
    assert got.along_half_m == pytest.approx(2 * SDS_95)
    assert got.sure


@pytest.mark.parametrize(
    ("changes", "low_m", "high_m"),
    [
        ({"lane": ""}, -9.0, 11.0),
        ({"lane": "R"}, 0.0, 11.0),
        ({"lane": "L"}, -9.0, 2.0),
        ({"lane": "", "method": "file"}, 2.0, 2.0),
        ({"lane": "", "offset_m": 14.0}, 14.0, 14.0),
        ({"lane": "R", "offset_m": 14.0}, 0.0, 14.0),
    ],
)
def test_a_lane_that_is_not_sure_is_any_of_its_side(changes, low_m, high_m) -> None:
    """From the outermost edges of the passes; not for a file's place, nor beside the road."""
    changes = {"method": "vehicle", "doubt": "no time; lane not sure"} | changes
    got = one(100.0, changes.pop("offset_m", 2.0), **changes)

    assert (got.low_m, got.high_m, got.sure) == (low_m, high_m, False)


def test_lanes_count_where_passes_are_narrower() -> None:
    """Two lanes of 12 ft, and no pass at all."""
    got = one(100.0, 2.0, method="vehicle", lane="", doubt="lane not sure", passes=())

    assert (got.low_m, got.high_m) == pytest.approx((-ft(12), ft(12)))


def test_a_casting_is_as_wide_as_was_said_or_as_a_cover() -> None:
    """24 in where nobody said; what is no casting is a point."""
    assert one(9.0, 1.0, size="36 in").half_m == pytest.approx(18 * INCH_M)
    got = one(9.0, 1.0, size="")
    assert (got.half_m, got.said_half_m) == (pytest.approx(12 * INCH_M), 0.0)
    assert one(9.0, 1.0, kind="PATCH", size="20 ft").half_m == 0.0


@pytest.mark.parametrize(
    ("kind", "across", "spans"),
    [
        ("MH", "", False),
        ("MH", "whole road", True),
        ("WIRE", "curb or edge", True),  # overhead, wherever it was seen
        ("XW", "", True),  # a transition
        ("DECK", "", True),  # lies across the road where nobody said otherwise
        ("HUMP", "curb or edge", False),
    ],
)
def test_what_spans_the_road(kind, across, spans) -> None:
    """By what was said, its kind and its group."""
    assert one(9.0, 1.0, kind=kind, across=across).spans is spans


@pytest.mark.parametrize(
    ("kind", "changes", "lifted"),
    [
        ("MH", {}, True),
        ("MH", {"action": "LIFT, then look"}, True),
        ("MH", {"action": "STOP"}, False),
        ("MH", {"decided_by": ""}, False),
        ("DECK", {"action": "SKIP 12+00 to 13+00"}, True),
        ("SRM", {"action": "HAND WORK"}, True),  # iron, with a clearance
        ("BUTT", {"action": "HAND WORK"}, False),  # a joint, without one
        ("MH", {"action": "MILL OVER"}, False),
    ],
)
def test_what_the_drum_comes_out_for(kind, changes, lifted) -> None:
    """Only for what a person decided."""
    assert one(9.0, 1.0, kind=kind, **changes).lifted is lifted


def test_clearances_are_the_kinds_and_the_moldboard_has_to_be_past() -> None:
    """3 ft before and 5 ft behind a manhole; 6 ft to the moldboard; none for a joint."""
    got = one(9.0, 1.0)

    assert got.clear_m(math.nan) == pytest.approx((ft(3), ft(5)))
    assert got.clear_m(ft(4)) == pytest.approx((ft(3), ft(5)))
    assert got.clear_m(ft(6)) == pytest.approx((ft(3), ft(6)))
    assert one(9.0, 1.0, kind="ECUT").clear_m(ft(6)) == (0.0, 0.0)


def test_what_is_larger_than_a_cover_has_the_rest_added() -> None:
    """4 ft wide: 1 ft more on each side than 24 in."""
    assert one(9.0, 1.0, size="48 in").clear_m(math.nan) == pytest.approx((ft(4), ft(6)))


@pytest.mark.parametrize(
    ("changes", "exact"),
    [
        ({}, True),
        ({"status": "lowered 4 in (Ann Ek, 2026-05-20)"}, True),
        ({"method": "wheeled"}, False),
        ({"method": "walked"}, False),
        ({"method": "vehicle"}, False),
        ({"status": "walked, not found (Ann Ek, 2026-05-20)"}, False),
        ({"along_sd_m": 1.0}, False),  # ±6.4 ft
    ],
)
def test_stations_may_be_printed_for_what_was_walked_and_taped(changes, exact) -> None:
    """And is surer than 5 ft."""
    assert one(9.0, 1.0, **changes).exact is exact


def test_a_skip_that_is_elsewhere_is_not_followed() -> None:
    """Its own reach is, which a wrong station cannot move."""
    said = thing(ft(210), 1.0, action="SKIP 12+00 to 13+00")

    assert skip_m(said, leg()) == pytest.approx((ft(200), ft(300)))
    assert skip_m(said | {"action": "LIFT"}, leg()) is None
    for action in ("SKIP 22+00 to 23+00", "SKIP the deck"):
        assert skip_m(said | {"action": action}, leg()) == (ft(210), ft(210))


def test_other_legs_are_left_out() -> None:
    """A list has all legs."""
    rows = listed(thing(1.0, 1.0), thing(2.0, 1.0, leg="B"))

    assert len(things_of(rows, leg(), KINDS, (WIDE,))) == 1
