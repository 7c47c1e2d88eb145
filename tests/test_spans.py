"""Sections along a leg, cut to its limits."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_work import ft, leg, part, section

from routeprep.errors import JobError, StationError
from routeprep.lines import StationEquation, Stationing
from routeprep.spans import spans_of
from routeprep.units import STATION_UNITS, format_station

LANE = (part("lane", 3.6),)


def along(*ends, **changes):
    """Spans [ft] of sections with these ends, on a leg of 3000 ft from 10+00."""
    road = leg(*(section(begin=one, end=two, right=LANE) for one, two in ends),
               length_m=ft(3000), **changes)  # fmt: skip
    return [(span.begin_m / ft(1), span.end_m / ft(1)) for span in spans_of(road)]


def test_without_sections_the_lanes_run_from_limit_to_limit() -> None:
    """Two lanes left, one right, as the leg has them."""
    (span,) = spans_of(leg(lanes_left=2, lanes_right=1, from_m=5.0, to_m=60.0))

    assert (span.begin_m, span.end_m) == (5.0, 60.0)
    assert [one.what for one in span.section.left] == ["lane", "lane"]
    assert span.section.right[0].width_m == 3.6576
    assert span.from_words() == "the beginning of the cut"
    assert span.to_words() == "the end of the cut"


def test_sections_follow_each_other_from_limit_to_limit() -> None:
    """Stations from 10+00; the ends that are left out are the limits."""
    assert along(("", "15+00"), ("15+00", "")) == [
        pytest.approx((0, 500)),
        pytest.approx((500, 3000)),
    ]


def test_sections_beyond_the_limits_are_cut_to_them() -> None:
    """The share of the whole section goes with it; one that lies outside altogether is gone."""
    sections = [("10+00", "15+00"), ("15+00", "25+00"), ("25+00", "40+00")]
    road = leg(*(section(begin=one, end=two, right=LANE) for one, two in sections),
               length_m=ft(3000), from_m=ft(750), to_m=ft(1250))  # fmt: skip
    (span,) = spans_of(road)

    assert (span.begin_m, span.end_m) == (road.from_m, road.to_m)
    assert (span.begin_share, span.end_share) == pytest.approx((0.25, 0.75))


@pytest.mark.parametrize(
    ("ends", "words"),
    [
        (
            [("", "15+00"), ("16+00", "")],
            r"a section ends at 15\+00 and the next begins at 16\+00: a gap of 100\.00 ft",
        ),
        (
            [("", "15+00"), ("14+50", "")],
            r"a section ends at 15\+00 and the next begins at 14\+50: an overlap of 50\.00 ft",
        ),
        ([("12+00", "")], r"the cut begins at 10\+00\.0 but its first section at 12\+00"),
        ([("", "39+00")], r"the cut ends at 40\+00\.0 but its last section at 39\+00"),
        ([("15+00", "12+00")], r"section 1 runs from 15\+00 to 12\+00, which is not up-station"),
        ([("", "15+00"), ("", "")], r"the next begins at the beginning of the cut: an overlap"),
    ],
)
def test_gaps_and_overlaps_name_both_labels(ends, words: str) -> None:
    """Nobody says what lies there, or two say it."""
    with pytest.raises(JobError, match=words):
        along(*ends)


def test_a_station_that_does_not_exist_names_its_section() -> None:
    """In the gap of a station equation, and one that cannot be read."""
    gap = Stationing(
        unit=STATION_UNITS["100 ft"], zero="", known_m=(0.0,), known_value=(1000.0,),
        equations=(StationEquation(back_value=1500.0, ahead_value=2000.0),),
    )  # fmt: skip
    road = leg(section(end="17+00", right=LANE))

    with pytest.raises(StationError, match=r"leg A, section 2: 'abc' is not a station"):
        along(("", "15+00"), ("abc", ""))
    with pytest.raises(StationError, match=r"section 1: station 17\+00\.00 does not exist"):
        spans_of(_with(road, gap))


def _with(road, stationing):
    """The same leg with other stations."""
    return type(road)(settings=road.settings, line=road.line, stationing=stationing,
                      from_m=road.from_m, to_m=road.to_m)  # fmt: skip


@given(st.lists(st.integers(1, 290_000), min_size=1, max_size=8, unique=True).map(sorted))
def test_spans_cover_the_cut_with_no_gap(hundredths: list[int]) -> None:
    """Joints at any hundredth of a foot."""
    unit = STATION_UNITS["100 ft"]
    labels = [format_station(1000 + one / 100, unit, decimals=2) for one in hundredths]
    try:
        got = along(*zip(["", *labels], [*labels, ""], strict=True))
    except JobError as error:
        assert "not up-station" in str(error)  # noqa: PT017 - two joints within a centimetre
        return

    assert got[0][0] == 0.0
    assert got[-1][1] == pytest.approx(3000)
    assert all(one[1] == two[0] for one, two in pairwise(got))
