"""Ties: what they do to the stations, and which are not believed; all invented."""

import itertools
import math
import re

import pytest
from builders import leg_settings, lonlat
from hypothesis import given
from hypothesis import strategies as st
from strategies import line_from_xy

from routeprep.errors import JobError
from routeprep.lines import StationEquation
from routeprep.shapes import Defaults, TieSettings
from routeprep.stakes import Stake
from routeprep.stationing import along_of, label, value_at
from routeprep.ties import tied
from routeprep.units import STATION_UNITS, format_station

FT_M = 0.3048
NAN = math.nan
FEET = STATION_UNITS["100 ft"]
# 1,000 m are 3,280.84 ft, running north.
LINE = line_from_xy([[0.0, 0.0], [0.0, 1000.0]])


def tie(station, at_ft, *, x_m=0.0, kind="plan", by="culvert", forced_by=""):
    """A tie so many feet up the line."""
    lon_deg, lat_deg = lonlat(x_m, at_ft * FT_M)
    return TieSettings(
        station=station, lon_deg=lon_deg, lat_deg=lat_deg, kind=kind, by=by, forced_by=forced_by
    )


def stake(station, at_ft, *, from_vehicle=False, **more):
    """What a mark says so many feet up the line."""
    one = tie(station, at_ft, kind=more.pop("kind", "paint"), by="station paint", **more)
    return Stake(tie=one, from_vehicle=from_vehicle)


def made(*ties, stakes=(), line=LINE, **changes):
    """The stationing of a leg with these ties, and what was said."""
    return tied(leg_settings(ties=ties, **changes), line, stakes, Defaults())


def texts(result, level="note"):
    """What the findings of one level say."""
    return [one.text for one in result.findings if one.level == level]


def test_without_ties_the_start_counts() -> None:
    """From the plan station at the beginning, without a word."""
    result = made()

    assert label(result.stationing, 0.0) == "10+00.0"
    assert (result.ties, result.markers, result.findings) == ((), (), ())
    assert result.stationing.length_m == LINE.length_m


def test_without_ties_a_named_zero_counts() -> None:
    """From 0+00 at the beginning."""
    result = made(start_value=NAN, zero="ELM N CURB")

    assert label(result.stationing, 0.0) == "0+00.0 from ELM N CURB"


def test_without_anything_no_station_is_known() -> None:
    """And it says what to give."""
    with pytest.raises(JobError, match=r"leg A: nothing says .* made from a file, brings none"):
        made(start_value=NAN)


def test_one_tie_shifts_the_stations() -> None:
    """Foot for foot both ways; the start, 3 ft off, is only checked."""
    result = made(tie("11+03", 100.0))

    assert value_at(result.stationing, 0.0) == pytest.approx(1003.0, abs=0.01)
    before, after, start = texts(result)

    assert before == (
        "100.0 ft of line before the first tie, tie 11+03 (culvert, plan), has stations counted "
        "one for one from it; no tie checks them there"
    )
    assert after.startswith("3,180.8 ft of line after the last tie, tie 11+03 (culvert, plan), has")
    assert start == (
        "the start is 3.0 ft less than what the ties have at the line's beginning, 10+03.0; the "
        "ties hold"
    )
    assert math.isnan(result.ties[0].residual_m)


def test_a_start_that_agrees_with_the_ties_is_not_worth_saying() -> None:
    """A residual of 0.0 ft tells nobody anything."""
    assert not any("the start is" in text for text in texts(made(tie("11+00", 100.0))))


def test_no_more_line_is_said_to_lie_beyond_a_tie_than_there_is() -> None:
    """A tie 20 ft past the end has the whole line before it."""
    (text,) = [one for one in texts(made(tie("43+01", 3300.8))) if "of line" in one]

    assert text.startswith("3,280.8 ft of line before the first tie")


