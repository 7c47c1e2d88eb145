"""How a pass touches things: against polygons, by hand, and by law."""

from dataclasses import replace

import pytest
import shapely
from builders import KINDS
from hypothesis import given
from hypothesis import strategies as st
from made_meetings import SDS_95, ft, listed, reversed_run, run, runs, some_things, thing
from made_work import leg

from routeprep.touching import touched_by, where_of
from routeprep.whereabouts import things_of

SIDE_M = ft(2)
# A pass from 0 to 1000 m along, 0 to 2 m right.
USUAL = run(0.0, 2.0)


def touched(rows, one=USUAL):
    """Touch by anchor."""
    where = where_of(things_of(listed(*rows), leg(), KINDS, (one,)))
    met = touched_by(one, where, side_m=SIDE_M)
    ids = [row["anchor_id"] for row in rows]
    return {ids[at]: touch for at, touch in zip(met.number, met.touch, strict=True)}


@pytest.mark.parametrize(
    ("offset_m", "changes", "touch"),
    [
        (1.0, {}, "cut"),
        (2.0, {}, "cut"),
        (2.2, {}, "cut"),  # its middle is outside, but 24 in reach 1 ft under the drum
        (2.2, {"size": ""}, "maybe"),  # the same, were it a cover
        (2.0 + ft(1) + 0.01, {}, "side"),
        (2.0 + ft(3) - 0.01, {}, "side"),
        (2.0 + ft(3) + 0.01, {}, None),
        (-ft(3) + 0.01, {}, "side"),
        (-ft(3) - 0.01, {}, None),
        (1.0, {"offset_sd_m": 0.5}, "cut"),
        (1.0, {"offset_sd_m": 1.0}, "maybe"),
        (1.0, {"doubt": "lane not sure"}, "maybe"),
        (3.0, {"offset_sd_m": 0.6}, "maybe"),
        (9.0, {"kind": "WIRE"}, "over"),
        (9.0, {"across": "whole road"}, "over"),
        (2.2, {"kind": "PATCH"}, None),  # does not stand out of the surface
        (2.2, {"kind": "WALL"}, "side"),
    ],
)
def test_a_thing_and_a_drum(offset_m, changes, touch) -> None:
    """By hand: 2 ft outside is for the side plate, a cover is 2 ft wide."""
    row = thing(500.0, offset_m, **changes)

    assert touched([row]).get(row["anchor_id"]) == touch


@pytest.mark.parametrize(
    ("along_m", "changes", "touch"),
    [
        (1000.0, {}, "cut"),
        (1000.2, {}, "maybe"),
        (1000.4, {}, None),
        (1001.0, {"along_sd_m": 1.0}, "maybe"),
        (999.0, {"along_sd_m": 1.0}, "maybe"),
        (997.0, {"along_sd_m": 1.0}, "cut"),
        (-10.0, {"reach_m": 12.0, "along_sd_m": 1.0}, "cut"),
        (-10.0, {"reach_m": 11.0, "along_sd_m": 1.0}, "maybe"),
        (1009.0, {"kind": "WIRE", "along_sd_m": 5.0}, "over"),
        (1011.0, {"kind": "WIRE", "along_sd_m": 5.0}, None),
    ],
)
def test_a_thing_at_an_end_of_the_pass(along_m, changes, touch) -> None:
    """It is surely there if it is wherever within its ±."""
    row = thing(along_m, 1.0, **changes)

    assert touched([row]).get(row["anchor_id"]) == touch


def test_a_drum_that_comes_nearest_between_two_places_is_found() -> None:
    """Its edges cross the thing's within one straight stretch: neither end tells."""
    one = run([0.0, 10.0], [2.0, 12.0], along_m=(0.0, 100.0))

    assert touched([thing(0.0, 6.0, reach_m=100.0)], one) == {"MH 0": "maybe"}
    assert touched([thing(50.0, 6.0)], one) == {"MH 50": "cut"}
    assert touched([thing(45.0, 12.0)], one) == {}


def test_the_deepest_cut_where_it_may_be_counts() -> None:
    """The thing may be 2 m on, where it is deeper."""
    one = run(0.0, 2.0, along_m=(0.0, 100.0), depth_left_m=[0.0, 0.1], depth_right_m=[0.0, 0.2])
    rows = [thing(50.0, 1.0, size="1 mm", along_sd_m=2.0 / SDS_95)]
    met = touched_by(one, where_of(things_of(listed(*rows), leg(), KINDS, (one,))), side_m=0.0)

    assert met.deep_m[0] == pytest.approx(0.2 * 0.52, abs=1e-5)


