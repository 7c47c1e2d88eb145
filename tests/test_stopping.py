"""Stopping sight distance, and grades."""

import numpy as np
import pytest
from builders import straight
from hypothesis import given
from hypothesis import strategies as st

from routeprep import tables
from routeprep.centerline import from_pieces
from routeprep.errors import JobError
from routeprep.lines import Alignment, Centerline
from routeprep.stopping import grades_of, needed_m, ssd_m
from routeprep.units import MPH_MPS, to_m

FT_M = to_m(1.0, "ft")
MPH = float(MPH_MPS)
NO_FIXES = tables.table(tables.FIXES, [])

# MUTCD 11th edition (2023), Table 6B-2, which prints AASHTO's design values; 15, 80 and 85 mph
# from the same formula in AASHTO, A Policy on Geometric Design, 2018, table 3-1.
LEVEL_FT = {
    15: 80, 20: 115, 25: 155, 30: 200, 35: 250, 40: 305, 45: 360, 50: 425, 55: 495, 60: 570,
    65: 645, 70: 730, 75: 820, 80: 910, 85: 1010,
}  # fmt: skip
# CA MUTCD, Table 6B-2(CA), after AASHTO 2001, Exhibit 3-2: 20 to 75 mph by fives.
DOWN_FT = {
    -0.03: (116, 158, 205, 257, 315, 378, 446, 520, 598, 682, 771, 866),
    -0.06: (120, 165, 215, 271, 333, 400, 474, 553, 638, 728, 825, 927),
    -0.09: (126, 173, 227, 287, 354, 427, 507, 593, 686, 785, 891, 1003),
}
# The same exhibit for upgrades of 3, 6 and 9 %, from memory.
UP_FT = {25: (147, 143, 140), 45: (344, 331, 320), 55: (469, 450, 433), 65: (612, 584, 561)}
# AASHTO 2018, table 3-1, metric: km/h to m, from memory.
METRIC_M = {
    30: 35, 40: 50, 50: 65, 60: 85, 70: 105, 80: 130, 90: 160, 100: 185, 110: 220, 120: 250,
    130: 285,
}  # fmt: skip


@pytest.mark.parametrize(("mph", "feet"), LEVEL_FT.items())
def test_every_row_of_the_table_is_the_formula_rounded_up_to_5_ft(mph, feet):
    """Table 6B-2."""
    assert needed_m(mph * MPH) / FT_M == pytest.approx(feet, abs=1e-6)


@pytest.mark.parametrize(("kmh", "metres"), METRIC_M.items())
def test_metric_rows_are_the_metric_formula_rounded_up_to_5_m(kmh, metres):
    """The two families differ: 90 km/h gives 160 m, in feet it would be 155 m."""
    assert needed_m(kmh / 3.6, family="m") == pytest.approx(metres)


@pytest.mark.parametrize(
    ("mph", "grade", "feet"),
    [
        *((20 + 5 * k, grade, ft) for grade, row in DOWN_FT.items() for k, ft in enumerate(row)),
        *((mph, 0.03 * (k + 1), ft) for mph, row in UP_FT.items() for k, ft in enumerate(row)),
    ],
)
def test_grades_are_within_1_ft_of_print(mph, grade, feet):
    """The printed table is neither rounded up nor to the nearest."""
    assert ssd_m(mph * MPH, grade_share=grade) / FT_M == pytest.approx(feet, abs=1.0)


def test_down_6_percent_at_45_mph_takes_400_ft():
    """Not 360."""
    assert needed_m(45 * MPH, grade_share=-0.06) / FT_M == pytest.approx(400.0, abs=1e-6)


def test_metric_grades_agree_with_the_us_formula():
    """Both families describe one car: within 1 %."""
    assert ssd_m(20.0, grade_share=-0.05, family="m") == pytest.approx(
        ssd_m(20.0, grade_share=-0.05), rel=0.01
    )


@given(st.floats(5.0, 40.0), st.floats(-0.2, 0.2), st.floats(0.001, 0.1))
def test_steeper_down_takes_longer(speed_mps, grade, steeper):
    """Whatever the speed."""
    assert ssd_m(speed_mps, grade_share=grade - steeper) > ssd_m(speed_mps, grade_share=grade)


@pytest.mark.parametrize("family", ["ft", "m"])
def test_a_grade_that_brakes_do_not_hold_is_refused(family):
    """The sentence has the grade."""
    with pytest.raises(JobError, match=r"a grade of -36.0% is steeper than brakes hold, -3"):
        ssd_m(20.0, grade_share=-0.36, family=family)


def line():
    """A straight kilometre from a file."""
    return from_pieces([straight()], leg="A", elevation_m=0.0)[0]


