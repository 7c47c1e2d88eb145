"""Tables of TOML, read key by key."""

import datetime as dt
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routeprep.kinds import nearest
from routeprep.readers.tomltable import TomlTable


def table(**values):
    """A table of these values."""
    return TomlTable(values=values, where="[job]", faults=[])


def test_values_of_the_right_type_are_taken() -> None:
    """Without a fault."""
    job = table(name=" a ", files=["x"], lanes=2, width=3, inner={"k": 1}, rows=[{"k": 2}])

    assert (job.text("name"), job.texts("files"), job.whole("lanes", default=1)) == ("a", ("x",), 2)
    assert (job.number("width"), job.table("inner").values) == (3.0, {"k": 1})
    assert [row.values for row in job.tables("rows")] == [{"k": 2}]
    assert job.faults == []


def test_what_is_left_out_has_a_default() -> None:
    """And is a fault only where it is needed."""
    job = table()

    assert (job.text("a"), job.texts("a"), job.whole("a", default=1)) == ("", (), 1)
    assert math.isnan(job.number("a"))
    assert (job.table("a").values, job.tables("a"), job.faults) == ({}, [], [])
    job.text("a", needed=True)

    assert job.faults == ["[job]: a is missing; give it a text"]


def test_an_unknown_key_is_named_with_the_nearest() -> None:
    """So that a slip of the finger is seen at once."""
    job = table(nmae="x", name="y")
    job.only("name", "number")

    assert job.faults == ["[job]: key 'nmae' is not known; the nearest one is 'name'"]
    assert nearest("x", []) == ""


READS = ["text", "texts", "number", "table", "tables"]


@pytest.mark.parametrize("read", READS)
@pytest.mark.parametrize("value", [True, dt.date(2026, 6, 1)])
def test_a_value_of_another_type_is_a_fault(read: str, value: object) -> None:
    """Each way of reading says what it found and what it expected."""
    job = table(key=value)
    getattr(job, read)("key")

    assert len(job.faults) == 1
    assert "expected" in job.faults[0]


values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner, max_size=3)
    ),
    max_leaves=5,
)


@given(values, st.sampled_from(READS))
def test_no_value_breaks_the_reading(value: object, read: str) -> None:
    """Any value gives a value of the type or one fault."""
    job = table(key=value)
    getattr(job, read)("key")
    job.whole("key", default=0)

    assert len(job.faults) <= 2
