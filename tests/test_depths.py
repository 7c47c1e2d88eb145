"""How deep the cut is at each thing: what lies over a casting decides whether it is milled over."""

import math

import pytest
from made_work import leg, part, section

from routeprep.depths import deepest_m

# A cut of 2 in and one of 4 in.
SHALLOW_M, DEEP_M = 0.0508, 0.1016


def lane(in_m=math.nan, out_m=math.nan, **more):
    """A lane cut to a depth at each edge."""
    return part("lane", 3.6, depth_in_m=in_m, depth_out_m=out_m, **more)


def thing(along_m, *, from_m=None, to_m=None, sd_m=0.0, code="A"):
    """Where a thing lies, as far as its depth asks."""
    return {
        "leg": code,
        "along_m": along_m,
        "from_m": along_m if from_m is None else from_m,
        "to_m": along_m if to_m is None else to_m,
        "along_sd_m": sd_m,
    }


def depth_m(row, *sections, depth=SHALLOW_M):
    """The deepest cut at a thing of a leg of 1000 m."""
    (found,) = deepest_m([row], [leg(*sections, depth_m=depth)])
    return found


def changed():
    """2 in up to 328 ft (10+00 to 13+28), 4 in beyond."""
    return (
        section(right=(lane(SHALLOW_M, SHALLOW_M),), end="13+28"),
        section(right=(lane(SHALLOW_M, DEEP_M),), begin="13+28"),
    )


def test_without_sections_it_is_the_legs():
    """Known or not."""
    assert depth_m(thing(50.0)) == SHALLOW_M
    assert math.isnan(depth_m(thing(50.0), depth=math.nan))


def test_a_section_says_it_where_it_lies():
    """Its deepest edge counts: nobody knows at which the thing lies."""
    assert depth_m(thing(50.0), *changed()) == pytest.approx(SHALLOW_M)
    assert depth_m(thing(150.0), *changed()) == pytest.approx(DEEP_M)


def test_where_the_thing_may_lie_in_either_the_deeper_counts():
    """328 ft are 99.97 m; 95 % of 5 m is 9.8 m. A long thing reaches as well."""
    assert depth_m(thing(95.0, sd_m=1.0), *changed()) == pytest.approx(SHALLOW_M)
    assert depth_m(thing(95.0, sd_m=5.0), *changed()) == pytest.approx(DEEP_M)
    assert depth_m(thing(50.0, to_m=120.0), *changed()) == pytest.approx(DEEP_M)
    assert depth_m(thing(150.0, from_m=90.0), *changed()) == pytest.approx(DEEP_M)


def test_a_part_without_a_depth_is_cut_as_deep_as_the_leg():
    """And where the leg has none, nobody knows."""
    parts = section(right=(lane(0.02, math.nan),))

    assert depth_m(thing(50.0), parts) == SHALLOW_M
    assert math.isnan(depth_m(thing(50.0), parts, depth=math.nan))


def test_where_nothing_is_cut_the_legs_depth_stands():
    """For what might be cut there after all; a part that is not cut says nothing else."""
    uncut = section(right=(lane(DEEP_M, DEEP_M, cut=False),))

    assert depth_m(thing(50.0), uncut) == SHALLOW_M


def test_each_thing_is_asked_of_its_own_leg():
    """In the order given."""
    legs = [leg(depth_m=SHALLOW_M), leg(depth_m=DEEP_M, code="B")]
    rows = [thing(5.0, code="B"), thing(5.0)]

    assert deepest_m(rows, legs) == [DEEP_M, SHALLOW_M]
