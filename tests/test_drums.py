"""Drums side by side: how many, where each runs, and that nothing is left or cut twice."""

import math
from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_work import area_m2, fleets, ft, machine, strip, strips

from routeprep.drums import bed_of, lay
from routeprep.units import FACTORS_M


def laid(wide_m, *machines, **changes):
    """Drums over a strip of one width, 1000 m long."""
    one = strip([0.0, 1000.0], [0.0, 0.0], [wide_m, wide_m], **changes)
    return lay(bed_of(one), machines or (machine(),))


def edges_m(run):
    """Inner and outer edge of a drum where it is put down [m]."""
    return float(run.inner_m[0]), float(run.outer_m[0])


# trade.md 5.5, worked by hand: 1 + ceil((12 - 7.25) / 7) = 2, (14.25 - 7.25) / 7 = 1 exactly.
@pytest.mark.parametrize(("wide_ft", "expected"), [(7.25, 1), (12, 2), (14.25, 2), (14.5, 3)])
def test_the_published_widths_need_so_many_drums(wide_ft: float, expected: int) -> None:
    """A drum of 7.25 ft with 0.25 ft of overlap."""
    assert len(laid(ft(wide_ft)).runs) == expected


@given(
    st.sampled_from(
        [("ft", Fraction(1, 100)), ("ftUS", Fraction(1, 100)), ("m", Fraction(1, 1000))]
    ),
    st.integers(50, 1400),
    st.floats(0.0, 0.9),
    st.integers(0, 30),
)
def test_an_exact_multiple_does_not_grow_a_drum(
    unit: tuple[str, Fraction], drum_count: int, share: float, more: int
) -> None:
    """Widths in hundredths of a foot and in millimetres; the width is reckoned as fractions."""
    step_m = FACTORS_M[unit[0]] * unit[1]
    drum, overlap = drum_count * step_m, math.floor(drum_count * share) * step_m
    wide = drum + more * (drum - overlap)
    one = machine(float(drum), float(overlap))

    assert len(laid(float(wide), one).runs) == 1 + more
    # Two millimetres over is no rounding.
    assert len(laid(float(wide + Fraction(2, 1000)), one).runs) == 2 + more


def closed(edges, wide_m):
    """Whether drums (low, high, overlap) in order leave no gap, and keep their overlap [m]."""
    if not edges or edges[0][0] > 0.0011 or edges[-1][1] < wide_m - 0.0011:
        return False
    # An overlap wider than the drum before ends at the strip's edge.
    pairs = pairwise(edges)
    return all(low <= max(0.0, high - over) + 0.0011 for (_, high, _), (low, _, over) in pairs)


@given(st.floats(0.3, 20.0), fleets())
def test_as_many_drums_as_needed_and_no_more(wide_m: float, machines: tuple) -> None:
    """The drums close the width; without any one of those between they do not."""
    runs = laid(wide_m, *machines).runs
    edges = [(*edges_m(run), run.machine.overlap_m) for run in runs]
    less_m = [one.machine.drum_m - one.machine.overlap_m for one in runs[1:]]

    assert closed(edges, wide_m)
    for at in range(1, len(edges) - 1):
        assert not closed(edges[:at] + edges[at + 1 :], wide_m - 0.003)
    assert runs[0].machine.drum_m + sum(less_m[:-1]) < wide_m + max(less_m, default=math.inf)


@given(st.floats(0.3, 20.0), fleets())
def test_one_machine_takes_the_count_of_the_formula(wide_m: float, machines: tuple) -> None:
    """1 + ceil((W - D) / (D - O)), reckoned as fractions of the floats, 1 mm allowed."""
    one = machines[0]
    drum, overlap = Fraction(one.drum_m), Fraction(one.overlap_m)
    more = max(0, math.ceil((Fraction(wide_m) - Fraction(1, 1000) - drum) / (drum - overlap)))

    assert len(laid(wide_m, one).runs) == 1 + more


def test_the_rest_of_the_width_becomes_overlap_at_the_outer_edge() -> None:
    """20 ft with 7.25 and 0.25: 0-7.25, 7-14.25, 12.75-20, by hand."""
    got = [edges_m(run) for run in laid(ft(20)).runs]

    assert got == [
        pytest.approx((ft(one), ft(two))) for one, two in ((0, 7.25), (7, 14.25), (12.75, 20))
    ]


