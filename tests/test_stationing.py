"""Along to station and back, equations, and labels that never pass for another kind."""

import itertools
import math
import re

import pytest
from builders import from_start
from hypothesis import assume, given
from hypothesis import strategies as st

from routeprep.errors import LineError, StationError
from routeprep.lines import StationEquation, Stationing
from routeprep.stationing import (
    along_at,
    along_of,
    equation_places,
    label,
    number,
    stations_every,
    true_length_m,
    value_at,
)
from routeprep.units import STATION_UNITS, split_region

FT_M = 0.3048
FEET = STATION_UNITS["100 ft"]
PLAN = from_start(unit=FEET, start_value=1000.0, zero="")
NAMED = from_start(unit=FEET, start_value=0.0, zero="ELM N CURB")
METRIC = from_start(unit=STATION_UNITS["1000 m"], start_value=2000.0, zero="")


def equations(*pairs):
    """Station equations of back and ahead values."""
    return tuple(StationEquation(back_value=back, ahead_value=ahead) for back, ahead in pairs)


def feet(start, *pairs, length_ft=math.inf):
    """A line of plan stations in feet with equations."""
    return Stationing(
        unit=FEET,
        zero="",
        known_m=(0.0,),
        known_value=(start,),
        equations=equations(*pairs),
        length_m=length_ft * FT_M,
    )


# The worked gap of trade.md 2.4 (25+43.20 BK = 30+67.43 AH, line 10+00 to 45+00 AH), and its
# overlap (15+00 BK = 12+00 AH) on an invented line of 1,000 ft.
GAP = feet(1000.0, (2543.20, 3067.43), length_ft=2975.77)
OVERLAP = feet(1000.0, (1500.0, 1200.0), length_ft=1000.0)
# Stations that begin anew, as at a county line: invented.
RESTART = feet(5000.0, (6000.0, 0.0), length_ft=5000.0)
# 13+00 three times: invented.
THREE = feet(1000.0, (1500.0, 1200.0), (1400.0, 1100.0), length_ft=2000.0)

hundredths = st.integers(-500_000, 500_000).map(lambda count: count / 100)
spans = st.integers(1, 300_000).map(lambda count: count / 100)
alongs = st.floats(-5_000, 200_000)
fractions = st.floats(0.0, 1.0)


@st.composite
def plain_stationings(draw):
    """A start and nothing else."""
    return from_start(
        unit=draw(st.sampled_from(list(STATION_UNITS.values()))),
        start_value=float(draw(st.integers(-5000, 500_000))),
        zero=draw(st.sampled_from(["", "ELM N CURB"])),
    )


@st.composite
def stationings(draw):
    """Random equations and ties: gaps and overlaps of any size, scales from 0.95 to 1.05."""
    unit = draw(st.sampled_from(list(STATION_UNITS.values())))
    begin = draw(hundredths)
    low, pairs, length = begin, [], 0.0
    for _ in range(draw(st.integers(0, 4))):
        size, ahead = draw(spans), draw(hundredths)
        pairs.append((round(low + size, 2), ahead))
        length, low = length + size, ahead
    length += draw(spans)
    known_m, known = [draw(st.floats(-50.0, 50.0))], [begin]
    for _ in range(draw(st.integers(0, 4))):
        step = draw(st.floats(5.0, length + 5.0))
        known_m.append(known_m[-1] + step * unit.length_m * draw(st.floats(0.95, 1.05)))
        known.append(known[-1] + step)
    return Stationing(
        unit=unit,
        zero="",
        known_m=tuple(known_m),
        known_value=tuple(known),
        equations=equations(*pairs),
        length_m=length * unit.length_m,
    )


def test_the_start_bears_the_start_station() -> None:
    """At the beginning of the line stands the job's start station."""
    assert label(PLAN, 0.0) == "10+00.0"


def test_a_hundred_feet_on_is_one_station_on() -> None:
    """30.48 m are one station of 100 ft."""
    assert label(PLAN, 30.48) == "11+00.0"


def test_before_the_start_it_goes_on_counting() -> None:
    """Nothing clamps: 30.48 m before 0+00 of a named zero is -1+00."""
    assert label(NAMED, -30.48, decimals=0) == "-1+00 from ELM N CURB"


