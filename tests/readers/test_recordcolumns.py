"""Which columns say what: as the job says, or guessed."""

import pandas as pd
import pytest
from builders import KINDS

from routeprep.errors import ReadError
from routeprep.readers.recordcolumns import Fields, record_columns

FRAME = pd.DataFrame(
    {
        "TYPE": ["SMH-4", "SMH-4", None],
        "Cover Kind": ["sewer manhole", "water valve", "unicorn"],
        "ASSET_ID": [12.0, 13.0, None],
        "LABEL": ["a", "b", "c"],
        "AGENCY": ["invented city", None, "invented city"],
    }
)


def columns(frame=FRAME, *, name="covers.geojson", sample=None, **fields):
    """What the rows are."""
    sample = frame if sample is None else sample
    return record_columns(frame, sample, Fields(**fields), name=name, kinds=KINDS)


def test_what_is_guessed_is_said() -> None:
    """The kind from the column that most kinds are understood from."""
    found = columns()

    assert found.codes == ("SMH", "WV", "")
    assert found.names == ("12", "13", "")
    assert found.owners == ("invented city", "", "invented city")
    assert found.told == (
        "kind from 'Cover Kind' (guessed), name from 'ASSET_ID' (guessed), owner from "
        "'AGENCY' (guessed)"
    )


def test_fields_that_the_job_names_are_taken_whatever_their_case() -> None:
    """The exact name first."""
    found = columns(kind_field="cover_kind", name_field="asset_id", owner_field="LABEL")

    assert found.names == ("12", "13", "")
    assert found.owners == ("a", "b", "c")
    assert found.told == (
        "kind from 'Cover Kind' (as the job says), name from 'ASSET_ID' (as the job says), owner "
        "from 'LABEL' (as the job says)"
    )


def test_a_kind_and_an_owner_for_all_leave_nothing_to_guess() -> None:
    """Whatever the file and its name say."""
    found = columns(name="hydrants.geojson", kind="WV", owner="R. Sample")

    assert found.codes == ("WV", "WV", "WV")
    assert found.owners == ("R. Sample",) * 3
    assert found.told.startswith("kind WV for all (as the job says), name from 'ASSET_ID'")
    assert found.told.endswith("owner R. Sample for all (as the job says)")


def test_a_named_field_that_says_nothing_understood_is_not_overruled() -> None:
    """Its values stay, to be named; an empty one is what the file's name says."""
    found = columns(name="hydrants.geojson", kind_field="TYPE")

    assert found.codes == ("", "", "HYD")
    assert found.said_kinds == ("SMH-4", "SMH-4", "")


def test_guesses_come_from_the_sample_not_from_the_rows_at_hand() -> None:
    """Here the rows near the job would have spoken for another column."""
    sample = pd.DataFrame({"kind": ["x"], "type": ["manhole"]})
    frame = pd.DataFrame({"kind": ["manhole"], "type": ["x"]})

    assert columns(frame, sample=sample).codes == ("",)
    assert columns(frame).codes == ("MH",)


def test_a_field_that_the_file_has_not_is_an_error_with_those_it_has() -> None:
    """Each with an example, for the person who has to choose."""
    with pytest.raises(ReadError, match="as kind_field") as caught:
        columns(FRAME.assign(NOTE=None), kind_field="KIND")

    assert str(caught.value) == (
        "covers.geojson: has no field 'KIND', which [[records]] names as kind_field; its fields "
        "are TYPE ('SMH-4'), Cover Kind ('sewer manhole'), ASSET_ID ('12'), LABEL ('a'), AGENCY "
        "('invented city'), NOTE (empty)"
    )
    with pytest.raises(ReadError, match="its fields are none"):
        columns(FRAME[[]], name_field="ID")


def test_two_fields_alike_but_for_case_must_be_named_exactly() -> None:
    """Neither is taken in silence."""
    frame = pd.DataFrame({"Type": ["manhole"], "TYPE": ["x"]})

    assert columns(frame, kind_field="Type").codes == ("MH",)
    with pytest.raises(ReadError, match="has no field 'type'"):
        columns(frame, kind_field="type")


def test_nothing_said_and_nothing_guessed_is_said_too() -> None:
    """No column, and a file's name that is no kind."""
    found = columns(pd.DataFrame({"colour": ["red"]}), name="stuff.geojson")

    assert found.told == "kind from none, name from none, owner from none"