def test_a_start_that_the_ties_do_not_bear_out_is_doubted() -> None:
    """More than 10 ft and 0.5 % of the way to the first tie."""
    (text,) = texts(made(tie("11+12", 100.0)), "doubt")

    assert text.startswith("the start is 12.0 ft less than what the ties have")


def test_ties_may_bring_the_stations_alone() -> None:
    """Then no start is needed."""
    result = made(tie("11+03", 100.0), start_value=NAN)

    assert value_at(result.stationing, 0.0) == pytest.approx(1003.0, abs=0.01)
    assert not any("the start is" in text for text in texts(result))


def test_between_ties_the_stations_are_stretched_and_it_is_said() -> None:
    """2,000 ft of stations on 2,010 ft of line."""
    result = made(tie("10+00", 0.0), tie("30+00", 2010.0, kind="paint", by="bridge"))
    middle = value_at(result.stationing, 1005 * FT_M)

    assert middle == pytest.approx(2000.0, abs=0.01)
    assert texts(result)[0] == (
        "tie 30+00 (bridge, paint) lies 2,010.0 ft after tie 10+00 (culvert, plan) on the line, "
        "its station 2,000.0 ft after: residual -10.0 ft, stretch -0.498%, scale 0.995025"
    )
    assert result.ties[1].residual_m == pytest.approx(-10 * FT_M, abs=0.005)
    assert result.ties[1].stretch_share == pytest.approx(-10 / 2010, abs=1e-5)


def test_outside_the_ties_stations_go_foot_for_foot() -> None:
    """Whatever the stretch between them is."""
    stationing = made(tie("12+00", 200.0), tie("22+00", 1210.0)).stationing

    assert value_at(stationing, 100 * FT_M) == pytest.approx(1100.0, abs=0.01)
    assert value_at(stationing, 1310 * FT_M) == pytest.approx(2300.0, abs=0.01)


@pytest.mark.parametrize(
    ("at_ft", "level"),
    [(1014.9, "note"), (1016.0, "doubt"), (1049.0, "doubt"), (985.2, "note"), (984.0, "doubt")],
)
def test_more_than_10_ft_and_half_a_percent_is_doubted(at_ft: float, level: str) -> None:
    """10 + 0.005 x 1,015 = 15.1 ft."""
    result = made(tie("10+00", 0.0), tie("20+00", at_ft))

    assert [one.level for one in result.findings if "residual" in one.text] == [level]


def test_more_than_5_percent_is_refused() -> None:
    """Both ties, both stations and the distance are named."""
    with pytest.raises(
        JobError,
        match=re.escape(
            "leg A: tie 20+00 (bridge, plan) lies 1,060.0 ft after tie 10+00 (culvert, plan) on "
            "the line, its station 1,000.0 ft after: a stretch of -5.7% is beyond 5%"
        ),
    ):
        made(tie("10+00", 0.0), tie("20+00", 1060.0, by="bridge"))


@pytest.mark.parametrize("names", [("J. Doe", ""), ("", "J. Doe")])
def test_unless_a_person_forces_it(names: tuple[str, str]) -> None:
    """Whose name is printed."""
    one, other = names
    result = made(tie("10+00", 0.0, forced_by=one), tie("20+00", 1060.0, forced_by=other))
    (text,) = texts(result, "doubt")

    assert text.endswith("scale 0.943396; forced by J. Doe")
    assert result.ties[1].forced_by == "J. Doe"


def test_two_ties_close_together_are_not_refused_for_a_phone_s_sake() -> None:
    """9 ft on 50 ft is 18 %, but no more than a phone is off."""
    result = made(tie("10+00", 0.0), tie("10+59", 50.0))

    assert any("residual 9.0 ft, stretch +18.0" in text for text in texts(result))


@pytest.mark.parametrize("forced_by", ["", "J. Doe"])
@pytest.mark.parametrize("station", ["19+00", "20+00"])
def test_backwards_is_refused_whoever_forces_it(station: str, forced_by: str) -> None:
    """A line cannot count both ways: it needs an equation."""
    with pytest.raises(JobError, match=r"-?\d+.0 ft after; both must be more than 0: .* equation"):
        made(tie("20+00", 1000.0), tie(station, 1100.0, forced_by=forced_by))


