"""Ground that the machine leaves: its area, once, who does it and why."""

import math

import numpy as np
import pytest
import shapely
from builders import KINDS
from hypothesis import given
from hypothesis import strategies as st
from made_meetings import ft, listed, meet, run, some_things, thing
from made_work import curved, fleets, leg, strip, strips

from routeprep.handwork import grounds_of, handwork_of
from routeprep.meetings import meetings_of
from routeprep.passes import passes_of, uncut_of
from routeprep.shapes import Defaults

LANE = strip([0.0, 1000.0], [0.0, 0.0], [3.6, 3.6])
INNER, OUTER = run(0.0, 2.0), run(1.6, 3.6, code="A R2", order=2)


def left(*rows, passes=(INNER, OUTER), strips=(LANE,), road=None):
    """What passes leave around things."""
    road = road or leg()
    met = meet(passes, *rows, road=road)
    grounds = grounds_of(strips, passes, met, listed(*rows), road)
    return handwork_of(met, passes, grounds, listed(*rows), road)


def test_a_lift_leaves_its_length_by_what_no_other_pass_cuts() -> None:
    """By hand: 8 ft long; the next drum takes 0.4 m of the 2 m."""
    (got,) = left(thing(100.0, 1.0, no="A-3"))

    assert got.area_m2 == pytest.approx(ft(8) * 1.6)
    assert (got.from_m, got.to_m) == pytest.approx((100.0 - ft(3), 100.0 + ft(5)))
    assert (got.left_m, got.right_m) == pytest.approx((0.0, 1.6))
    assert got.why == "A R1: lift over A-3 manhole"
    assert (got.who, got.anchor_ids) == ("hand-work crew", ("MH 100",))


def test_ground_that_both_drums_leave_is_counted_once() -> None:
    """A cover in the overlap: 3.6 m wide, of which the first pass has 2 m."""
    got = left(thing(100.0, 1.8))

    assert [one.area_m2 for one in got] == pytest.approx([ft(8) * 2.0, ft(8) * 1.6])


def test_ground_between_joined_lifts_is_left_too() -> None:
    """20 ft apart: 28 ft, and who does it is said once."""
    (got,) = left(thing(100.0, 1.0), thing(100.0 + ft(20), 1.0, kind="WV", who="water owner"))

    assert got.area_m2 == pytest.approx(ft(28) * 1.6)
    assert got.who == "hand-work crew; water owner"
    assert len(got.anchor_ids) == 2


def test_what_may_be_in_a_pass_is_said_so() -> None:
    """Its lane is not sure."""
    first, second = left(thing(100.0, 1.0, no="A-3", method="vehicle", doubt="lane not sure"))

    assert first.why == "A R1: lift over A-3 manhole, if in this pass"
    assert second.why == "A R2: lift over A-3 manhole, if in this pass"


def test_skipped_ground_stays_as_it_is_and_the_rest_of_the_lift_is_hand_work() -> None:
    """By hand: skipped 100 ft, a clearance of 5 ft before it; both passes, 3.6 m together."""
    row = thing(ft(200), 1.0, kind="DECK", no="A-9", action="SKIP 12+00 to 13+00", who="owner")
    got = left(row)
    skipped = [one for one in got if "left as it is" in one.why]

    assert sum(one.area_m2 for one in skipped) == pytest.approx(ft(100) * 3.6)
    assert sum(one.area_m2 for one in got) == pytest.approx(ft(105) * 3.6)
    assert skipped[0].why == (
        "A R1: SKIP 12+00 to 13+00: left as it is, for A-9 bridge deck or approach slab"
    )


def test_a_cover_beside_a_skip_is_no_reason_for_the_skip() -> None:
    """Joined in one lift, the skipped part names what is skipped."""
    deck = thing(ft(200), 1.0, kind="DECK", action="SKIP 12+00 to 13+00", anchor_id="deck")
    got = left(deck, thing(ft(310), 1.0, anchor_id="cover"), passes=(INNER,))

    assert {one.anchor_ids for one in got if "left as it is" in one.why} == {("deck",)}
    assert ("deck", "cover") in {one.anchor_ids for one in got}