def test_a_metric_line_counts_metres() -> None:
    """A kilometre station counts metres from its start value."""
    assert label(METRIC, 345.6) == "2+345.6"


def test_survey_feet_are_survey_feet() -> None:
    """1200/3937 m each (85 FR 62698): 1,000,000 of them are 2 ft more than international ones."""
    survey = from_start(unit=STATION_UNITS["100 ftUS"], start_value=0.0, zero="")

    assert along_of(survey, "10000+00") == pytest.approx(1e6 * 1200 / 3937, abs=1e-6)


def test_rounding_carries_into_the_next_station() -> None:
    """1799.999 prints 18+00.00 (trade.md 2.4), never 17+100.00."""
    assert label(PLAN, 799.999 * FT_M, decimals=2) == "18+00.00"


@pytest.mark.parametrize(
    ("ft", "step", "text"), [(12.4, 5.0, "10+10"), (12.5, 5.0, "10+15"), (97.5, 5.0, "11+00")]
)
def test_numbers_round_to_a_step(ft: float, step: float, text: str) -> None:
    """To the nearest 5 ft, halves up-station, carrying into the next station."""
    assert number(PLAN, ft * FT_M, step=step) == text


@pytest.mark.parametrize("along_m", [math.nan, math.inf])
def test_a_place_that_is_not_finite_is_refused(along_m: float) -> None:
    """There is no label without a place."""
    with pytest.raises(StationError, match=r"along is (nan|inf) m"):
        label(PLAN, along_m)


@pytest.mark.parametrize("value", [math.nan, math.inf])
def test_a_value_that_is_not_finite_is_refused(value: float) -> None:
    """There is no place without a value."""
    with pytest.raises(StationError, match=r"value (nan|inf) ft is not a finite number"):
        along_at(PLAN, value)


@pytest.mark.parametrize(("text", "ft"), [("25+43.20", 1543.2), ("30+67.43", 1543.2),
                                          ("45+00", 2975.77), ("10+00", 0.0)])  # fmt: skip
def test_stations_either_side_of_a_gap(text: str, ft: float) -> None:
    """The worked example of trade.md 2.4: both labels of the equation are one place."""
    assert along_of(GAP, text) == pytest.approx(ft * FT_M, abs=1e-9)


def test_true_length_is_the_sum_of_its_pieces() -> None:
    """1543.20 + 1432.57 = 2975.77 ft (trade.md 2.4), not 45+00 less 10+00."""
    assert true_length_m(GAP, "10+00", "45+00 AH") / FT_M == pytest.approx(2975.77, abs=1e-6)


def test_a_place_at_an_equation_has_the_ahead_label() -> None:
    """Running up to it is back, starting there is ahead."""
    assert label(GAP, 1543.2 * FT_M, decimals=2) == "30+67.43"
    assert label(GAP, 1543.19 * FT_M, decimals=2) == "25+43.19"


def test_a_station_in_a_gap_does_not_exist() -> None:
    """28+00 (trade.md 2.4) is refused, with the equation and the labels either side."""
    with pytest.raises(
        StationError,
        match=r"28\+00.00 does not exist.*gap.*25\+43.20 BK = 30\+67.43 AH.*last.* is 25\+43.20,"
        r" the first after it is 30\+67.43",
    ):
        along_of(GAP, "28+00")


def test_a_station_in_an_overlap_exists_twice() -> None:
    """13+00 with 15+00 BK = 12+00 AH (trade.md 2.4) asks which, and says where each is."""
    with pytest.raises(
        StationError,
        match=r"13\+00.00 stands twice.*13\+00.00 BK is 300.0 ft along, 13\+00.00 AH is 600.0 ft",
    ):
        along_of(OVERLAP, "13+00")