def test_machines_of_different_drums_share_the_strip() -> None:
    """12 ft: 7.25 from the line, 6.5 with 0.5 ft of overlap from 5.5 (of 6.75 at most)."""
    two = machine(ft(6.5), ft(0.5), name="two")
    runs = laid(ft(12), machine(), two).runs

    assert [run.machine.name for run in runs] == ["one", "two"]
    assert [edges_m(run) for run in runs] == [
        pytest.approx((0.0, ft(7.25))),
        pytest.approx((ft(5.5), ft(12))),
    ]


def test_a_drum_wider_than_the_strip_is_not_used_where_another_fits() -> None:
    """A 12-ft drum on 10 ft: the 4-ft one makes all of it."""
    big, small = machine(ft(12), name="big"), machine(ft(4), name="small")

    assert {run.machine.name for run in laid(ft(10), big, small).runs} == {"small"}


@pytest.mark.parametrize(
    ("sides", "expected"),
    [
        # (curb left, curb right, beyond left, beyond right): where 7.25 ft go over 5 ft.
        ((False, False, "line", "shoulder"), (0, 7.25)),
        ((False, True, "line", ""), (-2.25, 5)),
        ((False, False, "line", ""), (-2.25, 5)),
        ((True, False, "", "shoulder"), (0, 7.25)),
        ((True, False, "", ""), (0, 7.25)),
        ((False, False, "", ""), (0, 7.25)),
    ],
)
def test_a_drum_that_is_too_wide_hangs_over_the_softer_edge(
    sides: tuple[bool, bool, str, str], expected: tuple[float, float]
) -> None:
    """Never over a curb; over what is not known only where nothing else is."""
    names = ("curb_left", "curb_right", "beyond_left", "beyond_right")
    (run,) = laid(ft(5), **dict(zip(names, sides, strict=True))).runs

    assert edges_m(run) == pytest.approx((ft(expected[0]), ft(expected[1])))


def test_between_curbs_only_drums_that_fit_everywhere_are_used() -> None:
    """8 ft at the narrowest: not the one of 9 ft, though there are places of 20 ft."""
    one = strip([0.0, 99.0], [0.0] * 2, [ft(8), ft(20)], curb_left=True, curb_right=True)
    fleet = (machine(ft(9), name="wide"), machine(), machine(ft(4), name="small"))

    assert {run.machine.name for run in lay(bed_of(one), fleet).runs} == {"one", "small"}


def test_between_curbs_nothing_runs_that_does_not_fit() -> None:
    """The strip opens from 0 to 12 ft over 120 m: a drum of 7.25 ft fits from 72.5 m on."""
    one = strip([0.0, 120.0], [0.0, 0.0], [0.0, ft(12)], curb_left=True, curb_right=True)
    got = lay(bed_of(one), (machine(),))

    assert got.left == (pytest.approx((0.0, 72.5), abs=0.04),)
    assert min(run.bed.along_m[0] for run in got.runs) == pytest.approx(72.5, abs=0.04)


def test_a_drum_between_begins_where_the_width_needs_it() -> None:
    """12 ft widen to 20 ft from 500 to 700 ft: more than 14.25 ft from 556.25 ft on, by hand."""
    along = [ft(one) for one in (0, 500, 700, 3000)]
    one = strip(along, [0.0] * 4, [ft(one) for one in (12, 12, 20, 20)], curb_right=True)
    runs = lay(bed_of(one), (machine(),)).runs
    middle = runs[1]

    assert [run.number for run in runs] == [0, 1, 2]
    assert middle.bed.along_m[0] == pytest.approx(ft(556.25), abs=0.03)
    assert middle.bed.along_m[-1] == ft(3000)
    assert (middle.inner_m[-1], middle.outer_m[-1]) == pytest.approx((ft(7), ft(14.25)))


def test_a_narrow_widening_gets_a_run_of_ten_metres() -> None:
    """3 m long at 13.5 ft in a strip of 7 ft; a second one 5 m on is run through."""
    along_m = [0.0, 100.0, 100.001, 103.0, 103.001, 108.0, 108.001, 111.0, 111.001, 200.0]
    wide = [7, 7, 13.5, 13.5, 7, 7, 13.5, 13.5, 7, 7]
    one = strip(along_m, [0.0] * 10, [ft(one) for one in wide])
    base, outer = lay(bed_of(one), (machine(ft(7)),)).runs

    assert (base.bed.along_m[0], base.bed.along_m[-1]) == (0.0, 200.0)
    assert outer.bed.along_m[[0, -1]] == pytest.approx([100.0, 111.0], abs=0.01)