def test_ground_that_no_drum_runs_over_is_a_stretch_each() -> None:
    """By hand: right of 2 m, and all of it from 400 to 500 m."""
    passes = (run(0.0, 2.0, along_m=(0.0, 400.0)), run(0.0, 3.6, along_m=(500.0, 1000.0), code="B"))
    (got,) = left(passes=passes)

    assert got.area_m2 == pytest.approx(400.0 * 1.6 + 100.0 * 3.6)
    assert (got.from_m, got.to_m, got.who) == (0.0, 500.0, "")
    assert got.why == "right lane: no drum reaches it"
    apart = left(passes=(run(0.0, 3.6, along_m=(100.0, 900.0)),))
    assert [(one.from_m, one.to_m) for one in apart] == [(0.0, 100.0), (900.0, 1000.0)]


def test_hand_work_of_no_known_extent_has_no_area() -> None:
    """A butt joint across both passes, and a radius return; once each."""
    joint = thing(100.0, 0.0, kind="BUTT", no="A-1", action="HAND WORK")
    corner = thing(200.0, 3.0, kind="RAD", no="A-2", action="HAND WORK", reach_m=6.0)
    got = left(joint, corner)

    assert [math.isnan(one.area_m2) for one in got] == [True, True]
    assert got[0].why == "A-1 butt joint: its extent is not given"
    assert (got[1].from_m, got[1].to_m, got[1].left_m, got[1].right_m) == (200.0, 206.0, 0.0, 3.6)


def test_nothing_is_left_where_nothing_is_met() -> None:
    """Nor around what nobody decided."""
    assert left() == ()
    assert left(thing(100.0, 1.0, decided_by="")) == ()


def band(one, from_m=-1e6, to_m=1e6):
    """Ground between two edges as a polygon of along and offset."""
    edges = [np.column_stack([one.along_m, edge_m]) for edge_m in (one.left_m, one.right_m)]
    whole = shapely.Polygon(np.vstack([edges[0], edges[1][::-1]]))
    return whole.intersection(shapely.box(from_m, -99.0, to_m, 99.0)) if whole.area else whole


@given(strips(least_m=0.5, long_m=400.0), fleets(), some_things())
def test_what_is_left_is_what_the_drums_do_not_cut(one, fleet, rows) -> None:
    """Area and bounds against the union of polygons (shapely), on a straight road."""
    road = leg()
    passes = passes_of([one], road, fleet)
    met = meetings_of(passes, listed(*rows), road, kinds=KINDS, defaults=Defaults(),
                      machines=fleet)  # fmt: skip
    grounds = grounds_of([one], passes, met, listed(*rows), road)
    got = handwork_of(met, passes, grounds, listed(*rows), road)

    down = []
    for each in passes:
        out = {(m.lift_from_m, m.lift_to_m) for m in met
               if m.pass_code == each.code and not math.isnan(m.lift_from_m)}  # fmt: skip
        down.append(shapely.difference(band(each).buffer(0), shapely.union_all(
            [shapely.box(low, -99.0, high, 99.0) for low, high in out])))  # fmt: skip
    expected = band(one).buffer(0).difference(shapely.union_all(down))
    areas = [each.area_m2 for each in got if not math.isnan(each.area_m2)]
    assert sum(areas) == pytest.approx(expected.area, abs=1e-3)


@given(strips(least_m=0.5, long_m=400.0), fleets())
def test_without_things_only_what_no_pass_cuts_is_left(one, fleet) -> None:
    """As the passes say themselves."""
    road = leg()
    passes = passes_of([one], road, fleet)
    grounds = grounds_of([one], passes, (), listed(), road)
    uncut = uncut_of([one], road, fleet)

    expected_m2 = sum(float(np.trapezoid(each.right_m - each.left_m, each.along_m))
                      for each in uncut)  # fmt: skip
    got = handwork_of((), passes, grounds, listed(), road)
    assert sum(each.area_m2 for each in got) == pytest.approx(expected_m2, abs=0.05)


@given(st.floats(-0.01, 0.01))
def test_in_a_bend_the_area_is_the_true_one(bend_per_m) -> None:
    """A ring sector of 8 ft along the line: offset 1 m in the middle, 2 m wide."""
    road = leg(line=curved(1000.0, bend_per_m=bend_per_m))
    (got,) = left(thing(500.0, 1.0), passes=(INNER,), strips=(
        strip([0.0, 1000.0], [0.0, 0.0], [2.0, 2.0]),), road=road)  # fmt: skip

    assert got.area_m2 == pytest.approx(ft(8) * 2.0 * (1.0 - bend_per_m * 1.0), rel=1e-3)