@pytest.mark.parametrize(
    ("text", "ft"),
    [("13+00 BK", 300), ("13+00 AH", 600), ("13+00 bk", 300), ("13+00AH", 600),
     ("13+00 region 1", 300), ("13+00 Region 2", 600), ("15+00 BK", 500), ("15+00 AH", 800),
     ("12+00 AH", 500), ("11+00 BK", 100), ("15+50 AH", 850)],
)  # fmt: skip
def test_its_region_says_which(text: str, ft: float) -> None:
    """BK and AH as plans have them, also where the label stands once, or the region's number."""
    assert along_of(OVERLAP, text) == pytest.approx(ft * FT_M, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "why"),
    [("13+00 region 3", "twice on this leg, and not in region 3"),
     ("11+00 AH", "once on this leg, and AH does not fit"),
     ("15+50 BK", "once on this leg, and BK does not fit"),
     ("15+50 region 1", "once on this leg, and not in region 1")],
)  # fmt: skip
def test_a_region_that_does_not_bear_it_is_refused(text: str, why: str) -> None:
    """What is written behind a label must be so."""
    with pytest.raises(StationError, match=re.escape(why)):
        along_of(OVERLAP, text)


def test_a_line_without_equations_has_no_back_and_ahead() -> None:
    """BK behind a label of it is a mistake."""
    with pytest.raises(StationError, match=r"12\+00.00 stands once on this leg, and BK does not"):
        along_of(PLAN, "12+00 BK")


def test_three_times_the_same_station_needs_its_region() -> None:
    """BK and AH say no more which."""
    assert along_of(THREE, "13+00 region 2") == pytest.approx(600 * FT_M)
    assert label(THREE, 600 * FT_M, decimals=0) == "13+00 region 2"
    with pytest.raises(StationError, match="3 times on this leg, and BK does not fit"):
        along_of(THREE, "13+00 BK")


@pytest.mark.parametrize(
    ("ft", "text"), [(100, "11+00"), (300, "13+00 BK"), (600, "13+00 AH"), (850, "15+50")]
)
def test_a_label_says_its_region_where_it_stands_twice(ft: float, text: str) -> None:
    """And only there."""
    assert label(OVERLAP, ft * FT_M, decimals=0) == text


def test_stations_that_begin_anew_need_no_region_on_the_line() -> None:
    """5+00 before the line's beginning at 50+00 is no second one; past the ends it is said."""
    assert label(RESTART, 1500 * FT_M, decimals=0) == "5+00"
    assert along_of(RESTART, "5+00") == pytest.approx(1500 * FT_M)
    assert label(RESTART, -4500 * FT_M, decimals=0) == "5+00 region 1"
    assert along_of(RESTART, "5+00 region 1") == pytest.approx(-4500 * FT_M)


def test_a_label_that_stands_only_past_the_end_is_asked_about_too() -> None:
    """Where none lies on the line, all that bear it count."""
    line = feet(0.0, (2000.0, 1500.0), length_ft=1000.0)

    assert label(line, 1700 * FT_M, decimals=0) == "17+00 BK"
    assert along_of(line, "17+00 AH") == pytest.approx(2200 * FT_M)


def test_the_published_equations_of_an_alignment() -> None:
    """LandXML example (trade.md 2.4): internal 28000.6596581 runs up as 1000.6596581."""
    start = {"unit": STATION_UNITS["1000 m"], "zero": "", "known_m": (0.0,), "known_value": (0.0,)}
    first = equations((27205.4145419, 205.4145419))
    both = first + equations((1000.6596581, 0.0))

    assert value_at(Stationing(**start, equations=first), 28000.6596581) == pytest.approx(
        1000.6596581, abs=1e-7
    )
    assert [at_m for at_m, _ in equation_places(Stationing(**start, equations=both))] == (
        pytest.approx([27205.4145419, 28000.6596581], abs=1e-7)
    )


def test_an_equation_is_written_as_plans_have_it() -> None:
    """With its distance along, and with labels that exist."""
    assert equation_places(GAP) == ((pytest.approx(1543.2 * FT_M), "25+43.20 BK = 30+67.43 AH"),)
    assert equation_places(feet(0.0, (100.007, 200.002)))[0][1] == "1+00.00 BK = 2+00.01 AH"
    assert equation_places(PLAN) == ()