def test_two_ties_in_one_place_with_far_stations_are_refused() -> None:
    """500 ft of stations on nothing."""
    with pytest.raises(JobError, match=r"lies 0.0 ft after .* both must be more than 0"):
        made(tie("20+00", 1000.0, forced_by="J. Doe"), tie("25+00", 1000.0))


@pytest.mark.parametrize(
    ("ties", "kept"),
    [
        ((("20+00", 1000.0, "wheel"), ("20+04", 1006.0, "plan")), "20+04"),
        ((("20+00", 1000.0, "plan"), ("20+04", 1006.0, "wheel")), "20+00"),
        ((("20+00", 1000.0, "paint"), ("20+00", 1006.0, "paint")), "20+00"),
        ((("20+04", 1000.0, "paint"), ("20+00", 1006.0, "plan")), "20+00"),
    ],
)
def test_of_two_ties_in_one_place_the_surer_is_used(ties, kept: str) -> None:
    """Within 10 ft on the line and by their stations; plan before paint before wheel."""
    result = made(*(tie(station, at_ft, kind=kind) for station, at_ft, kind in ties))

    assert [one.station for one in result.ties] == [kept]
    assert "is not used: it stands 6.0 ft from tie" in texts(result)[0]


def test_a_forced_tie_is_surest() -> None:
    """A person has put a name to it."""
    result = made(tie("20+00", 1000.0), tie("20+04", 1006.0, kind="wheel", forced_by="J. Doe"))

    assert [one.station for one in result.ties] == ["20+04"]


@pytest.mark.parametrize(("x_m", "at_ft"), [(40.0, 100.0), (0.0, -150.0), (0.0, 3400.0)])
def test_a_tie_far_from_the_line_is_refused(x_m: float, at_ft: float) -> None:
    """Beside it or past an end, by more than the road's corridor of 30 m."""
    with pytest.raises(JobError, match=r"leg A: tie 11\+00 \(culvert, plan\) at .* ft from the"):
        made(tie("11+00", at_ft, x_m=x_m))


def test_a_tie_just_past_an_end_is_used() -> None:
    """Its place is beyond the line's beginning."""
    result = made(tie("9+50", -50.0))

    assert result.ties[0].along_m == pytest.approx(-50 * FT_M, abs=0.01)


def test_a_line_that_comes_by_twice_is_doubted() -> None:
    """20 m apart, the tie 8 m from one part and 12 m from the other."""
    hairpin = line_from_xy([[0.0, 0.0], [0.0, 500.0], [20.0, 500.0], [20.0, 0.0]])
    result = made(tie("13+28", 328.0, x_m=8.0), line=hairpin)

    assert any("nearly as near at 3,018.5 ft; look which" in one for one in texts(result, "doubt"))


def test_a_label_that_cannot_be_is_refused_with_the_tie() -> None:
    """The tie and the label are named."""
    with pytest.raises(JobError, match=r"leg A: tie 12\+5 \(culvert, plan\): '12\+5' is not"):
        made(tie("12+5", 100.0))


def test_ties_count_through_equations() -> None:
    """15+00 BK = 30+00 AH is a gap of 1,500 ft: 32+00 is 700 ft from 10+00."""
    equations = (StationEquation(back_value=1500.0, ahead_value=3000.0),)
    result = made(tie("10+00", 0.0), tie("32+00", 707.0), equations=equations)

    assert along_of(result.stationing, "32+00") == pytest.approx(707 * FT_M, abs=0.01)
    assert any("residual -7.0 ft" in text for text in texts(result))


