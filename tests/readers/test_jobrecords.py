"""What a job says of its owners' files."""

import tomllib

import pytest
from builders import KINDS

from routeprep.errors import JobError
from routeprep.readers.jobrecords import RecordFiles, fields_by_file, read_record_tables
from routeprep.readers.recordcolumns import Fields
from routeprep.readers.tomltable import TomlTable


def read(text, kinds=KINDS):
    """Tables and faults of a job file."""
    top = TomlTable(values=tomllib.loads(text), where="", faults=[])
    return read_record_tables(top, kinds), top.faults


def test_a_table_names_files_and_what_is_in_them() -> None:
    """Kinds in the words of a person."""
    tables, faults = read(
        '[[records]]\nfiles = "r/*.gpkg"\nkind = "Sewer manhole cover"\nname_field = "ID"\n'
        'owner_field = "AGENCY"\n[[records]]\nfiles = "poles.shp"\nkind_field = "TYPE"\nowner = "X"'
    )

    assert not faults
    assert tables == (
        RecordFiles(
            files="r/*.gpkg", fields=Fields(kind="SMH", name_field="ID", owner_field="AGENCY")
        ),
        RecordFiles(files="poles.shp", fields=Fields(kind_field="TYPE", owner="X")),
    )
    assert read("") == ((), [])


@pytest.mark.parametrize(
    ("table", "fault"),
    [
        ("", "files is missing"),
        ('files = "/a/b"', "files: '/a/b' is absolute"),
        ('files = "a"\nkind = "unicorn"', "kind 'unicorn' is no kind of thing; the nearest is"),
        ('files = "a"\nkind = "manhole"\nkind_field = "T"', "kind_field is 'T' and kind is 'manh"),
        ('files = "a"\nowner = "O"\nowner_field = "T"', "owner_field is 'T' and owner is 'O'; giv"),
        ('files = "a"\nkindfield = "T"', "key 'kindfield' is not known; the nearest one is 'kind_"),
    ],
)
def test_what_is_wrong_is_said(table: str, fault: str) -> None:
    """With the table's number."""
    _, faults = read(f"[[records]]\n{table}")

    assert any(f"[[records]] 1: {fault}" in one for one in faults)


def test_without_kinds_a_kind_is_left_for_later() -> None:
    """The kinds themselves are wrong, and that is said already."""
    tables, faults = read('[[records]]\nfiles = "a"\nkind = "unicorn"', kinds=None)

    assert not faults
    assert tables[0].fields.kind == ""


def test_each_file_has_its_table() -> None:
    """By name or pattern; one that fits two tables is an error."""
    tables, _ = read('[[records]]\nfiles = "r/*"\nkind = "MH"\n[[records]]\nfiles = "r/b"')
    one, _ = read('[[records]]\nfiles = "r/*"\nkind = "MH"')

    assert fields_by_file(one, ["r/a", "r/b", "c"], name="job.toml") == {
        "r/a": Fields(kind="MH"), "r/b": Fields(kind="MH")
    }  # fmt: skip
    with pytest.raises(JobError, match=r"records\]\] 2: 'r/b' fits 'r/b', which a table before it"):
        fields_by_file(tables, ["r/a", "r/b", "c"], name="job.toml")
