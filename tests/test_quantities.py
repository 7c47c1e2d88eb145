"""Areas, tons and loads: published values, and laws.

Expected values are rules and examples that agencies and trade handbooks publish: 110 lb a square
yard and inch (a mile, 24 ft, 2 in: 1,548 tons), 145 lb a cubic foot, 89 lb a cubic foot loose; the
arithmetic is beside each.
"""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_meetings import INCH_M, ft, listed, meet, run, some_things, thing
from made_work import curved, fleets, leg, machine, part, section, strip, strips

from routeprep.handwork import grounds_of
from routeprep.passes import passes_of
from routeprep.quantities import quantities_of
from routeprep.roadway import Haul
from routeprep.strips import strips_of
from routeprep.units import FACTORS_M, LB_KG, to_m

MILE_M = to_m(1, "mi")
TON_KG = float(2000 * LB_KG)
CUBIC_FT_M3 = float(FACTORS_M["ft"] ** 3)
MACHINES = (machine(),)
NO_DRUM = (machine(drum_diameter_m=math.nan),)
# 110 lb a square yard and inch: 146.67 lb a cubic foot.
RULE = 110.0 * 12.0 / 9.0


def haul(pcf=RULE, **more):
    """A density in lb a cubic foot."""
    return Haul(density_kgpm3=pcf * float(LB_KG) / CUBIC_FT_M3, **more)


def road(width_ft, length_m, depth_in):
    """A leg of one strip."""
    lane = part("lane", ft(width_ft))
    return leg(section(right=(lane,)), length_m=length_m, depth_m=depth_in * INCH_M)


def quantities(one, said, *, machines=MACHINES, **stretch):
    """Rows by what they are."""
    laid = strips_of(one)
    grounds = grounds_of(laid, passes_of(laid, one, machines), (), listed(), one)
    return {row.what: row for row in quantities_of(grounds, one, said, **stretch)}


@pytest.mark.parametrize(
    ("width_ft", "length_m", "depth_in", "pcf", "tons"),
    [
        (24, MILE_M, 2.0, RULE, 1548.8),  # published; 14,080 yd2 x 2 in x 110 lb
        (12, MILE_M, 2.0, RULE, 774.4),
        (12, 3 * MILE_M, 2.0, RULE, 2323.2),
        (12, ft(1000), 1.5, RULE, 110.0),
        (12, ft(1000), 2.0, 145.0, 145.0),  # 2,000 ft3
    ],
)
def test_tons_are_those_published(width_ft, length_m, depth_in, pcf, tons) -> None:
    """To 0.05 tons, and the passes add up to them."""
    got = quantities(road(width_ft, length_m, depth_in), haul(pcf))
    of_passes_kg = sum(row.mass_kg for what, row in got.items() if what.startswith("A R"))

    assert got["leg"].mass_kg / TON_KG == pytest.approx(tons, abs=0.05)
    assert of_passes_kg == pytest.approx(got["leg"].mass_kg, rel=1e-9)


def test_the_usual_density_is_the_published_rule() -> None:
    """1,548.8 tons without any density given."""
    got = quantities(road(24, MILE_M, 2.0), Haul())

    assert got["leg"].mass_kg / TON_KG == pytest.approx(1548.8, abs=0.05)


def test_loads_are_by_weight_and_by_volume() -> None:
    """3 miles are 2,323.2 tons, 106 loads of 22; loose, at 2,410 lb/yd3, 1,928 yd3."""
    loose = 2410.0 * float(LB_KG) / float(FACTORS_M["yd"] ** 3)
    yard_m3 = float(FACTORS_M["yd"] ** 3)
    said = haul(loose_kgpm3=loose, payload_kg=22 * TON_KG, body_m3=14 * yard_m3)
    got = quantities(road(12, 3 * MILE_M, 2.0), said)["leg"]

    assert math.ceil(got.loads_by_weight) == 106
    assert got.loose_m3 / yard_m3 == pytest.approx(2323.2 * 2000 / 2410, rel=1e-4)
    assert got.loads_by_volume == pytest.approx(2323.2 * 2000 / 2410 / 14, rel=1e-4)


def test_loose_millings_swell_as_published() -> None:
    """145 lb a cubic foot in the road, 2,410 lb a cubic yard in the truck: 1.62."""
    said = haul(145.0, loose_kgpm3=2410.0 * float(LB_KG) / float(FACTORS_M["yd"] ** 3))
    got = quantities(road(12, ft(1000), 2.0), said)["leg"]

    assert got.loose_m3 / got.volume_m3 == pytest.approx(1.62, abs=0.005)


def test_without_a_truck_no_loads_are_reckoned() -> None:
    """Nothing is guessed; without a depth no mass either, and the area stays."""
    got = quantities(road(12, ft(1000), math.nan), Haul())["leg"]

    assert math.isnan(got.loads_by_weight + got.loads_by_volume)
    assert math.isnan(got.mass_kg)
    assert got.area_m2 == pytest.approx(ft(12) * ft(1000))


