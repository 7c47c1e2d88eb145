"""Times of an NMEA log: dates that are missing, and midnights."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routeprep.readers.nmeaclock import Clock
from routeprep.readers.times import NO_TIME_US, moment

BEGIN = dt.datetime(2026, 5, 31, 22, 0, tzinfo=dt.UTC)


def clock_of(times, dated):
    """A clock that heard times, with their dates where wanted."""
    clock = Clock()
    for time, with_date in zip(times, dated, strict=True):
        clock.hear(f"{time:%H%M%S.%f}", f"{time:%d%m%y}" if with_date else "")
    return clock


@given(
    st.lists(st.integers(0, 6 * 3600), min_size=1, max_size=20).flatmap(
        lambda steps: st.tuples(
            st.just(steps), st.integers(0, len(steps) - 1), st.lists(st.booleans(),
                                                                     min_size=len(steps),
                                                                     max_size=len(steps)))
    )
)  # fmt: skip
def test_one_date_tells_all_as_long_as_no_step_is_half_a_day(
    drawn: tuple[list[int], int, list[bool]],
) -> None:
    """Forward and back from the date, over any number of midnights."""
    steps, one, dated = drawn
    times = [BEGIN + dt.timedelta(seconds=sum(steps[: i + 1])) for i in range(len(steps))]
    dated[one] = True

    assert [moment(one) for one in clock_of(times, dated).times_us()] == times


def test_without_any_date_there_is_no_time() -> None:
    """Not even relative ones."""
    clock = clock_of([BEGIN, BEGIN], [False, False])

    assert clock.times_us() == [NO_TIME_US, NO_TIME_US]
    assert clock.said.startswith("has no date, only times of day (2 of them)")


def test_with_all_dates_nothing_is_said() -> None:
    """Nor of a clock that heard nothing."""
    assert (clock_of([BEGIN], [True]).said, Clock().said) == ("", "")


@pytest.mark.parametrize(("clock", "date"), [("x", "010626"), ("120000", "990626"), ("", "")])
def test_a_date_that_cannot_be_read_is_not_heard(clock: str, date: str) -> None:
    """Neither beside a fix nor alone."""
    heard = Clock()
    heard.date(clock, date)

    assert heard.times_us() == []
    assert not heard.hear(clock, date)
    assert heard.times_us() == [NO_TIME_US]