def test_an_equation_of_equal_stations_parts_nothing() -> None:
    """Some files write one at the beginning."""
    assert equation_places(feet(0.0, (100.0, 100.0))) == ()
    assert along_of(feet(0.0, (100.0, 100.0)), "2+00") == pytest.approx(200 * FT_M)


def test_between_ties_stations_are_stretched_and_outside_one_for_one() -> None:
    """200 ft of stations on 202 ft of line, then foot for foot."""
    line = Stationing(
        unit=FEET, zero="", known_m=(10 * FT_M, 212 * FT_M), known_value=(1000.0, 1200.0)
    )

    assert value_at(line, 111 * FT_M) == pytest.approx(1100.0)
    assert value_at(line, 0.0) == pytest.approx(990.0)
    assert value_at(line, 312 * FT_M) == pytest.approx(1300.0)


def test_round_stations_are_those_that_exist() -> None:
    """None in a gap, those of an overlap twice, the equation's place once."""
    shown = [
        [label(line, m, decimals=0) for m in stations_every(line, 500.0, to_m=line.length_m)]
        for line in (GAP, OVERLAP)
    ]

    assert shown == [["10+00", "15+00", "20+00", "25+00", "35+00", "40+00", "45+00"],
                     ["10+00", "15+00 AH"]]  # fmt: skip


def test_round_stations_of_a_stretch() -> None:
    """From one place to another, both included."""
    found = stations_every(PLAN, 100.0, from_m=100 * FT_M, to_m=300 * FT_M)

    assert found == pytest.approx([100 * FT_M, 200 * FT_M, 300 * FT_M])


@pytest.mark.parametrize(
    ("ft", "texts"),
    [
        (1541.0, ("25+40", "25+40", "30+70")),
        (1543.1, ("25+40", "25+40", "30+70")),
        (1543.2, ("30+70", "25+40", "30+70")),
        (1546.0, ("30+70", "30+70", "30+75")),
    ],
)
def test_rounding_near_a_gap_prints_no_label_of_it(ft: float, texts: tuple[str, ...]) -> None:
    """Nearest in its own region; outward across the equation."""
    found = tuple(number(GAP, ft * FT_M, step=5, toward=toward) for toward in (0, -1, 1))

    assert found == texts


def test_a_region_shorter_than_the_step_is_printed_finer() -> None:
    """Between 10+01 and 10+03.5 there is no multiple of 5 ft."""
    line = feet(990.0, (1000.0, 1001.0), (1003.5, 1100.0))

    assert number(line, 11.2 * FT_M, step=5) == "10+02"
    assert number(line, 11.2 * FT_M, step=5, toward=-1) == "10+00"
    assert number(line, 11.2 * FT_M, step=5, toward=1) == "11+00"


def test_the_name_of_the_zero_may_stand_behind_a_label() -> None:
    """As it is printed."""
    assert along_of(NAMED, "1+00 from ELM N CURB") == pytest.approx(30.48)


def test_a_label_before_zero_comes_back_from_a_csv_as_it_stands_there() -> None:
    """The apostrophe keeps a spreadsheet from reckoning it."""
    assert along_of(NAMED, "'-0+50.0 from ELM N CURB") == pytest.approx(-15.24)


@pytest.mark.parametrize(
    ("known_m", "known"), [((), ()), ((0.0,), (1.0, 2.0)), ((0.0, 5.0), (9.0, 9.0)),
                           ((0.0, 0.0), (8.0, 9.0))]
)  # fmt: skip
def test_known_places_must_increase_together(known_m, known) -> None:
    """Else the line would count both ways, or stand still."""
    with pytest.raises(LineError, match="must be equally many, one or more, and increase"):
        Stationing(unit=FEET, zero="", known_m=known_m, known_value=known)


@pytest.mark.parametrize("back", [1200.0, 900.0])
def test_equations_must_lie_in_order(back: float) -> None:
    """What runs up to the second begins at the first's ahead station."""
    with pytest.raises(LineError, match=rf"back {back:g} follows one with ahead 1200 ft"):
        feet(1000.0, (1500.0, 1200.0), (back, 2000.0))


