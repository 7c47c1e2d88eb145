"""The labels of a strip: what they say, and that none lies over another."""

from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from maps.example_pack import pack_of, thing
from sheets.made_strips import busy, road, rows

from routeprep.sheets.strip import stretches
from routeprep.sheets.strip_drawing import drawn, road_of
from routeprep.sheets.strip_labels import Stretch, fits, side_parts, sides_of

ROAD = road()


def labels(*things):
    """The labels of things on the first 300 m of a road, by number."""
    made = pack_of((ROAD,), list(things))
    stretch = Stretch(from_m=0.0, to_m=300.0, rows=tuple(rows(made)))
    on = road_of(stretch, ROAD)
    found = []
    for side in sides_of(stretch.rows, on):
        found += side_parts(side, [(0.0, 0.0)] * len(side.labels), 100.0 * side.way)[1]
    return {one["no"]: one for one in found}


def test_a_label_says_number_code_and_what_to_do():
    """STOP is boxed, what nobody decided has a broken box, what is decided otherwise none."""
    decided = {"decided_by": "A. Sample"}
    made = labels(
        thing(ROAD, "A-1", "SMH", 50.0, **decided, action="STOP"),
        thing(ROAD, "A-2", "WV", 100.0, doubt="near tie"),
        thing(ROAD, "A-3", "GV", 150.0, **decided, action="SHALLOW UP TO 1.5 in"),
        thing(ROAD, "A-4", "TIE", 200.0, **decided, status="gone (A. Sample)"),
    )

    assert [(one["code"], one["doubt"], one["do"], one["box"], one["struck"])
            for one in made.values()] == [
        ("SMH", "", ["STOP"], "solid", False),
        ("WV", "?", ["NOT DECIDED"], "dashed", False),
        ("GV", "", ["SHALLOW UP", "TO 1.5 in"], "none", False),
        ("TIE", "", ["GONE"], "none", True),
    ]  # fmt: skip


def test_left_stands_above_and_right_below():
    """What is on no side stands where there are fewer."""
    made = labels(
        thing(ROAD, "A-1", "SMH", 50.0, lane="L1"),
        thing(ROAD, "A-2", "SMH", 100.0, lane="R1"),
        thing(ROAD, "A-3", "SMH", 150.0, lane="R1"),
        thing(ROAD, "A-4", "SMH", 200.0, lane="", across="whole road", offset_sd_m=9.0),
    )

    assert [one["at"][1] < 0 for one in made.values()] == [True, True, False, False]
    assert list(made) == ["A-1", "A-4", "A-2", "A-3"]


def over(one, other):
    """Whether two labels lie over each other."""
    (x, y, wide, high), (a, b, wide_too, high_too) = one["at"], other["at"]
    return x < a + wide_too and a < x + wide and y < b + high_too and b < y + high


def crosses(leader, label):
    """Whether a straight line goes through a label, but for its edge (by sampling it)."""
    x, y, a, b = leader["at"]
    left, top, wide, high = label["at"]
    return any(
        left + 0.1 < x + (a - x) * k / 50 < left + wide - 0.1
        and top + 0.1 < y + (b - y) * k / 50 < top + high - 0.1
        for k in range(51)
    )


@settings(max_examples=8)  # each lays out a whole pack
@given(st.integers(1, 120), st.integers(0, 1000))
def test_no_label_lies_over_another_or_over_a_leader_in_any_strip(count, seed):
    """Law: however many things stand however close."""
    pack = busy(count, seed)
    for stretch in stretches(pack.legs[0], rows(pack), units="us"):
        on = road_of(stretch, pack.legs[0])
        for side in sides_of(stretch.rows, on):
            starts = [(on.x_pt(one.row["along_m"]), 0.0) for one in side.labels]
            leaders, written = side_parts(side, starts, 20.0 * side.way)
            assert not any(over(a, b) for a, b in combinations(written, 2))
            assert not any(crosses(line, one) for line in leaders for one in written)


def test_what_stands_too_close_does_not_fit():
    """Sixty things within a metre have no room beside each other."""
    made = pack_of((ROAD,), [thing(ROAD, f"A-{k}", "SMH", 100 + k / 60) for k in range(60)])
    stretch = Stretch(from_m=0.0, to_m=300.0, rows=tuple(rows(made)))

    assert not fits(stretch.rows, road_of(stretch, ROAD))
    assert fits(stretch.rows[:5], road_of(stretch, ROAD))
    assert fits((), road_of(stretch, ROAD))


@pytest.mark.parametrize("part", ["parts", "words"])
def test_the_same_strip_is_drawn_the_same(part):
    """Nothing random."""
    pack = busy(40)
    (first, *_) = stretches(pack.legs[0], rows(pack), units="us")

    assert drawn(first, pack.legs[0], pack)[part] == drawn(first, pack.legs[0], pack)[part]