def test_a_tie_in_an_overlap_says_its_region() -> None:
    """15+00 BK = 12+00 AH: 13+00 AH is 600 ft from 10+00."""
    equations = (StationEquation(back_value=1500.0, ahead_value=1200.0),)
    result = made(tie("13+00 AH", 603.0), equations=equations)

    assert value_at(result.stationing, 603 * FT_M) == pytest.approx(1300.0, abs=0.01)
    with pytest.raises(
        JobError, match=r"tie 13\+00 \(culvert, plan\): station 13\+00.00 stands tw"
    ):
        made(tie("13+00", 603.0), equations=equations)


def test_what_a_mark_on_foot_says_ties_too() -> None:
    """As paint."""
    result = made(tie("10+00", 0.0), stakes=[stake("20+00", 1010.0)])

    assert [one.station for one in result.ties] == ["10+00", "20+00"]
    assert value_at(result.stationing, 505 * FT_M) == pytest.approx(1500.0, abs=0.01)


@pytest.mark.parametrize(
    ("one", "why"),
    [(stake("20+00", 1010.0, x_m=50.0), "164.0 ft from the line"),
     (stake("20-00", 1010.0), "'20-00' is not a station"),
     (stake("14a", 1010.0, kind="mile marker"), "'14a' is no number of a mile marker")],
)  # fmt: skip
def test_a_mark_that_cannot_be_believed_stops_no_job(one: Stake, why: str) -> None:
    """It ties nothing, and the reason is said."""
    result = made(stakes=[one])
    (text,) = texts(result, "doubt")

    assert result.ties == ()
    assert why in text
    assert text.endswith("; it ties nothing")
    assert not text.startswith("leg A")


@pytest.mark.parametrize(("at_ft", "level"), [(1040.0, "note"), (1140.0, "doubt")])
def test_what_is_said_from_a_vehicle_is_only_compared(at_ft: float, level: str) -> None:
    """A tap is seconds late; 40 m is more than that."""
    result = made(stakes=[stake("20+00", at_ft, from_vehicle=True)])
    (text,) = texts(result, level)

    assert result.ties == ()
    assert f"stations read {format_station(1000.0 + at_ft, FEET, decimals=1)} there, " in text
    assert text.endswith(f"{at_ft - 1000.0:.1f} ft away")


def test_mile_markers_are_read_and_stretch_nothing() -> None:
    """From the job or a mark; 5,000 ft of line for a mile is only said."""
    long = line_from_xy([[0.0, 0.0], [0.0, 2000.0]])
    result = made(
        tie("14", 100.0, kind="mile marker"),
        stakes=[stake("mm 15", 5100.0, kind="mile marker", from_vehicle=True)],
        line=long,
    )

    assert [miles for _, miles in result.markers] == [14.0, 15.0]
    assert [at_m for at_m, _ in result.markers] == pytest.approx(
        [100 * FT_M, 5100 * FT_M], abs=0.01
    )
    assert label(result.stationing, 0.0) == "10+00.0"
    (text,) = texts(result)
    assert text == (
        "MM 15 (station paint, mile marker) lies 5,000.0 ft after MM 14 (culvert, mile marker) on "
        "the line, 5,280.0 ft by their miles; they stretch nothing"
    )


@given(
    st.lists(st.tuples(st.integers(20, 400), st.floats(-0.004, 0.004)), min_size=1, max_size=6),
    st.randoms(use_true_random=False),
)
def test_every_tie_gets_its_own_station_back(steps, shuffler) -> None:
    """In any order given, each tie's label leads to its place within 1 mm."""
    at_ft = list(itertools.accumulate((step for step, _ in steps), initial=30.0))
    values = list(
        itertools.accumulate((step * (1 + share) for step, share in steps), initial=1000.0)
    )
    ties = [
        tie(format_station(value, FEET, decimals=4), place)
        for value, place in zip(values, at_ft, strict=True)
    ]
    shuffler.shuffle(ties)
    result = made(*ties)

    assert len(result.ties) == len(ties)
    for used in result.ties:
        assert along_of(result.stationing, used.station) == pytest.approx(used.along_m, abs=0.001)