@given(plain_stationings(), alongs)
def test_value_and_back(stationing: Stationing, along_m: float) -> None:
    """Along to value to along is the same place within 1 um."""
    assert along_at(stationing, value_at(stationing, along_m)) == pytest.approx(along_m, abs=1e-6)


@given(plain_stationings(), alongs)
def test_only_a_named_zero_stands_in_the_label(stationing: Stationing, along_m: float) -> None:
    """Distances from a named zero never look like plan stations, nor the other way round."""
    assert (" from " in label(stationing, along_m)) == bool(stationing.zero)


@given(stationings(), fractions)
def test_label_and_back(stationing: Stationing, fraction: float) -> None:
    """A label with four decimals leads back within 1 mm, whatever the equations and ties."""
    along_m = fraction * stationing.length_m
    text = label(stationing, along_m, decimals=4)

    assert along_of(stationing, text) == pytest.approx(along_m, abs=0.001)


@given(stationings(), fractions, st.sampled_from([(5.0, 0), (1.0, 0), (0.1, 1), (0.0, 2)]))
def test_what_is_printed_exists_and_is_near(stationing, fraction, rounding) -> None:
    """Rounding never prints a label of a gap, nor one that leads elsewhere."""
    step, decimals = rounding
    along_m = fraction * stationing.length_m
    back_m = along_of(stationing, number(stationing, along_m, step=step, decimals=decimals))
    most_m = (step or 10**-decimals) * stationing.unit.length_m * 1.06

    assert abs(back_m - along_m) <= most_m


@given(stationings(), fractions, st.sampled_from([-1, 1]))
def test_outward_is_outward(stationing: Stationing, fraction: float, toward: int) -> None:
    """What is rounded down-station lies before the place, up-station after it, and exists."""
    along_m = fraction * stationing.length_m
    back_m = along_of(stationing, number(stationing, along_m, step=5, toward=toward))

    assert (back_m - along_m) * toward >= -1e-5


@given(stationings(), fractions)
def test_a_label_is_the_label_of_its_place(stationing: Stationing, fraction: float) -> None:
    """Label to place to label is the same label, but for the back one of an equation."""
    text = label(stationing, fraction * stationing.length_m, decimals=2)
    back_m = along_of(stationing, text)
    assume(all(abs(back_m - at_m) > 1e-4 for at_m, _ in equation_places(stationing)))

    assert label(stationing, back_m, decimals=2) == text


@given(stationings(), fractions, fractions)
def test_the_running_value_only_rises(stationing, one: float, other: float) -> None:
    """Up-station is up: between equations the written value rises, at one it is its ahead."""
    low_m, high_m = sorted((one * stationing.length_m, other * stationing.length_m))
    values = [value_at(stationing, along_m) for along_m in (low_m, high_m)]
    passed = [at_m for at_m, _ in equation_places(stationing) if low_m <= at_m <= high_m]

    assert passed or values[0] <= values[1]


@given(stationings(), st.sampled_from([7.0, 100.0, 500.0]))
def test_round_stations_exist_and_are_round(stationing: Stationing, every: float) -> None:
    """Each is a multiple, on the line, and its label leads to it."""
    found = stations_every(stationing, every, to_m=stationing.length_m)

    assert list(found) == sorted(found)
    for along_m in found:
        value = value_at(stationing, along_m)
        assert value == pytest.approx(round(value / every) * every, abs=1e-5)
        text = number(stationing, along_m, step=0)
        assert along_of(stationing, text) == pytest.approx(along_m, abs=1e-5)


@given(stationings())
def test_both_labels_of_an_equation_lead_to_it(stationing: Stationing) -> None:
    """The back one from the region before, the ahead one from the region after."""
    for place, (at_m, text) in enumerate(equation_places(stationing), start=1):
        for side, region in zip(text.split(" = "), (place, place + 1), strict=True):
            words = f"{split_region(side)[0]} region {region}"
            assert along_of(stationing, words) == pytest.approx(at_m, abs=1e-5)


@given(stationings())
def test_equations_lie_in_order_along(stationing: Stationing) -> None:
    """Each farther along than the one before."""
    places_m = [at_m for at_m, _ in equation_places(stationing)]

    assert all(one < two for one, two in itertools.pairwise(places_m))
