"""Declared tables: what fits passes unchanged, what does not is named, all of it at once."""

import datetime as dt

import numpy as np
import pandas as pd
import pytest
import shapely

from routeprep import tables
from routeprep.errors import TableError

FIX = {"drive_id": "d", "piece": 0, "lon_deg": -96.1, "lat_deg": 41.2}
DECLARED = {
    "fixes": tables.FIXES,
    "marks": tables.MARKS,
    "records": tables.RECORDS,
    "located": tables.LOCATED,
    "obstructions": tables.OBSTRUCTIONS,
}


@pytest.mark.parametrize("name", DECLARED)
def test_an_empty_table_has_every_column_and_passes(name):
    """A table without rows has the declared columns in order, of the declared kinds."""
    frame = tables.table(DECLARED[name], [])

    assert list(frame.columns) == [column.name for column in DECLARED[name]]
    assert tables.check(frame, DECLARED[name], what=name) is frame


@pytest.mark.parametrize("name", DECLARED)
def test_no_column_is_declared_twice(name):
    """Each column once."""
    names = [column.name for column in DECLARED[name]]

    assert len(set(names)) == len(names)


def test_numbers_carry_their_unit_in_the_name():
    """Every declared number ends with its unit."""
    numbers = {
        column.name
        for columns in DECLARED.values()
        for column in columns
        if column.holds == "number"
    }

    assert {name for name in numbers if not name.endswith(("_m", "_deg", "_s", "_mps"))} == set()


def test_what_a_row_lacks_is_unknown():
    """Unknown text is empty, an unknown number NaN, an unknown time NaT."""
    (row,) = tables.table(tables.FIXES, [FIX]).to_dict("records")

    assert np.isnan(row["ele_m"])
    assert pd.isna(row["time_utc"])


def test_times_are_utc_in_microseconds():
    """A time with another zone is turned to UTC."""
    noon = dt.datetime(2026, 6, 1, 7, tzinfo=dt.timezone(dt.timedelta(hours=-5)))
    frame = tables.table(tables.FIXES, [FIX | {"time_utc": noon}])

    assert str(frame["time_utc"].dtype) == "datetime64[us, UTC]"
    assert frame["time_utc"][0].isoformat() == "2026-06-01T12:00:00+00:00"


def test_further_columns_may_stand_beside():
    """A stage adds columns; the declared ones still fit."""
    frame = tables.table(tables.FIXES, [FIX]).assign(more=1)

    assert tables.check(frame, tables.FIXES, what="fixes") is frame


def test_a_row_with_an_undeclared_key_is_refused():
    """A misspelt column is no column."""
    with pytest.raises(TableError, match=r"\['speed'\] are not declared"):
        tables.table(tables.FIXES, [FIX | {"speed": 3.0}])


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"drive_id": ""}, r"column drive_id: 1 bad \(row 0: ''\), value needed"),
        ({"lon_deg": float("nan")}, r"column lon_deg: 1 bad \(row 0: .*nan.*\)"),
        ({"ele_m": float("inf")}, r"column ele_m: 1 bad \(row 0: .*inf.*\)"),
    ],
)
def test_a_value_that_does_not_fit_is_named(changes, told):
    """Column, row and value stand in the error."""
    with pytest.raises(TableError, match=told):
        tables.table(tables.FIXES, [FIX | changes])


def test_a_text_outside_the_allowed_ones_is_named_with_them():
    """The error lists what would be allowed."""
    mark = {"mark_id": "m", "across_frame": "sideways", "method": "vehicle", "source": "a.gpx"}

    with pytest.raises(TableError, match=r"row 0: 'sideways'.*expected one of \('as driven'"):
        tables.table(tables.MARKS, [mark])


def test_all_faults_are_told_at_once():
    """A missing column, a wrong kind and a bad value make one error, so they are mended once."""
    frame = tables.table(tables.FIXES, [FIX]).drop(columns="piece")
    frame = frame.assign(ele_m="high", drive_id=pd.array([""], dtype="str"))

    with pytest.raises(TableError, match="fixes: ") as caught:
        tables.check(frame, tables.FIXES, what="fixes")

    assert [fault.split()[1].rstrip(":") for fault in caught.value.facts["faults"]] == [
        "drive_id",
        "piece",
        "ele_m",
    ]


def test_only_the_first_bad_rows_are_shown():
    """A thousand bad rows are counted, five of them shown."""
    with pytest.raises(TableError, match="column drive_id: 1000 bad") as caught:
        tables.table(tables.FIXES, [FIX | {"drive_id": ""}] * 1000)

    assert str(caught.value).count("row ") == 5


def test_geometry_and_ids_are_kept_as_they_are():
    """Points and tuples of ids go in and come out."""
    point = shapely.Point(-96.1, 41.2)
    records = tables.table(
        tables.RECORDS, [{"record_id": "r", "source": "a.geojson", "geometry": point}]
    )

    assert records["geometry"][0] is point


def test_rows_of_gives_back_what_table_took():
    """A table as rows, and the rows as a table, is the same table."""
    frame = tables.table(tables.FIXES, [FIX, FIX | {"ele_m": 3.0}])

    pd.testing.assert_frame_equal(frame, tables.table(tables.FIXES, tables.rows_of(frame)))