def profiled(points):
    """A designed line with a profile."""
    whole = line()
    alignment = Alignment(
        name="M", what=("line",), x_m=np.zeros(1), y_m=np.zeros(1), heading_deg=np.zeros(1),
        curvature_start_per_m=np.zeros(1), curvature_end_per_m=np.zeros(1),
        length_m=np.array([1000.0]), unit="m", crs="", start_value=0.0, equations=(),
        profile=tuple(points),
    )  # fmt: skip
    return Centerline(
        lon_deg=whole.lon_deg, lat_deg=whole.lat_deg, along_m=whole.along_m, sd_m=whole.sd_m,
        elevation_m=0.0, made_from="designed alignment", alignment=alignment,
    )  # fmt: skip


def test_typed_elevations_give_grades_with_their_plus_minus():
    """2 m up in 100 m and 1 m down in 50, in any order; 0.1 ft each makes sqrt(2) 0.1 ft in all."""
    grades, said = grades_of(line(), [(150.0, 11.0), (0.0, 10.0), (100.0, 12.0)], NO_FIXES, leg="A")

    assert [(one.from_m, one.to_m) for one in grades] == [(0.0, 100.0), (100.0, 150.0)]
    assert [one.grade_share for one in grades] == pytest.approx([0.02, -0.02])
    assert grades[0].grade_sd_share == pytest.approx(2**0.5 * 0.1 * FT_M / 100)
    assert said == ()


def test_a_designed_profile_is_exact_and_typed_elevations_outrank_it():
    """No ± where the design says it."""
    designed = profiled([(0.0, 10.0), (500.0, 15.0), (1000.0, 10.0)])
    grades, _ = grades_of(designed, [], NO_FIXES, leg="A")
    typed, _ = grades_of(designed, [(0.0, 0.0), (100.0, 3.0)], NO_FIXES, leg="A")

    assert [(one.grade_share, one.grade_sd_share) for one in grades] == [(0.01, 0.0), (-0.01, 0.0)]
    assert [one.grade_share for one in typed] == pytest.approx([0.03])


def test_grades_of_a_sampled_vertical_curve():
    """Worked parabola: PVC 42+00 at 244.000, +2.0 % to -1.5 % in 600 ft, crest at 45+42.86.

    Elevations from y = y0 + g1 x + (g2 - g1) x^2 / 2L (any surveying text); between samples the
    grade is the tangent in their middle.
    """
    x = np.arange(0.0, 601.0, 50.0)
    y = 244.0 + 0.02 * x - 0.035 * x**2 / 1200
    points = zip((x * FT_M).tolist(), (y * FT_M).tolist(), strict=True)
    grades, _ = grades_of(profiled(points), [], NO_FIXES, leg="A")
    middle = x[:-1] + 25.0

    assert y[[2, 6, 10, 12]] == pytest.approx([245.708, 247.375, 246.708, 245.5], abs=5e-4)
    assert [one.grade_share for one in grades] == pytest.approx(0.02 - 0.035 * middle / 600)
    crest = next(one for one in grades if one.grade_share < 0)
    assert crest.from_m <= 350.0 * FT_M


def test_samples_of_one_grade_are_one_stretch():
    """Eleven points on one slope, then a level one."""
    points = [(100.0 * k, 2.0 * k) for k in range(6)] + [(600.0, 10.0), (700.0, 10.0)]
    grades, _ = grades_of(profiled(points), [], NO_FIXES, leg="A")

    assert [(one.from_m, one.to_m) for one in grades] == [(0.0, 500.0), (500.0, 700.0)]


def test_a_grade_that_no_road_has_is_doubted_and_not_used():
    """40 m up in 100 m is a slip of the keyboard."""
    grades, said = grades_of(line(), [(0.0, 10.0), (100.0, 50.0), (200.0, 51.0)], NO_FIXES, leg="A")

    assert [one.from_m for one in grades] == [100.0]
    assert [one.level for one in said] == ["doubt"]
    assert "from 0.0 m to 100.0 m along make a grade of 40%" in said[0].text


def test_two_elevations_for_one_place_are_refused():
    """Both are named."""
    with pytest.raises(JobError, match=r"elevations 10 m and 12 m are both given for 50\.00 m"):
        grades_of(line(), [(50.0, 10.0), (50.0, 12.0)], NO_FIXES, leg="A")


def test_a_phones_elevations_give_a_note_and_no_grade():
    """It says how many fixes there are, and what to do."""
    fixes = tables.table(
        tables.FIXES,
        [{"drive_id": "d", "lon_deg": 0.0, "lat_deg": 0.0, "ele_m": float(k)} for k in range(3)],
    )
    grades, said = grades_of(line(), [], fixes, leg="A")

    assert grades == ()
    assert [one.level for one in said] == ["note"]
    assert "3 fixes have elevations, but a phone's are not good enough" in said[0].text


def test_one_elevation_makes_no_grade():
    """Nor none at all; and nothing is said where no phone has any."""
    assert grades_of(line(), [(5.0, 1.0)], NO_FIXES, leg="A") == ((), ())
