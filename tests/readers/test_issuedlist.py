"""The list as it was last issued, read from that pack's own files."""

import dataclasses
import json

import pytest
from maps.example_pack import example_legs, example_pack, pack_of, thing

from routeprep.changes import changes
from routeprep.errors import JobError
from routeprep.exports import csv_text, report_text
from routeprep.readers.issuedlist import FILES, read_issued

ROAD, _ = example_legs()


def files(pack=None, **changed):
    """The two files of an issued pack, some of them changed; None leaves one out."""
    pack = pack or example_pack()
    made = {"obstructions.csv": csv_text(pack).encode(), "report.json": report_text(pack).encode()}
    made |= {name.replace("_", "."): data for name, data in changed.items()}
    return {f"issued/A/{name}": data for name, data in made.items() if data is not None}


def test_an_issued_list_is_read_back_as_it_was():
    """Its letter, and every thing in the list's order."""
    issued = read_issued(files(), folder="issued/A")

    assert issued.revision == "A"
    assert issued.rows["no"].tolist() == ["A-1", "A-2", "A-3", "A-4", "A-5", "A-6", "B-1"]
    assert issued.rows["along_m"].tolist()[:2] == [120.0, 124.0]


def test_against_its_own_files_a_pack_has_no_changes():
    """What was written and what is read again say the same."""
    pack = example_pack()
    issued = read_issued(files(pack), folder="issued/A")

    assert changes(dataclasses.replace(pack, issued=issued)) == ()


def test_what_was_guarded_against_spreadsheets_is_plain_again():
    """A station before the start has a minus, a name may begin with a sign."""
    pack = pack_of((ROAD,), [thing(ROAD, "A-1", "SMH", 20.0) | {"name": "=1+1", "no": "-7"}])
    rows = read_issued(files(pack), folder="issued/A").rows

    assert (rows["no"][0], rows["name"][0]) == ("-7", "=1+1")


def test_a_list_without_things_is_read_too():
    """An issued pack may be empty."""
    assert read_issued(files(pack_of((ROAD,), [])), folder="issued/A").rows.empty


@pytest.mark.parametrize(
    ("folder", "match"),
    [
        (
            "issued/B",
            r"'issued/B': obstructions.csv and report.json are not there; name the folder",
        ),
        ("../A", r"'\.\./A': '\.\./A' leads out of the job's folder"),
    ],
)
def test_a_folder_that_is_not_there_is_said(folder, match):
    """With what to write instead."""
    with pytest.raises(JobError, match=match):
        read_issued(files(), folder=folder)


@pytest.mark.parametrize("name", FILES)
def test_each_of_the_two_files_is_needed(name):
    """One without the other tells too little."""
    with pytest.raises(JobError, match=f"{name} (is|are) not there"):
        read_issued(files(**{name.replace(".", "_"): None}), folder="issued/A")


ALL = csv_text(example_pack()).encode()


@pytest.mark.parametrize(
    ("changed", "match"),
    [
        ({"report_json": b"{"}, "report.json: is no report of a pack"),
        ({"report_json": b"[1]"}, "report.json: is no report of a pack"),
        ({"report_json": b'{"job": {"revision": "A"}}'}, "report.json: is no report of a pack"),
        ({"obstructions_csv": ALL.rpartition(b"\nB-1")[0]}, "has 6 things and .* says 7; one of"),
        ({"obstructions_csv": b"no,leg\nA-1,A\n"}, "lacks columns anchor_id, name, station"),
        ({"obstructions_csv": ALL.replace(b",120.00,", b",here,")}, "rows 2 are not as a pack"),
        ({"obstructions_csv": ALL.replace(b",120.00,", b",inf,")}, "rows 2 are not as a pack"),
        ({"obstructions_csv": ALL.replace(b"\nA-3,", b"\n,")}, "are not as a pack has them"),
        ({"obstructions_csv": ALL.replace(b"\nA-3,", b"\nA-3,,")}, "are not as a pack has them"),
    ],
)
def test_what_was_changed_by_hand_is_refused(changed, match):
    """One sentence with the place."""
    with pytest.raises(JobError, match=match):
        read_issued(files(**changed), folder="issued/A")


def test_a_report_that_counts_in_words_is_refused():
    """The count must be a number that fits the list."""
    report = json.loads(report_text(example_pack()))
    report["counts"]["obstructions"]["all"] = "seven"
    with pytest.raises(JobError, match="has 7 things and"):
        read_issued(files(report_json=json.dumps(report).encode()), folder="issued/A")
