"""Mile markers and what is read from them; all invented."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routeprep.markers import one_way, reading_at
from routeprep.units import STATION_UNITS

FT_M = 0.3048
MILE_M = 1609.344
FEET = STATION_UNITS["100 ft"]
UP = ((100.0, 14.0), (100.0 + MILE_M, 15.0))
DOWN = ((100.0, 15.0), (100.0 + MILE_M, 14.0))


def said(*markers):
    """Markers as taken, and the level and text of each finding."""
    taken, found = one_way(markers, where="leg A", unit=FEET)
    return taken, [(one.level, one.text) for one in found]


@pytest.mark.parametrize(
    ("markers", "along_m", "units", "text"),
    [
        (UP, 100.0 + 320 * FT_M, "us", "MM 14 + 320 ft"),
        (UP, 100.0 + 324.9 * FT_M, "us", "MM 14 + 320 ft"),
        (UP, 100.0 + MILE_M, "us", "MM 15 + 0 ft"),
        (UP, 100.0 - 50 * FT_M, "us", "MM 14 - 50 ft"),
        (UP, 100.0 + MILE_M + 2000 * FT_M, "us", "MM 15 + 2,000 ft"),
        (UP, 197.5, "metric", "MM 14 + 98 m"),
        (DOWN, 100.0 + MILE_M - 320 * FT_M, "us", "MM 14 + 320 ft"),
        (DOWN, 90.0, "metric", "MM 15 + 10 m"),
        (((5.0, 14.2),), 5.0, "us", "MM 14.2 + 0 ft"),
        ((), 5.0, "us", ""),
    ],
)
def test_a_place_reads_from_the_marker_before(markers, along_m, units, text) -> None:
    """Before as miles count up, whichever way the stations run."""
    assert reading_at(markers, along_m, units=units) == text


def test_markers_say_how_far_apart_they_are() -> None:
    """On the line and by their miles: they stretch nothing."""
    taken, found = said((100.0 + MILE_M * 1.01, 15.0, "MM 15"), (100.0, 14.0, "MM 14"))

    assert taken == ((100.0, 14.0), (100.0 + MILE_M * 1.01, 15.0))
    text = (
        "lies 5,332.8 ft after MM 14 on the line, 5,280.0 ft by their miles; they stretch nothing"
    )
    assert found == [("note", f"MM 15 {text}")]


@pytest.mark.parametrize(("share", "level"), [(1.09, "note"), (1.2, "doubt"), (0.5, "doubt")])
def test_markers_a_tenth_off_their_miles_are_doubted(share, level) -> None:
    """A reading from a sign that is half a mile off sends people astray."""
    _, found = said((0.0, 14.0, "MM 14"), (share * MILE_M, 15.0, "MM 15"))

    assert [one for one, _ in found] == [level]


@pytest.mark.parametrize("miles", [(14.0, 16.0, 15.0), (14.0, 14.0, 14.0), (14.0, 14.0, 15.0)])
def test_markers_that_do_not_run_one_way_are_not_read_from(miles) -> None:
    """Which of them is wrong nobody knows."""
    markers = [(place * MILE_M, one, f"MM {one:g}") for place, one in enumerate(miles)]
    taken, found = said(*markers)
    numbers = ", ".join(f"{one:g}" for one in miles)

    assert taken == ()
    assert found[-1] == (
        "doubt", f"mile markers {numbers} do not run one way along the line: none is read from"
    )  # fmt: skip


def test_one_marker_alone_does_not_say_which_way_miles_run() -> None:
    """It is read up-station, and doubted."""
    taken, found = said((100.0, 14.0, "MM 14"))

    assert taken == ((100.0, 14.0),)
    assert found == [
        ("doubt", "MM 14 stands alone: its readings take miles to run up-station"),
    ]  # fmt: skip


@given(st.floats(0.0, 1e5))
def test_a_reading_leads_back_to_the_place(along_m: float) -> None:
    """Within half of 10 ft, in either direction of the miles."""
    for markers, way in ((UP, 1.0), (DOWN, -1.0)):
        words = reading_at(markers, along_m, units="us").replace(",", "").split()
        at_m = next(at for at, miles in markers if miles == float(words[1]))
        away_m = float(words[3]) * FT_M * (1.0 if words[2] == "+" else -1.0)
        assert at_m + way * away_m == pytest.approx(along_m, abs=5 * FT_M + 1e-6)