@pytest.mark.parametrize(("begin_m", "end_m"), [(50.0, 52.0), (0.0, 2.0), (98.0, 100.0)])
def test_a_short_run_is_made_longer_within_the_strip(begin_m: float, end_m: float) -> None:
    """Ten metres, at the ends of the strip too."""
    along_m = np.unique(
        [0.0, max(begin_m - 0.001, 0.0), begin_m, end_m, min(end_m + 0.001, 100.0), 100.0]
    )
    wide_m = np.where((along_m >= begin_m) & (along_m <= end_m), ft(14), ft(12))
    runs = lay(bed_of(strip(along_m, 0 * along_m, wide_m)), (machine(ft(12), ft(1)),)).runs
    got = runs[1].bed.along_m

    assert got[-1] - got[0] == pytest.approx(10.0, abs=0.01)
    assert 0.0 <= got[0] < got[-1] <= 100.0


def covering(got, place_m):
    """For each drum that runs at a place: its number, edges from the strip's inner edge [m]."""
    found = []
    for run in got.runs:
        at = run.bed.along_m
        if at[0] <= place_m <= at[-1]:
            inner_m = float(np.interp(place_m, at, run.bed.inner_m))
            low_m = float(np.interp(place_m, at, run.inner_m)) - inner_m
            found.append((run.number, low_m, low_m + run.machine.drum_m, run.machine))
    return sorted(found, key=lambda one: one[0])


@given(strips(), fleets(), st.floats(0.0, 1.0))
def test_at_every_place_drums_cover_the_strip_with_their_overlap(
    one: object, machines: tuple, share: float
) -> None:
    """Looked at one by one at a place, apart from how they were laid; all but between curbs."""
    bed = bed_of(one)
    got = lay(bed, machines)
    place_m = float(bed.along_m[0] + share * (bed.along_m[-1] - bed.along_m[0]))
    wide_m = float(np.interp(place_m, bed.along_m, bed.outer_m - bed.inner_m))
    found = covering(got, place_m)
    if bed.between:
        # No gap but where the rest is said to be left.
        assert all(low >= -0.002 and high <= wide_m + 0.002 for _, low, high, _ in found)
        return

    # From each drum on to the farthest that runs over it by its overlap, or begins at the edge.
    high_m = 0.0
    while high_m < wide_m - 0.0011:
        beside = [
            high for _, low, high, one in found if low <= max(0.0, high_m - one.overlap_m) + 0.0011
        ]
        assert max(beside) > high_m
        high_m = max(beside)


@given(strips(), fleets())
def test_nothing_is_left_beside_soft_edges(one: object, machines: tuple) -> None:
    """Only between curbs may a drum find no room."""
    bed = bed_of(one)
    got = lay(bed, machines)
    left_m2 = area_m2(got.bed.along_m, got.covered_m, got.bed.outer_m - got.bed.inner_m)

    assert bed.between or left_m2 == pytest.approx(0.0, abs=1e-6)


@given(strips(), fleets())
def test_no_drum_runs_over_a_curb(one: object, machines: tuple) -> None:
    """Whatever the widths: to 1 mm."""
    bed = bed_of(one)
    for run in lay(bed, machines).runs:
        assert not bed.curb_inner or (run.inner_m >= run.bed.inner_m - 0.0011).all()
        assert not bed.curb_outer or (run.outer_m <= run.bed.outer_m + 0.0011).all()


def test_a_strip_of_no_width_is_run_along_its_outer_edge_or_not_at_all() -> None:
    """A part that has not begun yet, all along."""
    line = strip([0.0, 50.0], [3.0, 3.0], [3.0, 3.0])
    curbs = strip([0.0, 50.0], [3.0, 3.0], [3.0, 3.0], curb_left=True, curb_right=True)

    assert [edges_m(run) for run in lay(bed_of(line), (machine(),)).runs] == [
        pytest.approx((3.0, 3.0 + ft(7.25)))
    ]
    assert lay(bed_of(curbs), (machine(),)).runs == ()


def test_depths_that_nobody_gave_stay_beside_those_that_are_known() -> None:
    """At a place with a depth it is known, though the place before has none."""
    deep_m = np.array([math.nan, math.nan, 0.05, 0.05])
    one = strip(
        [0.0, 10.0, 10.001, 90.0], [0.0] * 4, [2.0] * 4, depth_left_m=deep_m, depth_right_m=deep_m
    )
    (run,) = lay(bed_of(one), (machine(),)).runs

    assert run.bed.depth_inner_m[-2:].tolist() == [0.05, 0.05]