def test_metric_asphalt_of_a_known_density() -> None:
    """1,000 m by 3.5 m by 40 mm at 2,400 kg/m3: 140 m3, 336 t."""
    one = leg(section(right=(part("lane", 3.5),)), length_m=1000.0, depth_m=0.04)
    got = quantities(one, Haul(density_kgpm3=2400.0))["leg"]

    assert (got.area_m2, got.volume_m3) == pytest.approx((3500.0, 140.0))
    assert got.mass_kg == pytest.approx(336_000.0)


def test_a_depth_that_changes_across_is_the_mean_of_its_edges() -> None:
    """0 at the line to 3 in at the edge: by hand 12 ft x 1,000 ft x 1.5 in, 110.0 tons."""
    lane = part("lane", ft(12), depth_in_m=0.0, depth_out_m=3 * INCH_M)
    got = quantities(leg(section(right=(lane,)), length_m=ft(1000)), haul())["leg"]

    assert got.mass_kg / TON_KG == pytest.approx(110.0, abs=0.05)


def worked(*rows, machines=MACHINES):
    """Rows of quantities of a lane 3.6 m wide with things in it."""
    one, lane = leg(), strip([0.0, 1000.0], [0.0, 0.0], [3.6, 3.6])
    passes = (run(0.0, 2.0), run(1.6, 3.6, code="A R2", order=2))
    met = meet(passes, *rows, machines=machines, road=one)
    grounds = grounds_of((lane,), passes, met, listed(*rows), one)
    return {row.what: row for row in quantities_of(grounds, one, Haul())}


def test_hand_work_is_in_the_strip_and_not_in_the_pass() -> None:
    """By hand: 8 ft of 1.6 m."""
    got = worked(thing(100.0, 1.0), machines=NO_DRUM)

    assert got["hand work"].area_m2 == pytest.approx(ft(8) * 1.6)
    assert got["A R1"].area_m2 == pytest.approx(2000.0 - ft(8) * 2.0)
    assert got["right lane"].area_m2 == got["leg"].area_m2 == pytest.approx(3600.0)
    assert "skipped" not in got


def test_what_is_skipped_is_in_none_but_its_own_row() -> None:
    """By hand: 100 ft of 3.6 m."""
    row = thing(ft(200), 1.0, kind="DECK", action="SKIP 12+00 to 13+00")
    got = worked(row)

    assert got["skipped"].area_m2 == pytest.approx(ft(100) * 3.6)
    assert got["leg"].area_m2 == pytest.approx(3600.0 - ft(100) * 3.6)


def test_any_stretch_has_its_quantities() -> None:
    """100 to 400 m; none beyond the cut, nor the wrong way round."""
    one = road(12, 1000.0, 2.0)
    got = quantities(one, Haul(), from_m=100.0, to_m=400.0)

    assert (got["leg"].from_m, got["leg"].to_m) == (100.0, 400.0)
    assert got["leg"].area_m2 == pytest.approx(300.0 * ft(12))
    assert quantities(one, Haul(), from_m=2000.0, to_m=3000.0) == {}
    assert quantities(one, Haul(), from_m=400.0, to_m=100.0) == {}


def test_a_strip_that_lies_elsewhere_has_no_row_in_a_stretch() -> None:
    """And the rows are strips, passes in order of work, then the leg."""
    one = leg(section(begin="10+00", end="20+00", right=(part("lane", 3.6),)),
              section(begin="20+00", left=(part("lane", 3.6),)))  # fmt: skip

    assert list(quantities(one, Haul())) == [
        "right lane", "left lane", "A R1", "A R2", "A L1", "A L2", "leg"]  # fmt: skip
    assert list(quantities(one, Haul(), from_m=ft(1100))) == ["left lane", "A L1", "A L2", "leg"]


@given(strips(least_m=0.5, long_m=400.0), fleets(), some_things(),
       st.lists(st.floats(0.0, 1000.0), max_size=4), st.floats(-0.01, 0.01))  # fmt: skip
def test_quantities_add_up_over_any_split(one, fleet, rows, splits, bend_per_m) -> None:
    """Along; and strips and passes and hand work to the leg."""
    where = leg(line=curved(1000.0, bend_per_m=bend_per_m, every_m=10.0))
    passes = passes_of([one], where, fleet)
    met = meet(passes, *rows, machines=fleet, road=where)
    grounds = grounds_of([one], passes, met, listed(*rows), where)
    ends_m = sorted({0.0, *splits, where.line.length_m})
    whole = {row.what: row for row in quantities_of(grounds, where, Haul())}
    parts = [row for low_m, high_m in itertools.pairwise(ends_m)
             for row in quantities_of(grounds, where, Haul(),
                                      from_m=low_m, to_m=high_m)]  # fmt: skip

    for what, row in whole.items():
        for name in ("area_m2", "volume_m3", "mass_kg", "loose_m3"):
            summed = sum(getattr(some, name) for some in parts if some.what == what)
            assert summed == pytest.approx(getattr(row, name), rel=1e-9, abs=1e-6)
    of_passes = [row.area_m2 for what, row in whole.items() if what.startswith("A ")]
    by_hand = [whole["hand work"].area_m2] if "hand work" in whole else []
    assert sum(of_passes + by_hand) == pytest.approx(whole["leg"].area_m2, rel=1e-9, abs=1e-6)
    assert np.isfinite(whole["leg"].area_m2)
