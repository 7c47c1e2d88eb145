"""Columns of fixes, their drives and their table."""

from hypothesis import given
from hypothesis import strategies as st

from routeprep.readers.columns import Points, fixes_table, spans
from routeprep.readers.times import NO_TIME_US

START_US = 1_780_315_200_000_000


def points(*lines, times=True):
    """Points of numbered lines, a second apart."""
    made = Points(names=[f"track {i}" for i in range(max(lines, default=0) + 1)])
    for i, line in enumerate(lines):
        made.line.append(line)
        made.piece.append(0)
        made.time_us.append(START_US + i * 1_000_000 if times else NO_TIME_US)
        made.lon_deg.append(-100.0 - i * 1e-4)
        made.lat_deg.append(41.0)
        for column in (made.ele_m, made.accuracy_m, made.speed_mps, made.course_deg):
            column.append(1.0)
    return made


def test_no_points_are_no_drives() -> None:
    """Empty columns give an empty table of the right columns."""
    assert spans(Points()) == ()
    assert fixes_table(Points(), ()).empty


def test_each_line_with_points_is_a_drive() -> None:
    """Rows of a drive, its earliest and its latest time; a line without points is none."""
    first, second = spans(points(0, 0, 2))

    assert (first.line, first.start, first.stop) == (0, 0, 2)
    assert (second.line, second.start, second.stop) == (2, 2, 3)
    assert (first.first_us, first.last_us) == (START_US, START_US + 1_000_000)


def test_without_times_a_drive_has_no_span_in_time() -> None:
    """Unknown stays unknown."""
    (drive,) = spans(points(0, 0, times=False))

    assert (drive.first_us, drive.last_us) == (NO_TIME_US, NO_TIME_US)


def test_the_id_comes_from_both_ends() -> None:
    """A longer log is another drive; the middle does not count."""
    short, longer = points(0, 0), points(0, 0, 0)
    other_middle = points(0, 0, 0)
    other_middle.lat_deg[1] = 41.5

    assert spans(short)[0].drive_id != spans(longer)[0].drive_id
    assert spans(other_middle)[0].drive_id == spans(longer)[0].drive_id


@given(st.lists(st.integers(0, 4), max_size=30).map(sorted))
def test_the_table_has_a_row_a_point_with_its_drive(lines: list[int]) -> None:
    """Rows keep their order, and each has the id of its line."""
    made = points(*lines)
    drives = spans(made)
    ids = {drive.line: drive.drive_id for drive in drives}

    assert fixes_table(made, drives)["drive_id"].tolist() == [ids[line] for line in lines]
    assert len(set(ids.values())) == len(set(lines))