def drawn(one, row):
    """The drum's ground and where the thing may be, as polygons of along and offset."""
    along_m, edges = one.along_m, (one.left_m, one.right_m)
    pairs = [list(zip(along_m, edge, strict=True)) for edge in edges]
    (item,) = things_of(listed(row), leg(), KINDS, (one,))
    more_m = item.along_half_m + item.half_m
    reach = shapely.box(row["from_m"] - more_m, item.low_m - item.half_m,
                        row["to_m"] + more_m, item.high_m + item.half_m)  # fmt: skip
    return shapely.Polygon(pairs[0] + pairs[1][::-1]), reach, item


@given(runs(), some_things(most=6))
def test_touches_are_what_polygons_say(one, rows) -> None:
    """Under the drum if the two share ground; beside it if within 2 ft across (shapely)."""
    got = touched(rows, one)
    for row in rows:
        drum, reach, item = drawn(one, row)
        touch = got.get(row["anchor_id"])
        if item.spans:
            assert (touch == "over") == (reach.bounds[0] <= one.along_m[-1]
                                         and reach.bounds[2] >= one.along_m[0])  # fmt: skip
            continue
        apart = drum.distance(reach)
        if touch in ("cut", "maybe"):
            assert apart < 1e-6
        elif apart > 1e-6:
            wide = shapely.box(reach.bounds[0], reach.bounds[1] - SIDE_M,
                               reach.bounds[2], reach.bounds[3] + SIDE_M)  # fmt: skip
            near = wide.buffer(-1e-6).intersects(drum) if wide.area else False
            assert touch == "side" or not (near and item.stands)
            assert touch is None or (item.stands and drum.distance(wide) < 1e-6)


@given(runs(), some_things(most=6), st.floats(-1, 1), st.floats(-1, 1))
def test_what_is_surely_cut_is_cut_wherever_it_is(one, rows, along_share, across_share) -> None:
    """Anywhere within its ± its said size still lies on the drum's ground."""
    got = touched(rows, one)
    for row in [row for row in rows if got.get(row["anchor_id"]) == "cut"]:
        drum, _, item = drawn(one, row)
        along_m = along_share * item.along_half_m
        offset_m = row["offset_m"] + across_share * (item.high_m - item.low_m) / 2
        half_m = item.said_half_m
        there = shapely.box(row["from_m"] + along_m, offset_m - half_m,
                            row["to_m"] + along_m, offset_m + half_m)  # fmt: skip
        assert drum.distance(there) < 1e-6


@given(runs(), some_things(most=6), st.floats(0.0, 5.0))
def test_moving_a_thing_away_never_adds_it(one, rows, more_m) -> None:
    """Nor makes a touch any nearer."""
    order = ["cut", "maybe", "side", None]
    far_m = float(one.right_m.max())
    rows = [row | {"offset_m": far_m + abs(row["offset_m"]), "across": ""} for row in rows]
    moved = [row | {"offset_m": row["offset_m"] + more_m} for row in rows]
    before, after = touched(rows, one), touched(moved, one)

    for anchor_id in [row["anchor_id"] for row in rows if before.get(row["anchor_id"]) != "over"]:
        assert order.index(after.get(anchor_id)) >= order.index(before.get(anchor_id))


@given(runs(), some_things())
def test_more_doubt_never_takes_a_thing_out(one, rows) -> None:
    """Twice the ± is in every pass that the ± is in."""
    doubled = [row | {name: 2 * row[name] for name in ("along_sd_m", "offset_sd_m")}
               for row in rows]  # fmt: skip

    assert set(touched(rows, one)) <= set(touched(doubled, one))


@given(runs(), some_things())
def test_the_way_it_is_run_changes_no_touch(one, rows) -> None:
    """It changes the order alone."""
    assert touched(rows, one) == touched(rows, reversed_run(one))


def test_a_pass_that_meets_nothing_meets_nothing() -> None:
    """No things near it at all."""
    assert touched([thing(5000.0, 1.0)]) == {}
    assert touched([thing(500.0, 1.0)], replace(USUAL, left_m=USUAL.left_m - 50,
                                               right_m=USUAL.right_m - 50)) == {}  # fmt: skip
